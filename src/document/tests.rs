//! What every document of this room keeps to.

use super::fixtures::{self, all, comma, criterion, firm};
use super::*;
use crate::record::{CertificateFacts, KeepFacts, OutcomeWord, Record, Stage, StandardisedFacts, Verdict};
use crate::rounding::typed;

/// Moment of issue of a summary.
fn summary_facts() -> CertificateFacts {
    CertificateFacts { issued: Some("2026-05-13T08:15+02:00".into()), ..CertificateFacts::default() }
}

/// Every document of the fixtures, with the record it is of.
fn documents() -> Vec<(Record, Document)> {
    let compose = |record: Record| (record.clone(), certificate(&record, &firm()));
    all().into_iter().map(compose).collect()
}

/// Every text of a document.
fn texts(document: &Document) -> Vec<String> {
    let mut out = vec![document.title.clone(), document.subtitle.clone(), document.number.clone()];
    out.extend(document.running.draft.clone());
    out.extend(document.running.footer_left.clone());
    out.extend(document.running.footer_right.clone());
    for part in &document.parts {
        part.blocks.iter().for_each(|block| collect(block, &mut out));
    }
    out
}

fn paragraph(paragraph: &Paragraph, out: &mut Vec<String>) {
    out.extend(paragraph.lead.clone());
    out.push(paragraph.text.clone());
}

fn collect(block: &Block, out: &mut Vec<String>) {
    match block {
        Block::Columns(columns) => {
            let blocks = columns.iter().flat_map(|column| &column.blocks);
            blocks.for_each(|block| collect(block, out));
        }
        Block::Heading(text) | Block::EndMark(text) => out.push(text.clone()),
        Block::Facts(facts) => facts.iter().for_each(|fact| {
            out.push(fact.label.clone());
            out.extend(fact.value.clone());
        }),
        Block::Verdict(verdict) => {
            out.push(verdict.title.clone());
            out.extend(verdict.lines.clone());
        }
        Block::Figure(figure) => {
            out.push(figure.alt.clone());
            out.extend(labels(figure).map(|(text, _)| text));
        }
        Block::Table(table) => {
            out.extend(table.columns.iter().map(|column| column.head.clone()));
            table.rows.iter().for_each(|row| match row {
                Row::Group(group) => paragraph(group, out),
                Row::Cells(cells) => out.extend(cells.iter().map(|cell| cell.text.clone())),
            });
        }
        Block::Paragraph(text) | Block::Caution(text) => paragraph(text, out),
        Block::List(list) => list.iter().for_each(|text| paragraph(text, out)),
        Block::Signatures(signatures) => signatures.iter().for_each(|signature| {
            out.extend(signature.name.clone());
            out.push(signature.meaning.clone());
        }),
        Block::Rule => {}
    }
}

fn labels(figure: &Figure) -> impl Iterator<Item = (String, Ink)> + '_ {
    figure.shapes.iter().filter_map(|shape| match shape {
        Shape::Label { text, ink, .. } => Some((text.clone(), *ink)),
        Shape::Line { .. } | Shape::Area { .. } | Shape::Circle { .. } => None,
    })
}

fn has(document: &Document, wanted: &str) -> bool {
    texts(document).iter().any(|text| text.contains(wanted))
}

#[test]
fn every_typed_reading_stands_in_the_document() {
    for (record, document) in documents() {
        let cells: Vec<String> = texts(&document);
        let left = record.as_left.iter().map(|left| &left.figures);
        let after = record.remedies.iter().filter_map(|remedy| remedy.after.as_ref());
        let figures = [&record.as_found.figures].into_iter().chain(left).chain(after);
        for reading in figures.flat_map(|figures| &figures.readings) {
            let typed_texts = [
                reading.mv_typed.clone(),
                reading.shown_typed.clone(),
                Some(reading.temperature_typed.clone()),
                reading.after_typed.clone(),
            ];
            for text in typed_texts.into_iter().flatten() {
                let text = typed(&text, crate::firm::DecimalSign::Point);
                assert!(cells.contains(&text), "{}: {text} is missing", record.tag);
            }
        }
    }
}

#[test]
fn verdicts_are_those_of_the_record() {
    for (record, document) in documents() {
        let word = |verdict: Option<Verdict>| match verdict {
            Some(Verdict::Pass) => "pass",
            Some(Verdict::ConditionalPass) => "conditional pass",
            Some(Verdict::ConditionalFail) => "conditional fail",
            Some(Verdict::Fail) => "fail",
            None => "not ",
        };
        let title = texts(&document).into_iter().find(|text| text.starts_with("As found"));
        let found = word(record.as_found.verdict);
        assert!(title.is_some_and(|title| title.contains(&format!(": {found}"))));
        if let Some(left) = &record.as_left {
            assert!(has(&document, &format!("As left: {}", word(left.verdict))));
        }
    }
}

