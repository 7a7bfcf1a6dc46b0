//! Where files come from: a folder on disk, or the files of a visit as they were kept.
//!
//! Comes in: the path of a visit file. Goes out: [`Source`]s, each text read once, named as the visit names it and
//! identified by its SHA-256. Next: [`crate::yaml`].

use crate::problem::{Place, Problem};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The largest text file that is read, in bytes. A visit of ten loops takes about 15 000.
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

impl Source {
    /// A source from bytes that were read already.
    pub fn new(name: &str, bytes: Vec<u8>) -> Self {
        let sha256 = hash_of(&bytes);
        Source { name: name.to_owned(), bytes, sha256 }
    }
}

/// A file of a folder that was kept.
#[derive(Debug, Clone)]
pub enum KeptFile {
    /// It lies at this path.
    At(PathBuf),
    /// Its bytes are at hand.
    Bytes(Arc<[u8]>),
}

/// The files of a folder that were kept, each by its name as in [`Source::name`].
#[derive(Debug, Clone, Default)]
pub struct Kept {
    /// The files.
    pub files: BTreeMap<String, KeptFile>,
    /// Whether only texts were kept: logo and fonts of the firm are left out without a word.
    pub only_texts: bool,
}

/// SHA-256 of some bytes, lower-case hexadecimal.
pub fn hash_of(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The folder of a visit file, from which everything the visit names is read.
#[derive(Debug, Clone)]
pub struct Folder {
    root: PathBuf,
    /// The files that were kept elsewhere; none: they are on disk under the root.
    kept: Option<Kept>,
}

impl Folder {
    /// The folder `dir`.
    pub fn new(dir: &Path) -> Self {
        let root = if dir.as_os_str().is_empty() { Path::new(".") } else { dir };
        Folder { root: root.to_owned(), kept: None }
    }

    /// The files of a folder that were kept.
    pub fn kept(kept: Kept) -> Self {
        Folder { root: PathBuf::from("."), kept: Some(kept) }
    }

    /// Whether logo and fonts of a firm are not at hand because only texts were kept.
    pub fn has_only_texts(&self) -> bool {
        self.kept.as_ref().is_some_and(|kept| kept.only_texts)
    }

    /// Whether there is a file of this name.
    pub fn has(&self, name: &str) -> bool {
        match &self.kept {
            Some(kept) => kept.files.contains_key(name),
            None => self.root.join(name).exists(),
        }
    }

    /// That a file, of which only the presence counts, is there and no larger than `limit` bytes. Of files that were kept
    /// this was seen when they were.
    ///
    /// # Errors
    /// As [`Folder::read`].
    pub fn see(&self, from: &str, path: &str, limit: u64, place: &Place) -> Result<(), Problem> {
        match self.kept {
            Some(_) => Ok(()),
            None => self.read_up_to(from, path, limit, place).map(drop),
        }
    }

    /// Reads the text file `path`, written at `place` in the file `from` (named relative to this folder, as in
    /// [`Source::name`]), up to [`MAX_TEXT_BYTES`].
    ///
    /// # Errors
    /// `path-form` and `path-outside` for a path that is not below the folder of `from` or the folder above it
    /// (symbolic links followed); `file-unreadable` for a file that is missing, a folder or a pipe; `file-too-large`.
    pub fn read(&self, from: &str, path: &str, place: &Place) -> Result<Source, Problem> {
        self.read_up_to(from, path, MAX_TEXT_BYTES, place)
    }

    /// The same for a file that is not text (a logo, a photo), up to `limit` bytes.
    ///
    /// # Errors
    /// As [`Folder::read`].
    pub fn read_up_to(&self, from: &str, path: &str, limit: u64, place: &Place) -> Result<Source, Problem> {
        let name = resolve(from, path).map_err(|refusal| refusal.at(path, place))?;
        let bytes = match self.held(&name) {
            Some(bytes) => within(bytes.len() as u64, limit).map(|()| bytes.to_vec()),
            None => self.find(from, path, place).map(|(_, full)| bytes_of(&full, limit))?,
        };
        Ok(Source::new(&name, bytes.map_err(|refusal| refusal.at(path, place))?))
    }

    /// The bytes of a file that was kept, where they are at hand.
    fn held(&self, name: &str) -> Option<&[u8]> {
        match self.kept.as_ref()?.files.get(name)? {
            KeptFile::Bytes(bytes) => Some(bytes),
            KeptFile::At(_) => None,
        }
    }

    /// Where such a file lies, unread: its name as in [`Source::name`] and its path. One of which the bytes are at hand lies
    /// nowhere.
    ///
    /// # Errors
    /// `path-form`, `path-outside`, `file-unreadable` as for [`Folder::read`].
    pub fn find(&self, from: &str, path: &str, place: &Place) -> Result<(String, PathBuf), Problem> {
        let name = resolve(from, path).map_err(|refusal| refusal.at(path, place))?;
        let full = self.path(&name).map_err(|refusal| refusal.at(path, place))?;
        if self.kept.is_none() {
            self.inside(from, &full).map_err(|refusal| refusal.at(path, place))?;
        }
        Ok((name, full))
    }

    /// Reads a file of this folder by its own name: the visit file itself.
    ///
    /// # Errors
    /// `file-unreadable`, `file-too-large`.
    pub fn open(&self, name: &str) -> Result<Source, Problem> {
        let bytes = match self.held(name) {
            Some(bytes) => within(bytes.len() as u64, MAX_TEXT_BYTES).map(|()| bytes.to_vec()),
            None => self.path(name).and_then(|full| bytes_of(&full, MAX_TEXT_BYTES)),
        };
        let bytes = bytes.map_err(|refusal| refusal.at(name, &Place::whole(name)))?;
        Ok(Source::new(name, bytes))
    }

    /// Where the file of a name lies.
    fn path(&self, name: &str) -> Result<PathBuf, Refusal> {
        match &self.kept {
            Some(kept) => match kept.files.get(name) {
                Some(KeptFile::At(path)) => Ok(path.clone()),
                Some(KeptFile::Bytes(_)) | None => Err(Refusal::unreadable(&ErrorKind::NotFound.into())),
            },
            None => Ok(self.root.join(name)),
        }
    }

    /// Symbolic links followed, the file must still lie below the folder above that of `from`.
    fn inside(&self, from: &str, full: &Path) -> Result<(), Refusal> {
        let real = full.canonicalize().map_err(|error| Refusal::unreadable(&error))?;
        let above = self.root.join(folder_of(from)).join("..");
        let above = above.canonicalize().map_err(|error| Refusal::unreadable(&error))?;
        if real.starts_with(&above) { Ok(()) } else { Err(Refusal::outside("a symbolic link leads out of")) }
    }
}

/// Why a path was not read.
struct Refusal {
    code: &'static str,
    why: String,
    fix: String,
}

impl Refusal {
    fn at(self, path: &str, place: &Place) -> Problem {
        Problem::error(self.code, place, format!("found the path `{path}`"), self.why, self.fix)
    }

    fn form(why: &str) -> Self {
        let fix = "write it relative to the file that names it, with forward slashes: clients/harrow.yaml";
        Refusal { code: "path-form", why: why.to_owned(), fix: fix.to_owned() }
    }

    fn outside(what: &str) -> Self {
        Refusal {
            code: "path-outside",
            why: format!("{what} the folder above the file that names it, and a certificate must not depend on it"),
            fix: "copy the file into the folder of the visit, or the folder above, and name it there".to_owned(),
        }
    }

    fn unreadable(error: &std::io::Error) -> Self {
        let (why, fix) = match error.kind() {
            ErrorKind::NotFound => ("there is no such file", "check the name, capital letters included"),
            ErrorKind::PermissionDenied => ("the file may not be read", "give leave to read it"),
            _ => ("the file cannot be read", "check that it opens in an editor"),
        };
        let why = match error.kind() {
            ErrorKind::NotFound | ErrorKind::PermissionDenied => why.to_owned(),
            _ => format!("{why}: {error}"),
        };
        Refusal { code: "file-unreadable", why, fix: fix.to_owned() }
    }
}

/// The folder of a name with forward slashes: `../clients/x.yaml` → `../clients`; empty for the root.
fn folder_of(name: &str) -> &str {
    name.rsplit_once('/').map_or("", |(folder, _)| folder)
}

/// The name, relative to the root, of `path` as written in `from`.
fn resolve(from: &str, path: &str) -> Result<String, Refusal> {
    check_form(path)?;
    let mut steps: Vec<&str> = folder_of(from).split('/').filter(|step| !step.is_empty()).collect();
    let mut depth = 0_i32;
    for step in path.split('/') {
        match step {
            "." => {}
            ".." => {
                depth -= 1;
                match steps.last() {
                    Some(&last) if last != ".." => drop(steps.pop()),
                    _ => steps.push(".."),
                }
            }
            name => {
                depth += 1;
                steps.push(name);
            }
        }
        if depth < -1 {
            return Err(Refusal::outside("the path leads out of"));
        }
    }
    Ok(steps.join("/"))
}

fn check_form(path: &str) -> Result<(), Refusal> {
    let is_drive = path.as_bytes().get(1) == Some(&b':');
    if path.contains("://") || path.starts_with("file:") || path.starts_with("data:") {
        return Err(Refusal::form("it is a web address, and nothing is fetched from a network"));
    }
    if path.starts_with('/') || is_drive || path.starts_with('~') {
        return Err(Refusal::form("an absolute path holds on one computer only"));
    }
    if path.contains('\\') {
        return Err(Refusal::form("backslashes divide folders on one system only"));
    }
    if path.contains(':') || path.chars().any(char::is_control) {
        return Err(Refusal::form("it holds a character that no file name can have on every system"));
    }
    let last = path.rsplit('/').next().unwrap_or_default();
    if path.split('/').any(str::is_empty) || matches!(last, "." | "..") {
        return Err(Refusal::form("it names no file"));
    }
    Ok(())
}

/// Reads at most `limit` bytes of an ordinary file.
fn bytes_of(full: &Path, limit: u64) -> Result<Vec<u8>, Refusal> {
    let unreadable = |error: std::io::Error| Refusal::unreadable(&error);
    // Asked before opening: opening a pipe would wait for a writer.
    let about = full.metadata().map_err(unreadable)?;
    if !about.is_file() {
        let why = if about.is_dir() { "it is a folder" } else { "it is not an ordinary file (a pipe or a device)" };
        return Err(Refusal { code: "file-unreadable", why: why.to_owned(), fix: "name a file".to_owned() });
    }
    // Room for all of it, so that it is read at once; a file that grows meanwhile still comes whole.
    let mut bytes = Vec::with_capacity(about.len().min(limit) as usize + 1);
    if about.len() <= limit {
        File::open(full).and_then(|file| file.take(limit + 1).read_to_end(&mut bytes)).map_err(unreadable)?;
    }
    within(about.len().max(bytes.len() as u64), limit).map(|()| bytes)
}

/// That a file is no larger than may be read.
fn within(length: u64, limit: u64) -> Result<(), Refusal> {
    if length <= limit {
        return Ok(());
    }
    Err(Refusal {
        code: "file-too-large",
        why: format!("it is larger than {} kB, the most that is read", limit / 1000),
        fix: "check that the right file is named".to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A folder of its own for one test, removed at the end.
    struct Scratch(PathBuf);

    impl Scratch {
        fn new(name: &str) -> Self {
            let dir = std::env::temp_dir().join(format!("halfcell-source-{name}-{}", std::process::id()));
            let _ = std::fs::remove_dir_all(&dir);
            std::fs::create_dir_all(dir.join("office/visits/clients")).expect("a scratch folder");
            Scratch(dir)
        }

        fn write(&self, name: &str, bytes: &[u8]) {
            std::fs::write(self.0.join(name), bytes).expect("a scratch file");
        }

        fn folder(&self) -> Folder {
            Folder::new(&self.0.join("office/visits"))
        }
    }

    impl Drop for Scratch {
        fn drop(&mut self) {
            let _ = std::fs::remove_dir_all(&self.0);
        }
    }

    fn read(folder: &Folder, from: &str, path: &str) -> Result<String, &'static str> {
        let place = Place::whole(from);
        folder.read(from, path, &place).map(|source| source.name).map_err(|problem| problem.code)
    }

    #[test]
    fn a_source_carries_the_hash_of_its_bytes() {
        let scratch = Scratch::new("hash");
        scratch.write("office/visits/kit.yaml", b"abc");
        let source = scratch.folder().read("0412.yaml", "kit.yaml", &Place::default()).expect("the kit");
        // Source: NIST, FIPS 180-4 example computations, SHA-256 of "abc".
        assert_eq!(source.sha256, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn paths_stay_below_the_folder_above() {
        let scratch = Scratch::new("paths");
        scratch.write("office/visits/clients/harrow.yaml", b"a: b");
        scratch.write("office/visits/effluent.yaml", b"a: b");
        scratch.write("office/kit.yaml", b"a: b");
        scratch.write("secret.yaml", b"a: b");
        let folder = scratch.folder();
        assert_eq!(read(&folder, "0412.yaml", "clients/harrow.yaml"), Ok("clients/harrow.yaml".to_owned()));
        assert_eq!(
            read(&folder, "0412.yaml", "./clients/../clients/harrow.yaml"),
            Ok("clients/harrow.yaml".to_owned())
        );
        assert_eq!(read(&folder, "0412.yaml", "../kit.yaml"), Ok("../kit.yaml".to_owned()));
        assert_eq!(read(&folder, "clients/harrow.yaml", "../effluent.yaml"), Ok("effluent.yaml".to_owned()));
        assert_eq!(read(&folder, "clients/harrow.yaml", "../../kit.yaml"), Err("path-outside"));
        assert_eq!(read(&folder, "../firm.yaml", "kit.yaml"), Ok("../kit.yaml".to_owned()));
        assert_eq!(read(&folder, "../firm.yaml", "../secret.yaml"), Ok("../../secret.yaml".to_owned()));
        assert_eq!(read(&folder, "0412.yaml", "../../secret.yaml"), Err("path-outside"));
        assert_eq!(read(&folder, "0412.yaml", "clients/../../../secret.yaml"), Err("path-outside"));
    }

    #[test]
    fn kept_files_are_found_by_their_names_wherever_they_lie() {
        let scratch = Scratch::new("kept");
        scratch.write("secret.yaml", b"a: b");
        let at = KeptFile::At(scratch.0.join("secret.yaml"));
        let held = KeptFile::Bytes(b"a: b".as_slice().into());
        let files = BTreeMap::from([("../kit.yaml".to_owned(), at), ("held.yaml".to_owned(), held)]);
        let folder = Folder::kept(Kept { files, only_texts: false });
        assert_eq!(read(&folder, "0412.yaml", "../kit.yaml"), Ok("../kit.yaml".to_owned()));
        assert_eq!(read(&folder, "0412.yaml", "./held.yaml"), Ok("held.yaml".to_owned()));
        assert_eq!(folder.open("held.yaml").map(|source| source.bytes).ok().as_deref(), Some(b"a: b".as_slice()));
        assert_eq!(
            folder.read_up_to("0412.yaml", "held.yaml", 3, &Place::default()).unwrap_err().code,
            "file-too-large"
        );
        assert_eq!(read(&folder, "clients/x.yaml", "../../kit.yaml"), Err("path-outside"));
        assert_eq!(read(&folder, "0412.yaml", "secret.yaml"), Err("file-unreadable"));
        assert!(folder.has("../kit.yaml") && !folder.has("kit.yaml"));
        assert!(folder.see("0412.yaml", "photos/bulb.jpg", 1, &Place::default()).is_ok());
    }

    #[test]
    fn other_forms_of_path_are_refused() {
        let folder = Scratch::new("forms").folder();
        for path in [
            "/etc/passwd",
            "~/kit.yaml",
            "C:/kit.yaml",
            "https://example.com/kit.yaml",
            "clients\\harrow.yaml",
            "clients/",
            "..",
            "a//b",
            "",
        ] {
            assert_eq!(read(&folder, "0412.yaml", path), Err("path-form"), "{path}");
        }
    }

    #[test]
    fn what_is_no_file_is_refused() {
        let scratch = Scratch::new("nofile");
        scratch.write("office/visits/large.yaml", &vec![b'#'; 1_000_001]);
        let folder = scratch.folder();
        assert_eq!(read(&folder, "0412.yaml", "clients"), Err("file-unreadable"));
        assert_eq!(read(&folder, "0412.yaml", "absent.yaml"), Err("file-unreadable"));
        assert_eq!(read(&folder, "0412.yaml", "large.yaml"), Err("file-too-large"));
    }

    #[cfg(unix)]
    #[test]
    fn symbolic_links_that_lead_out_are_refused() {
        let scratch = Scratch::new("links");
        scratch.write("secret.yaml", b"a: b");
        scratch.write("office/kit.yaml", b"a: b");
        let visits = scratch.0.join("office/visits");
        std::os::unix::fs::symlink("../../secret.yaml", visits.join("out.yaml")).expect("a link");
        std::os::unix::fs::symlink("../kit.yaml", visits.join("in.yaml")).expect("a link");
        let folder = scratch.folder();
        assert_eq!(read(&folder, "0412.yaml", "out.yaml"), Err("path-outside"));
        assert_eq!(read(&folder, "0412.yaml", "in.yaml"), Ok("in.yaml".to_owned()));
    }
}
