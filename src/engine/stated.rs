//! Figures that somebody worked out from the readings: recomputed, never used.
//!
//! Comes in: the stated figure and the readings, each with the step of its last digit. Goes out: whether the two agree
//! within the rounding of what was typed. Next: [`crate::record`].
//!
//! The slack is half the step of the stated figure plus half the step of each reading's potential and temperature, times
//! its effect on the figure, all added to the bad side. A figure worked out from unrounded readings always agrees (to
//! first order); one that used nominal pH or 59.16 mV at another temperature does not.

use super::{Agreement, Typed, agreement};
use crate::engine::fit::{ISOPOTENTIAL_PH, Point, response};
use crate::engine::line::Line;
use crate::reference::{ZERO_CELSIUS_K, slope_mv_per_ph};

/// A reading with the steps of its typed digits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TypedPoint {
    /// The reading.
    pub point: Point,
    /// Step of the potential, mV.
    pub mv_step: f64,
    /// Step of the temperature, °C.
    pub temperature_step_c: f64,
    /// Change of the buffer's pH per °C at the reading's temperature.
    pub dph_dt: f64,
}

/// A stated slope in percent of theoretical beside that of the readings; `None` when their buffers lie in one
/// group.
///
/// ```
/// use halfcell::engine::{Typed, fit::Point, stated::{TypedPoint, slope_percent}};
/// let reading = |mv, ph| TypedPoint {
///     point: Point { mv, temperature_c: 25.0, ph },
///     mv_step: 0.1, temperature_step_c: 0.1, dph_dt: 0.0,
/// };
/// let stated = Typed { value: 96.0, step: 1.0 };
/// let agreement = slope_percent(stated, &[reading(8.3, 7.0), reading(168.4, 4.0)]).unwrap();
/// assert!((agreement.computed - 90.2).abs() < 0.05 && !agreement.agrees);
/// ```
pub fn slope_percent(stated: Typed, readings: &[TypedPoint]) -> Option<Agreement> {
    let line = line_of(readings)?;
    let slack = readings.iter().map(|r| moved_by_rounding(r, effect_on_slope(&line, r))).sum::<f64>();
    Some(agreement(stated, 100.0 * line.slope, 100.0 * slack))
}

/// A stated offset at pH 7 in mV beside that of the readings; `None` when their buffers lie in one
/// group.
pub fn offset_mv(stated: Typed, readings: &[TypedPoint]) -> Option<Agreement> {
    let line = line_of(readings)?;
    let slack = readings.iter().map(|r| moved_by_rounding(r, effect_on_offset(&line, r))).sum::<f64>();
    Some(agreement(stated, line.intercept, slack))
}

/// A stated difference of potential in mV, from one standard to another, beside that of the readings (mV) in each, their
/// mean where there are several. A difference stated without sign is its magnitude. `None` without readings in both.
pub fn difference_mv(stated: Typed, from_mv: &[Typed], to_mv: &[Typed]) -> Option<Agreement> {
    let mean = |readings: &[Typed], of: fn(&Typed) -> f64| {
        (!readings.is_empty()).then(|| readings.iter().map(of).sum::<f64>() / readings.len() as f64)
    };
    let signed = mean(to_mv, |r| r.value)? - mean(from_mv, |r| r.value)?;
    let computed = if stated.value >= 0.0 { signed.abs() } else { signed };
    let slack = (mean(to_mv, |r| r.step)? + mean(from_mv, |r| r.step)?) / 2.0;
    Some(agreement(stated, computed, slack))
}

/// How much a figure moves per mV of a reading's E, and per mV of its x = k(T)·(7 − pH).
struct Effect {
    of_mv: f64,
    of_theory: f64,
}

/// [`response`] of the readings without their steps.
fn line_of(readings: &[TypedPoint]) -> Option<Line> {
    let points: Vec<Point> = readings.iter().map(|r| r.point).collect();
    response(&points)
}

/// Derivatives of η = Sxy/Sxx.
fn effect_on_slope(line: &Line, reading: &TypedPoint) -> Effect {
    let dx = reading.point.theoretical_mv() - line.mean_x;
    let dy = reading.point.mv - line.mean_y;
    Effect { of_mv: dx / line.sum_of_squares_x, of_theory: (dy - 2.0 * line.slope * dx) / line.sum_of_squares_x }
}

