//! The store: one SQLite file in one folder, open in one program at a time.
//!
//! Saving a change is one transaction: the entries, what the yard list shows, and what goes to the office are
//! all there or none is. WAL with `synchronous = FULL`: when `append` returns, the change survives a dead
//! battery. One connection behind a mutex, since SQLite has one writer anyway and a second one would only
//! bring waiting and busy errors. The jobs last worked on are kept folded, so that saving does not read the
//! history again.

use crate::{
    clock::Clock,
    entry::{Entry, Hold, RollAnswer, What},
    error::Error,
    fold::order,
    job::{Job, Stage},
    salvage::{self, Salvage},
    save::{State, rebuild},
    shared::{self, Log},
};
use chrono::{DateTime, Utc};
use fs4::TryLockError;
use rusqlite::{Connection, OptionalExtension, Row, TransactionBehavior, params, params_from_iter};
use rusqlite_migration::{M, Migrations};
use serde::{Deserialize, Serialize};
use std::{
    collections::BTreeSet,
    fs::{self, File},
    path::{Path, PathBuf},
    sync::{Mutex, MutexGuard, PoisonError},
};
use uuid::Uuid;

pub(crate) type Result<T> = std::result::Result<T, Error>;

/// The file's name in the folder.
pub(crate) const FILE: &str = "jobs.sqlite";
/// Written when a read met damage: the next start looks at every page.
const SUSPECT: &str = "jobs.suspect";
/// Up to this size every page is looked at on every start: it takes a fraction of a second.
const CHECK_UP_TO: u64 = 32 << 20;
/// Words of a text that jobs are looked for by.
const MOST_WORDS: usize = 16;
/// Raised when what the yard list shows changes: every job is then read off its entries again.
const SUMMARY_VERSION: i64 = 6;

const MIGRATIONS: &[M<'static>] = &[
    M::up(include_str!("../schema/v1.sql")),
    M::up(include_str!("../schema/v2.sql")),
    M::up(include_str!("../schema/v3.sql")),
    M::up(include_str!("../schema/v4.sql")),
    M::up(include_str!("../schema/v5.sql")),
    M::up(include_str!("../schema/v6.sql")),
    M::up(include_str!("../schema/v7.sql")),
    M::up(include_str!("../schema/v8.sql")),
    M::up(include_str!("../schema/v9.sql")),
];

/// The jobs of one folder.
pub struct Store {
    inner: Mutex<Inner>,
    folder: PathBuf,
    /// Held as long as the store is open.
    _lock: File,
}

/// A store that was opened, and what happened if its file was damaged.
pub struct Opened {
    /// The store.
    pub store: Store,
    /// Set when a damaged file was set aside.
    pub salvage: Option<Salvage>,
}

pub(crate) struct Inner {
    pub(crate) conn: Connection,
    pub(crate) state: State,
    /// Where this store follows a log that others share.
    pub(crate) log: Option<Box<dyn Log>>,
}

/// One line of the yard list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// The job.
    pub id: Uuid,
    /// The unit's number.
    pub unit: String,
    /// The VIN as entered, or empty.
    pub vin: String,
    /// The yard slot, or empty.
    pub slot: String,
    /// The stage.
    pub stage: Stage,
    /// When the last entry was written.
    pub last: Option<DateTime<Utc>>,
    /// May it roll?
    pub roll: Option<RollAnswer>,
    /// On hold, and why.
    pub hold: Option<Hold>,
    /// How many marks.
    pub marks: usize,
    /// How many photos.
    pub photos: usize,
    /// How many were found more.
    pub found: usize,
    /// How many figures that were sent have no answer yet: of the whole job and of each *found more* the newest.
    pub unanswered: usize,
    /// How many of these are of a *found more*.
    pub unanswered_found: usize,
    /// Since when the oldest of these waits.
    #[serde(default)]
    pub asked_since: Option<DateTime<Utc>>,
    /// Its roof was opened, and Proof does not stand yet.
    #[serde(default)]
    pub roof_open: bool,
    /// How many clashes.
    pub clashes: usize,
    /// How many entries this program does not know.
    pub not_known: u32,
    /// Items in the outbox that the office does not have yet.
    #[serde(default)]
    pub unsent: u64,
    /// Of these, stuck.
    #[serde(default)]
    pub stuck: u64,
}

