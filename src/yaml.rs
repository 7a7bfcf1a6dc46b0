//! Text to a tree of places: every leaf as typed, with its line and column.
//!
//! Comes in: the bytes of a file. Goes out: a [`Tree`], walked with [`At`] and [`Keys`], which book every problem of
//! the file in one ledger. Next: the checks of visit, client, kit, limits and firm. No other room knows a YAML parser.
//!
//! Two parsers read every file and must find the same keys and texts (the second reading). What an accepted file may
//! hold is less than YAML: no tags, no merge keys, no document after the first, no empty values; every plain text is
//! kept as typed and never taken for a number, a date or a truth value by the parser.

mod answer;
mod at;
mod build;
mod decode;
mod keys;
mod levels;
mod lines;
mod nearest;
mod outline;
mod scan;
mod second;
mod shelf;
mod traps;

pub use at::{At, Text};
pub use keys::Keys;
pub use nearest::{few, nearest};
pub use outline::Outline;
pub use shelf::Shelf;

use crate::problem::{Place, Problem};
use lines::Lines;
use std::cell::RefCell;
use std::sync::Arc;

/// Problems of one file beyond which no more are listed.
const MAX_PROBLEMS: usize = 500;

/// A file as written.
#[derive(Debug)]
pub struct Tree {
    file: String,
    lines: Arc<Lines>,
    nodes: Arc<Vec<Node>>,
    ledger: RefCell<Vec<Problem>>,
}

/// One value, list or mapping; the top of the file is node 0.
#[derive(Debug)]
struct Node {
    line: u32,
    column: u32,
    is_alias: bool,
    content: Content,
}

#[derive(Debug, Clone)]
enum Content {
    /// `told`: a problem was booked already, so that nothing more is said about the value.
    Leaf {
        text: String,
        style: Style,
        told: bool,
    },
    List(Vec<usize>),
    Mapping(Vec<Entry>),
}

#[derive(Debug, Clone)]
struct Entry {
    key: String,
    line: u32,
    column: u32,
    is_plain: bool,
    /// A comma or a closing brace stands where the colon is due.
    is_bare: bool,
    value: usize,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Style {
    Plain,
    Quoted,
    Block,
}

/// Reads the bytes of `file` (its name for messages).
///
/// # Errors
/// What makes it impossible to build a tree: `file-too-large`, `text-encoding`, `line-separator`,
/// `control-character`, `empty-file`, `several-documents`, `top-level-shape`, the limits (`too-deep`,
/// `too-many-values`, `text-too-long`), `key-shape` and what is not well-formed (`yaml-…`). Everything else is booked
/// in the tree.
///
/// # Examples
/// ```
/// let tree = halfcell::yaml::read("visit.yaml", b"visit:\n  number: HM-2026-031\n  sight: works\n").unwrap();
/// let mut visit = tree.root().keys("a visit").unwrap().need("visit", "it names the visit").unwrap().keys("a visit").unwrap();
/// assert_eq!(visit.need("number", "it names the visit").unwrap().text().unwrap().text, "HM-2026-031");
/// assert!(visit.get("site").is_none());
/// visit.finish();
/// let problems = tree.problems();
/// assert_eq!((problems[0].code, problems[0].place.line), ("unknown-key", 3));
/// ```
pub fn read(file: &str, bytes: &[u8]) -> Result<Tree, Vec<Problem>> {
    let lines = decode::decode(file, bytes).map_err(|problem| vec![problem])?;
    let (mut nodes, mut problems) = build::build(file, &lines).map_err(|problem| vec![problem])?;
    check_top(file, &lines, &nodes).map_err(|problem| vec![problem])?;
    if problems.is_empty() {
        second::agrees(file, &lines, &nodes).map_err(|problem| vec![problem])?;
    }
    problems.extend(traps::check(file, &lines, &mut nodes));
    let (lines, nodes) = (Arc::new(lines), Arc::new(nodes));
    let tree = Tree { file: file.to_owned(), lines, nodes, ledger: RefCell::default() };
    problems.into_iter().for_each(|problem| tree.book(problem));
    Ok(tree)
}

/// The top of every file is made of keys.
fn check_top(file: &str, lines: &Lines, nodes: &[Node]) -> Result<(), Problem> {
    let expected = "a visit file begins with the keys `visit`, `loops` and `signatures`; a client, kit, limits or firm file with `client`, `standards`, `limits` or `firm`";
    let found = match nodes.first().map(|top| (top, &top.content)) {
        Some((_, Content::Mapping(_))) => return Ok(()),
        Some((top, Content::List(_))) => (top, "a list"),
        Some((top, Content::Leaf { text, style, .. })) if !(traps::is_nothing(text, *style)) => (top, "a single text"),
        Some((_, Content::Leaf { .. })) | None => {
            return Err(Problem::error(
                "empty-file",
                &Place::whole(file),
                "the file holds nothing",
                expected,
                "`halfcell new` writes a visit file to fill in",
            ));
        }
    };
    let place = Place { line: found.0.line, column: found.0.column, ..Place::whole(file) };
    let fix = "begin with `visit:` at the left edge, then `loops:` and `signatures:`; `halfcell new` writes a visit file to fill in";
    Err(Problem::error("top-level-shape", &place, format!("the top of the file is {}", found.1), expected, fix)
        .with_excerpt(lines.line(place.line)))
}

/// Adds a key to a path: `visit.number`; a key that is not one plain word stands in quotes: `people."A. Name"`.
fn push_key(path: &mut String, key: &str) {
    if !path.is_empty() {
        path.push('.');
    }
    let is_word = !key.is_empty() && key.chars().all(|c| c.is_alphanumeric() || matches!(c, '_' | '-'));
    if is_word { path.push_str(key) } else { path.push_str(&format!("\"{key}\"")) }
}

impl Tree {
    /// The top of the file.
    pub fn root(&self) -> At<'_> {
        At::root(self)
    }

