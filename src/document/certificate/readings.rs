//! Every reading as typed with what follows from it, and figures that the analyser held or somebody stated.

use super::{Sheet, columns, settling};
use crate::document::chart::{limit_of, small_width as width, width_of};
use crate::document::print::{bounds, cell, cell_if, joined, led, without_empty_columns};
use crate::document::{Align, Block, Cell, Fact, Row, Table};
use crate::record::{Figures, Quantity, ReadingRecord, StateRecord, StoredRecord, UncertaintyRecord};
use crate::rounding::{beside, expanded_uncertainty, prose, with_unit};

/// A group of readings: its name and its figures.
struct Group<'a> {
    name: String,
    figures: &'a Figures,
    /// Whether a step between the states that are judged: its figures are told in short.
    is_step: bool,
}

/// The readings of every state and after every remedy.
pub(super) fn tables(sheet: &Sheet) -> Vec<Block> {
    let groups = groups(sheet);
    if groups.is_empty() {
        return Vec::new();
    }
    let readings = || groups.iter().flat_map(|group| &group.figures.readings);
    let typed = readings().filter_map(|reading| reading.shown_decimals).max();
    let decimals = match sheet.record.quantity {
        Quantity::Ph => typed.unwrap_or(2).max(2),
        Quantity::Redox => typed.unwrap_or(0),
    };
    let whole = without_empty_columns(table(sheet, &groups, decimals));
    let rows = groups[..half(&groups)].iter().map(|group| 1 + group.figures.readings.len()).sum::<usize>();
    let (left, right) = whole.rows.split_at(rows.min(whole.rows.len()));
    let part = |rows: &[Row]| Table { rows: rows.to_vec(), ..whole.clone() };
    let pair = [part(left), part(right)];
    let readings = match !right.is_empty() && pair.iter().all(is_narrow) {
        true => {
            let [left, right] = pair.map(|table| vec![Block::Table(table)]);
            columns([(1, left), (1, right)])
        }
        false => Block::Table(whole),
    };
    let by_state = groups.iter().flat_map(|group| group.figures.readings.iter().map(|row| (group.name.as_str(), row)));
    let mut blocks = vec![sheet.heading("readings"), readings];
    blocks.extend(settling::list(sheet, by_state));
    blocks
}

fn table(sheet: &Sheet, groups: &[Group], decimals: usize) -> Table {
    let mut table = match sheet.record.quantity {
        Quantity::Ph => ph_table(sheet),
        Quantity::Redox => redox_table(sheet),
    };
    for group in groups {
        let figures = figures_line(sheet, group);
        table.rows.push(Row::Group(led(&group.name, figures)));
        // A line through two readings leaves nothing over.
        let is_over = group.figures.residual_sd_mv.is_some();
        for reading in &group.figures.readings {
            let mut cells = match sheet.record.quantity {
                Quantity::Ph => ph_cells(sheet, reading, decimals, is_over),
                Quantity::Redox => redox_cells(sheet, reading, decimals),
            };
            cells.push(cell(notes(sheet, reading)));
            table.rows.push(Row::Cells(cells));
        }
    }
    table
}

/// How many groups stand in the left one of two tables so that both are about as high.
fn half(groups: &[Group]) -> usize {
    let height = |groups: &[Group]| groups.iter().map(|group| group.figures.readings.len() + GROUP_ROWS).sum::<usize>();
    let all = height(groups);
    (0..groups.len()).find(|&count| 2 * height(&groups[..count + 1]) >= all).map_or(0, |count| count + 1)
}

/// Rows that the name and the figures of a group take.
const GROUP_ROWS: usize = 2;

/// Whether a table surely fits one of two columns, whatever the language.
fn is_narrow(table: &Table) -> bool {
    let column = |at: usize| {
        let cells = table.rows.iter().filter_map(move |row| match row {
            Row::Cells(cells) => Some(width(&cells[at].text, false)),
            Row::Group(_) => None,
        });
        let head = table.columns[at].head.split(' ').map(|word| width(word, true));
        cells.chain(head).fold(0.0, f64::max)
    };
    let gaps = COLUMN_GAP * table.columns.len().saturating_sub(1) as f64;
    (0..table.columns.len()).map(column).sum::<f64>() + gaps <= TOO_WIDE * width_of(2)
}

