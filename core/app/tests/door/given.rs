//! One number for one thing through the door: hours in the bay and with the roof open, what is given and what waits, what is
//! bought, found and fitted.

use crate::{
    door::{PIN, SUPERVISOR, TECHNICIAN, Yard, as_wanted, id, words},
    material::stock,
};
use bowseam_figures::cut::StockKind;
use bowseam_jobs::entry::{Decision, PhotoOf, PhotoWhen, What};
use serde_json::{Value, json};
use uuid::Uuid;

/// A yard with a job on it; asks are of that job.
pub struct Job {
    pub yard: Yard,
    pub job: String,
}

impl Job {
    pub fn new(unit: &str) -> Self {
        let yard = Yard::new();
        yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
        let job = id(&yard.get(json!({"kind": "open_job", "unit": unit})));
        Self { yard, job }
    }

    fn of(&self, mut ask: Value) -> Value {
        ask["job"] = json!(self.job);
        ask
    }

    pub fn get(&self, ask: Value) -> Value {
        self.yard.get(self.of(ask))
    }

    pub fn see(&self, kind: &str) -> Value {
        self.get(json!({"kind": kind}))
    }

    pub fn mark(&self, place: [&str; 5], damage: &str, part: &str, found: Option<&str>) -> String {
        let [surface, from, to, low, high] = place;
        let place = json!({"surface": surface, "from": from, "to": to, "low": low, "high": high});
        let mark = json!({"kind": "add_mark", "place": place, "damage": damage, "part": part, "age": "new", "note": "", "found": found});
        id(&self.get(mark))
    }

    fn choose(&self, group: &str, way: &str) {
        self.get(json!({"kind": "choose_way", "group": group, "way": way}));
    }

    pub fn tear(&self) {
        self.mark(["roof", "100", "160", "10", "90"], "tear", "roof_sheet", None);
        self.choose("roof", "front_section");
    }

    pub fn hole(&self) -> String {
        let hole = self.mark(["curbside", "120", "131", "40", "52"], "hole", "side_sheet", None);
        self.choose(&hole, "side_patch");
        hole
    }

    /// Asked, and given for these groups; for all where none are named.
    pub fn agree(&self, groups: &[&str]) {
        self.get(json!({"kind": "ask_go_ahead", "found": null}));
        let hash = self.see("figures")["hash"].clone();
        let go = json!({"kind": "go_ahead", "hash": hash, "amount": null, "note": "", "groups": groups});
        self.yard.get_as(SUPERVISOR, self.of(go));
    }

    fn rows(&self, kind: &str) -> Vec<Value> {
        self.see(kind)["rows"].as_array().unwrap().clone()
    }

    /// What is wanted of the buying list.
    fn items(&self) -> Vec<String> {
        let rows = self.rows("buying_list").into_iter();
        let rows = rows.filter(|row| row["wanted"] == true);
        rows.map(|row| row["item"].as_str().unwrap().to_owned()).collect()
    }

    pub fn step(&self, key: &str) -> Value {
        let steps = self.see("steps")["steps"].clone();
        let found = steps.as_array().unwrap().iter().find(|step| step["key"] == key);
        found.unwrap_or(&Value::Null).clone()
    }

    /// What lies of a line of stock, and who reserved it, in words.
    pub fn lies(&self, name: &str) -> (Value, Value) {
        let rows = self.yard.get(json!({"kind": "shop_book"}))["stock"].clone();
        let named = |row: &&Value| row["name"].as_str().unwrap().ends_with(name);
        let row = rows.as_array().unwrap().iter().find(named).unwrap();
        (row["count"].clone(), row["reserved"].clone())
    }

    /// Does each step up to one of this key, and that one; what that saved, in words.
    pub fn work_up_to(&self, last: &str) -> String {
        for _ in 0..80 {
            let key = self.see("steps")["current"].as_str().unwrap().to_owned();
            let step = self.step(&key);
            for value in step["values"].as_array().unwrap() {
                self.get(json!({"kind": "measure", "step": key, "value": value["key"], "measured": as_wanted(value), "reason": ""}));
            }
            for _ in 0..step["photos_wanted"].as_u64().unwrap() {
                let of = PhotoOf::Step(key.clone());
                self.yard.photo(&self.job, &of, PhotoWhen::During);
            }
            if key == "before_photos" {
                for mark in self.see("fold_out")["marks"].as_array().unwrap() {
                    let of = PhotoOf::Mark(mark["id"].as_str().unwrap().parse().unwrap());
                    self.yard.photo(&self.job, &of, PhotoWhen::Before);
                }
                for _ in 0..4 {
                    self.yard.photo(&self.job, &PhotoOf::Unit, PhotoWhen::Before);
                }
            }
            let saved = self.get(json!({"kind": "step_done", "step": key, "done": true}));
            if key.starts_with(last) {
                return saved["words"].as_str().unwrap().to_owned();
            }
        }
        panic!("there is no step {last}");
    }
}

