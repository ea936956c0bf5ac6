//! The office: jobs that wait for an answer first, *found more* before all others, and one job with all that
//! an answer needs.

use crate::{
    answer::{Answer, OfficeJob, Refusal, Yard},
    app::{App, Asker, Kind},
    now::Now,
    undo,
    view::{arrival, figures, fold_out, found, head, photos, yard},
    words,
};
use bowseam_figures::estimate::Estimate;

/// Most changes told.
const MOST_LINES: usize = 30;

/// The jobs: a *found more* that waits comes first, then what waits for a go-ahead, then the newest.
///
/// # Errors
/// `sign_in`, or the store cannot be read.
pub fn jobs(app: &App, asker: &Asker, find: &str) -> Result<Answer, Refusal> {
    app.signed_in(asker)?;
    let Yard { mut rows, more } = if find.trim().is_empty() {
        newest(app)?
    } else {
        yard::yard(app, find)?
    };
    rows.sort_by_key(|row| (!row.asks_found, !row.asks));
    Ok(Answer::OfficeJobs(Yard { rows, more }))
}

/// All that wait for an answer, however old they are, and the newest of the others.
fn newest(app: &App) -> Result<Yard, Refusal> {
    let store = app.store();
    let mut found = store.unanswered(yard::MOST_ROWS)?;
    let (page, after) = store.jobs(yard::MOST_ROWS, None)?;
    let more = after.is_some();
    for summary in page {
        if found.len() < yard::MOST_ROWS && found.iter().all(|other| other.id != summary.id) {
            found.push(summary);
        }
    }
    let rows = yard::rows(app, &found)?;
    Ok(Yard { rows, more })
}

/// One job.
///
/// # Errors
/// `sign_in`, or the figures cannot be worked out.
pub fn job(now: &Now) -> Result<Answer, Refusal> {
    if now.person.is_none() {
        return Err(Refusal::new(
            "sign_in",
            "Say who you are first: the office answers under a name.",
        ));
    }
    let asked = now.newest_asked(None);
    Ok(Answer::OfficeJob(OfficeJob {
        head: head::head(now)?,
        arrival: arrival::arrival(now)?,
        fold_out: fold_out::fold_out(now)?,
        figures: figures::figures(now)?,
        asked: asked.and_then(|kept| serde_json::from_value::<Estimate>(kept.value.figures.clone()).ok()),
        asked_hash: asked.map(|kept| kept.value.hash.clone()),
        asked_by: asked.map(|kept| now.name(kept.by)),
        found: now
            .job
            .found
            .iter()
            .map(|found| found::found_more(now, found.id))
            .collect::<Result<_, _>>()?,
        lines_since: lines_since(now)?,
        photos: now
            .job
            .photos
            .iter()
            .map(|photo| photos::photo(now, photo))
            .collect(),
    }))
}

/// What others changed since this person last decided or changed something here; newest first.
fn lines_since(now: &Now) -> Result<Vec<String>, Refusal> {
    let entries = now.app.store().entries(now.job.id)?;
    let since = entries
        .iter()
        .rposition(|entry| Some(entry.person) == now.person)
        .map_or(0, |at| at.saturating_add(1));
    let mut lines = Vec::new();
    for entry in entries.iter().skip(since) {
        let line = format!("{}: {}", now.name(entry.person), undo::say(&entry.what));
        if lines.last() != Some(&line) {
            lines.push(line);
        }
    }
    lines.reverse();
    if lines.len() > MOST_LINES {
        let left = lines.len().saturating_sub(MOST_LINES);
        lines.truncate(MOST_LINES);
        lines.push(format!(
            "and {}",
            words::count(left, "change before", "changes before")
        ));
    }
    Ok(lines)
}

/// A short-lived code for a new phone.
///
/// # Errors
/// Only at the office, only for supervisors.
pub fn new_code(app: &App, asker: &Asker) -> Result<Answer, Refusal> {
    if app.kind() != Kind::Office {
        return Err(Refusal::new(
            "not_the_office",
            "Codes for new phones come from the office.",
        ));
    }
    crate::change::supervisor_only(&app.signed_in(asker)?, "makes codes for new phones")?;
    let (code, until) = app.outside()?.new_code()?;
    Ok(Answer::NewCode { code, until })
}
