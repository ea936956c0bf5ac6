//! Yard: the jobs on this phone, newest first, with what each waits for. What a row says is figured once and
//! kept until the job or the shop's values change, also over a restart, so that looking something up in a long
//! yard is fast.

use crate::{
    answer::{Refusal, Wait, WaitFor, Yard, YardRow},
    app::App,
    bays::{Need, Stays},
    learn::{self, OfJob},
    now::{Now, Shop, roll_doubt},
    view::{head, photos, promise, roof_off, waits},
};
use bowseam_figures::{
    canonical,
    estimate::{Estimate, RULES_VERSION},
};
use bowseam_jobs::{
    KeptRow, Store, Summary,
    entry::{ArrivalField, PhotoOf, PhotoWhen},
};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::{
    collections::HashMap,
    sync::{Arc, MutexGuard},
    time::{Duration, Instant},
};
use uuid::Uuid;

/// Most rows in one answer; the others are found by typing.
pub const MOST_ROWS: usize = 60;

/// A list comes at once: after this time the rows that are not figured yet are told by what the store knows of
/// them, and the screen asks again.
const AT_ONCE: Duration = Duration::from_millis(12);
/// The same for rows that only the queue for the bays wants, beside an answer of its own.
const BESIDE: Duration = Duration::from_millis(3);

/// So many rows of the queue's are kept in the store at a time.
const SAVED_AT_A_TIME: usize = 24;
/// So many jobs beyond those of the list are looked at to be figured at a time.
const AT_A_TIME: usize = 32;
/// So many jobs that are not figured are counted.
const COUNTED: usize = 1000;

/// Raised when what a row says changes, so that rows kept by an older program are figured again.
const ROWS_VERSION: u32 = 6;

/// Rows as they were figured.
#[derive(Debug, Default)]
pub struct KeptRows {
    /// The shop's values that they were figured with.
    shop: Option<Shop>,
    /// The same in short, for the store.
    made_with: String,
    /// Entries are never changed, so while none came to a job after `seen` its row stays.
    rows: HashMap<Uuid, YardRow>,
    /// The entry that was the newest of the store when rows were last looked at.
    seen: i64,
    /// Rows that only the queue for the bays wanted: kept in the store some at a time, since each writing waits for the
    /// disk and an ask does not.
    unsaved: Vec<KeptRow<Figured>>,
    /// Who has the bays when, for the days that rows promise.
    stays: Arc<Stays>,
}

/// A row as the store keeps it, with what the shop can learn of a job whose unit left.
#[derive(Debug, Serialize, Deserialize)]
pub struct Figured {
    row: YardRow,
    /// What the shop can learn of it.
    pub learned: OfJob,
    /// What it needs of a bay, if it takes part in the queue.
    #[serde(default)]
    bay: Option<Need>,
}

/// The jobs whose unit, VIN, plate, slot, order, payer or seal hold the words; all for no words.
///
/// # Errors
/// The store cannot be read.
pub fn yard(app: &App, find: &str) -> Result<Yard, Refusal> {
    let store = app.store();
    let (found, more) = if find.trim().is_empty() {
        let (page, after) = store.jobs(MOST_ROWS, None)?;
        (page, after.is_some())
    } else {
        let found = store.find(find)?;
        let more = found.len() > MOST_ROWS;
        (found.into_iter().take(MOST_ROWS).collect(), more)
    };
    let rows = rows(app, &found)?;
    Ok(Yard { rows, more })
}

/// The rows of these jobs.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn rows(app: &App, jobs: &[Summary]) -> Result<Vec<YardRow>, Refusal> {
    let ids: Vec<Uuid> = jobs.iter().map(|summary| summary.id).collect();
    let kept = figure(app, &ids, None)?;
    Ok(jobs.iter().map(|summary| kept.row(summary)).collect())
}

/// Figures the rows of these jobs that are not figured as they stand, as many as come at once; with `beyond`, in what
/// is left of that time some others too: of open jobs, or of those whose unit left.
///
/// # Errors
/// The store cannot be read.
pub fn figure<'a>(
    app: &'a App,
    jobs: &[Uuid],
    beyond: Option<bool>,
) -> Result<MutexGuard<'a, KeptRows>, Refusal> {
    let shop = Shop::of(app)?;
    let mut kept = app.kept_rows();
    kept.of_shop(&shop)?;
    let store = app.store();
    app.bays().read(&store)?;
    kept.save(app)?;
    let mut others = match beyond {
        Some(open) => store.not_figured(&kept.made_with, open, AT_A_TIME)?,
        None => Vec::new(),
    };
    others.retain(|id| !jobs.contains(id));
    let all: Vec<Uuid> = jobs.iter().copied().chain(others).collect();
    kept.figure(app, &shop, &all, AT_ONCE)?;
    kept.save(app)?;
    kept.stays = app.bays().stays(shop.book());
    Ok(kept)
}

