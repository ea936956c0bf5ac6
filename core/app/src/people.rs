//! People of the shop, for the office: who may what until when, their PINs and passwords, and the end of their time here.
//! An expired qualification does not count, and wherever it would have counted the program says so.

use crate::{
    answer::{Answer, PeopleView, PersonRow, QualifiedRow, Refusal},
    app::{App, Kind},
    ask::TypedQualified,
    change::{nothing_made, supervisor_only},
    typed, words,
};
use bowseam_jobs::people::{May, More, Person, Qualification, Qualified, Role};
use chrono::{Days, NaiveDate, Utc};
use std::collections::BTreeSet;
use uuid::Uuid;

/// From so many days before it runs out a qualification is spoken of.
const SOON: Days = Days::new(30);

/// Why somebody may not do this today; nothing: may.
pub fn may_not(person: &Person, what: Qualification) -> Option<String> {
    let to = words::qualification(what);
    match person.may(what, Utc::now()) {
        May::Yes => None,
        May::No => Some(format!("{} is not named to {to}.", person.name)),
        May::RanOut(day) => Some(format!(
            "{} was named to {to} until {day}; that has run out and does not count.",
            person.name
        )),
    }
}

/// Refuses on a phone, and who is no supervisor.
pub fn office_only(app: &App, person: &Person, what: &str) -> Result<(), Refusal> {
    if app.kind() != Kind::Office {
        let sentence = format!("At the office a supervisor {what}; not on a phone.");
        return Err(Refusal::new("not_the_office", sentence));
    }
    supervisor_only(person, what)
}

/// The page.
///
/// # Errors
/// Only at the office, only for supervisors; or the store cannot be read.
pub fn view(app: &App, me: &Person) -> Result<Answer, Refusal> {
    office_only(app, me, "looks after people")?;
    let (store, today) = (app.store(), Utc::now().date_naive());
    let with_password = store.with_password()?;
    let all = store.people()?;
    let row = |person: &Person| PersonRow {
        id: person.id,
        name: person.name.clone(),
        roles: person
            .roles
            .iter()
            .map(|role| words::role(*role).to_owned())
            .collect(),
        qualified: qualified(person, today),
        has_pin: person.pin_hash.is_some(),
        has_password: with_password.contains(&person.id),
        ended: person.more.ended,
        me: person.id == me.id,
    };
    let mut people: Vec<PersonRow> = all.iter().map(row).collect();
    people.sort_by_key(|row| row.ended.is_some());
    Ok(Answer::People(PeopleView {
        remarks: remarks(&people),
        people,
    }))
}

/// Qualifications as they stand; who may release without a date is shown so.
fn qualified(person: &Person, today: NaiveDate) -> Vec<QualifiedRow> {
    let mut all = person.more.qualified.clone();
    let dated = all.iter().any(|own| own.what == Qualification::Release);
    if person.may_release && !dated {
        all.push(Qualified {
            what: Qualification::Release,
            until: None,
            note: String::new(),
        });
    }
    let soon = today.checked_add_days(SOON).unwrap_or(today);
    let row = |own: Qualified| QualifiedRow {
        counts: own.until.is_none_or(|until| today <= until),
        remark: match own.until {
            Some(until) if until < today => Some(format!("ran out {until} and does not count")),
            Some(until) if until < soon => Some(format!("runs out {until}")),
            _ => None,
        },
        what: own.what,
        until: own.until,
        note: own.note,
    };
    all.into_iter().map(row).collect()
}

fn remarks(people: &[PersonRow]) -> Vec<String> {
    let mut remarks = Vec::new();
    for person in people.iter().filter(|person| person.ended.is_none()) {
        let supervisor = person
            .roles
            .iter()
            .any(|role| role == words::role(Role::Supervisor));
        if supervisor && !person.has_password {
            remarks.push(format!(
                "{} signs in here with the PIN, which every phone can check: set a password.",
                person.name
            ));
        }
        for own in &person.qualified {
            if let Some(remark) = &own.remark {
                remarks.push(format!(
                    "{}, {}: {remark}.",
                    person.name,
                    words::qualification(own.what)
                ));
            }
        }
    }
    let releases = |person: &&PersonRow| {
        let counts = |own: &QualifiedRow| own.what == Qualification::Release && own.counts;
        person.ended.is_none() && person.qualified.iter().any(counts)
    };
    if !people.iter().any(|person| releases(&person)) {
        remarks.push("Nobody may release a unit now: no unit can leave.".to_owned());
    }
    remarks
}

