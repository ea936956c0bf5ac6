//! A damaged file, a full disk, a folder that cannot be written, a file from another version of the program.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;
use bowseam_jobs::{Store, entry::*, outbox::ItemKind, people::*};
use chrono::Utc;
use common::id;
use std::{collections::BTreeSet, fs, path::Path};
use uuid::Uuid;

/// Jobs with notes from one word to several pages, so that some rows run over onto further pages.
fn fill(folder: &Path, jobs: u128) -> Vec<Entry> {
    let store = Store::open(folder).unwrap().store;
    let mut saved = Vec::new();
    for n in 0..jobs {
        let note = "word ".repeat(1 + (n as usize * 337) % 4000);
        let whats = vec![
            What::Opened {
                unit: format!("T-{n}"),
            },
            What::Arrival {
                field: ArrivalField::Account,
                value: Some(note),
            },
        ];
        saved.extend(store.append(id(n), id(2), Uuid::now_v7(), whats).unwrap());
    }
    store.set_setting("shop", &"ours").unwrap();
    store
        .put_person(&Person {
            id: id(7),
            name: "Ana".into(),
            roles: BTreeSet::new(),
            may_release: false,
            pin_hash: None,
            more: More::default(),
        })
        .unwrap();
    saved
}

/// Moves what is in the log into the file, so that damage to the file is damage.
fn settle(folder: &Path) {
    let conn = rusqlite::Connection::open(folder.join("jobs.sqlite")).unwrap();
    conn.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))
        .unwrap();
}

fn all(store: &Store) -> BTreeSet<Uuid> {
    store
        .entries_after(0, usize::MAX)
        .unwrap()
        .iter()
        .map(|(_, entry)| entry.id)
        .collect()
}

#[test]
fn a_file_with_a_broken_page_is_set_aside_and_the_other_pages_entries_are_taken_over() {
    let folder = tempfile::tempdir().unwrap();
    let saved = fill(folder.path(), 12);
    settle(folder.path());
    let file = folder.path().join("jobs.sqlite");
    let sound = fs::read(&file).unwrap();
    let mut lost_somewhere = false;
    for page in 0..sound.len() / 4096 {
        let mut bytes = sound.clone();
        bytes[page * 4096..(page + 1) * 4096].fill(0xa5);
        fs::write(&file, &bytes).unwrap();
        let opened = Store::open(folder.path()).unwrap();
        let Some(salvage) = opened.salvage else {
            // A page that nothing uses.
            assert_eq!(all(&opened.store).len(), saved.len(), "page {page}");
            continue;
        };
        let read = all(&opened.store);
        assert_eq!(read.len(), salvage.entries, "page {page}");
        assert!(read.is_subset(&saved.iter().map(|e| e.id).collect()));
        // One page holds few entries: the rest must be there.
        assert!(
            saved.len() - read.len() <= 20,
            "page {page}: {} of {}",
            read.len(),
            saved.len()
        );
        lost_somewhere |= read.len() < saved.len();
        assert!(salvage.to_string().contains("kept as"), "{salvage}");
        assert_eq!(
            fs::read(&salvage.set_aside).unwrap(),
            bytes,
            "the damaged file is kept as it was"
        );
        // Everything is sent again, and the new entries do not take numbers that may be gone.
        assert_eq!(
            opened
                .store
                .due_of(ItemKind::Entry, Utc::now(), 1000)
                .unwrap()
                .len(),
            read.len()
        );
        let job = opened
            .store
            .append(
                id(0),
                id(2),
                Uuid::now_v7(),
                vec![What::RoofOpened { opened: true }],
            )
            .unwrap();
        assert!(saved.iter().all(|entry| entry.device != job[0].device));
        assert!(opened.store.job(id(0)).unwrap().is_some());
        drop(opened.store);
        for suffix in ["-wal", "-shm"] {
            let _ = fs::remove_file(folder.path().join(format!("jobs.sqlite{suffix}")));
        }
    }
    assert!(lost_somewhere, "no page was damaged that held an entry");
}

