//! An answer that is not a yes: a status, a stable code, and a sentence for a person.

use axum::Json;
use axum::http::header::{CONTENT_TYPE, HeaderValue, RETRY_AFTER};
use axum::http::{HeaderName, StatusCode};
use axum::response::{IntoResponse, Response};
use bowseam_app::answer::Refusal;
use bowseam_send::wire;
use serde_json::json;

/// What is answered instead.
#[derive(Debug)]
pub struct No {
    status: StatusCode,
    refusal: Refusal,
    /// The byte wanted next, where a part does not join on, and the one that was offered.
    at: Option<u64>,
}

impl No {
    /// A refusal with its status.
    pub fn new(status: StatusCode, code: &str, sentence: impl Into<String>) -> Self {
        Self {
            status,
            refusal: Refusal {
                code: code.to_owned(),
                sentence: sentence.into(),
                field: None,
            },
            at: None,
        }
    }

    /// The token is missing, wrong or was taken back.
    pub fn stranger() -> Self {
        Self::new(StatusCode::UNAUTHORIZED, "stranger", bowseam_send::UNKNOWN_PHONE)
    }

    /// A request that is not as it should be.
    pub fn bad(code: &str, sentence: impl Into<String>) -> Self {
        Self::new(StatusCode::BAD_REQUEST, code, sentence)
    }

    /// Not to be had from here.
    pub fn forbidden(code: &str, sentence: impl Into<String>) -> Self {
        Self::new(StatusCode::FORBIDDEN, code, sentence)
    }
}

/// The stable code of an answer, for the log.
#[derive(Clone)]
pub struct Code(pub String);

impl IntoResponse for No {
    fn into_response(self) -> Response {
        let (code, later) = (
            Code(self.refusal.code.clone()),
            self.status == StatusCode::SERVICE_UNAVAILABLE,
        );
        let mut answer = self.answer();
        answer.extensions_mut().insert(code);
        if later {
            answer
                .headers_mut()
                .insert(RETRY_AFTER, HeaderValue::from_static("5"));
        }
        answer
    }
}

impl No {
    fn answer(self) -> Response {
        let Some(at) = self.at else {
            return (self.status, Json(self.refusal)).into_response();
        };
        // Problem details (RFC 9457) as the draft on resumable uploads wants them, with our two fields beside.
        let problem = json!({
            "type": wire::WRONG_OFFSET,
            "title": self.refusal.sentence,
            "expected-offset": at,
            "code": self.refusal.code,
            "sentence": self.refusal.sentence,
        });
        let mut answer = (self.status, Json(problem)).into_response();
        let headers = answer.headers_mut();
        headers.insert(CONTENT_TYPE, HeaderValue::from_static("application/problem+json"));
        headers.insert(
            HeaderName::from_static(wire::UPLOAD_OFFSET),
            HeaderValue::from(at),
        );
        headers.insert(
            HeaderName::from_static(wire::UPLOAD_COMPLETE),
            HeaderValue::from_static("?0"),
        );
        answer
    }
}

impl From<Refusal> for No {
    fn from(refusal: Refusal) -> Self {
        let status = match refusal.code.as_str() {
            "sign_in" => StatusCode::UNAUTHORIZED,
            "not_an_ask" | "size" => StatusCode::BAD_REQUEST,
            "photo_missing" => StatusCode::NOT_FOUND,
            "away" | "photo_away" => StatusCode::SERVICE_UNAVAILABLE,
            _ => StatusCode::UNPROCESSABLE_ENTITY,
        };
        Self {
            status,
            refusal,
            at: None,
        }
    }
}

impl From<bowseam_photos::Error> for No {
    fn from(error: bowseam_photos::Error) -> Self {
        use bowseam_photos::Error as Photo;
        let (status, at) = match &error {
            Photo::Missing => (StatusCode::NOT_FOUND, None),
            Photo::WrongOffset { at } => (StatusCode::CONFLICT, Some(*at)),
            // What had arrived is gone: the next byte wanted is the first.
            Photo::OtherPhoto => (StatusCode::CONFLICT, Some(0)),
            // The network changed it, or the sender's disk did.
            Photo::Changed => return Self::bad("digest_wrong", error.to_string()),
            Photo::TooLarge => (StatusCode::PAYLOAD_TOO_LARGE, None),
            Photo::DiskFull(_) => (StatusCode::INSUFFICIENT_STORAGE, None),
            Photo::ReadOnly(_)
            | Photo::Disk(_)
            | Photo::Away(_)
            | Photo::Incomplete { .. }
            | Photo::Damaged => (StatusCode::SERVICE_UNAVAILABLE, None),
            _ => (StatusCode::UNPROCESSABLE_ENTITY, None),
        };
        Self {
            at,
            ..Self::new(status, error.code(), error.to_string())
        }
    }
}

impl From<bowseam_jobs::Error> for No {
    fn from(error: bowseam_jobs::Error) -> Self {
        Self::new(StatusCode::SERVICE_UNAVAILABLE, error.code(), error.to_string())
    }
}

impl From<bowseam_send::Error> for No {
    fn from(error: bowseam_send::Error) -> Self {
        use bowseam_send::Error as Send;
        let status = match &error {
            Send::Code(_) => StatusCode::FORBIDDEN,
            Send::TooManyCodes => StatusCode::TOO_MANY_REQUESTS,
            // No card of a phone: nothing that a later try would mend.
            Send::Card(_) => StatusCode::UNPROCESSABLE_ENTITY,
            _ => StatusCode::SERVICE_UNAVAILABLE,
        };
        Self::new(status, error.code(), error.to_string())
    }
}

/// Runs what waits for the disk beside the threads that answer.
pub async fn beside<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, No> + Send + 'static,
) -> Result<T, No> {
    match tokio::task::spawn_blocking(work).await {
        Ok(done) => done,
        Err(_) => Err(No::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "broke",
            "The office broke off while answering this. What was saved is safe; try again.",
        )),
    }
}
