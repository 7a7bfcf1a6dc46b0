//! Opinions stand apart from results, with a name, a basis and a caution while something is open.

use crate::document::certificate::certificate;
use crate::document::fixtures::{firm, restored, untouched};
use crate::document::{Block, Document, Paragraph};
use crate::engine::diagnosis::Severity;
use crate::record::{FindingRecord, Record, Stage};

fn low_slope(resolved: Option<bool>) -> FindingRecord {
    let figures = [("slope_percent", 78.9), ("offset_mv", -26.0)];
    FindingRecord {
        code: "slope-low",
        severity: Severity::Attention,
        stage: Stage::AsFound,
        resolved,
        figures: figures.into_iter().collect(),
        sentences: None,
    }
}

fn with(mut record: Record, resolved: Option<bool>) -> Document {
    record.findings = vec![low_slope(resolved)];
    certificate(&record, &firm())
}

/// The blocks under the heading of the assessment, to the next heading.
fn section(document: &Document) -> Vec<&Block> {
    let blocks = document.parts.iter().flat_map(|part| &part.blocks);
    let is_title = |block: &&Block| matches!(block, Block::Heading(text) if text == "Assessment (opinion)");
    let after = blocks.skip_while(|block| !is_title(block)).skip(1);
    after.take_while(|block| !matches!(block, Block::Heading(_))).collect()
}

#[test]
fn an_opinion_names_whose_it_is_and_that_it_is_no_result() {
    let document = with(restored(), Some(true));
    let Block::Paragraph(Paragraph { text, .. }) = section(&document)[1] else {
        panic!("the basis follows the findings")
    };
    let authorised = restored().visit.signatures.iter().find(|s| s.role == "authorised").map(|s| s.name.clone());
    assert!(text.contains(&authorised.unwrap()) && text.contains("not a result"), "{text}");
}

#[test]
fn an_open_finding_carries_its_caution_and_a_resolved_one_does_not() {
    let cautions = |resolved| {
        let document = with(restored(), resolved);
        section(&document).iter().filter(|block| matches!(block, Block::Caution(_))).count()
    };
    assert_eq!([Some(true), Some(false), None].map(cautions), [0, 1, 1]);
}

#[test]
fn no_word_of_an_opinion_stands_in_a_table_of_results() {
    let document = with(restored(), Some(false));
    fn tables(blocks: &[Block]) -> Vec<String> {
        let of = |block: &Block| match block {
            Block::Table(table) => vec![format!("{table:?}")],
            Block::Columns(columns) => columns.iter().flat_map(|column| tables(&column.blocks)).collect(),
            _ => Vec::new(),
        };
        blocks.iter().flat_map(of).collect()
    }
    for table in document.parts.iter().flat_map(|part| tables(&part.blocks)) {
        assert!(!table.contains("Low slope") && !table.contains("suspected"), "{table}");
    }
}

#[test]
fn a_loop_without_findings_has_no_assessment() {
    assert!(section(&certificate(&untouched(), &firm())).is_empty());
}
