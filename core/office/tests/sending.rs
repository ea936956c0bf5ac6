//! Phones and an office over real loopback HTTP, in one process: whole rounds and rounds that are cut.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;

use axum::http::StatusCode;
use axum::routing::get;
use axum::{Json, Router};
use bowseam_jobs::entry::{FoundChange, MarkChange, PhotoOf, What};
use bowseam_jobs::outbox::{ItemKind, ItemState};
use bowseam_jobs::people::PinCheck;
use bowseam_send::{Heard, Limits, UNKNOWN_PHONE, codes, wire};
use chrono::{TimeDelta, Utc};
use common::{Phone, Wire, Yard, note, push, unsent, until};
use serde_json::{Value, json};
use uuid::Uuid;

/// All entries of a job, as the folded job's JSON and as sorted ids.
fn state(store: &bowseam_jobs::Store, job: Uuid) -> (Value, Vec<Uuid>) {
    let mut ids: Vec<Uuid> = store.entries(job).unwrap().iter().map(|entry| entry.id).collect();
    ids.sort();
    (serde_json::to_value(store.job(job).unwrap()).unwrap(), ids)
}

/// Changes a byte of a photo on the phone's disk.
fn spoil(phone: &Phone, sha: &str) {
    let path = phone.photos.original(sha).unwrap();
    let mut bytes = std::fs::read(&path).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(path, bytes).unwrap();
}

/// An office, a phone that it knows, and a job on the phone.
fn opened() -> (Yard, Phone, Uuid) {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    (yard, phone, job)
}

