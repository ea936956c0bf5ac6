//! Rails, bows, corner caps: spliced, straightened, or changed while the roof sheet stays on. What is cracked or
//! bent in a rail that carries the body waits for the maker ([`crate::group::asks_the_maker`]).

use super::common::{dress, refasten, reseal, stations, straight};
use super::make::{Making, basis, counted, in_line, many, measured, whole, worked};
use super::{Harm, Offer, offer};
use crate::basis::Standing;
use crate::group::WayKey;
use crate::mark::Part;
use crate::measure::Length;
use crate::rail_rivets::{Carrier, Fitting};

const LOOSE: Offer = offer(WayKey::Refasten, "Fasteners set anew", refasten);
const WET: Offer = offer(WayKey::Reseal, "Sealed anew", reseal);
const DRESS: Offer = offer(WayKey::Dress, "Dressed and coated", dress);
const NEW_NOSE_RAIL: Offer = offer(WayKey::Replace, "New nose rail, the roof sheet stays", nose_rail);
const NEW_BOW: Offer = offer(WayKey::Replace, "New bow, from inside", bow);
const NEW_FRONT_BOW: Offer = offer(WayKey::Replace, "New front bow, from inside", bow);
const NEW_CAP: Offer = offer(WayKey::Replace, "New corner cap", cap);
const STRAIGHT: Offer = offer(WayKey::Straighten, "Bow straightened from inside", straighten);
const NOSE_SPLICE: Offer = offer(WayKey::Splice, "Nose rail splice", nose_splice);
const TOP_SPLICE: Offer = offer(WayKey::Splice, "Top rail splice", top_splice);

pub(super) fn offers(part: Part, harm: Harm) -> &'static [Offer] {
    match (part, harm) {
        (_, Harm::Loose) => &[LOOSE],
        (Part::NoseRail, Harm::Wet) => &[WET],
        (Part::NoseRail, Harm::Bent) => &[NOSE_SPLICE, NEW_NOSE_RAIL],
        (Part::NoseRail, Harm::Worn) => &[DRESS, NOSE_SPLICE, NEW_NOSE_RAIL],
        (Part::NoseRail, Harm::Open | Harm::Cracked) => &[NEW_NOSE_RAIL],
        (Part::TopRail, Harm::Bent | Harm::Open) => &[TOP_SPLICE],
        (Part::TopRail, Harm::Worn) => &[DRESS, TOP_SPLICE],
        (Part::BottomRail, Harm::Worn) => &[DRESS],
        (Part::RoofBow, Harm::Bent) => &[STRAIGHT, NEW_BOW],
        (Part::FrontRoofBow, Harm::Bent) => &[STRAIGHT, NEW_FRONT_BOW],
        (Part::RoofBow, Harm::Worn) => &[DRESS, NEW_BOW],
        (Part::FrontRoofBow, Harm::Worn) => &[DRESS, NEW_FRONT_BOW],
        (Part::RoofBow, Harm::Open | Harm::Cracked) => &[NEW_BOW],
        (Part::FrontRoofBow, Harm::Open | Harm::Cracked) => &[NEW_FRONT_BOW],
        (Part::CornerCap, Harm::Worn) => &[DRESS, NEW_CAP],
        (Part::CornerCap, Harm::Bent | Harm::Open | Harm::Cracked) => &[NEW_CAP],
        (_, Harm::Wet) => &[WET],
        _ => &[],
    }
}

/// A splice: the cut-out, the piece over it, and fasteners each side no fewer than the factory rows hold there.
fn splice(m: &mut Making<'_>, item: &str, rail: Length, rows: i64) -> Result<(), String> {
    let rules = &m.book.parts;
    let (run, (near, far)) = (m.run(), m.reach());
    if run > rules.rail_longest.value {
        return Err(format!(
            "The damage along the rail, {}, is longer than what a splice mends, {} (shop rule).",
            m.say(run),
            m.say(rules.rail_longest.value)
        ));
    }
    let (reach, margin) = (&rules.rail_reach, rules.cut_margin.value);
    let clear = rules.rail_end_clear.value.plus(reach.value).plus(margin);
    if near < clear || far > rail.minus(clear) {
        return Err(format!(
            "The splice would come nearer than {} to an end or corner plate of the rail (shop rule).",
            m.say(rules.rail_end_clear.value)
        ));
    }
    let (cut, mut working) = m.cut_out(run);
    let piece = cut.plus(reach.value.times(2));
    working.push(m.rule("+ 2 x ", reach, "past the cut, each side"));
    let price = if item == "nose rail" {
        &m.book.prices.nose_rail_ft
    } else {
        &m.book.part_prices.top_rail_ft
    };
    m.bar(item, piece, 1, price, working);
    m.fact("piece", piece);
    m.fact("reach", reach.value);
    fasteners(m, cut, rows)?;
    let bead = piece.times(2);
    let working = vec![worked(m.say(piece), "piece"), worked("x 2", "both edges")];
    m.bead("splice sealant", bead, working);
    Ok(())
}

