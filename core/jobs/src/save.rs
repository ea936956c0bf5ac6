//! Inside a transaction: entries in, and what the yard list shows read off them.

use crate::{
    clock::{Clock, wall},
    entry::{ArrivalField, Entry, OfficeField, PhotoChange, What},
    error::Error,
    fold::Registers,
    job::{Asked, Job, Kept, Stage},
    outbox, stock,
    store::{Outcome, Receipt, Result, Summary},
};
use rusqlite::{Connection, ErrorCode, OptionalExtension, params};
use std::collections::BTreeSet;
use uuid::Uuid;

/// How many jobs are kept folded.
const OPEN_JOBS: usize = 8;
/// The longest entry taken from elsewhere, in bytes of JSON.
const LONGEST_ENTRY: usize = 8 << 20;

/// What the store keeps in memory beside its connection.
pub(crate) struct State {
    clock: Clock,
    /// The device that writes here.
    pub(crate) device: Uuid,
    /// Jobs kept folded, the last used one last.
    open: Vec<(Uuid, Registers)>,
}

impl State {
    pub(crate) fn new(clock: Clock, device: Uuid) -> Self {
        Self {
            clock,
            device,
            open: Vec::new(),
        }
    }

    /// Drops what is folded: a transaction failed, and it may hold what was not saved.
    pub(crate) fn forget(&mut self) {
        self.open.clear();
    }

    /// The registers of a job, read from the store unless it is one of those last used.
    pub(crate) fn folded(&mut self, conn: &Connection, job: Uuid) -> Result<&mut Registers> {
        let kept = match self.open.iter().position(|(id, _)| *id == job) {
            Some(place) => self.open.remove(place),
            None => (job, read_registers(conn, job)?),
        };
        if self.open.len() >= OPEN_JOBS {
            self.open.remove(0);
        }
        self.open.push(kept);
        let last = self.open.last_mut().map(|(_, registers)| registers);
        last.ok_or_else(|| Error::Refused("The job could not be opened.".into()))
    }

    pub(crate) fn append(
        &mut self,
        tx: &Connection,
        job: Uuid,
        person: Uuid,
        act: Uuid,
        whats: Vec<What>,
    ) -> Result<Vec<Entry>> {
        let device = self.device;
        let mut seq = next_seq(tx, device)?;
        let mut entries = Vec::with_capacity(whats.len());
        for what in whats {
            let id = Uuid::now_v7();
            let registers = self.folded(tx, job)?;
            let register = what.register(id);
            let held = register.as_ref().and_then(|register| registers.holder(register));
            let (saw, held) = (held.map(|held| held.id), held.map(|held| held.at.clone()));
            let also = register
                .map(|register| registers.beside(&register, saw))
                .unwrap_or_default();
            let at = self.clock.after(held.as_deref());
            let entry = Entry {
                id,
                job,
                act,
                device,
                seq,
                at,
                person,
                saw,
                also,
                what,
            };
            let json = serde_json::to_string(&entry)?;
            insert(tx, &entry, &json)?;
            outbox::queue(tx, &entry, json.len())?;
            self.folded(tx, job)?.add(entry.clone());
            entries.push(entry);
            seq = seq.saturating_add(1);
        }
        if !entries.is_empty() {
            write_summary(tx, &self.folded(tx, job)?.job(job))?;
        }
        Ok(entries)
    }

    pub(crate) fn receive(&mut self, tx: &Connection, entries: &[Entry]) -> Result<Vec<Receipt>> {
        let mut jobs = BTreeSet::new();
        let mut receipts = Vec::with_capacity(entries.len());
        for entry in entries {
            let outcome = take(tx, entry)?;
            if outcome == Outcome::Taken {
                self.clock.saw(&entry.at);
                // One that is not folded is read with this entry in it when it is used.
                if let Some((_, registers)) = self.open.iter_mut().find(|(id, _)| *id == entry.job) {
                    registers.add(entry.clone());
                }
                jobs.insert(entry.job);
            }
            receipts.push(Receipt {
                id: entry.id,
                outcome,
            });
        }
        self.summarize(tx, jobs)?;
        Ok(receipts)
    }

