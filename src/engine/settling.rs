//! How a probe settled, from a trace of its potential.
//!
//! Comes in: points of time in s since the change of standard and potential in mV, and the width in mV that counts as
//! settled (0.01 pH for a pH probe, see [`within_0_01_ph`]; [`WITHIN_REDOX_MV`] for a redox probe). Goes out: final value,
//! times, drift and scatter, `None` where the trace does not tell them, and then why. Next: [`crate::record`].
//!
//! 1. An exponential approach is fitted to all points, then, for a fast begin with a slow end, to the later ones
//!    (at least half). It holds where the points lie on it, where it covers three time constants and where it tells the final
//!    value to the width asked for.
//! 2. Else the end may be level: the final value is its mean, the time is read off the points.
//! 3. Else nothing is told: no figure is better than a wrong one.
//!
//! A slow tail that is small beside the scatter cannot be seen: of traces with a fast and a slow part, read to 0.1 mV with as
//! much scatter, about one final value told in thirteen is off by more than 0.01 pH, one in forty by more than 0.02 pH.

mod approach;

use super::Typed;
use super::fit::ZERO_POINT_FROM_PERCENT;
use super::line::{Line, straight_line};
use approach::{Approach, approach};

/// A redox reading is settled within this much of its final value, mV.
///
/// Source: our own choice: the last digit of most displays; a redox loop has no 0.01 pH.
pub const WITHIN_REDOX_MV: f64 = 1.0;

/// A pH reading is settled within this much of its final value, pH.
///
/// Source: the calculation rules of this project, the settling term 0.01 pH of the error of a shown value.
pub const WITHIN_PH: f64 = 0.01;

/// A level end lasts at least this long, s; a level trace that begins later does not tell when the probe settled.
///
/// Source: common practice, no source: a reading that stands for 30 s is taken.
pub const LEVEL_FOR_S: f64 = 30.0;

/// Fewest points that can contradict a curve of three unknowns.
///
/// Source: our own choice.
const FEWEST_POINTS: usize = 4;

/// An approach is believed where the points cover this many of its time constants (then 95 % of the way was seen).
///
/// Source: our own choice; a tail that falls like 1/t never covers more than two, wherever it is cut.
const COVERED_TAU: f64 = 3.0;

/// Residuals up to this part of the width are no matter: with fewer points than [`ORDER_FROM_POINTS`], with as many.
///
/// Source: our own choice: a bend as small moves the final value by less than the width.
const SMALL_RESIDUAL: [f64; 2] = [0.15, 0.1];

/// Nor are residuals that rounding to the last digit makes: 1/√12 of its step, and a fifth more for chance.
///
/// Source: our own choice for the fifth; 1/√12 from GUM (JCGM 100:2008), 4.3.7.
const ROUNDING: f64 = 0.35;

/// From this many points on, the order of residuals tells scatter from a bend.
///
/// Source: our own choice.
const ORDER_FROM_POINTS: usize = 8;

/// Larger residuals are scatter, not a bend, when neighbours differ as by chance: 2 or more is expected, below this is order.
///
/// Source: our own choice for the bound; the ratio is von Neumann's (1941), from memory.
const WITHOUT_ORDER: f64 = 1.5;

/// Part of the step that must lie in the trace for the time to 90 % of it to be told.
///
/// Source: our own choice: the rest is inferred from the curve before the first point.
const STEP_SEEN: f64 = 1.0 / 3.0;

/// Part of the width that a level end, or what a curve leaves over its later half, may drift by in [`STILL_FOR_S`] or over
/// its length, no more than which the standard error of that drift may be; and that a level end may scatter about.
///
/// Source: our own choice: a slow tail beneath a fast approach shows there.
const LEVEL_PART: f64 = 0.5;

/// What stands still is asked for its drift over so many seconds at least.
///
/// Source: our own choice: a slow junction moves on for a minute and more.
const STILL_FOR_S: f64 = 60.0;

/// Student's t for 95 % and 1, 2 … degrees of freedom; the last for more.
///
/// Source: GUM (JCGM 100:2008), table G.2, column 95 %: 12.71, 4.30, 3.18, 2.78, 2.57, 2.45, 2.36, 2.31.
const STUDENT_95: [f64; 8] = [12.71, 4.30, 3.18, 2.78, 2.57, 2.45, 2.36, 2.31];

