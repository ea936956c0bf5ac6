//! A job: what its entries fold to. The fold does not depend on order, repetition or delay: for each register
//! the entry with the greatest (at, device, seq) holds, among those whose act is not taken back.

use crate::entry::{
    ArrivalField, ChosenWay, Decision, Entry, Hold, Measured, OfficeField, OnHand, PhotoOf, PhotoWhen,
    PlanField, PlanValue, ProofAnswer, Release, Roll, RoofOffField, Sublet,
};
use crate::on_photo::{ClockSeen, MarkSide, PairTaps, PhotoScale, PhotoShape, SizedBy, UnitView};
use crate::stock::{HoleAt, JobBuying, JobCut, JobDrop, JobReserved};
use bowseam_figures::mark::{Age, DamageKind, Part, Place, Surface};
use bowseam_figures::measure::Length;
use chrono::{DateTime, NaiveDateTime, Utc};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use ts_rs::TS;
use uuid::Uuid;

/// The job that these entries make. They may come in any order and repeatedly, and need not be all: what is
/// missing is filled in when it arrives. Entries of other jobs are left out.
#[must_use]
pub fn fold(id: Uuid, entries: &[Entry]) -> Job {
    let mut registers = crate::fold::Registers::default();
    for entry in entries.iter().filter(|entry| entry.job == id) {
        registers.add(entry.clone());
    }
    registers.job(id)
}

/// A value with who set it and when.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Kept<T> {
    /// The value.
    pub value: T,
    /// Who set it.
    pub by: Uuid,
    /// When, by the clock of the device that wrote it.
    pub at: DateTime<Utc>,
    /// The entry that did.
    pub entry: Uuid,
}

/// Stages of a job, in the shop's words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// Opened, being marked.
    Marked,
    /// A way is chosen or figures were sent.
    Figured,
    /// The newest figures for the whole job have the office's go-ahead.
    GoAhead,
    /// Work has begun.
    InTheBay,
    /// Proof is complete.
    Proved,
    /// Handed over.
    HandedOver,
    /// The newest figures for the whole job were sent back, and work has not begun.
    SentBack,
    /// On hold.
    OnHold,
}

/// One job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Job {
    /// Its id.
    pub id: Uuid,
    /// The unit's number: as corrected on Arrival, else as it was opened for; empty if neither is there yet.
    pub unit: String,
    /// Opened, with the unit's number.
    pub opened: Option<Kept<String>>,
    /// Fields of Arrival.
    pub arrival: BTreeMap<ArrivalField, Kept<String>>,
    /// Measures of the body.
    pub plan: BTreeMap<PlanField, Kept<PlanValue>>,
    /// May it roll?
    pub roll: Option<Kept<Roll>>,
    /// Surfaces looked at.
    pub looked: BTreeSet<Surface>,
    /// In the order they were made.
    pub marks: Vec<JobMark>,
    /// In the order they were added.
    pub photos: Vec<JobPhoto>,
    /// The ways chosen, by group.
    pub ways: BTreeMap<String, Kept<ChosenWay>>,
    /// Figures sent, oldest first.
    pub asked: Vec<Kept<Asked>>,
    /// By hash of the figures they answer; a decision is an answer only to those figures.
    pub decided: BTreeMap<String, Kept<Decision>>,
    /// On hold.
    pub hold: Option<Kept<Hold>>,
    /// Roof-off check: things, by name.
    pub on_hand: BTreeMap<String, Kept<OnHand>>,
    /// Roof-off check: people, dry hours, cover.
    pub roof_off: BTreeMap<RoofOffField, Kept<String>>,
    /// A no-go was overruled, with the reason.
    pub overruled: Option<Kept<String>>,
    /// The roof was opened.
    pub roof_opened: Option<Kept<bool>>,
    /// Stock and drops reserved, by what they are reserved by.
    #[serde(default)]
    pub reserved: BTreeMap<String, JobReserved>,
    /// Cuts done, in the order they were done.
    #[serde(default)]
    pub cuts: Vec<JobCut>,
    /// Drops kept, in the order of their ids.
    #[serde(default)]
    pub drops: Vec<JobDrop>,
    /// Lines of the buying list.
    #[serde(default)]
    pub buying: BTreeMap<String, JobBuying>,
    /// Holes that are there already, by line of rivets.
    #[serde(default)]
    pub holes: BTreeMap<String, Kept<Vec<HoleAt>>>,
    /// Steps that have a record, by name.
    pub steps: BTreeMap<String, StepState>,
    /// What was found more, in the order it was found.
    pub found: Vec<JobFound>,
    /// Rows of Proof.
    pub proof: BTreeMap<String, Kept<ProofAnswer>>,
    /// Released.
    pub released: Option<Kept<Release>>,
    /// Handed over.
    pub handed_over: Option<Kept<bool>>,
    /// What the office wrote on it.
    #[serde(default)]
    pub office: BTreeMap<OfficeField, Kept<String>>,
    /// Work given out of the house.
    #[serde(default)]
    pub sublets: BTreeMap<Uuid, Kept<Sublet>>,
    /// Notes for the next shift, oldest first.
    #[serde(default)]
    pub notes: Vec<(Uuid, Kept<String>)>,
    /// Who is put on the job.
    #[serde(default)]
    pub on_job: BTreeSet<Uuid>,
    /// Why it was opened again after its release, oldest first.
    #[serde(default)]
    pub reopened: Vec<Kept<String>>,
    /// Two people changed the same thing without seeing each other's change.
    pub clashes: Vec<Clash>,
    /// How many entries of kinds that this program does not know.
    pub not_known: u32,
    /// The stage.
    pub stage: Stage,
    /// When the last entry was written.
    pub last: Option<DateTime<Utc>>,
}

