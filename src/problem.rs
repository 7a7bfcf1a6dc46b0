//! The one type for everything a person is told about a file.
//!
//! Comes in: what a check found. Goes out: a [`Problem`] with its place, what, why and fix. Printed only by
//! [`crate::commands`].

use std::fmt;

/// Where in a file something stands.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Place {
    /// Name of the file, as the person gave it or as the visit names it.
    pub file: String,
    /// Line, from 1; 0 where the file as a whole is meant.
    pub line: u32,
    /// Column in characters, from 1 (a byte-order mark is not counted); 0 where the file as a whole is meant.
    pub column: u32,
    /// Path inside the document: `loops[2].as_found.readings[0].mv`; empty for the file as a whole.
    pub path: String,
}

impl Place {
    /// The file as a whole.
    pub fn whole(file: &str) -> Self {
        Place {
            file: file.to_owned(),
            ..Place::default()
        }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            0 => write!(f, "{}", self.file),
            _ => write!(f, "{}:{}:{}", self.file, self.line, self.column),
        }
    }
}

/// How far a problem reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The certificate is issued; the remark is printed among the deviations and kept in the record.
    Warning,
    /// Nothing is issued for the visit.
    Error,
}

/// One thing a person is told about a file: what was found, why it cannot stand, what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Error or warning.
    pub severity: Severity,
    /// Stable word code in kebab-case, unique, never reused; listed in [`CODES`].
    pub code: &'static str,
    /// Where it was found.
    pub place: Place,
    /// What was found, with the value as typed.
    pub what: String,
    /// Why it cannot stand.
    pub why: String,
    /// The allowed values or the next act.
    pub fix: String,
    /// The line of the file that the place points into, cut to its surroundings where it is long; filled when the
    /// problem is booked.
    pub excerpt: String,
    /// Column in `excerpt` that the place points at, in characters from 1; 0 without excerpt.
    pub caret: u32,
    /// Whether an entry under `accepted:` of the loop may turn it into a deviation (warnings always may).
    pub acceptable: bool,
}

impl Problem {
    /// An error: nothing is issued.
    pub fn error(
        code: &'static str,
        place: &Place,
        what: impl Into<String>,
        why: impl Into<String>,
        fix: impl Into<String>,
    ) -> Self {
        Problem {
            severity: Severity::Error,
            code,
            place: place.clone(),
            what: what.into(),
            why: why.into(),
            fix: fix.into(),
            excerpt: String::new(),
            caret: 0,
            acceptable: false,
        }
    }

    /// A warning: issued, and printed among the deviations.
    pub fn warning(
        code: &'static str,
        place: &Place,
        what: impl Into<String>,
        why: impl Into<String>,
        fix: impl Into<String>,
    ) -> Self {
        Problem {
            severity: Severity::Warning,
            acceptable: true,
            ..Problem::error(code, place, what, why, fix)
        }
    }

    /// The same problem, open to be accepted with a reason under `accepted:` of its loop.
    pub fn acceptable(self) -> Self {
        Problem {
            acceptable: true,
            ..self
        }
    }
}

/// Every code with one line of description; frozen by a test, printed by the help.
pub const CODES: &[(&str, &str)] = &[];
