//! Handover: what lacks and where it is mended, the release, and whether the photos are still as they came.

use crate::{
    answer::{HandOver, Refusal},
    now::Now,
    people, roll, room,
    view::{arrival, found, head, photos, proof, steps, yard::small},
    words,
};
use bowseam_figures::group::WayKey;
use bowseam_jobs::{
    entry::{OfficeField, RollAnswer},
    job::Job,
    people::Qualification,
};
use chrono::{Months, NaiveDate};
use std::time::{Duration, Instant};

/// Months for which records are kept after the unit leaves: 49 CFR 396.3, 1 year and 6 months.
const KEEP_MONTHS: u32 = 18;

/// One thing that lacks, and the screen that mends it.
pub struct Lack {
    /// In words.
    pub words: String,
    /// The screen, with its query.
    pub screen: String,
}

impl Lack {
    /// With the screen that mends it; empty where that is the one on which it is said.
    pub fn new(words: impl Into<String>, screen: impl Into<String>) -> Self {
        Self {
            words: words.into(),
            screen: screen.into(),
        }
    }
}

/// What lacks before the release.
///
/// # Errors
/// The figures cannot be worked out.
pub fn lacks(now: &Now) -> Result<Vec<Lack>, Refusal> {
    let mut lacks = Vec::new();
    if now.job.marks.is_empty() {
        lacks.push(Lack::new("there is no mark on the Fold-out", "fold_out"));
    }
    lacks.extend(steps::no_go_ahead(now)?.map(|why| Lack::new(why.trim_end_matches('.'), "figures")));
    for row in found::rows(now)? {
        if !matches!(row.go_ahead.state.as_str(), "go_ahead" | "sent_back") {
            lacks.push(Lack::new(
                format!("no answer for what was found: {}", row.line),
                format!("found_more?found={}", row.id),
            ));
        }
    }
    let open = now
        .steps()
        .iter()
        .filter(|step| !steps::is_done(now, &step.key))
        .count();
    if open > 0 {
        lacks.push(Lack::new(
            format!("{} not done", words::count(open, "step is", "steps are")),
            "steps",
        ));
    }
    lacks.extend(
        proof::lacks(now)?
            .into_iter()
            .map(|lack| Lack::new(lack, "proof")),
    );
    let roll = now.job.roll.as_ref().map(|kept| kept.value.answer);
    match roll {
        Some(RollAnswer::ParkIt) => lacks.push(Lack::new("May it roll? still says Park it", "arrival")),
        None => lacks.push(Lack::new("May it roll? has no answer", "arrival")),
        Some(_) => lacks.extend(roll::doubt(&now.job).map(|why| Lack::new(why, "arrival"))),
    }
    if let Some(kept) = &now.job.hold {
        lacks.push(Lack::new(
            format!("the job is on hold: {}", words::hold(kept.value.why)),
            "steps",
        ));
    }
    Ok(lacks)
}

/// The screen comes at once: photos that are not hashed in this time are, when it asks again.
const AT_ONCE: Duration = Duration::from_millis(20);

/// The photos of a job against their hashes.
#[derive(Default)]
pub struct Photos {
    same: usize,
    at_office: usize,
    left: usize,
    /// Those that are not as they came, in words.
    pub changed: Vec<String>,
}

/// Hashes the photos of a job that were not hashed lately, within a time if one is given.
pub fn photos(now: &Now, within: Option<Duration>) -> Photos {
    let begun = Instant::now();
    let folder = now.app.photos();
    let mut seen = Photos::default();
    for photo in &now.job.photos {
        let known = folder.verified(&photo.sha256);
        if known.is_none() && within.is_some_and(|within| begun.elapsed() > within) {
            seen.left = seen.left.saturating_add(1);
            continue;
        }
        match known.unwrap_or_else(|| folder.verify(&photo.sha256)) {
            Ok(()) => seen.same = seen.same.saturating_add(1),
            Err(_) if room::was_freed(now.app, &photo.sha256) => {
                seen.at_office = seen.at_office.saturating_add(1);
            }
            Err(error) => seen.changed.push(format!(
                "{} ({}): {error}",
                photo.name,
                photos::photo(now, photo).shows
            )),
        }
    }
    seen
}

/// The screen.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn hand_over(now: &Now) -> Result<HandOver, Refusal> {
    let (lacks, lacks_where) = lacks(now)?
        .into_iter()
        .map(|lack| (lack.words, lack.screen))
        .unzip();
    let photos = photos(now, Some(AT_ONCE));
    let me = now
        .person
        .and_then(|id| now.people.iter().find(|person| person.id == id));
    Ok(HandOver {
        head: head::head(now)?,
        lacks,
        lacks_where,
        not_entered: arrival::not_entered(now),
        left_open: left_open(now)?,
        may_release: me.is_some_and(|person| people::may_not(person, Qualification::Release).is_none()),
        released: released(now),
        handed_over: handed_over(now),
        photos_same: small(photos.same),
        photos_at_office: small(photos.at_office),
        photos_to_check: small(photos.left),
        photos_changed: photos.changed,
        keep_until: keep_until(now),
    })
}

/// Damage that is marked and is not repaired, each with why, and the driver's report where the office has not closed it.
fn left_open(now: &Now) -> Result<Vec<String>, Refusal> {
    let main = now.main()?;
    let given = &main.go_ahead.groups;
    let mut left = Vec::new();
    for group in main.estimate.iter().flat_map(|all| &all.groups) {
        let why = match group.way {
            WayKey::LeaveIt => "left as it is",
            WayKey::AskTheMaker => "waits for the maker's answer",
            _ if !given.is_empty() && !given.contains(&group.group) => "the go-ahead was not for it",
            _ => continue,
        };
        left.push(format!("{} is not repaired: {why}", group.title));
    }
    if !now.job.office.contains_key(&OfficeField::ReportClosed) {
        left.push("the driver's report is not closed by the office (49 CFR 396.11)".to_owned());
    }
    Ok(left)
}

/// By whom and when the unit was released.
pub fn released(now: &Now) -> Option<String> {
    let kept = now.job.released.as_ref()?;
    let note = if kept.value.note.is_empty() {
        String::new()
    } else {
        format!(": {}", kept.value.note)
    };
    Some(format!(
        "released by {}, {}{note}",
        now.name(kept.by),
        words::time(kept.at)
    ))
}

/// By whom and when the packet was handed over.
pub fn handed_over(now: &Now) -> Option<String> {
    let kept = now.job.handed_over.as_ref().filter(|kept| kept.value)?;
    Some(format!(
        "handed over by {}, {}",
        now.name(kept.by),
        words::time(kept.at)
    ))
}

/// How long the record is kept.
pub fn keep_until(now: &Now) -> String {
    let rule = "1 year and 6 months after the unit leaves (49 CFR 396.3)";
    match kept_until(now) {
        Some(day) => format!("Keep this record until {day} at least: {rule}."),
        None => format!("This record is kept {rule}."),
    }
}

/// The day the unit left.
pub fn left_on(job: &Job) -> Option<NaiveDate> {
    let left = job.handed_over.as_ref().filter(|kept| kept.value)?;
    Some(left.at.date_naive())
}

/// The day until which it is kept at least, once the unit has left.
pub fn kept_until(now: &Now) -> Option<NaiveDate> {
    left_on(&now.job)?.checked_add_months(Months::new(KEEP_MONTHS))
}
