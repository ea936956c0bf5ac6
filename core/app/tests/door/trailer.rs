//! What a new user met at the trailer, through the door: answers that come while a step is open, values and their reasons,
//! what is looked at, photos of what was found, what is cut already, the cure, a seal.

use crate::{
    door::{PIN, TECHNICIAN, Yard, id},
    given::Job,
    journey,
    material::stock,
};
use bowseam_figures::cut::StockKind;
use bowseam_jobs::entry::{PhotoOf, PhotoWhen};
use chrono::{DateTime, DurationRound, FixedOffset, TimeDelta, Utc};
use serde_json::{Value, json};

impl Job {
    fn measure(&self, step: &str, value: &Value, measured: &str, reason: &str) -> Value {
        json!({"kind": "measure", "job": self.job, "step": step, "value": value["key"], "measured": measured, "reason": reason})
    }

    /// The first value of this form, with the key of its step.
    fn value(&self, form: &str, is: impl Fn(&Value) -> bool) -> (String, Value) {
        let steps = self.see("steps")["steps"].clone();
        for step in steps.as_array().unwrap() {
            for value in step["values"].as_array().unwrap() {
                if value["form"] == form && is(value) {
                    return (step["key"].as_str().unwrap().to_owned(), value.clone());
                }
            }
        }
        panic!("no value of form {form}");
    }

    fn value_now(&self, step: &str, key: &Value) -> Value {
        let values = self.step(step)["values"].clone();
        let own = |value: &&Value| value["key"] == *key;
        values.as_array().unwrap().iter().find(own).unwrap().clone()
    }
}

pub fn a_reason_goes_with_its_value() {
    let job = Job::new("6301");
    job.tear();
    job.agree(&[]);
    let (step, value) = job.value("length", |value| value["tolerance"] != "");
    let ask = |measured: &str, reason: &str| job.measure(&step, &value, measured, reason);
    job.yard.refused("reason_missing", ask("3000 in", ""));
    job.yard.get(ask("3000 in", "the tape was caught"));
    let now = || job.value_now(&step, &value["key"]);
    assert_eq!(
        (now()["fits"].clone(), now()["measured"]["reason"].clone()),
        (json!(false), json!("the tape was caught"))
    );
    // A page that still holds the reason of the value before sends it along.
    let fits = value["wanted"].as_str().unwrap().split(',').next().unwrap();
    job.yard.get(ask(fits, "the tape was caught"));
    assert_eq!(
        (now()["fits"].clone(), now()["measured"]["reason"].clone()),
        (json!(true), json!(""))
    );
}

pub fn what_is_looked_at_is_chosen() {
    let job = Job::new("6302");
    job.tear();
    job.agree(&[]);
    let (step, leak) = job.value("choice", |value| value["wanted"] == "dry");
    assert_eq!(
        (step.as_str(), leak["otherwise"].as_str()),
        ("leak_test", Some("not dry"))
    );
    let refusal = job
        .yard
        .refused("choice_unread", job.measure(&step, &leak, "yes", ""));
    assert!(
        refusal.sentence.contains("“dry” and “not dry”"),
        "{}",
        refusal.sentence
    );
    let lacks = || job.step(&step)["lacks"].to_string();
    let why = "without saying where";
    job.yard
        .get(job.measure(&step, &leak, "not dry: under bow 7", ""));
    let now = job.value_now(&step, &leak["key"]);
    assert_eq!(
        (now["fits"].clone(), now["said"].clone()),
        (json!(false), json!("not dry: under bow 7"))
    );
    assert!(lacks().contains(why), "{}", lacks());
    job.yard
        .get(job.measure(&step, &leak, "not dry: under bow 7", "sealed again on Monday"));
    assert!(!lacks().contains(why), "{}", lacks());
    job.yard.get(job.measure(&step, &leak, "dry", ""));
    assert_eq!(job.value_now(&step, &leak["key"])["measured"]["reason"], "");
    let (step, metal) = job.value("temperature", |value| value["key"] == "surface_temperature");
    for words in ["yes", "within the label's limits"] {
        let refusal = job
            .yard
            .refused("temperature_unread", job.measure(&step, &metal, words, ""));
        assert!(refusal.sentence.contains("75 F or 24 C"), "{}", refusal.sentence);
    }
    job.yard.get(job.measure(&step, &metal, "24 C", ""));
    assert_eq!(job.value_now(&step, &metal["key"])["said"], "24 °C");
}

