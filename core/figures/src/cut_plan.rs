//! The cut plan of a job: which piece comes from which drop, bar, sheet, roll or coil, and at which marks.
//!
//! Each item is planned by the search of its form: bars, rails, bows, trim and tape by [`crate::bars`], sheet
//! by [`crate::sheets`]. What a plan costs there is what it takes off the shelf, by length or area: a drop
//! counts a hundredth, so that drops go first and the smallest that serves; what is not in stock counts a
//! hundredfold, so that nothing is bought which the shelf can give. All marks of one piece of stock run from
//! one hook of the tape, so that errors do not add up.

use crate::Error;
use crate::cut::{Need, Stock, StockKind, size};
use crate::cut_shelf::{Line, bar_plans, sheet_plans};
use crate::measure::{Length, Unit};
use crate::shop::Cutting;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// Most pieces, and most kinds of stock, of one plan.
const MOST: u32 = 2_000;

/// One piece as it lies on its stock; measured from the hook at the stock's end and, for sheet, from its edge.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Piece {
    /// Size as it is read.
    pub size: String,
    /// Where it starts, from the hook.
    pub x: Length,
    /// Where it starts across; nothing for bars and tape.
    pub y: Length,
    /// Extent from the hook on, as it lies.
    pub length: Length,
    /// Extent across, as it lies; none for bars and tape.
    pub width: Option<Length>,
    /// It lies across the stock.
    pub turned: bool,
}

/// One cut, in the order of cutting. A cut across runs from edge to edge of what was still together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct CutLine {
    /// Straight across the stock; otherwise along it.
    pub across: bool,
    /// The mark: from the hook for a cut across, from the edge for one along.
    pub at: Length,
    /// Where the cut starts and ends in the other direction.
    pub from: Length,
    /// See `from`.
    pub to: Length,
}

/// What a plan leaves of its piece of stock.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Left {
    /// Where it starts, from the hook.
    pub x: Length,
    /// Where it starts across.
    pub y: Length,
    /// Length that is left.
    pub length: Length,
    /// Width that is left; none for bars and tape.
    pub width: Option<Length>,
    /// Kept as a drop, or goes back on its roll; otherwise scrap.
    pub keep: bool,
}

/// How one piece of stock is cut.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct StockPlan {
    /// Names the plan within its list, and stays while the plan does.
    pub key: String,
    /// The item.
    pub item: String,
    /// What the stock is reserved by ([`Stock::key`]); empty for what has to be bought to size.
    pub stock: String,
    /// Name of the stock, or what has to be bought.
    pub from: String,
    /// Shelf place; empty for what has to be bought.
    pub place: String,
    /// How it lies; none for what is bought to size.
    pub kind: Option<StockKind>,
    /// It is not in stock.
    pub buy: bool,
    /// How many pieces of stock are cut like this.
    pub times: u32,
    /// Length of the piece of stock, or what is cut off a coil.
    pub length: Length,
    /// Its width; none for bars and tape.
    pub width: Option<Length>,
    /// Its thickness, where it matters.
    pub thickness: Option<Length>,
    /// Size as it is read.
    pub size: String,
    /// What is cut from it.
    pub pieces: Vec<Piece>,
    /// The cuts in order.
    pub cuts: Vec<CutLine>,
    /// What is left.
    pub left: Vec<Left>,
}

impl StockPlan {
    /// Length that one such plan takes off a roll or coil.
    #[must_use]
    pub fn taken(&self) -> Length {
        let ends = self.pieces.iter().map(|piece| piece.x.plus(piece.length));
        ends.max().unwrap_or_default()
    }
}

/// How good the plans of an item are.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct LeastStock {
    /// The item.
    pub item: String,
    /// No plan takes less.
    pub proven: bool,
    /// If that is not proven: at most so many per cent more than the least that may be possible.
    pub over: Option<u32>,
}

