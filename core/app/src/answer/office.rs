//! What the office's pages get back.

#![allow(
    missing_docs,
    reason = "the name of a field says what it is; where it does not, a comment does"
)]

use super::{Arrival, Figures, FoldOutView, FoundMore, Head, Photo, YardRow};
use bowseam_figures::estimate::Estimate;
use bowseam_jobs::{
    entry::{OfficeField, Sublet},
    people::Qualification,
};
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use ts_rs::TS;
use uuid::Uuid;

/// Whom or what a job waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum WaitFor {
    /// The office's answer.
    Office,
    Parts,
    People,
    Weather,
    /// Somebody else's answer.
    Answer,
    /// Work that was given out of the house.
    Sublet,
    /// A bay that is free.
    Bay,
}

/// One thing that a job waits for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Wait {
    #[serde(rename = "for")]
    pub what: WaitFor,
    pub words: String,
    /// The day it is expected, where somebody was told one.
    pub day: Option<NaiveDate>,
}

/// The office's jobs.
#[derive(Debug, Clone, Serialize, TS)]
pub struct OfficeList {
    /// What waits for an answer first, then by promised day; those that left the newest first.
    pub rows: Vec<YardRow>,
    pub more: bool,
    pub open: u64,
    pub left: u64,
    /// Jobs whose day is being worked out: the list is asked for again.
    pub not_figured: u32,
    /// Changes of phones that were taken back, kept apart: somebody has to look at them.
    pub apart: u64,
    /// The day it is, to tell what is late.
    pub today: NaiveDate,
}

/// Work given out of the house.
#[derive(Debug, Clone, Serialize, TS)]
pub struct SubletRow {
    pub id: Uuid,
    pub sublet: Sublet,
    pub by: String,
    /// Wanted back before today, and not back.
    pub late: bool,
}

/// A note for the next shift.
#[derive(Debug, Clone, Serialize, TS)]
pub struct NoteRow {
    pub id: Uuid,
    pub text: String,
    pub by: String,
    pub at: DateTime<Utc>,
    /// Written by who is signed in.
    pub own: bool,
}

/// Another job of the same unit.
#[derive(Debug, Clone, Serialize, TS)]
pub struct HistoryRow {
    pub row: YardRow,
    pub left_on: Option<NaiveDate>,
    /// Within the shop's warranty when this job came in.
    pub in_warranty: bool,
    /// This job is its comeback.
    pub comeback: bool,
    /// What was done, in words.
    pub done: Vec<String>,
}

/// Two values of one thing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, TS)]
pub struct ClashRow {
    /// The sentence, as in `Head.clashes`.
    pub words: String,
    /// What both wrote, as the screens name it: `arrival/slot`, `mark/ID/place`, `step/KEY/measured/VALUE`.
    pub register: String,
    pub holds: Uuid,
    pub holds_words: String,
    pub lost: Uuid,
    pub lost_words: String,
}

/// One job for the office.
#[derive(Debug, Clone, Serialize, TS)]
pub struct OfficeJob {
    pub head: Head,
    pub arrival: Arrival,
    pub fold_out: FoldOutView,
    pub figures: Figures,
    /// The figures as asked: these are what a go-ahead answers.
    pub asked: Option<Estimate>,
    pub asked_hash: Option<String>,
    pub asked_by: Option<String>,
    pub found: Vec<FoundMore>,
    /// What others changed since this person's last look, newest first.
    pub lines_since: Vec<String>,
    /// The newest entry, for `looked`.
    pub newest: i64,
    pub photos: Vec<Photo>,
    pub waits: Vec<Wait>,
    /// Who is put on it or on a step now.
    pub on_it: Vec<Uuid>,
    pub fields: Vec<super::Field<OfficeField>>,
    pub sublets: Vec<SubletRow>,
    pub notes: Vec<NoteRow>,
    pub history: Vec<HistoryRow>,
    /// Warranty by the shop's rule, in words.
    pub warranty: String,
    /// What lacks before the release.
    pub lacks: Vec<String>,
    /// Why the signed-in person may not release; nothing: may.
    pub may_not_release: Option<String>,
    pub released: Option<String>,
    pub handed_over: Option<String>,
    pub keep_until: String,
    /// The keeping time is over: keeping on or letting go is the shop's choice.
    pub keep_over: bool,
    /// When and why it was opened again after a release, in words.
    pub reopened: Vec<String>,
    /// The other job that waits for the office's answer, an open unit first, then by how long it waits.
    pub next: Option<YardRow>,
}

