//! Marks made for tests.

use crate::mark::{Age, DamageKind, Mark, Part, Place, Surface};
use crate::measure::Length;

/// New damage at a place in whole inches: from, to, low, high.
pub(crate) fn mark(id: &str, surface: Surface, part: Part, kind: DamageKind, inches: [i64; 4]) -> Mark {
    let [from, to, low, high] = inches.map(Length::inches);
    Mark {
        id: id.to_owned(),
        place: Place {
            surface,
            from,
            to,
            low,
            high,
        },
        kind,
        part,
        age: Age::New,
        depth: None,
    }
}
