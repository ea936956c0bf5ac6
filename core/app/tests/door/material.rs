//! Material through the door: two jobs that reserve the same drop apart, cuts and the drops they leave, the buying
//! list and the day that the unit is promised for.

use crate::door::{PIN, SUPERVISOR, TECHNICIAN, Yard, id, words};
use bowseam_figures::{
    cut::{Stock, StockKind},
    measure::Length,
};
use serde_json::{Value, json};

pub fn stock(item: &str, name: &str, kind: StockKind, length: i64, width: Option<i64>, count: u32) -> Stock {
    Stock {
        id: String::new(),
        item: item.to_owned(),
        name: name.to_owned(),
        kind,
        length: Length::inches(length),
        width: width.map(Length::inches),
        thickness: width.map(|_| Length::thousandths(40)),
        place: format!("rack {name}"),
        count,
        price: None,
        counted: 0,
    }
}

/// A drop that is enough for one section, a coil, bows for one job, seam tape; no foam tape.
fn shelf() -> Vec<Stock> {
    vec![
        stock("roof sheet", "drop 15 ft", StockKind::Drop, 180, Some(104), 1),
        stock("roof sheet", "coil", StockKind::Coil, 1272, Some(104), 1),
        stock("roof bow", "bow 102", StockKind::Bar, 102, None, 3),
        stock("seam tape", "seam roll", StockKind::Coil, 1296, None, 1),
    ]
}

/// A unit whose roof gets a front section: 175 in of sheet, two bows.
fn front_section(ask: &impl Fn(Value) -> Value, unit: &str) -> String {
    let job = id(&ask(json!({"kind": "open_job", "unit": unit})));
    let place = json!({"surface": "roof", "from": "100", "to": "160", "low": "10", "high": "90"});
    ask(
        json!({"kind": "add_mark", "job": job, "place": place, "damage": "tear", "part": "roof_sheet", "age": "new", "note": "", "found": null}),
    );
    ask(json!({"kind": "choose_way", "job": job, "group": "roof", "way": "front_section"}));
    job
}

fn plan<'v>(list: &'v Value, item: &str) -> &'v Value {
    let plans = list["plans"].as_array().unwrap();
    let found = plans.iter().find(|of| of["plan"]["item"] == item);
    &found.unwrap_or_else(|| panic!("no plan for {item}: {list}"))["plan"]
}

fn started() -> Yard {
    let yard = Yard::new();
    yard.stock(&shelf());
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    yard
}

pub fn clash() {
    let yard = started();
    let first = front_section(&|ask| yard.get(ask), "6071");
    let second = front_section(&|ask| yard.get_office(ask), "6072");
    let list = yard.get(json!({"kind": "cut_list", "job": first}));
    assert_eq!(plan(&list, "roof sheet")["from"], "drop 15 ft");
    assert_eq!(
        (list["to_reserve"].clone(), list["reserved"].clone()),
        (json!(true), json!([]))
    );
    yard.get(json!({"kind": "set_reserved", "job": first, "reserved": true}));
    // The other one has not heard of it, and reserves the same drop a moment later.
    yard.get_office(json!({"kind": "set_reserved", "job": second, "reserved": true}));
    yard.exchange();
    for ask in [&|ask| yard.get(ask), &|ask| yard.get_office(ask)] as [&dyn Fn(Value) -> Value; 2] {
        let head = |job: &str| words(&ask(json!({"kind": "cut_list", "job": job}))["head"]["clashes"]);
        let (early, late) = (head(&first), head(&second));
        assert!(
            early.contains("drop 15 ft: unit 6072 reserved it as well, later"),
            "{early}"
        );
        assert!(late.contains("drop 15 ft: unit 6071 reserved it first"), "{late}");
        assert!(late.contains("holds 0 of 1"), "{late}");
    }
    let list = yard.get(json!({"kind": "cut_list", "job": second}));
    assert_eq!(
        plan(&list, "roof sheet")["from"],
        "coil",
        "the later one plans from what is left"
    );
    yard.get_office(json!({"kind": "set_reserved", "job": second, "reserved": true}));
    yard.exchange();
    let list = yard.get(json!({"kind": "cut_list", "job": first}));
    assert_eq!(
        (words(&list["head"]["clashes"]), list["to_reserve"].clone()),
        (String::new(), json!(false))
    );
    let book = yard.get(json!({"kind": "shop_book"}));
    let row = |name: &str| {
        book["stock"]
            .as_array()
            .unwrap()
            .iter()
            .find(|row| row["name"].as_str().unwrap().ends_with(name))
            .unwrap()
            .clone()
    };
    assert_eq!(row("drop 15 ft")["reserved"], "reserved: 1 for unit 6071");
    assert_eq!(
        row("bow 102")["reserved"],
        "reserved: 2 for unit 6071 and 1 for unit 6072"
    );
    // Another way, and the drop is free; taken back, it is held again.
    yard.get(json!({"kind": "choose_way", "job": first, "group": "roof", "way": "whole_roof"}));
    let held =
        |yard: &Yard| yard.get(json!({"kind": "cut_list", "job": first}))["reserved"][0]["held"].clone();
    assert_eq!(held(&yard), false);
    yard.get(json!({"kind": "undo", "job": first}));
    assert_eq!(held(&yard), true);
    yard.get(json!({"kind": "set_reserved", "job": first, "reserved": false}));
    assert_eq!(
        yard.get(json!({"kind": "cut_list", "job": first}))["reserved"],
        json!([])
    );
}

