//! The shop book and the stock list as a supervisor changes them.

use crate::door::{self, PIN, SUPERVISOR, TECHNICIAN, Yard, id};
use serde_json::{Value, json};

fn refused(yard: &Yard, code: &str, field: &str, ask: Value) {
    let said = ask.to_string();
    let refusal = door::ask_at(&yard.office, Some(SUPERVISOR), ask, None).expect_err(&said);
    assert_eq!(
        (refusal.code.as_str(), refusal.field.as_deref()),
        (code, Some(field)),
        "{said}: {}",
        refusal.sentence
    );
    assert!(refusal.sentence.ends_with('.'), "{}", refusal.sentence);
}

fn set(group: &str, key: &str, value: &str) -> Value {
    json!({"kind": "set_book", "group": group, "key": key, "value": value})
}

pub fn values() {
    let yard = Yard::new();
    let book = || yard.get_office(json!({"kind": "shop_book"}));
    let row = |book: &Value, key: &str| {
        let rows = book["values"].as_array().unwrap();
        rows.iter().find(|row| row["key"] == key).unwrap().clone()
    };
    // Every value is read back as it is shown, so that nobody has to know how it is written.
    let seen = book();
    for row in seen["values"].as_array().unwrap() {
        let [group, key, value] = ["group", "key", "value"].map(|name| row[name].as_str().unwrap());
        yard.get_office(set(group, key, value));
    }
    let again = book();
    for (was, now) in seen["values"]
        .as_array()
        .unwrap()
        .iter()
        .zip(again["values"].as_array().unwrap())
    {
        assert_eq!(was["value"], now["value"], "{was}");
    }
    assert_eq!(again["changes"], json!([]), "nothing was changed by it");

    yard.get_office(set("money", "labour_rate", "104.50"));
    let rate = row(&book(), "labour_rate");
    assert_eq!(
        (&rate["value"], &rate["standing"]["from"]),
        (&json!("104.5"), &json!("shop"))
    );
    assert!(rate["start"].is_string());
    let change = book()["changes"][0].clone();
    assert_eq!(
        (&change["now"], &change["by"]),
        (&json!("104.5"), &json!("B. Supervisor"))
    );
    yard.get_office(set("money", "labour_rate", ""));
    assert_eq!(
        row(&book(), "labour_rate")["start"],
        Value::Null,
        "the starting value again"
    );

    refused(&yard, "value_unread", "value", set("money", "labour_rate", "-3"));
    refused(&yard, "value_unread", "value", set("money", "tax_rate", "8.25"));
    refused(&yard, "value_unread", "value", set("planning", "people", "two"));
    refused(
        &yard,
        "value_unread",
        "value",
        set("planning", "final_check", "perhaps"),
    );
    refused(&yard, "no_value", "value", set("money", "nothing", "1"));
    refused(
        &yard,
        "book_roll",
        "value",
        set("prices", "seam_tape_roll_length", "0"),
    );

    let cure = |at: &str, hours: &str| json!({"kind": "set_cure", "product": "seam sealant", "at": at, "hours": hours});
    yard.get_office(cure("70", "24"));
    yard.get_office(cure("50", "48"));
    yard.get_office(cure("70", "20"));
    assert_eq!(book()["cure"].as_array().unwrap().len(), 2);
    yard.get_office(cure("50", ""));
    assert_eq!(
        book()["cure"],
        json!([{"product": "seam sealant", "at_f": 70, "hours": "20"}])
    );
    refused(&yard, "hours_unread", "hours", cure("70", "a day"));

    // Who is no supervisor, and a phone that has the office's book, changes nothing.
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    yard.refused("supervisor_only", set("money", "labour_rate", "1"));
    let why = yard.get(json!({"kind": "shop_book"}))["may_not"].clone();
    assert!(why.as_str().unwrap().contains("Only a supervisor"));
    yard.get_as(SUPERVISOR, set("money", "labour_rate", "99"));
    yard.phone
        .store()
        .set_setting("office_book", &book_of(&yard))
        .unwrap();
    let refusal = yard
        .ask_as(SUPERVISOR, set("money", "labour_rate", "98"))
        .unwrap_err();
    assert_eq!(refusal.code, "office_keeps");
}

