//! The stores filled: jobs made after a pattern, and the office that the phone cannot get through to.

use crate::{Bench, TECHNICIAN};
use bowseam_figures::shop::Book;
use bowseam_jobs::{
    entry::{ArrivalField, Entry, What},
    people::Person,
};
use bowseam_send::wire::{Enrolled, Shop};
use std::{
    collections::BTreeSet,
    io::{BufRead, BufReader, Read, Write},
    net::{TcpListener, TcpStream},
    sync::mpsc,
    thread,
};
use uuid::Uuid;

/// The last jobs, whose entries and photos the office does not have yet.
const NOT_SENT: usize = 250;
/// Every so many items of these are stuck.
const STUCK_EVERY: usize = 500;
/// Jobs handed to the office's store at a time.
const LOT: usize = 50;
/// Of 20 jobs, how far each is on its way, in hundredths of the pattern's entries: most wait for an answer or
/// have it, few are in the bay or proved, one is handed over.
const HOW_FAR: [usize; 20] = [
    6, 12, 16, 18, 20, 20, 21, 22, 22, 22, 23, 23, 24, 24, 25, 27, 30, 55, 80, 100,
];

/// Puts jobs into both stores; answers how many entries that were.
pub fn fill(bench: &Bench, pattern: &[Entry], jobs: usize) -> usize {
    let pattern = without_undone(pattern);
    let (phone, office) = (bench.phone.store(), bench.office.store());
    let (to_office, from_phone) = mpsc::sync_channel::<Vec<Entry>>(2);
    let office = thread::spawn(move || {
        for lot in from_phone {
            office.receive(&lot).unwrap();
        }
    });
    let mut waiting = BTreeSet::new();
    let (mut lot, mut entries) = (Vec::new(), 0);
    for n in 0..jobs {
        let job = Uuid::now_v7();
        if n + NOT_SENT >= jobs {
            waiting.insert(job);
        }
        let far = (pattern.len() * HOW_FAR[n % HOW_FAR.len()]).div_ceil(100);
        let whats = pattern[..far].iter().map(|what| of_job(what, n)).collect();
        lot.extend(phone.append(job, TECHNICIAN, Uuid::now_v7(), whats).unwrap());
        entries += far;
        if n % LOT == LOT - 1 {
            to_office.send(std::mem::take(&mut lot)).unwrap();
        }
    }
    to_office.send(lot).unwrap();
    drop(to_office);
    office.join().unwrap();
    arrived(bench, &waiting);
    entries
}

/// What the office has by now, and what it refused.
fn arrived(bench: &Bench, waiting: &BTreeSet<Uuid>) {
    let store = bench.phone.store();
    loop {
        let open = store.unsent(None, 100_000).unwrap();
        let sent: Vec<i64> = open
            .iter()
            .filter(|item| !waiting.contains(&item.job))
            .map(|item| item.n)
            .collect();
        if sent.is_empty() {
            for item in open.iter().step_by(STUCK_EVERY) {
                store.stuck(item.n, "The office does not know this job.").unwrap();
            }
            return;
        }
        store.arrived(&sent).unwrap();
    }
}

/// The pattern's changes that still stand.
fn without_undone(pattern: &[Entry]) -> Vec<What> {
    let undone: BTreeSet<Uuid> = pattern
        .iter()
        .filter_map(|entry| match entry.what {
            What::Undone { act, .. } => Some(act),
            _ => None,
        })
        .collect();
    pattern
        .iter()
        .filter(|entry| !undone.contains(&entry.act) && !matches!(entry.what, What::Undone { .. }))
        .map(|entry| entry.what.clone())
        .collect()
}

/// The change as it is on the job with this number: its own unit, VIN, slot, order and photos.
fn of_job(what: &What, n: usize) -> What {
    let mut what = what.clone();
    match &mut what {
        What::Opened { unit } => *unit = format!("{}", 10_000 + n),
        What::Photo { sha256, .. } => *sha256 = bowseam_photos::sha256(format!("{n} {sha256}").as_bytes()),
        What::Arrival {
            field,
            value: Some(value),
        } => match field {
            ArrivalField::Vin => *value = format!("1M8GDM9AXKP{:06}", n * 37 % 1_000_000),
            ArrivalField::Slot => *value = format!("row {}, {}", n % 90 + 10, n / 90),
            ArrivalField::Order => *value = format!("C-{:06}", n * 7919 % 1_000_000),
            _ => {}
        },
        _ => {}
    }
    what
}

/// An office on this machine that makes a phone known, and else says that it has no time; its address.
pub fn office_that_says_later(people: Vec<Person>, book: Book) -> String {
    let enrolled = Enrolled {
        token: "t".to_owned(),
        shop: Shop {
            office_name: "Office".to_owned(),
            people,
            book: serde_json::to_value(book).unwrap(),
            stock: serde_json::Value::Null,
        },
    };
    let enrolled = serde_json::to_string(&enrolled).unwrap();
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = format!("http://{}/office", listener.local_addr().unwrap());
    thread::spawn(move || {
        for stream in listener.incoming() {
            // A phone that hangs up is none of the office's business.
            let _ = answer(stream.unwrap(), &enrolled);
        }
    });
    address
}

fn answer(stream: TcpStream, enrolled: &str) -> std::io::Result<()> {
    let mut reader = BufReader::new(stream);
    let (mut first, mut line, mut length) = (String::new(), String::new(), 0);
    reader.read_line(&mut first)?;
    while reader.read_line(&mut line)? > 2 {
        if let Some(said) = line.to_lowercase().strip_prefix("content-length:") {
            length = said.trim().parse().unwrap();
        }
        line.clear();
    }
    reader.read_exact(&mut vec![0; length])?;
    let (status, body) = if first.contains("/enrol ") {
        ("200 OK", enrolled)
    } else {
        (
            "503 Service Unavailable",
            r#"{"code":"later","sentence":"Later."}"#,
        )
    };
    let head = "Content-Type: application/json\r\nbowseam: 1\r\nConnection: close\r\n";
    let length = body.len();
    write!(
        reader.into_inner(),
        "HTTP/1.1 {status}\r\n{head}Content-Length: {length}\r\n\r\n{body}"
    )
}
