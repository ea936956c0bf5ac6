//! What reaches out of the program: a phone sends in the background and can be made known to an office; an
//! office mints codes for phones. Every shell starts the one that fits it.

use crate::{
    answer::Refusal,
    app::{App, Outside, Round},
};
use bowseam_jobs::Store;
use bowseam_photos::Folder;
use bowseam_send::{Background, Heard, Limits, Office as Known, OnItsWay, Sender, Watch, codes, enrol};
use chrono::{DateTime, Utc};
use std::{sync::Arc, time::Duration};

/// How often a phone looks for the office while nothing new is saved.
const EVERY: Duration = Duration::from_secs(20);

/// A phone: sends after every save and every [`EVERY`], as long as it lives.
struct Phone {
    store: Arc<Store>,
    photos: Folder,
    sender: Arc<Sender>,
    background: Background,
}

/// Starts sending for a phone's app.
pub fn start_phone(app: &App) {
    let sender = Arc::new(Sender::default());
    let background = Background::start(app.store(), app.photos().clone(), Arc::clone(&sender), EVERY);
    app.reach_out(Box::new(Phone {
        store: app.store(),
        photos: app.photos().clone(),
        sender,
        background,
    }));
}

impl Outside for Phone {
    fn enrol(&self, office: &str, code: &str, name: &str) -> Result<String, Refusal> {
        let office = enrol(&self.store, office, code, name)?;
        self.background.poke();
        Ok(office.name)
    }

    fn send_now(&self) {
        self.background.poke();
    }

    fn try_now(&self) {
        self.background.try_now();
    }

    fn watch_network(&self, watch: Watch) {
        self.sender.watch_network(watch);
    }

    fn network_is(&self, metered: bool) {
        self.sender.network_is(metered);
    }

    fn metered(&self) -> Option<bool> {
        self.sender.metered()
    }

    fn on_its_way(&self) -> Option<OnItsWay> {
        self.sender.on_its_way()
    }

    fn send_round(&self, time: Duration) -> Result<Round, Refusal> {
        let Some(office) = Known::of(&self.store)? else {
            return Ok(Round::Done);
        };
        let limits = Limits {
            time,
            ..Limits::default()
        };
        let report = self
            .sender
            .round_within(&self.store, &self.photos, &office, limits)?;
        Ok(match report.heard {
            Heard::Answer if report.more => Round::More,
            Heard::Answer => Round::Done,
            Heard::Nothing | Heard::Trouble => Round::Later,
        })
    }

    fn new_code(&self) -> Result<(String, DateTime<Utc>), Refusal> {
        Err(Refusal::new(
            "office",
            "Codes for a new phone come from the office.",
        ))
    }
}

/// An office: phones come to it, it reaches nobody.
struct Office(Arc<Store>);

/// Lets an office's app mint codes.
pub fn start_office(app: &App) {
    app.reach_out(Box::new(Office(app.store())));
}

impl Outside for Office {
    fn enrol(&self, _: &str, _: &str, _: &str) -> Result<String, Refusal> {
        Err(Refusal::new(
            "phone",
            "Only a phone is made known to an office; this is the office.",
        ))
    }

    fn send_now(&self) {}

    fn try_now(&self) {}

    fn new_code(&self) -> Result<(String, DateTime<Utc>), Refusal> {
        Ok(codes::new_code(&self.0, Utc::now())?)
    }
}
