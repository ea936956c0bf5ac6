//! Sessions of the office's pages: who signed in with which cookie. They live in memory (after a restart everyone
//! signs in again) and only the hash of a cookie is kept, so that nothing here is worth stealing.

use std::collections::HashMap;
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

/// All sessions.
#[derive(Debug, Default)]
pub struct Sessions(Mutex<HashMap<String, (Uuid, Instant)>>);

impl Sessions {
    fn all(&self) -> MutexGuard<'_, HashMap<String, (Uuid, Instant)>> {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.retain(|_, (_, asked)| asked.elapsed() < IDLE);
        all
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
