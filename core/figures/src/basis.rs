//! Where a number comes from. A figure without its working cannot be checked at the trailer, and a value
//! without its standing is believed too easily; so both travel with every number, up to the screen.

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
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, TS)]
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