/// Where a page of the yard list ends.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cursor {
    last: String,
    id: Uuid,
}

/// What became of an entry from elsewhere.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Receipt {
    /// The entry.
    pub id: Uuid,
    /// What became of it.
    pub outcome: Outcome,
}

/// See [`Receipt`]. The first two both mean: it is here durably.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "outcome")]
pub enum Outcome {
    /// New, and stored.
    Taken,
    /// It was here already.
    Had,
    /// Not stored.
    Refused {
        /// Why, in a sentence.
        why: String,
    },
}

impl Store {
    /// Opens the jobs in a folder, which is made if it is not there. A damaged file is set aside and what can
    /// be read of it is taken over. Refused while another program has the folder open.
    pub fn open(folder: &Path) -> Result<Opened> {
        let read_only = |source| Error::ReadOnly {
            folder: folder.to_owned(),
            source,
        };
        fs::create_dir_all(folder).map_err(read_only)?;
        let lock = File::options()
            .create(true)
            .truncate(false)
            .write(true)
            .open(folder.join("jobs.lock"))
            .map_err(read_only)?;
        // Not the lock of std, which answers *unsupported* on Android.
        match fs4::FileExt::try_lock(&lock) {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(Error::InUse(folder.to_owned())),
            Err(TryLockError::Error(error)) => return Err(error.into()),
        }
        salvage::finish_interrupted(folder)?;
        let (mut conn, salvage) = match connect_checked(folder) {
            Err(Error::Damaged(_)) => {
                let salvage = salvage::set_aside(folder)?;
                (connect(&folder.join(FILE))?, Some(salvage))
            }
            other => (other?, None),
        };
        let _ = fs::remove_file(folder.join(SUSPECT));
        prepare(&mut conn)?;
        let device = our_device(&conn)?;
        let clock = Clock::new();
        let ours: Option<String> = conn
            .query_row(
                "SELECT at FROM entry WHERE device = ?1 ORDER BY seq DESC LIMIT 1",
                [device.as_bytes()],
                |row| row.get(0),
            )
            .optional()?;
        ours.iter().for_each(|at| clock.saw(at));
        let inner = Mutex::new(Inner {
            conn,
            state: State::new(clock, device),
            log: None,
        });
        Ok(Opened {
            store: Store {
                inner,
                folder: folder.to_owned(),
                _lock: lock,
            },
            salvage,
        })
    }

    /// The device whose entries are written here.
    pub fn device(&self) -> Uuid {
        self.lock().state.device
    }

    /// Saves changes of one act as entries, all or none; they are durable when this returns. Photos that the
    /// changes name are queued for the office first, then the entries.
    pub fn append(&self, job: Uuid, person: Uuid, act: Uuid, whats: Vec<What>) -> Result<Vec<Entry>> {
        if whats.iter().any(|what| matches!(what, What::NotKnown(_))) {
            return Err(Error::Refused(
                "A change of a kind that this program does not know cannot be made here.".into(),
            ));
        }
        self.write(|tx, state| state.append(tx, job, person, act, whats))
    }

    /// Takes entries from elsewhere. May be repeated with any of them, in any order; one that is refused does
    /// not keep the others out. They are not queued for the office.
    pub fn receive(&self, entries: &[Entry]) -> Result<Vec<Receipt>> {
        self.write(|tx, state| state.receive(tx, entries))
    }

    /// The job as it stands; `None` if no entry of it is here.
    pub fn job(&self, id: Uuid) -> Result<Option<Job>> {
        self.read(|conn, state| {
            let registers = state.folded(conn, id)?;
            Ok(registers.entries().next().is_some().then(|| registers.job(id)))
        })
    }

