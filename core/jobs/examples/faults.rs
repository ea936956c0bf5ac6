//! Faults on purpose: a program that saves and one that sends are killed at random moments, and what was
//! acknowledged must be there, once, on both sides.
//!
//! `faults N [FIRST]` runs N seeds. A seed is 50 saves and 20 sendings, spread over children that are ended
//! with SIGKILL after a random number of acknowledgements and a random moment more. This shows what a killed
//! program loses; a killed power supply is not simulated here.
//!
//! The model: a child prints a line when `append` or `receive` has returned. Whatever was printed must be in
//! the store when it opens again; what was not printed may be there, whole acts only; nothing may be there
//! twice; after the rest was sent both stores must show the same; projections must come out the same when
//! they are rebuilt.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout
)]

#[path = "common/dice.rs"]
mod dice;

use bowseam_figures::mark::{DamageKind, Part, Place, Surface};
use bowseam_figures::measure::Length;
use bowseam_jobs::{Outcome, Store, entry::*, outbox::Item};
use chrono::{TimeDelta, Utc};
use dice::Dice;
use std::{
    collections::{BTreeMap, BTreeSet},
    env,
    io::{BufRead, BufReader, Write},
    path::{Path, PathBuf},
    process::{Command, ExitCode, Stdio},
    time::Duration,
};
use uuid::Uuid;

const SAVES: usize = 50;
const SENDINGS: usize = 20;
const JOBS: u64 = 3;

fn job(n: u64) -> Uuid {
    Uuid::from_u128(u128::from(n) + 1)
}

fn main() -> ExitCode {
    let args: Vec<String> = env::args().skip(1).collect();
    let words: Vec<&str> = args.iter().map(String::as_str).collect();
    match words[..] {
        ["save", folder, seed, count] => {
            save(Path::new(folder), seed.parse().unwrap(), count.parse().unwrap())
        }
        ["send", from, to, seed, count] => {
            send(
                Path::new(from),
                Path::new(to),
                seed.parse().unwrap(),
                count.parse().unwrap(),
            );
        }
        [count] => return seeds(0, count.parse().unwrap()),
        [count, first] => return seeds(first.parse().unwrap(), count.parse().unwrap()),
        _ => panic!("faults N [FIRST]"),
    }
    ExitCode::SUCCESS
}

fn say(line: &str) {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{line}").unwrap();
    out.flush().unwrap();
}

// --- the children ---------------------------------------------------------------------------------------

/// One act out of those a technician makes on a round; some take back the one before.
fn act(store: &Store, dice: &mut Dice, job: Uuid, person: Uuid) -> Vec<What> {
    let mark = Uuid::from_u128(u128::from(dice.roll(6)) + 100);
    let place = Place {
        surface: Surface::Roof,
        from: Length::inches(dice.roll(300) as i64),
        to: Length::inches(400),
        low: Length::ZERO,
        high: Length::inches(100),
    };
    let mark = |change| What::Mark { mark, change };
    match dice.roll(8) {
        0 => vec![What::Opened {
            unit: format!("T-{}", dice.roll(50)),
        }],
        1 => vec![
            mark(MarkChange::Place(place)),
            mark(MarkChange::Kind(DamageKind::Tear)),
            mark(MarkChange::Part(Part::RoofSheet)),
        ],
        2 => vec![mark(MarkChange::Note("n".repeat(dice.roll(9000) as usize)))],
        3 | 4 => {
            let (of, when, name) = (PhotoOf::Unit, PhotoWhen::Before, "1.jpg".into());
            let change = PhotoChange::Added {
                of,
                when,
                name,
                bytes: dice.roll(9_000_000),
                taken: None,
                clock: None,
                placed: false,
            };
            vec![What::Photo {
                sha256: format!("{:064x}", dice.roll(40)),
                change,
            }]
        }
        5 => match store.undo_last(job, person).unwrap() {
            Some(act) => vec![What::Undone { act, undone: true }],
            None => vec![What::RoofOpened { opened: true }],
        },
        6 => vec![What::Time {
            step: "strip".into(),
            on: dice.roll(2) == 0,
        }],
        _ => vec![What::Arrival {
            field: ArrivalField::Slot,
            value: Some(format!("row {}", dice.roll(9))),
        }],
    }
}

