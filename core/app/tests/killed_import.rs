//! Three hundred photos brought in while the program is killed twenty times: none is lost and none is doubled. The
//! program that is killed is this test itself, started again as its own child.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::cast_possible_truncation
)]

#[allow(dead_code)]
#[path = "door/mod.rs"]
mod door;

use bowseam_app::{App, Kind};
use door::{TECHNICIAN, ask_at, picture};
use serde_json::{Value, json};
use std::{collections::BTreeSet, env, path::Path, process::Command, thread::sleep, time::Duration};

const PHOTOS: u32 = 300;
const KILLS: u32 = 20;
const FOLDER: &str = "BOWSEAM_TEST_IMPORT_INTO";

fn get(app: &App, ask: Value) -> Value {
    serde_json::to_value(ask_at(app, Some(TECHNICIAN), ask, None).unwrap()).unwrap()
}

fn job(app: &App) -> Value {
    get(app, json!({"kind": "yard", "find": ""}))["rows"][0]["job"].clone()
}

/// The child: brings in all photos from the first one on, as a person would who chooses the same files again.
#[test]
fn brings_in_all_photos_where_it_is_told_to() {
    let Ok(folder) = env::var(FOLDER) else { return };
    let app = App::open(Path::new(&folder), Kind::Phone).unwrap();
    let job = job(&app);
    for number in 0..PHOTOS {
        let add = json!({"kind": "add_photo", "job": job, "of": {"of": "unit"}, "when": "before", "name": format!("{number}.jpg")});
        ask_at(&app, Some(TECHNICIAN), add, Some(&picture(number))).unwrap();
    }
}

#[test]
fn three_hundred_photos_come_in_whole_though_the_program_is_killed_twenty_times() {
    let room = tempfile::TempDir::new().unwrap();
    let app = App::open(room.path(), Kind::Phone).unwrap();
    door::people(&app);
    get(&app, json!({"kind": "open_job", "unit": "7712"}));
    drop(app);
    let start = || {
        let mut child = Command::new(env::current_exe().unwrap());
        child.args([
            "--exact",
            "brings_in_all_photos_where_it_is_told_to",
            "--nocapture",
        ]);
        child
            .env(FOLDER, room.path())
            .stdout(std::process::Stdio::null())
            .spawn()
            .unwrap()
    };
    let (mut killed, mut wait) = (0, 150);
    while killed < KILLS {
        let mut child = start();
        sleep(Duration::from_millis(wait));
        if child.try_wait().unwrap().is_some() {
            // Done before it could be killed: the next one is killed sooner.
            wait /= 2;
            continue;
        }
        child.kill().unwrap();
        child.wait().unwrap();
        killed += 1;
        // Not the same moment each time.
        wait += 7;
    }
    assert!(start().wait().unwrap().success());
    let app = App::open(room.path(), Kind::Phone).unwrap();
    let all = get(&app, json!({"kind": "photos", "job": job(&app)}));
    let names: Vec<&str> = all["photos"]
        .as_array()
        .unwrap()
        .iter()
        .map(|photo| photo["name"].as_str().unwrap())
        .collect();
    let different: BTreeSet<&&str> = names.iter().collect();
    assert_eq!((names.len(), different.len()), (300, 300));
    let folder = app.photos();
    assert_eq!(folder.list().unwrap().len(), 300);
    for number in 0..PHOTOS {
        let bytes = picture(number);
        let sha256 = bowseam_photos::sha256(&bytes);
        assert_eq!(
            std::fs::read(folder.original(&sha256).unwrap()).unwrap(),
            bytes,
            "{number} bit for bit"
        );
    }
}
