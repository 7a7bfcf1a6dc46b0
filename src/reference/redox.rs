//! Redox (ORP) solutions.
//!
//! Comes in: a solution's name, or what its bottle says, a temperature in °C and the reference electrode of the probe.
//! Goes out: the potential in mV that the probe should give, or why it cannot be told. Next: [`crate::engine::redox`].
//!
//! Published values differ: ZoBell's solution is 428 mV or 430 mV against hydrogen at 25 °C, and another published
//! equation is steeper by up to 11 mV at 1 °C; the scale used here is that of Standard Methods. Potentials against
//! another electrode are converted with [`super::electrodes`].

use super::buffers::{Buffer, BufferValue};
use super::electrodes::{ElectrodeOutOfRange, ReferenceElectrode, convert_mv};
use super::{OutOfRange, Range, Table, TableError, ZERO_CELSIUS_K, slope_mv_per_ph};

/// ZoBell's solution against hydrogen: mV at 25 °C and mV per °C; holds where the table has rows.
///
/// Source: APHA, Standard Methods for the Examination of Water and Wastewater, method 2580, Table 2580:I: 481 mV at 1 °C
/// to 417 mV at 30 °C, printed as 428 − 2.2·(t − 25), which meets each row within 0.4 mV; as quoted publicly.
const ZOBELL_25_MV: f64 = 428.0;
/// Source: as [`ZOBELL_25_MV`].
const ZOBELL_MV_PER_C: f64 = -2.2;
/// Source: as [`ZOBELL_25_MV`].
const ZOBELL_RANGE: Range = Range { from_c: 1.0, to_c: 30.0 };

/// Light's solution against hydrogen at 25 °C in mV; no table by temperature was found.
///
/// Source: APHA, Standard Methods for the Examination of Water and Wastewater, method 2580, Table 2580:I; as quoted publicly.
const LIGHT_25_MV: f64 = 675.0;

/// Quinhydrone against hydrogen at pH 0: mV at 25 °C and mV per °C.
///
/// Source: H. S. Harned, D. D. Wright, J. Am. Chem. Soc. 55 (1933) 4849, 0 °C to 40 °C; from memory, within 1 mV. ASTM D1498
/// (from memory) tabulates 462 mV and 285 mV at 25 °C in pH 4 and pH 7 buffer, which this meets within 1 mV.
const QUINHYDRONE_25_MV: f64 = 699.5;
/// Source: as [`QUINHYDRONE_25_MV`].
const QUINHYDRONE_MV_PER_C: f64 = -0.74;
/// Source: as [`QUINHYDRONE_25_MV`].
const QUINHYDRONE_RANGE: Range = Range { from_c: 0.0, to_c: 40.0 };

/// Highest pH of a buffer in which quinhydrone gives a stable potential.
///
/// Source: common practice, no source: above about pH 8 hydroquinone dissociates and air oxidises it.
pub const QUINHYDRONE_MAX_PH: f64 = 8.0;

/// How far from its temperature a single value may be used, °C.
///
/// Source: our own choice: no published solution changes by more than 5 mV over it.
pub const SINGLE_VALUE_WITHIN_C: f64 = 2.0;

/// A redox solution with a published potential.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RedoxSolution {
    /// ZoBell's: potassium ferrocyanide and ferricyanide in potassium chloride.
    Zobell,
    /// Light's: iron(II) and iron(III) ammonium sulphate in sulphuric acid.
    Light,
    /// A pH buffer saturated with quinhydrone.
    Quinhydrone,
}

impl RedoxSolution {
    /// All solutions.
    pub const ALL: [RedoxSolution; 3] = [RedoxSolution::Zobell, RedoxSolution::Light, RedoxSolution::Quinhydrone];

    /// As written in a kit file.
    pub fn name(self) -> &'static str {
        match self {
            RedoxSolution::Zobell => "zobell",
            RedoxSolution::Light => "light",
            RedoxSolution::Quinhydrone => "quinhydrone",
        }
    }

    /// The solution of exactly this name.
    pub fn from_name(name: &str) -> Option<RedoxSolution> {
        RedoxSolution::ALL.into_iter().find(|solution| solution.name() == name)
    }

    /// The solutions that other words may mean (`ZoBell's`, `ferricyanide`): to be suggested, never taken.
    pub fn suggested(typed: &str) -> Vec<RedoxSolution> {
        let typed = typed.to_lowercase();
        let has = |words: &[&str]| words.iter().any(|word| typed.contains(word));
        RedoxSolution::ALL
            .into_iter()
            .filter(|solution| match solution {
                RedoxSolution::Zobell => has(&["zobell", "zo bell", "cyanide"]),
                RedoxSolution::Light => has(&["light", "ferrous", "iron", "ammonium"]),
                RedoxSolution::Quinhydrone => has(&["quinhydron", "chinhydron", "quinhidron"]),
            })
            .collect()
    }
}

