//! The pages' door: an Ask in, an Answer or a Refusal out, for whoever the session names; and the photos that the
//! pages show.

use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_TYPE, SET_COOKIE};
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use bowseam_app::answer::Answer;
use bowseam_app::app::Asker;
use bowseam_app::ask::Ask;
use bowseam_app::door;
use bowseam_send::wire;
use uuid::Uuid;

use crate::guard::same_origin;
use crate::no::beside;
use crate::phones::phone;
use crate::roles::{Need, is_supervisor, need};
use crate::{No, Office, session};

/// Header with the ask where the body is a photo, as base64url of its JSON.
const ASK: &str = "bowseam-ask";

/// Answers an ask. The header `bowseam: 1` and the origin keep other sites' pages out.
pub async fn ask(State(office): State<Office>, headers: HeaderMap, body: Bytes) -> Result<Response, No> {
    same_origin(&headers)?;
    if headers.get(wire::OURS).is_none_or(|ours| ours != "1") {
        return Err(No::forbidden(
            "header",
            "Only the program's own pages may ask here: the header `bowseam: 1` is missing.",
        ));
    }
    let (ask, photo) = parse(&headers, body)?;
    beside(move || {
        let person = office.whose(&headers)?;
        office.answer(&headers, person, ask, photo)
    })
    .await
}

fn parse(headers: &HeaderMap, body: Bytes) -> Result<(Ask, Option<Bytes>), No> {
    match headers.get(ASK) {
        None => Ok((door::from_json(&body)?, None)),
        Some(ask) => Ok((door::from_header(ask.as_bytes())?, Some(body))),
    }
}

impl Office {
    fn answer(
        &self,
        headers: &HeaderMap,
        person: Option<Uuid>,
        ask: Ask,
        photo: Option<Bytes>,
    ) -> Result<Response, No> {
        self.may(person, need(&ask))?;
        let (signs_in, signs_out) = match &ask {
            Ask::SignIn { person, .. } => (Some(*person), false),
            ask => (None, matches!(ask, Ask::SignOut {})),
        };
        if signs_in.is_some() && !self.0.tries.may_try(&self.0.store)? {
            return Err(No::new(
                StatusCode::TOO_MANY_REQUESTS,
                "too_many_tries",
                "Too many tries to sign in. Wait a minute, then try again.",
            ));
        }
        let answer: Answer = self.0.app.ask(&Asker { person }, ask, photo.as_deref())?;
        let mut response = Json(answer).into_response();
        let cookie = match signs_in {
            // Whoever held the cookie before is signed out with it.
            Some(person) => {
                session::end(&self.0.store, headers)?;
                Some(session::start(&self.0.store, person, headers)?)
            }
            None if signs_out => Some(session::end(&self.0.store, headers)?),
            None => None,
        };
        if let Some(cookie) = cookie.and_then(|cookie| HeaderValue::from_str(&cookie).ok()) {
            response.headers_mut().insert(SET_COOKIE, cookie);
        }
        Ok(response)
    }

    pub(crate) fn may(&self, person: Option<Uuid>, need: Need) -> Result<(), No> {
        match need {
            Need::Nobody => return Ok(()),
            Need::Phone => {
                return Err(No::forbidden(
                    "phone",
                    "This is asked on a phone; the office has no outbox of its own.",
                ));
            }
            Need::Person | Need::Supervisor => {}
        }
        // Also of a session that began before the person's time here ended.
        let person = self.0.app.person(&Asker { person }).map_err(No::from)?;
        let person =
            person.ok_or_else(|| No::new(StatusCode::UNAUTHORIZED, "sign_in", "Say who you are first."))?;
        if need == Need::Supervisor && !is_supervisor(&person) {
            return Err(No::forbidden("role", "This is for supervisors; sign in as one."));
        }
        Ok(())
    }
}

/// A photo for a page (by its session) or for a phone (by its token): `small`, `large` or `original`.
pub async fn photo(
    State(office): State<Office>,
    Path((sha, size)): Path<(String, String)>,
    headers: HeaderMap,
) -> Result<Response, No> {
    same_origin(&headers)?;
    let asking = (office.clone(), headers.clone());
    if beside(move || asking.0.whose(&asking.1)).await?.is_none() {
        phone(&office, &headers).await?;
    }
    beside(move || {
        let (bytes, kind) = door::photo(&office.0.app, &sha, &size)?;
        // The name is the content's hash, so it never changes.
        let headers = [
            (CONTENT_TYPE, kind),
            (CACHE_CONTROL, "private, max-age=31536000, immutable"),
        ];
        Ok((headers, bytes).into_response())
    })
    .await
}

/// A packet that was made, to be saved: for a page, by its session.
pub async fn packet(
    State(office): State<Office>,
    Path(name): Path<String>,
    headers: HeaderMap,
) -> Result<Response, No> {
    same_origin(&headers)?;
    beside(move || {
        office.may(office.whose(&headers)?, Need::Person)?;
        let (bytes, kind) = door::packet(&office.0.app, &name)?;
        let headers = [
            (CONTENT_TYPE, kind),
            (CONTENT_DISPOSITION, "attachment"),
            (CACHE_CONTROL, "no-store"),
        ];
        Ok((headers, bytes).into_response())
    })
    .await
}
