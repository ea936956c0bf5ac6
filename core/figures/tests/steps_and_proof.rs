//! The ordered work, its cautions, its checks and the rows of roof-off check and proof.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use bowseam_figures::basis::{Line, Standing};
use bowseam_figures::mark::Part;
use bowseam_figures::measure::{Length, Unit};
use bowseam_figures::proof::{Kind, ProofUnit, proof_rows};
use bowseam_figures::steps::*;
use proptest::prelude::*;
use std::collections::HashSet;

fn roof(way: RoofMethod) -> RoofWork {
    let section = way == RoofMethod::FrontSection;
    RoofWork {
        way,
        seam_bow: section.then_some(7),
        seam_station: section.then_some(Length::inches(168)),
        front_seam: None,
        sheet: Some([Length::inches(175), Length::sixty_fourths(6544)]),
        large: way != RoofMethod::Patch,
        bows_hit: vec![1, 2, 3, 4, 5, 6],
        bows_opened: vec![1, 2, 3, 4, 5, 6],
        nose_rail: true,
        front_bow: true,
        edge: Length::sixty_fourths(24),
        front_edge: Length::sixty_fourths(24),
        lap: Length::inches(2),
        freed: Length::inches(12),
        seam_rivets_a_side: 3,
        tape_rows: 2,
        sealant_on_rail: Length::inches(3),
        seal_edges: true,
        patches: Vec::new(),
        behind: None,
    }
}

fn other(mark: &str, part: Part, way: OtherMethod) -> OtherWork {
    OtherWork::new(mark, part, format!("work on {mark}"), way)
}

fn work(roof: Option<RoofWork>) -> Work {
    Work {
        unit: Unit::In,
        roof,
        others: vec![
            other("m1", Part::SideSheet, OtherMethod::ByHand),
            other("m2", Part::Lamp, OtherMethod::ByHand),
            other("m3", Part::RearFrame, OtherMethod::AskTheMaker),
        ],
        sealed: true,
        wiring_seen: false,
        cure: None,
        wind_limit: None,
        tolerances: Tolerances::default(),
    }
}

fn keys(steps: &[Step]) -> Vec<&str> {
    steps.iter().map(|step| step.key.as_str()).collect()
}

fn step<'a>(steps: &'a [Step], key: &str) -> &'a Step {
    steps
        .iter()
        .find(|step| step.key == key)
        .unwrap_or_else(|| panic!("no step {key}"))
}

/// The order is common practice: trade rules of the roof.
#[test]
fn a_front_section_goes_in_the_order_of_the_trade() {
    let steps = steps(&work(Some(roof(RoofMethod::FrontSection))));
    assert_eq!(
        keys(&steps),
        [
            "make_safe",
            "before_photos",
            "open_inside",
            "power_off",
            "ask_the_maker:m3",
            "platforms",
            "strip_out",
            "brace",
            "diagonals_before",
            "cover",
            "old_sheet",
            "look_when_open",
            "bows",
            "nose_rail",
            "by_hand:m1",
            "diagonals_after",
            "clean",
            "foam_tape",
            "seam_tape",
            "sheet_on",
            "first_edge",
            "opposite_edge",
            "seam",
            "stretch",
            "lift_and_caulk",
            "rail_rivets",
            "release",
            "trim_front",
            "roll_edge",
            "seal",
            "braces_out",
            "by_hand:m2",
            "swarf",
            "cure",
            "lights",
            "leak_test",
            "lining",
            "sheeting",
            "after_photos",
            "take_down"
        ]
    );
    assert!(
        step(&steps, "old_sheet").text.contains("bow 7") && step(&steps, "old_sheet").text.contains("168 in")
    );
    assert!(step(&steps, "bows").text.contains("bows 1 to 6"));
}

#[test]
fn a_whole_roof_has_no_seam_and_a_patch_opens_no_wall() {
    let whole = steps(&work(Some(roof(RoofMethod::WholeRoof))));
    assert!(
        !keys(&whole).contains(&"seam")
            && !keys(&whole).contains(&"seam_tape")
            && keys(&whole).contains(&"rear_end")
    );
    let patch = steps(&work(Some(roof(RoofMethod::Patch))));
    for absent in ["brace", "old_sheet", "stretch", "nose_rail", "roll_edge"] {
        assert!(!keys(&patch).contains(&absent), "{absent}");
    }
    let place = |key: &str| keys(&patch).iter().position(|k| *k == key).unwrap();
    assert!(
        place("patch_cut_out") < place("patch_set")
            && place("patch_rivet") < place("patch_seal")
            && place("cure") < place("leak_test")
    );
}

