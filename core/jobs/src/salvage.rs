//! What happens when the file with the jobs is damaged: it is set aside, never deleted, and the entries that
//! can still be read are taken over into a new one.
//!
//! SQLite gives up at the first damaged page of a tree, so the file is read page by page instead, whatever
//! tree a page belonged to: every row that holds the whole JSON of an entry is one. Pages in the write-ahead
//! log are newer than those in the file and are read in their place. Entries are append-only and carry all
//! that is in the other tables but settings and people, which are read as SQL allows.
//!
//! The new file is complete before the damaged one is moved, so that a dead battery in between loses nothing.
//! All entries are queued for the office again (it says so if it has them), and the device gets a new id: the
//! numbers of entries that were lost must not be given out twice.

use crate::{
    entry::Entry,
    outbox,
    save::{insert, rebuild},
    store::{FILE, Result, connect},
};
use chrono::Utc;
use rusqlite::{Connection, OpenFlags, types::Value};
use std::{
    collections::{BTreeMap, HashSet},
    fs,
    path::{Path, PathBuf},
};
use uuid::Uuid;

/// The new file while it is being filled, and until the damaged one is out of its place.
const NEW: &str = "jobs.new.sqlite";
/// What SQLite puts beside its file.
const BESIDE: [&str; 3] = ["", "-wal", "-shm"];

/// A damaged file was set aside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Salvage {
    /// Where it is now.
    pub set_aside: PathBuf,
    /// How many entries were taken over.
    pub entries: usize,
    /// Of how many jobs.
    pub jobs: usize,
    /// Whether settings and people came over whole.
    pub settings: bool,
}

impl std::fmt::Display for Salvage {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "The file with the jobs was damaged. {} changes of {} jobs could be read and were taken over; they will be \
             sent again. Look through the jobs you worked on last. The damaged file is kept as {}.",
            self.entries,
            self.jobs,
            self.set_aside.display()
        )?;
        if !self.settings {
            write!(f, " Settings or people may be missing: look through them.")?;
        }
        Ok(())
    }
}

fn beside(file: &Path, suffix: &str) -> PathBuf {
    let mut name = file.as_os_str().to_owned();
    name.push(suffix);
    name.into()
}

/// A start that ended between the two renamings: the new file is complete, it only has to take its place.
pub(crate) fn finish_interrupted(folder: &Path) -> Result<()> {
    let (file, new) = (folder.join(FILE), folder.join(NEW));
    if new.exists() && !file.exists() {
        fs::rename(new, file)?;
    }
    Ok(())
}

/// Sets the damaged file aside and puts a new one with all that can be read in its place.
pub(crate) fn set_aside(folder: &Path) -> Result<Salvage> {
    let (file, new) = (folder.join(FILE), folder.join(NEW));
    for suffix in BESIDE {
        // What an earlier try left half filled; the damaged file is still in its place.
        let _ = fs::remove_file(beside(&new, suffix));
    }
    let wal = fs::read(beside(&file, "-wal")).unwrap_or_default();
    let entries = entries(&fs::read(&file)?, &wal);
    let jobs: HashSet<Uuid> = entries.iter().map(|entry| entry.job).collect();
    let settings = fill(&new, &entries, &file)?;

    let aside = folder.join(format!(
        "jobs.damaged-{}.sqlite",
        Utc::now().format("%Y-%m-%dT%H%M%S%.3fZ")
    ));
    for suffix in ["-wal", "-shm", ""] {
        let from = beside(&file, suffix);
        if from.exists() {
            fs::rename(from, beside(&aside, suffix))?;
        }
    }
    fs::rename(&new, &file)?;
    Ok(Salvage {
        set_aside: aside,
        entries: entries.len(),
        jobs: jobs.len(),
        settings,
    })
}

