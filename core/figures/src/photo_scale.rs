//! Measuring in a photo from something of known size that lies in the same plane: the homography from pixels to
//! that plane, and how far a length or an area may be off for the taps that it rests on.
//!
//! Normalised direct linear transformation (Hartley and Zisserman, algorithm 4.2), then least squares of the
//! distances in the plane, which is what more than four points need. The normalised frames have their origin
//! among the reference points, which can never lie on the horizon, so the last element is 1 there without loss.
//! Uncertainty is by first order (JCGM 100, 5.1.2), every tapped coordinate with the same standard deviation, those of
//! corners that a program found with their own.
//!
//! Pixels and plane are plain binary numbers: nothing here is hashed, and a tap is good to a pixel or two.

use crate::error::Error;
use crate::photo_scale_solve::{fit, image, of_plane};

pub use crate::photo_scale_figure::figure;

/// A point: pixels, or the plane's unit.
pub type Point = [f64; 2];
/// From pixels to the plane; the last element is 1.
pub type Homography = [[f64; 3]; 3];

/// Largest pixel coordinate, either way.
pub const MOST_PX: f64 = 1e6;
/// Most further reference points, and most lengths.
pub const MOST_POINTS: usize = 60;
/// Most areas, and most corners of one.
pub const MOST_AREAS: usize = 10;
/// See [`MOST_AREAS`].
pub const MOST_CORNERS: usize = 20;
/// Sine of the flattest corner of a reference that is taken as one.
const FLAT: f64 = 0.01;
/// Taps that are nearer than this are the same, in pixels.
const SAME_PX: f64 = 1.0;
/// Standard uncertainties each way of a 95 % interval.
const COVER: f64 = 1.96;
/// Share of a length from which its uncertainty is too large for a first order.
const WIDE: f64 = 0.1;

/// What was tapped.
#[derive(Debug, Clone, PartialEq)]
pub struct Taps {
    /// Length and width of the reference, in the plane's unit.
    pub size: Point,
    /// Its corners in the photo: (0,0), (length,0), (length,width), (0,width).
    pub corners: [Point; 4],
    /// Further known points: where in the plane, and where in the photo.
    pub more: Vec<(Point, Point)>,
    /// Pairs of points in the plane of the reference.
    pub measure: Vec<[Point; 2]>,
    /// Outlines of areas in that plane, three or more points once round.
    pub areas: Vec<Vec<Point>>,
    /// Standard deviation of each tapped coordinate, in pixels.
    pub tap_sd: f64,
    /// That of the four corners, where they were not tapped but found.
    pub corner_sd: Option<f64>,
}

/// A measured length or area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The length, in the plane's unit; the area, in its square.
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
    /// Value less 1.96 u.
    pub low: f64,
    /// Value and 1.96 u.
    pub high: f64,
}

/// The scale of a photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    /// From pixels to the plane.
    pub homography: Homography,
    /// Root mean square distance, in pixels, of the tapped reference points from where they belong.
    pub residual_px: f64,
    /// The lengths, in the order of the pairs.
    pub lengths: Vec<Measured>,
    /// The areas, in the order of their outlines.
    pub areas: Vec<Measured>,
    /// What to look at.
    pub warnings: Vec<String>,
}

