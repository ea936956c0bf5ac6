//! A job's way from its opening to its handover, through asks alone, stage by stage.

use crate::{At, Bench, SUPERVISOR, rest::rest};
use bowseam_jobs::entry::{Entry, PhotoOf, PhotoWhen};
use serde_json::{Value, json};
use uuid::Uuid;

/// What is looked for in Yard and in the office's list: rows that were not shown before, one unit, nothing.
const FINDS: [&str; 4] = ["", "row {}", "10{}", "no such unit"];

/// A job on its way.
pub struct OnWay<'b> {
    pub bench: &'b Bench,
    pub number: usize,
    pub id: Uuid,
    marks: Vec<String>,
}

type Stage = fn(&mut OnWay);

const STAGES: [Stage; 10] = [
    |job| job.arrival(),
    |job| job.marks(),
    |job| job.photos(),
    |job| job.ways(),
    |job| job.go_ahead(),
    |job| job.material(),
    |job| job.roof_off(),
    |job| job.steps(),
    |job| job.proof(),
    |job| job.handover(),
];

/// Takes one job the whole way; its entries in order.
pub fn whole_way(bench: &Bench) -> Vec<Entry> {
    let mut job = OnWay::opened(bench, 0);
    STAGES.iter().for_each(|stage| stage(&mut job));
    bench.phone.store().entries(job.id).unwrap()
}

/// Takes jobs the whole way, each stage with all of them before the next; after each, every screen is looked at.
pub fn side_by_side(bench: &Bench, jobs: usize) {
    let mut jobs: Vec<OnWay> = (1..=jobs).map(|number| OnWay::opened(bench, number)).collect();
    for (n, stage) in STAGES.iter().enumerate() {
        jobs.iter_mut().for_each(stage);
        for job in &jobs {
            bench.exchange(job.id);
            job.screens();
            lists(bench, job.number + n * jobs.len());
            if n == 0 {
                // The office makes only so many in ten minutes.
                bench.at_office(json!({"kind": "new_code"}));
            }
        }
    }
    for _ in &jobs {
        for originals in [false, true] {
            bench.get(json!({"kind": "free_room", "originals": originals}));
        }
    }
    rest(bench, &jobs);
}

/// The screens that show no one job.
fn lists(bench: &Bench, turn: usize) {
    let find = FINDS[turn % FINDS.len()].replace("{}", &(turn % 90 + 10).to_string());
    bench.get(json!({"kind": "hello"}));
    bench.get(json!({"kind": "yard", "find": find}));
    bench.get(json!({"kind": "outbox"}));
    bench.get(json!({"kind": "room"}));
    bench.get(json!({"kind": "try_now"}));
    bench.get(json!({"kind": "photos_wait", "wait": turn.is_multiple_of(2)}));
    bench.get(json!({"kind": "shop_book"}));
    bench.at_office(json!({"kind": "office_jobs", "find": find}));
}

impl<'b> OnWay<'b> {
    fn opened(bench: &'b Bench, number: usize) -> Self {
        let saved = bench.get(json!({"kind": "open_job", "unit": format!("{}", 90_000 + number)}));
        Self {
            bench,
            number,
            id: saved["id"].as_str().unwrap().parse().unwrap(),
            marks: Vec::new(),
        }
    }

    fn of_this(&self, mut ask: Value) -> Value {
        ask["job"] = json!(self.id);
        ask
    }

    pub fn get(&self, ask: Value) -> Value {
        self.bench.get(self.of_this(ask))
    }

    /// An ask that finds nothing in the photos of this benchmark.
    pub fn may_be_refused(&self, code: &str, ask: Value) {
        if let Err(refusal) = self.bench.tried(At::Phone, None, &self.of_this(ask), None) {
            assert_eq!(refusal.code, code);
        }
    }

    fn as_supervisor(&self, ask: Value) -> Value {
        self.bench
            .ask(At::Phone, Some(SUPERVISOR), &self.of_this(ask), None)
    }

    pub fn office(&self, ask: Value) -> Value {
        self.bench.at_office(self.of_this(ask))
    }

    /// All screens of this job; the job is not the one that was asked about last.
    fn screens(&self) {
        for kind in [
            "arrival",
            "fold_out",
            "ways",
            "figures",
            "cut_list",
            "buying_list",
            "roof_off",
            "steps",
            "proof",
            "hand_over",
            "photos",
        ] {
            self.get(json!({"kind": kind}));
        }
        self.get(json!({"kind": "keep_draft", "key": "release", "text": format!("{}", self.number)}));
        self.get(json!({"kind": "drafts"}));
        for form in ["html", "json"] {
            self.get(json!({"kind": "packet", "form": form}));
        }
        if let Some(mark) = self.marks.first() {
            self.get(json!({"kind": "mark", "mark": mark}));
        }
        self.office(json!({"kind": "office_job"}));
        self.office(json!({"kind": "packet", "form": "html"}));
    }