    /// The yard list, newest first: at most `limit` jobs after the cursor, and the cursor for the next page
    /// (`None` at the end).
    pub fn jobs(&self, limit: usize, after: Option<&Cursor>) -> Result<(Vec<Summary>, Option<Cursor>)> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached(&format!(
                "{SUMMARY} WHERE (j.last, j.id) < (?1, ?2) ORDER BY j.last DESC, j.id DESC LIMIT ?3"
            ))?;
            // 'g' sorts after every hexadecimal digit.
            let (last, id) = after.map_or(("g", Uuid::max()), |cursor| (&cursor.last, cursor.id));
            let rows = statement.query_map(params![last, id.as_bytes(), as_i64(limit)], summary_row)?;
            let rows: Vec<_> = rows.collect::<rusqlite::Result<_>>()?;
            let cursor = match rows.last() {
                Some((last, id, ..)) if rows.len() == limit => Some(Cursor {
                    last: last.clone(),
                    id: Uuid::from_bytes(*id),
                }),
                _ => None,
            };
            Ok((rows.into_iter().map(read_summary).collect::<Result<_>>()?, cursor))
        })
    }

    /// Jobs with figures that wait for the office's answer, newest first, at most `limit`.
    pub fn unanswered(&self, limit: usize) -> Result<Vec<Summary>> {
        self.read(|conn, _| {
            // The condition is the index's own, to the letter.
            let mut statement = conn.prepare_cached(&format!(
                "{SUMMARY} WHERE iif(json_valid(summary), summary ->> '$.unanswered', 0) > 0
                 ORDER BY summary ->> '$.unanswered_found' = 0 AND NOT coalesce(summary ->> '$.roof_open', 0),
                     summary ->> '$.hold' IS NOT NULL, summary ->> '$.asked_since', j.id LIMIT ?1"
            ))?;
            let rows = statement.query_map([as_i64(limit)], summary_row)?;
            rows.map(|row| read_summary(row?)).collect()
        })
    }

    /// All jobs of the unit with exactly this number, newest first.
    pub fn of_unit(&self, unit: &str) -> Result<Vec<Summary>> {
        self.read(|conn, _| {
            // The expression is the index's own, to the letter.
            let mut statement = conn.prepare_cached(&format!(
                "{SUMMARY} WHERE iif(json_valid(summary), summary ->> '$.unit', '') = ?1
                 ORDER BY j.last DESC, j.id DESC"
            ))?;
            let rows = statement.query_map([unit], summary_row)?;
            rows.map(|row| read_summary(row?)).collect()
        })
    }

    /// Jobs whose unit, VIN, plate, slot, order, payer or seal hold every word of the text (the first [`MOST_WORDS`] of
    /// it), newest first, at most 100.
    pub fn find(&self, text: &str) -> Result<Vec<Summary>> {
        self.read(|conn, _| {
            let text = text.to_lowercase();
            let words: Vec<&str> = text.split_whitespace().take(MOST_WORDS).collect();
            let all = "AND instr(find, ?) > 0 ".repeat(words.len());
            // The index holds all that the inner one reads.
            let mut statement = conn.prepare_cached(&format!(
                "{SUMMARY} JOIN (SELECT id FROM job WHERE TRUE {all} ORDER BY last DESC, id DESC LIMIT 100) AS f ON f.id = j.id
                 ORDER BY j.last DESC, j.id DESC"
            ))?;
            let rows = statement.query_map(params_from_iter(words), summary_row)?;
            rows.map(|row| read_summary(row?)).collect()
        })
    }

    /// The entries of a job in their order.
    pub fn entries(&self, job: Uuid) -> Result<Vec<Entry>> {
        self.entries_where(job, |_| true)
    }

    /// Those of them that are wanted.
    pub fn entries_where(&self, job: Uuid, wanted: impl Fn(&Entry) -> bool) -> Result<Vec<Entry>> {
        self.read(|conn, state| {
            let all = state.folded(conn, job)?.entries();
            let mut entries: Vec<Entry> = all.filter(|entry| wanted(entry)).cloned().collect();
            entries.sort_by(|a, b| order(a).cmp(&order(b)));
            Ok(entries)
        })
    }

    /// The number of the entry of a job that came last to this store: while it stays, so does the job.
    pub fn newest(&self, job: Uuid) -> Result<Option<i64>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached("SELECT max(n) FROM entry WHERE job = ?1")?;
            Ok(statement.query_row([job.as_bytes()], |row| row.get(0))?)
        })
    }

    /// A job's line of the yard list; `None` if no entry of it is here.
    pub fn summary(&self, job: Uuid) -> Result<Option<Summary>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached(&format!("{SUMMARY} WHERE j.id = ?1"))?;
            let row = statement.query_row([job.as_bytes()], summary_row).optional()?;
            row.map(read_summary).transpose()
        })
    }

    /// One entry.
    pub fn entry(&self, id: Uuid) -> Result<Option<Entry>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached("SELECT json FROM entry WHERE id = ?1")?;
            let json: Option<String> = statement
                .query_row([id.as_bytes()], |row| row.get(0))
                .optional()?;
            Ok(json.map(|json| serde_json::from_str(&json)).transpose()?)
        })
    }

    /// Entries in the order they came to this store, after the one numbered `after` (0: from the first), each
    /// with its number.
    pub fn entries_after(&self, after: i64, limit: usize) -> Result<Vec<(i64, Entry)>> {
        self.read(|conn, _| {
            let mut statement =
                conn.prepare_cached("SELECT n, json FROM entry WHERE n > ?1 ORDER BY n LIMIT ?2")?;
            let rows = statement.query_map(params![after, as_i64(limit)], |row| {
                Ok((row.get(0)?, row.get::<_, String>(1)?))
            })?;
            rows.map(|row| {
                row.map_err(Error::from)
                    .and_then(|(n, json)| Ok((n, serde_json::from_str(&json)?)))
            })
            .collect()
        })
    }

    /// The last act of this person on this device in this job that undo can take back: every entry of it is of
    /// a kind that can be ([`What::can_be_taken_back`]) and it is not taken back already. Append
    /// [`What::Undone`] with it to take it back.
    pub fn undo_last(&self, job: Uuid, person: Uuid) -> Result<Option<Uuid>> {
        self.read(|conn, state| {
            let device = state.device;
            let registers = state.folded(conn, job)?;
            let bound: BTreeSet<Uuid> = registers
                .entries()
                .filter(|e| !e.what.can_be_taken_back() || !registers.lives(e))
                .map(|e| e.act)
                .collect();
            let own = registers
                .entries()
                .filter(|e| e.device == device && e.person == person && !bound.contains(&e.act));
            Ok(own.max_by_key(|e| e.seq).map(|e| e.act))
        })
    }

    /// Reads every job off its entries again. What comes out is what was there.
    pub fn rebuild(&self) -> Result<()> {
        self.write_here(|tx, _| rebuild(tx))
    }

    /// Lets the file grow to this many pages and no more, as on a full disk (0: asks only); the pages it has.
    #[doc(hidden)]
    pub fn limit_pages_for_test(&self, pages: u32) -> Result<u32> {
        self.read(|conn, _| {
            if pages > 0 {
                conn.query_row(&format!("PRAGMA max_page_count = {pages}"), [], |_| Ok(()))?;
            }
            Ok(conn.query_row("PRAGMA page_count", [], |row| row.get(0))?)
        })
    }

    pub(crate) fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner
            .lock()
            .unwrap_or_else(|poisoned: PoisonError<MutexGuard<'_, Inner>>| {
                // Somebody panicked while saving: the transaction is gone, so must be what was folded in it.
                let mut inner = poisoned.into_inner();
                inner.state.forget();
                inner
            })
    }

    pub(crate) fn read<T>(&self, read: impl FnOnce(&Connection, &mut State) -> Result<T>) -> Result<T> {
        let inner = &mut *self.lock();
        read(&inner.conn, &mut inner.state).inspect_err(|error| self.note_damage(error))
    }

    /// One transaction. If it fails nothing is saved, and nothing that was folded in it is kept. Where the store follows
    /// a log, what was written is in the log first.
    pub(crate) fn write<T>(&self, write: impl FnOnce(&Connection, &mut State) -> Result<T>) -> Result<T> {
        let Inner { conn, state, log } = &mut *self.lock();
        let result = match log {
            Some(log) => shared::write(conn, state, &mut **log, write),
            None => transaction(conn, state, write),
        };
        if result.is_err() {
            state.forget();
        }
        result.inspect_err(|error| self.note_damage(error))
    }

    /// As [`Self::write`], of what is read off shared things and is made in each store: it goes into no log.
    pub(crate) fn write_here<T>(
        &self,
        write: impl FnOnce(&Connection, &mut State) -> Result<T>,
    ) -> Result<T> {
        let Inner { conn, state, .. } = &mut *self.lock();
        let result = transaction(conn, state, write);
        if result.is_err() {
            state.forget();
        }
        result.inspect_err(|error| self.note_damage(error))
    }

    /// As [`Self::write_here`], without waiting for the disk: all or nothing, and with the next change that is waited for.
    /// After a dead machine it may not have been.
    pub(crate) fn write_soon<T>(
        &self,
        write: impl FnOnce(&Connection, &mut State) -> Result<T>,
    ) -> Result<T> {
        let Inner { conn, state, log } = &mut *self.lock();
        let waits = log.is_none();
        if waits {
            conn.pragma_update(None, "synchronous", "NORMAL")?;
        }
        let result = transaction(conn, state, write);
        if waits {
            conn.pragma_update(None, "synchronous", "FULL")?;
        }
        if result.is_err() {
            state.forget();
        }
        result.inspect_err(|error| self.note_damage(error))
    }

    fn note_damage(&self, error: &Error) {
        if matches!(error, Error::Damaged(_)) {
            // Only makes the next start look closer; without it small files are looked at anyway.
            let _ = fs::write(self.folder.join(SUSPECT), b"");
        }
    }
}

