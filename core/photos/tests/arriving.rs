//! Photos that arrive in parts: whatever breaks off goes on, whatever is repeated does no harm.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

#[allow(dead_code)]
mod made;

use bowseam_photos::{Error, Folder, MAX_BYTES, digest, digest_of_name, hashed_for_test, sha256};
use made::{jpeg, quarters};
use proptest::prelude::*;

#[test]
fn a_photo_that_breaks_off_goes_on_where_it_stopped_after_a_restart() {
    let room = tempfile::tempdir().unwrap();
    let bytes = jpeg(&quarters(320, 240));
    let (sha, length) = (sha256(&bytes), bytes.len() as u64);
    let folder = Folder::open(room.path()).unwrap();
    assert!(matches!(folder.offset(&sha), Err(Error::Missing)));
    assert_eq!(folder.begin(&sha, length).unwrap(), 0);
    assert_eq!(folder.append(&sha, 0, &bytes[..1000], None).unwrap(), 1000);
    drop(folder);
    let folder = Folder::open(room.path()).unwrap();
    assert_eq!(
        (folder.offset(&sha).unwrap(), folder.begin(&sha, length).unwrap()),
        (1000, 1000)
    );
    // A part whose answer was lost comes again.
    assert!(matches!(
        folder.append(&sha, 0, &bytes[..1000], None),
        Err(Error::WrongOffset { at: 1000 })
    ));
    assert!(matches!(
        folder.append(&sha, 1001, &bytes[1001..], None),
        Err(Error::WrongOffset { at: 1000 })
    ));
    assert!(matches!(
        folder.finish(&sha),
        Err(Error::Incomplete { at: 1000, .. })
    ));
    assert_eq!(folder.append(&sha, 1000, &bytes[1000..], None).unwrap(), length);
    assert!(!folder.has(&sha), "not kept before it is checked");
    let kept = folder.finish(&sha).unwrap();
    assert_eq!(std::fs::read(folder.original(&sha).unwrap()).unwrap(), bytes);
    // Every request again, as after a lost answer.
    assert_eq!(folder.finish(&sha).unwrap(), kept);
    assert_eq!(
        (folder.begin(&sha, length).unwrap(), folder.offset(&sha).unwrap()),
        (length, length)
    );
    assert!(
        matches!(folder.append(&sha, 1000, &bytes[1000..], None), Err(Error::WrongOffset { at }) if at == length)
    );
    assert_eq!(std::fs::read_dir(room.path().join("partial")).unwrap().count(), 0);
}

#[test]
fn what_does_not_fit_its_announcement_is_refused_and_not_kept() {
    let room = tempfile::tempdir().unwrap();
    let folder = Folder::open(room.path()).unwrap();
    let bytes = jpeg(&quarters(64, 48));
    let (sha, length) = (sha256(&bytes), bytes.len() as u64);
    assert!(matches!(folder.begin(&sha, 0), Err(Error::Empty)));
    assert!(matches!(folder.begin(&sha, MAX_BYTES + 1), Err(Error::TooLarge)));
    folder.begin(&sha, length).unwrap();
    assert!(matches!(folder.begin(&sha, length + 1), Err(Error::OtherLength { bytes }) if bytes == length));
    assert!(matches!(
        folder.append(&sha, 0, &[&bytes[..], b"x"].concat(), None),
        Err(Error::TooLong { .. })
    ));
    assert_eq!(folder.offset(&sha).unwrap(), 0);
    let mut wrong = bytes.clone();
    wrong[100] ^= 1;
    folder.append(&sha, 0, &wrong, None).unwrap();
    assert!(matches!(folder.finish(&sha), Err(Error::OtherPhoto)));
    assert!(matches!(folder.offset(&sha), Err(Error::Missing)));
    let text = b"not a photo, but of the announced hash";
    folder.begin(&sha256(text), text.len() as u64).unwrap();
    folder.append(&sha256(text), 0, text, None).unwrap();
    assert!(matches!(folder.finish(&sha256(text)), Err(Error::NotAPhoto)));
    assert!(folder.list().unwrap().is_empty());
    folder.cancel(&sha).unwrap();
}

#[test]
fn two_senders_of_one_photo_do_not_spoil_it() {
    let room = tempfile::tempdir().unwrap();
    let folder = Folder::open(room.path()).unwrap();
    let bytes = jpeg(&quarters(640, 480));
    let (sha, length) = (sha256(&bytes), bytes.len() as u64);
    std::thread::scope(|scope| {
        for step in [700, 900] {
            let (folder, bytes, sha) = (folder.clone(), &bytes, &sha);
            scope.spawn(move || {
                let mut at = folder.begin(sha, length).unwrap();
                while at < length {
                    let end = bytes.len().min(at as usize + step);
                    at = match folder.append(sha, at, &bytes[at as usize..end], None) {
                        Ok(next) | Err(Error::WrongOffset { at: next }) => next,
                        Err(other) => panic!("{other}"),
                    };
                }
            });
        }
    });
    folder.finish(&sha).unwrap();
    folder.verify(&sha).unwrap();
}

