//! The outbox: what the office does not have yet, and how it gets there.
//!
//! Items are queued in the transaction that saves the change, so none can be missing. Photos go first, then
//! the entries: one that names a photo waits until the photo has arrived (or is stuck: an item that the office
//! refuses holds up no other). Whoever sends takes what is [`Store::due`], marks it on the way, and reports
//! what became of it; what was on the way when the program ended is waiting again at the next start.

use crate::{
    entry::Entry,
    error::Error,
    save::added_photo,
    store::{Result, Store, as_i64},
};
use chrono::{DateTime, Utc};
use rusqlite::{
    Connection, Row, params,
    types::{FromSql, FromSqlError, FromSqlResult, ToSql, ToSqlOutput, ValueRef},
};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// What an item is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ItemKind {
    /// A photo's original.
    Photo,
    /// An entry.
    Entry,
}

/// Where an item is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ItemState {
    /// Waiting to be sent.
    Waiting,
    /// On the way.
    OnTheWay,
    /// The office has it durably.
    Arrived,
    /// The office refused it.
    Stuck,
}

/// One item.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Item {
    /// Its number in the outbox.
    pub n: i64,
    /// Photo or entry.
    pub kind: ItemKind,
    /// The job.
    pub job: Uuid,
    /// The entry, or the one that names the photo.
    pub entry: Uuid,
    /// Of a photo, the SHA-256 of its original; of an entry, the photo it names, or empty.
    pub sha256: String,
    /// Size in bytes.
    pub bytes: u64,
    /// Where it is.
    pub state: ItemState,
    /// Why it is stuck or tried later, or empty.
    pub why: String,
    /// How often it was sent.
    pub tries: u32,
    /// Not before this.
    pub next_try: DateTime<Utc>,
}

/// Items and bytes of one job, kind and state.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sum {
    /// The job.
    pub job: Uuid,
    /// Photos or entries.
    pub kind: ItemKind,
    /// Where they are.
    pub state: ItemState,
    /// How many.
    pub items: u64,
    /// Their size in bytes.
    pub bytes: u64,
}

const KINDS: [ItemKind; 2] = [ItemKind::Photo, ItemKind::Entry];
const STATES: [ItemState; 4] = [
    ItemState::Waiting,
    ItemState::OnTheWay,
    ItemState::Arrived,
    ItemState::Stuck,
];

fn number<T: PartialEq>(all: &[T], one: &T) -> rusqlite::Result<ToSqlOutput<'static>> {
    let place = all.iter().position(|other| other == one).unwrap_or_default();
    Ok(ToSqlOutput::from(as_i64(place)))
}

fn one<T: Copy>(all: &[T], value: ValueRef<'_>) -> FromSqlResult<T> {
    let number = value.as_i64()?;
    let place = usize::try_from(number).ok().and_then(|place| all.get(place));
    place.copied().ok_or(FromSqlError::OutOfRange(number))
}

impl ToSql for ItemKind {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        number(&KINDS, self)
    }
}

impl FromSql for ItemKind {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        one(&KINDS, value)
    }
}

impl ToSql for ItemState {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        number(&STATES, self)
    }
}

impl FromSql for ItemState {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        one(&STATES, value)
    }
}

/// Queues what an entry sends: the photo it adds, unless that is queued already, then the entry.
pub(crate) fn queue(tx: &Connection, entry: &Entry, bytes: usize) -> Result<()> {
    let photo = added_photo(&entry.what);
    if let Some((sha256, bytes)) = photo {
        let bytes =
            i64::try_from(bytes).map_err(|_| Error::Refused("A photo cannot be that large.".into()))?;
        tx.prepare_cached(
            "INSERT INTO outbox (kind, job, entry, sha256, bytes) VALUES (0, ?1, ?2, ?3, ?4) ON CONFLICT DO NOTHING",
        )?
        .execute(params![entry.job.as_bytes(), entry.id.as_bytes(), sha256, bytes])?;
    }
    let sha256 = photo.map_or("", |(sha256, _)| sha256);
    tx.prepare_cached("INSERT INTO outbox (kind, job, entry, sha256, bytes) VALUES (1, ?1, ?2, ?3, ?4)")?
        .execute(params![
            entry.job.as_bytes(),
            entry.id.as_bytes(),
            sha256,
            as_i64(bytes)
        ])?;
    Ok(())
}

