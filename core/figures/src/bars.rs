//! `cut-bars`: rails, posts, bows and trim from bars, at least net cost.
//!
//! A bar's left-over that is long enough is a drop and is worth its share of the bar's price, so the goal is
//! the net cost. Pieces of one length are one kind for the search and get their names back at the end. The
//! search is [`master`]; this module reads, prices plans ([`knapsack`]) and writes.

pub(crate) mod knapsack;
pub(crate) mod master;
mod offer;
pub(crate) mod simplex;

use crate::door::Refusal;
use crate::input::{Fields, json};
use crate::measure::{Length, Unit};
use crate::search::{Stop, float, money, money_below, not_enough, price, step_of};
use knapsack::{Bar, Bars};
use master::{Best, Plan, Problem};
use rust_decimal::Decimal;
use serde_json::{Value, json};
use std::collections::HashMap;

/// Most pieces of one question.
const MOST_PIECES: u32 = 20_000;
/// Most of one stock.
const MOST_STOCK: u32 = 1_000_000;

struct Stock {
    name: String,
    length: Length,
    count: Option<u32>,
    price: Decimal,
}

struct Piece {
    name: String,
    length: Length,
    count: u32,
}

struct Asked {
    unit: Unit,
    kerf: Length,
    end_trim: Length,
    stock: Vec<Stock>,
    pieces: Vec<Piece>,
    keep_from: Option<Length>,
}

/// Pieces of one length.
struct Kind {
    length: Length,
    count: u32,
}

/// `bowseam figure cut-bars`.
///
/// # Errors
/// Input that is not understood (exit 2), or stock that does not suffice (exit 3).
pub fn figure(input: &Value, stop: Stop<'_>) -> Result<Value, Refusal> {
    let asked = read(input)?;
    let kinds = kinds(&asked.pieces);
    let bars = Bars::new(
        asked.stock.iter().map(|s| bar(s, &asked)).collect(),
        kinds.iter().map(|k| nm(k.length) + nm(asked.kerf)).collect(),
    );
    let prices = || asked.stock.iter().map(|s| s.price);
    let shares = asked.keep_from.is_some();
    let problem = Problem {
        demand: kinds.iter().map(|k| k.count).collect(),
        size: kinds.iter().map(|k| nm(k.length)).collect(),
        stock_of: bars.stock_of(),
        most: asked.stock.iter().map(|s| s.count).collect(),
        price: prices().map(float).collect(),
        step: if shares { 0.0 } else { step_of(prices()) },
        close: if shares { 0.004 } else { 0.0 },
        floor: by_length(&asked),
    };
    let mut pricer = bars;
    let best = master::least(&problem, &mut pricer, stop);
    let missing = best
        .missing
        .iter()
        .zip(&kinds)
        .flat_map(|(n, kind)| names_of(*n, kind, &asked.pieces));
    if best.missing.iter().any(|n| *n > 0) {
        return Err(not_enough(missing));
    }
    Ok(answer(&asked, &kinds, &best))
}

fn read(input: &Value) -> Result<Asked, Refusal> {
    let known = [
        "unit",
        "kerf",
        "end_trim",
        "stock",
        "pieces",
        "keep_from",
        "time_limit_s",
    ];
    let top = Fields::whole(input, &known)?;
    top.number("time_limit_s", crate::door::LONGEST_SEARCH_S)?;
    let stock = top.list("stock", |value, at| {
        let given = top.entry(value, at, &["name", "length", "count", "price"])?;
        Ok(Stock {
            name: given.text("name")?,
            length: given.some_length("length")?,
            count: given.count("count", MOST_STOCK)?,
            price: price(value, &given, "price")?.ok_or_else(|| {
                given.wrong(
                    "price",
                    "input_missing",
                    "“price” is missing: decimal text such as \"12.50\".",
                )
            })?,
        })
    })?;
    let pieces = top.list("pieces", |value, at| {
        let given = top.entry(value, at, &["name", "length", "count"])?;
        Ok(Piece {
            name: given.text("name")?,
            length: given.some_length("length")?,
            count: given.count("count", MOST_PIECES)?.ok_or_else(|| {
                given.wrong("count", "input_missing", "“count” is missing: a whole number.")
            })?,
        })
    })?;
    let all = pieces
        .iter()
        .flatten()
        .fold(0_u32, |sum, p| sum.saturating_add(p.count));
    if all > MOST_PIECES {
        return Err(top
            .wrong(
                "pieces",
                "input_many",
                format!("At most {MOST_PIECES} pieces are planned at once."),
            )
            .into());
    }
    let need = |name: &str| {
        top.wrong(
            name,
            "input_missing",
            format!("“{name}” is missing: a list is expected."),
        )
    };
    Ok(Asked {
        unit: top.unit,
        kerf: top.length("kerf")?.unwrap_or(Length::ZERO),
        end_trim: top.length("end_trim")?.unwrap_or(Length::ZERO),
        stock: stock.ok_or_else(|| need("stock"))?,
        pieces: pieces.ok_or_else(|| need("pieces"))?,
        keep_from: top.length("keep_from")?,
    })
}

