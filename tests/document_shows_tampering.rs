//! A document proves itself: whatever is changed on a page, in its data or in the file is found and named by the document
//! alone; what is remade as a whole is not, and the answer says so.

mod tampering;

use halfcell::issue::{MadeFrom, Remade};
use halfcell::paint::Paintable;
use halfcell::paint::fonts::{Face, bundled};
use halfcell::paint::pdf::{Press, paint};
use halfcell::record::CertificateFacts;
use halfcell::source::{Kept, KeptFile};
use halfcell::verify::{Audit, Bench, Extent, Note, Unreadable, document};
use lopdf::{Object, dictionary};
use std::fs;
use std::path::PathBuf;
use std::process::Command;
use std::sync::{Arc, OnceLock};
use tampering::*;

/// A loop with a slope found of 89.9 % and left of 95.9 %.
const LOOP: &str = "HM-2026-077-AT-112";

/// The examples, issued once for all tests.
fn examples() -> PathBuf {
    static ISSUED: OnceLock<tempfile::TempDir> = OnceLock::new();
    ISSUED.get_or_init(|| issued(&[])).path().to_owned()
}

fn original() -> Vec<u8> {
    fs::read(examples().join("out").join(format!("{LOOP}.pdf"))).expect("a document")
}

fn audited(bytes: &[u8]) -> Audit {
    document(bytes, &Bench::default()).expect("it can be read")
}

/// That a document is found to be changed, and that one sentence holds all these words.
fn is_named(bytes: &[u8], words: &[&str]) {
    let told = told(&audited(bytes));
    let is_one = told.iter().any(|sentence| words.iter().all(|word| sentence.contains(word)));
    assert!(is_one, "{words:?} is not named: {told:#?}");
}

#[test]
fn every_example_stands_alone_in_every_language() {
    let bench = Bench::default();
    for (language, _) in halfcell::client::LANGUAGES {
        let folder = issued(&[("language: English", &format!("language: {language}"))]);
        for file in pdfs(&folder.path().join("out")) {
            let audit = document(&fs::read(&file).expect("a file"), &bench).expect("a document");
            assert!(audit.agrees(), "{language}, {}: {:?}", file.display(), told(&audit));
            assert!(audit.printed_hash.is_some() && audit.record_sha256.is_some());
            assert_eq!(audit.extent, Extent::Whole, "{}", file.display());
        }
        for file in ending(&folder.path().join("out"), "html") {
            let audit = document(&fs::read(&file).expect("a file"), &bench).expect("a page");
            assert!(audit.agrees(), "{language}, {}: {:?}", file.display(), told(&audit));
            assert!(audit.printed_hash.is_some() && audit.notes.contains(&Note::RecordOnly));
            let pdf = document(&fs::read(file.with_extension("pdf")).expect("a file"), &bench).expect("a document");
            assert_eq!(
                (audit.record_sha256, audit.printed_hash, audit.number, audit.sources),
                (pdf.record_sha256, pdf.printed_hash, pdf.number, pdf.sources)
            );
        }
    }
}

#[test]
fn documents_of_an_older_version_are_read_recomputed_and_compared() {
    for file in pdfs(&root().join("tests/old/0.1.0")) {
        let audit = audited(&fs::read(&file).expect("a file"));
        for note in &audit.notes {
            println!("{}: {}", file.display(), note.told());
        }
        assert!(audit.agrees(), "{}: {:#?}", file.display(), told(&audit));
        assert_eq!(audit.extent, Extent::Text);
        assert_eq!(audit.program.as_deref(), Some("halfcell 0.1.0"));
        assert!(file.ends_with(format!("{}.pdf", audit.number.expect("a number"))));
    }
    for file in ending(&root().join("tests/old/0.1.0"), "html") {
        let audit = audited(&fs::read(&file).expect("a file"));
        assert!(audit.agrees(), "{}: {:#?}", file.display(), told(&audit));
    }
}

