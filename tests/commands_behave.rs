//! The commands as a person uses them: exit codes, what is written where, nothing overwritten, a batch that goes on.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const GOOD: &str = "\
visit:
  number: V-1
  started: 2026-04-17T08:40+01:00
  finished: 2026-04-17T09:40+01:00
  client: { name: Invented client }
  technicians: [A. Name]
  standards:
    B7: { buffer: phosphate, lot: L7 }
    B4: { buffer: phthalate, lot: L4 }
loops:
  - tag: AIT-1
    quantity: pH
    probe: P-1
    as_found:
      readings:
        - { in: B7, mv: 8.3, temperature: 21.8, shown: 6.86 }
        - { in: B4, mv: 168.4, temperature: 21.9, shown: 4.02 }
    adjusted: false
    outcome: returned to service
signatures:
  - { role: performed, name: A. Name, signed: 2026-04-17T09:45+01:00 }
";

fn halfcell(arguments: &[&str], folder: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_halfcell")).args(arguments).current_dir(folder).output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn names(folder: PathBuf) -> Vec<String> {
    let mut names: Vec<String> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.retain(|name| name != "register");
    names.sort();
    names
}

fn folder_with(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

#[test]
fn check_shows_the_loop_and_writes_nothing() {
    let folder = folder_with(&[("v.yaml", GOOD)]);
    let checked = halfcell(&["check", "v.yaml"], folder.path());
    assert_eq!(checked.status.code(), Some(0), "{}", err(&checked));
    let text = out(&checked);
    assert!(text.contains("AIT-1") && text.contains("as found") && text.contains("pass"), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    assert!(!text.contains('\u{1b}'), "colour only on a terminal");
    assert_eq!(names(folder.path().to_owned()), ["v.yaml"]);
}

#[test]
fn json_gives_one_record_a_line_in_full_precision() {
    let folder = folder_with(&[("v.yaml", GOOD)]);
    let text = out(&halfcell(&["check", "--format", "json", "v.yaml"], folder.path()));
    let record: serde_json::Value = serde_json::from_str(text.trim_end()).unwrap();
    assert_eq!(record["file"], "v.yaml");
    assert_eq!(record["as_found"]["readings"][0]["mv_typed"], "8.3");
    assert_eq!(record["verdict"], "pass");
    assert!(record["as_left"].is_null());
    let slope = record["as_found"]["slope_percent"].as_f64().unwrap();
    assert!(slope.to_string().len() > 12, "{slope}");
}

#[test]
fn json_says_what_a_slip_would_be_and_what_speaks_for_it() {
    let odd = GOOD.replacen("temperature: 21.8", "temperature: 71.2", 1);
    assert_ne!(odd, GOOD);
    let folder = folder_with(&[("v.yaml", &odd)]);
    let text = out(&halfcell(&["check", "--format", "json", "v.yaml"], folder.path()));
    let record: serde_json::Value = serde_json::from_str(text.trim_end()).unwrap();
    let slip = &record["slips"][0];
    assert_eq!((&slip["code"], &slip["figures"]["unit"]), (&"fahrenheit".into(), &"°C".into()));
    assert!(slip["what"].as_str().unwrap().contains("71.2 in B7 may be in °F, which is 21.8\u{a0}°C"), "{slip}");
    assert!(slip["evidence"].as_str().unwrap().contains("with this single change slope 9"), "{slip}");
}

#[test]
fn a_bad_file_does_not_stop_the_others() {
    let bad = GOOD.replace("V-1", "V-2").replace("mv: 8.3", "mv: 8,3");
    let client = "client: { name: Passed over }\nloops: []\n";
    let folder = folder_with(&[("a.yaml", &bad), ("b.yaml", GOOD), ("c.yaml", client)]);
    let issued = halfcell(&["issue", ".", "--out", "done"], folder.path());
    assert_eq!(issued.status.code(), Some(1));
    assert_eq!(names(folder.path().join("done")), ["V-1-AIT-1.html", "V-1-AIT-1.pdf"]);
    assert!(
        err(&issued).contains("not issued: ./a.yaml") || err(&issued).contains("not issued: a.yaml"),
        "{}",
        err(&issued)
    );
    assert!(err(&issued).contains("a.yaml:16:"), "{}", err(&issued));
    assert!(out(&issued).contains("1 document issued, 1 visit file not issued"), "{}", out(&issued));
}

#[test]
fn an_issued_document_is_never_overwritten() {
    let folder = folder_with(&[("v.yaml", GOOD)]);
    assert_eq!(halfcell(&["issue", "v.yaml", "--out", "done"], folder.path()).status.code(), Some(0));
    let before = std::fs::read(folder.path().join("done/V-1-AIT-1.pdf")).unwrap();
    let again = halfcell(&["issue", "v.yaml", "--out", "done"], folder.path());
    assert_eq!(again.status.code(), Some(0));
    assert!(out(&again).contains("already issued"), "{}", out(&again));
    std::fs::write(folder.path().join("v.yaml"), GOOD.replace("168.4", "167.4")).unwrap();
    let changed = halfcell(&["issue", "v.yaml", "--out", "done"], folder.path());
    assert_eq!(changed.status.code(), Some(1));
    assert!(err(&changed).contains("never overwritten"), "{}", err(&changed));
    assert_eq!(std::fs::read(folder.path().join("done/V-1-AIT-1.pdf")).unwrap(), before);
    assert_eq!(names(folder.path().join("done")).len(), 2, "no temporary file is left");
}

#[test]
fn one_number_is_not_given_twice_in_a_batch() {
    let other = GOOD.replace("168.4", "167.4");
    let folder = folder_with(&[("a.yaml", GOOD), ("b.yaml", &other)]);
    let issued = halfcell(&["issue", "a.yaml", "b.yaml", "--out", "done"], folder.path());
    assert_eq!(issued.status.code(), Some(1));
    assert!(err(&issued).contains("V-1-AIT-1 is given by a.yaml already"), "{}", err(&issued));
}

#[test]
fn no_access_and_wrong_use_give_2() {
    let folder = folder_with(&[("v.yaml", GOOD), ("taken", "a file")]);
    assert_eq!(halfcell(&["check", "missing.yaml"], folder.path()).status.code(), Some(2));
    assert_eq!(halfcell(&["check"], folder.path()).status.code(), Some(2));
    assert_eq!(halfcell(&["issue", "v.yaml", "--issued", "yesterday"], folder.path()).status.code(), Some(2));
    let refused = halfcell(&["issue", "v.yaml", "--out", "taken"], folder.path());
    assert_eq!(refused.status.code(), Some(2), "{}", err(&refused));
    assert_eq!(std::fs::read_to_string(folder.path().join("taken")).unwrap(), "a file");
}

#[test]
fn the_moment_of_issue_can_be_given() {
    let folder = folder_with(&[("v.yaml", GOOD)]);
    let issue = |more: &[&str]| {
        let arguments: Vec<&str> = ["issue", "v.yaml", "--format", "json"].iter().chain(more).copied().collect();
        let record: serde_json::Value =
            serde_json::from_str(out(&halfcell(&arguments, folder.path())).trim_end()).unwrap();
        record["certificate"]["issued"].as_str().unwrap().to_owned()
    };
    let before = chrono::Utc::now().timestamp();
    let now = issue(&["--out", "a/done"]);
    let now = chrono::DateTime::parse_from_str(&now, "%Y-%m-%d %H:%M:%S %:z")
        .or_else(|_| chrono::DateTime::parse_from_str(&now.replacen(" +", ":00 +", 1), "%Y-%m-%d %H:%M:%S %:z"))
        .unwrap();
    assert!((before..=chrono::Utc::now().timestamp()).contains(&now.timestamp()), "the moment of issue is now");
    assert_eq!(now.offset().local_minus_utc(), 3600, "with the offset of the visit");
    assert_eq!(issue(&["--out", "b/done", "--issued", "2026-04-20T10:00Z"]), "2026-04-20 11:00 +01:00");
}

#[test]
fn brief_problems_stand_on_one_line() {
    let folder = folder_with(&[("v.yaml", &GOOD.replace("mv: 8.3", "mv: 8,3"))]);
    let told = err(&halfcell(&["check", "--brief", "v.yaml"], folder.path()));
    assert_eq!(told.lines().count(), 1, "{told}");
    assert!(told.starts_with("v.yaml:16:"), "{told}");
}

#[test]
fn new_writes_a_sheet_that_check_reads_to_the_last_empty_field() {
    let folder = tempfile::tempdir().unwrap();
    let made = halfcell(&["new", "--out", "n.yaml"], folder.path());
    assert_eq!(made.status.code(), Some(0), "{}", err(&made));
    let again = halfcell(&["new", "--out", "n.yaml"], folder.path());
    assert_eq!(again.status.code(), Some(2), "an existing file is not overwritten");
    let told = err(&halfcell(&["check", "--brief", "n.yaml"], folder.path()));
    assert!(told.lines().count() > 10, "{told}");
    let kinds: std::collections::BTreeSet<&str> =
        told.lines().map(|line| line.split('[').nth(1).unwrap_or(line).split(']').next().unwrap_or(line)).collect();
    assert!(
        kinds.iter().all(|kind| ["empty-value", "missing-key", "no-technician"].contains(kind)),
        "{kinds:?}\n{told}"
    );
}

#[test]
fn completions_are_printed_for_every_shell() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let printed = halfcell(&["completions", shell], Path::new("."));
        assert!(printed.status.success() && out(&printed).contains("halfcell"), "{shell}");
    }
}

