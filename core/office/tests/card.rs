//! Sending by a memory card: whole, cut off, changed, repeated, from a phone that was taken back, and back again.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    missing_docs
)]

mod common;

use bowseam_jobs::entry::{Entry, FoundChange, PhotoOf, What};
use bowseam_office::Office;
use bowseam_send::{Office as Known, card, codes, wire};
use common::{Phone, Yard, note, unsent};
use hmac::{Hmac, Mac};
use serde_json::json;
use sha2::Sha256;
use std::sync::Arc;
use uuid::Uuid;

/// A phone with a job, two photos of it and a *found more* with its own.
fn day(yard: &Yard) -> (Phone, Uuid, [String; 3]) {
    let phone = Phone::known_to(yard);
    let person = yard.technician;
    let job = phone.open_job(person, "4417");
    phone.save(job, person, note("low bridge"));
    let first = phone.take_photo(job, person, PhotoOf::Unit, 40, 1);
    let second = phone.take_photo(job, person, PhotoOf::Unit, 50, 2);
    let found = Uuid::now_v7();
    phone.save(
        job,
        person,
        What::Found {
            found,
            change: FoundChange::Line {
                line: "bow 8 is cracked".to_owned(),
                step: "bows".to_owned(),
            },
        },
    );
    let urgent = phone.take_photo(job, person, PhotoOf::Found(found), 30, 3);
    (phone, job, [urgent, first, second])
}

fn written(phone: &Phone) -> Vec<u8> {
    let office = Known::of(&phone.store).unwrap().unwrap();
    let mut archive = Vec::new();
    let done = card::write(
        &phone.store,
        &phone.photos,
        &office,
        &mut archive,
        &mut |done, all| {
            assert!(done <= all);
        },
    );
    assert!(done.unwrap().lacks.is_empty());
    archive
}

fn office(yard: &Yard) -> Office {
    Office::new(Arc::clone(&yard.app), "Yard office")
}

fn at(text: &[u8], wanted: &str) -> usize {
    text.windows(wanted.len())
        .position(|part| part == wanted.as_bytes())
        .unwrap()
}

#[test]
fn a_card_brings_everything_and_its_answer_empties_the_outbox() {
    let yard = Yard::new();
    let (phone, job, [urgent, first, second]) = day(&yard);
    let archive = written(&phone);
    let name = |sha: &String| format!("photos/{sha}");
    assert!(
        at(&archive, &name(&urgent)) < at(&archive, &name(&first)),
        "a found more goes first"
    );
    assert!(at(&archive, "entries.jsonl") < at(&archive, &name(&urgent)));

    let office = office(&yard);
    let read = office.read_card(&mut archive.as_slice()).unwrap();
    assert_eq!((read.photos, read.refused.len(), read.wrong.len()), (3, 0, 0));
    assert_eq!(
        yard.store.entries(job).unwrap(),
        phone.store.entries(job).unwrap()
    );
    for sha in [&urgent, &first, &second] {
        yard.photos.verify(sha).unwrap();
    }
    // The supervisor writes something meanwhile; it goes back with the next reading of the same card.
    let (person, act) = (yard.supervisor, Uuid::now_v7());
    yard.store
        .append(job, person, act, vec![note("go on, keep it dry")])
        .unwrap();
    let before = yard.store.entries(job).unwrap();
    let again = office.read_card(&mut archive.as_slice()).unwrap();
    assert_eq!((again.entries, again.photos), (read.entries, read.photos));
    assert_eq!(yard.store.entries(job).unwrap(), before, "nothing doubled");

    let known = Known::of(&phone.store).unwrap().unwrap();
    assert!(
        !unsent(&phone).is_empty(),
        "the phone does not believe its own card"
    );
    let taken = card::take_back(&phone.store, &known, &again.back).unwrap();
    assert_eq!((taken.stuck, taken.received), (0, 1));
    assert!(unsent(&phone).is_empty());
    assert_eq!(phone.store.entries(job).unwrap().len(), before.len());
    let late = card::take_back(&phone.store, &known, &read.back).unwrap();
    assert_eq!(
        late,
        card::Taken::default(),
        "an old answer read late does nothing"
    );
    // With a network later, nothing is sent twice.
    let round = phone.round();
    assert_eq!((round.entries, round.photos), (0, 0));
}

#[test]
fn of_a_card_that_was_cut_off_what_came_is_taken_and_what_lacks_is_said() {
    let yard = Yard::new();
    let (phone, job, photos) = day(&yard);
    let archive = written(&phone);
    let office = office(&yard);
    let all = phone.store.entries(job).unwrap().len();
    for part in 1..40 {
        let cut = archive.len() * part / 40;
        match office.read_card(&mut &archive[..cut]) {
            Err(_) => assert!(cut < at(&archive, "entries.jsonl") + 512, "{cut}"),
            Ok(read) => {
                let whole = photos.iter().all(|sha| yard.photos.has(sha));
                assert_eq!(
                    read.wrong.is_empty(),
                    whole && read.entries == all,
                    "{cut}: {read:?}"
                );
                for sha in photos.iter().filter(|sha| yard.photos.has(sha)) {
                    yard.photos.verify(sha).unwrap();
                }
            }
        }
        assert!(!unsent(&phone).is_empty());
    }
    let read = office.read_card(&mut archive.as_slice()).unwrap();
    assert!(read.wrong.is_empty() && read.refused.is_empty());
    assert_eq!(
        yard.store.entries(job).unwrap(),
        phone.store.entries(job).unwrap()
    );
}

