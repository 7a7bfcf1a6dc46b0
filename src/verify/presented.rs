//! A document as it was presented: what it says of itself, and whether its parts agree.
//!
//! Comes in: the bytes of a file. Goes out: [`Presented`]. Next: [`super::answer`].

use crate::register::hash_of;

/// A document as it was presented.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Presented {
    /// SHA-256 of the file.
    pub sha256: String,
    /// Whether it is made like a certificate: a PDF, or a page that carries a record.
    pub is_certificate: bool,
    /// Its number, as it says.
    pub number: Option<String>,
    /// Moment of issue, as it says.
    pub issued: Option<String>,
    /// The hash of its line, as its last page prints it.
    pub printed_hash: Option<String>,
    /// SHA-256 of the record that travels within it.
    pub record_sha256: Option<String>,
    /// The files that travel within it: name and SHA-256.
    pub sources: Vec<(String, String)>,
    /// Whether it was computed anew from what travels within it.
    pub is_recomputed: bool,
    /// Where page, data and computation do not agree, in sentences.
    pub faults: Vec<String>,
    /// What a reader should know besides.
    pub notes: Vec<String>,
}

/// Looks at a document alone.
pub fn present(bytes: &[u8]) -> Presented {
    Presented { sha256: hash_of(bytes), is_certificate: is_certificate(bytes), ..Presented::default() }
}

fn is_certificate(bytes: &[u8]) -> bool {
    const RECORD: &[u8] = b"<script type=\"application/json\" id=\"record\">";
    bytes.starts_with(b"%PDF") || bytes.windows(RECORD.len()).any(|window| window == RECORD)
}
