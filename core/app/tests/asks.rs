//! Every kind of ask is asked by a test. What the door takes is read from its own refusal of a kind that is
//! none, so a kind that is added without a test is found.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::cast_possible_truncation
)]

#[path = "door/apart.rs"]
mod apart;
#[path = "door/bay.rs"]
mod bay;
#[path = "door/book.rs"]
mod book;
#[path = "door/camera.rs"]
mod camera;
#[path = "door/ceiling.rs"]
mod ceiling;
#[path = "door/clocks.rs"]
mod clocks;
#[path = "door/mod.rs"]
mod door;
#[path = "door/evidence.rs"]
mod evidence;
#[path = "door/fitted.rs"]
mod fitted;
#[path = "door/given.rs"]
mod given;
#[path = "door/journey.rs"]
mod journey;
#[path = "door/material.rs"]
mod material;
#[path = "door/office.rs"]
mod office;
#[path = "door/parts.rs"]
mod parts;
#[path = "door/photo.rs"]
mod photo;
#[path = "door/said.rs"]
mod said;
#[path = "door/trailer.rs"]
mod trailer;

use bowseam_app::{App, Ask, Asker, Kind};
use bowseam_jobs::entry::{ArrivalField, What};
use door::{PIN, SUPERVISOR, TECHNICIAN, Yard, asked, id, words};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use uuid::Uuid;

#[test]
fn a_job_goes_from_its_opening_to_its_handover() {
    journey::whole_job();
}

#[test]
fn two_jobs_that_reserve_one_drop_apart_see_who_was_first_and_a_changed_way_frees_it() {
    material::clash();
}

#[test]
fn a_supervisor_changes_the_shop_book_and_every_value_is_read_back_as_it_is_shown() {
    book::values();
}

#[test]
fn stock_is_counted_anew_and_keeps_who_reserved_it() {
    book::stock();
}

#[test]
fn what_was_agreed_stands_when_the_shop_book_changes() {
    book::agreed_figures_stand();
}

#[test]
fn a_closed_day_moves_the_promise() {
    book::closed_days();
}

#[test]
fn a_job_waits_for_a_bay_behind_those_that_were_agreed_before_it() {
    book::queue_for_the_bays();
}

#[test]
fn two_tears_far_apart_are_two_sections_old_damage_has_its_own_sum_and_a_dent_may_stay() {
    apart::two_sections_and_old_damage();
}

#[test]
fn what_is_cut_is_used_and_what_is_left_of_it_is_a_drop_for_everybody() {
    material::cuts_and_drops();
}

#[test]
fn what_is_short_is_bought_holds_the_check_and_moves_the_promised_day() {
    material::buying();
}

#[test]
fn ways_figures_check_steps_and_promise_say_the_same_hours_of_the_same_work() {
    given::one_number_for_the_open_roof();
}

#[test]
fn of_a_part_that_is_given_that_part_alone_is_bought_reserved_checked_and_done() {
    given::a_part_alone_is_bought_checked_and_counted();
}

#[test]
fn an_hour_more_moves_the_promise_only_where_the_day_has_no_room() {
    given::an_hour_more_is_not_a_day_more();
}

#[test]
fn what_the_roof_off_check_found_is_bought_no_more() {
    given::what_the_check_found_is_not_bought();
}

#[test]
fn a_reason_goes_with_the_value_that_it_was_given_for() {
    trailer::a_reason_goes_with_its_value();
}

#[test]
fn what_is_looked_at_is_one_of_two_and_a_temperature_is_a_number() {
    trailer::what_is_looked_at_is_chosen();
}

#[test]
fn an_open_page_hears_of_what_came_and_a_step_that_shuts_another_is_one_tap_away() {
    trailer::an_open_page_hears_of_what_came();
}

#[test]
fn a_photo_on_its_mark_shows_what_was_found() {
    trailer::a_photo_on_its_mark_shows_what_was_found();
}

#[test]
fn what_is_cut_is_on_hand_and_what_is_here_is_not_to_be_bought() {
    trailer::what_is_cut_is_on_hand();
}

#[test]
fn before_photos_show_the_roof_and_the_inside_that_can_be_seen() {
    trailer::before_photos_show_roof_and_inside();
}

