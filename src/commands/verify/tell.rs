//! What `verify` says of documents: one line each, verdict first; then what the run came to.

use super::super::arguments::Format;
use super::super::check::counted;
use super::super::table::{BOLD, GREEN, RED, Style, YELLOW};
use crate::verify::{Answer, Asked, AtHand, Verdict};
use serde_json::{Value, json};
use std::path::Path;

/// Width of the column of verdicts.
const WORD: usize = 16;
/// Width of a line.
const LINE: usize = 100;

/// How it is said.
#[derive(Debug)]
pub struct Teller {
    /// Text or JSON.
    pub format: Format,
    /// Whether only what does not stand is told.
    pub is_quiet: bool,
    /// Colours.
    pub style: Style,
}

/// What a run came to.
#[derive(Debug, Default)]
pub struct Counts {
    stands: usize,
    replaced: usize,
    drafts: usize,
    agrees: usize,
    pending: usize,
    unproved: usize,
    fails: usize,
    /// Documents for which there was no register.
    alone: usize,
    /// Pages in folders that are no certificates.
    pub passed_over: usize,
    /// Registers that do not stand.
    pub broken_registers: usize,
    /// Hashes kept elsewhere that nothing has, where no register was found.
    pub unmatched: Vec<String>,
}

impl Counts {
    /// Counts a document.
    pub fn take(&mut self, answer: &Answer) {
        self.alone += usize::from(!answer.at_hand.contains(&AtHand::Register));
        let count = match answer.verdict {
            Verdict::Stands => &mut self.stands,
            Verdict::Replaced { .. } => &mut self.replaced,
            Verdict::Draft { .. } => &mut self.drafts,
            Verdict::Agrees => &mut self.agrees,
            Verdict::Pending => &mut self.pending,
            Verdict::Unproved => &mut self.unproved,
            Verdict::Fails => &mut self.fails,
        };
        *count += 1;
    }

    /// How many documents do not stand.
    pub fn fallen(&self) -> usize {
        self.pending + self.unproved + self.fails
    }

    /// Whether something does not stand.
    pub fn has_faults(&self) -> bool {
        self.pending + self.unproved + self.fails + self.broken_registers > 0 || !self.unmatched.is_empty()
    }

    fn told(&self) -> Option<String> {
        let each = [
            (self.stands, "stand"),
            (self.replaced, "replaced"),
            (self.drafts, "draft"),
            (self.agrees, "agree with themselves"),
            (self.pending, "pending"),
            (self.unproved, "unproved"),
            (self.fails, "DO NOT STAND"),
        ];
        let all: usize = each.iter().map(|(count, _)| count).sum();
        let parts: Vec<String> =
            each.iter().filter(|(count, _)| *count > 0).map(|(count, word)| format!("{count} {word}")).collect();
        let passed = match self.passed_over {
            0 => String::new(),
            count => format!("; {} passed over, no certificate", counted(count, "page")),
        };
        (all > 1).then(|| format!("{}: {}{passed}", counted(all, "document"), parts.join(", ")))
    }
}

impl Teller {
    pub(super) fn is_silent(&self, is_good: bool) -> bool {
        self.is_quiet && is_good
    }

    /// One document.
    pub fn document(&self, file: &Path, register: Option<&Path>, answer: &Answer, asked: &Asked) -> String {
        if self.is_silent(answer.is_good()) {
            return String::new();
        }
        if self.format == Format::Json {
            let mut line = json!({ "file": file.display().to_string(), "register": register.map(shown) });
            merge(&mut line, serde_json::to_value(answer).unwrap_or_default());
            return format!("{line}\n");
        }
        let (word, colour) = word(&answer.verdict);
        let issued = answer.issued.as_ref().map_or_else(String::new, |issued| format!(", issued {issued}"));
        let number = answer.number.as_ref().map_or_else(String::new, |number| format!("  {number}{issued}"));
        let status = status(&answer.verdict).map_or_else(String::new, |status| format!(": {status}"));
        let is_asked = !asked.anchors.is_empty() || !asked.trusted.is_empty();
        let alone = if is_asked && answer.by_chain_alone { " (by the chain alone)" } else { "" };
        let mut out = self.line(word, colour, &format!("{}{number}{status}{alone}", file.display()));
        answer.faults.iter().for_each(|told| out += &under(told));
        // What a reader of a document alone should know, the register has answered.
        if !answer.is_good() || !answer.at_hand.contains(&AtHand::Register) {
            answer.notes.iter().for_each(|told| out += &under(told));
        }
        out
    }

