//! What a roof repair takes: sheet, tape, sealant and rivets of a front, middle or rear section, or of a whole
//! roof where no sound bow is left to carry a seam. Every line carries its working.
//!
//! The rules are common practice of the trade with the shop's values ([`RoofRules`]); a station is the
//! distance of a bow's front edge from the nose. At every seam the sheet nearer the nose lies on top, so that
//! water runs to the rear: the lower sheet begins at the bow's front edge, the upper one ends a lap behind it,
//! and both lie over the bow. Where seams may lie is in [`crate::takeoff_seams`].

use crate::basis::{Amount, Given, Line};
use crate::body::Plan;
use crate::error::Error;
use crate::mark::Surface;
use crate::measure::{Length, Unit};
use crate::rules::RoofRules;
use crate::takeoff_lines::Roof;
use crate::takeoff_seams::{Finder, Found};
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
    /// Seams of earlier repairs.
    pub seams: Vec<Length>,
    /// Earlier patches on the roof: from and to.
    pub patches: Vec<[Length; 2]>,
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
            seams: plan.roof_seams.clone(),
            patches: plan
                .patches_on(Surface::Roof)
                .map(|patch| [patch.from, patch.to])
                .collect(),
        }
    }

    /// Density of the aluminium sheet that roofs are made of, from memory.
    #[must_use]
    pub fn aluminium() -> Given<Amount> {
        Given::memory(Amount::new(98, 3))
    }

    /// The bows with their numbers, from the nose.
    pub(crate) fn numbered(&self) -> impl Iterator<Item = (u32, Length)> {
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
            if let Err(sentence) = length.measured("body", name) {
                return wrong(name, &sentence);
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
    /// A front section, its seam over a sound bow behind the damage.
    Section,
    /// A middle section between two seams, each over a sound bow.
    MiddleSection,
    /// A rear section, its seam over a sound bow ahead of the damage.
    RearSection,
    /// The whole roof.
    WholeRoof,
}

impl RoofWay {
    /// Whether the roof is opened up to the nose rail.
    #[must_use]
    pub const fn reaches_the_nose(self) -> bool {
        matches!(self, Self::Section | Self::WholeRoof)
    }

    /// Whether it is opened down to the rear header.
    #[must_use]
    pub const fn reaches_the_rear(self) -> bool {
        matches!(self, Self::RearSection | Self::WholeRoof)
    }
}

/// What a roof section or a whole roof takes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, TS)]
pub struct RoofTakeoff {
    /// Section or whole roof.
    pub way: RoofWay,
    /// Number of the bow under the seam behind the damage.
    pub seam_bow: Option<u32>,
    /// Its station.
    pub seam_station: Option<Length>,
    /// Number of the bow under the seam ahead of the damage, of a middle or rear section.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub front_seam_bow: Option<u32>,
    /// Its station.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub front_seam_station: Option<Length>,
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

impl RoofTakeoff {
    /// Where the roof is opened, from the nose: from the front seam or the nose, to the seam or the rear.
    #[must_use]
    pub fn span(&self, body_length: Length) -> [Length; 2] {
        [
            self.front_seam_station.unwrap_or_default(),
            self.seam_station.unwrap_or(body_length),
        ]
    }

    /// How long that is.
    #[must_use]
    pub fn opened_length(&self, body_length: Length) -> Length {
        let [from, to] = self.span(body_length);
        to.minus(from)
    }

    /// All beads of sealant together; `unit` is the one that the takeoff was worked out in.
    pub(crate) fn beads(&self, unit: Unit) -> Length {
        let bead = |line: &&Line| matches!(line.item.as_str(), "seam sealant" | "bow caulk" | "edge sealant");
        let of = |line: &Line| {
            let number = line.quantity.parse().unwrap_or_default();
            Length::from_decimal(number, unit).unwrap_or_default()
        };
        let lines = self.lines.iter().filter(bead);
        lines.fold(Length::ZERO, |sum, line| sum.plus(of(line)))
    }

    /// How many seams the new sheet has.
    #[must_use]
    pub fn seams(&self) -> u32 {
        u32::from(self.seam_station.is_some()).saturating_add(self.front_seam_station.is_some().into())
    }
}

/// The damage that a section has to reach past.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Damage<'a> {
    /// Nearest station.
    pub from: Length,
    /// Farthest station.
    pub to: Length,
    /// Numbers of the bows that are sound; none: all that the damage does not reach.
    pub sound: Option<&'a [u32]>,
    /// Several marks with sound roof between them: only bows that are not among the sound ones are hit.
    pub scattered: bool,
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

    /// Whether a bow can carry a seam, seen from the end of the damage that the seam reaches past.
    pub(crate) fn is_sound(&self, number: u32, station: Length) -> bool {
        self.sound
            .map_or(station <= self.from || station >= self.to, |numbers| {
                numbers.contains(&number)
            })
    }

    /// Touched, or named as unsound. Without a list nothing is known against a bow that the damage does not
    /// touch.
    fn hits(&self, number: u32, station: Length) -> bool {
        let unsound = self.sound.is_some_and(|numbers| !numbers.contains(&number));
        unsound || (!self.scattered && station >= self.from && station <= self.to)
    }
}

/// Works out one way of opening the roof for a damage.
///
/// # Errors
/// A measure that cannot be, a damage outside the body, a bow number that is not there; with JSON pointers
/// as in `bowseam figure roof-section`. Inside: why the way does not fit, in sentences.
pub fn roof_way(
    body: &RoofBody,
    damage: &Damage<'_>,
    way: RoofWay,
    rules: &RoofRules,
    unit: Unit,
) -> Result<Result<RoofTakeoff, Vec<String>>, Error> {
    body.check()?;
    damage.check(body)?;
    let finder = Finder {
        body,
        damage,
        rules,
        unit,
    };
    let (front, seam) = match (way.reaches_the_nose(), way.reaches_the_rear()) {
        (true, true) => (Ok(None), Ok(None)),
        (true, false) => (Ok(None), finder.behind().map(Some)),
        (false, true) => (finder.ahead().map(Some), Ok(None)),
        (false, false) => (finder.ahead().map(Some), finder.behind().map(Some)),
    };
    match (front, seam) {
        (Ok(front), Ok(seam)) => roof(&finder, front, seam).takeoff().map(Ok),
        (front, seam) => {
            let why = front.err().into_iter().chain(seam.err()).flatten();
            Ok(Err(why.collect()))
        }
    }
}

/// Works out a section for a damage; the whole roof, with the reason, if no sound bow is left for a seam.
///
/// # Errors
/// As [`roof_way`].
pub fn roof_section(
    body: &RoofBody,
    damage: &Damage<'_>,
    way: RoofWay,
    rules: &RoofRules,
    unit: Unit,
) -> Result<RoofTakeoff, Error> {
    match roof_way(body, damage, way, rules, unit)? {
        Ok(taken) => Ok(taken),
        Err(why) => Ok(RoofTakeoff {
            why,
            ..whole_roof(body, damage, rules, unit)?
        }),
    }
}

/// Works out the whole roof, though a section might do.
///
/// # Errors
/// As [`roof_way`].
pub fn whole_roof(
    body: &RoofBody,
    damage: &Damage<'_>,
    rules: &RoofRules,
    unit: Unit,
) -> Result<RoofTakeoff, Error> {
    body.check()?;
    damage.check(body)?;
    let finder = Finder {
        body,
        damage,
        rules,
        unit,
    };
    roof(&finder, None, None).takeoff()
}

/// The roof between two seams, or to nose and rear where there is none.
fn roof<'a>(finder: &Finder<'a>, front: Option<Found>, seam: Option<Found>) -> Roof<'a> {
    let (body, damage) = (finder.body, finder.damage);
    let start = front.as_ref().map_or(Length::ZERO, |found| found.station);
    let end = seam.as_ref().map_or(body.length, |found| found.station);
    // A bow under a seam keeps the sheet that stays: it does not lie open.
    let open = |at: Length| at >= start && (front.is_none() || at > start) && (seam.is_none() || at < end);
    let opened: Vec<(u32, Length)> = body.numbered().filter(|(_, at)| open(*at)).collect();
    let hit = opened.iter().filter(|(number, at)| damage.hits(*number, *at));
    let mut why: Vec<String> = front
        .iter()
        .chain(&seam)
        .flat_map(|found| found.why.clone())
        .collect();
    let replaced = |at: Length| front.is_some() && finder.is_over(start, at);
    why.extend(finder.taken_out(&|at| open(at) && !replaced(at)));
    Roof {
        body,
        rules: finder.rules,
        unit: finder.unit,
        hit: hit.map(|(number, _)| *number).collect(),
        opened: opened.iter().map(|(number, _)| *number).collect(),
        front: front.map(|found| (found.bow, found.station)),
        seam: seam.map(|found| (found.bow, found.station)),
        start,
        end,
        why,
    }
}