/// By how much widths are overestimated, at least.
const TOO_WIDE: f64 = 1.03;
/// White between the columns of a small table in pt, as it is set.
const COLUMN_GAP: f64 = 6.2;

fn groups<'a>(sheet: &Sheet<'a>) -> Vec<Group<'a>> {
    let record = sheet.record;
    let found = match sheet.is_untouched() {
        true => "state-untouched-title",
        false => "state-found-title",
    };
    let mut groups = vec![Group { name: sheet.label(found), figures: &record.as_found.figures, is_step: false }];
    for (step, remedy) in (1..).zip(&record.remedies) {
        let Some(figures) = &remedy.after else {
            continue;
        };
        let remedy = sheet.print.word("remedy", &remedy.remedy);
        groups.push(Group {
            name: sheet.print.say("after-remedy", &[("step", &step.to_string()), ("remedy", &remedy)]),
            figures,
            is_step: true,
        });
    }
    groups.extend(record.as_left.as_ref().map(|left| Group {
        name: sheet.label("state-left-title"),
        figures: &left.figures,
        is_step: false,
    }));
    groups.retain(|group| !group.figures.readings.is_empty());
    groups
}

fn ph_table(sheet: &Sheet) -> Table {
    sheet.print.table(
        "readings",
        &[
            ("in", Align::Left, 0),
            ("celsius", Align::Decimal, 1),
            ("buffer-ph", Align::Decimal, 1),
            ("millivolt", Align::Decimal, 1),
            ("shown-ph", Align::Decimal, 1),
            ("error", Align::Decimal, 1),
            ("expanded-uncertainty", Align::Decimal, 0),
            ("residual", Align::Decimal, 1),
            ("after", Align::Right, 0),
            ("notes", Align::Left, 2),
        ],
    )
}

fn ph_cells(sheet: &Sheet, reading: &ReadingRecord, decimals: usize, is_over: bool) -> Vec<Cell> {
    let print = &sheet.print;
    vec![
        cell(&reading.standard),
        cell(print.digits(&reading.temperature_typed, "°C")),
        cell_if(reading.buffer_ph.map(|ph| print.fixed(ph, 3, ""))),
        cell_if(reading.mv_typed.as_ref().map(|mv| print.digits(mv, "mV"))),
        cell_if(reading.shown_typed.as_ref().map(|shown| print.digits(shown, "pH"))),
        cell_if(reading.error_ph.map(|error| print.signed(error, decimals, ""))),
        uncertainty(sheet, reading.error_uncertainty_ph),
        cell_if(reading.residual_ph.filter(|_| is_over).map(|rest| print.signed(rest, 3, ""))),
        cell_if(reading.after_typed.as_ref().map(|after| print.typed(after, "s"))),
    ]
}

fn redox_table(sheet: &Sheet) -> Table {
    sheet.print.table(
        "readings",
        &[
            ("in", Align::Left, 0),
            ("celsius", Align::Decimal, 1),
            ("standard-mv", Align::Decimal, 1),
            ("millivolt", Align::Decimal, 1),
            ("shown-mv", Align::Decimal, 1),
            ("error-mv", Align::Decimal, 1),
            ("expanded-uncertainty", Align::Decimal, 0),
            ("after", Align::Right, 0),
            ("notes", Align::Left, 2),
        ],
    )
}

