//! Measurement uncertainty by the GUM's law of propagation.
//!
//! Comes in: readings with what is known of their instruments and standards. Goes out: standard and expanded uncertainty of
//! slope, offset and zero point with the budget they rest on, of a difference between two states, and of single errors.
//! Next: [`crate::record`].
//!
//! Source: JCGM 100:2008 (GUM), 5.1 (propagation), G.4.1 (effective degrees of freedom, not truncated), G.3 (Student's t).
//!
//! The line through the buffers, and differences of two: [`of_line`], [`difference`]. One shown value, one temperature, one
//! current: [`error_of_shown`], [`error_of_temperature`], [`error_of_output`].

mod single;
mod slope;

pub use single::{ErrorOfShown, error_of_output, error_of_redox, error_of_shown, error_of_temperature, gain_percent};
pub use slope::{BudgetLine, Declared, Effect, FitUncertainty, Sighting, difference, of_line};

use crate::engine::student::{COVERAGE, two_sided};

/// An uncertainty as it is reported.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertainty {
    /// Standard uncertainty, in the unit of its quantity.
    pub standard: f64,
    /// Expanded uncertainty U = k·u.
    pub expanded: f64,
    /// Coverage factor k for a coverage probability of 95.45 %.
    pub coverage_factor: f64,
    /// Effective degrees of freedom, infinite where every input is known as well as can be.
    pub effective_dof: f64,
}

/// What one independent effect adds: its contribution c·u in the unit of the result, and its degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contribution {
    /// Sensitivity times standard uncertainty; the sign does not matter.
    pub value: f64,
    /// Degrees of freedom; infinite for an input taken from a certificate or assumed.
    pub dof: f64,
}

/// Combines independent effects: u² = Σ contribution², Welch–Satterthwaite, Student's t at 95.45 %.
///
/// ```
/// use halfcell::engine::uncertainty::{Contribution, combined};
/// let known = |value| Contribution { value, dof: f64::INFINITY };
/// let u = combined(&[known(0.3), known(0.4)]);
/// assert!((u.standard - 0.5).abs() < 1e-12 && (u.expanded - 1.0).abs() < 1e-12);
/// ```
pub fn combined(contributions: &[Contribution]) -> Uncertainty {
    let variance: f64 = contributions.iter().map(|c| c.value * c.value).sum();
    let finite = contributions.iter().filter(|c| c.dof.is_finite() && c.value != 0.0);
    let share: f64 = finite.map(|c| c.value.powi(4) / c.dof).sum();
    let effective_dof = if share > 0.0 { variance * variance / share } else { f64::INFINITY };
    let (standard, coverage_factor) = (variance.sqrt(), two_sided(COVERAGE, effective_dof));
    Uncertainty { standard, expanded: coverage_factor * standard, coverage_factor, effective_dof }
}

/// Standard uncertainty of a rectangular distribution of half-width `half`.
///
/// Source: JCGM 100:2008 (GUM), 4.3.7.
pub fn rectangular(half: f64) -> f64 {
    half / 3f64.sqrt()
}

/// Variance that rounding to a digit of this step leaves.
///
/// Source: JCGM 100:2008 (GUM), 4.3.7 and F.2.2.1: rectangular of half a step, step²/12.
pub fn resolution_variance(step: f64) -> f64 {
    step * step / 12.0
}

/// Standard uncertainty of a potential where no instrument is listed: ±0.5 mV, rectangular.
///
/// Source: common practice, no source; printed as assumed.
pub const ASSUMED_POTENTIAL_MV: f64 = 0.5;

/// Half-width of a temperature where no thermometer is listed: ±0.5 °C, rectangular.
///
/// Source: common practice, no source; printed as assumed.
pub const ASSUMED_TEMPERATURE_C: f64 = 0.5;

/// Expanded uncertainty (k = 2) of a reference buffer where its certificate gives none, pH.
///
/// Source: our own choice beside the ±0.005 pH of the NIST scale (NBS Special Publication 260-53, from memory); printed as
/// assumed.
pub const ASSUMED_REFERENCE_BUFFER_PH: f64 = 0.010;

/// Expanded uncertainty (k = 2) of a technical buffer or a bottle's table, pH.
///
/// Source: common practice, no source: ±0.02 pH on the bottle; printed as assumed.
pub const ASSUMED_TECHNICAL_BUFFER_PH: f64 = 0.020;

/// Expanded uncertainty (k = 2) of a redox solution where its certificate gives none, mV.
///
/// Source: common practice, no source: ±5 mV on the bottle; printed as assumed.
pub const ASSUMED_REDOX_MV: f64 = 5.0;

/// Expanded uncertainty (k = 2) of the conversion between two reference electrodes, mV.
///
/// Source: published tables differ by 2 mV to 4 mV by what they take for the liquid junction (Sawyer, Sobkowiak, Roberts
/// 1995 against Standard Methods 2580); our own choice.
pub const CONVERSION_MV: f64 = 3.0;

/// Half-width of what may be left of the approach when a shown value is taken, pH, rectangular.
///
/// Source: common practice, no source: a display that stands to 0.01 pH.
pub const SETTLED_WITHIN_PH: f64 = 0.01;

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: JCGM 100:2008 (GUM), H.1, table H.1 and H.1.6: u_c = 32 nm, ν_eff = 16 (16.7 before truncation).
    #[test]
    fn end_gauge_of_the_gum_is_met() {
        let u = |value, dof| Contribution { value, dof };
        let inputs = [
            u(25.0, 18.0),
            u(5.8, 24.0),
            u(3.9, 5.0),
            u(6.7, 8.0),
            u(50_000_623.0 * -0.1 * 1e-6 / 3f64.sqrt(), 50.0),
            u(50_000_623.0 * 11.5e-6 * 0.05 / 3f64.sqrt(), 2.0),
        ];
        let found = combined(&inputs);
        assert!((found.standard - 32.0).abs() < 0.5, "{}", found.standard);
        assert_eq!(found.effective_dof.floor(), 16.0);
        // Reproduced in closed form: 31.6639 nm and 16.7519.
        assert!((found.standard - 31.663_879_111).abs() < 1e-6 && (found.effective_dof - 16.751_856).abs() < 1e-5);
    }

    #[test]
    fn known_inputs_alone_have_two_as_factor() {
        let found = combined(&[Contribution { value: 3.0, dof: f64::INFINITY }, Contribution { value: 0.0, dof: 1.0 }]);
        assert_eq!((found.coverage_factor, found.effective_dof), (2.0, f64::INFINITY));
    }
}
