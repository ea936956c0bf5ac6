//! Two people who changed the same thing without seeing each other's change: that it happened, both values, and which
//! of them holds. Whoever looks may say which is right; that is a change like any other and settles it.

use crate::{
    answer::{ClashRow, Refusal},
    now::Now,
    undo,
};
use bowseam_jobs::{
    entry::{MarkChange, PlanValue, ProofOk, What},
    job::Clash,
};

/// The clash in one sentence.
pub fn words(now: &Now, clash: &Clash) -> String {
    let what = register(now, &clash.register);
    let (holds, lost) = (now.name(clash.held_by), now.name(clash.lost_by));
    format!(
        "{what}: {holds} and {lost} changed it without seeing each other's change; {holds}'s holds. Look whether it is right."
    )
}

/// Clashes that can be settled by saying which is right: those of what undo may take back.
///
/// # Errors
/// The store cannot be read.
pub fn to_settle(now: &Now) -> Result<Vec<ClashRow>, Refusal> {
    let store = now.app.store();
    let mut rows = Vec::new();
    for clash in &now.job.clashes {
        if let (Some(holds), Some(lost)) = (store.entry(clash.holds)?, store.entry(clash.lost)?)
            && holds.what.can_be_taken_back()
        {
            rows.push(ClashRow {
                words: words(now, clash),
                register: clash.register.clone(),
                holds: clash.holds,
                holds_words: said(now, &holds.what, clash.held_by),
                lost: clash.lost,
                lost_words: said(now, &lost.what, clash.lost_by),
            });
        }
    }
    Ok(rows)
}

fn said(now: &Now, what: &What, by: uuid::Uuid) -> String {
    format!("{}: {}", now.name(by), value(now, what))
}

/// The value alone, where there is one to show.
fn value(now: &Now, what: &What) -> String {
    let nothing = || "nothing".to_owned();
    match what {
        What::Arrival { value, .. } | What::RoofOff { value, .. } => value.clone().unwrap_or_else(nothing),
        What::Plan { value, .. } => match value {
            Some(PlanValue::Length(length)) => length.say(now.unit),
            Some(PlanValue::Stations(stations)) => {
                let said: Vec<String> = stations.iter().map(|at| at.say(now.unit)).collect();
                said.join(", ")
            }
            Some(PlanValue::YesNo(yes)) => if *yes { "yes" } else { "no" }.to_owned(),
            Some(PlanValue::Places(places)) => format!("{} places", places.len()),
            None => nothing(),
        },
        What::Measured { measured, .. } => measured.as_ref().map_or_else(nothing, |measured| {
            measured
                .length
                .map_or_else(|| measured.text.clone(), |length| length.say(now.unit))
        }),
        What::Mark { change, .. } => match change {
            MarkChange::Place(place) => place.said(now.unit),
            MarkChange::Note(note) => note.clone(),
            _ => undo::say(what),
        },
        What::Proof { answer, .. } => answer.as_ref().map_or_else(nothing, |answer| {
            let ok = match answer.ok {
                ProofOk::Yes => "yes",
                ProofOk::No => "no",
                ProofOk::NotNeeded => "not part of this job",
            };
            [ok, answer.value.as_str(), answer.note.as_str()]
                .join(" ")
                .trim()
                .to_owned()
        }),
        What::Way { chosen, .. } => chosen
            .as_ref()
            .map_or_else(nothing, |chosen| chosen.way.replace('_', " ")),
        What::Office { value, .. } => value.clone().unwrap_or_else(nothing),
        other => undo::say(other),
    }
}

/// A register's key in words: its last parts name the field.
fn register(now: &Now, key: &str) -> String {
    let parts: Vec<&str> = key.split('/').collect();
    match parts.as_slice() {
        ["mark", id, field] => {
            let mark = id.parse().ok().and_then(|id| now.job_mark(id).ok());
            let which = mark.map_or_else(
                || "a mark".to_owned(),
                |m| format!("the {} on the {}", m.kind.word(), m.place.surface.word()),
            );
            format!("{} of {which}", field.replace('_', " "))
        }
        [kind, rest @ ..] => format!("{} {}", kind.replace('_', " "), rest.join(" ").replace('_', " "))
            .trim()
            .to_owned(),
        [] => "something".to_owned(),
    }
}
