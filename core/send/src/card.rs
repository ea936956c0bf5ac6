//! Sending by file, where there never is a network: what waits on a phone goes into one archive on a memory card, the
//! office reads it, and its answer goes back the same way. Both may be read as often as one likes.
//!
//! The archive is a plain tar (POSIX ustar), so that it can be opened without this program:
//!
//! ```text
//! about.json       what is in it, with the SHA-256 of entries.jsonl
//! about.hmac       HMAC-SHA256 (RFC 2104) of about.json under the SHA-256 of the phone's token
//! entries.jsonl    one entry a line
//! photos/SHA-256   the originals, those of a *found more* first
//! ```
//!
//! Small things stand first: of an archive that was cut off, all entries and the whole photos are still taken, and
//! the office says what lacks. Photos name themselves by their hash, entries are under the digest in `about.json`,
//! and that is signed: a card that was changed, or one of a phone that was taken back, is not taken and not lost.

use crate::wire::{Outcome, Receipt, sha256};
use crate::{Error, Office, Result, office::Got, plan::Urgent};
use bowseam_jobs::Store;
use bowseam_jobs::entry::Entry;
use bowseam_jobs::outbox::{Item, ItemKind};
use bowseam_photos::{Folder, MAX_BYTES};
use chrono::{DateTime, Utc};
use hmac::{Hmac, Mac};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use sha2::Sha256;
use std::collections::{HashMap, HashSet};
use std::io::{Read, Write};
use uuid::Uuid;

const ABOUT: &str = "about.json";
const SIGNED: &str = "about.hmac";
const ENTRIES: &str = "entries.jsonl";
const PHOTOS: &str = "photos/";
/// Version of this form.
const FORM: u32 = 1;
/// Most bytes of the small parts, and of the entries.
const SMALL: u64 = 64 * 1024;
const LARGE: u64 = 512 * 1024 * 1024;

/// What is in an archive.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct About {
    /// Version of the form.
    pub card: u32,
    /// The phone.
    pub device: Uuid,
    /// When it was written.
    pub made: DateTime<Utc>,
    /// How many entries.
    pub entries: usize,
    /// SHA-256 of `entries.jsonl`.
    pub entries_sha256: String,
    /// The photos, by the SHA-256 of their originals.
    pub photos: Vec<String>,
    /// How far the phone has got with what others did: the office's answer goes on from there.
    pub after: i64,
    /// The phone wants its own entries back too.
    pub own: bool,
}

/// What was written.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Written {
    /// Entries.
    pub entries: usize,
    /// Photos, and their bytes.
    pub photos: usize,
    /// Bytes of the photos.
    pub bytes: u64,
    /// Photos whose original cannot be read here: they stay in the outbox.
    pub lacks: Vec<String>,
}

/// The office's answer.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Back {
    /// The phone.
    pub device: Uuid,
    /// What became of each entry.
    pub receipts: Vec<Receipt>,
    /// Photos of the archive that the office has.
    pub photos: Vec<String>,
    /// Entries of others after `after`.
    pub entries: Vec<Value>,
    /// Where `entries` begins.
    pub after: i64,
    /// Where it ends.
    pub next: i64,
}

/// An answer on its way: the text of a [`Back`] under its HMAC.
#[derive(Debug, Serialize, Deserialize)]
struct Sealed {
    back: String,
    hmac: String,
}

