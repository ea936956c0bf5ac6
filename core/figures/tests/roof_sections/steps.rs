//! The steps of each section: in which order, with which cuts and laps to be measured.

use super::*;

fn in_order(way: RoofWay, place: (i64, i64)) -> Vec<Step> {
    let taken = take(&body(), place, way).unwrap();
    let roof = RoofWork::of(&taken, &RoofRules::default(), false, false);
    steps(&Work {
        roof: Some(roof),
        ..bare()
    })
}

pub fn bare() -> Work {
    Work {
        unit: Unit::In,
        roof: None,
        others: Vec::new(),
        sealed: false,
        wiring_seen: true,
        cure: None,
        wind_limit: None,
        tolerances: Tolerances::default(),
    }
}

fn keys<'s>(steps: &'s [Step], wanted: &[&str]) -> Vec<&'s str> {
    let keys = steps.iter().map(|step| step.key.as_str());
    keys.filter(|key| wanted.contains(key)).collect()
}

fn step<'s>(steps: &'s [Step], key: &str) -> &'s Step {
    steps.iter().find(|step| step.key == key).unwrap()
}

const ENDS: [&str; 12] = [
    "old_sheet",
    "free_ahead",
    "seam_tape",
    "sheet_on",
    "front_seam",
    "rear_end",
    "stretch",
    "seam",
    "rail_rivets",
    "release",
    "trim_rear",
    "trim_front",
];

#[test]
fn a_middle_section_is_held_in_front_before_it_is_stretched_to_the_rear() {
    let steps = in_order(RoofWay::MiddleSection, (245, 300));
    assert_eq!(
        keys(&steps, &ENDS),
        [
            "old_sheet",
            "free_ahead",
            "seam_tape",
            "sheet_on",
            "front_seam",
            "stretch",
            "seam",
            "rail_rivets",
            "release",
            "trim_rear"
        ]
    );
    let cuts: Vec<_> = step(&steps, "old_sheet")
        .values
        .iter()
        .map(|v| v.wanted.clone())
        .collect();
    let at = |inches| Target::Length(inch(inches));
    assert_eq!(cuts, [at(242), at(242), at(312), at(312)]);
    assert!(step(&steps, "sheet_on").text.contains("under the sheet ahead"));
    assert!(
        step(&steps, "look_when_open")
            .text
            .contains("under a seam (bows 10, 13) is straight")
    );
    assert!(
        step(&steps, "seam")
            .cautions
            .iter()
            .any(|caution| caution.contains("nobody in line"))
    );
    assert!(step(&steps, "stretch").text.contains("Plates on the rear edge"));
    assert!(
        step(&steps, "stretch")
            .basis
            .iter()
            .any(|basis| basis.standing == Standing::Memory)
    );
    for stop in [
        "old_sheet",
        "free_ahead",
        "front_seam",
        "stretch",
        "seam",
        "trim_rear",
    ] {
        assert!(
            step(&steps, stop).stop_and_check && !step(&steps, stop).cautions.is_empty(),
            "{stop}"
        );
    }
}

#[test]
fn patches_beside_a_section_are_set_when_it_is_closed_and_say_where() {
    let plan = BodyType::DryVan53.plan();
    let marks = [mark([3, 149, 20, 60]), mark([400, 404, 40, 44])];
    let all: Vec<&Mark> = marks.iter().collect();
    let book = Book::default();
    let repair = RoofRepair::of(&plan, &all, WayKey::FrontSection, &book, Unit::In)
        .unwrap()
        .unwrap();
    let roof = RoofWork {
        patches: repair.patches,
        ..RoofWork::of(&repair.taken, &book.roof, false, false)
    };
    let steps = steps(&Work {
        roof: Some(roof),
        ..bare()
    });
    let wanted = [
        "platforms",
        "braces_out",
        "patch_look",
        "patch_cut_out",
        "patch_rivet",
        "swarf",
    ];
    assert_eq!(keys(&steps, &wanted), wanted);
    let cut = step(&steps, "patch_cut_out");
    assert!(
        cut.text.contains("Cut-out 1: from station 399 in to 405 in, 39 in to 45 in from the roadside edge; patch 9 in along by 9 in across."),
        "{}",
        cut.text
    );
}

#[test]
fn a_rear_section_ends_at_the_rear_header_and_a_front_section_has_no_seam_ahead() {
    let steps = in_order(RoofWay::RearSection, (500, 630));
    assert_eq!(
        keys(&steps, &ENDS),
        [
            "old_sheet",
            "free_ahead",
            "seam_tape",
            "sheet_on",
            "front_seam",
            "stretch",
            "rail_rivets",
            "release",
            "trim_rear"
        ]
    );
    assert!(step(&steps, "trim_rear").text.contains("rear header"));
    assert_eq!(
        step(&steps, "trim_rear").values[0].wanted,
        Target::Length(Length::sixty_fourths(24))
    );
    let front = in_order(RoofWay::Section, (245, 300));
    assert!(keys(&front, &["free_ahead", "front_seam", "trim_rear"]).is_empty());
}
