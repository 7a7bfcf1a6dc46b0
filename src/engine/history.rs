//! How a probe ages and fouls over several visits.
//!
//! Comes in: one figure of a loop (slope, offset or error) as found and as left at each visit, with the breaks at which the
//! age began anew. Goes out: the straight line since the last break with its prediction band, the day it meets a limit,
//! and what each stretch between two visits cost. Next: [`crate::record`].

use super::line::{Line, straight_line};
use super::student;

/// Share of cases within the prediction band and the interval of the slope.
///
/// Source: common practice, no source: 95 % is usual for bands and tests.
pub const COVERAGE: f64 = 0.95;

/// How far beyond the first point a day is told, in lengths of the span that the points cover.
///
/// Source: our own choice: no farther ahead than the points reach back.
pub const TOLD_WITHIN_SPANS: f64 = 2.0;

/// Fewest points that tell a day.
///
/// Source: our own choice: two points always lie on a line.
const POINTS_NEEDED: usize = 3;

/// One figure at one visit; visits stand in the order of time.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stop {
    /// Day of the visit, counted from any fixed day.
    pub day: i64,
    /// As found.
    pub found: Option<f64>,
    /// As left; as found where nothing was done.
    pub left: Option<f64>,
    /// Day of a break since the visit before, the day of this visit where the day is not known.
    pub break_before: Option<i64>,
    /// Whether the age began anew at this visit, so that what was left is the first point.
    pub break_here: bool,
}

/// The figure since the last break: its day (without a break the first visit's) and the points (days since then, as left).
pub fn since_last_break(stops: &[Stop]) -> Option<(i64, Vec<(f64, f64)>)> {
    let mut origin = stops.first()?.day;
    let mut points = Vec::new();
    for stop in stops {
        if let Some(day) = stop.break_before {
            origin = day;
            points.clear();
        }
        if stop.break_here {
            origin = stop.day;
            points.clear();
        }
        points.extend(stop.left.map(|left| ((stop.day - origin) as f64, left)));
    }
    Some((origin, points))
}

/// What the time between two visits cost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fouling {
    /// Position of the earlier visit.
    pub from: usize,
    /// Days between the two visits, at least 1.
    pub days: i64,
    /// Found at the later visit minus left at the earlier.
    pub change: f64,
}

impl Fouling {
    /// Change per day.
    pub fn per_day(&self) -> f64 {
        self.change / self.days as f64
    }
}

/// What each stretch between neighbouring visits cost; none across a break.
pub fn fouling(stops: &[Stop]) -> Vec<Fouling> {
    let between = |(from, pair): (usize, &[Stop])| {
        let days = pair[1].day - pair[0].day;
        let change = pair[1].found? - pair[0].left?;
        (days > 0 && pair[1].break_before.is_none()).then_some(Fouling { from, days, change })
    };
    stops.windows(2).enumerate().filter_map(between).collect()
}

/// The straight line through the points since the last break.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ageing {
    /// The line: x in days since the break, y the figure as left.
    pub line: Line,
    /// First and last x.
    pub span: (f64, f64),
}

/// The line through points (days since the break, figure); `None` below two points or when they are of one day.
///
/// ```
/// use halfcell::engine::history::ageing;
/// let line = ageing(&[(0.0, 98.0), (100.0, 96.1), (200.0, 93.9), (300.0, 92.0)]).unwrap();
/// assert!((line.line.slope + 0.0202).abs() < 1e-9);
/// assert_eq!(line.meets(90.0).map(f64::round), Some(398.0));
/// assert_eq!(line.meets(80.0), None); // more than twice the span away
/// ```
pub fn ageing(points: &[(f64, f64)]) -> Option<Ageing> {
    let line = straight_line(points)?;
    let first = points.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
    let last = points.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
    Some(Ageing { line, span: (first, last) })
}

impl Ageing {
    /// t(0.975, n − 2); `None` below three points.
    fn t(&self) -> Option<f64> {
        let dof = self.line.points.checked_sub(2).filter(|dof| *dof > 0)?;
        Some(student::two_sided(COVERAGE, dof as f64))
    }

    /// Half the width of the 95 % interval of the slope, per day; `None` below three points.
    pub fn slope_half_width(&self) -> Option<f64> {
        Some(self.t()? * self.line.scatter?.slope_error)
    }

    /// Half the width of the 95 % prediction band at x: where a single new value is expected, t·s·√(1 + 1/n + (x − x̄)²/Sxx).
    pub fn half_band(&self, x: f64) -> Option<f64> {
        Some(self.t()? * self.single_sd(x)?)
    }

    /// Standard deviation of a single new value at x about the line, s·√(1 + 1/n + (x − x̄)²/Sxx); `None` below three points.
    pub fn single_sd(&self, x: f64) -> Option<f64> {
        let line = &self.line;
        let spread = 1.0 + 1.0 / line.points as f64 + (x - line.mean_x).powi(2) / line.sum_of_squares_x;
        Some(line.scatter?.residual_sd * spread.sqrt())
    }

