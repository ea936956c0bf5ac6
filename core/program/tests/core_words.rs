//! What the core says, in Spanish: each sentence in its source has a form in `ui/words/es_core_*.json`, and no form is
//! left there that the core does not say any more. What comes out of them is looked at in a browser, by the journeys.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use bowseam_figures::{measure::Unit, shop::Book};
use std::{
    collections::{BTreeMap, BTreeSet},
    path::{Path, PathBuf},
};

/// Tables of whole sentences; those of names, and of the shop book's values, are looked at apart.
const SENTENCES: [&str; 5] = ["steps", "parts", "figures", "views", "refusals"];

/// Source that no screen hears: the command line with its JSON, the packet (English), what is kept and sent between programs.
const NOT_SHOWN: [&str; 19] = [
    "program/",
    "shared/",
    "packet/",
    "app/src/packet",
    "figures/src/bars.rs",
    "figures/src/crew.rs",
    "figures/src/door.rs",
    "figures/src/input.rs",
    "figures/src/search.rs",
    "figures/src/sheets.rs",
    "figures/src/photo_scale_figure.rs",
    "figures/src/proof/sheeting.rs",
    "figures/src/side_patch_figure.rs",
    "figures/src/takeoff_figure.rs",
    "jobs/src/clock.rs",
    "jobs/src/kinds.rs",
    "office/src/watch.rs",
    "office/src/session.rs",
    "send/src/code_words.rs",
];

/// Texts with words that are no sentences of the core: media types, headers, units, names of JSON fields.
const NO_SENTENCES: [&str; 18] = [
    // A head of CSV to order by.
    "item,size,quantity,needed by,arrives on,for unit",
    "text/html; charset=utf-8",
    "text/csv; charset=utf-8",
    "private, max-age=31536000, immutable",
    "Bearer",
    "Bearer {}",
    "Network",
    "Self",
    "sq in",
    "sq ft",
    "{} in",
    "{} mm",
    "{} lb",
    "{}{}{} in",
    "{}{}{} mm",
    "1 fl oz = 1.8046875 in³",
    "The header bowseam-ask is base64url without padding of an ask's JSON.",
    "{} h {} min",
];
/// Of `price.rs`, which `bowseam figure price` reads JSON by.
const OF_JSON: [&str; 2] = [
    "“tax_rounding” is missing: line or invoice.",
    "“taxed” is missing: true or false.",
];

fn core() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn table(name: &str) -> BTreeMap<String, String> {
    let path = core().join(format!("../ui/words/{name}.json"));
    let text = std::fs::read_to_string(&path).unwrap();
    serde_json::from_str(&text).unwrap()
}

/// A table of the core's words, without its own head.
fn core_table(part: &str) -> BTreeMap<String, String> {
    let mut table = table(&format!("es_core_{part}"));
    let head = table.remove("_").unwrap();
    assert!(
        head.contains("without a native technician of a shop, and read by none"),
        "{part}: {head}"
    );
    table
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() {
            sources(&path, found);
        } else if name.ends_with(".rs") && !name.ends_with("_tests.rs") {
            found.push(path);
        }
    }
}

