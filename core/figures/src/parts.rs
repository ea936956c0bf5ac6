//! Ways of fixing the parts of the body that are neither roof sheet nor side sheet: walls, rails, bows, posts,
//! lining, floor, doors and fittings. A table by part and damage says which ways there are; each way is one
//! function from the mark, the body plan and the shop book to its takeoff, material, hours, and what has to be on
//! hand.
//!
//! Nothing here is a number for structure that only the maker may decide: see [`crate::group::asks_the_maker`].
//! Sheet that leaks or is loose at its fasteners is here too, since no new sheet mends that.

mod common;
mod fittings;
mod floor;
mod inside;
mod make;
mod posts;
mod rails;
mod rules;
mod walls;

pub use rules::{PartHours, PartPrices, PartRules};

use crate::basis::Line;
use crate::bill::Bought;
use crate::body::Plan;
use crate::cut::Need;
use crate::error::Error;
use crate::group::WayKey;
use crate::mark::{DamageKind, Mark, Part};
use crate::measure::{Length, Unit};
use crate::shop::Book;
use make::{Make, Making};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// A measure or count that the steps speak of, by its name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Fact {
    /// Its name, as in the text of a step: `{piece}`.
    pub name: String,
    /// As it is read.
    pub said: String,
    /// The length, if it is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<Length>,
}

/// What has to lie ready before the work on a part begins.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct OnHand {
    /// The item.
    pub item: String,
    /// How much of it, in words.
    pub wanted: String,
}

/// What one way takes on one mark.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct PartTakeoff {
    /// The mark's id.
    pub mark: String,
    /// Its part.
    pub part: Part,
    /// The way.
    pub way: WayKey,
    /// The way as it is read.
    pub title: String,
    /// Why it fits, in sentences.
    pub why: Vec<String>,
    /// The takeoff.
    pub lines: Vec<Line>,
    /// What is cut from stock.
    pub needs: Vec<Need>,
    /// What has to lie ready.
    pub on_hand: Vec<OnHand>,
    /// Measures and counts for the steps.
    pub facts: Vec<Fact>,
    /// Numbers of the bows or posts, from the nose.
    pub numbers: Vec<u32>,
    /// The shop book's task that most of its hours belong to.
    pub task: String,
    /// How many people.
    pub people: u32,
    /// The lining comes out of the way.
    pub lining: bool,
    /// It keeps water out: cure and leak test follow.
    pub wet: bool,
    /// It fits only up to a depth, and the mark's was not measured.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub depth_open: bool,
    /// What to look at.
    pub warnings: Vec<String>,
}

/// Damage as the ways look at it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Harm {
    /// Out of shape, in one piece.
    Bent,
    /// Open, broken through, or gone.
    Open,
    /// Cracked: it runs on.
    Cracked,
    /// Surface alone.
    Worn,
    /// Fasteners.
    Loose,
    /// Water comes or came through.
    Wet,
    /// Layers apart.
    Layers,
}

const fn harm(kind: DamageKind) -> Harm {
    match kind {
        DamageKind::Dent | DamageKind::Bend | DamageKind::Crease => Harm::Bent,
        DamageKind::Hole | DamageKind::Tear | DamageKind::Broken | DamageKind::Missing => Harm::Open,
        DamageKind::Crack => Harm::Cracked,
        DamageKind::Gouge | DamageKind::Corrosion => Harm::Worn,
        DamageKind::LooseFasteners => Harm::Loose,
        DamageKind::Leak | DamageKind::WaterStained => Harm::Wet,
        DamageKind::Delamination => Harm::Layers,
    }
}

/// A way that a part and damage have.
#[derive(Clone, Copy)]
pub(crate) struct Offer {
    pub way: WayKey,
    pub title: &'static str,
    make: Make,
}

const fn offer(way: WayKey, title: &'static str, make: Make) -> Offer {
    Offer { way, title, make }
}

