//! Photos by the door: measured in, a mark sized from one, drawn over, put elsewhere.

use crate::door::{self, PIN, TECHNICIAN, Yard, id, words};
use serde_json::{Value, json};
use std::io::Cursor;

/// A photo that is large enough to measure in: 1200 by 900 pixels.
fn large_photo() -> Vec<u8> {
    let picture = image::RgbImage::from_pixel(1200, 900, image::Rgb([90, 120, 150]));
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Jpeg).unwrap();
    bytes.into_inner()
}

struct Bench {
    yard: Yard,
    job: String,
    mark: String,
    sha256: String,
}

impl Bench {
    fn get(&self, mut ask: Value) -> Value {
        ask["job"] = json!(self.job);
        self.yard.get(ask)
    }

    fn refused(&self, code: &str, mut ask: Value) -> String {
        ask["job"] = json!(self.job);
        self.yard.refused(code, ask).sentence
    }

    fn view(&self) -> Value {
        self.get(json!({"kind": "photo", "sha256": self.sha256}))
    }

    /// Sets a rectangle of 24 by 12 inches that is 600 by 300 pixels in the photo, and further points.
    fn scale(&self, further: &[[i32; 2]]) {
        let mut points = vec![
            [10_000, 10_000],
            [70_000, 10_000],
            [70_000, 40_000],
            [10_000, 40_000],
        ];
        points.extend(further);
        let scale = json!({"of": "other", "length": "24", "width": "1'", "points": points});
        self.get(json!({"kind": "set_photo_scale", "sha256": self.sha256, "scale": scale}));
    }

    fn draw(&self, shape: Value) -> String {
        id(&self.get(json!({"kind": "draw_on_photo", "sha256": self.sha256, "id": null, "shape": shape})))
    }
}

/// A roof with a tear from station 120 to 180 1/4, and a photo of it.
fn bench() -> Bench {
    let yard = Yard::new();
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    let job = id(&yard.get(json!({"kind": "open_job", "unit": "7214"})));
    let place = json!({"surface": "roof", "from": "120", "to": "180 1/4", "low": "10", "high": "90"});
    let mark = json!({"kind": "add_mark", "job": job, "place": place, "damage": "tear", "part": "roof_sheet", "age": "new", "note": "", "found": null});
    let mark = id(&yard.get(mark));
    let bytes = large_photo();
    let add = json!({"kind": "add_photo", "job": job, "of": {"of": "mark", "id": mark}, "when": "before", "name": "t.jpg"});
    door::ask_at(&yard.phone, None, add, Some(&bytes)).unwrap();
    Bench {
        sha256: bowseam_photos::sha256(&bytes),
        yard,
        job,
        mark,
    }
}

pub fn photos_of_a_job() {
    let bench = bench();
    measured(&bench);
    sized(&bench);
    drawn(&bench);
    put_elsewhere(&bench);
    target_and_area(&bench);
    laid_over_each_other(&bench);
}

/// A sheet with the printed target, seen square on: 6 in are 300 pixels, its corner at 200, 150.
fn target_photo() -> Vec<u8> {
    let within = |c: f64, low: f64, high: f64| (low..high).contains(&c);
    let picture = image::RgbImage::from_fn(1200, 900, |x, y| {
        let (u, v) = ((f64::from(x) - 199.5) / 300.0, (f64::from(y) - 149.5) / 300.0);
        let both = |low, high| within(u, low, high) && within(v, low, high);
        let [begin, end] = bowseam_photos::MIDDLE;
        let black = if both(begin, end) {
            (u < 0.5) == (v < 0.5)
        } else {
            both(0.0, 1.0) && !both(bowseam_photos::FRAME, 1.0 - bowseam_photos::FRAME)
        };
        let value = if black {
            30
        } else if both(-0.2, 1.2) {
            225
        } else {
            140
        };
        image::Rgb([value; 3])
    });
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Jpeg).unwrap();
    bytes.into_inner()
}

