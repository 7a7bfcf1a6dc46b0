//! What `verify` says: one line a document, verdict first; then the register, what was at hand and what remains unproved.

use super::super::arguments::Format;
use super::super::check::counted;
use super::super::table::{BOLD, GREEN, RED, Style, YELLOW};
use super::Verified;
use crate::verify::{Answer, Asked, AtHand, Broken, FoundSignature, Ledger, Verdict, Voucher};
use serde_json::{Value, json};
use std::path::Path;

/// Width of the column of verdicts.
const WORD: usize = 16;
/// Width of a line.
const LINE: usize = 100;
/// Faults of a register that are told one by one.
const FAULTS: usize = 12;

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
    fn is_silent(&self, is_good: bool) -> bool {
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
        answer.faults.iter().chain(&answer.notes).for_each(|told| out += &under(told));
        out
    }

    /// A register.
    pub fn register(&self, verified: &Verified, asked: &Asked) -> String {
        let ledger = &verified.ledger;
        let is_good = ledger.broken.is_empty();
        if self.is_silent(is_good) {
            return String::new();
        }
        let folder = shown(ledger.view.folder());
        if self.format == Format::Json {
            return format!("{}\n", register_json(&folder, ledger, asked));
        }
        let (word, colour) = if is_good { ("stands", GREEN) } else { ("DOES NOT STAND", RED) };
        let (lines, documents) = (counted(ledger.lines.len(), "line"), counted(ledger.documents(), "document"));
        let kept = ledger.archive.as_ref().map(|kept| counted(kept.whole as usize, "sound file"));
        let archive = kept.map_or_else(String::new, |kept| format!(", {kept} in its archive"));
        let mut out = self.line(word, colour, &format!("register {folder}: {lines}, {documents}{archive}"));
        faults(ledger).iter().chain(&remarks(verified, asked)).for_each(|told| out += &under(told));
        if let Some(last) = ledger.lines.last() {
            out += &under(&format!("its last line, {}, has the hash {}", last.line, last.hash));
        }
        let at_hand = std::iter::once("the register".to_owned()).chain(proved(ledger));
        out += &self.block("at hand", &at_hand.collect::<Vec<_>>().join("; "));
        out + &self.block("unproved", &unproved(ledger))
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
    fn line(&self, word: &str, colour: &str, text: &str) -> String {
        format!("{}{}{text}\n", self.style.paint(word, colour), " ".repeat(WORD.saturating_sub(word.len())))
    }

    /// The same for sentences.
    fn block(&self, word: &str, text: &str) -> String {
        self.line(word, BOLD, under(text).trim())
    }
}

fn shown(folder: &Path) -> String {
    if folder.as_os_str().is_empty() { ".".to_owned() } else { folder.display().to_string() }
}

