//! Two sections of one roof, with old sheet between them.

use super::order_of_steps::bare;
use super::*;
use bowseam_figures::steps::BEHIND;
use std::collections::BTreeSet;

fn tears(rear: (i64, i64)) -> [Mark; 2] {
    let behind = Mark {
        id: "rear".to_owned(),
        ..mark([rear.0, rear.1, 20, 60])
    };
    [mark([3, 60, 20, 60]), behind]
}

/// Front: 60 + 2 of margin, so bow 3 at 72; 72 + 2 of lap + 5 for the plates = 79 of sheet, bows 1 and 2 hit. Rear: as the
/// rear section of 500 to 630 worked out above, 161 of sheet, bows 21 to 26. Together: 79 x 102.25 + 161 x 102.25 =
/// 24 540 in² = 170.42 sq ft (56.10 + 114.32); tape 2 x 101.5 x 2 seams = 406; foam 2 x 72 + 312 = 456; 8 bows. What is
/// done once an opening is done twice: brace 2 x 1.5, stretch 2 x 2. Seams 1 + 1. 72 is not large: caulk of 6 bows.
#[test]
fn two_tears_far_apart_are_two_sections_with_the_lines_of_both() {
    let marks = tears((500, 630));
    let found = work_out(&marks, WayKey::TwoSections, Unit::In);
    let group = &found.groups[0];
    assert_eq!(
        group.way_title,
        "Two sections: Front section, seam at bow 3; Rear section, seam at bow 20"
    );
    let line = |item: &str| {
        let mut lines = group.lines.iter().filter(|line| line.item == item);
        let (line, again) = (lines.next().unwrap(), lines.next());
        assert!(again.is_none(), "{item} stands once");
        line.quantity.as_str()
    };
    assert_eq!(
        (line("roof sheet"), line("seam tape"), line("foam tape")),
        ("24540.00", "406", "456")
    );
    let good = |item: &str| {
        let mut goods = group.goods.iter().filter(|good| good.item == item);
        goods.next().map(|good| good.quantity.as_str())
    };
    assert_eq!(
        (good("roof sheet"), good("roof bow")),
        (Some("170.42"), Some("8"))
    );
    let book = Book::default();
    let twice = |rate: Decimal| (rate * Decimal::from(2)).normalize().to_string();
    assert_eq!(
        hours(group, "brace"),
        Some(twice(book.hours.brace.value.0).as_str())
    );
    assert_eq!(
        hours(group, "stretch"),
        Some(twice(book.hours.stretch.value.0).as_str())
    );
    assert_eq!(
        hours(group, "seam"),
        Some(twice(book.hours.seam.value.0).as_str())
    );
    let caulk = book.hours.caulk.value.0 * Decimal::from(6);
    assert_eq!(
        hours(group, "caulk"),
        Some(caulk.normalize().to_string().as_str())
    );
    let number = |text: &str| text.parse::<Decimal>().unwrap();
    let total = |key| number(&work_out(&marks, key, Unit::In).total);
    assert!(total(WayKey::TwoSections) < total(WayKey::WholeRoof));
    let ways = choice(&BodyType::DryVan53.plan(), &marks);
    assert!(way(&ways, WayKey::TwoSections).best);
    // The same roof read in millimetres takes the same.
    assert_eq!(work_out(&marks, WayKey::TwoSections, Unit::Mm).total, found.total);
}

/// 130 - 2 of margin - 2 of lap = 126, so bow 5 at 120, 48 behind the seam at 72. From 110 it is bow 4 at 96: 24 stay.
/// Between 60 and 100 are 40 of sound roof: nothing to leave.
#[test]
fn old_roof_stays_between_two_sections_or_they_are_one() {
    let plan = BodyType::DryVan53.plan();
    let of = |rear| choice(&plan, &tears(rear));
    assert!(way(&of((130, 250)), WayKey::TwoSections).fits);
    let near = of((110, 250));
    assert!(!way(&near, WayKey::TwoSections).fits);
    let why = &way(&near, WayKey::TwoSections).why[0];
    assert!(
        why.contains("24 in of old roof would stay: at least 48 in"),
        "{why}"
    );
    let none = of((100, 250));
    assert!(none.ways.iter().all(|way| way.key != WayKey::TwoSections));
}

