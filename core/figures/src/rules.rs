//! The practice values of a roof section and of riveting: what a shop may change, what it starts with, and
//! where each starting value comes from.

use crate::basis::{Amount, Given};
use crate::measure::Length;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// Rules of a roof section.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(default, deny_unknown_fields)]
pub struct RoofRules {
    /// Sound sheet wanted between the last damage and the seam.
    pub seam_margin: Given<Length>,
    /// How far the new sheet laps over the old one.
    pub seam_lap: Given<Length>,
    /// Sheet at the nose for the stretching plates, trimmed off afterwards.
    pub stretch_extra: Given<Length>,
    /// Sheet rolled down over each top rail.
    pub edge: Given<Length>,
    /// Sheet that stays in front of the nose rail.
    pub front_edge: Given<Length>,
    /// Rows of structural tape in the seam.
    pub tape_rows: Given<u32>,
    /// Rivets of the seam into each top rail.
    pub seam_rivets_a_side: Given<u32>,
    /// Sealant beside the seam on each top rail.
    pub seam_sealant_on_rail: Given<Length>,
    /// Rivets of rails and nose rail.
    pub rivet_diameter: Given<Length>,
    /// Seam station from which a section is large: it is lifted and its bows are caulked.
    pub large_section_from: Given<Length>,
    /// Whether rolled edges are sealed.
    pub seal_edges: Given<bool>,
    /// Width and height of a bead of sealant.
    pub bead: Given<[Length; 2]>,
    /// Sealant lost, as a share of what is laid.
    pub waste: Given<Amount>,
    /// What a cartridge holds, in US fluid ounces.
    pub cartridge_fl_oz: Given<Amount>,
    /// Widths of roof sheet that can be bought; empty: any.
    pub sheet_widths: Given<Vec<Length>>,
}

impl Default for RoofRules {
    fn default() -> Self {
        let edge = Length::sixty_fourths(24);
        let bead = Length::sixty_fourths(16);
        Self {
            seam_margin: Given::memory(Length::inches(2)),
            seam_lap: Given::memory(Length::inches(2)),
            stretch_extra: Given::practice(Length::inches(5)),
            edge: Given::practice(edge),
            front_edge: Given::practice(edge),
            tape_rows: Given::practice(2),
            seam_rivets_a_side: Given::practice(3),
            seam_sealant_on_rail: Given::practice(Length::inches(3)),
            rivet_diameter: Given::memory(Length::sixty_fourths(12)),
            large_section_from: Given::memory(Length::inches(96)),
            seal_edges: Given::shop(false),
            bead: Given::shop([bead, bead]),
            waste: Given::shop(Amount::new(10, 2)),
            cartridge_fl_oz: Given::practice(Amount::new(101, 1)),
            sheet_widths: Given::shop(Vec::new()),
        }
    }
}

/// A grip range of blind rivets as the shop buys them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(deny_unknown_fields)]
pub struct GripRange {
    /// What the shop calls it.
    pub name: String,
    /// Rivet diameter.
    pub diameter: Length,
    /// Thinnest grip.
    pub from: Length,
    /// Thickest grip.
    pub to: Length,
}

/// Rules of riveting.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, TS)]
#[serde(default, deny_unknown_fields)]
pub struct RivetRules {
    /// Pitch wanted; none: 4 diameters.
    pub pitch: Option<Length>,
    /// Blind rivets in the shop, by grip.
    pub grip_ranges: Vec<GripRange>,
}
