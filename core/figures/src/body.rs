//! The body plan of one unit: its measures, bows, posts and sheets, and the fold-out (the body unfolded
//! like a sheet-metal development) that the screens draw.

use crate::measure::Length;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// The measures of one unit's body. Every one is entered for the unit, or is a starting value of its body
/// type that is named as *not measured on this unit* wherever a figure rests on it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Plan {
    /// Outside length, nose to rear.
    pub length: Length,
    /// Outside width.
    pub width: Length,
    /// Height of the side, bottom rail to top rail.
    pub side_height: Length,
    /// Top rail outside to top rail outside.
    pub rail_width_outside: Length,
    /// Stations of the front edges of the roof bows, from the nose; bow 1 is the first.
    pub bows: Vec<Length>,
    /// Stations of the side posts; post 1 is the first.
    pub posts: Vec<Length>,
    /// Stations where side sheets lap.
    pub side_joints: Vec<Length>,
    /// Pitch of the rivet holes in the top rails.
    pub rail_hole_pitch: Length,
    /// Thickness of the roof sheet.
    pub roof_sheet: Length,
    /// Thickness of the side sheet.
    pub side_sheet: Length,
    /// Sides of composite plate: no solid-rivet joint maths applies there.
    pub composite_sides: bool,
    /// Seams of earlier roof repairs (stations).
    pub roof_seams: Vec<Length>,
}

/// A line to draw on the fold-out, in the fold-out's own coordinates (x to the right, y down, nose up).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Drawn {
    /// What it is: `bow`, `post`, `rail`, `sheet_joint`, `roof_seam`, `door`.
    pub what: String,
    /// Its number from the nose, where it has one.
    pub number: Option<u32>,
    /// Ends: x1, y1, x2, y2.
    pub line: [Length; 4],
}

/// One face of the fold-out: where it lies, and how its own measures run there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Face {
    /// Which face.
    pub surface: crate::mark::Surface,
    /// Left, top, width, height in the fold-out.
    pub rect: [Length; 4],
}

/// The body unfolded: faces and lines of one sheet (outside, or inside).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct FoldOut {
    /// Width and height of the whole drawing.
    pub size: [Length; 2],
    /// The faces.
    pub faces: Vec<Face>,
    /// Bows, posts, rails, joints.
    pub lines: Vec<Drawn>,
}
