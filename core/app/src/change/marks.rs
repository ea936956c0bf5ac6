//! Changes of marks.

use super::Change;
use crate::{
    answer::{Answer, Refusal},
    ask::TypedPlace,
    typed,
};
use bowseam_figures::mark::{Age, DamageKind, Part};
use bowseam_figures::measure::{Length, Unit};
use bowseam_jobs::entry::{MarkChange, What};
use uuid::Uuid;

/// Deepest that a mark is: a wall pushed in this far is no dent any more.
const DEEPEST: Length = Length::inches(48);

/// What is said of a new mark.
pub struct Said {
    /// What is wrong.
    pub damage: DamageKind,
    /// With which part.
    pub part: Part,
    /// Old or new.
    pub age: Age,
    /// In words.
    pub note: String,
}

/// Puts a mark on the body; answers its id.
pub fn add_mark(
    change: &Change,
    place: &TypedPlace,
    said: Said,
    found: Option<Uuid>,
) -> Result<Answer, Refusal> {
    let place = typed::place(place, &change.now.plan, change.now.unit)?;
    if let Some(found) = found {
        change.now.job_found(found)?;
    }
    let mark = Uuid::now_v7();
    let mut changes = vec![
        MarkChange::Place(place),
        MarkChange::Kind(said.damage),
        MarkChange::Part(said.part),
        MarkChange::Age(said.age),
    ];
    let note = typed::text(&said.note, "note")?;
    if !note.is_empty() {
        changes.push(MarkChange::Note(note));
    }
    changes.extend(found.map(MarkChange::Found));
    save(change, mark, changes, Some(mark))
}

/// Changes a mark; what is absent stays.
pub fn set_mark(
    change: &Change,
    mark: Uuid,
    place: Option<&TypedPlace>,
    (damage, part, age): (Option<DamageKind>, Option<Part>, Option<Age>),
    (note, depth): (Option<String>, Option<String>),
) -> Result<Answer, Refusal> {
    change.now.job_mark(mark)?;
    let mut changes = Vec::new();
    if let Some(place) = place {
        changes.push(MarkChange::Place(typed::place(
            place,
            &change.now.plan,
            change.now.unit,
        )?));
    }
    changes.extend(damage.map(MarkChange::Kind));
    changes.extend(part.map(MarkChange::Part));
    changes.extend(age.map(MarkChange::Age));
    if let Some(note) = note {
        changes.push(MarkChange::Note(typed::text(&note, "note")?));
    }
    if let Some(depth) = depth {
        changes.push(MarkChange::Depth(self::depth(&depth, change.now.unit)?));
    }
    if changes.is_empty() {
        return Ok(super::nothing_made(Some(mark)));
    }
    save(change, mark, changes, Some(mark))
}

/// A depth as typed; none where nothing is.
fn depth(text: &str, unit: Unit) -> Result<Option<Length>, Refusal> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let depth = typed::length(text, unit, "depth")?;
    if depth > DEEPEST {
        let deepest = DEEPEST.say(unit);
        let sentence =
            format!("A depth is at most {deepest}: how far it is out of line, or how deep the gouge is.");
        return Err(Refusal::at("mark_depth", "depth", sentence));
    }
    Ok(Some(depth))
}

/// Takes a mark off.
pub fn remove_mark(change: &Change, mark: Uuid) -> Result<Answer, Refusal> {
    change.now.job_mark(mark)?;
    save(change, mark, vec![MarkChange::Removed(true)], None)
}

fn save(change: &Change, mark: Uuid, changes: Vec<MarkChange>, id: Option<Uuid>) -> Result<Answer, Refusal> {
    change.save(
        id,
        changes
            .into_iter()
            .map(|change| What::Mark { mark, change })
            .collect(),
    )
}
