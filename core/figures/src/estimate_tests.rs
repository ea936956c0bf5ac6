#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]
use super::*;
use crate::basis::{Amount, Standing};
use crate::body::BodyType;
use crate::canonical::sha256;
use crate::made::mark;
use crate::mark::{DamageKind, Part, Place, Surface};
use crate::measure::Length;
use crate::ways::{Choice, Way, ways};
use proptest::prelude::*;

fn roof(from: i64, to: i64) -> Mark {
    mark(
        "tear",
        Surface::Roof,
        Part::RoofSheet,
        DamageKind::Tear,
        [from, to, 20, 60],
    )
}

fn small() -> Mark {
    mark(
        "hole",
        Surface::Roof,
        Part::RoofSheet,
        DamageKind::Hole,
        [100, 104, 40, 44],
    )
}

fn chosen(group: &str, way: &str) -> Chosen {
    Chosen {
        group: group.to_owned(),
        way: way.to_owned(),
        by_hand: None,
    }
}

fn plan() -> Plan {
    BodyType::DryVan53.plan()
}

fn work(marks: &[Mark], chosen: &[Chosen]) -> Estimate {
    estimate(&plan(), marks, chosen, &Book::default(), &[], Unit::In).unwrap()
}

fn choices(marks: &[Mark]) -> Vec<Choice> {
    ways(&plan(), marks, &Book::default(), Unit::In).unwrap()
}

fn way(choice: &Choice, key: WayKey) -> &Way {
    choice.ways.iter().find(|way| way.key == key).unwrap()
}

fn number(text: &str) -> Decimal {
    text.parse().unwrap()
}

#[test]
fn a_front_section_is_figured_from_the_takeoff_of_its_seam() {
    let found = work(&[roof(3, 149)], &[chosen("roof", "front_section")]);
    let group = &found.groups[0];
    assert_eq!(group.way_title, "Front section, seam at bow 7");
    assert_eq!(group.roof.as_ref().unwrap().rough_length, Length::inches(175));
    let good = |item: &str| {
        group
            .goods
            .iter()
            .find(|line| line.item == item)
            .unwrap()
            .quantity
            .clone()
    };
    // 17 893.75 in² / 144; 203 in and 336 in of tape are within one roll of 50 ft; 6 + 78 + 27 rivets and 6 bows
    // x 2 ends x 2.
    assert_eq!(good("roof sheet"), "124.26");
    assert_eq!(
        (good("seam tape"), good("foam tape")),
        ("1".to_owned(), "1".to_owned())
    );
    assert_eq!(
        (good("rivets"), good("roof bow"), good("sealant cartridges")),
        ("135".to_owned(), "6".to_owned(), "3".to_owned())
    );
    assert!(group.goods.iter().all(|line| line.item != "nose rail"));
    let hours = |task: &str| {
        group
            .hours
            .iter()
            .find(|line| line.task == task)
            .unwrap()
            .hours
            .clone()
    };
    assert_eq!(
        (hours("bow"), hours("strip_out"), hours("caulk")),
        ("4.5".to_owned(), "1.8".to_owned(), "0.6".to_owned())
    );
    assert!(found.lacks.is_empty());
}

#[test]
fn material_labour_supplies_and_tax_make_the_total_and_the_range_holds_it() {
    let found = work(&[roof(3, 149)], &[chosen("roof", "front_section")]);
    let parts = [&found.material, &found.labour, &found.supplies, &found.tax].map(|text| number(text));
    assert_eq!(parts.iter().sum::<Decimal>(), number(&found.total));
    let lines: Decimal = found.groups[0]
        .goods
        .iter()
        .map(|line| number(&line.amount))
        .sum();
    assert_eq!(lines, number(&found.material));
    let range = found.range.as_ref().unwrap();
    let (low, high) = (number(&range.low), number(&range.high));
    assert!(
        low < number(&found.total) && number(&found.total) < high,
        "{low} {high}"
    );
    let named = |word: &str| range.basis.iter().any(|step| step.what.contains(word));
    assert!(named("seed") && named("hours of each task") && named("harness: damaged with a chance of 0.25"));
    // 15 % of the total, half up to the cent.
    let share = number(&found.total) * Decimal::new(15, 2);
    assert_eq!(
        number(&found.allowance.amount),
        share.round_dp_with_strategy(2, rust_decimal::RoundingStrategy::MidpointAwayFromZero)
    );
}

