//! The shrunken copies of photos, and how after photos lie over their before photos, made beside the asks and one at a
//! time: no screen waits for a photo to be decoded, and three hundred that come at once do not fill the memory.

use bowseam_photos::{Aligned, Copier, Error, Folder};
use std::{
    collections::{HashSet, VecDeque},
    sync::{
        Arc, Mutex, MutexGuard, PoisonError,
        mpsc::{self, Receiver, RecvTimeoutError},
    },
    thread,
    time::{Duration, Instant},
};

/// A screen waits so long for two photos to be matched; their copies may have to be made first, which takes longer on a
/// phone.
const AT_ONCE: Duration = Duration::from_millis(12);
/// Photos that came are shrunk once none came for so long: to decode one takes as much of the processor as to receive ten.
const CALM: Duration = Duration::from_millis(250);
/// But the first of them waits no longer than this.
const AT_MOST: Duration = Duration::from_secs(5);

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
    /// Those of one that came just now, for which no screen waits.
    Came(String),
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
            let mut queue = Queue::new(wanted);
            while let Some(wanted) = queue.next(|| copier = Copier::default()) {
                let (sha256, asked) = match wanted {
                    Wanted::Copies(sha256) => (sha256, true),
                    Wanted::Came(sha256) => (sha256, false),
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
                if asked {
                    known.waiting.remove(&sha256);
                }
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

    /// Makes the copies of a photo that came from a phone, once no more come for a while.
    pub fn came(&self, sha256: &str) {
        let _ = self.queue.send(Wanted::Came(sha256.to_owned()));
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

/// What is to be made, in its order: what a screen waits for first, photos that came once it is calm.
struct Queue {
    wanted: Receiver<Wanted>,
    came: VecDeque<String>,
    /// When the first of those came.
    since: Instant,
    calm: bool,
}

impl Queue {
    fn new(wanted: Receiver<Wanted>) -> Self {
        Self {
            wanted,
            came: VecDeque::new(),
            since: Instant::now(),
            calm: false,
        }
    }

    /// The next one, however long it takes; `idle` is called when nothing waits. None: nobody asks any more.
    fn next(&mut self, mut idle: impl FnMut()) -> Option<Wanted> {
        loop {
            let next = if self.came.is_empty() {
                self.wanted
                    .try_recv()
                    .or_else(|_| {
                        idle();
                        self.wanted.recv()
                    })
                    .map_err(|_| RecvTimeoutError::Disconnected)
            } else if self.calm || self.since.elapsed() >= AT_MOST {
                self.wanted.recv_timeout(Duration::ZERO)
            } else {
                self.wanted.recv_timeout(CALM)
            };
            match next {
                Ok(Wanted::Came(sha256)) => {
                    if self.came.is_empty() {
                        self.since = Instant::now();
                    }
                    self.calm = false;
                    self.came.push_back(sha256);
                }
                Ok(other) => return Some(other),
                Err(RecvTimeoutError::Timeout) => {
                    self.calm = true;
                    return self.came.pop_front().map(Wanted::Came);
                }
                Err(RecvTimeoutError::Disconnected) => return None,
            }
        }
    }
}

fn held(known: &Mutex<Known>) -> MutexGuard<'_, Known> {
    known.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn what_a_screen_waits_for_goes_before_photos_that_came_and_those_wait_until_it_is_calm() {
        let (queue, wanted) = mpsc::channel();
        let mut order = Queue::new(wanted);
        let came = |sha: &str| queue.send(Wanted::Came(sha.into())).unwrap();
        came("a");
        came("b");
        queue.send(Wanted::Copies("shown".into())).unwrap();
        let begun = Instant::now();
        assert!(matches!(order.next(|| {}), Some(Wanted::Copies(sha)) if sha == "shown"));
        assert!(begun.elapsed() < CALM);
        assert!(matches!(order.next(|| {}), Some(Wanted::Came(sha)) if sha == "a"));
        assert!(begun.elapsed() >= CALM);
        let calm = Instant::now();
        assert!(matches!(order.next(|| {}), Some(Wanted::Came(sha)) if sha == "b"));
        assert!(calm.elapsed() < CALM, "it is calm already");
        drop(queue);
        assert!(order.next(|| {}).is_none());
    }
}
