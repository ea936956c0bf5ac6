//! What holds for any side, whatever its measures and damage.

use super::*;

const SIDE_WAYS: [SideWay; 3] = [SideWay::Patch, SideWay::Section, SideWay::WholeSheet];

/// Any damage on a side, with earlier patches on the same side.
fn any_side() -> impl Strategy<Value = (Plan, [i64; 4])> {
    let patches = prop::collection::vec((0_i64..600, 1_i64..30, 0_i64..80, 1_i64..30), 0..3);
    let damage = (0_i64..600, 0_i64..36, 0_i64..100, 0_i64..10);
    (patches, damage, 8_i64..60, 24_i64..120).prop_map(|(patches, (from, long, low, up), post, joint)| {
        let every = |step: i64| (1..=630 / step).map(|i| Length::inches(step * i)).collect();
        let patch = |(from, long, low, up): (i64, i64, i64, i64)| Place {
            surface: Surface::Curbside,
            from: Length::inches(from),
            to: Length::inches(from + long),
            low: Length::inches(low),
            high: Length::inches(low + up),
        };
        let plan = Plan {
            posts: every(post),
            side_joints: every(joint),
            earlier_patches: patches.into_iter().map(patch).collect(),
            ..plan()
        };
        (plan, [from, from + long, low, low + up])
    })
}

proptest! {
    #[test]
    fn a_section_holds_the_cut_out_lies_on_posts_and_is_never_more_than_the_sheet((plan, place) in any_side()) {
        let rules = Book::default().side;
        let mark = mark("m", DamageKind::Tear, place);
        let of = |way| side_way(&plan, &mark, &rules, way, Unit::In);
        let Ok(section) = of(SideWay::Section) else { return Ok(()) };
        let whole = of(SideWay::WholeSheet).unwrap();
        // At a corner of the body the cut-out ends with the sheet.
        let (cut_from, cut_to) = (section.cut_out.from.max(Length::ZERO), section.cut_out.to.min(plan.length));
        prop_assert!(section.sheet.from <= cut_from && cut_to <= section.sheet.to);
        prop_assert!(section.sheet.from >= whole.sheet.from && section.sheet.to <= whole.sheet.to);
        prop_assert!(section.sheet.along() < whole.sheet.along() && section.rivets <= whole.rivets);
        let half = rules.sheet_lap.value.part(2).unwrap();
        for end in [section.sheet.from, section.sheet.to] {
            prop_assert!(plan.posts.contains(&end) || whole.sheet.from == end || whole.sheet.to == end);
        }
        // The laps add up: what is cut out, and half a lap twice at each cut, is what the piece covers.
        let [along, _] = section.piece(&rules);
        let first = if section.sheet.from == whole.sheet.from { section.sheet.from } else { section.sheet.from.plus(half) };
        let last = if section.sheet.to == whole.sheet.to { section.sheet.to } else { section.sheet.to.minus(half) };
        prop_assert!(first <= cut_from && cut_to <= last && last.minus(first) < along);
        prop_assert_eq!(section.cuts.len(), usize::from(section.sheet.from != whole.sheet.from) + usize::from(section.sheet.to != whole.sheet.to));
    }

    #[test]
    fn both_sides_and_both_units_give_the_same_and_more_damage_never_less((plan, place) in any_side(), more in 0_i64..20) {
        let rules = Book::default().side;
        let mut other = plan.clone();
        for patch in &mut other.earlier_patches {
            patch.surface = Surface::Roadside;
        }
        for way in SIDE_WAYS {
            let curb = mark("m", DamageKind::Tear, place);
            let mut road = curb.clone();
            road.place.surface = Surface::Roadside;
            let found = side_way(&plan, &curb, &rules, way, Unit::In);
            prop_assert_eq!(&found, &side_way(&other, &road, &rules, way, Unit::In));
            let mm = side_way(&plan, &curb, &rules, way, Unit::Mm);
            prop_assert_eq!(found.as_ref().ok().map(|t| (t.sheet, t.patch, t.rivets)), mm.as_ref().ok().map(|t| (t.sheet, t.patch, t.rivets)));
            let [from, to, low, high] = place;
            let larger = mark("m", DamageKind::Tear, [(from - more).max(0), (to + more).min(636), low, high]);
            if way == SideWay::Section && let (Ok(less), Ok(most)) = (&found, side_way(&plan, &larger, &rules, way, Unit::In)) {
                prop_assert!(less.sheet.along() <= most.sheet.along() && less.rivets <= most.rivets);
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn no_side_mark_makes_ways_or_figures_panic(numbers in prop::array::uniform4(any::<i64>()), sheet in any::<i64>()) {
        let [from, to, low, high] = numbers.map(Length::from_nm);
        let mut wild = hole();
        wild.place = Place { from, to, low, high, ..wild.place };
        let mut plan = plan();
        plan.side_sheet = Length::from_nm(sheet);
        for plan in [&plan, &BodyType::DryVan28.plan()] {
            let _ = ways(plan, &[wild.clone(), hole()], &Book::default(), Unit::Mm);
            for way in WayKey::ALL {
                let chosen = Chosen { group: "hole".to_owned(), way: way.key().to_owned(), by_hand: None };
                let _ = estimate(plan, std::slice::from_ref(&wild), &[chosen], &Book::default(), &[], Unit::In);
            }
        }
    }

    #[test]
    fn inches_and_millimetres_cost_the_same_on_a_side(from in 4_i64..600, length in 1_i64..30, low in 3_i64..80) {
        let marks = [mark("m", DamageKind::Tear, [from, from + length, low, low + 10])];
        let of = |unit| ways(&plan(), &marks, &Book::default(), unit).unwrap().remove(0).ways.into_iter().map(|way| (way.fits, way.price)).collect::<Vec<_>>();
        prop_assert_eq!(of(Unit::In), of(Unit::Mm));
    }
}

/// Common practice: a patch too near a rail is a whole sheet instead, or a section that runs from rail to rail; it is not
/// carried down onto the bottom rail.
#[test]
fn a_patch_that_would_reach_the_bottom_rail_is_a_section_or_a_whole_sheet() {
    let low = mark("low", DamageKind::Hole, [120, 131, 2, 12]);
    let choice = choice(&plan(), &[low]);
    let patch = way(&choice, WayKey::SidePatch);
    assert!(
        !patch.fits && patch.why.join(" ").contains("to the bottom rail (shop rule)"),
        "{:?}",
        patch.why
    );
    assert!(way(&choice, WayKey::SideSection).fits && way(&choice, WayKey::WholeSideSheet).fits);
}
