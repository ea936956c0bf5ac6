//! The most that one sheet can hold by edge-to-edge cuts when pieces are counted.
//!
//! Bounds come from [`super::grid`]. A first plan comes from the same recursion with counts kept beside each
//! rectangle; then rectangles are built from pieces upward, the most promising first (after Viswanathan and
//! Bagchi), until no rectangle that is left can lead to more.

use super::greedy::Greedy;
use super::grid::{Grid, Side};
pub use super::tree::{Depth, Tree};
use crate::search::{Stop, at};
use std::cmp::Ordering;
use std::collections::{BinaryHeap, HashSet};

/// Quick plans of a sheet for which time is; with lengths too many for a grid it gets more of them.
pub const MANY_TRIES: u32 = 400;
/// Parts into which a side is divided for a rough bound.
const ROUGH: f64 = 192.0;

/// A piece as it may lie; lengths in nanometres, one kerf included.
#[derive(Debug, Clone, Copy)]
pub struct Shape {
    pub kind: usize,
    pub length: f64,
    pub width: f64,
    pub turned: bool,
}

/// What is asked of one sheet.
pub struct Ask<'a> {
    /// Length and width, one kerf included.
    pub sheet: (f64, f64),
    pub shapes: &'a [Shape],
    pub worth: &'a [f64],
    pub limit: &'a [u32],
    pub stages: Option<u32>,
    /// Rectangles that may be built at most; 0: a good plan will do.
    pub most_built: usize,
    /// Quick plans that are tried.
    pub tries: u32,
    /// A plan of more than this worth is enough, even if its bound stays loose.
    pub enough: f64,
}

/// The best found.
#[derive(Debug, Default)]
pub struct Filled {
    pub tree: Option<Tree>,
    pub value: f64,
    pub upper: f64,
}

/// A rectangle that is built; its counts lie in one list with all others.
#[derive(Clone, Copy)]
struct Built {
    length: f64,
    width: f64,
    value: f64,
    depth: Depth,
    how: How,
}

#[derive(Clone, Copy)]
enum How {
    Piece(usize),
    Join(bool, usize, usize),
}

struct Waits {
    upper: f64,
    place: usize,
}

impl Ord for Waits {
    fn cmp(&self, other: &Self) -> Ordering {
        self.upper
            .total_cmp(&other.upper)
            .then(other.place.cmp(&self.place))
    }
}
impl PartialOrd for Waits {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl PartialEq for Waits {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Waits {}

/// Fills one sheet.
pub fn fill(ask: &Ask<'_>, stop: Stop<'_>) -> Filled {
    let useful = |s: &Shape| at(ask.worth, s.kind) > 0.0 && at(ask.limit, s.kind) > 0;
    let fits = |s: &Shape| s.length <= ask.sheet.0 && s.width <= ask.sheet.1;
    let places: Vec<usize> = (0..ask.shapes.len())
        .filter(|p| ask.shapes.get(*p).is_some_and(|s| useful(s) && fits(s)))
        .collect();
    let shapes: Vec<Shape> = places
        .iter()
        .filter_map(|p| ask.shapes.get(*p).copied())
        .collect();
    if shapes.is_empty() {
        return Filled::default();
    }
    let mut search = Search {
        ask,
        shapes,
        best: Filled::default(),
        built: Vec::new(),
        counts: Vec::new(),
        density: Vec::new(),
    };
    search.density();
    search.best.upper = search.by_area(0.0, &vec![0; ask.limit.len()]);
    search.run(stop);
    let Search { mut best, .. } = search;
    best.tree = best.tree.map(|tree| renamed(tree, &places));
    best
}

/// The tree with the caller's places of shapes, cuts of one direction halved and not in a chain: a list of small
/// pieces must not nest deeper than readers of JSON go.
fn renamed(tree: Tree, places: &[usize]) -> Tree {
    let Tree::Join(along_x, ..) = tree else {
        return match tree {
            Tree::Piece(place) => Tree::Piece(at(places, place)),
            join => join,
        };
    };
    let mut parts = Vec::new();
    tree.parts(along_x, &mut parts);
    let parts: Vec<Tree> = parts.into_iter().map(|part| renamed(part, places)).collect();
    Tree::halved(along_x, parts).unwrap_or(Tree::Piece(0))
}

struct Search<'a> {
    ask: &'a Ask<'a>,
    shapes: Vec<Shape>,
    best: Filled,
    built: Vec<Built>,
    counts: Vec<u16>,
    /// Kinds with area and worth, most worth for its area first.
    density: Vec<(usize, f64, f64)>,
}

impl Search<'_> {
    fn kinds(&self) -> usize {
        self.ask.limit.len()
    }

