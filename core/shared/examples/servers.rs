//! Runs a command beside a PostgreSQL and an S3 server of its own: `servers COMMAND…`. The command finds them in
//! `BOWSEAM_TEST_DATABASE`, `BOWSEAM_TEST_PHOTOS` and the usual names of the S3 key. Ends as the command does.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

#[path = "../tests/servers/mod.rs"]
mod servers;

use servers::{KEY, Postgres, S3, SECRET, are_there};
use std::process::{Command, ExitCode};

fn main() -> ExitCode {
    if !are_there() {
        return ExitCode::FAILURE;
    }
    let (database, photos) = (Postgres::start(), S3::start());
    let mut words = std::env::args_os().skip(1);
    let ended = Command::new(words.next().unwrap())
        .args(words)
        .env("BOWSEAM_TEST_DATABASE", database.url("postgres"))
        .env("BOWSEAM_TEST_PHOTOS", photos.address())
        .env("AWS_ACCESS_KEY_ID", KEY)
        .env("AWS_SECRET_ACCESS_KEY", SECRET)
        .status()
        .unwrap();
    if ended.success() {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
