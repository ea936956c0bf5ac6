//! The types of asks and answers for the screens' JavaScript: `ui/parts/types` holds what the door speaks.
//! With `BOWSEAM_WRITE_TYPES=1` the test writes them; without, it fails where they differ.

#![allow(clippy::unwrap_used, clippy::panic)]

use bowseam_app::{
    Answer, Ask, Refusal,
    phone::{Given, Want},
};
use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
};
use ts_rs::{Config, TS};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../ui/parts/types")
}

/// Whole numbers of the door stay below 2^53: lengths up to 100 m in nanometres, bytes of photos.
fn write(folder: &Path) {
    let config = Config::new()
        .with_out_dir(folder)
        .with_large_int("number")
        .with_import_extension(Some("ts"));
    Ask::export_all(&config).unwrap();
    Answer::export_all(&config).unwrap();
    Refusal::export_all(&config).unwrap();
    Want::export_all(&config).unwrap();
    Given::export_all(&config).unwrap();
}

/// Names and texts of the files in a folder and below it.
fn read(folder: &Path, below: &Path, files: &mut BTreeMap<PathBuf, String>) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries {
        let path = entry.unwrap().path();
        let name = below.join(path.file_name().unwrap());
        if path.is_dir() {
            read(&path, &name, files);
        } else {
            files.insert(name, fs::read_to_string(&path).unwrap());
        }
    }
}

#[test]
fn the_screens_know_the_types_that_the_door_speaks() {
    let made = tempfile::TempDir::new().unwrap();
    write(made.path());
    let (mut wanted, mut there) = (BTreeMap::new(), BTreeMap::new());
    read(made.path(), Path::new(""), &mut wanted);
    assert!(wanted.contains_key(Path::new("Answer.ts")), "{:?}", wanted.keys());
    if std::env::var_os("BOWSEAM_WRITE_TYPES").is_some() {
        let _ = fs::remove_dir_all(folder());
        for (name, text) in &wanted {
            let path = folder().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, text).unwrap();
        }
    }
    read(&folder(), Path::new(""), &mut there);
    let other = |name: &&PathBuf| wanted.get(*name) != there.get(*name);
    let other: Vec<&PathBuf> = wanted.keys().chain(there.keys()).filter(other).collect();
    assert!(
        other.is_empty(),
        "not as the door speaks: {other:?}; run again with BOWSEAM_WRITE_TYPES=1"
    );
}
