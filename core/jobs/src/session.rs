//! Sessions of the office's pages: who signed in with which cookie. Only the SHA-256 of a cookie is kept, so that a
//! copied file lets nobody in; they are in the store, so that a restart signs nobody out. And the office's epoch.

use crate::store::{Result, Store};
use chrono::{DateTime, TimeDelta, Utc};
use rusqlite::{OptionalExtension, params};
use uuid::Uuid;

/// Signed out after this long without an ask: a working day.
pub const IDLE: TimeDelta = TimeDelta::hours(12);
/// An ask is noted this often at most: not every look at a page is a write.
const NOTED_EVERY: TimeDelta = TimeDelta::minutes(10);
/// Most sessions at a time; the one that asked longest ago goes first.
const MOST: i64 = 1000;

/// Setting of the office's store, see [`Store::epoch`].
pub(crate) const EPOCH: &str = "epoch";

fn before(now: DateTime<Utc>, ago: TimeDelta) -> i64 {
    now.checked_sub_signed(ago).unwrap_or(now).timestamp_millis()
}

impl Store {
    /// Starts a session; those that ran out, and the oldest of too many, are forgotten.
    ///
    /// # Errors
    /// The store cannot be written.
    pub fn start_session(&self, hash: &str, person: Uuid, now: DateTime<Utc>) -> Result<()> {
        self.write(|tx, _| {
            tx.prepare_cached("DELETE FROM session WHERE asked < ?1")?
                .execute([before(now, IDLE)])?;
            tx.prepare_cached(
                "DELETE FROM session WHERE hash IN (SELECT hash FROM session ORDER BY asked DESC LIMIT -1 OFFSET ?1)",
            )?
            .execute([MOST.saturating_sub(1)])?;
            tx.prepare_cached("INSERT OR REPLACE INTO session (hash, person, asked) VALUES (?1, ?2, ?3)")?
                .execute(params![hash, person.as_bytes(), now.timestamp_millis()])?;
            Ok(())
        })
    }

    /// Whose session this is, and that it asked now.
    ///
    /// # Errors
    /// The store cannot be read or written.
    pub fn session(&self, hash: &str, now: DateTime<Utc>) -> Result<Option<Uuid>> {
        let found: Option<([u8; 16], i64)> = self.read(|conn, _| {
            let mut statement = conn.prepare_cached("SELECT person, asked FROM session WHERE hash = ?1")?;
            let row = statement.query_row([hash], |row| Ok((row.get(0)?, row.get(1)?)));
            Ok(row.optional()?)
        })?;
        let Some((person, asked)) = found.filter(|(_, asked)| *asked >= before(now, IDLE)) else {
            return Ok(None);
        };
        if asked < before(now, NOTED_EVERY) {
            self.write(|tx, _| {
                tx.prepare_cached("UPDATE session SET asked = ?2 WHERE hash = ?1")?
                    .execute(params![hash, now.timestamp_millis()])?;
                Ok(())
            })?;
        }
        Ok(Some(Uuid::from_bytes(person)))
    }

    /// What an office calls the time since it was set up or brought back from a backup. To a phone that knew another one it
    /// may have forgotten something.
    ///
    /// # Errors
    /// The store cannot be read or written.
    pub fn epoch(&self) -> Result<String> {
        match self.setting(EPOCH)? {
            Some(epoch) => Ok(epoch),
            None => self.change_setting(EPOCH, |epoch: &mut String| {
                if epoch.is_empty() {
                    *epoch = Uuid::new_v4().simple().to_string();
                }
                epoch.clone()
            }),
        }
    }

    /// Ends a session; nothing happens where there is none.
    ///
    /// # Errors
    /// The store cannot be written.
    pub fn end_session(&self, hash: &str) -> Result<()> {
        self.write(|tx, _| {
            tx.prepare_cached("DELETE FROM session WHERE hash = ?1")?
                .execute([hash])?;
            Ok(())
        })
    }
}