/// What the stock does not give.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Short {
    /// The item.
    pub item: String,
    /// What is bought: the stock's name, or the item to size.
    pub name: String,
    /// How many.
    pub count: u32,
    /// Size as it is read.
    pub size: String,
}

/// The cut list.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, TS)]
pub struct CutList {
    /// Plans, item by item in the order of the needs.
    pub plans: Vec<StockPlan>,
    /// What has to be bought.
    pub short: Vec<Short>,
    /// How good the plans are.
    pub proofs: Vec<LeastStock>,
}

/// What is cut alike: needs of one item and thickness, all bars or all sheet.
pub(crate) struct Lot<'a> {
    pub needs: Vec<&'a Need>,
    pub lines: Vec<Line<'a>>,
    pub unit: Unit,
    /// Tape and other rolls: cut with a knife, and the rest goes back.
    pub roll: bool,
    pub cutting: &'a Cutting,
}

/// Plans how the needs are cut from the stock; what it does not give is planned from what has to be bought.
/// `stop` ends the search with the best that it has.
///
/// # Errors
/// `cut_size` for a piece or a stock without length, `cut_many` for more than 2000 pieces.
pub fn plan(
    needs: &[Need],
    stock: &[Stock],
    cutting: &Cutting,
    unit: Unit,
    stop: &mut dyn FnMut() -> bool,
) -> Result<CutList, Error> {
    check(needs, stock, cutting)?;
    let mut list = CutList::default();
    let alike = |a: &Need, b: &Need| {
        a.item == b.item && a.thickness == b.thickness && a.width.is_some() == b.width.is_some()
    };
    let mut planned: Vec<&Need> = Vec::new();
    for need in needs.iter().filter(|need| need.count > 0) {
        if planned.iter().any(|had| alike(had, need)) {
            continue;
        }
        planned.push(need);
        let lot = lot(
            needs.iter().filter(|other| alike(other, need)).collect(),
            stock,
            cutting,
            unit,
        );
        let (plans, proof) = if need.width.is_some() {
            sheet_plans(&lot, stop)?
        } else {
            bar_plans(&lot, stop)?
        };
        list.plans.extend(plans);
        list.proofs.push(proof);
    }
    list.short = short(&list.plans);
    name(&mut list.plans);
    Ok(list)
}

fn lot<'a>(needs: Vec<&'a Need>, stock: &'a [Stock], cutting: &'a Cutting, unit: Unit) -> Lot<'a> {
    let fits = |stock: &&Stock| {
        needs.iter().any(|need| {
            need.item == stock.item
                && (need.thickness.is_none() || need.thickness == stock.thickness)
                && need.width.is_some() == stock.width.is_some()
        })
    };
    let shelf: Vec<&Stock> = stock.iter().filter(fits).collect();
    let sheet = needs.iter().any(|need| need.width.is_some());
    let roll = !sheet && shelf.iter().any(|stock| stock.kind == StockKind::Coil);
    let mut lines: Vec<Line> = shelf
        .iter()
        .filter(|s| s.count > 0)
        .map(|s| Line::on_hand(s))
        .collect();
    // What can be bought again: whole bars, sheets and rolls. Coil is bought cut to length.
    let whole = shelf
        .iter()
        .filter(|s| s.kind != StockKind::Drop && !(sheet && s.kind == StockKind::Coil));
    let mut bought: Vec<&&Stock> = Vec::new();
    for stock in whole {
        if !bought
            .iter()
            .any(|b| (b.length, b.width) == (stock.length, stock.width))
        {
            bought.push(stock);
            lines.push(Line::to_buy(stock));
        }
    }
    let trim = if roll || sheet {
        Length::ZERO
    } else {
        cutting.end_trim.value
    };
    for need in &needs {
        if !lines.iter().any(|line| line.buy && line.holds(need, trim)) {
            lines.push(Line::to_size(need, trim));
        }
    }
    Lot {
        needs,
        lines,
        unit,
        roll,
        cutting,
    }
}

