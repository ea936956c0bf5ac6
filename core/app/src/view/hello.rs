//! Who is here, and which office this phone is known to.

use crate::{
    answer::{Answer, Hello, Person, Refusal},
    app::{App, Asker, Kind},
    change, now, people,
    view::yard::small,
    words,
};
use bowseam_jobs::{outbox::ItemState, people::Qualification};
use bowseam_send::Office;
use chrono::Utc;

/// People, who is signed in, and what waits to be sent.
///
/// # Errors
/// The store cannot be read.
pub fn hello(app: &App, asker: &Asker) -> Result<Answer, Refusal> {
    let store = app.store();
    let now = Utc::now();
    let here = store.people()?.into_iter().filter(|person| !person.ended(now));
    let people = here.map(person).collect();
    let (mut waiting, mut stuck) = (0_u64, 0_u64);
    if app.kind() == Kind::Phone {
        for (state, items) in store.totals()? {
            match state {
                ItemState::Waiting | ItemState::OnTheWay => waiting = waiting.saturating_add(items),
                ItemState::Stuck => stuck = stuck.saturating_add(items),
                ItemState::Arrived => {}
            }
        }
    }
    let count = |n: u64| small(usize::try_from(n).unwrap_or(usize::MAX));
    Ok(Answer::Hello(Hello {
        people,
        signed_in: app.person(asker)?.map(|person| person.id),
        unit: now::unit(app)?,
        photos: app.photo_files(),
        office: app.kind() == Kind::Office,
        enrolled: Office::of(&store)?.map(|office| {
            if office.name.is_empty() {
                office.url
            } else {
                office.name
            }
        }),
        salvage: app.salvage(),
        waiting: count(waiting),
        stuck: count(stuck),
        newest: store.newest_of_all()?.try_into().unwrap_or(u32::MAX),
    }))
}

fn person(person: bowseam_jobs::people::Person) -> Person {
    let may_release = people::may_not(&person, Qualification::Release).is_none();
    Person {
        id: person.id,
        name: person.name,
        roles: person
            .roles
            .iter()
            .map(|role| words::role(*role).to_owned())
            .collect(),
        may_release,
    }
}

/// Makes this phone known to an office with its short-lived code.
///
/// # Errors
/// At the office itself; or what the office or the network said.
pub fn enrol(app: &App, office: &str, code: &str, name: &str) -> Result<Answer, Refusal> {
    app.outside()?.enrol(office, code, name)?;
    Ok(change::nothing_made(None))
}
