//! The merge: whatever way entries travel, everybody who has the same entries sees the same job.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;
use bowseam_figures::{
    mark::{DamageKind, Part, Place, Surface},
    measure::Length,
};
use bowseam_jobs::{clock, entry::*, job::*, on_photo::*};
use common::{JOB, history, id};
use proptest::prelude::*;
use uuid::Uuid;

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn neither_order_nor_repetition_changes_the_job(
        (entries, mixed) in history().prop_flat_map(|h| {
            let twice: Vec<Entry> = h.iter().chain(&h[..h.len() / 2]).cloned().collect();
            (Just(h), Just(twice).prop_shuffle())
        })
    ) {
        prop_assert_eq!(fold(id(JOB), &entries), fold(id(JOB), &mixed));
    }

    #[test]
    fn what_comes_in_two_parts_makes_the_same_job_as_what_comes_at_once(
        (entries, part) in history().prop_flat_map(|h| {
            let n = h.len();
            (Just(h), proptest::collection::vec(any::<bool>(), n))
        })
    ) {
        let pick = |wanted| entries.iter().zip(&part).filter(move |(_, p)| **p == wanted).map(|(e, _)| e.clone());
        // A part alone folds too, without what it lacks.
        let first: Vec<Entry> = pick(true).collect();
        prop_assert!(fold(id(JOB), &first).marks.len() <= 3);
        let both: Vec<Entry> = pick(false).chain(first).collect();
        prop_assert_eq!(fold(id(JOB), &both), fold(id(JOB), &entries));
    }

    #[test]
    fn a_job_reads_back_from_json_as_it_was(entries in history()) {
        let job = fold(id(JOB), &entries);
        let json = serde_json::to_string(&job).unwrap();
        prop_assert_eq!(serde_json::from_str::<Job>(&json).unwrap(), job);
    }
}

/// Writes entries as one device would, a second apart.
struct Pen {
    device: u128,
    entries: Vec<Entry>,
}

impl Pen {
    fn new(device: u128) -> Self {
        Self {
            device,
            entries: Vec::new(),
        }
    }

    fn write(&mut self, second: i64, act: u128, saw: Option<Uuid>, what: What) -> Uuid {
        let seq = self.entries.len() as u64 + 1;
        let wall = chrono::DateTime::from_timestamp(1_800_000_000 + second, 0).unwrap();
        let entry = Entry {
            id: Uuid::from_u128((self.device << 32) + u128::from(seq)),
            job: id(JOB),
            act: id(act),
            device: id(self.device),
            seq,
            at: clock::at(wall).unwrap(),
            person: id(300 + self.device),
            saw,
            also: Vec::new(),
            what,
        };
        self.entries.push(entry);
        self.entries.last().unwrap().id
    }
}

fn vin(value: &str) -> What {
    What::Arrival {
        field: ArrivalField::Vin,
        value: Some(value.into()),
    }
}

fn vin_of(job: &Job) -> Option<&str> {
    job.arrival
        .get(&ArrivalField::Vin)
        .map(|kept| kept.value.as_str())
}

