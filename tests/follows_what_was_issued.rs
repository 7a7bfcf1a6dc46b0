//! An issued document is never changed: a corrected visit makes an amendment, other limits make a re-evaluation, and both name
//! what they replace.
//!
//! Source of what must be shown: ISO/IEC 17025:2017, 7.8.8 (amendments to reports) and 7.8.6 (statements of conformity).

mod registers;

use registers::{KIT, chained, err, files, halfcell, hash, lines, out, visit};
use serde_json::Value;
use std::path::Path;
use std::process::Output;

/// A folder with one visit of two loops, issued.
fn issued() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("kit.yaml"), KIT).unwrap();
    std::fs::write(folder.path().join("v.yaml"), visit("V-1", "2026-04-17", 160.1)).unwrap();
    let done = issue(folder.path(), &[]);
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    folder
}

fn issue(folder: &Path, more: &[&str]) -> Output {
    halfcell(&[&["issue", "v.yaml", "--out", "done"], more].concat(), folder)
}

const AMEND: [&str; 5] = ["--amend", "--reason", "digit mistyped", "--by", "client's quality office"];

/// Changes the visit file.
fn edit(folder: &Path, from: &str, to: &str) {
    let text = std::fs::read_to_string(folder.join("v.yaml")).unwrap();
    assert!(text.contains(from), "{from}");
    std::fs::write(folder.join("v.yaml"), text.replacen(from, to, 1)).unwrap();
}

fn opened(folder: &Path, number: &str) -> Value {
    let register = folder.join("done/register");
    let lines = lines(&register).into_iter().map(|line| serde_json::from_str::<Value>(&line).unwrap());
    let mut found = lines.filter(|line| line["line"] == "opened" && line["number"] == number);
    found.next().unwrap_or_else(|| panic!("{number} was not opened"))
}

