//! Tools that read a PDF back. Where `CI` is set they must be there; elsewhere a missing one is said and passed over.
#![allow(dead_code)] // each test crate uses the part it needs

pub mod reading;

use std::path::{Path, PathBuf};
use std::process::Command;

/// A word on a page, in pt from the top left.
#[derive(Debug, Clone)]
pub struct Word {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
    pub text: String,
}

/// A page with its words.
#[derive(Debug, Clone)]
pub struct Page {
    pub width: f64,
    pub height: f64,
    pub words: Vec<Word>,
}

/// What a tool says, warnings included; none when it is not installed.
pub fn run(tool: &str, arguments: &[&str]) -> Option<String> {
    match Command::new(tool).args(arguments).output() {
        Ok(output) => {
            let said = String::from_utf8_lossy(&output.stdout) + String::from_utf8_lossy(&output.stderr);
            assert!(output.status.success(), "{tool} {arguments:?}: {said}");
            Some(said.into_owned())
        }
        Err(error) => {
            assert!(std::env::var_os("CI").is_none(), "{tool} is needed: {error}");
            println!("skipped: {tool} is not installed");
            None
        }
    }
}

/// Python with these packages; without them the check is passed over with a word, under `CI` they must be there.
pub fn python(packages: &[&str]) -> Option<&'static str> {
    let import = format!("import {}", packages.join(", "));
    let there = Command::new("python3").args(["-c", &import]).output().is_ok_and(|out| out.status.success());
    if !there {
        assert!(std::env::var_os("CI").is_none(), "python3 with {packages:?} is needed under CI");
        println!("skipped: no python3 with {packages:?} here");
    }
    there.then_some("python3")
}

/// What a script of `tests/independent` says of files; panics with it when the script finds fault.
pub fn judged(script: &str, files: &[PathBuf]) -> Option<String> {
    // `page` is the module of the package page-validation.
    let python = python(&["pikepdf", "fontTools", "lxml", "page"])?;
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/independent").join(script);
    // No byte code beside the sources.
    let out = Command::new(python).arg("-B").arg(script).args(files).output().expect("it has just answered");
    let said = String::from_utf8_lossy(&out.stdout) + String::from_utf8_lossy(&out.stderr);
    assert!(out.status.success(), "{said}");
    Some(said.into_owned())
}

/// Both judges on PDFs: fit for the archive and for everyone.
pub fn fit(files: &[PathBuf]) -> Option<String> {
    Some(judged("archive.py", files)? + &judged("archive_again.py", files)?)
}

/// Writes a file for the tools and gives its path.
pub fn written(name: &str, bytes: &[u8]) -> String {
    // Tests run side by side: each has its own file.
    let thread = format!("{:?}", std::thread::current().name().unwrap_or("test")).replace(['"', ':'], "");
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{thread}-{name}.pdf"));
    std::fs::write(&path, bytes).expect("the folder for tests can be written");
    path.to_str().expect("a plain path").to_string()
}

/// The words of each page with their boxes; none when the tool is not installed.
pub fn words(path: &str) -> Option<Vec<Page>> {
    let listing = run("pdftotext", &["-bbox", path, "-"])?;
    let mut pages = Vec::new();
    for line in listing.lines().map(str::trim) {
        if line.starts_with("<page ") {
            pages.push(Page { width: number(line, "width"), height: number(line, "height"), words: Vec::new() });
        }
        if line.starts_with("<word ") {
            let text = line.split_once('>').map_or("", |(_, rest)| rest.trim_end_matches("</word>")).to_string();
            let [left, top, right, bottom] = ["xMin", "yMin", "xMax", "yMax"].map(|key| number(line, key));
            pages.last_mut().expect("a word stands on a page").words.push(Word { left, top, right, bottom, text });
        }
    }
    Some(pages)
}

fn number(line: &str, key: &str) -> f64 {
    let from = line.find(&format!("{key}=\"")).expect("the attribute is there") + key.len() + 2;
    line[from..].split('"').next().and_then(|text| text.parse().ok()).expect("a number")
}
