//! The packet as a file: photos are shrunk to print size one after the other while somebody sees how far it is and may
//! stop it. What is made lies in the data folder and is made anew each time, so that it is never an old one.

use super::{blocks, first, gather, json, pairs, tables};
use crate::{
    answer::{Answer, PacketFile, PacketProgress, Refusal},
    app::App,
    ask::PacketForm,
    now::Now,
};
use bowseam_figures::canonical;
use bowseam_packet::{Error, Pictures};
use std::{
    collections::{HashMap, VecDeque},
    path::Path,
    sync::{Mutex, PoisonError},
};
use uuid::Uuid;

/// Longer side of a photo in the PDF, in pixels, by how many there are at most: about as many as paper shows (300 to
/// the inch), and fewer where the file would become too large to mail.
const PRINT: [(usize, u32); 3] = [(60, 1200), (150, 1000), (usize::MAX, 800)];

/// How far the packets are that are being made, by job.
pub type At = Mutex<HashMap<Uuid, Far>>;

/// How far one is.
#[derive(Debug, Clone, Copy, Default)]
pub struct Far {
    /// Photos that are in it, of how many.
    done: usize,
    of: usize,
    /// Pairs that are matched before, of how many.
    matched: usize,
    to_match: usize,
    stop: bool,
}

/// Small copies, as the page to read carries them.
pub struct Small<'a>(pub &'a App);

impl Pictures for Small<'_> {
    fn jpeg(&mut self, sha256: &str) -> Result<Option<Vec<u8>>, Error> {
        let small = self.0.photos().small(sha256).ok();
        Ok(small.and_then(|path| std::fs::read(path).ok()))
    }
}

/// Photos of a file, counted. The last ones are kept: those of a pair are shown twice, as a part and whole.
struct Print<'a> {
    app: &'a App,
    job: Uuid,
    /// Longer side in pixels; none: small copies.
    longest: Option<u32>,
    last: VecDeque<(String, Option<Vec<u8>>)>,
}

impl Print<'_> {
    fn made(&self, sha256: &str) -> Result<Option<Vec<u8>>, Error> {
        let print = |longest| self.app.photos().print(sha256, longest).ok();
        match self.longest.and_then(print) {
            Some(bytes) => Ok(Some(bytes)),
            // An original that was freed here has its small copy still.
            None => Small(self.app).jpeg(sha256),
        }
    }
}

impl Pictures for Print<'_> {
    fn jpeg(&mut self, sha256: &str) -> Result<Option<Vec<u8>>, Error> {
        let known = self.last.iter().find(|(name, _)| name == sha256);
        step(self.app, self.job, |far| {
            far.done = far.done.saturating_add(usize::from(known.is_none()));
        })?;
        if let Some((_, jpeg)) = known {
            return Ok(jpeg.clone());
        }
        let jpeg = self.made(sha256)?;
        self.last.push_back((sha256.to_owned(), jpeg.clone()));
        if self.last.len() > 2 {
            self.last.pop_front();
        }
        Ok(jpeg)
    }
}

/// Counts, and ends the packet if somebody wants it stopped.
fn step(app: &App, job: Uuid, count: impl FnOnce(&mut Far)) -> Result<(), Error> {
    let stop = with(app, |all| {
        let far = all.entry(job).or_default();
        count(far);
        far.stop
    });
    if stop { Err(Error::Stopped) } else { Ok(()) }
}

fn with<T>(app: &App, look: impl FnOnce(&mut HashMap<Uuid, Far>) -> T) -> T {
    look(&mut app.packets_at().lock().unwrap_or_else(PoisonError::into_inner))
}

/// Makes the file, answers where it is. One at a time a job.
///
/// # Errors
/// `packet_busy`, `packet_stopped`; the store cannot be read, the figures cannot be worked out, the folder cannot be
/// written.
pub fn make(now: &Now, form: PacketForm, prices: bool) -> Result<Answer, Refusal> {
    let (app, job) = (now.app, now.job.id);
    let of = now.job.photos.len();
    let begun = with(app, |all| {
        let free = !all.contains_key(&job);
        if free {
            all.insert(job, Far { of, ..Far::default() });
        }
        free
    });
    if !begun {
        let sentence = "A packet of this job is being made already: wait for it, or stop it.";
        return Err(Refusal::new("packet_busy", sentence));
    }
    let made = bytes(now, form, prices).and_then(|bytes| keep(now, form, prices, &bytes));
    with(app, |all| all.remove(&job));
    made.map(Answer::PacketFile)
}

