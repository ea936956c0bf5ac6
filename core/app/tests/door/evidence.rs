//! Photos as evidence: a batch with broken files in it, a phone without room, a packet of many that is stopped while it is
//! matched, and where a photo was taken, which nothing holds but its original.

use crate::{
    clocks::{add, job, scene, with_position},
    door::{self, Yard},
};
use bowseam_app::{App, Ask, Asker, camera};
use serde_json::{Value, json};
use std::{
    fs,
    path::{Path, PathBuf},
    time::{Duration, Instant},
};

#[path = "../../../photos/tests/made/broken.rs"]
mod broken;
#[allow(dead_code)]
#[path = "../../../photos/tests/made/mod.rs"]
mod made;

/// What a batch from a gallery may hold; a code where it is no evidence of anything.
fn batch() -> Vec<(&'static str, Vec<u8>, Option<&'static str>)> {
    let png = |n: u32| broken::encoded(&made::quarters(40 + n, 30), image::ImageFormat::Png);
    let mut cut_off = made::jpeg(&made::quarters(640, 480));
    cut_off.truncate(cut_off.len() / 2);
    vec![
        ("first.jpg", door::picture(1), None),
        ("cut off.jpg", cut_off, None),
        ("a PNG.jpg", png(1), None),
        (
            "a text.jpg",
            b"Trailer 4417, nose, roadside".to_vec(),
            Some("photo_none"),
        ),
        ("nothing.jpg", Vec::new(), Some("photo_empty")),
        ("bomb.png", broken::bomb(), None),
        ("loop.jpg", broken::looping(), None),
        ("animated.webp", broken::animated(&made::quarters(96, 64)), None),
        (
            "animated.gif",
            b"GIF89a\x01\0\x01\0\0\0\0;".to_vec(),
            Some("photo_none"),
        ),
        ("last.jpg", door::picture(2), None),
    ]
}

/// All that may be evidence is there, bit for bit, and what cannot be shown is said to be so.
fn all_kept(yard: &Yard, job: &str, named: bool) {
    let begun = Instant::now();
    let photos = || yard.get(json!({"kind": "photos", "job": job}))["photos"].clone();
    let not_shown = |photos: &Value| {
        let all = photos.as_array().unwrap().iter();
        all.filter(|photo| photo["cannot_show"] == true).count()
    };
    while not_shown(&photos()) == 0 {
        assert!(
            begun.elapsed() < Duration::from_secs(30),
            "the bomb is not said to be one"
        );
        std::thread::sleep(Duration::from_millis(20));
    }
    let photos = photos();
    assert_eq!(not_shown(&photos), 1, "{photos}");
    let kept: Vec<_> = batch()
        .into_iter()
        .filter(|(_, _, code)| code.is_none())
        .collect();
    assert_eq!(photos.as_array().unwrap().len(), kept.len(), "{photos}");
    for (name, bytes, _) in kept {
        let sha256 = bowseam_photos::sha256(&bytes);
        let photo = photos
            .as_array()
            .unwrap()
            .iter()
            .find(|photo| photo["sha256"] == sha256);
        let photo = photo.unwrap_or_else(|| panic!("{name} is lost"));
        assert!(!named || photo["name"] == name, "{photo}");
        assert_eq!(
            fs::read(yard.phone.photos().original(&sha256).unwrap()).unwrap(),
            bytes,
            "{name}"
        );
    }
}

#[test]
fn of_a_batch_with_broken_files_each_says_why_or_is_kept_and_the_others_go_on() {
    let yard = Yard::new();
    let job = job(&yard);
    for (name, bytes, code) in batch() {
        let add =
            json!({"kind": "add_photo", "job": job, "of": {"of": "unit"}, "when": "before", "name": name});
        let said = door::ask_at(&yard.phone, None, add, Some(&bytes)).err();
        assert_eq!(said.as_ref().map(|refusal| refusal.code.as_str()), code, "{name}");
        assert!(
            said.is_none_or(|refusal| refusal.sentence.ends_with("is accepted.")),
            "{name}"
        );
    }
    all_kept(&yard, &job, true);
}

