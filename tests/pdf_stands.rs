//! The PDF stands: its bytes, its text and its pages, judged by tools that share no code with the painter.

mod page_tools;
mod sample_document;

use halfcell::document::{Block, Document, Row};
use halfcell::firm::{Logo, LogoKind, Paper};
use halfcell::paint::Paintable;
use halfcell::paint::pdf::{LogoFault, Press};
use page_tools::reading::{body, solid, without_head};
use page_tools::{Word, run, written};
use sample_document::{draft, long, sample, texts};

fn paint(document: &Document, press: &Press) -> Vec<u8> {
    halfcell::paint::pdf::paint(&Paintable::new(document.clone()), press)
}

/// Largest file for a document of two pages.
const MOST_BYTES: usize = 80 * 1024;

/// Every sample on both papers, with a name for its file.
fn documents() -> Vec<(String, Document)> {
    let mut all = Vec::new();
    for (name, document) in [("sample", sample()), ("draft", draft()), ("long", long())] {
        for paper in [Paper::A4, Paper::Letter] {
            all.push((format!("{name}-{paper:?}"), Document { paper, ..document.clone() }));
        }
    }
    all
}

#[test]
fn same_document_same_bytes_in_every_thread() {
    for (name, document) in documents() {
        let press = Press::new();
        let first = paint(&document, &press);
        std::thread::scope(|scope| {
            let threads: Vec<_> = (0..4).map(|_| scope.spawn(|| paint(&document, &press))).collect();
            for thread in threads {
                assert!(thread.join().expect("no panic") == first, "{name}");
            }
        });
        assert!(paint(&document, &Press::new()) == first, "{name} with a new press");
    }
}

#[test]
fn another_figure_gives_another_identifier() {
    let press = Press::new();
    let mut other = sample();
    let Block::Table(table) = &mut other.parts[1].blocks[1] else { panic!("the readings") };
    let Row::Cells(cells) = &mut table.rows[1] else { panic!("a reading") };
    cells[3].text = "−20.7".into();
    let id = |bytes: &[u8]| {
        let text = String::from_utf8_lossy(bytes).into_owned();
        text[text.rfind("/ID").expect("an identifier")..].chars().take(80).collect::<String>()
    };
    assert_ne!(id(&paint(&sample(), &press)), id(&paint(&other, &press)));
}

#[test]
fn two_pages_are_small() {
    let bytes = paint(&sample(), &Press::new());
    assert!(bytes.len() <= MOST_BYTES, "{} bytes", bytes.len());
}

#[test]
fn structure_is_sound_and_fonts_are_embedded() {
    for (name, document) in documents() {
        let path = written(&name, &paint(&document, &Press::new()));
        let Some(report) = run("qpdf", &["--check", &path]) else {
            return;
        };
        assert!(report.contains("No syntax or stream encoding errors"), "{name}: {report}");
        let Some(fonts) = run("pdffonts", &[&path]) else {
            return;
        };
        for line in fonts.lines().skip(2) {
            let fields: Vec<&str> = line.split_whitespace().collect();
            assert_eq!(fields[4..7], ["yes", "no", "yes"], "embedded, whole slice, with Unicode: {line}");
        }
        let greek = fonts.contains("greek") && fonts.contains("cyrillic");
        assert_eq!(greek, name.starts_with("long"), "only the slices in use: {fonts}");
    }
}

#[test]
fn no_character_is_the_missing_glyph() {
    for (name, document) in documents() {
        let path = written(&name, &paint(&document, &Press::new()));
        let Some(plain) = run("qpdf", &["--qdf", "--object-streams=disable", &path, "-"]) else {
            return;
        };
        let strings: Vec<&str> = plain.lines().filter_map(|line| line.strip_suffix("> Tj")).collect();
        assert!(strings.len() > 200, "{name}: {} strings", strings.len());
        for string in strings {
            let hex: Vec<char> = string.trim_start_matches('<').chars().collect();
            assert!(hex.chunks(4).all(|code| code.len() == 4 && code != ['0'; 4]), "{name}: {string}");
        }
    }
}

#[test]
fn every_text_is_read_back_in_order() {
    for (name, document) in documents() {
        let path = written(&name, &paint(&document, &Press::new()));
        let Some(text) = run("pdftotext", &["-raw", "-enc", "UTF-8", &path, "-"]) else {
            return;
        };
        let pages: Vec<&str> = text.trim_end_matches('\u{c}').split('\u{c}').collect();
        let count = pages.len();
        let expected = [document.title.clone(), document.subtitle.clone()]
            .into_iter()
            .chain(document.parts.iter().flat_map(|part| texts(&part.blocks)));
        let expected = solid(&expected.collect::<String>());
        let mut rest = expected.as_str();
        for (at, page) in pages.iter().enumerate() {
            let body = body(&document, page, at + 1, count);
            let after = rest.strip_prefix(&body).or_else(|| rest.strip_prefix(without_head(&document, &body)));
            rest = after.unwrap_or_else(|| panic!("{name}, page {}: {body}\nis not how this begins: {rest}", at + 1));
        }
        assert_eq!(rest, "", "{name}");
        let text = text.replace('\u{a0}', " ");
        for signs in ["78.9 %", "0.2 µA", "120 MΩ", "−166.3", "25 °C", "1.1 %, offset −26.0 ± 1.3 mV"] {
            assert!(text.contains(signs), "{name}: {signs}");
        }
    }
}

