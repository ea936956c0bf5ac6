//! Files that somebody made to break a program, built by hand.

use super::made::{photo, quarters};
use image::{ImageFormat, RgbImage};
use std::io::Cursor;

pub fn encoded(picture: &RgbImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

/// An animated WebP of two frames, by hand around the picture of a still one (WebP container, from memory).
pub fn animated(picture: &RgbImage) -> Vec<u8> {
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
pub fn looping() -> Vec<u8> {
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

/// A PNG of a few bytes that says it is 20 000 × 20 000 pixels.
pub fn bomb() -> Vec<u8> {
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
    [
        b"\x89PNG\r\n\x1a\n".to_vec(),
        chunk(b"IHDR", &[&side[..], &side, &[8, 2, 0, 0, 0]].concat()),
        chunk(b"IDAT", &[0x78, 0x9C, 3, 0]),
        chunk(b"IEND", b""),
    ]
    .concat()
}