fn number(value: &Value) -> f64 {
    value.as_str().unwrap().parse().unwrap()
}

pub fn one_number_for_the_open_roof() {
    let job = Job::new("6201");
    job.tear();
    let ways = job.see("ways")["choices"][0]["ways"].clone();
    let way = ways
        .as_array()
        .unwrap()
        .iter()
        .find(|way| way["key"] == "front_section")
        .unwrap();
    let bay = job.see("figures")["in_bay"].clone();
    assert_eq!(way["in_bay"], bay, "the way is the job's only work");
    let open = bay["open_hours"].as_str().unwrap().to_owned();
    assert!(number(&bay["open_hours"]) < number(&bay["hours"]), "{bay}");
    for temperature in ["", "75 F"] {
        let plan = job.get(json!({"kind": "crew_plan", "temperature": temperature}));
        assert_eq!(
            plan["plans"]["plans"][0]["open_hours"], bay["open_hours"],
            "{temperature}"
        );
    }
    let rows = job.rows("roof_off");
    let dry = rows.iter().find(|row| row["key"] == "dry_hours").unwrap();
    let said = format!("open for {open} working hours by the crew plan with 2 people");
    assert!(dry["wanted"].as_str().unwrap().contains(&said), "{dry}");
    let step = job.step("old_sheet");
    assert!(step["remark"].as_str().unwrap().contains(&said), "{step}");
    job.agree(&[]);
    let promise = job.see("buying_list")["promise"]["basis"].to_string();
    let days = format!("{} h → {}", bay["hours"].as_str().unwrap(), bay["days"]);
    assert!(promise.contains(&days), "{days}: {promise}");
    // A side patched under the same roof is counted in it, everywhere alike.
    job.hole();
    let more = job.see("figures")["in_bay"]["open_hours"].clone();
    assert!(number(&more) >= number(&bay["open_hours"]), "{more} {bay}");
    let plan = job.get(json!({"kind": "crew_plan", "temperature": ""}));
    assert_eq!(plan["plans"]["plans"][0]["open_hours"], more);
}

pub fn a_part_alone_is_bought_checked_and_counted() {
    let job = Job::new("6202");
    job.yard.stock(&[
        stock("roof sheet", "coil", StockKind::Coil, 1272, Some(104), 1),
        stock("side sheet", "side coil", StockKind::Coil, 600, Some(49), 1),
    ]);
    job.tear();
    let hole = job.hole();
    let whole = job.see("figures");
    job.get(json!({"kind": "set_reserved", "reserved": true}));
    let reserved = |item: &str| {
        let rows = job.see("cut_list")["reserved"].clone();
        let row = rows.as_array().unwrap().iter().find(|row| row["name"] == item);
        row.unwrap_or(&Value::Null).clone()
    };
    assert_eq!(reserved("coil")["free"], false);
    assert!(job.items().iter().any(|item| item == "foam tape"));
    job.agree(&[&hole]);

    let figures = job.see("figures");
    let given = figures["given"].clone();
    assert_eq!(given["amount"], figures["agreed_total"]);
    assert!(number(&given["amount"]) < number(&whole["estimate"]["total"]));
    let waits = number(&given["amount"]) + number(&given["waits_amount"]);
    assert!(
        (waits - number(&whole["estimate"]["total"])).abs() < 0.005,
        "{given}"
    );
    assert!(words(&given["waits"]).starts_with("Roof"), "{given}");
    assert_eq!(given["titles"].as_array().unwrap().len(), 1);
    // Nothing of the roof: not in the days, the check, the steps, the list, nor held on the shelf.
    assert_eq!(figures["in_bay"]["open_hours"], Value::Null);
    assert!(number(&figures["in_bay"]["hours"]) < number(&whole["in_bay"]["hours"]));
    assert_eq!(job.see("roof_off")["needed"], false);
    assert_eq!(job.step("old_sheet"), Value::Null);
    let items = job.items();
    assert_eq!(items, ["sealant cartridges", "rivets"], "of the side alone");
    let rivets = job
        .rows("buying_list")
        .iter()
        .find(|row| row["item"] == "rivets")
        .unwrap()["quantity"]
        .clone();
    let groups = whole["estimate"]["groups"].as_array().unwrap();
    let side = groups.iter().find(|group| group["group"] == json!(hole)).unwrap();
    let own = side["goods"]
        .as_array()
        .unwrap()
        .iter()
        .find(|line| line["item"] == "rivets");
    assert_eq!(rivets, own.unwrap()["quantity"]);
    assert_eq!(
        (
            reserved("coil")["free"].clone(),
            reserved("side coil")["free"].clone()
        ),
        (json!(true), json!(false))
    );
    // What was put on the list for the roof holds nothing up any more.
    let promise = job.see("buying_list")["promise"].clone();
    assert!(promise["day"].is_string(), "{promise}");
    let packet = job.get(json!({"kind": "packet", "form": "html"}))["text"].to_string();
    assert!(packet.contains("No go-ahead for this: it was not done."));
}

