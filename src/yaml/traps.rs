//! What YAML lets pass and nobody meant: values that are nothing, keys that stand twice, commas that cut a text.

use super::levels;
use super::lines::Lines;
use super::scan::quoted;
use super::{Content, Entry, Node, Style};
use crate::problem::{Place, Problem};
use std::collections::HashMap;

/// Tells every trap below the top; what was told is taken out of the tree or marked.
pub(super) fn check(file: &str, lines: &Lines, nodes: &mut [Node]) -> Vec<Problem> {
    let mut check = Check { file, lines, nodes, path: String::new(), problems: Vec::new() };
    check.node(0);
    check.problems
}

/// Whether a plain text is YAML's word for nothing.
pub(super) fn is_nothing(text: &str, style: Style) -> bool {
    style == Style::Plain && matches!(text, "" | "~" | "null" | "Null" | "NULL")
}

struct Check<'l> {
    file: &'l str,
    lines: &'l Lines,
    nodes: &'l mut [Node],
    path: String,
    problems: Vec<Problem>,
}

impl Check<'_> {
    fn node(&mut self, index: usize) {
        if self.problems.len() > super::MAX_PROBLEMS {
            return;
        }
        match &mut self.nodes[index].content {
            Content::Leaf { text, style, told } => {
                if is_nothing(text, *style) {
                    *told = true;
                    let text = std::mem::take(text);
                    self.nothing(index, &text);
                }
            }
            Content::List(children) => {
                let children = std::mem::take(children);
                for (count, child) in children.iter().enumerate() {
                    let length = self.path.len();
                    self.path.push_str(&format!("[{count}]"));
                    self.node(*child);
                    self.path.truncate(length);
                }
                self.nodes[index].content = Content::List(children);
            }
            Content::Mapping(entries) => {
                let entries = std::mem::take(entries);
                let entries = self.without_cut_texts(entries);
                let entries = self.without_doubles(entries);
                entries.iter().for_each(|entry| self.value(entry));
                self.nodes[index].content = Content::Mapping(entries);
            }
        }
    }

    fn value(&mut self, entry: &Entry) {
        // What begins with x- is kept and not judged.
        if entry.key.starts_with("x-") {
            return;
        }
        let length = self.path.len();
        super::push_key(&mut self.path, &entry.key);
        self.node(entry.value);
        self.path.truncate(length);
    }

    fn nothing(&mut self, index: usize, text: &str) {
        let (line, column) = (self.nodes[index].line, self.nodes[index].column);
        let what = if text.is_empty() {
            "there is no value here".to_owned()
        } else {
            format!("found `{text}`, which is YAML for no value")
        };
        let fix = match text {
            "" | "~" => "write the value, or delete the key",
            _ => "write the value, or delete the key; a name or text of these letters stands in quotes",
        };
        let why = "an empty value is not a reading and not a text; where something could not be obtained, say `not_obtained: reason`";
        self.tell("empty-value", (line, column), what, why, fix);
    }

    /// Words without colon inside braces: the end of an unquoted text that a comma cut, or of a number.
    fn without_cut_texts(&mut self, entries: Vec<Entry>) -> Vec<Entry> {
        if !entries.iter().any(|entry| entry.is_bare) {
            return entries;
        }
        let mut kept: Vec<Entry> = Vec::with_capacity(entries.len());
        let mut entries = entries.into_iter().peekable();
        while let Some(entry) = entries.next() {
            if !entry.is_bare {
                kept.push(entry);
                continue;
            }
            if self.colon_without_space(&entry) {
                continue;
            }
            if levels::is_known(&entry.key) || kept.is_empty() {
                self.key_without_value(&entry);
                continue;
            }
            let mut pieces = vec![entry.key.clone()];
            while let Some(next) = entries.next_if(|next| next.is_bare && !levels::is_known(&next.key)) {
                pieces.push(next.key);
            }
            match kept.last().cloned() {
                Some(before) => self.cut_text(&before, &entry, &pieces),
                None => self.key_without_value(&entry),
            }
        }
        kept
    }

    /// `{in: B7, mv:8.3}`: without a space after it the colon belongs to the word.
    fn colon_without_space(&mut self, entry: &Entry) -> bool {
        let Some((key, value)) = entry.key.split_once(':').filter(|(key, _)| levels::is_known(key)) else {
            return false;
        };
        let why = "a key is divided from its value by a colon and a space";
        let what = format!("after the colon of `{}` stands no space", entry.key);
        self.tell("yaml-missing-colon", (entry.line, entry.column), what, why, format!("write {key}: {value}"));
        true
    }

    fn key_without_value(&mut self, entry: &Entry) {
        let length = self.path.len();
        super::push_key(&mut self.path, &entry.key);
        let what = format!("`{}` stands between braces without a value", entry.key);
        let why = "braces hold keys with values, divided by commas";
        let fix =
            format!("write {}: and the value, or delete it; a text with braces or commas stands in quotes", entry.key);
        self.tell("empty-value", (entry.line, entry.column), what, why, fix);
        self.path.truncate(length);
    }

    fn cut_text(&mut self, before: &Entry, entry: &Entry, pieces: &[String]) {
        let Content::Leaf { text, told, .. } = &mut self.nodes[before.value].content else {
            return self.key_without_value(entry);
        };
        let is_digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
        let is_decimal = is_digits(text.trim_start_matches(['-', '+', '\u{2212}']))
            && pieces.len() == 1
            && pieces[0].starts_with(|c: char| c.is_ascii_digit());
        let typed = text.clone();
        let is_thousands = is_decimal_text(text) && pieces.len() == 1 && is_digits(&pieces[0]);
        *told = true;
        let length = self.path.len();
        super::push_key(&mut self.path, &before.key);
        let place = (self.nodes[before.value].line, self.nodes[before.value].column);
        if is_decimal {
            let what = format!("found `{typed},{}`: the comma cut the number in two", pieces[0]);
            let why = "the decimal sign of these files is the point; between braces a comma begins the next key";
            self.tell("decimal-comma", place, what, why, format!("write {}: {typed}.{}", before.key, pieces[0]));
        } else if is_thousands {
            let what = format!("found `{typed},{}`: the comma cut the number in two", pieces[0]);
            let why = "the decimal sign of these files is the point, and thousands are not divided";
            let fix = format!("write {}: {}.{}", before.key, typed.replace('.', ""), pieces[0]);
            self.tell("decimal-comma", place, what, why, fix);
        } else {
            let whole = format!("{typed}, {}", pieces.join(", "));
            let what = format!(
                "a comma cut this unquoted text: `{typed}` is left, `{}` is taken for a key",
                pieces.join(", ")
            );
            let why = "between braces a comma begins the next key";
            self.tell("comma-cut-text", place, what, why, format!("write {}: {}", before.key, quoted(&whole)));
        }
        self.path.truncate(length);
    }

    /// Keys that stand twice, and merge keys.
    fn without_doubles(&mut self, mut entries: Vec<Entry>) -> Vec<Entry> {
        let mut seen: HashMap<&str, u32> = HashMap::with_capacity(entries.len());
        let mut refused = Vec::new();
        for (index, entry) in entries.iter().enumerate() {
            let refusal = match seen.get(entry.key.as_str()) {
                _ if entry.is_plain && entry.key == "<<" => (
                    "yaml-merge",
                    "found the merge key `<<`".to_owned(),
                    "a merge hides which values a mapping has, and readers of YAML 1.2 do not merge",
                    "write the values out",
                ),
                _ if entry.key.is_empty() => (
                    "key-shape",
                    "a colon stands without a key before it".to_owned(),
                    "a value without a key cannot be told from others",
                    "write the key before the colon",
                ),
                Some(line) => (
                    "duplicate-key",
                    format!("the key `{}` stands already at line {line}", entry.key),
                    "only one of two values can be meant",
                    "delete one of the two",
                ),
                None => {
                    seen.insert(&entry.key, entry.line);
                    continue;
                }
            };
            refused.push((index, refusal));
        }
        for (index, (code, what, why, fix)) in &refused {
            let place = (entries[*index].line, entries[*index].column);
            self.tell(code, place, what.clone(), why, *fix);
        }
        let mut count = 0..;
        entries.retain(|_| {
            let index = count.next();
            refused.binary_search_by_key(&index, |(refused, _)| Some(*refused)).is_err()
        });
        entries
    }

    fn tell(
        &mut self,
        code: &'static str,
        (line, column): (u32, u32),
        what: String,
        why: &str,
        fix: impl Into<String>,
    ) {
        // What an alias repeats is told once, where it stands.
        let is_told = |told: &Problem| (told.code, told.place.line, told.place.column) == (code, line, column);
        if self.problems.iter().any(is_told) {
            return;
        }
        let place = Place { file: self.file.to_owned(), line, column, path: self.path.clone() };
        self.problems.push(Problem::error(code, &place, what, why, fix).with_excerpt(self.lines.line(line)));
    }
}

