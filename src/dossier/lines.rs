//! The extract of the register: the lines of the chosen documents in full, every other by its hash, so that the chain can be
//! followed from the first line to the last and nothing of other clients is given away.
//!
//! Comes in: the file of lines. Goes out: `register/extract.jsonl`. A line that is given by its hash is one object with `entry`,
//! `sha256` and `previous`: it shows that a line stood there, and between which others, not what it said.

use super::folder::Folder;
use crate::register::{Entry, Head, Line, Trouble, View, hash_of};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::{BufRead, BufReader, Error, ErrorKind};

/// Where the extract stands.
pub const EXTRACT: &str = "register/extract.jsonl";

/// A line that is given by its hash.
#[derive(Serialize)]
struct Hashed<'l> {
    entry: u64,
    sha256: &'l str,
    previous: &'l str,
}

/// Writes the extract, up to the line at which the register was read. Gives the reasons of the documents that became void.
///
/// # Errors
/// [`Trouble::Access`]; [`Trouble::Broken`] where the chain does not end as it did a moment ago.
pub fn extract(view: &View, wanted: &BTreeSet<String>, folder: &Folder) -> Result<BTreeMap<String, String>, Trouble> {
    let access = |error: Error| Trouble::Access(view.path(), error);
    let mut lines = BufReader::with_capacity(256 * 1024, File::open(view.path()).map_err(access)?);
    let written = |error: Error| Trouble::Access(folder.path().to_owned(), error);
    let mut to = folder.grow(EXTRACT).map_err(written)?;
    let (mut head, mut void, mut text) = (Head::default(), BTreeMap::new(), Vec::new());
    while head.entry < view.head().entry {
        text.clear();
        lines.read_until(b'\n', &mut text).map_err(access)?;
        if text.pop() != Some(b'\n') {
            break;
        }
        let line: Line =
            serde_json::from_slice(&text).map_err(|error| access(Error::new(ErrorKind::InvalidData, error)))?;
        let hash = hash_of(&text);
        if is_wanted(&line.said, wanted) {
            text.push(b'\n');
            to.add(&text).map_err(written)?;
        } else {
            let hashed = Hashed { entry: line.entry, sha256: &hash, previous: &head.hash };
            let hashed = serde_json::to_string(&hashed).expect("hashes and a number are JSON");
            to.add((hashed + "\n").as_bytes()).map_err(written)?;
        }
        if let Entry::Void(told) = line.said
            && wanted.contains(&told.number)
        {
            void.insert(told.number, told.reason);
        }
        head = Head { entry: line.entry, hash };
    }
    if head != *view.head() {
        return Err(Trouble::Broken(view.path(), crate::register::Fault::Shortened));
    }
    to.end().map_err(written)?;
    Ok(void)
}

/// Whether a line is given in full: it is about a chosen document, or vouches for the lines before it.
fn is_wanted(said: &Entry, wanted: &BTreeSet<String>) -> bool {
    match said {
        Entry::Opened(opened) => wanted.contains(&opened.number),
        Entry::Issued(issued) => wanted.contains(&issued.number),
        Entry::Void(void) => wanted.contains(&void.number),
        Entry::Signed(_) => true,
    }
}