    fn arrival(&mut self) {
        for (field, value) in [
            ("vin", "1M8GDM9AXKP042788".to_owned()),
            ("plate", format!("T {}", 1000 + self.number)),
            ("built", "05/2019".to_owned()),
            ("slot", format!("row 9, {}", self.number)),
            ("order", format!("C-{}", 70_000 + self.number)),
            ("payer", "the carrier".to_owned()),
            (
                "account",
                "low branch at the dock, roof torn at the nose".to_owned(),
            ),
            ("load", "empty".to_owned()),
            ("wiring", "marker lamps at the nose".to_owned()),
        ] {
            self.get(json!({"kind": "set_arrival", "field": field, "value": value}));
        }
        for (surface, also) in [
            ("roof", json!([])),
            ("nose", json!(["curbside"])),
            ("inside_nose", json!(["floor"])),
        ] {
            self.get(json!({"kind": "set_looked", "surface": surface, "seen": true, "also": also}));
        }
        for (field, value) in [("length", "53'"), ("bows", "24 every 24, 26 bows")] {
            self.get(json!({"kind": "set_plan", "field": field, "value": value}));
        }
        let park = json!({"answer": "park_it", "reason": "loose sheet", "fix": "", "speed": "", "distance": "", "weather": ""});
        self.get(json!({"kind": "set_roll", "answer": park}));
    }

    fn mark(&self, surface: &str, at: [&str; 4], damage: &str, part: &str, found: Option<&str>) -> String {
        let [from, to, low, high] = at;
        let place = json!({"surface": surface, "from": from, "to": to, "low": low, "high": high});
        let mark = json!({"kind": "add_mark", "place": place, "damage": damage, "part": part, "age": "new", "note": "", "found": found});
        self.get(mark)["id"].as_str().unwrap().to_owned()
    }

    fn marks(&mut self) {
        let faces = self.get(json!({"kind": "fold_out"}))["outside"]["faces"].clone();
        let roof = faces
            .as_array()
            .unwrap()
            .iter()
            .find(|face| face["surface"] == "roof")
            .unwrap();
        let inch = 25_400_000.0;
        let at = |n: usize| roof["rect"][n].as_f64().unwrap();
        let (x, y) = (at(0) + 20.0 * inch, at(1) + 71.0 * inch);
        self.get(json!({"kind": "place_at", "inside": false, "x1": x, "y1": y, "x2": x + 10.0 * inch, "y2": y + 26.0 * inch}));
        self.marks = vec![
            self.mark("roof", ["3", "149", "7", "95"], "tear", "roof_sheet", None),
            self.mark("nose", ["0", "102", "104", "110"], "bend", "nose_rail", None),
            self.mark(
                "curbside",
                ["10'", "131", "3' 4", "52"],
                "hole",
                "side_sheet",
                None,
            ),
        ];
        let lamp = self.mark("rear", ["2", "6", "100", "104"], "broken", "lamp", None);
        self.get(json!({"kind": "remove_mark", "mark": lamp}));
        self.get(json!({"kind": "set_mark", "mark": self.marks[2], "note": "fork"}));
        self.get(json!({"kind": "set_mark", "mark": self.marks[0], "note": "wet inside"}));
        self.get(json!({"kind": "undo"}));
    }

    pub fn photo(&self, of: &PhotoOf, when: PhotoWhen) -> String {
        let bytes = self.bench.next_picture();
        let ask = json!({"kind": "add_photo", "job": self.id, "of": of, "when": when, "name": "photo.jpg"});
        self.bench.ask(At::Phone, None, &ask, Some(&bytes));
        bowseam_photos::sha256(&bytes)
    }

    fn of_mark(mark: &str) -> PhotoOf {
        PhotoOf::Mark(mark.parse().unwrap())
    }

    fn photos(&mut self) {
        for _ in 0..4 {
            self.photo(&PhotoOf::Unit, PhotoWhen::Before);
        }
        for mark in &self.marks {
            self.photo(&Self::of_mark(mark), PhotoWhen::Before);
        }
        let photo = self.photo(&PhotoOf::Unit, PhotoWhen::Before);
        let to = Self::of_mark(&self.marks[0]);
        self.get(json!({"kind": "move_photo", "sha256": photo, "of": to, "when": "before"}));
        self.get(json!({"kind": "remove_photo", "sha256": photo}));
        self.measured_photo();
    }