fn record(folder: &Path, number: &str) -> Value {
    let name = opened(folder, number)["record"].as_str().unwrap().to_owned();
    let path = folder.join("done/register/archive").join(&name[..2]).join(&name);
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

fn page(folder: &Path, number: &str) -> String {
    std::fs::read_to_string(folder.join(format!("done/{number}.html"))).unwrap()
}

#[test]
fn an_amendment_names_what_it_replaces_why_and_what_changed() {
    let folder = issued();
    let before = files(&folder.path().join("done"));
    edit(folder.path(), "mv: 168.4", "mv: 167.4");
    let done = issue(folder.path(), &AMEND);
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    // The second loop did not change and keeps its certificate; the summary shows both.
    for (word, number) in [("issued", "V-1-AIT-1-A1"), ("already issued", "V-1-AIT-2"), ("issued", "V-1-A1")] {
        assert!(out(&done).contains(&format!("{word}  done/{number}.pdf")), "{number}: {}", out(&done));
    }
    let after = files(&folder.path().join("done"));
    assert!(before.iter().all(|(name, bytes)| after[name] == *bytes), "what was issued stands as it was");
    chained(&folder.path().join("done/register"));
    let line = opened(folder.path(), "V-1-AIT-1-A1");
    for (key, value) in [
        ("kind", "amendment"),
        ("predecessor", "V-1-AIT-1"),
        ("original", "V-1-AIT-1"),
        ("reason", "digit mistyped"),
        ("requested_by", "client's quality office"),
    ] {
        assert_eq!(line[key], value, "{key}");
    }
    let record = record(folder.path(), "V-1-AIT-1-A1");
    let changes = record["certificate"]["changes"].as_array().unwrap();
    assert_eq!(changes.len(), 1, "{changes:?}");
    let change = ["file", "field", "old", "new"].map(|key| changes[0][key].as_str().unwrap());
    assert_eq!(change, ["v.yaml", "loops › AIT-1 › as_found › readings › 2 › mv", "168.4", "167.4"]);
    let page = page(folder.path(), "V-1-AIT-1-A1");
    for text in ["V-1-AIT-1", "digit mistyped", "client&#x27;s quality office", "168.4", "167.4"] {
        assert!(page.contains(text) || page.contains(&text.replace("&#x27;", "'")), "«{text}» is not on the page");
    }
}

#[test]
fn an_amendment_of_an_amendment_names_both_and_the_same_again_changes_nothing() {
    let folder = issued();
    for (count, (from, to)) in [("mv: 168.4", "mv: 167.4"), ("mv: 167.4", "mv: 166.4")].into_iter().enumerate() {
        edit(folder.path(), from, to);
        assert_eq!(issue(folder.path(), &AMEND).status.code(), Some(0), "{count}");
    }
    let line = opened(folder.path(), "V-1-AIT-1-A2");
    assert_eq!((&line["predecessor"], &line["original"]), (&"V-1-AIT-1-A1".into(), &"V-1-AIT-1".into()));
    assert_eq!(record(folder.path(), "V-1-AIT-1-A2")["certificate"]["changes"][0]["old"], "167.4");
    let before = lines(&folder.path().join("done/register"));
    for again in [issue(folder.path(), &AMEND), issue(folder.path(), &[])] {
        assert_eq!(again.status.code(), Some(0), "{}", err(&again));
        assert!(out(&again).contains("already issued  done/V-1-AIT-1-A2.pdf"), "{}", out(&again));
        assert!(out(&again).contains("already issued  done/V-1-AIT-2.pdf"), "{}", out(&again));
    }
    assert_eq!(lines(&folder.path().join("done/register")), before);
}

#[test]
fn what_cannot_be_amended_is_refused_and_named() {
    let folder = issued();
    let refused = |more: &[&str], code: &str, what: &str| {
        let done = issue(folder.path(), more);
        assert_eq!(done.status.code(), Some(1), "{what}");
        assert!(err(&done).contains(&format!("error[{code}]")) && err(&done).contains(what), "{}", err(&done));
    };
    refused(&AMEND, "nothing-to-amend", "say the same as these files");
    edit(folder.path(), "outcome: returned", "outcome: returned");
    edit(folder.path(), "number: V-1", "number: V-11");
    refused(&AMEND, "replaces-unknown", "no document V-11-AIT-1 was issued; the nearest is V-1-AIT-1");
    edit(folder.path(), "number: V-11", "number: V-1");
    edit(folder.path(), "mv: 168.4", "mv: 167.4");
    refused(&[], "number-issued-already", "v.yaml is another");
    let before = lines(&folder.path().join("done/register"));
    for more in [&AMEND[..3], &AMEND[..1], &["--reason", "x", "--by", "y"], &["--amend", "--reason", " ", "--by", "y"]]
    {
        assert_eq!(issue(folder.path(), more).status.code(), Some(2), "{more:?}");
    }
    assert_eq!(lines(&folder.path().join("done/register")), before);
}

fn is_refused(done: &Output, code: &str, what: &str) {
    assert_eq!(done.status.code(), Some(1), "{}{}", out(done), err(done));
    assert!(err(done).contains(&format!("error[{code}]")) && err(done).contains(what), "{}", err(done));
}

#[test]
fn an_amendment_by_other_limits_than_those_in_force_is_refused() {
    let folder = issued();
    std::fs::write(folder.path().join("new.yaml"), LIMITS).unwrap();
    assert_eq!(rejudge(folder.path(), &ISSUE).status.code(), Some(0));
    edit(folder.path(), "mv: 168.4", "mv: 167.4");
    let done = issue(folder.path(), &AMEND);
    is_refused(&done, "amends-re-evaluation", "V-1-AIT-1-E1 in force was judged by new.yaml");
    let done = issue(folder.path(), &[&AMEND[..], &["--limits", "new.yaml"]].concat());
    assert!(out(&done).contains("issued  done/V-1-AIT-1-A1.pdf"), "{}{}", out(&done), err(&done));
    assert_eq!(opened(folder.path(), "V-1-AIT-1-A1")["predecessor"], "V-1-AIT-1-E1");
}

#[test]
fn two_files_of_one_visit_cannot_both_amend_it() {
    let folder = issued();
    edit(folder.path(), "mv: 168.4", "mv: 167.4");
    let text = std::fs::read_to_string(folder.path().join("v.yaml")).unwrap();
    std::fs::write(folder.path().join("w.yaml"), text.replace("mv: 167.4", "mv: 166.4")).unwrap();
    let done = halfcell(&[&["issue", "v.yaml", "w.yaml", "--out", "done"], &AMEND[..]].concat(), folder.path());
    is_refused(&done, "replaced-twice", "V-1-AIT-1 would be replaced by two documents of this run");
    assert!(out(&done).contains("issued  done/V-1-AIT-1-A1.pdf"), "{}", out(&done));
    chained(&folder.path().join("done/register"));
}

#[test]
fn what_is_lost_or_a_draft_is_not_amended() {
    let folder = issued();
    let name = opened(folder.path(), "V-1-AIT-1")["record"].as_str().unwrap().to_owned();
    let path = folder.path().join("done/register/archive").join(&name[..2]).join(&name);
    let record = std::fs::read(&path).unwrap();
    std::fs::remove_file(&path).unwrap();
    edit(folder.path(), "mv: 168.4", "mv: 167.4");
    is_refused(&issue(folder.path(), &AMEND), "replaces-lost", "V-1-AIT-1 cannot be compared with");
    std::fs::write(&path, record).unwrap();
    let unsigned = visit("V-7", "2026-04-19", 160.1);
    let unsigned = unsigned.split("signatures:").next().unwrap();
    std::fs::write(folder.path().join("v.yaml"), unsigned).unwrap();
    assert_eq!(issue(folder.path(), &[]).status.code(), Some(0));
    let done = issue(folder.path(), &[&AMEND[..], &["--replaces", "V-7-AIT-1-D1"]].concat());
    is_refused(&done, "replaces-draft", "V-7-AIT-1-D1 is a draft");
}

#[test]
fn a_wrong_number_of_a_visit_is_amended_by_naming_the_document() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("kit.yaml"), KIT).unwrap();
    let text = visit("V-2", "2026-04-18", 160.1);
    let second = text.find("  - tag: AIT-2").unwrap();
    let text = format!("{}{}", &text[..second], &text[text.find("signatures:").unwrap()..]);
    std::fs::write(folder.path().join("v.yaml"), text).unwrap();
    assert_eq!(issue(folder.path(), &[]).status.code(), Some(0));
    edit(folder.path(), "number: V-2", "number: V-3");
    let done = issue(folder.path(), &[&AMEND[..], &["--replaces", "V-2-AIT-1"]].concat());
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    let record = record(folder.path(), "V-2-AIT-1-A1");
    assert_eq!(record["certificate"]["changes"][0]["field"], "visit › number");
    assert_eq!(record["visit"]["number"], "V-3");
}

