//! What people drew over a photo, as a drawing that lies over its copy in the packet: each line twice, white
//! below blue, so that it shows on any photo.

use super::page::escape;
use crate::answer::Photo;
use bowseam_jobs::on_photo::{Px, Shape, ShapeKind};

/// Width of a line and size of a letter as shares of the photo's longer side.
const LINE: f64 = 0.006;
const LETTER: f64 = 0.045;

/// The drawing over one photo; nothing where nothing is drawn, or its size is not known.
pub fn drawing(photo: &Photo) -> Option<String> {
    let [width, height] = photo.size?;
    if photo.shapes.is_empty() {
        return None;
    }
    let longer = f64::from(width.max(height));
    let mut svg = format!("<svg class=\"over\" viewBox=\"0 0 {width} {height}\">");
    for one in &photo.shapes {
        let d = path(&one.shape, longer * LINE);
        for (stroke, thick) in [("#fff", 2.2), ("#0b3d91", 1.0)] {
            svg.push_str(&format!(
                "<path d=\"{d}\" fill=\"none\" stroke=\"{stroke}\" stroke-width=\"{:.1}\"/>",
                longer * LINE * thick
            ));
        }
        svg.push_str(&words(&one.shape, longer * LETTER));
    }
    svg.push_str("</svg>");
    Some(svg)
}

fn pixels([x, y]: Px) -> [f64; 2] {
    [f64::from(x) / 100.0, f64::from(y) / 100.0]
}

/// The lines of a shape; `thick` is their width in pixels.
fn path(shape: &Shape, thick: f64) -> String {
    let [[x1, y1], [x2, y2]] = shape.at.map(pixels);
    match shape.kind {
        ShapeKind::Text => String::new(),
        ShapeKind::Box => format!("M{x1:.1} {y1:.1}H{x2:.1}V{y2:.1}H{x1:.1}Z"),
        ShapeKind::Line => {
            // A short stroke across each end, as on a drawing.
            let along = (x2 - x1).hypot(y2 - y1).max(1.0);
            let [ax, ay] = [(y2 - y1) / along * thick * 3.0, (x1 - x2) / along * thick * 3.0];
            let end = |x: f64, y: f64| format!("M{:.1} {:.1}L{:.1} {:.1}", x - ax, y - ay, x + ax, y + ay);
            format!("M{x1:.1} {y1:.1}L{x2:.1} {y2:.1}{}{}", end(x1, y1), end(x2, y2))
        }
        ShapeKind::Arrow => {
            let along = (x2 - x1).hypot(y2 - y1).max(1.0);
            let [ux, uy] = [(x2 - x1) / along * thick * 5.0, (y2 - y1) / along * thick * 5.0];
            let barb = |side: f64| {
                format!(
                    "M{x2:.1} {y2:.1}L{:.1} {:.1}",
                    x2 - ux - side * uy * 0.6,
                    y2 - uy + side * ux * 0.6
                )
            };
            format!("M{x1:.1} {y1:.1}L{x2:.1} {y2:.1}{}{}", barb(1.0), barb(-1.0))
        }
    }
}

/// Words at the beginning of an arrow or box and at words' own place, of a line in its middle.
fn words(shape: &Shape, size: f64) -> String {
    if shape.text.is_empty() {
        return String::new();
    }
    let [[x1, y1], [x2, y2]] = shape.at.map(pixels);
    let [x, y] = match shape.kind {
        ShapeKind::Line => [(x1 + x2) / 2.0, (y1 + y2) / 2.0],
        _ => [x1, y1],
    };
    format!(
        "<text x=\"{x:.1}\" y=\"{:.1}\" font-size=\"{size:.1}\" stroke-width=\"{:.1}\">{}</text>",
        y - size * 0.3,
        size * 0.25,
        escape(&shape.text)
    )
}