pub fn an_hour_more_is_not_a_day_more() {
    let job = Job::new("6203");
    job.tear();
    job.agree(&[]);
    let found = id(&job.get(json!({"kind": "find_more", "line": "one more bow is bent", "step": ""})));
    job.mark(["roof", "70", "74", "10", "90"], "bend", "roof_bow", Some(&found));
    job.yard.photo(
        &job.job,
        &PhotoOf::Found(found.parse().unwrap()),
        PhotoWhen::During,
    );
    let seen = |job: &Job| {
        let bay = job.see("figures")["in_bay"].clone();
        let day = job.see("buying_list")["promise"]["day"].clone();
        (number(&bay["hours"]), bay["days"].as_u64().unwrap(), day)
    };
    let (hours, days, day) = seen(&job);
    job.get(json!({"kind": "ask_go_ahead", "found": found}));
    let hash = job.see("figures")["supplements"][0]["asked_hash"].clone();
    let go = json!({"kind": "go_ahead", "hash": hash, "amount": null, "note": ""});
    job.yard.get_as(SUPERVISOR, job.of(go));
    let (more_hours, more_days, later) = seen(&job);
    assert!(
        more_hours > hours && more_hours <= hours + 2.0,
        "{hours} {more_hours}"
    );
    assert_eq!(more_days, (more_hours / 8.0).ceil() as u64);
    assert_eq!(
        (more_days, later),
        (days, day),
        "the last day has room for it: {hours} h and {more_hours} h"
    );
}

pub fn what_the_check_found_is_not_bought() {
    let job = Job::new("6204");
    job.tear();
    let rivets = || {
        job.rows("buying_list")
            .into_iter()
            .find(|row| row["item"] == "rivets")
    };
    let all: u32 = rivets().unwrap()["quantity"].as_str().unwrap().parse().unwrap();
    let kinds: Vec<Value> = job
        .rows("roof_off")
        .into_iter()
        .filter(|row| row["title"].as_str().unwrap().ends_with("rivets"))
        .collect();
    assert!(kinds.len() > 2, "{kinds:?}");
    let count = |row: &Value| -> u32 {
        let wanted = row["wanted"].as_str().unwrap();
        wanted.split(' ').next().unwrap().parse().unwrap()
    };
    assert_eq!(kinds.iter().map(count).sum::<u32>(), all);
    let found = |row: &Value| {
        job.get(json!({"kind": "set_on_hand", "item": row["key"], "have": true, "place": "cabinet 2"}));
    };
    let mut left = all;
    for kind in &kinds[1..] {
        found(kind);
        left -= count(kind);
        assert_eq!(rivets().unwrap()["quantity"], left.to_string());
        assert!(rivets().unwrap()["here"].is_null());
    }
    found(&kinds[0]);
    assert_eq!(rivets().unwrap()["here"], "cabinet 2");
    let csv = job.see("buying_list")["csv"].as_str().unwrap().to_owned();
    assert!(
        !csv.contains("rivets") && csv.contains("sealant cartridges"),
        "{csv}"
    );
    // Bought after all: what is here is on hand in every row that it is of.
    for kind in &kinds {
        job.get(json!({"kind": "undo"}));
        assert!(!kind["key"].is_null());
    }
    let line = rivets().unwrap()["line"].clone();
    job.get(json!({"kind": "set_buying", "line": line, "field": "here", "value": "box 7"}));
    let rows = job.rows("roof_off");
    let ready = rows
        .iter()
        .filter(|row| row["place"] == "box 7" && row["ok"] == true);
    assert_eq!(ready.count(), kinds.len());
}

