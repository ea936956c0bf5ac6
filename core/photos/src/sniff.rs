//! What a file is, from its own bytes. Names and types that a sender claims are not believed.
//! The JPEG frame is read here without decoding, so that keeping a photo stays fast on a phone.

use std::io::Cursor;

use image::{ImageFormat, ImageReader};
use serde::{Deserialize, Serialize};

/// Kind of a photo file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// JPEG, shown.
    Jpeg,
    /// PNG, shown.
    Png,
    /// WebP, shown.
    Webp,
    /// HEIC and its relatives (HEIF, AVIF): kept, not shown.
    Heic,
}

impl Kind {
    /// Media type for a web server.
    pub fn media_type(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::Webp => "image/webp",
            Self::Heic => "image/heic",
        }
    }

    /// By the first bytes; `None` if it is none of the kinds.
    pub fn of(bytes: &[u8]) -> Option<Self> {
        if bytes.starts_with(&[0xFF, 0xD8, 0xFF]) {
            Some(Self::Jpeg)
        } else if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            Some(Self::Png)
        } else if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
            Some(Self::Webp)
        } else if bytes.get(4..8) == Some(b"ftyp") && is_heif_brand(bytes.get(8..12)) {
            Some(Self::Heic)
        } else {
            None
        }
    }
}

fn is_heif_brand(brand: Option<&[u8]>) -> bool {
    const BRANDS: [&[u8]; 10] = [
        b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"avif", b"avis",
    ];
    brand.is_some_and(|b| BRANDS.contains(&b))
}

/// Size of the stored picture, before it is turned upright, and how it is coded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Frame {
    /// Width in pixels as stored.
    pub width: u32,
    /// Height in pixels as stored.
    pub height: u32,
    /// A JPEG that ends before its end marker.
    pub cut_off: bool,
    /// A JPEG that is not decoded row by row (progressive, or a scan for each colour): decoding needs all of its
    /// coefficients in memory.
    pub progressive: bool,
    /// Coefficients of a JPEG, all colours together; 0 for other kinds.
    pub coefficients: u64,
}

/// The frame of a file of this kind; `None` where there is no picture, or for HEIC.
pub fn frame(bytes: &[u8], kind: Kind) -> Option<Frame> {
    let format = match kind {
        Kind::Jpeg => return jpeg_frame(bytes),
        Kind::Png => ImageFormat::Png,
        Kind::Webp => ImageFormat::WebP,
        Kind::Heic => return None,
    };
    let reader = ImageReader::with_format(Cursor::new(bytes), format);
    let (width, height) = reader.into_dimensions().ok()?;
    Some(Frame {
        width,
        height,
        cut_off: false,
        progressive: false,
        coefficients: 0,
    })
}

/// Walks the segments (ITU-T T.81 annex B) up to the first scan.
fn jpeg_frame(bytes: &[u8]) -> Option<Frame> {
    let mut rest = bytes.get(2..)?;
    let mut found: Option<Frame> = None;
    let mut colours = 0;
    loop {
        let start = rest.iter().position(|b| *b == 0xFF)?;
        rest = rest.get(start..)?;
        let code = rest.iter().position(|b| *b != 0xFF)?;
        let marker = *rest.get(code)?;
        rest = rest.get(code..)?.get(1..)?;
        match marker {
            // Stuffed byte, restart, start and the obsolete one stand alone.
            0x00 | 0x01 | 0xD0..=0xD8 => {}
            0xD9 => return None,
            // In coded data 0xFF is always followed by 0 or a restart, so this is the real end.
            0xDA => {
                let cut_off = memchr::memmem::find(rest, &[0xFF, 0xD9]).is_none();
                let apart = rest.get(2).is_some_and(|in_scan| *in_scan < colours);
                return found.map(|frame| Frame {
                    cut_off,
                    progressive: frame.progressive || apart,
                    ..frame
                });
            }
            _ => {
                let [high, low, ..] = rest else { return None };
                let length = usize::from(u16::from_be_bytes([*high, *low]));
                // A segment cut off here still tells nothing wrong: the next turn ends the walk.
                let segment = rest.get(2..length)?;
                // C4, C8, CC are tables, not frames.
                if matches!(marker, 0xC0..=0xCF) && !matches!(marker, 0xC4 | 0xC8 | 0xCC) {
                    let [_, h1, h0, w1, w0, count, samplings @ ..] = segment else {
                        return None;
                    };
                    let width = u32::from(u16::from_be_bytes([*w1, *w0]));
                    let height = u32::from(u16::from_be_bytes([*h1, *h0]));
                    if width == 0 || height == 0 {
                        return None;
                    }
                    let progressive = !matches!(marker, 0xC0 | 0xC1);
                    colours = *count;
                    found = Some(Frame {
                        width,
                        height,
                        cut_off: true,
                        progressive,
                        coefficients: coefficients(width, height, samplings),
                    });
                }
                rest = rest.get(length..)?;
            }
        }
    }
}

/// Coefficients of all colours: each has its share of the pixels, by its sampling (three bytes a colour, the second
/// holds it).
fn coefficients(width: u32, height: u32, samplings: &[u8]) -> u64 {
    let (colours, _) = samplings.as_chunks::<3>();
    let samples: Vec<u64> = colours
        .iter()
        .map(|[_, sampling, _]| u64::from(sampling >> 4).saturating_mul(u64::from(sampling & 15)))
        .collect();
    let most = samples.iter().copied().max().unwrap_or(1).max(1);
    let all = samples.iter().fold(0_u64, |sum, one| sum.saturating_add(*one));
    u64::from(width)
        .saturating_mul(u64::from(height))
        .saturating_mul(all)
        .checked_div(most)
        .unwrap_or(u64::MAX)
}
