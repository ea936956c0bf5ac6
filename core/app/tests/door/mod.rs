//! A yard of its own for each test: a phone and an office with real stores in temporary folders, people with
//! PINs, and the exchange of entries and photos between them without a network. Every ask goes through
//! [`Yard::ask`], which notes its kind.

use bowseam_app::{Answer, App, Ask, Asker, Kind, Refusal, app::Outside, now, sending};
use bowseam_figures::{cut::Stock, shop::Book};
use bowseam_jobs::{
    entry::{PhotoOf, PhotoWhen},
    people::{Person, Role},
};
use serde_json::{Value, json};
use std::{
    collections::BTreeSet,
    io::Cursor,
    path::Path,
    sync::{Mutex, atomic::AtomicU32, atomic::Ordering},
};
use tempfile::TempDir;
use uuid::Uuid;

pub const TECHNICIAN: Uuid = Uuid::from_u128(0x0192_0000_0000_7000_8000_0000_0000_00a1);
pub const SUPERVISOR: Uuid = Uuid::from_u128(0x0192_0000_0000_7000_8000_0000_0000_00a2);
pub const PIN: &str = "4711";

/// Kinds of asks that were asked in this process.
static ASKED: Mutex<BTreeSet<String>> = Mutex::new(BTreeSet::new());

pub fn asked() -> BTreeSet<String> {
    ASKED.lock().unwrap().clone()
}

pub struct Yard {
    pub phone: App,
    pub office: App,
    photos: AtomicU32,
    _folders: [TempDir; 2],
}

/// Takes the network's place: says yes, and sends nothing.
struct NoNetwork;

impl Outside for NoNetwork {
    fn enrol(&self, office: &str, _: &str, _: &str) -> Result<String, Refusal> {
        Ok(office.to_owned())
    }
    fn send_now(&self) {}
    fn try_now(&self) {}
    fn new_code(&self) -> Result<(String, chrono::DateTime<chrono::Utc>), Refusal> {
        Err(Refusal::new("office", "Codes come from the office."))
    }
}

impl Yard {
    pub fn new() -> Self {
        let folders = [TempDir::new().unwrap(), TempDir::new().unwrap()];
        let open = |folder: &Path, kind| {
            let app = App::open(folder, kind).unwrap();
            people(&app);
            app
        };
        let [phone, office] = &folders;
        let yard = Self {
            phone: open(phone.path(), Kind::Phone),
            office: open(office.path(), Kind::Office),
            photos: AtomicU32::new(0),
            _folders: folders,
        };
        yard.phone.reach_out(Box::new(NoNetwork));
        sending::start_office(&yard.office);
        yard
    }

    /// Asks at the phone, as the person who is signed in there.
    pub fn ask(&self, ask: Value) -> Result<Answer, Refusal> {
        ask_at(&self.phone, None, ask, None)
    }

    /// Asks at the phone as somebody else.
    pub fn ask_as(&self, person: Uuid, ask: Value) -> Result<Answer, Refusal> {
        ask_at(&self.phone, Some(person), ask, None)
    }

    /// Asks at the office, as the supervisor.
    pub fn office(&self, ask: Value) -> Result<Answer, Refusal> {
        ask_at(&self.office, Some(SUPERVISOR), ask, None)
    }

    /// The answer as JSON, of an ask that has to go well.
    pub fn get(&self, ask: Value) -> Value {
        let said = ask.to_string();
        let answer = self
            .ask(ask)
            .unwrap_or_else(|r| panic!("{said}: {} ({})", r.sentence, r.code));
        serde_json::to_value(answer).unwrap()
    }

    pub fn get_as(&self, person: Uuid, ask: Value) -> Value {
        let said = ask.to_string();
        let answer = self
            .ask_as(person, ask)
            .unwrap_or_else(|r| panic!("{said}: {} ({})", r.sentence, r.code));
        serde_json::to_value(answer).unwrap()
    }

    pub fn get_office(&self, ask: Value) -> Value {
        let said = ask.to_string();
        let answer = self
            .office(ask)
            .unwrap_or_else(|r| panic!("{said}: {} ({})", r.sentence, r.code));
        serde_json::to_value(answer).unwrap()
    }

