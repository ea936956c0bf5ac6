//! `cut-bars` against published instances and an independent check of every plan.
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
use std::path::{Path, PathBuf};

fn ask(input: &Value) -> Value {
    let out = door::figure("cut-bars", &input.to_string()).unwrap_or_else(|r| panic!("{input}: {}", r.body));
    let out: Value = serde_json::from_str(&out).unwrap();
    sound(input, &out);
    out
}

fn number(value: &Value, name: &str) -> f64 {
    value[name].as_f64().unwrap_or(0.0)
}

fn named<'a>(input: &'a Value, list: &str, name: &Value) -> &'a Value {
    input[list]
        .as_array()
        .unwrap()
        .iter()
        .find(|one| one["name"] == *name)
        .unwrap()
}

/// Every plan fits its bar, every count is met exactly, no more stock is used than there is, and the costs add up.
fn sound(input: &Value, out: &Value) {
    let (kerf, trim) = (number(input, "kerf"), number(input, "end_trim"));
    let (mut cost, mut net) = (0.0, 0.0);
    let mut cut = std::collections::HashMap::new();
    let mut used = std::collections::HashMap::new();
    for plan in out["plans"].as_array().unwrap() {
        let stock = named(input, "stock", &plan["stock"]);
        let times = plan["times"].as_u64().unwrap();
        let (mut sum, mut many) = (0.0, 0.0);
        for one in plan["cuts"].as_array().unwrap() {
            let count = one["count"].as_u64().unwrap();
            assert!(count > 0);
            sum += number(named(input, "pieces", &one["piece"]), "length") * count as f64;
            many += count as f64;
            *cut.entry(one["piece"].to_string()).or_insert(0) += count * times;
        }
        let length = number(stock, "length");
        assert!(sum + (many - 1.0) * kerf <= length - trim + 1e-6, "{plan}");
        let left = (length - trim - sum - many * kerf).max(0.0);
        assert!((left - number(plan, "left")).abs() < 1e-4, "{plan} {left}");
        let price: f64 = stock["price"].as_str().unwrap().parse().unwrap();
        let drop = input["keep_from"]
            .as_f64()
            .is_some_and(|from| left >= from - 1e-9);
        cost += price * times as f64;
        net += price * times as f64 * if drop { 1.0 - left / length } else { 1.0 };
        *used.entry(plan["stock"].to_string()).or_insert(0) += times;
    }
    for piece in input["pieces"].as_array().unwrap() {
        let got = cut.get(&piece["name"].to_string()).copied().unwrap_or(0);
        assert_eq!(got, piece["count"].as_u64().unwrap(), "{piece} in {out}");
    }
    for stock in input["stock"].as_array().unwrap() {
        let got: u64 = used.get(&stock["name"].to_string()).copied().unwrap_or(0);
        assert!(stock["count"].as_u64().is_none_or(|most| got <= most), "{stock}");
    }
    let money = |name: &str| out[name].as_str().unwrap().parse::<f64>().unwrap();
    assert!((money("cost") - cost).abs() < 0.006, "{cost} {out}");
    assert!((money("net_cost") - net).abs() < 0.006, "{net} {out}");
    assert!(money("lower_bound") <= money("net_cost"));
}

fn checks() -> Option<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/checks/cut_bars");
    if !folder.exists() {
        println!("skipped: the published instances are not there");
        return None;
    }
    Some(folder)
}

fn bar_of(length: u64, pieces: impl Iterator<Item = (u64, u64)>) -> Value {
    let pieces: Vec<Value> = pieces
        .enumerate()
        .map(|(i, (size, count))| json!({"name": format!("p{i}"), "length": size, "count": count}))
        .collect();
    json!({"unit": "mm", "stock": [{"name": "bar", "length": length, "count": null, "price": "1.00"}], "pieces": pieces})
}

/// “Cutting stock problem”, the worked example of 5600 mm rolls: 73 rolls, waste 0.401 %.
#[test]
fn the_5600_mm_rolls_take_73() {
    let Some(folder) = checks() else { return };
    let given: Value =
        serde_json::from_str(&std::fs::read_to_string(folder.join("cutting_stock_5600.json")).unwrap())
            .unwrap();
    let pieces = given["items"].as_array().unwrap().iter();
    let out = ask(&bar_of(
        5600,
        pieces.map(|p| (p[0].as_u64().unwrap(), p[1].as_u64().unwrap())),
    ));
    assert_eq!(out["net_cost"], "73.00");
    assert_eq!(out["lower_bound"], "73.00");
    assert_eq!(out["proven"], true);
    assert_eq!(out["stock_used"], json!([{"name": "bar", "count": 73}]));
    assert!((number(&out, "waste_share") - 0.00401).abs() < 1e-5);
}

/// Bin packing instances of BPPLib.jl (MIT) as cutting stock; optima proved with an arc-flow programme.
#[test]
fn the_pm_instances_are_proven() {
    let Some(folder) = checks() else { return };
    let optima = std::fs::read_to_string(folder.join("optima.csv")).unwrap();
    // The instances of 120 pieces run in tests/bench/bars.
    for line in optima.lines().filter(|l| l.starts_with("PM_u0")) {
        let cells: Vec<&str> = line.split(',').collect();
        let text = std::fs::read_to_string(folder.join(format!("{}.txt", cells[0]))).unwrap();
        let numbers: Vec<u64> = text.split_whitespace().map(|w| w.parse().unwrap()).collect();
        let out = ask(&bar_of(numbers[1], numbers[2..].iter().map(|size| (*size, 1))));
        assert_eq!(out["proven"], true, "{line}");
        assert_eq!(out["stock_used"][0]["count"].to_string(), cells[3], "{line}");
    }
}

