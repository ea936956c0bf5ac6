//! A backup of an office, whatever it stands on, and back: into a folder of its own or into shared places, so that an
//! office moves from one to the other by the same two commands.
//!
//! ```text
//! about.json        what is in it; written last, so that a backup that broke off is none
//! jobs.sqlite       entries, people, settings, what is apart
//! photos/ab/abcd…   the originals, each under its SHA-256
//! ```
//!
//! The store is copied first: a photo that an entry names was there before the entry, so none that is named lacks.
//! Photos that are still arriving, and who is signed in, are not in it.

use crate::{Error, Result, Shared};
use bowseam_jobs::backup::{self, Content};
use bowseam_photos::{Folder, sha256};
use serde::{Deserialize, Serialize};
use std::{
    fs::{self, File},
    io::{self, Write},
    path::{Path, PathBuf},
};

const ABOUT: &str = "about.json";
const JOBS: &str = "jobs.sqlite";
const PHOTOS: &str = "photos";
/// Version of the form.
const FORM: u32 = 1;

/// What a backup holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct About {
    /// Version of the form.
    pub backup: u32,
    /// How many entries.
    pub entries: u64,
    /// SHA-256 of what the store holds ([`Content`]).
    pub jobs_sha256: String,
    /// SHA-256 of the file.
    pub file_sha256: String,
    /// How many photos.
    pub photos: usize,
    /// SHA-256 of their names, one a line.
    pub photos_sha256: String,
}

