//! The office's asks: answers for a part or up to a ceiling, what it writes on a job, people, phones, learning.

use super::door::{PIN, SUPERVISOR, TECHNICIAN, Yard, id, words};
use bowseam_jobs::{
    clock,
    entry::{Entry, What},
};
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Value, json};
use uuid::Uuid;

/// A job at the office with holes in both sides, figured and asked; answers the job and the groups.
pub fn asked(yard: &Yard, unit: &str) -> (String, [String; 2]) {
    let job = id(&yard.get_office(json!({"kind": "open_job", "unit": unit})));
    let groups = ["curbside", "roadside"].map(|side| {
        let place = json!({"surface": side, "from": "120", "to": "131", "low": "40", "high": "52"});
        let mark = id(&yard.get_office(json!({"kind": "add_mark", "job": job, "place": place, "damage": "hole", "part": "side_sheet", "age": "new", "note": "", "found": null})));
        yard.get_office(json!({"kind": "choose_way", "job": job, "group": mark, "way": "side_patch"}));
        mark
    });
    yard.get_office(json!({"kind": "ask_go_ahead", "job": job, "found": null}));
    (job, groups)
}

pub fn figures(yard: &Yard, job: &str) -> Value {
    yard.get_office(json!({"kind": "figures", "job": job}))
}

pub fn refused(yard: &Yard, code: &str, ask: Value) -> String {
    let said = ask.to_string();
    let refusal = yard.office(ask).expect_err(&said);
    assert_eq!(refusal.code, code, "{said}: {}", refusal.sentence);
    refusal.sentence
}

/// An answer as it stands inside another one.
fn without_kind(mut answer: Value) -> Value {
    answer.as_object_mut().unwrap().remove("kind");
    answer
}

pub fn money(value: &Value) -> f64 {
    value.as_str().unwrap().parse().unwrap()
}

