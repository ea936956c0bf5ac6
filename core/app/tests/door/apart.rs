//! Damages far apart on one roof, old damage beside new, and a dent that stays as it is.

use crate::door::{PIN, TECHNICIAN, Yard, id, words};
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn mark(yard: &Yard, job: &str, place: [&str; 5], damage: &str, part: &str, age: &str) -> String {
    let [surface, from, to, low, high] = place;
    let place = json!({"surface": surface, "from": from, "to": to, "low": low, "high": high});
    id(&yard.get(
        json!({"kind": "add_mark", "job": job, "place": place, "damage": damage, "part": part, "age": age,
        "note": "", "found": null}),
    ))
}

pub fn two_sections_and_old_damage() {
    let yard = Yard::new();
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    let job = id(&yard.get(json!({"kind": "open_job", "unit": "6080"})));
    let tear = |at: [&str; 2], age: &str| {
        mark(
            &yard,
            &job,
            ["roof", at[0], at[1], "20", "60"],
            "tear",
            "roof_sheet",
            age,
        )
    };
    tear(["3", "60"], "new");
    tear(["500", "630"], "old");
    let get = |kind: &str| yard.get(json!({"kind": kind, "job": job}));
    let way = |ways: &Value, key: &str| {
        let ways = ways["choices"][0]["ways"].as_array().unwrap();
        ways.iter().find(|way| way["key"] == key).unwrap().clone()
    };
    assert_eq!(way(&get("ways"), "two_sections")["best"], true);
    let choose = |group: &str, way: &str| {
        yard.get(json!({"kind": "choose_way", "job": job, "group": group, "way": way}))
    };
    choose("roof", "two_sections");

    let fold_out = get("fold_out").to_string();
    assert!(
        fold_out.contains("bow 3") && fold_out.contains("bow 20"),
        "both seams are drawn"
    );
    let cuts = get("cut_list");
    let plans = cuts["plans"].as_array().unwrap();
    let sheets = plans.iter().filter(|of| of["plan"]["item"] == "roof sheet");
    let sheet: String = sheets.map(Value::to_string).collect();
    assert!(sheet.contains("79 in") && sheet.contains("161 in"), "{sheet}");
    let rows = get("roof_off")["rows"].clone();
    let bows = rows
        .as_array()
        .unwrap()
        .iter()
        .find(|row| row["key"] == "on_hand:new_bows")
        .unwrap();
    assert!(bows["wanted"].as_str().unwrap().starts_with("8 each"), "{bows}");
    let steps = get("steps")["steps"].clone();
    let step = |key: &str| {
        steps
            .as_array()
            .unwrap()
            .iter()
            .find(|step| step["key"] == key)
            .unwrap()
    };
    assert!(step("sheet_on:behind")["remark"].is_string());
    assert_ne!(
        step("sheet_on")["remark"],
        step("sheet_on:behind")["remark"],
        "each sheet has its own weight"
    );

    // The old tear's money stands apart: without it only the front section is made.
    let estimate = get("figures")["estimate"].clone();
    let number = |value: &Value| value.as_str().unwrap().parse::<Decimal>().unwrap();
    let adds = |estimate: &Value| {
        let old = &estimate["old_damage"];
        assert_eq!(
            number(&old["without"]) + number(&old["adds"]),
            number(&estimate["total"])
        );
        number(&old["adds"])
    };
    let second = adds(&estimate);
    choose("roof", "whole_roof");
    let estimate = get("figures")["estimate"].clone();
    let bows = adds(&estimate);
    assert!(
        second > bows && bows > Decimal::ZERO,
        "{second} for a second section, {bows} for bows under the whole roof"
    );

    let dent = mark(
        &yard,
        &job,
        ["rear", "10", "20", "30", "40"],
        "dent",
        "door",
        "new",
    );
    choose(&dent, "leave_it");
    let seen = get("figures")["estimate"].clone();
    assert_eq!(seen["total"], estimate["total"], "nothing is done");
    assert!(words(&seen["warnings"]).contains("seen and left as it is"));
    let hole = mark(
        &yard,
        &job,
        ["rear", "60", "62", "30", "32"],
        "hole",
        "door",
        "new",
    );
    yard.refused(
        "no_way",
        json!({"kind": "choose_way", "job": job, "group": hole, "way": "leave_it"}),
    );
}

