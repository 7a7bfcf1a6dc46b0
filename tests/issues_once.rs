//! A number is given once: what was issued stays as it was, whatever is run again.

mod registers;

use registers::{KIT, err, files, halfcell, lines, out, sound, visit};
use serde_json::Value;
use std::path::Path;
use std::process::Command;

/// A folder with one visit, issued.
fn issued() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("kit.yaml"), KIT).unwrap();
    std::fs::write(folder.path().join("v.yaml"), visit("V-1", "2026-04-17", 160.1)).unwrap();
    let done = issue(folder.path(), &[]);
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    assert!(out(&done).contains("3 documents issued (PDF and HTML in done, entered in register)"), "{}", out(&done));
    folder
}

fn issue(folder: &Path, more: &[&str]) -> std::process::Output {
    let register: &[&str] = if more.contains(&"--register") { &[] } else { &["--register", "register"] };
    halfcell(&[&["issue", "v.yaml", "--out", "done"], register, more].concat(), folder)
}

fn is_sound(folder: &Path) -> usize {
    sound(&folder.join("register"), &folder.join("done"))
}

#[test]
fn every_document_has_its_two_lines() {
    let folder = issued();
    assert_eq!(is_sound(folder.path()), 3);
    let lines: Vec<Value> =
        lines(&folder.path().join("register")).iter().map(|line| serde_json::from_str(line).unwrap()).collect();
    let told: Vec<String> = lines.iter().map(|line| format!("{} {}", line["line"], line["number"])).collect();
    let of = |kind: &str| ["V-1-AIT-1", "V-1-AIT-2", "V-1"].map(|number| format!("\"{kind}\" \"{number}\"")).to_vec();
    assert_eq!(told, [of("opened"), of("issued")].concat());
    assert_eq!((&lines[0]["tag"], &lines[2]["tag"]), (&"AIT-1".into(), &Value::Null));
    assert_eq!((&lines[0]["as_found"], &lines[0]["draft"]), (&"pass".into(), &false.into()));
}

#[test]
fn the_page_prints_the_hash_of_its_line() {
    let folder = issued();
    for (line, number) in lines(&folder.path().join("register")).iter().zip(["V-1-AIT-1", "V-1-AIT-2", "V-1"]) {
        let page = std::fs::read_to_string(folder.path().join(format!("done/{number}.html"))).unwrap();
        let hash = registers::hash(line.as_bytes());
        assert!(page.contains(&hash), "{number}: whole");
        let short = format!("register {}\u{a0}{}\u{a0}{}", &hash[..4], &hash[4..8], &hash[8..12]);
        assert!(page.contains(&short), "{number}: «{short}» in the footer");
        assert!(!page.contains("not registered"), "{number}");
    }
}

#[test]
fn the_same_again_is_already_issued_and_changes_nothing() {
    let folder = issued();
    let before = (files(&folder.path().join("done")), lines(&folder.path().join("register")));
    let again = issue(folder.path(), &["--issued", "2030-01-01T00:00Z"]);
    assert_eq!(again.status.code(), Some(0), "{}", err(&again));
    assert_eq!(out(&again).matches("already issued  ").count(), 3, "{}", out(&again));
    assert_eq!((files(&folder.path().join("done")), lines(&folder.path().join("register"))), before);
}

#[test]
fn what_is_missing_is_painted_again_from_the_archive() {
    let folder = issued();
    let before = files(&folder.path().join("done"));
    for name in ["V-1-AIT-1.pdf", "V-1-AIT-1.html", "V-1.pdf"] {
        std::fs::remove_file(folder.path().join("done").join(name)).unwrap();
    }
    let again = issue(folder.path(), &[]);
    assert_eq!(again.status.code(), Some(0), "{}", err(&again));
    assert_eq!(out(&again).matches("painted again  ").count(), 2, "{}", out(&again));
    assert_eq!(files(&folder.path().join("done")), before);
    // Another folder gets the same documents under the same numbers.
    let elsewhere = issue(folder.path(), &["--out", "elsewhere", "--register", "register"]);
    assert_eq!(elsewhere.status.code(), Some(2), "--out twice is wrong use");
    let elsewhere = halfcell(&["issue", "v.yaml", "--out", "elsewhere", "--register", "register"], folder.path());
    assert_eq!(elsewhere.status.code(), Some(0), "{}", err(&elsewhere));
    assert_eq!(files(&folder.path().join("elsewhere")), before);
}