#[test]
fn what_stands_only_in_the_log_is_salvaged_and_settings_and_people_come_over() {
    let folder = tempfile::tempdir().unwrap();
    let saved = fill(folder.path(), 3);
    settle(folder.path());
    let store = Store::open(folder.path()).unwrap().store;
    let late = store
        .append(id(0), id(2), id(3), vec![What::RoofOpened { opened: true }])
        .unwrap();
    // As the files lie there when the program is killed: the log is not in the file yet.
    let copy = tempfile::tempdir().unwrap();
    for name in ["jobs.sqlite", "jobs.sqlite-wal"] {
        fs::copy(folder.path().join(name), copy.path().join(name)).unwrap();
    }
    drop(store);
    // Damage to the tree of one index: every entry is still whole.
    let file = copy.path().join("jobs.sqlite");
    let conn = rusqlite::Connection::open(folder.path().join("jobs.sqlite")).unwrap();
    let root: usize = conn
        .query_row(
            "SELECT rootpage FROM sqlite_schema WHERE name = 'outbox_photo'",
            [],
            |r| r.get(0),
        )
        .unwrap();
    let mut bytes = fs::read(&file).unwrap();
    bytes[(root - 1) * 4096..root * 4096].fill(0xff);
    fs::write(&file, bytes).unwrap();
    let opened = Store::open(copy.path()).unwrap();
    let salvage = opened.salvage.expect("damage was not seen");
    let expected: BTreeSet<Uuid> = saved.iter().chain(&late).map(|entry| entry.id).collect();
    assert_eq!(all(&opened.store), expected);
    assert!(salvage.settings);
    assert_eq!(
        opened.store.setting::<String>("shop").unwrap().as_deref(),
        Some("ours")
    );
    assert_eq!(opened.store.people().unwrap()[0].name, "Ana");
}

#[test]
fn a_file_that_is_no_database_at_all_does_not_keep_the_program_from_starting() {
    let folder = tempfile::tempdir().unwrap();
    for bytes in [
        b"not a database, but long enough to look at as if it were one".repeat(200),
        vec![0; 5000],
        vec![0xff; 100],
    ] {
        fs::write(folder.path().join("jobs.sqlite"), &bytes).unwrap();
        let opened = Store::open(folder.path()).unwrap();
        let salvage = opened.salvage.expect("set aside");
        assert_eq!(salvage.entries, 0);
        assert_eq!(fs::read(&salvage.set_aside).unwrap(), bytes);
    }
}

#[test]
fn a_salvage_that_was_interrupted_is_finished_at_the_next_start() {
    let folder = tempfile::tempdir().unwrap();
    let saved = fill(folder.path(), 3);
    settle(folder.path());
    // Between the two renamings: the damaged one is away, the new one not yet in its place.
    fs::rename(
        folder.path().join("jobs.sqlite"),
        folder.path().join("jobs.new.sqlite"),
    )
    .unwrap();
    assert_eq!(all(&Store::open(folder.path()).unwrap().store).len(), saved.len());
}

#[test]
fn when_the_disk_is_full_the_change_is_refused_whole_and_the_rest_stays() {
    let folder = tempfile::tempdir().unwrap();
    let saved = fill(folder.path(), 3);
    let store = Store::open(folder.path()).unwrap().store;
    let pages = store.limit_pages_for_test(0).unwrap();
    store.limit_pages_for_test(pages).unwrap();
    let note = |length: usize| What::Arrival {
        field: ArrivalField::Account,
        value: Some("x".repeat(length)),
    };
    let full = store
        .append(
            id(0),
            id(2),
            id(3),
            vec![What::RoofOpened { opened: true }, note(100_000)],
        )
        .unwrap_err();
    assert_eq!(full.code(), "full");
    assert!(full.to_string().contains("Free some space"), "{full}");
    let job = store.job(id(0)).unwrap().unwrap();
    assert_eq!(job.roof_opened, None, "all of the act or nothing of it");
    assert_eq!(all(&store).len(), saved.len());
    store.limit_pages_for_test(1_000_000).unwrap();
    assert_eq!(
        store.append(id(0), id(2), id(3), vec![note(100_000)]).unwrap()[0].seq,
        saved.len() as u64 + 1
    );
}

