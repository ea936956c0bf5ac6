//! A mark on a side sheet: its ways side by side, their figures, their steps and what is cut for them.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

#[path = "side_ways/any.rs"]
mod any;

use bowseam_figures::body::{BodyType, Plan};
use bowseam_figures::cut::{Stock, StockKind};
use bowseam_figures::cut_plan::plan as cut_plan;
use bowseam_figures::estimate::{Chosen, Estimate, Group, estimate};
use bowseam_figures::group::WayKey;
use bowseam_figures::mark::{Age, DamageKind, Mark, Part, Place, Surface};
use bowseam_figures::measure::{Length, Unit};
use bowseam_figures::shop::Book;
use bowseam_figures::side_patch::{SideTakeoff, SideWay, side_need, side_way};
use bowseam_figures::steps::{
    OtherMethod, OtherWork, RoofMethod, RoofWork, Step, Tolerances, Work, roof_off_rows, steps,
};
use bowseam_figures::ways::{Choice, Way, ways};
use proptest::prelude::*;

fn mark(id: &str, kind: DamageKind, [from, to, low, high]: [i64; 4]) -> Mark {
    Mark {
        id: id.to_owned(),
        place: Place {
            surface: Surface::Curbside,
            from: Length::inches(from),
            to: Length::inches(to),
            low: Length::inches(low),
            high: Length::inches(high),
        },
        kind,
        part: Part::SideSheet,
        age: Age::New,
        depth: None,
    }
}

/// Between posts 112, 128 and 144, on the sheet from joint 96 to joint 144.
fn hole() -> Mark {
    mark("hole", DamageKind::Hole, [120, 131, 40, 52])
}

fn plan() -> Plan {
    BodyType::DryVan53.plan()
}

fn choice(plan: &Plan, marks: &[Mark]) -> Choice {
    ways(plan, marks, &Book::default(), Unit::In).unwrap().remove(0)
}

fn way(choice: &Choice, key: WayKey) -> &Way {
    choice.ways.iter().find(|way| way.key == key).unwrap()
}

fn work_out(marks: &[Mark], key: WayKey) -> Estimate {
    let chosen = Chosen {
        group: marks[0].id.clone(),
        way: key.key().to_owned(),
        by_hand: None,
    };
    estimate(&plan(), marks, &[chosen], &Book::default(), &[], Unit::In).unwrap()
}

fn goods(group: &Group) -> Vec<(&str, &str)> {
    group
        .goods
        .iter()
        .map(|line| (line.item.as_str(), line.quantity.as_str()))
        .collect()
}

fn hours(group: &Group) -> Vec<(&str, &str)> {
    group
        .hours
        .iter()
        .map(|line| (line.task.as_str(), line.hours.as_str()))
        .collect()
}

fn taken(way: SideWay) -> SideTakeoff {
    side_way(&plan(), &hole(), &Book::default().side, way, Unit::In).unwrap()
}

#[test]
fn a_hole_between_posts_has_patch_whole_sheet_and_by_hand_and_the_patch_is_cheapest() {
    let choice = choice(&plan(), &[hole()]);
    let keys: Vec<WayKey> = choice.ways.iter().map(|way| way.key).collect();
    assert_eq!(
        keys,
        vec![
            WayKey::SidePatch,
            WayKey::SideSection,
            WayKey::WholeSideSheet,
            WayKey::ByHand
        ]
    );
    assert!(choice.ways.iter().all(|way| way.fits));
    let patch = way(&choice, WayKey::SidePatch);
    assert!(
        patch.best && patch.why.iter().any(|why| why.contains("164 rivets")),
        "{:?}",
        patch.why
    );
    assert_eq!(choice.ways.iter().filter(|way| way.best).count(), 1);
    assert_eq!(way(&choice, WayKey::ByHand).price, None);
}

/// By hand: 16 x 17 in = 1.89 sq ft; 4 x 33 in of bead with waste fills half a cartridge; 1.64 hundreds x 1.8 h.
#[test]
fn a_side_patch_is_figured_from_its_takeoff() {
    let found = work_out(&[hole()], WayKey::SidePatch);
    let group = &found.groups[0];
    assert_eq!((group.way_title.as_str(), group.people), ("Side patch", 2));
    assert_eq!(
        goods(group),
        vec![
            ("side sheet", "1.89"),
            ("sealant cartridges", "1"),
            ("rivets", "164")
        ]
    );
    assert_eq!(hours(group), vec![("side_patch", "1.5"), ("side_rivets", "2.95")]);
    let once: Vec<&str> = found.once.iter().map(|line| line.task.as_str()).collect();
    assert!(
        once.contains(&"leak_test") && once.contains(&"lining"),
        "{once:?}"
    );
    let items: Vec<&str> = group.lines.iter().map(|line| line.item.as_str()).collect();
    assert_eq!(items, vec!["side sheet", "patch sealant", "patch rivets"]);
    assert!(found.lacks.is_empty());
    assert!(
        found
            .warnings
            .iter()
            .any(|warning| warning.contains("1 to 3 times")),
        "3/16 in .040 is common practice, and said: {:?}",
        found.warnings
    );
}

