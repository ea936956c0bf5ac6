//! Back to service: what is checked before a unit is released, against which rule and of what date.
//!
//! Nothing here says that a unit is safe or legal. It says what was compared with which rule; local codes,
//! the maker's instructions and licensed practice come first, and a person signs.

mod rows;
mod sheeting;
mod vin;

pub use rows::{Kind, ProofRow, ProofUnit, proof_rows};
pub use sheeting::sheeting;
pub use vin::vin;
