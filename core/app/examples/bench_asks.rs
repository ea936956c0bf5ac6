//! How long every ask takes with 5 000 jobs in the store.
//!
//! One job is taken from its opening to its handover through asks; the 5 000 jobs of the phone are what stood
//! of it at many moments of its way, each with its own unit, VIN, slot and photos, saved through
//! `Store::append`; the office's store takes the same entries through `Store::receive`. The outbox holds all of
//! them: most arrived, the last ones waiting, some stuck. Then more jobs go the whole way, side by side, stage
//! by stage, and every ask on the way is timed, as are all screens of each job at each stage, on the phone and
//! at the office. More jobs are under way than the store keeps folded, so going from one to the next is timed too.
//!
//! Timed is what a screen waits for: the ask's JSON in, the answer's JSON out. Photos have real files for the
//! jobs under way. The phone sends in the background to an office on this machine that always says *later*.
//! `try_now` is timed until the screen may go on, `enrol` with its request to that office and back.
//! What lies on a disk was just written, so it is read from the system's memory, as on a phone in use.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::cast_possible_truncation,
    clippy::print_stdout
)]

#[path = "bench_asks/fill.rs"]
mod fill;
#[path = "bench_asks/memory.rs"]
mod memory;
#[path = "bench_asks/rest.rs"]
mod rest;
#[path = "bench_asks/way.rs"]
mod way;

use bowseam_app::{App, Ask, Asker, Kind, answer::Refusal, door, now, sending};
use bowseam_figures::{
    basis::Amount,
    cut::{Stock, StockKind},
    measure::Length,
    shop::{Book, Cure},
};
use bowseam_jobs::people::{Person, Role};
use serde_json::{Value, json};
use std::{
    cell::{Cell, RefCell},
    collections::{BTreeMap, BTreeSet},
    io::Cursor,
    time::{Duration, Instant},
};
use uuid::Uuid;

const TECHNICIAN: Uuid = Uuid::from_u128(0x0192_0000_0000_7000_8000_0000_0000_00a1);
const SUPERVISOR: Uuid = Uuid::from_u128(0x0192_0000_0000_7000_8000_0000_0000_00a2);
const PIN: &str = "4711";
/// Jobs in each store before anything is timed, and jobs that then go the whole way.
const JOBS: usize = 5000;
const UNDER_WAY: usize = 20;
const GOAL_MS: f64 = 50.0;
/// Left out of the worst figure, each with the reason: nobody waits for these as for a screen.
const LEFT_OUT: [(&str, &str); 4] = [
    (
        "sign_in",
        "checks the PIN by argon2id, slow on purpose so that the PINs of a copied store cannot simply be tried; once a shift",
    ),
    ("set_secret", "makes that check's hash"),
    (
        "make_packet",
        "makes a file of the whole job with its photos, and tells how far it is",
    ),
    ("write_card", "writes all that waits on a card, photos too"),
];

/// Where an ask is asked.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum At {
    Phone,
    Office,
}

/// A phone and an office, and the times of their asks.
struct Bench {
    phone: App,
    office: App,
    times: RefCell<BTreeMap<(String, At), Vec<Duration>>>,
    timing: Cell<bool>,
    picture: Vec<u8>,
    pictures: Cell<u32>,
}

