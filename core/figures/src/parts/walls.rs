//! Nose wall and doors: a patch as on a side sheet, the whole nose sheet, a door panel, a door gasket; and sheet
//! of sides and roof that leaks or is loose at its fasteners.

use super::common::{refasten, reseal, up_to};
use super::make::{Making, in_line, many, measured, whole, worked};
use super::{Harm, Offer, harm, offer};
use crate::basis::Given;
use crate::group::WayKey;
use crate::mark::{Part, Place};
use crate::measure::Length;
use crate::rail_rivets::Carrier;
use crate::side_patch::{Rect, SideBody, SideRules, SideTakeoff, SideWay, side_patch};
use rust_decimal::Decimal;

const NOSE: &[Offer] = &[
    offer(WayKey::LappedPatch, "Nose wall patch", nose_patch),
    offer(WayKey::Replace, "Whole nose sheet", nose_sheet),
];
const DOOR_PATCH: Offer = offer(WayKey::LappedPatch, "Door skin patch", door_patch);
const NEW_PANEL: Offer = offer(WayKey::Replace, "New door panel", door_panel);
const DENT: Offer = offer(
    WayKey::Straighten,
    "Dent straightened or filled, coated",
    door_dent,
);
const GASKET: &[Offer] = &[
    offer(WayKey::Reseal, "Door frame sealed anew", reseal),
    offer(WayKey::NewGasket, "New door gasket", gasket),
];
const LOOSE: &[Offer] = &[offer(WayKey::Refasten, "Fasteners set anew", refasten)];
const WET: &[Offer] = &[offer(WayKey::Reseal, "Sealed anew", reseal)];

pub(super) fn offers(part: Part, harm: Harm) -> &'static [Offer] {
    match (part, harm) {
        (Part::NoseWall, Harm::Bent | Harm::Open | Harm::Cracked | Harm::Worn) => NOSE,
        (Part::Door, Harm::Bent) => &[DENT, DOOR_PATCH, NEW_PANEL],
        (Part::Door, Harm::Open | Harm::Cracked | Harm::Worn) => &[DOOR_PATCH, NEW_PANEL],
        (Part::Door, Harm::Layers) => &[NEW_PANEL],
        (Part::Door, Harm::Wet) => GASKET,
        (_, Harm::Loose) => LOOSE,
        (Part::NoseWall | Part::SideSheet | Part::RoofSheet, Harm::Wet) => WET,
        _ => &[],
    }
}

/// A wall as the patch of a side sees it, and what its edges are called there.
struct Wall {
    item: &'static str,
    joints: Vec<Length>,
    names: [(&'static str, &'static str); 4],
}

fn nose_patch(m: &mut Making<'_>) -> Result<(), String> {
    let wall = Wall {
        item: "nose sheet",
        joints: Vec::new(),
        names: [
            ("rear frame", "corner post"),
            ("top rail", "nose rail"),
            ("sheet joint", "sheet joint"),
            ("side sheet", "nose sheet"),
        ],
    };
    let rules = &m.book.side;
    patch(m, &wall, rules)?;
    m.taken.lining = true;
    m.warn("The harness and the air lines run behind the nose wall: found and clear before the saw.");
    m.warn("Posts of the nose wall are not on the plan: an edge that would end between a post and clear sheet is carried to the post.");
    Ok(())
}

/// A shallow dent has no hole to cover: the skin stays whole.
fn door_dent(m: &mut Making<'_>) -> Result<(), String> {
    let price = &m.book.part_prices.coating;
    m.each("coating", 1, price, vec![measured("1", "place")]);
    let rate = &m.book.part_hours.door_dent;
    m.hours_each("door_dent", "Dent of a door", 1, "dent", rate)?;
    let limit = m.book.parts.door_dent.value;
    up_to(
        m,
        limit,
        ["straightens or fills a door skin", "No hole, no patch"],
    )?;
    m.warn("A crack, an open edge or a wet core found when the dent is looked at: stop, it is another way.");
    Ok(())
}

