//! Files that somebody broke, or made to break a program: kept or refused with a sentence, within time and memory.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

#[allow(dead_code)]
mod made;

use std::io::Cursor;
use std::time::{Duration, Instant};

use bowseam_photos::{Error, Kind, both, look};
use image::{ImageFormat, RgbImage};
use jpeg_encoder::{ColorType, Encoder};
use made::{photo, quarters};

/// Numbers that look random and are the same in every run (xorshift, Marsaglia 2003).
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % u64::try_from(below).unwrap()).unwrap()
    }
}

fn progressive(picture: &RgbImage) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, 85);
    encoder.set_progressive(true);
    let [width, height] = [picture.width(), picture.height()].map(|side| u16::try_from(side).unwrap());
    encoder
        .encode(picture.as_raw(), width, height, ColorType::Rgb)
        .unwrap();
    bytes
}

fn encoded(picture: &RgbImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

/// An animated WebP of two frames, by hand around the picture of a still one (WebP container, from memory).
fn animated(picture: &RgbImage) -> Vec<u8> {
    let still = encoded(picture, ImageFormat::WebP);
    let chunk = |name: &[u8], data: &[u8]| {
        let length = u32::try_from(data.len()).unwrap().to_le_bytes();
        [name, &length, data, &vec![0; data.len() % 2]].concat()
    };
    let three = |number: u32| number.to_le_bytes()[..3].to_vec();
    let size = [three(picture.width() - 1), three(picture.height() - 1)].concat();
    let frame = [
        three(0),
        three(0),
        size.clone(),
        three(100),
        vec![0],
        still[12..].to_vec(),
    ]
    .concat();
    let body = [
        b"WEBP".to_vec(),
        chunk(b"VP8X", &[vec![2, 0, 0, 0], size].concat()),
        chunk(b"ANIM", &[0; 6]),
        chunk(b"ANMF", &frame),
        chunk(b"ANMF", &frame),
    ]
    .concat();
    [
        b"RIFF".to_vec(),
        u32::try_from(body.len()).unwrap().to_le_bytes().to_vec(),
        body,
    ]
    .concat()
}

/// A photo whose EXIF points back at itself: its first directory says that it is the next one too.
fn looping() -> Vec<u8> {
    let tiff = [
        &b"MM\0*\0\0\0\x08"[..],
        &[0, 1],
        // One field, the way to the EXIF directory: this directory.
        &[0x87, 0x69, 0, 4, 0, 0, 0, 1, 0, 0, 0, 8],
        &[0, 0, 0, 8],
    ]
    .concat();
    let exif = [&b"Exif\0\0"[..], &tiff].concat();
    let plain = photo(&quarters(64, 48), 1);
    let length = u16::try_from(exif.len() + 2).unwrap().to_be_bytes();
    [&[0xFF, 0xD8, 0xFF, 0xE1][..], &length, &exif, &plain[2..]].concat()
}

/// The most memory that this process had, MB, where the system says so.
fn most_memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    Some(line.split_whitespace().nth(1)?.parse::<u64>().ok()? / 1000)
}

