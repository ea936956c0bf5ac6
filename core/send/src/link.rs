//! One request to the office each, and what the answer means for whoever sends. No state, no store, no retries:
//! those are the round's matter.

use std::time::Duration;

use bowseam_jobs::entry::Entry;
use bowseam_photos::digest_of_name;
use chrono::{DateTime, Utc};
use ureq::http::{Response, StatusCode};
use ureq::{Agent, Body, RequestBuilder};

use crate::wire::{self, Enrol, Enrolled, Pulled, Push, Pushed, Shop, Sorry};
use crate::{Error, Office, Result};

/// Why a request did not do what it should.
#[derive(Debug)]
pub enum Trouble {
    /// Nothing answered, or something that is not an office.
    Silent(String),
    /// The office does not know this token.
    NotKnown,
    /// The office is there but cannot just now.
    Later(String),
    /// It is not taken, with the office's sentence.
    Refused(String),
    /// What was sent is not what its digest says: the network changed it, or this phone's disk did.
    Changed(String),
    /// The next byte wanted is another one.
    WrongOffset(u64),
    /// Not there.
    Missing,
}

type Answer<T> = std::result::Result<T, Trouble>;

/// Whole time of one request; a part of a photo fits in it even at 70 kbit/s.
const PATIENCE: Duration = Duration::from_secs(45);
const CONNECT: Duration = Duration::from_secs(10);

/// The client: no redirects (a network's sign-in page is no office), no proxy from the environment.
pub fn agent() -> Agent {
    Agent::config_builder()
        .timeout_global(Some(PATIENCE))
        .timeout_connect(Some(CONNECT))
        .http_status_as_error(false)
        .max_redirects(0)
        .max_redirects_will_error(false)
        .proxy(None)
        .user_agent(concat!("bowseam/", env!("CARGO_PKG_VERSION")))
        .build()
        .new_agent()
}

/// How far a photo has got.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reach {
    /// The byte wanted next.
    pub at: u64,
    /// The office has the whole and it fits its SHA-256.
    pub complete: bool,
}

/// The office as seen from here.
#[derive(Debug, Clone, Copy)]
pub struct Link<'a> {
    pub agent: &'a Agent,
    pub office: &'a Office,
}

impl Link<'_> {
    fn dressed<Any>(&self, request: RequestBuilder<Any>) -> RequestBuilder<Any> {
        request
            .header("authorization", format!("Bearer {}", self.office.token))
            .header(wire::OURS, "1")
    }

    /// Whether the office is there and knows this phone; its clock (`Date`, RFC 9110 6.6.1), where it says so.
    pub fn here(&self) -> Answer<Option<DateTime<Utc>>> {
        let answer = heard(self.dressed(self.agent.get(self.office.at("here"))).call())?;
        let date = answer.headers().get("date").and_then(|date| date.to_str().ok());
        let date = date.and_then(|date| DateTime::parse_from_rfc2822(date).ok());
        Ok(date.map(|date| date.to_utc()))
    }

    /// Announces a photo; answers the offset to send from.
    pub fn announce(&self, sha: &str, bytes: u64) -> Answer<Reach> {
        let request = self.agent.post(self.office.at(&format!("uploads/{sha}")));
        let request = self
            .dressed(request)
            .header(wire::UPLOAD_LENGTH, bytes.to_string())
            .header(wire::UPLOAD_COMPLETE, "?0");
        reach(&heard(request.send_empty())?)
    }

    /// Announces a photo and brings the whole of it at once (the draft's creation with content); answers as
    /// [`Link::announce`]. It goes under its own SHA-256, which was worked out when it was kept.
    pub fn create(&self, sha: &str, whole: &[u8]) -> Answer<Reach> {
        let request = self.agent.post(self.office.at(&format!("uploads/{sha}")));
        let request = self
            .dressed(request)
            .content_type(wire::PARTIAL)
            .header(wire::UPLOAD_LENGTH, whole.len().to_string())
            .header(wire::UPLOAD_COMPLETE, "?1")
            .header(wire::CONTENT_DIGEST, whole_digest(sha, whole));
        reach(&heard(request.send(whole))?)
    }

    /// Asks how far a photo has got.
    pub fn offset(&self, sha: &str) -> Answer<Reach> {
        reach(&heard(
            self.dressed(self.agent.head(self.office.at(&format!("uploads/{sha}"))))
                .call(),
        )?)
    }

    /// Sends a part; answers the offset of the next one.
    pub fn append(&self, sha: &str, at: u64, part: &[u8], last: bool) -> Answer<Reach> {
        let digest = match at == 0 && last {
            true => whole_digest(sha, part),
            false => wire::digest(part),
        };
        let request = self.agent.patch(self.office.at(&format!("uploads/{sha}")));
        let request = self
            .dressed(request)
            .content_type(wire::PARTIAL)
            .header(wire::UPLOAD_OFFSET, at.to_string())
            .header(wire::UPLOAD_COMPLETE, if last { "?1" } else { "?0" })
            .header(wire::CONTENT_DIGEST, digest);
        reach(&heard(request.send(part))?)
    }

    /// Sends entries.
    pub fn push(&self, entries: &[Entry]) -> Answer<Pushed> {
        let entries = entries
            .iter()
            .filter_map(|entry| serde_json::to_value(entry).ok())
            .collect();
        read(heard(
            self.dressed(self.agent.post(self.office.at("entries")))
                .send_json(Push { entries }),
        )?)
    }

    /// Gets the entries after a cursor; `own` asks for this phone's own ones too.
    pub fn pull(&self, after: i64, own: bool) -> Answer<Pulled> {
        let address = self.office.at(&format!("entries?after={after}&own={own}"));
        read(heard(self.dressed(self.agent.get(address)).call())?)
    }

    /// People and shop book.
    pub fn shop(&self) -> Answer<Shop> {
        read(heard(
            self.dressed(self.agent.get(self.office.at("shop"))).call(),
        )?)
    }
}

