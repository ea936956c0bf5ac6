//! Figures: takeoff, hours, price and range of the chosen ways, where they stand with the office, how they
//! compare with figures that were asked before, and with what the unit is worth.

use crate::{
    answer::{Answer, Figures, PartGiven, Refusal, Version},
    now::Now,
    roof, typed,
    view::{arrival, found, head, roof_off},
};
use bowseam_figures::{
    crew_plan::crew_plans,
    estimate::{self, Estimate, Group},
    retire::repair_or_retire,
};
use bowseam_jobs::{
    entry::{ArrivalField, Decision, RoofOffField},
    job::{Asked, Kept},
};
use rust_decimal::{Decimal, prelude::FromStr};

/// The screen.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn figures(now: &Now) -> Result<Figures, Refusal> {
    let main = now.main()?;
    let retire = match (&main.estimate, now.arrival(ArrivalField::Value)) {
        (Some(estimate), Some(value)) => Some(repair_or_retire(
            &estimate.total,
            estimate
                .range
                .as_ref()
                .map_or(&estimate.total, |range| &range.high),
            value,
            &now.book.planning.retire_share,
            estimate.unpriced(),
        )?),
        _ => None,
    };
    Ok(Figures {
        head: head::head(now)?,
        estimate: main.estimate.clone(),
        hash: main.hash.clone(),
        go_ahead: main.go_ahead.clone(),
        supplements: found::rows(now)?,
        agreed_total: now.agreed_total()?,
        in_bay: now.in_bay().ok().flatten().cloned(),
        given: given(now)?,
        lacks: main.lacks.clone(),
        versions: versions(now)?,
        unit_value: arrival::one(now, ArrivalField::Value),
        retire,
    })
}

/// What is given where that is not just all of the figures, and what waits.
fn given(now: &Now) -> Result<Option<PartGiven>, Refusal> {
    let main = now.main()?;
    let go = &main.go_ahead;
    let (Some(all), Some(given)) = (&main.estimate, now.given()?) else {
        return Ok(None);
    };
    let another = go.amount.as_ref().is_some_and(|amount| *amount != all.total);
    let just_all = go.groups.is_empty() && go.ceiling.is_none() && !another;
    if go.state != "go_ahead" || just_all {
        return Ok(None);
    }
    let part = part_of(all, &go.groups, given);
    let amount = go.amount.clone().unwrap_or(part.amount);
    let room = |ceiling: &String| money(ceiling).saturating_sub(money(&amount));
    Ok(Some(PartGiven {
        under_ceiling: go.ceiling.as_ref().map(|ceiling| format!("{:.2}", room(ceiling))),
        ceiling: go.ceiling.clone(),
        amount,
        ..part
    }))
}

/// A part of figures, worked out by itself, beside all of them; no groups: all. What the job has once is in the part, so
/// what waits is what it would add.
pub fn part_of(all: &Estimate, groups: &[String], part: &Estimate) -> PartGiven {
    let titles = |of_it: bool| {
        let is_of_it = |group: &&Group| groups.is_empty() || groups.contains(&group.group);
        let found = all.groups.iter().filter(|group| is_of_it(group) == of_it);
        found.map(|group| group.title.clone()).collect()
    };
    let waits = money(&all.total).saturating_sub(money(&part.total));
    PartGiven {
        amount: part.total.clone(),
        titles: titles(true),
        waits: titles(false),
        waits_amount: format!("{waits:.2}"),
        ceiling: None,
        under_ceiling: None,
    }
}

/// An amount of figures that were worked out.
pub fn money(text: &str) -> Decimal {
    Decimal::from_str(text).unwrap_or_default()
}

/// The figures as they are now, where they were not asked as they are; then those that were asked.
fn versions(now: &Now) -> Result<Vec<Version>, Refusal> {
    let main = now.main()?;
    let mut asked: Vec<&Kept<Asked>> = main_asked(now).collect();
    asked.sort_by_key(|kept| std::cmp::Reverse(kept.at));
    let mut versions = Vec::new();
    if let Some(estimate) = &main.estimate
        && asked.first().map(|kept| &kept.value.hash) != main.hash.as_ref()
    {
        versions.push(present(estimate));
    }
    versions.extend(asked.into_iter().map(|kept| version(now, kept)));
    Ok(versions)
}

