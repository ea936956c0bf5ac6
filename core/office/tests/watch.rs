//! Counters, the budget of what is taken in at a time, and who may use it.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;

use bowseam_jobs::entry::PhotoOf;
use bowseam_send::Office;
use common::{Phone, Yard, agent};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

fn metrics(yard: &Yard, token: &str) -> (u16, String) {
    let request = agent().get(format!("{}/metrics", yard.url()));
    let mut answer = request
        .header("authorization", format!("Bearer {token}"))
        .call()
        .unwrap();
    (
        answer.status().as_u16(),
        answer.body_mut().read_to_string().unwrap(),
    )
}

#[test]
fn the_counters_are_for_those_who_have_the_token_and_count_what_came() {
    let yard = Yard::new();
    assert_eq!(
        metrics(&yard, "t").0,
        404,
        "not shown unless the program wants it"
    );
    yard.office.show_metrics(Some("a token".into()));
    assert_eq!((metrics(&yard, "").0, metrics(&yard, "another").0), (404, 404));
    let phone = Phone::known_to(&yard);
    let job = phone.open_job(yard.technician, "4417");
    phone.take_photo(job, yard.technician, PhotoOf::Unit, 100, 1);
    phone.round();
    let (status, text) = metrics(&yard, "a token");
    assert_eq!(status, 200);
    let value = |name: &str| {
        let line = text.lines().find(|line| line.starts_with(&format!("{name} ")));
        line.unwrap_or_else(|| panic!("{name} in {text}"))
            .rsplit(' ')
            .next()
            .unwrap()
            .parse::<f64>()
            .unwrap()
    };
    assert_eq!(value("bowseam_entries_arrived_total"), 2.0);
    assert_eq!(value("bowseam_photos_arrived_total"), 1.0);
    assert!(value("bowseam_photo_bytes_total") > 30_000.0);
    assert_eq!(
        value("bowseam_free_mebibytes"),
        512.0,
        "every share was given back"
    );
    assert_eq!(value("bowseam_under_way"), 0.0);
    let asked = value("bowseam_request_seconds_count");
    assert!(
        asked >= 6.0 && value("bowseam_request_seconds_sum") > 0.0,
        "{text}"
    );
    assert_eq!(value("bowseam_request_seconds_bucket{le=\"60\"}"), asked);
    let token = Office::of(&phone.store).unwrap().unwrap().token;
    assert!(!text.contains("4417") && !text.contains(&token));
}

/// Begins a request that says that much is to come, and sends nothing more.
fn begin(yard: &Yard, header: &str, length: u64) -> TcpStream {
    let mut stream = TcpStream::connect(yard.address).unwrap();
    let head = format!(
        "POST /office/ask HTTP/1.1\r\nhost: x\r\nbowseam: 1\r\n{header}content-length: {length}\r\n\r\n"
    );
    stream.write_all(head.as_bytes()).unwrap();
    stream
}

#[test]
fn a_stranger_cannot_use_up_what_may_be_taken_in_and_who_comes_too_much_is_told_to_come_again() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let token = Office::of(&phone.store).unwrap().unwrap().token;
    let whole = 64 << 20;
    // Nobody has said who they are: refused before a byte of it is taken.
    let mut strangers: Vec<TcpStream> = (0..20).map(|_| begin(&yard, "", whole)).collect();
    for stranger in &mut strangers {
        stranger.set_read_timeout(Some(Duration::from_secs(5))).unwrap();
        let mut answer = [0; 12];
        stranger.read_exact(&mut answer).unwrap();
        assert_eq!(&answer, b"HTTP/1.1 401");
    }
    assert!(phone.round().why.is_none());
    // Eight of a known phone hold it all; the next one waits, and is then told to come again.
    let header = format!("authorization: Bearer {token}\r\n");
    let held: Vec<TcpStream> = (0..8).map(|_| begin(&yard, &header, whole)).collect();
    std::thread::sleep(Duration::from_millis(500));
    let begun = Instant::now();
    let answer = agent()
        .get(format!("{}/here", yard.url()))
        .header("authorization", format!("Bearer {token}"))
        .call()
        .unwrap();
    assert_eq!(
        (
            answer.status().as_u16(),
            answer.headers()["retry-after"].to_str().unwrap()
        ),
        (503, "5")
    );
    assert!(begun.elapsed() >= Duration::from_secs(9), "{:?}", begun.elapsed());
    drop(held);
    common::until("the shares are given back", || phone.round().why.is_none());
}
