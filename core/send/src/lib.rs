//! What travels between a phone and the office, and the phone's side of it.
//!
//! Photos go before the entries that name them, a *found more* before a stack of other photos, and what the
//! office decided comes back in the same round. Every request may be repeated: the office keeps an entry once by
//! its id and a photo once by its SHA-256, so whoever is in doubt sends again. An item has arrived only when the
//! office has said so, and it says so only after it is on its disk.
//!
//! | request (below the office's address) | what |
//! |---|---|
//! | `POST enrol` | a short-lived code for a token ([`wire::Enrol`]) |
//! | `POST uploads/SHA`, `HEAD`, `PATCH` | a photo in parts, or whole with its announcement, after the IETF's draft on resumable uploads |
//! | `POST entries` | entries, answered one by one ([`wire::Pushed`]) |
//! | `GET entries?after=&own=` | entries of others ([`wire::Pulled`]) |
//! | `GET here` | nothing: the office is there and knows this phone |
//! | `GET shop` | people and shop book ([`wire::Shop`]) |

pub mod card;
mod code_words;
pub mod codes;
pub mod wire;

mod background;
mod buffers;
mod error;
mod link;
mod network;
mod office;
mod plan;
mod sender;
mod whole;

pub use background::Background;
pub use buffers::Buffers;
pub use error::{Error, Result};
pub use network::{OnItsWay, Watch, photos_wait, set_photos_wait};
pub use office::{Office, enrol};
pub use sender::{Heard, Limits, RoundReport, Sender, UNKNOWN_PHONE};