/// Text in quotes of a source without its tests: line ends that are escaped are gone, holes are `{}`.
fn quoted(source: &str) -> Vec<String> {
    let tests = source.match_indices("#[cfg(test)]").map(|(at, _)| at).find(|at| {
        source[*at..]
            .lines()
            .skip(1)
            .find(|line| !line.starts_with("#["))
            .is_some_and(|line| line.ends_with('{'))
    });
    let text: Vec<char> = source[..tests.unwrap_or(source.len())].chars().collect();
    let (mut found, mut at) = (Vec::new(), 0);
    while at < text.len() {
        match text[at] {
            '/' if text.get(at + 1) == Some(&'/') => {
                at += text[at..].iter().take_while(|c| **c != '\n').count()
            }
            // A letter in quotes, not a lifetime.
            '\'' if text.get(at + 1) == Some(&'\\') => {
                at += 3 + text[at + 3..].iter().take_while(|c| **c != '\'').count()
            }
            '\'' if text.get(at + 2) == Some(&'\'') => at += 3,
            'r' if text.get(at + 1) == Some(&'#') && text.get(at + 2) == Some(&'"') => {
                let mut end = at + 3;
                while !(text[end] == '"' && text[end + 1] == '#') {
                    end += 1;
                }
                at = end + 2;
            }
            '"' => {
                let (said, after) = one_quoted(&text, at + 1);
                let before: String = text[at.saturating_sub(12)..at].iter().collect();
                if !before.trim_end().ends_with("reason =") {
                    found.push(holes(&said));
                }
                at = after;
            }
            _ => at += 1,
        }
    }
    found
}

fn one_quoted(text: &[char], mut at: usize) -> (String, usize) {
    let mut said = String::new();
    while text[at] != '"' {
        if text[at] != '\\' {
            said.push(text[at]);
            at += 1;
            continue;
        }
        match text[at + 1] {
            '\n' => at += 2 + text[at + 2..].iter().take_while(|c| c.is_whitespace()).count(),
            end @ ('n' | 'r') => {
                said.push(if end == 'n' { '\n' } else { '\r' });
                at += 2;
            }
            other => {
                said.push(other);
                at += 2;
            }
        }
    }
    (said, at + 1)
}

/// `{length}` and `{0}` are the same hole to a table.
fn holes(said: &str) -> String {
    let mut parts = said.split('{');
    let mut form = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        match part.split_once('}') {
            Some((_, rest)) => form.push_str(&format!("{{}}{rest}")),
            None => form.push_str(part),
        }
    }
    form.trim().to_owned()
}

fn is_statement(form: &str) -> bool {
    let words = [
        "SELECT ",
        "INSERT ",
        "UPDATE ",
        "DELETE ",
        "CREATE ",
        "PRAGMA ",
        " WHERE ",
        "WHERE ",
        "ORDER BY",
        "hex(",
        "'{}'",
        "WHEN {}",
        "instr(",
        "summary_version",
        "BEGIN ",
        "ALTER ",
        "DROP ",
        "ATTACH ",
        "WITH ",
        "VACUUM ",
    ];
    words.iter().any(|word| form.contains(word))
}

/// More than a key, a code or a unit: words with a space between, or one with a capital.
fn is_sentence(form: &str) -> bool {
    let plain = form.replace("{}", "");
    let small = |text: &str| text.chars().filter(char::is_ascii_lowercase).count() >= 2;
    let one = form.chars().all(|c| c.is_ascii_alphabetic() || c == '-')
        && form.len() > 2
        && form.starts_with(|c: char| c.is_ascii_uppercase());
    ((small(&plain)
        && form.contains(' ')
        && plain
            .split(|c: char| !c.is_ascii_lowercase())
            .any(|word| word.len() > 1))
        || (one && small(form)))
        && !is_statement(form)
}

/// All that is in quotes in the core, and the sentences among it that a screen can hear, each with its file.
fn heard() -> (BTreeSet<String>, BTreeMap<String, String>) {
    let (mut all, mut sentences, mut files) = (BTreeSet::new(), BTreeMap::new(), Vec::new());
    for crate_ in [
        "app", "figures", "jobs", "office", "photos", "send", "packet", "shared", "program",
    ] {
        sources(&core().join(crate_).join("src"), &mut files);
    }
    assert!(files.len() > 200, "{} files", files.len());
    for file in files {
        let name = file.strip_prefix(core()).unwrap().to_string_lossy().into_owned();
        for form in quoted(&std::fs::read_to_string(&file).unwrap()) {
            let known = NO_SENTENCES.contains(&form.as_str()) || OF_JSON.contains(&form.as_str());
            if is_sentence(&form) && !known && !NOT_SHOWN.iter().any(|part| name.starts_with(part)) {
                sentences.insert(form.clone(), name.clone());
            }
            all.insert(form);
        }
    }
    (all, sentences)
}

