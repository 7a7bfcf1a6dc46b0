//! The HTML page in a real browser: on wide and narrow windows, and printed.

mod browser;
mod example_pages;
mod page_tools;
mod sample_document;

use browser::{Browser, Scheme};
use example_pages::{examples, samples};
use halfcell::document::{Block, Document, Table};
use halfcell::paint::Paintable;
use page_tools::run;
use sample_document::{long, sample};
use serde_json::json;

fn paint(document: &Document) -> String {
    halfcell::paint::html::paint(&Paintable::new(document.clone()))
}

#[test]
fn nothing_sticks_out_on_any_width() {
    let Some(browser) = Browser::find("html-widths") else {
        return;
    };
    let pages = [examples(), samples()].concat();
    let measure = include_str!("browser/measure.js");
    let report = browser.report("measure.html", &[("pages", json!(pages))], measure, Scheme::Light);
    println!("{report}");
    assert!(report.contains(&format!("measured {} frames", 4 * pages.len())), "{report}");
    assert!(!report.contains("WRONG"), "{report}");
}

/// Sizes in pt of the printed pages, and the text of each without white; none where no tool reads them.
fn printed(browser: &Browser, name: &str, document: &Document) -> Option<(Vec<[f32; 2]>, Vec<String>)> {
    let path = browser.print(&browser.write(name, &paint(document)));
    let pdf = lopdf::Document::load(&path).expect("the browser prints a PDF");
    let size = |page| {
        let page = pdf.get_dictionary(page).expect("a page is a dictionary");
        let corners = page.get(b"MediaBox").and_then(|corners| corners.as_array());
        let corners = corners.expect("a page has a size");
        [2, 3].map(|at| corners[at].as_float().expect("a number").round())
    };
    let sizes = pdf.get_pages().into_values().map(size).collect();
    let text = run("pdftotext", &["-enc", "UTF-8", &path.to_string_lossy(), "-"])?;
    let texts = text.trim_end_matches('\u{c}').split_terminator('\u{c}');
    let bare = |text: &str| text.split_whitespace().collect();
    Some((sizes, texts.map(bare).collect()))
}

#[test]
fn each_part_begins_a_page_that_bears_number_and_count() {
    let Some(browser) = Browser::find("html-print") else {
        return;
    };
    let Some((sizes, texts)) = printed(&browser, "sample.html", &sample()) else {
        return;
    };
    // Source: ISO 216, A4 210 mm × 297 mm, in pt.
    assert_eq!(sizes, [[595.0, 842.0]; 2]);
    for (text, count) in texts.iter().zip(["page1of2", "page2of2"]) {
        assert!(text.contains(count) && text.contains("QF-2026-0187"), "{text}");
        assert!(!text.contains("Draft"), "{text}");
    }
    assert!(texts[0].contains("receivedfortheclient") && !texts[1].contains("receivedfortheclient"));
    assert!(texts[1].starts_with("Readings,aswritten"), "{}", texts[1]);
}

/// The long table of standards of a document.
fn standards(document: &mut Document) -> &mut Table {
    let columns = document.parts.iter_mut().flat_map(|part| &mut part.blocks).filter_map(|block| match block {
        Block::Columns(columns) => Some(columns),
        _ => None,
    });
    let tables = columns.flatten().flat_map(|column| &mut column.blocks).filter_map(|block| match block {
        Block::Table(table) => Some(table),
        _ => None,
    });
    tables.max_by_key(|table| table.rows.len()).expect("the document has tables in columns")
}

#[test]
fn a_long_draft_says_draft_and_repeats_heads_on_every_page() {
    let Some(browser) = Browser::find("html-print-long") else {
        return;
    };
    let mut document = long();
    let rows = &mut standards(&mut document).rows;
    rows.extend(rows.clone());
    let Some((sizes, texts)) = printed(&browser, "long.html", &document) else {
        return;
    };
    // Source: ANSI/ASME Y14.1, size A, 8.5 in × 11 in, in pt.
    assert!(sizes.len() > 2 && sizes.iter().all(|&size| size == [612.0, 792.0]), "{sizes:?}");
    assert!(texts.iter().all(|text| text.contains("Draft·")), "{texts:?}");
    let heads = texts.iter().filter(|text| text.contains("LotOpenedExpires"));
    assert!(heads.count() > 1, "the long table has its heads on each of its pages");
}
