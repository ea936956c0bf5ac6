//! What every kind of entry has in common: how it is read and written, the register it writes, whether it
//! can be taken back. Kept beside [`crate::entry`], which holds the types alone.

use crate::{
    entry::{FoundChange, MarkChange, PhotoChange, What},
    on_photo::MarkSide,
    stock::BuyChange,
};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};
use uuid::Uuid;

impl Serialize for What {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            What::NotKnown(value) => value.serialize(serializer),
            known => What::serialize(known, serializer),
        }
    }
}

impl<'de> Deserialize<'de> for What {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let mut value = serde_json::Value::deserialize(deserializer)?;
        // Figures are by far the largest part of a job: they are lifted over the reading instead of copied in it.
        let lifted = value.get_mut("figures").map(serde_json::Value::take);
        let read = What::deserialize(&value);
        if let (Some(lifted), Some(place)) = (&lifted, value.get_mut("figures"))
            && read.is_err()
        {
            place.clone_from(lifted);
        }
        // A newer program may also write a known kind in a way that is new: it is kept just the same.
        match read {
            Ok(mut known) => {
                if let (What::Asked { figures, .. }, Some(lifted)) = (&mut known, lifted) {
                    *figures = lifted;
                }
                Ok(known)
            }
            Err(_) if value.get("kind").is_some_and(serde_json::Value::is_string) => {
                Ok(What::NotKnown(value))
            }
            Err(why) => Err(D::Error::custom(why)),
        }
    }
}

/// Free text inside a register's name: the separator is escaped, so that no two registers share a name.
fn free(text: &str) -> String {
    text.replace('~', "~0").replace('/', "~1")
}

/// An enum's name on the wire.
fn name(value: impl Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(name)) => name,
        _ => String::new(),
    }
}

impl What {
    /// The register that this change writes: of the entries of one register the last one holds. Events have
    /// one of their own (`time/ENTRY`), so none hides another; what is not known has none.
    #[must_use]
    pub fn register(&self, entry: Uuid) -> Option<String> {
        Some(match self {
            What::Opened { .. } => "opened".into(),
            What::Arrival { field, .. } => format!("arrival/{}", name(field)),
            What::Plan { field, .. } => format!("plan/{}", name(field)),
            What::Roll { .. } => "roll".into(),
            What::Looked { surface, .. } => format!("looked/{}", name(surface)),
            What::Mark { mark, change } => format!("mark/{mark}/{}", mark_field(change)),
            What::Photo { sha256, change } => format!("photo/{}/{}", free(sha256), photo_field(change)),
            What::Way { group, .. } => format!("way/{}", free(group)),
            What::Asked { .. } => format!("asked/{entry}"),
            What::Decided { hash, .. } => format!("decided/{}", free(hash)),
            What::Held { .. } => "hold".into(),
            What::OnHand { item, .. } => format!("on_hand/{}", free(item)),
            What::RoofOff { field, .. } => format!("roof_off/{}", name(field)),
            What::Overruled { .. } => "overruled".into(),
            What::RoofOpened { .. } => "roof_opened".into(),
            What::Reserved { stock, .. } => format!("reserved/{}", free(stock)),
            What::Cut { cut, .. } => format!("cut/{cut}"),
            What::Drop { drop, .. } => format!("drop/{drop}"),
            What::Buying { line, change } => format!("buying/{}/{}", free(line), buy_field(change)),
            What::Holes { line, .. } => format!("holes/{}", free(line)),
            What::Time { .. } => format!("time/{entry}"),
            What::StepDone { step, .. } => format!("step/{}/done", free(step)),
            What::Measured { step, value, .. } => format!("step/{}/measured/{}", free(step), free(value)),
            What::Found { found, change } => format!("found/{found}/{}", found_field(change)),
            What::Proof { row, .. } => format!("proof/{}", free(row)),
            What::Released { .. } => "released".into(),
            What::HandedOver { .. } => "handed_over".into(),
            What::Office { field, .. } => format!("office/{}", name(field)),
            What::Sublet { sublet, .. } => format!("sublet/{sublet}"),
            What::Note { note, .. } => format!("note/{note}"),
            What::OnJob { on, .. } => format!("on_job/{on}"),
            What::Reopened { .. } => format!("reopened/{entry}"),
            What::Undone { act, .. } => format!("undone/{act}"),
            What::NotKnown(_) => return None,
        })
    }

    /// The kind as it is written.
    #[must_use]
    pub fn kind(&self) -> &str {
        match self {
            What::Opened { .. } => "opened",
            What::Arrival { .. } => "arrival",
            What::Plan { .. } => "plan",
            What::Roll { .. } => "roll",
            What::Looked { .. } => "looked",
            What::Mark { .. } => "mark",
            What::Photo { .. } => "photo",
            What::Way { .. } => "way",
            What::Asked { .. } => "asked",
            What::Decided { .. } => "decided",
            What::Held { .. } => "held",
            What::OnHand { .. } => "on_hand",
            What::RoofOff { .. } => "roof_off",
            What::Overruled { .. } => "overruled",
            What::RoofOpened { .. } => "roof_opened",
            What::Reserved { .. } => "reserved",
            What::Cut { .. } => "cut",
            What::Drop { .. } => "drop",
            What::Buying { .. } => "buying",
            What::Holes { .. } => "holes",
            What::Time { .. } => "time",
            What::StepDone { .. } => "step_done",
            What::Measured { .. } => "measured",
            What::Found { .. } => "found",
            What::Proof { .. } => "proof",
            What::Released { .. } => "released",
            What::HandedOver { .. } => "handed_over",
            What::Office { .. } => "office",
            What::Sublet { .. } => "sublet",
            What::Note { .. } => "note",
            What::OnJob { .. } => "on_job",
            What::Reopened { .. } => "reopened",
            What::Undone { .. } => "undone",
            What::NotKnown(value) => value
                .get("kind")
                .and_then(serde_json::Value::as_str)
                .unwrap_or_default(),
        }
    }

