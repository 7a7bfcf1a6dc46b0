//! The index: what the register says of each number, and which number belongs to a source key.
//!
//! Comes in: the lines of a [`Book`], read on as it grows. Goes out: where a document stands. Next: [`super::Register`].
//!
//! It keeps where lines stand, not what they say, so that it stays small with tens of thousands of documents.

use super::book::{Book, Fault, Found, Head, Mark, Span};
use super::line::Entry;
use std::collections::BTreeMap;
use std::io::Error;

/// What is known of every number.
#[derive(Debug, Default)]
pub struct Index {
    mark: Mark,
    numbers: BTreeMap<String, Standing>,
    keys: BTreeMap<String, String>,
}

/// How a number stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    /// Its `opened` line.
    pub opened: Span,
    /// What came of it.
    pub end: End,
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
        let Index { mark, numbers, keys } = self;
        let mut first = None;
        book.read_on(mark, |read| {
            let fault = match read {
                Ok(found) => enter(numbers, keys, found).err(),
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

    /// The number of the document with a source key.
    pub fn number_of(&self, key: &str) -> Option<&str> {
        self.keys.get(key).map(String::as_str)
    }

    /// Numbers of documents that were opened and neither issued nor void, in the order in which they were opened.
    pub fn pending(&self) -> Vec<String> {
        let pending = self.numbers.iter().filter(|(_, standing)| standing.end == End::Pending);
        let mut pending: Vec<(u64, &String)> = pending.map(|(number, at)| (at.opened.offset(), number)).collect();
        pending.sort_unstable();
        pending.into_iter().map(|(_, number)| number.clone()).collect()
    }
}

/// Enters one line.
fn enter(
    numbers: &mut BTreeMap<String, Standing>,
    keys: &mut BTreeMap<String, String>,
    found: Found<'_>,
) -> Result<(), Fault> {
    let Found { line, span, number: at, .. } = found;
    let out_of_turn = |number: String| Err(Fault::OutOfTurn { line: at, number });
    let (number, end) = match line.said {
        Entry::Opened(opened) => {
            if numbers.contains_key(&opened.number) {
                return out_of_turn(opened.number);
            }
            keys.insert(opened.source_key, opened.number.clone());
            numbers.insert(opened.number, Standing { opened: span, end: End::Pending });
            return Ok(());
        }
        Entry::Issued(issued) => (issued.number, End::Issued(span)),
        Entry::Void(void) => (void.number, End::Void(span)),
    };
    match numbers.get_mut(&number) {
        Some(standing) if standing.end == End::Pending => {
            standing.end = end;
            Ok(())
        }
        Some(_) | None => out_of_turn(number),
    }
}