/// What a redox standard's potential rests on.
#[derive(Debug, Clone, PartialEq)]
pub enum RedoxValue {
    /// ZoBell's solution, 1 °C to 30 °C.
    Zobell,
    /// Light's solution, 23 °C to 27 °C.
    Light,
    /// Quinhydrone in a buffer, 0 °C to 40 °C within the buffer's own range.
    Quinhydrone(BufferValue),
    /// The bottle's own table, `[°C, mV]`, against an electrode.
    Table {
        /// Potentials by temperature.
        table: Table,
        /// The electrode they are against.
        against: ReferenceElectrode,
    },
    /// One value of the bottle's, good within [`SINGLE_VALUE_WITHIN_C`] of its temperature.
    Single {
        /// Potential, mV.
        mv: f64,
        /// Its temperature, °C.
        at_c: f64,
        /// The electrode it is against.
        against: ReferenceElectrode,
    },
}

/// Why a solution's potential cannot be told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RedoxError {
    /// The solution's source does not hold at the temperature.
    Solution(OutOfRange),
    /// An electrode is not tabulated at the temperature.
    Electrode(ElectrodeOutOfRange),
    /// Quinhydrone in a buffer above [`QUINHYDRONE_MAX_PH`].
    QuinhydroneTooAlkaline {
        /// pH of the buffer at the temperature.
        ph: f64,
    },
}

impl RedoxValue {
    /// The table on a bottle, rows `[°C, mV]` in any order, against an electrode.
    ///
    /// # Errors
    /// [`TableError`] when the rows make no table.
    pub fn bottle(rows: &[[f64; 2]], against: ReferenceElectrode) -> Result<RedoxValue, TableError> {
        Ok(RedoxValue::Table { table: Table::new(rows)?, against })
    }

    /// The electrode that the source's potentials are against.
    pub fn against(&self) -> ReferenceElectrode {
        match self {
            RedoxValue::Zobell | RedoxValue::Light | RedoxValue::Quinhydrone(_) => ReferenceElectrode::Hydrogen,
            RedoxValue::Table { against, .. } | RedoxValue::Single { against, .. } => *against,
        }
    }

    /// Where the source holds; an electrode's table may be narrower.
    pub fn range(&self) -> Range {
        let around = |t: f64| Range { from_c: t - SINGLE_VALUE_WITHIN_C, to_c: t + SINGLE_VALUE_WITHIN_C };
        match self {
            RedoxValue::Zobell => ZOBELL_RANGE,
            RedoxValue::Light => around(25.0),
            RedoxValue::Quinhydrone(buffer) => QUINHYDRONE_RANGE.overlap(buffer.range()),
            RedoxValue::Table { table, .. } => table.range(),
            RedoxValue::Single { at_c, .. } => around(*at_c),
        }
    }

    /// Potential in mV at a temperature in °C, against the probe's reference electrode.
    ///
    /// # Errors
    /// [`RedoxError`]: the temperature is outside the solution's or an electrode's range, or the buffer is too alkaline.
    ///
    /// ```
    /// use halfcell::reference::{electrodes::ReferenceElectrode, redox::RedoxValue};
    /// let mv = RedoxValue::Zobell.mv(25.0, ReferenceElectrode::SilverChlorideSaturated).unwrap();
    /// assert!((mv - 229.0).abs() < 1e-9);
    /// ```
    pub fn mv(&self, temperature_c: f64, against: ReferenceElectrode) -> Result<f64, RedoxError> {
        let t = self.range().admit(temperature_c).map_err(RedoxError::Solution)?;
        let mv = match self {
            RedoxValue::Zobell => ZOBELL_25_MV + ZOBELL_MV_PER_C * (t - 25.0),
            RedoxValue::Light => LIGHT_25_MV,
            RedoxValue::Quinhydrone(buffer) => quinhydrone_mv(buffer, t)?,
            RedoxValue::Table { table, .. } => table.value(t).map_err(RedoxError::Solution)?,
            RedoxValue::Single { mv, .. } => *mv,
        };
        convert_mv(mv, self.against(), against, t).map_err(RedoxError::Electrode)
    }

    /// Change of [`RedoxValue::mv`] per °C, mV; 0 for a source with a single value.
    ///
    /// # Errors
    /// As [`RedoxValue::mv`].
    pub fn mv_per_degree(&self, temperature_c: f64, against: ReferenceElectrode) -> Result<f64, RedoxError> {
        let t = self.range().admit(temperature_c).map_err(RedoxError::Solution)?;
        let own = match self {
            RedoxValue::Zobell => ZOBELL_MV_PER_C,
            RedoxValue::Quinhydrone(buffer) => quinhydrone_mv_per_c(buffer, t).map_err(RedoxError::Solution)?,
            RedoxValue::Table { table, .. } => table.per_degree(t).map_err(RedoxError::Solution)?,
            RedoxValue::Light | RedoxValue::Single { .. } => 0.0,
        };
        if self.against() == against {
            return Ok(own);
        }
        let of = |electrode: ReferenceElectrode| electrode.mv_per_degree(t).map_err(RedoxError::Electrode);
        Ok(own + of(self.against())? - of(against)?)
    }
}

