//! Everyone and everything that the office must refuse, over real loopback HTTP, and what is told instead.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;

use bowseam_jobs::entry::{Decision, Entry, PhotoOf, Release, What};
use bowseam_jobs::outbox::ItemState;
use bowseam_send::{codes, wire};
use chrono::{TimeDelta, Utc};
use common::{Phone, Yard, agent, note, post_entries, push, unsent};
use serde_json::{Value, json};
use uuid::Uuid;

#[test]
fn a_refused_entry_is_stuck_with_its_sentence_and_the_others_go_on() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    let hash = "0".repeat(64);
    let decision = Decision::GoAhead {
        amount: None,
        note: String::new(),
        groups: Vec::new(),
        ceiling: None,
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
                note: String::new(),
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
fn a_photo_may_come_whole_with_its_announcement_and_not_if_it_changed_on_its_way() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    let bytes = common::noise(60, 61);
    let sha = bowseam_photos::sha256(&bytes);
    let post = |body: &[u8], digest: Option<String>| {
        let request = agent()
            .post(format!("{}/uploads/{sha}", office.url))
            .header("authorization", format!("Bearer {}", office.token))
            .header(wire::UPLOAD_LENGTH, bytes.len().to_string())
            .header(wire::UPLOAD_COMPLETE, "?1");
        let request = digest.into_iter().fold(request, |request, digest| {
            request.header(wire::CONTENT_DIGEST, digest)
        });
        let mut answer = request.send(body).unwrap();
        let complete = answer
            .headers()
            .get(wire::UPLOAD_COMPLETE)
            .map(|value| value == "?1");
        let code = answer.body_mut().read_json::<Value>().unwrap_or_default();
        (
            answer.status().as_u16(),
            complete,
            code["code"].as_str().unwrap_or_default().to_owned(),
        )
    };
    let mut changed = bytes.clone();
    changed[500] ^= 1;
    let named = Some(wire::digest(&bytes));
    assert_eq!(
        post(&changed, named.clone()),
        (400, None, "digest_wrong".to_owned())
    );
    assert_eq!(post(&bytes, None), (400, None, "digest_missing".to_owned()));
    assert!(yard.photos.offset(&sha).is_err(), "nothing of it is there");
    for _ in 0..2 {
        assert_eq!(
            post(&bytes, named.clone()),
            (201, Some(true), String::new()),
            "also again"
        );
    }
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

/// The phone names a photo that goes in one part by the SHA-256 that it worked out when it kept it; the office works it out
/// once, for the digest of the part and for the photo's name. Of one that goes in parts each side hashes the parts, and the
/// office the whole at its end.
#[test]
fn a_photo_in_one_part_is_hashed_once_on_its_way_and_one_in_parts_at_its_end_again() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    for (side, times) in [(200, 1), (800, 3)] {
        let sha = phone.take_photo(job, yard.technician, PhotoOf::Unit, side, 7);
        let bytes = phone.photos.length(&sha).unwrap();
        assert_eq!(bytes > wire::PART as u64, times > 1, "{bytes}");
        let before = bowseam_photos::hashed_for_test();
        let report = phone.round();
        assert_eq!((report.photos, report.stuck), (1, 0), "{report:?}");
        assert_eq!(
            bowseam_photos::hashed_for_test() - before,
            times * bytes,
            "{side}"
        );
        yard.photos.verify(&sha).unwrap();
    }
}
