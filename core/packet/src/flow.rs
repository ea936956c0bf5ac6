//! Blocks become pieces: things of a height that are not broken across pages, drawn from their own left top corner,
//! in points. Each piece says which node of the reading order its content belongs to.

use crate::draw::{self, Draw};
use crate::letters::{Letters, Weight};
use crate::table::columns;
use crate::{Block, Cell, Drawing, Ink, Level, Photo, Style, Table};
use krilla::tagging::{ListNumbering, TableHeaderScope, Tag, TagKind};
use std::num::NonZeroU16;
use std::rc::Rc;

/// Type and line of words, of tables, of small print.
pub const WORDS: [f32; 2] = [9.5, 13.0];
const TABLE: [f32; 2] = [8.5, 11.5];
pub const SMALL: [f32; 2] = [7.0, 9.5];
/// Between columns, and between photos beside each other.
const GAP: f32 = 10.0;
/// Most lines of a row that is not broken across pages.
const ROW: usize = 40;
/// Height of a photo as a share of its width's room.
const UPRIGHT: f32 = 0.75;

/// Something drawn, and the node of the reading order it is read at; without one it is only to be seen.
#[derive(Debug, Clone)]
pub struct Op {
    pub node: Option<usize>,
    pub draw: Draw,
}

/// What is not broken across pages.
#[derive(Debug, Clone, Default)]
pub struct Piece {
    pub height: f32,
    /// Room above it, but not at the top of a page.
    pub before: f32,
    pub ops: Vec<Op>,
    /// Stays on one page with what comes next.
    pub keep: bool,
    /// The heads of its table, drawn again above it when it begins a page.
    pub heads: Option<Rc<Piece>>,
    /// It has its line in the list of contents.
    pub outline: Option<(Level, String)>,
}

/// A node of the reading order.
pub struct Node {
    pub kind: TagKind,
    pub parent: Option<usize>,
}

/// Pieces in the making.
pub struct Flow<'a> {
    letters: &'a Letters,
    /// Room of a page.
    width: f32,
    depth: f32,
    pub nodes: Vec<Node>,
    pub pieces: Vec<Piece>,
}

impl<'a> Flow<'a> {
    /// For pages with this room.
    pub const fn new(letters: &'a Letters, width: f32, depth: f32) -> Self {
        Self {
            letters,
            width,
            depth,
            nodes: Vec::new(),
            pieces: Vec::new(),
        }
    }

    /// Adds a block.
    pub fn block(&mut self, block: &Block) {
        match block {
            Block::Title(text) => self.heading(None, text),
            Block::Heading(level, text) => self.heading(Some(*level), text),
            Block::Text(Style::Banner, text) => self.framed(text, true),
            Block::Text(Style::Caution, text) => self.framed(text, false),
            Block::Text(style, text) => {
                let node = self.node(Tag::P, None);
                let (type_, ink) = match style {
                    Style::Hash => (SMALL, Ink::Quiet),
                    _ => (WORDS, Ink::Dark),
                };
                self.words(node, 0.0, type_, ink, text, 3.0);
            }
            Block::List(items) => self.list(items),
            Block::Table(table) => self.table(table),
            Block::Drawing(drawing) => self.drawing(drawing),
            Block::Photos(photos) => self.photos(photos),
        }
    }

    fn node(&mut self, kind: impl Into<TagKind>, parent: Option<usize>) -> usize {
        self.nodes.push(Node {
            kind: kind.into(),
            parent,
        });
        self.nodes.len().saturating_sub(1)
    }

    fn heading(&mut self, level: Option<Level>, text: &str) {
        let ([size, line], ink, before, number) = match level {
            None => ([19.0, 25.0], Ink::Dark, 0.0, NonZeroU16::MIN),
            Some(Level::Part) => ([13.0, 18.0], Ink::Blue, 16.0, NonZeroU16::MIN.saturating_add(1)),
            Some(Level::Thing) => ([10.0, 14.0], Ink::Dark, 9.0, NonZeroU16::MIN.saturating_add(2)),
        };
        let node = self.node(Tag::Hn(number, Some(text.to_owned())), None);
        let lines = self.letters.lines(Weight::Bold, size, text, self.width);
        let mut piece = Piece {
            before,
            keep: true,
            outline: level.map(|level| (level, self.letters.clean(text))),
            ..Piece::default()
        };
        for text in lines {
            let at = [0.0, piece.height + size];
            piece
                .ops
                .push(op(Some(node), words(at, Weight::Bold, size, ink, text)));
            piece.height += line;
        }
        if level == Some(Level::Part) {
            let y = piece.height;
            piece
                .ops
                .push(op(None, rule([0.0, y], [self.width, y], Ink::Blue, 0.8)));
            piece.height += 4.0;
        }
        self.pieces.push(piece);
    }

