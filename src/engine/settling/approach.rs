//! The exponential approach E(t) = E∞ + A·exp(−t/τ) fitted to the points of a trace.
//!
//! For every τ the best E∞ and A follow from linear least squares (variable projection), so that one unknown is searched:
//! ln τ, first on a coarse grid, then by Gauss–Newton steps that are halved until the fit gets better.

/// Shortest τ tried, as part of the duration of the trace.
///
/// Source: our own choice: whatever is faster is over before the second point.
const SHORTEST: f64 = 1.0 / 200.0;

/// Longest τ tried, as multiple of the duration of the trace: over it the approach cannot be told from a straight line.
///
/// Source: our own choice.
const LONGEST: f64 = 20.0;

/// Steps of ln τ on the coarse grid.
///
/// Source: our own choice: neighbours differ by a factor of 2, less than the width of the minimum.
const GRID: u32 = 12;

/// Gauss–Newton steps at most, each halved at most as often.
///
/// Source: our own choice; four or five reach the last digit.
const STEPS: u32 = 12;

/// An exponential approach with how well it fits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Approach {
    /// E∞, mV.
    pub final_mv: f64,
    /// A·exp(−t/τ) at the first point, mV: what was still missing there, with its sign.
    pub first_mv: f64,
    /// τ, s.
    pub tau_s: f64,
    /// Time of the first point, s.
    pub from_s: f64,
    /// √(Σ residual²/(n − 3)), mV.
    pub residual_sd_mv: f64,
    /// Standard uncertainty of E∞ for residuals of 1 mV: multiplied by their standard deviation, mV.
    pub final_factor: f64,
    /// Σ(difference of neighbouring residuals)²/Σ residual²: about 2 for residuals without order, near 0 where the
    /// points run along beside the curve. `None` when all residuals are 0.
    pub neighbours: Option<f64>,
}

impl Approach {
    /// What is missing to E∞ at a time in s, mV.
    pub fn missing_mv(&self, at_s: f64) -> f64 {
        self.first_mv * (-(at_s - self.from_s) / self.tau_s).exp()
    }

    /// dE/dt in mV/s at a time in s.
    pub fn rate_mv_per_s(&self, at_s: f64) -> f64 {
        -self.missing_mv(at_s) / self.tau_s
    }

    /// Time in s at which no more than `within_mv` is missing; before the first point where less was missing there.
    pub fn time_to_s(&self, within_mv: f64) -> f64 {
        self.from_s + self.tau_s * (self.first_mv.abs() / within_mv).ln()
    }
}

/// Fits points (s, mV) in the order of their times. `None` below four points, when all times or all potentials are equal,
/// or when numbers are too large to compute with.
pub fn approach(points: &[(f64, f64)]) -> Option<Approach> {
    let (first, last) = (points.first()?, points.last()?);
    let duration = last.0 - first.0;
    let low = points.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
    let span = points.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max) - low;
    let fits = |value: f64| value > 0.0 && value.is_normal();
    if points.len() < 4 || !fits(duration) || !fits(span) {
        return None;
    }
    // Both axes from 0 to 1, so that neither size nor sign of the potentials touches the search.
    let unit: Vec<(f64, f64)> = points.iter().map(|p| ((p.0 - first.0) / duration, (p.1 - low) / span)).collect();
    let ratio = (LONGEST / SHORTEST).powf(1.0 / f64::from(GRID));
    let grid = (0..=GRID).map(|step| Projected::at(&unit, (SHORTEST * ratio.powi(step as i32)).ln()));
    let start = grid.min_by(|a, b| a.sum_of_squares.total_cmp(&b.sum_of_squares))?;
    let best = improved(&unit, start);
    if !(best.sum_of_squares.is_finite() && best.level.is_finite() && best.first.is_finite()) {
        return None;
    }
    let residuals: Vec<f64> = unit.iter().map(|p| best.residual(*p)).collect();
    let squares: f64 = residuals.iter().map(|r| r * r).sum();
    let differences: f64 = residuals.windows(2).map(|pair| (pair[1] - pair[0]).powi(2)).sum();
    Some(Approach {
        final_mv: low + span * best.level,
        first_mv: span * best.first,
        tau_s: duration * best.ln_tau.exp(),
        from_s: first.0,
        residual_sd_mv: span * (squares / (points.len() - 3) as f64).sqrt(),
        final_factor: final_factor(&unit, &best),
        neighbours: (squares > 0.0).then(|| differences / squares),
    })
}

/// Level and amplitude that are best for one τ.
#[derive(Debug, Clone, Copy)]
struct Projected {
    ln_tau: f64,
    level: f64,
    first: f64,
    sum_of_squares: f64,
}