/// Saves acts and prints each when it is durable: the ids of its entries.
fn save(folder: &Path, seed: u64, count: usize) {
    let store = Store::open(folder).unwrap().store;
    let mut dice = Dice(seed);
    for _ in 0..count {
        let (job, person) = (job(dice.roll(JOBS)), Uuid::from_u128(7));
        let whats = act(&store, &mut dice, job, person);
        let saved = store.append(job, person, Uuid::now_v7(), whats).unwrap();
        say(&saved
            .iter()
            .map(|entry| entry.id.to_string())
            .collect::<Vec<_>>()
            .join(" "));
    }
}

/// What the office has of the photos: one name a file is enough for a check of the queue.
fn photo_file(to: &Path, item: &Item) -> PathBuf {
    to.join(format!("photo-{}", item.sha256))
}

/// Sends what is due in small lots, some of it twice, some answers lost; prints each lot the office has.
fn send(from: &Path, to: &Path, seed: u64, count: usize) {
    let (phone, office) = (Store::open(from).unwrap().store, Store::open(to).unwrap().store);
    let mut dice = Dice(seed);
    for _ in 0..count {
        send_lot(&phone, &office, to, &mut dice);
        say("sent");
    }
}

/// Whether anything was due.
fn send_lot(phone: &Store, office: &Store, to: &Path, dice: &mut Dice) -> bool {
    let due = phone
        .due(Utc::now() + TimeDelta::days(1), 1 + dice.roll(6) as usize)
        .unwrap();
    let numbers: Vec<i64> = due.iter().map(|item| item.n).collect();
    phone.on_the_way(&numbers).unwrap();
    let mut entries = Vec::new();
    for item in &due {
        if item.kind == bowseam_jobs::outbox::ItemKind::Photo {
            std::fs::write(photo_file(to, item), b"").unwrap();
        } else {
            let entry = phone
                .entry(item.entry)
                .unwrap()
                .expect("an item names an entry that is not there");
            if !item.sha256.is_empty() {
                assert!(photo_file(to, item).exists(), "an entry went before its photo");
            }
            entries.push(entry);
        }
    }
    if dice.roll(3) == 0 {
        entries.extend(entries.clone());
        entries.reverse();
    }
    let receipts = office.receive(&entries).unwrap();
    assert!(
        receipts
            .iter()
            .all(|receipt| !matches!(receipt.outcome, Outcome::Refused { .. })),
        "{receipts:?}"
    );
    if dice.roll(4) == 0 {
        // The answer got lost: the phone does not know that the office has them.
        phone
            .later(&numbers, Utc::now() + TimeDelta::seconds(30), "no answer")
            .unwrap();
    } else {
        phone.arrived(&numbers).unwrap();
    }
    !due.is_empty()
}

// --- the parent -----------------------------------------------------------------------------------------

