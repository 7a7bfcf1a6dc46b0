//! pH of buffers by temperature.
//!
//! Comes in: a buffer's name, or what a lot's certificate or a bottle's label says, and a temperature in °C. Goes out:
//! pH and its change per °C, or the range in which the source holds. Next: the check of standards, [`super::redox`]
//! (quinhydrone) and [`crate::record`].
//!
//! Values of one buffer differ between published scales: phthalate at 25 °C is 4.003, 4.005, 4.006 or 4.008, and its
//! superseded scale of 1962 departs by up to 0.011. The scale used here is that of NBS, IUPAC 2002 and DIN 19266.

mod labels;

use super::{OutOfRange, Range, Table, TableError, ZERO_CELSIUS_K, between_rows, rows_per_degree, rows_range};

/// A buffer with a published pH.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Buffer {
    /// Potassium tetroxalate, pH 1.68.
    Tetroxalate,
    /// Potassium hydrogen tartrate, pH 3.56.
    Tartrate,
    /// Potassium dihydrogen citrate, pH 3.78.
    Citrate,
    /// Potassium hydrogen phthalate, pH 4.005.
    Phthalate,
    /// Phosphate 1:1, pH 6.865.
    Phosphate,
    /// Phosphate 1:3.5, pH 7.413.
    Phosphate1To3_5,
    /// Borax, pH 9.18.
    Borax,
    /// Carbonate, pH 10.012.
    Carbonate,
    /// Calcium hydroxide, pH 12.454.
    CalciumHydroxide,
    /// Technical buffer of pH 7.00 at 25 °C; not a reference buffer.
    Technical7,
}

/// pH = A/T + B + C·T + D·T² with T in K, within a range.
struct Equation {
    a: f64,
    b: f64,
    c: f64,
    d: f64,
    range: Range,
}

/// The published equation of each reference buffer.
///
/// Source: NBS Special Publication 260-53 (1975) and R. G. Bates, Determination of pH, 2nd edition, Wiley 1973: form and
/// coefficients from memory; they reproduce each value tabulated there, in IUPAC Recommendations 2002 (Pure Appl. Chem.
/// 74, 2169, Table 2, 0 °C to 50 °C) and in DIN 19266 within half its last digit, which a test holds.
const fn equation(a: f64, b: f64, c: f64, d: f64, from_c: f64, to_c: f64) -> Equation {
    Equation { a, b, c, d, range: Range { from_c, to_c } }
}
/// Source: see [`equation`].
const TETROXALATE: Equation = equation(-362.76, 6.1765, -0.018_71, 2.5847e-5, 0.0, 95.0);
/// Source: see [`equation`].
const TARTRATE: Equation = equation(-1727.96, 23.7406, -0.075_947, 9.2873e-5, 25.0, 95.0);
/// Source: see [`equation`].
const CITRATE: Equation = equation(1280.4, -4.165, 0.012_23, 0.0, 0.0, 50.0);
/// Source: see [`equation`].
const PHTHALATE: Equation = equation(0.0, 6.6146, -0.018_509, 3.2721e-5, 0.0, 95.0);
/// Source: see [`equation`].
const PHOSPHATE: Equation = equation(3459.39, -21.0574, 0.073_301, -6.2266e-5, 0.0, 95.0);
/// Source: see [`equation`].
const PHOSPHATE_1_TO_3_5: Equation = equation(5706.61, -43.9428, 0.154_785, -1.567_45e-4, 0.0, 50.0);
/// Source: see [`equation`].
const BORAX: Equation = equation(5259.02, -33.1064, 0.114_826, -1.0786e-4, 0.0, 95.0);
/// Source: see [`equation`].
const CARBONATE: Equation = equation(2557.1, -4.2846, 0.019_185, 0.0, 0.0, 50.0);
/// Source: see [`equation`].
const CALCIUM_HYDROXIDE: Equation = equation(7613.65, -38.5892, 0.119_217, -1.129_18e-4, 0.0, 60.0);

/// Technical buffer pH 7.00, `[°C, pH]`, 0 °C to 50 °C.
///
/// Source: common practice, no source. Public tables of this composition agree within rounding from 0 °C to 30 °C and
/// differ by 0.01 from 35 °C to 50 °C; the bottle's own table wins.
const TECHNICAL_7: [[f64; 2]; 11] = [
    [0.0, 7.118],
    [5.0, 7.087],
    [10.0, 7.059],
    [15.0, 7.036],
    [20.0, 7.016],
    [25.0, 7.000],
    [30.0, 6.987],
    [35.0, 6.977],
    [40.0, 6.970],
    [45.0, 6.965],
    [50.0, 6.964],
];

impl Buffer {
    /// All buffers in order of pH, the technical one last.
    pub const ALL: [Buffer; 10] = [
        Buffer::Tetroxalate,
        Buffer::Tartrate,
        Buffer::Citrate,
        Buffer::Phthalate,
        Buffer::Phosphate,
        Buffer::Phosphate1To3_5,
        Buffer::Borax,
        Buffer::Carbonate,
        Buffer::CalciumHydroxide,
        Buffer::Technical7,
    ];

