#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]
use super::*;
use crate::fasten_holes::hole as hole_of;
use proptest::prelude::*;

fn inch(text: &str) -> Length {
    Length::parse(text, Unit::In).unwrap()
}

fn line(length: &str) -> RivetLine {
    RivetLine {
        layers: vec![inch("0.040"), inch("0.125")],
        film: vec![inch("0.02")],
        diameter: inch("3/16"),
        kind: RivetKind::Solid,
        line_length: inch(length),
        existing_holes: vec![],
        edge: None,
        pitch: None,
    }
}

fn work(line: &RivetLine) -> Rivets {
    rivets(line, &RivetRules::default(), Unit::In).unwrap()
}

/// NAVEDTRA 14018: length = grip + 1.5 D. Here .185 + .28125 = .46625, sold as 1/2.
#[test]
fn a_rivet_is_grip_and_one_and_a_half_diameters_up_to_a_sixteenth() {
    let found = work(&line("48"));
    assert_eq!(found.grip, inch("0.185"));
    assert_eq!(found.length, Some(inch("1/2")));
    let mut exact = line("48");
    exact.layers = vec![inch("7/32")];
    exact.film.clear();
    assert_eq!(work(&exact).length, Some(inch("1/2")), "7/32 + 9/32 is just 1/2");
    exact.layers = vec![inch("7/32").plus(Length::from_nm(1))];
    assert_eq!(work(&exact).length, Some(inch("9/16")), "never short");
}

/// AC 43.13-1B 4-57: edge at least 2 D. NAVEDTRA 14018: pitch at least 3 D.
#[test]
fn least_edge_is_two_and_least_pitch_three_diameters() {
    let found = work(&line("48"));
    assert_eq!((found.edge_min, found.pitch_min), (inch("3/8"), inch("9/16")));
}

/// Hole sizes as the documentation of `bowseam figure rivets` lists them (drill sizes, from memory).
#[test]
fn holes_come_from_the_table_and_other_sizes_say_so() {
    for (d, hole) in [
        ("1/8", "0.1285"),
        ("5/32", "0.159"),
        ("0.156", "0.159"),
        ("3/16", "0.191"),
        ("1/4", "0.257"),
    ] {
        assert_eq!(hole_of(RivetKind::Solid, inch(d)), Some(inch(hole)), "{d}");
    }
    let mut odd = line("48");
    odd.diameter = inch("0.22");
    let found = work(&odd);
    assert_eq!(found.hole, None);
    assert!(found.warnings.iter().any(|w| w.contains("rivet maker")));
}

/// NAVEDTRA 14018: diameter 1 to 3 times the thickest sheet, a warning here.
#[test]
fn a_diameter_outside_one_to_three_sheets_is_a_warning() {
    let mut thin = line("48");
    thin.layers = vec![inch("0.040"), inch("0.040")];
    assert!(work(&thin).warnings.iter().any(|w| w.contains("1 to 3 times")));
    assert!(work(&line("48")).warnings.is_empty());
}

#[test]
fn a_line_without_holes_is_spaced_evenly_from_edge_to_edge() {
    let found = work(&line("48"));
    // 47.25 in between the ends, 63 spaces of 3/4 in.
    assert_eq!(found.places.len(), 64);
    assert_eq!(found.pitch, inch("3/4"));
    assert_eq!((found.places[0], found.places[63]), (inch("3/8"), inch("47 5/8")));
}

#[test]
fn existing_holes_are_reused_and_a_smaller_rivet_than_its_hole_is_a_warning() {
    let mut with = line("10");
    with.pitch = Some(inch("4"));
    with.existing_holes = ["1", "5", "9"]
        .map(|at| Hole {
            at: inch(at),
            diameter: None,
        })
        .to_vec();
    let found = work(&with);
    assert_eq!(found.places, vec![inch("1"), inch("5"), inch("9")]);
    assert_eq!(found.reused, 3);
    with.existing_holes[1].diameter = Some(inch("0.25"));
    assert!(
        work(&with)
            .warnings
            .iter()
            .any(|w| w.contains("takes the next size"))
    );
    with.existing_holes.push(Hole {
        at: inch("9.2"),
        diameter: None,
    });
    assert!(work(&with).warnings.iter().any(|w| w.contains("not used")));
}

