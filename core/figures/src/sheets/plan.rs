//! Least cost over many sheets: each plan is one filled sheet, the search over plans is the one of the bars.
//! A coil is cut off at lengths that its pieces add up to; each such length is a stock of its own here.

use super::fill::{Ask, Shape, Tree, fill};
use crate::bars::master::{Bonus, Offer, Plan, Pricer};
use crate::search::{Stop, at};

/// Rectangles that may be built for one plan.
const MOST_BUILT: usize = 2_000;
/// Quick plans that are tried for one plan.
pub const TRIES: u32 = 9;
/// Lengths at which one coil may be cut off where not all can be tried.
const MOST_CUTS: usize = 20;
/// Lengths of one coil that are all tried.
const ALL_CUTS: usize = 80;

/// A sheet as the search sees it; lengths in nanometres, one kerf included.
pub struct Sheet {
    /// Place of its stock in the input.
    pub stock: usize,
    pub length: f64,
    pub width: f64,
    pub price: f64,
    pub count: Option<u32>,
}

/// Lengths worth cutting off a coil, and whether they are all that a best plan may need: the sums of pieces'
/// lengths, or of too many only singles and pairs, thinned out; singles where time is up. A kerf is in each.
pub fn cut_offs(shapes: &[Shape], demand: &[u32], width: f64, stop: Stop<'_>) -> (Vec<f64>, bool) {
    let fits = |s: &&Shape| s.width <= width && at(demand, s.kind) > 0;
    let stopped = stop();
    if let Some(sums) = sums(shapes, demand, width) {
        return (sums, true);
    }
    let mut singles: Vec<f64> = shapes.iter().filter(fits).map(|s| s.length).collect();
    singles.sort_by(f64::total_cmp);
    singles.dedup();
    let mut lengths: Vec<f64> = singles.clone();
    if !stopped {
        lengths.extend(singles.iter().flat_map(|a| singles.iter().map(move |b| a + b)));
    }
    lengths.sort_by(f64::total_cmp);
    lengths.dedup();
    let every = lengths.len().div_ceil(MOST_CUTS).max(1);
    let (shortest, longest) = (singles.first().copied(), singles.last().copied());
    let some = lengths.into_iter().rev().step_by(every);
    let mut kept: Vec<f64> = some.chain(shortest).chain(longest).collect();
    kept.sort_by(f64::total_cmp);
    kept.dedup();
    (kept, false)
}

/// All lengths that the pieces can add up to, each piece once and one way round; none if they are too many.
fn sums(shapes: &[Shape], demand: &[u32], width: f64) -> Option<Vec<f64>> {
    let mut sums = vec![0.0];
    for (kind, count) in demand.iter().enumerate() {
        let own: Vec<f64> = shapes
            .iter()
            .filter(|s| s.kind == kind && s.width <= width)
            .map(|s| s.length)
            .collect();
        for _ in 0..*count {
            let more: Vec<f64> = sums
                .iter()
                .flat_map(|sum| own.iter().map(move |l| sum + l))
                .collect();
            let before = sums.len();
            sums.extend(more);
            sums.sort_by(f64::total_cmp);
            sums.dedup();
            if sums.len() > ALL_CUTS {
                return None;
            }
            if sums.len() == before {
                break;
            }
        }
    }
    sums.retain(|sum| *sum > 0.0);
    Some(sums)
}

/// Makes plans of sheets.
pub struct Sheets<'a> {
    pub sheets: &'a [Sheet],
    pub shapes: &'a [Shape],
    pub stages: Option<u32>,
    pub trees: Vec<Tree>,
}

impl Sheets<'_> {
    fn plan(&mut self, group: usize, tree: Tree, kinds: usize) -> Option<Plan> {
        let mut counts = vec![0; kinds];
        tree.count(self.shapes, &mut counts);
        let counts = counts.into_iter().enumerate().filter(|(_, n)| *n > 0).collect();
        let tag = self.trees.len();
        self.trees.push(tree);
        Some(Plan {
            group,
            counts,
            cost: self.sheets.get(group)?.price,
            tag,
        })
    }
}

impl Pricer for Sheets<'_> {
    fn best(
        &mut self,
        group: usize,
        worth: &[f64],
        bonus: &[Bonus],
        rest: f64,
        limit: &[u32],
        stop: Stop<'_>,
    ) -> Option<Offer> {
        let sheet = self.sheets.get(group)?;
        let ask = Ask {
            sheet: (sheet.length, sheet.width),
            shapes: self.shapes,
            worth,
            limit,
            stages: self.stages,
            tries: TRIES,
            most_built: if rest.is_finite() { MOST_BUILT } else { 0 },
            enough: if bonus.is_empty() && rest.is_finite() {
                (sheet.price - rest) * (1.0 + 1e-6) + 1e-6
            } else {
                f64::INFINITY
            },
        };
        let price = sheet.price;
        let extra: f64 = bonus.iter().map(|b| b.worth.max(0.0)).sum();
        let filled = fill(&ask, stop);
        // No sheet is empty: where nothing is worth anything, any piece that fits is cut.
        let fits = |s: &Shape| at(limit, s.kind) > 0 && s.length <= ask.sheet.0 && s.width <= ask.sheet.1;
        let any = || self.shapes.iter().position(fits).map(Tree::Piece);
        let tree = filled.tree.or_else(any)?;
        let plan = self.plan(group, tree, limit.len())?;
        Some(Offer {
            plan,
            most: filled.upper + extra - price,
        })
    }

    fn cut_down(&mut self, plan: &Plan, limit: &[u32]) -> Option<Plan> {
        let mut open: Vec<u32> = limit.to_vec();
        for (kind, open) in open.iter_mut().enumerate() {
            let own = plan
                .counts
                .iter()
                .find(|(k, _)| *k == kind)
                .map_or(0, |(_, n)| *n);
            *open = own.min(at(limit, kind));
        }
        let tree = self.trees.get(plan.tag)?.pruned(self.shapes, &mut open)?;
        self.plan(plan.group, tree, limit.len())
    }
}