#[test]
fn material_leaves_stock_once_with_the_step_that_fits_it_and_comes_back_by_undo() {
    fitted::fitted_material_leaves_stock_once();
}

#[test]
fn a_supplement_that_was_asked_under_older_rules_keeps_its_go_ahead() {
    given::a_supplement_of_older_rules_stands();
}

#[test]
fn a_part_that_is_given_is_planned_anew_when_the_shop_book_changes() {
    given::a_part_is_planned_by_the_book_of_today();
}

#[test]
fn stock_that_nobody_reserved_goes_with_the_step_too_and_what_is_short_is_said() {
    fitted::what_nobody_reserved_is_taken_too();
}

#[test]
fn what_another_job_reserved_first_is_not_taken_by_a_step() {
    fitted::who_reserved_first_keeps_it();
}

#[test]
fn what_is_bought_for_a_job_takes_nothing_off_the_shelf() {
    fitted::what_is_bought_takes_nothing_off_the_shelf();
}

#[test]
fn a_roll_of_which_more_is_cut_than_was_reserved_keeps_no_reservation() {
    fitted::the_rest_of_a_roll_goes_with_what_is_reserved_of_it();
}

#[test]
fn photos_of_what_was_found_are_the_before_photos_of_its_marks() {
    given::found_photos_are_before_photos();
}

#[test]
fn a_rail_keeps_its_holes_and_a_worn_one_takes_the_next_size() {
    material::holes();
}

#[test]
fn a_phone_without_an_office_keeps_what_it_has() {
    outside_of_a_job();
}

#[test]
fn the_office_gives_a_go_ahead_for_a_part_or_up_to_a_ceiling() {
    office::part_and_ceiling();
}

#[test]
fn a_go_ahead_for_a_part_goes_up_to_a_ceiling() {
    ceiling::a_part_up_to_a_ceiling();
}

#[test]
fn an_open_unit_and_who_waited_longest_come_first_at_the_office_and_an_answer_leads_to_the_next() {
    office::whose_turn_it_is();
}

#[test]
fn the_office_writes_on_a_job_and_sees_what_is_new() {
    office::on_a_job();
}

#[test]
fn a_clash_is_settled_by_saying_which_is_right() {
    office::settled();
}

#[test]
fn people_have_qualifications_that_run_out_and_phones_are_made_known_by_three_forms_of_a_code() {
    office::people_and_phones();
}

#[test]
fn hours_that_jobs_took_become_a_proposal_that_is_taken_or_left() {
    office::learned();
}

#[test]
fn a_way_of_a_part_goes_from_the_mark_to_figures_steps_and_cut_list() {
    parts::ways_of_parts();
}

#[test]
fn a_photo_is_measured_in_drawn_over_and_put_elsewhere() {
    photo::photos_of_a_job();
}

#[test]
fn room_is_freed_by_choice_and_never_of_what_the_office_lacks() {
    photo::room();
}

#[test]
fn a_supervisor_overrules_a_no_go_with_a_reason() {
    overruled();
}

#[test]
fn earlier_repairs_and_the_chosen_sections_are_followed_to_the_steps() {
    sections();
}

#[test]
fn who_signed_in_on_a_phone_is_still_there_after_a_restart() {
    let folder = tempfile::TempDir::new().unwrap();
    let person = |app: &App| {
        let hello = door::ask_at(app, None, json!({"kind": "hello"}), None).unwrap();
        serde_json::to_value(hello).unwrap()["signed_in"].clone()
    };
    let app = App::open(folder.path(), Kind::Phone).unwrap();
    door::people(&app);
    assert_eq!(person(&app), Value::Null);
    let sign_in = json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN});
    door::ask_at(&app, None, sign_in, None).unwrap();
    assert!(
        App::open(folder.path(), Kind::Phone).is_err(),
        "a second program on the same folder is refused"
    );
    drop(app);
    assert_eq!(
        person(&App::open(folder.path(), Kind::Phone).unwrap()),
        json!(TECHNICIAN)
    );
}

