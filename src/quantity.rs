//! Measured numbers as a person typed them: value, unit, digits and place.
//!
//! Comes in: the text of a leaf. Goes out: a [`Measured`] value in the default unit of its key, with the step of the
//! last digit typed, or a [`Moment`] or [`Date`]. Next: the checks of visit, client, kit, limits and firm.

mod date;
mod moment;
mod number;
mod span;
mod trap;
mod unit;

pub use date::Date;
pub use moment::Moment;
pub use span::{Span, SpanUnit};
pub use unit::{
    Celsius, CelsiusDifference, Day, MicrosiemensPerCm, Milliampere, Millivolt, Month, Ohm, Percent, Ph, Plain, Second,
    Unit,
};

use crate::problem::{Place, Problem};
use std::marker::PhantomData;
use trap::Due;

/// The largest magnitude that is read, in the unit typed: beyond it stands a slip of the finger, not a reading.
const LARGEST: f64 = 1e12;

/// The most digits that are read: more than a double holds would not come back as typed.
const MOST_DIGITS: usize = 15;

/// A number as typed: finite, in the unit `U`.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured<U: Unit> {
    /// The value in the unit `U`.
    pub value: f64,
    /// Step of the last digit typed, in `U`: `168` → 1, `168.0` → 0.1, `0.0083 V` → 0.1 mV.
    pub step: f64,
    /// The text as typed, unit included where one was typed.
    pub text: String,
    /// Where it stands.
    pub place: Place,
    /// The unit.
    pub unit: PhantomData<U>,
}

impl<U: Unit> Measured<U> {
    /// Reads a number with or without a unit, after an ordinary, no-break or thin space or none.
    ///
    /// # Errors
    /// One problem that tells which trap the text fell into, with the corrected text as the fix: `decimal-comma`,
    /// `thousands-separator`, `number-notation`, `dash-for-minus`, `bare-point`, `not-finite`, `unit-case`,
    /// `unit-spelling`, `wrong-unit`, `text-after-number`, `two-numbers`, `letter-for-digit`, `number-size`,
    /// `empty-value`, `not-a-number`.
    ///
    /// # Examples
    /// ```
    /// use halfcell::problem::Place;
    /// use halfcell::quantity::{Measured, Millivolt};
    /// let place = Place::whole("visit.yaml");
    /// let reading = Measured::<Millivolt>::parse("0.1684 V", &place).unwrap();
    /// assert_eq!((reading.value, reading.step, reading.text.as_str()), (168.4, 0.1, "0.1684 V"));
    /// let problem = Measured::<Millivolt>::parse("-177,3", &place).unwrap_err();
    /// assert_eq!((problem.code, problem.fix.as_str()), ("decimal-comma", "write -177.3"));
    /// ```
    pub fn parse(text: &str, place: &Place) -> Result<Self, Problem> {
        let due = Due { symbol: U::SYMBOL, accepted: U::ACCEPTED };
        let trimmed = text.trim_matches(number::is_space);
        let (value, step) = convert(trimmed, due).map_err(|trap| {
            let what = match U::SYMBOL {
                "" => format!("found `{text}` where a number is due"),
                symbol => format!("found `{text}` where a number in {symbol} is due"),
            };
            Problem::error(trap.code, place, what, trap.why, trap.fix)
        })?;
        Ok(Measured { value, step, text: trimmed.to_owned(), place: place.clone(), unit: PhantomData })
    }
}

/// Value and step in the unit that is due.
fn convert(text: &str, due: Due) -> Result<(f64, f64), trap::Trap> {
    let body = match due.symbol {
        "pH" => text.strip_prefix("pH").unwrap_or(text).trim_start_matches(number::is_space),
        _ => text,
    };
    let found = number::digits(body).ok_or_else(|| trap::diagnose(body, due))?;
    let unit = found.rest.trim_start_matches(number::is_space);
    if found.value.abs() > LARGEST || found.significant > MOST_DIGITS {
        return Err(trap::Trap {
            code: "number-size",
            why: format!("numbers are read up to {MOST_DIGITS} digits and up to 1e12"),
            fix: "write what was read, to the digits that were shown".to_owned(),
        });
    }
    if unit.is_empty() {
        return Ok((found.value, found.step));
    }
    let named_twice = body.len() != text.len();
    match due.accepted.iter().find(|(spelling, ..)| *spelling == unit && !named_twice) {
        Some((_, factor, offset)) if (*factor, *offset) != (1.0, 0.0) => {
            Ok((tidy(found.value * factor + offset), tidy(found.step * factor)))
        }
        Some(_) => Ok((found.value, found.step)),
        None => Err(trap::diagnose(body, due)),
    }
}

