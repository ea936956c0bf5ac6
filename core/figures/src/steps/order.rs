//! In which order the marks outside the roof are worked on: nothing is fitted over what is still to be taken off or fitted
//! under it. What lies over what is common practice of the trade; each part has a layer, and a part lies in a higher one
//! than all that it covers. Lining and scuff band come out before anything else is opened, the band first, and go in last,
//! after the leak test where there is one.

use super::{OtherMethod, OtherWork, Step, Work, other, parts, side};
use crate::mark::Part;

/// What each part covers.
const COVERS: [(Part, &[Part]); 12] = {
    use Part::{
        BottomRail, CornerCap, CornerPost, Crossmember, Decal, Door, Floor, FrontRoofBow, Harness, Hinge,
        Lamp, NoseRail, NoseWall, RearFrame, RearHeader, ReflectiveSheeting, RoofBow, RoofSheet, ScuffBand,
        SidePost, SideSheet, TopRail,
    };
    [
        (NoseRail, &[CornerPost]),
        (TopRail, &[CornerPost]),
        (NoseWall, &[CornerPost, NoseRail, BottomRail]),
        (SideSheet, &[SidePost, CornerPost, TopRail, BottomRail]),
        (RoofSheet, &[RoofBow, FrontRoofBow, NoseRail, TopRail, RearHeader]),
        (CornerCap, &[CornerPost, NoseRail, TopRail, NoseWall, SideSheet]),
        (Floor, &[Crossmember, BottomRail]),
        (Hinge, &[Door, RearFrame]),
        (Harness, &[SidePost, CornerPost, TopRail, SideSheet, NoseWall]),
        (
            Lamp,
            &[
                Harness, SideSheet, NoseWall, TopRail, BottomRail, RearHeader, RearFrame, Door, RoofSheet,
            ],
        ),
        (
            ReflectiveSheeting,
            &[SideSheet, NoseWall, BottomRail, RearFrame, RearHeader, Door],
        ),
        (
            Decal,
            &[SideSheet, NoseWall, RearFrame, RearHeader, Door, ScuffBand],
        ),
    ]
};

/// How far from the frame a part lies, so that what covers another lies farther.
const fn layer(part: Part) -> u8 {
    match part {
        Part::Crossmember | Part::Kingpin | Part::LandingGear | Part::RearFrame => 0,
        Part::BottomRail
        | Part::CornerPost
        | Part::SidePost
        | Part::RoofBow
        | Part::FrontRoofBow
        | Part::RearHeader => 1,
        Part::TopRail | Part::NoseRail => 2,
        Part::NoseWall | Part::SideSheet | Part::RoofSheet | Part::Floor | Part::Door => 3,
        Part::CornerCap | Part::Hinge | Part::Harness | Part::RearGuard => 4,
        Part::Lamp | Part::MudFlap => 5,
        Part::Lining => 6,
        Part::ScuffBand => 7,
        Part::ReflectiveSheeting | Part::Decal => 8,
    }
}

/// Patches of a side before its sections, and those before whole sheets.
const fn turn(other: &OtherWork) -> (u8, u8) {
    let way = match other.way {
        OtherMethod::SideSection => 1,
        OtherMethod::SideSheet => 2,
        _ => 0,
    };
    (layer(other.part), way)
}

/// Whether one lies over the other, as far as they can be neighbours.
fn covers(over: &OtherWork, under: &OtherWork) -> bool {
    let of_a_side = |other: &OtherWork| matches!(other.part, Part::SideSheet | Part::SidePost);
    let apart = over
        .surface
        .zip(under.surface)
        .is_some_and(|(one, two)| of_a_side(over) && of_a_side(under) && !one.same_wall(two));
    let parts = COVERS.iter().find(|(part, _)| *part == over.part);
    !apart && parts.is_some_and(|(_, covered)| covered.contains(&under.part))
}

/// The steps of the marks outside the roof, by when they have their turn.
#[derive(Default)]
pub(super) struct Turns {
    /// Old lining and scuff band out.
    pub inside_out: Vec<Step>,
    /// Under the open roof.
    pub while_off: Vec<Step>,
    /// When the roof is closed, or was never opened.
    pub after: Vec<Step>,
    /// The new lining in.
    pub new_lining: Vec<Step>,
    /// The new scuff band on.
    pub new_band: Vec<Step>,
}

impl Turns {
    /// `open`: the roof is opened.
    pub fn of(work: &Work, open: bool) -> Self {
        let inside = |other: &&OtherWork| matches!(other.part, Part::Lining | Part::ScuffBand);
        let (mut inside, mut outside): (Vec<&OtherWork>, Vec<&OtherWork>) =
            work.others.iter().partition(inside);
        outside.sort_by_key(|other| turn(other));
        let (mut off, mut after): (Vec<&OtherWork>, Vec<&OtherWork>) = Default::default();
        // By layers, so that all that this one covers has its turn already.
        for other in outside {
            let waits = after.iter().any(|under| covers(other, under));
            if open && !waits && while_roof_is_off(other) {
                off.push(other);
            } else {
                after.push(other);
            }
        }
        let steps = |of: &[&OtherWork]| of.iter().flat_map(|other| steps(work, other)).collect();
        let mut turns = Self {
            while_off: steps(&off),
            after: steps(&after),
            ..Self::default()
        };
        inside.sort_by_key(|other| turn(other));
        for other in inside {
            let mut first = steps(&[other]);
            let fit = first
                .iter()
                .position(|step: &Step| step.key.starts_with("part_fit:"));
            let last = first.split_off(fit.unwrap_or_default());
            // What lies over it comes out before it.
            turns.inside_out.splice(0..0, first);
            if other.part == Part::Lining {
                turns.new_lining.extend(last);
            } else {
                turns.new_band.extend(last);
            }
        }
        if !other::weather(work) {
            // Nothing to cure or to test: it goes in before the place is swept.
            turns.after.append(&mut turns.new_lining);
            turns.after.append(&mut turns.new_band);
        }
        turns
    }
}

/// Corner work and side work is done while the roof is off; a section of side or whole sheets wait until it holds the
/// walls again.
fn while_roof_is_off(other: &OtherWork) -> bool {
    match other.way {
        OtherMethod::SideSection | OtherMethod::SideSheet => false,
        OtherMethod::SidePatch => true,
        _ => parts::while_roof_is_off(other),
    }
}

fn steps(work: &Work, other: &OtherWork) -> Vec<Step> {
    match other.way {
        OtherMethod::SidePatch | OtherMethod::SideSection | OtherMethod::SideSheet => side::of(work, other),
        OtherMethod::Part => parts::of(other),
        OtherMethod::ByHand => vec![other::by_hand(other)],
        OtherMethod::AskTheMaker => Vec::new(),
    }
}
