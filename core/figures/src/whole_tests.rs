#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use super::*;
use crate::body::BodyType;
use crate::made::mark;
use crate::mark::{DamageKind, Part, Surface};
use crate::measure::Length;
use crate::ways::ways;

fn tear() -> Mark {
    mark(
        "tear",
        Surface::Roof,
        Part::RoofSheet,
        DamageKind::Tear,
        [3, 149, 20, 60],
    )
}

fn side(id: &str, from: i64) -> Mark {
    mark(
        id,
        Surface::Curbside,
        Part::SideSheet,
        DamageKind::Hole,
        [from, from + 8, 40, 48],
    )
}

fn worked(marks: &[Mark], chosen: &[Chosen]) -> WholeJob {
    let (plan, book) = (BodyType::DryVan53.plan(), Book::default());
    let choices = ways(&plan, marks, &book, Unit::In).unwrap();
    whole_job(&plan, marks, &choices, chosen, &book, Unit::In).unwrap()
}

fn estimate(marks: &[Mark], chosen: &[Chosen]) -> Estimate {
    crate::estimate::estimate(
        &BodyType::DryVan53.plan(),
        marks,
        chosen,
        &Book::default(),
        &[],
        Unit::In,
    )
    .unwrap()
}

fn way(group: &str, way: &str) -> Chosen {
    Chosen {
        group: group.to_owned(),
        way: way.to_owned(),
        by_hand: None,
    }
}

fn number(text: &str) -> Decimal {
    text.parse().unwrap()
}

/// Every combination of the ways that fit, priced one by one.
fn by_trying_all(marks: &[Mark]) -> Vec<Decimal> {
    let (plan, book) = (BodyType::DryVan53.plan(), Book::default());
    let choices = ways(&plan, marks, &book, Unit::In).unwrap();
    let mut all: Vec<Vec<Chosen>> = vec![Vec::new()];
    for choice in &choices {
        let fits = choice.ways.iter().filter(|one| one.fits && one.price.is_some());
        let keys: Vec<&str> = fits.map(|one| one.key.key()).collect();
        all = all
            .iter()
            .flat_map(|list| {
                keys.iter()
                    .map(|key| [list.as_slice(), &[way(&choice.group, key)]].concat())
            })
            .collect();
    }
    let mut prices: Vec<Decimal> = all
        .iter()
        .map(|list| number(&estimate(marks, list).total))
        .collect();
    prices.sort();
    prices
}

#[test]
fn the_cheapest_whole_job_is_the_cheapest_of_all_combinations() {
    let marks = [tear(), side("a", 100), side("b", 300)];
    let found = worked(&marks, &[]);
    let prices = by_trying_all(&marks);
    assert_eq!(number(&found.cheapest.as_ref().unwrap().price), prices[0]);
    assert_eq!(
        (found.priced, found.of),
        (found.of, u32::try_from(prices.len()).unwrap())
    );
    assert!(prices.len() >= 8 && prices[0] < prices[7], "{prices:?}");
}

#[test]
fn what_the_job_saves_against_its_single_ways_is_explained_to_the_cent() {
    let marks = [tear(), side("a", 100)];
    let found = worked(&marks, &[way("roof", "front_section"), way("a", "side_patch")]);
    let now = found.now.unwrap();
    let parts: Decimal = now
        .shared
        .iter()
        .map(|one| number(one.amount.as_ref().unwrap()))
        .sum();
    assert_eq!(parts, number(&now.saved));
    assert_eq!(number(&now.singles) - number(&now.price), number(&now.saved));
    let singles: Decimal = now.ways.iter().map(|one| number(&one.single)).sum();
    assert_eq!(singles, number(&now.singles));
    assert_eq!(
        number(&now.price),
        number(&estimate(&marks, &[way("roof", "front_section"), way("a", "side_patch")]).total)
    );
    assert!(
        now.shared.iter().any(|one| one.words.contains("make safe")),
        "{:?}",
        now.shared
    );
    assert!(
        now.shared
            .iter()
            .any(|one| one.words.contains("while the roof is off")),
        "{:?}",
        now.shared
    );
}

#[test]
fn two_marks_on_one_side_sheet_take_one_sheet_and_not_two() {
    let marks = [side("a", 100), side("b", 126)];
    let both = [way("a", "whole_side_sheet"), way("b", "whole_side_sheet")];
    let (one, two) = (estimate(&marks[..1], &both[..1]), estimate(&marks, &both));
    assert_eq!(one.total, two.total);
    assert!(two.groups[1].note.contains("counted once") && two.groups[1].goods.is_empty());
    // A patch inside the sheet that is replaced is no work of its own either.
    let patched = estimate(&marks, &[way("a", "whole_side_sheet"), way("b", "side_patch")]);
    assert_eq!(patched.total, one.total);
    // On the other side of the body it is.
    let mut across = marks.clone();
    across[1].place.surface = Surface::Roadside;
    assert!(
        number(&estimate(&across, &both).total) > number(&one.total) * Decimal::from(3) / Decimal::from(2)
    );
}