impl Projected {
    fn at(points: &[(f64, f64)], ln_tau: f64) -> Projected {
        let rate = (-ln_tau).exp();
        let n = points.len() as f64;
        let decay = |s: f64| (-s * rate).exp();
        let (sum_d, sum_y) = points.iter().fold((0.0, 0.0), |(d, y), p| (d + decay(p.0), y + p.1));
        let (mean_d, mean_y) = (sum_d / n, sum_y / n);
        let (sdd, sdy, syy) = points.iter().fold((0.0, 0.0, 0.0), |(dd, dy, yy), p| {
            let (d, y) = (decay(p.0) - mean_d, p.1 - mean_y);
            (dd + d * d, dy + d * y, yy + y * y)
        });
        let first = sdy / sdd;
        Projected { ln_tau, level: mean_y - first * mean_d, first, sum_of_squares: (syy - first * sdy).max(0.0) }
    }

    fn decay(&self, s: f64) -> f64 {
        (-s * (-self.ln_tau).exp()).exp()
    }

    /// d decay/d ln τ.
    fn turn(&self, s: f64) -> f64 {
        s * (-self.ln_tau).exp() * self.decay(s)
    }

    fn residual(&self, (s, y): (f64, f64)) -> f64 {
        y - self.level - self.first * self.decay(s)
    }
}

/// Gauss–Newton over ln τ from the best of the grid, within the bounds of the grid.
fn improved(points: &[(f64, f64)], start: Projected) -> Projected {
    let mut best = start;
    for _ in 0..STEPS {
        let columns = |s: f64| [1.0, best.decay(s)];
        let free = without(points, |s| best.first * best.turn(s), columns);
        let (top, bottom) =
            points.iter().zip(&free).fold((0.0, 0.0), |(t, b), (p, f)| (t + best.residual(*p) * f, b + f * f));
        let mut step = (top / bottom).clamp(-1.0, 1.0);
        if !step.is_finite() || step == 0.0 {
            break;
        }
        let tried = (0..STEPS).find_map(|_| {
            let ln_tau = (best.ln_tau + step).clamp(SHORTEST.ln(), LONGEST.ln());
            let next = Projected::at(points, ln_tau);
            step /= 2.0;
            (next.sum_of_squares < best.sum_of_squares).then_some(next)
        });
        let Some(next) = tried else { break };
        let moved = (next.ln_tau - best.ln_tau).abs();
        best = next;
        if moved < 1e-12 {
            break;
        }
    }
    best
}

/// What of a column over the times is left when two others are taken out by least squares.
fn without(points: &[(f64, f64)], column: impl Fn(f64) -> f64, out: impl Fn(f64) -> [f64; 2]) -> Vec<f64> {
    let sum = |term: &dyn Fn(f64) -> f64| points.iter().map(|p| term(p.0)).sum::<f64>();
    let aa = sum(&|s| out(s)[0] * out(s)[0]);
    let ab = sum(&|s| out(s)[0] * out(s)[1]);
    let bb = sum(&|s| out(s)[1] * out(s)[1]);
    let ac = sum(&|s| out(s)[0] * column(s));
    let bc = sum(&|s| out(s)[1] * column(s));
    let determinant = aa * bb - ab * ab;
    let (a, b) = ((bb * ac - ab * bc) / determinant, (aa * bc - ab * ac) / determinant);
    points.iter().map(|p| column(p.0) - a * out(p.0)[0] - b * out(p.0)[1]).collect()
}

/// Standard uncertainty of the level for residuals of standard deviation 1: the level's column without the other two.
fn final_factor(points: &[(f64, f64)], best: &Projected) -> f64 {
    let free = without(points, |_| 1.0, |s| [best.decay(s), best.turn(s)]);
    1.0 / free.iter().map(|f| f * f).sum::<f64>().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn made(times: &[f64], level: f64, a: f64, tau: f64) -> Vec<(f64, f64)> {
        times.iter().map(|&t| (t, level + a * (-t / tau).exp())).collect()
    }

    #[test]
    fn a_made_up_approach_is_recovered() {
        for tau in [3.0, 11.0, 40.0] {
            for (level, a) in [(168.4, -120.0), (-177.0, 64.0), (0.0, 1e-3), (1e5, -1e4)] {
                let points = made(&[5.0, 10.0, 15.0, 20.0, 30.0, 45.0, 60.0, 90.0], level, a, tau);
                let fit = approach(&points).unwrap();
                assert!((fit.tau_s / tau - 1.0).abs() < 1e-6, "{fit:?}");
                assert!((fit.final_mv - level).abs() < 1e-7 * a.abs(), "{fit:?}");
                assert!((fit.missing_mv(0.0) / a - 1.0).abs() < 1e-5, "{fit:?}");
            }
        }
    }

    #[test]
    fn three_points_and_level_ones_have_no_approach() {
        assert_eq!(approach(&made(&[5.0, 10.0, 20.0], 0.0, 9.0, 8.0)), None);
        assert_eq!(approach(&[(5.0, 1.0), (6.0, 1.0), (7.0, 1.0), (8.0, 1.0)]), None);
        assert_eq!(approach(&[(5.0, 1.0), (5.0, 2.0), (5.0, 3.0), (5.0, 4.0)]), None);
        assert_eq!(approach(&[(0.0, -1e308), (1.0, 1e308), (2.0, 0.0), (3.0, 1.0)]), None);
    }
}
