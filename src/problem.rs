//! The one type for everything a person is told about a file.
//!
//! Comes in: what a check found. Goes out: a [`Problem`] with its place, what, why and fix. Printed only by
//! [`crate::commands`].

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
        Place {
            file: file.to_owned(),
            ..Place::default()
        }
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
            _ if is_hidden(character) => {
                shown.push_str(&format!("<U+{:04X}>", u32::from(character)))
            }
            _ => shown.push(character),
        }
    }
    shown
}

/// One thing a person is told about a file: what was found, why it cannot stand, what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
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
        Problem {
            severity: Severity::Warning,
            acceptable: true,
            ..Problem::error(code, place, what, why, fix)
        }
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
        let start = if column > EXCERPT_CHARS - EXCERPT_AFTER {
            column - (EXCERPT_CHARS - EXCERPT_AFTER)
        } else {
            0
        };
        let mut rest = line.chars().skip(start);
        let mut excerpt: String = if start > 0 {
            "\u{2026}".to_owned()
        } else {
            String::new()
        };
        excerpt.extend(rest.by_ref().take(EXCERPT_CHARS));
        if rest.next().is_some() {
            excerpt.push('\u{2026}');
        }
        let caret = column - start + usize::from(start > 0);
        Problem {
            excerpt: excerpt.trim_end().to_owned(),
            caret: u32::try_from(caret).unwrap_or(0),
            ..self
        }
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
            let before: String = self
                .excerpt
                .chars()
                .take((self.caret as usize).saturating_sub(1))
                .collect();
            let indent = textwrap::core::display_width(&visible(&before));
            let gutter = " ".repeat(number.len());
            let excerpt = visible(&self.excerpt);
            text.push_str(&format!(
                "\n  {number} | {excerpt}\n  {gutter} | {}^",
                " ".repeat(indent)
            ));
        }
        for (label, words) in [
            ("what", &self.what),
            ("why ", &self.why),
            ("fix ", &self.fix),
        ] {
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
        visible(&format!(
            "{}: {}[{}]: {}",
            self.place,
            self.severity,
            self.code,
            words.join(" \u{b7} ")
        ))
        .replace('\n', " ")
    }

    /// The same problem, open to be accepted with a reason under `accepted:` of its loop.
    pub fn acceptable(self) -> Self {
        Problem {
            acceptable: true,
            ..self
        }
    }
}

