//! The order of the steps over all that can be neighbours on one side: nothing is fitted over what is still to be taken off
//! or fitted under it, whatever is damaged together and whatever is done with the roof. What lies over what is common
//! practice; it is written down here once more, apart from the program's own table.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use bowseam_figures::{
    body::BodyType,
    group::WayKey,
    mark::{Age, DamageKind, Mark, Part, Place, Surface},
    measure::{Length, Unit},
    parts::takeoffs,
    rules::RoofRules,
    share::{SideMark, SideWork, side_works},
    shop::Book,
    side_patch::SideWay,
    steps::{OtherMethod, OtherWork, RoofMethod, RoofWork, Step, Work, steps},
};

/// What lies over what.
const OVER: [(Part, &[Part]); 8] = [
    (
        Part::SideSheet,
        &[Part::SidePost, Part::CornerPost, Part::TopRail, Part::BottomRail],
    ),
    (
        Part::Lining,
        &[Part::SideSheet, Part::SidePost, Part::CornerPost, Part::TopRail],
    ),
    (
        Part::ScuffBand,
        &[Part::Lining, Part::SideSheet, Part::SidePost, Part::BottomRail],
    ),
    (Part::CornerCap, &[Part::CornerPost, Part::TopRail]),
    (Part::NoseWall, &[Part::CornerPost]),
    (Part::Lamp, &[Part::SideSheet, Part::BottomRail]),
    (Part::ReflectiveSheeting, &[Part::SideSheet, Part::BottomRail]),
    (Part::Decal, &[Part::SideSheet]),
];

fn mark(surface: Surface, part: Part, kind: DamageKind, [from, to, low, high]: [i64; 4]) -> Mark {
    Mark {
        id: String::new(),
        place: Place {
            surface,
            from: Length::inches(from),
            to: Length::inches(to),
            low: Length::inches(low),
            high: Length::inches(high),
        },
        kind,
        part,
        age: Age::New,
        depth: None,
    }
}

/// One damage of each part on or behind the curbside, near the nose, of each kind that has other ways.
fn damages() -> Vec<Mark> {
    use DamageKind::{Bend, Gouge, Hole, LooseFasteners, Tear};
    let side = Surface::Curbside;
    let inside = Surface::InsideCurbside;
    vec![
        mark(side, Part::SideSheet, Tear, [100, 108, 40, 48]),
        mark(side, Part::SidePost, Bend, [94, 98, 40, 60]),
        mark(inside, Part::SidePost, Hole, [94, 98, 40, 60]),
        mark(side, Part::CornerPost, Bend, [0, 3, 40, 60]),
        mark(side, Part::TopRail, Gouge, [100, 104, 106, 109]),
        mark(side, Part::TopRail, LooseFasteners, [100, 140, 106, 109]),
        mark(side, Part::BottomRail, LooseFasteners, [100, 140, 0, 3]),
        mark(side, Part::Lamp, DamageKind::Broken, [100, 104, 3, 6]),
        mark(side, Part::ReflectiveSheeting, Tear, [100, 140, 4, 8]),
        mark(side, Part::Decal, Tear, [100, 140, 60, 80]),
        mark(inside, Part::Lining, Hole, [100, 108, 40, 48]),
        mark(inside, Part::ScuffBand, Hole, [100, 130, 2, 10]),
        mark(Surface::Nose, Part::NoseWall, Hole, [60, 70, 40, 50]),
        mark(Surface::Roof, Part::CornerCap, Bend, [0, 3, 98, 101]),
    ]
}

/// Each damage by each way that it has.
fn works() -> Vec<OtherWork> {
    let (plan, book) = (BodyType::DryVan53.plan(), Book::default());
    let mut works = Vec::new();
    for mut mark in damages() {
        let own = |mark: &Mark, way: OtherMethod| OtherWork {
            surface: Some(mark.place.surface),
            ..OtherWork::new(&mark.id, mark.part, "", way)
        };
        for way in WayKey::ALL {
            mark.id = format!("m{}", works.len());
            if let Ok(found) = takeoffs(&plan, &[&mark], &book, way, Unit::In) {
                works.extend(found.into_iter().map(|taken| OtherWork {
                    taken: Some(taken),
                    ..own(&mark, OtherMethod::Part)
                }));
            }
        }
        for (way, method) in [
            (SideWay::Patch, OtherMethod::SidePatch),
            (SideWay::Section, OtherMethod::SideSection),
            (SideWay::WholeSheet, OtherMethod::SideSheet),
        ] {
            mark.id = format!("m{}", works.len());
            let of = SideMark {
                group: &mark.id,
                mark: &mark,
                way,
            };
            let sheet = mark.part == Part::SideSheet;
            if let Some(Ok(SideWork::Own(taken))) = side_works(&plan, &[of], &book.side, Unit::In)
                .pop()
                .filter(|_| sheet)
            {
                works.push(OtherWork {
                    side: Some(*taken),
                    ..own(&mark, method)
                });
            }
        }
        works.push(OtherWork {
            mark: format!("m{}", works.len()),
            ..own(&mark, OtherMethod::ByHand)
        });
    }
    works
}