#[test]
fn names_in_latin_greek_and_cyrillic_are_printed() {
    let named = GOOD.replace("technicians: [A. Name]", "technicians: [A. Name, Żółć Åsa, Ελένη, Ђорђе]");
    let folder = folder_with(&[("v.yaml", &named)]);
    let issued = halfcell(&["issue", "v.yaml", "--out", "done"], folder.path());
    assert_eq!(issued.status.code(), Some(0), "{}", err(&issued));
}

#[test]
fn check_refuses_what_issue_would_refuse() {
    let folder = folder_with(&[("v.yaml", &GOOD.replace("A. Name", "\u{4f50}\u{85e4}"))]);
    for arguments in [&["check", "v.yaml"][..], &["issue", "v.yaml", "--out", "out"]] {
        let refused = halfcell(arguments, folder.path());
        assert_eq!(refused.status.code(), Some(1), "{arguments:?}");
        assert_eq!(
            err(&refused).matches("error[character-without-glyph] v.yaml:6:17\n").count(),
            1,
            "{}",
            err(&refused)
        );
        assert_eq!(err(&refused).matches("character-without-glyph").count(), 2, "one for each character");
    }
    assert_eq!(names(folder.path().join("out")), [""; 0], "the register stands there, and no document");
}

#[test]
fn one_file_named_twice_is_worked_on_once() {
    let folder = folder_with(&[("v.yaml", GOOD)]);
    let checked = halfcell(&["check", "v.yaml", "./v.yaml", "."], folder.path());
    assert_eq!(out(&checked).matches("AIT-1").count(), 1);
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_read_is_no_access() {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder_with(&[("v.yaml", GOOD), ("w.yaml", GOOD)]);
    let closed = folder.path().join("w.yaml");
    std::fs::set_permissions(&closed, std::fs::Permissions::from_mode(0o000)).unwrap();
    if std::fs::File::open(&closed).is_ok() {
        eprintln!("this user may read everything: nothing to see");
        return;
    }
    let checked = halfcell(&["check", "."], folder.path());
    assert_eq!(checked.status.code(), Some(2));
    assert!(err(&checked).contains("w.yaml") && out(&checked).contains("AIT-1"), "{}", err(&checked));
}

#[test]
fn a_missing_limits_file_on_the_command_line_is_told_once() {
    let folder = folder_with(&[("v.yaml", GOOD), ("w.yaml", &GOOD.replace("V-1", "V-2"))]);
    for flag in ["--limits", "--firm"] {
        let checked = halfcell(&["check", ".", flag, "nowhere.yaml"], folder.path());
        assert_eq!(checked.status.code(), Some(2));
        assert_eq!(err(&checked).matches("nowhere.yaml").count(), 1, "{}", err(&checked));
    }
}
