//! The demo yard as it is kept: `demo-data/yard_entries.json` holds the entries that replaying `yard.json` made and
//! says which photos they name, so that the demo opens at once. [`bake`] writes it; a test compares it with a new
//! replay, so the demo still shows what the program makes. As its entries are moved to now, so are the times that its
//! photos say of themselves; one is left an old picture on purpose.

use crate::{Ended, yard};
use bowseam_app::{
    answer::Refusal,
    app::{App, Kind},
};
use bowseam_jobs::{
    Outcome, clock,
    entry::{Entry, PhotoChange, What},
};
use chrono::{DateTime, FixedOffset, Local, NaiveDateTime, SubsecRound, Utc};
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use std::{
    borrow::Cow,
    path::Path,
    sync::atomic::{AtomicUsize, Ordering},
    thread::{ScopedJoinHandle, scope},
};
use uuid::Uuid;

/// The file in `demo-data`.
const FILE: &str = "yard_entries.json";
/// So many photos are written at a time: they wait for the disk, which takes many together.
const WRITERS: usize = 8;
/// A leak that was pictured long before the unit came in: the one photo whose time is in doubt.
const OLD: &str = "7712-lining.jpg";
/// How EXIF writes a time, and the offset that the demo's camera wrote beside it.
const TIME: &str = "%Y:%m:%d %H:%M:%S";
const OFFSET: &str = "-06:00";
/// So far into a file both stand.
const HEAD: usize = 4096;

/// What replaying made.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Baked {
    /// The devices that wrote the entries.
    phone: Uuid,
    office: Uuid,
    photos: Vec<Photo>,
    /// In the order they came to the phone.
    entries: Vec<Entry>,
}

/// A photo of `demo-data/photos`, or one with a comment in it that stands in for a photo the demo does not have.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Photo {
    file: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    comment: Option<String>,
}

impl Photo {
    /// The picture as the camera of the demo wrote it.
    fn bytes(&self) -> Result<Bytes, Refusal> {
        match &self.comment {
            None => yard::file(&format!("photos/{}", self.file)).map(Cow::Borrowed),
            Some(comment) => yard::stand_in(&self.file, comment).map(Cow::Owned),
        }
    }

    /// What a kept photo was made of.
    fn of(bytes: &[u8]) -> Result<Self, Refusal> {
        if let Some((file, _)) = yard::photo_files().find(|(_, whole)| *whole == bytes) {
            let (file, comment) = (file.to_owned(), None);
            return Ok(Self { file, comment });
        }
        // Start of image, then the comment with its length in front, which counts itself.
        let length = bytes.get(4..6).and_then(|two| two.try_into().ok());
        let end = usize::from(u16::from_be_bytes(length.unwrap_or_default())).saturating_add(4);
        let comment = bytes.get(6..end).and_then(|text| std::str::from_utf8(text).ok());
        let rest = bytes.get(end..);
        let found = yard::photo_files().find(|(_, whole)| whole.get(2..) == rest);
        match (found, comment) {
            (Some((file, _)), Some(comment)) => Ok(Self {
                file: file.to_owned(),
                comment: Some(comment.to_owned()),
            }),
            _ => Err(yard::wrong("a photo is none of demo-data/photos")),
        }
    }
}

/// Replays `yard.json` on two temporary folders and writes what came out.
pub fn bake(file: &Path) -> Result<(), Ended> {
    let folder =
        tempfile::tempdir().map_err(|e| Ended::with(1, format!("No temporary folder can be made: {e}.")))?;
    let (phone, office) = open_empty(folder.path())?;
    yard::replay(&phone, &office)?;
    let entries = entries_of(&phone)?;
    let added = entries.iter().filter_map(|entry| match &entry.what {
        What::Photo {
            sha256,
            change: PhotoChange::Added { .. },
        } => Some(sha256),
        _ => None,
    });
    let photos = added
        .map(|sha256| {
            let place = phone.photos().original(sha256)?;
            Photo::of(&std::fs::read(place).map_err(|e| yard::wrong(&e.to_string()))?)
        })
        .collect::<Result<Vec<_>, Refusal>>()?;
    let text = format!(
        "{{\"phone\": \"{}\", \"office\": \"{}\", \"photos\": [\n{}\n], \"entries\": [\n{}\n]}}\n",
        phone.store().device(),
        office.store().device(),
        lines(&photos)?,
        lines(&entries)?
    );
    std::fs::write(file, text)
        .map_err(|e| Ended::with(1, format!("{} cannot be written: {e}.", file.display())))
}

