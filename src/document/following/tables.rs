//! What changed, what follows from it, and what was judged otherwise, before beside now.

use super::super::certificate::is_untouched;
use super::super::print::{Print, bounds, cell, cell_if, plain, verdict_mark, without_empty_columns};
use super::super::{Align, Block, Cell, Row, Table};
use super::{fields, limits_named};
use crate::client::LoopQuantity;
use crate::limits::Criterion;
use crate::record::{
    BeforeCriterion, BeforeFacts, CertificateFacts, ChangeFacts, CriterionRecord, OutcomeWord, Quantity, Record, Stage,
    Verdict, unit,
};

/// Rows of values, without those that name a group.
pub(super) fn rows(table: &Table) -> usize {
    table.rows.iter().filter(|row| matches!(row, Row::Cells(_))).count()
}

/// What was changed, file by file, with its heading; none where nothing was. `of` is the tag of the loop that a certificate is
/// about.
pub(super) fn changes(print: &Print, changes: &[ChangeFacts], of: Option<&str>) -> Option<(String, Table)> {
    let first = &changes.first()?.file;
    let of_one_file = changes.iter().all(|change| change.file == *first);
    let columns = [("field", Align::Left, 3), ("before", Align::Left, 3), ("now", Align::Left, 3)];
    let mut table = print.table("what-changed", &columns);
    let mut file = None;
    for change in changes {
        if !of_one_file && file != Some(change.file.as_str()) {
            file = Some(change.file.as_str());
            table.rows.push(Row::Group(plain(print.say("in-file", &[("text", &change.file)]))));
        }
        let value = |typed: &Option<String>| match typed {
            Some(typed) => fields::value(print, &change.field, typed),
            None => print.label("not-there"),
        };
        table.rows.push(Row::Cells(vec![
            cell(fields::place(print, &change.field, of)),
            cell(value(&change.old)),
            cell(value(&change.new)),
        ]));
    }
    let heading = match of_one_file {
        true => print.say("what-changed-in", &[("text", first)]),
        false => print.label("what-changed"),
    };
    Some((heading, table))
}

/// What a certificate says otherwise than the one it replaces: of a re-evaluation limits and verdicts, of an amendment
/// whatever differs.
pub(super) fn what_follows(print: &Print, record: &Record) -> Vec<Block> {
    let certificate = &record.certificate;
    let is_re_evaluation = certificate.is_re_evaluation();
    let heading = if is_re_evaluation { "judged-anew" } else { "what-follows" };
    let Some(before) = certificate.before.iter().find(|before| before.tag == record.tag) else {
        return Vec::new();
    };
    let mut all = limits_and_verdicts(print, record, before);
    if !is_re_evaluation {
        all.extend(figures(print, record, before));
        all.extend(before.criteria.iter().map(|criterion| of_criterion(print, record, criterion)));
        all.retain(|[_, before, now]| before != now);
    }
    let columns = [("item", Align::Left, 3), ("before", Align::Left, 3), ("now", Align::Left, 3)];
    let mut table = print.table(heading, &columns);
    table.rows = all.into_iter().map(|row| Row::Cells(row.into())).collect();
    let shown = match table.rows.is_empty() {
        true => Block::Paragraph(plain(print.label("nothing-follows"))),
        false => Block::Table(table),
    };
    let otherwise = is_re_evaluation && before.criteria.is_empty();
    let none = otherwise.then(|| Block::Paragraph(plain(print.label("judged-otherwise-none"))));
    [Some(Block::Heading(print.label(heading))), Some(shown), none].into_iter().flatten().collect()
}

fn limits_and_verdicts(print: &Print, record: &Record, before: &BeforeFacts) -> Vec<[Cell; 3]> {
    let row = |label: &str, before: Cell, now: Cell| [cell(print.label(label)), before, now];
    let mut rows = vec![row("limits-applied", cell(limits_before(print, before)), cell(limits_now(print, record)))];
    let decision = before.decision.as_deref().filter(|decision| *decision != record.limits.decision);
    rows.extend(decision.map(|decision| {
        row("decision-applied", cell(print.decision(decision)), cell(print.decision(&record.limits.decision)))
    }));
    let found = match is_untouched(record) {
        true => "state-untouched-title",
        false => "state-found-title",
    };
    rows.push(row(found, verdict(print, before.as_found), verdict(print, record.as_found.verdict)));
    let left = record.as_left.as_ref();
    if left.is_some() || before.as_left.is_some() {
        let now = left.map_or_else(|| cell(print.label("not-measured")), |left| verdict(print, left.verdict));
        rows.push(row("state-left-title", verdict(print, before.as_left), now));
    }
    rows
}

