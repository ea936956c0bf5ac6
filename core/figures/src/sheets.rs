//! `cut-sheets`: roof and side sheet and lining, by edge-to-edge cuts.
//!
//! With one kerf added to every piece and to the sheet, pieces that keep the kerf are pieces that do not
//! overlap, so the search needs no kerf. One sheet of most value is [`fill`]; many sheets of least cost are
//! plans of one sheet each under the search of the bars ([`plan`]); [`cuts`] says what is cut where.

mod coil;
mod cuts;
mod fill;
mod greedy;
mod grid;
mod plan;
mod tree;

use crate::bars::{master, round_share};
use crate::door::Refusal;
use crate::input::{Fields, json};
use crate::measure::{Length, Unit};
use crate::search::{MOST_DIGITS, Stop, float, money, money_below, not_enough, price, step_of};
use coil::{Coil, Coils};
use cuts::{Area, Cutter};
use fill::{Ask, Filled, MANY_TRIES, Shape, Tree, fill};
use plan::{Sheet, Sheets, cut_offs};
use rust_decimal::Decimal;
use serde_json::{Value, json};

/// Most pieces of one question.
const MOST_PIECES: u32 = 5_000;
/// Most kinds of pieces, and of stock.
const MOST_KINDS: usize = 200;
/// Most turns of cutting direction that may be asked for.
const MOST_STAGES: u32 = 50;
/// Highest value of a piece.
const MOST_WORTH: u32 = 1_000_000_000;
/// Rectangles that may be built for one sheet of most value, times the kinds of pieces.
const MOST_BUILT: usize = 12_000_000;

struct Stock {
    name: String,
    /// None: a coil.
    length: Option<Length>,
    width: Length,
    count: Option<u32>,
    /// Of one sheet, or of one unit of length of a coil.
    price: Option<Decimal>,
}

struct Piece {
    length: Length,
    width: Length,
    count: Option<u32>,
    turn: bool,
    value: Option<Decimal>,
}

struct Asked {
    unit: Unit,
    kerf: f64,
    stock: Vec<Stock>,
    names: Vec<String>,
    pieces: Vec<Piece>,
    least_cost: bool,
    stages: Option<u32>,
    top_pieces: String,
}

/// `bowseam figure cut-sheets`.
///
/// # Errors
/// Input that is not understood (exit 2), or stock that does not suffice (exit 3).
pub fn figure(input: &Value, stop: Stop<'_>) -> Result<Value, Refusal> {
    let asked = read(input)?;
    let shapes = shapes(&asked);
    if asked.least_cost {
        least_cost(&asked, &shapes, stop)
    } else {
        most_value(&asked, &shapes, stop)
    }
}

fn read(input: &Value) -> Result<Asked, Refusal> {
    let known = [
        "unit",
        "kerf",
        "stock",
        "pieces",
        "goal",
        "stages",
        "time_limit_s",
    ];
    let top = Fields::whole(input, &known)?;
    top.number("time_limit_s", crate::door::LONGEST_SEARCH_S)?;
    let stock = top.list("stock", |value, at| {
        let known = ["name", "length", "width", "count", "price", "price_per_length"];
        let given = top.entry(value, at, &known)?;
        let length = given
            .length("length")?
            .map(|_| given.some_length("length"))
            .transpose()?;
        let (own, other) = if length.is_some() {
            ("price", "price_per_length")
        } else {
            ("price_per_length", "price")
        };
        if value.get(other).is_some_and(|v| !v.is_null()) {
            let sentence =
                "A sheet has a “length” and a “price”; a coil has no length and a “price_per_length”.";
            return Err(given.wrong(other, "sheets_price", sentence));
        }
        Ok(Stock {
            name: given.text("name")?,
            length,
            width: given.some_length("width")?,
            count: given.count("count", MOST_PIECES.saturating_mul(100))?,
            price: price(value, &given, own)?,
        })
    })?;
    let mut names = Vec::new();
    let pieces = top.list("pieces", |value, at| {
        let given = top.entry(value, at, &["name", "length", "width", "count", "turn", "value"])?;
        let piece = Piece {
            length: given.some_length("length")?,
            width: given.some_length("width")?,
            count: given.count("count", MOST_PIECES)?,
            turn: given.flag("turn")?.unwrap_or(false),
            value: given.number("value", MOST_WORTH)?,
        };
        Ok((given.text("name")?, piece))
    })?;
    let need = |name: &str| {
        top.wrong(
            name,
            "input_missing",
            format!("“{name}” is missing: a list is expected."),
        )
    };
    let least_cost = top
        .word("goal", &["least_cost", "most_value"])?
        .unwrap_or("least_cost")
        == "least_cost";
    let stages = top.count("stages", MOST_STAGES)?;
    if stages == Some(0) {
        return Err(top
            .wrong(
                "stages",
                "input_zero",
                "“stages” is null or a whole number from 1.",
            )
            .into());
    }
    let mut of_pieces = Vec::new();
    for (name, piece) in pieces.ok_or_else(|| need("pieces"))? {
        names.push(name);
        of_pieces.push(piece);
    }
    let asked = Asked {
        unit: top.unit,
        kerf: top.length("kerf")?.map_or(0.0, nm),
        stock: stock.ok_or_else(|| need("stock"))?,
        names,
        pieces: of_pieces,
        least_cost,
        stages,
        top_pieces: top.pointer("pieces"),
    };
    complete(&asked, &top)?;
    Ok(asked)
}

