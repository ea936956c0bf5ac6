//! Copies for a screen: decoded within limits, turned upright, shrunk, written as JPEG without any EXIF.
//! A JPEG is decoded at no less than twice the size that is wanted, and Lanczos shrinks it the rest of the way: what a
//! decoder's own halving does at the size that is wanted loses fine detail (SSIM .985 to Lanczos before coding, measured).
//! Where whole is near enough, or nothing else can read it (cut off, CMYK), zune-jpeg (or `image`) decodes it, else
//! jpeg-decoder at a half, a quarter or an eighth, which takes a 50 MP photo in a quarter of the memory.
//! A JPEG holds brightness and two colours; as these it is shrunk, turned and written again, which saves turning every
//! pixel into red, green and blue and back, and what that rounds off.

use std::io::Cursor;
use std::mem::{replace, take};
use std::panic::{AssertUnwindSafe, catch_unwind};

use fast_image_resize::Resizer;
use fast_image_resize::images::{TypedImage, TypedImageRef};
use fast_image_resize::pixels::U8x3;
use image::metadata::Orientation;
use image::{ColorType, DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits, RgbImage};
use jpeg_decoder::{Decoder, PixelFormat};
use jpeg_encoder::{Encoder, ImageBuffer, JpegColorType, QuantizationTableType, SamplingFactor};
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

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

/// Pixels of three bytes.
struct Picture {
    pixels: RgbImage,
    /// They are brightness and two colours (JFIF), not red, green and blue.
    ycc: bool,
}

impl From<RgbImage> for Picture {
    fn from(pixels: RgbImage) -> Self {
        Self { pixels, ycc: false }
    }
}

/// Most bytes of a kept buffer: what a photo of 13 MP takes. Larger ones are let go.
const KEPT: usize = 40_000_000;

/// Makes copies, photo after photo, in the same memory: getting it anew from the system for each took a seventh of the
/// time (measured). It holds up to 60 MB of it, so it is let go when no photo waits.
#[derive(Default)]
pub struct Copier {
    whole: Vec<u8>,
    shrunk: Vec<u8>,
    resizer: Resizer,
}

impl Copier {
    /// The large and the small copy of a photo's bytes, upright JPEGs without EXIF, made with one decoding.
    ///
    /// # Errors
    /// `CannotShow`; `Damaged` if there is no picture in it.
    pub fn both(&mut self, bytes: &[u8]) -> Result<[Vec<u8>; 2]> {
        crate::shrunk(self, bytes, [crate::LARGE, crate::SMALL])
    }

    /// Keeps little enough that another photo finds its memory.
    fn let_go(&mut self) {
        for buffer in [&mut self.whole, &mut self.shrunk] {
            if buffer.capacity() > KEPT {
                *buffer = Vec::new();
            }
        }
        if self.resizer.size_of_internal_buffers() > KEPT {
            self.resizer.reset_internal_buffers();
        }
    }
}

/// Makes upright JPEGs whose longer sides are at most these many pixels, the largest first; smaller pictures are not
/// enlarged. The photo is decoded once: each copy is made from the one before it.
pub fn shrink<const N: usize>(
    copier: &mut Copier,
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
    let made = catch_unwind(AssertUnwindSafe(|| {
        let part = part(frame, longest);
        if part == 1
            && fits_whole
            && kind == Kind::Jpeg
            && let Some(picture) = as_coded(copier, bytes, longest)
        {
            return copies(copier, picture, turn, sizes);
        }
        // Other ways need the memory for themselves.
        *copier = Copier::default();
        let in_full = || {
            fits_whole
                .then(|| whole(bytes, kind).map(Picture::from))
                .flatten()
        };
        let by_scale = || {
            let scaled = || scaled(bytes, kind, frame, part).map(Picture::from);
            (by_rows || fits_scaled).then(scaled).flatten()
        };
        let decoded = if part == 1 {
            in_full().or_else(by_scale)?
        } else {
            by_scale().or_else(in_full)?
        };
        copies(copier, decoded, turn, sizes)
    }));
    copier.let_go();
    made.ok().flatten().ok_or(Error::CannotShow(DAMAGED))
}

