//! The estimating maths of Bowseam: pure functions from a body plan, marks and a shop's rules to figures.
//!
//! No file, no clock, no thread, no randomness, no unsafe code, and no panic on any input: whatever is not
//! understood comes back as an [`Error`] that says what is accepted. Every number carries its working
//! ([`basis::Line`]) and where its values come from ([`basis::Standing`]).

mod added;
mod bars;
pub mod basis;
pub mod bend;
pub mod bill;
pub mod body;
pub mod canonical;
mod chance;
mod change;
mod crew;
mod crew_bay;
pub mod crew_plan;
pub mod cut;
pub mod cut_plan;
mod cut_shelf;
pub mod door;
pub mod error;
pub mod estimate;
pub mod fasten;
pub mod fasten_holes;
pub mod group;
pub mod growth;
pub mod input;
pub mod joint;
#[cfg(test)]
mod made;
pub mod mark;
pub mod measure;
pub mod measured;
pub mod old_damage;
pub mod parts;
pub mod patch;
pub mod photo_scale;
mod photo_scale_figure;
pub mod photo_scale_poor;
mod photo_scale_solve;
pub mod price;
pub mod proof;
pub mod rail_rivets;
mod range;
pub mod retire;
pub mod roof_repair;
pub mod rules;
mod search;
pub mod sections;
pub mod share;
mod sheets;
pub mod shop;
pub mod side_patch;
mod side_patch_figure;
mod side_patch_lap;
mod side_patch_lines;
mod side_patch_rules;
mod side_patch_section;
mod side_patch_ways;
pub mod steps;
pub mod takeoff;
pub mod takeoff_figure;
mod takeoff_lines;
mod takeoff_seams;
pub mod unfold;
pub mod ways;
pub mod whole;

pub use error::Error;
