//! What can go wrong in sending, in sentences for the person with the phone. No network is not an error: it is
//! [`crate::Heard::Nothing`], a normal state.

/// One error for the whole crate: `to_string()` is the sentence, [`Error::code`] the stable code.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The address cannot be one of an office.
    #[error(
        "This is no address of an office: {0}. It starts with https://, as in https://office.example/office; http:// is taken only for an office on this same machine (127.0.0.1 or localhost)."
    )]
    Address(String),
    /// The office's code was not taken.
    #[error("{0}")]
    Code(String),
    /// Too many wrong codes.
    #[error(
        "Too many codes that are not right were tried. Wait ten minutes, then ask the office for a new code."
    )]
    TooManyCodes,
    /// Nothing answered while enrolling.
    #[error(
        "The office did not answer. Check the address and that there is a network, then try again. Nothing was changed."
    )]
    NoAnswer(String),
    /// The office answered with a sentence of its own.
    #[error("{0}")]
    Said(String),
    /// A card cannot be taken or written.
    #[error("The card was not taken: {0}.")]
    Card(String),
    /// A photo could not be read here.
    #[error(transparent)]
    Photo(#[from] bowseam_photos::Error),
    /// The local store could not be read or written.
    #[error(transparent)]
    Store(#[from] bowseam_jobs::Error),
    /// A message that could not be written or read as JSON.
    #[error("A message could not be put into words that the other side reads.")]
    Json(#[from] serde_json::Error),
}

impl Error {
    /// Stable code for programs and logs; never changes once released.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Address(_) => "send_address",
            Self::Code(_) => "send_code",
            Self::TooManyCodes => "send_too_many_codes",
            Self::NoAnswer(_) => "send_no_answer",
            Self::Said(_) => "send_office_said",
            Self::Card(_) => "send_card",
            Self::Photo(_) => "send_photo",
            Self::Store(_) => "send_store",
            Self::Json(_) => "send_json",
        }
    }
}

/// Result of this crate.
pub type Result<T> = std::result::Result<T, Error>;
