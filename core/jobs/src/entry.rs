//! Entries: every change anyone makes is one, and none is ever changed or deleted. A job is what its
//! entries fold to ([`crate::job`]), whatever order they arrive in and however often.
//!
//! A kind that was ever stored must stay readable: fields may be added with `#[serde(default)]`, never renamed.

pub use crate::office::{Decision, Hold, HoldWhy, OfficeField, Sublet};
use crate::on_photo::{MarkSide, SizedBy};
pub use crate::on_photo::{PhotoChange, PhotoOf, PhotoWhen};
use crate::stock::{BuyChange, CutDone, DropKept, HoleAt, Reserved};
use bowseam_figures::{
    mark::{Age, DamageKind, Part, Place, Surface},
    measure::Length,
};
use serde::{Deserialize, Serialize};
use ts_rs::TS;
use uuid::Uuid;

/// One recorded change.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// UUIDv7, made on the device that wrote it.
    pub id: Uuid,
    /// The job it belongs to.
    pub job: Uuid,
    /// Entries saved together by one act of a person share it; undo takes back whole acts.
    pub act: Uuid,
    /// The device that wrote it.
    pub device: Uuid,
    /// Counts the device's entries from 1 without gaps.
    pub seq: u64,
    /// Hybrid logical time, text that sorts as the times do: see [`crate::clock`].
    pub at: String,
    /// Who did it.
    pub person: Uuid,
    /// The entry that held the same [`What::register`] when this was written: two that saw the same one clash.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub saw: Option<Uuid>,
    /// The newest of the register that its writer had beside `saw`: what had lost to it, or was taken back.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub also: Vec<Uuid>,
    /// The change.
    pub what: What,
}

