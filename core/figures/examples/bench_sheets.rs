//! Published instances of one sheet cut edge to edge: ours beside strips filled by hand (longest piece first,
//! strips of its width). `tests/bench/sheets` runs it; the instances lie in `../shared/checks`.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout
)]

use serde_json::{Value, json};
use std::path::Path;
use std::time::{Duration, Instant};

/// Length, width, value, most.
type Piece = (u64, u64, u64, Option<u64>);

struct Instance {
    name: String,
    sheet: (u64, u64),
    pieces: Vec<Piece>,
    turn: bool,
    optimum: u64,
}

fn numbers(name: &str) -> Vec<u64> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../../shared/checks/cut_sheets")
        .join(name);
    std::fs::read_to_string(path)
        .unwrap()
        .split_whitespace()
        .map(|w| w.parse().unwrap())
        .collect()
}

fn instances() -> Vec<Instance> {
    let mut all = Vec::new();
    let mut add = |name: &str, sheet, pieces: Vec<Piece>, turn, optimum| {
        all.push(Instance {
            name: name.to_owned(),
            sheet,
            pieces,
            turn,
            optimum,
        });
    };
    let (file, mut at) = (numbers("beasley_ngcutap.txt"), 1);
    for (i, best) in [164, 230, 247, 268, 358, 289, 430, 834, 924, 1452, 1688, 1865]
        .into_iter()
        .enumerate()
    {
        let many = file[at] as usize;
        let pieces = file[at + 3..at + 3 + 5 * many]
            .chunks(5)
            .map(|p| (p[0], p[1], p[4], Some(p[3])))
            .collect();
        add(
            &format!("ngcut{}", i + 1),
            (file[at + 1], file[at + 2]),
            pieces,
            false,
            best,
        );
        at += 3 + 5 * many;
    }
    for (i, best) in [244, 2892, 1860].into_iter().enumerate() {
        let file = numbers(&format!("christofides1977_cgcut{}.txt", i + 1));
        let pieces = file[3..]
            .chunks(4)
            .map(|p| (p[0], p[1], p[3], Some(p[2])))
            .collect();
        add(
            &format!("cgcut{}", i + 1),
            (file[1], file[2]),
            pieces,
            false,
            best,
        );
    }
    for (name, best) in [
        ("oliveira1990_OF1", 2737),
        ("oliveira1990_OF2", 2690),
        ("wang1983_W", 2721),
    ] {
        let file = numbers(name);
        let pieces = file[3..]
            .chunks(3)
            .map(|p| (p[0], p[1], p[0] * p[1], Some(p[2])))
            .collect();
        add(name, (file[0], file[1]), pieces, false, best);
    }
    let file = numbers("hifi1997a_HH");
    let pieces = file[3..]
        .chunks(4)
        .map(|p| (p[0], p[1], p[2], Some(p[3])))
        .collect();
    add("hifi1997a_HH", (file[0], file[1]), pieces, false, 11586);
    let gcut = [(56460, 58136), (60536, 60611), (61036, 61626), (61698, 62265)];
    for (i, (plain, turned)) in gcut.into_iter().enumerate() {
        let file = numbers(&format!("beasley1985_gcut{}.txt", i + 1));
        let pieces: Vec<Piece> = file[3..].chunks(3).map(|p| (p[0], p[1], p[2], None)).collect();
        add(
            &format!("gcut{}", i + 1),
            (file[1], file[2]),
            pieces.clone(),
            false,
            plain,
        );
        add(
            &format!("gcut{} turned", i + 1),
            (file[1], file[2]),
            pieces,
            true,
            turned,
        );
    }
    let file = numbers("herz1972_H");
    let pieces: Vec<Piece> = file[3..]
        .chunks(2)
        .map(|p| (p[0], p[1], p[0] * p[1], None))
        .collect();
    add("Herz", (file[0], file[1]), pieces.clone(), false, 12348);
    add("Herz turned", (file[0], file[1]), pieces, true, 12387);
    all
}

/// Strips across the sheet: the widest piece that fits opens one, and the dearest that fit fill it.
fn by_strips(given: &Instance) -> u64 {
    let mut left: Vec<(Piece, u64)> = given
        .pieces
        .iter()
        .map(|p| (*p, p.3.unwrap_or(u64::MAX)))
        .collect();
    left.sort_by_key(|(p, _)| std::cmp::Reverse((p.1, p.2)));
    let (mut down, mut value) = (given.sheet.1, 0);
    while let Some(first) = left
        .iter()
        .position(|(p, n)| *n > 0 && p.1 <= down && p.0 <= given.sheet.0)
    {
        let (wide, mut along) = (left[first].0.1, given.sheet.0);
        let mut order: Vec<usize> = (0..left.len()).filter(|i| left[*i].0.1 <= wide).collect();
        order.sort_by_key(|i| std::cmp::Reverse(left[*i].0.2));
        for i in std::iter::once(first).chain(order) {
            let times = (along / left[i].0.0).min(left[i].1);
            along -= times * left[i].0.0;
            left[i].1 -= times;
            value += times * left[i].0.2;
        }
        down -= wide;
    }
    value
}

fn main() {
    let limit: f64 = std::env::args().nth(1).map_or(10.0, |s| s.parse().unwrap());
    let (mut good, mut spent, mut shares) = (0, 0.0, (0.0, 0.0));
    let all = instances();
    for given in &all {
        let pieces: Vec<Value> = given.pieces.iter().enumerate().map(|(i, (l, w, value, most))|
            json!({"name": format!("p{i}"), "length": l, "width": w, "count": most, "turn": given.turn, "value": value})).collect();
        let input = json!({"unit": "mm", "stock": [{"name": "sheet", "length": given.sheet.0, "width": given.sheet.1, "count": 1}],
            "pieces": pieces, "goal": "most_value", "time_limit_s": limit}).to_string();
        let start = Instant::now();
        let end = start + Duration::from_secs_f64(limit);
        let out =
            bowseam_figures::door::figure_until("cut-sheets", &input, &mut || Instant::now() >= end).unwrap();
        let took = start.elapsed().as_secs_f64();
        let out: Value = serde_json::from_str(&out).unwrap();
        let (ours, peer) = (out["value"].as_u64().unwrap(), by_strips(given));
        let best = out["proven"] == true && ours == given.optimum;
        println!(
            "{:18} ours {ours:6} bound {:>7} published {:6} strips {peer:6}  {took:7.3} s{}",
            given.name,
            out["upper_bound"].to_string(),
            given.optimum,
            if best {
                ""
            } else {
                "  <-- not the published optimum, or not proven"
            }
        );
        good += usize::from(best);
        spent += took;
        shares.0 += ours as f64 / given.optimum as f64;
        shares.1 += peer as f64 / given.optimum as f64;
    }
    let share = |sum: f64| 100.0 * sum / all.len() as f64;
    println!(
        "sheets: {good} of {} instances at the published optimum, proven, in {spent:.2} s; {:.2} % of the optimum on average where strips by hand reach {:.2} %",
        all.len(),
        share(shares.0),
        share(shares.1)
    );
}
