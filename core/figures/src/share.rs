//! Work that several groups of one job share, so that nothing is counted twice: a side sheet that mends several
//! marks, a side patch made while the roof is off over it, cartridges and rolls of tape opened once for all of it.

use crate::basis::{Basis, Given, Line};
use crate::bill::{Once, rolls};
use crate::body::Plan;
use crate::error::Error;
use crate::estimate::{Chosen, Group, days};
use crate::group::{Together, WayKey};
use crate::mark::{Mark, Surface};
use crate::measure::{Length, Unit};
use crate::shop::Book;
use crate::side_patch::{Rect, SideRules, SideTakeoff, SideWay, side_way};
use crate::takeoff_lines::cartridges;
use rust_decimal::prelude::{FromStr, ToPrimitive};
use rust_decimal::{Decimal, RoundingStrategy};

/// A mark that is mended by a side way.
#[derive(Debug, Clone, Copy)]
pub struct SideMark<'a> {
    /// Its group.
    pub group: &'a str,
    /// The mark.
    pub mark: &'a Mark,
    /// How it is mended by itself.
    pub way: SideWay,
}

/// How a mark on a side is mended within the whole job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SideWork {
    /// By work of its own.
    Own(Box<SideTakeoff>),
    /// With the sheets that this other group replaces.
    With(String),
}

