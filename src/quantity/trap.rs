//! Why a text is not a number in its unit, and how to write it.
//!
//! Every trap has its own code: a decimal comma is told apart from thousands, a wrong unit from a mistyped one.

use super::number::{is_number, is_space};

/// What went wrong with a number.
#[derive(Debug, PartialEq)]
pub(super) struct Trap {
    pub code: &'static str,
    pub why: String,
    pub fix: String,
}

/// The unit that was due: its symbol and the spellings accepted.
#[derive(Debug, Clone, Copy)]
pub(super) struct Due {
    pub symbol: &'static str,
    pub accepted: &'static [(&'static str, f64, f64)],
}

fn trap(code: &'static str, why: impl Into<String>, fix: impl Into<String>) -> Option<Trap> {
    Some(Trap { code, why: why.into(), fix: fix.into() })
}

/// Tells why `text` (trimmed) was not read as a number in the unit that is due.
pub(super) fn diagnose(text: &str, due: Due) -> Trap {
    empty_or_endless(text)
        .or_else(|| dash(text))
        .or_else(|| notation(text, due))
        .or_else(|| grouped(text))
        .or_else(|| letters(text))
        .or_else(|| point(text))
        .or_else(|| two_numbers(text))
        .or_else(|| unit(text, due))
        .unwrap_or_else(|| Trap {
            code: "not-a-number",
            why: format!("a number is due{}, in the digits 0 to 9", in_unit(due)),
            fix: format!("write the number alone, like {}; remarks go into `note:`", example(due)),
        })
}

fn in_unit(due: Due) -> String {
    if due.symbol.is_empty() { String::new() } else { format!(" in {}", due.symbol) }
}

fn example(due: Due) -> String {
    if due.symbol.is_empty() { "8.3".to_owned() } else { format!("8.3 or 8.3 {}", due.symbol) }
}

/// The part that looks like digits, and what follows it.
fn split(text: &str) -> (&str, &str) {
    let in_number = |c: char| {
        c.is_ascii_digit() || is_space(c) || matches!(c, '.' | ',' | '\'' | '\u{2019}' | '+' | '-' | '\u{2212}' | '_')
    };
    let end = text.find(|c: char| !in_number(c)).unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    (number.trim_end_matches(is_space), unit)
}

fn join(number: &str, unit: &str) -> String {
    if unit.is_empty() { number.to_owned() } else { format!("{number} {unit}") }
}

fn empty_or_endless(text: &str) -> Option<Trap> {
    let bare = text.trim_start_matches(['+', '-', '\u{2212}', '.']).to_ascii_lowercase();
    match bare.as_str() {
        "" => trap("empty-value", "an empty value is no reading", "write the number, or remove the key"),
        "nan" | "inf" | "infinity" => trap(
            "not-finite",
            "it is not a reading: every number in these files is finite",
            "write what was read; where nothing could be read, say `not_obtained: reason` in place of the readings",
        ),
        _ => None,
    }
}

/// Hyphens and dashes that look like a minus sign but are none.
fn dash(text: &str) -> Option<Trap> {
    let first = text.chars().next()?;
    let is_dash =
        matches!(first, '\u{2010}'..='\u{2015}' | '\u{ad}' | '\u{fe58}' | '\u{fe63}' | '\u{ff0d}' | '\u{2043}');
    let body = text.get(first.len_utf8()..)?.trim_start_matches(is_space);
    if !is_dash || !body.starts_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    trap(
        "dash-for-minus",
        format!("it begins with a dash (U+{:04X}), which is not a minus sign", u32::from(first)),
        format!("write -{body}"),
    )
}

/// Hexadecimal, octal, binary, underscores and sexagesimal: other readers of YAML take them for other numbers.
fn notation(text: &str, due: Due) -> Option<Trap> {
    let (sign, body) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(body) => ("-", body),
        None => ("", text.strip_prefix('+').unwrap_or(text)),
    };
    for (radix, name, marks) in
        [(16, "hexadecimal", ["0x", "0X"]), (8, "octal", ["0o", "0O"]), (2, "binary", ["0b", "0B"])]
    {
        let Some(rest) = marks.iter().find_map(|mark| body.strip_prefix(mark)) else {
            continue;
        };
        let fix = match u64::from_str_radix(rest, radix) {
            Ok(value) if value < 1_000_000_000_000 => {
                format!("write the decimal number; {text} would be {sign}{value}")
            }
            _ => "write the decimal number".to_owned(),
        };
        return trap("number-notation", format!("{name} numbers are not used in these files"), fix);
    }
    let (number, unit) = split(text);
    if number.contains('_') {
        let plain = number.replace('_', "");
        let fix = if is_number(&plain) {
            format!("write {}", join(&plain, unit))
        } else {
            "write the digits only".to_owned()
        };
        return trap("number-notation", "underscores between digits are not used in these files", fix);
    }
    sexagesimal(text, due)
}