pub fn part_and_ceiling() {
    let yard = Yard::new();
    let (job, [curbside, roadside]) = asked(&yard, "3301");
    let stand = figures(&yard, &job);
    let (hash, total) = (stand["hash"].clone(), money(&stand["estimate"]["total"]));
    let go = |more: Value| {
        let mut ask = json!({"kind": "go_ahead", "job": job, "hash": hash, "amount": null, "note": ""});
        ask.as_object_mut()
            .unwrap()
            .extend(more.as_object().unwrap().clone());
        ask
    };
    refused(&yard, "no_group", go(json!({"groups": ["roof"]})));
    refused(&yard, "ceiling_low", go(json!({"ceiling": "10"})));
    let steps = |yard: &Yard| {
        let steps = yard.get_office(json!({"kind": "steps", "job": job}));
        (steps["steps"].as_array().unwrap().len(), steps["shut"].clone())
    };
    let whole = steps(&yard).0;

    // What a part comes to is said before it is given, and is then what is agreed.
    let sum = |groups: Value| json!({"kind": "part_sum", "job": job, "hash": hash, "groups": groups});
    refused(&yard, "no_group", sum(json!(["roof"])));
    let said = yard.get_office(sum(json!([curbside])));
    let (amount, rest) = (money(&said["amount"]), money(&said["waits_amount"]));
    assert!(
        amount > 0.0 && rest > 0.0 && (amount + rest - total).abs() < 0.005,
        "{said}"
    );
    assert!(words(&said["waits"]).contains("roadside"), "{said}");
    let all = yard.get_office(sum(json!([curbside, roadside])));
    assert_eq!((money(&all["amount"]), all["waits"].clone()), (total, json!([])));
    assert_eq!(
        figures(&yard, &job)["go_ahead"]["state"],
        "asked",
        "nothing is given by asking"
    );

    yard.get_office(go(json!({"groups": [curbside]})));
    let part = figures(&yard, &job);
    assert_eq!(part["agreed_total"], said["amount"]);
    // The office's page heads with it, as Figures does: what was said before it was given.
    let heads = |yard: &Yard| {
        let given = yard.get_office(json!({"kind": "office_job", "job": job}))["figures"]["given"].clone();
        assert_eq!(given, figures(yard, &job)["given"]);
        given
    };
    assert_eq!(heads(&yard), without_kind(said));
    assert_eq!(part["go_ahead"]["state"], "go_ahead");
    let said = part["go_ahead"]["words"].as_str().unwrap();
    assert!(said.contains("for a part") && said.contains("Not for:"), "{said}");
    let agreed = money(&part["agreed_total"]);
    assert!(agreed > 0.0 && agreed < total, "{agreed} of {total}");
    let (left, shut) = steps(&yard);
    assert!(left < whole && shut.is_null(), "{left} of {whole} steps, {shut}");
    let pairs = yard.get_office(json!({"kind": "proof", "job": job}))["pairs"].clone();
    assert!(
        !pairs.to_string().contains(&roadside),
        "no after photo is wanted of what has no go-ahead"
    );

    // Later the rest as well, up to a ceiling: a small change then needs no new answer, a large one does.
    let ceiling = format!("{:.2}", total + 500.0);
    yard.get_office(go(json!({"amount": "1000", "note": "as the payer said"})));
    let another = heads(&yard);
    assert_eq!(
        (
            another["amount"].clone(),
            another["waits"].clone(),
            another["ceiling"].clone()
        ),
        (json!("1000.00"), json!([]), Value::Null)
    );
    yard.get_office(go(json!({"ceiling": ceiling})));
    assert_eq!(steps(&yard).0, whole);
    let given = heads(&yard);
    assert_eq!(
        (money(&given["amount"]), given["ceiling"].clone()),
        (total, json!(ceiling))
    );
    assert_eq!(
        (given["under_ceiling"].clone(), given["waits"].clone()),
        (json!("500.00"), json!([]))
    );
    let set = |to: &str| {
        let place = json!({"surface": "curbside", "from": "120", "to": to, "low": "40", "high": "52"});
        yard.get_office(json!({"kind": "set_mark", "job": job, "mark": curbside, "place": place}));
        figures(&yard, &job)
    };
    let small = set("132");
    assert_ne!(small["hash"], hash);
    assert_eq!(
        small["go_ahead"]["state"], "go_ahead",
        "{}",
        small["go_ahead"]["words"]
    );
    assert!(
        small["go_ahead"]["words"]
            .as_str()
            .unwrap()
            .contains("stay under it")
    );
    assert_eq!(
        small["agreed_total"], small["estimate"]["total"],
        "what is figured is agreed"
    );
    let under = heads(&yard);
    assert_eq!(under["amount"], small["estimate"]["total"]);
    assert!((money(&under["amount"]) + money(&under["under_ceiling"]) - total - 500.0).abs() < 0.005);
    yard.get_office(json!({"kind": "choose_way", "job": job, "group": curbside, "way": "side_section"}));
    assert_eq!(
        figures(&yard, &job)["go_ahead"]["state"],
        "stale",
        "another way is asked anew"
    );
    assert_eq!(heads(&yard), Value::Null);
}

pub fn whose_turn_it_is() {
    let yard = Yard::new();
    let units = ["3311", "3312", "3313", "3314"];
    let jobs = units.map(|unit| asked(&yard, unit).0);
    let hold = |job: &str| {
        yard.get_office(json!({"kind": "set_hold", "job": job, "hold": {"why": "weather", "note": ""}}))
    };
    hold(&jobs[0]);
    let open = What::RoofOpened { opened: true };
    let (job, act) = (jobs[3].parse().unwrap(), Uuid::now_v7());
    yard.office
        .store()
        .append(job, SUPERVISOR, act, vec![open])
        .unwrap();
    for unit in ["3315", "3316"] {
        let job = id(&yard.get_office(json!({"kind": "open_job", "unit": unit})));
        if unit == "3315" {
            hold(&job);
        }
    }
    let turn = |yard: &Yard| -> Vec<String> {
        let rows = yard.get_office(json!({"kind": "office_jobs"}))["rows"].clone();
        rows.as_array()
            .unwrap()
            .iter()
            .map(|row| row["unit"].as_str().unwrap().to_owned())
            .collect()
    };
    let next = |job: &str| yard.get_office(json!({"kind": "office_job", "job": job}))["next"]["unit"].clone();
    assert_eq!(
        turn(&yard),
        ["3314", "3312", "3313", "3311", "3316", "3315"],
        "an open unit, then the longest wait, then what is held; without an answer to give what is held stands last"
    );
    assert_eq!((next(&jobs[3]), next(&jobs[1])), (json!("3312"), json!("3314")));
    // Answered, it is out of the way.
    let hash = figures(&yard, &jobs[3])["hash"].clone();
    let answered = yard
        .get_office(json!({"kind": "go_ahead", "job": jobs[3], "hash": hash, "amount": null, "note": ""}));
    assert_eq!(answered["words"], "gave the go-ahead");
    assert_eq!((next(&jobs[1]), next(&jobs[3])), (json!("3313"), json!("3312")));
    assert_eq!(turn(&yard)[..3], ["3312", "3313", "3311"]);
}