/// Figures a few of the other open jobs that are not figured as they stand, for the queue that this one waits in, none
/// while somebody else does so; answers how many more it met.
///
/// # Errors
/// As [`figure`].
pub fn figure_others(now: &Now) -> Result<usize, Refusal> {
    let Some(mut kept) = now.app.kept_rows_if_free() else {
        return Ok(0);
    };
    let shop = now.shop();
    kept.of_shop(&shop)?;
    // Those that are not saved yet still count as not figured in the store.
    let most = AT_A_TIME.saturating_add(kept.unsaved.len());
    let mut others = now.app.store().not_figured(&kept.made_with, true, most)?;
    others.retain(|id| *id != now.job.id);
    let left = kept.figure(now.app, &shop, &others, BESIDE)?;
    if kept.unsaved.len() >= SAVED_AT_A_TIME {
        kept.save(now.app)?;
    }
    Ok(left)
}

impl KeptRows {
    /// Rows that were figured with other values of the shop are none any more.
    fn of_shop(&mut self, shop: &Shop) -> Result<(), Refusal> {
        if self.shop.as_ref() != Some(shop) {
            self.rows.clear();
            self.unsaved.clear();
            let version = (ROWS_VERSION, RULES_VERSION, env!("CARGO_PKG_VERSION"));
            self.made_with = canonical::sha256(&(version, shop))?;
            self.shop = Some(shop.clone());
        }
        Ok(())
    }

    /// Figures those of the jobs that are not figured as they stand, until the time is over; tells the bays of each.
    /// Answers how many are left.
    fn figure(&mut self, app: &App, shop: &Shop, jobs: &[Uuid], time: Duration) -> Result<usize, Refusal> {
        let (begun, store) = (Instant::now(), app.store());
        self.let_go_of_old(&store)?;
        let wanted: Vec<Uuid> = jobs
            .iter()
            .copied()
            .filter(|id| !self.rows.contains_key(id))
            .collect();
        let mut known: HashMap<Uuid, Figured> =
            store.kept_rows(&wanted, &self.made_with)?.into_iter().collect();
        let mut left = 0_usize;
        for id in wanted {
            let (row, need) = match known.remove(&id) {
                Some(kept) => (kept.row, kept.bay),
                None if begun.elapsed() > time => {
                    left = left.saturating_add(1);
                    continue;
                }
                None => {
                    let newest = store.newest(id)?;
                    let now = Now::in_shop(app, None, id, shop.clone())?;
                    let (made, due) = made(&now)?;
                    let (row, need) = (made.row.clone(), made.bay.clone());
                    self.unsaved.extend(newest.map(|n| KeptRow {
                        job: id,
                        n,
                        due,
                        row: made,
                    }));
                    (row, need)
                }
            };
            app.bays().put(id, need);
            self.rows.insert(id, row);
        }
        Ok(left)
    }

    /// Rows of jobs that something came to since are none any more.
    fn let_go_of_old(&mut self, store: &Store) -> Result<(), Refusal> {
        let newest = store.newest_of_all()?;
        if newest != self.seen && !self.rows.is_empty() {
            for job in store.jobs_after(self.seen)? {
                self.rows.remove(&job);
            }
        }
        self.seen = newest;
        Ok(())
    }

    /// Keeps the rows that were figured in the store.
    fn save(&mut self, app: &App) -> Result<(), Refusal> {
        app.store().keep_rows(&self.unsaved, &self.made_with)?;
        self.unsaved.clear();
        Ok(())
    }

    /// Which values and rules rows are figured with now, in short.
    pub fn made_with(&self) -> &str {
        &self.made_with
    }

