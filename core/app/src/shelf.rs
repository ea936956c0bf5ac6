//! The shelf as it is for one job: the shop's stock list with the drops that jobs kept, less what cuts used, and
//! who holds what of the rest. Of two jobs that reserved the same piece the earlier one holds it; both are told.

use crate::{answer::Refusal, app::App, now::Now, words};
use bowseam_figures::{
    cut::{Stock, StockKind},
    measure::{Length, Unit},
};
use bowseam_jobs::stock::{JobDrop, Move, MoveKind, hold};
use uuid::Uuid;

/// One kind of stock with who takes of it.
pub struct Line {
    /// As the stock list or the kept drop has it; the count as it was entered.
    pub stock: Stock,
    /// What is there, used pieces taken off: pieces, or nanometres of rolls and coils.
    pub there: i64,
    /// Reservations, the earliest first.
    pub claims: Vec<Claim>,
}

/// A reservation and what it holds; pieces or nanometres.
pub struct Claim {
    /// The job.
    pub job: Uuid,
    /// Who made it.
    pub by: Uuid,
    /// Reserved.
    pub wanted: i64,
    /// Held.
    pub holds: i64,
}

/// All that lies on the shelf.
pub struct Shelf {
    /// Line by line.
    pub lines: Vec<Line>,
}

/// Rolls and coils are taken by length; all else by the piece.
pub fn by_length(kind: StockKind) -> bool {
    kind == StockKind::Coil
}

/// An amount of a stock as it is read.
pub fn amount(stock: &Stock, amount: i64, unit: Unit) -> String {
    if by_length(stock.kind) {
        Length::from_nm(amount).say(unit)
    } else {
        amount.to_string()
    }
}

fn drop_of(drop: JobDrop, unit: Unit) -> Stock {
    let kept = drop.kept;
    let length = kept.length.say(unit);
    Stock {
        id: drop.id.to_string(),
        name: match kept.width {
            Some(width) => format!("drop {length} × {}", width.say(unit)),
            None => format!("drop {length}"),
        },
        item: kept.item,
        kind: StockKind::Drop,
        length: kept.length,
        width: kept.width,
        thickness: kept.thickness,
        place: kept.place,
        count: 1,
        price: None,
        counted: 0,
    }
}

impl Shelf {
    /// As the store has it now; `list` is the shop's stock list.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn of(app: &App, list: &[Stock], unit: Unit) -> Result<Self, Refusal> {
        let store = app.store();
        let moves = store.stock_moves()?;
        let drops = store.drops()?.into_iter().map(|drop| drop_of(drop, unit));
        let lines = list.iter().cloned().chain(drops).map(|stock| line(stock, &moves));
        Ok(Self {
            lines: lines.collect(),
        })
    }

    /// What one job may cut from: what is there, less what the others hold.
    pub fn for_job(&self, job: Uuid) -> Vec<Stock> {
        let lines = self.lines.iter();
        lines.flat_map(|line| line.as_stock(line.left_for(job))).collect()
    }

    /// The same less what is planned already, by what it is reserved by: what nobody holds, and what this job holds and
    /// needs no more.
    pub fn beside(&self, job: Uuid, planned: impl Fn(&str) -> i64) -> Vec<Stock> {
        let free = |line: &Line| line.left_for(job).saturating_sub(planned(&line.stock.key()));
        let lines = self.lines.iter();
        lines.flat_map(|line| line.as_stock(free(line).max(0))).collect()
    }

    /// Whether some of an item is kept here, now or at times.
    pub fn keeps(&self, item: &str) -> bool {
        self.lines.iter().any(|line| line.stock.item == item)
    }

    /// A line by what it is reserved by.
    pub fn line(&self, key: &str) -> Option<&Line> {
        self.lines.iter().find(|line| line.stock.key() == key)
    }
}

/// What the list says of a stock: pieces, or nanometres of rolls and coils.
pub fn whole(stock: &Stock) -> i64 {
    if by_length(stock.kind) {
        stock.length.times(stock.count.into()).nm()
    } else {
        i64::from(stock.count)
    }
}

