//! Names in any script: the bundled fonts print Latin, Greek and Cyrillic, others come from fonts that the firm adds. They
//! are shaped, stand in the right order, are read back in reading order, and only what is used is embedded.

mod page_tools;

use page_tools::reading::solid;
use page_tools::run;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

/// Folder of fonts from Debian and the packages that bring those used here.
const FONTS: &str = "/usr/share/fonts";
const PACKAGES: &str = "fonts-noto-core, fonts-noto-cjk, fonts-wqy-zenhei, fonts-droid-fallback";

/// Fonts with TrueType outlines, and one with CFF outlines in a collection.
const SCRIPTS: [&str; 7] = [
    "truetype/noto/NotoSansArabic-Regular.ttf",
    "truetype/noto/NotoSansArabic-Bold.ttf",
    "truetype/noto/NotoSansHebrew-Regular.ttf",
    "truetype/noto/NotoSansDevanagari-Regular.ttf",
    "truetype/noto/NotoSansDevanagari-Bold.ttf",
    "truetype/noto/NotoSansThai-Regular.ttf",
    "opentype/noto/NotoSansCJK-Regular.ttc",
];

/// Invented names: client, its address, technicians, site.
const ARABIC: &str = "شركة وادي الزمرد الأعلى للمياه";
const HEBREW: &str = "שדרות הנחל הירוק";
const DEVANAGARI: &str = "श्रीकांत किरणपुर जल शुद्धीकरण केंद्र";
const CHINESE: &str = "清泉溪水务有限公司";
const JAPANESE: &str = "山吹川浄水サービス";
const THAI: &str = "กำแพงน้ำใส";
const GREEK: &str = "Δημήτρης Ανεμοχώρης";
const CYRILLIC: &str = "Тихон Ветлужский";
/// A remark that runs from right to left with Latin tags, figures and units in it.
const MIXED: &str = "تم فحص المجس QT-24 عند 25 °C ثم ضبط على pH 7.00 في الخزان 3";

fn visit(client: &str) -> String {
    format!(
        "visit:
  number: V-1
  started: 2026-04-17T08:40+01:00
  finished: 2026-04-17T09:40+01:00
  client: {{ name: {client}, address: {HEBREW} 14 / {CHINESE} }}
  technicians: [{GREEK}, {CYRILLIC}, {DEVANAGARI}, {JAPANESE}, {THAI}]
  standards:
    B7: {{ buffer: phosphate, lot: L7 }}
    B4: {{ buffer: phthalate, lot: L4 }}
loops:
  - tag: QT-24
    quantity: pH
    probe: P-1
    as_found:
      readings:
        - {{ in: B7, mv: 8.3, temperature: 21.8, shown: 6.86 }}
        - {{ in: B4, mv: 168.4, temperature: 21.9, shown: 4.02 }}
    adjusted: false
    outcome: returned to service
    remarks: \"{MIXED}\"
signatures:
  - {{ role: performed, name: {GREEK}, signed: 2026-04-17T09:45+01:00 }}
"
    )
}

/// A folder with the visit and a firm that adds fonts; none where a font is not installed.
fn office(fonts: &[&str], client: &str) -> Option<tempfile::TempDir> {
    let folder = tempfile::tempdir().unwrap();
    let mut listed = String::from("firm: {name: Hurdlemere Loop Service}\nsignatures: [performed]\nfonts:\n");
    for font in fonts {
        let (path, name) = (Path::new(FONTS).join(font), font.rsplit('/').next().unwrap());
        if !path.is_file() {
            assert!(std::env::var_os("CI").is_none(), "{font} is needed: {PACKAGES}");
            println!("skipped: {font} is not installed");
            return None;
        }
        std::fs::copy(path, folder.path().join(name)).unwrap();
        listed.push_str(&format!("  - {name}\n"));
    }
    std::fs::write(folder.path().join("firm.yaml"), listed).unwrap();
    std::fs::write(folder.path().join("v.yaml"), visit(client)).unwrap();
    Some(folder)
}

