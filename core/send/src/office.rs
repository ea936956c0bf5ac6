//! The office that a phone is known to: its address and this phone's token, kept in the phone's store.

use bowseam_jobs::{Store, on_photo::ClockSeen};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use ureq::http::Uri;

use crate::wire::{Enrol, Shop};
use crate::{Error, Result, link};

const OFFICE: &str = "office";
const HEARD: &str = "office_heard";
const CLOCK: &str = "office_clock";
const GOT: &str = "office_got";
const BOOK: &str = "office_book";
/// The same setting that the app reads its stock list from.
const STOCK: &str = "stock";
const SHOP: &str = "office_shop";

/// How far this phone has got with what others did.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub(crate) struct Got {
    /// The office's cursor.
    pub after: i64,
    /// Until it first came to the end it also takes its own entries: its store may be a new one.
    pub caught_up: bool,
    /// The office's epoch, as it said last.
    #[serde(default)]
    pub epoch: String,
}

impl Got {
    pub(crate) fn of(store: &Store) -> Result<Self> {
        Ok(store.setting(GOT)?.unwrap_or_default())
    }

    pub(crate) fn keep(&self, store: &Store) -> Result<()> {
        Ok(store.set_setting(GOT, self)?)
    }
}

/// An office and this phone's token for it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Office {
    /// Address, without a slash at its end: `https://office.example/office`.
    pub url: String,
    /// This phone's token.
    pub token: String,
    /// What the office calls itself.
    #[serde(default)]
    pub name: String,
}

impl Office {
    /// An office at an address as typed.
    ///
    /// # Errors
    /// `send_address` unless it is `https://…`, or `http://…` on this same machine.
    pub fn new(url: &str, token: &str) -> Result<Self> {
        let typed = url.trim().trim_end_matches('/');
        let wrong = |why: &str| Error::Address(why.to_owned());
        let uri: Uri = typed.parse().map_err(|_| wrong("it cannot be read"))?;
        let host = uri
            .host()
            .filter(|host| !host.is_empty())
            .ok_or_else(|| wrong("it names no machine"))?;
        let same_machine = matches!(host, "127.0.0.1" | "localhost" | "[::1]");
        match uri.scheme_str() {
            Some("https") => {}
            Some("http") if same_machine => {}
            Some("http") => return Err(wrong("http:// can be read by others on the way")),
            _ => return Err(wrong("it does not start with https://")),
        }
        if uri.query().is_some() || uri.authority().is_some_and(|a| a.as_str().contains('@')) {
            return Err(wrong("it holds more than a machine and a path"));
        }
        Ok(Self {
            url: typed.to_owned(),
            token: token.to_owned(),
            name: String::new(),
        })
    }

    /// The office that this phone is known to, if any.
    ///
    /// # Errors
    /// One of the store.
    pub fn of(store: &Store) -> Result<Option<Self>> {
        Ok(store.setting(OFFICE)?)
    }

    /// When the office last answered this phone.
    ///
    /// # Errors
    /// One of the store.
    pub fn last_heard(store: &Store) -> Result<Option<DateTime<Utc>>> {
        Ok(store.setting(HEARD)?)
    }

    /// The shop book as the office keeps it; null if it has none of its own.
    ///
    /// # Errors
    /// One of the store.
    pub fn book(store: &Store) -> Result<serde_json::Value> {
        Ok(store.setting(BOOK)?.unwrap_or_default())
    }

    /// This phone's clock beside the office's, as last compared; nothing before the office was ever heard.
    ///
    /// # Errors
    /// One of the store.
    pub fn clock(store: &Store) -> Result<Option<ClockSeen>> {
        Ok(store.setting(CLOCK)?)
    }

    /// Compares this phone's clock with what the office's said just now, good to some seconds.
    pub(crate) fn compare_clock(store: &Store, office: DateTime<Utc>) -> Result<()> {
        let at = Utc::now();
        let ahead = at.signed_duration_since(office).num_seconds();
        Ok(store.set_setting(CLOCK, &ClockSeen { ahead, at })?)
    }

    /// An address below the office's.
    pub(crate) fn at(&self, path: &str) -> String {
        format!("{}/{path}", self.url)
    }

    pub(crate) fn heard_now(store: &Store) -> Result<()> {
        Ok(store.set_setting(HEARD, &Utc::now())?)
    }

    /// Keeps people and shop book as the office sent them.
    pub(crate) fn keep_shop(store: &Store, shop: &Shop) -> Result<()> {
        for person in &shop.people {
            store.put_person(person)?;
        }
        store.set_setting(BOOK, &shop.book)?;
        if !shop.stock.is_null() {
            store.set_setting(STOCK, &shop.stock)?;
        }
        Ok(store.set_setting(SHOP, &shop.fingerprint()?)?)
    }

    /// Fingerprint of what [`Office::keep_shop`] kept last.
    pub(crate) fn shop_kept(store: &Store) -> Result<String> {
        Ok(store.setting(SHOP)?.unwrap_or_default())
    }
}

/// Makes this phone known to an office with its short-lived code, and keeps the office in the store. What was stuck
/// because an office did not know the phone waits again.
///
/// # Errors
/// `send_address`, `send_no_answer`, `send_office_said` (the code is wrong, used or too old), or one of the store.
pub fn enrol(store: &Store, url: &str, code: &str, name: &str) -> Result<Office> {
    let mut office = Office::new(url, "")?;
    let asked = Enrol {
        code: code.to_owned(),
        device: store.device(),
        name: name.to_owned(),
    };
    let enrolled = link::enrol(&link::agent(), &office, &asked)?;
    office.token = enrolled.token;
    office.name.clone_from(&enrolled.shop.office_name);
    Office::keep_shop(store, &enrolled.shop)?;
    store.set_setting(OFFICE, &office)?;
    // From its first entry on: it may be another office, or one that was restored.
    store.set_setting(GOT, &Got::default())?;
    store.retry_stuck()?;
    Office::heard_now(store)?;
    Ok(office)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn an_address_is_https_or_on_this_same_machine() {
        for good in [
            "https://office.example",
            "https://office.example:8443/office/",
            "http://127.0.0.1:8080/office",
            "http://localhost:1",
        ] {
            let office = Office::new(good, "t").unwrap();
            assert_eq!(
                office.at("entries"),
                format!("{}/entries", good.trim_end_matches('/'))
            );
        }
        for bad in [
            "http://office.example",
            "http://127.0.0.1.office.example",
            "http://127.0.0.1@office.example/",
            "https://a@office.example",
            "https://office.example/?x=1",
            "ftp://office.example",
            "office.example",
            "",
        ] {
            assert_eq!(Office::new(bad, "t").unwrap_err().code(), "send_address", "{bad}");
        }
    }
}
