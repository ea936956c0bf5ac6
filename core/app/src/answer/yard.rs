//! What the lists of jobs get back: Yard's and the office's have the same rows.

#![allow(
    missing_docs,
    reason = "the name of a field says what it is; where it does not, a comment does"
)]

use super::Wait;
use bowseam_jobs::{entry::Roll, job::Stage};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use ts_rs::TS;
use uuid::Uuid;

/// Rows of Yard, newest first.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Yard {
    pub rows: Vec<YardRow>,
    pub more: bool,
}

/// One job in the yard.
#[derive(Debug, Clone, Serialize, Deserialize, TS)]
pub struct YardRow {
    pub job: Uuid,
    pub unit: String,
    pub stage: Stage,
    pub waits_for: String,
    pub marks: u32,
    pub photos: u32,
    pub roll: Option<Roll>,
    pub slot: Option<String>,
    pub last: Option<DateTime<Utc>>,
    pub total: Option<String>,
    /// So many places wait for the maker and have no price in it yet.
    #[serde(default)]
    pub unpriced: u32,
    /// The day it is promised for.
    pub promise: Option<String>,
    /// A photo of the unit to know it by.
    pub photo: Option<String>,
    /// Not yet at the office: entries and photos.
    pub waiting: u32,
    /// What it waits for, kind by kind, with the day it is expected.
    pub waits: Vec<Wait>,
    /// Who is on it.
    pub on_it: Vec<String>,
    /// For the office: figures wait for an answer, a found more among them (it comes first).
    pub asks: bool,
    pub asks_found: bool,
    /// Since when the longest of these waits.
    pub asked_since: Option<DateTime<Utc>>,
    /// Its roof stands open: an answer to it comes before others.
    pub roof_open: bool,
    /// The work takes the roof off: the Roof-off check comes before its steps.
    pub opens_roof: bool,
    /// Not figured yet: only unit, stage, slot, counts and time are told, and the list is asked for again.
    pub later: bool,
}