    /// The refusal of an ask that has to be refused, with this code.
    pub fn refused(&self, code: &str, ask: Value) -> Refusal {
        let said = ask.to_string();
        let refusal = self.ask(ask).expect_err(&said);
        assert_eq!(refusal.code, code, "{said}: {}", refusal.sentence);
        assert!(refusal.sentence.ends_with('.'), "{}", refusal.sentence);
        refusal
    }

    /// Brings in a photo that is like no other.
    pub fn photo(&self, job: &str, of: &PhotoOf, when: PhotoWhen) -> String {
        let number = self.photos.fetch_add(1, Ordering::Relaxed);
        let bytes = picture(number);
        let ask =
            json!({"kind": "add_photo", "job": job, "of": of, "when": when, "name": format!("{number}.jpg")});
        ask_at(&self.phone, None, ask, Some(&bytes)).unwrap();
        bowseam_photos::sha256(&bytes)
    }

    /// Phone and office get each other's photos and entries, each twice, as a bad network would do it.
    pub fn exchange(&self) {
        for (from, to) in [(&self.phone, &self.office), (&self.office, &self.phone)] {
            for sha256 in from.photos().list().unwrap() {
                to.photos()
                    .keep(&std::fs::read(from.photos().original(&sha256).unwrap()).unwrap())
                    .unwrap();
            }
            let entries: Vec<_> = from
                .store()
                .entries_after(0, 100_000)
                .unwrap()
                .into_iter()
                .map(|(_, entry)| entry)
                .collect();
            for _ in 0..2 {
                to.store().receive(&entries).unwrap();
            }
        }
    }

    /// Sets the shop book of both.
    pub fn book(&self, book: &Book) {
        for app in [&self.phone, &self.office] {
            app.store().set_setting(now::BOOK, book).unwrap();
        }
    }

    pub fn stock(&self, stock: &[Stock]) {
        for app in [&self.phone, &self.office] {
            app.store().set_setting(now::STOCK, &stock.to_vec()).unwrap();
        }
    }
}

pub fn ask_at(app: &App, person: Option<Uuid>, ask: Value, bytes: Option<&[u8]>) -> Result<Answer, Refusal> {
    let kind = ask["kind"].as_str().unwrap().to_owned();
    let ask: Ask = serde_json::from_value(ask.clone()).unwrap_or_else(|e| panic!("{ask}: {e}"));
    ASKED.lock().unwrap().insert(kind);
    app.ask(&Asker { person }, ask, bytes)
}

pub fn people(app: &App) {
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

/// A small JPEG whose bytes are those of no other number.
pub fn picture(number: u32) -> Vec<u8> {
    let shade = u8::try_from(number % 251).unwrap();
    let picture = image::RgbImage::from_fn(48, 36, |x, y| image::Rgb([shade, (x * 5) as u8, (y * 7) as u8]));
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Jpeg).unwrap();
    let mut bytes = bytes.into_inner();
    bytes.extend(number.to_be_bytes());
    bytes
}

/// The id in a *saved* answer.
pub fn id(saved: &Value) -> String {
    saved["id"].as_str().unwrap().to_owned()
}

/// What a person enters where all is as wanted.
pub fn as_wanted(value: &Value) -> String {
    let wanted = value["wanted"].as_str().unwrap();
    match value["form"].as_str().unwrap() {
        _ if value["key"] == "cure_started" => "72 F".to_owned(),
        "length" if wanted == "recorded" => "170 3/8".to_owned(),
        "length" => wanted.split(',').next().unwrap().to_owned(),
        "temperature" => "72 F".to_owned(),
        _ if value["key"] == "cure_started" => "72 F".to_owned(),
        "choice" if value["words_wanted"] == true => format!("{wanted}: sheet 4, seen"),
        _ => wanted.to_owned(),
    }
}

/// The strings of a list, joined, to look for words in.
pub fn words(list: &Value) -> String {
    list.as_array()
        .unwrap()
        .iter()
        .map(|item| item.as_str().unwrap())
        .collect::<Vec<_>>()
        .join(" | ")
}
