//! What a screen gets back of photos: each with what lies over it, what was measured in it, where it can go, and the
//! room they take.

#![allow(
    missing_docs,
    reason = "the name of a field says what it is; where it does not, a comment does"
)]

use super::Head;
use bowseam_figures::mark::Surface;
use bowseam_jobs::{
    entry::{PhotoOf, PhotoWhen},
    on_photo::{PhotoShape, Px, ScaleOf, UnitView},
};
use chrono::{DateTime, NaiveDateTime, Utc};
use serde::Serialize;
use ts_rs::TS;
use uuid::Uuid;

/// A photo with its address: ask for `/photo/SHA/small|large|original`, or the file of that name in the shell.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Photo {
    pub sha256: String,
    pub of: PhotoOf,
    pub when: PhotoWhen,
    pub name: String,
    pub bytes: u64,
    pub taken: Option<NaiveDateTime>,
    pub by: String,
    pub at: DateTime<Utc>,
    /// It cannot be shown here (kept as it is).
    pub cannot_show: bool,
    /// Where it belongs, in words, of the unit with the view that it was said to show.
    pub shows: String,
    pub view: Option<UnitView>,
    /// What is drawn over it.
    pub shapes: Vec<PhotoShape>,
    /// Where its camera's clock, that of the phone that brought it in and the office's cannot all be right, in words.
    pub doubt: Option<String>,
    /// Its file says where it was taken; the original is kept and sent as it is.
    pub placed: bool,
    /// Lengths that were measured in it, in words.
    pub measured: Vec<String>,
    /// Width and height of the upright original, where something is drawn over it.
    pub size: Option<[u32; 2]>,
}

/// A place that a photo can go to, with how many are there.
#[derive(Debug, Clone, Serialize, TS)]
pub struct PhotoPlace {
    pub of: PhotoOf,
    pub words: String,
    pub photos: u32,
    /// The found more whose photos are its before photos.
    pub before_as: Option<PhotoOf>,
}

/// All photos of a job.
#[derive(Debug, Clone, Serialize, TS)]
pub struct PhotosView {
    pub head: Head,
    pub photos: Vec<Photo>,
    pub places: Vec<PhotoPlace>,
}

/// One photo.
#[derive(Debug, Clone, Serialize, TS)]
pub struct PhotoView {
    pub head: Head,
    pub photo: Photo,
    /// Width and height of the upright original; nothing where they are not known or the original is not here.
    pub size: Option<[u32; 2]>,
    pub places: Vec<PhotoPlace>,
    /// What happened to it, oldest first.
    pub history: Vec<String>,
    /// Things of known size that can be in it.
    pub kinds: Vec<ScaleKind>,
    pub scale: Option<ScaleView>,
    /// Marks whose size it can give, the one that it shows first.
    pub marks: Vec<SizedMark>,
}

/// A thing of known size, with its sizes where they are known.
#[derive(Debug, Clone, Serialize, TS)]
pub struct ScaleKind {
    pub of: ScaleOf,
    pub length: String,
    pub width: String,
    /// Nobody need look at the sizes: they are those of a standard.
    pub fixed: bool,
    /// Where the sizes come from, in words.
    pub from: String,
}

/// The scale of a photo as it stands.
#[derive(Debug, Clone, Serialize, TS)]
pub struct ScaleView {
    pub of: ScaleOf,
    pub length: String,
    pub width: String,
    pub points: Vec<Px>,
    /// The program found the corners.
    pub found: bool,
    pub outline: Vec<Px>,
    pub lines: Vec<MeasuredLine>,
    /// The area within the outline, in words.
    pub area: Option<String>,
    /// Why nothing comes out of these points.
    pub wrong: Option<String>,
    /// What makes it poor, in words.
    pub poor: Vec<String>,
    pub by: String,
    pub at: DateTime<Utc>,
}

/// A length measured in a photo.
#[derive(Debug, Clone, Serialize, TS)]
pub struct MeasuredLine {
    /// As on a tape.
    pub value: String,
    /// How far it may be off either way, 95 of 100 times.
    pub off: String,
}

/// How an after photo lies over its before photo. A place of the after photo comes to
/// `[a x - b y + x0, b x + a y + y0]`, both in widths of their own photo from the upper left corner.
#[derive(Debug, Clone, Serialize, TS)]
pub struct PairAligned {
    pub by: AlignedBy,
    pub a: f64,
    pub b: f64,
    pub at: [f64; 2],
    /// The points that were put, both in the before photo first.
    pub taps: Option<[Px; 4]>,
}

/// What an after photo was laid over its before photo by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum AlignedBy {
    /// Two points of each.
    Taps,
    /// Matched by the program, which is sure of it.
    Match,
    /// Matching is unsure: nothing is moved.
    Unsure,
    /// They are being matched: ask again.
    Later,
}

/// A mark that a photo can size.
#[derive(Debug, Clone, Serialize, TS)]
pub struct SizedMark {
    pub id: Uuid,
    pub words: String,
    pub size: String,
    pub from_photo: Option<String>,
    /// It is on a face with stations along and heights up, or with distances from an edge.
    pub surface: Surface,
}

/// Room that photos take on this phone, in bytes.
#[derive(Debug, Clone, Serialize, TS)]
pub struct Room {
    pub originals: u64,
    pub copies: u64,
    /// Of the originals: units handed over, at the office too.
    pub office: u64,
    pub office_photos: u32,
    /// Freed just now.
    pub freed: u64,
}
