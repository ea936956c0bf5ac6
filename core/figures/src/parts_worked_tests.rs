//! The figures of each family, worked by hand on the 53 ft starting plan and the starting shop book.

use super::*;
use crate::basis::Standing;

#[test]
fn a_nose_patch_is_the_patch_of_a_side_on_another_wall() {
    let mark = mark_on(Surface::Nose, Part::NoseWall, DamageKind::Hole, [40, 51, 40, 52]);
    // 11 x 12 and 1 all round is 13 x 14; two rows of 3/16 at 4 D, 2 D edges: 0.75 + 2 x 0.375 = 1.5 all round: 16 x 17.
    // Outer ring (15.25 + 16.25) / 0.75: 21 + 22 spaces, x 2 = 86; inner (13.75 + 14.75) / 0.75: 19 + 20, x 2 = 78.
    let taken = taken(&mark, WayKey::LappedPatch);
    let lines = lines(&taken);
    assert_eq!((lines["nose sheet"], lines["patch rivets"]), ("272", "164"));
    // Twice round: 4 x (16 + 17) = 132 in; 132 x 1/16 x 1.1 / 18.227 = 0.50.
    assert_eq!(
        (lines["patch sealant"], lines["sealant cartridges"]),
        ("132", "1")
    );
    assert!(taken.lining && taken.wet);
    assert!(
        why_not(
            &mark_on(Surface::Nose, Part::NoseWall, DamageKind::Hole, [1, 9, 40, 52]),
            WayKey::LappedPatch
        )
        .contains("corner post")
    );
    assert!(
        why_not(
            &mark_on(Surface::Nose, Part::NoseWall, DamageKind::Hole, [40, 51, 98, 108]),
            WayKey::LappedPatch
        )
        .contains("nose rail")
    );
}

#[test]
fn a_whole_nose_sheet_is_riveted_all_round_and_on_its_posts() {
    let mark = mark_on(Surface::Nose, Part::NoseWall, DamageKind::Tear, [20, 80, 20, 90]);
    let taken = taken(&mark, WayKey::Replace);
    let lines = lines(&taken);
    // 102 x 110. Round at 1-1/2: 69 across, 75 up: (69 + 75 - 2) x 2 = 284. Six posts at 16 in between the corners,
    // 110 / 4 in 28 spaces: 29 holes less both ends = 27 each: 284 + 162 = 446.
    assert_eq!(
        (lines["nose sheet"], lines["nose sheet rivets"]),
        ("11220", "446")
    );
    assert_eq!(lines["nose sheet sealant"], "424");
    assert_eq!(taken.needs[0].width, Some(Length::inches(102)));
}

#[test]
fn a_nose_rail_alone_loosens_the_roof_edge_and_brings_bow_plates_and_caps() {
    let mark = mark_on(
        Surface::Nose,
        Part::NoseRail,
        DamageKind::Crack,
        [10, 90, 106, 110],
    );
    let taken = taken(&mark, WayKey::Replace);
    let lines = lines(&taken);
    // (101.5 - 4 x 3/16) / 4 = 25.2: 26 spaces, 27 rivets a row, two rows. Edge: 24 / 4 = 6 holes a side.
    assert_eq!(
        (lines["nose rail rivets"], lines["top rail rivets"]),
        ("54", "12")
    );
    assert_eq!((lines["nose rail"], lines["edge sealant"]), ("101.5", "149.5"));
    assert_eq!(
        (
            lines["front roof bow"],
            lines["corner plate"],
            lines["corner cap"]
        ),
        ("1", "4", "2")
    );
    let found = estimated(&plan(), &mark, WayKey::Replace);
    let hours = |task: &str| {
        found.groups[0]
            .hours
            .iter()
            .find(|line| line.task == task)
            .unwrap()
            .hours
            .clone()
    };
    // 149.5 in is 12.46 ft, x 0.2 h.
    assert_eq!(
        (hours("nose_rail"), hours("edge_loosened")),
        ("4".to_owned(), "2.49".to_owned())
    );
    let rivets = found.groups[0]
        .goods
        .iter()
        .find(|line| line.item == "rivets")
        .unwrap();
    assert_eq!(rivets.quantity, "66");
    let steps = steps_of(&[taken]);
    let at = |key: &str| steps.iter().position(|step| step.key == key).unwrap();
    assert!(at("part_hold:m") < at("part_edge:m") && at("part_edge:m") < at("part_off:m"));
    assert!(at("part_off:m") < at("part_on:m") && at("part_close:m") < at("leak_test"));
    let on = &steps[at("part_on:m")];
    assert_eq!(
        on.values[0].wanted,
        Target::SameAs("diagonal_1_part:m".to_owned())
    );
}

