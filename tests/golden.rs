//! Whole outputs of a few visits, looked at by a person once and kept: record, terminal, HTML, and the text of the PDF.
//!
//! Each folder of `tests/golden/` holds `proves.txt` (one line that says what the case proves), `visit.yaml` and what came
//! out of it. `HALFCELL_RENEW=1 cargo test --test golden` renews them at the desk; under `CI` they are only compared.

mod page_tools;

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn halfcell(case: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_halfcell")).args(arguments).current_dir(case).output().unwrap()
}

/// Text of a PDF in the order of its content, where there is a tool for it.
fn pdf_text(path: &Path) -> Option<String> {
    page_tools::run("pdftotext", &["-raw", "-enc", "UTF-8", &path.to_string_lossy(), "-"])
}

/// A page without its style sheet, which says nothing, and without its record, which is kept apart.
fn bare_page(html: &str) -> String {
    let without = |html: String, begin: &str, end: &str| {
        let (before, rest) = html.split_once(begin).expect("a page has it once");
        let (_, after) = rest.split_once(end).expect("it ends");
        format!("{before}{after}")
    };
    let page = without(html.to_owned(), "<style>", "</style>");
    without(page, "<script type=\"application/json\"", "</script>")
}

/// Moment at which every case is issued.
const ISSUED: &str = "2026-04-20T09:30+01:00";

/// SHA-256 of the first line of a register.
fn first_line(register: &Path) -> String {
    let lines = std::fs::read_to_string(register).unwrap();
    halfcell::register::hash_of(lines.lines().next().unwrap().as_bytes())
}

/// A text with zeros for the hash of its line in the register, which changes with every byte of the record.
fn masked(text: &str, hash: &str) -> String {
    let short = |space: &str| format!("{}{space}{}{space}{}", &hash[..4], &hash[4..8], &hash[8..12]);
    assert!(text.contains(hash) || text.replace('\n', "").contains(hash), "the page prints the hash of its line");
    let mut masked = text.replace(hash, &"0".repeat(64));
    for space in [" ", "\u{a0}"] {
        masked = masked.replace(&short(space), "0000 0000 0000");
    }
    masked
}

/// What came out of a case, by the name of its file.
fn outputs(case: &Path) -> Vec<(String, String)> {
    let work = tempfile::tempdir().unwrap();
    let out = work.path().join("out");
    let folder = out.to_string_lossy().into_owned();
    let register = work.path().join("register").to_string_lossy().into_owned();
    let checked = halfcell(case, &["check", "visit.yaml"]);
    let terminal = format!(
        "{}---- error stream ----\n{}",
        String::from_utf8(checked.stdout).unwrap(),
        String::from_utf8(checked.stderr).unwrap()
    );
    let issued = halfcell(
        case,
        &["issue", "visit.yaml", "--quiet", "--issued", ISSUED, "--out", &folder, "--register", &register],
    );
    assert!(issued.status.success(), "{}", String::from_utf8_lossy(&issued.stderr));
    let record = String::from_utf8(halfcell(case, &["check", "--format", "json", "visit.yaml"]).stdout).unwrap();
    let pretty = |line: &str| {
        let value: serde_json::Value = serde_json::from_str(line).unwrap();
        serde_json::to_string_pretty(&value).unwrap() + "\n"
    };
    let mut outputs =
        vec![("terminal.txt".to_owned(), terminal), ("record.json".to_owned(), record.lines().map(pretty).collect())];
    let mut painted: Vec<PathBuf> = std::fs::read_dir(&out).unwrap().map(|entry| entry.unwrap().path()).collect();
    painted.sort();
    let line = first_line(&work.path().join("register/register.jsonl"));
    for path in painted {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        match path.extension().and_then(|ending| ending.to_str()) {
            Some("html") => {
                outputs.push((name, masked(&bare_page(&std::fs::read_to_string(&path).unwrap()), &line)));
            }
            _ => outputs.extend(pdf_text(&path).map(|text| (format!("{name}.txt"), masked(&text, &line)))),
        }
    }
    outputs
}

fn cases() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden");
    let mut cases: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    cases.sort();
    cases
}

/// The first line in which two texts differ.
fn difference(kept: &str, now: &str) -> String {
    let lines = kept.lines().zip(now.lines()).enumerate().find(|(_, (a, b))| a != b);
    match lines {
        Some((at, (kept, now))) => format!("line {}:\n  kept: {kept}\n  now:  {now}", at + 1),
        None => format!("{} lines kept, {} now", kept.lines().count(), now.lines().count()),
    }
}

#[test]
fn kept_outputs_are_still_what_comes_out() {
    let renew = std::env::var_os("HALFCELL_RENEW").is_some();
    assert!(!(renew && std::env::var_os("CI").is_some()), "under CI golden files are only compared");
    assert!(cases().len() >= 5);
    let mut wrong = Vec::new();
    for case in cases() {
        assert!(!std::fs::read_to_string(case.join("proves.txt")).unwrap().trim().is_empty());
        let outputs = outputs(&case);
        for entry in std::fs::read_dir(&case).unwrap() {
            let kept = entry.unwrap().file_name().to_string_lossy().into_owned();
            if kept.ends_with(".html") && !outputs.iter().any(|(name, _)| *name == kept) {
                wrong.push(format!("{kept} is kept, and nothing makes it any more: remove it with its text"));
            }
        }
        for (name, now) in outputs {
            let path = case.join(&name);
            if renew {
                std::fs::write(&path, &now).unwrap();
                continue;
            }
            let kept = std::fs::read_to_string(&path).unwrap_or_default();
            if kept != now {
                wrong.push(format!(
                    "{}/{name}: {}",
                    case.file_name().unwrap().to_string_lossy(),
                    difference(&kept, &now)
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
