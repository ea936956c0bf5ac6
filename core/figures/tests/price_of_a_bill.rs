//! Money worked out to the cent.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use bowseam_figures::price;
use proptest::prelude::*;
use serde_json::{Value, json};

fn bill(rounding: &str) -> Value {
    json!({"lines": [{"item": "roof sheet", "quantity": "3", "unit_price": "12.345", "taxed": true},
                     {"item": "seam tape", "quantity": "1", "unit_price": "0.10", "taxed": true},
                     {"item": "rivets", "quantity": "78", "unit_price": "0.11", "taxed": false}],
        "hours": [{"task": "strip out", "hours": "2.5", "rate": "95.00", "taxed": false}],
        "tax_rate": "0.0825", "tax_rounding": rounding,
        "supplies": {"share_of_labour": "0.05", "cap": "60.00", "taxed": true}})
}

/// SSUTA s. 324: to the third decimal, up if it is more than 4; per item or per invoice. By hand: 3 x 12.345 =
/// 37.035 -> 37.04; hours 237.50; supplies 11.875 -> 11.88. Tax by line 3.0558 -> 3.06, .00825 -> .01,
/// .9801 -> .98: 4.05; by invoice 49.02 x .0825 = 4.04415 -> 4.04.
#[test]
fn tax_by_line_and_by_invoice_differ_by_the_cent_that_they_should() {
    let line = price::figure(&bill("line")).unwrap();
    assert_eq!(line["material"], "45.72");
    assert_eq!(line["labour"], "237.50");
    assert_eq!(line["supplies"], "11.88");
    assert_eq!(line["tax"], "4.05");
    assert_eq!(line["total"], "299.15");
    assert_eq!(line["lines"][0]["amount"], "37.04");
    let invoice = price::figure(&bill("invoice")).unwrap();
    assert_eq!(invoice["tax"], "4.04");
    assert_eq!(invoice["total"], "299.14");
}

#[test]
fn half_a_cent_goes_up_once_and_nothing_under_it_does() {
    let one = |quantity: &str, price: &str| {
        let out = price::figure(
            &json!({"lines": [{"item": "a", "quantity": quantity, "unit_price": price, "taxed": false}],
            "tax_rate": "0", "tax_rounding": "line"}),
        )
        .unwrap();
        out["total"].as_str().unwrap().to_owned()
    };
    assert_eq!(one("1", "0.005"), "0.01");
    assert_eq!(one("1", "0.00499999999999999"), "0.00");
    assert_eq!(one("1", "1.00500"), "1.01");
    // Twenty-nine digits: a type that rounds the product first would round this one up twice.
    assert_eq!(one("0.000000000000000001", "0.000000000000000001"), "0.00");
    assert_eq!(one("1.00000000000000001", "2.6749999999999999"), "2.67");
    assert_eq!(
        one("999999999999999999", "999999999999999999"),
        "999999999999999998000000000000000001.00"
    );
}

#[test]
fn supplies_stop_at_the_cap_and_a_cap_of_null_is_none() {
    let mut given = bill("line");
    given["supplies"]["cap"] = json!("10.005");
    assert_eq!(price::figure(&given).unwrap()["supplies"], "10.01");
    given["supplies"]["cap"] = Value::Null;
    assert_eq!(price::figure(&given).unwrap()["supplies"], "11.88");
    given["supplies"] = Value::Null;
    assert_eq!(price::figure(&given).unwrap()["supplies"], "0.00");
}

#[test]
fn what_is_not_understood_is_refused_at_its_place() {
    let cases = [
        ("/lines/1/quantity", json!("-1")),
        ("/lines/0/unit_price", json!("1e3")),
        ("/lines/0/taxed", json!("yes")),
        ("/hours/0/rate", json!("1,50")),
        ("/hours/0/hours", json!(2.5)),
        ("/tax_rate", json!("8.25")),
        ("/tax_rounding", json!("each")),
        ("/lines/2/unit_price", json!("1234567890.1234567891")),
        ("/supplies/share_of_labour", json!("1.01")),
        ("/lines", json!({})),
    ];
    for (pointer, value) in cases {
        let mut given = bill("line");
        *given.pointer_mut(pointer).unwrap() = value;
        let error = price::figure(&given).unwrap_err();
        assert_eq!(error.where_.as_deref(), Some(pointer), "{error}");
    }
    let mut given = bill("line");
    given["lines"][0]["dis/count"] = json!("1");
    assert_eq!(
        price::figure(&given).unwrap_err().where_.as_deref(),
        Some("/lines/0/dis~1count")
    );
    given = bill("line");
    given.as_object_mut().unwrap().remove("tax_rate");
    assert_eq!(
        price::figure(&given).unwrap_err().where_.as_deref(),
        Some("/tax_rate")
    );
}

/// Any JSON that a hostile or broken caller could send.
pub fn any_json() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
        any::<f64>().prop_map(|f| json!(f)),
        "[-0-9./eE ]{0,30}".prop_map(Value::from),
        ".{0,12}".prop_map(Value::from)
    ];
    leaf.prop_recursive(3, 24, 4, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(Value::from),
            prop::collection::vec(
                (
                    prop::sample::select(vec!["lines", "hours", "item", "quantity", "x/~"]),
                    inner
                ),
                0..4
            )
            .prop_map(|pairs| Value::Object(pairs.into_iter().map(|(k, v)| (k.to_owned(), v)).collect()))
        ]
    })
}

proptest! {
    #[test]
    fn no_json_makes_the_price_panic(value in any_json(), place in 0_usize..9, rounding in prop::sample::select(vec!["line", "invoice"])) {
        let _ = price::figure(&value);
        let mut given = bill(rounding);
        let pointer = ["/lines", "/lines/0/quantity", "/lines/0", "/hours/0/rate", "/tax_rate", "/supplies", "/supplies/cap", "/tax_rounding", "/hours"][place];
        *given.pointer_mut(pointer).unwrap() = value;
        if let Err(error) = price::figure(&given) {
            prop_assert!(error.where_.is_some());
        }
    }

    #[test]
    fn amounts_agree_with_whole_number_arithmetic(quantity in 0_u64..1_000_000, price in 0_u64..1_000_000, rate in 0_u64..10_000) {
        let text = |n: u64, places: u32| format!("{}.{:0width$}", n / 10_u64.pow(places), n % 10_u64.pow(places), width = places as usize);
        let out = price::figure(&json!({"lines": [{"item": "a", "quantity": text(quantity, 3), "unit_price": text(price, 3), "taxed": true}],
            "tax_rate": text(rate, 4), "tax_rounding": "line"})).unwrap();
        let cents = (u128::from(quantity) * u128::from(price) + 5_000) / 10_000;
        let tax = (cents * u128::from(rate) + 5_000) / 10_000;
        prop_assert_eq!(out["material"].as_str().unwrap(), price::money(cents as i128));
        prop_assert_eq!(out["tax"].as_str().unwrap(), price::money(tax as i128));
    }
}
