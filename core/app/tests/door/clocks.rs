//! What a photo says beside its picture: whose clock was wrong, where it was taken; and how a pair lies in the packet.

use crate::door::{self, PIN, TECHNICIAN, Yard, id};
use bowseam_figures::shop::Book;
use serde_json::{Value, json};
use std::io::Cursor;

pub fn job(yard: &Yard) -> String {
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    id(&yard.get(json!({"kind": "open_job", "unit": "4417"})))
}

pub fn add(yard: &Yard, job: &str, of: &Value, when: &str, bytes: &[u8]) -> Result<String, String> {
    let add = json!({"kind": "add_photo", "job": job, "of": of, "when": when, "name": "p.jpg"});
    let added = door::ask_at(&yard.phone, None, add, Some(bytes));
    added.map_err(|refusal| refusal.code)?;
    Ok(bowseam_photos::sha256(bytes))
}

fn photo(yard: &Yard, job: &str, sha256: &str) -> Value {
    yard.get(json!({"kind": "photo", "job": job, "sha256": sha256}))["photo"].clone()
}

/// Camera and phone agree, since the phone is the camera; the office does not.
#[test]
fn a_phone_whose_clock_is_not_the_offices_says_so_beside_its_photos() {
    let yard = Yard::new();
    let job = job(&yard);
    let unit = json!({"of": "unit"});
    let never = add(&yard, &job, &unit, "before", &door::picture(1)).unwrap();
    let compared = |ahead: i64| {
        yard.phone
            .store()
            .set_setting(
                "office_clock",
                &json!({"ahead": ahead, "at": "2026-03-01T12:00:00Z"}),
            )
            .unwrap()
    };
    compared(-200);
    let right = add(&yard, &job, &unit, "before", &door::picture(2)).unwrap();
    compared(7320);
    let ahead = add(&yard, &job, &unit, "before", &door::picture(3)).unwrap();
    compared(-2 * 86_400 - 60);
    let behind = add(&yard, &job, &unit, "before", &door::picture(4)).unwrap();
    for sha256 in [&never, &right] {
        assert_eq!(photo(&yard, &job, sha256)["doubt"], Value::Null);
    }
    // The office reads the same from the entry.
    yard.exchange();
    for (sha256, said) in [
        (&ahead, "was 2 h 2 min ahead of the office's"),
        (&behind, "was 2 days behind the office's"),
    ] {
        for seen in [
            photo(&yard, &job, sha256),
            yard.get_office(json!({"kind": "photo", "job": job, "sha256": sha256}))["photo"].clone(),
        ] {
            let doubt = seen["doubt"].as_str().unwrap();
            assert!(doubt.contains(said) && doubt.contains("2026-03-01"), "{doubt}");
        }
    }
    let html = yard.get(json!({"kind": "packet", "job": job, "form": "html"}));
    assert!(
        html["text"]
            .as_str()
            .unwrap()
            .contains("2 h 2 min ahead of the office&#39;s")
    );
}

/// A JPEG whose EXIF says 41° 30' S 12° 15' W (tags of CIPA DC-008, from memory).
pub fn with_position() -> Vec<u8> {
    let entry = |tag: u16, kind: u16, count: u32, value: [u8; 4]| {
        [
            &tag.to_be_bytes()[..],
            &kind.to_be_bytes(),
            &count.to_be_bytes(),
            &value,
        ]
        .concat()
    };
    let place = |at: u32| at.to_be_bytes();
    let mut block = b"MM\0\x2a\0\0\0\x08".to_vec();
    block.extend([&[0, 1][..], &entry(0x8825, 4, 1, place(26)), &[0; 4]].concat());
    let gps = [
        entry(1, 2, 2, *b"S\0\0\0"),
        entry(2, 5, 3, place(80)),
        entry(3, 2, 2, *b"W\0\0\0"),
        entry(4, 5, 3, place(104)),
    ];
    block.extend([&[0, 4][..], &gps.concat(), &[0; 4]].concat());
    assert_eq!(block.len(), 80);
    for part in [41_u32, 30, 0, 12, 15, 0] {
        block.extend([part.to_be_bytes(), 1_u32.to_be_bytes()].concat());
    }
    let exif = [&b"Exif\0\0"[..], &block].concat();
    let length = u16::try_from(exif.len() + 2).unwrap().to_be_bytes();
    let plain = door::picture(9);
    [&plain[..2], &[0xFF, 0xE1], &length, &exif, &plain[2..]].concat()
}

