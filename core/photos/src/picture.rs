//! Copies for a screen: decoded within limits, turned upright, shrunk, written as JPEG without any EXIF.
//! A JPEG is decoded at no less than twice the size that is wanted, and Lanczos shrinks it the rest of the way: what a
//! decoder's own halving does at the size that is wanted loses fine detail (SSIM .985 to Lanczos before coding, measured).
//! Where whole is near enough, or nothing else can read it (cut off, CMYK), `image` decodes it, else jpeg-decoder at a half,
//! a quarter or an eighth, which takes a 50 MP photo in a quarter of the memory.

use std::io::Cursor;
use std::panic::catch_unwind;

use fast_image_resize::images::Image;
use fast_image_resize::{PixelType, Resizer};
use image::metadata::Orientation;
use image::{ColorType, DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits, RgbImage};
use jpeg_decoder::{Decoder, PixelFormat};
use jpeg_encoder::{Encoder, QuantizationTableType, SamplingFactor};

use crate::error::{Error, Result};
use crate::sniff::{Frame, Kind};

/// Most pixels of a JPEG that is decoded row by row at a fraction of its size: what cameras sold as 200 MP give.
/// One of 50 MP takes about 30 MB so.
pub const MAX_PIXELS: u64 = 4 * 8192 * 6144;
/// Most memory one decoding may take, bytes: a picture that is decoded whole has up to 35 MP in colour.
pub const MAX_MEMORY: u64 = 105_000_000;

/// Most bytes that a picture decoded for a copy takes, where a smaller scale is still enough for the copy.
const ENOUGH: u64 = 62_000_000;
/// Steps of brightness and of colour, the same at all frequencies: SSIM counts fine grain like coarse. Beside the usual
/// tables at the same SSIM, 15 % fewer bytes (measured on grainy photos).
const STEPS: [u16; 2] = [5, 10];

const DAMAGED: &str = "it is damaged";
const TOO_MANY: &str = "it has more pixels than a phone has memory for";

/// Makes upright JPEGs whose longer sides are at most these many pixels, the largest first; smaller pictures are not
/// enlarged. The photo is decoded once: each copy is made from the one before it.
pub fn shrink<const N: usize>(
    bytes: &[u8],
    kind: Kind,
    frame: Frame,
    turn: u8,
    sizes: [u32; N],
) -> Result<[Vec<u8>; N]> {
    let longest = sizes.first().copied().unwrap_or_default();
    let pixels = u64::from(frame.width).saturating_mul(u64::from(frame.height));
    let by_rows = kind == Kind::Jpeg && !frame.progressive && !frame.cut_off;
    // Three bytes a pixel; coefficients are two bytes each, beside a scaled picture that is small.
    let fits_whole = pixels.saturating_mul(3) <= MAX_MEMORY;
    let fits_scaled = frame.coefficients.saturating_mul(2) <= MAX_MEMORY;
    if pixels > MAX_PIXELS || !(by_rows || fits_whole || fits_scaled) {
        return Err(Error::CannotShow(TOO_MANY));
    }
    // Decoders get hostile bytes; a panic inside one means a damaged photo, not a dead program.
    catch_unwind(|| {
        let part = part(frame, longest);
        let in_full = || fits_whole.then(|| whole(bytes, kind)).flatten();
        let by_scale = || {
            (by_rows || fits_scaled)
                .then(|| scaled(bytes, kind, frame, part))
                .flatten()
        };
        let decoded = if part == 1 {
            in_full().or_else(by_scale)?
        } else {
            by_scale().or_else(in_full)?
        };
        let mut picture = turned(resize(decoded, longest)?, turn);
        let mut copies = Vec::new();
        for size in sizes {
            picture = resize(picture, size)?;
            copies.push(encoded(&picture)?);
        }
        copies.try_into().ok()
    })
    .ok()
    .flatten()
    .ok_or(Error::CannotShow(DAMAGED))
}

/// The size that fits into a square of side `longest`, never enlarged, never nothing.
fn fit(width: u32, height: u32, longest: u32) -> (u32, u32) {
    let scale = (f64::from(longest) / f64::from(width.max(height).max(1))).min(1.0);
    let side = |full: u32| ((f64::from(full) * scale).round() as u32).clamp(1, longest.max(1));
    (side(width), side(height))
}

/// At which part of its size a photo is decoded: the smallest of whole, 1/2, 1/4 and 1/8 that is twice what is wanted,
/// smaller where that takes too much memory and is still enough.
fn part(frame: Frame, longest: u32) -> u32 {
    let side = frame.width.max(frame.height);
    let pixels = u64::from(frame.width).saturating_mul(u64::from(frame.height));
    // Each with the pixels that the next larger one would have.
    let enough = |(part, area): &(u32, u64)| {
        let left = side.div_ceil(*part);
        let larger = pixels.div_ceil(*area).saturating_mul(3);
        left >= longest.saturating_mul(2) || (left >= longest && larger > ENOUGH)
    };
    let parts = [(8, 16), (4, 4), (2, 1)].into_iter().find(enough);
    parts.map_or(1, |(part, _)| part)
}

