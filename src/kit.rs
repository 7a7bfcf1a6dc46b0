//! The kit: standards (buffers and redox solutions by lot) and instruments that the technician carries.
//!
//! Comes in: the keys `standards` and `instruments` of a kit file or of a visit. Goes out: a [`Kit`] and every problem.
//! Next: [`crate::visit`], whose readings name standards and instruments by their short names.

mod instruments;
mod standards;
mod table;

use crate::problem::{Fact, Problem};
use crate::quantity::{Celsius, Date, Measured, Plain, Unit};
use crate::reference::buffers::BufferValue;
use crate::reference::redox::RedoxValue;
use crate::yaml::{Keys, Text, nearest};
use std::collections::{BTreeSet, HashMap};
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
    pub unusable: BTreeSet<String>,
    /// Positions of the standards and of the instruments by their short names.
    positions: [HashMap<String, usize>; 2],
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
        self.positions[0].get(name).copied()
    }

    /// Position of the instrument of this short name.
    pub fn instrument(&self, name: &str) -> Option<usize> {
        self.positions[1].get(name).copied()
    }

    /// The short name of a standard that may be meant.
    pub fn suggest(&self, name: &str) -> Option<&str> {
        nearest(name, self.standards.iter().map(|standard| standard.name.text.as_str()))
    }

    /// Whether a standard or instrument of this short name was declared but has problems of its own.
    pub fn is_unusable(&self, name: &str) -> bool {
        self.unusable.contains(name)
    }
}

/// Whether a file with these top keys is a kit file.
pub fn is_kind(top_keys: &[&str]) -> bool {
    let holds_kit = top_keys.contains(&"standards") || top_keys.contains(&"instruments");
    holds_kit && !["visit", "loops", "client", "firm"].iter().any(|key| top_keys.contains(key))
}

/// Reads `standards` and `instruments` of a kit file or a visit; the caller finishes the keys.
///
/// # Errors
/// Booked in the tree; an entry with problems is left out and named in [`Kit::unusable`].
pub fn check(keys: &mut Keys<'_>) -> Kit {
    let (standards, faulty) = keys.get("standards").map(|at| standards::check(&at)).unwrap_or_default();
    let (instruments, broken) = keys.get("instruments").map(|at| instruments::check(&at)).unwrap_or_default();
    let positions = [
        positions(standards.iter().map(|standard: &Standard| &standard.name)),
        positions(instruments.iter().map(|instrument: &Instrument| &instrument.name)),
    ];
    Kit { standards, instruments, unusable: faulty.into_iter().chain(broken).collect(), positions }
}

fn positions<'a>(names: impl Iterator<Item = &'a Text>) -> HashMap<String, usize> {
    names.enumerate().map(|(position, name)| (name.text.clone(), position)).collect()
}

