//! Every part and every damage has a way with a reason; the figures of each family are worked by hand.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use super::*;
use crate::body::BodyType;
use crate::estimate::{Chosen, Estimate, estimate};
use crate::group::asks_the_maker;
use crate::mark::{Place, Surface};
use crate::steps::{
    OtherMethod, OtherWork, RoofMethod, RoofWork, Step, Target, Tolerances, Work, roof_off_rows, steps,
};
use crate::ways::{Choice, ways};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

#[path = "parts_random_tests.rs"]
mod random;
#[path = "parts_worked_tests.rs"]
mod worked;

const PARTS: [Part; 27] = [
    Part::NoseWall,
    Part::NoseRail,
    Part::CornerPost,
    Part::CornerCap,
    Part::TopRail,
    Part::BottomRail,
    Part::RoofSheet,
    Part::RoofBow,
    Part::FrontRoofBow,
    Part::RearHeader,
    Part::RearFrame,
    Part::SideSheet,
    Part::SidePost,
    Part::ScuffBand,
    Part::Lining,
    Part::Floor,
    Part::Crossmember,
    Part::Kingpin,
    Part::LandingGear,
    Part::MudFlap,
    Part::RearGuard,
    Part::Door,
    Part::Hinge,
    Part::Lamp,
    Part::Harness,
    Part::ReflectiveSheeting,
    Part::Decal,
];

const KINDS: [DamageKind; 14] = [
    DamageKind::Hole,
    DamageKind::Tear,
    DamageKind::Crease,
    DamageKind::Dent,
    DamageKind::Bend,
    DamageKind::Crack,
    DamageKind::Gouge,
    DamageKind::Corrosion,
    DamageKind::LooseFasteners,
    DamageKind::Missing,
    DamageKind::Broken,
    DamageKind::Leak,
    DamageKind::Delamination,
    DamageKind::WaterStained,
];

/// The first surface on which the part can be marked.
fn surface(part: Part) -> Surface {
    let all = [
        Surface::Nose,
        Surface::Curbside,
        Surface::Rear,
        Surface::Roof,
        Surface::InsideNose,
        Surface::InsideCurbside,
        Surface::Floor,
    ];
    let found = all.into_iter().find(|surface| surface.parts().contains(&part));
    found.unwrap_or(Surface::Curbside)
}

fn mark_on(surface: Surface, part: Part, kind: DamageKind, inches: [i64; 4]) -> Mark {
    crate::made::mark("m", surface, part, kind, inches)
}

fn plan() -> Plan {
    BodyType::DryVan53.plan()
}

fn choice(mark: &Mark) -> Choice {
    ways(&plan(), std::slice::from_ref(mark), &Book::default(), Unit::In)
        .unwrap()
        .remove(0)
}

fn taken(mark: &Mark, way: WayKey) -> PartTakeoff {
    takeoffs(&plan(), &[mark], &Book::default(), way, Unit::In)
        .unwrap()
        .remove(0)
}

fn why_not(mark: &Mark, way: WayKey) -> String {
    takeoffs(&plan(), &[mark], &Book::default(), way, Unit::In)
        .unwrap_err()
        .sentence
}

/// Quantities by item.
fn lines(taken: &PartTakeoff) -> BTreeMap<&str, &str> {
    let lines = taken.lines.iter();
    lines
        .map(|line| (line.item.as_str(), line.quantity.as_str()))
        .collect()
}

fn estimated(plan: &Plan, mark: &Mark, way: WayKey) -> Estimate {
    let roof = crate::group::groups(std::slice::from_ref(mark))[0].key.clone();
    let chosen = Chosen {
        group: roof,
        way: way.key().to_owned(),
        by_hand: None,
    };
    estimate(
        plan,
        std::slice::from_ref(mark),
        &[chosen],
        &Book::default(),
        &[],
        Unit::In,
    )
    .unwrap()
}

fn other(taken: &PartTakeoff) -> OtherWork {
    OtherWork {
        taken: Some(taken.clone()),
        ..OtherWork::new(&taken.mark, taken.part, "title", OtherMethod::Part)
    }
}

