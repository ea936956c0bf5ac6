//! Ways of parts other than roof and side sheet, asked at the door: from the mark to ways, figures, steps and cut
//! list; and what the maker decides.

use crate::door::{PIN, TECHNICIAN, Yard, id};
use serde_json::{Value, json};

pub fn ways_of_parts() {
    let yard = Yard::new();
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    let job = id(&yard.get(json!({"kind": "open_job", "unit": "7311"})));
    let mark = |surface: &str, place: [&str; 4], part: &str, damage: &str| {
        let [from, to, low, high] = place;
        let place = json!({"surface": surface, "from": from, "to": to, "low": low, "high": high});
        id(&yard.get(json!({"kind": "add_mark", "job": job, "place": place, "damage": damage, "part": part, "age": "new", "note": "", "found": null})))
    };
    let post = mark("curbside", ["110", "114", "40", "50"], "side_post", "tear");
    let rail = mark("nose", ["10", "90", "106", "110"], "nose_rail", "bend");
    let guard = mark("rear", ["10", "90", "0", "4"], "rear_guard", "crack");
    let choose = |group: &str, way: &str| {
        yard.get(json!({"kind": "choose_way", "job": job, "group": group, "way": way}));
    };
    let does_not_fit = json!({"kind": "choose_way", "job": job, "group": "roof", "way": "splice"});
    assert!(
        yard.refused("does_not_fit", does_not_fit)
            .sentence
            .contains("longer than what a splice mends, 36 in")
    );
    choose(&post, "splice");
    choose("roof", "replace");
    let by_hand = json!({"hours": "5", "people": 2, "lines": [], "note": "by sheet 12"});
    yard.get(json!({"kind": "choose_way", "job": job, "group": guard, "way": "by_hand", "by_hand": by_hand}));
    let steps = yard.get(json!({"kind": "steps", "job": job}));
    let keys: Vec<&str> = steps["steps"]
        .as_array()
        .unwrap()
        .iter()
        .map(|step| step["key"].as_str().unwrap())
        .collect();
    let at = |key: String| {
        keys.iter()
            .position(|other| *other == key)
            .unwrap_or_else(|| panic!("{key}: {keys:?}"))
    };
    assert!(at(format!("part_hold:{rail}")) < at(format!("part_edge:{rail}")));
    assert!(at(format!("part_cut:{post}")) < at(format!("part_fasten:{post}")));
    assert!(at(format!("ask_the_maker:{guard}")) < at(format!("by_hand:{guard}")));
    assert_eq!(
        yard.get(json!({"kind": "roof_off", "job": job}))["needed"],
        false,
        "the sheet stays"
    );
    let step = |key: String| -> Value { steps["steps"][at(key)].clone() };
    let hold = step(format!("part_hold:{rail}"));
    assert_eq!(
        (hold["values"][0]["form"].as_str(), hold["figured_hours"].as_str()),
        (Some("length"), Some("1"))
    );
    assert_eq!(step(format!("part_look:{post}"))["figured_hours"], "2.2");
    let cuts = yard.get(json!({"kind": "cut_list", "job": job})).to_string();
    for wanted in ["side post", "28 in", "nose rail", "101 1/2 in", "front roof bow"] {
        assert!(cuts.contains(wanted), "{wanted}: {cuts}");
    }
    let figures = yard.get(json!({"kind": "figures", "job": job})).to_string();
    assert!(figures.contains("New nose rail, the roof sheet stays") && figures.contains("splice rivets"));
    let book = yard.get(json!({"kind": "shop_book"})).to_string();
    assert!(book.contains("Splice of a rail past the cut-out, each side"));
}

#[test]
fn the_roof_stays_closed_while_a_header_a_hinge_a_lamp_or_the_sealant_of_a_side_is_not_there() {
    let yard = Yard::new();
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    let job = id(&yard.get(json!({"kind": "open_job", "unit": "7312"})));
    let mark = |surface: &str, place: [&str; 4], part: &str, damage: &str| {
        let [from, to, low, high] = place;
        let place = json!({"surface": surface, "from": from, "to": to, "low": low, "high": high});
        id(&yard.get(json!({"kind": "add_mark", "job": job, "place": place, "damage": damage, "part": part, "age": "new", "note": "", "found": null})))
    };
    mark("roof", ["3", "149", "20", "60"], "roof_sheet", "tear");
    let header = mark("rear", ["8", "61", "104", "110"], "rear_header", "bend");
    let hinge = mark("rear", ["0", "4", "20", "26"], "hinge", "bend");
    let lamp = mark("rear", ["40", "44", "104", "106"], "lamp", "broken");
    let side = mark("curbside", ["200", "206", "40", "46"], "side_sheet", "hole");
    for (group, way) in [
        ("roof", "front_section"),
        (&hinge, "new_pin"),
        (&lamp, "replace"),
        (&side, "side_patch"),
    ] {
        yard.get(json!({"kind": "choose_way", "job": job, "group": group, "way": way}));
    }
    let line = |item: &str, quantity: &str| json!({"item": item, "quantity": quantity, "unit_price": "1.00"});
    let lines = [
        line("rear header, bolt-on", "1"),
        line("header bolts", "4"),
        line("header bolts", "8.0"),
    ];
    let by_hand = json!({"hours": "5", "people": 2, "lines": lines, "note": "by sheet 12"});
    yard.get(
        json!({"kind": "choose_way", "job": job, "group": header, "way": "by_hand", "by_hand": by_hand}),
    );
    let check = yard.get(json!({"kind": "roof_off", "job": job}));
    let rows = check["rows"].as_array().unwrap();
    for (item, wanted, mark) in [
        ("rear header, bolt-on", "1 each", &header),
        ("header bolts", "12 each", &header),
        ("hinge pin", "1 each", &hinge),
        ("lamp", "1 each", &lamp),
        ("sealed connector", "1 each", &lamp),
        ("sealant cartridges", "1 each", &side),
    ] {
        let key = format!("on_hand:{}:{mark}", item.replace(' ', "_"));
        let row = rows.iter().find(|row| row["key"] == key.as_str());
        let row = row.unwrap_or_else(|| panic!("{item} is not on the check: {check}"));
        assert_eq!(row["wanted"], format!("{wanted}, with its shelf place"));
        assert_eq!(row["ok"], false);
        let there = json!({"kind": "set_on_hand", "job": job, "item": key, "have": true, "place": "B 2"});
        yard.get(there);
    }
}