fn book_of(yard: &Yard) -> Value {
    serde_json::to_value(bowseam_app::now::book(&yard.office).unwrap()).unwrap()
}

pub fn stock() {
    let yard = Yard::new();
    let line = |name: &str, there: &str| {
        json!({"item": "Roof bow", "name": name, "form": "bar", "length": "102", "width": "", "thickness": "",
            "place": "rack B", "there": there, "price": "46.50"})
    };
    let put = |stock: Value, line: Value| {
        yard.get_office(json!({"kind": "set_stock", "stock": stock, "line": line}))
    };
    put(Value::Null, line("bow 102", "3"));
    let rows = || yard.get_office(json!({"kind": "shop_book"}))["stock"].clone();
    let first = || rows()[0].clone();
    assert_eq!(
        (&first()["count"], &first()["typed"]["item"]),
        (&json!("3"), &json!("roof bow"))
    );

    // A job cuts one; then somebody counts four. Neither a new name nor a new place loses who has reserved.
    let job = id(&yard.get_office(json!({"kind": "open_job", "unit": "6090"})));
    let place = json!({"surface": "roof", "from": "20", "to": "30", "low": "10", "high": "90"});
    yard.get_office(
        json!({"kind": "add_mark", "job": job, "place": place, "damage": "tear", "part": "roof_sheet",
        "age": "new", "note": "", "found": null}),
    );
    yard.get_office(json!({"kind": "choose_way", "job": job, "group": "roof", "way": "front_section"}));
    yard.get_office(json!({"kind": "set_reserved", "job": job, "reserved": true}));
    let cuts = yard.get_office(json!({"kind": "cut_list", "job": job}));
    let bow = cuts["plans"]
        .as_array()
        .unwrap()
        .iter()
        .find(|of| of["plan"]["item"] == "roof bow")
        .unwrap()
        .clone();
    yard.get_office(json!({"kind": "set_cut", "job": job, "cut": bow["plan"]["key"], "done": true}));
    assert_eq!(first()["count"], "2");
    let key = first()["key"].clone();
    put(key.clone(), line("bow 102, steel", ""));
    assert_eq!(
        (&first()["count"], &first()["key"]),
        (&json!("2"), &key),
        "nothing was counted"
    );
    put(key.clone(), line("bow 102, steel", "4"));
    assert_eq!(
        (&first()["count"], &first()["typed"]["there"]),
        (&json!("4"), &json!("4"))
    );

    let roll = json!({"item": "seam tape", "name": "tape", "form": "coil", "length": "50'", "width": "", "thickness": "",
        "place": "cabinet", "there": "80'", "price": ""});
    put(Value::Null, roll);
    assert_eq!(rows()[1]["count"], "960 in");
    for (field, code, wrong) in [
        ("place", "stock_missing", ""),
        ("there", "pieces_unread", "some"),
        ("length", "length_none", "0"),
        ("price", "price_unread", "-4"),
    ] {
        let mut bad = line("bow", "1");
        bad[field] = json!(wrong);
        refused(
            &yard,
            code,
            field,
            json!({"kind": "set_stock", "stock": null, "line": bad}),
        );
    }
    put(key.clone(), Value::Null);
    assert_eq!(rows().as_array().unwrap().len(), 1);
    refused(
        &yard,
        "no_stock",
        "stock",
        json!({"kind": "set_stock", "stock": key, "line": null}),
    );
    let last = yard.get_office(json!({"kind": "shop_book"}))["changes"][0].clone();
    assert_eq!(
        (&last["what"], &last["now"]),
        (&json!("stock: bow 102, steel"), &json!("")),
        "taken off"
    );
}

