//! A program that was built without shared places: their words are understood, and answered with how to get them.

use crate::{Error, Result};
use bowseam_jobs::Store;
use bowseam_photos::Folder;
use std::path::Path;

/// There are none here.
#[derive(Debug, Clone, Copy)]
pub enum Shared {}

/// There is none here.
#[derive(Debug, Clone, Copy)]
pub enum Objects {}

fn not_built<T>() -> Result<T> {
    Err(Error::Address(
        "This program was built for one office on SQLite and a folder. For PostgreSQL and an S3 store build it with: \
         cargo build --release --features several."
            .to_owned(),
    ))
}

impl Objects {
    /// Always refused.
    ///
    /// # Errors
    /// `shared_address`: how to build a program that has it.
    pub fn new(_: &str, _: &str, _: &str, _: Option<&str>) -> Result<Self> {
        not_built()
    }

    /// As of the real one.
    ///
    /// # Errors
    /// None: there is no such value.
    pub fn check(&self) -> Result<()> {
        match *self {}
    }
}

impl Shared {
    /// Always refused.
    ///
    /// # Errors
    /// `shared_address`.
    pub fn open(_: &str, _: Option<&str>, _: Option<&Path>, _: Objects) -> Result<Self> {
        not_built()
    }

    /// As of the real one.
    ///
    /// # Errors
    /// None: there is no such value.
    pub fn store(&self, _: &Path) -> Result<Store> {
        match *self {}
    }

    /// As of the real one.
    ///
    /// # Errors
    /// None: there is no such value.
    pub fn photos(&self, _: &Path) -> Result<Folder> {
        match *self {}
    }

    /// As of the real one.
    ///
    /// # Errors
    /// None: there is no such value.
    pub fn photos_in(&self, _: &Path, _: u64) -> Result<Folder> {
        match *self {}
    }

    /// As of the real one.
    ///
    /// # Errors
    /// None: there is no such value.
    pub fn is_empty(&self) -> Result<bool> {
        match *self {}
    }
}
