//! Every way of tampering with a register is found and named with its line, and the answer says what was at hand to find it.

#[path = "register_shows_tampering/bytes.rs"]
mod bytes;
#[path = "register_shows_tampering/chain.rs"]
mod chain;
#[path = "register_shows_tampering/documents.rs"]
mod documents;
mod registers;
#[path = "register_shows_tampering/signatures.rs"]
mod signatures;

use chain::{head, rechained};
use registers::{err, files, halfcell, hash, lines, out};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use tempfile::TempDir;

/// What a run said.
struct Said {
    code: i32,
    text: String,
    objects: Vec<Value>,
}

impl Said {
    /// What was said of the register.
    fn register(&self) -> &Value {
        self.objects.iter().find(|it| it.get("lines").is_some()).expect("the register is told")
    }

    /// What was said of a file.
    fn document(&self, name: &str) -> &Value {
        let is_it = |it: &&Value| it["file"].as_str().is_some_and(|file| file.ends_with(name));
        self.objects.iter().find(is_it).unwrap_or_else(|| panic!("{name} is told"))
    }

    /// Words for the faults of the register, each with its line.
    fn faults(&self) -> Vec<(String, Option<u64>)> {
        let faults = self.register()["faults"].as_array().unwrap().iter();
        faults.map(|it| (it["fault"].as_str().unwrap().to_owned(), it["line"].as_u64())).collect()
    }
}

