//! The book: `register.jsonl`, read line by line and only ever added to.
//!
//! Comes in: entries. Goes out: lines in a chain, synced to the disk before anybody is told. Next: [`crate::issue`].
//!
//! Who adds holds a lock on a file beside it, so that several processes add one after the other and the chain never forks.

use super::archive::sync_folder;
use super::line::{Entry, Line, hash_of};
use std::fs::{File, OpenOptions};
use std::io::{BufRead, BufReader, Error, ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// Name of the file of lines.
const NAME: &str = "register.jsonl";
/// Name of the file that is locked while lines are added.
const LOCK: &str = "register.lock";
/// Name of the file to which a torn last line is moved.
const TORN: &str = "register.torn";
/// The longest line that is read, in bytes: one of a visit with hundreds of sources takes some 50 000.
const LONGEST: u64 = 4_000_000;

/// The file of lines in a register's folder.
#[derive(Debug, Clone)]
pub struct Book {
    folder: PathBuf,
}

/// The end of the chain: how many lines there are and the hash of the last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    /// Number of the last line; 0: none.
    pub entry: u64,
    /// SHA-256 of its text; of no line: 64 zeros.
    pub hash: String,
}

/// How far the lines were read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Mark {
    lines: u64,
    offset: u64,
    head: Head,
    torn: u64,
}

impl Mark {
    /// Bytes behind it that lack a line end.
    pub fn torn(&self) -> u64 {
        self.torn
    }

    /// The last line that was read.
    pub fn head(&self) -> &Head {
        &self.head
    }
}

/// Where a line stands in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// Its first byte.
    offset: u64,
    /// Bytes without the line end.
    length: u32,
}

impl Span {
    /// First byte of the line.
    pub fn offset(self) -> u64 {
        self.offset
    }
}

/// A line that was read.
#[derive(Debug)]
pub struct Found<'t> {
    /// The line.
    pub line: Line,
    /// SHA-256 of its text.
    pub hash: &'t str,
    /// Where it stands.
    pub span: Span,
    /// Number of the line in the file, from 1.
    pub number: u64,
}

/// What is wrong with a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// It cannot be read as a line of a register.
    Unreadable {
        /// Number of the line in the file, from 1.
        line: u64,
        /// What the reader said.
        why: String,
    },
    /// It has another number than the line before leads to expect: lines were removed, added or exchanged.
    Numbered {
        /// Number of the line in the file.
        line: u64,
        /// Number it has.
        entry: u64,
        /// Number it should have.
        due: u64,
    },
    /// It names another line before it than the one that stands there: one of the two was changed.
    Unchained {
        /// Number of the line in the file.
        line: u64,
    },
    /// It opens a document number for the second time, or ends one that is not open.
    OutOfTurn {
        /// Number of the line in the file.
        line: u64,
        /// Number of the document.
        number: String,
    },
    /// It opens a document that follows one which is unknown or has a follower already.
    Forked {
        /// Number of the line in the file.
        line: u64,
        /// Number of the document.
        number: String,
        /// The document that it follows.
        predecessor: String,
    },
    /// Lines that were read a moment ago are gone.
    Shortened,
}

impl Fault {
    /// What is wrong, in a sentence.
    pub fn told(&self) -> String {
        match self {
            Fault::Unreadable { line, why } => format!("line {line} cannot be read: {why}"),
            Fault::Numbered { line, entry, due } => {
                format!("line {line} has the number {entry} where {due} is due: lines were removed, added or exchanged")
            }
            Fault::Unchained { line } => format!(
                "line {line} names another line before it than the one that stands there: one of the two was changed"
            ),
            Fault::OutOfTurn { line, number } => {
                format!("line {line} opens or ends the document {number} out of turn: lines were added or removed")
            }
            Fault::Forked { line, number, predecessor } => format!(
                "line {line} opens {number} as what follows {predecessor}, which is unknown or followed by another document \
                 already: lines were added or removed"
            ),
            Fault::Shortened => "lines that stood at its end are gone".to_owned(),
        }
    }
}

/// A last line that a crash or a full disk left without its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Torn {
    /// Its bytes, moved to a file beside the register.
    pub bytes: u64,
}