#[test]
fn a_part_that_changed_on_its_way_is_not_counted_and_the_whole_is_hashed_whatever_its_parts_were() {
    let room = tempfile::tempdir().unwrap();
    let folder = Folder::open(room.path()).unwrap();
    let bytes = jpeg(&quarters(320, 240));
    let (sha, length) = (sha256(&bytes), bytes.len() as u64);
    let (first, rest) = bytes.split_at(1000);
    folder.begin(&sha, length).unwrap();
    for (at, part) in [(0, &bytes[..]), (0, first)] {
        assert!(matches!(
            folder.append(&sha, at, part, Some(digest(rest))),
            Err(Error::Changed)
        ));
        assert_eq!(folder.offset(&sha).unwrap(), 0);
    }
    folder.append(&sha, 0, first, Some(digest(first))).unwrap();
    assert!(matches!(
        folder.append(&sha, 1000, rest, Some(digest(first))),
        Err(Error::Changed)
    ));
    assert_eq!(folder.offset(&sha).unwrap(), 1000);
    // Parts that each came as they were sent, and are no part of this photo.
    let other: Vec<u8> = rest.iter().map(|byte| !byte).collect();
    assert_eq!(
        folder.append(&sha, 1000, &other, Some(digest(&other))).unwrap(),
        length
    );
    assert!(matches!(folder.finish(&sha), Err(Error::OtherPhoto)));
    assert!(!folder.has(&sha));
}

/// What is on the disk then: all of the bytes, and a name that is still the old one, or its length gone already.
#[test]
fn a_photo_that_had_arrived_whole_when_the_machine_died_is_there_at_the_next_opening() {
    let bytes = jpeg(&quarters(320, 240));
    let (sha, length) = (sha256(&bytes), bytes.len() as u64);
    for (length_is_there, spoilt) in [(true, false), (false, false), (true, true), (false, true)] {
        let room = tempfile::tempdir().unwrap();
        let folder = Folder::open(room.path()).unwrap();
        folder.begin(&sha, length).unwrap();
        let partial = room.path().join("partial");
        let mut there = bytes.clone();
        there[500] ^= u8::from(spoilt);
        std::fs::write(partial.join(&sha), &there).unwrap();
        if !length_is_there {
            std::fs::remove_file(partial.join(format!("{sha}.length"))).unwrap();
        }
        // Another one is on its way still.
        let other = "a".repeat(64);
        folder.begin(&other, 5000).unwrap();
        folder.append(&other, 0, &bytes[..1000], None).unwrap();
        drop(folder);
        let folder = Folder::open(room.path()).unwrap();
        assert_eq!(folder.has(&sha), !spoilt);
        assert!(spoilt || folder.verify(&sha).is_ok());
        assert_eq!(folder.offset(&other).unwrap(), 1000);
        assert_eq!(
            std::fs::read_dir(&partial).unwrap().count(),
            2,
            "the other one and its length"
        );
        assert_eq!(
            folder.begin(&sha, length).unwrap(),
            if spoilt { 0 } else { length }
        );
    }
}

#[test]
fn a_photo_is_hashed_once_whether_it_comes_in_one_part_or_in_several_that_nobody_named() {
    let room = tempfile::tempdir().unwrap();
    let folder = Folder::open(room.path()).unwrap();
    for (n, parts) in [(0, 1), (1, 3)] {
        let bytes = jpeg(&quarters(320 + n, 240));
        let (sha, length) = (sha256(&bytes), bytes.len() as u64);
        let before = hashed_for_test();
        let mut at = folder.begin(&sha, length).unwrap();
        for part in bytes.chunks(bytes.len().div_ceil(parts)) {
            at = folder
                .append(&sha, at, part, digest_of_name(&sha).filter(|_| parts == 1))
                .unwrap();
        }
        if parts > 1 {
            folder.finish(&sha).unwrap();
        }
        assert_eq!(hashed_for_test() - before, length, "{parts} parts");
        assert!(folder.has(&sha));
        folder.verify(&sha).unwrap();
    }
    assert_eq!(std::fs::read_dir(room.path().join("partial")).unwrap().count(), 0);
    assert_eq!(std::fs::read_dir(room.path().join("temp")).unwrap().count(), 0);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]
    #[test]
    fn any_split_with_any_repeats_gives_the_same_photo(parts in prop::collection::vec((1_usize..900, any::<bool>(), any::<bool>()), 1..12)) {
        let room = tempfile::tempdir().unwrap();
        let bytes = jpeg(&quarters(160, 120));
        let (sha, length) = (sha256(&bytes), bytes.len() as u64);
        let mut folder = Folder::open(room.path()).unwrap();
        for (size, repeat, restart) in parts.into_iter().cycle() {
            let at = folder.begin(&sha, length).unwrap();
            if at == length {
                break;
            }
            let end = bytes.len().min(at as usize + size);
            let part = &bytes[at as usize..end];
            prop_assert_eq!(folder.append(&sha, at, part, None).unwrap(), end as u64);
            if repeat {
                prop_assert!(folder.append(&sha, at, part, None).is_err());
            }
            if restart {
                folder = Folder::open(room.path()).unwrap();
            }
        }
        prop_assert_eq!(folder.finish(&sha).unwrap().bytes, length);
        prop_assert_eq!(std::fs::read(folder.original(&sha).unwrap()).unwrap(), bytes);
    }
}
