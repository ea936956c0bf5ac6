//! The homography itself: normalised direct linear transformation, then Gauss-Newton on the distances in the
//! plane. With four points both give the same; with more, the second is their least squares.

use crate::photo_scale::{Homography, Point};

/// Unknowns: the last element is 1.
const N: usize = 8;
/// Steps of least squares at most; four points need one or two, many noisy ones five.
const STEPS: u32 = 30;

/// An equation: its eight coefficients, and its right side.
type Equation = [f64; N + 1];

/// Scale and shift into a frame with its origin among the points and a mean distance of √2 from it.
#[derive(Clone, Copy)]
struct Frame {
    scale: f64,
    at: Point,
}

impl Frame {
    fn of(points: impl Iterator<Item = Point> + Clone) -> Option<Self> {
        let many = f64::from(u32::try_from(points.clone().count()).ok()?);
        let [sx, sy] = points
            .clone()
            .fold([0.0, 0.0], |[sx, sy], [x, y]| [sx + x, sy + y]);
        let at @ [cx, cy] = [sx / many, sy / many];
        let mean = points.map(|[x, y]| (x - cx).hypot(y - cy)).sum::<f64>() / many;
        let scale = std::f64::consts::SQRT_2 / mean;
        (scale.is_finite() && scale > 0.0).then_some(Self { scale, at })
    }

    fn into(self, [x, y]: Point) -> Point {
        let [cx, cy] = self.at;
        [(x - cx) * self.scale, (y - cy) * self.scale]
    }
}

/// The homography that takes the pixels of known points (plane, pixels) to the plane; none if there is none,
/// or if its last element cannot be 1.
pub(crate) fn fit(known: &[(Point, Point)]) -> Option<Homography> {
    let plane = Frame::of(known.iter().map(|(at, _)| *at))?;
    let pixels = Frame::of(known.iter().map(|(_, px)| *px))?;
    let pairs: Vec<(Point, Point)> = known
        .iter()
        .map(|(at, px)| (plane.into(*at), pixels.into(*px)))
        .collect();
    let mut h = solve(pairs.iter().flat_map(|(at, px)| linear(*at, *px)))?;
    let mut cost = cost(&pairs, &h)?;
    for _ in 0..STEPS {
        let step = solve(pairs.iter().filter_map(|pair| slope(*pair, &h)).flatten())?;
        let next = add(&h, &step);
        let Some(lower) = self::cost(&pairs, &next).filter(|lower| *lower < cost) else {
            break;
        };
        let done = cost - lower <= 1e-15 * cost;
        (h, cost) = (next, lower);
        if done {
            break;
        }
    }
    restore(&h, plane, pixels)
}

/// The two linear equations of a point.
fn linear([u, v]: Point, [x, y]: Point) -> [Equation; 2] {
    [
        [x, y, 1.0, 0.0, 0.0, 0.0, -x * u, -y * u, u],
        [0.0, 0.0, 0.0, x, y, 1.0, -x * v, -y * v, v],
    ]
}

/// What is left of a point, and how it changes with the unknowns.
fn slope((at, px): (Point, Point), h: &[f64; N]) -> Option<[Equation; 2]> {
    let ([u, v], w) = project(h, px)?;
    let [x, y] = [px[0] / w, px[1] / w];
    let one = 1.0 / w;
    Some([
        [x, y, one, 0.0, 0.0, 0.0, -x * u, -y * u, at[0] - u],
        [0.0, 0.0, 0.0, x, y, one, -x * v, -y * v, at[1] - v],
    ])
}

fn project(h: &[f64; N], px: Point) -> Option<(Point, f64)> {
    let [a, b, c, d, e, f, g, i] = *h;
    image(&[[a, b, c], [d, e, f], [g, i, 1.0]], px)
}

/// Sum of squared distances in the plane.
fn cost(pairs: &[(Point, Point)], h: &[f64; N]) -> Option<f64> {
    let mut sum = 0.0;
    for ([u, v], px) in pairs {
        let ([x, y], _) = project(h, *px)?;
        sum += (x - u).powi(2) + (y - v).powi(2);
    }
    Some(sum).filter(|sum| sum.is_finite())
}