fn add(bench: &Bench, bytes: &[u8], when: &str) -> String {
    let of = json!({"of": "mark", "id": bench.mark});
    let add = json!({"kind": "add_photo", "job": bench.job, "of": of, "when": when, "name": "p.jpg"});
    door::ask_at(&bench.yard.phone, None, add, Some(bytes)).unwrap();
    bowseam_photos::sha256(bytes)
}

/// The printed target is found by itself; an area within it comes out, and a corner that is moved is no found one.
fn target_and_area(bench: &Bench) {
    let said = bench.refused(
        "no_target",
        json!({"kind": "find_target", "sha256": bench.sha256}),
    );
    assert!(said.contains("by hand"), "{said}");
    let sha256 = add(bench, &target_photo(), "before");
    bench.get(json!({"kind": "find_target", "sha256": sha256}));
    let view = || bench.get(json!({"kind": "photo", "sha256": sha256}))["scale"].clone();
    let found = view();
    assert_eq!(
        (&found["of"], &found["found"], &found["length"]),
        (&json!("target"), &json!(true), &json!("6 in"))
    );
    let corners: Vec<[i32; 2]> = serde_json::from_value(found["points"].clone()).unwrap();
    assert_eq!(corners.len(), 4);
    for [x, y] in &corners {
        let near = |c: &i32, a: i32, b: i32| (c - a).abs().min((c - b).abs()) < 60;
        assert!(near(x, 20_000, 50_000) && near(y, 15_000, 45_000), "{corners:?}");
    }
    // 3 by 2 in beside it: 150 by 100 px, and 4 in along.
    let outline = [
        [60_000, 20_000],
        [75_000, 20_000],
        [75_000, 30_000],
        [60_000, 30_000],
    ];
    let mut points = corners.clone();
    points.extend([[60_000, 40_000], [80_000, 40_000]]);
    let set = |points: &[[i32; 2]]| {
        let scale =
            json!({"of": "target", "length": "6", "width": "6", "points": points, "outline": outline});
        bench.get(json!({"kind": "set_photo_scale", "sha256": sha256, "scale": scale}));
    };
    set(&points);
    let measured = view();
    assert_eq!(
        (&measured["lines"][0]["value"], &measured["found"]),
        (&json!("4 in"), &json!(true))
    );
    let area = measured["area"].as_str().unwrap();
    let value: f64 = area.split(' ').next().unwrap().parse().unwrap();
    assert!((value - 6.0).abs() <= 0.1 && area.ends_with("sq in"), "{area}");
    points[0][0] += 300;
    set(&points);
    assert_eq!(view()["found"], json!(false));
}

/// One plain photo cannot be matched to another: it is unsure, until somebody puts two points on each.
fn laid_over_each_other(bench: &Bench) {
    let after = add(
        bench,
        &target_photo().iter().copied().chain([0]).collect::<Vec<u8>>(),
        "after",
    );
    let of = |kind: &str| json!({"kind": kind, "before": bench.sha256, "after": after});
    let lies = || {
        let mut asked = (0..400).map(|_| {
            let lies = bench.get(of("pair_aligned"));
            if lies["by"] == "later" {
                std::thread::sleep(std::time::Duration::from_millis(25));
            }
            lies
        });
        asked
            .find(|lies| lies["by"] != "later")
            .expect("matched within ten seconds")
    };
    let unsure = lies();
    assert_eq!((&unsure["by"], &unsure["a"]), (&json!("unsure"), &json!(1.0)));
    let mut put = of("align_pair");
    put["taps"] = json!([
        [20_000, 20_000],
        [20_100, 20_000],
        [20_000, 20_000],
        [80_000, 20_000]
    ]);
    bench.refused("pair_points", put.clone());
    put["taps"] = json!([
        [20_000, 20_000],
        [80_000, 20_000],
        [32_000, 20_000],
        [62_000, 20_000]
    ]);
    bench.get(put.clone());
    let by_taps = lies();
    let near = |at: &str, want: f64| (by_taps[at].as_f64().unwrap() - want).abs() < 1e-9;
    assert!(
        by_taps["by"] == "taps" && near("a", 2.0) && near("b", 0.0),
        "{by_taps}"
    );
    put["taps"] = Value::Null;
    bench.get(put);
    assert_eq!(lies()["by"], json!("unsure"));
}

