//! What a sheet can be worth at most: exact values of every rectangle when pieces are without number
//! (Gilmore and Gomory's recursion over the lengths that pieces can add up to, after Herz and Beasley), and
//! from them what can still be gained outside a rectangle that is already built.

use super::fill::{Shape, Tree};
use crate::search::{Stop, at};

/// Most sums along one side, and most lengths that are left of them.
const MOST_SUMS: usize = 6_000;
const MOST_POINTS: usize = 1_000;
/// Most cells.
const MOST_CELLS: usize = 700_000;

/// Lengths along one side that pieces can add up to, and the largest such length in each difference.
pub struct Side {
    points: Vec<f64>,
    rests: Vec<u16>,
}

impl Side {
    /// Of all sums of `steps` up to `whole` those that some other sum leaves room for exactly (raster points, after
    /// Scheithauer and Terno): no plan needs more. None if they are too many.
    pub fn sums(steps: &[f64], whole: f64) -> Option<Self> {
        let mut points = vec![0.0];
        let mut next = 0_usize;
        let mut seen = std::collections::BTreeSet::from([0_u64]);
        while let Some(from) = points.get(next).copied() {
            next = next.saturating_add(1);
            for step in steps {
                let sum: f64 = from + step;
                if sum <= whole && seen.insert(sum.to_bits()) {
                    points.push(sum);
                }
            }
            if points.len() > MOST_SUMS {
                return None;
            }
        }
        points.sort_by(f64::total_cmp);
        let reached = |most: f64| {
            let place = points.partition_point(|p| *p <= most).saturating_sub(1);
            at(&points, place)
        };
        let mut kept: Vec<f64> = points.iter().map(|p| reached(whole - p)).collect();
        kept.sort_by(f64::total_cmp);
        kept.dedup();
        (kept.len() <= MOST_POINTS).then(|| Self::of(kept))
    }

    /// A few sums: singles, pairs, and multiples, thinned out to at most `most`.
    pub fn few(steps: &[f64], whole: f64, most: usize) -> Self {
        let mut points = vec![0.0, whole];
        for a in steps {
            points.extend((1..=8).map(|n| a * f64::from(n)));
            points.extend(steps.iter().map(|b| a + b));
        }
        points.retain(|p| *p <= whole);
        points.sort_by(f64::total_cmp);
        points.dedup();
        let every = points.len().div_ceil(most.max(1)).max(1);
        let single = steps.iter().copied().filter(|p| *p <= whole);
        let singles: Vec<f64> = single.step_by(steps.len().div_ceil(most.max(1)).max(1)).collect();
        let mut kept: Vec<f64> = points
            .into_iter()
            .step_by(every)
            .chain(singles)
            .chain([0.0, whole])
            .collect();
        kept.sort_by(f64::total_cmp);
        kept.dedup();
        Self::of(kept)
    }

    fn of(mut points: Vec<f64>) -> Self {
        points.sort_by(f64::total_cmp);
        let rest = |a: &f64, b: &f64| points.partition_point(|p| *p <= a - b).saturating_sub(1) as u16;
        let rests = points
            .iter()
            .flat_map(|a| points.iter().map(move |b| (a, b)))
            .map(|(a, b)| rest(a, b))
            .collect();
        Self { points, rests }
    }

    pub fn many(&self) -> usize {
        self.points.len()
    }

    pub fn points(&self) -> &[f64] {
        &self.points
    }

    /// The largest point that is not beyond.
    pub fn floor(&self, length: f64) -> usize {
        self.points.partition_point(|p| *p <= length).saturating_sub(1)
    }

    /// For the point at `place`: the largest point in what is left behind each other point.
    pub fn rests(&self, place: usize) -> &[u16] {
        let from = place.saturating_mul(self.many());
        self.rests
            .get(from..from.saturating_add(self.many()))
            .unwrap_or_default()
    }

    /// How many points lie in the first half of the point at `place`.
    fn half(&self, place: usize) -> usize {
        let half = at(&self.points, place) / 2.0;
        self.points.partition_point(|p| *p <= half)
    }
}

/// Worth of every rectangle, pieces without number.
pub struct Grid {
    pub x: Side,
    pub y: Side,
    /// By x, then y.
    worth: Vec<f64>,
    /// By y, then x.
    across: Vec<f64>,
    how: Vec<u32>,
    shapes: usize,
}

