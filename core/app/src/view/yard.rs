//! Yard: the jobs on this phone, newest first, with what each waits for. What a row says is figured once and
//! kept for a while unless the job changes, so that looking something up in a long yard is fast.

use crate::{
    answer::{Refusal, Yard, YardRow},
    app::{App, Asker},
    now::Now,
    view::{head, photos},
};
use bowseam_jobs::{
    Summary,
    entry::{ArrivalField, PhotoOf, PhotoWhen},
};
use std::time::{Duration, Instant};

/// Most rows in one answer; the others are found by typing.
const MOST_ROWS: usize = 60;

/// How long a row is kept at most: shop book and people change beside the jobs, and an older entry of another
/// phone may arrive without changing what the store's own list shows.
const KEEP: Duration = Duration::from_secs(30);

/// A row as it was figured, with what the store's list then said of its job.
#[derive(Debug, Clone)]
pub struct KeptRow {
    said: Summary,
    at: Instant,
    row: YardRow,
}

/// The jobs whose unit, VIN, plate, slot, order, payer or seal hold the words; all for no words.
///
/// # Errors
/// The store cannot be read.
pub fn yard(app: &App, asker: &Asker, find: &str) -> Result<Yard, Refusal> {
    let store = app.store();
    let (found, more) = if find.trim().is_empty() {
        let (page, after) = store.jobs(MOST_ROWS, None)?;
        (page, after.is_some())
    } else {
        let found = store.find(find)?;
        let more = found.len() > MOST_ROWS;
        (found.into_iter().take(MOST_ROWS).collect(), more)
    };
    let rows = found
        .iter()
        .map(|summary| row(app, asker, summary))
        .collect::<Result<_, _>>()?;
    Ok(Yard { rows, more })
}

fn row(app: &App, asker: &Asker, summary: &Summary) -> Result<YardRow, Refusal> {
    let waiting = u32::try_from(summary.unsent).unwrap_or(u32::MAX);
    let said = Summary {
        unsent: 0,
        stuck: 0,
        ..summary.clone()
    };
    let kept = app
        .kept_rows()
        .get(&summary.id)
        .filter(|kept| kept.said == said && kept.at.elapsed() < KEEP)
        .map(|kept| kept.row.clone());
    if let Some(row) = kept {
        return Ok(YardRow { waiting, ..row });
    }
    let row = of(&Now::of(app, asker, summary.id)?, waiting)?;
    let kept = KeptRow {
        said,
        at: Instant::now(),
        row: row.clone(),
    };
    app.kept_rows().insert(summary.id, kept);
    Ok(row)
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
        photo: known_by(now),
        waiting,
        asks: asks_found || main.go_ahead.state == "asked",
        asks_found,
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
    (!photos::photo(now, shown).cannot_show).then(|| shown.sha256.clone())
}

/// A count for the wire.
pub fn small(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
