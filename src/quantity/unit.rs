//! The units of the files and the spellings that are converted to them.

/// A unit that a key of the files may have: its symbol and the spellings that are converted to it.
pub trait Unit: Copy + std::fmt::Debug + PartialEq + 'static {
    /// Symbol as printed; empty for a number without unit.
    const SYMBOL: &'static str;
    /// Spellings accepted after a number with factor and offset: value = typed · factor + offset.
    const ACCEPTED: &'static [(&'static str, f64, f64)];
}

/// pH.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ph;
/// Potential in mV.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Millivolt;
/// Temperature in °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Celsius;
/// Temperature difference in °C (1 °F = 5/9 °C, 1 K = 1 °C).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CelsiusDifference;
/// Percent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Percent;
/// Time in seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Second;
/// Current in mA.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Milliampere;
/// Resistance in Ω.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ohm;
/// Conductivity in µS/cm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MicrosiemensPerCm;
/// Age in months.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Month;
/// Time in days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Day;
/// A number without unit (a factor, a count).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plain;

// µ is written as U+00B5 (micro sign) and U+03BC (Greek mu), Ω as U+03A9 (Greek omega) and U+2126 (ohm sign):
// keyboards and copied data sheets give either.

impl Unit for Ph {
    const SYMBOL: &'static str = "pH";
    const ACCEPTED: &'static [(&'static str, f64, f64)] = &[("pH", 1.0, 0.0)];
}
impl Unit for Millivolt {
    const SYMBOL: &'static str = "mV";
    const ACCEPTED: &'static [(&'static str, f64, f64)] =
        &[("mV", 1.0, 0.0), ("V", 1e3, 0.0), ("\u{b5}V", 1e-3, 0.0), ("\u{3bc}V", 1e-3, 0.0), ("uV", 1e-3, 0.0)];
}
/// Source: 1 °F = 5/9 K and 0 °C = 273.15 K = 32 °F, BIPM, SI Brochure, 9th edition (2019), section 2.3.1 (kelvin, degree
/// Celsius); NIST SP 811 (2008), appendix B.8 (degree Fahrenheit).
impl Unit for Celsius {
    const SYMBOL: &'static str = "°C";
    const ACCEPTED: &'static [(&'static str, f64, f64)] = &[
        ("°C", 1.0, 0.0),
        ("\u{2103}", 1.0, 0.0),
        ("C", 1.0, 0.0),
        ("K", 1.0, -273.15),
        ("°F", 5.0 / 9.0, -160.0 / 9.0),
        ("\u{2109}", 5.0 / 9.0, -160.0 / 9.0),
        ("F", 5.0 / 9.0, -160.0 / 9.0),
    ];
}
impl Unit for CelsiusDifference {
    const SYMBOL: &'static str = "°C";
    const ACCEPTED: &'static [(&'static str, f64, f64)] = &[
        ("°C", 1.0, 0.0),
        ("\u{2103}", 1.0, 0.0),
        ("C", 1.0, 0.0),
        ("K", 1.0, 0.0),
        ("°F", 5.0 / 9.0, 0.0),
        ("\u{2109}", 5.0 / 9.0, 0.0),
        ("F", 5.0 / 9.0, 0.0),
    ];
}
impl Unit for Percent {
    const SYMBOL: &'static str = "%";
    const ACCEPTED: &'static [(&'static str, f64, f64)] = &[("%", 1.0, 0.0)];
}
impl Unit for Second {
    const SYMBOL: &'static str = "s";
    const ACCEPTED: &'static [(&'static str, f64, f64)] = &[("s", 1.0, 0.0), ("min", 60.0, 0.0), ("h", 3600.0, 0.0)];
}
impl Unit for Milliampere {
    const SYMBOL: &'static str = "mA";
    const ACCEPTED: &'static [(&'static str, f64, f64)] = &[("mA", 1.0, 0.0), ("A", 1e3, 0.0)];
}
impl Unit for Ohm {
    const SYMBOL: &'static str = "\u{3a9}";
    const ACCEPTED: &'static [(&'static str, f64, f64)] = &[
        ("\u{3a9}", 1.0, 0.0),
        ("\u{2126}", 1.0, 0.0),
        ("ohm", 1.0, 0.0),
        ("k\u{3a9}", 1e3, 0.0),
        ("k\u{2126}", 1e3, 0.0),
        ("kohm", 1e3, 0.0),
        ("M\u{3a9}", 1e6, 0.0),
        ("M\u{2126}", 1e6, 0.0),
        ("Mohm", 1e6, 0.0),
        ("G\u{3a9}", 1e9, 0.0),
        ("G\u{2126}", 1e9, 0.0),
        ("Gohm", 1e9, 0.0),
    ];
}
impl Unit for MicrosiemensPerCm {
    const SYMBOL: &'static str = "\u{b5}S/cm";
    const ACCEPTED: &'static [(&'static str, f64, f64)] = &[
        ("\u{b5}S/cm", 1.0, 0.0),
        ("\u{3bc}S/cm", 1.0, 0.0),
        ("uS/cm", 1.0, 0.0),
        ("mS/cm", 1e3, 0.0),
        ("S/m", 1e4, 0.0),
        ("mS/m", 10.0, 0.0),
    ];
}
impl Unit for Month {
    const SYMBOL: &'static str = "months";
    const ACCEPTED: &'static [(&'static str, f64, f64)] =
        &[("months", 1.0, 0.0), ("month", 1.0, 0.0), ("years", 12.0, 0.0), ("year", 12.0, 0.0)];
}
impl Unit for Day {
    const SYMBOL: &'static str = "days";
    const ACCEPTED: &'static [(&'static str, f64, f64)] =
        &[("days", 1.0, 0.0), ("day", 1.0, 0.0), ("weeks", 7.0, 0.0), ("week", 7.0, 0.0)];
}
impl Unit for Plain {
    const SYMBOL: &'static str = "";
    const ACCEPTED: &'static [(&'static str, f64, f64)] = &[];
}
