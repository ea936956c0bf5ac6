//! Measuring in a photo: the points that people put are worked out by `bowseam-figures` in millimetres of the
//! plane and pixels of the upright original, and said as on a tape. What was worked out is kept with the points.

use crate::{
    answer::{MeasuredLine, Refusal, ScaleKind, ScaleView},
    ask::TypedScale,
    now::Now,
    typed,
    view::photos,
};
use bowseam_figures::{
    measure::{Length, Unit},
    photo_scale::{Point, Scale, Taps, photo_scale},
    photo_scale_poor::poor,
};
use bowseam_jobs::{
    entry::PlanField,
    job::{JobPhoto, Kept},
    on_photo::{PhotoScale, Px, ScaleArea, ScaleLength, ScaleOf},
};

/// Standard deviation of a point that was put with the magnifier, in pixels of the copy on the screen; from
/// memory, to be confirmed by people with gloves.
const TAP_SD: f64 = 1.5;
/// Standard uncertainties each way of a 95 % interval, in hundredths.
const COVER: i64 = 196;
/// Largest that an area may be, in hundredths of a square millimetre: 100 m each way.
const LARGEST: f64 = 1e12;
/// Longest that a length in the plane may be, in nanometres: as lengths everywhere, 100 m.
const LONGEST: f64 = 1e11;

/// Lengths of a card of size ID-1, ISO/IEC 7810, and of paper, ISO 216 and ANSI Y14.1 (from memory).
const CARD: [Length; 2] = [Length::from_nm(85_600_000), Length::from_nm(53_980_000)];
/// The printed target's black frame.
const TARGET: [Length; 2] = [Length::inches(6); 2];
const A4: [Length; 2] = [Length::mm(297), Length::mm(210)];
const LETTER: [Length; 2] = [Length::inches(11), Length::from_nm(215_900_000)];

/// Reads what was typed and works out what can be worked out.
///
/// # Errors
/// A size that is no length, with its field.
pub fn read(now: &Now, photo: &JobPhoto, typed: &TypedScale) -> Result<PhotoScale, Refusal> {
    let read = |text: &str, field| {
        let length = typed::length(text, now.unit, field)?;
        if length > Length::ZERO {
            return Ok(length);
        }
        let sentence = "The size of the thing in the photo is more than 0, such as 24 or 610 mm.";
        Err(Refusal::at("scale_size", field, sentence))
    };
    let mut scale = PhotoScale {
        of: typed.of,
        size: [read(&typed.length, "length")?, read(&typed.width, "width")?],
        points: typed.points.clone(),
        lengths: Vec::new(),
        found: stays_found(photo, typed),
        outline: typed.outline.clone(),
        area: None,
    };
    figure(now, photo, &mut scale);
    Ok(scale)
}

/// Whether the corners are those that the program found.
fn stays_found(photo: &JobPhoto, typed: &TypedScale) -> bool {
    let kept = photo.scale.as_ref().map(|kept| &kept.value);
    let before = kept.filter(|kept| kept.found && kept.of == typed.of);
    let four = |points: &[Px]| points.first_chunk::<4>().copied();
    before.is_some_and(|kept| four(&kept.points).is_some() && four(&kept.points) == four(&typed.points))
}

/// The scale of the printed target whose corners were found; what was measured from it before stays.
pub fn of_target(now: &Now, photo: &JobPhoto, corners: [[f64; 2]; 4]) -> PhotoScale {
    let kept = photo.scale.as_ref().map(|kept| &kept.value);
    let before = kept.filter(|kept| kept.of == ScaleOf::Target);
    let further = before.and_then(|kept| kept.points.split_first_chunk::<4>());
    let mut points: Vec<Px> = corners
        .map(|corner| corner.map(|c| (c * 100.0).round() as i32))
        .into();
    points.extend(further.map(|(_, further)| further).unwrap_or_default());
    let mut scale = PhotoScale {
        of: ScaleOf::Target,
        size: before.map_or(TARGET, |kept| kept.size),
        points,
        lengths: Vec::new(),
        found: true,
        outline: before.map(|kept| kept.outline.clone()).unwrap_or_default(),
        area: None,
    };
    figure(now, photo, &mut scale);
    scale
}

/// Puts what comes out of the points beside them, where something does.
fn figure(now: &Now, photo: &JobPhoto, scale: &mut PhotoScale) {
    let Ok(Some((_, worked))) = work_out(now, photo, scale) else {
        return;
    };
    scale.lengths = worked.lengths.iter().map(|one| in_nm(one.value, one.u)).collect();
    let hundredths = |mm2: f64| (mm2 * 100.0).clamp(0.0, LARGEST).round() as i64;
    scale.area = worked.areas.first().map(|one| ScaleArea {
        value: hundredths(one.value),
        u: hundredths(one.u),
    });
}

fn in_nm(value: f64, u: f64) -> ScaleLength {
    let length = |mm: f64| Length::from_nm((mm * 1e6).clamp(0.0, LONGEST).round() as i64);
    ScaleLength {
        value: length(value),
        u: length(u),
    }
}

