//! The pages' door over real loopback HTTP: who may ask what, and which pages of a browser may ask at all.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;

use std::collections::BTreeSet;

use bowseam_app::ask::Ask;
use bowseam_office::{Need, need};
use common::{PIN, Yard, agent};
use serde_json::{Value, json};
use ureq::http::Response;
use uuid::Uuid;

/// One ask of every kind, and what it needs here.
fn rows() -> Vec<(Value, Need)> {
    use Need::{Nobody, Person, Phone, Supervisor};
    let job = Uuid::nil();
    let place = json!({"surface": "roof", "from": "1", "to": "2", "low": "1", "high": "2"});
    let mut rows = vec![
        (json!({"kind": "hello"}), Nobody),
        (json!({"kind": "sign_in", "person": job, "pin": "0000"}), Nobody),
        (json!({"kind": "sign_out"}), Nobody),
        (
            json!({"kind": "enrol", "office": "", "code": "", "name": ""}),
            Phone,
        ),
        (json!({"kind": "outbox"}), Phone),
        (json!({"kind": "try_now"}), Phone),
        (json!({"kind": "photos_wait", "wait": true}), Phone),
        (json!({"kind": "write_card"}), Phone),
        (json!({"kind": "read_card_back"}), Phone),
        (json!({"kind": "room"}), Phone),
        (json!({"kind": "free_room", "originals": true}), Phone),
        (json!({"kind": "drafts", "job": job}), Phone),
        (
            json!({"kind": "keep_draft", "job": job, "key": "", "text": ""}),
            Phone,
        ),
        (json!({"kind": "office_jobs"}), Supervisor),
        (json!({"kind": "office_job", "job": job}), Supervisor),
        (
            json!({"kind": "go_ahead", "job": job, "hash": "", "amount": null, "note": ""}),
            Supervisor,
        ),
        (
            json!({"kind": "part_sum", "job": job, "hash": "", "groups": []}),
            Supervisor,
        ),
        (
            json!({"kind": "send_back", "job": job, "hash": "", "note": ""}),
            Supervisor,
        ),
        (json!({"kind": "overrule", "job": job, "reason": ""}), Supervisor),
        (json!({"kind": "new_code"}), Supervisor),
        (json!({"kind": "looked", "job": job, "newest": 0}), Supervisor),
        (
            json!({"kind": "set_office", "job": job, "field": "insurer", "value": ""}),
            Supervisor,
        ),
        (
            json!({"kind": "set_sublet", "job": job, "sublet": null, "work": "", "who": "", "out_on": "", "back_on": "", "back": false}),
            Supervisor,
        ),
        (json!({"kind": "reopen", "job": job, "reason": ""}), Supervisor),
        (json!({"kind": "people"}), Supervisor),
        (
            json!({"kind": "set_person", "person": null, "name": "", "roles": [], "qualified": []}),
            Supervisor,
        ),
        (
            json!({"kind": "set_secret", "person": job, "secret": "", "password": false}),
            Supervisor,
        ),
        (
            json!({"kind": "end_person", "person": job, "ended": true}),
            Supervisor,
        ),
        (json!({"kind": "phones"}), Supervisor),
        (json!({"kind": "take_back", "device": job}), Supervisor),
        (json!({"kind": "take_in", "device": job}), Supervisor),
        (json!({"kind": "learned"}), Supervisor),
        (
            json!({"kind": "set_book", "group": "", "key": "", "value": ""}),
            Supervisor,
        ),
        (
            json!({"kind": "set_cure", "product": "", "at": "", "hours": ""}),
            Supervisor,
        ),
        (
            json!({"kind": "set_closed", "day": "", "why": "", "closed": false}),
            Supervisor,
        ),
        (
            json!({"kind": "set_stock", "stock": null, "line": null}),
            Supervisor,
        ),
        (
            json!({"kind": "learn", "task": "", "now": "", "take": false}),
            Supervisor,
        ),
        (
            json!({"kind": "set_note", "job": job, "note": null, "text": ""}),
            Person,
        ),
        (
            json!({"kind": "set_on_job", "job": job, "person": job, "on": true}),
            Person,
        ),
        (
            json!({"kind": "settle", "job": job, "keep": job, "instead_of": job}),
            Person,
        ),
        (json!({"kind": "yard"}), Person),
        (json!({"kind": "open_job", "unit": ""}), Person),
        (
            json!({"kind": "set_arrival", "job": job, "field": "vin", "value": ""}),
            Person,
        ),
        (json!({"kind": "set_roll", "job": job, "answer": null}), Person),
        (
            json!({"kind": "set_plan", "job": job, "field": "length", "value": ""}),
            Person,
        ),
        (
            json!({"kind": "set_looked", "job": job, "surface": "roof", "seen": true}),
            Person,
        ),
        (
            json!({"kind": "place_at", "job": job, "inside": false, "x1": 0, "y1": 0, "x2": 0, "y2": 0}),
            Person,
        ),
        (
            json!({"kind": "add_mark", "job": job, "place": place, "damage": "hole", "part": "roof_sheet", "age": "new", "note": "", "found": null}),
            Person,
        ),
        (json!({"kind": "mark", "job": job, "mark": job}), Person),
        (json!({"kind": "set_mark", "job": job, "mark": job}), Person),
        (json!({"kind": "remove_mark", "job": job, "mark": job}), Person),
        (
            json!({"kind": "add_photo", "job": job, "of": {"of": "unit"}, "when": "before", "name": ""}),
            Person,
        ),
        (
            json!({"kind": "move_photo", "job": job, "sha256": "", "of": {"of": "unit"}, "when": "before"}),
            Person,
        ),
        (
            json!({"kind": "set_photo_view", "job": job, "sha256": "", "view": null}),
            Person,
        ),
        (json!({"kind": "remove_photo", "job": job, "sha256": ""}), Person),
        (json!({"kind": "photo", "job": job, "sha256": ""}), Person),
        (json!({"kind": "photos", "job": job}), Person),
        (
            json!({"kind": "set_photo_scale", "job": job, "sha256": "", "scale": null}),
            Person,
        ),
        (json!({"kind": "find_target", "job": job, "sha256": ""}), Person),
        (
            json!({"kind": "pair_aligned", "job": job, "before": "", "after": ""}),
            Person,
        ),
        (
            json!({"kind": "align_pair", "job": job, "before": "", "after": "", "taps": null}),
            Person,
        ),
        (
            json!({"kind": "size_from_photo", "job": job, "sha256": "", "mark": job, "side": "along", "line": 0}),
            Person,
        ),
        (
            json!({"kind": "draw_on_photo", "job": job, "sha256": "", "id": null, "shape": null}),
            Person,
        ),
        (
            json!({"kind": "choose_way", "job": job, "group": "", "way": null}),
            Person,
        ),
        (json!({"kind": "choose_ways", "job": job, "ways": []}), Person),
        (
            json!({"kind": "compare_figures", "job": job, "was": "", "now": ""}),
            Person,
        ),
        (
            json!({"kind": "crew_plan", "job": job, "temperature": ""}),
            Person,
        ),
        (json!({"kind": "ask_go_ahead", "job": job, "found": null}), Person),
        (
            json!({"kind": "set_on_hand", "job": job, "item": "", "have": true, "place": ""}),
            Person,
        ),
        (
            json!({"kind": "set_reserved", "job": job, "reserved": false}),
            Person,
        ),
        (
            json!({"kind": "set_cut", "job": job, "cut": "", "done": true}),
            Person,
        ),
        (
            json!({"kind": "keep_drop", "job": job, "cut": job, "left": 0, "place": ""}),
            Person,
        ),
        (
            json!({"kind": "set_holes", "job": job, "line": "", "holes": ""}),
            Person,
        ),
        (json!({"kind": "buying_list", "job": job}), Person),
        (
            json!({"kind": "set_buying", "job": job, "line": "", "field": "here", "value": ""}),
            Person,
        ),
        (
            json!({"kind": "add_buying", "job": job, "item": "", "size": "", "quantity": ""}),
            Person,
        ),
        (json!({"kind": "remove_buying", "job": job, "line": ""}), Person),
        (
            json!({"kind": "set_shelf", "job": job, "items": [], "place": ""}),
            Person,
        ),
        (
            json!({"kind": "set_roof_off", "job": job, "field": "people", "value": ""}),
            Person,
        ),
        (
            json!({"kind": "step_time", "job": job, "step": "", "on": true}),
            Person,
        ),
        (
            json!({"kind": "step_done", "job": job, "step": "", "done": true}),
            Person,
        ),
        (
            json!({"kind": "measure", "job": job, "step": "", "value": "", "measured": "", "reason": ""}),
            Person,
        ),
        (
            json!({"kind": "find_more", "job": job, "line": "", "step": ""}),
            Person,
        ),
        (json!({"kind": "found_more", "job": job, "found": job}), Person),
        (json!({"kind": "remove_found", "job": job, "found": job}), Person),
        (json!({"kind": "set_hold", "job": job, "hold": null}), Person),
        (
            json!({"kind": "set_proof", "job": job, "row": "", "answer": null}),
            Person,
        ),
        (json!({"kind": "release", "job": job, "note": ""}), Person),
        (json!({"kind": "packet", "job": job, "form": "json"}), Person),
        (
            json!({"kind": "make_packet", "job": job, "form": "csv", "prices": true}),
            Person,
        ),
        (json!({"kind": "packet_progress", "job": job}), Person),
        (json!({"kind": "stop_packet", "job": job}), Person),
        (json!({"kind": "shop_book"}), Person),
    ];
    let of_a_job = [
        "arrival",
        "fold_out",
        "ways",
        "figures",
        "cut_list",
        "roof_off",
        "open_roof",
        "steps",
        "proof",
        "hand_over",
        "set_handed_over",
        "undo",
    ];
    rows.extend(of_a_job.map(|kind| (json!({"kind": kind, "job": job}), Person)));
    rows
}

