//! How much room photos take on this phone, and freeing it by choice: shrunken copies, which are made again when
//! they are looked at, and originals of units that are handed over, once the office holds them durably.

use crate::{
    answer::{Answer, Refusal, Room},
    app::{App, Asker, Kind},
};

/// The figures.
///
/// # Errors
/// The store or the folder cannot be read.
pub fn room(app: &App) -> Result<Answer, Refusal> {
    Ok(Answer::Room(figures(app)?))
}

fn figures(app: &App) -> Result<Room, Refusal> {
    let [originals, copies] = app.photos().room()?;
    let free = can_go(app)?;
    let mut office = 0_u64;
    for sha256 in &free {
        office = office.saturating_add(app.photos().length(sha256)?);
    }
    Ok(Room {
        originals,
        copies,
        office,
        office_photos: u32::try_from(free.len()).unwrap_or(u32::MAX),
        freed: 0,
    })
}

/// Frees the copies, or the originals that the office holds; answers the figures after it.
///
/// # Errors
/// Nobody is signed in; the store or the folder cannot be read or written. What was freed before it stays so.
pub fn free(app: &App, asker: &Asker, originals: bool) -> Result<Answer, Refusal> {
    app.signed_in(asker)?;
    let mut freed = 0_u64;
    if originals {
        for sha256 in can_go(app)? {
            freed = freed.saturating_add(app.photos().free_original(&sha256)?);
        }
    } else {
        freed = app.photos().remove_copies()?;
    }
    let room = figures(app)?;
    Ok(Answer::Room(Room { freed, ..room }))
}

/// Originals that the office has durably and no job that is still open names.
fn can_go(app: &App) -> Result<Vec<String>, Refusal> {
    let store = app.store();
    let mut free = Vec::new();
    for sha256 in app.photos().list()? {
        if store.photo_arrived(&sha256)? && !store.open_job_names(&sha256)? {
            free.push(sha256);
        }
    }
    Ok(free)
}

/// Whether an original that is not here was freed: the office has it, and its small copy is still here.
pub fn was_freed(app: &App, sha256: &str) -> bool {
    app.kind() == Kind::Phone
        && !app.photos().has(sha256)
        && app.store().photo_arrived(sha256).unwrap_or(false)
}
