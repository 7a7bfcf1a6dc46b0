//! Slope and offset of a pH probe by least squares.
//!
//! Comes in: readings, each with potential, temperature and the pH of its buffer at that temperature. Goes out: the
//! straight line E = E₇ + η·x with x = k(T)·(7 − pH), in the trade's figures, and what a reader must know to trust it.
//! Next: [`super::shown`], [`super::stated`] and [`crate::record`], which judges.
//!
//! The isopotential point is taken as pH 7.

use crate::engine::line::{Line, straight_line};
use crate::reference::slope_mv_per_ph;

/// pH of the isopotential point, where the offset is told.
///
/// Source: common practice, no source: glass electrodes with a pH 7 inner buffer.
pub const ISOPOTENTIAL_PH: f64 = 7.0;

/// Readings whose neighbours in pH are closer than this form one group.
///
/// Source: our own choice: no two buffers of a set are closer, no repeat in a buffer is farther.
pub const GROUP_WITHIN_PH: f64 = 0.5;

/// Below this slope in percent the zero point says nothing.
///
/// Source: our own choice; common practice calls a probe dead far above it.
pub const ZERO_POINT_FROM_PERCENT: f64 = 20.0;

/// Above this spread of temperatures in °C within one state no slope is judged.
///
/// Source: our own choice: the isopotential point of a real probe is not exactly pH 7.
pub const JUDGED_WITHIN_C: f64 = 10.0;

/// Differences on a border are taken as on it within this much.
///
/// Source: our own choice, far below any typed digit.
const BORDER: f64 = 1e-9;

/// One reading in a buffer; all numbers finite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Potential of the probe, mV.
    pub mv: f64,
    /// Temperature of the buffer, °C.
    pub temperature_c: f64,
    /// pH of the buffer at that temperature.
    pub ph: f64,
}

impl Point {
    /// Theoretical slope at the reading's temperature, mV per pH.
    pub fn nernst_mv_per_ph(&self) -> f64 {
        slope_mv_per_ph(self.temperature_c)
    }

    /// What a perfect probe would give, mV: k(T)·(7 − pH).
    pub fn theoretical_mv(&self) -> f64 {
        self.nernst_mv_per_ph() * (ISOPOTENTIAL_PH - self.ph)
    }
}

/// What the readings of one state say about the probe. Without two groups the figures of the line are `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// η: slope over theoretical slope; positive for a healthy probe.
    pub slope_ratio: Option<f64>,
    /// η · 100: percentage theoretical slope.
    pub slope_percent: Option<f64>,
    /// η · k(25 °C), mV per pH, positive for a healthy probe.
    pub slope_mv_per_ph_25c: Option<f64>,
    /// η · k at the mean temperature, mV per pH.
    pub slope_mv_per_ph: Option<f64>,
    /// E₇: potential at pH 7, mV.
    pub offset_mv: Option<f64>,
    /// pH where the probe gives 0 mV at the mean temperature; `None` also when the slope is below
    /// [`ZERO_POINT_FROM_PERCENT`].
    pub zero_point_ph: Option<f64>,
    /// √(Σ residual²/(n − 2)) in mV; `None` also below three readings.
    pub residual_sd_mv: Option<f64>,
    /// Correlation of E and x; `None` also below three readings.
    pub correlation: Option<f64>,
    /// Plain mean of the temperatures, °C.
    pub mean_temperature_c: f64,
    /// Highest minus lowest temperature, °C.
    pub temperature_spread_c: f64,
    /// Whether the spread is at most [`JUDGED_WITHIN_C`], so that the slope may be judged.
    pub slope_may_be_judged: bool,
    /// Each reading against the line, in the order given.
    pub points: Vec<FittedPoint>,
    /// Readings that lie together, ascending in pH.
    pub groups: Vec<Group>,
    /// Slopes between neighbouring groups, ascending in pH.
    pub segments: Vec<Segment>,
    /// pH of the highest group minus that of the lowest; 0 with one group.
    pub span_ph: f64,
    /// Whether a buffer lies within 0.5 pH of 7, so that the offset is directly observed.
    pub observed_near_ph_7: bool,
}

