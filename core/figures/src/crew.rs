//! `crew`: who does what when, so that the job is finished as early as the people and gear allow.
//!
//! First the network by precedence alone (critical tasks, total float), then the plan under the resources:
//! priority rules give a plan ([`first`]), and a search that learns ([`learn`], [`rules`]) proves it or finds a
//! shorter one ([`order`]).

mod first;
mod learn;
mod order;
mod rules;

use crate::Error;
use crate::door::Refusal;
use crate::input::{Fields, json};
use crate::search::{Stop, at, common};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde_json::{Map, Value, json};
use std::collections::{HashMap, HashSet};

/// Longest task, in the input's time.
const LONGEST: u32 = 1_000_000;
/// Most of one resource.
const MOST: u32 = 10_000;
/// Most resources.
const MOST_RESOURCES: usize = 50;
/// Parts of one unit of time that are told apart.
const PARTS: i64 = 1_000_000;

/// The project in whole steps of time; task 0 is the start, the last one the end.
pub(crate) struct Project {
    pub takes: Vec<f64>,
    pub needs: Vec<Vec<f64>>,
    pub after: Vec<Vec<usize>>,
    pub most: Vec<f64>,
}

struct Asked {
    ids: Vec<String>,
    project: Project,
    /// Millionths of the input's time in one step.
    step: i64,
}

/// `bowseam figure crew`.
///
/// # Errors
/// Input that is not understood, a circle, an unknown id, a need above the resource.
pub fn figure(input: &Value, stop: Stop<'_>) -> Result<Value, Refusal> {
    let asked = read(input)?;
    let project = &asked.project;
    let (early, late) = by_precedence(project).map_err(|task| circle(&asked, task))?;
    let plan = order::shortest(project, stop);
    let time = |steps: f64| {
        let millionths = Decimal::from(steps.round() as i64).saturating_mul(Decimal::from(asked.step));
        json(millionths.checked_div(Decimal::from(PARTS)).unwrap_or_default())
    };
    let (mut starts, mut slack, mut critical) = (Map::new(), Map::new(), Vec::new());
    for (place, id) in asked.ids.iter().enumerate() {
        let task = place.saturating_add(1);
        let float = at(&late, task) - at(&early, task);
        starts.insert(id.clone(), time(at(&plan.starts, task)));
        slack.insert(id.clone(), time(float));
        if float < 0.5 {
            critical.push((at(&early, task), id));
        }
    }
    critical.sort_by(|a, b| a.0.total_cmp(&b.0));
    let critical: Vec<&String> = critical.into_iter().map(|(_, id)| id).collect();
    Ok(
        json!({"proven": plan.lower >= plan.finish, "finish": time(plan.finish), "lower_bound": time(plan.lower),
        "starts": starts, "critical": critical, "slack": slack, "finish_by_precedence": time(at(&early, asked.ids.len().saturating_add(1)))}),
    )
}

/// Earliest and latest starts by precedence alone, or a task in a circle.
pub(crate) fn by_precedence(project: &Project) -> Result<(Vec<f64>, Vec<f64>), usize> {
    let many = project.takes.len();
    let order = sorted(project)?;
    let mut early = vec![0.0_f64; many];
    for task in &order {
        let ready = project.after.get(*task).into_iter().flatten();
        let start = ready
            .map(|before| at(&early, *before) + at(&project.takes, *before))
            .fold(0.0, f64::max);
        if let Some(early) = early.get_mut(*task) {
            *early = start;
        }
    }
    let finish = early.last().copied().unwrap_or_default();
    let mut late: Vec<f64> = project.takes.iter().map(|takes| finish - takes).collect();
    for task in order.iter().rev() {
        let start = at(&late, *task);
        for before in project.after.get(*task).into_iter().flatten() {
            let takes = at(&project.takes, *before);
            if let Some(late) = late.get_mut(*before) {
                *late = late.min(start - takes);
            }
        }
    }
    Ok((early, late))
}

/// The tasks so that each stands behind those that it waits for, or a task in a circle.
pub(crate) fn sorted(project: &Project) -> Result<Vec<usize>, usize> {
    let many = project.takes.len();
    let mut waits: Vec<usize> = project.after.iter().map(Vec::len).collect();
    let mut behind: Vec<Vec<usize>> = vec![Vec::new(); many];
    for (task, after) in project.after.iter().enumerate() {
        for before in after {
            if let Some(list) = behind.get_mut(*before) {
                list.push(task);
            }
        }
    }
    let mut order: Vec<usize> = (0..many).filter(|t| at(&waits, *t) == 0).collect();
    let mut next = 0_usize;
    while let Some(task) = order.get(next).copied() {
        next = next.saturating_add(1);
        for other in behind.get(task).into_iter().flatten() {
            if let Some(wait) = waits.get_mut(*other) {
                *wait = wait.saturating_sub(1);
                if *wait == 0 {
                    order.push(*other);
                }
            }
        }
    }
    if order.len() == many {
        return Ok(order);
    }
    // Of those that never get ready, one that is walked into twice stands in the circle.
    let stuck = |task: &usize| at(&waits, *task) > 0;
    let mut task = (0..many).find(stuck).unwrap_or(0);
    for _ in 0..many {
        task = project
            .after
            .get(task)
            .into_iter()
            .flatten()
            .copied()
            .find(|t| stuck(t))
            .unwrap_or(task);
    }
    Err(task)
}

fn circle(asked: &Asked, task: usize) -> Error {
    let place = task.saturating_sub(1);
    let id = asked.ids.get(place).map_or("", String::as_str);
    let sentence =
        format!("Task “{id}” waits for itself by way of its “after”: a circle. Take one of its “after” out.");
    Error::new("crew_circle", sentence).at(format!("/tasks/{place}/after"))
}

