//! `cut-sheets` against published instances and an independent check of every sheet.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout
)]

use bowseam_figures::door;
use proptest::prelude::*;
use serde_json::{Value, json};
use std::collections::HashMap;
use std::path::{Path, PathBuf};

fn ask(input: &Value) -> Value {
    let out =
        door::figure("cut-sheets", &input.to_string()).unwrap_or_else(|r| panic!("{input}: {}", r.body));
    let out: Value = serde_json::from_str(&out).unwrap();
    sound(input, &out);
    out
}

fn number(value: &Value, name: &str) -> f64 {
    value[name].as_f64().unwrap_or(0.0)
}

#[derive(Clone, Copy, Debug)]
struct Rect {
    low: [f64; 2],
    high: [f64; 2],
}

fn rect(value: &Value) -> Rect {
    let (x, y) = (number(value, "x"), number(value, "y"));
    Rect {
        low: [x, y],
        high: [x + number(value, "length"), y + number(value, "width")],
    }
}

/// Whether edge-to-edge cuts can part all of these, each cut a kerf wide.
fn parts(rects: &[Rect], kerf: f64) -> bool {
    if rects.len() < 2 {
        return true;
    }
    for side in [0, 1] {
        for cut in rects.iter().map(|r| r.high[side]) {
            let (first, second): (Vec<Rect>, Vec<Rect>) =
                rects.iter().partition(|r| r.high[side] <= cut + 1e-6);
            if !second.is_empty() && second.iter().all(|r| r.low[side] >= cut + kerf - 1e-6) {
                return parts(&first, kerf) && parts(&second, kerf);
            }
        }
    }
    false
}

/// Pieces and left-overs of a tree, each cut inside its part; how deep the cuts turn is checked where asked.
fn leaves(tree: &Value, part: Rect, kerf: f64, found: &mut Vec<(String, Rect)>) {
    if let Some(name) = tree["piece"].as_str() {
        found.push((name.to_owned(), part));
    } else if tree["left"] != true {
        let side = if tree["cut"] == "x" { 0 } else { 1 };
        let at = number(tree, "at");
        assert!(
            at >= part.low[side] - 1e-6 && at <= part.high[side] + 1e-6,
            "{tree} {part:?}"
        );
        let (mut first, mut second) = (part, part);
        first.high[side] = at;
        second.low[side] = (at + kerf).min(part.high[side]);
        leaves(&tree["first"], first, kerf, found);
        leaves(&tree["second"], second, kerf, found);
    }
}

fn sound(input: &Value, out: &Value) {
    let kerf = number(input, "kerf");
    let piece_of = |name: &Value| {
        input["pieces"]
            .as_array()
            .unwrap()
            .iter()
            .find(|p| p["name"] == *name)
            .unwrap()
    };
    let (mut cut, mut used) = (HashMap::new(), HashMap::new());
    let (mut value, mut cost) = (0.0, 0.0);
    for sheet in out["sheets"].as_array().unwrap() {
        let stock = input["stock"]
            .as_array()
            .unwrap()
            .iter()
            .find(|s| s["name"] == sheet["stock"])
            .unwrap();
        let times = sheet["times"].as_u64().unwrap();
        *used.entry(sheet["stock"].to_string()).or_insert(0) += times;
        let size = [number(sheet, "length"), number(stock, "width")];
        assert!(stock["length"].is_null() || (number(stock, "length") - size[0]).abs() < 1e-6);
        let price = |name: &str| stock[name].as_str().map_or(0.0, |p| p.parse::<f64>().unwrap());
        cost += times as f64 * (price("price") + price("price_per_length") * size[0]);
        let whole = Rect {
            low: [0.0; 2],
            high: size,
        };
        let placed = sheet["placed"].as_array().unwrap();
        let rects: Vec<Rect> = placed.iter().map(rect).collect();
        let mut found = Vec::new();
        leaves(&sheet["tree"], whole, kerf, &mut found);
        assert_eq!(found.len(), placed.len());
        for ((one, place), (name, leaf)) in placed.iter().zip(&rects).zip(&found) {
            let piece = piece_of(&one["piece"]);
            let turned = one["turned"] == true;
            assert!(!turned || piece["turn"] == true);
            let (l, w) = (number(piece, "length"), number(piece, "width"));
            let want = if turned { [w, l] } else { [l, w] };
            for side in [0, 1] {
                assert!(
                    (place.high[side] - place.low[side] - want[side]).abs() < 1e-4,
                    "{one}"
                );
                assert!(
                    place.low[side] >= -1e-6 && place.high[side] <= size[side] + 1e-4,
                    "{one}"
                );
                assert!(
                    (leaf.low[side] - place.low[side]).abs() < 1e-4
                        && (leaf.high[side] - place.high[side]).abs() < 1e-4
                );
            }
            assert_eq!(one["piece"], name.as_str());
            *cut.entry(one["piece"].to_string()).or_insert(0) += times;
            value += number(piece, "value") * times as f64;
        }
        assert!(parts(&rects, kerf), "{sheet}");
        let mut all = rects.clone();
        all.extend(sheet["left"].as_array().unwrap().iter().map(rect));
        assert!(parts(&all, kerf), "{sheet}");
    }
    let least_cost = input["goal"] == "least_cost";
    for piece in input["pieces"].as_array().unwrap() {
        let got: u64 = cut.get(&piece["name"].to_string()).copied().unwrap_or(0);
        let wants = piece["count"].as_u64();
        assert!(
            if least_cost {
                wants == Some(got)
            } else {
                wants.is_none_or(|most| got <= most)
            },
            "{piece} {got}"
        );
    }
    for stock in input["stock"].as_array().unwrap() {
        let got: u64 = used.get(&stock["name"].to_string()).copied().unwrap_or(0);
        assert!(stock["count"].as_u64().is_none_or(|most| got <= most));
    }
    if least_cost {
        let money = |name: &str| out[name].as_str().unwrap().parse::<f64>().unwrap();
        assert!((money("cost") - cost).abs() < 0.006, "{cost} {out}");
        assert!(money("lower_bound") <= money("cost"));
    } else {
        assert!((number(out, "value") - value).abs() < 1e-6);
        assert!(number(out, "upper_bound") >= value - 1e-6);
    }
}

