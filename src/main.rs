//! The `halfcell` command: a thin door to [`halfcell::commands`].

/// A certificate is some ten thousand small texts; this allocator takes a quarter less time for them than the system's.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    halfcell::commands::run()
}
