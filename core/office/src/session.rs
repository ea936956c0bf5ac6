//! Sessions of the office's pages: the cookie, and how often somebody may try to sign in. Who is signed in stands in the
//! store ([`bowseam_jobs::session`]).

use std::collections::VecDeque;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use axum::http::HeaderMap;
use axum::http::header::{COOKIE, HOST};
use bowseam_jobs::{Store, session::IDLE};
use bowseam_send::wire::sha256;
use chrono::Utc;
use uuid::Uuid;

use crate::{No, Office};

const NAME: &str = "bowseam_office";

/// Most tries to sign in within [`TRIES_IN`], by whomever: the wait after wrong ones counts for one person, this keeps
/// somebody who tries all of them in turn (and the slow hashing that each try costs) within bounds.
const MOST_TRIES: usize = 60;
const TRIES_IN: Duration = Duration::from_secs(60);

/// Setting with the moments of the last tries at all receivers of this office, milliseconds since 1970.
const TRIES: &str = "sign_in_tries";

/// Tries to sign in: all receivers of an office count together, in its store. Those at this receiver are counted here too,
/// so that a flood of them stops here and not at what all share.
#[derive(Debug, Default)]
pub struct Tries(Mutex<VecDeque<Instant>>);

impl Tries {
    /// Counts a try to sign in; whether it may be made now.
    pub fn may_try(&self, store: &Store) -> Result<bool, No> {
        if !self.may_here() {
            return Ok(false);
        }
        let (now, ago) = (Utc::now().timestamp_millis(), TRIES_IN.as_millis());
        let counted = store.try_change_setting(TRIES, |tries: &mut Vec<i64>| {
            // Also one of a clock that is ahead counts no longer than a minute.
            tries.retain(|at| u128::from(at.abs_diff(now)) < ago);
            if tries.len() >= MOST_TRIES {
                return Err(());
            }
            tries.push(now);
            Ok(())
        })?;
        Ok(counted.is_ok())
    }

    fn may_here(&self) -> bool {
        let mut tries = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        while tries.front().is_some_and(|at| at.elapsed() >= TRIES_IN) {
            tries.pop_front();
        }
        if tries.len() >= MOST_TRIES {
            return false;
        }
        tries.push_back(Instant::now());
        true
    }
}

/// Starts a session; answers the `Set-Cookie`.
pub fn start(store: &Store, person: Uuid, headers: &HeaderMap) -> Result<String, No> {
    let secret = format!("{}{}", Uuid::new_v4().simple(), Uuid::new_v4().simple());
    store.start_session(&sha256(&secret), person, Utc::now())?;
    Ok(cookie(&secret, IDLE.num_seconds(), headers))
}

/// Ends the session; answers the `Set-Cookie` that takes the cookie away.
pub fn end(store: &Store, headers: &HeaderMap) -> Result<String, No> {
    if let Some(secret) = secret(headers) {
        store.end_session(&sha256(secret))?;
    }
    Ok(cookie("", 0, headers))
}

impl Office {
    /// Who asks, by the session. What others wrote until now is here then.
    pub(crate) fn whose(&self, headers: &HeaderMap) -> Result<Option<Uuid>, No> {
        let store = &self.0.store;
        store.refresh()?;
        Ok(match secret(headers) {
            Some(secret) => store.session(&sha256(secret), Utc::now())?,
            None => None,
        })
    }
}

/// Secure everywhere but on this same machine, where there is no TLS to ask for.
fn cookie(secret: &str, seconds: i64, headers: &HeaderMap) -> String {
    let host = headers
        .get(HOST)
        .and_then(|host| host.to_str().ok())
        .unwrap_or_default();
    let here = host.starts_with("127.0.0.1:") || host.starts_with("localhost:");
    let secure = if here { "" } else { "; Secure" };
    format!("{NAME}={secret}; Path=/; HttpOnly; SameSite=Strict; Max-Age={seconds}{secure}")
}

fn secret(headers: &HeaderMap) -> Option<&str> {
    headers.get_all(COOKIE).iter().find_map(|header| {
        let pairs = header.to_str().ok()?.split(';');
        pairs
            .filter_map(|pair| pair.trim().split_once('='))
            .find(|(name, _)| *name == NAME)
            .map(|(_, value)| value)
    })
}
