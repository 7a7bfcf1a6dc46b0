//! A register, audited: its chain, its archive, and what vouches for it from outside.
//!
//! Comes in: a register's folder, hashes kept elsewhere, trusted keys. Goes out: everything that is wrong, with its line, and
//! what is proved. Next: [`super::answer`], which looks documents up in it.
//!
//! One pass over the lines, the archive looked through on the way, so that memory does not grow with what lines say.

mod archive;
mod broken;
mod chain;
mod vouched;

pub use archive::{Kept, Lack};
pub use broken::{Broken, SignatureFault};
pub use chain::Seen;
pub use vouched::{FoundSignature, Vouched, Voucher};

use crate::issue::Workers;
use crate::register::{Archive, Entry, Found, Opened, PublicKey, Signed, Trouble, View};
use archive::Keeper;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// What a register is held against.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    /// Hashes kept elsewhere, 64 lower-case hexadecimal digits.
    pub anchors: Vec<String>,
    /// Keys whose signatures count; none: signatures are told, and prove nothing.
    pub trusted: Vec<PublicKey>,
    /// Whether the whole archive is looked through, not only what the documents asked for were made from.
    pub whole_archive: bool,
}

/// A register that was audited.
#[derive(Debug)]
pub struct Ledger {
    /// The register.
    pub view: View,
    /// Every line that can be read.
    pub lines: Vec<Seen>,
    /// What is wrong, in the order of the lines.
    pub broken: Vec<Broken>,
    /// What is proved from outside.
    pub vouched: Vec<Vouched>,
    /// Every signature.
    pub signatures: Vec<FoundSignature>,
    /// The archive, where it was looked through.
    pub archive: Option<Kept>,
    /// Hashes kept elsewhere that are not those of lines but of files of a document: its number.
    pub files_kept_elsewhere: BTreeMap<String, String>,
    /// Documents by the hash of each of their files.
    files: BTreeMap<String, String>,
    /// Lines that open documents.
    opened: Vec<u64>,
    /// The line that ended each document.
    ended: BTreeMap<String, u64>,
    /// Lines at which the chain is broken.
    broken_lines: BTreeSet<u64>,
}

/// Documents looked at in the archive at once.
const BATCH: usize = 256;

/// What is gathered in the pass.
#[derive(Default)]
struct Gathered {
    lines: Vec<Seen>,
    faults: Vec<crate::register::Fault>,
    signed: Vec<(u64, Signed)>,
    files: BTreeMap<String, String>,
    opened: Vec<u64>,
    ended: BTreeMap<String, u64>,
    batch: Vec<(u64, Opened)>,
}

impl Gathered {
    fn take(&mut self, found: &Found<'_>, is_archive_wanted: bool) {
        let (line, at) = (&found.line, found.number);
        let (hash, previous) = (found.hash.to_owned(), line.previous.clone());
        self.lines.push(Seen { line: at, entry: line.entry, hash, previous, span: found.span });
        match &line.said {
            Entry::Opened(opened) => {
                self.opened.push(at);
                if is_archive_wanted {
                    self.batch.push((at, (**opened).clone()));
                }
            }
            Entry::Issued(issued) => {
                self.ended.insert(issued.number.clone(), at);
                for hash in [&issued.pdf, &issued.html] {
                    self.files.entry(hash.clone()).or_insert_with(|| issued.number.clone());
                }
            }
            Entry::Void(void) => drop(self.ended.insert(void.number.clone(), at)),
            Entry::Signed(signed) => self.signed.push((at, signed.clone())),
        }
    }
}

impl Ledger {
    /// Reads the register in `folder` whole and looks for everything that is wrong with it.
    ///
    /// # Errors
    /// [`Trouble::Access`] where there is no register or it cannot be read.
    pub fn audit(folder: &Path, asked: &Asked, workers: &Workers) -> Result<Ledger, Trouble> {
        let archive = Archive::new(&folder.join("archive"));
        let mut keeper = Keeper::new(&archive, workers);
        let mut gathered = Gathered::default();
        let view = View::open_telling(folder, |read| match read {
            Ok(found) => {
                gathered.take(found, asked.whole_archive);
                if gathered.batch.len() == BATCH {
                    keeper.look(&std::mem::take(&mut gathered.batch));
                }
            }
            Err(fault) => gathered.faults.push(fault),
        })?;
        keeper.look(&gathered.batch);
        let Gathered { lines, faults, signed, files, opened, ended, .. } = gathered;
        let (mut broken, breaks) = chain::broken(&lines, faults);
        let (of_archive, kept) = keeper.finish(asked.whole_archive.then(|| folder.join("archive")).as_deref());
        broken.extend(of_archive);
        let signatures = vouched::signatures(&lines, &signed, &asked.trusted);
        let (mut vouched, of_signatures) = vouched::by_signature(&signatures, &breaks, !asked.trusted.is_empty());
        broken.extend(of_signatures);
        vouched.extend(vouched::by_hash(&lines, &breaks, &asked.anchors));
        let of_files = asked.anchors.iter().filter_map(|hash| Some((hash.clone(), files.get(hash)?.clone())));
        let files_kept_elsewhere = of_files.collect();
        broken.sort_by_key(|it| (it.line().is_none(), it.line(), !it.is_of_chain()));
        let archive = asked.whole_archive.then_some(kept);
        let of_chain = broken.iter().filter(|it| it.is_of_chain());
        let broken_lines = of_chain.filter_map(Broken::line).collect();
        Ok(Ledger {
            view,
            lines,
            broken,
            vouched,
            signatures,
            archive,
            files_kept_elsewhere,
            files,
            opened,
            ended,
            broken_lines,
        })
    }

