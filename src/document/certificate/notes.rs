//! Limits and rule, deviations, process, condition, remarks, and how everything was computed.

use super::head::{compensation, two_ends};
use super::readings;
use super::verdicts::limits_name;
use super::{Sheet, checks, sentence};
use crate::document::print::{Print, ended, joined, led, plain};
use crate::document::{Block, Fact, Paragraph};
use crate::engine::student::COVERAGE;
use crate::record::{CertificateFacts, KeepFacts, Quantity};
use crate::rounding::prose;

/// Largest risk of a wrong pass with a guard band of U, percent.
///
/// Source: ILAC-G8:09/2019, 4.2.2 and table 1 (w = U, one-sided, about 95 % coverage; from memory).
const GUARDED_RISK_PERCENT: f64 = 2.5;

/// The limits with revision, day and basis, and the decision rule with its risk.
pub(super) fn limits(sheet: &Sheet) -> Vec<Block> {
    let (limits, print) = (&sheet.record.limits, &sheet.print);
    let say = |key: &str, text: &Option<String>| {
        let text = text.as_deref().map(prose);
        text.map(|text| print.say(key, &[("text", &text)]))
    };
    let regime = print.word("regime", &limits.requirements);
    let set = joined([
        Some(limits_name(sheet)),
        say("limits-effective", &print.day_if(&limits.effective)),
        say("limits-approved", &limits.approved_by),
        say("limits-basis", &limits.basis),
        Some(print.say("limits-regime", &[("text", &regime)])),
    ]);
    let rule = match limits.decision.as_str() {
        "simple" => print.label("rule-simple"),
        "guarded" => print.say("rule-guarded", &[("risk", &print.fixed(GUARDED_RISK_PERCENT, 1, "%"))]),
        _ => print.say("rule-other", &[("rule", &print.decision(&limits.decision))]),
    };
    vec![
        sheet.heading("limits"),
        Block::Paragraph(plain(format!(
            "{} {rule} {}",
            print.say("limits-set", &[("text", &set)]),
            print.label("rule-rounding")
        ))),
    ]
}

/// Every deviation with its reason, «none» when there is none; then what was asked for and could not be judged.
pub(super) fn deviations(sheet: &Sheet) -> Vec<Block> {
    let print = &sheet.print;
    let deviations = sheet.record.deviations.iter().map(|deviation| {
        let reason = deviation.reason.as_deref().map(prose);
        let reason = reason.map(|reason| print.say("deviation-reason", &[("reason", &reason)]));
        let said = print.words.deviation(&deviation.code, &deviation.facts, &sheet.record.slips, print.sign);
        debug_assert!(said.is_some(), "the deviation {} has no sentence for {:?}", deviation.code, deviation.facts);
        let said = said.unwrap_or_else(|| ended(as_sentence(&deviation.what)));
        let parts: Vec<String> = [Some(said), reason].into_iter().flatten().collect();
        plain(parts.join(" "))
    });
    let deviations: Vec<Paragraph> = deviations.collect();
    let list = match deviations.is_empty() {
        true => sentence(sheet, "none"),
        false => Block::List(deviations),
    };
    let not_judged = checks::not_judged(sheet).map(|told| Block::List(vec![told]));
    [Some(sheet.heading("deviations")), Some(list), not_judged].into_iter().flatten().collect()
}

/// What a remark says, as a page says it: begun with a capital, the names of a file without their ticks.
fn as_sentence(what: &str) -> String {
    let text = prose(what).replace('`', "").replace('«', "“").replace('»', "”").replace(" -", " −");
    let mut characters = text.chars();
    match characters.next() {
        Some(first) if !text.starts_with("pH") => first.to_uppercase().chain(characters).collect(),
        Some(_) | None => text,
    }
}