fn without_unit<U: Unit>(typed: Measured<U>) -> Measured<Plain> {
    Measured { value: typed.value, step: typed.step, text: typed.text, place: typed.place, unit: PhantomData }
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
    let fix =
        "write k as printed on the certificate (usually 2), or leave the key out (2 is then assumed and printed so)";
    if typed.value <= 0.0 {
        let why = "a coverage factor is above zero: it divides the expanded uncertainty";
        at.tell(Problem::error("coverage-factor-not-positive", &typed.place, what, why, fix));
        return None;
    }
    if !USUAL_COVERAGE.contains(&typed.value) {
        let why = "certificates use coverage factors from 1 to 4; a confidence level in percent is not one";
        at.tell(
            Problem::warning("coverage-factor-unusual", &typed.place, what, why, fix)
                .about([("factor", Fact::typed(&typed.text))]),
        );
    }
    Some(typed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Severity;

    /// The kit of a file and every problem as severity, code, line, column, fix.
    pub(super) type Told = (Severity, &'static str, u32, u32, String);

    pub(super) fn read(text: &str) -> (Kit, Vec<Told>) {
        let tree = crate::yaml::read("kit.yaml", text.as_bytes()).expect("a tree");
        let mut keys = tree.root().keys("a kit file").expect("keys");
        let kit = check(&mut keys);
        keys.finish();
        let told = |p: Problem| (p.severity, p.code, p.place.line, p.place.column, p.fix);
        (kit, tree.problems().into_iter().map(told).collect())
    }

    pub(super) fn valid(text: &str) -> Kit {
        let (kit, problems) = read(text);
        assert_eq!(problems, [], "{text}");
        assert!(kit.unusable.is_empty(), "{text}");
        kit
    }

    /// One standard `S` on line 2; its problems with the columns counted from its brace (1).
    pub(super) fn of_standard(standard: &str) -> Vec<Told> {
        let (_, problems) = read(&format!("standards:\n  S: {standard}\n"));
        let shift = |(severity, code, line, column, fix): Told| (severity, code, line, column.saturating_sub(5), fix);
        problems.into_iter().map(shift).collect()
    }

    pub(super) fn refused(code: &'static str, column: u32, fix: &str) -> Vec<Told> {
        vec![(Severity::Error, code, 2, column, fix.to_owned())]
    }

    pub(super) fn warned(code: &'static str, column: u32, fix: &str) -> Vec<Told> {
        vec![(Severity::Warning, code, 2, column, fix.to_owned())]
    }

    const WHOLE: &str = "\
standards:
  B4: {buffer: phthalate, maker: Lumbrick Standards, lot: K4-2231, expires: 2026-11, opened: 2026-04-02, certificate: C-1, expanded_uncertainty: 0.010, coverage_factor: 2, x-shelf: 3}
  B4c: {buffer: phthalate, value: 4.010, at: 25 °C}
  X7: {buffer: {name: bottle label, table: [[20, 7.02], [25, 7.00], [30, 6.99]]}}
  R2: {redox: quinhydrone, in: B7}
  B7: {buffer: phosphate}
  R1: {redox: zobell, expanded_uncertainty: 5 mV}
  R3: {redox: {name: bottle label, value: 228 mV, at: 25 °C, against: \"Ag/AgCl 3 mol/L\"}}
instruments:
  T88: {measures: temperature, make: Wexmarl, serial: \"00882\", certificate: W-7, calibrated: 2026-01-11, due: 2027-01-11, expanded_uncertainty: 0.2 °C, coverage_factor: 2}
";

    #[test]
    fn a_whole_kit_is_read_in_file_order() {
        let kit = valid(WHOLE);
        let names: Vec<&str> = kit.standards.iter().map(|s| s.name.text.as_str()).collect();
        assert_eq!(names, ["B4", "B4c", "X7", "R2", "B7", "R1", "R3"]);
        let b4 = &kit.standards[0];
        assert_eq!(b4.expires.as_ref().map(|d| d.date.to_string()).as_deref(), Some("2026-11-30"));
        assert_eq!(b4.expanded_uncertainty.as_ref().map(|u| (u.value, u.text.as_str())), Some((0.010, "0.010")));
        let StandardKind::Buffer(shifted) = &kit.standards[1].kind else { panic!("a buffer") };
        assert!((shifted.ph(25.0).expect("in range") - 4.010).abs() < 1e-12);
        let StandardKind::Buffer(bottle) = &kit.standards[2].kind else { panic!("a buffer") };
        assert!((bottle.ph(22.5).expect("in range") - 7.01).abs() < 1e-12);
        assert_eq!(kit.standards[2].label.as_ref().map(|l| l.text.as_str()), Some("bottle label"));
        assert!(matches!(kit.standards[3].kind, StandardKind::Redox(RedoxValue::Quinhydrone(_))));
        assert_eq!(kit.standards[3].quinhydrone_in.as_ref().map(|b| b.text.as_str()), Some("B7"));
        assert!(matches!(kit.standards[6].kind, StandardKind::Redox(RedoxValue::Single { mv: 228.0, at_c: 25.0, .. })));
        assert_eq!(kit.instruments[0].serial.as_ref().map(|s| s.text.as_str()), Some("00882"));
        assert_eq!((kit.standard("R1"), kit.standard("R9"), kit.instrument("T88")), (Some(5), None, Some(0)));
        assert_eq!(kit.suggest("b7"), Some("B7"));
    }

    #[test]
    fn every_problem_is_told_in_one_run_and_names_stay_known() {
        let (kit, problems) =
            read("standards:\n  B4: {buffer: ftalate}\n  B7: {lot: a}\ninstruments:\n  T1: {measures: heat}\n");
        let codes: Vec<(&str, u32)> = problems.iter().map(|p| (p.1, p.2)).collect();
        assert_eq!(codes, [("unknown-buffer", 2), ("standard-without-kind", 3), ("unknown-word", 5)]);
        assert!(kit.is_unusable("B4") && kit.is_unusable("B7") && kit.is_unusable("T1"));
        assert!(!kit.is_unusable("B9"));
    }

    #[test]
    fn an_uncertainty_is_above_zero() {
        let fix = "write U as printed on the certificate, or leave the key out (a common value is then assumed and printed so)";
        for value in ["0", "-0.01"] {
            let told = of_standard(&format!("{{buffer: borax, expanded_uncertainty: {value}}}"));
            assert_eq!(told, refused("uncertainty-not-positive", 39, fix));
        }
        assert_eq!(of_standard("{buffer: borax, expanded_uncertainty: 5 mV}")[0].1, "wrong-unit");
        assert_eq!(of_standard("{redox: zobell, expanded_uncertainty: 0.005 V}"), []);
    }

    #[test]
    fn a_coverage_factor_is_about_two() {
        let fix = "write k as printed on the certificate (usually 2), or leave the key out (2 is then assumed and printed so)";
        let of = |k: &str| of_standard(&format!("{{buffer: borax, coverage_factor: {k}}}"));
        assert_eq!(of("0"), refused("coverage-factor-not-positive", 34, fix));
        assert_eq!(of("95"), warned("coverage-factor-unusual", 34, fix));
        assert_eq!(of("0.5"), warned("coverage-factor-unusual", 34, fix));
        assert_eq!((of("1"), of("4"), of("2.26")), (vec![], vec![], vec![]));
    }

    #[test]
    fn a_kit_file_is_recognised() {
        assert!(is_kind(&["standards"]) && is_kind(&["instruments", "x-van"]));
        assert!(!is_kind(&["visit", "standards", "loops"]) && !is_kind(&["limits"]) && !is_kind(&[]));
    }
}