    fn density(&mut self) {
        let mut kinds: Vec<(usize, f64, f64)> = Vec::new();
        for shape in &self.shapes {
            if kinds.iter().all(|(kind, ..)| *kind != shape.kind) {
                kinds.push((
                    shape.kind,
                    shape.length * shape.width,
                    at(self.ask.worth, shape.kind),
                ));
            }
        }
        kinds.sort_by(|a, b| (b.2 / b.1).total_cmp(&(a.2 / a.1)));
        self.density = kinds;
    }

    /// What the area outside `taken` can be worth at most with the pieces that are left.
    fn by_area(&self, taken: f64, counts: &[u16]) -> f64 {
        let mut room = self.ask.sheet.0 * self.ask.sheet.1 - taken;
        let mut sum = 0.0;
        for (kind, area, worth) in &self.density {
            let left = f64::from(at(self.ask.limit, *kind)) - f64::from(at(counts, *kind));
            let some = (room / area).min(left).max(0.0);
            sum += some * worth;
            room -= some * area;
        }
        sum
    }

    fn run(&mut self, stop: Stop<'_>) {
        let mut sides = [Vec::new(), Vec::new()];
        for shape in &self.shapes {
            let [x, y] = &mut sides;
            x.push(shape.length);
            y.push(shape.width);
        }
        let [x, y] = &mut sides;
        for side in [&mut *x, &mut *y] {
            side.sort_by(f64::total_cmp);
            side.dedup();
        }
        self.greedy(0..3, &mut || false);
        if stop() || self.done() {
            // Asked to end: a quick plan, so that what is left of a list still fills its sheets.
            return;
        }
        let grid = match (Side::sums(x, self.ask.sheet.0), Side::sums(y, self.ask.sheet.1)) {
            (Some(sx), Some(sy)) => Grid::new(sx, sy, &self.shapes, self.ask.worth, stop),
            _ => None,
        };
        let Some(grid) = grid else {
            self.roughly(stop);
            self.greedy(3..self.ask.tries, stop);
            for points in [24, 60, 120] {
                let (sx, sy) = (
                    Side::few(x, self.ask.sheet.0, points),
                    Side::few(y, self.ask.sheet.1, points),
                );
                if !self.done() && !stop() {
                    self.counted(&sx, &sy, stop);
                }
            }
            if self.ask.tries >= MANY_TRIES {
                self.greedy(MANY_TRIES..MANY_TRIES.saturating_mul(16), stop);
            }
            return;
        };
        self.best.upper = self.best.upper.min(grid.whole());
        if let Some(tree) = grid.tree() {
            self.offer_pruned(&tree);
        }
        if !self.done() && self.best.value <= self.ask.enough {
            self.greedy(3..self.ask.tries, stop);
        }
        if self.done() || self.best.value > self.ask.enough {
            return;
        }
        let work = grid
            .x
            .many()
            .saturating_mul(grid.y.many())
            .saturating_mul(grid.x.many().saturating_add(grid.y.many()));
        if work <= 60_000_000 {
            self.counted(&grid.x, &grid.y, stop);
        } else {
            self.counted(
                &Side::few(x, self.ask.sheet.0, 120),
                &Side::few(y, self.ask.sheet.1, 120),
                stop,
            );
        }
        if self.done() || self.best.value > self.ask.enough || self.ask.most_built == 0 {
            return;
        }
        if let Some(outside) = grid.outside(stop) {
            self.build(&grid, &outside, stop);
        }
    }

    /// Quick plans, the first of them by plain orders.
    fn greedy(&mut self, turns: std::ops::Range<u32>, stop: Stop<'_>) {
        for turn in turns {
            if self.done() || stop() {
                return;
            }
            let mut open = self.ask.limit.to_vec();
            let tree = Greedy::new(&self.shapes, self.ask.worth, turn).fill(
                self.ask.sheet.0,
                self.ask.sheet.1,
                &mut open,
                (true, 0),
            );
            if let Some(tree) = tree {
                self.offer_pruned(&tree);
            }
        }
    }

    /// A bound where exact lengths are too many: every piece a little smaller, so that few lengths are left.
    fn roughly(&mut self, stop: Stop<'_>) {
        let (length, width) = self.ask.sheet;
        let parts = |own: f64, whole: f64| (own * ROUGH / whole).floor().max(0.25);
        let smaller = |s: &Shape| Shape {
            length: parts(s.length, length),
            width: parts(s.width, width),
            ..*s
        };
        let shapes: Vec<Shape> = self.shapes.iter().map(smaller).collect();
        let sides = |of: fn(&Shape) -> f64| {
            let mut steps: Vec<f64> = shapes.iter().map(of).collect();
            steps.sort_by(f64::total_cmp);
            steps.dedup();
            Side::sums(&steps, ROUGH)
        };
        let sides = (sides(|s| s.length), sides(|s| s.width));
        if let (Some(x), Some(y)) = sides
            && let Some(grid) = Grid::new(x, y, &shapes, self.ask.worth, stop)
        {
            self.best.upper = self.best.upper.min(grid.whole());
        }
    }

