//! The office with very many jobs: `bench_many FOLDER [JOBS] [PHOTOS]` (100 000 jobs, 10 photos each). Each of list,
//! board, job and search beside the same SQL alone, over the same file, in turns. The last line is `office: R`, the
//! worst 95th percentile of the four over that of its SQL alone; the table before it has all four.
//!
//! The yard is one job that was worked on, copied by SQL with ids, units, times and photos of its own, and its row as
//! figured: what the copies cost to figure is not what is measured here (`bench_office` of the app does).
//!
//! Where the environment names a PostgreSQL (`servers`), that yard is backed up and restored there, and what is asked is a
//! receiver that took the log over, brought up to date before each ask as the office's door does; the SQL beside it is that
//! over the receiver's own file. Then how many asks and messages one and two receivers take a second.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout
)]

#[path = "common/photo.rs"]
mod taken;

#[path = "bench_many/receivers.rs"]
mod receivers;

use bowseam_app::{App, Asker, Kind, door};
use bowseam_jobs::people::{Person, Role};
use rusqlite::{Connection, params};
use serde_json::{Value, json};
use std::path::Path;
use std::time::Instant;
use taken::added;
use uuid::Uuid;

const ME: Uuid = Uuid::from_u128(0xa2);
const ROUNDS: usize = 100;

/// From JSON to JSON, as over HTTP.
fn bytes(app: &App, ask: &Value) -> Vec<u8> {
    // What other receivers wrote; nothing where there are none.
    app.store().refresh().unwrap();
    let ask = door::from_json(ask.to_string().as_bytes()).unwrap();
    let answer = app.ask(&Asker { person: Some(ME) }, ask, None).unwrap();
    serde_json::to_vec(&answer).unwrap()
}

fn ask(app: &App, ask: Value) -> Value {
    serde_json::from_slice(&bytes(app, &ask)).unwrap()
}

/// One job with a hole in a side sheet, its way, figures, go-ahead and photos; and its row as figured.
fn first(folder: &Path, photos: usize) {
    let app = App::open(folder, Kind::Office).unwrap();
    let me = Person {
        id: ME,
        name: "B.".into(),
        roles: [Role::Supervisor].into(),
        may_release: true,
        ..Person::default()
    };
    app.store().put_person(&me).unwrap();
    let job = ask(&app, json!({"kind": "open_job", "unit": "1000"}))["id"].clone();
    let place = json!({"surface": "curbside", "from": "120", "to": "131", "low": "40", "high": "52"});
    let mark = ask(&app, json!({"kind": "add_mark", "job": job, "place": place, "damage": "hole", "part": "side_sheet", "age": "new", "note": "", "found": null}))["id"].clone();
    ask(
        &app,
        json!({"kind": "set_arrival", "job": job, "field": "slot", "value": "row A, 7"}),
    );
    ask(
        &app,
        json!({"kind": "choose_way", "job": job, "group": mark, "way": "side_patch"}),
    );
    let id: Uuid = job.as_str().unwrap().parse().unwrap();
    for n in 0..photos {
        let what = added(format!("{n:064x}"), format!("{n}.jpg"), 3_000_000);
        app.store().append(id, ME, Uuid::now_v7(), vec![what]).unwrap();
    }
    ask(&app, json!({"kind": "ask_go_ahead", "job": job, "found": null}));
    let hash = ask(&app, json!({"kind": "figures", "job": job}))["hash"].clone();
    ask(
        &app,
        json!({"kind": "go_ahead", "job": job, "hash": hash, "amount": null, "note": ""}),
    );
    while ask(&app, json!({"kind": "office_jobs"}))["not_figured"] != 0 {}
}

/// The id of copy `j`: text and bytes.
const JOB: &str = "printf('%08x-0000-7000-8000-000000000001', j)";

