//! Photos that come as files: from the phone's camera or its gallery, into this app's own folder.
//!
//! The system may end the app while the camera is in front of it, and the photo is then nobody's. So what the photo is
//! of is written down before the camera opens, beside the place where it will lie; at the next start every photo that
//! lies there is brought in by the person who took it, as if nothing had happened.
//!
//! ```text
//! camera/ID.json  what it is of, and who takes it
//! camera/ID.jpg   the photo, once it is there, whatever kind of file it is
//! ```

use crate::{
    answer::{Answer, Refusal},
    app::{App, Asker},
    ask::Ask,
    words,
};
use bowseam_jobs::entry::PhotoOf;
use serde::{Deserialize, Serialize};
use std::{
    fs::{self, File},
    io::Write,
    path::{Path, PathBuf},
};
use uuid::Uuid;

/// What is written down before the camera opens.
#[derive(Debug, Serialize, Deserialize)]
struct Expected {
    ask: Ask,
    person: Uuid,
}

/// A photo that was brought in from a file.
#[derive(Debug)]
pub struct Adopted {
    /// What the door answered.
    pub answer: Answer,
    /// Its name in the folder of photos.
    pub sha256: String,
    /// It is kept but cannot be shown: the phone itself may be able to (HEIC).
    pub unseen: bool,
}

fn folder(app: &App) -> PathBuf {
    app.folder().join("camera")
}

fn failed(e: &std::io::Error) -> Refusal {
    let sentence = format!(
        "The photo's place on this phone cannot be written or read: {e}. Free some room, then take it again."
    );
    Refusal::new("camera_file", sentence)
}

/// Writes down what the next photo is of; answers the file into which it is to be put.
///
/// # Errors
/// The ask is not an `add_photo`, `sign_in`, or there is no room.
pub fn expect(app: &App, asker: &Asker, ask: &Ask) -> Result<PathBuf, Refusal> {
    if !matches!(ask, Ask::AddPhoto { .. }) {
        return Err(Refusal::new(
            "not_a_photo_ask",
            "Only add_photo can be asked for a photo from the camera.",
        ));
    }
    let expected = Expected {
        ask: ask.clone(),
        person: app.signed_in(asker)?.id,
    };
    let photo = folder(app).join(format!("{}.jpg", Uuid::now_v7()));
    let written = (|| {
        fs::create_dir_all(folder(app))?;
        let mut file = File::create(photo.with_extension("json"))?;
        file.write_all(&serde_json::to_vec(&expected)?)?;
        // It must be there after a power cut too: the photo without it is nobody's.
        file.sync_all()
    })();
    match written {
        Ok(()) => Ok(photo),
        Err(e) => {
            forget(&photo);
            Err(failed(&e))
        }
    }
}

/// Brings in the photo that was put into a file which [`expect`] named; `name` instead of the name in the ask.
///
/// # Errors
/// What the door refuses. Where the photo itself is at fault both files go; where the phone is (no room), both stay
/// and the next start tries again.
pub fn adopt(app: &App, photo: &Path, name: Option<&str>) -> Result<Adopted, Refusal> {
    let draft = fs::read(photo.with_extension("json")).map_err(|e| failed(&e))?;
    let Ok(Expected { mut ask, person }) = serde_json::from_slice(&draft) else {
        return Err(Refusal::new(
            "camera_draft",
            "What this photo is of cannot be read any more. It stays on the phone.",
        ));
    };
    if let (Ask::AddPhoto { name: old, .. }, Some(name)) = (&mut ask, name) {
        name.clone_into(old);
    }
    let bytes = fs::read(photo).map_err(|e| failed(&e))?;
    let asker = Asker { person: Some(person) };
    let mut answer = app.ask(&asker, ask.clone(), Some(&bytes));
    if answer.as_ref().is_err_and(|refusal| place_gone(&refusal.code)) {
        // What it shows was taken off meanwhile: a photo of the unit it still is.
        if let Ask::AddPhoto { of, .. } = &mut ask {
            *of = PhotoOf::Unit;
        }
        answer = app.ask(&asker, ask, Some(&bytes));
    }
    let answer = answer.inspect_err(|refusal| {
        if at_fault(&refusal.code) {
            forget(photo);
        }
    })?;
    forget(photo);
    Ok(Adopted {
        answer,
        sha256: bowseam_photos::sha256(&bytes),
        unseen: bowseam_photos::Kind::of(&bytes) == Some(bowseam_photos::Kind::Heic),
    })
}

fn place_gone(code: &str) -> bool {
    matches!(code, "no_mark" | "no_found" | "no_step")
}

/// Refusals that another try would not change.
fn at_fault(code: &str) -> bool {
    matches!(
        code,
        "photo_empty" | "photo_none" | "photo_too_large" | "photo_twice" | "photo_position"
    )
}

/// No photo was taken after all, or it is kept elsewhere now: both files go.
pub fn forget(photo: &Path) {
    for path in [photo.to_owned(), photo.with_extension("json")] {
        // A file that is not there, or that cannot go, is looked at again at the next start.
        let _ = fs::remove_file(path);
    }
}

/// Brings in what was taken while the app was ended, and clears away what was not; says so in words where there was
/// something. Only for the start of a shell with a camera: later it would take photos that are being written.
pub fn adopt_orphans(app: &App) {
    let Ok(files) = fs::read_dir(folder(app)) else {
        return;
    };
    let mut told = Vec::new();
    let mut kept = 0_usize;
    let mut drafts: Vec<PathBuf> = files
        .filter_map(|file| file.ok().map(|file| file.path()))
        .collect();
    drafts.retain(|path| path.extension().is_some_and(|end| end == "json"));
    drafts.sort();
    for photo in drafts.iter().map(|draft| draft.with_extension("jpg")) {
        if fs::metadata(&photo).map_or(0, |file| file.len()) == 0 {
            forget(&photo);
            continue;
        }
        match adopt(app, &photo, None) {
            Ok(_) => kept = kept.saturating_add(1),
            Err(refusal) => told.push(refusal.sentence),
        }
    }
    if kept > 0 {
        let photos = words::count(kept, "photo was", "photos were");
        told.insert(
            0,
            format!("The app was ended while the camera was open: {photos} kept all the same."),
        );
    }
    if !told.is_empty() {
        app.say_at_start(told.join(" "));
    }
}
