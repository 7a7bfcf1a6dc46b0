//! Earlier visits of the loop: a chart a figure, every visit in a row, and what they say together.

use super::{Sheet, columns};
use crate::document::chart::{HistoryFacts, LineDay, Stop, history as draw, width_of};
use crate::document::print::{Print, cell, cell_if, joined, led, without_empty_columns};
use crate::document::{Align, Block, Figure, Paragraph, Row, Table};
use crate::record::{AgeingRecord, BreakRecord, FigureTrend, GainRecord, PointFigures, Quantity, Trend, TrendVisit};
use crate::rounding::{fixed, signed};
use chrono::NaiveDate;

/// Visits that the table shows and the words for a chart name, the last ones; the record holds all.
const ROWS: usize = 8;

/// Height of a plot in pt.
const PLOT: f64 = 92.0;

/// Charts, table and words; nothing below three visits.
pub(super) fn history(sheet: &Sheet) -> Vec<Block> {
    let Some(trend) = &sheet.record.trend else {
        return Vec::new();
    };
    let mut blocks = charts(sheet, trend);
    blocks.push(sheet.heading("history-visits"));
    blocks.push(Block::Table(table(sheet, trend)));
    blocks.push(Block::List(words(sheet, trend)));
    blocks
}

/// One chart a figure, side by side.
fn charts(sheet: &Sheet, trend: &Trend) -> Vec<Block> {
    let print = &sheet.print;
    let breaks: Vec<(BreakRecord, String)> =
        trend.breaks.iter().map(|b| (b.clone(), print.word("break", &b.what))).collect();
    let mut drawn = trend.figures.iter().filter_map(|figure| {
        let title = print.word("history", figure.figure);
        let (visits, figures) = (&trend.visits, &trend.figures);
        let facts = Drawn { visits, breaks: &breaks, figure, figures, size: [width_of(2), PLOT] };
        Some(vec![Block::Heading(title.clone()), Block::Figure(chart(print, &facts, &title)?)])
    });
    match (drawn.next(), drawn.next()) {
        (Some(first), Some(second)) => vec![columns([(1, first), (1, second)])],
        (Some(only), None) => vec![columns([(1, only), (1, Vec::new())])],
        (None, _) => Vec::new(),
    }
}

fn value(figure: &FigureTrend, figures: &Option<PointFigures>) -> Option<f64> {
    let figures = figures.as_ref()?;
    match figure.figure {
        "slope_percent" => figures.slope_percent,
        "offset_mv" => figures.offset_mv,
        _ => figures.error_mv,
    }
}

/// The visits that are told one by one.
fn last_rows(visits: &[TrendVisit]) -> &[TrendVisit] {
    &visits[visits.len().saturating_sub(ROWS)..]
}

fn day(text: &str) -> Option<NaiveDate> {
    text.parse().ok()
}

/// A figure over the visits.
pub(in crate::document) struct Drawn<'a> {
    pub visits: &'a [TrendVisit],
    /// Breaks with their words.
    pub breaks: &'a [(BreakRecord, String)],
    pub figure: &'a FigureTrend,
    /// Every figure of the loop, so that its charts have one time axis.
    pub figures: &'a [FigureTrend],
    /// Width of the drawing and height of its plot in pt.
    pub size: [f64; 2],
}

/// The chart of a figure; nothing without two days.
pub(in crate::document) fn chart(print: &Print, drawn: &Drawn, title: &str) -> Option<Figure> {
    let figure = drawn.figure;
    let stops = drawn.visits.iter().filter_map(|visit| {
        let (found, left) = (value(figure, &visit.found), value(figure, &visit.left));
        Some(Stop { day: day(&visit.date)?, found, left, untouched: visit.untouched })
    });
    let breaks = drawn.breaks.iter().filter_map(|(b, word)| Some((day(&b.date)?, word.clone(), b.visit.is_none())));
    let band = figure.ageing.iter().flat_map(|ageing| &ageing.band);
    let band = band.filter_map(|point| {
        Some(LineDay { day: day(&point.date)?, value: point.value, band: Option::zip(point.low, point.high) })
    });
    let said = last_rows(drawn.visits).iter().map(|visit| {
        let said = |key: &str, figures| {
            let value = value(figure, figures)?;
            Some(format!("{} {}", print.label(key), print.fixed(value, 1, figure.unit)))
        };
        let states = joined([said("state-found", &visit.found), said("state-left", &visit.left)]);
        print.say("named", &[("name", &print.day(&visit.date)), ("text", &states)])
    });
    let said = print.series(&said.collect::<Vec<_>>());
    let facts = HistoryFacts {
        stops: stops.collect(),
        limit: figure.limit.clone(),
        breaks: breaks.collect(),
        line: band.collect(),
        size: drawn.size,
        until: drawn.figures.iter().flat_map(|f| &f.ageing).flat_map(|a| &a.band).filter_map(|b| day(&b.date)).max(),
        legend: ["state-found", "state-left", "history-band"].map(|key| print.label(key)),
        alt: print.say("alt-history", &[("title", title), ("visits", &said)]),
    };
    draw(print, &facts)
}

/// One row a visit, this one the last.
fn table(sheet: &Sheet, trend: &Trend) -> Table {
    let is_ph = sheet.record.quantity == Quantity::Ph;
    let mut heads = vec![("date", Align::Left, 0), ("visit", Align::Left, 0), ("probe", Align::Left, 0)];
    heads.extend(match sheet.record.quantity {
        Quantity::Ph => vec![
            ("history-slope-found", Align::Decimal, 0),
            ("history-slope-left", Align::Decimal, 0),
            ("history-offset-found", Align::Decimal, 0),
            ("history-offset-left", Align::Decimal, 0),
        ],
        Quantity::Redox => {
            vec![("history-error-found", Align::Decimal, 0), ("history-error-left", Align::Decimal, 0)]
        }
    });
    heads.push(("done", Align::Left, 1));
    let mut table = sheet.print.table("history-visits", &heads);
    table.rows = last_rows(&trend.visits).iter().map(|visit| row(sheet, visit, is_ph)).collect();
    without_empty_columns(table)
}

