//! What became of documents, in words.

use super::arguments::Format;
use super::check::counted;
use super::{MISUSE, REFUSED, print, tell};
use crate::issue::{Desk, Done, Fate, Hindrance};
use crate::problem::{Place, Problem, Severity};
use crate::quantity::Moment;
use crate::register::Trouble;
use std::path::{Path, PathBuf};

/// What a batch came to.
#[derive(Default)]
pub struct Tally {
    pub issued: usize,
    pub drafts: usize,
    pub already: usize,
    pub again: usize,
    pub finished: usize,
    pub worked_on: usize,
    pub not_issued: Vec<(PathBuf, String)>,
    pub refused: bool,
    pub no_access: bool,
}

impl Tally {
    /// Counts a document that stands.
    pub fn count(&mut self, done: &Done) {
        match done.fate {
            Fate::Issued => {
                self.issued += 1;
                self.drafts += usize::from(done.is_draft);
            }
            Fate::AlreadyIssued => self.already += 1,
            Fate::PaintedAgain => self.again += 1,
            Fate::Finished => self.finished += 1,
        }
    }

    /// `3 documents issued, 1 already issued`.
    pub fn said(&self) -> Vec<String> {
        let drafts = match self.drafts {
            0 => String::new(),
            drafts => format!(" ({} awaiting signatures)", counted(drafts, "draft")),
        };
        let mut parts = vec![format!("{} issued{drafts}", counted(self.issued, "document"))];
        let more = [(self.already, "already issued"), (self.again, "painted again"), (self.finished, "finished")];
        parts.extend(more.iter().filter(|(count, _)| *count > 0).map(|(count, word)| format!("{count} {word}")));
        parts
    }
}

/// How documents are told.
#[derive(Debug, Clone, Copy)]
pub struct Teller<'o> {
    /// Folder of the documents.
    pub out: &'o Path,
    /// Whether each is told on a line.
    pub is_told: bool,
}

impl Teller<'_> {
    /// For a command with these options.
    pub fn new(out: &Path, quiet: bool, format: Format) -> Teller<'_> {
        Teller { out, is_told: !quiet && format == Format::Text }
    }

    /// Finishes what a run that broke off left open, then lets others begin.
    pub fn begin(self, desk: &mut Desk<'_>, is_alone: bool, tally: &mut Tally) -> Result<(), Trouble> {
        if !is_alone {
            return Ok(());
        }
        let finished = desk.finish()?;
        tell_torn(desk);
        for outcome in finished {
            match outcome {
                Ok(done) => {
                    tally.finished += 1;
                    self.show(&done);
                }
                Err(Hindrance::Lost(number, reason)) => {
                    tally.refused = true;
                    tell(&format!(
                        "halfcell: {number} was left open by a run that broke off and is void now: {reason}\n"
                    ));
                }
                Err(hindrance) => {
                    let why = told(&hindrance, tally);
                    tell(&format!("halfcell: left open by a run that broke off: {why}\n"));
                }
            }
        }
        desk.register.let_in()
    }

    /// Tells a document that stands.
    pub fn show(self, done: &Done) {
        let word = match done.fate {
            Fate::Issued => "issued",
            Fate::AlreadyIssued => "already issued",
            Fate::PaintedAgain => "already issued, painted again",
            Fate::Finished => "finished, left open by a run that broke off",
        };
        let draft = if done.is_draft { " as draft" } else { "" };
        if self.is_told {
            print(&format!("{word}{draft}  {}\n", self.out.join(format!("{}.pdf", done.stem)).display()));
        }
    }
}

/// Why a document does not stand, in words.
pub fn told(hindrance: &Hindrance, tally: &mut Tally) -> String {
    tally.refused = true;
    match hindrance {
        Hindrance::Refused(problems) => counted(errors(problems), "error"),
        Hindrance::Different(path) => format!(
            "{} is a file that the register does not know; what stands is never overwritten: move it elsewhere, or name \
             another folder with --out",
            path.display()
        ),
        Hindrance::Altered(path) => format!(
            "{} is not as it was issued; it is never overwritten: move it elsewhere and run this again, and the document is \
             painted as it was registered",
            path.display()
        ),
        Hindrance::Unwritable(path, error) => {
            tally.no_access = true;
            format!("{}: {error}; what is opened in the register is finished by the next run", path.display())
        }
        Hindrance::Lost(number, why) => format!("{number} was issued already and cannot be painted again: {why}"),
    }
}

/// Tells that a torn line was mended.
pub fn tell_torn(desk: &mut Desk<'_>) {
    for torn in desk.register.torn() {
        tell(&format!(
            "halfcell: {}: the last line was torn by a crash ({} bytes); it was moved to register.torn, nobody was told of it\n",
            desk.register.folder().display(),
            torn.bytes
        ));
    }
}

/// Tells why the register cannot be used. Gives the exit code.
pub fn tell_trouble(trouble: &Trouble) -> u8 {
    match trouble {
        Trouble::Access(path, error) => {
            tell(&format!("halfcell: {}: {error}; nothing more was issued\n", path.display()));
            MISUSE
        }
        Trouble::Broken(path, fault) => {
            let (path, why) = (path.display(), fault.told());
            tell(&format!(
                "halfcell: {path}: {why}; nothing is issued on a register that was changed: put back the register from a \
                 backup, and see what differs\n"
            ));
            REFUSED
        }
    }
}

/// How many errors there are.
pub fn errors(problems: &[Problem]) -> usize {
    problems.iter().filter(|problem| problem.severity == Severity::Error).count()
}

/// The clock, to the second: read here and nowhere else.
pub fn now() -> Moment {
    let text = chrono::Utc::now().format("%Y-%m-%dT%H:%M:%SZ").to_string();
    Moment::parse(&text, &Place::default()).expect("the clock gives a day and a time that exist")
}
