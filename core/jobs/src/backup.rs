//! A copy of a whole store in one file, made while it is in use, and taken over into an empty store, also into one that
//! follows a log. What a copy holds is said as one hash, so that two stores can be compared.

use crate::{
    error::Error,
    session::EPOCH,
    shared::{TABLES, forget_following},
    store::{FILE, Result, Store},
};
use rusqlite::{Connection, OpenFlags, backup::Backup, params};
use sha2::{Digest, Sha256};
use std::{fs::File, io, path::Path};

/// Entries that are taken over in one transaction.
const AT_A_TIME: i64 = 5000;

/// What a file holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Content {
    /// How many entries.
    pub entries: u64,
    /// SHA-256 of all entries in their order and of what is kept beside them (people, settings, what is apart), as 64
    /// hexadecimal characters. Who is signed in does not count.
    pub sha256: String,
}

fn read_only(file: &Path) -> Result<Connection> {
    let conn = Connection::open_with_flags(file, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    conn.busy_timeout(std::time::Duration::from_secs(20))?;
    Ok(conn)
}

/// Copies the store of a folder as it is at one moment, also while a program has it open and writes.
///
/// # Errors
/// There is no store, or the copy cannot be written.
pub fn copy(folder: &Path, to: &Path) -> Result<()> {
    let file = folder.join(FILE);
    if !file.is_file() {
        let sentence = format!(
            "There are no jobs in {}. Name an office's data folder.",
            folder.display()
        );
        return Err(Error::Refused(sentence));
    }
    let from = read_only(&file)?;
    let mut copy = Connection::open(to)?;
    // In one step: in several, each change of the program meanwhile would start it anew.
    Backup::new(&from, &mut copy)?.step(-1)?;
    copy.pragma_update(None, "journal_mode", "DELETE")?;
    forget_following(&copy)?;
    // Where it is restored phones are told by another one, and send again what came in since.
    copy.execute("DELETE FROM setting WHERE key = ?1", [EPOCH])?;
    copy.execute("DELETE FROM session", [])?;
    Ok(())
}

/// Looks at every page of a file, and what it holds.
///
/// # Errors
/// `damaged`, or it cannot be read.
pub fn content(file: &Path) -> Result<Content> {
    let conn = read_only(file)?;
    let verdict: String = conn.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
    if verdict != "ok" {
        let code = rusqlite::ffi::Error::new(rusqlite::ffi::SQLITE_CORRUPT);
        return Err(Error::Damaged(rusqlite::Error::SqliteFailure(
            code,
            Some(verdict),
        )));
    }
    let mut hash = Sha256::new();
    let mut say = |text: &str| {
        hash.update(text);
        hash.update("\n");
    };
    let mut entries = 0_u64;
    each(&conn, "SELECT json FROM entry ORDER BY n", &mut |json| {
        entries = entries.saturating_add(1);
        say(json);
        Ok(())
    })?;
    for table in TABLES.iter().filter(|table| table.is_kept()) {
        each(&conn, &table.rows(), &mut |json| {
            say(json);
            Ok(())
        })?;
    }
    Ok(Content {
        entries,
        sha256: hex(hash),
    })
}

/// SHA-256 of a file as it is, 64 hexadecimal characters: read in pieces, since a large yard takes gigabytes.
///
/// # Errors
/// The file cannot be read.
pub fn file_sha256(file: &Path) -> io::Result<String> {
    let mut hash = Sha256::new();
    io::copy(&mut File::open(file)?, &mut hash)?;
    Ok(hex(hash))
}

fn hex(hash: Sha256) -> String {
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

fn each(conn: &Connection, sql: &str, take: &mut dyn FnMut(&str) -> Result<()>) -> Result<()> {
    let mut statement = conn.prepare(sql)?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        take(row.get_ref(0)?.as_str().map_err(rusqlite::Error::from)?)?;
    }
    Ok(())
}

impl Store {
    /// Whether nothing is here: no entry and nobody.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn is_empty(&self) -> Result<bool> {
        self.read(|conn, _| {
            let sql = "SELECT NOT EXISTS (SELECT 1 FROM entry) AND NOT EXISTS (SELECT 1 FROM person)";
            Ok(conn.query_row(sql, [], |row| row.get(0))?)
        })
    }

    /// Takes over all that a copy holds into this store, which is empty. Entries keep their numbers, so that the phones'
    /// cursors stay good.
    ///
    /// # Errors
    /// This store is not empty, or something of the copy does not fit.
    pub fn take_over(&self, file: &Path) -> Result<()> {
        if !self.is_empty()? {
            return Err(Error::Refused(
                "A backup is restored into an empty place only; here is an office already.".into(),
            ));
        }
        let from = read_only(file)?;
        for table in TABLES.iter().filter(|table| table.is_kept()) {
            self.write(|tx, _| each(&from, &table.rows(), &mut |json| table.put(tx, json)))?;
        }
        let mut last = 0_i64;
        loop {
            let mut statement =
                from.prepare_cached("SELECT n, json FROM entry WHERE n > ?1 ORDER BY n LIMIT ?2")?;
            let rows = statement.query_map(params![last, AT_A_TIME], |row| {
                Ok((row.get::<_, i64>(0)?, row.get::<_, String>(1)?))
            })?;
            let (numbers, entries): (Vec<i64>, Vec<String>) =
                rows.collect::<rusqlite::Result<Vec<_>>>()?.into_iter().unzip();
            let Some(end) = numbers.last() else {
                return Ok(());
            };
            last = *end;
            self.write(|tx, state| {
                let jobs = state.follow(tx, &entries)?;
                state.summarize(tx, jobs)
            })?;
        }
    }
}