/// Every code with one line of description; frozen by a test, printed by the help.
pub const CODES: &[(&str, &str)] = &[
    // the file itself
    (
        "file-too-large",
        "a file is larger than a hand-written one can be",
    ),
    (
        "file-unreadable",
        "a file is missing, a folder or a pipe, or may not be read",
    ),
    (
        "path-outside",
        "a path leads out of the folder of the visit",
    ),
    (
        "path-form",
        "a path is absolute, a web address or not written with forward slashes",
    ),
    ("text-encoding", "a file is not UTF-8"),
    (
        "line-separator",
        "a character that some YAML readers take for a line break",
    ),
    (
        "control-character",
        "a character that no text file should hold",
    ),
    ("empty-file", "a file holds nothing"),
    ("several-documents", "one file holds several documents"),
    (
        "top-level-shape",
        "the top level of a file is not made of keys",
    ),
    ("too-deep", "lists and mappings are nested too deep"),
    (
        "too-many-values",
        "a file holds too many values, aliases counted in full",
    ),
    ("text-too-long", "one value is longer than a text can be"),
    (
        "too-many-problems",
        "a file has more problems than are worth listing",
    ),
    (
        "readings-differ",
        "two YAML readers understand the file differently",
    ),
    // YAML
    ("yaml-tab", "a tab indents a line"),
    ("yaml-unclosed-quote", "a quoted text has no closing quote"),
    (
        "yaml-unclosed-bracket",
        "a bracket is not closed, or closed by another",
    ),
    (
        "yaml-colon-in-text",
        "an unquoted text holds a colon and a space",
    ),
    (
        "yaml-special-start",
        "an unquoted text begins with a character that means something in YAML",
    ),
    (
        "yaml-escape",
        "a backslash in double quotes begins no known escape",
    ),
    ("yaml-text-after-quote", "something follows a closing quote"),
    (
        "yaml-indentation",
        "a line is indented neither like its neighbours nor like their parent",
    ),
    (
        "yaml-alias",
        "an alias names an anchor that does not stand before it",
    ),
    ("yaml-anchor-twice", "two anchors have one name"),
    ("yaml-merge", "a merge key (<<) is used"),
    ("yaml-tag", "a tag (!!x) is used"),
    (
        "yaml-syntax",
        "the file is not well-formed YAML in another way",
    ),
    // shape of the tree
    ("duplicate-key", "a key stands twice in one mapping"),
    ("key-shape", "a key is not a text"),
    (
        "comma-cut-text",
        "a comma cut an unquoted text inside brackets",
    ),
    ("empty-value", "a key has no value"),
    ("missing-key", "a key that must be there is missing"),
    ("unknown-key", "a key that nothing reads"),
    (
        "expected-mapping",
        "keys were expected and something else was found",
    ),
    (
        "expected-list",
        "a list was expected and something else was found",
    ),
    (
        "expected-value",
        "one value was expected, and keys or a list were found",
    ),
    ("expected-pair", "two numbers were expected"),
    // words and texts
    (
        "unknown-word",
        "a word is not one of those that can stand here",
    ),
    ("yes-or-no", "yes or no was expected"),
    ("quoted-yes-or-no", "yes or no stands in quotes"),
    ("blank-text", "a text holds only spaces"),
    (
        "hidden-character",
        "a text holds characters that cannot be seen",
    ),
    (
        "lost-character",
        "a character of a text was lost when the file was saved",
    ),
    ("placeholder-text", "a text is a placeholder such as TBD"),
    (
        "name-shape",
        "a name has spaces at its ends or a line break in it",
    ),
    // numbers
    ("not-a-number", "a number was expected"),
    ("decimal-comma", "a comma is used as decimal sign"),
    ("thousands-separator", "thousands are divided"),
    (
        "number-notation",
        "a number is hexadecimal, octal, binary, sexagesimal or holds underscores",
    ),
    (
        "number-size",
        "a number has too many digits or is beyond any reading",
    ),
    ("not-finite", "a number is not finite"),
    ("bare-point", "a decimal point without a digit on one side"),
    ("dash-for-minus", "a dash stands for the minus sign"),
    ("letter-for-digit", "a letter stands for a digit"),
    (
        "two-numbers",
        "more than one number stands where one is due",
    ),
    ("text-after-number", "words follow a number and its unit"),
    ("wrong-unit", "a unit does not belong to the value"),
    (
        "unit-case",
        "a unit has capital letters for small ones or the reverse",
    ),
    ("unit-spelling", "a unit is spelt in another way"),
    // dates and times
    ("date-format", "a date is not written as year-month-day"),
    ("date-incomplete", "a date has no day"),
    ("ambiguous-date", "a date reads in two ways"),
    ("impossible-date", "a day that does not exist"),
    ("time-format", "a time is not written by the 24-hour clock"),
    ("time-missing", "a day stands where a moment is due"),
    ("time-without-offset", "a time has no offset from UTC"),
    ("impossible-time", "a time that does not exist"),
    (
        "impossible-offset",
        "an offset from UTC that does not exist",
    ),
    (
        "clock-across-midnight",
        "a clock time alone in a visit that ends on another day",
    ),
];

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
        Problem::error(
            "decimal-comma",
            &place,
            "found `-177,3` where a number in mV is due",
            why,
            "write -177.3",
        )
    }

    #[test]
    fn the_caret_stands_under_the_place() {
        let shown = decimal_comma()
            .with_excerpt("- {in: B7, mv: \"-177,3\", temperature: 21.8}")
            .long();
        let expected =
            "error[decimal-comma] visits/0412.yaml:41:16 loops[2].as_found.readings[0].mv
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
        assert!(
            line.starts_with("visits/0412.yaml:41:16: error[decimal-comma]: found `-177,3` where"),
            "{line}"
        );
        assert!(
            line.ends_with(" \u{b7} write -177.3") && !line.contains('\n'),
            "{line}"
        );
    }

    #[test]
    fn a_long_line_is_cut_around_the_place() {
        let mut problem = decimal_comma();
        problem.place.column = 5001;
        let line = format!("{}X{}", "a".repeat(5000), "b".repeat(5000));
        let problem = problem.with_excerpt(&line);
        assert_eq!(
            problem.excerpt.chars().nth(problem.caret as usize - 1),
            Some('X')
        );
        assert!(problem.excerpt.chars().count() <= EXCERPT_CHARS + 2);
    }

    #[test]
    fn the_caret_counts_wide_characters_as_two_columns() {
        let mut problem = decimal_comma();
        problem.place.column = 5;
        let shown = problem.with_excerpt("a: \u{4f50} b").long();
        assert!(
            shown
                .lines()
                .nth(2)
                .is_some_and(|line| line == "     |      ^"),
            "{shown}"
        );
    }

    #[test]
    fn hidden_characters_are_shown_as_code_points() {
        assert_eq!(
            visible("P\u{202e}H\u{200b}\u{1b}[31m"),
            "P<U+202E>H<U+200B><U+001B>[31m"
        );
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
                code.bytes()
                    .all(|byte| byte.is_ascii_lowercase() || byte == b'-')
                    && !description.is_empty(),
                "{code}"
            );
        }
    }
}
