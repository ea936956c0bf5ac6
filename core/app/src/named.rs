//! A change in words that say which thing it was of: the mark by its kind, part and place, the value by its step, the
//! photo by its name and what it shows. What was taken back or off is not in the job any more: it is read off its entries.

use crate::{answer::Refusal, now::Now, undo, view::proof, words};
use bowseam_figures::mark::{DamageKind, Part, Place};
use bowseam_jobs::{
    clock,
    entry::{Entry, FoundChange, MarkChange, Measured, PhotoChange, What},
};
use uuid::Uuid;

/// The change with the thing that it is of.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn named(now: &Now, what: &What) -> Result<String, Refusal> {
    let said = undo::say(what);
    Ok(match which(now, what)? {
        Some(which) if !which.is_empty() => format!("{said} ({which})"),
        _ => said,
    })
}

/// An act, by its first entry: the others came with it.
///
/// # Errors
/// As [`named`].
pub fn act(now: &Now, act: Uuid) -> Result<String, Refusal> {
    let first = first_of(now, act)?;
    first.map_or_else(|| Ok("a change".to_owned()), |entry| named(now, &entry.what))
}

fn first_of(now: &Now, act: Uuid) -> Result<Option<Entry>, Refusal> {
    let of_act = now
        .app
        .store()
        .entries_where(now.job.id, |entry| entry.act == act)?;
    Ok(of_act.into_iter().next())
}

/// What was taken back of what a repair is proved with, oldest first, with who did it and when.
///
/// # Errors
/// As [`named`].
pub fn taken_back(now: &Now) -> Result<Vec<String>, Refusal> {
    let undone = |entry: &Entry| matches!(entry.what, What::Undone { .. });
    let entries = now.app.store().entries_where(now.job.id, undone)?;
    let mut left = undo::taken_back(&entries);
    let mut said = Vec::new();
    // The last that took an act back tells it.
    for entry in entries.iter().rev() {
        let What::Undone { act, undone: true } = entry.what else {
            continue;
        };
        if !left.remove(&act) {
            continue;
        }
        let Some(first) = first_of(now, act)?.filter(|first| proves(&first.what)) else {
            continue;
        };
        let at = clock::wall(&entry.at).map(words::utc).unwrap_or_default();
        said.push(format!(
            "{}, by {}, {at}",
            named(now, &first.what)?,
            now.name(entry.person)
        ));
    }
    said.reverse();
    Ok(said)
}

const fn proves(what: &What) -> bool {
    matches!(
        what,
        What::Mark { .. }
            | What::Photo { .. }
            | What::Roll { .. }
            | What::StepDone { .. }
            | What::Measured { .. }
            | What::Found { .. }
            | What::Proof { .. }
    )
}

fn which(now: &Now, what: &What) -> Result<Option<String>, Refusal> {
    let step = |key: &str| now.step(key).ok().map(|step| step.title.clone());
    Ok(match what {
        What::Mark { mark, .. } => Some(of_mark(now, *mark)?),
        What::Photo { sha256, change } => of_photo(now, sha256, change)?,
        What::Way { group, chosen } => of_way(now, group, chosen.as_ref().map(|chosen| chosen.way.as_str())),
        What::Time { step: key, .. } | What::StepDone { step: key, .. } => step(key),
        What::Measured {
            step: key,
            value,
            measured,
        } => {
            let wanted = now.wanted(key, value).ok().map(|wanted| wanted.what);
            let was = measured.as_ref().map(|measured| of_value(now, measured));
            Some(
                [step(key), wanted, was]
                    .into_iter()
                    .flatten()
                    .collect::<Vec<_>>()
                    .join(", "),
            )
        }
        What::Proof { row, .. } => proof::rows(now)?
            .into_iter()
            .find(|known| known.key == *row)
            .map(|known| known.title),
        What::Found {
            found,
            change: FoundChange::Removed(_),
        } => of_found(now, *found)?,
        What::Buying { line, .. } => now.job.buying.get(line).map(|line| line.item.clone()),
        What::Undone { act, .. } => Some(self::act(now, *act)?),
        _ => None,
    })
}

fn of_value(now: &Now, measured: &Measured) -> String {
    measured
        .length
        .map_or_else(|| measured.text.clone(), |length| length.say(now.unit))
}

fn of_way(now: &Now, group: &str, way: Option<&str>) -> Option<String> {
    let choice = now.choices().ok()?.iter().find(|choice| choice.group == group)?;
    let way = way.and_then(|way| choice.ways.iter().find(|one| one.key.key() == way));
    Some(match way {
        Some(way) => format!("{}; {}", choice.title, way.title),
        None => choice.title.clone(),
    })
}

fn of_mark(now: &Now, mark: Uuid) -> Result<String, Refusal> {
    let (mut kind, mut part, mut place): (Option<DamageKind>, Option<Part>, Option<Place>) =
        (None, None, None);
    if let Ok(mark) = now.job_mark(mark) {
        (kind, part, place) = (Some(mark.kind), Some(mark.part), Some(mark.place));
    } else {
        let own = |entry: &Entry| matches!(entry.what, What::Mark { mark: of, .. } if of == mark);
        for entry in now.app.store().entries_where(now.job.id, own)? {
            match entry.what {
                What::Mark {
                    change: MarkChange::Kind(is),
                    ..
                } => kind = Some(is),
                What::Mark {
                    change: MarkChange::Part(is),
                    ..
                } => part = Some(is),
                What::Mark {
                    change: MarkChange::Place(is),
                    ..
                } => place = Some(is),
                _ => {}
            }
        }
    }
    let place = place.map(|place| {
        let [from, to] = [place.from, place.to].map(|end| end.say(now.unit));
        format!("{} {from} to {to}", place.surface.word())
    });
    let words = [
        kind.map(|kind| kind.word().to_owned()),
        part.map(|part| part.word().to_owned()),
        place,
    ];
    Ok(words.into_iter().flatten().collect::<Vec<_>>().join(", "))
}

/// Its name where the change itself does not say it, and what it shows.
fn of_photo(now: &Now, sha256: &str, change: &PhotoChange) -> Result<Option<String>, Refusal> {
    if let PhotoChange::Added { of, .. } = change {
        return Ok(Some(now.shows(of)));
    }
    if let Some(photo) = now.job.photos.iter().find(|photo| photo.sha256 == sha256) {
        return Ok(Some(format!("{}, {}", photo.name, now.shown(photo))));
    }
    let own = |entry: &Entry| matches!(&entry.what, What::Photo { sha256: of, change: PhotoChange::Added { .. } } if of == sha256);
    let added = now.app.store().entries_where(now.job.id, own)?;
    Ok(added.into_iter().find_map(|entry| match entry.what {
        What::Photo {
            change: PhotoChange::Added { name, of, .. },
            ..
        } => Some(format!("{name}, {}", now.shows(&of))),
        _ => None,
    }))
}

fn of_found(now: &Now, found: Uuid) -> Result<Option<String>, Refusal> {
    let own = |entry: &Entry| matches!(entry.what, What::Found { found: of, .. } if of == found);
    let said = now.app.store().entries_where(now.job.id, own)?;
    Ok(said.into_iter().rev().find_map(|entry| match entry.what {
        What::Found {
            change: FoundChange::Line { line, .. },
            ..
        } => Some(line),
        _ => None,
    }))
}
