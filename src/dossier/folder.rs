//! The folder that is being written, under a temporary name until it is whole.
//!
//! Comes in: files, each once. Goes out: the folder with `SHA256SUMS`, renamed as a whole. Next: [`super::pack`].

use crate::register::hash_of;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufWriter, Error, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use tempfile::TempDir;

/// Name of the list of files with their hashes.
pub const SUMS: &str = "SHA256SUMS";

/// Hash of each file, by its path with forward slashes.
pub type Sums = BTreeMap<String, String>;

/// A folder that is being written.
#[derive(Debug)]
pub struct Folder {
    folder: TempDir,
    sums: Mutex<Sums>,
}

impl Folder {
    /// A new folder beside `out`, on the same file system.
    ///
    /// # Errors
    /// Those of the file system.
    pub fn beside(out: &Path) -> Result<Folder, Error> {
        let parent = above(out);
        std::fs::create_dir_all(parent)?;
        let folder = for_everybody(tempfile::Builder::new().prefix(".halfcell-"), 0o777).tempdir_in(parent)?;
        Ok(Folder { folder, sums: Mutex::default() })
    }

    /// Where it lies now.
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Writes a file, the folders above it made where they are missing.
    ///
    /// # Errors
    /// Those of the file system.
    pub fn put(&self, name: &str, bytes: &[u8]) -> Result<(), Error> {
        std::fs::write(self.place(name)?, bytes)?;
        self.enter(name, hash_of(bytes));
        Ok(())
    }

    /// A file that is written piece by piece; [`Growing::end`] enters it.
    ///
    /// # Errors
    /// Those of the file system.
    pub fn grow(&self, name: &str) -> Result<Growing<'_>, Error> {
        let file = BufWriter::with_capacity(256 * 1024, File::create(self.place(name)?)?);
        Ok(Growing { folder: self, name: name.to_owned(), file, hash: Sha256::new() })
    }

    /// How many files there are so far.
    pub fn count(&self) -> usize {
        self.sums.lock().unwrap_or_else(PoisonError::into_inner).len()
    }

    /// The files so far.
    pub fn sums(&self) -> Sums {
        self.sums.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Writes the list of all files with their hashes, as `sha256sum` reads it: the folder is whole.
    ///
    /// # Errors
    /// Those of the file system.
    pub fn whole(self) -> Result<Whole, Error> {
        let mut list = self.grow(SUMS)?;
        for (name, hash) in self.sums.lock().unwrap_or_else(PoisonError::into_inner).iter() {
            list.add(format!("{hash}  {name}\n").as_bytes())?;
        }
        list.end()?;
        Ok(Whole { folder: self.folder, sums: self.sums.into_inner().unwrap_or_else(PoisonError::into_inner) })
    }

    fn place(&self, name: &str) -> Result<PathBuf, Error> {
        let path = self.folder.path().join(name);
        if let Some(above) = path.parent() {
            std::fs::create_dir_all(above)?;
        }
        Ok(path)
    }

    fn enter(&self, name: &str, hash: String) {
        self.sums.lock().unwrap_or_else(PoisonError::into_inner).insert(name.to_owned(), hash);
    }
}

/// A folder that is whole, still under its temporary name.
#[derive(Debug)]
pub struct Whole {
    folder: TempDir,
    /// Every file, the list of the others among them.
    pub sums: Sums,
}

impl Whole {
    /// Where it lies now.
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Gives the folder its name. Nothing may stand there.
    ///
    /// # Errors
    /// Those of the file system.
    pub fn name(self, out: &Path) -> Result<(), Error> {
        std::fs::rename(self.folder.path(), out)?;
        // Nothing is left under the temporary name.
        let _ = self.folder.keep();
        Ok(())
    }
}

/// A file that is written piece by piece.
#[derive(Debug)]
pub struct Growing<'f> {
    folder: &'f Folder,
    name: String,
    file: BufWriter<File>,
    hash: Sha256,
}

