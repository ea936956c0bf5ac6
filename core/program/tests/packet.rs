//! `bowseam packet` as a program: a folder of a packet, what is in it and what is not, and its proof.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use bowseam_app::{
    answer::Answer,
    app::{App, Asker, Kind},
    ask::Ask,
};
use bowseam_jobs::people::{Person, Role};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use uuid::Uuid;

/// A photo of the demo yard.
const PLAIN: &[u8] = include_bytes!("../../../demo-data/photos/4417-roof-tear.jpg");
const WHO: Uuid = Uuid::from_u128(1);

/// The same with 41° 30' S 12° 15' W in an EXIF block before its own (tags of CIPA DC-008, from memory).
fn placed() -> Vec<u8> {
    let entry = |tag: u16, kind: u16, count: u32, value: [u8; 4]| {
        let [tag, kind] = [tag, kind].map(u16::to_be_bytes);
        [&tag[..], &kind, &count.to_be_bytes(), &value].concat()
    };
    let mut block = b"MM\0\x2a\0\0\0\x08\0\x01".to_vec();
    block.extend([entry(0x8825, 4, 1, 26_u32.to_be_bytes()), vec![0, 0, 0, 0, 0, 4]].concat());
    block.extend(entry(1, 2, 2, *b"S\0\0\0"));
    block.extend(entry(2, 5, 3, 80_u32.to_be_bytes()));
    block.extend(entry(3, 2, 2, *b"W\0\0\0"));
    block.extend(entry(4, 5, 3, 104_u32.to_be_bytes()));
    block.extend([0; 4]);
    for part in [41_u32, 30, 0, 12, 15, 0] {
        block.extend([part.to_be_bytes(), 1_u32.to_be_bytes()].concat());
    }
    let exif = [&b"Exif\0\0"[..], &block].concat();
    let length = u16::try_from(exif.len() + 2).unwrap().to_be_bytes();
    [&PLAIN[..2], &[0xFF, 0xE1], &length, &exif, &PLAIN[2..]].concat()
}

fn yard(data: &Path) -> [String; 2] {
    let app = App::open(data, Kind::Phone).unwrap();
    let person = Person {
        id: WHO,
        name: "A. Technician".into(),
        roles: [Role::Technician].into(),
        ..Person::default()
    };
    app.store().put_person(&person).unwrap();
    let ask = |ask: Value, bytes: Option<&[u8]>| {
        let ask: Ask = serde_json::from_value(ask).unwrap();
        app.ask(&Asker { person: Some(WHO) }, ask, bytes).unwrap()
    };
    let Answer::Saved { id: Some(job), .. } = ask(json!({"kind": "open_job", "unit": "4417"}), None) else {
        panic!("no job");
    };
    [PLAIN.to_vec(), placed()].map(|bytes| {
        let add =
            json!({"kind": "add_photo", "job": job, "of": {"of": "unit"}, "when": "before", "name": "p.jpg"});
        ask(add, Some(&bytes));
        bowseam_photos::sha256(&bytes)
    })
}

fn bowseam(words: &[&str]) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_bowseam"));
    program.arg("packet").args(words).output().unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[test]
fn an_original_that_says_where_it_was_taken_goes_into_a_folder_only_where_somebody_says_so() {
    let (data, to) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let [plain, placed] = yard(data.path());
    let data = data.path().to_str().unwrap();
    for (with, more) in [(false, None), (true, Some("--with-positions"))] {
        let folder = to.path().join(format!("with {with}"));
        let folder = folder.to_str().unwrap();
        let words: Vec<&str> = ["4417", "--data", data, "--to", folder]
            .into_iter()
            .chain(more)
            .collect();
        let made = bowseam(&words);
        assert!(made.status.success(), "{}", said(&made));
        assert_eq!(
            said(&made).contains("1 of the originals say"),
            !with,
            "{}",
            said(&made)
        );
        let photos = Path::new(folder).join("photos");
        assert!(photos.join(format!("{plain}.jpeg")).is_file());
        assert_eq!(photos.join(format!("{placed}.jpeg")).is_file(), with);
        let sums = fs::read_to_string(Path::new(folder).join("SHA256SUMS")).unwrap();
        assert!(sums.contains(&plain) && sums.contains(&placed) == with);
        // The proof knows which are meant to lack, and finds one that is not.
        let proved = bowseam(&["--prove", folder]);
        assert!(proved.status.success(), "{}", said(&proved));
        let place = photos.join(format!("{plain}.jpeg"));
        let mut bytes = fs::read(&place).unwrap();
        bytes[3000] ^= 1;
        fs::write(&place, bytes).unwrap();
        let proved = bowseam(&["--prove", folder]);
        assert_eq!(proved.status.code(), Some(4), "{}", said(&proved));
        assert!(said(&proved).contains("is not what it was"), "{}", said(&proved));
    }
    let json = fs::read_to_string(to.path().join("with false/packet.json")).unwrap();
    assert!(json.contains(&placed), "the packet names it all the same");
}
