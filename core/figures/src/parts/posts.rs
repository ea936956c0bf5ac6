//! Corner posts and side posts: straightened cold within a limit, spliced, sistered, replaced; lining out.

use super::common::{dress, refasten, reseal, stations, straight};
use super::make::{Making, basis, counted, in_line, many, measured, whole, worked};
use super::{Harm, Offer, offer};
use crate::basis::Standing;
use crate::group::WayKey;
use crate::mark::Part;
use crate::rail_rivets::{Carrier, Fitting};

const LOOSE: Offer = offer(WayKey::Refasten, "Fasteners set anew", refasten);
const WET: Offer = offer(WayKey::Reseal, "Sealed anew", reseal);
const DRESS: Offer = offer(WayKey::Dress, "Dressed and coated", dress);
const CORNER: Offer = offer(WayKey::Replace, "New corner post", corner);
const STRAIGHT: Offer = offer(WayKey::Straighten, "Post straightened", straighten);
const SPLICE: Offer = offer(WayKey::Splice, "Post splice", splice);
const SISTER: Offer = offer(WayKey::Sister, "Post sistered, full height", sister);
const NEW: Offer = offer(WayKey::Replace, "New side post", replace);

pub(super) fn offers(part: Part, harm: Harm) -> &'static [Offer] {
    match (part, harm) {
        (_, Harm::Loose) => &[LOOSE],
        (_, Harm::Wet) => &[WET],
        (_, Harm::Layers) => &[],
        (Part::CornerPost, Harm::Worn) => &[DRESS, CORNER],
        (Part::CornerPost, _) => &[CORNER],
        (_, Harm::Bent) => &[STRAIGHT, SPLICE, SISTER, NEW],
        (_, Harm::Worn) => &[DRESS, SPLICE, SISTER, NEW],
        (_, Harm::Open | Harm::Cracked) => &[SPLICE, SISTER, NEW],
    }
}

fn corner(m: &mut Making<'_>) -> Result<(), String> {
    let (high, joint) = (m.plan.side_height, &m.book.side.joint_pitch);
    m.each(
        "corner post",
        1,
        &m.book.part_prices.corner_post,
        vec![measured("1", "corner")],
    );
    m.need("corner post", high, None, None, 1);
    let row = in_line(high, joint.value)?;
    let working = vec![
        measured(m.say(high), "height of the side"),
        m.rule("/ ", joint, "pitch of the factory rows"),
        worked(format!("{row} x 2"), "rows, nose sheet and side sheet"),
    ];
    m.rivets_into(
        "corner post rivets",
        row.saturating_mul(2),
        (Carrier::Post, [1, 1]),
        working,
    );
    let working = vec![worked(format!("2 x {}", m.say(high)), "both edges")];
    m.bead("corner post sealant", high.times(2), working);
    let cap = &m.book.parts.cap_fasteners;
    m.rivets_of(
        Fitting::Cap,
        "cap rivets",
        cap.value.into(),
        vec![counted(cap, "its cap off and on")],
    );
    m.fact("piece", high);
    m.said("rivets", row.saturating_mul(2));
    m.hours_each(
        "corner_post",
        "Corner post off and on",
        1,
        "post",
        &m.book.part_hours.corner_post,
    )?;
    m.holds_body()?;
    m.cover();
    m.why("A corner post is not spliced or straightened here: it holds nose wall, side and rails together, so a whole one of the maker's goes in.");
    m.warn("Rails or corner plates that are bent with it: the maker says how the corner is set.");
    Ok(())
}

fn posts(m: &mut Making<'_>) -> Result<i64, String> {
    let count = stations(m, m.plan.side_posts(), "posts")?;
    m.taken.lining = true;
    m.large();
    Ok(count)
}

fn straighten(m: &mut Making<'_>) -> Result<(), String> {
    let count = posts(m)?;
    straight(m, &m.book.parts.post_bend, "another way")?;
    m.hours_each(
        "post_straighten",
        "Post straightened",
        count,
        "posts",
        &m.book.part_hours.post_straighten,
    )?;
    Ok(())
}

