//! What two records say, compared: the one that was registered and one computed now.
//!
//! Comes in: records as JSON. Goes out: whether they say the same of the loop, and what a reader of the second must know of
//! the first.

use super::rejudge::ProgramDifference;
use crate::record::{BeforeCriterion, BeforeFacts, LimitRecord, OutcomeWord, Record, Stage, Verdict};
use serde::Deserialize;
use serde_json::Value;

/// Keys of a record that say nothing of the loop at this visit: which document, which files by their hashes, which program,
/// and what other visits say.
const ASIDE: [&str; 5] = ["certificate", "sources", "program", "history", "trend"];

/// Largest difference of two figures that are the same, relative: another processor or compiler may move the last digits.
///
/// Source: common practice, no source: a thousandth of a millionth is far below what any instrument of the trade resolves.
const SAME: f64 = 1e-9;

/// The records of a document: of a loop one, of a summary one a loop.
///
/// A program before 0.2.0 wrote the records of a summary as a plain list.
pub fn records(document: &Value) -> Vec<&Value> {
    match document {
        Value::Array(list) => list.iter().collect(),
        _ => match document.get("loops").and_then(Value::as_array) {
            Some(list) => list.iter().collect(),
            None => vec![document],
        },
    }
}

/// Whether two documents say the same of their loops: whether the newer one says everything that the older one says. A newer
/// program may say more.
pub(super) fn same(old: &Value, new: &Value) -> bool {
    let (old, new) = (records(old), records(new));
    let says_all = |(old, new): (&Value, &Value)| {
        let mut found = Vec::new();
        of_record(old, new, 1, &mut found);
        found.is_empty()
    };
    old.len() == new.len() && old.into_iter().zip(new).all(says_all)
}

/// What a registered record says otherwise than one computed now, up to `most` places.
pub(super) fn differences(old: &Value, new: &Record, most: usize) -> Vec<ProgramDifference> {
    let new = serde_json::to_value(new).unwrap_or_default();
    let mut found = Vec::new();
    of_record(old, &new, most, &mut found);
    found
}

fn of_record(old: &Value, new: &Value, most: usize, found: &mut Vec<ProgramDifference>) {
    let entries = old.as_object().into_iter().flatten();
    for (key, value) in entries.filter(|(key, _)| !ASIDE.contains(&key.as_str())) {
        of_value(key, value, new.get(key), most, found);
    }
}

fn of_value(path: &str, old: &Value, new: Option<&Value>, most: usize, found: &mut Vec<ProgramDifference>) {
    if found.len() >= most {
        return;
    }
    match (old, new) {
        (Value::Number(a), Some(Value::Number(b))) if is_close(a.as_f64(), b.as_f64()) => {}
        (Value::Array(a), Some(Value::Array(b))) if a.len() == b.len() => {
            for (at, (a, b)) in a.iter().zip(b).enumerate() {
                of_value(&format!("{path}[{at}]"), a, Some(b), most, found);
            }
        }
        (Value::Object(a), Some(Value::Object(b))) => {
            for (key, value) in a {
                of_value(&format!("{path}.{key}"), value, b.get(key), most, found);
            }
        }
        (old, Some(new)) if old == new => {}
        (old, new) => found.push(ProgramDifference {
            path: path.to_owned(),
            old: old.to_string(),
            new: new.map_or_else(|| "nothing".to_owned(), Value::to_string),
        }),
    }
}

/// Whether two figures are the same, wherever they were computed.
pub fn is_close(old: Option<f64>, new: Option<f64>) -> bool {
    { old.zip(new) }.is_some_and(|(old, new)| (old - new).abs() <= SAME * old.abs().max(new.abs()))
}