fn main_asked<'n>(now: &'n Now) -> impl Iterator<Item = &'n Kept<Asked>> {
    now.job.asked.iter().filter(|kept| kept.value.found.is_none())
}

fn present(estimate: &Estimate) -> Version {
    Version {
        hash: String::new(),
        total: estimate.total.clone(),
        by: None,
        at: None,
        answer: String::new(),
    }
}

fn version(now: &Now, kept: &Kept<Asked>) -> Version {
    let total = kept
        .value
        .figures
        .get("total")
        .and_then(serde_json::Value::as_str);
    let answer = now.job.answer_to(kept).map(|answer| {
        let by = now.name(answer.by);
        match answer.value {
            Decision::GoAhead {
                ref groups,
                ref ceiling,
                ..
            } => {
                let part = if groups.is_empty() { "" } else { " for a part" };
                let up_to = ceiling.as_ref().map(|ceiling| format!(" up to ${ceiling}"));
                format!("{by} gave the go-ahead{part}{}", up_to.unwrap_or_default())
            }
            Decision::SentBack { .. } => format!("{by} sent them back"),
        }
    });
    Version {
        hash: kept.value.hash.clone(),
        total: total.unwrap_or_default().to_owned(),
        by: Some(now.name(kept.by)),
        at: Some(kept.at),
        answer: answer.unwrap_or_default(),
    }
}

/// What changed from one version to another.
///
/// # Errors
/// `no_version` with the field, or figures of a newer program.
pub fn compared(now: &Now, was: &str, is: &str) -> Result<Answer, Refusal> {
    let (was, old) = one(now, was, "was")?;
    let (is, new) = one(now, is, "now")?;
    Ok(Answer::ComparedFigures {
        changed: estimate::compare(&old, &new),
        was,
        now: is,
    })
}

/// Who does what when, by the figures as they are now.
///
/// # Errors
/// `no_figures`, a temperature that cannot be read, or hours that cannot be planned.
pub fn crew_plan(now: &Now, temperature: &str) -> Result<Answer, Refusal> {
    let estimate = now.agreed()?.ok_or_else(none_yet)?;
    let cure = match temperature.trim() {
        "" => None,
        typed => now.book.cure_hours(typed::fahrenheit(typed, "temperature")?),
    };
    let mut plans = crew_plans(estimate, &now.book, cure.map(|hours| hours.0))?;
    if cure.is_none() && !temperature.trim().is_empty() {
        plans.lacks.push(
            "The shop book holds no cure time of every product's label for this temperature; it is never guessed."
                .to_owned(),
        );
    }
    Ok(Answer::CrewPlan { dry: dry(now), plans })
}

/// Nothing is figured yet.
pub fn none_yet() -> Refusal {
    let sentence = "There are no figures yet: choose a way on Ways to fix first.";
    Refusal::new("no_figures", sentence)
}

/// The dry hours of the Roof-off check against the hours for which the roof is open.
fn dry(now: &Now) -> Option<String> {
    let entered = &now.job.roof_off.get(&RoofOffField::DryHours)?.value;
    let dry = roof_off::leading_number(entered)?;
    let open = roof::open_hours(now)?;
    Some(if dry < open {
        format!(
            "The roof is open for {open} h by this plan and {dry} dry hours were entered: it is covered in between, at every stop."
        )
    } else {
        format!("The roof is open for {open} h by this plan, within the {dry} dry hours that were entered.")
    })
}

fn one(now: &Now, hash: &str, field: &str) -> Result<(Version, Estimate), Refusal> {
    let none = || {
        let sentence = "There are no such figures on this job. Choose one of the versions listed on Figures.";
        Refusal::at("no_version", field, sentence)
    };
    if hash.is_empty() {
        let estimate = now.main()?.estimate.clone().ok_or_else(none)?;
        return Ok((present(&estimate), estimate));
    }
    let kept = main_asked(now)
        .filter(|kept| kept.value.hash == hash)
        .max_by_key(|kept| kept.at)
        .ok_or_else(none)?;
    let estimate = serde_json::from_value(kept.value.figures.clone()).map_err(|e| {
        let sentence =
            format!("These figures cannot be read by this program ({e}). Bring the program up to date.");
        Refusal::at("version_unread", field, sentence)
    })?;
    Ok((version(now, kept), estimate))
}
