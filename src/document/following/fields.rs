//! Where in a file a value stands and what it is, in words: `As found, reading 2, potential (mV)`.

use super::super::print::Print;
use crate::rounding::{prose, typed};

/// Keys that say nothing beside what follows them.
const SILENT: [&str; 3] = ["visit", "loops", "checks"];

/// Keys whose entries have names of their own.
const NAMED: [&str; 5] = ["loops", "standards", "instruments", "sites", "people"];

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
            (_, false) if step.starts_with("x-") => parts.push((*step).to_owned()),
            (_, false) => {
                let word = print.words.word_if("field", step)?;
                if !SILENT.contains(step) {
                    parts.push(word.to_owned());
                }
            }
        }
        key = step;
    }
    Some(parts)
}

fn capital(text: &str) -> String {
    let mut characters = text.chars();
    match characters.next() {
        Some(first) if !text.starts_with("pH") && !text.starts_with("x-") => {
            first.to_uppercase().chain(characters).collect()
        }
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
    if TEXTS.contains(&key) || key.starts_with("x-") {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::fixtures::firm;
    use crate::firm::Firm;
    use crate::record::ClientFacts;

    fn print(language: &str) -> Print {
        let client = ClientFacts { language: Some(language.into()), ..ClientFacts::default() };
        Print::of(&Firm { decimal_sign: None, ..firm() }, &client)
    }

    #[test]
    fn a_place_is_told_in_words() {
        let told = |field: &str| place(&print("en"), field, Some("AT-118")).replace('\u{a0}', " ");
        assert_eq!(told("loops › AT-118 › as_found › 2 › mv"), "As found, reading 2, potential (mV)");
        assert_eq!(told("loops › AT-118 › as_left › readings › 2 › shown"), "As left, reading 2, shown");
        assert_eq!(told("loops › AT-119 › outcome"), "Loop AT-119, outcome");
        assert_eq!(told("loops › AT-118 › remedies › 1 › readings › 3 › in"), "Remedy 1, reading 3, standard");
        assert_eq!(told("loops › AT-118 › range › 2"), "Range 2");
        assert_eq!(told("standards › B7 › lot"), "Standard B7, lot");
        assert_eq!(told("standards › 7 › lot"), "Standard 7, lot");
        assert_eq!(told("people › N. Tamberlow › qualification"), "Person N. Tamberlow, qualification");
        assert_eq!(told("visit › x-job"), "x-job");
        assert_eq!(told("loops › AT-118 › nowhere › mv"), "loops › AT-118 › nowhere › mv");
        assert_eq!(told("loops"), "loops");
    }

    #[test]
    fn values_are_written_as_the_document_writes_them() {
        let german = |field: &str, text: &str| value(&print("de"), field, text).replace('\u{a0}', " ");
        assert_eq!(german("as_found › 2 › mv", "-21.60 mV"), "−21,60 mV");
        assert_eq!(german("procedure › revision", "1.10"), "1.10");
        assert_eq!(german("x-job", "1.10"), "1.10");
        assert_eq!(german("visit › started", "2026-05-12T09:05+02:00"), "12.05.2026 09:05 +02:00");
        assert_eq!(german("standards › B7 › expires", "2027-03"), "03.2027");
        assert_eq!(german("loops › A › adjusted", "yes"), "ja");
        assert_eq!(german("loops › A › outcome", "condemned"), print("de").word("outcome-short", "condemned"));
        assert_eq!(german("loops › A › remarks", "1.5 times, then 2.5"), "1.5 times, then 2.5");
        assert_eq!(german("loops › A › as_found › 1", "{in: B7, mv: 1.5}"), "{in: B7, mv: 1.5}");
    }

    /// Every key of the files that README lists has its word, or is the name of something.
    #[test]
    fn every_key_of_the_files_has_its_word() {
        fn walk(value: &serde_yaml::Value, named: bool, keys: &mut Vec<String>) {
            match value {
                serde_yaml::Value::Mapping(entries) => {
                    for (key, value) in entries {
                        let key = key.as_str().unwrap_or_default();
                        if !named {
                            keys.push(key.to_owned());
                        }
                        walk(value, !named && NAMED.contains(&key) && value.is_mapping(), keys);
                    }
                }
                serde_yaml::Value::Sequence(list) => list.iter().for_each(|value| walk(value, false, keys)),
                _ => {}
            }
        }
        let readme = include_str!("../../../README.md");
        let mut keys = Vec::new();
        for listing in readme.split("```yaml\n").skip(1) {
            let text = listing.split("```").next().unwrap_or_default();
            walk(&serde_yaml::from_str(text).unwrap(), false, &mut keys);
        }
        assert!(keys.len() > 200, "{} keys", keys.len());
        for key in keys.iter().filter(|key| !key.starts_with("x-")) {
            assert!(print("en").words.word_if("field", key).is_some(), "«{key}» has no word");
        }
    }
}
