#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use super::*;
use crate::basis::{Amount, Given};
use crate::body::BodyType;
use crate::estimate::{Chosen, estimate};
use crate::mark::{Age, DamageKind, Part, Place, Surface};
use crate::shop::Book;

fn tear(to: i64) -> Mark {
    let inch = Length::inches;
    Mark {
        id: "tear".to_owned(),
        place: Place {
            surface: Surface::Roof,
            from: inch(3),
            to: inch(to),
            low: inch(20),
            high: inch(60),
        },
        kind: DamageKind::Tear,
        part: Part::RoofSheet,
        age: Age::New,
        depth: None,
    }
}

fn worked(plan: &Plan, to: i64, book: &Book, not_measured: &[String]) -> Estimate {
    let chosen = Chosen {
        group: "roof".to_owned(),
        way: "front_section".to_owned(),
        by_hand: None,
    };
    estimate(plan, &[tear(to)], &[chosen], book, not_measured, Unit::In).unwrap()
}

fn plan() -> Plan {
    BodyType::DryVan53.plan()
}

fn of(changes: &[Changed], part: ChangedPart) -> Vec<&Changed> {
    changes.iter().filter(|change| change.part == part).collect()
}

#[test]
fn the_same_figures_have_no_changes() {
    let one = worked(&plan(), 149, &Book::default(), &[]);
    assert_eq!(compare(&one, &one), Vec::new());
}

#[test]
fn a_changed_shop_value_is_named_once_with_all_that_it_moves() {
    let mut dearer = Book::default();
    dearer.money.labour_rate = Given::shop(Amount::new(125, 0));
    dearer.hours.bow = Given::shop(Amount::new(1, 0));
    dearer.prices.bow = Given::shop(Amount::new(9_000, 2));
    dearer.money.tax_rate = Given::shop(Amount::new(8, 2));
    let was = worked(&plan(), 149, &Book::default(), &[]);
    let changes = compare(&was, &worked(&plan(), 149, &dearer, &[]));
    let shop = of(&changes, ChangedPart::Shop);
    let value = |what: &str| {
        let found: Vec<_> = shop.iter().filter(|change| change.what == what).collect();
        assert_eq!(found.len(), 1, "{what}: {shop:?}");
        (
            found[0].was.as_str(),
            found[0].now.as_str(),
            found[0].why.as_str(),
        )
    };
    let rate = value("labour, an hour");
    assert_eq!((rate.0, rate.1), ("118.00", "125"));
    assert!(
        rate.2.contains("seam") && rate.2.contains("make safe"),
        "{}",
        rate.2
    );
    assert_eq!(value("price of roof bow"), ("78.50", "90.00", "moves roof bow"));
    assert_eq!(
        value("hours of fit bows"),
        ("x 0.75 h", "x 1 h", "moves fit bows")
    );
    assert_eq!(value("tax rate"), ("x 0.0725", "x 0.08", "moves tax"));
    let bows = of(&changes, ChangedPart::Hours);
    let bows = bows
        .iter()
        .find(|change| change.what.ends_with("fit bows"))
        .unwrap();
    assert!(bows.was.starts_with("4.5 h at 118.00") && bows.now.starts_with("6 h at 125"));
    assert!(bows.why.contains("was x 0.75 h, is x 1 h"), "{}", bows.why);
}

#[test]
fn a_changed_measure_is_named_and_each_line_says_that_it_is_why() {
    let narrow = Plan {
        rail_width_outside: Length::inches(101),
        ..plan()
    };
    let measured = ["top rail outside to outside".to_owned()];
    let was = worked(&plan(), 149, &Book::default(), &measured);
    let changes = compare(&was, &worked(&narrow, 149, &Book::default(), &[]));
    let measures = of(&changes, ChangedPart::Measure);
    let width = measures
        .iter()
        .find(|change| change.what.ends_with("rail width outside"))
        .unwrap();
    assert_eq!((width.was.as_str(), width.now.as_str()), ("101 1/2 in", "101 in"));
    let taken = measures.iter().find(|change| change.what == measured[0]).unwrap();
    assert_eq!(taken.now, "measured on this unit");
    let lines = of(&changes, ChangedPart::Line);
    let tape = lines
        .iter()
        .find(|change| change.what.ends_with("seam tape"))
        .unwrap();
    assert_eq!((tape.was.as_str(), tape.now.as_str()), ("203 in", "202 in"));
    assert!(
        tape.why.contains("rail width outside: was 101 1/2 in, is 101 in"),
        "{}",
        tape.why
    );
    assert!(of(&changes, ChangedPart::Shop).is_empty(), "{changes:?}");
}

#[test]
fn a_longer_damage_moves_the_mark_the_way_the_lines_and_the_money_in_that_order() {
    let book = Book::default();
    let changes = compare(
        &worked(&plan(), 149, &book, &[]),
        &worked(&plan(), 170, &book, &[]),
    );
    assert!(
        changes
            .iter()
            .map(|change| change.part)
            .collect::<Vec<_>>()
            .is_sorted()
    );
    assert!(
        of(&changes, ChangedPart::Measure)[0]
            .now
            .contains("3 in to 170 in")
    );
    assert!(of(&changes, ChangedPart::Way)[0].now.ends_with("bow 8"));
    let sheet = of(&changes, ChangedPart::Line);
    let sheet = sheet
        .iter()
        .find(|change| change.what.ends_with("roof sheet"))
        .unwrap();
    assert!(
        sheet.why.contains("was 168 in to bow 7, is 192 in to bow 8"),
        "{}",
        sheet.why
    );
    let bow = of(&changes, ChangedPart::Material);
    let bow = bow
        .iter()
        .find(|change| change.what.ends_with("roof bow"))
        .unwrap();
    assert_eq!(
        (bow.was.as_str(), bow.now.as_str()),
        ("6 each at 78.50 = 471.00", "7 each at 78.50 = 549.50")
    );
}

#[test]
fn what_is_new_or_gone_shows_with_an_empty_side() {
    let book = Book::default();
    let (small, none) = (
        worked(&plan(), 149, &book, &[]),
        crate::estimate::estimate(&plan(), &[], &[], &book, &[], Unit::In).unwrap(),
    );
    let changes = compare(&none, &small);
    assert!(
        of(&changes, ChangedPart::Line)
            .iter()
            .all(|change| change.was.is_empty() && !change.now.is_empty())
    );
    let gone = compare(&small, &none);
    assert!(
        of(&gone, ChangedPart::Hours)
            .iter()
            .all(|change| change.now.is_empty() && !change.was.is_empty())
    );
}

#[test]
fn a_rail_flange_that_was_measured_since_is_named_as_a_measure() {
    let thick = Plan {
        rail_flange: Some(Length::thousandths(188)),
        ..plan()
    };
    let was = worked(&plan(), 149, &Book::default(), &[]);
    let changes = compare(&was, &worked(&thick, 149, &Book::default(), &[]));
    let measures = of(&changes, ChangedPart::Measure);
    let flange = measures
        .iter()
        .find(|change| change.what.ends_with("flange of the rails"));
    let flange = flange.unwrap();
    assert_eq!(
        (flange.was.as_str(), flange.now.as_str()),
        ("as in the shop book", "0.188 in")
    );
}
