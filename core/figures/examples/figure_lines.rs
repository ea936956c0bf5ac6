//! Answers figure questions line by line, so that benchmarks and random cases (`tests/bench`) time the work and
//! not the start of a process. In: `{"what":"cut-bars","input":{...}}`; out: `{"exit":0,"s":0.01,"out":{...}}`,
//! where `s` is the time from the input's text to the answer's text.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::print_stdout)]

use serde_json::{Value, json};
use std::io::BufRead;
use std::time::{Duration, Instant};

fn main() {
    for line in std::io::stdin().lock().lines() {
        let asked: Value = serde_json::from_str(&line.unwrap()).unwrap();
        let what = asked["what"].as_str().unwrap();
        let input = asked["input"].to_string();
        let begun = Instant::now();
        let limit = Duration::from_secs_f64(bowseam_figures::door::time_limit_s(&input));
        let answer = bowseam_figures::door::figure_until(what, &input, &mut || begun.elapsed() >= limit);
        let s = begun.elapsed().as_secs_f64();
        let (exit, text) = match answer {
            Ok(text) => (0, text),
            Err(refusal) => (refusal.exit, refusal.body),
        };
        let out: Value = serde_json::from_str(&text).unwrap();
        println!("{}", json!({"exit": exit, "s": s, "out": out}));
    }
}
