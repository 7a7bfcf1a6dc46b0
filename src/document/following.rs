//! What a document that follows another says of it: an amendment corrects it, a re-evaluation judges its measurements by
//! other limits.
//!
//! Comes in: what a document says of itself, with the records it is about. Goes out: its title, and the blocks that stand
//! before everything else, so that nobody takes it for the record of another visit.

mod fields;
mod tables;
#[cfg(test)]
mod tests;

use super::certificate::columns;
use super::print::{Print, joined, plain};
use super::{Block, Fact, Row, Table};
use crate::record::{CertificateFacts, Record};
use crate::rounding::prose;

/// Rows of a table that stand with the first things read; longer ones begin the second part.
const FEW: usize = 6;
/// Characters of them.
const SHORT: usize = 700;

/// The number of the document that it follows; none where it is an original.
fn replaced(certificate: &CertificateFacts) -> Option<&str> {
    certificate.replaces.as_deref().filter(|_| certificate.kind != "original")
}

/// The title of a document that follows another.
///
/// Source: ISO/IEC 17025:2017, 7.8.8.2 (an amendment is headed as one, with the number of what it amends).
pub(super) fn title(print: &Print, certificate: &CertificateFacts, is_summary: bool) -> Option<String> {
    let number = replaced(certificate)?;
    Some(match (certificate.is_re_evaluation(), is_summary) {
        (false, false) => print.say("title-amendment", &[("number", number)]),
        (false, true) => print.say("title-amendment-summary", &[("number", number)]),
        (true, false) => print.label("title-re-evaluation"),
        (true, true) => print.label("title-re-evaluation-summary"),
    })
}

/// What the document is about; of a re-evaluation with the number of what was judged anew, which its title does not name.
pub(super) fn subtitle(print: &Print, certificate: &CertificateFacts, named: String, is_summary: bool) -> String {
    match replaced(certificate).filter(|_| certificate.is_re_evaluation()) {
        Some(number) if is_summary => {
            print.say("subtitle-re-evaluation-summary", &[("named", &named), ("number", number)])
        }
        Some(number) => print.say("subtitle-re-evaluation", &[("named", &named), ("number", number)]),
        None => named,
    }
}

/// What stands at the foot of every page: what it follows.
pub(super) fn running(print: &Print, certificate: &CertificateFacts) -> Option<String> {
    replaced(certificate).map(|number| match certificate.is_re_evaluation() {
        true => print.say("footer-re-evaluation", &[("number", number)]),
        false => print.say("footer-amendment", &[("number", number)]),
    })
}

/// What a certificate replaces and why, what follows from it, and what changed, where that is short.
pub(super) fn notice(print: &Print, record: &Record, is_draft: bool) -> Vec<Block> {
    let certificate = &record.certificate;
    if replaced(certificate).is_none() {
        return Vec::new();
    }
    let facts = Block::Facts(facts(print, record, certificate, is_draft));
    let mut blocks = vec![columns([
        (1, vec![Block::Heading(print.label("follows")), facts]),
        (1, tables::what_follows(print, record)),
    ])];
    blocks.extend(unchanged(print, record, certificate));
    match details(print, record) {
        Some((heading, table)) if is_short(&table) => blocks.extend([Block::Heading(heading), Block::Table(table)]),
        Some((_, table)) => {
            let count = tables::rows(&table).to_string();
            let listed = match certificate.is_re_evaluation() {
                true => print.say("judged-otherwise-listed", &[("count", &count)]),
                false => print.say("changes-listed", &[("count", &count)]),
            };
            blocks.push(Block::Paragraph(plain(listed)));
        }
        None => {}
    }
    blocks.push(Block::Rule);
    blocks
}

/// What changed or was judged otherwise, where it is too long to be read first.
pub(super) fn in_full(print: &Print, record: &Record) -> Vec<Block> {
    match details(print, record).filter(|(_, table)| !is_short(table)) {
        Some((heading, table)) => vec![Block::Heading(heading), Block::Table(table)],
        None => Vec::new(),
    }
}

