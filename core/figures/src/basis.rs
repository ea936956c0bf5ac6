//! Where a number comes from. A figure without its working cannot be checked at the trailer, and a value
//! without its standing is believed too easily; so both travel with every number, up to the screen.

use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// Where a value comes from; on screen it stands beside the word *from*.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case", tag = "from", content = "source")]
pub enum Standing {
    /// A published source, named.
    Published(String),
    /// Common practice in the trade, no published source.
    CommonPractice,
    /// From memory, to be confirmed.
    Memory,
    /// Set by the shop; the program ships a starting value only.
    Shop,
    /// Entered for this unit by a person.
    Unit,
    /// Worked out by the program from the other values.
    Worked,
}

/// One step of the working: a value with its unit in words, what it is, and its standing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Basis {
    /// As it is read, sign and unit included: `168 in`, `+ 2 in`, `x 1.10`.
    pub value: String,
    /// What it is: `to bow 7`, `lap`.
    pub what: String,
    /// Where it comes from.
    pub standing: Standing,
}

/// One takeoff line: an item, how much of it, in which unit, and the working behind the number.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Line {
    /// Trade word of the item, as in `roof sheet`, `seam tape`.
    pub item: String,
    /// The quantity, exact decimal as text.
    pub quantity: String,
    /// Unit of the quantity: `in`, `mm`, `in²`, `each`, `lb`.
    pub unit: String,
    /// The working, in order; the last one is the result.
    pub basis: Vec<Basis>,
    /// Standing of the number as a whole: of its weakest input.
    pub standing: Standing,
    /// A remark: weights, why a line is nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub more: Option<String>,
}

impl Line {
    /// A line from its working: as well founded as its worst step, which the quantity itself ends.
    pub(crate) fn of(item: &str, quantity: Decimal, unit: &str, mut basis: Vec<Basis>) -> Self {
        let standing = Standing::weakest(basis.iter().map(|step| &step.standing));
        let quantity = quantity.normalize();
        let short = quantity.round_dp_with_strategy(3, RoundingStrategy::MidpointAwayFromZero);
        basis.push(Basis::new(format!("{short} {unit}"), item, Standing::Worked));
        Self {
            item: item.to_owned(),
            quantity: quantity.to_string(),
            unit: unit.to_owned(),
            basis,
            standing,
            more: None,
        }
    }

    /// The quantity as it is read; an area also in square feet or square metres.
    #[must_use]
    pub fn amount(&self) -> String {
        let (per, unit) = match self.unit.as_str() {
            "in²" => (144, "sq ft"),
            "mm²" => (1_000_000, "m²"),
            _ => return format!("{} {}", self.quantity, self.unit),
        };
        let large = self.quantity.parse::<Decimal>().ok();
        let large = large.and_then(|number| number.checked_div(Decimal::from(per)));
        let large =
            large.map(|number| number.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero));
        match large {
            Some(large) => format!("{} {unit} ({} {})", large.normalize(), self.quantity, self.unit),
            None => format!("{} {}", self.quantity, self.unit),
        }
    }

    /// Nothing is needed of it, and no remark says why: it need not be shown.
    #[must_use]
    pub fn is_nothing(&self) -> bool {
        let zero = self
            .quantity
            .parse::<Decimal>()
            .is_ok_and(|number| number.is_zero());
        zero && self.more.is_none()
    }
}

/// A decimal number that is not a length: money, hours, shares. In JSON a decimal string, so that it is the
/// same on every machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize, TS)]
pub struct Amount(#[ts(type = "string")] pub Decimal);

impl Amount {
    /// From a whole number and how many of its digits stand behind the point: `(1250, 2)` is 12.50.
    #[must_use]
    pub fn new(digits: i64, behind_the_point: u32) -> Self {
        Self(Decimal::try_new(digits, behind_the_point).unwrap_or_default())
    }
}

/// A number as a person writes it: a dollar sign before it, commas between thousands. A comma anywhere else may stand for
/// a point, so that is none.
#[must_use]
pub fn written(typed: &str) -> Option<Decimal> {
    let plain = typed.trim().trim_start_matches('$').trim();
    let mut groups = plain.split('.').next().unwrap_or_default().split(',');
    let first = groups.next().unwrap_or_default();
    let mut thousands = groups.clone();
    let grouped = (1..=3).contains(&first.len()) && thousands.all(|group| group.len() == 3);
    if groups.next().is_some() && !grouped
        || plain
            .split_once('.')
            .is_some_and(|(_, cents)| cents.contains(','))
    {
        return None;
    }
    plain.replace(',', "").parse().ok()
}

impl std::fmt::Display for Amount {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

/// A value that a rule uses, with where it comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Given<T> {
    /// The value.
    pub value: T,
    /// Where it comes from.
    pub standing: Standing,
}

impl<T> Given<T> {
    /// A value from memory, to be confirmed.
    pub const fn memory(value: T) -> Self {
        Self {
            value,
            standing: Standing::Memory,
        }
    }

    /// A value of common practice.
    pub const fn practice(value: T) -> Self {
        Self {
            value,
            standing: Standing::CommonPractice,
        }
    }

    /// A value that the shop sets.
    pub const fn shop(value: T) -> Self {
        Self {
            value,
            standing: Standing::Shop,
        }
    }

    /// Replaces the value by one that the shop has set.
    pub fn set(&mut self, value: Option<T>) {
        if let Some(value) = value {
            *self = Self::shop(value);
        }
    }
}

impl Standing {
    /// The weakest of several: a number is no better founded than its worst input.
    #[must_use]
    pub fn weakest<'a>(all: impl IntoIterator<Item = &'a Self>) -> Self {
        all.into_iter()
            .max_by_key(|standing| standing.doubt())
            .cloned()
            .unwrap_or(Self::Worked)
    }

    const fn doubt(&self) -> u8 {
        match self {
            Self::Worked => 0,
            Self::Unit => 1,
            Self::Published(_) => 2,
            Self::Shop => 3,
            Self::CommonPractice => 4,
            Self::Memory => 5,
        }
    }
}

impl Basis {
    /// One step of the working.
    pub fn new(value: impl Into<String>, what: impl Into<String>, standing: Standing) -> Self {
        Self {
            value: value.into(),
            what: what.into(),
            standing,
        }
    }
}

/// A count with its word: `1 bow`, `3 bows`.
pub(crate) fn many(count: impl Into<i64>, one: &str, several: &str) -> String {
    match count.into() {
        1 => format!("1 {one}"),
        n => format!("{n} {several}"),
    }
}
