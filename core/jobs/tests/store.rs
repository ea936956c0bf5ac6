//! The store: what is saved is there, once, after whatever happens.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;
use bowseam_jobs::{Error, KeptRow, Outcome, Store, clock, entry::*, job, outbox::*};
use chrono::{TimeDelta, Utc};
use common::{JOB, id};
use proptest::{prelude::*, strategy::ValueTree, test_runner::TestRunner};
use std::path::Path;
use uuid::Uuid;

fn open(folder: &Path) -> Store {
    let opened = Store::open(folder).unwrap();
    assert_eq!(opened.salvage, None);
    opened.store
}

fn vin(value: &str) -> What {
    What::Arrival {
        field: ArrivalField::Vin,
        value: Some(value.into()),
    }
}

fn photo(sha256: &str, bytes: u64) -> What {
    let (of, when, name) = (PhotoOf::Unit, PhotoWhen::Before, "1.jpg".into());
    What::Photo {
        sha256: sha256.into(),
        change: PhotoChange::Added {
            of,
            when,
            name,
            bytes,
            taken: None,
            clock: None,
            placed: false,
        },
    }
}

/// Everything of a job that two stores must agree on.
fn seen(store: &Store, job: Uuid) -> (Vec<Entry>, Option<job::Job>) {
    (store.entries(job).unwrap(), store.job(job).unwrap())
}

/// The tables that are read off the entries.
fn projections(folder: &Path) -> Vec<(Vec<u8>, String, String, String)> {
    let conn = rusqlite::Connection::open(folder.join("jobs.sqlite")).unwrap();
    let mut statement = conn
        .prepare("SELECT id, last, find, summary FROM job ORDER BY id")
        .unwrap();
    let rows = statement
        .query_map([], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?)))
        .unwrap();
    rows.map(Result::unwrap).collect()
}

#[test]
fn what_was_saved_is_there_after_opening_again() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let (job, person) = (id(JOB), id(2));
    let first = store
        .append(
            job,
            person,
            Uuid::now_v7(),
            vec![What::Opened { unit: "T-104".into() }, vin("a")],
        )
        .unwrap();
    let second = store.append(job, person, Uuid::now_v7(), vec![vin("b")]).unwrap();
    assert_eq!(
        first.iter().chain(&second).map(|e| e.seq).collect::<Vec<_>>(),
        [1, 2, 3]
    );
    assert_eq!(second[0].saw, Some(first[1].id));
    let before = seen(&store, job);
    assert_eq!(before.1, Some(job::fold(job, &before.0)));
    drop(store);
    let store = open(folder.path());
    assert_eq!(seen(&store, job), before);
    assert_eq!(
        store.append(job, person, Uuid::now_v7(), vec![vin("c")]).unwrap()[0].seq,
        4
    );
    assert_eq!(store.job(id(99)).unwrap(), None);
}

#[test]
fn a_second_program_on_the_same_folder_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let refused = Store::open(folder.path()).err().unwrap();
    assert_eq!(refused.code(), "in_use");
    assert!(refused.to_string().contains("another program"), "{refused}");
    drop(store);
    open(folder.path());
}

#[test]
fn entries_from_elsewhere_may_come_twice_and_in_any_order() {
    let (a, b, c) = (
        tempfile::tempdir().unwrap(),
        tempfile::tempdir().unwrap(),
        tempfile::tempdir().unwrap(),
    );
    let mut runner = TestRunner::deterministic();
    for round in 0..20 {
        let history = common::history().new_tree(&mut runner).unwrap().current();
        let job = id(5000 + round);
        let stamp = |(n, e): (usize, &Entry)| Entry {
            id: id(100_000 + 1000 * round + n as u128),
            job,
            device: Uuid::from_u128(e.device.as_u128() + 1000 * round),
            ..e.clone()
        };
        let entries: Vec<Entry> = history.iter().enumerate().map(stamp).collect();
        let mixed = Just(entries.clone())
            .prop_shuffle()
            .new_tree(&mut runner)
            .unwrap()
            .current();
        let (one, two, three) = (open(a.path()), open(b.path()), open(c.path()));
        one.receive(&entries).unwrap();
        // One that opens in between, and one that has the job folded while the rest comes.
        let (early, late) = mixed.split_at(mixed.len() / 2);
        two.receive(early).unwrap();
        two.job(job).unwrap();
        for receipt in two.receive(&mixed).unwrap() {
            let had = early.iter().any(|e| e.id == receipt.id);
            assert_eq!(receipt.outcome, if had { Outcome::Had } else { Outcome::Taken });
        }
        for entry in late.iter().chain(early) {
            three.receive(std::slice::from_ref(entry)).unwrap();
        }
        assert_eq!(seen(&one, job), seen(&two, job));
        assert_eq!(seen(&one, job), seen(&three, job));
        assert_eq!(
            one.due(Utc::now(), 10).unwrap(),
            [],
            "what came from elsewhere is not sent on"
        );
    }
    assert!(!projections(a.path()).is_empty());
    assert_eq!(projections(a.path()), projections(b.path()));
    assert_eq!(projections(a.path()), projections(c.path()));
    let before = projections(a.path());
    open(a.path()).rebuild().unwrap();
    assert_eq!(projections(a.path()), before);
}

