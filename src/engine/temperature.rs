//! The temperature check.
//!
//! Comes in: what the analyser shows and what the reference thermometer shows, in °C, or a resistance in Ω. Goes out:
//! the error in °C and what it costs in pH. Next: [`crate::record`].

use crate::engine::fit::ISOPOTENTIAL_PH;
use crate::reference::ZERO_CELSIUS_K;
use crate::reference::platinum::{PlatinumElement, ResistanceOutOfRange};

/// Error of the shown temperature in °C: shown minus reference.
pub fn error_c(shown_c: f64, reference_c: f64) -> f64 {
    shown_c - reference_c
}

/// Error of an element in °C: the temperature that its resistance in Ω means minus the reference in °C.
///
/// # Errors
/// [`ResistanceOutOfRange`] when no temperature from −200 °C to 850 °C gives the resistance.
pub fn element_error_c(
    element: PlatinumElement,
    resistance_ohm: f64,
    reference_c: f64,
) -> Result<f64, ResistanceOutOfRange> {
    Ok(error_c(element.temperature_c(resistance_ohm)?, reference_c))
}

/// What a temperature error costs: error of the shown pH of an analyser that compensates with a temperature
/// `error_c` above the true `temperature_c` (both °C), in a solution of that pH: (7 − pH)·δ/(T + δ), T in K.
///
/// ```
/// let cost = halfcell::engine::temperature::cost_ph(4.0, 1.0, 25.0);
/// assert!((cost - 0.010).abs() < 0.0005);
/// ```
pub fn cost_ph(ph: f64, error_c: f64, temperature_c: f64) -> f64 {
    (ISOPOTENTIAL_PH - ph) * error_c / (temperature_c + ZERO_CELSIUS_K + error_c)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reference::slope_mv_per_ph;

    #[test]
    fn cost_is_what_a_compensating_analyser_shows_wrong() {
        for (ph, delta, t) in [(4.0, 1.0, 25.0), (10.0, -2.5, 12.0), (7.0, 5.0, 60.0)] {
            let mv = slope_mv_per_ph(t) * (7.0 - ph);
            let shown = 7.0 - mv / slope_mv_per_ph(t + delta);
            assert!((cost_ph(ph, delta, t) - (shown - ph)).abs() < 1e-12);
        }
    }

    #[test]
    fn an_element_tells_its_error() {
        // Source: IEC 60751 table: Pt1000 at 20 °C is 1077.94 Ω.
        let error = element_error_c(PlatinumElement::Pt1000, 1077.935, 19.5).unwrap();
        assert!((error - 0.5).abs() < 1e-6);
        assert!(element_error_c(PlatinumElement::Pt100, 1077.935, 19.5).is_err());
    }
}
