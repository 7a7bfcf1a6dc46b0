//! Catalogue and source name the same keys and placeholders, and nothing printed stands outside the catalogue.

use super::*;
use crate::visit::RemedyKind;
use std::collections::BTreeSet;
use std::path::Path;

mod languages;

/// Words and forms in English.
fn catalogue() -> BTreeMap<String, String> {
    let mut all: BTreeMap<String, String> = serde_yaml::from_str(CATALOGUES[0].words).unwrap();
    let forms: BTreeMap<String, String> = serde_yaml::from_str(CATALOGUES[0].forms).unwrap();
    all.extend(forms);
    all
}

/// The source of the documents, without its tests.
fn sources() -> String {
    fn walk(folder: &Path, out: &mut String) {
        let mut entries: Vec<_> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
        entries.sort();
        for path in entries {
            let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
            match path.is_dir() {
                _ if ["tests", "fixtures"].contains(&name.as_str()) => {}
                true => walk(&path, out),
                false => out.push_str(&std::fs::read_to_string(&path).unwrap()),
            }
        }
    }
    let mut out = String::new();
    walk(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src/document"), &mut out);
    let code = out.lines().filter(|line| !line.trim_start().starts_with("//"));
    code.collect::<Vec<_>>().join("\n")
}

/// Text literals of the source, with the position behind each.
fn literals(source: &str) -> Vec<(usize, String)> {
    let mut out = Vec::new();
    let bytes = source.as_bytes();
    let mut at = 0;
    while let Some(start) = source[at..].find('"').map(|i| at + i + 1) {
        let mut end = start;
        while bytes[end] != b'"' {
            end += if bytes[end] == b'\\' { 2 } else { 1 };
        }
        out.push((end + 1, source[start..end].to_owned()));
        at = end + 1;
    }
    out
}

fn placeholders(sentence: &str) -> BTreeSet<String> {
    let parts = sentence.split("{{").skip(1);
    parts.map(|part| part.split("}}").next().unwrap().to_owned()).collect()
}

/// Keys without a code, which the source names whole.
fn is_plain(key: &str) -> bool {
    !key.contains(' ')
}

#[test]
fn every_key_of_the_catalogue_is_used() {
    let source = [&sources(), include_str!("dates.rs"), include_str!("../wording.rs")].join("\n");
    let used: BTreeSet<String> = literals(&source).into_iter().map(|(_, text)| text).collect();
    for key in catalogue().keys() {
        let group = key.split(' ').next().unwrap().to_owned();
        let by_code = ["slip", "month-name"].contains(&group.as_str());
        assert!(by_code || used.contains(key) || (!is_plain(key) && used.contains(&group)), "«{key}» is used nowhere");
    }
}

#[test]
fn every_key_used_is_in_the_catalogue() {
    let (catalogue, source) = (catalogue(), sources());
    let calls = ["label(", "heading(", "say(", "fact(", "fact_if(", "sentence(sheet, ", "titled(sheet, "];
    for (end, text) in literals(&source) {
        let before = &source[..end - text.len() - 2];
        let is_named = calls.iter().any(|call| before.trim_end().ends_with(call.trim_end()));
        let is_keylike =
            text.contains('-') && text.chars().all(|c| c.is_ascii_lowercase() || c == '-' || c.is_ascii_digit());
        let is_key =
            (is_named && !text.is_empty()) || (is_keylike && text.starts_with(|c: char| c.is_ascii_lowercase()));
        let is_group = catalogue.keys().any(|key| key.starts_with(&format!("{text} ")));
        assert!(!is_key || is_group || catalogue.contains_key(&text), "«{text}» is not in the catalogue");
    }
}

#[test]
fn every_placeholder_is_filled_by_name() {
    let (catalogue, source) = (catalogue(), sources());
    let mut filled = BTreeSet::new();
    for (end, key) in literals(&source) {
        let call = source[end..].trim_start();
        if !source[..end - key.len() - 2].trim_end().ends_with("say(") {
            continue;
        }
        let Some(list) = call.strip_prefix(',').map(str::trim_start).and_then(|c| c.strip_prefix("&[")) else {
            continue;
        };
        let Some(sentence) = catalogue.get(&key) else {
            continue;
        };
        // Each pair begins with `("name",`: names are the literals that follow an opening bracket at depth one.
        let (mut depth, mut names, mut opened) = (1, BTreeSet::new(), false);
        let mut rest = list.char_indices();
        while let Some((at, c)) = rest.next() {
            match c {
                '(' if depth == 1 => (depth, opened) = (2, true),
                '(' | '[' => depth += 1,
                ')' | ']' => depth -= 1,
                '"' => {
                    let text: String = list[at + 1..].chars().take_while(|c| *c != '"').collect();
                    (0..=text.chars().count()).for_each(|_| {
                        rest.next();
                    });
                    if opened {
                        names.insert(text);
                    }
                    opened = false;
                }
                _ => {}
            }
            if depth == 0 {
                break;
            }
        }
        if !names.is_empty() {
            assert_eq!(names, placeholders(sentence), "«{key}»");
            filled.insert(key);
        }
    }
    assert!(filled.len() > 20, "the scan found {} sentences", filled.len());
    // The rest is filled through closures that know one name.
    let single = [BTreeSet::from(["value".to_owned()]), BTreeSet::from(["text".to_owned()])];
    for (key, sentence) in catalogue {
        let open = placeholders(&sentence);
        let is_known = open.is_empty() || filled.contains(&key) || single.contains(&open);
        let by_variable = [
            "scale-error",
            "scale-error-left",
            "loop-ph",
            "loop-redox",
            "uncertainty",
            "uncertainty-assumed",
            "moment",
        ];
        let by_code = key.starts_with("slip ") || ["day", "month"].contains(&key.as_str());
        let of_effect = open.is_subset(&BTreeSet::from(["on".to_owned(), "change".to_owned()]));
        assert!(is_known || by_code || of_effect || by_variable.contains(&key.as_str()), "«{key}» is filled nowhere");
    }
}

#[test]
fn nothing_printed_stands_outside_the_catalogue() {
    let catalogue = catalogue();
    let codes: Vec<&str> = catalogue.keys().filter_map(|key| key.split_once(' ')).map(|(_, code)| code).collect();
    let source = sources();
    for (end, text) in literals(&source) {
        // The reason why it holds is printed nowhere.
        if source[..end - text.len() - 2].ends_with("expect(") {
            continue;
        }
        let words = text.split(['{', '}', ' ', ',']).filter(|w| w.len() > 2 && w.chars().all(char::is_alphabetic));
        let is_prose = text.contains(' ') && !text.contains('{') && words.count() > 0;
        let is_known = catalogue.contains_key(&text) || codes.contains(&text.as_str());
        assert!(!is_prose || is_known, "«{text}» belongs in the catalogue");
    }
}

#[test]
fn every_code_of_the_record_has_its_word() {
    let groups: [(&str, &[&str]); 12] = [
        ("output", &["4-20 mA", "20-4 mA"]),
        ("compensation", &["automatic", "manual", "solution"]),
        ("outcome", &["returned to service", "left out of service", "condemned"]),
        ("outcome-short", &["returned to service", "left out of service", "condemned"]),
        ("old-probe", &["condemned", "kept", "returned"]),
        ("regime", &["plain", "permit", "gmp", "laboratory"]),
        ("decision", &["simple", "guarded"]),
        ("measures", &["temperature", "potential", "current", "resistance", "pH"]),
        ("role", &["performed", "reviewed", "authorised", "received"]),
        ("untold", &["too-few-points", "too-short", "begun-late", "still-changing", "noisy", "no-approach"]),
        ("fault", &["fault low", "fault high", "saturated low", "saturated high"]),
        (
            "value",
            &[
                "published equation",
                "published equation shifted to the lot",
                "bottle's table",
                "bottle's value",
                "theory",
            ],
        ),
    ];
    for (group, codes) in groups {
        for code in codes {
            assert!(catalogue().contains_key(&format!("{group} {code}")), "«{group} {code}»");
        }
    }
    let criteria = [
        "slope",
        "offset",
        "as_found_error",
        "as_left_error",
        "gain",
        "check_standard",
        "temperature",
        "output",
        "sample",
        "settling",
        "junction_age",
    ];
    for name in criteria {
        assert!(catalogue().contains_key(&format!("criterion {name}")), "«{name}»");
    }
    assert_eq!(RemedyKind::Other as usize + 1, catalogue().keys().filter(|k| k.starts_with("remedy ")).count());
}

#[test]
fn a_text_that_is_no_code_stays_as_it_is() {
    assert_eq!(english().word("standard", "Bottle <7>"), "Bottle <7>");
    assert_eq!(english().word("standard", "zobell"), "ZoBell’s solution");
}

#[test]
fn sentences_are_filled_and_nothing_is_escaped() {
    let said = english().say("revision", &[("revision", "<1.10> & “b”")]);
    assert_eq!(said, "revision\u{a0}<1.10> & “b”");
}

#[test]
#[should_panic(expected = "revision")]
fn an_open_placeholder_is_refused() {
    english().say("revision", &[]);
}

/// Codes of problems that stand in the source as warning or as an error that may be accepted, with the functions they
/// stand in.
fn deviations_of_source() -> BTreeMap<String, String> {
    let call = |severity: &str| format!("Problem::{severity}(");
    let mut files = String::new();
    whole_source(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut files);
    let mut codes: BTreeMap<String, String> = BTreeMap::new();
    for function in files.split("\n}\n") {
        let named = || function.split("let code = \"").skip(1).map(|rest| rest.split('"').next().unwrap().to_owned());
        let codes_of = |call: &str| {
            let first = call.trim_start().split([',', '\n']).next().unwrap().trim();
            match first.strip_prefix('"') {
                Some(literal) => vec![literal.trim_end_matches('"').to_owned()],
                None if first == "code" => named().collect(),
                None => panic!("the code of a warning is written where it is made: {first}"),
            }
        };
        let mut found: Vec<String> = function.split(&call("warning")).skip(1).flat_map(codes_of).collect();
        for (end, _) in function.match_indices(".acceptable()") {
            let call = function[..end].rsplit_once(&call("error")).expect("the error stands before").1;
            found.extend(codes_of(call));
        }
        found.into_iter().for_each(|code| codes.entry(code).or_default().push_str(function));
    }
    codes
}

/// Every file of the program, without its tests and without what makes problems itself.
fn whole_source(folder: &Path, out: &mut String) {
    for path in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        match path.is_dir() {
            true => whole_source(&path, out),
            false if ["problem", "tests"].contains(&name.as_str()) => {}
            false => {
                let text = std::fs::read_to_string(&path).unwrap();
                let code = text.split("#[cfg(test)]").next().unwrap().lines();
                code.filter(|line| !line.trim_start().starts_with("//")).for_each(|line| {
                    out.push_str(line);
                    out.push('\n');
                });
            }
        }
    }
}