    /// Whether undo may take it back. What others act upon is not: figures asked about, the office's answer,
    /// the release, the handover (each is changed by a new entry of its kind, under somebody's name), the
    /// opening of the job; nor an undo itself, which is answered by another one.
    #[must_use]
    pub fn can_be_taken_back(&self) -> bool {
        !matches!(
            self,
            What::Opened { .. }
                | What::Asked { .. }
                | What::Decided { .. }
                | What::Released { .. }
                | What::HandedOver { .. }
                | What::Reopened { .. }
                | What::Undone { .. }
                | What::NotKnown(_)
        )
    }

    /// Whether two of one register that did not see each other are worth telling people. Two who brought in
    /// the same photo, or took back the same act, did not contradict each other.
    pub(crate) fn can_clash(&self) -> bool {
        !matches!(
            self,
            What::Undone { .. }
                | What::Photo {
                    change: PhotoChange::Added { .. },
                    ..
                }
        )
    }
}

fn mark_field(change: &MarkChange) -> &'static str {
    match change {
        MarkChange::Place(_) => "place",
        MarkChange::Kind(_) => "kind",
        MarkChange::Part(_) => "part",
        MarkChange::Age(_) => "age",
        MarkChange::Note(_) => "note",
        MarkChange::Depth(_) => "depth",
        MarkChange::Found(_) => "found",
        MarkChange::Sized {
            side: MarkSide::Along,
            ..
        } => "sized_along",
        MarkChange::Sized {
            side: MarkSide::Across,
            ..
        } => "sized_across",
        MarkChange::Removed(_) => "removed",
    }
}

fn photo_field(change: &PhotoChange) -> String {
    match change {
        PhotoChange::Added { .. } => "added".into(),
        PhotoChange::Moved { .. } => "moved".into(),
        PhotoChange::Removed(_) => "removed".into(),
        PhotoChange::Scaled(_) => "scaled".into(),
        PhotoChange::Drawn { id, .. } => format!("drawn/{id}"),
        PhotoChange::Aligned(_) => "aligned".into(),
        PhotoChange::View(_) => "view".into(),
    }
}

fn buy_field(change: &BuyChange) -> &'static str {
    match change {
        BuyChange::Wanted { .. } => "wanted",
        BuyChange::NeededBy(_) => "needed_by",
        BuyChange::ArrivesOn(_) => "arrives_on",
        BuyChange::Here(_) => "here",
        BuyChange::Removed(_) => "removed",
    }
}

fn found_field(change: &FoundChange) -> &'static str {
    match change {
        FoundChange::Line { .. } => "line",
        FoundChange::Removed(_) => "removed",
    }
}

#[cfg(test)]
#[allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]
mod tests {
    use super::*;
    use serde_json::{Value, json};
    use std::collections::BTreeSet;

    /// Every kind that the derived reader knows, from what it says when it meets one that it does not.
    fn kinds() -> BTreeSet<String> {
        let said = What::deserialize(&json!({ "kind": "" })).unwrap_err().to_string();
        said.split('`')
            .skip(1)
            .step_by(2)
            .filter(|kind| !kind.is_empty())
            .map(str::to_owned)
            .collect()
    }

    #[test]
    fn every_kind_ever_stored_reads_back_and_is_written_the_same() {
        let lines: Vec<Value> = serde_json::from_str(include_str!("../tests/kinds.json")).unwrap();
        let mut seen = BTreeSet::new();
        for line in &lines {
            let what: What = serde_json::from_value(line.clone()).unwrap();
            assert!(!matches!(what, What::NotKnown(_)), "not read: {line}");
            assert_eq!(&serde_json::to_value(&what).unwrap(), line);
            assert_eq!(what.kind(), line["kind"]);
            assert!(what.register(Uuid::nil()).is_some());
            seen.insert(what.kind().to_owned());
        }
        assert!(kinds().len() > 20, "the list of kinds could not be read");
        assert_eq!(seen, kinds(), "tests/kinds.json has a line of every kind");
    }

    #[test]
    fn a_kind_from_a_newer_program_is_kept_as_it_came() {
        for line in [
            json!({ "kind": "weighed", "axle": [1, 2.5, null] }),
            json!({ "kind": "arrival", "field": "colour", "value": "x" }),
        ] {
            let what: What = serde_json::from_value(line.clone()).unwrap();
            assert_eq!(what, What::NotKnown(line.clone()));
            assert_eq!(serde_json::to_value(&what).unwrap(), line);
            assert_eq!(what.register(Uuid::nil()), None);
        }
        assert!(serde_json::from_value::<What>(json!({ "field": "vin" })).is_err());
    }

    #[test]
    fn registers_of_different_things_never_share_a_name() {
        let measured = |step: &str, value: &str| {
            What::Measured {
                step: step.into(),
                value: value.into(),
                measured: None,
            }
            .register(Uuid::nil())
        };
        assert_ne!(measured("a/measured/b", "c"), measured("a", "b/measured/c"));
        assert_ne!(measured("a~1", "b"), measured("a/", "b"));
        let vin = What::Arrival {
            field: crate::entry::ArrivalField::Vin,
            value: None,
        };
        assert_eq!(vin.register(Uuid::nil()).unwrap(), "arrival/vin");
    }
}