fn checks() -> Option<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/checks/cut_sheets");
    if !folder.exists() {
        println!("skipped: the published instances are not there");
        return None;
    }
    Some(folder)
}

fn numbers(path: &Path) -> Vec<u64> {
    let text = std::fs::read_to_string(path).unwrap();
    text.split_whitespace().map(|w| w.parse().unwrap()).collect()
}

/// `pieces`: length, width, value, most.
fn value_of(sheet: (u64, u64), pieces: &[(u64, u64, u64, Option<u64>)], turn: bool) -> Value {
    let piece = |(i, (l, w, value, most)): (usize, &(u64, u64, u64, Option<u64>))| json!({"name": format!("p{i}"), "length": l, "width": w, "count": most, "turn": turn, "value": value});
    let pieces: Vec<Value> = pieces.iter().enumerate().map(piece).collect();
    json!({"unit": "mm", "stock": [{"name": "sheet", "length": sheet.0, "width": sheet.1, "count": 1, "price": "1"}],
        "pieces": pieces, "goal": "most_value"})
}

fn proven(input: &Value, optimum: u64, name: &str) {
    let out = ask(input);
    assert_eq!(out["value"], json!(optimum), "{name}");
    assert_eq!(out["proven"], true, "{name}");
    assert_eq!(out["upper_bound"], json!(optimum), "{name}");
}

/// Beasley 1985 (ngcut) as edge-to-edge problems with counts, without turning; instances MIT.
#[test]
fn ngcut_1_to_12_reach_their_optima() {
    let Some(folder) = checks() else { return };
    let optima = [164, 230, 247, 268, 358, 289, 430, 834, 924, 1452, 1688, 1865];
    let all = numbers(&folder.join("beasley_ngcutap.txt"));
    let mut at = 1;
    for (i, optimum) in optima.iter().enumerate() {
        let many = all[at] as usize;
        let pieces: Vec<_> = all[at + 3..at + 3 + 5 * many]
            .chunks(5)
            .map(|p| (p[0], p[1], p[4], Some(p[3])))
            .collect();
        proven(
            &value_of((all[at + 1], all[at + 2]), &pieces, false),
            *optimum,
            &format!("ngcut{}", i + 1),
        );
        at += 3 + 5 * many;
    }
}

/// Christofides and Whitlock 1977; the larger ones run in tests/bench/sheets.
#[test]
fn cgcut1_reaches_its_optimum() {
    let Some(folder) = checks() else { return };
    let all = numbers(&folder.join("christofides1977_cgcut1.txt"));
    let pieces: Vec<_> = all[3..]
        .chunks(4)
        .map(|p| (p[0], p[1], p[3], Some(p[2])))
        .collect();
    proven(&value_of((all[1], all[2]), &pieces, false), 244, "cgcut1");
}

/// Herz 1972, counts without limit: 12348, turned 12387.
#[test]
fn herz_reaches_its_optima() {
    let Some(folder) = checks() else { return };
    let all = numbers(&folder.join("herz1972_H"));
    let pieces: Vec<_> = all[3..]
        .chunks(2)
        .map(|p| (p[0], p[1], p[0] * p[1], None))
        .collect();
    proven(&value_of((all[0], all[1]), &pieces, false), 12348, "Herz");
    proven(&value_of((all[0], all[1]), &pieces, true), 12387, "Herz turned");
}

