#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use super::*;
use crate::body::BodyType;
use crate::estimate::{Chosen, estimate};
use crate::made::mark;
use crate::mark::{DamageKind, Surface};
use crate::measure::Unit;

fn job(ways: &[(&str, &str)]) -> Estimate {
    let marks = [
        mark(
            "tear",
            Surface::Roof,
            Part::RoofSheet,
            DamageKind::Tear,
            [3, 149, 20, 60],
        ),
        mark(
            "a",
            Surface::Curbside,
            Part::SideSheet,
            DamageKind::Tear,
            [100, 108, 40, 48],
        ),
        mark(
            "b",
            Surface::Roadside,
            Part::SideSheet,
            DamageKind::Tear,
            [300, 308, 40, 48],
        ),
    ];
    let chosen: Vec<Chosen> = ways
        .iter()
        .map(|(group, way)| Chosen {
            group: (*group).to_owned(),
            way: (*way).to_owned(),
            by_hand: None,
        })
        .collect();
    estimate(
        &BodyType::DryVan53.plan(),
        &marks,
        &chosen,
        &Book::default(),
        &[],
        Unit::In,
    )
    .unwrap()
}

/// Two tears far apart, by two sections.
fn two_sections(book: &Book) -> Estimate {
    let tear = |id, from, to| {
        mark(
            id,
            Surface::Roof,
            Part::RoofSheet,
            DamageKind::Tear,
            [from, to, 20, 60],
        )
    };
    let chosen = Chosen {
        group: "roof".to_owned(),
        way: "two_sections".to_owned(),
        by_hand: None,
    };
    let marks = [tear("front", 3, 60), tear("rear", 500, 630)];
    let plan = BodyType::DryVan53.plan();
    estimate(&plan, &marks, &[chosen], book, &[], Unit::In).unwrap()
}

#[test]
fn hours_of_two_sections_are_shared_out_by_what_each_has_and_are_together_the_figured_ones() {
    let found = two_sections(&Book::default());
    let group = &found.groups[0];
    let hours = by_section(group);
    assert_eq!(hours.sections.len(), 2);
    assert!(hours.beside.is_empty(), "every task is one of a section");
    for line in &group.hours {
        let of = |lines: &Vec<crate::bill::TaskHours>| {
            let own = lines.iter().find(|own| own.task == line.task);
            own.map_or(Decimal::ZERO, |own| number(&own.hours))
        };
        let both = of(&hours.sections[0]) + of(&hours.sections[1]);
        assert_eq!(both, number(&line.hours), "{}", line.task);
    }
    // Front: bows 1 and 2 of 3 to 60 in; rear: bows 21 to 26. 0.75 h a bow (shop book).
    let bows = |at: usize| {
        let line = hours.sections[at].iter().find(|line| line.task == "bow").unwrap();
        number(&line.hours)
    };
    assert_eq!((bows(0), bows(1)), (Decimal::new(15, 1), Decimal::new(45, 1)));
}

#[test]
fn of_two_sections_the_second_is_opened_when_the_first_is_closed_each_with_its_cover() {
    let found = crew_plans(&two_sections(&Book::default()), &Book::default(), None).unwrap();
    for plan in &found.plans {
        let [ends, starts] = [|row: &PlanRow| number(&row.to), |row: &PlanRow| number(&row.from)];
        let closed = ends(row(plan, "Roll the edge"));
        for title in [
            "Second section: Strip out",
            "Second section: Old sheet off",
            "Second section: Cover",
        ] {
            assert!(closed <= starts(row(plan, title)), "{title}: {:?}", plan.rows);
        }
        assert!(ends(row(plan, "Old sheet off")) <= starts(row(plan, "Cover")));
        assert!(ends(row(plan, "Second section: Roll the edge")) <= starts(row(plan, "Swarf")));
        let first = closed - starts(row(plan, "Old sheet off"));
        let second = ends(row(plan, "Second section: Roll the edge"))
            - starts(row(plan, "Second section: Old sheet off"));
        assert_eq!(number(plan.open_hours.as_ref().unwrap()), first.max(second));
        assert!(plan.proven, "{} {}", plan.bay_hours, plan.at_least);
    }
}

