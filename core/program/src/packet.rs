//! `bowseam packet`: the packet of a job from a folder that nobody serves, and the proof of its photos. Every photo's
//! original is hashed again: one that is not as it came is named, and the program ends with 4.
//!
//! A folder of a packet holds it in every form, the originals of its photos under their SHA-256, and `SHA256SUMS`,
//! which `sha256sum --check` reads as well. An original that says in its file where it was taken goes with it only where
//! whoever hands it over says so: nobody is told a place unasked.

use crate::Ended;
use bowseam_app::{
    answer::{Answer, PacketFile, Photo},
    app::{App, Asker, Kind},
    ask::{Ask, PacketForm},
};
use clap::Args;
use std::{
    fs,
    io::Write,
    path::{Path, PathBuf},
};
use uuid::Uuid;

/// Ends the program where a photo or a file is not what its hash says.
const NOT_AS_IT_CAME: u8 = 4;
/// Sums of a packet's folder.
const SUMS: &str = "SHA256SUMS";

/// What to make of which job, or what to prove.
#[derive(Args)]
pub struct Packet {
    /// The job's id, or the number of its unit
    #[arg(required_unless_present = "prove")]
    job: Option<String>,
    /// The data folder: the phone's, the office's, or the demo's
    #[arg(long, required_unless_present = "prove")]
    data: Option<PathBuf>,
    /// html, pdf, xlsx, csv or json
    #[arg(long, default_value = "html")]
    form: String,
    /// Without prices
    #[arg(long)]
    without_prices: bool,
    /// Where to write it: a file; or a folder, which gets every form and the originals of the photos.
    /// Standard output without it
    #[arg(long)]
    to: Option<PathBuf>,
    /// Into a folder also the originals that say in their file where they were taken
    #[arg(long)]
    with_positions: bool,
    /// A folder that was written so: hashes all of it again
    #[arg(long, conflicts_with_all = ["job", "data", "to"])]
    prove: Option<PathBuf>,
}

/// Makes or proves.
pub fn packet(asked: &Packet) -> Result<(), Ended> {
    if let Some(folder) = &asked.prove {
        return prove(folder);
    }
    let (Some(job), Some(data)) = (&asked.job, &asked.data) else {
        return Err(Ended::with(2, "A packet is of a job in a data folder."));
    };
    let form = form(&asked.form)?;
    let app = open(data)?;
    let job = find(&app, job, data)?;
    let made = Making {
        app: &app,
        job,
        prices: !asked.without_prices,
        positions: asked.with_positions,
    };
    match &asked.to {
        None => std::io::stdout()
            .lock()
            .write_all(&made.bytes(form)?.1)
            .map_err(|e| Ended::with(1, format!("The packet cannot be written: {e}.")))?,
        Some(to) if to.is_dir() || to.extension().is_none() => made.folder(to)?,
        Some(file) => write(file, &made.bytes(form)?.1)?,
    }
    made.photos_are_as_they_came()
}

fn form(named: &str) -> Result<PacketForm, Ended> {
    use PacketForm::{Csv, Html, Json, Pdf, Xlsx};
    let found = [Html, Pdf, Xlsx, Csv, Json]
        .into_iter()
        .find(|form| form.ending() == named);
    found.ok_or_else(|| Ended::with(2, "A packet comes as html, pdf, xlsx, csv or json."))
}

fn open(data: &Path) -> Result<App, Ended> {
    let phone = data.join("phone");
    let folder = if phone.is_dir() { phone } else { data.to_owned() };
    if !folder.is_dir() {
        return Err(Ended::with(
            2,
            format!("There is no data folder {}.", data.display()),
        ));
    }
    Ok(App::open(&folder, Kind::Phone)?)
}

fn find(app: &App, job: &str, data: &Path) -> Result<Uuid, Ended> {
    let ask = Ask::Yard { find: String::new() };
    let Answer::Yard(all) = app.ask(&Asker::default(), ask, None)? else {
        return Err(Ended::with(1, "The yard cannot be read."));
    };
    let row = all
        .rows
        .iter()
        .find(|row| row.unit == job || row.job.to_string() == job);
    let row = row.ok_or_else(|| Ended::with(2, format!("There is no job {job} in {}.", data.display())))?;
    Ok(row.job)
}

/// A packet in the making.
struct Making<'a> {
    app: &'a App,
    job: Uuid,
    prices: bool,
    /// Whether originals go with it that say where they were taken.
    positions: bool,
}

