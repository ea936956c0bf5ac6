//! Lining and scuff band: an insert from post to post, whole lining sheets, a new length of band.

use super::common::{dress, dry_out, refasten, reseal};
use super::make::{Making, counted, in_line, many, measured, whole, whole_up, worked};
use super::{Harm, Offer, offer};
use crate::group::WayKey;
use crate::mark::Part;
use crate::measure::Length;

const LOOSE: Offer = offer(WayKey::Refasten, "Screws set anew", refasten);
const WET: Offer = offer(WayKey::Reseal, "Leak behind it sealed", reseal);
const DRY: Offer = offer(WayKey::DryOut, "Dried and looked at", dry_out);
const DRESS: Offer = offer(WayKey::Dress, "Dressed smooth", dress);
const INSERT: Offer = offer(WayKey::NewSection, "Lining insert, post to post", insert);
const SHEETS: Offer = offer(WayKey::Replace, "New lining sheets", sheets);
const BAND: Offer = offer(WayKey::NewSection, "New length of scuff band", band);

pub(super) fn offers(part: Part, harm: Harm) -> &'static [Offer] {
    match (part, harm) {
        (_, Harm::Loose) => &[LOOSE],
        (Part::Lining, Harm::Wet) => &[DRY, WET, SHEETS],
        (Part::Lining, _) => &[INSERT, SHEETS],
        (_, Harm::Wet) => &[WET],
        (_, Harm::Layers) => &[],
        (_, Harm::Worn) => &[DRESS, BAND],
        _ => &[BAND],
    }
}

/// From the post at or ahead of the damage to the one at or behind it; the body's ends where there is none.
fn post_to_post(m: &Making<'_>) -> Result<(Length, Length), String> {
    if m.plan.composite_sides {
        return Err("The sides are composite plate and have no posts to end on: how it is held there, the maker says.".to_owned());
    }
    let (place, posts) = (m.mark.place, m.plan.side_posts());
    let (reach, _) = m.plan.extent(place.surface);
    let ahead = posts.iter().copied().filter(|at| *at <= place.from).max();
    let ahead = ahead.unwrap_or(Length::ZERO);
    let behind = posts
        .iter()
        .copied()
        .filter(|at| *at >= place.to && *at > ahead)
        .min();
    Ok((ahead, behind.unwrap_or(reach).min(reach)))
}

/// The posts a section is fastened to; on the nose wall by the shop's spacing.
fn section(m: &mut Making<'_>) -> Result<(Length, Length), String> {
    let side = m.mark.part == Part::ScuffBand
        || !matches!(
            m.mark.place.surface,
            crate::mark::Surface::InsideNose | crate::mark::Surface::Nose
        );
    if side {
        return post_to_post(m);
    }
    let (place, spacing) = (m.mark.place, m.book.parts.nose_post_spacing.value);
    let from = spacing.times(whole(place.from, spacing));
    let to = spacing.times(whole_up(place.to, spacing)).max(from.plus(spacing));
    m.warn("Posts of the nose wall are not on the plan: the insert is figured by the shop's spacing, measure it.");
    Ok((from, to.min(m.plan.width)))
}

fn insert(m: &mut Making<'_>) -> Result<(), String> {
    let (from, to) = section(m)?;
    let rules = &m.book.parts;
    let (wide, margin) = (to.minus(from), &rules.cut_margin);
    let up = m.mark.place.high.minus(m.mark.place.low);
    let high = up.plus(margin.value.times(2));
    let [sheet_wide, sheet_high] = rules.lining_sheet.value;
    let fits = |a: Length, b: Length| a <= sheet_wide && b <= sheet_high;
    if !(fits(wide, high) || fits(high, wide)) {
        return Err(format!(
            "{} x {} is more than one sheet of {} x {}: whole sheets are the way.",
            m.say(wide),
            m.say(high),
            m.say(sheet_wide),
            m.say(sheet_high)
        ));
    }
    let working = vec![
        measured(format!("{} to {}", m.say(from), m.say(to)), "post to post"),
        measured(m.say(up), "height of the damage"),
        m.rule("+ 2 x ", margin, "back to sound lining"),
        worked(
            format!("{} x {}", m.say(wide), m.say(high)),
            "insert, out of one sheet",
        ),
    ];
    m.each("lining sheet", 1, &m.book.prices.lining_sheet, working);
    m.need("lining sheet", wide, Some(high), None, 1);
    let pitch = &rules.lining_pitch;
    let (across, upright) = (in_line(wide, pitch.value)?, in_line(high, pitch.value)?);
    let count = across.saturating_add(upright).saturating_sub(2).saturating_mul(2);
    let working = vec![
        worked(format!("{} x {}", m.say(wide), m.say(high)), "insert"),
        m.rule("/ ", pitch, "pitch all round"),
    ];
    m.screws(count, working);
    let working = vec![worked(
        format!("2 x {}", m.say(wide)),
        "behind the upper and the lower edge",
    )];
    m.bar("backing strip", wide, 2, &m.book.part_prices.backing_ft, working);
    m.said("piece", format!("{} x {}", m.say(wide), m.say(high)));
    m.said("cut", m.mark.place.surface.along(from, to, m.unit));
    m.said("screws", count);
    m.hours_each(
        "lining_insert",
        "Lining insert",
        1,
        "insert",
        &m.book.part_hours.lining_insert,
    )?;
    m.why("Both upright edges land on a post, upper and lower edge on a backing strip; the rest of the lining stays.");
    Ok(())
}