#[test]
fn two_who_did_not_see_each_other_clash_and_the_later_one_holds() {
    let (mut a, mut b) = (Pen::new(1), Pen::new(2));
    let first = a.write(0, 100, None, vin("one"));
    let lost = a.write(5, 101, Some(first), vin("two"));
    let holds = b.write(6, 102, Some(first), vin("three"));
    let all = [a.entries.clone(), b.entries.clone()].concat();
    let job = fold(id(JOB), &all);
    assert_eq!(vin_of(&job), Some("three"));
    let (lost_by, held_by) = (id(301), id(302));
    assert_eq!(
        job.clashes,
        [Clash {
            register: "arrival/vin".into(),
            holds,
            held_by,
            lost,
            lost_by
        }]
    );

    // Whoever writes after having seen both has settled it; who has not seen the one that lost has not.
    b.write(9, 103, Some(holds), vin("four"));
    let unseen = fold(id(JOB), &[a.entries.clone(), b.entries.clone()].concat()).clashes;
    assert_eq!((unseen.len(), unseen[0].lost), (1, lost));
    b.entries.last_mut().unwrap().also = vec![lost];
    assert_eq!(
        fold(id(JOB), &[a.entries.clone(), b.entries.clone()].concat()).clashes,
        []
    );

    // Nor is it a clash when one of the two was taken back, or both say the same.
    let mut c = Pen::new(1);
    c.write(0, 100, None, vin("same"));
    let mut d = Pen::new(2);
    d.write(1, 101, None, vin("same"));
    assert_eq!(
        fold(id(JOB), &[c.entries.clone(), d.entries.clone()].concat()).clashes,
        []
    );
    d.write(2, 102, None, vin("other"));
    assert_eq!(
        fold(id(JOB), &[c.entries.clone(), d.entries.clone()].concat())
            .clashes
            .len(),
        1
    );
    c.write(
        3,
        103,
        None,
        What::Undone {
            act: id(100),
            undone: true,
        },
    );
    assert_eq!(fold(id(JOB), &[c.entries, d.entries].concat()).clashes, []);
}

#[test]
fn one_who_wrote_twice_clashes_with_one_who_saw_neither() {
    let (mut a, mut b) = (Pen::new(1), Pen::new(2));
    let first = a.write(0, 100, None, vin("one"));
    let lost = b.write(3, 101, Some(first), vin("two"));
    let second = a.write(2, 102, Some(first), vin("three"));
    let holds = a.write(4, 103, Some(second), vin("four"));
    let job = fold(id(JOB), &[a.entries, b.entries].concat());
    assert_eq!(
        (job.clashes[0].holds, job.clashes[0].lost, job.clashes.len()),
        (holds, lost, 1)
    );
}

#[test]
fn an_act_is_taken_back_whole_and_put_back_whole() {
    let mut pen = Pen::new(1);
    pen.write(0, 100, None, vin("one"));
    pen.write(1, 101, None, vin("two"));
    pen.write(1, 101, None, What::RoofOpened { opened: true });
    let undo = What::Undone {
        act: id(101),
        undone: true,
    };
    pen.write(2, 102, None, undo.clone());
    let job = fold(id(JOB), &pen.entries);
    assert_eq!(
        (vin_of(&job), job.stage, job.roof_opened.as_ref()),
        (Some("one"), Stage::Marked, None)
    );
    // An undo is answered by another one, not taken back itself.
    pen.write(
        3,
        103,
        None,
        What::Undone {
            act: id(102),
            undone: true,
        },
    );
    assert_eq!(vin_of(&fold(id(JOB), &pen.entries)), Some("one"));
    pen.write(
        4,
        104,
        None,
        What::Undone {
            act: id(101),
            undone: false,
        },
    );
    let job = fold(id(JOB), &pen.entries);
    assert_eq!((vin_of(&job), job.stage), (Some("two"), Stage::InTheBay));
}

#[test]
fn what_others_act_upon_is_not_taken_back_by_an_undo() {
    let mut pen = Pen::new(1);
    pen.write(
        0,
        100,
        None,
        What::Asked {
            hash: "h".into(),
            figures: serde_json::json!({}),
            found: None,
            note: String::new(),
        },
    );
    let decision = Decision::GoAhead {
        amount: None,
        note: String::new(),
        groups: Vec::new(),
        ceiling: None,
    };
    pen.write(
        1,
        101,
        None,
        What::Decided {
            hash: "h".into(),
            decision,
        },
    );
    pen.write(
        2,
        102,
        None,
        What::Undone {
            act: id(100),
            undone: true,
        },
    );
    pen.write(
        3,
        103,
        None,
        What::Undone {
            act: id(101),
            undone: true,
        },
    );
    assert_eq!(fold(id(JOB), &pen.entries).stage, Stage::GoAhead);
}