#[test]
fn one_set_of_results_when_nothing_was_done() {
    let document = certificate(&fixtures::untouched(), &firm());
    assert!(has(&document, "Nothing was adjusted"));
    assert!(!has(&document, "As left"));
}

#[test]
fn a_loop_set_to_a_sample_is_not_left_unchanged() {
    let mut record = fixtures::untouched();
    let set = StandardisedFacts { shown: "7.31".into(), set_to: "7.26".into() };
    record.measuring_loop.standardised = Some(set);
    let document = certificate(&record, &firm());
    assert!(has(&document, "As left: not measured"));
    assert!(!has(&document, "Nothing was adjusted") && !has(&document, "unchanged"));
}

#[test]
fn what_was_not_judged_is_named_beside_the_verdict() {
    let mut record = fixtures::untouched();
    let mut sample = record.criteria[0].clone();
    (sample.name, sample.of, sample.value, sample.outcome) = ("sample", None, None, OutcomeWord::NotJudged);
    record.criteria.push(sample);
    assert!(has(&certificate(&record, &firm()), "Asked for and not judged: Sample."));
    assert!(!has(&certificate(&fixtures::untouched(), &firm()), "Asked for and not judged"));
}

#[test]
fn as_found_not_obtained_is_never_a_pass() {
    let document = certificate(&fixtures::not_obtained(), &firm());
    assert!(has(&document, "As found: not obtained"));
    assert!(has(&document, "cleaned by the operators before the visit"));
    assert!(!has(&document, "As found: pass"));
}

#[test]
fn a_failed_indication_asks_to_look_back() {
    let document = certificate(&fixtures::restored(), &firm());
    assert!(has(&document, "Last good check 2026-02-03: assess results since."));
    assert!(!has(&certificate(&fixtures::untouched(), &firm()), "Assess results"));
}

#[test]
fn deviations_are_listed_or_none_is_said() {
    let none = certificate(&fixtures::untouched(), &firm());
    assert!(texts(&none).contains(&"None.".to_owned()));
    let one = certificate(&fixtures::restored(), &firm());
    assert!(has(
        &one,
        "The sample was measured 26\u{a0}min after it was taken; 15\u{a0}min is the longest for permit reporting."
    ));
    assert!(!texts(&one).contains(&"None.".to_owned()));
}

#[test]
fn draft_until_every_required_signature_is_there() {
    assert_eq!(certificate(&fixtures::restored(), &firm()).running.draft, None);
    let draft = certificate(&fixtures::replaced(), &firm()).running.draft;
    assert_eq!(draft.as_deref(), Some("Draft: signature awaited (authorised)"));
}

#[test]
fn without_a_number_it_is_a_preview() {
    let mut record = fixtures::restored();
    record.certificate.number = None;
    let draft = certificate(&record, &firm()).running.draft;
    assert_eq!(draft.as_deref(), Some("Preview: checked, not issued"));
}

#[test]
fn accreditation_is_claimed_only_where_the_firm_gives_it() {
    for (_, document) in documents() {
        let lines = document.brand.lines.join(" ") + &texts(&document).join(" ");
        assert!(!lines.to_lowercase().contains("accredit"));
    }
}

/// Units that stand behind numbers.
const UNITS: [&str; 9] = ["°C", "%", "mV", "mA", "Ω", "MΩ", "min", "mol/L", "s"];

#[test]
fn a_unit_never_touches_its_number_nor_begins_a_line() {
    let mut documents: Vec<Document> = documents().into_iter().map(|(_, d)| d).collect();
    documents.extend(all().iter().map(|record| certificate(record, &comma())));
    documents.extend(summary(&all(), &firm(), &summary_facts()));
    for text in documents.iter().flat_map(texts) {
        for unit in UNITS {
            for (at, _) in text.match_indices(unit) {
                let ends = text[at + unit.len()..].chars().next();
                let is_unit = ends.is_none_or(|c| !c.is_alphanumeric() && c != '/');
                let mut before = text[..at].chars().rev();
                let (first, second) = (before.next(), before.next());
                let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
                assert!(!(is_unit && digit(first)), "«{text}» touches {unit}");
                let breaks = first == Some(' ') && digit(second);
                assert!(!(is_unit && breaks), "«{text}» may break before {unit}");
            }
        }
    }
}

