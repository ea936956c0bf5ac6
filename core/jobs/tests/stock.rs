//! Stock that jobs reserve, use and give back: whatever order entries come in, everybody sees the same holder.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;
use bowseam_figures::measure::Length;
use bowseam_jobs::{Store, clock, entry::*, stock::*};
use common::{id, reserved};
use proptest::prelude::*;
use std::collections::HashMap;
use uuid::Uuid;

const DROP: &str = "drop 15 ft · rack D";

/// Writes entries of several phones, in time as they are written.
#[derive(Default)]
struct Pen {
    entries: Vec<Entry>,
    seq: HashMap<u128, u64>,
}

impl Pen {
    fn write(&mut self, device: u128, job: u128, what: What) -> Uuid {
        let seq = *self.seq.entry(device).and_modify(|seq| *seq += 1).or_insert(1);
        let n = self.entries.len() as i64;
        let wall = chrono::DateTime::from_timestamp(1_800_000_000 + n, 0).unwrap();
        let act = id(9000 + n as u128);
        self.entries.push(Entry {
            id: id(1000 + n as u128),
            job: id(job),
            act,
            device: id(device),
            seq,
            at: clock::at(wall).unwrap(),
            person: id(device + 10),
            saw: None,
            also: Vec::new(),
            what,
        });
        act
    }

    fn reserve(&mut self, job: u128, count: u32) -> Uuid {
        let way = What::Way {
            group: "roof".into(),
            chosen: Some(ChosenWay {
                way: "front_section".into(),
                by_hand: None,
            }),
        };
        self.write(200 + job, job, way);
        let taken = What::Reserved {
            stock: DROP.into(),
            reserved: Some(reserved(count, Some("front_section"))),
        };
        self.write(200 + job, job, taken)
    }

    fn store(&self) -> (tempfile::TempDir, Store) {
        store(&self.entries)
    }

    /// The jobs that reserved the drop and still hold it, the first first.
    fn holders(&self) -> Vec<(Uuid, u32)> {
        claims(&self.store().1)
    }
}

fn store(entries: &[Entry]) -> (tempfile::TempDir, Store) {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(folder.path()).unwrap().store;
    for entry in entries {
        store.receive(std::slice::from_ref(entry)).unwrap();
    }
    (folder, store)
}

fn claims(store: &Store) -> Vec<(Uuid, u32)> {
    let moves = store.stock_moves().unwrap();
    let reserved = moves.iter().filter(|m| m.kind == MoveKind::Reserved);
    reserved.map(|m| (m.job, m.count)).collect()
}

#[test]
fn of_two_jobs_that_reserved_the_same_drop_apart_the_earlier_one_holds_it() {
    let mut pen = Pen::default();
    pen.reserve(1, 1);
    pen.reserve(2, 1);
    assert_eq!(pen.holders(), [(id(1), 1), (id(2), 1)]);
    assert_eq!(hold(1, &[1, 1]), [1, 0]);
    assert_eq!(hold(3, &[2, 2, 2]), [2, 1, 0]);
    assert_eq!(hold(-1, &[1, -1]), [0, 0]);
}

#[test]
fn a_go_ahead_for_a_part_frees_what_was_reserved_for_the_rest_alone() {
    let given = |groups: &[&str]| {
        let mut pen = Pen::default();
        pen.reserve(1, 1);
        let asked = What::Asked {
            hash: "a".into(),
            figures: serde_json::json!({}),
            found: None,
            note: String::new(),
        };
        pen.write(201, 1, asked);
        let decision = Decision::GoAhead {
            amount: None,
            note: String::new(),
            groups: groups.iter().map(|group| (*group).to_owned()).collect(),
            ceiling: None,
        };
        let hash = "a".into();
        pen.write(300, 1, What::Decided { hash, decision });
        pen.holders()
    };
    assert_eq!(given(&[]), [(id(1), 1)]);
    assert_eq!(given(&["roof", "a mark"]), [(id(1), 1)]);
    assert_eq!(given(&["a mark"]), [], "the drop is for the roof");
}

#[test]
fn a_reservation_keeps_its_turn_while_it_is_not_raised_and_loses_it_when_it_was_freed() {
    let mut pen = Pen::default();
    pen.reserve(1, 2);
    pen.reserve(2, 1);
    // The first takes less: still first.
    pen.reserve(1, 1);
    assert_eq!(pen.holders(), [(id(1), 1), (id(2), 1)]);
    // It takes more: for that it stands behind the other.
    pen.reserve(1, 3);
    assert_eq!(pen.holders(), [(id(2), 1), (id(1), 3)]);
    let mut pen = Pen::default();
    pen.reserve(1, 1);
    pen.reserve(2, 1);
    pen.write(
        201,
        1,
        What::Reserved {
            stock: DROP.into(),
            reserved: None,
        },
    );
    assert_eq!(pen.holders(), [(id(2), 1)]);
    pen.reserve(1, 1);
    assert_eq!(pen.holders(), [(id(2), 1), (id(1), 1)]);
}

