//! The second half of the journey: from the Roof-off check to the packet that both sides hold.

use crate::door::{as_wanted, id, words};
use crate::journey::Job;
use bowseam_figures::{
    basis::Amount,
    canonical,
    cut::{Stock, StockKind},
    measure::Length,
    shop::{Book, Cure},
};
use bowseam_jobs::entry::{PhotoOf, PhotoWhen};
use serde_json::{Value, json};

impl Job {
    pub fn roof_off(&self) {
        let check = self.get(json!({"kind": "roof_off"}));
        assert_eq!(
            (check["needed"].clone(), check["go"].clone()),
            (json!(true), json!(false))
        );
        let refusal = self.refused("no_go", json!({"kind": "open_roof"}));
        assert!(refusal.sentence.contains("roof sheet"), "{}", refusal.sentence);
        self.refused(
            "supervisor_only",
            json!({"kind": "overrule", "reason": "in a hurry"}),
        );
        self.refused(
            "no_item",
            json!({"kind": "set_on_hand", "item": "on_hand:gold", "have": true, "place": ""}),
        );
        self.yard.stock(&[sheet()]);
        for row in self.get(json!({"kind": "roof_off"}))["rows"].as_array().unwrap() {
            if row["title"] == "roof sheet" {
                assert_eq!(row["stock_place"], "rack D");
            }
            if row["field"].is_null() && row["key"] != "go_ahead" {
                self.get(json!({"kind": "set_on_hand", "item": row["key"], "have": true, "place": "rack D"}));
            }
        }
        self.refused(
            "number_first",
            json!({"kind": "set_roof_off", "field": "people", "value": "enough"}),
        );
        for (field, value) in [
            ("people", "4: all of the bay"),
            ("dry_hours", "1"),
            ("cover", "tarpaulin, 20 ft"),
        ] {
            self.get(json!({"kind": "set_roof_off", "field": field, "value": value}));
        }
        let check = self.get(json!({"kind": "roof_off"}));
        assert_eq!(check["lacks"].as_array().unwrap().len(), 1, "{}", check["lacks"]);
        assert!(
            words(&check["lacks"]).contains("1 dry hour, but the roof is open for"),
            "{}",
            check["lacks"]
        );
        self.get(json!({"kind": "set_roof_off", "field": "dry_hours", "value": "500, in the hall"}));
        self.more_sheet_is_asked_for_again();
        let ahead = json!({"kind": "step_time", "step": "brace", "on": true});
        assert!(
            self.refused("step_shut", ahead)
                .sentence
                .contains("Roof-off check")
        );
        self.get(json!({"kind": "open_roof"}));
        assert_eq!(self.get(json!({"kind": "roof_off"}))["go"], true);
        let list = self.get(json!({"kind": "cut_list"}));
        assert_eq!(list["plans"][0]["plan"]["from"], "drop 15 ft");
    }

    /// Damage farther back moves the seam: what was on hand for the shorter sheet is not on hand for the longer one.
    fn more_sheet_is_asked_for_again(&self) {
        let sheet = || {
            let rows = self.get(json!({"kind": "roof_off"}))["rows"].clone();
            let row = rows
                .as_array()
                .unwrap()
                .iter()
                .find(|row| row["title"] == "roof sheet")
                .cloned();
            row.unwrap()
        };
        assert_eq!(sheet()["ok"], true);
        let place = json!({"surface": "roof", "from": "238", "to": "240", "low": "40", "high": "44"});
        let mark = self.get(
            json!({"kind": "add_mark", "place": place, "damage": "tear", "part": "roof_sheet",
            "age": "new", "note": "", "found": null}),
        )["id"]
            .clone();
        let longer = sheet();
        assert_eq!(longer["ok"], false);
        assert!(
            longer["remark"].as_str().unwrap().contains("look again"),
            "{longer}"
        );
        self.get(json!({"kind": "remove_mark", "mark": mark}));
        assert_eq!(sheet()["ok"], true);
    }

