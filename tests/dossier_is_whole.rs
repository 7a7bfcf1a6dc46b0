//! The dossier holds everything about what was chosen, nothing about anybody else, and can be checked with ordinary tools.

mod browser;
mod registers;

use browser::{Browser, Scheme};
use halfcell::register::{Archive, Book, Entry, Issued, Line, Opened, Void, hash_of};
use registers::{KIT, err, halfcell, lines, out};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// The examples, issued into `certificates` below a new folder.
fn examples() -> tempfile::TempDir {
    let work = tempfile::tempdir().unwrap();
    let visits = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/visits");
    let issued = halfcell(
        &["issue", visits.to_str().unwrap(), "--out", "certificates", "--issued", "2026-10-07T08:00+01:00"],
        work.path(),
    );
    assert_eq!(issued.status.code(), Some(0), "{}", err(&issued));
    work
}

fn dossier(work: &Path, more: &[&str]) -> Output {
    halfcell(&[&["dossier"], more].concat(), work)
}

/// Makes a dossier that is whole.
fn made(work: &Path, more: &[&str]) -> PathBuf {
    let done = dossier(work, &[&["--out", "d"], more].concat());
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    work.join("d")
}

/// Every file of a folder and those below, by its path.
fn tree(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let (mut files, mut folders) = (BTreeMap::new(), vec![folder.to_owned()]);
    while let Some(next) = folders.pop() {
        for path in std::fs::read_dir(next).unwrap().map(|entry| entry.unwrap().path()) {
            match path.is_dir() {
                true => folders.push(path),
                false => {
                    let name = path.strip_prefix(folder).unwrap().to_string_lossy().replace('\\', "/");
                    files.insert(name, std::fs::read(path).unwrap());
                }
            }
        }
    }
    files
}

fn index(dossier: &Path) -> String {
    std::fs::read_to_string(dossier.join("index.html")).unwrap()
}

/// The text of a section, marks and tags taken away.
fn section(page: &str, anchor: &str) -> String {
    let (_, rest) = page.split_once(&format!("<section id=\"{anchor}\">")).unwrap_or_else(|| panic!("no {anchor}"));
    text(rest.split_once("</section>").unwrap().0)
}

