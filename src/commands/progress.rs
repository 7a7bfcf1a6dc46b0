//! How far a long run is, on a terminal: done, left, failed, and the time that is left. Nothing of it in pipes, logs or CI.
//!
//! ```text
//! issue  [=========>              ] 3841 of 10000 visits, 2 failed, 6159 left, about 3 minutes
//! ```
//!
//! A command begins a [`Progress`] and takes a step for what is done; when it is dropped, the line is gone. [`beside`] keeps
//! what is printed meanwhile apart from it.

use indicatif::{HumanDuration, ProgressBar, ProgressDrawTarget, ProgressState, ProgressStyle};
use std::fmt::Write;
use std::io::IsTerminal;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// Times a second that the line is drawn at most.
const A_SECOND: u8 = 8;

/// What is done sooner shows nothing.
const SOON: Duration = Duration::from_millis(400);

/// The line on the terminal, if there is one.
static SHOWN: Mutex<Option<ProgressBar>> = Mutex::new(None);

/// A run on its way.
#[derive(Debug)]
pub struct Progress {
    line: Option<ProgressBar>,
    what: &'static str,
    begun: Instant,
    failed: usize,
}

impl Progress {
    /// Begins a run over so many things: `verb` is what is done to them, `what` is their name. Nothing is shown unless
    /// `wanted` (text for people, and they did not ask for silence) and the error stream is a terminal outside CI.
    pub fn begin(verb: &'static str, total: usize, what: &'static str, wanted: bool) -> Progress {
        let is_dumb = std::env::var_os("TERM").is_none_or(|term| term == "dumb" || term.is_empty());
        let is_seen = wanted && std::io::stderr().is_terminal() && !is_dumb && std::env::var_os("CI").is_none();
        let line = is_seen.then(|| {
            let line = ProgressBar::with_draw_target(Some(total as u64), ProgressDrawTarget::hidden());
            line.set_style(style());
            line.with_prefix(verb)
        });
        *shown() = line.clone();
        let progress = Progress { line, what, begun: Instant::now(), failed: 0 };
        progress.say();
        progress
    }

    /// So many more are done, and so many of them failed.
    pub fn step(&mut self, done: usize, failed: usize) {
        self.failed += failed;
        self.say();
        let Some(line) = &self.line else { return };
        if line.is_hidden() && self.begun.elapsed() >= SOON {
            line.set_draw_target(ProgressDrawTarget::stderr_with_hz(A_SECOND));
        }
        line.inc(done as u64);
    }

    fn say(&self) {
        if let Some(line) = &self.line {
            let failed = if self.failed > 0 { format!(", {} failed", self.failed) } else { String::new() };
            line.set_message(format!("{}{failed}", self.what));
        }
    }
}

fn style() -> ProgressStyle {
    let template = "{prefix}  [{bar:24}] {pos} of {len} {msg}, {left} left{rest}";
    let style = ProgressStyle::with_template(template).expect("the template is one that indicatif reads");
    let left = |state: &ProgressState, out: &mut dyn Write| {
        let left = state.len().unwrap_or(0).saturating_sub(state.pos());
        // Who writes to a text cannot fail.
        let _ = write!(out, "{left}");
    };
    let rest = |state: &ProgressState, out: &mut dyn Write| {
        if state.pos() > 0 {
            let _ = write!(out, ", about {}", HumanDuration(state.eta()));
        }
    };
    style.with_key("left", left).with_key("rest", rest).progress_chars("=> ")
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some(line) = shown().take() {
            line.finish_and_clear();
        }
    }
}

/// Prints something while the line is away, so that neither tears the other.
pub fn beside<T>(print: impl FnOnce() -> T) -> T {
    let line = shown().clone();
    match line {
        Some(line) if !line.is_hidden() => line.suspend(print),
        Some(_) | None => print(),
    }
}

fn shown() -> std::sync::MutexGuard<'static, Option<ProgressBar>> {
    SHOWN.lock().unwrap_or_else(PoisonError::into_inner)
}
