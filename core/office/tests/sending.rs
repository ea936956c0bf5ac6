//! Phones and an office over real loopback HTTP, in one process: whole rounds, rounds that are cut, and everyone
//! who must be refused.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;

use bowseam_jobs::entry::{ArrivalField, Decision, Entry, FoundChange, PhotoOf, Release, What};
use bowseam_jobs::outbox::{Item, ItemKind, ItemState};
use bowseam_jobs::people::PinCheck;
use bowseam_send::{Heard, Limits, UNKNOWN_PHONE, codes, wire};
use chrono::{TimeDelta, Utc};
use common::{Phone, Wire, Yard, until};
use serde_json::{Value, json};
use std::time::Duration;
use uuid::Uuid;

fn unsent(phone: &Phone) -> Vec<Item> {
    phone.store.unsent(None, 10_000).unwrap()
}

fn note(value: &str) -> What {
    What::Arrival {
        field: ArrivalField::Account,
        value: Some(value.to_owned()),
    }
}

/// All entries of a job, as the folded job's JSON and as sorted ids.
fn state(store: &bowseam_jobs::Store, job: Uuid) -> (Value, Vec<Uuid>) {
    let mut ids: Vec<Uuid> = store.entries(job).unwrap().iter().map(|entry| entry.id).collect();
    ids.sort();
    (serde_json::to_value(store.job(job).unwrap()).unwrap(), ids)
}

#[test]
fn one_round_brings_photos_and_entries_to_the_office_and_decisions_back() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    let sha = phone.take_photo(job, yard.technician, PhotoOf::Unit, 400, 1);
    let elsewhere = Uuid::now_v7();
    yard.store
        .append(
            elsewhere,
            yard.supervisor,
            Uuid::now_v7(),
            vec![What::Opened {
                unit: "2093".to_owned(),
            }],
        )
        .unwrap();

    let report = phone.round();
    assert_eq!(
        (report.photos, report.entries, report.received, report.stuck),
        (1, 2, 1, 0),
        "{report:?}"
    );
    assert_eq!(report.heard, Heard::Answer);
    assert!(!report.more && unsent(&phone).is_empty());
    assert_eq!(state(&yard.store, job), state(&phone.store, job));
    assert_eq!(phone.store.job(elsewhere).unwrap().unwrap().unit, "2093");
    assert_eq!(yard.photos.list().unwrap(), std::slice::from_ref(&sha));
    yard.photos.verify(&sha).unwrap();
    assert!(bowseam_send::Office::last_heard(&phone.store).unwrap().is_some());

    let again = phone.round();
    assert_eq!((again.photos, again.entries, again.received), (0, 0, 0));
}

#[test]
fn what_was_sent_and_is_sent_again_is_there_once() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    phone.take_photo(job, yard.technician, PhotoOf::Unit, 400, 2);
    phone.round();
    let office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    let entries = phone.store.entries(job).unwrap();
    for _ in 0..2 {
        let pushed = push(&office, &entries);
        assert!(
            pushed
                .receipts
                .iter()
                .all(|receipt| receipt.outcome == wire::Outcome::Arrived),
            "{pushed:?}"
        );
        assert_eq!(yard.store.entries_after(0, 100).unwrap().len(), entries.len());
        assert_eq!(yard.photos.list().unwrap().len(), 1);
    }
}

#[test]
fn a_photo_that_is_cut_off_goes_on_where_it_stopped() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    let sha = phone.take_photo(job, yard.technician, PhotoOf::Unit, 800, 3);
    let bytes = phone.photos.about(&sha).unwrap().bytes;
    assert!(bytes > 1_500_000, "{bytes}");

    let wire = Wire::new(yard.address, 900_000);
    let report = phone.round_over(&wire);
    assert_eq!((report.heard, report.photos), (Heard::Nothing, 0), "{report:?}");
    let here = yard.photos.offset(&sha).unwrap();
    assert!(here >= 512 * 1024 && here < bytes, "{here}");
    let left = unsent(&phone);
    assert!(
        left.iter().all(|item| item.state == ItemState::Waiting),
        "{left:?}"
    );

    let before = wire.carried();
    wire.mend(i64::MAX);
    let report = phone.round_over(&wire);
    assert_eq!((report.photos, report.stuck), (1, 0), "{report:?}");
    assert!(unsent(&phone).is_empty());
    let sent = wire.carried() - before;
    assert!(
        sent < bytes - here + 20_000,
        "{sent} bytes for the {} that lacked",
        bytes - here
    );
    yard.photos.verify(&sha).unwrap();
    assert_eq!(state(&yard.store, job), state(&phone.store, job));
}

