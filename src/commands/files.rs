//! Paths on the command line to visit files, and a batch worked on in parallel, told in file order.

use super::arguments::Common;
use crate::client;
use crate::firm;
use crate::issue::Workers;
use crate::kit;
use crate::limits;
use crate::visit::{self, Given};
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

/// A path that cannot be worked on.
#[derive(Debug)]
pub struct NoAccess {
    /// The path as given.
    pub path: PathBuf,
    /// Why.
    pub why: String,
}

/// The visit files that the paths name, in the order given; a folder's files by name. In a folder, client, kit, limits and
/// firm files are recognised and passed over; a file given by name is always taken for a visit.
pub fn visits(paths: &[PathBuf]) -> (Vec<PathBuf>, Vec<NoAccess>) {
    let (mut files, mut lost) = (Vec::new(), Vec::new());
    for path in paths {
        match std::fs::metadata(path) {
            Ok(found) if found.is_dir() => match folder(path) {
                Ok(found) if found.is_empty() => {
                    lost.push(NoAccess { path: path.clone(), why: "no visit file in this folder".to_owned() });
                }
                Ok(found) => files.extend(found),
                Err(error) => lost.push(NoAccess { path: path.clone(), why: error.to_string() }),
            },
            Ok(_) => files.push(path.clone()),
            Err(error) => lost.push(NoAccess { path: path.clone(), why: error.to_string() }),
        }
    }
    let mut seen = std::collections::BTreeSet::new();
    files.retain(|file| match unreadable(file) {
        Some(why) => {
            lost.push(NoAccess { path: file.clone(), why });
            false
        }
        None => seen.insert(real(file)),
    });
    (files, lost)
}

/// Why an ordinary file may not be read; what else is wrong with it is told when it is opened.
fn unreadable(path: &Path) -> Option<String> {
    let is_file = path.is_file();
    is_file.then(|| std::fs::File::open(path)).and_then(Result::err).map(|error| error.to_string())
}

fn folder(path: &Path) -> std::io::Result<Vec<PathBuf>> {
    // A file that cannot be read is taken, so that it is told about when it is opened.
    let is_visit = |path: &PathBuf| std::fs::read(path).map_or(true, |bytes| is_visit_file(&bytes));
    Ok(yaml_files(path)?.into_iter().filter(is_visit).collect())
}

/// The YAML files of a folder, by name.
pub fn yaml_files(folder: &Path) -> std::io::Result<Vec<PathBuf>> {
    let here = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let mut files = Vec::new();
    for entry in std::fs::read_dir(here)? {
        let path = folder.join(entry?.file_name());
        let is_yaml = path.extension().is_some_and(|ending| ending == "yaml" || ending == "yml");
        if is_yaml && path.is_file() {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

/// Whether a file is not a client, kit, limits or firm file by its top keys: words at the beginning of a line before a colon.
/// What is no text is none of them.
pub fn is_visit_file(bytes: &[u8]) -> bool {
    let text = std::str::from_utf8(bytes).unwrap_or_default();
    let key = |line: &'_ str| line.split_once(':').map(|(key, _)| key.to_owned());
    let at_margin = |line: &&str| line.starts_with(|c: char| c.is_ascii_alphabetic());
    let keys: Vec<String> = text.lines().filter(at_margin).filter_map(key).collect();
    let keys: Vec<&str> = keys.iter().map(String::as_str).collect();
    let other = client::is_kind(&keys) || kit::is_kind(&keys) || limits::is_kind(&keys) || firm::is_kind(&keys);
    !other || visit::is_kind(&keys)
}

/// The path with every link followed; as it stands where that cannot be told.
pub fn real(path: &Path) -> PathBuf {
    let shown = if path.as_os_str().is_empty() { Path::new(".") } else { path };
    shown.canonicalize().unwrap_or_else(|_| shown.to_owned())
}

/// What the command line gives to every visit.
///
/// # Errors
/// A file of it cannot be read; nothing is worked on then.
pub fn given(common: &Common) -> Result<Given, NoAccess> {
    for path in [&common.firm, &common.limits].into_iter().flatten() {
        let opened =
            std::fs::metadata(path).and_then(|found| found.is_file().then(|| std::fs::File::open(path)).transpose());
        opened.map_err(|error| NoAccess { path: path.clone(), why: error.to_string() })?;
    }
    Ok(Given { firm: common.firm.clone(), limits: common.limits.clone(), ..Given::default() })
}

/// Works on every file and hands the results over in file order, chunk by chunk, so that memory does not grow with the number
/// of files. `begin` is through with a chunk before `finish` goes on, and `done` sees a whole chunk.
pub fn each<B: Send, T: Send>(
    files: &[PathBuf],
    workers: &Workers,
    chunk: usize,
    begin: impl Fn(&Path) -> B + Sync,
    finish: impl Fn(&Path, B) -> T + Sync,
    mut done: impl FnMut(Vec<(&Path, T)>) -> ControlFlow<()>,
) {
    for some in files.chunks(chunk.max(1)) {
        let begun = workers.map(some.iter().collect(), |file: &PathBuf| begin(file));
        let work = some.iter().zip(begun).collect();
        let results = workers.map(work, |(file, begun): (&PathBuf, B)| (file.as_path(), finish(file, begun)));
        if done(results).is_break() {
            return;
        }
    }
}
