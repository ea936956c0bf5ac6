//! Being built.
fn main() {}
