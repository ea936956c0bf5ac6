//! A store that follows a log which several programs share: the receivers of one office, any number of them.
//!
//! The log is the truth. Each receiver has a whole store of its own beside it, which may be thrown away at any time and
//! is filled from the log again. Every change goes through one gate ([`write`]): take the right to write, take over what
//! others wrote meanwhile, make the change here, put what changed into the log, and only once the log has it keep it
//! here. So all receivers see all changes in one order, and everything that a single store promises (one code is good
//! for one phone, a device counts its changes without a gap, a wrong PIN counts) is promised by many in the same words
//! of code. Entries have the same number `n` everywhere: a phone's cursor is good at each receiver.
//!
//! What is shared are entries and the tables in [`TABLES`]; lists and sums are read off them in each store. Which rows a
//! change touched is noted by triggers on this connection, so that no writer can forget to tell.

use crate::{
    error::Error,
    save::State,
    session::EPOCH,
    store::{Inner, Result, Store},
};
use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};
use std::{collections::BTreeSet, path::Path};
use uuid::Uuid;

/// So many changes of each kind are read of a log at a time, at most.
pub const MOST_CHANGES: usize = 2000;
/// Setting of a store that follows: the number of the last row that it took over.
const FOLLOWED: &str = "followed";

/// A row of a shared table as it is now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SharedRow {
    /// Its number among the rows.
    pub n: i64,
    /// Table.
    pub table: String,
    /// Key, as text.
    pub key: String,
    /// All its columns as JSON; none: the row is gone.
    pub json: Option<String>,
}

/// An entry as it stands in a log: the log knows no more of it than these.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Logged {
    /// Its number, from 1 on without a gap.
    pub n: i64,
    /// Its id.
    pub id: Uuid,
    /// Its job.
    pub job: Uuid,
    /// Who wrote it.
    pub device: Uuid,
    /// Its number there.
    pub seq: i64,
    /// The whole entry.
    pub json: String,
}

/// What is read of a log.
#[derive(Debug, Default)]
pub struct News {
    /// Rows, in their order.
    pub rows: Vec<SharedRow>,
    /// Number and JSON of entries, in their order.
    pub entries: Vec<(i64, String)>,
}

impl News {
    fn is_empty(&self) -> bool {
        self.rows.is_empty() && self.entries.is_empty()
    }

    /// Whether there may be more.
    fn is_full(&self) -> bool {
        self.rows.len() >= MOST_CHANGES || self.entries.len() >= MOST_CHANGES
    }
}

/// What is put at the end of a log.
#[derive(Debug, Default)]
pub struct Changes {
    /// Rows, in their order.
    pub rows: Vec<SharedRow>,
    /// Entries, in their order.
    pub entries: Vec<Logged>,
}

/// A log that several programs share.
pub trait Log: Send {
    /// The device in whose name all receivers of this office write; it names the log too.
    fn device(&self) -> Uuid;

    /// The id of the entry with this number.
    ///
    /// # Errors
    /// `away` if the log cannot be reached.
    fn entry_at(&mut self, n: i64) -> Result<Option<Uuid>>;

    /// Entries and rows after these numbers, in their order, at most [`MOST_CHANGES`] of each.
    ///
    /// # Errors
    /// `away` if the log cannot be reached.
    fn after(&mut self, entry: i64, row: i64) -> Result<News>;

    /// Takes the right to write, which nobody else has until [`Log::commit`] or [`Log::give_up`], and answers as
    /// [`Log::after`].
    ///
    /// # Errors
    /// `away` if the log cannot be reached, or somebody else kept the right for too long.
    fn begin(&mut self, entry: i64, row: i64) -> Result<News>;

    /// Puts changes at the end. When this returns they are durable, and the right to write is given back.
    ///
    /// # Errors
    /// `away` if the log cannot be reached. Whether it has the changes is not known then; the next reading tells.
    fn commit(&mut self, changes: &Changes) -> Result<()>;

    /// Gives the right to write back without a change.
    fn give_up(&mut self);
}