fn bytes(now: &Now, form: PacketForm, prices: bool) -> Result<Vec<u8>, Refusal> {
    let packet = gather(now, prices)?;
    let (app, job) = (now.app, now.job.id);
    let paper = || {
        pairs::match_all(now, &packet.pairs, &mut |matched, to_match| {
            step(app, job, |far| (far.matched, far.to_match) = (matched, to_match))
        })?;
        Ok::<_, Error>(blocks::paper(now, &packet, true))
    };
    let mut print = Print {
        app,
        job,
        longest: None,
        last: VecDeque::new(),
    };
    Ok(match form {
        PacketForm::Json => json(&packet)?.into_bytes(),
        PacketForm::Html => bowseam_packet::html(&paper()?, &mut print)?.into_bytes(),
        PacketForm::Pdf => {
            let photos = packet.photos.len();
            let fits = PRINT.into_iter().find(|(most, _)| photos <= *most);
            print.longest = fits.map(|(_, longest)| longest);
            bowseam_packet::pdf(&paper()?, &mut print)?
        }
        PacketForm::Csv => bowseam_packet::csv(&first(tables::tables(&packet, "")))?.into_bytes(),
        PacketForm::Xlsx => {
            let sha256 = canonical::hex(json(&packet)?.as_bytes());
            let title = format!("Packet of unit {}", packet.unit);
            bowseam_packet::xlsx(
                &title,
                blocks::date(now.job.last),
                &tables::tables(&packet, &sha256),
            )?
        }
    })
}

/// Writes the file beside the store, and where the shell wants files that a person looks for.
fn keep(now: &Now, form: PacketForm, prices: bool, bytes: &[u8]) -> Result<PacketFile, Refusal> {
    let wrong =
        |e: std::io::Error| Refusal::new("packet_disk", format!("The packet cannot be written: {e}."));
    let name = name(&now.job.unit, now.job.id, form, prices);
    let folder = now.app.packets();
    std::fs::create_dir_all(&folder).map_err(wrong)?;
    write(&folder, &name, bytes).map_err(wrong)?;
    let saved = match now.app.files() {
        Some(folder) => {
            std::fs::create_dir_all(folder).map_err(wrong)?;
            write(folder, &name, bytes).map_err(wrong)?;
            Some(folder.join(&name).display().to_string())
        }
        None => None,
    };
    Ok(PacketFile {
        form,
        name,
        bytes: u64::try_from(bytes.len()).unwrap_or(u64::MAX),
        sha256: canonical::hex(bytes),
        saved,
    })
}

/// Whole or not at all.
fn write(folder: &Path, name: &str, bytes: &[u8]) -> std::io::Result<()> {
    let part = folder.join(format!(".{name}.part"));
    std::fs::write(&part, bytes)?;
    std::fs::rename(&part, folder.join(name))
}

/// `packet 4417 0192f0c1 without prices.pdf`: a unit's number has no sign that a file's name may not have.
fn name(unit: &str, job: Uuid, form: PacketForm, prices: bool) -> String {
    let kept = |c: char| if c.is_alphanumeric() || c == '-' { c } else { '_' };
    let unit: String = unit.chars().take(40).map(kept).collect();
    let job: String = job
        .simple()
        .to_string()
        .chars()
        .rev()
        .take(8)
        .collect::<Vec<_>>()
        .into_iter()
        .rev()
        .collect();
    let without = if prices { "" } else { " without prices" };
    format!("packet {unit} {job}{without}.{}", form.ending())
}

/// How far the packet of a job is that is being made.
pub fn progress(app: &App, job: Uuid) -> Answer {
    let far = with(app, |all| all.get(&job).copied());
    let small = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    Answer::PacketProgress(PacketProgress {
        making: far.is_some(),
        photos: far.map_or(0, |far| small(far.done.min(far.of))),
        of: far.map_or(0, |far| small(far.of)),
        matched: far.map_or(0, |far| small(far.matched)),
        to_match: far.map_or(0, |far| small(far.to_match)),
    })
}

/// Stops the packet of a job that is being made.
pub fn stop(app: &App, job: Uuid) -> Answer {
    with(app, |all| {
        if let Some(far) = all.get_mut(&job) {
            far.stop = true;
        }
    });
    progress(app, job)
}
