//! The crew plan: who does what when, from the hours of the figures, in the order of the work, by the people of
//! the shop; and the same with one person more.
//!
//! Tasks of one group follow each other; groups run side by side where the order of the steps lets them. What
//! is opened stays in the trade's order: the lining out first; sides and corners while the roof is off, posts
//! before the sheet on them, whole side sheets after it is closed and one after the other; the leak test after the
//! cure, and before lining and scuff band go in. Of two sections the second is opened when the first is closed, each
//! with its cover, as the steps do. The plan is found and
//! proven by [`crate::crew`]; where it was not proven the bound is said.

use crate::bill::TaskHours;
use crate::crew;
pub use crate::crew_bay::{CrewPlans, InBay, crew_plans, in_bay};
use crate::error::Error;
use crate::estimate::{Estimate, Group};
use crate::mark::{Part, Surface};
use crate::sections::{by_section, shared};
use crate::shop::Book;
use crate::side_patch::SideWay;
use crate::steps::{holds_the_wall, while_roof_is_off};
use rust_decimal::prelude::{FromStr, ToPrimitive};
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;
use ts_rs::TS;

/// How often the search looks at its stop signal before it ends: a blink of an eye.
const LOOKS: u32 = 2_000;
/// Most people of a plan.
pub(crate) const MOST_PEOPLE: u32 = 12;
/// Tasks that as many as there are can share (from memory).
pub(crate) const SHARED: [&str; 5] = ["strip_out", "cleaning", "clean_up", "lining", "sheeting"];
/// Tasks that two do together wherever they are figured: one inside or below, one outside (from memory).
pub(crate) const BY_TWO: [&str; 5] = ["platforms", "cover", "leak_test", "lining", "brace"];

/// One stretch of work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct PlanRow {
    /// The task as it is read.
    pub title: String,
    /// What it belongs to; empty for what the job has once.
    pub of: String,
    /// Working day, from 1.
    pub day: u32,
    /// Hours of work from the start of the job, to two decimals.
    pub from: String,
    /// The same when it ends.
    pub to: String,
    /// Who, by number from 1; nobody while something cures.
    pub people: Vec<u32>,
}

/// A plan for so many people.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct CrewPlan {
    /// How many.
    pub people: u32,
    /// Working hours in the bay, cure counted as far as it falls into them.
    pub bay_hours: String,
    /// Working days.
    pub days: u32,
    /// It is proven that no plan is shorter.
    pub proven: bool,
    /// No plan is shorter than this.
    pub at_least: String,
    /// From the first cut to the rolled edge, if the roof is opened; of two openings the longer one.
    pub open_hours: Option<String>,
    /// In their order.
    pub rows: Vec<PlanRow>,
}

/// A task of the network, in hundredths of an hour.
struct Task {
    title: String,
    of: String,
    takes: i64,
    needs: u32,
    after: Vec<usize>,
    /// The opening that is open meanwhile, by its place from the nose.
    open: Option<usize>,
}

/// Places in the chain of an open roof.
struct Opened {
    /// Side work waits for these.
    off: Vec<usize>,
    /// This waits for side work.
    closing: Option<usize>,
    /// The chain's end.
    closed: Vec<usize>,
}

struct Network<'a> {
    book: &'a Book,
    people: u32,
    /// As many as there are take the tasks that can be shared.
    all_hands: bool,
    tasks: Vec<Task>,
}

/// Posts of walls and corners.
const POSTS: [Part; 2] = [Part::SidePost, Part::CornerPost];
/// What goes in when no water comes in any more.
const INSIDE: [Part; 2] = [Part::Lining, Part::ScuffBand];

/// Whether a group is of one of these parts.
pub(crate) fn is_of(group: &Group, parts: &[Part]) -> bool {
    group.marks.first().is_some_and(|mark| parts.contains(&mark.part))
}

/// People who set the roof's sheet: a large one without a hoist wants as many as a whole roof.
pub(crate) fn on_sheet(group: &Group, book: &Book) -> Option<u32> {
    let planning = &book.planning;
    group.roof.as_ref()?;
    let large = group.roofs().any(|roof| roof.large) && !planning.hoist.value;
    Some(match large {
        true => group.people.max(planning.people_whole_roof.value),
        false => group.people.min(2),
    })
}

/// The sooner of two ways to man the tasks that can be shared.
pub(crate) fn shortest(
    estimate: &Estimate,
    book: &Book,
    people: u32,
    cure: Option<Decimal>,
) -> Result<CrewPlan, Error> {
    let plan = |all_hands| {
        let mut network = Network {
            book,
            people,
            all_hands,
            tasks: Vec::new(),
        };
        network.job(estimate, cure)?;
        network.plan()
    };
    let (usual, all_hands) = (plan(false)?, plan(true)?);
    let hours = |plan: &CrewPlan| Decimal::from_str(&plan.bay_hours).unwrap_or_default();
    Ok(if hours(&all_hands) < hours(&usual) {
        all_hands
    } else {
        usual
    })
}