/// People of the shop.
#[derive(Debug, Clone, Serialize, TS)]
pub struct PeopleView {
    pub people: Vec<PersonRow>,
    /// What the shop should look at, in words.
    pub remarks: Vec<String>,
}

/// Somebody.
#[derive(Debug, Clone, Serialize, TS)]
pub struct PersonRow {
    pub id: Uuid,
    pub name: String,
    pub roles: Vec<String>,
    pub qualified: Vec<QualifiedRow>,
    pub has_pin: bool,
    pub has_password: bool,
    pub ended: Option<DateTime<Utc>>,
    /// Who is signed in.
    pub me: bool,
}

/// A qualification as it stands.
#[derive(Debug, Clone, Serialize, TS)]
pub struct QualifiedRow {
    #[serde(rename = "for")]
    pub what: Qualification,
    pub until: Option<NaiveDate>,
    pub note: String,
    /// It counts today.
    pub counts: bool,
    /// That it ran out, or will soon, in words.
    pub remark: Option<String>,
}

/// Phones.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Phones {
    pub phones: Vec<PhoneRow>,
}

/// A phone that was made known.
#[derive(Debug, Clone, Serialize, TS)]
pub struct PhoneRow {
    pub device: Uuid,
    pub name: String,
    pub since: DateTime<Utc>,
    pub last_heard: Option<DateTime<Utc>>,
    pub taken_back: bool,
    pub taken_back_at: Option<DateTime<Utc>>,
    /// Changes kept apart, and of how many jobs.
    pub apart: u64,
    pub apart_jobs: u64,
    /// What they are, in words, a few of them.
    pub apart_words: Vec<String>,
}

/// A code for a new phone, in three forms.
#[derive(Debug, Clone, Serialize, TS)]
pub struct NewCode {
    pub code: String,
    /// The same as words that can be said and typed.
    pub words: String,
    /// The same with the office's address, as a QR code (SVG); nothing without an address.
    pub qr: Option<String>,
    pub until: DateTime<Utc>,
}

/// What the shop could learn.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Learned {
    pub rows: Vec<LearnRow>,
    pub material: Vec<Material>,
    /// What was taken or left before, newest first.
    pub before: Vec<Taught>,
    /// Finished jobs that were looked at, and those still being worked out.
    pub jobs: u32,
    pub not_figured: u32,
    /// How it is worked out, in words.
    pub how: String,
}

/// Hours of one task over finished jobs.
#[derive(Debug, Clone, Serialize, TS)]
pub struct LearnRow {
    /// Its key in the shop book.
    pub task: String,
    pub name: String,
    /// How many jobs.
    pub n: u32,
    /// Used over figured: the middle one, the middle distance from it, the range that holds the true middle.
    pub median: String,
    pub mad: String,
    pub low: Option<String>,
    pub high: Option<String>,
    /// At least this share of cases the range holds it.
    pub surely: Option<String>,
    /// The shop book's value and what is proposed; none where the evidence is too thin or says nothing else.
    pub was: String,
    pub proposed: Option<String>,
    pub words: String,
    /// Job by job.
    pub evidence: Vec<String>,
    /// It was left with as much evidence as there is now.
    pub left: bool,
}

/// Material of one item over finished jobs.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Material {
    pub item: String,
    pub n: u32,
    pub median: String,
    pub mad: String,
    pub words: String,
    pub evidence: Vec<String>,
}

/// What was decided about a proposal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Taught {
    pub task: String,
    pub name: String,
    pub was: String,
    pub now: String,
    pub n: u32,
    pub taken: bool,
    pub by: String,
    pub at: DateTime<Utc>,
}
