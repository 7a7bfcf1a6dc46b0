//! What was done, step by step, and what each step gained.

use super::{
    Axis, LEFT, Look, NORMAL, Sketch, TICK, WIDTH, bounds_of, extent, fitted, look, text_width, tick_labels, ticks,
    wrapped,
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
const BETWEEN: f64 = 5.0;
/// Distance of words from their mark in pt.
const ASIDE: f64 = 6.0;
/// Lines of detail under what was done; the second part says it in full.
const DETAIL_LINES: usize = 2;
/// Turns in which the axis finds its room.
const TURNS: usize = 12;
/// Distance of a gain from its value in pt.
const GAP: f64 = 3.0;

const WORD: Look = Look { size: NORMAL, bold: true, ink: Ink::Text };
const DETAIL: Look = Look { size: NORMAL, bold: false, ink: Ink::Muted };

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

/// One value on the ladder: where the way comes from, and its words.
struct Step<'a> {
    rung: &'a Rung,
    value: f64,
    /// Height of its row.
    y: f64,
    /// Value and height of the step before, where the same probe carries on.
    from: Option<(f64, f64)>,
    text: String,
    gain: String,
}

impl Step<'_> {
    /// The way comes from the side of the last value: the words stand on the other one.
    fn on_right(&self) -> bool {
        self.from.is_none_or(|(last, _)| last <= self.value)
    }

    /// Width of value and gain.
    fn width(&self) -> f64 {
        let gap = if self.gain.is_empty() { 0.0 } else { GAP };
        text_width(&self.text, LEFT) + gap + text_width(&self.gain, TICK)
    }
}

/// Draws the ladder; nothing where no value is known.
pub(in crate::document) fn ladder(print: &Print, facts: &LadderFacts) -> Option<Figure> {
    let bounds = facts.limit.as_ref().map(bounds_of).unwrap_or_default();
    let values = facts.rungs.iter().filter_map(|rung| rung.value);
    let values: Vec<f64> = values.collect();
    values.first()?;
    let (low, high) = extent(values.into_iter().chain(bounds.clone()))?;
    let pad = ((high - low) * 0.06).max(1.0);
    let mut words = Sketch::new(WIDTH);
    let mut bottom = 0.0;
    let mut rows = Vec::new();
    for rung in &facts.rungs {
        rows.push(bottom + 6.0);
        bottom = rung_words(&mut words, rung, bottom) + BETWEEN;
    }
    let steps = steps(print, facts, &rows, &bounds);
    let axis = roomy(low - pad, high + pad, &steps);
    let mut sketch = Sketch::new(WIDTH);
    grid(&mut sketch, print, facts, &axis, bottom, &bounds);
    sketch.shapes.append(&mut words.shapes);
    climb(&mut sketch, &axis, &steps);
    let alt = print.say("alt-ladder", &[("steps", &print.series(&told(facts, &steps)))]);
    Some(sketch.figure(bottom + 11.0, alt))
}

/// The widest axis beside which the words of every step still find room.
fn roomy(low: f64, high: f64, steps: &[Step]) -> Axis {
    let mut axis = Axis { low, high, from: WORDS + 8.0, to: WIDTH - 8.0 };
    // Each turn moves an end by what the worst words stick out; the marks move less than the end, so it takes some turns.
    for _ in 0..TURNS {
        let out = |right: bool| {
            let steps = steps.iter().filter(|step| step.on_right() == right);
            let out = steps.map(|step| {
                let (x, words) = (axis.at(step.value), ASIDE + step.width() + 2.0);
                if right { x + words - WIDTH } else { WORDS - (x - words) }
            });
            out.fold(0.0, f64::max)
        };
        let (left, right) = (out(false), out(true));
        axis.from += left;
        axis.to -= right;
    }
    axis
}

/// The words of a rung, from `top`; where they end.
fn rung_words(sketch: &mut Sketch, rung: &Rung, top: f64) -> f64 {
    let mut y = top;
    for line in wrapped(&rung.word, WORDS, WORD) {
        sketch.label([0.0, y + 8.0], Anchor::Start, &fitted(&line, WORDS, WORD), WORD);
        y += LINE;
    }
    if !rung.detail.is_empty() {
        let mut lines = wrapped(&rung.detail, WORDS, DETAIL);
        if lines.len() > DETAIL_LINES {
            lines.truncate(DETAIL_LINES);
            lines.iter_mut().skip(DETAIL_LINES - 1).for_each(|line| line.push('…'));
        }
        for line in lines {
            sketch.label([0.0, y + 7.5], Anchor::Start, &fitted(&line, WORDS, DETAIL), DETAIL);
            y += LINE;
        }
    }
    y
}