/// A table that is shared: its name, the columns of its key, all columns; those that start with `#` hold 16 bytes.
pub(crate) struct Table(&'static str, &'static [&'static str], &'static [&'static str]);

pub(crate) const TABLES: [Table; 5] = [
    Table("setting", &["key"], &["key", "json"]),
    Table(
        "person",
        &["#id"],
        &[
            "#id",
            "name",
            "roles",
            "may_release",
            "pin_hash",
            "wrong",
            "wait_until",
            "more",
            "password_hash",
        ],
    ),
    Table("apart", &["#id"], &["#id", "#device", "#job", "json", "at"]),
    Table("seen", &["#job", "#person"], &["#job", "#person", "n"]),
    Table("session", &["hash"], &["hash", "#person", "asked"]),
];

/// Settings that are about this one file.
const OWN: &str = "('summary_version', 'followed')";

impl Table {
    fn key(&self, of: &str) -> String {
        let columns = self.1.iter().map(|column| match column.strip_prefix('#') {
            Some(column) => format!("hex({of}{column})"),
            None => format!("{of}{column}"),
        });
        columns.collect::<Vec<_>>().join(" || ' ' || ")
    }

    /// Notes a row that was written, or is gone.
    fn triggers(&self) -> String {
        let Self(name, _, columns) = self;
        let (new, old) = (self.key("new."), self.key("old."));
        let all = columns.iter().map(|column| match column.strip_prefix('#') {
            Some(column) => format!("'{column}', hex(new.{column})"),
            None => format!("'{column}', new.{column}"),
        });
        let all = all.collect::<Vec<_>>().join(", ");
        let when = |of: &str| match *name {
            "setting" => format!("WHEN {of}.key NOT IN {OWN}"),
            _ => String::new(),
        };
        let [written, gone] = [when("new"), when("old")];
        let put = format!("INSERT OR REPLACE INTO changed VALUES ('{name}', {new}, json_object({all}));");
        format!(
            "CREATE TEMP TRIGGER follow_{name}_in AFTER INSERT ON main.{name} {written} BEGIN {put} END;
             CREATE TEMP TRIGGER follow_{name}_moved AFTER UPDATE ON main.{name} {written} BEGIN {put} END;
             CREATE TEMP TRIGGER follow_{name}_out AFTER DELETE ON main.{name} {gone} BEGIN
                 INSERT OR REPLACE INTO changed VALUES ('{name}', {old}, NULL); END;"
        )
    }

    /// Whether a backup holds it: all but who is signed in.
    pub(crate) fn is_kept(&self) -> bool {
        self.0 != "session"
    }

    /// The statement that reads every row as JSON, in the order of their keys.
    pub(crate) fn rows(&self) -> String {
        let Self(name, _, columns) = self;
        let all = columns.iter().map(|column| match column.strip_prefix('#') {
            Some(column) => format!("'{column}', hex({column})"),
            None => format!("'{column}', {column}"),
        });
        let own = match *name {
            "setting" => format!("WHERE key NOT IN {OWN} AND key <> '{EPOCH}'"),
            _ => String::new(),
        };
        let all = all.collect::<Vec<_>>().join(", ");
        format!(
            "SELECT json_object({all}) FROM {name} {own} ORDER BY {}",
            self.key("")
        )
    }

    /// Takes a row over.
    pub(crate) fn put(&self, tx: &Connection, json: &str) -> Result<()> {
        let Self(name, _, columns) = self;
        let plain = columns.iter().map(|column| column.trim_start_matches('#'));
        let values = columns.iter().map(|column| match column.strip_prefix('#') {
            Some(column) => format!("unhex(?1 ->> '{column}')"),
            None => format!("?1 ->> '{column}'"),
        });
        let (plain, values) = (plain.collect::<Vec<_>>(), values.collect::<Vec<_>>());
        let sql = format!(
            "INSERT OR REPLACE INTO {name} ({}) VALUES ({})",
            plain.join(", "),
            values.join(", ")
        );
        tx.prepare_cached(&sql)?.execute([json])?;
        Ok(())
    }

    fn remove(&self, tx: &Connection, key: &str) -> Result<()> {
        let sql = format!("DELETE FROM {} WHERE {} = ?1", self.0, self.key(""));
        tx.prepare_cached(&sql)?.execute([key])?;
        Ok(())
    }
}

fn of_table(name: &str) -> Result<&'static Table> {
    let table = TABLES.iter().find(|table| table.0 == name);
    table.ok_or(Error::Newer)
}

/// The numbers of the last entry and the last row that are here.
fn reached(conn: &Connection) -> Result<(i64, i64)> {
    let entry = conn
        .prepare_cached("SELECT coalesce(max(n), 0) FROM entry")?
        .query_row([], |row| row.get(0))?;
    let row: Option<String> = conn
        .prepare_cached("SELECT json FROM setting WHERE key = ?1")?
        .query_row([FOLLOWED], |row| row.get(0))
        .optional()?;
    Ok((entry, row.and_then(|n| n.parse().ok()).unwrap_or_default()))
}

fn note_reached(tx: &Connection, row: i64) -> Result<()> {
    tx.prepare_cached("INSERT OR REPLACE INTO setting (key, json) VALUES (?1, ?2)")?
        .execute(params![FOLLOWED, row.to_string()])?;
    Ok(())
}

/// A copy of a store that followed a log stands for itself.
pub(crate) fn forget_following(conn: &Connection) -> Result<()> {
    conn.execute("DELETE FROM setting WHERE key = ?1", [FOLLOWED])?;
    Ok(())
}

/// Takes changes of others over; answers the jobs whose lines are to be written anew.
fn apply(tx: &Connection, state: &mut State, news: News) -> Result<BTreeSet<Uuid>> {
    let (mut last, mut reached) = reached(tx)?;
    for SharedRow { n, table, key, json } in news.rows {
        let table = of_table(&table)?;
        match json {
            Some(json) => table.put(tx, &json)?,
            None => table.remove(tx, &key)?,
        }
        reached = reached.max(n);
    }
    let mut entries = Vec::with_capacity(news.entries.len());
    for (n, json) in news.entries {
        last = last.saturating_add(1);
        if n != last {
            return Err(Error::Away(format!("its entry {last} is missing")));
        }
        entries.push(json);
    }
    let jobs = state.follow(tx, &entries)?;
    note_reached(tx, reached)?;
    tx.prepare_cached("DELETE FROM changed")?.execute([])?;
    Ok(jobs)
}

/// What the change now in this transaction did: entries after this number, and rows that the triggers noted.
fn changes(tx: &Connection, entry: i64, mut row: i64) -> Result<(Changes, i64)> {
    let sql = "SELECT n, id, job, device, seq, json FROM entry WHERE n > ?1 ORDER BY n";
    let entries = tx
        .prepare_cached(sql)?
        .query_map([entry], |one| {
            Ok(Logged {
                n: one.get(0)?,
                id: Uuid::from_bytes(one.get(1)?),
                job: Uuid::from_bytes(one.get(2)?),
                device: Uuid::from_bytes(one.get(3)?),
                seq: one.get(4)?,
                json: one.get(5)?,
            })
        })?
        .collect::<rusqlite::Result<_>>()?;
    let rows = tx
        .prepare_cached("SELECT place, key, json FROM changed ORDER BY rowid")?
        .query_map([], |one| {
            row = row.saturating_add(1);
            Ok(SharedRow {
                n: row,
                table: one.get(0)?,
                key: one.get(1)?,
                json: one.get(2)?,
            })
        })?
        .collect::<rusqlite::Result<_>>()?;
    Ok((Changes { rows, entries }, row))
}

/// So many readings of a log are taken over in one transaction: a job whose entries lie in many of them is read off once.
const MOST_READINGS: usize = 10;

/// Reads the log to its end.
fn catch_up(conn: &mut Connection, state: &mut State, log: &mut dyn Log) -> Result<()> {
    loop {
        let (entry, row) = reached(conn)?;
        let mut news = log.after(entry, row)?;
        if news.is_empty() {
            return Ok(());
        }
        let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let (mut jobs, mut readings) = (BTreeSet::new(), 1_usize);
        let more = loop {
            let more = news.is_full();
            jobs.append(&mut apply(&tx, state, news)?);
            if !more || readings >= MOST_READINGS {
                break more;
            }
            let (entry, row) = reached(&tx)?;
            news = log.after(entry, row)?;
            readings = readings.saturating_add(1);
        };
        state.summarize(&tx, jobs)?;
        tx.commit()?;
        if !more {
            return Ok(());
        }
    }
}

/// The gate: see the head of this module.
pub(crate) fn write<T>(
    conn: &mut Connection,
    state: &mut State,
    log: &mut dyn Log,
    write: impl FnOnce(&Connection, &mut State) -> Result<T>,
) -> Result<T> {
    // What is long is read before the right to write is taken.
    catch_up(conn, state, log)?;
    let done = (|| {
        let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let (entry, row) = reached(&tx)?;
        let mut news = log.begin(entry, row)?;
        let mut jobs = BTreeSet::new();
        let (entry, row) = loop {
            let more = news.is_full();
            jobs.append(&mut apply(&tx, state, news)?);
            let (entry, row) = reached(&tx)?;
            if !more {
                break (entry, row);
            }
            news = log.after(entry, row)?;
        };
        state.summarize(&tx, jobs)?;
        let done = write(&tx, state)?;
        let (changes, row) = changes(&tx, entry, row)?;
        if !changes.rows.is_empty() || !changes.entries.is_empty() {
            note_reached(&tx, row)?;
            log.commit(&changes)?;
        }
        // Should this fail, the log has it, and the next reading brings it.
        tx.commit()?;
        Ok(done)
    })();
    log.give_up();
    done
}

impl Store {
    /// Opens a store that follows a log, in a folder that it has to itself. What is there and does not fit the log is
    /// thrown away and filled from the log again; a folder with jobs of its own is refused.
    ///
    /// # Errors
    /// As of [`Store::open`]; `away` if the log cannot be reached.
    pub fn follow(folder: &Path, mut log: Box<dyn Log>) -> Result<Self> {
        let opened = Self::open(folder)?;
        let fits = opened.store.fits(&mut *log)?;
        let store = if fits && opened.salvage.is_none() {
            opened.store
        } else {
            drop(opened);
            for end in ["", "-wal", "-shm"] {
                match std::fs::remove_file(folder.join(format!("{}{end}", crate::store::FILE))) {
                    Err(e) if e.kind() != std::io::ErrorKind::NotFound => return Err(e.into()),
                    _ => {}
                }
            }
            Self::open(folder)?.store
        };
        store.start_following(log)?;
        store.refresh()?;
        Ok(store)
    }

    /// Whether what is here can be of this log.
    fn fits(&self, log: &mut dyn Log) -> Result<bool> {
        let (entry, id, people, followed) = self.read(|conn, _| {
            let followed: bool = conn
                .prepare("SELECT 1 FROM setting WHERE key = ?1")?
                .exists([FOLLOWED])?;
            let people: i64 = conn.query_row("SELECT count(*) FROM person", [], |row| row.get(0))?;
            let (entry, _) = reached(conn)?;
            let id: Option<[u8; 16]> = conn
                .query_row("SELECT id FROM entry WHERE n = ?1", [entry], |row| row.get(0))
                .optional()?;
            Ok((entry, id.map(Uuid::from_bytes), people, followed))
        })?;
        if !followed {
            if entry > 0 || people > 0 {
                return Err(Error::Refused(
                    "This folder holds an office of its own. Give another folder with --data; to move the office into the database, back it up and restore the backup there.".into(),
                ));
            }
            return Ok(true);
        }
        Ok(self.device() == log.device() && (entry == 0 || log.entry_at(entry)? == id))
    }

    fn start_following(&self, log: Box<dyn Log>) -> Result<()> {
        let Inner {
            conn,
            state,
            log: slot,
        } = &mut *self.lock();
        // It can be filled again: what a dead machine forgets of it costs a reading of the log.
        conn.pragma_update(None, "synchronous", "NORMAL")?;
        conn.execute_batch(
            "CREATE TEMP TABLE changed (place TEXT, key TEXT, json TEXT, PRIMARY KEY (place, key))",
        )?;
        for table in &TABLES {
            conn.execute_batch(&table.triggers())?;
        }
        conn.execute("DELETE FROM device WHERE ours = 1", [])?;
        conn.execute(
            "INSERT OR REPLACE INTO device (id, ours) VALUES (?1, 1)",
            [log.device().as_bytes()],
        )?;
        state.device = log.device();
        let (_, row) = reached(conn)?;
        note_reached(conn, row)?;
        conn.execute("DELETE FROM changed", [])?;
        *slot = Some(log);
        Ok(())
    }

    /// Takes over what others wrote, where this store follows a log: what is read next is as new as this call.
    ///
    /// # Errors
    /// `away` if the log cannot be reached.
    pub fn refresh(&self) -> Result<()> {
        let Inner { conn, state, log } = &mut *self.lock();
        let Some(log) = log else { return Ok(()) };
        let done = catch_up(conn, state, &mut **log);
        if done.is_err() {
            state.forget();
        }
        done
    }
}
