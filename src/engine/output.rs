//! The current output of an analyser.
//!
//! Comes in: the output's range, what the analyser shows (in the quantity's unit), currents read in mA. Goes out: the
//! expected current, errors in percent of span, and what a current signals. Next: [`crate::record`].

/// Whether the current rises or falls with the quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// 4 mA to 20 mA.
    Normal,
    /// 20 mA to 4 mA.
    Reversed,
}

/// Range of an output, in the quantity's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    low: f64,
    high: f64,
    direction: Direction,
}

/// Current at the start of the range, mA.
///
/// Source: IEC 60381-1:1982, preferred range 4 mA to 20 mA.
const ZERO_MA: f64 = 4.0;

/// Current span, mA.
///
/// Source: as [`ZERO_MA`].
const SPAN_MA: f64 = 16.0;

/// At or below this current, in mA, the transmitter signals a failure.
///
/// Source: NAMUR NE 43 (from memory): failure information ≤ 3.6 mA or ≥ 21.0 mA, measurement information 3.8 mA to 20.5 mA.
pub const FAILURE_LOW_MA: f64 = 3.6;

/// Lowest current that carries a measurement, mA.
///
/// Source: as [`FAILURE_LOW_MA`].
pub const SATURATION_LOW_MA: f64 = 3.8;

/// Highest current that carries a measurement, mA.
///
/// Source: as [`FAILURE_LOW_MA`].
pub const SATURATION_HIGH_MA: f64 = 20.5;

/// At or above this current, in mA, the transmitter signals a failure.
///
/// Source: as [`FAILURE_LOW_MA`].
pub const FAILURE_HIGH_MA: f64 = 21.0;

/// Currents this near a level (mA) are on it.
///
/// Source: our own choice, far below any typed digit.
const ON_LEVEL_MA: f64 = 1e-9;

/// What a current signals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Signal {
    /// At most 3.6 mA: failure signalled, or no supply.
    FailureLow,
    /// Above 3.6 mA, at most 3.8 mA: the output is saturated below its range.
    SaturatedLow,
    /// Between the saturation levels: a measurement.
    Measurement,
    /// At least 20.5 mA, below 21 mA: the output is saturated above its range.
    SaturatedHigh,
    /// At least 21 mA: failure signalled.
    FailureHigh,
}

impl Signal {
    /// What a current in mA signals.
    pub fn of(ma: f64) -> Signal {
        if ma <= FAILURE_LOW_MA + ON_LEVEL_MA {
            Signal::FailureLow
        } else if ma <= SATURATION_LOW_MA + ON_LEVEL_MA {
            Signal::SaturatedLow
        } else if ma < SATURATION_HIGH_MA - ON_LEVEL_MA {
            Signal::Measurement
        } else if ma < FAILURE_HIGH_MA - ON_LEVEL_MA {
            Signal::SaturatedHigh
        } else {
            Signal::FailureHigh
        }
    }
}

impl Scale {
    /// A range from `low` to `high`, which may also run downwards (14 … 0). `None` when it has no span.
    pub fn new(low: f64, high: f64, direction: Direction) -> Option<Scale> {
        (low.is_finite() && high.is_finite() && low != high).then_some(Scale { low, high, direction })
    }

    /// Current in mA for a shown value: 4 + 16·(shown − low)/(high − low), reversed 20 − 16·….
    ///
    /// Not limited to 4 mA to 20 mA: a value beyond the range gives a current beyond it, see [`Signal`].
    pub fn expected_ma(&self, shown: f64) -> f64 {
        let part = (shown - self.low) / (self.high - self.low);
        match self.direction {
            Direction::Normal => ZERO_MA + SPAN_MA * part,
            Direction::Reversed => ZERO_MA + SPAN_MA - SPAN_MA * part,
        }
    }

    /// Error of the current read in mA for a shown value, in percent of span: 100·(read − expected)/16 mA.
    pub fn error_percent(&self, read_ma: f64, shown: f64) -> f64 {
        100.0 * (read_ma - self.expected_ma(shown)) / SPAN_MA
    }

    /// Error of the control room's value for a shown value, in percent of span: 100·(control room − shown)/(high − low).
    pub fn control_room_error_percent(&self, control_room: f64, shown: f64) -> f64 {
        100.0 * (control_room - shown) / (self.high - self.low)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_of_the_range_is_12_ma_both_ways() {
        for direction in [Direction::Normal, Direction::Reversed] {
            let scale = Scale::new(0.0, 14.0, direction).unwrap();
            assert_eq!(scale.expected_ma(7.0), 12.0);
            assert!((scale.error_percent(12.01, 7.0) - 0.0625).abs() < 1e-9);
        }
    }

    #[test]
    fn reversed_runs_from_20_down_to_4() {
        let reversed = Scale::new(2.0, 12.0, Direction::Reversed).unwrap();
        assert_eq!((reversed.expected_ma(2.0), reversed.expected_ma(12.0)), (20.0, 4.0));
        let normal = Scale::new(2.0, 12.0, Direction::Normal).unwrap();
        assert_eq!((normal.expected_ma(2.0), normal.expected_ma(12.0)), (4.0, 20.0));
        let downwards = Scale::new(12.0, 2.0, Direction::Normal).unwrap();
        assert_eq!(downwards.expected_ma(2.0), reversed.expected_ma(2.0));
    }

    #[test]
    fn the_control_room_is_told_in_percent_of_span() {
        let scale = Scale::new(0.0, 14.0, Direction::Normal).unwrap();
        assert!((scale.control_room_error_percent(7.07, 7.0) - 0.5).abs() < 1e-9);
    }

    #[test]
    fn a_range_without_span_is_none() {
        assert_eq!(Scale::new(7.0, 7.0, Direction::Normal), None);
        assert_eq!(Scale::new(0.0, f64::NAN, Direction::Normal), None);
    }

    #[test]
    fn each_level_belongs_to_its_signal() {
        let signals = [
            (0.0, Signal::FailureLow),
            (3.6, Signal::FailureLow),
            (3.61, Signal::SaturatedLow),
            (3.8, Signal::SaturatedLow),
            (3.81, Signal::Measurement),
            (20.49, Signal::Measurement),
            (20.5, Signal::SaturatedHigh),
            (20.99, Signal::SaturatedHigh),
            (21.0, Signal::FailureHigh),
            (22.0, Signal::FailureHigh),
        ];
        for (ma, signal) in signals {
            assert_eq!(Signal::of(ma), signal, "{ma} mA");
        }
    }
}