/// How a probe settled.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Settling {
    /// Potential it comes to, mV.
    pub final_mv: Option<f64>,
    /// Time to 90 % of the step, s since the change of standard; only where a third of the step lies in the trace.
    pub time_to_90_s: Option<f64>,
    /// Time from which on it stays within the width of the final value, s since the change of standard. A trace that is
    /// level from a first point within [`LEVEL_FOR_S`]: the time of that point, at the latest.
    pub time_to_within_s: Option<f64>,
    /// Slope at the last point, mV per minute: of the curve, else of the line through the last points.
    pub drift_mv_per_min: Option<f64>,
    /// Scatter about the curve, else about the line through the last points, mV (standard deviation).
    pub noise_mv: Option<f64>,
    /// Still on its way by more than the width at this time, s: it settles later.
    pub longer_than_s: Option<f64>,
    /// Why the time, and mostly the final value as well, is not told.
    pub untold: Option<Untold>,
}

/// Why a trace does not tell when a probe settled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Untold {
    /// Fewer than four points.
    TooFewPoints,
    /// Level, but for less than [`LEVEL_FOR_S`].
    TooShort,
    /// Level from its first point on, which came later than [`LEVEL_FOR_S`].
    BegunLate,
    /// On its way when the trace ends.
    StillChanging,
    /// Scatters more than the width asked for.
    Noisy,
    /// Neither an approach nor a level end.
    NoApproach,
}

impl Untold {
    /// As in the record.
    pub fn code(self) -> &'static str {
        match self {
            Untold::TooFewPoints => "too-few-points",
            Untold::TooShort => "too-short",
            Untold::BegunLate => "begun-late",
            Untold::StillChanging => "still-changing",
            Untold::Noisy => "noisy",
            Untold::NoApproach => "no-approach",
        }
    }
}

/// What 0.01 pH is in mV for a probe with this slope in percent, at a theoretical slope in mV per pH, and whether the
/// theoretical slope was taken: where the slope is not known, or so low that a pH says nothing.
pub fn within_0_01_ph(slope_percent: Option<f64>, nernst_mv_per_ph: f64) -> (f64, bool) {
    let known = slope_percent.filter(|slope| *slope >= ZERO_POINT_FROM_PERCENT);
    (WITHIN_PH * known.unwrap_or(100.0) / 100.0 * nernst_mv_per_ph, known.is_none())
}

/// How a probe settled to within `within_mv`, from points (s, mV) in any order, read in steps of `step_mv`.
///
/// ```
/// use halfcell::engine::settling::settling;
/// let trace: Vec<(f64, f64)> = (1..=12).map(|i| f64::from(5 * i)).map(|t| (t, 168.4 - 60.0 * (-t / 10.0).exp())).collect();
/// let settled = settling(&trace, 0.59, 0.1);
/// assert!((settled.final_mv.unwrap() - 168.4).abs() < 1e-6);
/// assert!((settled.time_to_90_s.unwrap() - 10.0 * 10f64.ln()).abs() < 1e-4);
/// ```
pub fn settling(trace: &[(f64, f64)], within_mv: f64, step_mv: f64) -> Settling {
    let mut points = trace.to_vec();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let end = End::of(&points);
    let drift_mv_per_min = end.line.map(|line| 60.0 * line.slope).filter(|drift| drift.is_finite());
    let noise_mv = end.scatter_mv().filter(|scatter| scatter.is_finite());
    let by_end = Settling { drift_mv_per_min, noise_mv, ..Settling::default() };
    if points.len() < FEWEST_POINTS {
        return Settling { untold: Some(Untold::TooFewPoints), ..by_end };
    }
    let first_fit = approach(&points);
    by_curve(&points, first_fit, within_mv, step_mv)
        .or_else(|| by_level_end(&points, &end, within_mv, by_end))
        .unwrap_or_else(|| told_why_not(&points, &end, first_fit, (within_mv, step_mv), by_end))
}

/// Figures of the exponential approach over the most points that it holds for.
fn by_curve(points: &[(f64, f64)], first_fit: Option<Approach>, within_mv: f64, step_mv: f64) -> Option<Settling> {
    let least = FEWEST_POINTS.max(points.len().div_ceil(2));
    let last_s = points[points.len() - 1].0;
    let too_slow = first_fit.filter(|fit| lies_on(fit, points, within_mv, step_mv) && !covers(fit, points));
    if too_slow.is_some() {
        return None;
    }
    let mut starts: Vec<usize> = (0..=4).map(|eighths| points.len() * eighths / 8).collect();
    starts.dedup();
    for start in starts.into_iter().filter(|start| points.len() - start >= least) {
        let tail = &points[start..];
        let fit = if start == 0 { first_fit } else { approach(tail) };
        let Some(fit) = fit.filter(|fit| holds(fit, tail, within_mv, step_mv)) else {
            continue;
        };
        let seen = fit.first_mv / fit.missing_mv(0.0);
        let from_the_step = start == 0 && fit.from_s >= 0.0 && seen >= STEP_SEEN;
        return Some(Settling {
            final_mv: Some(fit.final_mv),
            time_to_90_s: from_the_step.then_some(fit.tau_s * std::f64::consts::LN_10),
            time_to_within_s: Some(fit.time_to_s(within_mv)),
            drift_mv_per_min: Some(60.0 * fit.rate_mv_per_s(last_s)),
            noise_mv: Some(fit.residual_sd_mv),
            ..Settling::default()
        });
    }
    None
}

