//! The check of a redox (ORP) probe.
//!
//! Comes in: potentials read and those of the solutions ([`crate::reference::redox`]), both in mV against the probe's
//! reference electrode. Goes out: errors in mV and the gain in percent. Next: [`crate::record`].

use crate::engine::line::straight_line;

/// A reading in a redox solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Potential read or shown, mV.
    pub mv: f64,
    /// Potential of the solution at the reading's temperature, mV.
    pub standard_mv: f64,
}

/// Solutions nearer to each other than this, in mV, tell no gain.
///
/// Source: our own choice: 5 mV of each solution's uncertainty is then at most some percent of the gain.
pub const GAIN_FROM_MV: f64 = 100.0;

/// Solutions are on the border of [`GAIN_FROM_MV`] within this much, mV.
///
/// Source: our own choice, far below any typed digit.
const ON_BORDER_MV: f64 = 1e-9;

/// Error of a reading in mV: read minus standard.
pub fn error_mv(reading: Reading) -> f64 {
    reading.mv - reading.standard_mv
}

/// Gain in percent: 100·ΔE read/ΔE standard, with repeats or more than two solutions the slope of least squares.
/// `None` when the solutions lie less than [`GAIN_FROM_MV`] apart.
///
/// ```
/// use halfcell::engine::redox::{Reading, gain_percent};
/// let zobell = Reading { mv: 225.0, standard_mv: 229.0 };
/// let light = Reading { mv: 468.0, standard_mv: 476.0 };
/// assert!((gain_percent(&[zobell, light]).unwrap() - 100.0 * 243.0 / 247.0).abs() < 1e-9);
/// ```
pub fn gain_percent(readings: &[Reading]) -> Option<f64> {
    let standards = || readings.iter().map(|r| r.standard_mv);
    let apart = standards().fold(f64::NEG_INFINITY, f64::max) - standards().fold(f64::INFINITY, f64::min);
    if apart < GAIN_FROM_MV - ON_BORDER_MV {
        return None;
    }
    let points: Vec<(f64, f64)> = readings.iter().map(|r| (r.standard_mv, r.mv)).collect();
    straight_line(&points).map(|line| 100.0 * line.slope)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(mv: f64, standard_mv: f64) -> Reading {
        Reading { mv, standard_mv }
    }

    #[test]
    fn solutions_that_lie_close_tell_no_gain() {
        assert_eq!(gain_percent(&[reading(220.0, 228.0), reading(310.0, 327.9)]), None);
        assert!(gain_percent(&[reading(220.0, 228.0), reading(310.0, 328.0)]).is_some());
        assert_eq!(gain_percent(&[reading(220.0, 228.0)]), None);
        assert_eq!(gain_percent(&[]), None);
    }

    #[test]
    fn repeats_count_by_their_mean() {
        let gain = gain_percent(&[reading(220.0, 228.0), reading(224.0, 228.0), reading(470.0, 476.0)]).unwrap();
        assert!((gain - 100.0 * (470.0 - 222.0) / (476.0 - 228.0)).abs() < 1e-9);
    }

    #[test]
    fn error_is_read_minus_standard() {
        assert_eq!(error_mv(reading(220.0, 228.0)), -8.0);
    }
}
