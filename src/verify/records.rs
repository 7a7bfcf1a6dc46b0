//! Two records compared: the one that a document carries, and one computed now.

use super::fault::{Fault, Note};
use crate::issue::{is_close, records};
use serde_json::Value;

/// Most differences that are told.
const MOST_TOLD: usize = 40;

/// How two records are held against each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Measure {
    /// Whether one program made both.
    pub(super) is_same_program: bool,
    /// Whether the earlier visits are at hand.
    pub(super) has_history: bool,
}

/// What a record says otherwise than it is computed now.
pub(super) fn differences(found: &Value, expected: &Value, measure: Measure) -> (Vec<Fault>, Vec<Note>) {
    let mut compared = Compared { measure, faults: Vec::new(), notes: Vec::new() };
    let (found, expected) = match measure.is_same_program {
        true => (vec![found], vec![expected]),
        false => (records(found), records(expected)),
    };
    for (found, expected) in found.into_iter().zip(expected) {
        let place = if measure.is_same_program { "" } else { found["tag"].as_str().unwrap_or_default() };
        compared.value(place, found, expected);
    }
    (compared.faults, compared.notes)
}

struct Compared {
    measure: Measure,
    faults: Vec<Fault>,
    notes: Vec<Note>,
}

impl Compared {
    fn value(&mut self, place: &str, found: &Value, expected: &Value) {
        if self.faults.len() >= MOST_TOLD {
            return;
        }
        match (found, expected) {
            (Value::Object(found), Value::Object(expected)) => {
                for (key, value) in found {
                    let place = if place.is_empty() { key.clone() } else { format!("{place}.{key}") };
                    match expected.get(key) {
                        _ if self.is_aside(key) => {}
                        Some(other) => self.value(&place, value, other),
                        None if self.measure.is_same_program => self.told(&place, value, &Value::Null),
                        None if *value == Value::Null => {}
                        None => self.notes.push(Note::NoLongerRecorded { place }),
                    }
                }
                let is_new = |key: &str| !found.contains_key(key);
                let more = expected.iter().filter(|(key, _)| is_new(key));
                let more = more.take(if self.measure.is_same_program { MOST_TOLD } else { 0 });
                for (key, value) in more {
                    self.told(&format!("{place}.{key}"), &Value::Null, value);
                }
            }
            (Value::Array(found), Value::Array(expected)) => {
                for (at, (value, other)) in found.iter().zip(expected).enumerate() {
                    self.value(&format!("{place}[{}]", at + 1), value, other);
                }
                if found.len() != expected.len() {
                    let count = |list: &[Value]| Value::String(format!("{} entries", list.len()));
                    self.told(place, &count(found), &count(expected));
                }
            }
            (Value::Number(a), Value::Number(b)) => {
                let is_near = is_close(a.as_f64(), b.as_f64());
                if a != b && (self.measure.is_same_program || !is_near) {
                    self.told(place, found, expected);
                }
            }
            _ if found == expected => {}
            _ => self.told(place, found, expected),
        }
    }

    /// Whether a key is not held against what is computed now.
    fn is_aside(&self, key: &str) -> bool {
        let of_program = !self.measure.is_same_program && matches!(key, "program" | "sources");
        let of_history = !self.measure.has_history && matches!(key, "history" | "trend" | "sources");
        of_program || of_history
    }

    fn told(&mut self, place: &str, found: &Value, expected: &Value) {
        let text = |value: &Value| match value {
            Value::String(text) => text.clone(),
            other => other.to_string(),
        };
        let (place, found, expected) = (place.to_owned(), text(found), text(expected));
        let is_outcome = ["outcome", "verdict", "condition"].iter().any(|word| place.ends_with(word));
        self.faults.push(match is_outcome {
            true => Fault::Outcome { place, found, expected },
            false => Fault::Record { place, found, expected },
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn told(found: &Value, expected: &Value, is_same_program: bool) -> Vec<String> {
        let (faults, notes) = differences(found, expected, Measure { is_same_program, has_history: true });
        faults.iter().map(Fault::told).chain(notes.iter().map(Note::told)).collect()
    }

    #[test]
    fn every_difference_is_named_with_its_place() {
        let found = json!({"tag": "A", "verdict": "pass", "states": [{"slope": 78.9}], "gone": 1});
        let expected = json!({"tag": "A", "verdict": "fail", "states": [{"slope": 78.900_000_001}], "new": 1});
        let same = told(&found, &expected, true);
        assert_eq!(same.len(), 4, "{same:?}");
        assert_eq!(same[1], "record, states[1].slope: «78.9» where the data give «78.900000001»");
        let other = told(&found, &expected, false);
        assert_eq!(other[0], "record, A.verdict: the outcome is «pass» where the data give «fail»");
        assert_eq!(other[1..], ["record, A.gone: this version no longer records it"]);
    }

    #[test]
    fn an_older_summary_is_a_plain_list() {
        let old = json!([{"tag": "A", "slope": 1.0}]);
        let new = json!({"certificate": {}, "loops": [{"tag": "A", "slope": 2.0}]});
        assert_eq!(told(&old, &new, false), ["record, A.slope: «1.0» where the data give «2.0»"]);
    }
}
