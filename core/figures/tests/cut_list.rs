//! What is cut from which stock, and at which marks.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use bowseam_figures::cut::*;
use bowseam_figures::measure::{Length, Unit};
use bowseam_figures::rules::RoofRules;
use bowseam_figures::steps::{RoofMethod, RoofWork};
use bowseam_figures::takeoff::{Damage, RoofBody, RoofWay, roof_section};
use proptest::prelude::*;

fn inch(inches: i64) -> Length {
    Length::inches(inches)
}

fn stock(item: &str, name: &str, kind: StockKind, length: i64, width: Option<i64>, count: u32) -> Stock {
    Stock {
        item: item.to_owned(),
        name: name.to_owned(),
        kind,
        length: inch(length),
        width: width.map(inch),
        thickness: width.map(|_| Length::thousandths(40)),
        place: format!("rack {name}"),
        count,
        price: None,
    }
}

fn need(item: &str, length: i64, width: Option<i64>, count: u32) -> Need {
    Need {
        item: item.to_owned(),
        length: inch(length),
        width: width.map(inch),
        thickness: width.map(|_| Length::thousandths(40)),
        count,
        turn: false,
    }
}

fn cutting(kerf: Length) -> Cutting {
    Cutting {
        unit: Unit::In,
        kerf,
        keep_from: inch(24),
    }
}

#[test]
fn the_smallest_drop_that_is_enough_goes_before_whole_stock() {
    let shelf = [
        stock("roof sheet", "coil", StockKind::Coil, 1200, Some(103), 1),
        stock("roof sheet", "long drop", StockKind::Drop, 300, Some(103), 1),
        stock("roof sheet", "drop", StockKind::Drop, 180, Some(103), 1),
        stock("roof sheet", "short drop", StockKind::Drop, 174, Some(103), 1),
    ];
    let list = cut_list(
        &[need("roof sheet", 175, Some(102), 1)],
        &shelf,
        &cutting(Length::ZERO),
    )
    .unwrap();
    assert_eq!(list.short, []);
    let cut = &list.cuts[0];
    assert_eq!(
        (cut.from.as_str(), cut.place.as_str(), cut.size.as_str()),
        ("drop", "rack drop", "175 in by 102 in, 0.040 in")
    );
    assert_eq!(
        (cut.running.as_slice(), cut.rip_to),
        ([inch(175)].as_slice(), Some(inch(102)))
    );
    assert_eq!(
        cut.left,
        [
            Left {
                length: inch(5),
                width: Some(inch(103)),
                keep: false
            },
            Left {
                length: inch(175),
                width: Some(inch(1)),
                keep: false
            }
        ]
    );
}

#[test]
fn marks_run_from_one_hook_with_every_cut_counted() {
    let kerf = Length::sixty_fourths(8);
    let list = cut_list(
        &[need("roof bow", 100, None, 3), need("brace", 10, None, 1)],
        &[stock("roof bow", "bar", StockKind::Bar, 240, None, 2)],
        &cutting(kerf),
    )
    .unwrap();
    assert_eq!(list.cuts.len(), 2);
    assert_eq!(list.cuts[0].running, [inch(100), inch(200).plus(kerf)]);
    assert_eq!(list.cuts[1].running, [inch(100)]);
    assert_eq!(
        list.cuts[1].left,
        [Left {
            length: inch(140).minus(kerf),
            width: None,
            keep: true
        }]
    );
    assert_eq!(
        list.short,
        [Short {
            item: "brace".to_owned(),
            count: 1,
            size: "10 in".to_owned()
        }]
    );
}

#[test]
fn sheet_of_another_thickness_or_too_narrow_is_left_alone_and_said_to_be_short() {
    let mut thick = stock("roof sheet", "thick", StockKind::Sheet, 200, Some(103), 1);
    thick.thickness = Some(Length::thousandths(50));
    let shelf = [
        thick,
        stock("roof sheet", "narrow", StockKind::Sheet, 200, Some(101), 1),
    ];
    let list = cut_list(
        &[need("roof sheet", 175, Some(102), 1)],
        &shelf,
        &cutting(Length::ZERO),
    )
    .unwrap();
    assert!(list.cuts.is_empty());
    assert_eq!(list.short[0].count, 1);
}

