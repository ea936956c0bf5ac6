#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]
use super::*;
use crate::body::BodyType;
use crate::measure::Unit;
use crate::unfold::{fold_out, snap};
use proptest::prelude::*;

const ALL: [Surface; 9] = [
    Surface::Nose,
    Surface::Curbside,
    Surface::Rear,
    Surface::Roadside,
    Surface::Roof,
    Surface::InsideNose,
    Surface::InsideCurbside,
    Surface::InsideRoadside,
    Surface::Floor,
];

fn inch(n: i64) -> Length {
    Length::inches(n)
}

fn mark(surface: Surface, from: i64, to: i64, low: i64, high: i64, part: Part) -> Mark {
    let place = Place {
        surface,
        from: inch(from),
        to: inch(to),
        low: inch(low),
        high: inch(high),
    };
    Mark {
        id: "a".to_owned(),
        place,
        kind: DamageKind::Tear,
        part,
        age: Age::New,
        depth: None,
    }
}

fn hits(mark: &Mark) -> Vec<(Part, Vec<u32>, bool)> {
    parts_hit(&BodyType::DryVan53.plan(), mark)
        .into_iter()
        .map(|h| (h.part, h.numbers, h.hidden))
        .collect()
}

#[test]
fn the_starting_plans_can_be_worked_with() {
    for body in BodyType::ALL {
        let plan = body.plan();
        plan.check().unwrap();
        assert_eq!(BodyType::by_key(body.key()), Some(body));
        assert_eq!(serde_json::to_value(body).unwrap(), body.key());
        assert!(*plan.bows.last().unwrap() < plan.length);
    }
    assert_eq!(BodyType::DryVan53.plan().bows.len(), 26);
}

#[test]
fn a_plan_whose_stations_fall_or_lie_outside_is_refused_with_its_measure() {
    let mut plan = BodyType::DryVan53.plan();
    plan.posts = vec![inch(20), inch(10)];
    assert_eq!(plan.check().unwrap_err().where_.as_deref(), Some("/posts"));
    plan.posts = vec![inch(637)];
    assert_eq!(plan.check().unwrap_err().where_.as_deref(), Some("/posts"));
    plan.posts.clear();
    plan.width = inch(100);
    assert_eq!(
        plan.check().unwrap_err().where_.as_deref(),
        Some("/rail_width_outside")
    );
}

#[test]
fn a_roof_tear_at_the_nose_reaches_sheet_bows_rails_and_what_is_hidden_there() {
    let found = hits(&mark(Surface::Roof, 3, 149, 0, 40, Part::RoofSheet));
    assert_eq!(found[0], (Part::RoofSheet, vec![], false));
    assert!(found.contains(&(Part::RoofBow, vec![1, 2, 3, 4, 5, 6], true)));
    for part in [
        Part::NoseRail,
        Part::FrontRoofBow,
        Part::TopRail,
        Part::CornerCap,
        Part::Harness,
    ] {
        assert!(found.iter().any(|(p, _, _)| *p == part), "{part:?}");
    }
    let clear = hits(&mark(Surface::Roof, 30, 40, 30, 40, Part::RoofSheet));
    assert_eq!(clear, vec![(Part::RoofSheet, vec![], false)]);
}

#[test]
fn a_side_hole_names_its_sheet_and_the_posts_behind_it() {
    let found = hits(&mark(Surface::Curbside, 110, 130, 40, 52, Part::SideSheet));
    assert_eq!(found[0], (Part::SideSheet, vec![3], false));
    assert!(found.contains(&(Part::SidePost, vec![7, 8], true)));
    assert!(found.contains(&(Part::Lining, vec![], true)));
}

#[test]
fn a_place_outside_its_surface_is_refused() {
    let plan = BodyType::DryVan53.plan();
    let ok = mark(Surface::Nose, 10, 102, 0, 110, Part::NoseWall).place;
    ok.check(&plan).unwrap();
    assert_eq!(
        Place { to: inch(103), ..ok }
            .check(&plan)
            .unwrap_err()
            .where_
            .as_deref(),
        Some("/to")
    );
    assert_eq!(
        Place {
            low: inch(90),
            high: inch(80),
            ..ok
        }
        .check(&plan)
        .unwrap_err()
        .code,
        "place_order"
    );
}