#[test]
fn an_amendment_needs_its_own_authorisation_where_the_firm_requires_one() {
    let folder = issued();
    let firm = "firm: {name: Invented Firm}\nsignatures: [performed, authorised]\n";
    std::fs::write(folder.path().join("firm.yaml"), firm).unwrap();
    let role = "signatures:\n  - { role: authorised, name: C. Name, signed: 2026-04-18T08:00+01:00 }\n";
    let text = visit("V-4", "2026-04-17", 160.1).replace("signatures:\n", role);
    std::fs::write(folder.path().join("v.yaml"), &text).unwrap();
    assert_eq!(issue(folder.path(), &["--issued", "2026-04-19T09:00Z"]).status.code(), Some(0));
    edit(folder.path(), "mv: 168.4", "mv: 167.4");
    // The signature was given before what is replaced was issued: it is about that one.
    let draft = issue(folder.path(), &AMEND);
    assert!(out(&draft).contains("issued as draft  done/V-4-AIT-1-A1-D1.pdf"), "{}{}", out(&draft), err(&draft));
    assert!(page(folder.path(), "V-4-AIT-1-A1-D1").contains("Draft"));
    edit(folder.path(), "2026-04-18T08:00", "2026-04-20T08:00");
    let done = issue(folder.path(), &AMEND);
    assert!(out(&done).contains("issued  done/V-4-AIT-1-A1.pdf"), "{}{}", out(&done), err(&done));
    assert_eq!(opened(folder.path(), "V-4-AIT-1-A1")["predecessor"], "V-4-AIT-1");
}

const LIMITS: &str = "\
limits: {name: slope-85, revision: 2, approved_by: C. Name}
pH:
  slope: {fail_below: 85 %}
  as_found_error: {fail_beyond: 0.2 pH}
";

