//! Geometry of the drawings, computed once for every painter; readable in black and white, labels never on labels.

mod history;
mod ladder;
mod potential;
mod scale;

pub(super) use history::{HistoryFacts, LineDay, Stop, history};
pub(super) use ladder::{LadderFacts, Rung, ladder};
pub(super) use potential::{Dot, PotentialFacts, Series, potential};
pub(super) use scale::{ScaleFacts, scale};

use super::print::bounds as bounds_of;
use super::{Anchor, Figure, Ink, Shape};
use crate::record::{CriterionRecord, LimitRecord, Record, Stage, StateRecord};

/// Text width of an A4 page in pt, and the white between columns; a drawing is never set smaller than it is drawn there.
const PAGE: f64 = 515.0;
const GUTTER: f64 = 24.0;
/// Width of a drawing in one of two columns in pt.
const WIDTH: f64 = (PAGE - GUTTER) / 2.0;
/// Size of labels in pt: the least that is printed.
const NORMAL: f64 = 7.2;
/// Size of values to be seen first in pt.
const BIG: f64 = 11.5;
/// Dash of as-found lines.
const DASHED: [f64; 2] = [4.0, 2.0];
/// Dash of theoretical lines.
const DOTTED: [f64; 2] = [0.8, 1.8];

/// Width of a drawing in one of so many columns in pt.
pub(super) fn width_of(columns: usize) -> f64 {
    (PAGE - GUTTER * columns.saturating_sub(1) as f64) / columns.max(1) as f64
}

/// Shapes in painting order.
#[derive(Debug)]
struct Sketch {
    shapes: Vec<Shape>,
    width: f64,
}

impl Sketch {
    fn new(width: f64) -> Self {
        Sketch { shapes: Vec::new(), width }
    }

    fn line(&mut self, points: &[[f64; 2]], ink: Ink, width: f64, dash: &[f64]) {
        self.shapes.push(Shape::Line { points: points.to_vec(), ink, width, dash: dash.to_vec() });
    }

    fn area(&mut self, from: [f64; 2], to: [f64; 2], fill: Option<Ink>, stroke: Option<Ink>) {
        let points = vec![from, [to[0], from[1]], to, [from[0], to[1]]];
        self.shapes.push(Shape::Area { points, fill, stroke, width: 0.5 });
    }

    /// As found: an open ring. As left: a disc.
    fn reading(&mut self, centre: [f64; 2], stage: Stage, radius: f64) {
        let (fill, stroke) = match stage {
            Stage::AsFound => (Ink::Paper, Ink::Text),
            Stage::AsLeft => (Ink::Accent, Ink::Accent),
        };
        self.shapes.push(Shape::Circle { centre, radius, fill: Some(fill), stroke: Some(stroke), width: 1.0 });
    }

    /// A reading left out of the fit.
    fn cross(&mut self, [x, y]: [f64; 2], reach: f64) {
        for way in [1.0, -1.0] {
            let ends = [[x - reach, y - way * reach], [x + reach, y + way * reach]];
            self.line(&ends, Ink::Muted, 1.0, &[]);
        }
    }

    fn label(&mut self, at: [f64; 2], anchor: Anchor, text: &str, look: Look) {
        self.shapes.push(Shape::Label {
            at,
            anchor,
            text: text.to_owned(),
            size: look.size,
            bold: look.bold,
            ink: look.ink,
        });
    }

    fn figure(self, height: f64, alt: String) -> Figure {
        Figure { width: self.width, height, alt, shapes: self.shapes }
    }
}

/// Size, weight and colour of a label.
#[derive(Debug, Clone, Copy)]
struct Look {
    size: f64,
    bold: bool,
    ink: Ink,
}

/// Tick labels.
const TICK: Look = Look { size: NORMAL, bold: false, ink: Ink::Muted };
/// Labels of the state found.
const FOUND: Look = Look { size: NORMAL, bold: false, ink: Ink::Text };
/// Labels of the state left.
const LEFT: Look = Look { size: NORMAL, bold: true, ink: Ink::Accent };
/// Large values of both states.
const TEXT_BIG: Look = Look { size: BIG, bold: false, ink: Ink::Text };
const ACCENT_BIG: Look = Look { size: BIG, bold: true, ink: Ink::Accent };

fn look(stage: Stage) -> Look {
    match stage {
        Stage::AsFound => FOUND,
        Stage::AsLeft => LEFT,
    }
}

/// Width of a text in pt, rather too wide than too narrow: widths of the bundled bold face by class of character.
fn text_width(text: &str, look: Look) -> f64 {
    let ems: f64 = text.chars().map(em).sum();
    ems * look.size
}

/// Width of a text in the size of labels and small tables in pt, rather too wide than too narrow.
pub(super) fn small_width(text: &str, bold: bool) -> f64 {
    text_width(text, Look { bold, ..TICK })
}