#[test]
fn stages_follow_what_was_done() {
    let mut pen = Pen::new(1);
    let mut second = 0;
    let asked = |hash: &str, found| What::Asked {
        hash: hash.into(),
        figures: serde_json::json!({}),
        found,
        note: String::new(),
    };
    let go = |hash: &str| What::Decided {
        hash: hash.into(),
        decision: Decision::GoAhead {
            amount: None,
            note: String::new(),
            groups: Vec::new(),
            ceiling: None,
        },
    };
    let back = |hash: &str| What::Decided {
        hash: hash.into(),
        decision: Decision::SentBack {
            note: "dearer than a new roof".into(),
        },
    };
    let hold = |on: bool| What::Held {
        hold: on.then(|| Hold {
            why: HoldWhy::Parts,
            note: String::new(),
        }),
    };
    let chosen = Some(ChosenWay {
        way: "patch".into(),
        by_hand: None,
    });
    let complete = ProofAnswer {
        ok: ProofOk::Yes,
        value: String::new(),
        note: String::new(),
    };
    for (what, stage) in [
        (What::Opened { unit: "T-1".into() }, Stage::Marked),
        (
            What::Way {
                group: "roof".into(),
                chosen,
            },
            Stage::Figured,
        ),
        (asked("one", None), Stage::Figured),
        (back("one"), Stage::SentBack),
        (asked("two", None), Stage::Figured),
        // An answer to older figures is none to the present ones.
        (go("one"), Stage::Figured),
        (go("two"), Stage::GoAhead),
        // Nor do the figures of a supplement change the answer to the whole job's.
        (asked("more", Some(id(20))), Stage::GoAhead),
        (hold(true), Stage::OnHold),
        (hold(false), Stage::GoAhead),
        (
            What::Time {
                step: "strip".into(),
                on: true,
            },
            Stage::InTheBay,
        ),
        (
            What::Time {
                step: "strip".into(),
                on: false,
            },
            Stage::InTheBay,
        ),
        (
            What::Proof {
                row: "complete".into(),
                answer: Some(complete),
            },
            Stage::Proved,
        ),
        (
            What::Released {
                release: Some(Release { note: String::new() }),
            },
            Stage::Proved,
        ),
        (What::HandedOver { handed_over: true }, Stage::HandedOver),
        (hold(true), Stage::HandedOver),
    ] {
        second += 1;
        let said = format!("{what:?}");
        pen.write(second, 100 + second as u128, None, what);
        assert_eq!(fold(id(JOB), &pen.entries).stage, stage, "after {said}");
    }
}

#[test]
fn time_on_a_step_is_counted_by_person() {
    let (mut a, mut b) = (Pen::new(1), Pen::new(2));
    let time = |on| What::Time {
        step: "strip".into(),
        on,
    };
    a.write(0, 100, None, time(true));
    b.write(10, 101, None, time(true));
    a.write(20, 102, None, time(true));
    let first = a.write(60, 103, None, time(false));
    let step = |a: &Pen, b: &Pen| {
        fold(id(JOB), &[a.entries.clone(), b.entries.clone()].concat()).steps["strip"].clone()
    };
    let state = step(&a, &b);
    assert_eq!((state.seconds, state.people_on.len()), (60, 1));
    assert_eq!(state.on.unwrap().by, id(302), "the other one is still on");
    assert_ne!(first, Uuid::nil());
    b.write(70, 104, None, time(false));
    let state = step(&a, &b);
    assert_eq!((state.seconds, state.on, state.people_on.len()), (120, None, 0));
}

