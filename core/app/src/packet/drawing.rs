//! The marks on the unfolded body, to scale, as an SVG that prints. A drawing unit is a millimetre of the unit.

use crate::{answer::MarkRow, now::Now};
use bowseam_figures::{
    body::{FoldOut, fold_out},
    measure::Length,
};
use std::fmt::Write;

/// Room beside the body for the words of the marks.
const ROOM: i64 = 3000;
/// Height of the words, and the least distance between two of them.
const WORDS: i64 = 300;
/// Room above and below.
const EDGE: i64 = 250;

/// The sheet of one side: outside, or inside. Each mark carries its number in the list.
pub fn sheet(now: &Now, marks: &[MarkRow], inside: bool) -> String {
    let body = fold_out(&now.plan, inside);
    let numbered = marks
        .iter()
        .enumerate()
        .map(|(i, mark)| (i.saturating_add(1), mark));
    let mut mine: Vec<(usize, &MarkRow)> = numbered.filter(|(_, mark)| mark.inside == inside).collect();
    mine.sort_by_key(|(_, mark)| mark.rect.get(1).copied());
    let [width, height] = body.size.map(mm);
    let mut svg = String::new();
    let across = width.saturating_add(ROOM.saturating_mul(2));
    let down = height.saturating_add(EDGE.saturating_mul(2));
    let said = if inside { "Inside" } else { "Outside" };
    // Writing into a String cannot fail.
    let _ = write!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"-{ROOM} -{EDGE} {across} {down}\" width=\"640\" \
         role=\"img\" aria-label=\"{said} of the body unfolded, nose up, with the marks to scale\">\
         <defs><pattern id=\"hatch-{inside}\" width=\"60\" height=\"60\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"60\" stroke=\"#0b3d91\" \
         stroke-width=\"18\"/></pattern></defs>"
    );
    lines(&mut svg, &body);
    // Words stand clear of each other: each at its mark's height, or below the one before.
    let mut free = [0_i64; 2];
    for (number, mark) in mine {
        one(&mut svg, number, mark, width, &mut free);
    }
    svg.push_str("</svg>");
    svg
}

fn lines(svg: &mut String, body: &FoldOut) {
    for line in &body.lines {
        let [x1, y1, x2, y2] = line.line.map(mm);
        let (colour, thick) = match line.what.as_str() {
            "rail" | "door" => ("#10151c", 12),
            "roof_seam" => ("#0b3d91", 20),
            _ => ("#9aa4b1", 6),
        };
        let _ = write!(
            svg,
            "<line x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\" stroke=\"{colour}\" stroke-width=\"{thick}\"/>"
        );
    }
    for face in &body.faces {
        let [x, y, width, height] = face.rect.map(mm);
        let _ = write!(
            svg,
            "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" fill=\"none\" stroke=\"#10151c\" stroke-width=\"14\"/>"
        );
    }
}

/// The mark's true outline, hatched, with its number and kind in the nearer margin at the end of a leader.
fn one(svg: &mut String, number: usize, mark: &MarkRow, body_width: i64, free: &mut [i64; 2]) {
    let [x, y, width, height] = mark.rect.map(mm);
    let (width, height) = (width.max(1), height.max(1));
    let middle = y.saturating_add(height.checked_div(2).unwrap_or_default());
    let left = x.saturating_mul(2).saturating_add(width) < body_width;
    let (from, to, text, anchor) = if left {
        (x, -60, -100, "end")
    } else {
        (
            x.saturating_add(width),
            body_width.saturating_add(60),
            body_width.saturating_add(100),
            "start",
        )
    };
    let [at_left, at_right] = free;
    let free = if left { at_left } else { at_right };
    let at = middle.max(*free);
    *free = at.saturating_add(WORDS);
    let (base, inside, kind) = (at.saturating_add(WORDS / 3), mark.inside, mark.kind.word());
    let _ = write!(
        svg,
        "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" fill=\"url(#hatch-{inside})\" \
         stroke=\"#0b3d91\" stroke-width=\"16\"/>\
         <line x1=\"{from}\" y1=\"{middle}\" x2=\"{to}\" y2=\"{at}\" stroke=\"#0b3d91\" stroke-width=\"10\"/>\
         <text x=\"{text}\" y=\"{base}\" font-size=\"{WORDS}\" font-family=\"sans-serif\" fill=\"#10151c\" \
         text-anchor=\"{anchor}\">{number} {kind}</text>"
    );
}

fn mm(length: Length) -> i64 {
    length.nm().checked_div(1_000_000).unwrap_or_default()
}
