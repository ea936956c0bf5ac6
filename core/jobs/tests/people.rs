//! People and their PINs.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;
use bowseam_jobs::{Store, people::*};
use chrono::{DateTime, TimeDelta, Utc};
use common::id;

fn with_somebody() -> (tempfile::TempDir, Store, DateTime<Utc>) {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(folder.path()).unwrap().store;
    let person = Person {
        id: id(1),
        name: "Ana".into(),
        roles: [Role::Technician].into(),
        may_release: false,
        pin_hash: None,
        more: More::default(),
    };
    store.put_person(&person).unwrap();
    assert_eq!(store.people().unwrap(), [person]);
    (folder, store, Utc::now())
}

#[test]
fn a_right_pin_opens_and_a_change_of_the_person_keeps_it() {
    let (_folder, store, now) = with_somebody();
    assert_eq!(
        store.check_pin(id(1), "4711", now).unwrap(),
        PinCheck::Wrong { left: 0 },
        "no PIN yet"
    );
    for bad in ["123", "1234567890123", "12a4", ""] {
        assert_eq!(store.set_pin(id(1), bad).unwrap_err().code(), "refused");
    }
    assert_eq!(
        store.set_pin(id(9), "4711").unwrap_err().code(),
        "refused",
        "nobody by that id"
    );
    store.set_pin(id(1), "4711").unwrap();
    let roles = [Role::Technician, Role::Supervisor].into();
    store
        .put_person(&Person {
            id: id(1),
            name: "Ana".into(),
            roles,
            may_release: true,
            pin_hash: None,
            more: More::default(),
        })
        .unwrap();
    assert!(store.people().unwrap()[0].pin_hash.is_some() && store.people().unwrap()[0].may_release);
    assert_eq!(store.check_pin(id(1), "4711", now).unwrap(), PinCheck::Right);
    assert_eq!(
        store.check_pin(id(9), "4711", now).unwrap(),
        PinCheck::Wrong { left: 0 }
    );
}

#[test]
fn five_wrong_pins_bring_a_wait_in_which_even_the_right_one_is_not_looked_at() {
    let (_folder, store, now) = with_somebody();
    store.set_pin(id(1), "4711").unwrap();
    for left in [4, 3, 2, 1, 0] {
        assert_eq!(
            store.check_pin(id(1), "0000", now).unwrap(),
            PinCheck::Wrong { left }
        );
    }
    let PinCheck::Wait { until } = store.check_pin(id(1), "4711", now).unwrap() else {
        panic!("no wait")
    };
    assert_eq!(
        (until - now).num_seconds().clamp(59, 60),
        (until - now).num_seconds()
    );
    let after = until + TimeDelta::seconds(1);
    assert_eq!(store.check_pin(id(1), "4711", after).unwrap(), PinCheck::Right);
    // Right starts anew; five more wrong ones after five wrong ones wait twice as long.
    for _ in 0..5 {
        store.check_pin(id(1), "0000", after).unwrap();
    }
    let later = after + TimeDelta::seconds(61);
    for _ in 0..5 {
        assert!(matches!(
            store.check_pin(id(1), "0000", later).unwrap(),
            PinCheck::Wrong { .. }
        ));
    }
    assert!(matches!(
        store
            .check_pin(id(1), "4711", later + TimeDelta::seconds(100))
            .unwrap(),
        PinCheck::Wait { .. }
    ));
}

#[test]
fn the_pin_itself_is_not_in_the_file() {
    let (folder, store, _) = with_somebody();
    store.set_pin(id(1), "839201746").unwrap();
    drop(store);
    for file in std::fs::read_dir(folder.path()).unwrap() {
        let bytes = std::fs::read(file.unwrap().path()).unwrap();
        assert!(!bytes.windows(9).any(|part| part == b"839201746"));
    }
}

#[test]
fn a_password_is_taken_at_the_office_alone_and_the_pin_there_only_until_one_is_set() {
    let (_folder, store, now) = with_somebody();
    store.set_pin(id(1), "4711").unwrap();
    let check = |secret: &str, door| store.check(id(1), secret, now, door).unwrap();
    assert_eq!(check("4711", Door::Office), PinCheck::Right);
    assert_eq!(
        store.set_password(id(1), "too short").unwrap_err().code(),
        "refused"
    );
    store.set_password(id(1), "eleven rivets a row").unwrap();
    assert_eq!(check("eleven rivets a row", Door::Office), PinCheck::Right);
    assert!(matches!(check("4711", Door::Office), PinCheck::Wrong { .. }));
    assert!(matches!(
        check("eleven rivets a row", Door::Phone),
        PinCheck::Wrong { .. }
    ));
    assert_eq!(check("4711", Door::Phone), PinCheck::Right);
    assert!(store.with_password().unwrap().contains(&id(1)));
}

#[test]
fn a_qualification_counts_up_to_its_last_day_and_nothing_counts_of_who_is_here_no_more() {
    let (_folder, store, _) = with_somebody();
    let day = |text: &str| text.parse::<chrono::NaiveDate>().unwrap();
    let at = |text: &str| format!("{text}T12:00:00Z").parse::<DateTime<Utc>>().unwrap();
    let mut person = store.people().unwrap().remove(0);
    assert_eq!(person.may(Qualification::Release, at("2026-03-01")), May::No);
    person.may_release = true;
    assert_eq!(
        person.may(Qualification::Release, at("2026-03-01")),
        May::Yes,
        "without a date"
    );
    person.more.qualified = vec![Qualified {
        what: Qualification::Release,
        until: Some(day("2026-03-01")),
        note: "course".into(),
    }];
    store.put_person(&person).unwrap();
    let kept = store.people().unwrap().remove(0);
    assert_eq!(kept, person);
    assert_eq!(kept.may(Qualification::Release, at("2026-03-01")), May::Yes);
    assert_eq!(
        kept.may(Qualification::Release, at("2026-03-02")),
        May::RanOut(day("2026-03-01"))
    );
    assert_eq!(kept.may(Qualification::Weld, at("2026-03-01")), May::No);
    store.set_pin(id(1), "4711").unwrap();
    person.more.ended = Some(at("2026-02-01"));
    store.put_person(&person).unwrap();
    assert_eq!(person.may(Qualification::Release, at("2026-03-01")), May::No);
    assert_eq!(
        store.check_pin(id(1), "4711", at("2026-03-01")).unwrap(),
        PinCheck::Wrong { left: 0 }
    );
}
