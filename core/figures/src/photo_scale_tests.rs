#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]
use super::*;
use proptest::prelude::*;
use serde_json::{Value, json};

/// A card of ID-1 size (ISO/IEC 7810: 85.60 x 53.98 mm) in an invented photo.
const CARD: [Point; 4] = [
    [1012.3, 740.8],
    [1630.5, 801.2],
    [1598.7, 1215.4],
    [968.1, 1122.9],
];
const PAIR: [Point; 2] = [[1080.5, 1010.2], [1790.8, 1105.6]];
const MORE: [(Point, Point); 4] = [
    ([40.0, 20.0], [1276.9, 911.2]),
    ([120.0, 53.98], [1880.0, 1258.3]),
    ([85.6, 100.0], [1571.6, 1584.2]),
    ([30.0, 80.0], [1156.7, 1351.4]),
];

fn card() -> Taps {
    Taps {
        size: [85.60, 53.98],
        corners: CARD,
        more: Vec::new(),
        measure: vec![PAIR],
        areas: vec![],
        tap_sd: 2.0,
        corner_sd: None,
    }
}

fn input() -> Value {
    json!({"unit":"mm","reference":{"size":[85.60,53.98],"corners_px":CARD},"more_reference":[{"at":[40,20],"px":[1276.9,911.2]}],
        "measure_px":[PAIR],"areas_px":[TEAR],"tap_sd_px":2.0,"corner_sd_px":null,"lens":null})
}

fn refused(at: &str, put: Value) -> Error {
    let mut value = input();
    *value.pointer_mut(at).unwrap() = put;
    figure(&value).unwrap_err()
}

// What PyPI opencv-python-headless 5.0.0.93 (numpy 2.4.6) gave once for these points, by
//   python -c "import cv2, numpy as np; print(cv2.findHomography(np.array(PIXELS, float), np.array(PLANE, float), 0)[0])"
// with PIXELS the corners and then the further points, in this order.
const OF_CARD: Homography = [
    [0.17922220959890917, 0.020731806052921922, -196.7847622601354],
    [-0.016969329678323687, 0.1736827081785489, -111.48609587229686],
    [0.00014403399261599497, 9.250779318187482e-05, 1.0],
];
const OF_STEEP: Homography = [
    [0.18559624986822493, -0.12539591903302788, 200.7220240767992],
    [0.12508089402834768, 0.20414115009216138, -502.78734061840186],
    [2.49850608192874e-05, 2.7849747191055553e-05, 1.0],
];
const OF_EIGHT: Homography = [
    [0.17703685888541862, 0.02066525872624106, -194.52136924586773],
    [-0.01717501800070743, 0.17197557712423486, -109.88273016519351],
    [0.0001346777603107924, 9.254040985167261e-05, 1.0],
];

#[test]
fn homographies_are_those_of_opencv() {
    let steep = Taps {
        size: [610.0, 152.4],
        corners: [
            [412.0, 2210.5],
            [2950.2, 655.3],
            [3411.9, 1207.7],
            [803.6, 2790.1],
        ],
        measure: vec![],
        ..card()
    };
    let eight = Taps {
        more: MORE.to_vec(),
        ..card()
    };
    for (taps, want) in [(card(), OF_CARD), (steep, OF_STEEP), (eight, OF_EIGHT)] {
        let found = photo_scale(&taps).unwrap().homography;
        for (found, want) in found.iter().flatten().zip(want.iter().flatten()) {
            // Absolute as the checks ask, and each element to a ten-thousandth of itself, since some are small.
            assert!((found - want).abs() < 1e-4, "{found} {want}");
            assert!((found / want - 1.0).abs() < 1e-4, "{found} {want}");
        }
    }
}

/// Normal deviates by Box and Muller from a fixed sequence (SplitMix64): a seeded test, the same everywhere.
struct Normal(u64);