/// The kinds that stand in the source of [`Ask`].
fn kinds_in_source() -> BTreeSet<String> {
    let source = include_str!("../../app/src/ask.rs");
    let body = source
        .split("pub enum Ask {")
        .nth(1)
        .unwrap()
        .split("\n}")
        .next()
        .unwrap();
    let lines = body.lines().filter_map(|line| line.strip_prefix("    "));
    let names = lines.filter(|line| line.starts_with(|c: char| c.is_ascii_uppercase()));
    let snake = |name: &str| {
        let name: String = name.chars().take_while(char::is_ascii_alphanumeric).collect();
        let parts = name.char_indices().map(|(i, c)| match c.is_ascii_uppercase() {
            true if i > 0 => format!("_{}", c.to_ascii_lowercase()),
            _ => c.to_ascii_lowercase().to_string(),
        });
        parts.collect()
    };
    names.map(snake).collect()
}

struct Page<'a> {
    yard: &'a Yard,
    cookie: Option<String>,
}

impl<'a> Page<'a> {
    fn of(yard: &'a Yard) -> Self {
        Self { yard, cookie: None }
    }

    fn of_person(yard: &'a Yard, person: Uuid) -> Self {
        let mut page = Self::of(yard);
        let answer = page.ask(&json!({"kind": "sign_in", "person": person, "pin": PIN}));
        assert_eq!(answer.status(), 200);
        let set = answer.headers()["set-cookie"].to_str().unwrap().to_owned();
        for flag in ["HttpOnly", "SameSite=Strict", "Path=/"] {
            assert!(set.contains(flag), "{set}");
        }
        page.cookie = Some(set.split(';').next().unwrap().to_owned());
        page
    }

