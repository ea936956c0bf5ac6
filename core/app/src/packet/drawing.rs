//! The marks on the unfolded body, to scale. The drawing's measure is the millimetre of the unit.

use crate::{answer::MarkRow, now::Now};
use bowseam_figures::{
    body::{FoldOut, fold_out},
    measure::Length,
};
use bowseam_packet::{Anchor, Drawing, Ink, Item};

/// Room beside the body for the words of the marks.
const ROOM: f64 = 3000.0;
/// Height of the words, and the least distance between two of them.
const WORDS: f64 = 300.0;
/// Room above and below.
const EDGE: f64 = 250.0;
/// Between the body and the end of a leader, and from there to its words.
const LEADER: [f64; 2] = [60.0, 100.0];

/// The sheet of one side: outside, or inside. Each mark carries its number in the list.
pub fn sheet(now: &Now, marks: &[MarkRow], inside: bool) -> Drawing {
    let body = fold_out(&now.plan, inside);
    let mut mine: Vec<(usize, &MarkRow)> = (1_usize..)
        .zip(marks)
        .filter(|(_, mark)| mark.inside == inside)
        .collect();
    mine.sort_by_key(|(_, mark)| mark.rect.get(1).copied());
    let [width, height] = body.size.map(mm);
    let mut items = lines(&body);
    // Words stand clear of each other: each at its mark's height, or below the one before.
    let mut free = [0.0, 0.0];
    for (number, mark) in &mine {
        items.extend(one(*number, mark, width, &mut free));
    }
    let said = if inside { "Inside" } else { "Outside" };
    let named: Vec<String> = mine
        .iter()
        .map(|(number, mark)| format!("{number} {}", mark.kind.word()))
        .collect();
    Drawing {
        frame: [-ROOM, -EDGE, width + 2.0 * ROOM, height + 2.0 * EDGE],
        alt: format!(
            "{said} of the body unfolded, nose up, with the marks to scale: {}; each is described in the table below.",
            if named.is_empty() {
                "none".to_owned()
            } else {
                named.join(", ")
            }
        ),
        to_scale: true,
        items,
    }
}

fn lines(body: &FoldOut) -> Vec<Item> {
    let line = |what: &str, line: [Length; 4]| {
        let [x1, y1, x2, y2] = line.map(mm);
        let (ink, thick) = match what {
            "rail" | "door" => (Ink::Dark, 12.0),
            "roof_seam" => (Ink::Blue, 20.0),
            _ => (Ink::Grey, 6.0),
        };
        Item::Line {
            points: vec![[x1, y1], [x2, y2]],
            closed: false,
            ink,
            thick,
        }
    };
    let face = |rect: [Length; 4]| Item::Line {
        points: corners(rect.map(mm)),
        closed: true,
        ink: Ink::Dark,
        thick: 14.0,
    };
    let lines = body.lines.iter().map(|of| line(of.what.as_str(), of.line));
    lines.chain(body.faces.iter().map(|of| face(of.rect))).collect()
}

/// The mark's true outline, hatched, with its number and kind in the nearer margin at the end of a leader.
fn one(number: usize, mark: &MarkRow, body_width: f64, [free_left, free_right]: &mut [f64; 2]) -> [Item; 4] {
    let [x, y, width, height] = mark.rect.map(mm);
    let [width, height] = [width.max(1.0), height.max(1.0)];
    let middle = y + height / 2.0;
    let [end, beyond] = LEADER;
    let left = x * 2.0 + width < body_width;
    let (from, to, text, anchor, free) = if left {
        (x, -end, -beyond, Anchor::End, free_left)
    } else {
        (
            x + width,
            body_width + end,
            body_width + beyond,
            Anchor::Start,
            free_right,
        )
    };
    let at = middle.max(*free);
    *free = at + WORDS;
    [
        Item::Hatch([x, y, width, height]),
        Item::Line {
            points: corners([x, y, width, height]),
            closed: true,
            ink: Ink::Blue,
            thick: 16.0,
        },
        Item::Line {
            points: vec![[from, middle], [to, at]],
            closed: false,
            ink: Ink::Blue,
            thick: 10.0,
        },
        Item::Words {
            at: [text, at + WORDS / 3.0],
            anchor,
            size: WORDS,
            ink: Ink::Dark,
            edge: false,
            text: format!("{number} {}", mark.kind.word()),
        },
    ]
}

fn corners([x, y, width, height]: [f64; 4]) -> Vec<[f64; 2]> {
    vec![[x, y], [x + width, y], [x + width, y + height], [x, y + height]]
}

/// Whole millimetres: finer than any line drawn here.
#[allow(clippy::cast_precision_loss, reason = "a body is shorter than 2^52 mm")]
fn mm(length: Length) -> f64 {
    length.nm().checked_div(1_000_000).unwrap_or_default() as f64
}
