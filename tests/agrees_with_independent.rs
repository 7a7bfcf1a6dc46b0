//! Random visits give the figures that an independent implementation works out (`tests/independent/visits.py`: Python's
//! decimals of 50 digits and `statistics.linear_regression`): mixed temperatures, two to five buffers, repeats, any order.

use serde_json::Value;
use std::path::Path;
use std::process::Command;

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
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/independent/visits.py");
    let made = Command::new(python).arg(script).arg(folder.path()).args(["300", "20260417"]).status().unwrap();
    assert!(made.success());
    let expected: Value = serde_json::from_slice(&std::fs::read(folder.path().join("expected.json")).unwrap()).unwrap();
    let out = Command::new(env!("CARGO_BIN_EXE_halfcell"))
        .args(["check", "--format", "json"])
        .arg(folder.path())
        .output()
        .unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let records: Vec<Value> =
        String::from_utf8(out.stdout).unwrap().lines().map(|line| serde_json::from_str(line).unwrap()).collect();
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
