//! What several tests share: random histories as devices would write them.
#![allow(dead_code)]

use bowseam_figures::{
    mark::{DamageKind, Part, Place, Surface},
    measure::Length,
};
use bowseam_jobs::{clock, entry::*, on_photo::*, stock::*};
use proptest::prelude::*;
use std::collections::HashMap;
use uuid::Uuid;

pub fn id(number: u128) -> Uuid {
    Uuid::from_u128(0x7000_8000_0000_0000_0000 + number)
}

pub const JOB: u128 = 1;

fn scale(n: i32) -> PhotoScale {
    PhotoScale {
        of: ScaleOf::IdCard,
        size: [Length::mm(86), Length::mm(54)],
        points: vec![[n, 1]],
        lengths: Vec::new(),
        found: n % 2 == 0,
        outline: Vec::new(),
        area: None,
    }
}

fn pair(n: i32) -> PairTaps {
    PairTaps {
        before: "b".to_owned(),
        taps: [[n, 0], [9, 9], [1, n], [8, 8]],
    }
}

/// A change out of a small world, so that registers, marks, acts and steps meet often.
pub fn what() -> impl Strategy<Value = What> {
    let few = 0..3u128;
    let text = prop_oneof![Just("a".to_owned()), Just("b".to_owned())];
    let place = |n: i64| Place {
        surface: Surface::Roof,
        from: Length::from_nm(n),
        to: Length::from_nm(n + 9),
        low: Length::from_nm(0),
        high: Length::from_nm(5),
    };
    let mark = prop_oneof![
        (0..3i64).prop_map(move |n| MarkChange::Place(place(n))),
        Just(MarkChange::Kind(DamageKind::Tear)),
        Just(MarkChange::Part(Part::RoofSheet)),
        text.clone().prop_map(MarkChange::Note),
        any::<bool>().prop_map(MarkChange::Removed),
    ];
    let photo = prop_oneof![
        text.clone().prop_map(|name| PhotoChange::Added {
            of: PhotoOf::Unit,
            when: PhotoWhen::Before,
            name,
            bytes: 7,
            taken: None,
            clock: None,
            placed: false,
        }),
        few.clone().prop_map(|n| PhotoChange::Moved {
            of: PhotoOf::Mark(id(10 + n)),
            when: PhotoWhen::After
        }),
        any::<bool>().prop_map(PhotoChange::Removed),
        (few.clone(), any::<bool>()).prop_map(|(n, there)| PhotoChange::Drawn {
            id: id(20 + n),
            shape: there.then(|| Shape {
                kind: ShapeKind::Arrow,
                at: [[0, 0], [100, 200]],
                text: String::new()
            })
        }),
        proptest::option::of((0..9i32).prop_map(scale)).prop_map(PhotoChange::Scaled),
        proptest::option::of((0..9i32).prop_map(pair)).prop_map(PhotoChange::Aligned),
    ];
    let decision = prop_oneof![
        text.clone().prop_map(|note| Decision::GoAhead {
            amount: None,
            note,
            groups: Vec::new(),
            ceiling: None
        }),
        text.clone().prop_map(|note| Decision::SentBack { note }),
    ];
    let value = proptest::option::of(text.clone());
    prop_oneof![
        text.clone().prop_map(|unit| What::Opened { unit }),
        value.clone().prop_map(|value| What::Arrival {
            field: ArrivalField::Vin,
            value
        }),
        value.clone().prop_map(|value| What::Arrival {
            field: ArrivalField::Unit,
            value
        }),
        any::<bool>().prop_map(|seen| What::Looked {
            surface: Surface::Nose,
            seen
        }),
        (few.clone(), mark).prop_map(|(n, change)| What::Mark {
            mark: id(10 + n),
            change
        }),
        (text.clone(), photo).prop_map(|(sha256, change)| What::Photo { sha256, change }),
        (text.clone(), value.clone()).prop_map(|(group, way)| What::Way {
            group,
            chosen: way.map(|way| ChosenWay { way, by_hand: None })
        }),
        text.clone().prop_map(|hash| What::Asked {
            hash,
            figures: serde_json::json!({"total": "1.00"}),
            found: None,
            note: String::new()
        }),
        (text.clone(), decision).prop_map(|(hash, decision)| What::Decided { hash, decision }),
        value.clone().prop_map(|note| What::Held {
            hold: note.map(|note| Hold {
                why: HoldWhy::Parts,
                note
            })
        }),
        (text.clone(), any::<bool>()).prop_map(|(step, on)| What::Time { step, on }),
        (text.clone(), any::<bool>()).prop_map(|(step, done)| What::StepDone { step, done }),
        (few.clone(), text.clone()).prop_map(|(n, line)| What::Found {
            found: id(20 + n),
            change: FoundChange::Line {
                line,
                step: "s".into()
            }
        }),
        value.prop_map(|note| What::Released {
            release: note.map(|note| Release { note })
        }),
        any::<bool>().prop_map(|handed_over| What::HandedOver { handed_over }),
        (text.clone(), proptest::option::of(1..3u32)).prop_map(|(stock, count)| What::Reserved {
            stock,
            reserved: count.map(|count| reserved(count, None))
        }),
        (few.clone(), any::<bool>()).prop_map(|(n, here)| What::Buying {
            line: format!("l{n}"),
            change: BuyChange::Here(here.then(|| "rack".to_owned()))
        }),
        (0..12u128, any::<bool>()).prop_map(|(n, undone)| What::Undone {
            act: id(100 + n),
            undone
        }),
        Just(What::NotKnown(serde_json::json!({"kind": "weighed", "axle": 1}))),
    ]
}

/// A reservation of pieces, for a way of the roof or for none.
pub fn reserved(count: u32, way: Option<&str>) -> Reserved {
    Reserved {
        item: "roof sheet".into(),
        name: "drop".into(),
        count,
        length: Length::ZERO,
        ways: way
            .map(|way| ForWay {
                group: "roof".into(),
                way: way.into(),
            })
            .into_iter()
            .collect(),
    }
}

/// Entries of three devices that saw some of each other's: times may be the same on two of them.
pub fn history() -> impl Strategy<Value = Vec<Entry>> {
    let entry = (what(), 0..3u128, 0..2u128, 0..12u128, 0..40u32, any::<bool>());
    proptest::collection::vec(entry, 0..40).prop_map(|drafts| {
        let mut seq: HashMap<Uuid, u64> = HashMap::new();
        let mut held: HashMap<String, Uuid> = HashMap::new();
        drafts
            .into_iter()
            .enumerate()
            .map(|(n, (what, device, person, act, second, sees))| {
                let id = id(1000 + n as u128);
                let device = self::id(200 + device);
                let seq = seq.entry(device).and_modify(|seq| *seq += 1).or_insert(1);
                let register = what.register(id);
                let saw = register.as_ref().and_then(|register| held.get(register).copied());
                if let (true, Some(register)) = (sees, register) {
                    held.insert(register, id);
                }
                let wall = chrono::DateTime::from_timestamp(1_800_000_000 + i64::from(second), 0).unwrap();
                let (job, act, person) = (self::id(JOB), self::id(100 + act), self::id(300 + person));
                Entry {
                    id,
                    job,
                    act,
                    device,
                    seq: *seq,
                    at: clock::at(wall).unwrap(),
                    person,
                    saw,
                    also: Vec::new(),
                    what,
                }
            })
            .collect()
    })
}
