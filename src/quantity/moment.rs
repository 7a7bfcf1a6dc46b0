//! Moments with their offset from UTC, and clock times inside a visit.
//!
//! Accepted is ISO 8601 with offset, to the minute or the second: `2026-04-17T08:40+01:00`, `2026-04-17T07:40:12Z`;
//! a space may stand for the `T` and before the offset, so that what is printed can be typed.

use super::date::{self, Refusal};
use crate::problem::{Place, Problem};
use chrono::{DateTime, FixedOffset, NaiveDate, NaiveTime, TimeZone, Timelike};

/// A moment with its offset from UTC.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moment {
    /// The moment with the offset that was typed.
    pub instant: DateTime<FixedOffset>,
    /// As typed.
    pub text: String,
    /// Where it stands.
    pub place: Place,
}

impl Moment {
    /// Reads ISO 8601 with offset: `2026-04-17T08:40+01:00`.
    ///
    /// # Errors
    /// `time-without-offset`, `time-missing`, `impossible-date`, `impossible-time`, `impossible-offset`,
    /// `ambiguous-date`, `date-format`, `time-format`.
    ///
    /// # Examples
    /// ```
    /// use halfcell::{problem::Place, quantity::Moment};
    /// let place = Place::whole("visit.yaml");
    /// assert_eq!(Moment::parse("2026-04-17T08:40+01:00", &place).unwrap().print(), "2026-04-17 08:40 +01:00");
    /// assert_eq!(Moment::parse("2026-04-17T24:30Z", &place).unwrap_err().code, "impossible-time");
    /// ```
    pub fn parse(text: &str, place: &Place) -> Result<Self, Problem> {
        let typed = text.trim();
        let instant = whole(typed).map_err(|(code, why, fix)| {
            Problem::error(code, place, format!("found `{typed}` where a time with date and offset is due"), why, fix)
        })?;
        Ok(Moment { instant, text: typed.to_owned(), place: place.clone() })
    }

    /// Reads a moment inside a visit: a whole moment, or a clock time (`08:30`, `08:30:15`) on the day and with the
    /// offset of `started`.
    ///
    /// # Errors
    /// As [`Moment::parse`]; `clock-across-midnight` for a clock time in a visit that ends on another day.
    pub fn parse_within(
        text: &str,
        place: &Place,
        started: &Moment,
        finished: Option<&Moment>,
    ) -> Result<Self, Problem> {
        let typed = text.trim();
        if typed.contains('-') && typed.len() > 8 || typed.contains(['T', '/']) {
            return Moment::parse(text, place);
        }
        let problem = |(code, why, fix): Refusal| {
            Problem::error(code, place, format!("found `{typed}` where a clock time is due"), why, fix)
        };
        let time = clock(typed).map_err(problem)?;
        let offset = *started.instant.offset();
        let day = started.instant.date_naive();
        let last_day = finished.map_or(day, |moment| moment.instant.with_timezone(&offset).date_naive());
        if last_day != day {
            let why = format!("the visit lasts from {day} to {last_day}, so a clock time alone says no day");
            let fix = format!("write the day and the offset too: {day}T{typed}{offset} or {last_day}T{typed}{offset}");
            return Err(problem(("clock-across-midnight", why, fix)));
        }
        let instant = at_offset(day, time, offset).map_err(problem)?;
        Ok(Moment { instant, text: typed.to_owned(), place: place.clone() })
    }

    /// As printed: `2026-04-17 08:40 +01:00`; the seconds where they are not zero.
    pub fn print(&self) -> String {
        let clock = if self.instant.second() == 0 { "%Y-%m-%d %H:%M" } else { "%Y-%m-%d %H:%M:%S" };
        let offset =
            if self.text.ends_with("-00:00") { "-00:00".to_owned() } else { self.instant.offset().to_string() };
        format!("{} {offset}", self.instant.format(clock))
    }
}

fn whole(typed: &str) -> Result<DateTime<FixedOffset>, Refusal> {
    let Some((day, clock_and_offset)) = typed.split_once(['T', ' ']) else {
        return Err(no_clock(typed));
    };
    let date = match date::day(day)? {
        Some(date) => date,
        None => {
            let (code, why, fix) = date::misspelt(day);
            return Err((code, why, format!("{fix} for the day")));
        }
    };
    let start_of_offset = clock_and_offset.find(['Z', '+', '-', '\u{2212}']).unwrap_or(clock_and_offset.len());
    let (clock_text, offset_text) = clock_and_offset.split_at(start_of_offset);
    let clock_text = clock_text.trim_end();
    let time = clock(clock_text)?;
    if offset_text.is_empty() {
        let fix = format!("write it with the offset that held there: {day}T{clock_text}+01:00, or …Z for UTC");
        return Err((
            "time-without-offset",
            "without an offset from UTC the moment is known to the hour only".to_owned(),
            fix,
        ));
    }
    at_offset(date, time, offset(offset_text)?)
}

