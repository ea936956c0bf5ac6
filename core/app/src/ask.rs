//! What a screen can ask. One enum for every shell: it travels over Tauri's IPC on the phone and over
//! loopback HTTP in a browser, as JSON `{"kind": "...", ...}`. Lengths come as a person typed them, in tape
//! notation; the core reads them and answers with a sentence beside the field where it cannot.

#![allow(
    missing_docs,
    reason = "the name of a field says what it is; where it does not, a comment does"
)]

use bowseam_figures::cut::StockKind;
use bowseam_figures::mark::{Age, DamageKind, Part, Surface};
use bowseam_jobs::entry::{
    ArrivalField, ByHand, Hold, OfficeField, PhotoOf, PhotoWhen, PlanField, ProofAnswer, Roll, RoofOffField,
};
use bowseam_jobs::on_photo::{MarkSide, Px, ScaleOf, Shape, UnitView};
use bowseam_jobs::people::Qualification;
use serde::{Deserialize, Serialize};
use ts_rs::TS;
use uuid::Uuid;

/// A question or a change. A change answers [`crate::answer::Answer::Saved`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, TS)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum Ask {
    /// Who is here, which people there are, which unit of length the shop uses.
    Hello {},
    /// A person says who they are, with their PIN.
    SignIn { person: Uuid, pin: String },
    /// Nobody is signed in any more.
    SignOut {},
    /// The phone is made known to an office with its short-lived code.
    Enrol {
        office: String,
        code: String,
        name: String,
    },
    /// The units and jobs on this phone, newest first.
    Yard {
        #[serde(default)]
        find: String,
    },
    /// Opens a job for a unit; the unit number is all that is needed.
    OpenJob { unit: String },
    /// The arrival of a job.
    Arrival { job: Uuid },
    /// Sets a field of Arrival; an empty value takes it away.
    SetArrival {
        job: Uuid,
        field: ArrivalField,
        value: String,
    },
    /// Answers *May it roll?*; nothing takes the answer away.
    SetRoll { job: Uuid, answer: Option<Roll> },
    /// The body unfolded with its marks.
    FoldOut { job: Uuid },
    /// Sets a measure of the body as typed; stations as a list `24, 48, 72` or `24 every 24, 26 bows`.
    SetPlan {
        job: Uuid,
        field: PlanField,
        value: String,
    },
    /// Surfaces were looked at on the walk round, or not; `also` names those seen from the same place.
    SetLooked {
        job: Uuid,
        surface: Surface,
        seen: bool,
        #[serde(default)]
        also: Vec<Surface>,
    },
    /// What is under two taps on the fold-out, snapped to bows, posts and rails (drawing coordinates, nanometres).
    PlaceAt {
        job: Uuid,
        inside: bool,
        x1: f64,
        y1: f64,
        x2: f64,
        y2: f64,
    },
    /// Puts a mark on the body.
    AddMark {
        job: Uuid,
        place: TypedPlace,
        damage: DamageKind,
        part: Part,
        age: Age,
        note: String,
        found: Option<Uuid>,
    },
    /// One mark with all that belongs to it.
    Mark { job: Uuid, mark: Uuid },
    /// Changes a mark: what is absent stays.
    SetMark {
        job: Uuid,
        mark: Uuid,
        #[serde(default)]
        place: Option<TypedPlace>,
        #[serde(default)]
        damage: Option<DamageKind>,
        #[serde(default)]
        part: Option<Part>,
        #[serde(default)]
        age: Option<Age>,
        #[serde(default)]
        note: Option<String>,
        /// How deep, or how far out of line, as typed; nothing typed takes it away.
        #[serde(default)]
        depth: Option<String>,
    },
    /// Takes a mark off.
    RemoveMark { job: Uuid, mark: Uuid },
    /// Brings in a photo; its bytes come beside the ask.
    AddPhoto {
        job: Uuid,
        of: PhotoOf,
        when: PhotoWhen,
        name: String,
    },
    /// Puts a photo where it belongs.
    MovePhoto {
        job: Uuid,
        sha256: String,
        of: PhotoOf,
        when: PhotoWhen,
    },
    /// Says which view of the whole unit a photo shows; nothing takes it away.
    SetPhotoView {
        job: Uuid,
        sha256: String,
        view: Option<UnitView>,
    },
    /// Takes a photo off the job; its original stays.
    RemovePhoto { job: Uuid, sha256: String },
    /// One photo with all that belongs to it.
    Photo { job: Uuid, sha256: String },
    /// All photos of a job, and the places that a photo can go to.
    Photos { job: Uuid },
    /// The thing of known size in a photo and the points as far as they are put; nothing takes all of it away.
    SetPhotoScale {
        job: Uuid,
        sha256: String,
        scale: Option<TypedScale>,
    },
    /// Looks for the printed target in a photo; its corners become those of the thing of known size.
    FindTarget { job: Uuid, sha256: String },
    /// How an after photo lies over its before photo: by the points that somebody put, else by matching.
    PairAligned {
        job: Uuid,
        before: String,
        after: String,
    },
    /// Two points that both show, first both in the before photo; nothing goes back to matching.
    AlignPair {
        job: Uuid,
        before: String,
        after: String,
        taps: Option<[Px; 4]>,
    },
    /// The length with this number, from 0, becomes a side of a mark.
    SizeFromPhoto {
        job: Uuid,
        sha256: String,
        mark: Uuid,
        side: MarkSide,
        line: u32,
    },
    /// Draws over a photo; with `id` draws that anew, or takes it off where there is no shape.
    DrawOnPhoto {
        job: Uuid,
        sha256: String,
        id: Option<Uuid>,
        shape: Option<Shape>,
    },
    /// Ways to fix, group by group.
    Ways { job: Uuid },
    /// Chooses a way for a group; nothing takes the choice away. `by_hand` with the way of that name.
    ChooseWay {
        job: Uuid,
        group: String,
        way: Option<String>,
        #[serde(default)]
        by_hand: Option<ByHand>,
    },
    /// Takes these ways, one a group, in one act.
    ChooseWays { job: Uuid, ways: Vec<WayOf> },
    /// The figures of the chosen ways.
    Figures { job: Uuid },
    /// What changed from figures that were asked to other ones; each by its hash, as in `Figures.versions`, or
    /// empty for the figures as they are now.
    CompareFigures { job: Uuid, was: String, now: String },
    /// Who does what when, with the shop's people and with one more; `temperature` of the day for the cure, as
    /// typed, empty if it is not known.
    CrewPlan { job: Uuid, temperature: String },
    /// Freezes the figures and asks the office for its go-ahead; with `found`, for the part that a found more adds.
    /// `note` answers what the office asked when it sent them back.
    AskGoAhead {
        job: Uuid,
        found: Option<Uuid>,
        #[serde(default)]
        note: String,
    },
    /// What to cut from which stock.
    CutList { job: Uuid },
    /// Reserves the stock that the cut list takes, and frees what it does not; or frees all.
    SetReserved { job: Uuid, reserved: bool },
    /// A plan of the cut list (by its key) is done; or a cut (by its id) is not done after all.
    SetCut { job: Uuid, cut: String, done: bool },
    /// A left-over of a cut is kept as a drop at a place; without a place it is not kept after all.
    KeepDrop {
        job: Uuid,
        cut: Uuid,
        left: u32,
        place: String,
    },
    /// Holes that are there on a line of rivets, as measured from its hook: `1, 5, 9 3/16 @ .21`; nothing typed: as
    /// figured.
    SetHoles { job: Uuid, line: String, holes: String },
    /// What is bought for a job, and when it is there.
    BuyingList { job: Uuid },
    /// Sets a field of a line of the buying list; an empty value takes it away.
    SetBuying {
        job: Uuid,
        line: String,
        field: BuyField,
        value: String,
    },
    /// Puts a line on the buying list.
    AddBuying {
        job: Uuid,
        item: String,
        size: String,
        quantity: String,
    },
    /// Takes a line off the buying list that is not wanted any more.
    RemoveBuying { job: Uuid, line: String },
    /// The Roof-off check.
    RoofOff { job: Uuid },
    /// One thing is on hand or not, and where it lies.
    SetOnHand {
        job: Uuid,
        item: String,
        have: bool,
        place: String,
    },
    /// All these are on hand at one shelf place.
    SetShelf {
        job: Uuid,
        items: Vec<String>,
        place: String,
    },
    /// People, dry hours or cover of the Roof-off check.
    SetRoofOff {
        job: Uuid,
        field: RoofOffField,
        value: String,
    },
    /// A supervisor overrules a no-go, with the reason.
    Overrule { job: Uuid, reason: String },
    /// The roof is opened: refused while the check is a no-go.
    OpenRoof { job: Uuid },
    /// The work in order.
    Steps { job: Uuid },
    /// Time on or off a step.
    StepTime { job: Uuid, step: String, on: bool },
    /// A step is done (refused while its values, photos or earlier stop-and-check points lack), or open again.
    StepDone { job: Uuid, step: String, done: bool },
    /// A measured value as typed; out of tolerance a reason is needed. An empty value takes it away. `zone` is how many
    /// minutes the clock of who typed it is ahead of UTC, for a time of day in it; none: the zone of this machine.
    Measure {
        job: Uuid,
        step: String,
        value: String,
        measured: String,
        reason: String,
        #[serde(default)]
        zone: Option<i32>,
    },
    /// A found more: one line, at a step. Answers with its id; with `found`, the line of that one is put right.
    FindMore {
        job: Uuid,
        line: String,
        step: String,
        #[serde(default)]
        found: Option<Uuid>,
    },
    /// A found more as it stands: photo, mark, added figures, answer.
    FoundMore { job: Uuid, found: Uuid },
    /// Takes a found more away.
    RemoveFound { job: Uuid, found: Uuid },
    /// On hold, or going on.
    SetHold { job: Uuid, hold: Option<Hold> },
    /// Proof: what is to be shown before the unit goes.
    Proof { job: Uuid },
    /// Answers a row of Proof.
    SetProof {
        job: Uuid,
        row: String,
        answer: Option<ProofAnswer>,
    },
    /// What lacks for the handover.
    HandOver { job: Uuid },
    /// Released by a person who may.
    Release { job: Uuid, note: String },
    /// The packet is handed over.
    SetHandedOver { job: Uuid },
    /// The packet in a form that is text: `html` to read, `json`, `csv`; with prices unless it says otherwise.
    Packet {
        job: Uuid,
        form: PacketForm,
        #[serde(default = "yes")]
        prices: bool,
    },
    /// Makes the packet as a file, in any form; answers when it is made.
    MakePacket {
        job: Uuid,
        form: PacketForm,
        prices: bool,
    },
    /// How far the packet is that is being made.
    PacketProgress { job: Uuid },
    /// Stops the packet that is being made.
    StopPacket { job: Uuid },
    /// What waits to be sent.
    Outbox {},
    /// How much room photos take on this phone.
    Room {},
    /// Frees room: the shrunken copies, or the originals of units handed over that the office has.
    FreeRoom { originals: bool },
    /// Writes what waits into a file for a memory card.
    WriteCard {},
    /// Reads the office's answer to a card; its bytes come beside the ask.
    ReadCardBack {},
    /// Tries to send now.
    TryNow {},
    /// Stacks of photos wait for a network that costs nothing, or go over any.
    PhotosWait { wait: bool },
    /// What is being written of a job and cannot be a change yet.
    Drafts { job: Uuid },
    /// Keeps such a draft on this phone; an empty text takes it away.
    KeepDraft { job: Uuid, key: String, text: String },
    /// Takes back the signed-in person's last change in a job.
    Undo { job: Uuid },
    /// The shop book and stock with their standings.
    ShopBook {},
    /// Sets a value of the shop book; an empty one brings the starting value back.
    SetBook {
        group: String,
        key: String,
        value: String,
    },
    /// Hours of cure from a label at a temperature; without hours the line goes.
    SetCure {
        product: String,
        at: String,
        hours: String,
    },
    /// A day on which the shop does not work, with why; or it does after all.
    SetClosed { day: String, why: String, closed: bool },
    /// Adds a line of the stock list, changes the one named, or takes it off where there is no line.
    SetStock {
        stock: Option<String>,
        line: Option<TypedStock>,
    },
    /// The office's jobs, at most `most` of them; with words in `find` those that hold them.
    OfficeJobs {
        #[serde(default)]
        find: String,
        #[serde(default)]
        show: OfficeShow,
        #[serde(default)]
        most: u32,
    },
    /// One job for the office: figures, what changed since the last look, photos, marks.
    OfficeJob { job: Uuid },
    /// Go-ahead for the figures with this hash: for all or for these groups, at an amount or up to a ceiling that what is
    /// given must not come to more than.
    GoAhead {
        job: Uuid,
        hash: String,
        amount: Option<String>,
        note: String,
        #[serde(default)]
        groups: Vec<String>,
        #[serde(default)]
        ceiling: Option<String>,
    },
    /// What a go-ahead for these groups of the figures with this hash would come to, before it is given.
    PartSum {
        job: Uuid,
        hash: String,
        groups: Vec<String>,
    },
    /// Sends figures back with a note.
    SendBack { job: Uuid, hash: String, note: String },
    /// The signed-in person has looked at a job as far as this entry (`OfficeJob.newest`).
    Looked { job: Uuid, newest: i64 },
    /// Sets what the office writes on a job; an empty value takes it away.
    SetOffice {
        job: Uuid,
        field: OfficeField,
        value: String,
    },
    /// Puts work given out of the house on a job, or changes it; without words for the work it is taken off.
    SetSublet {
        job: Uuid,
        sublet: Option<Uuid>,
        work: String,
        who: String,
        out_on: String,
        back_on: String,
        back: bool,
    },
    /// A note for the next shift; with `note`, that one is put right, or taken off where there are no words.
    SetNote {
        job: Uuid,
        note: Option<Uuid>,
        text: String,
    },
    /// Somebody is on the job, or not any more.
    SetOnJob { job: Uuid, person: Uuid, on: bool },
    /// Opens a released job again, with the reason.
    Reopen { job: Uuid, reason: String },
    /// Settles a clash: the one that holds or the one that lost is right.
    Settle { job: Uuid, keep: Uuid, instead_of: Uuid },
    /// People of the shop with roles and qualifications.
    People {},
    /// Adds somebody, or changes name, roles and qualifications.
    SetPerson {
        person: Option<Uuid>,
        name: String,
        roles: Vec<String>,
        qualified: Vec<TypedQualified>,
    },
    /// Sets the PIN of somebody for phones, or their password for the office's door.
    SetSecret {
        person: Uuid,
        secret: String,
        password: bool,
    },
    /// Somebody is here no more, or again.
    EndPerson { person: Uuid, ended: bool },
    /// Phones that the office knows.
    Phones {},
    /// A short-lived code for a new phone; `office` is the address by which phones reach this office.
    NewCode {
        #[serde(default)]
        office: String,
    },
    /// Takes a phone back: what it sends from now on is kept apart.
    TakeBack { device: Uuid },
    /// Takes what is kept apart of a phone into the jobs.
    TakeIn { device: Uuid },
    /// Hours and material used against figured, with proposals to the shop book.
    Learned {},
    /// Takes a proposal into the shop book as it is shown (`now`), or leaves it.
    Learn { task: String, now: String, take: bool },
}

