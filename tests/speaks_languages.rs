//! Every example in every language: no English left, numbers and dates in the form of the language, no text of the catalogue
//! unfilled, a glyph for every character. What people typed stays as they typed it.

use halfcell::client::LANGUAGES;
use halfcell::document::{self, Block, Document, Paragraph, Row, Shape};
use halfcell::paint::Paintable;
use halfcell::record::{CertificateFacts, Record};
use halfcell::requirements::{Reviewed, review_among, weigh};
use halfcell::rounding::DecimalSign;
use halfcell::visit::{Given, open};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::LazyLock;

/// Every example as issued, among the others.
static REVIEWED: LazyLock<Vec<Reviewed>> = LazyLock::new(|| {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/visits");
    let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    let weighed: Vec<_> = paths.iter().map(|path| weigh(open(path, &Given::default()))).collect();
    let points: Vec<_> = weighed.iter().flat_map(|weighed| weighed.points().unwrap()).collect();
    let points: Vec<_> = points.iter().collect();
    let mut reviewed: Vec<Reviewed> = weighed.into_iter().map(|weighed| review_among(weighed, &points)).collect();
    for record in reviewed.iter_mut().flat_map(|one| &mut one.records) {
        record.certificate.number = Some(format!("{}-{}", record.visit.number, record.tag));
        record.certificate.issued = Some("2026-10-07 09:00 +01:00".to_owned());
        record.certificate.registered = Some("0123456789abcdef".repeat(4));
    }
    assert!(reviewed.iter().map(|one| one.records.len()).sum::<usize>() > 20);
    reviewed
});

/// Every certificate and summary in a language, with the records they say.
fn documents(tag: &str) -> Vec<(Document, Vec<Record>)> {
    let mut all = Vec::new();
    for Reviewed { records, firm, .. } in REVIEWED.iter() {
        let firm = halfcell::firm::Firm { decimal_sign: None, ..firm.clone() };
        let mut records = records.clone();
        records.iter_mut().for_each(|record| record.client.language = Some(tag.to_owned()));
        all.extend(records.iter().map(|record| (document::certificate(record, &firm), vec![record.clone()])));
        let own = records.first().map(|record| record.certificate.clone()).unwrap_or_default();
        let own = CertificateFacts { number: None, ..own };
        all.extend(document::summary(&records, &firm, &own).map(|summary| (summary, records.clone())));
    }
    all
}

/// Everything that is painted or read aloud, in reading order.
fn texts(document: &Document) -> Vec<String> {
    let mut out = vec![document.title.clone(), document.subtitle.clone(), document.running.issued.clone()];
    out.push(document.running.page.clone());
    out.extend(document.running.draft.iter().chain(&document.running.footer_right).cloned());
    for part in &document.parts {
        out.push(part.name.clone());
        part.blocks.iter().for_each(|block| of_block(block, &mut out));
    }
    out
}

fn of_block(block: &Block, out: &mut Vec<String>) {
    let paragraph = |one: &Paragraph| one.lead.iter().cloned().chain([one.text.clone()]).collect::<Vec<_>>();
    match block {
        Block::Columns(columns) => columns.iter().flat_map(|it| &it.blocks).for_each(|block| of_block(block, out)),
        Block::Heading(text) | Block::EndMark(text) => out.push(text.clone()),
        Block::Facts(facts) => facts.iter().for_each(|fact| {
            out.push(fact.label.clone());
            out.extend(fact.value.iter().cloned());
        }),
        Block::Verdict(verdict) => out.extend([&verdict.title].into_iter().chain(&verdict.lines).cloned()),
        Block::Figure(figure) => {
            out.push(figure.alt.clone());
            out.extend(figure.shapes.iter().filter_map(|shape| match shape {
                Shape::Label { text, .. } => Some(text.clone()),
                _ => None,
            }));
        }
        Block::Table(table) => {
            out.push(table.caption.clone());
            out.extend(table.columns.iter().map(|column| column.head.clone()));
            for row in &table.rows {
                match row {
                    Row::Group(group) => out.extend(paragraph(group)),
                    Row::Cells(cells) => out.extend(cells.iter().map(|cell| cell.text.clone())),
                }
            }
        }
        Block::Paragraph(one) | Block::Caution(one) => out.extend(paragraph(one)),
        Block::List(list) => list.iter().for_each(|one| out.extend(paragraph(one))),
        Block::Signatures(signatures) => signatures.iter().for_each(|signature| out.push(signature.meaning.clone())),
        _ => {}
    }
}

