//! The folder of photos from outside: what is kept, what is refused, what is shown.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod made;

use std::fs;
use std::io::Cursor;

use bowseam_photos::{Error, Folder, Kind, LARGE, MAX_BYTES, SMALL, look, sha256};
use image::{ImageFormat, RgbImage, Rgba, RgbaImage};
use made::{BLUE, GREEN, RED, WHITE, jpeg, near, photo, quarters};
use proptest::prelude::*;

fn folder() -> (tempfile::TempDir, Folder) {
    let room = tempfile::tempdir().unwrap();
    let folder = Folder::open(room.path().join("photos")).unwrap();
    (room, folder)
}

fn encoded(picture: &RgbaImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

fn open(path: &std::path::Path) -> RgbImage {
    image::open(path).unwrap().into_rgb8()
}

#[test]
fn the_hash_of_abc_is_the_published_one() {
    // FIPS 180-4, example of SHA-256.
    assert_eq!(
        sha256(b"abc"),
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
}

#[test]
fn all_eight_orientations_are_shown_upright_and_the_original_is_not_touched() {
    let (_room, folder) = folder();
    for orientation in 1..=8 {
        // One is larger than a large copy and is shrunk; the others are not enlarged.
        let (width, height) = if orientation == 6 {
            (2080, 1560)
        } else {
            (640, 480)
        };
        let upright = quarters(width, height);
        let bytes = photo(&upright, orientation);
        let kept = folder.keep(&bytes).unwrap();
        let facts = kept.facts.unwrap();
        assert_eq!(
            (facts.width, facts.height, facts.orientation),
            (width, height, orientation)
        );
        let large = open(&folder.large(&kept.sha256).unwrap());
        // Once from the large copy and once straight from the original.
        let from_large = open(&folder.small(&kept.sha256).unwrap());
        folder.remove_copies().unwrap();
        let small = open(&folder.small(&kept.sha256).unwrap());
        assert_eq!(
            (large.dimensions(), small.dimensions()),
            ((width.min(LARGE), height.min(1500)), (SMALL, 240))
        );
        for copy in [large, from_large, small] {
            let (right, bottom) = (copy.width() - 9, copy.height() - 9);
            for (x, y, painted) in [
                (8, 8, RED),
                (right, 8, GREEN),
                (8, bottom, BLUE),
                (right, bottom, WHITE),
            ] {
                assert!(
                    near(copy.get_pixel(x, y), painted),
                    "orientation {orientation} at {x}, {y}"
                );
            }
        }
        assert_eq!(fs::read(folder.original(&kept.sha256).unwrap()).unwrap(), bytes);
        folder.verify(&kept.sha256).unwrap();
    }
    assert_eq!(folder.list().unwrap().len(), 8);
}

#[test]
fn facts_say_when_and_the_position_does_not_travel_with_them() {
    let kept = look(&photo(&quarters(64, 48), 6)).unwrap();
    let facts = kept.facts.clone().unwrap();
    assert_eq!(facts.taken.unwrap().to_string(), "2026-03-14 15:09:26");
    assert_eq!(facts.offset_minutes, Some(-300));
    let position = facts.position.unwrap();
    assert_eq!((position.latitude, position.longitude), (-41.5, -12.25));
    let written = serde_json::to_string(&kept).unwrap();
    assert!(
        !written.contains("41.5") && written.contains("width"),
        "{written}"
    );
}

#[test]
fn the_same_photo_twice_is_one_file() {
    let (_room, folder) = folder();
    let bytes = jpeg(&quarters(64, 48));
    assert_eq!(folder.keep(&bytes).unwrap(), folder.keep(&bytes).unwrap());
    assert_eq!(folder.list().unwrap(), [sha256(&bytes)]);
    assert!(folder.has(&sha256(&bytes)) && !folder.has(&sha256(b"abc")) && !folder.has("../x"));
}

#[test]
fn png_and_webp_are_shown_with_clear_parts_white() {
    let (_room, folder) = folder();
    let picture = RgbaImage::from_fn(80, 60, |x, _| {
        if x < 40 {
            Rgba([30, 30, 200, 255])
        } else {
            Rgba([0, 0, 0, 0])
        }
    });
    for (format, kind) in [(ImageFormat::Png, Kind::Png), (ImageFormat::WebP, Kind::Webp)] {
        let kept = folder.keep(&encoded(&picture, format)).unwrap();
        assert_eq!((kept.kind, kept.note), (kind, None));
        let copy = open(&folder.large(&kept.sha256).unwrap());
        assert_eq!(copy.dimensions(), (80, 60));
        assert!(near(copy.get_pixel(10, 30), BLUE) && near(copy.get_pixel(70, 30), [255; 3]));
    }
}

#[test]
fn a_heic_is_kept_and_said_not_to_be_shown() {
    let (_room, folder) = folder();
    let bytes = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic and what a phone writes after it";
    let kept = folder.keep(bytes).unwrap();
    assert_eq!((kept.kind, kept.facts), (Kind::Heic, None));
    assert!(kept.note.unwrap().contains("cannot be shown here"));
    assert_eq!(
        folder.large(&kept.sha256).unwrap_err().code(),
        "photo_cannot_show"
    );
    assert_eq!(fs::read(folder.original(&kept.sha256).unwrap()).unwrap(), bytes);
    // A phone decodes what this program cannot: its picture is shown, the original stays.
    let decoded = encoded(
        &RgbaImage::from_pixel(400, 300, Rgba([9, 90, 200, 255])),
        ImageFormat::Png,
    );
    folder.lay_copies(&kept.sha256, &decoded).unwrap();
    assert_eq!(
        open(&folder.small(&kept.sha256).unwrap()).dimensions(),
        (320, 240)
    );
    assert_eq!(
        open(&folder.large(&kept.sha256).unwrap()).dimensions(),
        (400, 300)
    );
    assert_eq!(fs::read(folder.original(&kept.sha256).unwrap()).unwrap(), bytes);
    let nobody = "0".repeat(64);
    assert_eq!(
        folder.lay_copies(&nobody, &decoded).unwrap_err().code(),
        "photo_missing"
    );
}

#[test]
fn what_is_no_photo_is_refused_with_a_sentence_that_says_what_is_accepted() {
    let (_room, folder) = folder();
    let huge = vec![0xFF; usize::try_from(MAX_BYTES).unwrap() + 1];
    let header = &photo(&quarters(64, 48), 1)[..200];
    let cases: [(&[u8], &str); 6] = [
        (b"", "photo_empty"),
        (b"unit,vin\n4417,none\n", "photo_none"),
        (b"%PDF-1.7 a packet", "photo_none"),
        (&[0xFF, 0xD8, 0xFF], "photo_none"),
        (header, "photo_none"),
        (&huge, "photo_too_large"),
    ];
    for (bytes, code) in cases {
        let refused = folder.keep(bytes).unwrap_err();
        assert_eq!(refused.code(), code);
        assert!(
            refused.to_string().contains("JPEG, PNG, WebP or HEIC"),
            "{refused}"
        );
    }
    assert!(folder.list().unwrap().is_empty());
}

#[test]
fn a_cut_off_jpeg_is_kept_and_its_upper_part_shown() {
    let (_room, folder) = folder();
    // Noise gives every row its share of the file.
    let mut picture = quarters(800, 600);
    for (at, pixel) in picture.pixels_mut().enumerate() {
        pixel.0[0] ^= u8::try_from(at * 2_654_435_761 % 16).unwrap();
    }
    let bytes = photo(&picture, 1);
    let kept = folder.keep(&bytes[..bytes.len() / 2]).unwrap();
    assert!(kept.note.unwrap().contains("cut off"));
    let copy = open(&folder.large(&kept.sha256).unwrap());
    assert_eq!(copy.dimensions(), (800, 600));
    for (x, y) in [(100, 100), (700, 100)] {
        assert!(near(copy.get_pixel(x, y), picture.get_pixel(x, y).0));
    }
    assert_eq!(look(&bytes).unwrap().note, None);
}

#[test]
fn a_small_file_that_claims_a_huge_picture_is_kept_but_not_decoded() {
    let (_room, folder) = folder();
    let crc = |bytes: &[u8]| {
        !bytes.iter().fold(u32::MAX, |crc, byte| {
            (0..8).fold(crc ^ u32::from(*byte), |c, _| {
                if c & 1 == 1 {
                    (c >> 1) ^ 0xEDB8_8320
                } else {
                    c >> 1
                }
            })
        })
    };
    let chunk = |name: &[u8], data: &[u8]| {
        let body = [name, data].concat();
        [
            &u32::try_from(data.len()).unwrap().to_be_bytes()[..],
            &body,
            &crc(&body).to_be_bytes(),
        ]
        .concat()
    };
    let side = 60_000_u32.to_be_bytes();
    let head = [&side[..], &side, &[8, 2, 0, 0, 0]].concat();
    let bomb = [
        b"\x89PNG\r\n\x1a\n".to_vec(),
        chunk(b"IHDR", &head),
        chunk(b"IDAT", &[0x78, 0x9C, 3, 0]),
        chunk(b"IEND", b""),
    ]
    .concat();
    let kept = folder.keep(&bomb).unwrap();
    assert_eq!(kept.facts.unwrap().width, 60_000);
    let refused = folder.small(&kept.sha256).unwrap_err();
    assert!(
        refused
            .to_string()
            .contains("more pixels than a phone has memory for"),
        "{refused}"
    );
    // The same claim in a JPEG: width and height of the frame overwritten.
    let mut bytes = jpeg(&quarters(64, 48));
    let frame = bytes.windows(2).position(|w| w == [0xFF, 0xC0]).unwrap();
    bytes[frame + 5..frame + 9].fill(0xEA);
    let kept = folder.keep(&bytes).unwrap();
    assert_eq!(
        folder.large(&kept.sha256).unwrap_err().code(),
        "photo_cannot_show"
    );
}

#[test]
fn a_photo_that_went_bad_on_the_disk_is_noticed_and_made_good() {
    let (_room, folder) = folder();
    let bytes = jpeg(&quarters(64, 48));
    let sha = folder.keep(&bytes).unwrap().sha256;
    fs::write(folder.original(&sha).unwrap(), &bytes[1..]).unwrap();
    assert!(
        folder.verified(&sha).is_none(),
        "what was written since counts as not hashed"
    );
    assert!(matches!(folder.verify(&sha), Err(Error::Damaged)));
    assert!(matches!(folder.verified(&sha), Some(Err(Error::Damaged))));
    folder.keep(&bytes).unwrap();
    folder.verify(&sha).unwrap();
}

#[test]
fn a_freed_photo_can_still_be_known_by_its_small_copy() {
    let (_room, folder) = folder();
    let sha = folder.keep(&jpeg(&quarters(640, 480))).unwrap().sha256;
    folder.large(&sha).unwrap();
    assert!(folder.free_original(&sha).unwrap() > 0);
    assert!(!folder.has(&sha));
    assert_eq!(folder.remove_copies().unwrap(), 0);
    assert!(folder.small(&sha).unwrap().is_file());
    assert!(matches!(folder.large(&sha), Err(Error::Missing)));
}

#[test]
fn names_that_are_no_hash_never_become_paths() {
    let (_room, folder) = folder();
    for name in [
        "",
        "../../etc/passwd",
        &"A".repeat(64),
        &"é".repeat(32),
        &"0".repeat(65),
    ] {
        assert!(matches!(folder.original(name), Err(Error::BadName)), "{name}");
        assert!(matches!(folder.small(name), Err(Error::BadName)), "{name}");
        assert!(matches!(folder.begin(name, 1), Err(Error::BadName)), "{name}");
    }
}

#[test]
fn trouble_with_the_disk_is_told_plainly_with_its_cause_apart() {
    use std::error::Error as _;
    use std::io::{Error as Cause, ErrorKind};
    let room = tempfile::tempdir().unwrap();
    fs::write(room.path().join("file"), "in the way").unwrap();
    assert_eq!(
        Folder::open(room.path().join("file/photos")).unwrap_err().code(),
        "photo_disk"
    );
    for (kind, code, word) in [
        (ErrorKind::StorageFull, "photo_disk_full", "room"),
        (ErrorKind::ReadOnlyFilesystem, "photo_read_only", "written"),
        (ErrorKind::PermissionDenied, "photo_read_only", "written"),
    ] {
        let error = Error::from(Cause::from(kind));
        assert_eq!(error.code(), code);
        assert!(error.to_string().contains(word) && error.source().is_some());
    }
}

/// Fills a real small disk; run by hand where mounting is possible:
/// `mount -t tmpfs -o size=200k none DIR; BOWSEAM_SMALL_DISK=DIR cargo nextest run -p bowseam-photos`.
#[test]
fn a_full_disk_loses_nothing_that_was_kept() {
    let Ok(disk) = std::env::var("BOWSEAM_SMALL_DISK") else {
        eprintln!("not run: BOWSEAM_SMALL_DISK names no small disk");
        return;
    };
    let folder = Folder::open(std::path::Path::new(&disk).join("photos")).unwrap();
    let first = folder.keep(&jpeg(&quarters(64, 48))).unwrap();
    let mut large = jpeg(&quarters(320, 240));
    large.resize(1 << 20, 0);
    assert_eq!(folder.keep(&large).unwrap_err().code(), "photo_disk_full");
    let sha = sha256(&large);
    folder.begin(&sha, 1 << 20).unwrap();
    assert_eq!(
        folder.append(&sha, 0, &large, None).unwrap_err().code(),
        "photo_disk_full"
    );
    assert_eq!(folder.offset(&sha).unwrap(), 0);
    folder.verify(&first.sha256).unwrap();
    assert_eq!(folder.list().unwrap(), [first.sha256]);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 160, ..ProptestConfig::default() })]
    #[test]
    fn changed_and_cut_files_never_panic(
        which in 0_usize..4,
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>(), any::<bool>()), 1..12),
        cut in prop::option::weighted(0.3, any::<prop::sample::Index>()),
    ) {
        thread_local! {
            static SOUND: [Vec<u8>; 4] = {
                let picture = quarters(96, 64);
                let clear = image::DynamicImage::ImageRgb8(picture.clone()).into_rgba8();
                [photo(&picture, 6), photo(&quarters(17, 33), 3), encoded(&clear, ImageFormat::Png), encoded(&clear, ImageFormat::WebP)]
            };
        }
        let mut bytes = SOUND.with(|sound| sound[which].clone());
        for (at, value, early) in changes {
            // Half of the changes go into the headers, where the lengths are.
            let within = if early { bytes.len().min(200) } else { bytes.len() };
            bytes[at.index(within)] = value;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        let (_room, folder) = folder();
        match folder.keep(&bytes) {
            Ok(kept) => {
                for copy in [folder.small(&kept.sha256), folder.large(&kept.sha256)] {
                    match copy {
                        Ok(path) => { prop_assert!(image::open(path).is_ok()); }
                        Err(error) => prop_assert_eq!(error.code(), "photo_cannot_show"),
                    }
                }
                prop_assert_eq!(fs::read(folder.original(&kept.sha256).unwrap()).unwrap(), bytes);
            }
            Err(error) => prop_assert!(matches!(error, Error::Empty | Error::NotAPhoto)),
        }
    }
}
