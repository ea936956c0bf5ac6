//! The printed target of our own, found in a photo: a square black frame, 6 in outside, with four fields like a draught
//! board's in its middle. What is dark beside its surroundings and has four corners may be one; its sides are then
//! followed to parts of a pixel where white turns to black, and it counts only if the pattern is where it has to be.
//! A dirty or half hidden target is found as long as most of its sides and its middle are seen; else nothing is.

use std::iter;

use crate::grey::{Alike, Grey, Point};

/// Share of the frame's side that its black takes, and where its middle begins and ends.
pub const FRAME: f64 = 0.15;
/// See [`FRAME`].
pub const MIDDLE: [f64; 2] = [0.32, 0.68];
/// Standard deviation of a found corner's coordinate, in pixels of the copy it was found in: ten times what was
/// measured in the rendered scenes of the tests, since a printed sheet is never quite flat (from memory).
pub const CORNER_SD: f64 = 0.5;

/// Sizes at which is looked: whole, a half, a quarter.
const LEVELS: usize = 3;
/// Shortest side that is looked at, in pixels.
const SHORTEST: f64 = 14.0;
/// Likeness to the pattern from which it is one: all of it, and its middle alone.
const LIKE: [f64; 2] = [0.7, 0.6];
/// Places along a side at which it is looked for.
const PLACES: usize = 40;
/// Least change from black to white, of 255.
const CHANGE: f32 = 6.0;

/// The corners of the target, once round, in pixels of the photo.
pub(crate) fn find(photo: &Grey) -> Option<[Point; 4]> {
    let mut best: Option<(f64, [Point; 4])> = None;
    let smaller: Vec<Grey> = iter::successors(Some(photo.half()), |level| Some(level.half()))
        .take(LEVELS.saturating_add(1))
        .collect();
    let levels = || iter::once(photo).chain(&smaller);
    let mut scale = 1.0;
    // What is around a pixel is told well enough from a quarter of its size.
    for (level, quarter) in levels().zip(levels().skip(2)) {
        for quad in quads(level, quarter) {
            let Some(found) = look(photo, quad.map(|[x, y]| [x * scale, y * scale])) else {
                continue;
            };
            if best.is_none_or(|(like, _)| like < found.0) {
                best = Some(found);
            }
        }
        scale *= 2.0;
    }
    best.map(|(_, corners)| corners)
}

/// A target near these corners, with its likeness.
fn look(photo: &Grey, quad: [Point; 4]) -> Option<(f64, [Point; 4])> {
    let near = followed(photo, quad, 0.6)?;
    let corners = followed(photo, near, 0.4)?;
    let like = alike(photo, corners)?;
    Some((like, corners))
}

/// What is dark beside its surroundings and has four corners; `quarter` is the same at a quarter of its size.
fn quads(level: &Grey, quarter: &Grey) -> Vec<[Point; 4]> {
    let around = quarter.blurred(level.width.max(level.height) / 80);
    let last = around.height.saturating_sub(1);
    let mut left = Vec::with_capacity(level.pixels.len());
    for (y, row) in level.pixels.chunks_exact(level.width.max(1)).enumerate() {
        let means = around.row((y / 4).min(last));
        let means = means.iter().chain(iter::repeat(means.last().unwrap_or(&0.0)));
        for (pixels, mean) in row.chunks(4).zip(means) {
            left.extend(pixels.iter().map(|pixel| *pixel < mean * 0.85 - 2.0));
        }
    }
    let mut found = Vec::new();
    for start in 0..left.len() {
        if left.get(start) == Some(&true) {
            found.extend(corners_of(&patch(&mut left, level.width, start)));
        }
    }
    found
}

/// The dark pixels that hang together with this one, taken off what is left.
fn patch(left: &mut [bool], width: usize, start: usize) -> Vec<Point> {
    let mut stack = vec![start];
    let mut points = Vec::new();
    while let Some(at) = stack.pop() {
        match left.get_mut(at) {
            Some(dark) if *dark => *dark = false,
            _ => continue,
        }
        let (x, y) = (
            at.checked_rem(width).unwrap_or_default(),
            at.checked_div(width).unwrap_or_default(),
        );
        points.push([x as f64 + 0.5, y as f64 + 0.5]);
        if x > 0 {
            stack.push(at.saturating_sub(1));
        }
        if x.saturating_add(1) < width {
            stack.push(at.saturating_add(1));
        }
        stack.push(at.saturating_add(width));
        // Above the first row there is nothing.
        stack.extend(at.checked_sub(width));
    }
    points
}