/// The catalogues of a language as they stand in the templates.
fn catalogue(tag: &str) -> BTreeMap<String, String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/wording");
    let mut all = BTreeMap::new();
    for part in ["", "findings-", "deviations-"] {
        let text = std::fs::read_to_string(folder.join(format!("{part}{tag}.yaml"))).unwrap();
        let texts: BTreeMap<String, String> = serde_yaml::from_str(&text).unwrap();
        all.extend(texts.into_iter().map(|(key, text)| (format!("{part}{key}"), text)));
    }
    all
}

/// What stands between the placeholders of a sentence.
fn fragments(sentence: &str) -> Vec<String> {
    let mut parts = vec![sentence.split("{{").next().unwrap().to_owned()];
    parts.extend(sentence.split("}}").skip(1).map(|part| part.split("{{").next().unwrap().to_owned()));
    parts
}

/// What people typed, anywhere in the records: words that may be in any language, digits that may hold a point.
fn typed(records: &[Record]) -> String {
    const TYPED: &str = "name address contact revision note remarks reason solution shows file condition conditions \
        qualification method order number location tag serial lot certificate make model maker program basis \
        approved_by with not_obtained by agreed_by excluded temperature_assumed";
    fn walk(key: &str, value: &serde_json::Value, out: &mut String) {
        match value {
            serde_json::Value::String(text) if TYPED.split(' ').any(|typed| typed == key) => {
                out.push_str(text);
                out.push('\n');
            }
            serde_json::Value::Array(list) => list.iter().for_each(|one| walk(key, one, out)),
            serde_json::Value::Object(map) => map.iter().for_each(|(key, one)| walk(key, one, out)),
            _ => {}
        }
    }
    let mut out = String::new();
    records.iter().for_each(|record| walk("", &serde_json::to_value(record).unwrap(), &mut out));
    out
}

#[test]
fn no_english_is_left_in_another_language() {
    let english = catalogue("en");
    for (_, tag) in LANGUAGES.iter().skip(1) {
        let own = catalogue(tag);
        let differs = |key: &String| own[key] != english[key];
        let labels = english.iter().filter(|(key, text)| !text.contains("{{") && differs(key));
        let labels: BTreeSet<&str> = labels.map(|(_, text)| text.as_str()).collect();
        // Long enough to be a phrase of its own; the language itself may share shorter ones.
        let all_own = own.values().cloned().collect::<Vec<_>>().join("\n");
        let parts: BTreeSet<String> =
            english.iter().filter(|(key, _)| differs(key)).flat_map(|(_, text)| fragments(text)).collect();
        let phrases: Vec<String> =
            parts.into_iter().filter(|part| part.trim().len() >= 8 && !all_own.contains(part.trim())).collect();
        assert!(labels.len() > 300 && phrases.len() > 400, "{} labels, {} phrases", labels.len(), phrases.len());
        let mut seen = BTreeSet::new();
        for (document, records) in documents(tag) {
            assert_eq!(document.language, *tag);
            let typed = typed(&records);
            for text in texts(&document) {
                if !seen.insert(text.clone()) {
                    continue;
                }
                let bare = text.trim_end_matches([':', '.', '\u{a0}']);
                let is_left = labels.contains(text.as_str()) || labels.contains(bare);
                assert!(!is_left || typed.contains(bare), "{tag} {}: «{text}»", document.number);
                let phrase =
                    phrases.iter().find(|phrase| text.contains(phrase.trim()) && !typed.contains(phrase.trim()));
                assert_eq!(phrase, None, "{tag} {}: {text}", document.number);
            }
        }
        assert!(seen.len() > 1000, "{}", seen.len());
    }
}

/// Words of a text with its digits, without the marks around them.
fn words(text: &str) -> impl Iterator<Item = &str> {
    let words = text.split(|c: char| c.is_whitespace() || c == '…');
    words.map(|word| word.trim_matches(|c: char| !c.is_alphanumeric()))
}

/// Whether a mark stands between two digits.
fn divides_digits(word: &str, mark: char) -> bool {
    let characters: Vec<char> = word.chars().collect();
    let parts = |three: &[char]| three[0].is_ascii_digit() && three[1] == mark && three[2].is_ascii_digit();
    characters.windows(3).any(parts)
}

/// `12.05.2026` or `05.2026`.
fn is_german_date(word: &str) -> bool {
    let parts: Vec<usize> = word.split('.').map(str::len).collect();
    [vec![2, 2, 4], vec![2, 4]].contains(&parts) && word.chars().all(|c| c.is_ascii_digit() || c == '.')
}

