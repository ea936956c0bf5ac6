//! The office: receives what phones send, and answers the supervisors' pages. SQLite and a folder of photos;
//! a phone's entry or photo is answered *arrived* only after it is on the disk.
//!
//! Two doors that share nothing but the store: [`phones`] come with a token and speak [`bowseam_send::wire`];
//! pages come with a session and speak Asks ([`door`]). The router is nested at `/office` or served alone.

mod door;
mod entries;
mod guard;
mod no;
mod phones;
mod roles;
mod session;
mod uploads;

use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::{HeaderName, HeaderValue};
use axum::middleware::map_response;
use axum::response::Response;
use axum::routing::{get, post};
use bowseam_app::app::App;
use bowseam_jobs::Store;
use bowseam_photos::Folder;
use bowseam_send::wire;

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
    sessions: session::Sessions,
}

impl Office {
    /// An office with the name that phones show, over an app of [`bowseam_app::app::Kind::Office`].
    pub fn new(app: Arc<App>, name: &str) -> Self {
        let (store, photos) = (app.store(), app.photos().clone());
        Self(Arc::new(Inside {
            app,
            store,
            photos,
            name: name.to_owned(),
            sessions: session::Sessions::default(),
        }))
    }
}

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
        .route(
            "/uploads/{sha}",
            uploads.layer(DefaultBodyLimit::max(wire::MOST_PART)),
        )
        .route("/entries", entries.layer(DefaultBodyLimit::max(wire::MOST_BODY)))
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
