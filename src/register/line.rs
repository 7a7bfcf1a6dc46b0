//! The lines of the register.
//!
//! Comes in: what a line says. Goes out: its text, one JSON object. Next: [`super::book`].
//!
//! The hash of a line is the SHA-256 of its text without the line end, so that a person can recompute it with ordinary
//! tools: `sed -n 7p register.jsonl | tr -d '\n' | sha256sum` gives what line 8 calls `previous`.

pub use crate::source::hash_of;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// A line: its place in the chain and what it says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// Number of the line, from 1 without a gap: one that is missing shows.
    pub entry: u64,
    /// What it says.
    #[serde(flatten)]
    pub said: Entry,
    /// SHA-256 of the text of the line before; of the first: 64 zeros.
    pub previous: String,
}

/// What a line says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "line", rename_all = "lowercase")]
pub enum Entry {
    /// A document was made: its number is used from here on.
    Opened(Box<Opened>),
    /// The files of a document stand in their folder.
    Issued(Issued),
    /// A document that was opened could not be finished.
    Void(Void),
    /// Somebody vouched with a key for every line before.
    Signed(Signed),
}

/// A document was made.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Opened {
    /// Number of the document.
    pub number: String,
    /// Name of its files, without ending.
    pub file: String,
    /// `original`, `amendment` or `re-evaluation`.
    pub kind: String,
    /// Number of the document it follows.
    pub predecessor: Option<String>,
    /// Number of the first original.
    pub original: Option<String>,
    /// Number that the document gets when the signatures awaited are there; none: it stands, or was opened by a program
    /// before 0.2.0.
    pub draft_for: Option<String>,
    /// Why it follows another.
    pub reason: Option<String>,
    /// Who asked for it.
    pub requested_by: Option<String>,
    /// Moment of issue, ISO 8601 with offset.
    pub issued: String,
    /// SHA-256 over everything it was made from: the same again is «already issued».
    pub source_key: String,
    /// Number of the visit.
    pub visit: String,
    /// Name of the client.
    pub client: String,
    /// Tag of the loop; none: a summary.
    pub tag: Option<String>,
    /// Serial number of the probe left in the loop.
    pub serial: Option<String>,
    /// When the work began, as printed.
    pub started: String,
    /// When it ended.
    pub finished: Option<String>,
    /// Whether signatures were awaited.
    pub draft: bool,
    /// Verdict on the state found.
    pub as_found: Option<String>,
    /// Verdict on the state left.
    pub as_left: Option<String>,
    /// Slope and offset, found and left.
    pub figures: KeyFigures,
    /// The error found that came closest to its limit or went farthest beyond.
    pub found_error: Option<FoundError>,
    /// When the loop is due, where somebody agreed to it.
    pub next_due: Option<NextDue>,
    /// Day until which the document must be kept at least, where a rule says so.
    pub keep_until: Option<String>,
    /// SHA-256 of the record.
    pub record: String,
    /// Every file that was read: the visit file first, then client, kit, limits, firm, logo and fonts.
    pub sources: Vec<SourceEntry>,
    /// The wording catalogues of its language.
    pub wording: Vec<SourceEntry>,
    /// SHA-256 of the list of points (a JSON list of their hashes) from which the history was taken; none: no earlier visit.
    pub history: Option<String>,
    /// Program with its version.
    pub program: String,
}

/// Slope and offset of a loop.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct KeyFigures {
    /// Slope found, percent of theoretical.
    pub found_slope_percent: Option<f64>,
    /// Offset found, mV.
    pub found_offset_mv: Option<f64>,
    /// Slope left, percent of theoretical.
    pub left_slope_percent: Option<f64>,
    /// Offset left, mV.
    pub left_offset_mv: Option<f64>,
}

/// An error as found, as judged.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct FoundError {
    /// Standard in which it was found.
    pub of: String,
    /// Shown minus true value.
    pub value: f64,
    /// `mV`; empty for pH.
    pub unit: String,
    /// Largest error that is no failure.
    pub limit: Option<f64>,
    /// Expanded uncertainty of the error.
    pub expanded_uncertainty: Option<f64>,
}

/// An agreed due date.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct NextDue {
    /// The day.
    pub date: String,
    /// Who agreed to it.
    pub agreed_by: String,
}

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct SourceEntry {
    /// Its name relative to the visit file.
    pub name: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
}

/// The files of a document stand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Issued {
    /// Number of the document.
    pub number: String,
    /// SHA-256 of the PDF.
    pub pdf: String,
    /// SHA-256 of the HTML page.
    pub html: String,
}

/// A document could not be finished.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Void {
    /// Number of the document.
    pub number: String,
    /// Why.
    pub reason: String,
}

/// Somebody vouched with a key for the chain up to a line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Signed {
    /// Moment of signing, ISO 8601 with offset.
    pub at: String,
    /// Number of the last line that is vouched for.
    pub up_to: u64,
    /// SHA-256 of that line.
    pub hash: String,
    /// The public key (Ed25519), hexadecimal.
    pub key: String,
    /// The signature (Ed25519), hexadecimal.
    pub signature: String,
}

impl Opened {
    /// The number that a draft gets when it stands.
    pub fn stands_as(&self) -> Option<&str> {
        let of_number = || {
            let (number, count) = self.number.rsplit_once("-D")?;
            count.bytes().all(|byte| byte.is_ascii_digit()).then_some(number)
        };
        self.draft_for.as_deref().or_else(of_number).filter(|_| self.draft)
    }

    /// Day of the work.
    pub fn day(&self) -> Option<NaiveDate> {
        self.started.get(..10)?.parse().ok()
    }
}

impl Line {
    /// The text of the line, without its end.
    pub fn text(&self) -> String {
        serde_json::to_string(self).expect("a line has text keys and finite numbers only")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_read_as_it_was_written() {
        let opened = Opened {
            number: "HM-2026-031-AIT-2104".into(),
            kind: "original".into(),
            figures: KeyFigures { found_slope_percent: Some(78.913_204_5), ..KeyFigures::default() },
            ..Opened::default()
        };
        for said in [
            Entry::Opened(Box::new(opened)),
            Entry::Issued(Issued { number: "A".into(), pdf: "0".into(), html: "1".into() }),
            Entry::Void(Void { number: "A".into(), reason: "the disk was full".into() }),
            Entry::Signed(Signed {
                at: "2026-11-25T20:01:35Z".into(),
                up_to: 6,
                hash: "0".into(),
                key: "1".into(),
                signature: "2".into(),
            }),
        ] {
            let line = Line { entry: 7, said, previous: "00".into() };
            let text = line.text();
            assert!(!text.contains('\n'));
            assert_eq!(serde_json::from_str::<Line>(&text).ok(), Some(line), "{text}");
        }
    }

    #[test]
    fn the_hash_is_that_of_ordinary_tools() {
        // Source: NIST, FIPS 180-4 example computations, SHA-256 of "abc".
        assert_eq!(hash_of(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