fn fasteners(m: &mut Making<'_>, cut: Length, rows: i64) -> Result<(), String> {
    let (rules, pitch) = (&m.book.parts, m.plan.rail_hole_pitch);
    let factory = whole(rules.rail_reach.value, pitch).saturating_mul(rows);
    let side = factory.max(rules.rail_fasteners.value.into());
    let over = whole(cut, pitch).saturating_mul(rows);
    let count = side.saturating_mul(2).saturating_add(over);
    if count > 2_000 {
        return Err("More than 2000 fasteners: check the rail's hole pitch.".to_owned());
    }
    let working = vec![
        measured(m.say(pitch), "pitch of the rail's holes"),
        basis(rows.to_string(), "factory rows", Standing::CommonPractice),
        worked(factory.to_string(), "holes of those rows past the cut, each side"),
        counted(&rules.rail_fasteners, "each side, at least"),
        worked(format!("{side} x 2"), "both sides"),
        worked(format!("+ {over}"), "over the cut"),
    ];
    m.rivets_into("splice rivets", count, (Carrier::Rail, [0, 2]), working);
    m.said("side", side);
    m.said("fasteners", count);
    let rate = &m.book.part_hours.rail_splice;
    m.hours_each("rail_splice", "Rail splice", 1, "splice", rate)?;
    m.why(format!(
        "Clear of ends and corner plates; {side} fasteners each side, no fewer than the factory rows hold there."
    ));
    m.warn("A crack, or a bend of the rail itself, found when the rail is bare: stop and ask the maker.");
    m.holds_body()
}

fn nose_splice(m: &mut Making<'_>) -> Result<(), String> {
    let rail = m.plan.rail_width_outside;
    splice(m, "nose rail", rail, 2)?;
    m.cover();
    m.why("Bends and gouges of a short place; a crack runs on, so that it takes a whole rail.");
    Ok(())
}

fn top_splice(m: &mut Making<'_>) -> Result<(), String> {
    let rail = m.plan.length;
    splice(m, "top rail", rail, 2)?;
    m.cover();
    let piece = m.taken.needs.first().map_or(Length::ZERO, |need| need.length);
    let prices = &m.book.prices;
    let working = vec![worked(m.say(piece), "over the splice, under the roof edge")];
    m.tape(
        "foam tape",
        piece,
        &prices.foam_tape_roll,
        &prices.foam_tape_roll_length,
        working,
    )
}

/// A nose rail under a sheet that stays: its front edge is loosened, and the front bow goes in with the rail.
fn nose_rail(m: &mut Making<'_>) -> Result<(), String> {
    let rules = &m.book.parts;
    let (width, pitch) = (m.plan.rail_width_outside, m.plan.rail_hole_pitch);
    let outside = |m: &Making<'_>| vec![measured(m.say(width), "rail width outside")];
    let working = outside(m);
    m.bar("nose rail", width, 1, &m.book.prices.nose_rail_ft, working);
    let practice = |what: &str| basis("with the rail", what, Standing::CommonPractice);
    m.each(
        "front roof bow",
        1,
        &m.book.prices.front_bow,
        vec![practice("goes in with the nose rail")],
    );
    m.need("front roof bow", width, None, None, 1);
    let plates = &rules.corner_plates;
    let working = vec![counted(plates, "inner and outer, both corners")];
    m.each(
        "corner plate",
        plates.value.into(),
        &m.book.part_prices.corner_plate,
        working,
    );
    m.each(
        "corner cap",
        2,
        &m.book.prices.corner_cap,
        vec![practice("both corners")],
    );
    let bolts = &rules.holding_bolts;
    let working = vec![counted(bolts, "hold it until it is riveted")];
    m.each(
        "holding bolts",
        bolts.value.into(),
        &m.book.part_prices.bolt,
        working,
    );
    let diameter = &m.book.roof.rivet_diameter;
    let margin = diameter.value.times(4);
    let row = in_line(width.minus(margin), pitch)?;
    let working = vec![
        measured(m.say(width), "rail width outside"),
        basis(
            format!("- 2 x 2 x {}", diameter.value.say_decimal(m.unit)),
            "2 D at each end",
            diameter.standing.clone(),
        ),
        measured(
            format!("/ {}", m.say(pitch)),
            "even pitch, no wider than the rail's",
        ),
        worked(format!("{row} x 2"), "rows, roof sheet and nose sheet"),
    ];
    m.rivets_into(
        "nose rail rivets",
        row.saturating_mul(2),
        (Carrier::Rail, [1, 1]),
        working,
    );
    let edge = &rules.edge_loosened;
    let back = whole(edge.value, pitch).saturating_mul(2);
    let working = vec![
        m.rule("", edge, "edge loosened on each top rail"),
        measured(format!("/ {}", m.say(pitch)), "existing holes"),
        worked("x 2", "both sides"),
    ];
    m.rivets_into("top rail rivets", back, (Carrier::Rail, [1, 1]), working);
    let bead = width.plus(edge.value.times(2));
    let working = vec![
        measured(m.say(width), "nose rail"),
        m.rule("+ 2 x ", edge, "loosened edge of the top rails"),
    ];
    m.bead("edge sealant", bead, working);
    m.fact("piece", width);
    m.fact("back", edge.value);
    m.said("rivets", row.saturating_mul(2));
    m.said("bolts", bolts.value);
    m.fact("pitch", pitch);
    m.hours_each(
        "nose_rail",
        "Nose rail, front bow, corners",
        1,
        "nose rail",
        &m.book.hours.nose_rail,
    )?;
    let rate = &m.book.part_hours.edge_loosened;
    m.hours_feet(
        "edge_loosened",
        "Roof edge loosened and closed",
        bead,
        "feet of edge",
        rate,
    )?;
    m.holds_body()?;
    m.cover();
    let (edge, nose) = (m.say(edge.value), "the nose and");
    m.why(format!("The roof sheet stays: its edge is loosened over {nose} {edge} back on each top rail, and rolled down again."));
    m.why("Front bow, corner plates and corner caps go in with it.");
    m.warn("An edge that cracks when it is opened, or sheet that was creased with the rail: a front section is the way.");
    Ok(())
}

