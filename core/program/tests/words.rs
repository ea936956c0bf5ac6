//! The message files of the screens: every language says everything, with the same things filled in.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use std::{collections::BTreeMap, path::Path};

/// The messages of a file, by key.
fn messages(name: &str) -> BTreeMap<String, String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../ui/words");
    let text = std::fs::read_to_string(folder.join(name)).unwrap();
    serde_json::from_str(&text).unwrap()
}

/// What is filled into a message: `{who}`, `{when}`; in order, as another language may turn it round.
fn filled(message: &str) -> Vec<&str> {
    let mut all: Vec<&str> = message
        .split('{')
        .skip(1)
        .map(|rest| rest.split_once('}').expect("a brace is closed").0)
        .collect();
    all.sort_unstable();
    all
}

#[test]
fn spanish_says_all_that_english_says_and_fills_in_the_same() {
    for (english, spanish) in [("en.json", "es.json"), ("en_work.json", "es_work.json")] {
        let (english, spanish) = (messages(english), messages(spanish));
        assert!(english.len() > 500, "{} messages", english.len());
        let keys = |of: &BTreeMap<String, String>| of.keys().cloned().collect::<Vec<_>>();
        assert_eq!(keys(&english), keys(&spanish));
        for (key, message) in &english {
            assert_eq!(filled(message), filled(&spanish[key]), "{key}");
            assert!(!spanish[key].trim().is_empty(), "{key}");
        }
    }
}

#[test]
fn the_two_files_of_a_language_share_no_key() {
    for (one, other) in [("en.json", "en_work.json"), ("es.json", "es_work.json")] {
        let (one, other) = (messages(one), messages(other));
        let both: Vec<_> = one.keys().filter(|key| other.contains_key(*key)).collect();
        assert!(both.is_empty(), "{both:?}");
    }
}