#[test]
fn rails_are_spliced_clear_of_their_ends_and_no_weaker_than_the_factory() {
    let bend = mark_on(
        Surface::Nose,
        Part::NoseRail,
        DamageKind::Bend,
        [40, 50, 106, 110],
    );
    let dent = mark_on(
        Surface::Curbside,
        Part::TopRail,
        DamageKind::Dent,
        [100, 110, 106, 110],
    );
    for mark in [&bend, &dent] {
        let taken = taken(mark, WayKey::Splice);
        let lines = lines(&taken);
        // 10 + 2 x 1 = 12 cut out, + 2 x 12 = 36. Factory: 12 / 4 = 3 holes, two rows: 6, at least 8 each side;
        // over the cut 3 x 2 = 6: 8 + 8 + 6 = 22.
        assert_eq!(
            (lines[taken.needs[0].item.as_str()], lines["splice rivets"]),
            ("36", "22")
        );
        assert_eq!(lines["splice sealant"], "72");
    }
    for (place, word) in [
        ([20, 30, 106, 110], "end or corner plate"),
        ([20, 80, 106, 110], "longer than"),
    ] {
        let mark = mark_on(Surface::Nose, Part::NoseRail, DamageKind::Bend, place);
        assert!(why_not(&mark, WayKey::Splice).contains(word));
    }
}

#[test]
fn bows_are_changed_from_inside_up_to_the_shop_s_number_and_never_under_a_seam() {
    let mark = |from, to| mark_on(Surface::Roof, Part::RoofBow, DamageKind::Bend, [from, to, 30, 60]);
    let one = taken(&mark(118, 122), WayKey::Replace);
    // Bow 5 at 120: two fasteners each end, caulked over 101.5.
    assert_eq!(one.numbers, vec![5]);
    assert_eq!(
        (lines(&one)["bow rivets"], lines(&one)["bow caulk"]),
        ("4", "101.5")
    );
    assert!(why_not(&mark(100, 200), WayKey::Replace).contains("at most 3"));
    let mut seamed = plan();
    seamed.roof_seams = vec![Length::inches(120)];
    let shut = takeoffs(
        &seamed,
        &[&mark(118, 122)],
        &Book::default(),
        WayKey::Replace,
        Unit::In,
    );
    assert!(shut.unwrap_err().sentence.contains("earlier seam"));
    let straight = taken(&mark(118, 122), WayKey::Straighten);
    let step = steps_of(&[straight])
        .into_iter()
        .find(|step| step.key == "part_measure:m")
        .unwrap();
    assert_eq!(step.values[0].tolerance, Some(Length::sixty_fourths(32)));
}

#[test]
fn posts_are_spliced_sistered_or_replaced_with_their_lining_out() {
    let corner = taken(
        &mark_on(Surface::Nose, Part::CornerPost, DamageKind::Dent, [0, 3, 20, 60]),
        WayKey::Replace,
    );
    // 110 / 1.5 in 74 spaces: 75 a row, two rows.
    assert_eq!(
        (
            lines(&corner)["corner post rivets"],
            lines(&corner)["corner post sealant"]
        ),
        ("150", "220")
    );
    let mark = mark_on(
        Surface::Curbside,
        Part::SidePost,
        DamageKind::Tear,
        [110, 114, 40, 50],
    );
    let spliced = taken(&mark, WayKey::Splice);
    // 10 + 2 = 12 cut out, + 2 x 8 = 28; 8 / 4 = 2 holes, at least 4 each side; 12 / 4 = 3 over the cut: 11.
    assert_eq!(
        (lines(&spliced)["side post"], lines(&spliced)["splice rivets"]),
        ("28", "11")
    );
    assert_eq!(spliced.numbers, vec![7]);
    let sistered = taken(&mark, WayKey::Sister);
    // 110 / 4 in 28 spaces.
    assert_eq!(
        (lines(&sistered)["side post"], lines(&sistered)["sister rivets"]),
        ("110", "29")
    );
    assert!(spliced.lining && !spliced.wet && taken(&mark, WayKey::Replace).wet);
    let low = mark_on(
        Surface::Curbside,
        Part::SidePost,
        DamageKind::Tear,
        [110, 114, 5, 15],
    );
    assert!(why_not(&low, WayKey::Splice).contains("to a rail"));
}

