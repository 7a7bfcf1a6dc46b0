//! Readings against what they should be, with the line through them, and what is left over magnified below.

use super::{
    Axis, DASHED, DOTTED, FOUND, Look, NORMAL, Sketch, TICK, WIDTH, extent, fitted, look, round_up, text_width,
    tick_labels, ticks, wrapped,
};
use crate::document::print::Print;
use crate::document::{Anchor, Figure, Ink};
use crate::record::Stage;
use crate::rounding::{fixed, signed};

const LEFT_EDGE: f64 = 27.0;
const RIGHT_EDGE: f64 = WIDTH - 4.0;
const TOP: f64 = 12.5;
const PLOT: f64 = 98.0;
const RESIDUALS: f64 = 24.0;
/// From the plot down to the row of ticks, of names, of titles.
const TICKS: f64 = 8.5;
const NAMES: f64 = 17.0;
const TITLES: f64 = 27.0;

/// One reading: where it should be, where it was, and what is left over in the unit below.
#[derive(Debug, Clone)]
pub(in crate::document) struct Dot {
    /// Buffer pH or standard in mV.
    pub x: f64,
    /// Potential or shown value in mV.
    pub y: f64,
    /// Residual in pH or error in mV, shown magnified; none where it is not known.
    pub rest: Option<f64>,
    /// Short name of the standard.
    pub standard: String,
    /// Whether the reading was left out of the fit: drawn as a cross.
    pub excluded: bool,
}

/// A state with its dots and its line `y = at_zero + per_x · x`.
#[derive(Debug, Clone)]
pub(in crate::document) struct Series {
    pub stage: Stage,
    /// Name in the legend: `as found, 45.9 mV/pH`.
    pub name: String,
    pub dots: Vec<Dot>,
    pub line: Option<(f64, f64)>,
}

/// What the chart shows.
#[derive(Debug, Clone)]
pub(in crate::document) struct PotentialFacts {
    pub series: Vec<Series>,
    /// Theoretical line and its name.
    pub theory: (f64, f64),
    pub theory_name: String,
    /// Title of the x axis.
    pub x_title: String,
    /// Name of what is magnified below, with its unit.
    pub rest_title: String,
    /// Decimals of the least magnified tick.
    pub least_rest: f64,
    /// Whether there is something to magnify.
    pub show_rest: bool,
    /// What the chart says, in words.
    pub alt: String,
    /// Least distance to the edge on the x axis.
    pub pad: f64,
}

/// Draws the chart; nothing without readings.
pub(in crate::document) fn potential(print: &Print, facts: &PotentialFacts) -> Option<Figure> {
    let dots = || facts.series.iter().flat_map(|series| &series.dots);
    let (low, high) = extent(dots().map(|dot| dot.x))?;
    let x_axis = Axis { low: low - facts.pad, high: high + facts.pad, from: LEFT_EDGE, to: RIGHT_EDGE };
    let lines = || {
        let fitted = facts.series.iter().filter_map(|series| series.line);
        fitted.chain([facts.theory])
    };
    let ends = lines().flat_map(|(a, b)| [a + b * x_axis.low, a + b * x_axis.high]);
    let (low, high) = extent(dots().map(|dot| dot.y).chain(ends))?;
    let pad = ((high - low) * 0.04).max(2.0);
    let y_axis = Axis { low: low - pad, high: high + pad, from: TOP + PLOT, to: TOP };
    let y_axis = roomy(facts, &x_axis, y_axis);
    let mut sketch = Sketch::new(WIDTH);
    grid(&mut sketch, print, &x_axis, &y_axis);
    stems(&mut sketch, facts, &x_axis, &y_axis);
    names(&mut sketch, facts, &x_axis, TOP + PLOT + NAMES);
    titles(&mut sketch, facts);
    curves(&mut sketch, facts, &x_axis, &y_axis);
    let mut bottom = TOP + PLOT + TITLES + 2.0;
    if facts.show_rest {
        bottom = rest(&mut sketch, print, facts, &x_axis, bottom);
    }
    let bottom = legend(&mut sketch, facts, &x_axis, &y_axis, bottom);
    Some(sketch.figure(bottom, facts.alt.clone()))
}

