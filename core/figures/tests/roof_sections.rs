//! Middle and rear roof sections: worked examples by hand from the rules of the trade (common practice and the
//! shop's starting values; no published source), seams of earlier repairs, and what holds for any roof.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

#[path = "roof_sections/any.rs"]
mod any;
#[path = "roof_sections/steps.rs"]
mod order_of_steps;
#[path = "roof_sections/two.rs"]
mod two;

use bowseam_figures::basis::Standing;
use bowseam_figures::body::{BodyType, Plan};
use bowseam_figures::door::figure;
use bowseam_figures::estimate::{Chosen, Estimate, Group, estimate};
use bowseam_figures::group::WayKey;
use bowseam_figures::mark::{Age, DamageKind, Mark, Part, Place, Surface};
use bowseam_figures::measure::{Length, Unit};
use bowseam_figures::roof_repair::RoofRepair;
use bowseam_figures::rules::RoofRules;
use bowseam_figures::shop::Book;
use bowseam_figures::steps::{RoofWork, Step, Target, Tolerances, Work, steps};
use bowseam_figures::takeoff::{Damage, RoofBody, RoofTakeoff, RoofWay, roof_way};
use bowseam_figures::ways::{Choice, Way, ways};
use proptest::prelude::*;
use rust_decimal::Decimal;
use serde_json::{Value, json};

const SECTIONS: [RoofWay; 3] = [RoofWay::Section, RoofWay::MiddleSection, RoofWay::RearSection];

fn inch(inches: i64) -> Length {
    Length::inches(inches)
}

/// The contract's body: 636 in, bows 1 to 26 at 24, 48 ... 624, rails 101-1/2 in, holes every 4 in.
fn body() -> RoofBody {
    RoofBody {
        bows: (1..=26).map(|i| inch(24 * i)).collect(),
        ..RoofBody::of(&BodyType::DryVan53.plan())
    }
}

fn damage(from: i64, to: i64) -> Damage<'static> {
    Damage {
        from: inch(from),
        to: inch(to),
        sound: None,
        scattered: false,
    }
}

fn take(body: &RoofBody, (from, to): (i64, i64), way: RoofWay) -> Result<RoofTakeoff, Vec<String>> {
    roof_way(body, &damage(from, to), way, &RoofRules::default(), Unit::In).unwrap()
}

fn quantities(taken: &RoofTakeoff) -> Vec<(&str, &str)> {
    let lines = taken.lines.iter();
    lines
        .map(|line| (line.item.as_str(), line.quantity.as_str()))
        .collect()
}

/// Damage 245 to 300. Behind: 300 + 2 of margin = 302, so bow 13 at 312. Ahead: 245 - 2 of margin - 2 of lap = 241,
/// so bow 10 at 240; the old sheet is cut at 240 + 2 = 242, which leaves 3 in to the damage.
/// Length: 312 - 240 = 72 to cover, + 2 lap behind = 74 as it stays, + 5 for the plates = 79 rough. Ahead nothing is
/// added: the new sheet begins at the front of bow 10. Bows between the seams: 11 (264) and 12 (288), both hit.
/// Sheet 79 x 102.25 = 8077.75 in²; x .040 x .098 = 31.66 lb, 74 x 102.25 x .00392 = 29.66 lb.
/// Tape 2 rows x 101.5 x 2 seams = 406. Foam 2 x 72 = 144. Sealant 2 x (101.5 + 2 x 3) = 215. 72 is under 96: no
/// caulk. Cartridges 215 x .0625 x 1.1 / 18.2273 = .81, so 1. Seam rivets 2 seams x 2 x 3 = 12. Rail holes a side: to
/// 314 / 4 = 78, less 57 up to 240 - 12 = 228, so 21; both 42, less 12 = 30. Edge 2 x (72 + 12) = 168; no end is rolled.
#[test]
fn a_middle_section_is_worked_out_as_by_hand() {
    let taken = take(&body(), (245, 300), RoofWay::MiddleSection).unwrap();
    assert_eq!(
        (taken.front_seam_bow, taken.front_seam_station),
        (Some(10), Some(inch(240)))
    );
    assert_eq!((taken.seam_bow, taken.seam_station), (Some(13), Some(inch(312))));
    assert_eq!(
        (taken.bows_opened.clone(), taken.bows_hit.clone()),
        (vec![11, 12], vec![11, 12])
    );
    assert_eq!((taken.rough_length, taken.finished_length), (inch(79), inch(74)));
    assert_eq!(
        (
            taken.weight_rough_lb.to_string(),
            taken.weight_finished_lb.to_string()
        ),
        ("31.66".to_owned(), "29.66".to_owned())
    );
    assert_eq!(
        quantities(&taken),
        [
            ("roof sheet", "8077.75"),
            ("seam tape", "406"),
            ("foam tape", "144"),
            ("seam sealant", "215"),
            ("bow caulk", "0"),
            ("edge sealant", "0"),
            ("sealant cartridges", "1"),
            ("seam rivets", "12"),
            ("rail rivets", "30"),
            ("edge to roll", "168"),
        ]
    );
    // Which end such a sheet is stretched at is from memory, and its length says so.
    assert_eq!(taken.lines[0].standing, Standing::Memory);
}

