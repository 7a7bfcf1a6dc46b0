//! The visit summary: every loop of a visit in one table.

use super::certificate::notes::{end_mark, keep, registered};
use super::certificate::{author, brand, columns, draft, is_draft, is_untouched, moment_of_issue, signatures};
use super::following;
use super::print::{Print, cell, joined, plain, state_mark};
use super::{Align, Block, Cell, Document, Fact, Part, Row, Running, Table};
use crate::firm::Firm;
use crate::record::{CertificateFacts, Quantity, Record, Stage, StateRecord, Verdict};
use crate::rounding::prose;

/// The summary of the visit that `records` (one a loop, in file order) belong to, with its `own` number (else that of the
/// visit) and moment of issue; nothing without a record.
pub fn summary(records: &[Record], firm: &Firm, own: &CertificateFacts) -> Option<Document> {
    let first = records.first()?;
    let print = Print::of(firm, &first.client);
    let visit = &first.visit;
    let number = own.number.as_ref().unwrap_or(&visit.number);
    let issued = own.issued.as_deref();
    let mut blocks = following::notice_of_all(&print, own, records, is_draft(firm, visit, own));
    blocks.push(facts(&print, first));
    let longest = records.iter().filter_map(|record| record.keep.as_ref()).max_by(|a, b| a.until.cmp(&b.until));
    let kept = keep(&print, longest);
    blocks.extend([
        Block::Heading(print.label("summary-loops")),
        Block::Table(table(&print, records)),
        Block::Heading(print.label("summary-counts")),
        Block::Paragraph(plain(counts(&print, records))),
        Block::Paragraph(plain(
            [Some(print.label("summary-concerns")), kept].into_iter().flatten().collect::<Vec<_>>().join(" "),
        )),
        Block::Signatures(signatures(&print, firm, visit, own, None)),
    ]);
    let end = print.say("end-mark-summary", &[("number", number)]);
    blocks.push(end_mark(&print, end, own));
    let footer = following::running(&print, own).into_iter();
    let footer = footer.chain(firm.footer.iter().map(|text| text.text.clone()));
    Some(Document {
        title: following::title(&print, own, true).unwrap_or_else(|| print.label("summary-title")),
        subtitle: following::subtitle(&print, own, subtitle(&print, first), true),
        number: number.clone(),
        language: print.words.language.to_owned(),
        paper: firm.paper,
        accent: firm.accent,
        brand: brand(&print, firm),
        running: Running {
            issued: match issued {
                Some(issued) => print.say("issued", &[("day", &print.day(issued))]),
                None => print.label("not-issued"),
            },
            page: print.label("page-of"),
            draft: draft(&print, firm, visit, own),
            footer_left: footer.collect(),
            footer_right: vec![registered(&print, own)],
        },
        parts: vec![Part { name: print.label("summary-title"), blocks }],
        issued: moment_of_issue(issued),
        author: author(&print, firm),
        data: String::new(),
        attachments: Vec::new(),
    })
}

/// Client and day.
fn subtitle(print: &Print, record: &Record) -> String {
    let site = record.visit.site.as_ref().map(|site| site.name.clone());
    let day = print.day(&record.visit.started);
    joined([Some(record.client.name.clone()), site, Some(day)])
}

/// Client and work side by side.
fn facts(print: &Print, record: &Record) -> Block {
    let (client, visit) = (&record.client, &record.visit);
    let mut of_client = vec![print.fact("name", &client.name)];
    let address = |label: &str, value: Vec<String>| Fact { label: print.label(label), value };
    if !client.address.is_empty() {
        of_client.push(address("address", client.address.clone()));
    }
    of_client.extend(print.fact_if("contact", client.contact.clone()));
    if let Some(site) = &visit.site {
        let name = Some(site.name.clone()).filter(|name| !name.is_empty());
        let lines = name.into_iter().chain(site.address.iter().cloned());
        of_client.push(address("field-work", lines.collect()));
    }
    let people = visit.technicians.iter();
    let people = people.map(|p| joined([Some(p.name.clone()), p.qualification.clone()]));
    let procedure = visit.procedure.as_ref().map(|procedure| {
        let revision = procedure.revision.as_ref();
        let revision = revision.map(|revision| print.say("revision", &[("revision", revision)]));
        joined([Some(procedure.name.clone()), revision])
    });
    let ambient = visit.ambient_typed.as_ref().map(|typed| print.typed(typed, "°C"));
    let conditions = joined([ambient, visit.conditions.as_deref().map(prose)]);
    let mut of_work = vec![
        print.fact("visit", &visit.number),
        print.fact("date", print.span(&visit.started, visit.finished.as_deref())),
        address("by", people.collect()),
    ];
    of_work.extend(print.fact_if("procedure", procedure));
    of_work.extend(print.fact_if("order", visit.order.clone()));
    of_work.extend(print.fact_if("conditions", Some(conditions).filter(|c| !c.is_empty())));
    columns([
        (1, vec![Block::Heading(print.label("client")), Block::Facts(of_client)]),
        (1, vec![Block::Heading(print.label("work")), Block::Facts(of_work)]),
    ])
}