#[test]
fn a_whole_side_sheet_runs_from_joint_to_joint() {
    let found = work_out(&[hole()], WayKey::WholeSideSheet);
    let group = &found.groups[0];
    // 49 x 110 in = 37.43 sq ft; joints 2 x 75, rails 2 x 31, two posts of 27 rivets.
    assert_eq!(group.way_title, "Whole side sheet");
    assert_eq!(goods(group)[0], ("side sheet", "37.43"));
    assert_eq!(group.side.as_ref().unwrap().rivets, 266);
    assert_eq!(hours(group)[0], ("side_sheet", "6"));
}

#[test]
fn a_patch_that_may_not_lie_there_says_why_and_is_not_priced() {
    for (put, word) in [
        ([120, 131, 4, 12], "bottom rail"),
        ([120, 131, 98, 107], "top rail"),
        ([138, 142, 40, 52], "sheet joint"),
        ([4, 8, 40, 52], "corner post"),
    ] {
        let marks = [mark("m", DamageKind::Tear, put)];
        let choice = choice(&plan(), &marks);
        let patch = way(&choice, WayKey::SidePatch);
        assert!(!patch.fits && patch.price.is_none(), "{word}");
        assert!(
            patch.why.iter().any(|why| why.contains(word)),
            "{word}: {:?}",
            patch.why
        );
        // A section from post to post ends at the joint and is less sheet than the whole one.
        assert!(way(&choice, WayKey::SideSection).best && way(&choice, WayKey::WholeSideSheet).fits);
        assert!(way(&choice, WayKey::ByHand).fits);
        let found = work_out(&marks, WayKey::SidePatch);
        assert!(
            found.groups.is_empty() && found.lacks[0].contains(word),
            "{:?}",
            found.lacks
        );
    }
    let roof = Mark {
        part: Part::RoofSheet,
        ..hole()
    };
    let chosen = Chosen {
        group: "roof".to_owned(),
        way: "side_patch".to_owned(),
        by_hand: None,
    };
    let found = estimate(&plan(), &[roof], &[chosen], &Book::default(), &[], Unit::In).unwrap();
    assert!(found.groups.is_empty() && found.lacks[0].contains("side sheet only"));
}

#[test]
fn composite_sides_get_no_rivet_maths_and_the_maker_is_asked() {
    let mut plan = plan();
    plan.composite_sides = true;
    let choice = choice(&plan, &[hole()]);
    let keys: Vec<WayKey> = choice.ways.iter().map(|way| way.key).collect();
    assert_eq!(keys, vec![WayKey::AskTheMaker, WayKey::ByHand]);
    assert!(
        choice
            .ways
            .iter()
            .all(|way| way.fits && way.why[0].contains("composite plate"))
    );
    for key in [WayKey::SidePatch, WayKey::WholeSideSheet, WayKey::AskTheMaker] {
        let chosen = Chosen {
            group: "hole".to_owned(),
            way: key.key().to_owned(),
            by_hand: None,
        };
        let found = estimate(&plan, &[hole()], &[chosen], &Book::default(), &[], Unit::In).unwrap();
        let said = found
            .groups
            .first()
            .map_or(found.lacks.join(" "), |group| group.note.clone());
        assert!(
            said.contains("composite plate") && found.total == "0.00",
            "{key:?}: {said}"
        );
    }
}

