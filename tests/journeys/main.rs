//! Journeys of people through the screens, in a browser of a phone's size and in the Tauri window.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod answers;
mod broken_files;
mod screens;
mod spanish;
mod steps;
mod trailer;
mod whole_job;
mod window;

use bowseam_tests::{Page, Program, root};
use std::{
    path::PathBuf,
    sync::atomic::{AtomicU16, Ordering},
};

/// A photo of the demo yard.
fn photo(name: &str) -> PathBuf {
    root().join("demo-data/photos").join(name)
}

/// A photo that was not taken before: the picture of another one with a comment of its own in it, since the same
/// photo cannot stand at two places of a job.
fn new_photo() -> PathBuf {
    static TAKEN: AtomicU16 = AtomicU16::new(0);
    let n = TAKEN.fetch_add(1, Ordering::Relaxed);
    let whole = std::fs::read(photo("5026-side-after.jpg")).unwrap();
    let made = [&whole[..2], &[0xff, 0xfe, 0, 4], &n.to_be_bytes(), &whole[2..]].concat();
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("{}-{n}.jpg", std::process::id()));
    std::fs::write(&path, made).unwrap();
    path
}

/// The yard of the field screens, signed in.
fn signed_in(page: &Page, program: &Program, name: &str) {
    page.open(&format!("{}field/signin.html", program.base));
    page.tap(name);
    page.fill("PIN", "1234");
    page.tap_in("main ~ *, footer, nav, body", "Sign in");
    page.see("Add a unit");
}

/// The supervisor's browser, signed in at the office.
fn at_the_office(program: &Program) -> Page {
    let office = Page::phone();
    office.open(&format!("{}office/", program.base));
    office.tap("S. Fennick");
    office.fill("PIN", "1234");
    office.tap("Sign in");
    // The page to sign in at names the list too, as where to go on to.
    office.until("the office's list", || {
        office.address().contains("/office/list.html")
    });
    office
}

/// The job in the address.
fn job_in(address: &str) -> String {
    let rest = address
        .split("job=")
        .nth(1)
        .unwrap_or_else(|| panic!("no job in {address}"));
    rest.chars().take(36).collect()
}
