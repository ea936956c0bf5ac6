//! The day a unit is promised for: working days from the go-ahead, or from the last arrival of what is bought, from
//! when a bay is free, the days in the bay by the figures, and the cure of the labels. What the job's own entries and the
//! shop book say ([`alone`]) is the same on phone and office; the bays are given out by the jobs that are known here
//! ([`crate::bays`]).

use crate::{
    answer::{Promise, Refusal},
    bays::{self, MOST_DAYS, Need, Stay, Week, after},
    now::Now,
    view::{buying, proof, steps},
    words,
};
use bowseam_figures::{
    basis::{Basis, Standing},
    crew_plan::InBay,
    group::WayKey,
    shop::Closed,
};
use bowseam_jobs::entry::Decision;
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::{Decimal, prelude::ToPrimitive};

/// What a job's own entries and the shop book say of its day.
pub struct Alone {
    /// What it needs of a bay; none where no day can be said and it is not in work.
    pub need: Option<Need>,
    /// Why there is no day, in words.
    lacks: String,
    basis: Vec<Basis>,
}

impl Alone {
    /// The day if no other job were in the way.
    pub fn day(&self, now: &Now) -> Option<NaiveDate> {
        let need = self.need.as_ref()?;
        Some(Week::of(&now.book).stay(need.first?, need).day)
    }

    /// What it takes part in the queue with: nothing once the unit was released, nor while it is on hold outside.
    pub fn queued(&self, now: &Now) -> Option<&Need> {
        let need = self.need.as_ref()?;
        let waits_outside = now.job.hold.is_some() && !need.in_work;
        (now.job.released.is_none() && !waits_outside).then_some(need)
    }
}

/// The promise; without a day it says what lacks. [`Now::promise`] keeps it.
///
/// # Errors
/// The figures cannot be worked out, or the store cannot be read.
pub fn promise(now: &Now) -> Result<Promise, Refusal> {
    let own = alone(now)?;
    let queued = own.queued(now).cloned();
    let in_queue = queued.is_some();
    {
        let mut bays = now.app.bays();
        bays.read(&now.app.store())?;
        bays.put(now.job.id, queued);
    }
    let Alone {
        need,
        lacks,
        mut basis,
    } = own;
    let first = need.as_ref().and_then(|need| Some((need, need.first?)));
    let Some((need, first)) = first else {
        return Ok(Promise {
            day: None,
            waits: String::new(),
            words: lacks,
            basis,
        });
    };
    let mut stay = Some(Week::of(&now.book).stay(first, need));
    let mut waits = String::new();
    if in_queue && !need.in_work {
        let placed = bays::place(now, need)?;
        basis.extend(placed.basis);
        (stay, waits) = (placed.stay, placed.waits);
    } else if now.job.hold.is_some() && !need.in_work {
        let what = "no bay is kept for it, and other jobs are not counted";
        basis.push(Basis::new("on hold", what, Standing::Worked));
    }
    let Some(stay) = stay else {
        let words = format!("No day yet: the bays are taken for as long as is planned ahead, by {waits}.");
        return Ok(Promise {
            day: None,
            waits,
            words,
            basis,
        });
    };
    basis.extend(working(now, &stay));
    let words = match waits.as_str() {
        "" => format!("Promised for {}.", stay.day),
        _ => format!(
            "Promised for {}; in the bay from {}, after {waits}.",
            stay.day, stay.first
        ),
    };
    Ok(Promise {
        day: Some(stay.day.to_string()),
        waits,
        words,
        basis,
    })
}

