//! Outbox: what waits to be sent, what is on its way, what the office has, and what is stuck with why.

use crate::{
    answer::{Answer, Outbox, OutboxRow, Refusal},
    app::{App, Asker},
    change,
    view::yard::small,
    words,
};
use bowseam_jobs::outbox::{ItemKind, ItemState, Sum};
use bowseam_send::{Office, OnItsWay};
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
    let outside = app.outside().ok();
    let metered = outside.and_then(|outside| outside.metered());
    let wait = bowseam_send::photos_wait(&store)?;
    let held = wait && metered == Some(true);
    let now = outside.and_then(|outside| outside.on_its_way());
    let now = now.map(|photo| Ok::<_, Refusal>((store.photo_job(&photo.sha256)?, photo)));
    let now = now.transpose()?;
    let mut rows = Vec::new();
    let (mut open, mut bytes) = (0_u64, 0_u64);
    // Jobs are made in the order of their ids: the newest first.
    for (job, sums) in jobs.iter().rev() {
        let on_it = now.as_ref().filter(|(of, _)| of.as_ref() == Some(job));
        let row = row(*job, sums, why.remove(job), held, on_it.map(|(_, photo)| photo));
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
        photos_wait: wait,
        metered,
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
fn row(job: Uuid, sums: &[Sum], why: Option<String>, held: bool, on_it: Option<&OnItsWay>) -> OutboxRow {
    let at = |state: ItemState| items(sums, |sum| sum.state == state);
    let photos = |arrived: bool| {
        let which = |sum: &Sum| sum.kind == ItemKind::Photo && (!arrived || sum.state == ItemState::Arrived);
        small(usize::try_from(items(sums, which)).unwrap_or(usize::MAX))
    };
    let entries = items(sums, |sum| {
        sum.kind == ItemKind::Entry && sum.state != ItemState::Arrived
    });
    let entries = small(usize::try_from(entries).unwrap_or(usize::MAX));
    let sum = |arrived: bool| {
        let which = sums
            .iter()
            .filter(|sum| (sum.state == ItemState::Arrived) == arrived);
        which.fold(0_u64, |total, sum| total.saturating_add(sum.bytes))
    };
    // What the office has of the photo on its way is not to be sent again.
    let begun = on_it.map_or(0, |photo| photo.at).min(sum(false));
    let waiting_photos = sums
        .iter()
        .any(|sum| sum.kind == ItemKind::Photo && sum.state == ItemState::Waiting);
    let (state, said) = if at(ItemState::Stuck) > 0 {
        let stuck = words::count(
            usize::try_from(at(ItemState::Stuck)).unwrap_or_default(),
            "thing is",
            "things are",
        );
        ("stuck", format!("{stuck} stuck; the rest goes on."))
    } else if at(ItemState::OnTheWay) > 0 {
        ("on_the_way", "On the way.".to_owned())
    } else if held && waiting_photos {
        (
            "waiting",
            "Photos wait for Wi-Fi; everything else goes.".to_owned(),
        )
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
        bytes: sum(false).saturating_sub(begun),
        arrived_bytes: sum(true).saturating_add(begun),
        why,
    }
}

/// Stacks of photos wait for a network that costs nothing, or not any more; what waited for it then goes.
///
/// # Errors
/// Nobody is signed in, or the store cannot be written.
pub fn photos_wait(app: &App, asker: &Asker, wait: bool) -> Result<Answer, Refusal> {
    app.signed_in(asker)?;
    bowseam_send::set_photos_wait(&app.store(), wait)?;
    app.send_now();
    Ok(change::nothing_made(None))
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
