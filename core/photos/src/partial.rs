//! Photos that are still arriving. Each part is on the disk before it is counted, so that a sending that
//! breaks off (a dead spot, a flat battery on either side) goes on where it stopped.
//!
//! One file a photo, named by its SHA-256: 8 bytes with the announced length (little-endian), then what has arrived.

use std::fs::{self, File, OpenOptions};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::PathBuf;

use crate::disk;
use crate::error::{Error, Result};
use crate::{Folder, Kept, MAX_BYTES, check_name, look, sha256};

const HEAD: u64 = 8;

impl Folder {
    /// Announces a photo of `bytes` bytes; answers from which offset to send. May be repeated.
    ///
    /// # Errors
    /// `Empty`, `TooLarge`, `BadName`, `OtherLength`, or one of the disk.
    pub fn begin(&self, sha: &str, bytes: u64) -> Result<u64> {
        check_name(sha)?;
        if bytes == 0 {
            return Err(Error::Empty);
        }
        if bytes > MAX_BYTES {
            return Err(Error::TooLarge);
        }
        let here = if self.has(sha) { self.length(sha)? } else { bytes };
        if here != bytes {
            return Err(Error::OtherLength { bytes: here });
        }
        if let Some(behind) = &self.behind
            && !self.has(sha)
        {
            return behind.begin(sha, bytes);
        }
        match self.arrived(sha) {
            Ok((at, announced)) if announced == bytes => Ok(at),
            Ok((_, announced)) => Err(Error::OtherLength { bytes: announced }),
            Err(Error::Missing) => {
                // It need not outlast a dead machine: it is announced again then.
                disk::write_quick(&self.temp(), &self.partial(sha), &bytes.to_le_bytes())?;
                Ok(0)
            }
            Err(other) => Err(other),
        }
    }

    /// How many bytes are here: all of them once the photo is kept.
    ///
    /// # Errors
    /// `Missing` if it was not announced, `BadName`, or one of the disk.
    pub fn offset(&self, sha: &str) -> Result<u64> {
        check_name(sha)?;
        self.arrived(sha).map(|(at, _)| at)
    }

    /// Adds a part that starts at `offset`; answers the next offset. When it returns, the part is on the disk.
    ///
    /// # Errors
    /// `WrongOffset` with the byte wanted (also when a part is repeated), `TooLong`, `Missing`, or one of the disk;
    /// nothing of the part is counted then.
    pub fn append(&self, sha: &str, offset: u64, part: &[u8]) -> Result<u64> {
        check_name(sha)?;
        if self.has(sha) {
            return Err(Error::WrongOffset {
                at: self.length(sha)?,
            });
        }
        if offset == 0
            && let Some(next) = self.at_once(sha, part)?
        {
            return Ok(next);
        }
        if let Some(behind) = &self.behind {
            return behind.append(sha, offset, part);
        }
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .open(self.partial(sha))
            .map_err(Error::reading)?;
        // Two senders of the same photo must not write into each other.
        fs4::FileExt::lock(&file)?;
        let (at, bytes) = head(&mut file)?;
        if at != offset {
            return Err(Error::WrongOffset { at });
        }
        let next = at.saturating_add(u64::try_from(part.len()).unwrap_or(u64::MAX));
        if next > bytes {
            return Err(Error::TooLong { bytes });
        }
        let end = file.seek(SeekFrom::End(0))?;
        if let Err(cause) = file.write_all(part).and_then(|()| file.sync_all()) {
            // What a full disk left of the part would be counted later; the first error is the one to tell.
            let _ = file.set_len(end);
            return Err(cause.into());
        }
        Ok(next)
    }

    /// Keeps a photo that comes in one part without writing it twice; `None` where it is not the whole, or not this photo.
    fn at_once(&self, sha: &str, part: &[u8]) -> Result<Option<u64>> {
        let length = u64::try_from(part.len()).unwrap_or(u64::MAX);
        if self.arrived(sha)? != (0, length) {
            return Ok(None);
        }
        match look(part) {
            Ok(kept) if kept.sha256 == sha => {
                self.keep_looked(&kept, part)?;
                self.cancel(sha)?;
                Ok(Some(length))
            }
            _ => Ok(None),
        }
    }

    /// Checks the whole against its SHA-256 and keeps it. May be repeated.
    ///
    /// # Errors
    /// `Incomplete`, `OtherPhoto` or a refusal of [`Folder::keep`] (both remove what has arrived), `Missing`, or one of the disk.
    pub fn finish(&self, sha: &str) -> Result<Kept> {
        check_name(sha)?;
        if self.has(sha) {
            return self.about(sha);
        }
        let photo = self.whole(sha)?;
        if sha256(&photo) != sha {
            self.cancel(sha)?;
            return Err(Error::OtherPhoto);
        }
        if let Err(refused) = look(&photo) {
            self.cancel(sha)?;
            return Err(refused);
        }
        let kept = self.keep(&photo)?;
        self.cancel(sha)?;
        Ok(kept)
    }

    /// All bytes of a photo that has arrived.
    fn whole(&self, sha: &str) -> Result<Vec<u8>> {
        if let Some(behind) = &self.behind {
            let (at, bytes) = behind.arrived(sha)?;
            return if at < bytes {
                Err(Error::Incomplete { at, bytes })
            } else {
                behind.whole(sha)
            };
        }
        let mut file = File::open(self.partial(sha)).map_err(Error::reading)?;
        let (at, bytes) = head(&mut file)?;
        if at < bytes {
            return Err(Error::Incomplete { at, bytes });
        }
        let mut photo = Vec::new();
        file.read_to_end(&mut photo)?;
        Ok(photo)
    }

    /// Forgets what has arrived of a photo; no error if there is nothing. A kept photo stays.
    ///
    /// # Errors
    /// `BadName`, or one of the disk.
    pub fn cancel(&self, sha: &str) -> Result<()> {
        check_name(sha)?;
        if let Some(behind) = &self.behind {
            return behind.cancel(sha);
        }
        match fs::remove_file(self.partial(sha)).map_err(Error::reading) {
            // Should it be there again after a dead machine, the kept photo goes before it.
            Ok(()) | Err(Error::Missing) => Ok(()),
            Err(other) => Err(other),
        }
    }

    fn partial(&self, sha: &str) -> PathBuf {
        self.root.join("partial").join(sha)
    }

    /// Bytes here and bytes announced.
    fn arrived(&self, sha: &str) -> Result<(u64, u64)> {
        if self.has(sha) {
            let bytes = self.length(sha)?;
            return Ok((bytes, bytes));
        }
        if let Some(behind) = &self.behind {
            return behind.arrived(sha);
        }
        head(&mut File::open(self.partial(sha)).map_err(Error::reading)?)
    }
}

/// Reads the head; the file then stands at the first byte of the photo. A head that is not whole counts as not announced.
fn head(file: &mut File) -> Result<(u64, u64)> {
    let mut announced = [0; 8];
    file.read_exact(&mut announced).map_err(|_| Error::Missing)?;
    let at = file.metadata()?.len().saturating_sub(HEAD);
    Ok((at, u64::from_le_bytes(announced)))
}
