//! Documents to tamper with, and tools that share no code with the reader.

#![allow(dead_code)]

use halfcell::verify::Audit;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// All PDFs of a folder.
pub fn pdfs(folder: &Path) -> Vec<PathBuf> {
    ending(folder, "pdf")
}

/// All files of a folder with an ending.
pub fn ending(folder: &Path, end: &str) -> Vec<PathBuf> {
    let files = fs::read_dir(folder).expect("documents").map(|file| file.expect("a file").path());
    let mut files: Vec<PathBuf> = files.filter(|path| path.extension().is_some_and(|own| own == end)).collect();
    files.sort();
    files
}

/// The examples, copied, with changes to the firm's file, and issued into `out`.
pub fn issued(changes: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    copied(folder.path(), changes);
    issue(folder.path(), &[]);
    folder
}

/// Copies the examples, with changes to the firm's file.
pub fn copied(to: &Path, changes: &[(&str, &str)]) {
    for folder in ["", "visits", "clients", "limits"] {
        fs::create_dir_all(to.join(folder)).expect("a folder");
        for file in fs::read_dir(root().join("examples").join(folder)).expect("examples") {
            let file = file.expect("a file").path();
            if file.is_file() {
                fs::copy(&file, to.join(folder).join(file.file_name().expect("a name"))).expect("a copy");
            }
        }
    }
    let mut firm = fs::read_to_string(to.join("firm.yaml")).expect("firm.yaml");
    for (old, new) in changes {
        assert!(firm.contains(old), "firm.yaml says {old}");
        firm = firm.replace(old, new);
    }
    fs::write(to.join("firm.yaml"), firm).expect("firm.yaml");
}

/// Issues every visit of a folder of examples.
pub fn issue(folder: &Path, more: &[&str]) {
    let mut issue = Command::new(env!("CARGO_BIN_EXE_halfcell"));
    issue.arg("issue").arg(folder.join("visits")).arg("--out").arg(folder.join("out")).args(more);
    let told = issue.output().expect("the program");
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
}

/// What is wrong with a document, in sentences.
pub fn told(audit: &Audit) -> Vec<String> {
    audit.faults.iter().map(halfcell::verify::Fault::told).collect()
}
