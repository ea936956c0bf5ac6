//! Yard: the jobs on this phone, newest first, with what each waits for. What a row says is figured once and
//! kept until the job or the shop's values change, also over a restart, so that looking something up in a long
//! yard is fast.

use crate::{
    answer::{Refusal, Yard, YardRow},
    app::App,
    learn::{self, Used},
    now::{Now, Shop},
    view::{head, photos, promise, waits},
};
use bowseam_figures::{canonical, estimate::RULES_VERSION};
use bowseam_jobs::{
    KeptRow, Summary,
    entry::{ArrivalField, PhotoOf, PhotoWhen},
};
use serde::{Deserialize, Serialize};
use std::{
    collections::HashMap,
    sync::MutexGuard,
    time::{Duration, Instant},
};
use uuid::Uuid;

/// Most rows in one answer; the others are found by typing.
pub const MOST_ROWS: usize = 60;

/// A list comes at once: after this time the rows that are not figured yet are told by what the store knows of
/// them, and the screen asks again.
const AT_ONCE: Duration = Duration::from_millis(12);

/// So many jobs beyond those of the list are looked at to be figured at a time.
const AT_A_TIME: usize = 32;
/// So many jobs that are not figured are counted.
const COUNTED: usize = 1000;

/// Raised when what a row says changes, so that rows kept by an older program are figured again.
const ROWS_VERSION: u32 = 3;

/// Rows as they were figured.
#[derive(Debug, Default)]
pub struct KeptRows {
    /// The shop's values that they were figured with.
    shop: Option<Shop>,
    /// The same in short, for the store.
    made_with: String,
    /// Each with the number of the entry that was the job's newest in this store: entries are never changed,
    /// so while there is no newer one the row stays.
    rows: HashMap<Uuid, (Option<i64>, YardRow)>,
}

/// A row as the store keeps it, with what the shop can learn of a job whose unit left.
#[derive(Debug, Serialize, Deserialize)]
pub struct Figured {
    row: YardRow,
    /// Hours and material, used and figured.
    pub used: Vec<Used>,
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
    let begun = Instant::now();
    let shop = Shop::of(app)?;
    let mut kept = app.kept_rows();
    kept.of_shop(&shop)?;
    let store = app.store();
    let mut others = match beyond {
        Some(open) => store.not_figured(&kept.made_with, open, AT_A_TIME)?,
        None => Vec::new(),
    };
    others.retain(|id| !jobs.contains(id));
    let mut wanted = Vec::new();
    for id in jobs.iter().chain(&others) {
        let newest = store.newest(*id)?;
        if kept.rows.get(id).is_none_or(|(of, _)| *of != newest) {
            wanted.push((*id, newest));
        }
    }
    let ids: Vec<Uuid> = wanted.iter().map(|(id, _)| *id).collect();
    let known: HashMap<Uuid, Figured> = store.kept_rows(&ids, &kept.made_with)?.into_iter().collect();
    let mut figured = Vec::new();
    for (id, newest) in wanted {
        let row = match known.get(&id) {
            Some(figured) => figured.row.clone(),
            None if begun.elapsed() > AT_ONCE => {
                kept.rows.remove(&id);
                continue;
            }
            None => {
                let now = Now::in_shop(app, None, id, shop.clone())?;
                let (row, used) = (of(&now, 0)?, learn::used(&now));
                figured.extend(newest.map(|n| KeptRow {
                    job: id,
                    n,
                    due: row.promise.as_ref().and_then(|day| day.parse().ok()),
                    row: Figured {
                        row: row.clone(),
                        used,
                    },
                }));
                row
            }
        };
        kept.rows.insert(id, (newest, row));
    }
    store.keep_rows(&figured, &kept.made_with)?;
    Ok(kept)
}

impl KeptRows {
    /// Rows that were figured with other values of the shop are none any more.
    fn of_shop(&mut self, shop: &Shop) -> Result<(), Refusal> {
        if self.shop.as_ref() != Some(shop) {
            self.rows.clear();
            let version = (ROWS_VERSION, RULES_VERSION, env!("CARGO_PKG_VERSION"));
            self.made_with = canonical::sha256(&(version, shop))?;
            self.shop = Some(shop.clone());
        }
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
            Some((_, row)) => YardRow {
                waiting,
                ..row.clone()
            },
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
                promise: None,
                photo: None,
                waiting,
                waits: Vec::new(),
                on_it: Vec::new(),
                asks: summary.unanswered > 0,
                asks_found: summary.unanswered_found > 0,
                later: true,
            },
        }
    }
}

/// The row of one job.
///
/// # Errors
/// The figures cannot be worked out.
pub fn of(now: &Now, waiting: u32) -> Result<YardRow, Refusal> {
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
        roll: now.job.roll.as_ref().map(|kept| kept.value.clone()),
        slot: now.arrival(ArrivalField::Slot).map(str::to_owned),
        last: now.job.last,
        total: now
            .agreed_total()?
            .or_else(|| main.estimate.as_ref().map(|estimate| estimate.total.clone())),
        promise: promise::promise(now)?.day,
        photo: known_by(now),
        waiting,
        waits: waits::waits(now)?,
        on_it: waits::on_it(now)
            .into_iter()
            .map(|person| now.name(person))
            .collect(),
        asks: asks_found || main.go_ahead.state == "asked",
        asks_found,
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
    (!photos::cannot_show(now.app, &shown.sha256)).then(|| shown.sha256.clone())
}

/// A count for the wire.
pub fn small(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
