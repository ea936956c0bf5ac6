//! The office: jobs that wait for its answer first, of these the units that stand open, then by how long they wait; the
//! others by the day they are promised for, those on hold last. And one job with all that an answer, a release and a payer's question need.

use crate::{
    answer::{Answer, Field, HistoryRow, OfficeJob, OfficeList, Refusal, SubletRow, Wait, WaitFor, YardRow},
    app::{App, Asker},
    ask::OfficeShow,
    change::{figures as answers, nothing_made},
    named,
    now::Now,
    people,
    view::{arrival, figures, fold_out, found, handover, head, photos, steps, waits, yard},
    words,
};
use bowseam_figures::estimate::Estimate;
use bowseam_jobs::{
    Summary,
    entry::OfficeField,
    job::{Job, Stage},
    people::Qualification,
};
use chrono::{Months, NaiveDate, Utc};
use uuid::Uuid;

/// Most changes told.
const MOST_LINES: usize = 30;
/// Most rows in one answer.
const MOST_ROWS: usize = 600;
/// Most other jobs of a unit that are told.
const MOST_HISTORY: usize = 20;
/// What the office writes, in the order of the page.
const FIELDS: [OfficeField; 6] = [
    OfficeField::PayerOrder,
    OfficeField::Insurer,
    OfficeField::Warranty,
    OfficeField::ComebackOf,
    OfficeField::ReportClosed,
    OfficeField::Retain,
];

/// Most jobs that wait for an answer among which the next one is looked for.
const NEXT_OF: usize = 20;

/// The jobs in the order in which somebody goes through them ([`turn`]); those without an answer to give by their day.
///
/// # Errors
/// `sign_in`, or the store cannot be read.
pub fn jobs(app: &App, asker: &Asker, find: &str, show: OfficeShow, most: u32) -> Result<Answer, Refusal> {
    app.signed_in(asker)?;
    let most = usize::try_from(most)
        .unwrap_or(MOST_ROWS)
        .clamp(yard::MOST_ROWS, MOST_ROWS);
    let store = app.store();
    let (found, more) = match (find.trim(), show) {
        ("", OfficeShow::Open) => open(app, most)?,
        ("", OfficeShow::Left) => cut(store.left(most.saturating_add(1))?, most),
        (find, _) => cut(store.find(find)?, yard::MOST_ROWS),
    };
    let of_open = show == OfficeShow::Open;
    let ids: Vec<Uuid> = found.iter().map(|summary| summary.id).collect();
    // Some beyond the page are figured too, since the order rests on all of them.
    let kept = yard::figure(app, &ids, Some(of_open))?;
    let mut rows: Vec<YardRow> = found.iter().map(|summary| kept.row(summary)).collect();
    let not_figured = kept.not_figured(app, of_open)?;
    drop(kept);
    // The store orders by what each job says alone; who waits for a bay comes behind.
    let day = |row: &YardRow| row.promise.clone().unwrap_or_else(|| "~".to_owned());
    let by_day = of_open && find.trim().is_empty();
    rows.sort_by_cached_key(|row| {
        let of_day = (by_day && !row.asks).then(|| day(row));
        (turn(row), row.asked_since.filter(|_| row.asks), of_day)
    });
    let (open, left) = store.how_many()?;
    let apart = store.apart()?.iter().map(|apart| apart.entries).sum();
    Ok(Answer::OfficeJobs(OfficeList {
        rows,
        more,
        open,
        left,
        not_figured,
        apart,
        today: Utc::now().date_naive(),
    }))
}

/// Whose turn it is: people stand idle beside a unit that is open; who has put a job on hold waits for something else
/// too.
fn turn(row: &YardRow) -> u8 {
    match (row.asks, row.stage == Stage::OnHold) {
        (true, _) if row.asks_found || row.roof_open => 0,
        (true, false) => 1,
        (true, true) => 2,
        (false, false) => 3,
        (false, true) => 4,
    }
}

/// The other job that waits for an answer, in the order of the list.
fn next(now: &Now) -> Result<Option<YardRow>, Refusal> {
    let mut waiting = now.app.store().unanswered(NEXT_OF)?;
    waiting.retain(|summary| summary.id != now.job.id);
    let mut rows = yard::rows(now.app, &waiting)?;
    // Figures that were asked and are others now are asked anew by the phone: there is nothing to answer.
    rows.retain(|row| row.asks);
    rows.sort_by_key(|row| (turn(row), row.asked_since));
    Ok(rows.into_iter().next())
}

