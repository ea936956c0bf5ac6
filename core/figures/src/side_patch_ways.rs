//! From a mark on a side sheet to its takeoff: whether a side way fits, and what the cut list needs for it.

use crate::body::Plan;
use crate::cut::Need;
use crate::error::Error;
use crate::mark::{DamageKind, Mark, Part, Surface};
use crate::measure::Unit;
use crate::side_patch::{Rect, SideBody, SideRules, SideTakeoff, SideWay, side_patch};
use crate::side_patch_lines::sheet_size;

/// Whether side ways are figured for this mark at all: a side sheet of solid plate, seen from outside.
#[must_use]
pub fn fits(plan: &Plan, mark: &Mark) -> bool {
    let side = matches!(mark.place.surface, Surface::Curbside | Surface::Roadside);
    side && mark.part == Part::SideSheet && !plan.composite_sides
}

/// Why new sheet does not mend this kind of damage; none if it does.
#[must_use]
pub fn kind_fits(kind: DamageKind) -> Option<&'static str> {
    match kind {
        DamageKind::LooseFasteners | DamageKind::Leak | DamageKind::WaterStained => {
            Some("New sheet does not mend this by itself: find the cause, then mend what is found.")
        }
        _ => None,
    }
}

/// What mending the side sheet of a mark takes: by a patch if it may lie there and `whole` does not ask for
/// the sheet.
///
/// # Errors
/// A mark or plan that cannot be worked with, a joint outside the table.
pub fn of_mark(
    plan: &Plan,
    mark: &Mark,
    rules: &SideRules,
    whole: bool,
    unit: Unit,
) -> Result<SideTakeoff, Error> {
    let place = mark.place;
    let damage = Rect {
        from: place.from,
        to: place.to,
        low: place.low,
        high: place.high,
    };
    let body = SideBody {
        length: plan.length,
        side_height: plan.side_height,
        posts: plan.posts.clone(),
        sheet_joints: plan.side_joints.clone(),
        earlier_patches: Vec::new(),
        sheet: plan.side_sheet,
    };
    side_patch(&body, damage, rules, whole, unit)
}

/// The pieces that mending a side takes: the patch, or the sheets.
#[must_use]
pub fn side_needs(taken: &SideTakeoff, plan: &Plan, rules: &SideRules) -> Need {
    let ([length, width], count) = match taken.way {
        SideWay::Patch => ([taken.patch.along(), taken.patch.up()], 1),
        // Side sheet is stocked by its length, which stands upright on the body.
        SideWay::WholeSheet => {
            let [wide, high] = sheet_size(taken, rules);
            ([high, wide], taken.sheets)
        }
    };
    Need {
        item: "side sheet".to_owned(),
        length,
        width: Some(width),
        thickness: Some(plan.side_sheet),
        count,
        turn: true,
    }
}