/// The glyphs of a text in a face, as they stand in a content stream.
fn glyphs(face: Face, text: &str) -> Vec<u8> {
    let glyph = |c| bundled().glyph(face, c).expect("a glyph").id;
    text.chars().flat_map(|c| glyph(c).to_be_bytes()).collect()
}

/// A document with a text on its first page replaced.
fn printed_otherwise(bytes: &[u8], old: &str, new: &str) -> Vec<u8> {
    changed(bytes, |objects| {
        let page = objects.get_pages()[&1];
        let content = objects.get_page_contents(page)[0];
        let bytes = bytes_of(objects, content);
        let face = [Face::SemiBold, Face::Regular].into_iter().find(|&face| {
            let due = glyphs(face, old);
            bytes.windows(due.len()).any(|window| window == due)
        });
        let face = face.expect("the text is on the page");
        put_bytes(objects, content, replaced(&bytes, &glyphs(face, old), &glyphs(face, new)));
    })
}

#[test]
fn a_digit_changed_on_a_page_is_named_with_what_should_stand_there() {
    is_named(&printed_otherwise(&original(), "89.9", "99.9"), &["page 1: ", "99.9", "where the data give", "89.9"]);
    let old = fs::read(root().join("tests/old/0.1.0").join(format!("{LOOP}.pdf"))).expect("a document");
    is_named(&printed_otherwise(&old, "89.9", "99.9"), &["page 1: ", "99.9", "where the data give", "89.9"]);
}

#[test]
fn a_changed_attachment_is_named() {
    let other = |name: &str, old: &[u8], new: &[u8]| {
        changed(&original(), |objects| {
            let found = attachments(objects).into_iter().find(|(own, _)| own.ends_with(name)).expect("it is attached");
            let bytes = replaced(&bytes_of(objects, found.1), old, new);
            put_bytes(objects, found.1, bytes);
        })
    };
    is_named(&other("firm.yaml", b"Hurdlemere", b"Hurdlemore"), &["firm.yaml was changed"]);
    is_named(&other("kit.yaml", b"9", b"8"), &["kit.yaml was changed"]);
    let record = format!("{LOOP}.json");
    is_named(
        &other(&record, b"\"slope_percent\":89.8", b"\"slope_percent\":99.8"),
        &["record, ", "slope_percent", "«99.8", "«89.8"],
    );
    is_named(&other(&record, b"\"verdict\":\"pass\"", b"\"verdict\":\"fail\""), &["the outcome is «fail»", "«pass»"]);
    is_named(&other(&record, LOOP.as_bytes(), b"HM-2026-078-AT-112"), &["page 1: ", LOOP]);
}

#[test]
fn an_earlier_visit_changed_in_the_history_is_named() {
    let bytes = fs::read(examples().join("out/HM-2025-047-AT-118.pdf")).expect("a document");
    let other = changed(&bytes, |objects| {
        let found = attachments(objects).into_iter().find(|(own, _)| own == "history.json").expect("it is attached");
        let bytes = replaced(&bytes_of(objects, found.1), b"\"slope_percent\":9", b"\"slope_percent\":8");
        put_bytes(objects, found.1, bytes);
    });
    is_named(&other, &["record, history[1].slope_percent: «9", "«8"]);
}

#[test]
fn the_visit_file_of_another_document_is_named() {
    let folder = examples().join("out");
    let other = fs::read(folder.join("HM-2026-066-AT-142.pdf")).expect("a document");
    let theirs = lopdf::Document::load_mem(&other).expect("a PDF");
    let is_visit = |(name, _): &(String, _)| name.starts_with("20");
    let theirs = bytes_of(&theirs, attachments(&theirs).into_iter().find(is_visit).expect("a visit").1);
    let mut name = String::new();
    let swapped = changed(&original(), |objects| {
        let (own, id) = attachments(objects).into_iter().find(is_visit).expect("a visit");
        name = own;
        put_bytes(objects, id, theirs);
    });
    is_named(&swapped, &[&name, "was changed"]);
}