/// The points as the figures take them; none while the corners or the first length lack points.
fn work_out(now: &Now, photo: &JobPhoto, scale: &PhotoScale) -> Result<Option<(Taps, Scale)>, Refusal> {
    let pixel = |[x, y]: Px| -> Point { [f64::from(x) / 100.0, f64::from(y) / 100.0] };
    let pixels = |points: &[Px]| -> Vec<Point> { points.iter().map(|px| pixel(*px)).collect() };
    let points = pixels(&scale.points);
    let Some((corners, ends)) = points.split_first_chunk::<4>() else {
        return Ok(None);
    };
    let size = photos::size(now.app, &photo.sha256).ok_or_else(|| {
        let sentence = "The original of this photo is not here, or does not say how large it is: nothing can be measured in it.";
        Refusal::new("photo_size", sentence)
    })?;
    let mm = |length: Length| length.nm() as f64 / 1e6;
    let (pairs, _) = ends.as_chunks::<2>();
    let taps = Taps {
        size: scale.size.map(mm),
        corners: *corners,
        more: Vec::new(),
        measure: pairs.to_vec(),
        areas: Some(pixels(&scale.outline))
            .filter(|outline| outline.len() > 2)
            .into_iter()
            .collect(),
        tap_sd: tap_sd(size),
        corner_sd: scale.found.then(|| on_copy(size) * bowseam_photos::CORNER_SD),
    };
    let worked = photo_scale(&taps)?;
    Ok(Some((taps, worked)))
}

fn tap_sd(size: [u32; 2]) -> f64 {
    TAP_SD * on_copy(size)
}

/// Pixels of the original that are one of the copy: a screen shows at most 2000.
fn on_copy([width, height]: [u32; 2]) -> f64 {
    let longer = f64::from(width.max(height));
    longer / longer.clamp(1.0, f64::from(bowseam_photos::LARGE))
}

/// The scale as the screen shows it.
pub fn view(now: &Now, photo: &JobPhoto, kept: &Kept<PhotoScale>) -> ScaleView {
    let scale = &kept.value;
    let (wrong, poor) = match work_out(now, photo, scale) {
        Err(refusal) => (Some(refusal.sentence), Vec::new()),
        Ok(None) => (None, Vec::new()),
        Ok(Some((taps, worked))) => {
            let size = photos::size(now.app, &photo.sha256).unwrap_or_default();
            (
                None,
                poor(
                    &taps,
                    &worked,
                    size.map(f64::from),
                    photos::lens(now.app, &photo.sha256),
                ),
            )
        }
    };
    let line = |length: &ScaleLength| MeasuredLine {
        value: on_the_tape(length.value, now.unit).say(now.unit),
        off: off(*length, now.unit).say(now.unit),
    };
    let [length, width] = scale.size.map(|side| written(side, now.unit));
    ScaleView {
        of: scale.of,
        length,
        width,
        points: scale.points.clone(),
        found: scale.found,
        outline: scale.outline.clone(),
        area: scale.area.map(|area| area_words(area, now.unit)),
        lines: scale.lengths.iter().map(line).collect(),
        wrong,
        poor,
        by: now.name(kept.by),
        at: kept.at,
    }
}

/// A size the way it is typed, with nothing rounded away.
fn written(length: Length, unit: Unit) -> String {
    match length.say(unit) {
        // In the unit that says it in fewer digits: 8.8 in was typed in inches, 86 mm in millimetres.
        rounded if rounded.starts_with('~') => {
            let [inches, mm] = [Unit::In, Unit::Mm].map(|unit| length.to_decimal(unit));
            if inches.scale() < mm.scale() {
                format!("{inches} in")
            } else {
                format!("{mm} mm")
            }
        }
        exact => exact,
    }
}

const fn step(unit: Unit) -> Length {
    match unit {
        Unit::In => Length::sixty_fourths(4),
        Unit::Mm => Length::mm(1),
    }
}

/// To the nearest mark of a tape: sixteenths, or whole millimetres.
pub fn on_the_tape(length: Length, unit: Unit) -> Length {
    let step = step(unit);
    let half = step.part(2).unwrap_or_default();
    let count = length.plus(half).holds(step).unwrap_or_default();
    step.times(count)
}

/// How far a length may be off either way, 95 of 100 times, up to the next mark of a tape.
pub fn off(length: ScaleLength, unit: Unit) -> Length {
    let step = step(unit);
    let off = length.u.times(COVER).part(100).unwrap_or_default();
    let up = off.plus(step).minus(Length::from_nm(1));
    step.times(up.holds(step).unwrap_or_default().max(1))
}

/// The lengths measured in a photo, in words.
pub fn measured(photo: &JobPhoto, unit: Unit) -> Vec<String> {
    let lengths = photo.scale.iter().flat_map(|kept| &kept.value.lengths);
    let area = photo.scale.iter().filter_map(|kept| kept.value.area);
    lengths
        .map(|length| words(*length, unit))
        .chain(area.map(|area| area_words(area, unit)))
        .collect()
}

