//! The kept yard against a new replay of `yard.json`.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use super::*;
use bowseam_jobs::people::PinCheck;
use serde_json::Value;
use std::collections::HashMap;

const BAKE: &str = "The kept yard is not what replaying demo-data/yard.json makes now. If it should be, make it anew: \
     `cargo run -- bake demo-data/yard_entries.json`, then test again";

/// Gives every id and hash of figures the number of its first coming, and takes times off: what is left is the same
/// in every replay. People and photos keep their names.
#[derive(Default)]
struct Plain(HashMap<String, usize>);

impl Plain {
    fn entry(&mut self, entry: &Entry) -> Value {
        let mut value = serde_json::to_value(entry).unwrap();
        value.as_object_mut().unwrap().remove("at");
        self.plain(&value)
    }

    fn plain(&mut self, value: &Value) -> Value {
        match value {
            Value::String(text) => Value::String(self.text(text)),
            Value::Array(all) => all.iter().map(|value| self.plain(value)).collect(),
            Value::Object(all) => all
                .iter()
                .map(|(key, value)| {
                    let value = match (key.as_str(), value) {
                        ("hash", Value::String(hash)) => Value::String(self.number(hash)),
                        _ => self.plain(value),
                    };
                    (self.text(key), value)
                })
                .collect(),
            other => other.clone(),
        }
    }

    /// A step by hand is named by its mark: `by_hand:ID`.
    fn text(&mut self, text: &str) -> String {
        let part = |part| match Uuid::parse_str(part) {
            Ok(id) if yard::PEOPLE.iter().all(|person| Uuid::from_u128(person.0) != id) => self.number(part),
            _ => part.to_owned(),
        };
        text.split(':').map(part).collect::<Vec<_>>().join(":")
    }

    fn number(&mut self, name: &str) -> String {
        let next = self.0.len();
        format!("#{}", self.0.entry(name.to_owned()).or_insert(next))
    }
}

/// The yard list of a store without what differs from start to start, newest first.
fn yard_list(app: &App) -> Vec<Value> {
    let (jobs, _) = app.store().jobs(100, None).unwrap();
    let row = |summary| {
        let mut row = serde_json::to_value(summary).unwrap();
        for differs in ["id", "last", "unsent", "asked_since"] {
            row.as_object_mut().unwrap().remove(differs).unwrap();
        }
        row
    };
    jobs.into_iter().map(row).collect()
}

#[test]
fn the_kept_yard_is_what_replaying_its_acts_makes() {
    let folder = tempfile::tempdir().unwrap();
    let (phone, office) = open_empty(folder.path()).unwrap();
    yard::replay(&phone, &office).unwrap();
    let kept = tempfile::tempdir().unwrap();
    let (kept_phone, kept_office) = open(kept.path()).unwrap();

    // As they are kept: at a start photos are dated as well, which names them anew.
    let (made, kept) = (entries_of(&phone).unwrap(), read::<Baked>().unwrap().entries);
    let (mut plain, mut kept_plain) = (Plain::default(), Plain::default());
    for (made, kept) in made.iter().zip(&kept) {
        let (made, kept) = (plain.entry(made), kept_plain.entry(kept));
        assert_eq!(made, kept, "{BAKE}");
    }
    assert_eq!(made.len(), kept.len(), "{BAKE}");
    assert!(made.len() > 200, "the yard has {} entries", made.len());
    for (made, kept) in [(&phone, &kept_phone), (&office, &kept_office)] {
        assert_eq!(yard_list(made), yard_list(kept), "{BAKE}");
        assert_eq!(
            made.photos().list().unwrap().len(),
            kept.photos().list().unwrap().len(),
            "{BAKE}"
        );
    }
}

