//! Random visits give the figures that an independent implementation works out (`tests/independent/visits.py`: Python's
//! decimals of 50 digits and `statistics.linear_regression`): mixed temperatures, two to five buffers, repeats, any order.
//! Uncertainties, degrees of freedom and budgets of these visits and of all examples are those that GTC gives
//! (`tests/independent/budgets.py`: uncertain numbers with automatic differentiation).

use serde_json::Value;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

/// Relative agreement asked for; absolute below 1.
const AGREEMENT: f64 = 1e-9;

/// Python where there is one; without it the check is skipped with a word, under `CI` it must be there.
fn python() -> Option<&'static str> {
    let there = Command::new("python3").arg("--version").output().is_ok_and(|out| out.status.success());
    if !there {
        assert!(std::env::var_os("CI").is_none(), "python3 is needed under CI");
        println!("skipped: no python3 here");
    }
    there.then_some("python3")
}

fn script(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/independent").join(name)
}

/// Records of all visits in a folder, one a line.
fn records(folder: &Path) -> Vec<u8> {
    let out =
        Command::new(env!("CARGO_BIN_EXE_halfcell")).args(["check", "--format", "json"]).arg(folder).output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    out.stdout
}

fn random_visits(python: &str, folder: &Path, count: &str, seed: &str) {
    let made = Command::new(python).arg(script("visits.py")).arg(folder).args([count, seed]).status().unwrap();
    assert!(made.success());
}

/// What GTC says about records; an error when a figure departs by 1e-6.
fn by_gtc(python: &str, records: &[u8]) -> Result<String, String> {
    let mut script = Command::new(python);
    script.arg(self::script("budgets.py")).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = script.spawn().unwrap();
    child.stdin.take().unwrap().write_all(records).unwrap();
    let out = child.wait_with_output().unwrap();
    let told = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    if out.status.success() { Ok(told(&out.stdout)) } else { Err(told(&out.stderr)) }
}

#[test]
fn budgets_agree_with_gtc() {
    let Some(python) = python() else { return };
    let there = Command::new(python).args(["-c", "import GTC"]).output().is_ok_and(|out| out.status.success());
    if !there {
        assert!(std::env::var_os("CI").is_none(), "the package GTC is needed under CI");
        println!("skipped: no GTC here");
        return;
    }
    let examples = records(&Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/visits"));
    println!("examples: {}", by_gtc(python, &examples).unwrap());
    let folder = tempfile::tempdir().unwrap();
    random_visits(python, folder.path(), "60", "20260511");
    let random = records(folder.path());
    println!("random visits: {}", by_gtc(python, &random).unwrap());
    // A budget that is wrong in the sixth digit is found.
    let text = String::from_utf8(random).unwrap();
    let mut record: Value = serde_json::from_str(text.lines().next().unwrap()).unwrap();
    let standard = &mut record["as_found"]["uncertainty"]["slope_percent"]["standard"];
    *standard = (standard.as_f64().unwrap() * 1.000_01).into();
    let told = by_gtc(python, record.to_string().as_bytes()).unwrap_err();
    assert!(told.contains("u(slope_percent)"), "{told}");
}

fn same(found: &Value, expected: &Value) -> bool {
    match (found.as_f64(), expected.as_f64()) {
        (Some(a), Some(b)) => (a - b).abs() <= AGREEMENT * b.abs().max(1.0),
        (None, None) => found.is_null() && expected.is_null(),
        (Some(_), None) | (None, Some(_)) => false,
    }
}

fn compare(name: &str, found: &Value, expected: &Value) {
    for (key, value) in expected.as_object().expect("figures by name") {
        if key != "readings" {
            assert!(same(&found[key], value), "{name} {key}: {} here, {value} there", found[key]);
        }
    }
}

#[test]
fn figures_agree_to_nine_digits() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    random_visits(python, folder.path(), "300", "20260417");
    let expected: Value = serde_json::from_slice(&std::fs::read(folder.path().join("expected.json")).unwrap()).unwrap();
    let records: Vec<Value> = String::from_utf8(records(folder.path()))
        .unwrap()
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    assert_eq!(records.len(), 300);
    for record in &records {
        let number = record["visit"]["number"].as_str().unwrap();
        let (found, expected) = (&record["as_found"], &expected[number]);
        compare(number, found, expected);
        let rows = expected["readings"].as_array().unwrap();
        assert_eq!(found["readings"].as_array().unwrap().len(), rows.len());
        for (row, expected) in found["readings"].as_array().unwrap().iter().zip(rows) {
            compare(number, row, expected);
        }
    }
    let mut nudged = expected["R-0000"]["slope_percent"].clone();
    nudged = Value::from(nudged.as_f64().unwrap() * (1.0 + 3e-9));
    assert!(!same(&records[0]["as_found"]["slope_percent"], &nudged), "the comparison could not fail");
}
