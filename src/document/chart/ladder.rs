//! What was done, step by step, and what each step gained.

use super::{
    Axis, FOUND, LEFT, Look, NORMAL, SMALL, Sketch, TICK, WIDTH, bounds_of, extent, fitted,
    text_width, tick_labels, ticks, wrapped,
};
use crate::document::print::Print;
use crate::document::{Anchor, Figure, Ink};
use crate::record::{LimitRecord, Stage};
use crate::rounding::{beside, fixed, signed, with_unit};

/// Width of the column of words in pt.
const WORDS: f64 = 102.0;
/// Height of a line of words in pt.
const LINE: f64 = 8.6;
/// Space between rungs in pt.
const BETWEEN: f64 = 7.0;
/// Room beside the outer marks for their labels in pt.
const ROOM: f64 = 50.0;

const WORD: Look = Look {
    size: NORMAL,
    bold: true,
    ink: Ink::Text,
};
const DETAIL: Look = Look {
    size: SMALL,
    bold: false,
    ink: Ink::Muted,
};

/// One rung: what was done and the value after it.
#[derive(Debug)]
pub(in crate::document) struct Rung {
    /// What was done: `Acid soak`.
    pub word: String,
    /// With what, how long.
    pub detail: String,
    /// Slope in percent or error in mV after it; none where nothing was read.
    pub value: Option<f64>,
    /// Whether a new probe begins here.
    pub new_probe: bool,
    /// State whose mark stands here.
    pub stage: Stage,
}

/// What a ladder shows.
#[derive(Debug)]
pub(in crate::document) struct LadderFacts {
    /// From as found downwards.
    pub rungs: Vec<Rung>,
    /// Name of the axis: `slope, %`.
    pub title: String,
    /// `%` or `mV`, for the words.
    pub unit: &'static str,
    /// Decimals the values deserve.
    pub decimals: usize,
    /// Limits drawn as lines.
    pub limit: Option<LimitRecord>,
    /// Whether values carry their sign.
    pub signed: bool,
}

/// Draws the ladder; nothing where no value is known.
pub(in crate::document) fn ladder(print: &Print, facts: &LadderFacts) -> Option<Figure> {
    let bounds = facts.limit.as_ref().map(bounds_of).unwrap_or_default();
    let values: Vec<f64> = facts.rungs.iter().filter_map(|rung| rung.value).collect();
    values.first()?;
    let (low, high) = extent(values.into_iter().chain(bounds.clone()))?;
    let pad = ((high - low) * 0.06).max(1.0);
    let axis = Axis {
        low: low - pad,
        high: high + pad,
        from: WORDS + 14.0,
        to: WIDTH - ROOM,
    };
    let mut sketch = Sketch::default();
    let mut y = 0.0;
    let mut rows = Vec::new();
    let mut words = Sketch::default();
    for rung in &facts.rungs {
        rows.push(y + 6.0);
        y = rung_words(&mut words, rung, y) + BETWEEN;
    }
    grid(&mut sketch, print, facts, &axis, y, &bounds);
    sketch.shapes.append(&mut words.shapes);
    let told = steps(&mut sketch, print, facts, &axis, &rows, &bounds);
    let alt = print.say("alt-ladder", &[("steps", &told.join("; "))]);
    Some(sketch.figure(y + 11.0, alt))
}

/// The words of a rung, from `top`; where they end.
fn rung_words(sketch: &mut Sketch, rung: &Rung, top: f64) -> f64 {
    let mut y = top;
    for line in wrapped(&rung.word, WORDS, WORD) {
        sketch.label(
            [0.0, y + 8.0],
            Anchor::Start,
            &fitted(&line, WORDS, WORD),
            WORD,
        );
        y += LINE;
    }
    if !rung.detail.is_empty() {
        let detail = fitted(&rung.detail, WORDS, DETAIL);
        sketch.label([0.0, y + 7.5], Anchor::Start, &detail, DETAIL);
        y += LINE;
    }
    y
}

