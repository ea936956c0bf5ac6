//! The head of every screen of a job: its stage, what it waits for, what undo would take back.

use crate::{
    answer::{Head, Refusal},
    now::Now,
    roll, shelf, undo,
    view::{clash, handover, proof, roof_off, steps},
    words,
};
use bowseam_jobs::job::Stage;

/// The head.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn head(now: &Now) -> Result<Head, Refusal> {
    Ok(Head {
        job: now.job.id,
        unit: now.job.unit.clone(),
        stage: now.job.stage,
        waits_for: waits_for(now)?,
        not_seen: now.sealed(),
        roll: now.job.roll.as_ref().map(|kept| kept.value.clone()),
        roll_doubt: roll::doubt(&now.job),
        opens_roof: roof_off::is_needed(now),
        hold: now.job.hold.as_ref().map(|kept| kept.value.clone()),
        undo: undo::next(now)?,
        promise: now.promise()?.day.clone(),
        saved: now.job.last,
        clashes: [clashes(now), shelf::clashes(now)?].concat(),
        to_settle: clash::to_settle(now)?,
    })
}

fn clashes(now: &Now) -> Vec<String> {
    now.job
        .clashes
        .iter()
        .map(|seen| clash::words(now, seen))
        .collect()
}

/// What the job waits for, in words.
///
/// # Errors
/// The figures cannot be worked out.
pub fn waits_for(now: &Now) -> Result<String, Refusal> {
    let job = &now.job;
    if let Some(kept) = &job.handed_over
        && kept.value
    {
        return Ok(format!("nothing: handed over {}", words::time(kept.at)));
    }
    if let Some(kept) = &job.hold {
        let note = if kept.value.note.is_empty() {
            String::new()
        } else {
            format!(": {}", kept.value.note)
        };
        return Ok(format!("{}{note}", words::hold(kept.value.why)));
    }
    if job.marks.is_empty() {
        return Ok("marks on the Fold-out".to_owned());
    }
    let main = now.main()?;
    match main.go_ahead.state.as_str() {
        "go_ahead" => {}
        "asked" => return Ok("the office's go-ahead".to_owned()),
        // Why stands on Figures, where it is answered.
        "sent_back" => return Ok("figures put right; the office sent them back".to_owned()),
        "stale" => return Ok("a new go-ahead: the figures are not those that were asked".to_owned()),
        _ if main.estimate.is_none() && main.lacks.is_empty() => {
            return Ok("nothing to be asked for: all that is marked is old damage".to_owned());
        }
        _ => {
            return Ok(main.lacks.first().map_or_else(
                || "the go-ahead to be asked for".to_owned(),
                |_| ways_wanted(main.lacks.len()),
            ));
        }
    }
    for (found, figured) in job.found.iter().zip(now.supplements()?) {
        match figured.go_ahead.state.as_str() {
            "go_ahead" => {}
            "asked" => return Ok(format!("a go-ahead for what was found: {}", found.line)),
            "sent_back" => return Ok(format!("what was found, sent back by the office: {}", found.line)),
            _ => return Ok(format!("what was found to be asked for: {}", found.line)),
        }
    }
    in_the_bay(now)
}

fn ways_wanted(groups: usize) -> String {
    if groups == 1 {
        "a way to fix for what is marked".to_owned()
    } else {
        format!("ways to fix for {groups} places")
    }
}

fn in_the_bay(now: &Now) -> Result<String, Refusal> {
    if now.job.stage == Stage::GoAhead && roof_off::is_needed(now) && now.job.roof_opened.is_none() {
        return Ok("the Roof-off check".to_owned());
    }
    if let Some(step) = steps::current(now) {
        return Ok(format!("step: {}", step.title));
    }
    if !proof::lacks(now)?.is_empty() {
        return Ok("Proof".to_owned());
    }
    if now.job.released.is_none() {
        let lacks = handover::lacks(now)?;
        return Ok(lacks
            .first()
            .map_or_else(|| "the release".to_owned(), |lack| lack.words.clone()));
    }
    Ok("the handover of the packet".to_owned())
}
