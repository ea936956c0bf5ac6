//! Two receivers of one office on PostgreSQL and an S3 store, and what happens when either is gone for a while. That
//! one receiver does all that an office on SQLite does is shown by every other test here, run by `tests/shared`.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;
#[path = "../../shared/tests/servers/mod.rs"]
mod servers;

use bowseam_jobs::Store;
use bowseam_jobs::entry::PhotoOf;
use bowseam_jobs::people::PinCheck;
use bowseam_send::{Heard, codes, wire};
use bowseam_shared::{Objects, Shared};
use chrono::Utc;
use common::{PIN, Phone, Yard, agent, note, unsent};
use serde_json::json;
use servers::{KEY, Postgres, S3, SECRET, are_there};
use std::thread;
use std::time::{Duration, Instant, SystemTime};
use uuid::Uuid;

struct Places {
    database: Postgres,
    photos: S3,
    url: String,
}

impl Places {
    fn new() -> Self {
        let database = Postgres::start();
        let url = database.new_database();
        Self {
            database,
            photos: S3::start(),
            url,
        }
    }

    fn shared(&self) -> Shared {
        let objects = Objects::new(&self.photos.address(), KEY, SECRET, None).unwrap();
        objects.check().unwrap();
        Shared::open(&self.url, None, None, objects).unwrap()
    }

    fn one(&self, sql: &str) -> i64 {
        let mut client = postgres::Client::connect(&self.url, postgres::NoTls).unwrap();
        client.query_one(sql, &[]).unwrap().get(0)
    }
}

/// Sends everything, to the address that `to` names.
fn send_to(phone: &Phone, yard: &Yard) -> bowseam_send::RoundReport {
    let mut office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    office.url = yard.url();
    phone.sender.round(&phone.store, &phone.photos, &office).unwrap()
}

fn ids(store: &Store) -> Vec<(i64, Uuid)> {
    store.refresh().unwrap();
    let all = store.entries_after(0, usize::MAX).unwrap();
    all.into_iter().map(|(n, entry)| (n, entry.id)).collect()
}

#[test]
fn a_phone_may_send_to_either_receiver_and_half_a_photo_to_each() {
    if !are_there() {
        return;
    }
    let places = Places::new();
    let (one, other) = (Yard::receiver(&places.shared()), Yard::receiver(&places.shared()));
    assert_eq!(one.supervisor, other.supervisor, "people are the same");
    // A code from one receiver, traded at the other.
    let phone = Phone::new();
    bowseam_send::enrol(&phone.store, &other.url(), &one.code(), "Phone").unwrap();
    let job = phone.open_job(one.technician, "4417");
    let sha = phone.take_photo(job, one.technician, PhotoOf::Unit, 700, 3);
    let bytes = std::fs::read(phone.photos.original(&sha).unwrap()).unwrap();
    let token = bowseam_send::Office::of(&phone.store).unwrap().unwrap().token;
    let token = format!("Bearer {token}");
    // The first half by hand to one receiver, the rest by the phone itself to the other.
    let url = format!("{}/uploads/{sha}", one.url());
    let length = bytes.len().to_string();
    let announce = agent().post(&url).header("authorization", &token);
    assert_eq!(
        announce
            .header(wire::UPLOAD_LENGTH, &length)
            .send_empty()
            .unwrap()
            .status(),
        201
    );
    let half = &bytes[..bytes.len() / 2];
    let part = agent()
        .patch(&url)
        .header("authorization", &token)
        .content_type(wire::PARTIAL);
    let part = part
        .header(wire::UPLOAD_OFFSET, "0")
        .header(wire::UPLOAD_COMPLETE, "?0");
    let answer = part
        .header(wire::CONTENT_DIGEST, wire::digest(half))
        .send(half)
        .unwrap();
    assert_eq!(answer.status(), 204);
    assert_eq!(other.photos.offset(&sha).unwrap(), half.len() as u64);
    let report = send_to(&phone, &other);
    assert_eq!(
        (report.photos, report.entries, report.stuck),
        (1, 2, 0),
        "{report:?}"
    );
    assert_eq!(
        places.photos.objects().len(),
        1,
        "the photo is in the object store"
    );
    assert_eq!(
        places.one("SELECT count(*) FROM upload_part"),
        0,
        "and its parts are gone"
    );
    one.photos.verify(&sha).unwrap();
    assert_eq!(ids(&one.store), ids(&other.store));
    assert!(one.store.job(job).unwrap().unwrap().photos.len() == 1);

    // Taken back at one, refused at the other at once.
    assert!(codes::revoke(&one.store, phone.store.device(), Utc::now()).unwrap());
    phone.save(job, one.technician, note("later"));
    assert_eq!(send_to(&phone, &other).stuck, 1);
    one.store.refresh().unwrap();
    assert_eq!(one.store.apart().unwrap()[0].entries, 1);
}

