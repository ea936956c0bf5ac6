//! What is cut from which stock, and at which marks.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use bowseam_figures::basis::Given;
use bowseam_figures::cut::*;
use bowseam_figures::cut_plan::*;
use bowseam_figures::measure::{Length, Unit};
use bowseam_figures::rules::RoofRules;
use bowseam_figures::shop::Cutting;
use bowseam_figures::steps::{RoofMethod, RoofWork};
use bowseam_figures::takeoff::{Damage, RoofBody, RoofWay, roof_section};
use proptest::prelude::*;

fn inch(inches: i64) -> Length {
    Length::inches(inches)
}

fn stock(item: &str, name: &str, kind: StockKind, length: i64, width: Option<i64>, count: u32) -> Stock {
    Stock {
        id: String::new(),
        item: item.to_owned(),
        name: name.to_owned(),
        kind,
        length: inch(length),
        width: width.map(inch),
        thickness: width.map(|_| Length::thousandths(40)),
        place: format!("rack {name}"),
        count,
        price: None,
        counted: 0,
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
        saw_kerf: Given::shop(kerf),
        sheet_kerf: Given::shop(kerf),
        ..Cutting::default()
    }
}

fn planned(needs: &[Need], shelf: &[Stock], kerf: Length) -> CutList {
    let mut left = 100_000_u32;
    plan(needs, shelf, &cutting(kerf), Unit::In, &mut || {
        left = left.saturating_sub(1);
        left == 0
    })
    .unwrap()
}

/// What each plan takes, and from where.
fn from(list: &CutList) -> Vec<(&str, u32, usize)> {
    list.plans
        .iter()
        .map(|plan| (plan.from.as_str(), plan.times, plan.pieces.len()))
        .collect()
}

#[test]
fn the_smallest_drop_that_is_enough_goes_before_whole_stock() {
    let shelf = [
        stock("roof sheet", "coil", StockKind::Coil, 1200, Some(103), 1),
        stock("roof sheet", "long drop", StockKind::Drop, 300, Some(103), 1),
        stock("roof sheet", "drop", StockKind::Drop, 180, Some(103), 1),
        stock("roof sheet", "short drop", StockKind::Drop, 174, Some(103), 1),
    ];
    let list = planned(&[need("roof sheet", 175, Some(102), 1)], &shelf, Length::ZERO);
    assert_eq!(list.short, []);
    let cut = &list.plans[0];
    assert_eq!(
        (cut.from.as_str(), cut.place.as_str(), cut.buy),
        ("drop", "rack drop", false)
    );
    assert_eq!(cut.stock, "drop · rack drop");
    assert_eq!(cut.pieces[0].size, "175 in by 102 in, 0.040 in");
    // Straight across at 175, then ripped at 102; neither the 5 in at the end nor the 1 in strip is kept.
    let lines: Vec<(bool, Length)> = cut.cuts.iter().map(|cut| (cut.across, cut.at)).collect();
    assert_eq!(lines, [(true, inch(175)), (false, inch(102))]);
    let left: Vec<(Length, Option<Length>, bool)> =
        cut.left.iter().map(|l| (l.length, l.width, l.keep)).collect();
    assert_eq!(
        left,
        [
            (inch(175), Some(inch(1)), false),
            (inch(5), Some(inch(103)), false)
        ]
    );
    assert_eq!(
        list.proofs,
        [LeastStock {
            item: "roof sheet".to_owned(),
            proven: true,
            over: None
        }]
    );
}

/// Worked by hand: three bows of 100 in with 1/8 in of saw: two on a 240 in bar are 100 + 1/8 + 100 = 200 1/8, the
/// second mark; 240 - 200 1/8 - 1/8 = 39 3/4 in are left and kept (24 in and more). The third takes the other bar and
/// leaves 140 - 1/8. The brace is in no stock: it is bought to its size.
#[test]
fn marks_run_from_one_hook_with_every_cut_counted() {
    let kerf = Length::sixty_fourths(8);
    let list = planned(
        &[need("roof bow", 100, None, 3), need("brace", 10, None, 1)],
        &[stock("roof bow", "bar", StockKind::Bar, 240, None, 2)],
        kerf,
    );
    let two = list.plans.iter().find(|plan| plan.pieces.len() == 2).unwrap();
    let marks: Vec<Length> = two.cuts.iter().map(|cut| cut.at).collect();
    assert_eq!(marks, [inch(100), inch(200).plus(kerf)]);
    assert_eq!(
        (two.left[0].length, two.left[0].keep),
        (inch(40).minus(kerf.times(2)), true)
    );
    let one = list
        .plans
        .iter()
        .find(|plan| plan.from == "bar" && plan.pieces.len() == 1)
        .unwrap();
    assert_eq!(one.left[0].length, inch(140).minus(kerf));
    assert_eq!(
        list.short,
        [Short {
            item: "brace".to_owned(),
            name: "brace, to size".to_owned(),
            count: 1,
            size: "10 in".to_owned()
        }]
    );
    assert!(list.proofs.iter().all(|proof| proof.proven), "{:?}", list.proofs);
}

