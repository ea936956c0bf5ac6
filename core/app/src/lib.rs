//! The one door: an Ask in, an Answer out, for every shell.

pub mod ask;