    /// Takes entries of a log over, as they stand there: they were judged when they came into it, and all fit or none.
    /// Answers their jobs, whose lines are to be written anew.
    pub(crate) fn follow(&mut self, tx: &Connection, entries: &[String]) -> Result<BTreeSet<Uuid>> {
        let (mut jobs, mut devices) = (BTreeSet::new(), BTreeSet::new());
        for json in entries {
            let entry: Entry = serde_json::from_str(json)?;
            if devices.insert(entry.device) {
                know_device(tx, entry.device)?;
            }
            insert(tx, &entry, json).map_err(|error| not_twice(error, &entry))?;
            self.clock.saw(&entry.at);
            jobs.insert(entry.job);
            if let Some((_, registers)) = self.open.iter_mut().find(|(id, _)| *id == entry.job) {
                registers.add(entry);
            }
        }
        Ok(jobs)
    }

    /// Writes the lines of these jobs anew.
    pub(crate) fn summarize(&mut self, tx: &Connection, jobs: BTreeSet<Uuid>) -> Result<()> {
        for job in jobs {
            write_summary(tx, &self.folded(tx, job)?.job(job))?;
        }
        Ok(())
    }
}

/// Stores one entry from elsewhere, or says why not.
fn take(tx: &Connection, entry: &Entry) -> Result<Outcome> {
    let refused = |why: &str| Ok(Outcome::Refused { why: why.to_owned() });
    let json = serde_json::to_string(entry)?;
    let had: Option<String> = tx
        .prepare_cached("SELECT json FROM entry WHERE id = ?1")?
        .query_row([entry.id.as_bytes()], |row| row.get(0))
        .optional()?;
    if let Some(had) = had {
        // Fields that a newer program wrote may be missing in one of the two: compared as entries.
        return match serde_json::from_str::<Entry>(&had)? == *entry {
            true => Ok(Outcome::Had),
            false => refused("Another change with the same id is here already. Nothing was overwritten."),
        };
    }
    if wall(&entry.at).is_none() {
        return refused("Its time cannot be read. A time is 16 hexadecimal digits, before the year 2097.");
    }
    if entry.seq == 0 || i64::try_from(entry.seq).is_err() {
        return refused("Its number cannot be. A device counts its changes from 1.");
    }
    if json.len() > LONGEST_ENTRY {
        return refused("It is too long. One change is at most 8 MiB.");
    }
    let taken: bool = tx
        .prepare_cached("SELECT 1 FROM entry WHERE device = ?1 AND seq = ?2")?
        .exists(params![entry.device.as_bytes(), entry.seq])?;
    if taken {
        return refused(
            "Another change of the same device has its number: the device's folder was copied. Enrol the device again.",
        );
    }
    know_device(tx, entry.device)?;
    insert(tx, entry, &json)?;
    Ok(Outcome::Taken)
}

fn know_device(tx: &Connection, device: Uuid) -> Result<()> {
    tx.prepare_cached("INSERT INTO device (id) VALUES (?1) ON CONFLICT DO NOTHING")?
        .execute([device.as_bytes()])?;
    Ok(())
}

/// An entry whose id, or whose number of its device, is here already says that this store is of another log.
fn not_twice(error: Error, entry: &Entry) -> Error {
    match &error {
        Error::Database(cause) if cause.sqlite_error_code() == Some(ErrorCode::ConstraintViolation) => {
            Error::Away(format!("its entry {} does not fit what is here", entry.id))
        }
        _ => error,
    }
}

pub(crate) fn insert(tx: &Connection, entry: &Entry, json: &str) -> Result<()> {
    tx.prepare_cached(
        "INSERT INTO entry (id, job, device, seq, at, kind, json) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
    )?
    .execute(params![
        entry.id.as_bytes(),
        entry.job.as_bytes(),
        entry.device.as_bytes(),
        entry.seq,
        entry.at,
        entry.what.kind(),
        json
    ])?;
    if let Some((sha256, _)) = added_photo(&entry.what) {
        tx.prepare_cached("INSERT INTO photo_job (sha256, job) VALUES (?1, ?2) ON CONFLICT DO NOTHING")?
            .execute(params![sha256, entry.job.as_bytes()])?;
    }
    Ok(())
}

fn next_seq(tx: &Connection, device: Uuid) -> Result<u64> {
    Ok(tx
        .prepare_cached("SELECT coalesce(max(seq), 0) + 1 FROM entry WHERE device = ?1")?
        .query_row([device.as_bytes()], |row| row.get(0))?)
}

fn read_registers(conn: &Connection, job: Uuid) -> Result<Registers> {
    let mut registers = Registers::default();
    let mut statement = conn.prepare_cached("SELECT json FROM entry WHERE job = ?1")?;
    let mut rows = statement.query([job.as_bytes()])?;
    while let Some(row) = rows.next()? {
        registers.add(serde_json::from_str(
            row.get_ref(0)?.as_str().map_err(rusqlite::Error::from)?,
        )?);
    }
    Ok(registers)
}

