//! What can go wrong, in sentences for a person.

use std::{io, path::PathBuf};

/// An error of the job store. Its text is for people; [`Error::code`] is for programs; the cause is kept apart.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// A second program on the same folder.
    #[error("The jobs in {0} are open in another program. Close it there, or choose another folder.")]
    InUse(PathBuf),
    /// The folder cannot be written.
    #[error(
        "The jobs in {folder} cannot be saved: the folder is read-only or cannot be made. Choose a folder that can be written."
    )]
    ReadOnly {
        /// The folder.
        folder: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// The disk can be read, not written.
    #[error(
        "Nothing can be saved: the place where the jobs are kept is read-only. What was saved before is safe."
    )]
    WriteProtected(#[source] rusqlite::Error),
    /// The disk is full.
    #[error(
        "The change was not saved: this device is full. Free some space (photos that the office has may go), then enter it again. What was saved before is safe."
    )]
    Full(#[source] rusqlite::Error),
    /// The file is damaged.
    #[error(
        "The file with the jobs is damaged. Close the program and open it again: the file is set aside, and what can be read is taken over."
    )]
    Damaged(#[source] rusqlite::Error),
    /// The file was written by a newer program.
    #[error("The jobs were written by a newer Bowseam. Install the newer one; nothing was changed.")]
    Newer,
    /// The log that this store follows cannot be reached.
    #[error(
        "The office's database does not answer just now ({0}). Nothing that was answered is lost; try again in a moment."
    )]
    Away(String),
    /// Something given to the store that it does not take.
    #[error("{0}")]
    Refused(String),
    /// Anything else from the database.
    #[error("The jobs could not be read or saved ({0}). What was saved before is safe.")]
    Database(#[source] rusqlite::Error),
    /// An entry that is stored cannot be read as one.
    #[error("An entry could not be read or written ({0}).")]
    Entry(#[from] serde_json::Error),
    /// Anything else from the folder.
    #[error("The folder with the jobs could not be read or written ({0}).")]
    Folder(#[from] io::Error),
}

impl Error {
    /// A stable code for programs.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            Error::InUse(_) => "in_use",
            Error::ReadOnly { .. } | Error::WriteProtected(_) => "read_only",
            Error::Full(_) => "full",
            Error::Damaged(_) => "damaged",
            Error::Newer => "newer",
            Error::Away(_) => "away",
            Error::Refused(_) => "refused",
            Error::Database(_) => "database",
            Error::Entry(_) => "entry",
            Error::Folder(_) => "folder",
        }
    }
}

impl From<rusqlite::Error> for Error {
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode;
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => Error::Full(error),
            Some(ErrorCode::ReadOnly) => Error::WriteProtected(error),
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => Error::Damaged(error),
            _ => Error::Database(error),
        }
    }
}

impl From<rusqlite_migration::Error> for Error {
    fn from(error: rusqlite_migration::Error) -> Self {
        use rusqlite_migration::{Error as Migration, MigrationDefinitionError::DatabaseTooFarAhead};
        match error {
            Migration::RusqliteError { err, .. } => err.into(),
            Migration::MigrationDefinition(DatabaseTooFarAhead) => Error::Newer,
            other => Error::Refused(format!("The jobs could not be brought up to date ({other}).")),
        }
    }
}
