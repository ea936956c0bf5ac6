#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout
)]
use super::*;
use proptest::prelude::*;

fn ask(table: &str, sheet: &str, diameter: &str, cut: &str, case: &str) -> Result<Value, Error> {
    figure(
        &json!({"unit": "in", "table": table, "sheet": sheet, "diameter": diameter, "cut_length": cut, "case": case}),
    )
}

/// AC 43.13-1B page 4-27 (10 in of clad 2024-T3, t .032) and figure 4-20 (frame).
#[test]
fn the_worked_examples_of_the_circular_come_out() {
    let splice = ask("4-10", ".032", "1/8", "10", "single_lap_sheet").unwrap();
    assert_eq!(
        (&splice["per_inch"], &splice["count"], &splice["rows"]),
        (&json!(4.9), &json!(37), &json!(2))
    );
    let frame = ask("4-10", ".040", "1/8", "2", "intermediate_frame").unwrap();
    assert_eq!((&frame["per_inch"], &frame["count"]), (&json!(6.2), &json!(8)));
    // Figure 4-20: 0.6 in of frame, 6.2 x .6 = 3.72 -> 4 at the full count; 60 % of it -> 3.
    for (case, want) in [("full", 4), ("intermediate_frame", 3)] {
        assert_eq!(ask("4-10", ".040", "1/8", "0.6", case).unwrap()["count"], want);
    }
}

#[test]
fn every_printed_entry_is_as_in_the_file_of_published_checks() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../../shared/checks/ac4313_rivets_per_inch.csv"
    );
    let Ok(text) = std::fs::read_to_string(path) else {
        println!("skipped: {path} is not there");
        return;
    };
    let (mut full, mut empty) = (0, 0);
    for line in text.lines().filter(|line| line.starts_with("4-")) {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells.len(), 7, "{line}");
        for (size, want) in ["3/32", "1/8", "5/32", "3/16", "1/4"].iter().zip(&cells[2..]) {
            let found = ask(cells[0], cells[1], size, "10", "full");
            if want.is_empty() {
                assert_eq!(found.unwrap_err().code, "joint_sheet", "{line} {size}");
                empty += 1;
            } else {
                let want: f64 = want.parse().unwrap();
                assert_eq!(
                    found.unwrap()["per_inch"].as_f64().unwrap(),
                    want,
                    "{line} {size}"
                );
                full += 1;
            }
        }
    }
    assert_eq!((full, empty), (131, 49));
}

#[test]
fn a_sheet_between_two_rows_takes_the_next_thicker_and_says_so() {
    let found = ask("4-11", ".045", "1/8", "10", "full").unwrap();
    assert_eq!((&found["per_inch"], &found["row"]), (&json!(5.6), &json!(0.051)));
    assert!(
        found["basis"][0]["what"]
            .as_str()
            .unwrap()
            .contains("next thicker")
    );
    let exact = ask("4-11", ".051", "1/8", "10", "full").unwrap();
    assert!(!exact["basis"].to_string().contains("next thicker"));
}

#[test]
fn what_the_table_does_not_hold_is_refused_with_its_range() {
    for (sheet, size, range) in [
        (".015", "1/8", "0.016 in to 0.102 in"),
        (".129", "1/4", "0.036 in to 0.128 in"),
        (".032", "1/4", "0.036 in to 0.128 in"),
        (".070", "3/32", "0.016 in to 0.064 in"),
    ] {
        let error = ask("4-11", sheet, size, "10", "full").unwrap_err();
        assert!(error.sentence.contains(range), "{}", error.sentence);
        assert_eq!(error.where_.as_deref(), Some("/sheet"));
    }
    let error = ask("4-11", ".040", "7/32", "10", "full").unwrap_err();
    assert_eq!(
        (error.code.as_str(), error.where_.as_deref()),
        ("joint_diameter", Some("/diameter"))
    );
    for (name, put) in [
        ("table", json!("4-8")),
        ("case", json!("lap")),
        ("cut_length", json!(0)),
        ("sheet", json!(-1)),
        ("row", json!(1)),
        ("table", json!(null)),
        ("case", json!(null)),
    ] {
        let mut input =
            json!({"table": "4-11", "sheet": 0.04, "diameter": 0.125, "cut_length": 10, "case": "full"});
        input[name] = put;
        assert_eq!(figure(&input).unwrap_err().where_, Some(format!("/{name}")));
    }
}

/// The notes to the tables as worked back from them: thin sheet is crushed, thick sheet shears its rivets.
#[test]
fn thin_sheet_bears_and_thick_sheet_shears() {
    let governs = |sheet: &str| ask("4-10", sheet, "1/8", "10", "full").unwrap()["governs"].clone();
    assert_eq!(governs(".016"), "bearing");
    assert_eq!(governs(".032"), Value::Null, "both give 4.9");
    assert_eq!(governs(".064"), "shear");
}

