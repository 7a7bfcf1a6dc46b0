//! A figure at a glance: its values large, from as found to as left, over a scale with the zones of its limits.

use super::{
    ACCENT_BIG, Axis, BIG, Look, NORMAL, Sketch, TEXT_BIG, TICK, bounds_of, extent, text_width, tick_labels, ticks,
};
use crate::document::print::Print;
use crate::document::{Anchor, Figure, Ink};
use crate::record::{LimitRecord, Stage};
use crate::rounding::{beside, fixed, signed, with_unit};

/// Baseline of the values.
const VALUES: f64 = 11.0;
/// Upper edge of the bar.
const TOP: f64 = 19.0;
/// Height of the bar, and of each of its two lanes where the states have limits of their own.
const BAR: f64 = 8.0;
const LANE: f64 = 6.5;
/// Room for a mark before a value, and for the arrow between two.
const MARK: f64 = 10.0;
const ARROW: f64 = 20.0;

/// What a scale shows.
#[derive(Debug)]
pub(in crate::document) struct ScaleFacts<'a> {
    /// Name for the words: `Slope, %`.
    pub title: &'a str,
    /// Unit for the words.
    pub unit: &'a str,
    /// Values with the state they belong to, in the order of time.
    pub values: Vec<(Stage, f64)>,
    /// Decimals the values deserve.
    pub decimals: usize,
    /// Limits as found and as left, where there are any.
    pub limits: [Option<LimitRecord>; 2],
    /// Whether the same probe carried the value from one state to the other.
    pub same_probe: bool,
    /// Whether found is what was left.
    pub untouched: bool,
    /// A value that always lies on the scale: 100 % of the slope, 0 mV.
    pub ideal: f64,
    /// Whether values carry their sign.
    pub signed: bool,
    /// Width of the drawing in pt.
    pub width: f64,
}

impl ScaleFacts<'_> {
    fn limit(&self, stage: Stage) -> Option<&LimitRecord> {
        let [found, left] = &self.limits;
        match stage {
            Stage::AsFound => found.as_ref(),
            Stage::AsLeft => left.as_ref(),
        }
    }

    /// One bar where the states share their limits, else a lane for each.
    fn lanes(&self) -> Vec<Option<&LimitRecord>> {
        let of = |stage: Stage| self.values.iter().any(|(of, _)| *of == stage).then(|| self.limit(stage));
        match (of(Stage::AsFound), of(Stage::AsLeft)) {
            (Some(found), Some(left)) if found != left => vec![found, left],
            (found, left) => vec![left.flatten().or(found.flatten())],
        }
    }
}

/// Draws the scale; nothing without values.
pub(in crate::document) fn scale(print: &Print, facts: &ScaleFacts) -> Option<Figure> {
    let lanes = facts.lanes();
    let mut bounds: Vec<f64> = lanes.iter().flatten().flat_map(|limit| bounds_of(limit)).collect();
    bounds.sort_by(f64::total_cmp);
    bounds.dedup();
    let all = facts.values.iter().map(|(_, value)| *value);
    let (low, high) = extent(all.chain(bounds.clone()).chain([facts.ideal]))?;
    facts.values.first()?;
    let pad = ((high - low) * 0.12).max(f64::abs(facts.ideal) * 0.02).max(1e-3);
    let low = if low == 0.0 && !facts.signed { low } else { low - pad };
    let axis = Axis { low, high: high + pad, from: 1.0, to: facts.width - 1.0 };
    let height = if lanes.len() > 1 { LANE } else { BAR };
    let mut sketch = Sketch::new(facts.width);
    let texts = values(print, facts);
    large(&mut sketch, facts, &texts);
    for (at, limit) in lanes.iter().enumerate() {
        zones(&mut sketch, &axis, *limit, [TOP + at as f64 * height, TOP + (at + 1) as f64 * height]);
    }
    let bottom = TOP + lanes.len() as f64 * height;
    for (x, text) in tick_texts(print, &axis, facts, &bounds) {
        sketch.line(&[[x, bottom], [x, bottom + 2.5]], Ink::Muted, 0.5, &[]);
        sketch.label([x, bottom + 9.5], Anchor::Middle, &text, TICK);
    }
    marks(&mut sketch, &axis, facts, lanes.len(), height);
    Some(sketch.figure(bottom + 11.5, told(print, facts, &texts)))
}