pub fn cuts_and_drops() {
    let yard = started();
    let job = front_section(&|ask| yard.get(ask), "6073");
    let ask = |ask: Value| {
        let mut ask = ask;
        ask["job"] = json!(job);
        ask
    };
    yard.get(ask(json!({"kind": "set_reserved", "reserved": true})));
    let list = yard.get(ask(json!({"kind": "cut_list"})));
    let sheet = plan(&list, "roof sheet").clone();
    assert_eq!(
        sheet["cuts"].as_array().unwrap().len(),
        2,
        "across, then ripped: {sheet}"
    );
    yard.refused(
        "no_cut",
        ask(json!({"kind": "set_cut", "cut": "no such plan", "done": true})),
    );
    let foam = plan(&list, "foam tape").clone();
    assert_eq!(foam["buy"], true);
    yard.refused(
        "not_here",
        ask(json!({"kind": "set_cut", "cut": foam["key"], "done": true})),
    );
    yard.get(ask(json!({"kind": "set_cut", "cut": sheet["key"], "done": true})));
    let bows = plan(&list, "roof bow").clone();
    yard.get(ask(json!({"kind": "set_cut", "cut": bows["key"], "done": true})));
    let list = yard.get(ask(json!({"kind": "cut_list"})));
    let left: Vec<&str> = list["plans"]
        .as_array()
        .unwrap()
        .iter()
        .map(|of| of["plan"]["item"].as_str().unwrap())
        .collect();
    assert_eq!(
        left,
        ["seam tape", "foam tape"],
        "what is cut is not planned again"
    );
    let done = &list["done"][0];
    assert_eq!(
        (done["item"].clone(), done["from"].clone()),
        (json!("roof sheet"), json!("drop 15 ft"))
    );
    assert_eq!(done["left"], json!([]), "5 in of sheet are not worth keeping");
    let stock = |name: &str| {
        let book = yard.get(json!({"kind": "shop_book"}));
        book["stock"]
            .as_array()
            .unwrap()
            .iter()
            .find(|row| row["name"].as_str().unwrap().contains(name))
            .map(|row| row["count"].clone())
    };
    assert_eq!(
        (stock("drop 15 ft"), stock("bow 102")),
        (Some(json!("0")), Some(json!("1")))
    );
    // A cut from the coil leaves a strip: not after all, and once more from the coil, since the drop is used.
    yard.get(ask(json!({"kind": "set_cut", "cut": done["cut"], "done": false})));
    assert_eq!(stock("drop 15 ft"), Some(json!("1")));
    yard.stock(&[stock_wide()]);
    let list = yard.get(ask(json!({"kind": "cut_list"})));
    let sheet = plan(&list, "roof sheet").clone();
    yard.get(ask(json!({"kind": "set_cut", "cut": sheet["key"], "done": true})));
    let list = yard.get(ask(json!({"kind": "cut_list"})));
    let done = list["done"]
        .as_array()
        .unwrap()
        .iter()
        .find(|cut| cut["item"] == "roof sheet")
        .unwrap()
        .clone();
    assert!(
        done["left"][0]["size"]
            .as_str()
            .unwrap()
            .starts_with("175 in by 37 3/4 in"),
        "{done}"
    );
    let keep = |place: &str| ask(json!({"kind": "keep_drop", "cut": done["cut"], "left": 0, "place": place}));
    yard.refused("place_missing", keep(" "));
    yard.refused(
        "no_left",
        ask(json!({"kind": "keep_drop", "cut": done["cut"], "left": 7, "place": "rack D"})),
    );
    yard.get(keep("rack D, top"));
    yard.refused("kept_already", keep("rack D, top"));
    assert_eq!(stock("drop 175 in"), Some(json!("1")));
    yard.exchange();
    let book = yard.get_office(json!({"kind": "shop_book"}));
    assert!(
        words_of(&book).contains("rack D, top"),
        "the office has the drop too: {book}"
    );
    yard.get(keep(""));
    assert_eq!(stock("drop 175 in"), None);
}