fn transaction<T>(
    conn: &mut Connection,
    state: &mut State,
    write: impl FnOnce(&Connection, &mut State) -> Result<T>,
) -> Result<T> {
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let done = write(&tx, state)?;
    tx.commit()?;
    Ok(done)
}

/// Connects and, where the file is small or under suspicion, looks at every page.
fn connect_checked(folder: &Path) -> Result<Connection> {
    let file = folder.join(FILE);
    let length = fs::metadata(&file).map_or(0, |meta| meta.len());
    let conn = connect(&file)?;
    if length <= CHECK_UP_TO || folder.join(SUSPECT).exists() {
        let verdict: String = conn.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
        if verdict != "ok" {
            let code = rusqlite::ffi::Error::new(rusqlite::ffi::SQLITE_CORRUPT);
            return Err(Error::Damaged(rusqlite::Error::SqliteFailure(
                code,
                Some(verdict),
            )));
        }
    }
    Ok(conn)
}

/// Connects and brings the tables up to date.
pub(crate) fn connect(file: &Path) -> Result<Connection> {
    let mut conn = Connection::open(file)?;
    conn.set_prepared_statement_cache_capacity(64);
    conn.pragma_update(None, "journal_mode", "WAL")?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    conn.pragma_update(None, "temp_store", "MEMORY")?;
    conn.pragma_update(None, "foreign_keys", "ON")?;
    Migrations::from_slice(MIGRATIONS).to_latest(&mut conn)?;
    Ok(conn)
}

