//! The making of the demo yard: an invented fleet brought to where it stands by replaying `demo-data/yard.json`
//! through the door, as people would have done it. What the demo shows is therefore what the program makes, never a
//! picture of it. That takes seconds, so the demo starts from what came out, which [`crate::baked`] keeps.

use bowseam_app::{
    answer::{Answer, Refusal, StepView, ValueView},
    app::{App, Asker},
    ask::Ask,
};
use bowseam_jobs::{
    entry::{PhotoOf, PhotoWhen, RoofOffField},
    people::{Person, Role, hash_pin},
};
use include_dir::{Dir, include_dir};
use serde::Deserialize;
use serde_json::Value;
use std::collections::{BTreeMap, HashMap};
use uuid::Uuid;

static DATA: Dir<'static> = include_dir!("$CARGO_MANIFEST_DIR/../../demo-data");

/// The people of the demo: invented, with fixed ids so that a kept demo folder stays theirs.
pub const PEOPLE: [(u128, &str, &[Role], bool); 4] = [
    (
        0x0192_0000_0000_7000_8000_0000_0000_0001,
        "I. Quill",
        &[Role::Inspector],
        false,
    ),
    (
        0x0192_0000_0000_7000_8000_0000_0000_0002,
        "T. Marrow",
        &[Role::Technician],
        false,
    ),
    (
        0x0192_0000_0000_7000_8000_0000_0000_0003,
        "D. Sorrel",
        &[Role::Technician],
        false,
    ),
    (
        0x0192_0000_0000_7000_8000_0000_0000_0004,
        "S. Fennick",
        &[Role::Supervisor, Role::Inspector],
        true,
    ),
];

/// Everybody's PIN in the demo; the README says so.
const PIN: &str = "1234";

/// One line of `yard.json`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Act {
    by: Option<String>,
    office: Option<String>,
    ask: Option<Value>,
    #[serde(rename = "as")]
    as_: Option<String>,
    #[serde(default)]
    bind: BTreeMap<String, String>,
    photo: Option<String>,
    all_steps: Option<String>,
    all_on_hand: Option<String>,
}

/// Brings the invented fleet into an empty phone and an empty office, act by act.
///
/// # Errors
/// The sentence of the act that was refused.
pub fn replay(phone: &App, office: &App) -> Result<(), Refusal> {
    let pin_hash = pin_hash()?;
    for app in [phone, office] {
        settings(app)?;
        people(app, &pin_hash)?;
    }
    let mut replay = Replay {
        phone,
        office,
        names: HashMap::new(),
        seen: [0; 2],
    };
    let acts: Vec<Act> =
        serde_json::from_slice(file("yard.json")?).map_err(|e| wrong(&format!("yard.json: {e}")))?;
    acts.into_iter().try_for_each(|act| replay.act(&act))?;
    replay.exchange()
}

/// The hash of everybody's PIN. One for all: making it is slow on purpose.
pub fn pin_hash() -> Result<String, Refusal> {
    Ok(hash_pin(PIN)?)
}

/// The people; they come last, so that where they are all there the rest is too.
pub fn people(app: &App, pin_hash: &str) -> Result<(), Refusal> {
    for (id, name, roles, may_release) in PEOPLE {
        let person = Person {
            id: Uuid::from_u128(id),
            name: name.into(),
            roles: roles.iter().copied().collect(),
            may_release,
            pin_hash: Some(pin_hash.to_owned()),
            ..Person::default()
        };
        app.store().put_person(&person)?;
    }
    Ok(())
}

/// The shop book and the stock.
pub fn settings(app: &App) -> Result<(), Refusal> {
    for (setting, name) in [("shop_book", "shop_book.json"), ("stock", "stock.json")] {
        let value: Value = serde_json::from_slice(file(name)?).map_err(|e| wrong(&format!("{name}: {e}")))?;
        app.store().set_setting(setting, &value)?;
    }
    Ok(())
}

struct Replay<'a> {
    phone: &'a App,
    office: &'a App,
    names: HashMap<String, Value>,
    /// Last row of each one's entries that the other has.
    seen: [i64; 2],
}