#[test]
fn attachments_exchanged_removed_or_added_are_named() {
    let exchanged = changed(&original(), |objects| {
        let files = attachments(objects);
        let find = |name: &str| files.iter().find(|(own, _)| own == name).expect("it is attached").1;
        let (kit, firm) = (find("kit.yaml"), find("firm.yaml"));
        let (of_kit, of_firm) = (bytes_of(objects, kit), bytes_of(objects, firm));
        put_bytes(objects, kit, of_firm);
        put_bytes(objects, firm, of_kit);
    });
    is_named(&exchanged, &["kit.yaml was changed"]);
    is_named(&exchanged, &["firm.yaml was changed"]);
    let files = attachments(&lopdf::Document::load_mem(&original()).expect("a PDF"));
    for (at, (name, _)) in files.iter().enumerate() {
        let removed = changed(&original(), |objects| remove_attachment(objects, at));
        let word = if name.ends_with(".json") { "its record is not attached" } else { name };
        is_named(&removed, &[word, "not attached"]);
    }
    let added = changed(&original(), |objects| {
        let (_, id) = attachments(objects)[0].clone();
        let names = dictionary! { "UF" => Object::string_literal("more.yaml"), "EF" => dictionary! { "F" => id } };
        let more = objects.add_object(names);
        put_bytes(objects, id, b"x: 1\n".to_vec());
        let catalog = objects.catalog_mut().expect("a catalog");
        let tree = catalog.get_mut(b"Names").and_then(Object::as_dict_mut).expect("names");
        let tree = tree.get_mut(b"EmbeddedFiles").and_then(Object::as_dict_mut).expect("files");
        let pairs = tree.get_mut(b"Names").and_then(Object::as_array_mut).expect("pairs");
        pairs.extend([Object::string_literal("more.yaml"), more.into()]);
    });
    is_named(&added, &["more.yaml is attached and has no part"]);
}

#[test]
fn changed_metadata_is_named() {
    let titled = changed(&original(), |objects| {
        let info = objects.trailer.get(b"Info").and_then(Object::as_reference).expect("a reference");
        objects.get_dictionary_mut(info).expect("info").set("Author", Object::string_literal("Somebody else"));
    });
    is_named(&titled, &["metadata, Author: «Somebody else»", "Hurdlemere Loop Service"]);
    let other = replaced(&original(), b"<pdfaid:part>3", b"<pdfaid:part>2");
    is_named(&other, &["metadata, XMP"]);
}

#[test]
fn what_is_added_behind_the_end_is_named() {
    let bytes = original();
    let objects = lopdf::Document::load_mem(&bytes).expect("a PDF");
    let content = objects.get_page_contents(objects.get_pages()[&1])[0].0;
    let root = objects.trailer.get(b"Root").and_then(Object::as_reference).expect("a root").0;
    let drawn = "1 1 1 rg 0 0 600 900 re f BT /RL 20 Tf 40 700 Td (\0~) Tj ET";
    let at = bytes.len();
    let update = format!(
        "{content} 0 obj\n<</Length {}>>stream\n{drawn}\nendstream\nendobj\nxref\n{content} 1\n{at:010} 00000 n \ntrailer\n\
         <</Size 999/Root {root} 0 R/Prev 9>>\nstartxref\n{}\n%%EOF\n",
        drawn.len(),
        at + 60
    );
    let updated = [&bytes[..], update.as_bytes()].concat();
    is_named(&updated, &["added behind the end"]);
    is_named(&updated, &["page 1: "]);
    is_named(&[&bytes[..], b"\n% a word more\n"].concat(), &["bytes follow behind the end"]);
}

