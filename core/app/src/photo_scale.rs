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
    on_photo::{PhotoScale, Px, ScaleLength, ScaleOf},
};

/// Standard deviation of a point that was put with the magnifier, in pixels of the copy on the screen; from
/// memory, to be confirmed by people with gloves.
const TAP_SD: f64 = 1.5;
/// Standard uncertainties each way of a 95 % interval, in hundredths.
const COVER: i64 = 196;
/// Longest that a length in the plane may be, in nanometres: as lengths everywhere, 100 m.
const LONGEST: f64 = 1e11;

/// Lengths of a card of size ID-1, ISO/IEC 7810, and of paper, ISO 216 and ANSI Y14.1 (from memory).
const CARD: [Length; 2] = [Length::from_nm(85_600_000), Length::from_nm(53_980_000)];
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
    };
    if let Ok(Some((_, worked))) = work_out(now, photo, &scale) {
        scale.lengths = worked.lengths.iter().map(|one| in_nm(one.value, one.u)).collect();
    }
    Ok(scale)
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
    let points: Vec<Point> = scale.points.iter().map(|px| pixel(*px)).collect();
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
        areas: Vec::new(),
        tap_sd: tap_sd(size),
        corner_sd: None,
    };
    let worked = photo_scale(&taps)?;
    Ok(Some((taps, worked)))
}

/// In pixels of the original: a screen shows a copy of at most 2000 pixels.
fn tap_sd([width, height]: [u32; 2]) -> f64 {
    let longer = f64::from(width.max(height));
    TAP_SD * longer / longer.clamp(1.0, f64::from(bowseam_photos::LARGE))
}

/// The scale as the screen shows it.
pub fn view(now: &Now, photo: &JobPhoto, kept: &Kept<PhotoScale>) -> ScaleView {
    let scale = &kept.value;
    let (wrong, poor) = match work_out(now, photo, scale) {
        Err(refusal) => (Some(refusal.sentence), Vec::new()),
        Ok(None) => (None, Vec::new()),
        Ok(Some((taps, worked))) => {
            let size = photos::size(now.app, &photo.sha256).unwrap_or_default();
            (None, poor(&taps, &worked, size.map(f64::from), None))
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
        rounded if rounded.starts_with('~') => format!("{} mm", length.to_decimal(Unit::Mm)),
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
    lengths.map(|length| words(*length, unit)).collect()
}

/// `14 3/8 in ± 5/16 in`.
pub fn words(length: ScaleLength, unit: Unit) -> String {
    let value = on_the_tape(length.value, unit).say(unit);
    format!("{value} ± {}", off(length, unit).say(unit))
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
    vec![
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
            [pitch(&plan.posts), Some(plan.side_height)],
            measured([PlanField::Posts, PlanField::SideHeight]),
        ),
        open(ScaleOf::Rivets, [None, None], ""),
        open(ScaleOf::Other, [None, None], ""),
    ]
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
    fn a_point_is_as_good_as_the_copy_that_it_was_put_on() {
        assert!((tap_sd([4000, 3000]) - 3.0).abs() < 1e-12);
        assert!((tap_sd([600, 800]) - 1.5).abs() < 1e-12);
    }
}