/// Damage 500 to 630: no bow is left behind 632. Ahead: 500 - 4 = 496, so bow 20 at 480; the old sheet is cut at 482.
/// Length: 636 - 480 = 156, + 3/8 over the rear header = 156.375 as it stays; rough 156 + 5 = 161, the sheet for the
/// plates taking the place of that edge. Bows behind the seam: 21 (504) to 26 (624), all hit.
/// Sheet 161 x 102.25 = 16 462.25 in², 64.53 lb; 156.375 x 102.25 x .00392 = 62.68 lb. Tape 2 x 101.5 = 203. Foam 312.
/// Sealant on the seam and along the rear header: 215. 156 is large: caulk 6 x 101.5 = 609. Cartridges (215 + 609) x
/// .0625 x 1.1 / 18.2273 = 3.11, so 4. Seam rivets 6. Rail holes a side 636 / 4 = 159 less (480 - 12) / 4 = 117, so 42;
/// 84 - 6 = 78. Rear header: (101.5 - 4 x 3/16) / 4 = 25.19, 26 spaces, 27 rivets. Edge 2 x (156 + 12) + 101.5 = 437.5.
#[test]
fn a_rear_section_is_worked_out_as_by_hand() {
    let taken = take(&body(), (500, 630), RoofWay::RearSection).unwrap();
    assert_eq!(
        (taken.front_seam_bow, taken.front_seam_station),
        (Some(20), Some(inch(480)))
    );
    assert_eq!((taken.seam_bow, taken.seam_station), (None, None));
    assert_eq!(
        (taken.bows_opened.clone(), taken.bows_hit.clone()),
        ((21..=26).collect::<Vec<_>>(), (21..=26).collect::<Vec<_>>())
    );
    assert_eq!(
        (taken.rough_length, taken.finished_length),
        (inch(161), Length::sixty_fourths(156 * 64 + 24))
    );
    assert_eq!(
        (
            taken.weight_rough_lb.to_string(),
            taken.weight_finished_lb.to_string()
        ),
        ("64.53".to_owned(), "62.68".to_owned())
    );
    assert_eq!(
        quantities(&taken),
        [
            ("roof sheet", "16462.25"),
            ("seam tape", "203"),
            ("foam tape", "312"),
            ("seam sealant", "215"),
            ("bow caulk", "609"),
            ("edge sealant", "0"),
            ("sealant cartridges", "4"),
            ("seam rivets", "6"),
            ("rail rivets", "78"),
            ("rear header rivets", "27"),
            ("edge to roll", "437.5"),
        ]
    );
    // Existing holes are reused; only a renewed header gets new ones.
    let header = taken
        .lines
        .iter()
        .find(|line| line.item == "rear header rivets")
        .unwrap();
    assert!(header.more.as_ref().unwrap().starts_with("Existing holes"));
}

#[test]
fn a_section_that_has_no_bow_for_a_seam_says_which_end_lacks_it() {
    let why = |place, way| take(&body(), place, way).unwrap_err().join(" ");
    assert!(why((3, 60), RoofWay::MiddleSection).contains("ahead of the damage's start at station 3 in"));
    assert!(why((500, 630), RoofWay::MiddleSection).contains("behind the damage's end at station 630 in"));
    // 28 - 4 = 24: bow 1 is just far enough; a sixteenth less would be too near.
    assert!(take(&body(), (28, 60), RoofWay::RearSection).is_ok());
    assert!(take(&body(), (27, 60), RoofWay::RearSection).is_err());
}

