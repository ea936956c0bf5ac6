//! The cut plans of one item: the shelf as the searches of bars and sheets read it, and their answer as plans
//! with marks from one hook.

use crate::Error;
use crate::bars;
use crate::cut::{Need, Stock, StockKind};
use crate::cut_plan::{CutLine, LeastStock, Left, Lot, Piece, StockPlan};
use crate::door::Refusal;
use crate::measure::{Length, Unit};
use crate::sheets;
use serde_json::{Value, json};

/// What a line counts in a plan, by its length or area, in hundredths.
const DROP: i64 = 1;
const STOCK: i64 = 100;
const BUY: i64 = 10_000;
const TO_SIZE: i64 = 11_000;
/// A price that the searches take.
const DEAREST: i64 = 1_000_000_000;

/// More pieces of stock than the searches take pieces to cut: a shelf may hold more, no plan uses more.
const ENOUGH: u32 = 100_000;

/// One size on the shelf, or one that can be bought.
#[derive(Clone, Copy)]
pub(crate) struct Line<'a> {
    /// None: bought to size.
    pub stock: Option<&'a Stock>,
    pub length: Length,
    pub width: Option<Length>,
    /// None: as many as wanted.
    pub count: Option<u32>,
    pub buy: bool,
    pub own: bool,
    weight: i64,
}

impl<'a> Line<'a> {
    pub(crate) fn on_hand(stock: &'a Stock) -> Self {
        let weight = if stock.kind == StockKind::Drop {
            DROP
        } else {
            STOCK
        };
        Self::of(stock, Some(stock.count.min(ENOUGH)), false, weight)
    }

    pub(crate) fn to_buy(stock: &'a Stock) -> Self {
        Self::of(stock, None, true, BUY)
    }

    fn of(stock: &'a Stock, count: Option<u32>, buy: bool, weight: i64) -> Self {
        Self {
            stock: Some(stock),
            length: stock.length,
            width: stock.width,
            count,
            buy,
            own: false,
            weight,
        }
    }

    pub(crate) fn to_size(need: &Need, trim: Length) -> Self {
        Self {
            stock: None,
            length: need.length.plus(trim),
            width: need.width,
            count: None,
            buy: true,
            own: true,
            weight: TO_SIZE,
        }
    }

    fn is_coil(&self) -> bool {
        self.width.is_some() && self.stock.is_some_and(|s| s.kind == StockKind::Coil)
    }

    /// Whether one piece of it is enough for one piece of the need.
    pub(crate) fn holds(&self, need: &Need, trim: Length) -> bool {
        let (length, width) = (need.length.plus(trim), need.width.unwrap_or_default());
        let across = self.width.unwrap_or_default();
        let straight = length <= self.length && width <= across;
        straight || (need.turn && need.length <= across && width <= self.length)
    }

    /// What it counts: hundredths of its length in mm, or of its area in 10 cm² steps; never nothing.
    fn price(&self) -> String {
        let mm = |length: Length| length.nm().checked_div(1_000_000).unwrap_or_default();
        let size = match self.width {
            None => mm(self.length).saturating_mul(100),
            Some(width) => mm(self.length)
                .saturating_mul(mm(width))
                .checked_div(10)
                .unwrap_or_default(),
        };
        let price = size
            .saturating_mul(self.weight)
            .checked_div(10_000)
            .unwrap_or_default();
        price.clamp(1, DEAREST).to_string()
    }

    /// The same a millimetre of a coil.
    fn price_a_mm(&self) -> String {
        let mm = self
            .width
            .unwrap_or_default()
            .nm()
            .checked_div(1_000_000)
            .unwrap_or_default();
        let millionths = mm.saturating_mul(10).saturating_mul(self.weight).max(1);
        rust_decimal::Decimal::new(millionths, 6).to_string()
    }
}

/// A length for the searches: exact, as text.
fn text(length: Length) -> String {
    format!("{} mm", length.to_decimal(Unit::Mm))
}

/// A length out of an answer in millimetres.
fn read(value: Option<&Value>) -> Length {
    let mm = value.and_then(Value::as_f64).unwrap_or_default();
    Length::from_nm((mm * 1e6).round() as i64)
}

fn number(value: Option<&Value>) -> u32 {
    value
        .and_then(Value::as_u64)
        .and_then(|n| u32::try_from(n).ok())
        .unwrap_or_default()
}

fn entries<'v>(value: &'v Value, name: &str) -> &'v [Value] {
    value
        .get(name)
        .and_then(Value::as_array)
        .map(Vec::as_slice)
        .unwrap_or_default()
}

/// An entry of a list by the number that was given as its name.
fn named<'l, T>(list: &'l [T], name: Option<&Value>) -> Option<&'l T> {
    list.get(name?.as_str()?.parse::<usize>().ok()?)
}

