//! The shared places themselves: see the crate's own words.

use crate::{Objects, Result, connect, log, photos};
use bowseam_jobs::Store;
use bowseam_photos::{Folder, ROOM};
use std::{path::Path, sync::Arc};

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

    /// A folder of photos before the shared ones, which holds those used last.
    ///
    /// # Errors
    /// Those of [`Folder::open`].
    pub fn photos(&self, folder: &Path) -> Result<Folder> {
        self.photos_in(folder, ROOM)
    }

    /// The same in at most about so many bytes.
    ///
    /// # Errors
    /// Those of [`Folder::open`].
    pub fn photos_in(&self, folder: &Path, room: u64) -> Result<Folder> {
        let behind = photos::Photos::new(Arc::clone(&self.pool), Arc::clone(&self.objects));
        Ok(Folder::before(folder, Arc::new(behind), room)?)
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
