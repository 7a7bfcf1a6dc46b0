//! Where files come from: a folder on disk today, the register's archive later.
//!
//! Comes in: the path of a visit file. Goes out: [`Source`]s, each text read once, named as the visit names it and
//! identified by its SHA-256. Next: [`crate::yaml`].

use crate::problem::{Place, Problem};
use std::path::{Path, PathBuf};

/// The largest text file that is read, in bytes.
pub const MAX_TEXT_BYTES: u64 = 1_000_000;

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Name relative to the folder of the visit file, with forward slashes: `kit.yaml`, `../clients/x.yaml`.
    pub name: String,
    /// The bytes as read.
    pub bytes: Vec<u8>,
    /// SHA-256 of the bytes, lower-case hexadecimal.
    pub sha256: String,
}

/// The folder of a visit file, from which everything the visit names is read.
#[derive(Debug, Clone)]
pub struct Folder {
    #[allow(dead_code)]
    root: PathBuf,
}

impl Folder {
    /// The folder `dir`.
    pub fn new(dir: &Path) -> Self {
        Folder {
            root: dir.to_owned(),
        }
    }

    /// Reads the text file `path`, written at `place` in the file `from` (a name relative to this folder, as in
    /// [`Source::name`]).
    ///
    /// # Errors
    /// A path that is not below the folder of `from` or the folder above it, and a file that cannot be read.
    pub fn read(&self, from: &str, path: &str, place: &Place) -> Result<Source, Problem> {
        let _ = (from, path, place);
        unimplemented!("next commit")
    }

    /// The same for a file that is not text (a logo, a photo), up to `limit` bytes.
    ///
    /// # Errors
    /// As [`Folder::read`].
    pub fn read_up_to(
        &self,
        from: &str,
        path: &str,
        limit: u64,
        place: &Place,
    ) -> Result<Source, Problem> {
        let _ = (from, path, limit, place);
        unimplemented!("next commit")
    }
}
