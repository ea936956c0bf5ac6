#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]
use super::*;
use proptest::prelude::*;
use serde_json::{Value, json};

fn input() -> Value {
    json!({"unit":"in","body":{"length":636,"side_height":110},"side":"curbside",
        "damage":{"from":120,"to":131,"low":40,"high":52},"sheet":0.040,"diameter":0.1875,"table":"4-11",
        "posts":[112,128,144],"sheet_joints":[96,144],"earlier_patches":[],"shop":{}})
}

fn with(put: &[(&str, Value)]) -> Value {
    let mut value = input();
    for (at, new) in put {
        let (parent, name) = at.rsplit_once('/').unwrap();
        value.pointer_mut(parent).unwrap()[name] = new.clone();
    }
    value
}

fn work(put: &[(&str, Value)]) -> Value {
    figure(&with(put)).unwrap_or_else(|e| panic!("{put:?}: {} at {:?}", e.sentence, e.where_))
}

fn ends(out: &Value) -> (f64, f64) {
    (
        out["patch"]["from"].as_f64().unwrap(),
        out["patch"]["to"].as_f64().unwrap(),
    )
}

fn reasons(out: &Value) -> String {
    out["why"].to_string()
}

/// The documented input, worked by hand: 3.2 x .75 = 2.4 an inch, x 3/4 in of pitch = 1.8 -> 2 rows; overlap
/// 3/4 + 2 x 3/8 = 1-1/2; rings of 2 (21 + 22) and 2 (19 + 20) rivets.
#[test]
fn the_documented_patch_comes_out_by_hand() {
    let out = work(&[]);
    assert_eq!(out["way"], "patch");
    assert_eq!(out["cut_out"], json!({"from":119,"to":132,"low":39,"high":53}));
    assert_eq!(
        out["patch"],
        json!({"from":117.5,"to":133.5,"low":37.5,"high":54.5})
    );
    assert_eq!(
        (&out["rows"], &out["overlap"], &out["rivets"]),
        (&json!(2), &json!(1.5), &json!(164))
    );
    assert_eq!(out["posts"], json!([2]));
    assert!(out["warnings"].to_string().contains("post lies behind"));
    assert_eq!(out["lines"][0]["quantity"], json!(16 * 17));
    // Grip .040 + .040 + .020 and 1.5 x 3/16 = .38125 -> 7/16.
    assert_eq!(out["rivet_length"], json!(0.4375));
}

/// TM 9-2320-303-24-2: pitch 5/8 to 1-1/2 in, edge at least 3/8 in, double row 4 D pitch and 2 D edge; a 3/16 in
/// rivet meets all of them by rule.
#[test]
fn pitch_and_edge_by_rule_are_those_of_body_repair() {
    let out = work(&[]);
    assert_eq!((&out["pitch"], &out["edge"]), (&json!(0.75), &json!(0.375)));
    let quiet = |put: &[(&str, Value)]| !work(put)["warnings"].to_string().contains("TM 9-2320-303-24-2");
    assert!(quiet(&[]) && quiet(&[("/shop/pitch", json!(0.625))]) && quiet(&[("/shop/pitch", json!(1.5))]));
    assert!(!quiet(&[("/shop/pitch", json!(0.6))]) && !quiet(&[("/shop/pitch", json!(1.6))]));
    assert!(
        !quiet(&[("/diameter", json!(0.15625))]),
        "2 D of a 5/32 rivet is less than 3/8 in"
    );
    assert!(
        work(&[("/shop/edge_d", json!(1.5))])["warnings"]
            .to_string()
            .contains("less than 2 D")
    );
    let tight = work(&[("/shop/pitch", json!(0.25))]);
    assert_eq!(tight["pitch"], json!(0.5625), "never under 3 D");
}

#[test]
fn an_edge_beside_a_post_is_carried_to_it() {
    let to = |to: f64| work(&[("/damage/to", json!(to)), ("/damage/from", json!(114.5 + 4.0))]);
    // Edge 127.5 would end half an inch ahead of post 128: on to 128 + 2 D.
    let short = to(125.0);
    assert!((ends(&short).1 - 128.375).abs() < 1e-9);
    assert!(reasons(&short).contains("post at station 128 in"));
    // Edge 128.2: its outer row would stand .175 in ahead of the post's rivets.
    assert!((ends(&to(125.7)).1 - 128.375).abs() < 1e-9);
    // Edge 128.9: the post's line lies within the lap, .525 in inside the outer row: 4 D past the post.
    assert!((ends(&to(126.4)).1 - 129.125).abs() < 1e-9);
    // Edge 129.4: the post's line lies between two rows, 1 in inside the outer one: 8 D past it where there are three.
    let three = work(&[
        ("/damage/to", json!(126.1)),
        ("/damage/from", json!(118.5)),
        ("/shop/rows", json!(3)),
    ]);
    assert!((ends(&three).1 - (128.0 + 1.5 + 0.375)).abs() < 1e-9, "{three}");
    // A cut that ends on the post's rivets is warned of.
    assert!(to(126.8)["warnings"].to_string().contains("The cut ends within"));
    assert!(!to(125.0)["warnings"].to_string().contains("cut ends within"));
    // Clear sheet: more than one overlap ahead of the post.
    assert!((ends(&to(122.0)).1 - 124.5).abs() < 1e-9);
    // The nearer end runs the other way: 112.5 would end beside post 112.
    let near = work(&[("/damage/from", json!(115))]);
    assert!((ends(&near).0 - 111.625).abs() < 1e-9);
}

