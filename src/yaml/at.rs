//! One node of a file with its place, and what can be asked of it.
//!
//! Every question books its own problem and answers `None`; the caller goes on with the next question, so that all
//! problems of a file come in one run.

use super::{Content, Entry, Keys, Node, Style, Tree, nearest};
use crate::problem::{Place, Problem, is_hidden};
use crate::quantity::{Date, Measured, Moment, Unit};

/// A text as typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Text {
    /// The text.
    pub text: String,
    /// Where it stands.
    pub place: Place,
}

/// One node of a file with its place.
#[derive(Debug, Clone)]
pub struct At<'t> {
    tree: &'t Tree,
    node: usize,
    path: String,
}

impl<'t> At<'t> {
    pub(super) fn root(tree: &'t Tree) -> Self {
        At {
            tree,
            node: 0,
            path: String::new(),
        }
    }

    fn node(&self) -> &'t Node {
        &self.tree.nodes[self.node]
    }

    pub(super) fn tree(&self) -> &'t Tree {
        self.tree
    }

    /// The value of an entry of this mapping.
    pub(super) fn child(&self, entry: &Entry) -> At<'t> {
        At {
            tree: self.tree,
            node: entry.value,
            path: self.path_to(&entry.key),
        }
    }

    pub(super) fn path_to(&self, key: &str) -> String {
        let mut path = String::with_capacity(self.path.len() + key.len() + 1);
        path.push_str(&self.path);
        super::push_key(&mut path, key);
        path
    }

    pub(super) fn entries(&self) -> &'t [Entry] {
        match &self.node().content {
            Content::Mapping(entries) => entries,
            Content::List(_) | Content::Leaf { .. } => &[],
        }
    }

    /// File, line, column and path of the node.
    pub fn place(&self) -> Place {
        Place {
            file: self.tree.file.clone(),
            line: self.node().line,
            column: self.node().column,
            path: self.path.clone(),
        }
    }

    /// Path inside the document: `loops[2].as_found.readings[0].mv`.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// Books a problem, with the line of its place as excerpt.
    pub fn tell(&self, problem: Problem) {
        self.tree.book(problem);
    }

    fn error(
        &self,
        code: &'static str,
        what: impl Into<String>,
        why: impl Into<String>,
        fix: impl Into<String>,
    ) {
        self.tell(Problem::error(code, &self.place(), what, why, fix));
    }

    fn or_tell<T>(&self, read: Result<T, Problem>) -> Option<T> {
        read.map_err(|problem| self.tell(problem)).ok()
    }

    /// Whether the node came through an alias (`*name`), so that the same lines stand in two places.
    pub fn is_alias(&self) -> bool {
        self.node().is_alias
    }

    /// Whether the node is a mapping.
    pub fn is_mapping(&self) -> bool {
        matches!(self.node().content, Content::Mapping(_))
    }

    /// Whether the node is a list.
    pub fn is_list(&self) -> bool {
        matches!(self.node().content, Content::List(_))
    }

    /// Whether the node is a text (also a number, a date …: whatever is neither mapping nor list).
    pub fn is_text(&self) -> bool {
        matches!(self.node().content, Content::Leaf { .. })
    }

    /// The text as typed, unchecked; `None` for mappings and lists.
    pub fn raw(&self) -> Option<&'t str> {
        match &self.node().content {
            Content::Leaf { text, .. } => Some(text),
            Content::List(_) | Content::Mapping(_) => None,
        }
    }

    /// What stands here, for messages: `a list`, `7.31`.
    fn found(&self) -> String {
        match &self.node().content {
            Content::Leaf { text, .. } => format!("`{}`", shortened(text)),
            Content::List(_) => "a list".to_owned(),
            Content::Mapping(_) => "keys with values".to_owned(),
        }
    }

    /// Whether a problem was booked for this value already.
    fn is_told(&self) -> bool {
        matches!(self.node().content, Content::Leaf { told: true, .. })
    }

    /// The mapping, or `expected-mapping`; `what` says what was expected: `a reading`.
    pub fn keys(&self, what: &str) -> Option<Keys<'t>> {
        if self.is_mapping() {
            return Some(Keys::new(self.clone()));
        }
        if !self.is_told() {
            let fix = "write `key: value` pairs, indented below, or between braces { }";
            self.error(
                "expected-mapping",
                format!("found {} where {what} is due", self.found()),
                "keys with values are expected here",
                fix,
            );
        }
        None
    }

    /// The entries of the list, or `expected-list`; `what` says what was expected: `readings`.
    pub fn list(&self, what: &str) -> Option<Vec<At<'t>>> {
        match &self.node().content {
            Content::List(children) => {
                let at = |(count, &node): (usize, &usize)| At {
                    tree: self.tree,
                    node,
                    path: format!("{}[{count}]", self.path),
                };
                Some(children.iter().enumerate().map(at).collect())
            }
            Content::Leaf { told: true, .. } => None,
            Content::Leaf { text, .. } => {
                let fix = format!("write [{}]", shortened(text));
                self.error(
                    "expected-list",
                    format!("found {} where a list of {what} is due", self.found()),
                    "a list is expected, of one entry or more",
                    fix,
                );
                None
            }
            Content::Mapping(_) => {
                let fix = "begin each entry with `- ` on a line of its own";
                self.error(
                    "expected-list",
                    format!("found {} where a list of {what} is due", self.found()),
                    "a list is expected, of one entry or more",
                    fix,
                );
                None
            }
        }
    }

    /// One value with its style, unless it was told already.
    fn leaf(&self, what: &str) -> Option<(&'t str, Style)> {
        match &self.node().content {
            Content::Leaf { told: true, .. } => None,
            Content::Leaf { text, style, .. } => Some((text, *style)),
            Content::List(_) | Content::Mapping(_) => {
                let why = "one value is expected here";
                let fix = format!("write {what} on the line of the key");
                self.error(
                    "expected-value",
                    format!("found {} where {what} is due", self.found()),
                    why,
                    fix,
                );
                None
            }
        }
    }

    /// A text that says something, lines and spaces as typed.
    ///
    /// Books `blank-text`, `hidden-character`, `lost-character`; the warning `placeholder-text`.
    pub fn text(&self) -> Option<Text> {
        let (text, style) = self.leaf("a text")?;
        let text = if style == Style::Block {
            text.trim_end_matches('\n')
        } else {
            text
        };
        if text.trim().is_empty() {
            self.error(
                "blank-text",
                "found a text that holds only spaces",
                "a blank text says nothing",
                "write the text, or delete the key",
            );
            return None;
        }
        check_characters(text, &self.place())
            .map_err(|problem| self.tell(problem))
            .ok()?;
        if is_placeholder(text) {
            let what = format!("found `{}`", text.trim());
            let why = "a placeholder would be printed on the certificate as it stands";
            self.tell(Problem::warning(
                "placeholder-text",
                &self.place(),
                what,
                why,
                "write what is known, or delete the key",
            ));
        }
        Some(Text {
            text: text.to_owned(),
            place: self.place(),
        })
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
                    "yes" | "y" | "true" | "on" | "1" | "ja" | "x" => {
                        "write yes; allowed: yes, no, true, false"
                    }
                    "no" | "n" | "false" | "off" | "0" | "nein" => {
                        "write no; allowed: yes, no, true, false"
                    }
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
            return numbers
                .0
                .zip(numbers.1)
                .map(|(first, second)| [first, second]);
        }
        let found = if self.is_list() {
            format!("{} values", entries.len())
        } else {
            self.found()
        };
        let fix = match entries.as_slice() {
            [a, b, c, d] if [a, b, c, d].iter().all(|at| at.is_digits()) => {
                let raw = |at: &At<'t>| at.raw().unwrap_or_default();
                format!(
                    "decimal commas? write [{}.{}, {}.{}]",
                    raw(a),
                    raw(b),
                    raw(c),
                    raw(d)
                )
            }
            [_, _, _, _] | [_, _, _] => {
                "decimal commas? write two numbers with points, like [4.01, 177.3]".to_owned()
            }
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
            text.trim_start_matches(['-', '+', '\u{2212}'])
                .bytes()
                .all(|byte| byte.is_ascii_digit())
        })
    }
}