pub fn on_a_job() {
    let yard = Yard::new();
    let (job, _) = asked(&yard, "3302");
    yard.exchange();
    let page = || yard.get_office(json!({"kind": "office_job", "job": job}));
    let set =
        |field: &str, value: &str| json!({"kind": "set_office", "job": job, "field": field, "value": value});
    yard.get_office(set("insurer", "CL 20-771"));
    refused(&yard, "not_a_choice", set("warranty", "perhaps"));
    refused(&yard, "no_job", set("comeback_of", &job));
    assert!(refused(&yard, "kept", set("retain", "let_go")).contains("396.3"));
    assert_eq!(page()["fields"][1]["value"], "CL 20-771");

    let sublet = |id: Value, work: &str, back_on: &str, back: bool| json!({"kind": "set_sublet", "job": job, "sublet": id, "work": work, "who": "welder", "out_on": "2026-03-02", "back_on": back_on, "back": back});
    refused(
        &yard,
        "back_before_out",
        sublet(Value::Null, "weld", "2026-03-01", false),
    );
    let welding = id(&yard.get_office(sublet(Value::Null, "weld crossmember 12", "2026-03-04", false)));
    let row = &page()["sublets"][0];
    assert_eq!(
        (row["sublet"]["who"].clone(), row["late"].clone()),
        (json!("welder"), json!(true))
    );
    assert!(
        page()["waits"]
            .to_string()
            .contains("welder: weld crossmember 12")
    );
    yard.get_office(sublet(json!(welding), "weld crossmember 12", "2026-03-04", true));
    assert!(!page()["waits"].to_string().contains("welder"));

    yard.get_office(json!({"kind": "set_on_job", "job": job, "person": TECHNICIAN, "on": true}));
    let list = yard.get_office(json!({"kind": "office_jobs"}));
    assert_eq!(list["rows"][0]["on_it"], json!(["A. Technician"]));
    assert_eq!(list["rows"][0]["waits"][0]["for"], "office");
    assert_eq!(
        (list["open"].clone(), list["not_figured"].clone()),
        (json!(1), json!(0))
    );
    let left = yard.get_office(json!({"kind": "office_jobs", "show": "left"}));
    assert_eq!(left["rows"], json!([]));

    // A note of the evening shift on the phone; the office sees it as new, once.
    yard.exchange();
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    let note = |id: Value, text: &str| json!({"kind": "set_note", "job": job, "note": id, "text": text});
    yard.refused("note_missing", note(Value::Null, " "));
    let written = id(&yard.get(note(Value::Null, "seam taped to bow 7")));
    yard.get(note(json!(written), "seam taped to bow 8"));
    yard.exchange();
    refused(&yard, "not_own", note(json!(written), "no"));
    assert_eq!(page()["notes"][0]["text"], "seam taped to bow 8");
    assert!(words(&page()["lines_since"]).contains("shift note: seam taped to bow 8"));
    yard.get_office(json!({"kind": "looked", "job": job, "newest": page()["newest"]}));
    assert_eq!(page()["lines_since"], json!([]));

    refused(
        &yard,
        "not_released",
        json!({"kind": "reopen", "job": job, "reason": "x"}),
    );
    let release = |what: Vec<What>| {
        let (job, act) = (job.parse().unwrap(), Uuid::now_v7());
        yard.office.store().append(job, SUPERVISOR, act, what).unwrap();
    };
    let released = What::Released {
        release: Some(bowseam_jobs::entry::Release { note: String::new() }),
    };
    release(vec![released, What::HandedOver { handed_over: true }]);
    let left = yard.get_office(json!({"kind": "office_jobs", "show": "left"}));
    assert_eq!(
        (left["rows"][0]["unit"].clone(), left["open"].clone()),
        (json!("3302"), json!(0))
    );
    refused(&yard, "handed_over", sublet(Value::Null, "weld", "", false));
    yard.get_office(set("report_closed", "repaired"));
    assert!(page()["warranty"].as_str().unwrap().starts_with("Warranty until"));
    let (again, _) = asked(&yard, "3302");
    let history = yard.get_office(json!({"kind": "office_job", "job": again}))["history"].clone();
    assert_eq!(
        (history[0]["in_warranty"].clone(), history[0]["comeback"].clone()),
        (json!(true), json!(false))
    );
    yard.get_office(json!({"kind": "set_office", "job": again, "field": "comeback_of", "value": job}));
    let history = yard.get_office(json!({"kind": "office_job", "job": again}))["history"].clone();
    assert_eq!(history[0]["comeback"], true);
    refused(
        &yard,
        "reason_missing",
        json!({"kind": "reopen", "job": job, "reason": ""}),
    );
    yard.get_office(json!({"kind": "reopen", "job": job, "reason": "lamp out at the gate"}));
    assert!(words(&page()["reopened"]).contains("lamp out at the gate"));
    assert!(page()["released"].is_null() && page()["handed_over"].is_null());
}