impl Making<'_> {
    fn bytes(&self, form: PacketForm) -> Result<(PacketFile, Vec<u8>), Ended> {
        let (job, prices) = (self.job, self.prices);
        match self
            .app
            .ask(&Asker::default(), Ask::MakePacket { job, form, prices }, None)?
        {
            Answer::PacketFile(file) => {
                let (bytes, _) = bowseam_app::door::packet(self.app, &file.name)?;
                Ok((file, bytes))
            }
            _ => Err(Ended::with(1, "The packet cannot be made.")),
        }
    }

    /// Every form, the originals, and the sums of all of it.
    fn folder(&self, to: &Path) -> Result<(), Ended> {
        let photos = to.join("photos");
        fs::create_dir_all(&photos).map_err(|e| wrong(&photos, &e))?;
        let mut sums = String::new();
        for form in ["pdf", "html", "xlsx", "csv", "json"] {
            let (made, bytes) = self.bytes(self::form(form)?)?;
            let name = format!("packet.{form}");
            write(&to.join(&name), &bytes)?;
            sums.push_str(&format!("{}  {name}\n", made.sha256));
        }
        let (with, without): (Vec<_>, Vec<_>) = self
            .photos()?
            .into_iter()
            .partition(|photo| self.positions || !photo.placed);
        if !without.is_empty() {
            eprintln!("{}", left_out(without.len()));
        }
        for Photo { sha256, .. } in with {
            // One that is not here, or not as it came, is said at the end.
            if let Ok(original) = self.app.photos().original(&sha256) {
                let ending = self
                    .app
                    .photos()
                    .about(&sha256)
                    .map_or("bin", |kept| kept.kind.media_type().trim_start_matches("image/"));
                let name = format!("photos/{sha256}.{ending}");
                let to = to.join(&name);
                fs::copy(original, &to).map_err(|e| wrong(&to, &e))?;
                sums.push_str(&format!("{sha256}  {name}\n"));
            }
        }
        write(&to.join(SUMS), sums.as_bytes())
    }

    /// The photos that the packet names.
    fn photos(&self) -> Result<Vec<Photo>, Ended> {
        match self
            .app
            .ask(&Asker::default(), Ask::Photos { job: self.job }, None)?
        {
            Answer::Photos(seen) => Ok(seen.photos),
            _ => Err(Ended::with(1, "The photos cannot be read.")),
        }
    }

    /// Hashes each original again.
    fn photos_are_as_they_came(&self) -> Result<(), Ended> {
        let photos = self.photos()?;
        let check = |Photo { sha256, .. }: &Photo| {
            let wrong = self.app.photos().verify(sha256).err()?;
            Some(format!("{sha256}: {wrong}"))
        };
        verdict(photos.len(), "photos", photos.iter().filter_map(check).collect())
    }
}

/// Said where a folder is written or proved that does not hold them.
fn left_out(originals: usize) -> String {
    format!(
        "{originals} of the originals say in their file where they were taken. They are not in the folder: --with-positions puts them in."
    )
}

/// Says how many are as they came and which are not.
fn verdict(all: usize, what: &str, wrong: Vec<String>) -> Result<(), Ended> {
    let same = all.saturating_sub(wrong.len());
    eprintln!("{same} of {all} {what} are byte for byte as they came.");
    match wrong.is_empty() {
        true => Ok(()),
        false => Err(Ended::with(NOT_AS_IT_CAME, wrong.join("\n"))),
    }
}

/// Hashes all that the sums of a packet's folder name, and looks for each photo that its JSON names.
fn prove(folder: &Path) -> Result<(), Ended> {
    let sums = folder.join(SUMS);
    let sums = fs::read_to_string(&sums).map_err(|e| wrong(&sums, &e))?;
    let named: Vec<(&str, &str)> = sums.lines().filter_map(|line| line.split_once("  ")).collect();
    let mut differ = Vec::new();
    for (sha256, name) in &named {
        match fs::read(folder.join(name)) {
            Err(e) => differ.push(format!("{name}: it cannot be read: {e}.")),
            Ok(bytes) if bowseam_photos::sha256(&bytes) != *sha256 => {
                differ.push(format!("{name}: it is not what it was when the packet was made."));
            }
            Ok(_) => {}
        }
    }
    let json = folder.join("packet.json");
    let json = fs::read(&json).map_err(|e| wrong(&json, &e))?;
    let json: serde_json::Value = serde_json::from_slice(&json)
        .map_err(|e| Ended::with(2, format!("packet.json is no packet: {e}.")))?;
    let photos = json
        .get("photos")
        .and_then(serde_json::Value::as_array)
        .into_iter()
        .flatten();
    let mut without = 0_usize;
    for photo in photos {
        let Some(sha256) = photo.get("sha256").and_then(serde_json::Value::as_str) else {
            continue;
        };
        if named.iter().any(|(named, _)| *named == sha256) {
            continue;
        }
        if photo.get("placed").and_then(serde_json::Value::as_bool) == Some(true) {
            without = without.saturating_add(1);
        } else {
            differ.push(format!(
                "{sha256}: the packet names this photo, and it is not in the folder."
            ));
        }
    }
    if without > 0 {
        eprintln!("{}", left_out(without));
    }
    verdict(named.len(), "files", differ)
}

fn write(file: &Path, bytes: &[u8]) -> Result<(), Ended> {
    fs::write(file, bytes).map_err(|e| wrong(file, &e))
}

fn wrong(path: &Path, error: &std::io::Error) -> Ended {
    Ended::with(1, format!("{}: {error}.", path.display()))
}