#[test]
fn a_document_that_cannot_be_made_as_registered_is_not_written() {
    let folder = issued();
    let text = lines(&folder.path().join("register"));
    let line: Value = serde_json::from_str(&text[0]).unwrap();
    let kit = line["sources"].as_array().unwrap().iter().find(|it| it["name"] == "kit.yaml").unwrap();
    let hash = kit["sha256"].as_str().unwrap();
    let kept = folder.path().join("register/archive").join(&hash[..2]).join(hash);
    std::fs::write(kept, KIT.replace("L7", "L8")).unwrap();
    std::fs::remove_file(folder.path().join("done/V-1-AIT-2.pdf")).unwrap();
    let again = issue(folder.path(), &[]);
    assert_eq!(again.status.code(), Some(1));
    assert!(err(&again).contains("V-1-AIT-2 was issued already and cannot be painted again"), "{}", err(&again));
    assert!(err(&again).contains("kit.yaml cannot be had from the archive"), "{}", err(&again));
    assert!(!folder.path().join("done/V-1-AIT-2.pdf").exists());
}

#[test]
fn a_document_that_was_changed_on_the_disk_is_named() {
    let folder = issued();
    let path = folder.path().join("done/V-1-AIT-1.html");
    let page = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, page.replace("168.4", "168.5")).unwrap();
    let again = issue(folder.path(), &[]);
    assert_eq!(again.status.code(), Some(1));
    assert!(err(&again).contains("done/V-1-AIT-1.html is not as it was issued"), "{}", err(&again));
    std::fs::remove_file(&path).unwrap();
    assert_eq!(issue(folder.path(), &[]).status.code(), Some(0));
    assert_eq!(std::fs::read_to_string(&path).unwrap(), page);
}

#[test]
fn other_sources_under_the_same_number_are_refused_and_named() {
    let folder = issued();
    let before = (files(&folder.path().join("done")), lines(&folder.path().join("register")));
    for (name, from, to) in [("v.yaml", "168.4", "167.4"), ("kit.yaml", "L7", "L9")] {
        let path = folder.path().join(name);
        let text = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, text.replace(from, to)).unwrap();
        for more in [&[][..], &["--out", "elsewhere"][..]] {
            let arguments = [&["issue", "v.yaml", "--register", "register"], more].concat();
            let changed = halfcell(&arguments, folder.path());
            assert_eq!(changed.status.code(), Some(1));
            let told = err(&changed).split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(told.contains("error[number-issued-already] v.yaml:2:11"), "{told}");
            assert!(told.contains(&format!("from other files: {name} is another")), "{told}");
            assert!(told.contains("never overwritten") && told.contains("--amend"), "{told}");
        }
        std::fs::write(&path, text).unwrap();
    }
    assert_eq!((files(&folder.path().join("done")), lines(&folder.path().join("register"))), before);
    assert!(!folder.path().join("elsewhere").exists() && !folder.path().join("certificates").exists());
}

#[test]
fn a_file_that_the_register_does_not_know_is_not_overwritten() {
    let folder = issued();
    std::fs::write(folder.path().join("v.yaml"), visit("V-2", "2026-04-18", 160.1)).unwrap();
    std::fs::write(folder.path().join("done/V-2.html"), "something else").unwrap();
    let refused = issue(folder.path(), &[]);
    assert_eq!(refused.status.code(), Some(1));
    assert!(err(&refused).contains("done/V-2.html is a file that the register does not know"), "{}", err(&refused));
    assert_eq!(lines(&folder.path().join("register")).len(), 6, "nothing was opened");
    assert_eq!(files(&folder.path().join("done")).len(), 7);
}

#[test]
fn a_copy_of_a_visit_file_is_the_same_visit() {
    let folder = issued();
    std::fs::write(folder.path().join("v.yaml"), visit("V-2", "2026-04-18", 160.1)).unwrap();
    std::fs::copy(folder.path().join("v.yaml"), folder.path().join("w.yaml")).unwrap();
    let done = halfcell(&["issue", ".", "--out", "done", "--register", "register"], folder.path());
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    assert!(out(&done).contains("3 documents issued, 3 already issued"), "{}", out(&done));
    assert_eq!(is_sound(folder.path()), 6);
}

