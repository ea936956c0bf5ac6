//! The room of a folder that only holds what was fetched from behind it: bounded, and what was not used for longest goes
//! first. Originals and copies count alike; each can be had again.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, SystemTime};

use crate::error::Result;

/// Bytes that are held where nobody says another number: some thousand photos, and little of a server's disk.
pub const ROOM: u64 = 10 << 30;
/// Whoever asked for a file has read it after so long; until then it stays.
const IN_USE: Duration = Duration::from_secs(60);

/// How much may be held, and how much is.
#[derive(Debug)]
pub struct Room {
    most: u64,
    held: AtomicU64,
    /// One sweeps at a time.
    sweeping: Mutex<()>,
}

/// A file that is held.
struct Held {
    used: SystemTime,
    bytes: u64,
    path: PathBuf,
}

impl Room {
    /// Of a folder as it is.
    pub fn of(root: &Path, most: u64) -> Result<Self> {
        let held = all(root)?
            .iter()
            .fold(0_u64, |sum, one| sum.saturating_add(one.bytes));
        let room = Self {
            most,
            held: AtomicU64::new(held),
            sweeping: Mutex::new(()),
        };
        room.taken(root, 0);
        Ok(room)
    }

    /// So many bytes more are held; where that is too much, others go.
    pub fn taken(&self, root: &Path, bytes: usize) {
        let bytes = u64::try_from(bytes).unwrap_or(u64::MAX);
        let held = self
            .held
            .fetch_add(bytes, Ordering::Relaxed)
            .saturating_add(bytes);
        if held > self.most
            && let Ok(_one) = self.sweeping.try_lock()
            // What cannot be looked at now is looked at with the next file.
            && let Ok(left) = sweep(root, self.most)
        {
            // Where too much is in use, the next look is after some more, not with each.
            let most = self.most.saturating_sub(self.most / 16);
            self.held.store(left.min(most), Ordering::Relaxed);
        }
    }
}

/// Notes that a file is used now; whether it is here.
pub fn use_now(place: &Path) -> bool {
    // Where the time cannot be set it counts as used when it came.
    File::options()
        .append(true)
        .open(place)
        .map(|file| file.set_modified(SystemTime::now()))
        .is_ok()
}

/// Removes what was not used for longest until a quarter of the room is free; answers the bytes left.
fn sweep(root: &Path, most: u64) -> Result<u64> {
    let mut all = all(root)?;
    all.sort_by_key(|one| one.used);
    let mut left = all.iter().fold(0_u64, |sum, one| sum.saturating_add(one.bytes));
    let enough = most.saturating_sub(most / 4);
    for one in all {
        // Sorted: what follows is in use too. A clock that went back makes a file old.
        let in_use = one.used.elapsed().is_ok_and(|since| since < IN_USE);
        if left <= enough || in_use {
            break;
        }
        if fs::remove_file(&one.path).is_ok() {
            left = left.saturating_sub(one.bytes);
        }
    }
    Ok(left)
}

fn all(root: &Path) -> Result<Vec<Held>> {
    let mut folders = vec![root.join("copies/large"), root.join("copies/small")];
    for shelf in fs::read_dir(root.join("originals"))? {
        folders.push(shelf?.path());
    }
    let mut all = Vec::new();
    for folder in folders {
        for file in fs::read_dir(folder)? {
            let file = file?;
            // Gone meanwhile: then it takes no room.
            if let Ok(meta) = file.metadata() {
                all.push(Held {
                    used: meta.modified()?,
                    bytes: meta.len(),
                    path: file.path(),
                });
            }
        }
    }
    Ok(all)
}