/// The ways of a mark, small to large; empty where this module has none.
pub(crate) fn offers(plan: &Plan, mark: &Mark) -> &'static [Offer] {
    let harm = harm(mark.kind);
    match mark.part {
        Part::NoseWall | Part::SidePost if plan.composite_sides => &[],
        Part::NoseWall | Part::Door | Part::SideSheet | Part::RoofSheet => walls::offers(mark.part, harm),
        Part::NoseRail
        | Part::TopRail
        | Part::BottomRail
        | Part::RearHeader
        | Part::RoofBow
        | Part::FrontRoofBow
        | Part::CornerCap => rails::offers(mark.part, harm),
        Part::CornerPost | Part::SidePost => posts::offers(mark.part, harm),
        Part::Lining | Part::ScuffBand => inside::offers(mark.part, harm),
        Part::Floor => floor::offers(harm),
        Part::Hinge
        | Part::RearGuard
        | Part::Lamp
        | Part::Harness
        | Part::MudFlap
        | Part::ReflectiveSheeting
        | Part::Decal => fittings::offers(mark.part, harm),
        Part::RearFrame | Part::Kingpin | Part::LandingGear | Part::Crossmember => &[],
    }
}

/// Why this module has no way for a mark.
pub(crate) fn none_because(plan: &Plan, mark: &Mark) -> String {
    let (part, kind) = (mark.part.word(), mark.kind.word());
    if mark.part == Part::NoseWall && plan.composite_sides {
        return "The body is of composite plate: no solid-rivet joint is figured there, the maker's data decide."
            .to_owned();
    }
    if mark.part == Part::SidePost && plan.composite_sides {
        return "The sides are composite plate and have no posts: put the mark on the side sheet, or look whether the sides are sheet on posts after all."
            .to_owned();
    }
    format!(
        "No way of the trade is known here for a {part} with this damage ({kind}): look whether part and kind of the mark are right."
    )
}

/// When the maker is asked instead of a way that is figured here; none where that never is the case.
pub(crate) const fn maker_instead(mark: &Mark) -> Option<&'static str> {
    match (mark.part, harm(mark.kind)) {
        (Part::RearGuard, _) => Some(
            "Welded on, or its brackets or the frame behind it are bent or cracked: only as the maker says.",
        ),
        (_, Harm::Loose | Harm::Wet | Harm::Layers) => None,
        (Part::TopRail, _) => Some(
            "A crack, a weld or a bend of the rail itself, found when it is bare, or too long for a splice: only as the maker says.",
        ),
        (Part::BottomRail, _) => Some(
            "Deeper than the surface, or through: a section of bottom rail is cut and joined only as the maker says.",
        ),
        (Part::CornerPost, _) => Some(
            "Rails or corner plates bent with it, or a crack in them: the maker says how the corner is set.",
        ),
        (Part::Hinge, _) => {
            Some("Welded to the rear frame, or a crack that runs into the frame: only as the maker says.")
        }
        _ => None,
    }
}

/// Takeoff and material of one offered way on one mark, or why it does not fit.
fn made(
    plan: &Plan,
    mark: &Mark,
    book: &Book,
    offer: &Offer,
    unit: Unit,
) -> Result<(PartTakeoff, Bought), String> {
    if mark.place.check(plan).is_err() {
        return Err("The mark lies outside this body plan: check the measures or the mark.".to_owned());
    }
    let mut making = Making::new(plan, mark, book, offer, unit);
    (offer.make)(&mut making)?;
    making.done()
}