#[test]
fn a_decimal_comma_reaches_every_number() {
    let document = certificate(&fixtures::restored(), &comma());
    for part in &document.parts {
        for block in &part.blocks {
            let Block::Table(table) = block else { continue };
            for row in &table.rows {
                let Row::Cells(cells) = row else { continue };
                let decimal = cells.iter().zip(&table.columns);
                let decimal = decimal.filter(|(_, column)| column.align == Align::Decimal);
                decimal.for_each(|(cell, _)| assert!(!cell.text.contains('.'), "{}", cell.text));
            }
        }
    }
    assert!(has(&document, "−20,6"));
    assert!(has(&document, "157,20"));
}

#[test]
fn no_placeholder_is_left_open() {
    let documents = documents().into_iter().map(|(_, document)| document);
    for document in documents.chain(summary(&all(), &firm(), &summary_facts())) {
        assert!(!has(&document, "{{") && !has(&document, "}}"));
    }
}

#[test]
fn what_people_typed_is_not_escaped() {
    let document = certificate(&fixtures::restored(), &firm());
    assert!(has(&document, "with <b>tap</b> water & a soft tissue"));
}

#[test]
fn print_never_contradicts_the_outcome() {
    // 69.96 % fails «at least 70 %» and must not print as «70.0, fail».
    let bounds = [Some(70.0), Some(80.0), None, Some(105.0)];
    let mut record = fixtures::restored();
    record.as_found.figures.slope_percent = Some(69.96);
    record.criteria = vec![criterion("slope", Stage::AsFound, None, 69.96, "%", bounds)];
    let document = certificate(&record, &firm());
    assert!(has(&document, "Slope is 69.96\u{a0}%, limit 70 to 105\u{a0}%: fail."));
    assert!(has(&document, "as found 69.96"));
    assert!(!has(&document, "70.0\u{a0}%"));
}

#[test]
fn tables_have_a_cell_for_every_column() {
    fn walk(block: &Block) {
        match block {
            Block::Columns(columns) => columns.iter().flat_map(|c| &c.blocks).for_each(walk),
            Block::Table(table) => table.rows.iter().for_each(|row| {
                if let Row::Cells(cells) = row {
                    assert_eq!(cells.len(), table.columns.len(), "{}", table.caption);
                }
            }),
            _ => {}
        }
    }
    let documents = documents().into_iter().map(|(_, document)| document);
    let parts = documents.chain(summary(&all(), &firm(), &summary_facts())).flat_map(|d| d.parts);
    parts.for_each(|part| part.blocks.iter().for_each(walk));
}

#[test]
fn the_end_mark_stands_once_and_last() {
    for (record, document) in documents() {
        let ends = texts(&document).iter().filter(|t| t.starts_with("End of record")).count();
        assert_eq!(ends, 1, "{}", record.tag);
        let last = document.parts.last().and_then(|part| part.blocks.last());
        assert!(matches!(last, Some(Block::EndMark(_))));
    }
}

#[test]
fn the_summary_has_a_row_for_every_loop() {
    let document = summary(&all(), &firm(), &summary_facts()).unwrap();
    for record in all() {
        assert!(has(&document, &record.tag));
    }
    assert!(has(&document, "Loops: 7. Failed as found: 4. Failed as left: 0. Deviations recorded: 2."));
    assert_eq!(summary(&[], &firm(), &summary_facts()), None);
}

#[test]
fn how_long_it_is_kept_is_told_with_its_rule() {
    let mut record = fixtures::restored();
    let permit = "Keep until at least 2029-05-12 (permit: 3\u{a0}years, 40\u{a0}CFR\u{a0}122.41(j)(2)).";
    assert!(has(&certificate(&record, &firm()), permit));
    assert!(has(&summary(std::slice::from_ref(&record), &firm(), &summary_facts()).unwrap(), permit));
    record.keep = Some(KeepFacts { until: "2036-05-12".into(), rule: "client".into(), span: "10 years".into() });
    let document = certificate(&record, &firm());
    assert!(has(&document, "Keep until at least 2036-05-12 (client: 10\u{a0}years). Longer where the authority asks."));
    record.keep = None;
    record.limits.requirements = "gmp".into();
    assert!(
        !has(&certificate(&record, &firm()), "Keep until") && !has(&certificate(&record, &firm()), "authority asks")
    );
}