#[test]
fn blind_rivets_are_chosen_by_grip_range() {
    let mut blind = line("48");
    blind.kind = RivetKind::Blind;
    assert!(work(&blind).grip_range.is_none());
    let range = GripRange {
        name: "blind 3/16, 1/8 to 1/4".to_owned(),
        diameter: inch("3/16"),
        from: inch("1/8"),
        to: inch("1/4"),
    };
    let rules = RivetRules {
        pitch: None,
        grip_ranges: vec![range.clone()],
    };
    assert_eq!(rivets(&blind, &rules, Unit::In).unwrap().grip_range, Some(range));
}

#[test]
fn a_worn_hole_takes_the_next_size_with_its_own_length_and_the_others_stay() {
    let mut with = line("10");
    with.pitch = Some(inch("4"));
    with.existing_holes = [("1", None), ("5", Some("0.205")), ("9", Some("0.3"))]
        .map(|(at, size)| Hole {
            at: inch(at),
            diameter: size.map(inch),
        })
        .to_vec();
    let found = work(&with);
    let is: Vec<PlaceIs> = found.holes.iter().map(|h| h.is).collect();
    assert_eq!(is, vec![PlaceIs::Reused, PlaceIs::Worn, PlaceIs::Worn]);
    assert_eq!(found.holes[0].length, found.length);
    // The next size is 1/4 in its hole of .257, longer by 1.5 x 1/16; nothing of the table fills .3.
    assert_eq!(
        (found.holes[1].diameter, found.holes[1].hole),
        (Some(inch("1/4")), Some(inch("0.257")))
    );
    assert!(found.holes[1].length > found.length);
    assert_eq!((found.holes[2].diameter, found.holes[2].length), (None, None));
    assert!(
        found
            .warnings
            .iter()
            .any(|w| w.contains("no size of the table fills it"))
    );
    let mut new = line("10");
    new.pitch = Some(inch("4"));
    assert!(work(&new).holes.iter().all(|h| h.is == PlaceIs::New));
}

#[test]
fn the_next_blind_rivet_is_chosen_by_its_own_grip_range() {
    let mut blind = line("10");
    blind.kind = RivetKind::Blind;
    blind.existing_holes = vec![Hole {
        at: inch("5"),
        diameter: Some(inch("0.2")),
    }];
    let range = |name: &str, diameter: &str| GripRange {
        name: name.to_owned(),
        diameter: inch(diameter),
        from: inch("1/8"),
        to: inch("1/4"),
    };
    let rules = RivetRules {
        pitch: None,
        grip_ranges: vec![range("small", "3/16"), range("large", "1/4")],
    };
    let found = rivets(&blind, &rules, Unit::In).unwrap();
    let worn = found.holes.iter().find(|h| h.is == PlaceIs::Worn).unwrap();
    assert_eq!(worn.grip_range.as_ref().map(|r| r.name.as_str()), Some("large"));
    assert_eq!(found.grip_range.map(|r| r.name), Some("small".to_owned()));
}

/// Nut of 7/8 D and two threads of 13 an inch (from memory): .5 + .4375 + .1538 = 1.0913, sold as 1-1/4.
#[test]
fn a_bolt_holds_its_grip_a_nut_and_two_threads() {
    let mut bolt = line("10");
    bolt.kind = RivetKind::Bolt;
    (bolt.layers, bolt.film, bolt.diameter) = (vec![inch("1/4"), inch("1/4")], Vec::new(), inch("1/2"));
    let found = work(&bolt);
    assert_eq!(
        (found.length, found.hole),
        (Some(inch("1 1/4")), Some(inch("0.516")))
    );
    bolt.diameter = inch("0.45");
    let found = work(&bolt);
    assert_eq!((found.length, found.hole), (None, None));
    assert!(found.warnings.iter().any(|w| w.contains("bolt maker")));
}

proptest! {
    #[test]
    fn rivets_keep_their_edge_and_pitch(length in 48_i64..8_000, holes in prop::collection::vec(0_i64..8_000, 0..20), pitch in prop::option::of(1_i64..400)) {
        let mut line = line("48");
        line.line_length = Length::sixty_fourths(length);
        line.pitch = pitch.map(Length::sixty_fourths);
        line.existing_holes = holes.iter().filter(|h| **h <= length).map(|h| Hole { at: Length::sixty_fourths(*h), diameter: None }).collect();
        let found = work(&line);
        prop_assert!(!found.places.is_empty());
        prop_assert!(found.places.iter().all(|p| *p >= found.edge_min && *p <= line.line_length.minus(found.edge_min)));
        for pair in found.places.windows(2) {
            prop_assert!(pair[1].minus(pair[0]).plus(Length::from_nm(1)) >= found.pitch_min, "{:?}", found.places);
        }
        prop_assert!(found.length.unwrap() >= found.grip.plus(inch("9/32")));
    }
}