    /// As written in a kit file.
    pub fn name(self) -> &'static str {
        match self {
            Buffer::Tetroxalate => "tetroxalate",
            Buffer::Tartrate => "tartrate",
            Buffer::Citrate => "citrate",
            Buffer::Phthalate => "phthalate",
            Buffer::Phosphate => "phosphate",
            Buffer::Phosphate1To3_5 => "phosphate 1:3.5",
            Buffer::Borax => "borax",
            Buffer::Carbonate => "carbonate",
            Buffer::CalciumHydroxide => "calcium hydroxide",
            Buffer::Technical7 => "technical 7.00",
        }
    }

    /// The buffer of exactly this name.
    pub fn from_name(name: &str) -> Option<Buffer> {
        Buffer::ALL.into_iter().find(|buffer| buffer.name() == name)
    }

    /// pH at 25 °C as printed in the tables.
    ///
    /// Source: NBS SP 260-53; IUPAC Recommendations 2002 Table 2 prints 1.679, 3.557, 3.776, 4.005, 6.865, 7.413, 9.180, 10.012 and
    /// 12.454. Technical 7.00: common practice, no source.
    pub fn nominal_ph(self) -> f64 {
        match self {
            Buffer::Tetroxalate => 1.679,
            Buffer::Tartrate => 3.557,
            Buffer::Citrate => 3.776,
            Buffer::Phthalate => 4.005,
            Buffer::Phosphate => 6.865,
            Buffer::Phosphate1To3_5 => 7.413,
            Buffer::Borax => 9.180,
            Buffer::Carbonate => 10.012,
            Buffer::CalciumHydroxide => 12.454,
            Buffer::Technical7 => 7.00,
        }
    }

    /// What is dissolved in water; `mol/kg` is per kilogram of water.
    ///
    /// Source: IUPAC Recommendations 2002, Pure Appl. Chem. 74, 2169, Table 2. Technical 7.00: common practice, no source.
    pub fn composition(self) -> &'static str {
        match self {
            Buffer::Tetroxalate => "0.05 mol/kg KH₃(C₂O₄)₂·2H₂O",
            Buffer::Tartrate => "KHC₄H₄O₆ saturated at 25 °C",
            Buffer::Citrate => "0.05 mol/kg KH₂C₆H₅O₇",
            Buffer::Phthalate => "0.05 mol/kg KHC₈H₄O₄",
            Buffer::Phosphate => "0.025 mol/kg KH₂PO₄ + 0.025 mol/kg Na₂HPO₄",
            Buffer::Phosphate1To3_5 => "0.008695 mol/kg KH₂PO₄ + 0.03043 mol/kg Na₂HPO₄",
            Buffer::Borax => "0.01 mol/kg Na₂B₄O₇·10H₂O",
            Buffer::Carbonate => "0.025 mol/kg NaHCO₃ + 0.025 mol/kg Na₂CO₃",
            Buffer::CalciumHydroxide => "Ca(OH)₂ saturated at 25 °C",
            Buffer::Technical7 => "0.041 mol/L Na₂HPO₄ + 0.026 mol/L KH₂PO₄",
        }
    }

    /// Whether it is a reference buffer with a published scale; the technical one is not.
    pub fn is_reference(self) -> bool {
        self.equation().is_some()
    }

    /// Where the published equation or table holds.
    pub fn range(self) -> Range {
        self.equation().map_or_else(|| rows_range(&TECHNICAL_7), |equation| equation.range)
    }

    /// pH at a temperature in °C, unrounded.
    ///
    /// # Errors
    /// [`OutOfRange`] outside [`Buffer::range`].
    pub fn ph(self, temperature_c: f64) -> Result<f64, OutOfRange> {
        let Some(equation) = self.equation() else {
            return between_rows(&TECHNICAL_7, temperature_c);
        };
        let t = equation.range.admit(temperature_c)? + ZERO_CELSIUS_K;
        Ok(equation.a / t + equation.b + equation.c * t + equation.d * t * t)
    }

    /// Change of pH per °C at a temperature in °C.
    ///
    /// # Errors
    /// [`OutOfRange`] outside [`Buffer::range`].
    pub fn dph_dt(self, temperature_c: f64) -> Result<f64, OutOfRange> {
        let Some(equation) = self.equation() else {
            return rows_per_degree(&TECHNICAL_7, temperature_c);
        };
        let t = equation.range.admit(temperature_c)? + ZERO_CELSIUS_K;
        Ok(-equation.a / (t * t) + equation.c + 2.0 * equation.d * t)
    }

    /// The published equation; the technical buffer has a table instead.
    fn equation(self) -> Option<&'static Equation> {
        match self {
            Buffer::Tetroxalate => Some(&TETROXALATE),
            Buffer::Tartrate => Some(&TARTRATE),
            Buffer::Citrate => Some(&CITRATE),
            Buffer::Phthalate => Some(&PHTHALATE),
            Buffer::Phosphate => Some(&PHOSPHATE),
            Buffer::Phosphate1To3_5 => Some(&PHOSPHATE_1_TO_3_5),
            Buffer::Borax => Some(&BORAX),
            Buffer::Carbonate => Some(&CARBONATE),
            Buffer::CalciumHydroxide => Some(&CALCIUM_HYDROXIDE),
            Buffer::Technical7 => None,
        }
    }
}

