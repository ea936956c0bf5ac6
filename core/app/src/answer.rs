//! What a screen gets back: a view with everything the screen shows, ready to be shown. Lengths that are drawn
//! are nanometres; lengths that are read are text in the shop's unit. Money is a decimal as text; times are UTC.

#![allow(
    missing_docs,
    reason = "the name of a field says what it is; where it does not, a comment does"
)]

mod figures;
mod office;
mod photo;
mod stock;
mod yard;
pub use figures::{Chosen, Figures, GoAhead, PartGiven, Version, Ways};
pub use office::{
    ClashRow, HistoryRow, LearnRow, Learned, Material, NewCode, NoteRow, OfficeJob, OfficeList, PeopleView,
    PersonRow, PhoneRow, Phones, QualifiedRow, SubletRow, Taught, Wait, WaitFor,
};
pub use photo::{
    AlignedBy, MeasuredLine, PairAligned, Photo, PhotoPlace, PhotoView, PhotosView, Room, ScaleKind,
    ScaleView, SizedMark,
};
pub use stock::{
    BuyRow, BuyingList, CutDoneRow, CutListView, CutPlan, HoleView, LeftRow, Promise, ReservedRow,
    RivetLineView, RoofOff, RoofOffRow, Shelf,
};
pub use yard::{Yard, YardRow};

use crate::ask::TypedStock;
use bowseam_figures::{
    basis::{Basis, Standing},
    body::FoldOut,
    crew_plan::CrewPlans,
    estimate::{Changed, Estimate},
    mark::{Age, DamageKind, Part, PartHit, Place, Surface},
    measure::{Length, Unit},
    shop::{Closed, Cure},
};
use bowseam_jobs::{
    entry::{ArrivalField, Hold, Measured, PhotoOf, PlanField, ProofAnswer, Roll},
    job::Stage,
};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use ts_rs::TS;
use uuid::Uuid;

/// The answer to an [`crate::ask::Ask`], `{"kind": "...", ...}`.
#[derive(Debug, Clone, Serialize, TS)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[allow(clippy::large_enum_variant, reason = "one answer at a time, on its way out")]
pub enum Answer {
    Hello(Hello),
    /// A change was saved on this phone; `id` is what was made, if something was.
    Saved {
        act: Option<Uuid>,
        id: Option<Uuid>,
        at: DateTime<Utc>,
        /// What was saved, in words.
        words: Option<String>,
    },
    Yard(Yard),
    Arrival(Arrival),
    FoldOut(FoldOutView),
    PlaceAt(PlaceAt),
    Mark(MarkView),
    Photo(PhotoView),
    Photos(PhotosView),
    PairAligned(PairAligned),
    Ways(Ways),
    Figures(Figures),
    /// Who does what when.
    CrewPlan {
        plans: CrewPlans,
        /// What the dry hours that were entered say to the open roof, in words.
        dry: Option<String>,
    },
    /// What changed between two versions of the figures.
    ComparedFigures {
        was: Version,
        now: Version,
        changed: Vec<Changed>,
    },
    CutList(CutListView),
    RoofOff(RoofOff),
    BuyingList(BuyingList),
    Steps(Steps),
    FoundMore(FoundMore),
    Proof(Proof),
    HandOver(HandOver),
    /// The packet's text.
    Packet {
        form: crate::ask::PacketForm,
        text: String,
        sha256: String,
    },
    CardWritten(CardWritten),
    CardBack(CardBack),
    PacketFile(PacketFile),
    PacketProgress(PacketProgress),
    /// Drafts of a job, by what they are of.
    Drafts {
        drafts: std::collections::BTreeMap<String, String>,
    },
    Outbox(Outbox),
    Room(Room),
    ShopBook(ShopBook),
    OfficeJobs(OfficeList),
    OfficeJob(OfficeJob),
    /// What a go-ahead for a part would come to, and what it leaves.
    PartSum(PartGiven),
    People(PeopleView),
    Phones(Phones),
    NewCode(NewCode),
    Learned(Learned),
}

/// A person of the shop.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, TS)]
pub struct Person {
    pub id: Uuid,
    pub name: String,
    pub roles: Vec<String>,
    pub may_release: bool,
}

/// Who is here.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Hello {
    pub people: Vec<Person>,
    pub signed_in: Option<Uuid>,
    pub unit: Unit,
    /// The folder of photos, where the shell serves them from files; nothing over HTTP.
    pub photos: Option<String>,
    /// This is the office's door, not a phone's.
    pub office: bool,
    /// Name of the office this phone is known to.
    pub enrolled: Option<String>,
    /// A damaged store was set aside: what was saved from it.
    pub salvage: Option<String>,
    /// Things that wait in the outbox.
    pub waiting: u32,
    pub stuck: u32,
    /// Number of the entry that came last, from whomever: a page that is open sees by it that there is something new.
    pub newest: u32,
}