/// One row a loop.
fn table(print: &Print, records: &[Record]) -> Table {
    let mut table = print.table(
        "summary-loops",
        &[
            ("tag", Align::Left, 0),
            ("location", Align::Left, 2),
            ("quantity", Align::Left, 0),
            ("state-found-title", Align::Left, 0),
            ("state-left-title", Align::Left, 0),
            ("figure-left", Align::Left, 1),
            ("outcome", Align::Left, 1),
            ("certificate", Align::Left, 1),
        ],
    );
    table.rows = records.iter().map(|record| row(print, record)).collect();
    table
}

fn row(print: &Print, record: &Record) -> Row {
    let quantity = match record.quantity {
        Quantity::Ph => print.label("quantity-ph"),
        Quantity::Redox => print.label("quantity-redox"),
    };
    let number = record.certificate.number.clone();
    Row::Cells(vec![
        cell(&record.tag),
        cell(record.measuring_loop.location.clone().unwrap_or_default()),
        cell(quantity),
        verdict(print, record, Stage::AsFound, &record.as_found),
        left(print, record),
        cell(figure(print, record)),
        cell(print.word("outcome-short", &record.measuring_loop.outcome)),
        cell(number.unwrap_or_else(|| print.label("no-number"))),
    ])
}

fn verdict(print: &Print, record: &Record, stage: Stage, state: &StateRecord) -> Cell {
    let (mark, word) = state_mark(record, stage, state);
    Cell { text: print.label(word), mark: Some(mark) }
}

/// As left, or that nothing was done.
fn left(print: &Print, record: &Record) -> Cell {
    match (&record.as_left, is_untouched(record)) {
        (Some(left), _) => verdict(print, record, Stage::AsLeft, left),
        (None, true) => cell(print.label("left-unchanged")),
        (None, false) => cell(print.label("not-measured")),
    }
}

/// Slope and offset, or the largest redox error, of the state left, else found.
fn figure(print: &Print, record: &Record) -> String {
    let state = record.as_left.as_ref().unwrap_or(&record.as_found);
    let figures = &state.figures;
    match record.quantity {
        Quantity::Ph => {
            let slope = figures.slope_percent.map(|slope| guarded(print, record, "slope", slope, "%"));
            let offset = figures.offset_mv.map(|mv| guarded(print, record, "offset", mv, "mV"));
            joined([slope, offset])
        }
        Quantity::Redox => {
            let errors = figures.readings.iter().filter_map(|r| Some((r.error_mv?, r.shown_decimals)));
            let worst = errors.max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
            let worst = worst.map(|(error, typed)| print.signed(error, typed.unwrap_or(0), "mV"));
            worst.unwrap_or_default()
        }
    }
}

/// A figure with as many decimals as it needs beside its limits.
fn guarded(print: &Print, record: &Record, criterion: &str, value: f64, unit: &str) -> String {
    let limit = super::chart::limit_of(record, criterion).unwrap_or_default();
    let decimals = crate::rounding::beside(value, 1, &super::print::bounds(&limit));
    print.fixed(value, decimals, unit)
}

/// How many loops, how many failed as found and as left, how many deviations.
fn counts(print: &Print, records: &[Record]) -> String {
    let failed = |verdict: Option<Verdict>| matches!(verdict, Some(Verdict::Fail | Verdict::ConditionalFail));
    let found = records.iter().filter(|record| failed(record.as_found.verdict)).count();
    let left = records.iter().filter(|record| failed(record.verdict)).count();
    let deviations: usize = records.iter().map(|record| record.deviations.len()).sum();
    print.say(
        "summary-counted",
        &[
            ("loops", &records.len().to_string()),
            ("found", &found.to_string()),
            ("left", &left.to_string()),
            ("deviations", &deviations.to_string()),
        ],
    )
}
