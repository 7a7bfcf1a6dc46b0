//! The pattern of document numbers.

use super::NUMBERING;
use crate::problem::Problem;
use crate::yaml::{At, nearest};

/// What a pattern of document numbers may hold.
const PLACEHOLDERS: [&str; 3] = ["visit", "loop", "year"];

/// The pattern of document numbers: text with `{visit}`, `{loop}` and `{year}`.
pub(super) fn read(at: &At<'_>) -> Option<String> {
    let pattern = at.text()?;
    let error = |code, what: String, fix: String| {
        let why = "a number is made of the words {visit}, {loop} and {year} and of plain text";
        at.tell(Problem::error(code, &pattern.place, what, why, fix));
        None
    };
    let mut names = Vec::new();
    let mut rest = pattern.text.as_str();
    while let Some(start) = rest.find(['{', '}']) {
        let inner = rest[start..]
            .strip_prefix('{')
            .and_then(|inner| inner.split_once('}'));
        let Some((name, after)) = inner.filter(|(name, _)| !name.contains('{')) else {
            let what = format!("found `{}`", pattern.text);
            return error(
                "numbering-brace",
                what,
                "close each brace, like \"{visit}-{loop}\"".to_owned(),
            );
        };
        names.push(name);
        rest = after;
    }
    if let Some(name) = names.iter().find(|name| !PLACEHOLDERS.contains(name)) {
        let fix = match nearest(name, PLACEHOLDERS) {
            Some(near) => format!("write {{{near}}}"),
            None => "write {visit}, {loop} or {year}".to_owned(),
        };
        return error(
            "numbering-placeholder",
            format!("found `{{{name}}}` in `{}`", pattern.text),
            fix,
        );
    }
    if !names.contains(&"visit") {
        at.tell(Problem::warning(
            "numbering-without-visit",
            &pattern.place,
            format!("found `{}`", pattern.text),
            "without {visit} the next visit to a loop gets the same number, and a number is never used twice",
            format!("add {{visit}}, like \"{NUMBERING}\""),
        ));
    }
    Some(pattern.text)
}
