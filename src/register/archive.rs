//! The archive: every text, record and picture once, under its SHA-256.
//!
//! Comes in: bytes. Goes out: a file named by their hash; later the bytes again. Next: [`super::book`], whose lines name the
//! hashes.

use super::line::hash_of;
use std::io::{Error, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

/// A folder of files named by the hash of what they hold.
#[derive(Debug, Clone)]
pub struct Archive {
    folder: PathBuf,
}

impl Archive {
    /// The archive in `folder`, which need not exist yet.
    pub fn new(folder: &Path) -> Self {
        Archive { folder: folder.to_owned() }
    }

    /// Keeps bytes, synced to the disk; what is there already stays as it is. Gives their hash.
    ///
    /// # Errors
    /// Those of the file system; nothing half written is left under a hash.
    pub fn keep(&self, bytes: &[u8]) -> Result<String, Error> {
        let hash = hash_of(bytes);
        let path = self.path(&hash);
        if path.exists() {
            return Ok(hash);
        }
        let folder = path.parent().unwrap_or(&self.folder);
        std::fs::create_dir_all(folder)?;
        let mut file = tempfile::Builder::new().prefix(".halfcell-").tempfile_in(folder)?;
        file.write_all(bytes)?;
        file.as_file().sync_all()?;
        match file.persist_noclobber(&path) {
            Ok(_) => sync_folder(folder)?,
            // Another process kept the same bytes a moment ago.
            Err(lost) if lost.error.kind() == ErrorKind::AlreadyExists => {}
            Err(lost) => return Err(lost.error),
        }
        Ok(hash)
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
    fn path(&self, hash: &str) -> PathBuf {
        self.folder.join(hash.get(..2).unwrap_or("00")).join(hash)
    }
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
        assert_eq!(archive.bytes(&hash).unwrap(), b"visit: 1\n");
        assert_eq!(archive.bytes(&"0".repeat(64)).unwrap_err().kind(), ErrorKind::NotFound);
        assert_eq!(archive.bytes("../../x").unwrap_err().kind(), ErrorKind::InvalidData);
    }

    #[test]
    fn a_changed_file_is_not_taken_for_what_it_was() {
        let folder = tempfile::tempdir().unwrap();
        let archive = Archive::new(folder.path());
        let hash = archive.keep(b"warn_below: 80").unwrap();
        std::fs::write(archive.path(&hash), b"warn_below: 70").unwrap();
        assert_eq!(archive.bytes(&hash).unwrap_err().kind(), ErrorKind::InvalidData);
    }
}