#[test]
fn one_round_brings_photos_and_entries_to_the_office_and_decisions_back() {
    let (yard, phone, job) = opened();
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
    let (yard, phone, job) = opened();
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
    let (yard, phone, job) = opened();
    let sha = phone.take_photo(job, yard.technician, PhotoOf::Unit, 800, 3);
    let bytes = phone.photos.about(&sha).unwrap().bytes;
    assert!(bytes > 1_500_000, "{bytes}");

    let wire = Wire::new(yard.address, 900_000);
    let report = phone.round_over(&wire);
    assert_eq!((report.heard, report.photos), (Heard::Nothing, 0), "{report:?}");
    let here = yard.photos.offset(&sha).unwrap();
    assert!(here >= 256 * 1024 && here < bytes, "{here}");
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
fn what_is_saved_while_a_photo_goes_over_a_slow_network_does_not_wait_for_its_end() {
    let (yard, phone, job) = opened();
    let sha = phone.take_photo(job, yard.technician, PhotoOf::Unit, 1000, 3);
    // Some 800 kB a second for 3 MB.
    let wire = Wire::slow(yard.address, i64::MAX, std::time::Duration::from_millis(10));
    std::thread::scope(|scope| {
        let sending = scope.spawn(|| phone.round_over(&wire));
        until("the photo is on its way", || wire.carried() > 300_000);
        let entry = phone.save(job, yard.technician, note("meanwhile"));
        until("the entry is there", || {
            yard.store.entry(entry).unwrap().is_some()
        });
        assert!(!yard.photos.has(&sha), "before the photo");
        let report = sending.join().unwrap();
        assert_eq!((report.photos, report.stuck), (1, 0), "{report:?}");
    });
    yard.photos.verify(&sha).unwrap();
}

#[test]
fn a_round_cut_anywhere_loses_and_doubles_nothing() {
    let (yard, phone, job) = opened();
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
    let (yard, phone, _) = opened();
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
    let (yard, phone, job) = opened();
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

/// A mark, of a *found more* or of none, and a photo of it.
fn mark_photo(phone: &Phone, job: Uuid, person: Uuid, found: Option<Uuid>, seed: u32) -> String {
    let mark = Uuid::now_v7();
    let change = found.map_or(MarkChange::Note(String::new()), MarkChange::Found);
    phone.save(job, person, What::Mark { mark, change });
    phone.take_photo(job, person, PhotoOf::Mark(mark), 200, seed)
}

#[test]
fn where_photos_wait_for_wifi_entries_and_what_was_found_more_go_all_the_same() {
    let (yard, phone, job) = opened();
    let stack: Vec<String> = (20..23)
        .map(|seed| phone.take_photo(job, yard.technician, PhotoOf::Unit, 200, seed))
        .collect();
    let found = Uuid::now_v7();
    let change = FoundChange::Line {
        line: "Bow 9 cracked".to_owned(),
        step: "strip".to_owned(),
    };
    phone.save(job, yard.technician, What::Found { found, change });
    let urgent = phone.take_photo(job, yard.technician, PhotoOf::Found(found), 200, 30);
    // Its mark is photographed too; one that has nothing to do with it waits with the stack.
    let of_mark = mark_photo(&phone, job, yard.technician, Some(found), 31);
    let other = mark_photo(&phone, job, yard.technician, None, 32);
    bowseam_send::set_photos_wait(&phone.store, true).unwrap();
    phone.sender.network_is(true);
    let report = phone.round();
    assert!(!report.more && report.heard == Heard::Answer, "{report:?}");
    let there = yard.store.job(job).unwrap().unwrap();
    assert_eq!((there.unit.as_str(), there.found.len()), ("4417", 1));
    assert!(yard.photos.has(&urgent) && stack.iter().all(|sha| !yard.photos.has(sha)));
    assert!(yard.photos.has(&of_mark) && !yard.photos.has(&other));
    // Four photos and the entries that name them wait, and none counts as tried.
    let waiting = unsent(&phone);
    assert_eq!(waiting.len(), 8, "{waiting:?}");
    assert!(
        waiting
            .iter()
            .all(|item| item.state == ItemState::Waiting && item.tries == 0)
    );
    phone.sender.network_is(false);
    phone.round();
    assert!(unsent(&phone).is_empty());
    assert_eq!(state(&yard.store, job), state(&phone.store, job));
}

#[test]
fn a_round_compares_the_phones_clock_with_the_offices() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    assert_eq!(bowseam_send::Office::clock(&phone.store).unwrap(), None);
    phone.round();
    let seen = bowseam_send::Office::clock(&phone.store).unwrap().unwrap();
    // Both run on this machine's clock; the office says whole seconds.
    assert!((-1..10).contains(&seen.ahead), "{seen:?}");
    assert!((Utc::now() - seen.at).num_seconds() < 60);
}

#[test]
fn a_photo_that_is_gone_or_changed_on_the_phone_is_stuck_and_the_others_go_on() {
    let (yard, phone, job) = opened();
    let gone = phone.take_photo(job, yard.technician, PhotoOf::Unit, 100, 50);
    let changed = phone.take_photo(job, yard.technician, PhotoOf::Unit, 100, 51);
    let whole = phone.take_photo(job, yard.technician, PhotoOf::Unit, 100, 52);
    std::fs::remove_file(phone.photos.original(&gone).unwrap()).unwrap();
    spoil(&phone, &changed);

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
fn on_a_quick_network_photos_go_side_by_side_and_one_that_is_broken_holds_up_no_other() {
    let (yard, phone, job) = opened();
    let mut shas: Vec<String> = (60..76)
        .map(|seed| phone.take_photo(job, yard.technician, PhotoOf::Unit, 300, seed))
        .collect();
    let changed = shas.remove(10);
    spoil(&phone, &changed);

    let report = phone.round();
    assert_eq!((report.photos, report.stuck), (15, 2), "{report:?}");
    shas.sort();
    assert_eq!(yard.photos.list().unwrap(), shas);
    for sha in &shas {
        yard.photos.verify(sha).unwrap();
    }
    let left = unsent(&phone);
    assert_eq!(left.len(), 2, "{left:?}");
    assert!(
        left.iter()
            .all(|item| item.state == ItemState::Stuck && !item.why.is_empty())
    );
}

#[test]
fn a_phone_whose_token_was_taken_back_is_told_so_and_goes_on_with_a_new_code() {
    let (yard, phone, job) = opened();
    phone.take_photo(job, yard.technician, PhotoOf::Unit, 100, 70);
    assert!(codes::revoke(&yard.store, phone.store.device(), Utc::now()).unwrap());
    let report = phone.round();
    assert_eq!((report.photos, report.stuck), (1, 2), "{report:?}");
    let left = unsent(&phone);
    assert!(
        left.iter()
            .all(|item| item.state == ItemState::Stuck && item.why == wire::TAKEN_BACK),
        "{left:?}"
    );
    assert!(
        yard.store.entries_after(0, 10).unwrap().is_empty(),
        "nothing of it is in a job"
    );
    let apart = yard.store.apart().unwrap();
    assert_eq!(
        (apart[0].device, apart[0].entries),
        (phone.store.device(), 2),
        "nor lost unseen"
    );

    bowseam_send::enrol(&phone.store, &yard.url(), &yard.code(), "Phone").unwrap();
    let report = phone.round();
    assert_eq!((report.photos, report.entries), (0, 2), "{report:?}");
}

#[test]
fn a_phone_that_the_office_never_knew_is_told_so() {
    let (_yard, phone, _) = opened();
    let mut office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    office.token = "somebody else's".to_owned();
    let report = phone.sender.round(&phone.store, &phone.photos, &office).unwrap();
    assert_eq!((report.heard, report.stuck), (Heard::Trouble, 1), "{report:?}");
    assert_eq!(unsent(&phone)[0].why, UNKNOWN_PHONE);
}

#[test]
fn what_a_lost_phone_still_sends_is_shown_and_comes_in_by_a_supervisors_act_alone() {
    let yard = Yard::new();
    let (lost, other) = (Phone::known_to(&yard), Phone::known_to(&yard));
    let ask = |ask: serde_json::Value| {
        let ask = serde_json::from_value(ask).unwrap();
        let asker = bowseam_app::Asker {
            person: Some(yard.supervisor),
        };
        yard.app
            .ask(&asker, ask, None)
            .map(|answer| serde_json::to_value(answer).unwrap())
    };
    let device = lost.store.device();
    ask(json!({"kind": "take_back", "device": device})).unwrap();
    assert_eq!(
        ask(json!({"kind": "take_back", "device": device}))
            .unwrap_err()
            .code,
        "no_phone"
    );
    let job = lost.open_job(yard.technician, "4417");
    lost.take_photo(job, yard.technician, PhotoOf::Unit, 100, 70);
    let decision = bowseam_jobs::entry::Decision::SentBack { note: "x".into() };
    lost.save(
        job,
        yard.technician,
        bowseam_jobs::entry::What::Decided {
            hash: "0".repeat(64),
            decision,
        },
    );
    lost.round();
    other.round();
    assert!(other.store.job(job).unwrap().is_none() && yard.store.job(job).unwrap().is_none());
    let row = |row: usize| ask(json!({"kind": "phones"})).unwrap()["phones"][row].clone();
    assert_eq!(
        (row(0)["apart"].clone(), row(0)["taken_back"].clone()),
        (json!(3), json!(true))
    );
    assert_eq!(
        ask(json!({"kind": "office_jobs"})).unwrap()["apart"],
        3,
        "the list says so"
    );
    let words = row(0)["apart_words"].to_string();
    assert!(
        words.contains("Toni Technician, opened for unit 4417") && words.contains("Only a supervisor"),
        "{words}"
    );

    ask(json!({"kind": "take_in", "device": device})).unwrap();
    let taken = yard.store.job(job).unwrap().unwrap();
    assert_eq!(
        (taken.unit.as_str(), taken.photos.len(), taken.decided.len()),
        ("4417", 1, 0)
    );
    assert_eq!(row(0)["apart"], 1, "what a technician may not decide stays apart");
    assert_eq!(
        ask(json!({"kind": "take_in", "device": device}))
            .unwrap_err()
            .code,
        "nothing_apart"
    );
    // The thief gets nothing out of the office.
    let office = bowseam_send::Office::of(&lost.store).unwrap().unwrap();
    for path in ["shop", "entries"] {
        let answer = common::agent()
            .get(format!("{}/{path}", office.url))
            .header("authorization", format!("Bearer {}", office.token))
            .call()
            .unwrap();
        assert_eq!(answer.status(), 403, "{path}");
    }
}

#[test]
fn what_waits_for_a_later_try_goes_at_once_when_a_person_asks() {
    let (_yard, phone, _) = opened();
    let item = unsent(&phone)[0].n;
    phone
        .store
        .later(&[item], Utc::now() + TimeDelta::hours(1), "The office is full.")
        .unwrap();
    assert_eq!(phone.round().entries, 0);
    let office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    let report = phone.round_at_once(&office);
    assert_eq!(report.entries, 1);
}

#[test]
fn what_answers_but_is_no_office_counts_as_no_network() {
    let (yard, phone, _) = opened();
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
fn a_photo_whose_last_part_arrived_before_the_office_stopped_is_not_sent_again() {
    let (yard, phone, job) = opened();
    let sha = phone.take_photo(job, yard.technician, PhotoOf::Unit, 400, 80);
    let bytes = std::fs::read(phone.photos.original(&sha).unwrap()).unwrap();
    yard.photos.begin(&sha, bytes.len() as u64).unwrap();
    let (first, last) = bytes.split_at(1000);
    yard.photos.append(&sha, 0, first, None).unwrap();
    yard.photos.append(&sha, 1000, last, None).unwrap();
    assert!(!yard.photos.has(&sha));

    let wire = Wire::new(yard.address, i64::MAX);
    assert_eq!(phone.round_over(&wire).photos, 1);
    assert!(wire.carried() < 20_000, "{}", wire.carried());
    yard.photos.verify(&sha).unwrap();
}

#[test]
fn an_office_that_was_brought_back_from_a_backup_gets_again_what_came_to_it_since() {
    let yard = Yard::new();
    let (phone, other) = (Phone::known_to(&yard), Phone::known_to(&yard));
    let job = phone.open_job(yard.technician, "4417");
    let freed = phone.take_photo(job, yard.technician, PhotoOf::Unit, 100, 90);
    phone.round();
    // What the office is brought back to: this much, under another epoch.
    let back = Yard::new();
    for setting in ["phones", "shop_book"] {
        let value: Option<Value> = yard.store.setting(setting).unwrap();
        back.store.set_setting(setting, &value).unwrap();
    }
    back.photos
        .keep(&std::fs::read(phone.photos.original(&freed).unwrap()).unwrap())
        .unwrap();
    phone.photos.free_original(&freed).unwrap();
    let late = phone.take_photo(job, yard.technician, PhotoOf::Unit, 100, 91);
    phone.save(job, yard.technician, note("since the backup"));
    phone.round();
    other.round();
    assert!(unsent(&phone).is_empty());
    for (phone, rounds) in [(&phone, 3), (&other, 2)] {
        let mut office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
        office.url = back.url();
        for _ in 0..rounds {
            let report = phone.sender.round(&phone.store, &phone.photos, &office).unwrap();
            assert_eq!(report.stuck, 0, "{:?}", unsent(phone));
        }
    }
    assert!(unsent(&phone).is_empty());
    assert_eq!(state(&back.store, job), state(&phone.store, job));
    assert_eq!(state(&other.store, job), state(&phone.store, job));
    assert!(back.photos.has(&late));
}

#[test]
fn an_office_that_cannot_just_now_is_tried_again_after_waits_that_grow() {
    let (_yard, phone, _) = opened();
    let full = || async {
        let sorry = wire::Sorry {
            code: "full".to_owned(),
            sentence: "The office is full.".to_owned(),
        };
        (StatusCode::INSUFFICIENT_STORAGE, [(wire::OURS, "1")], Json(sorry))
    };
    let here = || async { (StatusCode::NO_CONTENT, [(wire::OURS, "1")]) };
    let (listener, address) = common::listen();
    common::serve(listener, Router::new().route("/here", get(here)).fallback(full));
    let mut office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    office.url = format!("http://{address}");
    for expected in [10, 20, 40, 80] {
        let report = phone.round_at_once(&office);
        assert_eq!((report.entries, report.stuck), (0, 0));
        assert_eq!(report.why.as_deref(), Some("The office is full."));
        let item = &unsent(&phone)[0];
        assert_eq!(
            (item.state, item.why.as_str()),
            (ItemState::Waiting, "The office is full.")
        );
        let wait = (item.next_try - Utc::now()).num_milliseconds();
        assert!(
            (expected * 1000 - 5000..=expected * 1000).contains(&wait),
            "{wait} ms, not {expected} s"
        );
        // It is not due, so a round that nobody asked for leaves it alone.
        let tries = item.tries;
        phone.sender.round(&phone.store, &phone.photos, &office).unwrap();
        assert_eq!(unsent(&phone)[0].tries, tries);
    }
    assert_eq!(phone.store.retry_stuck().unwrap(), 1);
    assert_eq!(phone.round().entries, 1);
}
