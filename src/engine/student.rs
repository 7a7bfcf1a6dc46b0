//! Student's t distribution, for coverage factors, prediction bands and probabilities of conformity.
//!
//! Comes in: degrees of freedom, positive and not necessarily whole, infinite for the normal distribution. Goes out: a
//! quantile or a probability. Next: [`super::uncertainty`], [`super::history`] and [`crate::limits`]' callers.

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// Coverage probability of every expanded uncertainty: that of ±2 standard deviations of a normal distribution, erf(√2).
///
/// Source: JCGM 100:2008 (GUM) 6.2.1 and G.1.3: k = 2 gives about 95 %; exactly 95.45 % as in Table G.1.
pub const COVERAGE: f64 = 0.954_499_736_103_641_6;

/// From so many degrees of freedom on the quantile is taken from its series in 1/ν, whose error is then below 1e-12;
/// the package's search is good to 1e-10 below.
///
/// Source: our own choice.
const MANY: f64 = 1e4;

/// The t that |T| exceeds with a probability of 1 − `p`: two-sided quantile at `p` (0 < p < 1). Exactly 2 at
/// [`COVERAGE`] and infinite degrees of freedom.
///
/// ```
/// use halfcell::engine::student::{COVERAGE, two_sided};
/// assert_eq!(two_sided(COVERAGE, f64::INFINITY), 2.0);
/// // Source: JCGM 100:2008, Table G.2: ν = 10, p = 95.45 %.
/// assert!((two_sided(COVERAGE, 10.0) - 2.28).abs() < 0.005);
/// ```
pub fn two_sided(p: f64, dof: f64) -> f64 {
    let upper = f64::midpoint(1.0, p);
    if dof < MANY
        && let Ok(student) = StudentsT::new(0.0, 1.0, dof)
    {
        return student.inverse_cdf(upper);
    }
    let z = if p == COVERAGE { 2.0 } else { Normal::standard().inverse_cdf(upper) };
    in_series(z, dof)
}