fn steps_of(takeoffs: &[PartTakeoff]) -> Vec<Step> {
    steps(&Work {
        others: takeoffs.iter().map(other).collect(),
        ..bare()
    })
}

#[test]
fn every_part_and_damage_has_a_way_with_a_reason() {
    for part in PARTS {
        for kind in KINDS {
            let mark = mark_on(surface(part), part, kind, [50, 56, 40, 46]);
            let choice = choice(&mark);
            let said = format!("{part:?} {kind:?}");
            assert!(
                choice
                    .ways
                    .iter()
                    .any(|way| way.fits && way.key != WayKey::ByHand)
                    || choice
                        .ways
                        .iter()
                        .any(|way| way.key == WayKey::ByHand && way.why.len() > 1)
                    || part == Part::SideSheet,
                "{said}: {:?}",
                choice.ways
            );
            for way in &choice.ways {
                assert!(
                    !way.why.is_empty() && way.why.iter().all(|why| why.len() > 20),
                    "{said} {way:?}"
                );
                assert!(!way.title.is_empty(), "{said}");
            }
            let by_hand = choice.ways.iter().filter(|way| way.key == WayKey::ByHand).count();
            assert_eq!(by_hand, 1, "{said}");
        }
    }
}

#[test]
fn what_the_maker_decides_never_carries_a_number() {
    let mut asked = 0;
    for part in PARTS {
        for kind in KINDS {
            let mark = mark_on(surface(part), part, kind, [50, 56, 40, 46]);
            let choice = choice(&mark);
            let ask = choice.ways.iter().find(|way| way.key == WayKey::AskTheMaker);
            assert_eq!(
                asks_the_maker(&mark).is_some(),
                choice.ways[0].key == WayKey::AskTheMaker
            );
            if let Some(way) = ask {
                asked += 1;
                assert!(way.price.is_none() && way.hours.is_none() && way.in_bay.is_none());
                assert!(!way.why.join(" ").chars().any(|c| c == '$'));
                assert_eq!(estimated(&plan(), &mark, WayKey::AskTheMaker).total, "0.00");
            }
            if asks_the_maker(&mark).is_some() {
                assert!(
                    choice.ways.iter().all(|way| way.price.is_none()),
                    "{part:?} {kind:?}"
                );
            }
        }
    }
    // Frame, kingpin, landing gear and crossmember 14 each; header all but its two leaks; guard 14; top rail, bottom
    // rail, corner post and hinge each where metal is bent, open, cracked or worn: 3 + 4 + 1 + 2.
    assert_eq!(asked, 14 * 4 + 12 + 14 + 4 * 10);
}

/// Common practice: a unit whose roof is open does not wait for a part that was never looked for.
#[test]
fn all_that_any_way_buys_is_on_the_roof_off_check() {
    let mut seen = 0;
    for (part, kind) in PARTS.into_iter().flat_map(|part| KINDS.map(|kind| (part, kind))) {
        let mark = mark_on(surface(part), part, kind, [50, 56, 40, 46]);
        for offer in offers(&plan(), &mark) {
            let Ok(found) = group_way(&plan(), &[&mark], &Book::default(), offer.way, Unit::In) else {
                continue;
            };
            let others = found.iter().map(|(taken, _)| other(taken)).collect();
            let roof = RoofWork::closed(RoofMethod::FrontSection, &Book::default().roof);
            let work = Work {
                roof: Some(roof),
                others,
                ..bare()
            };
            let rows = roof_off_rows(&work, &[]);
            let keys: BTreeSet<&String> = rows.iter().map(|row| &row.key).collect();
            assert_eq!(keys.len(), rows.len(), "{part:?} {kind:?}");
            for goods in found.iter().flat_map(|(_, bought)| &bought.goods) {
                let quantity = goods.quantity.parse::<Decimal>().unwrap().normalize();
                let wanted = format!("{quantity} {}, with its shelf place", goods.unit);
                let row = rows.iter().find(|row| row.title == goods.item);
                assert_eq!(
                    row.map(|row| &row.wanted),
                    Some(&wanted),
                    "{part:?} {kind:?}: {}",
                    goods.item
                );
                seen += 1;
            }
        }
    }
    assert!(seen > 300, "{seen} lines");
}