#[test]
fn stock_is_free_again_when_the_way_changes_and_when_the_unit_is_released() {
    let mut pen = Pen::default();
    pen.reserve(1, 1);
    let other = What::Way {
        group: "roof".into(),
        chosen: Some(ChosenWay {
            way: "patch".into(),
            by_hand: None,
        }),
    };
    let act = pen.write(201, 1, other);
    assert_eq!(pen.holders(), []);
    pen.write(201, 1, What::Undone { act, undone: true });
    assert_eq!(
        pen.holders(),
        [(id(1), 1)],
        "with the way the reservation is back"
    );
    let release = Some(Release { note: String::new() });
    pen.write(201, 1, What::Released { release });
    assert_eq!(pen.holders(), []);
    pen.write(201, 1, What::Released { release: None });
    assert_eq!(pen.holders(), [(id(1), 1)]);
    pen.write(201, 1, What::HandedOver { handed_over: true });
    assert_eq!(pen.holders(), []);
}

#[test]
fn a_cut_uses_its_stock_for_good_and_a_kept_drop_is_there_until_a_cut_uses_it() {
    let piece = CutPiece {
        length: Length::inches(100),
        width: None,
        count: 1,
    };
    let cut = |stock: &str| CutDone {
        item: "roof bow".into(),
        stock: stock.into(),
        name: "bar".into(),
        place: String::new(),
        count: 1,
        length: Length::ZERO,
        thickness: None,
        pieces: vec![piece.clone()],
        left: vec![piece.clone()],
    };
    let mut pen = Pen::default();
    let (first, drop) = (id(70), id(71));
    pen.write(
        201,
        1,
        What::Cut {
            cut: first,
            done: Some(cut("bar · rack B")),
        },
    );
    let kept = DropKept {
        item: "roof bow".into(),
        length: Length::inches(100),
        width: None,
        thickness: None,
        place: "rack D".into(),
        cut: first,
    };
    pen.write(
        201,
        1,
        What::Drop {
            drop,
            kept: Some(kept.clone()),
        },
    );
    pen.write(201, 1, What::HandedOver { handed_over: true });
    let (_folder, there) = pen.store();
    let used = there.stock_moves().unwrap();
    assert_eq!((used.len(), used[0].kind, used[0].count), (1, MoveKind::Used, 1));
    assert_eq!(there.drops().unwrap(), [JobDrop { id: drop, kept }]);
    let of_drop = What::Cut {
        cut: id(72),
        done: Some(cut(&drop.to_string())),
    };
    let act = pen.write(202, 2, of_drop);
    assert_eq!(pen.store().1.drops().unwrap(), []);
    pen.write(202, 2, What::Undone { act, undone: true });
    assert_eq!(pen.store().1.drops().unwrap().len(), 1);
}

#[test]
fn what_jobs_take_comes_out_the_same_when_it_is_read_off_their_entries_again() {
    let mut pen = Pen::default();
    pen.reserve(1, 1);
    pen.reserve(2, 2);
    let (_folder, store) = pen.store();
    let before = store.stock_moves().unwrap();
    store.rebuild().unwrap();
    assert_eq!(store.stock_moves().unwrap(), before);
}

/// What a phone does to a drop: reserves some, frees it, changes the way, releases, takes its last act back.
fn acts() -> impl Strategy<Value = Vec<(u128, u8, u32)>> {
    proptest::collection::vec((1..4u128, 0..5u8, 1..4u32), 1..14)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(24) })]

    #[test]
    fn whatever_order_entries_come_in_all_phones_see_the_same_holders_and_none_gives_more_than_there_is(
        (acts, order, there) in acts().prop_flat_map(|acts| {
            let n = acts.len() * 2;
            (Just(acts), Just((0..n).collect::<Vec<usize>>()).prop_shuffle(), 0..5i64)
        })
    ) {
        let mut pen = Pen::default();
        let mut last = HashMap::new();
        for (job, act, count) in acts {
            let made = match act {
                0 | 1 => pen.reserve(job, count),
                2 => pen.write(200 + job, job, What::Reserved { stock: DROP.into(), reserved: None }),
                3 => pen.write(200 + job, job, What::Released { release: (count > 1).then(|| Release { note: String::new() }) }),
                _ => {
                    let act = last.get(&job).copied().unwrap_or(id(1));
                    pen.write(200 + job, job, What::Undone { act, undone: count > 1 })
                }
            };
            last.insert(job, made);
        }
        let mixed: Vec<Entry> = order.iter().filter_map(|at| pen.entries.get(*at).cloned()).collect();
        let rest = pen.entries.iter().filter(|e| !mixed.iter().any(|m| m.id == e.id)).cloned();
        let mixed: Vec<Entry> = mixed.iter().cloned().chain(rest).collect();
        let (here, elsewhere) = (pen.store(), store(&mixed));
        let moves = here.1.stock_moves().unwrap();
        prop_assert_eq!(&moves, &elsewhere.1.stock_moves().unwrap());
        let wanted: Vec<i64> = moves.iter().map(|m| i64::from(m.count)).collect();
        let holds = hold(there, &wanted);
        prop_assert_eq!(holds.iter().sum::<i64>(), there.min(wanted.iter().sum()));
        // Nobody gets some while an earlier one lacks some.
        let lacks = holds.iter().zip(&wanted).position(|(holds, wanted)| holds < wanted);
        if let Some(first) = lacks {
            prop_assert!(holds.iter().skip(first + 1).all(|holds| *holds == 0));
        }
        prop_assert!(moves.windows(2).all(|pair| pair[0].order <= pair[1].order));
    }
}
