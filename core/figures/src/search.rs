//! What the searches of this crate share: the stop signal that a caller with a clock gives, a refusal that
//! lists what is missing, and reading of prices. Lengths inside a search are whole nanometres held in `f64`:
//! sums stay far below 2^53, so they are exact.

use crate::Error;
use crate::door::Refusal;
use crate::input::Fields;
use rust_decimal::prelude::{FromStr, ToPrimitive};
use rust_decimal::{Decimal, RoundingStrategy};
use serde_json::{Value, json};

/// Asked often during a search; true ends it with the best that was found.
pub type Stop<'a> = &'a mut dyn FnMut() -> bool;

/// Highest price of one piece of stock.
const DEAREST: u32 = 1_000_000_000;
/// Most digits behind the point of a price.
pub const MOST_DIGITS: u32 = 6;

/// An entry of a list, its type's nothing where the list ends before.
pub fn at<T: Copy + Default>(list: &[T], place: usize) -> T {
    list.get(place).copied().unwrap_or_default()
}

/// A price as decimal text, none if the field is not there.
pub fn price(given: &Value, fields: &Fields<'_>, name: &str) -> Result<Option<Decimal>, Error> {
    let Some(value) = given.get(name).filter(|value| !value.is_null()) else {
        return Ok(None);
    };
    let read = value
        .as_str()
        .and_then(|text| Decimal::from_str(text.trim()).ok());
    let fits = |price: &Decimal| {
        !price.is_sign_negative()
            && price.normalize().scale() <= MOST_DIGITS
            && *price <= Decimal::from(DEAREST)
    };
    let wrong = || {
        let sentence = format!(
            "A price is decimal text from \"0\" to \"{DEAREST}\" with at most {MOST_DIGITS} digits behind the point."
        );
        fields.wrong(name, "input_price", sentence)
    };
    read.filter(fits).map(Some).ok_or_else(wrong)
}

/// The amount as it is paid: half up to the cent, two digits behind the point.
pub fn money(amount: Decimal) -> String {
    let cents = amount.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero);
    format!("{:.2}", cents.abs())
}

/// A bound as it is shown: down to the cent, so that it stays a bound.
pub fn money_below(bound: f64) -> String {
    let cents = (bound.max(0.0) * 100.0 + 1e-6).floor();
    format!("{:.2}", cents / 100.0)
}

/// A decimal for the inside of a search.
pub fn float(number: Decimal) -> f64 {
    number.to_f64().unwrap_or_default()
}

/// The largest step of which every price is a whole multiple, as far as a search needs it; none if there is no
/// such step.
pub fn step_of(prices: impl Iterator<Item = Decimal>) -> f64 {
    let unit = 10_i64.pow(MOST_DIGITS);
    let whole = prices.filter_map(|price| price.checked_mul(Decimal::from(unit)).and_then(|n| n.to_i64()));
    let step = whole.fold(0, common);
    Decimal::from(step)
        .checked_div(Decimal::from(unit))
        .map_or(0.0, float)
}

/// Greatest common divisor.
pub fn common(a: i64, b: i64) -> i64 {
    let (mut a, mut b) = (a.saturating_abs(), b.saturating_abs());
    while b != 0 {
        (a, b) = (b, a.checked_rem(b).unwrap_or(0));
    }
    a
}

/// The refusal of a cut plan for which the stock does not suffice.
pub fn not_enough(missing: impl Iterator<Item = (String, u32)>) -> Refusal {
    let missing: Vec<Value> = missing
        .filter(|(_, count)| *count > 0)
        .map(|(piece, count)| json!({"piece": piece, "count": count}))
        .collect();
    let error = "The stock does not suffice: the pieces listed as missing find no place. Add stock, or take pieces off the list.";
    Refusal {
        exit: 3,
        body: json!({"error": error, "where": "/stock", "code": "stock_short", "missing": missing})
            .to_string(),
    }
}
