//! The verdict marks: shapes of our own that differ in black and white.
//!
//! Comes in: a [`Mark`]. Goes out: [`Shape`]s in a unit square. Next: the painters, which scale them.
//!
//! The grammar: a ring is inside, a filled diamond outside, so that it is the darkest on a photocopy; a slash strikes out; a gap in the ring says that the value lies within
//! the guard band, to either side of the limit; a half-filled ring has used up its margin; four corners hold nothing.

use crate::document::{Ink, Mark, Shape};
use std::f64::consts::PI;

/// The ink that goes with a mark: for its shape and for rules and titles beside it.
pub fn ink(mark: Mark) -> Ink {
    match mark {
        Mark::Pass => Ink::Pass,
        Mark::Warn | Mark::ConditionalPass => Ink::Warn,
        Mark::ConditionalFail | Mark::Fail => Ink::Fail,
        Mark::NotJudged => Ink::Muted,
    }
}

/// The shapes of a mark in a square of side 1, origin at the top left, line widths in the same unit.
pub fn shapes(mark: Mark) -> Vec<Shape> {
    let ink = ink(mark);
    match mark {
        Mark::Pass => vec![ring(ink, 0.2)],
        Mark::Warn => vec![lower_half(ink), ring(ink, 0.13)],
        Mark::ConditionalPass => vec![line(arc(-0.15 * PI, 1.55 * PI), ink, 0.17)],
        Mark::ConditionalFail => {
            vec![line(arc(0.05 * PI, 1.45 * PI), ink, 0.13), line(vec![[0.3, 0.7], [0.94, 0.06]], ink, 0.14)]
        }
        Mark::Fail => vec![
            Shape::Area {
                points: vec![[0.5, 0.0], [1.0, 0.5], [0.5, 1.0], [0.0, 0.5]],
                fill: Some(ink),
                stroke: None,
                width: 0.0,
            },
            line(vec![[0.35, 0.65], [0.65, 0.35]], Ink::Paper, 0.15),
        ],
        Mark::NotJudged => corners(ink),
    }
}

fn ring(ink: Ink, width: f64) -> Shape {
    Shape::Circle { centre: [0.5, 0.5], radius: 0.46 - width / 2.0, fill: None, stroke: Some(ink), width }
}

fn lower_half(ink: Ink) -> Shape {
    Shape::Area { points: arc(0.0, PI), fill: Some(ink), stroke: None, width: 0.0 }
}

/// Four corners of a square.
fn corners(ink: Ink) -> Vec<Shape> {
    [[0.14, 0.14], [0.86, 0.14], [0.86, 0.86], [0.14, 0.86]]
        .into_iter()
        .map(|[x, y]: [f64; 2]| {
            let inward = |at: f64| at + 0.22 * (0.5 - at).signum();
            line(vec![[inward(x), y], [x, y], [x, inward(y)]], ink, 0.12)
        })
        .collect()
}

/// An arc about the middle, clockwise from `from` to `to` (radians, 0 to the right).
fn arc(from: f64, to: f64) -> Vec<[f64; 2]> {
    const STEPS: u32 = 28;
    (0..=STEPS)
        .map(|step| from + (to - from) * f64::from(step) / f64::from(STEPS))
        .map(|angle| [0.5 + 0.375 * angle.cos(), 0.5 + 0.375 * angle.sin()])
        .map(|point| point.map(|part| (part * 1e4).round() / 1e4))
        .collect()
}

fn line(points: Vec<[f64; 2]>, ink: Ink, width: f64) -> Shape {
    Shape::Line { points, ink, width, dash: Vec::new() }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MARKS: [Mark; 6] =
        [Mark::Pass, Mark::Warn, Mark::ConditionalPass, Mark::ConditionalFail, Mark::Fail, Mark::NotJudged];

    #[test]
    fn marks_differ_without_their_colour() {
        let plain = |mark| format!("{:?}", shapes(mark)).replace(&format!("{:?}", ink(mark)), "Ink");
        for (at, one) in MARKS.into_iter().enumerate() {
            for other in &MARKS[at + 1..] {
                assert_ne!(plain(one), plain(*other), "{one:?} and {other:?}");
            }
        }
    }

    #[test]
    fn marks_stay_in_their_square() {
        for mark in MARKS {
            for shape in shapes(mark) {
                let (points, half) = match shape {
                    Shape::Line { points, width, .. } | Shape::Area { points, width, .. } => (points, width / 2.0),
                    Shape::Circle { centre, radius, width, .. } => (vec![centre], radius + width / 2.0),
                    Shape::Label { .. } => panic!("a mark has no letters"),
                };
                let inside =
                    points.iter().flatten().all(|&at| (-0.05..=1.05).contains(&(at - half)) && at + half <= 1.05);
                assert!(inside, "{mark:?}");
            }
        }
    }
}