fn seeds(first: u64, count: u64) -> ExitCode {
    let mut failed = 0;
    for seed in first..first + count {
        let folder = tempfile::tempdir().unwrap();
        if let Err(why) = run(seed, folder.path()) {
            failed += 1;
            say(&format!("seed {seed} failed: {why}"));
        }
    }
    say(&format!(
        "faults: {count} seeds, {SAVES} saves and {SENDINGS} sendings each, {failed} failed"
    ));
    if failed == 0 {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

/// Starts a child, kills it after `lines` lines and a moment more; the lines that it printed.
fn child(args: &[&str], lines: usize, moment: Duration) -> Result<Vec<String>, String> {
    let mut child = Command::new(env::current_exe().unwrap())
        .args(args)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut out = BufReader::new(child.stdout.take().unwrap()).lines();
    let mut read: Vec<String> = out.by_ref().take(lines).map(Result::unwrap).collect();
    std::thread::sleep(moment);
    child.kill().unwrap();
    // What it printed before it was killed was acknowledged too.
    read.extend(out.map(Result::unwrap));
    let end = child.wait_with_output().unwrap();
    match end.status.code() {
        Some(code) if code != 0 => Err(String::from_utf8_lossy(&end.stderr).into_owned()),
        _ => Ok(read),
    }
}

fn run(seed: u64, folder: &Path) -> Result<(), String> {
    let mut dice = Dice(seed.wrapping_mul(0x1234_5678_9abc_def1));
    let (phone, office) = (folder.join("phone"), folder.join("office"));
    std::fs::create_dir_all(&office).unwrap();
    let (from, to) = (phone.to_str().unwrap(), office.to_str().unwrap());
    let mut acknowledged: Vec<Vec<Uuid>> = Vec::new();
    let (mut saves, mut sendings) = (0, 0);
    while saves < SAVES || sendings < SENDINGS {
        let moment = Duration::from_micros(dice.roll(6000));
        let child_seed = dice.roll(u64::MAX).to_string();
        if sendings >= SENDINGS || (saves < SAVES && dice.roll(2) == 0) {
            let lines = (dice.roll(10) as usize).min(SAVES - saves);
            let said = child(&["save", from, &child_seed, "100"], lines, moment)?;
            saves += said.len();
            acknowledged.extend(
                said.iter()
                    .map(|line| line.split(' ').map(|id| id.parse().unwrap()).collect()),
            );
        } else {
            let lines = (dice.roll(5) as usize).min(SENDINGS - sendings);
            sendings += child(&["send", from, to, &child_seed, "100"], lines, moment)?.len();
        }
        check_phone(&phone, &acknowledged)?;
    }
    finish(&phone, &office, &mut dice)
}

/// Everything acknowledged is there, once, and every act is whole.
fn check_phone(folder: &Path, acknowledged: &[Vec<Uuid>]) -> Result<(), String> {
    let opened = Store::open(folder).map_err(|error| error.to_string())?;
    if let Some(salvage) = opened.salvage {
        return Err(format!("damaged by being killed: {salvage}"));
    }
    let store = opened.store;
    let entries: Vec<Entry> = store
        .entries_after(0, usize::MAX)
        .unwrap()
        .into_iter()
        .map(|(_, entry)| entry)
        .collect();
    let ids: BTreeSet<Uuid> = entries.iter().map(|entry| entry.id).collect();
    if ids.len() != entries.len() {
        return Err("an entry is there twice".into());
    }
    if let Some(lost) = acknowledged.iter().flatten().find(|id| !ids.contains(id)) {
        return Err(format!("lost: {lost}"));
    }
    if !entries.iter().map(|entry| entry.seq).eq(1..=entries.len() as u64) {
        return Err("the device's numbers have a gap".into());
    }
    let mut acts: BTreeMap<Uuid, BTreeSet<Uuid>> = BTreeMap::new();
    for entry in &entries {
        acts.entry(entry.act).or_default().insert(entry.id);
    }
    for ids in acknowledged {
        if !acts
            .values()
            .any(|act| act.iter().eq(&ids.iter().copied().collect::<BTreeSet<_>>()))
        {
            return Err(format!("an act is not whole: {ids:?}"));
        }
    }
    // A mark is placed in one act of three entries: three or none.
    let places = |e: &&Entry| {
        matches!(
            &e.what,
            What::Mark {
                change: MarkChange::Place(_),
                ..
            }
        )
    };
    match entries
        .iter()
        .filter(places)
        .find(|place| acts[&place.act].len() != 3)
    {
        Some(torn) => Err(format!("an act is torn: {}", torn.act)),
        None => Ok(()),
    }
}

/// Sends the rest undisturbed; then both sides show the same, and rebuilding changes nothing.
fn finish(from: &Path, to: &Path, dice: &mut Dice) -> Result<(), String> {
    let (phone, office) = (Store::open(from).unwrap().store, Store::open(to).unwrap().store);
    while send_lot(&phone, &office, to, dice) {}
    if !phone.unsent(None, 10).unwrap().is_empty() {
        return Err("something is left in the outbox".into());
    }
    let ids = |store: &Store| {
        store
            .entries_after(0, usize::MAX)
            .unwrap()
            .into_iter()
            .map(|(_, e)| e.id)
            .collect::<Vec<_>>()
    };
    let (ours, theirs) = (ids(&phone), ids(&office));
    if ours.len() != theirs.len() || BTreeSet::from_iter(&ours) != BTreeSet::from_iter(&theirs) {
        return Err(format!(
            "the office has {} entries of {}",
            theirs.len(),
            ours.len()
        ));
    }
    let shown = |store: &Store| -> Vec<_> {
        let list = store.jobs(100, None).unwrap().0;
        let jobs = (0..JOBS).map(|n| (store.job(job(n)).unwrap(), store.entries(job(n)).unwrap()));
        jobs.map(|job| format!("{job:?}"))
            .chain(list.iter().map(|line| format!("{line:?}")))
            .collect()
    };
    let (phone_shows, office_shows) = (shown(&phone), shown(&office));
    if phone_shows != office_shows {
        return Err("the two stores show different jobs".into());
    }
    phone.rebuild().unwrap();
    office.rebuild().unwrap();
    if shown(&phone) != phone_shows || shown(&office) != office_shows {
        return Err("rebuilding changed what is shown".into());
    }
    Ok(())
}
