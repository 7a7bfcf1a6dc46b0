//! The certificate of one loop: a first part for who reads it, a second for who audits it.

mod assessment;
mod checks;
mod drawings;
mod head;
pub(super) mod history;
mod kit;
pub(super) mod notes;
mod readings;
mod remedies;
mod settling;
mod uncertainty;
mod verdicts;

use super::following;
use super::print::{Print, end_leads, plain};
use super::{Block, Brand, Column, Document, Paragraph, Part, Running, SignatureBlock};
use crate::firm::{Firm, Role};
use crate::problem::Place;
use crate::quantity::Moment;
use crate::record::{CertificateFacts, Quantity, Record, SignatureFacts, VisitFacts};

/// What the sections of a certificate are composed from.
#[derive(Debug, Clone, Copy)]
struct Sheet<'a> {
    record: &'a Record,
    firm: &'a Firm,
    print: Print,
}

impl Sheet<'_> {
    fn label(&self, key: &str) -> String {
        self.print.label(key)
    }

    fn heading(&self, key: &str) -> Block {
        Block::Heading(self.print.label(key))
    }

    fn is_ph(&self) -> bool {
        match self.record.quantity {
            Quantity::Ph => true,
            Quantity::Redox => false,
        }
    }

    /// Whether nothing was done: found is what was left.
    fn is_untouched(&self) -> bool {
        is_untouched(self.record)
    }
}

/// Whether nothing was adjusted, set to a sample or remedied: found is what was left.
pub(super) fn is_untouched(record: &Record) -> bool {
    let facts = &record.measuring_loop;
    let changed = facts.adjusted || facts.standardised.is_some() || !record.remedies.is_empty();
    record.as_left.is_none() && !changed
}

/// The certificate of `record` as the firm issues it. It is a draft until every signature that the firm requires is
/// there, and a preview while it has no number.
pub fn certificate(record: &Record, firm: &Firm) -> Document {
    let print = Print::of(firm, &record.client);
    let sheet = Sheet { record, firm, print };
    let number = number(&print, record);
    let mut parts = parts(&sheet, &number);
    parts.iter_mut().for_each(|part| end_leads(&mut part.blocks, print.words.label("colon")));
    Document {
        title: title(&sheet),
        subtitle: subtitle(&sheet),
        language: print.words.language.to_owned(),
        paper: firm.paper,
        accent: firm.accent,
        brand: brand(&print, firm),
        running: running(&sheet),
        parts,
        issued: moment_of_issue(record.certificate.issued.as_deref()),
        author: author(&print, firm),
        data: String::new(),
        attachments: Vec::new(),
        number,
    }
}

/// `2026-05-13T08:15+02:00` of a moment as printed.
pub(super) fn moment_of_issue(printed: Option<&str>) -> String {
    printed.unwrap_or_default().replacen(' ', "T", 1).replace(' ', "")
}

fn number(print: &Print, record: &Record) -> String {
    let number = record.certificate.number.clone();
    number.unwrap_or_else(|| print.label("no-number"))
}

/// `Calibration record`; of one that follows another, what it is to that.
fn title(sheet: &Sheet) -> String {
    let (print, certificate) = (&sheet.print, &sheet.record.certificate);
    following::title(print, certificate, false).unwrap_or_else(|| sheet.label("title"))
}

fn subtitle(sheet: &Sheet) -> String {
    let key = match sheet.record.quantity {
        Quantity::Ph => "loop-ph",
        Quantity::Redox => "loop-redox",
    };
    let named = sheet.print.say(key, &[("tag", &sheet.record.tag)]);
    let named = match &sheet.record.measuring_loop.location {
        Some(location) => format!("{named}, {location}"),
        None => named,
    };
    following::subtitle(&sheet.print, &sheet.record.certificate, named, false)
}

/// Name of the firm, or that none is named.
pub(super) fn author(print: &Print, firm: &Firm) -> String {
    match &firm.name {
        Some(name) => name.text.clone(),
        None => print.label("no-firm"),
    }
}

