//! Several phones and an office over random days: they write while they do not hear each other, their clocks are wrong
//! by days, messages come late, twice, out of order or not at all. In the end everybody has heard everything, and then
//! all of them see the same job, and whatever was overwritten by somebody who had not seen it is shown to people.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;
use bowseam_jobs::{Store, clock, entry::*, job::*};
use chrono::{DateTime, TimeDelta};
use common::{JOB, id};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// How many devices there are; the last one is the office.
const DEVICES: usize = 4;

/// One thing that happens.
#[derive(Debug, Clone)]
enum Happens {
    /// A device writes: to which of a few things, which of a few values.
    Writes { device: usize, thing: u8, value: u8 },
    /// A device takes its last act back, or puts it back again.
    TakesBack { device: usize, undone: bool },
    /// A device gives another some of what it has, in this order of luck: true arrives, false is lost.
    Gives { from: usize, to: usize, luck: Vec<bool> },
}

fn happens() -> impl Strategy<Value = Happens> {
    let device = 0..DEVICES;
    prop_oneof![
        5 => (device.clone(), 0..5u8, 0..4u8).prop_map(|(device, thing, value)| Happens::Writes { device, thing, value }),
        1 => (device.clone(), any::<bool>()).prop_map(|(device, undone)| Happens::TakesBack { device, undone }),
        3 => (device.clone(), device, proptest::collection::vec(any::<bool>(), 1..9))
            .prop_map(|(from, to, luck)| Happens::Gives { from, to, luck }),
    ]
}

/// A random day: what happens, and by how many minutes each clock is wrong (up to a week either way).
fn day() -> impl Strategy<Value = (Vec<Happens>, Vec<i64>)> {
    (
        proptest::collection::vec(happens(), 1..160),
        proptest::collection::vec(-10_080..10_080i64, DEVICES),
    )
}

/// What a person may write: a field of Arrival, a measured value, a mark's note, a hold, a row of Proof.
fn what(thing: u8, value: u8) -> What {
    let text = format!("value {value}");
    match thing {
        0 => What::Arrival {
            field: ArrivalField::Slot,
            value: (value > 0).then_some(text),
        },
        1 => What::Measured {
            step: "stretch".into(),
            value: "bounce".into(),
            measured: Some(Measured {
                length: None,
                text,
                reason: String::new(),
            }),
        },
        2 => What::Mark {
            mark: id(50),
            change: MarkChange::Note(text),
        },
        3 => What::Held {
            hold: (value > 1).then_some(Hold {
                why: HoldWhy::Parts,
                note: text,
            }),
        },
        _ => What::Proof {
            row: "lights".into(),
            answer: Some(ProofAnswer {
                ok: ProofOk::Yes,
                value: text,
                note: String::new(),
            }),
        },
    }
}

/// One device with what it knows.
struct Device {
    number: usize,
    wrong_by: i64,
    has: Vec<Entry>,
    last_at: String,
    written: u64,
}

/// All devices, and of each entry what its writer knew when writing it.
struct World {
    devices: Vec<Device>,
    knew: BTreeMap<Uuid, BTreeSet<Uuid>>,
    minutes: i64,
}

fn order(entry: &Entry) -> (&str, Uuid, u64) {
    (&entry.at, entry.device, entry.seq)
}

/// Acts that are taken back in what a device has.
fn taken_back(entries: &[Entry]) -> BTreeSet<Uuid> {
    let mut last: BTreeMap<Uuid, &Entry> = BTreeMap::new();
    for entry in entries {
        if let What::Undone { act, .. } = entry.what {
            let held = last.entry(act).or_insert(entry);
            if order(held) < order(entry) {
                *held = entry;
            }
        }
    }
    last.into_iter()
        .filter(|(_, entry)| matches!(entry.what, What::Undone { undone: true, .. }))
        .map(|(act, _)| act)
        .collect()
}