#[test]
fn a_round_cut_anywhere_loses_and_doubles_nothing() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    for seed in 10..13 {
        phone.take_photo(job, yard.technician, PhotoOf::Unit, 330, seed);
        phone.save(job, yard.technician, note(&seed.to_string()));
    }
    let wire = Wire::new(yard.address, 0);
    let mut rounds = 0;
    while !unsent(&phone).is_empty() {
        wire.mend(70_000 + 9_973 * (rounds % 31));
        phone.round_over(&wire);
        rounds += 1;
        assert!(rounds < 200, "{:?}", unsent(&phone));
    }
    assert!(rounds > 1);
    assert_eq!(state(&yard.store, job), state(&phone.store, job));
    assert_eq!(yard.photos.list().unwrap().len(), 3);
}

#[test]
fn no_network_is_a_normal_state_in_which_nothing_is_lost_or_counted_as_tried() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    phone.open_job(yard.technician, "4417");
    let wire = Wire::new(yard.address, 0);
    for _ in 0..3 {
        assert_eq!(phone.round_over(&wire).heard, Heard::Nothing);
    }
    let left = unsent(&phone);
    assert_eq!(
        (left.len(), left[0].state, left[0].tries),
        (1, ItemState::Waiting, 0)
    );
    assert_eq!(phone.round().entries, 1);
}

#[test]
fn a_found_more_and_its_photo_go_before_a_stack_of_other_photos() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    for seed in 20..26 {
        phone.take_photo(job, yard.technician, PhotoOf::Unit, 200, seed);
    }
    let found = Uuid::now_v7();
    let change = FoundChange::Line {
        line: "Bow 9 cracked".to_owned(),
        step: "strip".to_owned(),
    };
    phone.save(job, yard.technician, What::Found { found, change });
    let sha = phone.take_photo(job, yard.technician, PhotoOf::Found(found), 200, 30);

    // Few requests, as on a network that is there for a moment.
    let limits = Limits {
        requests: 5,
        ..Limits::default()
    };
    let office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    let report = phone
        .sender
        .round_within(&phone.store, &phone.photos, &office, limits)
        .unwrap();
    assert!(report.more);
    assert!(yard.photos.has(&sha));
    let there = yard.store.job(job).unwrap().unwrap();
    assert_eq!(there.found.len(), 1);
    assert!(there.photos.iter().any(|photo| photo.sha256 == sha));
    assert!(yard.photos.list().unwrap().len() < 7);
    while phone.round().more {}
    assert_eq!(state(&yard.store, job), state(&phone.store, job));
}

#[test]
fn a_refused_entry_is_stuck_with_its_sentence_and_the_others_go_on() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    let hash = "0".repeat(64);
    let decision = Decision::GoAhead {
        amount: None,
        note: String::new(),
    };
    let refused = [
        phone.save(
            job,
            yard.technician,
            What::Decided {
                hash: hash.clone(),
                decision: decision.clone(),
            },
        ),
        phone.save(
            job,
            yard.technician,
            What::Overruled {
                reason: Some("dry".to_owned()),
            },
        ),
        phone.save(
            job,
            yard.technician,
            What::Released {
                release: Some(Release { note: String::new() }),
            },
        ),
        phone.save(
            job,
            yard.technician,
            What::Asked {
                hash: hash.clone(),
                figures: json!({"a": 1}),
                found: None,
            },
        ),
    ];
    phone.save(job, yard.technician, note("goes on"));
    phone.save(job, yard.supervisor, What::Decided { hash, decision });
    let report = phone.round();
    assert_eq!((report.entries, report.stuck), (3, 4), "{report:?}");
    let left = unsent(&phone);
    assert_eq!(left.iter().map(|item| item.entry).collect::<Vec<_>>(), refused);
    for item in &left {
        assert!(
            item.state == ItemState::Stuck && item.why.ends_with('.') && item.why.len() > 20,
            "{item:?}"
        );
    }
    assert_eq!(yard.store.job(job).unwrap().unwrap().decided.len(), 1);
}

