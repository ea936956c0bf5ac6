//! Which cut plans, how often each: the same question for bars and for sheets.
//!
//! A linear programme over all plans gives a lower bound; plans are priced when they are wanted. A tree over
//! the number of bars of each stock closes the gap that whole bars leave, and dives (fix, solve again, fix)
//! give whole plans. An answer is proven when no open branch can be cheaper. With one stock and one price the
//! bound rounded up is nearly always met (the integer round-up property), so the tree stays small.

pub use super::offer::{Bonus, Offer, Plan, Pricer};
use super::simplex::{Column, Entry, Simplex};
use crate::search::{Stop, at};
use std::collections::HashMap;

/// What is asked.
pub struct Problem {
    /// How many of each kind.
    pub demand: Vec<u32>,
    /// Size of one of each kind, for the first plan.
    pub size: Vec<f64>,
    /// Stock of each group.
    pub stock_of: Vec<usize>,
    /// How many of each stock there are.
    pub most: Vec<Option<u32>>,
    /// Gross price of each stock.
    pub price: Vec<f64>,
    /// Every cost is a whole multiple of this; 0 if there is no such step.
    pub step: f64,
    /// A bound this close to the cost closes the gap (half a cent where worth is shared out).
    pub close: f64,
    /// A bound known from elsewhere.
    pub floor: f64,
}

/// The best answer found.
#[derive(Debug, Clone, Default)]
pub struct Best {
    /// Plans and how often each.
    pub plans: Vec<(Plan, u32)>,
    /// What finds no place, of each kind.
    pub missing: Vec<u32>,
    /// Net cost of the plans.
    pub cost: f64,
    /// No answer costs less.
    pub lower: f64,
    /// The cost is least, and if pieces are missing, none can be placed that are not.
    pub proven: bool,
}

/// A bound on how many bars are used, of a stock or group, or only of those with at least so many of a kind.
#[derive(Debug, Clone, Copy)]
struct Bound {
    stock: Option<usize>,
    group: Option<usize>,
    has: Option<(usize, u32)>,
    at_most: bool,
    bars: f64,
}

struct Relaxed {
    plans: Vec<(Plan, f64)>,
    lower: f64,
}

struct Node {
    bounds: Vec<Bound>,
    lower: f64,
}

/// Most nodes that wait, so that memory stays bounded.
const MOST_NODES: usize = 4_000;
/// Dives that an unbranched node gets in all.
const MOST_DIVES: u32 = 400;

/// Finds plans of least net cost.
pub fn least(problem: &Problem, pricer: &mut dyn Pricer, stop: Stop<'_>) -> Best {
    let mut search = Search {
        problem,
        pricer,
        stop,
        stopped: false,
        best: Best::default(),
        total: f64::INFINITY,
        missing_cost: 1.0,
    };
    search.start();
    search.tree()
}

struct Search<'a> {
    problem: &'a Problem,
    pricer: &'a mut dyn Pricer,
    stop: Stop<'a>,
    stopped: bool,
    best: Best,
    /// Cost of the best with what is missing.
    total: f64,
    missing_cost: f64,
}

