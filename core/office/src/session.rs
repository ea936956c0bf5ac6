//! Sessions of the office's pages: who signed in with which cookie. They live in memory (after a restart everyone
//! signs in again) and only the hash of a cookie is kept, so that nothing here is worth stealing.

use std::collections::{HashMap, VecDeque};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use axum::http::HeaderMap;
use axum::http::header::{COOKIE, HOST};
use bowseam_send::wire::sha256;
use uuid::Uuid;

const NAME: &str = "bowseam_office";
/// Signed out after this long without an ask: a working day.
const IDLE: Duration = Duration::from_secs(12 * 3600);
/// Most sessions at a time; the one that asked longest ago goes first.
const MOST: usize = 1000;

/// Most tries to sign in within [`TRIES_IN`], by whomever: the wait after wrong ones counts for one person, this keeps
/// somebody who tries all of them in turn (and the slow hashing that each try costs) within bounds.
const MOST_TRIES: usize = 60;
const TRIES_IN: Duration = Duration::from_secs(60);

/// All sessions.
#[derive(Debug, Default)]
pub struct Sessions(Mutex<HashMap<String, (Uuid, Instant)>>, Mutex<VecDeque<Instant>>);

impl Sessions {
    fn all(&self) -> MutexGuard<'_, HashMap<String, (Uuid, Instant)>> {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.retain(|_, (_, asked)| asked.elapsed() < IDLE);
        all
    }

    /// Counts a try to sign in; whether it may be made now.
    pub fn may_try(&self) -> bool {
        let mut tries = self.1.lock().unwrap_or_else(PoisonError::into_inner);
        while tries.front().is_some_and(|at| at.elapsed() >= TRIES_IN) {
            tries.pop_front();
        }
        if tries.len() >= MOST_TRIES {
            return false;
        }
        tries.push_back(Instant::now());
        true
    }

    /// Starts a session; answers the `Set-Cookie`.
    pub fn start(&self, person: Uuid, headers: &HeaderMap) -> String {
        let secret = format!("{}{}", Uuid::new_v4().simple(), Uuid::new_v4().simple());
        let mut all = self.all();
        if all.len() >= MOST {
            let oldest = all
                .iter()
                .min_by_key(|(_, (_, asked))| *asked)
                .map(|(hash, _)| hash.clone());
            oldest.and_then(|hash| all.remove(&hash));
        }
        all.insert(sha256(&secret), (person, Instant::now()));
        cookie(&secret, IDLE.as_secs(), headers)
    }

    /// Who asks.
    pub fn person(&self, headers: &HeaderMap) -> Option<Uuid> {
        let hash = sha256(secret(headers)?);
        let mut all = self.all();
        let (person, asked) = all.get_mut(&hash)?;
        *asked = Instant::now();
        Some(*person)
    }

    /// Ends the session; answers the `Set-Cookie` that takes the cookie away.
    pub fn end(&self, headers: &HeaderMap) -> String {
        if let Some(secret) = secret(headers) {
            self.all().remove(&sha256(secret));
        }
        cookie("", 0, headers)
    }
}

/// Secure everywhere but on this same machine, where there is no TLS to ask for.
fn cookie(secret: &str, seconds: u64, headers: &HeaderMap) -> String {
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