fn redox_cells(sheet: &Sheet, reading: &ReadingRecord, decimals: usize) -> Vec<Cell> {
    let print = &sheet.print;
    vec![
        cell(&reading.standard),
        cell(print.digits(&reading.temperature_typed, "°C")),
        cell_if(reading.standard_mv.map(|mv| print.fixed(mv, 1, ""))),
        cell_if(reading.mv_typed.as_ref().map(|mv| print.digits(mv, "mV"))),
        cell_if(reading.shown_typed.as_ref().map(|shown| print.digits(shown, "mV"))),
        cell_if(reading.error_mv.map(|error| print.signed(error, decimals, ""))),
        uncertainty(sheet, reading.error_uncertainty_mv),
        cell_if(reading.after_typed.as_ref().map(|after| print.typed(after, "s"))),
    ]
}

/// An expanded uncertainty with two significant digits.
fn uncertainty(sheet: &Sheet, expanded: Option<f64>) -> Cell {
    cell_if(expanded.map(|expanded| expanded_uncertainty(expanded, sheet.print.sign).0))
}

/// What else was written down about a reading.
fn notes(sheet: &Sheet, reading: &ReadingRecord) -> String {
    let print = &sheet.print;
    let said = |key: &str, text: &Option<String>| {
        let text = text.as_deref().map(prose);
        text.map(|text| print.say(key, &[("text", &text)]))
    };
    let notes = [
        said("note-excluded", &reading.excluded),
        (reading.settled == Some(false)).then(|| print.label("note-not-settled")),
        said("note-assumed", &reading.temperature_assumed),
        reading.at.as_ref().map(|at| print.clock(at)),
        said("note-with", &reading.with),
        reading.note.as_deref().map(prose),
    ];
    print.series(&notes.into_iter().flatten().collect::<Vec<_>>())
}

/// The figures of a group; of a step between two states in short.
fn figures_line(sheet: &Sheet, group: &Group) -> String {
    let (print, figures) = (&sheet.print, group.figures);
    let say = |key: &str, value: Option<String>| value.map(|value| print.say(key, &[("value", &value)]));
    let known = figures.uncertainty.unwrap_or_default();
    let slope = figures.slope_percent.map(|slope| with_uncertainty(sheet, "slope", slope, known.slope_percent, "%"));
    let mean = figures.mean_temperature_c.map(|mean| print.fixed(mean, 1, "°C"));
    let at_mean = figures.slope_mv_per_ph.zip(mean.clone()).map(|(slope, mean)| {
        let slope = print.fixed(slope, 2, "mV/pH");
        print.say("figure-at-mean", &[("value", &slope), ("temperature", &mean)])
    });
    let mean = mean.filter(|_| figures.slope_percent.is_none());
    let offset = figures.offset_mv.map(|offset| with_uncertainty(sheet, "offset", offset, known.offset_mv, "mV"));
    let in_short = joined([say("figure-slope", slope.clone()), say("figure-offset", offset.clone())]);
    if group.is_step && !in_short.is_empty() {
        return in_short;
    }
    let zero = figures.zero_point_ph.map(|zero| with_uncertainty(sheet, "zero_point", zero, known.zero_point_ph, ""));
    let sd = figures.residual_sd_mv.map(|sd| print.fixed(sd, 2, "mV"));
    let gain = figures.gain_percent.map(|gain| with_uncertainty(sheet, "gain", gain, known.gain_percent, "%"));
    joined([
        say("figure-slope", slope),
        at_mean,
        say("figure-offset", offset),
        say("figure-zero", zero),
        say("figure-sd", sd),
        say("figure-gain", gain),
        say("figure-mean", mean),
    ])
}

/// A figure with as many decimals as it needs beside its limits.
fn guarded(sheet: &Sheet, criterion: &str, value: f64, unit: &str) -> String {
    let limit = limit_of(sheet.record, criterion).unwrap_or_default();
    let decimals = beside(value, 1, &bounds(&limit));
    sheet.print.fixed(value, decimals, unit)
}