impl Growing<'_> {
    /// Adds a piece.
    ///
    /// # Errors
    /// Those of the file system.
    pub fn add(&mut self, piece: &[u8]) -> Result<(), Error> {
        self.hash.update(piece);
        self.file.write_all(piece)
    }

    /// Ends the file.
    ///
    /// # Errors
    /// Those of the file system.
    pub fn end(mut self) -> Result<(), Error> {
        self.file.flush()?;
        self.folder.enter(&self.name, written(self.hash));
        Ok(())
    }
}

/// Whether a folder holds exactly these files.
///
/// # Errors
/// Those of the file system.
pub fn holds(folder: &Path, sums: &Sums) -> Result<bool, Error> {
    let mut left = sums.len();
    let mut folders = vec![(folder.to_owned(), String::new())];
    while let Some((folder, before)) = folders.pop() {
        for entry in std::fs::read_dir(folder)? {
            let entry = entry?;
            let name = format!("{before}{}", entry.file_name().to_string_lossy());
            if entry.file_type()?.is_dir() {
                folders.push((entry.path(), name + "/"));
                continue;
            }
            if sums.get(&name) != Some(&hash_of_file(&entry.path())?) {
                return Ok(false);
            }
            left -= 1;
        }
    }
    Ok(left == 0)
}

/// SHA-256 of a file, read piece by piece.
///
/// # Errors
/// Those of the file system.
pub fn hash_of_file(path: &Path) -> Result<String, Error> {
    let (mut file, mut hash, mut piece) = (File::open(path)?, Sha256::new(), vec![0; 64 * 1024]);
    loop {
        match file.read(&mut piece)? {
            0 => return Ok(written(hash)),
            read => hash.update(&piece[..read]),
        }
    }
}

/// The folder above, as a path that can be opened.
pub fn above(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        Some(_) | None => Path::new("."),
    }
}

fn written(hash: Sha256) -> String {
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

/// What is temporary is private to its owner; this is for everybody the folder above is open to.
#[cfg(unix)]
pub fn for_everybody<'b, 'n>(
    builder: &'b mut tempfile::Builder<'n, 'n>,
    mode: u32,
) -> &'b mut tempfile::Builder<'n, 'n> {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(std::fs::Permissions::from_mode(mode))
}

/// Elsewhere the folder's rights hold.
#[cfg(not(unix))]
pub fn for_everybody<'b, 'n>(builder: &'b mut tempfile::Builder<'n, 'n>, _: u32) -> &'b mut tempfile::Builder<'n, 'n> {
    builder
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_holds_its_files_and_no_other() {
        let work = tempfile::tempdir().unwrap();
        let out = work.path().join("new/d");
        let folder = Folder::beside(&out).unwrap();
        folder.put("a/b.txt", b"abc").unwrap();
        let mut grown = folder.grow("c.txt").unwrap();
        grown.add(b"a").unwrap();
        grown.add(b"bc").unwrap();
        grown.end().unwrap();
        let whole = folder.whole().unwrap();
        let sums = whole.sums.clone();
        assert_eq!(sums["a/b.txt"], sums["c.txt"]);
        whole.name(&out).unwrap();
        assert!(holds(&out, &sums).unwrap());
        std::fs::write(out.join("more"), "").unwrap();
        assert!(!holds(&out, &sums).unwrap(), "one too many");
        std::fs::remove_file(out.join("more")).unwrap();
        std::fs::write(out.join("c.txt"), "abd").unwrap();
        assert!(!holds(&out, &sums).unwrap(), "one changed");
        std::fs::remove_file(out.join("c.txt")).unwrap();
        assert!(!holds(&out, &sums).unwrap(), "one missing");
        assert_eq!(std::fs::read_dir(work.path().join("new")).unwrap().count(), 1, "nothing is left beside it");
    }
}