#[test]
fn a_nose_rail_mark_brings_front_bow_and_corners_under_the_same_roof() {
    let rail = mark(
        "rail",
        Surface::Nose,
        Part::NoseRail,
        DamageKind::Bend,
        [10, 90, 106, 110],
    );
    let found = work(&[roof(3, 149), rail], &[chosen("roof", "front_section")]);
    assert_eq!(found.groups.len(), 1);
    let items: Vec<&str> = found.groups[0]
        .goods
        .iter()
        .map(|line| line.item.as_str())
        .collect();
    for item in [
        "nose rail",
        "front roof bow",
        "corner caps",
        "corner plates",
        "holding bolts",
    ] {
        assert!(items.contains(&item), "{item}");
    }
    assert!(found.groups[0].nose_rail && found.groups[0].front_bow);
}

#[test]
fn a_small_hole_clear_of_everything_may_be_patched_and_that_is_cheapest() {
    let choice = &choices(&[small()])[0];
    let patch = way(choice, WayKey::Patch);
    assert!(patch.fits && patch.best, "{:?}", patch.why);
    assert_eq!(choice.ways.iter().filter(|way| way.best).count(), 1);
    let price = |key| number(way(choice, key).price.as_deref().unwrap());
    assert!(
        price(WayKey::Patch) < price(WayKey::FrontSection)
            && price(WayKey::FrontSection) < price(WayKey::WholeRoof)
    );
}

#[test]
fn a_patch_that_does_not_fit_says_which_rule_it_breaks() {
    for (put, word) in [
        ([100, 130, 40, 44], "larger than"),
        ([118, 122, 40, 44], "reaches over"),
        ([100, 104, 2, 6], "top rail"),
        ([2, 6, 40, 44], "nose rail"),
    ] {
        let choice = &choices(&[mark("m", Surface::Roof, Part::RoofSheet, DamageKind::Hole, put)])[0];
        let patch = way(choice, WayKey::Patch);
        assert!(
            !patch.fits && patch.why.iter().any(|why| why.contains(word)),
            "{word}: {:?}",
            patch.why
        );
        assert_eq!(patch.price, None);
        assert!(way(choice, WayKey::FrontSection).fits);
    }
    let mut plan = plan();
    plan.roof_seams = vec![Length::inches(108)];
    let why = crate::patch::why_not(&plan, &small(), &Book::default().patch, Unit::In);
    assert!(why.iter().any(|why| why.contains("earlier seam")), "{why:?}");
}

#[test]
fn damage_with_no_sound_bow_behind_it_leaves_the_whole_roof() {
    let choice = &choices(&[roof(3, 630)])[0];
    assert!(!way(choice, WayKey::FrontSection).fits);
    assert!(way(choice, WayKey::WholeRoof).best);
}

#[test]
fn bows_between_two_marks_stay_and_only_those_under_a_mark_are_replaced() {
    let first = mark(
        "a",
        Surface::Roof,
        Part::RoofSheet,
        DamageKind::Tear,
        [3, 50, 20, 60],
    );
    let second = mark(
        "b",
        Surface::Roof,
        Part::RoofBow,
        DamageKind::Bend,
        [140, 150, 0, 102],
    );
    let found = work(&[first, second], &[chosen("roof", "front_section")]);
    let roof = found.groups[0].roof.as_ref().unwrap();
    assert_eq!((roof.bows_hit.clone(), roof.seam_bow), (vec![1, 2, 6], Some(7)));
}