fn measured(bench: &Bench) {
    let kinds = bench.view()["kinds"].clone();
    assert_eq!(
        (&kinds[1]["of"], &kinds[1]["length"], &kinds[1]["fixed"]),
        (&json!("id_card"), &json!("85.6 mm"), &json!(true))
    );
    let bows = kinds
        .as_array()
        .unwrap()
        .iter()
        .find(|kind| kind["of"] == "bows")
        .unwrap();
    assert_eq!(
        (&bows["length"], &bows["fixed"]),
        (&json!("24 in"), &json!(false))
    );
    assert!(
        bows["from"]
            .as_str()
            .unwrap()
            .contains("Not measured on this unit")
    );
    // Points are kept as they are put, before anything comes out of them.
    bench.scale(&[[10_000, 50_000]]);
    let scale = bench.view()["scale"].clone();
    assert_eq!(
        (scale["points"].as_array().unwrap().len(), &scale["lines"]),
        (5, &json!([]))
    );
    assert_eq!(
        (&scale["wrong"], &scale["length"], &scale["width"]),
        (&Value::Null, &json!("24 in"), &json!("12 in"))
    );
    // 787.5 px at 25 px an inch.
    bench.scale(&[[10_000, 50_000], [88_750, 50_000]]);
    let scale = bench.view()["scale"].clone();
    assert_eq!(scale["lines"][0]["value"], "31 1/2 in");
    let off = scale["lines"][0]["off"].as_str().unwrap();
    // Two taps alone: 1.96 × 1.5 px × √2 / 25 = .166 in; the four corners add to it.
    assert!(["5/16 in", "3/8 in", "7/16 in", "1/2 in"].contains(&off), "{off}");
    assert_eq!(bench.view()["photo"]["measured"][0], format!("31 1/2 in ± {off}"));
    // Once round, but from corner to opposite corner: kept, and said.
    let crossed = json!({"of": "other", "length": "24", "width": "12", "points": [[100, 100], [6000, 3000], [6000, 100], [100, 3000], [1, 1], [900, 1]]});
    bench.get(json!({"kind": "set_photo_scale", "sha256": bench.sha256, "scale": crossed}));
    let scale = bench.view()["scale"].clone();
    assert!(
        scale["wrong"].as_str().unwrap().contains("crossed order"),
        "{scale}"
    );
    assert_eq!(scale["lines"], json!([]));
    bench.get(json!({"kind": "undo"}));
    assert_eq!(
        bench.view()["scale"]["lines"][0]["value"],
        "31 1/2 in",
        "undo brings the points back"
    );
    let outside = json!({"of": "other", "length": "24", "width": "12", "points": [[-1, 0]]});
    bench.refused(
        "photo_points",
        json!({"kind": "set_photo_scale", "sha256": bench.sha256, "scale": outside}),
    );
    let none = json!({"of": "other", "length": "0", "width": "12", "points": []});
    let said = bench.refused(
        "scale_size",
        json!({"kind": "set_photo_scale", "sha256": bench.sha256, "scale": none}),
    );
    assert!(said.contains("more than 0"), "{said}");
    let card = json!({"of": "id_card", "length": "a card", "width": "12", "points": []});
    let refusal = bench
        .yard
        .ask(json!({"kind": "set_photo_scale", "job": bench.job, "sha256": bench.sha256, "scale": card}));
    assert_eq!(refusal.unwrap_err().field.as_deref(), Some("length"));
}