    /// Whether a hash kept elsewhere is that of one of its lines or files.
    pub fn knows(&self, hash: &str) -> bool {
        self.files_kept_elsewhere.contains_key(hash) || self.lines.iter().any(|seen| seen.hash == hash)
    }

    /// The first line at which the chain is broken.
    pub fn first_broken(&self) -> Option<u64> {
        self.broken_lines.first().copied()
    }

    /// How many documents were opened on lines before one, and how many on it or behind.
    pub fn documents_around(&self, line: u64) -> (usize, usize) {
        let before = self.opened.partition_point(|opened| *opened < line);
        (before, self.opened.len() - before)
    }

    /// How many documents were opened.
    pub fn documents(&self) -> usize {
        self.opened.len()
    }

    /// How many documents have files.
    pub fn documents_issued(&self) -> usize {
        self.files.values().collect::<BTreeSet<_>>().len()
    }

    /// Number of the document that one of its files has the hash of.
    pub fn number_of(&self, sha256: &str) -> Option<&str> {
        self.files.get(sha256).map(String::as_str)
    }

    /// Whether it knows a number.
    pub fn has(&self, number: &str) -> bool {
        self.view.index().standing(number).is_some()
    }

    /// The line that ended a document.
    pub fn ended(&self, number: &str) -> Option<u64> {
        self.ended.get(number).copied()
    }

    /// The line with a hash, where it is looked for first as the entry of a number.
    pub fn line_of(&self, hash: &str, entry: u64) -> Option<u64> {
        let here = usize::try_from(entry).ok().and_then(|entry| self.lines.get(entry.checked_sub(1)?));
        let here = here.filter(|seen| seen.hash == hash);
        here.or_else(|| self.lines.iter().find(|seen| seen.hash == hash)).map(|seen| seen.line)
    }

    /// Whether lines are proved by something from outside of a kind.
    pub fn is_vouched(&self, lines: &[u64], is_kind: fn(&Voucher) -> bool) -> bool {
        let covers = |line: u64| self.vouched.iter().any(|it| is_kind(&it.by) && it.from <= line && line <= it.up_to);
        lines.iter().all(|line| covers(*line))
    }

    /// How a line stands in the chain.
    pub fn standing(&self, line: u64) -> Place {
        if self.vouched.iter().any(|it| it.from <= line && line <= it.up_to) {
            return Place::Proved;
        }
        match self.first_broken() {
            _ if self.broken_lines.contains(&line) => Place::Broken,
            Some(first) if line > first => Place::Behind(first),
            Some(_) | None => Place::Linked,
        }
    }

    /// What a line is about and when that was: `opened V-1-AIT-1, 2026-04-20 12:00 +02:00`.
    ///
    /// # Errors
    /// [`Trouble::Access`].
    pub fn described(&self, line: u64) -> Result<String, Trouble> {
        let Some(seen) = self.lines.iter().find(|seen| seen.line == line) else { return Ok(String::new()) };
        let (word, number) = match self.view.line_at(seen.span)?.0.said {
            Entry::Opened(opened) => return Ok(format!("opened {}, {}", opened.number, opened.issued)),
            Entry::Signed(signed) => return Ok(format!("signed, {}", signed.at)),
            Entry::Issued(issued) => ("issued", issued.number),
            Entry::Void(void) => ("void", void.number),
        };
        let opened = self.view.document(&number)?.map(|viewed| viewed.opened.issued).unwrap_or_default();
        Ok(format!("{word} {number}, {opened}"))
    }

    /// Looks through the archive for one document.
    pub fn archive_of(&self, line: u64, opened: &Opened, workers: &Workers) -> Vec<Broken> {
        let mut keeper = Keeper::new(&self.view.archive, workers);
        keeper.look(&[(line, opened.clone())]);
        keeper.finish(None).0
    }
}

/// How a line stands in its chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// It is as it was when somebody vouched for it.
    Proved,
    /// It is linked to the first line without a gap.
    Linked,
    /// The chain is broken at an earlier line.
    Behind(u64),
    /// The chain is broken at this line.
    Broken,
}
