//! Places and values of changes, in words.

use super::fields::{NAMED, place, value};
use crate::document::fixtures::firm;
use crate::document::print::Print;
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
    assert_eq!(told("signatures › authorised › signed"), "Signatures, authorised, signed at");
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