const ITEM: &str = "SELECT n, kind, job, entry, sha256, bytes, state, why, tries, next_try FROM outbox AS o";
/// `state <> 2` is said again so that the index of open items serves.
const DUE: &str = "state <> 2 AND state = 0 AND next_try <= ?1 AND (kind = 0 OR sha256 = '' OR NOT EXISTS
    (SELECT 1 FROM outbox AS p WHERE p.kind = 0 AND p.sha256 = o.sha256 AND p.state IN (0, 1)))";

fn item(row: &Row<'_>) -> rusqlite::Result<Item> {
    Ok(Item {
        n: row.get(0)?,
        kind: row.get(1)?,
        job: Uuid::from_bytes(row.get(2)?),
        entry: Uuid::from_bytes(row.get(3)?),
        sha256: row.get(4)?,
        bytes: row.get(5)?,
        state: row.get(6)?,
        why: row.get(7)?,
        tries: row.get(8)?,
        next_try: DateTime::from_timestamp_millis(row.get(9)?).unwrap_or_default(),
    })
}

impl Store {
    /// What can be sent now, photos first, each kind oldest first.
    pub fn due(&self, now: DateTime<Utc>, limit: usize) -> Result<Vec<Item>> {
        let where_due = format!("{ITEM} WHERE {DUE} ORDER BY kind, n LIMIT ?2");
        self.items(&where_due, params![now.timestamp_millis(), as_i64(limit)])
    }

    /// As [`Store::due`], of one kind: so that a go-ahead need not wait for a hundred photos of other marks.
    pub fn due_of(&self, kind: ItemKind, now: DateTime<Utc>, limit: usize) -> Result<Vec<Item>> {
        let where_due = format!("{ITEM} WHERE {DUE} AND kind = ?3 ORDER BY n LIMIT ?2");
        self.items(&where_due, params![now.timestamp_millis(), as_i64(limit), kind])
    }

    /// What the office refused, oldest first.
    pub fn stuck_items(&self, limit: usize) -> Result<Vec<Item>> {
        let stuck = format!(
            "{ITEM} INDEXED BY outbox_late WHERE (state = 3 OR (state = 0 AND next_try > 0)) AND state = 3 ORDER BY n LIMIT ?1"
        );
        self.items(&stuck, params![as_i64(limit)])
    }

    /// What has not arrived, photos first; of one job or of all.
    pub fn unsent(&self, job: Option<Uuid>, limit: usize) -> Result<Vec<Item>> {
        let all = format!("{ITEM} WHERE state <> 2 AND (?1 IS NULL OR job = ?1) ORDER BY kind, n LIMIT ?2");
        self.items(&all, params![job.as_ref().map(Uuid::as_bytes), as_i64(limit)])
    }

