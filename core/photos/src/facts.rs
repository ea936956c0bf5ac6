//! What a photo says of itself: size, when it was taken, how it is turned, where.
//! EXIF is written by cameras and by anyone else, so each field is taken only if it makes sense.

use std::io::Cursor;
use std::panic::catch_unwind;

use chrono::{NaiveDate, NaiveDateTime};
use exif::{DateTime, Exif, In, Reader, Tag, Value};
use serde::{Deserialize, Serialize};

use crate::sniff::Frame;

/// Facts of a photo.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Facts {
    /// Width in pixels, held upright.
    pub width: u32,
    /// Height in pixels, held upright.
    pub height: u32,
    /// When it was taken, by the camera's clock at its own place.
    pub taken: Option<NaiveDateTime>,
    /// Minutes that the camera's clock was ahead of UTC; most cameras do not say.
    pub offset_minutes: Option<i16>,
    /// EXIF orientation, 1 to 8 (CIPA DC-008, from memory); 1 where none is given.
    pub orientation: u8,
    /// Focal length as on 35 mm film, in millimetres, as the camera says it.
    #[serde(default)]
    pub focal_35mm: Option<u32>,
    /// Where it was taken. Never written out with the other facts: whoever exports it asks for consent first.
    #[serde(skip)]
    pub position: Option<Position>,
}

/// A place on the earth, in degrees (north and east are positive).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// -90 to 90.
    pub latitude: f64,
    /// -180 to 180.
    pub longitude: f64,
}

/// Reads the facts; `None` if not even the size is known (a HEIC without EXIF).
pub fn read(bytes: &[u8], frame: Option<Frame>) -> Option<Facts> {
    let exif = read_exif(bytes);
    let exif = exif.as_ref();
    let orientation = exif
        .and_then(|e| number(e, Tag::Orientation))
        .and_then(|o| u8::try_from(o).ok())
        .filter(|o| (1..=8).contains(o))
        .unwrap_or(1);
    let stored = match frame {
        Some(frame) => (frame.width, frame.height),
        None => (
            number(exif?, Tag::PixelXDimension)?,
            number(exif?, Tag::PixelYDimension)?,
        ),
    };
    // 5 to 8 lie on their side.
    let (width, height) = if orientation >= 5 {
        (stored.1, stored.0)
    } else {
        stored
    };
    let clock = exif.and_then(taken);
    Some(Facts {
        width,
        height,
        taken: clock.map(|(time, _)| time),
        offset_minutes: clock.and_then(|(_, offset)| offset),
        orientation,
        focal_35mm: exif
            .and_then(|e| number(e, Tag::FocalLengthIn35mmFilm))
            .filter(|focal| *focal > 0),
        position: exif.and_then(position),
    })
}

/// Where the file says that it was taken.
pub fn place(bytes: &[u8]) -> Option<Position> {
    position(&read_exif(bytes)?)
}

/// The EXIF block, with whatever of it is sound. The parser gets hostile bytes: a panic in it counts as no EXIF.
fn read_exif(bytes: &[u8]) -> Option<Exif> {
    catch_unwind(|| {
        Reader::new()
            .continue_on_error(true)
            .read_from_container(&mut Cursor::new(bytes))
            .or_else(|error| error.distill_partial_result(|_| ()))
            .ok()
    })
    .ok()
    .flatten()
}

fn number(exif: &Exif, tag: Tag) -> Option<u32> {
    exif.get_field(tag, In::PRIMARY)?.value.get_uint(0)
}

fn ascii(exif: &Exif, tag: Tag) -> Option<&[u8]> {
    match &exif.get_field(tag, In::PRIMARY)?.value {
        Value::Ascii(lines) => lines.first().map(Vec::as_slice),
        _ => None,
    }
}

/// When the shutter opened, or when the picture became digital; the time of a later change counts for nothing.
fn taken(exif: &Exif) -> Option<(NaiveDateTime, Option<i16>)> {
    [
        (Tag::DateTimeOriginal, Tag::OffsetTimeOriginal),
        (Tag::DateTimeDigitized, Tag::OffsetTimeDigitized),
    ]
    .into_iter()
    .find_map(|(time, offset)| {
        let mut read = DateTime::from_ascii(ascii(exif, time)?).ok()?;
        if let Some(text) = ascii(exif, offset) {
            // A bad offset leaves the time as it is.
            let _ = read.parse_offset(text);
        }
        let date = NaiveDate::from_ymd_opt(read.year.into(), read.month.into(), read.day.into())?;
        let time = date.and_hms_opt(read.hour.into(), read.minute.into(), read.second.into())?;
        Some((time, read.offset.filter(|o| (-14 * 60..=14 * 60).contains(o))))
    })
}

fn position(exif: &Exif) -> Option<Position> {
    let angle = |tag, side, negative: u8, most: f64| {
        let Value::Rational(parts) = &exif.get_field(tag, In::PRIMARY)?.value else {
            return None;
        };
        let [degrees, minutes, seconds] = parts.as_slice() else {
            return None;
        };
        let size = degrees.to_f64() + minutes.to_f64() / 60.0 + seconds.to_f64() / 3600.0;
        let sign = if ascii(exif, side)?.first() == Some(&negative) {
            -1.0
        } else {
            1.0
        };
        (size <= most).then_some(size * sign)
    };
    Some(Position {
        latitude: angle(Tag::GPSLatitude, Tag::GPSLatitudeRef, b'S', 90.0)?,
        longitude: angle(Tag::GPSLongitude, Tag::GPSLongitudeRef, b'W', 180.0)?,
    })
}
