//! Backups: from a folder and from shared places, into either; what is damaged or not empty is refused.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod servers;

use bowseam_jobs::{Store, Summary, entry::What, people::Person};
use bowseam_photos::Folder;
use bowseam_shared::backup::{About, Place, back_up, check, restore};
use bowseam_shared::{Objects, Shared};
use servers::{KEY, Postgres, S3, SECRET, are_there};
use std::fs;
use std::path::Path;
use uuid::Uuid;

const TINY: &[u8] = include_bytes!("../../../src-tauri/icons/32x32.png");

/// An office with 300 entries, somebody with a PIN, a setting and two photos.
fn fill(store: &Store, photos: &Folder) {
    let person = Person {
        id: Uuid::now_v7(),
        name: "Sam".into(),
        ..Person::default()
    };
    store.put_person(&person).unwrap();
    store.set_pin(person.id, "4417").unwrap();
    store
        .set_setting("shop_book", &serde_json::json!({"rate": "95.00"}))
        .unwrap();
    store
        .start_session("a".repeat(64).as_str(), person.id, chrono::Utc::now())
        .unwrap();
    for n in 0..100 {
        let opened = || What::Opened { unit: n.to_string() };
        store
            .append(
                Uuid::now_v7(),
                person.id,
                Uuid::now_v7(),
                vec![opened(), opened(), opened()],
            )
            .unwrap();
    }
    for n in 0..2 {
        photos.keep(&photo(n)).unwrap();
    }
}

/// A PNG with so many bytes behind its end.
fn photo(n: usize) -> Vec<u8> {
    [TINY, &vec![0; n + 1]].concat()
}

fn office(folder: &Path) -> (Store, Folder) {
    (
        Store::open(folder).unwrap().store,
        Folder::open(folder.join("photos")).unwrap(),
    )
}

/// The yard list; what waits in an outbox belongs to one file and is in no log.
fn list(store: &Store) -> Vec<Summary> {
    let all = store.jobs(1000, None).unwrap().0.into_iter();
    all.map(|line| Summary { unsent: 0, ..line }).collect()
}

/// What a backup of a place would say.
fn said(place: Place<'_>) -> About {
    let to = tempfile::tempdir().unwrap();
    back_up(place, &to.path().join("b")).unwrap()
}

/// The file itself differs by free pages; what is in it does not.
fn same(one: &About, other: &About) -> bool {
    let file_sha256 = one.file_sha256.clone();
    *one == About {
        file_sha256,
        ..other.clone()
    }
}

#[test]
fn an_office_that_works_is_backed_up_and_restored_to_the_last_entry_and_photo() {
    let (data, to, again) = (
        tempfile::tempdir().unwrap(),
        tempfile::tempdir().unwrap(),
        tempfile::tempdir().unwrap(),
    );
    let (store, photos) = office(data.path());
    fill(&store, &photos);
    // The store is open meanwhile, as by a program that serves.
    let about = back_up(Place::Folder(data.path()), to.path()).unwrap();
    assert_eq!((about.entries, about.photos), (300, 2));
    assert_eq!(restore(to.path(), Place::Folder(again.path())).unwrap(), about);
    assert!(same(&said(Place::Folder(again.path())), &about));
    let (other, others) = office(again.path());
    assert_eq!(other.jobs(1000, None).unwrap(), store.jobs(1000, None).unwrap());
    assert_eq!(others.list().unwrap(), photos.list().unwrap());
    assert_eq!(other.device(), store.device());
    let somebody = other.people().unwrap()[0].id;
    assert_eq!(
        other.session(&"a".repeat(64), chrono::Utc::now()).unwrap(),
        None,
        "nobody is signed in"
    );
    assert_eq!(
        other.check_pin(somebody, "4417", chrono::Utc::now()).unwrap(),
        bowseam_jobs::people::PinCheck::Right
    );

    let refused = restore(to.path(), Place::Folder(again.path())).unwrap_err();
    assert!(refused.to_string().contains("empty place only"), "{refused}");
    assert!(
        back_up(Place::Folder(data.path()), to.path())
            .unwrap_err()
            .to_string()
            .contains("not empty")
    );
}