/// A coil so wide that a strip of it is left.
fn stock_wide() -> Stock {
    stock("roof sheet", "wide coil", StockKind::Coil, 1272, Some(140), 1)
}

fn words_of(value: &Value) -> String {
    value.to_string()
}

pub fn buying() {
    let yard = started();
    let job = front_section(&|ask| yard.get(ask), "6074");
    let ask = |ask: Value| {
        let mut ask = ask;
        ask["job"] = json!(job);
        ask
    };
    let list = yard.get(ask(json!({"kind": "buying_list"})));
    let rows = list["rows"].as_array().unwrap();
    let items: Vec<&str> = rows.iter().map(|row| row["item"].as_str().unwrap()).collect();
    // What is cut and short, and what the stock list does not know.
    assert_eq!(items, ["foam tape", "sealant cartridges", "rivets"], "{list}");
    assert_eq!(
        (rows[0]["item"].clone(), rows[0]["quantity"].clone()),
        (json!("foam tape"), json!("2"))
    );
    let line = rows[0]["line"].clone();
    assert!(
        list["csv"]
            .as_str()
            .unwrap()
            .contains("foam tape,168 in,2,,,6074"),
        "{}",
        list["csv"]
    );
    assert!(
        words_of(&list["promise"]).contains("from the go-ahead on"),
        "{}",
        list["promise"]
    );
    yard.get(ask(json!({"kind": "set_reserved", "reserved": true})));
    yard.get(ask(json!({"kind": "ask_go_ahead", "found": null})));
    let hash = yard.get(ask(json!({"kind": "figures"})))["hash"].clone();
    let agree = ask(json!({"kind": "go_ahead", "hash": hash, "amount": null, "note": ""}));
    yard.get_as(SUPERVISOR, agree);
    let promise = |yard: &Yard| yard.get(ask(json!({"kind": "buying_list"})))["promise"].clone();
    assert_eq!(
        promise(&yard)["words"],
        "No day yet: it is not known when this arrives: foam tape."
    );
    let set = |field: &str, value: &str| {
        ask(json!({"kind": "set_buying", "line": line, "field": field, "value": value}))
    };
    yard.refused("date_unread", set("arrives_on", "soon"));
    // A Friday in a year that no clock here has reached.
    yard.get(set("arrives_on", "2099-01-02"));
    yard.get(set("needed_by", "2099-01-05"));
    let day = promise(&yard)["day"].as_str().unwrap().to_owned();
    assert!(day.as_str() > "2099-01-02", "{day}");
    let head = yard.get(ask(json!({"kind": "buying_list"})))["head"].clone();
    assert_eq!(head["promise"], day);
    // The list comes at once; a row that was not figured in that time comes with the next look.
    let in_yard = || yard.get(json!({"kind": "yard", "find": "6074"}))["rows"][0].clone();
    let row = (0..50)
        .map(|_| in_yard())
        .find(|row| row["later"] == false)
        .unwrap();
    assert_eq!(row["promise"], day);
    let row = |yard: &Yard, title: &str| {
        let check = yard.get(ask(json!({"kind": "roof_off"})));
        let rows = check["rows"].as_array().unwrap();
        rows.iter().find(|row| row["title"] == title).unwrap().clone()
    };
    assert_eq!(
        row(&yard, "foam tape")["remark"],
        "to be bought: arrives on 2099-01-02"
    );
    assert_eq!(row(&yard, "foam tape")["ok"], false);
    let check = yard.get(ask(json!({"kind": "roof_off"})));
    let shelf = |place: &str| {
        check["shelves"]
            .as_array()
            .unwrap()
            .iter()
            .find(|shelf| shelf["place"] == place)
            .unwrap()
            .clone()
    };
    let bows = shelf("rack bow 102");
    assert_eq!(bows["open"], json!(["on_hand:new_bows"]));
    yard.get(ask(
        json!({"kind": "set_shelf", "items": bows["open"], "place": "rack bow 102"}),
    ));
    assert_eq!(row(&yard, "roof bows")["ok"], true);
    yard.refused(
        "place_missing",
        ask(json!({"kind": "set_shelf", "items": bows["open"], "place": ""})),
    );
    yard.refused(
        "no_item",
        ask(json!({"kind": "set_shelf", "items": ["people"], "place": "rack"})),
    );
    // What is said not to be there goes on the list; what is here is on hand for the check.
    yard.get(ask(
        json!({"kind": "set_on_hand", "item": "on_hand:seam_rivets", "have": false, "place": ""}),
    ));
    let list = yard.get(ask(json!({"kind": "buying_list"})));
    let rivets = list["rows"]
        .as_array()
        .unwrap()
        .iter()
        .find(|row| row["item"] == "seam rivets")
        .unwrap()
        .clone();
    assert_eq!(rivets["quantity"], "6 each");
    assert!(promise(&yard)["words"].as_str().unwrap().contains("seam rivets"));
    yard.get(ask(
        json!({"kind": "set_on_hand", "item": "on_hand:seam_rivets", "have": true, "place": "cabinet 1"}),
    ));
    yard.get(set("here", "cabinet 3"));
    assert_eq!(
        (
            row(&yard, "foam tape")["ok"].clone(),
            row(&yard, "foam tape")["place"].clone()
        ),
        (json!(true), json!("cabinet 3"))
    );
    assert!(
        promise(&yard)["day"].as_str().unwrap() < "2099",
        "what is here holds nothing up"
    );
    let foam = yard.get(ask(json!({"kind": "cut_list"})));
    let here = foam["plans"]
        .as_array()
        .unwrap()
        .iter()
        .find(|of| of["plan"]["item"] == "foam tape")
        .unwrap()
        .clone();
    assert_eq!(here["here"], "cabinet 3");
    yard.get(ask(
        json!({"kind": "set_cut", "cut": here["plan"]["key"], "done": true}),
    ));
    yard.refused(
        "item_missing",
        ask(json!({"kind": "add_buying", "item": " ", "size": "", "quantity": ""})),
    );
    yard.get(ask(
        json!({"kind": "add_buying", "item": "swivel hook", "size": "", "quantity": ""}),
    ));
    let own = |yard: &Yard| {
        let list = yard.get(ask(json!({"kind": "buying_list"})));
        list["rows"]
            .as_array()
            .unwrap()
            .iter()
            .find(|row| row["own"] == true)
            .cloned()
    };
    let hook = own(&yard).unwrap();
    assert_eq!(hook["quantity"], "1");
    yard.get(ask(
        json!({"kind": "set_on_hand", "item": "on_hand:rail_rivets", "have": false, "place": ""}),
    ));
    yard.refused(
        "wanted",
        ask(json!({"kind": "remove_buying", "line": "check/on_hand:rail_rivets"})),
    );
    yard.get(ask(json!({"kind": "remove_buying", "line": hook["line"]})));
    assert_eq!(own(&yard), None);
}