/// Fills the new file; whether settings and people could be read.
fn fill(new: &Path, entries: &[Entry], damaged: &Path) -> Result<bool> {
    let mut conn = connect(new)?;
    let tx = conn.transaction()?;
    let mut numbers = HashSet::new();
    for entry in entries {
        if numbers.insert((entry.device, entry.seq)) {
            let json = serde_json::to_string(entry)?;
            insert(&tx, entry, &json)?;
            outbox::queue(&tx, entry, json.len())?;
        }
    }
    rebuild(&tx)?;
    let settings = copy(&tx, damaged, "setting").is_ok() && copy(&tx, damaged, "person").is_ok();
    // An older file has no such table.
    let _ = copy(&tx, damaged, "apart");
    tx.commit()?;
    // One file, no log beside it: it is about to be renamed.
    conn.pragma_update(None, "journal_mode", "DELETE")?;
    Ok(settings)
}

/// Copies what SQL can read of a table, row by row until the damage; a file of an earlier version has fewer columns.
fn copy(tx: &Connection, damaged: &Path, table: &str) -> rusqlite::Result<()> {
    let old = Connection::open_with_flags(damaged, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    let mut select = old.prepare(&format!("SELECT * FROM {table}"))?;
    let names = select.column_names().join(", ");
    let columns = select.column_count();
    let places = vec!["?"; columns].join(", ");
    let mut insert = tx.prepare(&format!(
        "INSERT OR IGNORE INTO {table} ({names}) VALUES ({places})"
    ))?;
    let mut rows = select.query([])?;
    while let Some(row) = rows.next()? {
        let values: Vec<Value> = (0..columns)
            .map(|column| row.get(column))
            .collect::<rusqlite::Result<_>>()?;
        insert.execute(rusqlite::params_from_iter(values))?;
    }
    Ok(())
}

/// Every entry in a database file and its write-ahead log, each once, in order.
fn entries(file: &[u8], wal: &[u8]) -> Vec<Entry> {
    let pages = Pages::new(file, wal);
    let mut found: BTreeMap<(String, Uuid, u64, Uuid), Entry> = BTreeMap::new();
    for number in 1..=pages.count {
        for payload in pages.rows(number) {
            for text in texts(&payload) {
                if let Ok(entry) = serde_json::from_str::<Entry>(text) {
                    found.insert((entry.at.clone(), entry.device, entry.seq, entry.id), entry);
                }
            }
        }
    }
    found.into_values().collect()
}

/// The pages of a database: those of the file, in their place those of the log.
struct Pages<'a> {
    file: &'a [u8],
    size: usize,
    count: usize,
    newer: BTreeMap<usize, &'a [u8]>,
}

fn be32(bytes: &[u8], at: usize) -> Option<usize> {
    let word: [u8; 4] = bytes.get(at..at.checked_add(4)?)?.try_into().ok()?;
    usize::try_from(u32::from_be_bytes(word)).ok()
}

fn be16(bytes: &[u8], at: usize) -> Option<usize> {
    let word: [u8; 2] = bytes.get(at..at.checked_add(2)?)?.try_into().ok()?;
    Some(usize::from(u16::from_be_bytes(word)))
}

/// SQLite's variable-length number (file format, section 1.6) and how many bytes it takes.
fn varint(bytes: &[u8], at: usize) -> Option<(u64, usize)> {
    let mut value = 0u64;
    for place in 0usize..9 {
        let byte = *bytes.get(at.checked_add(place)?)?;
        if place == 8 {
            return Some(((value << 8) | u64::from(byte), 9));
        }
        value = (value << 7) | u64::from(byte & 0x7f);
        if byte & 0x80 == 0 {
            return Some((value, place.checked_add(1)?));
        }
    }
    None
}