    /// Whose time ran on a step that is done works on: at the next one, unless that is the wait for the cure or shut.
    fn time_goes_on(&self, done: &str) {
        let steps = self.get(json!({"kind": "steps"}));
        let of = |key: &Value| {
            let all = steps["steps"].as_array().unwrap();
            all.iter()
                .find(|step| step["key"] == *key)
                .cloned()
                .unwrap_or_default()
        };
        assert!(of(&json!(done))["on_since"].is_null());
        let next = &steps["current"];
        let runs = !next.is_null() && next != "cure" && steps["shut"].is_null();
        assert_eq!(of(next)["on_since"].is_string(), runs, "{next} after {done}");
    }

    pub fn steps(&self) {
        let mut found = None;
        let mut deviated = false;
        while let Some(key) = self.get(json!({"kind": "steps"}))["current"].as_str() {
            self.cautions_are_in_full_until_their_reader_had_them(key);
            self.get(json!({"kind": "step_time", "step": key, "on": true}));
            if key == "look_when_open" && found.is_none() {
                found = Some(self.found_more(key));
            }
            deviated |= self.values_and_photos(key);
            self.get(json!({"kind": "step_done", "step": key, "done": true}));
            self.time_goes_on(key);
        }
        assert!(deviated, "no value of this work has a tolerance");
        let steps = self.get(json!({"kind": "steps"}))["steps"].clone();
        assert!(
            steps
                .as_array()
                .unwrap()
                .iter()
                .any(|s| s["title"].as_str().unwrap().contains("lining")),
            "what was found is worked on too"
        );
        assert!(
            steps
                .as_array()
                .unwrap()
                .iter()
                .all(|step| step["done"] == true && step["on_since"].is_null())
        );
    }

    /// Whoever did a step with the same caution today has it as a line; somebody else, and what is new, in full.
    fn cautions_are_in_full_until_their_reader_had_them(&self, key: &str) {
        let ask = json!({"kind": "steps"});
        let (mine, other) = (self.get(ask.clone()), self.as_supervisor(ask));
        let all = mine["steps"].as_array().unwrap();
        let of = |step: &Value| step["cautions"].as_array().unwrap().clone();
        let had: Vec<Value> = all
            .iter()
            .filter(|step| step["done"] == true)
            .flat_map(of)
            .collect();
        let step = all.iter().find(|step| step["key"] == key).unwrap();
        let read: Vec<Value> = of(step)
            .into_iter()
            .filter(|caution| had.contains(caution))
            .collect();
        assert_eq!(step["cautions_read"], json!(read), "{key}");
        let other = other["steps"].as_array().unwrap();
        assert!(other.iter().all(|step| step["cautions_read"] == json!([])));
    }

    /// Enters the values of a step, one of them out of tolerance with its reason, and its photos.
    fn values_and_photos(&self, key: &str) -> bool {
        let steps = self.get(json!({"kind": "steps"}))["steps"].clone();
        let step = steps
            .as_array()
            .unwrap()
            .iter()
            .find(|step| step["key"] == key)
            .unwrap()
            .clone();
        let wanted = step["photos_wanted"].as_u64().unwrap();
        if wanted > 0 && key != "before_photos" {
            self.refused(
                "step_lacks",
                json!({"kind": "step_done", "step": key, "done": true}),
            );
        }
        let mut deviated = false;
        for value in step["values"].as_array().unwrap() {
            let ask = |measured: &str, reason: &str| json!({"kind": "measure", "step": key, "value": value["key"], "measured": measured, "reason": reason});
            if value["tolerance"] != "" && !deviated {
                assert_eq!(
                    self.refused("reason_missing", ask("3000 in", ""))
                        .field
                        .as_deref(),
                    Some("reason")
                );
                self.get(ask("3000 in", "the tape was caught"));
                self.get(ask("", ""));
                deviated = true;
            }
            self.get(ask(&as_wanted(value), ""));
        }
        for _ in 0..wanted {
            self.yard
                .photo(&self.job, &PhotoOf::Step(key.to_owned()), PhotoWhen::During);
        }
        deviated
    }