/// What is needed of a registered record.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Registered {
    tag: String,
    pub(super) limits: RegisteredLimits,
    pub(super) as_found: RegisteredState,
    pub(super) as_left: Option<RegisteredState>,
    pub(super) criteria: Vec<BeforeCriterion>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct RegisteredLimits {
    pub(super) name: String,
    pub(super) revision: Option<String>,
    decision: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct RegisteredState {
    pub(super) verdict: Option<Verdict>,
    slope_percent: Option<f64>,
    offset_mv: Option<f64>,
}

impl Registered {
    /// Reads what is needed of a record.
    pub(super) fn read(record: &Value) -> Result<Registered, serde_json::Error> {
        Registered::deserialize(record)
    }
}

/// What a registered record said of a loop, beside the record that replaces it.
pub(super) fn before(old: &Value, new: &Record) -> Result<BeforeFacts, serde_json::Error> {
    let old = Registered::read(old)?;
    let left = old.as_left.unwrap_or_default();
    Ok(BeforeFacts {
        criteria: judged_otherwise(&old.criteria, &criteria(new)),
        tag: old.tag,
        limits: old.limits.name,
        limits_revision: old.limits.revision,
        decision: old.limits.decision,
        as_found: old.as_found.verdict,
        as_left: left.verdict,
        found_slope_percent: old.as_found.slope_percent,
        found_offset_mv: old.as_found.offset_mv,
        left_slope_percent: left.slope_percent,
        left_offset_mv: left.offset_mv,
    })
}

/// The criteria of a record.
pub(super) fn criteria(record: &Record) -> Vec<BeforeCriterion> {
    let criteria = record.criteria.iter().map(|it| BeforeCriterion {
        name: it.name.to_owned(),
        stage: it.stage,
        of: it.of.clone(),
        value: it.value,
        limit: it.limit.clone(),
        outcome: it.outcome,
    });
    criteria.collect()
}

/// The criteria that were judged by another limit or with another outcome; one that is new stands as not judged before.
pub(super) fn judged_otherwise(old: &[BeforeCriterion], now: &[BeforeCriterion]) -> Vec<BeforeCriterion> {
    let key = |it: &BeforeCriterion| (it.name.clone(), it.stage, it.of.clone());
    let find = |list: &[BeforeCriterion], of: &BeforeCriterion| list.iter().find(|it| key(it) == key(of)).cloned();
    let is_other = |old: &&BeforeCriterion| {
        let new = find(now, old);
        new.is_none_or(|new| new.outcome != old.outcome || !same_limit(&new.limit, &old.limit))
    };
    let added = now.iter().filter(|new| find(old, new).is_none()).map(|new| BeforeCriterion {
        limit: LimitRecord::default(),
        outcome: OutcomeWord::NotJudged,
        ..new.clone()
    });
    old.iter().filter(is_other).cloned().chain(added).collect()
}

/// Whether records were judged by the limits of newer ones already.
pub(super) fn is_judged_so(old: &Value, new: &[Record]) -> bool {
    let old = records(old);
    let is_so = |(old, new): (&Value, &Record)| {
        Registered::read(old).is_ok_and(|old| {
            let same_limits = old.limits.name == new.limits.name && old.limits.revision == new.limits.revision;
            same_limits && judged_otherwise(&old.criteria, &criteria(new)).is_empty()
        })
    };
    old.len() == new.len() && old.into_iter().zip(new).all(is_so)
}

/// Whether the bounds are the same, however they were typed.
fn same_limit(old: &LimitRecord, new: &LimitRecord) -> bool {
    let bounds = |it: &LimitRecord| [it.warn_low, it.warn_high, it.fail_low, it.fail_high];
    bounds(old) == bounds(new)
}

/// The criterion that decides the verdict of a stage: the one with the worst outcome.
pub(super) fn governing(criteria: &[BeforeCriterion], stage: Stage) -> Option<&BeforeCriterion> {
    let of_stage = criteria.iter().filter(|criterion| criterion.stage == stage);
    of_stage.max_by_key(|criterion| criterion.outcome)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_newer_program_may_say_more_but_nothing_else() {
        let old = json!({"tag": "A", "program": "halfcell 0.1.0", "as_found": {"slope_percent": 95.3}});
        let more = json!({"tag": "A", "keep": null, "as_found": {"slope_percent": 95.3 + 1e-12, "x": 1}});
        let other = json!({"tag": "A", "as_found": {"slope_percent": 95.2}});
        assert!(same(&old, &more));
        assert!(!same(&old, &other));
        assert!(!same(&more, &old), "what was said is missing");
    }

    #[test]
    fn a_summary_is_compared_loop_by_loop() {
        let list = json!([{"tag": "A"}, {"tag": "B"}]);
        let object = json!({"certificate": {"number": "V"}, "loops": [{"tag": "A"}, {"tag": "B"}]});
        assert!(same(&list, &object));
        assert!(!same(&list, &json!({"loops": [{"tag": "A"}]})));
    }
}