    fn done(&self) -> bool {
        self.best.value >= self.best.upper - 1e-7 * (1.0 + self.best.upper.abs())
    }

    /// Keeps a tree if it is worth more, after what is too many is taken out.
    fn offer_pruned(&mut self, tree: &Tree) {
        let Some(tree) = tree.pruned(&self.shapes, &mut self.ask.limit.to_vec()) else {
            return;
        };
        if self.ask.stages.is_some_and(|most| tree.depth().stages > most) {
            return;
        }
        let mut counts = vec![0; self.kinds()];
        tree.count(&self.shapes, &mut counts);
        let value: f64 = counts
            .iter()
            .zip(self.ask.worth)
            .map(|(n, worth)| f64::from(*n) * worth)
            .sum();
        if value > self.best.value + 1e-9 {
            self.best.value = value;
            self.best.tree = Some(tree);
        }
    }

    fn counts_of(&self, place: usize) -> &[u16] {
        let from = place.saturating_mul(self.kinds());
        self.counts
            .get(from..from.saturating_add(self.kinds()))
            .unwrap_or_default()
    }

    fn tree_of(&self, place: usize) -> Option<Tree> {
        match self.built.get(place)?.how {
            How::Piece(shape) => Some(Tree::Piece(shape)),
            How::Join(along_x, a, b) => Tree::joined(along_x, self.tree_of(a), self.tree_of(b)),
        }
    }

    fn piece(&self, place: usize) -> Option<Built> {
        let shape = self.shapes.get(place)?;
        let value = at(self.ask.worth, shape.kind);
        Some(Built {
            length: shape.length,
            width: shape.width,
            value,
            depth: Depth::default(),
            how: How::Piece(place),
        })
    }

    /// Two rectangles as one; none if counts, the sheet or the stages forbid it.
    fn join(&self, a: usize, b: usize, along_x: bool) -> Option<Built> {
        let (first, second) = (self.built.get(a)?, self.built.get(b)?);
        let (length, width) = if along_x {
            (first.length + second.length, first.width.max(second.width))
        } else {
            (first.length.max(second.length), first.width + second.width)
        };
        if length > self.ask.sheet.0 || width > self.ask.sheet.1 {
            return None;
        }
        let depth = first.depth.under(second.depth, along_x);
        if self.ask.stages.is_some_and(|most| depth.stages > most) {
            return None;
        }
        let mut both = self
            .counts_of(a)
            .iter()
            .zip(self.counts_of(b))
            .zip(self.ask.limit);
        let fits = both.all(|((a, b), most)| u32::from(*a).saturating_add(u32::from(*b)) <= *most);
        fits.then_some(Built {
            length,
            width,
            value: first.value + second.value,
            depth,
            how: How::Join(along_x, a, b),
        })
    }

    fn push(&mut self, built: Built) -> usize {
        let place = self.built.len();
        let counts: Vec<u16> = match built.how {
            How::Piece(shape) => {
                let kind = self.shapes.get(shape).map(|s| s.kind);
                (0..self.kinds()).map(|k| u16::from(Some(k) == kind)).collect()
            }
            How::Join(_, a, b) => self
                .counts_of(a)
                .iter()
                .zip(self.counts_of(b))
                .map(|(a, b)| a.saturating_add(*b))
                .collect(),
        };
        self.counts.extend(counts);
        self.built.push(built);
        if built.value > self.best.value + 1e-9 {
            self.best.value = built.value;
            self.best.tree = self.tree_of(place);
        }
        place
    }

    fn clear(&mut self) {
        self.built.clear();
        self.counts.clear();
    }