/// A length inside the search: whole nanometres, exact.
fn nm(length: Length) -> f64 {
    length.nm() as f64
}

fn bar(stock: &Stock, asked: &Asked) -> Bar {
    Bar {
        length: nm(stock.length),
        room: nm(stock.length) - nm(asked.end_trim),
        kerf: nm(asked.kerf),
        price: float(stock.price),
        keep_from: asked.keep_from.map(nm),
    }
}

/// What the pieces' length alone costs at least: each takes its share of the bar with most length for its price.
fn by_length(asked: &Asked) -> f64 {
    let rate = |stock: &Stock| {
        let whole = nm(stock.length);
        float(stock.price) / whole.max(whole - nm(asked.end_trim) + nm(asked.kerf))
    };
    let rate = asked.stock.iter().map(rate).fold(f64::INFINITY, f64::min);
    let length = |p: &Piece| (nm(p.length) + nm(asked.kerf)) * f64::from(p.count);
    let length: f64 = asked.pieces.iter().map(length).sum();
    if rate.is_finite() { length * rate } else { 0.0 }
}

fn kinds(pieces: &[Piece]) -> Vec<Kind> {
    let mut kinds: Vec<Kind> = Vec::new();
    for piece in pieces.iter().filter(|p| p.count > 0) {
        match kinds.iter_mut().find(|k| k.length == piece.length) {
            Some(kind) => kind.count = kind.count.saturating_add(piece.count),
            None => kinds.push(Kind {
                length: piece.length,
                count: piece.count,
            }),
        }
    }
    kinds.sort_by_key(|kind| std::cmp::Reverse(kind.length));
    kinds
}

/// Which names `count` pieces of a kind have, from the list's end.
fn names_of(count: u32, kind: &Kind, pieces: &[Piece]) -> Vec<(String, u32)> {
    let mut open = count;
    let mut names = Vec::new();
    for piece in pieces.iter().rev().filter(|p| p.length == kind.length) {
        let some = open.min(piece.count);
        open = open.saturating_sub(some);
        names.push((piece.name.clone(), some));
    }
    names
}

/// One bar with the names of what is cut from it.
#[derive(Clone, PartialEq, Eq, Hash)]
struct Cuts {
    stock: usize,
    cuts: Vec<(usize, u32)>,
    left: Length,
}

