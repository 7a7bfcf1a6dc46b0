//! Days and moments as a language writes them; clock times and offsets stay as they are.

use super::Wording;

impl Wording {
    /// A day, or a moment with clock time and offset; a text that is neither stays as it is.
    pub fn time(&self, text: &str) -> String {
        match When::read(text) {
            Some(when) => format!("{} {} {}", when.date, when.clock, when.offset).replace(' ', "\u{a0}"),
            None => text.to_owned(),
        }
    }
}

/// Date, clock time and offset of a moment, as written.
pub struct When<'a> {
    /// `2026-04-17`.
    pub date: &'a str,
    /// `08:40`; seconds unless they are zero.
    pub clock: &'a str,
    /// `+01:00`.
    pub offset: &'a str,
}

impl<'a> When<'a> {
    /// Reads `2026-04-17T08:40+01:00` or the same with spaces.
    pub fn read(text: &'a str) -> Option<Self> {
        let (date, rest) = text.split_once('T').or_else(|| text.split_once([' ', '\u{a0}']))?;
        let at = rest.find(['+', '-', 'Z', '−'])?;
        let (clock, offset) = rest.split_at(at);
        let clock = clock.trim_matches([' ', '\u{a0}']);
        let is_date = date.len() == 10 && date.as_bytes().get(4) == Some(&b'-');
        is_date.then_some(When {
            date,
            clock: clock.strip_suffix(":00").filter(|c| c.len() == 5).unwrap_or(clock),
            offset,
        })
    }
}