/// Readers may show a no-break space as a space: the table of the font tells.
#[test]
fn a_no_break_space_stays_one() {
    let path = written("spaces", &paint(&sample(), &Press::new()));
    let Some(plain) = run("qpdf", &["--qdf", "--object-streams=disable", &path, "-"]) else {
        return;
    };
    assert!(plain.contains("<0020>") && plain.to_lowercase().contains("<00a0>"));
}

/// The words of the sample, which has none that is wider than its line, come out one by one.
#[test]
fn words_are_read_back_whole() {
    let path = written("words", &paint(&sample(), &Press::new()));
    let Some(text) = run("pdftotext", &["-raw", "-enc", "UTF-8", &path, "-"]) else {
        return;
    };
    let mut read = text.split_whitespace();
    for part in &sample().parts {
        for word in texts(&part.blocks).iter().flat_map(|text| text.split_whitespace()) {
            assert!(read.any(|found| found == word), "{word}");
        }
    }
}

#[test]
fn words_stay_within_the_margins_and_off_one_another() {
    for (name, document) in documents() {
        let path = written(&name, &paint(&document, &Press::new()));
        let Some(pages) = page_tools::words(&path) else {
            return;
        };
        for (at, page) in pages.iter().enumerate() {
            for word in &page.words {
                let inside = word.left >= 39.9 && word.right <= page.width - 39.9;
                let inside = inside && word.top >= 30.0 && word.bottom <= page.height - 30.0;
                assert!(inside, "{name}, page {}: {word:?}", at + 1);
            }
            for (at, one) in page.words.iter().enumerate() {
                let other = page.words[at + 1..].iter().find(|other| overlap(one, other));
                assert!(other.is_none(), "{name}: {one:?} and {other:?}");
            }
        }
    }
}

/// Whether the letters of two words overlap: a box is as high as the font's tallest accent, the letters are lower.
fn overlap(one: &Word, other: &Word) -> bool {
    let core = |word: &Word| (word.top + 0.2 * (word.bottom - word.top), word.bottom - 0.2 * (word.bottom - word.top));
    let ((top, bottom), (other_top, other_bottom)) = (core(one), core(other));
    let beside = one.right <= other.left + 0.3 || other.right <= one.left + 0.3;
    !beside && bottom > other_top && other_bottom > top
}

#[test]
fn metadata_come_from_the_document() {
    let path = written("metadata", &paint(&sample(), &Press::new()));
    let Some(info) = run("pdfinfo", &["-rawdates", &path]) else {
        return;
    };
    let line = |key: &str| {
        let found = info.lines().find_map(|line| line.strip_prefix(key));
        found.unwrap_or_else(|| panic!("{key} in {info}")).trim().to_string()
    };
    assert_eq!(line("Title:"), "QF-2026-0187 · Calibration record");
    assert_eq!(line("Author:"), "Quillfen Instrument Service");
    assert_eq!(line("Creator:"), format!("halfcell {}", env!("CARGO_PKG_VERSION")));
    assert_eq!(line("CreationDate:"), "D:20260513081500+02'00'");
    assert_eq!(line("PDF version:"), "1.7");
    assert_eq!(line("Pages:"), "2");
    let Some(xmp) = run("pdfinfo", &["-meta", &path]) else {
        return;
    };
    assert!(xmp.contains("<xmp:CreateDate>2026-05-13T08:15:00+02:00<"), "{xmp}");
}

#[test]
fn pages_are_drawn_without_complaint() {
    for (name, document) in documents() {
        let path = written(&name, &paint(&document, &Press::new()));
        let Some(complaints) = run("pdftoppm", &["-r", "50", "-gray", &path, &path.replace(".pdf", "")]) else {
            return;
        };
        assert_eq!(complaints, "", "{name}");
    }
}