#[test]
fn an_entry_that_cannot_be_is_refused_and_the_others_are_taken() {
    let (a, b) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let (one, two) = (open(a.path()), open(b.path()));
    let good = one
        .append(id(JOB), id(2), id(3), vec![vin("a"), vin("b")])
        .unwrap();
    let bad = [
        Entry {
            id: id(10),
            seq: 9,
            at: "yesterday".into(),
            ..good[0].clone()
        },
        Entry {
            id: id(11),
            seq: 0,
            ..good[0].clone()
        },
        Entry {
            id: id(12),
            ..good[0].clone()
        },
        Entry {
            what: vin("forged"),
            ..good[0].clone()
        },
    ];
    let all: Vec<Entry> = good.iter().chain(&bad).cloned().collect();
    let receipts = two.receive(&all).unwrap();
    assert!(receipts[..2].iter().all(|r| r.outcome == Outcome::Taken));
    assert!(
        receipts[2..]
            .iter()
            .all(|r| matches!(r.outcome, Outcome::Refused { .. })),
        "{receipts:?}"
    );
    assert_eq!(seen(&one, id(JOB)), seen(&two, id(JOB)));
}

#[test]
fn a_change_after_one_from_a_clock_a_year_ahead_holds_and_does_not_carry_the_clock_away() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let first = store.append(id(JOB), id(2), id(3), vec![vin("a")]).unwrap();
    let year = clock::at(Utc::now() + TimeDelta::days(365)).unwrap();
    let ahead = Entry {
        id: id(10),
        device: id(11),
        seq: 1,
        at: year.clone(),
        saw: Some(first[0].id),
        what: vin("b"),
        ..first[0].clone()
    };
    store.receive(&[ahead]).unwrap();
    let after = store
        .append(
            id(JOB),
            id(2),
            id(4),
            vec![
                vin("c"),
                What::Looked {
                    surface: bowseam_figures::mark::Surface::Roof,
                    seen: true,
                },
            ],
        )
        .unwrap();
    let job = store.job(id(JOB)).unwrap().unwrap();
    assert_eq!(job.arrival[&ArrivalField::Vin].value, "c");
    assert_eq!(job.clashes, []);
    assert!(after[0].at > year && after[1].at < year);
}

#[test]
fn photos_go_first_and_the_entry_that_names_one_waits_for_it() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let saved = store
        .append(
            id(JOB),
            id(2),
            id(3),
            vec![vin("a"), photo("aa", 500), photo("bb", 70)],
        )
        .unwrap();
    store
        .append(id(JOB), id(2), id(4), vec![photo("aa", 500)])
        .unwrap();
    let due = store.due(Utc::now(), 100).unwrap();
    let named: Vec<_> = due
        .iter()
        .map(|item| (item.kind, item.sha256.as_str(), item.entry))
        .collect();
    assert_eq!(
        named,
        [
            (ItemKind::Photo, "aa", saved[1].id),
            (ItemKind::Photo, "bb", saved[2].id),
            (ItemKind::Entry, "", saved[0].id)
        ]
    );
    assert_eq!(store.due_of(ItemKind::Entry, Utc::now(), 100).unwrap(), due[2..]);

    store.on_the_way(&[due[0].n, due[1].n]).unwrap();
    assert_eq!(
        store.due(Utc::now(), 100).unwrap().len(),
        1,
        "what is on the way is not sent again"
    );
    store.arrived(&[due[0].n]).unwrap();
    assert!(store.photo_arrived("aa").unwrap() && !store.photo_arrived("bb").unwrap());
    store.stuck(due[1].n, "not a picture").unwrap();
    let left = store.due(Utc::now(), 100).unwrap();
    assert_eq!(left.len(), 4, "arrived or stuck, a photo holds up no entry");

    let soon = Utc::now() + TimeDelta::seconds(60);
    store.later(&[left[0].n], soon, "no network").unwrap();
    assert_eq!(store.due(Utc::now(), 100).unwrap().len(), 3);
    assert_eq!(store.due(soon + TimeDelta::seconds(1), 100).unwrap().len(), 4);
    assert_eq!(store.retry_stuck().unwrap(), 2);
    assert_eq!(store.due(Utc::now(), 100).unwrap()[0].sha256, "bb");
    assert_eq!(store.unsent(Some(id(JOB)), 100).unwrap().len(), 5);
    assert_eq!(store.unsent(Some(id(9)), 100).unwrap(), []);
}

