//! Entries from phones and for phones. Each entry is judged alone: one that is refused, or waits for its photo,
//! holds up no other. *Arrived* is answered after the commit, which is on the disk when it returns.

use axum::Json;
use axum::extract::rejection::{JsonRejection, QueryRejection};
use axum::extract::{Query, State};
use axum::http::HeaderMap;
use bowseam_app::arriving;
use bowseam_jobs::Outcome as Taken;
use bowseam_jobs::entry::Entry;
use bowseam_jobs::people::Person;
use bowseam_send::codes::Phone;
use bowseam_send::wire::{self, Outcome, Pulled, Push, Pushed, Receipt};
use chrono::Utc;
use serde::Deserialize;
use serde_json::Value;
use uuid::Uuid;

use crate::no::beside;
use crate::phones::{known, phone, read};
use crate::watch::count;
use crate::{No, Office};

/// Longest entry taken, in bytes of its JSON; figures of a large job are some tens of thousands.
const LONGEST: usize = 1024 * 1024;

/// The id of an entry that perhaps cannot be read; nil without one.
fn id_of(value: &Value) -> Uuid {
    let id = value.get("id").and_then(Value::as_str);
    id.and_then(|id| id.parse().ok()).unwrap_or(Uuid::nil())
}

/// Takes a phone's entries.
pub async fn push(
    State(office): State<Office>,
    headers: HeaderMap,
    body: Result<Json<Push>, JsonRejection>,
) -> Result<Json<Pushed>, No> {
    let phone = known(&office, &headers).await?;
    let push = read(body)?;
    if push.entries.len() > wire::MOST_ENTRIES {
        return Err(No::bad(
            "too_many",
            format!("At most {} entries are taken in one message.", wire::MOST_ENTRIES),
        ));
    }
    beside(move || {
        if phone.revoked() {
            office.keep_apart(&phone, push.entries).map(Json)
        } else {
            office.take(&phone, push.entries).map(Json)
        }
    })
    .await
}

impl Office {
    pub(crate) fn take(&self, phone: &Phone, sent: Vec<Value>) -> Result<Pushed, No> {
        let people = self.0.store.people()?;
        let mut receipts = Vec::with_capacity(sent.len());
        let mut good = Vec::new();
        for value in sent {
            let id = id_of(&value);
            let outcome = match self.judge(phone, &people, value) {
                Ok(entry) => {
                    good.push(entry);
                    Outcome::Arrived
                }
                Err(outcome) => outcome,
            };
            receipts.push(Receipt { id, outcome });
        }
        for taken in self.0.store.receive(&good)? {
            if let Taken::Refused { why } = taken.outcome {
                let of_it = receipts.iter_mut().filter(|receipt| receipt.id == taken.id);
                of_it.for_each(|receipt| receipt.outcome = Outcome::Refused { why: why.clone() });
            }
        }
        let arrived = receipts
            .iter()
            .filter(|one| one.outcome == Outcome::Arrived)
            .count();
        count(&self.0.watch.entries, arrived);
        count(&self.0.watch.refused, receipts.len().saturating_sub(arrived));
        Ok(Pushed { receipts })
    }

    /// Keeps what a phone that was taken back sends where nobody works with it. It counts as refused, so that it stays
    /// on the phone too.
    fn keep_apart(&self, phone: &Phone, sent: Vec<Value>) -> Result<Pushed, No> {
        let (mut apart, mut receipts) = (Vec::new(), Vec::new());
        for value in sent {
            let id = id_of(&value);
            let short = value.to_string().len() <= LONGEST;
            let entry = serde_json::from_value::<Entry>(value).ok();
            apart.extend(entry.filter(|entry| short && entry.device == phone.device));
            let why = wire::TAKEN_BACK.to_owned();
            receipts.push(Receipt {
                id,
                outcome: Outcome::Refused { why },
            });
        }
        self.0.store.set_apart(phone.device, &apart, Utc::now())?;
        Ok(Pushed { receipts })
    }

    /// The entry, if this phone may send it and its photo is here.
    fn judge(&self, phone: &Phone, people: &[Person], value: Value) -> Result<Entry, Outcome> {
        let refused = |why: &str| Outcome::Refused { why: why.to_owned() };
        if value.to_string().len() > LONGEST {
            return Err(refused(
                "The office takes entries up to 1 MB; this one is longer.",
            ));
        }
        let entry: Entry =
            serde_json::from_value(value).map_err(|_| refused("The office cannot read this entry."))?;
        if entry.device != phone.device {
            return Err(refused(
                "This entry was written on another phone; only that one may send it.",
            ));
        }
        arriving::judge(people, |sha| self.0.photos.has(sha), &entry)?;
        Ok(entry)
    }
}

/// From where on, and whether the phone's own entries too (a phone that starts from nothing wants them).
#[derive(Debug, Deserialize)]
pub struct After {
    #[serde(default)]
    after: i64,
    #[serde(default)]
    own: bool,
}

/// Gives a phone the entries after its cursor.
pub async fn pull(
    State(office): State<Office>,
    headers: HeaderMap,
    after: Result<Query<After>, QueryRejection>,
) -> Result<Json<Pulled>, No> {
    let phone = phone(&office, &headers).await?;
    let Query(After { after, own }) = after.map_err(|wrong| No::bad("after", wrong.body_text()))?;
    beside(move || {
        let shop = office.shop()?.fingerprint()?;
        let page = office.0.store.entries_after(after, wire::MOST_ENTRIES)?;
        let full = page.len() == wire::MOST_ENTRIES;
        let mut pulled = Pulled {
            entries: Vec::new(),
            next: after,
            more: full,
            shop,
            epoch: office.0.store.epoch()?,
        };
        let mut bytes: usize = 0;
        for (n, entry) in page {
            let value = serde_json::to_value(&entry).map_err(bowseam_send::Error::from)?;
            bytes = bytes.saturating_add(value.to_string().len());
            // One at least, or a long one would never get through.
            if bytes > wire::MOST_BODY && !pulled.entries.is_empty() {
                pulled.more = true;
                break;
            }
            pulled.next = n;
            if own || entry.device != phone.device {
                pulled.entries.push(value);
            }
        }
        Ok(Json(pulled))
    })
    .await
}