fn limits_before(print: &Print, before: &BeforeFacts) -> String {
    let built_in = crate::limits::built_in().name == before.limits;
    limits_named(print, &before.limits, before.limits_revision.as_deref(), built_in)
}

fn limits_now(print: &Print, record: &Record) -> String {
    let limits = &record.limits;
    limits_named(print, &limits.name, limits.revision.as_deref(), limits.built_in)
}

fn verdict(print: &Print, verdict: Option<Verdict>) -> Cell {
    let (mark, key) = verdict_mark(verdict);
    Cell { text: print.label(key), mark: Some(mark) }
}

/// Slope and offset, found and left.
fn figures(print: &Print, record: &Record, before: &BeforeFacts) -> Vec<[Cell; 3]> {
    let left = record.as_left.as_ref().map(|left| &left.figures);
    let found = &record.as_found.figures;
    let slope = |value: Option<f64>| cell_if(value.map(|value| print.fixed(value, 1, "")));
    let offset = |value: Option<f64>| cell_if(value.map(|value| print.signed(value, 1, "")));
    vec![
        [cell(print.label("history-slope-found")), slope(before.found_slope_percent), slope(found.slope_percent)],
        [cell(print.label("history-offset-found")), offset(before.found_offset_mv), offset(found.offset_mv)],
        [
            cell(print.label("history-slope-left")),
            slope(before.left_slope_percent),
            slope(left.and_then(|left| left.slope_percent)),
        ],
        [
            cell(print.label("history-offset-left")),
            offset(before.left_offset_mv),
            offset(left.and_then(|left| left.offset_mv)),
        ],
    ]
}

/// A criterion as it was judged before, as the record has it; none where its name is not known.
fn as_recorded(record: &Record, before: &BeforeCriterion, now: Option<&CriterionRecord>) -> Option<CriterionRecord> {
    let (_, criterion) = Criterion::WORDS.iter().find(|(word, _)| *word == before.name)?;
    let quantity = match record.quantity {
        Quantity::Ph => LoopQuantity::Ph,
        Quantity::Redox => LoopQuantity::Redox,
    };
    Some(CriterionRecord {
        name: criterion.word(),
        stage: before.stage,
        of: before.of.clone(),
        value: before.value,
        unit: unit(*criterion, quantity),
        decimals: now.map_or(before.limit.decimals, |now| now.decimals),
        limit: before.limit.clone(),
        expanded_uncertainty: None,
        probability_of_conformity: None,
        guard_bands_meet: false,
        outcome: before.outcome,
        reason: None,
    })
}

fn now_of<'a>(record: &'a Record, before: &BeforeCriterion) -> Option<&'a CriterionRecord> {
    let is_it = |now: &&CriterionRecord| now.name == before.name && now.stage == before.stage && now.of == before.of;
    record.criteria.iter().find(is_it)
}

/// `Offset, mV, as found`.
fn named(print: &Print, record: &Record, criterion: Option<&CriterionRecord>, before: &BeforeCriterion) -> String {
    let name = criterion.map_or_else(|| before.name.clone(), |it| print.criterion_name(it, record.quantity));
    let state = match (before.stage, is_untouched(record)) {
        (_, true) => return name,
        (Stage::AsFound, false) => print.label("state-found"),
        (Stage::AsLeft, false) => print.label("state-left"),
    };
    format!("{name}, {state}")
}

/// Value and outcome of a criterion, before and now.
fn of_criterion(print: &Print, record: &Record, before: &BeforeCriterion) -> [Cell; 3] {
    let now = now_of(record, before);
    let old = as_recorded(record, before, now);
    let told = |criterion: Option<&CriterionRecord>| match criterion {
        Some(criterion) => {
            let outcome = print.outcome(criterion.outcome);
            let value = print.criterion_value(criterion).map(|value| format!("{value}, {}", outcome.text));
            Cell { text: value.unwrap_or(outcome.text), mark: outcome.mark }
        }
        None => print.outcome(OutcomeWord::NotJudged),
    };
    [cell(named(print, record, old.as_ref(), before)), told(old.as_ref()), told(now)]
}