/// Grid lines with their values.
fn grid(sketch: &mut Sketch, print: &Print, x_axis: &Axis, y_axis: &Axis) {
    let bottom = TOP + PLOT;
    let (xs, decimals) = ticks(x_axis.low, x_axis.high, 6);
    for &value in &xs {
        let x = x_axis.at(value);
        sketch.line(&[[x, bottom], [x, bottom + 2.0]], Ink::Muted, 0.5, &[]);
    }
    let texts = xs.iter().map(|&value| (value, fixed(value, decimals, print.sign)));
    for (x, text) in tick_labels(x_axis, &texts.collect::<Vec<_>>(), WIDTH) {
        sketch.label([x, bottom + TICKS], Anchor::Middle, &text, TICK);
    }
    let (ys, decimals) = ticks(y_axis.low, y_axis.high, 7);
    for value in ys {
        let y = y_axis.at(value);
        sketch.line(&[[LEFT_EDGE, y], [RIGHT_EDGE, y]], Ink::Grid, 0.5, &[]);
        let text = fixed(value, decimals, print.sign);
        sketch.label([LEFT_EDGE - 3.0, y + 2.3], Anchor::End, &text, TICK);
    }
    sketch.line(&[[LEFT_EDGE, bottom], [RIGHT_EDGE, bottom]], Ink::Muted, 0.5, &[]);
    sketch.label([LEFT_EDGE - 3.0, TOP - 5.5], Anchor::End, "mV", TICK);
}

/// What is on the x axis, and what is magnified below it.
fn titles(sketch: &mut Sketch, facts: &PotentialFacts) {
    let y = TOP + PLOT + TITLES;
    let rest = if facts.show_rest { text_width(&facts.rest_title, FOUND) + 8.0 } else { 0.0 };
    sketch.label([RIGHT_EDGE, y], Anchor::End, &fitted(&facts.x_title, RIGHT_EDGE - rest, TICK), TICK);
    if facts.show_rest {
        sketch.label([0.0, y], Anchor::Start, &facts.rest_title, FOUND);
    }
}

/// A thin line from the readings in each standard down to the axis.
fn stems(sketch: &mut Sketch, facts: &PotentialFacts, x_axis: &Axis, y_axis: &Axis) {
    for dot in facts.series.iter().flat_map(|series| &series.dots) {
        let x = x_axis.at(dot.x);
        sketch.line(&[[x, y_axis.at(dot.y)], [x, TOP + PLOT]], Ink::Grid, 0.5, &[]);
    }
}

/// Theoretical line dotted, found dashed with rings, left solid with discs.
fn curves(sketch: &mut Sketch, facts: &PotentialFacts, x_axis: &Axis, y_axis: &Axis) {
    let ends = |(a, b): (f64, f64)| [x_axis.low, x_axis.high].map(|x| [x_axis.at(x), y_axis.at(a + b * x)]);
    sketch.line(&ends(facts.theory), Ink::Muted, 0.9, &DOTTED);
    for series in &facts.series {
        if let Some(line) = series.line {
            let (ink, width, dash) = stroke(series.stage);
            sketch.line(&ends(line), ink, width, dash);
        }
    }
    for series in facts.series.iter().rev() {
        for dot in &series.dots {
            let centre = [x_axis.at(dot.x), y_axis.at(dot.y)];
            match dot.excluded {
                true => sketch.cross(centre, 2.5),
                false => sketch.reading(centre, series.stage, radius(series.stage)),
            }
        }
    }
    // A ring over a disc: the disc shows through where both states read the same.
    for series in facts.series.iter().filter(|s| s.stage == Stage::AsLeft) {
        for dot in series.dots.iter().filter(|dot| !dot.excluded) {
            sketch.reading([x_axis.at(dot.x), y_axis.at(dot.y)], series.stage, 1.6);
        }
    }
}

fn stroke(stage: Stage) -> (Ink, f64, &'static [f64]) {
    match stage {
        Stage::AsFound => (Ink::Text, 0.9, &DASHED),
        Stage::AsLeft => (Ink::Accent, 1.2, &[]),
    }
}

fn radius(stage: Stage) -> f64 {
    match stage {
        Stage::AsFound => 3.2,
        Stage::AsLeft => 2.7,
    }
}

