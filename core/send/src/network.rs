//! The network that is there: whether it costs money, as far as somebody knows, and the choice that stacks of photos wait
//! for one that does not. Entries, and the photos of a *found more*, never wait for it: people stand at an open roof.

use std::fmt;
use std::sync::atomic::{AtomicU8, Ordering};
use std::sync::{Mutex, OnceLock, PoisonError};

use bowseam_jobs::Store;

use crate::Result;

const PHOTOS_WAIT: &str = "photos_wait_for_wifi";

/// Asks the device whether its network costs money; `None` where it does not say.
pub type Watch = Box<dyn Fn() -> Option<bool> + Send + Sync>;

/// Whether stacks of photos wait for a network that costs nothing.
///
/// # Errors
/// One of the store.
pub fn photos_wait(store: &Store) -> Result<bool> {
    Ok(store.setting(PHOTOS_WAIT)?.unwrap_or_default())
}

/// Makes that choice.
///
/// # Errors
/// One of the store.
pub fn set_photos_wait(store: &Store, wait: bool) -> Result<()> {
    Ok(store.set_setting(PHOTOS_WAIT, &wait)?)
}

/// A photo on its way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnItsWay {
    /// SHA-256 of its original.
    pub sha256: String,
    /// Bytes that the office has.
    pub at: u64,
}

/// What is known of the network, and of what is on it.
#[derive(Default)]
pub(crate) struct Network {
    watch: OnceLock<Watch>,
    /// As last told: 1 free, 2 costs money; 0 nothing was told.
    told: AtomicU8,
    photo: Mutex<Option<OnItsWay>>,
}

impl fmt::Debug for Network {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Network")
            .field("metered", &self.metered())
            .finish()
    }
}

impl Network {
    pub fn watch(&self, watch: Watch) {
        // The first one is the window's, which lives as long as the program.
        let _first_counts = self.watch.set(watch);
    }

    pub fn tell(&self, metered: bool) {
        self.told.store(if metered { 2 } else { 1 }, Ordering::Relaxed);
    }

    pub fn metered(&self) -> Option<bool> {
        let watched = self.watch.get().and_then(|watch| watch());
        watched.or(match self.told.load(Ordering::Relaxed) {
            0 => None,
            told => Some(told == 2),
        })
    }

    pub fn photo(&self) -> Option<OnItsWay> {
        self.photo.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    pub fn set_photo(&self, photo: Option<OnItsWay>) {
        *self.photo.lock().unwrap_or_else(PoisonError::into_inner) = photo;
    }
}