#[test]
fn a_bow_so_near_the_nose_that_no_sheet_can_be_freed_ahead_of_it_carries_no_front_seam() {
    let mut body = body();
    body.bows.insert(0, inch(10));
    let why = take(&body, (20, 60), RoofWay::RearSection).unwrap_err().join(" ");
    assert!(
        why.contains("bow 1 at station 10 in: the sheet ahead is freed for 12 in"),
        "{why}"
    );
}

/// Old seam at 336 (bow 14): bow 13 at 312 would leave 24 of old sheet, the shop wants 48: so over the old seam itself.
#[test]
fn a_seam_that_would_leave_a_narrow_strip_moves_to_the_old_seam() {
    let mut body = body();
    body.seams = vec![inch(336)];
    for way in [RoofWay::Section, RoofWay::MiddleSection] {
        let taken = take(&body, (245, 300), way).unwrap();
        assert_eq!(taken.seam_bow, Some(14));
        let why = taken.why.join(" ");
        assert!(
            why.contains("No seam over bow 13 at station 312 in: only 24 in of old sheet would stay"),
            "{why}"
        );
        assert!(
            why.contains("The old seam at station 336 in lies over this bow: the new seam takes its place."),
            "{why}"
        );
    }
    // What is seen of a seam is the upper sheet's edge: a lap behind the bow it is the same seam.
    body.seams = vec![inch(338)];
    assert_eq!(
        take(&body, (245, 300), RoofWay::Section).unwrap().seam_bow,
        Some(14)
    );
    // 48 of old sheet is enough.
    body.seams = vec![inch(360)];
    assert_eq!(
        take(&body, (245, 300), RoofWay::Section).unwrap().seam_bow,
        Some(13)
    );
    // Beside a bow no seam may lie near; the old one then comes out with the sheet.
    body.seams = vec![inch(309)];
    let taken = take(&body, (245, 300), RoofWay::Section).unwrap();
    assert_eq!(taken.seam_bow, Some(14));
    let why = taken.why.join(" ");
    assert!(
        why.contains("nearer than 6 in to the old seam at station 309 in"),
        "{why}"
    );
    assert!(
        why.contains("The old seam at station 309 in comes out with the old sheet."),
        "{why}"
    );
}

/// Ahead: bow 10 at 240 is 24 behind an old seam at 216 (bow 9): over that one instead.
#[test]
fn a_front_seam_and_an_earlier_patch_are_respected_the_same_way() {
    let mut body = body();
    body.seams = vec![inch(216)];
    let taken = take(&body, (245, 300), RoofWay::RearSection).unwrap();
    assert_eq!(taken.front_seam_bow, Some(9));
    assert!(
        !taken.why.iter().any(|why| why.contains("comes out")),
        "{:?}",
        taken.why
    );
    body.seams.clear();
    // A patch from 236 to 244 lies across bow 10; it comes out with the sheet from bow 9 on.
    body.patches = vec![[inch(236), inch(244)]];
    let taken = take(&body, (245, 300), RoofWay::RearSection).unwrap();
    assert_eq!(taken.front_seam_bow, Some(9));
    let why = taken.why.join(" ");
    assert!(
        why.contains("earlier patch from station 236 in to 244 in (shop rule)") && why.contains("comes out"),
        "{why}"
    );
}

fn input(section: &Value, unit: &str) -> Value {
    json!({
        "unit": unit, "section": section,
        "body": {"length": "636 in", "width": "102 in", "rail_width_outside": "101.5 in", "bows": {"first": "24 in", "spacing": "24 in", "count": 26}, "rail_hole_pitch": "4 in", "roof_sheet": "0.040 in", "density_lb_in3": 0.098},
        "damage": {"from": "245 in", "to": "300 in"}, "sound_bows": null, "shop": {}
    })
}