/// Limit lines over the whole height: fail solid, warn dashed; values below.
fn grid(
    sketch: &mut Sketch,
    print: &Print,
    facts: &LadderFacts,
    axis: &Axis,
    bottom: f64,
    bounds: &[f64],
) {
    let (round, decimals) = ticks(axis.low, axis.high, 4);
    for &value in &round {
        let x = axis.at(value);
        sketch.line(&[[x, 0.0], [x, bottom]], Ink::Grid, 0.5, &[]);
    }
    let limit = facts.limit.clone().unwrap_or_default();
    for bound in [limit.fail_low, limit.fail_high].into_iter().flatten() {
        let x = axis.at(bound);
        sketch.line(&[[x, 0.0], [x, bottom]], Ink::Fail, 0.8, &[]);
    }
    for bound in [limit.warn_low, limit.warn_high].into_iter().flatten() {
        let x = axis.at(bound);
        sketch.line(&[[x, 0.0], [x, bottom]], Ink::Warn, 0.8, &[3.0, 2.0]);
    }
    let text = |value: f64, decimals: usize| fixed(value, decimals, print.sign);
    let mut wanted: Vec<(f64, String)> = bounds
        .iter()
        .map(|&bound| (bound, text(bound, limit.decimals)))
        .collect();
    wanted.extend(round.iter().map(|&value| (value, text(value, decimals))));
    let title = fitted(&facts.title, WORDS, TICK);
    sketch.label([0.0, bottom + 8.0], Anchor::Start, &title, TICK);
    for (x, text) in tick_labels(axis, &wanted) {
        sketch.label([x, bottom + 8.0], Anchor::Middle, &text, TICK);
    }
}

/// The way from rung to rung, then marks and values; what was told, in words.
fn steps(
    sketch: &mut Sketch,
    print: &Print,
    facts: &LadderFacts,
    axis: &Axis,
    rows: &[f64],
    bounds: &[f64],
) -> Vec<String> {
    let mut told = Vec::new();
    let mut before: Option<(f64, f64)> = None; // value and height of the last mark
    let mut labels = Sketch::default();
    let mut marks = Sketch::default();
    for (rung, &y) in facts.rungs.iter().zip(rows) {
        let Some(value) = rung.value else {
            told.push(rung.word.clone());
            continue;
        };
        let text = value_text(print, facts, value, bounds);
        let x = axis.at(value);
        let joins = before.filter(|_| !rung.new_probe);
        if let Some((last, top)) = joins {
            let from = axis.at(last);
            sketch.line(&[[from, top], [from, y], [x, y]], Ink::Accent, 0.9, &[]);
        }
        let gain = joins.filter(|_| !facts.signed).map(|(last, _)| {
            let moved = printed(value, facts, bounds) - printed(last, facts, bounds);
            signed(moved, facts.decimals, print.sign)
        });
        // The way comes from the side of the last value: the label stands on the other one.
        let on_right = joins.is_none_or(|(last, _)| last <= value);
        beside_mark(
            &mut labels,
            [x, y],
            on_right,
            &text,
            gain.as_deref(),
            rung.stage,
        );
        let radius = if rung.stage == Stage::AsFound {
            3.2
        } else {
            2.8
        };
        marks.reading([x, y], rung.stage, radius);
        told.push(format!("{} {}", rung.word, with_unit(&text, facts.unit)));
        before = Some((value, y));
    }
    sketch.shapes.append(&mut marks.shapes);
    sketch.shapes.append(&mut labels.shapes);
    told
}

/// A value as printed, so that a printed gain is the difference of the printed values.
fn printed(value: f64, facts: &LadderFacts, bounds: &[f64]) -> f64 {
    let scale = 10f64.powi(beside(value, facts.decimals, bounds) as i32);
    (value * scale).round() / scale
}

fn value_text(print: &Print, facts: &LadderFacts, value: f64, bounds: &[f64]) -> String {
    let decimals = beside(value, facts.decimals, bounds);
    match facts.signed {
        true => signed(value, decimals, print.sign),
        false => fixed(value, decimals, print.sign),
    }
}

/// Value and gain on one side of a mark.
fn beside_mark(
    sketch: &mut Sketch,
    mark: [f64; 2],
    on_right: bool,
    text: &str,
    gain: Option<&str>,
    stage: Stage,
) {
    let look = match stage {
        Stage::AsFound => FOUND,
        Stage::AsLeft => LEFT,
    };
    let y = mark[1] + 2.5;
    let value_width = text_width(text, LEFT);
    let (x, anchor, beyond) = match on_right {
        true => (mark[0] + 6.0, Anchor::Start, value_width + 3.0),
        false => (mark[0] - 6.0, Anchor::End, -value_width - 3.0),
    };
    // Paper behind the words: no line runs through them.
    let width = value_width + gain.map_or(0.0, |gain| 3.0 + text_width(gain, TICK));
    let from = if on_right { x - 1.0 } else { x - width };
    sketch.area(
        [from, y - 6.5],
        [from + width + 1.0, y + 1.8],
        Some(Ink::Paper),
        None,
    );
    sketch.label([x, y], anchor, text, look);
    if let Some(gain) = gain {
        sketch.label([x + beyond, y], anchor, gain, TICK);
    }
}