/// Whole sheets, counted from the nose at the width of a sheet.
fn sheets(m: &mut Making<'_>) -> Result<(), String> {
    let (rules, place) = (&m.book.parts, m.mark.place);
    let [wide, high] = rules.lining_sheet.value;
    let count = whole_up(place.to, wide)
        .saturating_sub(whole(place.from, wide))
        .max(1);
    if count > 200 || wide <= Length::ZERO {
        return Err("More than 200 lining sheets: check the size of a sheet in the shop book.".to_owned());
    }
    let size = format!("{} x {}", m.say(wide), m.say(high));
    let working = vec![
        measured(format!("{} to {}", m.say(place.from), m.say(place.to)), "damage"),
        crate::basis::Basis::new(
            size.clone(),
            "a sheet, counted from the nose",
            rules.lining_sheet.standing.clone(),
        ),
    ];
    m.each("lining sheet", count, &m.book.prices.lining_sheet, working);
    m.need("lining sheet", high, Some(wide), None, count);
    let pitch = &rules.lining_pitch;
    let (across, upright) = (in_line(wide, pitch.value)?, in_line(high, pitch.value)?);
    let each = across.saturating_add(upright).saturating_sub(2).saturating_mul(2);
    let working = vec![
        worked(each.to_string(), "screws round a sheet"),
        m.rule("", pitch, "pitch all round"),
        worked(format!("x {}", many(count, "sheet", "sheets")), "in all"),
    ];
    m.screws(each.saturating_mul(count), working);
    m.said("piece", size);
    m.said("count", many(count, "sheet", "sheets"));
    m.said("screws", each.saturating_mul(count));
    m.hours_each(
        "lining_sheet",
        "Lining sheet",
        count,
        "sheets",
        &m.book.part_hours.lining_sheet,
    )?;
    m.large();
    m.why(if m.plan.composite_sides {
        "Whole sheets with their joints where they were; how they are held on composite plate, the maker says."
    } else {
        "Whole sheets with their joints on the posts where they were."
    });
    m.warn(
        "Joints of the lining are not on the plan: sheets are counted from the nose; look where they lie.",
    );
    Ok(())
}

fn band(m: &mut Making<'_>) -> Result<(), String> {
    let (from, to) = post_to_post(m)?;
    let length = to.minus(from);
    let posts = m
        .plan
        .side_posts()
        .iter()
        .filter(|at| **at >= from && **at <= to)
        .count();
    let posts = i64::try_from(posts).unwrap_or(i64::MAX).max(2);
    let working = vec![measured(
        format!("{} to {}", m.say(from), m.say(to)),
        "post to post",
    )];
    m.bar(
        "scuff band",
        length,
        1,
        &m.book.part_prices.scuff_band_ft,
        working,
    );
    let each = &m.book.parts.scuff_screws;
    let count = posts.saturating_mul(each.value.into());
    let working = vec![
        measured(posts.to_string(), "posts (or ends) in it"),
        counted(each, "screws in each"),
    ];
    m.screws(count, working);
    m.fact("piece", length);
    m.said("cut", m.mark.place.surface.along(from, to, m.unit));
    m.said("screws", count);
    m.hours_feet(
        "scuff_band",
        "Scuff band",
        length,
        "feet of band",
        &m.book.part_hours.scuff_band,
    )?;
    m.why(
        "From post to post, so that both joints lie on a post; edges flush, so that no load hangs on them.",
    );
    Ok(())
}
