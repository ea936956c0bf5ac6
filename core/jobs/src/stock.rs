//! Stock as jobs move it: what they reserve, what their cuts used, which drops they kept, what they buy.
//!
//! Stock belongs to no job, but every change does: so that two phones without a network can reserve the same drop
//! and both see it, a job's entries say what it takes, and this table of all jobs' takings is read off the jobs
//! like their lines of the yard list. Who holds what is then one order over all jobs: the earliest reservation, by
//! logical time, holds ([`hold`]).

use crate::{
    entry::Decision,
    job::Job,
    store::{Result, Store},
};
use bowseam_figures::measure::Length;
use chrono::{DateTime, NaiveDate, Utc};
use rusqlite::{Connection, params};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// A way that material is reserved for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ForWay {
    /// What is fixed together.
    pub group: String,
    /// The way's name.
    pub way: String,
}

/// How much of one stock is reserved: pieces, or a length of a roll or coil.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reserved {
    /// What it is cut for.
    pub item: String,
    /// Its name, to be read where the stock list is not.
    pub name: String,
    /// Pieces; of a roll or coil nothing.
    pub count: u32,
    /// Length of a roll or coil; nothing for pieces.
    pub length: Length,
    /// The ways that it is for: once one of them is another, the stock is free.
    pub ways: Vec<ForWay>,
}

/// Pieces that a cut made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CutPiece {
    /// Length.
    pub length: Length,
    /// Width; none for bars and tape.
    pub width: Option<Length>,
    /// How many.
    pub count: u32,
}

/// A cut that was done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CutDone {
    /// The item.
    pub item: String,
    /// What the stock was reserved by; empty for what was bought for this job.
    pub stock: String,
    /// The stock's name.
    pub name: String,
    /// Where it lay.
    pub place: String,
    /// Pieces of stock that were used; of a roll or coil nothing.
    pub count: u32,
    /// Length taken off a roll or coil; nothing for pieces.
    pub length: Length,
    /// Thickness, where it matters.
    pub thickness: Option<Length>,
    /// What was cut.
    pub pieces: Vec<CutPiece>,
    /// Left-overs worth keeping.
    pub left: Vec<CutPiece>,
}

/// A drop that was kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DropKept {
    /// The item.
    pub item: String,
    /// Length.
    pub length: Length,
    /// Width; none for bars and tape.
    pub width: Option<Length>,
    /// Thickness, where it matters.
    pub thickness: Option<Length>,
    /// Shelf place.
    pub place: String,
    /// The cut that it is left of.
    pub cut: Uuid,
}

/// A change to a line of the buying list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BuyChange {
    /// What is to be bought.
    Wanted {
        /// The item.
        item: String,
        /// Size as it is read; may be empty.
        size: String,
        /// How much, as it is read.
        quantity: String,
    },
    /// The day it is needed by.
    NeededBy(Option<NaiveDate>),
    /// The day it arrives on, as somebody was told.
    ArrivesOn(Option<NaiveDate>),
    /// It is here, and lies at this place.
    Here(Option<String>),
    /// Taken off, or put back.
    Removed(bool),
}

/// A hole that is there already, on a line of rivets.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct HoleAt {
    /// Its place along the line.
    pub at: Length,
    /// Its size, where it was measured.
    pub diameter: Option<Length>,
}

/// A reservation as it stands; `order` says which of two came first, over all jobs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JobReserved {
    /// The reservation.
    pub value: Reserved,
    /// Who made it.
    pub by: Uuid,
    /// When.
    pub at: DateTime<Utc>,
    /// Sorts as the reservations came.
    pub order: String,
}

/// A cut as it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JobCut {
    /// Its id.
    pub id: Uuid,
    /// What was done.
    pub done: CutDone,
    /// Who did it.
    pub by: Uuid,
    /// When.
    pub at: DateTime<Utc>,
}

/// A kept drop as it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JobDrop {
    /// Its id: what it is reserved by.
    pub id: Uuid,
    /// The drop.
    pub kept: DropKept,
}

/// A line of the buying list as it stands.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct JobBuying {
    /// The item; empty until it has arrived what is to be bought.
    pub item: String,
    /// Size as it is read.
    pub size: String,
    /// How much, as it is read.
    pub quantity: String,
    /// Needed by.
    pub needed_by: Option<NaiveDate>,
    /// Arrives on.
    pub arrives_on: Option<NaiveDate>,
    /// It is here, at this place.
    pub here: Option<String>,
    /// Taken off.
    pub removed: bool,
}

impl JobBuying {
    /// It is to be bought, and not here yet.
    #[must_use]
    pub fn is_awaited(&self) -> bool {
        !self.removed && self.here.is_none() && !self.item.is_empty()
    }
}

impl JobBuying {
    pub(crate) fn take(&mut self, change: &BuyChange) {
        match change {
            BuyChange::Wanted { item, size, quantity } => {
                self.item.clone_from(item);
                self.size.clone_from(size);
                self.quantity.clone_from(quantity);
            }
            BuyChange::NeededBy(day) => self.needed_by = *day,
            BuyChange::ArrivesOn(day) => self.arrives_on = *day,
            BuyChange::Here(place) => self.here.clone_from(place),
            BuyChange::Removed(removed) => self.removed = *removed,
        }
    }
}

impl Job {
    /// Whether the job still holds what it reserved under this key: not once the unit was released or handed over,
    /// nor once a way that it was for is another, nor while a go-ahead for a part leaves out all that it is for.
    #[must_use]
    pub fn holds(&self, reserved: &Reserved) -> bool {
        let same = |of: &ForWay| {
            self.ways
                .get(&of.group)
                .is_some_and(|kept| kept.value.way == of.way)
        };
        let part = self.part_given();
        let given = |of: &ForWay| part.is_empty() || part.contains(&of.group);
        let in_work = self.released.is_none() && self.handed_over.is_none();
        let any_given = reserved.ways.is_empty() || reserved.ways.iter().any(given);
        in_work && any_given && reserved.ways.iter().all(same)
    }

