//! One document by itself: everything computed anew from what it carries, and held against what it shows.
//!
//! Comes in: the bytes of a PDF or HTML page. Goes out: an [`Audit`]. Next: the audit of a register, [`crate::commands`].
//!
//! ```text
//! bytes ─read─▶ pages, attachments ─match by SHA-256─▶ visit ─recompute─▶ record ─compare─▶ faults
//!                                                                  └─repaint─▶ bytes ─compare─▶ faults
//! ```

use super::fault::{Fault, Note};
use super::page;
use super::pages::{by_line, by_word};
use super::read::{Attached, Carried, Unreadable};
use super::records::{Measure, differences};
use crate::document::HISTORY;
use crate::issue::records;
use crate::issue::{MadeFrom, Remade};
use crate::paint::Paintable;
use crate::paint::pdf::{Press, paint_with};
use crate::record::{CertificateFacts, Point, SourceFacts};
use crate::register::hash_of;
use crate::source::{Kept, KeptFile};
use crate::yaml::Shelf;
use serde::Deserialize;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What is prepared once, so that thousands of documents are looked at quickly; threads share it.
#[derive(Debug, Default)]
pub struct Bench {
    press: Press,
    shelf: Arc<Shelf>,
}

/// How far a document could be looked at alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extent {
    /// Computed and painted anew, and compared byte by byte.
    Whole,
    /// Computed anew; record and text compared.
    Text,
    /// An HTML page: its text held against its record.
    Record,
    /// Nothing of it can be computed.
    Nothing,
}

/// What a document says of itself, and what does not agree. That nothing is at fault shows that page, data and computation
/// agree; that they are the original, only a register or a hash kept elsewhere can tell.
#[derive(Debug, Clone, PartialEq)]
pub struct Audit {
    /// Number of the document.
    pub number: Option<String>,
    /// `original`, `amendment` or `re-evaluation`.
    pub kind: Option<String>,
    /// Whether signatures are awaited.
    pub is_draft: bool,
    /// Moment of issue, as its record has it.
    pub issued: Option<String>,
    /// Program with its version.
    pub program: Option<String>,
    /// The hash of its line in the register, as printed in its end mark.
    pub printed_hash: Option<String>,
    /// SHA-256 of the file.
    pub sha256: String,
    /// SHA-256 of the record that it carries.
    pub record_sha256: Option<String>,
    /// The files from which its record was computed, as the record names them; earlier visits last.
    pub sources: Vec<SourceFacts>,
    /// How far it could be looked at.
    pub extent: Extent,
    /// What does not agree.
    pub faults: Vec<Fault>,
    /// What a reader should know besides.
    pub notes: Vec<Note>,
}

impl Audit {
    pub(super) fn new(bytes: &[u8]) -> Audit {
        Audit {
            number: None,
            kind: None,
            is_draft: false,
            issued: None,
            program: None,
            printed_hash: None,
            sha256: hash_of(bytes),
            record_sha256: None,
            sources: Vec::new(),
            extent: Extent::Nothing,
            faults: Vec::new(),
            notes: Vec::new(),
        }
    }

    /// Whether page, data and computation agree as far as they could be looked at.
    pub fn agrees(&self) -> bool {
        self.faults.is_empty()
    }

    /// What it shows by itself that nothing is at fault, in a sentence.
    pub fn shows(&self) -> &'static str {
        match self.extent {
            Extent::Whole => {
                "page, data and computation agree, byte by byte; that they are the original, only its register or a hash kept \
                 elsewhere can tell"
            }
            Extent::Text => {
                "text, data and computation agree; that they are the original, only its register or a hash kept elsewhere can tell"
            }
            Extent::Record => {
                "its figures come from its record; that the record is the original, only its register or a hash kept elsewhere \
                 can tell"
            }
            Extent::Nothing => {
                "nothing of it can be computed alone: only its register or a hash kept elsewhere can prove it"
            }
        }
    }

    /// Takes over what the record says of its document; of a summary that a program before 0.2.0 wrote, what its first loop
    /// says.
    pub(super) fn take_record(&mut self, record: &Value) -> CertificateFacts {
        let loops = records(record);
        let first = loops.first().copied().unwrap_or(&Value::Null);
        let own = if record["certificate"].is_object() { record } else { first };
        let facts = CertificateFacts::deserialize(&own["certificate"]).unwrap_or_default();
        if !record.is_array() {
            self.number.clone_from(&facts.number);
        }
        self.kind = Some(facts.kind.clone());
        self.issued.clone_from(&facts.issued);
        self.program = first["program"].as_str().map(str::to_owned);
        for record in loops {
            let listed = record["sources"].as_array().into_iter().flatten();
            for source in listed.filter_map(|source| SourceFacts::deserialize(source).ok()) {
                if !self.sources.contains(&source) {
                    self.sources.push(source);
                }
            }
        }
        let own = CertificateFacts {
            number: self.number.clone(),
            kind: "original".to_owned(),
            issued: self.issued.clone(),
            ..CertificateFacts::default()
        };
        self.is_draft = self.number.as_deref().is_some_and(is_number_of_draft);
        own
    }
}