fn text(markup: &str) -> String {
    let mut out = String::new();
    for part in markup.split('<') {
        let (tag, rest) = part.split_once('>').unwrap_or(("", part));
        let is_inline = ["span", "/span", "time", "/time", "wbr"].contains(&tag.split(' ').next().unwrap());
        out += if is_inline { "" } else { " " };
        out += rest;
    }
    let out = out.replace("&quot;", "\"").replace("&#39;", "'").replace("&lt;", "<").replace("&gt;", ">");
    let out = out.replace("&amp;", "&").replace('\u{a0}', " ");
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A table of RFC 4180, read by a reader of our own: rows of cells by the names of the first.
fn table(text: &str) -> Vec<BTreeMap<String, String>> {
    let (mut rows, mut cell, mut row, mut quoted) = (Vec::new(), String::new(), Vec::new(), false);
    let mut characters = text.chars().peekable();
    while let Some(c) = characters.next() {
        match c {
            '"' if quoted && characters.peek() == Some(&'"') => cell.push(characters.next().unwrap()),
            '"' => quoted = !quoted,
            ',' if !quoted => row.push(std::mem::take(&mut cell)),
            '\r' if !quoted => {
                assert_eq!(characters.next(), Some('\n'));
                row.push(std::mem::take(&mut cell));
                rows.push(std::mem::take(&mut row));
            }
            c => cell.push(c),
        }
    }
    assert!(cell.is_empty() && row.is_empty(), "the last line has its end");
    let heads = rows.remove(0);
    let named = |row: Vec<String>| {
        assert_eq!(row.len(), heads.len());
        heads.iter().cloned().zip(row).collect()
    };
    rows.into_iter().map(named).collect()
}

fn has(tool: &str) -> bool {
    let found =
        Command::new("sh").args(["-c", &format!("command -v {tool}")]).output().is_ok_and(|it| it.status.success());
    assert!(found || std::env::var_os("CI").is_none(), "in CI {tool} must be there");
    found
}

#[test]
fn every_file_is_listed_and_the_list_proves_the_folder() {
    let work = examples();
    let folder = made(work.path(), &["--client", "ebbersand water"]);
    let files = tree(&folder);
    let sums = String::from_utf8(files["SHA256SUMS"].clone()).unwrap();
    let listed: BTreeSet<&str> = sums.lines().map(|line| line.split_once("  ").unwrap().1).collect();
    let there: BTreeSet<&str> = files.keys().map(String::as_str).filter(|name| *name != "SHA256SUMS").collect();
    assert_eq!(listed, there);
    if has("sha256sum") {
        let check = |folder: &Path| {
            Command::new("sha256sum").args(["-c", "--quiet", "SHA256SUMS"]).current_dir(folder).output().unwrap()
        };
        assert!(check(&folder).status.success());
        let victim = folder.join("records/HM-2025-047-AT-118.json");
        let bytes = std::fs::read_to_string(&victim).unwrap();
        std::fs::write(&victim, bytes.replacen("pH", "PH", 1)).unwrap();
        assert!(String::from_utf8_lossy(&check(&folder).stdout).contains("HM-2025-047-AT-118.json: FAILED"));
    }
}

#[test]
fn the_documents_are_those_that_were_issued_and_so_are_records_and_sources() {
    let work = examples();
    let folder = made(work.path(), &["--tag", "AT-118", "--from", "2025-01-01", "--to", "2026-02-28"]);
    let files = tree(&folder);
    let numbers = ["HM-2025-012-AT-118", "HM-2025-047-AT-118", "HM-2025-083-AT-118", "HM-2026-009-AT-118"];
    let documents: Vec<&str> = files.keys().filter_map(|name| name.strip_prefix("certificates/")).collect();
    assert_eq!(documents, numbers.map(|n| [format!("{n}.html"), format!("{n}.pdf")]).concat());
    for document in documents {
        let issued = std::fs::read(work.path().join("certificates").join(document)).unwrap();
        assert_eq!(files[&format!("certificates/{document}")], issued);
    }
    let register = work.path().join("certificates/register");
    for line in lines(&register) {
        let line: Value = serde_json::from_str(&line).unwrap();
        let Some(number) = line["number"].as_str().filter(|it| line["line"] == "opened" && numbers.contains(it)) else {
            continue;
        };
        let record = &files[&format!("records/{number}.json")];
        assert_eq!(registers::hash(record), line["record"].as_str().unwrap());
        for source in line["sources"].as_array().unwrap() {
            let hash = source["sha256"].as_str().unwrap();
            let part = &hash[..16];
            let (_, bytes) = files.iter().find(|(name, _)| name.contains(part)).unwrap_or_else(|| panic!("{source}"));
            assert_eq!(registers::hash(bytes), hash);
        }
    }
    // The visit file under its own name, each shared file once.
    assert!(files.keys().any(|name| name.starts_with("sources/visits/2025-06-17-junction-renewed-")));
    assert_eq!(files.keys().filter(|name| name.starts_with("sources/shared/firm-")).count(), 1);
    assert_eq!(files.keys().filter(|name| name.starts_with("sources/visits/")).count(), 4);
}

#[test]
fn the_history_has_a_line_for_each_certificate_with_the_days_between() {
    let work = examples();
    let folder = made(work.path(), &["--tag", "AT-118", "--from", "2025-01-01"]);
    let csv = std::fs::read_to_string(folder.join("as-found.csv")).unwrap();
    let rows = table(&csv);
    let of = |row: &BTreeMap<String, String>, names: &[&str]| -> Vec<String> {
        names.iter().map(|name| row[*name].clone()).collect()
    };
    let told: Vec<Vec<String>> = rows
        .iter()
        .map(|row| of(row, &["date", "days_since_previous", "days_in_service", "same_probe_as_previous", "as_found"]))
        .collect();
    // By calendar: the visit of 2024-10-08 lies before the period and still is the one before; the probe is of that day.
    let due = [
        ["2025-02-11", "126", "126", "yes", "pass"],
        ["2025-06-17", "126", "252", "yes", "fail"],
        ["2025-10-14", "119", "371", "yes", "pass"],
        ["2026-02-17", "126", "497", "yes", "pass"],
        ["2026-06-16", "119", "616", "yes", "pass"],
    ];
    assert_eq!(told, due.map(|row| row.map(str::to_owned).to_vec()));
    let failed = &rows[1];
    assert_eq!(failed["error_in"], "B4");
    assert_eq!((failed["error_limit"].as_str(), failed["error_unit"].as_str()), ("0.2", "pH"));
    let number = |name: &str| failed[name].parse::<f64>().unwrap();
    // Worked out by hand from the visit file in `tests/examples_run.rs`: slope 87.8 %, offset −20.3 mV.
    assert!((number("slope_percent") - 87.8).abs() < 0.05 && (number("offset_mv") + 20.3).abs() < 0.05);
    assert!(number("error") > 0.5 && number("error_expanded_uncertainty") > 0.0);
    assert_eq!(failed["remedies"], "acid soak; reference solution replaced; junction renewed");
    assert_eq!((failed["limits"].as_str(), failed["limits_revision"].as_str()), ("hurdlemere-standard", "3"));
}

#[test]
fn the_index_tells_failures_first_and_what_became_of_them() {
    let work = examples();
    let folder = made(work.path(), &["--client", "Ebbersand Water"]);
    let page = index(&folder);
    let failed: Vec<String> = lines(&work.path().join("certificates/register"))
        .iter()
        .map(|line| serde_json::from_str::<Value>(line).unwrap())
        .filter(|line| line["client"] == "Ebbersand Water" && line["as_found"] == "fail")
        .map(|line| line["number"].as_str().unwrap().to_owned())
        .collect();
    let told = section(&page, "failures");
    assert_eq!(failed.len(), 6);
    failed.iter().for_each(|number| assert!(told.contains(number), "{number}"));
    assert!(page.contains("Found outside limits: 6 of 20"), "{}", text(&page));
    assert!(
        told.contains(
            "AT-118 · softened water, after the pellet reactor 2025-06-17 · HM-2025-047-AT-118 HTML Largest pH error (B4) is \
             +0.56, limit ±0.20: fail. Done: Acid soak; Reference solution replaced; Junction renewed. As left: pass. Returned \
             to service. Last good check 2025-02-11: assess results since."
        ),
        "{told}"
    );
    assert!(page.find("id=\"failures\"") < page.find("id=\"in-force\""));
    assert!(section(&page, "expired").contains(
        "HM-2026-077-AT-150 HTML 2026-10-06 AT-150 · wash water lagoon, overflow The standard X7 expired on 2026-09-30, before \
         the work on 2026-10-06. X7 used only as a check"
    ));
    let limits = section(&page, "limits");
    assert!(
        limits.contains(
            "“hurdlemere-standard”, revision 3 2024-01-01 M. Orrisby simple acceptance 2024-10-08 2025-10-14 4: "
        ),
        "{limits}"
    );
    assert!(limits.contains("revision 4 2026-01-01 M. Orrisby simple acceptance 2026-02-17 2026-10-06 "), "{limits}");
    let last = lines(&work.path().join("certificates/register")).pop().unwrap();
    assert!(page.contains(&registers::hash(last.as_bytes())), "the hash of the register's last line");
    // Every link leads to a file of the folder, or to a place on the page.
    let links: Vec<&str> = page.split("href=\"").skip(1).map(|rest| rest.split('"').next().unwrap()).collect();
    assert!(links.len() > 60);
    for link in links {
        let stands = match link.strip_prefix('#') {
            Some(anchor) => page.contains(&format!("id=\"{anchor}\"")),
            None => folder.join(link).is_file(),
        };
        assert!(stands, "{link}");
    }
}

#[test]
fn loops_of_the_roster_without_a_certificate_in_the_period_are_named() {
    let work = examples();
    let folder = made(work.path(), &["--client", "Ebbersand Water", "--to", "2026-09-15", "--from", "2026-01-01"]);
    let told = section(&index(&folder), "without");
    // In the period: AT-101, AT-118, AT-140, AT-142. Of the ten loops of the roster the others are left.
    for tag in ["AT-112", "AT-113", "AT-120", "AT-131", "AT-141", "AT-150", "AT-160"] {
        assert!(told.contains(&format!(" {tag} ")), "{tag}: {told}");
    }
    for tag in ["AT-101", "AT-118", "AT-140", "AT-142"] {
        assert!(!told.contains(tag), "{tag}: {told}");
    }
    assert!(
        told.contains("AT-131 after lime dosing · Ebbersand treatment works HM-2026-077-AT-131, 2026-10-06"),
        "{told}"
    );
}

#[test]
fn drafts_stand_apart_with_the_signatures_they_await() {
    let work = examples();
    let folder = made(work.path(), &["--client", "Ruddlewick Laundry"]);
    assert!(folder.join("drafts/HM-2026-014-PH-1-D1.pdf").is_file());
    assert!(!folder.join("certificates").exists());
    let page = index(&folder);
    let told = section(&page, "drafts");
    assert!(
        told.contains("HM-2026-014-PH-1-D1 HTML 2026-03-10 PH-1 open; becomes HM-2026-014-PH-1 authorised"),
        "{told}"
    );
    assert!(table(&std::fs::read_to_string(folder.join("as-found.csv")).unwrap()).is_empty(), "no draft is history");
}

#[test]
fn nothing_of_another_client_is_in_any_file() {
    let work = examples();
    let folder = made(work.path(), &["--client", "Curdlewick Dairy"]);
    let foreign = ["Ebbersand", "AT-118", "AT-142", "G12-5430", "HM-2026-077", "Ruddlewick", "Weir Walk"];
    let mut texts = 0;
    for (name, bytes) in tree(&folder) {
        // What is compressed in a PDF is what its page shows, which is the same file that the client has.
        let text = String::from_utf8_lossy(&bytes);
        texts += usize::from(!name.ends_with(".pdf"));
        for word in foreign {
            assert!(!text.contains(word) && !name.contains(word), "{name} has {word}");
        }
    }
    assert!(texts > 20);
    if has("pdftotext") {
        for path in std::fs::read_dir(folder.join("certificates")).unwrap().map(|entry| entry.unwrap().path()) {
            if path.extension().is_some_and(|ending| ending == "pdf") {
                let text = Command::new("pdftotext").arg(&path).arg("-").output().unwrap().stdout;
                let text = String::from_utf8_lossy(&text).into_owned();
                assert!(text.contains("Curdlewick") && foreign.iter().all(|word| !text.contains(word)), "{path:?}");
            }
        }
    }
}

/// Runs the recipe of the page in the folder of the dossier.
fn recipe(folder: &Path) -> String {
    let page = index(folder);
    let recipe =
        page.split("<code>").find(|part| part.starts_with("previous=")).unwrap().split("</code>").next().unwrap();
    let recipe = recipe.replace("&quot;", "\"").replace("&#39;", "'").replace("&lt;", "<").replace("&gt;", ">");
    let recipe = recipe.replace("&amp;", "&");
    let ran = Command::new("sh").args(["-c", &recipe]).current_dir(folder).output().unwrap();
    assert!(ran.stderr.is_empty(), "{}", String::from_utf8_lossy(&ran.stderr));
    String::from_utf8(ran.stdout).unwrap()
}

#[test]
fn the_extract_is_proved_with_ordinary_tools() {
    let work = examples();
    let folder = made(work.path(), &["--client", "Curdlewick Dairy"]);
    let register = lines(&work.path().join("certificates/register"));
    let extract = folder.join("register/extract.jsonl");
    let whole = std::fs::read_to_string(&extract).unwrap();
    let full = |line: &&str| !line.contains("\"sha256\":\"") || line.contains("\"line\":");
    assert_eq!(whole.lines().count(), register.len());
    assert_eq!(whole.lines().filter(full).count(), 8, "four documents, two lines each, and no other");
    for (given, line) in whole.lines().zip(&register) {
        let value: Value = serde_json::from_str(given).unwrap();
        match value["line"].is_null() {
            false => assert_eq!(given, line),
            true => assert_eq!(value["sha256"], registers::hash(line.as_bytes())),
        }
    }
    if !has("sha256sum") {
        return;
    }
    let last = registers::hash(register.last().unwrap().as_bytes());
    assert_eq!(recipe(&folder), format!("{} lines; the last has the hash {last}\n", register.len()));
    // A word changed in a full line shows at the next; so does a line that is gone, or one by its hash that is another.
    let position = whole.lines().position(|line| full(&line)).unwrap();
    let changed = whole.replacen("Curdlewick Dairy", "Curdlewick dairy", 1);
    std::fs::write(&extract, changed).unwrap();
    assert!(recipe(&folder).starts_with(&format!("line {}: another line stood before it\n", position + 2)));
    let mut fewer: Vec<&str> = whole.lines().collect();
    fewer.remove(position);
    std::fs::write(&extract, fewer.join("\n") + "\n").unwrap();
    assert!(recipe(&folder).starts_with(&format!("line {}: another line stood before it\n", position + 1)));
    let hash = registers::hash(register[0].as_bytes());
    std::fs::write(&extract, whole.replacen(&hash, &"0".repeat(64), 1)).unwrap();
    assert!(recipe(&folder).starts_with("line 2: another line stood before it\n"));
}

#[test]
fn the_same_register_and_selection_give_the_same_bytes() {
    let work = examples();
    let one = made(work.path(), &["--client", "Ebbersand Water", "--jobs", "1"]);
    let other = dossier(work.path(), &["--client", "Ebbersand Water", "--out", "e", "--jobs", "7"]);
    assert_eq!(other.status.code(), Some(0));
    assert_eq!(tree(&one), tree(&work.path().join("e")));
    let zips = ["d.zip", "e.zip"].map(|name| std::fs::read(work.path().join(name)).unwrap());
    assert_eq!(zips[0], zips[1]);
    let names: BTreeSet<String> = tree(work.path()).into_keys().filter(|name| name.contains(".halfcell")).collect();
    assert!(names.is_empty(), "nothing temporary is left: {names:?}");
}

#[test]
fn the_zip_holds_the_folder() {
    let work = examples();
    let folder = made(work.path(), &["--client", "Curdlewick Dairy"]);
    if !has("unzip") {
        return;
    }
    let to = work.path().join("unpacked");
    let unpacked = Command::new("unzip").arg("-q").arg(work.path().join("d.zip")).arg("-d").arg(&to).output().unwrap();
    assert!(unpacked.status.success(), "{}", String::from_utf8_lossy(&unpacked.stderr));
    assert_eq!(tree(&to), tree(&folder));
}

#[test]
fn what_stands_is_never_written_over() {
    let work = examples();
    let client = ["--client", "Curdlewick Dairy"];
    let folder = made(work.path(), &client);
    let before = (tree(&folder), std::fs::read(work.path().join("d.zip")).unwrap());
    let again = dossier(work.path(), &[&["--out", "d"], &client[..]].concat());
    assert_eq!(again.status.code(), Some(0));
    assert!(out(&again).starts_with("already there  d\n"), "{}", out(&again));
    let other = dossier(work.path(), &["--out", "d", "--tag", "AT-118"]);
    assert_eq!(other.status.code(), Some(1));
    assert!(err(&other).contains("d: something else stands there"), "{}", err(&other));
    std::fs::remove_dir_all(&folder).unwrap();
    let zip_only = dossier(work.path(), &["--out", "d", "--tag", "AT-118"]);
    assert_eq!(zip_only.status.code(), Some(1));
    assert!(err(&zip_only).contains("d.zip: something else stands there"), "{}", err(&zip_only));
    assert!(!folder.exists(), "no half of a dossier");
    // The same dossier completes what is missing of it.
    assert_eq!(made(work.path(), &client), folder);
    assert_eq!((tree(&folder), std::fs::read(work.path().join("d.zip")).unwrap()), before);
}

#[test]
fn a_missing_file_is_painted_again_and_an_altered_one_is_named_and_left_out() {
    let work = examples();
    let client = ["--client", "Curdlewick Dairy"];
    let whole = tree(&made(work.path(), &client));
    let documents = work.path().join("certificates");
    std::fs::remove_file(documents.join("HM-2026-069-QT-24.pdf")).unwrap();
    std::fs::remove_file(documents.join("HM-2026-069-QT-24.html")).unwrap();
    let again = dossier(work.path(), &[&["--out", "again"], &client[..]].concat());
    assert_eq!(again.status.code(), Some(0), "{}", err(&again));
    assert!(out(&again).contains("2 missing files painted again from the archive"), "{}", out(&again));
    assert_eq!(tree(&work.path().join("again")), whole);
    assert!(!documents.join("HM-2026-069-QT-24.pdf").exists(), "the folder of documents is only read");

    let page = std::fs::read_to_string(documents.join("HM-2026-064-QT-31.html")).unwrap();
    std::fs::write(documents.join("HM-2026-064-QT-31.html"), page.replacen("fail", "pass", 1)).unwrap();
    let altered = dossier(work.path(), &[&["--out", "altered"], &client[..]].concat());
    assert_eq!(altered.status.code(), Some(1));
    assert!(err(&altered).contains("HM-2026-064-QT-31.html is not as it was issued"), "{}", err(&altered));
    let folder = work.path().join("altered");
    assert!(folder.join("certificates/HM-2026-064-QT-31.pdf").is_file());
    assert!(!folder.join("certificates/HM-2026-064-QT-31.html").exists());
    let page = index(&folder);
    let first = page.find("This dossier is not whole").expect("it says so");
    assert!(first < page.find("<h1").unwrap(), "before anything else");
    assert!(text(&page).contains("HM-2026-064-QT-31: the file HM-2026-064-QT-31.html is not as it was issued"));
    assert!(section(&page, "in-force").contains("HM-2026-064-QT-31 (not whole, see above)"));
}

#[test]
fn what_the_archive_lost_is_named_and_the_rest_is_made() {
    let work = examples();
    let documents = work.path().join("certificates");
    let line = lines(&documents.join("register"))
        .iter()
        .map(|line| serde_json::from_str::<Value>(line).unwrap())
        .find(|line| line["number"] == "HM-2026-064-QT-31")
        .unwrap();
    let path = |hash: &Value| {
        let hash = hash.as_str().unwrap();
        documents.join("register/archive").join(&hash[..2]).join(hash)
    };
    std::fs::remove_file(path(&line["record"])).unwrap();
    std::fs::write(path(&line["sources"][0]["sha256"]), "visit: {}\n").unwrap();
    std::fs::remove_file(documents.join("HM-2026-064-QT-31.pdf")).unwrap();
    let done = dossier(work.path(), &["--out", "d", "--client", "Curdlewick Dairy", "--format", "json"]);
    assert_eq!(done.status.code(), Some(1));
    let told: Value = serde_json::from_str(&out(&done)).unwrap();
    assert_eq!((&told["in_force"], told["not_whole"].as_array().unwrap().len()), (&json!(4), 3), "{told}");
    let page = text(&index(&work.path().join("d")));
    for due in [
        "HM-2026-064-QT-31.pdf is missing and cannot be painted again",
        "its record is not in the archive",
        "2026-09-02-dead-probe-replaced.yaml",
    ] {
        assert!(page.contains(due), "{due}");
    }
    assert!(work.path().join("d/certificates/HM-2026-069-QT-24.pdf").is_file());
}

#[test]
fn who_is_unknown_is_told_with_the_nearest() {
    let work = examples();
    let told = |more: &[&str]| {
        let done = dossier(work.path(), more);
        assert_eq!(done.status.code(), Some(1), "{more:?}");
        assert!(!work.path().join("dossier").exists());
        err(&done)
    };
    assert!(told(&["--client", "Ebersand Water"]).contains("did you mean «Ebbersand Water»?"));
    assert!(told(&["--tag", "AT118"]).contains("no document has the tag «AT118»; did you mean «AT-118»?"));
    assert!(told(&["--tag", "AT-118", "--from", "2030-01-01"]).contains("no document meets all these conditions"));
    let misused = |more: &[&str]| dossier(work.path(), more).status.code() == Some(2);
    assert!(misused(&["--register", "nowhere"]) && misused(&["--from", "12.05.2026"]));
    assert!(misused(&["--documents", "nowhere"]) && misused(&["--out", ".."]));
}

#[test]
fn whatever_a_person_wrote_is_shown_and_never_obeyed() {
    let work = tempfile::tempdir().unwrap();
    std::fs::write(work.path().join("kit.yaml"), KIT).unwrap();
    let hostile = "=HYPERLINK(\\\"x\\\",1)</script><script>alert(1)</script><img src=x onerror=alert(2)>";
    let visit = registers::visit("V-1", "2026-04-17", 160.1)
        .replace("Invented client", &format!("\"{hostile}\""))
        .replace("tag: AIT-1\n", "tag: \"@A<b>1\"\n    location: \"+1+cmd|' /C calc'!A0\"\n");
    std::fs::write(work.path().join("v.yaml"), visit).unwrap();
    let issued = halfcell(&["issue", "v.yaml", "--out", "certificates"], work.path());
    assert_eq!(issued.status.code(), Some(0), "{}", err(&issued));
    let folder = made(work.path(), &[]);
    let page = index(&folder);
    assert_eq!(page.matches("<script").count(), 1, "the page's own");
    assert!(!page.contains("<img") && !page.contains("@A<b>"));
    assert!(text(&page).contains("=HYPERLINK(\"x\",1)</script><script>alert(1)</script>"), "{}", text(&page));
    let csv = std::fs::read_to_string(folder.join("as-found.csv")).unwrap();
    let rows = table(&csv);
    let row = rows.iter().find(|row| row["tag"].contains("<b>")).unwrap();
    assert!(row["client"].starts_with("'=HYPERLINK(\"x\",1)"), "{csv}");
    assert_eq!((row["tag"].as_str(), row["location"].as_str()), ("'@A<b>1", "'+1+cmd|' /C calc'!A0"));
    assert!(rows.iter().flat_map(BTreeMap::values).all(|cell| !cell.starts_with(['=', '+', '@'])));
    let numbers = rows.iter().map(|row| row["slope_percent"].parse::<f64>().unwrap());
    assert!(numbers.into_iter().all(|slope| slope > 80.0));
    let links: Vec<&str> = page.split("href=\"").skip(1).map(|rest| rest.split('"').next().unwrap()).collect();
    assert!(links.iter().all(|link| link.starts_with('#') || !link.contains(':')), "{links:?}");
}

/// Adds a document that follows another, as a run would: its files, its record, its two lines.
fn follow(work: &Path, number: &str, kind: &str, predecessor: &str, change: impl Fn(&mut Opened, &mut Value)) {
    let documents = work.join("certificates");
    let register = documents.join("register");
    let find = |number: &str| {
        let line = lines(&register).into_iter().map(|line| serde_json::from_str::<Line>(&line).unwrap());
        let mut opened = line.filter_map(|line| match line.said {
            Entry::Opened(opened) if opened.number == number => Some(*opened),
            _ => None,
        });
        opened.next().unwrap()
    };
    let archive = Archive::new(&register.join("archive"));
    let mut opened = find(predecessor);
    let mut record: Value = serde_json::from_slice(&archive.bytes(&opened.record).unwrap()).unwrap();
    (opened.number, opened.file) = (number.to_owned(), number.to_owned());
    (opened.kind, opened.predecessor) = (kind.to_owned(), Some(predecessor.to_owned()));
    opened.source_key = hash_of(number.as_bytes());
    change(&mut opened, &mut record);
    opened.record = archive.keep(record.to_string().as_bytes()).unwrap();
    archive.settle().unwrap();
    let is_draft = opened.draft;
    let bytes = format!("{number}, as it was painted");
    let hash = hash_of(bytes.as_bytes());
    let issued = Issued { number: number.to_owned(), pdf: hash.clone(), html: hash };
    for ending in ["pdf", "html"] {
        std::fs::write(documents.join(format!("{number}.{ending}")), &bytes).unwrap();
    }
    let (mut held, _) = Book::new(&register).hold().unwrap();
    held.add([Entry::Opened(Box::new(opened)), Entry::Issued(issued)]).unwrap();
    assert!(!is_draft || number.contains("-D"));
}

#[test]
fn what_was_replaced_stands_apart_with_what_replaces_it() {
    let work = examples();
    let first = "HM-2025-083-AT-118";
    follow(work.path(), "HM-2025-083-AT-118-A1", "amendment", first, |opened, _| {
        opened.reason = Some("order number corrected".into());
        opened.requested_by = Some("quality office".into());
        opened.keep_until = Some("2035-10-14".into());
        // The correction moves it out of the period that is asked for.
        opened.started = "2025-11-14 09:20 +00:00".into();
    });
    follow(work.path(), "HM-2025-047-AT-118-E1", "re-evaluation", "HM-2025-047-AT-118", |opened, record| {
        opened.reason = Some("limits of 2026".into());
        opened.requested_by = Some("M. Orrisby".into());
        opened.as_left = Some("fail".into());
        record["limits"]["revision"] = json!("5");
        record["certificate"]["before"] = json!([{
            "tag": "AT-118", "limits": "hurdlemere-standard", "limits_revision": "3", "as_found": "fail", "as_left": "pass"
        }]);
    });
    let register = work.path().join("certificates/register");
    let (mut held, _) = Book::new(&register).hold().unwrap();
    let opened = Opened {
        number: "HM-2025-099-AT-118".into(),
        file: "HM-2025-099-AT-118".into(),
        kind: "original".into(),
        client: "Ebbersand Water".into(),
        tag: Some("AT-118".into()),
        started: "2025-07-01 09:00 +01:00".into(),
        ..Opened::default()
    };
    let void = Void { number: opened.number.clone(), reason: "the disk was full".into() };
    held.add([Entry::Opened(Box::new(opened)), Entry::Void(void)]).unwrap();
    drop(held);

    let folder = made(work.path(), &["--tag", "AT-118", "--from", "2025-01-01", "--to", "2025-10-31"]);
    let names: Vec<String> = tree(&folder).into_keys().filter(|name| name.ends_with(".pdf")).collect();
    let due = [
        "certificates/HM-2025-012-AT-118.pdf",
        "certificates/HM-2025-047-AT-118-E1.pdf",
        "certificates/HM-2025-083-AT-118-A1.pdf",
        "replaced/HM-2025-047-AT-118.pdf",
        "replaced/HM-2025-083-AT-118.pdf",
    ];
    assert_eq!(names, due);
    let page = index(&folder);
    let replaced = section(&page, "replaced");
    let told = "HM-2025-083-AT-118 HTML 2025-10-14 AT-118 · softened water, after the pellet reactor HM-2025-083-AT-118-A1 HTML \
                amendment order number corrected quality office";
    assert!(replaced.contains(told), "{replaced}");
    let told = "HM-2025-047-AT-118-E1 HTML 2025-06-17 AT-118 · softened water, after the pellet reactor “hurdlemere-standard”, \
                revision 3 → “hurdlemere-standard”, revision 5 fail pass → fail limits of 2026 M. Orrisby";
    assert!(section(&page, "re-evaluations").contains(told), "{}", section(&page, "re-evaluations"));
    assert!(section(&page, "void").contains("HM-2025-099-AT-118 2025-07-01 AT-118 the disk was full"));
    assert!(section(&page, "in-force").contains("Keep until") && section(&page, "in-force").contains("2035-10-14"));
    let history = std::fs::read_to_string(folder.join("as-found.csv")).unwrap();
    let numbers: Vec<String> = table(&history).into_iter().map(|row| row["certificate"].clone()).collect();
    assert_eq!(numbers, ["HM-2025-012-AT-118", "HM-2025-047-AT-118-E1", "HM-2025-083-AT-118-A1"]);
}

#[test]
fn a_register_of_an_earlier_version_gives_a_dossier() {
    let work = tempfile::tempdir().unwrap();
    let old = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/old/0.1.0/register");
    let done = dossier(work.path(), &["--register", old.to_str().unwrap(), "--out", "d"]);
    // What stands beside the register is taken as it is; what the old test data leave out, only its own version can paint.
    assert!(work.path().join("d/index.html").is_file(), "{}", err(&done));
    let stands = |told: &Value| told["number"].as_str().map(str::to_owned).filter(|_| told["line"] == "issued");
    let issued: Vec<String> =
        lines(&old).iter().filter_map(|line| stands(&serde_json::from_str::<Value>(line).unwrap())).collect();
    let page = index(&work.path().join("d"));
    assert!(issued.len() > 3);
    issued.iter().for_each(|number| assert!(page.contains(number.as_str()), "{number}"));
    let missing = issued.iter().filter(|number| !old.with_file_name(format!("{number}.pdf")).exists()).count();
    assert_eq!(done.status.code(), Some(i32::from(missing > 0)), "{}", err(&done));
}

/// Every page that is judged in the browser, with its name: all clients, one that is not whole, one in German.
fn pages() -> Vec<(String, String)> {
    let work = examples();
    follow(work.path(), "HM-2025-083-AT-118-A1", "amendment", "HM-2025-083-AT-118", |opened, _| {
        opened.reason = Some("order number corrected".into());
        opened.keep_until = Some("2035-10-14".into());
    });
    follow(work.path(), "HM-2025-047-AT-118-E1", "re-evaluation", "HM-2025-047-AT-118", |_, record| {
        record["certificate"]["before"] =
            json!([{ "tag": "AT-118", "limits": "hurdlemere-standard", "as_found": "pass" }]);
    });
    let mut pages = vec![("all".to_owned(), index(&made(work.path(), &[])))];
    let register = work.path().join("certificates/register/register.jsonl");
    for tag in ["de", "fr", "es"] {
        let (from, to) = ("\"name\":\"en.yaml\"".to_owned(), format!("\"name\":\"{tag}.yaml\""));
        let text = std::fs::read_to_string(&register).unwrap();
        let (mut chained, mut previous) = (String::new(), "0".repeat(64));
        for line in text.lines().map(|line| line.replace(&from, &to)) {
            let (line, _) = line.rsplit_once("\"previous\"").unwrap();
            let line = format!("{line}\"previous\":\"{previous}\"}}");
            previous = hash_of(line.as_bytes());
            chained += &(line + "\n");
        }
        let other = work.path().join(tag);
        std::fs::create_dir_all(&other).unwrap();
        std::fs::write(other.join("register.jsonl"), chained).unwrap();
        // The archive is named by its hashes: the same for every language; what is missing is told on the page.
        let done =
            dossier(work.path(), &["--register", tag, "--documents", "certificates", "--out", &format!("{tag}-d")]);
        assert_eq!(done.status.code(), Some(1), "{}", err(&done));
        pages.push((tag.to_owned(), index(&work.path().join(format!("{tag}-d")))));
    }
    pages
}

#[test]
fn the_page_speaks_the_language_of_the_documents() {
    for (tag, page) in pages().iter().skip(1) {
        let due = match tag.as_str() {
            "de" => ["Kalibrierdossier", "Dieses Dossier ist nicht vollständig", "14.10.2025"],
            "fr" => ["Dossier d’étalonnage", "Ce dossier n’est pas complet", "14 oct. 2025"],
            _ => ["Expediente de calibración", "Este expediente no está completo", "14 oct 2025"],
        };
        assert!(page.contains(&format!("<html lang=\"{tag}\">")));
        let text = text(page);
        due.iter().for_each(|word| assert!(text.contains(word), "{tag}: {word}"));
    }
}

/// The release of axe-core that judges, as in `tests/html_is_accessible.rs`.
const AXE: &str = "target/node/node_modules/axe-core/axe.min.js";
/// Every rule for levels A and AA up to version 2.2, and those that are no law but good practice.
const RULES: [&str; 6] = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

fn without_policy((name, page): &(String, String)) -> (String, String) {
    let (before, rest) = page.split_once("<meta http-equiv=\"Content-Security-Policy\"").unwrap();
    (name.clone(), format!("{before}{}", rest.split_once('>').unwrap().1))
}

#[test]
fn the_page_is_accessible_and_nothing_sticks_out() {
    let Some(browser) = Browser::find("dossier") else { return };
    let pages = pages();
    let measure = include_str!("browser/measure.js");
    let report = browser.report("measure.html", &[("pages", json!(pages))], measure, Scheme::Light);
    assert!(report.contains(&format!("measured {} frames", 4 * pages.len())), "{report}");
    assert!(!report.contains("WRONG"), "{report}");
    let Ok(axe) = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(AXE)) else {
        assert!(std::env::var_os("CI").is_none(), "in CI axe-core must be installed: {AXE}");
        eprintln!("SKIPPED: axe-core is not installed");
        return;
    };
    let pages: Vec<_> = pages.iter().map(without_policy).collect();
    for scheme in [Scheme::Light, Scheme::Dark] {
        let constants = [
            ("pages", json!(pages)),
            ("widths", json!([1280, 360])),
            ("rules", json!(RULES)),
            ("axeSource", json!(axe)),
        ];
        let report = browser.report("axe.html", &constants, include_str!("browser/axe.js"), scheme);
        assert!(report.contains(&format!("{} runs, ", 2 * pages.len())), "{report}");
        let wrong: Vec<&str> = report.lines().filter(|line| line.starts_with("VIOLATION")).take(5).collect();
        assert!(wrong.is_empty(), "{wrong:#?}");
    }
}

