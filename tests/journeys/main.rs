//! Journeys of people through the screens, in a browser of a phone's size and in the Tauri window.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod screens;
mod steps;
mod whole_job;
mod window;

use bowseam_tests::{Page, Program, root};
use std::path::PathBuf;

/// A photo of the demo yard.
fn photo(name: &str) -> PathBuf {
    root().join("demo-data/photos").join(name)
}

/// The yard of the field screens, signed in.
fn signed_in(page: &Page, program: &Program, name: &str) {
    page.open(&format!("{}field/signin.html", program.base));
    page.tap(name);
    page.fill("PIN", "1234");
    page.tap_in("main ~ *, footer, nav, body", "Sign in");
    page.see("Add a unit");
}

/// The job in the address.
fn job_in(address: &str) -> String {
    let rest = address
        .split("job=")
        .nth(1)
        .unwrap_or_else(|| panic!("no job in {address}"));
    rest.chars().take(36).collect()
}