/// The searches get stock for everything, so a refusal is one of measures.
fn refused(refusal: &Refusal) -> Error {
    let body: Option<Value> = serde_json::from_str(&refusal.body).ok();
    let sentence = body
        .as_ref()
        .and_then(|body| body.get("error").and_then(Value::as_str).map(str::to_owned))
        .unwrap_or_else(|| "The pieces and the stock cannot be planned.".to_owned());
    Error::new("cut_plan", sentence)
}

fn proof(item: &str, answer: &Value, cost: &str) -> LeastStock {
    let money = |name: &str| {
        let text = answer.get(name).and_then(Value::as_str).unwrap_or_default();
        text.parse::<f64>().unwrap_or_default()
    };
    let (cost, lower) = (money(cost), money("lower_bound"));
    let proven = answer.get("proven").and_then(Value::as_bool).unwrap_or(false);
    let over = (!proven && lower > 0.0).then(|| ((cost / lower - 1.0) * 100.0).ceil().clamp(0.0, 1e6) as u32);
    LeastStock {
        item: item.to_owned(),
        proven,
        over,
    }
}

fn item<'l>(lot: &'l Lot<'_>) -> &'l str {
    lot.needs
        .first()
        .map(|need| need.item.as_str())
        .unwrap_or_default()
}

/// Plans for bars, rails, bows, trim and tape.
pub(crate) fn bar_plans(
    lot: &Lot<'_>,
    stop: &mut dyn FnMut() -> bool,
) -> Result<(Vec<StockPlan>, LeastStock), Error> {
    let (kerf, trim) = if lot.roll {
        (Length::ZERO, Length::ZERO)
    } else {
        (lot.cutting.saw_kerf.value, lot.cutting.end_trim.value)
    };
    let keep_from = if lot.roll {
        Length::from_nm(1)
    } else {
        lot.cutting.keep_from.value
    };
    let stock: Vec<Value> = lot.lines.iter().enumerate().map(|(at, line)| {
        json!({"name": at.to_string(), "length": text(line.length), "count": line.count, "price": line.price()})
    }).collect();
    let pieces: Vec<Value> = lot
        .needs
        .iter()
        .enumerate()
        .map(|(at, need)| json!({"name": at.to_string(), "length": text(need.length), "count": need.count}))
        .collect();
    let ask = json!({"unit": "mm", "kerf": text(kerf), "end_trim": text(trim), "stock": stock, "pieces": pieces,
        "keep_from": text(keep_from)});
    let answer = bars::figure(&ask, stop).map_err(|refusal| refused(&refusal))?;
    let mut plans = Vec::new();
    for given in entries(&answer, "plans") {
        let Some(line) = named(&lot.lines, given.get("stock")) else {
            continue;
        };
        let mut plan = lot.plan(line, item(lot), line.length, number(given.get("times")));
        // Half of the trim squares the end that the tape hooks on to; the rest stays at the far end.
        let first = trim.part(2).unwrap_or_default();
        let mut next = first;
        let across = |at| CutLine {
            across: true,
            at,
            from: Length::ZERO,
            to: Length::ZERO,
        };
        if first > Length::ZERO {
            plan.cuts.push(across(first));
        }
        for cut in entries(given, "cuts") {
            let Some(need) = named(&lot.needs, cut.get("piece")) else {
                continue;
            };
            for _ in 0..number(cut.get("count")) {
                let end = next.plus(need.length);
                plan.pieces.push(Piece {
                    size: need.size(lot.unit),
                    x: next,
                    y: Length::ZERO,
                    length: need.length,
                    width: None,
                    turned: false,
                });
                if end < line.length {
                    plan.cuts.push(across(end));
                }
                next = end.plus(kerf);
            }
        }
        let left = read(given.get("left"));
        if left > Length::ZERO {
            let keep = lot.keeps(line, left, None);
            plan.left.push(Left {
                x: next,
                y: Length::ZERO,
                length: left,
                width: None,
                keep,
            });
        }
        plans.push(plan);
    }
    plans.sort_by_key(|plan| plan.buy);
    Ok((plans, proof(item(lot), &answer, "net_cost")))
}