#[test]
fn drafts_have_numbers_of_their_own_and_the_document_that_stands_has_the_plain_one() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("kit.yaml"), KIT).unwrap();
    let whole = visit("V-1", "2026-04-17", 160.1);
    let unsigned = whole.split("signatures:").next().unwrap();
    let steps = [(unsigned.to_owned(), "-D1"), (unsigned.replace("168.4", "168.3"), "-D2"), (whole.clone(), "")];
    for (text, ending) in &steps {
        std::fs::write(folder.path().join("v.yaml"), text).unwrap();
        let done = issue(folder.path(), &[]);
        assert_eq!(done.status.code(), Some(0), "{}", err(&done));
        for number in ["V-1-AIT-1", "V-1-AIT-2", "V-1"] {
            let word = if ending.is_empty() { "issued" } else { "issued as draft" };
            assert!(out(&done).contains(&format!("{word}  done/{number}{ending}.pdf")), "{}", out(&done));
            let page = std::fs::read_to_string(folder.path().join(format!("done/{number}{ending}.html"))).unwrap();
            assert_eq!(page.contains("Draft"), !ending.is_empty());
        }
    }
    assert_eq!(is_sound(folder.path()), 9);
    std::fs::write(folder.path().join("v.yaml"), &steps[0].0).unwrap();
    assert_eq!(out(&issue(folder.path(), &[])).matches("already issued as draft  done/V-1").count(), 3);
}

#[test]
fn check_touches_no_register() {
    let folder = issued();
    let before = lines(&folder.path().join("register"));
    std::fs::write(folder.path().join("v.yaml"), visit("V-2", "2026-04-18", 160.1)).unwrap();
    assert_eq!(halfcell(&["check", "v.yaml"], folder.path()).status.code(), Some(0));
    assert_eq!(lines(&folder.path().join("register")), before);
    let fresh = tempfile::tempdir().unwrap();
    std::fs::write(fresh.path().join("kit.yaml"), KIT).unwrap();
    std::fs::write(fresh.path().join("v.yaml"), visit("V-2", "2026-04-18", 160.1)).unwrap();
    assert_eq!(halfcell(&["check", "v.yaml"], fresh.path()).status.code(), Some(0));
    assert_eq!(files(fresh.path()).len(), 2);
    assert_eq!(std::fs::read_dir(fresh.path()).unwrap().count(), 2, "no folder was made");
}

#[test]
fn a_register_that_was_changed_takes_no_more_documents() {
    let folder = issued();
    let path = folder.path().join("register/register.jsonl");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(folder.path().join("v.yaml"), visit("V-2", "2026-04-18", 160.1)).unwrap();
    let changes = [
        (text.replacen("\"pass\"", "\"fail\"", 1), "line 2 names another line before it"),
        (text.lines().skip(1).map(|line| format!("{line}\n")).collect(), "line 1 has the number 2 where 1 is due"),
        (text.replacen("{\"entry\":3", "{\"entry\":x", 1), "line 3 cannot be read"),
    ];
    for (changed, told) in changes {
        std::fs::write(&path, &changed).unwrap();
        let refused = issue(folder.path(), &[]);
        assert_eq!(refused.status.code(), Some(1), "{}", err(&refused));
        assert!(err(&refused).contains(told), "{}", err(&refused));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), changed, "nothing is added");
    }
    assert_eq!(files(&folder.path().join("done")).len(), 6);
}

/// The recipe of the developers' guide, run as it stands there, in a register's folder.
#[test]
fn ordinary_tools_recompute_the_chain() {
    let guide = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md")).unwrap();
    let recipes: Vec<&str> = guide.split("\n```sh\n").skip(1).map(|rest| rest.split("\n```").next().unwrap()).collect();
    let recipe = recipes.iter().find(|text| text.contains("register.jsonl")).expect("the guide has the recipe");
    if Command::new("sha256sum").arg("--version").output().is_err() {
        eprintln!("no sha256sum here: the recipe was not tried");
        return;
    }
    let folder = issued();
    let register = folder.path().join("register");
    let run = || {
        let done = Command::new("sh").args(["-c", recipe]).current_dir(&register).output().unwrap();
        (done.status.success(), String::from_utf8(done.stdout).unwrap())
    };
    let (_, told) = run();
    assert_eq!(told.lines().filter(|line| line.ends_with(": ok")).count(), 6, "{told}");
    let path = register.join("register.jsonl");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text.replacen("\"pass\"", "\"fail\"", 1)).unwrap();
    assert!(run().1.contains("line 2: another line stood before it"), "{}", run().1);
}