#[test]
fn frame_kingpin_rear_guard_and_welded_rails_are_never_figured() {
    for (surface, part, kind) in [
        (Surface::Rear, Part::RearGuard, DamageKind::Crack),
        (Surface::Rear, Part::RearFrame, DamageKind::Crack),
        (Surface::Floor, Part::Kingpin, DamageKind::Crack),
        (Surface::Floor, Part::Crossmember, DamageKind::Bend),
        (Surface::Curbside, Part::LandingGear, DamageKind::Bend),
        (Surface::Roadside, Part::TopRail, DamageKind::Crack),
    ] {
        let choice = &choices(&[mark("m", surface, part, kind, [10, 20, 10, 20])])[0];
        let keys: Vec<WayKey> = choice.ways.iter().map(|way| way.key).collect();
        assert_eq!(keys, vec![WayKey::AskTheMaker, WayKey::ByHand], "{part:?}");
        assert!(
            choice
                .ways
                .iter()
                .all(|way| way.price.is_none() && way.hours.is_none())
        );
        assert!(!choice.ways[0].why[0].is_empty());
    }
    let guard = mark(
        "g",
        Surface::Rear,
        Part::RearGuard,
        DamageKind::Bend,
        [10, 20, 0, 5],
    );
    let found = work(&[guard], &[chosen("g", "ask_the_maker")]);
    assert_eq!(found.total, "0.00");
    assert!(found.warnings[0].contains("maker"));
}

#[test]
fn entered_hours_and_material_are_priced_and_marked_as_entered() {
    let lining = mark(
        "l",
        Surface::InsideCurbside,
        Part::Lining,
        DamageKind::Hole,
        [10, 20, 10, 20],
    );
    let line = HandLine {
        item: "plywood".to_owned(),
        quantity: "2".to_owned(),
        unit_price: "41.50".to_owned(),
    };
    let hand = ByHand {
        hours: "3.5".to_owned(),
        people: 2,
        lines: vec![line],
        note: "as agreed".to_owned(),
    };
    let mut choice = chosen("l", "by_hand");
    choice.by_hand = Some(hand);
    let found = work(std::slice::from_ref(&lining), std::slice::from_ref(&choice));
    assert_eq!(found.material, "83.00");
    assert!(found.groups[0].goods[0].by_hand && found.groups[0].hours[0].by_hand);
    choice.by_hand.as_mut().unwrap().hours = "two".to_owned();
    let refused = estimate(&plan(), &[lining], &[choice], &Book::default(), &[], Unit::In).unwrap_err();
    assert_eq!(refused.where_.as_deref(), Some("/by_hand/hours"));
}

#[test]
fn old_damage_may_stay_as_it_is_and_that_is_said() {
    let side = [480, 502, 6, 20];
    let new = mark("dent", Surface::Roadside, Part::SideSheet, DamageKind::Dent, side);
    let old = Mark {
        age: Age::Old,
        ..new.clone()
    };
    let left = |other: &Mark| work(&[roof(3, 149), other.clone()], &[chosen("roof", "front_section")]);
    assert_eq!(left(&new).lacks.len(), 1);
    assert!(left(&old).lacks.is_empty());
    let said = |estimate: &Estimate| {
        estimate
            .warnings
            .iter()
            .any(|w| w.ends_with("old damage, left as it is."))
    };
    assert!(said(&left(&old)) && !said(&left(&new)));
}

#[test]
fn what_has_no_way_or_a_way_that_no_longer_fits_is_named_and_not_priced() {
    let found = work(&[small()], &[]);
    assert_eq!((found.total.as_str(), found.lacks.len()), ("0.00", 1));
    let found = work(&[roof(3, 149)], &[chosen("roof", "patch")]);
    assert!(
        found.groups.is_empty() && found.lacks[0].contains("does not fit any more"),
        "{:?}",
        found.lacks
    );
    let unknown = estimate(
        &plan(),
        &[small()],
        &[chosen("roof", "glue")],
        &Book::default(),
        &[],
        Unit::In,
    );
    assert_eq!(unknown.unwrap_err().code, "way_unknown");
}

