//! Calendar days as typed, and the traps of writing them.

use crate::problem::{Place, Problem};
use chrono::{Datelike, Months, NaiveDate};

/// A calendar day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Date {
    /// The day.
    pub date: NaiveDate,
    /// As typed: `2026-04-17`, or `2027-03` for an expiry.
    pub text: String,
    /// Where it stands.
    pub place: Place,
}

/// Why a text is no date: code, why, fix.
pub(super) type Refusal = (&'static str, String, String);

/// Years outside are slips of the finger (`0206-04-17`), not work done with these instruments.
const YEARS: std::ops::RangeInclusive<i32> = 1950..=2199;

impl Date {
    /// Reads `2026-04-17`.
    ///
    /// # Errors
    /// `impossible-date`, `ambiguous-date`, `date-format`, `date-incomplete`.
    ///
    /// # Examples
    /// ```
    /// use halfcell::{problem::Place, quantity::Date};
    /// let problem = Date::parse("2026-02-30", &Place::whole("kit.yaml")).unwrap_err();
    /// assert_eq!((problem.code, problem.why.as_str()), ("impossible-date", "February 2026 has 28 days"));
    /// ```
    pub fn parse(text: &str, place: &Place) -> Result<Self, Problem> {
        let typed = text.trim();
        let date = day(typed).and_then(|found| match found {
            Some(date) => Ok(date),
            None => Err(month(typed).map_or_else(
                || misspelt(typed),
                |_| {
                    let fix = format!("write the day too: {typed}-17");
                    ("date-incomplete", "a month alone says no day".to_owned(), fix)
                },
            )),
        });
        Date::or_problem(date, typed, place)
    }

    /// Reads `2026-04-17`, or `2027-03`, which is the last day of that month.
    ///
    /// # Errors
    /// As [`Date::parse`].
    pub fn parse_expiry(text: &str, place: &Place) -> Result<Self, Problem> {
        let typed = text.trim();
        let date = day(typed).and_then(|found| found.or_else(|| month(typed)).ok_or_else(|| misspelt_expiry(typed)));
        Date::or_problem(date, typed, place)
    }

    fn or_problem(date: Result<NaiveDate, Refusal>, typed: &str, place: &Place) -> Result<Self, Problem> {
        match date {
            Ok(date) => Ok(Date { date, text: typed.to_owned(), place: place.clone() }),
            Err((code, why, fix)) => {
                Err(Problem::error(code, place, format!("found `{typed}` where a date is due"), why, fix))
            }
        }
    }
}

/// The numbers of a text that is digits divided by `divider`, with their count of digits.
pub(super) fn numbers(text: &str, divider: char) -> Option<Vec<(u32, usize)>> {
    text.split(divider)
        .map(|part| {
            let only_digits = !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
            only_digits.then(|| part.parse().ok().map(|number| (number, part.len()))).flatten()
        })
        .collect()
}

/// `Ok(None)` where the text does not have the shape `2026-04-17`; an error where it has, and no such day exists.
pub(super) fn day(text: &str) -> Result<Option<NaiveDate>, Refusal> {
    match numbers(text, '-').as_deref() {
        Some([(year, 4), (month, 2), (day, 2)]) => real_day(*year, *month, *day).map(Some),
        _ => Ok(None),
    }
}

fn real_day(year: u32, month: u32, day: u32) -> Result<NaiveDate, Refusal> {
    let refuse =
        |why: String| Err(("impossible-date", why, "write the day as year-month-day, like 2026-04-17".to_owned()));
    let year = i32::try_from(year).unwrap_or(i32::MAX);
    if !YEARS.contains(&year) {
        return refuse(format!("the year {year:04} cannot be meant"));
    }
    let Some(first) = NaiveDate::from_ymd_opt(year, month, 1) else {
        return refuse(format!("there is no month {month:02}"));
    };
    match NaiveDate::from_ymd_opt(year, month, day) {
        Some(date) => Ok(date),
        None => refuse(format!("{} has {} days", first.format("%B %Y"), last_of(first).day())),
    }
}

/// The last day of the month `2027-03`.
fn month(text: &str) -> Option<NaiveDate> {
    match numbers(text, '-').as_deref() {
        Some([(year, 4), (month, 2)]) => real_day(*year, *month, 1).ok().map(last_of),
        _ => None,
    }
}

fn last_of(first: NaiveDate) -> NaiveDate {
    first.checked_add_months(Months::new(1)).and_then(|next| next.pred_opt()).unwrap_or(first)
}

/// Tells how a text that has not the shape `2026-04-17` reads: one way, two ways, or not as a date.
pub(super) fn misspelt(text: &str) -> Refusal {
    let shape = "dates are written year-month-day (ISO 8601)";
    let parts = ['-', '/', '.'].iter().find_map(|divider| numbers(text, *divider).filter(|parts| parts.len() == 3));
    let Some(parts) = parts else {
        return ("date-format", shape.to_owned(), format!("write it like 2026-04-17{}", hint(text)));
    };
    let readings = readings(&parts, text.contains('-'));
    match readings.as_slice() {
        [] => (
            "impossible-date",
            "no order of day, month and year makes a day of it".to_owned(),
            "write it like 2026-04-17".to_owned(),
        ),
        [only] => ("date-format", shape.to_owned(), format!("write {only}")),
        [one, two, ..] => (
            "ambiguous-date",
            format!("it reads as {} or as {}", one.format("%-d %B %Y"), two.format("%-d %B %Y")),
            format!("write {one} or {two}"),
        ),
    }
}

fn hint(text: &str) -> &'static str {
    if text.contains(':') { ", without the time" } else { "" }
}

