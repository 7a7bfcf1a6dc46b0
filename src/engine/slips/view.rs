//! A set of readings as somebody with experience looks at it: line, temperatures, display.

use super::super::fit::{Fit, JUDGED_WITHIN_C, Point, fit};
use super::super::line::straight_line;
use super::super::shown::{Shown, Stored, agrees};
use super::{Gravity, Kind, Reading};
use crate::reference::slope_mv_per_ph;
use std::ops::RangeInclusive;

/// Slopes outside are no probe's, percent.
///
/// Source: common practice, no source: probes below half of the theoretical slope are dead; 110 % comes from a buffer or a
/// reading, not from a probe.
const POSSIBLE_PERCENT: RangeInclusive<f64> = 50.0..=110.0;
/// A slope above is odd, percent.
///
/// Source: common practice, no source: a slope above 105 % is almost never the probe.
const ODD_ABOVE_PERCENT: f64 = 105.0;
/// Below this slope a response is reversed; between here and 0 the probe is dead, percent.
///
/// Source: our own choice, far below what noise makes of a dead probe.
const REVERSED_BELOW_PERCENT: f64 = -10.0;
/// A set that a slip explains has its slope within, percent.
///
/// Source: common practice, no source: below 70 % a probe is no longer used; see [`ODD_ABOVE_PERCENT`].
const GOOD_PERCENT: RangeInclusive<f64> = 70.0..=105.0;
/// … its offset within, mV.
///
/// Source: common practice, no source: in pH 7 within ±50 mV.
const GOOD_OFFSET_MV: f64 = 50.0;
/// … and its residuals within, pH, when the set as typed is impossible.
///
/// Source: common practice, no source.
const GOOD_RESIDUAL_PH: f64 = 0.1;
/// … when it is only odd.
///
/// Source: our own choice: a mild suspicion asks for a clean explanation.
const CLEAN_RESIDUAL_PH: f64 = 0.05;
/// Residuals beyond are impossible, pH.
///
/// Source: common practice, no source.
const IMPOSSIBLE_RESIDUAL_PH: f64 = 0.3;
/// Residuals beyond are odd, pH.
///
/// Source: common practice, no source: an alkaline buffer that has taken up carbon dioxide stays below.
const ODD_RESIDUAL_PH: f64 = 0.15;
/// Buffers in use stand within, °C.
///
/// Source: common practice, no source; the range of most published buffers.
pub(super) const USUAL_C: RangeInclusive<f64> = 0.0..=50.0;
/// Buffers of one set farther apart are odd, °C.
///
/// Source: common practice, no source: they stand side by side.
const ODD_APART_C: f64 = 5.0;
/// A slip in a temperature explains a set when its buffers then stand within, °C; two digits exchanged, which move a
/// temperature by little, within half of this.
///
/// Source: common practice, no source (25 ± 2 °C in older editions of USP <791>).
const GOOD_APART_C: f64 = 2.0;
/// A display farther from what stored figures give for the potential does not belong to it, pH; a temperature element
/// off by 10 °C costs 0.1 in pH 4.
///
/// Source: common practice, no source.
const DISPLAY_WITHIN_PH: f64 = 0.15;
/// What an analyser can hold, percent; some take what a worn probe gives.
///
/// Source: common practice, no source.
const HELD_PERCENT: RangeInclusive<f64> = 55.0..=105.0;
/// Where manual compensation is left standing, °C.
///
/// Source: common practice, no source.
const MANUAL_C: f64 = 25.0;
/// What an analyser can hold as offset, mV.
///
/// Source: common practice, no source.
const HELD_OFFSET_MV: f64 = 80.0;
/// Potential and display are read one after the other, mV.
///
/// Source: our own choice.
const DISPLAY_WITHIN_MV: f64 = 3.0;

/// What a set looks like.
pub(super) struct View {
    pub slope_percent: Option<f64>,
    pub offset_mv: Option<f64>,
    /// Largest residual, pH; `None` without a line or on a flat one.
    residual_ph: Option<f64>,
    apart_c: f64,
    usual_c: bool,
    /// Whether every standard has a value at its temperature.
    known: bool,
    /// Whether display and potentials belong together; `None` where that cannot be said.
    display: Option<bool>,
}

