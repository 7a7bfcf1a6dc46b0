//! One node of a file with its place, and what can be asked of it.
//!
//! Every question books its own problem and answers `None`; the caller goes on with the next question, so that all
//! problems of a file come in one run.

use super::{Content, Entry, Keys, Node, Style, Tree, levels, nearest};
use crate::problem::{Place, Problem};

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
        At { tree, node: 0, path: String::new() }
    }

    fn node(&self) -> &'t Node {
        &self.tree.nodes[self.node]
    }

    pub(super) fn tree(&self) -> &'t Tree {
        self.tree
    }

    /// The value of an entry of this mapping.
    pub(super) fn child(&self, entry: &Entry) -> At<'t> {
        At { tree: self.tree, node: entry.value, path: self.path_to(&entry.key) }
    }

    pub(super) fn path_to(&self, key: &str) -> String {
        let mut path = String::with_capacity(self.path.len() + key.len() + 1);
        path.push_str(&self.path);
        super::push_key(&mut path, key);
        path
    }

    pub(super) fn entries(&self) -> &'t [Entry] {
        match &self.node().content {
            Content::Mapping(entries) => entries,
            Content::List(_) | Content::Leaf { .. } => &[],
        }
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
        self.tree.book(problem);
    }

    /// Whether the file has more problems than are listed: nothing more that is found in it will be told.
    pub fn is_full(&self) -> bool {
        self.tree.is_full()
    }

    /// Whether `key` stands in this mapping, or an unknown key that is nearly `key` and is told as such: then nothing
    /// is said of its absence.
    pub fn holds(&self, key: &str) -> bool {
        let is_slip = |typed: &str| !typed.starts_with("x-") && !levels::is_known(typed);
        let is_it = |typed: &str| typed == key || (is_slip(typed) && nearest(typed, std::iter::once(key)).is_some());
        self.entries().iter().any(|entry| is_it(&entry.key))
    }

    /// Takes back what was booked at this node under `code`: a message that says more follows.
    pub fn withdraw(&self, code: &str) {
        self.withdraw_where(|told| told.code == code && told.place.path == self.path);
    }

    /// Takes back what was booked in this file and fits.
    pub fn withdraw_where(&self, is_it: impl Fn(&Problem) -> bool) {
        self.tree.ledger.borrow_mut().retain(|told| !is_it(told));
    }

    pub(super) fn error(
        &self,
        code: &'static str,
        what: impl Into<String>,
        why: impl Into<String>,
        fix: impl Into<String>,
    ) {
        self.tell(Problem::error(code, &self.place(), what, why, fix));
    }

    pub(super) fn or_tell<T>(&self, read: Result<T, Problem>) -> Option<T> {
        read.map_err(|problem| self.tell(problem)).ok()
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
            Content::Leaf { text, .. } => Some(text),
            Content::List(_) | Content::Mapping(_) => None,
        }
    }

    /// What stands here, for messages: `a list`, `7.31`.
    pub(super) fn found(&self) -> String {
        match &self.node().content {
            Content::Leaf { text, .. } => format!("`{}`", shortened(text)),
            Content::List(_) => "a list".to_owned(),
            Content::Mapping(_) => "keys with values".to_owned(),
        }
    }

    /// Whether a problem was booked for this value already.
    pub(super) fn is_told(&self) -> bool {
        matches!(self.node().content, Content::Leaf { told: true, .. })
    }

    /// The mapping, or `expected-mapping`; `what` says what was expected: `a reading`.
    pub fn keys(&self, what: &str) -> Option<Keys<'t>> {
        if self.is_mapping() {
            return Some(Keys::new(self.clone()));
        }
        if !self.is_told() {
            let fix = "write `key: value` pairs, indented below, or between braces { }";
            self.error(
                "expected-mapping",
                format!("found {} where {what} is due", self.found()),
                "keys with values are expected here",
                fix,
            );
        }
        None
    }

    /// The entries of the list, or `expected-list`; `what` says what was expected: `readings`.
    pub fn list(&self, what: &str) -> Option<Vec<At<'t>>> {
        match &self.node().content {
            Content::List(children) => {
                let at = |(count, &node): (usize, &usize)| At {
                    tree: self.tree,
                    node,
                    path: format!("{}[{count}]", self.path),
                };
                Some(children.iter().enumerate().map(at).collect())
            }
            Content::Leaf { told: true, .. } => None,
            Content::Leaf { text, .. } => {
                let fix = format!("write [{}]", shortened(text));
                self.error(
                    "expected-list",
                    format!("found {} where a list of {what} is due", self.found()),
                    "a list is expected, of one entry or more",
                    fix,
                );
                None
            }
            Content::Mapping(_) => {
                let fix = "begin each entry with `- ` on a line of its own";
                self.error(
                    "expected-list",
                    format!("found {} where a list of {what} is due", self.found()),
                    "a list is expected, of one entry or more",
                    fix,
                );
                None
            }
        }
    }

    /// One value with its style, unless it was told already.
    pub(super) fn leaf(&self, what: &str) -> Option<(&'t str, Style)> {
        match &self.node().content {
            Content::Leaf { told: true, .. } => None,
            Content::Leaf { text, style, .. } => Some((text, *style)),
            Content::List(_) | Content::Mapping(_) => {
                let why = "one value is expected here";
                let fix = format!("write {what} on the line of the key");
                self.error("expected-value", format!("found {} where {what} is due", self.found()), why, fix);
                None
            }
        }
    }
}

/// At most 60 characters of a text.
pub(super) fn shortened(text: &str) -> String {
    match text.char_indices().nth(60) {
        Some((end, _)) => format!("{}\u{2026}", &text[..end]),
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use crate::quantity::{Millivolt, Plain};
    use crate::yaml::{At, read};

    /// Asks one question of the key `a` of a file; gives the code, column and fix of every problem.
    fn ask(text: &str, question: impl Fn(&At<'_>)) -> Vec<(&'static str, u32, String)> {
        let tree = read("visit.yaml", text.as_bytes()).expect("a tree");
        question(&tree.root().keys("a file").and_then(|mut keys| keys.get("a")).expect("the key a"));
        tree.problems().into_iter().map(|problem| (problem.code, problem.place.column, problem.fix)).collect()
    }

    #[test]
    fn a_single_value_gets_the_list_as_fix() {
        let problems = ask("a: A. Name\n", |at| assert!(at.list("technicians").is_none()));
        assert_eq!(problems, [("expected-list", 4, "write [A. Name]".to_owned())]);
    }

    #[test]
    fn what_was_told_is_not_told_again() {
        let problems = ask("a:\n", |at| {
            assert!(
                at.text().is_none()
                    && at.number::<Millivolt>().is_none()
                    && at.list("x").is_none()
                    && at.keys("x").is_none()
            );
            assert!(at.pair::<Plain>("x").is_none() && at.yes_no().is_none() && at.word("x", &[("y", 1)]).is_none());
        });
        assert_eq!(problems.len(), 1);
    }
}