#[test]
fn two_who_change_the_same_thing_apart_see_that_it_happened() {
    let yard = Yard::new();
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    let job = id(&yard.get(json!({"kind": "open_job", "unit": "2093"})));
    yard.exchange();
    let slot = |value: &str| json!({"kind": "set_arrival", "job": job, "field": "slot", "value": value});
    yard.get(slot("row A, 7"));
    yard.get_office(slot("row C, 1"));
    yard.exchange();
    let seen = [
        yard.get(json!({"kind": "arrival", "job": job})),
        yard.get_office(json!({"kind": "arrival", "job": job})),
    ];
    let said = words(&seen[0]["head"]["clashes"]);
    assert!(
        said.starts_with("arrival slot: B. Supervisor and A. Technician changed it"),
        "{said}"
    );
    assert_eq!(seen[0]["head"]["clashes"], seen[1]["head"]["clashes"]);
    assert_eq!(seen[0]["fields"], seen[1]["fields"], "both hold the same value");
}

#[test]
fn a_sealed_unit_says_so_on_every_screen_and_in_its_packet() {
    trailer::a_sealed_unit_says_so();
}

#[test]
fn undo_the_office_and_the_packet_say_which_change_was_taken_back() {
    said::which_was_taken_back();
}

#[test]
fn views_of_the_unit_that_no_photo_shows_are_named_once_somebody_said_what_photos_show() {
    said::what_a_photo_of_the_unit_shows();
}

#[test]
fn every_kind_of_ask_is_asked_by_a_test() {
    said::what_a_photo_of_the_unit_shows();
    outside_of_a_job();
    overruled();
    photo::photos_of_a_job();
    material::clash();
    material::cuts_and_drops();
    material::buying();
    material::holes();
    book::values();
    book::stock();
    book::closed_days();
    photo::room();
    office::part_and_ceiling();
    office::on_a_job();
    office::settled();
    office::people_and_phones();
    office::learned();
    journey::whole_job();
    let kinds = kinds();
    assert!(kinds.len() > 50, "{kinds:?}");
    let never: Vec<&String> = kinds
        .difference(&asked())
        .map(|kind| kinds.get(kind).unwrap())
        .collect();
    assert!(never.is_empty(), "no test asks {never:?}");
}

/// The kinds that the door takes, as its refusal of another one names them.
fn kinds() -> BTreeSet<String> {
    let refusal = serde_json::from_value::<Ask>(json!({"kind": "?"}))
        .unwrap_err()
        .to_string();
    let (_, list) = refusal.split_once("expected one of ").unwrap();
    list.split(", ")
        .map(|kind| kind.trim_matches('`').to_owned())
        .collect()
}

fn outside_of_a_job() {
    let yard = Yard::new();
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    let job = id(&yard.get(json!({"kind": "open_job", "unit": "1188"})));
    yard.refused("no_job", json!({"kind": "arrival", "job": TECHNICIAN}));
    let draft = |text: &str| json!({"kind": "keep_draft", "job": job, "key": "release", "text": text});
    yard.get(draft("door seal is new"));
    assert_eq!(
        yard.get(json!({"kind": "drafts", "job": job}))["drafts"],
        json!({"release": "door seal is new"})
    );
    yard.refused("draft_long", draft(&"x".repeat(20_001)));
    yard.get(draft(""));
    assert_eq!(
        yard.get(json!({"kind": "drafts", "job": job}))["drafts"],
        json!({})
    );
    yard.refused("no_office", json!({"kind": "try_now"}));
    yard.refused("no_office", json!({"kind": "write_card"}));
    let outbox = yard.get(json!({"kind": "outbox"}));
    assert_eq!(
        (
            outbox["rows"][0]["state"].as_str(),
            outbox["rows"][0]["entries"].clone()
        ),
        (Some("waiting"), json!(1))
    );
    assert_eq!(yard.get(json!({"kind": "hello"}))["waiting"], 1);
    yard.get(json!({"kind": "enrol", "office": "http://127.0.0.1:1/office", "code": "ABCD2345", "name": "phone 3"}));
    let office = json!({"url": "http://127.0.0.1:1/office", "token": "t", "name": "Office"});
    yard.phone.store().set_setting("office", &office).unwrap();
    yard.get(json!({"kind": "try_now"}));
    assert_eq!(yard.get(json!({"kind": "outbox"}))["photos_wait"], json!(false));
    yard.get(json!({"kind": "photos_wait", "wait": true}));
    let outbox = yard.get(json!({"kind": "outbox"}));
    assert_eq!(
        (&outbox["photos_wait"], &outbox["metered"]),
        (&json!(true), &Value::Null)
    );
    let written = yard.get(json!({"kind": "write_card"}));
    assert_eq!(
        (written["entries"].clone(), written["photos"].clone()),
        (json!(1), json!(0))
    );
    let card = bowseam_app::door::packet(&yard.phone, written["name"].as_str().unwrap()).unwrap();
    assert_eq!(card.1, "application/x-tar");
    yard.refused("send_card", json!({"kind": "read_card_back"}));
    let book = yard.get(json!({"kind": "shop_book"}));
    assert!(
        book["values"]
            .as_array()
            .unwrap()
            .iter()
            .any(|row| row["group"] == "roof")
    );
    yard.refused("not_the_office", json!({"kind": "new_code"}));
    assert_eq!(
        yard.get_office(json!({"kind": "new_code"}))["code"]
            .as_str()
            .unwrap()
            .len(),
        8
    );
    assert_eq!(
        door::ask_at(&yard.office, None, json!({"kind": "new_code"}), None)
            .unwrap_err()
            .code,
        "sign_in"
    );
    yard.get(json!({"kind": "sign_out"}));
    yard.refused(
        "sign_in",
        json!({"kind": "set_arrival", "job": job, "field": "slot", "value": "A"}),
    );
    // A restart finds the phone as it was left: nobody signed in, the job there.
    assert_eq!(
        yard.get(json!({"kind": "yard", "find": ""}))["rows"][0]["unit"],
        "1188"
    );
}

