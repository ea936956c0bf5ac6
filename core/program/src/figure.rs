//! `bowseam figure WHAT`: one computation of the core, JSON in, JSON out. The published checks call these.

use crate::Ended;
use bowseam_figures::door;
use std::{
    io::{Read, Write},
    time::{Duration, Instant},
};

/// Longest input that is read; a body plan with a thousand marks is far below it.
const LONGEST_INPUT: u64 = 8 << 20;

/// Reads standard input and answers on standard output, or on standard error with exit 2 (bad input) or 3
/// (something is missing).
pub fn figure(what: &str) -> Result<(), Ended> {
    let mut input = String::new();
    let read = std::io::stdin()
        .lock()
        .take(LONGEST_INPUT)
        .read_to_string(&mut input);
    let refusal =
        |sentence: &str| Ended::with(2, serde_json::json!({"error": sentence, "where": ""}).to_string());
    read.map_err(|_| refusal("Standard input is no text in UTF-8. Accepted is one JSON object."))?;
    // The core has no clock: the time that the input allows is kept here.
    let limit = Duration::from_secs_f64(door::time_limit_s(&input));
    let begun = Instant::now();
    let answer = door::figure_until(what, &input, &mut || begun.elapsed() >= limit)
        .map_err(|r| Ended::with(r.exit, r.body))?;
    writeln!(std::io::stdout().lock(), "{answer}")
        .map_err(|e| Ended::with(1, format!("The answer cannot be written: {e}.")))
}