#[test]
fn numbers_have_the_decimal_sign_of_the_language_throughout() {
    // Names of standards and rules.
    const REFERENCES: [&str; 2] = ["122.41(j)(2", "7.00"];
    for (_, tag) in LANGUAGES {
        let (sign, other) = if *tag == "en" { ('.', ',') } else { (',', '.') };
        let mut seen = 0;
        for (document, records) in documents(tag) {
            let typed = typed(&records);
            for text in texts(&document) {
                for word in words(&text) {
                    seen += usize::from(divides_digits(word, sign));
                    let allowed =
                        typed.contains(word) || REFERENCES.contains(&word) || (*tag == "de" && is_german_date(word));
                    assert!(!divides_digits(word, other) || allowed, "{tag} {}: «{word}» in {text}", document.number);
                }
            }
        }
        assert!(seen > 2000, "{tag}: {seen}");
    }
}

#[test]
fn the_firm_may_choose_another_decimal_sign() {
    let Reviewed { records, firm, .. } = &REVIEWED[0];
    let firm = halfcell::firm::Firm { decimal_sign: Some(DecimalSign::Point), ..firm.clone() };
    let mut record = records[0].clone();
    record.client.language = Some("de".to_owned());
    let texts = texts(&document::certificate(&record, &firm));
    assert!(texts.iter().flat_map(|text| words(text)).all(|word| !divides_digits(word, ',')));
    assert!(texts.iter().any(|text| text.contains("Steilheit")));
}

#[test]
fn the_clients_language_beats_the_firms() {
    let Reviewed { records, firm, .. } = &REVIEWED[0];
    let place = firm.name.as_ref().unwrap().place.clone();
    let french = halfcell::yaml::Text { text: "French".to_owned(), place };
    let firm = halfcell::firm::Firm { language: Some(french), ..firm.clone() };
    let mut record = records[0].clone();
    for (client, expected) in [(Some("es"), "es"), (None, "fr"), (Some("en"), "en")] {
        record.client.language = client.map(str::to_owned);
        assert_eq!(document::certificate(&record, &firm).language, expected);
    }
}

#[test]
fn dates_have_the_form_of_the_language() {
    for (_, tag) in LANGUAGES {
        let mut seen = 0;
        for (document, records) in documents(tag) {
            let files: Vec<&str> = records.iter().flat_map(|r| &r.sources).map(|source| source.name.as_str()).collect();
            for text in texts(&document) {
                let form = match *tag {
                    "en" => text.contains("2026-10-07"),
                    "de" => text.contains("07.10.2026"),
                    "fr" => text.contains("7\u{a0}oct.\u{a0}2026"),
                    _ => text.contains("7\u{a0}oct\u{a0}2026"),
                };
                seen += usize::from(form);
                let iso = |word: &&str| {
                    let bytes = word.as_bytes();
                    bytes.len() >= 7
                        && bytes[4] == b'-'
                        && word[..4].bytes().chain(word[5..7].bytes()).all(|b| b.is_ascii_digit())
                };
                let shape = |word: &str| files.iter().any(|file| file.contains(word)) || word.starts_with("HM-");
                let found = words(&text).filter(|word| word.is_ascii()).find(iso);
                assert!(*tag == "en" || found.is_none_or(shape), "{tag} {}: {text}", document.number);
            }
        }
        assert!(seen > REVIEWED.len(), "{tag}: {seen}");
    }
}

#[test]
fn nothing_is_left_open_and_every_character_has_a_glyph() {
    for (_, tag) in LANGUAGES {
        for (document, _) in documents(tag) {
            let number = document.number.clone();
            let page = document.running.page.clone();
            assert!(page.contains("{n}") && page.contains("{m}"), "{tag}: {page}");
            for text in texts(&document).into_iter().filter(|text| *text != page) {
                assert!(!text.contains(['{', '}']), "{tag} {number}: {text}");
            }
            assert_eq!(Paintable::new(document).missing(), [], "{tag} {number}");
        }
    }
}

#[test]
fn languages_differ_in_words_only() {
    let shape = |document: &Document| {
        let mut blocks = Vec::new();
        fn walk(all: &[Block], out: &mut Vec<String>) {
            for block in all {
                match block {
                    Block::Columns(columns) => columns.iter().for_each(|column| walk(&column.blocks, out)),
                    // Readings stand in one table or in two side by side, as the length of the words allows: rows count.
                    Block::Table(table) => {
                        out.extend(table.rows.iter().map(|_| format!("row of {}", table.columns.len())));
                    }
                    Block::List(list) => out.push(format!("list {}", list.len())),
                    Block::Facts(facts) => out.push(format!("facts {}", facts.len())),
                    _ => out.push("block".to_owned()),
                }
            }
        }
        document.parts.iter().for_each(|part| walk(&part.blocks, &mut blocks));
        blocks.sort();
        blocks
    };
    let english: Vec<_> = documents("en").iter().map(|(document, _)| shape(document)).collect();
    for (_, tag) in LANGUAGES.iter().skip(1) {
        let own: Vec<_> = documents(tag).iter().map(|(document, _)| shape(document)).collect();
        assert_eq!(own, english, "{tag}");
    }
}
