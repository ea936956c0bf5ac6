//! How one sheet is cut, as pieces joined to larger and larger rectangles.

use super::fill::Shape;

/// How pieces are joined; the cuts are read off it.
#[derive(Debug, Clone, PartialEq)]
pub enum Tree {
    /// A shape, by its place.
    Piece(usize),
    /// Two parts beside each other along x or y.
    Join(bool, Box<Tree>, Box<Tree>),
}

impl Tree {
    pub fn joined(along_x: bool, first: Option<Self>, second: Option<Self>) -> Option<Self> {
        match (first, second) {
            (Some(a), Some(b)) => Some(Self::Join(along_x, Box::new(a), Box::new(b))),
            (one, other) => one.or(other),
        }
    }

    /// Length along x and y, kerfs included.
    pub fn size(&self, shapes: &[Shape]) -> (f64, f64) {
        match self {
            Self::Piece(place) => shapes.get(*place).map_or((0.0, 0.0), |s| (s.length, s.width)),
            Self::Join(along_x, a, b) => {
                let ((al, aw), (bl, bw)) = (a.size(shapes), b.size(shapes));
                if *along_x {
                    (al + bl, aw.max(bw))
                } else {
                    (al.max(bl), aw + bw)
                }
            }
        }
    }

    /// How many of each kind.
    pub fn count(&self, shapes: &[Shape], counts: &mut [u32]) {
        match self {
            Self::Piece(place) => {
                let kind = shapes.get(*place).and_then(|s| counts.get_mut(s.kind));
                kind.into_iter().for_each(|n| *n = n.saturating_add(1));
            }
            Self::Join(_, a, b) => {
                a.count(shapes, counts);
                b.count(shapes, counts);
            }
        }
    }

    /// The tree with at most `open` of each kind.
    pub fn pruned(&self, shapes: &[Shape], open: &mut [u32]) -> Option<Self> {
        match self {
            Self::Piece(place) => {
                let open = shapes
                    .get(*place)
                    .and_then(|s| open.get_mut(s.kind))
                    .filter(|n| **n > 0)?;
                *open = open.saturating_sub(1);
                Some(self.clone())
            }
            Self::Join(along_x, a, b) => {
                Self::joined(*along_x, a.pruned(shapes, open), b.pruned(shapes, open))
            }
        }
    }

    /// What lies side by side in one direction.
    pub fn parts(self, along_x: bool, list: &mut Vec<Self>) {
        match self {
            Self::Join(own, a, b) if own == along_x => {
                a.parts(along_x, list);
                b.parts(along_x, list);
            }
            other => list.push(other),
        }
    }

    /// The parts side by side, each cut through the middle one.
    pub fn halved(along_x: bool, mut parts: Vec<Self>) -> Option<Self> {
        if parts.len() < 2 {
            return parts.pop();
        }
        let behind = parts.split_off(parts.len() >> 1);
        Self::joined(
            along_x,
            Self::halved(along_x, parts),
            Self::halved(along_x, behind),
        )
    }

    pub fn depth(&self) -> Depth {
        match self {
            Self::Piece(_) => Depth::default(),
            Self::Join(along_x, a, b) => a.depth().under(b.depth(), *along_x),
        }
    }
}

/// How often the direction of cutting turns, and the first direction.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub struct Depth {
    pub stages: u32,
    pub along_x: bool,
}

impl Depth {
    pub fn under(self, other: Self, along_x: bool) -> Self {
        let below = |d: Self| {
            if d.stages > 0 && d.along_x == along_x {
                d.stages
            } else {
                d.stages.saturating_add(1)
            }
        };
        Self {
            stages: below(self).max(below(other)),
            along_x,
        }
    }
}
