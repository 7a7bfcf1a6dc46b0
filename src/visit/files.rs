//! The files of one visit: each read once, with its tree for later remarks and its place in the list of sources.

use super::limits_of::Named;
use crate::problem::Problem;
use crate::source::{Folder, Source};
use crate::yaml::{self, At, Shelf, Text, Tree};
use crate::{client, firm, kit, limits};
use std::cell::RefCell;
use std::path::Path;
use std::rc::Rc;
use std::sync::Arc;

/// What a file holds, in the order in which sources are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    Visit,
    Client,
    Kit,
    Limits,
    Firm,
}

impl Kind {
    pub(super) const fn word(self) -> &'static str {
        match self {
            Kind::Visit => "visit",
            Kind::Client => "client",
            Kind::Kit => "kit",
            Kind::Limits => "limits",
            Kind::Firm => "firm",
        }
    }

    /// What the top keys say; `None` when they say nothing.
    pub(super) fn told_by(keys: &[&str]) -> Option<Kind> {
        let tests: [(Kind, bool); 5] = [
            (Kind::Visit, super::is_kind(keys)),
            (Kind::Client, client::is_kind(keys)),
            (Kind::Limits, limits::is_kind(keys)),
            (Kind::Firm, firm::is_kind(keys)),
            (Kind::Kit, kit::is_kind(keys)),
        ];
        tests.iter().find(|(_, holds)| *holds).map(|(kind, _)| *kind)
    }
}

/// A file with its tree.
#[derive(Debug)]
struct Entry {
    kind: Kind,
    source: Source,
    /// Absent when the text cannot be read as YAML.
    tree: Option<Rc<Tree>>,
}

/// The files of one visit.
#[derive(Debug)]
pub(super) struct Files {
    /// Folder of the visit file, from which everything it names is read.
    pub(super) folder: Folder,
    /// The folder as the person typed it: names in messages lead from where the person stands.
    typed: String,
    /// The folder of a firm file that was given on the command line.
    pub(super) of_firm: Option<Folder>,
    /// What the visits of a batch share.
    shelf: Arc<Shelf>,
    entries: RefCell<Vec<Entry>>,
    loose: RefCell<Vec<Problem>>,
}

impl Files {
    /// The files of `folder`; messages lead to them from where the person stands, by `typed`.
    pub(super) fn new(folder: Folder, typed: &Path, shelf: Arc<Shelf>) -> Self {
        Files {
            shelf,
            folder,
            typed: typed.to_string_lossy().replace('\\', "/"),
            of_firm: None,
            entries: RefCell::default(),
            loose: RefCell::default(),
        }
    }

    /// The name that messages use for the file `name` of the visit's folder.
    pub(super) fn shown(&self, name: &str) -> String {
        joined(&self.typed, name)
    }

    /// Takes in a file that was read; its tree when it is one of the kind that is due.
    pub(super) fn take(&self, kind: Kind, source: Source, shown: &str) -> Option<Rc<Tree>> {
        let read = match kind {
            Kind::Visit => yaml::read(shown, &source.bytes),
            Kind::Client | Kind::Kit | Kind::Limits | Kind::Firm => self.shelf.read(shown, &source),
        };
        let tree = match read {
            Ok(tree) => Some(Rc::new(tree)),
            Err(problems) => {
                self.loose.borrow_mut().extend(problems);
                None
            }
        };
        let entry = Entry { kind, source, tree: tree.clone() };
        self.entries.borrow_mut().push(entry);
        tree
    }

    /// The file that `at` names in the file `from` (a name relative to the visit's folder): its name and tree.
    pub(super) fn load(&self, kind: Kind, from: &str, at: &At<'_>) -> Option<(String, Rc<Tree>)> {
        self.load_named(kind, &Named::at(at, from)?)
    }

    /// The same for a path that was read before. A file that is held already is not read into the sources again.
    pub(super) fn load_named(&self, kind: Kind, named: &Named) -> Option<(String, Rc<Tree>)> {
        let path = &named.path;
        let folder = match (named.given, &self.of_firm) {
            (true, Some(folder)) => folder,
            (_, _) => &self.folder,
        };
        if !is_yaml_path(&path.text) {
            self.tell(not_a_path(kind, path));
            return None;
        }
        let source = match folder.read(&named.from, &path.text, &path.place) {
            Ok(source) => source,
            Err(problem) => {
                self.tell(problem);
                return None;
            }
        };
        let source = match named.given {
            true => Source { name: super::of_given_firm(&source.name), ..source },
            false => source,
        };
        let name = source.name.clone();
        let tree = match self.held(&name) {
            Some(held) => held?,
            None => self.take(kind, source, &self.shown(&name))?,
        };
        match Kind::told_by(&tree.top_keys()) {
            Some(other) if other != kind => {
                self.tell(wrong_kind(kind, other, path));
                None
            }
            Some(_) | None => Some((name, tree)),
        }
    }

