//! Fold-out: the body unfolded to scale with its marks, the walk round it, and its measures.

use crate::{
    answer::{Answer, Field, FoldOutView, MarkRow, PlaceAt, Refusal, Seam, WalkStop},
    now::{Now, PLAN_FIELDS, applies, figures_mark, is_flange},
    typed,
    view::{head, photos, yard::small},
    words,
};
use bowseam_figures::{
    body::{FoldOut, fold_out as unfold},
    mark::{Place, Surface, WALK, parts_hit},
    measure::Length,
    rail_rivets::{Carrier, Fitting},
    unfold::snap,
};
use bowseam_jobs::{
    entry::{PhotoOf, PhotoWhen, PlanField, PlanValue},
    job::JobMark,
};

/// Taps nearer than this to a bow, post, joint or edge are drawn to it: a thumb on a whole trailer.
const SNAP: Length = Length::inches(3);
/// A single tap makes a mark of this half size.
const HALF_TAP: Length = Length::inches(6);

/// The screen.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn fold_out(now: &Now) -> Result<FoldOutView, Refusal> {
    let (outside, inside) = (unfold(&now.plan, false), unfold(&now.plan, true));
    let marks: Vec<MarkRow> = now
        .job
        .marks
        .iter()
        .map(|mark| row(now, mark, [&outside, &inside]))
        .collect();
    Ok(FoldOutView {
        head: head::head(now)?,
        walk: walk(now),
        plan: PLAN_FIELDS
            .iter()
            .filter(|field| applies(&now.plan, **field))
            .map(|field| measure(now, *field))
            .collect(),
        not_measured: now.not_measured.clone(),
        seams: seams(now, &outside),
        marks,
        outside,
        inside,
    })
}

/// A mark as a row, with its rectangle on its own sheet.
pub fn row(now: &Now, mark: &JobMark, sheets: [&FoldOut; 2]) -> MarkRow {
    let unit = now.unit;
    let inside = mark.place.surface.is_inside();
    let rect = sheets
        .iter()
        .find_map(|sheet| sheet.to_drawing(&mark.place))
        .unwrap_or_default();
    let place = mark.place;
    let of = PhotoOf::Mark(mark.id);
    let hits = parts_hit(&now.plan, &figures_mark(mark));
    MarkRow {
        id: mark.id,
        place,
        inside,
        rect,
        kind: mark.kind,
        part: mark.part,
        age: mark.age,
        size: format!(
            "{} × {}{}",
            place.to.minus(place.from).say(unit),
            place.high.minus(place.low).say(unit),
            mark.depth
                .map(|depth| format!(", {} deep", typed::exactly(depth, unit)))
                .unwrap_or_default()
        ),
        where_: place.said(unit),
        hits_words: words::hits(&hits),
        hits,
        photos: small(photos::of(now, &of).len()),
        after: small(photos::count(now, &of, PhotoWhen::After)),
        note: mark.note.clone(),
        found: mark.found,
        from_photo: crate::from_photo::say(mark, unit),
    }
}

/// The walk round: what has been looked at, and what not yet.
fn walk(now: &Now) -> Vec<WalkStop> {
    let stop = |(side, surfaces): &(&str, &[Surface])| {
        let inside = surfaces.iter().all(|surface| surface.is_inside());
        WalkStop {
            side: (*side).to_owned(),
            surfaces: surfaces.to_vec(),
            seen: surfaces.iter().all(|surface| now.job.looked.contains(surface)),
            marks: small(
                now.job
                    .marks
                    .iter()
                    .filter(|mark| surfaces.contains(&mark.place.surface))
                    .count(),
            ),
            not_seen: if inside { now.sealed() } else { None },
        }
    };
    WALK.iter().map(stop).collect()
}

/// A measure with what it says, by whom; the starting value as a remark where the unit's own was not taken.
fn measure(now: &Now, field: PlanField) -> Field<PlanField> {
    let unit = now.unit;
    let exactly = |length: &Length| typed::exactly(*length, unit);
    let stations = |list: &[Length]| list.iter().map(exactly).collect::<Vec<_>>().join(", ");
    let sheet = matches!(field, PlanField::RoofSheet | PlanField::SideSheet) || is_flange(field);
    let say = |value: &PlanValue| match value {
        // As sheet is sold: .040 is no mark of a tape.
        PlanValue::Length(length) if sheet => typed::sheet(*length, unit),
        PlanValue::Length(length) => exactly(length),
        PlanValue::Stations(list) => stations(list),
        PlanValue::Places(places) => typed::places_written(places, unit),
        PlanValue::YesNo(yes) => if *yes { "yes" } else { "no" }.to_owned(),
    };
    let kept = now.job.plan.get(&field);
    Field {
        field,
        value: kept.map(|kept| say(&kept.value)).unwrap_or_default(),
        by: kept.map(|kept| now.name(kept.by)),
        choices: if field == PlanField::CompositeSides {
            vec!["yes".to_owned(), "no".to_owned()]
        } else {
            Vec::new()
        },
        remark: if kept.is_some() {
            None
        } else {
            Some(format!(
                "not measured on this unit; taken as {}",
                starting(now, field)
            ))
        },
    }
}