/// A bar between two heights: pass plain, warn between broken lines, fail hatched.
fn zones(sketch: &mut Sketch, axis: &Axis, limit: Option<&LimitRecord>, [top, bottom]: [f64; 2]) {
    let none = LimitRecord::default();
    let limit = limit.unwrap_or(&none);
    let end = (axis.low, axis.high);
    let fail_low = limit.fail_low.unwrap_or(end.0).max(end.0);
    let fail_high = limit.fail_high.unwrap_or(end.1).min(end.1);
    let warn_low = limit.warn_low.unwrap_or(fail_low).max(fail_low);
    let warn_high = limit.warn_high.unwrap_or(fail_high).min(fail_high);
    let mut bar = |from: f64, to: f64, ink: Ink| {
        let (from, to) = (axis.at(from), axis.at(to));
        if to - from < 0.05 {
            return;
        }
        sketch.area([from, top], [to, bottom], Some(ink), None);
        match ink {
            Ink::FailZone => hatch(sketch, [from, top], [to, bottom]),
            Ink::WarnZone => {
                for y in [top + 0.3, bottom - 0.3] {
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
fn hatch(sketch: &mut Sketch, [from, top]: [f64; 2], [to, bottom]: [f64; 2]) {
    let rise = bottom - top;
    let mut start = from - rise;
    while start < to {
        // The line runs from (start, bottom) to (start + rise, top), cut at both ends of the bar.
        let (a, b) = (start.max(from), (start + rise).min(to));
        if b > a {
            let y = |x: f64| bottom - (x - start);
            sketch.line(&[[a, y(a)], [b, y(b)]], Ink::Fail, 0.35, &[]);
        }
        start += 3.0;
    }
    sketch.area([from, top], [to, bottom], None, Some(Ink::Fail));
}

/// Labels below: every limit, then the ideal; round values where there is no limit.
fn tick_texts(print: &Print, axis: &Axis, facts: &ScaleFacts, bounds: &[f64]) -> Vec<(f64, String)> {
    let decimals = facts.limits.iter().flatten().map(|limit| limit.decimals).max().unwrap_or(0);
    let text = |value: f64, decimals: usize| (value, fixed(value, decimals, print.sign));
    let mut wanted: Vec<(f64, String)> = bounds.iter().map(|&bound| text(bound, decimals)).collect();
    wanted.push(text(facts.ideal, 0));
    if bounds.is_empty() {
        let (round, decimals) = ticks(axis.low, axis.high, 4);
        wanted.extend(round.into_iter().map(|value| text(value, decimals)));
    }
    tick_labels(axis, &wanted, facts.width)
}

/// The values as printed.
fn values(print: &Print, facts: &ScaleFacts) -> Vec<String> {
    let text = |&(stage, value): &(Stage, f64)| {
        let bounds = facts.limit(stage).map(bounds_of).unwrap_or_default();
        let decimals = beside(value, facts.decimals, &bounds);
        match facts.signed {
            true => signed(value, decimals, print.sign),
            false => fixed(value, decimals, print.sign),
        }
    };
    facts.values.iter().map(text).collect()
}

/// Found open, left filled, a dotted way between them where the probe is the same.
fn marks(sketch: &mut Sketch, axis: &Axis, facts: &ScaleFacts, lanes: usize, height: f64) {
    let y = |stage: Stage| match (lanes, stage) {
        (2, Stage::AsLeft) => TOP + height * 1.5,
        _ => TOP + height * 0.5,
    };
    let at = |(stage, value): (Stage, f64)| [axis.at(value), y(stage)];
    if let [a, b] = facts.values[..] {
        let (from, to) = (at(a), at(b));
        if facts.same_probe && (to[0] - from[0]).abs() > 8.0 {
            sketch.line(&[from, to], Ink::Text, 0.9, &[1.2, 1.8]);
        }
    }
    // Left first, found above it: a ring around a disc shows that both are the same.
    for &(stage, value) in facts.values.iter().rev() {
        sketch.reading(at((stage, value)), stage, if stage == Stage::AsFound { 3.4 } else { 2.9 });
    }
    if let [a, b] = facts.values[..]
        && (at(a)[0] - at(b)[0]).abs() < 3.0
        && lanes == 1
    {
        sketch.reading(at(b), Stage::AsLeft, 1.8);
    }
}

/// The values in large type with their marks, an arrow between two; smaller where they are long.
fn large(sketch: &mut Sketch, facts: &ScaleFacts, texts: &[String]) {
    let look = |stage: Stage| match stage {
        Stage::AsFound => TEXT_BIG,
        Stage::AsLeft => ACCENT_BIG,
    };
    let looks = facts.values.iter().map(|(stage, _)| look(*stage));
    let wide: f64 = texts.iter().zip(looks).map(|(text, look)| MARK + text_width(text, look)).sum();
    let arrows = ARROW * texts.len().saturating_sub(1) as f64;
    let size = if wide + arrows <= facts.width { BIG } else { NORMAL };
    let mut x = 0.0;
    for (at, (&(stage, _), text)) in facts.values.iter().zip(texts).enumerate() {
        if at > 0 {
            arrow(sketch, [x + 4.0, VALUES - size * 0.34], ARROW - 9.0);
            x += ARROW;
        }
        sketch.reading([x + 3.6, VALUES - size * 0.36], stage, 2.9);
        let look = Look { size, ..look(stage) };
        sketch.label([x + MARK, VALUES], Anchor::Start, text, look);
        x += MARK + text_width(text, look);
    }
}

fn arrow(sketch: &mut Sketch, [x, y]: [f64; 2], length: f64) {
    let tip = x + length;
    sketch.line(&[[x, y], [tip, y]], Ink::Muted, 0.8, &[]);
    sketch.line(&[[tip - 3.0, y - 2.2], [tip, y], [tip - 3.0, y + 2.2]], Ink::Muted, 0.8, &[]);
}

/// The scale in words: values of the states, then their limits.
fn told(print: &Print, facts: &ScaleFacts, texts: &[String]) -> String {
    let state = |stage: Stage| match (stage, facts.untouched) {
        (Stage::AsFound, true) => "state-untouched",
        (Stage::AsFound, false) => "state-found",
        (Stage::AsLeft, _) => "state-left",
    };
    let values = facts.values.iter().zip(texts);
    let values =
        values.map(|((stage, _), text)| with_unit(&format!("{} {text}", print.label(state(*stage))), facts.unit));
    let values = values.collect::<Vec<_>>().join(", ");
    let said = print.say("alt-scale", &[("title", facts.title), ("values", &values)]);
    let limits = facts.values.iter().filter_map(|(stage, _)| {
        let limit = facts.limit(*stage)?;
        let warn = print.interval(limit.warn_low, limit.warn_high, limit.decimals, facts.unit);
        let fail = print.interval(limit.fail_low, limit.fail_high, limit.decimals, facts.unit);
        let parts = [("warn-limit", warn), ("fail-limit", fail)];
        let parts = parts.into_iter().filter_map(|(key, text)| Some(format!("{} {}", print.label(key), text?)));
        let parts = parts.collect::<Vec<_>>().join(", ");
        (!parts.is_empty())
            .then(|| print.say("alt-limits", &[("state", &print.label(state(*stage))), ("limits", &parts)]))
    });
    std::iter::once(said).chain(limits).collect::<Vec<_>>().join(" ")
}
