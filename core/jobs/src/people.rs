//! People on a shared phone or in the office: who they are, what they may do, and the PIN by which each says
//! who is working.
//!
//! A PIN is short, so what protects it is the wait after wrong tries; argon2id keeps a copied file from giving
//! it away at once. A try is counted before the PIN is looked at: tries at the same time cannot get round it.

use crate::{
    error::Error,
    store::{Result, Store},
};
use argon2::{
    Argon2,
    password_hash::{PasswordHash, PasswordHasher, PasswordVerifier, SaltString},
};
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use rusqlite::{Connection, OptionalExtension, Row, params};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use ts_rs::TS;
use uuid::Uuid;

/// Wrong tries before the first wait, and between waits.
const TRIES: u32 = 5;
/// The first wait; each further one is twice as long, up to [`LONGEST_WAIT`].
const FIRST_WAIT: i64 = 60;
/// One hour.
const LONGEST_WAIT: i64 = 3600;

/// What somebody does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Walks the yard and marks.
    Inspector,
    /// Repairs.
    Technician,
    /// Gives the go-ahead and keeps the shop book.
    Supervisor,
}

/// What somebody is qualified for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum Qualification {
    /// Releases units.
    Release,
    /// Inspects: the independent final check, the annual inspection.
    Inspect,
    /// Welds on the structure, as the maker says.
    Weld,
}

/// A qualification with its date.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Qualified {
    /// For what.
    #[serde(rename = "for")]
    pub what: Qualification,
    /// The last day on which it counts; nothing: without an end.
    pub until: Option<NaiveDate>,
    /// By what it is shown: a certificate's number, a course.
    #[serde(default)]
    pub note: String,
}

/// What is known of somebody beside name, roles and PIN.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct More {
    /// Qualifications.
    pub qualified: Vec<Qualified>,
    /// Here no more since this moment: does not sign in, and what is decided or released under the name does not count.
    pub ended: Option<DateTime<Utc>>,
}

/// Somebody.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Person {
    /// Their id.
    pub id: Uuid,
    /// Their name.
    pub name: String,
    /// What they do.
    pub roles: BTreeSet<Role>,
    /// May release a unit.
    pub may_release: bool,
    /// Hash of their PIN (argon2id), none where no PIN is set yet. It goes to the phones, which check PINs without
    /// a network, and never to a screen.
    #[serde(default)]
    pub pin_hash: Option<String>,
    /// Qualifications with their dates, and whether the person is still here.
    #[serde(default)]
    pub more: More,
}

/// Whether somebody may do something on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum May {
    /// Yes.
    Yes,
    /// Not: the qualification is not there.
    No,
    /// Not any more: it ran out on this day.
    RanOut(NaiveDate),
}

impl Person {
    /// Whether the person may do this at this moment. Who may release and has no dated qualification for it may
    /// release without an end.
    #[must_use]
    pub fn may(&self, what: Qualification, at: DateTime<Utc>) -> May {
        if self.ended(at) {
            return May::No;
        }
        let of_it: Vec<&Qualified> = self
            .more
            .qualified
            .iter()
            .filter(|own| own.what == what)
            .collect();
        if of_it.is_empty() && what == Qualification::Release && self.may_release {
            return May::Yes;
        }
        let day = at.date_naive();
        if of_it.iter().any(|own| own.until.is_none_or(|until| day <= until)) {
            return May::Yes;
        }
        let last = of_it.iter().filter_map(|own| own.until).max();
        last.map_or(May::No, May::RanOut)
    }

    /// Here no more at this moment.
    #[must_use]
    pub fn ended(&self, at: DateTime<Utc>) -> bool {
        self.more.ended.is_some_and(|ended| ended <= at)
    }
}

/// What a PIN turned out to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "pin")]
pub enum PinCheck {
    /// Right.
    Right,
    /// Wrong, or nobody by that id, or somebody without a PIN.
    Wrong {
        /// Tries left before a wait.
        left: u32,
    },
    /// Not looked at: too many were wrong.
    Wait {
        /// Until then.
        until: DateTime<Utc>,
    },
}

