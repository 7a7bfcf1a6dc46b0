//! Numbers to text: the only place where a number is written for a person.
//!
//! Comes in: a value in full precision and the decimals it deserves. Goes out: digits with a true minus sign and the
//! decimal sign of the firm. Rounding is to the nearest, ties on the exact binary value to the even digit
//! (Source: ISO 80000-1:2009, Annex B, rule A; from memory). A verdict is always taken before rounding, and
//! [`beside`] gives a number as many decimals as it needs not to contradict its verdict.

/// Decimal sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DecimalSign {
    /// 7.02
    #[default]
    Point,
    /// 7,02
    Comma,
}

/// Most decimals ever printed.
const MOST_DECIMALS: usize = 9;

/// `value` with `decimals` digits after the decimal sign; a value that rounds to zero has no sign.
pub fn fixed(value: f64, decimals: usize, sign: DecimalSign) -> String {
    let text = format!("{:.*}", decimals, value);
    let zero = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
    let text = if zero { text.trim_start_matches('-') } else { &text };
    typed(text, sign)
}

/// Like [`fixed`], with a plus sign before positive values.
pub fn signed(value: f64, decimals: usize, sign: DecimalSign) -> String {
    let text = fixed(value, decimals, sign);
    let zero = text.chars().all(|c| matches!(c, '0' | '.' | ','));
    match value > 0.0 && !zero {
        true => format!("+{text}"),
        false => text,
    }
}

/// After minus before as a reader finds it from both as printed with `decimals`.
///
/// ```
/// assert_eq!(format!("{:.1}", halfcell::rounding::change(89.851, 95.829, 1)), "5.9"); // 95.8 − 89.9
/// ```
pub fn change(before: f64, after: f64, decimals: usize) -> f64 {
    let printed = |value: f64| format!("{value:.decimals$}").parse().unwrap_or(value);
    printed(after) - printed(before)
}

/// A number as a person typed it, digits untouched: true minus sign, decimal sign of the firm, no-break spaces.
///
/// ```
/// use halfcell::rounding::{DecimalSign, typed};
/// assert_eq!(typed("-168.40 mV", DecimalSign::Comma), "−168,40\u{a0}mV");
/// ```
pub fn typed(text: &str, sign: DecimalSign) -> String {
    let mut out = String::with_capacity(text.len() + 4);
    let mut before = ' ';
    let mut rest = text.trim().chars().peekable();
    while let Some(c) = rest.next() {
        let digit_follows = rest.peek().is_some_and(|next| next.is_ascii_digit() || *next == '.');
        match c {
            '-' if digit_follows && !before.is_ascii_digit() => out.push('−'),
            '.' if digit_follows && sign == DecimalSign::Comma => out.push(','),
            ' ' | '\u{202f}' => out.push('\u{a0}'),
            other => out.push(other),
        }
        before = c;
    }
    out
}

/// A number as text with its unit behind a no-break space; an empty unit adds nothing.
///
/// ```
/// assert_eq!(halfcell::rounding::with_unit("94.4", "%"), "94.4\u{a0}%");
/// ```
pub fn with_unit(number: &str, unit: &str) -> String {
    match unit {
        "" => number.to_owned(),
        unit => format!("{number}\u{a0}{unit}"),
    }
}

/// A value with its expanded uncertainty: U with two significant digits, the value with as many decimals.
///
/// Source: JCGM 100:2008 (GUM), 7.2.6; ILAC-P14:09/2020, 5.4 (at most two significant digits; from memory).
///
/// ```
/// use halfcell::rounding::{DecimalSign, uncertain};
/// assert_eq!(uncertain(10.05762, 0.027, "", DecimalSign::Point), "10.058 ± 0.027".replace(' ', "\u{a0}"));
/// assert_eq!(uncertain(96.4345, 0.0996, "%", DecimalSign::Comma), "96,43\u{a0}±\u{a0}0,10\u{a0}%");
/// ```
pub fn uncertain(value: f64, expanded: f64, unit: &str, sign: DecimalSign) -> String {
    let (text, decimals) = expanded_uncertainty(expanded, sign);
    with_unit(&format!("{}\u{a0}±\u{a0}{text}", fixed(value, decimals, sign)), unit)
}

/// An expanded uncertainty with two significant digits, and the decimals that it has.
pub fn expanded_uncertainty(expanded: f64, sign: DecimalSign) -> (String, usize) {
    let rounded: f64 = format!("{expanded:.1e}").parse().unwrap_or(expanded);
    let exponent = if rounded > 0.0 { rounded.log10().floor() as i32 } else { 0 };
    let decimals = (1 - exponent).clamp(0, MOST_DECIMALS as i32).unsigned_abs() as usize;
    (fixed(rounded, decimals, sign), decimals)
}

/// Units that never stand alone at the beginning of a line in a person's text.
const UNITS: [&str; 24] = [
    "%", "°C", "°F", "K", "mV", "V", "mA", "Ω", "kΩ", "MΩ", "s", "min", "h", "d", "days", "months", "mol/L", "mmol/L",
    "g/L", "mL", "L", "µS/cm", "mS/cm", "pH",
];