/// Which jobs the office looks at.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum OfficeShow {
    /// Units that are here.
    #[default]
    Open,
    /// Units that left.
    Left,
}

/// A qualification as typed; `until` is a day, or empty for no end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(deny_unknown_fields)]
pub struct TypedQualified {
    #[serde(rename = "for")]
    pub what: Qualification,
    pub until: String,
    pub note: String,
}

/// A line of the stock list as typed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(deny_unknown_fields)]
pub struct TypedStock {
    /// What it is cut for, as in `roof sheet`.
    pub item: String,
    pub name: String,
    pub form: StockKind,
    /// Of one piece, or of a full roll or coil.
    pub length: String,
    /// Empty for bars and tape.
    pub width: String,
    /// Empty where it does not matter.
    pub thickness: String,
    pub place: String,
    /// What lies there now, counted: pieces, or the length on rolls and coils. Empty: as it was, of a new line nothing.
    pub there: String,
    /// Of one; may be empty.
    pub price: String,
}

/// A way for a group.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(deny_unknown_fields)]
pub struct WayOf {
    pub group: String,
    pub way: String,
}

/// A rectangle on a surface with its sides as typed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, TS)]
#[serde(deny_unknown_fields)]
pub struct TypedPlace {
    pub surface: Surface,
    pub from: String,
    pub to: String,
    pub low: String,
    pub high: String,
}

/// A thing of known size in a photo, its length and width as typed. `points`, in hundredths of a pixel of the
/// upright original: its four corners, once round along the length first, then both ends of each length.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(deny_unknown_fields)]
pub struct TypedScale {
    pub of: ScaleOf,
    pub length: String,
    pub width: String,
    pub points: Vec<Px>,
    /// Corners of an area, once round.
    #[serde(default)]
    pub outline: Vec<Px>,
}

/// Fields of a line of the buying list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum BuyField {
    NeededBy,
    ArrivesOn,
    /// It is here: the value is its place.
    Here,
}

/// Forms of the packet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum PacketForm {
    Html,
    Json,
    Pdf,
    Xlsx,
    Csv,
}

impl PacketForm {
    /// How a file of this form ends.
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Html => "html",
            Self::Json => "json",
            Self::Pdf => "pdf",
            Self::Xlsx => "xlsx",
            Self::Csv => "csv",
        }
    }
}

const fn yes() -> bool {
    true
}
