//! Packet: the record of one job that is handed over with the unit: to read (HTML, PDF), as tables (XLSX, CSV) and as
//! canonical JSON (RFC 8785), each with prices or, for a customer who is not to see them, without. The same job gives
//! the same packet, byte for byte, so its SHA-256 names it.
//!
//! It never says that a repair is safe or legal: it says what was checked, against which rule, and who signed.

mod blocks;
mod drawing;
mod make;
mod money;
mod over;
mod pairs;
mod shown;
mod tables;
mod without;

pub use make::{At, make, progress, stop};

use crate::{
    answer::{
        Answer, Field, FoundRow, GoAhead, MarkRow, Pair, Photo, ProofRow, Refusal, RoofOff, RoofOffRow,
        StepView,
    },
    ask::PacketForm,
    named,
    now::Now,
    roll, undo,
    view::{arrival, fold_out, found, handover, photos, proof, roof_off, steps},
    words,
};
use bowseam_figures::{body::Plan, canonical, estimate::Estimate};
use bowseam_jobs::{
    clock,
    entry::{ArrivalField, PlanField, Roll, What},
};
use bowseam_packet::Table;
use chrono::{DateTime, Utc};
use serde::Serialize;
use std::collections::BTreeSet;
use uuid::Uuid;

/// What every packet says of itself.
pub const NOTE: &str = "This packet never says that a repair is safe. It says what was checked, against which \
    rule, and who signed. Local codes, the maker's instructions and licensed practice come first.";

/// The packet as data.
#[derive(Debug, Serialize)]
pub struct Packet {
    /// Version of this form.
    packet: u32,
    /// With prices, or without.
    prices: bool,
    job: Uuid,
    unit: String,
    note: &'static str,
    /// Sealed: the inside is not seen.
    inside_not_seen: Option<String>,
    roll: Option<SignedRoll>,
    /// Why that answer does not hold any more, in words.
    roll_doubt: Option<String>,
    /// What was answered before, oldest first: that a unit was parked, and why, is on record.
    rolls_before: Vec<SignedRoll>,
    arrival: Vec<Field<ArrivalField>>,
    missing: Vec<String>,
    plan: Plan,
    measures: Vec<Field<PlanField>>,
    marks: Vec<MarkRow>,
    figures: Money,
    found: Vec<Found>,
    roof_off: Option<Check>,
    steps: Vec<StepView>,
    cautions: Vec<String>,
    proof: Vec<ProofRow>,
    rule_note: String,
    pairs: Vec<Pair>,
    photos: Vec<Photo>,
    photos_changed: Vec<String>,
    lacks: Vec<String>,
    left_open: Vec<String>,
    released: Option<String>,
    handed_over: Option<String>,
    keep: String,
    clashes: Vec<String>,
    /// Marks, photos, steps, values and answers that were taken back, in words.
    taken_back: Vec<String>,
    /// Everyone who wrote something into this job.
    people: Vec<String>,
}

/// Figures as they stand, without what only the screen of one person shows.
#[derive(Debug, Serialize)]
struct Money {
    estimate: Option<Estimate>,
    hash: Option<String>,
    go_ahead: GoAhead,
    agreed_total: Option<String>,
    lacks: Vec<String>,
}

/// A *found more* with what it added.
#[derive(Debug, Serialize)]
struct Found {
    row: FoundRow,
    added: Option<Estimate>,
}

/// The Roof-off check as it was answered.
#[derive(Debug, Serialize)]
struct Check {
    go: bool,
    rows: Vec<RoofOffRow>,
    overruled: Option<String>,
    opened: Option<DateTime<Utc>>,
}

/// *May it roll?* with who answered, and when.
#[derive(Debug, Serialize)]
struct SignedRoll {
    answer: Roll,
    by: String,
    at: String,
}

/// Answers to *May it roll?* that another one took the place of, in the order of their time on every device.
fn rolls_before(now: &Now) -> Result<Vec<SignedRoll>, Refusal> {
    let entries = now.app.store().entries(now.job.id)?;
    let taken_back = undo::taken_back(&entries);
    let holds = now.job.roll.as_ref().map(|kept| kept.entry);
    let before = entries
        .iter()
        .filter(|entry| Some(entry.id) != holds && !taken_back.contains(&entry.act))
        .filter_map(|entry| match &entry.what {
            What::Roll { answer: Some(roll) } => Some(SignedRoll {
                answer: roll.clone(),
                by: now.name(entry.person),
                at: words::utc(clock::wall(&entry.at)?),
            }),
            _ => None,
        });
    Ok(before.collect())
}

/// The packet in a form that is text. The page to read carries small copies of the photos.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out; `packet_file` for a form that is a file.
pub fn packet(now: &Now, form: PacketForm, prices: bool) -> Result<Answer, Refusal> {
    let packet = gather(now, prices)?;
    let text = match form {
        PacketForm::Json => json(&packet)?,
        PacketForm::Html => {
            bowseam_packet::html(&blocks::paper(now, &packet, false), &mut make::Small(now.app))?
        }
        PacketForm::Csv => bowseam_packet::csv(&first(tables::tables(&packet, "")))?,
        PacketForm::Pdf | PacketForm::Xlsx => {
            let sentence = "This form of the packet is a file: it is made as one.";
            return Err(Refusal::at("packet_file", "form", sentence));
        }
    };
    let sha256 = canonical::hex(text.as_bytes());
    Ok(Answer::Packet { form, text, sha256 })
}