fn person(row: &Row<'_>) -> rusqlite::Result<(Person, String, String)> {
    let person = Person {
        id: Uuid::from_bytes(row.get(0)?),
        name: row.get(1)?,
        roles: BTreeSet::new(),
        may_release: row.get(3)?,
        pin_hash: row.get(4)?,
        more: More::default(),
    };
    Ok((person, row.get(2)?, row.get(5)?))
}

/// The tries of one person: hash, wrong ones so far, end of the wait. At the office's door the password, where one is set.
fn tries(tx: &Connection, id: Uuid, door: Door) -> Result<Option<(String, u32, i64)>> {
    let sql = "SELECT iif(?2 AND password_hash <> '', password_hash, pin_hash), wrong, wait_until, more
               FROM person WHERE id = ?1";
    let found: Option<(String, u32, i64, String)> = tx
        .prepare_cached(sql)?
        .query_row(params![id.as_bytes(), door == Door::Office], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?))
        })
        .optional()?;
    let Some((hash, wrong, until, more)) = found else {
        return Ok(None);
    };
    let gone = read_more(&more)?.ended.is_some();
    Ok((!gone).then_some((hash, wrong, until)))
}

fn read_more(json: &str) -> Result<More> {
    Ok(match json {
        "" => More::default(),
        json => serde_json::from_str(json)?,
    })
}

/// At which door somebody says who they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Door {
    /// On a phone: with the PIN.
    Phone,
    /// At the office: with the password, or with the PIN while no password is set.
    Office,
}

fn slow_hash(secret: &str) -> Result<String> {
    let failed = |_| Error::Refused("The PIN could not be kept.".into());
    let salt = SaltString::encode_b64(Uuid::new_v4().as_bytes()).map_err(failed)?;
    Argon2::default()
        .hash_password(secret.as_bytes(), &salt)
        .map_err(failed)
        .map(|hash| hash.to_string())
}

/// How long to wait after this many wrong tries, in seconds.
fn wait_after(wrong: u32) -> i64 {
    if wrong == 0 || !wrong.is_multiple_of(TRIES) {
        return 0;
    }
    let doubled = (wrong / TRIES).saturating_sub(1).min(10);
    FIRST_WAIT.saturating_mul(1 << doubled).min(LONGEST_WAIT)
}

/// The hash of a PIN of 4 to 12 digits, slow on purpose.
pub fn hash_pin(pin: &str) -> Result<String> {
    if !(4..=12).contains(&pin.len()) || !pin.bytes().all(|b| b.is_ascii_digit()) {
        return Err(Error::Refused("A PIN is 4 to 12 digits.".into()));
    }
    slow_hash(pin)
}

impl Store {
    /// Everybody, by name.
    pub fn people(&self) -> Result<Vec<Person>> {
        self.read(|conn, _| {
            let sql =
                "SELECT id, name, roles, may_release, nullif(pin_hash, ''), more FROM person ORDER BY name, id";
            let mut statement = conn.prepare_cached(sql)?;
            let rows: Vec<_> = statement
                .query_map([], person)?
                .collect::<rusqlite::Result<_>>()?;
            rows.into_iter()
                .map(|(person, roles, more)| {
                    Ok(Person {
                        roles: serde_json::from_str(&roles)?,
                        more: read_more(&more)?,
                        ..person
                    })
                })
                .collect()
        })
    }

    /// Adds somebody, or changes all but their PIN and password. Without a hash the PIN stays as it is.
    pub fn put_person(&self, person: &Person) -> Result<()> {
        if person.name.trim().is_empty() {
            return Err(Error::Refused("A person needs a name.".into()));
        }
        let roles = serde_json::to_string(&person.roles)?;
        let more = serde_json::to_string(&person.more)?;
        self.write(|tx, _| {
            tx.prepare_cached(
                "INSERT INTO person (id, name, roles, may_release, pin_hash, more) VALUES (?1, ?2, ?3, ?4, ?5, ?6)
                 ON CONFLICT DO UPDATE SET name = excluded.name, roles = excluded.roles,
                     may_release = excluded.may_release, more = excluded.more,
                     pin_hash = iif(excluded.pin_hash = '', pin_hash, excluded.pin_hash)",
            )?
            .execute(params![
                person.id.as_bytes(),
                person.name.trim(),
                roles,
                person.may_release,
                person.pin_hash.as_deref().unwrap_or_default(),
                more
            ])?;
            Ok(())
        })
    }

