//! How the office stays answering under load, and what it tells those who run it.
//!
//! Everything that is being taken in is held in memory, so there is a budget: a request waits for its share, and one that
//! would wait too long is told to come again (503 with `Retry-After`), which phones do by themselves. Counters are for
//! Prometheus; each request leaves one event for the log, with nothing in it that lets anybody in: no headers, no body,
//! no query.

use axum::body::HttpBody;
use axum::extract::{Request, State};
use axum::http::header::{AUTHORIZATION, CONTENT_LENGTH, CONTENT_TYPE};
use axum::http::{HeaderMap, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use bowseam_send::wire::sha256;
use std::fmt::Write;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicI64, AtomicU64, Ordering::Relaxed};
use std::time::{Duration, Instant};
use tokio::sync::Semaphore;
use tokio::time::timeout;

use crate::no::{Code, beside};
use crate::phones::known;
use crate::{No, Office};

/// Shares of a mebibyte in the budget: half a gibibyte of bodies at a time.
const SHARES: usize = 512;
const SHARE: u64 = 1024 * 1024;
/// Most shares of one request: a photo of the office's own pages. A memory card goes through a file.
const MOST: u64 = 65;
/// So many shares anybody may ask for.
const ANYBODY: u32 = 4;
/// Longest time of one request; a memory card is the longest.
const LONGEST: Duration = Duration::from_secs(600);
/// So long a request waits for its share.
const PATIENCE: Duration = Duration::from_secs(10);
/// Upper ends of the classes of durations, in seconds.
const CLASSES: [f64; 7] = [0.005, 0.02, 0.1, 0.5, 2.0, 10.0, 60.0];

/// Counters since the start, and the budget.
pub struct Watch {
    budget: Semaphore,
    /// Set: the counters are shown, to those who have the token if there is one.
    shown: OnceLock<Option<String>>,
    asked: [AtomicU64; 6],
    took: [AtomicU64; CLASSES.len()],
    took_micros: AtomicU64,
    under_way: AtomicI64,
    turned_away: AtomicU64,
    pub(crate) entries: AtomicU64,
    pub(crate) refused: AtomicU64,
    pub(crate) photos: AtomicU64,
    pub(crate) bytes: AtomicU64,
}

impl Default for Watch {
    fn default() -> Self {
        Self {
            budget: Semaphore::new(SHARES),
            shown: OnceLock::new(),
            asked: Default::default(),
            took: Default::default(),
            took_micros: AtomicU64::new(0),
            under_way: AtomicI64::new(0),
            turned_away: AtomicU64::new(0),
            entries: AtomicU64::new(0),
            refused: AtomicU64::new(0),
            photos: AtomicU64::new(0),
            bytes: AtomicU64::new(0),
        }
    }
}

/// Adds to a counter.
pub fn count(counter: &AtomicU64, by: usize) {
    counter.fetch_add(u64::try_from(by).unwrap_or(u64::MAX), Relaxed);
}

impl Watch {
    fn note(&self, status: StatusCode, took: Duration) {
        let class = self.asked.get(usize::from(status.as_u16() / 100));
        class.map(|class| class.fetch_add(1, Relaxed));
        for (class, end) in self.took.iter().zip(CLASSES) {
            if took.as_secs_f64() <= end {
                class.fetch_add(1, Relaxed);
            }
        }
        let micros = u64::try_from(took.as_micros()).unwrap_or(u64::MAX);
        self.took_micros.fetch_add(micros, Relaxed);
    }

    /// The counters in Prometheus' text form (exposition format 0.0.4; from memory).
    fn text(&self) -> String {
        let mut text = String::new();
        // Writing to a text does not fail.
        let mut say = |line: std::fmt::Arguments<'_>| {
            let _ = text.write_fmt(format_args!("{line}\n"));
        };
        say(format_args!("# TYPE bowseam_requests_total counter"));
        let mut all = 0_u64;
        for (class, asked) in self.asked.iter().enumerate().skip(1) {
            let asked = asked.load(Relaxed);
            all = all.saturating_add(asked);
            say(format_args!(
                "bowseam_requests_total{{class=\"{class}xx\"}} {asked}"
            ));
        }
        say(format_args!("# TYPE bowseam_request_seconds histogram"));
        for (took, end) in self.took.iter().zip(CLASSES) {
            let took = took.load(Relaxed);
            say(format_args!(
                "bowseam_request_seconds_bucket{{le=\"{end}\"}} {took}"
            ));
        }
        let seconds = Duration::from_micros(self.took_micros.load(Relaxed)).as_secs_f64();
        say(format_args!(
            "bowseam_request_seconds_bucket{{le=\"+Inf\"}} {all}"
        ));
        say(format_args!("bowseam_request_seconds_sum {seconds}"));
        say(format_args!("bowseam_request_seconds_count {all}"));
        let free = i64::try_from(self.budget.available_permits()).unwrap_or(i64::MAX);
        for (name, value) in [
            ("under_way", self.under_way.load(Relaxed)),
            ("free_mebibytes", free),
        ] {
            say(format_args!(
                "# TYPE bowseam_{name} gauge\nbowseam_{name} {value}"
            ));
        }
        for (name, counter) in [
            ("turned_away_total", &self.turned_away),
            ("entries_arrived_total", &self.entries),
            ("entries_refused_total", &self.refused),
            ("photos_arrived_total", &self.photos),
            ("photo_bytes_total", &self.bytes),
        ] {
            let value = counter.load(Relaxed);
            say(format_args!(
                "# TYPE bowseam_{name} counter\nbowseam_{name} {value}"
            ));
        }
        text
    }
}