#[test]
fn a_whole_sheet_is_the_way_where_a_patch_may_not_lie() {
    let earlier = json!([{"from":140,"to":143,"low":40,"high":50}]);
    let far = json!([{"from":139.6,"to":143,"low":40,"high":50}]);
    for (put, reason) in [
        (vec![("/damage/low", json!(4))], "bottom rail"),
        (vec![("/damage/high", json!(106))], "top rail"),
        (
            vec![("/damage/to", json!(141)), ("/damage/from", json!(139))],
            "sheet joint at station 144",
        ),
        (vec![("/damage/from", json!(97))], "sheet joint at station 96"),
        (
            vec![("/earlier_patches", earlier), ("/damage/to", json!(132))],
            "earlier patch",
        ),
        (
            vec![("/damage/from", json!(4)), ("/damage/to", json!(9))],
            "corner post",
        ),
        (
            vec![("/damage/from", json!(628)), ("/damage/to", json!(632))],
            "rear frame",
        ),
    ] {
        let out = work(&put);
        assert_eq!(out["way"], "whole_sheet", "{reason}");
        assert!(reasons(&out).contains(reason), "{reason}: {}", reasons(&out));
    }
    assert_eq!(work(&[("/earlier_patches", far)])["way"], "patch", "6.1 in away");
    let out = work(&[("/damage/low", json!(4))]);
    assert_eq!(
        (&out["sheet"]["from"], &out["sheet"]["to"], &out["sheets"]),
        (&json!(96), &json!(144), &json!(1))
    );
    // 49 x 110 in of sheet; joints 75 each, rails 2 x 31, posts 112 and 128 with 27 each.
    assert_eq!(out["lines"][0]["quantity"], json!(49 * 110));
    assert_eq!(out["rivets"], json!(2 * 75 + 2 * 31 + 2 * 27));
    let two = work(&[
        ("/damage/to", json!(150)),
        ("/posts", json!([])),
        ("/body/length", json!(200)),
    ]);
    assert_eq!((&two["sheets"], &two["sheet"]["to"]), (&json!(2), &json!(200)));
}

#[test]
fn rows_are_the_shop_s_or_as_many_as_the_joint_needs() {
    let one = work(&[("/shop/rows", json!(1))]);
    assert_eq!((&one["rows"], &one["overlap"]), (&json!(1), &json!(0.75)));
    assert!(one["warnings"].to_string().contains("fewer than the 2"));
    let three = work(&[("/shop/rows", json!(3))]);
    assert_eq!(three["overlap"], json!(2.25));
    // A wider pitch takes more rows: 2.4 x 1.5 = 3.6 -> 4.
    assert_eq!(work(&[("/shop/pitch", json!(1.5))])["rows"], json!(4));
    let outside = with(&[("/sheet", json!(0.2))]);
    assert_eq!(figure(&outside).unwrap_err().code, "joint_sheet");
    let by_shop = work(&[("/sheet", json!(0.2)), ("/shop/rows", json!(2))]);
    assert!(by_shop["warnings"].to_string().contains("No handbook check"));
    let wide = figure(&with(&[("/shop/pitch", json!(20))])).unwrap_err();
    assert_eq!(
        (wide.code.as_str(), wide.where_.as_deref()),
        ("side_rows", Some("/shop/pitch"))
    );
}

#[test]
fn millimetres_give_the_same_patch() {
    let out = work(&[]);
    let mm = figure(&json!({"unit":"mm","body":{"length":"53'","side_height":"110 in"},"side":"curbside",
        "damage":{"from":3048,"to":3327.4,"low":1016,"high":1320.8},"sheet":1.016,"diameter":4.7625,"table":"4-11",
        "posts":["112 in","128 in","144 in"],"sheet_joints":["96 in","144 in"]}))
    .unwrap();
    assert_eq!(
        (&mm["rivets"], &mm["rows"], &mm["overlap"]),
        (&out["rivets"], &out["rows"], &json!(38.1))
    );
    assert_eq!(mm["patch"]["from"], json!(2984.5));
}

