//! The body plan of one unit: its measures, bows, posts and sheets. How it is unfolded for drawing is in
//! [`crate::unfold`].

use crate::basis::Standing;
use crate::error::Error;
use crate::mark::{Place, Surface};
use crate::measure::Length;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// Most bows, posts or joints of one body.
const MOST_STATIONS: usize = 500;

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
    /// Thickness of the flange of the rails that sheet is riveted to; none: the shop book's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rail_flange: Option<Length>,
    /// Thickness of the flange of the posts that sheet is riveted to; none: the shop book's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub post_flange: Option<Length>,
    /// The same of the rear header.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub header_flange: Option<Length>,
    /// Thickness of the end clips of the bows; none: the shop book's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bow_end: Option<Length>,
    /// Thickness of the corner caps; none: the shop book's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub corner_cap: Option<Length>,
    /// Thickness of the roof sheet.
    pub roof_sheet: Length,
    /// Thickness of the side sheet.
    pub side_sheet: Length,
    /// Sides of composite plate: no solid-rivet joint maths applies there.
    pub composite_sides: bool,
    /// Seams of earlier roof repairs (stations).
    pub roof_seams: Vec<Length>,
    /// Patches of earlier repairs, on the roof and the sides.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub earlier_patches: Vec<Place>,
}

/// A body type whose usual measures are a start. None of them was measured on the unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
pub enum BodyType {
    /// Dry van, 53 ft.
    #[serde(rename = "dry_van_53")]
    DryVan53,
    /// Dry van, 48 ft.
    #[serde(rename = "dry_van_48")]
    DryVan48,
    /// Dry van, 28 ft.
    #[serde(rename = "dry_van_28")]
    DryVan28,
}

impl BodyType {
    /// All of them, the commonest first.
    pub const ALL: [Self; 3] = [Self::DryVan53, Self::DryVan48, Self::DryVan28];

    /// Its key in stored entries.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::DryVan53 => "dry_van_53",
            Self::DryVan48 => "dry_van_48",
            Self::DryVan28 => "dry_van_28",
        }
    }

    /// As it is read.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::DryVan53 => "Dry van, 53 ft",
            Self::DryVan48 => "Dry van, 48 ft",
            Self::DryVan28 => "Dry van, 28 ft",
        }
    }

    /// By its key.
    #[must_use]
    pub fn by_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|body| body.key() == key)
    }

    /// The starting plan.
    #[must_use]
    pub fn plan(self) -> Plan {
        let feet = match self {
            Self::DryVan53 => 53,
            Self::DryVan48 => 48,
            Self::DryVan28 => 28,
        };
        let length = Length::inches(12).times(feet);
        Plan {
            length,
            width: Length::inches(102),
            side_height: Length::inches(110),
            rail_width_outside: Length::sixty_fourths(101 * 64 + 32),
            bows: every(Length::inches(24), length, Length::inches(12)),
            posts: every(Length::inches(16), length, Length::inches(8)),
            side_joints: every(Length::inches(48), length, Length::inches(24)),
            rail_hole_pitch: Length::inches(4),
            rail_flange: None,
            post_flange: None,
            header_flange: None,
            bow_end: None,
            corner_cap: None,
            roof_sheet: Length::thousandths(40),
            side_sheet: Length::thousandths(40),
            composite_sides: false,
            roof_seams: Vec::new(),
            earlier_patches: Vec::new(),
        }
    }

    /// Where the starting value of a measure comes from, by the measure's name in [`Plan`].
    #[must_use]
    pub fn standing(self, measure: &str) -> Standing {
        match measure {
            "length" | "width" => Standing::CommonPractice,
            _ => Standing::Memory,
        }
    }
}

/// Stations at an even spacing, the last one at least `clear` ahead of the rear.
fn every(spacing: Length, length: Length, clear: Length) -> Vec<Length> {
    let count = length.minus(clear).holds(spacing).unwrap_or_default();
    (1..=count).map(|i| spacing.times(i)).collect()
}