/// The documents of the folder's visit; panics with what is said when it is refused.
fn issued(folder: &Path, out: &str) -> BTreeMap<String, Vec<u8>> {
    let issue = ["issue", "v.yaml", "--issued", "2026-11-20T10:00Z", "--out", out];
    let output = Command::new(env!("CARGO_BIN_EXE_halfcell")).args(issue).current_dir(folder).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let files = std::fs::read_dir(folder.join(out)).unwrap().map(|entry| entry.unwrap().path());
    files
        .filter(|path| path.is_file())
        .map(|path| (path.to_string_lossy().into_owned(), std::fs::read(&path).unwrap()))
        .collect()
}

fn pdf(documents: &BTreeMap<String, Vec<u8>>) -> &str {
    documents.keys().find(|name| name.ends_with(".pdf")).expect("a PDF")
}

/// Text without the marks of direction that a reader puts around what runs from right to left, and without the zero-width
/// space that a part of a letter stands for where the letter has several.
fn plain(text: &str) -> String {
    text.chars()
        .filter(
            |c| !matches!(c, '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'),
        )
        .collect()
}

#[test]
fn names_are_read_back_in_reading_order() {
    let Some(folder) = office(&SCRIPTS, ARABIC) else { return };
    let documents = issued(folder.path(), "out");
    let Some(raw) = run("pdftotext", &["-raw", "-enc", "UTF-8", pdf(&documents), "-"]) else { return };
    let raw = solid(&plain(&raw));
    for name in [ARABIC, HEBREW, DEVANAGARI, CHINESE, JAPANESE, THAI, GREEK, CYRILLIC, MIXED] {
        assert!(raw.contains(&solid(name)), "{name} in: {raw}");
    }
    let Some(laid_out) = run("pdftotext", &["-layout", "-enc", "UTF-8", pdf(&documents), "-"]) else { return };
    let laid_out = plain(&laid_out);
    // Those that stand on one line.
    for name in [ARABIC, HEBREW, "केंद्र", JAPANESE, THAI, GREEK, CYRILLIC] {
        assert!(laid_out.contains(name), "{name} in: {laid_out}");
    }
    let html = documents.iter().find(|(name, _)| name.ends_with(".html")).expect("a page").1;
    let html = String::from_utf8_lossy(html);
    for name in [ARABIC, HEBREW, DEVANAGARI, CHINESE, JAPANESE, THAI, "تم فحص المجس"] {
        assert!(html.contains(name), "{name}");
    }
}

/// Subsets, their widths, every code with its text, no .notdef: `tests/independent/archive.py`. The other judge of
/// `tests/archive_grade.rs` misreads widths of CFF outlines, and is not asked.
#[test]
fn fonts_of_the_firm_are_fit_for_the_archive() {
    let Some(folder) = office(&SCRIPTS, ARABIC) else { return };
    let documents = issued(folder.path(), "out");
    if let Some(said) = page_tools::judged("archive.py", &[pdf(&documents).into()]) {
        println!("{said}");
    }
}

#[test]
fn another_reader_agrees() {
    const READ: &str = "import sys, pypdf\nfor page in pypdf.PdfReader(sys.argv[1]).pages: print(page.extract_text())";
    let Some(folder) = office(&SCRIPTS, ARABIC) else { return };
    let documents = issued(folder.path(), "out");
    let there = Command::new("python3").args(["-c", "import pypdf"]).output();
    if std::env::var_os("CI").is_none() && there.is_ok_and(|output| !output.status.success()) {
        println!("skipped: pypdf is not installed");
        return;
    }
    let Some(text) = run("python3", &["-c", READ, pdf(&documents)]) else { return };
    let text = solid(&plain(&text));
    for name in [ARABIC, HEBREW, DEVANAGARI, CHINESE, JAPANESE, THAI, GREEK, CYRILLIC, MIXED] {
        assert!(text.contains(&solid(name)), "{name} in: {text}");
    }
}