fn sexagesimal(text: &str, due: Due) -> Option<Trap> {
    let parts: Vec<&str> = text.split(':').collect();
    if !(2..=3).contains(&parts.len()) || !parts.iter().all(|part| !part.is_empty() && is_number(part)) {
        return None;
    }
    let whole = parts.iter().try_fold(0u64, |sum, part| sum.checked_mul(60)?.checked_add(part.parse::<u64>().ok()?));
    let fix = match (due.symbol, whole) {
        ("s", Some(seconds)) => format!("write the seconds: {seconds} s, if {text} means that"),
        _ => "write one number; clock times stand under `at:`".to_owned(),
    };
    trap(
        "number-notation",
        "digits with colons are a clock time or a number to the base 60, which is told by guessing only",
        fix,
    )
}

/// Decimal commas and thousands separators.
fn grouped(text: &str) -> Option<Trap> {
    let (number, unit) = split(text);
    let commas = number.matches(',').count();
    let points = number.matches('.').count();
    let spaced = number
        .trim_start_matches(['+', '-', '\u{2212}'])
        .contains(|c: char| is_space(c) || matches!(c, '\'' | '\u{2019}'));
    let thousands = |fixed: &str| {
        let fixed = join(fixed, unit);
        trap("thousands-separator", "thousands are not divided in these files", format!("write {fixed}"))
    };
    if spaced {
        let joined = ungroup(number, |c| is_space(c) || matches!(c, '\'' | '\u{2019}'))?;
        let fixed = joined.replace(',', ".");
        return is_number(&fixed).then(|| thousands(&fixed)).flatten();
    }
    match (commas, points) {
        (0, 0 | 1) => None,
        (1, 0) => decimal_comma(number, unit),
        (_, 0) | (_, 1) if number.rfind('.') > number.rfind(',') || points == 0 => {
            thousands(&ungroup(number, |c| c == ',')?)
        }
        (1, _) | (0, _) => thousands(&ungroup(number, |c| c == '.')?.replace(',', ".")),
        _ => None,
    }
}

fn decimal_comma(number: &str, unit: &str) -> Option<Trap> {
    let decimal = number.replace(',', ".");
    if !is_number(&decimal) {
        return None;
    }
    let why = "the decimal sign of these files is the point; YAML readers take a comma for a divider or a text";
    let fix = match ungroup(number, |c| c == ',') {
        Some(whole) => {
            format!("write {} for the decimal, or {} for thousands", join(&decimal, unit), join(&whole, unit))
        }
        None => format!("write {}", join(&decimal, unit)),
    };
    trap("decimal-comma", why, fix)
}

/// Joins `1 234.5` to `1234.5` when all groups before the decimal sign but the first have three digits.
fn ungroup(number: &str, divides: impl Fn(char) -> bool) -> Option<String> {
    let start = number.len() - number.trim_start_matches(['+', '-', '\u{2212}']).len();
    let (sign, body) = number.split_at(start);
    let end = body.find(|c: char| matches!(c, '.' | ',') && !divides(c)).unwrap_or(body.len());
    let (whole, rest) = body.split_at(end);
    let groups: Vec<&str> = whole.split(divides).collect();
    let digits_only = groups.iter().all(|group| group.bytes().all(|byte| byte.is_ascii_digit()));
    let (first, others) = groups.split_first()?;
    let fits = (1..=3).contains(&first.len()) && !first.starts_with('0') && others.iter().all(|group| group.len() == 3);
    (digits_only && fits && !others.is_empty()).then(|| format!("{sign}{}{rest}", groups.concat()))
}

/// `.5` and `7.`: a point at the edge is lost on a photocopy, and numbers are printed as typed.
fn point(text: &str) -> Option<Trap> {
    let (number, unit) = split(text);
    let body = number.trim_start_matches(['+', '-', '\u{2212}']);
    let sign = &number[..number.len() - body.len()];
    let fixed =
        if body.starts_with('.') { format!("{sign}0{body}") } else { format!("{sign}{}", body.strip_suffix('.')?) };
    let why =
        "a decimal point needs a digit on both sides: numbers are printed as typed and a point at the edge gets lost";
    is_number(&fixed).then(|| trap("bare-point", why, format!("write {}", join(&fixed, unit)))).flatten()
}

