//! What people put on a photo: points of a thing of known size with the lengths measured from it, and lines,
//! arrows, boxes and words drawn over it. The original is never touched: these lie beside it as entries, and
//! screens and the packet draw them.
//!
//! Points are hundredths of a pixel of the upright original, right and down from its upper left corner, so that
//! whoever has the original can work the lengths out again.

use bowseam_figures::measure::Length;
use chrono::{DateTime, NaiveDateTime, Utc};
use serde::{Deserialize, Serialize};
use ts_rs::TS;
use uuid::Uuid;

/// Hundredths of a pixel: right, down.
pub type Px = [i32; 2];

/// What a photo shows.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case", tag = "of", content = "id")]
pub enum PhotoOf {
    /// The whole unit or one side of it.
    Unit,
    /// A mark.
    Mark(Uuid),
    /// A step of the work.
    Step(String),
    /// A *found more*.
    Found(Uuid),
}

/// Before anything is touched, while working, or after.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum PhotoWhen {
    /// Before anything is touched.
    Before,
    /// While working.
    During,
    /// When the work is done.
    After,
}

/// A view of the whole unit; a corner shows its two sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum UnitView {
    /// The corner of nose and roadside.
    NoseRoadside,
    /// The corner of nose and curbside.
    NoseCurbside,
    /// The corner of rear and roadside.
    RearRoadside,
    /// The corner of rear and curbside.
    RearCurbside,
    /// The roof.
    Roof,
    /// The inside.
    Inside,
    /// The nose wall.
    Nose,
    /// The whole roadside.
    Roadside,
    /// The whole curbside.
    Curbside,
    /// The rear.
    Rear,
}

/// A change to a photo. The original's bytes never change.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PhotoChange {
    /// It was taken or brought in.
    Added {
        /// What it shows.
        of: PhotoOf,
        /// Before, during or after.
        when: PhotoWhen,
        /// The file's name.
        name: String,
        /// Size of the original in bytes.
        bytes: u64,
        /// When it was taken, by the camera's clock.
        taken: Option<NaiveDateTime>,
        /// The phone's clock beside the office's, as it was last compared before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        clock: Option<ClockSeen>,
        /// Its file says where it was taken; where, is kept nowhere else.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        placed: bool,
    },
    /// It belongs elsewhere.
    Moved {
        /// What it shows.
        of: PhotoOf,
        /// Before, during or after.
        when: PhotoWhen,
    },
    /// Taken off the job (the original stays).
    Removed(bool),
    /// A thing of known size in it, and what was measured from it.
    Scaled(Option<PhotoScale>),
    /// Something drawn over it.
    Drawn {
        /// What is drawn, by its id.
        id: Uuid,
        /// `None`: taken off again.
        shape: Option<Shape>,
    },
    /// Which view of the whole unit it shows; `None`: nobody says.
    View(Option<UnitView>),
    /// Laid over its before photo by two points of each; `None`: by matching again.
    Aligned(Option<PairTaps>),
}

/// The clock of a phone beside the office's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct ClockSeen {
    /// Seconds that the phone's clock was ahead; below 0 it was behind.
    pub ahead: i64,
    /// When they were compared, by the phone's clock.
    pub at: DateTime<Utc>,
}

/// A thing of known size, all of it in the plane that is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum ScaleOf {
    /// A card of size ID-1: licence, bank card.
    IdCard,
    /// A sheet of Letter paper.
    Letter,
    /// A sheet of A4 paper.
    A4,
    /// From bow to bow, top rail to top rail.
    Bows,
    /// From post to post, bottom rail to top rail.
    Posts,
    /// Four rivets at the corners of a field of known pitch.
    Rivets,
    /// Four marks of tape put on the sheet.
    Tape,
    /// Any other rectangle that somebody measured.
    Other,
    /// The printed target of this program: its black frame, corner to corner.
    Target,
}

/// A length with its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct ScaleLength {
    /// The length.
    pub value: Length,
    /// One standard uncertainty; 1.96 of them each way are the 95 % interval.
    pub u: Length,
}

/// An area with its standard uncertainty, in hundredths of a square millimetre.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct ScaleArea {
    /// The area.
    pub value: i64,
    /// One standard uncertainty.
    pub u: i64,
}

/// Two points that a before and an after photo both show.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PairTaps {
    /// SHA-256 of the before photo.
    pub before: String,
    /// Both in the before photo, then both in the after photo.
    pub taps: [Px; 4],
}

/// The scale of a photo, as far as its points are set.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotoScale {
    /// The thing of known size.
    pub of: ScaleOf,
    /// Its length and width.
    pub size: [Length; 2],
    /// Its four corners, once round along the length first; then both ends of each length that is measured.
    pub points: Vec<Px>,
    /// What came out when it was saved, one for each pair of ends.
    pub lengths: Vec<ScaleLength>,
    /// The program found the four corners, and nobody has moved one since.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub found: bool,
    /// Corners of an area that is measured, once round.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub outline: Vec<Px>,
    /// What came out of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub area: Option<ScaleArea>,
}

/// What is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum ShapeKind {
    /// From its tail to its point.
    Arrow,
    /// From corner to opposite corner.
    Box,
    /// From end to end, with its length as the text.
    Line,
    /// Words at a place.
    Text,
}

/// Something drawn over a photo.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Shape {
    /// What.
    pub kind: ShapeKind,
    /// Where it begins and ends; of words both are the same.
    pub at: [Px; 2],
    /// The words beside it.
    #[serde(default)]
    pub text: String,
}

/// A shape as it stands on a photo.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct PhotoShape {
    /// Its id.
    pub id: Uuid,
    /// What and where.
    pub shape: Shape,
}

/// A side of a mark whose size came from a photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum MarkSide {
    /// `from` to `to`.
    Along,
    /// `low` to `high`.
    Across,
}

/// Which photo a mark's size came from, and how sure it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SizedBy {
    /// SHA-256 of the photo.
    pub sha256: String,
    /// The length and its uncertainty; it holds only while the mark has this size.
    pub length: ScaleLength,
}
