//! Moments and dates as typed.

use crate::problem::{Place, Problem};
use chrono::{DateTime, FixedOffset, NaiveDate};

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

impl Moment {
    /// Reads ISO 8601 with offset: `2026-04-17T08:40+01:00`.
    ///
    /// # Errors
    /// One problem with the corrected text as the fix.
    pub fn parse(text: &str, place: &Place) -> Result<Self, Problem> {
        let _ = (text, place);
        unimplemented!("next commit")
    }

    /// Reads a moment inside a visit: a whole moment, or a clock time (`08:30`) on the day and with the offset of
    /// `started`; refused when the visit ends on another day.
    ///
    /// # Errors
    /// One problem with the corrected text as the fix.
    pub fn parse_within(
        text: &str,
        place: &Place,
        started: &Moment,
        finished: Option<&Moment>,
    ) -> Result<Self, Problem> {
        let _ = (text, place, started, finished);
        unimplemented!("next commit")
    }

    /// As printed: `2026-04-17 08:40 +01:00`.
    pub fn print(&self) -> String {
        unimplemented!("next commit")
    }
}

impl Date {
    /// Reads `2026-04-17`.
    ///
    /// # Errors
    /// One problem with the corrected text as the fix.
    pub fn parse(text: &str, place: &Place) -> Result<Self, Problem> {
        let _ = (text, place);
        unimplemented!("next commit")
    }

    /// Reads `2026-04-17` or `2027-03`, which is the last day of that month.
    ///
    /// # Errors
    /// One problem with the corrected text as the fix.
    pub fn parse_expiry(text: &str, place: &Place) -> Result<Self, Problem> {
        let _ = (text, place);
        unimplemented!("next commit")
    }
}