/// The digest of a whole photo is in its name, so it is not worked out again: the office finds what the network, or this
/// phone's disk since it was kept, did to it.
fn whole_digest(sha: &str, whole: &[u8]) -> String {
    digest_of_name(sha).map_or_else(|| wire::digest(whole), wire::content_digest)
}

/// Trades a code for a token.
pub fn enrol(agent: &Agent, office: &Office, asked: &Enrol) -> Result<Enrolled> {
    let sent = agent
        .post(office.at("enrol"))
        .header(wire::OURS, "1")
        .send_json(asked);
    match heard(sent).and_then(read) {
        Ok(enrolled) => Ok(enrolled),
        Err(Trouble::Silent(cause)) => Err(Error::NoAnswer(cause)),
        Err(Trouble::Refused(sentence) | Trouble::Later(sentence) | Trouble::Changed(sentence)) => {
            Err(Error::Said(sentence))
        }
        Err(Trouble::NotKnown | Trouble::WrongOffset(_) | Trouble::Missing) => {
            Err(Error::NoAnswer("no office at this address".to_owned()))
        }
    }
}

/// Sorts an answer by what it means.
fn heard(sent: std::result::Result<Response<Body>, ureq::Error>) -> Answer<Response<Body>> {
    let mut answer = sent.map_err(|error| Trouble::Silent(error.to_string()))?;
    if !answer.headers().contains_key(wire::OURS) {
        let status = answer.status();
        return Err(Trouble::Silent(format!("{status}, but not from an office")));
    }
    match answer.status() {
        status if status.is_success() => Ok(answer),
        StatusCode::UNAUTHORIZED => Err(Trouble::NotKnown),
        StatusCode::NOT_FOUND => Err(Trouble::Missing),
        StatusCode::CONFLICT => match offset(&answer) {
            Ok(at) => Err(Trouble::WrongOffset(at)),
            Err(_) => Err(Trouble::Refused(said(&mut answer))),
        },
        StatusCode::BAD_REQUEST => {
            let sorry = answer.body_mut().read_json::<Sorry>();
            Err(match sorry {
                Ok(sorry) if sorry.code == "digest_wrong" => Trouble::Changed(sorry.sentence),
                Ok(sorry) => Trouble::Refused(sorry.sentence),
                Err(_) => Trouble::Later("The office did not say what is wrong.".to_owned()),
            })
        }
        StatusCode::REQUEST_TIMEOUT | StatusCode::TOO_MANY_REQUESTS => Err(Trouble::Later(said(&mut answer))),
        status if status.is_server_error() => Err(Trouble::Later(said(&mut answer))),
        _ => Err(Trouble::Refused(said(&mut answer))),
    }
}

/// The office's sentence.
fn said(answer: &mut Response<Body>) -> String {
    let status = answer.status();
    let sorry = answer.body_mut().read_json::<Sorry>();
    sorry.map_or_else(
        |_| format!("The office answered {status} without saying why."),
        |sorry| sorry.sentence,
    )
}

fn read<T: serde::de::DeserializeOwned>(mut answer: Response<Body>) -> Answer<T> {
    let limit = u64::try_from(wire::MOST_BODY)
        .unwrap_or(u64::MAX)
        .saturating_mul(2);
    let read = answer.body_mut().with_config().limit(limit).read_json();
    read.map_err(|error| Trouble::Silent(error.to_string()))
}

fn reach(answer: &Response<Body>) -> Answer<Reach> {
    let complete = answer
        .headers()
        .get(wire::UPLOAD_COMPLETE)
        .is_some_and(|value| value == "?1");
    Ok(Reach {
        at: offset(answer)?,
        complete,
    })
}

fn offset(answer: &Response<Body>) -> Answer<u64> {
    let header = answer.headers().get(wire::UPLOAD_OFFSET);
    header
        .and_then(|value| value.to_str().ok()?.parse().ok())
        .ok_or_else(|| Trouble::Later("The office did not say how far the photo has got.".to_owned()))
}
