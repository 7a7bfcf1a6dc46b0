//! The kit: standards (buffers and redox solutions by lot) and instruments that the technician carries.
//!
//! Comes in: the keys `standards` and `instruments` of a kit file or of a visit. Goes out: a [`Kit`] and every problem.
//! Next: [`crate::visit`], whose readings name standards and instruments by their short names.

mod instruments;
mod standards;
mod table;

use crate::problem::Problem;
use crate::quantity::{Celsius, Date, Measured, Plain, Unit};
use crate::reference::buffers::BufferValue;
use crate::reference::redox::RedoxValue;
use crate::yaml::{Keys, Text, nearest};
use std::marker::PhantomData;

/// Standards and instruments, in file order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Kit {
    /// Standards by the technician's short names.
    pub standards: Vec<Standard>,
    /// Instruments by the technician's short names.
    pub instruments: Vec<Instrument>,
    /// Short names of standards and instruments whose entries have problems: declared, but not in the lists above, so
    /// that a reading which names one is not told a second time.
    pub unusable: Vec<String>,
}

/// One lot of a buffer or redox solution.
#[derive(Debug, Clone, PartialEq)]
pub struct Standard {
    /// Short name: `B4`.
    pub name: Text,
    /// What it is and which value it has at a temperature.
    pub kind: StandardKind,
    /// Name on the bottle, where the bottle's own value or table is used.
    pub label: Option<Text>,
    /// Certified value of the lot, or the bottle's single value, as typed.
    pub certified: Option<Certified>,
    /// Short name of the buffer that quinhydrone is stirred into.
    pub quinhydrone_in: Option<Text>,
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

/// A value at a temperature, as typed.
#[derive(Debug, Clone, PartialEq)]
pub struct Certified {
    /// Value, pH or mV.
    pub value: Measured<Plain>,
    /// Temperature at which it holds.
    pub at: Measured<Celsius>,
}

/// pH buffer or redox solution, with its value at any temperature at which it is known.
#[derive(Debug, Clone, PartialEq)]
pub enum StandardKind {
    /// A pH buffer.
    Buffer(BufferValue),
    /// A redox solution.
    Redox(RedoxValue),
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

impl Measurand {
    /// The words of the files.
    pub const WORDS: &[(&str, Measurand)] = &[
        ("temperature", Measurand::Temperature),
        ("potential", Measurand::Potential),
        ("current", Measurand::Current),
        ("resistance", Measurand::Resistance),
        ("pH", Measurand::Ph),
    ];

    /// As written in the files.
    pub fn word(self) -> &'static str {
        match self {
            Measurand::Temperature => "temperature",
            Measurand::Potential => "potential",
            Measurand::Current => "current",
            Measurand::Resistance => "resistance",
            Measurand::Ph => "pH",
        }
    }
}

impl Kit {
    /// Position of the standard of this short name.
    pub fn standard(&self, name: &str) -> Option<usize> {
        self.standards
            .iter()
            .position(|standard| standard.name.text == name)
    }

    /// Position of the instrument of this short name.
    pub fn instrument(&self, name: &str) -> Option<usize> {
        self.instruments
            .iter()
            .position(|instrument| instrument.name.text == name)
    }

    /// The short name of a standard that may be meant.
    pub fn suggest(&self, name: &str) -> Option<&str> {
        nearest(
            name,
            self.standards
                .iter()
                .map(|standard| standard.name.text.as_str()),
        )
    }

    /// Whether a standard or instrument of this short name was declared but has problems of its own.
    pub fn is_unusable(&self, name: &str) -> bool {
        self.unusable.iter().any(|unusable| unusable == name)
    }
}

/// Whether a file with these top keys is a kit file.
pub fn is_kind(top_keys: &[&str]) -> bool {
    let holds_kit = top_keys.contains(&"standards") || top_keys.contains(&"instruments");
    holds_kit
        && !["visit", "loops", "client", "firm"]
            .iter()
            .any(|key| top_keys.contains(key))
}

/// Reads `standards` and `instruments` of a kit file or a visit; the caller finishes the keys.
///
/// # Errors
/// Booked in the tree; an entry with problems is left out and named in [`Kit::unusable`].
pub fn check(keys: &mut Keys<'_>) -> Kit {
    let (standards, faulty) = keys
        .get("standards")
        .map(|at| standards::check(&at))
        .unwrap_or_default();
    let (instruments, broken) = keys
        .get("instruments")
        .map(|at| instruments::check(&at))
        .unwrap_or_default();
    Kit {
        standards,
        instruments,
        unusable: [faulty, broken].concat(),
    }
}

fn without_unit<U: Unit>(typed: Measured<U>) -> Measured<Plain> {
    Measured {
        value: typed.value,
        step: typed.step,
        text: typed.text,
        place: typed.place,
        unit: PhantomData,
    }
}

/// `expanded_uncertainty` in the unit `U`: above zero.
fn expanded_uncertainty<U: Unit>(keys: &mut Keys<'_>) -> Option<Measured<Plain>> {
    let at = keys.get("expanded_uncertainty")?;
    let typed = at.number::<U>()?;
    if typed.value > 0.0 {
        return Some(without_unit(typed));
    }
    at.tell(Problem::error(
        "uncertainty-not-positive",
        &typed.place,
        format!("found `{}`", typed.text),
        "an expanded uncertainty is above zero: no certificate is exact",
        "write U as printed on the certificate, or leave the key out (a common value is then assumed and printed so)",
    ));
    None
}

/// Coverage factors outside this are a slip.
///
/// Source: JCGM 100:2008, table G.2: k = 2 for about 95 % and many degrees of freedom, 3 for 99.7 %, up to 4.53 for 2
/// degrees of freedom; certificates quote 2 in nearly every case (common practice, no source).
const USUAL_COVERAGE: std::ops::RangeInclusive<f64> = 1.0..=4.0;

/// `coverage_factor`: above zero, usually 2.
fn coverage_factor(keys: &mut Keys<'_>) -> Option<Measured<Plain>> {
    let at = keys.get("coverage_factor")?;
    let typed = at.number::<Plain>()?;
    let what = format!("found `{}`", typed.text);
    let fix = "write k as printed on the certificate (usually 2), or leave the key out (2 is then assumed and printed so)";
    if typed.value <= 0.0 {
        let why = "a coverage factor is above zero: it divides the expanded uncertainty";
        at.tell(Problem::error(
            "coverage-factor-not-positive",
            &typed.place,
            what,
            why,
            fix,
        ));
        return None;
    }
    if !USUAL_COVERAGE.contains(&typed.value) {
        let why = "certificates use coverage factors from 1 to 4; a confidence level in percent is not one";
        at.tell(Problem::warning(
            "coverage-factor-unusual",
            &typed.place,
            what,
            why,
            fix,
        ));
    }
    Some(typed)
}