fn all_ways() -> Estimate {
    job(&[
        ("roof", "front_section"),
        ("a", "side_patch"),
        ("b", "whole_side_sheet"),
    ])
}

fn number(text: &str) -> Decimal {
    text.parse().unwrap()
}

fn row<'p>(plan: &'p CrewPlan, title: &str) -> &'p PlanRow {
    plan.rows.iter().find(|row| row.title.starts_with(title)).unwrap()
}

#[test]
fn one_more_person_is_never_later_and_the_plan_is_proven() {
    let found = crew_plans(&all_ways(), &Book::default(), None).unwrap();
    let [two, three] = found.plans.as_slice() else {
        unreachable!()
    };
    assert_eq!((two.people, three.people), (2, 3));
    assert!(number(&three.bay_hours) < number(&two.bay_hours), "{three:?}");
    assert!(two.proven && three.proven);
    assert_eq!(two.bay_hours, two.at_least);
}

#[test]
fn nobody_works_at_two_places_at_once_and_each_task_has_its_people() {
    for plan in crew_plans(&all_ways(), &Book::default(), Some(Decimal::from(24)))
        .unwrap()
        .plans
    {
        for (at, one) in plan.rows.iter().enumerate() {
            assert!(!one.people.is_empty() || one.title.starts_with("Cure"), "{one:?}");
            assert!(one.people.iter().all(|person| *person <= plan.people));
            for other in &plan.rows[at + 1..] {
                let apart = number(&one.to) <= number(&other.from) || number(&other.to) <= number(&one.from);
                let same = one.people.iter().any(|person| other.people.contains(person));
                assert!(apart || !same, "{one:?} {other:?}");
            }
        }
        let most = plan.rows.iter().map(|row| number(&row.to)).max().unwrap();
        assert_eq!(most, number(&plan.bay_hours));
    }
}

#[test]
fn the_order_of_the_work_holds_whoever_does_it() {
    let found = crew_plans(&all_ways(), &Book::default(), Some(Decimal::from(24))).unwrap();
    for plan in &found.plans {
        let ends = |title: &str| number(&row(plan, title).to);
        let starts = |title: &str| number(&row(plan, title).from);
        for (first, then) in [
            ("Make safe", "Platforms"),
            ("Lining out of the way", "Strip out"),
            ("Platforms", "Strip out"),
            ("Tie, brace", "Old sheet off"),
            ("Old sheet off", "Side patch"),
            ("Side patch", "Clean and scuff"),
            ("Roll the edge", "Side sheet off"),
            ("Side sheet off", "Swarf"),
            ("Swarf", "Cure"),
            ("Cure", "Leak test"),
            ("Leak test", "Lining back"),
        ] {
            assert!(
                ends(first) <= starts(then),
                "{first} before {then}: {:?}",
                plan.rows
            );
        }
        let open = number(plan.open_hours.as_ref().unwrap());
        assert_eq!(open, ends("Roll the edge") - starts("Old sheet off"));
    }
}

