//! What one value answers: a text, a number, a word, yes or no, a time, two numbers.

use super::at::{At, Text};
use super::{Style, nearest};
use crate::problem::{Fact, Place, Problem, is_hidden};
use crate::quantity::{Date, Measured, Moment, Span, Unit};

impl<'t> At<'t> {
    /// A text that says something, lines and spaces as typed.
    ///
    /// Books `blank-text`, `hidden-character`, `lost-character`; the warning `placeholder-text`.
    pub fn text(&self) -> Option<Text> {
        let (text, style) = self.leaf("a text")?;
        let text = if style == Style::Block { text.trim_end_matches('\n') } else { text };
        if text.trim().is_empty() {
            self.error(
                "blank-text",
                "found a text that holds only spaces",
                "a blank text says nothing",
                "write the text, or delete the key",
            );
            return None;
        }
        check_characters(text, &self.place()).map_err(|problem| self.tell(problem)).ok()?;
        if is_placeholder(text) {
            let what = format!("found `{}`", text.trim());
            let why = "a placeholder would be printed on the certificate as it stands";
            self.tell(
                Problem::warning(
                    "placeholder-text",
                    &self.place(),
                    what,
                    why,
                    "write what is known, or delete the key",
                )
                .about([("text", Fact::text(text.trim()))]),
            );
        }
        Some(Text { text: text.to_owned(), place: self.place() })
    }

    /// A text on one line, without spaces at its ends: a tag, a serial, a name.
    ///
    /// Books what [`At::text`] books, and `name-shape`.
    pub fn name(&self) -> Option<Text> {
        let text = self.text()?;
        let tidy: Vec<&str> = text.text.split_whitespace().collect();
        let tidy = tidy.join(" ");
        if text.text.contains(['\n', '\t']) || text.text.trim() != text.text {
            let why = "two names that differ in what cannot be seen would look alike";
            self.error(
                "name-shape",
                "found spaces at an end of a name, or a tab or line break in it",
                why,
                format!("write {tidy}"),
            );
            return None;
        }
        Some(text)
    }

    /// A number in the unit `U`; see [`Measured::parse`] for what is booked.
    pub fn number<U: Unit>(&self) -> Option<Measured<U>> {
        let (text, _) = self.leaf("a number")?;
        self.or_tell(Measured::parse(text, &self.place()))
    }

    /// One of `words`, spelt exactly; `what` says what the word is for: `a remedy`. Books `unknown-word`.
    pub fn word<T: Copy>(&self, what: &str, words: &[(&str, T)]) -> Option<T> {
        let (text, _) = self.leaf(what)?;
        if let Some((_, value)) = words.iter().find(|(word, _)| *word == text) {
            return Some(*value);
        }
        let all: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        let fix = match nearest(text, all.iter().copied()) {
            Some(meant) => format!("did you mean `{meant}`? allowed: {}", all.join(", ")),
            None => format!("write one of: {}", all.join(", ")),
        };
        self.error(
            "unknown-word",
            format!("found {} where {what} is due", self.found()),
            "only certain words can stand here, so that they can be counted and compared",
            fix,
        );
        None
    }

    /// `yes`, `no`, `true` or `false`, unquoted. Books `yes-or-no`, `quoted-yes-or-no`.
    pub fn yes_no(&self) -> Option<bool> {
        let (text, style) = self.leaf("yes or no")?;
        let value = match text {
            "yes" | "true" => Some(true),
            "no" | "false" => Some(false),
            _ => None,
        };
        match value {
            Some(value) if style == Style::Plain => Some(value),
            Some(_) => {
                let why = "in quotes it is a text to every reader of YAML";
                self.error(
                    "quoted-yes-or-no",
                    format!("found \"{text}\" in quotes"),
                    why,
                    format!("write {text} without quotes; allowed: yes, no, true, false"),
                );
                None
            }
            None => {
                let small = text.trim().to_lowercase();
                let fix = match small.as_str() {
                    "yes" | "y" | "true" | "on" | "1" | "ja" | "x" => "write yes; allowed: yes, no, true, false",
                    "no" | "n" | "false" | "off" | "0" | "nein" => "write no; allowed: yes, no, true, false",
                    _ => "write one of: yes, no, true, false",
                };
                self.error(
                    "yes-or-no",
                    format!("found {} where yes or no is due", self.found()),
                    "the question has two answers",
                    fix,
                );
                None
            }
        }
    }

    /// A moment with offset; see [`Moment::parse`].
    pub fn moment(&self) -> Option<Moment> {
        let (text, _) = self.leaf("a time")?;
        self.or_tell(Moment::parse(text, &self.place()))
    }

    /// A moment inside a visit; see [`Moment::parse_within`].
    pub fn moment_within(&self, started: &Moment, finished: Option<&Moment>) -> Option<Moment> {
        let (text, _) = self.leaf("a time")?;
        self.or_tell(Moment::parse_within(text, &self.place(), started, finished))
    }

