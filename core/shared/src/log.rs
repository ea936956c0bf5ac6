//! The log in PostgreSQL that the stores of all receivers follow. One connection of its own: the right to write is a
//! transaction that holds an advisory lock, so a receiver that dies with it, or stops for too long, loses it by itself.

use crate::{Error, Result, connect::Pool, error::said};
use bowseam_jobs::{
    Error as JobsError,
    shared::{Changes, Log, MOST_CHANGES, News, SharedRow},
};
use postgres::{Client, Statement};
use std::sync::Arc;
use uuid::Uuid;

/// Key of the advisory lock of whoever writes.
const LOCK: i64 = 0x626f_7773_0002;
/// One statement, so one moment: no row is seen without the entries before it.
const AFTER: &str = "
    (SELECT n, NULL AS place, '' AS key, json FROM entry WHERE n > $1 ORDER BY n LIMIT $3)
    UNION ALL (SELECT n, place, key, json FROM kept WHERE n > $2 ORDER BY n LIMIT $3)";
const ENTRIES: &str = "INSERT INTO entry (n, id, job, device, seq, json)
    SELECT * FROM unnest($1::bigint[], $2::uuid[], $3::uuid[], $4::uuid[], $5::bigint[], $6::text[])";
const ROWS: &str = "INSERT INTO kept (place, key, json, n)
    SELECT * FROM unnest($1::text[], $2::text[], $3::text[], $4::bigint[])
    ON CONFLICT (place, key) DO UPDATE SET json = excluded.json, n = excluded.n";

struct Link {
    client: Client,
    after: Statement,
    entries: Statement,
    rows: Statement,
    /// A transaction is open.
    writing: bool,
}

pub struct SharedLog {
    pool: Arc<Pool>,
    device: Uuid,
    link: Option<Link>,
}

/// A row of [`AFTER`]: number, table (none: an entry), key, JSON.
type Row = (i64, Option<String>, String, Option<String>);
type Asked<T> = std::result::Result<T, postgres::Error>;

impl SharedLog {
    pub fn new(pool: Arc<Pool>) -> Result<Self> {
        let device = pool.with(|link| Ok(link.client.query_one("SELECT device FROM office", &[])?.get(0)))?;
        Ok(Self {
            pool,
            device,
            link: None,
        })
    }

    fn link(&mut self) -> Asked<&mut Link> {
        if let Some(link) = self.link.take().filter(|link| !link.client.is_closed()) {
            return Ok(self.link.insert(link));
        }
        let mut client = self.pool.connect()?;
        let after = client.prepare(AFTER)?;
        let entries = client.prepare(ENTRIES)?;
        let rows = client.prepare(ROWS)?;
        Ok(self.link.insert(Link {
            client,
            after,
            entries,
            rows,
            writing: false,
        }))
    }

    /// Once more on a new connection where the old one broke: only for what may be done twice.
    fn twice<T>(&mut self, ask: impl Fn(&mut Link) -> Asked<T>) -> std::result::Result<T, JobsError> {
        let had = self.link.is_some();
        let writing = self.link.as_ref().is_some_and(|link| link.writing);
        let mut done = self.link().and_then(&ask);
        if done.is_err() {
            let broke = self.link.as_ref().is_none_or(|link| link.client.is_closed());
            self.link = None;
            if had && broke && !writing {
                done = self.link().and_then(&ask);
            }
        }
        done.map_err(|e| JobsError::Away(said(&e)))
    }
}

/// Rows and entries, each in their order.
fn read(link: &mut Link, entry: i64, row: i64) -> Asked<Vec<Row>> {
    let most = i64::try_from(MOST_CHANGES).unwrap_or(i64::MAX);
    let rows = link.client.query(&link.after, &[&entry, &row, &most])?;
    let rows = rows.iter();
    let mut rows: Vec<Row> = rows
        .map(|row| (row.get(0), row.get(1), row.get(2), row.get(3)))
        .collect();
    rows.sort_by_key(|(n, ..)| *n);
    Ok(rows)
}

fn news(rows: Vec<Row>) -> News {
    let mut news = News::default();
    for (n, table, key, json) in rows {
        match table {
            Some(table) => news.rows.push(SharedRow { n, table, key, json }),
            None => news.entries.push((n, json.unwrap_or_default())),
        }
    }
    news
}

/// All in one statement a table.
fn put(link: &mut Link, changes: &Changes) -> Asked<()> {
    let Changes { rows, entries } = changes;
    if !entries.is_empty() {
        let n: Vec<i64> = entries.iter().map(|one| one.n).collect();
        let id: Vec<Uuid> = entries.iter().map(|one| one.id).collect();
        let job: Vec<Uuid> = entries.iter().map(|one| one.job).collect();
        let device: Vec<Uuid> = entries.iter().map(|one| one.device).collect();
        let seq: Vec<i64> = entries.iter().map(|one| one.seq).collect();
        let json: Vec<&str> = entries.iter().map(|one| one.json.as_str()).collect();
        link.client
            .execute(&link.entries, &[&n, &id, &job, &device, &seq, &json])?;
    }
    if !rows.is_empty() {
        let table: Vec<&str> = rows.iter().map(|one| one.table.as_str()).collect();
        let key: Vec<&str> = rows.iter().map(|one| one.key.as_str()).collect();
        let json: Vec<Option<&str>> = rows.iter().map(|one| one.json.as_deref()).collect();
        let n: Vec<i64> = rows.iter().map(|one| one.n).collect();
        link.client.execute(&link.rows, &[&table, &key, &json, &n])?;
    }
    link.client.batch_execute("COMMIT")
}

impl Log for SharedLog {
    fn device(&self) -> Uuid {
        self.device
    }

    fn entry_at(&mut self, n: i64) -> std::result::Result<Option<Uuid>, JobsError> {
        self.twice(|link| {
            let row = link
                .client
                .query_opt("SELECT id FROM entry WHERE n = $1", &[&n])?;
            Ok(row.map(|row| row.get(0)))
        })
    }

    fn after(&mut self, entry: i64, row: i64) -> std::result::Result<News, JobsError> {
        self.twice(|link| read(link, entry, row)).map(news)
    }

    fn begin(&mut self, entry: i64, row: i64) -> std::result::Result<News, JobsError> {
        let begun = format!("BEGIN; SELECT pg_advisory_xact_lock({LOCK})");
        let rows = self.twice(|link| {
            link.client.batch_execute(&begun)?;
            read(link, entry, row)
        })?;
        if let Some(link) = &mut self.link {
            link.writing = true;
        }
        Ok(news(rows))
    }

    fn commit(&mut self, changes: &Changes) -> std::result::Result<(), JobsError> {
        let Some(mut link) = self.link.take().filter(|link| link.writing) else {
            return Err(JobsError::Away("the right to write was lost".into()));
        };
        // Without an answer the connection is let go, and with it the right to write.
        put(&mut link, changes).map_err(|e| JobsError::Away(said(&e)))?;
        link.writing = false;
        self.link = Some(link);
        Ok(())
    }

    fn give_up(&mut self) {
        if let Some(mut link) = self.link.take_if(|link| link.writing)
            && link.client.batch_execute("ROLLBACK").is_ok()
        {
            link.writing = false;
            self.link = Some(link);
        }
    }
}

impl From<Error> for JobsError {
    fn from(error: Error) -> Self {
        match error {
            Error::Jobs(error) => error,
            other => Self::Away(other.to_string()),
        }
    }
}