#[test]
fn the_fold_out_lies_nose_up_with_roadside_left_and_curbside_right() {
    let plan = BodyType::DryVan53.plan();
    let sheet = fold_out(&plan, false);
    assert_eq!(sheet.size, [inch(110 + 102 + 110), inch(110 + 636 + 110)]);
    let rect = |surface| sheet.faces.iter().find(|f| f.surface == surface).unwrap().rect;
    assert!(
        rect(Surface::Nose)[1] < rect(Surface::Roof)[1] && rect(Surface::Roof)[1] < rect(Surface::Rear)[1]
    );
    assert!(
        rect(Surface::Roadside)[0] < rect(Surface::Roof)[0]
            && rect(Surface::Roof)[0] < rect(Surface::Curbside)[0]
    );
    // The top of each wall touches the roof.
    let top = |surface, from: i64| {
        sheet
            .to_drawing(&mark(surface, from, from + 1, 109, 110, Part::SideSheet).place)
            .unwrap()
    };
    assert_eq!(top(Surface::Roadside, 0)[0], inch(109));
    assert_eq!(top(Surface::Curbside, 0)[0], inch(110 + 102));
    assert_eq!(top(Surface::Nose, 0)[1], inch(109));
    assert_eq!(top(Surface::Rear, 0)[1], inch(110 + 636));
    assert_eq!(sheet.lines.iter().filter(|line| line.what == "bow").count(), 26);
    let inside = fold_out(&plan, true);
    assert!(inside.faces.iter().all(|face| face.surface.is_inside()));
    // The foot of each lining touches the floor.
    let foot = inside
        .to_drawing(&mark(Surface::InsideRoadside, 0, 1, 0, 1, Part::Lining).place)
        .unwrap();
    assert_eq!(foot[0], inch(109));
}

#[test]
fn two_taps_near_a_bow_are_drawn_to_it() {
    let plan = BodyType::DryVan53.plan();
    let place = mark(Surface::Roof, 1, 73, 30, 40, Part::RoofSheet).place;
    let (snapped, words) = snap(&plan, &place, inch(2), Unit::In);
    assert_eq!((snapped.from, snapped.to), (Length::ZERO, inch(72)));
    assert_eq!(
        words,
        vec!["nose end, 0 in from the nose", "bow 3, 72 in from the nose"]
    );
    let thin = Place {
        from: Length::sixty_fourths(71 * 64 + 33),
        to: inch(73),
        ..place
    };
    // A finger is no tape: what lies between bows is said in whole inches, also where a bow would swallow it.
    let (kept, _) = snap(&plan, &thin, inch(2), Unit::In);
    assert_eq!((kept.from, kept.to), (inch(72), inch(73)));
}

proptest! {
    #[test]
    fn a_point_on_a_surface_comes_back_from_the_drawing(which in 0_usize..9, along in 1_i64..10_000, across in 1_i64..10_000, body in 0_usize..3) {
        let plan = BodyType::ALL[body].plan();
        let surface = ALL[which];
        let (reach, other) = plan.extent(surface);
        // Strictly inside, since an edge belongs to two surfaces.
        let (u, v) = (reach.times(along).part(10_001).unwrap(), other.times(across).part(10_001).unwrap());
        let sheet = fold_out(&plan, surface.is_inside());
        let [x, y, _, _] = sheet.to_drawing(&Place { surface, from: u, to: u, low: v, high: v }).unwrap();
        prop_assert_eq!(sheet.from_drawing(x, y), Some((surface, u, v)));
        let other_sheet = fold_out(&plan, !surface.is_inside());
        prop_assert_eq!(other_sheet.to_drawing(&Place { surface, from: u, to: u, low: v, high: v }), None);
    }

    #[test]
    fn a_snapped_place_stays_on_its_surface(which in 0_usize..9, a in 0_i64..10_000, b in 0_i64..10_000, c in 0_i64..10_000, d in 0_i64..10_000) {
        let plan = BodyType::DryVan53.plan();
        let surface = ALL[which];
        let (reach, other) = plan.extent(surface);
        let part = |l: Length, n: i64| l.times(n).part(10_000).unwrap();
        let place = Place { surface, from: part(reach, a.min(b)), to: part(reach, a.max(b)), low: part(other, c.min(d)), high: part(other, c.max(d)) };
        let (snapped, _) = snap(&plan, &place, inch(3), Unit::Mm);
        prop_assert!(snapped.check(&plan).is_ok(), "{:?}", snapped);
    }

    #[test]
    fn no_mark_makes_the_parts_panic(numbers in prop::array::uniform4(any::<i64>()), which in 0_usize..9) {
        let [a, b, c, d] = numbers.map(Length::from_nm);
        let place = Place { surface: ALL[which], from: a, to: b, low: c, high: d };
        let mark = Mark { id: String::new(), place, kind: DamageKind::Hole, part: Part::RoofBow, age: Age::Old, depth: None };
        prop_assert!(!parts_hit(&BodyType::DryVan28.plan(), &mark).is_empty());
        let _ = (fold_out(&BodyType::DryVan28.plan(), false).to_drawing(&place), snap(&BodyType::DryVan28.plan(), &place, a, Unit::In));
    }
}