/// First-fit by length would take 60 + 30 and 60 + 30 and open a third bar for the 50s; the least is two bars of
/// 100 in: 60 + 40 + nothing over, 50 + 50: worked by hand, 200 in of pieces from 200 in of bar.
#[test]
fn a_plan_takes_the_least_stock_and_says_that_it_is_proven() {
    let needs = [
        need("trim", 60, None, 1),
        need("trim", 50, None, 2),
        need("trim", 40, None, 1),
    ];
    let list = planned(
        &needs,
        &[stock("trim", "bar", StockKind::Bar, 100, None, 5)],
        Length::ZERO,
    );
    assert_eq!(list.plans.iter().map(|plan| plan.times).sum::<u32>(), 2);
    assert!(list.proofs[0].proven && list.short.is_empty());
}

#[test]
fn a_shelf_that_never_runs_out_is_planned_from_like_any_other() {
    let shelf = [
        stock("roof bow", "bow 102", StockKind::Bar, 102, None, u32::MAX),
        stock("roof sheet", "sheet", StockKind::Sheet, 200, Some(103), u32::MAX),
    ];
    let needs = [
        need("roof bow", 101, None, 2),
        need("roof sheet", 150, Some(102), 1),
    ];
    let list = planned(&needs, &shelf, Length::ZERO);
    assert_eq!(from(&list), [("bow 102", 2, 1), ("sheet", 1, 1)]);
}

#[test]
fn what_is_short_is_bought_as_the_shop_buys_it_and_the_shelf_gives_first() {
    let shelf = [stock("roof bow", "bow 102", StockKind::Bar, 102, None, 5)];
    let list = planned(&[need("roof bow", 101, None, 7)], &shelf, Length::ZERO);
    assert_eq!(from(&list), [("bow 102", 5, 1), ("bow 102", 2, 1)]);
    assert_eq!(
        list.short,
        [Short {
            item: "roof bow".to_owned(),
            name: "bow 102".to_owned(),
            count: 2,
            size: "102 in".to_owned()
        }]
    );
    assert_eq!((list.plans[1].buy, list.plans[1].place.as_str()), (true, ""));
    let keys: std::collections::BTreeSet<&str> = list.plans.iter().map(|plan| plan.key.as_str()).collect();
    assert_eq!(keys.len(), 2);
}

#[test]
fn a_roll_of_tape_is_not_sawn_and_its_rest_goes_back() {
    let shelf = [stock("seam tape", "roll", StockKind::Coil, 600, None, 1)];
    let list = planned(
        &[need("seam tape", 100, None, 2)],
        &shelf,
        Length::sixty_fourths(8),
    );
    let plan = &list.plans[0];
    assert_eq!((plan.pieces.len(), plan.taken()), (2, inch(200)));
    assert_eq!((plan.left[0].length, plan.left[0].keep), (inch(400), true));
}

#[test]
fn a_coil_that_does_not_last_is_not_cut_beyond_its_end() {
    let shelf = [stock("roof sheet", "coil", StockKind::Coil, 300, Some(104), 1)];
    let list = planned(&[need("roof sheet", 175, Some(102), 2)], &shelf, Length::ZERO);
    assert_eq!(from(&list), [("coil", 1, 1), ("roof sheet, to size", 1, 1)]);
    assert_eq!(list.short[0].size, "175 in by 102 in, 0.040 in");
}

#[test]
fn sheet_of_another_thickness_or_too_narrow_is_left_alone_and_said_to_be_short() {
    let mut thick = stock("roof sheet", "thick", StockKind::Sheet, 200, Some(103), 1);
    thick.thickness = Some(Length::thousandths(50));
    let shelf = [
        thick,
        stock("roof sheet", "narrow", StockKind::Sheet, 200, Some(101), 1),
    ];
    let list = planned(&[need("roof sheet", 175, Some(102), 1)], &shelf, Length::ZERO);
    assert_eq!(list.short[0].count, 1);
    assert!(list.plans.iter().all(|plan| plan.buy));
}