    /// Sets a PIN of 4 to 12 digits and forgets wrong tries.
    pub fn set_pin(&self, person: Uuid, pin: &str) -> Result<()> {
        let sql = "UPDATE person SET pin_hash = ?2, wrong = 0, wait_until = 0 WHERE id = ?1";
        self.set_hash(sql, person, &hash_pin(pin)?)
    }

    /// Sets the password of the office's door, 10 to 100 characters, and forgets wrong tries. Unlike a PIN it never
    /// leaves the office.
    pub fn set_password(&self, person: Uuid, password: &str) -> Result<()> {
        if !(10..=100).contains(&password.chars().count()) {
            return Err(Error::Refused(
                "A password is 10 to 100 characters long; any are accepted.".into(),
            ));
        }
        let sql = "UPDATE person SET password_hash = ?2, wrong = 0, wait_until = 0 WHERE id = ?1";
        self.set_hash(sql, person, &slow_hash(password)?)
    }

    fn set_hash(&self, sql: &str, person: Uuid, hash: &str) -> Result<()> {
        self.write(|tx, _| {
            match tx
                .prepare_cached(sql)?
                .execute(params![person.as_bytes(), hash])?
            {
                0 => Err(Error::Refused(
                    "There is nobody by that id. Add the person first.".into(),
                )),
                _ => Ok(()),
            }
        })
    }

    /// Who has a password at the office.
    pub fn with_password(&self) -> Result<BTreeSet<Uuid>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached("SELECT id FROM person WHERE password_hash <> ''")?;
            let rows = statement.query_map([], |row| Ok(Uuid::from_bytes(row.get(0)?)))?;
            Ok(rows.collect::<rusqlite::Result<_>>()?)
        })
    }

    /// Looks at a PIN, as [`Self::check`] on a phone.
    pub fn check_pin(&self, person: Uuid, pin: &str, now: DateTime<Utc>) -> Result<PinCheck> {
        self.check(person, pin, now, Door::Phone)
    }

    /// Looks at a PIN or password. After 5 wrong ones comes a wait of a minute, twice as long after each further 5, an hour
    /// at most; a right one starts anew.
    pub fn check(&self, person: Uuid, pin: &str, now: DateTime<Utc>, door: Door) -> Result<PinCheck> {
        let counted = self.write(|tx, _| {
            let Some((hash, wrong, until)) = tries(tx, person, door)?.filter(|(hash, ..)| !hash.is_empty())
            else {
                return Ok(Err(PinCheck::Wrong { left: 0 }));
            };
            if let Some(until) = DateTime::from_timestamp_millis(until).filter(|until| *until > now) {
                return Ok(Err(PinCheck::Wait { until }));
            }
            let wrong = wrong.saturating_add(1);
            let wait = TimeDelta::seconds(wait_after(wrong));
            let until = now.checked_add_signed(wait).unwrap_or(now).timestamp_millis();
            let sql = "UPDATE person SET wrong = ?2, wait_until = ?3 WHERE id = ?1";
            tx.prepare_cached(sql)?
                .execute(params![person.as_bytes(), wrong, until])?;
            Ok(Ok((hash, wrong)))
        })?;
        let (hash, wrong) = match counted {
            Ok(counted) => counted,
            Err(answer) => return Ok(answer),
        };
        let parsed = PasswordHash::new(&hash)
            .map_err(|_| Error::Refused("The PIN kept here cannot be read. Set it anew.".into()))?;
        if Argon2::default()
            .verify_password(pin.as_bytes(), &parsed)
            .is_err()
        {
            let left = (TRIES.saturating_sub(wrong % TRIES)) % TRIES;
            return Ok(PinCheck::Wrong { left });
        }
        self.write(|tx, _| {
            let sql = "UPDATE person SET wrong = 0, wait_until = 0 WHERE id = ?1";
            tx.prepare_cached(sql)?.execute([person.as_bytes()])?;
            Ok(PinCheck::Right)
        })
    }
}