impl Replay<'_> {
    fn act(&mut self, act: &Act) -> Result<(), Refusal> {
        let (app, name) = match (&act.by, &act.office) {
            (Some(name), None) => (self.phone, name),
            (None, Some(name)) => (self.office, name),
            _ => return Err(wrong("an act is by somebody, at the phone or at the office")),
        };
        let who = PEOPLE
            .iter()
            .find(|p| p.1 == name)
            .ok_or_else(|| wrong(&format!("nobody is called {name}")))?;
        let asker = Asker {
            person: Some(Uuid::from_u128(who.0)),
        };
        if act.office.is_some() {
            self.exchange()?;
        }
        for (job, all) in [
            (&act.all_on_hand, all_on_hand as All),
            (&act.all_steps, all_steps),
        ] {
            if let Some(job) = job {
                let job = self.named(&Value::String(job.clone()));
                return all(
                    app,
                    &asker,
                    serde_json::from_value(job).map_err(|e| wrong(&e.to_string()))?,
                );
            }
        }
        let value = self.named(act.ask.as_ref().ok_or_else(|| wrong("an act has an ask"))?);
        let ask: Ask = serde_json::from_value(value.clone()).map_err(|e| wrong(&format!("{value}: {e}")))?;
        let bytes = act
            .photo
            .as_ref()
            .map(|name| file(&format!("photos/{name}")))
            .transpose()?;
        let answer = app
            .ask(&asker, ask, bytes)
            .map_err(|r| wrong(&format!("{value}: {}", r.sentence)))?;
        let answer = serde_json::to_value(answer).map_err(|e| wrong(&e.to_string()))?;
        let ids = act.as_.iter().map(|name| (name, "/id"));
        for (name, pointer) in ids.chain(act.bind.iter().map(|(name, pointer)| (name, pointer.as_str()))) {
            let found = answer
                .pointer(pointer)
                .ok_or_else(|| wrong(&format!("{value} answers no {pointer}")))?;
            self.names.insert(format!("${name}"), found.clone());
        }
        if act.office.is_some() {
            self.exchange()
        } else {
            Ok(())
        }
    }

    /// The value with every `$name` in it put in place.
    fn named(&self, value: &Value) -> Value {
        match value {
            Value::String(text) => self.names.get(text).cloned().unwrap_or_else(|| value.clone()),
            Value::Array(all) => all.iter().map(|v| self.named(v)).collect(),
            Value::Object(all) => all.iter().map(|(k, v)| (k.clone(), self.named(v))).collect(),
            other => other.clone(),
        }
    }

    /// Phone and office get each other's new entries and photos, without the network.
    fn exchange(&mut self) -> Result<(), Refusal> {
        let ways = [(self.phone, self.office), (self.office, self.phone)];
        for ((from, to), seen) in ways.into_iter().zip(&mut self.seen) {
            for sha256 in from.photos().list()? {
                if !to.photos().has(&sha256) {
                    let bytes =
                        std::fs::read(from.photos().original(&sha256)?).map_err(|e| wrong(&e.to_string()))?;
                    to.photos().keep(&bytes)?;
                }
            }
            let new = from.store().entries_after(*seen, usize::MAX)?;
            *seen = new.last().map_or(*seen, |(row, _)| *row);
            let entries: Vec<_> = new.into_iter().map(|(_, entry)| entry).collect();
            to.store().receive(&entries)?;
        }
        Ok(())
    }
}

type All = fn(&App, &Asker, Uuid) -> Result<(), Refusal>;

/// Answers every row of the Roof-off check, things with the place that stock has or a rack of the demo.
fn all_on_hand(app: &App, asker: &Asker, job: Uuid) -> Result<(), Refusal> {
    let Answer::RoofOff(check) = app.ask(asker, Ask::RoofOff { job }, None)? else {
        return Err(wrong("no roof-off check"));
    };
    for row in check.rows.into_iter().filter(|row| !row.ok) {
        let ask = match row.field {
            Some(field) => {
                let value = match field {
                    RoofOffField::People => "4",
                    RoofOffField::DryHours => "30",
                    RoofOffField::Cover => "tarpaulin 20 x 12 ft, rack F",
                };
                Ask::SetRoofOff {
                    job,
                    field,
                    value: value.into(),
                }
            }
            None => Ask::SetOnHand {
                job,
                item: row.key,
                have: true,
                place: row.stock_place.unwrap_or_else(|| "rack R".into()),
            },
        };
        app.ask(asker, ask, None)?;
    }
    Ok(())
}

