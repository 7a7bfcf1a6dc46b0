//! A certificate takes the history of its loop from the other visit files of the run and from those beside it: only earlier
//! visits of the same client and tag, silent below three visits, the same in any order.

use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;
use std::process::{Command, Output};

/// A visit with readings of the slope that is asked for, in percent, at 25 °C and no offset.
fn visit(number: &str, day: &str, serial: &str, slope: f64, more: &str) -> String {
    let mv = |ph: f64| format!("{:.2}", slope / 100.0 * 59.159 * (7.0 - ph));
    format!(
        "visit:
  number: {number}
  started: {day}T08:40+01:00
  finished: {day}T09:40+01:00
  client: {{ name: Invented client }}
  technicians: [A. Name]
  standards:
    B7: {{ buffer: phosphate, lot: L7 }}
    B4: {{ buffer: phthalate, lot: L4 }}
loops:
  - tag: AIT-1
    quantity: pH
    probe: {serial}
    as_found:
      readings:
        - {{ in: B7, mv: {}, temperature: 25.0, shown: 6.86 }}
        - {{ in: B4, mv: {}, temperature: 25.0, shown: 4.02 }}
    adjusted: false
    outcome: returned to service
{more}signatures:
  - {{ role: performed, name: A. Name, signed: {day}T10:00+01:00 }}
",
        mv(6.865),
        mv(4.005)
    )
}

/// Five visits whose slope falls by 3 % in 100 days.
const FALLING: [(&str, &str, f64); 5] = [
    ("V-1", "2025-01-01", 98.0),
    ("V-2", "2025-04-11", 95.1),
    ("V-3", "2025-07-20", 91.9),
    ("V-4", "2025-10-28", 89.0),
    ("V-5", "2026-02-05", 86.1),
];