/// The sheet runs from joint 96 to joint 144, the cut-out from 119 to 132; half a lap of 1/2 in stays on each post.
/// Ahead: post 7 at 112. Behind: no post before the joint at 144, so the joint itself. One cut, at 112.5.
/// 32 + 1 lap = 33 in x 110 = 25.21 sq ft. Rivets: ends 2 x (74 spaces + 1), rails 2 x (22 - 1), post 128 28 - 1: 219.
/// Beads 2 x 110 + 2 x 32 = 284 x .0625 x 1.1 / 18.2273 = 1.07, so 2. Hours 4.5, and 2.19 x 1.8 = 3.94.
#[test]
fn a_side_section_is_worked_out_from_post_to_post_as_by_hand() {
    let section = taken(SideWay::Section);
    assert_eq!(
        (section.sheet.from, section.sheet.to, section.sheet.high),
        (Length::inches(112), Length::inches(144), Length::inches(110))
    );
    assert_eq!(section.cuts, [Length::sixty_fourths(112 * 64 + 32)]);
    assert_eq!((section.sheets, section.posts.clone()), (1, vec![7, 8, 9]));
    let found = work_out(&[hole()], WayKey::SideSection);
    let group = &found.groups[0];
    assert_eq!(
        (group.way_title.as_str(), group.people),
        ("Side section, post to post", 2)
    );
    assert_eq!(
        goods(group),
        [
            ("side sheet", "25.21"),
            ("sealant cartridges", "2"),
            ("rivets", "219")
        ]
    );
    assert_eq!(hours(group), [("side_sheet", "4.5"), ("side_rivets", "3.94")]);
}

/// Cut-out 65 to 71 on the sheet from 48 to 96: posts 4 (64) and 5 (80), cut half a lap past each.
#[test]
fn a_section_lies_between_two_posts_and_moves_on_where_an_earlier_patch_lies() {
    let mark = mark("m", DamageKind::Tear, [66, 70, 40, 52]);
    let section = |plan: &Plan| side_way(plan, &mark, &Book::default().side, SideWay::Section, Unit::In);
    let found = section(&plan()).unwrap();
    let half = Length::sixty_fourths(32);
    assert_eq!(
        found.cuts,
        [Length::inches(64).plus(half), Length::inches(80).minus(half)]
    );
    let mut patched = plan();
    let earlier = Place {
        surface: Surface::Curbside,
        from: Length::inches(78),
        to: Length::inches(84),
        low: Length::inches(10),
        high: Length::inches(20),
    };
    patched.earlier_patches.push(earlier);
    let found = section(&patched).unwrap();
    assert_eq!(
        (found.sheet.from, found.sheet.to),
        (Length::inches(64), Length::inches(96))
    );
    assert!(
        found.why[0].contains("post 5 at station 80 in: it would come nearer than 6 in to the earlier patch")
    );
    // On the other side it is nothing to this one; and a patch keeps its distance from it too.
    patched.earlier_patches[0].surface = Surface::Roadside;
    assert_eq!(section(&patched).unwrap().sheet.to, Length::inches(80));
    patched.earlier_patches[0] = Place {
        low: Length::inches(40),
        high: Length::inches(50),
        ..earlier
    };
    let patch = side_way(&patched, &mark, &Book::default().side, SideWay::Patch, Unit::In).unwrap_err();
    assert!(patch[0].contains("earlier patch"), "{patch:?}");
}

#[test]
fn a_section_that_would_cross_a_joint_or_be_the_whole_sheet_says_so() {
    let why = |plan: &Plan, place| {
        let mark = mark("m", DamageKind::Tear, place);
        side_way(plan, &mark, &Book::default().side, SideWay::Section, Unit::In).unwrap_err()
    };
    assert!(why(&plan(), [140, 150, 40, 52])[0].contains("reaches over the sheet joint at station 144 in"));
    assert!(
        why(&plan(), [100, 140, 40, 52])
            .join(" ")
            .contains("it is the whole sheet")
    );
    let bare = Plan {
        posts: Vec::new(),
        ..plan()
    };
    assert!(
        why(&bare, [120, 131, 40, 52])
            .join(" ")
            .contains("it is the whole sheet")
    );
}

#[test]
fn the_steps_of_a_section_cut_over_the_posts_and_wait_for_the_roof() {
    let with = |mends, way| {
        steps(&Work {
            unit: Unit::In,
            roof: Some(roof_work()),
            others: vec![OtherWork {
                side: Some(taken(mends)),
                ..OtherWork::new("a", Part::SideSheet, "side sheet (curbside), hole", way)
            }],
            sealed: false,
            wiring_seen: true,
            cure: None,
            wind_limit: None,
            tolerances: Tolerances::default(),
        })
    };
    let found = with(SideWay::Section, OtherMethod::SideSection);
    let at = |key: &str| found.iter().position(|step| step.key == key).unwrap();
    assert!(at("braces_out") < at("side_hold:a") && at("side_hold:a") < at("side_off:a"));
    let off = &found[at("side_off:a")];
    assert!(
        off.stop_and_check && off.text.contains("112 1/2 in from the nose"),
        "{}",
        off.text
    );
    assert_eq!(off.values.len(), 1);
    assert!(found[at("side_on:a")].text.contains("under the sheet ahead"));
    let whole = with(SideWay::WholeSheet, OtherMethod::SideSheet);
    let off = whole.iter().find(|step| step.key == "side_off:a").unwrap();
    assert!(off.values.is_empty());
}

