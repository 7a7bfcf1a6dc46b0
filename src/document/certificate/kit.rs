//! Standards and instruments that the results rest on.

use super::{Sheet, sentence};
use crate::document::print::{cell, joined};
use crate::document::{Align, Block, Cell, Row};
use crate::record::{InstrumentFacts, StandardFacts};
use crate::rounding::typed;

/// Standards, then instruments: what each is, with lot or serial, dates, certificate and uncertainty.
pub(super) fn kit(sheet: &Sheet) -> Vec<Block> {
    let record = sheet.record;
    let both = |first: &str, second: &str| match record.instruments.is_empty() {
        true => sheet.label(first),
        false => format!("{} /\n{}", sheet.label(first), sheet.label(second)),
    };
    let mut table = sheet.print.table(
        "standards",
        &[
            ("name", Align::Left, 0),
            ("standard-kind", Align::Left, 2),
            ("make", Align::Left, 1),
            ("lot", Align::Left, 1),
            ("opened", Align::Left, 0),
            ("expires", Align::Left, 0),
            ("certificate", Align::Left, 1),
            ("expanded-uncertainty", Align::Left, 0),
        ],
    );
    table.columns[3].head = both("lot", "serial-number");
    table.columns[4].head = both("opened", "calibrated");
    table.columns[5].head = both("expires", "due");
    table.rows = record.standards.iter().map(|standard| standard_row(sheet, standard)).collect();
    table.rows.extend(record.instruments.iter().map(|instrument| instrument_row(sheet, instrument)));
    let mut blocks = vec![sheet.heading("standards")];
    blocks.extend((!table.rows.is_empty()).then_some(Block::Table(table)));
    blocks.extend(record.instruments.is_empty().then(|| sentence(sheet, "no-instruments")));
    blocks
}

/// A text, or that it was not stated.
fn stated(sheet: &Sheet, text: &Option<String>) -> Cell {
    cell(text.clone().unwrap_or_else(|| sheet.label("not-recorded-cell")))
}

fn standard_row(sheet: &Sheet, standard: &StandardFacts) -> Row {
    Row::Cells(vec![
        cell(&standard.name),
        cell(kind(sheet, standard)),
        stated(sheet, &standard.maker),
        stated(sheet, &standard.lot),
        stated(sheet, &sheet.print.day_if(&standard.opened)),
        stated(sheet, &sheet.print.day_if(&standard.expires)),
        stated(sheet, &standard.certificate),
        cell(uncertainty(
            sheet,
            standard.expanded_uncertainty_typed.as_deref(),
            standard.coverage_factor,
            standard.coverage_factor_assumed,
        )),
    ])
}

fn instrument_row(sheet: &Sheet, instrument: &InstrumentFacts) -> Row {
    let make = [instrument.make.clone(), instrument.model.clone()];
    let measures = sheet.print.word("measures", &instrument.measures);
    Row::Cells(vec![
        cell(&instrument.name),
        cell(sheet.print.say("measures-what", &[("quantity", &measures)])),
        cell(make.into_iter().flatten().collect::<Vec<_>>().join(" ")),
        stated(sheet, &instrument.serial),
        stated(sheet, &sheet.print.day_if(&instrument.calibrated)),
        stated(sheet, &sheet.print.day_if(&instrument.due)),
        stated(sheet, &instrument.certificate),
        cell(uncertainty(
            sheet,
            instrument.expanded_uncertainty_typed.as_deref(),
            instrument.coverage_factor,
            instrument.coverage_factor_assumed,
        )),
    ])
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