#[test]
fn a_folder_that_cannot_be_made_is_refused_in_plain_words() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("file"), b"").unwrap();
    let error = Store::open(&folder.path().join("file").join("jobs"))
        .err()
        .unwrap();
    assert_eq!(error.code(), "read_only");
    assert!(error.to_string().contains("Choose a folder"), "{error}");
}

#[test]
fn a_file_of_the_first_version_is_brought_up_to_date_with_all_its_entries() {
    let frozen = include_str!("schemas/v1.sql");
    let released = [
        (frozen, include_str!("../schema/v1.sql")),
        (include_str!("schemas/v2.sql"), include_str!("../schema/v2.sql")),
        (include_str!("schemas/v3.sql"), include_str!("../schema/v3.sql")),
        (include_str!("schemas/v4.sql"), include_str!("../schema/v4.sql")),
        (include_str!("schemas/v5.sql"), include_str!("../schema/v5.sql")),
        (include_str!("schemas/v6.sql"), include_str!("../schema/v6.sql")),
        (include_str!("schemas/v7.sql"), include_str!("../schema/v7.sql")),
        (include_str!("schemas/v8.sql"), include_str!("../schema/v8.sql")),
        (include_str!("schemas/v9.sql"), include_str!("../schema/v9.sql")),
    ];
    for (frozen, schema) in released {
        assert_eq!(
            frozen, schema,
            "a schema that was released is never edited: add another"
        );
    }
    let folder = tempfile::tempdir().unwrap();
    let conn = rusqlite::Connection::open(folder.path().join("jobs.sqlite")).unwrap();
    conn.execute_batch(frozen).unwrap();
    conn.pragma_update(None, "user_version", 1).unwrap();
    let kinds: Vec<serde_json::Value> = serde_json::from_str(include_str!("kinds.json")).unwrap();
    for (n, what) in kinds.iter().enumerate() {
        let (id, job, n) = (id(1000 + n as u128), id(1), n as u64 + 1);
        let json = serde_json::json!({"id": id, "job": job, "act": id, "device": Uuid::from_u128(5), "seq": n,
            "at": format!("69a42000{n:08x}"), "person": Uuid::from_u128(6), "what": what});
        conn.execute(
            "INSERT INTO entry (id, job, device, seq, at, kind, json) VALUES (?1, ?2, ?3, ?4, '', '', ?5)",
            rusqlite::params![
                id.as_bytes(),
                job.as_bytes(),
                Uuid::from_u128(5).as_bytes(),
                n,
                json.to_string()
            ],
        )
        .unwrap();
    }
    drop(conn);
    let store = Store::open(folder.path()).unwrap().store;
    assert_eq!(store.entries(id(1)).unwrap().len(), kinds.len());
    let job = store.job(id(1)).unwrap().unwrap();
    assert_eq!((job.unit.as_str(), job.not_known), ("T-104", 0));
    assert_eq!(store.jobs(10, None).unwrap().0[0].unit, "T-104");
    let photo = "ab".repeat(32);
    for (handed_over, kept) in [(true, false), (false, true)] {
        store
            .append(id(1), id(2), id(3), vec![What::HandedOver { handed_over }])
            .unwrap();
        assert_eq!(store.open_job_names(&photo).unwrap(), kept);
    }
}

#[test]
fn a_file_of_a_newer_program_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    fill(folder.path(), 1);
    settle(folder.path());
    let conn = rusqlite::Connection::open(folder.path().join("jobs.sqlite")).unwrap();
    conn.pragma_update(None, "user_version", 99).unwrap();
    drop(conn);
    assert_eq!(Store::open(folder.path()).err().unwrap().code(), "newer");
    assert!(
        !fs::read_dir(folder.path()).unwrap().any(|f| f
            .unwrap()
            .file_name()
            .to_string_lossy()
            .contains("damaged"))
    );
}