/// What a start finds undone: jobs read off by another version of the program, items that were on the way
/// when the program ended.
fn prepare(conn: &mut Connection) -> Result<()> {
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    tx.execute("UPDATE outbox SET state = 0 WHERE state = 1", [])?;
    let version = tx.query_row(
        "SELECT json FROM setting WHERE key = 'summary_version'",
        [],
        |row| row.get::<_, String>(0),
    );
    if version.optional()? != Some(SUMMARY_VERSION.to_string()) {
        rebuild(&tx)?;
        tx.execute(
            "INSERT INTO setting (key, json) VALUES ('summary_version', ?1) ON CONFLICT DO UPDATE SET json = excluded.json",
            [SUMMARY_VERSION.to_string()],
        )?;
    }
    Ok(tx.commit()?)
}

/// The id of the device that writes here, made at the first start.
fn our_device(conn: &Connection) -> Result<Uuid> {
    let id = conn
        .query_row("SELECT id FROM device WHERE ours = 1", [], |row| row.get(0))
        .optional()?;
    if let Some(id) = id {
        return Ok(Uuid::from_bytes(id));
    }
    let id = Uuid::now_v7();
    conn.execute("INSERT INTO device (id, ours) VALUES (?1, 1)", [id.as_bytes()])?;
    Ok(id)
}

pub(crate) const SUMMARY: &str = "SELECT j.last, j.id, j.summary,
    (SELECT coalesce(sum(items), 0) FROM outbox_sum AS s WHERE s.job = j.id AND s.state <> 2),
    (SELECT coalesce(sum(items), 0) FROM outbox_sum AS s WHERE s.job = j.id AND s.state = 3)
    FROM job AS j";

pub(crate) type SummaryRow = (String, [u8; 16], String, u64, u64);

pub(crate) fn summary_row(row: &Row<'_>) -> rusqlite::Result<SummaryRow> {
    Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?))
}

pub(crate) fn read_summary((_, _, json, unsent, stuck): SummaryRow) -> Result<Summary> {
    Ok(Summary {
        unsent,
        stuck,
        ..serde_json::from_str(&json)?
    })
}

pub(crate) fn as_i64(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}
