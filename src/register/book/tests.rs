use super::*;
use crate::register::line::{Issued, Opened, Void};
use std::sync::Arc;

fn opened(number: &str) -> Entry {
    Entry::Opened(Box::new(Opened { number: number.into(), kind: "original".into(), ..Opened::default() }))
}

fn issued(number: &str) -> Entry {
    Entry::Issued(Issued { number: number.into(), pdf: hash_of(b"pdf"), html: hash_of(b"html") })
}

/// A register of three documents.
fn three(folder: &Path) -> Book {
    let book = Book::new(folder);
    let (mut held, torn) = book.hold().unwrap();
    assert_eq!(torn, None);
    held.add(["A", "B", "C"].map(opened)).unwrap();
    held.add(["A", "B"].map(issued)).unwrap();
    held.add([Entry::Void(Void { number: "C".into(), reason: "the disk was full".into() })]).unwrap();
    book
}

/// What is wrong, and how many lines there are.
fn looked_at(book: &Book) -> (Vec<Fault>, usize) {
    let (mut faults, mut lines) = (Vec::new(), 0);
    book.read(|line| match line {
        Ok(_) => lines += 1,
        Err(fault) => faults.push(fault),
    })
    .unwrap();
    (faults, lines)
}

fn lines(folder: &Path) -> Vec<String> {
    std::fs::read_to_string(folder.join(NAME)).unwrap().lines().map(str::to_owned).collect()
}

fn rewrite(folder: &Path, lines: &[String]) {
    std::fs::write(folder.join(NAME), lines.iter().map(|line| format!("{line}\n")).collect::<String>()).unwrap();
}

#[test]
fn a_register_reads_as_it_was_written() {
    let folder = tempfile::tempdir().unwrap();
    let book = three(folder.path());
    assert_eq!(looked_at(&book), (vec![], 6));
    let (held, torn) = book.hold().unwrap();
    assert_eq!((held.head().entry, torn), (6, None));
    let last = lines(folder.path()).pop().unwrap();
    assert_eq!(held.head().hash, hash_of(last.as_bytes()));
}

#[test]
fn no_register_has_no_line() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(Book::new(&folder.path().join("none")).read(|_| panic!("no line")).unwrap(), Head::default());
}

#[test]
fn every_changed_byte_shows() {
    let folder = tempfile::tempdir().unwrap();
    let book = three(folder.path());
    let whole = std::fs::read(folder.path().join(NAME)).unwrap();
    let last = lines(folder.path()).pop().unwrap().len() + 1;
    for at in (0..whole.len() - last).step_by(7) {
        let mut changed = whole.clone();
        changed[at] ^= 1;
        std::fs::write(folder.path().join(NAME), &changed).unwrap();
        assert!(!looked_at(&book).0.is_empty(), "byte {at}");
    }
}

#[test]
fn a_removed_line_leaves_a_gap_and_exchanged_ones_are_out_of_turn() {
    let folder = tempfile::tempdir().unwrap();
    let book = three(folder.path());
    let all = lines(folder.path());
    rewrite(folder.path(), &[&all[..2], &all[3..]].concat());
    let gap = [Fault::Numbered { line: 3, entry: 4, due: 3 }, Fault::Unchained { line: 3 }];
    assert_eq!(looked_at(&book).0, gap);
    let mut exchanged = all.clone();
    exchanged.swap(1, 2);
    rewrite(folder.path(), &exchanged);
    let numbers = looked_at(&book).0.into_iter().filter(|fault| matches!(fault, Fault::Numbered { .. }));
    assert_eq!(numbers.count(), 3);
}

#[test]
fn a_changed_line_breaks_the_chain_behind_it() {
    let folder = tempfile::tempdir().unwrap();
    let book = three(folder.path());
    let mut all = lines(folder.path());
    all[1] = all[1].replace("\"B\"", "\"X\"");
    rewrite(folder.path(), &all);
    assert_eq!(looked_at(&book).0, [Fault::Unchained { line: 3 }]);
}

#[test]
fn a_torn_end_is_put_aside_and_what_stands_before_it_stays() {
    let folder = tempfile::tempdir().unwrap();
    let book = three(folder.path());
    let whole = std::fs::read(folder.path().join(NAME)).unwrap();
    let complete: Vec<usize> =
        whole.iter().enumerate().filter(|(_, byte)| **byte == b'\n').map(|(at, _)| at + 1).collect();
    for cut in 0..whole.len() {
        std::fs::write(folder.path().join(NAME), &whole[..cut]).unwrap();
        let kept = complete.iter().filter(|end| **end <= cut).count();
        let (mut held, torn) = book.hold().unwrap();
        assert_eq!(held.head().entry, kept as u64, "cut at {cut}");
        assert_eq!(torn.is_some(), !complete.contains(&cut) && cut > 0, "cut at {cut}");
        held.add([opened("D")]).unwrap();
        drop(held);
        assert_eq!(looked_at(&book), (vec![], kept + 1), "cut at {cut}");
    }
}

#[test]
fn many_at_once_add_one_after_the_other() {
    let folder = tempfile::tempdir().unwrap();
    let book = Arc::new(Book::new(folder.path()));
    std::thread::scope(|scope| {
        for writer in 0..8 {
            let book = Arc::clone(&book);
            scope.spawn(move || {
                for round in 0..20 {
                    let (mut held, _) = book.hold().unwrap();
                    held.add([opened(&format!("{writer}-{round}-a")), opened(&format!("{writer}-{round}-b"))]).unwrap();
                }
            });
        }
    });
    assert_eq!(looked_at(&book), (vec![], 320));
}
