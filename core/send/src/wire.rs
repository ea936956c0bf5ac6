//! The messages, as JSON, and the names of headers. Both sides use these types, so they cannot drift apart.
//! Fields may be added with `#[serde(default)]`, never renamed: an old phone talks to a new office.
//!
//! Photos travel after the IETF's draft *Resumable Uploads for HTTP* (draft-ietf-httpbis-resumable-upload, as of
//! its versions 04 to 09; header names from memory), each part under a `Content-Digest` (RFC 9530).

use base64::{Engine, engine::general_purpose::STANDARD};
use bowseam_jobs::people::Person;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// Set to `1` on every request of ours and on every answer of the office. A page of another site cannot set it on
/// a request without being asked first; an answer without it came from something in between (a network's own
/// sign-in page) and is no answer.
pub const OURS: &str = "bowseam";
/// Where a part starts; where the next one is wanted.
pub const UPLOAD_OFFSET: &str = "upload-offset";
/// `?1` with the last part, `?0` before.
pub const UPLOAD_COMPLETE: &str = "upload-complete";
/// The whole length in bytes.
pub const UPLOAD_LENGTH: &str = "upload-length";
/// The digest of what is in this request.
pub const CONTENT_DIGEST: &str = "content-digest";
/// Media type of a part.
pub const PARTIAL: &str = "application/partial-upload";
/// `type` of the answer to a part that does not join on.
pub const WRONG_OFFSET: &str = "https://iana.org/assignments/http-problem-types#mismatching-upload-offset";
/// Bytes in the first part, and the least later: a minute's worth on a very slow network. Common practice.
pub const PART: usize = 256 * 1024;
/// Most bytes that the office takes in one part.
pub const MOST_PART: usize = 4 * 1024 * 1024;
/// Most entries in one message, either way.
pub const MOST_ENTRIES: usize = 200;
/// Most bytes of entries in one message, either way.
pub const MOST_BODY: usize = 8 * 1024 * 1024;

/// What a phone that was taken back is told.
pub const TAKEN_BACK: &str = "The office took this phone back. What it sends is kept apart there until a supervisor takes it in; with a new code this phone goes on.";

/// A phone asks to be known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Enrol {
    /// 8 letters and digits; case, spaces and dashes do not matter.
    pub code: String,
    /// The phone's own id, which its entries carry.
    pub device: Uuid,
    /// What people call the phone.
    pub name: String,
}

/// The phone is known now.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Enrolled {
    /// Goes with every request as `Authorization: Bearer …`; the office keeps only its hash.
    pub token: String,
    /// What a phone needs to know of the shop.
    pub shop: Shop,
}

/// What a phone needs to know of the shop.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Shop {
    /// Name of the office.
    pub office_name: String,
    /// People with their roles, and their PINs as argon2id hashes: a phone checks them without a network.
    pub people: Vec<Person>,
    /// The shop book as the office keeps it; null if it has none of its own.
    #[serde(default)]
    pub book: serde_json::Value,
    /// The stock list as the office keeps it, so that all phones reserve from the same; null if it has none.
    #[serde(default)]
    pub stock: serde_json::Value,
}

/// Entries that a phone sends; kept as JSON, so that one which cannot be read does not hold up the others.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Push {
    /// At most [`MOST_ENTRIES`].
    pub entries: Vec<serde_json::Value>,
}

/// The office's answer, one receipt an entry, in their order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pushed {
    /// One an entry.
    pub receipts: Vec<Receipt>,
}

/// What became of one entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Receipt {
    /// The entry's id; nil if it had none that could be read.
    pub id: Uuid,
    /// What became of it.
    #[serde(flatten)]
    pub outcome: Outcome,
}

/// What became of an entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "outcome", rename_all = "snake_case")]
pub enum Outcome {
    /// It is on the office's disk.
    Arrived,
    /// It will not be taken, with a sentence for a person.
    Refused {
        /// The sentence.
        why: String,
    },
    /// It names a photo that is not here yet: send that first.
    WaitsForPhoto {
        /// The photo.
        sha256: String,
    },
}

/// Entries of others, from a cursor on.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Pulled {
    /// Entries in the order in which the office got them; as JSON for the same reason as in [`Push`].
    pub entries: Vec<serde_json::Value>,
    /// What to ask after next time.
    pub next: i64,
    /// There is more at once.
    pub more: bool,
    /// Fingerprint of [`Shop`]: another one means people or shop book changed.
    #[serde(default)]
    pub shop: String,
    /// Another one than last time: the office was brought back from a backup, and what came to it since is sent again.
    #[serde(default)]
    pub epoch: String,
}

/// An answer that is not a yes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sorry {
    /// Stable code.
    pub code: String,
    /// A sentence for a person.
    pub sentence: String,
}

/// `Content-Digest` of these bytes (RFC 9530 section 2).
pub fn digest(bytes: &[u8]) -> String {
    content_digest(bowseam_photos::digest(bytes))
}

/// `Content-Digest` of bytes with this SHA-256.
pub fn content_digest(sha256: [u8; 32]) -> String {
    format!("sha-256=:{}:", STANDARD.encode(sha256))
}

/// The SHA-256 that a `Content-Digest` names; `None` if it names none that can be read.
pub fn digest_named(header: &str) -> Option<[u8; 32]> {
    let value = header
        .split(',')
        .find_map(|member| member.trim().strip_prefix("sha-256="))?;
    let named = STANDARD
        .decode(value.strip_prefix(':')?.strip_suffix(':')?)
        .ok()?;
    named.try_into().ok()
}

/// SHA-256 as 64 lower-case hexadecimal characters.
pub fn sha256(text: &str) -> String {
    Sha256::digest(text.as_bytes())
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

impl Shop {
    /// The fingerprint that [`Pulled::shop`] carries.
    ///
    /// # Errors
    /// `send_json` if it cannot be written as JSON.
    pub fn fingerprint(&self) -> crate::Result<String> {
        Ok(sha256(&serde_json::to_string(self)?))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// RFC 9530 appendix B.1: the digest of `{"hello": "world"}` and a line feed.
    #[test]
    fn the_digest_is_that_of_rfc_9530() {
        let body = b"{\"hello\": \"world\"}\n";
        let printed = "sha-256=:RK/0qy18MlBSVnWgjwz6lZEWjP/lF5HF9bvEF8FabDg=:";
        assert_eq!(digest(body), printed);
        let named = Some(bowseam_photos::digest(body));
        assert_eq!(digest_named(printed), named);
        assert_eq!(digest_named(&format!("sha-512=:AAAA:, {printed}")), named);
        assert_ne!(Some(bowseam_photos::digest(b"{\"hello\": \"world\"}")), named);
        // A photo that goes in one part is named by the same bytes.
        let name = bowseam_photos::digest_of_name(&bowseam_photos::sha256(body));
        assert_eq!(name.map(content_digest).as_deref(), Some(printed));
        for unreadable in ["", "sha-512=:AAAA:", "sha-256=AAAA", "sha-256=:not base64:"] {
            assert_eq!(digest_named(unreadable), None, "{unreadable}");
        }
    }

    #[test]
    fn a_receipt_is_flat_json() {
        let id = Uuid::nil();
        let receipt = Receipt {
            id,
            outcome: Outcome::Refused { why: "no".to_owned() },
        };
        let json = serde_json::to_value(&receipt).unwrap();
        assert_eq!(
            json,
            serde_json::json!({"id": id, "outcome": "refused", "why": "no"})
        );
        assert_eq!(serde_json::from_value::<Receipt>(json).unwrap(), receipt);
    }
}