fn add(h: &[f64; N], step: &[f64; N]) -> [f64; N] {
    let mut sum = *h;
    for (a, b) in sum.iter_mut().zip(step) {
        *a += b;
    }
    sum
}

/// Least squares by the normal equations; the frames are scaled so that they are well conditioned.
fn solve(equations: impl Iterator<Item = Equation>) -> Option<[f64; N]> {
    let mut normal = [[0.0; N + 1]; N];
    for equation in equations {
        for (row, left) in normal.iter_mut().zip(equation) {
            for (sum, right) in row.iter_mut().zip(equation) {
                *sum += left * right;
            }
        }
    }
    eliminate(&mut normal)
}

/// Gauss-Jordan with the largest pivot; none if it is singular.
fn eliminate(rows: &mut [Equation; N]) -> Option<[f64; N]> {
    for column in 0..N {
        let size = |row: &Equation| row.get(column).map_or(0.0, |cell| cell.abs());
        let (best, _) = rows
            .iter()
            .enumerate()
            .skip(column)
            .max_by(|(_, a), (_, b)| size(a).total_cmp(&size(b)))?;
        rows.swap(column, best);
        let pivot_row = *rows.get(column)?;
        let pivot = *pivot_row.get(column)?;
        if pivot.abs() < 1e-13 || !pivot.is_finite() {
            return None;
        }
        for (_, row) in rows.iter_mut().enumerate().filter(|(i, _)| *i != column) {
            let factor = row.get(column)? / pivot;
            for (cell, above) in row.iter_mut().zip(&pivot_row) {
                *cell -= factor * above;
            }
        }
    }
    let mut found = [0.0; N];
    for ((i, row), value) in rows.iter().enumerate().zip(&mut found) {
        *value = row.get(N)? / row.get(i)?;
    }
    found.iter().all(|value| value.is_finite()).then_some(found)
}

/// Back from the frames to pixels and the plane's unit, with the last element 1.
fn restore(h: &[f64; N], plane: Frame, pixels: Frame) -> Option<Homography> {
    let [a, b, c, d, e, f, g, i] = *h;
    let (s, [px, py]) = (pixels.scale, pixels.at);
    // Behind the pixels' frame.
    let into = |[a, b, c]: [f64; 3]| [a * s, b * s, c - s * (a * px + b * py)];
    let last = into([g, i, 1.0]);
    let [cx, cy] = plane.at;
    // Before the plane's frame: scale, then shift by the last row.
    let out = |row: [f64; 3], shift: f64| {
        let mut row = into(row);
        for (cell, below) in row.iter_mut().zip(last) {
            *cell = *cell / plane.scale + shift * below;
        }
        row
    };
    let one = last[2];
    let all = [out([a, b, c], cx), out([d, e, f], cy), last].map(|row| row.map(|cell| cell / one));
    let sound = one.abs() > 1e-9 && all.iter().flatten().all(|cell| cell.is_finite());
    sound.then_some(all)
}

/// Where a pixel falls in the plane, and on which side of the horizon; none on it.
pub(crate) fn image(homography: &Homography, [x, y]: Point) -> Option<(Point, f64)> {
    let [u, v, w] = homography.map(|[a, b, c]| a * x + b * y + c);
    let point = [u / w, v / w];
    (w.abs() > 1e-12 && point.iter().all(|c| c.is_finite())).then_some((point, w))
}

/// Where a point of the plane falls in the photo: the inverse, by cofactors.
pub(crate) fn of_plane(homography: &Homography, at: Point) -> Option<Point> {
    let [[a, b, c], [d, e, f], [g, h, i]] = *homography;
    let inverse = [
        [e * i - f * h, c * h - b * i, b * f - c * e],
        [f * g - d * i, a * i - c * g, c * d - a * f],
        [d * h - e * g, b * g - a * h, a * e - b * d],
    ];
    let [x, y] = at;
    let [u, v, w] = inverse.map(|[p, q, r]| p * x + q * y + r);
    let point = [u / w, v / w];
    point.iter().all(|c| c.is_finite()).then_some(point)
}
