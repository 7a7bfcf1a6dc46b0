//! The drawings of the first part: the figures from found to left on their scales, and the chart of the readings.

use super::Sheet;
use crate::document::chart::{
    self, Dot, PotentialFacts, ScaleFacts, Series, limit_at, potential, scale, states, width_of,
};
use crate::document::{Block, Column};
use crate::record::{CriterionRecord, Figures, LimitRecord, Quantity, ReadingRecord, Stage};

/// The most figures side by side.
const BESIDE: usize = 4;

/// One figure to be shown at a glance.
struct Glance {
    title: String,
    unit: &'static str,
    values: Vec<(Stage, f64)>,
    decimals: usize,
    limits: [Option<LimitRecord>; 2],
    ideal: f64,
    signed: bool,
}

/// What is looked at first, side by side: slope, offset, the largest error and the settling time where they were judged;
/// of a redox loop the error in each solution and the gain.
pub(super) fn strip(sheet: &Sheet) -> Option<Block> {
    let judged = |names: [&str; 2], ideal: f64, signed: bool| of_criterion(sheet, names, ideal, signed);
    let mut figures: Vec<Glance> = match sheet.record.quantity {
        Quantity::Ph => vec![
            of_fit(sheet, "scale-slope", "%", "slope", 100.0, |f| f.slope_percent),
            of_fit(sheet, "scale-offset", "mV", "offset", 0.0, |f| f.offset_mv),
            judged(["as_found_error", "as_left_error"], 0.0, true),
            judged(["settling", "settling"], 0.0, false),
        ],
        Quantity::Redox => {
            let rest = [judged(["gain", "gain"], 100.0, false), judged(["settling", "settling"], 0.0, false)];
            errors(sheet).into_iter().chain(rest).collect()
        }
    };
    figures.retain(|figure| !figure.values.is_empty());
    figures.truncate(BESIDE);
    let columns = figures.len().max(2);
    let drawn = figures.into_iter().filter_map(|figure| drawn(sheet, figure, width_of(columns)));
    let mut drawn: Vec<Column> = drawn.map(|blocks| Column { weight: 1, blocks }).collect();
    if drawn.len() == 1 {
        drawn.push(Column { weight: 1, blocks: Vec::new() });
    }
    (!drawn.is_empty()).then_some(Block::Columns(drawn))
}

/// A figure of the fit.
fn of_fit(
    sheet: &Sheet,
    title: &str,
    unit: &'static str,
    criterion: &str,
    ideal: f64,
    figure: impl Fn(&Figures) -> Option<f64>,
) -> Glance {
    let states = states(sheet.record);
    let values = states.iter();
    let values = values.filter_map(|(stage, state)| Some((*stage, figure(&state.figures)?)));
    Glance {
        title: sheet.label(title),
        unit,
        values: values.collect(),
        decimals: 1,
        limits: limits(sheet, [criterion, criterion]),
        ideal,
        signed: ideal == 0.0,
    }
}

/// A figure that was judged under one name as found and under another as left.
fn of_criterion(sheet: &Sheet, names: [&str; 2], ideal: f64, signed: bool) -> Glance {
    let [found, left] = names;
    let of = |name: &str, stage: Stage| -> Option<&CriterionRecord> {
        let mut criteria = sheet.record.criteria.iter();
        criteria.find(|c| c.name == name && c.stage == stage && c.value.is_some())
    };
    let both = [of(found, Stage::AsFound), of(left, Stage::AsLeft)];
    let known = || both.into_iter().flatten();
    let plain = known().next().map(|criterion| CriterionRecord { of: None, ..criterion.clone() });
    let decimals = known().map(|criterion| criterion.decimals).max().unwrap_or(0);
    Glance {
        title: plain.iter().map(|plain| sheet.print.criterion_name(plain, sheet.record.quantity)).collect(),
        unit: plain.map_or("", |plain| plain.unit),
        values: known().filter_map(|criterion| Some((criterion.stage, criterion.value?))).collect(),
        decimals: match (found, sheet.record.quantity) {
            ("gain", _) => 1,
            ("as_found_error", Quantity::Ph) => decimals.max(2),
            _ => decimals,
        },
        limits: limits(sheet, names),
        ideal,
        signed,
    }
}

