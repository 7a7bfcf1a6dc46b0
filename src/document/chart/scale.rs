//! A scale with the zones of its limits that carries a figure from as found to as left.

use super::{Axis, LEFT, Sketch, TICK, WIDTH, bounds_of, extent, look, spread, text_width, tick_labels, ticks};
use crate::document::print::Print;
use crate::document::{Anchor, Figure, Ink};
use crate::record::{LimitRecord, Stage};
use crate::rounding::{beside, fixed, signed};

const TOP: f64 = 15.0;
const BAR: f64 = 8.0;
const HEIGHT: f64 = 35.0;

/// What a scale shows.
#[derive(Debug)]
pub(in crate::document) struct ScaleFacts<'a> {
    /// Name for the words: `Slope, percent of theoretical`.
    pub title: &'a str,
    /// Unit for the words.
    pub unit: &'a str,
    /// Values with the state they belong to, in the order of time.
    pub values: Vec<(Stage, f64)>,
    /// Decimals the values deserve.
    pub decimals: usize,
    /// Limits, where there are any.
    pub limit: Option<LimitRecord>,
    /// Whether the same probe carried the value from one state to the other.
    pub same_probe: bool,
    /// Whether found is what was left.
    pub untouched: bool,
    /// A value that always lies on the scale: 100 % of the slope, 0 mV.
    pub ideal: f64,
}

/// Draws the scale; nothing without values.
pub(in crate::document) fn scale(print: &Print, facts: &ScaleFacts) -> Option<Figure> {
    let bounds = facts.limit.as_ref().map(bounds_of).unwrap_or_default();
    let all = facts.values.iter().map(|(_, value)| *value);
    let (low, high) = extent(all.chain(bounds.clone()).chain([facts.ideal]))?;
    facts.values.first()?;
    let pad = ((high - low) * 0.14).max(f64::abs(facts.ideal) * 0.02).max(1.0);
    let axis = Axis { low: low - pad, high: high + pad, from: 6.0, to: WIDTH - 6.0 };
    let mut sketch = Sketch::default();
    zones(&mut sketch, &axis, facts.limit.as_ref());
    for (x, text) in tick_texts(print, &axis, facts, &bounds) {
        sketch.line(&[[x, TOP + BAR], [x, TOP + BAR + 2.5]], Ink::Muted, 0.5, &[]);
        let at = [x, TOP + BAR + 10.0];
        sketch.label(at, Anchor::Middle, &text, TICK);
    }
    let texts = marks(&mut sketch, print, &axis, facts, &bounds);
    let alt = print.say("alt-scale", &[("title", facts.title), ("values", &texts.join(", "))]);
    Some(sketch.figure(HEIGHT, alt))
}

/// Bars: pass plain, warn between broken lines, fail hatched.
fn zones(sketch: &mut Sketch, axis: &Axis, limit: Option<&LimitRecord>) {
    let none = LimitRecord::default();
    let limit = limit.unwrap_or(&none);
    let end = (axis.low, axis.high);
    let fail_low = limit.fail_low.unwrap_or(end.0);
    let fail_high = limit.fail_high.unwrap_or(end.1);
    let warn_low = limit.warn_low.unwrap_or(fail_low).max(fail_low);
    let warn_high = limit.warn_high.unwrap_or(fail_high).min(fail_high);
    let mut bar = |from: f64, to: f64, ink: Ink| {
        let (from, to) = (axis.at(from), axis.at(to));
        if to - from < 0.05 {
            return;
        }
        sketch.area([from, TOP], [to, TOP + BAR], Some(ink), None);
        match ink {
            Ink::FailZone => hatch(sketch, from, to),
            Ink::WarnZone => {
                for y in [TOP + 0.3, TOP + BAR - 0.3] {
                    sketch.line(&[[from, y], [to, y]], Ink::Warn, 0.6, &[2.0, 1.5]);
                }
            }
            _ => {}
        }
    };
    bar(end.0, fail_low, Ink::FailZone);
    bar(fail_low, warn_low, Ink::WarnZone);
    bar(warn_low, warn_high, Ink::PassZone);
    bar(warn_high, fail_high, Ink::WarnZone);
    bar(fail_high, end.1, Ink::FailZone);
}

