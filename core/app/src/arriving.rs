//! Which entries the office takes from a phone. Each is judged alone, by who the office knows and not by what the phone
//! says of them; the same for what was kept apart of a phone and is taken in later.

use crate::now::is_supervisor;
use bowseam_figures::canonical;
use bowseam_jobs::{
    clock,
    entry::{Entry, PhotoChange, What},
    people::{May, Person, Qualification},
};
use bowseam_send::wire::Outcome;
use chrono::Utc;

/// Whether an entry may come in.
///
/// # Errors
/// What is answered instead of *arrived*: refused with a sentence, or it waits for its photo.
pub fn judge(people: &[Person], has_photo: impl Fn(&str) -> bool, entry: &Entry) -> Result<(), Outcome> {
    let refused = |why: &str| Err(Outcome::Refused { why: why.to_owned() });
    // A clock that is ahead does not make anything count that does not count yet.
    let at = clock::wall(&entry.at).unwrap_or_default().min(Utc::now());
    let person = people
        .iter()
        .find(|person| person.id == entry.person && !person.ended(at));
    let supervisor = person.is_some_and(is_supervisor);
    match &entry.what {
        What::Decided { .. } | What::Overruled { .. } if !supervisor => {
            refused("Only a supervisor whom the office knows decides this.")
        }
        What::Office { .. }
        | What::Reopened { .. }
        | What::Released { release: None }
        | What::HandedOver { handed_over: false }
            if !supervisor =>
        {
            refused("Only a supervisor whom the office knows writes this on a job.")
        }
        What::Released { release: Some(_) } => {
            match person.map_or(May::No, |person| person.may(Qualification::Release, at)) {
                May::Yes => Ok(()),
                May::No => {
                    refused("Only a person who may release units, and whom the office knows, releases one.")
                }
                May::RanOut(day) => Err(Outcome::Refused {
                    why: format!("Who released this unit was named for it until {day}: it does not count."),
                }),
            }
        }
        What::Asked { hash, figures, .. } if canonical::sha256(figures).ok().as_ref() != Some(hash) => {
            refused("The figures are not those that their SHA-256 names. Ask for a go-ahead again.")
        }
        What::Photo {
            sha256,
            change: PhotoChange::Added { .. },
        } if !has_photo(sha256) => Err(Outcome::WaitsForPhoto {
            sha256: sha256.clone(),
        }),
        _ => Ok(()),
    }
}