#[test]
fn lining_and_scuff_band_go_from_post_to_post() {
    let mark = |part| {
        mark_on(
            Surface::InsideCurbside,
            part,
            DamageKind::Hole,
            [100, 110, 40, 50],
        )
    };
    let insert = taken(&mark(Part::Lining), WayKey::NewSection);
    // Posts 96 and 112: 16 wide; 10 + 2 x 1 = 12 high; screws 3 + 3 - 2 = 4, x 2 = 8; strips 2 x 16.
    assert_eq!(insert.facts[0].said, "16 in x 12 in");
    assert_eq!(
        (lines(&insert)["screws"], lines(&insert)["backing strip"]),
        ("8", "32")
    );
    let sheets = taken(&mark(Part::Lining), WayKey::Replace);
    // Station 100 to 110 lies on the third sheet of 48 (96 to 144); 7 + 13 - 2 = 18 screws, x 2 = 36.
    assert_eq!(
        (lines(&sheets)["lining sheet"], lines(&sheets)["screws"]),
        ("1", "36")
    );
    let band = taken(&mark(Part::ScuffBand), WayKey::NewSection);
    assert_eq!((lines(&band)["scuff band"], lines(&band)["screws"]), ("16", "4"));
}

#[test]
fn floor_boards_run_from_crossmember_to_crossmember_over_whole_boards() {
    let mark = mark_on(Surface::Floor, Part::Floor, DamageKind::Hole, [20, 50, 10, 22]);
    let taken = taken(&mark, WayKey::NewSection);
    let lines = lines(&taken);
    // 10 to 22 lies on boards 1 and 2; 20 to 50 between crossmembers 12 and 60: 48 in, five crossmembers under it.
    assert_eq!((lines["floor board"], lines["screws"]), ("96", "20"));
    // Three edges of 48 and two ends of 24.
    assert_eq!(lines["floor sealant"], "192");
    let found = estimated(&plan(), &mark, WayKey::NewSection);
    assert_eq!(found.groups[0].hours[0].hours, "2", "8 ft of board x 0.25 h");
}

#[test]
fn doors_lamps_harness_and_sheeting_are_counted() {
    let door = |kind| mark_on(Surface::Rear, Part::Door, kind, [10, 20, 40, 50]);
    // Half of 102 is 51: 2 x (51 + 110).
    assert_eq!(
        lines(&taken(&door(DamageKind::Leak), WayKey::NewGasket))["door gasket"],
        "322"
    );
    let both = mark_on(Surface::Rear, Part::Door, DamageKind::Broken, [45, 60, 40, 50]);
    assert_eq!(lines(&taken(&both, WayKey::Replace))["door panel"], "2");
    let wires = taken(
        &mark_on(Surface::Nose, Part::Harness, DamageKind::Tear, [40, 46, 10, 12]),
        WayKey::Splice,
    );
    // 6 + 2 x 12; seven wires, both ends.
    assert_eq!(
        (lines(&wires)["harness"], lines(&wires)["sealed connector"]),
        ("30", "14")
    );
    let strip = mark_on(
        Surface::Curbside,
        Part::ReflectiveSheeting,
        DamageKind::Missing,
        [100, 120, 5, 7],
    );
    // 20 in is 508 mm: two pieces of 300 mm. The side is 16 154.4 mm, half is 8 077.2: 27 pieces, and one begins every
    // (16 154.4 - 300) / 26 = 609.78 mm, that is 24 in.
    assert_eq!(taken(&strip, WayKey::NewSection).needs[0].count, 2);
    let side = taken(&strip, WayKey::Replace);
    assert_eq!(side.needs[0].count, 27);
    let said = |name: &str| {
        side.facts
            .iter()
            .find(|fact| fact.name == name)
            .unwrap()
            .said
            .clone()
    };
    assert!(said("cut").contains("every ~24 in"), "{}", said("cut"));
    assert!(side.why[0].contains("14 of one colour and 13 of the other"));
}