#[test]
fn what_can_hurt_is_said_in_words_before_the_step() {
    let steps = steps(&work(Some(roof(RoofMethod::FrontSection))));
    let says = |key: &str, words: &str| {
        step(&steps, key)
            .cautions
            .iter()
            .any(|caution| caution.contains(words))
    };
    assert!(says("stretch", "nobody in line with the pullers"));
    assert!(says("brace", "Walls spread") && says("old_sheet", "Never stand on roof sheet or bows"));
    assert!(says("sheet_on", "wind") && says("seam", "isocyanates") && says("make_safe", "tip on its nose"));
    assert!(
        says("strip_out", "Wiring")
            && says("open_inside", "cargo")
            && says("ask_the_maker:m3", "35 ft")
            && says("seam", "hold on the road")
    );
    for step in &steps {
        let all = format!("{} {} {}", step.title, step.text, step.cautions.join(" ")).to_lowercase();
        assert!(
            !all.contains("lawful") && !all.contains("legal") && !all.contains("is safe"),
            "{}",
            step.key
        );
    }
}

#[test]
fn cure_time_is_the_labels_and_is_never_guessed() {
    let mut work = work(Some(roof(RoofMethod::FrontSection)));
    assert!(step(&steps(&work), "cure").text.contains("never guessed"));
    work.cure = Some("24 h at 70 °F".to_owned());
    assert!(step(&steps(&work), "cure").text.contains("24 h at 70 °F"));
}

#[test]
fn an_edge_within_a_sixteenth_fits_and_a_sixty_fourth_more_does_not() {
    let steps = steps(&work(Some(roof(RoofMethod::FrontSection))));
    let first = &step(&steps, "first_edge").values;
    assert_eq!(first.len(), 3);
    let edge = |sixty_fourths: i64| check_value(&first[0], Length::sixty_fourths(sixty_fourths), |_| None);
    assert_eq!(edge(24), Fits::Yes { off: Length::ZERO });
    assert_eq!(
        edge(28),
        Fits::Yes {
            off: Length::sixty_fourths(4)
        }
    );
    assert_eq!(
        edge(20),
        Fits::Yes {
            off: Length::sixty_fourths(-4)
        }
    );
    assert_eq!(
        edge(29),
        Fits::No {
            off: Length::sixty_fourths(5),
            beyond: Length::sixty_fourths(1)
        }
    );
    assert_eq!(
        edge(19),
        Fits::No {
            off: Length::sixty_fourths(-5),
            beyond: Length::sixty_fourths(1)
        }
    );
}

#[test]
fn the_second_diagonals_are_held_against_the_first() {
    let steps = steps(&work(Some(roof(RoofMethod::FrontSection))));
    let after = &step(&steps, "diagonals_after").values[0];
    let held = |measured: i64, earlier: Option<i64>| {
        check_value(after, Length::sixty_fourths(measured), |key| {
            assert_eq!(key, "diagonal_1_before");
            earlier.map(Length::sixty_fourths)
        })
    };
    assert_eq!(held(12608, None), Fits::EarlierMissing);
    assert_eq!(
        held(12608, Some(12600)),
        Fits::Yes {
            off: Length::sixty_fourths(8)
        }
    );
    assert_eq!(
        held(12609, Some(12600)),
        Fits::No {
            off: Length::sixty_fourths(9),
            beyond: Length::sixty_fourths(1)
        }
    );
    assert_eq!(
        check_value(
            &step(&steps, "diagonals_before").values[0],
            Length::inches(196),
            |_| None
        ),
        Fits::Recorded
    );
}

/// Handbook tables: 13.1e-6 a °F; 53 ft over 100 °F is 0.833 in.
#[test]
fn aluminium_grows_by_the_published_amount() {
    let grown = growth_of_aluminium(Length::inches(636), 100);
    assert_eq!(grown, Length::from_nm(21_162_264));
    assert_eq!(grown.say_decimal(Unit::In), "~0.833 in");
    assert_eq!(
        growth_of_aluminium(Length::inches(636), -100),
        Length::from_nm(-21_162_264)
    );
    let steps = steps(&work(Some(roof(RoofMethod::FrontSection))));
    assert!(
        step(&steps, "stretch")
            .basis
            .iter()
            .any(|b| b.value.contains("0.022 in") && b.what.contains("10 °F"))
    );
}