/// What a go-ahead for these groups would come to, and what it leaves.
///
/// # Errors
/// As the go-ahead itself.
pub fn part_sum(now: &Now, hash: &str, groups: Vec<String>) -> Result<Answer, Refusal> {
    let groups = answers::part(now, answers::newest_asked(now, hash)?, groups)?;
    let all = now.main()?.estimate.as_ref().ok_or_else(figures::none_yet)?;
    let part = (!groups.is_empty()).then(|| now.part(&groups)).transpose()?;
    let given = figures::part_of(all, &groups, part.as_ref().unwrap_or(all));
    Ok(Answer::PartSum(given))
}

fn cut(mut found: Vec<Summary>, most: usize) -> (Vec<Summary>, bool) {
    let more = found.len() > most;
    found.truncate(most);
    (found, more)
}

/// All that wait for an answer, however late they are promised, and of the others those promised first.
fn open(app: &App, most: usize) -> Result<(Vec<Summary>, bool), Refusal> {
    let store = app.store();
    let mut found = store.unanswered(most)?;
    let (page, more) = cut(store.open_by_due(most.saturating_add(1))?, most);
    for summary in page {
        if found.len() < most && found.iter().all(|other| other.id != summary.id) {
            found.push(summary);
        }
    }
    Ok((found, more))
}

/// One job.
///
/// # Errors
/// `sign_in`, or the figures cannot be worked out.
pub fn job(now: &Now) -> Result<Answer, Refusal> {
    let Some(me) = now.people.iter().find(|person| Some(person.id) == now.person) else {
        return Err(Refusal::new(
            "sign_in",
            "Say who you are first: the office answers under a name.",
        ));
    };
    let asked = now.newest_asked(None);
    let found = now.job.found.iter().map(|found| found::found_more(now, found.id));
    let lacks = handover::lacks(now)?.into_iter().map(|lack| lack.words);
    Ok(Answer::OfficeJob(OfficeJob {
        head: head::head(now)?,
        arrival: arrival::arrival(now)?,
        fold_out: fold_out::fold_out(now)?,
        figures: figures::figures(now)?,
        asked: asked.and_then(|kept| serde_json::from_value::<Estimate>(kept.value.figures.clone()).ok()),
        asked_hash: asked.map(|kept| kept.value.hash.clone()),
        asked_by: asked.map(|kept| now.name(kept.by)),
        found: found.collect::<Result<_, _>>()?,
        lines_since: lines_since(now, me.id)?,
        newest: now.app.store().newest(now.job.id)?.unwrap_or_default(),
        photos: now
            .job
            .photos
            .iter()
            .map(|photo| photos::photo(now, photo))
            .collect(),
        waits: waits_of(now)?,
        on_it: waits::on_it(now).into_iter().collect(),
        fields: FIELDS.iter().map(|field| field_of(now, *field)).collect(),
        sublets: sublets(now),
        notes: steps::notes(now),
        history: history(now)?,
        warranty: warranty(now),
        lacks: lacks.collect(),
        may_not_release: people::may_not(me, Qualification::Release),
        released: handover::released(now),
        handed_over: handover::handed_over(now),
        keep_until: handover::keep_until(now),
        keep_over: keep_over(now),
        reopened: now.job.reopened.iter().map(|kept| reopened(now, kept)).collect(),
        next: next(now)?,
    }))
}

/// What it waits for, a bay too where others have them first.
fn waits_of(now: &Now) -> Result<Vec<Wait>, Refusal> {
    let mut waits = waits::waits(now)?;
    let behind = &now.promise()?.waits;
    if !behind.is_empty() {
        waits.push(Wait {
            what: WaitFor::Bay,
            words: format!("behind {behind}"),
            day: None,
        });
    }
    Ok(waits)
}

fn reopened(now: &Now, kept: &bowseam_jobs::job::Kept<String>) -> String {
    format!(
        "opened again by {}, {}: {}",
        now.name(kept.by),
        words::time(kept.at),
        kept.value
    )
}

fn field_of(now: &Now, field: OfficeField) -> Field<OfficeField> {
    let kept = now.job.office.get(&field);
    Field {
        field,
        value: kept.map(|kept| kept.value.clone()).unwrap_or_default(),
        by: kept.map(|kept| now.name(kept.by)),
        choices: Vec::new(),
        remark: None,
    }
}

