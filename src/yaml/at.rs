//! One node of a file with its place, and what can be asked of it.

use super::{Content, Keys, Node, Tree};
use crate::problem::{Place, Problem};
use crate::quantity::{Date, Measured, Moment, Unit};

/// A text as typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Text {
    /// The text.
    pub text: String,
    /// Where it stands.
    pub place: Place,
}

/// One node of a file with its place.
#[derive(Debug, Clone)]
pub struct At<'t> {
    tree: &'t Tree,
    node: usize,
    path: String,
}

impl<'t> At<'t> {
    pub(super) fn root(tree: &'t Tree) -> Self {
        At {
            tree,
            node: 0,
            path: String::new(),
        }
    }

    fn node(&self) -> &'t Node {
        &self.tree.nodes[self.node]
    }

    /// File, line, column and path of the node.
    pub fn place(&self) -> Place {
        Place {
            file: self.tree.file.clone(),
            line: self.node().line,
            column: self.node().column,
            path: self.path.clone(),
        }
    }

    /// Path inside the document: `loops[2].as_found.readings[0].mv`.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// Books a problem, with the line of its place as excerpt.
    pub fn tell(&self, problem: Problem) {
        self.tree.ledger.borrow_mut().push(problem);
    }

    /// Whether the node came through an alias (`*name`), so that the same lines stand in two places.
    pub fn is_alias(&self) -> bool {
        self.node().is_alias
    }

    /// Whether the node is a mapping.
    pub fn is_mapping(&self) -> bool {
        matches!(self.node().content, Content::Mapping(_))
    }

    /// Whether the node is a list.
    pub fn is_list(&self) -> bool {
        matches!(self.node().content, Content::List(_))
    }

    /// Whether the node is a text (also a number, a date …: whatever is neither mapping nor list).
    pub fn is_text(&self) -> bool {
        matches!(self.node().content, Content::Leaf { .. })
    }

    /// The text as typed, unchecked; `None` for mappings and lists.
    pub fn raw(&self) -> Option<&'t str> {
        match &self.node().content {
            Content::Leaf { text, quoted: _ } => Some(text),
            Content::List(_) | Content::Mapping(_) => None,
        }
    }

    /// The mapping, or a problem that says what (`what`) was expected.
    pub fn keys(&self, what: &str) -> Option<Keys<'t>> {
        let _ = what;
        Some(Keys::new(self.clone()))
    }

    /// The list, or a problem that says what (`what`) was expected.
    pub fn list(&self, what: &str) -> Option<Vec<At<'t>>> {
        let _ = what;
        unimplemented!("next commit")
    }

    /// A text that says something; blank texts and invisible characters are problems, placeholder words a warning.
    pub fn text(&self) -> Option<Text> {
        unimplemented!("next commit")
    }

    /// A number in the unit `U`.
    pub fn number<U: Unit>(&self) -> Option<Measured<U>> {
        unimplemented!("next commit")
    }

    /// One of `words`, spelt exactly; `what` says what the word is for.
    pub fn word<T: Copy>(&self, what: &str, words: &[(&str, T)]) -> Option<T> {
        let _ = (what, words);
        unimplemented!("next commit")
    }

    /// `yes`, `no`, `true` or `false`, unquoted.
    pub fn yes_no(&self) -> Option<bool> {
        unimplemented!("next commit")
    }

    /// A moment with offset.
    pub fn moment(&self) -> Option<Moment> {
        unimplemented!("next commit")
    }

    /// A moment inside a visit, see [`Moment::parse_within`].
    pub fn moment_within(&self, started: &Moment, finished: Option<&Moment>) -> Option<Moment> {
        let _ = (started, finished);
        unimplemented!("next commit")
    }

    /// A day.
    pub fn date(&self) -> Option<Date> {
        unimplemented!("next commit")
    }

    /// A day or a month, see [`Date::parse_expiry`].
    pub fn expiry(&self) -> Option<Date> {
        unimplemented!("next commit")
    }

    /// A list of two numbers; `what` says which: `range: lower and upper end`.
    pub fn pair<U: Unit>(&self, what: &str) -> Option<[Measured<U>; 2]> {
        let _ = what;
        unimplemented!("next commit")
    }
}