/// Whether a fitted approach may be believed to the width asked for.
fn holds(fit: &Approach, points: &[(f64, f64)], within_mv: f64, step_mv: f64) -> bool {
    let lies_on_it = lies_on(fit, points, within_mv, step_mv);
    let freedom = (points.len() - FEWEST_POINTS).min(STUDENT_95.len() - 1);
    let scatter = (STUDENT_95[freedom] * fit.residual_sd_mv).max(2.0 * step_mv / 12f64.sqrt());
    // With the second point at the final value any faster approach fits as well.
    let moved = fit.first_mv.abs() > within_mv && fit.missing_mv(points[1].0).abs() >= LEVEL_PART * within_mv;
    lies_on_it
        && covers(fit, points)
        && moved
        && leaves_no_tail(fit, points, within_mv)
        && fit.final_factor * scatter <= within_mv
}

/// Whether what the curve leaves over its later half stands still.
fn leaves_no_tail(fit: &Approach, points: &[(f64, f64)], within_mv: f64) -> bool {
    let later = &points[(points.len() / 2).min(points.len() - 3)..];
    let left: Vec<(f64, f64)> = later.iter().map(|p| (p.0, p.1 - fit.final_mv - fit.missing_mv(p.0))).collect();
    straight_line(&left).is_some_and(|line| stands_still(&line, later[later.len() - 1].0 - later[0].0, within_mv))
}

/// Whether a line through so many seconds drifts by no part of the width that matters, and tells that.
fn stands_still(line: &Line, lasts_s: f64, within_mv: f64) -> bool {
    let error = line.scatter.map_or(0.0, |scatter| scatter.slope_error);
    line.slope.abs().max(error) * lasts_s.max(STILL_FOR_S) <= LEVEL_PART * within_mv
}

/// Whether the points cover enough of the approach.
fn covers(fit: &Approach, points: &[(f64, f64)]) -> bool {
    points[points.len() - 1].0 - points[0].0 >= COVERED_TAU * fit.tau_s
}

/// Whether the points lie on the curve: near it, or about it without order.
fn lies_on(fit: &Approach, points: &[(f64, f64)], within_mv: f64, step_mv: f64) -> bool {
    let many = points.len() >= ORDER_FROM_POINTS;
    let small = (SMALL_RESIDUAL[usize::from(many)] * within_mv).max(ROUNDING * step_mv);
    let without_order = many && fit.neighbours.is_none_or(|neighbours| neighbours >= WITHOUT_ORDER);
    fit.residual_sd_mv <= small || without_order
}

/// The last points of a trace and the line through them.
struct End {
    /// Time from the first to the last of them, s.
    lasts_s: f64,
    line: Option<Line>,
}

impl End {
    /// The last third, at least [`LEVEL_FOR_S`] and three points.
    fn of(points: &[(f64, f64)]) -> End {
        let (Some(first), Some(last)) = (points.first(), points.last()) else {
            return End { lasts_s: 0.0, line: None };
        };
        let from_s = last.0 - LEVEL_FOR_S.max((last.0 - first.0) / 3.0);
        let by_time = points.iter().position(|p| p.0 >= from_s).unwrap_or(0);
        let end = &points[by_time.min(points.len().saturating_sub(3))..];
        let line = straight_line(end).filter(|line| line.slope.is_finite() && line.mean_y.is_finite());
        End { lasts_s: last.0 - end[0].0, line }
    }

    fn scatter_mv(&self) -> Option<f64> {
        self.line?.scatter.map(|scatter| scatter.residual_sd)
    }

    /// Whether the line rises or falls by more than chance and the last digits make it.
    fn moves(&self, within_mv: f64) -> bool {
        let change = self.line.map_or(0.0, |line| line.slope.abs());
        let error = self.line.and_then(|line| line.scatter).map_or(0.0, |scatter| scatter.slope_error);
        change > 2.0 * error && change * self.lasts_s > LEVEL_PART * within_mv
    }
}