/// The entries of a register that are not taken back, in order: the last one holds.
fn living<'a>(entries: &'a [Entry], register: &str) -> Vec<&'a Entry> {
    let back = taken_back(entries);
    let mut of_it: Vec<&Entry> = entries
        .iter()
        .filter(|entry| entry.what.register(entry.id).as_deref() == Some(register))
        .filter(|entry| !(entry.what.can_be_taken_back() && back.contains(&entry.act)))
        .collect();
    of_it.sort_by_key(|entry| order(entry));
    of_it
}

/// What a device has of a register that nothing else of it leads back to, beside the holder.
fn newest(entries: &[Entry], register: &str, holder: Option<Uuid>) -> Vec<Uuid> {
    let of_it = || {
        entries
            .iter()
            .filter(|entry| entry.what.register(entry.id).as_deref() == Some(register))
    };
    let followed: BTreeSet<Uuid> = of_it()
        .flat_map(|entry| entry.saw.into_iter().chain(entry.also.clone()))
        .collect();
    of_it()
        .map(|entry| entry.id)
        .filter(|id| !followed.contains(id) && Some(*id) != holder)
        .collect()
}

impl World {
    fn new(wrong_by: &[i64]) -> Self {
        let device = |(number, wrong_by): (usize, &i64)| Device {
            number,
            wrong_by: *wrong_by,
            has: Vec::new(),
            last_at: String::new(),
            written: 0,
        };
        Self {
            devices: wrong_by.iter().enumerate().map(device).collect(),
            knew: BTreeMap::new(),
            minutes: 0,
        }
    }

    /// The device's own clock, and what it replaces, decide the time as the store's clock does.
    fn write(&mut self, number: usize, act: Uuid, what: What) {
        let device = &mut self.devices[number];
        device.written += 1;
        let (seq, place) = (device.written, Uuid::from_u128(1 << 40 | number as u128));
        let entry_id = Uuid::from_u128((number as u128 + 1) << 64 | u128::from(seq));
        let held = what.register(entry_id).and_then(|register| {
            living(&device.has, &register)
                .last()
                .map(|held| (held.id, held.at.clone()))
        });
        let also = what
            .register(entry_id)
            .map(|register| newest(&device.has, &register, held.as_ref().map(|(id, _)| *id)))
            .unwrap_or_default();
        let start: DateTime<chrono::Utc> = "2026-03-02T08:00:00Z".parse().unwrap();
        let wall = start + TimeDelta::minutes(self.minutes + device.wrong_by);
        let mut at = clock::at(wall).unwrap();
        for least in [Some(&device.last_at), held.as_ref().map(|(_, at)| at)]
            .into_iter()
            .flatten()
        {
            if *least >= at {
                at = format!("{:016x}", u64::from_str_radix(least, 16).unwrap() + 1);
            }
        }
        device.last_at.clone_from(&at);
        // What the writers of this same thing knew, whoever saw theirs knew with it.
        let mut knew: BTreeSet<Uuid> = device.has.iter().map(|entry| entry.id).collect();
        let register = what.register(entry_id);
        let same = device
            .has
            .iter()
            .filter(|entry| entry.what.register(entry.id) == register);
        knew.extend(same.flat_map(|entry| self.knew[&entry.id].clone()));
        self.knew.insert(entry_id, knew);
        device.has.push(Entry {
            id: entry_id,
            job: id(JOB),
            act,
            device: place,
            seq,
            at,
            person: Uuid::from_u128(900 + number as u128),
            saw: held.as_ref().map(|(id, _)| *id),
            also,
            what,
        });
    }

    fn give(&mut self, from: usize, to: usize, luck: &[bool]) {
        let gift: Vec<Entry> = self.devices[from]
            .has
            .iter()
            .zip(luck.iter().cycle())
            .filter(|(_, lucky)| **lucky)
            .map(|(entry, _)| entry.clone())
            .collect();
        for entry in gift.into_iter().rev() {
            if !self.devices[to].has.contains(&entry) {
                self.devices[to].has.push(entry);
            }
        }
    }