fn first(tables: Vec<Table>) -> Table {
    tables.into_iter().next().unwrap_or_default()
}

/// Canonical JSON, without what says a price if it is made without.
fn json(packet: &Packet) -> Result<String, Refusal> {
    if packet.prices {
        return Ok(canonical::text(packet)?);
    }
    let whole = serde_json::to_value(packet).map_err(|e| Refusal::new("packet", e.to_string()))?;
    Ok(canonical::text(&without::prices(whole))?)
}

fn gather(now: &Now, prices: bool) -> Result<Packet, Refusal> {
    let (arrival, seen, hand_over) = (
        arrival::arrival(now)?,
        fold_out::fold_out(now)?,
        handover::hand_over(now)?,
    );
    let mut steps = steps::steps(now)?.steps;
    for step in &mut steps {
        // Which of them its reader had today is no part of what was done: phone and office hold the same packet.
        step.cautions_read.clear();
    }
    let mut cautions: Vec<String> = Vec::new();
    for caution in steps.iter().flat_map(|step| &step.cautions) {
        if !cautions.contains(caution) {
            cautions.push(caution.clone());
        }
    }
    let proof = proof::proof(now)?;
    Ok(Packet {
        packet: 2,
        prices,
        job: now.job.id,
        unit: now.job.unit.clone(),
        note: NOTE,
        inside_not_seen: now.sealed().map(|seal| format!("inside not seen: {seal}")),
        roll: now.job.roll.as_ref().map(|kept| SignedRoll {
            answer: kept.value.clone(),
            by: now.name(kept.by),
            at: words::utc(kept.at),
        }),
        roll_doubt: roll::doubt(&now.job),
        rolls_before: rolls_before(now)?,
        // What the unit is worth is nobody's business but the shop's and the payer's.
        arrival: arrival
            .fields
            .into_iter()
            .filter(|field| prices || field.field != ArrivalField::Value)
            .collect(),
        missing: arrival.missing,
        plan: now.plan.clone(),
        measures: seen.plan,
        marks: seen.marks,
        figures: money(now)?,
        found: found(now)?,
        roof_off: check(now)?,
        cautions,
        steps,
        proof: proof.rows,
        rule_note: proof.rule_note,
        pairs: proof.pairs,
        photos: now
            .job
            .photos
            .iter()
            .map(|photo| photos::photo(now, photo))
            .collect(),
        photos_changed: handover::photos(now, None).changed,
        lacks: hand_over.lacks,
        left_open: hand_over.left_open,
        released: hand_over.released,
        handed_over: hand_over.handed_over,
        keep: hand_over.keep_until,
        clashes: crate::view::head::head(now)?.clashes,
        taken_back: named::taken_back(now)?,
        people: people(now)?,
    })
}

fn money(now: &Now) -> Result<Money, Refusal> {
    let main = now.main()?;
    Ok(Money {
        estimate: main.estimate.clone(),
        hash: main.hash.clone(),
        go_ahead: main.go_ahead.clone(),
        agreed_total: now.agreed_total()?,
        lacks: main.lacks.clone(),
    })
}

fn found(now: &Now) -> Result<Vec<Found>, Refusal> {
    let one = |found| {
        Ok(Found {
            row: found::row(now, found)?,
            added: now.supplement(found.id)?.estimate.clone(),
        })
    };
    now.job.found.iter().map(one).collect()
}

fn check(now: &Now) -> Result<Option<Check>, Refusal> {
    let RoofOff {
        needed,
        go,
        mut rows,
        overruled,
        opened,
        ..
    } = roof_off::roof_off(now)?;
    for row in &mut rows {
        // Where stock lies, and so what has to be bought, is known on one phone only.
        row.stock_place = None;
        if roof_off::is_material(row) && !row.ok && row.have != Some(true) {
            let said = row.have.map_or("not answered", |_| "not there");
            row.remark = Some(said.to_owned());
        }
    }
    Ok(needed.then_some(Check {
        go,
        rows,
        overruled,
        opened,
    }))
}

/// Everyone who wrote something into this job, with their roles.
fn people(now: &Now) -> Result<Vec<String>, Refusal> {
    let entries = now.app.store().entries(now.job.id)?;
    let wrote: BTreeSet<Uuid> = entries.iter().map(|entry| entry.person).collect();
    let say = |id: &Uuid| {
        let roles = now.people.iter().find(|person| person.id == *id).map(|person| {
            let roles: Vec<&str> = person.roles.iter().map(|role| words::role(*role)).collect();
            words::list(&roles)
        });
        match roles.filter(|roles| !roles.is_empty()) {
            Some(roles) => format!("{}, {roles}", now.name(*id)),
            None => now.name(*id),
        }
    };
    let mut said: Vec<String> = wrote.iter().map(say).collect();
    said.sort();
    Ok(said)
}