/// Measures in a photo.
///
/// # Errors
/// Taps from which nothing can be measured, with what is wrong and a pointer as in `bowseam figure photo-scale`.
pub fn photo_scale(taps: &Taps) -> Result<Scale, Error> {
    check(taps)?;
    let [length, width] = taps.size;
    let plane = [[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]];
    let mut known: Vec<(Point, Point)> = plane.into_iter().zip(taps.corners).collect();
    known.extend(taps.more.iter().copied());
    let homography = fit(&known).ok_or_else(no_scale)?;
    let outlines = outlines(taps);
    let values = outlines
        .iter()
        .enumerate()
        .map(|(i, outline)| {
            let at = match i.checked_sub(taps.measure.len()) {
                None => format!("/measure_px/{i}"),
                Some(area) => format!("/areas_px/{area}"),
            };
            extent(&homography, outline, &taps.corners).ok_or_else(|| beyond(&at))
        })
        .collect::<Result<Vec<f64>, Error>>()?;
    let spread = uncertainties(&known, &homography, taps, &outlines).ok_or_else(no_scale)?;
    let mut lengths: Vec<Measured> = values
        .into_iter()
        .zip(spread)
        .map(|(value, u)| Measured {
            value,
            u,
            low: value - COVER * u,
            high: value + COVER * u,
        })
        .collect();
    let residual_px = residual(&known, &homography).ok_or_else(no_scale)?;
    let mut warnings = warnings(taps, &known, &homography, &lengths);
    if residual_px > 3.0 * taps.tap_sd && residual_px > 1e-6 {
        warnings.push(format!(
            "The known points do not fit each other: they are off by {residual_px:.1} px, more than three times a tap's standard deviation."
        ));
    }
    let areas = lengths.split_off(taps.measure.len().min(lengths.len()));
    Ok(Scale {
        homography,
        residual_px,
        lengths,
        areas,
        warnings,
    })
}

/// What is measured: two points of a length, three or more of an area; lengths first.
fn outlines(taps: &Taps) -> Vec<&[Point]> {
    let lengths = taps.measure.iter().map(<[Point; 2]>::as_slice);
    lengths.chain(taps.areas.iter().map(Vec::as_slice)).collect()
}

fn no_scale() -> Error {
    Error::new(
        "photo_scale",
        "No scale comes out of these taps: tap the four corners again, nearer to the camera or less from the side.",
    )
    .at("/reference/corners_px")
}

fn beyond(at: &str) -> Error {
    let sentence =
        "This point lies on or beyond the horizon of the reference's plane: it cannot be in that plane.";
    Error::new("photo_beyond", sentence).at(at)
}

fn check(taps: &Taps) -> Result<(), Error> {
    let wrong = |at: &str, sentence: &str| Err(Error::new("photo_taps", sentence).at(at));
    if taps.size.iter().any(|side| !side.is_finite() || *side <= 0.0) {
        return wrong(
            "/reference/size",
            "Length and width of the reference are more than 0.",
        );
    }
    for (at, sd) in [
        ("/tap_sd_px", taps.tap_sd),
        ("/corner_sd_px", taps.corner_sd.unwrap_or_default()),
    ] {
        if !sd.is_finite() || sd < 0.0 {
            return wrong(at, "The standard deviation of a tap is 0 or more, in pixels.");
        }
    }
    if taps.more.len() > MOST_POINTS || taps.measure.len() > MOST_POINTS {
        return wrong(
            "",
            "At most 60 further reference points and 60 lengths are taken.",
        );
    }
    for (i, area) in taps.areas.iter().enumerate() {
        let at = format!("/areas_px/{i}");
        if i >= MOST_AREAS || !(3..=MOST_CORNERS).contains(&area.len()) {
            return wrong(
                &at,
                "An area has three to 20 corners, and there are at most ten of them.",
            );
        }
        if crossed(area) {
            return wrong(
                &at,
                "The outline of the area crosses itself: tap its corners once round.",
            );
        }
    }
    let px = |point: &Point| point.iter().all(|c| c.is_finite() && c.abs() <= MOST_PX);
    let pixels = taps
        .corners
        .iter()
        .chain(taps.more.iter().map(|(_, px)| px))
        .chain(taps.measure.iter().flatten())
        .chain(taps.areas.iter().flatten());
    if !pixels.into_iter().all(px) || taps.more.iter().flat_map(|(at, _)| at).any(|c| !c.is_finite()) {
        return wrong(
            "",
            "A tapped point is two numbers, up to a million pixels either way.",
        );
    }
    if let Some(i) = taps.measure.iter().position(|[a, b]| a == b) {
        let at = format!("/measure_px/{i}");
        return wrong(
            &at,
            "A length runs between two different points; these are the same.",
        );
    }
    corners(&taps.corners)
        .map_err(|sentence| Error::new("photo_corners", sentence).at("/reference/corners_px"))
}

