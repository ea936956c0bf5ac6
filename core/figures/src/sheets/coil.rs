//! What cutting costs at least where coils may be cut off at any length: across a coil, at each place, lie pieces
//! beside each other, so that lengths of such rows stand for the plans of a coil (the bar relaxation, after
//! Scheithauer). Sheets keep their own plans. The bound is that of the worths found so far, scaled until no plan
//! gains (Farley 1990).

use super::fill::{Ask, Shape, fill};
use super::plan::{Sheet, TRIES};
use crate::bars::knapsack::{Bar, Bars};
use crate::bars::master::Pricer;
use crate::bars::simplex::{Column, Entry, Simplex};
use crate::search::{Stop, at};

/// Rectangles that may be built for one plan.
const MOST_BUILT: usize = 2_000;

/// A coil: its width with one kerf, and its price for one unit of length.
pub struct Coil {
    pub width: f64,
    pub rate: f64,
}

/// What is asked.
pub struct Coils<'a> {
    pub coils: &'a [Coil],
    pub sheets: &'a [&'a Sheet],
    pub shapes: &'a [Shape],
    pub demand: &'a [u32],
    pub stages: Option<u32>,
    pub kerf: f64,
    /// Price of a missing piece: more than any whole answer costs.
    pub missing: f64,
}

/// A plan of a sheet, or a row across a coil for one unit of length.
struct Row {
    /// Worth of its pieces, and what no row or plan of its stock is worth more than.
    worth: f64,
    most: f64,
    cost: f64,
    /// Kind and how many.
    counts: Vec<(usize, f64)>,
}

impl Coils<'_> {
    /// No answer costs less.
    pub fn lower(&self, stop: Stop<'_>) -> f64 {
        // Lengths in parts of the longest, so that numbers stay near one.
        let unit = self.shapes.iter().map(|s| s.length).fold(1.0, f64::max);
        let rows: Vec<(f64, f64)> = self
            .demand
            .iter()
            .map(|n| (f64::from(*n), self.missing))
            .collect();
        let mut simplex = Simplex::new(&rows);
        let mut lower = 0.0_f64;
        for _ in 0..self.demand.len().saturating_mul(12).saturating_add(40) {
            let worth: Vec<f64> = simplex.duals().iter().map(|d| d.max(0.0)).collect();
            let (mut over, mut best) = (1.0_f64, None::<(f64, Entry)>);
            for row in self.rows(&worth, unit, stop) {
                if row.most > 1e-9 {
                    over = over.max(if row.cost > 0.0 {
                        row.most / row.cost
                    } else {
                        f64::INFINITY
                    });
                }
                let gain = row.worth - row.cost;
                if gain > 1e-7 && best.as_ref().is_none_or(|(top, _)| gain > *top) {
                    let entry = Entry {
                        column: Column::Slack,
                        cost: row.cost,
                        coefficients: row.counts,
                    };
                    best = Some((gain, entry));
                }
            }
            let all: f64 = worth
                .iter()
                .zip(self.demand)
                .map(|(w, n)| w * f64::from(*n))
                .sum();
            lower = lower.max(all / over);
            if stop() || !best.is_some_and(|(_, entry)| simplex.enter(entry)) {
                break;
            }
        }
        lower
    }

    /// Of each coil and sheet a row or plan that gains much.
    fn rows(&self, worth: &[f64], unit: f64, stop: Stop<'_>) -> Vec<Row> {
        let mut rows = Vec::new();
        for coil in self.coils {
            let cost = coil.rate * unit;
            let bar = Bar {
                length: coil.width,
                room: coil.width - self.kerf,
                kerf: self.kerf,
                price: cost,
                keep_from: None,
            };
            let widths = self.shapes.iter().map(|s| s.width).collect();
            let each: Vec<f64> = self
                .shapes
                .iter()
                .map(|s| at(worth, s.kind) * unit / (s.length - self.kerf))
                .collect();
            let limit: Vec<u32> = self.shapes.iter().map(|s| at(self.demand, s.kind)).collect();
            let offer = Bars::new(vec![bar], widths).best(0, &each, &[], 0.0, &limit, stop);
            let Some(offer) = offer else { continue };
            let mut counts: Vec<(usize, f64)> = Vec::new();
            for (place, n) in &offer.plan.counts {
                let Some(shape) = self.shapes.get(*place) else {
                    continue;
                };
                let many = f64::from(*n) * unit / (shape.length - self.kerf);
                match counts.iter_mut().find(|(kind, _)| *kind == shape.kind) {
                    Some((_, sum)) => *sum += many,
                    None => counts.push((shape.kind, many)),
                }
            }
            rows.push(Row {
                worth: counts.iter().map(|(kind, n)| at(worth, *kind) * n).sum(),
                most: offer.most + cost,
                cost,
                counts,
            });
        }
        for sheet in self.sheets {
            let ask = Ask {
                sheet: (sheet.length, sheet.width),
                shapes: self.shapes,
                worth,
                limit: self.demand,
                stages: self.stages,
                tries: TRIES,
                most_built: MOST_BUILT,
                enough: sheet.price * (1.0 + 1e-6) + 1e-6,
            };
            let filled = fill(&ask, stop);
            let mut counts = vec![0; self.demand.len()];
            filled
                .tree
                .into_iter()
                .for_each(|tree| tree.count(self.shapes, &mut counts));
            let some = counts.iter().enumerate().filter(|(_, n)| **n > 0);
            rows.push(Row {
                worth: filled.value,
                most: filled.upper,
                cost: sheet.price,
                counts: some.map(|(kind, n)| (kind, f64::from(*n))).collect(),
            });
        }
        rows
    }
}
