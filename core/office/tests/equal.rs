//! Two phones and an office write random histories, send when they like over a wire that is often cut, and in the
//! end hold the same: every entry once, the same jobs, every photo.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;

use std::collections::BTreeSet;

use bowseam_figures::mark::Surface;
use bowseam_jobs::Store;
use bowseam_jobs::entry::{ArrivalField, Decision, FoundChange, Hold, HoldWhy, PhotoChange, PhotoOf, What};
use common::{Phone, Wire, Yard};
use serde_json::Value;
use uuid::Uuid;

/// Small numbers from a seed.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % sides
    }
}

fn some_change(dice: &mut Dice, store: &Store, job: Uuid) -> What {
    let text = dice.roll(100).to_string();
    let entries = store.entries(job).unwrap();
    let act = (!entries.is_empty()).then(|| entries[dice.roll(entries.len() as u64) as usize].act);
    match dice.roll(7) {
        0 => What::Arrival {
            field: ArrivalField::Vin,
            value: (dice.roll(3) > 0).then_some(text),
        },
        1 => What::Arrival {
            field: ArrivalField::Slot,
            value: Some(text),
        },
        2 => What::Looked {
            surface: Surface::Roof,
            seen: dice.roll(2) == 0,
        },
        3 => What::Held {
            hold: (dice.roll(2) == 0).then_some(Hold {
                why: HoldWhy::Parts,
                note: text,
            }),
        },
        4 => What::Time {
            step: "strip".to_owned(),
            on: dice.roll(2) == 0,
        },
        5 => What::Found {
            found: Uuid::now_v7(),
            change: FoundChange::Line {
                line: text,
                step: "strip".to_owned(),
            },
        },
        _ => act.map_or(
            What::StepDone {
                step: text,
                done: true,
            },
            |act| What::Undone {
                act,
                undone: dice.roll(2) == 0,
            },
        ),
    }
}

fn whole(store: &Store, jobs: &[Uuid]) -> Vec<(Value, Vec<Value>)> {
    let entries = |job| {
        store
            .entries(job)
            .unwrap()
            .iter()
            .map(|entry| serde_json::to_value(entry).unwrap())
            .collect()
    };
    jobs.iter()
        .map(|job| {
            (
                serde_json::to_value(store.job(*job).unwrap()).unwrap(),
                entries(*job),
            )
        })
        .collect()
}

fn history(seed: u64) {
    let mut dice = Dice(seed);
    let yard = Yard::new();
    let phones = [Phone::known_to(&yard), Phone::known_to(&yard)];
    let wire = Wire::new(yard.address, 0);
    let jobs = [
        phones[0].open_job(yard.technician, "4417"),
        phones[1].open_job(yard.supervisor, "2093"),
    ];
    let mut written = 2;
    let mut taken = BTreeSet::new();
    for n in 0..60 {
        let phone = &phones[dice.roll(2) as usize];
        let job = jobs[dice.roll(2) as usize];
        match dice.roll(10) {
            0 => {
                // The two phones may take the same photo.
                let shot = (seed as u32) * 8 + dice.roll(4) as u32;
                taken.insert(phone.take_photo(job, yard.technician, PhotoOf::Unit, 160, shot));
                written += 1;
            }
            1 => {
                let decision = Decision::SentBack { note: n.to_string() };
                let what = What::Decided {
                    hash: dice.roll(2).to_string(),
                    decision,
                };
                yard.store
                    .append(job, yard.supervisor, Uuid::now_v7(), vec![what])
                    .unwrap();
                written += 1;
            }
            2 | 3 => {
                wire.mend(dice.roll(150_000) as i64);
                phone.round_over(&wire);
            }
            _ => {
                phone.save(job, yard.technician, some_change(&mut dice, &phone.store, job));
                written += 1;
            }
        }
    }
    for _ in 0..2 {
        for phone in &phones {
            while phone.round().more {}
            assert_eq!(phone.store.unsent(None, 10).unwrap(), [], "seed {seed}");
        }
    }
    let office = whole(&yard.store, &jobs);
    assert_eq!(
        yard.store.entries_after(0, 1000).unwrap().len(),
        written,
        "seed {seed}"
    );
    for phone in &phones {
        assert_eq!(whole(&phone.store, &jobs), office, "seed {seed}");
    }
    assert_eq!(
        yard.photos.list().unwrap().into_iter().collect::<BTreeSet<_>>(),
        taken,
        "seed {seed}"
    );
    let named = yard
        .store
        .entries_after(0, 1000)
        .unwrap()
        .into_iter()
        .filter_map(|(_, entry)| match entry.what {
            What::Photo {
                sha256,
                change: PhotoChange::Added { .. },
            } => Some(sha256),
            _ => None,
        });
    assert_eq!(named.collect::<BTreeSet<_>>(), taken, "seed {seed}");
}

#[test]
fn two_phones_and_an_office_with_random_histories_end_equal() {
    for seed in 1..=8 {
        history(seed);
    }
}