/// Runs `verify` as a person and as a program: both must give the same exit code.
fn verify(folder: &Path, arguments: &[&str]) -> Said {
    let run = |more: &[&str]| halfcell(&[&["verify"], arguments, more].concat(), folder);
    let (text, json) = (run(&[]), run(&["--format", "json"]));
    assert_eq!(text.status.code(), json.status.code(), "{}{}", out(&text), err(&text));
    let objects = out(&json).lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let code = text.status.code().unwrap();
    // Sentences are broken into lines; a test looks for words.
    let told = out(&text) + &err(&text);
    Said { code, text: told.split_whitespace().collect::<Vec<_>>().join(" "), objects }
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

/// A folder with the visits of a round and their six documents in `done`, its register in `done/register`: lines 1 to 6 open the
/// documents, 7 to 12 enter their files.
fn office() -> TempDir {
    static ISSUED: OnceLock<TempDir> = OnceLock::new();
    let issued = ISSUED.get_or_init(|| {
        let work = tempfile::tempdir().unwrap();
        registers::round(&work.path().join("visits"), 0, 2);
        let issue = ["issue", "visits", "--out", "done", "--issued", "2026-11-20T10:30+01:00"];
        let done = halfcell(&issue, work.path());
        assert!(done.status.success(), "{}", err(&done));
        work
    });
    let own = tempfile::tempdir().unwrap();
    copied(issued.path(), own.path());
    own
}

fn register(office: &TempDir) -> PathBuf {
    office.path().join("done/register")
}

fn written(office: &TempDir, lines: &[String]) {
    let text: String = lines.iter().map(|line| format!("{line}\n")).collect();
    std::fs::write(register(office).join("register.jsonl"), text).unwrap();
}

/// Changes the lines of a fresh register and verifies it alone.
fn changed(change: impl Fn(&mut Vec<String>)) -> Said {
    let office = office();
    let mut all = lines(&register(&office));
    change(&mut all);
    written(&office, &all);
    verify(office.path(), &["done/register"])
}

fn only(said: &Said, fault: &str, line: u64) {
    assert_eq!(said.code, 1, "{}", said.text);
    assert_eq!(said.faults(), [(fault.to_owned(), Some(line))], "{}", said.text);
    assert_eq!(said.register()["first_broken_line"], line);
    assert!(said.text.contains(&format!("the first broken line is {line}")), "{}", said.text);
}

#[test]
fn an_untouched_register_stands_and_says_what_remains_unproved() {
    let office = office();
    let said = verify(office.path(), &["done"]);
    assert_eq!(said.code, 0, "{}", said.text);
    assert!(said.text.contains("12 documents: 12 stand"), "{}", said.text);
    assert!(said.text.contains("stands register done/register: 12 lines, 6 documents"), "{}", said.text);
    assert!(said.text.contains("at hand the register unproved a register written anew as a whole"), "{}", said.text);
    assert_eq!(said.register()["hash"], head(&lines(&register(&office))).as_str());
    let quiet = halfcell(&["verify", "done", "--quiet"], office.path());
    assert_eq!((quiet.status.code(), out(&quiet), err(&quiet)), (Some(0), String::new(), String::new()));
}

#[test]
fn an_edited_line_is_named() {
    let said = changed(|lines| lines[1] = lines[1].replace("Invented client", "Another client"));
    let both = [("edited".into(), Some(2)), ("contradicts".into(), Some(2))];
    assert_eq!((said.code, said.faults()), (1, both.to_vec()), "{}", said.text);
    assert_eq!(said.register()["first_broken_line"], 2);
    assert!(said.text.contains("line 2 is not the one that line 3 names"), "{}", said.text);
}

#[test]
fn an_edited_entry_of_files_is_named() {
    only(&changed(|lines| lines[8] = lines[8].replacen("\"pdf\":\"", "\"pdf\":\"0", 1)), "edited", 9);
}

#[test]
fn a_removed_line_is_named_with_its_number() {
    let said = changed(|lines| drop(lines.remove(8)));
    only(&said, "removed", 9);
    assert!(said.text.contains("before line 9 the entry 9 is missing"), "{}", said.text);
    let said = changed(|lines| drop(lines.drain(6..9)));
    assert!(said.text.contains("the entries 7 to 9 are missing"), "{}", said.text);
}

#[test]
fn a_removed_beginning_is_named() {
    let said = changed(|lines| drop(lines.drain(..1)));
    assert_eq!(said.faults()[0], ("removed".into(), Some(1)), "{}", said.text);
}

#[test]
fn an_inserted_line_is_named() {
    let said = changed(|lines| {
        let more = lines[4].replace("\"number\":\"", "\"number\":\"X");
        lines.insert(4, more);
    });
    assert_eq!(said.faults()[0], ("inserted".into(), Some(5)), "{}", said.text);
}

#[test]
fn exchanged_lines_are_named() {
    only(&changed(|lines| lines.swap(7, 8)), "moved", 8);
}

#[test]
fn a_repeated_line_is_named() {
    let said = changed(|lines| lines.insert(10, lines[7].clone()));
    assert_eq!(said.faults()[0], ("repeated".into(), Some(11)), "{}", said.text);
    assert!(said.text.contains("line 11 is line 8 once more"), "{}", said.text);
}

#[test]
fn another_register_behind_it_is_named() {
    let said = changed(|lines| {
        let other = rechained(&[lines[0].replace("V-0-0", "V-9-9")]);
        lines.extend(other);
    });
    assert!(said.faults().contains(&("restarted".into(), Some(13))), "{}", said.text);
}

#[test]
fn a_line_that_is_none_is_named() {
    let said = changed(|lines| lines[8] = "{}".into());
    assert_eq!(said.faults()[0], ("unreadable".into(), Some(9)), "{}", said.text);
    assert_eq!(said.faults().len(), 1, "{}", said.text);
}

#[test]
fn a_number_opened_twice_and_one_ended_twice_are_named_though_the_chain_is_whole() {
    let said = changed(|lines| {
        lines.extend([lines[0].clone(), lines[6].clone()]);
        *lines = rechained(lines);
    });
    let faults = said.faults();
    assert!(faults.contains(&("out-of-turn".into(), Some(13))), "{}", said.text);
    assert!(faults.contains(&("out-of-turn".into(), Some(14))), "{}", said.text);
}

#[test]
fn two_followers_of_one_document_are_named_though_the_chain_is_whole() {
    let said = changed(|lines| {
        let number = "\"number\":\"V-0-0-AIT-1\"";
        for count in 1..=2 {
            let follower = lines[0].replace(number, &format!("\"number\":\"V-0-0-AIT-1-A{count}\""));
            let follower = follower.replace("\"predecessor\":null", "\"predecessor\":\"V-0-0-AIT-1\"");
            lines.push(follower.replace("\"kind\":\"original\"", "\"kind\":\"amendment\""));
        }
        *lines = rechained(lines);
    });
    assert!(said.faults().contains(&("forked".into(), Some(14))), "{}", said.text);
    assert!(said.text.contains("line 14 opens V-0-0-AIT-1-A2 as what follows V-0-0-AIT-1"), "{}", said.text);
}

#[test]
fn a_torn_end_is_told_and_breaks_nothing() {
    let office = office();
    let path = register(&office).join("register.jsonl");
    let whole = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, format!("{whole}{}", &whole[..500])).unwrap();
    let said = verify(office.path(), &["done/register"]);
    assert_eq!((said.code, said.faults()), (0, vec![]), "{}", said.text);
    assert_eq!(said.register()["torn_bytes"], 500);
    assert!(said.text.contains("500 bytes of one that a crash tore off"), "{}", said.text);
}

