//! The one error of this crate: a plain sentence for the person who typed, and a stable code for programs.

use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// What was not understood or does not fit. The sentence says what is accepted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS, thiserror::Error)]
#[error("{sentence}")]
pub struct Error {
    /// Stable, for programs: `length_comma`, `plan_bows_order`.
    pub code: String,
    /// One or two sentences for a person.
    pub sentence: String,
    /// JSON pointer to the field that is meant, where the input was JSON.
    #[serde(rename = "where", default, skip_serializing_if = "Option::is_none")]
    pub where_: Option<String>,
}

impl Error {
    /// An error that names no field.
    pub fn new(code: &str, sentence: impl Into<String>) -> Self {
        Self {
            code: code.to_owned(),
            sentence: sentence.into(),
            where_: None,
        }
    }

    /// The same error at a field; a place that is already set stays.
    #[must_use]
    pub fn at(mut self, pointer: impl Into<String>) -> Self {
        self.where_.get_or_insert_with(|| pointer.into());
        self
    }
}