/// Slanted lines inside a bar, with its outline.
fn hatch(sketch: &mut Sketch, from: f64, to: f64) {
    let mut start = from - BAR;
    while start < to {
        // The line runs from (start, bottom) to (start + BAR, top), cut at both ends of the bar.
        let (a, b) = (start.max(from), (start + BAR).min(to));
        if b > a {
            let y = |x: f64| TOP + BAR - (x - start);
            sketch.line(&[[a, y(a)], [b, y(b)]], Ink::Fail, 0.35, &[]);
        }
        start += 3.0;
    }
    sketch.area([from, TOP], [to, TOP + BAR], None, Some(Ink::Fail));
}

/// Labels below: every limit, then round values where there is room.
fn tick_texts(print: &Print, axis: &Axis, facts: &ScaleFacts, bounds: &[f64]) -> Vec<(f64, String)> {
    let decimals = facts.limit.as_ref().map_or(0, |limit| limit.decimals);
    let mut wanted: Vec<(f64, String)> =
        bounds.iter().map(|&bound| (bound, fixed(bound, decimals, print.sign))).collect();
    let (round, decimals) = ticks(axis.low, axis.high, 6);
    let round = round.into_iter().map(|v| (v, fixed(v, decimals, print.sign)));
    wanted.extend(round);
    tick_labels(axis, &wanted)
}

/// The values: found open, left filled, a dotted way between them where the probe is the same; their words.
fn marks(sketch: &mut Sketch, print: &Print, axis: &Axis, facts: &ScaleFacts, bounds: &[f64]) -> Vec<String> {
    let y = TOP + BAR / 2.0;
    let texts: Vec<String> = facts
        .values
        .iter()
        .map(|&(stage, value)| {
            let decimals = beside(value, facts.decimals, bounds);
            // About an ideal of 0 the sign says on which side.
            let value = match facts.ideal == 0.0 {
                true => signed(value, decimals, print.sign),
                false => fixed(value, decimals, print.sign),
            };
            format!("{} {value}", print.label(stage_key(stage, facts.untouched)))
        })
        .collect();
    if let [(_, a), (_, b)] = facts.values[..] {
        let (from, to) = (axis.at(a), axis.at(b));
        if facts.same_probe && (to - from).abs() > 8.0 {
            sketch.line(&[[from, y], [to, y]], Ink::Text, 0.9, &[1.2, 1.8]);
        }
    }
    let mut order: Vec<usize> = (0..texts.len()).collect();
    order.sort_by(|&a, &b| facts.values[a].1.total_cmp(&facts.values[b].1));
    let widths: Vec<(f64, f64)> =
        order.iter().map(|&i| (axis.at(facts.values[i].1), text_width(&texts[i], LEFT))).collect();
    // Left first, found above it: a ring around a disc shows that both are the same.
    for &(stage, value) in facts.values.iter().rev() {
        let radius = if stage == Stage::AsFound { 3.8 } else { 3.2 };
        sketch.reading([axis.at(value), y], stage, radius);
    }
    if let [(_, a), (_, b)] = facts.values[..]
        && (axis.at(a) - axis.at(b)).abs() < 3.0
    {
        sketch.reading([axis.at(b), y], Stage::AsLeft, 2.0);
    }
    for (&i, middle) in order.iter().zip(spread(&widths, 6.0)) {
        let at = [middle, TOP - 6.0];
        sketch.label(at, Anchor::Middle, &texts[i], look(facts.values[i].0));
    }
    let unit = |text: &String| crate::rounding::with_unit(text, facts.unit);
    texts.iter().map(unit).collect()
}

/// Key of the name of a state.
fn stage_key(stage: Stage, untouched: bool) -> &'static str {
    match (stage, untouched) {
        (Stage::AsFound, true) => "state-untouched",
        (Stage::AsFound, false) => "state-found",
        (Stage::AsLeft, _) => "state-left",
    }
}
