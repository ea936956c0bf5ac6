//! How fast a phone sends: `bench_send FOLDER [PHOTOS]`. The last line is `send: R`, our bytes of photos a second over
//! those of `curl` that PUTs the same files to a bare file server of ours (a write and an fdatasync each), in the same
//! run and in turns; before it entries a second. Office and bare server are programs of their own; both lie in FOLDER.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout
)]

#[path = "common/photo.rs"]
mod taken;

use axum::body::Body;
use axum::extract::{Path as Named, State};
use axum::routing::put;
use bowseam_app::app::{App, Kind};
use bowseam_jobs::Store;
use bowseam_jobs::entry::{ArrivalField, What};
use bowseam_office::{Office, router};
use bowseam_photos::Folder;
use bowseam_send::{Limits, Sender, codes};
use bowseam_shared::{Objects, Shared};
use http_body_util::BodyExt;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::time::Instant;
use taken::added;
use uuid::Uuid;

const ROUNDS: usize = 5;
const ENTRIES: usize = 5000;
/// Bytes of a photo: what a phone's camera makes in good light.
const BYTES: usize = 3_400_000;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = args.iter().map(String::as_str).collect();
    match words[..] {
        ["office", folder] => serve_office(Path::new(folder)),
        ["bare", folder] => serve_bare(Path::new(folder)),
        [folder] => bench(Path::new(folder), 30),
        [folder, photos] => bench(Path::new(folder), photos.parse().unwrap()),
        _ => panic!("bench_send FOLDER [PHOTOS]"),
    }
}

fn serve(router: axum::Router, said: &str) {
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async {
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
        println!("{} {said}", listener.local_addr().unwrap());
        std::io::stdout().flush().unwrap();
        axum::serve(listener, router).await.unwrap();
    });
}

/// On SQLite and a folder, or on the shared places that the environment names.
fn serve_office(folder: &Path) {
    let app = match std::env::var("BOWSEAM_TEST_DATABASE") {
        Err(_) => App::open(folder, Kind::Office).unwrap(),
        Ok(database) => {
            let key = |name: &str| std::env::var(name).unwrap();
            let objects = Objects::new(
                &key("BOWSEAM_TEST_PHOTOS"),
                &key("AWS_ACCESS_KEY_ID"),
                &key("AWS_SECRET_ACCESS_KEY"),
                None,
            );
            let shared = Shared::open(&database, None, None, objects.unwrap()).unwrap();
            let store = shared.store(folder).unwrap();
            let photos = shared.photos(&folder.join("photos")).unwrap();
            App::over(folder, Kind::Office, store, photos)
        }
    };
    let app = Arc::new(app);
    let (code, _) = codes::new_code(&app.store(), chrono::Utc::now()).unwrap();
    serve(
        axum::Router::new().nest("/office", router(Office::new(app, "Bench"))),
        &code,
    );
}

fn serve_bare(folder: &Path) {
    async fn take(State(folder): State<PathBuf>, Named(name): Named<String>, mut body: Body) {
        let mut file = std::fs::File::create(folder.join(name)).unwrap();
        while let Some(frame) = body.frame().await {
            if let Some(data) = frame.unwrap().data_ref() {
                file.write_all(data).unwrap();
            }
        }
        tokio::task::spawn_blocking(move || file.sync_data().unwrap())
            .await
            .unwrap();
    }
    std::fs::create_dir_all(folder).unwrap();
    serve(
        axum::Router::new()
            .route("/{name}", put(take))
            .with_state(folder.to_owned()),
        "",
    );
}

fn child(role: &str, folder: &Path) -> (Child, String) {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args([role, folder.to_str().unwrap()])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.take().unwrap())
        .read_line(&mut line)
        .unwrap();
    (child, line.trim_end().to_owned())
}

