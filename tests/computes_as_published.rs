//! The figures are those that were published: each check names its source, allows half the last digit printed there, and
//! fails for the neighbouring printed value.

#[path = "computes_as_published/buffers.rs"]
mod buffers;
#[path = "computes_as_published/least_squares.rs"]
mod least_squares;
#[path = "computes_as_published/redox.rs"]
mod redox;
#[path = "computes_as_published/slope_and_offset.rs"]
mod slope_and_offset;
#[path = "computes_as_published/temperature.rs"]
mod temperature;

/// Rows of a carried table: fields by comma, without comment lines and the line of column names.
fn rows(table: &str) -> Vec<Vec<&str>> {
    table.lines().filter(|line| !line.starts_with('#')).skip(1).map(|line| line.split(',').collect()).collect()
}

fn number(text: &str) -> f64 {
    text.parse().unwrap_or_else(|_| panic!("{text} is not a number"))
}

/// One unit in the last digit printed: `6.865` → 0.001, `481` → 1, `0.429796848199937E-03` → 1e-18.
fn last_digit(printed: &str) -> f64 {
    let (digits, exponent) = printed.split_once('E').unwrap_or((printed, "0"));
    let decimals = digits.split_once('.').map_or(0, |(_, after)| after.len());
    let exponent: i32 = exponent.parse().unwrap();
    10f64.powi(exponent - i32::try_from(decimals).unwrap())
}

/// Whether a computed value rounds to the printed one: within half its last digit.
fn rounds_to(computed: f64, printed: &str) -> bool {
    meets(computed, number(printed), last_digit(printed) / 2.0)
}

fn meets(computed: f64, expected: f64, tolerance: f64) -> bool {
    (computed - expected).abs() <= tolerance * (1.0 + 1e-9) + f64::EPSILON * expected.abs()
}

/// The computed value rounds to the printed one, and would not to the printed values beside it.
fn assert_printed(computed: f64, printed: &str, what: &str) {
    assert!(rounds_to(computed, printed), "{what}: {computed} is not {printed}");
    let digit = last_digit(printed);
    for nudge in [-1.01, 1.01] {
        let beside = number(printed) + nudge * digit;
        assert!(!meets(computed, beside, digit / 2.0), "{what}: {computed} would pass for {beside} too");
    }
}

/// The computed value has the first nine digits of a certified one, and would not of one changed in the ninth.
fn assert_nine_digits(computed: f64, certified: f64, what: &str) {
    let relative = |expected: f64| ((computed - expected) / expected).abs();
    assert!(relative(certified) < 1e-9, "{what}: {computed} is not {certified}");
    assert!(relative(certified * (1.0 + 2e-9)) > 1e-9, "{what}: a ninth digit more would pass");
    assert!(relative(certified * (1.0 - 2e-9)) > 1e-9, "{what}: a ninth digit less would pass");
}

#[test]
fn the_measure_itself_can_fail() {
    assert!(rounds_to(6.8654, "6.865") && rounds_to(6.8645, "6.865"));
    assert!(!rounds_to(6.8656, "6.865") && !rounds_to(6.8644, "6.865") && !rounds_to(f64::NAN, "6.865"));
    assert_eq!(last_digit("481"), 1.0);
    assert!((last_digit("0.15E-03") / 1e-5 - 1.0).abs() < 1e-12);
}
