//! Photo scale against truth: 2 000 scenes of our own camera, a pinhole, that looks at something of known size from any
//! side and at a length in its plane. Taps are off at random by as much as the figures are told. The 95 % intervals hold
//! the true length as often as they say; how far lengths are off is printed by distance and angle
//! (`cargo test -p bowseam-figures --test photo_scenes -- --nocapture`).
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout
)]

use bowseam_figures::photo_scale::{Point, Taps, photo_scale};

const SCENES: usize = 2_000;
/// The seed: the same scenes everywhere.
const SEED: u64 = 20_261;
/// A phone's main camera of 12 MP (from memory): pixels of focal length, photo in pixels.
const FOCAL: f64 = 3_000.0;
const PHOTO: Point = [4_000.0, 3_000.0];
/// As `bowseam-app` takes a tap on the 2000 px copy of such a photo.
const TAP_SD: f64 = 3.0;
/// Length and width in mm, nearest and farthest camera in m: a card of size ID-1, a sheet of Letter, the printed target,
/// bow to bow and rail to rail.
const THINGS: [(Point, [f64; 2]); 4] = [
    ([85.60, 53.98], [0.3, 1.0]),
    ([279.4, 215.9], [0.5, 3.0]),
    ([152.4, 152.4], [0.4, 2.0]),
    ([609.6, 2_578.1], [3.5, 8.0]),
];
const FAR: [f64; 5] = [0.6, 1.0, 2.0, 4.0, 8.0];
const STEEP: [f64; 3] = [20.0, 40.0, 60.0];

/// SplitMix64, with normal deviates by Box and Muller.
struct Random(u64);

