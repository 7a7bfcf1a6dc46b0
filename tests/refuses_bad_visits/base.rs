//! One good visit that every case edits once, and the bench on which the edited file is opened.

use halfcell::client::LANGUAGES;
use halfcell::problem::{Problem, Severity};
use halfcell::rounding::DecimalSign;
use halfcell::visit::{Given, Opened, open};
use halfcell::wording::Wording;
use std::fs;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};

/// A lone visit of one pH loop and one redox loop, without a problem.
pub const VISIT: &str = include_str!("visit.yaml");

/// A folder that is removed at the end.
pub struct Folder(pub PathBuf);

impl Folder {
    pub fn new() -> Folder {
        static COUNT: AtomicUsize = AtomicUsize::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let name = format!("halfcell-visits-{}-{count}", std::process::id());
        let path = std::env::temp_dir().join(name);
        fs::create_dir_all(path.join("visits")).expect("a temporary folder");
        Folder(path)
    }

    /// Writes a file below the folder.
    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.0.join(name);
        fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        fs::write(&path, bytes).expect("a file");
        path
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        fs::remove_dir_all(&self.0).ok();
    }
}

/// Opens bytes as a lone visit.
pub fn opened(bytes: impl AsRef<[u8]>) -> Opened {
    let folder = Folder::new();
    let path = folder.write("visits/visit.yaml", bytes);
    folder.write("visits/photos/bulb.jpg", "a photo");
    open(&path, &Given::default())
}

/// How a problem is classed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Class {
    /// Nothing is issued.
    Error,
    /// Nothing is issued unless it is accepted with a reason.
    Acceptable,
    /// Issued, and printed.
    Warning,
}
pub use Class::{Acceptable, Error, Warning};

pub fn class(problem: &Problem) -> Class {
    match (problem.severity, problem.acceptable) {
        (Severity::Warning, _) => Warning,
        (Severity::Error, true) => Acceptable,
        (Severity::Error, false) => Error,
    }
}

/// One edit of the good visit and the one problem that it must raise.
pub struct Case {
    /// What goes wrong, with the number of its kind where it has one.
    pub number: &'static str,
    /// What is replaced (it stands once in the good visit) …
    pub from: &'static str,
    /// … and by what.
    pub to: &'static str,
    pub class: Class,
    pub code: &'static str,
    /// Where: the text that begins at the place, after `|`; what stands before it makes it unique.
    pub mark: &'static str,
    /// What the fix says.
    pub fix: &'static str,
}

/// Replaces a text that stands exactly once.
pub fn edit(text: &str, from: &str, to: &str) -> String {
    assert_eq!(text.matches(from).count(), 1, "`{from}` stands once");
    text.replacen(from, to, 1)
}

/// Line and column (in characters, from 1) of a mark.
pub fn place(text: &str, mark: &str) -> (u32, u32) {
    let (before, after) = mark.split_once('|').unwrap_or(("", mark));
    let whole = format!("{before}{after}");
    assert_eq!(text.matches(&whole).count(), 1, "`{mark}` stands once");
    let at = text.find(&whole).expect("the mark") + before.len();
    let line = text[..at].matches('\n').count() + 1;
    let start = text[..at].rfind('\n').map_or(0, |position| position + 1);
    let column = text[start..at].chars().count() + 1;
    (line as u32, column as u32)
}

/// Whatever may be printed as a deviation has a sentence in every language that its facts fill.
pub fn is_said_on_documents(problem: &Problem) {
    for (language, tag) in LANGUAGES {
        let said = Wording::of(Some(tag)).deviation(problem.code, &problem.facts, &[], DecimalSign::Point);
        assert!(said.is_some(), "{language}, {}: {:?}", problem.code, problem.facts);
    }
}

/// Runs cases against a text that is edited: exactly the one problem, at its place, with its fix.
pub fn check_on(base: &str, open: impl Fn(&str) -> Opened, cases: &[Case]) {
    let mut wrong = Vec::new();
    for case in cases {
        let text = edit(base, case.from, case.to);
        let opened = open(&text);
        let found: Vec<_> = opened.problems.iter().map(line_of).collect();
        let (line, column) = place(&text, case.mark);
        let fits = |problem: &Problem| {
            problem.code == case.code
                && class(problem) == case.class
                && (problem.place.line, problem.place.column) == (line, column)
                && !case.fix.is_empty()
                && problem.fix.contains(case.fix)
                && !problem.excerpt.is_empty()
        };
        let refused = opened.visit.is_none();
        opened.problems.iter().filter(|problem| !problem.refuses()).for_each(is_said_on_documents);
        if opened.problems.len() != 1 || !fits(&opened.problems[0]) || refused != (case.class == Error) {
            let due = format!("{:?} {} {line}:{column} … {}", case.class, case.code, case.fix);
            wrong.push(format!(
                "case {}: due   {due}\n         found {}",
                case.number,
                found.join("\n               ")
            ));
        }
    }
    assert!(wrong.is_empty(), "\n{}\n", wrong.join("\n"));
}

/// Runs cases against the good lone visit.
pub fn check(cases: &[Case]) {
    check_on(VISIT, |text| opened(text), cases);
}

pub fn line_of(problem: &Problem) -> String {
    format!(
        "{:?} {} {}:{} [{}] {} — {} — {}",
        class(problem),
        problem.code,
        problem.place.line,
        problem.place.column,
        problem.place.path,
        problem.what,
        problem.why,
        problem.fix
    )
}
