//! How asks and photos pass through any shell: read from JSON or from a header beside a photo's bytes, and a
//! photo's bytes on their way to the screen. HTTP and IPC share it, so that both refuse the same things.

use crate::{answer::Refusal, app::App, ask::Ask};
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use bowseam_photos::Error;
use std::path::PathBuf;

/// An ask from its JSON.
///
/// # Errors
/// It is no ask that this program knows; the sentence says where.
pub fn from_json(json: &[u8]) -> Result<Ask, Refusal> {
    serde_json::from_slice(json).map_err(|e| {
        Refusal::new(
            "not_an_ask",
            format!("This is not a question that the program knows: {e}."),
        )
    })
}

/// An ask from the header `bowseam-ask` that goes beside a photo's bytes: base64url of its JSON.
///
/// # Errors
/// As [`from_json`].
pub fn from_header(header: &[u8]) -> Result<Ask, Refusal> {
    let json = URL_SAFE_NO_PAD.decode(header).map_err(|_| {
        Refusal::new(
            "not_an_ask",
            "The header bowseam-ask is base64url without padding of an ask's JSON.",
        )
    })?;
    from_json(&json)
}

/// The bytes of a photo and their media type; `size` is `small`, `large` or `original`.
///
/// # Errors
/// There is no such photo or size, or it cannot be shown here.
pub fn photo(app: &App, sha256: &str, size: &str) -> Result<(Vec<u8>, &'static str), Refusal> {
    let photos = app.photos();
    let noted = |made: Result<PathBuf, Error>| {
        if matches!(made, Err(Error::CannotShow(_))) {
            app.copies().could_not_show(sha256);
        }
        made
    };
    let path = match size {
        "small" => noted(photos.small(sha256))?,
        "large" => noted(photos.large(sha256))?,
        "original" => photos.original(sha256)?,
        _ => return Err(Refusal::new("size", "A photo comes as small, large or original.")),
    };
    let kind = if size == "original" {
        photos.about(sha256)?.kind.media_type()
    } else {
        "image/jpeg"
    };
    let bytes = std::fs::read(&path).map_err(|e| {
        Refusal::new(
            "photo",
            format!("The photo cannot be read from this device: {e}."),
        )
    })?;
    Ok((bytes, kind))
}

/// The bytes of a packet that was made, by the name that was answered, and their media type.
///
/// # Errors
/// There is none of that name.
pub fn packet(app: &App, name: &str) -> Result<(Vec<u8>, &'static str), Refusal> {
    let none = || Refusal::new("no_packet", "There is no such packet here: make it first.");
    let kind = match name.rsplit('.').next() {
        Some("html") => "text/html; charset=utf-8",
        Some("json") => "application/json",
        Some("pdf") => "application/pdf",
        Some("xlsx") => "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        Some("csv") => "text/csv; charset=utf-8",
        _ => return Err(none()),
    };
    // A name is one part of a path, whatever else somebody asks for.
    if !name.starts_with("packet ") || name.contains(['/', '\\']) {
        return Err(none());
    }
    let bytes = std::fs::read(app.packets().join(name)).map_err(|_| none())?;
    Ok((bytes, kind))
}