impl Network<'_> {
    fn job(&mut self, estimate: &Estimate, cure: Option<Decimal>) -> Result<(), Error> {
        let line = |task: &str| estimate.once.iter().find(|line| line.task == task);
        let once = |network: &mut Self, task: &str, after: &[usize]| match line(task) {
            Some(line) => network.put(line, "", 1, after).map(|at| vec![at]),
            None => Ok(after.to_vec()),
        };
        let safe = once(self, "make_safe", &[])?;
        let start = match line("lining") {
            Some(line) => vec![self.half(line, "Lining out of the way", &safe)?],
            None => safe.clone(),
        };
        let platforms = once(self, "platforms", &safe)?;
        let roof = estimate.groups.iter().find(|group| group.roof.is_some());
        let mut ends = Vec::new();
        let (mut off, mut closed) = (start.clone(), start.clone());
        let mut before_closing = None;
        if let Some(group) = roof {
            let opened =
                self.open_roof(group, line("cover"), &[start.clone(), platforms.clone()].concat())?;
            ends.clone_from(&opened.closed);
            (off, before_closing, closed) = (opened.off, opened.closing, opened.closed);
        }
        let mut sheets = closed.clone();
        let mut posts = Vec::new();
        // Posts stand before the sheet that is riveted to them.
        let mut others: Vec<&Group> = estimate
            .groups
            .iter()
            .filter(|group| group.roof.is_none())
            .collect();
        others.sort_by_key(|group| !is_of(group, &POSTS));
        let (inside, others): (Vec<&Group>, Vec<&Group>) =
            others.into_iter().partition(|group| is_of(group, &INSIDE));
        // A whole post or nose sheet holds the wall, so it waits for the roof, and so does a patch over that wall.
        let surface = |group: &Group| group.marks.first().map(|mark| mark.place.surface);
        let holds = |group: &&Group| roof.is_some() && group.parts.iter().any(holds_the_wall);
        let walls: Vec<Surface> = others.iter().copied().filter(holds).filter_map(surface).collect();
        let over = |group: &Group| {
            let same = |own: Surface| walls.iter().any(|wall| wall.same_wall(own));
            group.side.is_some() && surface(group).is_some_and(same)
        };
        for group in others {
            let part = group.marks.first().map(|mark| mark.part);
            let whole = group.side.as_ref().is_some_and(|side| side.way != SideWay::Patch);
            let mut begin = match part {
                _ if whole => sheets.clone(),
                _ if holds(&group) || over(group) => closed.clone(),
                _ if !group.patches.is_empty() => platforms.clone(),
                Some(part) if roof.is_some() && while_roof_is_off(part) => off.clone(),
                Some(Part::Floor) => closed.clone(),
                _ => start.clone(),
            };
            let while_off = roof.is_some() && begin == off && !whole;
            if group.side.is_some() {
                begin.extend(&posts);
            }
            let end = self.chain(group, &begin)?;
            match before_closing.and_then(|closing| self.tasks.get_mut(closing)) {
                Some(closing) if while_off => closing.after.extend(&end),
                _ if whole => sheets.clone_from(&end),
                _ => {}
            }
            if is_of(group, &POSTS) {
                posts.extend(&end);
            }
            ends.extend(end);
        }
        if ends.is_empty() {
            ends = [start, platforms].concat();
        }
        let swept = once(self, "clean_up", &ends)?;
        once(self, "lights", &swept)?;
        once(self, "sheeting", &swept)?;
        let cured = match cure.filter(|_| line("leak_test").is_some()) {
            Some(hours) => vec![self.cure(hours, &swept)],
            None => swept,
        };
        let mut dry = once(self, "leak_test", &cured)?;
        for group in inside {
            dry = self.chain(group, &dry)?;
        }
        if let Some(line) = line("lining") {
            self.half(line, "Lining back", &dry)?;
        }
        Ok(())
    }

    /// Half of a task that is done in two goes.
    fn half(&mut self, line: &TaskHours, title: &str, after: &[usize]) -> Result<usize, Error> {
        let at = self.put(line, "", 1, after)?;
        if let Some(task) = self.tasks.get_mut(at) {
            task.takes = task.takes.saturating_add(1).div_euclid(2);
            task.title = title.to_owned();
        }
        Ok(at)
    }

    /// The open roof's chain, one opening after the other, then patches beside them. Sides are worked on in the first.
    fn open_roof(
        &mut self,
        group: &Group,
        cover: Option<&TaskHours>,
        after: &[usize],
    ) -> Result<Opened, Error> {
        let hours = by_section(group);
        let weight = |lines: &Vec<TaskHours>| {
            let hours = lines
                .iter()
                .filter_map(|line| Decimal::from_str(&line.hours).ok());
            hours.fold(Decimal::ZERO, Decimal::saturating_add)
        };
        let weights: Vec<Decimal> = hours.sections.iter().map(weight).collect();
        let mut covers = cover
            .map(|line| shared(line, &weights))
            .unwrap_or_default()
            .into_iter();
        let mut found: Option<Opened> = None;
        let mut last = after.to_vec();
        for (place, lines) in hours.sections.iter().enumerate() {
            // The second one is named as its steps are.
            let named = |line: &TaskHours| TaskHours {
                title: match place {
                    0 => line.title.clone(),
                    _ => format!("Second section: {}", line.title),
                },
                ..line.clone()
            };
            let lines: Vec<TaskHours> = lines.iter().map(named).collect();
            let cover = covers.next().flatten().as_ref().map(named);
            let opened = self.opening(group, place, &lines, cover.as_ref(), &last)?;
            last.clone_from(&opened.closed);
            found.get_or_insert(opened);
        }
        for line in &hours.beside {
            last = vec![self.put(line, &group.title, group.people.min(2), &last)?];
        }
        let (off, closing) = found.map_or((after.to_vec(), None), |first| (first.off, first.closing));
        Ok(Opened {
            off,
            closing,
            closed: last,
        })
    }

    /// One opening, from the strip-out to the rolled edge.
    fn opening(
        &mut self,
        group: &Group,
        place: usize,
        lines: &[TaskHours],
        cover: Option<&TaskHours>,
        after: &[usize],
    ) -> Result<Opened, Error> {
        let (mut last, mut off, mut closing) = (after.to_vec(), after.to_vec(), None);
        let mut open = None;
        for line in lines {
            let needs = match line.task.as_str() {
                "sheet_on" => on_sheet(group, self.book).unwrap_or(group.people),
                _ => group.people.min(2),
            };
            let old_sheet = line.task == "old_sheet";
            open = open.or(old_sheet.then_some(place));
            last = vec![self.put_open(line, group, needs, &last, open)?];
            if matches!(line.task.as_str(), "cleaning" | "tape" | "sheet_on") && closing.is_none() {
                closing = last.first().copied();
            }
            if old_sheet {
                if let Some(cover) = cover {
                    last = vec![self.put_open(cover, group, 2, &last, open)?];
                }
                off.clone_from(&last);
            }
        }
        Ok(Opened {
            off,
            closing,
            closed: last,
        })
    }

    /// A task of a group whose roof is opened, and which opening is open meanwhile.
    fn put_open(
        &mut self,
        line: &TaskHours,
        group: &Group,
        needs: u32,
        after: &[usize],
        open: Option<usize>,
    ) -> Result<usize, Error> {
        let at = self.put(line, &group.title, needs, after)?;
        if let Some(task) = self.tasks.get_mut(at) {
            task.open = open;
        }
        Ok(at)
    }

    fn chain(&mut self, group: &Group, after: &[usize]) -> Result<Vec<usize>, Error> {
        let mut last = after.to_vec();
        for line in &group.hours {
            last = vec![self.put(line, &group.title, group.people, &last)?];
        }
        Ok(last)
    }

    fn put(&mut self, line: &TaskHours, of: &str, usual: u32, after: &[usize]) -> Result<usize, Error> {
        let task = line.task.as_str();
        let usual = if BY_TWO.contains(&task) {
            usual.max(2)
        } else {
            usual
        };
        let needs = if self.all_hands && SHARED.contains(&task) {
            self.people
        } else {
            usual
        };
        let needs = needs.clamp(1, self.people);
        let hours = Decimal::from_str(&line.hours)
            .ok()
            .filter(|hours| !hours.is_sign_negative())
            .ok_or_else(|| {
                Error::new(
                    "crew_hours",
                    format!("The hours of “{}” cannot be read.", line.title),
                )
            })?;
        let takes = hundredths(hours.checked_div(Decimal::from(needs)).unwrap_or(hours));
        Ok(self.add(line.title.clone(), of, takes, needs, after))
    }

    fn add(&mut self, title: String, of: &str, takes: i64, needs: u32, after: &[usize]) -> usize {
        self.tasks.push(Task {
            title,
            of: of.to_owned(),
            takes,
            needs,
            after: after.to_vec(),
            open: None,
        });
        self.tasks.len().saturating_sub(1)
    }

    /// Hours on the clock as the working hours that they can take at most: whole days, and the rest within one.
    fn cure(&mut self, hours: Decimal, after: &[usize]) -> usize {
        let day = self.day();
        let days = hours.checked_div(Decimal::from(24)).unwrap_or_default().floor();
        let rest = hours
            .saturating_sub(days.saturating_mul(Decimal::from(24)))
            .min(day);
        let working = days.saturating_mul(day).saturating_add(rest);
        let title = format!("Cure, {} h on the clock", hours.normalize());
        self.add(title, "", hundredths(working), 0, after)
    }

    /// Working hours of a day.
    fn day(&self) -> Decimal {
        let planning = &self.book.planning;
        let shifts = Decimal::from(planning.shifts.value.clamp(1, 3));
        let day = planning.hours_a_day.value.0.saturating_mul(shifts);
        day.clamp(Decimal::ONE, Decimal::from(24))
    }

    fn plan(self) -> Result<CrewPlan, Error> {
        let tasks: Vec<Value> = self
            .tasks
            .iter()
            .enumerate()
            .map(|(at, task)| {
                let after: Vec<String> = task.after.iter().map(usize::to_string).collect();
                let needs = if task.needs == 0 {
                    json!({})
                } else {
                    json!({"people": task.needs})
                };
                json!({"id": at.to_string(), "takes": task.takes, "needs": needs, "after": after})
            })
            .collect();
        let input = json!({"resources": {"people": self.people}, "tasks": tasks});
        let mut left = LOOKS;
        let found = crew::figure(&input, &mut || {
            left = left.saturating_sub(1);
            left == 0
        });
        let found = found.map_err(|refusal| Error::new("crew_plan", refusal.body))?;
        let number = |name: &str| found.get(name).and_then(Value::as_i64).unwrap_or_default();
        let none = Map::new();
        let starts = found.get("starts").and_then(Value::as_object).unwrap_or(&none);
        let start = |at: usize| {
            starts
                .get(&at.to_string())
                .and_then(Value::as_i64)
                .unwrap_or_default()
        };
        let day = hundredths(self.day()).max(1);
        let mut openings: BTreeMap<usize, (i64, i64)> = BTreeMap::new();
        for (at, task) in self.tasks.iter().enumerate() {
            let Some(place) = task.open else { continue };
            let (from, to) = (start(at), start(at).saturating_add(task.takes));
            let span = openings.entry(place).or_insert((from, to));
            *span = (span.0.min(from), span.1.max(to));
        }
        let open = openings.values().map(|(from, to)| to.saturating_sub(*from)).max();
        Ok(CrewPlan {
            people: self.people,
            bay_hours: hours(number("finish")),
            days: u32::try_from(number("finish").unsigned_abs().div_ceil(day.unsigned_abs()))
                .unwrap_or(u32::MAX),
            proven: found.get("proven").and_then(Value::as_bool) == Some(true),
            at_least: hours(number("lower_bound")),
            open_hours: open.map(hours),
            rows: self.rows(start, day),
        })
    }

    /// People are given out in the order of the starts; who was free last goes on, so that few stand by.
    fn rows(&self, start: impl Fn(usize) -> i64, day: i64) -> Vec<PlanRow> {
        let mut order: Vec<(i64, usize)> = (0..self.tasks.len()).map(|at| (start(at), at)).collect();
        order.sort_unstable();
        let mut free: Vec<(i64, u32)> = (1..=self.people).map(|person| (0, person)).collect();
        let mut rows = Vec::new();
        for (from, at) in order {
            let Some(task) = self.tasks.get(at) else { continue };
            let to = from.saturating_add(task.takes);
            free.sort_by_key(|(since, person)| (std::cmp::Reverse(*since), *person));
            let mut people = Vec::new();
            for (since, person) in &mut free {
                if people.len() < usize::try_from(task.needs).unwrap_or(0) && *since <= from {
                    *since = to;
                    people.push(*person);
                }
            }
            people.sort_unstable();
            let number = from.checked_div(day).unwrap_or_default().saturating_add(1);
            rows.push(PlanRow {
                title: task.title.clone(),
                of: task.of.clone(),
                day: u32::try_from(number).unwrap_or(u32::MAX),
                from: hours(from),
                to: hours(to),
                people,
            });
        }
        rows
    }
}

/// Hours in whole hundredths, up.
fn hundredths(hours: Decimal) -> i64 {
    let scaled = hours.checked_mul(Decimal::ONE_HUNDRED).unwrap_or_default();
    let whole = scaled.round_dp_with_strategy(0, RoundingStrategy::AwayFromZero);
    whole.to_i64().unwrap_or(i64::from(u32::MAX)).min(900_000)
}

fn hours(hundredths: i64) -> String {
    Decimal::try_new(hundredths, 2)
        .unwrap_or_default()
        .normalize()
        .to_string()
}

#[cfg(test)]
#[path = "crew_plan_tests.rs"]
mod tests;
