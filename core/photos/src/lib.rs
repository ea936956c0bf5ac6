//! Photos: kept bit for bit under the SHA-256 of their bytes, shown as upright shrunken copies.
//!
//! A photo belongs to a repair as evidence, so the original is never altered and never written twice; everything
//! shown on a screen is derived from it and may be thrown away. A photo is named by its SHA-256 everywhere, which
//! lets a phone and an office agree on what has arrived without trusting each other's file names.
//!
//! ```text
//! originals/ba/ba7816bf...   the camera's bytes
//! copies/large, copies/small derived JPEGs, longer side at most 2000 and 320 pixels, no EXIF
//! copies/pairs               how an after photo lies over its before photo, one line each
//! partial/                   photos still arriving
//! temp/                      files being written
//! ```

mod align;
mod behind;
mod disk;
mod error;
mod facts;
mod fetched;
mod grey;
mod partial;
mod picture;
mod shared;
mod sniff;
mod space;
mod target;

use std::collections::HashMap;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant, SystemTime};

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

pub use align::{Aligned, Similarity};
pub use behind::Behind;
pub use error::{Error, Result};
pub use facts::{Facts, Position};
pub use fetched::ROOM;
use fetched::Room;
pub use picture::{Copier, MAX_MEMORY, MAX_PIXELS};
pub use shared::shared;
pub use sniff::Kind;
pub use target::{CORNER_SD, FRAME, MIDDLE};

/// Largest photo file that is accepted, in bytes (64 MB).
pub const MAX_BYTES: u64 = 64 * 1024 * 1024;
/// Longer side of a large copy, in pixels.
pub const LARGE: u32 = 2000;
/// Longer side of a small copy, in pixels.
pub const SMALL: u32 = 320;

/// What is known of a kept photo.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    /// SHA-256 of the bytes, 64 lower-case hexadecimal characters: the photo's name.
    pub sha256: String,
    /// Length in bytes.
    pub bytes: u64,
    /// What kind of file it is.
    pub kind: Kind,
    /// What it says of itself; `None` for a HEIC that says nothing.
    pub facts: Option<Facts>,
    /// A sentence for the person, where the photo is kept but not, or not all of it, shown.
    pub note: Option<String>,
}

/// Bytes that were hashed in this process.
static HASHED: AtomicU64 = AtomicU64::new(0);

/// SHA-256 (FIPS 180-4).
pub fn digest(bytes: &[u8]) -> [u8; 32] {
    HASHED.fetch_add(u64::try_from(bytes.len()).unwrap_or(u64::MAX), Ordering::Relaxed);
    Sha256::digest(bytes).into()
}

