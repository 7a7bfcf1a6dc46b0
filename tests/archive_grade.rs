//! PDFs are fit for the archive (PDF/A-3a) and for everyone (PDF/UA-1): `tests/independent/archive.py` reads them byte by
//! byte with a lexer of its own and with pikepdf, lxml and fontTools, and shares no code with the writer; a validator from a
//! package registry is asked as well (`tests/independent/archive_again.py`).
//! `tests/independent/archive_mutations.py` breaks a sound document in one way at a time and requires that the rule be named.

mod page_tools;
mod sample_document;

use halfcell::document::Document;
use halfcell::firm::{Logo, LogoKind, Paper};
use halfcell::paint::Paintable;
use halfcell::paint::pdf::Press;
use page_tools::{fit, judged, run};
use sample_document::{draft, long, sample};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// All PDFs of a folder.
fn pdfs(folder: &Path) -> Vec<PathBuf> {
    let files = fs::read_dir(folder).expect("documents").map(|file| file.expect("a file").path());
    let mut files: Vec<PathBuf> = files.filter(|path| path.extension().is_some_and(|end| end == "pdf")).collect();
    files.sort();
    files
}

/// The examples as they are, but for lines of the firm's file.
fn examples(to: &Path, changes: &[(&str, String)]) {
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

/// Issues all examples with changes to the firm's file, and the PDFs, which are one for each document.
fn issued(changes: &[(&str, String)]) -> (tempfile::TempDir, Vec<PathBuf>) {
    let folder = tempfile::tempdir().expect("a folder");
    examples(folder.path(), changes);
    let out = folder.path().join("out");
    let mut issue = Command::new(env!("CARGO_BIN_EXE_halfcell"));
    issue.arg("issue").arg(folder.path().join("visits")).arg("--out").arg(&out);
    let told = issue.output().expect("the program");
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
    let mut history = Command::new(env!("CARGO_BIN_EXE_halfcell"));
    history
        .args(["history", "AT-118", "AT-142", "G12-5513", "QT-24", "--quiet", "--register"])
        .arg(out.join("register"));
    let told = history.arg("--out").arg(&out).output().expect("the program");
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
    let files = pdfs(&out);
    assert!(files.len() > 20, "{} documents", files.len());
    (folder, files)
}

#[test]
fn every_example_is_fit_for_the_archive_in_every_language_and_paper() {
    let papers = |&(language, _)| ["A4", "Letter"].map(|paper| (language, paper));
    for (language, paper) in halfcell::client::LANGUAGES.iter().flat_map(papers) {
        let language_line = format!("language: {language}");
        let (_folder, files) =
            issued(&[("language: English", language_line), ("paper: A4", format!("paper: {paper}"))]);
        let Some(said) = fit(&files) else { return };
        println!("{language}, {paper}: {said}");
    }
}

#[test]
fn without_attachments_or_with_a_raster_logo_they_are_too() {
    for change in [("attachments: yes", "attachments: no"), ("logo: logo.svg", "logo: logo.png")] {
        let (_folder, files) = issued(&[(change.0, change.1.to_owned())]);
        if fit(&files).is_none() {
            return;
        }
        let file = files[0].to_str().expect("a plain path");
        let Some(list) = run("pdfdetach", &["-list", file]) else { return };
        assert_eq!(list.starts_with("0 "), change.0 == "attachments: yes", "{list}");
    }
}

/// Every kind of block, pages that break anywhere, Greek and Cyrillic, signs that XML and PDF must escape.
#[test]
fn documents_that_strain_the_painter_are_fit_for_the_archive() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut plain = sample();
    plain.brand.logo = None;
    plain.title = "A (title) with <signs> & \\ Ω µ – “words”".into();
    let mut raster = sample();
    let bytes = fs::read(root().join("examples/logo.png")).expect("the logo");
    raster.brand.logo = Some(Logo { name: "logo.png".into(), kind: LogoKind::Png, bytes });
    let all = [("sample", sample()), ("draft", draft()), ("long", long()), ("plain", plain), ("raster", raster)];
    for (name, document) in all {
        for paper in [Paper::A4, Paper::Letter] {
            let document = Document { paper, ..document.clone() };
            let bytes = halfcell::paint::pdf::paint(&Paintable::new(document), &Press::new());
            fs::write(folder.path().join(format!("{name}-{paper:?}.pdf")), bytes).expect("a file");
        }
    }
    if let Some(said) = fit(&pdfs(folder.path())) {
        println!("{said}");
    }
}

#[test]
fn every_rule_of_the_checker_is_named_when_it_is_broken() {
    if let Some(said) = judged("archive_mutations.py", &[]) {
        println!("{said}");
        assert!(said.contains(", 0 failures"), "{said}");
    }
}
