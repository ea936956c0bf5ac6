//! An after photo laid over its before photo: turned, shifted and made larger or smaller until what both show lies on
//! itself. What was repaired looks otherwise, and so does the light; so brightness is compared with that around it, and
//! the rest of the trailer has to agree. First all that a hand-held camera may have moved is tried on a stamp of 80
//! pixels, then the best are made finer at 160 and 320. Where the best is not good, or another is about as good (posts
//! and bows repeat), it is unsure and says so.

use std::iter;

use crate::grey::{Alike, Grey, PARTS, Point};

/// Turned, scaled and shifted: from places in the after photo to those in the before photo, both in widths of their
/// own photo, from the upper left corner. `[x', y'] = [a x - b y + x0, b x + a y + y0]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Similarity {
    /// Scale times cosine of the turn.
    pub a: f64,
    /// Scale times sine of the turn.
    pub b: f64,
    /// Where the after photo's upper left corner comes to lie.
    pub at: [f64; 2],
}

impl Similarity {
    /// As it is.
    pub const NONE: Self = Self {
        a: 1.0,
        b: 0.0,
        at: [0.0, 0.0],
    };

    /// That takes two points of the after photo to two of the before photo; none if two are the same.
    #[must_use]
    pub fn of_taps(after: [[f64; 2]; 2], before: [[f64; 2]; 2]) -> Option<Self> {
        let along = |[[ax, ay], [bx, by]]: [Point; 2]| [bx - ax, by - ay];
        let ([x, y], [u, v]) = (along(after), along(before));
        let square = x * x + y * y;
        let (a, b) = ((x * u + y * v) / square, (x * v - y * u) / square);
        let ([px, py], [qx, qy]) = (after[0], before[0]);
        let sound = square > 1e-6 && u * u + v * v > 1e-6;
        sound.then_some(Self {
            a,
            b,
            at: [qx - a * px + b * py, qy - b * px - a * py],
        })
    }

    /// Where a place of the after photo lies in the before photo.
    #[must_use]
    pub fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [
            self.a * x - self.b * y + self.at[0],
            self.b * x + self.a * y + self.at[1],
        ]
    }
}

/// What matching came to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aligned {
    /// From the after photo to the before photo.
    pub map: Similarity,
    /// How alike both are then: 1 the same, 0 unrelated.
    pub likeness: f64,
    /// Whether it is good, and no other is about as good.
    pub sure: bool,
}

impl Aligned {
    /// As it is kept.
    pub(crate) fn to_line(self) -> String {
        let Similarity { a, b, at: [x, y] } = self.map;
        let sure = if self.sure { "sure" } else { "unsure" };
        format!("{a} {b} {x} {y} {} {sure}", self.likeness)
    }

    /// Read again; none where it cannot be.
    pub(crate) fn of_line(line: &str) -> Option<Self> {
        let mut words = line.split(' ');
        let mut number = || {
            words
                .next()?
                .parse()
                .ok()
                .filter(|number: &f64| number.is_finite())
        };
        let map = Similarity {
            a: number()?,
            b: number()?,
            at: [number()?, number()?],
        };
        let likeness = number()?;
        let sure = match words.next()? {
            "sure" => true,
            "unsure" => false,
            _ => return None,
        };
        Some(Self { map, likeness, sure })
    }
}

/// Likeness from which it is good, and how much better than any other it has to be.
const GOOD: f64 = 0.35;
/// See [`GOOD`].
const BETTER: f64 = 0.12;
/// Two that differ by more than this at a corner, in widths, are not the same.
const OTHER: f64 = 0.05;
/// Least share of the after photo that lies on the before photo.
const OVERLAP: f64 = 0.45;
/// How many of the first look are made finer.
const FINER: usize = 6;

/// Shift of the middle in widths, logarithm of the scale, turn in radians.
type Moved = [f64; 4];
/// Steps of the first look in scale and turn, and how far it shifts each way.
const FIRST: [f64; 2] = [0.07, 0.07];
/// See [`FIRST`].
const SHIFT: f64 = 0.225;

