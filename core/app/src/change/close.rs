//! Changes that close a job: hold, Proof, release, handover.

use super::Change;
use crate::{
    answer::{Answer, Refusal},
    people, typed,
    view::{handover, proof},
    words,
};
use bowseam_jobs::{
    entry::{Hold, ProofAnswer, ProofOk, Release, What},
    people::{Person, Qualification},
};
use chrono::Utc;

/// On hold, with why; or going on.
pub fn set_hold(change: &Change, hold: Option<Hold>) -> Result<Answer, Refusal> {
    let hold = match hold {
        Some(hold) => Some(Hold {
            why: hold.why,
            note: typed::text(&hold.note, "note")?,
        }),
        None => None,
    };
    change.one(What::Held { hold })
}

/// Answers a row of Proof; nothing takes the answer away.
pub fn set_proof(change: &Change, row: String, answer: Option<ProofAnswer>) -> Result<Answer, Refusal> {
    let seen = proof::rows(&change.now)?;
    let asked = seen
        .iter()
        .find(|seen| seen.key == row)
        .ok_or_else(|| Refusal::at("no_row", "row", "Proof does not ask for this on this job."))?;
    let Some(answer) = answer else {
        return change.one(What::Proof { row, answer: None });
    };
    let answer = ProofAnswer {
        ok: answer.ok,
        value: typed::text(&answer.value, "value")?,
        note: typed::text(&answer.note, "note")?,
    };
    if answer.ok == ProofOk::NotNeeded && answer.note.is_empty() {
        let sentence = "Say why this is not part of the job. Any words are accepted.";
        return Err(Refusal::at("note_missing", "note", sentence));
    }
    if answer.ok == ProofOk::Yes {
        if let Some(why) = proof::too_early(&change.now, asked, Utc::now()) {
            return Err(Refusal::at("too_early", "answer", why));
        }
        if let Some(why) = proof::own_work(&change.now, asked) {
            return Err(Refusal::at("own_work", "answer", why));
        }
        if let Some(why) = proof::not_qualified(&change.now, &change.person, asked) {
            return Err(Refusal::at("not_qualified", "answer", why));
        }
        if proof::is_measured(asked) && answer.value.is_empty() {
            let sentence = format!("{}: enter what was measured.", asked.title);
            return Err(Refusal::at("value_missing", "value", sentence));
        }
        if asked.key == "width" {
            typed::length(&answer.value, change.now.unit, "value")?;
        }
    }
    change.one(What::Proof {
        row,
        answer: Some(answer),
    })
}

/// Released, by a person who may, when nothing lacks.
pub fn release(change: &Change, note: &str) -> Result<Answer, Refusal> {
    if let Some(why) = people::may_not(&change.person, Qualification::Release) {
        let may = |p: &&Person| people::may_not(p, Qualification::Release).is_none();
        let may: Vec<&str> = change
            .now
            .people
            .iter()
            .filter(may)
            .map(|p| p.name.as_str())
            .collect();
        let who = if may.is_empty() {
            "nobody is named for it now".to_owned()
        } else {
            words::list(&may)
        };
        return Err(Refusal::new(
            "may_not_release",
            format!("{why} Units are released by those named for it: {who}."),
        ));
    }
    let lacks = handover::lacks(&change.now)?;
    if !lacks.is_empty() {
        let lacks: Vec<String> = lacks.into_iter().map(|lack| lack.words).collect();
        return Err(Refusal::new(
            "release_lacks",
            format!("Not to be released yet: {}.", lacks.join("; ")),
        ));
    }
    change.one(What::Released {
        release: Some(Release {
            note: typed::text(note, "note")?,
        }),
    })
}

/// The packet is handed over: the job is closed with it.
pub fn hand_over(change: &Change) -> Result<Answer, Refusal> {
    let lacks = handover::lacks(&change.now)?;
    if change.now.job.released.is_none() || !lacks.is_empty() {
        let mut said: Vec<String> = lacks.into_iter().map(|lack| lack.words).collect();
        if change.now.job.released.is_none() {
            said.push("the release".to_owned());
        }
        return Err(Refusal::new(
            "not_released",
            format!("Not to be handed over yet: {}.", said.join("; ")),
        ));
    }
    change.one(What::HandedOver { handed_over: true })
}
