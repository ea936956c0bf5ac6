//! The program as a command: computations as JSON, bad input, one program a folder, a port in use, strangers.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use bowseam_tests::{Program, built, request};
use serde_json::{Value, json};
use std::{
    io::Write,
    net::TcpListener,
    process::{Command, Output, Stdio},
    time::{Duration, Instant},
};

fn figure(what: &str, input: &str) -> Output {
    let mut child = Command::new(built("bowseam"))
        .args(["figure", what])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(input.as_bytes()).unwrap();
    child.wait_with_output().unwrap()
}

fn worked(what: &str, input: &Value) -> Value {
    let output = figure(what, &input.to_string());
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).unwrap()
}

/// The worked example of the contract for roof-section: a 53 ft roof, damage from 3 to 149 in.
#[test]
fn the_program_works_out_a_roof_section_as_its_contract_says() {
    let out = worked(
        "roof-section",
        &json!({"unit": "in", "body": {"length": 636, "width": 102, "rail_width_outside": 101.5,
            "bows": {"first": 24, "spacing": 24, "count": 26}, "rail_hole_pitch": 4, "roof_sheet": 0.040, "density_lb_in3": 0.098},
            "damage": {"from": 3, "to": 149}, "sound_bows": null, "shop": {}}),
    );
    assert_eq!(
        (&out["way"], &out["seam_bow"], out["seam_station"].as_f64()),
        (&json!("section"), &json!(7), Some(168.0))
    );
    assert_eq!(out["bows_hit"], json!([1, 2, 3, 4, 5, 6]));
    let lengths = ["rough_length", "finished_length", "finished_width"].map(|k| out[k].as_f64().unwrap());
    assert_eq!(lengths, [175.0, 170.375, 102.25]);
    let line = |item: &str| {
        let found = out["lines"]
            .as_array()
            .unwrap()
            .iter()
            .find(|l| l["item"] == item);
        found.unwrap_or_else(|| panic!("no line {item}"))["quantity"]
            .as_f64()
            .unwrap()
    };
    let items = [
        "seam tape",
        "foam tape",
        "seam sealant",
        "bow caulk",
        "sealant cartridges",
        "seam rivets",
        "rail rivets",
        "nose rail rivets",
        "edge to roll",
    ];
    assert_eq!(
        items.map(line),
        [203.0, 336.0, 107.5, 609.0, 3.0, 6.0, 78.0, 27.0, 437.5]
    );
}

/// 49 CFR 565.15, the example of the regulation's own check digit (from memory).
#[test]
fn the_program_checks_a_vin() {
    let out = worked("vin", &json!({"vin": "1M8GDM9AXKP042788"}));
    assert_eq!((&out["valid"], &out["check_digit"]), (&json!(true), &json!("X")));
}

#[test]
fn bad_input_ends_with_exit_2_a_pointer_and_nothing_on_standard_output() {
    let cases = [
        ("vin", r#"{"vin":"1M8GDM9AXKP04278"}"#, "/vin"),
        ("roof-section", r#"{"unit":"ell"}"#, "/unit"),
        (
            "price",
            r#"{"lines":[{"item":"a","quantity":"x","unit_price":"1","taxed":true}],"hours":[],"tax_rate":"0","tax_rounding":"line"}"#,
            "/lines/0/quantity",
        ),
        ("rivets", r#"{"layers":[0.04],"colour":"red"}"#, "/colour"),
        ("roof-section", "[", ""),
        ("nothing-of-the-kind", "{}", ""),
    ];
    for (what, input, pointer) in cases {
        let start = Instant::now();
        let output = figure(what, input);
        assert_eq!(output.status.code(), Some(2), "{what} {input}");
        assert!(output.stdout.is_empty());
        let said: Value = serde_json::from_slice(&output.stderr).unwrap();
        assert_eq!(said["where"], pointer, "{said}");
        assert!(said["error"].as_str().unwrap().len() > 20, "{said}");
        assert!(start.elapsed() < Duration::from_secs(2));
    }
}

#[test]
fn a_second_program_on_the_same_folder_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let first = Program::serve_on(folder.path());
    let second = Command::new(built("bowseam"))
        .args(["--no-browser", "--data"])
        .arg(folder.path())
        .output()
        .unwrap();
    assert!(!second.status.success());
    assert!(second.stdout.is_empty());
    let said = String::from_utf8_lossy(&second.stderr);
    assert!(said.contains("another program"), "{said}");
    drop(first);
}

#[test]
fn a_port_in_use_is_said_in_a_sentence() {
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let output = Command::new(built("bowseam"))
        .args(["--no-browser", "--port", &port])
        .output()
        .unwrap();
    assert!(!output.status.success());
    assert!(String::from_utf8_lossy(&output.stderr).contains(&port));
}

#[test]
fn pages_of_others_cannot_ask() {
    let program = Program::serve();
    let hello = r#"{"kind":"hello"}"#;
    let ours = program
        .base
        .trim_end_matches('/')
        .trim_start_matches("http://")
        .to_owned();
    let own = format!("http://{ours}");
    // Each row: Host, Origin, whether it may ask.
    let rows = [
        (ours.as_str(), None, true),
        (ours.as_str(), Some(own.as_str()), true),
        (ours.as_str(), Some("http://elsewhere.example"), false),
        (ours.as_str(), Some("null"), false),
        ("elsewhere.example", None, false),
    ];
    for (host, origin, may) in rows {
        for path in ["/ask", "/office/ask"] {
            let (status, body) = request(&program.base, "POST", path, host, origin, hello);
            assert_eq!(
                status == 200,
                may,
                "{path} from {origin:?} at {host}: {status} {body}"
            );
        }
    }
}

#[test]
fn what_was_saved_is_there_after_the_program_is_killed() {
    let folder = tempfile::tempdir().unwrap();
    let ask = |program: &Program, ask: Value| -> Value {
        let host = program
            .base
            .trim_end_matches('/')
            .trim_start_matches("http://")
            .to_owned();
        let (status, body) = request(&program.base, "POST", "/ask", &host, None, &ask.to_string());
        assert_eq!(status, 200, "{body}");
        serde_json::from_str(&body).unwrap()
    };
    let program = Program::serve_on(folder.path());
    let people = ask(&program, json!({"kind": "hello"}))["people"].clone();
    ask(
        &program,
        json!({"kind": "sign_in", "person": people[0]["id"], "pin": "1234"}),
    );
    let job = ask(&program, json!({"kind": "open_job", "unit": "9001"}))["id"].clone();
    ask(
        &program,
        json!({"kind": "set_arrival", "job": job, "field": "slot", "value": "row Z, 1"}),
    );
    program.kill();
    let program = Program::serve_on(folder.path());
    let fields = ask(&program, json!({"kind": "arrival", "job": job}))["fields"].clone();
    let slot = fields
        .as_array()
        .unwrap()
        .iter()
        .find(|f| f["field"] == "slot")
        .unwrap();
    assert_eq!(slot["value"], "row Z, 1");
}