/// Whether a number ends like that of a draft: `-D1`.
fn is_number_of_draft(number: &str) -> bool {
    let count = number.rsplit_once("-D").map(|(_, count)| count);
    count.is_some_and(|count| !count.is_empty() && count.bytes().all(|byte| byte.is_ascii_digit()))
}

/// Looks at a document by itself.
///
/// # Errors
/// [`Unreadable`]: it is no document, or too much is broken to look at anything.
pub fn document(bytes: &[u8], bench: &Bench) -> Result<Audit, Unreadable> {
    /// Bytes before which the mark of a PDF must begin.
    const HEAD: usize = 1024;
    let head = &bytes[..bytes.len().min(HEAD)];
    let mut audit = match head.windows(5).any(|five| five == b"%PDF-") {
        true => pdf(bytes, bench)?,
        false => page::audit(bytes)?,
    };
    if audit.printed_hash.is_none() {
        audit.notes.push(Note::NotRegistered);
    }
    let mut seen = BTreeSet::new();
    audit.faults.retain(|fault| seen.insert(fault.clone()));
    Ok(audit)
}

fn pdf(bytes: &[u8], bench: &Bench) -> Result<Audit, Unreadable> {
    let carried = Carried::read(bytes)?;
    let mut audit = Audit::new(bytes);
    audit.number = carried.said("Title").and_then(|title| title.split_once(" · ")).map(|(number, _)| number.to_owned());
    audit.program = carried.said("Creator").map(str::to_owned);
    audit.printed_hash = printed_hash(carried.lines().map(|(_, line)| line));
    audit.faults.extend(of_form(&carried));
    if carried.attachments.is_empty() {
        audit.notes.push(Note::NothingAttached);
        if audit.faults.is_empty() && carried.form.is_other {
            audit.faults.push(Fault::Rewritten);
        }
        return Ok(audit);
    }
    let before = audit.faults.len();
    let is_same = recomputed(bytes, &carried, bench, &mut audit);
    if !is_same && audit.faults.len() == before && before == 0 && carried.form.is_other {
        audit.faults.push(Fault::Rewritten);
    }
    Ok(audit)
}

/// What no file of this program has.
fn of_form(carried: &Carried) -> Vec<Fault> {
    /// Entries of a catalog that run something or fill something in.
    const ACTIVE: [&str; 4] = ["OpenAction", "AA", "AcroForm", "Collection"];
    let form = carried.form;
    let mut faults = Vec::new();
    if form.updates > 0 {
        faults.push(Fault::Updated { times: form.updates });
    }
    if form.behind > 0 {
        faults.push(Fault::Appended { bytes: form.behind });
    }
    let active = carried.catalog.iter().filter(|name| ACTIVE.contains(&name.as_str()));
    faults.extend(active.map(|name| Fault::Entry { name: name.clone() }));
    for (page, number) in carried.pages.iter().zip(1..) {
        faults.extend(page.has_annotations.then_some(Fault::Annotation { page: number }));
        faults.extend(page.is_damaged.then_some(Fault::PageDamaged { page: number }));
    }
    faults
}

/// The last text of 64 hexadecimal digits: the end mark stands behind everything that a person wrote.
pub(super) fn printed_hash<'l>(lines: impl Iterator<Item = &'l str>) -> Option<String> {
    let is_hash = |word: &&str| word.len() == 64 && word.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'));
    let words = lines.flat_map(|line| line.split(|c: char| !c.is_ascii_alphanumeric()));
    words.filter(is_hash).last().map(str::to_owned)
}

