//! What the shop learns: hours and material used on units that left, against what was figured, by task, with how sure
//! that is; and proposals to the shop book that a supervisor takes or leaves. Nothing is changed by itself.
//!
//! Jobs differ and a forgotten clock can be off by a night, so the middle one is taken, not the mean; its range comes
//! from the order of the jobs alone (the sign test's interval) and supposes nothing of how they are spread.

use crate::{
    answer::{Answer, LearnRow, Learned, Material, Refusal, Taught},
    app::App,
    book,
    change::nothing_made,
    now::{self, Now},
    people::office_only,
    roof,
    view::yard,
    words,
};
use bowseam_figures::{
    measure::{Length, Unit},
    shop::Book,
};
use bowseam_jobs::people::Person;
use chrono::Utc;
use rust_decimal::{Decimal, prelude::FromPrimitive};
use serde::{Deserialize, Serialize};
use std::{collections::BTreeMap, str::FromStr};

/// Setting of the store: what was taken and left.
const TAUGHT: &str = "taught";
/// The range holds the true middle in this share of cases at least.
const SURE: f64 = 0.95;
/// Less than this off is not worth a change.
const WORTH: f64 = 0.10;
/// A proposal that was left comes again with so many more jobs.
const MORE_JOBS: u32 = 3;
/// Groups of the shop book that hold hours by task.
const HOURS: [&str; 2] = ["hours", "part_hours"];

/// What one job used of one thing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Used {
    /// The task, or the item.
    pub what: String,
    /// Material, not hours.
    pub material: bool,
    /// The unit's number, to be told.
    pub unit: String,
    /// Hours, or square feet or feet.
    pub used: f64,
    /// The same as figured.
    pub figured: f64,
}

/// What a job whose unit left used, and the tasks that say nothing: they were done, and of a step of theirs nobody kept
/// the time.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct OfJob {
    /// Hours of tasks whose time was kept at all their steps, and material.
    pub used: Vec<Used>,
    /// Tasks without their time.
    pub untimed: Vec<String>,
}

/// What a job used; nothing before its unit left.
pub fn used(now: &Now) -> OfJob {
    if !now.job.handed_over.as_ref().is_some_and(|kept| kept.value) {
        return OfJob::default();
    }
    let mut of_job = hours(now);
    of_job.used.extend(material(now));
    of_job
}

/// Time on the steps of a task.
#[derive(Default)]
struct Took {
    hours: f64,
    /// A step of it is not done.
    open: bool,
    /// A step of it was done without anybody's time on it.
    untimed: bool,
}

fn hours(now: &Now) -> OfJob {
    // What today's book says is held against what was used, so that a proposal that was taken is not made again.
    let (Ok(main), Ok(estimate)) = (now.main(), now.by_todays_book()) else {
        return OfJob::default();
    };
    let part = &main.go_ahead.groups;
    // Hours of a *found more* are in no one task's figures: such a job's times would be held against too little.
    if !now.job.found.is_empty() {
        return OfJob::default();
    }
    let mut figured: BTreeMap<&str, f64> = BTreeMap::new();
    let groups = estimate
        .groups
        .iter()
        .filter(|group| part.is_empty() || part.contains(&group.group));
    for line in groups
        .flat_map(|group| &group.hours)
        .chain(&estimate.once)
        .filter(|line| !line.by_hand)
    {
        *figured.entry(&line.task).or_default() += line.hours.parse::<f64>().unwrap_or_default();
    }
    let mut took: BTreeMap<&str, Took> = BTreeMap::new();
    for step in now.steps() {
        let Some(task) = step.task.as_deref() else {
            continue;
        };
        let state = now.job.steps.get(&step.key);
        let done = state.is_some_and(|state| state.done.as_ref().is_some_and(|kept| kept.value));
        let seconds = u32::try_from(state.map_or(0, |state| state.seconds)).unwrap_or(u32::MAX);
        let entry = took.entry(task).or_default();
        entry.hours += f64::from(seconds) / 3600.0;
        entry.open |= !done;
        entry.untimed |= done && seconds == 0;
    }
    let mut of_job = OfJob::default();
    for (task, took) in took.into_iter().filter(|(_, took)| !took.open) {
        let Some(figured) = figured.get(task).filter(|hours| **hours > 0.0) else {
            continue;
        };
        // A part of a task's time held against all of its figured hours would teach the shop to figure too little.
        if took.untimed {
            of_job.untimed.push(task.to_owned());
            continue;
        }
        of_job.used.push(Used {
            what: task.to_owned(),
            material: false,
            unit: now.job.unit.clone(),
            used: took.hours,
            figured: *figured,
        });
    }
    of_job
}