/// Composite plate has no posts: none is drawn, hit or worked on, whatever stations the body's type starts with.
#[test]
fn sides_of_composite_plate_have_no_posts() {
    let sheet = BodyType::DryVan53.plan();
    let plate = Plan {
        composite_sides: true,
        ..sheet.clone()
    };
    let posts = |plan: &Plan, inside: bool| {
        let drawn = fold_out(plan, inside).lines;
        drawn.iter().filter(|line| line.what == "post").count()
    };
    for inside in [false, true] {
        assert!(posts(&sheet, inside) > 50);
        assert_eq!(posts(&plate, inside), 0);
    }
    let at = |surface, part| mark(surface, 100, 130, 40, 60, part);
    for (surface, part) in [
        (Surface::Curbside, Part::SideSheet),
        (Surface::InsideCurbside, Part::Lining),
    ] {
        let hit = |plan: &Plan| {
            parts_hit(plan, &at(surface, part))
                .iter()
                .any(|hit| hit.part == Part::SidePost)
        };
        assert!(hit(&sheet) && !hit(&plate), "{surface:?}");
    }
    let snapped = |plan: &Plan| {
        let near = at(Surface::Curbside, Part::SideSheet).place;
        snap(plan, &near, inch(3), Unit::In).1.join(", ")
    };
    assert!(
        snapped(&sheet).contains("post") && !snapped(&plate).contains("post"),
        "{}",
        snapped(&plate)
    );
    let ways = |plan: &Plan, surface, part| {
        let choices = crate::ways::ways(
            plan,
            &[at(surface, part)],
            &crate::shop::Book::default(),
            Unit::In,
        )
        .unwrap();
        let fit: Vec<String> = choices[0]
            .ways
            .iter()
            .filter(|way| way.fits)
            .map(|way| way.title.clone())
            .collect();
        (fit.join(", "), format!("{choices:?}").to_lowercase())
    };
    let (fit, said) = ways(&plate, Surface::Curbside, Part::SidePost);
    assert_eq!(fit, "By hand");
    assert!(said.contains("have no posts"), "{said}");
    // What ends on posts does not fit there.
    for (surface, part) in [
        (Surface::InsideCurbside, Part::Lining),
        (Surface::InsideCurbside, Part::ScuffBand),
    ] {
        assert!(ways(&sheet, surface, part).0.contains("post to post") || part == Part::ScuffBand);
        let (fit, said) = ways(&plate, surface, part);
        assert!(
            !fit.contains("post to post") && !fit.contains("length of scuff band"),
            "{part:?}: {fit}"
        );
        assert!(said.contains("have no posts to end on"), "{part:?}: {said}");
    }
}

#[test]
fn damage_of_a_fitting_reaches_what_holds_or_feeds_it_and_no_door_or_sheet_behind_it() {
    let plan = BodyType::DryVan53.plan();
    let hit = |surface, part, [from, to, low, high]: [i64; 4]| {
        let mark = mark(surface, from, to, low, high, part);
        let hits = parts_hit(&plan, &mark);
        hits.iter().map(|hit| (hit.part, hit.hidden)).collect::<Vec<_>>()
    };
    // In the middle of the rear, where the doors are.
    assert_eq!(
        hit(Surface::Rear, Part::Lamp, [48, 54, 100, 104]),
        [(Part::Lamp, false), (Part::Harness, true)]
    );
    assert_eq!(
        hit(Surface::Rear, Part::RearGuard, [10, 90, 0, 4]),
        [(Part::RearGuard, false), (Part::RearFrame, false)]
    );
    assert_eq!(
        hit(Surface::Curbside, Part::Lamp, [300, 304, 2, 5]),
        [(Part::Lamp, false), (Part::Harness, true)]
    );
    // The door itself is still reached by a mark on the door.
    assert!(hit(Surface::Rear, Part::Door, [40, 60, 40, 60]).contains(&(Part::Door, false)));
}

#[test]
fn a_refused_measure_says_which_it_is_and_what_is_accepted() {
    let plan = || BodyType::DryVan53.plan();
    let flat = Plan {
        side_height: Length::ZERO,
        ..plan()
    };
    let said = |plan: &Plan| plan.check().unwrap_err().sentence;
    assert_eq!(
        said(&flat),
        "The body's side height: more than 0 and at most 100 m is accepted."
    );
    let thick = Plan {
        post_flange: Some(Length::inches(2)),
        ..plan()
    };
    assert!(
        said(&thick).starts_with("The body's post flange:"),
        "{}",
        said(&thick)
    );
    let behind = mark(Surface::Curbside, 600, 700, 10, 20, Part::SideSheet);
    let refusal = behind.place.check(&plan()).unwrap_err().sentence;
    assert!(
        refusal.contains("curbside") && refusal.contains("636 in") && refusal.contains("“to”"),
        "{refusal}"
    );
}
