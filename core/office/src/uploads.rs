//! Photos in parts, as [`bowseam_send::wire`] says. A part counts once it is on the disk; the last one is answered
//! `Upload-Complete: ?1` once the whole fits its SHA-256 and is kept. A photo that is kept is never sent again.

use std::ops::Deref;

use axum::body::{Body, HttpBody};
use axum::extract::{Path, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE, LOCATION};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use bowseam_send::{codes, wire};
use http_body_util::BodyExt;

use crate::no::beside;
use crate::phones::known;
use crate::watch::count;
use crate::{No, Office};

/// Announces a photo with its length, and may bring the whole of it; answers from which byte to send.
pub async fn begin(
    State(office): State<Office>,
    Path(sha): Path<String>,
    headers: HeaderMap,
    body: Body,
) -> Result<Response, No> {
    let phone = known(&office, &headers).await?;
    let bytes = number(&headers, wire::UPLOAD_LENGTH)?;
    let named = match header(&headers, wire::UPLOAD_COMPLETE) {
        Some("?1") => Some(digest(&headers)?),
        _ => None,
    };
    let name = sha.clone();
    let whole = office.body(body).await?;
    let at = beside(move || {
        let photos = &office.0.photos;
        let had = photos.has(&sha);
        let apart = phone.revoked() && !had;
        if apart && !codes::room_apart(&office.0.store, phone.device, bytes)? {
            return Err(No::forbidden("taken_back", wire::TAKEN_BACK));
        }
        // Something of it that came before goes on where it stopped.
        let taken = match named.filter(|_| u64::try_from(whole.len()) == Ok(bytes)) {
            Some(named) => photos.take(&sha, &whole, named)?,
            None => None,
        };
        let at = match taken {
            Some(at) => {
                count(&office.0.watch.bytes, whole.len());
                at
            }
            None => photos.begin(&sha, bytes)?,
        };
        office.finished(&sha, at, at == bytes, had)
    })
    .await?;
    let mut answer = reached(StatusCode::CREATED, at);
    if let Ok(place) = HeaderValue::from_str(&name) {
        // Relative to this same address, so that it holds wherever the office is nested.
        answer.headers_mut().insert(LOCATION, place);
    }
    Ok(answer)
}

/// How far a photo has got.
pub async fn reach(
    State(office): State<Office>,
    Path(sha): Path<String>,
    headers: HeaderMap,
) -> Result<Response, No> {
    known(&office, &headers).await?;
    let photos = office.0.photos.clone();
    let at = beside(move || {
        let at = photos.offset(&sha)?;
        Ok(Reach {
            at,
            complete: photos.has(&sha),
        })
    })
    .await?;
    let mut answer = reached(StatusCode::NO_CONTENT, at);
    answer
        .headers_mut()
        .insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    Ok(answer)
}

/// Adds a part.
pub async fn append(
    State(office): State<Office>,
    Path(sha): Path<String>,
    headers: HeaderMap,
    body: Body,
) -> Result<Response, No> {
    known(&office, &headers).await?;
    if headers.get(CONTENT_TYPE).is_none_or(|kind| kind != wire::PARTIAL) {
        return Err(No::new(
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "part_type",
            format!("A part of a photo is sent as {}.", wire::PARTIAL),
        ));
    }
    let offset = number(&headers, wire::UPLOAD_OFFSET)?;
    let last = match header(&headers, wire::UPLOAD_COMPLETE) {
        Some("?1") => true,
        Some("?0") => false,
        _ => {
            return Err(No::bad(
                "upload_complete",
                "Upload-Complete is ?1 with the last part and ?0 before.",
            ));
        }
    };
    let named = digest(&headers)?;
    let part = office.body(body).await?;
    let at = beside(move || {
        let had = last && office.0.photos.has(&sha);
        let at = office.0.photos.append(&sha, offset, &part, Some(named))?;
        count(&office.0.watch.bytes, part.len());
        office.finished(&sha, at, last, had)
    })
    .await?;
    Ok(reached(
        if at.complete {
            StatusCode::OK
        } else {
            StatusCode::NO_CONTENT
        },
        at,
    ))
}

#[derive(Debug, Clone, Copy)]
struct Reach {
    at: u64,
    complete: bool,
}

/// What came with a request; its buffer is used again.
struct Came {
    bytes: Vec<u8>,
    office: Office,
}

impl Deref for Came {
    type Target = [u8];

    fn deref(&self) -> &[u8] {
        &self.bytes
    }
}

impl Drop for Came {
    fn drop(&mut self) {
        self.office.0.buffers.give(std::mem::take(&mut self.bytes));
    }
}

impl Office {
    /// Takes in a part, each piece as it comes: so the pieces' own memory is free for the next ones.
    async fn body(&self, mut body: Body) -> Result<Came, No> {
        let mut came = Came {
            bytes: self.0.buffers.take(),
            office: self.clone(),
        };
        let bytes = body
            .size_hint()
            .exact()
            .and_then(|bytes| usize::try_from(bytes).ok());
        came.bytes.reserve(bytes.unwrap_or_default().min(wire::MOST_PART));
        while let Some(frame) = body.frame().await {
            let frame = frame.map_err(|_| No::bad("cut", "The part did not come whole. Send it again."))?;
            let piece = frame.data_ref().map_or(&[][..], |data| data);
            if came.bytes.len().saturating_add(piece.len()) > wire::MOST_PART {
                return Err(No::new(
                    StatusCode::PAYLOAD_TOO_LARGE,
                    "part_too_large",
                    format!("A part is at most {} bytes long.", wire::MOST_PART),
                ));
            }
            came.bytes.extend_from_slice(piece);
        }
        Ok(came)
    }

    /// After the last part (or one whose answer got lost before the photo was kept): checks the whole and keeps it, where
    /// it was not kept before or with its one part.
    fn finished(&self, sha: &str, at: u64, last: bool, had: bool) -> Result<Reach, No> {
        let photos = &self.0.photos;
        if last && !photos.has(sha) {
            photos.finish(sha)?;
        }
        let complete = photos.has(sha);
        if complete && last && !had {
            count(&self.0.watch.photos, 1);
            // Whoever opens the job next does not wait for it to be shrunk. If it cannot be, that shows there.
            self.0.app.shrink_soon(sha);
        }
        Ok(Reach { at, complete })
    }
}

fn reached(status: StatusCode, reach: Reach) -> Response {
    let complete = HeaderValue::from_static(if reach.complete { "?1" } else { "?0" });
    let headers = [
        (
            HeaderName::from_static(wire::UPLOAD_OFFSET),
            HeaderValue::from(reach.at),
        ),
        (HeaderName::from_static(wire::UPLOAD_COMPLETE), complete),
    ];
    (status, headers).into_response()
}

fn header<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    headers.get(name)?.to_str().ok()
}

/// The SHA-256 of what comes with this request, as its sender says.
fn digest(headers: &HeaderMap) -> Result<[u8; 32], No> {
    let named = header(headers, wire::CONTENT_DIGEST).and_then(wire::digest_named);
    named.ok_or_else(|| {
        No::bad(
            "digest_missing",
            "A part comes with a Content-Digest that names its sha-256.",
        )
    })
}

fn number(headers: &HeaderMap, name: &str) -> Result<u64, No> {
    let number = header(headers, name).and_then(|text| text.parse().ok());
    number.ok_or_else(|| No::bad("header", format!("{name} is needed, a whole number of bytes.")))
}