    /// The recursion over points with counts beside each rectangle: good plans, not always the best.
    fn counted(&mut self, x: &Side, y: &Side, stop: Stop<'_>) {
        self.clear();
        let single: Vec<Built> = (0..self.shapes.len()).filter_map(|p| self.piece(p)).collect();
        let pieces: Vec<usize> = single.into_iter().map(|b| self.push(b)).collect();
        let ny = y.many();
        let mut cells: Vec<u32> = vec![u32::MAX; x.many().saturating_mul(ny)];
        let cell = |cells: &[u32], i: usize, j: usize| {
            cells
                .get(i.saturating_mul(ny).saturating_add(j))
                .copied()
                .filter(|c| *c != u32::MAX)
                .map(|c| c as usize)
        };
        for (i, length) in x.points().iter().enumerate() {
            if stop() || self.built.len() > self.ask.most_built.max(20_000) {
                break;
            }
            for (j, width) in y.points().iter().enumerate() {
                let fits = |p: &&usize| {
                    self.built
                        .get(**p)
                        .is_some_and(|b| b.length <= *length && b.width <= *width)
                };
                let value = |p: usize| self.built.get(p).map_or(0.0, |b| b.value);
                let mut held = pieces
                    .iter()
                    .filter(fits)
                    .copied()
                    .max_by(|a, b| value(*a).total_cmp(&value(*b)));
                let mut top = held.map_or(0.0, value);
                let mut made: Option<Built> = None;
                let mut try_join = |a: Option<usize>, b: Option<usize>, along_x: bool| {
                    if let (Some(a), Some(b)) = (a, b)
                        && value(a) + value(b) > top + 1e-9
                        && let Some(joined) = self.join(a, b, along_x)
                    {
                        top = joined.value;
                        made = Some(joined);
                    }
                };
                for (to, rest) in x.rests(i).iter().enumerate().take(i).skip(1) {
                    try_join(cell(&cells, to, j), cell(&cells, usize::from(*rest), j), true);
                }
                for (to, rest) in y.rests(j).iter().enumerate().take(j).skip(1) {
                    try_join(cell(&cells, i, to), cell(&cells, i, usize::from(*rest)), false);
                }
                if let Some(made) = made {
                    held = Some(self.push(made));
                }
                let smaller = [
                    i.checked_sub(1).and_then(|i| cell(&cells, i, j)),
                    j.checked_sub(1).and_then(|j| cell(&cells, i, j)),
                ];
                for other in smaller.into_iter().flatten() {
                    let worth = |p: usize| self.built.get(p).map_or(0.0, |b| b.value);
                    if held.is_none_or(|held| worth(other) > worth(held)) {
                        held = Some(other);
                    }
                }
                if let (Some(held), Some(own)) = (held, cells.get_mut(i.saturating_mul(ny).saturating_add(j)))
                {
                    *own = held as u32;
                }
            }
        }
    }

    /// Builds rectangles from pieces upward, the most promising first.
    fn build(&mut self, grid: &Grid, outside: &[f64], stop: Stop<'_>) {
        self.clear();
        let mut heap: BinaryHeap<Waits> = BinaryHeap::new();
        let mut seen: HashSet<Vec<u16>> = HashSet::new();
        let mut closed: Vec<usize> = Vec::new();
        let first: Vec<Built> = (0..self.shapes.len()).filter_map(|p| self.piece(p)).collect();
        for built in first {
            self.consider(built, grid, outside, &mut heap, &mut seen);
        }
        let most = self.ask.most_built;
        while let Some(waits) = heap.pop() {
            if waits.upper <= self.best.value + 1e-7 * (1.0 + self.best.value) {
                self.best.upper = self.best.value;
                return;
            }
            if self.built.len() > most || stop() {
                self.best.upper = self.best.upper.min(waits.upper);
                return;
            }
            closed.push(waits.place);
            for other in &closed {
                for along_x in [true, false] {
                    if let Some(joined) = self.join(waits.place, *other, along_x) {
                        self.consider(joined, grid, outside, &mut heap, &mut seen);
                    }
                }
            }
        }
        self.best.upper = self.best.value;
    }

    fn consider(
        &mut self,
        built: Built,
        grid: &Grid,
        outside: &[f64],
        heap: &mut BinaryHeap<Waits>,
        seen: &mut HashSet<Vec<u16>>,
    ) {
        let (i, j) = (grid.x.floor(built.length), grid.y.floor(built.width));
        let rest = at(outside, i.saturating_mul(grid.y.many()).saturating_add(j));
        let enough = self.best.value + 1e-7 * (1.0 + self.best.value);
        if built.value + rest <= enough && built.value <= enough {
            return;
        }
        let place = self.push(built);
        let by_area = self.by_area(built.length * built.width, self.counts_of(place));
        let upper = built.value + rest.min(by_area);
        let mut key = self.counts_of(place).to_vec();
        // Exactly as long and wide: the points of the grid are too few to tell rectangles apart.
        for size in [built.length.to_bits(), built.width.to_bits()] {
            key.extend([0, 16, 32, 48].map(|bits| (size >> bits) as u16));
        }
        if self.ask.stages.is_some() {
            key.extend([built.depth.stages as u16, u16::from(built.depth.along_x)]);
        }
        if upper <= enough || !seen.insert(key) {
            self.built.pop();
            self.counts
                .truncate(self.built.len().saturating_mul(self.kinds()));
            return;
        }
        heap.push(Waits { upper, place });
    }
}