/// What changed. `None` in an optional value takes the value away again.
///
/// Read and written by hand-written `Serialize` and `Deserialize` (in [`crate::kinds`]) around the derived
/// ones, so that what this program does not know is kept as it came.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", remote = "Self")]
pub enum What {
    /// The job was opened for a unit.
    Opened {
        /// The unit's number, as painted on it.
        unit: String,
    },
    /// One field of Arrival.
    Arrival {
        /// Which field.
        field: ArrivalField,
        /// Its value, as entered.
        value: Option<String>,
    },
    /// One measure of the unit's body.
    Plan {
        /// Which measure.
        field: PlanField,
        /// Its value.
        value: Option<PlanValue>,
    },
    /// May it roll?
    Roll {
        /// The answer, by the person of the entry.
        answer: Option<Roll>,
    },
    /// A surface was looked at on the walk round.
    Looked {
        /// The surface.
        surface: Surface,
        /// Looked at, or not after all.
        seen: bool,
    },
    /// One mark, one field of it.
    Mark {
        /// The mark.
        mark: Uuid,
        /// The field and its value.
        change: MarkChange,
    },
    /// One photo, by the SHA-256 of its original.
    Photo {
        /// 64 lower-case hexadecimal digits.
        sha256: String,
        /// What happened to it.
        change: PhotoChange,
    },
    /// The way chosen for what is fixed together.
    Way {
        /// What is fixed together.
        group: String,
        /// The way.
        chosen: Option<ChosenWay>,
    },
    /// Figures frozen and sent for a go-ahead; `hash` is the SHA-256 of their canonical JSON.
    Asked {
        /// 64 lower-case hexadecimal digits.
        hash: String,
        /// The figures, as hashed.
        figures: serde_json::Value,
        /// The *found more* they are for; `None`: the whole job.
        found: Option<Uuid>,
        /// What the office asked when it sent them back, answered.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        note: String,
    },
    /// The office's answer to figures with this hash.
    Decided {
        /// The hash of the figures that are answered.
        hash: String,
        /// The answer.
        decision: Decision,
    },
    /// On hold, and why.
    Held {
        /// Why; `None`: no longer.
        hold: Option<Hold>,
    },
    /// Roof-off check: one thing on hand, with its shelf place.
    OnHand {
        /// The thing.
        item: String,
        /// Whether it is there, and where.
        on_hand: Option<OnHand>,
    },
    /// Roof-off check: people, dry hours, cover.
    RoofOff {
        /// Which of them.
        field: RoofOffField,
        /// As entered.
        value: Option<String>,
    },
    /// A supervisor overruled a no-go.
    Overruled {
        /// Why.
        reason: Option<String>,
    },
    /// The roof was opened after the check.
    RoofOpened {
        /// Opened, or not after all.
        opened: bool,
    },
    /// Stock or a drop is reserved for the job, so that no other takes it.
    Reserved {
        /// What the stock is reserved by.
        stock: String,
        /// How much of it, and what for; `None`: free again.
        reserved: Option<Reserved>,
    },
    /// A cut of the cut list was done.
    Cut {
        /// The cut.
        cut: Uuid,
        /// What was cut from what; `None`: not done after all.
        done: Option<CutDone>,
    },
    /// A left-over was kept as a drop.
    Drop {
        /// The drop.
        drop: Uuid,
        /// What it is and where it lies; `None`: not kept after all.
        kept: Option<DropKept>,
    },
    /// One line of the buying list, one field of it.
    Buying {
        /// The line.
        line: String,
        /// The field and its value.
        change: BuyChange,
    },
    /// The holes that are there already on a line of rivets.
    Holes {
        /// The line.
        line: String,
        /// The holes; `None`: as figured.
        holes: Option<Vec<HoleAt>>,
    },
    /// Time on (`true`) or off a step.
    Time {
        /// The step.
        step: String,
        /// On, or off.
        on: bool,
    },
    /// A step is done, or open again.
    StepDone {
        /// The step.
        step: String,
        /// Done, or open again.
        done: bool,
    },
    /// A measured value at a step; out of tolerance it carries a reason.
    Measured {
        /// The step.
        step: String,
        /// Which value of the step.
        value: String,
        /// What was measured.
        measured: Option<Measured>,
    },
    /// A *found more*, one field of it.
    Found {
        /// The *found more*.
        found: Uuid,
        /// The field and its value.
        change: FoundChange,
    },
    /// One row of Proof.
    Proof {
        /// The row.
        row: String,
        /// Its answer.
        answer: Option<ProofAnswer>,
    },
    /// Released by someone who may.
    Released {
        /// The release; `None` takes it back.
        release: Option<Release>,
    },
    /// The packet was handed over.
    HandedOver {
        /// Handed over, or not after all.
        handed_over: bool,
    },
    /// One thing that the office writes on the job.
    Office {
        /// Which.
        field: OfficeField,
        /// Its value, as entered.
        value: Option<String>,
    },
    /// Work given out of the house.
    Sublet {
        /// The piece of work.
        sublet: Uuid,
        /// What, by whom, when; `None`: not after all.
        work: Option<Sublet>,
    },
    /// A note for the next shift.
    Note {
        /// The note.
        note: Uuid,
        /// What it says; `None`: taken off.
        text: Option<String>,
    },
    /// Somebody is on the job, or not any more.
    OnJob {
        /// Who.
        on: Uuid,
        /// On it.
        put: bool,
    },
    /// A released job was opened again; the same act takes release and handover back.
    Reopened {
        /// Why.
        reason: String,
    },
    /// An act was taken back, or put back again.
    Undone {
        /// The act.
        act: Uuid,
        /// Taken back, or put back.
        undone: bool,
    },
    /// A kind from a newer program: kept as it came, and shown as such.
    #[serde(skip)]
    NotKnown(serde_json::Value),
}

/// Fields of Arrival.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum ArrivalField {
    /// Unit number, where the one it was opened for was wrong.
    Unit,
    /// VIN.
    Vin,
    /// Licence plate.
    Plate,
    /// Body type.
    BodyType,
    /// Manufacture date.
    Built,
    /// Date of the last annual inspection.
    Inspected,
    /// Yard slot.
    Slot,
    /// Who found the damage.
    FoundBy,
    /// When it was found.
    FoundAt,
    /// The driver's account.
    Account,
    /// Claim or order number.
    Order,
    /// Who pays.
    Payer,
    /// What the unit is worth, an amount.
    Value,
    /// Loaded, empty or sealed.
    Load,
    /// Seal number.
    Seal,
    /// By whom the seal was opened, when and on whose word, and the new seal.
    SealOpened,
    /// Placards or cargo residue.
    Placards,
    /// Wiring, antennas, solar panels, trackers.
    Wiring,
}