    /// Words of one node, line by line.
    fn words(&mut self, node: usize, indent: f32, [size, line]: [f32; 2], ink: Ink, text: &str, after: f32) {
        let lines = self
            .letters
            .lines(Weight::Regular, size, text, self.width - indent);
        let last = lines.len().saturating_sub(1);
        for (n, text) in lines.into_iter().enumerate() {
            self.pieces.push(Piece {
                height: if n == last { line + after } else { line },
                ops: vec![op(
                    Some(node),
                    words([indent, size], Weight::Regular, size, ink, text),
                )],
                keep: n == 0 && last > 0,
                ..Piece::default()
            });
        }
    }

    /// A banner in its frame, or a caution with its bar.
    fn framed(&mut self, text: &str, frame: bool) {
        let node = self.node(Tag::P, None);
        let [size, line] = WORDS;
        let (weight, inset) = if frame {
            (Weight::Bold, 8.0)
        } else {
            (Weight::Regular, 10.0)
        };
        let lines = self.letters.lines(weight, size, text, self.width - 2.0 * inset);
        let last = lines.len().saturating_sub(1);
        for (n, text) in lines.into_iter().enumerate() {
            let (above, below) = if frame { (5.0, 5.0) } else { (1.0, 2.0) };
            let top = if n == 0 { above } else { 0.0 };
            let height = top + line + if n == last { below } else { 0.0 };
            let mut ops = vec![op(
                Some(node),
                words([inset, top + size], weight, size, Ink::Dark, text),
            )];
            let side = |x: f32, ink, thick| op(None, rule([x, 0.0], [x, height], ink, thick));
            if frame {
                ops.extend([side(0.0, Ink::Blue, 1.4), side(self.width, Ink::Blue, 1.4)]);
                let across = |y: f32| op(None, rule([0.0, y], [self.width, y], Ink::Blue, 1.4));
                ops.extend((n == 0).then(|| across(0.0)));
                ops.extend((n == last).then(|| across(height)));
            } else {
                ops.push(side(1.5, Ink::Dark, 3.0));
            }
            self.pieces.push(Piece {
                height: height + if n == last { 3.0 } else { 0.0 },
                before: if n == 0 { 5.0 } else { 0.0 },
                ops,
                keep: n == 0 && last > 0,
                ..Piece::default()
            });
        }
    }

    fn list(&mut self, items: &[String]) {
        if items.is_empty() {
            return;
        }
        let list = self.node(Tag::L(ListNumbering::Disc), None);
        for item in items {
            let one = self.node(Tag::LI, Some(list));
            let (label, body) = (self.node(Tag::Lbl, Some(one)), self.node(Tag::LBody, Some(one)));
            let first = self.pieces.len();
            self.words(body, 12.0, WORDS, Ink::Dark, item, 1.0);
            if let Some(piece) = self.pieces.get_mut(first) {
                let dot = words(
                    [2.0, WORDS[0]],
                    Weight::Regular,
                    WORDS[0],
                    Ink::Dark,
                    "•".to_owned(),
                );
                piece.ops.insert(0, op(Some(label), dot));
            }
        }
    }

    fn table(&mut self, table: &Table) {
        if table.rows.is_empty() {
            return;
        }
        let node = self.node(Tag::Table, None);
        let widths = self.widths(table);
        let heads: Vec<Cell> = table.heads.iter().cloned().map(Cell::Text).collect();
        let mut rows = self.row(Some(node), &heads, &widths, Weight::Bold);
        let Some(mut head) = rows.pop() else { return };
        head.keep = true;
        head.before = 4.0;
        let mut again = head.clone();
        for op in &mut again.ops {
            op.node = None;
        }
        let again = Rc::new(again);
        self.pieces.push(head);
        for row in &table.rows {
            for mut piece in self.row(Some(node), row, &widths, Weight::Regular) {
                piece.heads = Some(Rc::clone(&again));
                self.pieces.push(piece);
            }
        }
    }

    fn widths(&self, table: &Table) -> Vec<f32> {
        let column = |(n, head): (usize, &String)| {
            let head = self.letters.clean(head);
            let [size, _] = TABLE;
            let mut wish = self.letters.width(Weight::Bold, size, &head);
            let mut least = self.letters.widest_word(Weight::Bold, size, &head);
            for cell in table.rows.iter().filter_map(|row| row.get(n)) {
                let ([size, _], _) = look(cell);
                let text = self.letters.clean(cell.text());
                for line in text.split('\n') {
                    wish = wish.max(self.letters.width(Weight::Regular, size, line));
                }
                least = least.max(self.letters.widest_word(Weight::Regular, size, &text));
            }
            // A long word, a hash, is broken before it takes the page.
            [wish + GAP, least.min(self.width / 3.0) + GAP]
        };
        let found: Vec<[f32; 2]> = table.heads.iter().enumerate().map(column).collect();
        let (wish, least): (Vec<f32>, Vec<f32>) =
            found.into_iter().map(|[wish, least]| (wish, least)).unzip();
        columns(&wish, &least, self.width)
    }

