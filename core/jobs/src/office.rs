//! What the office and the people on a job add to it beside the work itself: its answers, holds, numbers of the payer,
//! sublet work, who is on it.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// The office's answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case", tag = "answer")]
pub enum Decision {
    /// Go-ahead.
    GoAhead {
        /// The amount agreed, a decimal as text; nothing: as figured. Of a part up to a ceiling: what it came to then.
        amount: Option<String>,
        /// A remark.
        note: String,
        /// For these groups alone; empty: for all.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        groups: Vec<String>,
        /// What is given must not come to more than this, a decimal as text; changed figures of the same ways need no new
        /// answer up to it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        ceiling: Option<String>,
    },
    /// Sent back.
    SentBack {
        /// What has to change.
        note: String,
    },
}

/// Why a job is on hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum HoldWhy {
    /// Parts are missing.
    Parts,
    /// The weather.
    Weather,
    /// People are missing.
    People,
    /// Somebody's answer.
    Answer,
}

/// On hold.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Hold {
    /// Why.
    pub why: HoldWhy,
    /// A remark.
    pub note: String,
}

/// What the office writes on a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum OfficeField {
    /// The payer's order number.
    PayerOrder,
    /// The insurer's number.
    Insurer,
    /// How the driver's report was closed (49 CFR 396.11): `repaired` or `not_needed`.
    ReportClosed,
    /// The job that this one is a comeback of: its id.
    ComebackOf,
    /// `paid` by the payer, or done under `warranty`.
    Warranty,
    /// After the keeping time: `keep` or `let_go`.
    Retain,
}

/// Work given out of the house.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Sublet {
    /// What is done, as in `weld crossmember 12`.
    pub work: String,
    /// Who does it.
    pub who: String,
    /// The day it goes out, or they come.
    pub out_on: Option<NaiveDate>,
    /// The day it is wanted back.
    pub back_on: Option<NaiveDate>,
    /// It is done.
    pub back: bool,
}