#[test]
fn an_entry_of_another_device_is_refused_and_a_kind_that_is_not_known_is_kept() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    let office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    let own = phone.store.entries(job).unwrap()[0].clone();
    let strange = Entry {
        id: Uuid::now_v7(),
        device: Uuid::new_v4(),
        ..own.clone()
    };
    let mut newer = serde_json::to_value(Entry {
        id: Uuid::now_v7(),
        seq: 2,
        ..own.clone()
    })
    .unwrap();
    newer["what"] = json!({"kind": "from_a_newer_program", "x": [1, 2]});
    let entries = vec![
        serde_json::to_value(&strange).unwrap(),
        newer.clone(),
        json!({"id": "no entry"}),
    ];
    let pushed: wire::Pushed = post_entries(&office, &wire::Push { entries });
    let [strange_receipt, newer_receipt, no_entry] = pushed.receipts.as_slice() else {
        panic!("{pushed:?}")
    };
    assert!(matches!(strange_receipt.outcome, wire::Outcome::Refused { .. }));
    assert_eq!(newer_receipt.outcome, wire::Outcome::Arrived);
    assert!(matches!(no_entry.outcome, wire::Outcome::Refused { .. }));
    let kept = yard.store.entries(job).unwrap();
    assert_eq!(kept.len(), 1);
    assert_eq!(serde_json::to_value(&kept[0]).unwrap(), newer);
}

#[test]
fn an_entry_waits_for_its_photo() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    let sha = phone.take_photo(job, yard.technician, PhotoOf::Unit, 100, 40);
    let office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    let pushed = push(&office, &phone.store.entries(job).unwrap());
    assert_eq!(pushed.receipts[0].outcome, wire::Outcome::Arrived);
    assert_eq!(
        pushed.receipts[1].outcome,
        wire::Outcome::WaitsForPhoto { sha256: sha }
    );
    assert_eq!(yard.store.entries(job).unwrap().len(), 1);
}

#[test]
fn a_photo_that_is_gone_or_changed_on_the_phone_is_stuck_and_the_others_go_on() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    let gone = phone.take_photo(job, yard.technician, PhotoOf::Unit, 100, 50);
    let changed = phone.take_photo(job, yard.technician, PhotoOf::Unit, 100, 51);
    let whole = phone.take_photo(job, yard.technician, PhotoOf::Unit, 100, 52);
    std::fs::remove_file(phone.photos.original(&gone).unwrap()).unwrap();
    let path = phone.photos.original(&changed).unwrap();
    let mut bytes = std::fs::read(&path).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(path, bytes).unwrap();

    phone.round();
    assert_eq!(yard.photos.list().unwrap(), [whole]);
    let left = unsent(&phone);
    for sha in [gone, changed] {
        let photo = left
            .iter()
            .find(|item| item.kind == ItemKind::Photo && item.sha256 == sha)
            .unwrap();
        assert!(
            photo.state == ItemState::Stuck && photo.why.ends_with('.'),
            "{photo:?}"
        );
    }
    assert_eq!(yard.store.job(job).unwrap().unwrap().photos.len(), 1);
}