#[test]
fn a_piece_that_may_turn_lies_across_the_stock_and_another_does_not() {
    let mut patch = need("roof sheet", 40, Some(12), 1);
    let shelf = [stock("roof sheet", "drop", StockKind::Drop, 30, Some(48), 1)];
    assert_eq!(
        planned(std::slice::from_ref(&patch), &shelf, Length::ZERO)
            .short
            .len(),
        1
    );
    patch.turn = true;
    let list = planned(&[patch], &shelf, Length::ZERO);
    let piece = &list.plans[0].pieces[0];
    assert_eq!(
        (piece.turned, piece.length, piece.width),
        (true, inch(12), Some(inch(40)))
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
    let code = |need: Need| {
        plan(&[need], &[], &cutting(Length::ZERO), Unit::In, &mut || true)
            .unwrap_err()
            .code
    };
    assert_eq!(code(need("roof bow", 0, None, 1)), "cut_size");
    assert_eq!(code(need("roof bow", -1, None, 1)), "cut_size");
    assert_eq!(code(need("roof bow", 1, None, u32::MAX)), "cut_many");
}

/// Areas do not overlap, keep the kerf, and lie on the stock.
fn lies_well(plan: &StockPlan, kerf: Length) -> Result<(), TestCaseError> {
    let width = |w: Option<Length>| w.unwrap_or(Length::from_nm(1));
    for (at, a) in plan.pieces.iter().enumerate() {
        prop_assert!(a.x >= Length::ZERO && a.x.plus(a.length) <= plan.length);
        prop_assert!(a.y >= Length::ZERO && a.y.plus(width(a.width)) <= width(plan.width));
        for b in plan.pieces.iter().skip(at + 1) {
            let apart = |a0: Length, al: Length, b0: Length, bl: Length| {
                a0.plus(al).plus(kerf) <= b0 || b0.plus(bl).plus(kerf) <= a0
            };
            let along = apart(a.x, a.length, b.x, b.length);
            prop_assert!(along || apart(a.y, width(a.width), b.y, width(b.width)));
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn every_piece_is_cut_once_keeps_the_kerf_and_no_shelf_gives_more_than_it_has(lengths in prop::collection::vec((1_i64..200, 1_u32..5), 1..5), bars in prop::collection::vec((20_i64..300, 0_u32..4, any::<bool>()), 0..5), kerf in 0_i64..32, sheet in any::<bool>()) {
        let width = |length: i64| sheet.then_some(length / 2 + 1);
        let needs: Vec<Need> = lengths.iter().map(|(length, count)| need("bar", *length, width(*length), *count)).collect();
        let shelf: Vec<Stock> = bars.iter().enumerate().map(|(i, (length, count, drop))| {
            let whole = if sheet { StockKind::Sheet } else { StockKind::Bar };
            stock("bar", &format!("b{i}"), if *drop { StockKind::Drop } else { whole }, *length, width(*length), *count)
        }).collect();
        let kerf = Length::sixty_fourths(kerf);
        let mut steps = 300_u32;
        let list = plan(&needs, &shelf, &cutting(kerf), Unit::In, &mut || { steps = steps.saturating_sub(1); steps == 0 }).unwrap();
        let mut wanted: Vec<(i64, u32)> = Vec::new();
        for (length, count) in &lengths {
            match wanted.iter_mut().find(|(had, _)| had == length) {
                Some((_, n)) => *n += count,
                None => wanted.push((*length, *count)),
            }
        }
        for (length, count) in wanted {
            let got: u32 = list.plans.iter().map(|plan| {
                let alike = plan.pieces.iter().filter(|p| p.length == inch(length) && p.width == width(length).map(inch)).count();
                plan.times * u32::try_from(alike).unwrap()
            }).sum();
            prop_assert_eq!(got, count);
        }
        for of in &shelf {
            let used: u32 = list.plans.iter().filter(|plan| !plan.buy && plan.stock == of.key()).map(|plan| plan.times).sum();
            prop_assert!(used <= of.count);
        }
        for plan in &list.plans {
            lies_well(plan, kerf)?;
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
