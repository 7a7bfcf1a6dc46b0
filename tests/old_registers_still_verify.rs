//! What earlier versions issued still verifies: their registers and documents are kept in `tests/old`, one folder a release.

mod registers;

use registers::{err, halfcell, out};
use serde_json::Value;
use std::path::Path;

#[test]
fn every_register_of_an_earlier_version_stands_with_its_documents() {
    let old = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/old");
    let mut versions = 0;
    for entry in std::fs::read_dir(&old).unwrap() {
        let folder = entry.unwrap().path();
        let said = halfcell(&["verify", ".", "--format", "json"], &folder);
        assert_eq!(said.status.code(), Some(0), "{}: {}{}", folder.display(), out(&said), err(&said));
        let objects: Vec<Value> = out(&said).lines().map(|line| serde_json::from_str(line).unwrap()).collect();
        let documents = objects.iter().filter(|it| it.get("file").is_some()).count();
        let files = registers::files(&folder);
        assert_eq!(documents, files.len(), "{}: every file is answered", folder.display());
        let register = objects.last().unwrap();
        let numbers = registers::chained(&folder.join("register"));
        assert_eq!(register["documents"], numbers.len());
        assert_eq!(register["archive"]["unnamed_count"], 0);
        versions += 1;
    }
    assert!(versions > 0);
}

#[test]
fn a_changed_old_register_does_not_stand() {
    let old = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/old/0.1.0/register/register.jsonl");
    let text = std::fs::read_to_string(old).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let changed = text.replacen("\"as_left\":\"pass\"", "\"as_left\":\"fail\"", 1);
    assert_ne!(changed, text);
    std::fs::write(folder.path().join("register.jsonl"), changed).unwrap();
    let said = halfcell(&["verify", "."], folder.path());
    assert_eq!(said.status.code(), Some(1));
    assert!(out(&said).contains("the first broken line is 1"), "{}", out(&said));
}

#[test]
fn readme_shows_what_is_said() {
    let project = Path::new(env!("CARGO_MANIFEST_DIR"));
    let readme = std::fs::read_to_string(project.join("README.md")).unwrap();
    let shown = readme.split("\n```text\n$ halfcell verify ").nth(1).unwrap().split("\n```").next().unwrap();
    let (typed, shown) = shown.split_once('\n').unwrap();
    let arguments: Vec<&str> = std::iter::once("verify").chain(typed.split(' ')).collect();
    let said = halfcell(&arguments, project);
    assert_eq!((said.status.code(), out(&said).trim_end()), (Some(0), shown), "{}", err(&said));
}
