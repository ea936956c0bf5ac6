//! Check digits and reflective sheeting against the rules they name.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use bowseam_figures::proof;
use proptest::prelude::*;
use serde_json::{Value, json};

fn vin(text: &str) -> Value {
    proof::vin(&json!({ "vin": text })).unwrap()
}

/// 49 CFR 565.15 weights; the example 1M8GDM9A_KP042788 -> X is from memory.
#[test]
fn the_textbook_number_has_check_digit_x() {
    let out = vin("1M8GDM9AXKP042788");
    assert_eq!(out["valid"], true);
    assert_eq!(out["check_digit"], "X");
    assert_eq!(out["year_candidates"], json!([1989, 2019]));
    assert_eq!(out["warnings"], json!([]));
    let wrong = vin("1M8GDM9A5KP042788");
    assert_eq!(
        (&wrong["valid"], &wrong["found"], &wrong["check_digit"]),
        (&json!(false), &json!("5"), &json!("X"))
    );
}

/// Seventeen ones sum to 89 = 8 x 11 + 1 (D).
#[test]
fn seventeen_ones_are_valid_by_the_check_digit_alone() {
    let out = vin("11111111111111111");
    assert_eq!(out["valid"], true);
    assert_eq!(out["year_candidates"], json!([2001, 2031]));
}

#[test]
fn oddities_of_year_and_serial_are_warnings_and_leave_the_number_valid() {
    let zeros = vin("00000000000000000");
    assert_eq!(
        (&zeros["valid"], &zeros["year_candidates"]),
        (&json!(true), &json!([]))
    );
    assert_eq!(zeros["warnings"].as_array().unwrap().len(), 1);
    assert!(
        vin("1M8GDM9AXKP042A88")["warnings"]
            .to_string()
            .contains("Places 14 to 17")
    );
    // A maker of few vehicles has letters in places 12 to 14, its serial is the last three.
    assert!(
        !vin("1M9GDM9AXKPA4A788")["warnings"]
            .to_string()
            .contains("Places")
    );
    assert!(
        vin("1M9GDM9AXKPA4A7B8")["warnings"]
            .to_string()
            .contains("Places 15 to 17")
    );
}

#[test]
fn letters_i_o_q_wrong_lengths_and_other_characters_are_errors_that_say_so() {
    for (text, says) in [
        ("1M8GDM9AXKP04278I", "I"),
        ("OM8GDM9AXKP042788", "O"),
        ("1M8GDM9AXKQ042788", "Q"),
        ("1M8GDM9AXKP04278", "17 characters"),
        ("1M8GDM9AXKP0427888", "17 characters"),
        ("", "17 characters"),
        (&"1".repeat(200), "17 characters"),
        ("1M8GDM9A_KP042788", "_"),
        ("1M8GDM9AXKP0427é8", "é"),
    ] {
        let error = proof::vin(&json!({ "vin": text })).unwrap_err();
        assert!(error.sentence.contains(says), "{error}");
        assert_eq!(error.where_.as_deref(), Some("/vin"));
    }
    assert!(proof::vin(&json!({"vin": 1})).is_err());
    assert_eq!(
        proof::vin(&json!({"vin": "1", "x": 1}))
            .unwrap_err()
            .where_
            .as_deref(),
        Some("/x")
    );
}

/// 300 mm segments in pairs (red, white) with a bare stretch of the same length between the pairs, 53 ft.
fn side(step: i64, from: i64, to: i64) -> Vec<Value> {
    let mut pieces = Vec::new();
    let mut at = from;
    while at + 600 <= to {
        pieces.push(
            json!({"from": at, "to": at + 300, "colour": "red", "width": 50, "centre_above_ground": 1200}),
        );
        pieces.push(json!({"from": at + 300, "to": at + 600, "colour": "white", "width": 50, "centre_above_ground": 1200}));
        at += step;
    }
    pieces
}

fn rear() -> Value {
    let pieces: Vec<Value> = (0..8).map(|i| {
        let colour = if i % 2 == 0 { "red" } else { "white" };
        json!({"from": i * 320, "to": i * 320 + 320, "colour": colour, "width": 50, "centre_above_ground": 1100})
    }).collect();
    json!({"width": 2590, "pieces": pieces, "upper_corners": 4, "guard_strip_width": 38})
}

fn given(pieces: Vec<Value>, rear: Value) -> Value {
    json!({"unit": "mm", "length": 16154, "built": "2019-05-01", "side_pieces": pieces, "rear": rear})
}