/// Digits with one point between them: `1.000`.
fn is_decimal_text(text: &str) -> bool {
    let digits = text.trim_start_matches(['-', '+', '\u{2212}']);
    digits.split_once('.').is_some_and(|(whole, part)| {
        [whole, part].iter().all(|half| !half.is_empty() && half.bytes().all(|byte| byte.is_ascii_digit()))
    })
}

#[cfg(test)]
mod tests {
    use crate::problem::Problem;
    use crate::yaml::read;

    fn problems(text: &str) -> Vec<Problem> {
        read("visit.yaml", text.as_bytes()).expect("a tree").problems()
    }

    #[track_caller]
    fn assert_told(text: &str, expected: &[(&str, u32, u32, &str, &str)]) {
        let found = problems(text);
        let found: Vec<_> = found
            .iter()
            .map(|problem| {
                (
                    problem.code,
                    problem.place.line,
                    problem.place.column,
                    problem.place.path.as_str(),
                    problem.fix.as_str(),
                )
            })
            .collect();
        assert_eq!(found, expected, "{text}");
    }

    #[test]
    fn a_comma_that_cut_a_text_gets_the_quoted_line() {
        let fix = "write note: \"film, thin, and old\"";
        assert_told(
            "r:\n  - {remedy: cleaned, note: film, thin, and old}\n",
            &[("comma-cut-text", 2, 29, "r[0].note", fix)],
        );
        assert_told("r: {note: film, \n thin}\n", &[("comma-cut-text", 1, 11, "r.note", "write note: \"film, thin\"")]);
    }

