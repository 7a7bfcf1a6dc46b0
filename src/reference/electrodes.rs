//! Reference electrodes.
//!
//! Comes in: the name of an electrode and a temperature in °C. Goes out: its potential against hydrogen in mV, or a
//! potential converted from one electrode to another. Next: [`super::redox`], the checks of kit and visit.
//!
//! Convention: the liquid junction is included (saturated calomel 244 mV at 25 °C; 241.2 mV without the junction is the
//! other convention in print). Published tables differ by 2 mV to 4 mV for this reason; Ag/AgCl 3 mol/L is printed with
//! 201 mV to 210 mV at 25 °C.

use super::{OutOfRange, Range, between_rows, rows_per_degree, rows_range};

/// A reference electrode by its filling; a sort order for lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ReferenceElectrode {
    /// Silver/silver chloride in 3 mol/L KCl.
    SilverChloride3,
    /// Silver/silver chloride in 3.5 mol/L KCl.
    SilverChloride3_5,
    /// Silver/silver chloride in saturated KCl.
    SilverChlorideSaturated,
    /// Calomel in 0.1 mol/L KCl.
    Calomel0_1,
    /// Calomel in 1 mol/L KCl.
    Calomel1,
    /// Calomel in 3.5 mol/L KCl.
    Calomel3_5,
    /// Calomel in saturated KCl.
    CalomelSaturated,
    /// Standard hydrogen electrode: 0 mV at every temperature by convention.
    Hydrogen,
}

/// A temperature for which an electrode's potential is not tabulated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ElectrodeOutOfRange {
    /// The electrode.
    pub electrode: ReferenceElectrode,
    /// The temperature and the range.
    pub out_of_range: OutOfRange,
}

/// Ag/AgCl 3 mol/L against hydrogen, `[°C, mV]`.
///
/// Source: USGS, National Field Manual, chapter A6.5; 20 °C as quoted publicly, the other rows from memory.
const SILVER_CHLORIDE_3: [[f64; 2]; 5] = [[10.0, 220.0], [15.0, 216.0], [20.0, 213.0], [25.0, 209.0], [30.0, 205.0]];

/// Ag/AgCl 3.5 mol/L against hydrogen, `[°C, mV]`.
///
/// Source: Sawyer, Sobkowiak, Roberts, Electrochemistry for Chemists, 2nd edition, Wiley 1995, table of reference
/// electrodes (liquid junction included), as quoted publicly.
const SILVER_CHLORIDE_3_5: [[f64; 2]; 7] =
    [[10.0, 215.0], [15.0, 212.0], [20.0, 208.0], [25.0, 205.0], [30.0, 201.0], [35.0, 197.0], [40.0, 193.0]];

/// Ag/AgCl in saturated KCl against hydrogen, `[°C, mV]`.
///
/// Source: as [`SILVER_CHLORIDE_3_5`].
const SILVER_CHLORIDE_SATURATED: [[f64; 2]; 7] =
    [[10.0, 214.0], [15.0, 209.0], [20.0, 204.0], [25.0, 199.0], [30.0, 194.0], [35.0, 189.0], [40.0, 184.0]];

/// Calomel 0.1 mol/L against hydrogen, `[°C, mV]`.
///
/// Source: as [`SILVER_CHLORIDE_3_5`].
const CALOMEL_0_1: [[f64; 2]; 7] =
    [[10.0, 336.0], [15.0, 336.0], [20.0, 336.0], [25.0, 336.0], [30.0, 335.0], [35.0, 334.0], [40.0, 334.0]];

/// Calomel 1 mol/L against hydrogen, `[°C, mV]`.
///
/// Source: as [`SILVER_CHLORIDE_3_5`].
const CALOMEL_1: [[f64; 2]; 5] = [[10.0, 287.0], [20.0, 284.0], [25.0, 283.0], [30.0, 282.0], [40.0, 278.0]];

/// Calomel 3.5 mol/L against hydrogen, `[°C, mV]`.
///
/// Source: as [`SILVER_CHLORIDE_3_5`].
const CALOMEL_3_5: [[f64; 2]; 7] =
    [[10.0, 256.0], [15.0, 254.0], [20.0, 252.0], [25.0, 250.0], [30.0, 248.0], [35.0, 246.0], [40.0, 244.0]];