fn rules(out: &Value) -> Vec<&str> {
    out["faults"]
        .as_array()
        .unwrap()
        .iter()
        .map(|fault| fault["rule"].as_str().unwrap())
        .collect()
}

/// 49 CFR 571.108 S8.2: at least half of the length, 53 ft -> 8077 mm (318 in) a side.
#[test]
fn an_even_side_and_a_full_rear_have_no_fault() {
    let out = proof::sheeting(&given(side(1150, 0, 16154), rear())).unwrap();
    assert_eq!(out["rule"], "49 CFR 571.108 S8.2");
    assert_eq!(
        (&out["required_side"], &out["found_side"], &out["short_by"]),
        (&json!(8077), &json!(8400), &json!(0))
    );
    assert_eq!(out["faults"], json!([]), "{out}");
}

#[test]
fn inches_give_the_same_answer_as_millimetres() {
    let out = proof::sheeting(&json!({"length": 636, "built": "1993-12-01", "side_pieces": [
        {"from": 0, "to": 12, "colour": "red", "width": 2, "centre_above_ground": "4' 2"}], "rear": null}))
    .unwrap();
    assert_eq!(
        (&out["required_side"], &out["found_side"], &out["short_by"]),
        (&json!(318), &json!(12), &json!(306))
    );
    assert_eq!(out["rule"], "49 CFR 571.108 S8.2");
}

#[test]
fn the_day_before_1_december_1993_is_the_older_rule_and_its_guard_needs_no_strip() {
    let mut input = given(side(1150, 0, 16154), rear());
    input["built"] = json!("1993-11-30");
    input["rear"]["guard_strip_width"] = json!(10);
    let out = proof::sheeting(&input).unwrap();
    assert_eq!(
        (&out["rule"], &out["faults"]),
        (&json!("49 CFR 393.13"), &json!([]))
    );
    assert!(out["warnings"].to_string().contains("2025"));
    input["built"] = json!("1993-12-01");
    assert_eq!(rules(&proof::sheeting(&input).unwrap()), ["S8.2.3.1"]);
}

#[test]
fn each_number_of_the_rule_is_a_fault_on_one_side_of_its_limit_only() {
    // place in the input, fits, does not
    let cases = [
        ("/side_pieces/0/width", json!(50), json!(49.9), "S8.2.1"),
        (
            "/side_pieces/0/centre_above_ground",
            json!(375),
            json!(374),
            "S8.2.3.2",
        ),
        (
            "/side_pieces/0/centre_above_ground",
            json!(1525),
            json!(1526),
            "S8.2.3.2",
        ),
        ("/side_pieces/0/to", json!(150), json!(149), "S8.2.1.4.1"),
        ("/side_pieces/27/to", json!(15700), json!(15701), "S8.2.1.4.1"),
        ("/rear/upper_corners", json!(4), json!(3), "S8.2.3.1"),
        ("/rear/guard_strip_width", json!(38), json!(37.9), "S8.2.3.1"),
        ("/rear/pieces/7/to", json!(2490), json!(2489), "S8.2.3.1"),
    ];
    for (pointer, fits, not, rule) in cases {
        let mut input = given(side(1150, 0, 16154), rear());
        *input.pointer_mut(pointer).unwrap() = fits;
        assert_eq!(
            rules(&proof::sheeting(&input).unwrap()),
            Vec::<&str>::new(),
            "{pointer}"
        );
        *input.pointer_mut(pointer).unwrap() = not;
        assert_eq!(rules(&proof::sheeting(&input).unwrap()), [rule], "{pointer}");
    }
}

#[test]
fn pieces_that_lap_count_once_and_touching_pieces_of_one_colour_are_one_segment() {
    let mut pieces = side(1150, 0, 16154);
    pieces.push(pieces[0].clone());
    assert_eq!(
        proof::sheeting(&given(pieces, rear())).unwrap()["found_side"],
        8400
    );
    let mut pieces = side(1150, 0, 16154);
    pieces[1]["colour"] = json!("red");
    assert_eq!(
        rules(&proof::sheeting(&given(pieces, rear())).unwrap()),
        ["S8.2.1.4.1"]
    );
}