/// Takes the binary dust off a converted value (0.0287 V is 28.7 mV, not 28.700000000000003 mV): to 12 decimals.
fn tidy(value: f64) -> f64 {
    format!("{value:.12}").parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read<U: Unit>(text: &str) -> (f64, f64) {
        match Measured::<U>::parse(text, &Place::whole("visit.yaml")) {
            Ok(measured) => (measured.value, measured.step),
            Err(problem) => panic!("{text}: {problem:?}"),
        }
    }

    fn refused<U: Unit>(text: &str) -> (&'static str, String) {
        match Measured::<U>::parse(text, &Place::whole("visit.yaml")) {
            Ok(measured) => panic!("{text} was read as {}", measured.value),
            Err(problem) => (problem.code, problem.fix),
        }
    }

    fn assert_refused<U: Unit>(text: &str, code: &str, fix: &str) {
        let (found_code, found_fix) = refused::<U>(text);
        assert_eq!((found_code, found_fix.as_str()), (code, fix), "{text}");
    }

    #[test]
    fn units_are_converted_and_the_step_with_them() {
        assert_eq!(read::<Millivolt>("8.3"), (8.3, 0.1));
        assert_eq!(read::<Millivolt>("8.3 mV"), (8.3, 0.1));
        assert_eq!(read::<Millivolt>("0.0083 V"), (8.3, 0.1));
        assert_eq!(read::<Millivolt>("0.0287V"), (28.7, 0.1));
        assert_eq!(read::<Millivolt>("8300 \u{b5}V"), (8.3, 0.001));
        assert_eq!(read::<Millivolt>("8300 \u{3bc}V"), (8.3, 0.001));
        assert_eq!(read::<Celsius>("21.8 °C"), (21.8, 0.1));
        assert_eq!(read::<Celsius>("294.95 K"), (21.8, 0.01));
        assert_eq!(read::<Celsius>("32 °F").0, 0.0);
        assert!((read::<Celsius>("71.2 °F").0 - 196.0 / 9.0).abs() < 1e-9);
        assert_eq!(read::<CelsiusDifference>("0.5 K"), (0.5, 0.1));
        assert!((read::<CelsiusDifference>("0.9 °F").0 - 0.5).abs() < 1e-12);
        assert_eq!(read::<Second>("2 min"), (120.0, 60.0));
        assert_eq!(read::<Milliampere>("0.01201 A"), (12.01, 0.01));
        assert_eq!(read::<Ohm>("4.2 kΩ"), (4200.0, 100.0));
        assert_eq!(read::<Ohm>("180 M\u{2126}"), (180e6, 1e6));
        assert_eq!(read::<MicrosiemensPerCm>("0.9 mS/cm"), (900.0, 100.0));
        assert_eq!(read::<MicrosiemensPerCm>("0.09 S/m"), (900.0, 100.0));
        assert_eq!(read::<Month>("2 years"), (24.0, 12.0));
        assert_eq!(read::<Day>("2 weeks"), (14.0, 7.0));
        assert_eq!(read::<Ph>("pH 7.2"), (7.2, 0.1));
        assert_eq!(read::<Ph>("7.2 pH"), (7.2, 0.1));
        assert_eq!(read::<Percent>("96 %"), (96.0, 1.0));
    }

    #[test]
    fn a_no_break_space_before_the_unit_is_read() {
        assert_eq!(read::<Millivolt>("8.3\u{a0}mV"), (8.3, 0.1));
        assert_eq!(read::<Millivolt>("8.3\u{202f}mV"), (8.3, 0.1));
    }

    #[test]
    fn a_fraction_is_not_taken_for_percent() {
        assert_eq!(read::<Percent>("0.98"), (0.98, 0.01));
    }

    #[test]
    fn decimal_comma_is_refused_with_the_point_as_fix() {
        assert_refused::<Millivolt>("-177,3", "decimal-comma", "write -177.3");
        assert_refused::<Millivolt>("8,3 mV", "decimal-comma", "write 8.3 mV");
        assert_refused::<Ph>("0,123", "decimal-comma", "write 0.123");
        assert_refused::<Millivolt>("1,234", "decimal-comma", "write 1.234 for the decimal, or 1234 for thousands");
    }

    #[test]
    fn thousands_separators_are_refused() {
        assert_refused::<Ohm>("1,234,567", "thousands-separator", "write 1234567");
        assert_refused::<Ohm>("1,234.5", "thousands-separator", "write 1234.5");
        assert_refused::<Ohm>("1.234,5", "thousands-separator", "write 1234.5");
        assert_refused::<Ohm>("1.234.567 ohm", "thousands-separator", "write 1234567 ohm");
        assert_refused::<Ohm>("1 234.5", "thousands-separator", "write 1234.5");
        assert_refused::<Ohm>("1'234,5 ohm", "thousands-separator", "write 1234.5 ohm");
        assert_refused::<Ohm>("-1\u{202f}234", "thousands-separator", "write -1234");
    }

    #[test]
    fn other_notations_are_refused() {
        assert_refused::<Millivolt>("0x1F", "number-notation", "write the decimal number; 0x1F would be 31");
        assert_refused::<Millivolt>("-0o17", "number-notation", "write the decimal number; -0o17 would be -15");
        assert_refused::<Millivolt>("1_000 mV", "number-notation", "write 1000 mV");
        assert_refused::<Millivolt>("12:34:56", "number-notation", "write one number; clock times stand under `at:`");
        assert_refused::<Second>("2:05", "number-notation", "write the seconds: 125 s, if 2:05 means that");
    }

    #[test]
    fn dashes_are_never_read_as_positive() {
        assert_refused::<Millivolt>("\u{2013}177.3", "dash-for-minus", "write -177.3");
        assert_refused::<Millivolt>("\u{2011} 177.3 mV", "dash-for-minus", "write -177.3 mV");
        assert_refused::<Millivolt>("\u{ff0d}4", "dash-for-minus", "write -4");
    }

    #[test]
    fn what_is_not_finite_is_refused() {
        for text in [".nan", ".inf", "-.inf", "NaN", "+Infinity"] {
            assert_eq!(refused::<Millivolt>(text).0, "not-finite", "{text}");
        }
        assert_eq!(refused::<Millivolt>("").0, "empty-value");
        assert_eq!(refused::<Millivolt>("1e13").0, "number-size");
        assert_eq!(refused::<Millivolt>("1.234567890123456").0, "number-size");
        assert_eq!(refused::<Millivolt>("1e999").0, "number-size");
    }

    #[test]
    fn a_point_at_the_edge_is_refused() {
        assert_refused::<Ph>(".5", "bare-point", "write 0.5");
        assert_refused::<Ph>("-.5 pH", "bare-point", "write -0.5 pH");
        assert_refused::<Ph>("7.", "bare-point", "write 7");
    }

    #[test]
    fn units_are_told_apart() {
        assert_refused::<Millivolt>("8.3 MV", "unit-case", "write 8.3 mV if that is meant");
        assert_refused::<Ohm>("180 mohm", "unit-case", "write 180 Mohm if that is meant");
        assert_refused::<Celsius>("21.8 °", "unit-spelling", "write 21.8 °C");
        assert_refused::<Celsius>("21.8 \u{ba}C", "unit-spelling", "write 21.8 °C");
        assert_refused::<Celsius>("21.8 \u{c2}°C", "unit-spelling", "write 21.8 °C");
        assert_refused::<Second>("45 sec.", "unit-spelling", "write 45 s");
        assert_refused::<Millivolt>("8.3 °C", "wrong-unit", "write 8.3 mV if that is meant");
        assert_refused::<Plain>("2 mV", "wrong-unit", "write 2");
        assert_refused::<Millivolt>("8.3 mV (stable)", "text-after-number", "write 8.3 mV; the rest goes into `note:`");
        let why = Measured::<Millivolt>::parse("8.3 °C", &Place::default()).unwrap_err().why;
        assert_eq!(why, "`°C` is not a unit of this value; allowed: mV, V, \u{b5}V");
    }

    #[test]
    fn more_than_one_number_is_refused() {
        for text in ["7.0 7.1", "6.5-8.5", "4,01, 177,3", "7.0/7.1", "7.01 ± 0.02", "6.5 – 8.5"] {
            assert_eq!(refused::<Ph>(text).0, "two-numbers", "{text}");
        }
    }

    #[test]
    fn letters_for_digits_are_told() {
        assert_refused::<Ph>("7.O1", "letter-for-digit", "write 7.01 if that was read");
        assert_eq!(refused::<Ph>("about seven").0, "not-a-number");
        assert_eq!(refused::<Ph>("<7").0, "not-a-number");
        assert_eq!(refused::<Ph>("~").0, "not-a-number");
        assert_eq!(refused::<Ph>("\u{ff17}").0, "not-a-number");
    }
}