/// Whether four corners can be a photo of a rectangle, in order; if not, what is wrong.
fn corners(corners: &[Point; 4]) -> Result<(), &'static str> {
    let [a, b, c, d] = *corners;
    for (one, other) in [(a, b), (a, c), (a, d), (b, c), (b, d), (c, d)] {
        if apart(one, other) < SAME_PX {
            return Err("Two corners of the reference are the same point: tap four different corners.");
        }
    }
    // Each corner with its neighbours; four corners have no other triples.
    let sines = [(d, a, b), (a, b, c), (b, c, d), (c, d, a)].map(|(p, q, r)| sine(p, q, r));
    if sines.iter().any(|sine| sine.abs() < FLAT) {
        return Err("Three corners of the reference lie in a line: nothing can be measured from them.");
    }
    match sines.iter().filter(|sine| **sine > 0.0).count() {
        0 | 4 => Ok(()),
        2 => Err(
            "The corners are in a crossed order: tap (0,0), (length,0), (length,width), (0,width), once round.",
        ),
        _ => Err("One corner lies inside the other three: no photo of a rectangle looks so. Tap them again."),
    }
}

fn apart([ax, ay]: Point, [bx, by]: Point) -> f64 {
    (ax - bx).hypot(ay - by)
}

/// Sine of the turn at `q`, of three points that are apart.
fn sine(p: Point, q: Point, r: Point) -> f64 {
    let ([px, py], [qx, qy], [rx, ry]) = (p, q, r);
    ((qx - px) * (ry - qy) - (qy - py) * (rx - qx)) / (apart(p, q) * apart(q, r))
}