/// Derivatives of E₇ = mean E − η·mean x.
fn effect_on_offset(line: &Line, reading: &TypedPoint) -> Effect {
    let on_slope = effect_on_slope(line, reading);
    let share = 1.0 / line.points as f64;
    Effect {
        of_mv: share - line.mean_x * on_slope.of_mv,
        of_theory: -line.slope * share - line.mean_x * on_slope.of_theory,
    }
}

/// How far half a step of the potential and half a step of the temperature can move a figure.
fn moved_by_rounding(reading: &TypedPoint, effect: Effect) -> f64 {
    let Point { temperature_c, ph, .. } = reading.point;
    let k = slope_mv_per_ph(temperature_c);
    let theory_per_degree = k / (temperature_c + ZERO_CELSIUS_K) * (ISOPOTENTIAL_PH - ph) - k * reading.dph_dt;
    (effect.of_mv.abs() * reading.mv_step + (effect.of_theory * theory_per_degree).abs() * reading.temperature_step_c)
        / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(value: f64, step: f64) -> Typed {
        Typed { value, step }
    }

    /// Readings at 20 °C in buffers that change with temperature; `push` moves E and T of each in units of half a step.
    fn readings(push: &[(f64, f64)]) -> Vec<TypedPoint> {
        let buffers = [(7.0, -0.003, 3.0), (4.0, 0.001, 165.0), (10.0, -0.009, -160.0)];
        let moved = |((ph, dph_dt, mv), (de, dt)): (&(f64, f64, f64), &(f64, f64))| TypedPoint {
            point: Point { mv: mv + 0.5 * de, temperature_c: 20.0 + 0.5 * dt, ph: ph + dph_dt * 0.5 * dt },
            mv_step: 1.0,
            temperature_step_c: 1.0,
            dph_dt: *dph_dt,
        };
        buffers.iter().zip(push).map(moved).collect()
    }

    #[test]
    fn slack_covers_every_corner_of_rounding_and_no_more() {
        let still = readings(&[(0.0, 0.0); 3]);
        for compare in [slope_percent, offset_mv] {
            let base = compare(typed(0.0, 0.0), &still).unwrap();
            let corner = |bits: u32| {
                let sign = |bit: u32| if bits >> bit & 1 == 1 { 1.0 } else { -1.0 };
                let push: Vec<(f64, f64)> = (0..3).map(|i| (sign(2 * i), sign(2 * i + 1))).collect();
                (compare(typed(0.0, 0.0), &readings(&push)).unwrap().computed - base.computed).abs()
            };
            let widest = (0..64).map(corner).fold(0.0, f64::max);
            assert!((widest / base.slack - 1.0).abs() < 0.02, "{widest} {}", base.slack);
        }
    }

    #[test]
    fn the_stated_figure_has_its_own_half_step() {
        let exact = readings(&[(0.0, 0.0); 3]);
        let slack = |step: f64| offset_mv(typed(3.0, step), &exact).unwrap().slack;
        assert!((slack(1.0) - slack(0.0) - 0.5).abs() < 1e-12);
    }

    #[test]
    fn a_wrong_difference_is_found() {
        let (in_7, in_4) = ([typed(8.3, 0.1)], [typed(168.4, 0.1)]);
        let stated = |mv: f64| difference_mv(typed(mv, 1.0), &in_7, &in_4).unwrap();
        assert!((stated(160.0).computed - 160.1).abs() < 1e-9);
        assert!(stated(160.0).agrees);
        assert!(!stated(161.0).agrees);
        assert!(!stated(150.0).agrees);
        assert!(!stated(-160.0).agrees);
    }

    #[test]
    fn an_unsigned_difference_is_a_magnitude() {
        let (in_7, in_10) = ([typed(8.0, 1.0), typed(10.0, 1.0)], [typed(-160.0, 1.0)]);
        assert!(difference_mv(typed(169.0, 1.0), &in_7, &in_10).unwrap().agrees);
        assert!(difference_mv(typed(-169.0, 1.0), &in_7, &in_10).unwrap().agrees);
        assert_eq!(difference_mv(typed(169.0, 1.0), &in_7, &[]), None);
    }

    #[test]
    fn one_buffer_has_nothing_to_compare() {
        let one = &readings(&[(0.0, 0.0); 3])[..1];
        assert_eq!(slope_percent(typed(96.0, 1.0), one), None);
        assert_eq!(offset_mv(typed(0.0, 1.0), one), None);
    }
}
