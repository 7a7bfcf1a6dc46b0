//! Readings that were copied and not read: from the values of the buffers, or from those as found.

use super::{Reading, Remedy, State, standards};
use crate::kit::Kit;
use crate::quantity::{Measured, Plain};

/// Tables print three decimals, so that a half may be rounded either way, pH. Our own choice.
const TABLE_SLACK_PH: f64 = 0.001;
/// Potentials with this step, mV, or finer hardly repeat by chance. Common practice, no source: pH meters scatter by some
/// tenths of a millivolt.
const TELLING_STEP_MV: f64 = 0.1;
/// So many equal potentials of a coarser step hardly repeat by chance. Our own choice.
const TELLING_READINGS: usize = 3;

/// What readings as left repeat to the last digit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Copied {
    /// Potentials and values shown.
    Everything,
    /// The potentials, although a remedy touched them.
    Potentials,
}

/// The first value shown, where every value shown equals its buffer to the last digit, at its temperature or at 25 °C. At
/// least two buffers; after an adjustment only from three decimals on: that the display shows two is what adjusting does.
pub fn from_target<'a>(kit: &Kit, state: &'a State, adjusted: bool) -> Option<&'a Measured<Plain>> {
    let shown: Vec<(&Reading, &Measured<Plain>)> =
        state.readings.iter().filter_map(|reading| Some((reading, reading.shown.as_ref()?))).collect();
    let decimals = |value: &Measured<Plain>| (-value.step.log10()).round() as i32;
    let least_decimals = if adjusted { 3 } else { 2 };
    let equals = |reading: &Reading, shown: &Measured<Plain>, temperature_c: f64| {
        let target = standards::ph(kit, reading.standard, temperature_c);
        let slack = 0.5 * shown.step + TABLE_SLACK_PH;
        decimals(shown) >= least_decimals && target.is_some_and(|target| (target - shown.value).abs() <= slack)
    };
    let at_its_own = shown.iter().all(|(reading, value)| equals(reading, value, reading.temperature.value));
    let at_25 = shown.iter().all(|(reading, value)| equals(reading, value, 25.0));
    (shown.len() >= 2 && (at_its_own || at_25)).then(|| shown[0].1)
}

/// What readings as left repeat of those as found. Potentials alone repeat after an adjustment alone; where a remedy that
/// touches the potential was performed, equal ones are questioned when their digits tell.
pub fn from_as_found(found: &State, left: &State, remedies: &[Remedy]) -> Option<Copied> {
    let pairs = || found.readings.iter().zip(&left.readings);
    let value = |shown: &Option<Measured<Plain>>| shown.as_ref().map(|shown| shown.value);
    let potential = |reading: &Reading| reading.mv.as_ref().map(|mv| mv.value);
    let same_length = found.readings.len() == left.readings.len();
    let same_mv = same_length && pairs().all(|(a, b)| a.standard == b.standard && potential(a) == potential(b));
    if !same_mv {
        return None;
    }
    if pairs().all(|(a, b)| value(&a.shown) == value(&b.shown)) {
        return Some(Copied::Everything);
    }
    let mv = || left.readings.iter().filter_map(|reading| reading.mv.as_ref());
    let telling = mv().count() >= TELLING_READINGS || mv().any(|mv| mv.step <= TELLING_STEP_MV + 1e-9);
    let touched = remedies.iter().any(|remedy| remedy.kind.touches_potential());
    (telling && touched).then_some(Copied::Potentials)
}
