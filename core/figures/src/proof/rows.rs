//! The rows of the proof: what is looked at before a unit is released, against which rule and of what date.

use crate::mark::Part;
use crate::steps::{OtherMethod, OtherWork, RoofMethod, Work};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// When the rule texts behind these rows were read.
const READ: &str = "read in texts of 2015 and 2016";

/// How a row is answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Yes or no, with a name.
    YesNo,
    /// A measured value.
    Measured,
    /// Before and after photos side by side.
    PhotoPairs,
    /// Dry or not, after the cure.
    Leak,
}

/// One row of the proof.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct ProofRow {
    /// Stable.
    pub key: String,
    /// What is looked at, and what a yes means.
    pub title: String,
    /// The rule it is held against, if there is one.
    pub rule: Option<String>,
    /// Date of that rule's text.
    pub rule_date: Option<String>,
    /// How it is answered.
    pub kind: Kind,
}

/// What the rows need to know of the unit and the shop.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct ProofUnit {
    /// Built before 1 December 1993; none = the date is not known yet.
    pub built_before_december_1993: Option<bool>,
    /// Built before 26 January 1998; none = not known.
    pub built_before_26_january_1998: Option<bool>,
    /// The shop wants an independent final check.
    pub final_check: bool,
}

/// The rows for this work on this unit.
pub fn proof_rows(work: &Work, unit: &ProofUnit) -> Vec<ProofRow> {
    let parts: Vec<Part> = work.others.iter().map(|other| other.part).collect();
    let roof = work.roof.as_ref();
    let opened = |other: &OtherWork| other.taken.as_ref().is_some_and(|taken| taken.wet);
    let weather = roof.is_some()
        || work.others.iter().any(opened)
        || parts.iter().any(|part| {
            matches!(
                part,
                Part::SideSheet
                    | Part::NoseWall
                    | Part::NoseRail
                    | Part::TopRail
                    | Part::BottomRail
                    | Part::CornerPost
                    | Part::CornerCap
                    | Part::RearHeader
                    | Part::RoofSheet
                    | Part::Door
            )
        });
    let mut rows = vec![
        row(
            "lights",
            "Every lamp and reflector works and sits where it did",
            Some("49 CFR 393.11 table 1"),
            Kind::YesNo,
        ),
        row(
            "abs",
            "ABS lamp comes on and goes out",
            Some("49 CFR 393.55"),
            Kind::YesNo,
        ),
    ];
    // From memory, not among the texts that were read.
    if let Some(abs) = rows.last_mut() {
        abs.rule_date = Some("from memory".to_owned());
    }
    if weather {
        rows.push(row(
            "leak",
            "Leak test after the cure, before the lining: dry inside",
            None,
            Kind::Leak,
        ));
        rows.push(row(
            "swarf",
            "Swarf out of roof, rails, lamps and floor",
            None,
            Kind::YesNo,
        ));
    }
    if roof.is_some_and(|roof| roof.way != RoofMethod::Patch) {
        rows.push(row(
            "edges",
            "Edges rolled down all round, no crack, no lip",
            None,
            Kind::YesNo,
        ));
    }
    rows.push(row(
        "sheeting",
        "Reflective sheeting made good: width, height, half of each side, rear, upper corners",
        Some(sheeting_rule(unit)),
        Kind::YesNo,
    ));
    rows.push(row(
        "decals",
        "Decals and unit number made good; the identification plate is on the unit",
        None,
        Kind::YesNo,
    ));
    rows.push(row(
        "width",
        "Widest place: 102 in (2.6 m), with up to 3 in a side for what the rule leaves out",
        Some("23 CFR 658.15, 658.16"),
        Kind::Measured,
    ));
    rows.push(row(
        "doors",
        "Doors close, latch and hold open",
        None,
        Kind::YesNo,
    ));
    if parts.contains(&Part::RearGuard) {
        rows.push(guard(unit));
    }
    for other in work.others.iter().filter(|other| {
        (other.maker || other.way == OtherMethod::AskTheMaker) && other.part != Part::RearGuard
    }) {
        let title = format!("Done as the maker's instruction says: {}", other.title);
        rows.push(row(
            &format!("maker:{}", other.mark),
            &title,
            Some("49 CFR 393.201"),
            Kind::YesNo,
        ));
    }
    rows.push(row(
        "photo_pairs",
        "Before and after from the same places",
        None,
        Kind::PhotoPairs,
    ));
    if unit.final_check {
        rows.push(row(
            "final_check",
            "Looked at by somebody who did not do the work",
            None,
            Kind::YesNo,
        ));
    }
    rows
}

fn row(key: &str, title: &str, rule: Option<&str>, kind: Kind) -> ProofRow {
    ProofRow {
        key: key.to_owned(),
        title: title.to_owned(),
        rule: rule.map(str::to_owned),
        rule_date: rule.map(|_| READ.to_owned()),
        kind,
    }
}

const fn sheeting_rule(unit: &ProofUnit) -> &'static str {
    match unit.built_before_december_1993 {
        Some(true) => "49 CFR 393.13 (a notice of 2025 proposed to take it back; outcome not known)",
        Some(false) => "49 CFR 571.108 S8.2",
        None => "49 CFR 571.108 S8.2, or 393.13 if built before 1 December 1993: ask for the date built",
    }
}

fn guard(unit: &ProofUnit) -> ProofRow {
    match unit.built_before_26_january_1998 {
        Some(true) => row(
            "rear_guard",
            "Rear guard replaced, not straightened: at most 762 mm above the road, 457 mm from each \
             side, 610 mm forward",
            Some("49 CFR 393.86(b)"),
            Kind::Measured,
        ),
        Some(false) => row(
            "rear_guard",
            "Rear guard replaced, not straightened, label kept: at most 560 mm above the road, 100 mm \
             from each side, 305 mm forward, section at least 100 mm",
            Some("49 CFR 393.86, 571.224"),
            Kind::Measured,
        ),
        None => row(
            "rear_guard",
            "Rear guard replaced, not straightened, label kept. The date built decides the measures (26 \
             January 1998): ask for it",
            Some("49 CFR 393.86"),
            Kind::Measured,
        ),
    }
}