#[test]
fn a_backup_with_anything_changed_in_it_is_refused_and_nothing_is_restored() {
    let data = tempfile::tempdir().unwrap();
    let (store, photos) = office(data.path());
    fill(&store, &photos);
    let sha = photos.list().unwrap()[0].clone();
    let shelf = format!("photos/{}/{sha}", &sha[..2]);
    let flip = |file: &Path| {
        let mut bytes = fs::read(file).unwrap();
        let middle = bytes.len() / 2;
        bytes[middle] ^= 1;
        fs::write(file, bytes).unwrap();
    };
    type Damage<'a> = (&'a str, Box<dyn Fn(&Path) + 'a>);
    let damages: [Damage<'_>; 6] = [
        ("a bit of the jobs", Box::new(|to| flip(&to.join("jobs.sqlite")))),
        ("a bit of a photo", Box::new(|to| flip(&to.join(&shelf)))),
        (
            "a photo is gone",
            Box::new(|to| fs::remove_file(to.join(&shelf)).unwrap()),
        ),
        (
            "the jobs are cut off",
            Box::new(|to| fs::write(to.join("jobs.sqlite"), b"").unwrap()),
        ),
        (
            "it broke off",
            Box::new(|to| fs::remove_file(to.join("about.json")).unwrap()),
        ),
        (
            "about is no JSON",
            Box::new(|to| fs::write(to.join("about.json"), b"{").unwrap()),
        ),
    ];
    for (what, damage) in damages {
        let (to, again) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        back_up(Place::Folder(data.path()), to.path()).unwrap();
        check(to.path()).unwrap();
        damage(to.path());
        let refused = restore(to.path(), Place::Folder(again.path()));
        assert!(refused.is_err(), "{what}");
        assert!(
            fs::read_dir(again.path()).unwrap().next().is_none(),
            "{what}: something was restored"
        );
    }
}

#[test]
fn an_office_moves_onto_shared_places_and_back() {
    if !are_there() {
        return;
    }
    let (database, objects) = (Postgres::start(), S3::start());
    let shared = || {
        let objects = Objects::new(&objects.address(), KEY, SECRET, None).unwrap();
        Shared::open(&database.url("postgres"), None, None, objects).unwrap()
    };
    let (data, one, two, again) = (
        tempfile::tempdir().unwrap(),
        tempfile::tempdir().unwrap(),
        tempfile::tempdir().unwrap(),
        tempfile::tempdir().unwrap(),
    );
    let (store, photos) = office(data.path());
    fill(&store, &photos);
    let about = back_up(Place::Folder(data.path()), one.path()).unwrap();
    restore(one.path(), Place::Shared(&shared())).unwrap();
    assert_eq!(objects.objects().len(), 2);
    let receiver = tempfile::tempdir().unwrap();
    let follower = shared().store(receiver.path()).unwrap();
    assert!(list(&follower) == list(&store), "the lists are the same");
    let numbered = |store: &Store| {
        let all = store.entries_after(0, usize::MAX).unwrap();
        all.into_iter()
            .map(|(n, entry)| (n, entry.id))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        numbered(&follower),
        numbered(&store),
        "the phones' cursors stay good"
    );
    assert!(
        restore(one.path(), Place::Shared(&shared())).is_err(),
        "not twice"
    );

    assert!(same(
        &back_up(Place::Shared(&shared()), two.path()).unwrap(),
        &about
    ));
    restore(two.path(), Place::Folder(again.path())).unwrap();
    assert!(same(&said(Place::Folder(again.path())), &about));
    let (alone, _) = office(again.path());
    // It stands for itself: it may not be taken for a receiver's and thrown away.
    drop(alone);
    assert!(shared().store(again.path()).is_err());
}