/// The error in each redox solution, at most two.
fn errors(sheet: &Sheet) -> Vec<Glance> {
    let states = states(sheet.record);
    let readings = || states.iter().flat_map(|(_, state)| &state.figures.readings);
    let mut standards: Vec<&str> = Vec::new();
    for reading in readings() {
        if !standards.contains(&reading.standard.as_str()) {
            standards.push(&reading.standard);
        }
    }
    let error = |standard: &str| {
        let values = states.iter().filter_map(|(stage, state)| {
            let mut readings = state.figures.readings.iter();
            let reading = readings.find(|reading| reading.standard == standard)?;
            Some((*stage, reading.error_mv?))
        });
        Glance {
            title: sheet.print.say("scale-error", &[("standard", standard)]),
            unit: "mV",
            values: values.collect(),
            decimals: readings().filter_map(|r| r.shown_decimals).max().unwrap_or(0),
            limits: limits(sheet, ["as_found_error", "as_left_error"]),
            ideal: 0.0,
            signed: true,
        }
    };
    standards.into_iter().take(2).map(error).collect()
}

/// The limits of both states.
fn limits(sheet: &Sheet, [found, left]: [&str; 2]) -> [Option<LimitRecord>; 2] {
    let of = |name: &str, stage: Stage| {
        let limit = limit_at(sheet.record, name, stage)?;
        // A length of time has no bound below 0.
        Some(match name {
            "settling" => LimitRecord { fail_low: None, warn_low: None, ..limit },
            _ => limit,
        })
    };
    [of(found, Stage::AsFound), of(left, Stage::AsLeft)]
}

/// Heading and scale.
fn drawn(sheet: &Sheet, glance: Glance, width: f64) -> Option<Vec<Block>> {
    let figure = scale(
        &sheet.print,
        &ScaleFacts {
            title: &glance.title,
            unit: glance.unit,
            values: glance.values,
            decimals: glance.decimals,
            limits: glance.limits,
            same_probe: sheet.record.measuring_loop.probe_left.is_none(),
            untouched: sheet.is_untouched(),
            ideal: glance.ideal,
            signed: glance.signed,
            width,
        },
    )?;
    Some(vec![Block::Heading(glance.title), Block::Figure(figure)])
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
    let show_rest = series.iter().any(|s| s.line.is_some() && s.dots.len() > 2);
    let rest = largest_rest(&series).filter(|_| show_rest);
    let rest = rest.map(|rest| print.say("alt-residual", &[("value", &print.signed(rest, 3, ""))]));
    PotentialFacts {
        theory: (7.0 * nernst, -nernst),
        theory_name: print.say("theory-name", &[("slope", &theory), ("temperature", &at)]),
        x_title: sheet.label("axis-ph"),
        rest_title: sheet.label("residual-title"),
        least_rest: 0.01,
        show_rest,
        alt: joined_alt(
            print.say(
                "alt-chart-ph",
                &[("readings", &sheet.print.series(&alt_series)), ("slope", &theory), ("temperature", &at)],
            ),
            rest,
        ),
        series,
        pad: 0.9,
    }
}

fn joined_alt(said: String, more: Option<String>) -> String {
    [Some(said), more].into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// What is left over most, of the readings that were not left out.
fn largest_rest(series: &[Series]) -> Option<f64> {
    let dots = series.iter().flat_map(|series| &series.dots).filter(|dot| !dot.excluded);
    dots.filter_map(|dot| dot.rest).max_by(|a, b| a.abs().total_cmp(&b.abs()))
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