    fn ask(&self, ask: &Value) -> Response<ureq::Body> {
        self.ask_with(ask, &[("bowseam", "1")])
    }

    fn ask_with(&self, ask: &Value, headers: &[(&str, &str)]) -> Response<ureq::Body> {
        let mut request = agent().post(format!("{}/ask", self.yard.url()));
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        if let Some(cookie) = &self.cookie {
            request = request.header("cookie", cookie);
        }
        request.send(ask.to_string()).unwrap()
    }

    /// Status and code of a refusal; `saw` if the app answered or refused by its own rules.
    fn outcome(&self, ask: &Value) -> String {
        let mut answer = self.ask(ask);
        let status = answer.status().as_u16();
        let body: Value = answer.body_mut().read_json().unwrap();
        match (status, body["code"].as_str()) {
            (401 | 403, Some(code @ ("sign_in" | "role" | "phone"))) => code.to_owned(),
            (400, code) => panic!("{ask} is no ask: {code:?} {body}"),
            _ => "passes".to_owned(),
        }
    }
}

#[test]
fn every_ask_has_its_place_in_the_table_of_who_may_ask_it() {
    let mut seen = BTreeSet::new();
    for (json, needed) in rows() {
        let ask: Ask = serde_json::from_value(json.clone()).unwrap_or_else(|error| panic!("{json}: {error}"));
        assert_eq!(need(&ask), needed, "{json}");
        seen.insert(json["kind"].as_str().unwrap().to_owned());
    }
    assert_eq!(seen, kinds_in_source());
}

