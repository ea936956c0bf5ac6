//! `bowseam backup` and `bowseam restore`.

use crate::{Ended, office::Places};
use bowseam_shared::backup::{Place, back_up, restore};
use clap::Args;
use std::path::PathBuf;

/// What to back up, and where.
#[derive(Args)]
pub struct Backup {
    /// The office's data folder, unless it stands on shared places
    #[arg(long, required_unless_present = "database", conflicts_with = "database")]
    data: Option<PathBuf>,
    #[command(flatten)]
    places: Places,
    /// A new folder
    to: PathBuf,
}

/// What to restore, and where.
#[derive(Args)]
pub struct Restore {
    /// A backup's folder
    from: PathBuf,
    /// The data folder, empty or not there yet, unless the office is to stand on shared places
    #[arg(long, required_unless_present = "database", conflicts_with = "database")]
    data: Option<PathBuf>,
    #[command(flatten)]
    places: Places,
}

fn with(
    data: Option<&PathBuf>,
    places: &Places,
    work: impl Fn(Place<'_>) -> Result<(), Ended>,
) -> Result<(), Ended> {
    match (data, places.open()?) {
        (_, Some(shared)) => work(Place::Shared(&shared)),
        (Some(data), None) => work(Place::Folder(data)),
        (None, None) => Err(Ended::with(2, "Name the office's data folder with --data.")),
    }
}

/// Backs an office up, also while it works.
pub fn backup(asked: &Backup) -> Result<(), Ended> {
    with(asked.data.as_ref(), &asked.places, |place| {
        let about = back_up(place, &asked.to)?;
        eprintln!("Backed up: {} entries, {} photos.", about.entries, about.photos);
        Ok(())
    })
}

/// Restores a backup.
pub fn bring_back(asked: &Restore) -> Result<(), Ended> {
    with(asked.data.as_ref(), &asked.places, |place| {
        let about = restore(&asked.from, place)?;
        eprintln!(
            "Restored: {} entries, {} photos, each as it was.",
            about.entries, about.photos
        );
        Ok(())
    })
}
