//! The least time from each task's start to each other's, kept closed: one new “not before” is carried to all
//! pairs at once, so that a contradiction shows as soon as it arises.

use crate::search::at;

/// Least differences between starts; minus infinity where there is none.
#[derive(Clone)]
pub struct Net {
    many: usize,
    apart: Vec<f64>,
}

impl Net {
    pub fn new(many: usize) -> Self {
        let mut apart = vec![f64::NEG_INFINITY; many.saturating_mul(many)];
        for (task, row) in apart.chunks_exact_mut(many.max(1)).enumerate() {
            if let Some(own) = row.get_mut(task) {
                *own = 0.0;
            }
        }
        Self { many, apart }
    }

    /// Least time from the start of `a` to the start of `b`.
    pub fn least(&self, a: usize, b: usize) -> f64 {
        at(&self.apart, a.saturating_mul(self.many).saturating_add(b))
    }

    /// `b` starts at least `gap` after `a` starts; false if that cannot be.
    pub fn post(&mut self, a: usize, b: usize, gap: f64) -> bool {
        if self.least(a, b) >= gap {
            return true;
        }
        if self.least(b, a) + gap > 0.0 {
            return false;
        }
        let from = b.saturating_mul(self.many);
        let beyond: Vec<f64> = self.apart.iter().skip(from).take(self.many).copied().collect();
        for row in self.apart.chunks_exact_mut(self.many.max(1)) {
            let to_a = at(row, a);
            if to_a == f64::NEG_INFINITY {
                continue;
            }
            for (apart, rest) in row.iter_mut().zip(&beyond) {
                *apart = apart.max(to_a + gap + rest);
            }
        }
        true
    }
}