/// What each goal needs beyond the form.
fn complete(asked: &Asked, top: &Fields<'_>) -> Result<(), Refusal> {
    let wrong = |at: String, sentence: &str| Err(crate::Error::new("input_missing", sentence).at(at).into());
    if asked.pieces.len() > MOST_KINDS {
        return Err(top
            .wrong(
                "pieces",
                "input_many",
                format!("At most {MOST_KINDS} kinds of pieces are planned at once."),
            )
            .into());
    }
    for (place, piece) in asked.pieces.iter().enumerate() {
        let at = &asked.top_pieces;
        if asked.least_cost && piece.count.is_none() {
            return wrong(
                format!("{at}/{place}/count"),
                "“count” is missing: a whole number, since every piece is cut.",
            );
        }
        if !asked.least_cost && piece.value.is_none() {
            return wrong(
                format!("{at}/{place}/value"),
                "“value” is missing: a number, since the goal is the most value.",
            );
        }
    }
    if asked.stock.len() > MOST_KINDS {
        return Err(top
            .wrong(
                "stock",
                "input_many",
                format!("At most {MOST_KINDS} kinds of stock are planned with at once."),
            )
            .into());
    }
    let all = asked
        .pieces
        .iter()
        .fold(0_u32, |sum, p| sum.saturating_add(p.count.unwrap_or(0)));
    if asked.least_cost && all > MOST_PIECES {
        return Err(top
            .wrong(
                "pieces",
                "input_many",
                format!("At most {MOST_PIECES} pieces are planned at once."),
            )
            .into());
    }
    for (place, stock) in asked.stock.iter().enumerate() {
        if asked.least_cost && stock.price.is_none() {
            let name = if stock.length.is_some() {
                "price"
            } else {
                "price_per_length"
            };
            return wrong(
                top.pointer(&format!("stock/{place}/{name}")).replace("~1", "/"),
                "The price is missing: decimal text such as \"31.50\".",
            );
        }
    }
    let one = matches!(asked.stock.as_slice(), [Stock { length: Some(_), .. }]);
    if !asked.least_cost && !one {
        return Err(top
            .wrong(
                "stock",
                "sheets_one",
                "The most value is of one stock sheet: list one, with a length.",
            )
            .into());
    }
    Ok(())
}

fn nm(length: Length) -> f64 {
    length.nm() as f64
}

fn shapes(asked: &Asked) -> Vec<Shape> {
    let mut shapes = Vec::new();
    for (kind, piece) in asked.pieces.iter().enumerate() {
        let (length, width) = (nm(piece.length) + asked.kerf, nm(piece.width) + asked.kerf);
        shapes.push(Shape {
            kind,
            length,
            width,
            turned: false,
        });
        if piece.turn && length != width {
            shapes.push(Shape {
                kind,
                length: width,
                width: length,
                turned: true,
            });
        }
    }
    shapes
}

fn most_value(asked: &Asked, shapes: &[Shape], stop: Stop<'_>) -> Result<Value, Refusal> {
    let stock = asked.stock.first();
    let (length, width) = stock.map_or((0.0, 0.0), |s| (s.length.map_or(0.0, nm), nm(s.width)));
    let sheet = (length + asked.kerf, width + asked.kerf);
    let fits = |piece: &Piece| {
        let area = (nm(piece.length) + asked.kerf) * (nm(piece.width) + asked.kerf);
        let most = (sheet.0 * sheet.1 / area).floor().min(f64::from(u16::MAX)) as u32;
        piece.count.map_or(most, |count| count.min(most))
    };
    let limit: Vec<u32> = asked.pieces.iter().map(fits).collect();
    let worth: Vec<f64> = asked.pieces.iter().map(|p| p.value.map_or(0.0, float)).collect();
    let most_built = MOST_BUILT
        .checked_div(limit.len().max(8))
        .unwrap_or(0)
        .min(400_000);
    let ask = Ask {
        sheet,
        shapes,
        worth: &worth,
        limit: &limit,
        stages: asked.stages,
        tries: MANY_TRIES,
        most_built,
        enough: f64::INFINITY,
    };
    let Filled { tree, value, upper } = fill(&ask, stop);
    let proven = value >= upper - 1e-7 * (1.0 + upper.abs());
    let upper = if proven { value } else { upper };
    let (sheet, pieces) = sheet_of(asked, shapes, 0, tree.as_ref(), (length, width), 1);
    let waste = if length * width > 0.0 {
        1.0 - pieces / (length * width)
    } else {
        0.0
    };
    let cost = stock.and_then(|s| s.price).map(money);
    Ok(
        json!({"proven": proven, "cost": cost, "value": tidy(value), "lower_bound": null, "upper_bound": tidy(upper),
        "sheets": [sheet], "waste_share": round_share(waste.max(0.0))}),
    )
}