/// As from a phone's gallery: files that the system put into the app's folder, some while the app was ended.
#[test]
fn of_a_batch_of_files_from_the_phone_the_sound_ones_come_in_though_the_app_was_ended() {
    let yard = Yard::new();
    let job = job(&yard);
    let ask =
        json!({"kind": "add_photo", "job": job, "of": {"of": "unit"}, "when": "before", "name": "p.jpg"});
    let ask: Ask = serde_json::from_value(ask).unwrap();
    let expected = |bytes: &[u8]| {
        let file = camera::expect(&yard.phone, &Asker::default(), &ask).unwrap();
        fs::write(&file, bytes).unwrap();
        file
    };
    let (now, later): (Vec<_>, Vec<_>) = batch().into_iter().enumerate().partition(|(n, _)| n % 2 == 0);
    for (_, (name, bytes, code)) in now {
        let adopted = camera::adopt(&yard.phone, &expected(&bytes), Some(name));
        assert_eq!(
            adopted.err().map(|refusal| refusal.code),
            code.map(str::to_owned),
            "{name}"
        );
    }
    later.iter().for_each(|(_, (_, bytes, _))| drop(expected(bytes)));
    camera::adopt_orphans(&yard.phone);
    all_kept(&yard, &job, false);
    let said = yard.get(json!({"kind": "hello"}))["salvage"].to_string();
    assert!(
        said.contains("4 photos were kept") && said.contains("no photo in this file"),
        "{said}"
    );
}

/// The next files that this program would write there find a full disk: what is written to the device they lead to
/// comes back as *no space left*.
#[cfg(target_os = "linux")]
fn fill_up(app: &App) -> Vec<PathBuf> {
    let temp = app.photos().root().join("temp");
    let next = (0..2000).map(|n| temp.join(format!("{}-{n}", std::process::id())));
    let next: Vec<PathBuf> = next.collect();
    for name in &next {
        // A copy may be in the writing: that file is not the next one.
        if let Err(e) = std::os::unix::fs::symlink("/dev/full", name) {
            assert_eq!(e.kind(), std::io::ErrorKind::AlreadyExists);
        }
    }
    next
}

#[cfg(target_os = "linux")]
#[test]
fn a_photo_that_finds_no_room_says_so_and_the_next_one_goes_on_once_there_is_some() {
    let yard = Yard::new();
    let job = job(&yard);
    let unit = json!({"of": "unit"});
    let add = |n: u32| add(&yard, &job, &unit, "before", &door::picture(n));
    let first = add(1).unwrap();
    let full = fill_up(&yard.phone);
    let refused = json!({"kind": "add_photo", "job": job, "of": unit, "when": "before", "name": "p.jpg"});
    let refused = door::ask_at(&yard.phone, None, refused, Some(&door::picture(2))).unwrap_err();
    assert_eq!(refused.code, "photo_disk_full");
    assert!(
        refused.sentence.contains("no room left") && refused.sentence.ends_with('.'),
        "{}",
        refused.sentence
    );
    full.iter().for_each(|name| drop(fs::remove_file(name)));
    let (second, third) = (add(2).unwrap(), add(3).unwrap());
    let mut kept = [first, second, third];
    kept.sort();
    assert_eq!(yard.phone.photos().list().unwrap(), kept);
    let photos = yard.get(json!({"kind": "photos", "job": job}))["photos"].clone();
    assert_eq!(photos.as_array().unwrap().len(), 3);
}