    /// Every problem booked so far, sorted by line and column; the ledger is empty afterwards.
    pub fn problems(&self) -> Vec<Problem> {
        let mut problems = self.ledger.take();
        problems.sort_by_key(|problem| (problem.place.line, problem.place.column));
        problems
    }

    /// The text of line `line` (from 1); empty beyond the end.
    pub fn excerpt(&self, line: u32) -> &str {
        self.lines.line(line)
    }

    /// The top keys, to recognise the kind of file.
    pub fn top_keys(&self) -> Vec<&str> {
        match self.nodes.first().map(|node| &node.content) {
            Some(Content::Mapping(entries)) => entries.iter().map(|entry| entry.key.as_str()).collect(),
            Some(Content::List(_) | Content::Leaf { .. }) | None => Vec::new(),
        }
    }

    fn is_full(&self) -> bool {
        self.ledger.borrow().len() > MAX_PROBLEMS
    }

    fn book(&self, problem: Problem) {
        let mut ledger = self.ledger.borrow_mut();
        if ledger.len() > MAX_PROBLEMS {
            return;
        }
        if ledger.len() == MAX_PROBLEMS {
            let what = format!("the file has more than {MAX_PROBLEMS} problems; the others are not listed");
            ledger.push(Problem::error(
                "too-many-problems",
                &Place::whole(&self.file),
                what,
                "",
                "check that this is the right file",
            ));
            return;
        }
        let line = problem.place.line;
        let is_here = problem.place.file == self.file && problem.excerpt.is_empty();
        ledger.push(if is_here { problem.with_excerpt(self.lines.line(line)) } else { problem });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> Problem {
        read("visit.yaml", text.as_bytes()).map(|_| ()).expect_err(text).remove(0)
    }

    #[test]
    fn a_file_that_holds_nothing_offers_the_template() {
        for text in ["", "# only a comment\n", "---\n", "\n\n", "~\n", "\u{feff}"] {
            let problem = refused(text);
            assert_eq!((problem.code, problem.place.line), ("empty-file", 0), "{text:?}");
            assert!(problem.fix.contains("halfcell new"));
        }
    }

    #[test]
    fn a_top_that_is_no_mapping_names_the_first_keys() {
        for (text, found) in [("- a\n- b\n", "a list"), ("hello\n", "a single text")] {
            let problem = refused(text);
            assert_eq!((problem.code, problem.place.line, problem.place.column), ("top-level-shape", 1, 1));
            assert!(
                problem.what.contains(found) && problem.why.contains("`visit`, `loops` and `signatures`"),
                "{problem:?}"
            );
        }
    }

    #[test]
    fn a_second_document_is_refused_at_its_line() {
        let problem = refused("---\nvisit: {number: a}\n---\nvisit: {number: b}\n");
        assert_eq!((problem.code, problem.place.line), ("several-documents", 3));
        assert!(problem.why.contains("one file holds one visit"));
    }

    #[test]
    fn columns_are_counted_without_the_byte_order_mark() {
        let tree = read("visit.yaml", "\u{feff}visit: \u{b0}\u{b0} x\n".as_bytes()).expect("a tree");
        let place = tree.root().keys("a visit").and_then(|mut keys| keys.get("visit")).map(|at| at.place());
        assert_eq!(place.map(|place| (place.line, place.column, place.path)), Some((1, 8, "visit".to_owned())));
    }

    #[test]
    fn limits_are_named() {
        let deep = format!("a: {}{}", "[".repeat(60), "]".repeat(60));
        assert_eq!(refused(&deep).code, "too-deep");
        let long = format!("a: {}", "x".repeat(20_001));
        assert_eq!(refused(&long).code, "text-too-long");
        let many = format!("a: [{}]", "x,".repeat(100_001));
        assert_eq!(refused(&many).code, "too-many-values");
    }

    #[test]
    fn keys_that_are_no_texts_are_refused() {
        for text in ["? [a]\n: b\n", "number: {{visit}}\n", "a: &a b\n*a : c\n"] {
            assert_eq!(refused(text).code, "key-shape", "{text}");
        }
    }

    #[test]
    fn aliases_are_expanded_and_flagged() {
        let tree = read("visit.yaml", b"a: &base {x: [1, 2]}\nb: *base\n").expect("a tree");
        let mut top = tree.root().keys("keys").expect("keys");
        let (a, b) = (top.get("a").expect("a"), top.get("b").expect("b"));
        assert!(!a.is_alias() && b.is_alias());
        let inner =
            b.keys("keys").and_then(|mut keys| keys.get("x")).and_then(|x| x.list("numbers")).expect("the list");
        assert_eq!((inner[1].raw(), inner[1].path(), inner[1].is_alias()), (Some("2"), "b.x[1]", true));
        assert_eq!((b.place().line, b.place().column, inner[1].place().line), (2, 4, 1));
        assert!(tree.problems().is_empty());
    }

    #[test]
    fn an_alias_of_itself_and_an_anchor_twice_are_refused() {
        assert_eq!(refused("a: &a [*a]\n").code, "yaml-alias");
        let tree = read("visit.yaml", b"a: &x 1\nb: &x 2\nc: *x\n").expect("a tree");
        let problems = tree.problems();
        assert_eq!((problems[0].code, problems[0].place.line), ("yaml-anchor-twice", 2));
        assert_eq!(problems[0].place.path, "b");
    }

    #[test]
    fn tags_are_refused() {
        let tree = read("visit.yaml", b"a: !!str 1\nb: !x {c: d}\n").expect("a tree");
        let codes: Vec<(&str, u32)> =
            tree.problems().iter().map(|problem| (problem.code, problem.place.line)).collect();
        assert_eq!(codes, [("yaml-tag", 1), ("yaml-tag", 2)]);
    }

    #[test]
    fn the_list_of_problems_has_an_end() {
        let text: String = (0..2000).map(|index| format!("k{index}:\n")).collect();
        let problems = read("visit.yaml", text.as_bytes()).expect("a tree").problems();
        assert_eq!(problems.len(), MAX_PROBLEMS + 1);
        assert!(problems.iter().any(|problem| problem.code == "too-many-problems"));
    }
}
