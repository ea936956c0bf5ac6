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

pub mod backup;
mod connect;
mod error;
mod log;
mod objects;
mod photos;

use bowseam_jobs::Store;
use bowseam_photos::Folder;
use std::{path::Path, sync::Arc};

pub use error::{Error, Result};
pub use objects::Objects;

/// The shared places of one office. Cheap to clone.
#[derive(Debug, Clone)]
pub struct Shared {
    pool: Arc<connect::Pool>,
    objects: Arc<Objects>,
}

impl Shared {
    /// Reaches the database (`postgres://USER@HOST/NAME`) and brings its tables up to date. A password in `password`
    /// goes before one in the address, where every other program of the machine can read it.
    ///
    /// # Errors
    /// `shared_address`, `shared_away`, `shared_newer`.
    pub fn open(database: &str, password: Option<&str>, ca: Option<&Path>, objects: Objects) -> Result<Self> {
        let pool = connect::Pool::new(database, password, ca)?;
        pool.with(connect::migrate)?;
        Ok(Self {
            pool: Arc::new(pool),
            objects: Arc::new(objects),
        })
    }

    /// A store in this folder that follows the database.
    ///
    /// # Errors
    /// Those of [`Store::follow`]; `shared_away`.
    pub fn store(&self, folder: &Path) -> Result<Store> {
        let log = log::SharedLog::new(Arc::clone(&self.pool))?;
        Ok(Store::follow(folder, Box::new(log))?)
    }

    /// A folder of photos before the shared ones.
    ///
    /// # Errors
    /// Those of [`Folder::open`].
    pub fn photos(&self, folder: &Path) -> Result<Folder> {
        let behind = photos::Photos::new(Arc::clone(&self.pool), Arc::clone(&self.objects));
        Ok(Folder::before(folder, Arc::new(behind))?)
    }

    /// Whether nothing is there yet: no entry, no setting, no photo.
    ///
    /// # Errors
    /// `shared_away`.
    pub fn is_empty(&self) -> Result<bool> {
        self.pool.with(|link| {
            let sql = "SELECT NOT EXISTS (SELECT FROM entry) AND NOT EXISTS (SELECT FROM kept) AND NOT EXISTS (SELECT FROM photo)";
            Ok(link.client.query_one(sql, &[])?.get(0))
        })
    }
}