impl Normal {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (((z ^ (z >> 31)) >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    fn moved(&mut self, [x, y]: Point, sd: f64) -> Point {
        let (r, a) = (
            (-2.0 * self.uniform().ln()).sqrt(),
            std::f64::consts::TAU * self.uniform(),
        );
        [x + sd * r * a.cos(), y + sd * r * a.sin()]
    }
}

/// Standard deviation over many photos that were tapped again, of what is measured first: a length, or an area.
fn tapped_again(taps: &Taps, times: u32, start: u64) -> f64 {
    let mut normal = Normal(start);
    let (mut sum, mut squares) = (0.0, 0.0);
    for _ in 0..times {
        let mut known = vec![];
        let [l, w] = taps.size;
        for (at, px) in [[0.0, 0.0], [l, 0.0], [l, w], [0.0, w]]
            .into_iter()
            .zip(taps.corners)
        {
            known.push((at, normal.moved(px, taps.corner_sd.unwrap_or(taps.tap_sd))));
        }
        for (at, px) in &taps.more {
            known.push((*at, normal.moved(*px, taps.tap_sd)));
        }
        let h = fit(&known).unwrap();
        let outline: Vec<Point> = outlines(taps)[0]
            .iter()
            .map(|px| normal.moved(*px, taps.tap_sd))
            .collect();
        let value = extent(&h, &outline, &taps.corners).unwrap();
        sum += value;
        squares += value * value;
    }
    let n = f64::from(times);
    ((squares - sum * sum / n) / (n - 1.0)).sqrt()
}

/// A five-cornered tear beside the card.
const TEAR: [Point; 5] = [
    [1080.0, 900.0],
    [1500.0, 870.0],
    [1720.0, 1010.0],
    [1450.0, 1160.0],
    [1100.0, 1090.0],
];

fn tear() -> Taps {
    Taps {
        measure: vec![],
        areas: vec![TEAR.to_vec()],
        ..card()
    }
}

#[test]
fn first_order_uncertainty_is_that_of_taps_repeated_at_random() {
    let eight = Taps {
        more: MORE.to_vec(),
        ..card()
    };
    for (taps, start) in [(card(), 7), (eight, 8)] {
        let u = photo_scale(&taps).unwrap().lengths[0].u;
        let sd = tapped_again(&taps, 10_000, start);
        assert!((u / sd - 1.0).abs() < 0.02, "{u} {sd}");
    }
    let found = Taps {
        corner_sd: Some(0.5),
        ..tear()
    };
    for (taps, start) in [(tear(), 9), (found, 10)] {
        let u = photo_scale(&taps).unwrap().areas[0].u;
        let sd = tapped_again(&taps, 10_000, start);
        assert!((u / sd - 1.0).abs() < 0.03, "area: {u} {sd}");
    }
}

#[test]
fn areas_are_those_of_plain_geometry() {
    let above = |areas: Vec<Vec<Point>>| Taps {
        size: [100.0, 50.0],
        corners: [[100.0, 200.0], [1100.0, 200.0], [1100.0, 700.0], [100.0, 700.0]],
        measure: vec![],
        areas,
        ..card()
    };
    let triangle = vec![[100.0, 200.0], [400.0, 200.0], [100.0, 600.0]];
    // An L of 30 by 40 with 20 by 20 cut out of it, the other way round.
    let ell = [
        [0.0, 0.0],
        [0.0, 40.0],
        [10.0, 40.0],
        [10.0, 20.0],
        [30.0, 20.0],
        [30.0, 0.0],
    ];
    let ell = ell.map(|[x, y]| [100.0 + 10.0 * x, 200.0 + 10.0 * y]).to_vec();
    let found = photo_scale(&above(vec![triangle, ell])).unwrap().areas;
    for (found, want) in found.iter().zip([600.0, 800.0]) {
        assert!(
            (found.value - want).abs() < 1e-8 && found.u > 0.0,
            "{found:?} {want}"
        );
    }
    // Where no tap can be off, no area can.
    let sure = Taps {
        tap_sd: 0.0,
        ..tear()
    };
    assert_eq!(photo_scale(&sure).unwrap().areas[0].u, 0.0);
    let crossing = vec![[100.0, 200.0], [400.0, 600.0], [400.0, 200.0], [100.0, 600.0]];
    for (area, words) in [
        (crossing, "crosses itself"),
        (vec![[1.0, 1.0], [2.0, 2.0]], "three to 20 corners"),
    ] {
        let error = photo_scale(&above(vec![area])).unwrap_err();
        assert!(error.sentence.contains(words), "{}", error.sentence);
        assert_eq!(error.where_.as_deref(), Some("/areas_px/0"));
    }
}

/// The same by numpy and OpenCV of the versions above, once: findHomography of 200 000 (four points) and
/// 100 000 (eight) draws of default_rng(7) and default_rng(8), tap_sd 2 px; sample standard deviations.
#[test]
fn first_order_uncertainty_is_that_of_numpy_and_opencv() {
    let eight = Taps {
        more: MORE.to_vec(),
        ..card()
    };
    for (taps, sd) in [(card(), 0.629381), (eight, 0.436754)] {
        let u = photo_scale(&taps).unwrap().lengths[0].u;
        assert!((u / sd - 1.0).abs() < 0.02, "{u} {sd}");
    }
}

#[test]
fn a_photo_from_straight_above_measures_like_a_ruler() {
    let taps = Taps {
        size: [100.0, 50.0],
        corners: [[100.0, 200.0], [1100.0, 200.0], [1100.0, 700.0], [100.0, 700.0]],
        measure: vec![[[100.0, 200.0], [400.0, 600.0]]],
        ..card()
    };
    let found = photo_scale(&taps).unwrap();
    let length = found.lengths[0];
    assert!((length.value - 50.0).abs() < 1e-9 && found.residual_px < 1e-6);
    assert!((length.high - length.low - 2.0 * 1.96 * length.u).abs() < 1e-12 && length.u > 0.2);
    assert!(found.warnings.is_empty(), "{:?}", found.warnings);
    let sure = photo_scale(&Taps { tap_sd: 0.0, ..taps }).unwrap().lengths[0];
    assert_eq!((sure.u, sure.low), (0.0, sure.value));
}

#[test]
fn degenerate_corners_are_refused_and_say_why() {
    let at = "/reference/corners_px";
    for (corners, word) in [
        (json!([[0, 0], [100, 0], [200, 0], [0, 100]]), "in a line"),
        (json!([[0, 0], [100, 0], [100, 100], [50, 50]]), "in a line"),
        (json!([[0, 0], [100, 100], [100, 0], [0, 100]]), "crossed order"),
        (json!([[0, 0], [0, 0], [100, 100], [0, 100]]), "same point"),
        (json!([[0, 0], [100, 0], [100, 100], [0.2, 0.3]]), "same point"),
        (
            json!([[0, 0], [100, 0], [40, 30], [0, 100]]),
            "inside the other three",
        ),
        (json!([[0, 0], [100, 0], [100, 100]]), "Four corners"),
    ] {
        let error = refused(at, corners);
        assert!(error.sentence.contains(word), "{word}: {}", error.sentence);
        assert_eq!(error.where_.as_deref(), Some(at));
    }
    // Either way round the camera may look at the plane.
    let mut mirrored = card();
    mirrored.corners.reverse();
    assert!(photo_scale(&mirrored).is_ok());
}

#[test]
fn what_is_no_tap_is_refused_with_its_place() {
    for (at, put, place) in [
        ("/reference/size", json!([0, 53.98]), "/reference/size"),
        ("/reference/size", json!([85.6]), "/reference/size"),
        ("/reference/size/0", json!("3 3/8 inches?"), "/reference/size/0"),
        (
            "/reference/corners_px/1",
            json!([1, 2, 3]),
            "/reference/corners_px/1",
        ),
        (
            "/reference/corners_px/1/0",
            json!(1e300),
            "/reference/corners_px/1",
        ),
        ("/more_reference/0/px", json!(null), "/more_reference/0/px"),
        ("/measure_px/0", json!([[1, 1]]), "/measure_px/0"),
        ("/measure_px/0", json!([[1, 1], [1, 1]]), "/measure_px/0"),
        ("/tap_sd_px", json!(-1), "/tap_sd_px"),
        ("/tap_sd_px", json!(null), "/tap_sd_px"),
        ("/lens", json!({"k1": 0.1}), "/lens"),
        ("/areas_px", json!([5]), "/areas_px/0"),
        ("/corner_sd_px", json!(-1), "/corner_sd_px"),
        // The horizon of this card lies up and to the left of the photo.
        ("/measure_px/0/0", json!([-9000, -9000]), "/measure_px/0"),
    ] {
        let error = refused(at, put.clone());
        assert_eq!(error.where_.as_deref(), Some(place), "{put}: {}", error.sentence);
    }
    let nan = |change: fn(&mut Taps)| {
        let mut taps = card();
        change(&mut taps);
        photo_scale(&taps)
    };
    assert!(nan(|t| t.corners[0][0] = f64::NAN).is_err());
    assert!(nan(|t| t.size[1] = f64::NAN).is_err());
    assert!(nan(|t| t.tap_sd = f64::NAN).is_err());
    assert!(nan(|t| t.measure[0][1][1] = f64::INFINITY).is_err());
    assert!(nan(|t| t.more.push(([f64::NAN, 0.0], [1.0, 1.0]))).is_err());
}

#[test]
fn what_is_measured_far_off_or_does_not_fit_is_warned_of() {
    let warned = |change: fn(&mut Taps)| {
        let mut taps = card();
        change(&mut taps);
        photo_scale(&taps).unwrap().warnings.join(" ")
    };
    assert_eq!(warned(|_| ()), "");
    assert!(warned(|t| t.measure[0][1] = [3900.0, 1300.0]).contains("far outside"));
    assert!(warned(|t| t.more.push(([40.0, 20.0], [1320.0, 880.0]))).contains("do not fit"));
    assert!(warned(|t| t.measure[0][1] = [1090.0, 1010.0]).contains("rough guide"));
}

#[test]
fn tape_notation_and_inches_give_the_same_length() {
    let of = |value: &Value| figure(value).unwrap()["lengths"][0]["value"].as_f64().unwrap();
    let mut inch = input();
    inch["unit"] = json!("in");
    inch["reference"]["size"] = json!(["85.6 mm", 53.98 / 25.4]);
    inch["more_reference"] = json!([{"at":["40 mm", 20.0 / 25.4],"px":[1276.9,911.2]}]);
    assert!((of(&inch) * 25.4 - of(&input())).abs() < 1e-4);
}

proptest! {
    #[test]
    fn a_plane_seen_by_any_camera_is_measured_back(tilt in -0.9_f64..0.9, turn in -0.9_f64..0.9, x in -40.0_f64..200.0, y in -40.0_f64..150.0) {
        // A camera with 3000 px of focal length, 600 mm off, looking at the plane at these angles.
        let see = |[u, v]: Point| {
            let (u, v) = (u - 43.0, v - 27.0);
            let (a, c) = (u * turn.cos(), u * turn.sin());
            let (b, c) = (v * tilt.cos() - c * tilt.sin(), v * tilt.sin() + c * tilt.cos());
            [2000.0 + 3000.0 * a / (600.0 + c), 1500.0 + 3000.0 * b / (600.0 + c)]
        };
        let corners = [[0.0, 0.0], [85.6, 0.0], [85.6, 53.98], [0.0, 53.98]].map(see);
        let (p, q) = ([x, y], [10.0, 200.0]);
        let found = photo_scale(&Taps { corners, measure: vec![[see(p), see(q)]], ..card() }).unwrap();
        prop_assert!((found.lengths[0].value - apart(p, q)).abs() < 1e-6, "{found:?}");
    }

    #[test]
    fn no_numbers_make_it_panic(numbers in prop::collection::vec(prop_oneof![any::<f64>(), -50.0_f64..50.0, (0_i32..4).prop_map(f64::from)], 16)) {
        let at = |i: usize| [numbers[i], numbers[i + 1]];
        let taps = Taps { size: at(0), corners: [at(2), at(4), at(6), at(8)], more: vec![(at(10), at(12))], measure: vec![[at(12), at(14)]], areas: vec![vec![at(2), at(10), at(14)]], tap_sd: numbers[0], corner_sd: None };
        if let Ok(found) = photo_scale(&taps) {
            prop_assert!(found.lengths.iter().chain(&found.areas).all(|length| length.value.is_finite() && length.u.is_finite()));
        }
    }
}