#[test]
fn the_command_works_out_the_section_that_is_asked_for_and_front_without_asking() {
    let ask = |section: Value| figure("roof-section", &input(&section, "in").to_string());
    let of = |section: Value| -> Value { serde_json::from_str(&ask(section).unwrap()).unwrap() };
    let way = |section: Value| of(section)["way"].as_str().unwrap().to_owned();
    assert_eq!(
        [json!(null), json!("front"), json!("middle"), json!("rear")].map(way),
        ["section", "section", "middle_section", "rear_section"]
    );
    let middle = of(json!("middle"));
    assert_eq!(
        (middle["front_seam_station"].as_f64(), middle["seam_bow"].as_u64()),
        (Some(240.0), Some(13))
    );
    assert!(ask(json!("side")).is_err());
}

fn mark(place: [i64; 4]) -> Mark {
    let [from, to, low, high] = place.map(inch);
    Mark {
        id: "tear".to_owned(),
        place: Place {
            surface: Surface::Roof,
            from,
            to,
            low,
            high,
        },
        kind: DamageKind::Tear,
        part: Part::RoofSheet,
        age: Age::New,
        depth: None,
    }
}

fn choice(plan: &Plan, marks: &[Mark]) -> Choice {
    ways(plan, marks, &Book::default(), Unit::In).unwrap().remove(0)
}

fn way(choice: &Choice, key: WayKey) -> &Way {
    choice.ways.iter().find(|way| way.key == key).unwrap()
}

fn work_out(marks: &[Mark], key: WayKey, unit: Unit) -> Estimate {
    let chosen = Chosen {
        group: "roof".to_owned(),
        way: key.key().to_owned(),
        by_hand: None,
    };
    estimate(
        &BodyType::DryVan53.plan(),
        marks,
        &[chosen],
        &Book::default(),
        &[],
        unit,
    )
    .unwrap()
}

/// Hours of a task of a group.
fn hours<'g>(group: &'g Group, task: &str) -> Option<&'g str> {
    let line = group.hours.iter().find(|line| line.task == task);
    line.map(|line| line.hours.as_str())
}

#[test]
fn all_ways_of_the_roof_stand_side_by_side_and_the_shortest_section_is_cheapest() {
    let found = choice(&BodyType::DryVan53.plan(), &[mark([245, 300, 20, 60])]);
    let keys: Vec<WayKey> = found.ways.iter().map(|way| way.key).collect();
    assert_eq!(
        keys,
        [
            WayKey::Patch,
            WayKey::FrontSection,
            WayKey::MiddleSection,
            WayKey::RearSection,
            WayKey::WholeRoof,
            WayKey::ByHand
        ]
    );
    assert!(!way(&found, WayKey::Patch).fits && way(&found, WayKey::MiddleSection).best);
    assert_eq!(
        way(&found, WayKey::MiddleSection).title,
        "Middle section, seams at bows 10 and 13"
    );
    assert_eq!(
        way(&found, WayKey::RearSection).title,
        "Rear section, seam at bow 10"
    );
    // At the rear there is no bow for a seam behind: the rear section is the only one.
    let rear = choice(&BodyType::DryVan53.plan(), &[mark([500, 630, 20, 60])]);
    assert!(way(&rear, WayKey::RearSection).best && !way(&rear, WayKey::FrontSection).fits);
    // A nose rail is only reached from the nose.
    let rail = Mark {
        id: "rail".to_owned(),
        part: Part::NoseRail,
        kind: DamageKind::Bend,
        ..mark([0, 4, 20, 60])
    };
    let nose = choice(&BodyType::DryVan53.plan(), &[mark([245, 300, 20, 60]), rail]);
    for key in [WayKey::MiddleSection, WayKey::RearSection] {
        assert!(!way(&nose, key).fits && way(&nose, key).why[0].contains("open at the nose"));
    }
}

