//! Writing so that a file is there whole or not at all, even if the power goes in between:
//! a temporary file is written and synced, renamed, and its folder synced. Photos are evidence.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

static COUNTER: AtomicU64 = AtomicU64::new(0);

/// Writes `bytes` as `target` by way of a file in `temp` (on the same disk).
pub fn write_whole(temp: &Path, target: &Path, bytes: &[u8]) -> io::Result<()> {
    write(temp, target, bytes, [true, true])
}

/// The same for what can be made anew: whole, or not there after a dead machine.
pub fn write_sound(temp: &Path, target: &Path, bytes: &[u8]) -> io::Result<()> {
    write(temp, target, bytes, [true, false])
}

/// The same for what may be gone or broken after a dead machine: not waited for.
pub fn write_quick(temp: &Path, target: &Path, bytes: &[u8]) -> io::Result<()> {
    write(temp, target, bytes, [false, false])
}

/// One that no other file of this process has.
pub fn number() -> u64 {
    COUNTER.fetch_add(1, Ordering::Relaxed)
}

/// Waits for the file, and for its name.
fn write(temp: &Path, target: &Path, bytes: &[u8], [file_lasts, name_lasts]: [bool; 2]) -> io::Result<()> {
    let name = temp.join(format!("{}-{}", std::process::id(), number()));
    let written = (|| {
        if let Some(folder) = target.parent() {
            make_folder(folder)?;
        }
        let mut file = File::create(&name)?;
        write_pieces(&mut file, bytes)?;
        if file_lasts {
            file.sync_all()?;
        }
        fs::rename(&name, target)?;
        target.parent().filter(|_| name_lasts).map_or(Ok(()), sync_folder)
    })();
    if written.is_err() {
        // The first error is the one to tell; a file left here is swept at the next opening.
        let _ = fs::remove_file(&name);
    }
    written
}

/// Writes bytes in pieces that a processor's cache holds: one write of some megabytes takes Linux twice as long as many
/// small ones (`tests/bench/send` shows it).
pub fn write_pieces(file: &mut File, bytes: &[u8]) -> io::Result<()> {
    bytes
        .chunks(64 * 1024)
        .try_for_each(|piece| file.write_all(piece))
}

/// Makes a folder that lasts: its entry in the parent is synced too.
pub fn make_folder(folder: &Path) -> io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    fs::create_dir_all(folder)?;
    folder.parent().map_or(Ok(()), sync_folder)
}

/// Syncs the entries of a folder, so that a rename or removal in it lasts.
#[cfg(unix)]
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

/// Folders cannot be opened for syncing here; the system syncs the rename itself.
#[cfg(not(unix))]
pub fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}

/// Removes temporary files that a crash left behind; those younger than an hour may be in use.
pub fn sweep(temp: &Path) -> io::Result<()> {
    for entry in fs::read_dir(temp)? {
        let entry = entry?;
        let age = entry.metadata().and_then(|m| m.modified());
        let old = age.is_ok_and(|t| t.elapsed().is_ok_and(|e| e > Duration::from_secs(3600)));
        if old {
            // Another opening may have swept it already.
            let _ = fs::remove_file(entry.path());
        }
    }
    Ok(())
}
