//! New files that get their names together: written under temporary names, synced all at once, then renamed.
//!
//! Comes in: bytes for a path. Goes out: files that outlive a loss of power. Next: [`super::archive`] and [`crate::issue`].
//!
//! A disk that syncs many files at once does so in little more time than one alone takes, so what a batch writes is synced
//! by many threads; until then nobody sees any of it.

use super::archive::unnamed;
use std::collections::BTreeMap;
use std::io::{Error, ErrorKind};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use tempfile::NamedTempFile;

/// Files held open at most: systems allow a process 1024 and fewer.
const MOST: usize = 128;

/// Files synced at once.
///
/// Source: our own measurement: 32 threads sync 160 small files on ext4 ten to thirty times as quickly as one.
const AT_ONCE: usize = 32;

/// New files without their names.
#[derive(Debug, Default)]
pub struct Unsettled {
    files: Mutex<BTreeMap<PathBuf, NamedTempFile>>,
    settled: Mutex<Vec<(PathBuf, Settled)>>,
}

/// What became of a file.
#[derive(Debug)]
pub enum Settled {
    /// It stands as it was written.
    Stands,
    /// Another file has its name.
    Different,
    /// It could not be written.
    Failed(Error),
}

impl Unsettled {
    /// Writes a file under a temporary name in `aside` (on the same file system). It gets its name from
    /// [`Unsettled::settle`], or before where many wait.
    ///
    /// # Errors
    /// Those of the file system.
    pub fn put(&self, aside: &Path, path: &Path, bytes: &[u8]) -> Result<(), Error> {
        if held(&self.files).contains_key(path) {
            return Ok(());
        }
        let file = unnamed(aside, bytes)?;
        let full = {
            let mut files = held(&self.files);
            files.insert(path.to_owned(), file);
            (files.len() >= MOST).then(|| std::mem::take(&mut *files))
        };
        if let Some(full) = full {
            let settled = named(full);
            held(&self.settled).extend(settled);
        }
        Ok(())
    }

    /// Syncs every file and gives it its name. Gives what became of each since the last call; what stands there under its
    /// name with the same bytes, stays.
    pub fn settle(&self) -> Vec<(PathBuf, Settled)> {
        let settled = named(std::mem::take(&mut *held(&self.files)));
        let mut all = std::mem::take(&mut *held(&self.settled));
        all.extend(settled);
        all
    }
}

fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

fn named(files: BTreeMap<PathBuf, NamedTempFile>) -> Vec<(PathBuf, Settled)> {
    at_once(files.into_iter().collect(), |(path, file)| {
        let settled = name(&path, file).unwrap_or_else(Settled::Failed);
        (path, settled)
    })
}

fn name(path: &Path, file: NamedTempFile) -> Result<Settled, Error> {
    file.as_file().sync_all()?;
    match file.persist_noclobber(path) {
        Ok(_) => Ok(Settled::Stands),
        // Another process wrote it a moment ago: the same bytes, or another file.
        Err(lost) if lost.error.kind() == ErrorKind::AlreadyExists => {
            match std::fs::read(lost.file.path())? == std::fs::read(path)? {
                true => Ok(Settled::Stands),
                false => Ok(Settled::Different),
            }
        }
        Err(lost) => Err(lost.error),
    }
}

/// Works on many items that wait for the disk. Results in the order of the items.
pub(super) fn at_once<I: Send, T: Send>(items: Vec<I>, work: impl Fn(I) -> T + Sync) -> Vec<T> {
    let share = items.len().div_ceil(AT_ONCE).max(1);
    let mut items = items.into_iter();
    let shares =
        std::iter::from_fn(|| Some(items.by_ref().take(share).collect()).filter(|some: &Vec<I>| !some.is_empty()));
    let shares: Vec<Vec<I>> = shares.collect();
    let work = &work;
    std::thread::scope(|scope| {
        let begin = |share: Vec<I>| {
            let run = move || share.into_iter().map(work).collect::<Vec<T>>();
            scope.spawn(run)
        };
        let begun: Vec<_> = shares.into_iter().map(begin).collect();
        begun.into_iter().flat_map(|thread| thread.join().expect("syncing and renaming do not panic")).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|it| it.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn nothing_has_its_name_before_it_is_synced() {
        let folder = tempfile::tempdir().unwrap();
        let unsettled = Unsettled::default();
        for name in ["a", "b", "a"] {
            unsettled.put(folder.path(), &folder.path().join(name), name.as_bytes()).unwrap();
        }
        assert!(names(folder.path()).iter().all(|name| name.starts_with('.')));
        let settled = unsettled.settle();
        assert!(settled.len() == 2 && settled.iter().all(|(_, settled)| matches!(settled, Settled::Stands)));
        assert_eq!(names(folder.path()), ["a", "b"]);
        assert_eq!(std::fs::read(folder.path().join("b")).unwrap(), b"b");
        assert!(unsettled.settle().is_empty());
    }

    #[test]
    fn more_files_than_may_be_open_are_settled_on_the_way() {
        let folder = tempfile::tempdir().unwrap();
        let unsettled = Unsettled::default();
        for number in 0..3 * MOST + 5 {
            let name = format!("{number:04}");
            unsettled.put(folder.path(), &folder.path().join(&name), name.as_bytes()).unwrap();
        }
        assert_eq!(held(&unsettled.files).len(), 5);
        assert_eq!(unsettled.settle().len(), 3 * MOST + 5);
        assert_eq!(names(folder.path()).len(), 3 * MOST + 5);
    }

    #[test]
    fn what_stands_is_left_and_told() {
        let folder = tempfile::tempdir().unwrap();
        let unsettled = Unsettled::default();
        let [same, other] = ["same", "other"].map(|name| folder.path().join(name));
        for path in [&same, &other] {
            unsettled.put(folder.path(), path, b"mine").unwrap();
        }
        std::fs::write(&same, "mine").unwrap();
        std::fs::write(&other, "another's").unwrap();
        let settled = unsettled.settle();
        let of = |path: &Path| settled.iter().find(|(it, _)| it == path).map(|(_, settled)| settled).unwrap();
        assert!(matches!(of(&same), Settled::Stands));
        assert!(matches!(of(&other), Settled::Different));
        assert_eq!(std::fs::read(&other).unwrap(), b"another's");
        assert_eq!(names(folder.path()).len(), 2, "nothing is left of the temporary files");
    }

    #[test]
    fn results_come_in_the_order_of_the_items() {
        let doubled = at_once((0..1000).collect(), |number| 2 * number);
        assert!(doubled.iter().enumerate().all(|(at, number)| *number == 2 * at));
        assert!(at_once(Vec::<u8>::new(), |it| it).is_empty());
    }
}