#[test]
fn parts_that_do_not_join_on_or_changed_on_the_way_are_not_counted() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    let bytes = common::noise(60, 60);
    let sha = bowseam_photos::sha256(&bytes);
    let (first, rest) = bytes.split_at(1000);
    let status = |answer: &ureq::http::Response<ureq::Body>| {
        let header = |name| {
            answer
                .headers()
                .get(name)
                .map(|value| value.to_str().unwrap().to_owned())
        };
        (
            answer.status().as_u16(),
            header(wire::UPLOAD_OFFSET),
            header(wire::UPLOAD_COMPLETE),
        )
    };
    let some = |text: &str| Some(text.to_owned());
    let url = format!("{}/uploads/{sha}", office.url);
    let patch = |at: usize, last: bool, body: &[u8], digest: &str| {
        let request = agent()
            .patch(&url)
            .header("authorization", format!("Bearer {}", office.token));
        let request = request
            .content_type(wire::PARTIAL)
            .header(wire::UPLOAD_OFFSET, at.to_string());
        let request = request.header(wire::UPLOAD_COMPLETE, if last { "?1" } else { "?0" });
        request.header(wire::CONTENT_DIGEST, digest).send(body).unwrap()
    };
    let head = || {
        status(
            &agent()
                .head(&url)
                .header("authorization", format!("Bearer {}", office.token))
                .call()
                .unwrap(),
        )
    };

    assert_eq!(head().0, 404);
    let announce = agent()
        .post(&url)
        .header("authorization", format!("Bearer {}", office.token));
    let announce = announce
        .header(wire::UPLOAD_LENGTH, bytes.len().to_string())
        .send_empty()
        .unwrap();
    assert_eq!(status(&announce), (201, some("0"), some("?0")));
    let first_digest = wire::digest(first);
    assert_eq!(
        status(&patch(0, false, first, &wire::digest(rest))).0,
        400,
        "wrong digest"
    );
    assert_eq!(
        status(&patch(0, false, first, "sha-512=:AAAA:")).0,
        400,
        "no sha-256"
    );
    assert_eq!(head(), (204, some("0"), some("?0")));
    assert_eq!(
        status(&patch(0, false, first, &first_digest)),
        (204, some("1000"), some("?0"))
    );
    for wrong in [0, 999, 1001, 5000] {
        let mut answer = patch(wrong, false, first, &first_digest);
        assert_eq!(status(&answer), (409, some("1000"), some("?0")), "from {wrong}");
        let problem: Value = answer.body_mut().read_json().unwrap();
        assert_eq!(
            (&problem["type"], &problem["expected-offset"]),
            (&json!(wire::WRONG_OFFSET), &json!(1000))
        );
    }
    assert_eq!(head(), (204, some("1000"), some("?0")));
    let end = bytes.len().to_string();
    assert_eq!(
        status(&patch(1000, true, rest, &wire::digest(rest))),
        (200, some(&end), some("?1"))
    );
    assert_eq!(head(), (204, some(&end), some("?1")));
    yard.photos.verify(&sha).unwrap();
}

#[test]
fn what_is_no_photo_or_another_photo_than_announced_is_not_kept() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    let bytes = b"no photo at all";
    for (sha, expected) in [
        (bowseam_photos::sha256(bytes), 422),
        ("a".repeat(64), 409),
        ("../x".to_owned(), 404),
    ] {
        let url = format!("{}/uploads/{sha}", office.url);
        let token = format!("Bearer {}", office.token);
        let announce = agent().post(&url).header("authorization", &token);
        let announced = announce
            .header(wire::UPLOAD_LENGTH, bytes.len().to_string())
            .send_empty()
            .unwrap();
        if announced.status() != 201 {
            assert_eq!(announced.status(), expected, "{sha}");
            continue;
        }
        let part = agent()
            .patch(&url)
            .header("authorization", &token)
            .content_type(wire::PARTIAL);
        let part = part
            .header(wire::UPLOAD_OFFSET, "0")
            .header(wire::UPLOAD_COMPLETE, "?1");
        let answer = part
            .header(wire::CONTENT_DIGEST, wire::digest(bytes))
            .send(bytes)
            .unwrap();
        assert_eq!(answer.status(), expected, "{sha}");
        assert!(!yard.photos.has(&sha));
    }
}

#[test]
fn a_phone_whose_token_was_taken_back_is_told_so_and_goes_on_with_a_new_code() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    phone.take_photo(job, yard.technician, PhotoOf::Unit, 100, 70);
    assert!(codes::revoke(&yard.store, phone.store.device()).unwrap());
    let report = phone.round();
    assert_eq!((report.heard, report.stuck), (Heard::Trouble, 3), "{report:?}");
    let left = unsent(&phone);
    assert!(
        left.iter()
            .all(|item| item.state == ItemState::Stuck && item.why == UNKNOWN_PHONE),
        "{left:?}"
    );
    assert!(yard.store.entries_after(0, 10).unwrap().is_empty());

    bowseam_send::enrol(&phone.store, &yard.url(), &yard.code(), "Phone").unwrap();
    let report = phone.round();
    assert_eq!((report.photos, report.entries), (1, 2), "{report:?}");
}