/// Visits with slopes of 95.2 % and 82.1 %, issued by the built-in limits, and gone.
///
/// By hand: the Nernst slope at 21.85 °C is 58.53 mV per pH; phosphate has pH 6.875 and phthalate 4.003 there (between the values
/// of 20 °C and 25 °C in USGS TM 9-A6.4, table 6.4-2, from memory), 2.872 pH: 168.1 mV are 100 %, and 138.0 mV are 82.1 %.
fn two_slopes() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let visits = folder.path().join("visits");
    std::fs::create_dir(&visits).unwrap();
    std::fs::write(visits.join("kit.yaml"), KIT).unwrap();
    std::fs::write(visits.join("a.yaml"), visit("V-1", "2025-04-17", 160.1)).unwrap();
    std::fs::write(visits.join("b.yaml"), visit("V-2", "2025-10-17", 138.0)).unwrap();
    std::fs::write(visits.join("c.yaml"), visit("V-3", "2026-02-17", 138.0)).unwrap();
    let done = halfcell(&["issue", "visits", "--out", "done", "--issued", "2026-03-01T09:00Z"], folder.path());
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    std::fs::remove_dir_all(visits).unwrap();
    std::fs::write(folder.path().join("new.yaml"), LIMITS).unwrap();
    folder
}

fn rejudge(folder: &Path, more: &[&str]) -> Output {
    halfcell(&[&["rejudge", "--limits", "new.yaml", "--out", "done"], more].concat(), folder)
}

const ISSUE: [&str; 5] = ["--issue", "--reason", "limit raised to 85 %", "--by", "C. Name"];

#[test]
fn rejudging_shows_what_would_change_and_writes_nothing() {
    let folder = two_slopes();
    let before = (files(&folder.path().join("done")), lines(&folder.path().join("done/register")));
    let shown = rejudge(folder.path(), &["--from", "2025-01-01", "--to", "2025-12-31"]);
    assert_eq!(shown.status.code(), Some(0), "{}", err(&shown));
    let text = out(&shown);
    assert!(text.starts_with("Judged by slope-85 rev. 2\n\nVerdicts that change\nV-2-AIT-1 "), "{text}");
    assert!(text.contains("as found pass → FAIL"), "{text}");
    assert!(text.contains("slope 82.1 %: limits 70 to 105 → at least 85"), "{text}");
    assert!(text.contains("4 certificates in force judged: verdicts change on 2 (2 pass → FAIL), stay on 2"), "{text}");
    assert!(!text.contains("V-3"), "the visit of 2026 is outside the period: {text}");
    let json = rejudge(folder.path(), &["--format", "json", "--tag", "AIT-1"]);
    let rows: Vec<Value> = out(&json).lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(rows.len(), 3);
    assert_eq!((&rows[1]["before"]["as_found"], &rows[1]["now"]["as_found"]), (&"pass".into(), &"fail".into()));
    assert_eq!((files(&folder.path().join("done")), lines(&folder.path().join("done/register"))), before);
}

#[test]
fn a_re_evaluation_carries_both_verdicts_and_leaves_the_measurements_alone() {
    let folder = two_slopes();
    let before = files(&folder.path().join("done"));
    let done = rejudge(folder.path(), &[&ISSUE[..], &["--to", "2025-12-31"]].concat());
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    assert!(out(&done).contains("6 documents issued"), "two loops and a summary a visit: {}", out(&done));
    let after = files(&folder.path().join("done"));
    assert!(before.iter().all(|(name, bytes)| after[name] == *bytes), "what was issued stands as it was");
    chained(&folder.path().join("done/register"));
    let (old, new) = (record(folder.path(), "V-2-AIT-1"), record(folder.path(), "V-2-AIT-1-E1"));
    for key in ["visit", "client", "loop", "standards", "instruments", "history"] {
        assert_eq!(old[key], new[key], "{key}");
    }
    for key in ["readings", "slope_percent", "offset_mv", "segments"] {
        assert_eq!(old["as_found"][key], new["as_found"][key], "{key}");
    }
    assert_eq!((&old["as_found"]["verdict"], &new["as_found"]["verdict"]), (&"pass".into(), &"fail".into()));
    let certificate = &new["certificate"];
    let facts =
        ["kind", "replaces", "original", "reason", "requested_by"].map(|key| certificate[key].as_str().unwrap());
    assert_eq!(facts, ["re-evaluation", "V-2-AIT-1", "V-2-AIT-1", "limit raised to 85 %", "C. Name"]);
    let judged = &certificate["before"][0];
    assert_eq!((&judged["as_found"], &new["limits"]["name"]), (&"pass".into(), &"slope-85".into()));
    let slope = judged["criteria"].as_array().unwrap().iter().find(|it| it["name"] == "slope").unwrap();
    assert_eq!((&slope["limit"]["fail_low"], &slope["outcome"]), (&70.0.into(), &"pass".into()));
    // Judged again by the same limits there is nothing to do.
    let lines_before = lines(&folder.path().join("done/register"));
    let again = rejudge(folder.path(), &[&ISSUE[..], &["--to", "2025-12-31"]].concat());
    assert!(out(&again).contains("4 judged by these limits already"), "{}", out(&again));
    assert_eq!(lines(&folder.path().join("done/register")), lines_before);
    // Back again: FAIL to pass.
    std::fs::write(
        folder.path().join("new.yaml"),
        LIMITS.replace("85 %", "75 %").replace("revision: 2", "revision: 3"),
    )
    .unwrap();
    let back = rejudge(folder.path(), &[&ISSUE[..], &["--to", "2025-12-31"]].concat());
    assert!(out(&back).contains("(2 FAIL → pass)"), "{}", out(&back));
    assert_eq!(opened(folder.path(), "V-2-AIT-1-E2")["predecessor"], "V-2-AIT-1-E1");
}

