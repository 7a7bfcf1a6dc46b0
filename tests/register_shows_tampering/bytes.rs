//! Any flipped byte of a register is found: by the chain, and in the last line by a hash kept elsewhere.

use crate::chain::{first_break, head, rechained};
use crate::registers::lines;
use crate::{office, register};
use halfcell::issue::Workers;
use halfcell::verify::{Asked, Ledger};
use std::path::Path;

/// The first broken line of the chain, and whether anything is wrong with a hash of its end kept elsewhere.
fn audited(folder: &Path, text: &[u8], kept: &str) -> (Option<u64>, bool) {
    std::fs::write(folder.join("register.jsonl"), text).unwrap();
    let ledger = Ledger::audit(folder, &Asked::default(), &Workers::new(1)).unwrap();
    (ledger.first_broken(), !ledger.broken.is_empty() || !ledger.knows(kept))
}

#[test]
fn any_flipped_byte_is_found() {
    let office = office();
    let all = lines(&register(&office));
    // Short lines, so that each byte can be tried.
    let some = rechained(&[all[1].clone(), all[7].clone(), all[5].clone(), all[11].clone()]);
    let whole: String = some.iter().map(|line| format!("{line}\n")).collect();
    let (whole, kept) = (whole.into_bytes(), head(&some));
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(audited(folder.path(), &whole, &kept), (None, false), "untouched");
    assert_eq!(first_break(&whole), None);
    let mut by_chain = 0;
    for at in 0..whole.len() {
        let mut flipped = whole.clone();
        flipped[at] ^= 1 << (at % 8);
        let (first, is_found) = audited(folder.path(), &flipped, &kept);
        assert!(is_found, "byte {at}");
        // Whatever the literal reading finds, the program finds too, at the same line or the one before, which was changed.
        if let Some(literal) = first_break(&flipped) {
            let first = first.unwrap_or_else(|| panic!("byte {at}: line {literal} does not follow"));
            assert!((literal as u64 - 1..=literal as u64).contains(&first), "byte {at}: {first}, {literal}");
            by_chain += 1;
        }
    }
    // What only the hash kept elsewhere shows lies in the last line.
    let last = some.last().unwrap().len() + 1;
    assert!(by_chain >= whole.len() - last, "{by_chain} of {}", whole.len());
}

#[test]
fn any_cut_is_found_by_a_hash_kept_elsewhere() {
    let office = office();
    let all = lines(&register(&office));
    let whole: String = all.iter().map(|line| format!("{line}\n")).collect();
    let folder = tempfile::tempdir().unwrap();
    for cut in (0..whole.len()).step_by(97) {
        assert!(audited(folder.path(), &whole.as_bytes()[..cut], &head(&all)).1, "cut at {cut}");
    }
}
