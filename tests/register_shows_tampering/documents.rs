//! Documents held against their register: altered, forged, replaced, drafts, unknown ones.

use crate::chain::{head, rechained};
use crate::registers::{self, err, files, halfcell, hash, lines, out};
use crate::{copied, office, register, verify, written};
use halfcell::issue::source_key;
use halfcell::register::{Entry, Issued, Opened, Register};
use std::path::Path;

#[test]
fn an_altered_document_is_named_and_the_others_stand() {
    let office = office();
    let path = office.path().join("done/V-0-0-AIT-1.html");
    let page = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, page.replacen("8.3", "8.8", 1)).unwrap();
    let said = verify(office.path(), &["done"]);
    assert_eq!(said.code, 1);
    assert_eq!(said.document("V-0-0-AIT-1.html")["verdict"], "fails");
    assert!(said.text.contains("12 documents: 11 stand, 1 DO NOT STAND"), "{}", said.text);
    assert!(said.text.contains("its bytes are not those of V-0-0-AIT-1: line 7 has the SHA-256"), "{}", said.text);
    let quiet = out(&halfcell(&["verify", "done", "--quiet"], office.path()));
    assert_eq!(quiet.lines().filter(|line| !line.starts_with(' ')).count(), 1, "{quiet}");
}

#[test]
fn a_consistent_forgery_is_found_by_the_register_or_a_hash_kept_elsewhere() {
    let office = office();
    // The same visit with better figures, made by the program itself in another place: page, data and record agree.
    let forger = tempfile::tempdir().unwrap();
    registers::round(forger.path(), 0, 0);
    std::fs::write(forger.path().join("v-0.yaml"), registers::visit("V-0-0", "2010-01-01", 165.0)).unwrap();
    let made = halfcell(&["issue", ".", "--issued", "2026-11-20T10:30+01:00", "--out", "done"], forger.path());
    assert!(made.status.success(), "{}", err(&made));
    let true_hash = hash(lines(&register(&office))[0].as_bytes());
    let forged = forger.path().join("done/V-0-0-AIT-1.pdf");
    // By the forger's own register it stands, and the answer says what that proves.
    let own = verify(forger.path(), &["done"]);
    assert_eq!(own.code, 0, "{}", own.text);
    assert!(own.text.contains("at hand the register unproved a register written anew"), "{}", own.text);
    let anchored = verify(forger.path(), &["done", "--anchor", &true_hash]);
    assert_eq!(anchored.code, 1, "{}", anchored.text);
    // By the true register it does not.
    let by_register = verify(office.path(), &[&forged.to_string_lossy(), "--register", "done/register"]);
    assert_eq!(by_register.code, 1);
    assert!(by_register.text.contains("its bytes are not those of V-0-0-AIT-1"), "{}", by_register.text);
    assert_eq!(by_register.objects[0]["at_hand"], serde_json::json!(["document", "register"]));
    // Alone, only the hash of the true file, kept elsewhere, tells.
    let lone = tempfile::tempdir().unwrap();
    std::fs::create_dir(lone.path().join("in")).unwrap();
    std::fs::copy(&forged, lone.path().join("in/x.pdf")).unwrap();
    let alone = verify(lone.path(), &["in/x.pdf"]);
    assert_eq!((alone.code, &alone.objects[0]["verdict"]), (0, &"agrees".into()), "{}", alone.text);
    assert!(alone.text.contains("at hand the document alone"), "{}", alone.text);
    assert!(alone.text.contains("found only by the register, or by the SHA-256 of the file"), "{}", alone.text);
    let file = |path: &Path| hash(&std::fs::read(path).unwrap());
    let wrong = verify(lone.path(), &["in/x.pdf", "--anchor", &file(&office.path().join("done/V-0-0-AIT-1.pdf"))]);
    assert_eq!(wrong.code, 1, "{}", wrong.text);
    assert!(wrong.text.contains("no document here has the hash kept elsewhere"), "{}", wrong.text);
    std::fs::copy(office.path().join("done/V-0-0-AIT-1.pdf"), lone.path().join("in/x.pdf")).unwrap();
    let right = verify(lone.path(), &["in/x.pdf", "--anchor", &file(&lone.path().join("in/x.pdf"))]);
    assert_eq!((right.code, &right.objects[0]["verdict"]), (0, &"stands".into()), "{}", right.text);
}