    /// A day; see [`Date::parse`].
    pub fn date(&self) -> Option<Date> {
        let (text, _) = self.leaf("a date")?;
        self.or_tell(Date::parse(text, &self.place()))
    }

    /// A length of time on the calendar; see [`Span::parse`].
    pub fn span(&self) -> Option<Span> {
        let (text, _) = self.leaf("a length of time")?;
        self.or_tell(Span::parse(text, &self.place()))
    }

    /// A day or a month; see [`Date::parse_expiry`].
    pub fn expiry(&self) -> Option<Date> {
        let (text, _) = self.leaf("a date")?;
        self.or_tell(Date::parse_expiry(text, &self.place()))
    }

    /// A list of two numbers; `what` says which: `the lower and upper end`. Books `expected-pair`.
    pub fn pair<U: Unit>(&self, what: &str) -> Option<[Measured<U>; 2]> {
        if self.is_told() {
            return None;
        }
        let entries = match self.is_list() {
            true => self.list(what)?,
            false => Vec::new(),
        };
        if let [first, second] = entries.as_slice() {
            // Both are read before either may end the question: each can have its own problem.
            let numbers = (first.number(), second.number());
            return numbers.0.zip(numbers.1).map(|(first, second)| [first, second]);
        }
        let found = if self.is_list() { format!("{} values", entries.len()) } else { self.found() };
        let fix = match entries.as_slice() {
            [a, b, c, d] if [a, b, c, d].iter().all(|at| at.is_digits()) => {
                let raw = |at: &At<'t>| at.raw().unwrap_or_default();
                format!("decimal commas? write [{}.{}, {}.{}]", raw(a), raw(b), raw(c), raw(d))
            }
            [_, _, _, _] | [_, _, _] => "decimal commas? write two numbers with points, like [4.01, 177.3]".to_owned(),
            _ => "write two numbers, like [0, 14]".to_owned(),
        };
        self.error(
            "expected-pair",
            format!("expected 2 values, found {found}"),
            format!("a list of two numbers is due: {what}"),
            fix,
        );
        None
    }

    fn is_digits(&self) -> bool {
        self.raw().is_some_and(|text| {
            text.trim_start_matches(['-', '+', '\u{2212}']).bytes().all(|byte| byte.is_ascii_digit())
        })
    }
}

/// Whether a joiner or non-joiner shapes the letter before it, in a script that is written so.
///
/// Source: The Unicode Standard 15.0, section 23.2; the blocks from Arabic to Sinhala.
fn joins(before: char, character: char) -> bool {
    matches!(character, '\u{200c}' | '\u{200d}') && matches!(before, '\u{600}'..='\u{dff}')
}

/// Characters that cannot be seen, or that were lost.
pub(super) fn check_characters(text: &str, place: &Place) -> Result<(), Problem> {
    let before = std::iter::once(' ').chain(text.chars());
    let hidden = before.zip(text.chars()).filter(|&(before, c)| is_hidden(c) && !joins(before, c));
    let mut hidden: Vec<String> = hidden.map(|(_, c)| format!("U+{:04X}", u32::from(c))).collect();
    hidden.dedup();
    if !hidden.is_empty() {
        hidden.truncate(8);
        let what = format!("found characters that cannot be seen: {}", hidden.join(", "));
        let why = "two names that look alike could differ in them";
        return Err(Problem::error("hidden-character", place, what, why, "type the text anew instead of copying it"));
    }
    if text.contains('\u{fffd}') {
        let what = "found U+FFFD, the mark for a character that was lost";
        let why = "an editor or a copy has replaced a character it could not show";
        return Err(Problem::error("lost-character", place, what, why, "type the character again and save as UTF-8"));
    }
    Ok(())
}

/// Words that stand for something to be filled in later.
fn is_placeholder(text: &str) -> bool {
    let word = text.trim().trim_end_matches(['.', '!', ':']).to_lowercase();
    let repeats = |letter: char, least: usize| word.chars().count() >= least && word.chars().all(|c| c == letter);
    let words = [
        "",
        "tbd",
        "tbc",
        "tba",
        "n/a",
        "n.a",
        "na",
        "todo",
        "to do",
        "to be done",
        "to be confirmed",
        "fixme",
        "\u{2026}",
        "-",
        "--",
        "none yet",
    ];
    words.contains(&word.as_str()) || repeats('x', 3) || repeats('?', 1) || repeats('_', 1)
}

#[cfg(test)]
mod tests {
    use crate::problem::Severity;
    use crate::quantity::{Millivolt, Plain};
    use crate::yaml::{At, read};