/// One reading against the line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FittedPoint {
    /// Theoretical slope at the reading's temperature, mV per pH.
    pub nernst_mv_per_ph: f64,
    /// Potential on the line, mV.
    pub fitted_mv: Option<f64>,
    /// Potential read minus potential on the line, mV.
    pub residual_mv: Option<f64>,
    /// The residual in pH, residual/(−η·k); `None` also when the line is flat.
    pub residual_ph: Option<f64>,
    /// Index of its group in [`Fit::groups`].
    pub group: usize,
}

/// Readings whose buffers lie together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Group {
    /// Mean pH.
    pub ph: f64,
    /// Mean of x = k(T)·(7 − pH), mV.
    pub theoretical_mv: f64,
    /// Mean potential read, mV.
    pub mv: f64,
    /// How many readings.
    pub readings: usize,
}

/// The slope between two neighbouring groups.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segment {
    /// Mean pH of the lower group.
    pub from_ph: f64,
    /// Mean pH of the upper group.
    pub to_ph: f64,
    /// Percentage theoretical slope between the two.
    pub slope_percent: f64,
}

/// Fits the readings of one state; the order does not matter. `None` without readings.
///
/// ```
/// use halfcell::engine::fit::{Point, fit};
/// let in_7 = Point { mv: 8.3, temperature_c: 25.0, ph: 7.0 };
/// let in_4 = Point { mv: 168.4, temperature_c: 25.0, ph: 4.0 };
/// let fit = fit(&[in_7, in_4]).unwrap();
/// assert!((fit.slope_mv_per_ph_25c.unwrap() - 160.1 / 3.0).abs() < 1e-9);
/// assert!((fit.offset_mv.unwrap() - 8.3).abs() < 1e-9);
/// ```
pub fn fit(readings: &[Point]) -> Option<Fit> {
    let first = readings.first()?;
    let n = readings.len() as f64;
    let (groups, group_of) = grouped(readings);
    let line = line_of(readings, groups.len());
    let mean_temperature_c = readings.iter().map(|r| r.temperature_c).sum::<f64>() / n;
    let coldest = readings.iter().map(|r| r.temperature_c).fold(first.temperature_c, f64::min);
    let warmest = readings.iter().map(|r| r.temperature_c).fold(first.temperature_c, f64::max);
    let slope_ratio = line.map(|l| l.slope);
    let slope_mv_per_ph_mean = slope_ratio.map(|ratio| ratio * slope_mv_per_ph(mean_temperature_c));
    Some(Fit {
        slope_ratio,
        slope_percent: slope_ratio.map(|ratio| 100.0 * ratio),
        slope_mv_per_ph_25c: slope_ratio.map(|ratio| ratio * slope_mv_per_ph(25.0)),
        slope_mv_per_ph: slope_mv_per_ph_mean,
        offset_mv: line.map(|l| l.intercept),
        zero_point_ph: line
            .filter(|l| 100.0 * l.slope >= ZERO_POINT_FROM_PERCENT)
            .zip(slope_mv_per_ph_mean)
            .map(|(l, slope)| ISOPOTENTIAL_PH + l.intercept / slope),
        residual_sd_mv: line.and_then(|l| l.scatter).map(|s| s.residual_sd),
        correlation: line.and_then(|l| l.correlation),
        mean_temperature_c,
        temperature_spread_c: warmest - coldest,
        slope_may_be_judged: warmest - coldest <= JUDGED_WITHIN_C + BORDER,
        points: readings.iter().zip(group_of).map(|(r, group)| fitted(r, line.as_ref(), group)).collect(),
        segments: groups.windows(2).filter_map(|pair| segment(&pair[0], &pair[1])).collect(),
        span_ph: groups[groups.len() - 1].ph - groups[0].ph,
        observed_near_ph_7: readings.iter().any(|r| (r.ph - ISOPOTENTIAL_PH).abs() <= GROUP_WITHIN_PH + BORDER),
        groups,
    })
}