#[test]
fn ten_thousand_broken_files_neither_panic_nor_take_long_nor_much_memory() {
    let picture = quarters(96, 64);
    let sound = [
        photo(&picture, 6),
        photo(&quarters(17, 33), 3),
        progressive(&picture),
        encoded(&picture, ImageFormat::Png),
        encoded(&picture, ImageFormat::WebP),
        animated(&picture),
        looping(),
    ];
    for bytes in &sound {
        both(bytes).unwrap_or_else(|error| panic!("{:?}: {error}", Kind::of(bytes)));
    }
    // More of them, or others, by hand: BOWSEAM_BROKEN_FILES, BOWSEAM_BROKEN_SEED.
    let number = |name: &str| std::env::var(name).ok().map(|text| text.parse::<u64>().unwrap());
    let many = usize::try_from(number("BOWSEAM_BROKEN_FILES").unwrap_or(10_000)).unwrap();
    let mut dice = Dice(number("BOWSEAM_BROKEN_SEED").unwrap_or(0x0000_B035_EA4D_2026));
    let (mut shown, mut slowest) = (0_u32, Duration::ZERO);
    for round in 0..many {
        let mut bytes = sound[round % sound.len()].clone();
        for _ in 0..=dice.roll(8) {
            // Half of the changes go into the headers, where the lengths are.
            let within = if dice.roll(2) == 0 {
                bytes.len().min(220)
            } else {
                bytes.len()
            };
            let at = dice.roll(within);
            match dice.roll(4) {
                0 => bytes[at] = 0xFF,
                1 => bytes[at] ^= 1 << dice.roll(8),
                2 => bytes[at] = u8::try_from(dice.roll(256)).unwrap(),
                _ => drop(bytes.splice(at..at, (0..dice.roll(6)).map(|n| n as u8))),
            }
        }
        if dice.roll(4) == 0 {
            bytes.truncate(dice.roll(bytes.len()));
        }
        let begun = Instant::now();
        match look(&bytes) {
            Ok(_) => match both(&bytes) {
                Ok(_) => shown += 1,
                Err(error) => assert_eq!(error.code(), "photo_cannot_show", "round {round}"),
            },
            Err(error) => assert!(
                matches!(error, Error::Empty | Error::NotAPhoto),
                "round {round}: {error}"
            ),
        }
        slowest = slowest.max(begun.elapsed());
    }
    assert!(
        shown as usize > many / 10,
        "most of them are to reach the decoders: {shown} did"
    );
    assert!(slowest < Duration::from_secs(20), "{slowest:?}");
    if let Some(memory) = most_memory() {
        eprintln!("{shown} of {many} could be shown, the slowest took {slowest:?}, most memory {memory} MB");
        assert!(memory < 300, "{memory} MB");
    }
}

#[test]
fn a_png_of_four_hundred_million_pixels_is_kept_and_not_decoded() {
    let chunk = |name: &[u8], data: &[u8]| {
        let body = [name, data].concat();
        let mut crc = !0_u32;
        for byte in &body {
            crc ^= u32::from(*byte);
            for _ in 0..8 {
                crc = if crc & 1 == 1 {
                    (crc >> 1) ^ 0xEDB8_8320
                } else {
                    crc >> 1
                };
            }
        }
        [
            &u32::try_from(data.len()).unwrap().to_be_bytes()[..],
            &body,
            &(!crc).to_be_bytes(),
        ]
        .concat()
    };
    let side = 20_000_u32.to_be_bytes();
    let bomb = [
        b"\x89PNG\r\n\x1a\n".to_vec(),
        chunk(b"IHDR", &[&side[..], &side, &[8, 2, 0, 0, 0]].concat()),
        chunk(b"IDAT", &[0x78, 0x9C, 3, 0]),
        chunk(b"IEND", b""),
    ]
    .concat();
    let begun = Instant::now();
    assert_eq!(look(&bomb).unwrap().facts.unwrap().width, 20_000);
    let said = both(&bomb).unwrap_err().to_string();
    assert!(
        said.contains("kept as it is") && said.contains("more pixels than a phone has memory for"),
        "{said}"
    );
    assert!(begun.elapsed() < Duration::from_secs(2));
}

#[test]
fn a_photo_whose_exif_points_back_at_itself_is_shown() {
    let kept = look(&looping()).unwrap();
    assert_eq!(kept.facts.unwrap().width, 64);
    both(&looping()).unwrap();
}

#[test]
fn of_an_animated_file_the_first_picture_is_shown() {
    let bytes = animated(&quarters(96, 64));
    let [large, small] = both(&bytes).unwrap();
    for copy in [large, small] {
        let copy = image::load_from_memory(&copy).unwrap().into_rgb8();
        assert_eq!(copy.dimensions(), (96, 64));
        assert!(made::near(copy.get_pixel(10, 10), made::RED));
    }
}

#[test]
fn a_progressive_photo_is_shown_like_any_other() {
    let picture = quarters(2400, 1800);
    let [large, small] = both(&progressive(&picture)).unwrap();
    for (copy, size) in [(large, (2000, 1500)), (small, (320, 240))] {
        let copy = image::load_from_memory(&copy).unwrap().into_rgb8();
        assert_eq!(copy.dimensions(), size);
        assert!(made::near(copy.get_pixel(10, 10), made::RED));
        assert!(made::near(copy.get_pixel(size.0 - 10, size.1 - 10), made::WHITE));
    }
}
