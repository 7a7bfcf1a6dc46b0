//! Sentences of findings: whole, with this visit's own numbers, in the trade's order, and never what can maim.

use super::cases::{Case, cases};
use halfcell::engine::diagnosis::{Evidence, Finding, On, Outcome, RULES, diagnose};
use halfcell::firm::DecimalSign;
use halfcell::record::{EffectRecord, FindingRecord, Record, RemedyRecord, Sentences, Stage};
use halfcell::requirements::review;
use halfcell::visit::{Given, RemedyKind, open};
use halfcell::wording::english;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn catalogue() -> BTreeMap<String, String> {
    let text = std::fs::read_to_string(root().join("templates/wording/findings-en.yaml")).unwrap();
    serde_yaml::from_str(&text).unwrap()
}

/// Any record, with every remedy there is, each of which worked on the slope.
fn record() -> Record {
    let visit = root().join("examples/visits/2026-03-10-lone-file.yaml");
    let mut record = review(open(&visit, &Given::default())).records.remove(0);
    let effect =
        EffectRecord { outcome: Outcome::Worked, on: On::Slope, before: 80.04, after: 92.36, together_with: 0 };
    record.remedies = RemedyKind::WORDS
        .iter()
        .map(|(word, _)| RemedyRecord { remedy: (*word).to_owned(), effect: Some(effect), ..RemedyRecord::default() })
        .collect();
    record
}

fn as_recorded(finding: &Finding, resolved: Option<bool>) -> FindingRecord {
    FindingRecord {
        code: finding.code,
        severity: finding.severity,
        stage: if finding.as_found { Stage::AsFound } else { Stage::AsLeft },
        resolved,
        figures: finding.figures.iter().map(|figure| (figure.name, figure.value)).collect(),
        sentences: None,
    }
}

fn findings() -> Vec<Finding> {
    let fires = |case: Case| case.fires.into_iter().flat_map(|evidence: Evidence| diagnose(&evidence));
    cases().into_iter().flat_map(fires).collect()
}

fn every_sentence() -> Vec<(String, Sentences)> {
    let record = record();
    let states = [Some(true), Some(false), None];
    let said = |finding: &Finding, resolved| {
        let recorded = as_recorded(finding, resolved);
        (finding.code.to_owned(), english().finding(&record, &recorded, DecimalSign::Point))
    };
    findings().iter().flat_map(|finding| states.map(|resolved| said(finding, resolved))).collect()
}

#[test]
fn every_finding_is_said_in_full_with_its_own_numbers() {
    for (code, said) in every_sentence() {
        for text in [&said.what, &said.evidence, &said.advice] {
            assert!(text.ends_with('.') && !text.contains("{{") && !text.contains("  "), "{code}: {text}");
        }
        assert!(said.evidence.chars().any(|c| c.is_ascii_digit()), "{code}: {}", said.evidence);
        assert!(!english().finding_title(&code).is_empty());
    }
}

#[test]
fn what_can_maim_or_ruin_is_never_proposed() {
    let never = [
        "hydrofluoric",
        "bifluoride",
        "fluoride",
        " hf",
        "ammonia",
        "abrasive",
        "sandpaper",
        "emery",
        "scour",
        "heat",
        "boil",
        "hot ",
        "oven",
        "flame",
        "mix",
        "concentrated",
        "strong ",
    ];
    let mut texts: Vec<(String, String)> = catalogue()
        .into_iter()
        .filter(|(key, _)| [" advice", " resolved", "cause "].iter().any(|part| key.contains(part)))
        .collect();
    texts.extend(every_sentence().into_iter().map(|(code, said)| (code, said.advice)));
    for (key, text) in texts {
        let lower = text.to_lowercase();
        let named = never.iter().find(|word| lower.contains(**word));
        assert_eq!(named, None, "{key}: {text}");
        if lower.contains("polish") {
            assert!(lower.contains("polish of the metal only"), "{key}: {text}");
        }
    }
}

#[test]
fn remedies_stand_in_the_order_of_the_trade() {
    // Gentle before strong: rinse or wipe, detergent, acid, soak; a new probe last.
    for (key, text) in catalogue().iter().filter(|(key, _)| key.contains(" advice")) {
        let lower = text.to_lowercase();
        let at = |word: &str| lower.find(word);
        for (first, then) in [
            ("detergent", "dilute acid"),
            ("wipe", "dilute acid"),
            ("dilute acid", "polish"),
            ("connector", "new probe"),
        ] {
            if let (Some(first), Some(then)) = (at(first), at(then)) {
                assert!(first < then, "{key}: {text}");
            }
        }
        if let Some(last) = at("new probe").filter(|_| !key.starts_with("cause")) {
            assert!(at("dilute acid").is_none_or(|acid| acid < last), "{key}: {text}");
        }
    }
}

