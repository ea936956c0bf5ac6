//! The door of `bowseam figure WHAT`: text in, text out, and refusals as the command documents them.

use crate::error::Error;
use serde_json::{Value, json};

/// Longest input, in bytes.
const LONGEST_INPUT: usize = 4_000_000;
/// What will come and is refused until it is there, rather than answered by a guess.
const NOT_BUILT: &[&str] = &["cut-bars", "cut-sheets", "crew"];

type Figure = fn(&Value) -> Result<Value, Error>;

const BUILT: &[(&str, Figure)] = &[
    ("roof-section", crate::takeoff_figure::figure),
    ("rivets", crate::fasten::figure),
    ("joint", crate::joint::figure),
    ("side-patch", crate::side_patch::figure),
    ("photo-scale", crate::photo_scale::figure),
    ("price", crate::price::figure),
    ("vin", crate::proof::vin),
    ("sheeting", crate::proof::sheeting),
];

/// Why nothing was worked out: the exit code of the command (2: the input, 3: not enough material), and the
/// JSON object for standard error, `{"error": ..., "where": ...}`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// Exit code: 2 or 3.
    pub exit: u8,
    /// JSON text.
    pub body: String,
}

impl From<Error> for Refusal {
    fn from(error: Error) -> Self {
        let place = error.where_.unwrap_or_default();
        Self {
            exit: 2,
            body: json!({"error": error.sentence, "where": place, "code": error.code}).to_string(),
        }
    }
}

/// Works out `what` from the JSON text `input`, as `bowseam figure WHAT` does.
///
/// # Errors
/// Unknown or not yet built `what`, text that is no JSON, or input that the figure refuses.
pub fn figure(what: &str, input: &str) -> Result<String, Refusal> {
    let found = BUILT.iter().find(|(name, _)| *name == what);
    let (_, work_out) = found.ok_or_else(|| unknown(what))?;
    if input.len() > LONGEST_INPUT {
        return Err(Error::new("input_long", "The input is over 4 MB.").into());
    }
    let input = input.trim_start_matches('\u{feff}');
    let value: Value = serde_json::from_str(input)
        .map_err(|e| Error::new("input_json", format!("The input is not one JSON object: {e}.")))?;
    Ok(work_out(&value)?.to_string())
}

fn unknown(what: &str) -> Error {
    let names: Vec<&str> = BUILT.iter().map(|(name, _)| *name).collect();
    let names = names.join(", ");
    if NOT_BUILT.contains(&what) {
        return Error::new(
            "figure_not_built",
            format!("“{what}” is not built yet. Built are: {names}."),
        );
    }
    let what: String = what.chars().take(40).collect();
    let later = NOT_BUILT.join(", ");
    Error::new(
        "figure_unknown",
        format!("“{what}” is nothing that is figured here. Built are: {names}. Not built yet: {later}."),
    )
}

#[cfg(test)]
#[path = "door_tests.rs"]
mod tests;