/// A job with a hole in the roof, its patch and the go-ahead asked; the job and the mark.
fn asked_by(get: &dyn Fn(Value) -> Value, unit: &str) -> (String, String) {
    let job = id(&get(json!({"kind": "open_job", "unit": unit})));
    let place = json!({"surface": "roof", "from": "200", "to": "206", "low": "40", "high": "46"});
    let mark = get(
        json!({"kind": "add_mark", "job": job, "place": place, "damage": "hole", "part": "roof_sheet",
        "age": "new", "note": "", "found": null}),
    );
    get(json!({"kind": "choose_way", "job": job, "group": "roof", "way": "patch"}));
    get(json!({"kind": "ask_go_ahead", "job": job, "found": null}));
    (job, id(&mark))
}

fn asked(yard: &Yard, unit: &str) -> (String, String) {
    asked_by(&|ask| yard.get_office(ask), unit)
}

/// The same with its go-ahead.
fn agreed(get: &dyn Fn(Value) -> Value, unit: &str) -> String {
    let (job, _) = asked_by(get, unit);
    let hash = get(json!({"kind": "figures", "job": job}))["hash"].clone();
    get(json!({"kind": "go_ahead", "job": job, "hash": hash, "amount": null, "note": ""}));
    job
}

pub fn queue_for_the_bays() {
    let yard = Yard::new();
    let office = |ask: Value| yard.get_office(ask);
    let promise = |job: &str| office(json!({"kind": "buying_list", "job": job}))["promise"].clone();
    let day = |job: &str| promise(job)["day"].as_str().unwrap().to_owned();
    let says = |job: &str, words: &str| {
        let promise = promise(job).to_string();
        assert!(promise.contains(words), "{words}: {promise}");
    };
    // Some days of work each, so that they are in each other's way whatever day it is.
    office(set("planning", "hours_a_day", "1"));
    let first = agreed(&office, "6094");
    let alone = day(&first);
    says(&first, "no other job");
    let hash = |job: &str| office(json!({"kind": "figures", "job": job}))["hash"].clone();
    let before = hash(&first);
    let second = agreed(&office, "6095");
    let third = agreed(&office, "6096");
    assert_eq!(
        (day(&first), hash(&first)),
        (alone.clone(), before),
        "who comes later moves nobody"
    );
    let (second_day, third_day) = (day(&second), day(&third));
    assert!(
        alone < second_day && second_day < third_day,
        "{alone} {second_day} {third_day}"
    );
    says(&second, "after unit 6094.");
    says(&third, "after unit 6094 and 1 other job.");
    says(&third, "has a bay before it");
    // The list says the same day as the job.
    // Other jobs are figured a few at a time; the list says when all are.
    let settle = || {
        let open = || office(json!({"kind": "office_jobs", "find": "", "show": "open", "most": 60}));
        assert!(
            (0..400).any(|_| open()["not_figured"] == 0),
            "every row is figured"
        );
    };
    settle();
    let rows = office(json!({"kind": "office_jobs", "find": "", "show": "open", "most": 60}))["rows"].clone();
    let listed = rows
        .as_array()
        .unwrap()
        .iter()
        .find(|row| row["job"] == json!(third))
        .unwrap();
    assert_eq!(listed["promise"], json!(third_day));
    assert_eq!(listed["waits"][0]["for"], "bay", "{listed}");
    let page = office(json!({"kind": "office_job", "job": third}));
    assert_eq!(page["waits"][0]["words"], "behind unit 6094 and 1 other job");
    // Work on the last one begins first: it is in the bay, and the others wait for it.
    office(json!({"kind": "step_time", "job": third, "step": "make_safe", "on": true}));
    settle();
    says(&first, "is in a bay");
    assert!(day(&first) > alone);
    office(json!({"kind": "undo", "job": third}));
    settle();
    assert_eq!(day(&first), alone);
    // On hold outside it keeps no bay.
    office(json!({"kind": "set_hold", "job": second, "hold": {"why": "answer", "note": ""}}));
    settle();
    assert_eq!(day(&third), second_day);
    says(&second, "on hold");
    office(json!({"kind": "set_hold", "job": second, "hold": null}));
    settle();
    assert_eq!(day(&third), third_day);
    refused(&yard, "value_unread", "value", set("planning", "bays", "0"));
    // A bay for each, and still the same two people; then people for all.
    office(set("planning", "bays", "3"));
    settle();
    assert_eq!((day(&second), day(&third)), (second_day, third_day));
    says(&second, "2 of 2");
    refused(
        &yard,
        "value_unread",
        "value",
        set("planning", "people_a_shift", "0"),
    );
    office(set("planning", "people_a_shift", "6"));
    settle();
    assert_eq!((day(&second), day(&third)), (alone.clone(), alone));
    // A phone that has one job of its own says that it knows no other.
    let phone = |ask: Value| yard.get_as(SUPERVISOR, ask);
    let own = agreed(&phone, "6097");
    let promise = phone(json!({"kind": "buying_list", "job": own}))["promise"].to_string();
    assert!(
        promise.contains("no other job") && promise.contains("known on this phone"),
        "{promise}"
    );
}

