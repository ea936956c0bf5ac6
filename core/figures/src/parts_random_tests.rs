//! Random marks on every part: no panic, more damage never needs less, inches and millimetres agree.

use super::*;
use proptest::prelude::*;

/// Material of a way, by item; none where it does not fit.
fn goods(plan: &Plan, mark: &Mark, way: WayKey) -> Option<BTreeMap<String, Decimal>> {
    let found = group_way(plan, &[mark], &Book::default(), way, Unit::In).ok()?;
    let mut goods = BTreeMap::new();
    for line in found.into_iter().flat_map(|(_, bought)| bought.goods) {
        *goods.entry(line.item).or_insert(Decimal::ZERO) += line.quantity.parse::<Decimal>().unwrap();
    }
    Some(goods)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn no_mark_on_any_part_makes_ways_or_steps_panic(
        numbers in prop::array::uniform4(any::<i64>()), pitch in any::<i64>(), part in 0..27_usize, kind in 0..14_usize, on in 0..7_usize,
    ) {
        let on = [Surface::Nose, Surface::Curbside, Surface::Rear, Surface::Roof, Surface::InsideNose, Surface::InsideRoadside, Surface::Floor][on];
        let [from, to, low, high] = numbers.map(Length::from_nm);
        let mut mark = mark_on(on, PARTS[part], KINDS[kind], [0, 0, 0, 0]);
        mark.place = Place { from, to, low, high, ..mark.place };
        let mut plan = plan();
        plan.rail_hole_pitch = Length::from_nm(pitch);
        for plan in [&plan, &BodyType::DryVan28.plan()] {
            let _ = ways(plan, std::slice::from_ref(&mark), &Book::default(), Unit::Mm);
            for way in WayKey::ALL {
                if let Ok(found) = takeoffs(plan, &[&mark], &Book::default(), way, Unit::In) {
                    prop_assert!(!steps_of(&found).is_empty());
                }
            }
        }
    }

    #[test]
    fn more_damage_never_needs_less_material(
        from in 0_i64..560, low in 0_i64..80, along in 0_i64..40, up in 0_i64..20, more in prop::array::uniform4(0_i64..8), part in 0..27_usize, kind in 0..14_usize,
    ) {
        let on = surface(PARTS[part]);
        let (reach, height) = plan().extent(on);
        let from = from % (reach.nm() / Length::inches(1).nm() - 60).max(1) + 8;
        let low = low % (height.nm() / Length::inches(1).nm() - 30).max(1) + 8;
        let small = mark_on(on, PARTS[part], KINDS[kind], [from, from + along.min(30), low, low + up.min(10)]);
        let mut large = small.clone();
        large.place.from = small.place.from.minus(Length::inches(more[0]));
        large.place.to = small.place.to.plus(Length::inches(more[1]));
        large.place.low = small.place.low.minus(Length::inches(more[2]));
        large.place.high = small.place.high.plus(Length::inches(more[3]));
        for offer in offers(&plan(), &small) {
            let (Some(less), Some(more)) = (goods(&plan(), &small, offer.way), goods(&plan(), &large, offer.way)) else { continue };
            for (item, quantity) in less {
                prop_assert!(more.get(&item).is_some_and(|more| *more >= quantity), "{:?} {:?}: {item} {quantity} {more:?}", small, offer.way);
            }
        }
    }

    #[test]
    fn inches_and_millimetres_cost_the_same_on_every_part(
        from in 8_i64..60, low in 8_i64..60, along in 0_i64..30, up in 0_i64..20, part in 0..27_usize, kind in 0..14_usize,
    ) {
        let mark = mark_on(surface(PARTS[part]), PARTS[part], KINDS[kind], [from, from + along, low, low + up]);
        let of = |unit| ways(&plan(), std::slice::from_ref(&mark), &Book::default(), unit).unwrap().remove(0).ways.into_iter().map(|way| (way.fits, way.price)).collect::<Vec<_>>();
        prop_assert_eq!(of(Unit::In), of(Unit::Mm));
    }
}
