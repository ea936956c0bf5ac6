//! Drafts: what is being written and cannot be an entry yet, such as limits of *May roll* while some lack. They
//! lie in the store of this phone, so that closing the app loses none, and are never sent.

use crate::{
    answer::{Answer, Refusal},
    app::{App, Asker},
    now::no_job,
};
use std::collections::BTreeMap;
use uuid::Uuid;

/// Longest draft and longest key in characters, most drafts of a job.
const LONGEST: usize = 20_000;
const LONGEST_KEY: usize = 120;
const MOST: usize = 200;

fn setting(job: Uuid) -> String {
    format!("draft/{job}")
}

/// The drafts of a job, by what they are of.
///
/// # Errors
/// The store cannot be read.
pub fn drafts(app: &App, job: Uuid) -> Result<Answer, Refusal> {
    let drafts = app.store().setting(&setting(job))?.unwrap_or_default();
    Ok(Answer::Drafts { drafts })
}

/// Keeps a draft; an empty text takes it away.
///
/// # Errors
/// `sign_in`, `no_job`, or a draft that is too long.
pub fn keep(app: &App, asker: &Asker, job: Uuid, key: &str, text: &str) -> Result<Answer, Refusal> {
    app.signed_in(asker)?;
    app.store().summary(job)?.ok_or_else(no_job)?;
    let mut drafts: BTreeMap<String, String> = app.store().setting(&setting(job))?.unwrap_or_default();
    if text.is_empty() {
        drafts.remove(key);
    } else {
        drafts.insert(key.to_owned(), text.to_owned());
    }
    let long = text.chars().count() > LONGEST || key.chars().count() > LONGEST_KEY || drafts.len() > MOST;
    if long {
        let sentence =
            format!("This is too long to be kept before it is saved: up to {LONGEST} characters are.");
        return Err(Refusal::new("draft_long", sentence));
    }
    app.store().set_setting(&setting(job), &drafts)?;
    Ok(crate::change::nothing_made(None))
}
