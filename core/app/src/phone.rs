//! What a screen can want of the phone itself, beside the one door: the camera, the gallery, free space, the screen
//! kept awake. The types are here so that the screens' JavaScript is checked against them like against an ask; what
//! does it is the shell (`src-tauri/src/phone.rs` and the Kotlin beside it). In a browser nobody asks this.

#![allow(
    missing_docs,
    reason = "the name of a field says what it is; where it does not, a comment does"
)]

use crate::ask::Ask;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// Something wanted of the phone; it answers a [`Given`] or a refusal with a sentence.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, TS)]
#[serde(tag = "what", rename_all = "snake_case", deny_unknown_fields)]
pub enum Want {
    /// The phone's own camera; the photo is kept by this `add_photo`.
    Camera { ask: Ask },
    /// Photos from the gallery, each kept by this `add_photo` under its own name.
    Gallery { ask: Ask },
    /// Room, network, and what the phone has.
    State {},
    /// The screen stays on, or goes off by itself again.
    Awake { on: bool },
    /// A packet that was made, by its name, is handed to another app of this phone.
    SharePacket { name: String },
    /// A text (a buying list) is handed to another app of this phone, as a file of this name and media type.
    Share {
        name: String,
        media: String,
        text: String,
    },
    /// Where the phone is; only after the person has pressed the button that says so.
    Position {},
    /// A barcode, read by an app of this phone that reads them for others.
    Barcode {},
}

/// What the phone gave.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, TS)]
#[serde(tag = "what", rename_all = "snake_case")]
pub enum Given {
    /// Photos that are kept now, and a sentence for each that is not.
    Photos {
        kept: u32,
        wrong: Vec<String>,
    },
    State(PhoneState),
    /// Degrees north and east, good to so many metres, as the phone says.
    Position {
        latitude: f64,
        longitude: f64,
        within: f64,
    },
    Text {
        text: String,
    },
    /// It is done.
    Done {},
}

/// Room, network, and what the phone has.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct PhoneState {
    /// Bytes free for the app.
    pub free: u64,
    /// The network that is there costs money.
    pub metered: bool,
    /// The person saves data: nothing is sent in the background on such a network.
    pub saver: bool,
    /// An app is there that reads barcodes for others.
    pub reader: bool,
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// The Kotlin side answers this JSON (`PhonePlugin.state`).
    #[test]
    fn the_state_that_the_phone_tells_is_read() {
        let told = r#"{"free":1048576,"metered":true,"saver":false,"reader":false}"#;
        let state: PhoneState = serde_json::from_str(told).unwrap();
        assert_eq!((state.free, state.metered), (1_048_576, true));
    }

    #[test]
    fn a_want_that_nobody_knows_is_refused() {
        assert!(serde_json::from_str::<Want>(r#"{"what":"camera"}"#).is_err());
        assert!(serde_json::from_str::<Want>(r#"{"what":"state","all":true}"#).is_err());
        let awake: Want = serde_json::from_str(r#"{"what":"awake","on":true}"#).unwrap();
        assert_eq!(awake, Want::Awake { on: true });
    }
}
