//! A visit file and everything it names, read, checked and resolved.

use super::files::{Files, Kind};
use super::limits_of::{Named, Sets};
use super::{Accepted, Visit, check};
use crate::firm::{self, Firm};
use crate::problem::{Place, Problem};
use crate::source::Folder;
use crate::yaml::{Shelf, Text, Tree};
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::Arc;

/// What the command line gives in place of what the files name.
#[derive(Debug, Clone, Default)]
pub struct Given {
    /// Firm file instead of the `firm.yaml` found beside or above the visit.
    pub firm: Option<PathBuf>,
    /// Limits for every loop, whatever the files name.
    pub limits: Option<PathBuf>,
    /// Files that the visits of a batch share, read once.
    pub shelf: Arc<Shelf>,
}

/// A visit that was opened.
#[derive(Debug, Clone, PartialEq)]
pub struct Opened {
    /// The visit; absent when a problem other than warnings and acceptable errors was found.
    pub visit: Option<Visit>,
    /// In the place of a visit that is absent: its head and the loops that could be read. It is questioned with the rest, so
    /// that all problems come in one run; no document is made of it.
    pub fragment: Option<Visit>,
    /// The firm, or a plain one.
    pub firm: Firm,
    /// Every problem of every file, with excerpts: the visit's first, then client, kit, limits, firm.
    pub problems: Vec<Problem>,
    /// What each loop of the file accepts, by position, also where the visit is absent.
    pub accepted: Vec<Vec<Accepted>>,
}

/// Opens a visit file with the client, kit, limits and firm files it names.
///
/// # Errors
/// None of its own: everything that is wrong is told in [`Opened::problems`].
pub fn open(path: &Path, given: &Given) -> Opened {
    let folder = path.parent().unwrap_or(Path::new(""));
    let mut files = Files::new(folder, given.shelf.clone());
    let shown = path.to_string_lossy().into_owned();
    let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let mut opened =
        Opened { visit: None, fragment: None, firm: firm::plain(), problems: Vec::new(), accepted: Vec::new() };
    let Some(tree) = own(&files, &name, &shown) else {
        opened.problems = files.problems();
        return opened;
    };
    let firm_limits = read_firm(&mut files, &name, folder, given, &mut opened.firm);
    let sets = match &given.limits {
        Some(path) => Sets::given(read_given(&files, Kind::Limits, path, "limits").as_ref()),
        None => Sets::default(),
    };
    let checked = check::check(&tree.root(), &name, &files, &opened.firm, firm_limits.as_ref(), sets);
    opened.accepted = checked.accepted;
    opened.problems = files.problems();
    let visit = checked.visit.map(|visit| Visit { sources: files.sources(), ..visit });
    match checked.is_complete && !opened.problems.iter().any(Problem::refuses) {
        true => opened.visit = visit,
        false => opened.fragment = visit,
    }
    opened
}

/// The visit file itself, when it is one.
fn own(files: &Files, name: &str, shown: &str) -> Option<Rc<Tree>> {
    let source = match files.folder.open(name) {
        Ok(source) => source,
        Err(problem) => {
            files.tell(problem_of(problem, shown));
            return None;
        }
    };
    let tree = files.take(Kind::Visit, source, shown)?;
    if let Some(other) = Kind::told_by(&tree.top_keys()).filter(|kind| *kind != Kind::Visit) {
        tree.root().tell(Problem::error(
            "not-a-visit",
            &tree.root().place(),
            format!("this is a {} file", other.word()),
            "a certificate is made from a visit file, which names its client, kit and limits",
            "give the visit file; `halfcell new` writes one to fill in",
        ));
        return None;
    }
    Some(tree)
}

/// A problem with a file that the person named on the command line.
fn problem_of(problem: Problem, shown: &str) -> Problem {
    Problem { place: Place::whole(shown), ..problem }
}

/// The firm: given, else `firm.yaml` beside the visit or above. Gives the limits that it names.
fn read_firm(files: &mut Files, visit: &str, folder: &Path, given: &Given, firm: &mut Firm) -> Option<Named> {
    if let Some(path) = &given.firm {
        let tree = read_given(files, Kind::Firm, path, "firm")?;
        let own_folder = Folder::new(path.parent().unwrap_or(Path::new("")));
        let name = path.file_name()?.to_string_lossy().into_owned();
        *firm = firm::check(&tree.root(), &own_folder, &name)?;
        files.of_firm = Some(own_folder);
        let limits = firm.limits.as_ref()?;
        return Some(Named { given: true, ..Named::of(limits, &name) });
    }
    let name = ["firm.yaml", "../firm.yaml"].into_iter().find(|name| folder.join(name).exists())?;
    let path = Text { text: name.to_owned(), place: Place::whole(&files.shown(name)) };
    let (name, tree) = files.load_named(Kind::Firm, &Named::of(&path, visit))?;
    *firm = firm::check(&tree.root(), &files.folder, &name)?;
    firm.limits.as_ref().map(|limits| Named::of(limits, &name))
}

/// A file named on the command line. It may lie anywhere; the list of sources says that it was given.
fn read_given(files: &Files, kind: Kind, path: &Path, flag: &str) -> Option<Rc<Tree>> {
    let shown = path.to_string_lossy().into_owned();
    let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let folder = Folder::new(path.parent().unwrap_or(Path::new("")));
    let source = match folder.open(&name) {
        Ok(source) => source,
        Err(problem) => {
            files.tell(problem_of(problem, &shown));
            return None;
        }
    };
    let source = crate::source::Source { name: format!("{name} (--{flag})"), ..source };
    let tree = files.take(kind, source, &shown)?;
    match Kind::told_by(&tree.top_keys()) {
        Some(other) if other != kind => {
            tree.root().tell(Problem::error(
                "wrong-kind-of-file",
                &tree.root().place(),
                format!("`{shown}` is a {} file", other.word()),
                format!("a {} file is due after --{flag}", kind.word()),
                format!("name the {} file", kind.word()),
            ));
            None
        }
        Some(_) | None => Some(tree),
    }
}
