//! Changes while the unit is in the bay: the Roof-off check, steps, measured values, *found more*.

use super::{Change, supervisor_only};
use crate::{
    answer::{Answer, Refusal},
    typed,
    view::{found, looked_at, proof, roof_off, steps},
    words,
};
use bowseam_figures::steps::CURE_STARTED;
use bowseam_jobs::entry::{FoundChange, Measured, RoofOffField, What};
use rust_decimal::Decimal;
use uuid::Uuid;

/// One thing is on hand or not, and where it lies.
pub fn set_on_hand(change: &Change, item: String, have: bool, place: &str) -> Result<Answer, Refusal> {
    let check = roof_off::roof_off(&change.now)?;
    let row = check
        .rows
        .iter()
        .find(|row| row.key == item && row.field.is_none())
        .ok_or_else(|| {
            Refusal::at(
                "no_item",
                "item",
                "This is not asked by the Roof-off check of this job.",
            )
        })?;
    let place = typed::text(place, "place")?;
    change.save(None, super::stock::on_hand(change, row, have, place))
}

/// People, dry hours, cover; an empty value takes the answer away.
pub fn set_roof_off(change: &Change, field: RoofOffField, value: &str) -> Result<Answer, Refusal> {
    let value = typed::text(value, "value")?;
    let value = match field {
        _ if value.is_empty() => None,
        RoofOffField::Cover => Some(value),
        RoofOffField::People | RoofOffField::DryHours => {
            let number = roof_off::leading_number(&value).filter(|n| *n <= Decimal::from(1000));
            number.ok_or_else(|| {
                let sentence = format!(
                    "For {}, a number comes first; words may follow: “4, two of them on the hoist”.",
                    words::roof_off(field)
                );
                Refusal::at("number_first", "value", sentence)
            })?;
            Some(value)
        }
    };
    change.one(What::RoofOff { field, value })
}

/// A supervisor overrules a no-go; the reason stays with the job.
pub fn overrule(change: &Change, reason: &str) -> Result<Answer, Refusal> {
    supervisor_only(&change.person, "overrules the Roof-off check")?;
    let reason = typed::text(reason, "reason")?;
    if reason.is_empty() {
        return Err(Refusal::at(
            "reason_missing",
            "reason",
            "Overruling needs its reason. Any words are accepted.",
        ));
    }
    if !roof_off::roof_off(&change.now)?.needed {
        return Err(Refusal::new(
            "not_needed",
            "No roof is opened in this job: there is nothing to overrule.",
        ));
    }
    change.one(What::Overruled { reason: Some(reason) })
}

/// The roof is opened.
pub fn open_roof(change: &Change) -> Result<Answer, Refusal> {
    let check = roof_off::roof_off(&change.now)?;
    if let Some(why) = check.why_not_needed {
        return Err(Refusal::new("not_needed", why));
    }
    if let Some(why) = steps::no_go_ahead(&change.now)? {
        return Err(Refusal::new("no_go_ahead", why));
    }
    if check.opened.is_some() {
        return Err(Refusal::new("open_already", "The roof is open already."));
    }
    if !check.go && check.overruled.is_none() {
        return Err(Refusal::new(
            "no_go",
            format!("No-go: {}. Nothing is opened before.", check.lacks.join("; ")),
        ));
    }
    change.one(What::RoofOpened { opened: true })
}

/// Time on or off a step.
pub fn step_time(change: &Change, step: String, on: bool) -> Result<Answer, Refusal> {
    let seen = steps::step(&change.now, &step)?;
    if on {
        if let Some(why) = seen.shut {
            return Err(Refusal::new("step_shut", why));
        }
        if seen.view.done {
            return Err(Refusal::new(
                "step_done",
                "This step is done. Open it again first.",
            ));
        }
    }
    if on == seen.view.on_since.is_some() {
        return Ok(super::nothing_made(None));
    }
    change.one(What::Time { step, on })
}

