//! The same files, issued at the same moment into an empty register, give the same bytes: twice, with one job or four, in another time zone, under another name of the folder.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

fn issued(visits: &Path, zone: &str, jobs: &str) -> BTreeMap<String, Vec<u8>> {
    let (work, time) = (tempfile::tempdir().unwrap(), "2026-11-02T10:00Z");
    let out = work.path().join("out");
    let status = Command::new(env!("CARGO_BIN_EXE_halfcell"))
        .args(["issue", "--quiet", "--jobs", jobs, "--issued", time, "--out"])
        .arg(&out)
        .arg(visits)
        .env("TZ", zone)
        .output()
        .unwrap();
    assert!(status.status.success(), "{}", String::from_utf8_lossy(&status.stderr));
    let file = |entry: std::io::Result<std::fs::DirEntry>| {
        let path = entry.unwrap().path();
        (path.file_name().unwrap().to_string_lossy().into_owned(), std::fs::read(&path).unwrap())
    };
    let entries = std::fs::read_dir(out).unwrap().filter(|entry| entry.as_ref().unwrap().path().is_file());
    entries.map(file).collect()
}

fn copied(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let there = to.join(path.file_name().unwrap());
        match path.is_dir() {
            true => copied(&path, &there),
            false => drop(std::fs::copy(&path, &there).unwrap()),
        }
    }
}

#[test]
fn examples_give_the_same_bytes_again() {
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let first = issued(&examples.join("visits"), "UTC", "1");
    assert!(first.len() >= 40, "only {} files", first.len());
    let elsewhere = tempfile::tempdir().unwrap();
    copied(&examples, &elsewhere.path().join("another place"));
    let second = issued(&elsewhere.path().join("another place/visits"), "Pacific/Kiritimati", "4");
    assert_eq!(first.keys().collect::<Vec<_>>(), second.keys().collect::<Vec<_>>());
    for (name, bytes) in &first {
        assert!(bytes == &second[name], "{name} differs");
    }
}
