//! What the screens of material get back: Cut list, Roof-off check, Buying list, and when the unit is promised.

#![allow(
    missing_docs,
    reason = "the name of a field says what it is; where it does not, a comment does"
)]

use super::Head;
use bowseam_figures::{
    basis::Basis,
    cut_plan::{LeastStock, StockPlan},
    measure::Length,
};
use bowseam_jobs::entry::RoofOffField;
use chrono::{DateTime, Utc};
use serde::Serialize;
use ts_rs::TS;
use uuid::Uuid;

/// Cut list.
#[derive(Debug, Clone, Serialize, TS)]
pub struct CutListView {
    pub head: Head,
    pub plans: Vec<CutPlan>,
    /// Item by item, how good the plans are.
    pub proofs: Vec<LeastStock>,
    pub reserved: Vec<ReservedRow>,
    /// The list takes other stock than is reserved.
    pub to_reserve: bool,
    /// Lines of the buying list that are not here yet.
    pub buying: u32,
    pub done: Vec<CutDoneRow>,
    pub rivets: Vec<RivetLineView>,
    /// The shop's values that the plans rest on.
    pub basis: Vec<Basis>,
    pub why_not: Option<String>,
}

/// How one piece of stock is cut, and where it stands.
#[derive(Debug, Clone, Serialize, TS)]
pub struct CutPlan {
    pub plan: StockPlan,
    /// Reserved for this job.
    pub reserved: bool,
    /// It was bought and is here, at this place.
    pub here: Option<String>,
}

/// Stock that this job reserved.
#[derive(Debug, Clone, Serialize, TS)]
pub struct ReservedRow {
    pub name: String,
    pub place: String,
    pub amount: String,
    /// No other job was earlier.
    pub held: bool,
    /// Free again: the unit was released, or its ways are others.
    pub free: bool,
    /// The list still takes it.
    pub wanted: bool,
    pub remark: Option<String>,
    pub by: String,
    pub at: DateTime<Utc>,
}

/// A cut that was done.
#[derive(Debug, Clone, Serialize, TS)]
pub struct CutDoneRow {
    pub cut: Uuid,
    pub item: String,
    pub from: String,
    pub pieces: Vec<String>,
    pub left: Vec<LeftRow>,
    pub remark: Option<String>,
    pub by: String,
    pub at: DateTime<Utc>,
}

/// A left-over worth keeping.
#[derive(Debug, Clone, Serialize, TS)]
pub struct LeftRow {
    pub left: u32,
    pub size: String,
    /// Where its stock lay: offered as the drop's place.
    pub place: String,
    pub count: u32,
    /// Places of those that were kept.
    pub kept: Vec<String>,
}

/// Holes along one line, from one hook.
#[derive(Debug, Clone, Serialize, TS)]
pub struct RivetLineView {
    pub key: String,
    pub title: String,
    /// Where the tape hooks on.
    pub hook: String,
    pub length: Length,
    pub holes: Vec<HoleView>,
    /// Counts by kind, in words.
    pub words: String,
    /// Holes that were measured, as typed.
    pub measured: String,
    pub warnings: Vec<String>,
    pub basis: Vec<Basis>,
}

/// One hole.
#[derive(Debug, Clone, Serialize, TS)]
pub struct HoleView {
    pub at: Length,
    /// `new`, `reused`, `next_size`, `closed` (not used: close or cover it).
    pub state: String,
}

/// Roof-off check.
#[derive(Debug, Clone, Serialize, TS)]
pub struct RoofOff {
    pub head: Head,
    pub needed: bool,
    pub why_not_needed: Option<String>,
    pub go: bool,
    pub rows: Vec<RoofOffRow>,
    /// Material by shelf place, to be answered in one walk; rows by their key.
    pub shelves: Vec<Shelf>,
    pub lacks: Vec<String>,
    pub overruled: Option<String>,
    pub may_overrule: bool,
    pub opened: Option<DateTime<Utc>>,
}

/// What lies at one shelf place; no place where it is not known yet.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Shelf {
    pub place: String,
    /// Not in stock: what lies here has to be bought first.
    pub to_buy: bool,
    pub rows: Vec<String>,
    /// Rows that are not answered yet.
    pub open: Vec<String>,
}

/// One row of the Roof-off check: an item on hand with its place, or one of the entered fields.
#[derive(Debug, Clone, Serialize, TS)]
pub struct RoofOffRow {
    pub key: String,
    pub title: String,
    pub wanted: String,
    pub field: Option<RoofOffField>,
    pub have: Option<bool>,
    pub place: String,
    pub value: String,
    /// Where stock has it, offered as the place.
    pub stock_place: Option<String>,
    pub ok: bool,
    pub remark: Option<String>,
    pub by: Option<String>,
}

/// Buying list.
#[derive(Debug, Clone, Serialize, TS)]
pub struct BuyingList {
    pub head: Head,
    pub rows: Vec<BuyRow>,
    /// The rows that are not here yet, as CSV.
    pub csv: String,
    pub promise: Promise,
    pub why_not: Option<String>,
}

/// A line of the buying list.
#[derive(Debug, Clone, Serialize, TS)]
pub struct BuyRow {
    pub line: String,
    pub item: String,
    pub size: String,
    pub quantity: String,
    pub needed_by: Option<String>,
    pub arrives_on: Option<String>,
    /// It is here, at this place.
    pub here: Option<String>,
    /// The figures or the check still want it; of a line that was typed in: always.
    pub wanted: bool,
    /// Typed in by a person.
    pub own: bool,
}

/// When the unit is promised, with the working; no day while something lacks.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Promise {
    pub day: Option<String>,
    /// The jobs that have the bays before it, in words; empty where one is free.
    pub waits: String,
    pub words: String,
    pub basis: Vec<Basis>,
}
