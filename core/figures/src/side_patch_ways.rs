//! From a mark on a side sheet to its takeoff: whether a side way fits, and what the cut list needs for it.

use crate::body::Plan;
use crate::cut::Need;
use crate::error::Error;
use crate::group::composite_side;
use crate::mark::{DamageKind, Mark, Part, Surface};
use crate::measure::Unit;
use crate::parts::OnHand;
use crate::rules::RoofRules;
use crate::side_patch::{Rect, SideBody, SideRules, SideTakeoff, SideWay, side_patch};
use crate::takeoff_lines::cartridges;

/// Whether side ways are figured for this mark at all: a side sheet of solid plate, seen from outside.
#[must_use]
pub fn is_side_sheet(plan: &Plan, mark: &Mark) -> bool {
    let side = matches!(mark.place.surface, Surface::Curbside | Surface::Roadside);
    side && mark.part == Part::SideSheet && !plan.composite_sides
}

/// What a side way takes on a mark.
///
/// # Errors
/// Why it does not fit, in sentences.
pub fn side_way(
    plan: &Plan,
    mark: &Mark,
    rules: &SideRules,
    way: SideWay,
    unit: Unit,
) -> Result<SideTakeoff, Vec<String>> {
    let no = |why: &str| Err(vec![why.to_owned()]);
    if let Some(why) = composite_side(plan, mark) {
        return no(why);
    }
    if !is_side_sheet(plan, mark) {
        return no("It is a way for a side sheet only.");
    }
    if matches!(
        mark.kind,
        DamageKind::LooseFasteners | DamageKind::Leak | DamageKind::WaterStained
    ) {
        return no("New sheet does not mend this by itself: find the cause, then mend what is found.");
    }
    match of_mark(plan, mark, rules, way, unit) {
        Ok(taken) if taken.way != way => Err(taken.why),
        Ok(taken) => Ok(taken),
        Err(error) => Err(vec![error.sentence]),
    }
}

fn of_mark(
    plan: &Plan,
    mark: &Mark,
    rules: &SideRules,
    way: SideWay,
    unit: Unit,
) -> Result<SideTakeoff, Error> {
    let body = SideBody {
        length: plan.length,
        side_height: plan.side_height,
        posts: plan.side_posts().to_vec(),
        sheet_joints: plan.side_joints.clone(),
        earlier_patches: plan.patches_on(mark.place.surface).map(Rect::of).collect(),
        sheet: plan.side_sheet,
    };
    side_patch(&body, Rect::of(&mark.place), rules, way, unit)
}

/// What mending a side takes from the stock: the patch, or the sheets.
#[must_use]
pub fn side_need(taken: &SideTakeoff, plan: &Plan, rules: &SideRules) -> Need {
    let [along, up] = taken.piece(rules);
    // A section or a whole sheet stands upright on the body: its length runs up.
    let (length, width) = match taken.way {
        SideWay::Patch => (along, up),
        SideWay::Section | SideWay::WholeSheet => (up, along),
    };
    Need {
        item: "side sheet".to_owned(),
        length,
        width: Some(width),
        thickness: Some(plan.side_sheet),
        count: taken.pieces(),
        turn: true,
    }
}

/// The sealant of a side, as it has to lie ready.
///
/// # Errors
/// A cartridge of nothing in the shop book.
pub fn side_sealant(taken: &SideTakeoff, rules: &RoofRules) -> Result<OnHand, Error> {
    let (tubes, _) = cartridges(taken.beads, rules)?;
    Ok(OnHand {
        item: "sealant cartridges".to_owned(),
        wanted: format!("{tubes} each"),
    })
}