impl<'a> Pages<'a> {
    fn new(file: &'a [u8], wal: &'a [u8]) -> Self {
        // The page size stands at byte 16 of the file and at byte 8 of the log; the default if neither is sound.
        let sound = |size: &usize| (512..=65536).contains(size) && size.is_power_of_two();
        let in_file = be16(file, 16).map(|size| if size == 1 { 65536 } else { size });
        let size = in_file
            .filter(sound)
            .or(be32(wal, 8).filter(sound))
            .unwrap_or(4096);
        let mut newer = BTreeMap::new();
        let frame = size.saturating_add(24);
        for frame in wal.get(32..).unwrap_or_default().chunks_exact(frame) {
            // A frame of an earlier round of the log has other salts.
            if let (Some(number), Some(page), true) = (
                be32(frame, 0),
                frame.get(24..),
                frame.get(8..16) == wal.get(16..24),
            ) {
                newer.insert(number, page);
            }
        }
        let in_file = file.len().div_ceil(size);
        let count = newer.keys().last().copied().unwrap_or(0).max(in_file);
        Self {
            file,
            size,
            count,
            newer,
        }
    }

    fn page(&self, number: usize) -> Option<&'a [u8]> {
        let start = number.checked_sub(1)?.checked_mul(self.size)?;
        self.newer
            .get(&number)
            .copied()
            .or_else(|| self.file.get(start..start.checked_add(self.size)?))
    }

    /// The records of a table's leaf page (file format, section 1.6), as far as they are sound.
    fn rows(&self, number: usize) -> Vec<Vec<u8>> {
        let header = if number == 1 { 100 } else { 0 };
        let Some(page) = self.page(number).filter(|page| page.get(header) == Some(&0x0d)) else {
            return Vec::new();
        };
        let cells = be16(page, header.saturating_add(3))
            .unwrap_or(0)
            .min(self.size / 4);
        let pointers = page
            .get(header.saturating_add(8)..)
            .unwrap_or_default()
            .chunks_exact(2)
            .take(cells);
        pointers
            .filter_map(|pointer| self.record(page, be16(pointer, 0)?))
            .collect()
    }

    /// One record, put together from its page and its chain of overflow pages.
    fn record(&self, page: &[u8], at: usize) -> Option<Vec<u8>> {
        let (length, used) = varint(page, at)?;
        let start = at.checked_add(used)?;
        let start = start.checked_add(varint(page, start)?.1)?;
        let length = usize::try_from(length)
            .ok()
            .filter(|length| *length <= 64 << 20)?;
        let most = self.size.checked_sub(35)?;
        if length <= most {
            return Some(page.get(start..start.checked_add(length)?)?.to_vec());
        }
        let least = self
            .size
            .checked_sub(12)?
            .checked_mul(32)?
            .checked_div(255)?
            .checked_sub(23)?;
        let rest = length
            .checked_sub(least)?
            .checked_rem(self.size.checked_sub(4)?)?;
        let local = Some(least.checked_add(rest)?)
            .filter(|local| *local <= most)
            .unwrap_or(least);
        let end = start.checked_add(local)?;
        let mut record = page.get(start..end)?.to_vec();
        let mut next = be32(page, end)?;
        while record.len() < length {
            let page = self.page(next)?;
            let part = length.checked_sub(record.len())?.min(self.size.checked_sub(4)?);
            record.extend_from_slice(page.get(4..part.checked_add(4)?)?);
            next = be32(page, 0)?;
        }
        Some(record)
    }
}

/// The text columns of a record (file format, section 2.1).
fn texts(record: &[u8]) -> Vec<&str> {
    let mut texts = Vec::new();
    let _ = (|| {
        let (header, mut at) = varint(record, 0)?;
        let header = usize::try_from(header).ok()?;
        let mut body = header;
        while at < header {
            let (kind, used) = varint(record, at)?;
            at = at.checked_add(used)?;
            let length = match kind {
                0 | 8 | 9 => 0,
                1..=4 => kind,
                5 => 6,
                6 | 7 => 8,
                _ => kind.checked_sub(12)? / 2,
            };
            let end = body.checked_add(usize::try_from(length).ok()?)?;
            let text = record.get(body..end)?;
            if kind >= 13 && kind % 2 == 1 {
                texts.extend(std::str::from_utf8(text));
            }
            body = end;
        }
        Some(())
    })();
    texts
}