#[test]
fn a_piece_that_may_turn_lies_across_the_stock() {
    let mut patch = need("roof sheet", 40, Some(12), 1);
    let shelf = [stock("roof sheet", "drop", StockKind::Drop, 30, Some(48), 1)];
    assert_eq!(
        cut_list(std::slice::from_ref(&patch), &shelf, &cutting(Length::ZERO))
            .unwrap()
            .short
            .len(),
        1
    );
    patch.turn = true;
    let list = cut_list(&[patch], &shelf, &cutting(Length::ZERO)).unwrap();
    assert_eq!(
        (
            list.cuts[0].turned,
            list.cuts[0].running.as_slice(),
            list.cuts[0].rip_to
        ),
        (true, [inch(12)].as_slice(), Some(inch(40)))
    );
}

/// The contract's worked roof section: nose rail 101.5 in, 3/16 in rivets, pitch 4 in: 27 holes, first and last 3/8 in.
#[test]
fn holes_of_a_new_nose_rail_are_even_and_no_wider_than_the_rail_pitch() {
    let length = Length::sixty_fourths(6496);
    let holes = even_holes(length, Length::sixty_fourths(24), inch(4)).unwrap();
    assert_eq!(holes.len(), 27);
    assert_eq!(
        (holes[0], holes[26]),
        (Length::sixty_fourths(24), length.minus(Length::sixty_fourths(24)))
    );
    assert!(
        holes
            .windows(2)
            .all(|pair| pair[1].minus(pair[0]) <= inch(4) && pair[1].minus(pair[0]) > inch(3))
    );
    assert_eq!(
        even_holes(inch(8), Length::ZERO, inch(4)).unwrap(),
        [inch(0), inch(4), inch(8)]
    );
    assert_eq!(even_holes(inch(1), inch(1), inch(4)), None);
    // The worked section has 84 existing holes on both rails, up to 170 in at 4 in.
    assert_eq!(pitched_holes(inch(4), inch(170)).unwrap().len() * 2, 84);
    assert_eq!(pitched_holes(Length::ZERO, inch(170)), None);
}

#[test]
fn a_roof_section_needs_its_sheet_bows_rails_and_tapes() {
    let facts = RoofFacts {
        sheet: [inch(175), inch(102)],
        thickness: Length::thousandths(40),
        seam_tape: (inch(101), 2),
        foam_tape: inch(168),
        bows: (inch(101), 6),
        nose_rail: Some(inch(101)),
        front_bow: None,
    };
    let needs = roof_needs(&facts);
    let names: Vec<(&str, u32)> = needs
        .iter()
        .map(|need| (need.item.as_str(), need.count))
        .collect();
    assert_eq!(
        names,
        [
            ("roof sheet", 1),
            ("roof bow", 6),
            ("seam tape", 2),
            ("foam tape", 2),
            ("nose rail", 1)
        ]
    );
    let whole = roof_needs(&RoofFacts {
        seam_tape: (Length::ZERO, 0),
        bows: (inch(101), 0),
        ..facts
    });
    assert!(
        !whole
            .iter()
            .any(|need| need.item == "seam tape" || need.item == "roof bow")
    );
}