/// Spellings that people use for units, and the unit they stand for.
const HABITS: &[(&str, &str)] = &[
    ("°", "°C"),
    ("deg", "°C"),
    ("deg C", "°C"),
    ("degC", "°C"),
    ("degrees", "°C"),
    ("celsius", "°C"),
    ("deg F", "°F"),
    ("degF", "°F"),
    ("kelvin", "K"),
    ("°K", "K"),
    ("sec", "s"),
    ("secs", "s"),
    ("second", "s"),
    ("seconds", "s"),
    ("mins", "min"),
    ("minute", "min"),
    ("minutes", "min"),
    ("hr", "h"),
    ("hrs", "h"),
    ("hour", "h"),
    ("hours", "h"),
    ("volt", "V"),
    ("volts", "V"),
    ("millivolt", "mV"),
    ("millivolts", "mV"),
    ("percent", "%"),
    ("per cent", "%"),
    ("pct", "%"),
    ("ohms", "ohm"),
    ("kohms", "kohm"),
    ("Mohms", "Mohm"),
    ("milliamp", "mA"),
    ("milliamps", "mA"),
    ("mo", "months"),
    ("yr", "years"),
    ("yrs", "years"),
    ("d", "days"),
    ("w", "weeks"),
];

fn unit(text: &str, due: Due) -> Option<Trap> {
    let (number, unit) = split(text);
    if !is_number(number) || unit.is_empty() {
        return None;
    }
    let known =
        |name: &str| due.accepted.iter().find(|(spelling, ..)| *spelling == name).map(|(spelling, ..)| *spelling);
    let same_letters = |name: &str| {
        let name = name.to_lowercase();
        due.accepted.iter().find(|(spelling, ..)| spelling.to_lowercase() == name).map(|(spelling, ..)| *spelling)
    };
    if let Some(meant) = same_letters(unit) {
        let why = match (unit.chars().next(), meant.chars().next()) {
            (Some('M'), Some('m')) => format!("capital M means mega: {unit} is not {meant}"),
            (Some('m'), Some('M')) => format!("small m means milli: {unit} is not {meant}"),
            _ => format!("capital and small letters make a difference in units: {unit} is not {meant}"),
        };
        return trap("unit-case", why, format!("write {} if that is meant", join(number, meant)));
    }
    let tidy = unit.trim_start_matches('\u{c2}').replace(['\u{ba}', '\u{2da}'], "°");
    let tidy = tidy.trim_end_matches('.');
    let habit = HABITS.iter().find(|(typed, _)| typed.eq_ignore_ascii_case(tidy)).and_then(|(_, meant)| known(meant));
    if let Some(meant) = known(tidy).or(habit) {
        let fix = format!("write {}", join(number, meant));
        return trap("unit-spelling", format!("`{unit}` is not how this unit is spelt here; {}", allowed(due)), fix);
    }
    let first_word = unit.split(is_space).next().unwrap_or_default();
    if let Some(meant) = known(first_word) {
        let fix = format!("write {}; the rest goes into `note:`", join(number, meant));
        return trap("text-after-number", "a number and its unit stand alone, so that nothing is lost", fix);
    }
    let fix = if due.symbol.is_empty() {
        format!("write {number}")
    } else {
        format!("write {} if that is meant", join(number, due.symbol))
    };
    trap("wrong-unit", format!("`{unit}` is not a unit of this value; {}", allowed(due)), fix)
}

/// The units allowed, each in one spelling.
fn allowed(due: Due) -> String {
    let twin = |spelling: &str| {
        spelling.contains(['\u{3bc}', '\u{2126}', '\u{2103}', '\u{2109}', 'u']) && !spelling.starts_with("ou")
    };
    let names: Vec<&str> =
        due.accepted.iter().map(|(spelling, ..)| *spelling).filter(|spelling| !twin(spelling)).collect();
    match names.as_slice() {
        [] => "it has no unit".to_owned(),
        names => format!("allowed: {}", names.join(", ")),
    }
}

fn two_numbers(text: &str) -> Option<Trap> {
    let dividers =
        |c: char| is_space(c) || matches!(c, '/' | ';' | ',' | '-' | '\u{2013}' | '\u{2026}' | '~' | '&' | '|' | '±');
    let body = text.trim_start_matches(['-', '+', '\u{2212}']);
    let words: Vec<&str> = body.split(dividers).filter(|word| !word.is_empty()).collect();
    let numbers = words.iter().filter(|word| is_number(word)).count();
    if numbers < 2 {
        return None;
    }
    let fix = "write the one that was read; two ends of a range are written [low, high]";
    trap("two-numbers", format!("one number is due, and here stand {numbers}"), fix)
}

/// The letters O, l and I typed for the digits 0 and 1.
fn letters(text: &str) -> Option<Trap> {
    let end = text.find(is_space).unwrap_or(text.len());
    let (word, rest) = text.split_at(end);
    let digits = word.replace(['O', 'o'], "0").replace(['l', 'I'], "1");
    let typed = word.chars().filter(char::is_ascii_digit).count();
    if digits == word || typed == 0 || !is_number(&digits) {
        return None;
    }
    trap(
        "letter-for-digit",
        "a letter stands where a digit is due (O for 0, l or I for 1)",
        format!("write {digits}{rest} if that was read"),
    )
}
