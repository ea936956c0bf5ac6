//! Asks beside a job's way: what the office writes on it, people, phones, learning, a memory card, pairs of photos,
//! packets as files. Asked last, since a changed person or phone has every row of the list figured anew.

use crate::{At, Bench, SUPERVISOR, way::OnWay};
use bowseam_jobs::entry::{Entry, PhotoOf, PhotoWhen, What};
use bowseam_send::{
    card::{self, Back},
    codes,
};
use chrono::Utc;
use serde_json::json;
use std::{thread, time::Duration};
use uuid::Uuid;

/// All of it, once for each job.
pub fn rest(bench: &Bench, jobs: &[OnWay]) {
    for job in jobs {
        written_by_the_office(job);
        bench.exchange(job.id);
        photos(job);
        clash(job);
        packet_files(job);
        phone(bench, job);
        cards(bench);
    }
    // Each of these changes what the rows of the list are figured with.
    for job in jobs {
        learn(bench);
        people(bench, job.number);
        book(bench, job.number);
    }
}

/// Two plain photos laid over each other: by matching, which looks at all of both, and by points.
fn photos(job: &OnWay) {
    let before = job.photo(&PhotoOf::Unit, PhotoWhen::Before);
    let after = job.photo(&PhotoOf::Unit, PhotoWhen::After);
    let pair = |kind: &str| json!({"kind": kind, "before": before, "after": after});
    while job.get(pair("pair_aligned"))["by"] == "later" {
        thread::sleep(Duration::from_millis(20));
    }
    let mut put = pair("align_pair");
    put["taps"] = json!([
        [20_000, 20_000],
        [80_000, 20_000],
        [32_000, 20_000],
        [62_000, 20_000]
    ]);
    job.get(put);
    job.get(pair("pair_aligned"));
    job.may_be_refused("no_target", json!({"kind": "find_target", "sha256": before}));
}

fn written_by_the_office(job: &OnWay) {
    job.office(json!({"kind": "reopen", "reason": "lamp out at the gate"}));
    job.office(json!({"kind": "set_office", "field": "insurer", "value": format!("I-{}", job.number)}));
    job.office(
        json!({"kind": "set_sublet", "sublet": null, "work": "weld the hinge", "who": "the welder",
        "out_on": "2026-03-02", "back_on": "2026-03-05", "back": false}),
    );
    job.office(json!({"kind": "set_note", "note": null, "text": "seam is sealed, not cured"}));
    job.office(json!({"kind": "set_on_job", "person": SUPERVISOR, "on": true}));
    let newest = job.office(json!({"kind": "office_job"}))["newest"].clone();
    job.office(json!({"kind": "looked", "newest": newest}));
}

/// Two people write the slot at the same time; one of them is right.
fn clash(job: &OnWay) {
    let slot = |value: &str| json!({"kind": "set_arrival", "field": "slot", "value": value});
    job.get(slot("row A, 7"));
    job.office(slot("row C, 1"));
    job.bench.exchange(job.id);
    let seen = job.get(json!({"kind": "arrival"}))["head"]["to_settle"][0].clone();
    job.get(json!({"kind": "settle", "keep": seen["lost"], "instead_of": seen["holds"]}));
}

fn packet_files(job: &OnWay) {
    for form in ["csv", "xlsx", "pdf"] {
        job.get(json!({"kind": "make_packet", "form": form, "prices": true}));
        job.get(json!({"kind": "packet_progress"}));
    }
    job.get(json!({"kind": "stop_packet"}));
}

/// A phone is taken back; what it sent after that is taken in.
fn phone(bench: &Bench, job: &OnWay) {
    bench.at_office(json!({"kind": "phones"}));
    let (store, device) = (bench.office.store(), Uuid::now_v7());
    let (code, _) = codes::new_code(&store, Utc::now()).unwrap();
    codes::redeem(&store, &code, device, "phone 9", Utc::now()).unwrap();
    bench.at_office(json!({"kind": "take_back", "device": device}));
    let newest = bench.phone.store().entries(job.id).unwrap().pop().unwrap();
    let entries: Vec<Entry> = (1..=20)
        .map(|seq| Entry {
            id: Uuid::now_v7(),
            device,
            seq,
            what: What::Note {
                note: Uuid::now_v7(),
                text: Some(format!("note {seq}")),
            },
            ..newest.clone()
        })
        .collect();
    store.set_apart(device, &entries, Utc::now()).unwrap();
    bench.at_office(json!({"kind": "take_in", "device": device}));
}

/// What waits goes on a card, and an answer comes back: all entries arrived.
fn cards(bench: &Bench) {
    bench.get(json!({"kind": "write_card"}));
    let store = bench.phone.store();
    let unsent = store.unsent(None, usize::MAX).unwrap();
    let receipts = unsent.iter().take(200).map(|item| bowseam_send::wire::Receipt {
        id: item.entry,
        outcome: bowseam_send::wire::Outcome::Arrived,
    });
    let back = Back {
        device: store.device(),
        receipts: receipts.collect(),
        photos: Vec::new(),
        entries: Vec::new(),
        after: 0,
        next: 0,
    };
    // The token is the one that the office of this benchmark gives.
    let text = card::seal(&back, &bowseam_photos::sha256(b"t")).unwrap();
    bench.get_with(json!({"kind": "read_card_back"}), text.as_bytes());
}

/// Something was found more on each of these jobs, so none of them teaches hours and nothing is proposed: what is looked
/// through is the same.
fn learn(bench: &Bench) {
    bench.at_office(json!({"kind": "learned"}));
    let learn = json!({"kind": "learn", "task": "seam", "now": "2", "take": false});
    let refusal = bench
        .tried(At::Office, Some(SUPERVISOR), &learn, None)
        .unwrap_err();
    assert_eq!(refusal.code, "not_proposed");
}

fn book(bench: &Bench, number: usize) {
    let rate = format!("{}.50", 100 + number);
    bench.at_office(json!({"kind": "set_book", "group": "money", "key": "labour_rate", "value": rate}));
    bench.at_office(json!({"kind": "set_cure", "product": "seam sealant", "at": "50", "hours": format!("{}", 1 + number)}));
    bench.at_office(json!({"kind": "set_closed", "day": format!("2026-12-{:02}", 1 + number % 28), "why": "closed", "closed": true}));
    let line = json!({"item": "roof bow", "name": format!("bow {number}"), "form": "bar", "length": "102", "width": "",
        "thickness": "", "place": "rack B", "there": "3", "price": ""});
    bench.at_office(json!({"kind": "set_stock", "stock": null, "line": line}));
}

fn people(bench: &Bench, number: usize) {
    let qualified = json!([{"for": "release", "until": "2030-05-01", "note": "course 7"}]);
    let set = json!({"kind": "set_person", "person": null, "name": format!("C. Person {number}"),
        "roles": ["technician"], "qualified": qualified});
    let person = bench.at_office(set)["id"].clone();
    bench.at_office(json!({"kind": "set_secret", "person": person, "secret": "2580", "password": false}));
    bench.at_office(json!({"kind": "end_person", "person": person, "ended": true}));
    bench.at_office(json!({"kind": "people"}));
}