fn at_offset(date: NaiveDate, time: NaiveTime, offset: FixedOffset) -> Result<DateTime<FixedOffset>, Refusal> {
    offset.from_local_datetime(&date.and_time(time)).single().ok_or_else(|| {
        ("impossible-time", "this moment does not exist".to_owned(), "write it like 2026-04-17T08:40+01:00".to_owned())
    })
}

/// A date alone, a clock time alone, or neither.
fn no_clock(typed: &str) -> Refusal {
    match date::day(typed) {
        Ok(Some(day)) => (
            "time-missing",
            "a day alone says no time".to_owned(),
            format!("write the time and the offset too: {day}T08:40+01:00"),
        ),
        Err(refusal) => refusal,
        Ok(None) if clock(typed).is_ok() => (
            "date-format",
            "a clock time alone says no day".to_owned(),
            format!("write the day and the offset too: 2026-04-17T{typed}+01:00"),
        ),
        Ok(None) => {
            let (code, why, fix) = date::misspelt(typed);
            (code, why, format!("{fix} for the day, then the time: 2026-04-17T08:40+01:00"))
        }
    }
}

/// `08:40` or `08:40:15`, two digits each.
fn clock(text: &str) -> Result<NaiveTime, Refusal> {
    let parts = date::numbers(text, ':');
    let (hour, minute, second) = match parts.as_deref() {
        Some([(hour, 2), (minute, 2)]) => (*hour, *minute, 0),
        Some([(hour, 2), (minute, 2), (second, 2)]) => (*hour, *minute, *second),
        Some([(hour, 1), (minute, 2), ..]) => {
            let fix = format!("write {hour:02}:{minute:02}, or {:02}:{minute:02} if the evening is meant", hour + 12);
            return Err(("time-format", "the hour has two digits, from 00 to 23".to_owned(), fix));
        }
        _ => return Err(misspelt_clock(text)),
    };
    NaiveTime::from_hms_opt(hour, minute, second).ok_or_else(|| impossible(hour, minute, second))
}

fn impossible(hour: u32, minute: u32, second: u32) -> Refusal {
    let (why, fix) = match (hour, minute, second) {
        (24, 0, 0) => ("the day ends at 23:59".to_owned(), "write 00:00 of the next day".to_owned()),
        (24.., ..) => (format!("there is no hour {hour}"), "write the hour from 00 to 23".to_owned()),
        (_, 60.., _) => (format!("there is no minute {minute}"), "write the minute from 00 to 59".to_owned()),
        (_, _, 60) => ("leap seconds are not recorded".to_owned(), format!("write {hour:02}:{minute:02}:59")),
        _ => (format!("there is no second {second}"), "write the second from 00 to 59".to_owned()),
    };
    ("impossible-time", why, fix)
}

fn misspelt_clock(text: &str) -> Refusal {
    let small = text.to_ascii_lowercase();
    let fix = if small.ends_with('m') || small.contains("o'clock") {
        "write it by the 24-hour clock, like 08:40 or 20:40"
    } else {
        "write it like 08:40"
    };
    (
        "time-format",
        "times are written hours:minutes or hours:minutes:seconds by the 24-hour clock".to_owned(),
        fix.to_owned(),
    )
}

/// `Z`, `+01:00`, `-03:30`.
fn offset(text: &str) -> Result<FixedOffset, Refusal> {
    let (sign, body) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(body) => (-1, body),
        None => (1, text.strip_prefix('+').unwrap_or(text)),
    };
    if text == "Z" {
        return FixedOffset::east_opt(0).ok_or_else(|| unknown_offset(text));
    }
    let parts = date::numbers(body, ':');
    let Some([(hours, 2), (minutes, 2)]) = parts.as_deref() else {
        return Err(unknown_offset(text));
    };
    // Offsets in use reach from -12:00 to +14:00 (IANA time zone database, from memory).
    let seconds = i32::try_from(hours * 3600 + minutes * 60).unwrap_or(i32::MAX);
    if seconds > 14 * 3600 || *minutes > 59 {
        return Err(unknown_offset(text));
    }
    FixedOffset::east_opt(sign * seconds).ok_or_else(|| unknown_offset(text))
}

