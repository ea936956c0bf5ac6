//! One job from its opening to its handover, through asks alone: the phone does the work, the office answers,
//! and in the end both hold the same packet, byte for byte.

use crate::door::{PIN, SUPERVISOR, TECHNICIAN, Yard, ask_at, id, picture, words};
use bowseam_figures::{canonical, shop::Book};
use bowseam_jobs::entry::{PhotoOf, PhotoWhen};
use serde_json::{Value, json};

/// The job's id and those of its marks.
pub struct Job {
    pub yard: Yard,
    pub job: String,
    roof: String,
    rail: String,
    side: String,
}

pub fn whole_job() {
    let yard = Yard::new();
    yard.book(&Book::default());
    let job = opened(&yard);
    let mut job = Job {
        yard,
        job,
        roof: String::new(),
        rail: String::new(),
        side: String::new(),
    };
    job.arrival();
    job.marks();
    job.photos();
    job.ways();
    job.go_ahead();
    job.roof_off();
    job.steps();
    job.proof();
    job.handover();
}

fn opened(yard: &Yard) -> String {
    let hello = yard.get(json!({"kind": "hello"}));
    assert_eq!(
        (
            hello["signed_in"].clone(),
            hello["people"].as_array().unwrap().len()
        ),
        (Value::Null, 2)
    );
    yard.refused("sign_in", json!({"kind": "open_job", "unit": "4417"}));
    let wrong = yard.refused(
        "pin_wrong",
        json!({"kind": "sign_in", "person": TECHNICIAN, "pin": "0000"}),
    );
    assert_eq!(wrong.field.as_deref(), Some("pin"));
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    assert_eq!(yard.get(json!({"kind": "hello"}))["signed_in"], json!(TECHNICIAN));
    yard.refused("unit_missing", json!({"kind": "open_job", "unit": "  "}));
    id(&yard.get(json!({"kind": "open_job", "unit": "4417"})))
}

impl Job {
    pub fn get(&self, mut ask: Value) -> Value {
        ask["job"] = json!(self.job);
        self.yard.get(ask)
    }

    pub fn refused(&self, code: &str, mut ask: Value) -> bowseam_app::Refusal {
        ask["job"] = json!(self.job);
        self.yard.refused(code, ask)
    }

    pub fn as_supervisor(&self, mut ask: Value) -> Value {
        ask["job"] = json!(self.job);
        self.yard.get_as(SUPERVISOR, ask)
    }

    pub fn office(&self, mut ask: Value) -> Value {
        ask["job"] = json!(self.job);
        self.yard.get_office(ask)
    }

    fn set(&self, field: &str, value: &str) {
        self.get(json!({"kind": "set_arrival", "field": field, "value": value}));
    }

    fn arrival(&self) {
        let refusal = self.refused(
            "date_unread",
            json!({"kind": "set_arrival", "field": "inspected", "value": "28.11.2026"}),
        );
        assert_eq!(refusal.field.as_deref(), Some("value"));
        self.set("vin", "1m8gdm9a_kp042788");
        self.set("vin", "1M8GDM9AXKP042788");
        self.set("built", "05/2019");
        self.set("slot", "row A, 1");
        self.set("load", "sealed");
        self.refused(
            "not_seen",
            json!({"kind": "set_looked", "surface": "inside_nose", "seen": true}),
        );
        let seen = self.get(json!({"kind": "arrival"}));
        assert_eq!(seen["head"]["not_seen"], "seal number not written down");
        assert!(words(&seen["missing"]).contains("seal number"));
        assert!(words(&seen["missing"]).contains("annual inspection: needed for Proof"));
        let vin = seen["fields"]
            .as_array()
            .unwrap()
            .iter()
            .find(|f| f["field"] == "vin")
            .unwrap();
        assert_eq!(
            (vin["value"].as_str(), vin["remark"].clone()),
            (Some("1M8GDM9AXKP042788"), Value::Null)
        );
        self.set("load", "empty");
        self.set("wiring", "marker lamps at the nose");
        let inside = json!({"kind": "set_looked", "surface": "inside_nose", "seen": true, "also": ["floor"]});
        self.get(inside);
        self.get(json!({"kind": "set_plan", "field": "length", "value": "53'"}));
        self.get(json!({"kind": "set_plan", "field": "bows", "value": "24 every 24, 26 bows"}));
        self.refused(
            "plan_rails",
            json!({"kind": "set_plan", "field": "rail_width_outside", "value": "103"}),
        );
        let limits = json!({"answer": "with_limits", "reason": "", "fix": "tied down", "speed": "45", "distance": "", "weather": ""});
        let refusal = self.refused("limits_need", json!({"kind": "set_roll", "answer": limits}));
        assert_eq!(refusal.field.as_deref(), Some("reason"));
        let park = json!({"answer": "park_it", "reason": "loose sheet", "fix": "", "speed": "", "distance": "", "weather": ""});
        self.get(json!({"kind": "set_roll", "answer": park}));
    }