/// A sentence below a line.
fn under(text: &str) -> String {
    let indent = " ".repeat(WORD);
    let options = textwrap::Options::new(LINE)
        .initial_indent(&indent)
        .subsequent_indent(&indent)
        .break_words(false)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    format!("{}\n", textwrap::fill(text, options))
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

/// What is wrong with a register: the first broken line and what it means, then everything.
fn faults(ledger: &Ledger) -> Vec<String> {
    let mut told = Vec::new();
    if let Some(first) = ledger.first_broken() {
        let (before, behind) = ledger.documents_around(first);
        let (before, behind) = (counted(before, "document"), counted(behind, "document"));
        told.push(format!(
            "the first broken line is {first}; opened before it: {before}, linked to the first line without a gap; on it or \
             behind: {behind}, and only what vouches from outside shows that their lines are as they were written"
        ));
    }
    told.extend(ledger.broken.iter().take(FAULTS).map(Broken::told));
    if ledger.broken.len() > FAULTS {
        told.push(format!("… and {} more; `--format json` gives them all", ledger.broken.len() - FAULTS));
    }
    told
}

/// What is no fault and should be known.
fn remarks(verified: &Verified, asked: &Asked) -> Vec<String> {
    let Verified { group, ledger, seen } = verified;
    let mut told = Vec::new();
    let torn = ledger.view.index().torn();
    if torn > 0 {
        told.push(format!(
            "behind the last line stand {torn} bytes of one that a crash tore off: nobody was told of it, and the next `issue` \
             puts it aside"
        ));
    }
    if let Some(kept) = ledger.archive.as_ref().filter(|kept| kept.unnamed_count > 0) {
        let names: Vec<&str> = kept.unnamed.iter().take(3).map(|name| name.get(..16).unwrap_or(name)).collect();
        let more = if kept.unnamed_count > 3 { " …" } else { "" };
        told.push(format!(
            "in the archive {} that no line names: left by a run that broke off or was refused, or put there ({}{more})",
            counted(kept.unnamed_count as usize, "file"),
            names.join(", ")
        ));
    }
    told.extend(of_signatures(ledger, asked));
    let missing = ledger.documents_issued().saturating_sub(seen.len());
    if group.is_whole && !group.files.is_empty() && missing > 0 {
        told.push(format!(
            "{} of the register were not among the documents looked at",
            counted(missing, "issued document")
        ));
    }
    told
}

/// Signatures that prove nothing, without being wrong.
fn of_signatures(ledger: &Ledger, asked: &Asked) -> Vec<String> {
    let is_unknown = |it: &&FoundSignature| it.fault.is_none() && !it.is_trusted;
    let mut keys: Vec<&str> = ledger.signatures.iter().filter(is_unknown).map(|it| &it.key[..16]).collect();
    keys.sort_unstable();
    keys.dedup();
    if keys.is_empty() {
        return Vec::new();
    }
    let keys = keys.join(", ");
    match asked.trusted.is_empty() {
        true => vec![format!("signed by the key {keys}…; `--trust PUBKEY` tells whether it is one you trust")],
        false => vec![format!("signed as well by the key {keys}…, which is none of those trusted")],
    }
}

/// What vouches, and for which lines.
fn proved(ledger: &Ledger) -> Vec<String> {
    let lines = |from: u64, up_to: u64| match from == up_to {
        true => format!("line {from} is proved to be as it was then"),
        false => format!("lines {from} to {up_to} are proved to be as they were then"),
    };
    let mut told = Vec::new();
    for it in &ledger.vouched {
        let (lines, about) = (lines(it.from, it.up_to), ledger.described(it.up_to).unwrap_or_default());
        told.push(match &it.by {
            Voucher::HashOfLine { .. } => format!("a hash kept elsewhere, of line {} ({about}): {lines}", it.up_to),
            Voucher::Signature { key, at, line } => {
                format!("the signature of the trusted key {}… on line {line} ({at}): {lines}", &key[..16])
            }
        });
    }
    for number in ledger.files_kept_elsewhere.values() {
        told.push(format!("a hash kept elsewhere, of a file of {number}: that file is as it was then"));
    }
    told
}

/// What nothing at hand shows. A signature behind the last document needs no other proof.
fn unproved(ledger: &Ledger) -> String {
    let is_signature = |line: u64| ledger.signatures.iter().any(|it| it.line == line && it.fault.is_none());
    let last = ledger.lines.iter().rev().map(|seen| seen.line).find(|line| !is_signature(*line)).unwrap_or(0);
    let up_to = ledger.vouched.iter().map(|it| it.up_to).max();
    match up_to {
        None => "a register written anew as a whole, or cut at its end, cannot be told from itself: only a hash kept elsewhere \
                 (--anchor), a signature (--trust) or a certificate that somebody else kept shows it"
            .to_owned(),
        Some(up_to) if up_to >= last => "whether lines were cut off behind the last".to_owned(),
        Some(up_to) => format!(
            "the {} behind it, which hang together by the chain alone, and whether lines were cut off behind them",
            counted((last - up_to) as usize, "line")
        ),
    }
}

fn register_json(folder: &str, ledger: &Ledger, asked: &Asked) -> Value {
    let broken: Vec<Value> = ledger
        .broken
        .iter()
        .map(|broken| {
            let mut value = serde_json::to_value(broken).unwrap_or_default();
            merge(&mut value, json!({ "told": broken.told() }));
            value
        })
        .collect();
    let last = ledger.lines.last();
    let mut at_hand = vec![AtHand::Register];
    for it in &ledger.vouched {
        at_hand.push(match it.by {
            Voucher::HashOfLine { .. } => AtHand::HashKeptElsewhere,
            Voucher::Signature { .. } => AtHand::Signature,
        });
    }
    at_hand.sort_unstable();
    at_hand.dedup();
    let around = ledger.first_broken().map(|line| ledger.documents_around(line));
    json!({
        "register": folder,
        "verdict": if ledger.broken.is_empty() { "stands" } else { "fails" },
        "lines": ledger.lines.len(),
        "documents": ledger.documents(),
        "last_line": last.map(|seen| seen.line),
        "hash": last.map(|seen| &seen.hash),
        "first_broken_line": ledger.first_broken(),
        "documents_before": around.map(|(before, _)| before),
        "documents_behind": around.map(|(_, behind)| behind),
        "faults": broken,
        "torn_bytes": ledger.view.index().torn(),
        "archive": ledger.archive,
        "vouched": ledger.vouched,
        "signatures": ledger.signatures,
        "anchors": asked.anchors,
        "at_hand": at_hand,
        "unproved": unproved(ledger),
    })
}

/// Adds the keys of one object to another.
fn merge(into: &mut Value, from: Value) {
    if let (Some(into), Value::Object(from)) = (into.as_object_mut(), from) {
        into.extend(from);
    }
}