    /// The groups of the newest figures of the whole job that have the go-ahead, where only a part of them has it.
    fn part_given(&self) -> &[String] {
        let main = self.asked.iter().filter(|kept| kept.value.found.is_none());
        let newest = main.max_by_key(|kept| kept.at);
        match newest
            .and_then(|kept| self.answer_to(kept))
            .map(|kept| &kept.value)
        {
            Some(Decision::GoAhead { groups, .. }) => groups,
            _ => &[],
        }
    }
}

/// What a job does to a stock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MoveKind {
    /// It reserved it, and has not used it yet.
    Reserved,
    /// Its cuts used it.
    Used,
}

/// One job's taking of one stock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Move {
    /// The job.
    pub job: Uuid,
    /// What the stock is reserved by.
    pub stock: String,
    /// Reserved or used.
    pub kind: MoveKind,
    /// Pieces.
    pub count: u32,
    /// Length of a roll or coil.
    pub length: Length,
    /// Sorts as the reservations came.
    pub order: String,
    /// Who did it.
    pub by: Uuid,
}

/// What each reservation of one stock holds of what there is, in their order: the earliest first, each as much as
/// is left. `there` counts pieces, or nanometres of a roll or coil.
#[must_use]
pub fn hold(there: i64, wanted: &[i64]) -> Vec<i64> {
    let mut left = there.max(0);
    let mut one = |want: &i64| {
        let holds = left.min((*want).max(0));
        left = left.saturating_sub(holds);
        holds
    };
    wanted.iter().map(&mut one).collect()
}

const RESERVED: i64 = 0;
const USED: i64 = 1;
const DROP: i64 = 2;

/// Writes what a job takes, in place of what it took before.
pub(crate) fn write_moves(tx: &Connection, job: &Job) -> Result<()> {
    tx.prepare_cached("DELETE FROM stock_move WHERE job = ?1")?
        .execute([job.id.as_bytes()])?;
    if job.reserved.is_empty() && job.cuts.is_empty() && job.drops.is_empty() {
        return Ok(());
    }
    let mut insert = tx.prepare_cached(
        "INSERT INTO stock_move (job, kind, stock, at, count, length, person, json) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
    )?;
    let id = job.id.as_bytes();
    for (stock, kept) in &job.reserved {
        let of = &kept.value;
        if job.holds(of) {
            let (length, person) = (of.length.nm(), kept.by.as_bytes());
            insert.execute(params![
                id, RESERVED, stock, kept.order, of.count, length, person, ""
            ])?;
        }
    }
    for cut in job.cuts.iter().filter(|cut| !cut.done.stock.is_empty()) {
        let of = &cut.done;
        let (length, person, order) = (of.length.nm(), cut.by.as_bytes(), cut.id.to_string());
        insert.execute(params![id, USED, of.stock, order, of.count, length, person, ""])?;
    }
    for drop in &job.drops {
        let (json, key) = (serde_json::to_string(&drop.kept)?, drop.id.to_string());
        insert.execute(params![id, DROP, key, key, 1, 0, Uuid::nil().as_bytes(), json])?;
    }
    Ok(())
}

impl Store {
    /// What all jobs take, in the order of their reservations. Of used stock one sum a stock, under no job.
    pub fn stock_moves(&self) -> Result<Vec<Move>> {
        self.read(|conn, _| {
            let mut reserved = conn.prepare_cached(
                "SELECT job, stock, count, length, at, person FROM stock_move WHERE kind = 0 ORDER BY at, job",
            )?;
            let rows = reserved.query_map([], |row| {
                Ok(Move {
                    job: Uuid::from_bytes(row.get(0)?),
                    stock: row.get(1)?,
                    kind: MoveKind::Reserved,
                    count: row.get(2)?,
                    length: Length::from_nm(row.get(3)?),
                    order: row.get(4)?,
                    by: Uuid::from_bytes(row.get(5)?),
                })
            })?;
            let mut moves: Vec<Move> = rows.collect::<rusqlite::Result<_>>()?;
            let mut used = conn.prepare_cached(
                "SELECT stock, sum(count), sum(length) FROM stock_move WHERE kind = 1 GROUP BY stock",
            )?;
            let rows = used.query_map([], |row| {
                Ok(Move {
                    job: Uuid::nil(),
                    stock: row.get(0)?,
                    kind: MoveKind::Used,
                    count: row.get(1)?,
                    length: Length::from_nm(row.get(2)?),
                    order: String::new(),
                    by: Uuid::nil(),
                })
            })?;
            for row in rows {
                moves.push(row?);
            }
            Ok(moves)
        })
    }

    /// Drops that jobs kept and no cut has used, in the order they were kept.
    pub fn drops(&self) -> Result<Vec<JobDrop>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached(
                "SELECT d.stock, d.json FROM stock_move AS d WHERE d.kind = 2
                 AND NOT EXISTS (SELECT 1 FROM stock_move AS u WHERE u.kind = 1 AND u.stock = d.stock)
                 ORDER BY d.stock",
            )?;
            let rows =
                statement.query_map([], |row| Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?)))?;
            let mut drops = Vec::new();
            for row in rows {
                let (id, json) = row?;
                if let Ok(id) = id.parse() {
                    drops.push(JobDrop {
                        id,
                        kept: serde_json::from_str(&json)?,
                    });
                }
            }
            Ok(drops)
        })
    }
}