/// The contract's worked roof section, from takeoff to marks and steps.
#[test]
fn the_worked_section_gives_its_cuts_marks_and_steps() {
    let body = RoofBody {
        length: inch(636),
        rail_width_outside: Length::sixty_fourths(6496),
        bows: (1..=26).map(|i| inch(24 * i)).collect(),
        rail_hole_pitch: inch(4),
        roof_sheet: Length::thousandths(40),
        density: RoofBody::aluminium(),
        seams: Vec::new(),
        patches: Vec::new(),
    };
    let rules = RoofRules::default();
    let section = |to: i64| {
        let damage = Damage {
            from: inch(3),
            to: inch(to),
            sound: None,
            scattered: false,
        };
        roof_section(&body, &damage, RoofWay::Section, &rules, Unit::In).unwrap()
    };
    let taken = section(149);
    let rail = Length::sixty_fourths(6496);
    let facts = RoofFacts::of(&taken, &body, &rules, rail, [Some(rail), None]);
    let needs: Vec<(String, u32, String)> = roof_needs(&facts)
        .into_iter()
        .map(|need| (need.item, need.count, need.length.say(Unit::In)))
        .collect();
    let wanted = [
        ("roof sheet", 1, "175 in"),
        ("roof bow", 6, "101 1/2 in"),
        ("seam tape", 2, "101 1/2 in"),
        ("foam tape", 2, "168 in"),
        ("nose rail", 1, "101 1/2 in"),
    ];
    assert_eq!(
        needs,
        wanted.map(|(item, count, length)| (item.to_owned(), count, length.to_owned()))
    );
    let marks = roof_marks(&taken, &body, &rules, facts.nose_rail);
    assert_eq!(
        marks.iter().map(|marks| marks.running.len()).collect::<Vec<_>>(),
        [42, 27]
    );
    let roof = RoofWork::of(&taken, &rules, true, false);
    assert_eq!(
        (roof.way, roof.seam_bow, roof.large, roof.sheet),
        (
            RoofMethod::FrontSection,
            Some(7),
            true,
            Some([inch(175), Length::sixty_fourths(6544)])
        )
    );
    // Damage to the rear end: no sound bow is left, so the whole sheet.
    let whole = section(630);
    assert_eq!(
        RoofFacts::of(&whole, &body, &rules, rail, [None, None])
            .seam_tape
            .1,
        0
    );
    assert_eq!(
        RoofWork::of(&whole, &rules, true, false).way,
        RoofMethod::WholeRoof
    );
}

#[test]
fn nothing_of_no_length_and_no_endless_list_is_cut() {
    let list = |need: Need| cut_list(&[need], &[], &cutting(Length::ZERO)).unwrap_err().code;
    assert_eq!(list(need("roof bow", 0, None, 1)), "cut_size");
    assert_eq!(list(need("roof bow", -1, None, 1)), "cut_size");
    assert_eq!(list(need("roof bow", 1, None, u32::MAX)), "cut_many");
}

proptest! {
    #[test]
    fn pieces_never_overlap_keep_the_kerf_and_are_cut_or_short(lengths in prop::collection::vec((1_i64..200, 1_u32..6), 1..6), bars in prop::collection::vec((20_i64..300, 0_u32..4, any::<bool>()), 0..6), kerf in 0_i64..32) {
        let needs: Vec<Need> = lengths.iter().map(|(length, count)| need("bar", *length, None, *count)).collect();
        let shelf: Vec<Stock> = bars.iter().enumerate().map(|(i, (length, count, drop))| stock("bar", &format!("b{i}"), if *drop { StockKind::Drop } else { StockKind::Bar }, *length, None, *count)).collect();
        let kerf = Length::sixty_fourths(kerf);
        let list = cut_list(&needs, &shelf, &cutting(kerf)).unwrap();
        let cut: u32 = list.cuts.iter().map(|cut| cut.count).sum();
        let short: u32 = list.short.iter().map(|short| short.count).sum();
        prop_assert_eq!(cut + short, needs.iter().map(|need| need.count).sum::<u32>());
        for cut in &list.cuts {
            let of = shelf.iter().find(|stock| stock.name == cut.from).unwrap();
            prop_assert!(cut.running.iter().all(|mark| *mark <= of.length));
            let size = needs.iter().find(|need| need.length.say(Unit::In) == cut.size).unwrap().length;
            prop_assert!(cut.running[0] >= size);
            prop_assert!(cut.running.windows(2).all(|pair| pair[1].minus(pair[0]) >= size.plus(kerf)));
        }
    }

    #[test]
    fn holes_never_panic_and_lie_between_the_margins(length in any::<i64>(), margin in any::<i64>(), widest in any::<i64>()) {
        let (length, margin, widest) = (Length::from_nm(length), Length::from_nm(margin), Length::from_nm(widest));
        if let Some(holes) = even_holes(length, margin, widest) {
            prop_assert!(holes.iter().all(|hole| *hole >= margin && *hole <= length));
        }
        let _ = pitched_holes(margin, length);
    }
}