/// Measures of the body plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum PlanField {
    /// Outside length of the body.
    Length,
    /// Outside width of the body.
    Width,
    /// Height of the sides above the bottom rail.
    SideHeight,
    /// Top rail outside to top rail outside.
    RailWidthOutside,
    /// Stations of the bows' front edges.
    Bows,
    /// Stations of the side posts.
    Posts,
    /// Stations of the side sheets' joints.
    SideJoints,
    /// Pitch of the holes in the top rail.
    RailHolePitch,
    /// Thickness of the flange of the rails.
    RailFlange,
    /// Thickness of the flange of the posts.
    PostFlange,
    /// Thickness of the flange of the rear header.
    HeaderFlange,
    /// Thickness of the end clips of the bows.
    BowEnd,
    /// Thickness of the corner caps.
    CornerCap,
    /// Thickness of the roof sheet.
    RoofSheet,
    /// Thickness of the side sheet.
    SideSheet,
    /// Sides of composite plate.
    CompositeSides,
    /// Stations of seams from earlier repairs of the roof.
    RoofSeams,
    /// Patches of earlier repairs, on roof and walls.
    EarlierPatches,
}

/// A value of the body plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PlanValue {
    /// One length.
    Length(Length),
    /// Stations from the nose.
    Stations(Vec<Length>),
    /// Places on the outside of the body.
    Places(Vec<Place>),
    /// Yes or no.
    YesNo(bool),
}

/// The three answers to *May it roll?*
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum RollAnswer {
    /// Park it.
    ParkIt,
    /// May roll, with limits.
    WithLimits,
    /// May roll.
    MayRoll,
}

/// The answer with what it needs; the fields beyond `reason` only with limits.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Roll {
    /// The answer.
    pub answer: RollAnswer,
    /// Why.
    pub reason: String,
    /// The temporary fix.
    pub fix: String,
    /// Limit of speed, in words.
    pub speed: String,
    /// Limit of distance, in words.
    pub distance: String,
    /// Limit of weather, in words.
    pub weather: String,
}

/// A change to a mark.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MarkChange {
    /// Where it sits.
    Place(Place),
    /// What is wrong.
    Kind(DamageKind),
    /// The part it is on.
    Part(Part),
    /// Old damage or new.
    Age(Age),
    /// A remark.
    Note(String),
    /// How deep, or how far out of line; `None`: not measured after all.
    Depth(Option<Length>),
    /// The *found more* it belongs to.
    Found(Uuid),
    /// A side whose size came from a photo.
    Sized {
        /// The side.
        side: MarkSide,
        /// From which photo; `None`: not from a photo after all.
        by: Option<SizedBy>,
    },
    /// Taken off, or put back.
    Removed(bool),
}

/// A way chosen for one group of marks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, TS)]
pub struct ChosenWay {
    /// The way's name.
    pub way: String,
    /// What a person entered where the program figures nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by_hand: Option<ByHand>,
}

/// Hours and material that a person entered where the program figures nothing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, TS)]
pub struct ByHand {
    /// Hours, a decimal as text.
    pub hours: String,
    /// How many people.
    pub people: u32,
    /// Material.
    pub lines: Vec<HandLine>,
    /// A remark.
    pub note: String,
}

/// A material line entered by hand; decimals as text.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, TS)]
pub struct HandLine {
    /// The material.
    pub item: String,
    /// How much of it.
    pub quantity: String,
    /// Price of one.
    pub unit_price: String,
}

/// A thing on hand or not, and where it lies.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct OnHand {
    /// On hand.
    pub have: bool,
    /// Its shelf place.
    pub place: String,
    /// What was wanted when it was said, as it was read: the answer holds for that quantity and no other.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub wanted: String,
}

/// Entered fields of the Roof-off check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum RoofOffField {
    /// Who is there.
    People,
    /// Hours without rain.
    DryHours,
    /// The cover for the night.
    Cover,
}

/// A measured value.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Measured {
    /// A length, where it is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<Length>,
    /// Anything else, as entered.
    #[serde(default)]
    pub text: String,
    /// Why it is out of tolerance.
    #[serde(default)]
    pub reason: String,
}

/// A change to a *found more*.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FoundChange {
    /// What was found.
    Line {
        /// In one line.
        line: String,
        /// At which step.
        step: String,
    },
    /// Taken off, or put back.
    Removed(bool),
}

/// An answer on Proof.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct ProofAnswer {
    /// The answer.
    pub ok: ProofOk,
    /// A measured or read value.
    #[serde(default)]
    pub value: String,
    /// A remark.
    #[serde(default)]
    pub note: String,
}

/// Done as it should be, not so, or not part of this job (with a note).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum ProofOk {
    /// As it should be.
    Yes,
    /// Not so.
    No,
    /// Not part of this job.
    NotNeeded,
}

/// Released, with a remark.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Release {
    /// The remark.
    pub note: String,
}