/// Conditions, and process values around the work.
pub(super) fn process(sheet: &Sheet) -> Vec<Block> {
    let (process, print) = (&sheet.record.measuring_loop.process, &sheet.print);
    let quantity = sheet.record.quantity;
    let value = |key: &str, typed: &Option<String>| {
        let typed = typed.as_ref()?;
        Some(print.fact(key, print.typed_indication(quantity, typed)))
    };
    let fouling = process.fouling.map(|fouling| {
        let typed = process.before_cleaning.as_deref().unwrap_or_default();
        let decimals = crate::rounding::decimals_typed(typed);
        print.fact("fouling", print.difference(quantity, fouling, decimals))
    });
    let usual = process.usual.as_ref();
    let usual = usual.map(|ends| print.fact("usual", two_ends(sheet, ends)));
    let visit = &sheet.record.visit;
    let ambient = visit.ambient_typed.as_ref();
    let ambient = ambient.map(|typed| print.typed(typed, "°C"));
    let conditions = joined([ambient, visit.conditions.as_deref().map(prose)]);
    let conditions = Some(conditions).filter(|text| !text.is_empty());
    let conditions = conditions.unwrap_or_else(|| print.label("not-recorded"));
    let compensation = compensation(sheet).map(|mode| print.word("compensation", mode));
    let compensation = compensation.unwrap_or_else(|| print.label("not-recorded"));
    let mut facts: Vec<Fact> = [
        Some(print.fact("conditions", conditions)),
        sheet.is_ph().then(|| print.fact("compensation", compensation)),
        usual,
        value("before-cleaning", &process.before_cleaning),
        value("after-cleaning", &process.after_cleaning),
        fouling,
        value("back-in-service", &process.back_in_service),
        print.fact_if("conductivity", process.conductivity.as_deref().map(|typed| print.typed(typed, "µS/cm"))),
    ]
    .into_iter()
    .flatten()
    .collect();
    facts.splice(2.min(facts.len())..2.min(facts.len()), readings::stored(sheet));
    vec![sheet.heading("process"), Block::Facts(facts)]
}

/// Condition of the probe as received, remarks, photos, private keys.
pub(super) fn probe_and_remarks(sheet: &Sheet) -> Vec<Block> {
    let (facts, print) = (&sheet.record.measuring_loop, &sheet.print);
    let condition = facts.probe.condition.as_deref().map(prose);
    let condition = condition.unwrap_or_else(|| print.label("not-noted"));
    let mut list = vec![led(print.label("as-received"), condition)];
    let remarks = facts.remarks.as_deref().map(prose);
    list.extend(remarks.map(|remarks| led(print.label("remarks"), remarks)));
    list.extend(facts.photos.iter().map(|photo| {
        let text = joined([Some(photo.file.clone()), photo.shows.as_deref().map(prose)]);
        led(print.label("photo"), text)
    }));
    let extensions = sheet.record.visit.extensions.iter().chain(&facts.extensions);
    list.extend(extensions.map(|(key, text)| led(key, prose(text))));
    vec![sheet.heading("probe-and-remarks"), Block::List(list)]
}

/// Files that the page names; the record names all, earlier visits last.
const SOURCES_SHOWN: usize = 12;

/// How it was computed.
pub(super) fn computed(sheet: &Sheet) -> Vec<Block> {
    let print = &sheet.print;
    let method = match sheet.record.quantity {
        Quantity::Ph => print.label("method-ph"),
        Quantity::Redox => print.say("method-redox", &[("reference", &reference(sheet))]),
    };
    let known = print.say("method-uncertainty", &[("coverage", &print.fixed(100.0 * COVERAGE, 2, "%"))]);
    vec![sheet.heading("computed"), Block::List(vec![plain(method), plain(known)])]
}

/// On what the values rest, from which files and by which program the document was made, when it was issued, and how long it is kept.
pub(super) fn made(sheet: &Sheet) -> Block {
    let print = &sheet.print;
    let all = &sheet.record.sources;
    let sources = all.iter().take(SOURCES_SHOWN).map(|source| {
        let hash = short_hash(&source.sha256);
        print.say("source-file", &[("name", &source.name), ("hash", &hash)])
    });
    let more = all.len().saturating_sub(SOURCES_SHOWN);
    let more = (more > 0).then(|| print.say("source-more", &[("count", &more.to_string())]));
    let sources = sources.chain(more).collect::<Vec<_>>().join(", ");
    let program = print.say("program", &[("program", &sheet.record.program), ("sources", &sources)]);
    let text = [traceability(sheet), Some(program), Some(document(sheet))];
    Block::Paragraph(led(print.label("document"), text.into_iter().flatten().collect::<Vec<_>>().join(" ")))
}

