//! Files that somebody broke, or made to break a program: kept or refused with a sentence, within time and memory.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

#[path = "made/broken.rs"]
mod broken;
#[allow(dead_code)]
mod made;

use std::time::{Duration, Instant};

use bowseam_photos::{Error, Kind, both, look};
use broken::{animated, bomb, encoded, looping};
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
    let bomb = bomb();
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
