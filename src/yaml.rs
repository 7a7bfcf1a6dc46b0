//! Text to a tree of places: every leaf as typed, with its line and column.
//!
//! Comes in: the bytes of a file. Goes out: a [`Tree`], walked with [`At`] and [`Keys`], which book every problem of
//! the file in one ledger. Next: the checks of visit, client, kit, limits and firm. No other room knows a YAML parser.

mod at;
mod keys;

pub use at::{At, Text};
pub use keys::Keys;

use crate::problem::Problem;
use std::cell::RefCell;

/// A file as written.
#[derive(Debug)]
pub struct Tree {
    file: String,
    lines: Vec<String>,
    nodes: Vec<Node>,
    ledger: RefCell<Vec<Problem>>,
}

#[derive(Debug, Clone)]
struct Node {
    line: u32,
    column: u32,
    is_alias: bool,
    content: Content,
}

#[derive(Debug, Clone)]
enum Content {
    Leaf { text: String, quoted: bool },
    List(Vec<usize>),
    Mapping(Vec<(Text, usize)>),
}

/// Reads the bytes of `file` (its name for messages).
///
/// # Errors
/// What makes it impossible to build a tree; everything else is booked in the tree.
pub fn read(file: &str, bytes: &[u8]) -> Result<Tree, Vec<Problem>> {
    let _ = (file, bytes);
    unimplemented!("next commit")
}

/// The candidate nearest to `word`, only when it is close.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let _ = (word, candidates.into_iter().next());
    unimplemented!("next commit")
}

impl Tree {
    /// The top of the file.
    pub fn root(&self) -> At<'_> {
        At::root(self)
    }

    /// Every problem booked so far, sorted by line and column; the ledger is empty afterwards.
    pub fn problems(&self) -> Vec<Problem> {
        let mut problems = self.ledger.take();
        problems
            .sort_by(|a, b| (a.place.line, a.place.column).cmp(&(b.place.line, b.place.column)));
        problems
    }

    /// The text of line `line` (from 1); empty beyond the end.
    pub fn excerpt(&self, line: u32) -> &str {
        let index = (line as usize).wrapping_sub(1);
        self.lines.get(index).map_or("", |text| text.as_str())
    }

    /// The top keys, to recognise the kind of file.
    pub fn top_keys(&self) -> Vec<&str> {
        match self.nodes.first().map(|node| &node.content) {
            Some(Content::Mapping(entries)) => {
                entries.iter().map(|(key, _)| key.text.as_str()).collect()
            }
            _ => Vec::new(),
        }
    }
}