#[test]
fn loose_and_leaking_rows_are_counted_along_the_mark() {
    let rail = |kind| mark_on(Surface::Roadside, Part::TopRail, kind, [100, 120, 107, 110]);
    // 20 / 4 in five spaces; a leak is sealed 6 past it each side.
    assert_eq!(
        lines(&taken(&rail(DamageKind::LooseFasteners), WayKey::Refasten))["rivets set anew"],
        "6"
    );
    assert_eq!(
        lines(&taken(&rail(DamageKind::Leak), WayKey::Reseal))["sealant"],
        "32"
    );
    let side = mark_on(
        Surface::Curbside,
        Part::SideSheet,
        DamageKind::LooseFasteners,
        [100, 106, 10, 12],
    );
    assert_eq!(lines(&taken(&side, WayKey::Refasten))["rivets set anew"], "5");
    assert!(choice(&side).ways[0].fits);
}

#[test]
fn what_goes_in_with_a_nose_rail_is_not_counted_twice() {
    let rail = mark_on(
        Surface::Nose,
        Part::NoseRail,
        DamageKind::Crack,
        [10, 90, 106, 110],
    );
    let cap = Mark {
        id: "c".to_owned(),
        ..mark_on(
            Surface::Nose,
            Part::CornerCap,
            DamageKind::Broken,
            [0, 4, 106, 110],
        )
    };
    let front = Mark {
        id: "f".to_owned(),
        ..mark_on(
            Surface::Roof,
            Part::FrontRoofBow,
            DamageKind::Bend,
            [0, 3, 30, 50],
        )
    };
    let bow = Mark {
        id: "b".to_owned(),
        ..mark_on(Surface::Roof, Part::RoofBow, DamageKind::Bend, [22, 26, 30, 50])
    };
    let marks = [&rail, &cap, &front, &bow];
    let found = takeoffs(&plan(), &marks, &Book::default(), WayKey::Replace, Unit::In).unwrap();
    let parts: Vec<Part> = found.iter().map(|taken| taken.part).collect();
    assert_eq!(parts, vec![Part::NoseRail, Part::RoofBow]);
    let straight = takeoffs(&plan(), &marks, &Book::default(), WayKey::Straighten, Unit::In).unwrap();
    assert_eq!(
        straight.iter().map(|taken| taken.way).collect::<Vec<_>>(),
        vec![WayKey::Replace, WayKey::Straighten]
    );
    let sheet = Mark {
        id: "s".to_owned(),
        ..mark_on(Surface::Roof, Part::RoofSheet, DamageKind::Tear, [30, 40, 30, 50])
    };
    assert!(
        keys(&plan(), &[&rail, &sheet]).is_empty(),
        "torn sheet opens the roof"
    );
}

#[test]
fn a_guard_that_is_bent_is_replaced_and_one_that_is_cracked_asks_the_maker() {
    let guard = |kind| choice(&mark_on(Surface::Rear, Part::RearGuard, kind, [10, 90, 0, 4]));
    let keys = |choice: &Choice| choice.ways.iter().map(|way| way.key).collect::<Vec<_>>();
    assert_eq!(
        keys(&guard(DamageKind::Bend)),
        vec![WayKey::Replace, WayKey::AskTheMaker, WayKey::ByHand]
    );
    assert_eq!(
        keys(&guard(DamageKind::Crack)),
        vec![WayKey::AskTheMaker, WayKey::ByHand]
    );
    assert!(guard(DamageKind::Bend).ways[0].why[0].contains("label"));
}

#[test]
fn composite_walls_ask_the_maker() {
    let mut plan = plan();
    plan.composite_sides = true;
    let mark = mark_on(Surface::Nose, Part::NoseWall, DamageKind::Hole, [40, 51, 40, 52]);
    let found = ways(&plan, std::slice::from_ref(&mark), &Book::default(), Unit::In).unwrap();
    assert_eq!(found[0].ways[0].key, WayKey::AskTheMaker);
    assert!(found[0].ways.iter().all(|way| way.price.is_none()));
}