#[test]
fn a_character_without_a_glyph_is_reported_and_never_dropped() {
    let mut document = sample();
    document.parts[0].blocks.push(Block::Heading("Zähler 漢, Bu\u{308}ro".into()));
    assert_eq!(Paintable::new(document.clone()).missing(), [('漢', "Zähler 漢, Büro".to_string())]);
    assert_eq!(Paintable::new(sample()).missing(), []);
    assert_eq!(Paintable::new(long()).missing(), []);
    let path = written("missing", &paint(&document, &Press::new()));
    let Some(text) = run("pdftotext", &["-raw", "-enc", "UTF-8", &path, "-"]) else {
        return;
    };
    assert!(text.contains("Zähler [U+6F22], Büro"), "{text}");
}

/// A PNG logo of our own drawing: bars on a transparent ground, larger than it is kept.
fn png_logo() -> Logo {
    let (width, height) = (720, 560);
    let pixel = |at: u32| match (at / width / 80 % 2, at % width) {
        (0, x) if x < 200 + at / width => [0x1d, 0x4a, 0x57, 0xff],
        _ => [0, 0, 0, 0],
    };
    let pixels: Vec<u8> = (0..width * height).flat_map(pixel).collect();
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgba);
    let mut writer = encoder.write_header().expect("in memory");
    writer.write_image_data(&pixels).expect("in memory");
    writer.finish().expect("in memory");
    Logo { name: "logo.png".into(), kind: LogoKind::Png, bytes }
}

#[test]
fn a_picture_logo_keeps_its_transparency_and_stays_small() {
    let mut document = sample();
    document.brand.logo = Some(png_logo());
    let bytes = paint(&document, &Press::new());
    assert!(bytes.len() <= MOST_BYTES, "{} bytes", bytes.len());
    let path = written("picture", &bytes);
    let Some(images) = run("pdfimages", &["-list", &path]) else {
        return;
    };
    let kinds = images.lines().skip(2).map(|line| line.split_whitespace().nth(2).unwrap_or(""));
    assert_eq!(kinds.take(2).collect::<Vec<_>>(), ["image", "smask"], "{images}");
}

#[test]
fn a_broken_logo_is_an_error() {
    let mut logo = sample().brand.logo.expect("the sample has one");
    assert_eq!(Press::new().prepare(&logo), Ok(()));
    logo.bytes.truncate(60);
    assert!(matches!(Press::new().prepare(&logo), Err(LogoFault::Unreadable(_))));
}

#[test]
fn files_travel_within_and_the_page_is_complete_without_them() {
    let with = sample();
    let path = written("files", &paint(&with, &Press::new()));
    let Some(list) = run("pdfdetach", &["-list", &path]) else {
        return;
    };
    assert!(list.starts_with("3 embedded files"), "{list}");
    for (number, name) in ["limits.yaml", "record.json", "visit.yaml"].iter().enumerate() {
        let saved = format!("{path}-{name}");
        run("pdfdetach", &["-save", &(number + 1).to_string(), "-o", &saved, &path]).expect("it is installed");
        let bytes = std::fs::read(&saved).expect("it was saved");
        let attached = with.attachments.iter().find(|attached| attached.name == *name).expect("it is attached");
        assert!(bytes == attached.bytes, "{name}");
    }
    let without = written("no-files", &paint(&Document { attachments: Vec::new(), ..with }, &Press::new()));
    let text = |path: &str| run("pdftotext", &["-layout", "-enc", "UTF-8", path, "-"]);
    assert_eq!(text(&path), text(&without));
    assert!(run("pdfdetach", &["-list", &without]).expect("it is installed").starts_with("0 embedded files"));
}

#[test]
fn the_structure_is_read_back_in_reading_order() {
    let path = written("structure", &paint(&sample(), &Press::new()));
    let Some(tree) = run("pdfinfo", &["-struct-text", &path]) else {
        return;
    };
    let lines: Vec<&str> = tree.lines().map(str::trim).collect();
    let heads = lines.windows(2).filter(|pair| pair[0].starts_with("H1") || pair[0].starts_with("H2"));
    let heads: Vec<&str> = heads.map(|pair| pair[1].trim_matches('"')).collect();
    let mut expected = vec!["Calibration record".to_owned()];
    with_headings(&sample().parts[0].blocks, &mut expected);
    with_headings(&sample().parts[1].blocks, &mut expected);
    assert_eq!(heads, expected);
    for kind in ["Table \"", "THead", "TBody", "TH", "TD", "Figure:", "L (", "LBody"] {
        assert!(lines.iter().any(|line| line.starts_with(kind)), "{kind} is missing: {tree}");
    }
}

/// Adds the headings of blocks in reading order, those of verdicts as well.
fn with_headings(blocks: &[Block], to: &mut Vec<String>) {
    for block in blocks {
        match block {
            Block::Heading(text) => to.push(text.clone()),
            Block::Verdict(verdict) => to.push(verdict.title.clone()),
            Block::Columns(columns) => columns.iter().for_each(|column| with_headings(&column.blocks, to)),
            _ => {}
        }
    }
}
