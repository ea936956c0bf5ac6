//! Photos that several programs share: one folder each is then only what was fetched last, and what counts is behind it.

use crate::error::Result;
use std::fmt::Debug;

/// A place for photos behind a [`crate::Folder`]. Names are checked before they come here, and bytes are photos that fit
/// their name. Everything may be repeated.
pub trait Behind: Debug + Send + Sync {
    /// Length of a photo that is kept; `None` if it is not.
    ///
    /// # Errors
    /// `Away`.
    fn length(&self, sha: &str) -> Result<Option<u64>>;

    /// The bytes of a photo that is kept.
    ///
    /// # Errors
    /// `Missing`, `Away`.
    fn fetch(&self, sha: &str) -> Result<Vec<u8>>;

    /// Keeps a photo; it lasts when this returns.
    ///
    /// # Errors
    /// `Away`.
    fn keep(&self, sha: &str, bytes: &[u8]) -> Result<()>;

    /// All photos that are kept, by name, in order.
    ///
    /// # Errors
    /// `Away`.
    fn list(&self) -> Result<Vec<String>>;

    /// Announces a photo that is not kept; answers from which byte to send. What had arrived of it before counts.
    ///
    /// # Errors
    /// `OtherLength`, `Away`.
    fn begin(&self, sha: &str, bytes: u64) -> Result<u64>;

    /// Bytes here and bytes announced of a photo that is still arriving.
    ///
    /// # Errors
    /// `Missing`, `Away`.
    fn arrived(&self, sha: &str) -> Result<(u64, u64)>;

    /// Adds a part; answers the next offset. The part lasts when this returns.
    ///
    /// # Errors
    /// `WrongOffset`, `TooLong`, `Missing`, `Away`.
    fn append(&self, sha: &str, offset: u64, part: &[u8]) -> Result<u64>;

    /// All that has arrived.
    ///
    /// # Errors
    /// `Missing`, `Away`.
    fn whole(&self, sha: &str) -> Result<Vec<u8>>;

    /// Forgets what has arrived.
    ///
    /// # Errors
    /// `Away`.
    fn cancel(&self, sha: &str) -> Result<()>;
}
