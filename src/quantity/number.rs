//! The digits of a number as typed.

/// A number read from the start of a text.
#[derive(Debug, PartialEq)]
pub(super) struct Digits<'a> {
    /// The value; infinite where the exponent is beyond any reading.
    pub value: f64,
    /// Step of the last digit: `168.0` → 0.1, `1e3` → 1000.
    pub step: f64,
    /// Digits that carry meaning (without leading zeros).
    pub significant: usize,
    /// What follows the number.
    pub rest: &'a str,
}

/// Exponents beyond this are a slip of the finger, not a reading.
const MAX_EXPONENT: i32 = 30;

/// Reads `-177.3`, `+3`, `−4.0`, `1e3` from the start of `text`; the point needs a digit on both sides.
pub(super) fn digits(text: &str) -> Option<Digits<'_>> {
    let (negative, body) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(body) => (true, body),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let (whole, rest) = leading_digits(body)?;
    let (fraction, rest) = rest.strip_prefix('.').and_then(leading_digits).unwrap_or(("", rest));
    let (exponent, rest) = exponent(rest).unwrap_or((0, rest));
    let absurd = exponent.abs() > MAX_EXPONENT;
    let sign = if negative { "-" } else { "" };
    Some(Digits {
        value: if absurd { f64::INFINITY } else { format!("{sign}{whole}.{fraction}e{exponent}").parse().ok()? },
        step: format!("1e{}", exponent.saturating_sub(i32::try_from(fraction.len()).ok()?)).parse().ok()?,
        significant: format!("{whole}{fraction}").trim_start_matches('0').len(),
        rest,
    })
}

fn leading_digits(text: &str) -> Option<(&str, &str)> {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    (end > 0).then(|| text.split_at(end))
}

fn exponent(text: &str) -> Option<(i32, &str)> {
    let body = text.strip_prefix(['e', 'E'])?;
    let (negative, body) = match body.strip_prefix(['-', '\u{2212}']) {
        Some(body) => (true, body),
        None => (false, body.strip_prefix('+').unwrap_or(body)),
    };
    let (power, rest) = leading_digits(body)?;
    let power: i32 = power.parse().unwrap_or(i32::MAX);
    Some((if negative { -power } else { power }, rest))
}

/// Ordinary, no-break, narrow no-break, thin and figure space.
pub(super) fn is_space(c: char) -> bool {
    matches!(c, ' ' | '\t' | '\u{a0}' | '\u{202f}' | '\u{2009}' | '\u{2007}')
}

/// Whether the whole text is one number.
pub(super) fn is_number(text: &str) -> bool {
    digits(text).is_some_and(|found| found.rest.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value_and_step(text: &str) -> (f64, f64) {
        let found = digits(text).expect("a number");
        (found.value, found.step)
    }

    #[test]
    fn the_step_is_that_of_the_last_digit_typed() {
        assert_eq!(value_and_step("168"), (168.0, 1.0));
        assert_eq!(value_and_step("168.0"), (168.0, 0.1));
        assert_eq!(value_and_step("-177.30"), (-177.3, 0.01));
        assert_eq!(value_and_step("1e3"), (1000.0, 1000.0));
        assert_eq!(value_and_step("1.25e-3"), (0.00125, 0.00001));
        assert_eq!(value_and_step("+3"), (3.0, 1.0));
        assert_eq!(value_and_step("08"), (8.0, 1.0));
    }

    #[test]
    fn the_true_minus_sign_is_minus() {
        assert_eq!(value_and_step("\u{2212}177.3"), (-177.3, 0.1));
        assert_eq!(value_and_step("1e\u{2212}3"), (0.001, 0.001));
    }

    #[test]
    fn what_follows_the_number_is_left() {
        assert_eq!(digits("8.3 mV").map(|found| found.rest), Some(" mV"));
        assert_eq!(digits("7.").map(|found| found.rest), Some("."));
        assert_eq!(digits("7.0.1").map(|found| found.rest), Some(".1"));
        assert_eq!(digits(".5"), None);
        assert_eq!(digits("mV"), None);
    }

    #[test]
    fn absurd_exponents_are_beyond_any_reading() {
        assert_eq!(value_and_step("1e31").0, f64::INFINITY);
        assert_eq!(value_and_step("1e-99999999999999999999").0, f64::INFINITY);
    }
}