#[test]
fn an_estimate_reads_back_the_same_and_keeps_its_hash() {
    let found = work(&[roof(3, 149), small()], &[chosen("roof", "front_section")]);
    let text = serde_json::to_string(&found).unwrap();
    let back: Estimate = serde_json::from_str(&text).unwrap();
    assert_eq!(back, found);
    assert_eq!(sha256(&back).unwrap(), sha256(&found).unwrap());
    let other = work(&[roof(3, 150)], &[chosen("roof", "whole_roof")]);
    assert_ne!(sha256(&other).unwrap(), sha256(&found).unwrap());
}

#[test]
fn no_number_of_an_estimate_is_a_binary_fraction() {
    let found = serde_json::to_value(work(&[roof(3, 149)], &[chosen("roof", "front_section")])).unwrap();
    let mut stack = vec![&found];
    let mut numbers = 0;
    while let Some(value) = stack.pop() {
        match value {
            serde_json::Value::Number(n) => {
                assert!(n.is_i64() || n.is_u64(), "{n}");
                numbers += 1;
            }
            serde_json::Value::Array(list) => stack.extend(list),
            serde_json::Value::Object(map) => stack.extend(map.values()),
            _ => {}
        }
    }
    assert!(numbers > 20);
}

#[test]
fn a_found_more_is_the_difference_to_the_cent_and_says_what_changed() {
    let agreed = work(&[roof(3, 149)], &[chosen("roof", "front_section")]);
    let lining = mark(
        "l",
        Surface::InsideCurbside,
        Part::Lining,
        DamageKind::WaterStained,
        [10, 20, 10, 20],
    );
    let mut by_hand = chosen("l", "by_hand");
    by_hand.by_hand = Some(ByHand {
        hours: "2".to_owned(),
        people: 1,
        lines: vec![],
        note: String::new(),
    });
    let new = work(
        &[roof(3, 149), lining],
        &[chosen("roof", "front_section"), by_hand],
    );
    let more = added(&agreed, &new).unwrap();
    assert_eq!(number(&agreed.total) + number(&more.total), number(&new.total));
    // Two ranges taken from each other are none; figures of before rules 6, which had one, are read as they were.
    assert_eq!((more.range.is_some(), new.range.is_some()), (false, true));
    let mut older = serde_json::to_value(&more).unwrap();
    older["range"] = serde_json::json!({"low": "1.00", "high": "2.00", "basis": []});
    let read: Estimate = serde_json::from_value(older.clone()).unwrap();
    assert_eq!(sha256(&read).unwrap(), sha256(&older).unwrap());
    assert_eq!(compare(&read, &more), Vec::new());
    let groups: Vec<&str> = more.groups.iter().map(|group| group.group.as_str()).collect();
    assert_eq!(groups, vec!["l"]);
    let longer = work(&[roof(3, 170)], &[chosen("roof", "front_section")]);
    let more = added(&agreed, &longer).unwrap();
    let bows = more.groups[0]
        .goods
        .iter()
        .find(|line| line.item == "roof bow")
        .unwrap();
    assert_eq!(bows.quantity, "1");
    // Lines too are what is added: the foam tape of 2 ft on both rails, and no seam tape, which stays as it was.
    let lines = &more.groups[0].lines;
    let foam = lines.iter().find(|line| line.item == "foam tape").unwrap();
    assert_eq!((foam.quantity.as_str(), foam.unit.as_str()), ("48", "in"));
    assert_eq!(foam.basis.last().unwrap().value, "48 in");
    assert!(lines.iter().all(|line| line.item != "seam tape"), "{lines:?}");
    let changes = compare(&agreed, &longer);
    assert!(
        changes.iter().any(|change| change.what.contains("foam tape")
            && change.was == "336 in"
            && change.now == "384 in"),
        "{changes:?}"
    );
    assert!(changes.iter().any(|change| change.what == "total"));
    assert!(compare(&agreed, &agreed).is_empty());
}

