//! Whether the archive holds what the lines say: every file, under its hash, and records that agree with their lines.
//!
//! Comes in: `opened` lines, some hundreds at a time. Goes out: what is missing, altered, or contradicts. Next:
//! [`super::Ledger`].

use super::Broken;
use crate::issue::{Workers, source_key};
use crate::register::{Archive, Opened};
use serde::Serialize;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{Error, ErrorKind};
use std::path::Path;

/// An `opened` line with the number of its line in the file.
pub(super) type Numbered = (u64, Opened);

/// What was seen of an archive.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Kept {
    /// Files that lines name and that hold what their names say.
    pub whole: u64,
    /// The first names of files that no line names.
    pub unnamed: Vec<String>,
    /// How many there are.
    pub unnamed_count: u64,
}

/// Names of files without a line that are told.
const NAMES: usize = 20;

/// A file of the archive and the first document that was made from it.
#[derive(Debug)]
struct Named {
    name: String,
    line: u64,
    number: String,
}

/// Why a file of the archive cannot serve.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Lack {
    /// It is not there.
    Missing,
    /// Its hash is not its name.
    Altered,
    /// It cannot be read.
    Unreadable,
}

/// An archive, looked through document by document.
#[derive(Debug)]
pub(super) struct Keeper<'a> {
    archive: &'a Archive,
    workers: &'a Workers,
    /// What is known of every hash; none: the file holds what its name says.
    known: BTreeMap<String, Option<Lack>>,
    /// Documents made from files that lack.
    lacking: BTreeMap<String, (Named, Lack, u64)>,
    found: Vec<Broken>,
}

/// What a record told.
struct Looked {
    record: Option<Lack>,
    history: Option<Lack>,
    /// Hashes of the earlier visits.
    points: Vec<String>,
    found: Vec<Broken>,
}

impl<'a> Keeper<'a> {
    pub(super) fn new(archive: &'a Archive, workers: &'a Workers) -> Self {
        let (known, lacking) = (BTreeMap::new(), BTreeMap::new());
        Keeper { archive, workers, known, lacking, found: Vec::new() }
    }

    /// Looks at everything that some documents were made from.
    pub(super) fn look(&mut self, documents: &[Numbered]) {
        let archive = self.archive;
        let looked = self.workers.map(documents.iter().collect(), |(line, opened)| look(archive, *line, opened));
        let mut wanted: Vec<(String, Named)> = Vec::new();
        for ((line, opened), looked) in documents.iter().zip(looked) {
            self.found.extend(looked.found);
            let named = |name: &str| Named { name: name.to_owned(), line: *line, number: opened.number.clone() };
            self.known.insert(opened.record.clone(), looked.record);
            wanted.push((opened.record.clone(), named("its record")));
            if let Some(list) = &opened.history {
                self.known.insert(list.clone(), looked.history);
                wanted.push((list.clone(), named("the list of its earlier visits")));
            }
            wanted.extend(looked.points.into_iter().map(|hash| (hash, named("an earlier visit"))));
            let files = opened.sources.iter().chain(&opened.wording);
            wanted.extend(files.map(|entry| (entry.sha256.clone(), named(&entry.name))));
        }
        let new: BTreeSet<&String> =
            wanted.iter().map(|(hash, _)| hash).filter(|hash| !self.known.contains_key(*hash)).collect();
        let new: Vec<String> = new.into_iter().cloned().collect();
        let states = self.workers.map(new.iter().collect(), |hash: &String| lack(archive.bytes(hash).map(drop)));
        self.known.extend(new.into_iter().zip(states));
        for (hash, named) in wanted {
            if let Some(Some(lack)) = self.known.get(&hash) {
                self.lacking.entry(hash).or_insert((named, *lack, 0)).2 += 1;
            }
        }
    }

    /// What was wrong, and what the archive holds besides.
    pub(super) fn finish(mut self, folder: Option<&Path>) -> (Vec<Broken>, Kept) {
        let lacking = std::mem::take(&mut self.lacking);
        let told = lacking.into_iter().map(|(sha256, (named, lack, documents))| {
            let Named { name, line, number } = named;
            Broken::Archive { line, number, name, sha256, lack, documents }
        });
        self.found.extend(told);
        self.found.sort_by_key(Broken::line);
        let whole = self.known.values().filter(|lack| lack.is_none()).count() as u64;
        let mut kept = Kept { whole, ..Kept::default() };
        if let Some(folder) = folder {
            unnamed(folder, &self.known, &mut kept);
        }
        (self.found, kept)
    }
}

