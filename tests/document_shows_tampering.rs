//! A document proves itself: whatever is changed on a page, in its data or in the file is found and named by the document
//! alone; what is remade as a whole is not, and the answer says so.

mod tampering;

use halfcell::verify::{Bench, document};
use std::fs;
use tampering::{issued, pdfs, root, told};

#[test]
fn every_example_stands_alone_in_every_language() {
    let bench = Bench::default();
    for (language, _) in halfcell::client::LANGUAGES {
        let folder = issued(&[("language: English", &format!("language: {language}"))]);
        for file in pdfs(&folder.path().join("out")) {
            let audit = document(&fs::read(&file).expect("a file"), &bench).expect("a document");
            assert!(audit.agrees(), "{language}, {}: {:?}", file.display(), told(&audit));
            assert!(audit.printed_hash.is_some() && audit.record_sha256.is_some());
            assert_eq!(audit.extent, halfcell::verify::Extent::Whole, "{}", file.display());
        }
    }
}

#[test]
fn documents_of_an_older_version_are_read_recomputed_and_compared() {
    let bench = Bench::default();
    for file in pdfs(&root().join("tests/old/0.1.0")) {
        let audit = document(&fs::read(&file).expect("a file"), &bench).expect("a document");
        for note in &audit.notes {
            println!("{}: {}", file.display(), note.told());
        }
        assert!(audit.agrees(), "{}: {:#?}", file.display(), told(&audit));
    }
}