    pub fn mark(
        &self,
        surface: &str,
        at: [&str; 4],
        damage: &str,
        part: &str,
        found: Option<&str>,
    ) -> String {
        let [from, to, low, high] = at;
        let place = json!({"surface": surface, "from": from, "to": to, "low": low, "high": high});
        id(&self.get(json!({"kind": "add_mark", "place": place, "damage": damage, "part": part, "age": "new", "note": "", "found": found})))
    }

    fn marks(&mut self) {
        self.tapped_mark();
        self.roof = self.mark("roof", ["3", "149", "7", "95"], "tear", "roof_sheet", None);
        self.rail = self.mark("nose", ["0", "102", "104", "110"], "bend", "nose_rail", None);
        self.side = self.mark(
            "curbside",
            ["10'", "131", "3' 4", "52"],
            "hole",
            "side_sheet",
            None,
        );
        let lamp = self.mark("rear", ["2", "6", "100", "104"], "broken", "lamp", None);
        let limits = json!({"answer": "with_limits", "reason": "a", "fix": "b", "speed": "c", "distance": "", "weather": ""});
        let refusal = self.refused("limits_refused", json!({"kind": "set_roll", "answer": limits}));
        assert!(refusal.sentence.contains("lamp") && refusal.sentence.contains("396.7"));
        self.get(json!({"kind": "remove_mark", "mark": lamp}));
        self.get(json!({"kind": "set_mark", "mark": self.side, "note": "fork"}));
        let seen = self.get(json!({"kind": "mark", "mark": self.side}));
        assert_eq!(seen["typed"]["from"], "120 in");
        assert_eq!(
            seen["head"]["undo"],
            "note of a mark (hole, side sheet, curbside 120 in to 131 in)"
        );
        self.get(json!({"kind": "undo"}));
        assert_eq!(
            self.get(json!({"kind": "mark", "mark": self.side}))["mark"]["note"],
            ""
        );
        let place = json!({"surface": "curbside", "from": "9", "to": "8", "low": "1", "high": "2"});
        let ask = json!({"kind": "set_mark", "mark": self.side, "place": place});
        assert_eq!(self.refused("place_order", ask).field.as_deref(), Some("to"));
        let view = self.get(json!({"kind": "fold_out"}));
        assert_eq!(view["marks"].as_array().unwrap().len(), 3);
        // Damage to 149 in and the shop's 2 in: the first sound bow behind 151 in is bow 7, at 168 in.
        assert_eq!(view["seams"][0]["words"], "seam at bow 7, station 168 in");
        let row = view["yard"].clone();
        assert_eq!(row, Value::Null);
        assert_eq!(
            self.yard.get(json!({"kind": "yard", "find": "4417"}))["rows"][0]["marks"],
            3
        );
    }

