//! The one type for everything a person is told about a file.
//!
//! Comes in: what a check found. Goes out: a [`Problem`] with its place, what, why and fix. Printed only by
//! [`crate::commands`].

mod codes;
mod fact;

pub use codes::CODES;
pub use fact::{Fact, Facts};

use std::fmt;
use unicode_general_category::{GeneralCategory, get_general_category};

/// Where in a file something stands.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Place {
    /// Name of the file, as the person gave it or as the visit names it.
    pub file: String,
    /// Line, from 1; 0 where the file as a whole is meant.
    pub line: u32,
    /// Column in characters, from 1 (a byte-order mark is not counted); 0 where the file as a whole is meant.
    pub column: u32,
    /// Path inside the document: `loops[2].as_found.readings[0].mv`; empty for the file as a whole.
    pub path: String,
}

impl Place {
    /// The file as a whole.
    pub fn whole(file: &str) -> Self {
        Place { file: file.to_owned(), ..Place::default() }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            0 => write!(f, "{}", self.file),
            _ => write!(f, "{}:{}:{}", self.file, self.line, self.column),
        }
    }
}

/// How far a problem reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The certificate is issued; the remark is printed among the deviations and kept in the record.
    Warning,
    /// Nothing is issued for the visit.
    Error,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Severity::Warning => "warning",
            Severity::Error => "error",
        })
    }
}

/// Width of a problem on a terminal, in columns.
pub const COLUMNS: usize = 100;

/// Characters of a line that an excerpt shows, and how many of them stand after the place.
const EXCERPT_CHARS: usize = 80;
const EXCERPT_AFTER: usize = 30;

/// Whether a character cannot be seen: control characters, direction overrides, zero-width characters, fillers.
/// A line break and a tab are not counted among them.
pub fn is_hidden(character: char) -> bool {
    match character {
        '\n' | '\t' => false,
        // Letters by category, but without any mark on paper: Hangul fillers and the braille blank.
        '\u{115f}' | '\u{1160}' | '\u{3164}' | '\u{ffa0}' | '\u{2800}' | '\u{34f}' => true,
        ' '..='~' => false,
        _ => matches!(
            get_general_category(character),
            GeneralCategory::Control
                | GeneralCategory::Format
                | GeneralCategory::LineSeparator
                | GeneralCategory::ParagraphSeparator
                | GeneralCategory::PrivateUse
        ),
    }
}

/// A text in which hidden characters are shown as code points: `<U+202E>`; a tab becomes a space.
pub fn visible(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '\t' => shown.push(' '),
            _ if is_hidden(character) => shown.push_str(&format!("<U+{:04X}>", u32::from(character))),
            _ => shown.push(character),
        }
    }
    shown
}

/// One thing a person is told about a file: what was found, why it cannot stand, what to do.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// Error or warning.
    pub severity: Severity,
    /// Stable word code in kebab-case, unique, never reused; listed in [`CODES`].
    pub code: &'static str,
    /// Where it was found.
    pub place: Place,
    /// What was found, with the value as typed.
    pub what: String,
    /// Why it cannot stand.
    pub why: String,
    /// The allowed values or the next act.
    pub fix: String,
    /// The line of the file that the place points into, cut to its surroundings where it is long; filled when the
    /// problem is booked.
    pub excerpt: String,
    /// Column in `excerpt` that the place points at, in characters from 1; 0 without excerpt.
    pub caret: u32,
    /// Whether an entry under `accepted:` of the loop may turn it into a deviation (warnings always may).
    pub acceptable: bool,
    /// What was found, as plain data: a deviation is printed from it in the language of the document.
    pub facts: Facts,
}

impl Problem {
    /// An error: nothing is issued.
    pub fn error(
        code: &'static str,
        place: &Place,
        what: impl Into<String>,
        why: impl Into<String>,
        fix: impl Into<String>,
    ) -> Self {
        Problem {
            severity: Severity::Error,
            code,
            place: place.clone(),
            what: what.into(),
            why: why.into(),
            fix: fix.into(),
            excerpt: String::new(),
            caret: 0,
            acceptable: false,
            facts: Facts::default(),
        }
    }

    /// A warning: issued, and printed among the deviations.
    pub fn warning(
        code: &'static str,
        place: &Place,
        what: impl Into<String>,
        why: impl Into<String>,
        fix: impl Into<String>,
    ) -> Self {
        Problem { severity: Severity::Warning, acceptable: true, ..Problem::error(code, place, what, why, fix) }
    }

    /// The same problem with the facts that its sentence on a document is filled with.
    pub fn about<const N: usize>(self, named: [(&'static str, Fact); N]) -> Self {
        Problem { facts: Facts::of(named), ..self }
    }

    /// The same for a code with several sentences: which of them, and what fills it.
    pub fn about_case<const N: usize>(self, case: &'static str, named: [(&'static str, Fact); N]) -> Self {
        Problem { facts: Facts::case(case, named), ..self }
    }

    /// The same problem with a path inside the document.
    pub fn with_path(mut self, path: &str) -> Self {
        path.clone_into(&mut self.place.path);
        self
    }

    /// The same problem with its excerpt, taken from `line`, the whole line that the place points into.
    pub fn with_excerpt(self, line: &str) -> Self {
        let column = self.place.column as usize;
        if column == 0 || line.trim().is_empty() {
            return self;
        }
        let start = match line.chars().nth(EXCERPT_CHARS) {
            None => 0,
            Some(_) => column.saturating_sub(EXCERPT_CHARS - EXCERPT_AFTER),
        };
        let mut rest = line.chars().skip(start);
        let mut excerpt: String = if start > 0 { "\u{2026}".to_owned() } else { String::new() };
        excerpt.extend(rest.by_ref().take(EXCERPT_CHARS));
        if rest.next().is_some() {
            excerpt.push('\u{2026}');
        }
        let caret = column - start + usize::from(start > 0);
        Problem { excerpt: excerpt.trim_end().to_owned(), caret: u32::try_from(caret).unwrap_or(0), ..self }
    }

