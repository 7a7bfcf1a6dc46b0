//! What the lines of a document say.

use super::Sheet;
use super::desk::Plan;
use super::ready::Ready;
use crate::quantity::Moment;
use crate::record::{StateRecord, Verdict};
use crate::register::{Issued, KeyFigures, Opened, hash_of};

/// The `issued` line of a document.
pub(super) fn issued(sheet: &Sheet) -> Issued {
    Issued { number: sheet.number.clone(), pdf: hash_of(&sheet.pdf), html: hash_of(sheet.html.as_bytes()) }
}

/// The `opened` line of the document at a position.
pub(super) fn opened(ready: &Ready, at: usize, plan: &Plan, record_hash: String, history: Option<String>) -> Opened {
    let (ticket, wanted) = (&plan.tickets[at], &ready.wanted[at]);
    let record = ready.records.get(at);
    let facts = record.map(|record| &record.measuring_loop);
    let probe = facts.map(|facts| facts.probe_left.as_ref().unwrap_or(&facts.probe));
    let left = record.and_then(|record| record.as_left.as_ref());
    let figure = |state: Option<&StateRecord>, of: fn(&StateRecord) -> Option<f64>| state.and_then(of);
    let (slope, offset) = (|s: &StateRecord| s.figures.slope_percent, |s: &StateRecord| s.figures.offset_mv);
    let found = record.map(|record| &record.as_found);
    Opened {
        number: ticket.number.clone(),
        file: ticket.stem.clone(),
        kind: "original".to_owned(),
        issued: ticket.issued.clone(),
        source_key: wanted.key.clone(),
        visit: ready.visit.number.text.clone(),
        client: ready.visit.client.name.text.clone(),
        tag: wanted.tag.clone(),
        serial: probe.and_then(|probe| probe.serial.clone()),
        started: ready.visit.started.print(),
        finished: ready.visit.finished.as_ref().map(Moment::print),
        draft: ready.is_draft,
        as_found: found.and_then(|state| verdict(state.verdict)),
        as_left: left.and_then(|state| verdict(state.verdict)),
        figures: KeyFigures {
            found_slope_percent: figure(found, slope),
            found_offset_mv: figure(found, offset),
            left_slope_percent: figure(left, slope),
            left_offset_mv: figure(left, offset),
        },
        record: record_hash,
        sources: ready.sources.clone(),
        wording: ready.wording.clone(),
        history,
        program: ready.records.first().map(|record| record.program.clone()).unwrap_or_default(),
        ..Opened::default()
    }
}

/// The word of a verdict.
fn verdict(verdict: Option<Verdict>) -> Option<String> {
    let word = match verdict? {
        Verdict::Pass => "pass",
        Verdict::ConditionalPass => "conditional pass",
        Verdict::ConditionalFail => "conditional fail",
        Verdict::Fail => "fail",
    };
    Some(word.to_owned())
}
