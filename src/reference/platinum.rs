//! Platinum resistance elements.
//!
//! Comes in: a temperature in °C or a resistance in Ω. Goes out: the other one. Next: [`crate::engine::temperature`].

use super::{OutOfRange, Range};

/// Coefficients of R(t) = R₀·(1 + A·t + B·t² + C·(t − 100 °C)·t³), the last term only below 0 °C.
///
/// Source: IEC 60751:2008 and 2022, clause 4.2; printed A = 3.9083 × 10⁻³ °C⁻¹, B = −5.775 × 10⁻⁷ °C⁻², C = −4.183 × 10⁻¹² °C⁻⁴.
const A: f64 = 3.9083e-3;
/// Source: as [`A`].
const B: f64 = -5.775e-7;
/// Source: as [`A`].
const C: f64 = -4.183e-12;

/// Where the equations hold.
///
/// Source: IEC 60751:2008 and 2022, clause 4.2: −200 °C to 850 °C.
pub const RANGE: Range = Range { from_c: -200.0, to_c: 850.0 };

/// A platinum element by its resistance at 0 °C.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlatinumElement {
    /// 100 Ω at 0 °C.
    Pt100,
    /// 1000 Ω at 0 °C.
    Pt1000,
}

/// A resistance that no temperature between −200 °C and 850 °C gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ResistanceOutOfRange {
    /// The resistance asked for, Ω.
    pub resistance_ohm: f64,
    /// At −200 °C, Ω.
    pub from_ohm: f64,
    /// At 850 °C, Ω.
    pub to_ohm: f64,
}

impl PlatinumElement {
    /// Both elements.
    pub const ALL: [PlatinumElement; 2] = [PlatinumElement::Pt100, PlatinumElement::Pt1000];

    /// As written in a visit file.
    pub fn name(self) -> &'static str {
        match self {
            PlatinumElement::Pt100 => "Pt100",
            PlatinumElement::Pt1000 => "Pt1000",
        }
    }

    /// The element of exactly this name.
    pub fn from_name(name: &str) -> Option<PlatinumElement> {
        PlatinumElement::ALL.into_iter().find(|element| element.name() == name)
    }

    /// Resistance at 0 °C in Ω.
    pub fn resistance_at_zero_ohm(self) -> f64 {
        match self {
            PlatinumElement::Pt100 => 100.0,
            PlatinumElement::Pt1000 => 1000.0,
        }
    }

    /// Resistance in Ω at a temperature in °C.
    ///
    /// # Errors
    /// [`OutOfRange`] below −200 °C or above 850 °C.
    pub fn resistance_ohm(self, temperature_c: f64) -> Result<f64, OutOfRange> {
        Ok(self.resistance_at_zero_ohm() * ratio(RANGE.admit(temperature_c)?))
    }

    /// Temperature in °C that a resistance in Ω means: solved in closed form from 0 °C, by Newton's method below.
    ///
    /// # Errors
    /// [`ResistanceOutOfRange`] for less than at −200 °C or more than at 850 °C.
    pub fn temperature_c(self, resistance_ohm: f64) -> Result<f64, ResistanceOutOfRange> {
        let r0 = self.resistance_at_zero_ohm();
        let (from_ohm, to_ohm) = (r0 * ratio(RANGE.from_c), r0 * ratio(RANGE.to_c));
        let slack = 1e-12 * r0;
        if !(from_ohm - slack <= resistance_ohm && resistance_ohm <= to_ohm + slack) {
            return Err(ResistanceOutOfRange { resistance_ohm, from_ohm, to_ohm });
        }
        let w = resistance_ohm / r0;
        if w >= 1.0 {
            return Ok((-A + (A * A - 4.0 * B * (1.0 - w)).sqrt()) / (2.0 * B));
        }
        // R(t) is smooth and steep here: from this start six steps are exact to the last digit.
        let mut t = (w - 1.0) / A;
        for _ in 0..6 {
            t -= (ratio(t) - w) / ratio_per_degree(t);
        }
        Ok(t)
    }
}

/// Tolerance of an element of class B in °C, ±, at a temperature in °C: the usual class in a probe.
///
/// Source: IEC 60751:2008 and 2022, clause 5.1, class B: 0.30 + 0.005·|t|, from memory.
pub fn class_b_tolerance_c(temperature_c: f64) -> f64 {
    0.30 + 0.005 * temperature_c.abs()
}

/// R(t)/R₀.
fn ratio(t: f64) -> f64 {
    let below_zero = if t < 0.0 { C * (t - 100.0) * t.powi(3) } else { 0.0 };
    1.0 + A * t + B * t * t + below_zero
}

/// d(R/R₀)/dt per °C, used below 0 °C.
fn ratio_per_degree(t: f64) -> f64 {
    A + 2.0 * B * t + C * (4.0 * t.powi(3) - 300.0 * t * t)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_ways_meet_over_the_whole_range() {
        for element in PlatinumElement::ALL {
            for tenth in -2000..=8500 {
                let t = f64::from(tenth) / 10.0;
                let back = element.temperature_c(element.resistance_ohm(t).unwrap()).unwrap();
                assert!((back - t).abs() < 1e-9, "{} {t} {back}", element.name());
            }
        }
    }

    #[test]
    fn an_open_or_shorted_element_has_no_temperature() {
        assert!(PlatinumElement::Pt100.temperature_c(0.0).is_err());
        assert!(PlatinumElement::Pt100.temperature_c(1084.0).is_err());
        assert!(PlatinumElement::Pt1000.temperature_c(f64::INFINITY).is_err());
        assert!(PlatinumElement::Pt1000.resistance_ohm(850.1).is_err());
    }
}
