//! The office: receives what phones send, and answers the supervisors' pages. SQLite and a folder of photos;
//! a phone's entry or photo is answered *arrived* only after it is on the disk.
//!
//! Two doors that share nothing but the store: [`phones`] come with a token and speak [`bowseam_send::wire`];
//! pages come with a session and speak Asks ([`door`]). The router is nested at `/office` or served alone.

mod card;
mod door;
mod entries;
mod guard;
mod no;
mod phones;
mod roles;
mod session;
mod uploads;
mod watch;

use std::{sync::Arc, thread, time::Duration};

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::{HeaderName, HeaderValue};
use axum::middleware::{from_fn_with_state, map_response};
use axum::response::Response;
use axum::routing::{get, post};
use bowseam_app::app::App;
use bowseam_jobs::Store;
use bowseam_photos::Folder;
use bowseam_send::{Buffers, wire};

pub use card::CardRead;
pub use guard::{Guard, guard};
pub use no::No;
pub use roles::{Need, need};

/// The office over one store. Cheap to clone.
#[derive(Clone)]
pub struct Office(Arc<Inside>);

struct Inside {
    app: Arc<App>,
    store: Arc<Store>,
    photos: Folder,
    name: String,
    tries: session::Tries,
    watch: watch::Watch,
    /// Of photos that come in.
    buffers: Buffers,
}

impl Office {
    /// An office with the name that phones show, over an app of [`bowseam_app::app::Kind::Office`].
    pub fn new(app: Arc<App>, name: &str) -> Self {
        let (store, photos) = (app.store(), app.photos().clone());
        keep_figured(&app);
        Self(Arc::new(Inside {
            app,
            store,
            photos,
            name: name.to_owned(),
            tries: session::Tries::default(),
            watch: watch::Watch::default(),
            buffers: Buffers::default(),
        }))
    }
}

/// Rows of the list are figured beside the answers, as long as the office lives.
fn keep_figured(app: &Arc<App>) {
    let app = Arc::downgrade(app);
    thread::spawn(move || {
        while let Some(app) = app.upgrade() {
            // What cannot be figured now is told where it is asked for.
            let left = app.figure_rows().unwrap_or_default();
            drop(app);
            thread::sleep(if left > 0 { BUSY } else { IDLE });
        }
    });
}

/// Between two looks at what is to be figured, while there is something.
const BUSY: Duration = Duration::from_millis(5);
/// The same while there is nothing.
const IDLE: Duration = Duration::from_secs(2);
/// Small bodies: a code, a name.
const SMALL: usize = 16 * 1024;

/// All paths of the office, below wherever this is nested.
pub fn router(office: Office) -> Router {
    // A photo for an ask comes whole, from the office's own pages.
    let photo = usize::try_from(bowseam_photos::MAX_BYTES).unwrap_or(usize::MAX);
    let uploads = post(uploads::begin).head(uploads::reach).patch(uploads::append);
    let entries = post(entries::push).get(entries::pull);
    Router::new()
        .route("/ask", post(door::ask).layer(DefaultBodyLimit::max(photo)))
        .route("/photo/{sha}/{size}", get(door::photo))
        .route("/packet/{name}", get(door::packet))
        .route("/enrol", post(phones::enrol).layer(DefaultBodyLimit::max(SMALL)))
        .route("/here", get(phones::here))
        .route("/shop", get(phones::shop))
        .route("/uploads/{sha}", uploads)
        .route("/entries", entries.layer(DefaultBodyLimit::max(wire::MOST_BODY)))
        .route("/card", post(card::take).layer(DefaultBodyLimit::disable()))
        .layer(from_fn_with_state(office.clone(), watch::watch))
        .route("/health", get(watch::health))
        .route("/metrics", get(watch::metrics))
        .layer(map_response(signed))
        .with_state(office)
}

/// Every answer says that it comes from an office, and not from a network in between.
async fn signed(mut answer: Response) -> Response {
    let headers = answer.headers_mut();
    headers.insert(HeaderName::from_static(wire::OURS), HeaderValue::from_static("1"));
    headers.insert(
        HeaderName::from_static("x-content-type-options"),
        HeaderValue::from_static("nosniff"),
    );
    answer
}
