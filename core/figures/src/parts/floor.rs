//! The floor: a new piece of board from crossmember to crossmember, screws set anew, gouges filled, leaks sealed.

use super::common::{dry_out, fill, refasten, reseal};
use super::make::{Making, counted, many, whole, whole_up, worked};
use super::{Harm, Offer, offer};
use crate::group::WayKey;

const BOARDS: Offer = offer(WayKey::NewSection, "New pieces of floor board", boards);

const LOOSE: Offer = offer(WayKey::Refasten, "Floor screws set anew", refasten);
const DRY: Offer = offer(WayKey::DryOut, "Dried and looked at", dry_out);
const WET: Offer = offer(WayKey::Reseal, "Floor joints sealed anew", reseal);
const FILL: Offer = offer(WayKey::Dress, "Gouge filled", fill);

pub(super) const fn offers(harm: Harm) -> &'static [Offer] {
    match harm {
        Harm::Loose => &[LOOSE],
        Harm::Wet => &[DRY, WET, BOARDS],
        Harm::Worn => &[FILL, BOARDS],
        _ => &[BOARDS],
    }
}

/// Boards run along the body; a new piece begins and ends on a crossmember.
fn boards(m: &mut Making<'_>) -> Result<(), String> {
    let (rules, place) = (&m.book.parts, m.mark.place);
    let (board, spacing) = (&rules.board_width, &rules.crossmember_spacing);
    if place.surface != crate::mark::Surface::Floor {
        return Err("Boards are counted for a mark on the floor: put the mark there.".to_owned());
    }
    let across = whole_up(place.high, board.value)
        .saturating_sub(whole(place.low, board.value))
        .max(1);
    let (first, end) = (
        whole(place.from, spacing.value),
        whole_up(place.to, spacing.value),
    );
    let spans = end.saturating_sub(first).max(rules.board_spans.value.into());
    // Near the rear a piece that covers the fewest spaces begins further ahead.
    let last = whole(m.plan.length, spacing.value).max(end);
    let first = first.min(last.saturating_sub(spans)).max(0);
    let (from, length) = (spacing.value.times(first), spacing.value.times(spans));
    if across > 100 || spans > 500 {
        return Err(
            "More boards or crossmembers than a floor has: check their measures in the shop book.".to_owned(),
        );
    }
    let working = vec![
        m.rule("", board, "width of a board"),
        m.rule("", spacing, "between the crossmembers"),
        counted(&rules.board_spans, "spaces a piece covers, at least"),
        worked(
            format!("{spans} x {}", m.say(spacing.value)),
            "crossmember to crossmember",
        ),
    ];
    m.bar(
        "floor board",
        length,
        across,
        &m.book.part_prices.floor_board_ft,
        working,
    );
    let screws = &rules.board_screws;
    let under = spans.saturating_add(1);
    let count = across.saturating_mul(under).saturating_mul(screws.value.into());
    let working = vec![
        worked(across.to_string(), "boards"),
        worked(under.to_string(), "crossmembers under each"),
        counted(screws, "screws in each"),
    ];
    m.screws(count, working);
    let edges = across.saturating_add(1);
    let ends = board.value.times(across).times(2);
    let bead = length.times(edges).plus(ends);
    let working = vec![
        worked(format!("{edges} x {}", m.say(length)), "edges along"),
        worked(format!("+ {}", m.say(ends)), "both ends"),
    ];
    m.bead("floor sealant", bead, working);
    m.fact("piece", length);
    m.said("boards", many(across, "board", "boards"));
    m.said("cut", m.mark.place.surface.along(from, from.plus(length), m.unit));
    m.said("crossmembers", under);
    m.said("screws", count);
    let rate = &m.book.part_hours.floor_board;
    m.hours_feet(
        "floor_board",
        "Floor boards",
        length.times(across),
        "feet of board",
        rate,
    )?;
    m.taken.wet = true;
    m.why("Begins and ends on a crossmember, over whole boards.");
    m.warn("Crossmembers are looked at from below while the boards are out: a bent or cracked one asks the maker before a board covers it.");
    m.warn(format!(
        "Boards of {} and crossmembers every {} are starting values: measure this floor.",
        m.say(board.value),
        m.say(spacing.value)
    ));
    Ok(())
}
