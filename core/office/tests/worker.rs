//! Rounds for a worker that the phone's system lets run for a while, without a window: to a real office, over a wire
//! that is cut, and without an office; and the window's own background.
#![allow(clippy::unwrap_used)]

mod common;

use bowseam_app::{
    app::{App, Kind, Round},
    sending,
};
use bowseam_jobs::entry::What;
use common::{Phone, Wire, Yard, until};
use std::time::Duration;
use uuid::Uuid;

const TIME: Duration = Duration::from_secs(15);

fn open_job(app: &App, person: Uuid) -> Uuid {
    let job = Uuid::now_v7();
    let opened = What::Opened {
        unit: "4417".to_owned(),
    };
    app.store()
        .append(job, person, Uuid::now_v7(), vec![opened])
        .unwrap();
    job
}

#[test]
fn a_worker_sends_what_waits_and_goes_on_after_a_cut() {
    let yard = Yard::new();
    let folder = tempfile::tempdir().unwrap();
    let app = App::open(folder.path(), Kind::Phone).unwrap();
    assert!(app.send_round(TIME).is_err(), "nothing sends yet");
    sending::start_phone(&app);
    open_job(&app, yard.technician);
    assert_eq!(
        app.send_round(TIME).unwrap(),
        Round::Done,
        "no office knows this phone"
    );

    // Known over a wire that carries the enrolment and is then cut.
    let wire = Wire::new(yard.address, 1_000_000);
    let url = format!("http://{}/office", wire.address);
    bowseam_send::enrol(&app.store(), &url, &yard.code(), "Phone").unwrap();
    wire.mend(0);
    let job = open_job(&app, yard.technician);
    assert_eq!(app.send_round(TIME).unwrap(), Round::Later);
    assert!(yard.store.job(job).unwrap().is_none());

    wire.mend(1_000_000);
    common::until("the worker has sent it", || {
        app.send_round(TIME).unwrap() == Round::Done
    });
    assert_eq!(yard.store.job(job).unwrap().unwrap().unit, "4417");
}

#[test]
fn a_background_sends_after_a_poke() {
    let yard = Yard::new();
    let phone = Phone::known_to(&yard);
    let Phone {
        store,
        photos,
        sender,
        ..
    } = phone;
    let store = std::sync::Arc::new(store);
    let background =
        bowseam_send::Background::start(store.clone(), photos, sender.into(), Duration::from_secs(3600));
    let job = Uuid::now_v7();
    store
        .append(
            job,
            yard.technician,
            Uuid::now_v7(),
            vec![What::Opened {
                unit: "4417".to_owned(),
            }],
        )
        .unwrap();
    background.poke();
    until("the job is at the office", || {
        yard.store.job(job).unwrap().is_some()
    });
    until("the phone knows", || store.unsent(None, 10).unwrap().is_empty());
    background.stop();
}