    fn happen(&mut self, what_happens: &Happens) {
        self.minutes += 1;
        match what_happens {
            Happens::Writes { device, thing, value } => {
                let act = Uuid::from_u128(1 << 80 | self.minutes as u128);
                self.write(*device, act, what(*thing, *value));
            }
            Happens::TakesBack { device, undone } => {
                let me = &self.devices[*device];
                let own = me.has.iter().rev().find(|entry| {
                    entry.device == Uuid::from_u128(1 << 40 | me.number as u128)
                        && entry.what.can_be_taken_back()
                });
                if let Some(act) = own.map(|entry| entry.act) {
                    let back = Uuid::from_u128(1 << 81 | self.minutes as u128);
                    self.write(*device, back, What::Undone { act, undone: *undone });
                }
            }
            Happens::Gives { from, to, luck } => self.give(*from, *to, luck),
        }
    }

    /// In the end everybody hears everything.
    fn settle(&mut self) {
        for from in 0..DEVICES {
            for to in 0..DEVICES {
                self.give(from, to, &[true]);
            }
        }
    }
}

proptest! {
    // 256 days; so many as PROPTEST_CASES says, where it is set.
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn after_a_random_day_all_see_the_same_job_and_nothing_was_overwritten_unseen((day, wrong_by) in day()) {
        let mut world = World::new(&wrong_by);
        day.iter().for_each(|happens| world.happen(happens));
        world.settle();
        let office = &world.devices[DEVICES - 1].has;
        let job = fold(id(JOB), office);
        for device in &world.devices {
            prop_assert_eq!(device.has.len(), office.len());
            prop_assert_eq!(&fold(id(JOB), &device.has), &job);
        }
        let registers: BTreeSet<String> = office.iter().filter_map(|e| e.what.register(e.id)).collect();
        for register in registers.iter().filter(|register| !register.starts_with("undone/")) {
            let entries = living(office, register);
            let Some((holder, others)) = entries.split_last() else { continue };
            let told: Vec<Uuid> = job.clashes.iter().filter(|clash| clash.register == *register).map(|clash| clash.lost).collect();
            for lost in others.iter().filter(|lost| lost.device != holder.device && lost.what != holder.what) {
                // Somebody wrote the same thing after having had this one, whatever the clocks say: it was seen.
                let seen = entries.iter().any(|later| world.knew[&later.id].contains(&lost.id));
                prop_assert!(seen || told.contains(&lost.id), "{} of {:?} was overwritten unseen", register, lost);
            }
            // Nor is anybody told of a clash with what the holder's writer had before the eyes.
            for lost in &told {
                let replaced = world.knew[&holder.id].contains(lost);
                prop_assert!(!replaced, "{} replaced {} knowingly", register, lost);
            }
        }
    }
}

proptest! {
    // Each case opens stores on the disk.
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(12) })]

    #[test]
    fn stores_that_get_the_entries_of_a_day_in_any_order_and_twice_hold_the_same((day, wrong_by) in day(), turn in 0..64usize) {
        let mut world = World::new(&wrong_by);
        day.iter().for_each(|happens| world.happen(happens));
        world.settle();
        let straight = &world.devices[0].has;
        let mut mixed: Vec<Entry> = straight.iter().rev().chain(straight).cloned().collect();
        if !mixed.is_empty() {
            let by = turn % mixed.len();
            mixed.rotate_left(by);
        }
        let seen: Vec<_> = [straight, &mixed].into_iter().map(|entries| {
            let folder = tempfile::tempdir().unwrap();
            let store = Store::open(folder.path()).unwrap().store;
            for few in entries.chunks(7) {
                store.receive(few).unwrap();
            }
            let mut ids: Vec<Uuid> = store.entries(id(JOB)).unwrap().iter().map(|entry| entry.id).collect();
            ids.sort_unstable();
            (store.job(id(JOB)).unwrap(), store.summary(id(JOB)).unwrap(), ids)
        }).collect();
        prop_assert_eq!(&seen[0], &seen[1]);
    }
}