/// What was cut against what was to be cut; cut again is more.
fn material(now: &Now) -> Vec<Used> {
    let feet = |length: Length| length.nm() as f64 / 304_800_000.0;
    let size = |length: Length, width: Option<Length>, count: u32| {
        feet(length) * width.map_or(1.0, feet) * f64::from(count)
    };
    let mut figured: BTreeMap<String, f64> = BTreeMap::new();
    for need in roof::needs(now) {
        *figured.entry(need.item).or_default() += size(need.length, need.width, need.count);
    }
    let mut cut: BTreeMap<&str, f64> = BTreeMap::new();
    for done in now.job.cuts.iter().map(|cut| &cut.done) {
        let pieces = done
            .pieces
            .iter()
            .map(|piece| size(piece.length, piece.width, piece.count));
        *cut.entry(&done.item).or_default() += pieces.sum::<f64>();
    }
    cut.into_iter()
        .filter_map(|(item, used)| {
            Some(Used {
                what: item.to_owned(),
                material: true,
                unit: now.job.unit.clone(),
                used,
                figured: *figured.get(item).filter(|figured| **figured > 0.0)?,
            })
        })
        .collect()
}

/// The page.
///
/// # Errors
/// Only at the office, only for supervisors; or the store cannot be read.
pub fn view(app: &App, me: &Person) -> Result<Answer, Refusal> {
    office_only(app, me, "looks at what the shop learns")?;
    Ok(Answer::Learned(learned(app)?))
}

fn learned(app: &App) -> Result<Learned, Refusal> {
    let kept = yard::figure(app, &[], Some(false))?;
    let not_figured = kept.not_figured(app, false)?;
    let jobs: Vec<yard::Figured> = app.store().rows_of_left(kept.made_with())?;
    drop(kept);
    let before = taught(app)?;
    let book = now::book(app)?;
    let mut by_thing: BTreeMap<(bool, String), Vec<Used>> = BTreeMap::new();
    for used in jobs.iter().flat_map(|job| &job.learned.used) {
        by_thing
            .entry((used.material, used.what.clone()))
            .or_default()
            .push(used.clone());
    }
    let (mut rows, mut material) = (Vec::new(), Vec::new());
    for ((is_material, what), used) in by_thing {
        let stats = Stats::of(&used);
        if is_material {
            material.push(material_row(what, &stats, &used));
        } else {
            rows.extend(hours_row(&book, &before, what, &stats, &used));
        }
    }
    rows.sort_by_key(|row| (row.proposed.is_none() || row.left, std::cmp::Reverse(row.n)));
    Ok(Learned {
        rows,
        material,
        before: before.into_iter().rev().collect(),
        jobs: yard::small(jobs.len()),
        not_figured,
        how: untimed(&jobs)
            + &format!(
                "Used over figured, job by job, for units that left with nothing found more: the middle one, how far half of the jobs are from it at most, and from 6 jobs on the range in which the true middle lies in {:.0} of 100 cases at least. A change is proposed where that range leaves 1 out and the middle is {:.0} % off or more.",
                SURE * 100.0,
                WORTH * 100.0
            ),
    })
}

/// How much is left out because nobody kept the time, in a sentence; nothing where that is never so.
fn untimed(jobs: &[yard::Figured]) -> String {
    let mut tasks: BTreeMap<&str, usize> = BTreeMap::new();
    for task in jobs.iter().flat_map(|job| &job.learned.untimed) {
        let many = tasks.entry(task).or_default();
        *many = many.saturating_add(1);
    }
    if tasks.is_empty() {
        return String::new();
    }
    let said = tasks
        .iter()
        .map(|(task, many)| format!("{} ({many})", task.replace('_', " ")));
    format!(
        "Left out, since a step was done without its time: {}. Start the time on a step, and its task counts. ",
        words::list(&said.collect::<Vec<_>>())
    )
}

/// Robust statistics of the ratios of used to figured.
struct Stats {
    n: usize,
    median: f64,
    /// Median of the distances from the median.
    mad: f64,
    /// Lower and upper end for the true median, and the share of cases in which it lies between.
    range: Option<(f64, f64, f64)>,
}

fn middle(sorted: &[f64]) -> f64 {
    let half = sorted.len() / 2;
    let at = |at: usize| sorted.get(at).copied().unwrap_or_default();
    if sorted.len().is_multiple_of(2) {
        (at(half.saturating_sub(1)) + at(half)) / 2.0
    } else {
        at(half)
    }
}