fn lack(read: Result<(), Error>) -> Option<Lack> {
    match read.err()?.kind() {
        ErrorKind::NotFound => Some(Lack::Missing),
        ErrorKind::InvalidData => Some(Lack::Altered),
        _ => Some(Lack::Unreadable),
    }
}

/// Files below the archive's folder that no line names.
fn unnamed(folder: &Path, known: &BTreeMap<String, Option<Lack>>, kept: &mut Kept) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    let mut paths: Vec<_> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
    paths.sort();
    for path in paths {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        if path.is_dir() {
            unnamed(&path, known, kept);
        } else if !known.contains_key(name.as_ref()) {
            kept.unnamed_count += 1;
            if kept.unnamed.len() < NAMES {
                kept.unnamed.push(name.into_owned());
            }
        }
    }
}

/// The source key and the record of one document.
fn look(archive: &Archive, line: u64, opened: &Opened) -> Looked {
    let number = || opened.number.clone();
    let mut looked = Looked { record: None, history: None, points: Vec::new(), found: Vec::new() };
    match archive.bytes(&opened.record) {
        Ok(bytes) => {
            let record = serde_json::from_slice::<Value>(&bytes).unwrap_or_default();
            if !is_key_of(opened, &record) {
                looked.found.push(Broken::SourceKey { line, number: number() });
            }
            let fields = if record.is_null() { vec!["record"] } else { contradicting(opened, &record) };
            looked.found.extend(fields.into_iter().map(|field| Broken::Contradicts { line, number: number(), field }));
        }
        Err(error) => looked.record = lack(Err(error)),
    }
    if let Some(list) = &opened.history {
        match archive.bytes(list) {
            Ok(bytes) => match serde_json::from_slice(&bytes) {
                Ok(points) => looked.points = points,
                Err(_) => looked.found.push(Broken::Contradicts { line, number: number(), field: "history" }),
            },
            Err(error) => looked.history = lack(Err(error)),
        }
    }
    looked
}

/// Whether a source key is that of the sources, wording, tag, kind and predecessor of its line; that of a re-evaluation holds
/// who authorised it as well, whom only the record names.
fn is_key_of(opened: &Opened, record: &Value) -> bool {
    let Opened { sources, wording, kind, .. } = opened;
    let key = |kind: &str| source_key(sources, wording, opened.tag.as_deref(), kind, opened.predecessor.as_deref());
    let authorised = record["certificate"]["authorised"]["name"].as_str();
    let kind = authorised.map_or(kind.clone(), |name| format!("{kind} authorised {}", name.escape_default()));
    key(&kind) == opened.source_key
}

/// What a line says otherwise than its record. The record of a summary holds that of its loops: only what it says of itself can
/// be compared, and programs before 0.2.0 kept nothing of that.
fn contradicting(opened: &Opened, record: &Value) -> Vec<&'static str> {
    let certificate = &record["certificate"];
    let text = |value: &Value, said: Option<&str>| value.as_str() == said;
    let mut agree = Vec::new();
    if certificate.is_object() {
        agree.extend([
            ("number", text(&certificate["number"], Some(&opened.number))),
            ("kind", text(&certificate["kind"], Some(&opened.kind))),
            ("issued", text(&certificate["issued"], Some(&opened.issued))),
        ]);
    }
    if opened.tag.is_some() {
        let (found, left) = (&record["as_found"], &record["as_left"]);
        let figures = &opened.figures;
        let same = |value: &Value, said: Option<f64>| value.as_f64() == said;
        agree.extend([
            ("number", certificate.is_object()),
            ("tag", text(&record["tag"], opened.tag.as_deref())),
            ("client", text(&record["client"]["name"], Some(&opened.client))),
            ("visit", text(&record["visit"]["number"], Some(&opened.visit))),
            ("started", text(&record["visit"]["started"], Some(&opened.started))),
            ("finished", text(&record["visit"]["finished"], opened.finished.as_deref())),
            ("program", text(&record["program"], Some(&opened.program))),
            ("as_found", text(&found["verdict"], opened.as_found.as_deref())),
            ("as_left", text(&left["verdict"], opened.as_left.as_deref())),
            ("found_slope_percent", same(&found["slope_percent"], figures.found_slope_percent)),
            ("found_offset_mv", same(&found["offset_mv"], figures.found_offset_mv)),
            ("left_slope_percent", same(&left["slope_percent"], figures.left_slope_percent)),
            ("left_offset_mv", same(&left["offset_mv"], figures.left_offset_mv)),
        ]);
    }
    agree.into_iter().filter(|(_, agrees)| !agrees).map(|(field, _)| field).collect()
}