    fn found_more(&self, step: &str) -> String {
        let found = id(&self.get(json!({"kind": "find_more", "line": "lining rotten", "step": step})));
        self.get(
            json!({"kind": "find_more", "line": "lining rotten behind post 6", "step": step, "found": found}),
        );
        let mark = self.mark(
            "inside_curbside",
            ["96", "144", "20", "60"],
            "water_stained",
            "lining",
            Some(&found),
        );
        let main = self.hash();
        assert_eq!(
            self.state()["state"],
            "go_ahead",
            "what was found does not touch the agreed figures"
        );
        self.by_hand(&mark, "1.5");
        let lacks = self.refused("figures_lack", json!({"kind": "ask_go_ahead", "found": found}));
        assert!(lacks.sentence.contains("photo"), "{}", lacks.sentence);
        self.yard.photo(
            &self.job,
            &PhotoOf::Found(found.parse().unwrap()),
            PhotoWhen::During,
        );
        self.get(json!({"kind": "ask_go_ahead", "found": found}));
        let seen = self.get(json!({"kind": "found_more", "found": found}));
        assert_eq!(seen["row"]["go_ahead"]["state"], "asked");
        self.yard.exchange();
        assert_eq!(
            self.yard.get_office(json!({"kind": "office_jobs"}))["rows"][0]["asks_found"],
            true
        );
        let at_office = self.office(json!({"kind": "office_job"}));
        let row = &at_office["found"][0]["row"];
        assert_eq!(row["line"], "lining rotten behind post 6");
        self.office(json!({"kind": "go_ahead", "hash": row["asked_hash"], "amount": null, "note": ""}));
        self.yard.exchange();
        let figures = self.get(json!({"kind": "figures"}));
        assert_eq!(
            (
                figures["supplements"][0]["go_ahead"]["state"].as_str(),
                self.hash()
            ),
            (Some("go_ahead"), main)
        );
        let cents = |text: &Value| text.as_str().unwrap().replace('.', "").parse::<i64>().unwrap();
        let together = cents(&figures["agreed_total"]);
        assert_eq!(together, 900_000 + cents(&figures["supplements"][0]["added"]));
        assert_eq!(cents(&row["with_it"]), together, "told before it is given");
        assert_eq!(figures["supplements"][0]["with_it"], Value::Null, "and not after");
        self.refused("agreed", json!({"kind": "remove_found", "found": found}));
        let other = id(&self.get(json!({"kind": "find_more", "line": "nothing after all", "step": step})));
        self.get(json!({"kind": "remove_found", "found": other}));
        self.refused("no_found", json!({"kind": "found_more", "found": other}));
        found
    }

    pub fn proof(&self) {
        let label = |hours| Cure {
            product: "seam sealant".to_owned(),
            at_f: 60,
            hours: Amount::new(hours, 0),
        };
        let yes = |value: &str| json!({"ok": "yes", "value": value, "note": ""});
        self.yard.book(&Book {
            cure: vec![label(24)],
            ..Book::default()
        });
        let early = self.refused(
            "too_early",
            json!({"kind": "set_proof", "row": "leak", "answer": yes("")}),
        );
        assert!(early.sentence.contains("24 h"), "{}", early.sentence);
        assert!(
            self.get(json!({"kind": "proof"}))["rows"]
                .as_array()
                .unwrap()
                .iter()
                .any(|row| !row["not_before"].is_null())
        );
        self.cure_counts_from_what_is_entered();
        self.yard.book(&Book {
            cure: vec![label(0)],
            ..Book::default()
        });
        self.refused(
            "no_row",
            json!({"kind": "set_proof", "row": "luck", "answer": yes("")}),
        );
        self.refused(
            "own_work",
            json!({"kind": "set_proof", "row": "final_check", "answer": yes("")}),
        );
        self.refused(
            "note_missing",
            json!({"kind": "set_proof", "row": "doors", "answer": {"ok": "not_needed"}}),
        );
        self.refused(
            "value_missing",
            json!({"kind": "set_proof", "row": "width", "answer": yes("")}),
        );
        for row in self.get(json!({"kind": "proof"}))["rows"].as_array().unwrap() {
            let value = if row["form"] == "measured" { "102" } else { "" };
            match row["form"].as_str().unwrap() {
                "photo_pairs" => {}
                _ if row["key"] == "final_check" => {
                    self.as_supervisor(json!({"kind": "set_proof", "row": row["key"], "answer": yes(value)}));
                }
                _ => {
                    self.get(json!({"kind": "set_proof", "row": row["key"], "answer": yes(value)}));
                }
            }
        }
        assert_eq!(self.get(json!({"kind": "proof"}))["head"]["stage"], "in_the_bay");
        self.yard.photo(&self.job, &PhotoOf::Unit, PhotoWhen::After);
        let marks = self.get(json!({"kind": "fold_out"}))["marks"].clone();
        for mark in marks.as_array().unwrap() {
            self.yard.photo(
                &self.job,
                &Self::of_mark(mark["id"].as_str().unwrap()),
                PhotoWhen::After,
            );
        }
        let proof = self.get(json!({"kind": "proof"}));
        assert_eq!(
            (proof["lacks"].clone(), proof["head"]["stage"].clone()),
            (json!([]), json!("proved"))
        );
        self.get(json!({"kind": "undo"}));
        assert_eq!(
            self.get(json!({"kind": "proof"}))["head"]["stage"],
            "in_the_bay",
            "one photo less is not proved"
        );
        let last = marks.as_array().unwrap().last().unwrap()["id"]
            .as_str()
            .unwrap()
            .to_owned();
        self.yard
            .photo(&self.job, &Self::of_mark(&last), PhotoWhen::After);
    }

