//! How long a loop may go until it is checked again: one step of the staircase.
//!
//! Comes in: the interval in use and the errors as found at the visits so far, with their limits. Goes out: the interval that
//! they suggest, and why. It is a suggestion: what counts is what firm and client agree. Next: the command `due`.
//!
//! Source: ILAC-G24:2022 / OIML D 10:2022, «Guidelines for the determination of recalibration intervals of measuring
//! equipment», method 1, automatic adjustment or «staircase» (calendar time): longer after a check well inside the largest
//! permissible error, shorter after one outside it; from memory. The guideline leaves the factors to the user.

/// What an interval is multiplied by after a check that failed.
///
/// Source: common practice, no source: half.
pub const SHORTER: f64 = 0.5;

/// What it is multiplied by after two good checks running.
///
/// Source: common practice, no source: a quarter longer.
pub const LONGER: f64 = 1.25;

/// Largest part of the limit that an error of a good check takes.
///
/// Source: common practice, no source: half; ILAC-G24 names 80 % as an example, which lengthens sooner.
pub const GOOD_PART: f64 = 0.5;

/// Shortest and longest interval that a step leads to, in days: one week, and twelve months in whole weeks.
///
/// Source: common practice, no source.
pub const BOUNDS_DAYS: [u32; 2] = [WEEK_DAYS, 52 * WEEK_DAYS];

/// Days of a week.
///
/// Source: ISO 8601-1:2019, 3.1.1.22; from memory.
const WEEK_DAYS: u32 = 7;

/// How far above a limit a value still counts as on it, relative to the limit where that is above 1: what rounding in binary
/// arithmetic leaves. The same as in [`crate::limits`].
///
/// Source: our own choice, far below any typed digit.
const ON_LIMIT: f64 = 1e-9;

/// How a check came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Check {
    /// The error as found was beyond its limit.
    Failed,
    /// It was within [`GOOD_PART`] of its limit.
    Good,
    /// It was within its limit.
    Passed,
    /// There was no error, or no limit for it.
    NotJudged,
}

/// Why an interval is suggested.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// The last check failed.
    Failed,
    /// The last two were good.
    TwiceGood,
    /// The last one was good, the one before it was not, or there was none.
    OnceGood,
    /// The last one passed, but not by enough.
    Passed,
    /// The last one was not judged.
    NotJudged,
}

/// What is suggested.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Suggestion {
    /// Days until the next check.
    pub days: u32,
    /// Why.
    pub why: Why,
}

/// How a check came out: its error as found (shown minus true) and the largest error that is no failure, in one unit.
pub fn check(error: Option<f64>, limit: Option<f64>) -> Check {
    let Some((error, limit)) = Option::zip(error, limit) else {
        return Check::NotJudged;
    };
    let within = |limit: f64| error.abs() - limit <= ON_LIMIT * limit.abs().max(1.0);
    match (within(limit), within(GOOD_PART * limit)) {
        (false, _) => Check::Failed,
        (true, true) => Check::Good,
        (true, false) => Check::Passed,
    }
}

/// The interval suggested after `checks` (in the order of time) with an interval of `days` in use. A changed interval is in
/// whole weeks, rounded down, within [`BOUNDS_DAYS`]; one that is not changed stays as it is.
///
/// ```
/// use halfcell::engine::interval::{check, suggested};
/// let checks = [check(Some(0.02), Some(0.2)), check(Some(-0.05), Some(0.2))];
/// assert_eq!(suggested(90, &checks).map(|it| it.days), Some(112)); // 90 × 1.25 = 112.5: 16 weeks
/// ```
pub fn suggested(days: u32, checks: &[Check]) -> Option<Suggestion> {
    let (last, before) = checks.split_last()?;
    let why = match (last, before.last()) {
        (Check::Failed, _) => Why::Failed,
        (Check::Good, Some(Check::Good)) => Why::TwiceGood,
        (Check::Good, Some(Check::Failed | Check::Passed | Check::NotJudged) | None) => Why::OnceGood,
        (Check::Passed, _) => Why::Passed,
        (Check::NotJudged, _) => Why::NotJudged,
    };
    let days = match why {
        Why::Failed => weeks(days, SHORTER).min(days),
        Why::TwiceGood => weeks(days, LONGER).max(days),
        Why::OnceGood | Why::Passed | Why::NotJudged => days,
    };
    Some(Suggestion { days, why })
}