/// Names of the lines in a corner that is free, the long ones broken where that helps, else below the chart; the new bottom.
fn legend(sketch: &mut Sketch, facts: &PotentialFacts, x_axis: &Axis, y_axis: &Axis, bottom: f64) -> f64 {
    for longest in LONGEST {
        let entries = entries_of(facts, longest);
        let size = legend_size(&entries);
        if let Some(corner) = free_corner(facts, x_axis, y_axis, size) {
            let end = [corner[0] + size[0] + 0.5, corner[1] + size[1]];
            sketch.area(corner, end, Some(Ink::Paper), None);
            entries_at(sketch, corner, &entries);
            return bottom;
        }
    }
    let entries = entries_of(facts, f64::INFINITY);
    entries_at(sketch, [LEFT_EDGE, bottom + 2.0], &entries);
    bottom + 2.0 + legend_size(&entries)[1]
}

/// How much of its height the plot may give up so that the legend stands in it.
const GIVEN_UP: f64 = 0.3;

/// The axis with more room at its upper end where only that frees a corner for the legend.
fn roomy(facts: &PotentialFacts, x_axis: &Axis, y_axis: Axis) -> Axis {
    let size = legend_size(&entries_of(facts, f64::INFINITY));
    let corner = [RIGHT_EDGE - size[0], TOP + 1.0];
    let has_room = |axis: &Axis| {
        let layouts = LONGEST.map(|longest| legend_size(&entries_of(facts, longest)));
        layouts.into_iter().any(|size| free_corner(facts, x_axis, axis, size).is_some())
    };
    let span = y_axis.high - y_axis.low;
    let taller = (1..=6).map(|step| Axis { high: y_axis.high + span * GIVEN_UP * f64::from(step) / 6.0, ..y_axis });
    match has_room(&y_axis) {
        true => y_axis,
        false => { taller }.find(|axis| is_free(facts, x_axis, axis, corner, size)).unwrap_or(y_axis),
    }
}

/// Widths in pt to which names in the legend may run before they are broken, the best first.
const LONGEST: [f64; 3] = [f64::INFINITY, 90.0, 70.0];

/// The lines of the chart as entries whose names are broken at a width.
fn entries_of(facts: &PotentialFacts, longest: f64) -> Vec<Entry> {
    let muted = Look { size: NORMAL, bold: false, ink: Ink::Muted };
    let named = facts.series.iter().map(|series| (series.name.as_str(), look(series.stage), Some(series.stage)));
    let named = named.chain([(facts.theory_name.as_str(), muted, None)]);
    named.map(|(name, look, stage)| Entry { lines: wrapped(name, longest, look), look, stage }).collect()
}

/// Upper left of a corner of the plot in which a box of that size stands free.
fn free_corner(facts: &PotentialFacts, x_axis: &Axis, y_axis: &Axis, size: [f64; 2]) -> Option<[f64; 2]> {
    let (right, low) = (RIGHT_EDGE - size[0], TOP + PLOT - size[1] - 2.0);
    let corners = [[right, TOP + 1.0], [LEFT_EDGE + 3.0, low], [LEFT_EDGE + 3.0, TOP + 1.0], [right, low]];
    corners.into_iter().find(|corner| is_free(facts, x_axis, y_axis, *corner, size))
}

/// A line of the chart in the legend.
struct Entry {
    lines: Vec<String>,
    look: Look,
    stage: Option<Stage>,
}

/// Distance of lines in the legend, and its room for the piece of a line, in pt.
const LEGEND_LINE: f64 = 9.5;
const LEGEND_PIECE: f64 = 22.0;

fn legend_size(entries: &[Entry]) -> [f64; 2] {
    let widths = entries.iter().flat_map(|entry| entry.lines.iter().map(|line| text_width(line, entry.look)));
    let lines: usize = entries.iter().map(|entry| entry.lines.len()).sum();
    [widths.fold(0.0, f64::max) + LEGEND_PIECE + 2.0, lines as f64 * LEGEND_LINE + 2.0]
}

fn entries_at(sketch: &mut Sketch, [x, top]: [f64; 2], entries: &[Entry]) {
    let mut y = top + 5.5;
    for Entry { lines, look, stage } in entries {
        piece(sketch, [x + 1.0, y], *stage);
        for line in lines {
            sketch.label([x + LEGEND_PIECE, y + 2.5], Anchor::Start, line, *look);
            y += LEGEND_LINE;
        }
    }
}