fn write_summary(tx: &Connection, job: &Job) -> Result<()> {
    let field = |field: ArrivalField| {
        job.arrival
            .get(&field)
            .map(|kept| kept.value.clone())
            .unwrap_or_default()
    };
    let found = [
        ArrivalField::Vin,
        ArrivalField::Plate,
        ArrivalField::Slot,
        ArrivalField::Order,
        ArrivalField::Payer,
        ArrivalField::Seal,
    ];
    let find = found
        .into_iter()
        .fold(job.unit.clone(), |text, name| format!("{text}\n{}", field(name)))
        .to_lowercase();
    let unanswered = unanswered(job).into_iter();
    let summary = Summary {
        id: job.id,
        unit: job.unit.clone(),
        vin: field(ArrivalField::Vin),
        slot: field(ArrivalField::Slot),
        stage: job.stage,
        last: job.last,
        roll: job.roll.as_ref().map(|roll| roll.value.answer),
        hold: job.hold.as_ref().map(|hold| hold.value.clone()),
        marks: job.marks.len(),
        photos: job.photos.len(),
        found: job.found.len(),
        unanswered: unanswered.clone().count(),
        unanswered_found: unanswered
            .clone()
            .filter(|asked| asked.value.found.is_some())
            .count(),
        asked_since: unanswered.map(|asked| asked.at).min(),
        roof_open: job.roof_opened.as_ref().is_some_and(|kept| kept.value)
            && !matches!(job.stage, Stage::Proved | Stage::HandedOver),
        clashes: job.clashes.len(),
        not_known: job.not_known,
        unsent: 0,
        stuck: 0,
    };
    let last = job.last.and_then(crate::clock::at).unwrap_or_default();
    tx.prepare_cached(
        "INSERT INTO job (id, last, find, summary, open, due) VALUES (?1, ?2, ?3, ?4, ?5,
             coalesce((SELECT due FROM kept_row WHERE job = ?1), '~'))
         ON CONFLICT DO UPDATE SET last = excluded.last, find = excluded.find, summary = excluded.summary,
             open = excluded.open, figured = ''",
    )?
    .execute(params![
        job.id.as_bytes(),
        last,
        find,
        serde_json::to_string(&summary)?,
        open(job)
    ])?;
    stock::write_moves(tx, job)
}

/// 1 while the unit is here, 0 once it left, -1 once its record was let go.
fn open(job: &Job) -> i64 {
    let let_go = job.office.get(&OfficeField::Retain);
    match (&job.handed_over, let_go) {
        (None, _) => 1,
        (Some(_), Some(kept)) if kept.value == "let_go" => -1,
        (Some(_), _) => 0,
    }
}

/// Of the whole job and of each *found more* the newest figures, if they have no answer.
fn unanswered(job: &Job) -> Vec<&Kept<Asked>> {
    let mut seen = BTreeSet::new();
    let newest = job
        .asked
        .iter()
        .rev()
        .filter(|asked| seen.insert(asked.value.found));
    newest.filter(|asked| job.answer_to(asked).is_none()).collect()
}

/// Reads every job off its entries again.
pub(crate) fn rebuild(tx: &Connection) -> Result<()> {
    tx.execute("DELETE FROM job", [])?;
    tx.execute("DELETE FROM stock_move", [])?;
    let mut statement = tx.prepare("SELECT DISTINCT job FROM entry")?;
    let jobs: Vec<[u8; 16]> = statement
        .query_map([], |row| row.get(0))?
        .collect::<rusqlite::Result<_>>()?;
    for job in jobs.into_iter().map(Uuid::from_bytes) {
        write_summary(tx, &read_registers(tx, job)?.job(job))?;
    }
    // Rows that were figured before are still right where nothing came since.
    tx.execute(
        "UPDATE job SET figured = k.made_with FROM kept_row AS k
         WHERE k.job = job.id AND k.n = (SELECT max(n) FROM entry WHERE entry.job = job.id)",
        [],
    )?;
    Ok(())
}

/// The photo that an entry adds, and its bytes.
pub(crate) fn added_photo(what: &What) -> Option<(&str, u64)> {
    match what {
        What::Photo {
            sha256,
            change: PhotoChange::Added { bytes, .. },
        } => Some((sha256, *bytes)),
        _ => None,
    }
}