#[test]
fn a_cut_end_is_found_by_a_hash_kept_elsewhere_and_not_without() {
    let office = office();
    let all = lines(&register(&office));
    let kept = head(&all);
    assert_eq!(verify(office.path(), &["done/register", "--anchor", &kept]).code, 0);
    written(&office, &all[..11]);
    let alone = verify(office.path(), &["done/register"]);
    assert_eq!(alone.code, 0, "{}", alone.text);
    assert!(alone.text.contains("cut at its end, cannot be told from itself"), "{}", alone.text);
    let said = verify(office.path(), &["done/register", "--anchor", &kept]);
    assert_eq!((said.code, said.faults()), (1, vec![("unmatched".into(), None)]), "{}", said.text);
    assert!(
        said.text.contains("lines were cut off at the end, or the whole register was written anew"),
        "{}",
        said.text
    );
}

#[test]
fn a_register_written_anew_is_found_by_a_hash_kept_elsewhere_only() {
    let office = office();
    let mut all = lines(&register(&office));
    let kept = hash(all[4].as_bytes());
    all[0] = all[0].replace("\"requested_by\":null", "\"requested_by\":\"A. Name\"");
    written(&office, &rechained(&all));
    assert_eq!(verify(office.path(), &["done/register"]).code, 0);
    let said = verify(office.path(), &["done/register", "--anchor", &kept]);
    assert_eq!((said.code, said.faults()), (1, vec![("unmatched".into(), None)]), "{}", said.text);
}

#[test]
fn a_hash_kept_elsewhere_proves_the_lines_up_to_its_own() {
    let office = office();
    let all = lines(&register(&office));
    let typed = hash(all[7].as_bytes()).to_uppercase();
    let said = verify(office.path(), &["done", "--anchor", &format!("{} {}", &typed[..32], &typed[32..])]);
    assert_eq!(said.code, 0, "{}", said.text);
    assert!(
        said.text.contains("of line 8 (issued V-0-0-AIT-2, 2026-11-20 10:30 +01:00): lines 1 to 8 are proved"),
        "{}",
        said.text
    );
    assert!(said.text.contains("unproved the 4 lines behind it"), "{}", said.text);
    assert_eq!(said.document("V-0-0-AIT-2.pdf")["at_hand"].as_array().unwrap().last().unwrap(), "hash-kept-elsewhere");
    // Line 8 proves the record that line 3 names, and the PDF is what is computed from it; that the page is the one entered on
    // line 9 hangs on by the chain.
    assert_eq!(said.document("V-0-0.pdf")["by_chain_alone"], false);
    assert_eq!(said.document("V-0-0.html")["by_chain_alone"], true);
    // Behind a break, it proves what stands between the break and itself.
    let mut cut = all.clone();
    cut.remove(0);
    written(&office, &cut);
    let said = verify(office.path(), &["done", "--anchor", &head(&all)]);
    assert_eq!(said.code, 1);
    assert_eq!(said.document("V-0-0-AIT-2.pdf")["verdict"], "stands", "{}", said.text);
    assert_eq!(said.document("V-0-0-AIT-1.pdf")["verdict"], "fails", "{}", said.text);
}

#[test]
fn documents_before_and_behind_the_first_broken_line_are_told_apart() {
    let office = office();
    let mut all = lines(&register(&office));
    all[8] = all[8].replacen("\"number\":\"V-0-0\"", "\"number\":\"V-0-7\"", 1);
    written(&office, &all);
    let said = verify(office.path(), &["done"]);
    let verdict = |name: &str| said.document(name)["verdict"].as_str().unwrap().to_owned();
    assert_eq!(verdict("V-0-0-AIT-1.pdf"), "stands", "its lines 1 and 7 are linked to the first: {}", said.text);
    assert_eq!(verdict("V-0-0-AIT-2.html"), "stands");
    assert_eq!(verdict("V-0-1-AIT-1.pdf"), "unproved", "entered on line 10: {}", said.text);
    assert!(said.text.contains("but the chain is broken at line 9"), "{}", said.text);
}

#[test]
fn what_the_archive_lacks_is_named_with_the_documents_made_from_it() {
    let office = office();
    let archive = register(&office).join("archive");
    let at = |text: &str| archive.join(&hash(text.as_bytes())[..2]).join(hash(text.as_bytes()));
    let visit = std::fs::read_to_string(office.path().join("visits/v-1.yaml")).unwrap();
    std::fs::remove_file(at(registers::KIT)).unwrap();
    std::fs::write(at(&visit), visit.replace("8.3", "8.2")).unwrap();
    std::fs::write(archive.join("00"), "put in").unwrap();
    let said = verify(office.path(), &["done/register"]);
    let faults = said.register()["faults"].as_array().unwrap().clone();
    let told: Vec<(&str, &str, &str, u64)> = faults
        .iter()
        .map(|it| {
            let text = |key: &str| it[key].as_str().unwrap();
            (text("lack"), text("name"), text("number"), it["documents"].as_u64().unwrap())
        })
        .collect();
    assert_eq!(
        told,
        [("missing", "kit.yaml", "V-0-0-AIT-1", 6), ("altered", "v-1.yaml", "V-0-1-AIT-1", 3)],
        "{}",
        said.text
    );
    assert_eq!(said.code, 1);
    assert!(said.text.contains("kit.yaml is missing from the archive"), "{}", said.text);
    assert!(said.text.contains("in the archive 1 file that no line names"), "{}", said.text);
    assert!(said.register()["first_broken_line"].is_null(), "the chain is whole");
    // One document alone: only what it was made from is looked at.
    let one = verify(office.path(), &["done/V-0-0-AIT-1.pdf"]);
    assert_eq!(one.document("V-0-0-AIT-1.pdf")["verdict"], "stands", "{}", one.text);
    assert_eq!((one.code, one.faults().len()), (1, 1), "{}", one.text);
}