fn row(sheet: &Sheet, visit: &TrendVisit, is_ph: bool) -> Row {
    let print = &sheet.print;
    let states = [&visit.found, &visit.left];
    let mut cells = vec![cell(print.day(&visit.date)), cell(&visit.visit), cell_if(visit.serial.clone())];
    let number = |value: Option<f64>| cell_if(value.map(|value| fixed(value, 1, print.sign)));
    let of = |figure: fn(&PointFigures) -> Option<f64>| states.map(|state| number(state.as_ref().and_then(figure)));
    match is_ph {
        true => cells.extend(of(|f| f.slope_percent).into_iter().chain(of(|f| f.offset_mv))),
        false => cells.extend(of(|f| f.error_mv)),
    }
    let done = visit.done.iter().map(|word| Some(print.remedy_inside(word)));
    cells.push(cell(match (visit.untouched, visit.done.is_empty()) {
        (true, _) => print.label("history-untouched"),
        (false, true) => print.label("history-adjusted"),
        (false, false) => joined(done),
    }));
    Row::Cells(cells)
}

/// Ageing and fouling of each figure, and what each remedy gained.
fn words(sheet: &Sheet, trend: &Trend) -> Vec<Paragraph> {
    let print = &sheet.print;
    let mut list = of_figures(print, &trend.breaks, &trend.figures, &trend.gains);
    let more = trend.before + trend.visits.len().saturating_sub(ROWS);
    if more > 0 {
        list.push(led(print.label("history-more"), print.say("history-more-visits", &[("count", &more.to_string())])));
    }
    list
}

/// What visits say together: a paragraph a figure, then what remedies gained.
pub(in crate::document) fn of_figures(
    print: &Print,
    breaks: &[BreakRecord],
    figures: &[FigureTrend],
    gains: &[GainRecord],
) -> Vec<Paragraph> {
    let mut list: Vec<Paragraph> = figures.iter().map(|figure| of_figure(print, breaks, figure)).collect();
    let gains: Vec<String> = gains.iter().filter_map(|gain| of_remedy(print, gain)).collect();
    if !gains.is_empty() {
        list.push(led(print.label("history-gains"), format!("{}.", print.series(&gains))));
    }
    list
}

fn of_figure(print: &Print, breaks: &[BreakRecord], figure: &FigureTrend) -> Paragraph {
    let began = breaks.iter().rev().find(|b| b.date == figure.since);
    let since = match began {
        Some(BreakRecord { what, date, .. }) => {
            print.say("history-since", &[("what", &print.word("break", what)), ("day", &print.day(date))])
        }
        None => print.say("history-since-first", &[("day", &print.day(&figure.since))]),
    };
    let points = figure.points.to_string();
    let rate = |value: f64| print.signed(value, 2, figure.unit);
    let ageing = figure.ageing.as_ref().filter(|_| figure.points > 2);
    let aged = match ageing {
        Some(ageing) if ageing.has_direction => {
            let half = ageing.per_30_days_half_width.map_or_else(String::new, |half| fixed(half, 2, print.sign));
            print.say("history-ages", &[("rate", &rate(ageing.per_30_days)), ("half", &half), ("points", &points)])
        }
        Some(_) => print.say("history-no-direction", &[("points", &points)]),
        None => print.label("history-too-few"),
    };
    let met = ageing.map(|ageing| met(print, figure, ageing)).unwrap_or_default();
    let fouled = figure.fouling_per_30_days.map(|per| print.say("history-fouls", &[("rate", &rate(per))]));
    let text = [format!("{since} {aged}{met}."), fouled.unwrap_or_default()];
    led(print.word("history-lead", figure.figure), text.join(" ").trim_end().to_owned())
}

/// When the line meets the limits, where that can be told.
fn met(print: &Print, figure: &FigureTrend, ageing: &AgeingRecord) -> String {
    let limit = |limit: Option<f64>| print.fixed(limit.unwrap_or_default(), figure.limit.decimals, figure.unit);
    let warn = ageing
        .warn_on
        .as_ref()
        .map(|day| print.say("history-meets-warn", &[("limit", &limit(ageing.warn_limit)), ("day", &print.day(day))]));
    let fail = ageing
        .fail_on
        .as_ref()
        .map(|day| print.say("history-meets-fail", &[("limit", &limit(ageing.fail_limit)), ("day", &print.day(day))]));
    let told = joined([warn, fail]);
    match told.is_empty() {
        true => told,
        false => print.series(&[String::new(), print.say("history-meets", &[("limits", &told)])]),
    }
}

/// `junction renewed +6.3 % (1 time)`.
fn of_remedy(print: &Print, gain: &GainRecord) -> Option<String> {
    let slope = gain.slope_gained_percent.map(|slope| signed(slope, 1, print.sign))?;
    let offset = gain.offset_moved_mv.map_or_else(String::new, |offset| signed(offset, 1, print.sign));
    let word = print.remedy_inside(&gain.remedy);
    Some(match gain.measured {
        1 => print.say("history-gain", &[("remedy", &word), ("slope", &slope), ("offset", &offset)]),
        times => print.say(
            "history-gain-mean",
            &[("remedy", &word), ("slope", &slope), ("offset", &offset), ("times", &times.to_string())],
        ),
    })
}