#[test]
fn a_code_is_good_for_one_phone_and_ten_minutes_and_cannot_be_guessed() {
    let yard = Yard::new();
    let now = Utc::now();
    let (code, until) = codes::new_code(&yard.store, now).unwrap();
    assert_eq!((code.len(), until - now), (8, TimeDelta::minutes(10)));
    let (one, other) = (Uuid::new_v4(), Uuid::new_v4());
    let typed = format!(" {}-{} ", &code[..4].to_lowercase(), &code[4..]);
    let lost = codes::redeem(&yard.store, &typed, one, "One", now).unwrap();
    let token = codes::redeem(&yard.store, &code, one, "One", now).unwrap();
    assert_eq!(
        codes::phone_of(&yard.store, &lost).unwrap(),
        None,
        "the answer that got lost is worth nothing"
    );
    assert_eq!(codes::phone_of(&yard.store, &token).unwrap().unwrap().device, one);
    assert_eq!(
        codes::redeem(&yard.store, &code, other, "Other", now)
            .unwrap_err()
            .code(),
        "send_code"
    );

    let (late, until) = codes::new_code(&yard.store, now).unwrap();
    assert_eq!(
        codes::redeem(&yard.store, &late, other, "Other", until)
            .unwrap_err()
            .code(),
        "send_code"
    );
    // One that was wrong is ten minutes old by now.
    for _ in 1..20 {
        assert_eq!(
            codes::redeem(&yard.store, "AAAA2222", other, "Other", now)
                .unwrap_err()
                .code(),
            "send_code"
        );
    }
    let (good, _) = codes::new_code(&yard.store, now).unwrap();
    assert_eq!(
        codes::redeem(&yard.store, &good, other, "Other", now)
            .unwrap_err()
            .code(),
        "send_too_many_codes"
    );
    let later = now + TimeDelta::minutes(11);
    let (good, _) = codes::new_code(&yard.store, later).unwrap();
    assert!(codes::redeem(&yard.store, &good, other, "Other", later).is_ok());
    let stored: Value = yard.store.setting("phones").unwrap().unwrap();
    assert!(
        !stored.to_string().contains(&token) && !stored.to_string().contains(&good),
        "only hashes are kept"
    );
}

#[test]
fn strangers_are_refused_at_every_path_of_the_phones() {
    let yard = Yard::new();
    let sha = "a".repeat(64);
    for token in ["", "Bearer ", "Bearer 0123", "Basic 0123"] {
        let uploads = format!("{}/uploads/{sha}", yard.url());
        let get = |path: &str| {
            agent()
                .get(format!("{}/{path}", yard.url()))
                .header("authorization", token)
                .call()
                .unwrap()
        };
        let statuses = [
            get("here").status(),
            get("shop").status(),
            get("entries?after=0").status(),
            get(&format!("photo/{sha}/small")).status(),
            agent()
                .post(format!("{}/entries", yard.url()))
                .header("authorization", token)
                .send_json(json!({"entries": []}))
                .unwrap()
                .status(),
            agent()
                .post(&uploads)
                .header("authorization", token)
                .header(wire::UPLOAD_LENGTH, "9")
                .send_empty()
                .unwrap()
                .status(),
            agent()
                .head(&uploads)
                .header("authorization", token)
                .call()
                .unwrap()
                .status(),
            agent()
                .patch(&uploads)
                .header("authorization", token)
                .send("x")
                .unwrap()
                .status(),
        ];
        assert!(
            statuses.iter().all(|status| *status == 401),
            "{token:?}: {statuses:?}"
        );
    }
    let enrol = json!({"code": "AAAA2222", "device": Uuid::new_v4(), "name": "x"});
    let mut refused = agent()
        .post(format!("{}/enrol", yard.url()))
        .send_json(enrol)
        .unwrap();
    assert_eq!(refused.status(), 403);
    let sorry: wire::Sorry = refused.body_mut().read_json().unwrap();
    assert!(sorry.sentence.contains("ask for a new one"), "{sorry:?}");
}

#[test]
fn bodies_that_are_too_large_or_no_messages_are_refused_with_a_sentence() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    let post = |path: &str, body: &[u8]| {
        let request = agent().post(format!("{}/{path}", office.url));
        let request = request.header("authorization", format!("Bearer {}", office.token));
        request.content_type("application/json").send(body).unwrap()
    };
    let many = json!({"entries": vec![json!({}); wire::MOST_ENTRIES + 1]}).to_string();
    let rows: [(&str, Vec<u8>, u16); 5] = [
        ("entries", vec![b' '; wire::MOST_BODY + 1], 413),
        ("entries", many.into_bytes(), 400),
        ("entries", b"{\"entries\": [], \"more\": 1}".to_vec(), 422),
        ("entries", b"not JSON".to_vec(), 400),
        ("enrol", vec![b' '; 17 * 1024], 413),
    ];
    for (path, body, status) in rows {
        let mut answer = post(path, &body);
        assert_eq!(answer.status(), status, "{path} {} bytes", body.len());
        let sorry: wire::Sorry = answer.body_mut().read_json().unwrap();
        assert!(!sorry.sentence.is_empty());
    }
    let job = phone.open_job(yard.technician, "4417");
    phone.save(job, yard.technician, note(&"long ".repeat(300_000)));
    let report = phone.round();
    assert_eq!((report.entries, report.stuck), (1, 1), "{report:?}");
    assert!(unsent(&phone)[0].why.contains("1 MB"));
}

