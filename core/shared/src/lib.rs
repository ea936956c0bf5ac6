//! One office on several machines: its entries and settings in PostgreSQL, its photos in an S3-compatible store.
//!
//! A receiver keeps nothing of its own. Its folder holds a store that follows the log in the database
//! ([`bowseam_jobs::shared`]) and photos that were fetched last; both may be thrown away while it is not running. What
//! it answers *arrived* is committed in PostgreSQL, and of a photo, in the object store too.
//!
//! ```text
//! entry, kept           what the stores of all receivers follow (`log`)
//! upload, upload_part   photos that are still arriving, wherever each part came in (`photos`)
//! photo                 photos that are in the object store under PREFIX/ab/abcd… (`objects`)
//! ```
//!
//! The S3 side is three requests (put, get, head) signed by `rusty-s3` and sent by the client that the program has
//! anyway. `object_store` would do the same and brings a second HTTP client with it, for listings, multipart uploads and
//! other clouds that nothing here needs: a photo is at most 64 MB, and its parts are collected in the database.

#[cfg(not(feature = "several"))]
mod absent;
pub mod backup;
#[cfg(feature = "several")]
mod connect;
mod error;
#[cfg(feature = "several")]
mod log;
#[cfg(feature = "several")]
mod objects;
#[cfg(feature = "several")]
mod photos;
#[cfg(feature = "several")]
mod places;

#[cfg(not(feature = "several"))]
pub use absent::{Objects, Shared};
pub use error::{Error, Result};
#[cfg(feature = "several")]
pub use objects::Objects;
#[cfg(feature = "several")]
pub use places::Shared;