#[test]
fn what_cannot_be_is_refused_with_its_place() {
    for (at, put, place) in [
        ("/damage/to", json!(119), "/damage"),
        ("/damage/to", json!(637), "/damage"),
        ("/damage/high", json!(111), "/damage"),
        ("/posts", json!([128, 112]), "/posts"),
        ("/sheet_joints", json!([700]), "/sheet_joints"),
        (
            "/earlier_patches",
            json!([{"from":2,"to":1,"low":0,"high":1}]),
            "/earlier_patches/0",
        ),
        ("/shop/rows", json!(0), "/shop/rows"),
        ("/shop/rows", json!(21), "/shop/rows"),
        ("/shop/joint_pitch", json!(0), "/shop/joint_pitch"),
        ("/shop/row", json!(1), "/shop/row"),
        ("/side", json!("rear"), "/side"),
        ("/side", json!(null), "/side"),
        ("/diameter", json!(0), "/diameter"),
        ("/table", json!("4-12"), "/table"),
    ] {
        assert_eq!(
            figure(&with(&[(at, put.clone())])).unwrap_err().where_.as_deref(),
            Some(place),
            "{put}"
        );
    }
}

proptest! {
    #[test]
    fn a_patch_laps_at_least_its_overlap_and_keeps_clear_of_every_post(from in 200_i64..4_000, length in 1_i64..400, spacing in 200_i64..1_500) {
        let posts: Vec<Length> = (1..).map(|i| Length::sixty_fourths(i * spacing)).take_while(|at| *at < Length::inches(636)).collect();
        let body = SideBody { length: Length::inches(636), side_height: Length::inches(110), posts, sheet_joints: vec![], earlier_patches: vec![], sheet: Length::thousandths(40) };
        let damage = Rect { from: Length::sixty_fourths(from), to: Length::sixty_fourths(from + length), low: Length::inches(40), high: Length::inches(50) };
        let found = side_patch(&body, damage, &SideRules::default(), SideWay::Patch, Unit::In).unwrap();
        prop_assert!(found.patch.from <= found.cut_out.from.minus(found.overlap));
        prop_assert!(found.patch.to >= found.cut_out.to.plus(found.overlap));
        for post in &body.posts {
            for (outer, inside) in [(found.patch.to.minus(found.edge), *post > found.cut_out.to), (found.patch.from.plus(found.edge), *post < found.cut_out.from)] {
                // A post in the lap holds one of the rows, 4 D from the next; a post ahead of it keeps its distance.
                let on_a_row = outer.apart(*post).nm() % Length::sixty_fourths(48).nm() == 0;
                let in_lap = *post >= found.cut_out.from.minus(found.overlap) && *post <= found.cut_out.to.plus(found.overlap);
                let at_the_cut = [found.cut_out.from, found.cut_out.to].iter().any(|cut| cut.apart(*post) < found.edge);
                prop_assert!(!inside || at_the_cut || on_a_row || (!in_lap && outer.apart(*post) >= Length::sixty_fourths(48)), "{post:?} {found:?}");
            }
        }
    }

    /// AC 43.13-1B, single-lap sheet: each side of the cut has at least the joint's rivets, in all its rows.
    #[test]
    fn every_side_has_the_rivets_of_its_joint(length in 1_i64..2_000, size in 1_usize..4, pitch in 40_i64..97, wide in any::<bool>()) {
        let diameter = Length::sixty_fourths([8, 8, 10, 12][size]);
        let mut rules = SideRules::default();
        rules.diameter.set(Some(diameter));
        if wide { rules.pitch.set(Some(Some(Length::sixty_fourths(pitch)))); }
        let body = SideBody { length: Length::inches(636), side_height: Length::inches(110), posts: vec![], sheet_joints: vec![], earlier_patches: vec![], sheet: Length::thousandths(40) };
        let damage = Rect { from: Length::inches(100), to: Length::inches(100).plus(Length::sixty_fourths(length)), low: Length::inches(40), high: Length::inches(50) };
        let found = side_patch(&body, damage, &rules, SideWay::Patch, Unit::In).unwrap();
        let cut = found.cut_out.along();
        let wanted = crate::joint::joint(rules.table.value, body.sheet, diameter, cut, crate::joint::JointCase::SingleLapSheet, Unit::In).unwrap().count;
        let in_row = |row: u32| {
            let span = found.patch.along().minus(found.edge.plus(diameter.times(4).times(row.into())).times(2));
            (span.nm() as f64 / found.pitch.nm() as f64).ceil() as i64 + 1
        };
        prop_assert!((0..found.rows).map(in_row).sum::<i64>() >= wanted, "{found:?}");
    }

    #[test]
    fn a_larger_damage_never_takes_fewer_rivets(to in 121_i64..130, more in 0_i64..3) {
        let rivets = |to: i64| work(&[("/damage/to", json!(to)), ("/posts", json!([]))])["rivets"].as_u64().unwrap();
        prop_assert!(rivets(to + more) >= rivets(to));
    }
}