#[test]
fn the_plan_of_one_chain_is_the_sum_of_its_tasks() {
    // Only a patch on the roof: make safe 1, platforms 0.75 by two, patch 2.5 by two, swarf 0.5, leak test 1 by two;
    // lights and sheeting 0.5 each run beside the leak test.
    let marks = [mark(
        "hole",
        Surface::Roof,
        Part::RoofSheet,
        DamageKind::Tear,
        [100, 104, 40, 44],
    )];
    let chosen = [Chosen {
        group: "roof".to_owned(),
        way: "patch".to_owned(),
        by_hand: None,
    }];
    let one = estimate(
        &BodyType::DryVan53.plan(),
        &marks,
        &chosen,
        &Book::default(),
        &[],
        Unit::In,
    )
    .unwrap();
    let plan = &crew_plans(&one, &Book::default(), None).unwrap().plans[0];
    // 1 + .38 + 1.25 + .5 and then 2 of leak test, lights, sheeting work for two: 1.
    assert!(plan.proven);
    assert!(number(&plan.bay_hours) <= Decimal::new(413, 2), "{plan:?}");
    assert!(number(&plan.bay_hours) >= Decimal::new(388, 2), "{plan:?}");
    assert_eq!((plan.open_hours.clone(), plan.days), (None, 1));
}

#[test]
fn a_cure_of_a_day_takes_a_working_day_and_is_named_when_it_is_not_known() {
    let (without, with) = (
        crew_plans(&all_ways(), &Book::default(), None).unwrap(),
        crew_plans(&all_ways(), &Book::default(), Some(Decimal::from(24))).unwrap(),
    );
    let cure = |plans: &CrewPlans| plans.lacks.iter().any(|lack| lack.contains("cure"));
    assert!(cure(&without) && !cure(&with));
    let (short, long) = (
        number(&without.plans[0].bay_hours),
        number(&with.plans[0].bay_hours),
    );
    // Lights and sheeting run during the cure, so less than the eight hours are added, and never more.
    assert!(long > short && long <= short + Decimal::from(8), "{short} {long}");
    assert!(row(&with.plans[0], "Cure").people.is_empty());
}

#[test]
fn a_whole_roof_without_a_hoist_says_that_help_is_needed() {
    let roof = job(&[("roof", "whole_roof")]);
    let found = crew_plans(&roof, &Book::default(), None).unwrap();
    assert!(
        found
            .lacks
            .iter()
            .any(|lack| lack.contains("wants 4 people or a hoist")),
        "{:?}",
        found.lacks
    );
    let mut book = Book::default();
    book.planning.hoist.value = true;
    assert!(
        !crew_plans(&roof, &book, None)
            .unwrap()
            .lacks
            .iter()
            .any(|lack| lack.contains("hoist"))
    );
}

#[test]
fn the_roof_is_open_for_the_same_hours_whatever_the_cure_takes() {
    for job in [
        all_ways(),
        two_sections(&Book::default()),
        job(&[("roof", "whole_roof")]),
    ] {
        let bay = in_bay(&job, &Book::default()).unwrap();
        for cure in [None, Some(Decimal::from(12)), Some(Decimal::from(72))] {
            let plan = &crew_plans(&job, &Book::default(), cure).unwrap().plans[0];
            assert_eq!(plan.open_hours, bay.open_hours, "{cure:?}");
        }
        let plan = &crew_plans(&job, &Book::default(), None).unwrap().plans[0];
        assert_eq!((&plan.bay_hours, plan.days), (&bay.hours, bay.days));
        assert!(bay.at_once <= bay.people && number(bay.open_hours.as_ref().unwrap()) < number(&bay.hours));
    }
}

#[test]
fn agreed_work_and_what_is_added_to_it_plan_as_the_whole() {
    let (agreed, all) = (job(&[("roof", "front_section")]), all_ways());
    let added = crate::estimate::added(&agreed, &all).unwrap();
    let both = crate::estimate::together(&agreed, &[&added]).unwrap();
    assert_eq!(both.total, all.total);
    let hours = |job: &Estimate| {
        let mut lines: Vec<(String, Decimal)> = job
            .groups
            .iter()
            .flat_map(|group| &group.hours)
            .chain(&job.once)
            .map(|line| (line.task.clone(), number(&line.hours)))
            .collect();
        lines.sort();
        lines
    };
    assert_eq!(hours(&both), hours(&all));
    assert_eq!(in_bay(&both, &Book::default()), in_bay(&all, &Book::default()));
}
