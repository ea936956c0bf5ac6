//! What people drew over a photo, as a drawing that lies over its copy in the packet: each line twice, white
//! below blue, so that it shows on any photo.

use crate::answer::Photo;
use bowseam_jobs::on_photo::{Px, Shape, ShapeKind};
use bowseam_packet::{Anchor, Drawing, Ink, Item};

/// Width of a line and size of a letter as shares of the photo's longer side.
const LINE: f64 = 0.006;
const LETTER: f64 = 0.045;

/// The drawing over one photo; nothing where nothing is drawn, or its size is not known.
pub fn drawing(photo: &Photo) -> Option<Drawing> {
    let [width, height] = photo.size?.map(f64::from);
    if photo.shapes.is_empty() {
        return None;
    }
    let longer = width.max(height);
    let mut items = Vec::new();
    for one in &photo.shapes {
        let lines = lines(&one.shape, longer * LINE);
        for (ink, thick) in [(Ink::White, 2.2), (Ink::Blue, 1.0)] {
            let drawn = |(points, closed): &(Vec<[f64; 2]>, bool)| Item::Line {
                points: points.clone(),
                closed: *closed,
                ink,
                thick: longer * LINE * thick,
            };
            items.extend(lines.iter().map(drawn));
        }
        items.extend(words(&one.shape, longer * LETTER));
    }
    Some(Drawing {
        frame: [0.0, 0.0, width, height],
        // What the photo shows is said beside it, and the words of the drawing stand in it.
        alt: String::new(),
        to_scale: false,
        items,
    })
}

fn pixels([x, y]: Px) -> [f64; 2] {
    [f64::from(x) / 100.0, f64::from(y) / 100.0]
}

/// The lines of a shape, and whether they close; `thick` is their width in pixels.
fn lines(shape: &Shape, thick: f64) -> Vec<(Vec<[f64; 2]>, bool)> {
    let [[x1, y1], [x2, y2]] = shape.at.map(pixels);
    let along = (x2 - x1).hypot(y2 - y1).max(1.0);
    let [ux, uy] = [(x2 - x1) / along * thick, (y2 - y1) / along * thick];
    let whole = (vec![[x1, y1], [x2, y2]], false);
    match shape.kind {
        ShapeKind::Text => Vec::new(),
        ShapeKind::Box => vec![(vec![[x1, y1], [x2, y1], [x2, y2], [x1, y2]], true)],
        ShapeKind::Line => {
            // A short stroke across each end, as on a drawing.
            let [ax, ay] = [uy * 3.0, -ux * 3.0];
            let end = |x: f64, y: f64| (vec![[x - ax, y - ay], [x + ax, y + ay]], false);
            vec![whole, end(x1, y1), end(x2, y2)]
        }
        ShapeKind::Arrow => {
            let [ux, uy] = [ux * 5.0, uy * 5.0];
            let barb = |side: f64| [x2 - ux - side * uy * 0.6, y2 - uy + side * ux * 0.6];
            vec![whole, (vec![barb(1.0), [x2, y2], barb(-1.0)], false)]
        }
    }
}

/// Words at the beginning of an arrow or box and at words' own place, of a line in its middle.
fn words(shape: &Shape, size: f64) -> Option<Item> {
    let [[x1, y1], [x2, y2]] = shape.at.map(pixels);
    let [x, y] = match shape.kind {
        ShapeKind::Line => [(x1 + x2) / 2.0, (y1 + y2) / 2.0],
        _ => [x1, y1],
    };
    (!shape.text.is_empty()).then(|| Item::Words {
        at: [x, y - size * 0.3],
        anchor: Anchor::Start,
        size,
        ink: Ink::Blue,
        edge: true,
        text: shape.text.clone(),
    })
}