#[test]
fn work_by_hand_on_the_maker_s_parts_still_waits_for_the_maker() {
    let hand = OtherWork {
        maker: true,
        ..OtherWork::new("k", Part::Kingpin, "kingpin", OtherMethod::ByHand)
    };
    let work = Work {
        others: vec![hand],
        ..bare()
    };
    let keys: Vec<String> = steps(&work).into_iter().map(|step| step.key).collect();
    let at = |key: &str| keys.iter().position(|other| other == key).unwrap();
    assert!(at("ask_the_maker:k") < at("by_hand:k"));
}

#[test]
fn a_way_that_does_not_fit_any_more_stops_before_anything_is_cut() {
    let lost = OtherWork::new("p", Part::SidePost, "side post", OtherMethod::Part);
    let work = Work {
        others: vec![lost],
        ..bare()
    };
    let found = steps(&work);
    assert!(
        found
            .iter()
            .any(|step| step.title.contains("Figure it anew") && step.stop_and_check)
    );
}

/// The proof's own check (49 CFR 571.108 S8.2) of a side that was figured anew.
#[test]
fn a_side_s_sheeting_as_figured_has_no_fault_at_the_proof() {
    for body in BodyType::ALL {
        let plan = body.plan();
        let strip = mark_on(
            Surface::Curbside,
            Part::ReflectiveSheeting,
            DamageKind::Missing,
            [100, 120, 5, 7],
        );
        let found = takeoffs(&plan, &[&strip], &Book::default(), WayKey::Replace, Unit::Mm).unwrap();
        let (count, piece) = (found[0].needs[0].count, Length::mm(300));
        let gap = plan.length.minus(piece).part(i64::from(count) - 1).unwrap();
        let pieces: Vec<serde_json::Value> = (0..i64::from(count))
            .map(|i| {
                let from = gap.times(i);
                let number = |length: Length| length.to_decimal(Unit::Mm).to_string().parse::<f64>().unwrap();
                serde_json::json!({"from": number(from), "to": number(from.plus(piece)), "width": 50,
                    "colour": if i % 2 == 0 { "red" } else { "white" }, "centre_above_ground": 1000})
            })
            .collect();
        let length = plan
            .length
            .to_decimal(Unit::Mm)
            .to_string()
            .parse::<f64>()
            .unwrap();
        let input = serde_json::json!({"unit": "mm", "length": length, "built": "2019-05-01", "side_pieces": pieces, "rear": null});
        let proof = crate::proof::sheeting(&input).unwrap();
        assert_eq!(proof["faults"], serde_json::json!([]), "{body:?}");
        assert_eq!(proof["short_by"].as_f64(), Some(0.0), "{body:?}");
    }
}

#[test]
fn a_whole_side_post_waits_for_the_roof_and_a_splice_is_made_while_it_is_off() {
    let mark = |id: &str| Mark {
        id: id.to_owned(),
        ..mark_on(
            Surface::Curbside,
            Part::SidePost,
            DamageKind::Tear,
            [110, 114, 40, 50],
        )
    };
    let (post, spliced) = (mark("post"), mark("splice"));
    let other = |taken: PartTakeoff| OtherWork {
        taken: Some(taken.clone()),
        ..OtherWork::new(&taken.mark, taken.part, "side post", OtherMethod::Part)
    };
    let tear = mark_on(Surface::Roof, Part::RoofSheet, DamageKind::Tear, [3, 149, 20, 60]);
    let marks = std::slice::from_ref(&tear);
    let chosen = Chosen {
        group: "roof".to_owned(),
        way: "front_section".to_owned(),
        by_hand: None,
    };
    let book = Book::default();
    let found = estimate(&plan(), marks, &[chosen], &book, &[], Unit::In).unwrap();
    let roof = crate::steps::RoofWork::of(found.groups[0].roof.as_ref().unwrap(), &book.roof, false, false);
    let work = Work {
        roof: Some(roof),
        others: vec![
            other(taken(&post, WayKey::Replace)),
            other(taken(&spliced, WayKey::Splice)),
        ],
        ..bare()
    };
    let keys: Vec<String> = steps(&work).into_iter().map(|step| step.key).collect();
    let at = |key: &str| keys.iter().position(|other| other == key).unwrap();
    assert!(at("old_sheet") < at("part_cut:splice") && at("part_fasten:splice") < at("sheet_on"));
    assert!(at("sheet_on") < at("part_hold:post") && at("part_rivet:post") < at("leak_test"));
    let rows = crate::steps::roof_off_rows(&work, &[]);
    let has = |mark: &str| {
        rows.iter()
            .any(|row| row.key == format!("on_hand:side_post:{mark}"))
    };
    assert!(
        has("splice") && has("post"),
        "nothing is opened while either is on order"
    );
}