#[test]
fn an_altered_record_is_named() {
    let office = office();
    let line: Value = serde_json::from_str(&lines(&register(&office))[1]).unwrap();
    let name = line["record"].as_str().unwrap();
    let path = register(&office).join("archive").join(&name[..2]).join(name);
    let record = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, record.replacen("AIT-2", "AIT-9", 1)).unwrap();
    let said = verify(office.path(), &["done/register"]);
    assert_eq!(said.faults(), [("archive".into(), Some(2))], "{}", said.text);
    assert!(said.text.contains("its record was altered in the archive"), "{}", said.text);
}

#[test]
fn a_line_that_contradicts_its_record_or_its_sources_is_named_though_the_chain_is_whole() {
    for (from, to, field) in [
        ("\"as_found\":\"pass\"", "\"as_found\":\"fail\"", "as_found"),
        ("\"issued\":\"2026", "\"issued\":\"2025", "issued"),
        ("\"client\":\"Invented", "\"client\":\"Other", "client"),
        ("\"tag\":\"AIT-2\"", "\"tag\":\"AIT-1\"", "tag"),
    ] {
        let said = changed(|lines| {
            assert!(lines[1].contains(from), "{}", lines[1]);
            lines[1] = lines[1].replacen(from, to, 1);
            *lines = rechained(lines);
        });
        let faults = said.register()["faults"].as_array().unwrap().clone();
        let is_it = |it: &Value| it["fault"] == "contradicts" && it["field"] == field && it["line"] == 2;
        assert!(faults.iter().any(is_it), "{field}: {}", said.text);
    }
    let said = changed(|lines| {
        let (a, b) = (hash(registers::KIT.as_bytes()), hash(b"another kit"));
        lines[1] = lines[1].replace(&a, &b);
        *lines = rechained(lines);
    });
    assert!(said.faults().contains(&("source-key".into(), Some(2))), "{}", said.text);
}

#[test]
fn wrong_use_and_no_access_are_told() {
    let office = office();
    for (arguments, told) in [
        (&["nothing.pdf"][..], "No such file"),
        (&["visits"], "neither a document nor a register is in this folder"),
        (&["done", "--register", "visits"], "there is no register here"),
        (&["done", "--anchor", "12ab"], "a hash has 64 digits"),
        (&["done", "--trust", "visits/kit.yaml"], "it holds no key"),
    ] {
        let said = verify(office.path(), arguments);
        assert_eq!(said.code, 2, "{arguments:?}: {}", said.text);
        assert!(said.text.contains(told), "{arguments:?}: {}", said.text);
    }
    assert_eq!(files(&office.path().join("done")).len(), 12, "nothing was written");
}

#[test]
fn a_hostile_register_is_answered_and_cannot_move_the_cursor() {
    let office = office();
    let mut all = lines(&register(&office));
    all[1] =
        all[1].replace("\"V-0-0-AIT-2\"", "\"\\u001b[2J\\u202eV\"").replace("\"record\":\"", "\"record\":\"../../é");
    all[6] = all[6].replace("\"pdf\":\"", "\"pdf\":\"é");
    all.push(
        "{\"entry\":0,\"line\":\"signed\",\"at\":\"\",\"up_to\":18446744073709551615,\"hash\":\"é\",\"key\":\"ab\",\"signature\":\"\",\"previous\":\"\"}"
            .to_owned(),
    );
    all.push(
        "{\"entry\":18446744073709551615,\"line\":\"void\",\"number\":\"\",\"reason\":\"\",\"previous\":\"\"}"
            .to_owned(),
    );
    all.push("{}".to_owned());
    all.push(all[13].clone() + " ");
    for lines in [rechained(&all[..13]), all] {
        written(&office, &lines);
        let said = halfcell(&["verify", "done"], office.path());
        assert_eq!(said.status.code(), Some(1), "{}", err(&said));
        let text = out(&said);
        assert!(text.contains("\u{fffd}[2J\u{fffd}V"), "{text}");
        assert!(!text.contains(['\u{1b}', '\u{202e}']), "{text:?}");
    }
}