/// The working from the first day in the bay on.
fn working(now: &Now, stay: &Stay) -> Vec<Basis> {
    let mut basis = vec![
        Basis::new(stay.first.to_string(), "first day in the bay", Standing::Worked),
        Basis::new(stay.last.to_string(), "last day in the bay", Standing::Worked),
    ];
    if seals(now) {
        basis.push(match proof::longest_cure(now) {
            Some(hours) => Basis::new(
                format!("+ {} h", hours.normalize()),
                "cure, the longest label of the shop book; then leak test and lining",
                Standing::Shop,
            ),
            None => Basis::new(
                "not in it",
                "cure: the shop book holds no label hours",
                Standing::Shop,
            ),
        });
    }
    let agreed = now.main().ok().and_then(|main| main.go_ahead.at);
    let agreed = agreed.map_or(stay.first, |at| at.date_naive());
    basis.extend(closed_between(now, agreed, stay.day));
    basis.push(Basis::new(stay.day.to_string(), "promised for", Standing::Worked));
    basis
}

/// What the job's own entries and the shop book say, other jobs left out.
///
/// # Errors
/// The figures cannot be worked out.
pub fn alone(now: &Now) -> Result<Alone, Refusal> {
    let none = |lacks: &str| Alone {
        need: None,
        lacks: lacks.to_owned(),
        basis: Vec::new(),
    };
    if now.job.handed_over.as_ref().is_some_and(|kept| kept.value) {
        return Ok(none("The unit is handed over."));
    }
    let main = now.main()?;
    let Some(estimate) = &main.estimate else {
        return Ok(none("No day yet: nothing is figured."));
    };
    let (bay, mut basis) = match in_bay(now) {
        Ok(found) => found,
        // A day is not worth a screen: what cannot be planned is said, and the work goes on.
        Err(refusal) => return Ok(none(&format!("No day yet. {}", refusal.sentence))),
    };
    let whole = bay.days;
    let begun = begun(now);
    let in_work = begun.is_some() && now.job.released.is_none();
    // Only where it is asked for: whether the work seals anything is read off its steps.
    let need = |first: Option<NaiveDate>| Need {
        unit: now.job.unit.clone(),
        since: first_go_ahead(now).unwrap_or_default(),
        first,
        days: whole,
        people: bay.at_once,
        cure_days: cure_days(now),
        in_work,
    };
    let lacking = |lacks: String, basis: Vec<Basis>| Alone {
        // What is in work has its bay, whether or not a day can be said.
        need: in_work.then(|| need(None)),
        lacks,
        basis,
    };
    let given = now.given()?.unwrap_or(estimate);
    let mut groups = given.groups.iter();
    if let Some(group) = groups.find(|group| group.way == WayKey::AskTheMaker) {
        let lacks = format!("No day yet: {} waits for the maker's answer.", group.title);
        return Ok(lacking(lacks, Vec::new()));
    }
    if steps::no_go_ahead(now)?.is_some() {
        let days = if whole == 1 { "day" } else { "days" };
        let lacks = format!("No day yet: {whole} working {days} in the bay from the go-ahead on.");
        return Ok(lacking(lacks, basis));
    }
    Ok(match begins(now, begun, &mut basis) {
        Ok(first) => Alone {
            need: Some(need(Some(first))),
            lacks: String::new(),
            basis,
        },
        Err(lacks) => lacking(lacks, basis),
    })
}

/// Working days in the bay of all that is agreed, by the crew plan: one plan of it all, so that an hour more takes a day more
/// only where the day has no room for it.
fn in_bay(now: &Now) -> Result<(InBay, Vec<Basis>), Refusal> {
    let mut bay = now.in_bay()?.cloned().unwrap_or_default();
    bay.days = bay.days.clamp(1, MOST_DAYS);
    let week = &now.book.planning.workdays;
    let people = words::people(bay.people);
    let basis = vec![
        Basis::new(
            format!("{} h → {}", bay.hours, bay.days),
            format!("working days in the bay, by the crew plan with {people} (Figures shows it)"),
            Standing::Worked,
        ),
        Basis::new(
            week.value.to_string(),
            "working days a week, from Monday",
            week.standing.clone(),
        ),
    ];
    Ok((bay, basis))
}

