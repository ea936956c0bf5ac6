//! What a roof repair takes: sheet, tape, sealant and rivets of a front section, or of a whole roof where no
//! sound bow is left to carry a seam. Every line carries its working.
//!
//! The rules are common practice of the trade with the shop's values ([`RoofRules`]); a station is the
//! distance of a bow's front edge from the nose.

use crate::basis::{Amount, Given, Line};
use crate::body::Plan;
use crate::error::Error;
use crate::measure::{Length, Unit};
use crate::rules::RoofRules;
use crate::takeoff_lines::Roof;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// Most bows, and most rivet holes in a row, that a body can have here.
pub const MOST: usize = 2_000;

/// The measures of a body that a roof takeoff needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoofBody {
    /// Outside length, nose to rear.
    pub length: Length,
    /// Top rail outside to top rail outside.
    pub rail_width_outside: Length,
    /// Stations of the bows.
    pub bows: Vec<Length>,
    /// Pitch of the rivet holes in the top rails.
    pub rail_hole_pitch: Length,
    /// Thickness of the roof sheet.
    pub roof_sheet: Length,
    /// Density of the sheet, pounds in a cubic inch.
    pub density: Given<Amount>,
}

impl RoofBody {
    /// Of a body plan; the sheet is taken as aluminium.
    #[must_use]
    pub fn of(plan: &Plan) -> Self {
        Self {
            length: plan.length,
            rail_width_outside: plan.rail_width_outside,
            bows: plan.bows.clone(),
            rail_hole_pitch: plan.rail_hole_pitch,
            roof_sheet: plan.roof_sheet,
            density: Self::aluminium(),
        }
    }

    /// Density of the aluminium sheet that roofs are made of, from memory.
    #[must_use]
    pub fn aluminium() -> Given<Amount> {
        Given::memory(Amount::new(98, 3))
    }

    fn check(&self) -> Result<(), Error> {
        let wrong =
            |field: &str, sentence: &str| Err(Error::new("roof_body", sentence).at(format!("/body/{field}")));
        let sound = [
            self.length,
            self.rail_width_outside,
            self.rail_hole_pitch,
            self.roof_sheet,
        ];
        let names = ["length", "rail_width_outside", "rail_hole_pitch", "roof_sheet"];
        for (length, name) in sound.into_iter().zip(names) {
            if !length.is_sound() || length == Length::ZERO {
                return wrong(name, "This measure must be more than 0 and at most 100 m.");
            }
        }
        if self.bows.len() > MOST {
            return wrong("bows", "A body has at most 2000 bows here.");
        }
        let mut before = Length::ZERO;
        for station in &self.bows {
            if *station <= before || *station > self.length {
                return wrong(
                    "bows",
                    "Stations of bows rise from the nose (above 0) to the rear, none twice, none behind the body's end.",
                );
            }
            before = *station;
        }
        Ok(())
    }
}

/// How the roof is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum RoofWay {
    /// A front section, its seam over a sound bow.
    Section,
    /// The whole roof.
    WholeRoof,
}

/// What a roof section or a whole roof takes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, TS)]
pub struct RoofTakeoff {
    /// Section or whole roof.
    pub way: RoofWay,
    /// Number of the bow under the seam.
    pub seam_bow: Option<u32>,
    /// Its station.
    pub seam_station: Option<Length>,
    /// Bows that the damage hit, and those named as unsound ahead of the seam.
    pub bows_hit: Vec<u32>,
    /// Bows that lie open.
    pub bows_opened: Vec<u32>,
    /// Length of sheet to cut.
    pub rough_length: Length,
    /// Width of sheet to buy; none if no width on sale is enough.
    pub rough_width: Option<Length>,
    /// Length as it stays on the roof.
    pub finished_length: Length,
    /// Width as it stays on the roof.
    pub finished_width: Length,
    /// Weight of the rough sheet, pounds.
    pub weight_rough_lb: Amount,
    /// Weight of the finished sheet, pounds.
    pub weight_finished_lb: Amount,
    /// Long enough that it is lifted and its bows caulked.
    pub large: bool,
    /// The takeoff.
    pub lines: Vec<Line>,
    /// Why this way.
    pub why: Vec<String>,
    /// What to look at before trusting it.
    pub warnings: Vec<String>,
}

/// Works out a roof section for damage between two stations. `sound` names the bows that are sound; none:
/// all that lie at or behind the damage's end.
///
/// # Errors
/// A measure that cannot be, a damage outside the body, a bow number that is not there; with JSON pointers
/// as in `bowseam figure roof-section`.
pub fn roof_section(
    body: &RoofBody,
    from: Length,
    to: Length,
    sound: Option<&[u32]>,
    rules: &RoofRules,
    unit: Unit,
) -> Result<RoofTakeoff, Error> {
    body.check()?;
    let wrong = |at: &str, sentence: &str| Error::new("roof_damage", sentence).at(at);
    if from > to || !from.is_sound() {
        return Err(wrong(
            "/damage/to",
            "Damage runs back from the nose: “to” is at or behind “from”.",
        ));
    }
    if to > body.length {
        return Err(wrong("/damage/to", "The damage ends behind the body's end."));
    }
    let last = u32::try_from(body.bows.len()).unwrap_or(u32::MAX);
    if sound.is_some_and(|numbers| numbers.iter().any(|n| *n == 0 || *n > last)) {
        let sentence = format!("Bows are numbered from the nose, 1 to {last}.");
        return Err(wrong("/sound_bows", &sentence));
    }
    let bows = || (1_u32..).zip(body.bows.iter().copied());
    let is_sound =
        |number: u32, station: Length| sound.map_or(station >= to, |numbers| numbers.contains(&number));
    let earliest = to.plus(rules.seam_margin.value);
    let seam = bows().find(|(number, station)| *station >= earliest && is_sound(*number, *station));
    let end = seam.map_or(body.length, |(_, station)| station);
    let opened = || bows().filter(|(_, station)| seam.is_none() || *station < end);
    // Without a list of sound bows nothing is known against a bow that the damage does not touch.
    let unsound = |number: u32| sound.is_some_and(|numbers| !numbers.contains(&number));
    let hit = opened().filter(|(number, station)| (*station >= from && *station <= to) || unsound(*number));
    let roof = Roof {
        body,
        rules,
        unit,
        seam,
        end,
        hit: hit.map(|(number, _)| number).collect(),
        opened: opened().map(|(number, _)| number).collect(),
    };
    roof.takeoff(to)
}
