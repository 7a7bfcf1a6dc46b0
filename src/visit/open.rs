//! A visit file and everything it names, read, checked and resolved.

use super::files::{Files, Kind};
use super::limits_of::{Named, Sets};
use super::{Accepted, Visit, check};
use crate::firm::{self, Firm};
use crate::problem::{Place, Problem};
use crate::source::{Folder, Source};
use crate::yaml::{Shelf, Text, Tree};
use std::collections::BTreeMap;
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

/// Where the files of a visit are read from.
struct Origin {
    files: Files,
    /// Name of the visit file in its folder.
    name: String,
    /// The same for messages.
    shown: String,
    firm: Option<GivenFile>,
    limits: Option<GivenFile>,
}

/// A file of the command line, by its name in its own folder.
struct GivenFile {
    folder: Folder,
    name: String,
    shown: String,
}

impl GivenFile {
    fn at(path: &Path) -> Self {
        let folder = Folder::new(path.parent().unwrap_or(Path::new("")));
        GivenFile { folder, name: last_step(path), shown: path.to_string_lossy().into_owned() }
    }
}

fn last_step(path: &Path) -> String {
    path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

/// Opens a visit file with the client, kit, limits and firm files it names.
///
/// # Errors
/// None of its own: everything that is wrong is told in [`Opened::problems`].
pub fn open(path: &Path, given: &Given) -> Opened {
    let folder = path.parent().unwrap_or(Path::new(""));
    open_from(Origin {
        files: Files::new(Folder::new(folder), folder, given.shelf.clone()),
        name: last_step(path),
        shown: path.to_string_lossy().into_owned(),
        firm: given.firm.as_deref().map(GivenFile::at),
        limits: given.limits.as_deref().map(GivenFile::at),
    })
}

/// What the name of a source says after a file of the command line.
const GIVEN: [&str; 2] = [" (--firm)", " (--limits)"];
/// What it says after a file that a firm file of the command line names.
const OF_GIVEN_FIRM: &str = " (of --firm)";

/// The name, in the list of sources, of a file that a firm file of the command line names.
pub fn of_given_firm(name: &str) -> String {
    format!("{name}{OF_GIVEN_FIRM}")
}

/// The name, in the list of sources, of a limits file of the command line.
pub fn given_limits(name: &str) -> String {
    format!("{name}{}", GIVEN[1])
}

/// Whether a name of the list of sources is that of a limits file of the command line.
pub fn is_given_limits(name: &str) -> bool {
    name.ends_with(GIVEN[1])
}

/// Whether the firm file of these sources was given on the command line.
pub fn has_given_firm(sources: &[Source]) -> bool {
    sources.iter().any(|source| source.name.ends_with(GIVEN[0]))
}

/// Opens the visit `name` from files that were kept: every source by its name in the list of sources (with logo and
/// fonts), each with the path where it lies now.
///
/// # Errors
/// As [`open`].
pub fn open_kept(name: &str, kept: &BTreeMap<String, PathBuf>, shelf: &Arc<Shelf>) -> Opened {
    let (mut own, mut of_firm, mut given) = (BTreeMap::new(), BTreeMap::new(), [None, None]);
    for (name, path) in kept {
        let ending = GIVEN.iter().position(|ending| name.ends_with(ending));
        if let Some(at) = ending {
            let plain = name.trim_end_matches(GIVEN[at]).to_owned();
            of_firm.insert(plain.clone(), path.clone());
            given[at] = Some(plain);
        } else if let Some(plain) = name.strip_suffix(OF_GIVEN_FIRM) {
            of_firm.insert(plain.to_owned(), path.clone());
        } else {
            own.insert(name.clone(), path.clone());
        }
    }
    let folder = Folder::kept(of_firm);
    let given = given.map(|name| name.map(|name| GivenFile { folder: folder.clone(), shown: name.clone(), name }));
    let [firm, limits] = given;
    let files = Files::new(Folder::kept(own), Path::new(""), shelf.clone());
    open_from(Origin { files, name: name.to_owned(), shown: name.to_owned(), firm, limits })
}

fn open_from(origin: Origin) -> Opened {
    let Origin { mut files, name, shown, firm, limits } = origin;
    let mut opened =
        Opened { visit: None, fragment: None, firm: firm::plain(), problems: Vec::new(), accepted: Vec::new() };
    let Some(tree) = own(&files, &name, &shown) else {
        opened.problems = files.problems();
        return opened;
    };
    let firm_limits = read_firm(&mut files, &name, firm, &mut opened.firm);
    let sets = match &limits {
        Some(given) => Sets::given(read_given(&files, Kind::Limits, given, GIVEN[1]).as_ref()),
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
fn read_firm(files: &mut Files, visit: &str, given: Option<GivenFile>, firm: &mut Firm) -> Option<Named> {
    if let Some(given) = given {
        let tree = read_given(files, Kind::Firm, &given, GIVEN[0])?;
        *firm = firm::check(&tree.root(), &given.folder, &given.name)?;
        files.of_firm = Some(given.folder);
        let limits = firm.limits.as_ref()?;
        return Some(Named { given: true, ..Named::of(limits, &given.name) });
    }
    let name = ["firm.yaml", "../firm.yaml"].into_iter().find(|name| files.folder.has(name))?;
    let path = Text { text: name.to_owned(), place: Place::whole(&files.shown(name)) };
    let (name, tree) = files.load_named(Kind::Firm, &Named::of(&path, visit))?;
    *firm = firm::check(&tree.root(), &files.folder, &name)?;
    firm.limits.as_ref().map(|limits| Named::of(limits, &name))
}

/// A file named on the command line. It may lie anywhere; the list of sources says that it was given.
fn read_given(files: &Files, kind: Kind, given: &GivenFile, ending: &str) -> Option<Rc<Tree>> {
    let GivenFile { folder, name, shown } = given;
    let source = match folder.open(name) {
        Ok(source) => source,
        Err(problem) => {
            files.tell(problem_of(problem, shown));
            return None;
        }
    };
    let source = Source { name: format!("{name}{ending}"), ..source };
    let tree = files.take(kind, source, shown)?;
    match Kind::told_by(&tree.top_keys()) {
        Some(other) if other != kind => {
            tree.root().tell(Problem::error(
                "wrong-kind-of-file",
                &tree.root().place(),
                format!("`{shown}` is a {} file", other.word()),
                format!("a {0} file is due after --{0}", kind.word()),
                format!("name the {} file", kind.word()),
            ));
            None
        }
        Some(_) | None => Some(tree),
    }
}