/// Computes everything anew and compares. Whether the file is as it was written, byte by byte.
fn recomputed(bytes: &[u8], carried: &Carried, bench: &Bench, audit: &mut Audit) -> bool {
    let damaged = carried.attachments.iter().filter(|file| file.bytes.is_none());
    audit.faults.extend(damaged.map(|file| Fault::AttachmentDamaged { name: file.name.clone() }));
    let Some((record, own)) = record_of(carried, audit) else { return false };
    let (kept, points, has_history) = attached(carried, &record.value, audit);
    let visit = audit.sources.first().map(|source| source.name.clone()).unwrap_or_default();
    let from = MadeFrom { visit: &visit, files: kept, points: &points, record: record.bytes, own };
    let mut remade = match Remade::of(from, &bench.shelf) {
        Ok(remade) => remade,
        Err(why) => {
            // A file that is missing or altered says more.
            if audit.faults.is_empty() {
                audit.faults.push(Fault::NotRecomputed { why });
            }
            return false;
        }
    };
    audit.extent = Extent::Text;
    let is_same_program = audit.program.as_deref() == Some(remade.program());
    compare_records(&record, &remade, Measure { is_same_program, has_history }, audit);
    let Some(document) = remade.document(audit.printed_hash.as_deref()) else {
        audit.faults.push(Fault::NotRecomputed { why: "its visit has no such document".to_owned() });
        return false;
    };
    audit.is_draft = document.running.draft.is_some();
    audit.number = Some(document.number.clone());
    let lacks = remade.firm.lacks;
    if lacks.logo {
        match carried.logo {
            Some(_) => audit.notes.push(Note::LogoTaken),
            None => audit.faults.push(Fault::NoLogo),
        }
    }
    let logo = carried.logo.as_ref().filter(|_| lacks.logo);
    let painted = paint_with(&Paintable::new(document), &bench.press, logo);
    if is_same_program && painted == bytes {
        audit.extent = Extent::Whole;
        return true;
    }
    let Ok(expected) = Carried::read(&painted) else {
        audit.faults.push(Fault::NotRecomputed { why: "what is painted cannot be read".to_owned() });
        return false;
    };
    if lacks.fonts {
        audit.notes.push(Note::FontsMissing);
    }
    if !is_same_program {
        let made_by = audit.program.clone().unwrap_or_default();
        audit.notes.push(Note::OtherVersion { made_by });
    }
    let is_alike = is_same_program && !lacks.fonts;
    compare(carried, &expected, is_alike, is_same_program, audit);
    if is_alike && audit.faults.is_empty() {
        audit.faults.push(rest(carried, &expected));
    }
    false
}

/// A record as it is attached.
struct Recorded<'c> {
    bytes: &'c [u8],
    value: Value,
}

/// The attached record, and what a summary says of itself where its record does not.
fn record_of<'c>(carried: &'c Carried, audit: &mut Audit) -> Option<(Recorded<'c>, CertificateFacts)> {
    let mut data = carried.attachments.iter().filter(|file| file.relationship == "Data");
    let (Some(file), None) = (data.next(), data.next()) else {
        audit.faults.push(Fault::NoRecord);
        return None;
    };
    let bytes = file.bytes.as_deref()?;
    audit.record_sha256 = Some(hash_of(bytes));
    match serde_json::from_slice::<Value>(bytes) {
        Ok(value) => {
            let own = audit.take_record(&value);
            Some((Recorded { bytes, value }, own))
        }
        Err(error) => {
            audit.faults.push(Fault::RecordUnreadable { why: error.to_string() });
            None
        }
    }
}

/// The attached files by their names in the list of sources, known by their hashes; the points of earlier visits; whether
/// these are all there.
fn attached(carried: &Carried, record: &Value, audit: &mut Audit) -> (Kept, Vec<Point>, bool) {
    let others = carried.attachments.iter().filter(|file| file.relationship != "Data");
    let mut loose: Vec<(&Attached, &[u8], String)> =
        others.filter_map(|file| Some((file, file.bytes.as_deref()?, hash_of(file.bytes.as_deref()?)))).collect();
    let history = loose.iter().position(|(file, ..)| file.name == HISTORY && file.relationship == "Supplement");
    let points = history.map(|at| read_points(loose.remove(at).1));
    let of_history: BTreeSet<String> = match &points {
        Some(Ok(points)) => points.iter().map(|point| point.source.sha256.clone()).collect(),
        Some(Err(why)) => {
            audit.faults.push(Fault::RecordUnreadable { why: format!("{HISTORY}: {why}") });
            BTreeSet::new()
        }
        None => BTreeSet::new(),
    };
    let mut files = BTreeMap::new();
    let mut missing: Vec<&SourceFacts> = Vec::new();
    let mut claimed = BTreeSet::new();
    for source in &audit.sources {
        match loose.iter().find(|(_, _, hash)| *hash == source.sha256) {
            Some((file, bytes, _)) => {
                claimed.insert(file.name.clone());
                files.insert(source.name.clone(), KeptFile::Bytes((*bytes).into()));
            }
            None if of_history.contains(&source.sha256) => {}
            None => missing.push(source),
        }
    }
    loose.retain(|(file, ..)| !claimed.contains(&file.name));
    let mut has_history = points.as_ref().is_some_and(Result::is_ok) || !has_earlier(record);
    if points.is_none() && has_earlier(record) && loose.is_empty() {
        // A program before 0.2.0 did not attach the earlier visits, which stand last among the sources.
        let texts = missing.iter().rev().zip(audit.sources.iter().rev()).take_while(|(a, b)| **a == *b).count();
        missing.truncate(missing.len() - texts);
        has_history = false;
        audit.notes.push(Note::HistoryTaken);
    }
    for source in missing {
        let last = source.name.rsplit('/').next().unwrap_or_default();
        let altered = loose.iter().position(|(file, ..)| file.name == last);
        audit.faults.push(match altered.map(|at| loose.remove(at)) {
            Some((file, _, found)) => {
                Fault::AttachmentAltered { name: file.name.clone(), found, expected: source.sha256.clone() }
            }
            None => Fault::AttachmentMissing { name: source.name.clone() },
        });
    }
    audit.faults.extend(loose.iter().map(|(file, ..)| Fault::AttachmentUnknown { name: file.name.clone() }));
    (Kept { files, only_texts: true }, points.and_then(Result::ok).unwrap_or_default(), has_history)
}