    pub fn handover(&self) {
        self.get(json!({"kind": "set_hold", "hold": {"why": "people", "note": "shift is over"}}));
        assert_eq!(
            self.get(json!({"kind": "hand_over"}))["head"]["waits_for"],
            "people: shift is over"
        );
        self.get(json!({"kind": "set_hold", "hold": null}));
        self.refused("may_not_release", json!({"kind": "release", "note": ""}));
        self.refused("not_released", json!({"kind": "set_handed_over"}));
        let seen = self.get(json!({"kind": "hand_over"}));
        assert_eq!(seen["lacks"], json!(["May it roll? still says Park it"]));
        let rolls = json!({"answer": "may_roll", "reason": "all made good", "fix": "", "speed": "", "distance": "", "weather": ""});
        self.as_supervisor(json!({"kind": "set_roll", "answer": rolls}));
        let seen = self.get(json!({"kind": "hand_over"}));
        assert_eq!(
            (seen["lacks"].clone(), seen["photos_changed"].clone()),
            (json!([]), json!([]))
        );
        self.as_supervisor(json!({"kind": "release", "note": "all there"}));
        self.get(json!({"kind": "set_handed_over"}));
        let seen = self.get(json!({"kind": "hand_over"}));
        assert_eq!(
            (seen["head"]["stage"].as_str(), seen["head"]["undo"].clone()),
            (Some("handed_over"), Value::Null)
        );
        assert!(seen["keep_until"].as_str().unwrap().contains("49 CFR 396.3"));
        self.refused(
            "handed_over",
            json!({"kind": "set_arrival", "field": "slot", "value": "B"}),
        );
        self.refused("nothing_to_undo", json!({"kind": "undo"}));
        self.packets();
    }

    fn packets(&self) {
        self.yard.exchange();
        for form in ["html", "json"] {
            let ask = json!({"kind": "packet", "form": form});
            let both = || (self.get(ask.clone()), self.office(ask.clone()));
            let (mut here, mut there) = both();
            // Either shows its photos laid over each other once they are matched, beside the asks.
            for _ in 0..100 {
                if here["sha256"] == there["sha256"] {
                    break;
                }
                std::thread::sleep(std::time::Duration::from_millis(100));
                (here, there) = both();
            }
            assert_eq!(
                here["sha256"], there["sha256"],
                "phone and office hold the same packet"
            );
            let text = here["text"].as_str().unwrap();
            assert_eq!(here["sha256"], json!(canonical::hex(text.as_bytes())));
            for said in [
                "never says that a repair is safe",
                "loose sheet",
                "all made good",
                "the tape was caught",
                "lining rotten behind post 6",
            ] {
                // The deviation was measured again, so its reason is history, not the record.
                assert_eq!(
                    text.contains(said),
                    said != "the tape was caught",
                    "{form}: {said}"
                );
            }
        }
        let html = self.get(json!({"kind": "packet", "form": "html"}))["text"]
            .as_str()
            .unwrap()
            .to_owned();
        assert_eq!(html.matches("<style>").count(), 1);
        for never in ["<script", " style=", "http://", "https://"] {
            assert!(
                !html.replace("http://www.w3.org/2000/svg", "").contains(never),
                "{never} in the packet"
            );
        }
        assert!(html.contains("data:image/jpeg;base64,"));
        self.packet_files();
        self.packet_without_prices();
    }