fn hex(digest: &[u8; 32]) -> String {
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// SHA-256 as 64 lower-case hexadecimal characters (FIPS 180-4).
pub fn sha256(bytes: &[u8]) -> String {
    hex(&digest(bytes))
}

/// The SHA-256 that a photo's name spells; `None` where it is no name.
pub fn digest_of_name(sha: &str) -> Option<[u8; 32]> {
    check_name(sha).ok()?;
    let (pairs, _) = sha.as_bytes().as_chunks::<2>();
    let byte = |pair: &[u8; 2]| u8::from_str_radix(str::from_utf8(pair).ok()?, 16).ok();
    let bytes: Option<Vec<u8>> = pairs.iter().map(byte).collect();
    bytes?.try_into().ok()
}

/// Bytes of photos that were hashed in this process so far.
#[doc(hidden)]
pub fn hashed_for_test() -> u64 {
    HASHED.load(Ordering::Relaxed)
}

/// Looks at a photo without keeping it.
///
/// # Errors
/// `Empty`, `TooLarge`, `NotAPhoto`.
pub fn look(bytes: &[u8]) -> Result<Kept> {
    look_named(bytes, || sha256(bytes))
}

/// As [`look`], where somebody may have worked out the name before.
fn look_named(bytes: &[u8], name: impl FnOnce() -> String) -> Result<Kept> {
    if bytes.is_empty() {
        return Err(Error::Empty);
    }
    let length = u64::try_from(bytes.len()).unwrap_or(u64::MAX);
    if length > MAX_BYTES {
        return Err(Error::TooLarge);
    }
    let kind = Kind::of(bytes).ok_or(Error::NotAPhoto)?;
    let frame = sniff::frame(bytes, kind);
    let note = match (kind, frame) {
        (Kind::Heic, _) => Some(Error::CannotShow(HEIC).to_string()),
        (_, None) => return Err(Error::NotAPhoto),
        (_, Some(frame)) if frame.cut_off => Some(CUT_OFF.to_owned()),
        _ => None,
    };
    Ok(Kept {
        sha256: name(),
        bytes: length,
        kind,
        facts: facts::read(bytes, frame),
        note,
    })
}

/// Where a photo's file says that it was taken. It is in the original alone: no copy, no fact that travels holds it.
pub fn position(bytes: &[u8]) -> Option<Position> {
    facts::place(bytes)
}

const HEIC: &str = "this program does not decode HEIC; set the camera to JPEG to see photos here";
const CUT_OFF: &str =
    "The photo is cut off: it is kept as it is and shown as far as it goes. Take it again if you can.";

/// The large and the small copy of a photo's bytes, upright JPEGs without EXIF, made with one decoding.
///
/// # Errors
/// `CannotShow`; `Damaged` if there is no picture in it.
pub fn both(bytes: &[u8]) -> Result<[Vec<u8>; 2]> {
    Copier::default().both(bytes)
}

fn shrunk<const N: usize>(copier: &mut Copier, bytes: &[u8], sizes: [u32; N]) -> Result<[Vec<u8>; N]> {
    let kind = Kind::of(bytes).ok_or(Error::Damaged)?;
    if kind == Kind::Heic {
        return Err(Error::CannotShow(HEIC));
    }
    let frame = sniff::frame(bytes, kind).ok_or(Error::Damaged)?;
    let turn = facts::read(bytes, Some(frame)).map_or(1, |facts| facts.orientation);
    picture::shrink(copier, bytes, kind, frame, turn, sizes)
}

/// So long what was hashed is taken as it was: until then the system reads it from its memory, not again from the disk.
const LATELY: Duration = Duration::from_mins(10);

/// An original that was hashed.
#[derive(Debug)]
struct Looked {
    at: Instant,
    changed: Option<SystemTime>,
    bytes: u64,
    same: bool,
}

/// A folder of photos. Cheap to clone; may be used from several threads at a time.
#[derive(Debug, Clone)]
pub struct Folder {
    root: PathBuf,
    looked: Arc<Mutex<HashMap<String, Looked>>>,
    /// Where the photos are, if this folder only holds what was fetched last.
    behind: Option<Arc<dyn Behind>>,
    /// The room of what was fetched, where the photos themselves are behind.
    room: Option<Arc<Room>>,
}

impl Folder {
    /// Opens the folder, making it if it is not there; sweeps what a crash left behind.
    ///
    /// # Errors
    /// `ReadOnly`, `DiskFull`, `Disk`.
    pub fn open(path: impl Into<PathBuf>) -> Result<Self> {
        Self::over(path.into(), None)
    }

    /// Opens a folder of what was used last, in at most about `room` bytes; the photos themselves are behind it. It may be
    /// emptied at any time.
    ///
    /// # Errors
    /// As of [`Folder::open`].
    pub fn before(path: impl Into<PathBuf>, behind: Arc<dyn Behind>, room: u64) -> Result<Self> {
        let folder = Self::over(path.into(), Some(behind))?;
        let room = Arc::new(Room::of(&folder.root, room)?);
        Ok(Self {
            room: Some(room),
            ..folder
        })
    }

    fn over(root: PathBuf, behind: Option<Arc<dyn Behind>>) -> Result<Self> {
        for name in [
            "originals",
            "copies/large",
            "copies/small",
            "copies/pairs",
            "partial",
            "temp",
        ] {
            disk::make_folder(&root.join(name))?;
        }
        let folder = Self {
            root,
            looked: Arc::default(),
            behind,
            room: None,
        };
        disk::sweep(&folder.temp())?;
        if folder.behind.is_none() {
            folder.settle_what_arrived()?;
        }
        Ok(folder)
    }

    /// Keeps a photo bit for bit; it is on the disk when this returns. The same photo twice is one file.
    ///
    /// # Errors
    /// `Empty`, `TooLarge`, `NotAPhoto`, or one of the disk.
    pub fn keep(&self, bytes: &[u8]) -> Result<Kept> {
        let kept = look(bytes)?;
        self.keep_looked(&kept, bytes)?;
        Ok(kept)
    }

    fn keep_looked(&self, kept: &Kept, bytes: &[u8]) -> Result<()> {
        if let Some(behind) = &self.behind
            && behind.length(&kept.sha256)?.is_none()
        {
            behind.keep(&kept.sha256, bytes)?;
        }
        // A copy that went bad on the disk is made good again.
        if self.verify_here(&kept.sha256).is_err() {
            self.write(&self.place(&kept.sha256), bytes)?;
        }
        Ok(())
    }

    /// Writes an original; one that is behind this folder can be fetched again.
    fn write(&self, place: &Path, bytes: &[u8]) -> Result<()> {
        match &self.behind {
            None => disk::write_whole(&self.temp(), place, bytes)?,
            Some(_) => disk::write_sound(&self.temp(), place, bytes)?,
        }
        self.taken(bytes);
        Ok(())
    }

    fn write_copy(&self, place: &Path, bytes: &[u8]) -> Result<()> {
        disk::write_sound(&self.temp(), place, bytes)?;
        self.taken(bytes);
        Ok(())
    }

    fn taken(&self, bytes: &[u8]) {
        if let Some(room) = &self.room {
            room.taken(&self.root, bytes.len());
        }
    }

    /// Whether a file is here; where there is room for so many only, it counts as used now.
    fn is_here(&self, place: &Path) -> bool {
        match &self.room {
            None => place.is_file(),
            Some(_) => fetched::use_now(place),
        }
    }

    /// Whether the original is kept; not, where the place behind this folder does not answer.
    pub fn has(&self, sha: &str) -> bool {
        let behind = || {
            matches!(
                self.behind.as_ref().map(|behind| behind.length(sha)),
                Some(Ok(Some(_)))
            )
        };
        check_name(sha).is_ok() && (self.place(sha).is_file() || behind())
    }

    /// All photos kept, by name, in order.
    ///
    /// # Errors
    /// One of the disk.
    pub fn list(&self) -> Result<Vec<String>> {
        if let Some(behind) = &self.behind {
            return behind.list();
        }
        Self::list_of(&self.root.join("originals"))
    }

    /// The names of photos on the shelves of a folder, in order.
    ///
    /// # Errors
    /// One of the disk.
    pub fn list_of(originals: &Path) -> Result<Vec<String>> {
        let mut names = Vec::new();
        if !originals.exists() {
            return Ok(names);
        }
        for shelf in fs::read_dir(originals)? {
            for file in fs::read_dir(shelf?.path())? {
                names.extend(
                    file?
                        .file_name()
                        .into_string()
                        .ok()
                        .filter(|n| check_name(n).is_ok()),
                );
            }
        }
        names.sort();
        Ok(names)
    }

    /// Where the original lies; it is fetched first if it is not in this folder. It must not be written to.
    ///
    /// # Errors
    /// `BadName`, `Missing`; `Away`, or `Damaged` if what was fetched is another one.
    pub fn original(&self, sha: &str) -> Result<PathBuf> {
        check_name(sha)?;
        let place = self.place(sha);
        if self.is_here(&place) {
            return Ok(place);
        }
        let bytes = self.behind.as_ref().ok_or(Error::Missing)?.fetch(sha)?;
        if sha256(&bytes) != sha {
            return Err(Error::Damaged);
        }
        self.write(&place, &bytes)?;
        Ok(place)
    }

    /// What kind of file an original is that lies in this folder; none where it would have to be fetched first. Only its
    /// beginning is read.
    pub fn kind_here(&self, sha: &str) -> Option<Kind> {
        /// Bytes that say what kind of file it is.
        const BEGIN: u64 = 4096;
        check_name(sha).ok()?;
        let mut begin = Vec::new();
        let file = File::open(self.place(sha)).ok()?;
        file.take(BEGIN).read_to_end(&mut begin).ok()?;
        Kind::of(&begin)
    }

    /// What is known of a kept photo, read from its bytes again.
    ///
    /// # Errors
    /// `BadName`, `Missing`, or one of the disk.
    pub fn about(&self, sha: &str) -> Result<Kept> {
        look(&fs::read(self.original(sha)?).map_err(Error::reading)?)
    }

    /// What the original says of itself, without hashing it; `None` for a HEIC that says nothing.
    ///
    /// # Errors
    /// `BadName`, `Missing`, or one of the disk.
    pub fn facts(&self, sha: &str) -> Result<Option<Facts>> {
        let bytes = fs::read(self.original(sha)?).map_err(Error::reading)?;
        let frame = Kind::of(&bytes).and_then(|kind| sniff::frame(&bytes, kind));
        Ok(facts::read(&bytes, frame))
    }

    /// Hashes the original again.
    ///
    /// # Errors
    /// `Damaged` if it is not what was kept, `BadName`, `Missing`, or one of the disk.
    pub fn verify(&self, sha: &str) -> Result<()> {
        self.original(sha)?;
        self.verify_here(sha)
    }

    fn verify_here(&self, sha: &str) -> Result<()> {
        let place = self.place(sha);
        let bytes = fs::read(&place).map_err(Error::reading)?;
        let same = sha256(&bytes) == sha;
        if let (Ok(mut looked), Ok(file)) = (self.looked.lock(), fs::metadata(&place)) {
            let now = Looked {
                at: Instant::now(),
                changed: file.modified().ok(),
                bytes: file.len(),
                same,
            };
            looked.insert(sha.to_owned(), now);
        }
        if same { Ok(()) } else { Err(Error::Damaged) }
    }

    /// What [`Folder::verify`] found in the last ten minutes, if the file was not written since; none else.
    pub fn verified(&self, sha: &str) -> Option<Result<()>> {
        let looked = self.looked.lock().ok()?;
        let known = looked.get(sha).filter(|known| known.at.elapsed() < LATELY)?;
        let file = fs::metadata(self.place(sha)).ok()?;
        let stands = file.modified().ok() == known.changed && file.len() == known.bytes;
        stands.then_some(if known.same { Ok(()) } else { Err(Error::Damaged) })
    }

    /// An upright JPEG for a full screen, longer side at most [`LARGE`]; made at the first asking.
    ///
    /// # Errors
    /// `CannotShow`, `BadName`, `Missing`, or one of the disk.
    pub fn large(&self, sha: &str) -> Result<PathBuf> {
        self.copy(sha, "large", LARGE)
    }

    /// An upright JPEG for a list, longer side at most [`SMALL`]; made at the first asking.
    ///
    /// # Errors
    /// `CannotShow`, `BadName`, `Missing`, or one of the disk.
    pub fn small(&self, sha: &str) -> Result<PathBuf> {
        self.copy(sha, "small", SMALL)
    }

    /// The corners of the printed target, once round, in pixels of the upright original, each good to [`CORNER_SD`]
    /// pixels of the large copy; none where it is not found.
    ///
    /// # Errors
    /// As of [`Folder::large`].
    pub fn find_target(&self, sha: &str) -> Result<Option<[[f64; 2]; 4]>> {
        let copy = grey(&self.large(sha)?)?;
        let width = self.facts(sha)?.map_or(0, |facts| facts.width);
        let scale = f64::from(width) / copy.width.max(1) as f64;
        Ok(target::find(&copy).map(|corners| corners.map(|corner| corner.map(|c| c * scale))))
    }

    /// Matches an after photo to its before photo, by their small copies; worked out once and kept beside these.
    ///
    /// # Errors
    /// As of [`Folder::small`].
    pub fn align(&self, before: &str, after: &str) -> Result<Aligned> {
        if let Some(known) = self.aligned(before, after) {
            return Ok(known);
        }
        let found = align::align(&grey(&self.small(before)?)?, &grey(&self.small(after)?)?);
        // Where it is not kept it is worked out again the next time.
        let _ = disk::write_quick(
            &self.temp(),
            &self.pair_place(before, after),
            found.to_line().as_bytes(),
        );
        Ok(found)
    }

    /// What [`Folder::align`] found earlier, without working it out.
    pub fn aligned(&self, before: &str, after: &str) -> Option<Aligned> {
        check_name(before).and(check_name(after)).ok()?;
        Aligned::of_line(&fs::read_to_string(self.pair_place(before, after)).ok()?)
    }

    fn pair_place(&self, before: &str, after: &str) -> PathBuf {
        self.root.join("copies/pairs").join(format!("{before}-{after}"))
    }

    /// Height of a photo held upright, in its own widths, read from its small copy.
    ///
    /// # Errors
    /// As of [`Folder::small`]; `Damaged` where the copy cannot be read.
    pub fn shape(&self, sha: &str) -> Result<f64> {
        let (width, height) = image::image_dimensions(self.small(sha)?).map_err(|_| Error::Damaged)?;
        Ok(f64::from(height) / f64::from(width.max(1)))
    }

    /// An upright JPEG to print, longer side at most `longest` pixels, made from the large copy and not kept.
    ///
    /// # Errors
    /// `CannotShow`, `BadName`, `Missing`, or one of the disk.
    pub fn print(&self, sha: &str, longest: u32) -> Result<Vec<u8>> {
        let large = fs::read(self.large(sha)?).map_err(Error::reading)?;
        let [print] = shrunk(&mut Copier::default(), &large, [longest])?;
        Ok(print)
    }

    fn copy(&self, sha: &str, size: &str, longest: u32) -> Result<PathBuf> {
        check_name(sha)?;
        let place = self.copy_place(sha, size);
        if self.is_here(&place) {
            return Ok(place);
        }
        let bytes = fs::read(self.original(sha)?).map_err(Error::reading)?;
        let [copy] = shrunk(&mut Copier::default(), &bytes, [longest])?;
        self.write_copy(&place, &copy)?;
        Ok(place)
    }

    /// Makes both copies with one decoding, where either lacks: for a photo that just came, before anybody asks.
    ///
    /// # Errors
    /// `CannotShow`, `BadName`, `Missing`, or one of the disk.
    pub fn make_copies(&self, sha: &str) -> Result<()> {
        self.make_copies_in(&mut Copier::default(), sha)
    }

    /// As [`Folder::make_copies`], in memory that is kept from photo to photo.
    ///
    /// # Errors
    /// As there.
    pub fn make_copies_in(&self, copier: &mut Copier, sha: &str) -> Result<()> {
        check_name(sha)?;
        let places = ["large", "small"].map(|size| self.copy_place(sha, size));
        if places.iter().all(|place| place.is_file()) {
            return Ok(());
        }
        let bytes = fs::read(self.original(sha)?).map_err(Error::reading)?;
        for (place, copy) in places.iter().zip(copier.both(&bytes)?) {
            self.write_copy(place, &copy)?;
        }
        Ok(())
    }

    /// Lays copies beside an original that this program cannot decode (HEIC), made from an upright JPEG into which
    /// somebody else decoded it: the phone can.
    ///
    /// # Errors
    /// `BadName`, `Missing`, `CannotShow` or `Damaged` for the JPEG, or one of the disk.
    pub fn lay_copies(&self, sha: &str, decoded: &[u8]) -> Result<()> {
        self.original(sha)?;
        for (size, copy) in ["large", "small"].into_iter().zip(both(decoded)?) {
            self.write_copy(&self.copy_place(sha, size), &copy)?;
        }
        Ok(())
    }

    fn copy_place(&self, sha: &str, size: &str) -> PathBuf {
        self.root.join("copies").join(size).join(format!("{sha}.jpg"))
    }

    /// Only for checked names: 256 shelves by the first two characters keep folders short.
    fn place(&self, sha: &str) -> PathBuf {
        self.root
            .join("originals")
            .join(sha.get(..2).unwrap_or_default())
            .join(sha)
    }

    fn temp(&self) -> PathBuf {
        self.root.join("temp")
    }

    /// Length of the original in bytes.
    ///
    /// # Errors
    /// `BadName`, `Missing`, or one of the disk.
    pub fn length(&self, sha: &str) -> Result<u64> {
        check_name(sha)?;
        if let Some(behind) = &self.behind {
            return behind.length(sha)?.ok_or(Error::Missing);
        }
        Ok(fs::metadata(self.original(sha)?)?.len())
    }

    /// The folder itself, for reports on room.
    pub fn root(&self) -> &Path {
        &self.root
    }
}

/// The brightness of a copy.
fn grey(copy: &Path) -> Result<grey::Grey> {
    let picture = image::open(copy).map_err(|_| Error::Damaged)?;
    Ok(grey::Grey::of(&picture))
}

/// A name becomes a path, so nothing but a SHA-256 may pass.
fn check_name(sha: &str) -> Result<()> {
    let hex = |b: u8| b.is_ascii_digit() || (b'a'..=b'f').contains(&b);
    if sha.len() == 64 && sha.bytes().all(hex) {
        Ok(())
    } else {
        Err(Error::BadName)
    }
}
