//! The index: what the register says of each number, and which number belongs to a source key.
//!
//! Comes in: the lines of a [`Book`], read on as it grows. Goes out: where a document stands. Next: [`super::Register`].
//!
//! It keeps where lines stand, not what they say, so that it stays small with tens of thousands of documents.

use super::book::{Book, Fault, Found, Head, Mark, Span};
use super::line::{Entry, Opened};
use std::collections::BTreeMap;
use std::io::Error;

/// What is known of every number.
#[derive(Debug, Default)]
pub struct Index {
    mark: Mark,
    numbers: BTreeMap<String, Standing>,
    keys: BTreeMap<String, String>,
    /// What follows a document, by its number: the one amendment or re-evaluation that is no draft.
    followers: BTreeMap<String, String>,
}

/// How a number stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    /// Its `opened` line.
    pub opened: Span,
    /// What came of it.
    pub end: End,
    /// Whether signatures were awaited.
    pub is_draft: bool,
}

/// What came of a document that was opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// Nothing yet: a run is at work on it, or broke off.
    Pending,
    /// Its `issued` line.
    Issued(Span),
    /// Its `void` line.
    Void(Span),
}

impl Index {
    /// Reads the lines that were added since. Gives the first fault, if any.
    ///
    /// # Errors
    /// Those of the file system.
    pub fn catch_up(&mut self, book: &Book) -> Result<Option<Fault>, Error> {
        let Index { mark, numbers, keys, followers } = self;
        let mut tables = Tables { numbers, keys, followers };
        let mut first = None;
        book.read_on(mark, |read| {
            let fault = match read {
                Ok(found) => tables.enter(found).err(),
                Err(fault) => Some(fault),
            };
            if first.is_none() {
                first = fault;
            }
        })?;
        Ok(first)
    }

    /// The end of the chain as far as it was read.
    pub fn head(&self) -> &Head {
        self.mark.head()
    }

    /// How a number stands; none: it was never used.
    pub fn standing(&self, number: &str) -> Option<Standing> {
        self.numbers.get(number).copied()
    }

    /// Every number that was used, in the order of the alphabet.
    pub fn numbers(&self) -> impl Iterator<Item = &str> {
        self.numbers.keys().map(String::as_str)
    }

    /// The number of the document with a source key.
    pub fn number_of(&self, key: &str) -> Option<&str> {
        self.keys.get(key).map(String::as_str)
    }

    /// The amendment or re-evaluation that follows a document, if one was opened that is no draft.
    pub fn follower_of(&self, number: &str) -> Option<&str> {
        self.followers.get(number).map(String::as_str)
    }

    /// The last of the documents that follow one another from `number` on: itself where nothing follows.
    pub fn last_of<'n>(&'n self, number: &'n str) -> &'n str {
        let mut last = number;
        // A document follows one that was opened before it, so that this ends.
        while let Some(next) = self.follower_of(last) {
            last = next;
        }
        last
    }

    /// Number of the issued document that replaces another.
    pub fn replaced_by(&self, number: &str) -> Option<&str> {
        let is_issued = |next: &&str| matches!(self.standing(next).map(|it| it.end), Some(End::Issued(_)));
        self.follower_of(number).filter(is_issued)
    }

    /// Whether a document was issued, is no draft, and nothing replaces it.
    pub fn is_in_force(&self, number: &str) -> bool {
        let is_issued = |standing: Standing| matches!(standing.end, End::Issued(_)) && !standing.is_draft;
        self.standing(number).is_some_and(is_issued) && self.replaced_by(number).is_none()
    }

    /// Numbers of documents that were opened and neither issued nor void, in the order in which they were opened.
    pub fn pending(&self) -> Vec<String> {
        let pending = self.numbers.iter().filter(|(_, standing)| standing.end == End::Pending);
        let mut pending: Vec<(u64, &String)> = pending.map(|(number, at)| (at.opened.offset(), number)).collect();
        pending.sort_unstable();
        pending.into_iter().map(|(_, number)| number.clone()).collect()
    }
}

/// What the index keeps.
struct Tables<'i> {
    numbers: &'i mut BTreeMap<String, Standing>,
    keys: &'i mut BTreeMap<String, String>,
    followers: &'i mut BTreeMap<String, String>,
}

impl Tables<'_> {
    /// Enters one line.
    fn enter(&mut self, found: Found<'_>) -> Result<(), Fault> {
        let Found { line, span, number: at, .. } = found;
        let (number, end) = match line.said {
            Entry::Opened(opened) => return self.open(*opened, span, at),
            Entry::Issued(issued) => (issued.number, End::Issued(span)),
            Entry::Void(void) => (void.number, End::Void(span)),
            Entry::Signed(_) => return Ok(()),
        };
        match self.numbers.get_mut(&number) {
            Some(standing) if standing.end == End::Pending => {
                standing.end = end;
                if matches!(end, End::Void(_)) {
                    self.followers.retain(|_, follower| *follower != number);
                }
                Ok(())
            }
            Some(_) | None => Err(Fault::OutOfTurn { line: at, number }),
        }
    }

    fn open(&mut self, opened: Opened, span: Span, line: u64) -> Result<(), Fault> {
        let Opened { number, source_key, predecessor, draft: is_draft, .. } = opened;
        if self.numbers.contains_key(&number) {
            return Err(Fault::OutOfTurn { line, number });
        }
        if let Some(predecessor) = predecessor {
            let is_known = self.numbers.contains_key(&predecessor);
            if !is_known || (!is_draft && self.followers.contains_key(&predecessor)) {
                return Err(Fault::Forked { line, number, predecessor });
            }
            if !is_draft {
                self.followers.insert(predecessor, number.clone());
            }
        }
        self.keys.insert(source_key, number.clone());
        self.numbers.insert(number, Standing { opened: span, end: End::Pending, is_draft });
        Ok(())
    }
}
