//! From how pieces are joined to what is cut: every cut runs edge to edge, `at` is where its first edge lies on
//! the whole sheet, and what begins behind it begins one kerf later.

use super::fill::{Shape, Tree};
use serde_json::{Value, json};

/// A part of the sheet; lengths in nanometres, without kerf.
#[derive(Debug, Clone, Copy)]
pub struct Area {
    pub x: f64,
    pub y: f64,
    pub length: f64,
    pub width: f64,
}

impl Area {
    /// The two parts beside a cut.
    fn cut(self, along_x: bool, size: f64, kerf: f64) -> (Self, Self) {
        let (mut first, mut second) = (self, self);
        if along_x {
            first.length = size;
            second.x += size + kerf;
            second.length = (self.length - size - kerf).max(0.0);
        } else {
            first.width = size;
            second.y += size + kerf;
            second.width = (self.width - size - kerf).max(0.0);
        }
        (first, second)
    }
}

/// What one sheet becomes.
pub struct Cutter<'a> {
    pub shapes: &'a [Shape],
    pub names: &'a [String],
    pub kerf: f64,
    /// Nanometres as a number of the input's unit.
    pub say: &'a dyn Fn(f64) -> Value,
    pub placed: Vec<Value>,
    pub left: Vec<Value>,
}

impl Cutter<'_> {
    /// The cuts of an area.
    pub fn tree(&mut self, tree: Option<&Tree>, area: Area) -> Value {
        match tree {
            None => {
                if area.length > 0.0 && area.width > 0.0 {
                    let say = self.say;
                    self.left.push(json!({"x": say(area.x), "y": say(area.y), "length": say(area.length), "width": say(area.width)}));
                }
                json!({"left": true})
            }
            Some(Tree::Piece(place)) => self.piece(*place, area),
            Some(Tree::Join(along_x, a, b)) => {
                let (length, width) = a.size(self.shapes);
                let joined = if *along_x { length } else { width };
                let size = joined - self.kerf;
                let (first, second) = area.cut(*along_x, size, self.kerf);
                self.cut(*along_x, area, size, |own| {
                    (own.tree(Some(a), first), own.tree(Some(b), second))
                })
            }
        }
    }

    fn cut(
        &mut self,
        along_x: bool,
        area: Area,
        size: f64,
        parts: impl FnOnce(&mut Self) -> (Value, Value),
    ) -> Value {
        let (first, second) = parts(self);
        let (word, from) = if along_x { ("x", area.x) } else { ("y", area.y) };
        json!({"cut": word, "at": (self.say)(from + size), "first": first, "second": second})
    }

    /// A piece, with trimming cuts where its area is larger.
    fn piece(&mut self, place: usize, area: Area) -> Value {
        let Some(shape) = self.shapes.get(place) else {
            return Value::Null;
        };
        let (length, width) = (shape.length - self.kerf, shape.width - self.kerf);
        for (along_x, has, wants) in [(true, area.length, length), (false, area.width, width)] {
            if has > wants + 0.5 {
                let (first, second) = area.cut(along_x, wants, self.kerf);
                return self.cut(along_x, area, wants, |own| {
                    (own.piece(place, first), own.tree(None, second))
                });
            }
        }
        let name = self.names.get(shape.kind).map(String::as_str);
        let say = self.say;
        self.placed.push(json!({"piece": name, "x": say(area.x), "y": say(area.y), "length": say(length), "width": say(width), "turned": shape.turned}));
        json!({"piece": name})
    }
}