/// The starting value that stands in for a measure.
fn starting(now: &Now, field: PlanField) -> String {
    let (plan, unit) = (&now.plan, now.unit);
    let row = |list: &[Length]| match (list.first(), list.last()) {
        (Some(first), Some(last)) => format!("{} from {} to {}", list.len(), first.say(unit), last.say(unit)),
        _ => "none".to_owned(),
    };
    let flange = |of: Carrier| of.flange(plan, &now.book).value.say_decimal(unit);
    let fitting = |of: Fitting| of.thickness(plan, &now.book).value.say_decimal(unit);
    match field {
        PlanField::Length => plan.length.say(unit),
        PlanField::Width => plan.width.say(unit),
        PlanField::SideHeight => plan.side_height.say(unit),
        PlanField::RailWidthOutside => plan.rail_width_outside.say(unit),
        PlanField::RailHolePitch => plan.rail_hole_pitch.say(unit),
        PlanField::RailFlange => flange(Carrier::Rail),
        PlanField::PostFlange => flange(Carrier::Post),
        PlanField::HeaderFlange => flange(Carrier::Header),
        PlanField::BowEnd => fitting(Fitting::BowEnd),
        PlanField::CornerCap => fitting(Fitting::Cap),
        PlanField::RoofSheet => plan.roof_sheet.say_decimal(unit),
        PlanField::SideSheet => plan.side_sheet.say_decimal(unit),
        PlanField::Bows => row(&plan.bows),
        PlanField::Posts => row(&plan.posts),
        PlanField::SideJoints => row(&plan.side_joints),
        PlanField::RoofSeams => row(&plan.roof_seams),
        PlanField::EarlierPatches => "none".to_owned(),
        PlanField::CompositeSides => "no: sheet on posts".to_owned(),
    }
}

/// The seams of the roof section that is figured, to draw.
fn seams(now: &Now, outside: &FoldOut) -> Vec<Seam> {
    let drawn = |(bow, station): (u32, Length)| {
        let across = Place {
            surface: Surface::Roof,
            from: station,
            to: station,
            low: Length::ZERO,
            high: now.plan.width,
        };
        let [left, top, width, height] = outside.to_drawing(&across)?;
        Some(Seam {
            line: [left, top, left.plus(width), top.plus(height)],
            words: format!("seam at bow {bow}, station {}", station.say(now.unit)),
        })
    };
    crate::roof::seams(now).into_iter().filter_map(drawn).collect()
}

/// What two taps mean, drawn to bows, posts, joints and edges. Taps on two faces mean the first one's.
///
/// # Errors
/// A tap beside the body.
pub fn place_at(now: &Now, inside: bool, taps: [f64; 4]) -> Result<Answer, Refusal> {
    let sheet = unfold(&now.plan, inside);
    let beside = || Refusal::new("beside", "This is beside the body. Tap on one of its faces.");
    let mut points = taps.iter().map(|tap| nanometres(*tap));
    let mut point = || points.next().flatten().ok_or_else(beside);
    let (x1, y1, x2, y2) = (point()?, point()?, point()?, point()?);
    let (surface, along, across) = sheet.from_drawing(x1, y1).ok_or_else(beside)?;
    let (second, to, high) = sheet.from_drawing(x2, y2).ok_or_else(beside)?;
    if second != surface {
        let sentence = format!(
            "The taps are on two faces ({} and {}). Make a mark on each.",
            surface.word(),
            second.word()
        );
        return Err(Refusal::new("two_faces", sentence));
    }
    let (reach, other) = now.plan.extent(surface);
    let (from, to) = grown(along, to, reach);
    let (low, high) = grown(across, high, other);
    let (place, snapped) = snap(
        &now.plan,
        &Place {
            surface,
            from,
            to,
            low,
            high,
        },
        SNAP,
        now.unit,
    );
    Ok(Answer::PlaceAt(PlaceAt {
        place,
        typed: typed::written(&place, now.unit),
        rect: sheet.to_drawing(&place).unwrap_or_default(),
        snapped,
        parts: surface.parts().to_vec(),
    }))
}

/// Two ends in order; where they are one point, a foot around it, within the face.
fn grown(one: Length, two: Length, reach: Length) -> (Length, Length) {
    let (low, high) = if one <= two { (one, two) } else { (two, one) };
    if low.apart(high) >= Length::inches(1) {
        return (low, high);
    }
    (
        low.minus(HALF_TAP).max(Length::ZERO),
        high.plus(HALF_TAP).min(reach),
    )
}

fn nanometres(tap: f64) -> Option<Length> {
    const FARTHEST: f64 = 1e12;
    #[allow(
        clippy::cast_possible_truncation,
        reason = "within a kilometre, far inside the range"
    )]
    (tap.is_finite() && tap.abs() < FARTHEST).then(|| Length::from_nm(tap.round() as i64))
}