/// A way on all marks of a group: each by that way if it has it and it fits, else by its whole-part way, and by
/// its first way otherwise. What goes in with a new nose rail is not counted twice.
///
/// # Errors
/// Why it does not fit, in sentences.
pub(crate) fn group_way(
    plan: &Plan,
    marks: &[&Mark],
    book: &Book,
    way: WayKey,
    unit: Unit,
) -> Result<Vec<(PartTakeoff, Bought)>, Vec<String>> {
    let chosen = |mark: &Mark| -> Result<(PartTakeoff, Bought), String> {
        let all = offers(plan, mark);
        let of = |key: WayKey| all.iter().find(|offer| offer.way == key);
        let alone = marks.len() == 1;
        let tried = match of(way) {
            Some(offer) => made(plan, mark, book, offer, unit),
            None => Err("It is no way for this part and damage.".to_owned()),
        };
        if tried.is_ok() || alone {
            return tried;
        }
        let other = of(WayKey::Replace).or_else(|| all.first());
        match other {
            Some(offer) => made(plan, mark, book, offer, unit),
            None => Err(none_because(plan, mark)),
        }
    };
    let (mut found, mut why): (Vec<(PartTakeoff, Bought)>, Vec<String>) = (Vec::new(), Vec::new());
    for mark in marks {
        match chosen(mark) {
            Ok(made) => found.push(made),
            Err(reason) => why.push(reason),
        }
    }
    if !found.iter().any(|(taken, _)| taken.way == way) && why.is_empty() {
        why.push("No mark of this group has this way.".to_owned());
    }
    if !why.is_empty() {
        why.dedup();
        return Err(why);
    }
    Ok(once_each(found))
}

/// Leaves out what another takeoff of the group brings already.
fn once_each(found: Vec<(PartTakeoff, Bought)>) -> Vec<(PartTakeoff, Bought)> {
    let rail = |taken: &PartTakeoff| taken.part == Part::NoseRail && taken.way == WayKey::Replace;
    let has_rail = found.iter().any(|(taken, _)| rail(taken));
    let mut kept: Vec<(PartTakeoff, Bought)> = Vec::new();
    for (taken, bought) in found {
        let known = |other: &PartTakeoff| other.part == taken.part && other.way == taken.way;
        let with_rail = has_rail
            && !rail(&taken)
            && matches!(taken.part, Part::FrontRoofBow | Part::CornerCap | Part::NoseRail);
        let second_rail = rail(&taken) && kept.iter().any(|(other, _)| rail(other));
        let same_bow = taken.part == Part::RoofBow
            && kept.iter().any(|(other, _)| {
                known(other) && taken.numbers.iter().all(|number| other.numbers.contains(number))
            });
        let same_front = taken.part == Part::FrontRoofBow && kept.iter().any(|(other, _)| known(other));
        if !(with_rail || second_rail || same_bow || same_front) {
            kept.push((taken, bought));
        }
    }
    kept
}

/// The keys of a group's ways, each once, in the trade's order; empty if a mark of the group has none.
pub(crate) fn keys(plan: &Plan, marks: &[&Mark]) -> Vec<WayKey> {
    let all: Vec<&[Offer]> = marks.iter().map(|mark| offers(plan, mark)).collect();
    if all.iter().any(|offers| offers.is_empty()) {
        return Vec::new();
    }
    let mut keys: Vec<WayKey> = all.into_iter().flatten().map(|offer| offer.way).collect();
    keys.sort_unstable();
    keys.dedup();
    keys
}

/// The way's name on these marks.
pub(crate) fn title(plan: &Plan, marks: &[&Mark], way: WayKey) -> String {
    let named = |mark: &&Mark| offers(plan, mark).iter().find(|offer| offer.way == way);
    let named = marks
        .iter()
        .find_map(named)
        .map_or_else(String::new, |offer| offer.title.to_owned());
    if marks.len() < 2 {
        named
    } else {
        format!("Roof sheet stays: {}", named.to_lowercase())
    }
}

/// What a way takes on the marks of a group, for steps and cut list.
///
/// # Errors
/// Why it does not fit (any more), as one sentence for a person.
pub fn takeoffs(
    plan: &Plan,
    marks: &[&Mark],
    book: &Book,
    way: WayKey,
    unit: Unit,
) -> Result<Vec<PartTakeoff>, Error> {
    match group_way(plan, marks, book, way, unit) {
        Ok(found) => Ok(found.into_iter().map(|(taken, _)| taken).collect()),
        Err(why) => Err(Error::new("part_way", why.join(" "))),
    }
}

#[cfg(test)]
#[path = "parts_tests.rs"]
mod tests;