#[test]
fn a_fresh_demo_has_everything_at_the_office_and_its_people_can_sign_in() {
    let folder = tempfile::tempdir().unwrap();
    let (phone, office) = open(folder.path()).unwrap();
    let at_phone = entries_of(&phone).unwrap();
    assert_eq!(at_phone, entries_of(&office).unwrap());
    assert!(phone.store().unsent(None, usize::MAX).unwrap().is_empty());
    let photos = phone.photos().list().unwrap();
    assert_eq!(photos, office.photos().list().unwrap());
    for sha256 in &photos {
        phone.photos().verify(sha256).unwrap();
        office.photos().verify(sha256).unwrap();
    }
    for (id, ..) in yard::PEOPLE {
        for app in [&phone, &office] {
            let check = app.store().check_pin(Uuid::from_u128(id), "1234", Utc::now());
            assert_eq!(check.unwrap(), PinCheck::Right);
        }
    }
    let last = at_phone.iter().filter_map(|entry| clock::wall(&entry.at)).max();
    let age = Utc::now() - last.unwrap();
    assert!((0..60).contains(&age.num_seconds()), "the last act was {age} ago");
}

/// The photo that an entry brings in.
fn named(entry: &Entry) -> Option<&String> {
    match &entry.what {
        What::Photo {
            sha256,
            change: PhotoChange::Added { .. },
        } => Some(sha256),
        _ => None,
    }
}

#[test]
fn photos_were_taken_when_they_were_brought_in_by_their_files_too_and_one_is_an_old_picture() {
    let folder = tempfile::tempdir().unwrap();
    let (phone, _) = open(folder.path()).unwrap();
    let mut old = Vec::new();
    for entry in entries_of(&phone).unwrap() {
        let What::Photo {
            sha256,
            change: PhotoChange::Added { name, taken, .. },
        } = &entry.what
        else {
            continue;
        };
        let facts = phone.photos().facts(sha256).unwrap().unwrap();
        assert_eq!((facts.taken, facts.taken.is_some()), (*taken, true), "{name}");
        let offset = facts.offset_minutes.unwrap();
        let late = clock::wall(&entry.at).unwrap().naive_utc() + chrono::TimeDelta::minutes(offset.into())
            - taken.unwrap();
        if !(0..60).contains(&late.num_seconds()) {
            old.push(name.clone());
        }
    }
    assert_eq!(old, [OLD]);
}

#[test]
fn what_people_did_on_this_phone_before_the_start_is_this_phones() {
    let folder = tempfile::tempdir().unwrap();
    let (phone, office) = open(folder.path()).unwrap();
    let devices = [phone.store().device(), office.store().device()];
    assert!(
        entries_of(&phone)
            .unwrap()
            .iter()
            .all(|e| devices.contains(&e.device))
    );
    let (jobs, _) = phone.store().jobs(100, None).unwrap();
    let newest = jobs.first().unwrap();
    assert_eq!(newest.unit, "4417");
    let inspector = Uuid::from_u128(yard::PEOPLE[0].0);
    assert!(phone.store().undo_last(newest.id, inspector).unwrap().is_some());
}

#[test]
fn a_first_start_that_was_cut_off_is_done_again() {
    let folder = tempfile::tempdir().unwrap();
    let (phone, office) = open_empty(folder.path()).unwrap();
    let (entries, _) = planted(&phone, &office, &read().unwrap()).unwrap();
    receive(&office, &entries).unwrap();
    drop((phone, office));
    let (phone, office) = open(folder.path()).unwrap();
    assert_eq!(entries_of(&phone).unwrap(), entries);
    assert_eq!(entries_of(&office).unwrap(), entries);
    let photos = phone.photos().list().unwrap();
    assert_eq!(photos, office.photos().list().unwrap());
    assert!(
        photos.len() > 20
            && entries
                .iter()
                .filter_map(named)
                .all(|named| photos.contains(named))
    );
    assert_eq!(phone.store().people().unwrap().len(), yard::PEOPLE.len());
}

#[test]
fn a_photo_is_known_again_by_its_bytes() {
    let (file, whole) = yard::photo_files().next().unwrap();
    let plain = Photo::of(whole).unwrap();
    assert_eq!((plain.file.as_str(), &plain.comment), (file, &None));
    let bytes = yard::stand_in(file, "of step one").unwrap();
    let made = Photo::of(&bytes).unwrap();
    assert_eq!(made.comment.as_deref(), Some("of step one"));
    assert_eq!(*made.bytes().unwrap(), *bytes);
    assert!(Photo::of(b"no photo at all").is_err());
}
