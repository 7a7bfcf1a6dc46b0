//! A document made again from what the archive keeps: of a run that broke off, or where its files are missing.

use super::{Numbered, content};
use crate::paint::Paintable;
use crate::problem::Severity;
use crate::record::{CertificateFacts, Point};
use crate::register::{Archive, Opened, SourceEntry};
use crate::requirements::{review_among, weigh};
use crate::visit::{Visit, open_kept};
use crate::yaml::Shelf;
use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

/// The document of an `opened` line, whose hash it prints: everything is computed anew from the archived files, and the record
/// must come out as it was registered.
///
/// # Errors
/// Why it cannot be made, in words.
pub(super) fn restored(
    opened: &Opened,
    hash: &str,
    archive: &Archive,
    shelf: &Arc<Shelf>,
) -> Result<Paintable, String> {
    let registered = bytes(archive, &opened.record, "its record")?;
    let points = points(opened, archive)?;
    let points: Vec<&Point> = points.iter().collect();
    let visit = opened.sources.first().map(|entry| entry.name.as_str()).unwrap_or_default();
    let reviewed = review_among(weigh(open_kept(visit, &files(opened, archive)?, shelf)), &points);
    let refused = reviewed.problems.iter().find(|problem| problem.severity == Severity::Error);
    if let Some(problem) = refused {
        return Err(format!("{} refuses its files: {}", program(), problem.what));
    }
    let visit: &Visit = reviewed.visit.as_ref().ok_or("its files hold no visit")?;
    let mut numbered = Numbered { records: reviewed.records.clone(), summary: None };
    let at = fill(&mut numbered, opened, &registered)?;
    if numbered.data(at).as_bytes() != registered {
        return Err(format!("it was made by {}, and {} computes another record", opened.program, program()));
    }
    if let Some(facts) = numbered.facts(at) {
        facts.registered = Some(hash.to_owned());
    }
    let document = numbered.document(at, visit, &reviewed.firm).ok_or("its visit has no such document")?;
    Ok(Paintable::new(document))
}

/// Name and version of this program.
pub(super) fn program() -> String {
    format!("{} {}", env!("CARGO_PKG_NAME"), env!("CARGO_PKG_VERSION"))
}

/// The registered record of a document.
pub(super) fn registered(opened: &Opened, archive: &Archive) -> Result<Value, String> {
    let record = bytes(archive, &opened.record, "its record")?;
    serde_json::from_slice(&record).map_err(|error| format!("its record cannot be read: {error}"))
}

/// Numbers and moments of issue as the registered record has them. Gives the position of the document.
fn fill(numbered: &mut Numbered, opened: &Opened, registered: &[u8]) -> Result<usize, String> {
    let unread = |error: serde_json::Error| format!("its record cannot be read: {error}");
    let record: Value = serde_json::from_slice(registered).map_err(unread)?;
    let of = |record: &Value| CertificateFacts::deserialize(&record["certificate"]).map_err(unread);
    if let Some(tag) = &opened.tag {
        let at = numbered.records.iter().position(|record| record.tag == *tag);
        let at = at.ok_or_else(|| format!("its visit has no loop {tag}"))?;
        numbered.records[at].certificate = of(&record)?;
        return Ok(at);
    }
    for (record, registered) in numbered.records.iter_mut().zip(content::records(&record)) {
        record.certificate = of(registered)?;
    }
    numbered.summary = Some(of(&record)?);
    Ok(numbered.records.len())
}

/// Every file that was read, by its name, where the archive has it.
pub(super) fn files(opened: &Opened, archive: &Archive) -> Result<BTreeMap<String, PathBuf>, String> {
    let place = |entry: &SourceEntry| {
        bytes(archive, &entry.sha256, &entry.name)?;
        Ok((entry.name.clone(), archive.path(&entry.sha256)))
    };
    opened.sources.iter().map(place).collect()
}

/// The earlier visits that its history was taken from.
pub(super) fn points(opened: &Opened, archive: &Archive) -> Result<Vec<Point>, String> {
    let Some(list) = &opened.history else {
        return Ok(Vec::new());
    };
    let unread = |error: serde_json::Error| format!("its history cannot be read: {error}");
    let list: Vec<String> =
        serde_json::from_slice(&bytes(archive, list, "the list of its history")?).map_err(unread)?;
    let point = |hash: &String| Point::read(&bytes(archive, hash, "an earlier visit")?).map_err(unread);
    list.iter().map(point).collect()
}

fn bytes(archive: &Archive, hash: &str, what: &str) -> Result<Vec<u8>, String> {
    archive.bytes(hash).map_err(|error| format!("{what} cannot be had from the archive ({hash}): {error}"))
}
