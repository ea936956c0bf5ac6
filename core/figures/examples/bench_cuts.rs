//! Published cutting instances: ours beside first-fit decreasing, the way a bench does it by hand.
//! `tests/bench/bars` runs it; the instances lie in `../shared/checks`, beside the repository.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout
)]

use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

fn checks() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/checks/cut_bars")
}

struct Instance {
    name: String,
    room: u64,
    pieces: Vec<(u64, u64)>,
    optimum: u64,
}

fn numbers(text: &str) -> Vec<u64> {
    text.split_whitespace().map(|w| w.parse().unwrap()).collect()
}

fn instances() -> Vec<Instance> {
    let mut all = Vec::new();
    let optima = std::fs::read_to_string(checks().join("optima.csv")).unwrap();
    for line in optima
        .lines()
        .filter(|l| l.starts_with("PM_") || l.starts_with("Falk"))
    {
        let cells: Vec<&str> = line.split(',').collect();
        let (name, optimum) = (cells[0].to_owned(), cells[3].parse().unwrap());
        if name.starts_with("PM_") {
            let text = numbers(&std::fs::read_to_string(checks().join(format!("{name}.txt"))).unwrap());
            let pieces = text[2..].iter().map(|size| (*size, 1)).collect();
            all.push(Instance {
                name,
                room: text[1],
                pieces,
                optimum,
            });
        } else {
            let text = numbers(&std::fs::read_to_string(checks().join(format!("{name}_csp.txt"))).unwrap());
            let pieces = text[2..].chunks(2).map(|p| (p[0], p[1])).collect();
            all.push(Instance {
                name,
                room: text[1],
                pieces,
                optimum,
            });
        }
    }
    let text = std::fs::read_to_string(checks().join("cutting_stock_5600.json")).unwrap();
    let given: Value = serde_json::from_str(&text).unwrap();
    let pieces = given["items"].as_array().unwrap().iter();
    let pieces = pieces
        .map(|p| (p[0].as_u64().unwrap(), p[1].as_u64().unwrap()))
        .collect();
    all.push(Instance {
        name: "5600 mm".into(),
        room: 5600,
        pieces,
        optimum: 73,
    });
    all
}

fn first_fit_decreasing(given: &Instance) -> usize {
    let mut sizes: Vec<u64> = given
        .pieces
        .iter()
        .flat_map(|(size, n)| vec![*size; *n as usize])
        .collect();
    sizes.sort_unstable_by(|a, b| b.cmp(a));
    let mut bars: Vec<u64> = Vec::new();
    for size in sizes {
        match bars.iter_mut().find(|left| **left >= size) {
            Some(left) => *left -= size,
            None => bars.push(given.room - size),
        }
    }
    bars.len()
}

fn main() {
    let limit: f64 = std::env::args().nth(1).map_or(10.0, |s| s.parse().unwrap());
    let (mut proven, mut ours_all, mut peer_all, mut spent) = (0, 0, 0, 0.0);
    let all = instances();
    for given in &all {
        let pieces: Vec<Value> = given
            .pieces
            .iter()
            .enumerate()
            .map(|(i, (size, n))| json!({"name": format!("p{i}"), "length": size, "count": n}))
            .collect();
        let input = json!({"unit": "mm", "stock": [{"name": "bar", "length": given.room, "count": null, "price": "1"}],
            "pieces": pieces, "time_limit_s": limit}).to_string();
        let start = Instant::now();
        let end = start + Duration::from_secs_f64(limit);
        let out =
            bowseam_figures::door::figure_until("cut-bars", &input, &mut || Instant::now() >= end).unwrap();
        let took = start.elapsed().as_secs_f64();
        let out: Value = serde_json::from_str(&out).unwrap();
        let ours: u64 = out["stock_used"][0]["count"].as_u64().unwrap();
        let peer = first_fit_decreasing(given);
        let best = out["proven"] == true && ours == given.optimum;
        println!(
            "{:20} ours {ours:3} bound {:>7} {} first fit {peer:3}  {took:7.3} s{}",
            given.name,
            out["lower_bound"].as_str().unwrap(),
            if out["proven"] == true { "proven" } else { "open  " },
            if best {
                ""
            } else {
                "  <-- not the published optimum, or not proven"
            }
        );
        proven += usize::from(best);
        ours_all += ours;
        peer_all += peer;
        spent += took;
    }
    println!(
        "bars: {proven} of {} instances at the published optimum, proven, in {spent:.2} s; {ours_all} bars where first-fit decreasing takes {peer_all}",
        all.len()
    );
}