/// Brand of the firm; the accreditation text only where the firm file gives one.
pub(super) fn brand(print: &Print, firm: &Firm) -> Brand {
    let contact = firm.contact.iter().map(|contact| contact.text.clone());
    let address = firm.address.iter().cloned().chain(contact);
    let mut lines = vec![address.collect::<Vec<_>>().join(" · ")];
    lines.extend(firm.accreditation.iter().map(|text| text.text.clone()));
    lines.retain(|line| !line.is_empty());
    Brand { name: author(print, firm), lines, logo: firm.logo.clone(), fonts: firm.fonts.clone() }
}

/// Why the document is not (yet) one: no number, or signatures awaited.
pub(super) fn draft(print: &Print, firm: &Firm, visit: &VisitFacts, certificate: &CertificateFacts) -> Option<String> {
    if certificate.number.is_none() {
        return Some(print.label("draft-preview"));
    }
    let awaited = awaited(firm, visit, certificate);
    let awaited: Vec<String> = awaited.into_iter().map(|role| print.word("role", role)).collect();
    match awaited.is_empty() {
        true => None,
        false => Some(print.say("draft-awaits", &[("roles", &awaited.join(", "))])),
    }
}

/// Whether signatures that the firm requires are awaited: the document of this visit is a draft.
///
/// The signatures of the visit say nothing of a re-evaluation but who did the work: it stands when it was authorised itself
/// ([`CertificateFacts::authorised`]), or the firm requires no such signature.
pub fn is_draft(firm: &Firm, visit: &VisitFacts, certificate: &CertificateFacts) -> bool {
    !awaited(firm, visit, certificate).is_empty()
}

/// Roles that the firm requires and nobody signed.
fn awaited(firm: &Firm, visit: &VisitFacts, certificate: &CertificateFacts) -> Vec<&'static str> {
    let signed = |role: Role| match (certificate.is_re_evaluation(), role) {
        (true, Role::Authorised) => certificate.authorised.is_some(),
        // Who reviewed or received what was issued first did not see the re-evaluation, and need not see it again.
        (true, Role::Reviewed | Role::Received) => true,
        (false, Role::Authorised) => visit.signatures.iter().any(|it| authorises(it, certificate)),
        (_, Role::Performed) | (false, Role::Reviewed | Role::Received) => {
            visit.signatures.iter().any(|it| it.role == role_word(role))
        }
    };
    firm.signatures.iter().filter(|role| !signed(**role)).map(|role| role_word(*role)).collect()
}

/// Whether a signature authorises this document: one given before the document that it replaces was issued authorised that one.
fn authorises(signature: &SignatureFacts, certificate: &CertificateFacts) -> bool {
    let moment = |text: &Option<String>| Some(Moment::parse(text.as_ref()?, &Place::default()).ok()?.instant);
    let is_role = signature.role == role_word(Role::Authorised);
    is_role
        && match moment(&certificate.replaces_issued) {
            None => true,
            Some(issued) => moment(&signature.signed).is_some_and(|signed| signed > issued),
        }
}

fn role_word(role: Role) -> &'static str {
    match role {
        Role::Performed => "performed",
        Role::Reviewed => "reviewed",
        Role::Authorised => "authorised",
        Role::Received => "received",
    }
}