/// Where an office stands.
#[derive(Debug, Clone, Copy)]
pub enum Place<'a> {
    /// On SQLite and a folder, in this data folder.
    Folder(&'a Path),
    /// On shared places.
    Shared(&'a Shared),
}

fn disk(error: io::Error) -> Error {
    Error::Backup(format!("It cannot be read or written: {error}."))
}

fn damaged(what: &str) -> Error {
    Error::Backup(format!(
        "This backup is damaged: {what}. Nothing was restored; take another one."
    ))
}

fn names(names: &[String]) -> String {
    sha256(names.join("\n").as_bytes())
}

fn shelf(to: &Path, sha: &str) -> PathBuf {
    to.join(PHOTOS).join(sha.get(..2).unwrap_or_default()).join(sha)
}

/// Writes a file that lasts.
fn put(file: &Path, bytes: &[u8]) -> io::Result<()> {
    if let Some(folder) = file.parent() {
        fs::create_dir_all(folder)?;
    }
    let mut file = File::create(file)?;
    file.write_all(bytes)?;
    file.sync_all()
}

fn is_empty(folder: &Path) -> Result<bool> {
    match fs::read_dir(folder) {
        Ok(mut files) => Ok(files.next().is_none()),
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(true),
        Err(e) => Err(disk(e)),
    }
}

/// Backs an office up into a folder that is empty or not there, also while the office works.
///
/// # Errors
/// The folder is not empty; something cannot be read or written; a photo is not as it was kept.
pub fn back_up(from: Place<'_>, to: &Path) -> Result<About> {
    if !is_empty(to)? {
        let sentence = format!("{} is not empty. A backup goes into a new folder.", to.display());
        return Err(Error::Backup(sentence));
    }
    fs::create_dir_all(to).map_err(disk)?;
    let aside = tempfile::tempdir_in(to).map_err(disk)?;
    let jobs = to.join(JOBS);
    let photos = match from {
        Place::Folder(data) => {
            backup::copy(data, &jobs)?;
            Folder::open(data.join(PHOTOS))?
        }
        Place::Shared(shared) => {
            drop(shared.store(aside.path())?);
            backup::copy(aside.path(), &jobs)?;
            shared.photos(&aside.path().join(PHOTOS))?
        }
    };
    let all = photos.list()?;
    for sha in &all {
        let original = photos.original(sha)?;
        let bytes = fs::read(&original).map_err(disk)?;
        if sha256(&bytes) != *sha {
            return Err(Error::Backup(format!(
                "Photo {sha} is not as it was kept, so it cannot be backed up. Bring it back from where it is whole."
            )));
        }
        put(&shelf(to, sha), &bytes).map_err(disk)?;
        if matches!(from, Place::Shared(_)) {
            fs::remove_file(original).map_err(disk)?;
        }
    }
    drop(aside);
    let Content {
        entries,
        sha256: jobs_sha256,
    } = backup::content(&jobs)?;
    let about = About {
        backup: FORM,
        entries,
        jobs_sha256,
        file_sha256: backup::file_sha256(&jobs).map_err(disk)?,
        photos: all.len(),
        photos_sha256: names(&all),
    };
    let text = serde_json::to_string_pretty(&about).map_err(|e| Error::Backup(e.to_string()))?;
    put(&to.join(ABOUT), text.as_bytes()).map_err(disk)?;
    Ok(about)
}

/// Looks at every byte of a backup; what is in it, and the names of its photos.
///
/// # Errors
/// It is none, or is damaged.
pub fn check(from: &Path) -> Result<(About, Vec<String>)> {
    let text = fs::read(from.join(ABOUT))
        .map_err(|_| Error::Backup(format!("There is no whole backup in {}.", from.display())))?;
    let about: About = serde_json::from_slice(&text).map_err(|_| damaged("what is in it cannot be read"))?;
    if about.backup > FORM {
        return Err(Error::Backup(
            "This backup was made by a newer Bowseam. Install the newer one.".into(),
        ));
    }
    let jobs = from.join(JOBS);
    let file = backup::file_sha256(&jobs).map_err(|_| damaged("the jobs are missing"))?;
    if file != about.file_sha256 {
        return Err(damaged("the jobs are not those that were backed up"));
    }
    if backup::content(&jobs)?.sha256 != about.jobs_sha256 {
        return Err(damaged("the jobs are not those that were backed up"));
    }
    let photos = Folder::list_of(&from.join(PHOTOS))?;
    if names(&photos) != about.photos_sha256 {
        let sentence = format!("{} photos are there of {}", photos.len(), about.photos);
        return Err(damaged(&sentence));
    }
    for sha in &photos {
        if sha256(&fs::read(shelf(from, sha)).map_err(disk)?) != *sha {
            return Err(damaged(&format!("photo {sha} is another one")));
        }
    }
    Ok((about, photos))
}

/// Restores a backup into a place where there is nothing yet.
///
/// # Errors
/// As of [`check`]; there is something already; or it cannot be written.
pub fn restore(from: &Path, into: Place<'_>) -> Result<About> {
    let (about, all) = check(from)?;
    let aside = tempfile::tempdir().map_err(disk)?;
    let empty = match into {
        Place::Folder(data) => is_empty(data)?,
        Place::Shared(shared) => shared.is_empty()?,
    };
    if !empty {
        return Err(Error::Backup(
            "A backup is restored into an empty place only, and here is something already. Nothing was restored.".into(),
        ));
    }
    let photos = match into {
        Place::Folder(data) => Folder::open(data.join(PHOTOS))?,
        Place::Shared(shared) => shared.photos(&aside.path().join(PHOTOS))?,
    };
    for sha in &all {
        photos.keep(&fs::read(shelf(from, sha)).map_err(disk)?)?;
        if matches!(into, Place::Shared(_)) {
            fs::remove_file(photos.original(sha)?).map_err(disk)?;
        }
    }
    let there = match into {
        Place::Folder(data) => {
            // Whole or not at all: until it has its name, the place counts as one without an office.
            let part = data.join("jobs.part");
            fs::copy(from.join(JOBS), &part)
                .and_then(|_| File::open(&part)?.sync_all())
                .map_err(disk)?;
            fs::rename(&part, data.join(JOBS)).map_err(disk)?;
            data.to_owned()
        }
        Place::Shared(shared) => {
            let store = shared.store(aside.path())?;
            store.take_over(&from.join(JOBS))?;
            aside.path().to_owned()
        }
    };
    let proof = aside.path().join("proof.sqlite");
    backup::copy(&there, &proof)?;
    if backup::content(&proof)?.sha256 != about.jobs_sha256 {
        return Err(Error::Backup(
            "What was restored is not what was backed up. Do not use it.".into(),
        ));
    }
    Ok(about)
}