    /// The pieces of a row: one, or several if it is very high.
    fn row(&mut self, table: Option<usize>, cells: &[Cell], widths: &[f32], weight: Weight) -> Vec<Piece> {
        let row = self.node(Tag::TR, table);
        let mut made = Vec::new();
        let mut x = 0.0;
        for (cell, width) in cells.iter().zip(widths) {
            let kind: TagKind = match weight {
                Weight::Bold => Tag::TH(TableHeaderScope::Column).into(),
                Weight::Regular => Tag::TD.into(),
            };
            let node = self.node(kind, Some(row));
            let ([size, _], ink) = look(cell);
            let lines = self.letters.lines(weight, size, cell.text(), width - GAP);
            let number = matches!(cell, Cell::Number(_));
            made.push((node, x, *width, size, ink, number, lines));
            x += width;
        }
        let [_, step] = TABLE;
        let most = made.iter().map(|cell| cell.6.len()).max().unwrap_or_default();
        let mut pieces = Vec::new();
        let mut from = 0_usize;
        while from < most {
            let to = from.saturating_add(ROW).min(most);
            let mut piece = Piece::default();
            for (node, x, width, size, ink, number, lines) in &made {
                for (y, text) in (0_u16..).zip(lines.iter().skip(from).take(ROW)) {
                    let wide = self.letters.width(weight, *size, text.trim_end());
                    let left = if *number { x + width - GAP - wide } else { *x };
                    let at = [left, 2.5 + f32::from(y) * step + TABLE[0]];
                    piece
                        .ops
                        .push(op(Some(*node), words(at, weight, *size, *ink, text.clone())));
                }
            }
            piece.height = 5.0 + f32::from(u16::try_from(to.saturating_sub(from)).unwrap_or_default()) * step;
            let (ink, thick) = if weight == Weight::Bold {
                (Ink::Dark, 0.8)
            } else {
                (Ink::Grey, 0.4)
            };
            piece.ops.push(op(
                None,
                rule([0.0, piece.height], [self.width, piece.height], ink, thick),
            ));
            pieces.push(piece);
            from = to;
        }
        pieces
    }

    fn drawing(&mut self, drawing: &Drawing) {
        let node = self.node(Tag::Figure(Some(drawing.alt.clone())), None);
        let room = [self.width, self.depth - 24.0];
        let (scale, said) = draw::scale(drawing, room);
        let [_, _, width, height] = drawing.frame.map(|side| draw::points(side) * scale);
        let left = (self.width - width) / 2.0;
        let ops = draw::ops(drawing, [left, 0.0], scale, self.letters);
        let drawn = ops.into_iter().map(|draw| op(Some(node), draw));
        self.pieces.push(Piece {
            height: height + 4.0,
            before: 4.0,
            ops: drawn.collect(),
            keep: said.is_some(),
            ..Piece::default()
        });
        if let Some(said) = said {
            let node = self.node(Tag::P, None);
            self.words(node, 0.0, SMALL, Ink::Quiet, &said, 4.0);
        }
    }

    fn photos(&mut self, photos: &[Photo]) {
        let width = (self.width - GAP) / 2.0;
        let high = width * UPRIGHT;
        for pair in photos.chunks(2) {
            let mut piece = Piece {
                before: 6.0,
                ..Piece::default()
            };
            for (photo, x) in pair.iter().zip([0.0, width + GAP]) {
                let node = self.node(Tag::Figure(Some(photo.alt.clone())), None);
                let shown = Draw::Photo {
                    photo: photo.clone(),
                    room: [x, 0.0, width, high],
                };
                piece.ops.push(op(Some(node), shown));
                let node = self.node(Tag::P, None);
                let mut y = high + 2.0;
                for line in &photo.lines {
                    let [size, step] = if line.len() == 64 { [5.9, 9.0] } else { SMALL };
                    for text in self.letters.lines(Weight::Regular, size, line, width) {
                        let at = [x, y + size];
                        piece
                            .ops
                            .push(op(Some(node), words(at, Weight::Regular, size, Ink::Quiet, text)));
                        y += step;
                    }
                }
                piece.height = piece.height.max(y + 6.0);
            }
            self.pieces.push(piece);
        }
    }
}

const fn look(cell: &Cell) -> ([f32; 2], Ink) {
    match cell {
        Cell::Small(_) => (SMALL, Ink::Quiet),
        Cell::Text(_) | Cell::Number(_) => (TABLE, Ink::Dark),
    }
}

const fn op(node: Option<usize>, draw: Draw) -> Op {
    Op { node, draw }
}

const fn words(at: [f32; 2], weight: Weight, size: f32, ink: Ink, text: String) -> Draw {
    Draw::Words {
        at,
        weight,
        size,
        ink,
        edge: 0.0,
        text,
    }
}

fn rule(from: [f32; 2], to: [f32; 2], ink: Ink, thick: f32) -> Draw {
    Draw::Line {
        points: vec![from, to],
        closed: false,
        ink,
        thick,
    }
}
