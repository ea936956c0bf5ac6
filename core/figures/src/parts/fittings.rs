//! Hinges, rear guard, lamps and harness, mud flaps, reflective sheeting, decals and unit number.

use super::common::{dress, refasten};
use super::make::{Making, counted, many, measured, whole_up, worked};
use super::{Harm, Offer, offer};
use crate::group::WayKey;
use crate::mark::{Part, Surface};
use crate::measure::{Length, Unit};

const LOOSE: Offer = offer(WayKey::Refasten, "Fasteners set anew", refasten);
const HINGE: Offer = offer(WayKey::Replace, "New hinge", hinge);
const PIN: Offer = offer(WayKey::NewPin, "New hinge pin", pin);
const GUARD: Offer = offer(WayKey::Replace, "New rear guard, with its label", guard);
const LAMP: Offer = offer(WayKey::Replace, "New lamp", lamp);
const FLAP: Offer = offer(WayKey::Replace, "New mud flap", flap);
const DECAL: Offer = offer(WayKey::Replace, "New decal or unit number", decal);
const DRESS: Offer = offer(WayKey::Dress, "Contacts cleaned and coated", dress);
const WIRES: Offer = offer(WayKey::Splice, "Wires joined and sealed", wires);
const HARNESS: Offer = offer(WayKey::Replace, "New harness", harness);
const PIECES: Offer = offer(WayKey::NewSection, "New pieces of sheeting", pieces);
const WHOLE_SIDE: Offer = offer(WayKey::Replace, "Sheeting of the whole side anew", whole_side);

pub(super) fn offers(part: Part, harm: Harm) -> &'static [Offer] {
    match (part, harm) {
        (Part::ReflectiveSheeting, _) => &[PIECES, WHOLE_SIDE],
        (Part::Decal, _) => &[DECAL],
        (Part::RearGuard, _) => &[GUARD],
        (_, Harm::Loose) => &[LOOSE],
        (Part::Hinge, Harm::Open | Harm::Cracked) => &[HINGE],
        (Part::Hinge, _) => &[PIN, HINGE],
        (Part::Lamp, Harm::Worn) => &[DRESS, LAMP],
        (Part::Lamp, _) => &[LAMP],
        (Part::Harness, _) => &[WIRES, HARNESS],
        (Part::MudFlap, _) => &[FLAP],
        _ => &[],
    }
}

fn bolts(m: &mut Making<'_>, count: &crate::basis::Given<u32>, what: &str) {
    let price = &m.book.part_prices.bolt;
    m.each("bolts", count.value.into(), price, vec![counted(count, what)]);
    m.said("fasteners", count.value);
}

fn hinge(m: &mut Making<'_>) -> Result<(), String> {
    m.each("hinge", 1, &m.book.part_prices.hinge, vec![measured("1", "mark")]);
    bolts(m, &m.book.parts.hinge_fasteners, "fasteners of a hinge");
    m.hours_each("hinge", "Hinge off and on", 1, "hinge", &m.book.part_hours.hinge)?;
    m.large();
    m.why("A hinge that is bolted or riveted on, one at a time, the door held.");
    m.warn("A hinge that is welded to the rear frame, or a crack that runs into the frame: ask the maker, no welding here.");
    Ok(())
}

fn pin(m: &mut Making<'_>) -> Result<(), String> {
    m.each(
        "hinge pin",
        1,
        &m.book.part_prices.hinge_pin,
        vec![measured("1", "mark")],
    );
    m.hours_each("hinge_pin", "Hinge pin", 1, "pin", &m.book.part_hours.hinge_pin)?;
    m.large();
    m.why("Only where the hinge itself and its eyes are round and sound: worn eyes take a new hinge.");
    Ok(())
}

