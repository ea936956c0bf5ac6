//! Sizes of marks that came from a photo: said as such, and followed through the figures. Where the far end of
//! such a size would give another seam or shut a way, that is said beside the figures.

use crate::{answer::Refusal, photo_scale};
use bowseam_figures::{
    estimate::Estimate,
    mark::Mark,
    measure::{Length, Unit},
    takeoff::RoofTakeoff,
    ways::Choice,
};
use bowseam_jobs::{job::JobMark, on_photo::MarkSide};

const SIDES: [(MarkSide, &str); 2] = [(MarkSide::Along, "length"), (MarkSide::Across, "width or height")];

/// What of a mark's size came from a photo, in words.
pub fn say(mark: &JobMark, unit: Unit) -> Option<String> {
    let said: Vec<String> = SIDES
        .iter()
        .filter_map(|(side, word)| {
            let by = mark.from_photo(*side)?;
            Some(format!(
                "{word} from a photo, {}",
                photo_scale::words(by.length, unit)
            ))
        })
        .collect();
    (!said.is_empty()).then(|| format!("{} (95 of 100 times within)", said.join("; ")))
}

/// The marks with each size from a photo at the far end of its interval, the whole of it at both ends, as nobody
/// knows at which it lies; none where no size came from a photo.
pub fn at_far_end(job_marks: &[JobMark], marks: &[Mark], unit: Unit) -> Option<Vec<Mark>> {
    let mut any = false;
    let grown = marks
        .iter()
        .map(|mark| {
            let mut mark = mark.clone();
            let job_mark = job_marks
                .iter()
                .find(|job_mark| job_mark.id.to_string() == mark.id);
            for (side, _) in SIDES {
                let Some(by) = job_mark.and_then(|job_mark| job_mark.from_photo(side)) else {
                    continue;
                };
                any = true;
                let off = photo_scale::off(by.length, unit);
                let place = &mut mark.place;
                let (low, high) = match side {
                    MarkSide::Along => (&mut place.from, &mut place.to),
                    MarkSide::Across => (&mut place.low, &mut place.high),
                };
                *low = low.minus(off).max(Length::ZERO);
                *high = high.plus(off);
            }
            mark
        })
        .collect();
    any.then_some(grown)
}

/// What the figures would have otherwise at the far end, in sentences.
pub fn figures_doubts(now: &Estimate, far: Result<Estimate, Refusal>, unit: Unit) -> Vec<String> {
    let Ok(far) = far else {
        return vec![format!(
            "A size from a photo reaches a limit of the body at its far end. {TAPE}"
        )];
    };
    let mut said = Vec::new();
    for group in &now.groups {
        let title = &group.title;
        let Some(then) = far.groups.iter().find(|then| then.group == group.group) else {
            said.push(format!(
                "{title}: a size is from a photo, and at its far end {} does not fit. {TAPE}",
                group.way_title.to_lowercase()
            ));
            continue;
        };
        for words in group
            .roofs()
            .zip(then.roofs())
            .filter_map(|(now, then)| seams_differ(now, then, unit))
        {
            said.push(format!(
                "{title}: a size is from a photo, and at its far end {words}. {TAPE}"
            ));
        }
        if group.side.as_ref().map(|side| side.patch) != then.side.as_ref().map(|side| side.patch) {
            said.push(format!(
                "{title}: a size is from a photo, so the patch may come out larger than figured. {TAPE}"
            ));
        }
    }
    said
}

/// What the seams would be at the far end, where they are not the same.
fn seams_differ(now: &RoofTakeoff, then: &RoofTakeoff, unit: Unit) -> Option<String> {
    let seams = |roof: &RoofTakeoff| {
        [
            ("the seam", roof.seam_bow.zip(roof.seam_station)),
            (
                "the seam ahead of it",
                roof.front_seam_bow.zip(roof.front_seam_station),
            ),
        ]
    };
    let differ = seams(now)
        .into_iter()
        .zip(seams(then))
        .filter(|(now, then)| now != then);
    let said: Vec<String> = differ
        .map(|(_, (which, then))| match then {
            Some((bow, station)) => format!("{which} would lie at bow {bow}, {}", station.say(unit)),
            None => format!("no sound bow is left for {which}"),
        })
        .collect();
    (!said.is_empty()).then(|| said.join(" and "))
}

/// Ways that fit now and would not at the far end, in sentences.
pub fn ways_doubts(now: &[Choice], far: &[Choice]) -> Vec<String> {
    let mut said = Vec::new();
    for choice in now {
        let ways = far
            .iter()
            .find(|then| then.group == choice.group)
            .map(|then| &then.ways);
        for way in choice.ways.iter().filter(|way| way.fits) {
            let then = ways.and_then(|ways| ways.iter().find(|then| then.key == way.key));
            if then.is_some_and(|then| !then.fits) {
                said.push(format!(
                    "{}: a size is from a photo, and at its far end {} does not fit. {TAPE}",
                    choice.title,
                    way.title.to_lowercase()
                ));
            }
        }
    }
    said
}

const TAPE: &str = "Measure it with a tape before it is cut or ordered.";