/// Calomel in saturated KCl against hydrogen, `[°C, mV]`.
///
/// Source: as [`SILVER_CHLORIDE_3_5`].
const CALOMEL_SATURATED: [[f64; 2]; 7] =
    [[10.0, 254.0], [15.0, 251.0], [20.0, 248.0], [25.0, 244.0], [30.0, 241.0], [35.0, 238.0], [40.0, 234.0]];

/// Hydrogen against itself, `[°C, mV]`; the range is that of water as a liquid.
///
/// Source: convention of the standard hydrogen electrode, IUPAC Compendium of Chemical Terminology (Gold Book).
const HYDROGEN: [[f64; 2]; 2] = [[0.0, 0.0], [100.0, 0.0]];

impl ReferenceElectrode {
    /// All electrodes, as listed in the format reference.
    pub const ALL: [ReferenceElectrode; 8] = [
        ReferenceElectrode::SilverChloride3,
        ReferenceElectrode::SilverChloride3_5,
        ReferenceElectrode::SilverChlorideSaturated,
        ReferenceElectrode::Calomel0_1,
        ReferenceElectrode::Calomel1,
        ReferenceElectrode::Calomel3_5,
        ReferenceElectrode::CalomelSaturated,
        ReferenceElectrode::Hydrogen,
    ];

    /// As written in a kit or visit file.
    pub fn name(self) -> &'static str {
        match self {
            ReferenceElectrode::SilverChloride3 => "Ag/AgCl 3 mol/L",
            ReferenceElectrode::SilverChloride3_5 => "Ag/AgCl 3.5 mol/L",
            ReferenceElectrode::SilverChlorideSaturated => "Ag/AgCl saturated",
            ReferenceElectrode::Calomel0_1 => "calomel 0.1 mol/L",
            ReferenceElectrode::Calomel1 => "calomel 1 mol/L",
            ReferenceElectrode::Calomel3_5 => "calomel 3.5 mol/L",
            ReferenceElectrode::CalomelSaturated => "calomel saturated",
            ReferenceElectrode::Hydrogen => "hydrogen",
        }
    }

    /// The electrode of exactly this name.
    pub fn from_name(name: &str) -> Option<ReferenceElectrode> {
        ReferenceElectrode::ALL.into_iter().find(|electrode| electrode.name() == name)
    }

    /// The electrodes that other common words may mean (`SCE`, `SHE`, `Ag/AgCl 3M KCl`): to be suggested, never taken.
    pub fn suggested(typed: &str) -> Vec<ReferenceElectrode> {
        let typed = typed.to_lowercase();
        let has = |word: &str| typed.contains(word);
        let silver = has("ag") || has("silver");
        let calomel = has("calomel") || has("hg") || has("sce");
        let saturated = has("sat") || has("sce");
        let filling = typed
            .split(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','))
            .find_map(|number| number.replace(',', ".").parse::<f64>().ok());
        if has("she") || has("nhe") || has("hydrogen") {
            return vec![ReferenceElectrode::Hydrogen];
        }
        let kind_fits = |name: &str| (silver && name.starts_with("Ag")) || (calomel && name.starts_with("calomel"));
        let filling_fits = |name: &str| match (saturated, filling) {
            (true, _) => name.ends_with("saturated"),
            (false, Some(mol)) => name.contains(&format!(" {mol} mol/L")),
            (false, None) => true,
        };
        ReferenceElectrode::ALL.into_iter().filter(|e| kind_fits(e.name()) && filling_fits(e.name())).collect()
    }

    /// Rows `[°C, mV against hydrogen]`, liquid junction included.
    fn rows(self) -> &'static [[f64; 2]] {
        match self {
            ReferenceElectrode::SilverChloride3 => &SILVER_CHLORIDE_3,
            ReferenceElectrode::SilverChloride3_5 => &SILVER_CHLORIDE_3_5,
            ReferenceElectrode::SilverChlorideSaturated => &SILVER_CHLORIDE_SATURATED,
            ReferenceElectrode::Calomel0_1 => &CALOMEL_0_1,
            ReferenceElectrode::Calomel1 => &CALOMEL_1,
            ReferenceElectrode::Calomel3_5 => &CALOMEL_3_5,
            ReferenceElectrode::CalomelSaturated => &CALOMEL_SATURATED,
            ReferenceElectrode::Hydrogen => &HYDROGEN,
        }
    }

    /// Where the potential is tabulated.
    pub fn range(self) -> Range {
        rows_range(self.rows())
    }

    /// Potential against hydrogen in mV at a temperature in °C, liquid junction included, linear between the rows.
    ///
    /// # Errors
    /// [`ElectrodeOutOfRange`] outside the table.
    pub fn mv_against_hydrogen(self, temperature_c: f64) -> Result<f64, ElectrodeOutOfRange> {
        between_rows(self.rows(), temperature_c)
            .map_err(|out_of_range| ElectrodeOutOfRange { electrode: self, out_of_range })
    }

    /// Change of the potential against hydrogen in mV per °C: at a row the mean of both sides, at an end row the inner
    /// side.
    ///
    /// # Errors
    /// [`ElectrodeOutOfRange`] outside the table.
    pub fn mv_per_degree(self, temperature_c: f64) -> Result<f64, ElectrodeOutOfRange> {
        rows_per_degree(self.rows(), temperature_c)
            .map_err(|out_of_range| ElectrodeOutOfRange { electrode: self, out_of_range })
    }
}

