//! Lengths of time on the calendar: `10 years`, `18 months`, `90 days`.

use super::unit::Unit;
use super::{Measured, number};
use crate::problem::{Place, Problem};
use chrono::{Datelike, Days, Months, NaiveDate};

/// A length of time on the calendar, in whole days, weeks, months or years.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Span {
    /// How many.
    pub count: u32,
    /// Of what.
    pub unit: SpanUnit,
    /// Where it stands.
    pub place: Place,
}

/// What a [`Span`] counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum SpanUnit {
    Days,
    Weeks,
    Months,
    Years,
}

/// Time in years, for the number alone: weeks and months have no fixed length in days.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Year;

impl Unit for Year {
    const SYMBOL: &'static str = "years";
    const ACCEPTED: &'static [(&'static str, f64, f64)] = &[
        ("years", 1.0, 0.0),
        ("year", 1.0, 0.0),
        ("months", 1.0 / 12.0, 0.0),
        ("month", 1.0 / 12.0, 0.0),
        ("weeks", 7.0 / 365.25, 0.0),
        ("week", 7.0 / 365.25, 0.0),
        ("days", 1.0 / 365.25, 0.0),
        ("day", 1.0 / 365.25, 0.0),
    ];
}

/// Longest length of time that is read, in years. Our own choice.
const LONGEST_YEARS: f64 = 100.0;

impl Span {
    /// Reads `10 years`: a whole number with its unit, from 1 day to 100 years.
    ///
    /// # Errors
    /// `span-not-whole`, and those of [`Measured::parse`].
    ///
    /// # Examples
    /// ```
    /// use halfcell::{problem::Place, quantity::Span};
    /// let place = Place::whole("limits.yaml");
    /// let day = chrono::NaiveDate::from_ymd_opt(2026, 4, 17).unwrap();
    /// let until = Span::parse("10 years", &place).unwrap().after(day);
    /// assert_eq!(until.to_string(), "2036-04-17");
    /// assert_eq!(Span::parse("10", &place).unwrap_err().fix, "write 10 years, or the unit that is meant");
    /// ```
    pub fn parse(text: &str, place: &Place) -> Result<Span, Problem> {
        let typed = Measured::<Year>::parse(text, place)?;
        let end = typed.text.find(|c: char| c.is_ascii_alphabetic()).unwrap_or(typed.text.len());
        let (digits, unit) = typed.text.split_at(end);
        let digits = digits.trim_end_matches(number::is_space);
        let unit = match unit {
            "days" | "day" => Some(SpanUnit::Days),
            "weeks" | "week" => Some(SpanUnit::Weeks),
            "months" | "month" => Some(SpanUnit::Months),
            "years" | "year" => Some(SpanUnit::Years),
            _ => None,
        };
        let count = digits.parse::<u32>().ok().filter(|count| *count > 0 && typed.value <= LONGEST_YEARS);
        match (count, unit) {
            (Some(count), Some(unit)) => Ok(Span { count, unit, place: place.clone() }),
            (count, _) => Err(Problem::error(
                "span-not-whole",
                place,
                format!("found `{}` where a length of time is due", typed.text),
                format!("it is a whole number of days, weeks, months or years, from 1 day to {LONGEST_YEARS} years"),
                match count {
                    Some(count) => format!("write {count} years, or the unit that is meant"),
                    None => "write it like 10 years, 18 months or 90 days".to_owned(),
                },
            )),
        }
    }

    /// The same day of the month so many months or years later, or so many days or weeks later. Where that month has no such
    /// day (29 February, 31 April), the first day of the next month: never shorter than was asked for. The last day of the
    /// calendar where there is no such day at all.
    pub fn after(&self, day: NaiveDate) -> NaiveDate {
        let count = self.count;
        let months = |months: u32| {
            let moved = day.checked_add_months(Months::new(months))?;
            if moved.day() < day.day() { moved.succ_opt() } else { Some(moved) }
        };
        let moved = match self.unit {
            SpanUnit::Days => day.checked_add_days(Days::new(count.into())),
            SpanUnit::Weeks => day.checked_add_days(Days::new(u64::from(count) * 7)),
            SpanUnit::Months => months(count),
            SpanUnit::Years => count.checked_mul(12).and_then(months),
        };
        moved.unwrap_or(NaiveDate::MAX)
    }

    /// As written in the files: `10 years`, `1 year`.
    pub fn text(&self) -> String {
        let unit = match self.unit {
            SpanUnit::Days => "day",
            SpanUnit::Weeks => "week",
            SpanUnit::Months => "month",
            SpanUnit::Years => "year",
        };
        format!("{} {unit}{}", self.count, if self.count == 1 { "" } else { "s" })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(text: &str, day: &str) -> String {
        let span = Span::parse(text, &Place::default()).expect(text);
        span.after(day.parse().expect(day)).to_string()
    }

    #[test]
    fn the_day_of_the_month_stays() {
        assert_eq!(after("3 years", "2026-04-17"), "2029-04-17");
        assert_eq!(after("18 months", "2026-04-17"), "2027-10-17");
        assert_eq!(after("1 month", "2026-12-31"), "2027-01-31");
        assert_eq!(after("90 days", "2026-04-17"), "2026-07-16");
        assert_eq!(after("52 weeks", "2026-04-17"), "2027-04-16");
    }

    #[test]
    fn a_day_that_the_month_does_not_have_is_the_first_of_the_next() {
        assert_eq!(after("3 years", "2024-02-29"), "2027-03-01");
        assert_eq!(after("4 years", "2024-02-29"), "2028-02-29");
        assert_eq!(after("6 months", "2026-08-31"), "2027-03-01");
        assert_eq!(after("1 month", "2026-03-31"), "2026-05-01");
    }

    #[test]
    fn it_is_written_as_in_the_files() {
        let text = |text: &str| Span::parse(text, &Place::default()).map(|span| span.text());
        for (typed, written) in [("10 years", "10 years"), ("1 years", "1 year"), ("12months", "12 months")] {
            assert_eq!(text(typed), Ok(written.to_owned()));
        }
    }

    #[test]
    fn what_is_no_whole_time_is_refused_with_the_fix() {
        let refused = |text: &str| {
            let problem = Span::parse(text, &Place::default()).expect_err(text);
            (problem.code, problem.fix)
        };
        let like = "write it like 10 years, 18 months or 90 days";
        for text in ["0 years", "-3 years", "1.5 years", "101 years", "36526 days"] {
            assert_eq!(refused(text), ("span-not-whole", like.to_owned()), "{text}");
        }
        assert_eq!(refused("10"), ("span-not-whole", "write 10 years, or the unit that is meant".to_owned()));
        assert_eq!(refused("10 Years"), ("unit-case", "write 10 years if that is meant".to_owned()));
        assert_eq!(refused("10 decades"), ("wrong-unit", "write 10 years if that is meant".to_owned()));
        assert_eq!(refused("1,5 years"), ("decimal-comma", "write 1.5 years".to_owned()));
    }
}
