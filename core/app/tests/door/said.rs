//! What is said of a change that is taken back, and of what a photo of the whole unit shows.

use crate::{door::words, given::Job};
use bowseam_jobs::entry::{PhotoOf, PhotoWhen};
use serde_json::{Value, json};

/// What Undo would take back, which it then does.
fn back(job: &Job) -> String {
    let said = job.see("fold_out")["head"]["undo"].as_str().unwrap().to_owned();
    job.get(json!({"kind": "undo"}));
    said
}

pub fn which_was_taken_back() {
    let job = Job::new("6301");
    let tear = job.mark(["roof", "100", "160", "10", "90"], "tear", "roof_sheet", None);
    let hole = job.mark(["curbside", "120", "131", "40", "52"], "hole", "side_sheet", None);
    let which = "tear, roof sheet, roof 100 in to 160 in";
    job.get(json!({"kind": "set_mark", "mark": tear, "note": "fork"}));
    assert_eq!(back(&job), format!("note of a mark ({which})"));
    // What is not on the job any more is named all the same.
    job.get(json!({"kind": "remove_mark", "mark": tear}));
    assert_eq!(back(&job), format!("mark taken off ({which})"));
    let of = PhotoOf::Mark(hole.parse().unwrap());
    job.yard.photo(&job.job, &of, PhotoWhen::Before);
    assert!(back(&job).ends_with("(hole, curbside)"));
    job.get(json!({"kind": "choose_way", "group": hole, "way": "side_patch"}));
    let said = back(&job);
    assert!(
        said.starts_with("way to fix (") && said.contains("curbside"),
        "{said}"
    );
    assert_eq!(
        back(&job),
        "mark on the curbside (hole, side sheet, curbside 120 in to 131 in)"
    );

    job.get(json!({"kind": "choose_way", "group": "roof", "way": "front_section"}));
    job.hole();
    job.agree(&[]);
    let steps = job.see("steps");
    let wanted = |step: &&Value| step["values"].as_array().is_some_and(|values| !values.is_empty());
    let step = steps["steps"].as_array().unwrap().iter().find(wanted).unwrap();
    let value = &step["values"][0];
    let measured = crate::door::as_wanted(value);
    job.get(json!({"kind": "measure", "step": step["key"], "value": value["key"], "measured": measured, "reason": ""}));
    let said = back(&job);
    for part in [&step["title"], &value["what"]] {
        assert!(said.contains(part.as_str().unwrap()), "{said}");
    }

    // The office hears which too, and the packet names what a repair is proved with, by whom and when.
    job.yard.exchange();
    let page = job.yard.get_office(json!({"kind": "office_job", "job": job.job}));
    let since = words(&page["lines_since"]);
    assert!(since.contains(&format!("took a change back ({said})")), "{since}");
    assert!(since.contains(&format!("mark taken off ({which})")), "{since}");
    let packet = job.get(json!({"kind": "packet", "form": "json"}));
    let packet: Value = serde_json::from_str(packet["text"].as_str().unwrap()).unwrap();
    let told = packet["taken_back"].as_array().unwrap();
    assert_eq!(told.len(), 5, "{told:?}");
    assert!(
        told[0]
            .as_str()
            .unwrap()
            .starts_with(&format!("note of a mark ({which}), by "))
    );
    assert!(told[4].as_str().unwrap().starts_with(&said) && words(&packet["taken_back"]).contains(" UTC"));
    let html = job.get(json!({"kind": "packet", "form": "html"}));
    assert!(html["text"].as_str().unwrap().contains("Taken back:"));
}

pub fn what_a_photo_of_the_unit_shows() {
    let job = Job::new("6302");
    let photo = |when| job.yard.photo(&job.job, &PhotoOf::Unit, when);
    let say =
        |sha: &str, view: Value| job.get(json!({"kind": "set_photo_view", "sha256": sha, "view": view}));
    let wanted = || words(&job.see("arrival")["wanted"]);
    // Nobody says anything: they are counted, as ever.
    let first: Vec<String> = (0..3).map(|_| photo(PhotoWhen::Before)).collect();
    assert_eq!(
        wanted(),
        "the four corners and the roof of the unit (3 photos of 5 there)"
    );
    // One is said to be a corner: what lacks is named, and the two others may be any of it.
    say(&first[0], json!("rear_curbside"));
    assert_eq!(
        wanted(),
        "the roadside corner at the nose, the curbside corner at the nose, the roadside corner at the rear and the roof \
         of the unit (2 photos of it there, not said what of)"
    );
    say(&first[1], json!("nose_roadside"));
    say(&first[2], json!("roof"));
    assert_eq!(
        wanted(),
        "the curbside corner at the nose and the roadside corner at the rear of the unit"
    );
    // A side is no corner; one that nobody says may be.
    let side = photo(PhotoWhen::Before);
    say(&side, json!("curbside"));
    assert!(wanted().starts_with("the curbside corner at the nose and"));
    photo(PhotoWhen::Before);
    photo(PhotoWhen::Before);
    assert_eq!(wanted(), "");
    say(&side, Value::Null);
    let seen = job.see("photos");
    let of = |sha: &str| {
        let all = seen["photos"].as_array().unwrap().iter();
        all.clone().find(|photo| photo["sha256"] == sha).unwrap().clone()
    };
    assert_eq!(
        of(&first[0])["shows"],
        "unit 6302, the curbside corner at the rear"
    );
    assert_eq!(
        (of(&side)["view"].clone(), of(&side)["shows"].clone()),
        (Value::Null, json!("unit 6302"))
    );

    // After photos pair by it, whatever order they came in, and the packet says it.
    let after: Vec<String> = (0..2).map(|_| photo(PhotoWhen::After)).collect();
    say(&after[0], json!("roof"));
    say(&after[1], json!("rear_curbside"));
    let html = job.get(json!({"kind": "packet", "form": "html"}));
    let html = html["text"].as_str().unwrap();
    let shown = html.split_once("Before and after").unwrap().1;
    let at = |sha: &str| shown.find(sha).unwrap_or_else(|| panic!("{sha} is not shown"));
    assert!(
        at(&first[0]) < at(&after[1]) && at(&after[1]) < at(&first[1]),
        "a corner stands beside its corner"
    );
    assert!(at(&first[2]) < at(&after[0]));
    assert!(html.contains("the curbside corner at the rear"));

    // On a mark it shows the mark.
    let mark = job.hole();
    let of_mark = json!({"of": "mark", "id": mark});
    job.get(json!({"kind": "move_photo", "sha256": first[0], "of": of_mark, "when": "before"}));
    let ask = json!({"kind": "set_photo_view", "job": job.job, "sha256": first[0], "view": "roof"});
    job.yard.refused("not_of_unit", ask);
    let seen = job.see("photos");
    let moved = seen["photos"]
        .as_array()
        .unwrap()
        .iter()
        .find(|photo| photo["sha256"] == json!(first[0]));
    assert_eq!(moved.unwrap()["view"], Value::Null);
}