/// A potential in mV measured against one electrode, as it would be against another at the same temperature (°C):
/// E(against B) = E(against A) + E_A(T) − E_B(T). The same electrode twice needs no table and is never out of range.
///
/// # Errors
/// [`ElectrodeOutOfRange`] when one of two different electrodes is not tabulated at the temperature.
pub fn convert_mv(
    mv: f64,
    from: ReferenceElectrode,
    to: ReferenceElectrode,
    temperature_c: f64,
) -> Result<f64, ElectrodeOutOfRange> {
    if from == to {
        return Ok(mv);
    }
    Ok(mv + from.mv_against_hydrogen(temperature_c)? - to.mv_against_hydrogen(temperature_c)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_leads_back_to_its_electrode() {
        for electrode in ReferenceElectrode::ALL {
            assert_eq!(ReferenceElectrode::from_name(electrode.name()), Some(electrode));
        }
        assert_eq!(ReferenceElectrode::from_name("ag/agcl 3 mol/L"), None);
    }

    #[test]
    fn other_words_are_suggested_not_taken() {
        assert_eq!(ReferenceElectrode::suggested("SCE"), [ReferenceElectrode::CalomelSaturated]);
        assert_eq!(ReferenceElectrode::suggested("SHE"), [ReferenceElectrode::Hydrogen]);
        assert_eq!(ReferenceElectrode::suggested("Ag/AgCl 3M KCl"), [ReferenceElectrode::SilverChloride3]);
        assert_eq!(ReferenceElectrode::suggested("silver chloride, 3,5 M"), [ReferenceElectrode::SilverChloride3_5]);
        assert_eq!(ReferenceElectrode::suggested("Ag/AgCl").len(), 3);
        assert!(ReferenceElectrode::suggested("platinum").is_empty());
    }

    #[test]
    fn conversion_is_linear_between_rows_and_there_and_back() {
        let (silver, calomel) = (ReferenceElectrode::SilverChloride3_5, ReferenceElectrode::CalomelSaturated);
        let against_silver = convert_mv(100.0, calomel, silver, 22.5).unwrap();
        assert!((against_silver - (100.0 + 246.0 - 206.5)).abs() < 1e-12);
        assert!((convert_mv(against_silver, silver, calomel, 22.5).unwrap() - 100.0).abs() < 1e-12);
    }

    #[test]
    fn the_same_electrode_needs_no_table() {
        let silver = ReferenceElectrode::SilverChloride3;
        assert_eq!(convert_mv(228.0, silver, silver, 4.0), Ok(228.0));
        let refused = convert_mv(228.0, silver, ReferenceElectrode::Hydrogen, 4.0).unwrap_err();
        assert_eq!(refused.electrode, silver);
        assert_eq!(refused.out_of_range.range, Range { from_c: 10.0, to_c: 30.0 });
    }
}
