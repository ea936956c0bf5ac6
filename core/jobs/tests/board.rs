//! The office's lists of a store: by promised day, what somebody has looked at, what is kept apart.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;
use bowseam_jobs::{KeptRow, Store, entry::*};
use common::{JOB, id};
use std::path::Path;

fn open(folder: &Path) -> Store {
    Store::open(folder).unwrap().store
}

fn vin(value: &str) -> What {
    What::Arrival {
        field: ArrivalField::Vin,
        value: Some(value.into()),
    }
}

fn row(job: u128, n: i64, due: Option<&str>, row: &str) -> KeptRow<String> {
    KeptRow {
        job: id(job),
        n,
        due: due.map(|day| day.parse().unwrap()),
        row: row.to_owned(),
    }
}

#[test]
fn open_jobs_stand_by_their_promised_day_and_those_that_left_apart() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let days = [Some("2026-03-09"), None, Some("2026-03-02"), Some("2026-03-05")];
    for (n, due) in days.into_iter().enumerate() {
        let job = 10 + n as u128;
        store
            .append(id(job), id(2), id(900 + job), vec![vin("A")])
            .unwrap();
        let newest = store.newest(id(job)).unwrap().unwrap();
        assert_eq!(store.not_figured("rules 1", true, 9).unwrap(), [id(job)]);
        store
            .keep_rows(&[row(job, newest, due, "row")], "rules 1")
            .unwrap();
    }
    let order = |store: &Store| {
        store
            .open_by_due(9)
            .unwrap()
            .iter()
            .map(|job| job.id)
            .collect::<Vec<_>>()
    };
    assert_eq!(order(&store), [id(12), id(13), id(10), id(11)]);
    let left = What::HandedOver { handed_over: true };
    store.append(id(13), id(2), id(990), vec![left]).unwrap();
    assert_eq!(order(&store), [id(12), id(10), id(11)]);
    assert_eq!(store.left(9).unwrap()[0].id, id(13));
    assert_eq!(store.how_many().unwrap(), (3, 1));
    assert!(store.not_figured("rules 1", true, 9).unwrap().is_empty());
    assert_eq!(
        store.not_figured("rules 1", false, 9).unwrap(),
        [id(13)],
        "a change makes it old"
    );
    assert_eq!(store.not_figured("rules 2", true, 9).unwrap().len(), 3);
    store.rebuild().unwrap();
    assert_eq!(
        order(&store),
        [id(12), id(10), id(11)],
        "the days outlive a rebuild"
    );
    assert!(store.not_figured("rules 1", true, 9).unwrap().is_empty());
    let let_go = What::Office {
        field: OfficeField::Retain,
        value: Some("let_go".into()),
    };
    store.append(id(13), id(2), id(991), vec![let_go]).unwrap();
    assert_eq!(store.how_many().unwrap(), (3, 0));
}

#[test]
fn what_somebody_has_looked_at_is_not_told_again() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    store.append(id(JOB), id(2), id(900), vec![vin("A")]).unwrap();
    let looked = store.newest(id(JOB)).unwrap().unwrap();
    assert_eq!(store.seen(id(JOB), id(5)).unwrap(), None);
    store.set_seen(id(JOB), id(5), looked).unwrap();
    store.append(id(JOB), id(2), id(901), vec![vin("B")]).unwrap();
    store.set_seen(id(JOB), id(5), looked - 1).unwrap();
    assert_eq!(
        store.seen(id(JOB), id(5)).unwrap(),
        Some(looked),
        "never further back"
    );
    let new = store.entries_of_after(id(JOB), looked).unwrap();
    assert_eq!(
        new.iter().map(|entry| entry.what.clone()).collect::<Vec<_>>(),
        [vin("B")]
    );
}

#[test]
fn what_is_kept_apart_is_in_no_job_until_it_is_taken_in() {
    let [a, b] = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    let (lost, office) = (open(a.path()), open(b.path()));
    let entries = lost
        .append(id(JOB), id(2), id(900), vec![vin("A"), vin("B")])
        .unwrap();
    for _ in 0..2 {
        office
            .set_apart(lost.device(), &entries, chrono::Utc::now())
            .unwrap();
    }
    assert!(office.job(id(JOB)).unwrap().is_none());
    let apart = office.apart().unwrap();
    assert_eq!(
        (apart[0].device, apart[0].entries, apart[0].jobs),
        (lost.device(), 2, 1)
    );
    assert_eq!(office.apart_of(lost.device()).unwrap(), entries);
    office.receive(&entries[..1]).unwrap();
    office.no_more_apart(lost.device()).unwrap();
    assert_eq!(office.apart_of(lost.device()).unwrap(), entries[1..]);
}
