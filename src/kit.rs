//! The kit: standards (buffers and redox solutions by lot) and instruments that the technician carries.
//!
//! Comes in: the tree of a kit file, or the keys `standards` and `instruments` of a visit. Goes out: a [`Kit`] and
//! every problem. Next: [`crate::visit`], whose readings name standards and instruments by their short names.

use crate::quantity::{Date, Measured, Plain};
use crate::yaml::Text;

/// Standards and instruments, in file order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Kit {
    /// Standards by the technician's short names.
    pub standards: Vec<Standard>,
    /// Instruments by the technician's short names.
    pub instruments: Vec<Instrument>,
}

/// One lot of a buffer or redox solution.
#[derive(Debug, Clone, PartialEq)]
pub struct Standard {
    /// Short name: `B4`.
    pub name: Text,
    /// What it is and which value it has at a temperature.
    pub kind: StandardKind,
    /// Maker.
    pub maker: Option<Text>,
    /// Lot number.
    pub lot: Option<Text>,
    /// Last day of use.
    pub expires: Option<Date>,
    /// Day it was opened.
    pub opened: Option<Date>,
    /// Certificate of the lot.
    pub certificate: Option<Text>,
    /// Expanded uncertainty in pH or mV.
    pub expanded_uncertainty: Option<Measured<Plain>>,
    /// Coverage factor; absent: 2, printed as assumed.
    pub coverage_factor: Option<Measured<Plain>>,
}

/// pH buffer or redox solution.
#[derive(Debug, Clone, PartialEq)]
pub enum StandardKind {
    /// A pH buffer.
    Buffer(crate::reference::buffers::BufferValue),
    /// A redox solution.
    Redox(RedoxStandard),
}

/// A redox solution of the kit.
#[derive(Debug, Clone, PartialEq)]
pub enum RedoxStandard {
    /// A published or bottle's solution.
    Solution(crate::reference::redox::RedoxValue),
    /// Quinhydrone stirred into the buffer of this short name.
    QuinhydroneIn(Text),
}

/// A measuring instrument of the kit.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// Short name: `T88`.
    pub name: Text,
    /// What it measures.
    pub measures: Measurand,
    /// Maker.
    pub make: Option<Text>,
    /// Model.
    pub model: Option<Text>,
    /// Serial number.
    pub serial: Option<Text>,
    /// Calibration certificate.
    pub certificate: Option<Text>,
    /// Day of its calibration.
    pub calibrated: Option<Date>,
    /// Last day on which the calibration holds.
    pub due: Option<Date>,
    /// Expanded uncertainty in the unit of what it measures (°C, mV, mA, Ω, pH).
    pub expanded_uncertainty: Option<Measured<Plain>>,
    /// Coverage factor; absent: 2, printed as assumed.
    pub coverage_factor: Option<Measured<Plain>>,
}

/// What an instrument measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measurand {
    /// Temperature, °C.
    Temperature,
    /// Potential, mV.
    Potential,
    /// Current, mA.
    Current,
    /// Resistance, Ω.
    Resistance,
    /// pH.
    Ph,
}
