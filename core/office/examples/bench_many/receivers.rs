//! The same office on PostgreSQL: its receivers, alone and two together.

use crate::{ME, bytes};
use bowseam_app::{App, Kind};
use bowseam_jobs::entry::{ArrivalField, What};
use bowseam_shared::backup::{Place, back_up, restore};
use bowseam_shared::{Objects, Shared};
use rusqlite::Connection;
use serde_json::json;
use std::path::Path;
use std::time::{Duration, Instant};
use uuid::Uuid;

/// How long each number of receivers is asked.
const LONG: Duration = Duration::from_secs(10);
/// Who asks at once, over all receivers; the machine has two cores.
const ASKING: usize = 4;
/// Entries of a message.
const MESSAGE: usize = 20;

/// The places that the environment names, if it does.
pub fn shared() -> Option<Shared> {
    let database = std::env::var("BOWSEAM_TEST_DATABASE").ok()?;
    let key = |name: &str| std::env::var(name).unwrap();
    let objects = Objects::new(
        &key("BOWSEAM_TEST_PHOTOS"),
        &key("AWS_ACCESS_KEY_ID"),
        &key("AWS_SECRET_ACCESS_KEY"),
        None,
    );
    Some(Shared::open(&database, None, None, objects.unwrap()).unwrap())
}

fn timed<T>(what: &str, work: impl FnOnce() -> T) -> T {
    let begun = Instant::now();
    let done = work();
    println!("{what}: {:.0} s", begun.elapsed().as_secs_f64());
    done
}

fn receiver(folder: &Path, shared: &Shared) -> App {
    let store = shared.store(folder).unwrap();
    let photos = shared.photos(&folder.join("photos")).unwrap();
    App::over(folder, Kind::Office, store, photos)
}

/// Moves the yard of this folder into the shared places; a first receiver of them, with the rows as figured, and its file.
pub fn first(folder: &Path, shared: &Shared) -> (App, Connection) {
    let backup = folder.join("backup");
    timed("backed up", || back_up(Place::Folder(folder), &backup).unwrap());
    timed(
        "restored into PostgreSQL, the backup checked and compared",
        || restore(&backup, Place::Shared(shared)).unwrap(),
    );
    std::fs::remove_dir_all(&backup).unwrap();
    let place = folder.join("receiver1");
    let app = timed("new receiver that takes the log over", || {
        receiver(&place, shared)
    });
    let conn = Connection::open(place.join("jobs.sqlite")).unwrap();
    let made = folder.join("jobs.sqlite");
    conn.execute("ATTACH ?1 AS made", [made.to_str().unwrap()])
        .unwrap();
    conn.execute_batch(
        "INSERT INTO kept_row SELECT * FROM made.kept_row;
         UPDATE job SET due = m.due, figured = m.figured FROM made.job AS m WHERE m.id = job.id;
         DETACH made; ANALYZE",
    )
    .unwrap();
    (app, conn)
}

/// Asks of all kinds and messages a second, of one receiver and of two.
pub fn together(folder: &Path, shared: &Shared, first: App, jobs: usize) {
    // The second one takes over a copy of the first one's file instead of the log once more.
    let place = folder.join("receiver2");
    std::fs::create_dir_all(&place).unwrap();
    let from = Connection::open(folder.join("receiver1/jobs.sqlite")).unwrap();
    from.execute("VACUUM INTO ?1", [place.join("jobs.sqlite").to_str().unwrap()])
        .unwrap();
    let second = receiver(&place, shared);
    for receivers in [&[&first][..], &[&first, &second]] {
        let asked = many(receivers, |app, n| {
            let job = format!("{:08x}-0000-7000-8000-000000000001", 1 + n * 7919 % (jobs - 1));
            drop(bytes(
                app,
                &match n % 4 {
                    0 => json!({"kind": "office_jobs"}),
                    1 => json!({"kind": "office_jobs", "find": (1001 + n * 7919 % (jobs - 1)).to_string()}),
                    _ => json!({"kind": "office_job", "job": job}),
                },
            ));
        });
        let sent = many(receivers, |app, n| {
            let what = |row| What::Arrival {
                field: ArrivalField::Slot,
                value: Some(format!("row {row}")),
            };
            let job = Uuid::from_u128(u128::from(u64::MAX) + n as u128);
            app.store()
                .append(job, ME, Uuid::now_v7(), (0..MESSAGE).map(what).collect())
                .unwrap();
        });
        println!(
            "receivers {}: {asked:.0} asks (a list, a search, two jobs) a second, {sent:.0} messages of {MESSAGE} entries a second, {ASKING} at once",
            receivers.len()
        );
    }
}

/// How often this is done a second by so many at once, each at one of these receivers.
fn many(receivers: &[&App], work: impl Fn(&App, usize) + Sync) -> f64 {
    let begun = Instant::now();
    let done: usize = std::thread::scope(|scope| {
        let all: Vec<_> = (0..ASKING)
            .map(|who| {
                let (app, work) = (receivers[who % receivers.len()], &work);
                scope.spawn(move || {
                    let mut done = 0;
                    while begun.elapsed() < LONG {
                        work(app, who * 1_000_000 + done);
                        done += 1;
                    }
                    done
                })
            })
            .collect();
        all.into_iter().map(|one| one.join().unwrap()).sum()
    });
    done as f64 / begun.elapsed().as_secs_f64()
}