/// Final value as the mean of a level end; the time read off the points.
fn by_level_end(points: &[(f64, f64)], end: &End, within_mv: f64, by_end: Settling) -> Option<Settling> {
    let line = end.line?;
    let level = stands_still(&line, end.lasts_s, within_mv)
        && end.scatter_mv().is_some_and(|scatter| scatter <= LEVEL_PART * within_mv);
    if !level || end.lasts_s < LEVEL_FOR_S {
        return None;
    }
    let settled = Settling { final_mv: Some(line.mean_y), ..by_end };
    let off = |p: &(f64, f64)| (p.1 - line.mean_y).abs() - within_mv;
    Some(match points.iter().rposition(|p| off(p) > 0.0) {
        None if points[0].0 > LEVEL_FOR_S => Settling { untold: Some(Untold::BegunLate), ..settled },
        None => Settling { time_to_within_s: Some(points[0].0), ..settled },
        Some(last) => {
            let (before, after) = (points[last], points.get(last + 1)?);
            // Towards the level the way from one point to the next is taken as straight.
            let level_at = line.mean_y + within_mv.copysign(before.1 - line.mean_y);
            let part = (before.1 - level_at) / (before.1 - after.1);
            Settling { time_to_within_s: Some(before.0 + part * (after.0 - before.0)), ..settled }
        }
    })
}

/// Drift and scatter of a trace that tells no more, and why.
fn told_why_not(
    points: &[(f64, f64)],
    end: &End,
    first_fit: Option<Approach>,
    (within_mv, step_mv): (f64, f64),
    by_end: Settling,
) -> Settling {
    let (first_s, last_s) = (points[0].0, points[points.len() - 1].0);
    let curve = first_fit.filter(|fit| lies_on(fit, points, within_mv, step_mv));
    let rate = curve.map(|fit| fit.rate_mv_per_s(last_s)).or(end.line.map(|line| line.slope));
    if end.moves(within_mv) {
        // A curve not covered yet misses at least a third of the duration at the present rate; over 30 s it counts as moving.
        let ahead_s = LEVEL_FOR_S.min((last_s - first_s) / COVERED_TAU);
        let on_its_way = rate.is_some_and(|rate| rate.abs() * ahead_s > within_mv);
        return Settling {
            drift_mv_per_min: rate.map(|rate| 60.0 * rate).filter(|drift| drift.is_finite()),
            longer_than_s: on_its_way.then_some(last_s),
            untold: Some(Untold::StillChanging),
            ..by_end
        };
    }
    let noisy = end.scatter_mv().is_some_and(|scatter| scatter > LEVEL_PART * within_mv);
    let untold = match (noisy, last_s - first_s < LEVEL_FOR_S) {
        (true, _) => Untold::Noisy,
        (false, true) => Untold::TooShort,
        (false, false) => Untold::NoApproach,
    };
    Settling { untold: Some(untold), ..by_end }
}

/// When and what was read.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Taken {
    /// Potential read, mV; without it the trace's at that time.
    pub mv: Option<Typed>,
    /// Waiting time, s; without it the time of the last point.
    pub after_s: Option<f64>,
}

/// Whether a reading was taken when the probe had settled: within the width, plus half the step of its last digit, of the
/// final value. `None` where the trace does not tell.
pub fn was_settled(trace: &[(f64, f64)], settled: &Settling, taken: Taken, within_mv: f64) -> Option<bool> {
    let last_s = trace.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
    let at_s = taken.after_s.unwrap_or(last_s);
    match (settled.final_mv, settled.longer_than_s) {
        (Some(final_mv), _) => {
            let read = taken.mv.or_else(|| Some(Typed { value: on_trace(trace, at_s)?, step: 0.0 }))?;
            Some((read.value - final_mv).abs() <= within_mv + read.step / 2.0 + super::BINARY_SLACK)
        }
        (None, Some(still_at_s)) => (at_s <= still_at_s).then_some(false),
        (None, None) => None,
    }
}

/// Potential at a time within the trace, straight between its points.
fn on_trace(trace: &[(f64, f64)], at_s: f64) -> Option<f64> {
    let before = trace.iter().filter(|p| p.0 <= at_s).max_by(|a, b| a.0.total_cmp(&b.0))?;
    let after = trace.iter().filter(|p| p.0 >= at_s).min_by(|a, b| a.0.total_cmp(&b.0))?;
    let part = if after.0 > before.0 { (at_s - before.0) / (after.0 - before.0) } else { 0.0 };
    Some(before.1 + part * (after.1 - before.1))
}

#[cfg(test)]
mod tests;