/// Each entry from the shares of the notes, within .07, but the one that the checks name as printed otherwise.
#[test]
fn the_shares_give_the_printed_counts_again() {
    let mut off = Vec::new();
    for table in [JointTable::T4x9, JointTable::T4x10, JointTable::T4x11] {
        for (thousandths, cells) in table.rows() {
            for (tenths, (size, _, hole)) in cells.iter().zip(SIZES).filter(|(tenths, _)| **tenths > 0) {
                let (t, hole) = (*thousandths as f64 / 1000.0, f64::from(hole) / 10_000.0);
                let (k, c) = table.shares();
                let count = t / one_rivet(shear(k, hole), bearing(c, hole, t)).0;
                if (count - f64::from(*tenths) / 10.0).abs() > 0.07 {
                    off.push((table.name(), *thousandths, size));
                }
            }
        }
    }
    assert_eq!(off, vec![("4-9", 32, "5/32")]);
}

/// FAA-H-8083-31 chapter 4 (from memory): 2-1/4 in break, t .040, S = 331 lb at 75 000 psi.
#[test]
fn the_rivets_each_side_of_a_break_are_those_of_the_handbook() {
    let many = rivets_for_break(2.25, 0.040, 75_000.0, 331.0).unwrap();
    assert!((many - 20.39).abs() < 0.005, "{many}");
    assert_eq!(many.ceil(), 21.0);
    assert_eq!(rivets_for_break(2.25, 0.040, 75_000.0, 0.0), None);
}

/// MIL-HDBK-5J 8.1.2(b) (from memory; the diameter is the hole's), at 30 ksi, within 0.5 %.
#[test]
fn shear_of_2117_rivets_is_that_of_the_handbook() {
    for (hole, pounds) in [
        (0.096, 217.0),
        (0.1285, 388.0),
        (0.159, 596.0),
        (0.191, 862.0),
        (0.257, 1555.0),
    ] {
        let found = shear(SHEAR_2117_PSI, hole);
        assert!((found / pounds - 1.0).abs() < 0.005, "{hole}: {found}");
    }
}

/// A textbook question: plate 200 x 5 mm, 3 rivets of 10 mm in 11 mm holes; 200, 100 and 150 MPa.
#[test]
fn a_plate_tears_shears_and_bears_as_in_the_textbook() {
    assert!((tear(200.0, 200.0, 3, 11.0, 5.0) - 167_000.0).abs() < 1e-6);
    assert!((3.0 * shear(100.0, 10.0) - 23_560.0).abs() < 5.0);
    assert!((3.0 * bearing(150.0, 10.0, 5.0) - 22_500.0).abs() < 1e-6);
    assert_eq!(
        one_rivet(shear(100.0, 10.0), bearing(150.0, 10.0, 5.0)).1,
        Governs::Bearing
    );
    assert_eq!(tear(200.0, 20.0, 3, 11.0, 5.0), 0.0);
}

#[test]
fn first_principles_stand_beside_the_table_when_the_sheet_s_strength_is_given() {
    let input = json!({"table": "4-10", "sheet": 0.04, "diameter": 0.125, "cut_length": 2.25, "case": "full", "tensile_psi": 75_000});
    let found = &figure(&input).unwrap()["first_principles"];
    // 2.25 x .04 x 75 000 / 389 lb of shear = 17.3.
    assert_eq!(
        (&found["count"], &found["governs"]),
        (&json!(18.0), &json!("shear"))
    );
}

proptest! {
    #[test]
    fn more_width_or_thicker_sheet_never_takes_fewer_rivets(cut in 1_i64..6_000, more in 0_i64..600, size in 0_usize..5) {
        let (name, d, _) = SIZES[size];
        for table in [JointTable::T4x9, JointTable::T4x10, JointTable::T4x11] {
            let mut before = 0;
            for (t, cells) in table.rows().iter().filter(|(_, cells)| cells[size] > 0) {
                let work = |cut| joint(table, Length::thousandths(*t), Length::sixty_fourths(d), Length::sixty_fourths(cut), JointCase::Full, Unit::In).unwrap();
                let (less, wider) = (work(cut), work(cut + more));
                prop_assert!(wider.count >= less.count && less.count >= before, "{name} {cells:?}");
                before = less.count;
            }
        }
    }

    /// The count against decimals, exact for lengths in thousandths of an inch.
    #[test]
    fn the_count_is_the_exact_product_up_to_a_whole_rivet(thousandths in 1_i64..300_000, row in 0_usize..12, size in 0_usize..5) {
        let (t, cells) = T4_11[row];
        let (_, d, _) = SIZES[size];
        prop_assume!(cells[size] > 0);
        for case in [JointCase::Full, JointCase::SingleLapSheet, JointCase::IntermediateFrame, JointCase::Stringer] {
            let found = joint(JointTable::T4x11, Length::thousandths(t), Length::sixty_fourths(d), Length::thousandths(thousandths), case, Unit::In).unwrap();
            let share = match case { JointCase::Full => "1", JointCase::SingleLapSheet => "0.75", JointCase::IntermediateFrame => "0.6", JointCase::Stringer => "0.8" };
            let exact = Decimal::new(cells[size].into(), 1) * share.parse::<Decimal>().unwrap() * Decimal::new(thousandths, 3);
            prop_assert_eq!(Decimal::from(found.count), exact.ceil());
            prop_assert!(found.rows >= 1 && found.rows <= found.count);
        }
    }
}