    /// The tree of a file that was read before; the inner `None` when it could not be read as YAML.
    fn held(&self, name: &str) -> Option<Option<Rc<Tree>>> {
        let entries = self.entries.borrow();
        let entry = entries.iter().find(|entry| entry.source.name == name)?;
        Some(entry.tree.clone())
    }

    /// Books a problem with the file that its place names.
    pub(super) fn tell(&self, problem: Problem) {
        let entries = self.entries.borrow();
        let tree = entries
            .iter()
            .filter_map(|entry| entry.tree.as_ref())
            .find(|tree| tree.root().place().file == problem.place.file);
        match tree {
            Some(tree) => tree.root().tell(problem),
            None => self.loose.borrow_mut().push(problem),
        }
    }

    /// Every problem, file by file in the order of the sources; in a file by line and column.
    pub(super) fn problems(&self) -> Vec<Problem> {
        let mut problems = self.loose.take();
        let mut entries = self.entries.borrow_mut();
        entries.sort_by_key(|entry| entry.kind);
        let trees = entries.iter().filter_map(|entry| entry.tree.as_ref());
        problems.extend(trees.flat_map(|tree| tree.problems()));
        problems
    }

    /// The sources: visit, client, kit, limits, firm.
    pub(super) fn sources(&self) -> Vec<Source> {
        let mut entries = self.entries.borrow_mut();
        entries.sort_by_key(|entry| entry.kind);
        entries.iter().map(|entry| entry.source.clone()).collect()
    }
}

/// Whether a text is meant as the path of a YAML file.
pub(super) fn is_yaml_path(text: &str) -> bool {
    let lower = text.to_ascii_lowercase();
    lower.ends_with(".yaml") || lower.ends_with(".yml")
}

fn not_a_path(kind: Kind, path: &Text) -> Problem {
    let text = &path.text;
    let fix = match kind {
        Kind::Client => {
            format!("write `client: {{name: {text}}}`, or the path of a client file ending in .yaml")
        }
        Kind::Visit | Kind::Kit | Kind::Limits | Kind::Firm => {
            format!("write the path of the {0} file, `{0}.yaml`", kind.word())
        }
    };
    Problem::error(
        "not-a-path",
        &path.place,
        format!("`{text}`"),
        format!("a {} file is named here, and its name ends in .yaml or .yml", kind.word()),
        fix,
    )
}

fn wrong_kind(due: Kind, found: Kind, path: &Text) -> Problem {
    Problem::error(
        "wrong-kind-of-file",
        &path.place,
        format!("`{}` is a {} file", path.text, found.word()),
        format!("a {} file is due here", due.word()),
        format!("name the {} file", due.word()),
    )
}

/// `name`, relative to `folder`, as seen from where `folder` is: `visits` and `../kit.yaml` give `kit.yaml`.
fn joined(folder: &str, name: &str) -> String {
    let mut parts: Vec<&str> = folder
        .split('/')
        .enumerate()
        .filter(|(i, part)| *part != "." && (!part.is_empty() || *i == 0 && folder.starts_with('/')))
        .map(|(_, part)| part)
        .collect();
    for part in name.split('/') {
        match (part, parts.last()) {
            ("..", Some(&last)) if last != ".." && !last.is_empty() => {
                parts.pop();
            }
            _ => parts.push(part),
        }
    }
    parts.join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_in_messages_lead_from_where_the_person_stands() {
        assert_eq!(joined("", "v.yaml"), "v.yaml");
        assert_eq!(joined(".", "v.yaml"), "v.yaml");
        assert_eq!(joined("visits", "../kit.yaml"), "kit.yaml");
        assert_eq!(joined("visits", "clients/a.yaml"), "visits/clients/a.yaml");
        assert_eq!(joined("", "../kit.yaml"), "../kit.yaml");
        assert_eq!(joined("..", "../kit.yaml"), "../../kit.yaml");
        assert_eq!(joined("/srv/visits", "../kit.yaml"), "/srv/kit.yaml");
    }
}
