//! How long the PDF of a job with many photos takes, how large it is and how much memory it needs beside what the
//! program has already. Photos are 12 MP, each its own picture; keeping them is not timed, since a phone does that
//! when they are taken. `bench_packet FOLDER [PHOTOS]`.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout,
    missing_docs
)]

use bowseam_app::{Answer, App, Ask, Asker, Kind, ask::PacketForm};
use bowseam_jobs::{
    entry::{PhotoOf, PhotoWhen},
    people::{Person, Role},
};
use image::{ImageFormat, Rgb, RgbImage};
use std::{io::Cursor, path::Path, time::Instant};
use uuid::Uuid;

const WHO: Uuid = Uuid::from_u128(0x0192_0000_0000_7000_8000_0000_0000_00a1);

fn main() {
    let mut arguments = std::env::args().skip(1);
    let folder = arguments.next().expect("a folder");
    let photos: u32 = arguments.next().map_or(300, |n| n.parse().unwrap());
    let folder = tempfile::tempdir_in(folder).unwrap();
    let app = App::open(folder.path(), Kind::Phone).unwrap();
    let job = open(&app);
    let mut picture = scene();
    for n in 0..photos {
        app.ask(&Asker::default(), add(job, n), Some(&jpeg(&mut picture, n)))
            .unwrap();
        if n % 50 == 49 {
            println!("{} photos kept", n + 1);
        }
    }
    drop(picture);
    let shas = app.photos().list().unwrap();
    shas.iter().for_each(|sha| app.photos().make_copies(sha).unwrap());
    let before = memory("VmRSS");
    let begun = Instant::now();
    let ask = Ask::MakePacket {
        job,
        form: PacketForm::Pdf,
        prices: true,
    };
    let Answer::PacketFile(made) = app.ask(&Asker::default(), ask, None).unwrap() else {
        panic!()
    };
    let took = begun.elapsed().as_secs_f64();
    let most = memory("VmHWM");
    println!("memory before {before} MB, at most since the start {most} MB");
    println!("file {:.1} MB", made.bytes as f64 / 1e6);
    println!(
        "packet: {took:.1} seconds for the PDF of a job with {photos} photos of 12 MP (goal: under 60 for 300)"
    );
}

fn open(app: &App) -> Uuid {
    let who = Person {
        id: WHO,
        name: "A. Bench".to_owned(),
        roles: [Role::Technician].into(),
        may_release: false,
        pin_hash: None,
        more: Default::default(),
    };
    app.store().put_person(&who).unwrap();
    app.store().set_pin(WHO, "4711").unwrap();
    app.ask(
        &Asker::default(),
        Ask::SignIn {
            person: WHO,
            pin: "4711".to_owned(),
        },
        None,
    )
    .unwrap();
    let opened = app
        .ask(
            &Asker::default(),
            Ask::OpenJob {
                unit: "300".to_owned(),
            },
            None,
        )
        .unwrap();
    match opened {
        Answer::Saved { id: Some(id), .. } => id,
        other => panic!("{other:?}"),
    }
}

fn add(job: Uuid, n: u32) -> Ask {
    Ask::AddPhoto {
        job,
        of: PhotoOf::Unit,
        when: if n.is_multiple_of(2) {
            PhotoWhen::Before
        } else {
            PhotoWhen::After
        },
        name: format!("{n}.jpg"),
    }
}

/// Sheet metal with rivets and some noise: about as hard to shrink as a photo.
fn scene() -> RgbImage {
    let mut seed = 1_u32;
    RgbImage::from_fn(4000, 3000, |x, y| {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let rivet = if (x / 8) % 25 == 0 && (y / 8) % 25 == 0 {
            90
        } else {
            0
        };
        let base = 120 + x / 60 + y / 60 - rivet + (seed >> 28);
        let base = u8::try_from(base.min(255)).unwrap();
        Rgb([base, base, base.saturating_add(8)])
    })
}

/// The scene with a patch of its own.
fn jpeg(picture: &mut RgbImage, n: u32) -> Vec<u8> {
    let (left, top) = ((n * 97) % 3400, (n * 53) % 2400);
    for x in left..left + 500 {
        for y in top..top + 500 {
            let shade = |part: u32| u8::try_from((n * part + x + y) % 256).unwrap();
            picture.put_pixel(x, y, Rgb([shade(3), shade(7), shade(11)]));
        }
    }
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, ImageFormat::Jpeg).unwrap();
    bytes.into_inner()
}

/// Megabytes of this process, as the system counts them; 0 where it does not say.
fn memory(what: &str) -> u64 {
    let said = std::fs::read_to_string(Path::new("/proc/self/status")).unwrap_or_default();
    let line = said
        .lines()
        .find_map(|line| line.strip_prefix(what)?.strip_prefix(':'));
    let kilobytes = line.and_then(|line| line.split_whitespace().next()?.parse::<u64>().ok());
    kilobytes.unwrap_or(0) / 1024
}