#[test]
fn sums_are_what_the_items_add_up_to() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    for n in 0..10 {
        store
            .append(
                id(n % 3),
                id(2),
                id(3),
                vec![vin("a"), photo(&format!("{n}"), 100)],
            )
            .unwrap();
    }
    let items: Vec<i64> = store
        .due(Utc::now(), 100)
        .unwrap()
        .iter()
        .map(|item| item.n)
        .collect();
    store.arrived(&items[..5]).unwrap();
    store.on_the_way(&items[4..8]).unwrap();
    store.stuck(items[9], "no").unwrap();
    let mut left = 0;
    for job in (0..3).map(id) {
        let unsent = store.unsent(Some(job), 100).unwrap();
        for state in [ItemState::Waiting, ItemState::OnTheWay, ItemState::Stuck] {
            let items: Vec<&Item> = unsent.iter().filter(|item| item.state == state).collect();
            let sums = store.sums().unwrap();
            let sums: Vec<&Sum> = sums
                .iter()
                .filter(|sum| sum.job == job && sum.state == state)
                .collect();
            assert_eq!(sums.iter().map(|sum| sum.items).sum::<u64>(), items.len() as u64);
            assert_eq!(
                sums.iter().map(|sum| sum.bytes).sum::<u64>(),
                items.iter().map(|item| item.bytes).sum::<u64>()
            );
            left += items.len();
        }
        let (jobs, _) = store.jobs(10, None).unwrap();
        let summary = jobs.iter().find(|summary| summary.id == job).unwrap();
        assert_eq!(summary.unsent, unsent.len() as u64);
    }
    assert_eq!(left, 25);
    drop(store);
    let again = open(folder.path());
    let waiting = again
        .unsent(None, 100)
        .unwrap()
        .iter()
        .filter(|item| item.state == ItemState::Waiting)
        .count();
    assert_eq!(
        waiting, 24,
        "what was on the way when the program ended waits again"
    );
}

#[test]
fn the_yard_list_comes_in_pages_newest_first_and_can_be_searched() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    for n in 0..25 {
        let slot = What::Arrival {
            field: ArrivalField::Slot,
            value: Some(format!("Row {}", n % 5)),
        };
        store
            .append(
                id(n),
                id(2),
                id(3),
                vec![
                    What::Opened {
                        unit: format!("T-{n:03}"),
                    },
                    slot,
                ],
            )
            .unwrap();
    }
    let (mut listed, mut cursor) = (Vec::new(), None);
    loop {
        let (page, next) = store.jobs(10, cursor.as_ref()).unwrap();
        listed.extend(page.into_iter().map(|summary| summary.id));
        cursor = next;
        if cursor.is_none() {
            break;
        }
    }
    assert_eq!(listed, (0..25).rev().map(id).collect::<Vec<_>>());
    let found: Vec<Uuid> = store
        .find(" row 3  t-01")
        .unwrap()
        .iter()
        .map(|summary| summary.id)
        .collect();
    assert_eq!(found, [id(18), id(13)]);
    assert_eq!(store.find("%").unwrap(), []);
    let of_unit = |unit: &str| {
        store
            .of_unit(unit)
            .unwrap()
            .into_iter()
            .map(|job| job.id)
            .collect::<Vec<_>>()
    };
    assert_eq!(
        (of_unit("T-013"), of_unit("T-01")),
        (vec![id(13)], vec![]),
        "the whole number and no other"
    );
}

