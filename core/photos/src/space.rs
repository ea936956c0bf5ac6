//! How much room photos take, and freeing it by choice.

use std::fs;

use crate::Folder;
use crate::disk;
use crate::error::{Error, Result};

impl Folder {
    /// Bytes that the originals take, and those of all shrunken copies.
    ///
    /// # Errors
    /// One of the disk.
    pub fn room(&self) -> Result<[u64; 2]> {
        let mut originals = 0_u64;
        for sha in self.list()? {
            originals = originals.saturating_add(self.length(&sha)?);
        }
        let mut copies = 0_u64;
        for size in ["large", "small"] {
            for file in fs::read_dir(self.root.join("copies").join(size))? {
                copies = copies.saturating_add(file?.metadata()?.len());
            }
        }
        Ok([originals, copies])
    }

    /// Throws away all shrunken copies whose original is here (they are made again when asked for); answers the bytes freed.
    ///
    /// # Errors
    /// One of the disk.
    pub fn remove_copies(&self) -> Result<u64> {
        let mut freed: u64 = 0;
        for size in ["large", "small"] {
            for file in fs::read_dir(self.root.join("copies").join(size))? {
                let file = file?;
                let path = file.path();
                let name = path.file_stem().and_then(|s| s.to_str()).unwrap_or_default();
                if self.has(name) {
                    freed = freed.saturating_add(file.metadata()?.len());
                    fs::remove_file(&path)?;
                }
            }
        }
        for file in fs::read_dir(self.root.join("copies/pairs"))? {
            fs::remove_file(file?.path())?;
        }
        Ok(freed)
    }

    /// Frees a full phone of an original and its large copy; the small one stays, to know the photo by. Answers the bytes freed.
    /// Whoever calls this has made sure that the office has the photo: it cannot be brought back from here.
    ///
    /// # Errors
    /// `BadName`, `Missing`, or one of the disk; nothing is removed then.
    pub fn free_original(&self, sha: &str) -> Result<u64> {
        let original = self.original(sha)?;
        match self.small(sha) {
            Ok(_) | Err(Error::CannotShow(_)) => {}
            Err(other) => return Err(other),
        }
        let mut freed = self.length(sha)?;
        fs::remove_file(&original)?;
        original.parent().map_or(Ok(()), disk::sync_folder)?;
        let large = self.copy_place(sha, "large");
        if let Ok(file) = fs::metadata(&large) {
            fs::remove_file(&large)?;
            freed = freed.saturating_add(file.len());
        }
        Ok(freed)
    }
}