#[test]
fn kerf_is_lost_between_pieces_and_not_behind_the_last() {
    let ask_for = |count: u32| {
        ask(
            &json!({"kerf": 0.125, "stock": [{"name": "bar", "length": 40.25, "count": null, "price": "5"}],
            "pieces": [{"name": "a", "length": 10, "count": count}]}),
        )
    };
    // 4 pieces and 3 cuts are 40.375.
    assert_eq!(ask_for(4)["net_cost"], "10.00");
    assert_eq!(ask_for(3)["net_cost"], "5.00");
    assert_eq!(ask_for(3)["plans"][0]["left"], 9.875);
}

#[test]
fn a_drop_is_worth_its_share_of_the_bar() {
    let out = ask(
        &json!({"unit": "mm", "stock": [{"name": "bar", "length": 1000, "count": null, "price": "10.00"}],
        "pieces": [{"name": "a", "length": 400, "count": 1}], "keep_from": 500}),
    );
    assert_eq!(
        (&out["cost"], &out["net_cost"]),
        (&json!("10.00"), &json!("4.00"))
    );
    let out = ask(
        &json!({"unit": "mm", "stock": [{"name": "bar", "length": 1000, "count": null, "price": "10.00"}],
        "pieces": [{"name": "a", "length": 400, "count": 1}], "keep_from": 601}),
    );
    assert_eq!(out["net_cost"], "10.00");
}

#[test]
fn what_finds_no_place_is_named_with_exit_3() {
    let ask = |count: u32, length: u32| {
        let input = json!({"unit": "mm", "stock": [{"name": "bar", "length": 1000, "count": count, "price": "10"}],
            "pieces": [{"name": "a", "length": length, "count": 5}]});
        door::figure("cut-bars", &input.to_string())
    };
    let refusal = ask(2, 500).unwrap_err();
    let body: Value = serde_json::from_str(&refusal.body).unwrap();
    assert_eq!(
        (refusal.exit, &body["missing"]),
        (3, &json!([{"piece": "a", "count": 1}]))
    );
    assert_eq!(ask(2, 1001).unwrap_err().exit, 3);
    assert!(ask(3, 500).is_ok());
}

#[test]
fn what_is_not_understood_is_refused_with_its_place() {
    let refusal = |text: &str| {
        let refusal = door::figure("cut-bars", text).unwrap_err();
        assert_eq!(refusal.exit, 2);
        serde_json::from_str::<Value>(&refusal.body).unwrap()["where"].clone()
    };
    assert_eq!(refusal(r#"{"stock":[],"pieces":[],"kerff":1}"#), "/kerff");
    assert_eq!(refusal(r#"{"stock":[]}"#), "/pieces");
    assert_eq!(
        refusal(r#"{"stock":[{"name":"b","length":1,"price":1}],"pieces":[]}"#),
        "/stock/0/price"
    );
    assert_eq!(
        refusal(r#"{"stock":[{"name":"b","length":1,"price":"-1"}],"pieces":[]}"#),
        "/stock/0/price"
    );
    assert_eq!(
        refusal(r#"{"stock":[],"pieces":[{"name":"a","length":0,"count":1}]}"#),
        "/pieces/0/length"
    );
}

/// Fewest bars by trying every place for every piece.
fn by_trial(room: u32, pieces: &[u32], bars: &mut Vec<u32>, best: &mut usize) {
    let Some((first, rest)) = pieces.split_first() else {
        *best = (*best).min(bars.len());
        return;
    };
    for i in 0..bars.len() {
        if bars[i] >= *first {
            bars[i] -= first;
            by_trial(room, rest, bars, best);
            bars[i] += first;
        }
    }
    if bars.len() + 1 < *best {
        bars.push(room - first);
        by_trial(room, rest, bars, best);
        bars.pop();
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn few_pieces_take_as_many_bars_as_trial_says(mut pieces in prop::collection::vec(10_u32..70, 1..9)) {
        pieces.sort_unstable_by(|a, b| b.cmp(a));
        let mut best = usize::MAX;
        by_trial(100, &pieces, &mut Vec::new(), &mut best);
        let out = ask(&bar_of(100, pieces.iter().map(|p| (u64::from(*p), 1))));
        prop_assert_eq!(out["stock_used"][0]["count"].as_u64().unwrap() as usize, best);
        prop_assert_eq!(&out["proven"], true);
    }

    #[test]
    fn plans_are_sound_whatever_the_stock(
        stock in prop::collection::vec((50_u32..300, prop::option::of(1_u32..6), 0_u32..5000), 1..4),
        pieces in prop::collection::vec((1_u32..200, 0_u32..6), 0..8),
        kerf in 0_u32..5, trim in 0_u32..10, keep in prop::option::of(0_u32..150),
    ) {
        let stock: Vec<Value> = stock.iter().enumerate().map(|(i, (length, count, price))|
            json!({"name": format!("s{i}"), "length": length, "count": count, "price": format!("{}.{:02}", price / 100, price % 100)})).collect();
        let pieces: Vec<Value> = pieces.iter().enumerate().map(|(i, (length, count))|
            json!({"name": format!("p{i}"), "length": length, "count": count})).collect();
        let input = json!({"unit": "mm", "kerf": kerf, "end_trim": trim, "stock": stock, "pieces": pieces, "keep_from": keep});
        let mut left = 4_000;
        match door::figure_until("cut-bars", &input.to_string(), &mut || { left -= 1; left <= 0 }) {
            Ok(out) => sound(&input, &serde_json::from_str(&out).unwrap()),
            Err(refusal) => prop_assert_eq!(refusal.exit, 3),
        }
    }
}
