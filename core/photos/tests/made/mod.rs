//! Photos made for the tests: four coloured quarters, stored as any EXIF orientation, with a hand-built EXIF block.

use image::codecs::jpeg::JpegEncoder;
use image::{Rgb, RgbImage};

pub const RED: [u8; 3] = [200, 30, 30];
pub const GREEN: [u8; 3] = [30, 200, 30];
pub const BLUE: [u8; 3] = [30, 30, 200];
pub const WHITE: [u8; 3] = [240, 240, 240];

/// Upright: red and green above, blue and white below.
pub fn quarters(width: u32, height: u32) -> RgbImage {
    RgbImage::from_fn(width, height, |x, y| {
        Rgb(match (x < width / 2, y < height / 2) {
            (true, true) => RED,
            (false, true) => GREEN,
            (true, false) => BLUE,
            (false, false) => WHITE,
        })
    })
}

/// How a camera stores the upright picture under an orientation: the tag says at which visual side the
/// stored row 0 and column 0 lie (CIPA DC-008, from memory). Written without the library under test.
pub fn stored(upright: &RgbImage, orientation: u8) -> RgbImage {
    let (w, h) = upright.dimensions();
    let (sw, sh) = if orientation >= 5 { (h, w) } else { (w, h) };
    RgbImage::from_fn(sw, sh, |c, r| {
        let (x, y) = match orientation {
            2 => (w - 1 - c, r),         // row 0 top, column 0 right
            3 => (w - 1 - c, h - 1 - r), // bottom, right
            4 => (c, h - 1 - r),         // bottom, left
            5 => (r, c),                 // left, top
            6 => (w - 1 - r, c),         // right, top
            7 => (w - 1 - r, h - 1 - c), // right, bottom
            8 => (r, h - 1 - c),         // left, bottom
            _ => (c, r),                 // top, left
        };
        *upright.get_pixel(x, y)
    })
}

/// A JPEG without EXIF.
pub fn jpeg(picture: &RgbImage) -> Vec<u8> {
    let mut bytes = Vec::new();
    picture
        .write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, 90))
        .unwrap();
    bytes
}

/// A JPEG with EXIF: orientation, time taken with offset, 41° 30' S 12° 15' W.
pub fn photo(upright: &RgbImage, orientation: u8) -> Vec<u8> {
    let plain = jpeg(&stored(upright, orientation));
    let exif = exif(orientation);
    let mut bytes = plain[..2].to_vec();
    bytes.extend([0xFF, 0xE1]);
    bytes.extend(u16::try_from(exif.len() + 2).unwrap().to_be_bytes());
    bytes.extend(exif);
    bytes.extend(&plain[2..]);
    bytes
}

fn exif(orientation: u8) -> Vec<u8> {
    let entry = |tag: u16, kind: u16, count: u32, value: u32| {
        let mut e = tag.to_be_bytes().to_vec();
        e.extend(kind.to_be_bytes());
        e.extend(count.to_be_bytes());
        e.extend(value.to_be_bytes());
        e
    };
    let folder = |entries: &[Vec<u8>]| {
        let mut f = u16::try_from(entries.len()).unwrap().to_be_bytes().to_vec();
        f.extend(entries.concat());
        f.extend([0; 4]);
        f
    };
    // Places in the block: IFD0 at 8, EXIF IFD at 50, GPS IFD at 80, values from 134.
    let mut block = b"MM\0\x2a\0\0\0\x08".to_vec();
    block.extend(folder(&[
        entry(0x0112, 3, 1, u32::from(orientation) << 16),
        entry(0x8769, 4, 1, 50),
        entry(0x8825, 4, 1, 80),
    ]));
    block.extend(folder(&[entry(0x9003, 2, 20, 134), entry(0x9011, 2, 7, 154)]));
    block.extend(folder(&[
        entry(1, 2, 2, u32::from_be_bytes(*b"S\0\0\0")),
        entry(2, 5, 3, 162),
        entry(3, 2, 2, u32::from_be_bytes(*b"W\0\0\0")),
        entry(4, 5, 3, 186),
    ]));
    assert_eq!(block.len(), 134);
    block.extend(b"2026:03:14 15:09:26\0-05:00\0\0");
    for part in [41_u32, 30, 0, 12, 15, 0] {
        block.extend(part.to_be_bytes());
        block.extend(1_u32.to_be_bytes());
    }
    [b"Exif\0\0".to_vec(), block].concat()
}

/// Whether a JPEG's colour is about the one painted.
pub fn near(found: &Rgb<u8>, painted: [u8; 3]) -> bool {
    found.0.iter().zip(painted).all(|(a, b)| a.abs_diff(b) < 30)
}
