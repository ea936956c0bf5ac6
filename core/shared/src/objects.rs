//! Photos in an S3-compatible store: put, get and head of one object, named by the photo's SHA-256. Requests are signed
//! by `rusty-s3` (AWS Signature Version 4 in the query) and carry the SHA-256 of what they bring, which the store checks.

use crate::{Error, Result};
use base64::{Engine, engine::general_purpose::STANDARD};
use rusty_s3::{Bucket, Credentials, S3Action, UrlStyle};
use std::{fmt, time::Duration};
use ureq::{Agent, http::StatusCode};
use url::Url;

/// How long a signed request is good: clocks differ, and a photo takes its time.
const GOOD: Duration = Duration::from_secs(900);
const CHECKSUM: &str = "x-amz-checksum-sha256";
/// What is accepted.
const FORM: &str = "Photos are given as s3://BUCKET/PREFIX?endpoint=https://HOST&region=REGION (endpoint and region only where it is not the usual one; &style=host where the bucket is part of the host's name), with the key in AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY.";

/// A bucket, and where in it photos lie.
pub struct Objects {
    bucket: Bucket,
    credentials: Credentials,
    prefix: String,
    agent: Agent,
}

impl fmt::Debug for Objects {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "s3://{}/{}", self.bucket.name(), self.prefix)
    }
}

impl Objects {
    /// The place by its address, with a key; nothing is reached yet.
    ///
    /// # Errors
    /// `shared_address`.
    pub fn new(address: &str, key: &str, secret: &str, token: Option<&str>) -> Result<Self> {
        let wrong = |why: &str| Error::Address(format!("{why} {FORM}"));
        let url: Url = address
            .parse()
            .map_err(|_| wrong("The address of the photos cannot be read."))?;
        let name = url.host_str().filter(|_| url.scheme() == "s3");
        let name = name.ok_or_else(|| wrong("The address of the photos does not start with s3://."))?;
        let asked = |wanted: &str| {
            let mut pairs = url.query_pairs();
            pairs
                .find(|(key, _)| key == wanted)
                .map(|(_, value)| value.into_owned())
        };
        let region = asked("region").unwrap_or_else(|| "us-east-1".to_owned());
        let endpoint = asked("endpoint").unwrap_or_else(|| format!("https://s3.{region}.amazonaws.com"));
        let endpoint: Url = endpoint
            .parse()
            .map_err(|_| wrong("The endpoint of the photos cannot be read."))?;
        let here = matches!(endpoint.host_str(), Some("127.0.0.1" | "localhost" | "[::1]"));
        if endpoint.scheme() != "https" && !here {
            return Err(wrong("Photos go to another machine over https alone."));
        }
        let style = match asked("style").as_deref() {
            Some("host") => UrlStyle::VirtualHost,
            _ => UrlStyle::Path,
        };
        let bucket = Bucket::new(endpoint, style, name.to_owned(), region)
            .map_err(|_| wrong("The bucket of the photos cannot be used."))?;
        let prefix = url.path().trim_matches('/');
        Ok(Self {
            bucket,
            credentials: match token {
                Some(token) => Credentials::new_with_token(key, secret, token),
                None => Credentials::new(key, secret),
            },
            prefix: if prefix.is_empty() {
                String::new()
            } else {
                format!("{prefix}/")
            },
            agent: Agent::config_builder()
                .timeout_global(Some(Duration::from_secs(120)))
                .timeout_connect(Some(Duration::from_secs(5)))
                .http_status_as_error(false)
                .max_redirects(0)
                .build()
                .new_agent(),
        })
    }

    /// Shelves by the first two characters, as in a folder of photos.
    fn key(&self, sha: &str) -> String {
        format!("{}{}/{sha}", self.prefix, sha.get(..2).unwrap_or_default())
    }

    /// Puts a photo there that fits its name; it is there when this returns.
    ///
    /// # Errors
    /// `shared_away`.
    pub fn put(&self, sha: &str, bytes: &[u8]) -> Result<()> {
        let key = self.key(sha);
        // It was worked out by whoever keeps the photo; the store compares it with what arrives there.
        let digest = bowseam_photos::digest_of_name(sha)
            .ok_or_else(|| Error::Away("a photo without a name".into()))?;
        let digest = STANDARD.encode(digest);
        let mut action = self.bucket.put_object(Some(&self.credentials), &key);
        action.headers_mut().insert(CHECKSUM, digest.as_str());
        let request = self
            .agent
            .put(action.sign(GOOD).as_str())
            .header(CHECKSUM, &digest);
        let answer = request.send(bytes).map_err(away)?;
        match answer.status() {
            StatusCode::OK | StatusCode::CREATED | StatusCode::NO_CONTENT => Ok(()),
            status => Err(refused(status)),
        }
    }

    /// The bytes of a photo; `None` if it is not there.
    ///
    /// # Errors
    /// `shared_away`.
    pub fn get(&self, sha: &str) -> Result<Option<Vec<u8>>> {
        let key = self.key(sha);
        let url = self.bucket.get_object(Some(&self.credentials), &key).sign(GOOD);
        let mut answer = self.agent.get(url.as_str()).call().map_err(away)?;
        match answer.status() {
            StatusCode::OK => {
                let body = answer.body_mut().with_config().limit(bowseam_photos::MAX_BYTES);
                body.read_to_vec().map(Some).map_err(away)
            }
            StatusCode::NOT_FOUND => Ok(None),
            status => Err(refused(status)),
        }
    }

    /// Whether the store answers and knows the key: asked at the start, so that a wrong one is told then.
    ///
    /// # Errors
    /// `shared_away`.
    pub fn check(&self) -> Result<()> {
        let url = self.bucket.head_bucket(Some(&self.credentials)).sign(GOOD);
        match self.agent.head(url.as_str()).call().map_err(away)?.status() {
            StatusCode::OK | StatusCode::NO_CONTENT => Ok(()),
            StatusCode::NOT_FOUND => Err(Error::Away(format!(
                "there is no bucket {} in the photo store",
                self.bucket.name()
            ))),
            status => Err(refused(status)),
        }
    }
}

/// Without the address: it is signed.
fn away(error: ureq::Error) -> Error {
    Error::Away(format!("the photo store is not reached ({error})"))
}

fn refused(status: StatusCode) -> Error {
    Error::Away(match status {
        StatusCode::FORBIDDEN | StatusCode::UNAUTHORIZED => "the photo store refuses the key".into(),
        status => format!("the photo store says {status}"),
    })
}