impl Random {
    fn from(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        low + (high - low) * (((z ^ (z >> 31)) >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    fn tapped(&mut self, [x, y]: Point) -> Point {
        let far = TAP_SD * (-2.0 * self.from(0.0, 1.0).ln()).sqrt();
        let way = self.from(0.0, std::f64::consts::TAU);
        [x + far * way.cos(), y + far * way.sin()]
    }
}

/// A camera that looks at the middle of a thing, mm.
struct Camera {
    middle: Point,
    /// Its place, and its axes right, down and forward, in the frame of the plane.
    at: [f64; 3],
    axes: [[f64; 3]; 3],
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

impl Camera {
    /// `steep` degrees off square on, seen from `round`, held turned by `roll`.
    fn new(middle: Point, away: f64, [steep, round, roll]: [f64; 3]) -> Self {
        let ([ss, cs], [sr, cr], [so, co]) = (sin_cos(steep), sin_cos(round), sin_cos(roll));
        let back = [ss * cr, ss * sr, cs];
        let right = [-sr, cr, 0.0];
        let down = [cs * cr, cs * sr, -ss];
        let turn = |a: [f64; 3], ka: f64, b: [f64; 3], kb: f64| [0, 1, 2].map(|i| a[i] * ka + b[i] * kb);
        let axes = [
            turn(right, co, down, so),
            turn(right, -so, down, co),
            back.map(|c| -c),
        ];
        Self {
            middle,
            at: back.map(|c| c * away),
            axes,
        }
    }

    fn see(&self, [x, y]: Point) -> Point {
        let from = [
            x - self.middle[0] - self.at[0],
            y - self.middle[1] - self.at[1],
            -self.at[2],
        ];
        let [right, down, ahead] = self.axes.map(|axis| dot(axis, from));
        [
            PHOTO[0] / 2.0 + FOCAL * right / ahead,
            PHOTO[1] / 2.0 + FOCAL * down / ahead,
        ]
    }
}

fn sin_cos(degrees: f64) -> [f64; 2] {
    let (sin, cos) = degrees.to_radians().sin_cos();
    [sin, cos]
}

fn in_photo([x, y]: Point) -> bool {
    (0.0..=PHOTO[0]).contains(&x) && (0.0..=PHOTO[1]).contains(&y)
}

/// How a scene came out.
struct Scene {
    away: f64,
    steep: f64,
    off: f64,
    held: bool,
    said_rough: bool,
}

/// A scene, unless something of it lies outside the photo.
fn scene(random: &mut Random) -> Option<Scene> {
    let (size, [near, far]) = THINGS[random.from(0.0, THINGS.len() as f64) as usize];
    let away = random.from(near, far);
    let angles = [
        random.from(0.0, STEEP[2]),
        random.from(0.0, 360.0),
        random.from(-20.0, 20.0),
    ];
    let camera = Camera::new(size.map(|side| side / 2.0), away * 1e3, angles);
    let corners = [[0.0, 0.0], [size[0], 0.0], size, [0.0, size[1]]].map(|corner| camera.see(corner));
    // A tear beside the thing: both ends within half its size around it.
    let mut end = || [0, 1].map(|axis| random.from(-0.5 * size[axis], 1.5 * size[axis]));
    let ends = [end(), end()];
    let truth = (ends[0][0] - ends[1][0]).hypot(ends[0][1] - ends[1][1]);
    let seen = ends.map(|end| camera.see(end));
    if truth < 0.3 * size[0].min(size[1]) || !corners.iter().chain(&seen).all(|px| in_photo(*px)) {
        return None;
    }
    let taps = Taps {
        size,
        corners: corners.map(|px| random.tapped(px)),
        more: Vec::new(),
        measure: vec![seen.map(|px| random.tapped(px))],
        areas: Vec::new(),
        tap_sd: TAP_SD,
        corner_sd: None,
    };
    let found = photo_scale(&taps).unwrap();
    let length = found.lengths[0];
    Some(Scene {
        away,
        steep: angles[0],
        off: (length.value - truth).abs() / truth,
        held: (length.low..=length.high).contains(&truth),
        said_rough: found.warnings.iter().any(|words| words.contains("rough guide")),
    })
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

fn share<'a>(scenes: impl Iterator<Item = &'a Scene>) -> f64 {
    let held: Vec<f64> = scenes.map(|scene| f64::from(u8::from(scene.held))).collect();
    held.iter().sum::<f64>() / held.len() as f64
}

#[test]
fn the_intervals_of_2000_scenes_hold_the_true_length_as_often_as_they_say() {
    let mut random = Random(SEED);
    let scenes: Vec<Scene> = std::iter::repeat_with(|| scene(&mut random))
        .flatten()
        .take(SCENES)
        .collect();
    println!("median error of a length, % (scenes); a tap is off by {TAP_SD} px of 4000, each way");
    println!(
        "{:>12} {:>14} {:>14} {:>14}",
        "camera", "0 to 20°", "20 to 40°", "40 to 60°"
    );
    let mut low = 0.0;
    for high in FAR {
        let mut row = String::new();
        let mut flat = 0.0;
        for steep in STEEP {
            let here =
                |scene: &&Scene| (low..high).contains(&scene.away) && (flat..steep).contains(&scene.steep);
            let off: Vec<f64> = scenes
                .iter()
                .filter(here)
                .map(|scene| 100.0 * scene.off)
                .collect();
            let many = off.len();
            row += &format!(" {:>14}", format!("{:.2} ({many})", median(off)));
            flat = steep;
        }
        println!("{:>12}{row}", format!("{low} to {high} m"));
        low = high;
    }
    let held = share(scenes.iter());
    let rough = scenes.iter().filter(|scene| scene.said_rough).count();
    println!(
        "within their 95 % interval: {:.1} % of {SCENES}; {rough} were called a rough guide",
        100.0 * held
    );
    assert!((0.93..=0.97).contains(&held), "{held}");
    let mut flat = 0.0;
    for steep in STEEP {
        let held = share(scenes.iter().filter(|scene| (flat..steep).contains(&scene.steep)));
        println!("of those at {flat} to {steep}°: {:.1} %", 100.0 * held);
        assert!((0.92..=0.98).contains(&held), "{flat} to {steep}°: {held}");
        flat = steep;
    }
    let all = median(scenes.iter().map(|scene| scene.off).collect());
    assert!(all < 0.015, "half of all lengths are off by more than {all}");
}