    /// A photo measured in, a mark sized from it, something drawn over it: 25 pixels an inch.
    fn measured_photo(&self) {
        let sha256 = self.photo(&Self::of_mark(&self.marks[2]), PhotoWhen::Before);
        let of_photo = |mut ask: Value| {
            ask["sha256"] = json!(sha256);
            self.get(ask)
        };
        let points = [
            [100, 100],
            [700, 100],
            [700, 400],
            [100, 400],
            [100, 500],
            [375, 500],
        ];
        let points = points.map(|point| point.map(|px| px * 100));
        let scale = json!({"of": "other", "length": "24", "width": "12", "points": points});
        of_photo(json!({"kind": "set_photo_scale", "scale": scale}));
        of_photo(json!({"kind": "size_from_photo", "mark": self.marks[2], "side": "along", "line": 0}));
        let shape = json!({"kind": "arrow", "at": [points[0], points[2]], "text": ""});
        of_photo(json!({"kind": "draw_on_photo", "id": null, "shape": shape}));
        of_photo(json!({"kind": "photo"}));
    }

    fn by_hand(&self, group: &str, hours: &str) {
        let line = json!({"item": "side sheet, sq ft", "quantity": "4", "unit_price": "6.20"});
        let by_hand = json!({"hours": hours, "people": 1, "lines": [line], "note": "lapped patch"});
        self.get(json!({"kind": "choose_way", "group": group, "way": "by_hand", "by_hand": by_hand}));
    }

    fn ways(&mut self) {
        self.get(json!({"kind": "ways"}));
        self.get(json!({"kind": "choose_way", "group": "roof", "way": "front_section"}));
        self.by_hand(&self.marks[2], "2.5");
        let roof = json!({"group": "roof", "way": "front_section"});
        self.get(json!({"kind": "choose_ways", "ways": [roof]}));
        self.get(json!({"kind": "crew_plan", "temperature": "75"}));
        self.get(json!({"kind": "ask_go_ahead", "found": null}));
        let hash = self.hash();
        self.get(json!({"kind": "compare_figures", "was": hash, "now": ""}));
    }

    fn hash(&self) -> Value {
        self.get(json!({"kind": "figures"}))["hash"].clone()
    }

    fn go_ahead(&mut self) {
        self.bench.exchange(self.id);
        self.office(
            json!({"kind": "send_back", "hash": self.hash(), "note": "Three hours by hand, please."}),
        );
        self.bench.exchange(self.id);
        self.by_hand(&self.marks[2], "3");
        self.get(json!({"kind": "ask_go_ahead", "found": null}));
        self.bench.exchange(self.id);
        self.office(json!({"kind": "part_sum", "hash": self.hash(), "groups": ["roof"]}));
        self.office(
            json!({"kind": "go_ahead", "hash": self.hash(), "amount": "9000", "note": "before Friday"}),
        );
        self.bench.exchange(self.id);
    }

    /// Stock reserved, a cut done and its strip kept for a while, measured holes, a line to buy.
    fn material(&mut self) {
        self.get(json!({"kind": "set_reserved", "reserved": true}));
        let list = self.get(json!({"kind": "cut_list"}));
        let plans = list["plans"].as_array().unwrap();
        let sheet = plans
            .iter()
            .find(|of| of["plan"]["item"] == "roof sheet")
            .unwrap();
        self.get(json!({"kind": "set_cut", "cut": sheet["plan"]["key"], "done": true}));
        let list = self.get(json!({"kind": "cut_list"}));
        for place in ["rack D", ""] {
            self.get(json!({"kind": "keep_drop", "cut": list["done"][0]["cut"], "left": 0, "place": place}));
        }
        let line = &list["rivets"][0]["key"];
        self.get(json!({"kind": "set_holes", "line": line, "holes": "4, 8 @ 0.21, 12"}));
        let hook =
            self.get(json!({"kind": "add_buying", "item": "swivel hook", "size": "", "quantity": "2"}));
        let line = format!("own/{}", hook["id"].as_str().unwrap());
        self.get(json!({"kind": "set_buying", "line": line, "field": "here", "value": "rack D"}));
        self.get(json!({"kind": "buying_list"}));
        self.get(json!({"kind": "remove_buying", "line": line}));
        let check = self.get(json!({"kind": "roof_off"}));
        let shelf = check["shelves"]
            .as_array()
            .unwrap()
            .iter()
            .find(|shelf| shelf["open"] != json!([]));
        let items = &shelf.unwrap()["open"];
        self.get(json!({"kind": "set_shelf", "items": items, "place": "rack D"}));
    }