/// The reference electrode of the probe that was left, else found.
fn reference(sheet: &Sheet) -> String {
    let facts = &sheet.record.measuring_loop;
    let probe = facts.probe_left.as_ref().unwrap_or(&facts.probe);
    let reference = probe.reference.as_ref().or(facts.probe.reference.as_ref());
    match reference {
        Some(reference) => sheet.print.electrode(reference),
        None => sheet.label("not-recorded"),
    }
}

/// Which standards and instruments carry a certificate; nothing where none does.
fn traceability(sheet: &Sheet) -> Option<String> {
    let print = &sheet.print;
    let certified = |name: &str, certificate: &Option<String>| certificate.as_ref().map(|_| name.to_owned());
    let record = sheet.record;
    let standards = record.standards.iter();
    let standards = standards.filter_map(|s| certified(&s.name, &s.certificate));
    let instruments = record.instruments.iter();
    let instruments = instruments.filter_map(|i| certified(&i.name, &i.certificate));
    let items: Vec<String> = standards.chain(instruments).collect();
    let text = items.join(", ");
    (!items.is_empty()).then(|| print.say("trace", &[("items", &text)]))
}

/// Number, kind, issue, predecessor.
fn document(sheet: &Sheet) -> String {
    let (certificate, print) = (&sheet.record.certificate, &sheet.print);
    let say = |key: &str, text: &Option<String>| text.as_ref().map(|text| print.say(key, &[("text", text)]));
    let issued = certificate.issued.as_ref().map(|issued| print.moment(issued));
    let parts = [
        say("document-issued", &issued),
        say("document-replaces", &certificate.replaces),
        say(
            "document-original",
            &certificate.original.clone().filter(|_| certificate.original != certificate.replaces),
        ),
        certificate.registered.is_none().then(|| print.label("not-registered-sentence")),
        keep(print, sheet.record.keep.as_ref()),
        (sheet.record.limits.requirements == "permit").then(|| print.label("keep-authority")),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// Until when the document must be kept at least, and what asks for that.
pub(in crate::document) fn keep(print: &Print, keep: Option<&KeepFacts>) -> Option<String> {
    let keep = keep?;
    let span = match keep.span.split_once(' ') {
        Some((count, unit)) => format!("{count}\u{a0}{}", print.word("time", unit)),
        None => keep.span.clone(),
    };
    let rule = match keep.rule.as_str() {
        "permit" => print.say("keep-permit", &[("text", &span)]),
        "limits" => print.say("keep-limits", &[("text", &span)]),
        _ => print.say("keep-client", &[("text", &span)]),
    };
    Some(print.say("keep-until", &[("day", &print.day(&keep.until)), ("rule", &rule)]))
}

/// The beginning of the hash of the document's line in the register, or that there is none.
pub(in crate::document) fn registered(print: &Print, certificate: &CertificateFacts) -> String {
    match &certificate.registered {
        Some(hash) => print.say("registered", &[("hash", &short_hash(hash))]),
        None => print.label("not-registered"),
    }
}

/// The end of a document, with the whole hash of its line in the register.
pub(in crate::document) fn end_mark(print: &Print, end: String, certificate: &CertificateFacts) -> Block {
    let registered = certificate.registered.as_ref().map(|hash| print.say("registered", &[("hash", hash)]));
    Block::EndMark([Some(end), registered].into_iter().flatten().collect::<Vec<_>>().join(" · "))
}

/// The first 12 digits of a hash in groups of four.
pub(super) fn short_hash(hash: &str) -> String {
    let groups: Vec<&str> = (0..3).filter_map(|i| hash.get(4 * i..4 * i + 4)).collect();
    groups.join("\u{a0}")
}
