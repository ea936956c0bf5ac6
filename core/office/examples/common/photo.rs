//! A photo of the unit as the phone that took it keeps it.

use bowseam_jobs::entry::{PhotoChange, PhotoOf, PhotoWhen, What};

/// One from before the work.
pub fn added(sha256: String, name: String, bytes: u64) -> What {
    let change = PhotoChange::Added {
        of: PhotoOf::Unit,
        when: PhotoWhen::Before,
        name,
        bytes,
        taken: None,
        clock: None,
        placed: false,
    };
    What::Photo { sha256, change }
}