fn guard(m: &mut Making<'_>) -> Result<(), String> {
    let price = &m.book.part_prices.rear_guard;
    m.each(
        "rear guard",
        1,
        price,
        vec![measured("1", "whole, as the maker sells it")],
    );
    m.ready("bolts of the rear guard", "the maker's, by the maker's sheet");
    m.hours_each(
        "rear_guard",
        "Rear guard off and on",
        1,
        "guard",
        &m.book.part_hours.rear_guard,
    )?;
    m.large();
    m.why("A bent guard is replaced, never straightened; the new one carries its label (49 CFR 393.86, 571.223).");
    m.warn("Only a guard that is bolted on. Welded on, or brackets and frame behind it bent or cracked: ask the maker.");
    m.warn("Fasteners and torque are the maker's: no number of this program stands for them.");
    Ok(())
}

fn lamp(m: &mut Making<'_>) -> Result<(), String> {
    m.each("lamp", 1, &m.book.part_prices.lamp, vec![measured("1", "mark")]);
    let price = &m.book.part_prices.connector;
    m.each("sealed connector", 1, price, vec![worked("1", "a lamp")]);
    m.hours_each("lamp", "Lamp", 1, "lamp", &m.book.part_hours.lamp)?;
    m.why("A lamp is changed whole, of the same colour, marks and place (49 CFR 393.11, 571.108).");
    Ok(())
}

fn wires(m: &mut Making<'_>) -> Result<(), String> {
    let (run, rules) = (m.longest(), &m.book.parts);
    if run > rules.harness_longest.value {
        return Err(format!(
            "The damage along the harness, {}, is longer than what is joined, {} (shop rule): a new harness from connector to connector.",
            m.say(run),
            m.say(rules.harness_longest.value)
        ));
    }
    let (reach, many) = (&rules.harness_reach, &rules.harness_wires);
    let length = run.plus(reach.value.times(2));
    let working = vec![
        measured(m.say(run), "damage"),
        m.rule("+ 2 x ", reach, "new wire past it"),
    ];
    m.bar("harness", length, 1, &m.book.part_prices.harness_ft, working);
    let joints = i64::from(many.value).saturating_mul(2);
    let working = vec![counted(many, "wires, at most"), worked("x 2", "both ends")];
    m.each("sealed connector", joints, &m.book.part_prices.connector, working);
    m.fact("piece", length);
    m.said("joints", joints);
    m.hours_each(
        "wire_joint",
        "Wires joined and sealed",
        joints,
        "joints",
        &m.book.part_hours.wire_joint,
    )?;
    m.why("A short place, clear of connectors; each wire joined by itself, sealed, the joints not side by side.");
    m.warn("Only the wires that are hurt are joined: count them. ABS wires are joined as the maker says.");
    Ok(())
}

fn harness(m: &mut Making<'_>) -> Result<(), String> {
    let length = m.plan.length.plus(m.plan.side_height);
    let working = vec![
        measured(m.say(m.plan.length), "nose to rear"),
        measured(format!("+ {}", m.say(m.plan.side_height)), "down nose and rear"),
    ];
    m.bar("harness", length, 1, &m.book.part_prices.harness_ft, working);
    m.fact("piece", length);
    m.hours_feet(
        "harness",
        "Harness drawn in",
        length,
        "feet of harness",
        &m.book.part_hours.harness,
    )?;
    m.large();
    m.why("From connector to connector, no joint inside.");
    m.warn(
        "Figured by the body's length: measure along the run, connector to connector, before it is bought.",
    );
    Ok(())
}

fn flap(m: &mut Making<'_>) -> Result<(), String> {
    m.each(
        "mud flap",
        1,
        &m.book.part_prices.mud_flap,
        vec![measured("1", "mark")],
    );
    bolts(m, &m.book.parts.flap_fasteners, "fasteners of a flap");
    m.hours_each("mud_flap", "Mud flap", 1, "flap", &m.book.part_hours.mud_flap)?;
    m.why("The bracket is set straight or changed with it; states differ on the height above the road.");
    Ok(())
}

