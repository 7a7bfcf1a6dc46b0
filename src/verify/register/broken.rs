//! What can be wrong with a register, in words.

use super::Lack;
use serde::Serialize;

/// What is wrong with a register.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "fault", rename_all = "kebab-case")]
#[allow(missing_docs)]
pub enum Broken {
    /// A line cannot be read.
    Unreadable { line: u64, why: String },
    /// A line is not the one that the next names.
    Edited { line: u64, noticed: u64 },
    /// Lines are missing before a line.
    Removed { line: u64, from: u64, to: u64 },
    /// A line stands between two that belong together.
    Inserted { line: u64 },
    /// A line stands out of its place: it was written behind another.
    Moved { line: u64, behind: u64 },
    /// A line stands there once more.
    Repeated { line: u64, of: u64 },
    /// A line says that it is the first of a register.
    Restarted { line: u64 },
    /// A line fits the one before but for its number.
    Misnumbered { line: u64, entry: u64, due: u64 },
    /// It opens a document number for the second time, or ends one that is not open.
    OutOfTurn { line: u64, number: String },
    /// It opens a document behind one that is unknown or followed already.
    Forked { line: u64, number: String, predecessor: String },
    /// The source key of a document is not that of its sources.
    SourceKey { line: u64, number: String },
    /// A line says something else than the record that it names.
    Contradicts { line: u64, number: String, field: &'static str },
    /// A file of the archive cannot serve; how many documents were made from it, the first on this line.
    Archive { line: u64, number: String, name: String, sha256: String, lack: Lack, documents: u64 },
    /// A signature proves nothing.
    Signature { line: u64, key: String, why: SignatureFault },
    /// No trusted key signed.
    Unsigned,
    /// No line has a hash that was kept elsewhere.
    Unmatched { hash: String },
}

/// What is wrong with a signature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[allow(missing_docs)]
pub enum SignatureFault {
    /// It is not that of the key it names.
    Forged,
    /// The line that it vouches for is not here.
    OfAnotherLine { up_to: u64 },
}

impl Broken {
    /// The line that it concerns; none: the register as a whole.
    pub fn line(&self) -> Option<u64> {
        match self {
            Broken::Unreadable { line, .. }
            | Broken::Edited { line, .. }
            | Broken::Removed { line, .. }
            | Broken::Inserted { line }
            | Broken::Moved { line, .. }
            | Broken::Repeated { line, .. }
            | Broken::Restarted { line }
            | Broken::Misnumbered { line, .. }
            | Broken::OutOfTurn { line, .. }
            | Broken::Forked { line, .. }
            | Broken::SourceKey { line, .. }
            | Broken::Contradicts { line, .. }
            | Broken::Archive { line, .. }
            | Broken::Signature { line, .. } => Some(*line),
            Broken::Unsigned | Broken::Unmatched { .. } => None,
        }
    }

    /// Whether it breaks the chain: lines were changed, added, removed or exchanged.
    pub fn is_of_chain(&self) -> bool {
        match self {
            Broken::Unreadable { .. }
            | Broken::Edited { .. }
            | Broken::Removed { .. }
            | Broken::Inserted { .. }
            | Broken::Moved { .. }
            | Broken::Repeated { .. }
            | Broken::Restarted { .. }
            | Broken::Misnumbered { .. }
            | Broken::OutOfTurn { .. }
            | Broken::Forked { .. } => true,
            Broken::SourceKey { .. }
            | Broken::Contradicts { .. }
            | Broken::Archive { .. }
            | Broken::Signature { .. }
            | Broken::Unsigned
            | Broken::Unmatched { .. } => false,
        }
    }

    /// The document that it is about.
    pub fn number(&self) -> Option<&str> {
        match self {
            Broken::SourceKey { number, .. } | Broken::Contradicts { number, .. } => Some(number),
            _ => None,
        }
    }

    /// What is wrong, in a sentence.
    pub fn told(&self) -> String {
        match self {
            Broken::Unreadable { line, why } => format!("line {line} cannot be read as a line of a register: {why}"),
            Broken::Edited { line, noticed } if line == noticed => {
                format!("line {line} is the first, and names a line before it: it was changed, or lines were removed")
            }
            Broken::Edited { line, noticed } => format!(
                "line {line} is not the one that line {noticed} names as the line before it: line {line} was changed since, or \
                 line {noticed} was"
            ),
            Broken::Removed { line, from, to } if from == to => {
                format!("before line {line} the entry {from} is missing: a line was removed")
            }
            Broken::Removed { line, from, to } => {
                format!("before line {line} the entries {from} to {to} are missing: lines were removed")
            }
            Broken::Inserted { line } => {
                format!("line {line} was put in: the line behind it follows the one before it")
            }
            Broken::Moved { line, behind } => {
                format!("line {line} stands out of its place: it was written behind what is line {behind} now")
            }
            Broken::Repeated { line, of } => format!("line {line} is line {of} once more"),
            Broken::Restarted { line } => {
                format!("line {line} says that it is the first of a register: another register was put behind this one")
            }
            Broken::Misnumbered { line, entry, due } => {
                format!(
                    "line {line} has the number {entry} where {due} is due, and fits the line before: both were changed"
                )
            }
            Broken::OutOfTurn { line, number } => {
                format!("line {line} opens or ends the document {number} out of turn: lines were added or removed")
            }
            Broken::Forked { line, number, predecessor } => format!(
                "line {line} opens {number} as what follows {predecessor}, which is unknown or followed by another document \
                 already: lines were added or removed"
            ),
            Broken::SourceKey { line, number } => format!(
                "line {line} names other sources for {number} than those that its source key was made of: the line was changed"
            ),
            Broken::Contradicts { line, number, field: field @ ("record" | "history") } => {
                format!("line {line} names a file as {field} of {number} that cannot be read as one")
            }
            Broken::Contradicts { line, number, field } => {
                format!("line {line} does not agree with the record of {number} in `{field}`: the line was changed")
            }
            Broken::Archive { line, number, name, sha256, lack, documents } => {
                let (what, of) = (archived(*lack), made_from(number, *line, *documents));
                format!("{name} {what} (archive {}…): {of} made from it", short(sha256))
            }
            Broken::Signature { line, key, why: SignatureFault::Forged } => {
                format!("the signature on line {line} is not that of the key {} it names", short(key))
            }
            Broken::Signature { line, key, why: SignatureFault::OfAnotherLine { up_to } } => format!(
                "the key {} signed on line {line} another line {up_to} than the one that stands here: lines up to it were \
                 changed or removed after it was signed",
                short(key)
            ),
            Broken::Unsigned => "no trusted key signed it".to_owned(),
            Broken::Unmatched { hash } => format!(
                "no line has the hash kept elsewhere, {}…: lines were cut off at the end, or the whole register was written \
                 anew, or the hash is of another register",
                short(hash)
            ),
        }
    }
}

fn archived(lack: Lack) -> &'static str {
    match lack {
        Lack::Missing => "is missing from the archive",
        Lack::Altered => "was altered in the archive",
        Lack::Unreadable => "cannot be read in the archive",
    }
}

fn made_from(number: &str, line: u64, documents: u64) -> String {
    match documents {
        0 | 1 => format!("{number} (line {line}) was"),
        _ => format!("{number} (line {line}) and {} more were", documents - 1),
    }
}

/// The beginning of a hash or key.
fn short(hash: &str) -> &str {
    hash.get(..16).unwrap_or(hash)
}