/// Upper bound of the advance of a character in em (Source: `hmtx` of the bundled faces, measured).
fn em(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | 'I' | ' ' | '\u{a0}' => 0.29,
        '.' | ',' | ':' | ';' | '\'' | '·' | '!' | '|' => 0.36,
        'f' | 'r' | 't' | '(' | ')' | '/' => 0.40,
        '-' | '°' | '–' => 0.50,
        'm' | 'w' => 0.90,
        'M' | 'W' | '%' | '@' | '—' | '→' => 1.03,
        'a'..='z' | '0'..='9' | '+' | '−' | '±' | '=' | '≤' | '≥' => 0.65,
        'A'..='Z' => 0.78,
        _ => 1.05,
    }
}

/// The text, cut with an ellipsis where it is wider than `width`.
fn fitted(text: &str, width: f64, look: Look) -> String {
    if text_width(text, look) <= width {
        return text.to_owned();
    }
    let mut out = String::new();
    for c in text.chars() {
        if text_width(&out, look) + text_width("…", look) + em(c) * look.size > width {
            break;
        }
        out.push(c);
    }
    format!("{}…", out.trim_end())
}

/// The text in lines no wider than `width`, broken between words.
fn wrapped(text: &str, width: f64, look: Look) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if text_width(&format!("{line} {word}"), look) <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Round values between `low` and `high`, at most about `most`, and the decimals they need.
fn ticks(low: f64, high: f64, most: usize) -> (Vec<f64>, usize) {
    let span = (high - low).max(1e-9);
    let rough = span / most.max(1) as f64;
    let power = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|factor| factor * power)
        .find(|step| *step >= rough * (1.0 - 1e-9))
        .unwrap_or(10.0 * power);
    let decimals = (-step.log10().floor()).max(0.0) as usize;
    let first = (low / step - 1e-9).ceil() as i64;
    let last = (high / step + 1e-9).floor() as i64;
    ((first..=last).map(|n| n as f64 * step).collect(), decimals)
}

/// The next round value (1, 2, 5, 10 …) from `value` upwards, and the decimals it needs.
fn round_up(value: f64) -> (f64, usize) {
    let power = 10f64.powf(value.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|factor| factor * power);
    let round = steps.into_iter().find(|step| *step >= value * (1.0 - 1e-9));
    let round = round.unwrap_or(10.0 * power);
    (round, (-(round * 1.000_001).log10().floor()).max(0.0) as usize)
}

/// Values on a stretch of paper.
#[derive(Debug, Clone, Copy)]
struct Axis {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
}

impl Axis {
    fn at(&self, value: f64) -> f64 {
        let share = (value - self.low) / (self.high - self.low);
        self.from + share * (self.to - self.from)
    }
}

/// Smallest and largest of values.
fn extent(values: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    values.into_iter().fold(None, |so_far, value| match so_far {
        None => Some((value, value)),
        Some((low, high)) => Some((low.min(value), high.max(value))),
    })
}

/// Labels of one row around their middles, pushed apart to stand `gap` clear of each other inside `[0, width]`.
/// Comes in and goes out in order of their middles: middle, width.
fn spread(labels: &[(f64, f64)], gap: f64, width: f64) -> Vec<f64> {
    let mut middles: Vec<f64> = Vec::with_capacity(labels.len());
    let mut edge = 0.0;
    for &(middle, wide) in labels {
        let middle = f64::max(middle, edge + wide / 2.0);
        edge = middle + wide / 2.0 + gap;
        middles.push(middle);
    }
    let mut edge = width;
    for (middle, &(_, wide)) in middles.iter_mut().zip(labels).rev() {
        *middle = middle.min(edge - wide / 2.0);
        edge = *middle - wide / 2.0 - gap;
    }
    middles
}

/// Tick labels that stand clear of each other inside `[0, width]`: limits first, then round values, each `(value, text)`.
fn tick_labels(axis: &Axis, wanted: &[(f64, String)], width: f64) -> Vec<(f64, String)> {
    let mut taken: Vec<(f64, f64)> = Vec::new();
    let mut placed = Vec::new();
    for (value, text) in wanted {
        let half = text_width(text, TICK) / 2.0 + 1.5;
        let x = axis.at(*value);
        let free = taken.iter().all(|&(a, b)| x + half < a || x - half > b);
        if free && x - half >= 0.0 && x + half <= width {
            taken.push((x - half, x + half));
            placed.push((x, text.clone()));
        }
    }
    placed
}

/// The limits under which a criterion was judged at the state left, else at the state found.
pub(super) fn limit_of(record: &Record, name: &str) -> Option<LimitRecord> {
    limit_at(record, name, Stage::AsLeft).or(limit_at(record, name, Stage::AsFound))
}

/// The limits under which a criterion was judged at a state.
pub(super) fn limit_at(record: &Record, name: &str, stage: Stage) -> Option<LimitRecord> {
    let mut criteria = record.criteria.iter();
    let criterion = criteria.find(|c: &&CriterionRecord| c.name == name && c.stage == stage);
    criterion.map(|criterion| criterion.limit.clone())
}

/// States with readings, in the order of time.
pub(super) fn states(record: &Record) -> Vec<(Stage, &StateRecord)> {
    let found = (Stage::AsFound, &record.as_found);
    let left = record.as_left.as_ref().map(|left| (Stage::AsLeft, left));
    let both = [Some(found), left];
    let both = both.into_iter().flatten();
    both.filter(|(_, state)| !state.figures.readings.is_empty()).collect()
}

#[cfg(test)]
mod tests;