#[test]
fn the_filter_leaves_what_is_sought() {
    let Some(browser) = Browser::find("dossier-filter") else { return };
    let work = examples();
    let page = index(&made(work.path(), &["--client", "Ebbersand Water"]));
    // The page's own script runs under its policy: the words are typed from outside.
    let script = "
const frame = document.createElement('iframe');
frame.srcdoc = page;
frame.onload = () => {
  const inner = frame.contentDocument, sought = inner.querySelector('input');
  const rows = () => [...inner.querySelectorAll('#in-force tbody tr:not(.group)')].filter(row => row.getClientRects().length);
  const report = [`before ${rows().length} ${inner.getElementById('find').hidden}`];
  sought.value = 'pellet 2025';
  sought.dispatchEvent(new inner.defaultView.Event('input'));
  report.push(`found ${rows().map(row => row.cells[0].innerText.split(/\\s/)[0]).join(' ')}`, inner.querySelector('output').textContent);
  sought.value = '';
  sought.dispatchEvent(new inner.defaultView.Event('input'));
  report.push(`after ${rows().length}`);
  const pre = document.createElement('pre');
  pre.textContent = report.join('\\n');
  document.body.replaceChildren(pre);
};
frame.style = 'width:1280px;height:900px';
document.body.append(frame);";
    let report = browser.report("filter.html", &[("page", json!(page))], script, Scheme::Light);
    let lines: Vec<&str> = report.lines().collect();
    assert_eq!(lines[0], "before 22 false");
    assert_eq!(lines[1], "found HM-2025-012-AT-118 HM-2025-047-AT-118 HM-2025-083-AT-118");
    assert!(lines[2].ends_with(" entries") && lines[2].contains(" of "), "{report}");
    assert_eq!(lines[3], "after 22");
    // Without its script the page shows everything and no field that does nothing.
    assert!(page.contains("id=\"find\" role=\"search\" hidden"));
}
