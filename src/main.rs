//! The `halfcell` command: a thin door to [`halfcell::commands`].
fn main() {}
