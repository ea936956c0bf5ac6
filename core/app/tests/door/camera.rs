//! Photos that come as files from the phone's camera: also when the app is ended behind it.

use crate::door::{self, PIN, TECHNICIAN, Yard, id, picture};
use bowseam_app::{App, Ask, Asker, Kind, camera};
use serde_json::{Value, json};
use std::{fs, path::Path};
use uuid::Uuid;

const NOBODY: Asker = Asker { person: None };

/// A yard with a job, and the ask that a photo of it is kept by.
fn yard() -> (Yard, String, Ask) {
    let yard = Yard::new();
    yard.get(json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}));
    let job = id(&yard.get(json!({"kind": "open_job", "unit": "7214"})));
    let ask = photo_ask(&job, &json!({"of": "unit"}));
    (yard, job, ask)
}

fn photo_ask(job: &str, of: &Value) -> Ask {
    let ask = json!({"kind": "add_photo", "job": job, "of": of, "when": "before", "name": "camera.jpg"});
    serde_json::from_value(ask).unwrap()
}

fn photos(yard: &Yard, job: &str) -> Value {
    yard.get(json!({"kind": "photos", "job": job}))["photos"].clone()
}

fn in_camera_folder(app: &App) -> usize {
    fs::read_dir(app.folder().join("camera")).map_or(0, Iterator::count)
}

#[test]
fn a_photo_from_the_camera_is_kept_once_and_leaves_no_file_behind() {
    let (yard, job, ask) = yard();
    let file = camera::expect(&yard.phone, &NOBODY, &ask).unwrap();
    fs::write(&file, picture(1)).unwrap();
    let adopted = camera::adopt(&yard.phone, &file, None).unwrap();
    assert!(!adopted.unseen);
    assert_eq!(photos(&yard, &job)[0]["sha256"], adopted.sha256);
    assert_eq!(in_camera_folder(&yard.phone), 0);
}

#[test]
fn a_photo_taken_while_the_app_was_ended_is_found_at_the_next_start() {
    let folder = tempfile::TempDir::new().unwrap();
    let start = |folder: &Path| {
        let app = App::open(folder, Kind::Phone).unwrap();
        door::people(&app);
        app
    };
    let phone = start(folder.path());
    let get =
        |app: &App, ask: Value| serde_json::to_value(door::ask_at(app, None, ask, None).unwrap()).unwrap();
    get(
        &phone,
        json!({"kind": "sign_in", "person": TECHNICIAN, "pin": PIN}),
    );
    let job = id(&get(&phone, json!({"kind": "open_job", "unit": "7214"})));
    let file = camera::expect(&phone, &NOBODY, &photo_ask(&job, &json!({"of": "unit"}))).unwrap();
    let cancelled = camera::expect(&phone, &NOBODY, &photo_ask(&job, &json!({"of": "unit"}))).unwrap();
    get(&phone, json!({"kind": "sign_out"}));
    // The app is ended here; the camera writes its photo after that.
    drop(phone);
    fs::write(&file, picture(2)).unwrap();
    let phone = start(folder.path());
    camera::adopt_orphans(&phone);
    let view = get(&phone, json!({"kind": "photos", "job": job}));
    assert_eq!(view["photos"].as_array().unwrap().len(), 1);
    assert_eq!(
        view["photos"][0]["by"], "A. Technician",
        "who took it, though signed out since"
    );
    let said = get(&phone, json!({"kind": "hello"}))["salvage"].clone();
    assert!(said.as_str().unwrap().contains("1 photo was kept"), "{said}");
    assert!(!cancelled.with_extension("json").exists());
    assert_eq!(in_camera_folder(&phone), 0);
}

#[test]
fn a_photo_of_what_was_taken_off_meanwhile_becomes_one_of_the_unit() {
    let (yard, job, _) = yard();
    let ask = photo_ask(&job, &json!({"of": "mark", "id": Uuid::nil()}));
    let file = camera::expect(&yard.phone, &NOBODY, &ask).unwrap();
    fs::write(&file, picture(3)).unwrap();
    camera::adopt(&yard.phone, &file, Some("from the gallery.jpg")).unwrap();
    let photos = photos(&yard, &job);
    assert_eq!(photos[0]["of"], json!({"of": "unit"}));
    assert_eq!(photos[0]["name"], "from the gallery.jpg");
}

#[test]
fn what_is_no_photo_goes_and_what_finds_no_room_stays() {
    let (yard, job, ask) = yard();
    let file = camera::expect(&yard.phone, &NOBODY, &ask).unwrap();
    fs::write(&file, "not a photo").unwrap();
    let refusal = camera::adopt(&yard.phone, &file, None).unwrap_err();
    assert_eq!(refusal.code, "photo_none");
    assert_eq!(in_camera_folder(&yard.phone), 0);
    // A folder of photos that cannot be written to is the phone's fault, not the photo's.
    let file = camera::expect(&yard.phone, &NOBODY, &ask).unwrap();
    fs::write(&file, picture(4)).unwrap();
    let temp = yard.phone.photos().root().join("temp");
    fs::remove_dir_all(&temp).unwrap();
    camera::adopt(&yard.phone, &file, None).unwrap_err();
    assert_eq!(in_camera_folder(&yard.phone), 2);
    fs::create_dir_all(&temp).unwrap();
    camera::adopt_orphans(&yard.phone);
    assert_eq!(photos(&yard, &job).as_array().unwrap().len(), 1);
}

#[test]
fn only_a_photo_is_expected_and_only_from_somebody() {
    let (yard, _, ask) = yard();
    let refusal = camera::expect(&yard.phone, &NOBODY, &Ask::Hello {}).unwrap_err();
    assert_eq!(refusal.code, "not_a_photo_ask");
    yard.get(json!({"kind": "sign_out"}));
    let refusal = camera::expect(&yard.phone, &NOBODY, &ask).unwrap_err();
    assert_eq!(refusal.code, "sign_in");
    assert_eq!(in_camera_folder(&yard.phone), 0);
}