/// The copies of a decoded picture, the largest first; each is made from the one before it.
fn copies<const N: usize>(
    copier: &mut Copier,
    decoded: Picture,
    turn: u8,
    sizes: [u32; N],
) -> Option<[Vec<u8>; N]> {
    let longest = sizes.first().copied().unwrap_or_default();
    let mut picture = decoded;
    if let Some(large) = resize(&mut copier.resizer, &picture, longest)? {
        picture = large;
    }
    picture = turned(picture, turn);
    let mut copies = Vec::new();
    for size in sizes {
        if let Some(smaller) = resize(&mut copier.resizer, &picture, size)? {
            copier.shrunk = replace(&mut picture, smaller).pixels.into_raw();
        }
        copies.push(encoded(&picture)?);
    }
    copies.try_into().ok()
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

/// A JPEG decoded at full size as what it holds, brightness and two colours, and shrunk so. Nothing where it holds
/// something else.
fn as_coded(copier: &mut Copier, bytes: &[u8], longest: u32) -> Option<Picture> {
    let options = DecoderOptions::default()
        .set_strict_mode(false)
        .set_max_width(usize::MAX)
        .set_max_height(usize::MAX)
        .jpeg_set_out_colorspace(ColorSpace::YCbCr);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    decoder.decode_headers().ok()?;
    let (width, height) = decoder.dimensions()?;
    let bytes = width.checked_mul(height)?.checked_mul(3)?;
    let too_many = u64::try_from(bytes).ok()? > MAX_MEMORY;
    if too_many || decoder.input_colorspace()? != ColorSpace::YCbCr {
        return None;
    }
    let (width, height) = (u32::try_from(width).ok()?, u32::try_from(height).ok()?);
    let mut whole = room(&mut copier.whole, bytes);
    decoder.decode_into(whole.get_mut(..bytes)?).ok()?;
    let (to_width, to_height) = fit(width, height, longest);
    let pixels = if (to_width, to_height) == (width, height) {
        whole
    } else {
        let size = usize::try_from(
            u64::from(to_width)
                .saturating_mul(u64::from(to_height))
                .saturating_mul(3),
        )
        .ok()?;
        let mut shrunk = room(&mut copier.shrunk, size);
        let from = (whole.get(..bytes)?, width, height);
        let to = (shrunk.get_mut(..size)?, to_width, to_height);
        resample(&mut copier.resizer, from, to)?;
        copier.whole = whole;
        shrunk
    };
    let pixels = RgbImage::from_raw(to_width, to_height, pixels)?;
    Some(Picture { pixels, ycc: true })
}

/// Bytes of three channels a pixel made smaller. By the type of the pixels: the other way to ask brings the code for all of
/// the library's pixels into the program, some 2 MB.
fn resample(resizer: &mut Resizer, from: (&[u8], u32, u32), to: (&mut [u8], u32, u32)) -> Option<()> {
    let from = TypedImageRef::<U8x3>::from_buffer(from.1, from.2, from.0).ok()?;
    let mut to = TypedImage::<U8x3>::from_buffer(to.1, to.2, to.0).ok()?;
    resizer.resize_typed(&from, &mut to, None).ok()
}

/// A kept buffer with room for so many bytes; what is in it is old.
fn room(kept: &mut Vec<u8>, bytes: usize) -> Vec<u8> {
    let mut buffer = take(kept);
    if buffer.len() < bytes {
        // Not grown: that would copy what is old.
        buffer = vec![0; bytes];
    }
    buffer
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

/// A smaller picture, or nothing (within) where it is small enough.
fn resize(resizer: &mut Resizer, picture: &Picture, longest: u32) -> Option<Option<Picture>> {
    let pixels = &picture.pixels;
    let (width, height) = fit(pixels.width(), pixels.height(), longest);
    if (width, height) == pixels.dimensions() {
        return Some(None);
    }
    let mut small = RgbImage::new(width, height);
    let from = (pixels.as_flat_samples().samples, pixels.width(), pixels.height());
    resample(resizer, from, (&mut small, width, height))?;
    let pixels = small;
    Some(Some(Picture {
        pixels,
        ycc: picture.ycc,
    }))
}

fn turned(Picture { pixels, ycc }: Picture, turn: u8) -> Picture {
    let mut picture = DynamicImage::ImageRgb8(pixels);
    picture.apply_orientation(Orientation::from_exif(turn).unwrap_or(Orientation::NoTransforms));
    Picture {
        pixels: picture.into_rgb8(),
        ycc,
    }
}

/// Rows of brightness and colours for the encoder, as they are.
struct Coded<'a> {
    rows: &'a [u8],
    width: u16,
    height: u16,
}

impl ImageBuffer for Coded<'_> {
    fn get_jpeg_color_type(&self) -> JpegColorType {
        JpegColorType::Ycbcr
    }

    fn width(&self) -> u16 {
        self.width
    }

    fn height(&self) -> u16 {
        self.height
    }

    fn fill_buffers(&self, y: u16, buffers: &mut [Vec<u8>; 4]) {
        let row = usize::from(self.width).saturating_mul(3);
        let mut rows = self.rows.chunks_exact(row.max(1));
        let (pixels, _) = rows.nth(y.into()).unwrap_or_default().as_chunks::<3>();
        let [bright, blue, red, _] = buffers;
        bright.extend(pixels.iter().map(|[y, _, _]| *y));
        blue.extend(pixels.iter().map(|[_, blue, _]| *blue));
        red.extend(pixels.iter().map(|[_, _, red]| *red));
    }
}

fn encoded(Picture { pixels, ycc }: &Picture) -> Option<Vec<u8>> {
    let [width, height] = [pixels.width(), pixels.height()].map(u16::try_from);
    let (width, height) = (width.ok()?, height.ok()?);
    let mut bytes = Vec::new();
    // 1.6 to 3.5 times as fast as the encoder of `image` (measured on 3 MP, x86), which took most of the time. Its own
    // Huffman tables would save a tenth, but plain patches of strong colour came out wrong with them (0.6.1).
    let mut encoder = Encoder::new(&mut bytes, 85);
    let [bright, colour] = STEPS.map(|step| QuantizationTableType::Custom(Box::new([step; 64])));
    encoder.set_quantization_tables(bright, colour);
    encoder.set_sampling_factor(SamplingFactor::F_2_2);
    let rows = pixels.as_raw().as_slice();
    let done = if *ycc {
        encoder.encode_image(Coded { rows, width, height })
    } else {
        encoder.encode(rows, width, height, jpeg_encoder::ColorType::Rgb)
    };
    done.ok()?;
    Some(bytes)
}
