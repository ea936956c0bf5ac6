//! Undo: takes back the signed-in person's last act on this phone in a job, whole, and says what it was. What
//! others act upon (figures asked about, answers, the release) is not taken back but answered by a new change.

use crate::{
    answer::{Answer, Refusal},
    app::App,
    named,
    now::Now,
    words,
};
use bowseam_jobs::{
    entry::{Decision, Entry, FoundChange, MarkChange, PhotoChange, What},
    people::Person,
};
use chrono::Utc;
use std::collections::HashSet;
use uuid::Uuid;

/// What undo would take back, in words.
///
/// # Errors
/// The store cannot be read.
pub fn next(now: &Now) -> Result<Option<String>, Refusal> {
    let Some(person) = now.person else { return Ok(None) };
    if now.job.handed_over.as_ref().is_some_and(|kept| kept.value) {
        return Ok(None);
    }
    let store = now.app.store();
    let act = store.undo_last(now.job.id, person)?;
    act.map(|act| named::act(now, act)).transpose()
}

/// Takes it back; answers the act that was taken back as `id`.
///
/// # Errors
/// `nothing_to_undo`, `no_job`, or the store cannot be written.
pub fn undo(app: &App, person: &Person, job: Uuid) -> Result<Answer, Refusal> {
    let store = app.store();
    let now = Now::for_person(app, Some(person), job)?;
    let last = if next(&now)?.is_some() {
        store.undo_last(job, person.id)?
    } else {
        None
    };
    let taken = last.ok_or_else(|| {
        let sentence = "There is nothing of yours to take back on this phone in this job.";
        Refusal::new("nothing_to_undo", sentence)
    })?;
    let act = Uuid::now_v7();
    store.append(
        job,
        person.id,
        act,
        vec![What::Undone {
            act: taken,
            undone: true,
        }],
    )?;
    app.send_now();
    Ok(Answer::Saved {
        act: Some(act),
        id: Some(taken),
        at: Utc::now(),
        words: None,
    })
}

/// Acts that are taken back, of a job's entries in their order.
pub fn taken_back(entries: &[Entry]) -> HashSet<Uuid> {
    let mut acts = HashSet::new();
    for entry in entries {
        match entry.what {
            What::Undone { act, undone: true } => acts.insert(act),
            What::Undone { act, undone: false } => acts.remove(&act),
            _ => continue,
        };
    }
    acts
}

/// So many characters of a value are told with its field.
const SHORT: usize = 30;