/// Head of every screen of one job.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Head {
    pub job: Uuid,
    pub unit: String,
    pub stage: Stage,
    /// What the job waits for, in words.
    pub waits_for: String,
    /// Loaded and sealed: the inside is not seen, with the seal's number. Every screen says so.
    pub not_seen: Option<String>,
    pub roll: Option<Roll>,
    /// Why that answer does not hold any more, in words: damage was marked after it.
    pub roll_doubt: Option<String>,
    /// The work takes the roof off: the Roof-off check comes before its steps.
    pub opens_roof: bool,
    pub hold: Option<Hold>,
    /// What undo would take back, in words.
    pub undo: Option<String>,
    /// The day the unit is promised for.
    pub promise: Option<String>,
    /// Last change saved on this phone.
    pub saved: Option<DateTime<Utc>>,
    /// Two people changed the same thing, in words.
    pub clashes: Vec<String>,
    /// Of these, what can be settled here: both values side by side.
    pub to_settle: Vec<ClashRow>,
}

/// One field of a form.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Field<F> {
    pub field: F,
    pub value: String,
    pub by: Option<String>,
    pub choices: Vec<String>,
    pub remark: Option<String>,
}

/// Arrival.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Arrival {
    pub head: Head,
    pub fields: Vec<Field<ArrivalField>>,
    pub photos: Vec<Photo>,
    /// Before photos still wanted, in words.
    pub wanted: Vec<String>,
    /// Who answered *May it roll?*, and when.
    pub roll_by: Option<String>,
    pub roll_at: Option<DateTime<Utc>>,
    /// Whether *May roll, with limits* is offered, and why not.
    pub limits_refused: Option<String>,
    /// Whether plain *May roll* needs a reason in words, and why.
    pub reason_needed: Option<String>,
    /// What is missing and where it will be needed.
    pub missing: Vec<String>,
    /// Earlier jobs of this unit on this phone.
    pub history: Vec<YardRow>,
}

/// The body unfolded.
#[derive(Debug, Clone, Serialize, TS)]
pub struct FoldOutView {
    pub head: Head,
    pub outside: FoldOut,
    pub inside: FoldOut,
    pub marks: Vec<MarkRow>,
    pub walk: Vec<WalkStop>,
    pub plan: Vec<Field<PlanField>>,
    /// Measures that are starting values of the body type, in words.
    pub not_measured: Vec<String>,
    /// The seams of the chosen or shortest fitting roof section, to draw.
    pub seams: Vec<Seam>,
}

/// A seam on the drawing: x1, y1, x2, y2 and its words.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Seam {
    pub line: [Length; 4],
    pub words: String,
}

/// One stop of the walk round.
#[derive(Debug, Clone, Serialize, TS)]
pub struct WalkStop {
    pub side: String,
    pub surfaces: Vec<Surface>,
    pub seen: bool,
    pub marks: u32,
    pub not_seen: Option<String>,
}

/// A mark in a list and on the drawing.
#[derive(Debug, Clone, Serialize, TS)]
pub struct MarkRow {
    pub id: Uuid,
    pub place: Place,
    pub inside: bool,
    /// Left, top, width, height on its sheet of the fold-out.
    pub rect: [Length; 4],
    pub kind: DamageKind,
    pub part: Part,
    pub age: Age,
    pub size: String,
    pub where_: String,
    pub hits: Vec<PartHit>,
    pub hits_words: String,
    pub photos: u32,
    pub after: u32,
    pub note: String,
    pub found: Option<Uuid>,
    /// Its size came from a photo: which side, and how far that may be off.
    pub from_photo: Option<String>,
}

/// What two taps mean.
#[derive(Debug, Clone, Serialize, TS)]
pub struct PlaceAt {
    pub place: Place,
    pub typed: crate::ask::TypedPlace,
    pub rect: [Length; 4],
    pub snapped: Vec<String>,
    pub parts: Vec<Part>,
}

/// One mark.
#[derive(Debug, Clone, Serialize, TS)]
pub struct MarkView {
    pub head: Head,
    pub mark: MarkRow,
    pub typed: crate::ask::TypedPlace,
    /// How deep, or how far out of line, as typed.
    pub depth: String,
    pub photos: Vec<Photo>,
    pub parts: Vec<Part>,
    pub by: String,
    pub at: DateTime<Utc>,
}