fn minus([ax, ay]: Point, [bx, by]: Point) -> Point {
    [ax - bx, ay - by]
}

fn cross([ax, ay]: Point, [bx, by]: Point) -> f64 {
    ax * by - ay * bx
}

fn far(a: Point, b: Point) -> f64 {
    let [x, y] = minus(a, b);
    x.hypot(y)
}

/// The four corners of a patch: the farthest from its middle, the farthest from that, and the farthest on either side of
/// the line between them. None if a frame's share of what they enclose is not dark.
fn corners_of(points: &[Point]) -> Option<[Point; 4]> {
    if (points.len() as f64) < SHORTEST * SHORTEST * 0.2 {
        return None;
    }
    let many = points.len() as f64;
    let middle = points
        .iter()
        .fold([0.0, 0.0], |[x, y], [px, py]| [x + px / many, y + py / many]);
    let most = |of: &dyn Fn(Point) -> f64| points.iter().copied().max_by(|a, b| of(*a).total_cmp(&of(*b)));
    let a = most(&|p| far(p, middle))?;
    let c = most(&|p| far(p, a))?;
    let side = |p: Point| cross(minus(c, a), minus(p, a));
    let (b, d) = (most(&|p| -side(p))?, most(&side)?);
    let quad = [a, b, c, d];
    let area = cross(minus(c, a), minus(d, b)).abs() / 2.0;
    let shortest = sides(quad).map(|(p, q)| far(p, q)).fold(f64::MAX, f64::min);
    (shortest >= SHORTEST && (0.2..0.9).contains(&(many / area))).then_some(quad)
}

fn sides([a, b, c, d]: [Point; 4]) -> impl Iterator<Item = (Point, Point)> {
    [(a, b), (b, c), (c, d), (d, a)].into_iter()
}

/// The quad whose sides lie where white turns to black, looked for within this share of the frame's width.
fn followed(photo: &Grey, quad: [Point; 4], share: f64) -> Option<[Point; 4]> {
    let [a, b, c, d] = quad;
    let middle = [0, 1].map(|i| [a, b, c, d].iter().filter_map(|p| p.get(i)).sum::<f64>() / 4.0);
    let lines = sides(quad)
        .map(|side| line(photo, side, middle, share))
        .collect::<Option<Vec<_>>>()?;
    let &[ab, bc, cd, da] = lines.as_slice() else {
        return None;
    };
    let corners = [meet(da, ab)?, meet(ab, bc)?, meet(bc, cd)?, meet(cd, da)?];
    let inside =
        |[x, y]: &Point| (0.0..=photo.width as f64).contains(x) && (0.0..=photo.height as f64).contains(y);
    corners.iter().all(inside).then_some(corners)
}

/// A point of a line, and which way it runs.
type Line = (Point, Point);

fn meet((p, along): Line, (q, other): Line) -> Option<Point> {
    let turn = cross(along, other);
    let t = cross(minus(q, p), other) / turn;
    (turn.abs() > 1e-6).then(|| [p[0] + t * along[0], p[1] + t * along[1]])
}

/// The line of a side, through the places where its white turns to black.
fn line(photo: &Grey, (from, to): (Point, Point), middle: Point, share: f64) -> Option<Line> {
    let length = far(from, to);
    let [x, y] = minus(to, from).map(|c| c / length);
    let inward = cross([x, y], minus(middle, from));
    let out = if inward > 0.0 { [y, -x] } else { [-y, x] };
    let reach = (share * FRAME * 2.0 * inward.abs()).clamp(2.0, 24.0);
    let edges = (0..PLACES).filter_map(|place| {
        let along = 0.06 + 0.88 * (place as f64 + 0.5) / PLACES as f64;
        let base = [from[0] + along * length * x, from[1] + along * length * y];
        let at = |s: f64| [base[0] + s * out[0], base[1] + s * out[1]];
        edge(|s| photo.sample(at(s)), reach).map(at)
    });
    straight(edges.collect())
}