#[test]
fn who_signed_in_at_one_receiver_is_signed_in_at_the_other_and_wrong_tries_count_at_both() {
    if !are_there() {
        return;
    }
    let places = Places::new();
    let (one, other) = (Yard::receiver(&places.shared()), Yard::receiver(&places.shared()));
    let ask = |yard: &Yard, cookie: &str, ask: serde_json::Value| {
        let request = agent().post(format!("{}/ask", yard.url())).header("bowseam", "1");
        request.header("cookie", cookie).send_json(ask).unwrap()
    };
    let sign_in = json!({"kind": "sign_in", "person": one.supervisor, "pin": PIN});
    let answer = ask(&one, "", sign_in);
    let cookie = answer.headers()["set-cookie"]
        .to_str()
        .unwrap()
        .split(';')
        .next()
        .unwrap()
        .to_owned();
    let opened = ask(&other, &cookie, json!({"kind": "open_job", "unit": "2093"}));
    assert_eq!(opened.status(), 200);
    assert_eq!(ids(&one.store), ids(&other.store));
    // Both write in the name of one office: what one wrote the other takes back.
    let job = one.store.entries_after(0, 1).unwrap()[0].1.job;
    for (yard, value) in [(&one, "A"), (&other, "B")] {
        let set = json!({"kind": "set_arrival", "job": job, "field": "slot", "value": value});
        assert_eq!(ask(yard, &cookie, set).status(), 200);
    }
    assert_eq!(
        ask(&one, &cookie, json!({"kind": "undo", "job": job})).status(),
        200
    );
    other.store.refresh().unwrap();
    assert_eq!(other.store.summary(job).unwrap().unwrap().slot, "A");
    assert_eq!(ask(&one, &cookie, json!({"kind": "sign_out"})).status(), 200);
    assert_eq!(ask(&other, &cookie, json!({"kind": "people"})).status(), 401);

    let mut left = Vec::new();
    for n in 0..5 {
        let yard = if n % 2 == 0 { &one } else { &other };
        left.push(yard.store.check_pin(one.technician, "0000", Utc::now()).unwrap());
    }
    assert_eq!(left[3], PinCheck::Wrong { left: 1 }, "{left:?}");
    let waits = other.store.check_pin(one.technician, PIN, Utc::now()).unwrap();
    assert!(matches!(waits, PinCheck::Wait { .. }), "{waits:?}");
}

#[test]
fn tries_to_sign_in_count_together_at_all_receivers() {
    if !are_there() {
        return;
    }
    let places = Places::new();
    let yards = [Yard::receiver(&places.shared()), Yard::receiver(&places.shared())];
    let tried = |n: usize| {
        let sign_in = json!({"kind": "sign_in", "person": Uuid::from_u128(n as u128 + 1), "pin": "0000"});
        let request = agent()
            .post(format!("{}/ask", yards[n % 2].url()))
            .header("bowseam", "1");
        request.send_json(sign_in).unwrap().status().as_u16()
    };
    let answers: Vec<u16> = (0..62).map(tried).collect();
    let late = answers.iter().filter(|status| **status == 429).count();
    assert_eq!((late, &answers[60..]), (2, &[429, 429][..]), "{answers:?}");
}