#[test]
fn a_sheet_less_than_a_kerf_wider_still_gives_its_pieces() {
    let least = |length: f64| {
        ask(
            &json!({"kerf": 0.125, "stock": [{"name": "4x8", "length": length, "width": 48, "count": null, "price": "31.50"}],
            "pieces": [{"name": "a", "length": 30, "width": 47.95, "count": 3, "turn": true}], "goal": "least_cost"}),
        )
    };
    assert_eq!(least(90.25)["cost"], "31.50");
    assert_eq!(least(90.24)["cost"], "63.00");
    assert_eq!(least(90.24)["proven"], true);
}

#[test]
fn turning_only_where_it_is_wanted() {
    let with = |turn: bool| {
        let input = json!({"unit": "mm", "stock": [{"name": "s", "length": 100, "width": 50, "count": 1, "price": "1"}],
            "pieces": [{"name": "a", "length": 40, "width": 60, "count": 1, "turn": turn}], "goal": "least_cost"});
        door::figure("cut-sheets", &input.to_string())
    };
    assert!(with(true).is_ok());
    let refusal = with(false).unwrap_err();
    assert_eq!(refusal.exit, 3);
    assert!(
        refusal.body.contains(r#""missing":[{"count":1,"piece":"a"}]"#),
        "{}",
        refusal.body
    );
}

#[test]
fn stages_limit_how_often_the_cuts_turn() {
    // A pinwheel-free pattern that needs three directions: 1 x 2 beside (1 over two of different widths).
    let with = |stages: Value| {
        let mut input = value_of(
            (6, 4),
            &[
                (6, 1, 6, Some(1)),
                (2, 3, 6, Some(1)),
                (4, 1, 4, Some(1)),
                (1, 2, 2, Some(1)),
                (3, 2, 6, Some(1)),
            ],
            false,
        );
        input["stages"] = stages;
        number(&ask(&input), "value")
    };
    assert_eq!(with(Value::Null), 24.0);
    assert_eq!(with(json!(4)), 24.0);
    assert!(with(json!(1)) < with(json!(2)) && with(json!(2)) < 24.0);
}

#[test]
fn a_coil_is_cut_off_at_the_length_that_is_needed() {
    let out = ask(
        &json!({"stock": [{"name": "coil", "length": null, "width": 49, "count": null, "price_per_length": "0.50"}],
        "pieces": [{"name": "a", "length": 60, "width": 49, "count": 2, "turn": false}], "goal": "least_cost"}),
    );
    assert_eq!((&out["cost"], &out["proven"]), (&json!("60.00"), &json!(true)));
}

#[test]
fn what_is_not_understood_is_refused_with_its_place() {
    let place = |text: &str| {
        let refusal = door::figure("cut-sheets", text).unwrap_err();
        assert_eq!(refusal.exit, 2);
        serde_json::from_str::<Value>(&refusal.body).unwrap()["where"].clone()
    };
    let sheet = r#"{"name":"s","length":10,"width":10,"price":"1"}"#;
    assert_eq!(place(r#"{"stock":[],"pieces":[],"goall":1}"#), "/goall");
    assert_eq!(
        place(&format!(
            r#"{{"stock":[{sheet}],"pieces":[{{"name":"a","length":1,"width":1}}]}}"#
        )),
        "/pieces/0/count"
    );
    assert_eq!(
        place(&format!(
            r#"{{"stock":[{sheet}],"goal":"most_value","pieces":[{{"name":"a","length":1,"width":1}}]}}"#
        )),
        "/pieces/0/value"
    );
    assert_eq!(
        place(r#"{"stock":[{"name":"s","width":10,"price":"1"}],"pieces":[]}"#),
        "/stock/0/price"
    );
    assert_eq!(
        place(r#"{"stock":[{"name":"s","length":10,"width":10}],"pieces":[]}"#),
        "/stock/0/price"
    );
    assert_eq!(
        place(&format!(
            r#"{{"stock":[{sheet},{sheet}],"goal":"most_value","pieces":[]}}"#
        )),
        "/stock"
    );
    assert_eq!(
        place(&format!(r#"{{"stock":[{sheet}],"stages":0,"pieces":[]}}"#)),
        "/stages"
    );
}

/// Length, width, stages and first direction of a rectangle joined from pieces.
type Joined = (u32, u32, u32, Option<bool>);

/// Every set of single pieces (as bits) with all rectangles that edge-to-edge joins make of it, by trying all.
fn all_joins(pieces: &[(u32, u32, bool)], sheet: (u32, u32), stages: Option<u32>) -> Vec<Vec<Joined>> {
    let mut made: Vec<Vec<Joined>> = vec![Vec::new(); 1 << pieces.len()];
    for set in 1..made.len() {
        let mut found: Vec<Joined> = Vec::new();
        if set.count_ones() == 1 {
            let (l, w, turn) = pieces[set.trailing_zeros() as usize];
            found.push((l, w, 0, None));
            if turn {
                found.push((w, l, 0, None));
            }
        }
        let mut first = (set - 1) & set;
        while first > 0 {
            for a in &made[first] {
                for b in &made[set & !first] {
                    for along in [true, false] {
                        let (l, w) = if along {
                            (a.0 + b.0, a.1.max(b.1))
                        } else {
                            (a.0.max(b.0), a.1 + b.1)
                        };
                        let depth = |c: &Joined| if c.3 == Some(along) { c.2 } else { c.2 + 1 };
                        found.push((l, w, depth(a).max(depth(b)), Some(along)));
                    }
                }
            }
            first = (first - 1) & set;
        }
        found.retain(|f| f.0 <= sheet.0 && f.1 <= sheet.1 && stages.is_none_or(|most| f.2 <= most));
        found.sort_unstable();
        found.dedup();
        made[set] = found;
    }
    made
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn few_pieces_are_cut_as_well_as_trial_says(
        pieces in prop::collection::vec((5_u32..50, 5_u32..40, any::<bool>(), 1_u32..60), 1..5),
        kerf in 0_u32..3, stages in prop::option::of(1_u32..4),
    ) {
        let sheet = (60, 45);
        let grown: Vec<_> = pieces.iter().map(|(l, w, turn, _)| (l + kerf, w + kerf, *turn)).collect();
        let made = all_joins(&grown, (sheet.0 + kerf, sheet.1 + kerf), stages);
        let worth = |set: usize| pieces.iter().enumerate().filter(|(i, _)| set >> i & 1 == 1).map(|(_, p)| p.3).sum::<u32>();
        let most = (1..made.len()).filter(|set| !made[*set].is_empty()).map(worth).max().unwrap_or(0);
        let mut sheets = vec![Some(0_u32); made.len()];
        for set in 1..made.len() {
            let parts = (1..=set).filter(|part| part & set == *part && !made[*part].is_empty());
            sheets[set] = parts.filter_map(|part| sheets[set & !part].map(|n| n + 1)).min();
        }
        let list: Vec<Value> = pieces.iter().enumerate().map(|(i, (l, w, turn, value))|
            json!({"name": format!("p{i}"), "length": l, "width": w, "count": 1, "turn": turn, "value": value})).collect();
        let mut input = json!({"unit": "mm", "kerf": kerf, "stages": stages, "goal": "most_value", "pieces": list,
            "stock": [{"name": "s", "length": sheet.0, "width": sheet.1, "count": null, "price": "12.50"}]});
        let out = ask(&input);
        prop_assert_eq!(number(&out, "value"), f64::from(most));
        prop_assert_eq!(&out["proven"], true);
        input["goal"] = json!("least_cost");
        match sheets[made.len() - 1] {
            Some(many) => {
                let out = ask(&input);
                prop_assert_eq!(&out["cost"], &json!(format!("{:.2}", f64::from(many) * 12.5)));
                prop_assert_eq!(&out["proven"], true);
            }
            None => prop_assert_eq!(door::figure("cut-sheets", &input.to_string()).unwrap_err().exit, 3),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn sheets_are_sound_whatever_is_asked(
        pieces in prop::collection::vec((1_u32..60, 1_u32..60, 0_u32..4, any::<bool>(), 0_u32..100), 0..5),
        kerf in 0_u32..3, stages in prop::option::of(1_u32..4), value in any::<bool>(), coil in any::<bool>(),
    ) {
        let pieces: Vec<Value> = pieces.iter().enumerate().map(|(i, (l, w, count, turn, value))|
            json!({"name": format!("p{i}"), "length": l, "width": w, "count": count, "turn": turn, "value": value})).collect();
        let mut stock = vec![json!({"name": "s", "length": 70, "width": 50, "count": null, "price": "12.50"})];
        if coil && !value {
            stock.push(json!({"name": "c", "length": null, "width": 40, "count": null, "price_per_length": "0.10"}));
        }
        let goal = if value { "most_value" } else { "least_cost" };
        let input = json!({"unit": "mm", "kerf": kerf, "stock": stock, "pieces": pieces, "goal": goal, "stages": stages});
        let mut left = 20_000;
        match door::figure_until("cut-sheets", &input.to_string(), &mut || { left -= 1; left <= 0 }) {
            Ok(out) => sound(&input, &serde_json::from_str(&out).unwrap()),
            Err(refusal) => prop_assert_eq!(refusal.exit, 3),
        }
    }
}
