//! What makes a measurement in a photo poor, in words: a reference that is small in the photo, a steep look at
//! it, points where the lens bends. The interval of a length knows of taps alone; these it does not know of.

use crate::photo_scale::{Homography, Point, Scale, Taps};
use crate::photo_scale_solve::image;

/// A reference whose shorter side is less than this many standard deviations of a tap is small.
const SMALL: f64 = 40.0;
/// How much shorter than square a side looks from which the look at it is steep: 60 degrees off.
const STEEP: f64 = 0.5;
/// Share of a photo at each edge where lenses bend most; from memory.
const EDGE: f64 = 0.05;
/// Shortest focal length, as on 35 mm film, of a phone's main camera; what is shorter bends straight lines. From memory.
const WIDE_LENS: u32 = 22;
/// Share of a photo at each edge that such a lens bends visibly; from memory.
const WIDE_EDGE: f64 = 0.2;

/// What to better before the next photo; empty if nothing is seen. `photo` is its size in pixels, `lens` the focal
/// length as on 35 mm film in millimetres, where the photo says it.
#[must_use]
pub fn poor(taps: &Taps, scale: &Scale, photo: Point, lens: Option<u32>) -> Vec<String> {
    let mut said = scale.warnings.clone();
    let side = shorter_side(&taps.corners);
    if side < SMALL * taps.corner_sd.unwrap_or(taps.tap_sd) {
        said.push(format!(
            "The thing of known size is small in the photo: {side:.0} px at its shorter side, so one pixel is {:.1} % of it. Go nearer, or use something larger.",
            100.0 / side
        ));
    }
    if let Some(ratio) = foreshortened(&scale.homography, &taps.corners).filter(|ratio| *ratio < STEEP) {
        said.push(format!(
            "The photo looks at it steeply, about {:.0}° from square on. Take one from straight before it.",
            ratio.clamp(0.0, 1.0).acos().to_degrees()
        ));
    }
    let points = || {
        taps.corners
            .iter()
            .chain(taps.measure.iter().flatten())
            .chain(taps.areas.iter().flatten())
    };
    match lens.filter(|lens| *lens < WIDE_LENS) {
        Some(lens) if points().any(|point| at_edge(*point, photo, WIDE_EDGE)) => said.push(format!(
            "It was taken with a wide lens ({lens} mm as on 35 mm film), and a point lies outside its middle, where it bends straight lines. Go farther off and take it with the main lens."
        )),
        _ if points().any(|point| at_edge(*point, photo, EDGE)) => said.push(
            "A point lies at the edge of the photo, where the lens bends straight lines: keep what is measured in the middle."
                .to_owned(),
        ),
        _ => {}
    }
    said
}

fn shorter_side([a, b, c, d]: &[Point; 4]) -> f64 {
    let apart = |p: &Point, q: &Point| (p[0] - q[0]).hypot(p[1] - q[1]);
    let [along, across] = [[(a, b), (c, d)], [(b, c), (d, a)]]
        .map(|sides| sides.iter().map(|(p, q)| apart(p, q)).sum::<f64>() / 2.0);
    along.min(across)
}

/// Least over most pixels a length at the middle of the reference, over all directions: 1 looked at square on,
/// the cosine of the angle for a camera that is far off. None where the map has no slope there.
fn foreshortened(homography: &Homography, corners: &[Point; 4]) -> Option<f64> {
    const STEP: f64 = 0.5;
    let middle = [0, 1].map(|axis| corners.iter().filter_map(|corner| corner.get(axis)).sum::<f64>() / 4.0);
    let at = |x: f64, y: f64| image(homography, [middle[0] + x, middle[1] + y]).map(|(point, _)| point);
    let slope = |less: Point, more: Point| [more[0] - less[0], more[1] - less[1]];
    let [a, c] = slope(at(-STEP, 0.0)?, at(STEP, 0.0)?);
    let [b, d] = slope(at(0.0, -STEP)?, at(0.0, STEP)?);
    // Singular values of [[a, b], [c, d]] by the half sum and half difference of its two rotations.
    let [sum, difference] = [(a + d).hypot(c - b), (a - d).hypot(c + b)];
    let most = sum + difference;
    (most > 0.0 && most.is_finite()).then(|| (sum - difference).abs() / most)
}

fn at_edge([x, y]: Point, [width, height]: Point, edge: f64) -> bool {
    let near = |at: f64, size: f64| at < edge * size || at > (1.0 - edge) * size;
    near(x, width) || near(y, height)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests {
    use super::*;
    use crate::photo_scale::photo_scale;

    const PHOTO: Point = [4000.0, 3000.0];

    /// A card of 856 by 540 looked at `angle` degrees from square on, turned about its own upright middle line,
    /// by a pinhole camera of 3000 px; `apart` is how far away the camera is, in the card's unit.
    fn seen(angle: f64, apart: f64) -> Taps {
        let (sin, cos) = angle.to_radians().sin_cos();
        let project = |x: f64, y: f64| {
            let depth = apart + x * sin;
            [2000.0 + 3000.0 * x * cos / depth, 1500.0 + 3000.0 * y / depth]
        };
        let corners =
            [(-428.0, -270.0), (428.0, -270.0), (428.0, 270.0), (-428.0, 270.0)].map(|(x, y)| project(x, y));
        Taps {
            size: [856.0, 540.0],
            corners,
            more: Vec::new(),
            measure: vec![[project(-300.0, 100.0), project(300.0, 100.0)]],
            areas: Vec::new(),
            tap_sd: 2.0,
            corner_sd: None,
        }
    }

    fn said(taps: &Taps) -> String {
        poor(taps, &photo_scale(taps).unwrap(), PHOTO, None).join(" ")
    }

    #[test]
    fn a_good_photo_has_nothing_said_about_it() {
        assert_eq!(said(&seen(20.0, 5000.0)), "");
    }

    #[test]
    fn the_angle_from_square_on_comes_out_of_four_corners() {
        for angle in [0.0_f64, 30.0, 55.0, 70.0] {
            let taps = seen(angle, 50_000.0);
            let ratio = foreshortened(&photo_scale(&taps).unwrap().homography, &taps.corners).unwrap();
            let found = ratio.clamp(0.0, 1.0).acos().to_degrees();
            assert!((found - angle).abs() < 1.5, "{angle}: {found}");
        }
        let steep = said(&seen(70.0, 5000.0));
        assert!(
            steep.contains("steeply, about 7") && steep.contains("° from square on"),
            "{steep}"
        );
    }

    #[test]
    fn a_small_reference_and_a_point_at_the_edge_are_said() {
        let small = said(&seen(0.0, 25_000.0));
        assert!(
            small.contains("65 px at its shorter side, so one pixel is 1.5 % of it"),
            "{small}"
        );
        let mut edge = seen(0.0, 5000.0);
        edge.measure[0][1] = [3990.0, 1500.0];
        assert!(said(&edge).contains("where the lens bends"), "{}", said(&edge));
    }

    #[test]
    fn a_wide_lens_is_said_where_it_bends_and_not_in_its_middle() {
        let with = |lens, x| {
            let mut taps = seen(0.0, 5000.0);
            taps.measure[0][1] = [x, 1500.0];
            poor(&taps, &photo_scale(&taps).unwrap(), PHOTO, lens).join(" ")
        };
        assert_eq!(with(Some(13), 2600.0), "");
        assert_eq!(with(Some(26), 3300.0), with(None, 3300.0));
        assert!(with(Some(13), 3300.0).contains("wide lens (13 mm as on 35 mm film)"));
    }
}
