//! What a step fits leaves stock: what was reserved for it and what nobody reserved, once, never what another job holds.

use crate::{
    door::{TECHNICIAN, id},
    given::Job,
    material::stock,
};
use bowseam_figures::{
    cut::{Stock, StockKind},
    measure::Length,
};
use bowseam_jobs::entry::What;
use serde_json::json;
use uuid::Uuid;

fn side_coil() -> Stock {
    stock("side sheet", "side coil", StockKind::Coil, 600, Some(49), 1)
}

pub fn fitted_material_leaves_stock_once() {
    let job = Job::new("6205");
    job.yard.stock(&[side_coil()]);
    job.hole();
    job.get(json!({"kind": "set_reserved", "reserved": true}));
    job.agree(&[]);
    let left = || job.lies("side coil");
    let (before, reserved) = left();
    assert_ne!(reserved, "", "it is reserved");
    job.work_up_to("side_cut_out");
    assert_eq!(
        left(),
        (before.clone(), reserved.clone()),
        "nothing is fitted yet"
    );
    let step = job.step(&format!(
        "side_lay:{}",
        job.see("fold_out")["marks"][0]["id"].as_str().unwrap()
    ));
    assert!(
        step["remark"]
            .as_str()
            .unwrap()
            .contains("out of stock: side sheet"),
        "{step}"
    );
    job.work_up_to("side_lay");
    let (after, held) = left();
    assert_ne!(after, before, "the sheet left the shelf");
    assert_eq!(held, "", "and nothing of it is reserved any more");
    let list = job.see("cut_list");
    assert_eq!(list["done"].as_array().unwrap().len(), 1, "{list}");
    assert!(
        list["plans"]
            .as_array()
            .unwrap()
            .iter()
            .all(|of| of["plan"]["item"] != "side sheet"),
        "{list}"
    );
    // Undo brings back the step with its material; done again it goes once.
    job.get(json!({"kind": "undo"}));
    assert_eq!(left(), (before, reserved));
    job.work_up_to("side_lay");
    assert_eq!(left().0, after);
    let key = job.see("steps")["steps"]
        .as_array()
        .unwrap()
        .iter()
        .find(|step| step["key"].as_str().unwrap().starts_with("side_lay"))
        .unwrap()["key"]
        .clone();
    for done in [false, true] {
        job.get(json!({"kind": "step_done", "step": key, "done": done}));
        assert_eq!(left().0, after, "it is fitted once");
    }
}

fn pieces(count: u32) -> Stock {
    stock("side sheet", "piece", StockKind::Sheet, 96, Some(48), count)
}

/// Another unit on the same yard with the same hole.
fn other(job: &Job, unit: &str) -> String {
    let other = id(&job.yard.get(json!({"kind": "open_job", "unit": unit})));
    let place = json!({"surface": "curbside", "from": "120", "to": "131", "low": "40", "high": "52"});
    let hole = json!({"kind": "add_mark", "job": other, "place": place, "damage": "hole", "part": "side_sheet", "age": "new", "note": "", "found": null});
    let hole = id(&job.yard.get(hole));
    job.yard
        .get(json!({"kind": "choose_way", "job": other, "group": hole, "way": "side_patch"}));
    job.yard
        .get(json!({"kind": "set_reserved", "job": other, "reserved": true}));
    other
}

/// What nobody reserved goes with the step too, what another job reserved does not; what is had from nowhere is said.
pub fn what_nobody_reserved_is_taken_too() {
    let job = Job::new("6210");
    job.yard.stock(&[pieces(1)]);
    let hole = job.hole();
    job.agree(&[]);
    let held = other(&job, "6211");
    let (one, of_other) = job.lies("piece");
    assert_eq!(
        (one.clone(), of_other.clone()),
        (json!("1"), json!("reserved: 1 for unit 6211"))
    );
    let said = job.work_up_to("side_lay");
    assert!(said.contains("Short in stock: 1 × side sheet"), "{said}");
    assert_eq!(
        job.lies("piece"),
        (one, of_other.clone()),
        "it is the other job's"
    );
    assert_eq!(job.see("cut_list")["done"], json!([]));

    // Another one lies there after all: it is taken once, comes back by undo, and the other job keeps its own.
    let step = format!("side_lay:{hole}");
    let done = |done: bool| {
        let saved = job.get(json!({"kind": "step_done", "step": step, "done": done}));
        saved["words"].as_str().unwrap().to_owned()
    };
    done(false);
    job.yard.stock(&[pieces(2)]);
    assert_eq!(done(true), "step done. Out of stock: side sheet from piece.");
    assert_eq!(job.lies("piece"), (json!("1"), of_other.clone()));
    for is in [false, true] {
        done(is);
        assert_eq!(
            job.lies("piece"),
            (json!("1"), of_other.clone()),
            "it is fitted once"
        );
    }
    for _ in 0..3 {
        job.get(json!({"kind": "undo"}));
    }
    assert_eq!(job.lies("piece"), (json!("2"), of_other.clone()));
    assert_eq!(job.see("cut_list")["done"], json!([]));
    let list = job.yard.get(json!({"kind": "cut_list", "job": held}));
    assert_eq!(list["reserved"][0]["held"], true, "{list}");
}