#[test]
fn only_what_is_judged_otherwise_is_issued_where_asked() {
    let folder = two_slopes();
    std::fs::write(
        folder.path().join("new.yaml"),
        "limits: {name: built-in-85, revision: 1}\npH:\n  slope: {fail_below: 85 %}\n",
    )
    .unwrap();
    let done = rejudge(folder.path(), &[&ISSUE[..], &["--changed-only", "--tag", "AIT-1"]].concat());
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    assert!(lines(&folder.path().join("done/register")).iter().any(|line| line.contains("V-2-AIT-1-E1")));
}

#[test]
fn what_is_lost_is_named_and_the_rest_goes_on() {
    let folder = two_slopes();
    let line = opened(folder.path(), "V-2-AIT-1");
    let name = line["sources"][0]["sha256"].as_str().unwrap();
    std::fs::remove_file(folder.path().join("done/register/archive").join(&name[..2]).join(name)).unwrap();
    let done = rejudge(folder.path(), &ISSUE);
    assert_eq!(done.status.code(), Some(1));
    assert!(err(&done).contains("not judged: V-2-AIT-1: b.yaml cannot be had from the archive"), "{}", err(&done));
    assert!(out(&done).contains("6 documents issued"), "{}", out(&done));
    assert!(lines(&folder.path().join("done/register")).iter().any(|line| line.contains("\"V-3-AIT-2-E1\"")));
}

#[test]
fn a_document_that_was_altered_is_named_and_the_rest_goes_on() {
    let folder = two_slopes();
    let path = folder.path().join("done/V-2-AIT-1.html");
    let page = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, page.replace("138.0", "168.0")).unwrap();
    let done = rejudge(folder.path(), &ISSUE);
    assert_eq!(done.status.code(), Some(1));
    assert!(err(&done).contains("error[replaces-altered]"), "{}", err(&done));
    assert!(err(&done).contains("done/V-2-AIT-1.html of V-2-AIT-1 is not as it was issued"), "{}", err(&done));
    assert!(out(&done).contains("6 documents issued"), "{}", out(&done));
}

#[test]
fn a_verdict_that_changes_by_the_program_alone_must_be_acknowledged() {
    let folder = two_slopes();
    by_another_program(&folder.path().join("done/register"), "V-1-AIT-1");
    let shown = rejudge(folder.path(), &["--to", "2025-05-01"]);
    assert_eq!(shown.status.code(), Some(0), "{}", err(&shown));
    let text = out(&shown);
    assert!(text.contains("Computed otherwise by this version of the program"), "{text}");
    assert!(text.contains("as_found.verdict: \"fail\" → \"pass\"") && text.contains("by the program alone"), "{text}");
    let held = rejudge(folder.path(), &[&ISSUE[..], &["--to", "2025-05-01"]].concat());
    assert_eq!(held.status.code(), Some(1));
    assert!(err(&held).contains("not judged: V-1-AIT-1: its verdict changes by this version"), "{}", err(&held));
    let done = rejudge(folder.path(), &[&ISSUE[..], &["--to", "2025-05-01", "--acknowledge-program"]].concat());
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    assert!(out(&done).contains("issued  done/V-1-AIT-1-E1.pdf"), "{}", out(&done));
}