/// One value a line, so that changes can be read.
fn lines(values: &[impl Serialize]) -> Result<String, Refusal> {
    let lines: Result<Vec<_>, _> = values.iter().map(serde_json::to_string).collect();
    Ok(lines.map_err(|e| yard::wrong(&e.to_string()))?.join(",\n"))
}

fn read<T: DeserializeOwned>() -> Result<T, Refusal> {
    serde_json::from_slice(yard::file(FILE)?).map_err(|e| yard::wrong(&format!("{FILE}: {e}")))
}

/// Opens the phone and the office of a demo folder, both with the yard in them.
///
/// # Errors
/// As [`App::open`], or the yard cannot be put in.
pub fn open(folder: &Path) -> Result<(App, App), Refusal> {
    let (phone, office) = open_empty(folder)?;
    // Fewer also after a start that was cut off: it is done again then.
    for app in [&phone, &office] {
        if app.store().people()?.len() < yard::PEOPLE.len() {
            plant(&phone, &office)?;
            break;
        }
    }
    Ok((phone, office))
}

fn open_empty(folder: &Path) -> Result<(App, App), Refusal> {
    scope(|scope| {
        let office = scope.spawn(|| App::open(&folder.join("office"), Kind::Office));
        Ok((App::open(&folder.join("phone"), Kind::Phone)?, joined(office)?))
    })
}

/// Puts the yard into both: each has all entries and photos, so nothing waits in the outbox. The people come last, and
/// whatever is there already is left as it is.
fn plant(phone: &App, office: &App) -> Result<(), Refusal> {
    let baked: Baked = read()?;
    let (entries, photos) = planted(phone, office, &baked)?;
    let (photos, next) = (photos.as_slice(), AtomicUsize::new(0));
    let pin_hash = scope(|scope| {
        let pin_hash = scope.spawn(yard::pin_hash);
        let stores = [phone, office].map(|app| {
            let entries = &entries;
            scope.spawn(move || receive(app, entries))
        });
        let writers = [(); WRITERS]
            .map(|()| scope.spawn(|| keep_photos(photos, &next, [phone.photos(), office.photos()])));
        stores.into_iter().chain(writers).try_for_each(joined)?;
        joined(pin_hash)
    })?;
    scope(|scope| {
        let office = scope.spawn(|| yard::people(office, &pin_hash));
        yard::people(phone, &pin_hash)?;
        joined(office)
    })
}

/// A photo's bytes.
type Bytes = Cow<'static, [u8]>;

/// The entries as this phone and this office wrote them, the last one just now, with the photos they name; of a start
/// that was cut off, those it had put in.
fn planted(phone: &App, office: &App, baked: &Baked) -> Result<(Vec<Entry>, Vec<Bytes>), Refusal> {
    for app in [phone, office] {
        let mut had = entries_of(app)?;
        if !had.is_empty() {
            let photos = dated(&mut had, baked, |at, taken| {
                // As that start dated it: its own time with the offset it had.
                let minutes = taken
                    .signed_duration_since(at.naive_utc())
                    .num_seconds()
                    .checked_add(30)?
                    .div_euclid(60);
                Some(at.with_timezone(&FixedOffset::east_opt(
                    i32::try_from(minutes.checked_mul(60)?).ok()?,
                )?))
            })?;
            return Ok((had, photos));
        }
    }
    let last = baked.entries.iter().map(|entry| entry.at.as_str()).max();
    let now = clock::at(Utc::now()).unwrap_or_default();
    let later = ticks(&now)?.wrapping_sub(ticks(last.unwrap_or_default())?);
    let moved = |entry: &Entry| {
        let device = match entry.device {
            device if device == baked.phone => phone.store().device(),
            device if device == baked.office => office.store().device(),
            device => device,
        };
        let at = format!("{:016x}", ticks(&entry.at)?.wrapping_add(later));
        Ok(Entry {
            device,
            at,
            ..entry.clone()
        })
    };
    let mut entries = baked
        .entries
        .iter()
        .map(moved)
        .collect::<Result<Vec<_>, Refusal>>()?;
    let photos = dated(&mut entries, baked, |at, _| {
        Some(at.with_timezone(&Local).fixed_offset())
    })?;
    Ok((entries, photos))
}