#[test]
fn a_card_that_was_changed_is_told_apart_and_the_rest_of_it_is_taken() {
    let yard = Yard::new();
    let (phone, job, [_, first, _]) = day(&yard);
    let good = written(&phone);
    let office = office(&yard);
    let changed = |wanted: &str, by: usize| {
        let mut archive = good.clone();
        let place = at(&archive, wanted) + by;
        archive[place] ^= 1;
        office.read_card(&mut archive.as_slice())
    };
    assert!(changed("\"entries\": ", 11).is_err(), "what is in it is signed");
    let read = changed("low bridge", 0).unwrap();
    assert_eq!((read.entries, read.photos), (0, 3));
    assert!(
        read.wrong[0].contains("not those that the phone wrote"),
        "{:?}",
        read.wrong
    );
    assert!(yard.store.entries(job).unwrap().is_empty());
    let other = Yard::new();
    let elsewhere = Office::new(Arc::clone(&other.app), "Another office");
    assert!(
        elsewhere.read_card(&mut good.as_slice()).is_err(),
        "another office does not know the phone"
    );

    let yard = Yard::new();
    let (phone, _, [_, first_again, _]) = day(&yard);
    assert_eq!(first, first_again, "the same picture");
    let mut archive = written(&phone);
    // A header takes 512 bytes; somewhere in the picture behind it.
    let place = at(&archive, &format!("photos/{first}")) + 1000;
    archive[place] ^= 1;
    let read = self::office(&yard).read_card(&mut archive.as_slice()).unwrap();
    assert!(
        !yard.photos.has(&first) && read.wrong.len() == 2,
        "{:?}",
        read.wrong
    );
    assert!(read.refused.iter().any(|why| why.contains("waits for its photo")));
}

#[test]
fn a_card_of_a_phone_that_was_taken_back_is_neither_taken_nor_lost() {
    let yard = Yard::new();
    let (phone, job, _) = day(&yard);
    let archive = written(&phone);
    codes::revoke(&yard.store, phone.store.device(), chrono::Utc::now()).unwrap();
    assert!(office(&yard).read_card(&mut archive.as_slice()).is_err());
    assert!(yard.store.entries(job).unwrap().is_empty());
    assert!(!unsent(&phone).is_empty());
    // Known again under a new code, it writes the card anew.
    bowseam_send::enrol(&phone.store, &yard.url(), &yard.code(), "Phone").unwrap();
    let read = office(&yard).read_card(&mut written(&phone).as_slice()).unwrap();
    assert!(read.wrong.is_empty() && read.refused.is_empty());
    let stranger = Phone::known_to(&yard);
    let known = Known::of(&stranger.store).unwrap().unwrap();
    assert!(
        card::take_back(&stranger.store, &known, &read.back).is_err(),
        "the answer is for one phone"
    );
}

/// A card as a newer program writes it: one entry of a kind that this office does not know.
fn newer(phone: &Phone, entry: &Entry) -> Vec<u8> {
    let mut value = serde_json::to_value(entry).unwrap();
    value["id"] = json!(Uuid::now_v7());
    value["seq"] = json!(entry.seq + 1);
    value["what"] = json!({"kind": "weather", "sky": "clear"});
    let lines = format!("{}\n{value}\n", serde_json::to_string(entry).unwrap());
    let about = json!({
        "card": 1, "device": phone.store.device(), "made": chrono::Utc::now(), "entries": 2, "photos": [],
        "entries_sha256": wire::sha256(&lines), "after": 0, "own": true, "of a newer program": true,
    })
    .to_string();
    let token = Known::of(&phone.store).unwrap().unwrap().token;
    let mut mac = Hmac::<Sha256>::new_from_slice(wire::sha256(&token).as_bytes()).unwrap();
    mac.update(about.as_bytes());
    let hmac: String = mac
        .finalize()
        .into_bytes()
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    let mut archive = tar::Builder::new(Vec::new());
    for (name, text) in [
        ("about.json", &about),
        ("about.hmac", &hmac),
        ("entries.jsonl", &lines),
    ] {
        let mut header = tar::Header::new_ustar();
        header.set_size(text.len() as u64);
        archive.append_data(&mut header, name, text.as_bytes()).unwrap();
    }
    archive.into_inner().unwrap()
}

#[test]
fn an_entry_of_a_newer_phone_is_kept_and_counted() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "7");
    let opened = phone.store.entries(job).unwrap().remove(0);
    let archive = newer(&phone, &opened);
    let read = office(&yard).read_card(&mut archive.as_slice()).unwrap();
    assert_eq!(
        (read.entries, read.not_known, read.refused.len()),
        (2, 1, 0),
        "{read:?}"
    );
    assert_eq!(yard.store.job(job).unwrap().unwrap().not_known, 1);
}
