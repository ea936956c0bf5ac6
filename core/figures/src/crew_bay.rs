//! What the crew plan says to a job: the plans with the shop's people and with one more, and, of the first, how long the
//! unit is in the bay and how long its roof is open meanwhile. Ways, Figures, Roof-off check, Steps and the promised day
//! all read these from here, so that one thing has one number.

use crate::basis::{Basis, Standing};
use crate::crew_plan::{BY_TWO, CrewPlan, MOST_PEOPLE, SHARED, is_of, on_sheet, shortest};
use crate::error::Error;
use crate::estimate::{Estimate, Group};
use crate::group::WayKey;
use crate::mark::Part;
use crate::shop::Book;
use rust_decimal::Decimal;
use rust_decimal::prelude::FromStr;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// Plans with the shop's people, and with one more.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct CrewPlans {
    /// With the shop's people first.
    pub plans: Vec<CrewPlan>,
    /// What the plans do not hold, in words.
    pub lacks: Vec<String>,
    /// What they rest on.
    pub basis: Vec<Basis>,
}

/// How long a job is in the bay, by the crew plan with the shop's people. The cure is not in it: it comes after.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct InBay {
    /// People of the shop on the job.
    pub people: u32,
    /// Most of them at work at the same time.
    pub at_once: u32,
    /// Working hours in the bay.
    pub hours: String,
    /// The same in working days.
    pub days: u32,
    /// Working hours for which the roof is open, from the first cut to the rolled edge, if it is opened; of two openings
    /// the longer one.
    pub open_hours: Option<String>,
}

/// People of the shop on one job.
fn people(book: &Book) -> u32 {
    book.planning.people.value.clamp(1, MOST_PEOPLE)
}

/// The crew plan with the shop's people in short.
///
/// # Errors
/// As [`crew_plans`].
pub fn in_bay(estimate: &Estimate, book: &Book) -> Result<InBay, Error> {
    let plan = shortest(estimate, book, people(book), None)?;
    Ok(InBay {
        people: plan.people,
        at_once: at_once(&plan),
        hours: plan.bay_hours,
        days: plan.days.max(1),
        open_hours: plan.open_hours,
    })
}

/// Most people at work at the same time: it is reached where some row begins.
fn at_once(plan: &CrewPlan) -> u32 {
    let hours = |text: &str| Decimal::from_str(text).unwrap_or_default();
    let at = |time: Decimal| {
        let on = plan
            .rows
            .iter()
            .filter(|row| hours(&row.from) <= time && time < hours(&row.to));
        on.fold(0_usize, |sum, row| sum.saturating_add(row.people.len()))
    };
    let most = plan.rows.iter().map(|row| at(hours(&row.from))).max();
    u32::try_from(most.unwrap_or_default()).unwrap_or(u32::MAX).max(1)
}

/// Works the plans out. `cure` is what the label says for the day's temperature, hours; none if it is not known.
///
/// # Errors
/// Hours that cannot be read, or a network that the search refuses.
pub fn crew_plans(estimate: &Estimate, book: &Book, cure: Option<Decimal>) -> Result<CrewPlans, Error> {
    let planning = &book.planning;
    let people = people(book);
    let mut lacks = Vec::new();
    let wet = estimate.once.iter().any(|line| line.task == "leak_test");
    if wet && cure.is_none() {
        lacks.push(
            "The cure is not in the plan: it takes the temperature of the day, and in the shop book the label's hours at that temperature or a colder one."
                .to_owned(),
        );
    }
    if let Some(wanted) = estimate
        .groups
        .iter()
        .filter_map(|group| on_sheet(group, book))
        .max()
        && wanted > people
    {
        lacks.push(format!(
            "The sheet wants {wanted} people or a hoist, and the shop book has {people} people and no hoist: get help for it. The plan sets it with {people}."
        ));
    }
    let asks = |group: &&Group| group.way == WayKey::AskTheMaker;
    lacks.extend(
        estimate
            .groups
            .iter()
            .filter(asks)
            .map(|group| format!("{}: waits for the maker, no hours.", group.title)),
    );
    if estimate
        .groups
        .iter()
        .any(|group| asks(&group) && is_of(group, &[Part::Crossmember]))
        && estimate
            .groups
            .iter()
            .any(|group| !asks(&group) && is_of(group, &[Part::Floor]))
    {
        lacks.push("Floor boards over the crossmember wait for the maker's answer too.".to_owned());
    }
    let plans = [people, people.saturating_add(1)]
        .into_iter()
        .map(|people| shortest(estimate, book, people, cure))
        .collect::<Result<_, Error>>()?;
    let basis = vec![
        Basis::new(
            people.to_string(),
            "people of the shop on one job",
            planning.people.standing.clone(),
        ),
        Basis::new(
            planning.hours_a_day.value.to_string(),
            "hours of work in a day, one person",
            planning.hours_a_day.standing.clone(),
        ),
        Basis::new(
            planning.shifts.value.to_string(),
            "shifts a day",
            planning.shifts.standing.clone(),
        ),
        Basis::new(
            SHARED.join(", ").replace('_', " "),
            "shared by as many as there are, where that is sooner",
            Standing::Memory,
        ),
        Basis::new(
            BY_TWO.join(", ").replace('_', " "),
            "done by two",
            Standing::Memory,
        ),
    ];
    Ok(CrewPlans { plans, lacks, basis })
}