    /// Two taps on the roof are drawn to the bows beside them; the mark comes off and back again by undo.
    fn tapped_mark(&self) {
        let faces = self.get(json!({"kind": "fold_out"}))["outside"]["faces"].clone();
        let roof = faces
            .as_array()
            .unwrap()
            .iter()
            .find(|face| face["surface"] == "roof")
            .unwrap()
            .clone();
        let at = |n: usize| roof["rect"][n].as_f64().unwrap();
        let inch = 25_400_000.0;
        let (x, y) = (at(0) + 20.0 * inch, at(1) + 71.0 * inch);
        let tap = json!({"kind": "place_at", "inside": false, "x1": x, "y1": y, "x2": x + 10.0 * inch, "y2": y + 26.0 * inch});
        let place = self.get(tap);
        assert_eq!(
            (place["typed"]["from"].as_str(), place["typed"]["to"].as_str()),
            (Some("72 in"), Some("96 in"))
        );
        assert_eq!(
            place["snapped"],
            json!(["bow 3, 72 in from the nose", "bow 4, 96 in from the nose"])
        );
        self.refused(
            "beside",
            json!({"kind": "place_at", "inside": false, "x1": -9e9, "y1": 0, "x2": 1e300, "y2": 0}),
        );
        let add = json!({"kind": "add_mark", "place": place["typed"], "damage": "dent", "part": "roof_sheet", "age": "old", "note": "", "found": null});
        let mark = id(&self.get(add));
        self.get(json!({"kind": "remove_mark", "mark": mark}));
        self.get(json!({"kind": "undo"}));
        self.get(json!({"kind": "mark", "mark": mark}));
        self.get(json!({"kind": "remove_mark", "mark": mark}));
        self.refused("no_mark", json!({"kind": "mark", "mark": mark}));
    }

    pub fn of_mark(mark: &str) -> PhotoOf {
        PhotoOf::Mark(mark.parse().unwrap())
    }

    fn photos(&self) {
        let wanted = || words(&self.get(json!({"kind": "arrival"}))["wanted"]);
        assert!(wanted().contains("the four corners, the roof and the inside of the unit"));
        for _ in 0..5 {
            self.yard.photo(&self.job, &PhotoOf::Unit, PhotoWhen::Before);
        }
        for mark in [&self.roof, &self.rail, &self.side] {
            self.yard
                .photo(&self.job, &Self::of_mark(mark), PhotoWhen::Before);
        }
        assert_eq!(wanted(), "");
        let again = json!({"kind": "add_photo", "job": self.job, "of": Self::of_mark(&self.roof), "when": "before", "name": "again"});
        let refusal = ask_at(&self.yard.phone, None, again.clone(), Some(&picture(0))).unwrap_err();
        assert_eq!(refusal.code, "photo_twice");
        let text = ask_at(&self.yard.phone, None, again.clone(), Some(b"no photo")).unwrap_err();
        assert_eq!(text.code, "photo_none");
        assert_eq!(
            ask_at(&self.yard.phone, None, again, None).unwrap_err().code,
            "photo_missing"
        );
        let sha256 = bowseam_photos::sha256(&picture(0));
        self.get(json!({"kind": "move_photo", "sha256": sha256, "of": Self::of_mark(&self.roof), "when": "before"}));
        assert_eq!(
            self.get(json!({"kind": "mark", "mark": self.roof}))["photos"]
                .as_array()
                .unwrap()
                .len(),
            2
        );
        self.get(json!({"kind": "remove_photo", "sha256": sha256}));
        self.refused("no_photo", json!({"kind": "remove_photo", "sha256": sha256}));
        self.get(json!({"kind": "undo"}));
        self.get(json!({"kind": "undo"}));
        assert_eq!(wanted(), "");
    }

    fn ways(&self) {
        let ways = self.get(json!({"kind": "ways"}));
        let roof = ways["choices"]
            .as_array()
            .unwrap()
            .iter()
            .find(|c| c["group"] == "roof")
            .unwrap();
        let fits = |key: &str| {
            roof["ways"]
                .as_array()
                .unwrap()
                .iter()
                .find(|w| w["key"] == key)
                .unwrap()["fits"]
                .clone()
        };
        assert_eq!(
            (fits("patch"), fits("front_section")),
            (json!(false), json!(true))
        );
        self.refused(
            "does_not_fit",
            json!({"kind": "choose_way", "group": "roof", "way": "patch"}),
        );
        self.refused(
            "no_way",
            json!({"kind": "choose_way", "group": "roof", "way": "glue"}),
        );
        self.refused(
            "no_group",
            json!({"kind": "choose_way", "group": "door", "way": "patch"}),
        );
        self.refused(
            "by_hand_missing",
            json!({"kind": "choose_way", "group": self.side, "way": "by_hand"}),
        );
        self.refused("figures_lack", json!({"kind": "ask_go_ahead", "found": null}));
        self.whole_job_in_one_act(&ways["whole"]);
        self.get(json!({"kind": "choose_way", "group": "roof", "way": "front_section"}));
        self.by_hand(&self.side, "2.5");
        assert!(
            self.get(json!({"kind": "figures"}))["lacks"]
                .as_array()
                .unwrap()
                .is_empty()
        );
    }