/// A JPEG decoded at this part of its size: 1, 2, 4 or 8.
fn scaled(bytes: &[u8], kind: Kind, frame: Frame, part: u32) -> Option<RgbImage> {
    if kind != Kind::Jpeg || frame.cut_off {
        return None;
    }
    let (width, height) = (frame.width.div_ceil(part), frame.height.div_ceil(part));
    let mut decoder = Decoder::new(Cursor::new(bytes));
    decoder.set_max_decoding_buffer_size(usize::try_from(MAX_MEMORY).ok()?);
    let (width, height) = decoder
        .scale(u16::try_from(width).ok()?, u16::try_from(height).ok()?)
        .ok()?;
    let (width, height) = (u32::from(width), u32::from(height));
    let pixels = decoder.decode().ok()?;
    match decoder.info()?.pixel_format {
        PixelFormat::RGB24 => RgbImage::from_raw(width, height, pixels),
        PixelFormat::L8 => {
            let colour = pixels.iter().flat_map(|grey| [*grey; 3]).collect();
            RgbImage::from_raw(width, height, colour)
        }
        _ => None,
    }
}

/// Any kind decoded at full size, within limits; transparent parts become white.
fn whole(bytes: &[u8], kind: Kind) -> Option<RgbImage> {
    let format = match kind {
        Kind::Jpeg => ImageFormat::Jpeg,
        Kind::Png => ImageFormat::Png,
        Kind::Webp => ImageFormat::WebP,
        Kind::Heic => return None,
    };
    let mut limits = Limits::default();
    limits.max_alloc = Some(MAX_MEMORY);
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    reader.limits(limits);
    let decoder = reader.into_decoder().ok()?;
    // What is not plain colour is turned into it beside what was decoded.
    let (width, height) = decoder.dimensions();
    let plain = u64::from(width)
        .saturating_mul(u64::from(height))
        .saturating_mul(3);
    let beside = if decoder.color_type() == ColorType::Rgb8 {
        0
    } else {
        plain
    };
    if decoder.total_bytes().saturating_add(beside) > MAX_MEMORY {
        return None;
    }
    let picture = DynamicImage::from_decoder(decoder).ok()?;
    if !picture.color().has_alpha() {
        return Some(picture.into_rgb8());
    }
    let clear = picture.into_rgba8();
    let mut white = RgbImage::new(clear.width(), clear.height());
    for (from, to) in clear.pixels().zip(white.pixels_mut()) {
        let [r, g, b, a] = from.0.map(u32::from);
        let over = |c: u32| {
            let sum = c
                .saturating_mul(a)
                .saturating_add(255_u32.saturating_sub(a).saturating_mul(255));
            u8::try_from(sum / 255).unwrap_or(u8::MAX)
        };
        to.0 = [over(r), over(g), over(b)];
    }
    Some(white)
}

fn resize(picture: RgbImage, longest: u32) -> Option<RgbImage> {
    let (width, height) = fit(picture.width(), picture.height(), longest);
    if (width, height) == picture.dimensions() {
        return Some(picture);
    }
    let (from_width, from_height) = picture.dimensions();
    let from = Image::from_vec_u8(from_width, from_height, picture.into_raw(), PixelType::U8x3).ok()?;
    let mut to = Image::new(width, height, PixelType::U8x3);
    Resizer::new().resize(&from, &mut to, None).ok()?;
    RgbImage::from_raw(width, height, to.into_vec())
}

fn turned(picture: RgbImage, turn: u8) -> RgbImage {
    let mut picture = DynamicImage::ImageRgb8(picture);
    picture.apply_orientation(Orientation::from_exif(turn).unwrap_or(Orientation::NoTransforms));
    picture.into_rgb8()
}

fn encoded(picture: &RgbImage) -> Option<Vec<u8>> {
    let (width, height) = (picture.width(), picture.height());
    let mut bytes = Vec::new();
    // 1.6 to 3.5 times as fast as the encoder of `image` (measured on 3 MP, x86), which took most of the time. Its own
    // Huffman tables would save a tenth, but plain patches of strong colour came out wrong with them (0.6.1).
    let mut encoder = Encoder::new(&mut bytes, 85);
    let [bright, colour] = STEPS.map(|step| QuantizationTableType::Custom(Box::new([step; 64])));
    encoder.set_quantization_tables(bright, colour);
    encoder.set_sampling_factor(SamplingFactor::F_2_2);
    encoder
        .encode(
            picture.as_raw(),
            u16::try_from(width).ok()?,
            u16::try_from(height).ok()?,
            jpeg_encoder::ColorType::Rgb,
        )
        .ok()?;
    Some(bytes)
}
