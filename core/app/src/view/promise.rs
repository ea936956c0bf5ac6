//! The day a unit is promised for: working days from the go-ahead, or from the last arrival of what is bought, the
//! days in the bay by the figures, and the cure of the labels. Worked out from the job's own entries and the shop
//! book alone, so that phone and office say the same day.

use crate::{
    answer::{Promise, Refusal},
    now::Now,
    view::{proof, steps},
};
use bowseam_figures::{
    basis::{Basis, Standing},
    estimate::{Estimate, Group},
    group::WayKey,
    shop::Closed,
};
use chrono::{Datelike, Days, NaiveDate};
use rust_decimal::{Decimal, prelude::ToPrimitive};
use std::str::FromStr;

/// Longest job that a day is worked out for, in days.
const MOST_DAYS: u64 = 2_000;

/// The promise; without a day it says what lacks.
///
/// # Errors
/// The figures cannot be worked out.
pub fn promise(now: &Now) -> Result<Promise, Refusal> {
    let none = |words: String, basis: Vec<Basis>| Promise {
        day: None,
        words,
        basis,
    };
    if now.job.handed_over.as_ref().is_some_and(|kept| kept.value) {
        return Ok(none("The unit is handed over.".to_owned(), Vec::new()));
    }
    let main = now.main()?;
    let Some(estimate) = &main.estimate else {
        return Ok(none("No day yet: nothing is figured.".to_owned(), Vec::new()));
    };
    let asked = estimate
        .groups
        .iter()
        .find(|group| group.way == WayKey::AskTheMaker);
    if let Some(group) = asked {
        let words = format!("No day yet: {} waits for the maker's answer.", group.title);
        return Ok(none(words, Vec::new()));
    }
    let mut days = days_of(now, estimate, &main.go_ahead.groups);
    for added in now
        .supplements()?
        .iter()
        .filter(|part| part.go_ahead.state == "go_ahead")
    {
        days = days.saturating_add(
            added
                .estimate
                .as_ref()
                .map(|part| days_of(now, part, &[]))
                .unwrap_or_default(),
        );
    }
    let whole = days.ceil().to_u64().unwrap_or(MOST_DAYS).clamp(1, MOST_DAYS);
    let mut basis = vec![Basis::new(
        format!("{} → {whole}", days.round_dp(1).normalize()),
        "working days in the bay: hours of the figures by the people on them, one way after the other; the crew plan shows what goes side by side",
        Standing::Worked,
    )];
    let week = &now.book.planning.workdays;
    basis.push(Basis::new(
        week.value.to_string(),
        "working days a week, from Monday",
        week.standing.clone(),
    ));
    if steps::no_go_ahead(now)?.is_some() {
        return Ok(none(
            format!("No day yet: {whole} working days in the bay from the go-ahead on."),
            basis,
        ));
    }
    let first = match begins(now, &mut basis) {
        Ok(Some(first)) => first,
        Ok(None) => return Ok(none("No day yet.".to_owned(), basis)),
        Err(lacks) => return Ok(none(lacks, basis)),
    };
    let last = (1..whole).fold(first, |day, _| working(now, after(day)));
    basis.push(Basis::new(
        last.to_string(),
        "last day in the bay",
        Standing::Worked,
    ));
    let day = match proof::longest_cure(now) {
        Some(hours) if seals(now) => {
            let cure_days = hours.checked_div(Decimal::from(24)).unwrap_or_default().ceil();
            basis.push(Basis::new(
                format!("+ {} h", hours.normalize()),
                "cure, the longest label of the shop book; then leak test and lining",
                Standing::Shop,
            ));
            let over =
                last.checked_add_days(Days::new(cure_days.to_u64().unwrap_or_default().min(MOST_DAYS)));
            working(now, over.unwrap_or(last))
        }
        None if seals(now) => {
            basis.push(Basis::new(
                "not in it",
                "cure: the shop book holds no label hours",
                Standing::Shop,
            ));
            last
        }
        _ => last,
    };
    let agreed = main.go_ahead.at.map_or(first, |at| at.date_naive());
    basis.extend(closed_between(now, agreed, day));
    basis.push(Basis::new(day.to_string(), "promised for", Standing::Worked));
    Ok(Promise {
        day: Some(day.to_string()),
        words: format!("Promised for {day}."),
        basis,
    })
}

/// The first day in the bay. What is bought and has no arrival day yet leaves it open.
fn begins(now: &Now, basis: &mut Vec<Basis>) -> Result<Option<NaiveDate>, String> {
    if let Some(opened) = now.job.roof_opened.as_ref().filter(|kept| kept.value) {
        let day = opened.at.date_naive();
        basis.push(Basis::new(day.to_string(), "the roof was opened", Standing::Unit));
        return Ok(Some(working(now, day)));
    }
    let Some(agreed) = now.main().ok().and_then(|main| main.go_ahead.at) else {
        return Ok(None);
    };
    let agreed = agreed.date_naive();
    basis.push(Basis::new(
        agreed.to_string(),
        "go-ahead; work starts the working day after",
        Standing::Unit,
    ));
    let mut first = working(now, after(agreed));
    let open = now.job.buying.values().filter(|line| line.is_awaited());
    for line in open {
        match line.arrives_on {
            Some(day) => {
                basis.push(Basis::new(
                    day.to_string(),
                    format!("arrives: {}", line.item),
                    Standing::Unit,
                ));
                first = first.max(working(now, day));
            }
            None => {
                return Err(format!(
                    "No day yet: it is not known when this arrives: {}.",
                    line.item
                ));
            }
        }
    }
    basis.push(Basis::new(
        first.to_string(),
        "first day in the bay",
        Standing::Worked,
    ));
    Ok(Some(first))
}

/// Days of the groups that are worked on, one after the other, and of what the job has once.
fn days_of(now: &Now, estimate: &Estimate, part: &[String]) -> Decimal {
    let read = |text: &str| Decimal::from_str(text).unwrap_or_default();
    let worked_on = |group: &&Group| part.is_empty() || part.contains(&group.group);
    let groups = estimate
        .groups
        .iter()
        .filter(worked_on)
        .fold(Decimal::ZERO, |sum, group| sum.saturating_add(read(&group.days)));
    let people = estimate
        .groups
        .iter()
        .filter(worked_on)
        .map(|group| group.people)
        .max()
        .unwrap_or(1)
        .max(1);
    let a_day = now
        .book
        .planning
        .hours_a_day
        .value
        .0
        .saturating_mul(Decimal::from(people));
    let once = estimate
        .once
        .iter()
        .fold(Decimal::ZERO, |sum, line| sum.saturating_add(read(&line.hours)));
    groups.saturating_add(once.checked_div(a_day).unwrap_or_default())
}

/// Whether the work lays sealant that has to cure.
fn seals(now: &Now) -> bool {
    now.steps().iter().any(|step| step.key == "cure")
}

fn after(day: NaiveDate) -> NaiveDate {
    day.succ_opt().unwrap_or(day)
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

/// This day, or the next one that is worked on; with no working days at all every day is one.
fn working(now: &Now, mut day: NaiveDate) -> NaiveDate {
    let week = now.book.planning.workdays.value;
    let closed = |day: NaiveDate| {
        let day = day.to_string();
        now.book.closed.iter().any(|closed| closed.day == day)
    };
    for _ in 0..MOST_DAYS {
        let in_week = week == 0 || day.weekday().num_days_from_monday() < week;
        if in_week && !closed(day) {
            break;
        }
        day = after(day);
    }
    day
}