/// The seam lies near the limit: at the far end of the size from the photo it would lie one bow farther back.
fn sized(bench: &Bench) {
    let size = |line: u32| json!({"kind": "size_from_photo", "sha256": bench.sha256, "mark": bench.mark, "side": "along", "line": line});
    bench.refused("no_length", size(1));
    bench.get(size(0));
    let mark = bench.get(json!({"kind": "mark", "mark": bench.mark}));
    assert_eq!(
        (&mark["typed"]["from"], &mark["typed"]["to"]),
        (&json!("134 3/8 in"), &json!("165 7/8 in"))
    );
    let said = mark["mark"]["from_photo"].as_str().unwrap();
    assert!(said.starts_with("length from a photo, 31 1/2 in ± "), "{said}");
    bench.get(json!({"kind": "choose_way", "group": "roof", "way": "front_section"}));
    let figures = bench.get(json!({"kind": "figures"}));
    assert_eq!(figures["estimate"]["groups"][0]["roof"]["seam_bow"], 7);
    let said = words(&figures["estimate"]["warnings"]);
    assert!(
        said.contains("at its far end the seam would lie at bow 8, 192 in. Measure it with a tape"),
        "{said}"
    );
    assert_eq!(
        bench.get(json!({"kind": "ways"}))["doubts"],
        json!([]),
        "every way fits at the far end too"
    );
    // The tape says the same: it is no longer from a photo once another size is entered.
    let place = json!({"surface": "roof", "from": "134 3/8", "to": "165", "low": "10", "high": "90"});
    bench.get(json!({"kind": "set_mark", "mark": bench.mark, "place": place}));
    assert_eq!(
        bench.get(json!({"kind": "mark", "mark": bench.mark}))["mark"]["from_photo"],
        Value::Null
    );
    assert!(!words(&bench.get(json!({"kind": "figures"}))["estimate"]["warnings"]).contains("far end"));
}

fn drawn(bench: &Bench) {
    let arrow = bench.draw(json!({"kind": "arrow", "at": [[100, 100], [5000, 5000]], "text": "<here>"}));
    bench.draw(json!({"kind": "line", "at": [[100, 100], [9000, 100]], "text": "31 1/2 in"}));
    let photo = bench.view()["photo"].clone();
    assert_eq!(
        (photo["shapes"].as_array().unwrap().len(), &photo["size"]),
        (2, &json!([1200, 900]))
    );
    let refused = |code: &str, shape: Value| {
        bench.refused(
            code,
            json!({"kind": "draw_on_photo", "sha256": bench.sha256, "id": null, "shape": shape}),
        )
    };
    refused(
        "shape_size",
        json!({"kind": "box", "at": [[5, 5], [5, 5]], "text": ""}),
    );
    refused(
        "shape_text",
        json!({"kind": "text", "at": [[5, 5], [5, 5]], "text": " "}),
    );
    refused(
        "photo_points",
        json!({"kind": "box", "at": [[5, 5], [-5, 5]], "text": ""}),
    );
    let html = bench.get(json!({"kind": "packet", "form": "html"}))["text"]
        .as_str()
        .unwrap()
        .to_owned();
    assert!(
        html.contains("viewBox=\"0 0 1200 900\"") && html.contains("&lt;here&gt;"),
        "drawn in the packet"
    );
    assert!(
        html.contains("measured in it: 31 1/2 in ± "),
        "and what was measured"
    );
    bench.get(json!({"kind": "draw_on_photo", "sha256": bench.sha256, "id": arrow, "shape": null}));
    assert_eq!(bench.view()["photo"]["shapes"][0]["shape"]["kind"], "line");
    bench.refused(
        "no_shape",
        json!({"kind": "draw_on_photo", "sha256": bench.sha256, "id": arrow, "shape": null}),
    );
    bench.get(json!({"kind": "undo"}));
    assert_eq!(bench.view()["photo"]["shapes"].as_array().unwrap().len(), 2);
}

