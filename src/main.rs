//! The `tailfan` program.

fn main() -> std::process::ExitCode {
    tailfan::cli::run(std::env::args_os())
}
