//! The work of a job from the ways chosen: what the steps, the Roof-off check, the cut list and Proof are made
//! of. It counts the marks of the main figures and of each *found more* that was agreed.

use crate::{answer::Refusal, now::Now, words::people};
use bowseam_figures::{
    basis::Line,
    cut::{Marks, Need, RoofFacts, roof_marks, roof_needs},
    group::{ROOF, Together, WayKey, asks_the_maker, groups, of_the_roof, said},
    mark::Mark,
    measure::Length,
    parts::{OnHand, PartTakeoff, takeoffs},
    patch::{self, PatchTakeoff},
    roof_repair::RoofRepair,
    share::{SideMark, SideWork, side_works},
    side_patch::{SideWay, side_need, side_sealant},
    steps::{BEHIND, OtherMethod, OtherWork, RoofMethod, RoofWork, Tolerances, Work},
    takeoff::{RoofBody, RoofTakeoff},
};
use bowseam_jobs::entry::{ArrivalField, ByHand};
use rust_decimal::Decimal;

/// The way chosen for a group.
fn way(now: &Now, group: &Together) -> Option<WayKey> {
    now.job
        .ways
        .get(&group.key)
        .and_then(|kept| WayKey::by_key(&kept.value.way))
}

/// What is known of the roof group and its chosen way; [`Now`] keeps it, since working it out figures the repair.
pub struct Roof {
    way: RoofMethod,
    /// The repair, if the way opens the roof and fits.
    repair: Option<RoofRepair>,
    /// What is patched: everything, or what lies beside the section.
    patches: Vec<PatchTakeoff>,
}

/// The roof group of the marks that are worked on, by the way chosen for it.
pub fn roof(now: &Now) -> Option<Roof> {
    let marks = now.work_marks();
    let all = groups(&marks);
    let group = all.iter().find(|group| group.is_roof())?;
    let way = way(now, group)?;
    if !way.opens_the_roof() {
        let patch = |mark: &&Mark| patch::patch(mark, &now.book.patch, now.unit);
        return (way == WayKey::Patch).then(|| Roof {
            way: RoofMethod::Patch,
            repair: None,
            patches: group.marks.iter().map(patch).collect(),
        });
    }
    let repair = repair(now, &group.marks, way);
    let opens = repair.as_ref().map(|repair| repair.taken.way).or(way.roof_way());
    Some(Roof {
        way: opens.map_or(RoofMethod::FrontSection, Into::into),
        patches: repair.iter().flat_map(|repair| repair.patches.clone()).collect(),
        repair,
    })
}

/// The repair by a way of opening the roof; none where it does not fit (any more).
fn repair(now: &Now, marks: &[&Mark], way: WayKey) -> Option<RoofRepair> {
    RoofRepair::of(&now.plan, marks, way, &now.book, now.unit)
        .ok()?
        .ok()
}

/// The roof's part of the work, if the roof is repaired by a way that the program figures.
fn work(now: &Now) -> Option<RoofWork> {
    let Roof { way, repair, patches } = now.roof()?;
    let rules = &now.book.roof;
    let work = match repair {
        Some(RoofRepair {
            job, taken, behind, ..
        }) => {
            let second = |taken: &RoofTakeoff| Box::new(RoofWork::of(taken, rules, false, false));
            RoofWork {
                behind: behind.as_ref().map(second),
                ..RoofWork::of(taken, rules, job.nose_rail, job.front_bow)
            }
        }
        None => RoofWork::closed(*way, rules),
    };
    let patches = patches.clone();
    Some(RoofWork { patches, ..work })
}

/// Numbers and stations of the bows under the seams of the chosen section, else of the shortest that would fit.
pub fn seams(now: &Now) -> Vec<(u32, Length)> {
    let would_fit = now.roof().is_none().then(|| would_fit(now)).flatten();
    let repair = now.roof().and_then(|roof| roof.repair.as_ref());
    let Some(repair) = repair.or(would_fit.as_ref()) else {
        return Vec::new();
    };
    let of = |taken: &RoofTakeoff| {
        let front = taken.front_seam_bow.zip(taken.front_seam_station);
        [front, taken.seam_bow.zip(taken.seam_station)]
    };
    repair.sections().flat_map(of).flatten().collect()
}

