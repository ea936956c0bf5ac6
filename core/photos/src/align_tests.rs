#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout
)]
//! Pairs made from photos of the demo yard: the after photo is the before photo seen by a camera that moved, in other
//! light, with grain, and with a repaired place that looks otherwise.

use super::*;

fn photo(name: &str) -> Grey {
    let path = format!("{}/../../demo-data/photos/{name}.jpg", env!("CARGO_MANIFEST_DIR"));
    let [copy] = crate::shrunk(
        &mut crate::Copier::default(),
        &std::fs::read(path).unwrap(),
        [crate::SMALL],
    )
    .unwrap();
    Grey::of(&image::load_from_memory(&copy).unwrap())
}

/// What a camera sees that moved so that `map` takes its photo to this one.
fn moved(before: &Grey, map: Similarity, patch: bool) -> Grey {
    let (width, height) = (before.width, before.height);
    let mut after = before.clone();
    let mut grain = 7_u32;
    for y in 0..height {
        for x in 0..width {
            let at = map.place([(x as f64 + 0.5) / width as f64, (y as f64 + 0.5) / width as f64]);
            grain = grain.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let noise = f64::from(grain >> 24) / 255.0 * 16.0 - 8.0;
            let [u, v] = at;
            let repaired = patch && (0.4..0.65).contains(&u) && (0.3..0.5).contains(&v);
            let seen = if repaired {
                200.0
            } else {
                f64::from(before.sample(at.map(|c| c * width as f64)))
            };
            after.pixels[y * width + x] =
                (seen * 0.75 + 30.0 * x as f64 / width as f64 + noise).clamp(0.0, 255.0) as f32;
        }
    }
    after
}

fn map(scale: f64, degrees: f64, at: [f64; 2]) -> Similarity {
    let (sin, cos) = degrees.to_radians().sin_cos();
    Similarity {
        a: scale * cos,
        b: scale * sin,
        at,
    }
}

const NAMES: [&str; 6] = [
    "5026-roof-before",
    "5026-side-before",
    "4417-roof-tear",
    "4417-side-hole",
    "4417-nose-curbside",
    "6071-roof-hole",
];
const MOVES: [(f64, f64, [f64; 2]); 4] = [
    (1.0, 0.0, [0.0, 0.0]),
    (0.9, 4.0, [0.09, 0.0]),
    (1.12, -5.0, [-0.08, 0.02]),
    (0.95, 1.5, [0.12, -0.06]),
];

#[test]
fn a_camera_that_moved_is_found_again_and_where_it_is_not_it_is_unsure() {
    let (mut sure, mut all) = (0, 0);
    // All of them where the build is optimised; they take minutes where it is not.
    let names = if cfg!(debug_assertions) {
        &NAMES[..2]
    } else {
        &NAMES[..]
    };
    for name in names {
        let before = photo(name);
        for (scale, turn, at) in MOVES {
            let truth = map(scale, turn, at);
            let found = align(&before, &moved(&before, truth, true));
            let off = apart(found.map, truth);
            println!(
                "{name} {scale} {turn}: off {:.1} % of the width, likeness {:.2}, sure {}",
                100.0 * off,
                found.likeness,
                found.sure
            );
            all += 1;
            if found.sure {
                sure += 1;
                assert!(off < 0.02, "{name}: {off}");
            }
        }
    }
    println!("sure of {sure} of {all}");
    assert!(sure * 10 >= all * 7, "{sure} of {all}");
}

#[test]
fn photos_of_other_places_are_unsure() {
    for (one, other) in [(0, 3), (1, 2)] {
        let found = align(&photo(NAMES[one]), &photo(NAMES[other]));
        println!("{} {}: {found:?}", NAMES[one], NAMES[other]);
        assert!(!found.sure);
    }
}

#[test]
fn posts_that_repeat_are_unsure() {
    // A wall of posts and rivets alike: one post farther on looks the same.
    let wall = |shift: usize| Grey {
        width: 320,
        height: 240,
        pixels: (0..320 * 240)
            .map(|at| {
                let (x, y) = ((at % 320 + shift) % 40, at / 320 % 20);
                if x < 6 || (x < 12 && y < 6) { 60.0 } else { 170.0 }
            })
            .collect(),
    };
    let found = align(&wall(0), &wall(20));
    assert!(!found.sure, "{found:?}");
}

#[test]
fn two_taps_on_each_give_turn_scale_and_shift() {
    let truth = map(1.2, 10.0, [0.1, -0.2]);
    let after = [[0.2, 0.3], [0.8, 0.5]];
    let found = Similarity::of_taps(after, after.map(|tap| truth.place(tap))).unwrap();
    assert!(apart(found, truth) < 1e-12);
    assert_eq!(Similarity::of_taps([[0.2, 0.3]; 2], after), None);
}