#[test]
fn loose_fasteners_and_leaks_are_not_mended_by_new_sheet() {
    for kind in [
        DamageKind::LooseFasteners,
        DamageKind::Leak,
        DamageKind::WaterStained,
    ] {
        let choice = choice(&plan(), &[mark("m", kind, [120, 131, 40, 52])]);
        let fits: Vec<bool> = choice.ways.iter().map(|way| way.fits).collect();
        // Fasteners set anew or the seam sealed anew fits; new sheet, patched or whole, does not.
        assert_eq!(fits, vec![true, false, false, false, true], "{kind:?}");
    }
}

#[test]
fn another_damage_close_by_is_named() {
    let near = |from: i64| {
        let second = mark("second", DamageKind::Gouge, [from, from + 2, 40, 44]);
        let choice = choice(&plan(), &[hole(), second]);
        let why = &way(&choice, WayKey::SidePatch).why;
        why.iter().any(|why| why.contains("Another damage lies so near"))
    };
    // Patch to 133.5, 6 in of distance, and 2.5 in that the second patch reaches ahead of its damage: 142.
    assert!(near(141) && !near(142));
}

#[test]
fn figures_stored_before_side_ways_still_read() {
    let found = work_out(&[hole()], WayKey::SidePatch);
    let mut value = serde_json::to_value(&found).unwrap();
    assert!(value["groups"][0]["side"].is_object());
    let text = value.to_string();
    assert_eq!(serde_json::from_str::<Estimate>(&text).unwrap(), found);
    value["groups"][0].as_object_mut().unwrap().remove("side");
    let back: Estimate = serde_json::from_value(value.clone()).unwrap();
    assert_eq!(
        serde_json::to_value(back).unwrap(),
        value,
        "and write back as they were"
    );
}

fn roof_work() -> RoofWork {
    RoofWork {
        way: RoofMethod::FrontSection,
        seam_bow: Some(7),
        seam_station: Some(Length::inches(168)),
        front_seam: None,
        sheet: Some([Length::inches(175), Length::inches(103)]),
        large: true,
        bows_hit: vec![1],
        bows_opened: vec![1, 2],
        nose_rail: false,
        front_bow: false,
        edge: Length::sixty_fourths(24),
        front_edge: Length::sixty_fourths(24),
        lap: Length::inches(2),
        freed: Length::inches(12),
        seam_rivets_a_side: 3,
        tape_rows: 2,
        sealant_on_rail: Length::inches(3),
        seal_edges: false,
        patches: Vec::new(),
        behind: None,
    }
}

fn in_order(roof: Option<RoofWork>) -> Vec<Step> {
    let other = |mark: &str, way, mends| OtherWork {
        side: Some(taken(mends)),
        ..OtherWork::new(mark, Part::SideSheet, "side sheet (curbside), hole", way)
    };
    steps(&Work {
        unit: Unit::In,
        roof,
        others: vec![
            other("b", OtherMethod::SideSheet, SideWay::WholeSheet),
            other("a", OtherMethod::SidePatch, SideWay::Patch),
        ],
        sealed: false,
        wiring_seen: true,
        cure: None,
        wind_limit: None,
        tolerances: Tolerances::default(),
    })
}

#[test]
fn patches_are_made_while_the_roof_is_off_and_whole_sheets_after_it() {
    let found = in_order(Some(roof_work()));
    let at = |key: &str| {
        let place = found.iter().position(|step| step.key == key);
        place.unwrap_or_else(|| panic!("{key}"))
    };
    assert!(at("old_sheet") < at("side_look:a") && at("side_seal:a") < at("sheet_on"));
    assert!(at("sheet_on") < at("side_hold:b") && at("side_seal:b") < at("leak_test"));
    assert!(at("side_look:a") < at("side_cut_out:a") && at("side_lay:a") < at("side_rivet:a"));
    assert!(at("side_hold:b") < at("side_off:b") && at("side_off:b") < at("side_on:b"));
    let keys: std::collections::HashSet<&str> = found.iter().map(|step| step.key.as_str()).collect();
    assert_eq!(keys.len(), found.len());
}