#[test]
fn nobody_a_technician_and_a_supervisor_get_what_is_theirs_and_no_more() {
    let yard = Yard::new();
    let stranger = Page::of(&yard);
    let technician = Page::of_person(&yard, yard.technician);
    let supervisor = Page::of_person(&yard, yard.supervisor);
    for (ask, needed) in rows().into_iter().filter(|(ask, _)| ask["kind"] != "sign_out") {
        let expected = match needed {
            Need::Nobody => ["passes", "passes", "passes"],
            Need::Phone => ["phone", "phone", "phone"],
            Need::Person => ["sign_in", "passes", "passes"],
            Need::Supervisor => ["sign_in", "role", "passes"],
        };
        for (page, expected) in [&stranger, &technician, &supervisor].into_iter().zip(expected) {
            assert_eq!(page.outcome(&ask), expected, "{ask}");
        }
    }
}

#[test]
fn a_wrong_pin_gives_no_session_and_signing_out_ends_one() {
    let yard = Yard::new();
    let refused = Page::of(&yard).ask(&json!({"kind": "sign_in", "person": yard.supervisor, "pin": "0000"}));
    assert!(refused.status() != 200 && !refused.headers().contains_key("set-cookie"));
    let page = Page::of_person(&yard, yard.supervisor);
    let yard_ask = json!({"kind": "yard"});
    assert_eq!(page.outcome(&yard_ask), "passes");
    let strange = Page {
        yard: &yard,
        cookie: Some("bowseam_office=0123".to_owned()),
    };
    assert_eq!(strange.outcome(&yard_ask), "sign_in");
    assert_eq!(page.ask(&json!({"kind": "sign_out"})).status(), 200);
    assert_eq!(page.outcome(&yard_ask), "sign_in");
}

#[test]
fn pages_of_other_sites_are_refused_even_with_a_session() {
    let yard = Yard::new();
    let page = Page::of_person(&yard, yard.supervisor);
    let hello = json!({"kind": "hello"});
    let own = format!("http://{}", yard.address);
    let rows: [(&[(&str, &str)], u16); 6] = [
        (&[("bowseam", "1"), ("origin", &own)], 200),
        (&[("bowseam", "1")], 200),
        (&[("origin", &own)], 403),
        (&[("bowseam", "1"), ("origin", "http://other.example")], 403),
        (&[("bowseam", "1"), ("origin", "null")], 403),
        (&[("bowseam", "1"), ("sec-fetch-site", "cross-site")], 403),
    ];
    for (headers, status) in rows {
        assert_eq!(page.ask_with(&hello, headers).status(), status, "{headers:?}");
    }
}

#[test]
fn a_photo_is_shown_to_a_session_and_to_a_phone_and_to_nobody_else() {
    let yard = Yard::new();
    let kept = yard.photos.keep(&common::noise(50, 1)).unwrap();
    let page = Page::of_person(&yard, yard.technician);
    let phone = common::Phone::known_to(&yard);
    let token = bowseam_send::Office::of(&phone.store).unwrap().unwrap().token;
    let get = |path: &str, name: &str, value: &str| {
        agent()
            .get(format!("{}/photo/{path}", yard.url()))
            .header(name, value)
            .call()
            .unwrap()
    };
    for size in ["small", "large", "original"] {
        let path = format!("{}/{size}", kept.sha256);
        assert_eq!(get(&path, "x", "").status(), 401);
        assert_eq!(
            get(&path, "authorization", &format!("Bearer {token}")).status(),
            200
        );
        let mut shown = get(&path, "cookie", page.cookie.as_ref().unwrap());
        assert_eq!(shown.status(), 200);
        let kind = if size == "original" {
            "image/png"
        } else {
            "image/jpeg"
        };
        assert_eq!(shown.headers()["content-type"], kind);
        assert!(!shown.body_mut().read_to_vec().unwrap().is_empty());
    }
    let cookie = page.cookie.as_ref().unwrap();
    assert_eq!(
        get(&format!("{}/huge", kept.sha256), "cookie", cookie).status(),
        400
    );
    assert_eq!(
        get(&format!("{}/small", "a".repeat(64)), "cookie", cookie).status(),
        404
    );
}