#[test]
fn a_photo_shows_where_it_was_put_last_and_comes_back_when_added_again() {
    let mut pen = Pen::new(1);
    let added = || PhotoChange::Added {
        of: PhotoOf::Unit,
        when: PhotoWhen::Before,
        name: "1.jpg".into(),
        bytes: 7,
        taken: None,
        clock: None,
        placed: false,
    };
    let photo = |change| What::Photo {
        sha256: "ab".into(),
        change,
    };
    pen.write(0, 100, None, photo(added()));
    pen.write(
        1,
        101,
        None,
        photo(PhotoChange::Moved {
            of: PhotoOf::Step("seal".into()),
            when: PhotoWhen::During,
        }),
    );
    assert_eq!(
        fold(id(JOB), &pen.entries).photos[0].of,
        PhotoOf::Step("seal".into())
    );
    pen.write(2, 102, None, photo(PhotoChange::Removed(true)));
    assert!(fold(id(JOB), &pen.entries).photos.is_empty());
    pen.write(3, 103, None, photo(added()));
    assert_eq!(fold(id(JOB), &pen.entries).photos[0].of, PhotoOf::Unit);
}

#[test]
fn what_is_drawn_over_a_photo_stays_in_the_order_it_was_drawn_and_goes_with_undo() {
    let mut pen = Pen::new(1);
    let photo = |change| What::Photo {
        sha256: "ab".into(),
        change,
    };
    let drawn = |number: u128, text: Option<&str>| {
        photo(PhotoChange::Drawn {
            id: id(number),
            shape: text.map(|text| Shape {
                kind: ShapeKind::Text,
                at: [[1, 2], [1, 2]],
                text: text.into(),
            }),
        })
    };
    let (of, when) = (PhotoOf::Unit, PhotoWhen::Before);
    let added = PhotoChange::Added {
        of,
        when,
        name: "1.jpg".into(),
        bytes: 7,
        taken: None,
        clock: None,
        placed: false,
    };
    pen.write(0, 100, None, photo(added));
    pen.write(1, 101, None, drawn(9, Some("first")));
    pen.write(2, 102, None, drawn(8, Some("second")));
    pen.write(3, 103, None, drawn(9, Some("first, put right")));
    let words = |pen: &Pen| -> Vec<String> {
        let shapes = &fold(id(JOB), &pen.entries).photos[0].shapes;
        shapes.iter().map(|shape| shape.shape.text.clone()).collect()
    };
    assert_eq!(words(&pen), ["first, put right", "second"]);
    pen.write(
        4,
        104,
        None,
        What::Undone {
            act: pen.entries[3].act,
            undone: true,
        },
    );
    assert_eq!(words(&pen), ["first", "second"]);
    pen.write(5, 105, None, drawn(8, None));
    assert_eq!(words(&pen), ["first"]);
}

#[test]
fn a_size_from_a_photo_holds_until_somebody_enters_another() {
    let mut pen = Pen::new(1);
    let mark = |change| What::Mark { mark: id(5), change };
    let place = |to: i64| {
        MarkChange::Place(Place {
            surface: Surface::Roof,
            from: Length::inches(0),
            to: Length::inches(to),
            low: Length::inches(0),
            high: Length::inches(4),
        })
    };
    let length = ScaleLength {
        value: Length::inches(31),
        u: Length::mm(3),
    };
    let by = SizedBy {
        sha256: "ab".into(),
        length,
    };
    pen.write(0, 100, None, mark(place(31)));
    pen.write(1, 101, None, mark(MarkChange::Kind(DamageKind::Tear)));
    pen.write(2, 102, None, mark(MarkChange::Part(Part::RoofSheet)));
    let (side, by) = (MarkSide::Along, Some(by));
    pen.write(3, 103, None, mark(MarkChange::Sized { side, by: by.clone() }));
    let from_photo = |pen: &Pen, side| fold(id(JOB), &pen.entries).marks[0].from_photo(side).cloned();
    assert_eq!(from_photo(&pen, MarkSide::Along), by);
    assert_eq!(from_photo(&pen, MarkSide::Across), None);
    pen.write(4, 104, None, mark(place(30)));
    assert_eq!(from_photo(&pen, MarkSide::Along), None);
}
