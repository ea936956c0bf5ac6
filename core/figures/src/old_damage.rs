//! Old damage apart from new: whoever pays for the accident does not pay for what was there before it.

use crate::basis::{Basis, Standing, many};
use crate::error::Error;
use crate::estimate::{Chosen, Estimate, Group};
use crate::group::{WayKey, groups};
use crate::mark::{Age, Mark};
use crate::takeoff_lines::too_much;
use rust_decimal::Decimal;
use rust_decimal::prelude::FromStr;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// What is paid for new damage and what for old, where both are mended.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct OldDamage {
    /// Total as if only the damage that is not old were mended, by the same ways; none where one of them does not fit
    /// without the old damage.
    pub without: Option<String>,
    /// What the old damage adds.
    pub adds: Option<String>,
    /// How it was worked out, or why it cannot be told apart.
    pub basis: Vec<Basis>,
}

/// The total again without the old damage: what is shared between them counts for the new.
pub(crate) fn old_damage(
    figured: &Estimate,
    marks: &[Mark],
    again: impl Fn(&[Mark], &[Chosen]) -> Result<Estimate, Error>,
    chosen: &[Chosen],
) -> Result<Option<OldDamage>, Error> {
    let mended = figured.groups.iter().filter(|group| group.is_worked_on());
    let mut mended = mended.flat_map(|group| &group.marks);
    if mended.all(|mark| mark.age != Age::Old) {
        return Ok(None);
    }
    let (old, rest): (Vec<Mark>, Vec<Mark>) = marks.iter().cloned().partition(|mark| mark.age == Age::Old);
    let left = groups(&rest);
    let kept: Vec<Chosen> = chosen
        .iter()
        .filter(|choice| left.iter().any(|together| together.key == choice.group))
        .cloned()
        .collect();
    let mut without = again(&rest, &kept)?;
    // Of two sections one is left: the cheapest that mends the rest.
    let two = kept.iter().any(|choice| choice.way == WayKey::TwoSections.key());
    if two && without.groups.len() < kept.len() {
        for key in [WayKey::FrontSection, WayKey::MiddleSection, WayKey::RearSection] {
            let one = |choice: &Chosen| match choice.way == WayKey::TwoSections.key() {
                true => Chosen {
                    way: key.key().to_owned(),
                    ..choice.clone()
                },
                false => choice.clone(),
            };
            let other = again(&rest, &kept.iter().map(one).collect::<Vec<_>>())?;
            let less = Decimal::from_str(&other.total).ok() < Decimal::from_str(&without.total).ok();
            if other.groups.len() > without.groups.len()
                || (other.groups.len() == without.groups.len() && less)
            {
                without = other;
            }
        }
    }
    let by_hand = |group: &&Group| {
        group.way == WayKey::ByHand
            && group.marks.iter().any(|mark| mark.age == Age::Old)
            && group.marks.len() > 1
    };
    let shut = without.groups.len() < kept.len() || figured.groups.iter().any(|group| by_hand(&group));
    if shut {
        let why = "a way that mends old and new damage together does not fit the new alone: choose who pays by hand";
        return Ok(Some(OldDamage {
            without: None,
            adds: None,
            basis: vec![Basis::new("not told apart", why, Standing::Worked)],
        }));
    }
    let number = |text: &str| Decimal::from_str(text).map_err(|_| too_much());
    let adds = number(&figured.total)?
        .checked_sub(number(&without.total)?)
        .ok_or_else(too_much)?;
    Ok(Some(OldDamage {
        basis: vec![
            Basis::new(
                many(i64::try_from(old.len()).unwrap_or(i64::MAX), "mark", "marks"),
                "of old damage left out, all other ways as chosen",
                Standing::Worked,
            ),
            Basis::new(
                format!("{} - {}", figured.total, without.total),
                "total less what it would be without them; what is done once counts for the new",
                Standing::Worked,
            ),
        ],
        without: Some(without.total),
        adds: Some(format!("{adds:.2}")),
    }))
}
