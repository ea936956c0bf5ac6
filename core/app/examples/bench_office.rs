//! The office's list with many jobs: `cargo run --release --example bench_office -- 5000`. Its last line is
//! `office: FIGURE` in milliseconds, the worst of the 95th percentiles of list, search and job.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout,
    missing_docs
)]

use bowseam_app::{App, Ask, Asker, Kind};
use bowseam_jobs::{
    clock,
    entry::{Entry, What},
    people::{Person, Role},
};
use chrono::{TimeDelta, Utc};
use serde_json::{Value, json};
use std::time::Instant;
use uuid::Uuid;

const ME: Uuid = Uuid::from_u128(0xa2);
const ROUNDS: usize = 60;

fn ask(app: &App, ask: Value) -> Value {
    let ask: Ask = serde_json::from_value(ask).unwrap();
    let answer = app.ask(&Asker { person: Some(ME) }, ask, None).unwrap();
    serde_json::to_value(answer).unwrap()
}

/// A yard of jobs copied from one that was asked about, each with ids of its own.
fn fill(app: &App, jobs: usize) -> Vec<Uuid> {
    let first = ask(app, json!({"kind": "open_job", "unit": "1000"}))["id"].clone();
    let place = json!({"surface": "curbside", "from": "120", "to": "131", "low": "40", "high": "52"});
    let mark = ask(app, json!({"kind": "add_mark", "job": first, "place": place, "damage": "hole", "part": "side_sheet", "age": "new", "note": "", "found": null}))["id"].clone();
    ask(
        app,
        json!({"kind": "set_arrival", "job": first, "field": "slot", "value": "row A, 7"}),
    );
    ask(
        app,
        json!({"kind": "choose_way", "job": first, "group": mark, "way": "side_patch"}),
    );
    ask(app, json!({"kind": "ask_go_ahead", "job": first, "found": null}));
    let hash = ask(app, json!({"kind": "figures", "job": first}))["hash"].clone();
    ask(
        app,
        json!({"kind": "go_ahead", "job": first, "hash": hash, "amount": null, "note": ""}),
    );
    let entries = app
        .store()
        .entries(first.as_str().unwrap().parse().unwrap())
        .unwrap();
    let device = Uuid::now_v7();
    let (mut seq, mut all) = (0, Vec::new());
    let mut ids = Vec::new();
    for n in 1..jobs {
        let job = Uuid::now_v7();
        ids.push(job);
        let ago = TimeDelta::minutes(i64::try_from(n * 37 % 90_000).unwrap());
        for entry in &entries {
            seq += 1;
            let what = match &entry.what {
                What::Opened { .. } => What::Opened {
                    unit: format!("{}", 1000 + n),
                },
                other => other.clone(),
            };
            let at = clock::at(clock::wall(&entry.at).unwrap() - ago).unwrap();
            all.push(Entry {
                id: Uuid::now_v7(),
                job,
                act: Uuid::now_v7(),
                device,
                seq,
                at,
                saw: None,
                also: Vec::new(),
                what,
                ..entry.clone()
            });
        }
    }
    for few in all.chunks(2000) {
        app.store().receive(few).unwrap();
    }
    ids
}

/// The 95th percentile, in milliseconds.
fn p95(mut once: impl FnMut(usize)) -> f64 {
    let mut took: Vec<f64> = (0..ROUNDS)
        .map(|n| {
            let begun = Instant::now();
            once(n);
            begun.elapsed().as_secs_f64() * 1000.0
        })
        .collect();
    took.sort_by(f64::total_cmp);
    took[ROUNDS * 95 / 100]
}

fn main() {
    let jobs: usize = std::env::args().nth(1).map_or(5000, |n| n.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let app = App::open(folder.path(), Kind::Office).unwrap();
    let me = Person {
        id: ME,
        name: "B.".into(),
        roles: [Role::Supervisor].into(),
        may_release: true,
        ..Person::default()
    };
    app.store().put_person(&me).unwrap();
    let begun = Instant::now();
    let ids = fill(&app, jobs);
    println!("{jobs} jobs in {:.1} s", begun.elapsed().as_secs_f64());
    let (begun, mut asked) = (Instant::now(), 0);
    let cold = Instant::now();
    while ask(&app, json!({"kind": "office_jobs"}))["not_figured"] != 0 {
        asked += 1;
        if asked == 1 {
            println!("first list after {:.1} ms", cold.elapsed().as_secs_f64() * 1000.0);
        }
    }
    println!(
        "all rows figured in {:.1} s and {asked} asks, at {}",
        begun.elapsed().as_secs_f64(),
        Utc::now()
    );
    let rows = [
        ("list", p95(|_| drop(ask(&app, json!({"kind": "office_jobs"}))))),
        (
            "list of 600",
            p95(|_| drop(ask(&app, json!({"kind": "office_jobs", "most": 600})))),
        ),
        (
            "search",
            p95(|n| {
                drop(ask(
                    &app,
                    json!({"kind": "office_jobs", "find": format!("{}", 1000 + n * 61 % jobs)}),
                ))
            }),
        ),
        (
            "job",
            p95(|n| {
                drop(ask(
                    &app,
                    json!({"kind": "office_job", "job": ids[n * 71 % ids.len()]}),
                ))
            }),
        ),
        (
            "list after a change",
            p95(|n| {
                ask(
                    &app,
                    json!({"kind": "set_on_job", "job": ids[n * 53 % ids.len()], "person": ME, "on": true}),
                );
                ask(&app, json!({"kind": "office_jobs"}));
            }),
        ),
    ];
    for (name, ms) in rows {
        println!("{name}: p95 {ms:.1} ms");
    }
    let worst = rows.iter().map(|(_, ms)| *ms).fold(0.0, f64::max);
    println!("office: {worst:.1} ms, the worst 95th percentile of these with {jobs} jobs");
}