impl Grid {
    /// None if there are too many points, or it was stopped.
    pub fn new(x: Side, y: Side, shapes: &[Shape], worth: &[f64], stop: Stop<'_>) -> Option<Self> {
        let (nx, ny) = (x.many(), y.many());
        let cells = nx.saturating_mul(ny);
        if cells > MOST_CELLS {
            return None;
        }
        let mut grid = Self {
            x,
            y,
            worth: vec![0.0; cells],
            across: vec![0.0; cells],
            how: vec![0; cells],
            shapes: shapes.len(),
        };
        for i in 0..nx {
            if stop() {
                return None;
            }
            for j in 0..ny {
                let (value, how) = grid.cell(i, j, shapes, worth);
                let (place, turned) = (
                    i.saturating_mul(ny).saturating_add(j),
                    j.saturating_mul(nx).saturating_add(i),
                );
                if let (Some(a), Some(b), Some(c)) = (
                    grid.worth.get_mut(place),
                    grid.across.get_mut(turned),
                    grid.how.get_mut(place),
                ) {
                    (*a, *b, *c) = (value, value, how);
                }
            }
        }
        Some(grid)
    }

    fn cell(&self, i: usize, j: usize, shapes: &[Shape], worth: &[f64]) -> (f64, u32) {
        let (l, w) = (at(&self.x.points, i), at(&self.y.points, j));
        let (mut best, mut how) = (0.0, 0_u32);
        for (place, shape) in shapes.iter().enumerate() {
            let value = at(worth, shape.kind);
            if shape.length <= l && shape.width <= w && value > best {
                (best, how) = (value, (place as u32).saturating_add(1));
            }
        }
        let column = slice(&self.across, j, self.x.many());
        let row = slice(&self.worth, i, self.y.many());
        let base = (self.shapes as u32).saturating_add(1);
        for (place, (first, rest)) in column
            .iter()
            .zip(self.x.rests(i))
            .enumerate()
            .take(self.x.half(i))
            .skip(1)
        {
            let value = first + at(column, usize::from(*rest));
            if value > best + 1e-9 {
                (best, how) = (value, base.saturating_add(place as u32));
            }
        }
        let base = base.saturating_add(self.x.many() as u32);
        for (place, (first, rest)) in row
            .iter()
            .zip(self.y.rests(j))
            .enumerate()
            .take(self.y.half(j))
            .skip(1)
        {
            let value = first + at(row, usize::from(*rest));
            if value > best + 1e-9 {
                (best, how) = (value, base.saturating_add(place as u32));
            }
        }
        (best, how)
    }

    /// Worth of the rectangle at these points.
    pub fn at(&self, i: usize, j: usize) -> f64 {
        at(&self.worth, i.saturating_mul(self.y.many()).saturating_add(j))
    }

    /// Worth of the whole sheet.
    pub fn whole(&self) -> f64 {
        self.worth.last().copied().unwrap_or_default()
    }

    /// How the whole sheet is cut for that worth.
    pub fn tree(&self) -> Option<Tree> {
        self.tree_at(self.x.many().saturating_sub(1), self.y.many().saturating_sub(1))
    }

    fn tree_at(&self, i: usize, j: usize) -> Option<Tree> {
        let how = at(&self.how, i.saturating_mul(self.y.many()).saturating_add(j)) as usize;
        let Some(cut) = how.checked_sub(self.shapes.saturating_add(1)) else {
            return how.checked_sub(1).map(Tree::Piece);
        };
        let (first, second, along_x) = match cut.checked_sub(self.x.many()) {
            None => {
                let rest = usize::from(at(self.x.rests(i), cut));
                (self.tree_at(cut, j), self.tree_at(rest, j), true)
            }
            Some(cut) => {
                let rest = usize::from(at(self.y.rests(j), cut));
                (self.tree_at(i, cut), self.tree_at(i, rest), false)
            }
        };
        Tree::joined(along_x, first, second)
    }

    /// What can be gained outside each rectangle at most, by x, then y.
    pub fn outside(&self, stop: Stop<'_>) -> Option<Vec<f64>> {
        let (nx, ny) = (self.x.many(), self.y.many());
        let mut gain = vec![0.0_f64; nx.saturating_mul(ny)];
        for i in (0..nx).rev() {
            if stop() {
                return None;
            }
            for j in (0..ny).rev() {
                let mut best = 0.0_f64;
                for to in i.saturating_add(1)..nx {
                    let rest = usize::from(at(self.x.rests(to), i));
                    best = best.max(at(&gain, to.saturating_mul(ny).saturating_add(j)) + self.at(rest, j));
                }
                for to in j.saturating_add(1)..ny {
                    let rest = usize::from(at(self.y.rests(to), j));
                    best = best.max(at(&gain, i.saturating_mul(ny).saturating_add(to)) + self.at(i, rest));
                }
                if let Some(own) = gain.get_mut(i.saturating_mul(ny).saturating_add(j)) {
                    *own = best;
                }
            }
        }
        Some(gain)
    }
}

fn slice(list: &[f64], place: usize, many: usize) -> &[f64] {
    let from = place.saturating_mul(many);
    list.get(from..from.saturating_add(many)).unwrap_or_default()
}