#[test]
fn every_value_of_the_shop_book_is_read_with_its_name_and_standing() {
    /// Values that carry a standing, however deep they lie.
    fn given(value: &serde_json::Value) -> usize {
        match value {
            serde_json::Value::Object(map) if map.contains_key("standing") => 1,
            serde_json::Value::Object(map) => map.values().map(given).sum(),
            _ => 0,
        }
    }
    let rows = Book::default().rows(Unit::In);
    assert_eq!(rows.len(), given(&serde_json::to_value(Book::default()).unwrap()));
    assert!(
        rows.iter()
            .all(|row| !row.name.is_empty() && !row.value.is_empty())
    );
    let lap = rows.iter().find(|row| row.key == "seam_lap").unwrap();
    assert_eq!((lap.value.as_str(), &lap.standing), ("2 in", &Standing::Memory));
    let book: Book = serde_json::from_str("{}").unwrap();
    assert_eq!(book, Book::default());
    assert!(serde_json::from_str::<Book>(r#"{"money":{"labor":1}}"#).is_err());
}

#[test]
fn the_demo_shop_book_reads_and_knows_its_cure_times() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo-data/shop_book.json");
    let book: Book = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    assert_eq!(book.cure_hours(20), None, "no label line is that cold");
    assert_eq!(book.cure_hours(75), Some(Amount::new(24, 0)));
    assert_eq!(Book::default().cure_hours(75), None, "never guessed");
    assert!(
        estimate(
            &plan(),
            &[small()],
            &[chosen("roof", "patch")],
            &book,
            &[],
            Unit::In
        )
        .is_ok()
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn more_roof_damage_never_costs_less(to in 30_i64..560, more in 0_i64..60) {
        let price = |to: i64| number(&work(&[roof(3, to)], &[chosen("roof", "front_section")]).total);
        prop_assert!(price(to + more) >= price(to));
    }

    #[test]
    fn inches_and_millimetres_cost_the_same(from in 1_i64..100, length in 1_i64..400, key in prop::sample::select(vec!["patch", "front_section", "whole_roof"])) {
        let marks = [roof(from, from + length)];
        let total = |unit| estimate(&plan(), &marks, &[chosen("roof", key)], &Book::default(), &[], unit).unwrap().total;
        prop_assert_eq!(total(Unit::In), total(Unit::Mm));
    }

    #[test]
    fn no_mark_makes_ways_or_figures_panic(numbers in prop::array::uniform4(any::<i64>()), part in prop::sample::select(vec![Part::RoofSheet, Part::RoofBow, Part::NoseRail, Part::Lamp])) {
        let [from, to, low, high] = numbers.map(Length::from_nm);
        let wild = Mark { id: "w".to_owned(), place: Place { surface: Surface::Roof, from, to, low, high }, kind: DamageKind::Tear, part, age: Age::New, depth: None };
        let marks = [wild, small()];
        let _ = ways(&plan(), &marks, &Book::default(), Unit::In);
        for key in WayKey::ALL {
            let _ = estimate(&plan(), &marks, &[chosen("roof", key.key())], &Book::default(), &[], Unit::In);
        }
    }
}

#[test]
fn the_range_rests_on_the_damage_and_not_on_the_ids_of_marks() {
    let of = |id: &str| {
        let place = [10, 20, 10, 20];
        let lining = mark(
            id,
            Surface::InsideCurbside,
            Part::Lining,
            DamageKind::WaterStained,
            place,
        );
        let mut by_hand = chosen(id, "by_hand");
        by_hand.by_hand = Some(ByHand {
            hours: "20".to_owned(),
            people: 1,
            lines: vec![],
            note: String::new(),
        });
        work(&[lining], &[by_hand]).range
    };
    assert_eq!(of("a"), of("another"));
}