/// A step is done, and whose time ran on it goes on at the next one: started anew at each step it is forgotten, and the
/// shop learns nothing. Or it is open again.
pub fn step_done(change: &Change, step: String, done: bool) -> Result<Answer, Refusal> {
    let seen = steps::step(&change.now, &step)?;
    if done == seen.view.done {
        return Ok(super::nothing_made(None));
    }
    if !done {
        return change.one(What::StepDone { step, done });
    }
    if let Some(why) = seen.shut {
        return Err(Refusal::new("step_shut", why));
    }
    if !seen.view.lacks.is_empty() {
        return Err(Refusal::new(
            "step_lacks",
            format!("Not done yet: {}.", seen.view.lacks.join("; ")),
        ));
    }
    let super::fitted::Fitted { cuts, said } = super::fitted::fitted(change, &step)?;
    // First, since an act is named by its first entry.
    let mut what = vec![What::StepDone {
        step: step.clone(),
        done,
    }];
    what.extend(cuts);
    if seen.view.on_since.is_some() {
        let next = steps::goes_on_at(&change.now, &step);
        what.push(What::Time { step, on: false });
        what.extend(next.map(|step| What::Time { step, on: true }));
    }
    let mut saved = change.save(None, what)?;
    if let (Answer::Saved { words, .. }, false) = (&mut saved, said.is_empty()) {
        *words = Some(format!(
            "{}. {}",
            words.take().unwrap_or_default(),
            said.join(" ")
        ));
    }
    Ok(saved)
}

/// A measured value as typed; an empty one takes it away. Out of tolerance it needs its reason.
pub fn measure(
    change: &Change,
    step: String,
    value: String,
    (measured, zone): (&str, Option<i32>),
    reason: &str,
) -> Result<Answer, Refusal> {
    let wanted = change.now.wanted(&step, &value)?;
    if steps::is_done(&change.now, &step) {
        let sentence = "This step is done. Open it again to change what was measured at it.";
        return Err(Refusal::at("step_done", "measured", sentence));
    }
    let measured = typed::text(measured, "measured")?;
    if measured.is_empty() {
        return change.one(What::Measured {
            step,
            value,
            measured: None,
        });
    }
    let mut kept = Measured {
        length: None,
        text: String::new(),
        reason: typed::text(reason, "reason")?,
    };
    if steps::is_length(&wanted) {
        kept.length = Some(typed::length(&measured, change.now.unit, "measured")?);
    } else if value == CURE_STARTED {
        kept.text = typed::cure_start(&measured, typed::now_in(zone)?)?;
        proof::start_fits(&change.now, &kept.text, &kept.reason)?;
    } else {
        kept.text = looked_at::read(&wanted, &measured)?;
    }
    // A reason belongs to its value: what fits needs none.
    if steps::fit(&change.now, &wanted, &kept) == Some(true) {
        kept.reason.clear();
    }
    if kept.reason.is_empty()
        && let Some(how_far) = steps::out_of_tolerance(&change.now, &wanted, &kept)
    {
        let sentence = format!(
            "{}: {how_far}. {} is accepted. Measure again, or say the reason beside it; it then stays on record.",
            wanted.what,
            steps::accepted(&change.now, &wanted)
        );
        return Err(Refusal::at("reason_missing", "reason", sentence));
    }
    change.one(What::Measured {
        step,
        value,
        measured: Some(kept),
    })
}

/// A *found more*: one line, at a step. With `found`, its line is put right.
pub fn find_more(change: &Change, line: &str, step: String, found: Option<Uuid>) -> Result<Answer, Refusal> {
    let line = typed::text(line, "line")?;
    if line.is_empty() {
        return Err(Refusal::at(
            "line_missing",
            "line",
            "Say in one line what was found. Any words are accepted.",
        ));
    }
    if !step.is_empty() {
        change.now.step(&step)?;
    }
    let id = match found {
        Some(id) => change.now.job_found(id)?.id,
        None if change.now.newest_asked(None).is_none() => {
            let sentence = "Nothing was asked for this job yet: put a mark on the Fold-out, and it goes into the figures.";
            return Err(Refusal::new("not_asked", sentence));
        }
        None => Uuid::now_v7(),
    };
    change.save(
        Some(id),
        vec![What::Found {
            found: id,
            change: FoundChange::Line { line, step },
        }],
    )
}

/// Takes a *found more* away, with the marks that were made for it; not after it was agreed.
pub fn remove_found(change: &Change, found: Uuid) -> Result<Answer, Refusal> {
    let row = found::row(&change.now, change.now.job_found(found)?)?;
    if row.go_ahead.state == "go_ahead" {
        return Err(Refusal::new(
            "agreed",
            format!(
                "It has its go-ahead ({}): it stays on the job.",
                words::list(&[row.line])
            ),
        ));
    }
    let mut what = vec![What::Found {
        found,
        change: FoundChange::Removed(true),
    }];
    for mark in change
        .now
        .job
        .marks
        .iter()
        .filter(|mark| mark.found == Some(found))
    {
        what.push(What::Mark {
            mark: mark.id,
            change: bowseam_jobs::entry::MarkChange::Removed(true),
        });
    }
    change.save(None, what)
}