/// Signatures given, then empty lines for those awaited; an empty line for the client where there is room.
///
/// Of a re-evaluation: who did the work, and who authorised it.
///
/// Where several came and `by` names who worked on this loop, the others' «performed» stands on the documents of their loops.
pub(super) fn signatures(
    print: &Print,
    firm: &Firm,
    visit: &VisitFacts,
    certificate: &CertificateFacts,
    by: Option<&str>,
) -> Vec<SignatureBlock> {
    let re_evaluated = certificate.is_re_evaluation();
    let performed = |signature: &&SignatureFacts| signature.role == "performed";
    let signed_by = by.filter(|by| visit.signatures.iter().filter(performed).any(|signature| signature.name == *by));
    let of_loop =
        |signature: &&SignatureFacts| !performed(signature) || signed_by.is_none_or(|by| signature.name == by);
    let given = visit.signatures.iter().filter(of_loop);
    // Who authorised what is replaced did so before this document was made.
    let given = given.filter(|it| it.role != role_word(Role::Authorised) || authorises(it, certificate));
    let given = given.filter(|signature| !re_evaluated || performed(signature)).map(|signature| {
        let role = match re_evaluated {
            true => print.label("role-performed-work"),
            false => print.word("role", &signature.role),
        };
        signed(print, &signature.name, &role, signature.signed.as_deref())
    });
    let mut blocks: Vec<SignatureBlock> = given.collect();
    let authorised = certificate.authorised.iter().filter(|_| re_evaluated);
    blocks.extend(authorised.map(|it| signed(print, &it.name, &print.word("role", "authorised"), Some(&it.signed))));
    let mut empty = awaited(firm, visit, certificate);
    let received = visit.signatures.iter().any(|signature| signature.role == "received");
    if !re_evaluated && !received && !empty.contains(&"received") {
        empty.push("received");
    }
    blocks.extend(empty.into_iter().map(|role| SignatureBlock { name: None, meaning: print.word("role", role) }));
    blocks
}

/// A signature with its meaning and moment.
fn signed(print: &Print, name: &str, role: &str, signed: Option<&str>) -> SignatureBlock {
    let moment = signed.map_or_else(|| print.label("no-time"), |signed| print.moment(signed));
    SignatureBlock { name: Some(name.to_owned()), meaning: format!("{role} · {moment}") }
}

fn running(sheet: &Sheet) -> Running {
    let (record, print) = (sheet.record, &sheet.print);
    let issued = record.certificate.issued.as_deref();
    let mut footer_left: Vec<String> = following::running(print, &record.certificate).into_iter().collect();
    footer_left.push(sheet.label("footer-copy"));
    footer_left.extend(sheet.firm.footer.iter().map(|text| text.text.clone()));
    let source = record.sources.first().map(|source| {
        let hash = notes::short_hash(&source.sha256);
        print.say("footer-source", &[("hash", &hash)])
    });
    let mut footer_right: Vec<String> = source.into_iter().collect();
    footer_right.push(notes::registered(print, &record.certificate));
    Running {
        issued: match issued {
            Some(issued) => print.say("issued", &[("day", &print.day(issued))]),
            None => print.label("not-issued"),
        },
        page: sheet.label("page-of"),
        draft: draft(print, sheet.firm, &record.visit, &record.certificate),
        footer_left,
        footer_right: vec![footer_right.join(" · ")],
    }
}

/// What is read first, what it rests on, and how the loop fared before; the end mark after the last.
fn parts(sheet: &Sheet, number: &str) -> Vec<Part> {
    let mut parts = vec![for_the_reader(sheet), for_the_auditor(sheet)];
    let history = history::history(sheet);
    if !history.is_empty() {
        parts.push(Part { name: sheet.label("history-visits"), blocks: history });
    }
    let end = sheet.print.say("end-mark", &[("number", number)]);
    let end = notes::end_mark(&sheet.print, end, &sheet.record.certificate);
    parts.iter_mut().rev().take(1).for_each(|last| last.blocks.push(end.clone()));
    parts
}

/// Who, what, verdicts, figures, what was done, signatures.
fn for_the_reader(sheet: &Sheet) -> Part {
    let record = sheet.record;
    let is_draft = is_draft(sheet.firm, &record.visit, &record.certificate);
    let mut blocks = following::notice(&sheet.print, record, is_draft);
    let follows = !blocks.is_empty();
    blocks.extend([head::facts(sheet), verdicts::verdicts(sheet)]);
    blocks.extend(drawings::strip(sheet));
    let chart = drawings::chart(sheet);
    let mut beside = remedies::ladder(sheet);
    let mut below = Vec::new();
    // Under a high ladder the caution would drive both columns off the page: it goes below them.
    let caution = remedies::caution(sheet);
    let mut criteria = checks::criteria(sheet);
    if beside.is_empty() && !chart.is_empty() {
        beside.append(&mut criteria);
    }
    let below_ladder = caution.iter().map(|caution| written(std::slice::from_ref(caution)) as f64 * CAUTION_HEIGHT);
    match drawn_height(&beside) + below_ladder.sum::<f64>() <= drawn_height(&chart) {
        true => beside.extend(caution),
        false => below.extend(caution),
    }
    if follows {
        // The drawings, which do not break, no longer fit on the first page: rows fill it.
        blocks.append(&mut criteria);
    }
    match chart.is_empty() {
        true => blocks.extend(beside),
        false => blocks.push(columns([(1, chart), (1, beside)])),
    }
    blocks.extend(below);
    blocks.extend(criteria);
    blocks.extend(assessment::in_short(sheet));
    let signatures =
        signatures(&sheet.print, sheet.firm, &record.visit, &record.certificate, record.measuring_loop.by.as_deref());
    blocks.push(Block::Signatures(signatures));
    Part { name: sheet.label("part-reader"), blocks }
}