#[test]
fn a_document_shows_that_its_register_was_written_anew_or_cut() {
    let office = office();
    registers::round(&office.path().join("visits"), 5, 1);
    let issue = ["issue", "visits", "--out", "done", "--issued", "2026-11-21T10:30+01:00"];
    assert!(halfcell(&issue, office.path()).status.success());
    let all = lines(&register(&office));
    let mut anew = all.clone();
    anew[0] = anew[0].replace("\"requested_by\":null", "\"requested_by\":\"A. Name\"");
    written(&office, &rechained(&anew));
    let said = verify(office.path(), &["done/V-5-0.pdf", "done/V-0-0-AIT-1.pdf"]);
    assert_eq!((said.code, said.faults()), (1, vec![]), "the register agrees with itself: {}", said.text);
    assert_eq!(said.document("V-0-0-AIT-1.pdf")["verdict"], "fails", "{}", said.text);
    let told = format!("it prints the hash {}…, and its line 1 has", &hash(all[0].as_bytes())[..16]);
    assert!(said.text.contains(&told), "{}", said.text);
    written(&office, &all[..12]);
    let said = verify(office.path(), &["done/V-5-0.pdf"]);
    assert_eq!((said.code, said.faults()), (1, vec![]), "{}", said.text);
    assert!(said.text.contains("knows neither the file nor the number V-5-0; near are V-0-0"), "{}", said.text);
    let told = format!("it prints the hash {}…, which no line of this register has", &hash(all[14].as_bytes())[..16]);
    assert!(said.text.contains(&told), "{}", said.text);
}

/// Enters a document that follows another, with files of its own, through the library.
fn followed(office: &Path, number: &str, end: bool) {
    let folder = office.join("done/register");
    let (mut register, _) = Register::open(&folder).unwrap();
    let standing = register.index().standing("V-0-0-AIT-1").unwrap();
    let (first, _) = register.opened(standing).unwrap();
    let record = String::from_utf8(register.archive.bytes(&first.record).unwrap()).unwrap();
    let record = record.replacen("\"number\":\"V-0-0-AIT-1\"", &format!("\"number\":\"{number}\""), 1);
    let record = record.replacen("\"kind\":\"original\"", "\"kind\":\"amendment\"", 1);
    let record = register.archive.keep(record.as_bytes()).unwrap();
    let predecessor = Some("V-0-0-AIT-1".to_owned());
    let key = source_key(&first.sources, &first.wording, first.tag.as_deref(), "amendment", predecessor.as_deref());
    let opened = Opened {
        number: number.into(),
        file: number.into(),
        kind: "amendment".into(),
        predecessor,
        original: Some("V-0-0-AIT-1".into()),
        source_key: key,
        record,
        ..first
    };
    register.add(|_| vec![Entry::Opened(Box::new(opened))]).unwrap();
    if end {
        let issued = Issued { number: number.into(), pdf: hash(b"%PDF follower"), html: hash(b"<html>") };
        register.add(|_| vec![Entry::Issued(issued)]).unwrap();
        std::fs::write(office.join(format!("done/{number}.pdf")), "%PDF follower").unwrap();
    }
}

#[test]
fn a_replaced_document_stands_but_is_never_taken_for_the_one_in_force() {
    let office = office();
    let before = lines(&register(&office));
    followed(office.path(), "V-0-0-AIT-1-A1", true);
    let said = verify(office.path(), &["done/V-0-0-AIT-1.pdf"]);
    assert_eq!(said.code, 0, "{}", said.text);
    let document = said.document("V-0-0-AIT-1.pdf");
    assert_eq!((&document["verdict"], &document["by"]), (&"replaced".into(), &"V-0-0-AIT-1-A1".into()));
    assert!(said.text.starts_with("replaced done/V-0-0-AIT-1.pdf"), "{}", said.text);
    let told = "stands, but replaced by V-0-0-AIT-1-A1, issued 2026-11-20 10:30 +01:00; ask for that one";
    assert!(said.text.contains(told), "{}", said.text);
    assert_eq!(verify(office.path(), &["done/V-0-0-AIT-1-A1.pdf"]).objects[0]["verdict"], "stands");
    // Whoever cuts the register to hide the follower is found by a hash kept elsewhere.
    let kept = head(&lines(&register(&office)));
    written(&office, &before);
    assert_eq!(verify(office.path(), &["done/V-0-0-AIT-1.pdf"]).objects[0]["verdict"], "stands");
    let hidden = verify(office.path(), &["done/V-0-0-AIT-1.pdf", "--anchor", &kept]);
    assert_eq!((hidden.code, hidden.faults()), (1, vec![("unmatched".into(), None)]), "{}", hidden.text);
    // And the follower itself, kept by the client, is unknown to the cut register.
    let follower = verify(office.path(), &["done/V-0-0-AIT-1-A1.pdf"]);
    assert_eq!(follower.code, 1);
    assert!(follower.text.contains("does not know the file; near are V-0-0-AIT-1"), "{}", follower.text);
}