#[test]
fn notes_on_a_page_and_things_that_run_are_named() {
    let covered = changed(&original(), |objects| {
        let page = objects.get_pages()[&1];
        let white = dictionary! {
            "Type" => "Annot", "Subtype" => "Square", "Rect" => vec![40.into(), 600.into(), 200.into(), 700.into()],
            "IC" => vec![1.into(), 1.into(), 1.into()],
        };
        let white = objects.add_object(white);
        objects.get_dictionary_mut(page).expect("a page").set("Annots", vec![Object::from(white)]);
    });
    is_named(&covered, &["page 1: notes lie on the page"]);
    let running = changed(&original(), |objects| {
        let script = dictionary! { "S" => "JavaScript", "JS" => Object::string_literal("app.alert(1)") };
        objects.catalog_mut().expect("a catalog").set("OpenAction", script);
    });
    is_named(&running, &["OpenAction", "run or hide"]);
}

#[test]
fn white_paint_over_a_figure_is_named() {
    let painted = changed(&original(), |objects| {
        let content = objects.get_page_contents(objects.get_pages()[&1])[0];
        let bytes = [bytes_of(objects, content), b"q 1 1 1 rg 40 600 100 100 re f Q\n".to_vec()].concat();
        put_bytes(objects, content, bytes);
    });
    is_named(&painted, &["page 1: the text is the same, but the drawing was changed"]);
}

#[test]
fn pages_added_or_removed_are_named() {
    let with_pages = |change: fn(&mut Vec<Object>)| {
        changed(&original(), |objects| {
            let pages = objects.catalog().and_then(|catalog| catalog.get(b"Pages")?.as_reference()).expect("pages");
            let pages = objects.get_dictionary_mut(pages).expect("pages");
            change(pages.get_mut(b"Kids").and_then(Object::as_array_mut).expect("kids"));
        })
    };
    is_named(&with_pages(|kids| kids.push(kids[0].clone())), &["3 pages where the data give 2"]);
    is_named(&with_pages(|kids| drop(kids.pop())), &["1 pages where the data give 2"]);
}

#[test]
fn a_page_of_html_is_held_against_its_record() {
    let page = fs::read(examples().join("out").join(format!("{LOOP}.html"))).expect("a page");
    is_named(&replaced(&page, b">89.9<", b">47.7<"), &["«47.7», which its record does not give"]);
    let record = b"\"slope_percent\":89.8";
    is_named(&replaced(&page, record, b"\"slope_percent\":63.8"), &["record, as_found.slope_percent"]);
    is_named(&replaced(&page, b"<main>", b"<main><script>1</script>"), &["script"]);
    let title = format!("<meta name=\"dcterms.identifier\" content=\"{LOOP}");
    is_named(&replaced(&page, title.as_bytes(), title.replace("077", "078").as_bytes()), &["metadata, number", LOOP]);
}

/// Everything is remade with the library from a changed visit file, and keeps the hash that was printed.
#[test]
fn a_consistent_forgery_stands_alone_and_the_answer_says_what_is_not_shown() {
    let bytes = original();
    let genuine = audited(&bytes);
    let objects = lopdf::Document::load_mem(&bytes).expect("a PDF");
    let files = attachments(&objects);
    let record = files.iter().find(|(name, _)| name.ends_with(".json")).expect("a record").1;
    let record = bytes_of(&objects, record);
    let mut kept: Vec<(String, Vec<u8>)> = Vec::new();
    for source in &genuine.sources {
        let last = source.name.rsplit('/').next().expect("a name");
        let file = files.iter().find(|(name, _)| name == last).expect("it is attached");
        kept.push((source.name.clone(), bytes_of(&objects, file.1)));
    }
    kept[0].1 = replaced(&kept[0].1, b"134.6", b"134.9");
    kept.push(("../logo.svg".to_owned(), fs::read(root().join("examples/logo.svg")).expect("the logo")));
    let files = kept.iter().map(|(name, bytes)| (name.clone(), KeptFile::Bytes(Arc::from(&bytes[..])))).collect();
    let from = MadeFrom {
        visit: &kept[0].0,
        files: Kept { files, only_texts: false },
        points: &[],
        record: &record,
        own: CertificateFacts::default(),
    };
    let mut remade = Remade::of(from, &Arc::default()).expect("it can be made");
    assert!(!remade.data().contains("\"slope_percent\":89.85"), "the slope is another");
    let forged = remade.document(genuine.printed_hash.as_deref()).expect("a document");
    let forged = paint(&Paintable::new(forged), &Press::new());
    assert_ne!(forged, bytes);
    let audit = audited(&forged);
    assert!(audit.agrees(), "{:?}", told(&audit));
    assert_eq!(audit.printed_hash, genuine.printed_hash);
    assert_ne!((audit.sha256.as_str(), &audit.record_sha256), (genuine.sha256.as_str(), &genuine.record_sha256));
    assert!(audit.shows().contains("only its register or a hash kept elsewhere can tell"));
}

