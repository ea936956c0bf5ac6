//! The part of a place that both its before and its after photo show, once one is laid over the other: the largest
//! upright rectangle of the before photo's own shape within both. A reader who sees this part of either, beside each
//! other, compares like with like.

use crate::align::Similarity;
use crate::grey::Point;

/// Halvings of the size that is looked for: to a thousandth of a photo's width and better.
const HALVINGS: u32 = 14;

/// The part that both show: left, top and width in widths of the before photo; its height is of the same shape.
/// `heights` are those of the before and of the after photo, in their own widths. None where they hardly meet.
#[must_use]
pub fn shared(map: &Similarity, heights: [f64; 2]) -> Option<[f64; 3]> {
    let scale = map.a.hypot(map.b);
    if !(scale > 1e-6 && heights.iter().all(|height| *height > 1e-6)) {
        return None;
    }
    let at = |width: f64| {
        let [x, y] = middle(map, scale, heights, width)?;
        Some([x - width / 2.0, y - width * heights[0] / 2.0, width])
    };
    if let Some(whole) = at(1.0) {
        return Some(whole);
    }
    let mut found = at(LEAST)?;
    let mut too_wide = 1.0;
    for _ in 0..HALVINGS {
        let width = f64::midpoint(found[2], too_wide);
        match at(width) {
            Some(wider) => found = wider,
            None => too_wide = width,
        }
    }
    Some(found)
}

/// Least width of the part, in widths of the before photo: a smaller one shows too little of either.
const LEAST: f64 = 0.3;

/// Where the middle of a part of this width can lie; the middle of all such places.
fn middle(map: &Similarity, scale: f64, [before, after]: [f64; 2], width: f64) -> Option<Point> {
    let [half, high] = [width / 2.0, width * before / 2.0];
    // In the after photo the part lies turned: how far it reaches from its middle there, in widths of that photo.
    let [cos, sin] = [map.a / scale, map.b / scale].map(f64::abs);
    let reach = [
        (half * cos + high * sin) / scale,
        (half * sin + high * cos) / scale,
    ];
    let [right, below] = [1.0 - reach[0], after - reach[1]];
    if right < reach[0] || below < reach[1] {
        return None;
    }
    let corners = [
        [reach[0], reach[1]],
        [right, reach[1]],
        [right, below],
        [reach[0], below],
    ];
    let mut places: Vec<Point> = corners.map(|corner| map.place(corner)).to_vec();
    for (axis, least, most) in [(0, half, 1.0 - half), (1, high, before - high)] {
        places = cut(&places, axis, 1.0, least - SLACK);
        places = cut(&places, axis, -1.0, -most - SLACK);
    }
    let many = places.len() as f64;
    let sum = places.iter().fold([0.0; 2], |[x, y], [u, v]| [x + u, y + v]);
    (!places.is_empty()).then(|| sum.map(|all| all / many))
}

/// Rounding that a place may be off by.
const SLACK: f64 = 1e-9;

/// What of a polygon has `sign` × the coordinate of this axis at least `least` (Sutherland and Hodgman 1974).
fn cut(polygon: &[Point], axis: usize, sign: f64, least: f64) -> Vec<Point> {
    let inside = |[x, y]: Point| sign * if axis == 0 { x } else { y } - least;
    let next = polygon.iter().cycle().skip(1);
    let mut kept = Vec::new();
    for (one, other) in polygon.iter().zip(next) {
        let (here, there) = (inside(*one), inside(*other));
        if here >= 0.0 {
            kept.push(*one);
        }
        if (here >= 0.0) != (there >= 0.0) {
            let share = here / (here - there);
            kept.push([
                one[0] + (other[0] - one[0]) * share,
                one[1] + (other[1] - one[1]) * share,
            ]);
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn turned(scale: f64, turn: f64, at: Point) -> Similarity {
        Similarity {
            a: scale * turn.cos(),
            b: scale * turn.sin(),
            at,
        }
    }

    #[test]
    fn of_two_photos_that_lie_alike_the_whole_is_shown() {
        let [left, top, width] = shared(&Similarity::NONE, [0.75, 0.75]).unwrap();
        assert!(
            left.abs() < 1e-3 && top.abs() < 1e-3 && width > 0.999,
            "{left} {top} {width}"
        );
    }

    #[test]
    fn a_closer_photo_shows_its_own_part_and_a_shifted_one_what_is_left() {
        let [left, top, width] = shared(&turned(0.5, 0.0, [0.3, 0.2]), [0.75, 0.75]).unwrap();
        assert!((width - 0.5).abs() < 1e-3 && (left - 0.3).abs() < 1e-3 && (top - 0.2).abs() < 1e-3);
        let [left, _, width] = shared(&turned(1.0, 0.0, [0.2, 0.0]), [0.75, 0.75]).unwrap();
        assert!((width - 0.8).abs() < 1e-3 && (left - 0.2).abs() < 1e-3);
    }

    #[test]
    fn every_part_lies_within_both_and_hardly_grows() {
        for n in 0..200 {
            let share = |prime: u32| f64::from(n * prime % 100) / 100.0 - 0.5;
            let map = turned(
                1.0 + share(37) * 0.6,
                share(53) * 0.4,
                [share(71) * 0.3, share(29) * 0.3],
            );
            let heights = [0.75, if n % 3 == 0 { 1.333 } else { 0.75 }];
            let Some([left, top, width]) = shared(&map, heights) else {
                continue;
            };
            let scale = map.a.hypot(map.b);
            let within = |grown: f64| {
                let [x, y] = [left - grown, top - grown * 0.75];
                let [u, v] = [left + width + grown, top + width * 0.75 + grown * 0.75];
                [[x, y], [u, y], [u, v], [x, v]].iter().all(|[x, y]| {
                    let [p, q] = [x - map.at[0], y - map.at[1]];
                    let back = [
                        (map.a * p + map.b * q) / scale / scale,
                        (map.a * q - map.b * p) / scale / scale,
                    ];
                    let inside = |at: f64, most: f64| at > -1e-6 && at < most + 1e-6;
                    inside(*x, 1.0) && inside(*y, 0.75) && inside(back[0], 1.0) && inside(back[1], heights[1])
                })
            };
            assert!(within(0.0), "{map:?} {left} {top} {width}");
            assert!(!within(0.002), "a larger one about the same middle fits: {map:?}");
        }
    }

    #[test]
    fn photos_that_hardly_meet_share_nothing() {
        assert_eq!(shared(&turned(1.0, 0.0, [0.9, 0.0]), [0.75, 0.75]), None);
        assert_eq!(shared(&turned(0.0, 0.0, [0.0, 0.0]), [0.75, 0.75]), None);
    }
}