fn put_elsewhere(bench: &Bench) {
    let all = bench.get(json!({"kind": "photos"}));
    let places: Vec<&str> = all["places"]
        .as_array()
        .unwrap()
        .iter()
        .map(|place| place["words"].as_str().unwrap())
        .collect();
    assert_eq!(&places[..2], ["unit 7214", "tear, roof, from 134 3/8 in"]);
    assert!(
        places.len() > 10,
        "the steps of the chosen way are places too: {places:?}"
    );
    assert_eq!(
        (
            &all["places"][1]["photos"],
            all["photos"].as_array().unwrap().len()
        ),
        (&json!(1), 1)
    );
    bench.get(json!({"kind": "move_photo", "sha256": bench.sha256, "of": {"of": "unit"}, "when": "after"}));
    let view = bench.view();
    assert_eq!(
        (
            &view["photo"]["of"]["of"],
            view["marks"].as_array().unwrap().len()
        ),
        (&json!("unit"), 1)
    );
    let history = words(&view["history"]);
    assert!(
        history.starts_with("brought in at tear, roof, A. Technician, "),
        "{history}"
    );
    assert!(
        history.contains(" | put to unit 7214, after, A. Technician"),
        "{history}"
    );
    assert_eq!(
        view["photo"]["shapes"].as_array().unwrap().len(),
        2,
        "what was drawn goes with it"
    );
    bench.get(json!({"kind": "undo"}));
    assert!(words(&bench.view()["history"]).contains("(taken back)"));
    bench.refused("no_photo", json!({"kind": "photo", "sha256": "0".repeat(64)}));
}

/// Room is freed by choice: copies at any time, originals only when the unit is handed over and the office has them.
pub fn room() {
    let bench = bench();
    bench.yard.phone.photos().make_copies(&bench.sha256).unwrap();
    let before = bench.yard.get(json!({"kind": "room"}));
    let [originals, copies] = ["originals", "copies"].map(|name| before[name].as_u64().unwrap());
    assert!(originals > 1000 && copies > 1000, "{before}");
    // The copies of a photo that came in are made beside the asks: on a busy machine some come after the first freeing.
    let (mut after, mut freed) = (json!({"copies": copies}), 0);
    for _ in 0..100 {
        after = bench.yard.get(json!({"kind": "free_room", "originals": false}));
        freed += after["freed"].as_u64().unwrap();
        if after["copies"] == 0 {
            break;
        }
    }
    assert!(
        freed >= copies && after["copies"] == 0,
        "{freed} of {copies}: {after}"
    );
    assert_eq!(after["originals"].as_u64(), Some(originals));
    // The office does not have it, and the job is open: nothing goes.
    let after = bench.yard.get(json!({"kind": "free_room", "originals": true}));
    assert_eq!((&after["freed"], &after["office_photos"]), (&json!(0), &json!(0)));
    bench.arrived();
    assert_eq!(
        bench.yard.get(json!({"kind": "room"}))["office_photos"],
        0,
        "the job is open"
    );
    bench.handed_over();
    let room = bench.yard.get(json!({"kind": "room"}));
    assert_eq!(
        (&room["office_photos"], room["office"].as_u64()),
        (&json!(1), Some(originals))
    );
    let after = bench.yard.get(json!({"kind": "free_room", "originals": true}));
    assert!(
        after["freed"].as_u64().unwrap() >= originals && after["originals"] == 0,
        "{after}"
    );
    let seen = bench.get(json!({"kind": "hand_over"}));
    assert_eq!(
        (&seen["photos_at_office"], &seen["photos_changed"]),
        (&json!(1), &json!([]))
    );
    assert!(
        bench.yard.phone.photos().small(&bench.sha256).is_ok(),
        "a small copy stays"
    );
    bench.yard.get(json!({"kind": "sign_out"}));
    bench
        .yard
        .refused("sign_in", json!({"kind": "free_room", "originals": false}));
}

impl Bench {
    /// The office says that it has all that waited.
    fn arrived(&self) {
        let store = self.yard.phone.store();
        let due = store.due(chrono::Utc::now(), 1000).unwrap();
        let items: Vec<i64> = due.iter().map(|item| item.n).collect();
        store.arrived(&items).unwrap();
    }

    fn handed_over(&self) {
        let what = vec![bowseam_jobs::entry::What::HandedOver { handed_over: true }];
        let [job, act] = [self.job.parse().unwrap(), uuid::Uuid::now_v7()];
        self.yard
            .phone
            .store()
            .append(job, TECHNICIAN, act, what)
            .unwrap();
    }
}
