//! Yard: the jobs on this phone, newest first, with what each waits for. What a row says is figured once and
//! kept until the job or the shop's values change, so that looking something up in a long yard is fast.

use crate::{
    answer::{Refusal, Yard, YardRow},
    app::App,
    now::{Now, Shop},
    view::{head, photos},
};
use bowseam_jobs::{
    Summary,
    entry::{ArrivalField, PhotoOf, PhotoWhen},
};
use std::collections::HashMap;
use uuid::Uuid;

/// Most rows in one answer; the others are found by typing.
const MOST_ROWS: usize = 60;

/// Rows as they were figured.
#[derive(Debug, Default)]
pub struct KeptRows {
    /// The shop's values that they were figured with.
    shop: Option<Shop>,
    /// Each with the number of the entry that was the job's newest in this store: entries are never changed,
    /// so while there is no newer one the row stays.
    rows: HashMap<Uuid, (Option<i64>, YardRow)>,
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
    let shop = Shop::of(app)?;
    let mut kept = app.kept_rows();
    if kept.shop.as_ref() != Some(&shop) {
        kept.rows.clear();
        kept.shop = Some(shop.clone());
    }
    jobs.iter()
        .map(|summary| row(app, &shop, &mut kept, summary))
        .collect()
}

fn row(app: &App, shop: &Shop, kept: &mut KeptRows, summary: &Summary) -> Result<YardRow, Refusal> {
    let waiting = u32::try_from(summary.unsent).unwrap_or(u32::MAX);
    let newest = app.store().newest(summary.id)?;
    if let Some((_, row)) = kept.rows.get(&summary.id).filter(|(of, _)| *of == newest) {
        return Ok(YardRow {
            waiting,
            ..row.clone()
        });
    }
    let row = of(&Now::in_shop(app, None, summary.id, shop.clone())?, waiting)?;
    kept.rows.insert(summary.id, (newest, row.clone()));
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
    (!photos::cannot_show(now.app, &shown.sha256)).then(|| shown.sha256.clone())
}

/// A count for the wire.
pub fn small(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
