//! Findings in the record: opinions, apart from results. Codes and figures; the sentences stand in [`crate::wording`].

use super::Stage;
use crate::engine::diagnosis::{On, Outcome, Severity};
use serde::ser::{Serialize, SerializeMap, Serializer};

/// Something the figures of a loop point to.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
#[allow(missing_docs)]
pub struct FindingRecord {
    pub code: &'static str,
    pub severity: Severity,
    /// Where it was first seen.
    pub stage: Stage,
    /// Whether it is gone as left; null where that was not measured.
    pub resolved: Option<bool>,
    pub figures: FindingFigures,
    /// Added by `check --format json`, never stored.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub sentences: Option<Sentences>,
}

/// A finding in words.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize)]
#[allow(missing_docs)]
pub struct Sentences {
    pub what: String,
    pub evidence: String,
    /// Next check and remedies in the trade's order while it is open.
    pub advice: String,
    pub caution: Option<String>,
}

/// Named numbers in the order in which they are told; the end of a name is its unit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FindingFigures(Vec<(&'static str, f64)>);

impl FindingFigures {
    /// Names and values in order.
    pub fn iter(&self) -> impl Iterator<Item = (&'static str, f64)> {
        self.0.iter().copied()
    }

    /// The value of a name.
    pub fn get(&self, name: &str) -> Option<f64> {
        self.iter().find(|(known, _)| *known == name).map(|(_, value)| value)
    }
}

impl FromIterator<(&'static str, f64)> for FindingFigures {
    fn from_iter<I: IntoIterator<Item = (&'static str, f64)>>(named: I) -> Self {
        FindingFigures(named.into_iter().collect())
    }
}

impl Serialize for FindingFigures {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, value) in &self.0 {
            map.serialize_entry(name, value)?;
        }
        map.end()
    }
}

/// What a remedy did.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
#[allow(missing_docs)]
pub struct EffectRecord {
    pub outcome: Outcome,
    pub on: On,
    /// Before and after it, in percent, mV or s; of an offset the distance from its place, of a redox error the magnitude.
    pub before: f64,
    pub after: f64,
    /// How many remedies directly before it, which have no readings of their own, share it.
    pub together_with: usize,
}
