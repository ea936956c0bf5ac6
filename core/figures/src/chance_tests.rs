#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::cast_precision_loss
)]

use super::*;

/// One task of 1 000.00, nothing else: its total is the triangle itself.
fn one_task(task: Triangle, seed: u64, runs: u32) -> Inputs {
    Inputs {
        seed,
        runs,
        hours: vec![Item {
            key: key(&["task"]),
            cents: 100_000,
            taxed: false,
        }],
        goods: Vec::new(),
        hidden: Vec::new(),
        task,
        pace: Triangle::around(0, 0),
        used: Triangle::around(0, 0),
        hidden_taxed: [false, false],
        supplies: (0, 0, false),
        tax: 0,
        total: 100_000,
    }
}

#[test]
fn the_generator_gives_its_usual_test_vector() {
    // First numbers of SplitMix64 from the seed 1234567, as they are usually printed (from memory).
    let mut stream = Stream(1_234_567);
    let first: Vec<u64> = (0..3).map(|_| stream.next()).collect();
    assert_eq!(
        first,
        vec![
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423
        ]
    );
}

#[test]
fn the_inverse_of_the_triangle_is_the_closed_form() {
    // F(x) = (x-a)²/((b-a)(m-a)) up to m, 1 - (b-x)²/((b-a)(b-m)) above (any textbook of statistics).
    let triangle = Triangle::around(250_000, 500_000);
    for tenths in 1..10_u32 {
        let u = u32::try_from((u64::from(tenths) << 32) / 10).unwrap();
        let share = f64::from(tenths) / 10.0;
        let (a, m, b) = (0.75, 1.0, 1.5);
        let wanted: f64 = if share < (m - a) / (b - a) {
            a + (share * (b - a) * (m - a)).sqrt()
        } else {
            b - ((1.0 - share) * (b - a) * (b - m)).sqrt()
        };
        let found = triangle.at(u) as f64 / 1e6;
        assert!((found - wanted).abs() < 2e-6, "{tenths}: {found} {wanted}");
    }
    assert_eq!(
        (triangle.at(0), triangle.at(u32::MAX) > 1_499_900),
        (750_000, true)
    );
}

#[test]
fn the_range_of_one_task_is_its_triangles_p10_and_p90() {
    // a 0.75, m 1, b 1.5: P10 = 0.75 + √(0.1 × 0.75 × 0.25) = 0.886 931, P90 = 1.5 - √(0.1 × 0.75 × 0.5) = 1.306 351.
    let totals = simulate(&one_task(Triangle::around(250_000, 500_000), 7, 40_000));
    let (low, high) = (tenth(&totals, 1), tenth(&totals, 9));
    assert!((low - 88_693).abs() < 300, "{low}");
    assert!((high - 130_635).abs() < 400, "{high}");
}

#[test]
fn the_range_of_one_seed_covers_eight_of_ten_runs_of_another() {
    let many = |seed| {
        let mut inputs = one_task(Triangle::around(200_000, 400_000), seed, 4_000);
        inputs.hours = (0..12)
            .map(|task| Item {
                key: key(&["task", &task.to_string()]),
                cents: 5_000 * (task + 1),
                taxed: false,
            })
            .collect();
        inputs.total = inputs.hours.iter().map(|item| item.cents).sum();
        inputs.pace = Triangle::around(100_000, 200_000);
        inputs.hidden = vec![Hidden {
            key: key(&["post"]),
            chance: 250_000,
            labour: 17_700,
            material: 6_000,
        }];
        simulate(&inputs)
    };
    let of = many(1);
    let (low, high) = (tenth(&of, 1), tenth(&of, 9));
    let others = many(2);
    let inside = others
        .iter()
        .filter(|total| (low..=high).contains(*total))
        .count();
    let share = inside as f64 / others.len() as f64;
    // Standard error of a share of 0.8 over 4 000 runs, twice (range and runs): 0.009.
    assert!((share - 0.8).abs() < 0.027, "{share}");
}

#[test]
fn hidden_damage_comes_as_often_as_its_chance() {
    let mut inputs = one_task(Triangle::around(0, 0), 3, 10_000);
    inputs.hidden = vec![Hidden {
        key: key(&["post"]),
        chance: 250_000,
        labour: 10_000,
        material: 0,
    }];
    let totals = simulate(&inputs);
    let found = totals.iter().filter(|total| **total == 110_000).count();
    assert_eq!(
        found + totals.iter().filter(|total| **total == 100_000).count(),
        10_000
    );
    assert!((2_400..2_600).contains(&found), "{found}");
}

#[test]
fn with_nothing_left_to_chance_every_run_is_the_total() {
    let mut inputs = one_task(Triangle::around(0, 0), 3, 50);
    inputs.supplies = (50_000, 9_500, true);
    inputs.tax = 72_500;
    inputs.goods = vec![Item {
        key: 4,
        cents: 33_333,
        taxed: true,
    }];
    // 1 000.00 + 333.33 + 50.00 + 7.25 % of 383.33 (27.79).
    inputs.total = 141_112;
    let totals = simulate(&inputs);
    assert_eq!((totals[0], totals[49]), (141_112, 141_112));
}

#[test]
fn the_same_seed_gives_the_same_runs_and_another_item_does_not_move_them() {
    let inputs = one_task(Triangle::around(250_000, 500_000), 7, 500);
    assert_eq!(simulate(&inputs), simulate(&inputs));
    assert_ne!(
        simulate(&inputs),
        simulate(&Inputs {
            seed: 8,
            ..inputs.clone()
        })
    );
    let mut more = inputs.clone();
    more.goods.push(Item {
        key: key(&["sheet"]),
        cents: 50_000,
        taxed: false,
    });
    more.total += 50_000;
    let moved: Vec<i64> = simulate(&more).iter().map(|total| total - 50_000).collect();
    assert_eq!(moved, simulate(&inputs));
}

#[test]
fn the_root_is_whole_and_never_past_the_next_one() {
    for k in (1_u64..1 << 26).step_by(9973).chain((1 << 26) - 9..(1 << 26) + 9) {
        let square = u128::from(k * k);
        let of = |square| u64::try_from(root(square)).unwrap();
        assert_eq!([of(square - 1), of(square), of(square + 1)], [k - 1, k, k]);
    }
}