/// A mark as it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JobMark {
    /// Its id.
    pub id: Uuid,
    /// Where it sits.
    pub place: Place,
    /// What is wrong.
    pub kind: DamageKind,
    /// The part it is on.
    pub part: Part,
    /// Old damage or new.
    pub age: Age,
    /// A remark.
    pub note: String,
    /// How deep, or how far out of line.
    #[serde(default)]
    pub depth: Option<Length>,
    /// The *found more* it belongs to.
    pub found: Option<Uuid>,
    /// Sides whose size came from a photo when it was last set so.
    #[serde(default)]
    pub sized: BTreeMap<MarkSide, SizedBy>,
    /// Who made it.
    pub by: Uuid,
    /// When it was made.
    pub at: DateTime<Utc>,
}

/// A photo as it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JobPhoto {
    /// SHA-256 of the original, 64 hexadecimal digits.
    pub sha256: String,
    /// What it shows.
    pub of: PhotoOf,
    /// Before, during or after.
    pub when: PhotoWhen,
    /// Which view of the unit, where somebody said it.
    #[serde(default)]
    pub view: Option<UnitView>,
    /// The file's name.
    pub name: String,
    /// Size of the original in bytes.
    pub bytes: u64,
    /// When it was taken, by the camera's clock.
    pub taken: Option<NaiveDateTime>,
    /// The clock of the phone that added it beside the office's, as it was last compared before.
    #[serde(default)]
    pub clock: Option<ClockSeen>,
    /// Its file says where it was taken.
    #[serde(default)]
    pub placed: bool,
    /// Who added it.
    pub by: Uuid,
    /// When it was added.
    pub at: DateTime<Utc>,
    /// A thing of known size in it, and what was measured from it.
    #[serde(default)]
    pub scale: Option<Kept<PhotoScale>>,
    /// Points that it shares with a before photo.
    #[serde(default)]
    pub aligned: Option<Kept<PairTaps>>,
    /// What is drawn over it, in the order it was drawn.
    #[serde(default)]
    pub shapes: Vec<PhotoShape>,
}

impl Job {
    /// The office's answer to figures that were asked. What was sent back and asked again, unchanged, with the question
    /// answered, waits for its answer anew.
    #[must_use]
    pub fn answer_to(&self, asked: &Kept<Asked>) -> Option<&Kept<Decision>> {
        let again = |kept: &&Kept<Decision>| match kept.value {
            Decision::SentBack { .. } => kept.at >= asked.at,
            Decision::GoAhead { .. } => true,
        };
        self.decided.get(&asked.value.hash).filter(again)
    }
}

impl JobMark {
    /// Where the size of a side came from, if it came from a photo and nobody entered another since.
    #[must_use]
    pub fn from_photo(&self, side: MarkSide) -> Option<&SizedBy> {
        let place = self.place;
        let now = match side {
            MarkSide::Along => place.to.minus(place.from),
            MarkSide::Across => place.high.minus(place.low),
        };
        self.sized.get(&side).filter(|by| by.length.value == now)
    }
}

/// Figures sent for a go-ahead.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Asked {
    /// SHA-256 of their canonical JSON.
    pub hash: String,
    /// The figures.
    pub figures: serde_json::Value,
    /// The *found more* they are for; `None`: the whole job.
    pub found: Option<Uuid>,
    /// What was said with it.
    #[serde(default)]
    pub note: String,
}

/// A step's record.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct StepState {
    /// Done, or open again.
    pub done: Option<Kept<bool>>,
    /// Seconds on the step so far, closed stretches only; two people an hour each are 7 200.
    pub seconds: u64,
    /// On since, and who: of those who are on, the one who came last.
    pub on: Option<Kept<bool>>,
    /// Everyone who is on, by person, and since when.
    #[serde(default)]
    pub people_on: BTreeMap<Uuid, DateTime<Utc>>,
    /// Measured values, by name.
    pub values: BTreeMap<String, Kept<Measured>>,
}

/// A *found more*.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JobFound {
    /// Its id.
    pub id: Uuid,
    /// What was found, in one line.
    pub line: String,
    /// At which step.
    pub step: String,
    /// Who found it.
    pub by: Uuid,
    /// When.
    pub at: DateTime<Utc>,
}

/// Two changes to one thing, neither seen by the other's writer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Clash {
    /// What both wrote: [`crate::entry::What::register`].
    pub register: String,
    /// The entry that holds.
    pub holds: Uuid,
    /// Its person.
    pub held_by: Uuid,
    /// The entry that does not.
    pub lost: Uuid,
    /// Its person.
    pub lost_by: Uuid,
}
