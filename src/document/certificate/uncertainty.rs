//! How well the figures are known: the budget of the state left, else found, and the probability of conformity.

use super::Sheet;
use crate::document::print::{cell, cell_if, ended, joined, led, plain};
use crate::document::{Align, Block, Cell, Paragraph, Row, Table};
use crate::record::{BudgetRecord, CriterionRecord, Figures, OutcomeWord, ShareRecord, Stage, UncertaintyRecord};

/// Probabilities beyond are said to be beyond: more nines tell nothing.
const NEARLY_CERTAIN: f64 = 0.999;

/// The budget with its heading; nothing without one (redox).
pub(super) fn budget(sheet: &Sheet) -> Vec<Block> {
    let Some((state, figures)) = budgeted(sheet) else {
        return Vec::new();
    };
    let heading = sheet.print.say("budget-of", &[("state", &sheet.label(state))]);
    vec![Block::Heading(heading), Block::Table(budget_table(sheet, figures))]
}

/// Probabilities of conformity, and what cannot be decided.
pub(super) fn said(sheet: &Sheet) -> Vec<Block> {
    let mut list = Vec::new();
    list.extend(probabilities(sheet));
    list.extend(undecided(sheet));
    match list.is_empty() {
        true => Vec::new(),
        false => vec![sheet.heading("uncertainty-title"), Block::List(list)],
    }
}

/// The figures whose budget is shown: as left, else after the last remedy that was followed by readings, else as found.
fn budgeted<'a>(sheet: &Sheet<'a>) -> Option<(&'static str, &'a Figures)> {
    let record = sheet.record;
    let found = match sheet.is_untouched() {
        true => "state-untouched",
        false => "state-found",
    };
    let left = record.as_left.iter().map(|left| ("state-left", &left.figures));
    let after = record.remedies.iter().rev().filter_map(|remedy| Some(("state-last-remedy", remedy.after.as_ref()?)));
    let all = left.chain(after).chain([(found, &record.as_found.figures)]);
    { all }.find(|(_, figures)| !figures.budget.is_empty())
}

fn budget_table(sheet: &Sheet, figures: &Figures) -> Table {
    let mut table = sheet.print.table(
        "budget",
        &[
            ("budget-source", Align::Left, 2),
            ("budget-input", Align::Right, 1),
            ("budget-dof", Align::Right, 0),
            ("budget-slope", Align::Right, 0),
            ("budget-offset", Align::Right, 0),
            ("budget-zero", Align::Right, 0),
        ],
    );
    let (told, small): (Vec<&BudgetRecord>, Vec<&BudgetRecord>) =
        figures.budget.iter().partition(|line| largest_share(line) >= SMALL_SHARE);
    table.rows = told.into_iter().map(|line| budget_row(sheet, line)).collect();
    if !small.is_empty() {
        let names = small.iter().map(|line| source(sheet, line)).collect::<Vec<_>>();
        let value = sheet.print.fixed(SMALL_SHARE, 0, "%");
        table.rows.push(Row::Group(plain(
            sheet.print.say("budget-below", &[("value", &value), ("names", &sheet.print.series(&names))]),
        )));
    }
    table.rows.extend(total(sheet, figures));
    table
}

/// Sources whose shares are all smaller (percent) are named together.
const SMALL_SHARE: f64 = 1.0;

fn largest_share(line: &BudgetRecord) -> f64 {
    let shares = [Some(line.slope_percent), Some(line.offset_mv), line.zero_point_ph];
    shares.into_iter().flatten().map(|share| share.share_percent).fold(0.0, f64::max)
}

/// What contributes, of which standard or instrument, and whether its size was assumed.
fn source(sheet: &Sheet, line: &BudgetRecord) -> String {
    let assumed = line.assumed.then(|| sheet.label("assumed"));
    let source = sheet.print.word("effect", &line.source);
    let source = line.of.as_ref().map_or(source.clone(), |of| format!("{source} {of}"));
    joined([Some(source), assumed])
}