/// What a standard's pH rests on.
#[derive(Debug, Clone, PartialEq)]
pub enum BufferValue {
    /// A published buffer, shifted to the lot's certified value where there is one.
    Published {
        /// Which buffer.
        buffer: Buffer,
        /// Added to the published pH at all temperatures: certified value minus published value at its temperature.
        shift_ph: f64,
    },
    /// The bottle's own table, `[°C, pH]`.
    Bottle(Table),
}

impl BufferValue {
    /// A published buffer as it stands.
    pub fn published(buffer: Buffer) -> BufferValue {
        BufferValue::Published { buffer, shift_ph: 0.0 }
    }

    /// A published buffer whose lot is certified with a pH at a temperature in °C.
    ///
    /// # Errors
    /// [`OutOfRange`] when the certificate's temperature lies outside the published range.
    pub fn certified(buffer: Buffer, ph: f64, at_c: f64) -> Result<BufferValue, OutOfRange> {
        Ok(BufferValue::Published { buffer, shift_ph: ph - buffer.ph(at_c)? })
    }

    /// The table on a bottle, rows `[°C, pH]` in any order.
    ///
    /// # Errors
    /// [`TableError`] when the rows make no table.
    pub fn bottle(rows: &[[f64; 2]]) -> Result<BufferValue, TableError> {
        Ok(BufferValue::Bottle(Table::new(rows)?))
    }

    /// Where the value is known.
    pub fn range(&self) -> Range {
        match self {
            BufferValue::Published { buffer, .. } => buffer.range(),
            BufferValue::Bottle(table) => table.range(),
        }
    }

    /// pH at a temperature in °C, unrounded.
    ///
    /// # Errors
    /// [`OutOfRange`] outside [`BufferValue::range`].
    ///
    /// ```
    /// use halfcell::reference::buffers::{Buffer, BufferValue};
    /// let lot = BufferValue::certified(Buffer::Phthalate, 4.010, 25.0).unwrap();
    /// assert!((lot.ph(25.0).unwrap() - 4.010).abs() < 1e-12);
    /// assert!(lot.ph(96.0).is_err());
    /// ```
    pub fn ph(&self, temperature_c: f64) -> Result<f64, OutOfRange> {
        match self {
            BufferValue::Published { buffer, shift_ph } => Ok(buffer.ph(temperature_c)? + shift_ph),
            BufferValue::Bottle(table) => table.value(temperature_c),
        }
    }

    /// Change of pH per °C at a temperature in °C.
    ///
    /// # Errors
    /// [`OutOfRange`] outside [`BufferValue::range`].
    pub fn dph_dt(&self, temperature_c: f64) -> Result<f64, OutOfRange> {
        match self {
            BufferValue::Published { buffer, .. } => buffer.dph_dt(temperature_c),
            BufferValue::Bottle(table) => table.per_degree(temperature_c),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_leads_back_to_its_buffer() {
        for buffer in Buffer::ALL {
            assert_eq!(Buffer::from_name(buffer.name()), Some(buffer));
        }
        assert_eq!(Buffer::from_name("Phthalate"), None);
    }

    #[test]
    fn nominal_value_is_the_printed_one_at_25_degrees() {
        for buffer in Buffer::ALL {
            assert!((buffer.ph(25.0).unwrap() - buffer.nominal_ph()).abs() <= 0.0005, "{}", buffer.name());
        }
    }

    #[test]
    fn change_per_degree_is_the_slope_of_the_values() {
        for buffer in Buffer::ALL {
            let t = 32.0;
            let measured = (buffer.ph(t + 0.01).unwrap() - buffer.ph(t - 0.01).unwrap()) / 0.02;
            assert!((buffer.dph_dt(t).unwrap() - measured).abs() < 1e-7, "{}", buffer.name());
        }
    }

    #[test]
    fn outside_its_range_a_buffer_names_the_range() {
        let refused = Buffer::Tartrate.ph(24.9).unwrap_err();
        assert_eq!(refused, OutOfRange { temperature_c: 24.9, range: Range { from_c: 25.0, to_c: 95.0 } });
        assert!(Buffer::Technical7.dph_dt(50.1).is_err());
        assert!(BufferValue::certified(Buffer::Citrate, 3.78, 60.0).is_err());
        assert!(Buffer::Phosphate.ph(298.15).is_err());
    }

    #[test]
    fn a_certified_value_shifts_all_temperatures() {
        let lot = BufferValue::certified(Buffer::Phosphate, 6.870, 25.0).unwrap();
        let published = BufferValue::published(Buffer::Phosphate);
        let shift = 6.870 - published.ph(25.0).unwrap();
        for t in [0.0, 11.3, 25.0, 95.0] {
            assert!((lot.ph(t).unwrap() - published.ph(t).unwrap() - shift).abs() < 1e-12);
            assert_eq!(lot.dph_dt(t), published.dph_dt(t));
        }
    }
}