/// Makes a register that another program could have written: the verdict of one record is another.
fn by_another_program(register: &Path, number: &str) {
    let mut previous = "0".repeat(64);
    let mut text = String::new();
    for line in lines(register) {
        let value: Value = serde_json::from_str(&line).unwrap();
        let mut line = line.replace(value["previous"].as_str().unwrap(), &previous);
        if value["line"] == "opened" && value["number"] == number {
            let name = value["record"].as_str().unwrap();
            let folder = register.join("archive");
            let record = std::fs::read_to_string(folder.join(&name[..2]).join(name)).unwrap();
            let other = record.replacen("\"as_found\":{\"verdict\":\"pass\"", "\"as_found\":{\"verdict\":\"fail\"", 1);
            assert_ne!(record, other);
            let hash = hash(other.as_bytes());
            std::fs::create_dir_all(folder.join(&hash[..2])).unwrap();
            std::fs::write(folder.join(&hash[..2]).join(&hash), other).unwrap();
            let program = format!("halfcell {}", env!("CARGO_PKG_VERSION"));
            line = line.replace(name, &hash).replace(&program, "halfcell 0.0.9");
        }
        previous = hash(line.as_bytes());
        text += &line;
        text.push('\n');
    }
    std::fs::write(register.join("register.jsonl"), text).unwrap();
}

#[test]
fn limits_that_cannot_be_used_are_told_before_anything_is_judged() {
    let folder = two_slopes();
    std::fs::write(folder.path().join("new.yaml"), LIMITS.replace("85 %", "0.85")).unwrap();
    let done = rejudge(folder.path(), &[]);
    assert_eq!(done.status.code(), Some(1));
    assert!(err(&done).contains("error[slope-as-fraction]") && out(&done).is_empty(), "{}", err(&done));
    assert_eq!(halfcell(&["rejudge", "--limits", "none.yaml", "--out", "done"], folder.path()).status.code(), Some(2));
    std::fs::write(folder.path().join("new.yaml"), LIMITS).unwrap();
    let elsewhere = halfcell(&["rejudge", "--limits", "new.yaml", "--out", "nowhere"], folder.path());
    assert_eq!(elsewhere.status.code(), Some(2));
    assert!(!folder.path().join("nowhere").exists(), "asking makes no register");
    let unknown = rejudge(folder.path(), &["--client", "Invented cliemt"]);
    assert_eq!(unknown.status.code(), Some(1));
    assert!(err(&unknown).contains("did you mean Invented client?"), "{}", err(&unknown));
}

/// The office's task: last year's limit changes from 80 % to 85 %, and the client gets a finished pack.
#[test]
fn a_year_goes_over_to_another_limit_in_three_commands() {
    let folder = two_slopes();
    let year = ["--from", "2025-01-01", "--to", "2025-12-31", "--client", "Invented client"];
    assert_eq!(rejudge(folder.path(), &year).status.code(), Some(0));
    assert_eq!(rejudge(folder.path(), &[&ISSUE[..], &year].concat()).status.code(), Some(0));
    let pack = [&["dossier", "--register", "done/register", "--out", "pack"], &year[..]].concat();
    let made = halfcell(&pack, folder.path());
    assert_eq!(made.status.code(), Some(0), "{}", err(&made));
    assert!(out(&made).contains("6 certificates in force (2 found outside limits)"), "{}", out(&made));
    let names = |folder: &Path| files(folder).into_keys().filter(|name| name.ends_with(".pdf")).collect::<Vec<_>>();
    let pack = folder.path().join("pack");
    let in_force =
        ["V-1-AIT-1-E1.pdf", "V-1-AIT-2-E1.pdf", "V-1-E1.pdf", "V-2-AIT-1-E1.pdf", "V-2-AIT-2-E1.pdf", "V-2-E1.pdf"];
    assert_eq!(names(&pack.join("certificates")), in_force);
    assert_eq!(names(&pack.join("replaced")).len(), 6);
    let index = std::fs::read_to_string(pack.join("index.html")).unwrap();
    assert!(index.contains("slope-85") && index.contains("limit raised to 85"), "both limits and the reason");
    // Everything stands, and what was replaced says so.
    let verified = halfcell(&["verify", "done"], folder.path());
    assert_eq!(verified.status.code(), Some(0), "{}{}", out(&verified), err(&verified));
    assert!(out(&verified).contains("stands, but replaced by V-2-AIT-1-E1"), "{}", out(&verified));
    let alone = halfcell(&["verify", "pack/certificates/V-2-AIT-1-E1.pdf"], folder.path());
    assert!(out(&alone).starts_with("agrees"), "{}{}", out(&alone), err(&alone));
}
