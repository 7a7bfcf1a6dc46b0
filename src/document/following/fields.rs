//! Where in a file a value stands and what it is, in words: `As found, reading 2, potential (mV)`.

use super::super::print::Print;
use crate::rounding::{prose, typed};

/// Keys that say nothing beside what follows them.
const SILENT: [&str; 3] = ["visit", "loops", "checks"];

/// Keys whose entries have names of their own.
pub(super) const NAMED: [&str; 5] = ["loops", "standards", "instruments", "sites", "people"];

/// Keys whose values are texts although they may look like numbers.
const TEXTS: [&str; 15] = [
    "number",
    "order",
    "revision",
    "tag",
    "serial",
    "lot",
    "certificate",
    "model",
    "make",
    "maker",
    "name",
    "note",
    "reason",
    "remarks",
    "code",
];

/// A place as written in a file, in the words of the document: keys by their words, entries of lists by number or name. The
/// loop `of` that a certificate is about is not named. As written where a key has no word.
pub(super) fn place(print: &Print, field: &str, of: Option<&str>) -> String {
    let steps: Vec<&str> = field.split('›').map(str::trim).filter(|step| !step.is_empty()).collect();
    let told = in_words(print, &steps, of).map(|parts| parts.join(", ")).filter(|text| !text.is_empty());
    match told {
        Some(told) => capital(&told),
        None => field.to_owned(),
    }
}

fn in_words(print: &Print, steps: &[&str], of: Option<&str>) -> Option<Vec<String>> {
    let mut parts: Vec<String> = Vec::new();
    let mut key = "";
    for step in steps {
        let is_number = step.bytes().all(|byte| byte.is_ascii_digit());
        let entry = print.words.word_if("entry", key);
        match (entry, is_number) {
            (Some(entry), _) if is_number || NAMED.contains(&key) => {
                // The entry says of what list it is.
                if !SILENT.contains(&key) {
                    parts.pop();
                }
                if key != "loops" || of != Some(*step) {
                    parts.push(format!("{entry}\u{a0}{step}"));
                }
                key = "";
                continue;
            }
            (_, true) if ["as_found", "as_left"].contains(&key) => {
                parts.push(format!("{}\u{a0}{step}", print.words.word_if("entry", "readings")?));
            }
            (_, true) => match parts.last_mut() {
                Some(last) => *last = format!("{last}\u{a0}{step}"),
                None => return None,
            },
            (_, false) if is_private(step) => parts.push((*step).to_owned()),
            (_, false) => {
                // Signatures are told apart by their role.
                let role = print.words.word_if("role", step).filter(|_| key == "signatures");
                let word = role.or(print.words.word_if("field", step))?;
                if !SILENT.contains(step) {
                    parts.push(word.to_owned());
                }
            }
        }
        key = step;
    }
    Some(parts)
}

/// Whether a key is one of a person's own, which begin with x and a dash.
fn is_private(key: &str) -> bool {
    key.strip_prefix('x').is_some_and(|rest| rest.starts_with('-'))
}

fn capital(text: &str) -> String {
    let mut characters = text.chars();
    match characters.next() {
        Some(first) if !text.starts_with("pH") && !is_private(text) => first.to_uppercase().chain(characters).collect(),
        Some(_) | None => text.to_owned(),
    }
}

/// A value as typed, as the document writes it: numbers with its decimal sign, dates and words of the files in its language.
pub(super) fn value(print: &Print, field: &str, written: &str) -> String {
    let key = field.rsplit('›').map(str::trim).find(|step| !step.bytes().all(|byte| byte.is_ascii_digit()));
    let key = key.unwrap_or_default();
    let text = written.trim();
    let group = match key {
        "outcome" => Some("outcome-short"),
        "remedy" => Some("remedy"),
        "role" => Some("role"),
        "requirements" => Some("regime"),
        "compensation" => Some("compensation"),
        "output" => Some("output"),
        "old_probe" => Some("old-probe"),
        "adjusted" | "simulated" => Some("answer"),
        _ => None,
    };
    if let Some(word) = group.and_then(|group| print.words.word_if(group, text)) {
        return word.to_owned();
    }
    if TEXTS.contains(&key) || is_private(key) {
        return prose(text);
    }
    match is_number(text) {
        true => typed(text, print.sign),
        false => match print.moment(text) {
            moment if moment == text => prose(text),
            // In a narrow column day, clock and offset may stand below each other.
            moment => moment.replace('\u{a0}', " "),
        },
    }
}

/// Whether a text is a number, with or without a unit of a few letters.
fn is_number(text: &str) -> bool {
    let body = text.trim_start_matches(['-', '−', '+']);
    let digits: String = body.chars().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
    let unit = body[digits.len()..].trim_start();
    let is_unit = unit.chars().count() <= 7
        && !unit.contains([' ', ',', ':', '-', '.'])
        && !unit.contains(|c: char| c.is_ascii_digit());
    digits.starts_with(|c: char| c.is_ascii_digit()) && digits.matches('.').count() <= 1 && is_unit
}
