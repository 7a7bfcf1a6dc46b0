//! Uncertainty of single errors: a shown value against its standard, a temperature, a current, a redox gain.

use super::{CONVERSION_MV, Contribution, SETTLED_WITHIN_PH, Uncertainty, combined, rectangular, resolution_variance};
use crate::engine::line::straight_line;
use crate::engine::redox::Reading;

/// Coverage factor of [`CONVERSION_MV`].
///
/// Source: as [`CONVERSION_MV`].
const CONVERSION_FACTOR: f64 = 2.0;

/// What is known of a shown value and of the standard it is compared with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ErrorOfShown {
    /// Step of the last digit shown, pH or mV.
    pub step: f64,
    /// Standard uncertainty of the standard, pH or mV.
    pub standard_u: f64,
    /// Change of the standard's value per °C.
    pub per_degree: f64,
    /// Standard uncertainty of the thermometer, °C.
    pub thermometer_u_c: f64,
    /// Step of the last digit of the temperature, °C.
    pub temperature_step_c: f64,
}

/// Uncertainty of shown minus buffer, pH: u² = d²/12 + (0.01 pH)²/3 + u_pH² + (dpH/dT)²·(u_T² + d_T²/12).
pub fn error_of_shown(known: &ErrorOfShown) -> Uncertainty {
    let temperature =
        known.thermometer_u_c.hypot(resolution_variance(known.temperature_step_c).sqrt()) * known.per_degree;
    known_only(&[resolution_variance(known.step).sqrt(), rectangular(SETTLED_WITHIN_PH), known.standard_u, temperature])
}

/// Uncertainty of shown minus solution, mV: u² = u_solution² + (3 mV/2)² where the potential was converted to another
/// reference electrode + d²/12 + (dE/dT·u_T)².
pub fn error_of_redox(known: &ErrorOfShown, converted: bool) -> Uncertainty {
    let conversion = if converted { CONVERSION_MV / CONVERSION_FACTOR } else { 0.0 };
    known_only(&[
        known.standard_u,
        conversion,
        resolution_variance(known.step).sqrt(),
        known.per_degree * known.thermometer_u_c,
    ])
}

/// Uncertainty of shown minus reference temperature, °C, from the thermometer and both last digits.
pub fn error_of_temperature(thermometer_u_c: f64, reference_step_c: f64, shown_step_c: f64) -> Uncertainty {
    let digits = resolution_variance(reference_step_c) + resolution_variance(shown_step_c);
    known_only(&[thermometer_u_c, digits.sqrt()])
}

/// Uncertainty of an output's error, percent of a span of 16 mA, from the instrument (mA), its last digit (mA) and the
/// last digit of the shown value (percent of the range).
pub fn error_of_output(instrument_u_ma: f64, step_ma: f64, shown_step_percent: f64) -> Uncertainty {
    let per_ma = 100.0 / 16.0;
    known_only(&[
        per_ma * instrument_u_ma,
        per_ma * resolution_variance(step_ma).sqrt(),
        resolution_variance(shown_step_percent).sqrt(),
    ])
}

/// Uncertainty of a redox gain in percent; each reading with its key in the kit and what is known of it. A common
/// conversion moves both ends alike and does not count. `None` where the readings give no gain.
pub fn gain_percent(readings: &[(Reading, usize, ErrorOfShown)]) -> Option<Uncertainty> {
    let line = straight_line(&readings.iter().map(|(r, _, _)| (r.standard_mv, r.mv)).collect::<Vec<_>>())?;
    let per_mv = |r: &Reading| (r.standard_mv - line.mean_x) / line.sum_of_squares_x;
    let per_standard = |r: &Reading| (r.mv - line.at(r.standard_mv)) / line.sum_of_squares_x - line.slope * per_mv(r);
    let mut by_standard: Vec<(usize, f64, f64)> = Vec::new();
    for (reading, key, known) in readings {
        match by_standard.iter_mut().find(|standard| standard.0 == *key) {
            Some(standard) => standard.1 += per_standard(reading),
            None => by_standard.push((*key, per_standard(reading), known.standard_u)),
        }
    }
    let standards = by_standard.iter().map(|(_, sensitivity, u)| sensitivity * u);
    let digits = readings.iter().map(|(r, _, known)| per_mv(r) * resolution_variance(known.step).sqrt());
    let thermometer: f64 =
        readings.iter().map(|(r, _, known)| per_standard(r) * known.per_degree * known.thermometer_u_c).sum();
    let all = standards.chain(digits).chain([thermometer]).map(|value| 100.0 * value);
    Some(known_only(&all.collect::<Vec<_>>()))
}

/// Combines inputs that are all taken from certificates or assumed.
fn known_only(values: &[f64]) -> Uncertainty {
    let known = |&value: &f64| Contribution { value, dof: f64::INFINITY };
    combined(&values.iter().map(known).collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 0.01/√12 = 0.0028868; 0.01/√3 = 0.0057735; 0.005; 0.002·√(0.1² + 0.1²/12) = 0.00020817.
    #[test]
    fn error_of_a_shown_ph_adds_its_four_parts() {
        let known = ErrorOfShown {
            step: 0.01,
            standard_u: 0.005,
            per_degree: -0.002,
            thermometer_u_c: 0.1,
            temperature_step_c: 0.1,
        };
        let found = error_of_shown(&known);
        let by_hand = (0.01f64.powi(2) / 12.0 + 0.01f64.powi(2) / 3.0 + 0.005f64.powi(2) + 4.333_333e-8).sqrt();
        assert!((found.standard - by_hand).abs() < 1e-9);
        assert_eq!(found.coverage_factor, 2.0);
    }

    /// By hand: 2.5² + 1.5² + 1/12 + (2.2·0.1)² = 8.63173, root 2.93798.
    #[test]
    fn error_of_a_redox_reading_adds_the_conversion_where_there_was_one() {
        let known = ErrorOfShown {
            step: 1.0,
            standard_u: 2.5,
            per_degree: -2.2,
            thermometer_u_c: 0.1,
            temperature_step_c: 0.1,
        };
        assert!((error_of_redox(&known, true).standard - 2.937_98).abs() < 5e-6);
        // 2.5² + 1/12 + 0.0484 = 6.38173, root 2.52621.
        assert!((error_of_redox(&known, false).standard - 2.526_21).abs() < 5e-6);
    }

    /// By hand: two solutions 247 mV apart, each ±2.5 mV: 100·√2·2.5/247 = 1.43139 % at a gain of 1.
    #[test]
    fn a_gain_is_as_good_as_its_two_solutions() {
        let known =
            ErrorOfShown { step: 0.0, standard_u: 2.5, per_degree: 0.0, thermometer_u_c: 0.0, temperature_step_c: 0.0 };
        let at = |mv: f64, key: usize| (Reading { mv, standard_mv: mv }, key, known);
        let found = gain_percent(&[at(229.0, 0), at(476.0, 1)]).unwrap();
        assert!((found.standard - 1.431_39).abs() < 5e-6);
        assert_eq!(gain_percent(&[at(229.0, 0)]), None);
    }
}