/// A person's text, words untouched, with no-break spaces between numbers and units.
pub fn prose(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for (position, word) in text.trim().split(' ').enumerate() {
        let bare = word.trim_end_matches(['.', ',', ';', ':', ')']);
        let after_digit = out.ends_with(|c: char| c.is_ascii_digit());
        match position {
            0 => {}
            _ if after_digit && UNITS.contains(&bare) => out.push('\u{a0}'),
            _ => out.push(' '),
        }
        out.push_str(word);
    }
    out
}

/// The digits of a number as typed, without the unit that its column or label names already.
pub fn digits(text: &str, unit: &str, sign: DecimalSign) -> String {
    let text = text.trim();
    let bare = text
        .strip_suffix(unit)
        .map(str::trim_end)
        .filter(|bare| !unit.is_empty() && bare.ends_with(|c: char| c.is_ascii_digit()));
    typed(bare.unwrap_or(text), sign)
}

/// Decimals (at least `decimals`) with which `value` printed stands on the same side of every bound as unrounded.
///
/// ```
/// use halfcell::rounding::beside;
/// assert_eq!(beside(94.96, 0, &[95.0]), 2); // «95» would contradict «below 95»
/// assert_eq!(beside(94.4, 0, &[95.0]), 0);
/// ```
pub fn beside(value: f64, decimals: usize, bounds: &[f64]) -> usize {
    let agrees = |decimals: usize| {
        let printed: f64 = format!("{:.*}", decimals, value).parse().unwrap_or(value);
        bounds.iter().all(|&bound| side(printed, bound) == side(value, bound))
    };
    (decimals..=MOST_DECIMALS).find(|&decimals| agrees(decimals)).unwrap_or(MOST_DECIMALS)
}

/// On which side of `bound` a value lies; on it (within the tolerance of the decision rule) counts as on it.
fn side(value: f64, bound: f64) -> i8 {
    let slack = 1e-9 * bound.abs().max(1.0);
    match value - bound {
        d if d > slack => 1,
        d if d < -slack => -1,
        _ => 0,
    }
}

/// Digits after the decimal point of a number as typed: `168.40 mV` → 2.
pub fn decimals_typed(text: &str) -> usize {
    let number: String = text.trim().chars().take_while(|c| !c.is_alphabetic() && *c != '°' && *c != '%').collect();
    number.trim().rsplit_once('.').map_or(0, |(_, fraction)| fraction.trim().len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minus_is_a_true_minus_and_zero_has_no_sign() {
        assert_eq!(fixed(-26.04, 1, DecimalSign::Point), "−26.0");
        assert_eq!(fixed(-0.004, 2, DecimalSign::Point), "0.00");
        assert_eq!(signed(0.004, 2, DecimalSign::Point), "0.00");
        assert_eq!(signed(0.31, 2, DecimalSign::Comma), "+0,31");
    }

    /// Source: JCGM 100:2008 (GUM), 7.2.6, and NIST GLP 9 (2019) for rounding to two significant digits.
    #[test]
    fn an_uncertainty_has_two_significant_digits() {
        let rounded = |u: f64| expanded_uncertainty(u, DecimalSign::Point).0;
        for (u, text) in
            [(0.0347, "0.035"), (0.0996, "0.10"), (28.05, "28"), (0.2, "0.20"), (9.96, "10"), (134.0, "130")]
        {
            assert_eq!(rounded(u), text);
        }
        assert_eq!(rounded(0.0), "0.0");
    }

    #[test]
    fn typed_digits_are_kept() {
        assert_eq!(typed("7.00", DecimalSign::Point), "7.00");
        assert_eq!(typed("168", DecimalSign::Comma), "168");
        assert_eq!(typed("-0.0083 V", DecimalSign::Point), "−0.0083\u{a0}V");
    }

    #[test]
    fn ties_go_to_the_even_digit() {
        assert_eq!(fixed(0.5, 0, DecimalSign::Point), "0");
        assert_eq!(fixed(1.5, 0, DecimalSign::Point), "2");
        assert_eq!(fixed(0.125, 2, DecimalSign::Point), "0.12");
    }

    #[test]
    fn print_never_contradicts_the_verdict() {
        // After ASTM E29 (from memory): 94.96 against at least 95.0 must not print as «95.0, fail».
        assert_eq!(beside(94.96, 1, &[95.0]), 2);
        assert_eq!(beside(95.0, 1, &[95.0]), 1);
        assert_eq!(beside(94.999_999_999_9, 1, &[95.0]), 1);
        assert_eq!(beside(0.2004, 2, &[-0.2, 0.2]), 4);
        assert_eq!(beside(0.21, 2, &[-0.2, 0.2]), 2);
    }

    #[test]
    fn a_unit_stays_with_its_number() {
        assert_eq!(prose("soak 20 min, then 3 mol/L KCl"), "soak 20\u{a0}min, then 3\u{a0}mol/L KCl");
        assert_eq!(prose("probe 3 of 4"), "probe 3 of 4");
        assert_eq!(digits("8.30 mV", "mV", DecimalSign::Comma), "8,30");
        assert_eq!(digits("0.0083 V", "mV", DecimalSign::Point), "0.0083\u{a0}V");
        assert_eq!(digits("7.02", "", DecimalSign::Point), "7.02");
    }

    #[test]
    fn decimals_are_those_typed() {
        assert_eq!(decimals_typed("168.40 mV"), 2);
        assert_eq!(decimals_typed("168"), 0);
        assert_eq!(decimals_typed("1.0 °C"), 1);
    }
}
