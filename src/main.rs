//! The `tailfan` program.

use std::process::ExitCode;
use tailfan::cli::Ending;
use tailfan::workflow::opening::Opening;

/// Reading takes and gives back large buffers many times over; the system's allocator hands each of
/// them back to the system.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    match tailfan::cli::run(std::env::args_os()) {
        Ending::Exit(code) => code,
        Ending::Window(opening) => open_window(opening),
        Ending::AndWindow(opening) => {
            // What was asked for is done, with or without a window.
            open_window(opening);
            ExitCode::SUCCESS
        }
    }
}

#[cfg(feature = "desktop")]
fn open_window(opening: Opening) -> ExitCode {
    match tailfan::desktop::run(opening) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => tailfan::cli::no_window(error),
    }
}

#[cfg(not(feature = "desktop"))]
fn open_window(_: Opening) -> ExitCode {
    tailfan::cli::built_without_window()
}