#[test]
fn the_roof_off_check_asks_for_the_side_s_material_too() {
    let mut work = Work {
        unit: Unit::In,
        roof: Some(roof_work()),
        others: vec![OtherWork {
            side: Some(taken(SideWay::Patch)),
            ..OtherWork::new(
                "a",
                Part::SideSheet,
                "side sheet (curbside), hole",
                OtherMethod::SidePatch,
            )
        }],
        sealed: false,
        wiring_seen: true,
        cure: None,
        wind_limit: None,
        tolerances: Tolerances::default(),
    };
    let wanted = |work: &Work| -> Vec<(String, String)> {
        let rows = roof_off_rows(work, &[]).into_iter();
        rows.filter(|row| row.key.ends_with(":a"))
            .map(|row| (row.title, row.wanted))
            .collect()
    };
    let pair = |title: &str, wanted: &str| (title.to_owned(), wanted.to_owned());
    assert_eq!(
        wanted(&work),
        vec![
            pair("side sheet", "1.89 sq ft (272 in²), with its shelf place"),
            pair("patch rivets", "164 each, with its shelf place")
        ]
    );
    work.roof = None;
    assert!(wanted(&work).is_empty(), "nothing is opened above");
}

#[test]
fn side_steps_say_what_can_hurt_and_what_to_measure() {
    let found = in_order(None);
    let step = |key: &str| found.iter().find(|step| step.key == key).unwrap();
    for side in found.iter().filter(|step| step.key.starts_with("side_")) {
        assert!(!side.cautions.is_empty(), "{}", side.key);
        assert!(side.task.is_some());
    }
    assert!(step("side_hold:b").cautions[0].contains("Walls spread") && step("side_hold:b").stop_and_check);
    assert!(
        step("side_rivet:a")
            .cautions
            .iter()
            .any(|c| c.contains("hold on the road"))
    );
    let laps: Vec<String> = step("side_lay:a")
        .values
        .iter()
        .map(|value| format!("{:?}", value.wanted))
        .collect();
    assert_eq!(laps.len(), 4);
    assert!(
        step("side_cut_out:a")
            .text
            .contains("station 119 in to 132 in, 39 in to 53 in")
    );
    assert!(
        found.iter().any(|step| step.key == "leak_test"),
        "a side keeps water out"
    );
}

#[test]
fn a_side_way_without_figures_stops_before_anything_is_cut() {
    let lost = OtherWork {
        side: None,
        ..OtherWork::new(
            "a",
            Part::SideSheet,
            "side sheet (curbside), hole",
            OtherMethod::SidePatch,
        )
    };
    let work = Work {
        unit: Unit::In,
        roof: None,
        others: vec![lost],
        sealed: false,
        wiring_seen: true,
        cure: None,
        wind_limit: None,
        tolerances: Tolerances::default(),
    };
    let found = steps(&work);
    let side: Vec<&Step> = found
        .iter()
        .filter(|step| step.key.starts_with("side_"))
        .collect();
    assert_eq!(side.len(), 1);
    assert!(side[0].stop_and_check && side[0].text.contains("Nothing is cut"));
}

#[test]
fn a_patch_is_cut_from_a_drop_and_a_whole_sheet_from_stock() {
    let stock = |name: &str, kind, length: i64, width: i64| Stock {
        id: String::new(),
        item: "side sheet".to_owned(),
        name: name.to_owned(),
        kind,
        length: Length::inches(length),
        width: Some(Length::inches(width)),
        thickness: Some(Length::thousandths(40)),
        place: "rack".to_owned(),
        count: 1,
        price: None,
        counted: 0,
    };
    let shelf = [
        stock("sheet", StockKind::Sheet, 120, 49),
        stock("drop", StockKind::Drop, 30, 20),
    ];
    let rules = Book::default().side;
    let needs = [SideWay::Patch, SideWay::WholeSheet].map(|way| side_need(&taken(way), &plan(), &rules));
    let book = Book::default();
    let list = cut_plan(&needs, &shelf, &book.cutting, Unit::In, &mut || false).unwrap();
    let mut from: Vec<(&str, &str)> = list
        .plans
        .iter()
        .map(|plan| (plan.from.as_str(), plan.pieces[0].size.as_str()))
        .collect();
    from.sort_unstable();
    assert_eq!(
        from,
        vec![
            ("drop", "16 in by 17 in, 0.040 in"),
            ("sheet", "110 in by 49 in, 0.040 in")
        ]
    );
    assert!(list.short.is_empty());
}