/// The quantile of t beside that of the normal distribution, z.
///
/// Source: Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 26.7.5, first three terms.
fn in_series(z: f64, dof: f64) -> f64 {
    z + (z.powi(3) + z) / (4.0 * dof) + (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / (96.0 * dof * dof)
}

/// Probability that T is at most `t`; above a million degrees of freedom that of the normal distribution, nearer than 1e-6.
pub fn below(t: f64, dof: f64) -> f64 {
    match StudentsT::new(0.0, 1.0, dof) {
        Ok(student) if dof < 100.0 * MANY => student.cdf(t),
        Ok(_) | Err(_) => Normal::standard().cdf(t),
    }
}

/// Probability that a quantity lies within bounds, when its value was found with this standard uncertainty and degrees
/// of freedom; a side without a bound is open. With a standard uncertainty of 0 it is 1 or 0.
///
/// Source: JCGM 106:2012, clause 7 (conformance probability), with Student's t in place of the normal distribution.
pub fn within(value: f64, standard: f64, dof: f64, [low, high]: [Option<f64>; 2]) -> f64 {
    if standard <= 0.0 {
        return f64::from(low.is_none_or(|low| value >= low) && high.is_none_or(|high| value <= high));
    }
    let up_to = |bound: f64| below((bound - value) / standard, dof);
    (high.map_or(1.0, up_to) - low.map_or(0.0, up_to)).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: JCGM 100:2008 (GUM), Table G.2, columns 95 %, 95.45 % and 99 %.
    #[test]
    fn table_g_2_is_met() {
        let rows = [
            (1.0, 12.71, 13.97, 63.66),
            (2.0, 4.30, 4.53, 9.92),
            (3.0, 3.18, 3.31, 5.84),
            (4.0, 2.78, 2.87, 4.60),
            (5.0, 2.57, 2.65, 4.03),
            (6.0, 2.45, 2.52, 3.71),
            (8.0, 2.31, 2.37, 3.36),
            (10.0, 2.23, 2.28, 3.17),
            (16.0, 2.12, 2.17, 2.92),
            (20.0, 2.09, 2.13, 2.85),
            (50.0, 2.01, 2.05, 2.68),
            (100.0, 1.984, 2.025, 2.626),
            (f64::INFINITY, 1.960, 2.000, 2.576),
        ];
        for (dof, at_95, at_9545, at_99) in rows {
            let half = if dof < 100.0 { 0.005 } else { 0.0005 };
            for (p, published) in [(0.95, at_95), (COVERAGE, at_9545), (0.99, at_99)] {
                let t = two_sided(p, dof);
                assert!((t - published).abs() <= half + 1e-9, "ν = {dof}, p = {p}: {t} is not {published}");
            }
        }
    }

    /// Source: scipy 1.17, stats.t.ppf and stats.t.cdf.
    #[test]
    fn quantiles_and_probabilities_meet_scipy() {
        let rows = [
            (4.7, 2.702_317_425_045, 0.923_197_085_966),
            (16.75185, 2.160_782_768_813, 0.946_189_688_288),
            (145.4, 2.017_339_741_674, 0.954_365_468_424),
            (1e4, 2.000_250_030_628, 0.955_418_988_636),
            (1e5, 2.000_025_000_306, 0.955_432_982_376),
        ];
        for (dof, quantile, probability) in rows {
            assert!((two_sided(COVERAGE, dof) - quantile).abs() < 1e-9, "{dof}");
            assert!((below(1.7, dof) - probability).abs() < 1e-9, "{dof}");
        }
        assert!((below(-2.0, f64::INFINITY) - 0.022_750_131_948).abs() < 1e-11);
    }

    /// Source: formulas of JCGM 106:2012, clause 7; values worked out with scipy 1.17. The seventh has the numbers of JCGM
    /// 106:2012, clause 7.4.
    #[test]
    fn probabilities_of_conformity_are_met() {
        let cases = [
            (0.10, 0.02, [Some(-0.10), Some(0.10)], 0.500_000_000),
            (0.06, 0.02, [Some(-0.10), Some(0.10)], 0.977_249_868),
            (0.08, 0.02, [Some(-0.10), Some(0.10)], 0.841_344_746),
            (0.115, 0.02, [Some(-0.10), Some(0.10)], 0.226_627_352),
            (0.15, 0.02, [Some(-0.10), Some(0.10)], 0.006_209_665),
            (-0.031, 0.012, [Some(-0.05), Some(0.05)], 0.943_327_245),
            (13.6, 1.8, [Some(12.5), Some(16.3)], 0.662_629_786),
            (-47.0, 2.5, [Some(-50.0), Some(50.0)], 0.884_930_330),
            (91.2, 0.9, [Some(90.0), None], 0.908_788_780),
        ];
        for (value, u, bounds, published) in cases {
            let found = within(value, u, f64::INFINITY, bounds);
            assert!((found - published).abs() < 5e-10, "{value}: {found}");
            assert!((within(value + u / 100.0, u, f64::INFINITY, bounds) - published).abs() > 5e-10);
        }
        // Source: scipy 1.17, stats.t.cdf(−1.7, 4.7) = 1 − 0.923 197 085 966.
        assert!((within(91.7, 1.0, 4.7, [None, Some(90.0)]) - 0.076_802_914_034).abs() < 1e-9);
        assert_eq!((within(1.0, 0.0, 3.0, [Some(1.0), None]), within(1.0, 0.0, 3.0, [None, Some(0.9)])), (1.0, 0.0));
    }

    #[test]
    fn the_quantile_has_no_step_where_the_series_begins() {
        let (before, after) = (two_sided(COVERAGE, MANY - 1e-6), two_sided(COVERAGE, MANY + 1e-6));
        assert!((before - after).abs() < 1e-9);
    }
}
