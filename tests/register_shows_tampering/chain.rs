//! The chain once more, slow and literal: from the text of a line alone, without a JSON reader.
//!
//! A line begins with `{"entry":` and its number and ends with `,"previous":"`, 64 digits and `"}`. The digits are the SHA-256
//! of the text of the line before, without its end; of the first line, 64 zeros.

use crate::registers::hash;

fn entry(line: &str) -> Option<u64> {
    line.strip_prefix("{\"entry\":")?.split(',').next()?.parse().ok()
}

fn previous(line: &str) -> Option<&str> {
    let rest = line.strip_suffix("\"}")?;
    let (rest, digits) = rest.split_at_checked(rest.len().checked_sub(64)?)?;
    rest.ends_with(",\"previous\":\"").then_some(digits)
}

/// The first line, from 1, that does not follow the one before it.
pub fn first_break(text: &[u8]) -> Option<usize> {
    let mut before = "0".repeat(64);
    let mut number = 0;
    for line in text.split_inclusive(|byte| *byte == b'\n') {
        let Some(line) = line.strip_suffix(b"\n") else { break };
        number += 1;
        let is_next = std::str::from_utf8(line)
            .is_ok_and(|line| entry(line) == Some(number as u64) && previous(line) == Some(before.as_str()));
        if !is_next {
            return Some(number);
        }
        before = hash(line);
    }
    None
}

/// The lines with their numbers and hashes made anew, as a forger would.
pub fn rechained(lines: &[String]) -> Vec<String> {
    let (mut before, mut made) = ("0".repeat(64), Vec::new());
    for (at, line) in lines.iter().enumerate() {
        let (_, rest) = line.split_once(',').unwrap();
        let end = rest.rfind(",\"previous\":\"").unwrap();
        let line = format!("{{\"entry\":{},{},\"previous\":\"{before}\"}}", at + 1, &rest[..end]);
        before = hash(line.as_bytes());
        made.push(line);
    }
    made
}

/// The hash of the last line.
pub fn head(lines: &[String]) -> String {
    hash(lines.last().unwrap().as_bytes())
}