pub fn settled() {
    let yard = Yard::new();
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    let job = id(&yard.get(json!({"kind": "open_job", "unit": "3303"})));
    yard.exchange();
    let slot = |value: &str| json!({"kind": "set_arrival", "job": job, "field": "slot", "value": value});
    yard.get(slot("row A, 7"));
    yard.get_office(slot("row C, 1"));
    yard.exchange();
    let seen = yard.get(json!({"kind": "arrival", "job": job}))["head"]["to_settle"][0].clone();
    assert_eq!(seen["register"], "arrival/slot");
    assert_eq!(seen["holds_words"], "B. Supervisor: row C, 1");
    assert_eq!(seen["lost_words"], "A. Technician: row A, 7");
    let keep = |keep: &Value, other: &Value| json!({"kind": "settle", "job": job, "keep": keep, "instead_of": other});
    yard.refused("settled", keep(&seen["holds"], &json!(TECHNICIAN)));
    yard.get(keep(&seen["lost"], &seen["holds"]));
    yard.exchange();
    for arrival in [
        yard.get(json!({"kind": "arrival", "job": job})),
        yard.get_office(json!({"kind": "arrival", "job": job})),
    ] {
        assert_eq!(arrival["head"]["to_settle"], json!([]));
        let fields = arrival["fields"].as_array().unwrap();
        let slot = fields.iter().find(|field| field["field"] == "slot").unwrap();
        assert_eq!(slot["value"], "row A, 7");
    }
}