#[test]
fn what_waits_for_a_later_try_goes_at_once_when_a_person_asks() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    phone.open_job(yard.technician, "4417");
    let item = unsent(&phone)[0].n;
    phone
        .store
        .later(&[item], Utc::now() + TimeDelta::hours(1), "The office is full.")
        .unwrap();
    assert_eq!(phone.round().entries, 0);
    let office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    let limits = Limits {
        at_once: true,
        ..Limits::default()
    };
    let report = phone
        .sender
        .round_within(&phone.store, &phone.photos, &office, limits)
        .unwrap();
    assert_eq!(report.entries, 1);
}

#[test]
fn what_answers_but_is_no_office_counts_as_no_network() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    phone.open_job(yard.technician, "4417");
    let mut office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    // A path of this server that is none of the office's: it answers 404 as any other web server does.
    office.url = format!("http://{}/elsewhere", yard.address);
    let report = phone.sender.round(&phone.store, &phone.photos, &office).unwrap();
    assert_eq!((report.heard, report.stuck), (Heard::Nothing, 0), "{report:?}");
    assert_eq!(unsent(&phone)[0].state, ItemState::Waiting);
}

#[test]
fn a_phone_that_starts_from_nothing_gets_everything_also_what_it_once_wrote() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let jobs: Vec<Uuid> = (0..5)
        .map(|n| phone.open_job(yard.technician, &n.to_string()))
        .collect();
    for n in 0..250 {
        phone.save(jobs[n % 5], yard.technician, note(&n.to_string()));
    }
    while phone.round().more {}
    let other = Phone::known_to(&yard);
    while other.round().more {}
    for job in jobs {
        assert_eq!(state(&other.store, job), state(&phone.store, job));
    }
    assert!(
        other
            .store
            .people()
            .unwrap()
            .iter()
            .any(|person| person.id == yard.technician)
    );
}

#[test]
fn people_and_their_pins_come_to_the_phone_and_follow_the_office() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let right =
        |pin: &str| phone.store.check_pin(yard.technician, pin, Utc::now()).unwrap() == PinCheck::Right;
    assert!(right(common::PIN) && !right("0000"));
    yard.store.set_pin(yard.technician, "20932").unwrap();
    phone.round();
    assert!(right("20932") && !right(common::PIN));
}

#[test]
fn a_background_sends_after_a_poke() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let Phone {
        store,
        photos,
        sender,
        ..
    } = phone;
    let store = std::sync::Arc::new(store);
    let background =
        bowseam_send::Background::start(store.clone(), photos, sender.into(), Duration::from_secs(3600));
    let job = Uuid::now_v7();
    store
        .append(
            job,
            yard.technician,
            Uuid::now_v7(),
            vec![What::Opened {
                unit: "4417".to_owned(),
            }],
        )
        .unwrap();
    background.poke();
    until("the job is at the office", || {
        yard.store.job(job).unwrap().is_some()
    });
    until("the phone knows", || store.unsent(None, 10).unwrap().is_empty());
    background.stop();
}

fn agent() -> ureq::Agent {
    ureq::Agent::config_builder()
        .http_status_as_error(false)
        .build()
        .new_agent()
}

fn push(office: &bowseam_send::Office, entries: &[Entry]) -> wire::Pushed {
    post_entries(
        office,
        &wire::Push {
            entries: entries
                .iter()
                .map(|entry| serde_json::to_value(entry).unwrap())
                .collect(),
        },
    )
}

fn post_entries(office: &bowseam_send::Office, push: &wire::Push) -> wire::Pushed {
    let request = agent()
        .post(format!("{}/entries", office.url))
        .header("authorization", format!("Bearer {}", office.token));
    request.send_json(push).unwrap().body_mut().read_json().unwrap()
}