/// Whole weeks, rounded down, within the bounds.
fn weeks(days: u32, factor: f64) -> u32 {
    let weeks = (factor * f64::from(days) / f64::from(WEEK_DAYS)).floor() as u32;
    (weeks * WEEK_DAYS).clamp(BOUNDS_DAYS[0], BOUNDS_DAYS[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Days suggested after errors in pH with a limit of 0.2 pH.
    fn days(in_use: u32, errors: &[f64]) -> u32 {
        let checks: Vec<Check> = errors.iter().map(|error| check(Some(*error), Some(0.2))).collect();
        suggested(in_use, &checks).unwrap().days
    }

    #[test]
    fn a_failed_check_halves_the_interval() {
        // 90 / 2 = 45 days: 6 weeks and 3 days.
        assert_eq!(days(90, &[0.21]), 42);
        assert_eq!(days(90, &[0.01, 0.01, -0.56]), 42, "whatever was before it");
        // 56 / 2 = 28 days: 4 weeks.
        assert_eq!(days(56, &[0.3]), 28);
    }

    #[test]
    fn two_good_checks_running_lengthen_it_by_a_quarter() {
        // 90 × 1.25 = 112.5 days: 16 weeks and half a day.
        assert_eq!(days(90, &[0.1, -0.1]), 112);
        // 30 × 1.25 = 37.5 days: 5 weeks and 2.5 days.
        assert_eq!(days(30, &[0.5, 0.02, 0.03]), 35);
        // 7 × 1.25 = 8.75 days: 1 week.
        assert_eq!(days(7, &[0.0, 0.0]), 7);
    }

    #[test]
    fn anything_else_leaves_it_as_it_is() {
        assert_eq!(days(90, &[0.05]), 90, "good once");
        assert_eq!(days(90, &[0.19, 0.05]), 90, "good after a passed one");
        assert_eq!(days(90, &[0.05, 0.11]), 90, "inside by less than half");
        assert_eq!(days(90, &[0.05, 0.2]), 90, "on the limit is inside");
        assert_eq!(days(91, &[0.3, 0.05]), 91);
        assert_eq!(suggested(90, &[check(Some(0.01), Some(0.2)), check(None, Some(0.2))]).unwrap().days, 90);
        assert_eq!(suggested(90, &[]), None);
    }

    #[test]
    fn a_check_that_was_not_judged_breaks_the_run() {
        let good = check(Some(0.01), Some(0.2));
        let checks = [good, check(Some(0.01), None), good];
        assert_eq!(suggested(90, &checks), Some(Suggestion { days: 90, why: Why::OnceGood }));
    }

    #[test]
    fn no_step_leaves_one_week_to_twelve_months() {
        assert_eq!(days(10, &[1.0]), 7, "5 days are less than a week");
        assert_eq!(days(7, &[1.0]), 7);
        assert_eq!(days(3, &[1.0]), 3, "shorter than a week already: never made longer by a failure");
        // 300 × 1.25 = 375 days: more than 52 weeks.
        assert_eq!(days(300, &[0.0, 0.0]), 364);
        assert_eq!(days(400, &[0.0, 0.0]), 400, "longer already by the firm's own rule");
        // 730 / 2 = 365 days: 52 weeks and 1 day.
        assert_eq!(days(730, &[1.0]), 364);
    }

    #[test]
    fn limits_hold_on_both_sides() {
        assert_eq!(check(Some(-27.42), Some(20.0)), Check::Failed);
        assert_eq!(check(Some(-10.0), Some(20.0)), Check::Good);
        assert_eq!(check(Some(-10.1), Some(20.0)), Check::Passed);
        assert_eq!(check(Some(0.1 + 0.2), Some(0.3)), Check::Passed, "binary rounding is no failure");
    }
}
