//! The HTML of every example as the program issues it, and of the samples, each with its name.
#![allow(dead_code)] // each test crate uses the part it needs

use crate::sample_document::{draft, long, sample};
use halfcell::paint::Paintable;
use std::path::Path;
use std::process::Command;

/// Every document of the examples.
pub fn examples() -> Vec<(String, String)> {
    let work = tempfile::tempdir().expect("a folder for documents and register");
    let out = work.path().join("certificates");
    let visits = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/visits");
    let issued = Command::new(env!("CARGO_BIN_EXE_halfcell")).args(["issue", "--out"]).arg(&out).arg(visits).output();
    let issued = issued.expect("the program runs");
    assert!(issued.status.success(), "{}", String::from_utf8_lossy(&issued.stderr));
    // The pages that look back: of many visits and of two, of redox, of a replaced probe, of a probe.
    let mut history = Command::new(env!("CARGO_BIN_EXE_halfcell"));
    history.args(["history", "AT-118", "AT-142", "AT-113", "G12-5430", "--quiet", "--out"]).arg(&out);
    let drawn = history.arg("--register").arg(out.join("register")).output().expect("the program runs");
    assert!(drawn.status.success(), "{}", String::from_utf8_lossy(&drawn.stderr));
    let files = std::fs::read_dir(&out).expect("the folder is there").map(|entry| entry.expect("a file").path());
    let html = files.filter(|path| path.extension().is_some_and(|ending| ending == "html"));
    let page = |path: &Path| {
        let name = path.file_stem().expect("a file has a name").to_string_lossy().into_owned();
        (name, std::fs::read_to_string(path).expect("what was issued can be read"))
    };
    let mut pages: Vec<(String, String)> = html.map(|path| page(&path)).collect();
    pages.sort();
    assert!(pages.len() >= 20, "{} pages", pages.len());
    pages
}

/// The samples, which have every kind of block and strain them.
pub fn samples() -> Vec<(String, String)> {
    let painted = |document| halfcell::paint::html::paint(&Paintable::new(document));
    [("sample", sample()), ("draft", draft()), ("long", long())]
        .map(|(name, document)| (name.to_owned(), painted(document)))
        .to_vec()
}