#[test]
fn what_a_receiver_fetched_takes_no_more_room_than_it_may_and_the_longest_unused_goes_first() {
    if !are_there() {
        return;
    }
    let places = Places::new();
    let yard = Yard::receiver(&places.shared());
    let photo = |n: u32| common::noise(100, n);
    let all: Vec<String> = (0..8)
        .map(|n| yard.photos.keep(&photo(n)).unwrap().sha256)
        .collect();
    let each = photo(0).len() as u64;
    let room = tempfile::tempdir().unwrap();
    let shared = places.shared();
    let open = || shared.photos_in(room.path(), each * 5 + each / 2).unwrap();
    let here = |sha: &String| room.path().join("originals").join(&sha[..2]).join(sha);
    let folder = open();
    for sha in &all[..5] {
        folder.original(sha).unwrap();
    }
    // Hours pass, one more for each that was fetched earlier; the first one is used since.
    let hours_pass = || {
        for (n, sha) in all.iter().enumerate() {
            let ago = SystemTime::now() - Duration::from_secs(3600 * (10 - n as u64));
            let file = std::fs::File::options().append(true).open(here(sha));
            file.into_iter().for_each(|file| file.set_modified(ago).unwrap());
        }
    };
    hours_pass();
    folder.original(&all[0]).unwrap();
    folder.original(&all[5]).unwrap();
    let left: Vec<bool> = all.iter().map(|sha| here(sha).is_file()).collect();
    assert_eq!(
        left,
        [true, false, false, true, true, true, false, false],
        "a quarter of the room is free"
    );
    // What went is fetched again; what was just asked for stays, though there is no room for it.
    for sha in &all {
        folder.verify(sha).unwrap();
    }
    assert!(all.iter().skip(5).all(|sha| here(sha).is_file()));
    // A folder that is too full when it is opened is swept then.
    hours_pass();
    open();
    assert!(all.iter().filter(|sha| here(sha).is_file()).count() <= 4);
}

/// A supervisor who looks at a hundred photos would wait for all of them, and a new receiver that figures its rows too.
#[test]
fn a_page_of_a_job_fetches_none_of_its_photos() {
    if !are_there() {
        return;
    }
    let places = Places::new();
    let yards = [Yard::receiver(&places.shared()), Yard::receiver(&places.shared())];
    let phone = Phone::known_to(&yards[0]);
    let job = phone.open_job(yards[0].technician, "4417");
    let sha = phone.take_photo(job, yards[0].technician, PhotoOf::Unit, 40, 1);
    let report = phone.round();
    assert_eq!((report.photos, report.stuck), (1, 0), "{report:?}");
    let other = &yards[1];
    other.store.refresh().unwrap();
    assert!(other.photos.has(&sha));
    let asker = bowseam_app::Asker {
        person: Some(other.supervisor),
    };
    for ask in [
        json!({"kind": "office_jobs"}),
        json!({"kind": "office_job", "job": job}),
    ] {
        let ask = serde_json::from_value(ask).unwrap();
        let answer = serde_json::to_value(other.app.ask(&asker, ask, None).unwrap()).unwrap();
        assert!(answer.to_string().contains(&sha), "it shows the photo: {answer}");
    }
    assert_eq!(other.photos.kind_here(&sha), None, "it was fetched");
    other.photos.original(&sha).unwrap();
    assert_eq!(other.photos.kind_here(&sha), Some(bowseam_photos::Kind::Png));
}