    /// The end of a run.
    pub fn end(&self, counts: &Counts) -> String {
        if self.format == Format::Json {
            let unmatched = counts.unmatched.iter().map(|hash| format!("{}\n", json!({ "unmatched_anchor": hash })));
            return unmatched.collect();
        }
        let mut out = String::new();
        for hash in &counts.unmatched {
            out += &self.line("DOES NOT STAND", RED, &format!("no document here has the hash kept elsewhere, {hash}"));
        }
        if self.is_quiet {
            return out;
        }
        if counts.alone > 0 {
            out += &self.block("at hand", "the document alone: no register lies in its folder or beside it");
            out += &self.block(
                "unproved",
                "that it is the original, and still in force: a forgery of page, data and record that agrees with itself is \
                 found only by the register, or by the SHA-256 of the file, kept elsewhere",
            );
        }
        counts.told().map_or_else(|| out.clone(), |told| format!("{out}\n{told}\n"))
    }

    /// A line: the word, then what it is about.
    pub(super) fn line(&self, word: &str, colour: &str, text: &str) -> String {
        format!("{}{}\n", self.word(word, colour), harmless(text))
    }

    /// The same for sentences, broken into lines.
    pub(super) fn block(&self, word: &str, text: &str) -> String {
        format!("{}{}\n", self.word(word, BOLD), under(text).trim())
    }

    fn word(&self, word: &str, colour: &str) -> String {
        format!("{}{}", self.style.paint(word, colour), " ".repeat(WORD.saturating_sub(word.len())))
    }
}

pub(super) fn shown(folder: &Path) -> String {
    if folder.as_os_str().is_empty() { ".".to_owned() } else { folder.display().to_string() }
}

/// A text as a terminal may show it: whoever wrote a register or named a file cannot move the cursor or turn letters round.
fn harmless(text: &str) -> String {
    let is_turning = |c: char| matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    text.chars().map(|c| if c.is_control() || is_turning(c) { '\u{fffd}' } else { c }).collect()
}

/// A sentence below a line.
pub(super) fn under(text: &str) -> String {
    let indent = " ".repeat(WORD);
    let options = textwrap::Options::new(LINE)
        .initial_indent(&indent)
        .subsequent_indent(&indent)
        .break_words(false)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    format!("{}\n", textwrap::fill(&harmless(text), options))
}

fn word(verdict: &Verdict) -> (&'static str, &'static str) {
    match verdict {
        Verdict::Stands => ("stands", GREEN),
        Verdict::Replaced { .. } => ("replaced", YELLOW),
        Verdict::Draft { .. } => ("draft", YELLOW),
        Verdict::Agrees => ("agrees", GREEN),
        Verdict::Pending => ("pending", YELLOW),
        Verdict::Unproved => ("unproved", YELLOW),
        Verdict::Fails => ("DOES NOT STAND", RED),
    }
}

fn status(verdict: &Verdict) -> Option<String> {
    match verdict {
        Verdict::Replaced { by, by_issued } => {
            Some(format!("stands, but replaced by {by}, issued {by_issued}; ask for that one"))
        }
        Verdict::Draft { stands_as: Some(number), is_settled: true } => {
            Some(format!("stands as a draft, and {number} was issued since; ask for that one"))
        }
        Verdict::Draft { stands_as: Some(number), is_settled: false } => {
            Some(format!("stands as a draft, signatures awaited; {number} is not issued yet"))
        }
        Verdict::Draft { stands_as: None, .. } => Some("stands as a draft, signatures awaited".to_owned()),
        Verdict::Stands | Verdict::Agrees | Verdict::Pending | Verdict::Unproved | Verdict::Fails => None,
    }
}

/// Adds the keys of one object to another.
pub(super) fn merge(into: &mut Value, from: Value) {
    if let (Some(into), Value::Object(from)) = (into.as_object_mut(), from) {
        into.extend(from);
    }
}
