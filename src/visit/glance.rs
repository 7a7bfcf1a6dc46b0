//! What a look at the text of a visit file tells without reading it as YAML: when the visit started, and which tags it may
//! hold. Exact where it answers, so that earlier visits of a loop are found without opening every file of a folder.

use crate::problem::Place;
use crate::quantity::Moment;
use chrono::{DateTime, FixedOffset};

/// What a look at a file tells.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Glance {
    /// Begin of the visit; `None` where only opening the file can tell.
    pub started: Option<DateTime<FixedOffset>>,
    /// The first word of every tag that the file can hold; `None` where only opening the file can tell.
    pub tags: Option<Vec<String>>,
}

impl Glance {
    /// Whether the file can hold a loop with this tag.
    pub fn may_hold(&self, tag: &str) -> bool {
        self.tags.as_ref().is_none_or(|tags| tags.iter().any(|word| word == Glance::key(tag)))
    }

    /// What [`Glance::tags`] holds for a tag: the run of characters before a space, a quote, or what ends a text between
    /// brackets.
    pub fn key(tag: &str) -> &str {
        let end = |c: char| c.is_whitespace() || matches!(c, ',' | '}' | ']' | '"' | '\'');
        tag.trim_start_matches(|c: char| c.is_whitespace() || matches!(c, '"' | '\'')).split(end).next().unwrap_or("")
    }
}

/// Looks at the text of a file.
///
/// A visit file must hold the key `started` once and a key `tag` for each loop. Where the text holds `started` once only,
/// outside of comment lines, that one is the key; where it holds an escape (`\`), a key may be spelt in another way, and
/// nothing is told.
///
/// ```
/// let glance = halfcell::visit::glance(b"visit: {started: 2026-04-17T08:40+01:00}\nloops: [{tag: AIT-7}]\n");
/// assert_eq!(glance.started.unwrap().to_rfc3339(), "2026-04-17T08:40:00+01:00");
/// assert!(glance.may_hold("AIT-7") && !glance.may_hold("AIT-70"));
/// ```
pub fn glance(bytes: &[u8]) -> Glance {
    let Some(text) = std::str::from_utf8(bytes).ok().filter(|text| !text.contains('\\')) else {
        return Glance::default();
    };
    let lines = text.lines().filter(|line| !line.trim_start().starts_with('#'));
    let text = lines.collect::<Vec<_>>().join("\n");
    Glance { started: started(&text), tags: tags(&text) }
}

/// What stands behind a key: the rest of the text after its colon.
fn value(after_key: &str) -> Option<&str> {
    after_key.trim_start_matches(|c: char| c.is_whitespace() || matches!(c, '"' | '\'')).strip_prefix(':')
}

fn started(text: &str) -> Option<DateTime<FixedOffset>> {
    let (_, after) = text.split_once("started").filter(|(_, after)| !after.contains("started"))?;
    let line = value(after)?.lines().next()?;
    let typed = line.split([',', '}', '#']).next()?.trim().trim_matches(['"', '\'']);
    Moment::parse(typed, &Place::default()).ok().map(|moment| moment.instant)
}

fn tags(text: &str) -> Option<Vec<String>> {
    let mut tags = Vec::new();
    let mut before = ' ';
    for (position, after) in text.split("tag").enumerate() {
        let is_word = before.is_alphanumeric() || before == '_';
        before = after.chars().next_back().unwrap_or(if position == 0 { ' ' } else { 'g' });
        let Some(value) = value(after).filter(|_| position > 0 && !is_word) else {
            continue;
        };
        // An anchor, alias or block of text: what it holds stands elsewhere.
        if value.trim_start().starts_with(['&', '*', '!', '|', '>', '?']) {
            return None;
        }
        tags.push(Glance::key(value).to_owned());
    }
    Some(tags)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::visit::{Given, open};
    use std::path::Path;

    #[test]
    fn a_glance_agrees_with_opening() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/visits");
        let mut seen = 0;
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let glance = glance(&std::fs::read(&path).unwrap());
            let visit = open(&path, &Given::default()).visit.unwrap();
            assert_eq!(glance.started, Some(visit.started.instant), "{}", path.display());
            assert!(visit.loops.iter().all(|of| glance.may_hold(&of.tag.text)), "{}", path.display());
            assert!(!glance.may_hold("XX-999"));
            seen += 1;
        }
        assert!(seen > 10);
    }

    #[test]
    fn other_spellings_are_met_or_left_to_opening() {
        let at = |text: &str| glance(text.as_bytes());
        assert!(at("\"started\" : \"2026-04-17T08:40Z\"\nloops:\n  - \"tag\" : 'A B'\n").may_hold("A B"));
        assert!(at("\"started\" : \"2026-04-17T08:40Z\"").started.is_some());
        assert!(at("# started: before\nstarted: 2026-04-17 08:40 +01:00 # begin\n").started.is_some());
        assert!(at("started: 2026-04-17T08:40Z\nremarks: started late").started.is_none());
        assert!(at("started: 17.04.2026").started.is_none());
        assert_eq!(at("a: \"st\\x61rted\""), Glance::default());
        assert!(at("tag: *same").may_hold("anything"));
        assert!(at("- tag:\n    AT-1\n").may_hold("AT-1"));
        assert_eq!(at("stage: X\nx-tag: Y\nvintage: Z").tags, Some(vec!["Y".to_owned()]));
        assert_eq!(glance(b"\xff\xfe"), Glance::default());
    }
}
