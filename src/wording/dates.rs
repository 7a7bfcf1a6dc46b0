//! Days, months and moments as a language writes them, so that no date can be read in two ways; clock times and offsets from
//! UTC stay as they are.

use super::Wording;

impl Wording {
    /// A month, a day, or a moment with clock time and offset, as a record holds it; any other text stays as it is.
    pub fn time(&self, text: &str) -> String {
        match When::read(text) {
            Some(When { date, clock, offset }) => {
                self.say("moment", &[("day", &self.day(date)), ("clock", clock), ("offset", offset)])
            }
            None => self.day(text),
        }
    }

    /// The day of a moment or day, or a month; a text that is neither stays as it is.
    pub fn day(&self, text: &str) -> String {
        let date = When::read(text).map_or(text, |when| when.date);
        let parts: Vec<&str> = date.split('-').collect();
        let is_number = |part: &str, digits: usize| part.len() == digits && part.bytes().all(|b| b.is_ascii_digit());
        match parts[..] {
            [year, month, day] if is_number(year, 4) && is_number(day, 2) => {
                let Some(name) = self.month_name(month) else { return text.to_owned() };
                let in_words = match day.trim_start_matches('0') {
                    "1" => self.label("first-day"),
                    day => day,
                };
                let fill = [("year", year), ("month", month), ("day", day), ("day_in_words", in_words)];
                self.say("day", &[&fill[..], &[("month_name", name)]].concat())
            }
            [year, month] if is_number(year, 4) => match self.month_name(month) {
                Some(name) => self.say("month", &[("year", year), ("month", month), ("month_name", name)]),
                None => text.to_owned(),
            },
            _ => text.to_owned(),
        }
    }

    /// The short name of a month, `01` to `12`.
    fn month_name(&self, month: &str) -> Option<&str> {
        self.labels.get(&format!("month-name {month}")).map(String::as_str)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_date_reads_in_one_way_only() {
        let of = |tag, text: &str| Wording::of(Some(tag)).time(text).replace('\u{a0}', "_");
        for (tag, day, moment, month) in [
            ("en", "2026-05-12", "2026-08-01_08:40_+01:00", "2025-06"),
            ("de", "12.05.2026", "01.08.2026_08:40_+01:00", "06.2025"),
            ("fr", "12_mai_2026", "1er_août_2026_08:40_+01:00", "juin_2025"),
            ("es", "12_may_2026", "1_ago_2026_08:40_+01:00", "jun_2025"),
        ] {
            assert_eq!(of(tag, "2026-05-12"), day);
            assert_eq!(of(tag, "2026-08-01T08:40:00+01:00"), moment);
            assert_eq!(of(tag, "2026-08-01 08:40 +01:00"), moment);
            assert_eq!(of(tag, "2025-06"), month);
            assert_eq!(of(tag, "2025-13-01"), "2025-13-01");
            assert_eq!(of(tag, "about May"), "about May");
        }
    }
}
