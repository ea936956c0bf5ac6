//! The work of a job from the ways chosen: what the steps, the Roof-off check, the cut list and Proof are made
//! of. It counts the marks of the main figures and of each *found more* that was agreed.

use crate::{answer::Refusal, now::Now};
use bowseam_figures::{
    basis::Line,
    cut::{Need, RoofFacts},
    group::{RoofJob, Together, WayKey, groups},
    mark::Mark,
    measure::Length,
    patch,
    side_patch::{SideTakeoff, side_need, side_way},
    steps::{OtherMethod, OtherWork, RoofMethod, RoofWork, Tolerances, Work},
    takeoff::RoofTakeoff,
};
use bowseam_jobs::entry::ArrivalField;
use rust_decimal::Decimal;

/// Tasks of the shop book whose hours pass while the roof is open, from the old sheet off to the rolled edge.
const OPEN_TASKS: [&str; 11] = [
    "old_sheet",
    "bow",
    "nose_rail",
    "cleaning",
    "tape",
    "sheet_on",
    "seam",
    "stretch",
    "caulk",
    "rivets",
    "edge",
];

/// The way chosen for a group.
fn way(now: &Now, group: &Together) -> Option<WayKey> {
    now.job
        .ways
        .get(&group.key)
        .and_then(|kept| WayKey::by_key(&kept.value.way))
}

/// What is known of the roof group and its chosen way.
struct Roof {
    job: RoofJob,
    way: RoofMethod,
    takeoff: Option<RoofTakeoff>,
}

fn roof(now: &Now, marks: &[Mark]) -> Option<Roof> {
    let all = groups(marks);
    let group = all.iter().find(|group| group.is_roof())?;
    let way = match way(now, group)? {
        WayKey::Patch => RoofMethod::Patch,
        WayKey::FrontSection => RoofMethod::FrontSection,
        WayKey::WholeRoof => RoofMethod::WholeRoof,
        WayKey::SidePatch | WayKey::WholeSideSheet | WayKey::ByHand | WayKey::AskTheMaker => return None,
    };
    let job = RoofJob::of(&now.plan, &group.marks);
    let takeoff = match way {
        RoofMethod::Patch => None,
        _ => job
            .takeoff(&now.plan, way == RoofMethod::WholeRoof, &now.book.roof, now.unit)
            .ok(),
    };
    Some(Roof { job, way, takeoff })
}

/// The roof's part of the work, if the roof is repaired by a way that the program figures.
fn work(now: &Now) -> Option<RoofWork> {
    let Roof { job, way, takeoff } = roof(now, &now.work_marks())?;
    let rules = &now.book.roof;
    let patched = way == RoofMethod::Patch;
    let taken = takeoff.as_ref();
    Some(RoofWork {
        way,
        seam_bow: taken.and_then(|t| t.seam_bow),
        seam_station: taken.and_then(|t| t.seam_station),
        sheet: taken.map(|t| [t.rough_length, t.rough_width.unwrap_or(t.finished_width)]),
        large: taken.is_some_and(|t| t.large),
        bows_hit: taken.map(|t| t.bows_hit.clone()).unwrap_or_default(),
        bows_opened: taken.map(|t| t.bows_opened.clone()).unwrap_or_default(),
        nose_rail: job.nose_rail && !patched,
        front_bow: job.front_bow && !patched,
        edge: rules.edge.value,
        front_edge: rules.front_edge.value,
        lap: if patched {
            now.book.patch.overlap.value
        } else {
            rules.seam_lap.value
        },
        seam_rivets_a_side: rules.seam_rivets_a_side.value,
        tape_rows: rules.tape_rows.value,
        sealant_on_rail: rules.seam_sealant_on_rail.value,
        seal_edges: rules.seal_edges.value,
    })
}

/// Number and station of the bow under the seam of the chosen section, else of the one that would fit.
pub fn seam(now: &Now) -> Option<(u32, Length)> {
    let marks = now.work_marks();
    let taken = match roof(now, &marks) {
        Some(roof) => roof.takeoff?,
        None => {
            let all = groups(&marks);
            let group = all.iter().find(|group| group.is_roof())?;
            RoofJob::of(&now.plan, &group.marks)
                .takeoff(&now.plan, false, &now.book.roof, now.unit)
                .ok()?
        }
    };
    Some((taken.seam_bow?, taken.seam_station?))
}

/// The takeoff lines of the roof, for what has to be on hand.
///
/// # Errors
/// None now; the figures may refuse later.
pub fn lines(now: &Now) -> Result<Vec<Line>, Refusal> {
    let marks = now.work_marks();
    let Some(roof) = roof(now, &marks) else {
        return Ok(Vec::new());
    };
    if let Some(taken) = roof.takeoff {
        return Ok(taken.lines);
    }
    let all = groups(&marks);
    let patches = all
        .iter()
        .find(|group| group.is_roof())
        .map(|group| group.marks.as_slice())
        .unwrap_or_default();
    Ok(patches
        .iter()
        .flat_map(|mark| patch::patch(mark, &now.book.patch, now.unit).lines)
        .collect())
}

