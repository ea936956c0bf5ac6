//! Lists of the office: open jobs by the day they are promised for, those whose unit left, how far somebody has looked
//! at one. Rows that were figured are kept here and read back; nothing rests on them.
//!
//! A row costs some milliseconds to figure and there may be thousands: so the day it is ordered by stands beside the
//! job, and an index gives the first of them without looking at the others.

use crate::{
    entry::Entry,
    store::{Result, SUMMARY, Store, Summary, as_i64, read_summary, summary_row},
};
use chrono::NaiveDate;
use rusqlite::{OptionalExtension, params};
use serde::{Serialize, de::DeserializeOwned};
use uuid::Uuid;

/// A row to be kept: of which job, made of which newest entry ([`Store::newest`]), ordered by which day.
#[derive(Debug, Clone)]
pub struct KeptRow<T> {
    /// The job.
    pub job: Uuid,
    /// Its newest entry when the row was figured.
    pub n: i64,
    /// The day it is promised for.
    pub due: Option<NaiveDate>,
    /// The row.
    pub row: T,
}

impl Store {
    /// Rows that were kept with [`Self::keep_rows`] under this `made_with` and that nothing has come after since.
    pub fn kept_rows<T: DeserializeOwned>(&self, jobs: &[Uuid], made_with: &str) -> Result<Vec<(Uuid, T)>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached(
                "SELECT json FROM kept_row WHERE job = ?1 AND made_with = ?2
                 AND n = (SELECT max(n) FROM entry WHERE entry.job = kept_row.job)",
            )?;
            let mut rows = Vec::new();
            for job in jobs {
                let json: Option<String> = statement
                    .query_row(params![job.as_bytes(), made_with], |row| row.get(0))
                    .optional()?;
                // One that another program wrote is made anew.
                rows.extend(json.and_then(|json| Some((*job, serde_json::from_str(&json).ok()?))));
            }
            Ok(rows)
        })
    }

    /// Keeps rows of a list, figured with what `made_with` names.
    pub fn keep_rows<T: Serialize>(&self, rows: &[KeptRow<T>], made_with: &str) -> Result<()> {
        if rows.is_empty() {
            return Ok(());
        }
        self.write_here(|tx, _| {
            let mut keep = tx.prepare_cached(
                "INSERT OR REPLACE INTO kept_row (job, n, made_with, json, due) VALUES (?1, ?2, ?3, ?4, ?5)",
            )?;
            let mut order = tx.prepare_cached(
                "UPDATE job SET due = ?3, figured = ?4
                 WHERE id = ?1 AND ?2 = (SELECT max(n) FROM entry WHERE job = ?1)",
            )?;
            for kept in rows {
                let due = kept.due.map_or_else(|| "~".to_owned(), |day| day.to_string());
                let json = serde_json::to_string(&kept.row)?;
                keep.execute(params![kept.job.as_bytes(), kept.n, made_with, json, due])?;
                order.execute(params![kept.job.as_bytes(), kept.n, due, made_with])?;
            }
            Ok(())
        })
    }

    /// Open jobs, the one promised first before the others, those without a day last, at most `limit`.
    pub fn open_by_due(&self, limit: usize) -> Result<Vec<Summary>> {
        self.listed("j.open = 1 ORDER BY j.due, j.last DESC, j.id LIMIT ?1", limit)
    }

    /// Jobs whose unit left, the newest first, at most `limit`.
    pub fn left(&self, limit: usize) -> Result<Vec<Summary>> {
        self.listed("j.open = 0 ORDER BY j.last DESC, j.id DESC LIMIT ?1", limit)
    }

    fn listed(&self, which: &str, limit: usize) -> Result<Vec<Summary>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached(&format!("{SUMMARY} WHERE {which}"))?;
            let rows = statement.query_map([as_i64(limit)], summary_row)?;
            rows.map(|row| read_summary(row?)).collect()
        })
    }

    /// Jobs whose row is not figured with `made_with` as they stand now, at most `limit`; `open` ones or those
    /// whose unit left.
    pub fn not_figured(&self, made_with: &str, open: bool, limit: usize) -> Result<Vec<Uuid>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached(
                "SELECT id FROM job WHERE open = ?1 AND figured < ?2
                 UNION ALL SELECT id FROM job WHERE open = ?1 AND figured > ?2 LIMIT ?3",
            )?;
            let rows = statement.query_map(params![i64::from(open), made_with, as_i64(limit)], |row| {
                Ok(Uuid::from_bytes(row.get(0)?))
            })?;
            Ok(rows.collect::<rusqlite::Result<_>>()?)
        })
    }

    /// How many jobs are open, and of how many the unit left.
    pub fn how_many(&self) -> Result<(u64, u64)> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached("SELECT count(*) FROM job WHERE open = ?1")?;
            let open = statement.query_row([1], |row| row.get(0))?;
            Ok((open, statement.query_row([0], |row| row.get(0))?))
        })
    }

    /// Rows kept of jobs whose unit left, whatever they were figured with.
    pub fn rows_of_left<T: DeserializeOwned>(&self, made_with: &str) -> Result<Vec<T>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached(
                "SELECT k.json FROM job AS j JOIN kept_row AS k ON k.job = j.id WHERE j.open < 1 AND j.figured = ?1",
            )?;
            let rows = statement.query_map([made_with], |row| row.get::<_, String>(0))?;
            let rows: Vec<String> = rows.collect::<rusqlite::Result<_>>()?;
            Ok(rows.iter().filter_map(|json| serde_json::from_str(json).ok()).collect())
        })
    }

    /// Rows kept of open jobs, whatever they were figured with and whatever came after them.
    pub fn rows_of_open<T: DeserializeOwned>(&self) -> Result<Vec<(Uuid, T)>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached(
                "SELECT k.job, k.json FROM job AS j JOIN kept_row AS k ON k.job = j.id WHERE j.open = 1",
            )?;
            let rows = statement.query_map([], |row| {
                Ok((Uuid::from_bytes(row.get(0)?), row.get::<_, String>(1)?))
            })?;
            let rows: Vec<(Uuid, String)> = rows.collect::<rusqlite::Result<_>>()?;
            let read = |(job, json): &(Uuid, String)| Some((*job, serde_json::from_str(json).ok()?));
            Ok(rows.iter().filter_map(read).collect())
        })
    }

    /// The number of the entry that came last to this store, 0 before the first.
    pub fn newest_of_all(&self) -> Result<i64> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached("SELECT coalesce(max(n), 0) FROM entry")?;
            Ok(statement.query_row([], |row| row.get(0))?)
        })
    }

    /// Jobs that an entry after the one with this number came to.
    pub fn jobs_after(&self, after: i64) -> Result<Vec<Uuid>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached("SELECT DISTINCT job FROM entry WHERE n > ?1")?;
            let rows = statement.query_map([after], |row| Ok(Uuid::from_bytes(row.get(0)?)))?;
            Ok(rows.collect::<rusqlite::Result<_>>()?)
        })
    }

    /// Jobs whose unit left, of those that an entry after the one with this number came to.
    pub fn left_after(&self, after: i64) -> Result<Vec<Uuid>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached(
                "SELECT id FROM job WHERE id IN (SELECT job FROM entry WHERE n > ?1) AND open < 1",
            )?;
            let rows = statement.query_map([after], |row| Ok(Uuid::from_bytes(row.get(0)?)))?;
            Ok(rows.collect::<rusqlite::Result<_>>()?)
        })
    }

    /// How far this person has looked at a job: the number of its newest entry then.
    pub fn seen(&self, job: Uuid, person: Uuid) -> Result<Option<i64>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached("SELECT n FROM seen WHERE job = ?1 AND person = ?2")?;
            Ok(statement
                .query_row([job.as_bytes(), person.as_bytes()], |row| row.get(0))
                .optional()?)
        })
    }

    /// This person has looked at a job as far as this entry; further back than before changes nothing.
    pub fn set_seen(&self, job: Uuid, person: Uuid, n: i64) -> Result<()> {
        self.write(|tx, _| {
            tx.prepare_cached(
                "INSERT INTO seen (job, person, n) VALUES (?1, ?2, ?3)
                 ON CONFLICT DO UPDATE SET n = max(n, excluded.n)",
            )?
            .execute(params![job.as_bytes(), person.as_bytes(), n])?;
            Ok(())
        })
    }

    /// Entries of a job that came to this store after the one with this number, in the order they came.
    pub fn entries_of_after(&self, job: Uuid, after: i64) -> Result<Vec<Entry>> {
        self.read(|conn, _| {
            let mut statement =
                conn.prepare_cached("SELECT json FROM entry WHERE job = ?1 AND n > ?2 ORDER BY n")?;
            let rows = statement.query_map(params![job.as_bytes(), after], |row| row.get::<_, String>(0))?;
            let rows: Vec<String> = rows.collect::<rusqlite::Result<_>>()?;
            rows.iter().map(|json| Ok(serde_json::from_str(json)?)).collect()
        })
    }
}
