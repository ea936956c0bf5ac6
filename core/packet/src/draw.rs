//! Drawings on paper: from their own measure to points, at a round scale where they are to scale.

use crate::letters::{Letters, Weight};
use crate::{Anchor, Drawing, Ink, Item, Photo};

/// Points in a millimetre of paper: an inch has 72 points and 25.4 mm.
const POINTS_IN_MM: f32 = 72.0 / 25.4;
/// Scales that a scale rule has, and some between.
const SCALES: [u16; 12] = [5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 125, 150];

/// Something drawn, in points.
#[derive(Debug, Clone)]
pub enum Draw {
    /// Clean words; `edge` is the width of a white line round the letters.
    Words {
        at: [f32; 2],
        weight: Weight,
        size: f32,
        ink: Ink,
        edge: f32,
        text: String,
    },
    /// A line through points.
    Line {
        points: Vec<[f32; 2]>,
        closed: bool,
        ink: Ink,
        thick: f32,
    },
    /// A hatched rectangle: left, top, width, height.
    Hatch([f32; 4]),
    /// A photo, with what is drawn over it, as large as fits into a room: left, top, width, height.
    Photo { photo: Photo, room: [f32; 4] },
}

/// From the measure of a drawing to the numbers of paper.
#[allow(
    clippy::cast_possible_truncation,
    reason = "a drawing's numbers are far from the ends of f32"
)]
pub const fn points(number: f64) -> f32 {
    number as f32
}

/// Points a unit of the drawing, so that it fits; with what is said of its scale.
pub fn scale(drawing: &Drawing, [wide, high]: [f32; 2]) -> (f32, Option<String>) {
    let [_, _, width, height] = drawing.frame.map(points);
    let fits = (wide / width.max(1.0)).min(high / height.max(1.0));
    if !drawing.to_scale {
        return (fits, None);
    }
    let of = |scale: u16| POINTS_IN_MM / f32::from(scale);
    match SCALES.into_iter().find(|scale| of(*scale) <= fits) {
        Some(scale) => (
            of(scale),
            Some(format!("Scale 1 : {scale} when printed at full size (100 %).")),
        ),
        None => (fits, None),
    }
}

/// The drawing with its frame's corner at `[left, top]`.
pub fn ops(drawing: &Drawing, [left, top]: [f32; 2], scale: f32, letters: &Letters) -> Vec<Draw> {
    let [from_x, from_y, _, _] = drawing.frame.map(points);
    let place = |[x, y]: [f64; 2]| {
        [
            left + (points(x) - from_x) * scale,
            top + (points(y) - from_y) * scale,
        ]
    };
    let one = |item: &Item| match item {
        Item::Line {
            points: at,
            closed,
            ink,
            thick,
        } => Draw::Line {
            points: at.iter().copied().map(place).collect(),
            closed: *closed,
            ink: *ink,
            thick: (points(*thick) * scale).max(0.2),
        },
        Item::Hatch([x, y, width, height]) => {
            let [x, y] = place([*x, *y]);
            Draw::Hatch([x, y, points(*width) * scale, points(*height) * scale])
        }
        Item::Words {
            at,
            anchor,
            size,
            ink,
            edge,
            text,
        } => {
            let (size, text) = (points(*size) * scale, letters.clean(text));
            let weight = if *edge { Weight::Bold } else { Weight::Regular };
            let [x, y] = place(*at);
            let back = match anchor {
                Anchor::Start => 0.0,
                Anchor::End => letters.width(weight, size, &text),
            };
            Draw::Words {
                at: [x - back, y],
                weight,
                size,
                ink: *ink,
                edge: if *edge { size * 0.25 } else { 0.0 },
                text,
            }
        }
    };
    drawing.items.iter().map(one).collect()
}
