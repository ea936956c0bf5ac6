//! RFC 8785 pairs and FIPS 180-4: the canonical form that names an estimate.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use bowseam_figures::canonical;
use proptest::prelude::*;
use serde_json::{Value, json};
use std::path::Path;

/// RFC 8785, the pairs published beside it (Apache-2.0).
#[test]
fn the_published_rfc_8785_pairs_come_out_byte_for_byte() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/checks/canonical_json");
    if !folder.is_dir() {
        eprintln!("skipped: the published pairs are not here");
        return;
    }
    for name in ["arrays", "french", "structures", "unicode", "values", "weird"] {
        let read = |end: &str| std::fs::read_to_string(folder.join(format!("{name}_{end}.json"))).unwrap();
        let value: Value = serde_json::from_str(&read("input")).unwrap();
        assert_eq!(
            canonical::text(&value).unwrap(),
            read("output").trim_end_matches('\n'),
            "{name}"
        );
    }
}

/// FIPS 180-4, and the empty message.
#[test]
fn sha_256_of_abc_is_that_of_fips_180_4() {
    assert_eq!(
        canonical::hex(b"abc"),
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
    assert_eq!(
        canonical::hex(b""),
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    );
    assert_eq!(
        canonical::sha256(&json!({"b": 1, "a": 2})).unwrap(),
        canonical::hex(br#"{"a":2,"b":1}"#)
    );
}

#[test]
fn the_order_of_fields_does_not_change_the_name_of_an_estimate_but_a_cent_does() {
    let name = |text: &str| canonical::sha256(&serde_json::from_str::<Value>(text).unwrap()).unwrap();
    assert_eq!(
        name(r#"{"total":"1.00","tax":"0.10"}"#),
        name(r#"{ "tax": "0.10", "total": "1.00" }"#)
    );
    assert_ne!(name(r#"{"total":"1.00"}"#), name(r#"{"total":"1.01"}"#));
}

#[test]
fn numbers_that_a_double_would_change_are_refused() {
    for bad in [
        json!(9_007_199_254_740_993_u64),
        json!({"a": [i64::MAX]}),
        json!([1, u64::MAX]),
    ] {
        assert_eq!(canonical::text(&bad).unwrap_err().code, "not_canonical");
    }
    assert_eq!(
        canonical::text(&json!(9_007_199_254_740_991_u64)).unwrap(),
        "9007199254740991"
    );
    assert!(canonical::text(&f64::NAN).is_err());
    assert!(canonical::text(&f64::INFINITY).is_err());
}

proptest! {
    #[test]
    fn canonical_text_read_back_has_the_same_canonical_text(keys in prop::collection::vec(".{0,8}", 0..8), n in any::<i32>(), f in any::<f64>()) {
        let map: serde_json::Map<String, Value> = keys.into_iter().map(|k| (k.clone(), json!([k, n]))).collect();
        let value = json!({"map": map, "f": if f.is_finite() { f } else { 0.5 }});
        let once = canonical::text(&value).unwrap();
        let again: Value = serde_json::from_str(&once).unwrap();
        prop_assert_eq!(canonical::text(&again).unwrap(), once);
    }
}