#[test]
fn a_photo_that_says_where_it_was_taken_is_kept_as_it_is_and_said_to_or_not_taken_if_the_shop_says_so() {
    let yard = Yard::new();
    let job = job(&yard);
    let unit = json!({"of": "unit"});
    let bytes = with_position();
    assert!(bowseam_photos::position(&bytes).is_some());
    let sha256 = add(&yard, &job, &unit, "before", &bytes).unwrap();
    let plain = add(&yard, &job, &unit, "before", &door::picture(1)).unwrap();
    assert_eq!(photo(&yard, &job, &sha256)["placed"], true);
    assert_eq!(photo(&yard, &job, &plain)["placed"], false);
    let folder = yard.phone.photos();
    assert_eq!(
        std::fs::read(folder.original(&sha256).unwrap()).unwrap(),
        bytes,
        "bit for bit"
    );
    for copy in [folder.large(&sha256), folder.small(&sha256)] {
        let copy = std::fs::read(copy.unwrap()).unwrap();
        assert!(!copy.windows(4).any(|four| four == b"Exif"), "no copy holds it");
    }
    // Neither what is stored beside it nor what is handed over says where.
    let entries = serde_json::to_string(&yard.phone.store().entries(job.parse().unwrap()).unwrap()).unwrap();
    let packet = yard.get(json!({"kind": "packet", "job": job, "form": "json"}))["text"].to_string();
    for text in [&entries, &packet] {
        assert!(text.contains("placed") && !text.contains("41.5") && !text.contains("12.25"));
    }
    let html = yard.get(json!({"kind": "packet", "job": job, "form": "html"}));
    assert!(
        html["text"]
            .as_str()
            .unwrap()
            .contains("1 original says in the file itself where it was taken")
    );

    let mut book = Book::default();
    book.planning.photo_positions.value = false;
    yard.book(&book);
    let mut other = bytes.clone();
    other.push(0);
    let before = folder.list().unwrap();
    assert_eq!(
        add(&yard, &job, &unit, "before", &other),
        Err("photo_position".to_owned())
    );
    assert_eq!(folder.list().unwrap(), before, "nothing of it is kept");
    add(&yard, &job, &unit, "before", &door::picture(2)).unwrap();
}

/// A trailer's side with spots that no two places share; `shift` to the right and down, `turn` in radians.
pub fn scene(shift: [f64; 2], turn: f64, number: u8) -> Vec<u8> {
    let spots: Vec<[f64; 4]> = (0_u32..260)
        .map(|n| {
            let part = |prime: u32| f64::from(n.wrapping_mul(prime).wrapping_add(n * n * 13) % 1009) / 1009.0;
            [
                part(379) * 1400.0 - 300.0,
                part(613) * 1100.0 - 250.0,
                12.0 + part(97) * 30.0,
                part(811),
            ]
        })
        .collect();
    let (sin, cos) = turn.sin_cos();
    let mut picture = image::RgbImage::from_pixel(800, 600, image::Rgb([150, 152, 155]));
    for (x, y, pixel) in picture.enumerate_pixels_mut() {
        let [u, v] = [f64::from(x) - 400.0 + shift[0], f64::from(y) - 300.0 + shift[1]];
        let [u, v] = [u * cos - v * sin + 400.0, u * sin + v * cos + 300.0];
        for [a, b, radius, shade] in &spots {
            if (u - a).hypot(v - b) < *radius {
                *pixel = image::Rgb([(60.0 + shade * 180.0) as u8, 90, (230.0 - shade * 160.0) as u8]);
            }
        }
    }
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Jpeg).unwrap();
    let mut bytes = bytes.into_inner();
    bytes.push(number);
    bytes
}

