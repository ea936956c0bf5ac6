//! Photos that are still arriving. Each part is on the disk before it is counted, so that a sending that
//! breaks off (a dead spot, a flat battery on either side) goes on where it stopped.
//!
//! Two files a photo, named by its SHA-256: what has arrived, which is the original once it is whole, and 8 bytes with the
//! announced length (little-endian). One that comes whole is one file with a number of its own.

use std::fs::{self, File, OpenOptions};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::thread;

use crate::disk;
use crate::error::{Error, Result};
use crate::{Folder, Kept, MAX_BYTES, check_name, digest, hex, look_named, sha256};

/// How the names end of photos that come whole, before a number.
const WHOLE: &str = "whole";

/// A part that is coming in.
struct Coming<'a> {
    sha: &'a str,
    part: &'a [u8],
    /// SHA-256 as its sender named it.
    named: Option<[u8; 32]>,
    /// It is all of the photo.
    whole: bool,
}

impl Coming<'_> {
    /// Worked out here, once for all that asks for it; none where nobody does.
    fn hash(&self) -> Option<[u8; 32]> {
        (self.whole || self.named.is_some()).then(|| digest(self.part))
    }

    fn check(&self, hash: Option<[u8; 32]>) -> Result<()> {
        if self.named.is_none() || hash == self.named {
            Ok(())
        } else {
            Err(Error::Changed)
        }
    }

    /// What is known of the photo, where this is all of it; one that is another photo, or none, is told so at its end.
    fn kept(&self, hash: Option<[u8; 32]>) -> Option<Kept> {
        let fits = self.whole && hash.is_some_and(|hash| hex(&hash) == self.sha);
        fits.then(|| look_named(self.part, || self.sha.to_owned()).ok())
            .flatten()
    }
}

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
                // Empty, whatever lay there. Neither need outlast a dead machine: it is announced again then.
                File::create(self.partial(sha))?;
                disk::write_quick(&self.temp(), &self.announced(sha), &bytes.to_le_bytes())?;
                Ok(0)
            }
            Err(other) => Err(other),
        }
    }

    /// Keeps a photo that comes whole and of which nothing arrived before; its sender named its SHA-256. Answers its length;
    /// none where something of it did arrive, so that it goes on from there.
    ///
    /// # Errors
    /// As of [`Folder::begin`] and [`Folder::append`]; `OtherPhoto` or a refusal of [`Folder::keep`].
    pub fn take(&self, sha: &str, whole: &[u8], named: [u8; 32]) -> Result<Option<u64>> {
        if !matches!(self.offset(sha), Err(Error::Missing)) {
            return Ok(None);
        }
        let hash = digest(whole);
        if hash != named {
            return Err(Error::Changed);
        }
        if hex(&hash) != sha {
            return Err(Error::OtherPhoto);
        }
        let kept = look_named(whole, || sha.to_owned())?;
        if self.behind.is_some() {
            self.keep_looked(&kept, whole)?;
            return Ok(Some(kept.bytes));
        }
        // Under a name of its own: somebody else may send the same photo.
        let arrived = self
            .partial(sha)
            .with_extension(format!("{WHOLE}{}", disk::number()));
        let written = File::create(&arrived)
            .map_err(Error::from)
            .and_then(|mut file| self.add(&mut file, whole, 0))
            .and_then(|()| self.to_place(&arrived, sha));
        if written.is_err() {
            // The first error is the one to tell; a file left here is looked at when the folder is opened again.
            let _ = fs::remove_file(&arrived);
        }
        written.map(|()| Some(kept.bytes))
    }

    /// How many bytes are here: all of them once the photo is kept.
    ///
    /// # Errors
    /// `Missing` if it was not announced, `BadName`, or one of the disk.
    pub fn offset(&self, sha: &str) -> Result<u64> {
        check_name(sha)?;
        self.arrived(sha).map(|(at, _)| at)
    }

    /// Adds a part that starts at `offset`, where its SHA-256 is the one that its sender named; answers the next offset. When
    /// it returns, the part is on the disk; a photo that came in this one part is kept then, hashed once.
    ///
    /// # Errors
    /// `WrongOffset` with the byte wanted (also when a part is repeated), `TooLong`, `Changed`, `Missing`, or one of the
    /// disk; nothing of the part is counted then.
    pub fn append(&self, sha: &str, offset: u64, part: &[u8], named: Option<[u8; 32]>) -> Result<u64> {
        check_name(sha)?;
        if self.has(sha) {
            return Err(Error::WrongOffset {
                at: self.length(sha)?,
            });
        }
        let (at, bytes) = self.arrived(sha)?;
        let next = offset.saturating_add(u64::try_from(part.len()).unwrap_or(u64::MAX));
        let coming = Coming {
            sha,
            part,
            named,
            whole: (offset, next) == (0, bytes),
        };
        match &self.behind {
            None => self.append_here(&coming, offset, next, bytes),
            Some(behind) => {
                let hash = coming.hash();
                coming.check(hash)?;
                match coming.kept(hash).filter(|_| at == 0) {
                    None => behind.append(sha, offset, part),
                    Some(kept) => {
                        self.keep_looked(&kept, part)?;
                        self.cancel(sha).map(|()| next)
                    }
                }
            }
        }
    }

    fn append_here(&self, coming: &Coming<'_>, offset: u64, next: u64, bytes: u64) -> Result<u64> {
        let mut file = OpenOptions::new()
            .append(true)
            .open(self.partial(coming.sha))
            .map_err(Error::reading)?;
        // Two senders of the same photo must not write into each other.
        fs4::FileExt::lock(&file)?;
        let at = file.metadata()?.len();
        if at != offset {
            return Err(Error::WrongOffset { at });
        }
        if next > bytes {
            return Err(Error::TooLong { bytes });
        }
        // Hashed while the disk works.
        let (written, hash) = thread::scope(|scope| {
            let hash = scope.spawn(|| coming.hash());
            let written = self.add(&mut file, coming.part, offset);
            (written, hash.join().ok().flatten())
        });
        if let Err(cause) = written.and_then(|()| coming.check(hash)) {
            // What a full disk left of the part would be counted later; the first error is the one to tell.
            let _ = file.set_len(at);
            return Err(cause);
        }
        if coming.kept(hash).is_some() {
            self.settle(coming.sha)?;
        }
        Ok(next)
    }

    /// Writes a part; when it returns it is on the disk, and with the first one the file's name.
    fn add(&self, file: &mut File, part: &[u8], offset: u64) -> Result<()> {
        disk::write_pieces(file, part)?;
        file.sync_all()?;
        if offset == 0 {
            disk::sync_folder(&self.root.join("partial"))?;
        }
        Ok(())
    }

    /// Checks the whole against its SHA-256, whatever its parts were checked for, and keeps it. May be repeated.
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
        let kept = match look_named(&photo, || sha.to_owned()) {
            Ok(kept) => kept,
            Err(refused) => {
                self.cancel(sha)?;
                return Err(refused);
            }
        };
        if self.behind.is_some() {
            self.keep_looked(&kept, &photo)?;
            self.cancel(sha)?;
        } else {
            self.settle(sha)?;
        }
        Ok(kept)
    }

    /// What has arrived whole, and is on the disk, becomes the original without being written again. Nobody waits for the
    /// disk to know it by its new place: after a dead machine it is found at either.
    fn settle(&self, sha: &str) -> Result<()> {
        self.to_place(&self.partial(sha), sha)?;
        self.cancel(sha)
    }

    fn to_place(&self, arrived: &Path, sha: &str) -> Result<()> {
        let place = self.place(sha);
        place.parent().map_or(Ok(()), fs::create_dir_all)?;
        match fs::rename(arrived, &place) {
            // Somebody else who sends it was quicker.
            Err(e) if e.kind() == ErrorKind::NotFound && place.is_file() => Ok(()),
            other => Ok(other?),
        }
    }

    /// Finds what had arrived whole when the machine died.
    pub(crate) fn settle_what_arrived(&self) -> Result<()> {
        for file in fs::read_dir(self.root.join("partial"))? {
            let file = file?.path();
            let Some(sha) = file.file_stem().and_then(|stem| stem.to_str()) else {
                continue;
            };
            let at_once = match file.extension() {
                None => false,
                Some(end) if end.to_str().is_some_and(|end| end.starts_with(WHOLE)) => true,
                // The lengths beside them.
                Some(_) => continue,
            };
            let goes_on = || matches!(self.arrived(sha), Ok((at, bytes)) if at < bytes);
            if check_name(sha).is_err() || (!at_once && goes_on()) {
                continue;
            }
            let photo = fs::read(&file)?;
            let sound = sha256(&photo) == sha && look_named(&photo, || sha.to_owned()).is_ok();
            match (sound, at_once) {
                (true, true) => self.to_place(&file, sha)?,
                (false, true) => fs::remove_file(&file)?,
                (true, false) => self.settle(sha)?,
                (false, false) => self.cancel(sha)?,
            }
        }
        Ok(())
    }

    /// All bytes of a photo that has arrived.
    fn whole(&self, sha: &str) -> Result<Vec<u8>> {
        let (at, bytes) = self.arrived(sha)?;
        if at < bytes {
            return Err(Error::Incomplete { at, bytes });
        }
        match &self.behind {
            Some(behind) => behind.whole(sha),
            None => fs::read(self.partial(sha)).map_err(Error::reading),
        }
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
        for file in [self.announced(sha), self.partial(sha)] {
            match fs::remove_file(file).map_err(Error::reading) {
                // Should it be there again after a dead machine, the kept photo goes before it.
                Ok(()) | Err(Error::Missing) => {}
                Err(other) => return Err(other),
            }
        }
        Ok(())
    }

    fn partial(&self, sha: &str) -> PathBuf {
        self.root.join("partial").join(sha)
    }

    fn announced(&self, sha: &str) -> PathBuf {
        self.partial(sha).with_extension("length")
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
        let announced = fs::read(self.announced(sha)).map_err(Error::reading)?;
        let announced = announced.try_into().map_err(|_| Error::Missing)?;
        let here = fs::metadata(self.partial(sha)).map_err(Error::reading)?;
        Ok((here.len(), u64::from_le_bytes(announced)))
    }
}