#[test]
fn sheets_that_overlap_are_replaced_as_one_run() {
    // Joints every 48 in: the second mark reaches over the joint at 144, so the run is 96 to 192.
    let marks = [
        side("a", 100),
        mark(
            "b",
            Surface::Curbside,
            Part::SideSheet,
            DamageKind::Tear,
            [140, 150, 40, 48],
        ),
    ];
    let both = [way("a", "whole_side_sheet"), way("b", "whole_side_sheet")];
    let job = estimate(&marks, &both);
    let run = job.groups[0].side.as_ref().unwrap();
    assert_eq!(
        (run.sheet.from, run.sheet.to, run.sheets),
        (Length::inches(96), Length::inches(192), 2)
    );
    assert_eq!(job.total, estimate(&marks[1..], &both[1..]).total);
}

#[test]
fn cartridges_are_opened_once_for_the_job() {
    let marks = [side("a", 100), side("b", 300), side("c", 400)];
    let patches: Vec<Chosen> = ["a", "b", "c"].map(|id| way(id, "side_patch")).to_vec();
    let many = |job: &Estimate| -> Decimal {
        let goods = job.groups.iter().flat_map(|group| &group.goods);
        goods
            .filter(|line| line.item == "sealant cartridges")
            .map(|line| number(&line.quantity))
            .sum()
    };
    let single: Decimal = (0..3)
        .map(|at| many(&estimate(&marks[at..=at], &patches[at..=at])))
        .sum();
    let job = estimate(&marks, &patches);
    let beads: Decimal = job
        .groups
        .iter()
        .map(|group| group.side.as_ref().unwrap().beads.to_decimal(Unit::In))
        .sum();
    // Bead 1/4 x 1/4, 10 % waste, 10.1 fl oz of 1.8046875 in³.
    let exact = beads * Decimal::new(6_875, 5) / (Decimal::new(101, 1) * Decimal::new(18_046_875, 7));
    assert_eq!(many(&job), exact.ceil());
    assert!(many(&job) < single, "{single}");
}

#[test]
fn a_roll_of_tape_is_opened_once_for_the_job() {
    let rail = mark(
        "rail",
        Surface::Curbside,
        Part::TopRail,
        DamageKind::Gouge,
        [200, 206, 106, 109],
    );
    let (marks, ways) = (
        [tear(), rail],
        [way("roof", "front_section"), way("rail", "splice")],
    );
    let rolls = |job: &Estimate| -> Decimal {
        let goods = job.groups.iter().flat_map(|group| &group.goods);
        goods
            .filter(|line| line.item == "foam tape")
            .map(|line| number(&line.quantity))
            .sum()
    };
    let alone = |at: usize| rolls(&estimate(&marks[at..=at], &ways[at..=at]));
    assert_eq!((alone(0), alone(1)), (Decimal::ONE, Decimal::ONE));
    assert_eq!(
        rolls(&estimate(&marks, &ways)),
        Decimal::ONE,
        "336 in and a splice of 600"
    );
}

/// By hand: 89.00 for 50 ft are 1.78 a foot, 192.24 for the 108 ft of the shelf.
#[test]
fn tape_is_figured_in_the_rolls_of_the_shelf_at_the_price_of_the_book() {
    let mut book = Book::default();
    let roll = |item: &str, feet: i64| crate::cut::Stock {
        id: String::new(),
        item: item.to_owned(),
        name: item.to_owned(),
        kind: crate::cut::StockKind::Coil,
        length: Length::inches(12 * feet),
        width: None,
        thickness: None,
        place: String::new(),
        count: 2,
        price: None,
        counted: 0,
    };
    book.take_rolls(&[roll("seam tape", 108), roll("foam tape", 50)]);
    assert_eq!(book.prices.seam_tape_roll_length.value, Length::inches(1296));
    assert_eq!(book.prices.seam_tape_roll.value.to_string(), "192.24");
    assert_eq!(book.prices.foam_tape_roll, Book::default().prices.foam_tape_roll);
}

#[test]
fn too_many_combinations_are_cut_down_and_counted() {
    let marks: Vec<Mark> = (0..9).map(|at| side(&format!("m{at}"), 100 + at * 48)).collect();
    let found = worked(&marks, &[]);
    assert!(
        found.of > 64 && found.priced <= 64,
        "{} of {}",
        found.priced,
        found.of
    );
    assert_eq!(found.cheapest.unwrap().ways.len(), 9);
}

#[test]
fn old_damage_is_named_and_left_out_and_the_maker_is_asked_where_that_is_the_only_way() {
    let mut old = side("old", 300);
    old.age = Age::Old;
    let guard = mark(
        "g",
        Surface::Rear,
        Part::RearGuard,
        DamageKind::Crack,
        [10, 20, 0, 5],
    );
    let found = worked(&[tear(), old, guard], &[]);
    assert!(
        found.left_out.iter().any(|line| line.contains("old damage")),
        "{:?}",
        found.left_out
    );
    let ways: Vec<String> = found
        .cheapest
        .unwrap()
        .ways
        .iter()
        .map(|one| one.way.clone())
        .collect();
    assert_eq!((ways.len(), ways[1].as_str()), (2, "ask_the_maker"));
}

#[test]
fn the_proposal_says_what_other_ways_would_cost_and_which_do_not_fit() {
    let found = worked(&[tear(), side("a", 300)], &[]);
    let others = found.cheapest.unwrap().others;
    assert!(
        others
            .iter()
            .any(|one| one.words.contains("Whole roof")
                && number(one.amount.as_ref().unwrap()) > Decimal::ZERO)
    );
    assert!(
        others
            .iter()
            .any(|one| one.words.starts_with("Patch") && one.words.contains("does not fit"))
    );
}