fn read(input: &Value) -> Result<Asked, Error> {
    let top = Fields::whole(input, &["time", "resources", "tasks", "time_limit_s"])?;
    top.number("time_limit_s", crate::door::LONGEST_SEARCH_S)?;
    if input.get("time").is_some_and(|time| !time.is_null()) {
        top.text("time")?;
    }
    let resources = counts(input.get("resources"), "/resources")?;
    let slots: HashMap<&str, usize> = resources
        .iter()
        .enumerate()
        .map(|(i, (name, _))| (name.as_str(), i))
        .collect();
    let tasks = top.list("tasks", |value, at| {
        let given = top.entry(value, at.clone(), &["id", "takes", "needs", "after"])?;
        let missing = || {
            given.wrong(
                "takes",
                "input_missing",
                "“takes” is missing: a number; 0 is a milestone.",
            )
        };
        let takes = given.number("takes", LONGEST)?.ok_or_else(missing)?;
        let whole = takes
            .checked_mul(Decimal::from(PARTS))
            .filter(|n| n.fract().is_zero())
            .and_then(|n| n.to_i64());
        let fine = || {
            given.wrong(
                "takes",
                "crew_fine",
                "A task takes a number with at most six digits behind the point.",
            )
        };
        let needs = needs(value.get("needs"), &given.pointer("needs"), &resources, &slots)?;
        Ok((given.text("id")?, whole.ok_or_else(fine)?, needs, at))
    })?;
    let tasks = tasks.ok_or_else(|| {
        top.wrong(
            "tasks",
            "input_missing",
            "“tasks” is missing: a list is expected.",
        )
    })?;
    let mut places = HashMap::new();
    for (place, (id, _, _, at)) in tasks.iter().enumerate() {
        if places.insert(id.as_str(), place.saturating_add(1)).is_some() {
            return Err(
                Error::new("crew_twice", format!("Two tasks are called “{id}”.")).at(format!("{at}/id"))
            );
        }
    }
    let given = input.get("tasks").and_then(Value::as_array);
    let mut project = Project {
        takes: vec![0.0],
        needs: vec![vec![0.0; resources.len()]],
        after: vec![Vec::new()],
        most: resources.iter().map(|(_, most)| f64::from(*most)).collect(),
    };
    let step = tasks.iter().fold(0, |step, task| common(step, task.1)).max(1);
    for ((_, takes, needs, at), value) in tasks.iter().zip(given.into_iter().flatten()) {
        project.takes.push(takes.checked_div(step).unwrap_or(0) as f64);
        project.needs.push(needs.clone());
        project
            .after
            .push(after(value.get("after"), &format!("{at}/after"), &places)?);
    }
    project.after.push((0..project.takes.len()).collect());
    project.takes.push(0.0);
    project.needs.push(vec![0.0; resources.len()]);
    let ids = tasks.into_iter().map(|task| task.0).collect();
    Ok(Asked { ids, project, step })
}

/// An object of names and whole numbers.
fn counts(value: Option<&Value>, at: &str) -> Result<Vec<(String, u32)>, Error> {
    let Some(value) = value.filter(|value| !value.is_null()) else {
        return Ok(Vec::new());
    };
    let Value::Object(map) = value else {
        return Err(Error::new(
            "input_object",
            "An object of names and whole numbers is expected here.",
        )
        .at(at));
    };
    if map.len() > MOST_RESOURCES {
        let sentence = format!("There are at most {MOST_RESOURCES} resources here.");
        return Err(Error::new("crew_many", sentence).at(at));
    }
    let point = |name: &str| format!("{at}/{}", name.replace('~', "~0").replace('/', "~1"));
    let one = |(name, value): (&String, &Value)| {
        crate::input::count(value, MOST)
            .map(|n| (name.clone(), n))
            .map_err(|e| e.at(point(name)))
    };
    map.iter().map(one).collect()
}

fn needs(
    value: Option<&Value>,
    at: &str,
    resources: &[(String, u32)],
    slots: &HashMap<&str, usize>,
) -> Result<Vec<f64>, Error> {
    let mut needs = vec![0.0; resources.len()];
    for (name, count) in counts(value, at)? {
        let wrong = |sentence: String| {
            Error::new("crew_need", sentence)
                .at(format!("{at}/{}", name.replace('~', "~0").replace('/', "~1")))
        };
        let slot = slots.get(name.as_str()).copied();
        let (_, most) = slot
            .and_then(|slot| resources.get(slot))
            .ok_or_else(|| wrong(format!("“{name}” is not among the resources.")))?;
        if count > *most {
            return Err(wrong(format!(
                "The task needs {count} of “{name}”, and there are {most}."
            )));
        }
        if let Some(need) = slot.and_then(|slot| needs.get_mut(slot)) {
            *need = f64::from(count);
        }
    }
    Ok(needs)
}

fn after(value: Option<&Value>, at: &str, places: &HashMap<&str, usize>) -> Result<Vec<usize>, Error> {
    let Some(value) = value.filter(|value| !value.is_null()) else {
        return Ok(vec![0]);
    };
    let Value::Array(list) = value else {
        return Err(Error::new("input_list", "A list of task ids is expected here.").at(at));
    };
    if list.len() > places.len() {
        let sentence = "A task waits for each other task once at most.";
        return Err(Error::new("crew_many", sentence).at(at));
    }
    let (mut after, mut had) = (vec![0], HashSet::new());
    for (place, id) in list.iter().enumerate() {
        let found = id.as_str().and_then(|id| places.get(id.trim()));
        let unknown =
            || Error::new("crew_unknown", format!("No task is called {id}.")).at(format!("{at}/{place}"));
        let found = *found.ok_or_else(unknown)?;
        if had.insert(found) {
            after.push(found);
        }
    }
    Ok(after)
}