/// A change in words.
pub fn say(what: &What) -> String {
    let set = |set: bool, what: String| if set { what } else { format!("{what}, taken away") };
    match what {
        What::Arrival { field, value } => {
            let field = words::arrival(*field);
            match value {
                Some(value) if value.chars().count() <= SHORT => format!("{field}: {value}"),
                _ => set(value.is_some(), field.to_owned()),
            }
        }
        What::Plan { field, value } => set(value.is_some(), words::plan(*field).to_owned()),
        What::Roll { answer } => answer.as_ref().map_or_else(
            || "May it roll?, taken away".to_owned(),
            |roll| format!("May it roll?: {}", words::roll(roll.answer)),
        ),
        What::Looked { surface, seen } => format!(
            "{} {}",
            surface.word(),
            if *seen { "looked at" } else { "not looked at" }
        ),
        What::Mark { change, .. } => mark(change),
        What::Photo { change, .. } => match change {
            PhotoChange::Added { name, .. } => format!("photo {name}"),
            PhotoChange::Moved { .. } => "photo put elsewhere".to_owned(),
            PhotoChange::Removed(_) => "photo taken off".to_owned(),
            PhotoChange::View(view) => set(view.is_some(), "what a photo shows".to_owned()),
            PhotoChange::Scaled(_) => "measuring in a photo".to_owned(),
            PhotoChange::Aligned(_) => "before and after laid over each other".to_owned(),
            PhotoChange::Drawn { shape, .. } => set(shape.is_some(), "drawn over a photo".to_owned()),
        },
        What::Way { chosen, .. } => set(chosen.is_some(), "way to fix".to_owned()),
        What::Held { hold } => {
            if hold.is_some() {
                "on hold".to_owned()
            } else {
                "going on".to_owned()
            }
        }
        // `on_hand:side_sheet:MARK`
        What::OnHand { item, .. } => {
            let mut parts = item.split(':').filter(|part| *part != "on_hand");
            format!("on hand: {}", parts.next().unwrap_or_default().replace('_', " "))
        }
        What::RoofOff { field, value } => set(value.is_some(), words::roof_off(*field).to_owned()),
        What::Overruled { .. } => "Roof-off check overruled".to_owned(),
        What::RoofOpened { .. } => "go to open the roof".to_owned(),
        What::Reserved { reserved, .. } => reserved.as_ref().map_or_else(
            || "stock free again".to_owned(),
            |of| format!("reserved: {}", of.name),
        ),
        What::Cut { done, .. } => done.as_ref().map_or_else(
            || "cut open again".to_owned(),
            |of| format!("cut done: {} from {}", of.item, of.name),
        ),
        What::Drop { kept, .. } => set(kept.is_some(), "drop kept".to_owned()),
        What::Buying { .. } => "buying list".to_owned(),
        What::Holes { holes, .. } => set(holes.is_some(), "holes as measured".to_owned()),
        What::Time { on, .. } => format!("time {}", if *on { "on" } else { "off" }),
        What::StepDone { done, .. } => {
            if *done {
                "step done".to_owned()
            } else {
                "step open again".to_owned()
            }
        }
        What::Measured { measured, .. } => set(measured.is_some(), "measured value".to_owned()),
        What::Found { change, .. } => match change {
            FoundChange::Line { line, .. } => format!("found more: {line}"),
            FoundChange::Removed(_) => "found more taken away".to_owned(),
        },
        What::Proof { answer, .. } => set(answer.is_some(), "answer on Proof".to_owned()),
        What::Opened { unit } => format!("opened for unit {unit}"),
        What::Asked { found, .. } => if found.is_some() {
            "asked about what was found"
        } else {
            "asked for a go-ahead"
        }
        .to_owned(),
        What::Decided { decision, .. } => match decision {
            Decision::GoAhead { .. } => "gave the go-ahead".to_owned(),
            Decision::SentBack { note } => format!("sent the figures back: {note}"),
        },
        What::Released { .. } => "released".to_owned(),
        What::HandedOver { .. } => "handed over".to_owned(),
        What::Office { field, value } => set(value.is_some(), words::office(*field).to_owned()),
        What::Sublet { work, .. } => work.as_ref().map_or_else(
            || "sublet work taken off".to_owned(),
            |work| format!("sublet: {}, {}", work.work, work.who),
        ),
        What::Note { text, .. } => text.as_ref().map_or_else(
            || "shift note taken off".to_owned(),
            |text| format!("shift note: {text}"),
        ),
        What::OnJob { put, .. } => if *put {
            "put somebody on the job"
        } else {
            "took somebody off the job"
        }
        .to_owned(),
        What::Reopened { reason } => format!("opened again: {reason}"),
        What::Undone { undone, .. } => if *undone {
            "took a change back"
        } else {
            "put a change back again"
        }
        .to_owned(),
        What::NotKnown(_) => "a change of a newer program".to_owned(),
    }
}

fn mark(change: &MarkChange) -> String {
    match change {
        MarkChange::Place(place) => format!("mark on the {}", place.surface.word()),
        MarkChange::Kind(kind) => format!("kind of a mark: {}", kind.word()),
        MarkChange::Part(part) => format!("part of a mark: {}", part.word()),
        MarkChange::Age(age) => format!("mark: {}", words::age(*age)),
        MarkChange::Note(_) => "note of a mark".to_owned(),
        MarkChange::Depth(_) => "depth of a mark".to_owned(),
        MarkChange::Found(_) => "mark put to a found more".to_owned(),
        MarkChange::Sized { .. } => "size of a mark from a photo".to_owned(),
        MarkChange::Removed(_) => "mark taken off".to_owned(),
    }
}
