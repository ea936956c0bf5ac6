//! `bowseam figure photo-scale`: JSON in, JSON out.

use crate::error::Error;
use crate::input::Fields;
use crate::measure::{Length, Unit};
use crate::photo_scale::{MOST_PX, Measured, Point, Taps, photo_scale};
use serde_json::{Value, json};

const KNOWN: &[&str] = &[
    "unit",
    "reference",
    "more_reference",
    "measure_px",
    "areas_px",
    "tap_sd_px",
    "corner_sd_px",
    "lens",
];
/// Largest coordinate in the plane, either way: 100 m in millimetres.
const MOST_PLANE: f64 = 1e5;

/// Measures in a photo from JSON; names and meaning as documented for the command.
///
/// # Errors
/// What is missing, unknown or cannot be, with its JSON pointer.
pub fn figure(input: &Value) -> Result<Value, Error> {
    let fields = Fields::whole(input, KNOWN)?;
    let unit = fields.unit;
    if input.get("lens").is_some_and(|lens| !lens.is_null()) {
        let sentence = "A lens is not corrected here: null is accepted. Tap away from the photo's edges, where lenses bend most.";
        return Err(fields.wrong("lens", "photo_lens", sentence));
    }
    let reference = fields.needed_object("reference", &["size", "corners_px"])?;
    let size = reference.list("size", |value, at| plane(value, unit).map_err(|e| e.at(at)))?;
    let size: Point = array(size)
        .ok_or_else(|| reference.wrong("size", "photo_taps", "Two lengths are expected: [length, width]."))?;
    let corners = reference.list("corners_px", |value, at| pixel(value).map_err(|e| e.at(at)))?;
    let corners: [Point; 4] = array(corners).ok_or_else(|| {
        let sentence = "Four corners are expected: [[x,y],[x,y],[x,y],[x,y]], from (0,0) once round.";
        reference.wrong("corners_px", "photo_corners", sentence)
    })?;
    let more = fields.list("more_reference", |value, at| {
        let entry = fields.entry(value, at.clone(), &["at", "px"])?;
        let place = value.get("at").unwrap_or(&Value::Null);
        let place = pair(place, |value| plane(value, unit)).map_err(|e| e.at(entry.pointer("at")))?;
        let px = pixel(value.get("px").unwrap_or(&Value::Null)).map_err(|e| e.at(entry.pointer("px")))?;
        Ok((place, px))
    })?;
    let measure = fields.list("measure_px", |value, at| pair(value, pixel).map_err(|e| e.at(at)))?;
    let areas = fields.list("areas_px", |value, at| {
        let points = value.as_array().ok_or_else(|| {
            Error::new(
                "photo_taps",
                "The corners of an area are expected here: [[x,y],[x,y],[x,y]].",
            )
            .at(at.clone())
        })?;
        points
            .iter()
            .map(|px| pixel(px).map_err(|e| e.at(at.clone())))
            .collect()
    })?;
    let sd = |name: &str| -> Result<Option<f64>, Error> {
        let number = fields.number(name, 1_000)?;
        Ok(number.and_then(|sd| f64::try_from(sd).ok()))
    };
    let tap_sd = sd("tap_sd_px")?.ok_or_else(|| {
        let sentence =
            "“tap_sd_px” is missing: how well a point was tapped, in pixels; 2 is usual (from memory).";
        fields.wrong("tap_sd_px", "input_missing", sentence)
    })?;
    let found = photo_scale(&Taps {
        size,
        corners,
        more: more.unwrap_or_default(),
        measure: measure.unwrap_or_default(),
        areas: areas.unwrap_or_default(),
        tap_sd,
        corner_sd: sd("corner_sd_px")?,
    })?;
    let length = |length: &Measured| json!({"value": length.value, "u": length.u, "low": length.low, "high": length.high});
    Ok(json!({
        "homography": found.homography,
        "residual_px": found.residual_px,
        "lengths": found.lengths.iter().map(length).collect::<Vec<_>>(),
        "areas": found.areas.iter().map(length).collect::<Vec<_>>(),
        "warnings": found.warnings,
    }))
}

/// The entries of a list of exactly this many.
fn array<T, const COUNT: usize>(list: Option<Vec<T>>) -> Option<[T; COUNT]> {
    list.and_then(|list| list.try_into().ok())
}

fn pair<T>(value: &Value, read: impl Fn(&Value) -> Result<T, Error>) -> Result<[T; 2], Error> {
    match value.as_array().map(Vec::as_slice) {
        Some([a, b]) => Ok([read(a)?, read(b)?]),
        _ => Err(Error::new("photo_taps", "Two entries are expected here: [ , ].")),
    }
}

fn pixel(value: &Value) -> Result<Point, Error> {
    pair(value, |value| {
        let found = value.as_f64().filter(|c| c.abs() <= MOST_PX);
        found.ok_or_else(|| {
            Error::new(
                "photo_taps",
                "A pixel is two numbers, up to a million either way: [x, y].",
            )
        })
    })
}

/// A coordinate in the plane: a number, which may lie before the origin, or tape notation.
fn plane(value: &Value, unit: Unit) -> Result<f64, Error> {
    let wrong = || {
        Error::new(
            "photo_taps",
            "A length up to 100 m is expected here: a number, or text such as \"3 3/8 in\".",
        )
    };
    match value {
        Value::String(text) => {
            let length: Length = Length::parse(text, unit)?;
            f64::try_from(length.to_decimal(unit)).map_err(|_| wrong())
        }
        other => other.as_f64().filter(|c| c.abs() <= MOST_PLANE).ok_or_else(wrong),
    }
}
