//! The one door: an [`ask::Ask`] in, an [`answer::Answer`] out, for every shell.
//!
//! The phone's web view, a browser and the office all ask the same questions. A change is checked, saved as
//! entries and answered with *saved*; a question is answered from the job as it stands ([`now::Now`]). Screens
//! keep no state of their own, so what they show is what the store knows.

pub mod answer;
pub mod app;
pub mod arriving;
pub mod ask;
mod bays;
mod book;
pub mod camera;
mod card;
mod change;
mod copies;
pub mod door;
mod draft;
mod from_photo;
mod learn;
mod named;
pub mod now;
mod packet;
mod people;
pub mod phone;
mod phones;
mod photo_scale;
mod refuse;
mod roll;
mod roof;
mod room;
pub mod sending;
mod shelf;
mod typed;
mod undo;
mod view;
mod words;

pub use answer::{Answer, Refusal};
pub use app::{App, Asker, Kind};
pub use ask::Ask;