fn decal(m: &mut Making<'_>) -> Result<(), String> {
    let place = m.mark.place;
    m.each("decal", 1, &m.book.part_prices.decal, vec![measured("1", "mark")]);
    m.hours_each(
        "decal",
        "Decal or unit number",
        1,
        "decal",
        &m.book.part_hours.decal,
    )?;
    let size = format!(
        "{} x {}",
        m.say(place.to.minus(place.from)),
        m.say(place.high.minus(place.low))
    );
    m.said("piece", size);
    m.why("Same words, size and place as before; the photo from before says which.");
    Ok(())
}

/// Pieces over a length of strip, and their material.
fn strip(m: &mut Making<'_>, count: i64, working: Vec<crate::basis::Basis>) -> Result<(), String> {
    let rules = &m.book.parts;
    let piece = &rules.sheeting_piece;
    if count > 500 {
        return Err("More than 500 pieces: check the length of a piece in the shop book.".to_owned());
    }
    m.bar(
        "reflective sheeting",
        piece.value,
        count,
        &m.book.part_prices.sheeting_ft,
        working,
    );
    m.said("count", many(count, "piece", "pieces"));
    m.said("piece", piece.value.say(Unit::Mm));
    m.said("width", rules.sheeting_width.value.say(Unit::Mm));
    let rate = &m.book.part_hours.sheeting_piece;
    m.hours_each("sheeting_piece", "Reflective sheeting", count, "pieces", rate)
}

fn pieces(m: &mut Making<'_>) -> Result<(), String> {
    let (place, piece) = (m.mark.place, &m.book.parts.sheeting_piece);
    let run = place.to.minus(place.from);
    let count = whole_up(run, piece.value).max(1);
    let working = vec![
        measured(m.say(run), "damaged length"),
        m.rule("/ ", piece, "a piece, 300 mm more or less 150"),
        worked(count.to_string(), "whole pieces"),
    ];
    let end = place.from.plus(piece.value.times(count));
    strip(m, count, working)?;
    m.said("cut", place.surface.along(place.from, end, m.unit));
    m.said("pattern", pattern(place.surface));
    m.why("Whole pieces over the damaged length, so that the pattern of the strip goes on.");
    m.warn("Pieces that were white at the upper rear corners (two pairs of 300 mm) are white again.");
    Ok(())
}

const fn pattern(surface: Surface) -> &'static str {
    match surface {
        Surface::Curbside | Surface::Roadside | Surface::Rear => {
            "red and white by turns, as the strip beside it"
        }
        _ => "as it was: the rule asks for none here",
    }
}

/// Half of the side's length in pieces, spread evenly from end to end; the rear over its full width.
fn whole_side(m: &mut Making<'_>) -> Result<(), String> {
    let (surface, piece) = (m.mark.place.surface, &m.book.parts.sheeting_piece);
    let (reach, share) = match surface {
        Surface::Curbside | Surface::Roadside => (m.plan.length, m.plan.length.part(2).unwrap_or_default()),
        Surface::Rear => (m.plan.width, m.plan.width),
        _ => return Err("The rule asks for sheeting on the sides and the rear.".to_owned()),
    };
    let count = whole_up(share, piece.value).max(2);
    let working = vec![
        measured(m.say(reach), "length of the side, width of the rear"),
        crate::basis::Basis::new(
            m.say(share),
            "to be covered: half of a side, the full rear",
            piece.standing.clone(),
        ),
        m.rule("/ ", piece, "a piece"),
        worked(count.to_string(), "whole pieces"),
    ];
    strip(m, count, working)?;
    let gaps = count.saturating_sub(1).max(1);
    let pitch = reach.minus(piece.value).part(gaps).unwrap_or(Length::ZERO);
    let said = format!(
        "one begins every {}, the first at 0 {}",
        m.say(pitch),
        surface.zeros()[0]
    );
    m.said("cut", said);
    m.said("pattern", pattern(surface));
    let red = count.saturating_add(1).checked_div(2).unwrap_or_default();
    m.why(format!(
        "{count} pieces, {red} of one colour and {} of the other (neither over two thirds), spread evenly.",
        count.saturating_sub(red)
    ));
    m.why("The way where the strip is old or patched in many places.");
    Ok(())
}