/// Counts a request as under way as long as it lives: somebody may hang up in the middle.
struct UnderWay<'a>(&'a AtomicI64);

impl<'a> UnderWay<'a> {
    fn of(counter: &'a AtomicI64) -> Self {
        counter.fetch_add(1, Relaxed);
        Self(counter)
    }
}

impl Drop for UnderWay<'_> {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Relaxed);
    }
}

fn shares(request: &Request) -> u32 {
    let length = request.headers().get(CONTENT_LENGTH);
    let length: Option<u64> = length.and_then(|length| length.to_str().ok()?.parse().ok());
    let whole = match length {
        Some(length) => length.div_ceil(SHARE),
        None if request.body().is_end_stream() => 0,
        // It does not say how much: as much as entries may be.
        None => 8,
    };
    u32::try_from(whole.clamp(1, MOST)).unwrap_or(1)
}

/// Gives every request its share of the budget, counts it and tells the log.
pub async fn watch(State(office): State<Office>, request: Request, next: Next) -> Response {
    let watch = &office.0.watch;
    let begun = Instant::now();
    let method = request.method().clone();
    let path = request.uri().path().to_owned();
    let _under_way = UnderWay::of(&watch.under_way);
    let answer = match taken_in(&office, request, next).await {
        Ok(answer) => answer,
        Err(no) => no.into_response(),
    };
    let (status, took) = (answer.status(), begun.elapsed());
    watch.note(status, took);
    let code = answer
        .extensions()
        .get::<Code>()
        .map_or("", |code| code.0.as_str());
    let millis = took.as_secs_f64() * 1000.0;
    if status.is_server_error() {
        tracing::error!(%method, path, status = status.as_u16(), code, millis, "not answered");
    } else {
        tracing::info!(%method, path, status = status.as_u16(), code, millis, "answered");
    }
    answer
}

/// Runs a request with its share. What is large is taken only from somebody who is known, and nothing for ever: who
/// sends slowly on purpose would otherwise use the budget up for all.
async fn taken_in(office: &Office, request: Request, next: Next) -> Result<Response, No> {
    let watch = &office.0.watch;
    let shares = shares(&request);
    if shares > ANYBODY {
        let (asking, headers) = (office.clone(), request.headers().clone());
        if beside(move || asking.whose(&headers)).await?.is_none() {
            known(office, request.headers()).await?;
        }
    }
    let Ok(Ok(_share)) = timeout(PATIENCE, watch.budget.acquire_many(shares)).await else {
        watch.turned_away.fetch_add(1, Relaxed);
        return Err(No::new(
            StatusCode::SERVICE_UNAVAILABLE,
            "busy",
            "The office is busy just now. What waits on the phone is sent again by itself.",
        ));
    };
    timeout(LONGEST, next.run(request)).await.map_err(|_| {
        let sentence = "This took too long to come in. It is sent again by itself where it came from.";
        No::new(StatusCode::SERVICE_UNAVAILABLE, "too_slow", sentence)
    })
}

/// Whether this receiver can take something now, for a load balancer: its store, and what stands behind it, answers.
pub async fn health(State(office): State<Office>) -> Result<Response, No> {
    beside(move || {
        office.0.store.refresh()?;
        Ok(axum::Json(serde_json::json!({"ok": true})).into_response())
    })
    .await
}

/// The counters, where they are shown.
pub async fn metrics(State(office): State<Office>, headers: HeaderMap) -> Response {
    let shown = office.0.watch.shown.get();
    let given = headers
        .get(AUTHORIZATION)
        .and_then(|given| given.to_str().ok()?.strip_prefix("Bearer "));
    let may = match shown {
        None => false,
        Some(None) => true,
        // Hashes give nothing away by how long they take to compare.
        Some(Some(token)) => given.is_some_and(|given| sha256(given) == sha256(token)),
    };
    if may {
        let kind = [(CONTENT_TYPE, "text/plain; version=0.0.4")];
        (kind, office.0.watch.text()).into_response()
    } else {
        StatusCode::NOT_FOUND.into_response()
    }
}

impl Office {
    /// Shows the counters at `metrics`, to those who have the token if there is one. Without this they are not there.
    pub fn show_metrics(&self, token: Option<String>) {
        let _first_counts = self.0.watch.shown.set(token.filter(|token| !token.is_empty()));
    }
}
