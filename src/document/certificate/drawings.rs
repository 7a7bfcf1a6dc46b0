//! The drawings of the first part: scales of what was found and left, and the chart of the readings.

use super::{Sheet, columns};
use crate::document::Block;
use crate::document::chart::{self, Dot, PotentialFacts, ScaleFacts, Series, limit_of, potential, scale, states};
use crate::record::{Figures, LimitRecord, Quantity, ReadingRecord, Stage};

/// Two scales side by side.
pub(super) fn scales(sheet: &Sheet) -> Option<Block> {
    let mut drawn = match sheet.record.quantity {
        Quantity::Ph => vec![
            figure_scale(sheet, "scale-slope", "%", "slope", 100.0, |f| f.slope_percent),
            figure_scale(sheet, "scale-offset", "mV", "offset", 0.0, |f| f.offset_mv),
        ],
        Quantity::Redox => error_scales(sheet),
    }
    .into_iter()
    .flatten();
    match (drawn.next(), drawn.next()) {
        (Some(first), Some(second)) => Some(columns([(1, first), (1, second)])),
        (Some(only), None) => Some(columns([(1, only), (1, Vec::new())])),
        _ => None,
    }
}

/// The scale of one figure of the fit.
fn figure_scale(
    sheet: &Sheet,
    title: &str,
    unit: &str,
    criterion: &str,
    ideal: f64,
    figure: impl Fn(&Figures) -> Option<f64>,
) -> Option<Vec<Block>> {
    let states = states(sheet.record);
    let values = states.iter();
    let values = values.filter_map(|(stage, state)| Some((*stage, figure(&state.figures)?)));
    let limit = limit_of(sheet.record, criterion);
    drawn(sheet, &sheet.label(title), unit, values.collect(), limit, (1, ideal))
}

/// One scale a redox solution: the error of the reading, at most two.
fn error_scales(sheet: &Sheet) -> Vec<Option<Vec<Block>>> {
    let states = states(sheet.record);
    let readings = || states.iter().flat_map(|(_, state)| &state.figures.readings);
    let mut standards: Vec<&str> = Vec::new();
    for reading in readings() {
        if !standards.contains(&reading.standard.as_str()) {
            standards.push(&reading.standard);
        }
    }
    let decimals = readings().filter_map(|r| r.shown_decimals).max().unwrap_or(0);
    let left = limit_of(sheet.record, "as_left_error");
    let title = match left {
        Some(_) => "scale-error-left",
        None => "scale-error",
    };
    let limit = left.or(limit_of(sheet.record, "as_found_error"));
    let standards = standards.into_iter().take(2);
    let scale = |standard: &str| {
        let values = states.iter().filter_map(|(stage, state)| {
            let mut readings = state.figures.readings.iter();
            let reading = readings.find(|reading| reading.standard == standard)?;
            Some((*stage, reading.error_mv?))
        });
        let title = sheet.print.say(title, &[("standard", standard)]);
        drawn(sheet, &title, "mV", values.collect(), limit.clone(), (decimals, 0.0))
    };
    standards.map(scale).collect()
}

/// Heading and scale; `print` holds the decimals and the value that always lies on the scale.
fn drawn(
    sheet: &Sheet,
    title: &str,
    unit: &str,
    values: Vec<(Stage, f64)>,
    limit: Option<LimitRecord>,
    (decimals, ideal): (usize, f64),
) -> Option<Vec<Block>> {
    let figure = scale(
        &sheet.print,
        &ScaleFacts {
            title,
            unit,
            values,
            decimals,
            limit,
            same_probe: sheet.record.measuring_loop.probe_left.is_none(),
            untouched: sheet.is_untouched(),
            ideal,
        },
    )?;
    Some(vec![Block::Heading(title.to_owned()), Block::Figure(figure)])
}

/// The chart of the readings with its heading.
pub(super) fn chart(sheet: &Sheet) -> Vec<Block> {
    let (heading, facts) = match sheet.record.quantity {
        Quantity::Ph => ("chart-ph", ph_facts(sheet)),
        Quantity::Redox => ("chart-redox", redox_facts(sheet)),
    };
    let figure = potential(&sheet.print, &facts);
    let blocks = figure.map(|figure| vec![sheet.heading(heading), Block::Figure(figure)]);
    blocks.unwrap_or_default()
}

fn stage_name(sheet: &Sheet, stage: Stage) -> String {
    sheet.label(match (stage, sheet.is_untouched()) {
        (Stage::AsFound, true) => "state-untouched",
        (Stage::AsFound, false) => "state-found",
        (Stage::AsLeft, _) => "state-left",
    })
}