/// A found more in a list.
#[derive(Debug, Clone, Serialize, TS)]
pub struct FoundRow {
    pub id: Uuid,
    pub line: String,
    pub step: String,
    pub marks: u32,
    pub photos: u32,
    pub by: String,
    pub at: DateTime<Utc>,
    pub added: Option<String>,
    /// What would be agreed with it, where it has no go-ahead yet.
    pub with_it: Option<String>,
    /// Hash of the supplement as last asked: the office answers this one.
    pub asked_hash: Option<String>,
    pub go_ahead: GoAhead,
}

/// Steps.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Steps {
    pub head: Head,
    pub steps: Vec<StepView>,
    /// Key of the step that is next.
    pub current: Option<String>,
    /// Why no step can be started, in words (no go-ahead, roof-off check).
    pub shut: Option<String>,
    /// The screen that opens them.
    pub shut_where: Option<String>,
    /// Notes of one shift for the next, the newest first.
    pub notes: Vec<NoteRow>,
    pub found: Vec<FoundRow>,
}

/// One step.
#[derive(Debug, Clone, Serialize, TS)]
pub struct StepView {
    pub key: String,
    pub title: String,
    pub text: String,
    pub cautions: Vec<String>,
    /// Those of them that the signed-in person had at another step today that they did.
    pub cautions_read: Vec<String>,
    pub stop_and_check: bool,
    pub done: bool,
    pub done_by: Option<String>,
    pub done_at: Option<DateTime<Utc>>,
    pub seconds: u64,
    pub on_since: Option<DateTime<Utc>>,
    pub figured_hours: Option<String>,
    pub values: Vec<ValueView>,
    pub photos_wanted: u32,
    pub photos: Vec<Photo>,
    /// What the figures or the values say to it, in words.
    pub remark: Option<String>,
    pub basis: Vec<Basis>,
    /// What lacks before it can be done, in words.
    pub lacks: Vec<String>,
    /// Beside each lack the screen that mends it, empty where that is this one.
    pub lacks_where: Vec<String>,
}

/// One measured value of a step.
#[derive(Debug, Clone, Serialize, TS)]
pub struct ValueView {
    pub key: String,
    pub what: String,
    pub wanted: String,
    pub tolerance: String,
    pub standing: Standing,
    pub measured: Option<Measured>,
    pub said: Option<String>,
    pub fits: Option<bool>,
    pub how_far: Option<String>,
    pub by: Option<String>,
    /// `length`, `temperature`, `choice` (as wanted or `otherwise`, then `: ` and words) or `text`.
    pub form: String,
    /// What a choice says where it is not as wanted.
    pub otherwise: Option<String>,
    /// As wanted, a choice needs words beside it.
    pub words_wanted: bool,
}

/// One found more.
#[derive(Debug, Clone, Serialize, TS)]
pub struct FoundMore {
    pub head: Head,
    pub row: FoundRow,
    pub photos: Vec<Photo>,
    pub marks: Vec<MarkRow>,
    /// What it adds to the agreed figures.
    pub added: Option<Estimate>,
    pub changed: Vec<Changed>,
    pub lacks: Vec<String>,
}

/// Proof.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Proof {
    pub head: Head,
    pub rows: Vec<ProofRow>,
    pub pairs: Vec<Pair>,
    pub lacks: Vec<String>,
    pub rule_note: String,
}

/// One row of Proof with its rule and the rule's date.
#[derive(Debug, Clone, Serialize, TS)]
pub struct ProofRow {
    pub key: String,
    pub title: String,
    pub rule: String,
    pub rule_date: String,
    pub form: String,
    pub answer: Option<ProofAnswer>,
    pub by: Option<String>,
    pub at: Option<DateTime<Utc>>,
    pub remark: Option<String>,
    /// It cannot be answered before this time (leak test before the cure).
    pub not_before: Option<DateTime<Utc>>,
    pub ok: bool,
}

/// Before and after at the same mark or of the unit.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Pair {
    pub of: PhotoOf,
    pub words: String,
    pub before: Vec<Photo>,
    pub after: Vec<Photo>,
}

