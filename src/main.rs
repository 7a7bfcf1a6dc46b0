//! The `halfcell` command: a thin door to [`halfcell::commands`].

fn main() -> std::process::ExitCode {
    halfcell::commands::run()
}
