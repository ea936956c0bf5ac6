//! The door of `bowseam figure WHAT`: text in, text out, and refusals as the command documents them.

use crate::error::Error;
use crate::search::Stop;
use serde_json::{Value, json};

/// Longest input, in bytes.
const LONGEST_INPUT: usize = 4_000_000;
/// Most objects in it: a list has at most 2000 entries. Counted before anything is read, since reading a hundred
/// thousand of them takes longer than a refusal may.
const MOST_OBJECTS: usize = 40_000;
/// Most entries of all its lists and objects: 2000 tasks that wait for some hundreds each.
const MOST_ENTRIES: usize = 800_000;

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

type Search = fn(&Value, Stop<'_>) -> Result<Value, Refusal>;

/// Figures that search, and so take a stop signal.
const SEARCHES: &[(&str, Search)] = &[
    ("cut-bars", crate::bars::figure),
    ("cut-sheets", crate::sheets::figure),
    ("crew", crate::crew::figure),
];
/// Longest `time_limit_s`, in seconds.
pub(crate) const LONGEST_SEARCH_S: u32 = 3_600;
/// Seconds that a search gets if its input does not say.
const USUAL_SEARCH_S: f64 = 10.0;
/// How often a search without a clock looks at its stop signal before it ends.
const STEPS_WITHOUT_CLOCK: u32 = 200_000;

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

/// Works out `what` from the JSON text `input`, as `bowseam figure WHAT` does. A search ends after a number
/// of steps, since this crate has no clock; a caller with one uses [`figure_until`].
///
/// # Errors
/// Unknown or not yet built `what`, text that is no JSON, or input that the figure refuses.
pub fn figure(what: &str, input: &str) -> Result<String, Refusal> {
    let mut left = STEPS_WITHOUT_CLOCK;
    figure_until(what, input, &mut || {
        left = left.saturating_sub(1);
        left == 0
    })
}

/// Seconds that the input allows a search, 10 if it does not say: for the caller's clock.
#[must_use]
pub fn time_limit_s(input: &str) -> f64 {
    #[derive(serde::Deserialize)]
    struct Limit {
        time_limit_s: Option<Value>,
    }
    let known = input.contains("time_limit_s") && too_much(input).is_none();
    let limit = known.then(|| serde_json::from_str::<Limit>(input.trim_start_matches('\u{feff}')).ok());
    let given = limit.flatten().and_then(|limit| limit.time_limit_s?.as_f64());
    given.map_or(USUAL_SEARCH_S, |s| s.clamp(0.0, f64::from(LONGEST_SEARCH_S)))
}

/// As [`figure`]; a search ends soon after `stop` says true, with the best that it has by then and `proven`
/// as it stands.
///
/// # Errors
/// As [`figure`].
pub fn figure_until(what: &str, input: &str, stop: Stop<'_>) -> Result<String, Refusal> {
    let search = SEARCHES.iter().find(|(name, _)| *name == what);
    let found = BUILT.iter().find(|(name, _)| *name == what);
    if search.is_none() && found.is_none() {
        return Err(unknown(what).into());
    }
    if let Some(error) = too_much(input) {
        return Err(error.into());
    }
    let input = input.trim_start_matches('\u{feff}');
    let value: Value = serde_json::from_str(input)
        .map_err(|e| Error::new("input_json", format!("The input is not one JSON object: {e}.")))?;
    if let Some((_, search)) = search {
        return Ok(search(&value, stop)?.to_string());
    }
    let (_, work_out) = found.ok_or_else(|| unknown(what))?;
    Ok(work_out(&value)?.to_string())
}

/// Why so much is not read at all.
fn too_much(input: &str) -> Option<Error> {
    if input.len() > LONGEST_INPUT {
        return Some(Error::new("input_long", "The input is over 4 MB."));
    }
    let many = |sign: u8| input.bytes().filter(|byte| *byte == sign).count();
    let (objects, entries) = (many(b'{'), many(b','));
    (objects > MOST_OBJECTS || entries > MOST_ENTRIES).then(|| {
        let sentence = format!(
            "The input holds {objects} objects and {entries} entries. Accepted are {MOST_OBJECTS} and {MOST_ENTRIES}; a list has at most 2000 entries."
        );
        Error::new("input_many", sentence)
    })
}

fn unknown(what: &str) -> Error {
    let searches = SEARCHES.iter().map(|(name, _)| *name);
    let names: Vec<&str> = BUILT.iter().map(|(name, _)| *name).chain(searches).collect();
    let names = names.join(", ");
    let what: String = what.chars().take(40).collect();
    Error::new(
        "figure_unknown",
        format!("“{what}” is nothing that is figured here. Accepted are: {names}."),
    )
}

#[cfg(test)]
#[path = "door_tests.rs"]
mod tests;
