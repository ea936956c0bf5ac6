//! Who gets what at each route of the office: nobody, people on pages, phones, a phone that was taken back, and a page
//! of another site that uses somebody's session.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod common;

use bowseam_send::{Office, codes, wire};
use chrono::Utc;
use common::{PIN, Phone, Yard, agent, noise};
use serde_json::{Value, json};
use uuid::Uuid;

/// Who asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Who {
    Nobody,
    Technician,
    Supervisor,
    Phone,
    TakenBack,
    OtherSite,
}

use Who::{Nobody, OtherSite, Supervisor, TakenBack, Technician};

const ALL: [Who; 6] = [Nobody, Technician, Supervisor, Who::Phone, TakenBack, OtherSite];

/// Method and path, and the status for each of [`ALL`].
const ROUTES: [(&str, &str, [u16; 6]); 14] = [
    // A page's door: its own kinds are looked at one by one in `door`; a token is no session.
    ("POST", "ask", [401, 403, 200, 401, 401, 403]),
    ("GET", "photo/SHA/small", [401, 200, 200, 200, 403, 403]),
    // A packet that nobody made is refused to who may have one, and the door is shut to the others.
    ("GET", "packet/{name}", [401, 422, 422, 401, 401, 403]),
    // A memory card is brought by a supervisor; this one is none.
    ("POST", "card", [401, 403, 422, 401, 401, 403]),
    // A phone's doors: a session is no token.
    ("GET", "here", [401, 401, 401, 204, 204, 401]),
    ("GET", "shop", [401, 401, 401, 200, 403, 401]),
    ("GET", "entries", [401, 401, 401, 200, 403, 401]),
    // What a phone sends after it was taken back is answered entry by entry, and kept apart.
    ("POST", "entries", [401, 401, 401, 200, 200, 401]),
    ("POST", "uploads/SHA", [401, 401, 401, 201, 201, 401]),
    ("HEAD", "uploads/SHA", [401, 401, 401, 204, 204, 401]),
    ("PATCH", "uploads/SHA", [401, 401, 401, 415, 415, 401]),
    // Anybody may bring a code; without a good one nothing comes of it.
    ("POST", "enrol", [403, 403, 403, 403, 403, 403]),
    // For a load balancer; it says nothing of what is here. The counters are not shown unless the program wants it.
    ("GET", "health", [200, 200, 200, 200, 200, 200]),
    ("GET", "metrics", [404, 404, 404, 404, 404, 404]),
];

struct Doors {
    yard: Yard,
    sha: String,
    bytes: usize,
    cookies: [String; 2],
    tokens: [String; 2],
    _phones: [Phone; 2],
}

impl Doors {
    fn new() -> Self {
        let yard = Yard::new();
        let photo = noise(50, 1);
        let sha = yard.photos.keep(&photo).unwrap().sha256;
        let cookies = [yard.technician, yard.supervisor].map(|person| cookie(&yard, person));
        let phones = [Phone::known_to(&yard), Phone::known_to(&yard)];
        let tokens = [0, 1].map(|n: usize| Office::of(&phones[n].store).unwrap().unwrap().token);
        codes::revoke(&yard.store, phones[1].store.device(), Utc::now()).unwrap();
        Self {
            yard,
            sha,
            bytes: photo.len(),
            cookies,
            tokens,
            _phones: phones,
        }
    }

    fn status(&self, method: &str, path: &str, who: Who) -> u16 {
        let url = format!(
            "{}/{}",
            self.yard.url(),
            path.replace("SHA", &self.sha).replace("{name}", "none.pdf")
        );
        let body = match path {
            "ask" => json!({"kind": "office_jobs"}),
            "entries" => json!({"entries": []}),
            _ => json!({"code": "AAAAAAAA", "device": Uuid::nil(), "name": "x"}),
        };
        let mut request = ureq::http::Request::builder().method(method).uri(url);
        request = request
            .header(wire::OURS, "1")
            .header("content-type", "application/json");
        request = request.header(wire::UPLOAD_LENGTH, self.bytes);
        request = match who {
            Nobody => request,
            Technician => request.header("cookie", &self.cookies[0]),
            Supervisor => request.header("cookie", &self.cookies[1]),
            OtherSite => request
                .header("cookie", &self.cookies[1])
                .header("origin", "http://other.example"),
            Who::Phone => request.header("authorization", format!("Bearer {}", self.tokens[0])),
            TakenBack => request.header("authorization", format!("Bearer {}", self.tokens[1])),
        };
        let sent = if matches!(method, "GET" | "HEAD") {
            agent().run(request.body(()).unwrap())
        } else {
            agent().run(request.body(body.to_string()).unwrap())
        };
        sent.unwrap().status().as_u16()
    }
}

fn cookie(yard: &Yard, person: Uuid) -> String {
    let sign_in = json!({"kind": "sign_in", "person": person, "pin": PIN});
    let request = agent()
        .post(format!("{}/ask", yard.url()))
        .header(wire::OURS, "1");
    let answer = request.send(sign_in.to_string()).unwrap();
    let set = answer.headers()["set-cookie"].to_str().unwrap();
    set.split(';').next().unwrap().to_owned()
}

#[test]
fn each_route_gives_everyone_what_is_theirs_and_no_more() {
    let doors = Doors::new();
    for (method, path, wanted) in ROUTES {
        for (who, wanted) in ALL.into_iter().zip(wanted) {
            assert_eq!(
                doors.status(method, path, who),
                wanted,
                "{method} {path} by {who:?}"
            );
        }
    }
}

#[test]
fn every_route_stands_in_the_table() {
    let source = include_str!("../src/lib.rs");
    let named = source
        .split(".route(")
        .skip(1)
        .filter_map(|rest| rest.split('"').nth(1));
    let named: Vec<String> = named
        .map(|path| {
            path.trim_start_matches('/')
                .replace("{sha}", "SHA")
                .replace("{size}", "small")
        })
        .collect();
    assert!(named.len() >= 7, "{named:?}");
    for path in &named {
        assert!(
            ROUTES.iter().any(|(_, known, _)| known == path),
            "{path} is not in the table"
        );
    }
}

#[test]
fn who_is_here_no_more_loses_the_session_at_once_and_signing_in_is_not_tried_without_end() {
    let doors = Doors::new();
    assert_eq!(doors.status("POST", "ask", Supervisor), 200);
    let mut person = doors
        .yard
        .store
        .people()
        .unwrap()
        .into_iter()
        .find(|person| person.id == doors.yard.supervisor)
        .unwrap();
    person.more.ended = Some(Utc::now());
    doors.yard.store.put_person(&person).unwrap();
    assert_eq!(doors.status("POST", "ask", Supervisor), 401);
    let tried = |n: u128| {
        let sign_in = json!({"kind": "sign_in", "person": Uuid::from_u128(n), "pin": "0000"});
        let request = agent()
            .post(format!("{}/ask", doors.yard.url()))
            .header(wire::OURS, "1");
        let mut answer = request.send(sign_in.to_string()).unwrap();
        (
            answer.status().as_u16(),
            answer.body_mut().read_json::<Value>().unwrap(),
        )
    };
    let mut last = (0, Value::Null);
    for n in 1..=60 {
        last = tried(n);
    }
    assert_eq!((last.0, last.1["code"].as_str()), (429, Some("too_many_tries")));
}
