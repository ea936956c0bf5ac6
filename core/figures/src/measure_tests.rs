#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]
use super::*;
use proptest::prelude::*;

fn inch(text: &str) -> Length {
    Length::parse(text, Unit::In).unwrap_or_else(|e| panic!("{text}: {e}"))
}

fn code(text: &str, unit: Unit) -> String {
    Length::parse(text, unit).expect_err(text).code
}

#[test]
fn every_tape_notation_of_63_and_three_eighths_is_the_same_length() {
    let want = Length::sixty_fourths(63 * 64 + 24);
    for text in [
        "5' 3-3/8",
        "5' 3 3/8\"",
        "5'-3-3/8\"",
        "5′ 3⅜″",
        "5’3-3/8”",
        "63 3/8 in",
        "63-3/8",
        "63.375",
        "63.375\"",
        "5ft 3.375in",
        "5 feet 3-3/8 inches",
        "63⅜ in.",
        "63 6/16",
        "63 24/64 IN",
        "1609.725 mm",
        "160.9725 cm",
        "1.609725 m",
        "5' 3-3/8''",
    ] {
        assert_eq!(inch(text), want, "{text}");
    }
}

#[test]
fn a_bare_number_is_in_the_default_unit_and_after_feet_in_inches() {
    assert_eq!(Length::parse("1610", Unit::Mm).unwrap(), Length::mm(1610));
    assert_eq!(Length::parse("5' 3", Unit::Mm).unwrap(), Length::inches(63));
    assert_eq!(inch("1.61 m"), Length::mm(1610));
    assert_eq!(inch(".5"), Length::sixty_fourths(32));
    assert_eq!(inch("5.5'"), Length::inches(66));
    assert_eq!(inch("0"), Length::ZERO);
    assert_eq!(inch("3/8"), Length::sixty_fourths(24));
}

#[test]
fn what_is_no_length_is_refused_with_its_code() {
    for (text, want) in [
        ("", "length_empty"),
        ("  ", "length_empty"),
        ("-3", "length_negative"),
        ("−3 in", "length_negative"),
        ("63,4", "length_comma"),
        ("1,610 mm", "length_comma"),
        ("NaN", "length_unread"),
        ("inf", "length_unread"),
        ("1e3", "length_unread"),
        ("0x10", "length_unread"),
        ("5 3", "length_unread"),
        ("in", "length_unread"),
        ("'", "length_unread"),
        ("5''' 3", "length_unread"),
        ("1/3", "length_fraction"),
        ("3/0", "length_fraction"),
        ("63 9/8", "length_fraction"),
        ("63.5 3/8", "length_fraction"),
        ("5' 12", "length_feet"),
        ("5.5' 3", "length_feet"),
        ("63 3/8 mm", "length_metric_fraction"),
        ("4000 in", "length_long"),
        ("101 m", "length_long"),
        ("99999999999999999999999999999999999", "length_unread"),
        ("1.2.3", "length_unread"),
        ("5' 3 mm", "length_metric_fraction"),
    ] {
        assert_eq!(code(text, Unit::In), want, "{text}");
    }
    assert_eq!(code("63 3/8", Unit::Mm), "length_metric_fraction");
    assert_eq!(code(&"1".repeat(1000), Unit::In), "length_text");
}

#[test]
fn a_length_is_said_to_the_sixteenth_and_marked_only_when_rounded() {
    assert_eq!(Length::sixty_fourths(168 * 64 + 40).say(Unit::In), "168 5/8 in");
    assert_eq!(Length::sixty_fourths(168 * 64 + 41).say(Unit::In), "~168 5/8 in");
    assert_eq!(Length::inches(168).say(Unit::In), "168 in");
    assert_eq!(Length::ZERO.say(Unit::In), "0 in");
    assert_eq!(Length::sixty_fourths(4).say(Unit::In), "1/16 in");
    assert_eq!(Length::mm(1610).say(Unit::Mm), "1610 mm");
    assert_eq!(Length::inches(168).say(Unit::Mm), "~4267 mm");
    assert_eq!(Length::inches(-2).say(Unit::In), "-2 in");
    assert_eq!(inch("168 5/8").say_feet(), "14' 0-5/8\"");
    assert_eq!(inch("167 31/32").say_feet(), "~14' 0\"");
    assert_eq!(inch("63 3/8").say_feet(), "5' 3-3/8\"");
    assert_eq!(inch("0.040").say_decimal(Unit::In), "0.040 in");
    assert_eq!(inch("0.1875").say_decimal(Unit::In), "0.1875 in");
    assert_eq!(inch("0.040").say_decimal(Unit::Mm), "~1.02 mm");
}

#[test]
fn in_json_a_length_is_its_number_of_nanometres() {
    assert_eq!(serde_json::to_string(&Length::inches(1)).unwrap(), "25400000");
    assert_eq!(
        serde_json::from_str::<Length>("396875").unwrap(),
        Length::sixty_fourths(1)
    );
    assert_eq!(serde_json::to_string(&Unit::In).unwrap(), "\"in\"");
}

#[test]
fn a_measure_that_is_none_is_refused_in_the_same_words_for_body_and_side() {
    for none in [Length::ZERO, Length::inches(-1), Length::from_nm(LONGEST + 1)] {
        assert_eq!(
            none.measured("side", "side_height").unwrap_err(),
            "The side's side height: more than 0 and at most 100 m is accepted."
        );
        let plan = crate::body::Plan {
            width: none,
            ..crate::body::BodyType::DryVan53.plan()
        };
        let refused = plan.check().unwrap_err();
        assert_eq!(refused.sentence, none.measured("body", "width").unwrap_err());
        assert_eq!(refused.where_.as_deref(), Some("/width"));
    }
    assert_eq!(
        Length::from_nm(LONGEST).measured("body", "width"),
        Ok(Length::from_nm(LONGEST))
    );
}

proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,60}") {
        let _ = Length::parse(&text, Unit::In);
        let _ = Length::parse(&text, Unit::Mm);
    }

    #[test]
    fn no_text_of_tape_marks_makes_the_reader_panic(text in "[0-9./ '\"½a-z,-]{0,24}") {
        if let Ok(length) = Length::parse(&text, Unit::In) {
            prop_assert!(length.is_sound());
        }
    }

    #[test]
    fn what_is_said_to_the_sixteenth_reads_back_the_same(count in 0_i64..60_000) {
        let length = Length::sixty_fourths(count * 4);
        prop_assert_eq!(Length::parse(&length.say(Unit::In), Unit::Mm).unwrap(), length);
        prop_assert_eq!(Length::parse(&length.say_feet(), Unit::Mm).unwrap(), length);
    }

    #[test]
    fn decimals_read_back_the_same_in_both_units(count in 0_i64..250_000) {
        let length = Length::sixty_fourths(count);
        for unit in [Unit::In, Unit::Mm] {
            prop_assert_eq!(Length::from_decimal(length.to_decimal(unit), unit).unwrap(), length);
        }
    }

    #[test]
    fn arithmetic_never_overflows(a in any::<i64>(), b in any::<i64>()) {
        let (x, y) = (Length::from_nm(a), Length::from_nm(b));
        let _ = (x.plus(y), x.minus(y), x.times(b), x.part(b), x.holds(y), x.apart(y), x.say(Unit::In), x.say(Unit::Mm), x.say_feet(), x.to_decimal(Unit::In));
        let _ = (x.say_decimal(Unit::In), x.say_decimal(Unit::Mm));
    }
}