fn sublets(now: &Now) -> Vec<SubletRow> {
    let today = Utc::now().date_naive();
    let row = |(id, kept): (&Uuid, &bowseam_jobs::job::Kept<bowseam_jobs::entry::Sublet>)| SubletRow {
        id: *id,
        sublet: kept.value.clone(),
        by: now.name(kept.by),
        late: !kept.value.back && kept.value.back_on.is_some_and(|day| day < today),
    };
    now.job.sublets.iter().map(row).collect()
}

/// The last day of the shop's warranty on a job.
fn warranty_until(now: &Now, job: &Job) -> Option<NaiveDate> {
    let months = Months::new(now.book.planning.warranty_months.value);
    handover::left_on(job)?.checked_add_months(months)
}

fn warranty(now: &Now) -> String {
    let months = now.book.planning.warranty_months.value;
    let rule = format!(
        "{} on the shop's own work, by the shop book",
        words::count(usize::try_from(months).unwrap_or(usize::MAX), "month", "months")
    );
    match warranty_until(now, &now.job) {
        Some(day) if day < Utc::now().date_naive() => format!("Warranty was over on {day}: {rule}."),
        Some(day) => format!("Warranty until {day}: {rule}."),
        None => format!("Warranty runs from the day the unit leaves: {rule}."),
    }
}

/// Other jobs of the same unit, the newest first: what was done, and whether the shop still answers for it.
fn history(now: &Now) -> Result<Vec<HistoryRow>, Refusal> {
    let store = now.app.store();
    let mut found = store.of_unit(&now.job.unit)?;
    found.retain(|job| job.id != now.job.id);
    found.truncate(MOST_HISTORY);
    let comeback = now
        .job
        .office
        .get(&OfficeField::ComebackOf)
        .map(|kept| kept.value.clone());
    let came_in = now.job.opened.as_ref().map(|kept| kept.at.date_naive());
    let mut rows = Vec::new();
    for (row, summary) in yard::rows(now.app, &found)?.into_iter().zip(&found) {
        let job = store.job(summary.id)?;
        let until = job.as_ref().and_then(|job| warranty_until(now, job));
        rows.push(HistoryRow {
            left_on: job.as_ref().and_then(handover::left_on),
            in_warranty: until
                .zip(came_in)
                .is_some_and(|(until, came_in)| came_in <= until),
            comeback: comeback.as_deref() == Some(summary.id.to_string().as_str()),
            done: job.as_ref().map(done).unwrap_or_default(),
            row,
        });
    }
    Ok(rows)
}

/// What was agreed on a job, group by group, as the frozen figures name it.
fn done(job: &Job) -> Vec<String> {
    let agreed = job
        .asked
        .iter()
        .filter(|kept| job.decided.contains_key(&kept.value.hash));
    let groups = agreed.filter_map(|kept| kept.value.figures.get("groups")?.as_array());
    let said = |group: &serde_json::Value| {
        let text = |key: &str| group.get(key).and_then(serde_json::Value::as_str);
        Some(format!("{}: {}", text("title")?, text("way_title")?))
    };
    let mut done: Vec<String> = groups.flatten().filter_map(said).collect();
    done.dedup();
    done
}

/// The keeping time is over: keeping the record on or letting it go is the shop's choice.
pub fn keep_over(now: &Now) -> bool {
    handover::kept_until(now).is_some_and(|day| day < Utc::now().date_naive())
}

/// The signed-in person has looked at a job as far as this entry.
///
/// # Errors
/// `sign_in`, or the store cannot be written.
pub fn looked(now: &Now, newest: i64) -> Result<Answer, Refusal> {
    let store = now.app.store();
    let me = now
        .person
        .ok_or_else(|| Refusal::new("sign_in", "Say who you are first."))?;
    let newest = newest.min(store.newest(now.job.id)?.unwrap_or_default());
    store.set_seen(now.job.id, me, newest)?;
    Ok(nothing_made(None))
}

/// What others changed since this person last said to have looked; newest first. An act of one's own is no look at
/// what others did meanwhile.
fn lines_since(now: &Now, me: Uuid) -> Result<Vec<String>, Refusal> {
    let store = now.app.store();
    let seen = store.seen(now.job.id, me)?.unwrap_or_default();
    let entries = store.entries_of_after(now.job.id, seen)?;
    let mut lines = Vec::new();
    for entry in entries.iter().filter(|entry| entry.person != me) {
        let line = format!("{}: {}", now.name(entry.person), named::named(now, &entry.what)?);
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
