//! The roof-off check: go or no-go before anything is opened.

use super::{RoofMethod, Work};
use crate::basis::Line;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// What a row of the check is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum RoofOffKind {
    /// Go-ahead for the present figures.
    GoAhead,
    /// Material on hand, with its shelf place.
    OnHand,
    /// People.
    People,
    /// Dry hours, or a bay.
    DryHours,
    /// Cover for every stop.
    Cover,
    /// Wind against the shop's limit.
    Wind,
    /// Temperatures against the label.
    Temperature,
    /// Made safe, braced, wiring found.
    Safe,
}

/// One row: all rows are yes, or nothing is opened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct RoofOffRow {
    /// Stable.
    pub key: String,
    /// A few words.
    pub title: String,
    /// What is wanted for a yes.
    pub wanted: String,
    /// What it is about.
    pub kind: RoofOffKind,
}

/// The rows of the roof-off check; none if no roof is opened. `lines` is the takeoff.
pub fn roof_off_rows(work: &Work, lines: &[Line]) -> Vec<RoofOffRow> {
    let Some(roof) = &work.roof else { return Vec::new() };
    let row = |key: &str, title: &str, wanted: String, kind| RoofOffRow {
        key: key.to_owned(),
        title: title.to_owned(),
        wanted,
        kind,
    };
    let mut rows = vec![row(
        "go_ahead",
        "Go-ahead",
        "given for the present figures, not for earlier ones".to_owned(),
        RoofOffKind::GoAhead,
    )];
    rows.extend(
        lines
            .iter()
            .filter(|line| !nothing(&line.quantity) && is_material(&line.item))
            .map(|line| {
                let key = format!("on_hand:{}", line.item.replace(' ', "_"));
                row(
                    &key,
                    &line.item,
                    format!("{}, with its shelf place", line.amount()),
                    RoofOffKind::OnHand,
                )
            }),
    );
    let behind = roof.behind.as_ref().map_or(0, |behind| behind.bows_hit.len());
    let bows = roof.bows_hit.len().saturating_add(behind);
    if bows > 0 {
        rows.push(row(
            "on_hand:new_bows",
            "roof bows",
            format!("{bows} each, with its shelf place"),
            RoofOffKind::OnHand,
        ));
    }
    if roof.nose_rail {
        rows.push(row(
            "on_hand:nose_rail",
            "nose rail",
            "1, with its shelf place".to_owned(),
            RoofOffKind::OnHand,
        ));
    }
    if roof.front_bow {
        rows.push(row(
            "on_hand:front_bow",
            "front roof bow",
            "1, with its shelf place".to_owned(),
            RoofOffKind::OnHand,
        ));
    }
    // Sides are patched while the roof is off, so their material has to be there as well.
    for (other, taken) in work
        .others
        .iter()
        .filter_map(|other| Some((other, other.side.as_ref()?)))
    {
        let material = ["side sheet", "patch rivets", "sheet rivets"];
        rows.extend(
            taken
                .lines
                .iter()
                .filter(|line| material.contains(&line.item.as_str()))
                .map(|line| {
                    let key = format!("on_hand:{}:{}", line.item.replace(' ', "_"), other.mark);
                    let wanted = format!("{}, with its shelf place", line.amount());
                    row(&key, &line.item, wanted, RoofOffKind::OnHand)
                }),
        );
    }
    // So does all that goes on beside it: a unit that stands open with a part on order stands open for nothing.
    let others = work.others.iter();
    for (mark, item) in others.flat_map(|other| other.on_hand().map(|item| (&other.mark, item))) {
        let key = format!("on_hand:{}:{mark}", item.item.replace(' ', "_"));
        let wanted = format!("{}, with its shelf place", item.wanted);
        rows.push(row(&key, &item.item, wanted, RoofOffKind::OnHand));
    }
    let people = if roof.way == RoofMethod::Patch {
        "a number: 2, one of them inside; names may follow"
    } else {
        "a number: 4 for the sheet, or 2 with a hoist (from memory); names may follow"
    };
    let wind = work
        .wind_limit
        .clone()
        .unwrap_or_else(|| "the shop book holds no limit: the supervisor's word, with name".to_owned());
    rows.extend([
        row("people", "People", people.to_owned(), RoofOffKind::People),
        row(
            "dry_hours",
            "Dry hours",
            "a number of hours under a roof, or dry until it is closed or covered; who looked at the forecast may follow"
                .to_owned(),
            RoofOffKind::DryHours,
        ),
        row(
            "cover",
            "Cover",
            "large enough for the opening, with what holds it down".to_owned(),
            RoofOffKind::Cover,
        ),
        row("wind", "Wind", wind, RoofOffKind::Wind),
        row(
            "temperature",
            "Temperature",
            "metal and air within the labels of tape and sealant".to_owned(),
            RoofOffKind::Temperature,
        ),
        row(
            "safe",
            "Made safe",
            "chocked, locked out, stand under the kingpin area, platforms".to_owned(),
            RoofOffKind::Safe,
        ),
        row(
            "wiring",
            "Wiring",
            if work.wiring_seen {
                "located; power off"
            } else {
                "not located yet: find it, power off"
            }
            .to_owned(),
            RoofOffKind::Safe,
        ),
    ]);
    if roof.way != RoofMethod::Patch {
        rows.push(row(
            "braces",
            "Braces",
            "ties and braces for both walls lie ready".to_owned(),
            RoofOffKind::Safe,
        ));
    }
    rows
}

/// A quantity of nothing: `0`, `0.00`.
fn nothing(quantity: &str) -> bool {
    !quantity.bytes().any(|b| matches!(b, b'1'..=b'9'))
}

/// Lengths of beads and edges are work, not something that lies on a shelf: cartridges do.
fn is_material(item: &str) -> bool {
    !matches!(
        item,
        "seam sealant" | "bow caulk" | "edge sealant" | "edge to roll" | "patch sealant"
    )
}
