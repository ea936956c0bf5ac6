//! Sizes of rivets and bolts with their holes, and what each place of a line is: an existing hole that is used
//! again, a worn one that goes to the next size, or a new one. A layout is drawn from this list.

use crate::fasten::{RivetKind, RivetLine, Rivets, grip_range, solid_length, up_to};
use crate::measure::{Length, Unit};
use crate::rules::{GripRange, RivetRules};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// Rivets in sixty-fourths of an inch, and their holes in ten-thousandths (from memory; the hole sizes are those of the published
/// rivet tables).
const RIVETS: &[(i64, i64)] = &[(8, 1_285), (10, 1_590), (12, 1_910), (16, 2_570)];
/// Bolts in sixty-fourths of an inch, their close holes in ten-thousandths, threads in an inch (coarse; from
/// memory).
const BOLTS: &[(i64, i64, i64)] = &[
    (16, 2_570, 20),
    (20, 3_230, 18),
    (24, 3_860, 16),
    (32, 5_160, 13),
    (40, 6_410, 11),
    (48, 7_660, 10),
];
/// Steps in which bolts are sold.
const BOLT_STEP: Length = Length::sixty_fourths(16);

/// What a place of a line is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum PlaceIs {
    /// A hole to drill.
    New,
    /// A hole that is there and is used as it is.
    Reused,
    /// A hole that is there and too large for the line's size: it takes the next.
    Worn,
}

/// One place of a line, from the line's beginning.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Place {
    /// Where.
    pub at: Length,
    /// Existing, worn or new.
    pub is: PlaceIs,
    /// Size that goes in; none if no size of the table fills the hole.
    pub diameter: Option<Length>,
    /// Hole to drill or clean up to; none where the table does not have the size.
    pub hole: Option<Length>,
    /// Length that is sold; none for blind rivets.
    pub length: Option<Length>,
    /// The shop's grip range, for blind rivets.
    pub grip_range: Option<GripRange>,
}

fn ten_thousandths(count: i64) -> Length {
    Length::from_nm(count.saturating_mul(2_540))
}

/// Sizes with their holes, smallest first.
fn sizes(kind: RivetKind) -> Vec<(Length, Length)> {
    let inch = |d: i64, hole: i64| (Length::sixty_fourths(d), ten_thousandths(hole));
    match kind {
        RivetKind::Bolt => BOLTS.iter().map(|(d, hole, _)| inch(*d, *hole)).collect(),
        RivetKind::Solid | RivetKind::Blind => RIVETS.iter().map(|(d, hole)| inch(*d, *hole)).collect(),
    }
}

/// The next larger size of the table and its hole.
#[must_use]
pub fn next_size(kind: RivetKind, diameter: Length) -> Option<(Length, Length)> {
    sizes(kind).into_iter().find(|(size, _)| *size > diameter)
}

/// Hole for a diameter; the table names diameters as fractions, which are written to 3 or 4 decimals.
pub(crate) fn hole(kind: RivetKind, diameter: Length) -> Option<Length> {
    let near = |(d, _): &(Length, Length)| d.apart(diameter) <= Length::thousandths(1);
    sizes(kind).into_iter().find(near).map(|(_, hole)| hole)
}

/// Length of a bolt as it is sold: grip, a nut of 7/8 D and two threads beyond it.
pub(crate) fn bolt_length(grip: Length, diameter: Length) -> Option<Length> {
    let near =
        |(d, ..): &&(i64, i64, i64)| Length::sixty_fourths(*d).apart(diameter) <= Length::thousandths(1);
    let (_, _, threads) = BOLTS.iter().find(near)?;
    let nut = diameter.times(7).part(8)?;
    let beyond = Length::inches(2).part(*threads)?;
    Some(up_to(grip.plus(nut).plus(beyond), BOLT_STEP))
}

/// What each place of a line is that was laid out.
pub(crate) fn places(line: &RivetLine, rules: &RivetRules, unit: Unit, found: &mut Rivets) -> Vec<Place> {
    let mut warnings = Vec::new();
    let all = found.places.iter().map(|at| {
        let there = line.existing_holes.iter().filter(|h| h.at == *at);
        let size = there.clone().filter_map(|h| h.diameter).max();
        let limit = found.hole.unwrap_or(line.diameter);
        let worn = size.filter(|size| *size > limit);
        let (is, diameter, hole) = match worn {
            Some(size) => {
                let next = sizes(line.kind)
                    .into_iter()
                    .find(|(d, hole)| *d > line.diameter && *hole >= size);
                if next.is_none() {
                    let (at, size) = (at.say(unit), size.say_decimal(unit));
                    warnings.push(format!("The hole at {at} is {size} wide: no size of the table fills it. It needs a new sheet or a backing with holes of its own."));
                }
                (PlaceIs::Worn, next.map(|n| n.0), next.map(|n| n.1))
            }
            None if there.count() > 0 => (PlaceIs::Reused, Some(line.diameter), found.hole),
            None => (PlaceIs::New, Some(line.diameter), found.hole),
        };
        if is == PlaceIs::Worn
            && let Some(d) = diameter
            && line.line_length.minus(*at).min(*at) < d.times(2)
        {
            let (at, least) = (at.say(unit), d.times(2).say_decimal(unit));
            warnings.push(format!("The next size at {at} stands nearer to an end than 2 D ({least})."));
        }
        place(line, rules, found.grip, *at, is, (diameter, hole))
    });
    let all = all.collect();
    found.warnings.append(&mut warnings);
    all
}

fn place(
    line: &RivetLine,
    rules: &RivetRules,
    grip: Length,
    at: Length,
    is: PlaceIs,
    (diameter, hole): (Option<Length>, Option<Length>),
) -> Place {
    let length = diameter.and_then(|d| match line.kind {
        RivetKind::Solid => Some(solid_length(grip, d)),
        RivetKind::Bolt => bolt_length(grip, d),
        RivetKind::Blind => None,
    });
    let blind = diameter.filter(|_| line.kind == RivetKind::Blind);
    Place {
        at,
        is,
        diameter,
        hole,
        length,
        grip_range: blind.and_then(|d| grip_range(rules, d, grip)),
    }
}
