//! Yard: the jobs on this phone, newest first, with what each waits for. What a row says is figured once and
//! kept until the job changes, so that a long yard opens as fast as a short one.

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
use chrono::{DateTime, Utc};

/// Most rows in one answer; the others are found by typing.
const MOST_ROWS: usize = 60;

/// A row with the change after which it was figured, and how many items of its job then waited.
#[derive(Debug, Clone)]
pub struct KeptRow {
    last: Option<DateTime<Utc>>,
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
    let kept = app
        .kept_rows()
        .get(&summary.id)
        .filter(|kept| kept.last == summary.last)
        .map(|kept| kept.row.clone());
    if let Some(row) = kept {
        return Ok(YardRow { waiting, ..row });
    }
    let row = of(&Now::of(app, asker, summary.id)?, waiting)?;
    app.kept_rows().insert(
        summary.id,
        KeptRow {
            last: summary.last,
            row: row.clone(),
        },
    );
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