fn answer(asked: &Asked, kinds: &[Kind], best: &Best) -> Value {
    let plans = named(asked, kinds, best);
    let mut used = vec![0_u32; asked.stock.len()];
    let (mut cost, mut drops) = (Decimal::ZERO, Decimal::ZERO);
    let (mut whole, mut kept) = (0.0, 0.0);
    for (plan, times) in &plans {
        let Some(stock) = asked.stock.get(plan.stock) else {
            continue;
        };
        let many = Decimal::from(*times);
        if let Some(used) = used.get_mut(plan.stock) {
            *used = used.saturating_add(*times);
        }
        cost = cost.saturating_add(stock.price.saturating_mul(many));
        whole += nm(stock.length) * f64::from(*times);
        if asked.keep_from.is_some_and(|from| plan.left >= from) {
            kept += nm(plan.left) * f64::from(*times);
            let share = Decimal::from(plan.left.nm()).checked_div(Decimal::from(stock.length.nm()));
            drops = drops.saturating_add(
                share
                    .unwrap_or_default()
                    .saturating_mul(stock.price)
                    .saturating_mul(many),
            );
        }
    }
    let pieces: f64 = kinds.iter().map(|k| nm(k.length) * f64::from(k.count)).sum();
    let waste = if whole > 0.0 {
        ((whole - pieces - kept) / whole).max(0.0)
    } else {
        0.0
    };
    let net = money(cost.saturating_sub(drops));
    let lower = if best.proven {
        net.clone()
    } else {
        money_below(best.lower)
    };
    let stock_used: Vec<Value> = asked
        .stock
        .iter()
        .zip(&used)
        .filter(|(_, n)| **n > 0)
        .map(|(stock, n)| json!({"name": stock.name, "count": n}))
        .collect();
    let plans: Vec<Value> = plans.iter().map(|(plan, times)| {
        let name = |at: usize| asked.pieces.get(at).map(|p| p.name.as_str());
        let cuts: Vec<Value> = plan.cuts.iter().map(|(p, n)| json!({"piece": name(*p), "count": n})).collect();
        json!({"stock": asked.stock.get(plan.stock).map(|s| s.name.as_str()), "times": times, "cuts": cuts,
            "left": json(plan.left.to_decimal(asked.unit)),
            "drop": asked.keep_from.is_some_and(|from| plan.left >= from)})
    }).collect();
    json!({"proven": best.proven, "cost": money(cost), "net_cost": net, "lower_bound": lower,
        "stock_used": stock_used, "plans": plans, "waste_share": round_share(waste)})
}

/// A share to eight decimals.
pub(crate) fn round_share(share: f64) -> f64 {
    (share * 1e8).round() / 1e8
}

/// The plans with the pieces' own names, as often as the same names come together.
fn named(asked: &Asked, kinds: &[Kind], best: &Best) -> Vec<(Cuts, u32)> {
    // Of each kind the places of its pieces that are still to be given out, the last in the list first.
    let mut of_length: HashMap<Length, usize> = HashMap::new();
    for (place, kind) in kinds.iter().enumerate() {
        of_length.insert(kind.length, place);
    }
    let mut open: Vec<Vec<(usize, u32)>> = vec![Vec::new(); kinds.len()];
    for (place, piece) in asked.pieces.iter().enumerate().rev() {
        let kind = of_length.get(&piece.length).and_then(|kind| open.get_mut(*kind));
        kind.into_iter().for_each(|own| own.push((place, piece.count)));
    }
    let mut plans: Vec<(Cuts, u32)> = Vec::new();
    let mut places: HashMap<Cuts, usize> = HashMap::new();
    for (plan, times) in &best.plans {
        for _ in 0..*times {
            let cuts = cuts(asked, kinds, plan, &mut open);
            let place = *places.entry(cuts.clone()).or_insert(plans.len());
            match plans.get_mut(place) {
                Some((_, n)) => *n = n.saturating_add(1),
                None => plans.push((cuts, 1)),
            }
        }
    }
    plans
}

/// One bar, its pieces taken off what is open.
fn cuts(asked: &Asked, kinds: &[Kind], plan: &Plan, open: &mut [Vec<(usize, u32)>]) -> Cuts {
    let (mut cuts, mut taken) = (Vec::new(), Length::ZERO);
    for (kind, count) in &plan.counts {
        let (Some(length), Some(open)) = (kinds.get(*kind).map(|k| k.length), open.get_mut(*kind)) else {
            continue;
        };
        taken = taken.plus(length.plus(asked.kerf).times(i64::from(*count)));
        let mut want = *count;
        while want > 0 {
            let Some((place, left)) = open.last_mut() else {
                break;
            };
            let some = want.min(*left);
            (*left, want) = (left.saturating_sub(some), want.saturating_sub(some));
            if some > 0 {
                cuts.push((*place, some));
            }
            if *left == 0 {
                open.pop();
            }
        }
    }
    let stock = plan.group.checked_div(2).unwrap_or(0);
    let length = asked.stock.get(stock).map_or(Length::ZERO, |s| s.length);
    let left = length.minus(asked.end_trim).minus(taken).max(Length::ZERO);
    Cuts { stock, cuts, left }
}
