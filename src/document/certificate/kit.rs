//! Standards and instruments that the results rest on.

use super::{Sheet, sentence};
use crate::document::print::{cell, cell_if, joined};
use crate::document::{Align, Block, Row};
use crate::record::StandardFacts;
use crate::rounding::typed;

/// The standards used, with lot, dates, certificate and uncertainty.
pub(super) fn standards(sheet: &Sheet) -> Vec<Block> {
    let print = &sheet.print;
    let mut table = print.table(
        "standards",
        &[
            ("name", Align::Left, 0),
            ("standard-kind", Align::Left, 2),
            ("maker", Align::Left, 1),
            ("lot", Align::Left, 0),
            ("opened", Align::Left, 0),
            ("expires", Align::Left, 0),
            ("certificate", Align::Left, 1),
            ("expanded-uncertainty", Align::Left, 0),
        ],
    );
    let missing = || sheet.label("not-recorded-cell");
    for standard in &sheet.record.standards {
        let or_missing = |text: &Option<String>| cell(text.clone().unwrap_or_else(missing));
        table.rows.push(Row::Cells(vec![
            cell(&standard.name),
            cell(kind(sheet, standard)),
            or_missing(&standard.maker),
            or_missing(&standard.lot),
            or_missing(&print.day_if(&standard.opened)),
            or_missing(&print.day_if(&standard.expires)),
            or_missing(&standard.certificate),
            cell(uncertainty(
                sheet,
                standard.expanded_uncertainty_typed.as_deref(),
                standard.coverage_factor,
                standard.coverage_factor_assumed,
            )),
        ]));
    }
    match table.rows.is_empty() {
        true => Vec::new(),
        false => vec![sheet.heading("standards"), Block::Table(table)],
    }
}

/// What it is, where its value comes from, and the certified value of the lot.
fn kind(sheet: &Sheet, standard: &StandardFacts) -> String {
    let print = &sheet.print;
    joined([
        Some(print.standard_kind(&standard.kind)),
        Some(print.word("value", &standard.value_from)),
        standard.certified.as_ref().map(|(value, at)| {
            print.say("certified-at", &[("value", &typed(value, print.sign)), ("temperature", &print.typed(at, "°C"))])
        }),
    ])
}

/// `0.010 (k = 2)`, with a word where the coverage factor was assumed.
fn uncertainty(sheet: &Sheet, typed: Option<&str>, factor: f64, assumed: bool) -> String {
    let print = &sheet.print;
    let Some(typed) = typed else {
        return sheet.label("not-recorded-cell");
    };
    let key = match assumed {
        true => "uncertainty-assumed",
        false => "uncertainty",
    };
    // A coverage factor is a whole number or has one or two decimals: as few as it needs.
    let decimals = (0..=2).find(|&d| (factor * 10f64.powi(d)).fract().abs() < 1e-9);
    let factor = print.fixed(factor, decimals.unwrap_or(2) as usize, "");
    let value = crate::rounding::typed(typed, print.sign);
    print.say(key, &[("value", &value), ("factor", &factor)])
}

/// The instruments used, with certificate and due date.
pub(super) fn instruments(sheet: &Sheet) -> Vec<Block> {
    let print = &sheet.print;
    if sheet.record.instruments.is_empty() {
        return vec![sheet.heading("instruments"), sentence(sheet, "no-instruments")];
    }
    let mut table = print.table(
        "instruments",
        &[
            ("name", Align::Left, 0),
            ("measures", Align::Left, 1),
            ("make", Align::Left, 1),
            ("serial-number", Align::Left, 1),
            ("certificate", Align::Left, 1),
            ("calibrated", Align::Left, 0),
            ("due", Align::Left, 0),
            ("expanded-uncertainty", Align::Left, 0),
        ],
    );
    let missing = || sheet.label("not-recorded-cell");
    for instrument in &sheet.record.instruments {
        let or_missing = |text: &Option<String>| cell(text.clone().unwrap_or_else(missing));
        let make = [instrument.make.clone(), instrument.model.clone()];
        table.rows.push(Row::Cells(vec![
            cell(&instrument.name),
            cell(print.word("measures", &instrument.measures)),
            cell_if(Some(make.into_iter().flatten().collect::<Vec<_>>().join(" "))),
            or_missing(&instrument.serial),
            or_missing(&instrument.certificate),
            or_missing(&print.day_if(&instrument.calibrated)),
            or_missing(&print.day_if(&instrument.due)),
            cell(uncertainty(
                sheet,
                instrument.expanded_uncertainty_typed.as_deref(),
                instrument.coverage_factor,
                instrument.coverage_factor_assumed,
            )),
        ]));
    }
    vec![sheet.heading("instruments"), Block::Table(table)]
}