/// Plans for sheet. A coil that does not last is planned as one sheet of its length.
pub(crate) fn sheet_plans(
    lot: &Lot<'_>,
    stop: &mut dyn FnMut() -> bool,
) -> Result<(Vec<StockPlan>, LeastStock), Error> {
    let (plans, mut proof) = sheets_as(lot, true, stop)?;
    let single = lot
        .needs
        .iter()
        .fold(0_u32, |sum, need| sum.saturating_add(need.count))
        == 1;
    let lasts = lot
        .lines
        .iter()
        .filter(|line| line.is_coil() && !line.buy)
        .all(|line| {
            let key = line.stock.map(Stock::key).unwrap_or_default();
            let cut = plans.iter().filter(|plan| plan.stock == key && !plan.buy);
            let taken = cut.fold(Length::ZERO, |sum, plan| {
                sum.plus(plan.length.times(plan.times.into()))
            });
            taken <= line.length.times(line.count.unwrap_or(u32::MAX).into())
        });
    if !lasts {
        return sheets_as(lot, false, stop);
    }
    // One piece from one line: the search has tried them all.
    if single && plans.len() == 1 {
        proof = LeastStock {
            proven: true,
            over: None,
            ..proof
        };
    }
    Ok((plans, proof))
}

fn sheets_as(
    lot: &Lot<'_>,
    coils: bool,
    stop: &mut dyn FnMut() -> bool,
) -> Result<(Vec<StockPlan>, LeastStock), Error> {
    let kerf = lot.cutting.sheet_kerf.value;
    let stock: Vec<Value> = lot.lines.iter().enumerate().map(|(at, line)| {
        let (name, width) = (at.to_string(), text(line.width.unwrap_or_default()));
        if coils && line.is_coil() {
            json!({"name": name, "length": null, "width": width, "count": null, "price_per_length": line.price_a_mm()})
        } else {
            json!({"name": name, "length": text(line.length), "width": width, "count": line.count, "price": line.price()})
        }
    }).collect();
    let pieces: Vec<Value> = lot.needs.iter().enumerate().map(|(at, need)| {
        json!({"name": at.to_string(), "length": text(need.length), "width": text(need.width.unwrap_or_default()),
            "count": need.count, "turn": need.turn})
    }).collect();
    let ask =
        json!({"unit": "mm", "kerf": text(kerf), "stock": stock, "pieces": pieces, "goal": "least_cost"});
    let answer = sheets::figure(&ask, stop).map_err(|refusal| refused(&refusal))?;
    let mut plans = Vec::new();
    for given in entries(&answer, "sheets") {
        let Some(line) = named(&lot.lines, given.get("stock")) else {
            continue;
        };
        let mut plan = lot.plan(
            line,
            item(lot),
            read(given.get("length")),
            number(given.get("times")),
        );
        for placed in entries(given, "placed") {
            let Some(need) = named(&lot.needs, placed.get("piece")) else {
                continue;
            };
            plan.pieces.push(Piece {
                size: need.size(lot.unit),
                x: read(placed.get("x")),
                y: read(placed.get("y")),
                length: read(placed.get("length")),
                width: Some(read(placed.get("width"))),
                turned: placed.get("turned").and_then(Value::as_bool).unwrap_or(false),
            });
        }
        for left in entries(given, "left") {
            let (length, width) = (read(left.get("length")), Some(read(left.get("width"))));
            let keep = lot.keeps(line, length, width);
            let (x, y) = (read(left.get("x")), read(left.get("y")));
            plan.left.push(Left {
                x,
                y,
                length,
                width,
                keep,
            });
        }
        let whole = [
            Length::ZERO,
            Length::ZERO,
            plan.length,
            plan.width.unwrap_or_default(),
        ];
        if line.is_coil() && coils && !line.buy {
            let to = plan.width.unwrap_or_default();
            plan.cuts.push(CutLine {
                across: true,
                at: plan.length,
                from: Length::ZERO,
                to,
            });
        }
        cuts(given.get("tree"), whole, kerf, &mut plan.cuts);
        plans.push(plan);
    }
    plans.sort_by_key(|plan| plan.buy);
    Ok((plans, proof(item(lot), &answer, "cost")))
}

/// The cuts of an area `[x, y, length, width]` in their order: first the one that parts it, then those of its
/// two parts.
fn cuts(tree: Option<&Value>, [x, y, length, width]: [Length; 4], kerf: Length, found: &mut Vec<CutLine>) {
    let Some(tree) = tree.filter(|tree| tree.get("cut").is_some()) else {
        return;
    };
    let across = tree.get("cut").and_then(Value::as_str) == Some("x");
    let at = read(tree.get("at"));
    let (first, second) = if across {
        found.push(CutLine {
            across,
            at,
            from: y,
            to: y.plus(width),
        });
        let rest = x.plus(length).minus(at.plus(kerf)).max(Length::ZERO);
        ([x, y, at.minus(x), width], [at.plus(kerf), y, rest, width])
    } else {
        found.push(CutLine {
            across,
            at,
            from: x,
            to: x.plus(length),
        });
        let rest = y.plus(width).minus(at.plus(kerf)).max(Length::ZERO);
        ([x, y, length, at.minus(y)], [x, at.plus(kerf), length, rest])
    };
    cuts(tree.get("first"), first, kerf, found);
    cuts(tree.get("second"), second, kerf, found);
}