    /// Forms that are files: what was answered is what lies there, and nothing is left of how far they were.
    fn packet_files(&self) {
        for (form, begins) in [
            ("pdf", "%PDF"),
            ("xlsx", "PK"),
            ("csv", "\u{feff}unit,order"),
            ("html", "<!doctype"),
            ("json", "{"),
        ] {
            let ask = json!({"kind": "make_packet", "form": form, "prices": true});
            let here = self.get(ask.clone());
            // Copies of photos are those of the machine they were made on, and PDF takes its time: tables and text.
            if matches!(form, "xlsx" | "csv" | "json") {
                assert_eq!(
                    here["sha256"],
                    self.office(ask)["sha256"],
                    "phone and office: {form}"
                );
            }
            let file = self.yard.phone.packets().join(here["name"].as_str().unwrap());
            let bytes = std::fs::read(file).unwrap();
            assert!(bytes.starts_with(begins.as_bytes()), "{form}");
            assert_eq!(here["sha256"], json!(canonical::hex(&bytes)));
            let served = bowseam_app::door::packet(&self.yard.phone, here["name"].as_str().unwrap()).unwrap();
            assert_eq!(served.0, bytes);
        }
        for ask in ["packet_progress", "stop_packet"] {
            assert_eq!(self.get(json!({ "kind": ask }))["making"], false);
        }
        self.refused("packet_file", json!({"kind": "packet", "form": "pdf"}));
        for name in ["../jobs.db", "packet ../../jobs.db", "packet nothing.pdf"] {
            assert_eq!(
                bowseam_app::door::packet(&self.yard.phone, name)
                    .unwrap_err()
                    .code,
                "no_packet"
            );
        }
    }

    /// No amount of the figures is in the packet of a customer who is not to see them.
    fn packet_without_prices(&self) {
        let text = |form: &str, prices: bool| {
            let ask = json!({"kind": "packet", "form": form, "prices": prices});
            self.get(ask)["text"].as_str().unwrap().to_owned()
        };
        let with: Value = serde_json::from_str(&text("json", true)).unwrap();
        let mut amounts = Vec::new();
        money(&with["figures"], &mut amounts);
        money(&with["found"], &mut amounts);
        amounts.retain(|amount| amount.contains('.') && amount.len() > 5);
        assert!(amounts.len() > 10, "{amounts:?}");
        for form in ["json", "html", "csv"] {
            let (with, without) = (text(form, true), text(form, false));
            for amount in &amounts {
                assert!(!without.contains(amount.as_str()), "{amount} in {form}");
            }
            assert!(amounts.iter().any(|amount| with.contains(amount.as_str())));
        }
    }
}

/// Every amount of money below this.
fn money(value: &Value, found: &mut Vec<String>) {
    match value {
        Value::Object(fields) => {
            for (key, value) in fields {
                let named = [
                    "amount",
                    "total",
                    "unit_price",
                    "material",
                    "labour",
                    "agreed_total",
                ];
                if let (true, Some(text)) = (named.contains(&key.as_str()), value.as_str()) {
                    found.push(text.to_owned());
                }
                money(value, found);
            }
        }
        Value::Array(items) => items.iter().for_each(|item| money(item, found)),
        _ => {}
    }
}

fn sheet() -> Stock {
    Stock {
        id: String::new(),
        item: "roof sheet".to_owned(),
        name: "drop 15 ft".to_owned(),
        kind: StockKind::Drop,
        length: Length::inches(180),
        width: Some(Length::inches(104)),
        thickness: Some(Length::thousandths(40)),
        place: "rack D".to_owned(),
        count: 1,
        price: None,
        counted: 0,
    }
}