/// Potential against pH: lines `E = E₇ + η·k(T̄)·(7 − pH)`.
fn ph_facts(sheet: &Sheet) -> PotentialFacts {
    let print = &sheet.print;
    let states = states(sheet.record);
    let dot = |reading: &ReadingRecord| {
        Some(Dot {
            x: reading.buffer_ph?,
            y: reading.mv?,
            rest: reading.residual_ph,
            standard: reading.standard.clone(),
            excluded: reading.excluded.is_some(),
        })
    };
    let series: Vec<Series> = states
        .iter()
        .map(|&(stage, state)| {
            let figures = &state.figures;
            let slope = figures.slope_mv_per_ph;
            let line = figures.offset_mv.zip(slope).map(|(e7, k)| (e7 + 7.0 * k, -k));
            let name = stage_name(sheet, stage);
            let slope = slope.map(|slope| print.fixed(slope, 1, "mV/pH"));
            Series {
                stage,
                name: slope.map_or(name.clone(), |slope| format!("{name} {slope}")),
                dots: figures.readings.iter().filter_map(dot).collect(),
                line,
            }
        })
        .collect();
    let mean = states.last().and_then(|(_, state)| state.figures.mean_temperature_c);
    let nernst = theoretical(states.last().map(|(_, state)| &state.figures));
    let theory = print.fixed(nernst, 1, "mV/pH");
    let alt_series: Vec<String> = series.iter().map(|series| told(sheet, series)).collect();
    let at = print.fixed(mean.unwrap_or(25.0), 1, "°C");
    PotentialFacts {
        theory: (7.0 * nernst, -nernst),
        theory_name: print.say("theory-name", &[("slope", &theory)]),
        x_title: sheet.label("axis-ph"),
        rest_title: sheet.label("residual-title"),
        least_rest: 0.01,
        show_rest: series.iter().any(|s| s.line.is_some() && s.dots.len() > 2),
        alt: print.say(
            "alt-chart-ph",
            &[("readings", &sheet.print.series(&alt_series)), ("slope", &theory), ("temperature", &at)],
        ),
        series,
        pad: 0.9,
    }
}

/// Theoretical slope at the mean temperature in mV per pH, from the record: the mean of those at the readings, which
/// is the one at their mean temperature, as it is linear in it.
fn theoretical(figures: Option<&Figures>) -> f64 {
    let readings = figures.map(|figures| &figures.readings[..]).unwrap_or_default();
    let slopes: Vec<f64> = readings.iter().filter_map(|r| r.nernst_mv_per_ph).collect();
    slopes.iter().sum::<f64>() / slopes.len().max(1) as f64
}

/// A series in words: `as found: pH 6.874 −20.6 mV, …`.
fn told(sheet: &Sheet, series: &Series) -> String {
    let print = &sheet.print;
    let dots = series.dots.iter().map(|dot| {
        let (x, y) = match sheet.record.quantity {
            Quantity::Ph => (format!("pH\u{a0}{}", print.fixed(dot.x, 3, "")), dot.y),
            Quantity::Redox => (print.fixed(dot.x, 1, "mV"), dot.y),
        };
        format!("{x} → {}", print.fixed(y, 1, "mV"))
    });
    print.say("named", &[("name", &series.name), ("text", &dots.collect::<Vec<_>>().join(", "))])
}

/// Shown against the standard's potential; the errors magnified below.
fn redox_facts(sheet: &Sheet) -> PotentialFacts {
    let states = chart::states(sheet.record);
    let dot = |reading: &ReadingRecord| {
        Some(Dot {
            x: reading.standard_mv?,
            y: reading.shown_mv.or(reading.mv)?,
            rest: reading.error_mv,
            standard: reading.standard.clone(),
            excluded: reading.excluded.is_some(),
        })
    };
    let series: Vec<Series> = states
        .iter()
        .map(|&(stage, state)| Series {
            stage,
            name: stage_name(sheet, stage),
            dots: state.figures.readings.iter().filter_map(dot).collect(),
            line: None,
        })
        .collect();
    let alt_series: Vec<String> = series.iter().map(|series| told(sheet, series)).collect();
    PotentialFacts {
        theory: (0.0, 1.0),
        theory_name: sheet.label("identity-name"),
        x_title: sheet.label("axis-redox"),
        rest_title: sheet.label("error-title"),
        least_rest: 5.0,
        show_rest: true,
        alt: sheet.print.say("alt-chart-redox", &[("readings", &sheet.print.series(&alt_series))]),
        series,
        pad: 40.0,
    }
}
