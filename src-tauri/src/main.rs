//! The desktop window; the phone starts in the library.

fn main() -> std::process::ExitCode {
    bowseam_shell::run()
}