/// A file that begins as a PNG and goes on as noise, so that nothing shortens it.
fn photo(seed: u64) -> Vec<u8> {
    let mut bytes = include_bytes!("../../../src-tauri/icons/32x32.png").to_vec();
    let mut state = seed.wrapping_mul(2).wrapping_add(1);
    while bytes.len() < BYTES {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        bytes.extend(state.to_le_bytes());
    }
    bytes
}

struct Phone {
    store: Store,
    photos: Folder,
    office: bowseam_send::Office,
}

impl Phone {
    /// Sends all that waits; seconds.
    fn send(&self) -> f64 {
        let begun = Instant::now();
        let limits = Limits {
            requests: 100_000,
            ..Limits::default()
        };
        let sender = Sender::default();
        while !self.store.unsent(None, 1).unwrap().is_empty() {
            let report = sender
                .round_within(&self.store, &self.photos, &self.office, limits)
                .unwrap();
            assert!(report.stuck == 0 && report.why.is_none(), "{report:?}");
        }
        begun.elapsed().as_secs_f64()
    }

    fn note(&self, n: usize) {
        let value = Some(format!("row {n}"));
        let what = What::Arrival {
            field: ArrivalField::Slot,
            value,
        };
        let job = Uuid::from_u128(1 + (n / 40) as u128);
        self.store
            .append(job, Uuid::nil(), Uuid::now_v7(), vec![what])
            .unwrap();
    }

    fn take_photo(&self, seed: u64) -> PathBuf {
        let kept = self.photos.keep(&photo(seed)).unwrap();
        let what = added(kept.sha256.clone(), "1.png".into(), kept.bytes);
        self.store
            .append(Uuid::from_u128(1), Uuid::nil(), Uuid::now_v7(), vec![what])
            .unwrap();
        self.photos.original(&kept.sha256).unwrap()
    }
}

fn bench(folder: &Path, photos: usize) {
    std::fs::create_dir_all(folder).unwrap();
    let folder = tempfile::tempdir_in(folder).unwrap();
    let (mut office, said) = child("office", &folder.path().join("office"));
    let (mut bare, address) = child("bare", &folder.path().join("bare"));
    let (at, code) = said.split_once(' ').unwrap();
    let store = Store::open(&folder.path().join("phone")).unwrap().store;
    let known = bowseam_send::enrol(&store, &format!("http://{at}/office"), code, "Phone").unwrap();
    let phone = Phone {
        store,
        photos: Folder::open(folder.path().join("phone/photos")).unwrap(),
        office: known,
    };
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    for round in 0..ROUNDS {
        let files: Vec<PathBuf> = (0..photos)
            .map(|n| phone.take_photo((round * photos + n) as u64 + 1))
            .collect();
        let bytes = (photos * BYTES) as f64 / 1e6;
        let names: Vec<&str> = files.iter().map(|file| file.to_str().unwrap()).collect();
        let begun = Instant::now();
        let done = Command::new("curl")
            .args([
                "--silent",
                "--fail",
                "--upload-file",
                &format!("{{{}}}", names.join(",")),
            ])
            .arg(format!("http://{}/", address.trim()))
            .status()
            .unwrap();
        assert!(done.success());
        theirs.push(bytes / begun.elapsed().as_secs_f64());
        ours.push(bytes / phone.send());
        println!(
            "round {round}: ours {:.1} MB/s, curl {:.1} MB/s",
            ours[round], theirs[round]
        );
    }
    (0..ENTRIES).for_each(|n| phone.note(n));
    println!("{:.0} entries a second", ENTRIES as f64 / phone.send());
    let middle = |values: &mut Vec<f64>| {
        values.sort_by(f64::total_cmp);
        values[values.len() / 2]
    };
    let (ours, theirs) = (middle(&mut ours), middle(&mut theirs));
    for child in [&mut office, &mut bare] {
        child.kill().unwrap();
        child.wait().unwrap();
    }
    println!(
        "send: {:.2} our bytes a second over those of curl to a bare server, {ours:.0} over {theirs:.0} MB/s, the middle of {ROUNDS} rounds of {photos} photos",
        ours / theirs
    );
}