/// The shortest section that would fit, while none is chosen.
fn would_fit(now: &Now) -> Option<RoofRepair> {
    let marks = now.work_marks();
    let all = groups(&marks);
    let group = all.iter().find(|group| group.is_roof())?;
    [WayKey::FrontSection, WayKey::MiddleSection, WayKey::RearSection]
        .into_iter()
        .filter_map(|way| repair(now, &group.marks, way))
        .min_by_key(|repair| repair.taken.rough_length)
}

/// The takeoff lines of the roof, for what has to be on hand.
///
/// # Errors
/// None now; the figures may refuse later.
pub fn lines(now: &Now) -> Result<Vec<Line>, Refusal> {
    let Some(roof) = now.roof() else {
        return Ok(Vec::new());
    };
    Ok(match &roof.repair {
        Some(repair) => repair.lines.clone(),
        None => roof
            .patches
            .iter()
            .flat_map(|patch| patch.lines.clone())
            .collect(),
    })
}

/// What the cut list needs of each section; nothing for a patch or by hand.
fn facts(now: &Now) -> Vec<RoofFacts> {
    let Some(repair) = now.roof().and_then(|roof| roof.repair.as_ref()) else {
        return Vec::new();
    };
    let (job, rails) = (&repair.job, now.plan.rail_width_outside);
    let bow = rails.minus(now.book.roof.bow_shorter.value);
    let new = [job.nose_rail.then_some(rails), job.front_bow.then_some(bow)];
    // What goes in at the nose goes in with the first.
    let news = [new, [None; 2]];
    let of = |(taken, new): (&RoofTakeoff, [Option<Length>; 2])| {
        RoofFacts::of(taken, &RoofBody::of(&now.plan), &now.book.roof, bow, new)
    };
    repair.sections().zip(news).map(of).collect()
}

/// Hole lines of the roof's rails, and what is patched of it.
pub fn roof_holes<'n>(now: &'n Now) -> (Vec<Marks>, &'n [PatchTakeoff]) {
    let Some(roof) = now.roof() else {
        return Default::default();
    };
    let Some(repair) = &roof.repair else {
        return (Vec::new(), &roof.patches);
    };
    let body = RoofBody::of(&now.plan);
    let nose = repair.job.nose_rail.then_some(now.plan.rail_width_outside);
    let mut lines = roof_marks(&repair.taken, &body, &now.book.roof, nose);
    // The rails are one line of holes from the nose, whatever is opened of them.
    for more in repair
        .behind
        .iter()
        .flat_map(|taken| roof_marks(taken, &body, &now.book.roof, None))
    {
        match lines.iter_mut().find(|line| line.item == more.item) {
            Some(line) => line.running.extend(more.running),
            None => lines.push(more),
        }
    }
    (lines, &roof.patches)
}