/// A figure with its expanded uncertainty, rounded to match unless that would contradict its verdict.
fn with_uncertainty(sheet: &Sheet, criterion: &str, value: f64, of: Option<UncertaintyRecord>, unit: &str) -> String {
    let Some(of) = of else {
        return guarded(sheet, criterion, value, unit);
    };
    let (expanded, decimals) = expanded_uncertainty(of.expanded, sheet.print.sign);
    let limit = limit_of(sheet.record, criterion).unwrap_or_default();
    let value = sheet.print.fixed(value, beside(value, decimals, &bounds(&limit)), "");
    with_unit(&format!("{value}\u{a0}±\u{a0}{expanded}"), unit)
}

/// Figures that somebody stated beside those from the readings.
pub(super) fn stated(sheet: &Sheet) -> Vec<Block> {
    let mut table = sheet.print.table(
        "stated",
        &[
            ("figure", Align::Left, 2),
            ("state", Align::Left, 1),
            ("given", Align::Decimal, 1),
            ("from-readings", Align::Decimal, 1),
            ("comparison", Align::Left, 2),
        ],
    );
    for (name, state) in states(sheet) {
        table.rows.extend(stated_rows(sheet, name, state));
    }
    match table.rows.is_empty() {
        true => Vec::new(),
        false => vec![sheet.heading("stated"), Block::Table(table)],
    }
}

/// The states of a loop with the key of their name.
fn states<'a>(sheet: &Sheet<'a>) -> impl Iterator<Item = (&'static str, &'a StateRecord)> {
    let found = match sheet.is_untouched() {
        true => "state-untouched-title",
        false => "state-found-title",
    };
    let left = sheet.record.as_left.as_ref().map(|left| ("state-left-title", left));
    std::iter::once((found, &sheet.record.as_found)).chain(left)
}

fn stated_rows(sheet: &Sheet, name: &str, state: &StateRecord) -> Vec<Row> {
    let print = &sheet.print;
    let row = |stated: &crate::record::StatedRecord| {
        let figure = print.word("stated", &stated.figure);
        let between = stated.between.clone();
        let decimals = crate::rounding::decimals_typed(&stated.stated_typed).max(1);
        let computed = stated.computed;
        let computed = computed.map(|value| match stated.figure.as_str() {
            "slope" | "offset" => guarded(sheet, &stated.figure, value, &stated.unit),
            _ => print.fixed(value, decimals, &stated.unit),
        });
        let comparison = match stated.agrees {
            Some(true) => "agrees",
            Some(false) => "differs",
            None => "not-computed",
        };
        Row::Cells(vec![
            cell(joined([Some(figure), between])),
            cell(sheet.label(name)),
            cell(print.typed(&stated.stated_typed, &stated.unit)),
            cell_if(computed),
            cell(sheet.label(comparison)),
        ])
    };
    state.stated.iter().map(row).collect()
}

/// What the analyser held in each state, and whether it showed what follows from it.
pub(super) fn stored(sheet: &Sheet) -> Vec<Fact> {
    let print = &sheet.print;
    let say = |key: &str, typed: &Option<String>, unit: &str| {
        typed.as_ref().map(|typed| print.say(key, &[("value", &print.typed(typed, unit))]))
    };
    let held = |name: &str, stored: &StoredRecord| {
        let held =
            joined([say("figure-slope", &stored.slope_typed, "%"), say("figure-offset", &stored.offset_typed, "mV")]);
        let label = match name {
            "state-left-title" => "held-left",
            _ => "held-found",
        };
        (!held.is_empty()).then(|| print.fact(label, joined([Some(held), Some(agreement(sheet, stored))])))
    };
    states(sheet).filter_map(|(name, state)| held(name, state.stored.as_ref()?)).collect()
}

/// Whether the analyser shows what follows from what it holds.
fn agreement(sheet: &Sheet, stored: &StoredRecord) -> String {
    let print = &sheet.print;
    match (stored.agrees, stored.largest_disagreement_ph) {
        (Some(true), _) => print.label("stored-agrees"),
        (Some(false), Some(largest)) => {
            let largest = print.fixed(largest.abs(), 2, "");
            print.say("stored-differs", &[("largest", &largest)])
        }
        (Some(false), None) | (None, _) => print.label("not-computed"),
    }
}
