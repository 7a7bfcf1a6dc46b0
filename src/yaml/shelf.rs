//! Files that many visits name, read once in a batch.
//!
//! Comes in: a file that was read. Goes out: its [`Tree`], with the problems of reading it as if it were read anew. A file
//! is known by its name in messages and its SHA-256, so that nothing changes but the time it takes.

use super::{Lines, Node, Tree, read};
use crate::problem::Problem;
use crate::source::Source;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Files kept at most; beyond, the shelf is emptied, so that memory does not grow with a batch.
const MOST_FILES: usize = 64;

/// The files kept, shared by the threads of a batch.
#[derive(Debug, Default)]
pub struct Shelf {
    kept: Mutex<BTreeMap<(String, String), Kept>>,
}

#[derive(Debug, Clone)]
struct Kept {
    lines: Arc<Lines>,
    nodes: Arc<Vec<Node>>,
    told: Vec<Problem>,
}

impl Shelf {
    /// The tree of a file that others may name too; `file` is its name for messages.
    ///
    /// # Errors
    /// As [`read`]; a file that cannot be read is not kept.
    pub fn read(&self, file: &str, source: &Source) -> Result<Tree, Vec<Problem>> {
        let name = (file.to_owned(), source.sha256.clone());
        let kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner).get(&name).cloned();
        if let Some(Kept { lines, nodes, told }) = kept {
            return Ok(Tree { file: file.to_owned(), lines, nodes, ledger: RefCell::new(told) });
        }
        let tree = read(file, &source.bytes)?;
        let told = tree.ledger.borrow().clone();
        let kept = Kept { lines: tree.lines.clone(), nodes: tree.nodes.clone(), told };
        let mut shelf = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        if shelf.len() >= MOST_FILES {
            shelf.clear();
        }
        shelf.insert(name, kept);
        Ok(tree)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kept_file_tells_the_same_problems_again() {
        let shelf = Shelf::default();
        let source = Source::new("kit.yaml", b"kit: {note: thin, film}\nkit2: ~\n".to_vec());
        let first = shelf.read("kit.yaml", &source).unwrap().problems();
        let second = shelf.read("kit.yaml", &source).unwrap().problems();
        assert!(!first.is_empty());
        assert_eq!(first, second);
        let changed = Source::new("kit.yaml", b"kit: {note: film}\n".to_vec());
        assert!(shelf.read("kit.yaml", &changed).unwrap().problems().is_empty());
    }

    #[test]
    fn a_shelf_does_not_grow_with_a_batch() {
        let shelf = Shelf::default();
        for number in 0..3 * MOST_FILES {
            let source = Source::new("k.yaml", format!("kit: {number}\n").into_bytes());
            shelf.read("k.yaml", &source).unwrap();
        }
        assert!(shelf.kept.lock().unwrap().len() <= MOST_FILES);
    }
}