#[test]
fn a_packet_counts_the_pairs_that_it_matches_and_is_stopped_among_them() {
    let yard = Yard::new();
    let job = job(&yard);
    let unit = json!({"of": "unit"});
    // So many that none of them is matched when it comes in.
    let scene = scene([0.0, 0.0], 0.0, 0);
    for n in 0..12 {
        let when = if n < 9 { "before" } else { "after" };
        add(&yard, &job, &unit, when, &[&scene[..], &[n]].concat()).unwrap();
    }
    let progress = || yard.get(json!({"kind": "packet_progress", "job": job}));
    let made = std::thread::scope(|scope| {
        let make = || yard.ask(json!({"kind": "make_packet", "job": job, "form": "pdf", "prices": true}));
        let made = scope.spawn(make);
        let begun = Instant::now();
        let at = loop {
            let at = progress();
            if at["matched"].as_u64() >= Some(1) {
                break at;
            }
            assert!(
                begun.elapsed() < Duration::from_secs(60) && !made.is_finished(),
                "{at}"
            );
        };
        assert_eq!(
            (&at["to_match"], &at["photos"], &at["of"]),
            (&json!(27), &json!(0), &json!(12)),
            "{at}"
        );
        yard.get(json!({"kind": "stop_packet", "job": job}));
        made.join().unwrap()
    });
    assert_eq!(made.unwrap_err().code, "packet_stopped");
    assert_eq!(progress()["making"], false);
    // What was matched stays known, for the next one.
    let known = fs::read_dir(yard.phone.photos().root().join("copies/pairs"))
        .unwrap()
        .count();
    assert!((1..27).contains(&known), "{known}");
}

/// All files below a folder.
fn files(folder: &Path) -> Vec<PathBuf> {
    let all = fs::read_dir(folder).unwrap().map(|file| file.unwrap().path());
    all.flat_map(|path| if path.is_dir() { files(&path) } else { vec![path] })
        .collect()
}

/// The pictures inside a page.
fn inside(html: &str) -> Vec<Vec<u8>> {
    use base64::{Engine, engine::general_purpose::STANDARD};
    let pictures = html.split("data:image/jpeg;base64,").skip(1);
    pictures
        .map(|rest| STANDARD.decode(rest.split('"').next().unwrap()).unwrap())
        .collect()
}

#[test]
fn where_a_photo_was_taken_is_in_its_original_and_in_no_copy_packet_or_entry() {
    let yard = Yard::new();
    let job = job(&yard);
    let unit = json!({"of": "unit"});
    let bytes = with_position();
    let sha256 = add(&yard, &job, &unit, "before", &bytes).unwrap();
    let mut after = bytes.clone();
    after.push(1);
    add(&yard, &job, &unit, "after", &after).unwrap();
    // The degrees and minutes as EXIF holds them, and its mark.
    let degrees: Vec<u8> = [41_u32, 1, 30, 1].map(u32::to_be_bytes).concat();
    let holds = |bytes: &[u8]| {
        let has = |what: &[u8]| bytes.windows(what.len()).any(|some| some == what);
        has(&degrees) || has(b"Exif\0") || has(b"41.5") || has(b"12.25")
    };
    assert!(holds(&bytes), "the check would find it");
    for form in ["pdf", "html", "xlsx", "csv", "json"] {
        yard.get(json!({"kind": "make_packet", "job": job, "form": form, "prices": true}));
    }
    yard.phone.photos().large(&sha256).unwrap();
    let originals = yard.phone.photos().root().join("originals");
    let all = files(yard.phone.folder());
    let with: Vec<&PathBuf> = all
        .iter()
        .filter(|path| holds(&fs::read(path).unwrap()))
        .collect();
    assert_eq!(with.len(), 2, "{with:?}");
    assert!(with.iter().all(|path| path.starts_with(&originals)), "{with:?}");
    let page = all
        .iter()
        .find(|path| path.extension().is_some_and(|end| end == "html"))
        .unwrap();
    let pictures = inside(&fs::read_to_string(page).unwrap());
    assert!(pictures.len() >= 2 && !pictures.iter().any(|picture| holds(picture)));
}
