//! How much one saved change costs over the plain writing of its rows.
//!
//! Two copies of one file with 5 000 jobs, one of them with 300 entries, on one disk. In turn, a change is
//! saved in the first by `Store::append` (entry, yard list, outbox, durable), then the rows that this wrote are
//! written into the second by a bare transaction with cached statements and the same settings. The figure is
//! the median of the first over the median of the second.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout
)]

use bowseam_figures::{
    mark::{DamageKind, Part, Place, Surface},
    measure::Length,
};
use bowseam_jobs::{Store, entry::*};
use rusqlite::{Connection, types::Value};
use std::{
    path::Path,
    time::{Duration, Instant},
};
use uuid::Uuid;

const JOBS: u128 = 5000;
const LARGE: u128 = 300;
const CHANGES: u128 = 500;
const WARM_UP: usize = 50;

fn main() {
    let folder = tempfile::tempdir_in(std::env::args().nth(1).unwrap_or_else(|| ".".into())).unwrap();
    let (ours, bare) = (folder.path().join("ours"), folder.path().join("bare"));
    let large = fill(&ours);
    std::fs::create_dir(&bare).unwrap();
    settings(&ours)
        .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))
        .unwrap();
    std::fs::copy(ours.join("jobs.sqlite"), bare.join("jobs.sqlite")).unwrap();

    let store = Store::open(&ours).unwrap().store;
    let (beside, mut peer) = (settings(&ours), settings(&bare));
    let (mut our_times, mut bare_times) = (Vec::new(), Vec::new());
    for n in 0..CHANGES {
        let act = Uuid::now_v7();
        let what = change(n);
        let start = Instant::now();
        let saved = store.append(large, Uuid::from_u128(7), act, vec![what]).unwrap();
        our_times.push(start.elapsed());
        let rows = rows(&beside, saved[0].id, large);
        let start = Instant::now();
        write(&mut peer, &rows);
        bare_times.push(start.elapsed());
    }
    let start = Instant::now();
    let listed = store.jobs(50, None).unwrap().0.len();
    println!("yard list of {JOBS} jobs, first {listed}: {:?}", start.elapsed());
    let start = Instant::now();
    println!(
        "outbox sums, {} rows: {:?}",
        store.sums().unwrap().len(),
        start.elapsed()
    );
    let (ours, bare) = (median(our_times), median(bare_times));
    println!("ours {ours:?}, bare {bare:?}, {CHANGES} changes in turn");
    let figure = ours.as_secs_f64() / bare.as_secs_f64();
    println!(
        "store: {figure:.3} = median time of one saved change (entry, yard list, outbox, synchronous = FULL) over a \
         bare transaction that writes the same rows, {JOBS} jobs in the store, one of {LARGE} entries (goal: at most 1.5)"
    );
}

fn median(mut times: Vec<Duration>) -> Duration {
    let times = &mut times[WARM_UP..];
    times.sort();
    times[times.len() / 2]
}

/// What a technician enters on a walk round and in the bay.
fn change(n: u128) -> What {
    let mark = Uuid::from_u128(1000 + n / 6 % 40);
    let place = Place {
        surface: Surface::Roof,
        from: Length::inches(i64::try_from(n % 500).unwrap()),
        to: Length::inches(510),
        low: Length::ZERO,
        high: Length::inches(100),
    };
    let text = format!("entered as number {n}");
    match n % 6 {
        0 => What::Mark {
            mark,
            change: MarkChange::Place(place),
        },
        1 => What::Mark {
            mark,
            change: MarkChange::Kind(DamageKind::Tear),
        },
        2 => What::Mark {
            mark,
            change: MarkChange::Part(Part::RoofSheet),
        },
        3 => What::Mark {
            mark,
            change: MarkChange::Note(text),
        },
        4 => What::Arrival {
            field: ArrivalField::Account,
            value: Some(text),
        },
        _ => What::Measured {
            step: format!("step {}", n % 20),
            value: "edge".into(),
            measured: Some(Measured {
                length: Some(Length::inches(3)),
                text,
                reason: String::new(),
            }),
        },
    }
}

fn fill(folder: &Path) -> Uuid {
    let store = Store::open(folder).unwrap().store;
    let large = Uuid::now_v7();
    for n in 0..JOBS {
        let job = if n == JOBS / 2 { large } else { Uuid::now_v7() };
        let entries = if job == large { LARGE } else { 12 };
        let opened = What::Opened {
            unit: format!("T-{n:04}"),
        };
        let whats = std::iter::once(opened).chain((1..entries).map(change)).collect();
        store
            .append(job, Uuid::from_u128(7), Uuid::now_v7(), whats)
            .unwrap();
    }
    assert_eq!(store.entries(large).unwrap().len() as u128, LARGE);
    large
}

/// A connection with the store's settings.
fn settings(folder: &Path) -> Connection {
    let conn = Connection::open(folder.join("jobs.sqlite")).unwrap();
    conn.pragma_update(None, "journal_mode", "WAL").unwrap();
    conn.pragma_update(None, "synchronous", "FULL").unwrap();
    conn.pragma_update(None, "temp_store", "MEMORY").unwrap();
    conn.set_prepared_statement_cache_capacity(64);
    conn
}

/// The rows that the saved change wrote: entry, job, outbox. (The sums are written by triggers in both files.)
fn rows(conn: &Connection, entry: Uuid, job: Uuid) -> [Vec<Value>; 3] {
    let row = |sql: &str, id: Uuid| -> Vec<Value> {
        let mut statement = conn.prepare_cached(sql).unwrap();
        let columns = statement.column_count();
        let read =
            |row: &rusqlite::Row<'_>| (0..columns).map(|n| row.get(n)).collect::<rusqlite::Result<_>>();
        statement.query_row([id.as_bytes()], read).unwrap()
    };
    [
        row(
            "SELECT n, id, job, device, seq, at, kind, json FROM entry WHERE id = ?1",
            entry,
        ),
        row("SELECT last, find, summary, id FROM job WHERE id = ?1", job),
        row(
            "SELECT n, kind, job, entry, sha256, bytes FROM outbox WHERE entry = ?1",
            entry,
        ),
    ]
}

fn write(conn: &mut Connection, rows: &[Vec<Value>; 3]) {
    let tx = conn
        .transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)
        .unwrap();
    for (sql, row) in [
        "INSERT INTO entry (n, id, job, device, seq, at, kind, json) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        "UPDATE job SET last = ?1, find = ?2, summary = ?3 WHERE id = ?4",
        "INSERT INTO outbox (n, kind, job, entry, sha256, bytes) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
    ]
    .iter()
    .zip(rows)
    {
        let changed = tx
            .prepare_cached(sql)
            .unwrap()
            .execute(rusqlite::params_from_iter(row))
            .unwrap();
        assert_eq!(changed, 1);
    }
    tx.commit().unwrap();
}