impl Plan {
    /// Whether the plan can be worked with.
    ///
    /// # Errors
    /// The first measure that cannot be, with a pointer such as `/bows`.
    pub fn check(&self) -> Result<(), Error> {
        let wrong = |name: &str, code: &str, sentence: &str| {
            let of = format!("The body's {}: {sentence}", name.replace('_', " "));
            Err(Error::new(code, of).at(format!("/{name}")))
        };
        for (name, length) in self.lengths() {
            let refused = |sentence| Error::new("plan_measure", sentence).at(format!("/{name}"));
            length.measured("body", name).map_err(refused)?;
        }
        let thin = |flange: Length| flange > Length::ZERO && flange <= Length::inches(1);
        for (name, flange) in [
            ("rail_flange", self.rail_flange),
            ("post_flange", self.post_flange),
            ("header_flange", self.header_flange),
            ("bow_end", self.bow_end),
            ("corner_cap", self.corner_cap),
        ] {
            if flange.is_some_and(|flange| !thin(flange)) {
                let sentence = "a thickness of more than 0 and at most 1 in (25.4 mm) is accepted.";
                return wrong(name, "plan_measure", sentence);
            }
        }
        if self.rail_width_outside > self.width {
            let sentence = "no wider than the body is accepted. Check it, and the outside width.";
            return wrong("rail_width_outside", "plan_rails", sentence);
        }
        for (name, stations) in self.stations() {
            if stations.len() > MOST_STATIONS {
                return wrong(name, "plan_stations", "up to 500 stations are accepted.");
            }
            let rising = stations.iter().zip(stations.iter().skip(1)).all(|(a, b)| a < b);
            let inside = stations.iter().all(|s| *s > Length::ZERO && *s <= self.length);
            if !rising || !inside {
                let sentence = "stations that rise from the nose (above 0) to the rear are accepted, none twice, none behind the body's end.";
                return wrong(name, "plan_stations", sentence);
            }
        }
        if self.earlier_patches.len() > MOST_STATIONS {
            return wrong("earlier_patches", "plan_patches", "up to 500 are accepted.");
        }
        let lies_there = |patch: &Place| !patch.surface.is_inside() && patch.check(self).is_ok();
        if !self.earlier_patches.iter().all(lies_there) {
            let sentence = "each lies on the outside of the body, its ends in order and within the face.";
            return wrong("earlier_patches", "plan_patches", sentence);
        }
        Ok(())
    }

    /// Stations of the side posts; a body of composite plate has none, whatever its type starts with.
    #[must_use]
    pub fn side_posts(&self) -> &[Length] {
        if self.composite_sides { &[] } else { &self.posts }
    }

    /// Earlier patches on one surface.
    pub fn patches_on(&self, surface: Surface) -> impl Iterator<Item = &Place> {
        self.earlier_patches
            .iter()
            .filter(move |patch| patch.surface == surface)
    }

    const fn lengths(&self) -> [(&'static str, Length); 7] {
        [
            ("length", self.length),
            ("width", self.width),
            ("side_height", self.side_height),
            ("rail_width_outside", self.rail_width_outside),
            ("rail_hole_pitch", self.rail_hole_pitch),
            ("roof_sheet", self.roof_sheet),
            ("side_sheet", self.side_sheet),
        ]
    }

    const fn stations(&self) -> [(&'static str, &Vec<Length>); 4] {
        [
            ("bows", &self.bows),
            ("posts", &self.posts),
            ("side_joints", &self.side_joints),
            ("roof_seams", &self.roof_seams),
        ]
    }

    /// How far a surface reaches: along `from`/`to`, and along `low`/`high`.
    #[must_use]
    pub const fn extent(&self, surface: Surface) -> (Length, Length) {
        match surface {
            Surface::Nose | Surface::Rear | Surface::InsideNose => (self.width, self.side_height),
            Surface::Roof | Surface::Floor => (self.length, self.width),
            Surface::Curbside | Surface::Roadside | Surface::InsideCurbside | Surface::InsideRoadside => {
                (self.length, self.side_height)
            }
        }
    }
}

pub use crate::unfold::{Drawn, Face, FoldOut, fold_out};
