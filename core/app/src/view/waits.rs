//! What a job waits for, kind by kind, with the day it is expected, and who is on it: for the office's list, where
//! somebody looks for what can be moved along.

use crate::{
    answer::{Refusal, Wait, WaitFor},
    now::Now,
    view::buying,
    words,
};
use bowseam_jobs::entry::HoldWhy;
use std::collections::BTreeSet;
use uuid::Uuid;

/// What it waits for, the office's own answer first.
///
/// # Errors
/// The figures cannot be worked out.
pub fn waits(now: &Now) -> Result<Vec<Wait>, Refusal> {
    let job = &now.job;
    if job.handed_over.is_some() {
        return Ok(Vec::new());
    }
    let wait = |what, words: String| Wait {
        what,
        words,
        day: None,
    };
    let mut waits = Vec::new();
    for (found, figured) in job.found.iter().zip(now.supplements()?) {
        if figured.go_ahead.state == "asked" {
            waits.push(wait(WaitFor::Office, format!("found more: {}", found.line)));
        }
    }
    if now.main()?.go_ahead.state == "asked" {
        waits.push(wait(WaitFor::Office, "go-ahead for the figures".to_owned()));
    }
    let open = job.buying.iter();
    let open = open.filter(|(key, line)| line.is_awaited() && buying::is_asked(now, key, &line.item));
    waits.extend(open.map(|(_, line)| {
        Wait {
            what: WaitFor::Parts,
            words: [line.quantity.as_str(), line.item.as_str(), line.size.as_str()]
                .join(" ")
                .trim()
                .to_owned(),
            day: line.arrives_on,
        }
    }));
    waits.extend(
        job.sublets
            .values()
            .filter(|kept| !kept.value.back)
            .map(|kept| Wait {
                what: WaitFor::Sublet,
                words: format!("{}: {}", kept.value.who, kept.value.work),
                day: kept.value.back_on,
            }),
    );
    if let Some(hold) = &job.hold {
        let what = match hold.value.why {
            HoldWhy::Parts => WaitFor::Parts,
            HoldWhy::Weather => WaitFor::Weather,
            HoldWhy::People => WaitFor::People,
            HoldWhy::Answer => WaitFor::Answer,
        };
        let why = words::hold(hold.value.why);
        let note = if hold.value.note.is_empty() {
            why
        } else {
            hold.value.note.as_str()
        };
        waits.push(wait(what, format!("on hold: {note}")));
    }
    Ok(waits)
}

/// Who was put on it or is on a step of it now.
pub fn on_it(now: &Now) -> BTreeSet<Uuid> {
    let on_steps = now.job.steps.values().flat_map(|state| state.people_on.keys());
    now.job.on_job.iter().chain(on_steps).copied().collect()
}
