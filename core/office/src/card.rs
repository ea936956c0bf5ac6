//! What a phone wrote on a memory card: judged entry by entry as if it had been sent, and answered with a file for the
//! phone. Reading the same card again changes nothing.

use crate::no::beside;
use crate::roles::Need;
use crate::{No, Office};
use axum::Json;
use axum::body::Body;
use axum::extract::State;
use axum::http::HeaderMap;
use bowseam_jobs::entry::{Entry, What};
use bowseam_send::card::{self, Back};
use bowseam_send::codes;
use bowseam_send::wire::{MOST_ENTRIES, OURS, Outcome, Receipt};
use http_body_util::BodyExt;
use serde::Serialize;
use serde_json::Value;
use std::io::{Read, Seek, SeekFrom, Write};

/// Most entries of others that go back on one card.
const MOST_BACK: usize = 20_000;

/// What a card brought, for a person; and the answer to put on it for the phone.
#[derive(Debug, Serialize)]
pub struct CardRead {
    /// What people call the phone.
    pub phone: String,
    /// Entries that are here now, and photos.
    pub entries: usize,
    /// Photos that are here now.
    pub photos: usize,
    /// Of the entries, those of a kind that this office does not know: kept, and shown once it knows them.
    pub not_known: usize,
    /// Why each of the others was not taken.
    pub refused: Vec<String>,
    /// What is wrong with the card, in words.
    pub wrong: Vec<String>,
    /// The answer.
    pub back: String,
}

/// Takes a card from a page of the office.
pub async fn take(
    State(office): State<Office>,
    headers: HeaderMap,
    mut body: Body,
) -> Result<Json<CardRead>, No> {
    crate::guard::same_origin(&headers)?;
    if headers.get(OURS).is_none_or(|ours| ours != "1") {
        return Err(No::forbidden(
            "header",
            "Only the program's own pages may bring a card.",
        ));
    }
    let asking = office.clone();
    beside(move || asking.may(asking.whose(&headers)?, Need::Supervisor)).await?;
    let wrong = |e: std::io::Error| No::bad("card", format!("The card cannot be read here: {e}."));
    // A card may be larger than memory: it goes through a file that is gone when this ends.
    let mut file = tempfile::tempfile_in(office.0.app.folder()).map_err(wrong)?;
    while let Some(frame) = body.frame().await {
        let frame = frame.map_err(|e| No::bad("card", format!("The card did not come through: {e}.")))?;
        if let Some(data) = frame.data_ref() {
            file.write_all(data).map_err(wrong)?;
        }
    }
    beside(move || {
        file.seek(SeekFrom::Start(0)).map_err(wrong)?;
        office.read_card(&mut std::io::BufReader::new(file)).map(Json)
    })
    .await
}

impl Office {
    /// Reads a card.
    ///
    /// # Errors
    /// It is no archive of a phone that the office knows; the store or the photos cannot be written.
    pub fn read_card(&self, from: &mut dyn Read) -> Result<CardRead, No> {
        let phones = codes::phones(&self.0.store)?;
        let key = |device| phones.iter().find(|phone| phone.device == device)?.key();
        let card = card::read(from, key, &self.0.photos)?;
        let phone = phones.iter().find(|phone| phone.device == card.about.device);
        let phone = phone.ok_or_else(No::stranger)?;
        let mut receipts: Vec<Receipt> = Vec::with_capacity(card.entries.len());
        for some in card.entries.chunks(MOST_ENTRIES) {
            receipts.extend(self.take(phone, some.to_vec())?.receipts);
        }
        let not_known = |value: &&Value| {
            let entry = serde_json::from_value::<Entry>((*value).clone());
            entry.is_ok_and(|entry| matches!(entry.what, What::NotKnown(_)))
        };
        let mut entries = Vec::new();
        let (after, mut next) = (card.about.after, card.about.after);
        for (n, entry) in self.0.store.entries_after(after, MOST_BACK)? {
            next = n;
            if card.about.own || entry.device != card.about.device {
                entries.push(serde_json::to_value(&entry).map_err(bowseam_send::Error::from)?);
            }
        }
        let said = |receipt: &Receipt| match &receipt.outcome {
            Outcome::Arrived => None,
            Outcome::Refused { why } => Some(why.clone()),
            Outcome::WaitsForPhoto { sha256 } => Some(format!("It waits for its photo {sha256}.")),
        };
        let refused: Vec<String> = receipts.iter().filter_map(said).collect();
        let arrived = receipts.len().saturating_sub(refused.len());
        let photos: Vec<String> = card
            .about
            .photos
            .iter()
            .filter(|sha| self.0.photos.has(sha))
            .cloned()
            .collect();
        Ok(CardRead {
            phone: phone.name.clone(),
            entries: arrived,
            photos: photos.len(),
            not_known: card.entries.iter().filter(not_known).count(),
            refused,
            wrong: card.wrong,
            back: card::seal(
                &Back {
                    device: card.about.device,
                    receipts,
                    photos,
                    entries,
                    after,
                    next,
                },
                &phone.key().ok_or_else(No::stranger)?,
            )?,
        })
    }
}
