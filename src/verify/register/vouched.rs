//! What is proved from outside: hashes kept elsewhere, and signatures of trusted keys.
//!
//! Comes in: the lines of a chain, hashes and keys. Goes out: which lines are proved by what. Next: [`super::Ledger`].

use super::chain::{Seen, stretch};
use super::{Broken, SignatureFault};
use crate::register::{PublicKey, Signed};
use serde::Serialize;
use std::collections::BTreeMap;

/// What vouches.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "by", rename_all = "kebab-case")]
pub enum Voucher {
    /// A hash kept elsewhere is that of a line.
    HashOfLine {
        /// The hash.
        hash: String,
    },
    /// A key that is trusted signed.
    Signature {
        /// The public key.
        key: String,
        /// When, as the line says.
        at: String,
        /// The line with the signature.
        line: u64,
    },
}

/// Lines that are proved to be as they were when somebody vouched for them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Vouched {
    /// First line that is proved.
    pub from: u64,
    /// Last line that is proved.
    pub up_to: u64,
    /// By what.
    #[serde(flatten)]
    pub by: Voucher,
}

/// A signature that was found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FoundSignature {
    /// The line with it.
    pub line: u64,
    /// Moment, as the line says.
    pub at: String,
    /// The last line that it vouches for; none: that line is not here.
    pub up_to: Option<u64>,
    /// The public key.
    pub key: String,
    /// Whether the key is one of those trusted.
    pub is_trusted: bool,
    /// What is wrong with it.
    pub fault: Option<SignatureFault>,
}

/// Judges every signature of a register.
pub(super) fn signatures(lines: &[Seen], signed: &[(u64, Signed)], trusted: &[PublicKey]) -> Vec<FoundSignature> {
    let keys: Vec<String> = trusted.iter().map(PublicKey::hex).collect();
    let judged = |(line, signed): &(u64, Signed)| {
        let is_meant = |seen: &&Seen| seen.hash == signed.hash && seen.entry == signed.up_to && seen.line < *line;
        let vouched = lines.iter().find(is_meant).map(|seen| seen.line);
        let fault = match (signed.is_genuine(), vouched) {
            (false, _) => Some(SignatureFault::Forged),
            (true, None) => Some(SignatureFault::OfAnotherLine { up_to: signed.up_to }),
            (true, Some(_)) => None,
        };
        FoundSignature {
            line: *line,
            at: signed.at.clone(),
            up_to: vouched,
            key: signed.key.clone(),
            is_trusted: keys.contains(&signed.key),
            fault,
        }
    };
    signed.iter().map(judged).collect()
}

/// What those signatures prove and what they break.
pub(super) fn by_signature(found: &[FoundSignature], breaks: &[u64], is_asked: bool) -> (Vec<Vouched>, Vec<Broken>) {
    let broken =
        found.iter().filter_map(|it| Some(Broken::Signature { line: it.line, key: it.key.clone(), why: it.fault? }));
    let mut broken: Vec<Broken> = broken.collect();
    // Of the signatures in one stretch, the last proves all that the others do.
    let mut last = BTreeMap::new();
    for it in found.iter().filter(|it| it.is_trusted && it.fault.is_none()) {
        if let Some(up_to) = it.up_to {
            let by = Voucher::Signature { key: it.key.clone(), at: it.at.clone(), line: it.line };
            let from = stretch(breaks, up_to);
            last.insert(from, Vouched { from, up_to, by });
        }
    }
    if is_asked && last.is_empty() {
        broken.push(Broken::Unsigned);
    }
    (last.into_values().collect(), broken)
}

/// What hashes kept elsewhere prove.
pub(super) fn by_hash(lines: &[Seen], breaks: &[u64], anchors: &[String]) -> Vec<Vouched> {
    let of_line = |hash: &String| {
        let seen = lines.iter().find(|seen| seen.hash == *hash)?;
        let by = Voucher::HashOfLine { hash: hash.clone() };
        Some(Vouched { from: stretch(breaks, seen.line), up_to: seen.line, by })
    };
    anchors.iter().filter_map(of_line).collect()
}