fn line(stock: Stock, moves: &[Move]) -> Line {
    let key = stock.key();
    let mine = || moves.iter().filter(|of| of.stock == key);
    let size = |of: &Move| {
        if by_length(stock.kind) {
            of.length.nm()
        } else {
            i64::from(of.count)
        }
    };
    let listed = whole(&stock).saturating_add(stock.counted);
    let used = mine().filter(|of| of.kind == MoveKind::Used);
    let there = used.fold(listed, |left, of| left.saturating_sub(size(of))).max(0);
    let reserved: Vec<&Move> = mine().filter(|of| of.kind == MoveKind::Reserved).collect();
    let wanted: Vec<i64> = reserved.iter().map(|of| size(of)).collect();
    let claims = reserved
        .iter()
        .zip(&wanted)
        .zip(hold(there, &wanted))
        .map(|((of, wanted), holds)| Claim {
            job: of.job,
            by: of.by,
            wanted: *wanted,
            holds,
        })
        .collect();
    Line { stock, there, claims }
}

impl Line {
    fn held(&self, by: impl Fn(Uuid) -> bool) -> i64 {
        let claims = self.claims.iter().filter(|claim| by(claim.job));
        claims.fold(0, |held: i64, claim| held.saturating_add(claim.holds))
    }

    /// What a job holds.
    pub fn held_by(&self, job: Uuid) -> i64 {
        self.held(|of| of == job)
    }

    /// What the other jobs leave.
    pub fn left_for(&self, job: Uuid) -> i64 {
        self.there.saturating_sub(self.held(|of| of != job)).max(0)
    }

    /// So much of it as stock to cut from: whole rolls, and what is left of one that was begun.
    fn as_stock(&self, left: i64) -> Vec<Stock> {
        let some = |length: Length, count: i64| {
            let count = u32::try_from(count).unwrap_or(u32::MAX);
            (count > 0 && length > Length::ZERO).then(|| Stock {
                length,
                count,
                ..self.stock.clone()
            })
        };
        let whole = self.stock.length;
        let found = if by_length(self.stock.kind) {
            let rolls = Length::from_nm(left).holds(whole).unwrap_or_default();
            let begun = Length::from_nm(left).minus(whole.times(rolls));
            [some(begun, 1), some(whole, rolls)]
        } else {
            [some(whole, left), None]
        };
        let found: Vec<Stock> = found.into_iter().flatten().collect();
        if found.is_empty() {
            // None is left: it still says in which sizes the shop buys it.
            return vec![Stock {
                count: 0,
                ..self.stock.clone()
            }];
        }
        found
    }
}

/// Stock of this job that another one reserved as well, in words.
///
/// # Errors
/// The store cannot be read.
pub fn clashes(now: &Now) -> Result<Vec<String>, Refusal> {
    if now.job.reserved.is_empty() {
        return Ok(Vec::new());
    }
    let mut said = Vec::new();
    for line in &now.shelf()?.lines {
        let Some(mine) = line.claims.iter().find(|claim| claim.job == now.job.id) else {
            continue;
        };
        for other in line.claims.iter().filter(|claim| claim.job != now.job.id) {
            let unit = now.app.store().summary(other.job)?.map(|summary| summary.unit);
            let unit = unit.unwrap_or_else(|| "not known here".to_owned());
            let (name, who) = (&line.stock.name, now.name(other.by));
            let amount = |n: i64| amount(&line.stock, n, now.unit);
            if mine.holds < mine.wanted && other.holds > 0 {
                said.push(format!(
                    "{name}: unit {unit} reserved it first ({who}). This job holds {} of {}. Reserve anew on the Cut list.",
                    amount(mine.holds),
                    amount(mine.wanted)
                ));
            } else if other.holds < other.wanted && mine.holds > 0 {
                said.push(format!(
                    "{name}: unit {unit} reserved it as well, later ({who}). This job holds it; tell them."
                ));
            }
        }
    }
    Ok(said)
}

/// Who else holds a line, in words.
///
/// # Errors
/// The store cannot be read.
pub fn holders(app: &App, line: &Line, unit: Unit) -> Result<Vec<String>, Refusal> {
    let mut said = Vec::new();
    for claim in line.claims.iter().filter(|claim| claim.holds > 0) {
        let of = app.store().summary(claim.job)?.map(|summary| summary.unit);
        let of = of.unwrap_or_else(|| "not known here".to_owned());
        said.push(format!(
            "{} for unit {of}",
            amount(&line.stock, claim.holds, unit)
        ));
    }
    Ok(said)
}

/// A list of reservations in a line: `1 for unit 4417 and 2 for unit 1188`.
pub fn reserved_words(holders: &[String]) -> String {
    if holders.is_empty() {
        String::new()
    } else {
        format!("reserved: {}", words::list(holders))
    }
}