fn budget_row(sheet: &Sheet, line: &BudgetRecord) -> Row {
    let print = &sheet.print;
    let share = |share: ShareRecord| cell(print.fixed(share.share_percent, 1, ""));
    let dof = line.dof.map_or_else(|| "∞".to_owned(), |dof| print.fixed(dof, 0, ""));
    Row::Cells(vec![
        cell(source(sheet, line)),
        cell(print.fixed(line.standard_uncertainty, two_digits(line.standard_uncertainty), &line.unit)),
        cell(dof),
        share(line.slope_percent),
        share(line.offset_mv),
        line.zero_point_ph.map_or_else(|| cell(""), share),
    ])
}

/// The last row: k and degrees of freedom of each figure.
fn total(sheet: &Sheet, figures: &Figures) -> Option<Row> {
    let of = figures.uncertainty?;
    let factor = |of: Option<UncertaintyRecord>| -> Cell {
        cell_if(of.map(|of| {
            let factor = sheet.print.fixed(of.coverage_factor, 2, "");
            let dof = of.effective_dof.map(|dof| format!("\u{a0}({})", sheet.print.fixed(dof, 0, "")));
            factor + &dof.unwrap_or_default()
        }))
    };
    let mut cells = vec![cell(sheet.label("budget-factor")), cell(""), cell("")];
    cells.extend([of.slope_percent, of.offset_mv, of.zero_point_ph].map(factor));
    Some(Row::Cells(cells))
}

/// Decimals that show two significant digits, at most four.
fn two_digits(value: f64) -> usize {
    match value > 0.0 {
        true => (1 - value.log10().floor() as i32).clamp(0, 4).unsigned_abs() as usize,
        false => 1,
    }
}

/// Probability of conformity of what was judged with an uncertainty; those beyond 99.9 % together.
fn probabilities(sheet: &Sheet) -> Option<Paragraph> {
    let print = &sheet.print;
    let known = |criterion: &'_ CriterionRecord| criterion.probability_of_conformity;
    let judged = || sheet.record.criteria.iter().filter(|criterion| criterion.outcome != OutcomeWord::NotJudged);
    let doubtful = judged().filter_map(|criterion| Some((criterion, known(criterion)?)));
    let mut parts: Vec<String> = doubtful
        .filter(|(_, probability)| *probability <= NEARLY_CERTAIN)
        .map(|(criterion, probability)| {
            let name = named(sheet, criterion);
            match probability < 1.0 - NEARLY_CERTAIN {
                true => format!("{name} <\u{a0}{}", print.fixed(100.0 * (1.0 - NEARLY_CERTAIN), 1, "%")),
                false => format!("{name} {}", print.fixed(100.0 * probability, 1, "%")),
            }
        })
        .collect();
    let certain = judged().filter_map(known).filter(|probability| *probability > NEARLY_CERTAIN).count();
    let beyond = format!(">\u{a0}{}", print.fixed(100.0 * NEARLY_CERTAIN, 1, "%"));
    match (certain, parts.is_empty()) {
        (0, true) => return None,
        (0, false) => {}
        (_, true) => parts.push(print.say("each-beyond", &[("value", &beyond)])),
        (_, false) => parts.push(print.say("others-beyond", &[("value", &beyond)])),
    }
    Some(led(sheet.label("probability"), ended(print.series(&parts))))
}

/// What cannot be decided because its guard bands meet.
fn undecided(sheet: &Sheet) -> Option<Paragraph> {
    let meeting = sheet.record.criteria.iter().filter(|criterion| criterion.guard_bands_meet);
    let names: Vec<String> = meeting.map(|criterion| named(sheet, criterion)).collect();
    let text = sheet.print.say("guard-bands-meet", &[("names", &sheet.print.series(&names))]);
    (!names.is_empty()).then(|| led(sheet.label("undecided"), text))
}

/// `Slope, as left`.
fn named(sheet: &Sheet, criterion: &CriterionRecord) -> String {
    let stage = match (criterion.stage, sheet.is_untouched()) {
        (_, true) => None,
        (Stage::AsFound, false) => Some(sheet.label("state-found")),
        (Stage::AsLeft, false) => Some(sheet.label("state-left")),
    };
    joined([Some(sheet.print.criterion_of(criterion, sheet.record.quantity)), stage])
}