/// An open page hears of an entry of somebody else by the number of the newest; the step that shuts another is named with
/// the way to it.
pub fn an_open_page_hears_of_what_came() {
    let job = Job::new("6303");
    job.tear();
    job.agree(&[]);
    let newest = || job.yard.get(json!({"kind": "hello"}))["newest"].as_u64().unwrap();
    let before = newest();
    job.yard.get_office(json!({"kind": "open_job", "unit": "6304"}));
    assert_eq!(newest(), before, "nothing came yet");
    job.yard.exchange();
    assert!(newest() > before);
    let step = job.step("before_photos");
    let at = step["lacks"].as_array().unwrap().iter().position(|lack| {
        lack.as_str()
            .unwrap()
            .starts_with("Stop and check first: Make it safe")
    });
    assert_eq!(step["lacks_where"][at.unwrap()], "steps?step=make_safe");
}

pub fn a_photo_on_its_mark_shows_what_was_found() {
    let job = Job::new("6305");
    job.tear();
    job.agree(&[]);
    let found = id(&job.get(json!({"kind": "find_more", "line": "post cracked", "step": ""})));
    let mark = job.mark(
        ["inside_curbside", "100", "110", "20", "40"],
        "crack",
        "side_post",
        Some(&found),
    );
    let see = || job.get(json!({"kind": "found_more", "found": found}));
    let lack = "no photo shows it";
    assert!(see()["lacks"].to_string().contains(lack));
    let of = || PhotoOf::Mark(mark.parse().unwrap());
    job.yard.photo(&job.job, &of(), PhotoWhen::After);
    assert_eq!(see()["row"]["photos"], 0, "an after photo shows the work");
    let photo = job.yard.photo(&job.job, &of(), PhotoWhen::During);
    assert_eq!(
        (
            see()["row"]["photos"].clone(),
            see()["photos"][0]["sha256"].clone()
        ),
        (json!(1), json!(photo))
    );
    assert!(!see()["lacks"].to_string().contains(lack), "{}", see()["lacks"]);
    let pairs = job.see("proof")["pairs"].clone();
    let own = |pair: &&Value| pair["of"]["id"] == json!(mark);
    let pair = pairs.as_array().unwrap().iter().find(own).unwrap();
    assert_eq!(pair["before"][0]["sha256"], json!(photo));
}

pub fn what_is_cut_is_on_hand() {
    let job = Job::new("6306");
    job.yard
        .stock(&[stock("roof sheet", "coil", StockKind::Coil, 1272, Some(104), 1)]);
    job.tear();
    job.agree(&[]);
    let sheet = || {
        let rows = job.see("roof_off")["rows"].clone();
        let own = |row: &&Value| row["title"] == "roof sheet";
        rows.as_array().unwrap().iter().find(own).unwrap().clone()
    };
    assert_eq!(
        (sheet()["ok"].clone(), sheet()["have"].clone()),
        (json!(false), Value::Null)
    );
    let plans = job.see("cut_list")["plans"].clone();
    let own = |plan: &&Value| plan["plan"]["item"] == "roof sheet";
    let plan = plans.as_array().unwrap().iter().find(own).unwrap()["plan"]["key"].clone();
    job.get(json!({"kind": "set_cut", "cut": plan, "done": true}));
    let cut = sheet();
    assert_eq!(
        (cut["ok"].clone(), cut["have"].clone(), cut["place"].clone()),
        (json!(true), json!(true), json!("cut, from rack coil")),
        "{cut}"
    );
    let shelves = job.see("roof_off")["shelves"].to_string();
    assert!(shelves.contains("cut, from rack coil"), "{shelves}");
    job.get(json!({"kind": "undo"}));
    assert_eq!(sheet()["ok"], false, "not cut after all");
    // What is here is not counted as still to be bought.
    let count = || job.see("cut_list")["buying"].as_u64().unwrap();
    let rows = job.see("buying_list")["rows"].clone();
    let open: Vec<&Value> = rows
        .as_array()
        .unwrap()
        .iter()
        .filter(|row| row["here"].is_null())
        .collect();
    assert_eq!(count(), u64::try_from(open.len()).unwrap());
    assert!(count() > 0, "{rows}");
    let line = open[0]["line"].clone();
    let before = count();
    job.get(json!({"kind": "set_buying", "line": line, "field": "here", "value": "rack 3"}));
    assert_eq!(count(), before - 1);
}

