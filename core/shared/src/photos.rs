//! Photos of all receivers: parts in PostgreSQL while one arrives, wherever each came in; then the whole in the object
//! store, and only then the row that says that it is there.

use crate::{Error, Objects, connect::Pool};
use bowseam_photos::{Behind, Error as PhotoError, Result};
use std::sync::Arc;

#[derive(Debug)]
pub struct Photos {
    pool: Arc<Pool>,
    objects: Arc<Objects>,
}

fn bytes_of(number: i64) -> u64 {
    u64::try_from(number).unwrap_or_default()
}

fn as_i64(number: u64) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

impl Photos {
    pub const fn new(pool: Arc<Pool>, objects: Arc<Objects>) -> Self {
        Self { pool, objects }
    }

    /// Asks the database; what it says about the photo is the inner result.
    fn ask<T>(
        &self,
        mut ask: impl FnMut(&mut postgres::Transaction<'_>) -> std::result::Result<Result<T>, postgres::Error>,
    ) -> Result<T> {
        let asked = self.pool.with(|link| {
            let mut tx = link.client.transaction()?;
            let said = ask(&mut tx)?;
            if said.is_ok() {
                tx.commit()?;
            }
            Ok(said)
        });
        asked.map_err(|e| away(&e))?
    }
}

fn away(error: &Error) -> PhotoError {
    match error {
        Error::Away(why) => PhotoError::Away(why.clone()),
        other => PhotoError::Away(other.to_string()),
    }
}

impl Behind for Photos {
    fn length(&self, sha: &str) -> Result<Option<u64>> {
        let asked = self.pool.with(|link| {
            let row = link
                .client
                .query_opt("SELECT bytes FROM photo WHERE sha256 = $1", &[&sha])?;
            Ok(row.map(|row| bytes_of(row.get(0))))
        });
        asked.map_err(|e| away(&e))
    }

    fn fetch(&self, sha: &str) -> Result<Vec<u8>> {
        if self.length(sha)?.is_none() {
            return Err(PhotoError::Missing);
        }
        self.objects
            .get(sha)
            .map_err(|e| away(&e))?
            .ok_or_else(|| PhotoError::Away(format!("photo {sha} is not in the photo store")))
    }

    fn keep(&self, sha: &str, bytes: &[u8]) -> Result<()> {
        self.objects.put(sha, bytes).map_err(|e| away(&e))?;
        let length = as_i64(u64::try_from(bytes.len()).unwrap_or(u64::MAX));
        self.ask(|tx| {
            let sql = "INSERT INTO photo (sha256, bytes) VALUES ($1, $2) ON CONFLICT DO NOTHING";
            tx.execute(sql, &[&sha, &length]).map(|_| Ok(()))
        })
    }

    fn list(&self) -> Result<Vec<String>> {
        self.ask(|tx| {
            let rows = tx.query("SELECT sha256 FROM photo ORDER BY sha256 COLLATE \"C\"", &[])?;
            Ok(Ok(rows.iter().map(|row| row.get(0)).collect()))
        })
    }

    fn begin(&self, sha: &str, bytes: u64) -> Result<u64> {
        self.ask(|tx| {
            let sql = "INSERT INTO upload (sha256, bytes) VALUES ($1, $2) ON CONFLICT DO NOTHING";
            tx.execute(sql, &[&sha, &as_i64(bytes)])?;
            let row = tx.query_one("SELECT bytes, arrived FROM upload WHERE sha256 = $1", &[&sha])?;
            let announced = bytes_of(row.get(0));
            Ok(match announced == bytes {
                true => Ok(bytes_of(row.get(1))),
                false => Err(PhotoError::OtherLength { bytes: announced }),
            })
        })
    }

    fn arrived(&self, sha: &str) -> Result<(u64, u64)> {
        self.ask(|tx| {
            let row = tx.query_opt("SELECT arrived, bytes FROM upload WHERE sha256 = $1", &[&sha])?;
            let row = row.map(|row| (bytes_of(row.get(0)), bytes_of(row.get(1))));
            Ok(row.ok_or(PhotoError::Missing))
        })
    }

    fn append(&self, sha: &str, offset: u64, part: &[u8]) -> Result<u64> {
        let length = u64::try_from(part.len()).unwrap_or(u64::MAX);
        self.ask(|tx| {
            // Two senders of the same photo go one after the other.
            let sql = "SELECT arrived, bytes FROM upload WHERE sha256 = $1 FOR UPDATE";
            let Some(row) = tx.query_opt(sql, &[&sha])? else {
                return Ok(Err(PhotoError::Missing));
            };
            let (at, bytes) = (bytes_of(row.get(0)), bytes_of(row.get(1)));
            let next = at.saturating_add(length);
            if at != offset {
                return Ok(Err(PhotoError::WrongOffset { at }));
            }
            if next > bytes {
                return Ok(Err(PhotoError::TooLong { bytes }));
            }
            if length > 0 {
                let sql = "INSERT INTO upload_part (sha256, at, data) VALUES ($1, $2, $3)";
                tx.execute(sql, &[&sha, &as_i64(at), &part])?;
                let sql = "UPDATE upload SET arrived = $2, last = now() WHERE sha256 = $1";
                tx.execute(sql, &[&sha, &as_i64(next)])?;
            }
            Ok(Ok(next))
        })
    }

    fn whole(&self, sha: &str) -> Result<Vec<u8>> {
        self.ask(|tx| {
            let rows = tx.query(
                "SELECT data FROM upload_part WHERE sha256 = $1 ORDER BY at",
                &[&sha],
            )?;
            let parts: Vec<&[u8]> = rows.iter().map(|row| row.get(0)).collect();
            Ok(Ok(parts.concat()))
        })
    }

    fn cancel(&self, sha: &str) -> Result<()> {
        self.ask(|tx| {
            tx.execute("DELETE FROM upload WHERE sha256 = $1", &[&sha])
                .map(|_| Ok(()))
        })
    }
}