fn unknown_offset(text: &str) -> Refusal {
    (
        "impossible-offset",
        format!("`{text}` is no offset from UTC: these are Z, or hours and minutes up to 14:00"),
        "write it like +01:00, -05:00 or Z".to_owned(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Moment {
        Moment::parse(text, &Place::whole("visit.yaml")).expect(text)
    }

    fn refused(text: &str) -> (&'static str, String) {
        let problem = Moment::parse(text, &Place::whole("visit.yaml")).expect_err(text);
        (problem.code, problem.fix)
    }

    #[test]
    fn moments_keep_the_offset_typed() {
        assert_eq!(read("2026-04-17T08:40+01:00").print(), "2026-04-17 08:40 +01:00");
        assert_eq!(read("2026-04-17 08:40 +01:00").print(), "2026-04-17 08:40 +01:00");
        assert_eq!(read("2026-04-17T08:40:15Z").print(), "2026-04-17 08:40:15 +00:00");
        assert_eq!(read("2026-04-17T08:40-00:00").print(), "2026-04-17 08:40 -00:00");
        assert_eq!(read("2026-04-17T08:40\u{2212}03:30").print(), "2026-04-17 08:40 -03:30");
        assert_eq!(read("2026-04-17T08:40+01:00").instant, read("2026-04-17T07:40Z").instant);
    }

    #[test]
    fn what_is_printed_can_be_typed() {
        let moment = read("2026-04-17T23:59:59+14:00");
        assert_eq!(read(&moment.print()).instant, moment.instant);
    }

    #[test]
    fn times_that_do_not_exist_are_named() {
        assert_eq!(refused("2026-02-30T08:40Z").0, "impossible-date");
        assert_eq!(refused("2026-04-17T24:30Z"), ("impossible-time", "write the hour from 00 to 23".to_owned()));
        assert_eq!(refused("2026-04-17T24:00Z"), ("impossible-time", "write 00:00 of the next day".to_owned()));
        assert_eq!(refused("2026-04-17T23:59:60Z"), ("impossible-time", "write 23:59:59".to_owned()));
        assert_eq!(refused("2026-04-17T08:61Z").0, "impossible-time");
        assert_eq!(refused("2026-04-17T08:40+25:00").0, "impossible-offset");
        assert_eq!(refused("2026-04-17T08:40+0100").0, "impossible-offset");
    }

    #[test]
    fn a_local_time_gets_its_text_with_an_offset_as_fix() {
        let (code, fix) = refused("2026-04-17T08:40");
        assert_eq!(code, "time-without-offset");
        assert!(fix.contains("2026-04-17T08:40+01:00"), "{fix}");
    }

    #[test]
    fn other_shapes_are_told() {
        assert_eq!(
            refused("2026-04-17"),
            ("time-missing", "write the time and the offset too: 2026-04-17T08:40+01:00".to_owned())
        );
        assert_eq!(refused("03/04/26 08:40").0, "ambiguous-date");
        assert_eq!(refused("03/04/26").0, "ambiguous-date");
        assert_eq!(refused("08:40").0, "date-format");
        assert_eq!(refused("2026-04-17T8:40+01:00").0, "time-format");
        assert_eq!(refused("2026-04-17 8:40 am").0, "time-format");
        assert_eq!(refused("yesterday").0, "date-format");
        assert_eq!(refused("").0, "date-format");
    }

    #[test]
    fn a_clock_time_takes_day_and_offset_of_the_visit() {
        let place = Place::whole("visit.yaml");
        let started = read("2026-04-17T08:40+01:00");
        let finished = read("2026-04-17T12:15+01:00");
        let at = Moment::parse_within("09:10", &place, &started, Some(&finished)).expect("a clock time");
        assert_eq!((at.print().as_str(), at.text.as_str()), ("2026-04-17 09:10 +01:00", "09:10"));
        let whole = Moment::parse_within("2026-04-17T09:10+01:00", &place, &started, None).expect("a moment");
        assert_eq!(whole.instant, at.instant);
        assert_eq!(Moment::parse_within("25:10", &place, &started, None).expect_err("no hour").code, "impossible-time");
        assert_eq!(Moment::parse_within("2026-04-17", &place, &started, None).expect_err("a day").code, "time-missing");
    }

    #[test]
    fn a_clock_time_across_midnight_is_refused() {
        let started = read("2026-04-17T22:40+01:00");
        let finished = read("2026-04-18T01:15+01:00");
        let problem = Moment::parse_within("23:10", &Place::whole("visit.yaml"), &started, Some(&finished))
            .expect_err("two days");
        assert_eq!(problem.code, "clock-across-midnight");
        assert!(problem.fix.contains("2026-04-17T23:10+01:00 or 2026-04-18T23:10+01:00"), "{}", problem.fix);
    }
}
