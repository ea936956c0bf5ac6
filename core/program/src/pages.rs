//! The screens of `ui/`, carried in the program so that it runs from anywhere, and the phone's door over HTTP.

use axum::{
    Json, Router,
    body::Bytes,
    extract::{DefaultBodyLimit, Path, State},
    http::{HeaderMap, HeaderValue, StatusCode, Uri, header},
    response::{IntoResponse, Redirect, Response},
    routing::{get, post},
};
use bowseam_app::{
    answer::Refusal,
    app::{App, Asker},
    ask::Ask,
};
use include_dir::{Dir, include_dir};
use std::sync::Arc;

static UI: Dir<'static> = include_dir!("$CARGO_MANIFEST_DIR/../../ui");

/// Largest photo taken over the phone's door, bytes.
const LARGEST_PHOTO: usize = 64 << 20;

/// Nothing from elsewhere, nothing inline, nobody frames us.
const CSP: &str = "default-src 'self'; img-src 'self' blob: data:; object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// What ends the name of a file says what it is.
const TYPES: [(&str, &str); 8] = [
    ("html", "text/html; charset=utf-8"),
    ("js", "text/javascript; charset=utf-8"),
    ("css", "text/css; charset=utf-8"),
    ("json", "application/json"),
    ("svg", "image/svg+xml"),
    ("png", "image/png"),
    ("ico", "image/x-icon"),
    ("webp", "image/webp"),
];

/// The phone's side: its screens, its door, its photos.
pub fn phone(app: Arc<App>) -> Router {
    Router::new()
        .route("/", get(|| async { Redirect::temporary("/field/yard.html") }))
        .route("/ask", post(ask))
        .route("/photo/{sha256}/{size}", get(photo))
        .route("/packet/{name}", get(packet))
        .layer(DefaultBodyLimit::max(LARGEST_PHOTO))
        .with_state(app)
        .fallback(screens)
}

/// A file of `ui/`.
pub async fn screens(uri: Uri) -> Response {
    // Browsers ask for this one by themselves, whatever icon the page names.
    let path = match uri.path().trim_start_matches('/') {
        "favicon.ico" => "parts/icon.svg",
        path => path,
    };
    let kind = TYPES.iter().find(|(end, _)| path.rsplit('.').next() == Some(end));
    match (UI.get_file(path), kind) {
        (Some(file), Some((_, kind))) => (
            [
                (header::CONTENT_TYPE, *kind),
                (header::CONTENT_SECURITY_POLICY, CSP),
                (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
                (header::REFERRER_POLICY, "no-referrer"),
                (header::CACHE_CONTROL, "no-cache"),
            ],
            file.contents(),
        )
            .into_response(),
        _ => (StatusCode::NOT_FOUND, "There is no such page.").into_response(),
    }
}

/// The door: JSON, or a photo's bytes with the ask in the header `bowseam-ask` (base64url of its JSON).
async fn ask(State(app): State<Arc<App>>, headers: HeaderMap, body: Bytes) -> Response {
    let raw = headers.get("bowseam-ask").map(HeaderValue::as_bytes);
    let ask = match raw {
        Some(coded) => bowseam_app::door::from_header(coded),
        None => bowseam_app::door::from_json(&body),
    };
    let answer = match ask {
        Ok(ask) => tokio::task::spawn_blocking(move || answer(&app, ask, raw_bytes(&headers, &body))).await,
        Err(refusal) => Ok(Err(refusal)),
    };
    match answer {
        Ok(Ok(json)) => ([(header::CONTENT_TYPE, "application/json")], json).into_response(),
        Ok(Err(refusal)) => (StatusCode::UNPROCESSABLE_ENTITY, Json(refusal)).into_response(),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

fn raw_bytes<'a>(headers: &HeaderMap, body: &'a Bytes) -> Option<&'a [u8]> {
    headers.contains_key("bowseam-ask").then_some(body)
}

fn answer(app: &App, ask: Ask, bytes: Option<&[u8]>) -> Result<String, Refusal> {
    let answer = app.ask(&Asker::default(), ask, bytes)?;
    serde_json::to_string(&answer).map_err(|e| Refusal {
        code: "answer".into(),
        sentence: format!("The answer cannot be written: {e}."),
        field: None,
    })
}

async fn photo(State(app): State<Arc<App>>, Path((sha256, size)): Path<(String, String)>) -> Response {
    let found = tokio::task::spawn_blocking(move || bowseam_app::door::photo(&app, &sha256, &size)).await;
    match found {
        Ok(Ok((bytes, kind))) => (
            [
                (header::CONTENT_TYPE, kind),
                (header::CACHE_CONTROL, "private, max-age=31536000, immutable"),
            ],
            bytes,
        )
            .into_response(),
        Ok(Err(refusal)) => (StatusCode::NOT_FOUND, Json(refusal)).into_response(),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

/// A packet that was made, to be saved.
async fn packet(State(app): State<Arc<App>>, Path(name): Path<String>) -> Response {
    match tokio::task::spawn_blocking(move || bowseam_app::door::packet(&app, &name)).await {
        Ok(Ok((bytes, kind))) => (
            [
                (header::CONTENT_TYPE, kind),
                (header::CONTENT_DISPOSITION, "attachment"),
                (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
                (header::CACHE_CONTROL, "no-store"),
            ],
            bytes,
        )
            .into_response(),
        Ok(Err(refusal)) => (StatusCode::NOT_FOUND, Json(refusal)).into_response(),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}
