//! Work of a phone that was taken back: whoever has that phone may have written it. It is neither taken into the jobs
//! nor lost unseen: it is kept apart until a supervisor takes it in, entry by entry as it came.

use crate::{
    entry::Entry,
    error::Error,
    store::{Result, Store},
};
use chrono::{DateTime, Utc};
use rusqlite::params;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// So many entries of one phone are kept apart: somebody may fill the disk with it.
const MOST: i64 = 20_000;

/// As it is stored: not as an entry, so that nothing that looks for entries in a damaged file takes it for one.
#[derive(Serialize, Deserialize)]
struct Kept<T> {
    apart: T,
}

/// What is kept apart of one phone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Apart {
    /// The phone.
    pub device: Uuid,
    /// How many entries.
    pub entries: u64,
    /// How many jobs they belong to.
    pub jobs: u64,
    /// When the last one came.
    pub last: DateTime<Utc>,
}

impl Store {
    /// Keeps entries of one phone apart; one that is apart already changes nothing.
    ///
    /// # Errors
    /// Too many are apart, or the store cannot be written.
    pub fn set_apart(&self, device: Uuid, entries: &[Entry], now: DateTime<Utc>) -> Result<()> {
        self.write(|tx, _| {
            let apart: i64 = tx
                .prepare_cached("SELECT count(*) FROM apart WHERE device = ?1")?
                .query_row([device.as_bytes()], |row| row.get(0))?;
            if apart >= MOST {
                return Err(Error::Refused(format!("At most {MOST} changes of one phone are kept apart.")));
            }
            let mut statement = tx.prepare_cached(
                "INSERT INTO apart (id, device, job, json, at) VALUES (?1, ?2, ?3, ?4, ?5) ON CONFLICT DO NOTHING",
            )?;
            for entry in entries {
                statement.execute(params![
                    entry.id.as_bytes(),
                    device.as_bytes(),
                    entry.job.as_bytes(),
                    serde_json::to_string(&Kept { apart: entry })?,
                    now.timestamp_millis()
                ])?;
            }
            Ok(())
        })
    }

    /// What is kept apart, phone by phone.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn apart(&self) -> Result<Vec<Apart>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached(
                "SELECT device, count(*), count(DISTINCT job), max(at) FROM apart GROUP BY device ORDER BY device",
            )?;
            let rows = statement.query_map([], |row| {
                Ok(Apart {
                    device: Uuid::from_bytes(row.get(0)?),
                    entries: row.get(1)?,
                    jobs: row.get(2)?,
                    last: DateTime::from_timestamp_millis(row.get(3)?).unwrap_or_default(),
                })
            })?;
            Ok(rows.collect::<rusqlite::Result<_>>()?)
        })
    }

    /// The entries of one phone that are apart, in the order they came.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn apart_of(&self, device: Uuid) -> Result<Vec<Entry>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached("SELECT json FROM apart WHERE device = ?1 ORDER BY n")?;
            let rows = statement.query_map([device.as_bytes()], |row| row.get::<_, String>(0))?;
            let rows: Vec<String> = rows.collect::<rusqlite::Result<_>>()?;
            rows.iter()
                .map(|json| Ok(serde_json::from_str::<Kept<Entry>>(json)?.apart))
                .collect()
        })
    }

    /// Entries that are in the jobs now are not apart any more; the others stay.
    ///
    /// # Errors
    /// The store cannot be written.
    pub fn no_more_apart(&self, device: Uuid) -> Result<()> {
        self.write(|tx, _| {
            tx.prepare_cached("DELETE FROM apart WHERE device = ?1 AND id IN (SELECT id FROM entry)")?
                .execute([device.as_bytes()])?;
            Ok(())
        })
    }
}
