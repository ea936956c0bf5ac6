//! Refusals: how every crate's error becomes the one sentence beside the field that a screen shows.

use crate::answer::Refusal;

impl Refusal {
    /// A refusal that is about no single field.
    pub fn new(code: &str, sentence: impl Into<String>) -> Self {
        Self {
            code: code.to_owned(),
            sentence: sentence.into(),
            field: None,
        }
    }

    /// A refusal beside a field of the ask.
    pub fn at(code: &str, field: &str, sentence: impl Into<String>) -> Self {
        Self {
            code: code.to_owned(),
            sentence: sentence.into(),
            field: Some(field.to_owned()),
        }
    }

    /// The same refusal beside a field.
    #[must_use]
    pub fn beside(mut self, field: &str) -> Self {
        self.field = Some(field.to_owned());
        self
    }
}

impl std::fmt::Display for Refusal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.sentence)
    }
}

impl std::error::Error for Refusal {}

impl From<bowseam_figures::Error> for Refusal {
    fn from(error: bowseam_figures::Error) -> Self {
        let field = error
            .where_
            .as_deref()
            .and_then(|at| at.rsplit('/').next())
            .filter(|at| !at.is_empty());
        Self {
            code: error.code,
            sentence: error.sentence,
            field: field.map(str::to_owned),
        }
    }
}

impl From<bowseam_jobs::Error> for Refusal {
    fn from(error: bowseam_jobs::Error) -> Self {
        Self::new(error.code(), error.to_string())
    }
}

impl From<bowseam_photos::Error> for Refusal {
    fn from(error: bowseam_photos::Error) -> Self {
        Self::new(error.code(), error.to_string())
    }
}

impl From<bowseam_send::Error> for Refusal {
    fn from(error: bowseam_send::Error) -> Self {
        Self::new(error.code(), error.to_string())
    }
}

impl From<bowseam_packet::Error> for Refusal {
    fn from(error: bowseam_packet::Error) -> Self {
        Self::new(error.code(), error.to_string())
    }
}