pub fn holes() {
    let yard = started();
    let job = front_section(&|ask| yard.get(ask), "6075");
    let line = |yard: &Yard| yard.get(json!({"kind": "cut_list", "job": job}))["rivets"][0].clone();
    let rail = line(&yard);
    assert_eq!(rail["key"], "rail rivets");
    assert_eq!(
        rail["words"], "42 holes: 42 reused; 4 in apart",
        "one each 4 in up to 170 in"
    );
    // .040 sheet, .020 film and a flange of .125 from memory; a measured one of .188 takes the next length.
    let title = |yard: &Yard| line(yard)["title"].as_str().unwrap().to_owned();
    let flange =
        |value: &str| json!({"kind": "set_plan", "job": job, "field": "rail_flange", "value": value});
    assert!(
        title(&yard).ends_with("rivets 0.1875 in x 1/2 in"),
        "{}",
        title(&yard)
    );
    yard.refused("plan_measure", flange("2"));
    yard.get(flange(".188"));
    assert!(
        title(&yard).ends_with("rivets 0.1875 in x 9/16 in"),
        "{}",
        title(&yard)
    );
    assert!(
        rail["basis"].to_string().contains("flange of the rail"),
        "{}",
        rail["basis"]
    );
    yard.get(flange(""));
    // So have the rivets of the bow ends: .090 clip, .020 film and a flange of .125, from memory, in figures and step.
    let ends = |yard: &Yard| {
        let figures = yard.get(json!({"kind": "figures", "job": job}));
        let lines = figures["estimate"]["groups"][0]["lines"].clone();
        let own = |line: &&Value| line["item"] == "bow rivets";
        let more = lines.as_array().unwrap().iter().find(own).unwrap()["more"].clone();
        let steps = yard.get(json!({"kind": "steps", "job": job}))["steps"].clone();
        let own = |step: &&Value| step["key"] == "bows";
        let step = steps.as_array().unwrap().iter().find(own).unwrap()["remark"].clone();
        (
            more.as_str().unwrap().to_owned(),
            step.as_str().unwrap().to_owned(),
        )
    };
    let clip = |value: &str| json!({"kind": "set_plan", "job": job, "field": "bow_end", "value": value});
    let (more, step) = ends(&yard);
    assert!(
        more.contains("x 9/16 in: grip 0.235 in") && more.contains("from memory, to be measured"),
        "{more}"
    );
    assert!(
        step.contains("Rivets of the bow ends 0.1875 in x 9/16 in."),
        "{step}"
    );
    yard.refused("plan_measure", clip("2"));
    yard.get(clip(".063"));
    let (more, step) = ends(&yard);
    assert!(
        more.contains("x 1/2 in: grip 0.208 in, with an end clip of 0.063 in as measured"),
        "{more}"
    );
    assert!(step.contains("0.1875 in x 1/2 in."), "{step}");
    yard.get(clip(""));
    let set = |holes: &str| json!({"kind": "set_holes", "job": job, "line": "rail rivets", "holes": holes});
    yard.refused(
        "no_line",
        json!({"kind": "set_holes", "job": job, "line": "no line", "holes": "1"}),
    );
    yard.refused("holes_off", set("4, 900"));
    yard.get(set("4, 8 @ 0.21, 12"));
    let rail = line(&yard);
    assert_eq!(
        rail["words"],
        "3 holes: 2 reused, 1 worn: next rivet size 1/4 in, hole 0.257 in; 4 in apart"
    );
    assert_eq!(rail["measured"], "4 in, 8 in @ 0.210 in, 12 in");
    assert_eq!(rail["holes"][1]["state"], "next_size");
    yard.get(set(""));
    assert_eq!(line(&yard)["holes"].as_array().unwrap().len(), 42);
}
