//! A register that is only read: every document with how it stands.
//!
//! Comes in: the folder of a register. Goes out: its documents one after the other, so that memory does not grow with their
//! number. Nothing is written and nothing locked. Next: whoever looks back.

use super::Trouble;
use super::archive::Archive;
use super::book::{Book, Fault, Found, Head, Span};
use super::index::{End, Index};
use super::line::{Entry, Line, Opened};
use chrono::NaiveDate;
use std::io::{Error, ErrorKind};
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

/// A register that is only read, as it stood when it was opened.
#[derive(Debug)]
pub struct View {
    folder: PathBuf,
    book: Book,
    index: Index,
    /// What documents were made from.
    pub archive: Archive,
}

/// A document of a register.
#[derive(Debug, Clone, PartialEq)]
pub struct Viewed {
    /// What its `opened` line says.
    pub opened: Opened,
    /// Number of that line.
    pub entry: u64,
    /// SHA-256 of that line.
    pub hash: String,
    /// How it stands.
    pub status: Status,
}

/// How a document stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Status {
    /// It was issued, and nothing replaces it.
    InForce,
    /// It was issued while signatures were awaited.
    Draft {
        /// Whether the document that it was to become was issued since.
        is_settled: bool,
    },
    /// It was issued, and an issued document replaces it.
    Replaced {
        /// Number of that document.
        by: String,
    },
    /// It was opened, and its files are not entered yet.
    Pending,
    /// It was opened and could not be finished.
    Void,
}

impl View {
    /// Reads the lines of the register in `folder`.
    ///
    /// # Errors
    /// [`Trouble::Access`] where there is no register, [`Trouble::Broken`] with the first fault of its chain.
    pub fn open(folder: &Path) -> Result<View, Trouble> {
        let mut first = None;
        let view = View::open_telling(folder, |read| first = first.take().or(read.err()))?;
        match first {
            Some(fault) => Err(Trouble::Broken(view.path(), fault)),
            None => Ok(view),
        }
    }

    /// The same for a register that may be broken: shows every line and every fault, and goes on behind it.
    ///
    /// # Errors
    /// [`Trouble::Access`] where there is no register.
    pub fn open_telling(folder: &Path, tell: impl FnMut(Result<&Found<'_>, Fault>)) -> Result<View, Trouble> {
        let book = Book::new(folder);
        let access = |error: Error| Trouble::Access(book.path(), error);
        if !book.path().is_file() {
            return Err(access(Error::new(ErrorKind::NotFound, "there is no register here")));
        }
        let mut index = Index::default();
        index.catch_up_telling(&book, tell).map_err(access)?;
        let archive = Archive::new(&folder.join("archive"));
        Ok(View { folder: folder.to_owned(), book, index, archive })
    }

    /// The line at a place, with its hash.
    ///
    /// # Errors
    /// [`Trouble::Access`].
    pub fn line_at(&self, span: Span) -> Result<(Line, String), Trouble> {
        self.book.line_at(span).map_err(|error| Trouble::Access(self.book.path(), error))
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The file of lines.
    pub fn path(&self) -> PathBuf {
        self.book.path()
    }

    /// What is known of every number.
    pub fn index(&self) -> &Index {
        &self.index
    }

    /// The end of the chain.
    pub fn head(&self) -> &Head {
        self.index.head()
    }

    /// Gives `visit` every document, in the order in which they were opened, until it breaks off.
    ///
    /// # Errors
    /// [`Trouble`]: the lines are read anew.
    pub fn documents(&self, mut visit: impl FnMut(Viewed) -> ControlFlow<()>) -> Result<(), Trouble> {
        let (mut fault, mut is_over) = (None, false);
        let read = self.book.read(|found| match found {
            Ok(found) if !is_over && found.number <= self.head().entry => {
                if let Entry::Opened(opened) = found.line.said {
                    let status = self.status(&opened);
                    let viewed =
                        Viewed { opened: *opened, entry: found.line.entry, hash: found.hash.to_owned(), status };
                    is_over = visit(viewed).is_break();
                }
            }
            Ok(_) => {}
            Err(told) => fault = fault.take().or(Some(told)),
        });
        read.map_err(|error| Trouble::Access(self.book.path(), error))?;
        fault.map_or(Ok(()), |fault| Err(Trouble::Broken(self.book.path(), fault)))
    }

    /// The document with a number.
    ///
    /// # Errors
    /// [`Trouble`].
    pub fn document(&self, number: &str) -> Result<Option<Viewed>, Trouble> {
        let Some(standing) = self.index.standing(number) else { return Ok(None) };
        let (line, hash) = self.line_at(standing.opened)?;
        let Entry::Opened(opened) = line.said else { return Ok(None) };
        Ok(Some(Viewed { status: self.status(&opened), opened: *opened, entry: line.entry, hash }))
    }

    /// SHA-256 of the PDF and of the HTML page of a document, where they were entered.
    ///
    /// # Errors
    /// [`Trouble`].
    pub fn files_of(&self, number: &str) -> Result<Option<[String; 2]>, Trouble> {
        let Some(End::Issued(span)) = self.index.standing(number).map(|it| it.end) else { return Ok(None) };
        match self.line_at(span)?.0.said {
            Entry::Issued(issued) => Ok(Some([issued.pdf, issued.html])),
            Entry::Opened(_) | Entry::Void(_) | Entry::Signed(_) => Ok(None),
        }
    }

    fn status(&self, opened: &Opened) -> Status {
        let number = opened.number.as_str();
        match self.index.standing(number).map(|standing| standing.end) {
            None | Some(End::Pending) => Status::Pending,
            Some(End::Void(_)) => Status::Void,
            Some(End::Issued(_)) if opened.draft => {
                let end = opened.stands_as().and_then(|number| self.index.standing(number)).map(|it| it.end);
                Status::Draft { is_settled: matches!(end, Some(End::Issued(_))) }
            }
            Some(End::Issued(_)) => match self.index.replaced_by(number) {
                Some(by) => Status::Replaced { by: by.to_owned() },
                None => Status::InForce,
            },
        }
    }
}

/// Which documents are meant: all that meet every condition; an empty condition is met by all.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Selection {
    /// Names of clients, as in their files; capital letters do not count.
    pub clients: Vec<String>,
    /// Tags of loops.
    pub tags: Vec<String>,
    /// First day of work.
    pub from: Option<NaiveDate>,
    /// Last day of work.
    pub to: Option<NaiveDate>,
}

impl Selection {
    /// Whether a document is meant. A summary has no tag: it is meant where no tags are asked for.
    pub fn takes(&self, opened: &Opened) -> bool {
        let same = |one: &str, other: &str| one.to_lowercase() == other.to_lowercase();
        let day = opened.day();
        let is_client = self.clients.is_empty() || self.clients.iter().any(|client| same(client, &opened.client));
        let tag = opened.tag.as_deref();
        let is_tag = self.tags.is_empty() || tag.is_some_and(|tag| self.tags.iter().any(|wanted| wanted == tag));
        let is_late_enough = self.from.is_none_or(|from| day.is_some_and(|day| day >= from));
        let is_early_enough = self.to.is_none_or(|to| day.is_some_and(|day| day <= to));
        is_client && is_tag && is_late_enough && is_early_enough
    }
}