fn mac(key: &str, text: &[u8]) -> Result<Hmac<Sha256>> {
    let mut mac = Hmac::<Sha256>::new_from_slice(key.as_bytes())
        .map_err(|_| Error::Card("it cannot be signed".into()))?;
    mac.update(text);
    Ok(mac)
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Whether the text was signed under this key; compared in constant time.
fn signed(key: &str, text: &[u8], hmac: &str) -> Result<bool> {
    let byte = |at: usize| {
        hmac.get(at..at.saturating_add(2))
            .and_then(|two| u8::from_str_radix(two, 16).ok())
    };
    let bytes: Option<Vec<u8>> = (0..hmac.len()).step_by(2).map(byte).collect();
    let mac = mac(key, text)?;
    Ok(bytes.is_some_and(|bytes| mac.verify_slice(&bytes).is_ok()))
}

/// What both sides know and a card does not: the hash of the phone's token.
fn key(office: &Office) -> String {
    sha256(&office.token)
}

/// Writes what waits on this phone. It goes on waiting until the office's answer is read, or there is a network.
/// `told` hears the bytes of photos done and of all.
///
/// # Errors
/// `send_card` if the archive cannot be written; one of the store.
pub fn write(
    store: &Store,
    photos: &Folder,
    office: &Office,
    to: &mut dyn Write,
    told: &mut dyn FnMut(u64, u64),
) -> Result<Written> {
    let items = store.unsent(None, usize::MAX)?;
    let mut entries = Vec::new();
    let (mut waited_for, mut urgent) = (Urgent::default(), HashSet::new());
    let mut lines = String::new();
    for item in items.iter().filter(|item| item.kind == ItemKind::Entry) {
        if let Some(entry) = store.entry(item.entry)? {
            if waited_for.is(store, &entry)? {
                urgent.insert(item.sha256.clone());
            }
            lines.push_str(&serde_json::to_string(&entry)?);
            lines.push('\n');
            entries.push(item);
        }
    }
    let mut written = Written {
        entries: entries.len(),
        ..Written::default()
    };
    let (mut all, mut seen): (Vec<&Item>, HashSet<&str>) = (Vec::new(), HashSet::new());
    for item in items.iter().filter(|item| item.kind == ItemKind::Photo) {
        match photos.verify(&item.sha256) {
            Ok(()) if seen.insert(&item.sha256) => all.push(item),
            Ok(()) => {}
            Err(error) => written.lacks.push(format!("{}: {error}", item.sha256)),
        }
    }
    all.sort_by_key(|item| !urgent.contains(&item.sha256));
    let got = Got::of(store)?;
    let about = About {
        card: FORM,
        device: store.device(),
        made: Utc::now(),
        entries: entries.len(),
        entries_sha256: sha256(&lines),
        photos: all.iter().map(|item| item.sha256.clone()).collect(),
        after: got.after,
        own: !got.caught_up,
    };
    let about = serde_json::to_string_pretty(&about)?;
    let hmac = hex(&mac(&key(office), about.as_bytes())?.finalize().into_bytes());
    let mut archive = tar::Builder::new(to);
    put(&mut archive, ABOUT, about.as_bytes())?;
    put(&mut archive, SIGNED, hmac.as_bytes())?;
    put(&mut archive, ENTRIES, lines.as_bytes())?;
    let whole = all.iter().map(|item| item.bytes).fold(0_u64, u64::saturating_add);
    for item in all {
        let bytes = std::fs::read(photos.original(&item.sha256)?).map_err(disk)?;
        put(&mut archive, &format!("{PHOTOS}{}", item.sha256), &bytes)?;
        written.photos = written.photos.saturating_add(1);
        written.bytes = written.bytes.saturating_add(item.bytes);
        told(written.bytes, whole);
    }
    archive.into_inner().and_then(|to| to.flush()).map_err(disk)?;
    Ok(written)
}

fn disk(error: std::io::Error) -> Error {
    Error::Card(format!("it cannot be read or written: {error}"))
}

fn put(archive: &mut tar::Builder<&mut dyn Write>, name: &str, bytes: &[u8]) -> Result<()> {
    let mut header = tar::Header::new_ustar();
    header.set_size(u64::try_from(bytes.len()).unwrap_or(u64::MAX));
    header.set_mode(0o644);
    archive.append_data(&mut header, name, bytes).map_err(disk)
}

/// An archive as it was read: its entries, and what lacks or is not as it was written.
#[derive(Debug)]
pub struct Card {
    /// What the phone said is in it.
    pub about: About,
    /// The entries, each as JSON; none if they are not those that were signed.
    pub entries: Vec<Value>,
    /// Photos that the office has now.
    pub photos: Vec<String>,
    /// What is wrong with it, in words.
    pub wrong: Vec<String>,
}

/// Reads an archive. `key` gives the hash of a known phone's token; each photo goes to `photos` as it comes.
///
/// # Errors
/// `send_card`: it is no such archive, or was not signed by a phone that the office knows. Nothing of it is kept.
pub fn read(from: &mut dyn Read, key: impl Fn(Uuid) -> Option<String>, photos: &Folder) -> Result<Card> {
    let no = || Error::Card("it is no archive of a phone".to_owned());
    let mut archive = tar::Archive::new(from);
    let mut files = archive.entries().map_err(|_| no())?;
    let mut next = |most: u64| -> Option<(String, Vec<u8>, bool)> {
        let file = files.next()?.ok()?;
        let (name, size) = (file.path().ok()?.to_str()?.to_owned(), file.size());
        let mut bytes = Vec::new();
        // What is longer than it may be, or was cut off, comes short and is told apart by its size.
        let read = file.take(most).read_to_end(&mut bytes);
        let whole = read.is_ok() && u64::try_from(bytes.len()) == Ok(size);
        Some((name, bytes, whole))
    };
    let mut small = |wanted: &str| {
        next(SMALL)
            .filter(|(name, _, whole)| name == wanted && *whole)
            .map(|(_, bytes, _)| bytes)
    };
    let text = small(ABOUT).ok_or_else(no)?;
    let hmac = small(SIGNED)
        .and_then(|bytes| String::from_utf8(bytes).ok())
        .ok_or_else(no)?;
    let about: About = serde_json::from_slice(&text).map_err(|_| no())?;
    let known = key(about.device)
        .map(|key| signed(&key, &text, &hmac))
        .transpose()?;
    if known != Some(true) {
        let why = "the office does not know the phone that wrote it, took it back, or the card was changed. Keep the card: enrol the phone again and write it anew";
        return Err(Error::Card(why.to_owned()));
    }
    let mut card = Card {
        entries: Vec::new(),
        photos: Vec::new(),
        wrong: Vec::new(),
        about,
    };
    while let Some((name, bytes, whole)) = next(if card.entries.is_empty() { LARGE } else { MAX_BYTES }) {
        if name == ENTRIES {
            card.take_entries(&bytes);
        } else if let Some(sha) = name.strip_prefix(PHOTOS) {
            if !whole || !card.about.photos.iter().any(|named| named == sha) {
                continue;
            }
            match photos.keep(&bytes) {
                Ok(kept) if kept.sha256 == sha => card.photos.push(kept.sha256),
                Ok(_) => card
                    .wrong
                    .push(format!("photo {sha} is not what the phone wrote")),
                Err(error) => card.wrong.push(format!("photo {sha}: {error}")),
            }
        }
    }
    let lacks = card.about.photos.iter().filter(|sha| !photos.has(sha)).count();
    if lacks > 0 {
        card.wrong.push(format!(
            "{lacks} of {} photos are not on the card, which was cut off or damaged: copy it again",
            card.about.photos.len()
        ));
    }
    if card.entries.len() < card.about.entries && card.wrong.is_empty() {
        card.wrong
            .push("the entries are not on the card, which was cut off: copy it again".to_owned());
    }
    Ok(card)
}

impl Card {
    fn take_entries(&mut self, bytes: &[u8]) {
        let text = String::from_utf8_lossy(bytes);
        if sha256(&text) != self.about.entries_sha256 {
            self.wrong
                .push("the entries are not those that the phone wrote: copy the card again".to_owned());
            return;
        }
        // One that cannot be read goes to the office as it is, which refuses it alone.
        self.entries = text
            .lines()
            .map(|line| serde_json::from_str(line).unwrap_or(Value::Null))
            .collect();
    }
}

/// The office's answer as text, for the phone whose token has this hash.
///
/// # Errors
/// `send_json`.
pub fn seal(back: &Back, key: &str) -> Result<String> {
    let back = serde_json::to_string(back)?;
    let hmac = hex(&mac(key, back.as_bytes())?.finalize().into_bytes());
    Ok(serde_json::to_string(&Sealed { back, hmac })?)
}

/// What an answer did on the phone.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Taken {
    /// Items that have arrived.
    pub arrived: usize,
    /// Items that the office refused.
    pub stuck: usize,
    /// New entries of others.
    pub received: usize,
}