#[test]
fn phones_that_send_to_two_receivers_at_once_lose_and_double_nothing() {
    if !are_there() {
        return;
    }
    let places = Places::new();
    let yards = [Yard::receiver(&places.shared()), Yard::receiver(&places.shared())];
    let mut wanted = 0;
    thread::scope(|scope| {
        for n in 0..4_usize {
            let yards = &yards;
            let phone = Phone::new();
            bowseam_send::enrol(&phone.store, &yards[0].url(), &yards[1].code(), "Phone").unwrap();
            wanted += 1 + 40;
            scope.spawn(move || {
                let job = phone.open_job(yards[0].technician, &n.to_string());
                for round in 0..20 {
                    phone.save(job, yards[0].technician, note(&round.to_string()));
                    phone.take_photo(
                        job,
                        yards[0].technician,
                        PhotoOf::Unit,
                        40,
                        (n * 100 + round) as u32,
                    );
                    let report = send_to(&phone, &yards[(n + round) % 2]);
                    assert_eq!(report.heard, Heard::Answer, "{report:?}");
                }
                assert!(unsent(&phone).is_empty());
            });
        }
    });
    let [one, other] = [ids(&yards[0].store), ids(&yards[1].store)];
    assert_eq!(one.len(), wanted);
    assert_eq!(one, other, "the same numbers at both");
    assert_eq!(yards[0].photos.list().unwrap().len(), 80);
    // A third one that starts from nothing sees the same.
    let third = Yard::receiver(&places.shared());
    assert_eq!(ids(&third.store), one);
    let lists = |yard: &Yard| format!("{:?}", yard.store.jobs(10, None).unwrap().0);
    assert_eq!(lists(&third), lists(&yards[1]));
}

#[test]
fn a_database_that_is_gone_for_a_while_costs_nothing_but_the_wait() {
    if !are_there() {
        return;
    }
    let mut places = Places::new();
    let yard = Yard::receiver(&places.shared());
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    phone.round();
    phone.save(job, yard.technician, note("while it is gone"));
    places.database.crash();
    let report = phone.round();
    assert_eq!((report.entries, report.stuck), (0, 0), "{report:?}");
    assert_eq!(
        agent()
            .get(format!("{}/health", yard.url()))
            .call()
            .unwrap()
            .status(),
        503
    );
    let said = report.why.unwrap();
    assert!(said.contains("does not answer just now"), "{said}");
    assert_eq!(unsent(&phone).len(), 1, "it still waits");
    let denied = yard
        .store
        .append(job, yard.supervisor, Uuid::now_v7(), vec![note("x")]);
    assert_eq!(denied.unwrap_err().code(), "away");
    places.database.go_on();
    let office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    let report = phone.round_at_once(&office);
    assert_eq!((report.heard, report.entries), (Heard::Answer, 1), "{report:?}");
    assert_eq!(ids(&yard.store).len(), 2);
    assert_eq!(
        agent()
            .get(format!("{}/health", yard.url()))
            .call()
            .unwrap()
            .status(),
        200
    );
}

#[test]
fn a_photo_is_not_said_to_have_arrived_while_the_photo_store_is_gone() {
    if !are_there() {
        return;
    }
    let mut places = Places::new();
    let yard = Yard::receiver(&places.shared());
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    let sha = phone.take_photo(job, yard.technician, PhotoOf::Unit, 300, 9);
    places.photos.crash();
    let report = phone.round();
    assert_eq!((report.photos, report.stuck), (0, 0), "{report:?}");
    assert!(report.why.unwrap().contains("does not answer just now"));
    assert!(!yard.photos.has(&sha));
    assert_eq!(
        yard.store.job(job).unwrap().map_or(0, |job| job.photos.len()),
        0,
        "no entry names a photo that is not there"
    );
    places.photos.go_on();
    let office = bowseam_send::Office::of(&phone.store).unwrap().unwrap();
    let report = phone.round_at_once(&office);
    assert_eq!((report.photos, report.stuck), (1, 0), "{report:?}");
    yard.photos.verify(&sha).unwrap();
}

#[test]
fn a_receiver_that_holds_the_right_to_write_and_hangs_loses_it() {
    if !are_there() {
        return;
    }
    let places = Places::new();
    let yard = Yard::receiver(&places.shared());
    let mut hung = postgres::Client::connect(&places.url, postgres::NoTls).unwrap();
    hung.batch_execute("SET idle_in_transaction_session_timeout = '2s'; BEGIN; SELECT pg_advisory_xact_lock(108230884917250)").unwrap();
    let begun = Instant::now();
    let job = Uuid::now_v7();
    yard.store
        .append(job, yard.supervisor, Uuid::now_v7(), vec![note("after it")])
        .unwrap();
    let took = begun.elapsed();
    assert!(
        took > Duration::from_secs(1) && took < Duration::from_secs(8),
        "{took:?}"
    );
    assert!(hung.batch_execute("COMMIT").is_err());
}