/// Middle: 8077.75 / 144 = 56.10 sq ft; 406 and 144 in of tape are a roll each; 12 + 30 rivets; bows 11 and 12. Hours:
/// strip out 2 x .3, old sheet 74 / 12 = 6.17 ft x .12 = .74, two seams x 1.5, the sheet ahead 1, edge 14 ft x .03.
#[test]
fn a_middle_section_is_priced_from_its_takeoff() {
    let found = work_out(&[mark([245, 300, 20, 60])], WayKey::MiddleSection, Unit::In);
    let group = &found.groups[0];
    let goods: Vec<_> = group
        .goods
        .iter()
        .map(|l| (l.item.as_str(), l.quantity.as_str()))
        .collect();
    assert_eq!(
        goods,
        [
            ("roof sheet", "56.1"),
            ("seam tape", "1"),
            ("foam tape", "1"),
            ("sealant cartridges", "1"),
            ("rivets", "50"),
            ("roof bow", "2")
        ]
    );
    for (task, wanted) in [
        ("strip_out", "0.6"),
        ("old_sheet", "0.74"),
        ("seam", "3"),
        ("front_seam", "1"),
        ("edge", "0.42"),
    ] {
        assert_eq!(hours(group, task), Some(wanted), "{task}");
    }
    assert_eq!(hours(group, "caulk"), None);
}

/// A tear from 3 to 149 and, at 400, a hole of 4 x 4 in. The section ends at bow 7 (168); the hole's patch is 4 + 2 x 1 +
/// 2 x 1.5 = 9 in square = .56 sq ft, 4 x 9 = 36 in round, (9 - 2 x 3/8) / 1 = 8.25, so 9 spaces a side and 36 rivets.
/// Rivets 6 + 78 + 27 + 36 and 24 of six bows = 171. Beads 716.5 + 36 = 752.5 x .0625 x 1.1 / 18.2273 = 2.84, still 3.
#[test]
fn a_small_hole_far_from_a_section_is_patched_beside_it() {
    let hole = |from: i64| Mark {
        id: "hole".to_owned(),
        kind: DamageKind::Hole,
        ..mark([from, from + 4, 40, 44])
    };
    let marks = [mark([3, 149, 20, 60]), hole(400)];
    let found = work_out(&marks, WayKey::FrontSection, Unit::In);
    let group = &found.groups[0];
    assert_eq!(group.way_title, "Front section, seam at bow 7, and a patch");
    let good = |item: &str| {
        group
            .goods
            .iter()
            .find(|l| l.item == item)
            .map(|l| l.quantity.as_str())
    };
    for (item, wanted) in [
        ("roof sheet", "124.26"),
        ("patch sheet", "0.56"),
        ("rivets", "171"),
        ("sealant cartridges", "3"),
    ] {
        assert_eq!(good(item), Some(wanted), "{item}");
    }
    assert_eq!(hours(group, "patch"), Some("2.5"));
    assert!(
        group
            .lines
            .iter()
            .any(|line| line.item == "patch tape" && line.quantity == "36")
    );
    let choice = choice(&BodyType::DryVan53.plan(), &marks);
    assert!(!way(&choice, WayKey::Patch).fits);
    let why = way(&choice, WayKey::FrontSection).why.join(" ");
    assert!(
        why.contains("The damage from station 400 in to 404 in lies clear of it"),
        "{why}"
    );
    // From the rear it is covered: the section begins ahead of the tear.
    let covered = work_out(
        &[mark([203, 349, 20, 60]), hole(400)],
        WayKey::RearSection,
        Unit::In,
    );
    assert_eq!(covered.groups[0].way_title, "Rear section, seam at bow 8");
    // A whole roof covers everything; a hole too near the seam is covered by a longer section:
    // 172 - 1 - 1.5 - 6 = 163.5 is ahead of the seam's end at 170, and 176 + 2 = 178 asks for bow 8.
    let titles = |at: i64, key| {
        work_out(&[mark([3, 149, 20, 60]), hole(at)], key, Unit::In).groups[0]
            .way_title
            .clone()
    };
    assert_eq!(titles(400, WayKey::WholeRoof), "Whole roof");
    assert_eq!(titles(172, WayKey::FrontSection), "Front section, seam at bow 8");
}

#[test]
fn two_patches_that_would_lie_on_each_other_are_none() {
    let hole = |from: i64| mark([from, from + 4, 40, 44]);
    let patch = |second: i64| {
        let found = choice(&BodyType::DryVan53.plan(), &[hole(100), hole(second)]);
        way(&found, WayKey::Patch).clone()
    };
    // 104 + 2.5 + 6 of distance + 2.5 = 115: one inch less is too near.
    assert!(patch(124).fits && patch(115).fits);
    assert!(!patch(114).fits && patch(114).why[0].contains("nearer than 6 in to each other"));
}