/// Reads the office's answer on the phone: what arrived is sent no more, what was refused says why, and what others
/// did is here.
///
/// # Errors
/// `send_card`: it is no answer to this phone; one of the store.
pub fn take_back(store: &Store, office: &Office, text: &str) -> Result<Taken> {
    let no = || Error::Card("it is no answer of the office to this phone".to_owned());
    let sealed: Sealed = serde_json::from_str(text).map_err(|_| no())?;
    let back: Back = serde_json::from_str(&sealed.back).map_err(|_| no())?;
    if back.device != store.device() || !signed(&key(office), sealed.back.as_bytes(), &sealed.hmac)? {
        return Err(no());
    }
    let receipts: HashMap<Uuid, &Outcome> = back.receipts.iter().map(|one| (one.id, &one.outcome)).collect();
    let photos: HashSet<&str> = back.photos.iter().map(String::as_str).collect();
    let (mut taken, mut arrived) = (Taken::default(), Vec::new());
    for item in store.unsent(None, usize::MAX)? {
        match (item.kind, receipts.get(&item.entry)) {
            (ItemKind::Photo, _) if photos.contains(item.sha256.as_str()) => arrived.push(item.n),
            (ItemKind::Entry, Some(Outcome::Arrived)) => arrived.push(item.n),
            (ItemKind::Entry, Some(Outcome::Refused { why })) => {
                store.stuck(item.n, why)?;
                taken.stuck = taken.stuck.saturating_add(1);
            }
            _ => {}
        }
    }
    store.arrived(&arrived)?;
    taken.arrived = arrived.len();
    let entries: Vec<Entry> = back
        .entries
        .into_iter()
        .filter_map(|value| serde_json::from_value(value).ok())
        .collect();
    let new = store.receive(&entries)?;
    taken.received = new
        .iter()
        .filter(|one| one.outcome == bowseam_jobs::Outcome::Taken)
        .count();
    let mut got = Got::of(store)?;
    // An old answer read late must not skip what came between.
    if got.after == back.after {
        got.after = back.next;
        got.keep(store)?;
    }
    Ok(taken)
}