/// A sum of values as it is shown: without the noise of adding.
fn tidy(value: f64) -> Value {
    let rounded = (value * 1e6).round() / 1e6;
    if rounded.fract() == 0.0 {
        json!(rounded as i64)
    } else {
        json!(rounded)
    }
}

/// One sheet as JSON, and the area of its pieces.
fn sheet_of(
    asked: &Asked,
    shapes: &[Shape],
    stock: usize,
    tree: Option<&Tree>,
    size: (f64, f64),
    times: u32,
) -> (Value, f64) {
    let say = |nanometres: f64| json(Length::from_nm(nanometres.round() as i64).to_decimal(asked.unit));
    let mut cutter = Cutter {
        shapes,
        names: &asked.names,
        kerf: asked.kerf,
        say: &say,
        placed: Vec::new(),
        left: Vec::new(),
    };
    let cuts = cutter.tree(
        tree,
        Area {
            x: 0.0,
            y: 0.0,
            length: size.0,
            width: size.1,
        },
    );
    let mut counts = vec![0; asked.pieces.len()];
    tree.into_iter().for_each(|tree| tree.count(shapes, &mut counts));
    let area = |(n, piece): (&u32, &Piece)| f64::from(*n) * nm(piece.length) * nm(piece.width);
    let pieces = counts.iter().zip(&asked.pieces).map(area).sum();
    let name = asked.stock.get(stock).map(|s| s.name.as_str());
    let value = json!({"stock": name, "times": times, "length": say(size.0), "width": say(size.1), "tree": cuts,
        "placed": cutter.placed, "left": cutter.left});
    (value, pieces)
}

/// Every sheet that a plan may be cut from, and whether no other length of coil can be better.
fn sheets(asked: &Asked, shapes: &[Shape], stop: Stop<'_>) -> (Vec<Sheet>, bool) {
    let (mut sheets, mut all) = (Vec::new(), true);
    let demand: Vec<u32> = asked.pieces.iter().map(|p| p.count.unwrap_or(0)).collect();
    for (stock, given) in asked.stock.iter().enumerate() {
        let (width, price) = (nm(given.width) + asked.kerf, given.price.map_or(0.0, float));
        match given.length {
            Some(length) => {
                let length = nm(length) + asked.kerf;
                sheets.push(Sheet {
                    stock,
                    length,
                    width,
                    price,
                    count: given.count,
                });
            }
            None => {
                let (lengths, complete) = cut_offs(shapes, &demand, width, stop);
                all = all && complete;
                // What is cut off is paid, the cut itself is not.
                sheets.extend(lengths.into_iter().map(|length| Sheet {
                    stock,
                    length,
                    width,
                    price: price * in_unit(length - asked.kerf, asked.unit),
                    count: given.count.filter(|count| *count == 0),
                }));
            }
        }
    }
    (sheets, all)
}

fn in_unit(nanometres: f64, unit: Unit) -> f64 {
    float(Length::from_nm(nanometres.round() as i64).to_decimal(unit))
}

/// What the pieces' area alone costs at least.
fn by_area(sheets: &[Sheet], size: &[f64], demand: &[u32]) -> f64 {
    let rates = sheets.iter().map(|s| s.price / (s.length * s.width));
    let cheapest = rates.fold(f64::INFINITY, f64::min);
    let area: f64 = size
        .iter()
        .zip(demand)
        .map(|(size, n)| size * f64::from(*n))
        .sum();
    if cheapest.is_finite() {
        area * cheapest
    } else {
        0.0
    }
}

