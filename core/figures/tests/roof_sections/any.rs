//! What holds for any roof, whatever its measures and damage.

use super::*;

/// A random roof: bows at uneven stations, seams of earlier repairs, and a damage on it.
fn any_roof() -> impl Strategy<Value = (RoofBody, i64, i64)> {
    let bows = prop::collection::btree_set(1_i64..630, 1..40);
    let seams = prop::collection::btree_set(1_i64..630, 0..4);
    let patches = prop::collection::vec((0_i64..620, 1_i64..16), 0..3);
    (bows, seams, patches, 0_i64..636, 0_i64..120).prop_map(|(bows, seams, patches, from, long)| {
        let body = RoofBody {
            bows: bows.into_iter().map(inch).collect(),
            seams: seams.into_iter().map(inch).collect(),
            patches: patches
                .into_iter()
                .map(|(from, long)| [inch(from), inch(from + long)])
                .collect(),
            ..body()
        };
        (body, from, (from + long).min(636))
    })
}

proptest! {
    #[test]
    fn a_seam_lies_over_a_sound_bow_past_the_margin_and_clear_of_old_seams((body, from, to) in any_roof()) {
        let rules = RoofRules::default();
        let (margin, lap) = (rules.seam_margin.value, rules.seam_lap.value);
        for way in SECTIONS {
            let Ok(taken) = take(&body, (from, to), way) else { continue };
            let front = taken.front_seam_bow.zip(taken.front_seam_station);
            let rear = taken.seam_bow.zip(taken.seam_station);
            prop_assert_eq!((front.is_some(), rear.is_some()), (!way.reaches_the_nose(), !way.reaches_the_rear()));
            for (bow, station) in front.into_iter().chain(rear) {
                prop_assert_eq!(body.bows[bow as usize - 1], station);
                prop_assert!(!taken.bows_hit.contains(&bow) && !taken.bows_opened.contains(&bow));
                for seam in &body.seams {
                    let same = *seam >= station && seam.minus(station) <= lap;
                    prop_assert!(same || seam.apart(station) >= rules.seam_clear.value);
                }
            }
            if let Some((_, station)) = front {
                prop_assert!(station.plus(lap).plus(margin) <= inch(from));
                for seam in body.seams.iter().filter(|seam| **seam < station) {
                    prop_assert!(station.minus(*seam) >= rules.seam_strip.value);
                }
            }
            if let Some((_, station)) = rear {
                prop_assert!(station >= inch(to).plus(margin));
                for seam in body.seams.iter().filter(|seam| **seam > station.plus(lap)) {
                    prop_assert!(seam.minus(station) >= rules.seam_strip.value);
                }
            }
            // What is cut out is covered, laps and all, and the sheet that is cut is enough for it.
            let cut_from = front.map_or(Length::ZERO, |(_, station)| station.plus(lap));
            let cut_to = rear.map_or(body.length, |(_, station)| station);
            let laps = lap.times(taken.seams().into());
            prop_assert!(cut_to.minus(cut_from).plus(laps) <= taken.finished_length);
            prop_assert!(taken.finished_length <= taken.rough_length);
        }
    }

    #[test]
    fn more_damage_never_needs_less_sheet((body, from, to) in any_roof(), ahead in 0_i64..60, behind in 0_i64..60) {
        let (first, last) = ((from - ahead).max(0), (to + behind).min(636));
        for way in SECTIONS {
            if let Ok(more) = take(&body, (first, last), way) {
                let less = take(&body, (from, to), way).expect("what fits a larger damage fits a smaller one");
                prop_assert!(less.rough_length <= more.rough_length);
                prop_assert!(less.bows_opened.len() <= more.bows_opened.len());
            }
        }
    }

    #[test]
    fn inches_and_millimetres_agree_exactly_for_every_section((body, from, to) in any_roof()) {
        for way in SECTIONS {
            let of = |unit| roof_way(&body, &damage(from, to), way, &RoofRules::default(), unit).unwrap();
            let (Ok(inches), Ok(mm)) = (of(Unit::In), of(Unit::Mm)) else { continue };
            prop_assert_eq!((inches.rough_length, inches.finished_length), (mm.rough_length, mm.finished_length));
            prop_assert_eq!(inches.weight_rough_lb, mm.weight_rough_lb);
            for (a, b) in inches.lines.iter().zip(&mm.lines) {
                let (x, y): (rust_decimal::Decimal, rust_decimal::Decimal) = (a.quantity.parse().unwrap(), b.quantity.parse().unwrap());
                let factor = match a.unit.as_str() { "in" => "25.4", "in²" => "645.16", _ => "1" };
                prop_assert_eq!((x * factor.parse::<rust_decimal::Decimal>().unwrap()).normalize(), y.normalize(), "{}", a.item);
            }
        }
    }

    #[test]
    fn any_marks_on_any_plan_are_figured_without_panic_and_alike_from_both_sides(
        marks in prop::collection::vec((0_i64..640, 0_i64..120, 0_i64..110, 0_i64..60), 1..4),
        seams in prop::collection::btree_set(1_i64..636, 0..4),
        key in prop::sample::select(vec![WayKey::Patch, WayKey::FrontSection, WayKey::MiddleSection, WayKey::RearSection, WayKey::WholeRoof]),
    ) {
        let plan = Plan { roof_seams: seams.into_iter().map(inch).collect(), ..BodyType::DryVan53.plan() };
        let side = |mirrored: bool| -> Vec<Mark> {
            let put = |(i, &(from, long, low, wide)): (usize, &(i64, i64, i64, i64))| {
                let (low, high) = (low.min(102), (low + wide).min(102));
                let (low, high) = if mirrored { (102 - high, 102 - low) } else { (low, high) };
                Mark { id: i.to_string(), ..mark([from.min(636), (from + long).min(636), low, high]) }
            };
            marks.iter().enumerate().map(put).collect()
        };
        let chosen = [Chosen { group: "roof".to_owned(), way: key.key().to_owned(), by_hand: None }];
        let total = |marks: &[Mark]| estimate(&plan, marks, &chosen, &Book::default(), &[], Unit::In).unwrap();
        let (one, other) = (total(&side(false)), total(&side(true)));
        prop_assert_eq!((one.total, one.total_hours, one.lacks), (other.total, other.total_hours, other.lacks));
        prop_assert_eq!(one.groups.first().map(|g| g.lines.clone()), other.groups.first().map(|g| g.lines.clone()));
        prop_assert!(ways(&plan, &side(false), &Book::default(), Unit::Mm).is_ok());
    }
}
