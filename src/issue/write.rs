//! Sheets to files: all of a visit or none, never over a different document.

use super::Sheet;
use std::io::Write;
use std::path::{Path, PathBuf};

/// What became of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// Both files were written.
    Written,
    /// The same bytes were there already.
    AlreadyThere,
}

/// Why the sheets of a visit were not written.
#[derive(Debug)]
pub enum Refused {
    /// A different document stands under this name.
    Different(PathBuf),
    /// The folder or a file cannot be written or read.
    Unwritable(PathBuf, std::io::Error),
}

/// Writes every sheet as `STEM.pdf` and `STEM.html` into `folder`, made if missing: first looks at all, then writes under
/// temporary names and renames. What stands there already with the same bytes is left.
///
/// # Errors
/// [`Refused::Different`] before anything is written, [`Refused::Unwritable`].
pub fn write(folder: &Path, sheets: &[Sheet]) -> Result<Vec<Fate>, Refused> {
    std::fs::create_dir_all(folder).map_err(|error| Refused::Unwritable(folder.to_owned(), error))?;
    let mut fates = Vec::with_capacity(sheets.len());
    for sheet in sheets {
        let [pdf, html] = files(folder, sheet).map(|(path, bytes)| there(&path, bytes));
        fates.push(match (pdf?, html?) {
            (true, true) => Fate::AlreadyThere,
            (true, false) | (false, true) | (false, false) => Fate::Written,
        });
    }
    for (sheet, fate) in sheets.iter().zip(&fates) {
        if *fate == Fate::Written {
            for (path, bytes) in files(folder, sheet) {
                put(folder, &path, bytes)?;
            }
        }
    }
    Ok(fates)
}

fn files<'a>(folder: &Path, sheet: &'a Sheet) -> [(PathBuf, &'a [u8]); 2] {
    let path = |ending: &str| folder.join(format!("{}.{ending}", sheet.stem));
    [(path("pdf"), &sheet.pdf), (path("html"), sheet.html.as_bytes())]
}

/// Whether the file stands there with these bytes.
fn there(path: &Path, bytes: &[u8]) -> Result<bool, Refused> {
    match std::fs::read(path) {
        Ok(found) if found == bytes => Ok(true),
        Ok(_) => Err(Refused::Different(path.to_owned())),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(false),
        Err(error) => Err(Refused::Unwritable(path.to_owned(), error)),
    }
}

fn put(folder: &Path, path: &Path, bytes: &[u8]) -> Result<(), Refused> {
    let unwritable = |error| Refused::Unwritable(path.to_owned(), error);
    if there(path, bytes)? {
        return Ok(());
    }
    let mut file = tempfile::Builder::new().prefix(".halfcell-").tempfile_in(folder).map_err(unwritable)?;
    file.write_all(bytes).and_then(|()| file.as_file().sync_all()).map_err(unwritable)?;
    match file.persist_noclobber(path) {
        Ok(file) => readable(&file, path),
        Err(lost) if lost.error.kind() == std::io::ErrorKind::AlreadyExists => there(path, bytes).map(|_| ()),
        Err(lost) => Err(unwritable(lost.error)),
    }
}

/// Temporary files are private to their owner; a certificate is for everybody the folder is open to.
#[cfg(unix)]
fn readable(file: &std::fs::File, path: &Path) -> Result<(), Refused> {
    use std::os::unix::fs::PermissionsExt;
    let everybody = std::fs::Permissions::from_mode(0o644);
    file.set_permissions(everybody).map_err(|error| Refused::Unwritable(path.to_owned(), error))
}

/// Elsewhere the folder's rights hold.
#[cfg(not(unix))]
fn readable(_: &std::fs::File, _: &Path) -> Result<(), Refused> {
    Ok(())
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
        assert_eq!(write(&out, &[sheet("a")]).unwrap(), [Fate::Written]);
        assert_eq!(write(&out, &[sheet("a")]).unwrap(), [Fate::AlreadyThere]);
        let refused = write(&out, &[sheet("b")]).unwrap_err();
        assert!(matches!(refused, Refused::Different(path) if path.ends_with("V-1.pdf")));
        assert_eq!(std::fs::read(out.join("V-1.pdf")).unwrap(), b"a");
    }

    #[test]
    fn nothing_of_a_visit_is_written_when_one_sheet_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        write(folder.path(), &[sheet("a")]).unwrap();
        let other = Sheet { stem: "V-0".into(), ..sheet("c") };
        assert!(write(folder.path(), &[other, sheet("b")]).is_err());
        let names: Vec<_> = std::fs::read_dir(folder.path()).unwrap().collect();
        assert_eq!(names.len(), 2);
    }

    #[test]
    fn a_missing_half_is_written_again() {
        let folder = tempfile::tempdir().unwrap();
        write(folder.path(), &[sheet("a")]).unwrap();
        std::fs::remove_file(folder.path().join("V-1.html")).unwrap();
        assert_eq!(write(folder.path(), &[sheet("a")]).unwrap(), [Fate::Written]);
        assert!(folder.path().join("V-1.html").exists());
    }
}
