//! Marks: damage put where it sits on the unfolded body, to scale, and the parts that it hits.

use crate::measure::Length;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// A face of the body on which a mark can lie. *Inside* is three faces; the floor is walked with them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "each is its own trade word")]
pub enum Surface {
    Nose,
    Curbside,
    Rear,
    Roadside,
    Roof,
    InsideNose,
    InsideCurbside,
    InsideRoadside,
    Floor,
}

/// What is wrong, in trade words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "each is its own trade word")]
pub enum DamageKind {
    Hole,
    Tear,
    Crease,
    Dent,
    Bend,
    Crack,
    Gouge,
    Corrosion,
    LooseFasteners,
    Missing,
    Broken,
    Leak,
    Delamination,
    WaterStained,
}

/// Old damage and new are kept apart: it decides who pays.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "each is its own trade word")]
pub enum Age {
    Old,
    New,
    NotKnown,
}

/// A rectangle on a surface. On the roof, the sides (outside and inside) and the floor `from` and `to` are
/// stations, back from the nose; on nose and rear (and the inside of the nose) they are measured from the
/// roadside edge. `low` and `high`: on walls the height above the bottom rail, on roof and floor the
/// distance from the roadside edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Place {
    /// The face.
    pub surface: Surface,
    /// Nearer end.
    pub from: Length,
    /// Farther end.
    pub to: Length,
    /// Lower edge.
    pub low: Length,
    /// Upper edge.
    pub high: Length,
}

/// A part of the body, in the trade's word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "each is its own trade word")]
pub enum Part {
    NoseWall,
    NoseRail,
    CornerPost,
    CornerCap,
    TopRail,
    BottomRail,
    RoofSheet,
    RoofBow,
    FrontRoofBow,
    RearHeader,
    RearFrame,
    SideSheet,
    SidePost,
    ScuffBand,
    Lining,
    Floor,
    Crossmember,
    Kingpin,
    LandingGear,
    MudFlap,
    RearGuard,
    Door,
    Hinge,
    Lamp,
    Harness,
    ReflectiveSheeting,
    Decal,
}

/// A part that a mark reaches, with its numbers from the nose where the part has numbers (bows, posts, sheets).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct PartHit {
    /// The part.
    pub part: Part,
    /// Its numbers, from the nose; empty where the part has none.
    pub numbers: Vec<u32>,
    /// Hidden behind the sheet: to be looked at when open, not seen yet.
    pub hidden: bool,
}

/// One mark as the figures need it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Mark {
    /// Its id, as text; figures only carry it through.
    pub id: String,
    /// Where and how large.
    pub place: Place,
    /// What is wrong.
    pub kind: DamageKind,
    /// The part it was put on.
    pub part: Part,
    /// Old or new.
    pub age: Age,
}