/// The photos, in the order in which the entries bring them in, each as if it was taken just when it was brought in: its
/// file says so, and its entry names the file that does.
fn dated(
    entries: &mut [Entry],
    baked: &Baked,
    taken_at: impl Fn(DateTime<Utc>, NaiveDateTime) -> Option<DateTime<FixedOffset>>,
) -> Result<Vec<Bytes>, Refusal> {
    let mut all = baked.photos.iter();
    let mut made = Vec::new();
    for entry in entries {
        let What::Photo {
            sha256,
            change: PhotoChange::Added { taken, .. },
        } = &mut entry.what
        else {
            continue;
        };
        let photo = all
            .next()
            .ok_or_else(|| yard::wrong("more photos are named than kept"))?;
        let mut bytes = photo.bytes()?;
        let at = taken.zip(clock::wall(&entry.at)).filter(|_| photo.file != OLD);
        if let Some(at) = at.and_then(|(taken, at)| taken_at(at, taken)) {
            date(bytes.to_mut(), at)?;
            *taken = Some(at.naive_local().trunc_subsecs(0));
            *sha256 = bowseam_photos::sha256(&bytes);
        }
        made.push(bytes);
    }
    Ok(made)
}

/// Writes the time of its taking into a photo of the demo; both forms are as long as what stands there.
fn date(bytes: &mut [u8], at: DateTime<FixedOffset>) -> Result<(), Refusal> {
    let none = || yard::wrong("a photo says no time of its taking");
    let head = bytes.get_mut(..HEAD).ok_or_else(none)?;
    let offset = head
        .windows(OFFSET.len())
        .position(|text| text == OFFSET.as_bytes())
        .ok_or_else(none)?;
    let (time, said) = (at.format(TIME).to_string(), at.format("%:z").to_string());
    // The time stands before its offset, with the zero that ends it.
    let begin = offset
        .checked_sub(time.len().saturating_add(1))
        .ok_or_else(none)?;
    for (place, text) in [(begin, time), (offset, said)] {
        let end = place.saturating_add(text.len());
        head.get_mut(place..end)
            .ok_or_else(none)?
            .copy_from_slice(text.as_bytes());
    }
    Ok(())
}

/// An entry's time as a number: see [`clock`].
fn ticks(at: &str) -> Result<u64, Refusal> {
    u64::from_str_radix(at, 16).map_err(|e| yard::wrong(&format!("the time {at:?}: {e}")))
}

fn receive(app: &App, entries: &[Entry]) -> Result<(), Refusal> {
    yard::settings(app)?;
    for receipt in app.store().receive(entries)? {
        if let Outcome::Refused { why } = receipt.outcome {
            return Err(yard::wrong(&why));
        }
    }
    Ok(())
}

/// Keeps photos in both folders, always the next that nobody took.
fn keep_photos(
    photos: &[Bytes],
    next: &AtomicUsize,
    folders: [&bowseam_photos::Folder; 2],
) -> Result<(), Refusal> {
    while let Some(photo) = photos.get(next.fetch_add(1, Ordering::Relaxed)) {
        for folder in folders {
            folder.keep(photo)?;
        }
    }
    Ok(())
}

fn entries_of(app: &App) -> Result<Vec<Entry>, Refusal> {
    let all = app.store().entries_after(0, usize::MAX)?;
    Ok(all.into_iter().map(|(_, entry)| entry).collect())
}

/// What a thread brought; a panic in it goes on here.
fn joined<T>(thread: ScopedJoinHandle<'_, T>) -> T {
    thread
        .join()
        .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
}

#[cfg(test)]
#[path = "baked_tests.rs"]
mod tests;
