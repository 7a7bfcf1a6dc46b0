//! Which documents and which register the paths on the command line mean.

use super::super::files::{NoAccess, real};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Documents with the register that they are held against.
#[derive(Debug, Default)]
pub struct Group {
    /// The register's folder; none was found.
    pub register: Option<PathBuf>,
    /// The documents.
    pub files: Vec<PathBuf>,
    /// Those that were named, not found in a folder.
    pub named: BTreeSet<PathBuf>,
    /// Whether a folder was asked for: then the whole archive is looked through.
    pub is_whole: bool,
}

/// Name of a register's folder that is found by itself.
const REGISTER: &str = "register";

/// Whether a folder is that of a register.
fn is_register(folder: &Path) -> bool {
    folder.join("register.jsonl").is_file()
}

/// The documents that the paths name, in the order given, by register.
pub fn groups(paths: &[PathBuf], given: Option<&Path>) -> (Vec<Group>, Vec<NoAccess>) {
    let mut sorter = Sorter { given, groups: Vec::new(), lost: Vec::new(), seen: BTreeSet::new() };
    for path in paths {
        match std::fs::metadata(path) {
            Ok(found) if found.is_dir() => sorter.folder(path),
            Ok(_) => sorter.file(path, &above(&parent(path)), false),
            Err(error) => sorter.lost.push(NoAccess { path: path.clone(), why: error.to_string() }),
        }
    }
    (sorter.groups, sorter.lost)
}

struct Sorter<'g> {
    given: Option<&'g Path>,
    groups: Vec<Group>,
    lost: Vec<NoAccess>,
    seen: BTreeSet<PathBuf>,
}

impl Sorter<'_> {
    fn folder(&mut self, path: &Path) {
        if is_register(path) {
            self.group(Some(path.to_owned()), true);
        }
        let mut files = Vec::new();
        self.walk(path, &mut files);
        if files.is_empty() && !is_register(path) {
            match self.given.map(Path::to_owned).or_else(|| beside(path, path)) {
                Some(register) => drop(self.group(Some(register), true)),
                None => self.lost.push(NoAccess {
                    path: path.to_owned(),
                    why: "neither a document nor a register is in this folder".to_owned(),
                }),
            }
        }
        for file in files {
            self.file(&file, &above(&plain(path)), true);
        }
    }

    /// The documents below a folder, by name; what a register keeps and hidden folders are left out.
    fn walk(&mut self, folder: &Path, files: &mut Vec<PathBuf>) {
        let here = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        let entries = match std::fs::read_dir(here) {
            Ok(entries) => entries,
            Err(error) => return self.lost.push(NoAccess { path: folder.to_owned(), why: error.to_string() }),
        };
        let mut names: Vec<_> = entries.filter_map(|entry| Some(entry.ok()?.file_name())).collect();
        names.sort();
        for name in names {
            let path = plain(folder).join(&name);
            let is_hidden = name.to_string_lossy().starts_with('.');
            let is_archive = is_register(folder) && name == "archive";
            if path.is_dir() && !path.is_symlink() && !is_hidden && !is_archive {
                self.walk(&path, files);
            } else if path.is_file() && !is_hidden && is_document(&path) {
                files.push(path);
            }
        }
    }

    /// A document; a register is looked for in its folder and those above it, up to `top`.
    fn file(&mut self, file: &Path, top: &Path, is_whole: bool) {
        if self.seen.insert(real(file)) {
            let register = self.given.map(Path::to_owned).or_else(|| beside(&parent(file), top));
            let group = self.group(register, is_whole);
            group.files.push(file.to_owned());
            if !is_whole {
                group.named.insert(file.to_owned());
            }
        }
    }

    /// The group of a register.
    fn group(&mut self, register: Option<PathBuf>, is_whole: bool) -> &mut Group {
        let place = register.as_deref().map(real);
        let known = self.groups.iter().position(|group| group.register.as_deref().map(real) == place);
        let at = known.unwrap_or_else(|| {
            self.groups.push(Group { register, ..Group::default() });
            self.groups.len() - 1
        });
        self.groups[at].is_whole |= is_whole;
        &mut self.groups[at]
    }
}

/// Whether a file has the name of a document.
fn is_document(path: &Path) -> bool {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    ending.is_some_and(|ending| matches!(ending.as_str(), "pdf" | "html" | "htm"))
}

/// The register that lies in a folder or one above it, not beyond `top`.
fn beside(folder: &Path, top: &Path) -> Option<PathBuf> {
    let (mut here, top) = (folder.to_owned(), real(top));
    // A path has only so many steps; no loop can come of names that lead back.
    for _ in 0..64 {
        let inside = here.join(REGISTER);
        if let Some(found) = [here.clone(), inside].into_iter().find(|it| is_register(it)) {
            return Some(found);
        }
        let above = above(&here);
        if real(&here) == top || real(&above) == real(&here) {
            return None;
        }
        here = above;
    }
    None
}

/// The folder of a file, as it was named.
fn parent(file: &Path) -> PathBuf {
    file.parent().map(Path::to_owned).unwrap_or_default()
}

/// A folder without needless steps: `.` is the empty path.
fn plain(folder: &Path) -> PathBuf {
    if folder == Path::new(".") { PathBuf::new() } else { folder.to_owned() }
}

/// The folder above one.
fn above(folder: &Path) -> PathBuf {
    let plain = plain(folder);
    match plain.file_name() {
        Some(_) => parent(&plain),
        None if plain.is_absolute() => plain,
        None => plain.join(".."),
    }
}