#[test]
fn every_way_that_fits_has_lines_hours_steps_and_what_to_have_ready() {
    for part in PARTS {
        for kind in KINDS {
            let mark = mark_on(surface(part), part, kind, [50, 56, 40, 46]);
            for way in choice(&mark)
                .ways
                .iter()
                .filter(|way| way.fits && way.key.is_of_parts())
            {
                let said = format!("{part:?} {kind:?} {:?}", way.key);
                let taken = taken(&mark, way.key);
                assert!(
                    way.price.is_some() && way.hours.is_some() && way.people >= 1,
                    "{said}"
                );
                assert!(!taken.lines.is_empty() || taken.way == WayKey::DryOut, "{said}");
                for line in &taken.lines {
                    assert!(line.basis.len() > 1, "{said}: {} has no working", line.item);
                    assert!(
                        line.quantity.parse::<Decimal>().unwrap() > Decimal::ZERO,
                        "{said} {}",
                        line.item
                    );
                }
                has_steps(&taken, &said);
            }
        }
    }
}

/// Own steps with cautions, a stop, a task of the figures, and no measure left out.
fn has_steps(taken: &PartTakeoff, said: &str) {
    let all = steps_of(std::slice::from_ref(taken));
    let own: Vec<&Step> = all.iter().filter(|step| step.key.starts_with("part_")).collect();
    assert!(own.len() >= 3, "{said}: {} steps", own.len());
    assert_eq!(own[0].key, "part_ready:m", "{said}");
    assert!(
        own.iter().filter(|step| step.stop_and_check).count() >= 2,
        "{said}"
    );
    assert!(
        own.iter().map(|step| step.photos_wanted).sum::<u32>() >= 1,
        "{said}"
    );
    for step in &own {
        assert!(
            !step.text.contains('{') && !step.text.contains('}'),
            "{said}: {}",
            step.text
        );
        assert!(
            step.key == "part_ready:m" || !step.cautions.is_empty(),
            "{said} {}",
            step.key
        );
        // Had before, it stands as a line: what can hurt, up to what is done about it.
        let short = |caution: &String| caution.find(':').is_some_and(|at| at < 70);
        assert!(step.cautions.iter().all(short), "{:?}", step.cautions);
        for value in &step.values {
            if let Target::Words(words) | Target::Written(words) = &value.wanted {
                assert!(!words.contains('{'), "{said} {words}");
            }
        }
    }
    let keys: std::collections::HashSet<&str> = all.iter().map(|step| step.key.as_str()).collect();
    assert_eq!(keys.len(), all.len(), "{said}");
    let has = |key: &str| all.iter().any(|step| step.key == key);
    assert_eq!(has("leak_test"), taken.wet, "{said}");
    assert_eq!(has("lining"), taken.wet || taken.lining, "{said}");
    assert!(
        own[1].task.as_deref().is_some_and(|task| task.ends_with(":m")),
        "{said}"
    );
}

fn bare() -> Work {
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

/// The trade splices a top rail; a whole new one is no way that is written, so over the shop's longest splice the maker
/// is asked and nothing is priced.
#[test]
fn a_top_rail_that_is_too_long_for_a_splice_asks_the_maker_and_has_no_price() {
    let dent = |to| {
        mark_on(
            Surface::Curbside,
            Part::TopRail,
            DamageKind::Dent,
            [100, to, 105, 110],
        )
    };
    let fit = |to| {
        let ways = choice(&dent(to)).ways;
        ways.into_iter()
            .filter(|way| way.fits)
            .map(|way| (way.key, way.price.is_some()))
            .collect::<Vec<_>>()
    };
    assert!(
        fit(136).contains(&(WayKey::Splice, true)),
        "36 in, the shop's longest"
    );
    let over = fit(137);
    assert!(over.contains(&(WayKey::AskTheMaker, false)), "{over:?}");
    assert!(over.iter().all(|(_, priced)| !priced), "{over:?}");
    assert!(
        why_not(&dent(137), WayKey::Splice).contains("longer than what a splice mends, 36 in (shop rule)")
    );
}
