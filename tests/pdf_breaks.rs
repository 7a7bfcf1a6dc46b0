//! Pages break where a reader expects it, whatever a document holds.

mod page_tools;
mod sample_document;

use halfcell::document::{Block, Cell, Column, Document, Fact, Figure, Mark, Paragraph, Part, Row, Table};
use halfcell::firm::Paper;
use halfcell::paint::Paintable;
use halfcell::paint::pdf::Press;
use page_tools::{run, written};
use sample_document::{numbered_table, sample};

fn paint(document: &Document, press: &Press) -> Vec<u8> {
    halfcell::paint::pdf::paint(&Paintable::new(document.clone()), press)
}

#[test]
fn a_table_breaks_with_two_rows_on_either_side_and_its_head_again() {
    for rows in 1..=80 {
        let mut document = sample();
        document.paper = if rows % 2 == 0 { Paper::A4 } else { Paper::Letter };
        let filler = Paragraph { lead: None, text: "A line that fills the page.\n".repeat(1 + rows * 7 % 38) };
        let blocks = vec![Block::Paragraph(filler), Block::Heading("Numbered".into()), numbered_table(rows)];
        document.parts = vec![Part { name: "Table".into(), blocks }];
        let path = written(&format!("table-{rows}"), &paint(&document, &Press::new()));
        let Some(text) = run("pdftotext", &["-raw", &path, "-"]) else {
            return;
        };
        let pages: Vec<usize> = text.split('\u{c}').map(|page| page.matches("row-").count()).collect();
        assert_eq!(pages.iter().sum::<usize>(), rows);
        let with_rows = text.split('\u{c}').filter(|page| page.contains("row-"));
        assert!(with_rows.clone().all(|page| page.contains("Row Value")), "{rows} rows: head");
        let broken = with_rows.count() > 1;
        assert!(!broken || pages.iter().all(|&count| count != 1), "{rows} rows: {pages:?}");
        let lonely = |page: &str| page.contains("Numbered\n") && !page.contains("row-");
        assert!(!text.split('\u{c}').any(lonely), "{rows} rows: a heading without its table");
    }
}

#[test]
fn a_group_stays_with_its_next_row() {
    for filler in 0..24 {
        let mut document = sample();
        let Block::Table(mut table) = numbered_table(40) else { panic!("a table") };
        for at in (0..40).step_by(4).rev() {
            table.rows.insert(at, Row::Group(Paragraph { lead: Some("Group".into()), text: "of four".into() }));
        }
        let filling = Paragraph { lead: None, text: "A line.\n".repeat(1 + filler) };
        document.parts = vec![Part { name: "T".into(), blocks: vec![Block::Paragraph(filling), Block::Table(table)] }];
        let path = written(&format!("groups-{filler}"), &paint(&document, &Press::new()));
        let Some(text) = run("pdftotext", &["-raw", &path, "-"]) else {
            return;
        };
        for page in text.split('\u{c}') {
            let last = page.lines().rfind(|line| line.starts_with("row-") || line.starts_with("Group"));
            assert!(last.is_none_or(|line| line.starts_with("row-")), "{filler}: {page}");
        }
    }
}

/// Whatever a document holds, it is painted, and a row that is higher than a page flows on.
#[test]
fn odd_documents_are_painted() {
    let long = "endless ".repeat(3000);
    let cells = |texts: &[&str]| {
        let cell = |text: &&str| Cell { text: text.to_string(), mark: Some(Mark::Warn) };
        Row::Cells(texts.iter().map(cell).collect())
    };
    let Block::Table(table) = numbered_table(1) else { panic!("a table") };
    let blocks = vec![
        Block::Columns(vec![]),
        Block::Columns(vec![Column {
            weight: 0,
            blocks: vec![Block::Facts(vec![Fact { label: String::new(), value: vec![] }])],
        }]),
        Block::Table(Table { columns: vec![], rows: vec![cells(&["more", "than", "columns"])], ..table.clone() }),
        Block::Table(Table { rows: vec![cells(&[]), cells(&[&long, &long]), cells(&["1", "2", "3"])], ..table }),
        Block::Figure(Figure { width: 0.0, height: 0.0, alt: String::new(), shapes: vec![] }),
        Block::Signatures(vec![]),
        Block::List(vec![]),
        Block::Caution(Paragraph { lead: Some(long.clone()), text: String::new() }),
        Block::EndMark(String::new()),
    ];
    let mut document = sample();
    document.parts = vec![Part { name: String::new(), blocks }, Part { name: String::new(), blocks: vec![] }];
    let path = written("odd", &paint(&document, &Press::new()));
    document.parts.clear();
    document.running.draft = Some(long.repeat(4));
    document.brand.name = long;
    assert!(paint(&document, &Press::new()).starts_with(b"%PDF-1.7"));
    let Some(text) = run("pdftotext", &["-raw", &path, "-"]) else {
        return;
    };
    assert_eq!(text.matches("endless").count(), 9000);
}
