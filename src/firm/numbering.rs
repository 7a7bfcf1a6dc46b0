//! The pattern of document numbers.

use super::NUMBERING;
use crate::problem::{Fact, Problem};
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
        let inner = rest[start..].strip_prefix('{').and_then(|inner| inner.split_once('}'));
        let Some((name, after)) = inner.filter(|(name, _)| !name.contains('{')) else {
            let what = format!("found `{}`", pattern.text);
            return error("numbering-brace", what, "close each brace, like \"{visit}-{loop}\"".to_owned());
        };
        names.push(name);
        rest = after;
    }
    if let Some(name) = names.iter().find(|name| !PLACEHOLDERS.contains(name)) {
        let fix = match nearest(name, PLACEHOLDERS) {
            Some(near) => format!("write {{{near}}}"),
            None => "write {visit}, {loop} or {year}".to_owned(),
        };
        return error("numbering-placeholder", format!("found `{{{name}}}` in `{}`", pattern.text), fix);
    }
    if !names.contains(&"visit") {
        at.tell(
            Problem::warning(
                "numbering-without-visit",
                &pattern.place,
                format!("found `{}`", pattern.text),
                "without {visit} the next visit to a loop gets the same number, and a number is never used twice",
                format!("add {{visit}}, like \"{NUMBERING}\""),
            )
            .about([("pattern", Fact::text(&pattern.text))]),
        );
    }
    Some(pattern.text)
}

#[cfg(test)]
mod tests {
    use crate::firm::tests::{error, read, warning};

    #[test]
    fn placeholders_are_known_words() {
        let fix = "write {visit}";
        assert_eq!(read("numbering: \"{visti}-{loop}\"").1, error("numbering-placeholder", 1, 12, fix));
        let fix = "write {visit}, {loop} or {year}";
        assert_eq!(read("numbering: \"{visit}-{customer}\"").1, error("numbering-placeholder", 1, 12, fix));
        assert_eq!(read("numbering: \"{visit}{}\"").1, error("numbering-placeholder", 1, 12, fix));
    }

    #[test]
    fn braces_close() {
        let fix = "close each brace, like \"{visit}-{loop}\"";
        for pattern in ["{visit", "visit}", "{visit}-{lo{op}", "}{visit}"] {
            let told = read(&format!("numbering: \"{pattern}\"")).1;
            assert_eq!(told, error("numbering-brace", 1, 12, fix), "{pattern}");
        }
    }

    #[test]
    fn a_pattern_without_visit_is_a_warning() {
        let (firm, told) = read("numbering: \"C-{year}-{loop}\"");
        assert_eq!(told, warning("numbering-without-visit", 1, 12, "add {visit}, like \"{visit}-{loop}\""));
        assert_eq!(firm.map(|f| f.numbering).as_deref(), Some("C-{year}-{loop}"));
    }
}