#[test]
fn the_roof_off_check_asks_for_each_material_people_dry_hours_and_a_cover() {
    let line = |item: &str, quantity: &str| Line {
        item: item.to_owned(),
        quantity: quantity.to_owned(),
        unit: "in".to_owned(),
        basis: vec![],
        standing: Standing::Worked,
        more: None,
    };
    let lines = [
        line("seam tape", "203"),
        line("bow caulk", "609"),
        line("edge sealant", "0"),
        line("sealant cartridges", "3"),
        line("rail rivets", "0.00"),
    ];
    let rows = roof_off_rows(&work(Some(roof(RoofMethod::FrontSection))), &lines);
    let on_hand: Vec<&str> = rows
        .iter()
        .filter(|row| row.kind == RoofOffKind::OnHand)
        .map(|row| row.title.as_str())
        .collect();
    assert_eq!(
        on_hand,
        [
            "seam tape",
            "sealant cartridges",
            "roof bows",
            "nose rail",
            "front roof bow"
        ]
    );
    for kind in [
        RoofOffKind::GoAhead,
        RoofOffKind::People,
        RoofOffKind::DryHours,
        RoofOffKind::Cover,
        RoofOffKind::Wind,
        RoofOffKind::Safe,
    ] {
        assert!(rows.iter().any(|row| row.kind == kind), "{kind:?}");
    }
    assert!(roof_off_rows(&work(None), &lines).is_empty());
}

#[test]
fn the_proof_names_rule_and_date_and_depends_on_the_date_built() {
    let unit = ProofUnit {
        built_before_december_1993: Some(false),
        built_before_26_january_1998: Some(true),
        final_check: true,
    };
    let mut work = work(Some(roof(RoofMethod::FrontSection)));
    work.others
        .push(other("m4", Part::RearGuard, OtherMethod::AskTheMaker));
    let rows = proof_rows(&work, &unit);
    let row = |key: &str| {
        rows.iter()
            .find(|row| row.key == key)
            .unwrap_or_else(|| panic!("no row {key}"))
    };
    assert_eq!(row("leak").kind, Kind::Leak);
    assert_eq!(row("sheeting").rule.as_deref(), Some("49 CFR 571.108 S8.2"));
    assert!(row("rear_guard").title.contains("762 mm") && row("width").title.contains("102 in"));
    assert_eq!(row("photo_pairs").kind, Kind::PhotoPairs);
    assert!(
        rows.iter()
            .all(|row| row.rule.is_some() == row.rule_date.is_some())
    );
    assert!(
        rows.iter().any(|row| row.key == "final_check")
            && rows.iter().any(|row| row.key == "edges")
            && rows.iter().any(|row| row.key == "maker:m3")
    );
    let older = proof_rows(
        &work,
        &ProofUnit {
            built_before_december_1993: Some(true),
            final_check: false,
            ..unit
        },
    );
    assert!(
        older
            .iter()
            .any(|row| row.key == "sheeting" && row.rule.as_deref().unwrap().contains("393.13"))
            && !older.iter().any(|row| row.key == "final_check")
    );
    work.roof = None;
    work.others.retain(|other| other.part == Part::Lamp);
    let lamp = proof_rows(
        &work,
        &ProofUnit {
            built_before_december_1993: None,
            built_before_26_january_1998: None,
            final_check: false,
        },
    );
    assert!(
        !lamp
            .iter()
            .any(|row| row.key == "leak" || row.key == "rear_guard")
    );
}

proptest! {
    #[test]
    fn keys_of_steps_values_and_rows_are_unique_whatever_the_work(way in 0_u8..4, bows in prop::collection::vec(any::<u32>(), 0..5), station in any::<i64>(),
        large in any::<bool>(), rail in any::<bool>(), bow in any::<bool>(), sealed in any::<bool>(), mm in any::<bool>()) {
        let roof = match way { 0 => None, 1 => Some(RoofMethod::Patch), 2 => Some(RoofMethod::FrontSection), _ => Some(RoofMethod::WholeRoof) }.map(|way| RoofWork {
            seam_station: Some(Length::from_nm(station)), bows_hit: bows.clone(), bows_opened: bows.clone(), large, nose_rail: rail, front_bow: bow, ..roof(way) });
        let work = Work { sealed, unit: if mm { Unit::Mm } else { Unit::In }, ..work(roof) };
        let steps = steps(&work);
        let distinct: HashSet<&str> = steps.iter().map(|step| step.key.as_str()).collect();
        prop_assert_eq!(distinct.len(), steps.len());
        let values: Vec<&Wanted> = steps.iter().flat_map(|step| &step.values).collect();
        let distinct: HashSet<&str> = values.iter().map(|value| value.key.as_str()).collect();
        prop_assert_eq!(distinct.len(), values.len());
        for value in values {
            if let Target::SameAs(key) = &value.wanted {
                prop_assert!(distinct.contains(key.as_str()));
            }
            let _ = check_value(value, Length::from_nm(station), |_| Some(Length::from_nm(i64::MIN)));
        }
        let text = serde_json::to_string(&work).unwrap();
        prop_assert_eq!(serde_json::from_str::<Work>(&text).unwrap(), work);
        let text = serde_json::to_string(&steps).unwrap();
        prop_assert_eq!(serde_json::from_str::<Vec<Step>>(&text).unwrap(), steps);
    }
}