    /// Asks one question of the key `a` of a file; gives the code, column and fix of every problem.
    fn ask(text: &str, question: impl Fn(&At<'_>)) -> Vec<(&'static str, u32, String)> {
        let tree = read("visit.yaml", text.as_bytes()).expect("a tree");
        question(&tree.root().keys("a file").and_then(|mut keys| keys.get("a")).expect("the key a"));
        tree.problems().into_iter().map(|problem| (problem.code, problem.place.column, problem.fix)).collect()
    }

    #[test]
    fn texts_are_kept_as_typed() {
        for (typed, text) in [
            ("NO", "NO"),
            ("00123", "00123"),
            ("1.10", "1.10"),
            ("0x1F", "0x1F"),
            ("12:34:56", "12:34:56"),
            ("'a  b'", "a  b"),
            ("1_000", "1_000"),
            ("<script>", "<script>"),
        ] {
            let problems = ask(&format!("a: {typed}\n"), |at| {
                assert_eq!(at.text().map(|found| found.text).as_deref(), Some(text))
            });
            assert!(problems.is_empty(), "{typed}: {problems:?}");
        }
        ask("a: |\n  one\n  two\n", |at| assert_eq!(at.text().map(|found| found.text).as_deref(), Some("one\ntwo")));
    }

    #[test]
    fn blank_and_hidden_texts_are_problems() {
        let code = |text: &str| ask(text, |at| assert!(at.text().is_none()))[0].0;
        assert_eq!(code("a: '   '\n"), "blank-text");
        assert_eq!(code("a: ''\n"), "blank-text");
        assert_eq!(code("a: P\u{202e}H\n"), "hidden-character");
        assert_eq!(code("a: \"P\\e[31m\"\n"), "hidden-character");
        assert_eq!(code("a: P\u{200b}H\n"), "hidden-character");
        assert_eq!(code("a: P\u{200c}H\n"), "hidden-character");
        assert_eq!(code("a: 14 \u{fffd}C\n"), "lost-character");
        assert_eq!(code("a: [b]\n"), "expected-value");
    }

    #[test]
    fn a_joiner_is_a_part_of_scripts_that_join() {
        for text in ["می\u{200c}رود", "क्\u{200d}ष"] {
            assert!(ask(&format!("a: {text}\n"), |at| assert!(at.text().is_some())).is_empty());
        }
    }

    #[test]
    fn placeholders_are_warnings() {
        for word in ["TBD", "n/a", "xxx", "XXXX", "'?'", "to do", "\u{2026}"] {
            let tree = read("visit.yaml", format!("a: {word}\n").as_bytes()).expect("a tree");
            assert!(tree.root().keys("a file").and_then(|mut keys| keys.get("a")).and_then(|at| at.text()).is_some());
            let problems = tree.problems();
            assert_eq!((problems[0].code, problems[0].severity), ("placeholder-text", Severity::Warning), "{word}");
        }
        assert!(ask("a: Naxos\n", |at| drop(at.text())).is_empty());
    }

    #[test]
    fn names_have_no_spaces_at_their_ends() {
        let problems = ask("a: 'AIT-2104 '\n", |at| assert!(at.name().is_none()));
        assert_eq!(problems, [("name-shape", 4, "write AIT-2104".to_owned())]);
        assert!(ask("a: A. Name\n", |at| assert!(at.name().is_some())).is_empty());
    }

    #[test]
    fn misspelt_words_get_a_suggestion() {
        let words = [("pH", 1), ("redox", 2)];
        assert!(ask("a: redox\n", |at| assert_eq!(at.word("a quantity", &words), Some(2))).is_empty());
        let problems = ask("a: redxo\n", |at| assert_eq!(at.word("a quantity", &words), None));
        assert_eq!(problems, [("unknown-word", 4, "did you mean `redox`? allowed: pH, redox".to_owned())]);
    }

    #[test]
    fn yes_and_no_have_four_words() {
        for (typed, value) in [("yes", true), ("true", true), ("no", false), ("false", false)] {
            assert!(ask(&format!("a: {typed}\n"), |at| assert_eq!(at.yes_no(), Some(value))).is_empty());
        }
        let problems = ask("a: \"true\"\n", |at| assert_eq!(at.yes_no(), None));
        assert_eq!(
            problems,
            [("quoted-yes-or-no", 4, "write true without quotes; allowed: yes, no, true, false".to_owned())]
        );
        let problems = ask("a: Y\n", |at| assert_eq!(at.yes_no(), None));
        assert_eq!(problems, [("yes-or-no", 4, "write yes; allowed: yes, no, true, false".to_owned())]);
    }

    #[test]
    fn four_numbers_for_two_are_decimal_commas() {
        let problems = ask("a: [4,01, 177,3]\n", |at| assert!(at.pair::<Millivolt>("pH and mV").is_none()));
        assert_eq!(problems, [("expected-pair", 4, "decimal commas? write [4.01, 177.3]".to_owned())]);
        let problems = ask("a: 0-14\n", |at| assert!(at.pair::<Plain>("the ends").is_none()));
        assert_eq!(problems, [("expected-pair", 4, "write two numbers, like [0, 14]".to_owned())]);
        let both = ask("a: [x, 7mA]\n", |at| assert!(at.pair::<Millivolt>("the ends").is_none()));
        assert_eq!(both.iter().map(|problem| problem.0).collect::<Vec<_>>(), ["not-a-number", "wrong-unit"]);
        assert!(ask("a: [0, 14]\n", |at| assert!(at.pair::<Plain>("the ends").is_some())).is_empty());
    }
}