    #[test]
    fn a_decimal_comma_between_braces_gets_the_point() {
        assert_told("r: [{in: B7, mv: 8,3}]\n", &[("decimal-comma", 1, 18, "r[0].mv", "write mv: 8.3")]);
        assert_told("r: {mv: -177,3 mV, in: B4}\n", &[("decimal-comma", 1, 9, "r.mv", "write mv: -177.3 mV")]);
        assert_told("r: {mv: 1.000,5}\n", &[("decimal-comma", 1, 9, "r.mv", "write mv: 1000.5")]);
    }

    #[test]
    fn a_known_key_without_value_is_not_taken_for_a_cut_text() {
        let found = problems("r: {in: B7, excluded}\n");
        assert_eq!((found[0].code, found[0].place.path.as_str(), found.len()), ("empty-value", "r.excluded", 1));
    }

    #[test]
    fn a_colon_without_space_between_braces_is_told() {
        assert_told("r: [{in: B7, mv:8.3}]\n", &[("yaml-missing-colon", 1, 14, "r[0]", "write mv: 8.3")]);
    }

    #[test]
    fn what_is_nothing_is_told_at_its_key() {
        let found = problems("a:\nb: ~\nc: [1, null]\nd: {e: }\nx-f:\ng: ''\n");
        let found: Vec<_> = found
            .iter()
            .map(|problem| (problem.code, problem.place.line, problem.place.column, problem.place.path.as_str()))
            .collect();
        assert_eq!(
            found,
            [
                ("empty-value", 1, 1, "a"),
                ("empty-value", 2, 4, "b"),
                ("empty-value", 3, 8, "c[1]"),
                ("empty-value", 4, 5, "d.e")
            ]
        );
    }

    #[test]
    fn a_dash_without_value_is_told_at_the_dash() {
        for text in ["a:\n  - b\n  -", "a:\n  - b\n  -\n", "a:\n  - b\n  -  \n", "a:\n  - b\n  - # x\n"] {
            let found = problems(text);
            let place = &found[0].place;
            assert_eq!(
                (found[0].code, place.line, place.column, place.path.as_str()),
                ("empty-value", 3, 3, "a[1]"),
                "{text:?}"
            );
        }
    }

    #[test]
    fn keys_that_stand_twice_are_told_at_the_second() {
        assert_told("a: {b: 1}\nc: 2\na: 3\n", &[("duplicate-key", 3, 1, "", "delete one of the two")]);
        assert_eq!(problems("a: 1\na: 2\n")[0].what, "the key `a` stands already at line 1");
    }

    #[test]
    fn merge_keys_are_refused() {
        assert_told("a: &a {b: 1}\nc:\n  <<: *a\n", &[("yaml-merge", 3, 3, "c", "write the values out")]);
    }

    #[test]
    fn a_colon_without_key_is_told() {
        assert_eq!(problems("a: {? : 1}\n")[0].code, "key-shape");
    }
}