#[test]
fn advice_with_acid_carries_its_caution_and_all_defer_to_the_data_sheet() {
    for (code, said) in every_sentence() {
        let caution = said.caution.unwrap_or_default();
        if said.advice.contains("dilute acid") {
            assert!(caution.contains("sulphide or cyanide") && caution.contains("bleach"), "{code}");
        }
        assert!(caution.is_empty() || caution.contains("Safety data sheets"), "{code}");
    }
}

/// The names in double braces.
fn placeholders(text: &str) -> BTreeSet<String> {
    text.split("{{").skip(1).filter_map(|rest| Some(rest.split_once("}}")?.0.to_owned())).collect()
}

/// Every key is `code field`, `code field figure` or `code field without figure` of a rule that has that figure, and names
/// figures that stand beside it only.
#[test]
fn every_key_of_the_catalogue_is_used_and_filled() {
    let mut figures: BTreeMap<&str, Vec<BTreeSet<&str>>> = BTreeMap::new();
    for finding in findings() {
        figures.entry(finding.code).or_default().push(finding.figures.iter().map(|figure| figure.name).collect());
    }
    // Added by what followed the work.
    let later = ["left_slope_percent", "left_offset_mv"];
    for (key, text) in catalogue() {
        let parts: Vec<&str> = key.split(' ').collect();
        let asked = placeholders(&text);
        let covers = |names: &BTreeSet<&str>| asked.iter().all(|name| names.contains(name.as_str()));
        match parts[..] {
            ["shared", "evidence", figure] => {
                let sets: Vec<_> = figures.values().flatten().filter(|names| names.contains(figure)).collect();
                assert!(!sets.is_empty() && sets.iter().all(|names| covers(names)), "«{key}»");
            }
            ["shared", "left-slope"] => assert!(asked.iter().all(|name| later.contains(&name.as_str()))),
            ["shared", "helped", _] => assert_eq!(asked.len(), 3, "«{key}»"),
            ["shared", ..] | ["caution", _] | ["cause", ..] => {}
            [code, "title" | "what" | "evidence" | "advice" | "resolved"] => {
                assert!(figures[code].iter().all(covers), "«{key}» names a figure that is not always there");
            }
            [code, "what" | "evidence" | "advice", "without", figure] => {
                assert!(figures[code].iter().any(|names| !names.contains(figure)), "«{key}» is never told");
                assert!(figures[code].iter().any(|names| names.contains(figure)), "«{key}» is always told");
            }
            [code, "what" | "evidence" | "advice", figure] => {
                let sets: Vec<_> = figures[code].iter().filter(|names| names.contains(figure)).collect();
                assert!(!sets.is_empty(), "«{key}»: no case has that figure");
                assert!(sets.iter().all(|names| covers(names)), "«{key}» names a figure that is not beside it");
            }
            _ => panic!("«{key}» is no key of a finding"),
        }
    }
    for rule in RULES {
        for field in ["title", "what"] {
            assert!(catalogue().contains_key(&format!("{} {field}", rule.code)), "{} has no {field}", rule.code);
        }
    }
}

#[test]
fn a_cause_is_named_by_what_helped_and_only_when_it_is_gone() {
    let record = record();
    let low = findings().into_iter().find(|finding| finding.code == "slope-low").unwrap();
    for (position, (word, _)) in RemedyKind::WORDS.iter().enumerate() {
        let mut low = as_recorded(&low, Some(true));
        low.figures = low.figures.iter().chain([("helped_step", position as f64 + 1.0)]).collect();
        let said = english().finding(&record, &low, DecimalSign::Comma);
        assert!(said.evidence.contains("+12,4\u{a0}%"), "{}", said.evidence);
        let silent = ["earthing corrected", "temperature element replaced", "output rescaled", "other"];
        let named = english().finding_cause(&record, &low);
        assert_eq!(named.is_none(), silent.contains(word), "{word}: {named:?}");
        low.resolved = Some(false);
        assert_eq!(english().finding_cause(&record, &low), None);
    }
}

#[test]
fn remedies_without_readings_between_them_name_only_a_cause_that_they_share() {
    let low = findings().into_iter().find(|finding| finding.code == "slope-low").unwrap();
    let mut low = as_recorded(&low, Some(true));
    low.figures = low.figures.iter().chain([("helped_step", 2.0)]).collect();
    let cause = |first: &str, second: &str| {
        let mut record = record();
        record.remedies.truncate(2);
        record.remedies[0] = RemedyRecord { remedy: first.to_owned(), ..RemedyRecord::default() };
        record.remedies[1].remedy = second.to_owned();
        record.remedies[1].effect.as_mut().unwrap().together_with = 1;
        english().finding_cause(&record, &low)
    };
    assert!(cause("wiped", "acid soak").unwrap().contains("film"));
    assert_eq!(cause("connector dried", "acid soak"), None);
}
