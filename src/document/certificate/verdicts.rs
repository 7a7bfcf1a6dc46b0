//! The verdicts, as found first, each with what governs it and under which limits and rule.

use super::{Sheet, columns};
use crate::document::print::{joined, state_mark};
use crate::document::{Block, Mark, VerdictBlock};
use crate::record::{Condition, CriterionRecord, OutcomeWord, Stage, StateRecord};
use crate::rounding::{prose, with_unit};

/// Outcomes of what was judged, in the order they are counted up.
const OUTCOMES: [OutcomeWord; 5] = [
    OutcomeWord::Pass,
    OutcomeWord::Warn,
    OutcomeWord::ConditionalPass,
    OutcomeWord::ConditionalFail,
    OutcomeWord::Fail,
];

/// Both verdicts side by side, or the only one.
pub(super) fn verdicts(sheet: &Sheet) -> Block {
    let found = &sheet.record.as_found;
    if sheet.is_untouched() {
        let mut only = state(sheet, "state-untouched-title", Stage::AsFound, found);
        only.lines.push(sheet.label("nothing-done"));
        only.lines.extend(look_back(sheet));
        only.lines.extend(left_behind(sheet));
        return Block::Verdict(only);
    }
    let mut first = state(sheet, "state-found-title", Stage::AsFound, found);
    first.lines.extend(look_back(sheet));
    let mut second = match &sheet.record.as_left {
        Some(left) => state(sheet, "state-left-title", Stage::AsLeft, left),
        None => VerdictBlock {
            mark: Mark::NotJudged,
            title: titled(sheet, "state-left-title", "not-measured"),
            lines: Vec::new(),
        },
    };
    second.lines.extend(left_behind(sheet));
    columns([(1, vec![Block::Verdict(first)]), (1, vec![Block::Verdict(second)])])
}

fn titled(sheet: &Sheet, state: &str, word: &str) -> String {
    let (state, word) = (sheet.label(state), sheet.label(word));
    sheet.print.say("verdict-title", &[("state", &state), ("verdict", &word)])
}

/// The verdict on one state.
fn state(sheet: &Sheet, title: &str, stage: Stage, state: &StateRecord) -> VerdictBlock {
    if let Some(reason) = &state.not_obtained {
        return VerdictBlock {
            mark: Mark::NotJudged,
            title: titled(sheet, title, "not-obtained"),
            lines: vec![prose(reason)],
        };
    }
    let (mark, word) = state_mark(sheet.record, stage, state);
    let mut lines = outside(sheet, stage);
    lines.extend(why_not_judged(sheet, stage, state));
    lines.extend(tally(sheet, stage, state.verdict.is_some()));
    VerdictBlock { mark, title: titled(sheet, title, word), lines }
}

/// What lies outside its limit, the worst outcomes first.
fn outside(sheet: &Sheet, stage: Stage) -> Vec<String> {
    let criteria = sheet.record.criteria.iter().filter(|c| c.stage == stage);
    let mut outside: Vec<&CriterionRecord> = criteria.filter(|c| c.outcome > OutcomeWord::Pass).collect();
    outside.sort_by_key(|criterion| std::cmp::Reverse(criterion.outcome));
    outside.into_iter().map(|criterion| governs(sheet, criterion)).collect()
}

/// `Slope is 65.2 %, allowed 70 to 105 %: fail.`
fn governs(sheet: &Sheet, criterion: &CriterionRecord) -> String {
    let print = &sheet.print;
    let unit = print.word("unit", criterion.unit);
    let value = print.criterion_value(criterion).unwrap_or_default();
    let (bound, limit) = match criterion.outcome {
        OutcomeWord::Warn => ("bound-warn", print.warn_limit(criterion, &unit)),
        OutcomeWord::NotJudged
        | OutcomeWord::Pass
        | OutcomeWord::ConditionalPass
        | OutcomeWord::ConditionalFail
        | OutcomeWord::Fail => ("bound-fail", print.fail_limit(criterion, &unit)),
    };
    print.say(
        "governs",
        &[
            ("name", &print.criterion_said(criterion, sheet.record.quantity)),
            ("value", &with_unit(&value, &unit)),
            ("bound", &print.label(bound)),
            ("limit", &limit.unwrap_or_default()),
            ("outcome", &print.outcome(criterion.outcome).text),
        ],
    )
}

/// Why there is no verdict, where there is none, and what could not be judged.
fn why_not_judged(sheet: &Sheet, stage: Stage, state: &StateRecord) -> Vec<String> {
    if state.verdict.is_some() {
        return Vec::new();
    }
    let (print, quantity) = (&sheet.print, sheet.record.quantity);
    let criteria = || sheet.record.criteria.iter().filter(|c| c.stage == stage);
    let judged = criteria().any(|criterion| criterion.outcome != OutcomeWord::NotJudged);
    let mut lines = vec![match judged {
        true => sheet.label("indication-not-judged"),
        false => sheet.label("nothing-judged"),
    }];
    let not_judged = criteria().filter(|criterion| criterion.outcome == OutcomeWord::NotJudged);
    lines.extend(not_judged.map(|criterion| {
        let name = print.criterion_of(criterion, quantity);
        let reason = criterion.reason.as_deref().map(|code| print.word("unjudged", code));
        let reason = reason.unwrap_or_else(|| sheet.label("no-reason"));
        print.say("not-judged-why", &[("name", &name), ("reason", &reason)])
    }));
    lines
}