    fn roof_off(&mut self) {
        self.as_supervisor(json!({"kind": "overrule", "reason": "in the hall, the sheet comes at noon"}));
        for row in self.get(json!({"kind": "roof_off"}))["rows"].as_array().unwrap() {
            if row["field"].is_null() && row["key"] != "go_ahead" {
                self.get(json!({"kind": "set_on_hand", "item": row["key"], "have": true, "place": "rack D"}));
            }
        }
        for (field, value) in [
            ("people", "4: all of the bay"),
            ("dry_hours", "500, in the hall"),
            ("cover", "tarpaulin, 20 ft"),
        ] {
            self.get(json!({"kind": "set_roof_off", "field": field, "value": value}));
        }
        self.get(json!({"kind": "open_roof"}));
    }

    fn steps(&mut self) {
        let mut found = false;
        while let Some(key) = self.get(json!({"kind": "steps"}))["current"].as_str() {
            self.get(json!({"kind": "step_time", "step": key, "on": true}));
            if key == "look_when_open" && !found {
                self.find_more(key);
                found = true;
            }
            self.do_step(key);
        }
        assert!(found, "nothing was found more");
    }

    /// Enters the values of a step and its photos, and says that it is done.
    fn do_step(&self, key: &str) {
        let steps = self.get(json!({"kind": "steps"}));
        let step = steps["steps"]
            .as_array()
            .unwrap()
            .iter()
            .find(|step| step["key"] == key)
            .unwrap();
        for value in step["values"].as_array().unwrap() {
            let wanted = value["wanted"].as_str().unwrap().split(',').next().unwrap();
            let measured = match (value["form"].as_str().unwrap(), wanted) {
                _ if value["key"] == "cure_started" => "now, 70 F",
                ("length", "recorded") => "170 3/8",
                ("length", wanted) => wanted,
                ("temperature", _) => "72 F",
                _ => value["wanted"].as_str().unwrap(),
            };
            self.get(json!({"kind": "measure", "step": key, "value": value["key"], "measured": measured, "reason": ""}));
        }
        for _ in 0..step["photos_wanted"].as_u64().unwrap() {
            self.photo(&PhotoOf::Step(key.to_owned()), PhotoWhen::During);
        }
        self.get(json!({"kind": "step_done", "step": key, "done": true}));
    }

    fn find_more(&mut self, step: &str) {
        let find = |line: &str| {
            let saved = self.get(json!({"kind": "find_more", "line": line, "step": step}));
            saved["id"].as_str().unwrap().to_owned()
        };
        let found = find("lining rotten behind post 6");
        let mark = self.mark(
            "inside_curbside",
            ["96", "144", "20", "60"],
            "water_stained",
            "lining",
            Some(&found),
        );
        self.by_hand(&mark, "1.5");
        self.photo(&PhotoOf::Found(found.parse().unwrap()), PhotoWhen::During);
        self.get(json!({"kind": "ask_go_ahead", "found": found}));
        self.get(json!({"kind": "found_more", "found": found}));
        self.bench.exchange(self.id);
        let seen = self.office(json!({"kind": "office_job"}));
        let hash = &seen["found"][0]["row"]["asked_hash"];
        self.office(json!({"kind": "go_ahead", "hash": hash, "amount": null, "note": ""}));
        self.bench.exchange(self.id);
        let nothing = find("nothing after all");
        self.get(json!({"kind": "remove_found", "found": nothing}));
        self.marks.push(mark);
    }

    fn proof(&mut self) {
        for row in self.get(json!({"kind": "proof"}))["rows"].as_array().unwrap() {
            let value = if row["form"] == "measured" { "102" } else { "" };
            let answer = json!({"ok": "yes", "value": value, "note": ""});
            let ask = json!({"kind": "set_proof", "row": row["key"], "answer": answer});
            match row["key"].as_str().unwrap() {
                _ if row["form"] == "photo_pairs" => continue,
                "final_check" => self.as_supervisor(ask),
                _ => self.get(ask),
            };
        }
        self.photo(&PhotoOf::Unit, PhotoWhen::After);
        for mark in &self.marks {
            self.photo(&Self::of_mark(mark), PhotoWhen::After);
        }
        self.get(json!({"kind": "set_hold", "hold": {"why": "people", "note": "shift is over"}}));
        self.get(json!({"kind": "set_hold", "hold": null}));
    }

    fn handover(&mut self) {
        let rolls = json!({"answer": "may_roll", "reason": "all made good", "fix": "", "speed": "", "distance": "", "weather": ""});
        self.as_supervisor(json!({"kind": "set_roll", "answer": rolls}));
        self.as_supervisor(json!({"kind": "release", "note": "all there"}));
        self.get(json!({"kind": "set_handed_over"}));
    }
}