#[test]
fn any_byte_that_is_flipped_is_reported_or_the_file_is_unreadable() {
    let bench = Bench::default();
    let bytes = original();
    let mut state: u64 = 20_260_513;
    let mut random = |below: usize| {
        // Source: D. E. Knuth, The Art of Computer Programming, volume 2, 3.3.4: multiplier and increment of MMIX.
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % below
    };
    for _ in 0..150 {
        let (at, bit) = (random(bytes.len()), random(8));
        let mut flipped = bytes.clone();
        flipped[at] ^= 1 << bit;
        if let Ok(audit) = document(&flipped, &bench) {
            assert!(!audit.agrees(), "bit {bit} of byte {at}");
        }
    }
    for _ in 0..40 {
        let cut = &bytes[..random(bytes.len())];
        assert!(!document(cut, &bench).is_ok_and(|audit| audit.agrees()));
    }
}

#[test]
fn a_file_written_anew_by_another_program_is_told_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let paths = ["in.pdf", "out.pdf"].map(|name| folder.path().join(name));
    fs::write(&paths[0], original()).expect("a file");
    let Ok(status) = Command::new("qpdf").args(["--object-streams=disable"]).args(&paths).status() else {
        assert!(std::env::var_os("CI").is_none(), "qpdf is needed");
        println!("qpdf is not here");
        return;
    };
    assert!(status.success());
    let audit = audited(&fs::read(&paths[1]).expect("a file"));
    assert_eq!(told(&audit), ["the file was written anew by another program; its text is what the data give"]);
    let encrypted = ["--encrypt", "", "x", "256", "--"];
    let status = Command::new("qpdf").arg(&paths[0]).args(encrypted).arg(&paths[1]).status().expect("qpdf");
    assert!(status.success());
    let refused = document(&fs::read(&paths[1]).expect("a file"), &Bench::default());
    assert_eq!(refused.err(), Some(Unreadable::Encrypted));
}

#[test]
fn a_raster_logo_or_none_does_not_hinder_and_without_attachments_only_a_register_proves() {
    for (old, new, extent) in [
        ("logo: logo.svg ", "logo: logo.png ", Extent::Whole),
        ("logo: logo.svg ", "", Extent::Whole),
        ("attachments: yes", "attachments: no", Extent::Nothing),
    ] {
        let folder = issued(&[(old, new)]);
        for file in pdfs(&folder.path().join("out")) {
            let audit = audited(&fs::read(&file).expect("a file"));
            assert!(audit.agrees(), "{new}, {}: {:?}", file.display(), told(&audit));
            assert_eq!(audit.extent, extent, "{new}, {}", file.display());
            assert_eq!(audit.notes.contains(&Note::NothingAttached), extent == Extent::Nothing);
            assert!(audit.number.is_some() && audit.printed_hash.is_some());
        }
    }
}

#[test]
fn what_is_no_document_is_refused() {
    for bytes in [b"".as_slice(), b"visit: V-1\n", b"%PDF-1.7\n", b"<!DOCTYPE html><p>x", &[0xff; 4000]] {
        assert!(document(bytes, &Bench::default()).is_err());
    }
}
