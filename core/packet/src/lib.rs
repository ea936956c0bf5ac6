//! The papers of a packet: one document, as a page to print (HTML), as PDF and as tables (XLSX, CSV).
//!
//! A crate of its own, since what writes PDF and XLSX takes long to build and knows nothing of repairs: it is built
//! beside the maths and the store, and a change of a screen does not build it again. What stands in a packet is
//! gathered by the app into a [`Paper`] and into [`Table`]s; how a form shows it is decided here. The same input
//! gives the same bytes in every form, so a packet can be named by its SHA-256.
//!
//! The PDF is tagged and checked while it is written against PDF/A-2a (to be kept for years) and PDF/UA-1 (read by
//! a screen reader); its text can be searched.

mod csv_form;
mod draw;
mod error;
mod flow;
mod html;
mod letters;
mod pages;
mod paper;
mod pdf;
mod table;
mod xlsx;

pub use csv_form::csv;
pub use error::Error;
pub use html::{escape, html};
pub use paper::{
    Anchor, Block, Cell, Drawing, Ink, Item, Level, Paper, Part, Photo, Pictures, Size, Style, Table,
};
pub use pdf::pdf;
pub use xlsx::xlsx;
