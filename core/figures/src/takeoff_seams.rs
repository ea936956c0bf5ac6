//! Where the seams of a roof section may lie: over a sound bow, past the damage, and clear of the seams and
//! patches of earlier repairs. A seam that may not lie over the nearest bow moves on to the next, and says why.

use crate::measure::{Length, Unit};
use crate::rules::RoofRules;
use crate::takeoff::{Damage, RoofBody};

/// Looks for seams on one roof.
pub(crate) struct Finder<'a> {
    pub body: &'a RoofBody,
    pub damage: &'a Damage<'a>,
    pub rules: &'a RoofRules,
    pub unit: Unit,
}

/// A bow that carries a seam.
pub(crate) struct Found {
    pub bow: u32,
    pub station: Length,
    pub why: Vec<String>,
}

/// On which side of the damage a seam lies.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Ahead,
    Behind,
}

impl Finder<'_> {
    /// The seam behind the damage: over the first sound bow past it and the margin.
    pub fn behind(&self) -> Result<Found, Vec<String>> {
        let (end, margin) = (self.damage.to, self.rules.seam_margin.value);
        let earliest = end.plus(margin);
        let bows = self.sound().into_iter().filter(|(_, at)| *at >= earliest);
        let (end, margin) = (self.say(end), self.say(margin));
        self.first(
            bows.collect(),
            Side::Behind,
            |bow, station| {
                format!("Bow {bow} at station {station} is the first sound bow at least {margin} behind the damage's end at station {end}.")
            },
            format!("No sound bow lies {margin} or more behind the damage's end at station {end}, so a seam has nothing under it."),
        )
    }

    /// The seam ahead of the damage. The old sheet that stays there ends a lap behind the bow's front, and that
    /// end keeps the margin from the damage.
    pub fn ahead(&self) -> Result<Found, Vec<String>> {
        let (lap, margin) = (self.rules.seam_lap.value, self.rules.seam_margin.value);
        let start = self.damage.from;
        let latest = start.minus(margin).minus(lap);
        let mut bows: Vec<(u32, Length)> = self.sound().into_iter().filter(|(_, at)| *at <= latest).collect();
        bows.reverse();
        let (whole, start) = (self.say(lap.plus(margin)), self.say(start));
        let parts = format!("{} of lap and {} of sound sheet", self.say(lap), self.say(margin));
        self.first(
            bows,
            Side::Ahead,
            |bow, station| {
                format!("Bow {bow} at station {station} is the nearest sound bow at least {whole} ahead of the damage's start at station {start} ({parts}).")
            },
            format!("No sound bow lies {whole} or more ahead of the damage's start at station {start} ({parts}), so a seam there has nothing under it."),
        )
    }

    /// Seams and patches of earlier repairs that come out with the old sheet, in sentences.
    pub fn taken_out(&self, open: &impl Fn(Length) -> bool) -> Vec<String> {
        let seams = self.body.seams.iter().filter(|seam| open(**seam));
        let patches = self
            .body
            .patches
            .iter()
            .filter(|[from, to]| open(*from) && open(*to));
        seams
            .map(|seam| {
                format!(
                    "The old seam at station {} comes out with the old sheet.",
                    self.say(*seam)
                )
            })
            .chain(patches.map(|[from, to]| {
                let (from, to) = (self.say(*from), self.say(*to));
                format!("The earlier patch from station {from} to {to} comes out with the old sheet.")
            }))
            .collect()
    }

    fn say(&self, length: Length) -> String {
        length.say(self.unit)
    }

    fn sound(&self) -> Vec<(u32, Length)> {
        let sound = |(number, at): &(u32, Length)| self.damage.is_sound(*number, *at);
        self.body.numbered().filter(sound).collect()
    }

    /// The first of some bows, nearest first, over which a seam may lie.
    fn first(
        &self,
        bows: Vec<(u32, Length)>,
        side: Side,
        nearest: impl Fn(u32, String) -> String,
        none: String,
    ) -> Result<Found, Vec<String>> {
        let mut why = Vec::new();
        for (bow, station) in bows {
            let said = self.say(station);
            if let Some(reason) = self.shut(station, side) {
                why.push(format!("No seam over bow {bow} at station {said}: {reason}"));
                continue;
            }
            why.push(if why.is_empty() {
                nearest(bow, said)
            } else {
                format!("Bow {bow} at station {said} is the next sound bow that may carry the seam.")
            });
            let replaced = self.body.seams.iter().find(|seam| self.is_over(station, **seam));
            why.extend(replaced.map(|seam| {
                let seam = self.say(*seam);
                format!("The old seam at station {seam} lies over this bow: the new seam takes its place.")
            }));
            return Ok(Found { bow, station, why });
        }
        why.push(if why.is_empty() {
            none
        } else {
            "No other sound bow is left on that side of the damage.".to_owned()
        });
        Err(why)
    }

    /// Whether an old seam is the one over the bow at a station. What is seen of a seam is the upper sheet's
    /// edge, up to a lap behind the bow's front.
    pub fn is_over(&self, station: Length, seam: Length) -> bool {
        seam >= station && seam.minus(station) <= self.rules.seam_lap.value
    }

    /// Why a new seam may not lie over the bow at a station; none if it may.
    fn shut(&self, station: Length, side: Side) -> Option<String> {
        let (clear, strip) = (self.rules.seam_clear.value, self.rules.seam_strip.value);
        let freed = self.rules.seam_freed.value;
        if side == Side::Ahead && station < freed {
            let freed = self.say(freed);
            return Some(format!(
                "the sheet ahead is freed for {freed}, and the nose rail is nearer; open it from the nose."
            ));
        }
        let others = self
            .body
            .seams
            .iter()
            .filter(|seam| !self.is_over(station, **seam));
        for seam in others {
            let (apart, said) = (seam.apart(station), self.say(*seam));
            if apart < clear {
                let clear = self.say(clear);
                return Some(format!(
                    "it would be nearer than {clear} to the old seam at station {said} (shop rule)."
                ));
            }
            let stays = match side {
                Side::Ahead => *seam < station,
                Side::Behind => *seam > station,
            };
            if stays && apart < strip {
                let (apart, strip) = (self.say(apart), self.say(strip));
                return Some(format!(
                    "only {apart} of old sheet would stay between it and the old seam at station {said}; at least {strip} has to (shop rule)."
                ));
            }
        }
        let upper_end = station.plus(self.rules.seam_lap.value);
        let near = |[from, to]: &&[Length; 2]| upper_end > from.minus(clear) && station < to.plus(clear);
        self.body.patches.iter().find(near).map(|[from, to]| {
            let (from, to, clear) = (self.say(*from), self.say(*to), self.say(clear));
            format!("it would come nearer than {clear} to the earlier patch from station {from} to {to} (shop rule).")
        })
    }
}