/// Matches the after photo to the before photo.
pub(crate) fn align(before: &Grey, after: &Grey) -> Aligned {
    let levels = |photo: &Grey| {
        let half = photo.half();
        let stamp = half.half();
        [plain(&stamp, 5), plain(&half, 7), plain(photo, 9)]
    };
    let (befores, afters) = (levels(before), levels(after));
    let [before_stamp, before_half, before_whole] = &befores;
    let [after_stamp, after_half, after_whole] = &afters;
    let pair = |before, after, every| Pair { before, after, every };
    let mut found = first_look(&pair(before_stamp, after_stamp, 4));
    // The best, and one that may be as good; what is not finest yet is made finer at the next size.
    for (pair, keep, halvings) in [
        (pair(before_stamp, after_stamp, 2), 4, 1),
        (pair(before_half, after_half, 3), 2, 2),
        (pair(before_whole, after_whole, 4), 2, 3),
    ] {
        let size = pair.before.width.max(1) as f64;
        for each in &mut found {
            *each = pair.finer(each.1, size, halvings);
        }
        found = distinct(found, &pair, keep);
    }
    let of_all = pair(before_half, after_half, 1);
    let score = |moved: Moved| of_all.like(moved);
    let Some((_, best)) = found.first().copied() else {
        return Aligned {
            map: Similarity::NONE,
            likeness: 0.0,
            sure: false,
        };
    };
    let (first, second) = (score(best), found.get(1).map_or(0.0, |(_, moved)| score(*moved)));
    Aligned {
        map: of_all.map(best),
        likeness: first,
        sure: first >= GOOD && first - second >= BETTER,
    }
}

/// Brightness beside that around it, in shares of how much it changes there.
fn plain(photo: &Grey, radius: usize) -> Grey {
    let off = photo.with(&photo.blurred(radius), |pixel, mean| pixel - mean);
    let spread = off.with(&off, |a, b| a * b).blurred(radius);
    off.with(&spread, |off, square| {
        (off / (square.max(0.0).sqrt() + 3.0)).clamp(-3.0, 3.0)
    })
}

/// Both at one size; every so many pixels are compared.
struct Pair<'a> {
    before: &'a Grey,
    after: &'a Grey,
    every: usize,
}

impl Pair<'_> {
    fn map(&self, [x, y, log_scale, turn]: Moved) -> Similarity {
        let middle = |photo: &Grey| [0.5, 0.5 * photo.height as f64 / photo.width.max(1) as f64];
        let (scale, (sin, cos)) = (log_scale.exp(), turn.sin_cos());
        let (a, b) = (scale * cos, scale * sin);
        let ([px, py], [qx, qy]) = (middle(self.after), middle(self.before));
        Similarity {
            a,
            b,
            at: [qx + x - a * px + b * py, qy + y - b * px - a * py],
        }
    }

    fn like(&self, moved: Moved) -> f64 {
        let map = self.map(moved);
        let (from, to) = (self.after.width.max(1) as f64, self.before.width as f64);
        // Along a row the place in the before photo goes on by the same step.
        let parts = |c: f64| (c * f64::from(PARTS)) as i32;
        let step = [map.a, map.b].map(|c| parts(c * to / from * self.every as f64));
        let (mut all, mut inside) = (0.0, Alike::default());
        let rows = self.after.pixels.chunks_exact(self.after.width.max(1));
        for (y, row) in rows.enumerate().step_by(self.every) {
            let start = [0.5, y as f64 + 0.5].map(|c| c / from);
            let mut at = map.place(start).map(|c| parts(c * to - 0.5));
            for pixel in row.iter().step_by(self.every) {
                all += 1.0;
                if let Some(under) = self.before.between(at) {
                    inside.add(*pixel, under);
                }
                at = [at[0].saturating_add(step[0]), at[1].saturating_add(step[1])];
            }
        }
        if inside.n < OVERLAP * all {
            0.0
        } else {
            inside.likeness()
        }
    }

    /// The pixels that are compared and the nearest to each in the before photo, and how many are compared in all.
    fn under(&self, moved: Moved, framed: &Framed) -> (Vec<(f32, usize)>, f64) {
        let map = self.map(moved);
        let (from, to) = (self.after.width.max(1) as f64, self.before.width as f64);
        let mut all = 0.0;
        let mut under = Vec::new();
        let rows = self.after.pixels.chunks_exact(self.after.width.max(1));
        for (y, row) in rows.enumerate().step_by(self.every) {
            for (x, pixel) in row.iter().enumerate().step_by(self.every) {
                all += 1.0;
                let at = map.place([x as f64 + 0.5, y as f64 + 0.5].map(|c| c / from));
                under.extend(framed.place(at.map(|c| c * to)).map(|place| (*pixel, place)));
            }
        }
        (under, all)
    }

    /// Each number of the move by ever smaller steps, while it gets better.
    fn finer(&self, moved: Moved, size: f64, halvings: usize) -> (f64, Moved) {
        let mut best = (self.like(moved), moved);
        let mut step = [1.0 / size, 1.0 / size, 2.0 / size, 2.0 / size];
        for _ in 0..halvings {
            for _ in 0..6 {
                let before = best.0;
                for which in 0..4 {
                    for way in [-1.0, 1.0] {
                        let mut next = best.1;
                        if let (Some(number), Some(step)) = (next.get_mut(which), step.get(which)) {
                            *number += way * step;
                        }
                        let like = self.like(next);
                        if like > best.0 {
                            best = (like, next);
                            break;
                        }
                    }
                }
                if best.0 - before < 1e-4 {
                    break;
                }
            }
            step = step.map(|step| step / 2.0);
        }
        best
    }
}