fn check(needs: &[Need], stock: &[Stock], cutting: &Cutting) -> Result<(), Error> {
    let sound = |length: Length| length > Length::ZERO && length.is_sound();
    let fine = needs.iter().all(|n| sound(n.length) && n.width.is_none_or(sound))
        && stock.iter().all(|s| sound(s.length) && s.width.is_none_or(sound));
    let kerfs = [&cutting.saw_kerf, &cutting.sheet_kerf, &cutting.end_trim];
    if !fine || kerfs.iter().any(|kerf| !kerf.value.is_sound()) {
        return Err(Error::new(
            "cut_size",
            "Pieces and stock have a length (and sheet a width) over 0 and up to 100 m; the width of a \
             cut and what is trimmed off are 0 or more.",
        ));
    }
    let pieces = needs
        .iter()
        .fold(0_u32, |sum, need| sum.saturating_add(need.count));
    if pieces > MOST || stock.len() > usize::try_from(MOST).unwrap_or(usize::MAX) {
        return Err(Error::new(
            "cut_many",
            "A cut list holds up to 2000 pieces from up to 2000 kinds of stock.",
        ));
    }
    Ok(())
}

fn short(plans: &[StockPlan]) -> Vec<Short> {
    let mut short: Vec<Short> = Vec::new();
    for plan in plans.iter().filter(|plan| plan.buy) {
        match short
            .iter_mut()
            .find(|s| (&s.item, &s.name, &s.size) == (&plan.item, &plan.from, &plan.size))
        {
            Some(had) => had.count = had.count.saturating_add(plan.times),
            None => short.push(Short {
                item: plan.item.clone(),
                name: plan.from.clone(),
                count: plan.times,
                size: plan.size.clone(),
            }),
        }
    }
    short
}

/// Keys by what is cut from what; two alike get a number.
fn name(plans: &mut [StockPlan]) {
    let mut had: Vec<String> = Vec::new();
    for plan in plans {
        let pieces: Vec<String> = plan.pieces.iter().map(|piece| piece.size.clone()).collect();
        let stem = format!("{}/{}/{}", plan.item, plan.from, pieces.join("+"));
        let before = had.iter().filter(|other| **other == stem).count();
        plan.key = if before == 0 {
            stem.clone()
        } else {
            format!("{stem}/{before}")
        };
        had.push(stem);
    }
}

impl Lot<'_> {
    /// Whether what is left is worth keeping.
    pub(crate) fn keeps(&self, line: &Line<'_>, length: Length, width: Option<Length>) -> bool {
        let from = self.cutting.keep_from.value;
        let long = length.max(width.unwrap_or_default());
        let wide_enough = width.is_none_or(|width| width.min(length).times(3) >= from);
        // A rest of a roll goes back whatever its length; of what was bought to size nothing is left over.
        (self.roll && !line.own) || (long >= from && wide_enough)
    }

    /// A plan with nothing cut yet.
    pub(crate) fn plan(&self, line: &Line<'_>, item: &str, length: Length, times: u32) -> StockPlan {
        let stock = line.stock;
        let thickness = stock.map_or_else(|| self.needs.first().and_then(|n| n.thickness), |s| s.thickness);
        StockPlan {
            key: String::new(),
            item: item.to_owned(),
            stock: stock.filter(|_| !line.buy).map(Stock::key).unwrap_or_default(),
            from: stock.map_or_else(|| format!("{item}, to size"), |s| s.name.clone()),
            place: stock
                .filter(|_| !line.buy)
                .map(|s| s.place.clone())
                .unwrap_or_default(),
            kind: stock.map(|s| s.kind),
            buy: line.buy,
            times,
            length,
            width: line.width,
            thickness,
            size: size(length, line.width, thickness, self.unit),
            pieces: Vec::new(),
            cuts: Vec::new(),
            left: Vec::new(),
        }
    }
}
