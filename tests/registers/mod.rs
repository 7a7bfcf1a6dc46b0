//! Registers seen from outside: visits to issue, runs of the program, and what must hold of every register, checked with
//! nothing of the program.
#![allow(dead_code)]

use serde_json::Value;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A visit of two loops: three documents.
pub fn visit(number: &str, day: &str, slope_mv: f64) -> String {
    let of_loop = |tag: &str| {
        format!(
            "  - tag: {tag}
    quantity: pH
    probe: P-{tag}
    as_found:
      readings:
        - {{ in: B7, mv: 8.3, temperature: 21.8, shown: 6.86 }}
        - {{ in: B4, mv: {:.1}, temperature: 21.9, shown: 4.02 }}
    adjusted: false
    outcome: returned to service
",
            8.3 + slope_mv
        )
    };
    format!(
        "visit:
  number: {number}
  started: {day}T08:40+01:00
  finished: {day}T09:40+01:00
  client: {{ name: Invented client }}
  technicians: [A. Name]
  kit: kit.yaml
loops:
{}{}signatures:
  - {{ role: performed, name: A. Name, signed: {day}T09:45+01:00 }}
",
        of_loop("AIT-1"),
        of_loop("AIT-2")
    )
}

/// The kit that the visits share.
pub const KIT: &str = "\
standards:
  B7: { buffer: phosphate, lot: L7 }
  B4: { buffer: phthalate, lot: L4 }
";

/// Writes some visits of one round into a folder, each on a day of its own.
pub fn round(folder: &Path, round: usize, visits: usize) {
    std::fs::create_dir_all(folder).unwrap();
    std::fs::write(folder.join("kit.yaml"), KIT).unwrap();
    for count in 0..visits {
        let day = format!("20{:02}-{:02}-{:02}", 10 + round / 12 % 90, 1 + round % 12, 1 + count);
        let text = visit(&format!("V-{round}-{count}"), &day, 160.0 - 0.1 * count as f64);
        std::fs::write(folder.join(format!("v-{count}.yaml")), text).unwrap();
    }
}

pub fn halfcell(arguments: &[&str], folder: &Path) -> Output {
    command(arguments, folder).output().unwrap()
}

pub fn command(arguments: &[&str], folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_halfcell"));
    command.args(arguments).current_dir(folder);
    command
}

pub fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

pub fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Files of a folder with their bytes, by name.
pub fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return BTreeMap::new();
    };
    let paths = entries.map(|entry| entry.unwrap().path()).filter(|path| path.is_file());
    let file = |path: PathBuf| (path.file_name().unwrap().to_string_lossy().into_owned(), std::fs::read(path).unwrap());
    paths.map(file).collect()
}

/// The lines of a register that have their end.
pub fn lines(register: &Path) -> Vec<String> {
    let text = std::fs::read_to_string(register.join("register.jsonl")).unwrap_or_default();
    text.split_inclusive('\n').filter_map(|line| line.strip_suffix('\n')).map(str::to_owned).collect()
}

/// What must hold at every instant, also right after a crash: the chain is whole, each number is opened once and ended at most
/// once, everything in the archive is what its name says. Gives for each number whether and with which hashes it was issued.
pub fn chained(register: &Path) -> BTreeMap<String, Option<[String; 2]>> {
    let (mut previous, mut numbers) = ("0".repeat(64), BTreeMap::new());
    for (at, text) in lines(register).iter().enumerate() {
        let line: Value = serde_json::from_str(text).unwrap_or_else(|e| panic!("line {}: {e}", at + 1));
        assert_eq!(line["entry"], at + 1);
        assert_eq!(line["previous"], previous.as_str(), "line {}", at + 1);
        previous = hash(text.as_bytes());
        let number = line["number"].as_str().unwrap().to_owned();
        match line["line"].as_str().unwrap() {
            "opened" => {
                for key in ["record", "source_key"] {
                    assert_eq!(line[key].as_str().unwrap().len(), 64);
                }
                archived(register, line["record"].as_str().unwrap());
                line["sources"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .for_each(|it| archived(register, it["sha256"].as_str().unwrap()));
                assert_eq!(numbers.insert(number.clone(), None), None, "{number} was opened twice");
            }
            "issued" => {
                let hashes = ["pdf", "html"].map(|key| line[key].as_str().unwrap().to_owned());
                let before = numbers.insert(number.clone(), Some(hashes));
                assert_eq!(before, Some(None), "{number} was issued twice, or never opened");
            }
            other => panic!("a line «{other}» for {number}: {text}"),
        }
    }
    numbers
}

fn archived(register: &Path, name: &str) {
    let path = register.join("archive").join(&name[..2]).join(name);
    assert_eq!(hash(&std::fs::read(&path).unwrap()), name, "{}", path.display());
}

/// What must hold after a run that ended: besides, every number is issued, its two files stand as registered, and nothing else
/// stands in the folder.
pub fn sound(register: &Path, folder: &Path) -> usize {
    let numbers = chained(register);
    let files = files(folder);
    let mut named = BTreeSet::new();
    for (number, issued) in &numbers {
        let issued = issued.as_ref().unwrap_or_else(|| panic!("{number} is open"));
        for (ending, hash) in ["pdf", "html"].iter().zip(issued) {
            let name = format!("{number}.{ending}");
            assert_eq!(self::hash(&files[&name]), *hash, "{name}");
            named.insert(name);
        }
    }
    let extra: Vec<&String> = files.keys().filter(|name| !named.contains(*name)).collect();
    assert!(extra.is_empty(), "files without a line: {extra:?}");
    numbers.len()
}