/// Does every step that is left, up to the wait for the cure, with the wanted values, and the photos that are wanted at them.
fn all_steps(app: &App, asker: &Asker, job: Uuid) -> Result<(), Refusal> {
    loop {
        let Answer::Steps(steps) = app.ask(asker, Ask::Steps { job }, None)? else {
            return Err(wrong("no steps"));
        };
        let mut numbered = steps.steps.iter().enumerate();
        let Some((number, step)) = numbered.find(|(_, s)| Some(&s.key) == steps.current.as_ref()) else {
            return Ok(());
        };
        // The sealant was laid this very moment: it is waited for, as it would be in a shop, and nobody's time runs.
        let cures = step.key == "cure";
        if !cures {
            let step = step.key.clone();
            app.ask(asker, Ask::StepTime { job, step, on: true }, None)?;
        }
        for value in &step.values {
            let (step, value, measured) = (step.key.clone(), value.key.clone(), wanted(value));
            let said = format!("{step}, {value} {measured}");
            let ask = Ask::Measure {
                job,
                step,
                value,
                measured,
                reason: String::new(),
                zone: None,
            };
            app.ask(asker, ask, None)
                .map_err(|r| wrong(&format!("{said}: {}", r.sentence)))?;
        }
        if cures {
            return Ok(());
        }
        photos(app, asker, job, number, step)?;
        app.ask(
            asker,
            Ask::StepDone {
                job,
                step: step.key.clone(),
                done: true,
            },
            None,
        )?;
    }
}

/// The wanted value, without the words behind a length; where a length is only recorded (a diagonal), one that a
/// 53 ft body could have.
fn wanted(value: &ValueView) -> String {
    let number = value.wanted.starts_with(|c: char| c.is_ascii_digit());
    match value.form.as_str() {
        "length" if number => value.wanted.split(',').next().unwrap_or_default().to_owned(),
        "length" => "27' 3-1/2".to_owned(),
        "temperature" => "72 F".to_owned(),
        _ if value.key == "cure_started" => "72 F".to_owned(),
        _ if value.words_wanted => format!("{}: sheet 4, seen", value.wanted),
        _ => value.wanted.clone(),
    }
}

/// The demo has no photo of its own for each step: the one of the finished roof stands in, with the step's place in the
/// list, since its name may hold an id that every replay makes anew.
fn photos(app: &App, asker: &Asker, job: Uuid, number: usize, step: &StepView) -> Result<(), Refusal> {
    // Before photos are photos of the unit, which the step only looks for.
    let (of, when, picture) = match step.key.as_str() {
        "before_photos" => (PhotoOf::Unit, PhotoWhen::Before, "5026-roof-before.jpg"),
        key => (
            PhotoOf::Step(key.to_owned()),
            PhotoWhen::During,
            "5026-roof-after.jpg",
        ),
    };
    for n in 0..step.photos_wanted {
        let bytes = stand_in(picture, &format!("stand-in {n} at step {number}"))?;
        let ask = Ask::AddPhoto {
            job,
            of: of.clone(),
            when,
            name: format!("5026 {} {n}", step.title),
        };
        app.ask(asker, ask, Some(&bytes))?;
    }
    Ok(())
}

/// A photo of `demo-data/photos` with a JPEG comment written into it, so that it is a photo of its own.
pub fn stand_in(name: &str, comment: &str) -> Result<Vec<u8>, Refusal> {
    let whole = file(&format!("photos/{name}"))?;
    let (start, rest) = whole
        .split_at_checked(2)
        .ok_or_else(|| wrong(&format!("{name} is no photo")))?;
    let length = u16::try_from(comment.len()).unwrap_or_default().saturating_add(2);
    Ok([
        start,
        &[0xff, 0xfe],
        &length.to_be_bytes(),
        comment.as_bytes(),
        rest,
    ]
    .concat())
}

/// The photos of the demo: name and bytes.
pub fn photo_files() -> impl Iterator<Item = (&'static str, &'static [u8])> {
    let folder = DATA.get_dir("photos").into_iter();
    folder.flat_map(|folder| folder.files()).filter_map(|file| {
        let name = file.path().file_name().and_then(|name| name.to_str())?;
        Some((name, file.contents()))
    })
}

/// A file of `demo-data`.
pub fn file(name: &str) -> Result<&'static [u8], Refusal> {
    DATA.get_file(name)
        .map(include_dir::File::contents)
        .ok_or_else(|| wrong(&format!("demo-data holds no {name}")))
}

/// Why there is no demo yard.
pub fn wrong(sentence: &str) -> Refusal {
    Refusal {
        code: "demo".into(),
        sentence: format!("The demo yard cannot be made: {sentence}"),
        field: None,
    }
}
