//! The archive: every text, record and picture once, under its SHA-256.
//!
//! Comes in: bytes. Goes out: a file named by their hash; later the bytes again. Next: [`super::book`], whose lines name the
//! hashes.

use super::line::hash_of;
use super::unsettled::{Settled, Unsettled, at_once};
use std::collections::{BTreeSet, HashSet};
use std::io::{Error, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use tempfile::NamedTempFile;

/// Beginning of the names of files that are being written.
const UNFINISHED: &str = ".halfcell-";

/// A folder of files named by the hash of what they hold.
#[derive(Debug)]
pub struct Archive {
    folder: PathBuf,
    files: Unsettled,
    /// Hashes whose names a loss of power could still take away.
    unsettled: Mutex<BTreeSet<String>>,
    /// Beginnings of the hashes that are known to last: looked for no more.
    lasting: Mutex<HashSet<u128>>,
}

impl Archive {
    /// The archive in `folder`, which need not exist yet.
    pub fn new(folder: &Path) -> Self {
        let files = Unsettled::default();
        Archive { folder: folder.to_owned(), files, unsettled: Mutex::default(), lasting: Mutex::default() }
    }

    /// Keeps bytes; what is there already stays as it is. Gives their hash. They are there after [`Archive::settle`].
    ///
    /// # Errors
    /// Those of the file system; nothing half written is left under a hash.
    pub fn keep(&self, bytes: &[u8]) -> Result<String, Error> {
        let hash = hash_of(bytes);
        self.keep_as(&hash, bytes)?;
        Ok(hash)
    }

    /// The same for bytes whose hash is known.
    ///
    /// # Errors
    /// As [`Archive::keep`].
    pub fn keep_as(&self, hash: &str, bytes: &[u8]) -> Result<(), Error> {
        let is_lasting = beginning(hash).is_some_and(|beginning| held(&self.lasting).contains(&beginning));
        if is_lasting || !held(&self.unsettled).insert(hash.to_owned()) {
            return Ok(());
        }
        let path = self.path(hash);
        if path.exists() {
            return Ok(());
        }
        let folder = path.parent().unwrap_or(&self.folder);
        let put = std::fs::create_dir_all(folder).and_then(|()| self.files.put(&self.folder, &path, bytes));
        if put.is_err() {
            held(&self.unsettled).remove(hash);
        }
        put
    }

    /// Makes everything kept so far outlive a loss of power.
    ///
    /// # Errors
    /// Those of the file system.
    pub fn settle(&self) -> Result<(), Error> {
        let hashes = std::mem::take(&mut *held(&self.unsettled));
        for (_, settled) in self.files.settle() {
            match settled {
                // What stands under a hash is never written over, whatever it is; who reads it sees whether it was changed.
                Settled::Stands | Settled::Different => {}
                Settled::Failed(error) => return Err(error),
            }
        }
        if hashes.is_empty() {
            return Ok(());
        }
        let paths = hashes.iter().map(|hash| self.path(hash));
        let folders: BTreeSet<PathBuf> = paths.filter_map(|path| path.parent().map(Path::to_owned)).collect();
        let folders: Vec<PathBuf> = folders.into_iter().chain([self.folder.clone()]).collect();
        at_once(folders, |folder| sync_folder(&folder)).into_iter().collect::<Result<(), Error>>()?;
        held(&self.lasting).extend(hashes.iter().filter_map(|hash| beginning(hash)));
        Ok(())
    }

    /// The bytes with a hash.
    ///
    /// # Errors
    /// [`ErrorKind::NotFound`] where they are missing, [`ErrorKind::InvalidData`] where the file holds something else.
    pub fn bytes(&self, hash: &str) -> Result<Vec<u8>, Error> {
        if hash.len() != 64 || !hash.bytes().all(|byte| byte.is_ascii_hexdigit()) {
            return Err(Error::new(ErrorKind::InvalidData, "this is no hash"));
        }
        let mut bytes = Vec::new();
        std::fs::File::open(self.path(hash))?.read_to_end(&mut bytes)?;
        match hash_of(&bytes) == hash {
            true => Ok(bytes),
            false => Err(Error::new(ErrorKind::InvalidData, "the file was changed: its hash is another")),
        }
    }

    /// Where the bytes with a hash stand: in a folder of its first two digits, so that no folder grows large.
    pub fn path(&self, hash: &str) -> PathBuf {
        self.folder.join(hash.get(..2).unwrap_or("00")).join(hash)
    }
}

fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The first half of a hash: no two files share it by chance.
fn beginning(hash: &str) -> Option<u128> {
    u128::from_str_radix(hash.get(..32)?, 16).ok()
}

/// A file under a temporary name, written and not yet synced.
pub(super) fn unnamed(aside: &Path, bytes: &[u8]) -> Result<NamedTempFile, Error> {
    let mut file = for_everybody(tempfile::Builder::new().prefix(UNFINISHED)).tempfile_in(aside)?;
    file.write_all(bytes)?;
    Ok(file)
}

/// Writes a new file, whole or not at all: under a temporary name in `aside` (on the same file system), synced, renamed.
/// `false`: a file of this name stands there already, and stays.
///
/// # Errors
/// Those of the file system.
pub fn put(aside: &Path, path: &Path, bytes: &[u8]) -> Result<bool, Error> {
    let file = unnamed(aside, bytes)?;
    file.as_file().sync_all()?;
    match file.persist_noclobber(path) {
        Ok(_) => Ok(true),
        Err(lost) if lost.error.kind() == ErrorKind::AlreadyExists => Ok(false),
        Err(lost) => Err(lost.error),
    }
}

/// Temporary files are private to their owner; these are for everybody the folder is open to.
#[cfg(unix)]
fn for_everybody<'b, 'n>(builder: &'b mut tempfile::Builder<'n, 'n>) -> &'b mut tempfile::Builder<'n, 'n> {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(std::fs::Permissions::from_mode(0o666))
}

/// Elsewhere the folder's rights hold.
#[cfg(not(unix))]
fn for_everybody<'b, 'n>(builder: &'b mut tempfile::Builder<'n, 'n>) -> &'b mut tempfile::Builder<'n, 'n> {
    builder
}

/// Removes what a crash left of files that were being written in a folder. Only for who is alone at work there.
///
/// # Errors
/// Those of the file system. A folder that does not exist holds nothing.
pub fn sweep(folder: &Path) -> Result<(), Error> {
    let entries = match std::fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(error),
    };
    for entry in entries {
        let path = entry?.path();
        let is_left = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with(UNFINISHED));
        if is_left && path.is_file() {
            std::fs::remove_file(path)?;
        }
    }
    Ok(())
}

/// Makes the names in a folder outlive a loss of power, where the system can.
pub fn sync_folder(folder: &Path) -> Result<(), Error> {
    match cfg!(unix) {
        true => std::fs::File::open(folder)?.sync_all(),
        false => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_are_kept_once_and_come_back() {
        let folder = tempfile::tempdir().unwrap();
        let archive = Archive::new(&folder.path().join("archive"));
        let hash = archive.keep(b"visit: 1\n").unwrap();
        assert_eq!(archive.keep(b"visit: 1\n").unwrap(), hash);
        archive.settle().unwrap();
        assert_eq!(archive.bytes(&hash).unwrap(), b"visit: 1\n");
        assert_eq!(archive.bytes(&"0".repeat(64)).unwrap_err().kind(), ErrorKind::NotFound);
        assert_eq!(archive.bytes("../../x").unwrap_err().kind(), ErrorKind::InvalidData);
    }

    #[test]
    fn a_changed_file_is_not_taken_for_what_it_was() {
        let folder = tempfile::tempdir().unwrap();
        let archive = Archive::new(folder.path());
        let hash = archive.keep(b"warn_below: 80").unwrap();
        archive.settle().unwrap();
        std::fs::write(archive.path(&hash), b"warn_below: 70").unwrap();
        assert_eq!(archive.bytes(&hash).unwrap_err().kind(), ErrorKind::InvalidData);
    }

    #[test]
    fn a_file_that_stands_is_not_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a");
        assert!(put(folder.path(), &path, b"first").unwrap());
        assert!(!put(folder.path(), &path, b"second").unwrap());
        assert_eq!(std::fs::read(path).unwrap(), b"first");
    }

    #[test]
    fn what_a_crash_left_is_swept_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        for name in [".halfcell-x1", "V-1.pdf", ".hidden"] {
            std::fs::write(folder.path().join(name), "x").unwrap();
        }
        sweep(folder.path()).unwrap();
        let mut left: Vec<_> = std::fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
        left.sort();
        assert_eq!(left, [".hidden", "V-1.pdf"]);
        sweep(&folder.path().join("none")).unwrap();
    }
}
