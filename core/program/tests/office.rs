//! `bowseam office`, `backup` and `restore` as programs: where they listen, what they refuse, TLS by a certificate of one's
//! own, the log without secrets.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};

struct Office {
    process: Child,
    url: String,
}

impl Office {
    fn start(data: &Path, more: &[&str]) -> Self {
        let mut process = Command::new(env!("CARGO_BIN_EXE_bowseam"))
            .args(["office", "--no-browser", "--data"])
            .arg(data)
            .args(more)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(process.stdout.take().unwrap())
            .read_line(&mut line)
            .unwrap();
        let url = line
            .trim_end()
            .strip_prefix("ready ")
            .expect("the ready line")
            .to_owned();
        Self { process, url }
    }

    /// Ends it; what it said on standard error.
    fn end(mut self) -> String {
        self.process.kill().unwrap();
        let mut said = String::new();
        self.process
            .stderr
            .take()
            .unwrap()
            .read_to_string(&mut said)
            .unwrap();
        self.process.wait().unwrap();
        said
    }
}

fn bowseam(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_bowseam"))
        .args(words)
        .output()
        .unwrap()
}

fn curl(words: &[&str]) -> Option<String> {
    let out = Command::new("curl")
        .args(["--silent", "--show-error", "--max-time", "20"])
        .args(words)
        .output()
        .ok()?;
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    Some(String::from_utf8(out.stdout).unwrap())
}

#[test]
fn an_address_that_others_reach_is_not_listened_at_without_tls() {
    let data = tempfile::tempdir().unwrap();
    let data = data.path().to_str().unwrap();
    for words in [
        &["office", "--no-browser", "--listen", "0.0.0.0", "--data", data][..],
        &[
            "office",
            "--no-browser",
            "--listen",
            "0.0.0.0",
            "--certificate",
            "x",
            "--data",
            data,
        ],
        &[
            "office",
            "--no-browser",
            "--certificate",
            "/none",
            "--key",
            "/none",
            "--data",
            data,
        ],
        &[
            "office",
            "--no-browser",
            "--database",
            "postgres://a@127.0.0.1/x",
            "--data",
            data,
        ],
        &[
            "restore",
            data,
            "--database",
            "postgres://a@db.example/x",
            "--photos",
            "s3://x",
        ],
    ] {
        let out = bowseam(words);
        let said = String::from_utf8(out.stderr).unwrap();
        assert_eq!(out.status.code(), Some(2), "{words:?}: {said}");
        assert!(!said.is_empty() && out.stdout.is_empty(), "{words:?}");
    }
}

#[test]
fn a_certificate_of_ones_own_serves_https_and_the_first_pin_cannot_be_guessed() {
    let folder = tempfile::tempdir().unwrap();
    let (certificate, key) = (folder.path().join("c.pem"), folder.path().join("k.pem"));
    let made = Command::new("openssl")
        .args([
            "req",
            "-x509",
            "-newkey",
            "ec",
            "-pkeyopt",
            "ec_paramgen_curve:prime256v1",
            "-nodes",
            "-days",
            "2",
        ])
        .args([
            "-subj",
            "/CN=localhost",
            "-addext",
            "subjectAltName=DNS:localhost",
            "-keyout",
        ])
        .arg(&key)
        .arg("-out")
        .arg(&certificate)
        .output();
    if !made.is_ok_and(|made| made.status.success()) {
        eprintln!("skipped: openssl is not there to make a certificate");
        return;
    }
    let (certificate, key) = (certificate.to_str().unwrap(), key.to_str().unwrap());
    let listen = [
        "--listen",
        "0.0.0.0",
        "--certificate",
        certificate,
        "--key",
        key,
        "--log",
        "json",
    ];
    let office = Office::start(&folder.path().join("data"), &listen);
    let port = office
        .url
        .trim_end_matches('/')
        .rsplit(':')
        .next()
        .unwrap()
        .to_owned();
    assert!(office.url.starts_with("https://"), "{}", office.url);
    // Somebody who connects and says nothing holds up nobody.
    let _silent = std::net::TcpStream::connect(format!("127.0.0.1:{port}")).unwrap();
    let at = format!("https://localhost:{port}/office");
    let health = curl(&["--cacert", certificate, &format!("{at}/health")]).unwrap();
    assert_eq!(health, r#"{"ok":true}"#);
    let plain = Command::new("curl")
        .args([
            "--silent",
            "--max-time",
            "5",
            &format!("http://localhost:{port}/office/health"),
        ])
        .output();
    assert!(!plain.unwrap().status.success(), "not without TLS");
    let secret = [
        "-H",
        "authorization: Bearer topsecret",
        "-H",
        "cookie: bowseam_office=topsecret",
    ];
    let here = format!("{at}/here?token=topsecret");
    curl(&[&["--cacert", certificate, &here][..], &secret].concat()).unwrap();
    assert!(
        curl(&["--cacert", certificate, &format!("{at}/metrics")])
            .unwrap()
            .is_empty(),
        "no counters for everybody"
    );
    let said = office.end();
    let pin = said.split_once("the PIN ").expect("it is said once").1[..12].to_owned();
    assert!(
        pin.bytes().all(|digit| digit.is_ascii_digit()) && !said.contains("1234, until"),
        "{said}"
    );
    let lines: Vec<serde_json::Value> = said
        .lines()
        .filter_map(|line| serde_json::from_str(line).ok())
        .collect();
    let asked = lines
        .iter()
        .find(|line| line["path"] == "/here")
        .unwrap_or_else(|| panic!("{said}"));
    assert_eq!(
        (&asked["status"], &asked["method"], &asked["code"]),
        (&401.into(), &"GET".into(), &"stranger".into())
    );
    assert!(!said.contains("topsecret"), "{said}");
}

#[test]
fn an_office_is_backed_up_while_it_serves_and_brought_back_into_an_empty_folder() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let office = Office::start(&folder.path().join("data"), &[]);
    let done = bowseam(&["backup", "--data", &at("data"), &at("copy")]);
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    office.end();
    for (into, works) in [("again", true), ("again", false), ("data", false)] {
        let done = bowseam(&["restore", &at("copy"), "--data", &at(into)]);
        assert_eq!(
            done.status.success(),
            works,
            "{into}: {}",
            String::from_utf8_lossy(&done.stderr)
        );
    }
    let office = Office::start(&folder.path().join("again"), &[]);
    let said = office.end();
    assert!(!said.contains("A new office"), "its people are there: {said}");
}
