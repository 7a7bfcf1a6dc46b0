//! What the lines of a document say.

use super::Sheet;
use super::desk::Plan;
use super::ready::Ready;
use crate::quantity::Moment;
use crate::record::{CriterionRecord, Record, StateRecord, Verdict};
use crate::register::{FoundError, Issued, KeyFigures, NextDue, Opened, hash_of};

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
        kind: ticket.facts.kind.clone(),
        predecessor: ticket.facts.replaces.clone(),
        original: ticket.facts.original.clone(),
        reason: ticket.facts.reason.clone(),
        requested_by: ticket.facts.requested_by.clone(),
        issued: ready.issued.clone(),
        source_key: ticket.key.clone(),
        visit: ready.visit.number.text.clone(),
        client: ready.visit.client.name.text.clone(),
        tag: wanted.tag.clone(),
        serial: probe.and_then(|probe| probe.serial.clone()),
        started: ready.visit.started.print(),
        finished: ready.visit.finished.as_ref().map(Moment::print),
        draft: ticket.stands_as.is_some(),
        draft_for: ticket.stands_as.clone(),
        as_found: found.and_then(|state| verdict(state.verdict)),
        as_left: left.and_then(|state| verdict(state.verdict)),
        figures: KeyFigures {
            found_slope_percent: figure(found, slope),
            found_offset_mv: figure(found, offset),
            left_slope_percent: figure(left, slope),
            left_offset_mv: figure(left, offset),
        },
        found_error: record.and_then(found_error),
        next_due: facts
            .and_then(|facts| facts.next_due.as_ref())
            .map(|due| NextDue { date: due.date.clone(), agreed_by: due.agreed_by.clone() }),
        keep_until: match record {
            Some(record) => record.keep.as_ref().map(|keep| keep.until.clone()),
            None => ready.records.iter().filter_map(|record| Some(record.keep.as_ref()?.until.clone())).max(),
        },
        record: record_hash,
        sources: ready.sources.clone(),
        wording: ready.wording.clone(),
        history,
        program: ready.records.first().map(|record| record.program.clone()).unwrap_or_default(),
    }
}

/// The error found that came closest to its limit or went farthest beyond; where none is limited, the largest.
fn found_error(record: &Record) -> Option<FoundError> {
    let errors = record.criteria.iter().filter(|criterion| criterion.name == "as_found_error");
    let limit = |criterion: &CriterionRecord| criterion.limit.fail_high.or(criterion.limit.warn_high);
    let share = |(value, limit): (f64, Option<f64>)| (limit.is_some(), value.abs() / limit.unwrap_or(1.0));
    let order = |a, b| {
        let ((a_limited, a), (b_limited, b)) = (share(a), share(b));
        a_limited.cmp(&b_limited).then(a.total_cmp(&b))
    };
    let judged = errors.filter_map(|criterion| Some((criterion, criterion.value?)));
    let worst = judged.max_by(|(a, x), (b, y)| order((*x, limit(a)), (*y, limit(b))));
    worst.map(|(criterion, value)| FoundError {
        of: criterion.of.clone().unwrap_or_default(),
        value,
        unit: criterion.unit.to_owned(),
        limit: limit(criterion),
        expanded_uncertainty: criterion.expanded_uncertainty,
    })
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