impl Default for Head {
    fn default() -> Self {
        Head { entry: 0, hash: "0".repeat(64) }
    }
}

impl Book {
    /// The book of the register in `folder`, which need not exist yet.
    pub fn new(folder: &Path) -> Self {
        Book { folder: folder.to_owned() }
    }

    /// The file of lines.
    pub fn path(&self) -> PathBuf {
        self.folder.join(NAME)
    }

    /// Gives `visit` every line in order, and what is wrong between them; a torn last line is passed over. Gives the end of
    /// the chain as it stands.
    ///
    /// # Errors
    /// Those of the file system. A register that does not exist has no line.
    pub fn read(&self, visit: impl FnMut(Result<Found<'_>, Fault>)) -> Result<Head, Error> {
        let mut mark = Mark::default();
        self.read_on(&mut mark, visit)?;
        Ok(mark.head)
    }

    /// The same for the lines after a mark, which is moved to the end.
    ///
    /// # Errors
    /// As [`Book::read`].
    pub fn read_on(&self, mark: &mut Mark, mut visit: impl FnMut(Result<Found<'_>, Fault>)) -> Result<(), Error> {
        let mut file = match File::open(self.path()) {
            Ok(file) => file,
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(()),
            Err(error) => return Err(error),
        };
        file.seek(SeekFrom::Start(mark.offset))?;
        let mut reader = BufReader::with_capacity(256 * 1024, file);
        let mut text = Vec::new();
        loop {
            text.clear();
            reader.by_ref().take(LONGEST).read_until(b'\n', &mut text)?;
            if text.len() as u64 == LONGEST && text.last() != Some(&b'\n') {
                let why = format!("it is longer than {} kB", LONGEST / 1000);
                visit(Err(Fault::Unreadable { line: mark.lines + 1, why }));
                return Ok(());
            }
            if text.last() != Some(&b'\n') {
                mark.torn = text.len() as u64;
                return Ok(());
            }
            text.pop();
            let span = Span { offset: mark.offset, length: text.len() as u32 };
            let hash = hash_of(&text);
            mark.lines += 1;
            mark.offset += text.len() as u64 + 1;
            match serde_json::from_slice::<Line>(&text) {
                Err(error) => visit(Err(Fault::Unreadable { line: mark.lines, why: error.to_string() })),
                Ok(line) => {
                    let due = mark.head.entry.saturating_add(1);
                    if line.entry != due {
                        visit(Err(Fault::Numbered { line: mark.lines, entry: line.entry, due }));
                    }
                    if line.previous != mark.head.hash {
                        visit(Err(Fault::Unchained { line: mark.lines }));
                    }
                    mark.head.entry = line.entry;
                    visit(Ok(Found { line, hash: &hash, span, number: mark.lines }));
                }
            }
            mark.head.hash = hash;
        }
    }

    /// The line at a place, with its hash.
    ///
    /// # Errors
    /// Those of the file system; [`ErrorKind::InvalidData`] where no line stands there.
    pub fn line_at(&self, span: Span) -> Result<(Line, String), Error> {
        let mut file = File::open(self.path())?;
        file.seek(SeekFrom::Start(span.offset))?;
        let mut text = vec![0; span.length as usize];
        file.read_exact(&mut text)?;
        let line = serde_json::from_slice(&text).map_err(|error| Error::new(ErrorKind::InvalidData, error))?;
        Ok((line, hash_of(&text)))
    }

    /// Locks the register for adding, waiting for others, and mends a torn end.
    ///
    /// # Errors
    /// Those of the file system.
    pub fn hold(&self) -> Result<(Held, Option<Torn>), Error> {
        std::fs::create_dir_all(&self.folder)?;
        let lock = OpenOptions::new().create(true).truncate(false).write(true).open(self.folder.join(LOCK))?;
        lock.lock()?;
        let path = self.folder.join(NAME);
        let is_new = !path.exists();
        let file = OpenOptions::new().create(true).truncate(false).read(true).write(true).open(path)?;
        if is_new {
            sync_folder(&self.folder)?;
        }
        let mut held = Held { folder: self.folder.clone(), file, lock, length: 0, head: Head::default() };
        let torn = held.mend()?;
        Ok((held, torn))
    }
}

/// The register, locked for adding.
#[derive(Debug)]
pub struct Held {
    folder: PathBuf,
    file: File,
    /// Locked as long as it is open.
    lock: File,
    length: u64,
    head: Head,
}

impl Held {
    /// The end of the chain.
    pub fn head(&self) -> &Head {
        &self.head
    }

    /// Adds entries, all or none, and syncs them to the disk. Gives the hash of each line.
    ///
    /// # Errors
    /// Those of the file system, a full disk among them: then the register ends where it ended before.
    pub fn add(&mut self, entries: impl IntoIterator<Item = Entry>) -> Result<Vec<String>, Error> {
        let mut head = self.head.clone();
        let (mut text, mut hashes) = (String::new(), Vec::new());
        for said in entries {
            let line = Line { entry: head.entry + 1, said, previous: head.hash }.text();
            head = Head { entry: head.entry + 1, hash: hash_of(line.as_bytes()) };
            hashes.push(head.hash.clone());
            text.push_str(&line);
            text.push('\n');
        }
        let written = self.file.seek(SeekFrom::Start(self.length)).and_then(|_| self.file.write_all(text.as_bytes()));
        if let Err(error) = written.and_then(|()| self.file.sync_data()) {
            // Nobody was told of these lines yet.
            self.file.set_len(self.length)?;
            return Err(error);
        }
        self.length += text.len() as u64;
        self.head = head;
        Ok(hashes)
    }

    /// Finds the end of the chain; what a crash left of a last line is moved to a file beside the register.
    fn mend(&mut self) -> Result<Option<Torn>, Error> {
        let size = self.file.seek(SeekFrom::End(0))?;
        let last = self.last_line(size)?;
        let torn = size - last.end;
        if torn > 0 {
            let mut bytes = vec![0; torn as usize];
            self.file.seek(SeekFrom::Start(last.end))?;
            self.file.read_exact(&mut bytes)?;
            let mut aside = OpenOptions::new().create(true).append(true).open(self.folder.join(TORN))?;
            bytes.push(b'\n');
            aside.write_all(&bytes)?;
            aside.sync_all()?;
            self.file.set_len(last.end)?;
            self.file.sync_all()?;
        }
        self.length = last.end;
        if let Some(text) = last.text {
            let line: Line =
                serde_json::from_slice(&text).map_err(|error| Error::new(ErrorKind::InvalidData, error))?;
            self.head = Head { entry: line.entry, hash: hash_of(&text) };
        }
        Ok((torn > 0).then_some(Torn { bytes: torn }))
    }

    /// The last line that has its end, read from behind.
    fn last_line(&mut self, size: u64) -> Result<Last, Error> {
        const STEP: u64 = 64 * 1024;
        let mut tail: Vec<u8> = Vec::new();
        let mut from = size;
        loop {
            let ends: Vec<usize> =
                tail.iter().enumerate().filter(|(_, byte)| **byte == b'\n').map(|(at, _)| at).collect();
            if let [.., before, end] = ends[..] {
                return Ok(Last { end: from + end as u64 + 1, text: Some(tail[before + 1..end].to_vec()) });
            }
            if from == 0 {
                return Ok(match ends[..] {
                    [end] => Last { end: end as u64 + 1, text: Some(tail[..end].to_vec()) },
                    _ => Last { end: 0, text: None },
                });
            }
            let begin = from.saturating_sub(STEP);
            let mut more = vec![0; (from - begin) as usize];
            self.file.seek(SeekFrom::Start(begin))?;
            self.file.read_exact(&mut more)?;
            more.append(&mut tail);
            (tail, from) = (more, begin);
        }
    }
}

impl Drop for Held {
    fn drop(&mut self) {
        // The lock goes with the file in any case.
        let _ = self.lock.unlock();
    }
}

/// The last line that has its end.
struct Last {
    /// Byte behind it.
    end: u64,
    text: Option<Vec<u8>>,
}

#[cfg(test)]
mod tests;
