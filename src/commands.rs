//! What a person types and sees: arguments, the clock, progress, tables on the terminal, exit codes.
//!
//! Comes in: arguments. Goes out: text on the two streams and an exit code. Nothing else in the crate prints, and only here
//! is the machine asked (streams, number of processors).

mod arguments;
mod check;
mod dossier;
mod due;
mod earlier;
mod fates;
mod files;
mod history;
mod issue;
mod lookup;
mod new;
mod progress;
mod rejudge;
mod selected;
mod signing;
mod table;
mod verdicts;
mod verify;

pub use arguments::Arguments;

use arguments::Command;
use clap::{CommandFactory, Parser};
use std::io::{IsTerminal, Write};
use std::process::ExitCode;

/// Everything done.
const DONE: u8 = 0;
/// Something was refused.
const REFUSED: u8 = 1;
/// Wrong use, or no access.
const MISUSE: u8 = 2;

/// Runs the program with the arguments of this process.
pub fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(told) => {
            // A closed stream is nothing to report to.
            let _ = told.print();
            return ExitCode::from(if told.use_stderr() { MISUSE } else { DONE });
        }
    };
    let code = match arguments.command {
        Command::New(order) => new::run(&order),
        Command::Check(order) => check::run(&order),
        Command::Issue(order) => issue::run(&order),
        Command::History(order) => history::run(&order),
        Command::Due(order) => due::run(&order),
        Command::Rejudge(order) => rejudge::run(&order),
        Command::Verify(order) => verify::run(&order),
        Command::Dossier(order) => dossier::run(&order),
        Command::Completions { shell } => {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut Arguments::command(), "halfcell", &mut script);
            print(&String::from_utf8_lossy(&script));
            DONE
        }
    };
    ExitCode::from(code)
}

/// Writes to the output stream; a reader that has gone away ends the program quietly.
fn print(text: &str) {
    let write = || {
        let mut out = std::io::stdout().lock();
        out.write_all(text.as_bytes()).and_then(|()| out.flush())
    };
    let written = if std::io::stdout().is_terminal() { progress::beside(write) } else { write() };
    if written.is_err() {
        std::process::exit(i32::from(DONE));
    }
}

/// Writes to the error stream.
fn tell(text: &str) {
    // Nobody is left to be told when the error stream is closed.
    let _ = progress::beside(|| std::io::stderr().lock().write_all(text.as_bytes()));
}
