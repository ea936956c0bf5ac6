//! Measuring in a photo from something of known size that lies in the same plane: the homography from pixels to
//! that plane, and how far a length may be off for the taps that it rests on.
//!
//! Normalised direct linear transformation (Hartley and Zisserman, algorithm 4.2), then least squares of the
//! distances in the plane, which is what more than four points need. The normalised frames have their origin
//! among the reference points, which can never lie on the horizon, so the last element is 1 there without loss.
//! Uncertainty is by first order (JCGM 100, 5.1.2), every tapped coordinate with the same standard deviation.
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
    /// Standard deviation of each tapped coordinate, in pixels.
    pub tap_sd: f64,
}

/// A measured length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The length, in the plane's unit.
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
    let mut lengths = Vec::new();
    for (i, pair) in taps.measure.iter().enumerate() {
        let value =
            distance(&homography, pair, &taps.corners).ok_or_else(|| beyond(&format!("/measure_px/{i}")))?;
        lengths.push(value);
    }
    let spread = uncertainties(&known, &homography, taps).ok_or_else(no_scale)?;
    let lengths: Vec<Measured> = lengths
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
    let warnings = warnings(taps, &known, &homography, &lengths, residual_px);
    Ok(Scale {
        homography,
        residual_px,
        lengths,
        warnings,
    })
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
    if !taps.tap_sd.is_finite() || taps.tap_sd < 0.0 {
        return wrong(
            "/tap_sd_px",
            "The standard deviation of a tap is 0 or more, in pixels.",
        );
    }
    if taps.more.len() > MOST_POINTS || taps.measure.len() > MOST_POINTS {
        return wrong(
            "",
            "At most 60 further reference points and 60 lengths are taken.",
        );
    }
    let px = |point: &Point| point.iter().all(|c| c.is_finite() && c.abs() <= MOST_PX);
    let pixels = taps
        .corners
        .iter()
        .chain(taps.more.iter().map(|(_, px)| px))
        .chain(taps.measure.iter().flatten());
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

/// Length in the plane between two pixels; none if one lies on the other side of the horizon than the
/// reference.
fn distance(homography: &Homography, [a, b]: &[Point; 2], [corner, ..]: &[Point; 4]) -> Option<f64> {
    let (_, side) = image(homography, *corner)?;
    let on_plane = |px: Point| {
        image(homography, px)
            .filter(|(_, w)| w * side > 0.0)
            .map(|(point, _)| point)
    };
    let found = apart(on_plane(*a)?, on_plane(*b)?);
    found.is_finite().then_some(found)
}

/// Standard uncertainty of every length by first order. Sensitivities are central differences of the whole
/// chain, a hundredth of a pixel each way; each reference tap moves the homography, each measured one its end.
fn uncertainties(known: &[(Point, Point)], homography: &Homography, taps: &Taps) -> Option<Vec<f64>> {
    const STEP: f64 = 0.01;
    let mut squares = vec![0.0_f64; taps.measure.len()];
    let moved = |point: Point, axis: usize, by: f64| -> Point {
        let [x, y] = point;
        if axis == 0 { [x + by, y] } else { [x, y + by] }
    };
    if taps.measure.is_empty() {
        return Some(squares);
    }
    for (i, axis) in (0..known.len()).flat_map(|i| [(i, 0), (i, 1)]) {
        let fitted = |by: f64| {
            let mut known = known.to_vec();
            let tap = known.get_mut(i)?;
            tap.1 = moved(tap.1, axis, by);
            fit(&known)
        };
        let (less, more) = (fitted(-STEP)?, fitted(STEP)?);
        for (square, pair) in squares.iter_mut().zip(&taps.measure) {
            let [below, above] = [&less, &more].map(|h| distance(h, pair, &taps.corners));
            *square += ((above? - below?) / (2.0 * STEP)).powi(2);
        }
    }
    for (square, [a, b]) in squares.iter_mut().zip(&taps.measure) {
        for axis in [0, 1] {
            let ends = |by_a: f64, by_b: f64| {
                let pair = [moved(*a, axis, by_a), moved(*b, axis, by_b)];
                distance(homography, &pair, &taps.corners)
            };
            *square += ((ends(STEP, 0.0)? - ends(-STEP, 0.0)?) / (2.0 * STEP)).powi(2);
            *square += ((ends(0.0, STEP)? - ends(0.0, -STEP)?) / (2.0 * STEP)).powi(2);
        }
    }
    Some(
        squares
            .into_iter()
            .map(|square| taps.tap_sd * square.sqrt())
            .collect(),
    )
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

fn warnings(
    taps: &Taps,
    known: &[(Point, Point)],
    homography: &Homography,
    lengths: &[Measured],
    residual_px: f64,
) -> Vec<String> {
    let mut warnings = Vec::new();
    let far = Far::of(known);
    for (i, (pair, length)) in (1_u32..).zip(taps.measure.iter().zip(lengths)) {
        let points = pair.iter().filter_map(|px| image(homography, *px));
        if points.into_iter().any(|(point, _)| far.is(point)) {
            warnings.push(format!(
                "Length {i} has an end far outside the reference: what lies there is extrapolated. Lay the reference nearer, or tap further known points."
            ));
        }
        if length.u > WIDE * length.value {
            warnings.push(format!(
                "Length {i} is less sure than a tenth of itself: its interval is a rough guide only."
            ));
        }
    }
    if residual_px > 3.0 * taps.tap_sd && residual_px > 1e-6 {
        warnings.push(format!(
            "The known points do not fit each other: they are off by {residual_px:.1} px, more than three times a tap's standard deviation."
        ));
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