    /// For reading on a terminal: head, excerpt with caret, what, why, fix; at most [`COLUMNS`] wide where words allow.
    pub fn long(&self) -> String {
        let mut text = format!("{}[{}] {}", self.severity, self.code, self.place);
        if !self.place.path.is_empty() {
            text.push(' ');
            text.push_str(&self.place.path);
        }
        let mut text = visible(&text);
        if !self.excerpt.is_empty() {
            let number = self.place.line.to_string();
            let before: String = self.excerpt.chars().take((self.caret as usize).saturating_sub(1)).collect();
            let indent = textwrap::core::display_width(&visible(&before));
            let gutter = " ".repeat(number.len());
            let excerpt = visible(&self.excerpt);
            text.push_str(&format!("\n  {number} | {excerpt}\n  {gutter} | {}^", " ".repeat(indent)));
        }
        for (label, words) in [("what", &self.what), ("why ", &self.why), ("fix ", &self.fix)] {
            if words.is_empty() {
                continue;
            }
            let first = format!("  {label} ");
            let options = textwrap::Options::new(COLUMNS)
                .initial_indent(&first)
                .subsequent_indent("       ")
                .break_words(false)
                .word_splitter(textwrap::WordSplitter::NoHyphenation);
            text.push('\n');
            text.push_str(&textwrap::fill(&visible(words), options));
        }
        text
    }

    /// On one line, for editors: `file:line:column: error[code]: what · why · fix`.
    pub fn one_line(&self) -> String {
        let words: Vec<&str> = [&self.what, &self.why, &self.fix]
            .into_iter()
            .map(String::as_str)
            .filter(|words| !words.is_empty())
            .collect();
        visible(&format!("{}: {}[{}]: {}", self.place, self.severity, self.code, words.join(" \u{b7} ")))
            .replace('\n', " ")
    }

    /// Whether it is an error that no reason makes acceptable.
    pub fn refuses(&self) -> bool {
        self.severity == Severity::Error && !self.acceptable
    }

    /// The same problem, open to be accepted with a reason under `accepted:` of its loop.
    pub fn acceptable(self) -> Self {
        Problem { acceptable: true, ..self }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decimal_comma() -> Problem {
        let place = Place {
            file: "visits/0412.yaml".to_owned(),
            line: 41,
            column: 16,
            path: "loops[2].as_found.readings[0].mv".to_owned(),
        };
        let why = "the decimal sign of these files is the point; YAML readers take a comma for a divider or a text";
        Problem::error("decimal-comma", &place, "found `-177,3` where a number in mV is due", why, "write -177.3")
    }

    #[test]
    fn the_caret_stands_under_the_place() {
        let shown = decimal_comma().with_excerpt("- {in: B7, mv: \"-177,3\", temperature: 21.8}").long();
        let expected = "error[decimal-comma] visits/0412.yaml:41:16 loops[2].as_found.readings[0].mv
  41 | - {in: B7, mv: \"-177,3\", temperature: 21.8}
     |                ^
  what found `-177,3` where a number in mV is due
  why  the decimal sign of these files is the point; YAML readers take a comma for a divider or a
       text
  fix  write -177.3";
        assert_eq!(shown, expected);
    }

    #[test]
    fn one_line_fits_editors() {
        let line = decimal_comma().one_line();
        assert!(line.starts_with("visits/0412.yaml:41:16: error[decimal-comma]: found `-177,3` where"), "{line}");
        assert!(line.ends_with(" \u{b7} write -177.3") && !line.contains('\n'), "{line}");
    }

    #[test]
    fn a_long_line_is_cut_around_the_place() {
        let mut problem = decimal_comma();
        problem.place.column = 5001;
        let line = format!("{}X{}", "a".repeat(5000), "b".repeat(5000));
        let problem = problem.with_excerpt(&line);
        assert_eq!(problem.excerpt.chars().nth(problem.caret as usize - 1), Some('X'));
        assert!(problem.excerpt.chars().count() <= EXCERPT_CHARS + 2);
    }

    #[test]
    fn the_caret_counts_wide_characters_as_two_columns() {
        let mut problem = decimal_comma();
        problem.place.column = 5;
        let shown = problem.with_excerpt("a: \u{4f50} b").long();
        assert!(shown.lines().nth(2).is_some_and(|line| line == "     |      ^"), "{shown}");
    }

    #[test]
    fn hidden_characters_are_shown_as_code_points() {
        assert_eq!(visible("P\u{202e}H\u{200b}\u{1b}[31m"), "P<U+202E>H<U+200B><U+001B>[31m");
        assert_eq!(
            visible("\u{17b}\u{f3}\u{142}\u{107} \u{4f50}\u{85e4} 21.8\u{a0}\u{b0}C"),
            "\u{17b}\u{f3}\u{142}\u{107} \u{4f50}\u{85e4} 21.8\u{a0}\u{b0}C"
        );
    }

    #[test]
    fn codes_are_unique_and_in_kebab_case() {
        let mut seen = std::collections::BTreeSet::new();
        for (code, description) in CODES {
            assert!(seen.insert(code), "{code} stands twice");
            assert!(
                code.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b'-') && !description.is_empty(),
                "{code}"
            );
        }
    }
}
