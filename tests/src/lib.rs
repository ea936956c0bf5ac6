//! Being built.
