//! Student's t distribution.
//!
//! Comes in: a probability or a value of t with its degrees of freedom. Goes out: the other of the two. Next:
//! [`super::history`].

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// The value of t that is not exceeded with probability `p` (0 < p < 1) at `dof` degrees of freedom (positive, need not be
/// whole; infinite: the normal distribution). NaN outside.
///
/// ```
/// // Source: JCGM 100:2008 (GUM), Table G.2: 95 % lie within ±2.26 at 9 degrees of freedom.
/// assert!((halfcell::engine::student::quantile(0.975, 9.0) - 2.26).abs() < 0.005);
/// ```
pub fn quantile(p: f64, dof: f64) -> f64 {
    if !(p > 0.0 && p < 1.0) {
        return f64::NAN;
    }
    match dof.is_infinite() {
        true => Normal::standard().inverse_cdf(p),
        false => StudentsT::new(0.0, 1.0, dof).map_or(f64::NAN, |t| t.inverse_cdf(p)),
    }
}

/// The probability that a value of t is not exceeded at `dof` degrees of freedom.
pub fn cdf(t: f64, dof: f64) -> f64 {
    match dof.is_infinite() {
        true => Normal::standard().cdf(t),
        false => StudentsT::new(0.0, 1.0, dof).map_or(f64::NAN, |distribution| distribution.cdf(t)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: JCGM 100:2008 (GUM), Table G.2, columns 95 % and 95.45 %.
    const TABLE_G2: &[(f64, f64, f64)] = &[
        (1.0, 12.71, 13.97),
        (2.0, 4.30, 4.53),
        (3.0, 3.18, 3.31),
        (4.0, 2.78, 2.87),
        (5.0, 2.57, 2.65),
        (6.0, 2.45, 2.52),
        (7.0, 2.36, 2.43),
        (8.0, 2.31, 2.37),
        (9.0, 2.26, 2.32),
        (10.0, 2.23, 2.28),
        (20.0, 2.09, 2.13),
        (50.0, 2.01, 2.05),
        (f64::INFINITY, 1.960, 2.000),
    ];

    #[test]
    fn quantiles_are_those_of_the_gum() {
        for &(dof, at_95, at_95_45) in TABLE_G2 {
            for (p, printed) in [(0.95, at_95), (0.9545, at_95_45)] {
                let t = quantile((1.0 + p) / 2.0, dof);
                assert!((t - printed).abs() <= 0.005 + 1e-9, "{dof} at {p}: {t}, printed {printed}");
                assert!((quantile((1.0 + p) / 2.0, dof) - printed - 0.011).abs() > 0.005, "the check cannot fail");
            }
        }
    }

    #[test]
    fn quantile_and_probability_undo_each_other() {
        for dof in [1.0, 1.5, 2.0, 3.7, 9.0, 45.2, 1e4, f64::INFINITY] {
            for p in [0.001, 0.025, 0.3, 0.5, 0.7, 0.975, 0.999] {
                let t = quantile(p, dof);
                assert!((cdf(t, dof) - p).abs() < 1e-9, "{dof} {p}: {t} gives {}", cdf(t, dof));
            }
        }
        assert!(quantile(1.0, 3.0).is_nan() && quantile(0.9, -1.0).is_nan() && quantile(f64::NAN, 3.0).is_nan());
    }
}