/// What it costs at least where coils may be cut off anywhere.
fn by_rows(asked: &Asked, sheets: &[Sheet], shapes: &[Shape], demand: &[u32], stop: Stop<'_>) -> f64 {
    let is_coil = |stock: usize| asked.stock.get(stock).is_some_and(|s| s.length.is_none());
    let coils: Vec<Coil> = asked
        .stock
        .iter()
        .filter(|s| s.length.is_none() && s.count != Some(0))
        .map(|s| Coil {
            width: nm(s.width) + asked.kerf,
            rate: s.price.map_or(0.0, float) / nm_of_one(asked.unit),
        })
        .collect();
    let whole: Vec<&Sheet> = sheets.iter().filter(|s| !is_coil(s.stock)).collect();
    let dearest = sheets.iter().map(|s| s.price).fold(1.0, f64::max);
    let asked = Coils {
        coils: &coils,
        sheets: &whole,
        shapes,
        demand,
        stages: asked.stages,
        kerf: asked.kerf,
        missing: dearest * 10.0,
    };
    asked.lower(stop)
}

fn nm_of_one(unit: Unit) -> f64 {
    match unit {
        Unit::In => 25_400_000.0,
        Unit::Mm => 1_000_000.0,
    }
}

fn least_cost(asked: &Asked, shapes: &[Shape], stop: Stop<'_>) -> Result<Value, Refusal> {
    let (sheets, all_lengths) = sheets(asked, shapes, stop);
    let demand: Vec<u32> = asked.pieces.iter().map(|p| p.count.unwrap_or(0)).collect();
    let size: Vec<f64> = asked
        .pieces
        .iter()
        .map(|p| (nm(p.length) + asked.kerf) * (nm(p.width) + asked.kerf))
        .collect();
    let coil = asked.stock.iter().any(|s| s.length.is_none());
    let mut floor = by_area(&sheets, &size, &demand);
    if !all_lengths {
        floor = floor.max(by_rows(asked, &sheets, shapes, &demand, stop));
    }
    let prices: Vec<Decimal> = sheets.iter().map(|s| price_of(asked, s).normalize()).collect();
    let fine = prices.iter().any(|p| p.scale() > MOST_DIGITS);
    let problem = master::Problem {
        demand,
        size,
        stock_of: (0..sheets.len()).collect(),
        most: sheets.iter().map(|s| s.count).collect(),
        price: sheets.iter().map(|s| s.price).collect(),
        step: if fine { 0.0 } else { step_of(prices.into_iter()) },
        close: if coil { 0.004 } else { 0.0 },
        floor,
    };
    let mut pricer = Sheets {
        sheets: &sheets,
        shapes,
        stages: asked.stages,
        trees: Vec::new(),
    };
    let mut best = master::least(&problem, &mut pricer, stop);
    if best.missing.iter().any(|n| *n > 0) {
        return Err(not_enough(asked.names.iter().cloned().zip(best.missing)));
    }
    if !all_lengths {
        // A coil may be cut off anywhere, and the search knew a few lengths only, so the rows
        // across it are the bound.
        best.lower = floor.min(best.cost);
        best.proven = best.cost - floor < 0.004;
    }
    let (mut out, mut whole, mut used) = (Vec::new(), 0.0, 0.0);
    let mut cost = Decimal::ZERO;
    for (plan, times) in &best.plans {
        let Some(sheet) = sheets.get(plan.group) else {
            continue;
        };
        let size = (sheet.length - asked.kerf, sheet.width - asked.kerf);
        let (value, pieces) = sheet_of(
            asked,
            shapes,
            sheet.stock,
            pricer.trees.get(plan.tag),
            size,
            *times,
        );
        out.push(value);
        whole += size.0 * size.1 * f64::from(*times);
        used += pieces * f64::from(*times);
        cost = cost.saturating_add(price_of(asked, sheet).saturating_mul(Decimal::from(*times)));
    }
    let waste = if whole > 0.0 { 1.0 - used / whole } else { 0.0 };
    let lower = if best.proven {
        money(cost)
    } else {
        money_below(best.lower)
    };
    let worth = |(piece, count): (&Piece, u32)| piece.value.map_or(0.0, float) * f64::from(count);
    let value: f64 = asked
        .pieces
        .iter()
        .map(|p| worth((p, p.count.unwrap_or(0))))
        .sum();
    Ok(
        json!({"proven": best.proven, "cost": money(cost), "value": tidy(value), "lower_bound": lower, "upper_bound": null,
        "sheets": out, "waste_share": round_share(waste.max(0.0))}),
    )
}

/// The exact price of one sheet, or of a length of coil.
fn price_of(asked: &Asked, sheet: &Sheet) -> Decimal {
    let stock = asked.stock.get(sheet.stock);
    let price = stock.and_then(|s| s.price).unwrap_or_default();
    if stock.is_some_and(|s| s.length.is_some()) {
        return price;
    }
    let length = Length::from_nm((sheet.length - asked.kerf).round() as i64);
    price.saturating_mul(length.to_decimal(asked.unit))
}
