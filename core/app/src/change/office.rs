//! What the office and the people on a job add to it: numbers, sublet work, notes for the next shift, who is on it,
//! opening it again, and which of two values is right.

use super::{Change, supervisor_only};
use crate::{
    answer::{Answer, Refusal},
    typed,
};
use bowseam_jobs::entry::{OfficeField, Sublet, What};
use chrono::NaiveDate;
use uuid::Uuid;

/// What the fields with a choice may hold.
fn choices(field: OfficeField) -> &'static [&'static str] {
    match field {
        OfficeField::ReportClosed => &["repaired", "not_needed"],
        OfficeField::Warranty => &["paid", "warranty"],
        OfficeField::Retain => &["keep", "let_go"],
        OfficeField::PayerOrder | OfficeField::Insurer | OfficeField::ComebackOf => &[],
    }
}

/// Sets what the office writes on a job; an empty value takes it away.
pub fn set(change: &Change, field: OfficeField, value: &str) -> Result<Answer, Refusal> {
    supervisor_only(&change.person, "writes this on a job")?;
    let value = typed::text(value, "value")?;
    let of_choice = choices(field);
    if !value.is_empty() && !of_choice.is_empty() && !of_choice.contains(&value.as_str()) {
        return Err(Refusal::at("not_a_choice", "value", "Choose one of those shown."));
    }
    if field == OfficeField::Retain && value == "let_go" && !crate::view::office::keep_over(&change.now) {
        let sentence = "The record is kept 1 year and 6 months after the unit leaves (49 CFR 396.3); after that it may be let go.";
        return Err(Refusal::at("kept", "value", sentence));
    }
    if field == OfficeField::ComebackOf && !value.is_empty() {
        let other = value.parse::<Uuid>().ok().filter(|id| *id != change.now.job.id);
        let other = other
            .map(|id| change.now.app.store().summary(id))
            .transpose()?
            .flatten();
        if other.is_none_or(|other| other.unit != change.now.job.unit) {
            let sentence = "A comeback is of an earlier job of the same unit. Choose one of those shown.";
            return Err(Refusal::at("no_job", "value", sentence));
        }
    }
    let value = Some(value).filter(|value| !value.is_empty());
    change.one(What::Office { field, value })
}

/// Sublet work as typed.
pub struct Typed<'a> {
    pub work: &'a str,
    pub who: &'a str,
    pub out_on: &'a str,
    pub back_on: &'a str,
    pub back: bool,
}

/// Puts work given out of the house on a job, or changes it; without words for it, it is taken off.
pub fn set_sublet(change: &Change, id: Option<Uuid>, typed: &Typed) -> Result<Answer, Refusal> {
    supervisor_only(&change.person, "gives work out of the house")?;
    let work = typed::text(typed.work, "work")?;
    if work.is_empty() {
        let id = id.filter(|id| change.now.job.sublets.contains_key(id));
        let sublet = id.ok_or_else(|| {
            Refusal::at(
                "work_missing",
                "work",
                "Say what is done. Any words are accepted.",
            )
        })?;
        return change.save(Some(sublet), vec![What::Sublet { sublet, work: None }]);
    }
    let who = typed::text(typed.who, "who")?;
    if who.is_empty() {
        return Err(Refusal::at(
            "who_missing",
            "who",
            "Say who does it. Any name is accepted.",
        ));
    }
    let (out_on, back_on) = (day(typed.out_on, "out_on")?, day(typed.back_on, "back_on")?);
    if let (Some(out), Some(back)) = (out_on, back_on)
        && back < out
    {
        return Err(Refusal::at(
            "back_before_out",
            "back_on",
            "It is back before it went out.",
        ));
    }
    let sublet = id.unwrap_or_else(Uuid::now_v7);
    let work = Sublet {
        work,
        who,
        out_on,
        back_on,
        back: typed.back,
    };
    change.save(
        Some(sublet),
        vec![What::Sublet {
            sublet,
            work: Some(work),
        }],
    )
}

fn day(typed: &str, field: &str) -> Result<Option<NaiveDate>, Refusal> {
    if typed.trim().is_empty() {
        return Ok(None);
    }
    let day = typed::date(typed, false).map_err(|refusal| refusal.beside(field))?;
    Ok(NaiveDate::parse_from_str(&day, "%Y-%m-%d").ok())
}

/// A note for the next shift; its own writer puts it right or takes it off.
pub fn set_note(change: &Change, id: Option<Uuid>, text: &str) -> Result<Answer, Refusal> {
    let text = typed::text(text, "text")?;
    let notes = &change.now.job.notes;
    match id {
        None if text.is_empty() => {
            let sentence = "The note is empty. Any words are accepted.";
            return Err(Refusal::at("note_missing", "text", sentence));
        }
        Some(id)
            if !notes
                .iter()
                .any(|(note, kept)| *note == id && kept.by == change.person.id) =>
        {
            let sentence = "Only who wrote a note puts it right. Write one of your own.";
            return Err(Refusal::at("not_own", "text", sentence));
        }
        _ => {}
    }
    let note = id.unwrap_or_else(Uuid::now_v7);
    let text = Some(text).filter(|text| !text.is_empty());
    change.save(Some(note), vec![What::Note { note, text }])
}

/// Somebody is on the job, or not any more.
pub fn set_on_job(change: &Change, person: Uuid, on: bool) -> Result<Answer, Refusal> {
    if on && !change.now.people.iter().any(|known| known.id == person) {
        return Err(Refusal::at(
            "no_person",
            "person",
            "This person is not known here.",
        ));
    }
    change.one(What::OnJob { on: person, put: on })
}

/// Opens a released job again. A comeback is a new job: this is for a unit that has not left, or left by mistake.
pub fn reopen(change: &Change, reason: &str) -> Result<Answer, Refusal> {
    supervisor_only(&change.person, "opens a released job again")?;
    let (job, reason) = (&change.now.job, typed::text(reason, "reason")?);
    if job.released.is_none() {
        return Err(Refusal::new(
            "not_released",
            "This job is not released: it is open.",
        ));
    }
    if reason.is_empty() {
        let sentence = "Say why it is opened again; the reason stays with the job. Any words are accepted.";
        return Err(Refusal::at("reason_missing", "reason", sentence));
    }
    let mut what = vec![What::Reopened { reason }, What::Released { release: None }];
    if job.handed_over.is_some() {
        what.push(What::HandedOver { handed_over: false });
    }
    change.save(None, what)
}

/// Says which of two values is right: it is written once more, by somebody who has seen both.
pub fn settle(change: &Change, keep: Uuid, instead_of: Uuid) -> Result<Answer, Refusal> {
    let pair =
        |holds: Uuid, lost: Uuid| [holds, lost] == [keep, instead_of] || [lost, holds] == [keep, instead_of];
    if !change
        .now
        .job
        .clashes
        .iter()
        .any(|clash| pair(clash.holds, clash.lost))
    {
        return Err(Refusal::new(
            "settled",
            "This is settled already. Look at it again.",
        ));
    }
    let entry = change
        .now
        .app
        .store()
        .entry(keep)?
        .filter(|entry| entry.what.can_be_taken_back());
    let entry =
        entry.ok_or_else(|| Refusal::new("not_settled_here", "This is settled by deciding it anew."))?;
    if matches!(entry.what, What::Office { .. } | What::Overruled { .. }) {
        supervisor_only(&change.person, "settles this")?;
    }
    change.one(entry.what)
}