/// The line through a state's readings: x what a perfect probe would give, y what this one gave, both in mV; its slope
/// is η, its intercept E₇. `None` when all buffers lie in one group.
pub fn response(readings: &[Point]) -> Option<Line> {
    line_of(readings, grouped(readings).0.len())
}

/// [`response`] of readings in so many groups.
fn line_of(readings: &[Point], groups: usize) -> Option<Line> {
    let points: Vec<(f64, f64)> = readings.iter().map(|r| (r.theoretical_mv(), r.mv)).collect();
    if groups < 2 { None } else { straight_line(&points) }
}

/// One reading against the line.
fn fitted(reading: &Point, line: Option<&Line>, group: usize) -> FittedPoint {
    let nernst_mv_per_ph = reading.nernst_mv_per_ph();
    let fitted_mv = line.map(|l| l.at(reading.theoretical_mv()));
    let residual_mv = fitted_mv.map(|fitted| reading.mv - fitted);
    let residual_ph =
        line.zip(residual_mv).map(|(l, residual)| residual / (-l.slope * nernst_mv_per_ph)).filter(|ph| ph.is_finite());
    FittedPoint { nernst_mv_per_ph, fitted_mv, residual_mv, residual_ph, group }
}

/// Readings sorted by pH and cut where neighbours are [`GROUP_WITHIN_PH`] or more apart; with each reading's group.
fn grouped(readings: &[Point]) -> (Vec<Group>, Vec<usize>) {
    let mut order: Vec<usize> = (0..readings.len()).collect();
    order.sort_by(|&a, &b| readings[a].ph.total_cmp(&readings[b].ph));
    let mut group_of = vec![0; readings.len()];
    let mut groups = Vec::new();
    for together in order.chunk_by(|&a, &b| readings[b].ph - readings[a].ph < GROUP_WITHIN_PH - BORDER) {
        let mean =
            |of: fn(&Point) -> f64| together.iter().map(|&i| of(&readings[i])).sum::<f64>() / together.len() as f64;
        together.iter().for_each(|&i| group_of[i] = groups.len());
        groups.push(Group {
            ph: mean(|r| r.ph),
            theoretical_mv: mean(Point::theoretical_mv),
            mv: mean(|r| r.mv),
            readings: together.len(),
        });
    }
    (groups, group_of)
}