/// The door carries itself: its patch keeps water out and takes the shop's row, as the skin's own edge does. The many rows
/// of the handbook check are for sheet that carries the body.
fn door_patch(m: &mut Making<'_>) -> Result<(), String> {
    let rules = &m.book.parts;
    if harm(m.mark.kind) == Harm::Bent {
        let limit = m.say(rules.door_dent.value);
        match m.mark.depth {
            Some(depth) if depth <= rules.door_dent.value => {
                return Err(format!(
                    "It is {} deep and has no hole: up to {limit} a door skin is straightened or filled (shop book), a patch would cut sound skin.",
                    m.say(depth)
                ));
            }
            Some(_) => {}
            None => m.why(format!(
                "It has no hole: only where it is deeper than {limit} (shop book). Measure the depth and enter it with the mark."
            )),
        }
    }
    let side = SideRules {
        rows: Given {
            value: Some(rules.door_rows.value),
            standing: rules.door_rows.standing.clone(),
        },
        pitch: Given {
            value: Some(rules.door_pitch.value),
            standing: rules.door_pitch.standing.clone(),
        },
        ..m.book.side.clone()
    };
    let wall = Wall {
        item: "door skin",
        joints: m.plan.width.part(2).into_iter().collect(),
        names: [
            ("rear frame", "door's edge"),
            ("corner post", "door's edge"),
            ("top rail", "door's upper edge"),
            ("sheet joint", "meeting edge of the doors"),
        ],
    };
    patch(m, &wall, &side)?;
    m.warn("Door skins are often layered: measure the skin and the core. A hole through both skins takes a patch on each, bought twice.");
    m.warn("The patch may not stand in the way of hinges, lock rods, gasket or reflective sheeting.");
    Ok(())
}

fn patch(m: &mut Making<'_>, wall: &Wall, rules: &SideRules) -> Result<(), String> {
    let place = m.mark.place;
    let (reach, height) = m.plan.extent(place.surface);
    let body = SideBody {
        length: reach,
        side_height: height,
        posts: Vec::new(),
        sheet_joints: wall.joints.clone(),
        earlier_patches: m.plan.patches_on(place.surface).map(Rect::of).collect(),
        sheet: m.plan.side_sheet,
    };
    let named = |text: &str| {
        let names = wall.names.iter();
        names.fold(text.to_owned(), |text, (old, new)| text.replace(old, new))
    };
    let taken =
        side_patch(&body, Rect::of(&place), rules, SideWay::Patch, m.unit).map_err(|error| error.sentence)?;
    let why: Vec<String> = taken.why.iter().map(|why| named(why)).collect();
    if taken.way != SideWay::Patch {
        return Err(why.join(" "));
    }
    for line in &taken.lines {
        let mut line = line.clone();
        if line.item == "side sheet" {
            wall.item.clone_into(&mut line.item);
        }
        m.known_line(line);
    }
    for sentence in why {
        m.why(sentence);
    }
    for warning in &taken.warnings {
        m.warn(named(warning));
    }
    patch_facts(m, &taken);
    let price = if wall.item == "door skin" {
        &m.book.part_prices.door_skin_sq_ft
    } else {
        &m.book.part_prices.nose_sheet_sq_ft
    };
    let piece = [taken.patch.along(), taken.patch.up()];
    m.buy_sheet(wall.item, piece, price)?;
    m.need(wall.item, piece[0], Some(piece[1]), Some(m.plan.side_sheet), 1);
    m.count_bead(taken.beads);
    m.count_rivets(taken.rivets.into());
    m.hours_each(
        "wall_patch",
        "Wall patch",
        1,
        "patch",
        &m.book.part_hours.wall_patch,
    )?;
    rivet_hours(m, taken.rivets.into())?;
    m.taken.wet = true;
    m.taken.people = m.book.planning.people_patch.value;
    Ok(())
}

fn patch_facts(m: &mut Making<'_>, taken: &SideTakeoff) {
    let Rect { from, to, low, high } = taken.cut_out;
    let cut = Place {
        from,
        to,
        low,
        high,
        ..m.mark.place
    };
    let said = format!("{}, {}", cut.along(m.unit), cut.across(m.unit));
    m.said("cut", said);
    let size = format!("{} x {}", m.say(taken.patch.along()), m.say(taken.patch.up()));
    m.why(format!(
        "{size} of sheet, {} lap all round, {} rivets.",
        m.say(taken.overlap),
        taken.rivets
    ));
    m.said("patch", size);
    m.fact("lap", taken.overlap);
    m.fact("radius", taken.corner_radius);
    m.said("rows", many(taken.rows, "row", "rows"));
    m.said("pitch", taken.pitch.say_decimal(m.unit));
    m.said("edge", taken.edge.say_decimal(m.unit));
    m.said("diameter", taken.diameter.say_decimal(m.unit));
    m.said("rivets", taken.rivets);
}

fn rivet_hours(m: &mut Making<'_>, count: i64) -> Result<(), String> {
    let hundreds = Decimal::from(count)
        .checked_div(Decimal::ONE_HUNDRED)
        .unwrap_or_default();
    let rate = &m.book.part_hours.wall_rivets;
    m.hours(
        "wall_rivets",
        "Rivets of the wall",
        hundreds,
        "hundreds of rivets",
        rate,
    )
}