pub fn closed_days() {
    let yard = Yard::new();
    let closed = |day: &str, why: &str, closed: bool| json!({"kind": "set_closed", "day": day, "why": why, "closed": closed});
    refused(&yard, "why_missing", "why", closed("2026-12-25", "", true));
    refused(&yard, "date_unread", "day", closed("Christmas", "x", true));
    let (job, _) = asked(&yard, "6091");
    let hash = yard.get_office(json!({"kind": "figures", "job": job}))["hash"].clone();
    yard.get_office(json!({"kind": "go_ahead", "job": job, "hash": hash, "amount": null, "note": ""}));
    let promise = || yard.get_office(json!({"kind": "buying_list", "job": job}))["promise"].clone();
    let before: chrono::NaiveDate = promise()["day"]
        .as_str()
        .unwrap_or_else(|| panic!("{}", promise()))
        .parse()
        .unwrap();
    yard.get_office(closed(&before.to_string(), "inventory", true));
    let after = promise();
    let day: chrono::NaiveDate = after["day"].as_str().unwrap().parse().unwrap();
    assert!(day > before, "{after}");
    assert!(
        after["basis"].to_string().contains("closed: inventory"),
        "{after}"
    );
    yard.get_office(closed(&before.to_string(), "", false));
    assert_eq!(promise()["day"], json!(before.to_string()));
}

pub fn agreed_figures_stand() {
    let yard = Yard::new();
    let ask = |job: &str, mut ask: Value| {
        ask["job"] = json!(job);
        yard.get_office(ask)
    };
    let seen = |job: &str| ask(job, json!({"kind": "figures"}));
    let ((agreed, mark), (back, _)) = (asked(&yard, "6092"), asked(&yard, "6093"));
    let before = seen(&agreed);
    ask(
        &agreed,
        json!({"kind": "go_ahead", "hash": before["hash"], "amount": null, "note": ""}),
    );
    ask(
        &back,
        json!({"kind": "send_back", "hash": seen(&back)["hash"], "note": "dearer by now"}),
    );
    yard.get_office(set("money", "labour_rate", "200"));

    let after = seen(&agreed);
    assert_eq!(
        (&after["hash"], &after["estimate"]["total"]),
        (&before["hash"], &before["estimate"]["total"])
    );
    assert_eq!(after["go_ahead"]["state"], "go_ahead");
    assert!(
        after["go_ahead"]["words"]
            .as_str()
            .unwrap()
            .contains("stands as it was"),
        "{}",
        after["go_ahead"]
    );
    assert_ne!(
        seen(&back)["estimate"]["total"],
        before["estimate"]["total"],
        "sent back: figured by the new rate"
    );
    let place = json!({"surface": "roof", "from": "200", "to": "207", "low": "40", "high": "46"});
    ask(&agreed, json!({"kind": "set_mark", "mark": mark, "place": place}));
    let changed = seen(&agreed);
    assert_eq!(
        changed["go_ahead"]["state"], "stale",
        "another mark is another job"
    );
    assert!(
        changed["estimate"]["once"]
            .to_string()
            .contains("\"rate\":\"200\""),
        "{}",
        changed["estimate"]["once"]
    );
}
