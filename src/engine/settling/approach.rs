//! The exponential approach E(t) = E∞ + A·exp(−t/τ) fitted to the points of a trace.
//!
//! For every τ the best E∞ and A follow from linear least squares (variable projection), so that one unknown is searched:
//! ln τ, first on a coarse grid, then by Gauss–Newton steps that are halved until the fit gets better.

/// Longest τ tried, as multiple of the duration of the trace: over it the approach cannot be told from a straight line.
///
/// Source: our own choice.
const LONGEST: f64 = 20.0;

/// Halvings of τ on the coarse grid: down to 1/205 of the duration, faster than any trace shows. The decays of half a τ are
/// the squares of those of τ.
///
/// Source: our own choice: neighbours differ by less than the width of the minimum.
const HALVINGS: i32 = 12;

/// Gauss–Newton steps at most, each halved at most as often.
///
/// Source: our own choice; four or five reach the last digit.
const STEPS: u32 = 8;

/// A step of ln τ this short is the last one.
///
/// Source: our own choice: the next one would be far shorter.
const LAST_STEP: f64 = 1e-6;

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
    let best = improved(&unit, best_of_grid(&unit));
    if !(best.sum_of_squares.is_finite() && best.level.is_finite() && best.first.is_finite()) {
        return None;
    }
    let decays = decays(&unit, best.ln_tau);
    let residuals: Vec<f64> = unit.iter().zip(&decays).map(|(p, d)| best.residual(p.1, *d)).collect();
    let squares: f64 = residuals.iter().map(|r| r * r).sum();
    let differences: f64 = residuals.windows(2).map(|pair| (pair[1] - pair[0]).powi(2)).sum();
    let turns = turns(&unit, &decays, best.ln_tau);
    let free = without(&vec![1.0; unit.len()], &decays, &turns);
    Some(Approach {
        final_mv: low + span * best.level,
        first_mv: span * best.first,
        tau_s: duration * best.ln_tau.exp(),
        from_s: first.0,
        residual_sd_mv: span * (squares / (points.len() - 3) as f64).sqrt(),
        final_factor: 1.0 / free.iter().map(|f| f * f).sum::<f64>().sqrt(),
        neighbours: (squares > 0.0).then(|| differences / squares),
    })
}

/// exp(−s/τ) at the times of the points.
fn decays(points: &[(f64, f64)], ln_tau: f64) -> Vec<f64> {
    let rate = (-ln_tau).exp();
    points.iter().map(|p| (-p.0 * rate).exp()).collect()
}

/// d exp(−s/τ)/d ln τ at the times of the points.
fn turns(points: &[(f64, f64)], decays: &[f64], ln_tau: f64) -> Vec<f64> {
    let rate = (-ln_tau).exp();
    points.iter().zip(decays).map(|(p, d)| p.0 * rate * d).collect()
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
    fn of(points: &[(f64, f64)], decays: &[f64], ln_tau: f64) -> Projected {
        let n = points.len() as f64;
        let mean_d = decays.iter().sum::<f64>() / n;
        let mean_y = points.iter().map(|p| p.1).sum::<f64>() / n;
        let (sdd, sdy, syy) = points.iter().zip(decays).fold((0.0, 0.0, 0.0), |(dd, dy, yy), (p, d)| {
            let (d, y) = (d - mean_d, p.1 - mean_y);
            (dd + d * d, dy + d * y, yy + y * y)
        });
        let first = sdy / sdd;
        Projected { ln_tau, level: mean_y - first * mean_d, first, sum_of_squares: (syy - first * sdy).max(0.0) }
    }

    fn residual(&self, y: f64, decay: f64) -> f64 {
        y - self.level - self.first * decay
    }
}

fn best_of_grid(points: &[(f64, f64)]) -> Projected {
    let mut decays = decays(points, LONGEST.ln());
    let mut best = Projected::of(points, &decays, LONGEST.ln());
    for halvings in 1..=HALVINGS {
        decays.iter_mut().for_each(|decay| *decay *= *decay);
        let next = Projected::of(points, &decays, (LONGEST / 2f64.powi(halvings)).ln());
        if next.sum_of_squares < best.sum_of_squares {
            best = next;
        }
    }
    best
}

/// Gauss–Newton over ln τ from the best of the grid, within its bounds.
fn improved(points: &[(f64, f64)], start: Projected) -> Projected {
    let (shortest, longest) = ((LONGEST / 2f64.powi(HALVINGS)).ln(), LONGEST.ln());
    let mut best = start;
    for _ in 0..STEPS {
        let decays_now = decays(points, best.ln_tau);
        let ones = vec![1.0; points.len()];
        let free = without(&turns(points, &decays_now, best.ln_tau), &ones, &decays_now);
        let (top, bottom) = points.iter().zip(&decays_now).zip(&free).fold((0.0, 0.0), |(top, bottom), ((p, d), f)| {
            (top + best.residual(p.1, *d) * best.first * f, bottom + (best.first * f).powi(2))
        });
        let step = (top / bottom).clamp(-1.0, 1.0);
        if !step.is_finite() {
            break;
        }
        let halvings = (0..STEPS as i32).map(|halvings| step / 2f64.powi(halvings));
        let tried = halvings.take_while(|tried| *tried == step || tried.abs() >= LAST_STEP);
        let better = tried.map(|step| (best.ln_tau + step).clamp(shortest, longest)).find_map(|ln_tau| {
            let next = Projected::of(points, &decays(points, ln_tau), ln_tau);
            (next.sum_of_squares < best.sum_of_squares).then_some(next)
        });
        let Some(next) = better else { break };
        best = next;
        if step.abs() < LAST_STEP {
            break;
        }
    }
    best
}

/// What of a column is left when two others are taken out by least squares.
fn without(column: &[f64], a: &[f64], b: &[f64]) -> Vec<f64> {
    let sum = |x: &[f64], y: &[f64]| x.iter().zip(y).map(|(x, y)| x * y).sum::<f64>();
    let (aa, ab, bb) = (sum(a, a), sum(a, b), sum(b, b));
    let (ac, bc) = (sum(a, column), sum(b, column));
    let determinant = aa * bb - ab * ab;
    let (of_a, of_b) = ((bb * ac - ab * bc) / determinant, (aa * bc - ab * ac) / determinant);
    column.iter().zip(a).zip(b).map(|((c, a), b)| c - of_a * a - of_b * b).collect()
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