/// The whole sheet: rivets all round and on each post of the nose wall.
fn nose_sheet(m: &mut Making<'_>) -> Result<(), String> {
    let (wide, high) = (m.plan.width, m.plan.side_height);
    let size = vec![
        measured(m.say(wide), "width of the body"),
        measured(format!("x {}", m.say(high)), "bottom rail to top rail"),
    ];
    let price = &m.book.part_prices.nose_sheet_sq_ft;
    m.sheet("nose sheet", [wide, high], price, size)?;
    m.need("nose sheet", high, Some(wide), Some(m.plan.side_sheet), 1);
    let (joint, post) = (&m.book.side.joint_pitch, &m.book.side.post_pitch);
    let (across, up) = (in_line(wide, joint.value)?, in_line(high, joint.value)?);
    let round = across.saturating_add(up).saturating_sub(2).saturating_mul(2);
    let spacing = &m.book.parts.nose_post_spacing;
    let inner = whole(wide.minus(Length::from_nm(1)), spacing.value);
    let on_post = in_line(high, post.value)?.saturating_sub(2);
    let count = round.saturating_add(inner.saturating_mul(on_post));
    let working = vec![
        m.rule("", joint, "pitch all round"),
        worked(round.to_string(), "rivets all round"),
        m.rule("", spacing, "between the posts of the nose wall"),
        worked(inner.to_string(), "posts between the corners"),
        m.rule("", post, "pitch on those posts"),
        worked(format!("+ {inner} x {on_post}"), "rivets on them"),
    ];
    m.rivets("nose sheet rivets", count, working);
    let sheet = [m.plan.side_sheet];
    if let Some(line) = m.taken.lines.last_mut() {
        line.more = Some("All round into rails and corner posts, and on the posts between.".to_owned());
    }
    m.last_into(&sheet, (Carrier::Rail, 1));
    m.last_into(&sheet, (Carrier::Post, 1));
    let bead = wide.plus(high).times(2);
    let working = vec![worked(m.say(bead), "once round")];
    m.bead("nose sheet sealant", bead, working);
    m.said("piece", format!("{} x {}", m.say(wide), m.say(high)));
    m.said("rivets", count);
    m.hours_each(
        "nose_sheet",
        "Nose sheet off and on",
        1,
        "sheet",
        &m.book.part_hours.nose_sheet,
    )?;
    rivet_hours(m, count)?;
    m.holds_body()?;
    m.cover();
    m.why("No patch on the nose; lining, harness and lamps of the nose come off for it.");
    m.warn("A nose sheet in several widths, lapped on posts, is cut so again: measure its joints and count its rivets.");
    Ok(())
}

/// How many doors a mark reaches; two doors meet in the middle of the rear.
fn doors(m: &Making<'_>) -> i64 {
    let (place, middle) = (m.mark.place, m.plan.width.part(2).unwrap_or_default());
    if place.from < middle && place.to > middle {
        2
    } else {
        1
    }
}

fn gasket_length(m: &mut Making<'_>, doors: i64) -> Length {
    let (wide, high) = (m.plan.width.part(2).unwrap_or_default(), m.plan.side_height);
    let length = wide.plus(high).times(2).times(doors);
    let working = vec![
        measured(m.say(wide), "width of a door, half the body"),
        measured(m.say(high), "height of the side"),
        worked("x 2", "once round"),
        worked(format!("x {}", many(doors, "door", "doors")), "in all"),
    ];
    let price = &m.book.part_prices.gasket_ft;
    m.bar("door gasket", length, 1, price, working);
    m.fact("gasket", length);
    length
}

fn door_panel(m: &mut Making<'_>) -> Result<(), String> {
    let count = doors(m);
    let price = &m.book.part_prices.door_panel;
    m.each(
        "door panel",
        count,
        price,
        vec![measured(many(count, "door", "doors"), "reached by the mark")],
    );
    gasket_length(m, count);
    m.hours_each(
        "door_panel",
        "Door panel off and on",
        count,
        "doors",
        &m.book.part_hours.door_panel,
    )?;
    m.said("count", many(count, "panel", "panels"));
    m.large();
    m.taken.wet = true;
    m.why("Hinges, lock rods and keepers go over from the old panel if they are sound.");
    m.warn("The panel is ordered by the opening as measured at this unit, thickness and hinge places included; width and height here are of the plan.");
    Ok(())
}

fn gasket(m: &mut Making<'_>) -> Result<(), String> {
    let count = doors(m);
    let length = gasket_length(m, count);
    m.hours_feet(
        "gasket",
        "Door gasket",
        length,
        "feet of gasket",
        &m.book.part_hours.gasket,
    )?;
    m.taken.wet = true;
    m.why("Water at a door that hangs true comes by its gasket; one that hangs low is set right first.");
    Ok(())
}
