//! What Ways to fix and Figures get back.

#![allow(
    missing_docs,
    reason = "the name of a field says what it is; where it does not, a comment does"
)]

use super::{Field, FoundRow, Head};
use bowseam_figures::{
    crew_plan::InBay,
    estimate::{Changed, Estimate},
    retire::RepairOrRetire,
    ways::Choice,
    whole::WholeJob,
};
use bowseam_jobs::entry::{ArrivalField, ChosenWay};
use chrono::{DateTime, Utc};
use serde::Serialize;
use ts_rs::TS;

/// Ways to fix.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Ways {
    pub head: Head,
    pub choices: Vec<Choice>,
    /// Ways for the whole job at once.
    pub whole: WholeJob,
    pub chosen: Vec<Chosen>,
    pub lacks: Vec<String>,
    /// What would come out otherwise at the far end of a size that came from a photo.
    pub doubts: Vec<String>,
}

/// What was chosen for a group, and by whom.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Chosen {
    pub group: String,
    pub way: ChosenWay,
    pub by: String,
}

/// Figures with their go-ahead.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Figures {
    pub head: Head,
    /// Nothing until a way is chosen for at least one group.
    pub estimate: Option<Estimate>,
    pub hash: Option<String>,
    pub go_ahead: GoAhead,
    /// Found more and their supplements.
    pub supplements: Vec<FoundRow>,
    /// Main figures and agreed supplements together.
    pub agreed_total: Option<String>,
    /// Time in the bay of all that is agreed, or figured while nothing is, by the crew plan.
    pub in_bay: Option<InBay>,
    /// What is given, where that is a part of these figures.
    pub given: Option<PartGiven>,
    /// Groups without a way, in words.
    pub lacks: Vec<String>,
    /// Figures that were asked, the newest first, and as they are now.
    pub versions: Vec<Version>,
    /// The unit's value, to be entered.
    pub unit_value: Field<ArrivalField>,
    /// The repair against the unit's value; none before the value is entered.
    pub retire: Option<RepairOrRetire>,
}

/// What of the figures has the go-ahead, where that is not just all of them: a part, another sum, up to a ceiling.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, TS)]
pub struct PartGiven {
    /// The sum that was given.
    pub amount: String,
    pub titles: Vec<String>,
    /// What has no go-ahead, and what it would add.
    pub waits: Vec<String>,
    pub waits_amount: String,
    /// Up to where changed figures of the same ways need no new answer, and how far the figures are from it.
    pub ceiling: Option<String>,
    pub under_ceiling: Option<String>,
}

/// One version of the figures.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, TS)]
pub struct Version {
    /// SHA-256; empty for the figures as they are now.
    pub hash: String,
    pub total: String,
    /// Who asked; none for the figures as they are now.
    pub by: Option<String>,
    pub at: Option<DateTime<Utc>>,
    /// What the office said, in words; empty without an answer.
    pub answer: String,
}

/// Where the figures stand with the office.
#[derive(Debug, Clone, Serialize, TS)]
pub struct GoAhead {
    /// `none`, `asked`, `go_ahead`, `sent_back`, `stale` (asked or agreed for other figures than these).
    pub state: String,
    pub words: String,
    pub by: Option<String>,
    pub at: Option<DateTime<Utc>>,
    pub amount: Option<String>,
    pub note: Option<String>,
    /// The groups that have it; empty: all.
    pub groups: Vec<String>,
    /// What is given must not come to more than this: changed figures of the same ways need no new answer up to it.
    pub ceiling: Option<String>,
    /// How far changed figures of the same ways are above it.
    pub over: Option<String>,
    pub changed: Vec<Changed>,
}