#[test]
fn damage_that_is_marked_after_may_it_roll_takes_the_answer_away_until_it_is_given_again() {
    let yard = Yard::new();
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    let job = id(&yard.get(json!({"kind": "open_job", "unit": "9301"})));
    let roll = |answer: &str| {
        yard.get(json!({"kind": "set_roll", "job": job, "answer": {"answer": answer, "reason": "a", "fix": "b", "speed": "c", "distance": "d", "weather": "e"}}));
    };
    let doubt = || yard.get(json!({"kind": "arrival", "job": job}))["head"]["roll_doubt"].clone();
    let row = || yard.get(json!({"kind": "yard", "find": ""}))["rows"][0]["roll"].clone();
    let guard = |part: &str| mark(&yard, &job, ["rear", "2", "90", "2", "10"], "bend", part, "new");
    roll("with_limits");
    assert_eq!(
        (doubt(), row()["answer"].as_str()),
        (Value::Null, Some("with_limits"))
    );
    guard("rear_guard");
    let said = doubt();
    assert!(said.as_str().unwrap().contains("bend, rear guard"), "{said}");
    assert_eq!(row(), Value::Null, "the list shows no answer that does not hold");
    let seen = yard.get(json!({"kind": "hand_over", "job": job}));
    assert!(seen["lacks"].as_array().unwrap().contains(&said));
    roll("may_roll");
    assert_eq!(doubt(), Value::Null);
    // The unit stands: nobody is misled by more damage.
    roll("park_it");
    guard("mud_flap");
    assert_eq!(doubt(), Value::Null);
}

#[test]
fn may_roll_with_a_broken_lamp_is_said_in_words_or_not_at_all() {
    let yard = Yard::new();
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    let job = id(&yard.get(json!({"kind": "open_job", "unit": "9302"})));
    let roll = |answer: &str, reason: &str| {
        let answer = json!({"answer": answer, "reason": reason, "fix": "b", "speed": "c", "distance": "d", "weather": "e"});
        json!({"kind": "set_roll", "job": job, "answer": answer})
    };
    let arrival = || yard.get(json!({"kind": "arrival", "job": job}));
    yard.get(roll("may_roll", ""));
    assert_eq!(arrival()["reason_needed"], Value::Null);
    // Marked first as something else: the mark is older than the answer, its part is not.
    let lamp = mark(
        &yard,
        &job,
        ["rear", "2", "6", "100", "104"],
        "broken",
        "decal",
        "new",
    );
    yard.get(roll("may_roll", ""));
    let part = |part: &str| yard.get(json!({"kind": "set_mark", "job": job, "mark": lamp, "part": part}));
    for beyond in ["lamp", "hinge", "door", "rear_guard", "harness"] {
        part(beyond);
        let seen = arrival();
        assert!(
            seen["head"]["roll_doubt"].to_string().contains("fit to roll"),
            "{seen}"
        );
        let refusal = yard.refused("roll_reason", roll("may_roll", "  "));
        assert_eq!(refusal.field.as_deref(), Some("reason"));
        assert_eq!(seen["reason_needed"], refusal.sentence);
        assert!(refusal.sentence.contains(&beyond.replace('_', " ")) && refusal.sentence.contains("396.7"));
        for never in ["safe", "legal"] {
            assert!(!refusal.sentence.contains(never));
        }
    }
    part("decal");
    yard.get(roll("with_limits", "a"));
    part("lamp");
    assert!(
        arrival()["head"]["roll_doubt"]
            .to_string()
            .contains("limits do not answer for")
    );
    yard.get(roll("may_roll", "Lamp replaced, all lamps lit."));
    assert_eq!(arrival()["head"]["roll_doubt"], Value::Null);
    // The office shows the head, and the packet says it.
    assert_eq!(
        arrival()["head"]["roll"]["reason"],
        "Lamp replaced, all lamps lit."
    );
}