/// The days that three numbers can mean, without doubles.
fn readings(parts: &[(u32, usize)], is_hyphened: bool) -> Vec<NaiveDate> {
    let [first, second, third] = parts else {
        return Vec::new();
    };
    let full = |(number, digits): (u32, usize)| if digits <= 2 { 2000 + number } else { number };
    let orders = if first.1 == 4 {
        vec![(first.0, second.0, third.0)]
    } else {
        let year_first = (full(*first), second.0, third.0);
        let year_last = [(full(*third), second.0, first.0), (full(*third), first.0, second.0)];
        // With hyphens a year of two digits is as likely at the front: `26-04-17`.
        Some(year_first).filter(|_| is_hyphened && third.1 <= 2).into_iter().chain(year_last).collect()
    };
    let mut days: Vec<NaiveDate> =
        orders.into_iter().filter_map(|(year, month, day)| real_day(year, month, day).ok()).collect();
    days.dedup();
    days
}

fn misspelt_expiry(text: &str) -> Refusal {
    let month_first = ['/', '.', '-'].iter().find_map(|divider| numbers(text, *divider));
    if let Some([(month, 1 | 2), (year, digits @ (2 | 4))]) = month_first.as_deref() {
        let year = if *digits == 2 { 2000 + year } else { *year };
        if (1..=12).contains(month) {
            let fix = format!("write {year:04}-{month:02}, which is the last day of that month");
            return ("date-format", "an expiry is written year-month or year-month-day (ISO 8601)".to_owned(), fix);
        }
    }
    if let Some([(year, 4), (month, 1 | 2)]) = numbers(text, '-').as_deref() {
        return match real_day(*year, *month, 1) {
            Ok(day) => ("date-format", "the month has two digits".to_owned(), format!("write {}", day.format("%Y-%m"))),
            Err(refusal) => refusal,
        };
    }
    misspelt(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> (&'static str, String, String) {
        let problem = Date::parse(text, &Place::whole("kit.yaml")).expect_err(text);
        (problem.code, problem.why, problem.fix)
    }

    fn expiry(text: &str) -> Result<String, (&'static str, String)> {
        Date::parse_expiry(text, &Place::whole("kit.yaml"))
            .map(|date| date.date.to_string())
            .map_err(|problem| (problem.code, problem.fix))
    }

    #[test]
    fn a_day_is_read_as_typed() {
        let date = Date::parse("2024-02-29", &Place::whole("kit.yaml")).expect("a leap day");
        assert_eq!((date.date.to_string(), date.text.as_str()), ("2024-02-29".to_owned(), "2024-02-29"));
    }

    #[test]
    fn days_that_do_not_exist_are_named() {
        assert_eq!(refused("2026-02-30").1, "February 2026 has 28 days");
        assert_eq!(refused("2026-04-31").1, "April 2026 has 30 days");
        assert_eq!(refused("2026-13-01").1, "there is no month 13");
        assert_eq!(refused("0206-04-17").1, "the year 0206 cannot be meant");
        assert_eq!(refused("31/31/26").0, "impossible-date");
    }

    #[test]
    fn a_date_that_reads_two_ways_shows_both() {
        let (code, why, fix) = refused("03/04/26");
        assert_eq!(code, "ambiguous-date");
        assert_eq!(why, "it reads as 3 April 2026 or as 4 March 2026");
        assert_eq!(fix, "write 2026-04-03 or 2026-03-04");
        assert_eq!(refused("26-11-30").2, "write 2026-11-30 or 2030-11-26");
    }

    #[test]
    fn a_date_that_reads_one_way_gets_that_as_fix() {
        assert_eq!((refused("17.04.2026").0, refused("17.04.2026").2.as_str()), ("date-format", "write 2026-04-17"));
        assert_eq!(refused("04/17/2026").2, "write 2026-04-17");
        assert_eq!(refused("2026-4-7").2, "write 2026-04-07");
        assert_eq!(refused("05/05/26").2, "write 2026-05-05");
        assert_eq!(refused("17 April").2, "write it like 2026-04-17");
        assert_eq!(refused("2026-04-17T08:40+01:00").2, "write it like 2026-04-17, without the time");
        assert_eq!(refused("2026-04").0, "date-incomplete");
    }

    #[test]
    fn an_expiry_month_is_its_last_day() {
        assert_eq!(expiry("2027-03"), Ok("2027-03-31".to_owned()));
        assert_eq!(expiry("2028-02"), Ok("2028-02-29".to_owned()));
        assert_eq!(expiry("2026-11-30"), Ok("2026-11-30".to_owned()));
        let fix = "write 2027-03, which is the last day of that month".to_owned();
        assert_eq!(expiry("03/2027"), Err(("date-format", fix.clone())));
        assert_eq!(expiry("03/27"), Err(("date-format", fix)));
        assert_eq!(expiry("2027-3"), Err(("date-format", "write 2027-03".to_owned())));
        assert_eq!(expiry("2027-13").map_err(|refusal| refusal.0), Err("impossible-date"));
    }
}