pub fn before_photos_show_roof_and_inside() {
    let job = Job::new("6307");
    job.hole();
    job.agree(&[]);
    let wanted = || job.see("arrival")["wanted"].to_string();
    let asked = || job.step("before_photos")["photos_wanted"].clone();
    assert!(
        wanted().contains("the four corners and the roof of the unit"),
        "{}",
        wanted()
    );
    assert_eq!(asked(), 5, "nobody said how it came");
    let load = |value: &str| job.get(json!({"kind": "set_arrival", "field": "load", "value": value}));
    load("sealed");
    assert_eq!(asked(), 5, "the inside of a sealed unit is not seen");
    load("empty");
    assert_eq!(asked(), 6);
    for _ in 0..4 {
        job.yard.photo(&job.job, &PhotoOf::Unit, PhotoWhen::Before);
    }
    assert!(
        wanted().contains("the roof and the inside of the unit (4 photos of 6 there)"),
        "{}",
        wanted()
    );
    let of = PhotoOf::Step("make_safe".to_owned());
    job.yard.photo(&job.job, &of, PhotoWhen::During);
    job.get(json!({"kind": "step_done", "step": "make_safe", "done": true}));
    let refusal = job.yard.refused(
        "step_lacks",
        json!({"kind": "step_done", "job": job.job, "step": "before_photos", "done": true}),
    );
    assert!(
        refusal.sentence.contains("the roof and the inside"),
        "{}",
        refusal.sentence
    );
    for _ in 0..2 {
        job.yard.photo(&job.job, &PhotoOf::Unit, PhotoWhen::Before);
    }
    assert!(!wanted().contains("of the unit"), "{}", wanted());
}