/// At most 60 characters of a text.
pub(super) fn shortened(text: &str) -> String {
    match text.char_indices().nth(60) {
        Some((end, _)) => format!("{}\u{2026}", &text[..end]),
        None => text.to_owned(),
    }
}

/// Characters that cannot be seen, or that were lost.
pub(super) fn check_characters(text: &str, place: &Place) -> Result<(), Problem> {
    let mut hidden: Vec<String> = text
        .chars()
        .filter(|c| is_hidden(*c))
        .map(|c| format!("U+{:04X}", u32::from(c)))
        .collect();
    hidden.dedup();
    if !hidden.is_empty() {
        hidden.truncate(8);
        let what = format!(
            "found characters that cannot be seen: {}",
            hidden.join(", ")
        );
        let why = "two names that look alike could differ in them";
        return Err(Problem::error(
            "hidden-character",
            place,
            what,
            why,
            "type the text anew instead of copying it",
        ));
    }
    if text.contains('\u{fffd}') {
        let what = "found U+FFFD, the mark for a character that was lost";
        let why = "an editor or a copy has replaced a character it could not show";
        return Err(Problem::error(
            "lost-character",
            place,
            what,
            why,
            "type the character again and save as UTF-8",
        ));
    }
    Ok(())
}

/// Words that stand for something to be filled in later.
fn is_placeholder(text: &str) -> bool {
    let word = text.trim().trim_end_matches(['.', '!', ':']).to_lowercase();
    let repeats = |letter: char, least: usize| {
        word.chars().count() >= least && word.chars().all(|c| c == letter)
    };
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
        question(
            &tree
                .root()
                .keys("a file")
                .and_then(|mut keys| keys.get("a"))
                .expect("the key a"),
        );
        tree.problems()
            .into_iter()
            .map(|problem| (problem.code, problem.place.column, problem.fix))
            .collect()
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
        ask("a: |\n  one\n  two\n", |at| {
            assert_eq!(
                at.text().map(|found| found.text).as_deref(),
                Some("one\ntwo")
            )
        });
    }

    #[test]
    fn blank_and_hidden_texts_are_problems() {
        let code = |text: &str| ask(text, |at| assert!(at.text().is_none()))[0].0;
        assert_eq!(code("a: '   '\n"), "blank-text");
        assert_eq!(code("a: ''\n"), "blank-text");
        assert_eq!(code("a: P\u{202e}H\n"), "hidden-character");
        assert_eq!(code("a: \"P\\e[31m\"\n"), "hidden-character");
        assert_eq!(code("a: P\u{200b}H\n"), "hidden-character");
        assert_eq!(code("a: 14 \u{fffd}C\n"), "lost-character");
        assert_eq!(code("a: [b]\n"), "expected-value");
    }

    #[test]
    fn placeholders_are_warnings() {
        for word in ["TBD", "n/a", "xxx", "XXXX", "'?'", "to do", "\u{2026}"] {
            let tree = read("visit.yaml", format!("a: {word}\n").as_bytes()).expect("a tree");
            assert!(
                tree.root()
                    .keys("a file")
                    .and_then(|mut keys| keys.get("a"))
                    .and_then(|at| at.text())
                    .is_some()
            );
            let problems = tree.problems();
            assert_eq!(
                (problems[0].code, problems[0].severity),
                ("placeholder-text", Severity::Warning),
                "{word}"
            );
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
    fn a_single_value_gets_the_list_as_fix() {
        let problems = ask("a: A. Name\n", |at| {
            assert!(at.list("technicians").is_none())
        });
        assert_eq!(
            problems,
            [("expected-list", 4, "write [A. Name]".to_owned())]
        );
    }

    #[test]
    fn misspelt_words_get_a_suggestion() {
        let words = [("pH", 1), ("redox", 2)];
        assert!(
            ask("a: redox\n", |at| assert_eq!(
                at.word("a quantity", &words),
                Some(2)
            ))
            .is_empty()
        );
        let problems = ask("a: redxo\n", |at| {
            assert_eq!(at.word("a quantity", &words), None)
        });
        assert_eq!(
            problems,
            [(
                "unknown-word",
                4,
                "did you mean `redox`? allowed: pH, redox".to_owned()
            )]
        );
    }

    #[test]
    fn yes_and_no_have_four_words() {
        for (typed, value) in [
            ("yes", true),
            ("true", true),
            ("no", false),
            ("false", false),
        ] {
            assert!(
                ask(&format!("a: {typed}\n"), |at| assert_eq!(
                    at.yes_no(),
                    Some(value)
                ))
                .is_empty()
            );
        }
        let problems = ask("a: \"true\"\n", |at| assert_eq!(at.yes_no(), None));
        assert_eq!(
            problems,
            [(
                "quoted-yes-or-no",
                4,
                "write true without quotes; allowed: yes, no, true, false".to_owned()
            )]
        );
        let problems = ask("a: Y\n", |at| assert_eq!(at.yes_no(), None));
        assert_eq!(
            problems,
            [(
                "yes-or-no",
                4,
                "write yes; allowed: yes, no, true, false".to_owned()
            )]
        );
    }

    #[test]
    fn four_numbers_for_two_are_decimal_commas() {
        let problems = ask("a: [4,01, 177,3]\n", |at| {
            assert!(at.pair::<Millivolt>("pH and mV").is_none())
        });
        assert_eq!(
            problems,
            [(
                "expected-pair",
                4,
                "decimal commas? write [4.01, 177.3]".to_owned()
            )]
        );
        let problems = ask("a: 0-14\n", |at| {
            assert!(at.pair::<Plain>("the ends").is_none())
        });
        assert_eq!(
            problems,
            [(
                "expected-pair",
                4,
                "write two numbers, like [0, 14]".to_owned()
            )]
        );
        let both = ask("a: [x, 7mA]\n", |at| {
            assert!(at.pair::<Millivolt>("the ends").is_none())
        });
        assert_eq!(
            both.iter().map(|problem| problem.0).collect::<Vec<_>>(),
            ["not-a-number", "wrong-unit"]
        );
        assert!(
            ask("a: [0, 14]\n", |at| assert!(
                at.pair::<Plain>("the ends").is_some()
            ))
            .is_empty()
        );
    }

    #[test]
    fn what_was_told_is_not_told_again() {
        let problems = ask("a:\n", |at| {
            assert!(
                at.text().is_none()
                    && at.number::<Millivolt>().is_none()
                    && at.list("x").is_none()
                    && at.keys("x").is_none()
            );
            assert!(
                at.pair::<Plain>("x").is_none()
                    && at.yes_no().is_none()
                    && at.word("x", &[("y", 1)]).is_none()
            );
        });
        assert_eq!(problems.len(), 1);
    }
}