impl View {
    pub fn of(readings: &[Reading<'_>], stored: Option<Stored>) -> View {
        let points: Vec<Point> = readings.iter().filter_map(point).collect();
        let line = fit(&points);
        let temperatures = || readings.iter().map(|reading| reading.temperature_c.value);
        let lowest = temperatures().fold(f64::INFINITY, f64::min);
        let highest = temperatures().fold(f64::NEG_INFINITY, f64::max);
        View {
            slope_percent: line.as_ref().and_then(|line| line.slope_percent),
            offset_mv: line.as_ref().and_then(|line| line.offset_mv),
            residual_ph: line.as_ref().and_then(residual),
            apart_c: (highest - lowest).max(0.0),
            usual_c: temperatures().all(|t| USUAL_C.contains(&t)),
            known: points.len() == readings.len(),
            display: match stored.filter(|stored| stored.slope_percent.value != 0.0) {
                Some(stored) => as_stored(readings, stored),
                None => belongs(readings),
            },
        }
    }

    /// How implausible; `None` for a plausible set, a weak probe and a dead one included.
    pub fn gravity(&self) -> Option<Gravity> {
        let slope = self.slope_percent?;
        let beyond = |ph: f64| self.residual_ph.is_some_and(|residual| residual > ph);
        if slope < REVERSED_BELOW_PERCENT {
            Some(Gravity::Reversed)
        } else if !POSSIBLE_PERCENT.contains(&slope) || beyond(IMPOSSIBLE_RESIDUAL_PH) {
            Some(Gravity::Impossible)
        } else {
            let odd = slope > ODD_ABOVE_PERCENT
                || beyond(ODD_RESIDUAL_PH)
                || self.display == Some(false)
                || self.temperatures_are_odd();
            odd.then_some(Gravity::Odd)
        }
    }

    pub fn temperatures_are_odd(&self) -> bool {
        !self.known || !self.usual_c || self.apart_c > ODD_APART_C
    }

    /// Whether everything is plausible at once.
    pub fn is_good(&self, gravity: Gravity) -> bool {
        let (residual, apart_c) = match gravity {
            Gravity::Odd => (CLEAN_RESIDUAL_PH, ODD_APART_C),
            Gravity::Impossible | Gravity::Reversed => (GOOD_RESIDUAL_PH, JUDGED_WITHIN_C),
        };
        self.known
            && self.usual_c
            && self.apart_c <= apart_c + 1e-9
            && self.display != Some(false)
            && self.slope_percent.is_some_and(|slope| GOOD_PERCENT.contains(&slope))
            && self.offset_mv.is_some_and(|offset| offset.abs() <= GOOD_OFFSET_MV)
            && self.residual_ph.is_some_and(|ph| ph <= residual)
    }

    /// Whether the buffers stand as closely together as a slip in a temperature must leave them.
    pub fn temperatures_are_one(&self, slip: Kind) -> bool {
        let part = if slip == Kind::DigitsExchanged { 0.5 } else { 1.0 };
        self.apart_c <= part * GOOD_APART_C + 1e-9
    }

    /// Whether the display belongs to these potentials and did not to those as typed.
    pub fn display_speaks_for(&self, typed: &View) -> bool {
        self.display == Some(true) && typed.display == Some(false)
    }

    /// How far from a good probe; only to put the likeliest first.
    pub fn distance(&self) -> f64 {
        let part = |value: Option<f64>, centre: f64, width: f64| value.map_or(0.0, |v| ((v - centre) / width).powi(2));
        part(self.slope_percent, 97.0, 5.0) + part(self.offset_mv, 0.0, 20.0) + part(self.residual_ph, 0.0, 0.03)
    }
}

fn point(reading: &Reading<'_>) -> Option<Point> {
    let temperature_c = reading.temperature_c.value;
    Some(Point { mv: reading.mv.value, temperature_c, ph: reading.value.ph(temperature_c).ok()? })
}

fn residual(line: &Fit) -> Option<f64> {
    line.points.iter().map(|point| point.residual_ph.map(f64::abs)).try_fold(0.0, |worst: f64, ph| Some(worst.max(ph?)))
}

/// Whether every display is what the stored figures give for its potential.
fn as_stored(readings: &[Reading<'_>], stored: Stored) -> Option<bool> {
    let beside = readings.iter().filter_map(|reading| {
        agrees(stored, Shown { mv: reading.mv, temperature_c: reading.temperature_c, ph: reading.shown? })
    });
    let mut within: Vec<bool> =
        beside.map(|agreement| agreement.difference.abs() <= DISPLAY_WITHIN_PH + agreement.slack).collect();
    within.sort_unstable();
    within.first().copied()
}

/// Whether some calibration that an analyser can hold gives these displays for these potentials; its slope and offset are
/// unknown. `None` where fewer than two displays were noted.
fn belongs(readings: &[Reading<'_>]) -> Option<bool> {
    // The potential of a perfect probe in the pH shown, the potential read, and what rounding may do between them.
    let mut pairs: Vec<(f64, f64, f64)> = readings
        .iter()
        .filter_map(|reading| {
            let shown = reading.shown?;
            let k = slope_mv_per_ph(reading.temperature_c.value);
            let slack = DISPLAY_WITHIN_MV + reading.mv.step / 2.0 + k * shown.step / 2.0;
            Some((k * (7.0 - shown.value), reading.mv.value, slack))
        })
        .collect();
    if pairs.len() < 2 {
        return None;
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    // The display may be compensated by hand: then it takes 25 °C for the temperature of the buffers.
    let by_hand = |reading: &Reading<'_>| slope_mv_per_ph(MANUAL_C) / slope_mv_per_ph(reading.temperature_c.value);
    let least = HELD_PERCENT.start() / 100.0 * readings.iter().map(by_hand).fold(1.0, f64::min);
    let most = HELD_PERCENT.end() / 100.0 * readings.iter().map(by_hand).fold(1.0, f64::max);
    let mut steps = pairs.iter().enumerate().flat_map(|(at, low)| pairs[at + 1..].iter().map(move |high| (low, high)));
    let rises = |(low, high): (&(f64, f64, f64), &(f64, f64, f64))| {
        let (dx, dy, slack) = (high.0 - low.0, high.1 - low.1, low.2.max(high.2));
        (least * dx - slack..=most * dx + slack).contains(&dy)
    };
    let nearest = pairs.iter().min_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))?;
    let offset = nearest.1.abs() <= HELD_OFFSET_MV + nearest.2 + most * nearest.0.abs();
    Some(offset && steps.all(rises) && is_straight(&pairs))
}

/// Whether display and potential lie on one line.
fn is_straight(pairs: &[(f64, f64, f64)]) -> bool {
    let points: Vec<(f64, f64)> = pairs.iter().map(|&(x, y, _)| (x, y)).collect();
    straight_line(&points)
        .is_none_or(|line| pairs.iter().all(|&(x, y, slack)| (y - line.at(x)).abs() <= slack + 0.02 * x.abs()))
}
