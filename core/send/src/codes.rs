//! The office's side of making a phone known: short-lived codes, tokens, and how one is taken back. It stands
//! here because both of the office's doors use it (a supervisor asks for a code, a phone trades it for a token).
//!
//! Only hashes are stored: of a code (8 characters, 10 minutes, one phone) and of a token (244 random bits, until
//! it is taken back). SHA-256 is enough for both, since nobody chose them.

use std::collections::BTreeMap;

use bowseam_jobs::Store;
use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::wire::sha256;
use crate::{Error, Result, code_words};

/// Letters and digits that are not mistaken for one another: no 0 O 1 I L.
const LETTERS: &[u8; 31] = b"23456789ABCDEFGHJKMNPQRSTUVWXYZ";
/// Characters in a code.
const LENGTH: usize = 8;
/// How long a code is good, in minutes.
const MINUTES: i64 = 10;
/// Wrong codes in [`MINUTES`] after which none is taken: guessing one of 31^8 stays hopeless.
const MOST_WRONG: usize = 20;
/// Most codes open at a time.
const MOST_OPEN: usize = 50;
const SETTING: &str = "phones";
/// Most bytes of photos taken of a phone that was taken back: whoever has it may want to fill the disk.
const MOST_APART: u64 = 2 << 30;
/// A phone is noted as heard this often at most.
const HEARD_EVERY: TimeDelta = TimeDelta::minutes(5);

/// A phone that the office knows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Phone {
    /// Its own id, which its entries carry.
    pub device: Uuid,
    /// What people call it.
    pub name: String,
    /// When it was made known.
    pub since: DateTime<Utc>,
    /// SHA-256 of its token; none once it was taken back.
    token: Option<String>,
    /// When it last asked for something, to some minutes.
    #[serde(default)]
    pub last_heard: Option<DateTime<Utc>>,
    /// When it was taken back.
    #[serde(default)]
    pub taken_back: Option<DateTime<Utc>>,
    /// SHA-256 of the token that it had then: what it still sends is kept apart.
    #[serde(default)]
    old_token: Option<String>,
    /// Bytes of photos that it announced since.
    #[serde(default)]
    apart_bytes: u64,
}

impl Phone {
    /// Whether its token was taken back.
    pub fn revoked(&self) -> bool {
        self.token.is_none()
    }

    /// What both sides know and nobody else: the hash of its token. None once it was taken back.
    pub fn key(&self) -> Option<String> {
        self.token.clone()
    }
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct Code {
    hash: String,
    until: DateTime<Utc>,
    /// Who used it: the same phone may repeat its request if the answer got lost.
    used_by: Option<Uuid>,
}

#[derive(Debug, Default, Serialize, Deserialize)]
struct Phones {
    codes: Vec<Code>,
    phones: BTreeMap<Uuid, Phone>,
    /// When codes were tried that are not right.
    wrong: Vec<DateTime<Utc>>,
}

impl Phones {
    /// Reads, changes and keeps, with nobody in between: two phones must not get in with one code.
    fn change<R>(store: &Store, change: impl FnOnce(&mut Self) -> R) -> Result<R> {
        Ok(store.change_setting(SETTING, change)?)
    }