#[test]
fn the_second_section_is_opened_when_the_first_is_closed_with_steps_of_its_own() {
    let (plan, book, marks) = (BodyType::DryVan53.plan(), Book::default(), tears((500, 630)));
    let all: Vec<&Mark> = marks.iter().collect();
    let repair = RoofRepair::of(&plan, &all, WayKey::TwoSections, &book, Unit::In)
        .unwrap()
        .unwrap();
    let second = RoofWork::of(repair.behind.as_ref().unwrap(), &book.roof, false, false);
    let roof = RoofWork {
        behind: Some(Box::new(second)),
        ..RoofWork::of(&repair.taken, &book.roof, false, false)
    };
    let steps = steps(&Work {
        roof: Some(roof),
        ..bare()
    });
    let at = |key: &str| steps.iter().position(|step| step.key == key).unwrap();
    let mut before = 0;
    for key in [
        "old_sheet",
        "braces_out",
        "brace:behind",
        "old_sheet:behind",
        "trim_rear:behind",
        "leak_test",
    ] {
        assert!(at(key) > before, "{key}");
        before = at(key);
    }
    assert!(
        steps[at("old_sheet:behind")].text.contains("482 in"),
        "{}",
        steps[at("old_sheet:behind")].text
    );
    let keys = steps.iter().map(|step| step.key.as_str());
    let values = steps
        .iter()
        .flat_map(|step| &step.values)
        .map(|value| value.key.as_str());
    let (mut seen, mut values_seen) = (BTreeSet::new(), BTreeSet::new());
    assert!(keys.clone().all(|key| seen.insert(key)), "keys are unique");
    assert!(
        values.clone().all(|key| values_seen.insert(key)),
        "keys of values are unique"
    );
    let again = &steps[at("diagonals_after:behind")].values[0].wanted;
    assert_eq!(*again, Target::SameAs(format!("diagonal_1_before{BEHIND}")));
}

/// Three sections on one roof are not figured, since two always do: they can lie as three would, the two with less sound
/// roof between them as one. What they take more is that sound roof's sheet: the whole roof stands beside them too.
#[test]
fn wherever_three_sections_would_fit_two_do() {
    let (plan, book) = (BodyType::DryVan53.plan(), Book::default());
    let strip = book.roof.seam_strip.value;
    let mut would_fit = 0;
    for front in [(3, 40), (60, 100)] {
        for middle in (140..500).step_by(36).map(|from| (from, from + 40)) {
            for rear in (middle.1 + 60..596).step_by(36).map(|from| (from, from + 37)) {
                let spans = [
                    (front, [RoofWay::Section, RoofWay::MiddleSection]),
                    (middle, [RoofWay::MiddleSection; 2]),
                    (rear, [RoofWay::MiddleSection, RoofWay::RearSection]),
                ];
                let spans = spans.map(|(at, ways)| {
                    let fit = ways.into_iter().filter_map(|way| take(&body(), at, way).ok());
                    fit.min_by_key(|taken| taken.rough_length)
                        .map(|taken| taken.span(plan.length))
                });
                let [Some(a), Some(b), Some(c)] = spans else {
                    continue;
                };
                if b[0].minus(a[1]) < strip || c[0].minus(b[1]) < strip {
                    continue;
                }
                would_fit += 1;
                let tear = |id: &str, (from, to): (i64, i64)| Mark {
                    id: id.to_owned(),
                    ..mark([from, to, 20, 60])
                };
                let marks = [tear("a", front), tear("b", middle), tear("c", rear)];
                let all: Vec<&Mark> = marks.iter().collect();
                for key in [WayKey::TwoSections, WayKey::WholeRoof] {
                    let found = RoofRepair::of(&plan, &all, key, &book, Unit::In).unwrap();
                    assert!(found.is_ok(), "{front:?} {middle:?} {rear:?}: {:?}", found.err());
                }
            }
        }
    }
    assert!(would_fit > 40, "{would_fit}");
}
