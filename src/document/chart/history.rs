//! A figure over several visits: as found and as left, limits, breaks, the line since the last break with its band.

use super::{
    Axis, DASHED, DOTTED, FOUND, LEFT, Look, NORMAL, Sketch, TICK, bounds_of, extent, spread, text_width, tick_labels,
    ticks,
};
use crate::document::print::Print;
use crate::document::{Anchor, Figure, Ink, Shape};
use crate::record::{LimitRecord, Stage};
use crate::rounding::fixed;
use chrono::{Datelike, Months, NaiveDate};

const LEFT_EDGE: f64 = 24.0;
const TOP: f64 = 14.0;

/// One visit.
#[derive(Debug, Clone)]
pub(in crate::document) struct Stop {
    pub day: NaiveDate,
    pub found: Option<f64>,
    pub left: Option<f64>,
    /// Whether what was found was left.
    pub untouched: bool,
}

/// One day of the line: value, and the band where there is one.
#[derive(Debug, Clone, Copy)]
pub(in crate::document) struct LineDay {
    pub day: NaiveDate,
    pub value: f64,
    pub band: Option<(f64, f64)>,
}

/// What the chart shows.
#[derive(Debug)]
pub(in crate::document) struct HistoryFacts {
    /// In the order of time.
    pub stops: Vec<Stop>,
    pub limit: LimitRecord,
    /// Days with their words; whether nobody's visit did it, so that no way leads over it.
    pub breaks: Vec<(NaiveDate, String, bool)>,
    /// The line since the last break; empty without.
    pub line: Vec<LineDay>,
    /// Last day shown, so that charts of one loop have one time axis.
    pub until: Option<NaiveDate>,
    /// Words of the legend: found, left, line; the last only with a band.
    pub legend: [String; 3],
    /// What the chart says, in words.
    pub alt: String,
    /// Width of the drawing and height of its plot in pt.
    pub size: [f64; 2],
}

impl HistoryFacts {
    fn width(&self) -> f64 {
        self.size[0]
    }

    fn right(&self) -> f64 {
        self.width() - 4.0
    }

    fn bottom(&self) -> f64 {
        TOP + self.size[1]
    }
}

/// Draws the chart; nothing without two days.
pub(in crate::document) fn history(print: &Print, facts: &HistoryFacts) -> Option<Figure> {
    let number = |day: NaiveDate| f64::from(day.num_days_from_ce());
    let days =
        facts.stops.iter().map(|stop| stop.day).chain(facts.line.iter().map(|point| point.day).chain(facts.until));
    let (first, last) = extent(days.map(number))?;
    let values = facts.stops.iter().flat_map(|stop| [stop.found, stop.left]).flatten();
    let on_line = facts.line.iter().map(|point| point.value);
    let (low, high) = extent(values.chain(on_line).chain(bounds_of(&facts.limit)))?;
    if last - first < 1.0 {
        return None;
    }
    let pad = (last - first) * 0.03;
    let x_axis = Axis { low: first - pad, high: last + pad, from: LEFT_EDGE, to: facts.right() };
    let pad = ((high - low) * 0.08).max(0.5);
    let y_axis = Axis { low: low - pad, high: high + pad, from: facts.bottom(), to: TOP };
    let place = |day: NaiveDate, value: f64| [x_axis.at(number(day)), y_axis.at(value)];
    let mut sketch = Sketch::new(facts.width());
    band(&mut sketch, facts, &place);
    values_axis(&mut sketch, print, &y_axis, facts);
    time_axis(&mut sketch, print, &x_axis, facts);
    breaks(&mut sketch, facts, |day| x_axis.at(number(day)));
    line(&mut sketch, facts, &place);
    ways(&mut sketch, facts, &place);
    marks(&mut sketch, facts, &place);
    let bottom = legend(&mut sketch, facts);
    Some(sketch.figure(bottom, facts.alt.clone()))
}

/// The band as a pale area, cut at the edges of the plot.
fn band(sketch: &mut Sketch, facts: &HistoryFacts, place: &impl Fn(NaiveDate, f64) -> [f64; 2]) {
    let inside = |[x, y]: [f64; 2]| [x, y.clamp(TOP, facts.bottom())];
    let edge = |of: fn((f64, f64)) -> f64| {
        let days = facts.line.iter().filter_map(move |point| Some((point.day, of(point.band?))));
        days.map(|(day, value)| inside(place(day, value))).collect::<Vec<_>>()
    };
    let (mut points, low) = (edge(|band| band.1), edge(|band| band.0));
    points.extend(low.into_iter().rev());
    if points.len() > 3 {
        sketch.shapes.push(Shape::Area { points, fill: Some(Ink::Grid), stroke: None, width: 0.0 });
    }
}