#[test]
fn only_what_is_used_is_embedded() {
    let Some(folder) = office(&SCRIPTS, ARABIC) else { return };
    let documents = issued(folder.path(), "out");
    let Some(listing) = run("pdffonts", &[pdf(&documents)]) else { return };
    let added: Vec<Vec<&str>> = listing
        .lines()
        .skip(2)
        .filter(|line| line.contains("Noto"))
        .map(|line| line.split_whitespace().collect())
        .collect();
    let names: Vec<&str> = added.iter().map(|fields| fields[0].split_once('+').expect("a subset").1).collect();
    let expected =
        ["Arabic", "Hebrew", "CJKjp", "Devanagari", "Thai"].map(|script| format!("NotoSans{script}-Regular"));
    let [mut names, mut expected] = [names, expected.iter().map(String::as_str).collect()];
    names.sort_unstable();
    expected.sort_unstable();
    assert_eq!(names, expected, "{listing}");
    for fields in &added {
        let kind = if fields[0].contains("CJK") { ["CID", "Type", "0C"].as_slice() } else { &["CID", "TrueType"] };
        assert_eq!(fields[1..1 + kind.len()], *kind, "{listing}");
        assert_eq!(fields[1 + kind.len()..5 + kind.len()], ["Identity-H", "yes", "yes", "yes"], "{listing}");
    }
    let size = documents[pdf(&documents)].len();
    assert!(size < 160 * 1024, "{size} bytes");
    let Some(checked) = run("qpdf", &["--check", pdf(&documents)]) else { return };
    assert!(checked.contains("No syntax or stream encoding errors"), "{checked}");
    let Some(complaints) = run("pdftoppm", &["-r", "50", "-gray", pdf(&documents), "/dev/null"]) else { return };
    assert_eq!(complaints, "");
}

#[test]
fn the_same_fonts_give_the_same_bytes() {
    let Some(folder) = office(&SCRIPTS, ARABIC) else { return };
    let [one, two] = ["one", "two"].map(|out| issued(folder.path(), out).into_values().collect::<Vec<_>>());
    assert!(one == two);
}

#[test]
fn collections_and_large_fonts_serve() {
    for fonts in [&["truetype/wqy/wqy-zenhei.ttc"], &["truetype/droid/DroidSansFallbackFull.ttf"]] {
        let mut all = SCRIPTS[..6].to_vec();
        all.extend(fonts);
        let Some(folder) = office(&all, ARABIC) else { return };
        let documents = issued(folder.path(), "out");
        let Some(text) = run("pdftotext", &["-raw", "-enc", "UTF-8", pdf(&documents), "-"]) else { return };
        assert!(solid(&text).contains(CHINESE) && solid(&text).contains(JAPANESE), "{fonts:?}: {text}");
    }
}

#[test]
fn a_font_that_nobody_needs_changes_nothing() {
    let Some(folder) = office(&SCRIPTS[..1], "Ebbersand Water") else { return };
    let latin = visit("Ebbersand Water").replace(HEBREW, "Weir Walk").replace(CHINESE, "Ebbersand");
    let latin = latin.replace(MIXED, "none").replace(&format!(", {DEVANAGARI}, {JAPANESE}, {THAI}"), "");
    std::fs::write(folder.path().join("v.yaml"), latin).unwrap();
    let with = issued(folder.path(), "with");
    let Some(listing) = run("pdffonts", &[pdf(&with)]) else { return };
    assert!(!listing.contains("Noto"), "{listing}");
}

#[test]
fn a_character_that_no_font_has_is_told_with_its_fix() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("v.yaml"), visit(ARABIC)).unwrap();
    let check = ["check", "v.yaml"];
    let output = Command::new(env!("CARGO_BIN_EXE_halfcell")).args(check).current_dir(folder.path()).output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("character-without-glyph") && said.contains("fonts: ["), "{said}");
}