/// The table of a certificate that follows another, with its heading; none where nothing is to be listed.
fn details(print: &Print, record: &Record) -> Option<(String, Table)> {
    replaced(&record.certificate)?;
    match record.certificate.is_re_evaluation() {
        true => tables::judged_otherwise(print, record).map(|table| (print.label("judged-otherwise"), table)),
        false => tables::changes(print, &record.certificate.changes, Some(&record.tag)),
    }
}

/// What a summary replaces and why, what changed, and how every loop was judged before and now.
pub(super) fn notice_of_all(
    print: &Print,
    certificate: &CertificateFacts,
    records: &[Record],
    is_draft: bool,
) -> Vec<Block> {
    let (Some(_), Some(first)) = (replaced(certificate), records.first()) else {
        return Vec::new();
    };
    let mut blocks =
        vec![Block::Heading(print.label("follows")), Block::Facts(facts(print, first, certificate, is_draft))];
    blocks.extend(unchanged(print, first, certificate));
    if let Some((heading, table)) = tables::changes(print, &certificate.changes, None) {
        blocks.extend([Block::Heading(heading), Block::Table(table)]);
    }
    blocks.extend(tables::loops(print, certificate, records));
    blocks.push(Block::Rule);
    blocks
}

/// That the measurements of a re-evaluation are those of the visit.
fn unchanged(print: &Print, record: &Record, certificate: &CertificateFacts) -> Option<Block> {
    let said = || print.say("measurements-unchanged", &[("visit", &record.visit.number)]);
    certificate.is_re_evaluation().then(|| Block::Paragraph(plain(said())))
}

/// What it replaces, the first original where that is another, the dates, why, and who asked.
fn facts(print: &Print, record: &Record, certificate: &CertificateFacts, is_draft: bool) -> Vec<Fact> {
    let replaces = certificate.replaces.as_deref().unwrap_or_default();
    let replaces_said = match is_draft {
        true => print.say("replaces-once-signed", &[("text", replaces)]),
        false => replaces.to_owned(),
    };
    let original = certificate.original.as_deref().filter(|original| *original != replaces);
    let issued = certificate.issued.as_deref().map(|issued| print.moment(issued));
    let original_issued = certificate.original_issued.as_deref().map(|issued| print.moment(issued));
    let mut facts = vec![print.fact("replaces", replaces_said)];
    facts.extend(print.fact_if("first-original", original.map(str::to_owned)));
    match certificate.is_re_evaluation() {
        true => {
            let visit = &record.visit;
            facts.push(print.fact("date-of-work", print.span(&visit.started, visit.finished.as_deref())));
            facts.extend(print.fact_if("date-of-original", original_issued));
            facts.extend(print.fact_if("date-of-evaluation", issued));
        }
        false => facts.extend(print.fact_if("issued-at", issued)),
    }
    facts.extend(print.fact_if("reason", certificate.reason.as_deref().map(prose)));
    facts.extend(print.fact_if("asked-for-by", certificate.requested_by.clone()));
    facts
}

/// Whether a table is short enough to stand with what is read first.
fn is_short(table: &Table) -> bool {
    let written: usize = table
        .rows
        .iter()
        .map(|row| match row {
            Row::Group(paragraph) => paragraph.text.len(),
            Row::Cells(cells) => cells.iter().map(|cell| cell.text.len()).sum(),
        })
        .sum();
    table.rows.len() <= FEW && written <= SHORT
}

/// `“effluent-ph”, revision 3`, or that they are built into the program.
fn limits_named(print: &Print, name: &str, revision: Option<&str>, built_in: bool) -> String {
    if built_in {
        return print.label("limits-built-in");
    }
    let revision = revision.map(|revision| print.say("revision", &[("revision", revision)]));
    joined([Some(print.say("quoted", &[("text", name)])), revision])
}