#[test]
fn undo_offers_the_last_act_of_this_person_that_can_be_taken_back() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let (job, me) = (id(JOB), id(2));
    assert_eq!(store.undo_last(job, me).unwrap(), None);
    store
        .append(job, me, id(100), vec![What::Opened { unit: "T".into() }])
        .unwrap();
    assert_eq!(store.undo_last(job, me).unwrap(), None, "not the opening");
    store.append(job, me, id(101), vec![vin("a")]).unwrap();
    store.append(job, me, id(102), vec![vin("b")]).unwrap();
    store.append(job, id(9), id(103), vec![vin("c")]).unwrap();
    store
        .append(
            job,
            me,
            id(104),
            vec![What::Asked {
                hash: "h".into(),
                figures: serde_json::json!({}),
                found: None,
                note: String::new(),
            }],
        )
        .unwrap();
    for act in [102, 101] {
        assert_eq!(store.undo_last(job, me).unwrap(), Some(id(act)));
        store
            .append(
                job,
                me,
                Uuid::now_v7(),
                vec![What::Undone {
                    act: id(act),
                    undone: true,
                }],
            )
            .unwrap();
    }
    assert_eq!(store.undo_last(job, me).unwrap(), None);
    store
        .append(
            job,
            me,
            Uuid::now_v7(),
            vec![What::Undone {
                act: id(101),
                undone: false,
            }],
        )
        .unwrap();
    assert_eq!(store.undo_last(job, me).unwrap(), Some(id(101)));
}

#[test]
fn settings_are_kept_and_what_no_program_knows_is_not_appended() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    assert_eq!(store.setting::<Vec<u8>>("shop").unwrap(), None);
    store.set_setting("shop", &[1, 2]).unwrap();
    store.set_setting("shop", &[3]).unwrap();
    assert_eq!(store.setting::<Vec<u8>>("shop").unwrap(), Some(vec![3]));
    let made_up = What::NotKnown(serde_json::json!({"kind": "made_up"}));
    assert!(matches!(
        store.append(id(1), id(2), id(3), vec![vin("a"), made_up]),
        Err(Error::Refused(_))
    ));
    assert_eq!(store.job(id(1)).unwrap(), None);
    assert_eq!(store.append(id(1), id(2), id(3), vec![]).unwrap(), []);
}

#[test]
fn entries_can_be_read_in_the_order_they_came() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let saved: Vec<Entry> = (0..5)
        .flat_map(|n| {
            store
                .append(id(n), id(2), id(3), vec![vin("a"), vin("b")])
                .unwrap()
        })
        .collect();
    let (mut read, mut after) = (Vec::new(), 0);
    while let Some((n, _)) = store.entries_after(after, 3).unwrap().last() {
        read.extend(
            store
                .entries_after(after, 3)
                .unwrap()
                .into_iter()
                .map(|(_, entry)| entry),
        );
        after = *n;
    }
    assert_eq!(read, saved);
    assert_eq!(store.entry(saved[3].id).unwrap().as_ref(), Some(&saved[3]));
}

#[test]
fn a_kept_row_is_given_until_something_new_comes_or_it_was_made_with_other_values() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let act = |n: u128| id(900 + n);
    store.append(id(JOB), id(2), act(1), vec![vin("A")]).unwrap();
    let newest = store.newest(id(JOB)).unwrap().unwrap();
    store
        .keep_rows(
            &[KeptRow {
                job: id(JOB),
                n: newest,
                due: None,
                row: "row of A",
            }],
            "rules 1",
        )
        .unwrap();
    let kept = |store: &Store, made_with| store.kept_rows::<String>(&[id(JOB), id(77)], made_with).unwrap();
    assert_eq!(kept(&store, "rules 1"), vec![(id(JOB), "row of A".to_owned())]);
    assert_eq!(kept(&store, "rules 2"), vec![]);
    drop(store);
    let store = open(folder.path());
    assert_eq!(
        kept(&store, "rules 1"),
        vec![(id(JOB), "row of A".to_owned())],
        "after a restart"
    );
    store.append(id(JOB), id(2), act(2), vec![vin("B")]).unwrap();
    assert_eq!(kept(&store, "rules 1"), vec![], "a change makes it old");
}

#[test]
fn figures_without_an_answer_are_found_however_old_they_are() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let asked = |hash: &str| What::Asked {
        hash: hash.into(),
        figures: serde_json::json!({}),
        found: None,
        note: String::new(),
    };
    store
        .append(id(1), id(2), id(901), vec![vin("old"), asked("aa")])
        .unwrap();
    for n in 10..40 {
        store
            .append(id(n), id(2), id(1000 + n), vec![vin("new")])
            .unwrap();
    }
    let waiting = |store: &Store| {
        store
            .unanswered(5)
            .unwrap()
            .iter()
            .map(|job| job.id)
            .collect::<Vec<_>>()
    };
    assert_eq!(waiting(&store), vec![id(1)]);
    let decision = Decision::SentBack { note: "no".into() };
    store
        .append(
            id(1),
            id(2),
            id(902),
            vec![What::Decided {
                hash: "aa".into(),
                decision,
            }],
        )
        .unwrap();
    assert!(waiting(&store).is_empty());
}