    fn read(store: &Store) -> Result<Self> {
        Ok(store.setting(SETTING)?.unwrap_or_default())
    }
}

/// A new code and until when it is good.
///
/// # Errors
/// One of the store; `send_too_many_codes` if too many are open.
pub fn new_code(store: &Store, now: DateTime<Utc>) -> Result<(String, DateTime<Utc>)> {
    Phones::change(store, |all| {
        all.codes.retain(|code| code.until > now);
        if all.codes.len() >= MOST_OPEN {
            return Err(Error::TooManyCodes);
        }
        let code = random_code();
        let until = now.checked_add_signed(TimeDelta::minutes(MINUTES)).unwrap_or(now);
        all.codes.push(Code {
            hash: sha256(&code),
            until,
            used_by: None,
        });
        Ok((code, until))
    })?
}

/// Trades a code for a token; the phone's earlier token is worth nothing from then on.
///
/// # Errors
/// `send_code` if it is wrong, used or too old; `send_too_many_codes`; or one of the store.
pub fn redeem(store: &Store, code: &str, device: Uuid, name: &str, now: DateTime<Utc>) -> Result<String> {
    let hash = sha256(&code_words::read(code, LETTERS, LENGTH).unwrap_or_else(|| plain(code)));
    Phones::change(store, |all| all.redeem(&hash, device, name, now))?
}

impl Phones {
    fn redeem(&mut self, hash: &str, device: Uuid, name: &str, now: DateTime<Utc>) -> Result<String> {
        let since = now.checked_sub_signed(TimeDelta::minutes(MINUTES)).unwrap_or(now);
        self.wrong.retain(|at| *at > since);
        if self.wrong.len() >= MOST_WRONG {
            return Err(Error::TooManyCodes);
        }
        let open = self.codes.iter_mut().find(|c| c.hash == hash && c.until > now);
        match open {
            Some(open) if open.used_by.is_none_or(|used_by| used_by == device) => {
                open.used_by = Some(device);
            }
            _ => {
                self.wrong.push(now);
                return Err(Error::Code(format!(
                    "The office does not take this code. A code has {LENGTH} letters and digits, is good for {MINUTES} minutes and for one phone: ask for a new one."
                )));
            }
        }
        let token = format!("{}{}", Uuid::new_v4().simple(), Uuid::new_v4().simple());
        let phone = Phone {
            device,
            name: name.trim().chars().take(80).collect(),
            since: now,
            token: Some(sha256(&token)),
            last_heard: Some(now),
            taken_back: None,
            old_token: None,
            apart_bytes: 0,
        };
        self.phones.insert(device, phone);
        Ok(token)
    }
}

/// The five words of a code: they are typed in its place.
pub fn words(code: &str) -> Option<String> {
    code_words::of(code, LETTERS)
}

/// The phone that this token belongs to, also one that was taken back ([`Phone::revoked`]).
///
/// # Errors
/// One of the store.
pub fn phone_of(store: &Store, token: &str) -> Result<Option<Phone>> {
    // Looking for a hash gives nothing away by how long it takes.
    let hash = sha256(token);
    Ok(phones(store)?
        .into_iter()
        .find(|phone| [&phone.token, &phone.old_token].contains(&&Some(hash.clone()))))
}

/// Notes that a phone was heard.
///
/// # Errors
/// One of the store.
pub fn heard(store: &Store, phone: &Phone, now: DateTime<Utc>) -> Result<()> {
    let lately = |at: DateTime<Utc>| now.signed_duration_since(at) < HEARD_EVERY;
    if phone.last_heard.is_some_and(lately) {
        return Ok(());
    }
    Phones::change(store, |all| {
        if let Some(phone) = all.phones.get_mut(&phone.device) {
            phone.last_heard = Some(now);
        }
    })
}

/// Whether so many bytes more of a phone that was taken back are kept apart; they count from then on.
///
/// # Errors
/// One of the store.
pub fn room_apart(store: &Store, device: Uuid, bytes: u64) -> Result<bool> {
    Phones::change(store, |all| {
        let Some(phone) = all.phones.get_mut(&device) else {
            return false;
        };
        let bytes = phone.apart_bytes.saturating_add(bytes);
        let room = bytes <= MOST_APART;
        if room {
            phone.apart_bytes = bytes;
        }
        room
    })
}

/// All phones that were ever made known, with those taken back.
///
/// # Errors
/// One of the store.
pub fn phones(store: &Store) -> Result<Vec<Phone>> {
    Ok(Phones::read(store)?.phones.into_values().collect())
}

/// Takes a phone back: it gets nothing any more, and what it still sends is kept apart. What it sent stays. Answers whether there was one.
///
/// # Errors
/// One of the store.
pub fn revoke(store: &Store, device: Uuid, now: DateTime<Utc>) -> Result<bool> {
    Phones::change(store, |all| {
        let phone = all.phones.get_mut(&device).filter(|phone| !phone.revoked());
        let taken = phone.map(|phone| {
            phone.old_token = phone.token.take();
            phone.taken_back = Some(now);
        });
        taken.is_some()
    })
}

/// A code as it is compared: what people type around it does not matter.
fn plain(code: &str) -> String {
    code.chars()
        .filter(char::is_ascii_alphanumeric)
        .map(|c| c.to_ascii_uppercase())
        .collect()
}

/// Random bytes that fall on a letter with the same chance each; others are thrown away.
fn random_code() -> String {
    let mut code = String::new();
    while code.len() < LENGTH {
        // All bytes of a version 4 id are random but two, which hold its version and variant.
        let bytes = *Uuid::new_v4().as_bytes();
        let random = bytes.iter().enumerate().filter(|(i, _)| *i != 6 && *i != 8);
        let letters = random.filter_map(|(_, byte)| LETTERS.get(usize::from(byte & 31)));
        code.extend(
            letters
                .take(LENGTH.saturating_sub(code.len()))
                .map(|letter| char::from(*letter)),
        );
    }
    code
}