/// The bows of a mark; the front bow has no number.
fn bows(m: &mut Making<'_>) -> Result<i64, String> {
    if m.mark.part == Part::FrontRoofBow {
        m.said("bows", "front bow");
        return Ok(1);
    }
    stations(m, &m.plan.bows, "bows")
}

fn straighten(m: &mut Making<'_>) -> Result<(), String> {
    let count = bows(m)?;
    straight(m, &m.book.parts.bow_bend, "a new bow")?;
    m.hours_each(
        "bow_straighten",
        "Bow straightened",
        count,
        "bows",
        &m.book.part_hours.bow_straighten,
    )?;
    m.large();
    m.taken.lining = true;
    Ok(())
}

/// A bow changed from inside, while the sheet above stays.
fn bow(m: &mut Making<'_>) -> Result<(), String> {
    let (count, rules) = (bows(m)?, &m.book.parts);
    let most = i64::from(rules.bows_from_inside.value);
    if count > most {
        return Err(format!(
            "{count} bows are reached; at most {most} are changed from inside (shop rule). A roof section is the way."
        ));
    }
    let near = m.book.roof.seam_lap.value;
    let stations = m.plan.bows.iter().zip(1_u32..);
    let under_seam = stations
        .filter(|(_, number)| m.taken.numbers.contains(number))
        .find(|(at, _)| m.plan.roof_seams.iter().any(|seam| seam.apart(**at) <= near));
    if let Some((_, number)) = under_seam {
        return Err(format!(
            "Bow {number} lies under an earlier seam, which holds on it: a roof section is the way."
        ));
    }
    let width = m.plan.rail_width_outside;
    let (item, price) = if m.mark.part == Part::FrontRoofBow {
        ("front roof bow", &m.book.prices.front_bow)
    } else {
        ("roof bow", &m.book.prices.bow)
    };
    m.each(
        item,
        count,
        price,
        vec![measured(many(count, "bow", "bows"), "reached by the mark")],
    );
    m.need(item, width, None, None, count);
    let ends = &rules.bow_end_fasteners;
    let fasteners = count.saturating_mul(2).saturating_mul(ends.value.into());
    let working = vec![
        worked(many(count, "bow", "bows"), "changed"),
        counted(ends, "fasteners, x 2 ends"),
    ];
    m.rivets_of(Fitting::BowEnd, "bow rivets", fasteners, working);
    let bead = width.times(count);
    let working = vec![
        measured(m.say(width), "rail width outside"),
        worked(
            format!("x {}", many(count, "bow", "bows")),
            "caulked to the sheet",
        ),
    ];
    m.bead("bow caulk", bead, working);
    m.said("fasteners", fasteners);
    m.fact("piece", width);
    m.hours_each(
        "bow_inside",
        "Bow changed from inside",
        count,
        "bows",
        &m.book.part_hours.bow_inside,
    )?;
    m.holds_body()?;
    m.why("From inside, one at a time; the roof is not opened, the sheet above stays sound and tight.");
    m.warn("Rivets or tape between bow and sheet are cut free from inside: a sheet that tears or stays slack makes it a roof section.");
    Ok(())
}

fn cap(m: &mut Making<'_>) -> Result<(), String> {
    let rules = &m.book.parts;
    m.each(
        "corner cap",
        1,
        &m.book.prices.corner_cap,
        vec![measured("1", "corner")],
    );
    let (fasteners, bead) = (&rules.cap_fasteners, &rules.cap_bead);
    m.rivets_of(
        Fitting::Cap,
        "cap rivets",
        fasteners.value.into(),
        vec![counted(fasteners, "fasteners of a cap")],
    );
    let working = vec![m.rule("", bead, "round the cap")];
    m.bead("cap sealant", bead.value, working);
    m.said("fasteners", fasteners.value);
    m.hours_each(
        "corner_cap",
        "Corner cap",
        1,
        "cap",
        &m.book.part_hours.corner_cap,
    )?;
    m.taken.wet = true;
    m.why("The cap comes off alone; rails and corner post under it are looked at while they are bare.");
    m.warn("A bent rail or post under the cap: stop, enter it as found more.");
    Ok(())
}
