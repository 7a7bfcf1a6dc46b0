//! A document as it was presented: what it says of itself, and whether its parts agree.
//!
//! Comes in: the bytes of a file. Goes out: [`Presented`], what [`super::document`] found put into sentences. Next:
//! [`super::answer`].

use super::document::{Audit, Bench, Extent, document};
use super::fault::{Fault, Note};
use super::read::Unreadable;
use crate::register::hash_of;

/// A document as it was presented.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Presented {
    /// SHA-256 of the file.
    pub sha256: String,
    /// Its number, as it says.
    pub number: Option<String>,
    /// Moment of issue, as it says.
    pub issued: Option<String>,
    /// The hash of its line, as its last page prints it.
    pub printed_hash: Option<String>,
    /// SHA-256 of the record that travels within it.
    pub record_sha256: Option<String>,
    /// Whether it was computed anew from what travels within it.
    pub is_recomputed: bool,
    /// Why nothing of it can be read.
    pub unreadable: Option<String>,
    /// Where page, data and computation do not agree, in sentences.
    pub faults: Vec<String>,
    /// What a reader should know besides.
    pub notes: Vec<String>,
}

/// Looks at a document by itself.
pub fn present(bytes: &[u8], bench: &Bench) -> Presented {
    match document(bytes, bench) {
        Ok(audit) => of_audit(audit),
        Err(why) => Presented {
            sha256: hash_of(bytes),
            unreadable: Some(Unreadable::told(why).to_owned()),
            ..Presented::default()
        },
    }
}

fn of_audit(audit: Audit) -> Presented {
    let Audit { number, issued, printed_hash, sha256, record_sha256, extent, faults, notes, .. } = audit;
    let is_recomputed = match extent {
        Extent::Whole | Extent::Text => true,
        Extent::Record | Extent::Nothing => false,
    };
    let faults = faults.iter().map(Fault::told).collect();
    let notes = notes.iter().map(Note::told).collect();
    Presented { sha256, number, issued, printed_hash, record_sha256, is_recomputed, unreadable: None, faults, notes }
}

/// Whether a page is made like a certificate: it carries a record.
pub fn carries_record(page: &[u8]) -> bool {
    const RECORD: &[u8] = b"<script type=\"application/json\" id=\"record\">";
    page.windows(RECORD.len()).any(|window| window == RECORD)
}
