//! How long a log of so many entries (20 000 if not said) takes to come into an empty place: a restore into PostgreSQL, and
//! then a new receiver that takes the log over. `replay [ENTRIES]`, beside the servers that `servers` starts. The log is
//! that of a yard where all jobs go on at once: forty entries a job, five at a time, none of a job next to its others.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout
)]

use bowseam_jobs::Store;
use bowseam_jobs::entry::{ArrivalField, What};
use bowseam_photos::Folder;
use bowseam_shared::backup::{Place, back_up, restore};
use bowseam_shared::{Objects, Shared};
use std::path::Path;
use std::time::Instant;
use uuid::Uuid;

const OF_A_JOB: usize = 40;
const AT_A_TIME: usize = 5;

fn fill(office: &Path, entries: usize) {
    let store = Store::open(office).unwrap().store;
    Folder::open(office.join("photos")).unwrap();
    let fields = [
        ArrivalField::Slot,
        ArrivalField::Plate,
        ArrivalField::Vin,
        ArrivalField::Order,
        ArrivalField::Payer,
    ];
    for round in 0..OF_A_JOB / AT_A_TIME {
        for job in 0..entries / OF_A_JOB {
            let what = fields.map(|field| What::Arrival {
                field,
                value: Some(format!("{field:?} {round}")),
            });
            let job = Uuid::from_u128(1 + job as u128);
            store
                .append(job, Uuid::nil(), Uuid::now_v7(), what.into())
                .unwrap();
        }
    }
}

fn main() {
    let entries: usize = std::env::args().nth(1).map_or(20_000, |n| n.parse().unwrap());
    let key = |name: &str| std::env::var(name).expect("run by tests/bench/replay");
    let room = tempfile::tempdir().unwrap();
    fill(&room.path().join("office"), entries);
    back_up(
        Place::Folder(&room.path().join("office")),
        &room.path().join("backup"),
    )
    .unwrap();
    let objects = Objects::new(
        &key("BOWSEAM_TEST_PHOTOS"),
        &key("AWS_ACCESS_KEY_ID"),
        &key("AWS_SECRET_ACCESS_KEY"),
        None,
    );
    let shared = Shared::open(&key("BOWSEAM_TEST_DATABASE"), None, None, objects.unwrap()).unwrap();
    let timed = |what: &str, work: &dyn Fn()| {
        let begun = Instant::now();
        work();
        let took = begun.elapsed().as_secs_f64();
        println!(
            "{what}: {took:.2} s, {:.0} entries a second",
            entries as f64 / took
        );
        took
    };
    let restored = timed("restore into PostgreSQL", &|| {
        restore(&room.path().join("backup"), Place::Shared(&shared)).unwrap();
    });
    let followed = timed("new receiver", &|| {
        let store = shared.store(&room.path().join("receiver")).unwrap();
        assert_eq!(store.entries_after(0, usize::MAX).unwrap().len(), entries);
    });
    println!(
        "replay: {followed:.2} = seconds for a new receiver to take over {entries} entries; {restored:.2} to restore them into PostgreSQL"
    );
}
