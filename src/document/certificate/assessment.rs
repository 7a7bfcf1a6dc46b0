//! The assessment: opinions on what the figures point to, set apart from the results, with basis and name.

use super::Sheet;
use crate::document::Block;
use crate::document::print::{led, plain};
use crate::engine::diagnosis::{Hazard, On, Outcome};
use crate::record::{FindingRecord, RemedyRecord, Stage};
use crate::rounding::change;
use crate::wording::hazards;

/// How many findings the first part names.
const LEADING: usize = 2;

/// The leading findings in short, for the first part.
pub(super) fn in_short(sheet: &Sheet) -> Option<Block> {
    let record = sheet.record;
    let named = |finding: &FindingRecord| {
        let cause = sheet.print.words.finding_cause(record, finding);
        let titled = format!("{}.", titled(sheet, finding));
        [Some(titled), cause].into_iter().flatten().collect::<Vec<_>>().join(" ")
    };
    let leading: Vec<String> = record.findings.iter().take(LEADING).map(named).collect();
    let text = match record.findings.len().saturating_sub(LEADING) {
        0 => leading.join(" "),
        more => sheet.print.say("assessment-more", &[("named", &leading.join(" ")), ("count", &more.to_string())]),
    };
    (!text.is_empty()).then(|| Block::Paragraph(led(sheet.label("assessment-short"), text)))
}

/// Every finding with evidence, meaning and advice; whose opinion it is and on what it rests.
pub(super) fn in_full(sheet: &Sheet) -> Vec<Block> {
    let (record, print) = (sheet.record, &sheet.print);
    if record.findings.is_empty() {
        return Vec::new();
    }
    let told = |finding: &FindingRecord| {
        let said = print.words.finding(record, finding, print.sign);
        led(titled(sheet, finding), format!("{} {} {}", said.evidence, said.what, said.advice))
    };
    let basis = plain(print.say("assessment-basis", &[("name", &whose(sheet))]));
    let list = record.findings.iter().map(told).chain([basis]).collect();
    vec![sheet.heading("assessment"), Block::List(list)]
}

/// What the advice of the findings that are not resolved may hurt.
pub(super) fn advised(sheet: &Sheet) -> Vec<Hazard> {
    let open = sheet.record.findings.iter().filter(|finding| finding.resolved != Some(true));
    open.flat_map(|finding| hazards(finding.code)).collect()
}

/// Whose opinion it is: who authorised, else who performed, else the firm.
fn whose(sheet: &Sheet) -> String {
    let signatures = &sheet.record.visit.signatures;
    let signed = |role: &str| signatures.iter().find(|signature| signature.role == role);
    let by = sheet.record.measuring_loop.by.clone();
    let authorised = signed("authorised").map(|signature| signature.name.clone());
    let performed = signed("performed").map(|signature| signature.name.clone());
    authorised.or(by).or(performed).unwrap_or_else(|| super::author(&sheet.print, sheet.firm))
}

/// `Low slope and moved offset (resolved)`.
fn titled(sheet: &Sheet, finding: &FindingRecord) -> String {
    let state = match (finding.stage, finding.resolved) {
        (Stage::AsLeft, _) => "finding-as-left",
        (Stage::AsFound, Some(true)) => "finding-gone",
        (Stage::AsFound, Some(false)) => "finding-open",
        (Stage::AsFound, None) => "finding-unknown",
    };
    let title = sheet.print.words.finding_title(finding.code);
    sheet.print.say("finding-titled", &[("title", title), ("state", &sheet.label(state))])
}

/// What a remedy did, in a few words: `worked: +12.3 %`, `no effect`, `does not act on the slope`.
pub(super) fn effect(sheet: &Sheet, remedy: &RemedyRecord) -> Option<String> {
    let (print, effect) = (&sheet.print, remedy.effect?);
    let (word, unit, decimals) = match effect.on {
        On::Slope => ("slope", "%", 1),
        On::Offset => ("offset", "mV", 1),
        On::Response => ("response", "s", 0),
        On::Error => ("error", "mV", 0),
    };
    let change = print.signed(change(effect.before, effect.after, decimals), decimals, unit);
    let on = print.word("effect-on", word);
    let key = match effect.outcome {
        Outcome::Worked => "effect-worked",
        Outcome::Helped => "effect-helped",
        Outcome::NoEffect => "effect-none",
        Outcome::Worse => "effect-worse",
        Outcome::DoesNotAct => "effect-does-not-act",
    };
    let said = print.say(key, &[("on", &on), ("change", &change)]);
    Some(match effect.together_with {
        0 => said,
        1 => print.say("effect-with-one", &[("effect", &said)]),
        count => print.say("effect-with-several", &[("effect", &said), ("count", &count.to_string())]),
    })
}

#[cfg(test)]
mod tests;