/// Limits with their values, then round values where there is room.
fn values_axis(sketch: &mut Sketch, print: &Print, axis: &Axis, facts: &HistoryFacts) {
    let limit = &facts.limit;
    let mut taken: Vec<f64> = Vec::new();
    let mut label = |sketch: &mut Sketch, value: f64, decimals: usize| {
        let y = axis.at(value);
        if taken.iter().all(|other| (other - y).abs() > 7.5) {
            sketch.label([LEFT_EDGE - 3.0, y + 2.3], Anchor::End, &fixed(value, decimals, print.sign), TICK);
            taken.push(y);
        }
    };
    let (round, decimals) = ticks(axis.low, axis.high, 5);
    for &value in &round {
        let y = axis.at(value);
        sketch.line(&[[LEFT_EDGE, y], [facts.right(), y]], Ink::Grid, 0.5, &[]);
    }
    let fail = [limit.fail_low, limit.fail_high].map(|bound| (bound, Ink::Fail, &[][..]));
    let warn = [limit.warn_low, limit.warn_high].map(|bound| (bound, Ink::Warn, &DASHED[..]));
    for (bound, ink, dash) in fail.into_iter().chain(warn) {
        let Some(bound) = bound else { continue };
        let y = axis.at(bound);
        sketch.line(&[[LEFT_EDGE, y], [facts.right(), y]], ink, 0.7, dash);
        label(sketch, bound, limit.decimals);
    }
    round.into_iter().for_each(|value| label(sketch, value, decimals));
}

/// First days of months: `2025-06`.
fn time_axis(sketch: &mut Sketch, print: &Print, axis: &Axis, facts: &HistoryFacts) {
    let bottom = facts.bottom();
    sketch.line(&[[LEFT_EDGE, bottom], [facts.right(), bottom]], Ink::Muted, 0.5, &[]);
    // A label takes about 48 pt.
    let months = ((axis.high - axis.low) / 30.4 / (facts.width() / 48.0).floor()).ceil();
    let step = [1, 2, 3, 6, 12, 24, 48, 120].into_iter().find(|step| f64::from(*step) >= months).unwrap_or(240);
    let from = NaiveDate::from_num_days_from_ce_opt(axis.low.ceil() as i32).unwrap_or_default();
    // The first month of a year is always among them.
    let mut month = NaiveDate::from_ymd_opt(from.year(), 1, 1).unwrap_or(from);
    let mut wanted = Vec::new();
    while f64::from(month.num_days_from_ce()) <= axis.high {
        if month >= from {
            wanted.push((f64::from(month.num_days_from_ce()), print.day(&month.format("%Y-%m").to_string())));
        }
        let Some(next) = month.checked_add_months(Months::new(step)) else { break };
        month = next;
    }
    for (x, text) in tick_labels(axis, &wanted, facts.width()) {
        sketch.line(&[[x, bottom], [x, bottom + 2.5]], Ink::Muted, 0.5, &[]);
        sketch.label([x, bottom + 9.5], Anchor::Middle, &text, TICK);
    }
}

/// Where the age began anew: an upright line, its words above where there is room.
fn breaks(sketch: &mut Sketch, facts: &HistoryFacts, x: impl Fn(NaiveDate) -> f64) {
    let inside = |day: &NaiveDate| (LEFT_EDGE..=facts.right()).contains(&x(*day));
    let shown: Vec<&(NaiveDate, String, bool)> = facts.breaks.iter().filter(|(day, _, _)| inside(day)).collect();
    for (day, _, _) in &shown {
        sketch.line(&[[x(*day), TOP], [x(*day), facts.bottom()]], Ink::Muted, 0.7, &DOTTED);
    }
    let words: Vec<(f64, f64)> = shown.iter().map(|(day, word, _)| (x(*day), text_width(word, TICK))).collect();
    let room: f64 = words.iter().map(|(_, width)| width + 5.0).sum();
    if room < facts.width() {
        for ((_, word, _), middle) in shown.iter().zip(spread(&words, 5.0, facts.width())) {
            sketch.label([middle, TOP - 6.0], Anchor::Middle, word, TICK);
        }
    }
}