/// The slope between two groups; none when temperatures so far apart that no slope is judged bring their x together.
fn segment(lower: &Group, upper: &Group) -> Option<Segment> {
    let line = straight_line(&[(lower.theoretical_mv, lower.mv), (upper.theoretical_mv, upper.mv)])?;
    Some(Segment { from_ph: lower.ph, to_ph: upper.ph, slope_percent: 100.0 * line.slope })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at_25(mv: f64, ph: f64) -> Point {
        Point { mv, temperature_c: 25.0, ph }
    }

    fn near(computed: Option<f64>, expected: f64) {
        assert!((computed.unwrap() - expected).abs() < 1e-9, "{computed:?} is not {expected}");
    }

    #[test]
    fn one_group_has_no_slope() {
        let fit = fit(&[at_25(8.0, 7.0), at_25(9.0, 6.865)]).unwrap();
        assert_eq!((fit.slope_percent, fit.offset_mv, fit.zero_point_ph), (None, None, None));
        assert_eq!((fit.residual_sd_mv, fit.correlation, fit.points[0].fitted_mv), (None, None, None));
        assert_eq!((fit.groups.len(), fit.segments.len(), fit.span_ph), (1, 0, 0.0));
    }

    #[test]
    fn no_readings_have_no_fit() {
        assert_eq!(fit(&[]), None);
    }

    #[test]
    fn a_reversed_probe_has_a_negative_slope_and_no_zero_point() {
        let fit = fit(&[at_25(0.0, 7.0), at_25(-170.0, 4.0)]).unwrap();
        assert!(fit.slope_percent.unwrap() < -95.0);
        assert_eq!(fit.zero_point_ph, None);
    }

    #[test]
    fn a_flat_probe_has_a_slope_of_zero_and_no_residual_in_ph() {
        let fit = fit(&[at_25(5.0, 7.0), at_25(5.0, 4.0), at_25(5.0, 10.0)]).unwrap();
        near(fit.slope_percent, 0.0);
        near(fit.offset_mv, 5.0);
        assert_eq!((fit.zero_point_ph, fit.correlation), (None, None));
        assert!(fit.points.iter().all(|p| p.residual_ph.is_none()));
    }

    #[test]
    fn zero_point_needs_a_fifth_of_the_slope() {
        let with =
            |percent: f64| fit(&[at_25(10.0, 7.0), at_25(10.0 + percent / 100.0 * 3.0 * slope_mv_per_ph(25.0), 4.0)]);
        assert_eq!(with(19.9).unwrap().zero_point_ph, None);
        near(with(50.0).unwrap().zero_point_ph, 7.0 + 10.0 / (0.5 * slope_mv_per_ph(25.0)));
    }

    #[test]
    fn groups_and_segments_stand_in_order_of_ph() {
        let fit = fit(&[at_25(-150.0, 10.0), at_25(2.0, 7.0), at_25(170.0, 4.0), at_25(4.0, 6.9)]).unwrap();
        let readings: Vec<usize> = fit.groups.iter().map(|g| g.readings).collect();
        assert_eq!(readings, [1, 2, 1]);
        let group_of: Vec<usize> = fit.points.iter().map(|p| p.group).collect();
        assert_eq!(group_of, [2, 1, 0, 1]);
        assert_eq!((fit.segments[0].from_ph, fit.segments[0].to_ph, fit.span_ph), (4.0, 6.95, 6.0));
        near(Some(fit.segments[0].slope_percent), 100.0 * (170.0 - 3.0) / (2.95 * slope_mv_per_ph(25.0)));
        near(Some(fit.segments[1].slope_percent), 100.0 * (3.0 + 150.0) / (3.05 * slope_mv_per_ph(25.0)));
    }

    #[test]
    fn half_a_ph_apart_is_two_groups() {
        assert_eq!(fit(&[at_25(0.0, 7.0), at_25(20.0, 6.5)]).unwrap().groups.len(), 2);
        assert_eq!(fit(&[at_25(0.0, 7.0), at_25(20.0, 6.51)]).unwrap().groups.len(), 1);
        assert_eq!(fit(&[at_25(0.0, 6.86), at_25(20.0, 6.36)]).unwrap().groups.len(), 2);
    }

    #[test]
    fn residual_in_ph_has_the_sign_of_the_shown_error() {
        let readings = [at_25(0.0, 7.0), at_25(177.0, 4.0), at_25(-170.0, 10.0)];
        let fit = fit(&readings).unwrap();
        for (point, reading) in fit.points.iter().zip(readings) {
            let slope = fit.slope_ratio.unwrap() * point.nernst_mv_per_ph;
            let ph_by_the_line = 7.0 - (reading.mv - fit.offset_mv.unwrap()) / slope;
            near(point.residual_ph, ph_by_the_line - reading.ph);
        }
    }

    #[test]
    fn a_wide_spread_of_temperature_is_flagged_not_hidden() {
        let spread = |degrees: f64| {
            let warm = Point { mv: 170.0, temperature_c: 15.1 + degrees, ph: 4.0 };
            fit(&[Point { mv: 0.0, temperature_c: 15.1, ph: 7.0 }, warm]).unwrap()
        };
        assert!(spread(10.0).slope_may_be_judged);
        assert!(!spread(10.1).slope_may_be_judged);
        assert!(spread(10.1).slope_percent.is_some());
    }

    #[test]
    fn the_offset_is_observed_only_near_ph_7() {
        assert!(fit(&[at_25(0.0, 7.413), at_25(1.0, 4.0)]).unwrap().observed_near_ph_7);
        assert!(!fit(&[at_25(0.0, 9.18), at_25(1.0, 4.0)]).unwrap().observed_near_ph_7);
    }
}