fn folder(visits: &[(&str, String)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in visits {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

fn falling(count: usize) -> tempfile::TempDir {
    let named =
        |(number, day, slope): &(&str, &str, f64)| (format!("{number}.yaml"), visit(number, day, "P-1", *slope, ""));
    let visits: Vec<(String, String)> = FALLING[..count].iter().map(named).collect();
    folder(&visits.iter().map(|(name, text)| (name.as_str(), text.clone())).collect::<Vec<_>>())
}

fn halfcell(arguments: &[&str], folder: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_halfcell")).args(arguments).current_dir(folder).output().unwrap()
}

fn told(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn record(arguments: &[&str], folder: &Path) -> Value {
    let output = halfcell(&[&["check", "--format", "json"], arguments].concat(), folder);
    assert!(output.status.success(), "{}", told(&output));
    serde_json::from_slice(&output.stdout).unwrap()
}

fn numbers(record: &Value) -> Vec<String> {
    let history = record["history"].as_array().unwrap();
    history.iter().map(|point| point["visit"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn earlier_visits_beside_one_are_its_history_and_its_sources() {
    let folder = falling(5);
    let last = record(&["V-5.yaml"], folder.path());
    assert_eq!(numbers(&last), ["V-1", "V-2", "V-3", "V-4"]);
    let point = &last["history"][1];
    assert_eq!(
        (&point["date"], &point["serial"], &point["stage"]),
        (&"2025-04-11".into(), &"P-1".into(), &"as found".into())
    );
    assert!((point["slope_percent"].as_f64().unwrap() - 95.1).abs() < 0.1 && point["offset_mv"].is_f64());
    let sources: Vec<&str> = last["sources"].as_array().unwrap().iter().map(|s| s["name"].as_str().unwrap()).collect();
    assert_eq!(sources, ["V-5.yaml", "V-1.yaml", "V-2.yaml", "V-3.yaml", "V-4.yaml"]);
    let line = &last["trend"]["figures"][0];
    assert_eq!(
        (&line["figure"], &line["points"], &line["since"]),
        (&"slope_percent".into(), &5.into(), &"2025-01-01".into())
    );
    // 98 % and 0.0298 % a day by hand: 80 % after about 604 days.
    assert!((line["ageing"]["per_30_days"].as_f64().unwrap() + 0.894).abs() < 0.02, "{line}");
    assert_eq!(line["ageing"]["warn_on"].as_str().unwrap().get(..7), Some("2026-08"), "{line}");
    assert!(line["ageing"]["fail_on"].is_null(), "70 % lies beyond twice the span");
    assert!(numbers(&record(&["V-1.yaml"], folder.path())).is_empty(), "later visits are no history");
}

#[test]
fn two_visits_are_listed_and_nothing_is_said_of_them() {
    let folder = falling(2);
    let last = record(&["V-2.yaml"], folder.path());
    assert_eq!(numbers(&last), ["V-1"]);
    assert!(last["trend"].is_null());
    let issued = |count: usize| {
        let folder = falling(count);
        let name = format!("V-{count}.yaml");
        assert!(halfcell(&["issue", &name, "--out", "done"], folder.path()).status.success());
        std::fs::read_to_string(folder.path().join(format!("done/V-{count}-AIT-1.html"))).unwrap()
    };
    assert!(!issued(2).contains("History of the slope"));
    assert!(issued(3).contains("History of the slope"));
    let shown = |count: usize| {
        String::from_utf8(halfcell(&["check", &format!("V-{count}.yaml")], falling(count).path()).stdout).unwrap()
    };
    assert!(!shown(2).contains("history:"));
    assert!(shown(3).contains("history: 3 visits since 2025-01-01"), "{}", shown(3));
    assert!(shown(5).contains("2026-08-2"), "{}", shown(5));
}

#[test]
fn another_client_tag_or_quantity_is_another_loop() {
    let folder = falling(3);
    let text = std::fs::read_to_string(folder.path().join("V-1.yaml")).unwrap();
    std::fs::write(folder.path().join("V-1.yaml"), text.replace("Invented client", "Another client")).unwrap();
    let text = std::fs::read_to_string(folder.path().join("V-2.yaml")).unwrap();
    std::fs::write(folder.path().join("V-2.yaml"), text.replace("AIT-1", "AIT-10")).unwrap();
    assert!(numbers(&record(&["V-3.yaml"], folder.path())).is_empty());
}

#[test]
fn visits_of_other_folders_count_when_they_are_given() {
    let (here, there) = (tempfile::tempdir().unwrap(), falling(4));
    std::fs::write(here.path().join("V-5.yaml"), visit("V-5", "2026-02-05", "P-1", 86.1, "")).unwrap();
    assert!(numbers(&record(&["V-5.yaml"], here.path())).is_empty());
    let there = there.path().to_string_lossy().into_owned();
    let all = halfcell(&["check", "--format", "json", "V-5.yaml", &there], here.path());
    let first: Value = serde_json::from_str(String::from_utf8(all.stdout).unwrap().lines().next().unwrap()).unwrap();
    assert_eq!(numbers(&first), ["V-1", "V-2", "V-3", "V-4"]);
    assert_eq!(first["sources"][1]["name"], "V-1.yaml (given)");
}

/// Everything that the documents of a run were made from and the records computed, by hash.
fn made_from(folder: &Path, arguments: &[&str]) -> BTreeSet<String> {
    let work = tempfile::tempdir().unwrap();
    let [out, register] = ["out", "register"].map(|name| work.path().join(name).to_string_lossy().into_owned());
    let time = ["--issued", "2026-04-01T08:00Z"];
    let files = [&["issue", "--quiet", "--out", &out, "--register", &register], &time[..], arguments].concat();
    let done = halfcell(&files, folder);
    assert!(done.status.success(), "{}", told(&done));
    let mut hashes = BTreeSet::new();
    for entry in std::fs::read_dir(Path::new(&register).join("archive")).unwrap() {
        let files = std::fs::read_dir(entry.unwrap().path()).unwrap();
        hashes.extend(files.map(|entry| entry.unwrap().file_name().into_string().unwrap()));
    }
    hashes
}

#[test]
fn order_of_the_files_and_number_of_jobs_change_no_byte_of_a_record() {
    let folder = falling(5);
    let whole = made_from(folder.path(), &["."]);
    assert!(whole.len() >= 5 + 5 + 4 + 4 + 2, "visits, records, points, lists of them, words: {}", whole.len());
    for jobs in ["1", "4"] {
        let turned = ["V-5.yaml", "V-2.yaml", "V-4.yaml", "V-1.yaml", "V-3.yaml", "--jobs", jobs];
        assert!(made_from(folder.path(), &turned) == whole, "other order, {jobs} jobs");
    }
    let alone = made_from(folder.path(), &["V-4.yaml"]);
    assert!(alone.is_subset(&whole), "alone, the others beside it");
    // The same files under names that do not stand in the order of the dates.
    let named: Vec<(String, String)> = FALLING
        .iter()
        .enumerate()
        .map(|(i, (number, day, slope))| (format!("{}.yaml", 9 - i), visit(number, day, "P-1", *slope, "")))
        .collect();
    let named: Vec<(&str, String)> = named.iter().map(|(name, text)| (name.as_str(), text.clone())).collect();
    let folder = self::folder(&named);
    let first = record(&["5.yaml"], folder.path());
    assert_eq!(numbers(&first), ["V-1", "V-2", "V-3", "V-4"]);
}

#[test]
fn a_file_with_errors_beside_a_visit_is_left_out_in_one_line() {
    let folder = falling(4);
    let text = std::fs::read_to_string(folder.path().join("V-2.yaml")).unwrap();
    std::fs::write(folder.path().join("V-2.yaml"), text.replace("adjusted: false", "adjusted: perhaps")).unwrap();
    std::fs::write(folder.path().join("notes.yaml"), "shopping: [gloves, tissue]\n").unwrap();
    let checked = halfcell(&["check", "--quiet", "V-4.yaml"], folder.path());
    assert!(checked.status.success(), "not an error of this visit");
    assert_eq!(told(&checked), "halfcell: V-2.yaml: left out of the history of other visits: 1 error\n");
    assert_eq!(numbers(&record(&["V-4.yaml"], folder.path())), ["V-1", "V-3"]);
}

#[test]
fn two_files_of_one_visit_are_told_and_a_copy_is_not() {
    let folder = falling(4);
    let text = std::fs::read_to_string(folder.path().join("V-2.yaml")).unwrap();
    std::fs::write(folder.path().join("copy.yaml"), &text).unwrap();
    let alone = halfcell(&["check", "--quiet", "V-4.yaml"], folder.path());
    assert_eq!(told(&alone), "");
    assert_eq!(numbers(&record(&["V-4.yaml"], folder.path())), ["V-1", "V-2", "V-3"]);
    std::fs::write(folder.path().join("copy.yaml"), text.replace("shown: 6.86", "shown: 6.87")).unwrap();
    let doubtful = told(&halfcell(&["check", "--quiet", "V-4.yaml"], folder.path()));
    assert!(doubtful.contains("warning[earlier-visit-twice] V-4.yaml:11:10"), "{doubtful}");
    assert!(doubtful.contains("two files that differ: V-2.yaml and copy.yaml"), "{doubtful}");
    assert_eq!(numbers(&record(&["V-4.yaml"], folder.path())), ["V-1", "V-3"]);
    let own = told(&halfcell(&["check", "--quiet", "V-2.yaml"], folder.path()));
    assert!(own.contains("warning[visit-twice]") && own.contains("copy.yaml"), "{own}");
}

#[test]
fn another_probe_without_a_replacement_is_questioned() {
    let folder = falling(3);
    std::fs::write(folder.path().join("V-4.yaml"), visit("V-4", "2025-10-28", "P-2", 97.0, "")).unwrap();
    let asked = told(&halfcell(&["check", "--quiet", "V-4.yaml"], folder.path()));
    assert!(asked.contains("warning[probe-changed-between-visits] V-4.yaml:13:12"), "{asked}");
    assert!(asked.contains("the probe found is `P-2`; visit V-3 left `P-1` on 2025-07-20"), "{asked}");
    let changed = record(&["V-4.yaml"], folder.path());
    assert_eq!(changed["trend"]["breaks"][0]["what"], "probe changed");
    assert_eq!(changed["deviations"][0]["code"], "probe-changed-between-visits");
    assert_eq!(changed["trend"]["figures"][0]["points"], 1, "the line of the old probe is not carried on");
    let known = visit("V-4", "2025-10-28", "{serial: P-2, installed: 2025-09-01}", 97.0, "");
    std::fs::write(folder.path().join("V-4.yaml"), &known).unwrap();
    assert_eq!(told(&halfcell(&["check", "--quiet", "V-4.yaml"], folder.path())), "");
    let accepted = visit(
        "V-4",
        "2025-10-28",
        "P-2",
        97.0,
        "    accepted: [{code: probe-changed-between-visits, reason: by the plant}]\n",
    );
    std::fs::write(folder.path().join("V-4.yaml"), &accepted).unwrap();
    assert_eq!(told(&halfcell(&["check", "--quiet", "V-4.yaml"], folder.path())), "");
}

#[test]
fn a_last_good_check_that_is_not_the_last_is_questioned() {
    let folder = falling(3);
    let asked = |day: &str| {
        let text = visit("V-4", "2025-10-28", "P-1", 89.0, &format!("    last_good: {day}\n"));
        std::fs::write(folder.path().join("V-4.yaml"), text).unwrap();
        told(&halfcell(&["check", "--quiet", "V-4.yaml"], folder.path()))
    };
    assert!(asked("2025-04-11").contains("but visit V-3 left the loop good on 2025-07-20"));
    assert_eq!(asked("2025-07-20"), "");
    assert_eq!(asked("2025-09-09"), "", "a check of the plant's own");
    let text = std::fs::read_to_string(folder.path().join("V-3.yaml")).unwrap();
    std::fs::write(folder.path().join("V-3.yaml"), text.replace("shown: 4.02", "shown: 4.72")).unwrap();
    assert!(asked("2025-07-20").contains("but visit V-3 of that day did not leave the loop good"));
    assert_eq!(asked("2025-04-11"), "", "the last that was good");
}

#[test]
fn one_person_at_two_clients_at_once_is_told_over_the_files() {
    let folder = falling(1);
    let other = visit("W-1", "2025-01-01", "P-9", 97.0, "")
        .replace("Invented client", "Another client")
        .replace("T08:40", "T09:10");
    std::fs::write(folder.path().join("W-1.yaml"), other).unwrap();
    let both = halfcell(&["check", "--quiet", "."], folder.path());
    assert!(both.status.success());
    assert!(
        told(&both).contains("warning[technician-at-two-places]") && told(&both).contains("V-1.yaml"),
        "{}",
        told(&both)
    );
    assert_eq!(told(&halfcell(&["check", "--quiet", "W-1.yaml"], folder.path())), "");
}