/// Solid among the visits, broken ahead of them.
fn line(sketch: &mut Sketch, facts: &HistoryFacts, place: &impl Fn(NaiveDate, f64) -> [f64; 2]) {
    let (Some(first), Some(end)) = (facts.line.first(), facts.line.last()) else {
        return;
    };
    let last = facts.stops.last().map_or(end.day, |stop| stop.day);
    let (from, to) = (place(first.day, first.value), place(end.day, end.value));
    let share = (last - first.day).num_days() as f64 / (end.day - first.day).num_days().max(1) as f64;
    let share = share.min(1.0);
    let now = [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])];
    sketch.line(&[from, now], Ink::Accent, 0.9, &[]);
    sketch.line(&[now, to], Ink::Accent, 0.9, &DASHED);
}

/// What each visit changed upright, what the time between two cost aslant.
fn ways(sketch: &mut Sketch, facts: &HistoryFacts, place: &impl Fn(NaiveDate, f64) -> [f64; 2]) {
    let left = |stop: &Stop| stop.left.or(stop.found.filter(|_| stop.untouched));
    for pair in facts.stops.windows(2) {
        let is_broken =
            facts.breaks.iter().any(|(day, _, between)| *between && *day > pair[0].day && *day <= pair[1].day);
        if let Some((from, to)) = Option::zip(left(&pair[0]), pair[1].found).filter(|_| !is_broken) {
            sketch.line(&[place(pair[0].day, from), place(pair[1].day, to)], Ink::Muted, 0.6, &[]);
        }
    }
    for stop in &facts.stops {
        if let Some((found, left)) = Option::zip(stop.found, stop.left) {
            sketch.line(&[place(stop.day, found), place(stop.day, left)], Ink::Text, 0.9, &[1.2, 1.8]);
        }
    }
}

/// Found over left: a disc inside a ring shows that both are nearly the same.
fn marks(sketch: &mut Sketch, facts: &HistoryFacts, place: &impl Fn(NaiveDate, f64) -> [f64; 2]) {
    for stop in &facts.stops {
        let [found, left] = [stop.found, stop.left].map(|value| value.map(|value| place(stop.day, value)));
        if let Some(left) = left {
            sketch.reading(left, Stage::AsLeft, 2.4);
        }
        if let Some(found) = found {
            sketch.reading(found, Stage::AsFound, 2.8);
        }
        let hidden =
            Option::zip(found, left).filter(|(found, left)| (found[1] - left[1]).abs() < 4.5).map(|(_, left)| left);
        if let Some(inner) = hidden.or(found.filter(|_| stop.untouched)) {
            sketch.reading(inner, Stage::AsLeft, 1.2);
        }
    }
}

/// Below: ring, disc, line in its band, in one row or as many as they need; where they end.
fn legend(sketch: &mut Sketch, facts: &HistoryFacts) -> f64 {
    let mut at = [LEFT_EDGE, facts.bottom() + 18.5];
    let mut place = |width: f64| {
        if at[0] + width > facts.width() && at[0] > LEFT_EDGE {
            at = [LEFT_EDGE, at[1] + LEGEND_LINE];
        }
        let [x, y] = at;
        at[0] += width + 9.0;
        [x, y]
    };
    let [found, left, line] = &facts.legend;
    let mut bottom = 0.0;
    for (word, stage, look) in [(found, Stage::AsFound, FOUND), (left, Stage::AsLeft, LEFT)] {
        let [x, y] = place(8.5 + text_width(word, look));
        sketch.reading([x + 3.0, y], stage, 2.4);
        sketch.label([x + 8.5, y + 2.4], Anchor::Start, word, look);
        bottom = y + 5.5;
    }
    if facts.line.iter().any(|point| point.band.is_some()) {
        let muted = Look { size: NORMAL, bold: false, ink: Ink::Muted };
        let [x, y] = place(18.0 + text_width(line, muted));
        sketch.area([x, y - 3.0], [x + 14.0, y + 3.0], Some(Ink::Grid), None);
        sketch.line(&[[x, y], [x + 14.0, y]], Ink::Accent, 0.9, &[]);
        sketch.label([x + 18.0, y + 2.4], Anchor::Start, line, muted);
        bottom = y + 5.5;
    }
    bottom
}

/// Distance of the rows of the legend in pt.
const LEGEND_LINE: f64 = 10.0;