#[test]
fn two_thirds_of_one_colour_fit_and_more_does_not() {
    let strip = |red: i64| {
        let pieces = vec![
            json!({"from": 0, "to": red, "colour": "red", "width": 50, "centre_above_ground": 900}),
            json!({"from": red, "to": 600, "colour": "white", "width": 50, "centre_above_ground": 900}),
        ];
        json!({"unit": "mm", "length": 600, "built": "2019-05", "side_pieces": pieces, "rear": null})
    };
    assert_eq!(rules(&proof::sheeting(&strip(400)).unwrap()), Vec::<&str>::new());
    assert_eq!(rules(&proof::sheeting(&strip(401)).unwrap()), ["S8.2.1.4.1"]);
}

#[test]
fn half_the_length_at_one_end_is_not_spread_evenly() {
    let out = proof::sheeting(&given(side(600, 0, 8400), rear())).unwrap();
    assert_eq!(out["short_by"], 0);
    assert_eq!(rules(&out), ["S8.2.3.2"]);
    assert_eq!(
        rules(&proof::sheeting(&given(side(1150, 0, 9000), rear())).unwrap()),
        ["S8.2.3.2", "S8.2.3.2"]
    );
}

#[test]
fn what_is_not_understood_in_sheeting_is_refused_at_its_place() {
    let cases = [
        ("/built", json!("2019-13-01")),
        ("/built", json!("2019-02-29")),
        ("/built", json!("01/05/2019")),
        ("/length", json!(0)),
        ("/length", json!(-5)),
        ("/length", json!(200_001)),
        ("/side_pieces/0/colour", json!("blue")),
        ("/side_pieces/1/to", json!(300)),
        ("/side_pieces/27/to", json!(16155)),
        ("/side_pieces/3/width", json!("wide")),
        ("/rear/upper_corners", json!(2.5)),
        ("/rear/width", json!(0)),
        ("/unit", json!("cm")),
        ("/rear/pieces", json!("all")),
    ];
    for (pointer, value) in cases {
        let mut input = given(side(1150, 0, 16154), rear());
        *input.pointer_mut(pointer).unwrap() = value;
        let error = proof::sheeting(&input).unwrap_err();
        assert_eq!(error.where_.as_deref(), Some(pointer), "{error}");
    }
    let mut input = given(side(1150, 0, 16154), rear());
    input["rear"]["lamp"] = json!(1);
    assert_eq!(
        proof::sheeting(&input).unwrap_err().where_.as_deref(),
        Some("/rear/lamp")
    );
}

proptest! {
    #[test]
    fn no_text_makes_the_number_check_panic_and_one_wrong_digit_is_found(text in ".{0,20}", serial in "[0-9]{4}", add in 1_u32..10) {
        let _ = proof::vin(&json!({ "vin": text }));
        let number = format!("1M8GDM9A0KP04{serial}");
        let digit = vin(&number)["check_digit"].as_str().unwrap().to_owned();
        let right = number.replacen("A0K", &format!("A{digit}K"), 1);
        prop_assert_eq!(&vin(&right)["valid"], &json!(true));
        // Weight 2 has no common factor with 11, so any other last digit changes the sum.
        let last = right.chars().last().unwrap().to_digit(10).unwrap();
        let wrong = format!("{}{}", &right[..16], (last + add) % 10);
        prop_assert_eq!(&vin(&wrong)["valid"], &json!(false));
    }

    #[test]
    fn no_pieces_make_the_sheeting_panic_and_covered_plus_short_is_never_under_half(pieces in prop::collection::vec((0_i64..16154, 1_i64..900, any::<bool>()), 0..40)) {
        let pieces = pieces.into_iter().map(|(from, long, red)| json!({"from": from, "to": (from + long).min(16154),
            "colour": if red { "red" } else { "white" }, "width": 50})).collect();
        let out = proof::sheeting(&given(pieces, Value::Null)).unwrap();
        let sum = out["found_side"].as_f64().unwrap() + out["short_by"].as_f64().unwrap();
        prop_assert!(sum >= 8077.0 && out["found_side"].as_f64().unwrap() <= 16154.0);
    }

    #[test]
    fn no_json_in_any_place_makes_the_sheeting_panic(number in any::<f64>(), text in "[-0-9'\"/. a-z]{0,24}", place in 0_usize..8, pick in 0_u8..5) {
        let value = match pick { 0 => json!(number), 1 => json!(text), 2 => Value::Null, 3 => json!([number]), _ => json!({"x": text}) };
        let pointer = ["", "/length", "/built", "/side_pieces", "/side_pieces/0/from", "/side_pieces/0", "/rear", "/rear/guard_strip_width"][place];
        let mut input = given(side(1150, 0, 16154), rear());
        *input.pointer_mut(pointer).unwrap() = value;
        let _ = proof::sheeting(&input);
    }
}
