//! What can go wrong with the shared places, in sentences for whoever runs the office.

/// An error of the shared places.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// An address that cannot be used, and what is accepted.
    #[error("{0}")]
    Address(String),
    /// The database or the object store does not answer, or refuses.
    #[error("The office's database or photo store does not answer: {0}. Nothing that was answered is lost.")]
    Away(String),
    /// The tables are those of a newer program.
    #[error(
        "The office's database was written by a newer Bowseam. Install the newer one; nothing was changed."
    )]
    Newer,
    /// A backup that cannot be made or restored.
    #[error("{0}")]
    Backup(String),
    /// The store of this receiver.
    #[error(transparent)]
    Jobs(#[from] bowseam_jobs::Error),
    /// The photos of this receiver.
    #[error(transparent)]
    Photos(#[from] bowseam_photos::Error),
}

impl Error {
    /// Stable code for programs.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            Self::Address(_) => "shared_address",
            Self::Away(_) => "shared_away",
            Self::Newer => "shared_newer",
            Self::Backup(_) => "backup",
            Self::Jobs(error) => error.code(),
            Self::Photos(error) => error.code(),
        }
    }
}

#[cfg(feature = "several")]
impl From<postgres::Error> for Error {
    fn from(error: postgres::Error) -> Self {
        Self::Away(said(&error))
    }
}

/// What the database said, without what was sent to it.
#[cfg(feature = "several")]
pub(crate) fn said(error: &postgres::Error) -> String {
    use std::error::Error as _;
    match (error.as_db_error(), error.source()) {
        (Some(db), _) => db.message().to_owned(),
        (None, Some(source)) => format!("{error}: {source}"),
        (None, None) => error.to_string(),
    }
}

/// Result of this crate.
pub type Result<T> = std::result::Result<T, Error>;
