//! Outbox: what waits to be sent, what is on its way, what the office has, and what is stuck with why.

use crate::{
    answer::{Answer, Outbox, OutboxRow, Refusal},
    app::App,
    change,
    view::yard::small,
    words,
};
use bowseam_jobs::outbox::{ItemKind, ItemState, Sum};
use bowseam_send::Office;
use std::collections::BTreeMap;
use uuid::Uuid;

/// Most stuck items that are looked at for their reason.
const MOST_ITEMS: usize = 500;
/// Most rows shown; the rest is counted in words.
const MOST_ROWS: usize = 100;

/// The screen.
///
/// # Errors
/// The store cannot be read.
pub fn outbox(app: &App) -> Result<Answer, Refusal> {
    let store = app.store();
    let mut jobs: BTreeMap<Uuid, Vec<Sum>> = BTreeMap::new();
    for sum in store.sums()? {
        jobs.entry(sum.job).or_default().push(sum);
    }
    let mut why: BTreeMap<Uuid, String> = BTreeMap::new();
    for item in store.stuck_items(MOST_ITEMS)? {
        why.entry(item.job).or_insert(item.why);
    }
    let mut rows = Vec::new();
    let (mut open, mut bytes) = (0_u64, 0_u64);
    // Jobs are made in the order of their ids: the newest first.
    for (job, sums) in jobs.iter().rev() {
        let row = row(*job, sums, why.remove(job));
        open = open.saturating_add(items(sums, |sum| sum.state != ItemState::Arrived));
        bytes = bytes.saturating_add(row.bytes);
        rows.push(row);
    }
    // What needs a person comes first, what has arrived last.
    rows.sort_by_key(|row| {
        ["stuck", "on_the_way", "waiting", "arrived"]
            .iter()
            .position(|state| *state == row.state)
    });
    let (jobs, of_them_arrived) = (
        rows.len(),
        rows.iter().filter(|row| row.state == "arrived").count(),
    );
    rows.truncate(MOST_ROWS);
    for row in &mut rows {
        row.unit = store.summary(row.job)?.map(|job| job.unit).unwrap_or_default();
    }
    let office = Office::of(&store)?.map(|office| {
        if office.name.is_empty() {
            office.url
        } else {
            office.name
        }
    });
    let said = match (&office, open) {
        (_, 0) => "Nothing waits: the office has everything.".to_owned(),
        (None, _) => {
            "Saved on this phone. It is not known to an office yet: ask the office for a code.".to_owned()
        }
        (Some(office), _) => format!("Saved on this phone; goes to {office} when there is a network."),
    };
    Ok(Answer::Outbox(Outbox {
        words: format!("{said}{}", not_shown(jobs, of_them_arrived)),
        rows,
        waiting_bytes: bytes,
        office,
        last_heard: Office::last_heard(&store)?,
    }))
}

/// How many jobs have no row, in words; those that have arrived are the first to lose theirs.
fn not_shown(jobs: usize, arrived: usize) -> String {
    let more = jobs.saturating_sub(MOST_ROWS);
    if more == 0 {
        return String::new();
    }
    let open = more.saturating_sub(arrived);
    let more = words::count(more, "more job is", "more jobs are");
    match open {
        0 => format!(" {more} not listed: the office has all of it."),
        _ => format!(" {more} not listed, {open} of them not sent yet."),
    }
}

fn items(sums: &[Sum], which: impl Fn(&Sum) -> bool) -> u64 {
    sums.iter()
        .filter(|sum| which(sum))
        .fold(0, |total, sum| total.saturating_add(sum.items))
}

/// The row of a job, without its unit.
fn row(job: Uuid, sums: &[Sum], why: Option<String>) -> OutboxRow {
    let at = |state: ItemState| items(sums, |sum| sum.state == state);
    let photos = |arrived: bool| {
        let which = |sum: &Sum| sum.kind == ItemKind::Photo && (!arrived || sum.state == ItemState::Arrived);
        small(usize::try_from(items(sums, which)).unwrap_or(usize::MAX))
    };
    let entries = items(sums, |sum| {
        sum.kind == ItemKind::Entry && sum.state != ItemState::Arrived
    });
    let entries = small(usize::try_from(entries).unwrap_or(usize::MAX));
    let open = sums.iter().filter(|sum| sum.state != ItemState::Arrived);
    let bytes = open.fold(0_u64, |total, sum| total.saturating_add(sum.bytes));
    let (state, said) = if at(ItemState::Stuck) > 0 {
        ("stuck", "Stuck; the rest goes on.".to_owned())
    } else if at(ItemState::OnTheWay) > 0 {
        ("on_the_way", "On the way.".to_owned())
    } else if at(ItemState::Waiting) > 0 {
        ("waiting", "Waits for the network.".to_owned())
    } else {
        ("arrived", "The office has it.".to_owned())
    };
    let (all, arrived) = (photos(false), photos(true));
    let counts = match all {
        0 => String::new(),
        _ => format!(
            " {arrived} of {} arrived.",
            words::count(usize::try_from(all).unwrap_or_default(), "photo", "photos")
        ),
    };
    OutboxRow {
        job,
        unit: String::new(),
        state: state.to_owned(),
        words: format!("{said}{counts}"),
        photos: all,
        photos_arrived: arrived,
        entries,
        bytes,
        why,
    }
}

/// Tries to send now, in the background; what is stuck waits again.
///
/// # Errors
/// No office knows this phone yet, this program does not send, or the store cannot be read.
pub fn try_now(app: &App) -> Result<Answer, Refusal> {
    let store = app.store();
    if Office::of(&store)?.is_none() {
        let sentence = "This phone is not known to an office yet: everything stays saved here. Ask the office for a code.";
        return Err(Refusal::new("no_office", sentence));
    }
    store.retry_stuck()?;
    app.outside()?.try_now();
    Ok(change::nothing_made(None))
}
