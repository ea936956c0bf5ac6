//! Found more: hidden damage while the unit is open. What it adds to the agreed figures is asked about by
//! itself, so that the rest of the work need not wait.

use crate::{
    answer::{FoundMore, FoundRow, Refusal},
    now::Now,
    view::{figures::money, fold_out, head, photos, yard::small},
};
use bowseam_figures::{body::fold_out as unfold, estimate::Estimate};
use bowseam_jobs::job::{JobFound, JobMark};
use uuid::Uuid;

/// All of a job, as rows.
///
/// # Errors
/// The figures cannot be worked out.
pub fn rows(now: &Now) -> Result<Vec<FoundRow>, Refusal> {
    now.job.found.iter().map(|found| row(now, found)).collect()
}

/// One as a row.
///
/// # Errors
/// The figures cannot be worked out.
pub fn row(now: &Now, found: &JobFound) -> Result<FoundRow, Refusal> {
    let figured = now.supplement(found.id)?;
    let agreed = now
        .agreed_total()?
        .filter(|_| figured.go_ahead.state != "go_ahead");
    let sum = |(agreed, added): (String, &Estimate)| money(&agreed).saturating_add(money(&added.total));
    let with_it = agreed.zip(figured.estimate.as_ref()).map(sum);
    Ok(FoundRow {
        id: found.id,
        line: found.line.clone(),
        step: found.step.clone(),
        marks: small(marks(now, found.id).count()),
        photos: small(photos::count_found(now, found.id)),
        by: now.name(found.by),
        at: found.at,
        added: figured.estimate.as_ref().map(|estimate| estimate.total.clone()),
        with_it: with_it.map(|sum| format!("{sum:.2}")),
        asked_hash: now
            .newest_asked(Some(found.id))
            .map(|kept| kept.value.hash.clone()),
        go_ahead: figured.go_ahead.clone(),
    })
}

fn marks<'n>(now: &'n Now, found: Uuid) -> impl Iterator<Item = &'n JobMark> {
    now.job.marks.iter().filter(move |mark| mark.found == Some(found))
}

/// The screen.
///
/// # Errors
/// `no_found`, or the figures cannot be worked out.
pub fn found_more(now: &Now, id: Uuid) -> Result<FoundMore, Refusal> {
    let found = now.job_found(id)?;
    let figured = now.supplement(found.id)?;
    let photos = photos::of_found(now, id);
    let mut lacks = figured.lacks.clone();
    if photos.is_empty() {
        lacks.push("no photo shows it".to_owned());
    }
    let (outside, inside) = (unfold(&now.plan, false), unfold(&now.plan, true));
    Ok(FoundMore {
        head: head::head(now)?,
        row: row(now, found)?,
        photos,
        marks: marks(now, id)
            .map(|mark| fold_out::row(now, mark, [&outside, &inside]))
            .collect(),
        changed: figured.go_ahead.changed.clone(),
        added: figured.estimate.clone(),
        lacks,
    })
}
