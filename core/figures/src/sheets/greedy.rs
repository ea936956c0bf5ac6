//! Quick plans of one sheet: a piece in the corner, and what is left beside it is filled in the same way. The
//! order of the pieces is shaken from try to try, so that many different plans come about.

use super::fill::{Shape, Tree};
use crate::search::at;

/// Pieces of one plan, at most: a plan of more is as well found in parts.
const MOST: u32 = 400;
/// Turns of the cutting direction, at most.
const MOST_TURNS: u32 = 60;

/// One order of pieces.
pub struct Greedy<'a> {
    pub shapes: &'a [Shape],
    /// Places of shapes, first choice first.
    order: Vec<usize>,
    state: u32,
    turn: u32,
    pieces: u32,
}

impl<'a> Greedy<'a> {
    /// The order of a turn: by area, by worth for area, by the longer side, then worth for area shaken.
    pub fn new(shapes: &'a [Shape], worth: &[f64], turn: u32) -> Self {
        let mut state = turn.wrapping_mul(2_654_435_761).wrapping_add(12_345);
        let mut shake = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(state >> 8) / f64::from(1_u32 << 24)
        };
        let mut keyed: Vec<(f64, usize)> = shapes
            .iter()
            .enumerate()
            .map(|(place, s)| {
                let area = s.length * s.width;
                let rate = at(worth, s.kind) / area;
                let key = match turn {
                    0 => area,
                    1 => rate,
                    2 => s.length.max(s.width),
                    _ if turn & 1 == 1 => rate * (0.4 + shake()),
                    _ => rate * area.sqrt() * (0.4 + shake()),
                };
                (key, place)
            })
            .collect();
        keyed.sort_by(|a, b| b.0.total_cmp(&a.0));
        Self {
            shapes,
            order: keyed.into_iter().map(|k| k.1).collect(),
            state,
            turn,
            pieces: 0,
        }
    }

    /// A plan of a rectangle; what is used is taken off `open`. `last` is the
    /// direction of the cut around it (along x or not) and how often the cuts have turned.
    pub fn fill(&mut self, length: f64, width: f64, open: &mut [u32], last: (bool, u32)) -> Option<Tree> {
        if self.pieces >= MOST || last.1 > MOST_TURNS {
            return None;
        }
        let fits = |p: &&usize| {
            self.shapes
                .get(**p)
                .is_some_and(|s| s.length <= length && s.width <= width && at(open, s.kind) > 0)
        };
        let place = *self.order.iter().find(fits)?;
        let shape = *self.shapes.get(place)?;
        if let Some(left) = open.get_mut(shape.kind) {
            *left = left.saturating_sub(1);
        }
        self.pieces = self.pieces.saturating_add(1);
        self.state = self.state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let odd = self.turn > 2 && self.state >> 30 == 0;
        let piece = Some(Tree::Piece(place));
        // The larger of what is left beside and above stays whole.
        let along_x = (length - shape.length > width - shape.width) != odd;
        let turns = last.1.saturating_add(u32::from(last.0 != along_x));
        let (own, across) = ((along_x, turns), (!along_x, turns.saturating_add(1)));
        if along_x {
            let above = self.fill(shape.length, width - shape.width, open, across);
            let column = Tree::joined(false, piece, above);
            let beside = self.fill(length - shape.length, width, open, own);
            Tree::joined(true, column, beside)
        } else {
            let beside = self.fill(length - shape.length, shape.width, open, across);
            let row = Tree::joined(true, piece, beside);
            let above = self.fill(length, width - shape.width, open, own);
            Tree::joined(false, row, above)
        }
    }
}
