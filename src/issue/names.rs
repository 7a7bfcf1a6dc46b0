//! Numbers of documents and names of their files.

use crate::problem::Problem;
use crate::visit::Visit;
use chrono::Datelike;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// Number of a document by the firm's pattern: `{visit}`, `{loop}` (the tag), `{year}` of the visit.
pub fn number(pattern: &str, visit: &Visit, tag: &str) -> String {
    pattern
        .replace("{year}", &visit.started.instant.year().to_string())
        .replace("{visit}", &visit.number.text)
        .replace("{loop}", tag)
}

/// Names that no Windows system takes as a file.
///
/// Source: Microsoft, Naming Files, Paths, and Namespaces; from memory.
const RESERVED: &[&str] = &[
    "con", "prn", "aux", "nul", "com1", "com2", "com3", "com4", "com5", "com6", "com7", "com8", "com9", "lpt1", "lpt2",
    "lpt3", "lpt4", "lpt5", "lpt6", "lpt7", "lpt8", "lpt9",
];
/// Longest stem in bytes: file systems take 255 with the ending.
const LONGEST_BYTES: usize = 120;

/// File name without ending for a document number, legal on every system; a number that had to be changed carries a short
/// hash of itself, so that two numbers never share a name.
pub fn stem(number: &str) -> String {
    let legal = |c: char| {
        if c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '+' | ' ') { c } else { '_' }
    };
    let mut name: String = number.chars().map(legal).collect();
    while name.len() > LONGEST_BYTES {
        name.pop();
    }
    let name = name.trim_matches(|c| matches!(c, '.' | ' ')).to_owned();
    let base = name.split('.').next().unwrap_or("").to_lowercase();
    match name == number && !name.is_empty() && !RESERVED.contains(&base.as_str()) {
        true => name,
        false => format!("{}~{}", name, short_hash(number)),
    }
}

/// Stems of several numbers; names that differ only in case carry the hash too.
pub fn stems<'a>(numbers: impl Iterator<Item = &'a str>) -> Vec<String> {
    let numbers: Vec<&str> = numbers.collect();
    let mut times: BTreeMap<String, usize> = BTreeMap::new();
    for number in &numbers {
        *times.entry(stem(number).to_lowercase()).or_default() += 1;
    }
    let distinct = |number: &&str| match times[&stem(number).to_lowercase()] {
        1 => stem(number),
        _ => format!("{}~{}", stem(number), short_hash(number)),
    };
    numbers.iter().map(distinct).collect()
}

fn short_hash(text: &str) -> String {
    Sha256::digest(text).iter().take(3).map(|byte| format!("{byte:02x}")).collect()
}

/// A problem for each number that two documents of a visit would get.
pub fn used_twice<'a>(visit: &Visit, numbers: impl Iterator<Item = &'a str>) -> Vec<Problem> {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    for number in numbers {
        *seen.entry(number).or_default() += 1;
    }
    let twice = seen.into_iter().filter(|(_, times)| *times > 1);
    twice
        .map(|(number, times)| {
            Problem::error(
                "number-used-twice",
                &visit.number.place,
                format!("the number {number} would be given to {times} documents of this visit"),
                "every document has its own number, never used twice",
                "let the firm's `numbering` contain `{visit}` and `{loop}`: `numbering: \"{visit}-{loop}\"`",
            )
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plain_number_is_its_own_name() {
        assert_eq!(stem("HM-2026-031-AIT-2104"), "HM-2026-031-AIT-2104");
        assert_eq!(stem("Żółć-1"), "Żółć-1");
    }

    #[test]
    fn numbers_that_a_system_refuses_get_a_name_of_their_own() {
        for number in ["V-P-1/A", "CON", "nul.x", "..", "a:b", "ends.", "", "a\\b"] {
            let name = stem(number);
            assert!(name.contains('~') && !name.contains(['/', '\\', ':']), "{number} → {name}");
        }
        assert_ne!(stem("P-1/A"), stem("P-1_A"));
        assert_ne!(stem("P-1/A"), stem("P-1:A"));
        assert!(stem(&"ß".repeat(300)).len() < 140);
    }

    #[test]
    fn names_that_differ_only_in_case_are_told_apart() {
        let names = stems(["V-PH-1", "V-ph-1", "V-PH-2"].into_iter());
        assert_ne!(names[0].to_lowercase(), names[1].to_lowercase());
        assert_eq!(names[2], "V-PH-2");
    }
}