/// What the cut list needs; nothing for a patch or by hand.
pub fn facts(now: &Now) -> Option<RoofFacts> {
    let Roof { job, way, takeoff } = roof(now, &now.work_marks())?;
    let taken = takeoff?;
    let rails = now.plan.rail_width_outside;
    let section = way == RoofMethod::FrontSection;
    Some(RoofFacts {
        sheet: [
            taken.rough_length,
            taken.rough_width.unwrap_or(taken.finished_width),
        ],
        thickness: now.plan.roof_sheet,
        seam_tape: if section {
            (rails, now.book.roof.tape_rows.value)
        } else {
            (rails, 0)
        },
        foam_tape: taken.seam_station.unwrap_or(now.plan.length),
        bows: (rails, u32::try_from(taken.bows_hit.len()).unwrap_or(u32::MAX)),
        nose_rail: job.nose_rail.then_some(rails),
        front_bow: job.front_bow.then_some(rails),
    })
}

/// The whole work: the roof, and each other group by its way.
pub fn all_work(now: &Now) -> Work {
    let marks = now.work_marks();
    let planning = &now.book.planning;
    let limits = &now.book.limits;
    Work {
        unit: now.unit,
        roof: work(now),
        others: groups(&marks)
            .iter()
            .flat_map(|group| others(now, group))
            .collect(),
        sealed: now.sealed().is_some(),
        wiring_seen: now.arrival(ArrivalField::Wiring).is_some(),
        cure: cure(now),
        wind_limit: Some(format!(
            "up to {} mph, by the shop book",
            planning.wind_limit_mph.value
        )),
        tolerances: Tolerances {
            edge: limits.edge.value,
            diagonal: limits.diagonal.value,
            standing: limits.edge.standing.clone(),
        },
    }
}

/// Marks that are not fixed by a roof way: each by a side way, by hand or as the maker says.
fn others(now: &Now, group: &Together) -> Vec<OtherWork> {
    let method = match way(now, group) {
        Some(WayKey::ByHand) => OtherMethod::ByHand,
        Some(WayKey::AskTheMaker) => OtherMethod::AskTheMaker,
        Some(WayKey::SidePatch) => OtherMethod::SidePatch,
        Some(WayKey::WholeSideSheet) => OtherMethod::SideSheet,
        _ => return Vec::new(),
    };
    let note = now
        .job
        .ways
        .get(&group.key)
        .and_then(|kept| kept.value.by_hand.as_ref())
        .map(|hand| hand.note.as_str());
    let title = match note.filter(|note| !note.is_empty()) {
        Some(note) => format!("{}: {note}", group.title),
        None => group.title.clone(),
    };
    let one = |mark: &&Mark| OtherWork {
        mark: mark.id.clone(),
        part: mark.part,
        title: title.clone(),
        way: method,
        side: side(now, mark, method),
    };
    group.marks.iter().map(one).collect()
}

/// What a side way takes on a mark; none for other ways, and where it does not fit any more.
fn side(now: &Now, mark: &Mark, method: OtherMethod) -> Option<SideTakeoff> {
    let whole = match method {
        OtherMethod::SidePatch => false,
        OtherMethod::SideSheet => true,
        OtherMethod::ByHand | OtherMethod::AskTheMaker => return None,
    };
    side_way(&now.plan, mark, &now.book.side, whole, now.unit).ok()
}

/// Side sheet to cut, for each mark that is mended by a side way.
pub fn side_needs(now: &Now) -> Vec<Need> {
    let marks = now.work_marks();
    groups(&marks)
        .iter()
        .flat_map(|group| others(now, group))
        .filter_map(|other| Some(side_need(&other.side?, &now.plan, &now.book.side)))
        .collect()
}

/// The label lines of the shop book, in words.
fn cure(now: &Now) -> Option<String> {
    let line = |line: &bowseam_figures::shop::Cure| {
        format!("{}, {} h at {} °F", line.product, line.hours, line.at_f)
    };
    let lines: Vec<String> = now.book.cure.iter().map(line).collect();
    (!lines.is_empty()).then(|| lines.join("; "))
}

/// Hours for which the roof is open by the figures: the hours of its open tasks, shared by the people on it.
pub fn open_hours(now: &Now) -> Decimal {
    let Some(work) = &now.work().roof else {
        return Decimal::ZERO;
    };
    let estimate = now.main().ok().and_then(|main| main.estimate.as_ref());
    let mut hours = Decimal::ZERO;
    for line in estimate
        .iter()
        .flat_map(|estimate| &estimate.groups)
        .flat_map(|group| &group.hours)
    {
        if OPEN_TASKS.contains(&line.task.as_str()) {
            hours = hours.saturating_add(line.hours.parse().unwrap_or_default());
        }
    }
    let planning = &now.book.planning;
    let people = match work.way {
        RoofMethod::WholeRoof => planning.people_whole_roof.value,
        _ => planning.people_section.value,
    };
    hours
        .checked_div(Decimal::from(people.max(1)))
        .unwrap_or(hours)
        .round_dp(1)
        .normalize()
}