/// Adds somebody, or changes name, roles and qualifications.
///
/// # Errors
/// As [`view`]; beside the field that does not fit; the last supervisor stays one.
pub fn set(
    app: &App,
    me: &Person,
    id: Option<Uuid>,
    name: &str,
    roles: &[String],
    qualified: &[TypedQualified],
) -> Result<Answer, Refusal> {
    office_only(app, me, "looks after people")?;
    let (store, name) = (app.store(), typed::text(name, "name")?);
    if name.is_empty() {
        return Err(Refusal::at(
            "name_missing",
            "name",
            "A person needs a name. Any name is accepted.",
        ));
    }
    let known = [Role::Inspector, Role::Technician, Role::Supervisor];
    let named = |role: &String| {
        known
            .into_iter()
            .find(|known| words::role(*known) == role.as_str())
    };
    let roles: BTreeSet<Role> = roles.iter().filter_map(named).collect();
    if roles.is_empty() {
        let sentence = "Say what this person does: inspector, technician, supervisor, or several of them.";
        return Err(Refusal::at("role_missing", "roles", sentence));
    }
    let before = match id {
        Some(id) => Some(found(app, id)?),
        None => None,
    };
    let qualified = qualified.iter().map(read).collect::<Result<Vec<_>, _>>()?;
    let person = Person {
        id: id.unwrap_or_else(Uuid::now_v7),
        name,
        may_release: qualified.iter().any(|own| own.what == Qualification::Release),
        roles,
        pin_hash: None,
        more: More {
            qualified,
            ended: before.and_then(|person| person.more.ended),
        },
    };
    last_supervisor(app, &person)?;
    store.put_person(&person)?;
    Ok(nothing_made(Some(person.id)))
}

fn read(own: &TypedQualified) -> Result<Qualified, Refusal> {
    let until = match own.until.trim() {
        "" => None,
        day => {
            let day = typed::date(day, false).map_err(|refusal| refusal.beside("qualified"))?;
            NaiveDate::parse_from_str(&day, "%Y-%m-%d").ok()
        }
    };
    Ok(Qualified {
        what: own.what,
        until,
        note: typed::text(&own.note, "qualified")?,
    })
}

fn found(app: &App, id: Uuid) -> Result<Person, Refusal> {
    let found = app.store().people()?.into_iter().find(|person| person.id == id);
    found.ok_or_else(|| {
        Refusal::at(
            "no_person",
            "person",
            "This person is not known here. Look at People again.",
        )
    })
}

/// Without a supervisor nobody could change people any more.
fn last_supervisor(app: &App, changed: &Person) -> Result<(), Refusal> {
    let decides = |person: &Person| person.roles.contains(&Role::Supervisor) && person.more.ended.is_none();
    let others = app.store().people()?;
    if decides(changed)
        || others
            .iter()
            .any(|person| person.id != changed.id && decides(person))
    {
        return Ok(());
    }
    Err(Refusal::at(
        "last_supervisor",
        "roles",
        "Nobody else here is a supervisor: make another person one first.",
    ))
}

/// Sets a PIN for phones or a password for the office's door.
///
/// # Errors
/// As [`view`]; too short, or no digits.
pub fn set_secret(app: &App, me: &Person, id: Uuid, secret: &str, password: bool) -> Result<Answer, Refusal> {
    office_only(app, me, "sets PINs and passwords")?;
    let store = app.store();
    let done = match password {
        true => store.set_password(id, secret),
        false => store.set_pin(id, secret),
    };
    done.map_err(|error| Refusal::from(error).beside("secret"))?;
    Ok(nothing_made(Some(id)))
}

/// Somebody is here no more, or again. What they did stays under their name.
///
/// # Errors
/// As [`view`]; the last supervisor stays.
pub fn end(app: &App, me: &Person, id: Uuid, ended: bool) -> Result<Answer, Refusal> {
    office_only(app, me, "looks after people")?;
    let mut person = found(app, id)?;
    person.more.ended = ended.then(Utc::now);
    last_supervisor(app, &person)?;
    person.pin_hash = None;
    app.store().put_person(&person)?;
    Ok(nothing_made(Some(id)))
}