impl Search<'_> {
    fn ended(&mut self) -> bool {
        self.stopped = self.stopped || (self.stop)();
        self.stopped
    }

    fn covers(&self, bound: &Bound, group: usize) -> bool {
        bound.group.is_none_or(|g| g == group)
            && bound.stock.is_none_or(|s| s == at(&self.problem.stock_of, group))
    }

    fn covers_plan(&self, bound: &Bound, plan: &Plan) -> bool {
        let has = |(kind, least): (usize, u32)| plan.counts.iter().any(|(k, n)| *k == kind && *n >= least);
        self.covers(bound, plan.group) && bound.has.is_none_or(has)
    }

    fn stock_bounds(&self) -> Vec<Bound> {
        let bound = |(stock, most): (usize, &Option<u32>)| {
            most.map(|bars| Bound {
                stock: Some(stock),
                group: None,
                has: None,
                at_most: true,
                bars: f64::from(bars),
            })
        };
        self.problem.most.iter().enumerate().filter_map(bound).collect()
    }

    /// A first answer by filling bars, and from it what a missing piece costs: more than any whole answer.
    fn start(&mut self) {
        let pieces: u32 = self
            .problem
            .demand
            .iter()
            .fold(0, |sum, n| sum.saturating_add(*n));
        let each =
            |(price, most): (&f64, &Option<u32>)| price * f64::from(most.unwrap_or(pieces).min(pieces));
        let all: f64 = self.problem.price.iter().zip(&self.problem.most).map(each).sum();
        self.missing_cost = all + 1.0;
        let (mut plans, mut left) = (Vec::new(), self.problem.demand.clone());
        let mut bounds = self.stock_bounds();
        self.fill(&mut plans, &mut left, &mut bounds);
        if left.iter().all(|n| *n == 0) {
            // All find a place, so that even a small part of a missing piece must not pay in the relaxation.
            let cost: f64 = plans.iter().map(|(p, n)| p.cost * f64::from(*n)).sum();
            self.missing_cost = 1_000.0 * (cost + 1.0);
        }
        self.offer(plans, left);
    }

    /// Fills one bar after the other with what gives most size for its cost.
    fn fill(&mut self, plans: &mut Vec<(Plan, u32)>, left: &mut [u32], bounds: &mut [Bound]) {
        let mut last: Option<usize> = None;
        while left.iter().any(|n| *n > 0) {
            let mut best: Option<(f64, Plan)> = None;
            // Where time is up, the stock that served last serves as long as it can.
            let hurry = last.filter(|_| (self.stop)());
            for group in hurry.into_iter().chain(0..self.problem.stock_of.len()) {
                if best.is_some() && (hurry.is_some() || (seldom(group) && (self.stop)())) {
                    break;
                }
                let open =
                    |b: &Bound| !b.at_most || b.bars >= 1.0 || b.has.is_some() || !self.covers(b, group);
                if !bounds.iter().all(open) {
                    continue;
                }
                let worth = &self.problem.size;
                if let Some(offer) = self
                    .pricer
                    .best(group, worth, &[], f64::NEG_INFINITY, left, self.stop)
                {
                    let size: f64 = offer
                        .plan
                        .counts
                        .iter()
                        .map(|(k, n)| at(worth, *k) * f64::from(*n))
                        .sum();
                    let rate = size / offer.plan.cost.max(1e-9);
                    if !offer.plan.counts.is_empty() && best.as_ref().is_none_or(|(top, _)| rate > *top) {
                        best = Some((rate, offer.plan));
                    }
                }
            }
            let Some((_, plan)) = best else { return };
            last = Some(plan.group);
            let times = self.take(&plan, u32::MAX, left, bounds);
            if times == 0 {
                return;
            }
            plans.push((plan, times));
        }
    }

    /// Takes a plan off the demand as often as it fits, at most `times`; how often it was.
    fn take(&self, plan: &Plan, times: u32, left: &mut [u32], bounds: &mut [Bound]) -> u32 {
        let fits = |(kind, n): &(usize, u32)| at(left, *kind).checked_div(*n).unwrap_or(u32::MAX);
        let mut times = plan.counts.iter().map(fits).min().unwrap_or(0).min(times);
        for bound in bounds.iter().filter(|b| b.at_most && self.covers_plan(b, plan)) {
            times = times.min(bound.bars.max(0.0) as u32);
        }
        for (kind, n) in &plan.counts {
            if let Some(open) = left.get_mut(*kind) {
                *open = open.saturating_sub(n.saturating_mul(times));
            }
        }
        for bound in bounds.iter_mut().filter(|b| self.covers_plan(b, plan)) {
            bound.bars = (bound.bars - f64::from(times)).max(0.0);
        }
        times
    }

    /// Keeps an answer if it is cheaper, or as cheap with fewer different plans.
    fn offer(&mut self, plans: Vec<(Plan, u32)>, missing: Vec<u32>) {
        let mut merged: Vec<(Plan, u32)> = Vec::new();
        let mut places: HashMap<(usize, Vec<(usize, u32)>), usize> = HashMap::new();
        for (mut plan, times) in plans {
            plan.counts.sort_unstable();
            let stock = at(&self.problem.stock_of, plan.group);
            let place = *places.entry((stock, plan.counts.clone())).or_insert(merged.len());
            match merged.get_mut(place) {
                Some((_, n)) => *n = n.saturating_add(times),
                None => merged.push((plan, times)),
            }
        }
        let cost: f64 = merged.iter().map(|(p, n)| p.cost * f64::from(*n)).sum();
        let gone: f64 = missing.iter().map(|n| f64::from(*n)).sum();
        let total = cost + gone * self.missing_cost;
        let near = 1e-9 * (1.0 + total.abs());
        let fewer = total < self.total + near && merged.len() < self.best.plans.len();
        if total < self.total - near || fewer {
            self.total = total;
            self.best.plans = merged;
            self.best.missing = missing;
            self.best.cost = cost;
        }
    }

    /// A bound raised to what a whole answer can cost.
    fn raised(&self, lower: f64) -> f64 {
        let step = self.problem.step;
        if step <= 0.0 || lower > self.missing_cost {
            return lower;
        }
        (lower / step - 1e-6).ceil() * step
    }

    fn closed(&self, lower: f64) -> bool {
        self.raised(lower) >= self.total - self.problem.close.max(1e-7 * (1.0 + self.total))
    }

    /// The linear programme; none if the search was stopped before it gave any bound.
    fn relax(&mut self, demand: &[u32], bounds: &[Bound]) -> Option<Relaxed> {
        let mut rows: Vec<(f64, f64)> = demand
            .iter()
            .map(|n| (f64::from(*n), self.missing_cost))
            .collect();
        let bound_rows = |b: &Bound| (b.bars, if b.at_most { 0.0 } else { self.missing_cost });
        rows.extend(bounds.iter().map(bound_rows));
        let mut simplex = Simplex::new(&rows);
        let kinds = demand.len();
        let pieces: f64 = demand.iter().map(|n| f64::from(*n)).sum();
        let mut lower: Option<f64> = None;
        let rounds = rows.len().saturating_mul(60).saturating_add(400);
        for _ in 0..rounds {
            if self.ended() {
                break;
            }
            let duals = simplex.duals();
            let (entry, bound) = self.enter(&duals, kinds, demand, bounds, pieces)?;
            if let Some(bound) = bound {
                lower = Some(lower.map_or(bound, |had| had.max(bound)));
            }
            if !entry.is_some_and(|entry| simplex.enter(entry)) {
                break;
            }
        }
        Some(Relaxed {
            lower: lower?,
            plans: simplex.plans(),
        })
    }

    /// The column that gains most at these duals, and the bound that they prove.
    fn enter(
        &mut self,
        duals: &[f64],
        kinds: usize,
        demand: &[u32],
        bounds: &[Bound],
        pieces: f64,
    ) -> Option<(Option<Entry>, Option<f64>)> {
        let mut best: Option<(f64, Entry)> = None;
        let mut keep = |gain: f64, entry: Entry| {
            if gain > 1e-7 && best.as_ref().is_none_or(|(top, _)| gain > *top) {
                best = Some((gain, entry));
            }
        };
        let mut proves = 0.0;
        for (row, dual) in duals.iter().enumerate() {
            let bound = bounds.get(row.wrapping_sub(kinds));
            let at_most = bound.is_some_and(|b| b.at_most);
            let sound = if at_most {
                dual.min(0.0)
            } else {
                dual.clamp(0.0, self.missing_cost)
            };
            let side = bound.map_or_else(|| f64::from(at(demand, row)), |b| b.bars);
            proves += sound * side;
            let (gain, sign) = if at_most { (*dual, 1.0) } else { (-dual, -1.0) };
            keep(
                gain,
                Entry {
                    column: Column::Slack,
                    cost: 0.0,
                    coefficients: vec![(row, sign)],
                },
            );
        }
        let worth: Vec<f64> = duals
            .iter()
            .take(kinds)
            .map(|d| d.clamp(0.0, self.missing_cost))
            .collect();
        let mut most_of_stock = vec![0.0_f64; self.problem.price.len()];
        for group in 0..self.problem.stock_of.len() {
            if seldom(group) && self.ended() {
                // Without all groups there is no bound.
                return Some((None, None));
            }
            let (mut rest, mut bonus) = (0.0, Vec::new());
            for (i, bound) in bounds.iter().enumerate().filter(|(_, b)| self.covers(b, group)) {
                let dual = at(duals, kinds.saturating_add(i));
                let sound = if bound.at_most {
                    dual.min(0.0)
                } else {
                    dual.clamp(0.0, self.missing_cost)
                };
                match bound.has {
                    None => rest += sound,
                    Some((kind, count)) => bonus.push(Bonus {
                        kind,
                        count,
                        worth: sound,
                    }),
                }
            }
            let Some(offer) = self.pricer.best(group, &worth, &bonus, rest, demand, self.stop) else {
                continue;
            };
            let mut coefficients: Vec<(usize, f64)> = offer
                .plan
                .counts
                .iter()
                .map(|(k, n)| (*k, f64::from(*n)))
                .collect();
            let rows = bounds
                .iter()
                .enumerate()
                .filter(|(_, b)| self.covers_plan(b, &offer.plan));
            coefficients.extend(rows.map(|(i, _)| (kinds.saturating_add(i), 1.0)));
            let stock = at(&self.problem.stock_of, group);
            if let Some(most) = most_of_stock.get_mut(stock) {
                *most = most.max(offer.most + rest);
            }
            let worth_of: f64 = coefficients.iter().map(|(row, c)| at(duals, *row) * c).sum();
            let cost = offer.plan.cost;
            keep(
                worth_of - cost,
                Entry {
                    column: Column::Plan(offer.plan),
                    cost,
                    coefficients,
                },
            );
        }
        for (stock, most) in most_of_stock.iter().enumerate().filter(|(_, most)| **most > 0.0) {
            let bars = self
                .problem
                .most
                .get(stock)
                .copied()
                .flatten()
                .map_or(pieces, |n| pieces.min(f64::from(n)));
            proves -= most * bars;
        }
        Some((best.map(|(_, entry)| entry), Some(proves.max(0.0))))
    }

    /// Fixes whole plans, solves what is left, and so on; `turn` says where the second choice is taken.
    fn dive(&mut self, node: &Node, relaxed: &[(Plan, f64)], turn: u32) {
        let (mut left, mut bounds) = (self.problem.demand.clone(), node.bounds.clone());
        let (mut fixed, mut spent) = (Vec::new(), 0.0);
        let mut open: Vec<(Plan, f64)> = relaxed.to_vec();
        for depth in 0_u32.. {
            let before = fixed.len();
            for (plan, amount) in &open {
                let times = self.take(plan, (amount + 1e-6).floor() as u32, &mut left, &mut bounds);
                if times > 0 {
                    spent += plan.cost * f64::from(times);
                    fixed.push((plan.clone(), times));
                }
            }
            if left.iter().all(|n| *n == 0) {
                return self.offer(fixed, left);
            }
            if depth == 0 || turn == 0 {
                let (mut plans, mut rest, mut bounds) = (fixed.clone(), left.clone(), bounds.clone());
                self.fill(&mut plans, &mut rest, &mut bounds);
                self.offer(plans, rest);
            }
            let second = turn.checked_shr(depth).unwrap_or(0) & 1;
            let one = (fixed.len() == before || second == 1)
                .then(|| self.largest(&open, second, &left))
                .flatten();
            if let Some(plan) = one
                && self.take(&plan, 1, &mut left, &mut bounds) > 0
            {
                spent += plan.cost;
                fixed.push((plan, 1));
            }
            if fixed.len() == before {
                return self.offer(fixed, left);
            }
            let Some(relaxed) = self.relax(&left, &bounds) else {
                return;
            };
            if self.closed(spent + relaxed.lower) {
                return;
            }
            open = relaxed.plans;
        }
    }

    /// The plan with the largest part of a bar over, or the one after it, cut down to what is left.
    fn largest(&mut self, open: &[(Plan, f64)], second: u32, left: &[u32]) -> Option<Plan> {
        let mut parts: Vec<(f64, &Plan)> = open.iter().map(|(p, a)| (a.fract(), p)).collect();
        parts.sort_by(|a, b| b.0.total_cmp(&a.0));
        let skip = (second as usize).min(parts.len().saturating_sub(1));
        parts
            .iter()
            .skip(skip)
            .find_map(|(_, plan)| self.pricer.cut_down(plan, left))
    }

    /// What a node branches on: a number of bars that is not whole, as two bounds. First all bars, those of a
    /// stock and of a group; then the bars with at least so many of a kind, the number nearest to a half.
    fn branch(&mut self, plans: &[(Plan, f64)]) -> Option<[Bound; 2]> {
        let stocks = (0..self.problem.price.len()).map(|s| (Some(s), None));
        let groups = (0..self.problem.stock_of.len()).map(|g| (None, Some(g)));
        let places: Vec<_> = std::iter::once((None, None))
            .chain(stocks)
            .chain(groups)
            .collect();
        let split = |search: &Self, stock, group, has| {
            let bound = |at_most, bars| Bound {
                stock,
                group,
                has,
                at_most,
                bars,
            };
            let probe = bound(true, 0.0);
            let sum: f64 = plans
                .iter()
                .filter(|(p, _)| search.covers_plan(&probe, p))
                .map(|(_, a)| a)
                .sum();
            let off = (sum - sum.round()).abs();
            (off, [bound(true, sum.floor()), bound(false, sum.ceil())])
        };
        for (place, (stock, group)) in places.iter().enumerate() {
            if seldom(place) && self.ended() {
                return None;
            }
            let (off, sides) = split(self, *stock, *group, None);
            if off > 1e-6 {
                return Some(sides);
            }
        }
        let mut has: Vec<(usize, u32)> = plans.iter().flat_map(|(p, _)| p.counts.iter().copied()).collect();
        has.sort_unstable();
        has.dedup();
        let mut best: Option<(f64, [Bound; 2])> = None;
        for (stock, group) in &places {
            for (place, own) in has.iter().enumerate() {
                if seldom(place) && self.ended() {
                    return best.map(|(_, sides)| sides);
                }
                let (off, sides) = split(self, *stock, *group, Some(*own));
                if off > 1e-6 && best.as_ref().is_none_or(|(top, _)| off > *top) {
                    best = Some((off, sides));
                }
            }
            if best.is_some() {
                break;
            }
        }
        best.map(|(_, sides)| sides)
    }

    fn tree(mut self) -> Best {
        let mut open = vec![Node {
            bounds: self.stock_bounds(),
            lower: self.problem.floor,
        }];
        let mut stuck: Vec<(Node, Vec<(Plan, f64)>)> = Vec::new();
        while let Some(place) = lowest(&open) {
            let mut node = open.swap_remove(place);
            if self.closed(node.lower) {
                continue;
            }
            let full = open.len() >= MOST_NODES;
            let relaxed = if full || self.ended() {
                None
            } else {
                self.relax(&self.problem.demand, &node.bounds)
            };
            let Some(relaxed) = relaxed else {
                open.push(node);
                break;
            };
            node.lower = node.lower.max(relaxed.lower);
            if self.closed(node.lower) {
                continue;
            }
            self.dive(&node, &relaxed.plans, 0);
            match self.branch(&relaxed.plans) {
                Some(sides) => open.extend(sides.into_iter().map(|side| {
                    let mut bounds = node.bounds.clone();
                    bounds.push(side);
                    Node {
                        bounds,
                        lower: node.lower,
                    }
                })),
                None => stuck.push((node, relaxed.plans)),
            }
        }
        for turn in 1..MOST_DIVES {
            stuck.retain(|(node, _)| !self.closed(node.lower));
            if stuck.is_empty() || self.ended() {
                break;
            }
            for (node, plans) in &stuck {
                self.dive(node, plans, turn);
            }
        }
        open.extend(stuck.into_iter().map(|(node, _)| node));
        self.finish(&open)
    }

    fn finish(mut self, open: &[Node]) -> Best {
        let left = open.iter().map(|n| n.lower).filter(|lower| !self.closed(*lower));
        let lower = left.fold(f64::INFINITY, f64::min);
        self.best.proven = lower.is_infinite();
        self.best.lower = if self.best.proven {
            self.best.cost
        } else {
            self.raised(lower).min(self.best.cost)
        };
        self.best
    }
}

/// Every sixteenth of many: where there are few, the search looks at its stop signal elsewhere often enough.
const fn seldom(place: usize) -> bool {
    place & 15 == 15
}

fn lowest(open: &[Node]) -> Option<usize> {
    let lowest = open
        .iter()
        .enumerate()
        .min_by(|a, b| a.1.lower.total_cmp(&b.1.lower));
    lowest.map(|(place, _)| place)
}