    /// One tap takes every way of the cheapest whole job, and its price is the one that Figures shows.
    fn whole_job_in_one_act(&self, whole: &Value) {
        let cheapest = &whole["cheapest"];
        let take = |(way, key): (&Value, &str)| json!({"group": way["group"], "way": key});
        let all = cheapest["ways"].as_array().unwrap();
        let ways: Vec<Value> = all
            .iter()
            .map(|way| take((way, way["way"].as_str().unwrap())))
            .collect();
        assert_eq!(ways.len(), 2);
        let wrong = [take((&all[0], "patch"))];
        self.refused("does_not_fit", json!({"kind": "choose_ways", "ways": wrong}));
        self.get(json!({"kind": "choose_ways", "ways": ways}));
        let figures = self.get(json!({"kind": "figures"}));
        assert_eq!(figures["estimate"]["total"], cheapest["price"]);
        let now = &self.get(json!({"kind": "ways"}))["whole"]["now"];
        assert_eq!(now["price"], cheapest["price"]);
        self.get(json!({"kind": "undo"}));
        assert_eq!(self.get(json!({"kind": "figures"}))["estimate"], Value::Null);
    }

    /// What a changed measure moved shows between the figures that were asked and those of now; the unit's value
    /// brings the repair's share of it.
    fn versions_and_value(&self) {
        let compare = |was: &str, now: &str| json!({"kind": "compare_figures", "was": was, "now": now});
        let asked = self.hash();
        assert_eq!(self.get(compare(&asked, ""))["changed"], json!([]));
        self.get(json!({"kind": "set_plan", "field": "rail_width_outside", "value": "101"}));
        let figures = self.get(json!({"kind": "figures"}));
        assert_eq!(figures["versions"][0]["hash"], "");
        assert_eq!(figures["versions"][1]["hash"], json!(asked));
        let changed = self.get(compare(&asked, ""))["changed"]
            .as_array()
            .unwrap()
            .clone();
        let has = |part: &str, word: &str| {
            let line = |one: &Value| one["part"] == part && one["what"].as_str().unwrap().contains(word);
            changed.iter().any(line)
        };
        assert!(has("sum", "total") && has("measure", "rail width outside") && has("line", "seam tape"));
        let plan = |temperature: &str| json!({"kind": "crew_plan", "temperature": temperature});
        self.refused("temperature_unread", plan("warm"));
        let plans = &self.get(plan("24 C"))["plans"];
        let hours = |at: usize| {
            plans["plans"][at]["bay_hours"]
                .as_str()
                .unwrap()
                .parse::<f64>()
                .unwrap()
        };
        assert!(hours(1) <= hours(0) && hours(1) > 0.0, "{plans}");
        self.refused("no_version", compare("ab", ""));
        assert_eq!(figures["retire"], Value::Null);
        let value = |value: &str| json!({"kind": "set_arrival", "field": "value", "value": value});
        self.refused("unit_value", value("0"));
        self.refused("number_unread", value("much"));
        self.get(value("$14,500"));
        let held = self.get(json!({"kind": "figures"}))["retire"].clone();
        assert_eq!(held["limit"], "8700.00");
        assert!(
            held["words"]
                .as_str()
                .unwrap()
                .ends_with("Who owns the unit decides.")
        );
        for _ in 0..2 {
            self.get(json!({"kind": "undo"}));
        }
        assert_eq!(self.hash(), asked);
    }

