//! What `verify` says of a register: whether it stands, what is wrong with it, what was at hand and what remains unproved.

use super::super::arguments::Format;
use super::super::check::counted;
use super::super::table::{GREEN, RED};
use super::Verified;
use super::tell::{Teller, merge, shown, under};
use crate::verify::{Asked, AtHand, Broken, FoundSignature, Ledger, Voucher};
use serde_json::{Value, json};

/// Faults that are told one by one.
const FAULTS: usize = 12;

impl Teller {
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
        let names: Vec<&str> = kept.unnamed.iter().take(3).map(|name| short(name)).collect();
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
    let mut keys: Vec<&str> = ledger.signatures.iter().filter(is_unknown).map(|it| short(&it.key)).collect();
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
                format!("the signature of the trusted key {}… on line {line} ({at}): {lines}", short(key))
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

/// The beginning of a hash or key.
fn short(hash: &str) -> &str {
    hash.get(..16).unwrap_or(hash)
}