/// Two places before, then the same two after in the other order: each pair shows the same part of both.
#[test]
fn a_packet_lays_after_photos_over_their_before_photos_whatever_order_they_were_taken_in() {
    let yard = Yard::new();
    let job = job(&yard);
    let unit = json!({"of": "unit"});
    let near = |number| scene([30.0, 20.0], 0.05, number);
    let other = |number| scene([-380.0, 240.0], -0.04, number);
    let befores = [scene([0.0, 0.0], 0.0, 1), scene([-400.0, 220.0], 0.0, 2)];
    let befores = befores.map(|bytes| add(&yard, &job, &unit, "before", &bytes).unwrap());
    let afters = [other(3), near(4)].map(|bytes| add(&yard, &job, &unit, "after", &bytes).unwrap());
    let made = yard.get(json!({"kind": "make_packet", "job": job, "form": "html", "prices": true}));
    let text = std::fs::read_to_string(yard.phone.packets().join(made["name"].as_str().unwrap())).unwrap();
    assert_eq!(text.matches("laid over it by matching").count(), 2);
    assert_eq!(text.matches("class=\"part\"").count(), 4);
    // Whole photos by their hashes, the after photo that shows the same beside each.
    let place = |sha256: &String| text.find(sha256.as_str()).unwrap();
    let order = [&befores[0], &afters[1], &befores[1], &afters[0]].map(place);
    assert!(order.is_sorted(), "{order:?}");
    // The page to read does not wait for what is worked out; it is known now, and the page shows it too.
    let page = yard.get(json!({"kind": "packet", "job": job, "form": "html"}));
    assert_eq!(
        page["text"].as_str().unwrap().matches("class=\"part\"").count(),
        4
    );
    let pdf = yard.get(json!({"kind": "make_packet", "job": job, "form": "pdf", "prices": true}));
    assert!(pdf["bytes"].as_u64().unwrap() > 20_000);
    // Two points that somebody put come before matching.
    let taps = [
        [20_000, 20_000],
        [60_000, 20_000],
        [30_000, 30_000],
        [70_000, 30_000],
    ];
    yard.get(
        json!({"kind": "align_pair", "job": job, "before": befores[0], "after": afters[0], "taps": taps}),
    );
    let page = yard.get(json!({"kind": "packet", "job": job, "form": "html"}));
    assert!(
        page["text"]
            .as_str()
            .unwrap()
            .contains("by two points that were put in both")
    );
}

/// Sent back with a question, the same figures are asked again with the answer, and wait for the office anew.
#[test]
fn a_question_of_the_office_is_answered_and_the_same_figures_are_asked_again() {
    let yard = Yard::new();
    let job = job(&yard);
    let place = json!({"surface": "roof", "from": "3", "to": "40", "low": "10", "high": "60"});
    yard.get(json!({"kind": "add_mark", "job": job, "place": place, "damage": "tear", "part": "roof_sheet", "age": "new", "note": "", "found": null}));
    yard.get(json!({"kind": "choose_way", "job": job, "group": "roof", "way": "front_section"}));
    let ask = |note: &str| json!({"kind": "ask_go_ahead", "job": job, "found": null, "note": note});
    yard.get(ask(""));
    let figures = || yard.get(json!({"kind": "figures", "job": job}));
    let hash = figures()["hash"].clone();
    yard.exchange();
    yard.get_office(json!({"kind": "send_back", "job": job, "hash": hash, "note": "Is bow 3 sound?"}));
    yard.exchange();
    assert_eq!(figures()["go_ahead"]["state"], "sent_back");
    // Why is said once, where it is answered.
    assert_eq!(
        figures().to_string().matches("Is bow 3 sound?").count(),
        2,
        "note and words of the go-ahead"
    );
    assert_eq!(
        figures()["head"]["waits_for"],
        "figures put right; the office sent them back"
    );
    yard.get(ask("It is, tapped and looked at."));
    yard.exchange();
    let here = figures()["go_ahead"].clone();
    assert_eq!(
        (&here["state"], &here["note"]),
        (&json!("asked"), &json!("It is, tapped and looked at."))
    );
    let there = yard.get_office(json!({"kind": "office_job", "job": job}));
    assert_eq!(there["figures"]["go_ahead"], here);
    assert_eq!(there["head"]["stage"], "figured");
    let list = yard.get_office(json!({"kind": "office_jobs", "find": ""}));
    assert_eq!(list["rows"][0]["stage"], "figured", "{list}");
    yard.get_office(json!({"kind": "go_ahead", "job": job, "hash": hash, "amount": null, "note": ""}));
    yard.exchange();
    assert_eq!(figures()["go_ahead"]["state"], "go_ahead");
}