    pub fn by_hand(&self, group: &str, hours: &str) {
        let line = json!({"item": "side sheet, sq ft", "quantity": "4", "unit_price": "6.20"});
        let by_hand = json!({"hours": hours, "people": 1, "lines": [line], "note": "lapped patch"});
        self.get(json!({"kind": "choose_way", "group": group, "way": "by_hand", "by_hand": by_hand}));
    }

    pub fn state(&self) -> Value {
        self.get(json!({"kind": "figures"}))["go_ahead"].clone()
    }

    pub fn hash(&self) -> String {
        let figures = self.get(json!({"kind": "figures"}));
        let hash = figures["hash"].as_str().unwrap().to_owned();
        assert_eq!(
            hash,
            canonical::sha256(&figures["estimate"]).unwrap(),
            "the hash is that of the figures shown"
        );
        hash
    }

    fn go_ahead(&self) {
        self.refused(
            "step_shut",
            json!({"kind": "step_time", "step": "make_safe", "on": true}),
        );
        self.refused(
            "not_asked",
            json!({"kind": "find_more", "line": "cracked post", "step": ""}),
        );
        self.get(json!({"kind": "ask_go_ahead", "found": null}));
        self.refused("asked_already", json!({"kind": "ask_go_ahead", "found": null}));
        assert_eq!(self.state()["state"], "asked");
        let first = self.hash();
        self.versions_and_value();
        self.refused(
            "supervisor_only",
            json!({"kind": "go_ahead", "hash": first, "amount": null, "note": ""}),
        );
        self.yard.exchange();
        let jobs = self.yard.get_office(json!({"kind": "office_jobs"}));
        assert_eq!(
            (
                jobs["rows"][0]["asks"].clone(),
                jobs["rows"][0]["asks_found"].clone()
            ),
            (json!(true), json!(false))
        );
        let seen = self.office(json!({"kind": "office_job"}));
        assert_eq!(
            (seen["asked_hash"].as_str(), seen["asked_by"].as_str()),
            (Some(first.as_str()), Some("A. Technician"))
        );
        assert!(words(&seen["lines_since"]).contains("A. Technician: asked for a go-ahead"));
        self.office(json!({"kind": "send_back", "hash": first, "note": "Three hours by hand, please."}));
        self.yard.exchange();
        assert_eq!(self.state()["state"], "sent_back");
        assert_eq!(self.get(json!({"kind": "arrival"}))["head"]["stage"], "sent_back");
        self.by_hand(&self.side, "3");
        let second = self.hash();
        assert_ne!(first, second);
        self.get(json!({"kind": "ask_go_ahead", "found": null}));
        self.yard.exchange();
        let stale = self
            .yard
            .office(json!({"kind": "go_ahead", "job": self.job, "hash": first, "amount": null, "note": ""}));
        assert_eq!(stale.unwrap_err().code, "stale");
        self.office(json!({"kind": "go_ahead", "hash": second, "amount": "9000", "note": "before Friday"}));
        self.yard.exchange();
        let state = self.state();
        assert_eq!(
            (state["state"].as_str(), state["amount"].as_str()),
            (Some("go_ahead"), Some("9000.00"))
        );
        self.stale_and_back(&second);
    }

    /// Figures that are not those agreed have no go-ahead, and say what changed; back again they have it.
    fn stale_and_back(&self, agreed: &str) {
        self.by_hand(&self.side, "4");
        let state = self.state();
        assert_eq!(state["state"], "stale");
        let changed: Vec<&str> = state["changed"]
            .as_array()
            .unwrap()
            .iter()
            .map(|c| c["what"].as_str().unwrap())
            .collect();
        assert!(changed.contains(&"total"), "{changed:?}");
        self.refused(
            "step_shut",
            json!({"kind": "step_time", "step": "make_safe", "on": true}),
        );
        self.get(json!({"kind": "undo"}));
        assert_eq!(
            (self.state()["state"].clone(), self.hash().as_str()),
            (json!("go_ahead"), agreed)
        );
    }
}