/// Common practice: a shallow dent without a hole is straightened or filled, not patched; a door's patch takes a row round
/// its own edge. Limit, rows and pitch are from memory until the shop sets them, and say so.
#[test]
fn a_shallow_dent_of_a_door_is_no_patch_and_a_patch_of_it_takes_one_row_round_its_edge() {
    let dent = |depth: Option<i64>| Mark {
        depth: depth.map(Length::sixty_fourths),
        ..mark_on(Surface::Rear, Part::Door, DamageKind::Dent, [10, 30, 40, 55])
    };
    let of = |mark: &Mark, key: WayKey| choice(mark).ways.into_iter().find(|way| way.key == key).unwrap();
    let (shallow, deep, open) = (dent(Some(12)), dent(Some(64)), dent(None));
    assert!(of(&shallow, WayKey::Straighten).best && !of(&shallow, WayKey::LappedPatch).fits);
    assert!(of(&shallow, WayKey::LappedPatch).why[0].contains("has no hole"));
    assert!(!of(&deep, WayKey::Straighten).fits && of(&deep, WayKey::LappedPatch).fits);
    assert!(of(&open, WayKey::Straighten).measure_first && !of(&open, WayKey::Straighten).best);
    assert!(of(&open, WayKey::LappedPatch).why[0].contains("Measure the depth"));
    // Cut-out 22 x 17; one row, so the lap is twice 2 D of 3/16: .75 in; patch 23.5 x 18.5. The row is .375 in from the
    // edge: 22.75 / 1.5 = 15.2, so 16 spaces along; 17.75 / 1.5 = 11.8, so 12 up; 2 x (16 + 12) = 56 in a closed row.
    let patched = taken(&deep, WayKey::LappedPatch);
    let line = patched
        .lines
        .iter()
        .find(|line| line.item == "patch rivets")
        .unwrap();
    assert_eq!(
        (line.quantity.as_str(), &line.standing),
        ("56", &Standing::Memory)
    );
    assert!(patched.warnings.join(" ").contains("handbook check"));
    let straight = taken(&shallow, WayKey::Straighten);
    assert!(straight.lines.iter().all(|line| !line.item.contains("rivet")));
    // A hole is patched, whatever its depth.
    let hole = Mark {
        kind: DamageKind::Hole,
        ..shallow
    };
    assert!(of(&hole, WayKey::LappedPatch).best);
}

/// Every patch of a wall counts its rivets round its own edge: closed rows, 4 D apart, at its own pitch.
#[test]
fn rivets_of_a_wall_patch_are_those_of_its_own_rows() {
    for (surface, part) in [(Surface::Nose, Part::NoseWall), (Surface::Rear, Part::Door)] {
        let mark = mark_on(surface, part, DamageKind::Hole, [10, 20, 40, 46]);
        let taken = taken(&mark, WayKey::LappedPatch);
        let (book, door) = (Book::default(), part == Part::Door);
        let (rows, pitch) = if door {
            (1, book.parts.door_pitch.value)
        } else {
            (2, Length::sixty_fourths(48))
        };
        // 4 D between rows and twice 2 D of 3/16 in: 12/16 in each. Cut-out 12 x 8.
        let patch = [12, 8].map(|cut| Length::inches(cut).plus(Length::sixty_fourths(48).times(2 * rows)));
        let row = |n: i64| {
            let inset = Length::sixty_fourths(24)
                .plus(Length::sixty_fourths(48).times(n))
                .times(2);
            let up = |side: Length| (side.minus(inset).nm() + pitch.nm() - 1) / pitch.nm();
            2 * (up(patch[0]) + up(patch[1]))
        };
        let count: i64 = (0..rows).map(row).sum();
        assert_eq!(lines(&taken)["patch rivets"], count.to_string(), "{part:?}");
    }
}
