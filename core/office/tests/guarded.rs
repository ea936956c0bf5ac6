//! The guard before a router on loopback, as the program puts it.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;

use axum::middleware::from_fn_with_state;
use axum::routing::get;
use bowseam_office::{Guard, guard};
use serde_json::Value;

#[test]
fn a_guarded_page_answers_at_its_own_address_and_says_so_elsewhere() {
    let (listener, address) = common::listen();
    let page = axum::Router::new().route("/", get(|| async { "page" }));
    common::serve(
        listener,
        page.layer(from_fn_with_state(Guard::new(address.port()), guard)),
    );
    let ask = |headers: &[(&str, &str)]| {
        let mut request = common::agent().get(format!("http://{address}/"));
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        request.call().unwrap()
    };
    assert_eq!(ask(&[]).body_mut().read_to_string().unwrap(), "page");
    let own = format!("http://{address}");
    assert_eq!(ask(&[("origin", &own)]).status(), 200);
    for headers in [
        ("host", "rebound.example"),
        ("origin", "http://rebound.example"),
        ("origin", "null"),
    ] {
        let mut answer = ask(&[headers]);
        assert_eq!(answer.status(), 403, "{headers:?}");
        let refusal: Value = answer.body_mut().read_json().unwrap();
        assert!(refusal["sentence"].as_str().unwrap().ends_with('.'), "{refusal}");
    }
}