/// Handover.
#[derive(Debug, Clone, Serialize, TS)]
pub struct HandOver {
    pub head: Head,
    pub lacks: Vec<String>,
    /// Beside each lack the screen that mends it: `proof`, `steps`, `found_more?found=ID` ...
    pub lacks_where: Vec<String>,
    /// What Arrival has no entry for: the release does not wait for it, the packet says it.
    pub not_entered: Vec<String>,
    /// What is not repaired and what the office has not closed: the release does not wait for it, the packet says it.
    pub left_open: Vec<String>,
    pub may_release: bool,
    pub released: Option<String>,
    pub handed_over: Option<String>,
    /// Each photo's hash was taken again: how many are as they came, which are not.
    pub photos_same: u32,
    /// Originals that were freed here: the office has them.
    pub photos_at_office: u32,
    /// Not hashed yet: the screen asks again.
    pub photos_to_check: u32,
    pub photos_changed: Vec<String>,
    pub keep_until: String,
}

/// A packet that was made as a file.
#[derive(Debug, Clone, Serialize, TS)]
pub struct PacketFile {
    pub form: crate::ask::PacketForm,
    /// Its name: ask for `/packet/NAME`.
    pub name: String,
    pub bytes: u64,
    pub sha256: String,
    /// Where the shell put it for the person to find; nothing over HTTP.
    pub saved: Option<String>,
}

/// A card that was written.
#[derive(Debug, Clone, Serialize, TS)]
pub struct CardWritten {
    /// Its name: ask for `/packet/NAME`.
    pub name: String,
    pub entries: u32,
    pub photos: u32,
    pub bytes: u64,
    /// Photos that cannot be read here.
    pub lacks: Vec<String>,
    /// Where the shell put it for the person to find; nothing over HTTP.
    pub saved: Option<String>,
}

/// What the office's answer to a card did.
#[derive(Debug, Clone, Serialize, TS)]
pub struct CardBack {
    pub arrived: u32,
    pub stuck: u32,
    pub received: u32,
}

/// How far a packet is.
#[derive(Debug, Clone, Serialize, TS)]
pub struct PacketProgress {
    /// One is being made.
    pub making: bool,
    /// Photos that are in it, of how many.
    pub photos: u32,
    pub of: u32,
    /// Before that: possible pairs of before and after photos that are matched, of how many.
    pub matched: u32,
    pub to_match: u32,
}

/// Outbox.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Outbox {
    pub words: String,
    pub rows: Vec<OutboxRow>,
    pub waiting_bytes: u64,
    pub office: Option<String>,
    pub last_heard: Option<DateTime<Utc>>,
    /// Stacks of photos wait for a network that costs nothing.
    pub photos_wait: bool,
    /// Whether the network costs money, as far as it is known.
    pub metered: Option<bool>,
}

/// What waits of one job.
#[derive(Debug, Clone, Serialize, TS)]
pub struct OutboxRow {
    pub job: Uuid,
    pub unit: String,
    /// `waiting`, `on_the_way`, `arrived`, `stuck`.
    pub state: String,
    pub words: String,
    pub photos: u32,
    pub photos_arrived: u32,
    pub entries: u32,
    pub bytes: u64,
    /// Bytes that the office has of it already.
    pub arrived_bytes: u64,
    pub why: Option<String>,
}

/// Shop book and stock.
#[derive(Debug, Clone, Serialize, TS)]
pub struct ShopBook {
    pub values: Vec<BookRow>,
    pub cure: Vec<Cure>,
    pub closed: Vec<Closed>,
    pub stock: Vec<StockRow>,
    /// Why this person may not change it here; none: may.
    pub may_not: Option<String>,
    /// What was changed, the newest first.
    pub changes: Vec<BookChange>,
}

/// A change of the shop book or the stock list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct BookChange {
    pub what: String,
    /// Empty: nothing was there.
    pub was: String,
    /// Empty: taken off.
    pub now: String,
    pub by: String,
    pub at: DateTime<Utc>,
}

/// A value of the shop book.
#[derive(Debug, Clone, Serialize, TS)]
pub struct BookRow {
    pub group: String,
    pub key: String,
    pub name: String,
    pub value: String,
    /// What the program starts with, where the shop has set another.
    pub start: Option<String>,
    pub standing: Standing,
}

/// A stock line.
#[derive(Debug, Clone, Serialize, TS)]
pub struct StockRow {
    pub name: String,
    pub size: String,
    pub count: String,
    pub place: String,
    pub drop: bool,
    /// Who has reserved of it, in words; may be empty.
    pub reserved: String,
    /// What it is reserved by.
    pub key: String,
    /// As it would be typed; none for a drop that a job kept.
    pub typed: Option<TypedStock>,
}

/// A refusal: which field, and what is accepted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, TS)]
pub struct Refusal {
    /// Stable code for a program.
    pub code: String,
    /// A plain sentence for a person.
    pub sentence: String,
    /// The ask's field it is about.
    pub field: Option<String>,
}