    fn items(&self, sql: &str, params: impl rusqlite::Params) -> Result<Vec<Item>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached(sql)?;
            let items = statement.query_map(params, item)?;
            Ok(items.collect::<rusqlite::Result<_>>()?)
        })
    }

    /// These are being sent: one more try each.
    pub fn on_the_way(&self, items: &[i64]) -> Result<()> {
        self.set(items, ItemState::OnTheWay, 1, "", 0)
    }

    /// The office has these durably.
    pub fn arrived(&self, items: &[i64]) -> Result<()> {
        self.set(items, ItemState::Arrived, 0, "", 0)
    }

    /// The office refused this one.
    pub fn stuck(&self, item: i64, why: &str) -> Result<()> {
        self.set(&[item], ItemState::Stuck, 0, why, 0)
    }

    /// These did not get through: they wait, at least until `next_try`.
    pub fn later(&self, items: &[i64], next_try: DateTime<Utc>, why: &str) -> Result<()> {
        self.set(items, ItemState::Waiting, 0, why, next_try.timestamp_millis())
    }

    /// What has arrived stays arrived, whatever is reported late. Not waited for: what a dead machine forgets of it is sent
    /// once more, and the office knows it.
    fn set(&self, items: &[i64], state: ItemState, tries: u32, why: &str, next_try: i64) -> Result<()> {
        self.write_soon(|tx, _| {
            let sql = "UPDATE outbox SET state = ?2, tries = tries + ?3, why = ?4, next_try = ?5 WHERE n = ?1 AND state <> 2";
            let mut statement = tx.prepare_cached(sql)?;
            for n in items {
                statement.execute(params![n, state, tries, why, next_try])?;
            }
            Ok(())
        })
    }

    /// Everything waits again, also what has arrived: the office does not have it any more, or perhaps not. It counts as
    /// tried, so that the office is asked first what it has.
    pub fn send_all_again(&self) -> Result<()> {
        self.write(|tx, _| {
            let sql = "UPDATE outbox SET state = 0, why = '', tries = 1, next_try = 0 WHERE state <> 0";
            tx.execute(sql, [])?;
            Ok(())
        })
    }

    /// Sends what is stuck again, and what waits for its time now; says how many.
    pub fn retry_stuck(&self) -> Result<usize> {
        self.write(|tx, _| {
            // By its own index: the items that wait may be very many.
            let late =
                "SELECT n FROM outbox INDEXED BY outbox_late WHERE state = 3 OR (state = 0 AND next_try > 0)";
            let late: Vec<i64> = tx
                .prepare_cached(late)?
                .query_map([], |row| row.get(0))?
                .collect::<rusqlite::Result<_>>()?;
            let sql = "UPDATE outbox SET state = 0, why = '', next_try = 0 WHERE n = ?1";
            let mut statement = tx.prepare_cached(sql)?;
            for n in &late {
                statement.execute([n])?;
            }
            Ok(late.len())
        })
    }

    /// Items and bytes by job, kind and state; combinations without items are left out.
    pub fn sums(&self) -> Result<Vec<Sum>> {
        self.read(|conn, _| {
            let sql = "SELECT job, kind, state, items, bytes FROM outbox_sum WHERE items > 0";
            let mut statement = conn.prepare_cached(sql)?;
            let sums = statement.query_map([], |row| {
                let job = Uuid::from_bytes(row.get(0)?);
                Ok(Sum {
                    job,
                    kind: row.get(1)?,
                    state: row.get(2)?,
                    items: row.get(3)?,
                    bytes: row.get(4)?,
                })
            })?;
            Ok(sums.collect::<rusqlite::Result<_>>()?)
        })
    }

    /// How many items there are in each state, of all jobs; a state without items is left out.
    pub fn totals(&self) -> Result<Vec<(ItemState, u64)>> {
        self.read(|conn, _| {
            let sql = "SELECT state, sum(items) FROM outbox_sum WHERE items > 0 GROUP BY state";
            let mut statement = conn.prepare_cached(sql)?;
            let totals = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
            Ok(totals.collect::<rusqlite::Result<_>>()?)
        })
    }

    /// Whether the office has a photo: only then may the original be freed from a full phone.
    pub fn photo_arrived(&self, sha256: &str) -> Result<bool> {
        self.read(|conn, _| {
            let sql = "SELECT 1 FROM outbox WHERE kind = 0 AND sha256 = ?1 AND state = 2";
            Ok(conn.prepare_cached(sql)?.exists([sha256])?)
        })
    }

    /// The job that a photo which is or was in the outbox belongs to.
    pub fn photo_job(&self, sha256: &str) -> Result<Option<Uuid>> {
        self.read(|conn, _| {
            let sql = "SELECT job FROM outbox WHERE kind = 0 AND sha256 = ?1";
            let mut statement = conn.prepare_cached(sql)?;
            let mut jobs = statement.query_map([sha256], |row| row.get(0).map(Uuid::from_bytes))?;
            Ok(jobs.next().transpose()?)
        })
    }

    /// Whether a job that is not handed over was ever given a photo.
    pub fn open_job_names(&self, sha256: &str) -> Result<bool> {
        self.read(|conn, _| {
            let sql = "SELECT 1 FROM photo_job AS p JOIN job AS j ON j.id = p.job
                       WHERE p.sha256 = ?1 AND iif(json_valid(j.summary), j.summary ->> '$.stage', '') <> 'handed_over'";
            Ok(conn.prepare_cached(sql)?.exists([sha256])?)
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::entry::What;

    /// What an item's state is may be forgotten by a dead machine; a change may not.
    #[test]
    fn after_an_item_moved_changes_are_waited_for_again() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(folder.path()).unwrap().store;
        let full = || {
            store.read(|conn, _| Ok(conn.query_row("PRAGMA synchronous", [], |row| row.get::<_, i64>(0))?))
        };
        let opened = What::Opened { unit: "4417".into() };
        store
            .append(Uuid::now_v7(), Uuid::nil(), Uuid::now_v7(), vec![opened])
            .unwrap();
        assert_eq!(full().unwrap(), 2, "FULL");
        store.on_the_way(&[1]).unwrap();
        store.arrived(&[1]).unwrap();
        assert_eq!(full().unwrap(), 2);
        assert!(store.unsent(None, 10).unwrap().is_empty());
    }
}