/// Whether two sides of an outline that do not meet at a corner cross.
fn crossed(outline: &[Point]) -> bool {
    let sides: Vec<(Point, Point)> = sides(outline).collect();
    let turn =
        |[ax, ay]: Point, [bx, by]: Point, [cx, cy]: Point| (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
    let cross = |(a, b): (Point, Point), (c, d): (Point, Point)| {
        turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
    };
    let mut pairs = (1_usize..).zip(&sides).flat_map(|(next, one)| {
        let others = sides.iter().skip(next);
        others.map(move |other| (*one, *other))
    });
    pairs.any(|(one, other)| cross(one, other))
}

/// Each corner with the next, the last with the first.
fn sides(outline: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    outline
        .iter()
        .copied()
        .zip(outline.iter().copied().cycle().skip(1))
}

/// Length in the plane between two pixels, or the area that more of them enclose (by the trapezoids under its sides);
/// none if one lies on the other side of the horizon than the reference.
fn extent(homography: &Homography, outline: &[Point], [corner, ..]: &[Point; 4]) -> Option<f64> {
    let (_, side) = image(homography, *corner)?;
    let on_plane = |px: &Point| {
        image(homography, *px)
            .filter(|(_, w)| w * side > 0.0)
            .map(|(point, _)| point)
    };
    let points = outline.iter().map(on_plane).collect::<Option<Vec<Point>>>()?;
    let found = if let [a, b] = points.as_slice() {
        apart(*a, *b)
    } else {
        // About the first point: far from the origin the products would lose digits.
        let [ox, oy] = *points.first()?;
        let part = |([ax, ay], [bx, by]): (Point, Point)| (ax - ox) * (by - oy) - (bx - ox) * (ay - oy);
        sides(&points).map(part).sum::<f64>().abs() / 2.0
    };
    found.is_finite().then_some(found)
}

/// Standard uncertainty of every length and area by first order. Sensitivities are central differences of the whole
/// chain, a hundredth of a pixel each way; each reference tap moves the homography, each measured one its end.
fn uncertainties(
    known: &[(Point, Point)],
    homography: &Homography,
    taps: &Taps,
    outlines: &[&[Point]],
) -> Option<Vec<f64>> {
    const STEP: f64 = 0.01;
    let mut squares = vec![0.0_f64; outlines.len()];
    let moved =
        |[x, y]: Point, axis: usize, by: f64| -> Point { if axis == 0 { [x + by, y] } else { [x, y + by] } };
    if outlines.is_empty() {
        return Some(squares);
    }
    for (i, axis) in (0..known.len()).flat_map(|i| [(i, 0), (i, 1)]) {
        let sd = if i < taps.corners.len() {
            taps.corner_sd
        } else {
            None
        }
        .unwrap_or(taps.tap_sd);
        let fitted = |by: f64| {
            let mut known = known.to_vec();
            let tap = known.get_mut(i)?;
            tap.1 = moved(tap.1, axis, by);
            fit(&known)
        };
        let (less, more) = (fitted(-STEP)?, fitted(STEP)?);
        for (square, outline) in squares.iter_mut().zip(outlines) {
            let [below, above] = [&less, &more].map(|h| extent(h, outline, &taps.corners));
            *square += (sd * (above? - below?) / (2.0 * STEP)).powi(2);
        }
    }
    for (square, outline) in squares.iter_mut().zip(outlines) {
        for (i, axis) in (0..outline.len()).flat_map(|i| [(i, 0), (i, 1)]) {
            let with = |by: f64| {
                let mut points = outline.to_vec();
                let point = points.get_mut(i)?;
                *point = moved(*point, axis, by);
                extent(homography, &points, &taps.corners)
            };
            *square += (taps.tap_sd * (with(STEP)? - with(-STEP)?) / (2.0 * STEP)).powi(2);
        }
    }
    Some(squares.into_iter().map(f64::sqrt).collect())
}

/// Root mean square distance in the photo of the reference taps from where the plane's points fall.
fn residual(known: &[(Point, Point)], homography: &Homography) -> Option<f64> {
    let mut sum = 0.0;
    for (at, px) in known {
        sum += apart(of_plane(homography, *at)?, *px).powi(2);
    }
    let many = u32::try_from(known.len()).ok().filter(|many| *many > 0)?;
    Some((sum / f64::from(many)).sqrt())
}

/// What is doubtful about each length and area.
fn warnings(
    taps: &Taps,
    known: &[(Point, Point)],
    homography: &Homography,
    measured: &[Measured],
) -> Vec<String> {
    let mut warnings = Vec::new();
    let far = Far::of(known);
    let lengths = (1_u32..).map(|i| format!("Length {i}")).take(taps.measure.len());
    let names = lengths.chain((1_u32..).map(|i| format!("Area {i}")));
    for ((name, outline), measured) in names.zip(outlines(taps)).zip(measured) {
        let end = if outline.len() == 2 { "an end" } else { "a corner" };
        let mut points = outline.iter().filter_map(|px| image(homography, *px));
        if points.any(|(point, _)| far.is(point)) {
            warnings.push(format!(
                "{name} has {end} far outside the reference: what lies there is extrapolated. Lay the reference nearer, or tap further known points."
            ));
        }
        if measured.u > WIDE * measured.value {
            warnings.push(format!(
                "{name} is less sure than a tenth of itself: its interval is a rough guide only."
            ));
        }
    }
    warnings
}

/// The part of the plane that the known points cover, and once its size around it.
struct Far {
    low: Point,
    high: Point,
}

impl Far {
    fn of(known: &[(Point, Point)]) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for ([x, y], _) in known {
            low = [x.min(low[0]), y.min(low[1])];
            high = [x.max(high[0]), y.max(high[1])];
        }
        Self { low, high }
    }

    fn is(&self, [x, y]: Point) -> bool {
        let outside = |c: f64, low: f64, high: f64| {
            let size = high - low;
            c < low - size || c > high + size
        };
        outside(x, self.low[0], self.high[0]) || outside(y, self.low[1], self.high[1])
    }
}

#[cfg(test)]
#[path = "photo_scale_tests.rs"]
mod tests;
