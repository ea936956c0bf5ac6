//! What can go wrong with photos, in sentences for the person who holds the camera.
//! The cause of a disk error is kept apart (`source`), so that the sentence stays plain.

use std::io;

/// One error for the whole crate: `to_string()` is the sentence, [`Error::code`] the stable code.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// Nothing in the file.
    #[error("This file is empty. A JPEG, PNG, WebP or HEIC photo up to 64 MB is accepted.")]
    Empty,
    /// Over [`crate::MAX_BYTES`].
    #[error("This file is too large. A JPEG, PNG, WebP or HEIC photo up to 64 MB is accepted.")]
    TooLarge,
    /// No picture in it.
    #[error("There is no photo in this file. A JPEG, PNG, WebP or HEIC photo up to 64 MB is accepted.")]
    NotAPhoto,
    /// Kept, but no copy for a screen can be made; holds the reason.
    #[error("The photo is kept as it is, but cannot be shown here: {0}.")]
    CannotShow(&'static str),
    /// Not in this folder.
    #[error("This photo is not kept here. Take it again, or fetch it from where it was sent.")]
    Missing,
    /// The stored bytes changed.
    #[error(
        "The stored photo is not the one that was kept: its SHA-256 differs. Keep or send it again from where it is whole."
    )]
    Damaged,
    /// A name that is no SHA-256.
    #[error("A photo is named by its SHA-256: 64 of the characters 0 to 9 and a to f.")]
    BadName,
    /// A part that does not join on; `at` is the byte wanted next.
    #[error("This part of the photo does not join on: the next byte wanted is {at}.")]
    WrongOffset {
        /// Offset in bytes from which to go on.
        at: u64,
    },
    /// Finished too early; `at` of `bytes` are here.
    #[error("The photo is not here whole: {at} of {bytes} bytes have arrived. Send the rest, then finish.")]
    Incomplete {
        /// Bytes here.
        at: u64,
        /// Bytes announced.
        bytes: u64,
    },
    /// Announced before with another length.
    #[error("This photo was announced with {bytes} bytes before. The same photo always has the same length.")]
    OtherLength {
        /// Bytes announced first.
        bytes: u64,
    },
    /// More bytes than announced.
    #[error("This part goes past the {bytes} bytes that were announced. Nothing of it was kept.")]
    TooLong {
        /// Bytes announced.
        bytes: u64,
    },
    /// Its SHA-256 is not the one that its sender named.
    #[error("This part changed on its way. Send it again.")]
    Changed,
    /// All bytes here, but others than announced; the partial is gone.
    #[error(
        "What arrived is not the photo that was announced: its SHA-256 differs. Send it again from the start."
    )]
    OtherPhoto,
    /// No room left.
    #[error(
        "There is no room left for this photo. Free some space, then try again: nothing that was kept is lost."
    )]
    DiskFull(#[source] io::Error),
    /// Cannot be written to.
    #[error("The photo folder cannot be written to. Choose a folder that this program may write in.")]
    ReadOnly(#[source] io::Error),
    /// The place behind the folder does not answer.
    #[error(
        "The place where the photos are kept does not answer just now ({0}). Nothing that was kept is lost; try again in a moment."
    )]
    Away(String),
    /// Any other trouble with the disk.
    #[error("The photo folder cannot be read or written just now. Check the storage, then try again.")]
    Disk(#[source] io::Error),
}

impl Error {
    /// Stable code for programs and logs; never changes once released.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Empty => "photo_empty",
            Self::TooLarge => "photo_too_large",
            Self::NotAPhoto => "photo_none",
            Self::CannotShow(_) => "photo_cannot_show",
            Self::Missing => "photo_missing",
            Self::Damaged => "photo_damaged",
            Self::BadName => "photo_bad_name",
            Self::WrongOffset { .. } => "photo_wrong_offset",
            Self::Incomplete { .. } => "photo_incomplete",
            Self::OtherLength { .. } => "photo_other_length",
            Self::TooLong { .. } => "photo_too_long",
            Self::Changed => "photo_part_changed",
            Self::OtherPhoto => "photo_other",
            Self::DiskFull(_) => "photo_disk_full",
            Self::ReadOnly(_) => "photo_read_only",
            Self::Away(_) => "photo_away",
            Self::Disk(_) => "photo_disk",
        }
    }
}

impl From<io::Error> for Error {
    fn from(cause: io::Error) -> Self {
        match cause.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::DiskFull(cause),
            io::ErrorKind::ReadOnlyFilesystem | io::ErrorKind::PermissionDenied => Self::ReadOnly(cause),
            _ => Self::Disk(cause),
        }
    }
}

impl Error {
    /// For reading one photo: a file that is not there is a missing photo, not a disk in trouble.
    pub(crate) fn reading(cause: io::Error) -> Self {
        match cause.kind() {
            io::ErrorKind::NotFound => Self::Missing,
            _ => cause.into(),
        }
    }
}

/// Result of this crate.
pub type Result<T> = std::result::Result<T, Error>;