/// Numbers of the holes that a Spanish form fills, in order.
fn filled(spanish: &str) -> Vec<usize> {
    let mut all: Vec<usize> = spanish
        .split('{')
        .skip(1)
        .map(|rest| {
            rest.split_once('}')
                .unwrap()
                .0
                .trim_start_matches('=')
                .parse()
                .unwrap()
        })
        .collect();
    all.sort_unstable();
    all
}

#[test]
fn every_sentence_of_the_core_has_a_spanish_form_and_no_form_is_left_over() {
    let (all, sentences) = heard();
    assert!(sentences.len() > 1900, "{} sentences", sentences.len());
    let tables: Vec<_> = SENTENCES.iter().map(|part| core_table(part)).collect();
    let names = core_table("names");
    let has = |form: &str| names.contains_key(form) || tables.iter().any(|table| table.contains_key(form));
    let none: Vec<_> = sentences.iter().filter(|(form, _)| !has(form)).collect();
    assert!(none.is_empty(), "no Spanish for {none:#?}");

    let as_key = |form: &str| form.replace(' ', "_");
    let dead: Vec<_> = tables
        .iter()
        .chain([&names])
        .flat_map(BTreeMap::keys)
        .filter(|form| !all.contains(*form) && !all.contains(&as_key(form)))
        .collect();
    assert!(dead.is_empty(), "the core does not say {dead:#?}");
}

#[test]
fn a_form_fills_the_same_holes_in_both_tongues_and_stands_in_one_table() {
    let mut seen = BTreeSet::new();
    for part in SENTENCES.into_iter().chain(["names", "book"]) {
        for (english, spanish) in core_table(part) {
            let holes: Vec<usize> = (1..=english.matches("{}").count()).collect();
            assert_eq!(filled(&spanish), holes, "{part}: {english}");
            assert!(!spanish.trim().is_empty(), "{part}: {english}");
            assert_eq!(
                english.ends_with('.'),
                spanish.ends_with('.'),
                "{part}: {english}"
            );
            assert!(seen.insert(english.clone()), "{english} stands in two tables");
        }
    }
}

#[test]
fn the_values_of_the_shop_book_have_spanish_names() {
    let names: BTreeSet<String> = Book::default()
        .rows(Unit::In)
        .into_iter()
        .map(|row| row.name)
        .collect();
    let others: BTreeSet<String> = SENTENCES
        .into_iter()
        .chain(["names"])
        .flat_map(|part| core_table(part).into_keys())
        .collect();
    let book: BTreeSet<String> = core_table("book").into_keys().collect();
    assert!(names.len() > 200);
    assert_eq!(book, names.difference(&others).cloned().collect());
}

#[test]
fn a_word_is_the_same_whether_the_core_or_a_screen_says_it() {
    let (mut screens, mut both) = (BTreeMap::<String, BTreeSet<String>>::new(), 0);
    for (english, spanish) in [("en", "es"), ("en_work", "es_work")] {
        let spanish = table(spanish);
        for (key, said) in table(english) {
            // Names of parts, damage and faces: elsewhere a short word has the meaning of its place.
            if ["part.", "damage.", "surface.", "standing."]
                .iter()
                .any(|of| key.starts_with(of))
            {
                screens
                    .entry(said.to_lowercase())
                    .or_default()
                    .insert(spanish[&key].to_lowercase());
            }
        }
    }
    for part in SENTENCES.into_iter().chain(["names", "book"]) {
        for (english, spanish) in core_table(part) {
            if let Some(said) = screens.get(&english.to_lowercase()) {
                assert!(
                    said.contains(&spanish.to_lowercase()),
                    "{english}: {spanish}, but {said:?} on the screens"
                );
                both += 1;
            }
        }
    }
    assert!(both > 50, "{both} words");
}
