//! A document made again from what the archive keeps: of a run that broke off, or where its files are missing.

use super::{Numbered, Sheet, sheet};
use crate::document::Document;
use crate::firm::Firm;
use crate::paint::Paintable;
use crate::paint::pdf::Press;
use crate::problem::Severity;
use crate::record::{CertificateFacts, Point};
use crate::register::{Archive, Opened, SourceEntry};
use crate::requirements::{review_among, weigh};
use crate::source::{Kept, KeptFile};
use crate::visit::{Visit, open_kept};
use crate::yaml::Shelf;
use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What a document is made from, wherever it was kept.
#[derive(Debug)]
pub struct MadeFrom<'m> {
    /// Name of the visit file among the files.
    pub visit: &'m str,
    /// The files by their names in the list of sources.
    pub files: Kept,
    /// The earlier visits that its history was taken from.
    pub points: &'m [Point],
    /// Its record as it was written, which tells number, kind and moment of issue.
    pub record: &'m [u8],
    /// What a summary says of itself where its record does not: one that a program before 0.2.0 wrote.
    pub own: CertificateFacts,
}

/// A document computed anew.
#[derive(Debug)]
pub struct Remade {
    /// The visit.
    pub visit: Visit,
    /// The issuing firm.
    pub firm: Firm,
    numbered: Numbered,
    at: usize,
}

impl Remade {
    /// Computes everything anew; number, kind and moment of issue are those of the record.
    ///
    /// # Errors
    /// Why it cannot be made, in words.
    pub fn of(from: MadeFrom<'_>, shelf: &Arc<Shelf>) -> Result<Remade, String> {
        let points: Vec<&Point> = from.points.iter().collect();
        let reviewed = review_among(weigh(open_kept(from.visit, &from.files, shelf)), &points);
        let refused = reviewed.problems.iter().find(|problem| problem.severity == Severity::Error);
        if let Some(problem) = refused {
            return Err(format!("{} refuses its files: {}", program(), problem.what));
        }
        let visit = reviewed.visit.ok_or("its files hold no visit")?;
        let mut numbered = Numbered { records: reviewed.records, summary: None };
        let at = fill(&mut numbered, from.record, from.own)?;
        Ok(Remade { visit, firm: reviewed.firm, numbered, at })
    }

    /// The program that computed it, with its version.
    pub fn program(&self) -> &str {
        self.numbered.records.first().map_or("", |record| &record.program)
    }

    /// The record as JSON.
    pub fn data(&self) -> String {
        self.numbered.data(self.at)
    }

    /// The document, with the hash of its line in the register where it has one.
    pub fn document(&mut self, registered: Option<&str>) -> Option<Document> {
        let facts = self.numbered.facts(self.at)?;
        facts.registered = registered.map(str::to_owned);
        self.numbered.document(self.at, &self.visit, &self.firm)
    }
}

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
    let own = CertificateFacts {
        number: Some(opened.number.clone()),
        kind: opened.kind.clone(),
        issued: Some(opened.issued.clone()),
        ..CertificateFacts::default()
    };
    let from = MadeFrom {
        visit: opened.sources.first().map(|entry| entry.name.as_str()).unwrap_or_default(),
        files: files(opened, archive)?,
        points: &points(opened, archive)?,
        record: &registered,
        own,
    };
    let mut remade = Remade::of(from, shelf)?;
    if remade.data().as_bytes() != registered {
        return Err(format!("it was made by {}, and {} computes another record", opened.program, program()));
    }
    let document = remade.document(Some(hash)).ok_or("its visit has no such document")?;
    Ok(Paintable::new(document))
}

/// A document of the register, painted again from the archive. Whether the bytes are those that were registered, the caller
/// sees.
///
/// # Errors
/// Why it cannot be made, in words.
pub fn made_again(
    opened: &Opened,
    hash: &str,
    archive: &Archive,
    shelf: &Arc<Shelf>,
    press: &Press,
) -> Result<Sheet, String> {
    let document = restored(opened, hash, archive, shelf)?;
    Ok(sheet(&document, opened.file.clone(), press))
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

/// Numbers and moments of issue as the record has them. Gives the position of the document.
fn fill(numbered: &mut Numbered, record: &[u8], own: CertificateFacts) -> Result<usize, String> {
    let unread = |error: serde_json::Error| format!("its record cannot be read: {error}");
    let record: Value = serde_json::from_slice(record).map_err(unread)?;
    let of = |record: &Value| CertificateFacts::deserialize(&record["certificate"]).map_err(unread);
    if let Some(tag) = record["tag"].as_str() {
        let at = numbered.records.iter().position(|record| record.tag == tag);
        let at = at.ok_or_else(|| format!("its visit has no loop {tag}"))?;
        numbered.records[at].certificate = of(&record)?;
        return Ok(at);
    }
    let list = record.as_array().or_else(|| record["loops"].as_array()).ok_or("its record is that of no loop")?;
    if list.len() != numbered.records.len() {
        return Err(format!("its visit has {} loops, its record {}", numbered.records.len(), list.len()));
    }
    for (record, registered) in numbered.records.iter_mut().zip(list) {
        record.certificate = of(registered)?;
    }
    numbered.summary = Some(if record.is_array() { own } else { of(&record)? });
    Ok(numbered.records.len())
}

/// Every file that was read, by its name, where the archive has it.
pub(super) fn files(opened: &Opened, archive: &Archive) -> Result<Kept, String> {
    let place = |entry: &SourceEntry| {
        bytes(archive, &entry.sha256, &entry.name)?;
        Ok((entry.name.clone(), KeptFile::At(archive.path(&entry.sha256))))
    };
    let files = opened.sources.iter().map(place).collect::<Result<BTreeMap<String, KeptFile>, String>>()?;
    Ok(Kept { files, only_texts: false })
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