#[test]
fn a_pending_document_is_not_taken_for_an_issued_one() {
    let office = office();
    followed(office.path(), "V-0-0-AIT-1-A1", false);
    std::fs::write(office.path().join("done/V-0-0-AIT-1-A1.pdf"), "%PDF half").unwrap();
    let said = verify(office.path(), &["done"]);
    assert_eq!(said.code, 1);
    assert_eq!(said.document("V-0-0-AIT-1-A1.pdf")["verdict"], "pending", "{}", said.text);
    assert!(said.text.contains("V-0-0-AIT-1-A1 was opened on line 13, and its files are not entered"), "{}", said.text);
    assert_eq!(said.document("V-0-0-AIT-1.pdf")["verdict"], "stands", "nothing issued replaces it");
}

#[test]
fn a_void_number_is_told_with_its_reason() {
    let office = office();
    let mut all = lines(&register(&office));
    all[6] = all[6].split_once("\"pdf\"").unwrap().0.replace("\"issued\"", "\"void\"");
    all[6] += "\"reason\":\"the disk was full\",\"previous\":\"\"}";
    written(&office, &rechained(&all));
    let said = verify(office.path(), &["done/V-0-0-AIT-1.pdf"]);
    assert_eq!(said.code, 1);
    assert!(
        said.text.contains("V-0-0-AIT-1 is void: its files were never entered (the disk was full)"),
        "{}",
        said.text
    );
}

#[test]
fn an_unknown_document_is_told_with_numbers_near_by() {
    let office = office();
    std::fs::write(office.path().join("done/V-0-0-AIT-3.pdf"), "%PDF").unwrap();
    std::fs::write(office.path().join("done/index.html"), "<!doctype html>").unwrap();
    let said = verify(office.path(), &["done"]);
    assert_eq!(said.code, 1);
    assert!(said.text.contains("does not know the file; near are V-0-0-AIT-1, V-0-0-AIT-2"), "{}", said.text);
    assert!(said.text.contains("1 page passed over, no certificate"), "{}", said.text);
    assert_eq!(verify(office.path(), &["done/index.html"]).code, 1, "named, it is not passed over");
}

#[test]
fn a_draft_is_told_as_one() {
    let work = tempfile::tempdir().unwrap();
    copied(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/old/0.1.0"), work.path());
    let said = verify(work.path(), &["HM-2026-061-AT-140-D1.pdf"]);
    assert_eq!(said.code, 0, "{}", said.text);
    assert!(said.text.starts_with("draft HM-2026-061-AT-140-D1.pdf"), "{}", said.text);
    assert!(said.text.contains("signatures awaited; HM-2026-061-AT-140 is not issued yet"), "{}", said.text);
}

#[test]
fn a_register_is_found_in_the_folder_of_the_documents_and_beside_it() {
    let office = office();
    let (done, path) = (office.path().join("done"), office.path());
    let named = |said: &crate::Said| said.register()["register"].as_str().unwrap().to_owned();
    assert_eq!(named(&verify(path, &["done"])), "done/register");
    assert_eq!(named(&verify(&done, &["V-0-0.pdf"])), "register");
    assert_eq!(named(&verify(&done, &["."])), "register");
    std::fs::rename(done.join("register"), path.join("register")).unwrap();
    assert_eq!(named(&verify(path, &["done"])), "register");
    assert_eq!(named(&verify(path, &["done/V-0-0.pdf"])), "register");
    assert_eq!(named(&verify(&done, &["V-0-0.pdf"])), "../register");
    std::fs::create_dir(done.join("client")).unwrap();
    std::fs::rename(done.join("V-0-0.pdf"), done.join("client/V-0-0.pdf")).unwrap();
    let said = verify(path, &["done"]);
    assert_eq!((said.code, said.objects.len()), (0, 13), "{}", said.text);
    std::fs::remove_file(done.join("V-0-1.pdf")).unwrap();
    std::fs::remove_file(done.join("V-0-1.html")).unwrap();
    let said = verify(path, &["done"]);
    assert!(said.text.contains("1 issued document of the register were not among"), "{}", said.text);
    assert_eq!(files(&done).len(), 9);
    std::fs::remove_dir_all(path.join("register")).unwrap();
    let alone = verify(path, &["done"]);
    assert!(alone.text.contains("no register lies in its folder or beside it"), "{}", alone.text);
}
