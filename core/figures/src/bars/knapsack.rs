//! The best cut plan of one bar for given worths of the pieces: a bounded knapsack, depth first with the
//! fractional bound, so that its time does not grow with the fineness of the lengths.

use super::master::{Bonus, Offer, Plan, Pricer};
use crate::search::{Stop, at};

/// Steps after which a knapsack gives the best it has and the fractional bound.
const MOST_STEPS: u32 = 150_000;
/// The same once the search is asked to end.
const LAST_STEPS: u32 = 1_000;

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

    /// A bar filled with the longest that still fit: where time is up, any good plan will do.
    fn first_fit(&self, stock: usize, limit: &[u32]) -> Option<Offer> {
        let bar = self.bars.get(stock)?;
        let mut room = bar.room + bar.kerf;
        let mut counts = Vec::new();
        // Kinds stand longest first.
        for (kind, width) in self.widths.iter().enumerate() {
            let count = (room / width).floor().min(f64::from(at(limit, kind))) as u32;
            if count > 0 {
                room -= f64::from(count) * width;
                counts.push((kind, count));
            }
        }
        (!counts.is_empty()).then_some(())?;
        Some(Offer {
            plan: self.plan(stock, counts)?,
            most: f64::INFINITY,
        })
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
    fn best(
        &mut self,
        group: usize,
        worth: &[f64],
        bonus: &[Bonus],
        rest: f64,
        limit: &[u32],
        stop: Stop<'_>,
    ) -> Option<Offer> {
        let stock = group.checked_div(2)?;
        let with_drop = group & 1 == 1;
        let bar = self.bars.get(stock)?;
        let stopped = stop();
        if stopped && rest == f64::NEG_INFINITY {
            return self.first_fit(stock, limit);
        }
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
            bonus: bonus
                .iter()
                .filter(|b| b.kind == kind)
                .map(|b| (b.count, b.worth))
                .collect(),
        };
        let mut items: Vec<Item> = self.widths.iter().enumerate().map(item).collect();
        items.retain(|i| i.most > 0 && i.width <= room);
        // No bar is empty: where every piece costs more than it is worth, the one that loses least is cut.
        let one = |i: &Item| i.profit + i.extra(1);
        let least = items.iter().max_by(|a, b| one(a).total_cmp(&one(b)))?;
        let alone = (one(least), vec![(least.kind, 1)]);
        items.retain(|i| i.profit > 0.0 || !i.bonus.is_empty());
        let mut sack = Sack::new(items, room, if stopped { LAST_STEPS } else { MOST_STEPS });
        sack.go(0, room, 0.0);
        let most = if sack.steps < sack.most_steps {
            sack.best
        } else {
            sack.fractional(room)
        };
        if sack.best <= 0.0 {
            // Nothing gains; the loss of one piece is the bound where neither bonus nor a cut search blurs it.
            let plain = bonus.is_empty() && most <= 0.0;
            let most = if plain { alone.0 } else { most };
            return Some(Offer {
                plan: self.plan(stock, alone.1)?,
                most: most - base,
            });
        }
        let kept = sack.kept.iter().zip(&sack.items);
        let counts = kept
            .filter(|(n, _)| **n > 0)
            .map(|(n, item)| (item.kind, *n))
            .collect();
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
    /// What a bar gains with at least so many of it.
    bonus: Vec<(u32, f64)>,
}

impl Item {
    fn rate(&self) -> f64 {
        self.profit / self.width
    }

    fn extra(&self, count: u32) -> f64 {
        self.bonus
            .iter()
            .filter(|(from, _)| count >= *from)
            .map(|(_, worth)| worth)
            .sum()
    }
}

struct Sack {
    items: Vec<Item>,
    /// From each item on: the best worth for width, and all bonuses that could come.
    ahead: Vec<(f64, f64)>,
    now: Vec<u32>,
    best: f64,
    kept: Vec<u32>,
    steps: u32,
    most_steps: u32,
}

impl Sack {
    /// Items with a bonus first, then by worth for their width.
    fn new(mut items: Vec<Item>, room: f64, most_steps: u32) -> Self {
        let order = |i: &Item| (i.bonus.is_empty(), -i.rate(), room - i.width);
        items.sort_by(|a, b| {
            let (a, b) = (order(a), order(b));
            a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.total_cmp(&b.2))
        });
        let mut ahead = vec![(0.0_f64, 0.0)];
        for item in items.iter().rev() {
            let (rate, bonus) = ahead.last().copied().unwrap_or_default();
            let own: f64 = item.bonus.iter().map(|(_, worth)| worth.max(0.0)).sum();
            ahead.push((rate.max(item.rate()), bonus + own));
        }
        ahead.reverse();
        Self {
            now: vec![0; items.len()],
            ahead,
            items,
            best: 0.0,
            kept: Vec::new(),
            steps: 0,
            most_steps,
        }
    }

    /// What the items can be worth at most if the last may be cut anywhere.
    fn fractional(&self, room: f64) -> f64 {
        let mut items: Vec<&Item> = self.items.iter().filter(|i| i.profit > 0.0).collect();
        items.sort_by(|a, b| b.rate().total_cmp(&a.rate()));
        let (mut room, mut sum) = (room, at(&self.ahead, 0).1);
        for item in items {
            let some = (room / item.width).min(f64::from(item.most));
            sum += some * item.profit;
            room -= some * item.width;
        }
        sum
    }

    fn go(&mut self, place: usize, room: f64, worth: f64) {
        self.steps = self.steps.saturating_add(1);
        if worth > self.best + 1e-12 && self.now.iter().any(|n| *n > 0) {
            self.best = worth;
            self.kept.clone_from(&self.now);
        }
        let Some(item) = self.items.get(place) else { return };
        let (width, profit, plain) = (item.width, item.profit, item.bonus.is_empty());
        let next = place.saturating_add(1);
        let (rate, bonus) = at(&self.ahead, next);
        let mut count = (room / width).floor().min(f64::from(item.most)) as u32;
        loop {
            if self.steps >= self.most_steps {
                break;
            }
            let taken = f64::from(count) * width;
            let extra = self.items.get(place).map_or(0.0, |item| item.extra(count));
            let now = worth + f64::from(count) * profit + extra;
            if now + (room - taken) * rate + bonus > self.best + 1e-12 {
                self.set(place, count);
                self.go(next, room - taken, now);
            } else if plain && profit / width >= rate {
                // Fewer of this item only lowers the bound, since the items behind it are worth less for their width.
                break;
            }
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
