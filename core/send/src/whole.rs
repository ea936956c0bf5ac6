//! A photo in one request, with its announcement, and the parts of one that is longer.

use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::time::{Duration, Instant};

use bowseam_jobs::outbox::Item;
use bowseam_photos::Folder;

use crate::buffers::Buffers;
use crate::link::{Link, Reach, Trouble};
use crate::network::{Network, OnItsWay};

/// How far the office has got with a photo that was sent at once, and how long that took; none where it is to go in parts.
pub type Begun = Option<Result<(Reach, Duration), Trouble>>;

/// What is needed to send a photo with its announcement.
#[derive(Clone, Copy)]
pub struct Whole<'a> {
    pub link: Link<'a>,
    pub photos: &'a Folder,
    pub network: &'a Network,
    pub buffers: &'a Buffers,
    /// Longest part, in bytes.
    pub most: usize,
}

impl Whole<'_> {
    /// Sends the whole of a photo that was never sent and is no longer than one part, so the office is not asked first what it
    /// has of it; none where it is to go in parts.
    pub fn send(&self, item: &Item) -> Begun {
        let mut file = File::open(self.photos.original(&item.sha256).ok()?).ok()?;
        let bytes = file.metadata().ok()?.len();
        let fits = item.tries == 0 && u64::try_from(self.most).is_ok_and(|most| bytes <= most);
        fits.then(|| self.at_once(&item.sha256, &mut file, bytes))
    }

    fn at_once(&self, sha: &str, file: &mut File, bytes: u64) -> Result<(Reach, Duration), Trouble> {
        let mut whole = self.buffers.take();
        part(file, 0, bytes, self.most, &mut whole)?;
        self.network.set_photo(Some(OnItsWay {
            sha256: sha.to_owned(),
            at: 0,
        }));
        let begun = Instant::now();
        let sent = self.link.create(sha, &whole);
        self.buffers.give(whole);
        let reach = match sent {
            // It did not fit: was it changed here? Else it goes once more, as a part.
            Err(Trouble::Changed(_) | Trouble::WrongOffset(_)) => {
                let verified = self.photos.verify(sha);
                verified.map_err(|error| Trouble::Refused(error.to_string()))?;
                self.link.announce(sha, bytes)
            }
            other => other,
        };
        reach.map(|reach| (reach, begun.elapsed()))
    }
}

/// Reads the part that begins at `at`; whether it is the last.
pub fn part(file: &mut File, at: u64, bytes: u64, most: usize, part: &mut Vec<u8>) -> Result<bool, Trouble> {
    let unreadable = |error: std::io::Error| Trouble::Refused(bowseam_photos::Error::from(error).to_string());
    file.seek(SeekFrom::Start(at)).map_err(unreadable)?;
    part.clear();
    let most = u64::try_from(most).unwrap_or(u64::MAX);
    // All at once, not by growing.
    part.reserve(usize::try_from(bytes.saturating_sub(at).min(most)).unwrap_or_default());
    file.take(most).read_to_end(part).map_err(unreadable)?;
    let end = at.saturating_add(u64::try_from(part.len()).unwrap_or(u64::MAX));
    Ok(end >= bytes)
}
