//! The limits file: what is demanded, by whom, under which decision rule; and the judging of one value.
//!
//! Comes in: the tree of a limits file. Goes out: [`Limits`] and every problem; [`judge`] says how a value stands
//! against one [`Limit`]. Next: [`crate::record`].

use crate::quantity::Date;
use crate::yaml::Text;

/// A named, dated set of limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    /// Name; the built-in set is called `built-in`.
    pub name: String,
    /// Revision as typed.
    pub revision: Option<String>,
    /// First day on which it holds.
    pub effective: Option<Date>,
    /// Who approved it.
    pub approved_by: Option<Text>,
    /// What it rests on.
    pub basis: Option<Text>,
    /// Whether it is the built-in set.
    pub built_in: bool,
    /// Regime: what must be present.
    pub requirements: Regime,
    /// Decision rule.
    pub decision: Decision,
    /// Reproducibility of taking a probe from buffer to buffer: standard uncertainty in mV, degrees of freedom.
    pub reproducibility: Option<Reproducibility>,
    /// Limits for pH loops.
    pub ph: Vec<(Criterion, Limit)>,
    /// Limits for redox loops.
    pub redox: Vec<(Criterion, Limit)>,
}

/// Declared reproducibility.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reproducibility {
    /// Standard uncertainty in mV.
    pub u_mv: f64,
    /// Degrees of freedom.
    pub dof: f64,
}

/// What must be present and which warnings become errors.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Regime {
    /// Plain industrial client.
    #[default]
    Plain,
    /// Drinking- or waste-water permit.
    Permit,
    /// Pharmaceutical GMP.
    Gmp,
    /// Laboratory working to ISO/IEC 17025.
    Laboratory,
}

/// Decision rule.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Decision {
    /// Simple acceptance: a value on the limit is inside.
    #[default]
    Simple,
    /// Guard band of this multiple of the expanded uncertainty.
    Guarded(f64),
}

/// What is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Criterion {
    /// Slope in percent of theoretical.
    Slope,
    /// Offset in mV of the fit at pH 7.
    Offset,
    /// Error of each shown value as found, pH or mV.
    AsFoundError,
    /// Error of each shown value as left, pH or mV.
    AsLeftError,
    /// Redox gain in percent.
    Gain,
    /// Error at a standard that was not used to calibrate, pH or mV.
    CheckStandard,
    /// Error of the shown temperature, °C.
    Temperature,
    /// Error of the output and of the control room in percent of span.
    Output,
    /// Difference to a sample, pH or mV.
    Sample,
    /// Time to within 0.01 pH, s.
    Settling,
    /// Age of the junction in months.
    JunctionAge,
}

/// One bound with the text as typed.
#[derive(Debug, Clone, PartialEq)]
pub struct Bound {
    /// Value in the unit of the criterion.
    pub value: f64,
    /// Digits after the decimal point as typed (`0.10` → 2).
    pub decimals: usize,
}

/// The bounds of one criterion. `beyond` bounds the magnitude.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Limit {
    /// Warn below.
    pub warn_below: Option<Bound>,
    /// Warn above.
    pub warn_above: Option<Bound>,
    /// Warn when the magnitude is larger.
    pub warn_beyond: Option<Bound>,
    /// Fail below.
    pub fail_below: Option<Bound>,
    /// Fail above.
    pub fail_above: Option<Bound>,
    /// Fail when the magnitude is larger.
    pub fail_beyond: Option<Bound>,
}