/// Height that a character of the caution takes in half a page's width, in pt.
const CAUTION_HEIGHT: f64 = 0.27;

/// Height of the drawings among blocks in pt.
fn drawn_height(blocks: &[Block]) -> f64 {
    let heights = blocks.iter().map(|block| match block {
        Block::Figure(figure) => figure.height,
        _ => 0.0,
    });
    heights.sum()
}

/// Everything the first part rests on.
fn for_the_auditor(sheet: &Sheet) -> Part {
    let mut blocks = following::in_full(&sheet.print, sheet.record);
    blocks.extend(readings::tables(sheet));
    let (budget, limits, said) = (uncertainty::budget(sheet), notes::limits(sheet), uncertainty::said(sheet));
    blocks.extend(match budget.is_empty() {
        true => beside((1, limits), (1, said)),
        false => beside((3, budget), (2, [limits, said].concat())),
    });
    blocks.extend(readings::stated(sheet));
    blocks.extend(beside((2, remedies::in_full(sheet)), (3, assessment::in_full(sheet))));
    blocks.extend(kit::kit(sheet));
    blocks.extend(checks::in_detail(sheet));
    blocks.extend(notes(sheet));
    blocks.push(notes::made(sheet));
    Part { name: sheet.label("part-auditor"), blocks }
}

/// Two groups of blocks side by side; one alone over the whole width.
fn beside(left: (u32, Vec<Block>), right: (u32, Vec<Block>)) -> Vec<Block> {
    match (left.1.is_empty(), right.1.is_empty()) {
        (false, false) => vec![columns([left, right])],
        _ => [left.1, right.1].concat(),
    }
}

/// Texts up to so many characters stand well in a narrow column.
const SHORT: usize = 360;

/// Process, deviations, probe, and how it was computed: side by side where what was written is short, else the lists over
/// the whole width, where a page may break.
fn notes(sheet: &Sheet) -> Vec<Block> {
    let process = notes::process(sheet);
    let (deviations, probe) = (notes::deviations(sheet), notes::probe_and_remarks(sheet));
    let computed = notes::computed(sheet);
    match written(&deviations) + written(&probe) <= SHORT {
        true => vec![columns([(4, process), (3, [deviations, probe].concat()), (4, computed)])],
        false => [deviations, probe, vec![columns([(1, process), (1, computed)])]].concat(),
    }
}

/// Characters in the paragraphs of blocks.
fn written(blocks: &[Block]) -> usize {
    let length = |paragraph: &Paragraph| paragraph.lead.iter().map(String::len).sum::<usize>() + paragraph.text.len();
    let lengths = blocks.iter().map(|block| match block {
        Block::Paragraph(paragraph) | Block::Caution(paragraph) => length(paragraph),
        Block::List(paragraphs) => paragraphs.iter().map(length).sum(),
        _ => 0,
    });
    lengths.sum()
}

/// Columns side by side.
pub(super) fn columns<const N: usize>(parts: [(u32, Vec<Block>); N]) -> Block {
    let column = |(weight, blocks)| Column { weight, blocks };
    Block::Columns(parts.into_iter().map(column).collect())
}

/// A paragraph of the catalogue.
fn sentence(sheet: &Sheet, key: &str) -> Block {
    Block::Paragraph(plain(sheet.label(key)))
}