fn work(roof: Option<RoofMethod>, others: Vec<OtherWork>) -> Work {
    let rules = RoofRules::default();
    Work {
        unit: Unit::In,
        roof: roof.map(|way| RoofWork {
            bows_hit: vec![1],
            bows_opened: vec![1, 2],
            ..RoofWork::closed(way, &rules)
        }),
        others,
        sealed: false,
        wiring_seen: true,
        cure: None,
        wind_limit: None,
        tolerances: bowseam_figures::steps::Tolerances::default(),
    }
}

/// Places of the steps of a mark; the first one, *everything on hand*, fits nothing.
fn own(all: &[Step], of: &OtherWork) -> Vec<usize> {
    let ends = format!(":{}", of.mark);
    let own = |step: &Step| step.key.ends_with(&ends) && !step.key.starts_with("part_ready");
    (0..all.len()).filter(|at| own(&all[*at])).collect()
}

/// Where something is fitted: lining and band are out for a long time before that.
fn fits(all: &[Step], of: &OtherWork) -> Option<usize> {
    let own = own(all, of);
    let fit = own.iter().find(|at| all[**at].key.starts_with("part_fit:"));
    fit.or(own.first()).copied()
}

fn check(roof: Option<RoofMethod>, others: &[&OtherWork]) {
    let job = work(roof, others.iter().map(|other| (*other).clone()).collect());
    let all = steps(&job);
    let keys: Vec<&str> = all.iter().map(|step| step.key.as_str()).collect();
    let mut apart = keys.clone();
    apart.sort_unstable();
    apart.dedup();
    assert_eq!(apart.len(), keys.len(), "keys are unique: {keys:?}");
    for over in others {
        let unders = OVER.iter().find(|(part, _)| *part == over.part);
        for under in others
            .iter()
            .filter(|under| unders.is_some_and(|(_, parts)| parts.contains(&under.part)))
        {
            let (Some(fitted), Some(done)) = (fits(&all, over), own(&all, under).last().copied()) else {
                panic!("no steps of {} or {}: {keys:?}", over.mark, under.mark);
            };
            assert!(
                done < fitted,
                "{:?}, {:?}: the {} is fitted before the {} under it is done: {keys:?}",
                roof,
                over.taken.as_ref().map(|taken| taken.way),
                over.part.word(),
                under.part.word()
            );
            // What comes out from over it is out before it is worked on.
            let out = own(&all, over)
                .first()
                .copied()
                .filter(|first| all[*first].key.starts_with("part_look:"));
            let begun = own(&all, under)[0];
            if over.part == Part::ScuffBand || over.part == Part::Lining {
                assert!(
                    out.is_none_or(|out| out < begun),
                    "{} out, then {}: {keys:?}",
                    over.part.word(),
                    under.part.word()
                );
            }
        }
    }
    // What goes back as it was goes under a new scuff band and over no new lining.
    let at = |key: &str| keys.iter().position(|own| *own == key);
    for other in others {
        let (Some(back), Some(fitted)) = (at("lining"), fits(&all, other)) else {
            continue;
        };
        match other.part {
            Part::ScuffBand => assert!(back < fitted || at("leak_test").is_none(), "{keys:?}"),
            Part::Lining => assert!(fitted < back, "{keys:?}"),
            _ => {}
        }
        if let Some(leak) = at("leak_test")
            && matches!(other.part, Part::Lining | Part::ScuffBand)
        {
            assert!(leak < fitted, "after the leak test: {keys:?}");
        }
    }
}

#[test]
fn nothing_is_fitted_over_what_is_still_to_be_taken_off_or_fitted_under_it() {
    let works = works();
    let parts: std::collections::BTreeSet<Part> = works.iter().map(|work| work.part).collect();
    assert!(parts.len() > 10 && works.len() > 30, "{} {parts:?}", works.len());
    let roofs = [
        None,
        Some(RoofMethod::Patch),
        Some(RoofMethod::FrontSection),
        Some(RoofMethod::WholeRoof),
    ];
    for roof in roofs {
        for (at, one) in works.iter().enumerate() {
            for two in &works[at + 1..] {
                check(roof, &[one, two]);
                check(roof, &[two, one]);
            }
        }
    }
}

/// Side sheet, scuff band and lining of one wreck, in every order of marking.
#[test]
fn three_layers_of_one_side_come_off_and_go_on_in_their_order() {
    let works = works();
    let of = |part: Part| works.iter().filter(move |work| work.part == part);
    for sheet in of(Part::SideSheet) {
        for band in of(Part::ScuffBand) {
            for lining in of(Part::Lining) {
                for post in of(Part::SidePost) {
                    for roof in [None, Some(RoofMethod::FrontSection)] {
                        check(roof, &[band, lining, sheet, post]);
                        check(roof, &[post, sheet, lining, band]);
                    }
                }
            }
        }
    }
}