    /// Whether the 95 % interval of the slope leaves out 0, so that a direction can be told.
    pub fn has_direction(&self) -> bool {
        self.slope_half_width().is_some_and(|half| self.line.slope.abs() > half)
    }

    /// The x at which the line meets a limit. Told only with at least three points, when the 95 % interval of the slope
    /// leaves out 0, the limit lies ahead, and the day lies within [`TOLD_WITHIN_SPANS`] of the span.
    pub fn meets(&self, limit: f64) -> Option<f64> {
        if self.line.points < POINTS_NEEDED || !self.has_direction() {
            return None;
        }
        let x = self.line.mean_x + (limit - self.line.mean_y) / self.line.slope;
        let (first, last) = self.span;
        (x > last && x - first <= TOLD_WITHIN_SPANS * (last - first)).then_some(x)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stop(day: i64, found: f64, left: f64) -> Stop {
        Stop { day, found: Some(found), left: Some(left), ..Stop::default() }
    }

    #[test]
    fn a_made_up_line_is_recovered() {
        for (at_break, per_day) in [(98.0, -0.02), (-3.0, 0.05), (99.4, -0.0031)] {
            let stops: Vec<Stop> = [20_000, 20_091, 20_180, 20_300]
                .map(|day| stop(day, 0.0, at_break + per_day * (day - 20_000) as f64))
                .into();
            let (origin, points) = since_last_break(&stops).unwrap();
            let ageing = ageing(&points).unwrap();
            assert_eq!(origin, 20_000);
            assert!((ageing.line.slope - per_day).abs() < 1e-12 && (ageing.line.at(0.0) - at_break).abs() < 1e-9);
            let limit = at_break + per_day * 450.0;
            assert!((ageing.meets(limit).unwrap() - 450.0).abs() < 1e-6);
        }
    }

    #[test]
    fn a_break_begins_the_age_anew() {
        let mut stops = [stop(0, 95.0, 96.0), stop(100, 90.0, 97.0), stop(200, 95.0, 95.5), stop(300, 93.0, 93.0)];
        stops[1].break_here = true;
        assert_eq!(since_last_break(&stops), Some((100, vec![(0.0, 97.0), (100.0, 95.5), (200.0, 93.0)])));
        // Renewed by somebody else between two visits: the day may be known.
        stops[2].break_before = Some(180);
        assert_eq!(since_last_break(&stops), Some((180, vec![(20.0, 95.5), (120.0, 93.0)])));
        assert_eq!(since_last_break(&[]), None);
    }

    #[test]
    fn fouling_is_next_found_minus_left_and_stops_at_a_break() {
        let mut stops = [stop(0, 95.0, 96.0), stop(100, 90.0, 97.0), stop(100, 97.0, 97.0), stop(300, 93.0, 93.0)];
        let costs = fouling(&stops);
        assert_eq!(costs.len(), 2, "none within one day");
        assert_eq!(costs[0], Fouling { from: 0, days: 100, change: -6.0 });
        assert!((costs[1].per_day() + 0.02).abs() < 1e-12);
        stops[3].break_before = Some(250);
        assert_eq!(fouling(&stops).len(), 1);
    }

    #[test]
    fn two_points_tell_no_day() {
        let ageing = ageing(&[(0.0, 98.0), (100.0, 90.0)]).unwrap();
        assert_eq!((ageing.meets(85.0), ageing.half_band(50.0), ageing.slope_half_width()), (None, None, None));
    }

    #[test]
    fn a_slope_that_may_be_0_tells_no_day() {
        let wavering = ageing(&[(0.0, 95.0), (100.0, 92.0), (200.0, 95.0), (300.0, 92.5)]).unwrap();
        assert!(wavering.line.slope < 0.0 && !wavering.has_direction());
        assert_eq!(wavering.meets(92.0), None);
        let flat = ageing(&[(0.0, 95.1), (100.0, 95.1), (200.0, 95.1)]).unwrap();
        assert_eq!((flat.has_direction(), flat.meets(80.0)), (false, None));
    }

    #[test]
    fn a_limit_that_was_met_lies_behind_or_lies_too_far_ahead_tells_no_day() {
        let falling = ageing(&[(0.0, 98.0), (100.0, 95.9), (200.0, 94.1), (300.0, 92.0)]).unwrap();
        assert!(falling.has_direction());
        assert_eq!(falling.meets(105.0), None, "it falls away from this one");
        assert_eq!(falling.meets(95.0), None, "met already");
        assert!(falling.meets(86.5).is_some_and(|x| x > 300.0 && x <= 600.0));
        assert_eq!(falling.meets(85.5), None, "beyond twice the span");
    }

    #[test]
    fn visits_of_one_day_have_no_line() {
        assert_eq!(ageing(&[(5.0, 98.0), (5.0, 90.0), (5.0, 91.0)]), None);
    }
}