/// `14 3/8 in ± 5/16 in`.
pub fn words(length: ScaleLength, unit: Unit) -> String {
    let value = on_the_tape(length.value, unit).say(unit);
    format!("{value} ± {}", off(length, unit).say(unit))
}

/// `72.5 ± 1.2 sq in`, or `468 ± 8 cm²`: to two figures of how far it may be off, that rounded up.
fn area_words(area: ScaleArea, unit: Unit) -> String {
    let (one, word) = match unit {
        Unit::In => (64_516.0, "sq in"),
        Unit::Mm => (10_000.0, "cm²"),
    };
    let (value, off) = (
        area.value as f64 / one,
        area.u as f64 * COVER as f64 / 100.0 / one,
    );
    let step = if off >= 10.0 { 1.0 } else { 0.1 };
    let digits = if off >= 10.0 { 0 } else { 1 };
    let off = (off / step).ceil().max(1.0) * step;
    format!("{value:.digits$} ± {off:.digits$} {word}")
}

/// Things of known size, those that nobody has to measure first; the unit's own where its plan has them.
pub fn kinds(now: &Now) -> Vec<ScaleKind> {
    let plan = &now.plan;
    let pitch = |stations: &[Length]| match stations {
        [first, second, ..] => Some(second.minus(*first)),
        _ => None,
    };
    let measured = |fields: [PlanField; 2]| {
        let own = fields.iter().all(|field| now.job.plan.contains_key(field));
        if own {
            "Measured on this unit"
        } else {
            "Not measured on this unit: measure it first"
        }
    };
    let fixed = |of, size: [Length; 2], from: &str| kind(now, of, size.map(Some), true, from);
    let open = |of, size, from: &str| kind(now, of, size, false, from);
    let mut kinds = vec![
        fixed(ScaleOf::Target, TARGET, "Check the printed one with a tape"),
        fixed(ScaleOf::IdCard, CARD, "ISO/IEC 7810"),
        fixed(ScaleOf::Letter, LETTER, "Size from memory"),
        fixed(ScaleOf::A4, A4, "Size from memory"),
        open(ScaleOf::Tape, [None, None], ""),
        open(
            ScaleOf::Bows,
            [pitch(&plan.bows), Some(plan.rail_width_outside)],
            measured([PlanField::Bows, PlanField::RailWidthOutside]),
        ),
        open(
            ScaleOf::Posts,
            [pitch(plan.side_posts()), Some(plan.side_height)],
            measured([PlanField::Posts, PlanField::SideHeight]),
        ),
        open(ScaleOf::Rivets, [None, None], ""),
        open(ScaleOf::Other, [None, None], ""),
    ];
    kinds.retain(|kind| !(plan.composite_sides && kind.of == ScaleOf::Posts));
    kinds
}

fn kind(now: &Now, of: ScaleOf, size: [Option<Length>; 2], fixed: bool, from: &str) -> ScaleKind {
    let [length, width] = size.map(|side| side.map(|side| written(side, now.unit)).unwrap_or_default());
    ScaleKind {
        of,
        length,
        width,
        fixed,
        from: from.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn a_length_is_said_to_a_mark_of_the_tape_and_its_uncertainty_never_less_than_it_is() {
        let length = |value: i64, u: i64| ScaleLength {
            value: Length::from_nm(value),
            u: Length::from_nm(u),
        };
        // 14.36 in is nearest 14 3/8; 1.96 × .13 in = .2548, the next sixteenth up is 5/16.
        let inches = length(364_744_000, 3_302_000);
        assert_eq!(words(inches, Unit::In), "14 3/8 in ± 5/16 in");
        assert_eq!(words(inches, Unit::Mm), "365 mm ± 7 mm");
        assert_eq!(words(length(100_000_000, 0), Unit::Mm), "100 mm ± 1 mm");
    }

    #[test]
    fn a_size_is_written_in_the_unit_that_it_was_typed_in() {
        let typed = |text: &str| written(Length::parse(text, Unit::In).unwrap(), Unit::In);
        assert_eq!(
            ["8.8", "8 1/2", "223.5 mm", "85.6 mm"].map(typed),
            ["8.8 in", "8 1/2 in", "223.5 mm", "85.6 mm"]
        );
    }

    #[test]
    fn an_area_is_said_with_how_far_it_may_be_off_rounded_up() {
        let area = |value, u| ScaleArea { value, u };
        // 72.5 square inches; 1.96 × .6 = 1.176.
        let some = area(4_677_410, 38_710);
        assert_eq!(area_words(some, Unit::In), "72.5 ± 1.2 sq in");
        assert_eq!(area_words(some, Unit::Mm), "467.7 ± 7.6 cm²");
        assert_eq!(
            area_words(area(6_451_600_000, 64_000_000), Unit::In),
            "100000 ± 1945 sq in"
        );
        assert_eq!(area_words(area(64_516, 0), Unit::In), "1.0 ± 0.1 sq in");
    }

    #[test]
    fn a_point_is_as_good_as_the_copy_that_it_was_put_on() {
        assert!((tap_sd([4000, 3000]) - 3.0).abs() < 1e-12);
        assert!((tap_sd([600, 800]) - 1.5).abs() < 1e-12);
    }
}
