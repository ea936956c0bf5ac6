//! The best cut plan of one bar for given worths of the pieces: a bounded knapsack, depth first with the
//! fractional bound, so that its time does not grow with the fineness of the lengths.

use super::master::{Offer, Plan, Pricer};
use crate::search::{Stop, at};

/// Steps after which a knapsack gives the best it has and the fractional bound.
const MOST_STEPS: u32 = 300_000;

/// One stock of bars; lengths in nanometres.
pub struct Bar {
    /// Whole length.
    pub length: f64,
    /// Length less the end trim.
    pub room: f64,
    /// Width of a cut.
    pub kerf: f64,
    /// Price of one.
    pub price: f64,
    /// A left-over from this length on is a drop.
    pub keep_from: Option<f64>,
}

impl Bar {
    /// Net cost of a bar of which pieces with their kerfs take `taken`, and whether it leaves a drop.
    fn cost(&self, taken: f64) -> (f64, bool) {
        let left = (self.room - taken).max(0.0);
        match self.keep_from.filter(|from| left >= *from) {
            Some(_) => (self.price * (1.0 - left / self.length), true),
            None => (self.price, false),
        }
    }
}

/// All stocks; group 2 s holds the plans of stock s without a drop, 2 s + 1 those with one.
pub struct Bars {
    bars: Vec<Bar>,
    /// Each kind's length with one kerf.
    widths: Vec<f64>,
}

impl Bars {
    pub fn new(bars: Vec<Bar>, widths: Vec<f64>) -> Self {
        Self { bars, widths }
    }

    /// Stock of each group.
    pub fn stock_of(&self) -> Vec<usize> {
        (0..self.bars.len()).flat_map(|stock| [stock, stock]).collect()
    }

    fn plan(&self, stock: usize, counts: Vec<(usize, u32)>) -> Option<Plan> {
        let bar = self.bars.get(stock)?;
        let taken = counts
            .iter()
            .map(|(k, n)| at(&self.widths, *k) * f64::from(*n))
            .sum();
        let (cost, drop) = bar.cost(taken);
        let group = stock.saturating_mul(2).saturating_add(usize::from(drop));
        Some(Plan {
            group,
            counts,
            cost,
            tag: 0,
        })
    }
}

impl Pricer for Bars {
    fn best(&mut self, group: usize, worth: &[f64], limit: &[u32], _: Stop<'_>) -> Option<Offer> {
        let stock = group.checked_div(2)?;
        let with_drop = group & 1 == 1;
        let bar = self.bars.get(stock)?;
        // With a drop every piece also costs its share of the bar.
        let (room, share, base) = if with_drop {
            let keep = bar.keep_from?;
            (
                bar.room - keep,
                bar.price / bar.length,
                bar.price * (1.0 - bar.room / bar.length),
            )
        } else {
            (bar.room + bar.kerf, 0.0, bar.price)
        };
        let item = |(kind, width): (usize, &f64)| Item {
            kind,
            width: *width,
            profit: at(worth, kind) - share * width,
            most: at(limit, kind),
        };
        let items = self.widths.iter().enumerate().map(item);
        let mut items: Vec<Item> = items
            .filter(|i| i.most > 0 && i.profit > 0.0 && i.width <= room)
            .collect();
        if items.is_empty() {
            return None;
        }
        items.sort_by(|a, b| b.rate().total_cmp(&a.rate()).then(b.width.total_cmp(&a.width)));
        let mut sack = Sack {
            items: &items,
            now: vec![0; items.len()],
            best: 0.0,
            kept: Vec::new(),
            steps: 0,
        };
        sack.go(0, room, 0.0);
        let counts = sack
            .kept
            .iter()
            .zip(&items)
            .filter(|(n, _)| **n > 0)
            .map(|(n, item)| (item.kind, *n))
            .collect();
        let whole = sack.steps < MOST_STEPS;
        let most = if whole {
            sack.best
        } else {
            fractional(&items, room)
        };
        Some(Offer {
            plan: self.plan(stock, counts)?,
            most: most - base,
        })
    }

    fn cut_down(&mut self, plan: &Plan, limit: &[u32]) -> Option<Plan> {
        let fewer = |(kind, n): &(usize, u32)| (*kind, at(limit, *kind).min(*n));
        let counts: Vec<(usize, u32)> = plan.counts.iter().map(fewer).filter(|(_, n)| *n > 0).collect();
        if counts.is_empty() {
            return None;
        }
        self.plan(plan.group.checked_div(2)?, counts)
    }
}

struct Item {
    kind: usize,
    width: f64,
    profit: f64,
    most: u32,
}

impl Item {
    fn rate(&self) -> f64 {
        self.profit / self.width
    }
}

/// What the items can be worth at most if the last may be cut anywhere.
fn fractional(items: &[Item], room: f64) -> f64 {
    let (mut room, mut sum) = (room, 0.0);
    for item in items {
        let some = (room / item.width).min(f64::from(item.most));
        sum += some * item.profit;
        room -= some * item.width;
    }
    sum
}

struct Sack<'a> {
    items: &'a [Item],
    now: Vec<u32>,
    best: f64,
    kept: Vec<u32>,
    steps: u32,
}

impl Sack<'_> {
    fn go(&mut self, place: usize, room: f64, worth: f64) {
        self.steps = self.steps.saturating_add(1);
        if worth > self.best + 1e-12 {
            self.best = worth;
            self.kept.clone_from(&self.now);
        }
        let Some(item) = self.items.get(place) else { return };
        let next = place.saturating_add(1);
        let after = self.items.get(next).map_or(0.0, Item::rate);
        let mut count = (room / item.width).floor().min(f64::from(item.most)) as u32;
        loop {
            if self.steps >= MOST_STEPS {
                break;
            }
            let taken = f64::from(count) * item.width;
            let now = worth + f64::from(count) * item.profit;
            // Fewer of this item only lowers the bound, since the items behind it are worth less for their width.
            if now + (room - taken) * after <= self.best + 1e-12 && (count > 0 || now <= self.best) {
                break;
            }
            self.set(place, count);
            self.go(next, room - taken, now);
            if count == 0 {
                break;
            }
            count = count.saturating_sub(1);
        }
        self.set(place, 0);
    }

    fn set(&mut self, place: usize, count: u32) {
        if let Some(now) = self.now.get_mut(place) {
            *now = count;
        }
    }
}
