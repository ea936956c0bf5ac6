//! Phones, for the office: a code for a new one in letters, words and as a QR code; a lost one taken back, and what it
//! sent since taken in by a supervisor or left where it is.

use crate::{
    answer::{Answer, NewCode, PhoneRow, Phones, Refusal},
    app::App,
    arriving,
    change::nothing_made,
    people::office_only,
    undo, words,
};
use bowseam_jobs::{Apart, entry::Entry, people::Person};
use bowseam_send::{codes, wire::Outcome};
use chrono::Utc;
use qrcode::{EcLevel, QrCode, render::svg};
use std::collections::HashMap;
use uuid::Uuid;

/// So many changes that are apart are told in words.
const MOST_WORDS: usize = 8;

/// The page.
///
/// # Errors
/// Only at the office, only for supervisors; or the store cannot be read.
pub fn view(app: &App, me: &Person) -> Result<Answer, Refusal> {
    office_only(app, me, "looks after phones")?;
    let store = app.store();
    let apart: HashMap<Uuid, Apart> = store
        .apart()?
        .into_iter()
        .map(|apart| (apart.device, apart))
        .collect();
    let mut phones = Vec::new();
    for phone in codes::phones(&store)? {
        let apart = apart.get(&phone.device);
        phones.push(PhoneRow {
            device: phone.device,
            name: phone.name.clone(),
            since: phone.since,
            last_heard: phone.last_heard,
            taken_back: phone.revoked(),
            taken_back_at: phone.taken_back,
            apart: apart.map_or(0, |apart| apart.entries),
            apart_jobs: apart.map_or(0, |apart| apart.jobs),
            apart_words: match apart {
                Some(_) => apart_words(app, &store.apart_of(phone.device)?)?,
                None => Vec::new(),
            },
        });
    }
    phones.sort_by_key(|row| (row.apart == 0, row.taken_back, std::cmp::Reverse(row.last_heard)));
    Ok(Answer::Phones(Phones { phones }))
}

/// What is apart, in words, and why it would not come in.
fn apart_words(app: &App, entries: &[Entry]) -> Result<Vec<String>, Refusal> {
    let (store, people) = (app.store(), app.store().people()?);
    let mut said = Vec::new();
    for entry in entries.iter().take(MOST_WORDS) {
        let unit = store.summary(entry.job)?.map(|summary| summary.unit);
        let unit = unit.map_or_else(
            || "a job not known here".to_owned(),
            |unit| format!("unit {unit}"),
        );
        let who = people.iter().find(|person| person.id == entry.person);
        let who = who.map_or("someone not known here", |person| person.name.as_str());
        let why = match arriving::judge(&people, |sha| app.photos().has(sha), entry) {
            Ok(()) => String::new(),
            Err(Outcome::Refused { why }) => format!(" ({why})"),
            Err(_) => " (its photo has not come)".to_owned(),
        };
        said.push(format!("{unit}: {who}, {}{why}", undo::say(&entry.what)));
    }
    let left = entries.len().saturating_sub(said.len());
    if left > 0 {
        said.push(format!(
            "and {}",
            words::count(left, "change more", "changes more")
        ));
    }
    Ok(said)
}

/// A code for a new phone; the QR code holds it with the office's address.
///
/// # Errors
/// As [`view`]; too many codes are open.
pub fn new_code(app: &App, me: &Person, office: &str) -> Result<Answer, Refusal> {
    office_only(app, me, "makes codes for new phones")?;
    let (code, until) = app.outside()?.new_code()?;
    let office = office.trim();
    let qr = (!office.is_empty() && office.len() < 300)
        .then(|| QrCode::with_error_correction_level(format!("{office}#{code}"), EcLevel::M).ok())
        .flatten();
    Ok(Answer::NewCode(NewCode {
        words: codes::words(&code).unwrap_or_default(),
        qr: qr.map(|qr| qr.render::<svg::Color<'_>>().min_dimensions(240, 240).build()),
        code,
        until,
    }))
}

/// Takes a phone back.
///
/// # Errors
/// As [`view`]; it is not known, or was taken back already.
pub fn take_back(app: &App, me: &Person, device: Uuid) -> Result<Answer, Refusal> {
    office_only(app, me, "takes phones back")?;
    if !codes::revoke(&app.store(), device, Utc::now())? {
        let sentence = "This phone is not known here, or was taken back already.";
        return Err(Refusal::at("no_phone", "device", sentence));
    }
    Ok(nothing_made(Some(device)))
}

/// Takes what is kept apart of a phone into the jobs: what may come in comes in, the rest stays apart.
///
/// # Errors
/// As [`view`]; nothing of it may come in.
pub fn take_in(app: &App, me: &Person, device: Uuid) -> Result<Answer, Refusal> {
    office_only(app, me, "takes in what a phone sent")?;
    let (store, people) = (app.store(), app.store().people()?);
    let apart = store.apart_of(device)?;
    let may = |entry: &&Entry| arriving::judge(&people, |sha| app.photos().has(sha), entry).is_ok();
    let good: Vec<Entry> = apart.iter().filter(may).cloned().collect();
    if good.is_empty() {
        let sentence = "Nothing of this phone can be taken in: beside each change stands why.";
        return Err(Refusal::at("nothing_apart", "device", sentence));
    }
    store.receive(&good)?;
    store.no_more_apart(device)?;
    Ok(nothing_made(Some(device)))
}
