//! The assessment: opinions on what the figures point to, set apart from the results, with basis and name.

use super::Sheet;
use crate::document::Block;
use crate::document::print::{led, plain};
use crate::engine::diagnosis::{Hazard, On, Outcome};
use crate::record::{FindingRecord, RemedyRecord, Stage};
use crate::rounding::change;
use crate::wording::hazards;

/// How many findings the first part names.
const LEADING: usize = 2;

/// The leading findings in short, for the first part.
pub(super) fn in_short(sheet: &Sheet) -> Option<Block> {
    let record = sheet.record;
    let named = |finding: &FindingRecord| {
        let cause = sheet.print.words.finding_cause(record, finding);
        let titled = format!("{}.", titled(sheet, finding));
        [Some(titled), cause].into_iter().flatten().collect::<Vec<_>>().join(" ")
    };
    let leading: Vec<String> = record.findings.iter().take(LEADING).map(named).collect();
    let text = match record.findings.len().saturating_sub(LEADING) {
        0 => leading.join(" "),
        more => sheet.print.say("assessment-more", &[("named", &leading.join(" ")), ("count", &more.to_string())]),
    };
    (!text.is_empty()).then(|| Block::Paragraph(led(sheet.label("assessment-short"), text)))
}

/// Every finding with evidence, meaning and advice; whose opinion it is and on what it rests.
pub(super) fn in_full(sheet: &Sheet) -> Vec<Block> {
    let (record, print) = (sheet.record, &sheet.print);
    if record.findings.is_empty() {
        return Vec::new();
    }
    let told = |finding: &FindingRecord| {
        let said = print.words.finding(record, finding, print.sign);
        led(titled(sheet, finding), format!("{} {} {}", said.evidence, said.what, said.advice))
    };
    let open = record.findings.iter().filter(|finding| finding.resolved != Some(true));
    let mut open: Vec<Hazard> = open.flat_map(|finding| hazards(finding.code)).collect();
    open.sort_unstable();
    open.dedup();
    let basis = plain(print.say("assessment-basis", &[("name", &whose(sheet))]));
    let mut blocks = vec![sheet.heading("assessment"), Block::Paragraph(basis)];
    blocks.push(Block::List(record.findings.iter().map(told).collect()));
    let cautions = print.words.cautions(&open);
    blocks.extend(cautions.map(|text| Block::Caution(led(print.label("caution"), text))));
    blocks
}

/// Whose opinion it is: who authorised, else who performed, else the firm.
fn whose(sheet: &Sheet) -> String {
    let signatures = &sheet.record.visit.signatures;
    let signed = |role: &str| signatures.iter().find(|signature| signature.role == role);
    let by = sheet.record.measuring_loop.by.clone();
    let authorised = signed("authorised").map(|signature| signature.name.clone());
    let performed = signed("performed").map(|signature| signature.name.clone());
    authorised.or(by).or(performed).unwrap_or_else(|| super::author(&sheet.print, sheet.firm))
}

/// `Low slope and moved offset (resolved)`.
fn titled(sheet: &Sheet, finding: &FindingRecord) -> String {
    let state = match (finding.stage, finding.resolved) {
        (Stage::AsLeft, _) => "finding-as-left",
        (Stage::AsFound, Some(true)) => "finding-gone",
        (Stage::AsFound, Some(false)) => "finding-open",
        (Stage::AsFound, None) => "finding-unknown",
    };
    let title = sheet.print.words.finding_title(finding.code);
    sheet.print.say("finding-titled", &[("title", title), ("state", &sheet.label(state))])
}

/// What a remedy did, in a few words: `worked: +12.3 %`, `no effect`, `does not act on the slope`.
pub(super) fn effect(sheet: &Sheet, remedy: &RemedyRecord) -> Option<String> {
    let (print, effect) = (&sheet.print, remedy.effect?);
    let (word, unit, decimals) = match effect.on {
        On::Slope => ("slope", "%", 1),
        On::Offset => ("offset", "mV", 1),
        On::Response => ("response", "s", 0),
        On::Error => ("error", "mV", 0),
    };
    let change = print.signed(change(effect.before, effect.after, decimals), decimals, unit);
    let on = print.word("effect-on", word);
    let key = match effect.outcome {
        Outcome::Worked => "effect-worked",
        Outcome::Helped => "effect-helped",
        Outcome::NoEffect => "effect-none",
        Outcome::Worse => "effect-worse",
        Outcome::DoesNotAct => "effect-does-not-act",
    };
    let said = print.say(key, &[("on", &on), ("change", &change)]);
    Some(match effect.together_with {
        0 => said,
        1 => print.say("effect-with-one", &[("effect", &said)]),
        count => print.say("effect-with-several", &[("effect", &said), ("count", &count.to_string())]),
    })
}

#[cfg(test)]
mod tests {
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
        let Block::Paragraph(Paragraph { text, .. }) = section(&document)[0] else { panic!("the basis comes first") };
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
}
