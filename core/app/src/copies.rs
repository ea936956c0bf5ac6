//! The shrunken copies of photos, made beside the asks and one at a time: no screen waits for a photo to be decoded,
//! and three hundred that come at once do not fill the memory.

use bowseam_photos::{Error, Folder};
use std::{
    collections::HashSet,
    sync::{Arc, Mutex, MutexGuard, PoisonError, mpsc},
    thread,
};

/// Makes copies in a thread of its own, which ends with this.
pub struct Copies {
    queue: mpsc::Sender<String>,
    known: Arc<Mutex<Known>>,
}

#[derive(Default)]
struct Known {
    /// Those that wait.
    waiting: HashSet<String>,
    /// Those that were to be shown and could not be.
    not_shown: HashSet<String>,
}

impl Copies {
    /// For a folder of photos.
    pub fn of(folder: Folder) -> Self {
        let (queue, wanted) = mpsc::channel::<String>();
        let known = Arc::<Mutex<Known>>::default();
        let made = Arc::clone(&known);
        thread::spawn(move || {
            for sha256 in wanted {
                let cannot = matches!(
                    folder.make_copies(&sha256),
                    Err(Error::CannotShow(_) | Error::Damaged)
                );
                let mut known = held(&made);
                known.waiting.remove(&sha256);
                if cannot {
                    known.not_shown.insert(sha256);
                }
            }
        });
        Self { queue, known }
    }

    /// Makes the copies of a photo as soon as those asked for before are made; nothing is done where they are there.
    pub fn soon(&self, sha256: &str) {
        if held(&self.known).waiting.insert(sha256.to_owned()) {
            // The thread is gone only when the program ends.
            let _ = self.queue.send(sha256.to_owned());
        }
    }

    /// Remembers that a photo could not be shown, so that screens say so.
    pub fn could_not_show(&self, sha256: &str) {
        held(&self.known).not_shown.insert(sha256.to_owned());
    }

    /// Whether it could not be shown.
    pub fn did_not_show(&self, sha256: &str) -> bool {
        held(&self.known).not_shown.contains(sha256)
    }
}

fn held(known: &Mutex<Known>) -> MutexGuard<'_, Known> {
    known.lock().unwrap_or_else(PoisonError::into_inner)
}
