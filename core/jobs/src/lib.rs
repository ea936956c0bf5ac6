//! The offline job queue: append-only entries in SQLite, the jobs folded from them, and the outbox.
//!
//! One way: [`Store::append`] saves changes as [`entry::Entry`]s, [`Store::receive`] takes those of others,
//! [`Store::job`] shows what they fold to ([`job::fold`]). Everything but entries, settings, people and the
//! outbox's states can be rebuilt from the entries and comes out identical.

mod apart;
pub mod backup;
mod board;
mod clash;
pub mod clock;
pub mod entry;
mod error;
mod fold;
pub mod job;
mod kinds;
pub mod office;
pub mod on_photo;
pub mod outbox;
pub mod people;
mod salvage;
mod save;
pub mod session;
mod setting;
pub mod shared;
pub mod stock;
mod store;

pub use apart::Apart;
pub use board::KeptRow;
pub use error::Error;
pub use salvage::Salvage;
pub use store::{Cursor, Opened, Outcome, Receipt, Store, Summary};