/// Both reserved the only piece, this job later: it holds nothing, and takes nothing from who holds it.
pub fn who_reserved_first_keeps_it() {
    let job = Job::new("6212");
    job.yard.stock(&[pieces(1)]);
    job.hole();
    other(&job, "6213");
    // A phone that had not heard of the other one's.
    let reserved = bowseam_jobs::stock::Reserved {
        item: "side sheet".to_owned(),
        name: "piece".to_owned(),
        count: 1,
        length: Length::ZERO,
        ways: Vec::new(),
    };
    let key = pieces(1).key();
    let what = What::Reserved {
        stock: key,
        reserved: Some(reserved),
    };
    let at = job.job.parse().unwrap();
    job.yard
        .phone
        .store()
        .append(at, TECHNICIAN, Uuid::now_v7(), vec![what])
        .unwrap();
    job.agree(&[]);
    let said = job.work_up_to("side_lay");
    assert!(said.contains("Short in stock: 1 × side sheet"), "{said}");
    let (count, reserved) = job.lies("piece");
    assert_eq!(count, json!("1"));
    assert!(reserved.as_str().unwrap().contains("for unit 6213"), "{reserved}");
}

/// More is taken off a roll than was reserved of it: the damage grew since. Nothing of it stays reserved for nothing.
pub fn the_rest_of_a_roll_goes_with_what_is_reserved_of_it() {
    let job = Job::new("6214");
    job.yard.stock(&[side_coil()]);
    let hole = job.hole();
    job.get(json!({"kind": "set_reserved", "reserved": true}));
    let before = job.lies("side coil");
    assert_ne!(before.1, "");
    let place = json!({"surface": "curbside", "from": "120", "to": "137", "low": "36", "high": "56"});
    job.get(json!({"kind": "set_mark", "mark": hole, "place": place}));
    job.agree(&[]);
    let plan = job.see("cut_list")["plans"][0]["plan"].clone();
    assert_eq!(plan["item"], "side sheet");
    let said = job.work_up_to("side_lay");
    assert!(!said.contains("Short"), "{said}");
    let after = job.lies("side coil");
    assert_ne!(after.0, before.0);
    assert_eq!(after.1, "");
    let list = job.see("cut_list");
    assert_eq!(list["done"].as_array().unwrap().len(), 1, "{list}");
    job.get(json!({"kind": "undo"}));
    assert_eq!(job.lies("side coil"), before);
}

/// Somebody put it on the buying list and did not say yet that it is here: nothing is taken off the shelf for it. What the
/// Roof-off check or the list says to be here is cut, and no stock is less.
pub fn what_is_bought_takes_nothing_off_the_shelf() {
    let job = Job::new("6215");
    job.yard.stock(&[pieces(0)]);
    job.hole();
    job.get(json!({"kind": "set_reserved", "reserved": true}));
    job.agree(&[]);
    let rows = job.see("buying_list")["rows"].clone();
    let own = |row: &&serde_json::Value| row["item"] == "side sheet";
    let line = rows.as_array().unwrap().iter().find(own).unwrap()["line"].clone();
    job.yard.stock(&[pieces(3)]);
    let said = job.work_up_to("side_lay");
    assert!(
        said.contains("1 × side sheet") && said.contains("is on the buying list and not said to be here"),
        "{said}"
    );
    assert_eq!(job.lies("piece").0, json!("3"));
    job.get(json!({"kind": "undo"}));
    job.yard.stock(&[pieces(0)]);
    job.get(json!({"kind": "set_buying", "line": line, "field": "here", "value": "rack 9"}));
    let said = job.work_up_to("side_lay");
    assert_eq!(said, "step done");
    let list = job.see("cut_list");
    assert_eq!(list["done"].as_array().unwrap().len(), 1, "{list}");
    assert_eq!(job.lies("piece").0, json!("0"));
}