/// The criteria of a re-evaluation that were judged otherwise: by another limit, or with another outcome.
pub(super) fn judged_otherwise(print: &Print, record: &Record) -> Option<Table> {
    let columns = [
        ("criterion", Align::Left, 2),
        ("value", Align::Decimal, 0),
        ("old-limit", Align::Right, 1),
        ("old-outcome", Align::Left, 1),
        ("new-limit", Align::Right, 1),
        ("new-outcome", Align::Left, 1),
    ];
    let mut table = print.table("judged-otherwise", &columns);
    let before = record.certificate.before.iter().find(|before| before.tag == record.tag)?;
    for criterion in &before.criteria {
        let now = now_of(record, criterion);
        let old = as_recorded(record, criterion, now);
        let limits = [old.as_ref(), now].into_iter().flatten().flat_map(|it| bounds(&it.limit)).collect::<Vec<_>>();
        let valued = now.filter(|now| now.value.is_some()).or(old.as_ref());
        let outcome = |it: Option<&CriterionRecord>| {
            it.map_or_else(|| print.outcome(OutcomeWord::NotJudged), |it| print.outcome(it.outcome))
        };
        table.rows.push(Row::Cells(vec![
            cell(named(print, record, valued, criterion)),
            cell_if(valued.and_then(|it| print.criterion_value_beside(it, &limits))),
            cell(limit(print, old.as_ref())),
            outcome(old.as_ref()),
            cell(limit(print, now)),
            outcome(now),
        ]));
    }
    (!table.rows.is_empty()).then_some(table)
}

/// `70 to 105 (warning: ≥ 80)`.
fn limit(print: &Print, criterion: Option<&CriterionRecord>) -> String {
    let of = |limit: fn(&Print, &CriterionRecord, &str) -> Option<String>| limit(print, criterion?, "");
    match (of(Print::fail_limit), of(Print::warn_limit)) {
        (Some(fail), Some(warn)) => print.say("limit-with-warn", &[("fail", &fail), ("warn", &warn)]),
        (Some(fail), None) => fail,
        (None, Some(warn)) => print.say("limit-warn-only", &[("text", &warn)]),
        (None, None) => print.label("limit-none"),
    }
}

/// How the loops of a summary were judged before and now; those that are as before are named below.
pub(super) fn loops(print: &Print, certificate: &CertificateFacts, records: &[Record]) -> Vec<Block> {
    let columns = [
        ("tag", Align::Left, 0),
        ("limits-before", Align::Left, 2),
        ("limits-now", Align::Left, 2),
        ("found-before", Align::Left, 1),
        ("found-now", Align::Left, 1),
        ("left-before", Align::Left, 1),
        ("left-now", Align::Left, 1),
    ];
    let heading = if certificate.is_re_evaluation() { "judged-anew" } else { "what-follows" };
    let mut table = print.table(heading, &columns);
    let mut as_before = Vec::new();
    for record in records {
        let Some(before) = certificate.before.iter().find(|before| before.tag == record.tag) else { continue };
        let limits = [limits_before(print, before), limits_now(print, record)];
        let left = record.as_left.as_ref().and_then(|left| left.verdict);
        let differs = limits[0] != limits[1] || before.as_found != record.as_found.verdict || before.as_left != left;
        if !differs {
            as_before.push(record.tag.clone());
            continue;
        }
        let [limits_before, limits_now] = if limits[0] == limits[1] { [String::new(), String::new()] } else { limits };
        let is_left = record.as_left.is_some() || before.as_left.is_some();
        let left = |of: Option<Verdict>| if is_left { verdict(print, of) } else { cell("") };
        table.rows.push(Row::Cells(vec![
            cell(&record.tag),
            cell(limits_before),
            cell(limits_now),
            verdict(print, before.as_found),
            verdict(print, record.as_found.verdict),
            left(before.as_left),
            left(record.as_left.as_ref().and_then(|left| left.verdict)),
        ]));
    }
    let rest = (!as_before.is_empty())
        .then(|| Block::Paragraph(plain(print.say("loops-as-before", &[("text", &print.series(&as_before))]))));
    let shown = (!table.rows.is_empty()).then(|| Block::Table(without_empty_columns(table)));
    let heading = (shown.is_some() || rest.is_some()).then(|| Block::Heading(print.label(heading)));
    [heading, shown, rest].into_iter().flatten().collect()
}