/// Limit lines over the whole height: fail solid, warn dashed; values below.
fn grid(sketch: &mut Sketch, print: &Print, facts: &LadderFacts, axis: &Axis, bottom: f64, bounds: &[f64]) {
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
    let mut wanted: Vec<(f64, String)> = bounds.iter().map(|&bound| (bound, text(bound, limit.decimals))).collect();
    wanted.extend(round.iter().map(|&value| (value, text(value, decimals))));
    let title = fitted(&facts.title, WORDS, TICK);
    sketch.label([0.0, bottom + 8.0], Anchor::Start, &title, TICK);
    for (x, text) in tick_labels(axis, &wanted, WIDTH) {
        sketch.label([x, bottom + 8.0], Anchor::Middle, &text, TICK);
    }
}

/// The values with their words, from as found downwards.
fn steps<'a>(print: &Print, facts: &'a LadderFacts, rows: &[f64], bounds: &[f64]) -> Vec<Step<'a>> {
    let decimals = |value: f64| beside(value, facts.decimals, bounds);
    // Rounded as printed, so that a printed gain is the difference of the printed values.
    let printed = |value: f64| {
        let scale = 10f64.powi(decimals(value) as i32);
        (value * scale).round() / scale
    };
    let mut steps: Vec<Step> = Vec::new();
    for (rung, &y) in facts.rungs.iter().zip(rows) {
        let Some(value) = rung.value else {
            continue;
        };
        let last = steps.last().map(|step| (step.value, step.y));
        let from = last.filter(|_| !rung.new_probe);
        let gain = from.filter(|_| !facts.signed).map(|(last, _)| {
            let most = decimals(value).max(decimals(last));
            signed(printed(value) - printed(last), most, print.sign)
        });
        steps.push(Step {
            rung,
            value,
            y,
            from,
            text: match facts.signed {
                true => signed(value, decimals(value), print.sign),
                false => fixed(value, decimals(value), print.sign),
            },
            gain: gain.unwrap_or_default(),
        });
    }
    steps
}

/// The way from step to step, then the marks, then the words beside them.
fn climb(sketch: &mut Sketch, axis: &Axis, steps: &[Step]) {
    for step in steps {
        let x = axis.at(step.value);
        if let Some((last, top)) = step.from {
            let from = axis.at(last);
            let way = [[from, top], [from, step.y], [x, step.y]];
            sketch.line(&way, Ink::Accent, 0.9, &[]);
        }
    }
    for step in steps {
        let radius = match step.rung.stage {
            Stage::AsFound => 3.2,
            Stage::AsLeft => 2.8,
        };
        sketch.reading([axis.at(step.value), step.y], step.rung.stage, radius);
        beside_mark(sketch, axis.at(step.value), step);
    }
}

/// Value and gain on one side of a mark, on paper: no line runs through them.
fn beside_mark(sketch: &mut Sketch, x: f64, step: &Step) {
    let y = step.y + 2.5;
    let value_width = text_width(&step.text, LEFT);
    let (x, anchor, left, next) = match step.on_right() {
        true => (x + ASIDE, Anchor::Start, x + ASIDE, value_width + GAP),
        false => (x - ASIDE, Anchor::End, x - ASIDE - step.width(), -value_width - GAP),
    };
    let (from, to) = ([left - 1.0, y - 6.5], [left + step.width() + 1.0, y + 1.8]);
    sketch.area(from, to, Some(Ink::Paper), None);
    sketch.label([x, y], anchor, &step.text, look(step.rung.stage));
    if !step.gain.is_empty() {
        sketch.label([x + next, y], anchor, &step.gain, TICK);
    }
}

/// Every rung in words.
fn told(facts: &LadderFacts, steps: &[Step]) -> Vec<String> {
    let of = |rung: &Rung| {
        let step = steps.iter().find(|step| std::ptr::eq(step.rung, rung));
        match step {
            Some(step) if step.gain.is_empty() => format!("{} {}", rung.word, with_unit(&step.text, facts.unit)),
            Some(step) => format!("{} {} ({})", rung.word, with_unit(&step.text, facts.unit), step.gain),
            None => rung.word.clone(),
        }
    };
    facts.rungs.iter().map(of).collect()
}
