//! A row of a table for a spreadsheet.
//!
//! Comes in: the texts of its cells. Goes out: one line of comma-separated values that no spreadsheet takes for a formula.
//! Next: whoever exports a table.

use std::borrow::Cow;

/// Characters at the beginning of a cell that make a spreadsheet take it for a formula.
///
/// Source: OWASP, CSV Injection (community page, read 2026): `=`, `+`, `-`, `@`, tab, carriage return, line feed, and the
/// full-width forms of the first four.
const BEGINS_FORMULA: [char; 11] = ['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'];

/// One row with its line end. A cell with a comma, a quotation mark or a line end is quoted; a text that a spreadsheet would
/// compute gets an apostrophe before it; a plain number stays as it is.
///
/// Source: IETF, RFC 4180 (2005), section 2 (quoting, line ends).
///
/// ```
/// let cells = ["AT-118", "-4.2", "=1+1", "pump \"2\", left"].map(str::to_owned);
/// assert_eq!(halfcell::csv::row(&cells), "AT-118,-4.2,'=1+1,\"pump \"\"2\"\", left\"\r\n");
/// ```
pub fn row(cells: &[String]) -> String {
    let cells: Vec<Cow<'_, str>> = cells.iter().map(|text| quoted(harmless(text))).collect();
    cells.join(",") + "\r\n"
}

/// The text, with an apostrophe before what would be computed.
fn harmless(text: &str) -> Cow<'_, str> {
    match text.starts_with(BEGINS_FORMULA) && !is_number(text) {
        true => Cow::Owned(format!("'{text}")),
        false => Cow::Borrowed(text),
    }
}

fn quoted(text: Cow<'_, str>) -> Cow<'_, str> {
    match text.contains([',', '"', '\r', '\n']) {
        true => Cow::Owned(format!("\"{}\"", text.replace('"', "\"\""))),
        false => text,
    }
}

/// Whether the text is a number with nothing but sign, digits and one decimal point.
fn is_number(text: &str) -> bool {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    let (whole, part) = digits.split_once('.').unwrap_or((digits, "0"));
    let are_digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    are_digits(whole) && are_digits(part)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(text: &str) -> String {
        row(&[text.to_owned()]).trim_end_matches("\r\n").to_owned()
    }

    #[test]
    fn what_a_spreadsheet_would_compute_is_neutralised() {
        for text in ["=HYPERLINK(0)", "+49 170", "-1+1", "@SUM(A1)", "\tx", "-", "+", "-4,2", "-1e3", "＝1+1", "-.5"] {
            assert!(one(text).trim_start_matches('"').starts_with('\''), "{text} → {}", one(text));
        }
        assert_eq!(one("=cmd|' /C calc'!A0"), "'=cmd|' /C calc'!A0");
        assert_eq!(one("\r=1"), "\"'\r=1\"");
    }

    #[test]
    fn plain_numbers_and_texts_stay_as_they_are() {
        for text in ["-4.2", "+0.183", "97.25", "-12", "", "AT-118", "2026-06-16", "a=b", "−4.2"] {
            assert_eq!(one(text), text);
        }
    }

    #[test]
    fn commas_quotation_marks_and_line_ends_are_quoted() {
        assert_eq!(one("a,b"), "\"a,b\"");
        assert_eq!(one("5\" pipe"), "\"5\"\" pipe\"");
        assert_eq!(one("a\nb"), "\"a\nb\"");
        assert_eq!(one("=\"a\""), "\"'=\"\"a\"\"\"");
        assert_eq!(row(&["a".into(), String::new(), "c".into()]), "a,,c\r\n");
    }
}