/// Whole days of cure after the work; 0 where nothing is sealed or no label is known.
fn cure_days(now: &Now) -> u32 {
    let hours = proof::longest_cure(now)
        .filter(|_| seals(now))
        .unwrap_or_default();
    let days = hours.checked_div(Decimal::from(24)).unwrap_or_default().ceil();
    days.to_u32().unwrap_or_default().min(MOST_DAYS)
}

/// The first go-ahead of the whole job or a part of it: figures that are asked again keep the job's place.
fn first_go_ahead(now: &Now) -> Option<DateTime<Utc>> {
    let of_main = |hash: &str| {
        let mut asked = now.job.asked.iter();
        asked.any(|kept| kept.value.found.is_none() && kept.value.hash == hash)
    };
    let decided = now.job.decided.iter();
    let given =
        decided.filter(|(hash, kept)| matches!(kept.value, Decision::GoAhead { .. }) && of_main(hash));
    given.map(|(_, kept)| kept.at).min()
}

/// When the work began: the roof was opened, or the first step was worked on.
fn begun(now: &Now) -> Option<(DateTime<Utc>, &'static str)> {
    if let Some(opened) = now.job.roof_opened.as_ref().filter(|kept| kept.value) {
        return Some((opened.at, "the roof was opened"));
    }
    let of_step = |state: &bowseam_jobs::job::StepState| {
        let done = state.done.iter().filter(|kept| kept.value).map(|kept| kept.at);
        done.chain(state.people_on.values().copied()).min()
    };
    let first = now.job.steps.values().filter_map(of_step).min()?;
    Some((first, "the first step was worked on"))
}

/// The first day in the bay. What is bought and has no arrival day yet leaves it open.
fn begins(
    now: &Now,
    begun: Option<(DateTime<Utc>, &str)>,
    basis: &mut Vec<Basis>,
) -> Result<NaiveDate, String> {
    let week = Week::of(&now.book);
    let mut first = match (begun, now.main().ok().and_then(|main| main.go_ahead.at)) {
        (Some((at, what)), _) => {
            let day = at.date_naive();
            basis.push(Basis::new(day.to_string(), what, Standing::Unit));
            week.working(day)
        }
        (None, Some(agreed)) => {
            let agreed = agreed.date_naive();
            basis.push(Basis::new(
                agreed.to_string(),
                "go-ahead; work starts the working day after",
                Standing::Unit,
            ));
            week.working(after(agreed))
        }
        (None, None) => return Err("No day yet.".to_owned()),
    };
    // An open roof is not waiting for what was to be there before it was opened.
    let open = now.job.roof_opened.as_ref().is_some_and(|kept| kept.value);
    let awaited = now.job.buying.iter();
    let awaited = awaited.filter(|(key, line)| line.is_awaited() && buying::is_asked(now, key, &line.item));
    for (_, line) in awaited.filter(|_| !open) {
        let Some(day) = line.arrives_on else {
            return Err(format!(
                "No day yet: it is not known when this arrives: {}.",
                line.item
            ));
        };
        let what = format!("arrives: {}", line.item);
        basis.push(Basis::new(day.to_string(), what, Standing::Unit));
        first = first.max(week.working(day));
    }
    Ok(first)
}

/// Whether the work lays sealant that has to cure.
fn seals(now: &Now) -> bool {
    now.steps().iter().any(|step| step.key == "cure")
}

/// Days between these two on which the shop is closed.
fn closed_between(now: &Now, from: NaiveDate, to: NaiveDate) -> Vec<Basis> {
    let between = |closed: &&Closed| {
        let day = closed.day.parse::<NaiveDate>().ok();
        day.is_some_and(|day| day >= from && day <= to)
    };
    let closed = now.book.closed.iter().filter(between);
    let basis = |closed: &Closed| Basis::new(&closed.day, format!("closed: {}", closed.why), Standing::Shop);
    closed.map(basis).collect()
}
