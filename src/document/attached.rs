//! What travels within a document: the texts that were read and the record computed from them.

use super::{Attachment, Document, Relationship};
use crate::firm::Firm;
use crate::source::Source;
use crate::wording::Wording;
use std::collections::BTreeSet;

/// Media type of the files that a person writes.
///
/// Source: IETF, RFC 9512 (2024), section 2.1: `application/yaml`.
const YAML: &str = "application/yaml";
/// Media type of the record.
///
/// Source: IETF, RFC 8259 (2017), section 11: `application/json`.
pub(super) const JSON: &str = "application/json";

/// Gives a document its record as JSON and, unless the firm leaves attachments out, the files that travel with it: the
/// visit file first, then the other `sources` as they were read, then the record.
pub fn attach(document: &mut Document, firm: &Firm, sources: &[Source], data: String) {
    if firm.attachments {
        document.attachments = files(document, sources, &data);
    }
    document.data = data;
}

fn files(document: &Document, sources: &[Source], data: &str) -> Vec<Attachment> {
    let words = Wording::of(Some(&document.language));
    let mut names = BTreeSet::new();
    let mut files = Vec::with_capacity(sources.len() + 1);
    for (at, source) in sources.iter().enumerate() {
        let (relationship, description) = match at {
            0 => (Relationship::Source, words.label("attached-visit").to_owned()),
            _ => (Relationship::Supplement, words.say("attached-other", &[("name", &source.name)])),
        };
        let name = unused(&mut names, &flat(&source.name));
        files.push(Attachment { name, media_type: YAML, relationship, description, bytes: source.bytes.clone() });
    }
    files.push(Attachment {
        name: unused(&mut names, &format!("{}.json", flat(&document.number))),
        media_type: JSON,
        relationship: Relationship::Data,
        description: words.label("attached-record").to_owned(),
        bytes: data.as_bytes().to_vec(),
    });
    files
}

/// The last step of a path, in letters that a file name may have on every system.
fn flat(name: &str) -> String {
    let last = name.rsplit('/').next().unwrap_or(name);
    last.chars().map(|c| if c.is_control() || "<>:\"|?*\\".contains(c) { '_' } else { c }).collect()
}

/// `name`, with a number before its ending when an attachment has it already.
fn unused(names: &mut BTreeSet<String>, name: &str) -> String {
    let (stem, ending) = name.rsplit_once('.').map_or((name, String::new()), |(stem, end)| (stem, format!(".{end}")));
    let mut unused = name.to_owned();
    let mut number = 1;
    while !names.insert(unused.to_lowercase()) {
        number += 1;
        unused = format!("{stem} {number}{ending}");
    }
    unused
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn attachments_of_one_name_are_told_apart() {
        let mut names = BTreeSet::new();
        let named =
            ["../limits/a.yaml", "a.yaml", "A.yaml (--limits)", "a.yaml"].map(|name| unused(&mut names, &flat(name)));
        assert_eq!(named, ["a.yaml", "a 2.yaml", "A.yaml (--limits)", "a 3.yaml"]);
    }

    #[test]
    fn a_name_is_legal_on_every_system() {
        assert_eq!(flat("HM:2026/0\u{7}7?"), "0_7_");
    }
}