/// A piece of a line with its mark.
fn piece(sketch: &mut Sketch, at: [f64; 2], stage: Option<Stage>) {
    let (ink, width, dash) = stage.map_or((Ink::Muted, 0.9, &DOTTED[..]), stroke);
    sketch.line(&[at, [at[0] + 18.0, at[1]]], ink, width, dash);
    if let Some(stage) = stage {
        sketch.reading([at[0] + 9.0, at[1]], stage, radius(stage) - 0.4);
    }
}

/// Whether no line and no mark crosses a box.
fn is_free(facts: &PotentialFacts, x_axis: &Axis, y_axis: &Axis, corner: [f64; 2], size: [f64; 2]) -> bool {
    let ([left, top], [right, bottom]) = (corner, [corner[0] + size[0], corner[1] + size[1]]);
    let value = |x: f64| {
        let share = (x - x_axis.from) / (x_axis.to - x_axis.from);
        x_axis.low + share * (x_axis.high - x_axis.low)
    };
    let lines = facts.series.iter().filter_map(|series| series.line);
    let crosses = |(a, b): (f64, f64)| {
        let ys = [left, right].map(|x| y_axis.at(a + b * value(x)));
        f64::max(ys[0], ys[1]) > top - 1.0 && f64::min(ys[0], ys[1]) < bottom + 1.0
    };
    let covers = |dot: &Dot| {
        let [x, y] = [x_axis.at(dot.x), y_axis.at(dot.y)];
        // A thin line leads down from it.
        x > left - 4.0 && x < right + 4.0 && y < bottom + 4.0
    };
    !lines.chain([facts.theory]).any(crosses) && !facts.series.iter().flat_map(|s| &s.dots).any(covers)
}

/// What is left over, magnified: one strip below the chart; the new bottom.
fn rest(sketch: &mut Sketch, print: &Print, facts: &PotentialFacts, x_axis: &Axis, top: f64) -> f64 {
    let rests = facts.series.iter().flat_map(|s| &s.dots).filter(|dot| !dot.excluded).filter_map(|dot| dot.rest);
    let largest = rests.map(f64::abs).fold(facts.least_rest, f64::max);
    let (end, decimals) = round_up(largest);
    let from = top + 5.0;
    let axis = Axis { low: -end, high: end, from: from + RESIDUALS, to: from };
    for value in [-end, 0.0, end] {
        let y = axis.at(value);
        let ink = if value == 0.0 { Ink::Muted } else { Ink::Grid };
        sketch.line(&[[LEFT_EDGE, y], [RIGHT_EDGE, y]], ink, 0.5, &[]);
        let text = signed(value, decimals, print.sign);
        sketch.label([LEFT_EDGE - 3.0, y + 2.3], Anchor::End, &text, TICK);
    }
    let apart = if facts.series.len() > 1 { 3.2 } else { 0.0 };
    for series in &facts.series {
        let shift = match series.stage {
            Stage::AsFound => -apart,
            Stage::AsLeft => apart,
        };
        for (dot, value) in series.dots.iter().filter_map(|dot| Some((dot, dot.rest?))) {
            let x = x_axis.at(dot.x) + shift;
            sketch.line(&[[x, axis.at(0.0)], [x, axis.at(value)]], Ink::Muted, 0.5, &[]);
            sketch.reading([x, axis.at(value)], series.stage, radius(series.stage) - 0.5);
        }
    }
    from + RESIDUALS + 4.0
}

/// Short names of the standards below the axis, where they stand clear of each other.
fn names(sketch: &mut Sketch, facts: &PotentialFacts, x_axis: &Axis, y: f64) {
    let mut dots: Vec<&Dot> = facts.series.iter().flat_map(|s| &s.dots).collect();
    dots.sort_by(|a, b| a.x.total_cmp(&b.x));
    let mut edge = LEFT_EDGE;
    let mut named: Vec<&str> = Vec::new();
    for dot in dots {
        let half = text_width(&dot.standard, TICK) / 2.0;
        let x = x_axis.at(dot.x);
        let free = x - half > edge && x + half < WIDTH;
        if free && !named.contains(&dot.standard.as_str()) {
            sketch.label([x, y], Anchor::Middle, &dot.standard, TICK);
            edge = x + half + 2.0;
            named.push(&dot.standard);
        }
    }
}
