//! The canonical JSON of a value (RFC 8785) and its SHA-256: the name of an estimate. A go-ahead names the
//! figures it was given for by this hash, so two texts of the same figures must never hash differently, and
//! two different figures never alike.

use crate::Error;
use serde::Serialize;
use serde_json::Value;
use sha2::{Digest, Sha256};

/// The value as RFC 8785 text.
///
/// # Errors
/// `not_canonical` for what the text could not carry exactly: NaN, infinity, a whole number that a double would
/// change (beyond ± 2^53), a map whose keys are no text. Such a number is to be written as a decimal string.
pub fn text(value: &impl Serialize) -> Result<String, Error> {
    let tree = serde_json::to_value(value).map_err(|e| refused(&e.to_string()))?;
    if let Some(number) = inexact(&tree) {
        return Err(refused(&format!("{number} is too large to be kept exactly")));
    }
    // From the value itself, not from the tree: the tree turns NaN into null without a word.
    serde_json_canonicalizer::to_string(value).map_err(|e| refused(&e.to_string()))
}

/// The SHA-256 of the canonical text, 64 small hexadecimal digits.
///
/// # Errors
/// As [`text`].
pub fn sha256(value: &impl Serialize) -> Result<String, Error> {
    Ok(hex(text(value)?.as_bytes()))
}

/// The SHA-256 of bytes, 64 small hexadecimal digits.
pub fn hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// The first whole number in the tree that JSON's double would change, as it can beyond 2^53.
fn inexact(tree: &Value) -> Option<String> {
    match tree {
        Value::Number(n) if n.is_i64() || n.is_u64() => {
            let (as_it_is, as_double) = (n.to_string(), serde_json_canonicalizer::to_string(n));
            as_double
                .map_or(true, |text| text != as_it_is)
                .then_some(as_it_is)
        }
        Value::Array(items) => items.iter().find_map(inexact),
        Value::Object(fields) => fields.values().find_map(inexact),
        _ => None,
    }
}

fn refused(why: &str) -> Error {
    Error::new(
        "not_canonical",
        format!(
            "These figures have no exact canonical form: {why}. Numbers that are large or not whole are \
             kept as decimal text."
        ),
    )
}