pub fn people_and_phones() {
    let yard = Yard::new();
    yard.refused("sign_in", json!({"kind": "people"}));
    let people = || yard.get_office(json!({"kind": "people"}));
    assert!(words(&people()["remarks"]).contains("set a password"));
    let set = |person: Value, name: &str, roles: Value, until: &str| json!({"kind": "set_person", "person": person, "name": name, "roles": roles, "qualified": [{"for": "release", "until": until, "note": "course 7"}]});
    refused(&yard, "role_missing", set(Value::Null, "C. New", json!([]), ""));
    refused(
        &yard,
        "date_unread",
        set(Value::Null, "C. New", json!(["technician"]), "soon"),
    );
    refused(
        &yard,
        "last_supervisor",
        set(json!(SUPERVISOR), "B.", json!(["technician"]), ""),
    );
    let new = id(&yard.get_office(set(Value::Null, "C. New", json!(["technician"]), "2020-05-01")));
    let row = |id: &str| {
        let all = people();
        all["people"]
            .as_array()
            .unwrap()
            .iter()
            .find(|row| row["id"] == id)
            .unwrap()
            .clone()
    };
    assert_eq!(row(&new)["qualified"][0]["counts"], false);
    assert!(words(&people()["remarks"]).contains("C. New, release units: ran out 2020-05-01"));
    let secret = |secret: &str, password: bool| json!({"kind": "set_secret", "person": new, "secret": secret, "password": password});
    refused(&yard, "refused", secret("12", false));
    yard.get_office(secret("2580", false));
    yard.get_office(secret("a long pass phrase", true));
    assert_eq!(
        (row(&new)["has_pin"].clone(), row(&new)["has_password"].clone()),
        (json!(true), json!(true))
    );

    // Who was named and is not any more does not release, and is told why.
    let job = id(&yard.get_office(json!({"kind": "open_job", "unit": "3304"})));
    let release = json!({"kind": "release", "job": job, "note": ""});
    let person: Uuid = new.parse().unwrap();
    let refusal = super::door::ask_at(&yard.office, Some(person), release.clone(), None).unwrap_err();
    assert_eq!(refusal.code, "may_not_release");
    assert!(
        refusal.sentence.contains("until 2020-05-01; that has run out"),
        "{}",
        refusal.sentence
    );
    yard.get_office(json!({"kind": "end_person", "person": new, "ended": true}));
    let refusal = super::door::ask_at(&yard.office, Some(person), release, None).unwrap_err();
    assert_eq!(refusal.code, "sign_in", "who is here no more does nothing");
    refused(
        &yard,
        "last_supervisor",
        json!({"kind": "end_person", "person": SUPERVISOR, "ended": true}),
    );

    let code = yard.get_office(json!({"kind": "new_code", "office": "https://office.example/office"}));
    assert_eq!(code["words"].as_str().unwrap().split(' ').count(), 5);
    assert!(code["qr"].as_str().unwrap().contains("<svg"));
    let device = Uuid::now_v7();
    bowseam_send::codes::redeem(
        &yard.office.store(),
        code["words"].as_str().unwrap(),
        device,
        "phone 3",
        Utc::now(),
    )
    .unwrap();
    let phones = yard.get_office(json!({"kind": "phones"}));
    assert_eq!(
        (
            phones["phones"][0]["name"].clone(),
            phones["phones"][0]["taken_back"].clone()
        ),
        (json!("phone 3"), json!(false))
    );
    yard.get_office(json!({"kind": "take_back", "device": device}));
    assert_eq!(
        yard.get_office(json!({"kind": "phones"}))["phones"][0]["taken_back"],
        true
    );
    refused(
        &yard,
        "nothing_apart",
        json!({"kind": "take_in", "device": device}),
    );
}

/// All steps done with so many times the figured hours on them, by a device with its own clock, and the unit left.
fn done_in(yard: &Yard, job: &str, device: Uuid, times: f64) {
    let steps = yard.get_office(json!({"kind": "steps", "job": job}))["steps"].clone();
    let (mut seq, mut at) = (0, "2026-03-02T08:00:00Z".parse::<DateTime<Utc>>().unwrap());
    let mut entries = Vec::new();
    let mut write = |at: DateTime<Utc>, what: What| {
        seq += 1;
        entries.push(Entry {
            id: Uuid::now_v7(),
            job: job.parse().unwrap(),
            act: Uuid::now_v7(),
            device,
            seq,
            at: clock::at(at).unwrap(),
            person: TECHNICIAN,
            saw: None,
            also: Vec::new(),
            what,
        });
    };
    for step in steps.as_array().unwrap() {
        let key = step["key"].as_str().unwrap().to_owned();
        let hours: f64 = step["figured_hours"]
            .as_str()
            .map_or(0.0, |hours| hours.parse().unwrap());
        // Hours stand at a task's first step; at its others a moment is kept. With 0 nobody starts the clock.
        if times > 0.0 {
            let step = key.clone();
            write(at, What::Time { step, on: true });
            at += TimeDelta::seconds(((hours * times * 3600.0) as i64).max(1));
            let step = key.clone();
            write(at, What::Time { step, on: false });
        }
        write(
            at,
            What::StepDone {
                step: key,
                done: true,
            },
        );
        at += TimeDelta::minutes(1);
    }
    write(at, What::HandedOver { handed_over: true });
    yard.office.store().receive(&entries).unwrap();
}

