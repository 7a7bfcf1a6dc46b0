//! The register: what was issued, line by line in a chain that shows every change, and an archive of what it was made from.
//!
//! Comes in: documents about to be issued and, later, the hashes of their files. Goes out: a folder with `register.jsonl` and
//! `archive/`. Next: [`crate::issue`], which opens documents here, paints them and has them entered.
//!
//! ```text
//! archive: every source, record and picture ─▶ `opened` lines ─▶ documents painted and written ─▶ `issued` lines
//! ```
//!
//! Nothing is ever changed or removed. A crash leaves an `opened` line without its `issued`: the next run finishes it from the
//! archive or writes a `void` line with the reason.

mod archive;
mod book;
mod index;
mod line;
mod signing;
mod unsettled;
mod view;

pub use archive::{Archive, put, sweep, sync_folder};
pub use book::{Book, Fault, Found, Head, Held, Mark, Span, Torn};
pub use index::{End, Index, Standing};
pub use line::{Entry, FoundError, Issued, KeyFigures, Line, NextDue, Opened, Signed, SourceEntry, Void, hash_of};
pub use signing::{KeyFault, PrivateKey, PublicKey};
pub use unsettled::{Settled, Unsettled};
pub use view::{Selection, Status, View, Viewed};

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Error, ErrorKind};
use std::path::{Path, PathBuf};

/// Name of the file that every run keeps locked while it issues.
const AT_WORK: &str = "issuing.lock";

/// A register in use by a run that issues.
#[derive(Debug)]
pub struct Register {
    folder: PathBuf,
    book: Book,
    /// What documents are made from.
    pub archive: Archive,
    index: Index,
    /// Locked as long as it is open.
    at_work: File,
    torn: Vec<Torn>,
}

/// Why a register cannot be used.
#[derive(Debug)]
pub enum Trouble {
    /// The file system refuses.
    Access(PathBuf, Error),
    /// A line is not as it was written.
    Broken(PathBuf, Fault),
}

impl Register {
    /// Opens the register in `folder`, made if missing, and reads it. Whether no other run is at work: then what is pending was
    /// left by a crash, and nobody else begins before [`Register::let_in`].
    ///
    /// # Errors
    /// [`Trouble`].
    pub fn open(folder: &Path) -> Result<(Register, bool), Trouble> {
        let access = |error| Trouble::Access(folder.to_owned(), error);
        std::fs::create_dir_all(folder).map_err(access)?;
        let mut options = OpenOptions::new();
        let at_work = options.create(true).truncate(false).write(true).open(folder.join(AT_WORK)).map_err(access)?;
        let is_alone = match at_work.try_lock() {
            Ok(()) => true,
            Err(TryLockError::WouldBlock) => {
                at_work.lock_shared().map_err(access)?;
                false
            }
            Err(TryLockError::Error(error)) => return Err(access(error)),
        };
        let archive = Archive::new(&folder.join("archive"));
        if is_alone {
            sweep(&folder.join("archive")).map_err(access)?;
        }
        let (book, index) = (Book::new(folder), Index::default());
        let mut register = Register { folder: folder.to_owned(), book, archive, index, at_work, torn: Vec::new() };
        register.read_on()?;
        // Seen again under the lock: a torn end is mended, and who may not write is told before any work.
        register.add(|_| Vec::new())?;
        Ok((register, is_alone))
    }

    /// Lets other runs begin, after what a crash left was finished.
    ///
    /// # Errors
    /// [`Trouble::Access`].
    pub fn let_in(&mut self) -> Result<(), Trouble> {
        let shared = self.at_work.unlock().and_then(|()| self.at_work.lock_shared());
        shared.map_err(|error| self.access(error))
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// What is known of every number.
    pub fn index(&self) -> &Index {
        &self.index
    }

    /// The torn ends that were mended since the last call.
    pub fn torn(&mut self) -> Vec<Torn> {
        std::mem::take(&mut self.torn)
    }

    /// Adds the entries that `decide` wants, seeing every line of every run: nobody else adds meanwhile. They are on the disk,
    /// all or none, when this returns. Gives the hash of each line.
    ///
    /// # Errors
    /// [`Trouble`]; then nothing was added.
    pub fn add(&mut self, decide: impl FnOnce(&Index) -> Vec<Entry>) -> Result<Vec<String>, Trouble> {
        let (mut held, torn) = self.book.hold().map_err(|error| self.of_lines(error))?;
        self.torn.extend(torn);
        self.read_on()?;
        if self.index.head() != held.head() {
            // Lines were read that another run could not bring to the disk and took back.
            self.index = Index::default();
            self.read_on()?;
        }
        if self.index.head() != held.head() {
            return Err(Trouble::Broken(self.book.path(), Fault::Shortened));
        }
        let entries = decide(&self.index);
        if entries.is_empty() {
            return Ok(Vec::new());
        }
        let hashes = held.add(entries).map_err(|error| self.of_lines(error))?;
        self.read_on()?;
        Ok(hashes)
    }

    /// The `opened` line of a document and its hash.
    ///
    /// # Errors
    /// [`Trouble::Access`].
    pub fn opened(&self, standing: Standing) -> Result<(Opened, String), Trouble> {
        match self.book.line_at(standing.opened).map_err(|error| self.of_lines(error))? {
            (Line { said: Entry::Opened(opened), .. }, hash) => Ok((*opened, hash)),
            _ => Err(Trouble::Broken(self.book.path(), Fault::Shortened)),
        }
    }

    /// What the line at the end of a document says; none while it is pending.
    ///
    /// # Errors
    /// [`Trouble::Access`].
    pub fn end(&self, standing: Standing) -> Result<Option<Entry>, Trouble> {
        match standing.end {
            End::Pending => Ok(None),
            End::Issued(span) | End::Void(span) => {
                let (line, _) = self.book.line_at(span).map_err(|error| self.of_lines(error))?;
                Ok(Some(line.said))
            }
        }
    }

    /// Reads what other runs added. Whether there was anything.
    ///
    /// # Errors
    /// [`Trouble`].
    pub fn catch_up(&mut self) -> Result<bool, Trouble> {
        let before = self.index.head().clone();
        self.read_on()?;
        Ok(*self.index.head() != before)
    }

    fn read_on(&mut self) -> Result<(), Trouble> {
        match self.index.catch_up(&self.book) {
            Ok(None) => Ok(()),
            Ok(Some(fault)) => Err(Trouble::Broken(self.book.path(), fault)),
            Err(error) => Err(self.of_lines(error)),
        }
    }

    /// An error of the file of lines: what cannot be read as a line was changed.
    fn of_lines(&self, error: Error) -> Trouble {
        match error.kind() {
            ErrorKind::InvalidData => {
                Trouble::Broken(self.book.path(), Fault::Unreadable { line: 0, why: error.to_string() })
            }
            _ => Trouble::Access(self.book.path(), error),
        }
    }

    fn access(&self, error: Error) -> Trouble {
        Trouble::Access(self.folder.clone(), error)
    }
}