fn splice(m: &mut Making<'_>) -> Result<(), String> {
    let (count, rules, place) = (posts(m)?, &m.book.parts, m.mark.place);
    let run = m.run();
    if run > rules.post_longest.value {
        return Err(format!(
            "The damage up the post, {}, is longer than what a splice mends, {} (shop rule).",
            m.say(run),
            m.say(rules.post_longest.value)
        ));
    }
    let reach = &rules.post_reach;
    let clear = rules
        .post_end_clear
        .value
        .plus(reach.value)
        .plus(rules.cut_margin.value);
    if place.low < clear || place.high > m.plan.side_height.minus(clear) {
        return Err(format!(
            "The splice would come nearer than {} to a rail (shop rule).",
            m.say(rules.post_end_clear.value)
        ));
    }
    let (cut, mut working) = m.cut_out(run);
    let piece = cut.plus(reach.value.times(2));
    working.push(m.rule("+ 2 x ", reach, "past the cut, each side"));
    m.bar(
        "side post",
        piece,
        count,
        &m.book.part_prices.side_post_ft,
        working,
    );
    let pitch = &m.book.side.post_pitch;
    let factory = whole(reach.value, pitch.value);
    let side = factory.max(rules.post_fasteners.value.into());
    let over = whole(cut, pitch.value);
    let each = side.saturating_mul(2).saturating_add(over);
    let working = vec![
        m.rule("", pitch, "pitch of the post's row"),
        worked(factory.to_string(), "holes of the row past the cut, each side"),
        counted(&rules.post_fasteners, "each side, at least"),
        worked(format!("{side} x 2 + {over}"), "both sides, and over the cut"),
        worked(format!("x {}", many(count, "post", "posts")), "in all"),
    ];
    few(each)?;
    m.rivets_into(
        "splice rivets",
        each.saturating_mul(count),
        (Carrier::Post, [0, 2]),
        working,
    );
    m.fact("piece", piece);
    m.fact("reach", reach.value);
    m.said("side", side);
    m.hours_each(
        "post_splice",
        "Post splice",
        count,
        "posts",
        &m.book.part_hours.post_splice,
    )?;
    m.why(format!(
        "Clear of both rails; {side} fasteners each side, no fewer than the factory row holds there."
    ));
    Ok(())
}

/// A new post over the full height, beside the old one that stays.
fn sister(m: &mut Making<'_>) -> Result<(), String> {
    let count = posts(m)?;
    full_height(m, count, ("sister rivets", 2), "new post to old post and sheet")?;
    m.hours_each(
        "post_sister",
        "Post sistered",
        count,
        "posts",
        &m.book.part_hours.post_sister,
    )?;
    m.why("The old post stays, so that the wall is never without it; sheet rivets on the old post stay too.");
    m.warn(
        "Lining screws and cargo gear on the old post: their line moves, see that both fit before riveting.",
    );
    Ok(())
}

fn replace(m: &mut Making<'_>) -> Result<(), String> {
    let count = posts(m)?;
    full_height(m, count, ("post rivets", 1), "existing holes of the sheet")?;
    m.hours_each(
        "post_replace",
        "Post out and in",
        count,
        "posts",
        &m.book.part_hours.post_replace,
    )?;
    m.brace()?;
    let working = vec![
        measured(m.say(m.plan.side_height), "height of the side"),
        worked(
            format!("x {}", many(count, "post", "posts")),
            "rivets sealed outside",
        ),
    ];
    m.bead("rivet sealant", m.plan.side_height.times(count), working);
    m.taken.wet = true;
    m.why("One post at a time, wall braced; the sheet's own holes are kept and reused.");
    m.warn("Where two side sheets lap on the post, the lap is opened with it and sealed anew.");
    Ok(())
}

/// Posts from rail to rail, with the rivets that go through the sheet and so many of their flanges.
fn full_height(
    m: &mut Making<'_>,
    count: i64,
    (item, flanges): (&str, usize),
    what: &str,
) -> Result<(), String> {
    let (high, pitch) = (m.plan.side_height, &m.book.side.post_pitch);
    let working = vec![measured(m.say(high), "bottom rail to top rail")];
    m.bar(
        "side post",
        high,
        count,
        &m.book.part_prices.side_post_ft,
        working,
    );
    let row = in_line(high, pitch.value)?;
    let working = vec![
        measured(m.say(high), "height of the side"),
        m.rule("/ ", pitch, what),
        worked(format!("{row} x {}", many(count, "post", "posts")), "in all"),
        basis(
            "as the factory row",
            "size, rows and pitch no weaker",
            Standing::CommonPractice,
        ),
    ];
    m.rivets_into(
        item,
        row.saturating_mul(count),
        (Carrier::Post, [1, flanges]),
        working,
    );
    m.fact("piece", high);
    m.said("rivets", row.saturating_mul(count));
    Ok(())
}

fn few(count: i64) -> Result<(), String> {
    if count > 2_000 {
        return Err("More than 2000 fasteners: check the pitch in the shop book.".to_owned());
    }
    Ok(())
}