/// All that a hand-held camera may have moved, the best of it. Shifts are whole pixels here, so that what lies under
/// each pixel of the after photo is worked out once for all of them.
fn first_look(pair: &Pair) -> Vec<(f64, Moved)> {
    const STEP: i32 = 2;
    let steps = |many: i32, step: f64| (many.saturating_neg()..=many).map(move |n| f64::from(n) * step);
    let width = pair.before.width.max(1) as f64;
    let many = (SHIFT * width / f64::from(STEP)).round() as i32;
    let reach = many.saturating_mul(STEP);
    let framed = Framed::of(pair.before, reach.unsigned_abs() as usize);
    let mut found = Vec::new();
    for (scale, turn) in
        steps(3, FIRST[0]).flat_map(|scale| steps(2, FIRST[1]).map(move |turn| (scale, turn)))
    {
        let (pixels, all) = pair.under([0.0, 0.0, scale, turn], &framed);
        let shifts = || (many.saturating_neg()..=many).map(|n| n.saturating_mul(STEP));
        for (x, y) in shifts().flat_map(|x| shifts().map(move |y| (x, y))) {
            let like = framed.like(&pixels, [x, y], OVERLAP * all);
            found.push((like, [f64::from(x) / width, f64::from(y) / width, scale, turn]));
        }
    }
    distinct(found, pair, FINER)
}

/// A photo with a margin that counts for nothing.
struct Framed {
    width: usize,
    margin: usize,
    /// Brightness, and 1 where there is a photo.
    pixels: Vec<[f32; 2]>,
}

impl Framed {
    /// With room for a shift by so many pixels from a place as far outside.
    fn of(photo: &Grey, reach: usize) -> Self {
        let margin = reach.saturating_mul(2).saturating_add(1);
        let width = photo.width.saturating_add(margin.saturating_mul(2));
        let beside = || iter::repeat_n([0.0, 0.0], margin);
        let above = || iter::repeat_n([0.0, 0.0], margin.saturating_mul(width));
        let rows = photo.pixels.chunks_exact(photo.width.max(1));
        let inside = rows.flat_map(|row| {
            beside()
                .chain(row.iter().map(|pixel| [*pixel, 1.0]))
                .chain(beside())
        });
        Self {
            width,
            margin,
            pixels: above().chain(inside).chain(above()).collect(),
        }
    }

    /// Where a pixel lies, right and down of the photo's corner; none outside.
    fn place(&self, at: [f64; 2]) -> Option<usize> {
        let [x, y] = at.map(|c| (c.floor() + self.margin as f64).max(-1.0) as i64);
        let (x, y) = (usize::try_from(x).ok()?, usize::try_from(y).ok()?);
        let place = y.checked_mul(self.width)?.checked_add(x)?;
        (x < self.width && place < self.pixels.len()).then_some(place)
    }

    /// As [`Pair::like`], of pixels and the places that they lie at without the shift.
    fn like(&self, pixels: &[(f32, usize)], [x, y]: [i32; 2], least: f64) -> f64 {
        let by = (y as isize)
            .saturating_mul(self.width as isize)
            .saturating_add(x as isize);
        let mut sums = Alike::default();
        for (pixel, place) in pixels {
            if let Some([under, weight]) = self.pixels.get(place.wrapping_add_signed(by)) {
                sums.weigh(*pixel, *under, *weight);
            }
        }
        if sums.n < least { 0.0 } else { sums.likeness() }
    }
}

/// The best first, without those that come to the same.
fn distinct(mut found: Vec<(f64, Moved)>, pair: &Pair, keep: usize) -> Vec<(f64, Moved)> {
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut kept: Vec<(f64, Moved)> = Vec::new();
    for each in found {
        if kept.len() >= keep {
            break;
        }
        if kept
            .iter()
            .all(|other| apart(pair.map(each.1), pair.map(other.1)) > OTHER)
        {
            kept.push(each);
        }
    }
    kept
}

/// How far apart two maps take a photo's corners at most, in widths.
fn apart(one: Similarity, other: Similarity) -> f64 {
    let far = |corner| {
        let ([x, y], [u, v]) = (one.place(corner), other.place(corner));
        f64::hypot(x - u, y - v)
    };
    [[0.0, 0.0], [1.0, 0.0], [0.0, 0.75], [1.0, 0.75]]
        .map(far)
        .into_iter()
        .fold(0.0, f64::max)
}

#[cfg(test)]
#[path = "align_tests.rs"]
mod tests;