/// Each mark's work, in their order: sheets, or sections, that overlap are one piece of work, of the first group
/// among them, and smaller work inside sheet that is replaced is none. Inside an entry: why the way does not fit.
#[must_use]
pub fn side_works(
    plan: &Plan,
    marks: &[SideMark<'_>],
    rules: &SideRules,
    unit: Unit,
) -> Vec<Result<SideWork, Vec<String>>> {
    let own: Vec<Result<SideTakeoff, Vec<String>>> = marks
        .iter()
        .map(|of| side_way(plan, of.mark, rules, of.way, unit))
        .collect();
    let mut runs: Vec<Run> = Vec::new();
    for (place, (of, taken)) in marks.iter().zip(&own).enumerate() {
        if let (SideWay::WholeSheet | SideWay::Section, Ok(taken)) = (of.way, taken) {
            Run::join(
                &mut runs,
                Run {
                    surface: of.mark.place.surface,
                    way: of.way,
                    sheet: taken.sheet,
                    members: vec![place],
                },
            );
        }
    }
    runs.sort_by_key(|run| std::cmp::Reverse(size(run.way)));
    own.into_iter()
        .zip(marks)
        .enumerate()
        .map(|(place, (taken, of))| {
            let taken = taken?;
            let Some(run) = runs.iter().find(|run| run.holds(place, of, &taken)) else {
                return Ok(SideWork::Own(Box::new(taken)));
            };
            let first = run.members.first().copied();
            let leader = first.and_then(|first| marks.get(first));
            match leader {
                Some(leader) if first != Some(place) => Ok(SideWork::With(leader.group.to_owned())),
                _ => Ok(SideWork::Own(Box::new(
                    run.takeoff(plan, marks, rules, unit).unwrap_or(taken),
                ))),
            }
        })
        .collect()
}

/// The groups that side ways mend, each with its work in the whole job; or inside, why it does not fit.
pub(crate) type Sides = Vec<(String, Result<SideWork, Vec<String>>)>;

/// Of the ways chosen.
pub(crate) fn sides(plan: &Plan, all: &[Together<'_>], chosen: &[Chosen], book: &Book, unit: Unit) -> Sides {
    let of = |together: &Together<'_>| {
        let choice = chosen.iter().find(|choice| choice.group == together.key)?;
        WayKey::by_key(&choice.way)?.side_way()
    };
    let marks: Vec<SideMark<'_>> = all
        .iter()
        .filter(|together| !together.is_roof())
        .filter_map(|together| {
            Some(SideMark {
                group: &together.key,
                mark: together.marks.first()?,
                way: of(together)?,
            })
        })
        .collect();
    let works = side_works(plan, &marks, &book.side, unit);
    marks.iter().map(|of| of.group.to_owned()).zip(works).collect()
}

/// Sheet in one piece that sections or whole sheets replace, and the marks that ask for it.
struct Run {
    surface: Surface,
    way: SideWay,
    sheet: Rect,
    members: Vec<usize>,
}

/// How much of a side a way takes, patch to whole sheet.
const fn size(way: SideWay) -> u8 {
    match way {
        SideWay::Patch => 0,
        SideWay::Section => 1,
        SideWay::WholeSheet => 2,
    }
}

impl Run {
    /// Sheets that only meet at a joint stay apart.
    fn join(runs: &mut Vec<Self>, mut run: Self) {
        let meets = |other: &Self, run: &Self| {
            other.surface == run.surface && other.way == run.way && other.sheet.touches(run.sheet)
        };
        while let Some(at) = runs.iter().position(|other| meets(other, &run)) {
            let other = runs.remove(at);
            run.sheet = Rect {
                from: run.sheet.from.min(other.sheet.from),
                to: run.sheet.to.max(other.sheet.to),
                low: run.sheet.low.min(other.sheet.low),
                high: run.sheet.high.max(other.sheet.high),
            };
            run.members.extend(other.members);
            run.members.sort_unstable();
        }
        runs.push(run);
    }

    /// A member, or smaller work inside.
    fn holds(&self, place: usize, of: &SideMark<'_>, taken: &SideTakeoff) -> bool {
        let own = if of.way == SideWay::Patch {
            taken.cut_out
        } else {
            taken.sheet
        };
        let inside = own.from >= self.sheet.from
            && own.to <= self.sheet.to
            && own.low >= self.sheet.low
            && own.high <= self.sheet.high;
        let same_side = self.surface == of.mark.place.surface;
        self.members.contains(&place) || (size(of.way) < size(self.way) && same_side && inside)
    }

    /// The sheets of all members together, as if one damage reached over them.
    fn takeoff(
        &self,
        plan: &Plan,
        marks: &[SideMark<'_>],
        rules: &SideRules,
        unit: Unit,
    ) -> Option<SideTakeoff> {
        let mut of = self.members.iter().filter_map(|place| marks.get(*place));
        let mut hull = of.next()?.mark.clone();
        for other in of {
            let place = other.mark.place;
            hull.place.from = hull.place.from.min(place.from);
            hull.place.to = hull.place.to.max(place.to);
            hull.place.low = hull.place.low.min(place.low);
            hull.place.high = hull.place.high.max(place.high);
        }
        side_way(plan, &hull, rules, self.way, unit).ok()
    }
}

/// What the job has once, for these groups.
pub(crate) fn once_of(groups: &[Group]) -> Once {
    let roof = groups.iter().find(|group| group.roof.is_some());
    let parts = || groups.iter().flat_map(|group| &group.parts);
    let sheet = roof.is_some() || groups.iter().any(|group| group.side.is_some());
    let patched = groups.iter().any(|group| !group.patches.is_empty());
    let days = roof.and_then(|group| Decimal::from_str(&group.days).ok());
    Once {
        wet: sheet || patched || parts().any(|part| part.wet),
        // A side is looked at from inside, so its lining comes out of the way as under an open roof.
        open: sheet || parts().any(|part| part.lining),
        roof: roof.is_some() || patched,
        stops: days.and_then(|days| days.ceil().to_u32()).unwrap_or_default(),
    }
}

/// Takes out of the groups what is shared between them.
///
/// # Errors
/// Hours that are too large to work with.
pub(crate) fn share(groups: &mut [Group], plan: &Plan, book: &Book, unit: Unit) -> Result<(), Error> {
    under_open_roof(groups, plan, book)?;
    let bead = |line: &Line| line.item.ends_with("sealant") || line.item == "bow caulk";
    open_once(groups, "sealant cartridges", bead, unit, |beads| {
        cartridges(beads, &book.roof).map_or(0, |(count, _)| count)
    });
    let whole = |length: Length, roll: &Given<Length>| {
        let count = rolls(length, roll).ok();
        count.and_then(|count| count.to_i64()).unwrap_or_default()
    };
    let prices = &book.prices;
    let seam = |line: &Line| line.item == "seam tape" || line.item == "patch tape";
    open_once(groups, "seam tape", seam, unit, |length| {
        whole(length, &prices.seam_tape_roll_length)
    });
    let foam = |line: &Line| line.item == "foam tape";
    open_once(groups, "foam tape", foam, unit, |length| {
        whole(length, &prices.foam_tape_roll_length)
    });
    Ok(())
}

/// A side patch under the opened roof is drilled and riveted from there: no ladder, lining already out.
fn under_open_roof(groups: &mut [Group], plan: &Plan, book: &Book) -> Result<(), Error> {
    let roofs = groups.iter().flat_map(Group::roofs);
    let opened: Vec<[Length; 2]> = roofs.map(|roof| roof.span(plan.length)).collect();
    let share = &book.planning.side_under_roof_share;
    let patch = |group: &Group| {
        group.side.as_ref().is_some_and(|side| {
            let under = |[from, to]: &[Length; 2]| side.cut_out.from >= *from && side.cut_out.to <= *to;
            side.way == SideWay::Patch && opened.iter().any(under)
        })
    };
    for group in groups.iter_mut().filter(|group| patch(group)) {
        for line in &mut group.hours {
            let hours = Decimal::from_str(&line.hours).unwrap_or_default();
            let left = Decimal::ONE
                .checked_sub(share.value.0)
                .and_then(|left| hours.checked_mul(left))
                .unwrap_or(hours);
            line.hours = left
                .round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero)
                .normalize()
                .to_string();
            line.basis.push(Basis::new(
                format!("- {} of it", share.value),
                "made while the roof is off over it",
                share.standing.clone(),
            ));
        }
        group.days = days(group, book)?;
    }
    Ok(())
}

/// What is bought whole and used by length: a group's last piece is used up by the next group, so that only the job's last
/// one stays part full.
fn open_once(
    groups: &mut [Group],
    item: &str,
    of: impl Fn(&Line) -> bool,
    unit: Unit,
    count: impl Fn(Length) -> i64,
) {
    let (mut all, mut bought) = (Length::ZERO, 0_i64);
    for group in groups {
        let own = length_of(group, &of, unit);
        let Some(line) = group.goods.iter_mut().find(|line| line.item == item) else {
            continue;
        };
        // Only where the lines of the group explain what it buys.
        if line.quantity != count(own).to_string() {
            continue;
        }
        all = all.plus(own);
        let more = count(all).saturating_sub(bought);
        bought = bought.saturating_add(more);
        line.quantity = more.to_string();
        group.goods.retain(|line| line.quantity != "0");
    }
}

/// Length of the lines of a group that are of something.
fn length_of(group: &Group, of: impl Fn(&Line) -> bool, unit: Unit) -> Length {
    let length = |line: &Line| {
        let number = Decimal::from_str(&line.quantity).ok();
        number.and_then(|number| Length::from_decimal(number, unit).ok())
    };
    let lines = group.lines.iter().filter(|line| of(line)).filter_map(length);
    lines.fold(Length::ZERO, Length::plus)
}