    /// How many open jobs, or jobs whose unit left, are not figured as they stand.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn not_figured(&self, app: &App, open: bool) -> Result<u32, Refusal> {
        Ok(small(
            app.store().not_figured(&self.made_with, open, COUNTED)?.len(),
        ))
    }

    /// The row of a job: as figured, or what the store knows of it.
    pub fn row(&self, summary: &Summary) -> YardRow {
        let waiting = u32::try_from(summary.unsent).unwrap_or(u32::MAX);
        match self.rows.get(&summary.id) {
            Some(row) => self.in_queue(YardRow {
                waiting,
                asked_since: summary.asked_since,
                roof_open: summary.roof_open,
                ..row.clone()
            }),
            None => YardRow {
                job: summary.id,
                unit: summary.unit.clone(),
                stage: summary.stage,
                waits_for: String::new(),
                marks: small(summary.marks),
                photos: small(summary.photos),
                roll: None,
                slot: Some(summary.slot.clone()).filter(|slot| !slot.is_empty()),
                last: summary.last,
                total: None,
                unpriced: 0,
                promise: None,
                photo: None,
                waiting,
                waits: Vec::new(),
                on_it: Vec::new(),
                asks: summary.unanswered > 0,
                asks_found: summary.unanswered_found > 0,
                asked_since: summary.asked_since,
                roof_open: summary.roof_open,
                opens_roof: false,
                later: true,
            },
        }
    }
}

impl KeptRows {
    /// A row with its day behind the jobs that have the bays first, and that it waits for one.
    fn in_queue(&self, mut row: YardRow) -> YardRow {
        let Some(placed) = self.stays.get(&row.job).filter(|_| row.promise.is_some()) else {
            return row;
        };
        row.promise = placed.map(|stay| stay.day.to_string());
        if placed.is_none_or(|stay| stay.waits) {
            row.waits.push(Wait {
                what: WaitFor::Bay,
                words: "behind jobs that have it, or its people, first".to_owned(),
                day: placed.map(|stay| stay.first),
            });
        }
        row
    }
}

/// A row with what is kept beside it, and the day it is ordered by.
fn made(now: &Now) -> Result<(Figured, Option<NaiveDate>), Refusal> {
    let own = promise::alone(now)?;
    let due = own.day(now);
    let made = Figured {
        row: row(now, due)?,
        learned: learn::used(now),
        bay: own.queued(now).cloned(),
    };
    Ok((made, due))
}

/// The row of one job; its day is that of the job alone, whoever is in the bays.
fn row(now: &Now, day: Option<NaiveDate>) -> Result<YardRow, Refusal> {
    let main = now.main()?;
    let asks_found = now
        .supplements()?
        .iter()
        .any(|figured| figured.go_ahead.state == "asked");
    Ok(YardRow {
        job: now.job.id,
        unit: now.job.unit.clone(),
        stage: now.job.stage,
        waits_for: head::waits_for(now)?,
        marks: small(now.job.marks.len()),
        photos: small(now.job.photos.len()),
        roll: now
            .job
            .roll
            .as_ref()
            .filter(|_| roll_doubt(&now.job).is_none())
            .map(|kept| kept.value.clone()),
        slot: now.arrival(ArrivalField::Slot).map(str::to_owned),
        last: now.job.last,
        total: now
            .agreed_total()?
            .or_else(|| main.estimate.as_ref().map(|estimate| estimate.total.clone())),
        unpriced: small(main.estimate.as_ref().map_or(0, Estimate::unpriced)),
        promise: day.map(|day| day.to_string()),
        photo: known_by(now),
        waiting: 0,
        waits: waits::waits(now)?,
        on_it: waits::on_it(now)
            .into_iter()
            .map(|person| now.name(person))
            .collect(),
        asks: asks_found || main.go_ahead.state == "asked",
        asks_found,
        // What the store knows by itself is put in with each answer.
        asked_since: None,
        roof_open: false,
        opens_roof: roof_off::is_needed(now),
        later: false,
    })
}

/// The photo to know the unit by: of the unit before the work, else any of it, else the first.
fn known_by(now: &Now) -> Option<String> {
    let unit = |photo: &&bowseam_jobs::job::JobPhoto| photo.of == PhotoOf::Unit;
    let all = &now.job.photos;
    let before = all
        .iter()
        .filter(unit)
        .find(|photo| photo.when == PhotoWhen::Before);
    let shown = before.or_else(|| all.iter().find(unit)).or_else(|| all.first())?;
    (!photos::cannot_show(now.app, shown)).then(|| shown.sha256.clone())
}

/// A count for the wire.
pub fn small(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
