//! Hours of a roof repair section by section. One opening at a time is open, so each has its own work and its own cover;
//! the figures hold the hours of a task once, whatever it is done on.

use crate::bill::TaskHours;
use crate::estimate::Group;
use crate::measure::Unit;
use crate::takeoff::RoofTakeoff;
use rust_decimal::prelude::FromStr;
use rust_decimal::{Decimal, RoundingStrategy};

/// The hours of a group whose roof is opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SectionHours {
    /// Of each section, the one nearer the nose first, in the order of the figures.
    pub sections: Vec<Vec<TaskHours>>,
    /// Of no section: patches beside them.
    pub beside: Vec<TaskHours>,
}

/// Shares out the hours by what each section has of a task: feet, bows, seams, rivets; together they are the figured ones.
#[must_use]
pub fn by_section(group: &Group) -> SectionHours {
    let all: Vec<&RoofTakeoff> = group.roofs().collect();
    if all.len() < 2 {
        return SectionHours {
            sections: vec![group.hours.clone()],
            beside: Vec::new(),
        };
    }
    let mut found = SectionHours {
        sections: vec![Vec::new(); all.len()],
        beside: Vec::new(),
    };
    for line in &group.hours {
        let weights: Vec<Decimal> = (0..)
            .zip(&all)
            .map(|(at, taken)| weight(&line.task, group, taken, at))
            .collect();
        let parts = shared(line, &weights);
        if parts.is_empty() {
            found.beside.push(line.clone());
        }
        for (section, part) in found.sections.iter_mut().zip(parts) {
            section.extend(part);
        }
    }
    found
}

/// A line in parts by weight, to the hundredth of an hour, the last one with what is left; nothing without any weight.
pub(crate) fn shared(line: &TaskHours, weights: &[Decimal]) -> Vec<Option<TaskHours>> {
    let all = Decimal::from_str(&line.hours).unwrap_or_default();
    let total: Decimal = weights
        .iter()
        .fold(Decimal::ZERO, |sum, w| sum.saturating_add(*w));
    if total.is_zero() {
        return Vec::new();
    }
    let last = weights.iter().rposition(|weight| !weight.is_zero());
    let mut left = all;
    let mut part = |(at, weight): (usize, &Decimal)| {
        let exact = all.checked_mul(*weight).and_then(|part| part.checked_div(total));
        let hours = match last {
            Some(last) if last == at => left,
            _ => exact
                .unwrap_or_default()
                .round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero)
                .min(left),
        };
        left = left.saturating_sub(hours);
        (!hours.is_zero()).then(|| TaskHours {
            hours: hours.normalize().to_string(),
            ..line.clone()
        })
    };
    weights.iter().enumerate().map(&mut part).collect()
}

/// What a section has of a task; the nose rail and the front bow go in with the first. Tasks are those of the open roof.
fn weight(task: &str, group: &Group, taken: &RoofTakeoff, at: usize) -> Decimal {
    let count = |many: usize| Decimal::from(u32::try_from(many).unwrap_or(u32::MAX));
    let line = |item: &str| {
        let lines = taken.lines.iter().filter(|line| line.item == item);
        let quantities = lines.filter_map(|line| Decimal::from_str(&line.quantity).ok());
        quantities.fold(Decimal::ZERO, Decimal::saturating_add)
    };
    let first = |wanted: bool| Decimal::from(u32::from(wanted && at == 0));
    match task {
        "brace" | "stretch" => Decimal::ONE,
        "strip_out" => count(taken.bows_opened.len()),
        "old_sheet" | "cleaning" | "tape" | "sheet_on" => taken.finished_length.to_decimal(Unit::In),
        "bow" => count(taken.bows_hit.len()).saturating_add(first(group.front_bow && !group.nose_rail)),
        "nose_rail" => first(true),
        "front_seam" => Decimal::from(u32::from(taken.front_seam_station.is_some())),
        "seam" => Decimal::from(taken.seams().max(1)),
        "caulk" if taken.large => count(taken.bows_opened.len()),
        "rivets" => [
            "seam rivets",
            "rail rivets",
            "nose rail rivets",
            "rear header rivets",
        ]
        .into_iter()
        .fold(Decimal::ZERO, |sum, item| sum.saturating_add(line(item))),
        "edge" => line("edge to roll"),
        _ => Decimal::ZERO,
    }
}