/// Copies the one job.
fn copy(conn: &Connection, jobs: usize) {
    let entries: i64 = conn
        .query_row("SELECT count(*) FROM entry", [], |row| row.get(0))
        .unwrap();
    let each = "WITH RECURSIVE copies (j) AS (SELECT 1 UNION ALL SELECT j + 1 FROM copies WHERE j < ?1)";
    let sql = format!(
        "{each}, one AS (SELECT row_number() OVER (ORDER BY n) AS i, * FROM entry WHERE n <= ?2),
         made AS MATERIALIZED (SELECT j, i, kind, json, {JOB} AS job_text,
             printf('%08x-%04x-7000-8000-000000000002', j, i) AS id_text,
             printf('%08x', ?3 - 100 + i - j * 37 % ?4) || substr(at, 9) AS at,
             j * ?2 + i AS n FROM copies CROSS JOIN one)
         INSERT INTO entry (n, id, job, device, seq, at, kind, json)
         SELECT n, unhex(replace(id_text, '-', '')), unhex(replace(job_text, '-', '')), x'0000000000007000800000000000000d', n, at, kind,
             json_replace(json, '$.id', id_text, '$.job', job_text, '$.at', at, '$.seq', n,
                 '$.device', '00000000-0000-7000-8000-00000000000d',
                 '$.what.unit', cast(1000 + j AS TEXT), '$.what.sha256', printf('%064x', j * 1000 + i))
         FROM made ORDER BY n"
    );
    let now = chrono::Utc::now().timestamp();
    // All on one day, so that each needs a bay from the same day on, as the row that is copied says.
    let today = (now % 86_400 - 200).max(60);
    conn.execute(&sql, params![jobs - 1, entries, now, today])
        .unwrap();
    for sql in [
        "INSERT INTO photo_job (sha256, job) SELECT json ->> '$.what.sha256', job FROM entry WHERE kind = 'photo' AND n > ?2 AND ?1 > 0 AND ?3 + ?4 > 0".to_owned(),
        format!("{each} INSERT INTO job (id, last, find, summary, open, due, figured)
            SELECT unhex(replace({JOB}, '-', '')), (SELECT max(at) FROM entry AS e WHERE e.job = unhex(replace({JOB}, '-', ''))),
                replace(find, '1000', cast(1000 + j AS TEXT)), json_set(summary, '$.id', {JOB}, '$.unit', cast(1000 + j AS TEXT)),
                open, date('2026-12-01', (j % 60) || ' days'), figured
            FROM copies CROSS JOIN (SELECT * FROM job LIMIT 1) WHERE ?2 > 0 AND ?3 + ?4 > 0"),
        format!("{each} INSERT INTO kept_row (job, n, made_with, json, due)
            SELECT unhex(replace({JOB}, '-', '')), (j + 1) * ?2, made_with,
                json_set(json, '$.row.job', {JOB}, '$.row.unit', cast(1000 + j AS TEXT),
                    '$.bay.unit', cast(1000 + j AS TEXT),
                    '$.bay.since', strftime('%Y-%m-%dT%H:%M:%S', ?3 - 100 + (SELECT min(n) FROM entry WHERE kind = 'decided')
                        - j * 37 % ?4, 'unixepoch') || substr(json ->> '$.bay.since', 20)), due
            FROM copies CROSS JOIN (SELECT * FROM kept_row LIMIT 1)"),
        "INSERT OR IGNORE INTO device (id) SELECT x'0000000000007000800000000000000d' WHERE ?1 + ?2 + ?3 + ?4 > 0".to_owned(),
    ] {
        conn.execute(&sql, params![jobs - 1, entries, now, today]).unwrap();
    }
    conn.execute_batch("ANALYZE").unwrap();
}

/// The 95th percentiles of two that are asked in turns, in milliseconds.
fn p95(mut ours: impl FnMut(usize), mut sql: impl FnMut(usize)) -> [f64; 2] {
    let (mut us, mut them) = (Vec::new(), Vec::new());
    for n in 0..ROUNDS {
        let begun = Instant::now();
        ours(n);
        us.push(begun.elapsed().as_secs_f64() * 1000.0);
        let begun = Instant::now();
        sql(n);
        them.push(begun.elapsed().as_secs_f64() * 1000.0);
    }
    [us, them].map(|mut took| {
        took.sort_by(f64::total_cmp);
        took[ROUNDS * 95 / 100]
    })
}

/// Reads every column of every row, as text or bytes.
fn read(conn: &Connection, sql: &str, with: &dyn rusqlite::ToSql) -> usize {
    let mut statement = conn.prepare_cached(sql).unwrap();
    let (columns, mut bytes) = (statement.column_count(), 0);
    let mut rows = statement.query([with]).unwrap();
    while let Some(row) = rows.next().unwrap() {
        for column in 0..columns {
            bytes += row
                .get_ref(column)
                .unwrap()
                .as_bytes_or_null()
                .map_or(8, |value| value.map_or(0, <[u8]>::len));
        }
    }
    bytes
}

/// What a list reads: the jobs, their rows as figured, the sums.
fn list_sql(conn: &Connection, most: usize) {
    let jobs = "SELECT j.id, j.summary, k.json FROM job AS j JOIN kept_row AS k ON k.job = j.id";
    let most = i64::try_from(most).unwrap();
    read(
        conn,
        &format!(
            "{jobs} WHERE iif(json_valid(summary), summary ->> '$.unanswered', 0) > 0 ORDER BY j.last DESC, j.id DESC LIMIT ?1"
        ),
        &most,
    );
    read(
        conn,
        &format!("{jobs} WHERE j.open = 1 ORDER BY j.due, j.last DESC, j.id LIMIT ?1"),
        &most,
    );
    for open in [1_i64, 0] {
        read(conn, "SELECT count(*) FROM job WHERE open = ?1", &open);
    }
    read(conn, "SELECT count(*) FROM apart WHERE n > ?1", &0_i64);
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let number = |n: usize, usual: usize| args.get(n).map_or(usual, |text| text.parse().unwrap());
    let (jobs, photos) = (number(1, 100_000), number(2, 10));
    std::fs::create_dir_all(&args[0]).unwrap();
    let folder = tempfile::tempdir_in(&args[0]).unwrap();
    let begun = Instant::now();
    first(folder.path(), photos);
    let conn = Connection::open(folder.path().join("jobs.sqlite")).unwrap();
    copy(&conn, jobs);
    let shared = receivers::shared();
    let (app, conn) = match &shared {
        None => (App::open(folder.path(), Kind::Office).unwrap(), conn),
        Some(shared) => {
            drop(conn);
            receivers::first(folder.path(), shared)
        }
    };
    let count = |sql: &str| conn.query_row(sql, [], |row| row.get::<_, i64>(0)).unwrap();
    println!(
        "{} jobs, {} entries, {} photo rows, made in {:.0} s",
        count("SELECT count(*) FROM job"),
        count("SELECT count(*) FROM entry"),
        count("SELECT count(*) FROM photo_job"),
        begun.elapsed().as_secs_f64()
    );
    let list = ask(&app, json!({"kind": "office_jobs"}));
    assert_eq!(list["not_figured"], 0, "the rows are those that were figured");
    let of = |n: usize| 1 + n * 7919 % (jobs - 1);
    let id = |n: usize| format!("{:08x}-0000-7000-8000-000000000001", of(n));
    let job = ask(&app, json!({"kind": "office_job", "job": id(0)}));
    assert_eq!(job["photos"].as_array().unwrap().len(), photos);
    let find = "SELECT j.id, j.summary, k.json
        FROM (SELECT id FROM job WHERE instr(find, ?1) > 0 ORDER BY last DESC, id DESC LIMIT 100) AS f
        JOIN job AS j ON j.id = f.id JOIN kept_row AS k ON k.job = j.id ORDER BY j.last DESC, j.id DESC";
    let rows = [
        (
            "list",
            p95(
                |_| drop(bytes(&app, &json!({"kind": "office_jobs"}))),
                |_| list_sql(&conn, 60),
            ),
        ),
        (
            "board",
            p95(
                |_| drop(bytes(&app, &json!({"kind": "office_jobs", "most": 600}))),
                |_| list_sql(&conn, 600),
            ),
        ),
        (
            "job",
            p95(
                |n| drop(bytes(&app, &json!({"kind": "office_job", "job": id(n)}))),
                |n| {
                    let id: Uuid = id(n).parse().unwrap();
                    read(&conn, "SELECT json FROM entry WHERE job = ?1", &id.as_bytes());
                },
            ),
        ),
        (
            "search",
            p95(
                |n| {
                    drop(bytes(
                        &app,
                        &json!({"kind": "office_jobs", "find": (1000 + of(n)).to_string()}),
                    ))
                },
                |n| {
                    read(&conn, find, &(1000 + of(n)).to_string());
                },
            ),
        ),
    ];
    if shared.is_some() {
        let [log, _] = p95(|_| app.store().refresh().unwrap(), |_| ());
        println!("brought up to date by the log, in each of these: p95 {log:.1} ms");
    }
    for (name, [ours, sql]) in rows {
        println!(
            "{name}: p95 {ours:.1} ms, its SQL alone {sql:.1} ms, {:.2} times",
            ours / sql
        );
    }
    if let Some(shared) = &shared {
        receivers::together(folder.path(), shared, app, jobs);
    }
    let (name, [ours, sql]) = rows.into_iter().max_by(|a, b| a.1[0].total_cmp(&b.1[0])).unwrap();
    println!(
        "office: {:.2} the worst 95th percentile ({name}, {ours:.1} ms) over that of its SQL alone, with {jobs} jobs{}",
        ours / sql,
        if shared.is_some() { " on PostgreSQL" } else { "" }
    );
}
