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

    fn numbered(&self) -> impl Iterator<Item = (u32, Length)> {
        (1_u32..).zip(self.bows.iter().copied())
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

/// The damage that a section has to reach past.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Damage<'a> {
    /// Nearest station.
    pub from: Length,
    /// Farthest station.
    pub to: Length,
    /// Numbers of the bows that are sound; none: all that lie at or behind the damage's end.
    pub sound: Option<&'a [u32]>,
}

impl Damage<'_> {
    fn check(&self, body: &RoofBody) -> Result<(), Error> {
        let wrong = |at: &str, sentence: &str| Err(Error::new("roof_damage", sentence).at(at));
        if self.from > self.to || !self.from.is_sound() {
            return wrong(
                "/damage/to",
                "Damage runs back from the nose: “to” is at or behind “from”.",
            );
        }
        if self.to > body.length {
            return wrong("/damage/to", "The damage ends behind the body's end.");
        }
        let last = u32::try_from(body.bows.len()).unwrap_or(u32::MAX);
        if self
            .sound
            .is_some_and(|numbers| numbers.iter().any(|n| *n == 0 || *n > last))
        {
            return wrong(
                "/sound_bows",
                &format!("Bows are numbered from the nose, 1 to {last}."),
            );
        }
        Ok(())
    }

    fn is_sound(&self, number: u32, station: Length) -> bool {
        self.sound
            .map_or(station >= self.to, |numbers| numbers.contains(&number))
    }

    /// Touched, or named as unsound. Without a list nothing is known against a bow that the damage does not
    /// touch.
    fn hits(&self, number: u32, station: Length) -> bool {
        let unsound = self.sound.is_some_and(|numbers| !numbers.contains(&number));
        unsound || (station >= self.from && station <= self.to)
    }
}

/// Works out a front section for a damage; the whole roof, if no sound bow is left for a seam.
///
/// # Errors
/// A measure that cannot be, a damage outside the body, a bow number that is not there; with JSON pointers
/// as in `bowseam figure roof-section`.
pub fn roof_section(
    body: &RoofBody,
    damage: &Damage<'_>,
    rules: &RoofRules,
    unit: Unit,
) -> Result<RoofTakeoff, Error> {
    body.check()?;
    damage.check(body)?;
    let earliest = damage.to.plus(rules.seam_margin.value);
    let seam = body
        .numbered()
        .find(|(number, at)| *at >= earliest && damage.is_sound(*number, *at));
    Roof::new(body, damage, rules, unit, seam).takeoff(damage.to)
}

/// Works out the whole roof, though a section might do.
///
/// # Errors
/// As [`roof_section`].
pub fn whole_roof(
    body: &RoofBody,
    damage: &Damage<'_>,
    rules: &RoofRules,
    unit: Unit,
) -> Result<RoofTakeoff, Error> {
    body.check()?;
    damage.check(body)?;
    Roof::new(body, damage, rules, unit, None).takeoff(damage.to)
}

impl<'a> Roof<'a> {
    fn new(
        body: &'a RoofBody,
        damage: &Damage<'_>,
        rules: &'a RoofRules,
        unit: Unit,
        seam: Option<(u32, Length)>,
    ) -> Self {
        let end = seam.map_or(body.length, |(_, station)| station);
        let opened: Vec<(u32, Length)> = body
            .numbered()
            .filter(|(_, at)| seam.is_none() || *at < end)
            .collect();
        let hit = opened
            .iter()
            .filter(|(number, at)| damage.hits(*number, *at))
            .map(|(number, _)| *number)
            .collect();
        Roof {
            body,
            rules,
            unit,
            seam,
            end,
            hit,
            opened: opened.iter().map(|(number, _)| *number).collect(),
        }
    }
}