/// The whole work: the roof, and each other group by its way.
pub fn all_work(now: &Now) -> Work {
    let planning = &now.book.planning;
    let limits = &now.book.limits;
    Work {
        unit: now.unit,
        roof: work(now),
        others: all_others(now),
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

/// Work outside the roof; what is mended with another mark's side sheet is no work of its own.
fn all_others(now: &Now) -> Vec<OtherWork> {
    let marks = now.work_marks();
    let all = groups(&marks);
    let sides: Vec<SideMark> = all
        .iter()
        .filter_map(|group| {
            Some(SideMark {
                group: &group.key,
                mark: group.marks.first()?,
                way: way(now, group)?.side_way()?,
            })
        })
        .collect();
    let works = side_works(&now.plan, &sides, &now.book.side, now.unit);
    let mut found: Vec<OtherWork> = all.iter().flat_map(|group| others(now, group)).collect();
    for (of, work) in sides.iter().zip(works) {
        match work {
            Ok(SideWork::With(_)) => found.retain(|other| other.mark != of.mark.id),
            Ok(SideWork::Own(taken)) => {
                if let Some(other) = found.iter_mut().find(|other| other.mark == of.mark.id) {
                    other.ready.extend(side_sealant(&taken, &now.book.roof));
                    other.side = Some(*taken);
                }
            }
            // A way that does not fit any more has no figures; its steps stay until another is chosen.
            Err(_) => {}
        }
    }
    found
}

/// Marks that are not fixed by a roof way: each by a side way, a way of its part, by hand or as the maker says.
fn others(now: &Now, group: &Together) -> Vec<OtherWork> {
    let method = match way(now, group) {
        Some(WayKey::ByHand) => OtherMethod::ByHand,
        Some(WayKey::AskTheMaker) => OtherMethod::AskTheMaker,
        Some(WayKey::SidePatch) => OtherMethod::SidePatch,
        Some(WayKey::SideSection) => OtherMethod::SideSection,
        Some(WayKey::WholeSideSheet) => OtherMethod::SideSheet,
        Some(key) if key.is_of_parts() => return of_parts(now, group, key),
        _ => return Vec::new(),
    };
    let hand = now
        .job
        .ways
        .get(&group.key)
        .and_then(|kept| kept.value.by_hand.as_ref());
    let note = hand.map(|hand| hand.note.as_str());
    let title = match note.filter(|note| !note.is_empty()) {
        Some(note) => format!("{}: {note}", group.title),
        None => group.title.clone(),
    };
    let one = |mark: &&Mark| OtherWork {
        // What the maker has to say comes first, whatever a person enters for it.
        maker: method == OtherMethod::AskTheMaker || asks_the_maker(mark).is_some(),
        surface: Some(mark.place.surface),
        ..OtherWork::new(&mark.id, mark.part, &title, method)
    };
    let mut works: Vec<OtherWork> = group.marks.iter().map(one).collect();
    // What was entered is bought once for the group.
    let bought = hand.filter(|_| method == OtherMethod::ByHand);
    if let Some((first, hand)) = works.first_mut().zip(bought) {
        first.ready = bought_by_hand(hand);
    }
    works
}

/// What a person entered as bought; what has the same name is one.
fn bought_by_hand(hand: &ByHand) -> Vec<OnHand> {
    let mut sums: Vec<(&str, Decimal)> = Vec::new();
    for line in &hand.lines {
        let quantity = line.quantity.trim().parse::<Decimal>().unwrap_or_default();
        match sums.iter_mut().find(|(item, _)| *item == line.item) {
            Some((_, sum)) => *sum = sum.saturating_add(quantity),
            None => sums.push((&line.item, quantity)),
        }
    }
    let wanted = sums.into_iter().filter(|(_, sum)| *sum > Decimal::ZERO);
    wanted
        .map(|(item, sum)| OnHand {
            item: item.to_owned(),
            wanted: format!("{} each", sum.normalize()),
        })
        .collect()
}

/// Work by the ways of parts; without figures where the way does not fit any more.
fn of_parts(now: &Now, group: &Together, key: WayKey) -> Vec<OtherWork> {
    let work = |mark: &str, part, title: &str| OtherWork::new(mark, part, title, OtherMethod::Part);
    let Ok(found) = takeoffs(&now.plan, &group.marks, &now.book, key, now.unit) else {
        let lost = |mark: &&Mark| work(&mark.id, mark.part, &group.title);
        return group.marks.iter().map(lost).collect();
    };
    let one = |taken: PartTakeoff| {
        let marked = group.marks.iter().find(|mark| mark.id == taken.mark);
        let title = marked.map_or_else(|| group.title.clone(), |mark| said(mark));
        OtherWork {
            surface: marked.map(|mark| mark.place.surface),
            taken: Some(taken.clone()),
            ..work(&taken.mark, taken.part, &title)
        }
    };
    found.into_iter().map(one).collect()
}

/// A piece of the work that is cut from stock.
pub struct Piece {
    /// What is fixed together: `roof`, or a mark.
    pub group: String,
    /// The step by which it is fitted.
    pub step: String,
    /// What is cut.
    pub need: Need,
}

/// All that the chosen ways need cut from stock: of an opened roof, for patches of it, for each mark that is mended by
/// a side way, and for other parts; each with the step that fits it.
pub fn pieces(now: &Now) -> Vec<Piece> {
    let of_roof = |step: String, need| Piece {
        group: ROOF.to_owned(),
        step,
        need,
    };
    let mut pieces = Vec::new();
    for (facts, ends) in facts(now).iter().zip(["", BEHIND]) {
        let step = |need: &Need| format!("{}{ends}", fitted_at(now, &need.item));
        pieces.extend(
            roof_needs(facts)
                .into_iter()
                .map(|need| of_roof(step(&need), need)),
        );
    }
    let patches = now.roof().map(|roof| roof.patches.as_slice()).unwrap_or_default();
    pieces.extend(
        patches
            .iter()
            .map(|patch| of_roof("patch_lap".to_owned(), patch.need(&now.plan))),
    );
    for other in &now.work().others {
        let piece = |step: String, need| Piece {
            group: group_of(now, &other.mark),
            step,
            need,
        };
        if let Some(side) = &other.side {
            let step = match side.way {
                SideWay::Patch => "side_lay",
                SideWay::Section | SideWay::WholeSheet => "side_on",
            };
            let need = side_need(side, &now.plan, &now.book.side);
            pieces.push(piece(format!("{step}:{}", other.mark), need));
        }
        if let Some(taken) = &other.taken {
            // Its rows differ; all that it takes is in when the last one is done.
            let own = |key: &str| key.starts_with("part_") && key.ends_with(&other.mark);
            let last = now.steps().iter().rfind(|step| own(&step.key));
            let step = last.map(|step| step.key.clone()).unwrap_or_default();
            pieces.extend(taken.needs.iter().map(|need| piece(step.clone(), need.clone())));
        }
    }
    pieces
}

/// The step of the open roof that fits an item.
fn fitted_at(now: &Now, item: &str) -> &'static str {
    match item {
        "roof bow" => "bows",
        "front roof bow" if now.step("front_bow").is_ok() => "front_bow",
        "nose rail" | "front roof bow" => "nose_rail",
        "seam tape" => "seam_tape",
        "foam tape" => "foam_tape",
        _ => "sheet_on",
    }
}

/// The group that a mark is fixed in.
fn group_of(now: &Now, mark: &str) -> String {
    let of_roof = now
        .work_marks()
        .iter()
        .any(|other| other.id == mark && of_the_roof(other.part));
    if of_roof { ROOF } else { mark }.to_owned()
}

/// The same without their steps.
pub fn needs(now: &Now) -> Vec<Need> {
    now.pieces().iter().map(|piece| piece.need.clone()).collect()
}

/// The label lines of the shop book, in words.
fn cure(now: &Now) -> Option<String> {
    let line = |line: &bowseam_figures::shop::Cure| {
        format!("{}, {} h at {} °F", line.product, line.hours, line.at_f)
    };
    let lines: Vec<String> = now.book.cure.iter().map(line).collect();
    (!lines.is_empty()).then(|| lines.join("; "))
}

/// Working hours for which the roof is open by the crew plan, of two openings the longer one; none while no way that opens it
/// is figured.
pub fn open_hours(now: &Now) -> Option<Decimal> {
    now.in_bay().ok()??.open_hours.as_ref()?.parse().ok()
}

/// The same in words, with what it rests on.
pub fn open_words(now: &Now) -> Option<String> {
    let (hours, bay) = (open_hours(now)?, now.in_bay().ok()??);
    Some(format!(
        "{hours} working hours by the crew plan with {}",
        people(bay.people)
    ))
}