impl Stats {
    fn of(used: &[Used]) -> Self {
        let mut ratios: Vec<f64> = used.iter().map(|used| used.used / used.figured).collect();
        ratios.sort_by(f64::total_cmp);
        let median = middle(&ratios);
        let mut far: Vec<f64> = ratios.iter().map(|ratio| (ratio - median).abs()).collect();
        far.sort_by(f64::total_cmp);
        Self {
            n: ratios.len(),
            median,
            mad: middle(&far),
            range: range(&ratios),
        }
    }

    fn proposes(&self) -> bool {
        let outside = self.range.is_some_and(|(low, high, _)| low > 1.0 || high < 1.0);
        outside && (self.median - 1.0).abs() >= WORTH
    }
}

/// The narrowest range between two of the sorted values, as far from either end, that holds the true median in
/// [`SURE`] of cases: each value lies below it with chance one half, so how many do is binomial. None with too few.
fn range(sorted: &[f64]) -> Option<(f64, f64, f64)> {
    let n = i32::try_from(sorted.len()).ok()?;
    let mut chance = 0.5_f64.powi(n);
    let mut below = chance;
    let mut best = None;
    let mut k = 0_usize;
    while 1.0 - 2.0 * below >= SURE {
        let (low, high) = (
            sorted.get(k)?,
            sorted.get(sorted.len().checked_sub(k.checked_add(1)?)?)?,
        );
        best = Some((*low, *high, 1.0 - 2.0 * below));
        // Chance of exactly one more below.
        let next = f64::from(i32::try_from(k).ok()?) + 1.0;
        chance *= (f64::from(n) - next + 1.0) / next;
        below += chance;
        k = k.checked_add(1)?;
    }
    best
}

fn ratio(value: f64) -> String {
    format!("{value:.2}")
}

fn evidence(used: &[Used], unit: &str) -> Vec<String> {
    let line = |used: &Used| {
        format!(
            "unit {}: {:.2} {unit} used, {:.2} figured: {}",
            used.unit,
            used.used,
            used.figured,
            ratio(used.used / used.figured)
        )
    };
    used.iter().map(line).collect()
}

fn material_row(item: String, stats: &Stats, used: &[Used]) -> Material {
    let words = match stats.median {
        m if m > 1.0 + WORTH => {
            "More is cut than is figured: pieces were cut again, or cut for more than one place."
        }
        m if m < 1.0 - WORTH => "Less is cut here than is figured: some of it is not cut by the cut list.",
        _ => "As figured.",
    };
    Material {
        item,
        n: yard::small(stats.n),
        median: ratio(stats.median),
        mad: ratio(stats.mad),
        words: words.to_owned(),
        evidence: evidence(used, "ft or sq ft"),
    }
}

/// The row of a task that the shop book has hours for.
fn hours_row(book: &Book, before: &[Taught], task: String, stats: &Stats, used: &[Used]) -> Option<LearnRow> {
    let rows = book.rows(bowseam_figures::measure::Unit::default());
    let row = rows
        .into_iter()
        .find(|row| HOURS.contains(&row.group.as_str()) && row.key == task)?;
    let was = Decimal::from_str(&row.value).ok()?;
    let proposed = stats.proposes().then(|| propose(was, stats.median)).flatten();
    let n = yard::small(stats.n);
    let left = before
        .iter()
        .any(|old| !old.taken && old.task == task && n < old.n.saturating_add(MORE_JOBS));
    let words = match (&stats.range, &proposed) {
        (None, _) => format!(
            "Too few yet: {}; 6 are needed.",
            words::count(stats.n, "job", "jobs")
        ),
        (Some(_), Some(_)) => format!("It takes {} times the figured hours.", ratio(stats.median)),
        (Some(_), None) => "The figured hours stand: the jobs say nothing else surely enough.".to_owned(),
    };
    Some(LearnRow {
        task,
        name: row.name,
        n,
        median: ratio(stats.median),
        mad: ratio(stats.mad),
        low: stats.range.map(|(low, ..)| ratio(low)),
        high: stats.range.map(|(_, high, _)| ratio(high)),
        surely: stats.range.map(|(.., sure)| format!("{:.1} %", sure * 100.0)),
        was: was.normalize().to_string(),
        proposed: proposed.map(|value| value.normalize().to_string()),
        words,
        evidence: evidence(used, "h"),
        left,
    })
}

/// The book's value by the middle ratio, to as many places as tell it apart.
fn propose(was: Decimal, median: f64) -> Option<Decimal> {
    let exact = was.checked_mul(Decimal::from_f64(median)?)?;
    let places = if exact < Decimal::ONE { 3 } else { 2 };
    Some(exact.round_dp(places)).filter(|value| *value != was)
}