pub fn found_photos_are_before_photos() {
    let job = Job::new("6206");
    job.tear();
    job.agree(&[]);
    let found = id(&job.get(json!({"kind": "find_more", "line": "rust under the lining", "step": ""})));
    let mark = job.mark(
        ["inside_curbside", "100", "110", "20", "40"],
        "corrosion",
        "side_post",
        Some(&found),
    );
    let of = PhotoOf::Found(found.parse().unwrap());
    let photo = job.yard.photo(&job.job, &of, PhotoWhen::During);
    let pair = || {
        let pairs = job.see("proof")["pairs"].clone();
        let own = |pair: &&Value| pair["of"]["id"] == json!(mark);
        pairs.as_array().unwrap().iter().find(own).unwrap().clone()
    };
    assert_eq!(pair()["before"][0]["sha256"], json!(photo));
    assert_eq!(pair()["before"].as_array().unwrap().len(), 1);
    let places = job.see("photos")["places"].clone();
    let place = places
        .as_array()
        .unwrap()
        .iter()
        .find(|place| place["of"]["id"] == json!(mark));
    assert_eq!(place.unwrap()["before_as"]["id"], json!(found));
}

/// Up to rules 5 what a *found more* adds had a range, taken from the two of the whole job. A newer program takes no
/// go-ahead away: what was asked so stands.
pub fn a_supplement_of_older_rules_stands() {
    let job = Job::new("6207");
    job.tear();
    job.agree(&[]);
    let found = id(&job.get(json!({"kind": "find_more", "line": "one more bow is bent", "step": ""})));
    job.mark(["roof", "70", "74", "10", "90"], "bend", "roof_bow", Some(&found));
    let of_now = job.get(json!({"kind": "found_more", "found": found}))["added"].clone();
    assert_eq!(
        of_now["range"],
        Value::Null,
        "two ranges taken from each other are none"
    );
    let mut then = of_now.clone();
    then["rules_version"] = json!("5");
    then["range"] = json!({"low": "12.00", "high": "340.00", "basis": []});
    // What the rules of then came to is another sum than that of now.
    then["total"] = json!("123.45");
    let hash = bowseam_figures::canonical::sha256(&then).unwrap();
    let write = |by: Uuid, what: What| {
        let (at, act) = (job.job.parse().unwrap(), Uuid::now_v7());
        job.yard.phone.store().append(at, by, act, vec![what]).unwrap();
    };
    write(
        TECHNICIAN,
        What::Asked {
            hash: hash.clone(),
            figures: then,
            found: Some(found.parse().unwrap()),
            note: String::new(),
        },
    );
    let seen = || job.see("figures")["supplements"][0].clone();
    assert_eq!(seen()["go_ahead"]["state"], "asked");
    let decision = Decision::GoAhead {
        amount: None,
        note: String::new(),
        groups: Vec::new(),
        ceiling: None,
    };
    write(
        SUPERVISOR,
        What::Decided {
            hash: hash.clone(),
            decision,
        },
    );
    let row = seen();
    assert_eq!(row["go_ahead"]["state"], "go_ahead", "{row}");
    assert!(
        row["go_ahead"]["words"]
            .as_str()
            .unwrap()
            .contains("stands as it was"),
        "{row}"
    );
    assert_eq!(
        (row["asked_hash"].clone(), row["added"].clone()),
        (json!(hash), json!("123.45"))
    );
    let figures = job.see("figures");
    let main = number(&figures["estimate"]["total"]);
    assert!(
        (number(&figures["agreed_total"]) - main - 123.45).abs() < 0.005,
        "{}",
        figures["agreed_total"]
    );
}

/// The crew plan of a part is kept between looks, and is another once the shop's hours or people are.
pub fn a_part_is_planned_by_the_book_of_today() {
    let job = Job::new("6208");
    job.tear();
    let hole = job.hole();
    job.agree(&[&hole]);
    let bay = || job.see("figures")["in_bay"].clone();
    let set = |group: &str, key: &str, value: &str| {
        job.yard.get_as(
            SUPERVISOR,
            json!({"kind": "set_book", "group": group, "key": key, "value": value}),
        );
    };
    let before = bay();
    assert_eq!(bay(), before);
    set("hours", "side_patch", "9");
    let longer = bay();
    assert!(
        number(&longer["hours"]) > number(&before["hours"]),
        "{before} {longer}"
    );
    set("planning", "hours_a_day", "4");
    assert!(
        bay()["days"].as_u64() > longer["days"].as_u64(),
        "{longer} {}",
        bay()
    );
}
