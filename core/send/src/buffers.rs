//! Buffers that are used again: to have some megabytes given anew by the system for each photo costs as much as to copy them.

use std::sync::{Mutex, PoisonError};

/// So many are kept: as many as photos go side by side.
const KEPT: usize = 4;

/// Buffers that nobody uses now.
#[derive(Debug, Default)]
pub struct Buffers(Mutex<Vec<Vec<u8>>>);

impl Buffers {
    /// An empty buffer.
    pub fn take(&self) -> Vec<u8> {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.pop().unwrap_or_default()
    }

    /// Takes one back, whatever is in it.
    pub fn give(&self, mut buffer: Vec<u8>) {
        buffer.clear();
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.len() < KEPT {
            kept.push(buffer);
        }
    }
}
