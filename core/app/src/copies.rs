//! The shrunken copies of photos, and how after photos lie over their before photos, made beside the asks and one at a
//! time: no screen waits for a photo to be decoded, and three hundred that come at once do not fill the memory.

use bowseam_photos::{Aligned, Copier, Error, Folder};
use std::{
    collections::HashSet,
    sync::{Arc, Mutex, MutexGuard, PoisonError, mpsc},
    thread,
    time::Duration,
};

/// A screen waits so long for two photos to be matched; their copies may have to be made first, which takes longer on a
/// phone.
const AT_ONCE: Duration = Duration::from_millis(12);

/// Makes copies in a thread of its own, which ends with this.
pub struct Copies {
    folder: Folder,
    queue: mpsc::Sender<Wanted>,
    known: Arc<Mutex<Known>>,
}

/// What is to be made.
enum Wanted {
    /// The copies of a photo.
    Copies(String),
    /// How the second lies over the first.
    Pair([String; 2]),
}

#[derive(Default)]
struct Known {
    /// Those that wait.
    waiting: HashSet<String>,
    /// Those that were to be shown and could not be.
    not_shown: HashSet<String>,
    /// Pairs that are being matched for a screen.
    matched: HashSet<[String; 2]>,
}

impl Copies {
    /// For a folder of photos.
    pub fn of(folder: Folder) -> Self {
        let (queue, wanted) = mpsc::channel::<Wanted>();
        let known = Arc::<Mutex<Known>>::default();
        let made = Arc::clone(&known);
        let of_asks = folder.clone();
        thread::spawn(move || {
            let mut copier = Copier::default();
            while let Ok(wanted) = wanted.try_recv().or_else(|_| {
                // Nothing waits: the memory goes back.
                copier = Copier::default();
                wanted.recv()
            }) {
                let sha256 = match wanted {
                    Wanted::Copies(sha256) => sha256,
                    Wanted::Pair([before, after]) => {
                        // A photo that cannot be shown lies over none; who asks for it is told then.
                        let _ = folder.align(&before, &after);
                        continue;
                    }
                };
                let cannot = matches!(
                    folder.make_copies_in(&mut copier, &sha256),
                    Err(Error::CannotShow(_) | Error::Damaged)
                );
                let mut known = held(&made);
                known.waiting.remove(&sha256);
                if cannot {
                    known.not_shown.insert(sha256);
                }
            }
        });
        Self {
            folder: of_asks,
            queue,
            known,
        }
    }

    /// Makes the copies of a photo as soon as those asked for before are made; nothing is done where they are there.
    pub fn soon(&self, sha256: &str) {
        if held(&self.known).waiting.insert(sha256.to_owned()) {
            // The thread is gone only when the program ends.
            let _ = self.queue.send(Wanted::Copies(sha256.to_owned()));
        }
    }

    /// Works out how an after photo lies over its before photo, after what was asked for before.
    pub fn pair_soon(&self, before: &str, after: &str) {
        let _ = self.queue.send(Wanted::Pair([before, after].map(str::to_owned)));
    }

    /// How an after photo lies over its before photo, for a screen that shows them: worked out beside the queue, which
    /// may be long. None: it takes longer than a screen waits, so it has to ask again.
    ///
    /// # Errors
    /// As of [`Folder::align`].
    pub fn pair_now(&self, before: &str, after: &str) -> Result<Option<Aligned>, Error> {
        if let Some(known) = self.folder.aligned(before, after) {
            return Ok(Some(known));
        }
        let pair = [before, after].map(str::to_owned);
        if !held(&self.known).matched.insert(pair.clone()) {
            return Ok(None);
        }
        let (folder, known) = (self.folder.clone(), Arc::clone(&self.known));
        let (tell, told) = mpsc::channel();
        thread::spawn(move || {
            let [before, after] = &pair;
            // Nobody listens where the screen did not wait; it is kept for when it asks again.
            let _ = tell.send(folder.align(before, after));
            held(&known).matched.remove(&pair);
        });
        told.recv_timeout(AT_ONCE).ok().transpose()
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