/// What is told of a batch and never stands on a record.
const NEVER_A_DEVIATION: [&str; 3] = ["accent-contrast", "numbering-without-visit", "technician-at-two-places"];

#[test]
fn whatever_may_be_a_deviation_has_its_sentences() {
    let sentences: BTreeMap<String, String> = serde_yaml::from_str(CATALOGUES[0].deviations).unwrap();
    let own = include_str!("../record/deviations.rs");
    let mut codes = deviations_of_source();
    for code in ["check-not-done", "temperature-assumed", "reading-excluded", "no-instruments-listed"] {
        assert!(own.contains(&format!("\"{code}\"")), "{code}");
        codes.insert(code.to_owned(), own.to_owned());
    }
    assert!(codes.len() > 60, "the scan found {} codes", codes.len());
    assert!(NEVER_A_DEVIATION.iter().all(|code| codes.remove(*code).is_some()));
    for code in codes.keys() {
        let has = sentences.keys().any(|key| key.split(' ').next() == Some(code));
        assert!(has, "a deviation `{code}` has no sentence");
    }
    for (key, sentence) in sentences.iter().filter(|(key, _)| !key.starts_with("stage-")) {
        let (code, case) = key.split_once(' ').unwrap_or((key, "each"));
        let source = codes.get(code).unwrap_or_else(|| panic!("«{key}» is used nowhere"));
        assert!(case == "each" || source.contains(&format!("\"{case}\"")), "«{key}»: no such case");
        for name in placeholders(sentence) {
            assert!(name == "slips" || source.contains(&format!("(\"{name}\", ")), "«{key}»: nothing fills {name}");
        }
    }
}