/// How far out brightness rises most, to parts of a pixel; none if it hardly does.
fn edge(value: impl Fn(f64) -> f32, reach: f64) -> Option<f64> {
    const STEP: f64 = 0.5;
    const NEAR: f64 = 2.0;
    let steps = (2.0 * reach / STEP) as usize;
    let rises: Vec<(f64, f32)> = (0..=steps)
        .map(|step| STEP * step as f64 - reach)
        .map(|s| (s, (value(s + 1.0) - value(s - 1.0)).max(0.0)))
        .collect();
    let (top, most) = rises.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))?;
    if most < CHANGE {
        return None;
    }
    let near = || rises.iter().filter(|(s, _)| (s - top).abs() <= NEAR);
    let weight: f64 = near().map(|(_, rise)| f64::from(*rise)).sum();
    Some(near().map(|(s, rise)| s * f64::from(*rise)).sum::<f64>() / weight)
}

/// The straight line through most of the points; what lies off it (dirt, a shadow) is left out.
fn straight(mut points: Vec<Point>) -> Option<Line> {
    const LEAST: usize = PLACES / 3;
    const ROUNDS: usize = 5;
    let mut found = None;
    for _ in 0..ROUNDS {
        if points.len() < LEAST {
            return None;
        }
        let many = points.len() as f64;
        let at = points
            .iter()
            .fold([0.0, 0.0], |[x, y], [px, py]| [x + px / many, y + py / many]);
        let [mut xx, mut xy, mut yy] = [0.0; 3];
        for point in &points {
            let [x, y] = minus(*point, at);
            xx += x * x;
            xy += x * y;
            yy += y * y;
        }
        let (sin, cos) = (f64::atan2(2.0 * xy, xx - yy) / 2.0).sin_cos();
        let off = |point: &Point| cross([cos, sin], minus(*point, at)).abs();
        let mut offs: Vec<f64> = points.iter().map(off).collect();
        offs.sort_by(f64::total_cmp);
        let most = (2.5 * offs.get(offs.len() / 2).copied()?).max(0.3);
        points.retain(|point| off(point) <= most);
        found = Some((at, [cos, sin]));
    }
    found
}

/// How like the target this is; none if too little.
fn alike(photo: &Grey, corners: [Point; 4]) -> Option<f64> {
    const SIDE: usize = 36;
    let to_photo = projection(corners)?;
    let step = |at: usize| -0.13 + 1.26 * (at as f64 + 0.5) / SIDE as f64;
    let seen: Vec<(Point, f32)> = (0..SIDE)
        .flat_map(|v| (0..SIDE).map(move |u| [step(u), step(v)]))
        .map(|at| (at, photo.sample(to_photo(at))))
        .collect();
    let in_middle = |[u, v]: &Point| [u, v].iter().all(|c| (0.22..0.78).contains(*c));
    [false, true]
        .into_iter()
        .filter_map(|turned| {
            let how_like = |all: bool| {
                let mut like = Alike::default();
                for (at, value) in seen.iter().filter(|(at, _)| all || in_middle(at)) {
                    like.add(*value, if black(*at, turned) { 0.0 } else { 1.0 });
                }
                like.likeness()
            };
            let [all, middle] = [how_like(true), how_like(false)];
            (all >= LIKE[0] && middle >= LIKE[1]).then_some(all)
        })
        .reduce(f64::max)
}

/// Whether the target is black there, its frame from 0 to 1 each way; `turned` by a quarter.
pub(crate) fn black([u, v]: Point, turned: bool) -> bool {
    let within = |low: f64, high: f64| (low..high).contains(&u) && (low..high).contains(&v);
    if within(MIDDLE[0], MIDDLE[1]) {
        return ((u < 0.5) == (v < 0.5)) != turned;
    }
    within(0.0, 1.0) && !within(FRAME, 1.0 - FRAME)
}

/// From the unit square to a quad, in perspective (Heckbert 1989, from memory).
pub(crate) fn projection([p, q, r, s]: [Point; 4]) -> Option<impl Fn(Point) -> Point> {
    let [d1, d2] = [minus(q, r), minus(s, r)];
    let sum = minus(minus(p, q), minus(s, r));
    let all = cross(d1, d2);
    let (g, h) = (cross(sum, d2) / all, cross(d1, sum) / all);
    let row = move |i: usize| -> Option<[f64; 3]> {
        let (p, q, s) = (p.get(i)?, q.get(i)?, s.get(i)?);
        Some([q - p + g * q, s - p + h * s, *p])
    };
    let rows = [row(0)?, row(1)?];
    (all.abs() > 1e-9).then_some(move |[u, v]: Point| {
        let w = g * u + h * v + 1.0;
        rows.map(|[a, b, c]| (a * u + b * v + c) / w)
    })
}

#[cfg(test)]
#[path = "target_tests.rs"]
mod tests;