#[test]
fn a_receivers_folder_may_be_thrown_away_and_one_with_jobs_of_its_own_is_left_alone() {
    if !are_there() {
        return;
    }
    let places = Places::new();
    let yard = Yard::receiver(&places.shared());
    let folder = tempfile::tempdir().unwrap();
    let store = places.shared().store(folder.path()).unwrap();
    let job = Uuid::now_v7();
    store
        .append(job, yard.supervisor, Uuid::now_v7(), vec![note("kept")])
        .unwrap();
    drop(store);
    // The database is another one: what is here does not fit and is filled anew.
    let other = Places {
        url: places.database.new_database(),
        database: Postgres::start(),
        photos: S3::start(),
    };
    let url = other.url.clone();
    let objects = Objects::new(&places.photos.address(), KEY, SECRET, None).unwrap();
    let store = Shared::open(&url, None, None, objects)
        .unwrap()
        .store(folder.path())
        .unwrap();
    assert!(store.entries_after(0, 10).unwrap().is_empty());
    drop(store);
    let store = places.shared().store(folder.path()).unwrap();
    assert_eq!(ids(&store), ids(&yard.store));
    drop(store);
    // Cut off in the middle of a file, as by a full disk: filled anew too.
    std::fs::write(
        folder.path().join("jobs.sqlite"),
        b"no database at all, and long enough to be looked at",
    )
    .unwrap();
    let store = places.shared().store(folder.path()).unwrap();
    assert_eq!(ids(&store), ids(&yard.store));

    let own = tempfile::tempdir().unwrap();
    let kept = Store::open(own.path()).unwrap().store;
    kept.append(job, yard.supervisor, Uuid::now_v7(), vec![note("x")])
        .unwrap();
    drop(kept);
    let refused = places.shared().store(own.path()).err().unwrap();
    assert!(refused.to_string().contains("an office of its own"), "{refused}");
    assert_eq!(
        Store::open(own.path())
            .unwrap()
            .store
            .entries_after(0, 10)
            .unwrap()
            .len(),
        1
    );
}

#[test]
fn two_receivers_that_start_at_once_make_the_tables_once() {
    if !are_there() {
        return;
    }
    let places = Places::new();
    thread::scope(|scope| {
        let started: Vec<_> = (0..4).map(|_| scope.spawn(|| places.shared())).collect();
        started.into_iter().for_each(|one| drop(one.join().unwrap()));
    });
    assert_eq!(places.one("SELECT count(*) FROM office"), 1);
    assert_eq!(places.one("SELECT count(*) FROM bowseam_schema"), 1);
    let mut client = postgres::Client::connect(&places.url, postgres::NoTls).unwrap();
    client
        .batch_execute("INSERT INTO bowseam_schema VALUES (99)")
        .unwrap();
    let objects = Objects::new(&places.photos.address(), KEY, SECRET, None).unwrap();
    let refused = Shared::open(&places.url, None, None, objects).err().unwrap();
    assert_eq!(refused.code(), "shared_newer");
}

#[test]
fn addresses_that_others_could_read_on_the_way_are_refused() {
    for database in [
        "postgres://a@db.example/x",
        "postgres://a@db.example/x?sslmode=prefer",
        "mysql://x",
        "::",
    ] {
        let objects = Objects::new("s3://yard", "k", "s", None).unwrap();
        let refused = Shared::open(database, Some("secret"), None, objects)
            .err()
            .unwrap();
        assert_eq!(refused.code(), "shared_address", "{database}");
        assert!(!refused.to_string().contains("secret"));
    }
    for photos in [
        "http://yard",
        "yard",
        "s3://",
        "s3://yard?endpoint=http://store.example",
        "s3://yard?endpoint=x",
    ] {
        assert_eq!(
            Objects::new(photos, "k", "s", None).err().unwrap().code(),
            "shared_address",
            "{photos}"
        );
    }
}
