//! Who may ask at a loopback port. Any page in a browser can send requests to 127.0.0.1, and a name of its own
//! that points there (DNS rebinding) would even let it read the answers. So the address asked for must be ours by
//! name, and the page that asks must be one of ours.

use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::HeaderMap;
use axum::http::header::{HOST, HeaderName, ORIGIN};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use crate::No;

/// The addresses that are ours: `127.0.0.1:PORT` and `localhost:PORT`.
#[derive(Debug, Clone)]
pub struct Guard(Arc<[String; 2]>);

impl Guard {
    /// For pages served at this port.
    pub fn new(port: u16) -> Self {
        Self(Arc::new([
            format!("127.0.0.1:{port}"),
            format!("localhost:{port}"),
        ]))
    }

    /// Whether a request with these headers may pass.
    ///
    /// # Errors
    /// A refusal with status 403.
    pub fn check(&self, headers: &HeaderMap) -> Result<(), No> {
        let host = text(headers, &HOST);
        if !host.is_some_and(|host| self.0.iter().any(|ours| ours.as_str() == host)) {
            let [ours, _] = self.0.as_ref();
            return Err(No::forbidden(
                "host",
                format!("These pages answer only at http://{ours}/, on this same machine."),
            ));
        }
        same_origin(headers)
    }
}

/// Lets a request pass or answers 403: `axum::middleware::from_fn_with_state(Guard::new(port), guard)`.
pub async fn guard(State(guard): State<Guard>, request: Request, next: Next) -> Response {
    match guard.check(request.headers()) {
        Ok(()) => next.run(request).await,
        Err(no) => no.into_response(),
    }
}

/// The page that asks, where the browser names one, must be of the address it asks.
///
/// # Errors
/// A refusal with status 403.
pub fn same_origin(headers: &HeaderMap) -> Result<(), No> {
    let host = text(headers, &HOST).unwrap_or_default();
    let origin_fits = match headers.get(ORIGIN).map(|origin| origin.to_str()) {
        None => true,
        Some(Ok(origin)) => {
            origin
                .strip_prefix("http://")
                .or_else(|| origin.strip_prefix("https://"))
                == Some(host)
        }
        Some(Err(_)) => false,
    };
    // Another site may link here (that only opens our page), but not fetch or show what is ours.
    let fetched = text(headers, &HeaderName::from_static("sec-fetch-site")) == Some("cross-site")
        && text(headers, &HeaderName::from_static("sec-fetch-mode")) != Some("navigate");
    if origin_fits && !fetched {
        Ok(())
    } else {
        Err(No::forbidden(
            "origin",
            "Only the program's own pages may ask here; this came from a page of another address.",
        ))
    }
}

fn text<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    headers.get(name)?.to_str().ok()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn only_our_own_address_and_our_own_pages_pass() {
        let rows: [(&[(&str, &str)], bool); 13] = [
            (&[("host", "127.0.0.1:80")], true),
            (&[("host", "localhost:80")], true),
            (
                &[("host", "localhost:80"), ("origin", "http://localhost:80")],
                true,
            ),
            (
                &[
                    ("host", "localhost:80"),
                    ("sec-fetch-site", "cross-site"),
                    ("sec-fetch-mode", "navigate"),
                ],
                true,
            ),
            (&[], false),
            (&[("host", "127.0.0.1")], false),
            (&[("host", "127.0.0.1:81")], false),
            (&[("host", "office.example:80")], false),
            (&[("host", "localhost.office.example:80")], false),
            (
                &[("host", "localhost:80"), ("origin", "http://localhost:81")],
                false,
            ),
            (&[("host", "localhost:80"), ("origin", "null")], false),
            (
                &[("host", "localhost:80"), ("origin", "http://127.0.0.1:80")],
                false,
            ),
            (
                &[
                    ("host", "localhost:80"),
                    ("sec-fetch-site", "cross-site"),
                    ("sec-fetch-mode", "no-cors"),
                ],
                false,
            ),
        ];
        for (row, passes) in rows {
            let mut headers = HeaderMap::new();
            for (name, value) in row {
                headers.insert(HeaderName::from_static(name), value.parse().unwrap());
            }
            assert_eq!(Guard::new(80).check(&headers).is_ok(), passes, "{row:?}");
        }
    }
}