fn main() {
    if let [_, look, phone] = std::env::args().collect::<Vec<_>>().as_slice()
        && look == "--look"
    {
        return memory::look(phone.as_ref());
    }
    let mut numbers = std::env::args().skip(2).map(|number| number.parse().unwrap());
    let (jobs, under_way) = (
        numbers.next().unwrap_or(JOBS),
        numbers.next().unwrap_or(UNDER_WAY),
    );
    let folder = tempfile::tempdir_in(std::env::args().nth(1).unwrap_or_else(|| ".".into())).unwrap();
    let open = |name: &str, kind| {
        let app = App::open(&folder.path().join(name), kind).unwrap();
        people(&app);
        app.store().set_setting(now::BOOK, &book()).unwrap();
        app.store().set_setting(now::STOCK, &[coil()]).unwrap();
        app
    };
    let bench = Bench {
        phone: open("phone", Kind::Phone),
        office: open("office", Kind::Office),
        times: RefCell::default(),
        timing: Cell::new(false),
        picture: picture(),
        pictures: Cell::new(0),
    };
    // As in the phone's own window.
    bench.phone.show_photo_files();
    sending::start_phone(&bench.phone);
    sending::start_office(&bench.office);
    let office = fill::office_that_says_later(bench.phone.store().people().unwrap(), book());

    bench.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    let pattern = way::whole_way(&bench);
    let start = Instant::now();
    let entries = fill::fill(&bench, &pattern, jobs);
    println!(
        "{jobs} jobs of {entries} entries put into a phone's and an office's store in {:.0} s",
        start.elapsed().as_secs_f64()
    );
    if std::env::var_os("BOWSEAM_BENCH_MEMORY").is_some() {
        drop(bench);
        return memory::measure(&folder.path().join("phone"), jobs);
    }
    bench.timing.set(true);
    for _ in 0..under_way.max(UNDER_WAY) {
        bench.get(json!({"kind": "enrol", "office": office, "code": "ABCD2345", "name": "phone 3"}));
        bench.get(json!({"kind": "sign_out"}));
        bench.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    }
    way::side_by_side(&bench, under_way);
    report(&bench, jobs, under_way);
}

/// Prints the times of each kind and the worst; a kind of ask that was not timed often enough is named.
fn report(bench: &Bench, jobs: usize, under_way: usize) {
    let times = bench.times.borrow();
    let kinds = kinds();
    for kind in &kinds {
        let runs: usize = times
            .iter()
            .filter(|((name, _), _)| name.split(' ').next() == Some(kind))
            .map(|(_, times)| times.len())
            .sum();
        if runs < UNDER_WAY.min(under_way) {
            println!("{kind} was timed {runs} times only: the worst figure says nothing of it");
        }
    }
    let mut rows: Vec<_> = times
        .iter()
        .map(|((name, at), times)| {
            let mut times = times.clone();
            times.sort();
            let at_share = |share: usize| ms(times[(times.len() * share).div_ceil(100).max(1) - 1]);
            let at = if *at == At::Phone { "phone" } else { "office" };
            (
                at_share(95),
                at_share(50),
                ms(times[times.len() - 1]),
                times.len(),
                name,
                at,
            )
        })
        .collect();
    rows.sort_by(|a, b| b.0.total_cmp(&a.0));
    println!(
        "{:<16} {:<7} {:>5} {:>9} {:>9} {:>9}",
        "ask", "at", "runs", "median ms", "p95 ms", "most ms"
    );
    for (p95, median, most, runs, name, at) in &rows {
        println!("{name:<16} {at:<7} {runs:>5} {median:>9.2} {p95:>9.2} {most:>9.2}");
    }
    for (kind, why) in LEFT_OUT {
        println!("{kind} is left out of the worst figure: it {why}.");
    }
    let counts = |name: &str| {
        LEFT_OUT
            .iter()
            .all(|(kind, _)| name.split(' ').next() != Some(kind))
    };
    let (worst, _, _, runs, name, at) = rows.iter().find(|row| counts(row.4)).unwrap();
    println!(
        "asks: {worst:.1} = worst 95th percentile in ms of any of {} kinds of ask, JSON in to JSON out, with {jobs} jobs \
         in the store: it is {name} at the {at}, {runs} runs (goal: at most {GOAL_MS})",
        kinds.len() - LEFT_OUT.len()
    );
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}

/// Coil for all the jobs, so wide that each cut leaves a strip.
fn coil() -> Stock {
    Stock {
        id: String::new(),
        item: "roof sheet".to_owned(),
        name: "coil".to_owned(),
        kind: StockKind::Coil,
        length: Length::inches(1272),
        width: Some(Length::inches(140)),
        thickness: Some(Length::thousandths(40)),
        place: "coil stand".to_owned(),
        count: 1_000_000,
        price: None,
        counted: 0,
    }
}

/// The kinds that the door takes, as its refusal of another one names them.
fn kinds() -> BTreeSet<String> {
    let refusal = serde_json::from_value::<Ask>(json!({"kind": "?"}))
        .unwrap_err()
        .to_string();
    let (_, list) = refusal.split_once("expected one of ").unwrap();
    list.split(", ")
        .map(|kind| kind.trim_matches('`').to_owned())
        .collect()
}

impl Bench {
    /// Asks at the phone, as the person who is signed in there.
    fn get(&self, ask: Value) -> Value {
        self.ask(At::Phone, None, &ask, None)
    }

