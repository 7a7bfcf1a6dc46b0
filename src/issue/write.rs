//! Sheets to files: both of a document, whole, never over a different one.

use super::Sheet;
use super::desk::{Hindrance, Outcome};
use crate::register::{Issued, Settled, Unsettled, put, sync_folder};
use std::collections::BTreeMap;
use std::io::{Error, ErrorKind};
use std::path::{Path, PathBuf};

/// Why a sheet was not written.
#[derive(Debug)]
pub enum Refused {
    /// A different document stands under this name.
    Different(PathBuf),
    /// The folder or a file cannot be written or read.
    Unwritable(PathBuf, Error),
}

/// Makes the folder of documents and sees that files can be written there.
///
/// # Errors
/// Those of the file system.
pub fn prepare(folder: &Path) -> Result<(), Error> {
    std::fs::create_dir_all(folder)?;
    tempfile::Builder::new().prefix(".halfcell-").tempfile_in(here(folder)).map(drop)
}

/// Writes a sheet as `STEM.pdf` and `STEM.html` into `folder`, made if missing: first looks at both, then writes under
/// temporary names, syncs and renames. What stands there already with the same bytes is left. Whether anything was written.
///
/// # Errors
/// [`Refused::Different`] before anything is written, [`Refused::Unwritable`].
pub fn write(folder: &Path, sheet: &Sheet) -> Result<bool, Refused> {
    let missing = missing(folder, sheet)?;
    for (path, bytes) in &missing {
        let is_new = put(here(folder), path, bytes).map_err(|error| Refused::Unwritable(path.clone(), error))?;
        // Another process wrote it a moment ago: the same bytes, or another document.
        if !is_new {
            there(path, bytes)?;
        }
    }
    Ok(!missing.is_empty())
}

/// The same for many sheets: writes under temporary names; [`deliver`] gives the names.
///
/// # Errors
/// As [`write`].
pub(super) fn begin(folder: &Path, sheet: &Sheet, files: &Unsettled) -> Result<(), Refused> {
    for (path, bytes) in missing(folder, sheet)? {
        files.put(here(folder), &path, bytes).map_err(|error| Refused::Unwritable(path, error))?;
    }
    Ok(())
}

/// Syncs what was begun and gives it its names. What cannot have its name is taken from what was done and told as hindering.
pub(super) fn deliver(folder: &Path, files: &Unsettled, painted: &mut [(Outcome, Vec<Issued>)]) {
    let failed = files.settle().into_iter().filter_map(|(path, settled)| match settled {
        Settled::Stands => None,
        Settled::Different => Some((path.clone(), Hindrance::Different(path))),
        Settled::Failed(error) => Some((path.clone(), Hindrance::Unwritable(path, error))),
    });
    let mut failed: BTreeMap<PathBuf, Hindrance> = failed.collect();
    if failed.is_empty() {
        return;
    }
    for (outcome, issued) in painted {
        outcome.done.retain(|done| {
            let hindrances = paths(folder, &done.stem).into_iter().filter_map(|path| failed.remove(&path));
            let Some(hindrance) = hindrances.collect::<Vec<_>>().into_iter().next() else { return true };
            outcome.hindrances.push(hindrance);
            issued.retain(|issued| issued.number != done.number);
            false
        });
    }
}

/// The files of a sheet that do not stand there, with their bytes.
fn missing<'s>(folder: &Path, sheet: &'s Sheet) -> Result<Vec<(PathBuf, &'s [u8])>, Refused> {
    std::fs::create_dir_all(folder).map_err(|error| Refused::Unwritable(folder.to_owned(), error))?;
    let [pdf, html] = paths(folder, &sheet.stem);
    let mut missing = Vec::new();
    for (path, bytes) in [(pdf, &sheet.pdf[..]), (html, sheet.html.as_bytes())] {
        if !there(&path, bytes)? {
            missing.push((path, bytes));
        }
    }
    Ok(missing)
}

/// The two files of a document.
pub fn paths(folder: &Path, stem: &str) -> [PathBuf; 2] {
    ["pdf", "html"].map(|ending| folder.join(format!("{stem}.{ending}")))
}

/// Makes the names in the folder of documents outlive a loss of power.
///
/// # Errors
/// Those of the file system. A folder that does not exist holds no name.
pub fn settle(folder: &Path) -> Result<(), Error> {
    match sync_folder(here(folder)) {
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(()),
        done => done,
    }
}

/// The folder as a path that can be opened.
fn here(folder: &Path) -> &Path {
    if folder.as_os_str().is_empty() { Path::new(".") } else { folder }
}

/// Whether the file stands there with these bytes.
fn there(path: &Path, bytes: &[u8]) -> Result<bool, Refused> {
    match std::fs::read(path) {
        Ok(found) if found == bytes => Ok(true),
        Ok(_) => Err(Refused::Different(path.to_owned())),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(false),
        Err(error) => Err(Refused::Unwritable(path.to_owned(), error)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(text: &str) -> Sheet {
        Sheet { number: "V-1".into(), stem: "V-1".into(), pdf: text.into(), html: text.into() }
    }

    #[test]
    fn same_bytes_are_left_and_others_refused() {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("new/below");
        assert!(write(&out, &sheet("a")).unwrap());
        assert!(!write(&out, &sheet("a")).unwrap());
        let refused = write(&out, &sheet("b")).unwrap_err();
        assert!(matches!(refused, Refused::Different(path) if path.ends_with("V-1.pdf")));
        assert_eq!(std::fs::read(out.join("V-1.pdf")).unwrap(), b"a");
    }

    #[test]
    fn nothing_of_a_document_is_written_when_one_half_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("V-1.html"), "another").unwrap();
        assert!(matches!(write(folder.path(), &sheet("a")), Err(Refused::Different(_))));
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_missing_half_is_written_again() {
        let folder = tempfile::tempdir().unwrap();
        write(folder.path(), &sheet("a")).unwrap();
        std::fs::remove_file(folder.path().join("V-1.html")).unwrap();
        assert!(write(folder.path(), &sheet("a")).unwrap());
        assert!(folder.path().join("V-1.html").exists());
    }
}