fn overruled() {
    let yard = Yard::new();
    yard.get(json!({"kind": "sign_in", "person": SUPERVISOR, "pin": PIN}));
    let job = id(&yard.get(json!({"kind": "open_job", "unit": "6071"})));
    let place = json!({"surface": "roof", "from": "100", "to": "160", "low": "10", "high": "90"});
    let mark = json!({"kind": "add_mark", "job": job, "place": place, "damage": "tear", "part": "roof_sheet", "age": "new", "note": "", "found": null});
    yard.get(mark);
    let refusal = yard.refused("not_needed", json!({"kind": "open_roof", "job": job}));
    assert!(refusal.sentence.contains("no check is needed"));
    yard.get(json!({"kind": "choose_way", "job": job, "group": "roof", "way": "front_section"}));
    yard.refused("no_go_ahead", json!({"kind": "open_roof", "job": job}));
    yard.get(json!({"kind": "ask_go_ahead", "job": job, "found": null}));
    let hash = yard.get(json!({"kind": "figures", "job": job}))["hash"].clone();
    yard.get(json!({"kind": "go_ahead", "job": job, "hash": hash, "amount": "", "note": ""}));
    yard.refused("no_go", json!({"kind": "open_roof", "job": job}));
    yard.refused(
        "reason_missing",
        json!({"kind": "overrule", "job": job, "reason": " "}),
    );
    yard.get(json!({"kind": "overrule", "job": job, "reason": "in the hall, sheet comes at noon"}));
    yard.get(json!({"kind": "open_roof", "job": job}));
    let check = yard.get(json!({"kind": "roof_off", "job": job}));
    assert_eq!(check["go"], false, "overruled is not a go");
    assert!(
        check["overruled"]
            .as_str()
            .unwrap()
            .contains("B. Supervisor overruled the no-go: in the hall")
    );
    assert_ne!(words(&check["lacks"]), "");
    assert_ne!(check["opened"], Value::Null);
}