    /// The same with bytes beside the ask.
    fn get_with(&self, ask: Value, bytes: &[u8]) -> Value {
        self.ask(At::Phone, None, &ask, Some(bytes))
    }

    /// Asks at the office, as the supervisor.
    fn at_office(&self, ask: Value) -> Value {
        self.ask(At::Office, Some(SUPERVISOR), &ask, None)
    }

    /// The answer of an ask that has to go well; timed from JSON to JSON.
    fn ask(&self, at: At, person: Option<Uuid>, ask: &Value, bytes: Option<&[u8]>) -> Value {
        let answer = self.tried(at, person, ask, bytes);
        answer.unwrap_or_else(|r| panic!("{ask}: {} ({})", r.sentence, r.code))
    }

    /// The same, or the refusal.
    fn tried(
        &self,
        at: At,
        person: Option<Uuid>,
        ask: &Value,
        bytes: Option<&[u8]>,
    ) -> Result<Value, Refusal> {
        let app = if at == At::Phone {
            &self.phone
        } else {
            &self.office
        };
        let said = ask.to_string();
        let start = Instant::now();
        let answer = door::from_json(said.as_bytes())
            .and_then(|ask| app.ask(&Asker { person }, ask, bytes))
            .map(|answer| serde_json::to_vec(&answer).unwrap());
        let took = start.elapsed();
        if self.timing.get() {
            let kind = ask["kind"].as_str().unwrap();
            let form = ask["form"]
                .as_str()
                .map(|form| format!(" {form}"))
                .unwrap_or_default();
            let key = (format!("{kind}{form}"), at);
            self.times.borrow_mut().entry(key).or_default().push(took);
        }
        answer.map(|answer| serde_json::from_slice(&answer).unwrap())
    }

    /// A photo that is like no other.
    fn next_picture(&self) -> Vec<u8> {
        self.pictures.set(self.pictures.get() + 1);
        let mut bytes = self.picture.clone();
        bytes.extend(self.pictures.get().to_be_bytes());
        bytes
    }

    /// Phone and office get each other's entries and photos of a job, beside the clock.
    fn exchange(&self, job: Uuid) {
        for (from, to) in [(&self.phone, &self.office), (&self.office, &self.phone)] {
            let seen = from.store().job(job).unwrap().unwrap();
            for photo in seen.photos.iter().filter(|photo| !to.photos().has(&photo.sha256)) {
                let bytes = std::fs::read(from.photos().original(&photo.sha256).unwrap()).unwrap();
                to.photos().keep(&bytes).unwrap();
                // As the office does when an upload ends.
                to.photos().small(&photo.sha256).unwrap();
            }
            to.store().receive(&from.store().entries(job).unwrap()).unwrap();
        }
    }
}

fn people(app: &App) {
    let somebody = |id, name: &str, role, may_release| Person {
        id,
        name: name.to_owned(),
        roles: BTreeSet::from([role]),
        may_release,
        pin_hash: None,
        ..Person::default()
    };
    for person in [
        somebody(TECHNICIAN, "A. Technician", Role::Technician, false),
        somebody(SUPERVISOR, "B. Supervisor", Role::Supervisor, true),
    ] {
        app.store().put_person(&person).unwrap();
        app.store().set_pin(person.id, PIN).unwrap();
    }
}

/// A label that cures at once, so that a job can go its whole way.
fn book() -> Book {
    let cure = Cure {
        product: "seam sealant".to_owned(),
        at_f: 60,
        hours: Amount::new(0, 0),
    };
    Book {
        cure: vec![cure],
        ..Book::default()
    }
}

/// A JPEG of 1280 × 960 pixels with enough grain to be as large as a small photo.
fn picture() -> Vec<u8> {
    let grain =
        |x: u32, y: u32| (x.wrapping_mul(7919) ^ y.wrapping_mul(104_729)).wrapping_mul(2_654_435_761) >> 28;
    let picture = image::RgbImage::from_fn(1280, 960, |x, y| {
        let grain = grain(x, y) as u8;
        image::Rgb([(x / 6) as u8 ^ grain, (y / 4) as u8 + (grain / 2), 90 + grain])
    });
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Jpeg).unwrap();
    bytes.into_inner()
}