impl journey::Job {
    /// The label's 24 h run from the start that is typed at the wait, not from when a step was tapped.
    pub fn cure_counts_from_what_is_entered(&self) {
        let done = |done: bool| self.get(json!({"kind": "step_done", "step": "cure", "done": done}));
        let typed = |text: &str| json!({"kind": "measure", "step": "cure", "value": "cure_started", "measured": text, "reason": ""});
        let leak = || {
            let rows = self.get(json!({"kind": "proof"}))["rows"].clone();
            let mut rows = rows.as_array().unwrap().clone();
            rows.retain(|row| row["key"] == "leak");
            rows[0]["not_before"]
                .as_str()
                .unwrap()
                .parse::<DateTime<Utc>>()
                .unwrap()
        };
        done(false);
        self.refused("cure_ahead", typed("2099-01-01 08:00, 70 F"));
        // A time of day is that of the clock on which it was read, wherever this program runs.
        let in_zone = |text: &str, minutes: i32| {
            let mut ask = typed(text);
            ask["zone"] = json!(minutes);
            ask
        };
        for (minutes, offset) in [(-360, "-06:00"), (330, "+05:30")] {
            let clock = FixedOffset::east_opt(minutes * 60).unwrap();
            let start = Utc::now().with_timezone(&clock) - TimeDelta::hours(1);
            self.get(in_zone(&start.format("%H:%M, 70 F").to_string(), minutes));
            let over = start.duration_trunc(TimeDelta::minutes(1)).unwrap() + TimeDelta::hours(24);
            assert_eq!(leak(), over, "{offset}");
            let said = self.get(json!({"kind": "steps"})).to_string();
            let kept = start.format("%Y-%m-%d %H:%M").to_string();
            assert!(
                said.contains(&format!("{kept} {offset}, 70 °F")),
                "{kept} {offset}: {said}"
            );
        }
        self.refused("zone", in_zone("08:00, 70 F", 1440));
        self.refused("cure_unread", typed("yes"));
        self.refused("cure_before", typed("2026-01-02 08:00 -05:00, 70 F"));
        let east = FixedOffset::east_opt(-300 * 60).unwrap();
        let start = (Utc::now() - TimeDelta::hours(7)).with_timezone(&east);
        let start = start.duration_trunc(TimeDelta::minutes(1)).unwrap();
        self.get(typed(&start.format("%Y-%m-%d %H:%M %:z, 70 F").to_string()));
        // The sealing was done before this was entered, so the word of who laid it counts.
        let over = (start + TimeDelta::hours(24)).to_utc();
        assert_eq!(leak(), over);
        let steps = self.get(json!({"kind": "steps"}))["steps"].clone();
        let wait = steps
            .as_array()
            .unwrap()
            .iter()
            .find(|step| step["key"] == "cure")
            .unwrap()
            .clone();
        assert_eq!(
            wait["remark"],
            format!(
                "Cures until {}: 24 h by the label, as it was entered here.",
                over.format("%Y-%m-%dT%H:%MZ")
            )
        );
        // Sealed once more after that: it counts from then.
        for seal in ["seal", "patch_seal"]
            .into_iter()
            .filter(|key| steps.to_string().contains(&format!("\"{key}\"")))
        {
            self.get(json!({"kind": "step_done", "step": seal, "done": false}));
            self.get(json!({"kind": "step_done", "step": seal, "done": true}));
        }
        assert!(leak() > Utc::now(), "{}", leak());
        // The wait is not over: lamps may be looked at meanwhile, the wait itself is done with its reason alone.
        let refusal = self.refused(
            "step_lacks",
            json!({"kind": "step_done", "step": "cure", "done": true}),
        );
        assert!(
            refusal.sentence.contains("cures until") && refusal.sentence.contains("say the reason"),
            "{}",
            refusal.sentence
        );
        let lights = |done: bool| json!({"kind": "step_done", "step": "lights", "done": done});
        self.get(lights(false));
        self.get(lights(true));
        self.get(json!({"kind": "measure", "step": "cure", "value": "cure_started",
            "measured": "now, 70 F", "reason": "cured under lamps, by the label of the lamps"}));
        done(true);
    }
}

pub fn a_sealed_unit_says_so() {
    let yard = Yard::new();
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    let job = id(&yard.get(json!({"kind": "open_job", "unit": "3350"})));
    for (field, value) in [
        ("load", "sealed"),
        ("seal", "0481 773"),
        ("account", "<b>so at pick-up</b>"),
    ] {
        yard.get(json!({"kind": "set_arrival", "job": job, "field": field, "value": value}));
    }
    for kind in [
        "arrival",
        "fold_out",
        "ways",
        "figures",
        "cut_list",
        "roof_off",
        "steps",
        "proof",
        "hand_over",
    ] {
        let view = yard.get(json!({"kind": kind, "job": job}));
        assert_eq!(view["head"]["not_seen"], "0481 773", "{kind}");
    }
    let stops = yard.get(json!({"kind": "fold_out", "job": job}))["walk"].clone();
    assert_eq!(stops[5]["not_seen"], "0481 773");
    let html = yard.get(json!({"kind": "packet", "job": job, "form": "html"}))["text"]
        .as_str()
        .unwrap()
        .to_owned();
    assert!(html.contains("inside not seen: 0481 773") && html.contains("&lt;b&gt;so at pick-up"));
}
