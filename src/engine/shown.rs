//! What an analyser should show, given the calibration it holds.
//!
//! Comes in: the slope and offset stored in the analyser, the potential and the temperature it works with. Goes out: the
//! pH it should show, and whether the shown one agrees within rounding. Next: [`crate::record`].

use super::{Agreement, Typed, agreement};
use crate::engine::fit::ISOPOTENTIAL_PH;
use crate::reference::{ZERO_CELSIUS_K, slope_mv_per_ph};

/// The analyser's own calibration, as typed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stored {
    /// Percentage theoretical slope.
    pub slope_percent: Typed,
    /// Offset at pH 7, mV.
    pub offset_mv: Typed,
}

/// What the analyser had to work with and what it showed, as typed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shown {
    /// Potential, mV.
    pub mv: Typed,
    /// Temperature the analyser compensates for, °C: measured, or set by hand.
    pub temperature_c: Typed,
    /// pH on the display.
    pub ph: Typed,
}

/// pH that an analyser with this slope ratio η and offset (mV) shows for a potential (mV) at a temperature (°C):
/// 7 − (E − E₇)/(η·k(T)). `None` for a slope of zero.
pub fn expected_ph(slope_ratio: f64, offset_mv: f64, mv: f64, temperature_c: f64) -> Option<f64> {
    let ph = ISOPOTENTIAL_PH - (mv - offset_mv) / (slope_ratio * slope_mv_per_ph(temperature_c));
    ph.is_finite().then_some(ph)
}

/// Lays the shown pH beside the one that the stored calibration gives; the slack is half a step of the shown pH and of
/// the four other figures, each times its effect on the pH. `None` for a stored slope of zero.
///
/// ```
/// use halfcell::engine::{Typed, shown::{Shown, Stored, agrees}};
/// let typed = |value, step| Typed { value, step };
/// let stored = Stored { slope_percent: typed(97.1, 0.1), offset_mv: typed(2.0, 1.0) };
/// let reading = Shown { mv: typed(168.4, 0.1), temperature_c: typed(21.9, 0.1), ph: typed(4.07, 0.01) };
/// let agreement = agrees(stored, reading).unwrap();
/// assert!((agreement.computed - 4.0728).abs() < 0.00005 && agreement.agrees);
/// ```
pub fn agrees(stored: Stored, shown: Shown) -> Option<Agreement> {
    let slope_ratio = stored.slope_percent.value / 100.0;
    let computed = expected_ph(slope_ratio, stored.offset_mv.value, shown.mv.value, shown.temperature_c.value)?;
    let per_mv = 1.0 / (slope_ratio * slope_mv_per_ph(shown.temperature_c.value)).abs();
    let from_7 = (ISOPOTENTIAL_PH - computed).abs();
    let steps = per_mv * (shown.mv.step + stored.offset_mv.step)
        + from_7 * stored.slope_percent.step / stored.slope_percent.value.abs()
        + from_7 * shown.temperature_c.step / (shown.temperature_c.value + ZERO_CELSIUS_K);
    Some(agreement(shown.ph, computed, steps / 2.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(value: f64, step: f64) -> Typed {
        Typed { value, step }
    }

    fn beside(shown_ph: f64) -> Agreement {
        let stored = Stored { slope_percent: typed(100.0, 0.1), offset_mv: typed(0.0, 0.1) };
        let reading = Shown { mv: typed(177.5, 0.1), temperature_c: typed(25.0, 0.1), ph: typed(shown_ph, 0.01) };
        agrees(stored, reading).unwrap()
    }

    #[test]
    fn three_ph_below_7_need_177_5_mv() {
        assert!((beside(4.0).computed - (7.0 - 177.5 / slope_mv_per_ph(25.0))).abs() < 1e-12);
        assert!(beside(4.0).agrees);
    }

    #[test]
    fn beyond_rounding_it_disagrees() {
        // Half steps: 0.005 shown, 0.0017 of mV and offset, 0.0015 of slope, 0.0005 of temperature.
        assert!((beside(4.0).slack - 0.0087).abs() < 0.00005);
        assert!(beside(4.008).agrees);
        assert!(!beside(4.01).agrees);
        assert!(!beside(3.99).agrees);
    }

    #[test]
    fn a_stored_slope_of_zero_shows_nothing() {
        assert_eq!(expected_ph(0.0, 0.0, 10.0, 25.0), None);
        assert_eq!(expected_ph(0.0, 10.0, 10.0, 25.0), None);
    }
}
