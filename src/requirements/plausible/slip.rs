//! A reversed response, and the single slips of the pen that would explain an implausible set.

use super::Set;
use crate::engine::slips::{Figure, Gravity, Kind, Slip, Suspicion};
use crate::firm::DecimalSign;
use crate::problem::{Fact, Place, Problem};
use crate::record::{Record, suspicion};
use crate::rounding::fixed;
use crate::visit::{Reading, Visit};

/// The problem of a set with a reversed response, or one that a single slip would explain.
pub(super) fn problem(visit: &Visit, set: &Set<'_>, record: &Record) -> Option<Problem> {
    // The record was searched already: without a slip there, only a reversed response is left to tell.
    let is_named = record.slips.iter().any(|slip| slip.figures.stage == set.stage);
    if !is_named && set.figures.slope_percent.is_none_or(|slope| slope >= 0.0) {
        return None;
    }
    let (suspicion, rows) = suspicion(visit, set.readings, set.stored)?;
    let readings: Vec<&Reading> = rows.iter().map(|&row| &set.readings[row]).collect();
    let first = suspicion.slips.first();
    let place = first.map_or(set.place(set.used[0]), |slip| place(readings[slip.row], slip.figure));
    let told: Vec<String> = suspicion.slips.iter().map(|slip| told(visit, &readings, slip)).collect();
    let slope = suspicion.slope_percent.map_or_else(|| "–".to_owned(), one_decimal);
    let stage = &set.stage;
    let number = |figure: Option<f64>, unit| figure.map_or(Fact::text("–"), |figure| Fact::number(figure, 1, unit));
    let facts = [
        ("stage", Fact::stage(stage)),
        ("slope", number(suspicion.slope_percent, "%")),
        ("offset", number(suspicion.offset_mv, "mV")),
    ];
    Some(match suspicion.gravity {
        Gravity::Reversed => {
            let what = format!("{stage}: the response is reversed: slope {slope} %");
            let why = "a probe gives more millivolts in acid: pH 4 must be positive against pH 7";
            let code = "response-reversed";
            let case = if told.is_empty() { "alone" } else { "slips" };
            Problem::error(code, place, what, why, fix(code, &told)).about_case(case, facts).acceptable()
        }
        Gravity::Impossible if !told.is_empty() => {
            let what = format!("{stage}: {} is implausible", line(&suspicion));
            let why = "a single slip of the pen would explain it";
            let code = "one-slip-explains";
            Problem::error(code, place, what, why, fix(code, &told)).about(facts).acceptable()
        }
        Gravity::Odd if !told.is_empty() => {
            let what = format!("{stage}: a slip is suspected: {}", told.join("; or "));
            let why = "the readings as typed do not fit together; a single slip of the pen would explain it";
            let fix = "compare with the sheet; if it is right as typed, accept it with the reason: it is printed as a deviation";
            Problem::warning("slip-suspected", place, what, why, fix).about(facts)
        }
        Gravity::Impossible | Gravity::Odd => return None,
    })
}

fn fix(code: &str, told: &[String]) -> String {
    let check = "check the sheet: signs and buffers as typed, leads exchanged, electrode type set in the analyser";
    let accept =
        format!("if the readings are right, accept it with a reason: `accepted: [{{code: {code}, reason: …}}]`");
    match told.is_empty() {
        true => format!("{check}; {accept}"),
        false => format!("{}; {check}; {accept}", told.join("; or ")),
    }
}

/// Where the figure stands that a slip concerns.
fn place(reading: &Reading, figure: Figure) -> &Place {
    match figure {
        Figure::Standard => &reading.place,
        Figure::Mv => reading.mv.as_ref().map_or(&reading.place, |mv| &mv.place),
        Figure::Temperature => &reading.temperature.place,
    }
}

fn one_decimal(figure: f64) -> String {
    fixed(figure, 1, DecimalSign::Point)
}

/// The line as typed, in words.
fn line(suspicion: &Suspicion) -> String {
    let [slope, offset] =
        [suspicion.slope_percent, suspicion.offset_mv].map(|figure| figure.map_or_else(|| "–".to_owned(), one_decimal));
    format!("a line with slope {slope} %, offset {offset} mV")
}

/// A slip with the figures it would give, in words.
fn told(visit: &Visit, readings: &[&Reading], slip: &Slip) -> String {
    let name = |at: usize| &visit.kit.standards[readings[at].standard].name.text;
    let reading = readings[slip.row];
    let typed = match slip.figure {
        Figure::Standard => name(slip.row).as_str(),
        Figure::Mv => reading.mv.as_ref().map_or("", |mv| mv.text.as_str()),
        Figure::Temperature => reading.temperature.text.as_str(),
    };
    let unit = match slip.figure {
        Figure::Standard => "",
        Figure::Mv => " mV",
        Figure::Temperature => " °C",
    };
    let here = format!("`{typed}` in `{}`", name(slip.row));
    let would_be = slip.would_be.map_or_else(String::new, |would_be| {
        let decimals = (-would_be.step.log10()).round().clamp(0.0, 6.0) as usize;
        fixed(would_be.value, decimals, DecimalSign::Point) + unit
    });
    let change = match (slip.kind, slip.all) {
        (Kind::BuffersExchanged, _) => {
            format!("with `{}` and `{}` exchanged", name(slip.row), name(slip.other.unwrap_or(slip.row)))
        }
        (Kind::SignLost, true) => "with every sign turned".to_owned(),
        (Kind::SignLost, false) => format!("with the sign of {typed} mV in `{}` turned", name(slip.row)),
        (Kind::DigitsExchanged, _) => format!("with {here} as {would_be} (two digits exchanged)"),
        (Kind::PointMoved, _) => format!("with {here} as {would_be} (decimal point moved)"),
        (Kind::Fahrenheit, true) => "with every temperature in °F".to_owned(),
        (Kind::Fahrenheit, false) => format!("with {here} in °F ({would_be})"),
        (Kind::Volts, true) => "with every potential in volts".to_owned(),
        (Kind::Volts, false) => format!("with {here} in volts ({would_be})"),
        (Kind::BufferFamily, _) => {
            format!("with `{typed}` being {}", slip.buffer.map_or("another buffer", |buffer| buffer.name()))
        }
        (Kind::PhAsMv, true) => "the potentials look like pH, not mV".to_owned(),
        (Kind::PhAsMv, false) => format!("without {here}, which looks like a pH and not mV"),
        (Kind::CopiedFromAsFound | Kind::CopiedFromTarget | Kind::StatedDisagrees, _) => {
            slip.kind.code().replace('-', " ")
        }
    };
    match Option::zip(slip.slope_percent, slip.offset_mv) {
        Some((slope, offset)) => {
            format!("{change}: slope {} %, offset {} mV", one_decimal(slope), one_decimal(offset))
        }
        None => change,
    }
}