/// Whether a record says something of earlier visits.
fn has_earlier(record: &Value) -> bool {
    records(record).iter().any(|record| record["history"].as_array().is_some_and(|history| !history.is_empty()))
}

fn read_points(bytes: &[u8]) -> Result<Vec<Point>, String> {
    let list: Vec<Value> = serde_json::from_slice(bytes).map_err(|error| error.to_string())?;
    let point = |value: &Value| Point::read(value.to_string().as_bytes()).map_err(|error| error.to_string());
    list.iter().map(point).collect()
}

fn compare_records(record: &Recorded<'_>, remade: &Remade, measure: Measure, audit: &mut Audit) {
    let data = remade.data();
    if measure.is_same_program && data.as_bytes() == record.bytes {
        return;
    }
    let Ok(expected) = serde_json::from_str::<Value>(&data) else { return };
    let (faults, notes) = differences(&record.value, &expected, measure);
    if faults.is_empty() && measure.is_same_program && measure.has_history {
        let why = "it says the same in other signs than were written".to_owned();
        audit.faults.push(Fault::RecordUnreadable { why });
    }
    audit.faults.extend(faults);
    audit.notes.extend(notes);
}

/// Text, attachments and metadata.
fn compare(found: &Carried, expected: &Carried, is_alike: bool, is_same_program: bool, audit: &mut Audit) {
    if found.pages.len() != expected.pages.len() && is_alike {
        audit.faults.push(Fault::Pages { found: found.pages.len(), expected: expected.pages.len() });
    }
    if is_alike {
        audit.faults.extend(by_line(found, expected));
    } else {
        let programs = [found, expected].map(|carried| carried.said("Creator").unwrap_or_default());
        let (faults, notes) = by_word(found, expected, programs);
        audit.faults.extend(faults);
        audit.notes.extend(notes);
    }
    for (entry, due) in &expected.information {
        // Another version may word the title otherwise, not the number with which it begins.
        let part = |text: &str| match (entry.as_str(), is_same_program) {
            ("Title", false) => text.split(" · ").next().unwrap_or_default().to_owned(),
            (_, _) => text.to_owned(),
        };
        let is_of_program = matches!(entry.as_str(), "Creator" | "Producer" | "Subject");
        let is = part(found.said(entry).unwrap_or_default());
        let due = part(due);
        if is != due && (is_same_program || !is_of_program) {
            audit.faults.push(Fault::Metadata { entry: entry.clone(), found: is, expected: due });
        }
    }
    if !is_same_program {
        return;
    }
    if found.packet != expected.packet {
        let told = || Fault::Metadata {
            entry: "XMP".to_owned(),
            found: "another packet".to_owned(),
            expected: "that of its data".to_owned(),
        };
        audit.faults.push(told());
    }
    let more = found.catalog.iter().filter(|name| !expected.catalog.contains(name));
    audit.faults.extend(more.map(|name| Fault::Entry { name: name.clone() }));
    for due in &expected.attachments {
        let Some(is) = found.attachments.iter().find(|file| file.name == due.name) else {
            audit.faults.push(Fault::AttachmentMissing { name: due.name.clone() });
            continue;
        };
        if let (Some(is), Some(due_bytes)) = (&is.bytes, &due.bytes)
            && is != due_bytes
        {
            let (name, found, expected) = (due.name.clone(), hash_of(is), hash_of(due_bytes));
            audit.faults.push(Fault::AttachmentAltered { name, found, expected });
        }
    }
    let unknown = found.attachments.iter().filter(|file| !expected.attachments.iter().any(|due| due.name == file.name));
    audit.faults.extend(unknown.map(|file| Fault::AttachmentUnknown { name: file.name.clone() }));
}

/// What differs where text, attachments and metadata do not.
fn rest(found: &Carried, expected: &Carried) -> Fault {
    let mut drawn = found.pages.iter().zip(&expected.pages).zip(1..);
    match drawn.find(|((is, due), _)| is.content != due.content) {
        Some((_, page)) => Fault::Drawing { page },
        None if found.form.is_other => Fault::Rewritten,
        None => Fault::Structure,
    }
}