fn taught(app: &App) -> Result<Vec<Taught>, Refusal> {
    Ok(app.store().setting(TAUGHT)?.unwrap_or_default())
}

/// Takes a proposal into the shop book as it was shown, or leaves it.
///
/// # Errors
/// As [`view`]; there is no such proposal any more.
pub fn decide(app: &App, me: &Person, task: &str, now: &str, take: bool) -> Result<Answer, Refusal> {
    office_only(app, me, "changes the shop book")?;
    let rows = learned(app)?.rows;
    let row = rows
        .into_iter()
        .find(|row| row.task == task && row.proposed.as_deref() == Some(now));
    let row = row.ok_or_else(|| {
        let sentence = "This is not proposed any more: the jobs say something else by now. Look at it again.";
        Refusal::at("not_proposed", "now", sentence)
    })?;
    if take {
        book::change(app, |book| put_hours(book, task, now))?;
    }
    app.store().change_setting(TAUGHT, |before: &mut Vec<Taught>| {
        before.push(Taught {
            task: row.task,
            name: row.name,
            was: row.was,
            now: now.to_owned(),
            n: row.n,
            taken: take,
            by: me.name.clone(),
            at: Utc::now(),
        });
    })?;
    Ok(nothing_made(None))
}

/// Puts other hours for a task into the book; the value is the shop's own from then on.
fn put_hours(book: &mut Book, task: &str, hours: &str) -> Result<(), Refusal> {
    for group in HOURS {
        match book.set(group, task, hours, Unit::In) {
            // A task stands in one of the groups.
            Err(e) if e.code != "no_value" => return Err(e.into()),
            _ => {}
        }
    }
    Ok(())
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::float_cmp)]
mod tests {
    use super::*;

    fn used(ratios: &[f64]) -> Vec<Used> {
        let one = |ratio: &f64| Used {
            what: "seam".into(),
            material: false,
            unit: "1".into(),
            used: *ratio,
            figured: 1.0,
        };
        ratios.iter().map(one).collect()
    }

    #[test]
    fn middle_and_its_distance_do_not_mind_one_forgotten_clock() {
        let stats = Stats::of(&used(&[1.2, 1.0, 1.1, 1.3, 14.0]));
        assert_eq!(stats.median, 1.2);
        assert!((stats.mad - 0.1).abs() < 1e-9, "{}", stats.mad);
    }

    /// Conover, *Practical Nonparametric Statistics*, sign test: order statistics 1 and 6 of 6 hold the median in 96.9 %,
    /// 2 and 9 of 10 wait for 97.9 %, 6 and 15 of 20 for 95.9 %; worked out again from the binomial. From memory.
    #[test]
    fn the_range_is_that_of_the_sign_test() {
        let of = |n: u32| range(&(1..=n).map(f64::from).collect::<Vec<_>>());
        assert_eq!(of(5), None);
        for (n, low, high, sure) in [
            (6, 1.0, 6.0, 0.969),
            (10, 2.0, 9.0, 0.979),
            (20, 6.0, 15.0, 0.959),
        ] {
            let (l, h, s) = of(n).unwrap();
            assert_eq!((l, h), (low, high), "{n}");
            assert!((s - sure).abs() < 0.0005, "{n}: {s}");
        }
    }

    #[test]
    fn nothing_is_proposed_while_the_range_holds_one_or_the_middle_is_near_it() {
        assert!(!Stats::of(&used(&[1.5; 5])).proposes(), "too few");
        assert!(Stats::of(&used(&[1.5; 6])).proposes());
        assert!(Stats::of(&used(&[0.7; 6])).proposes());
        assert!(!Stats::of(&used(&[1.05; 20])).proposes(), "not worth it");
        assert!(
            !Stats::of(&used(&[0.9, 1.5, 1.5, 1.5, 1.5, 1.5])).proposes(),
            "may be one"
        );
    }

    #[test]
    fn taken_hours_are_the_shops_own() {
        let mut book = Book::default();
        let before = book.hours.seam.value;
        put_hours(&mut book, "seam", "1.85").unwrap();
        assert_ne!(book.hours.seam.value, before);
        assert_eq!(book.hours.seam.value.0.to_string(), "1.85");
        assert_eq!(book.hours.seam.standing, bowseam_figures::basis::Standing::Shop);
        assert_eq!(
            propose(Decimal::from_str("0.12").unwrap(), 1.255)
                .unwrap()
                .to_string(),
            "0.151"
        );
    }
}
