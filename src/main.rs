//! The `bywash` program: everything it does is in the library's `cli` room.

fn main() -> std::process::ExitCode {
    bywash::cli::run()
}
