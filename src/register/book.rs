//! The book: `register.jsonl`, read line by line and only ever added to.
//!
//! Comes in: entries. Goes out: lines in a chain, synced to the disk before anybody is told. Next: [`crate::issue`].
//!
//! Who adds holds a lock on a file beside it, so that several processes add one after the other and the chain never forks.

use super::archive::sync_folder;
use super::line::{Entry, Line, hash_of};
use std::fs::{File, OpenOptions};
use std::io::{BufRead, BufReader, Error, Read, Seek, SeekFrom, Write};
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

    /// Gives `visit` every line in order with its text's hash, and what is wrong between them; a torn last line is passed
    /// over. Gives the end of the chain as it stands.
    ///
    /// # Errors
    /// Those of the file system. A register that does not exist has no line.
    pub fn read(&self, mut visit: impl FnMut(Result<(Line, &str), Fault>)) -> Result<Head, Error> {
        let file = match File::open(self.folder.join(NAME)) {
            Ok(file) => file,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Head::default()),
            Err(error) => return Err(error),
        };
        let mut reader = BufReader::with_capacity(256 * 1024, file);
        let mut head = Head::default();
        let (mut text, mut number) = (Vec::new(), 0);
        loop {
            text.clear();
            reader.by_ref().take(LONGEST).read_until(b'\n', &mut text)?;
            if text.pop() != Some(b'\n') {
                return Ok(head);
            }
            number += 1;
            let hash = hash_of(&text);
            match serde_json::from_slice::<Line>(&text) {
                Err(error) => visit(Err(Fault::Unreadable { line: number, why: error.to_string() })),
                Ok(line) => {
                    if line.entry != head.entry + 1 {
                        visit(Err(Fault::Numbered { line: number, entry: line.entry, due: head.entry + 1 }));
                    }
                    if line.previous != head.hash {
                        visit(Err(Fault::Unchained { line: number }));
                    }
                    head.entry = line.entry;
                    visit(Ok((line, &hash)));
                }
            }
            head.hash = hash;
        }
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
                serde_json::from_slice(&text).map_err(|error| Error::new(std::io::ErrorKind::InvalidData, error))?;
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