/// Change of [`quinhydrone_mv`] per °C.
fn quinhydrone_mv_per_c(buffer: &BufferValue, t: f64) -> Result<f64, OutOfRange> {
    let k = slope_mv_per_ph(t);
    Ok(QUINHYDRONE_MV_PER_C - k / (t + ZERO_CELSIUS_K) * buffer.ph(t)? - k * buffer.dph_dt(t)?)
}

/// Quinhydrone in a buffer against hydrogen, mV.
fn quinhydrone_mv(buffer: &BufferValue, t: f64) -> Result<f64, RedoxError> {
    let ph = buffer.ph(t).map_err(RedoxError::Solution)?;
    if ph > QUINHYDRONE_MAX_PH {
        return Err(RedoxError::QuinhydroneTooAlkaline { ph });
    }
    Ok(QUINHYDRONE_25_MV + QUINHYDRONE_MV_PER_C * (t - 25.0) - slope_mv_per_ph(t) * ph)
}

/// Buffers that quinhydrone can be put in: below [`QUINHYDRONE_MAX_PH`] at 25 °C.
pub fn quinhydrone_buffers() -> impl Iterator<Item = Buffer> {
    Buffer::ALL.into_iter().filter(|buffer| buffer.nominal_ph() <= QUINHYDRONE_MAX_PH)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn change_per_degree_is_that_of_the_potential() {
        let table = RedoxValue::bottle(&[[20.0, 231.0], [30.0, 224.0]], ReferenceElectrode::SilverChloride3).unwrap();
        let buffer = BufferValue::published(Buffer::Phosphate);
        for value in [RedoxValue::Zobell, table, RedoxValue::Quinhydrone(buffer)] {
            for against in [ReferenceElectrode::SilverChloride3, ReferenceElectrode::Hydrogen] {
                let [below, above] = [21.9, 22.1].map(|t| value.mv(t, against).unwrap());
                let told = value.mv_per_degree(22.0, against).unwrap();
                assert!((told - (above - below) / 0.2).abs() < 1e-5, "{value:?}: {told}");
            }
        }
    }

    #[test]
    fn every_name_leads_back_to_its_solution() {
        for solution in RedoxSolution::ALL {
            assert_eq!(RedoxSolution::from_name(solution.name()), Some(solution));
            assert_eq!(RedoxSolution::suggested(&solution.name().to_uppercase()), [solution]);
        }
        assert!(RedoxSolution::suggested("bottle label").is_empty());
    }

    #[test]
    fn a_single_value_holds_within_two_degrees() {
        let silver = ReferenceElectrode::SilverChloride3;
        let single = RedoxValue::Single { mv: 228.0, at_c: 25.0, against: silver };
        assert_eq!(single.mv(27.0, silver), Ok(228.0));
        assert_eq!(single.mv(23.0, silver), Ok(228.0));
        let refused = single.mv(27.1, silver).unwrap_err();
        let range = Range { from_c: 23.0, to_c: 27.0 };
        assert_eq!(refused, RedoxError::Solution(OutOfRange { temperature_c: 27.1, range }));
    }

    #[test]
    fn a_bottle_table_is_converted_to_the_probe() {
        let silver = ReferenceElectrode::SilverChloride3;
        let bottle = RedoxValue::bottle(&[[20.0, 231.0], [25.0, 228.0]], silver).unwrap();
        assert!((bottle.mv(22.5, silver).unwrap() - 229.5).abs() < 1e-9);
        let against_hydrogen = bottle.mv(25.0, ReferenceElectrode::Hydrogen).unwrap();
        assert!((against_hydrogen - (228.0 + 209.0)).abs() < 1e-9);
    }

    #[test]
    fn quinhydrone_is_refused_in_an_alkaline_buffer() {
        let borax = RedoxValue::Quinhydrone(BufferValue::published(Buffer::Borax));
        let refused = borax.mv(25.0, ReferenceElectrode::Hydrogen).unwrap_err();
        assert!(matches!(refused, RedoxError::QuinhydroneTooAlkaline { ph } if (ph - 9.18).abs() < 0.001));
        assert!(!quinhydrone_buffers().any(|buffer| buffer == Buffer::Borax));
        assert_eq!(quinhydrone_buffers().count(), 7);
    }

    #[test]
    fn a_cold_electrode_is_named_as_the_reason() {
        let refused = RedoxValue::Zobell.mv(5.0, ReferenceElectrode::CalomelSaturated).unwrap_err();
        assert!(matches!(refused, RedoxError::Electrode(e) if e.electrode == ReferenceElectrode::CalomelSaturated));
        assert!((RedoxValue::Zobell.mv(5.0, ReferenceElectrode::Hydrogen).unwrap() - 472.0).abs() < 1e-9);
    }
}
