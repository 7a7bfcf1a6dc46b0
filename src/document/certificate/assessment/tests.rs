//! Opinions stand apart from results, with a name, a basis and a caution while something is open.

use crate::document::certificate::{Sheet, certificate, remedies};
use crate::document::fixtures::{firm, restored, untouched};
use crate::document::print::Print;
use crate::document::{Block, Document, Paragraph, Part};
use crate::engine::diagnosis::{Hazard, RULES, Severity};
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

/// Blocks in reading order, without their columns.
fn flat(blocks: &[Block]) -> Vec<&Block> {
    fn of(block: &Block) -> Vec<&Block> {
        match block {
            Block::Columns(columns) => columns.iter().flat_map(|column| flat(&column.blocks)).collect(),
            other => vec![other],
        }
    }
    blocks.iter().flat_map(of).collect()
}

/// The cautions of a document: how many stand in the first part, and how many in all.
fn cautions(document: &Document) -> [usize; 2] {
    let count = |part: &Part| flat(&part.blocks).into_iter().filter(|b| matches!(b, Block::Caution(_))).count();
    [count(&document.parts[0]), document.parts.iter().map(count).sum()]
}

/// The blocks under the heading of the assessment, to the next heading.
fn section(document: &Document) -> Vec<&Block> {
    let blocks = document.parts.iter().flat_map(|part| flat(&part.blocks));
    let is_title = |block: &&Block| matches!(block, Block::Heading(text) if text == "Assessment (opinion)");
    let after = blocks.skip_while(|block| !is_title(block)).skip(1);
    after.take_while(|block| !matches!(block, Block::Heading(_))).collect()
}

#[test]
fn an_opinion_names_whose_it_is_and_that_it_is_no_result() {
    let document = with(restored(), Some(true));
    let Block::List(list) = section(&document)[0] else { panic!("findings are a list") };
    let text = &list.last().unwrap().text;
    let authorised = restored().visit.signatures.iter().find(|s| s.role == "authorised").map(|s| s.name.clone());
    assert!(text.contains(&authorised.unwrap()) && text.contains("not a result"), "{text}");
}

#[test]
fn an_open_finding_carries_its_caution_and_a_resolved_one_does_not() {
    let of = |resolved| cautions(&with(untouched(), resolved));
    assert_eq!([Some(true), Some(false), None].map(of), [[0, 0], [1, 1], [1, 1]]);
}

#[test]
fn what_was_done_and_what_is_advised_share_one_caution_on_the_first_part() {
    let acid = |document: &Document| format!("{document:?}").matches("acid into water").count();
    for resolved in [Some(true), Some(false), None] {
        let document = with(restored(), resolved);
        assert_eq!((cautions(&document), acid(&document)), ([1, 1], 1));
    }
}

#[test]
fn every_hazard_of_an_open_finding_is_cautioned_once_and_defers() {
    let catalogue = |key| crate::wording::english().label(key).to_owned();
    for rule in RULES.iter().filter(|rule| !rule.hazards.is_empty()) {
        let mut record = untouched();
        record.findings = vec![FindingRecord { code: rule.code, ..low_slope(Some(false)) }];
        let sheet = Sheet { record: &record, firm: &firm(), print: Print::of(&firm(), &record.client) };
        let Some(Block::Caution(Paragraph { text: told, .. })) = remedies::caution(&sheet) else {
            panic!("{} carries no caution", rule.code)
        };
        for hazard in rule.hazards {
            let key = match hazard {
                Hazard::Acid => "caution-acid",
                Hazard::Glass => "caution-glass",
                Hazard::Wiring => "caution-wiring",
                Hazard::Solutions => "caution-zobell",
                Hazard::Control => "caution-control",
            };
            assert_eq!(told.matches(&catalogue(key)).count(), 1, "{}: {told}", rule.code);
        }
        assert!(told.ends_with(&catalogue("caution-defer")), "{told}");
    }
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