/// Damage 245 to 300 and an old seam at 336 (bow 14): bow 13 at 312 would leave 24 in of old sheet, so the seams lie at
/// bows 10 (240) and 14: 96 + 2 of lap + 5 for stretching = 103 in of sheet.
fn sections() {
    let yard = Yard::new();
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    let job = id(&yard.get(json!({"kind": "open_job", "unit": "7203"})));
    let mark = |surface: &str, place: [&str; 4], part: &str| {
        let [from, to, low, high] = place;
        let place = json!({"surface": surface, "from": from, "to": to, "low": low, "high": high});
        id(&yard.get(json!({"kind": "add_mark", "job": job, "place": place, "damage": "tear", "part": part, "age": "new", "note": "", "found": null})))
    };
    mark("roof", ["245", "300", "10", "90"], "roof_sheet");
    let side = mark("curbside", ["66", "70", "40", "52"], "side_sheet");
    let plan =
        |field: &str, value: &str| json!({"kind": "set_plan", "job": job, "field": field, "value": value});
    yard.get(plan("roof_seams", "336"));
    for wrong in ["glass 3 to 4, 5 to 6", "roof 3, 5", "roof 3 to x, 5 to 6"] {
        let refusal = yard.refused("places_unread", plan("earlier_patches", wrong));
        assert!(refusal.sentence.contains("curbside 120 to 132, 40 to 52"));
    }
    yard.refused("plan_patches", plan("earlier_patches", "roof 600 to 700, 5 to 6"));
    yard.get(plan(
        "earlier_patches",
        "Curbside 78 to 84, 10 to 20; roof 500 to 510, 20 to 30",
    ));
    let view = yard.get(json!({"kind": "fold_out", "job": job}));
    let kept = view["plan"]
        .as_array()
        .unwrap()
        .iter()
        .find(|it| it["field"] == "earlier_patches");
    assert_eq!(
        kept.unwrap()["value"],
        "curbside 78 in to 84 in, 10 in to 20 in; roof 500 in to 510 in, 20 in to 30 in"
    );
    // What is shown can be typed again.
    yard.get(plan("earlier_patches", kept.unwrap()["value"].as_str().unwrap()));
    let lines = view["outside"]["lines"].as_array().unwrap();
    assert_eq!(
        lines
            .iter()
            .filter(|line| line["what"] == "earlier_patch")
            .count(),
        8
    );
    // Nothing is chosen: the shortest that would fit is drawn.
    let seams = view["seams"].as_array().unwrap().iter();
    let said: Vec<&str> = seams.map(|seam| seam["words"].as_str().unwrap()).collect();
    assert_eq!(
        said,
        ["seam at bow 10, station 240 in", "seam at bow 14, station 336 in"]
    );
    for (group, way) in [("roof", "middle_section"), (side.as_str(), "side_section")] {
        yard.get(json!({"kind": "choose_way", "job": job, "group": group, "way": way}));
    }
    let steps = yard.get(json!({"kind": "steps", "job": job})).to_string();
    for key in [
        "free_ahead",
        "front_seam",
        "trim_rear",
        &format!("side_on:{side}"),
    ] {
        assert!(steps.contains(&format!("\"key\":\"{key}\"")), "{key}");
    }
    assert!(
        yard.get(json!({"kind": "cut_list", "job": job}))
            .to_string()
            .contains("103 in")
    );
    assert_eq!(yard.get(json!({"kind": "roof_off", "job": job}))["needed"], true);
}

#[test]
fn a_long_list_comes_at_once_ends_whole_and_is_kept_over_a_restart() {
    let folder = tempfile::tempdir().unwrap();
    let open = || App::open(folder.path(), Kind::Phone).unwrap();
    let app = open();
    let field = ArrivalField::Slot;
    for n in 0..55_u32 {
        let (job, act, unit) = (Uuid::now_v7(), Uuid::now_v7(), format!("{}", 6000 + n));
        let slot = What::Arrival {
            field,
            value: Some(format!("row {n}")),
        };
        app.store()
            .append(job, TECHNICIAN, act, vec![What::Opened { unit }, slot])
            .unwrap();
    }
    let yard = |app: &App| {
        let ask = serde_json::from_value(json!({"kind": "yard", "find": ""})).unwrap();
        let answer = app.ask(&Asker::default(), ask, None).unwrap();
        serde_json::to_value(answer).unwrap()["rows"]
            .as_array()
            .unwrap()
            .clone()
    };
    let mut asked = 0;
    let whole = loop {
        let rows = yard(&app);
        assert_eq!(rows.len(), 55, "every row is there from the first answer on");
        assert_eq!(rows[0]["unit"], "6054");
        asked += 1;
        assert!(asked <= 56, "each answer figures one row at least");
        if rows.iter().all(|row| row["later"] == false) {
            break rows;
        }
    };
    assert!(
        whole
            .iter()
            .all(|row| row["waits_for"] == "marks on the Fold-out")
    );
    drop(app);
    assert_eq!(yard(&open()), whole, "kept, so whole at the first answer");
}