pub fn learned() {
    let yard = Yard::new();
    let jobs: Vec<String> = (0..6).map(|n| asked(&yard, &format!("34{n:02}")).0).collect();
    for (n, job) in jobs.iter().enumerate() {
        let hash = figures(&yard, job)["hash"].clone();
        yard.get_office(json!({"kind": "go_ahead", "job": job, "hash": hash, "amount": null, "note": ""}));
        // Five jobs are too few, however much they are off.
        if n == 5 {
            assert_eq!(row_of(&yard, "side_patch")["proposed"], Value::Null);
        }
        done_in(&yard, job, Uuid::now_v7(), 1.4 + n as f64 * 0.04);
    }
    let row = row_of(&yard, "side_patch");
    assert_eq!(
        (row["n"].clone(), row["median"].clone()),
        (json!(6), json!("1.50")),
        "{row}"
    );
    assert_eq!(
        (row["low"].clone(), row["high"].clone()),
        (json!("1.40"), json!("1.60"))
    );
    assert_eq!(
        (row["was"].clone(), row["proposed"].clone()),
        (json!("1.5"), json!("2.25"))
    );
    assert!(words(&row["evidence"]).contains("unit 3400"), "{row}");
    // A job on which nobody kept the time says nothing of hours, and the page says that.
    let (silent, _) = asked(&yard, "3406");
    let hash = figures(&yard, &silent)["hash"].clone();
    yard.get_office(json!({"kind": "go_ahead", "job": silent, "hash": hash, "amount": null, "note": ""}));
    done_in(&yard, &silent, Uuid::now_v7(), 0.0);
    assert_eq!(row_of(&yard, "side_patch")["n"], json!(6));
    let how = yard.get_office(json!({"kind": "learned"}))["how"]
        .as_str()
        .unwrap()
        .to_owned();
    assert!(
        how.starts_with("Left out") && how.contains("side patch (1)"),
        "{how}"
    );
    let learn =
        |now: &str, take: bool| json!({"kind": "learn", "task": "side_patch", "now": now, "take": take});
    refused(&yard, "not_proposed", learn("9", true));
    let hours = |yard: &Yard| {
        bowseam_app::now::book(&yard.office)
            .unwrap()
            .hours
            .side_patch
            .value
            .to_string()
    };
    yard.get_office(learn("2.25", false));
    assert_eq!(
        (hours(&yard).as_str(), row_of(&yard, "side_patch")["left"].clone()),
        ("1.5", json!(true))
    );
    yard.get_office(learn("2.25", true));
    assert_eq!(hours(&yard), "2.25");
    let row = row_of(&yard, "side_patch");
    assert_eq!(
        (row["median"].clone(), row["proposed"].clone()),
        (json!("1.00"), Value::Null),
        "{row}"
    );
    let before = yard.get_office(json!({"kind": "learned"}))["before"].clone();
    assert_eq!(
        (before[0]["taken"].clone(), before[1]["taken"].clone()),
        (json!(true), json!(false))
    );
}

/// A task of the page, once all jobs are worked out.
fn row_of(yard: &Yard, task: &str) -> Value {
    for _ in 0..400 {
        let page = yard.get_office(json!({"kind": "learned"}));
        if page["not_figured"] == 0 {
            let rows = page["rows"].as_array().unwrap();
            return rows
                .iter()
                .find(|row| row["task"] == task)
                .cloned()
                .unwrap_or_default();
        }
    }
    panic!("the jobs are never worked out");
}