/// How many criteria were judged with which outcome, under which limits and rule; then what was asked for and not judged.
fn tally(sheet: &Sheet, stage: Stage, judged_at_all: bool) -> Vec<String> {
    let print = &sheet.print;
    let criteria = || sheet.record.criteria.iter().filter(|c| c.stage == stage);
    let (not_judged, judged): (Vec<_>, Vec<_>) = criteria().partition(|c| c.outcome == OutcomeWord::NotJudged);
    let counts = OUTCOMES.iter().filter_map(|&outcome| {
        let count = judged.iter().filter(|criterion| criterion.outcome == outcome).count();
        let outcome = print.outcome(outcome).text;
        (count > 0).then(|| print.say("counted", &[("count", &count.to_string()), ("outcome", &outcome)]))
    });
    let counts = match judged.iter().all(|criterion| criterion.outcome == OutcomeWord::Pass) {
        true => print.label("all-pass"),
        false => counts.collect::<Vec<_>>().join(", "),
    };
    let told =
        (!judged.is_empty()).then(|| print.say("tally", &[("all", &judged.len().to_string()), ("counts", &counts)]));
    let names = not_judged.into_iter().map(|criterion| print.criterion_of(criterion, sheet.record.quantity));
    let names = print.series(&names.collect::<Vec<_>>());
    let missing = judged_at_all && !names.is_empty();
    let missing = missing.then(|| print.say("tally-not-judged", &[("names", &names)]));
    [told, missing].into_iter().flatten().collect()
}

/// `“effluent-ph”, revision 3`.
pub(super) fn limits_name(sheet: &Sheet) -> String {
    let (limits, print) = (&sheet.record.limits, &sheet.print);
    if limits.built_in {
        return print.label("limits-built-in");
    }
    let revision = limits.revision.as_ref();
    let revision = revision.map(|revision| print.say("revision", &[("revision", revision)]));
    let name = print.say("quoted", &[("text", &limits.name)]);
    joined([Some(name), revision])
}

/// `simple acceptance`.
pub(super) fn rule(sheet: &Sheet) -> String {
    sheet.print.decision(&sheet.record.limits.decision)
}

/// When the loop was last good, and whether results since then need a look.
fn look_back(sheet: &Sheet) -> Option<String> {
    let record = sheet.record;
    let is_misleading = |criterion: &&CriterionRecord| {
        let name = matches!(criterion.name, "as_found_error" | "temperature" | "output");
        name && criterion.stage == Stage::AsFound && criterion.outcome >= OutcomeWord::ConditionalFail
    };
    let misled = record.criteria.iter().any(|criterion| is_misleading(&criterion));
    let last_good = record.measuring_loop.last_good.as_deref();
    match (misled, last_good) {
        (true, Some(day)) => Some(sheet.print.say("assess-since", &[("day", &sheet.print.day(day))])),
        (true, None) => Some(sheet.label("assess-since-unknown")),
        (false, Some(day)) => Some(sheet.print.say("last-good", &[("day", &sheet.print.day(day))])),
        (false, None) => None,
    }
}

/// What became of the loop and its probe, and the next date where somebody agreed to one.
fn left_behind(sheet: &Sheet) -> Vec<String> {
    let (facts, print) = (&sheet.record.measuring_loop, &sheet.print);
    let outcome = print.word("outcome", &facts.outcome);
    let condition = sheet.record.condition.map(|condition| {
        print.label(match condition {
            Condition::Fit => "condition-fit",
            Condition::NeedsService => "condition-needs-service",
            Condition::Unfit => "condition-unfit",
        })
    });
    let due = facts
        .next_due
        .as_ref()
        .map(|due| print.say("next-due", &[("day", &print.day(&due.date)), ("by", &due.agreed_by)]));
    let set = facts.standardised.as_ref().map(|set| {
        let typed = |text: &str| print.typed_indication(sheet.record.quantity, text);
        print.say("standardised", &[("shown", &typed(&set.shown)), ("set_to", &typed(&set.set_to))])
    });
    let deviations = match sheet.record.deviations.len() {
        0 => sheet.label("deviations-none"),
        count => print.say("deviations-count", &[("count", &count.to_string())]),
    };
    let first: Vec<String> = [Some(outcome), condition, Some(deviations)].into_iter().flatten().collect();
    [Some(first.join(" ")), set, due].into_iter().flatten().collect()
}
