//! Repair or retire: what the repair comes to as a share of the unit's value, beside the shop's limit. It is a
//! sum with its working, never a decision: who owns the unit decides.

use crate::basis::{Amount, Basis, Given, Standing};
use crate::error::Error;
use crate::price::money;
use crate::takeoff_lines::too_much;
use rust_decimal::prelude::{FromStr, ToPrimitive};
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// The repair held against the unit's value.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct RepairOrRetire {
    /// The repair's share of the value, per cent, to one decimal.
    pub share: String,
    /// The amount at the shop's limit.
    pub limit: String,
    /// The repair as figured is above the limit.
    pub above: bool,
    /// The upper end of its range is.
    pub may_be_above: bool,
    /// A sentence.
    pub words: String,
    /// The working.
    pub basis: Vec<Basis>,
}

/// Holds a total and the upper end of its range against a unit's value, decimals as text, and the shop's limit; so many
/// places have no price in them yet.
///
/// # Errors
/// `unit_value` for a value that is not more than 0; numbers too large to work with.
pub fn repair_or_retire(
    total: &str,
    high: &str,
    value: &str,
    limit: &Given<Amount>,
    unpriced: usize,
) -> Result<RepairOrRetire, Error> {
    let number = |text: &str| Decimal::from_str(text.trim()).map_err(|_| too_much());
    let (total, high) = (number(total)?, number(high)?);
    let value = Decimal::from_str(value.trim())
        .ok()
        .filter(|value| *value > Decimal::ZERO)
        .ok_or_else(|| {
            Error::new(
                "unit_value",
                "The unit's value is an amount above 0, such as 14500.",
            )
        })?;
    let share = |amount: Decimal| {
        let part = amount.checked_mul(Decimal::ONE_HUNDRED)?.checked_div(value)?;
        Some(part.round_dp_with_strategy(1, RoundingStrategy::MidpointAwayFromZero))
    };
    let (of_total, of_high) = share(total).zip(share(high)).ok_or_else(too_much)?;
    let at_limit = value.checked_mul(limit.value.0).ok_or_else(too_much)?;
    let per_cent = limit
        .value
        .0
        .checked_mul(Decimal::ONE_HUNDRED)
        .ok_or_else(too_much)?;
    let (above, may_be_above) = (total > at_limit, high > at_limit);
    let say = |amount: Decimal| -> Result<String, Error> {
        let cents = amount
            .checked_mul(Decimal::ONE_HUNDRED)
            .map(|cents| cents.round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero))
            .and_then(|cents| cents.to_i128());
        cents.map(money).ok_or_else(too_much)
    };
    let held = match (above, may_be_above) {
        (true, _) => "above the shop's limit",
        (false, true) => "below the shop's limit as figured, above it at the upper end of the range",
        (false, false) => "below the shop's limit",
    };
    let so_far = match unpriced {
        0 => "",
        _ => ", as far as it is priced: what waits for the maker is not in it",
    };
    let words = format!(
        "The repair is {of_total:.1} % of the unit's value, up to {of_high:.1} % at the upper end of the range: {held} of {} %{so_far}. Who owns the unit decides.",
        per_cent.normalize()
    );
    let worked = |value: String, what: &str| Basis::new(value, what, Standing::Worked);
    Ok(RepairOrRetire {
        share: format!("{of_total:.1}"),
        limit: say(at_limit)?,
        above,
        may_be_above,
        words,
        basis: vec![
            worked(say(total)?, "total of the repair"),
            worked(say(high)?, "upper end of its range"),
            Basis::new(say(value)?, "the unit's value, as entered", Standing::Unit),
            worked(format!("{of_total:.1} %"), "total / value"),
            worked(format!("{of_high:.1} %"), "upper end / value"),
            Basis::new(
                format!("{} %", per_cent.normalize()),
                "limit: above it repair or retire is asked",
                limit.standing.clone(),
            ),
            worked(say(at_limit)?, "value x limit"),
        ],
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn held(total: &str, high: &str, value: &str) -> RepairOrRetire {
        repair_or_retire(total, high, value, &Given::memory(Amount::new(60, 2)), 0).unwrap()
    }

    #[test]
    fn a_repair_is_a_share_of_the_value_and_stands_beside_the_limit() {
        let found = held("4812.00", "5600.00", "14000");
        // 4812 / 14000 = 34.371 %, 5600 / 14000 = 40 %, 0.6 x 14000 = 8400.
        assert_eq!((found.share.as_str(), found.limit.as_str()), ("34.4", "8400.00"));
        assert!(!found.above && !found.may_be_above);
        assert!(
            found.words.contains("34.4 %") && found.words.contains("40.0 %") && found.words.contains("60 %")
        );
        assert!(found.basis.iter().any(|step| step.standing == Standing::Memory));
    }

    #[test]
    fn the_sentence_says_above_and_may_be_above_and_never_decides() {
        let (above, maybe) = (
            held("9000.00", "9900.00", "14000"),
            held("8000.00", "9000.00", "14000"),
        );
        assert!(above.above && !maybe.above && maybe.may_be_above);
        for found in [above, maybe] {
            assert!(
                found.words.ends_with("Who owns the unit decides."),
                "{}",
                found.words
            );
            assert!(!found.words.contains("retire"));
        }
    }

    #[test]
    fn what_has_no_price_yet_is_said_to_be_left_out() {
        let limit = Given::memory(Amount::new(60, 2));
        let found = repair_or_retire("4812.00", "5600.00", "14000", &limit, 1).unwrap();
        assert!(
            found.words.contains("60 %, as far as it is priced"),
            "{}",
            found.words
        );
        assert!(!held("4812.00", "5600.00", "14000").words.contains("priced"));
    }

    #[test]
    fn exactly_at_the_limit_is_not_above_it() {
        assert!(!held("8400.00", "8400.00", "14000").above);
    }

    #[test]
    fn a_value_of_nothing_is_refused() {
        let limit = Given::memory(Amount::new(60, 2));
        for value in ["0", "-5", "new", ""] {
            assert_eq!(
                repair_or_retire("1", "1", value, &limit, 0).unwrap_err().code,
                "unit_value"
            );
        }
    }
}
