//! What the commands that look back have in common: the register they read, names that it does not have, aligned rows.

use super::table::padded;
use super::tell;
use crate::past::{Lost, Roll};
use crate::yaml::nearest;
use chrono::NaiveDate;
use clap::ValueEnum;
use std::path::{Path, PathBuf};
use unicode_width::UnicodeWidthStr;

/// Columns of a terminal that rows may take.
pub const LINE: usize = 100;

/// What is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people
    Text,
    /// One object a line
    Json,
    /// A table for a spreadsheet
    Csv,
}

/// The register of everything issued where `issue` keeps it unless it is told otherwise.
pub fn register_folder(named: Option<&Path>) -> PathBuf {
    named.map_or_else(|| Path::new("certificates").join("register"), Path::to_owned)
}

/// A day as it is written: `2026-04-17`.
///
/// # Errors
/// A message for the command line.
pub fn day(text: &str) -> Result<NaiveDate, String> {
    let is_written_so = text.len() == 10 && text.is_char_boundary(4);
    let day = text.parse().ok().filter(|_| is_written_so);
    day.ok_or_else(|| "a day is written as 2026-04-17".to_owned())
}

/// Tells the documents whose record is lost. Whether there are any.
pub fn tell_lost(lost: &[Lost]) -> bool {
    for Lost { number, why } in lost {
        tell(&format!("halfcell: {number} is left out: {why}\n"));
    }
    !lost.is_empty()
}

/// Tells the clients that the register does not have. Whether there are any.
pub fn tell_unknown_clients(roll: &Roll, named: &[String]) -> bool {
    let known = |name: &&String| roll.clients.iter().any(|client| client.to_lowercase() == name.to_lowercase());
    let unknown: Vec<&String> = named.iter().filter(|name| !known(name)).collect();
    for name in &unknown {
        tell_unknown("client", name, roll.clients.iter().map(String::as_str));
    }
    !unknown.is_empty()
}

/// Tells a name that no document of the register has, with the nearest that it has.
pub fn tell_unknown<'n>(what: &str, name: &str, known: impl Iterator<Item = &'n str>) {
    let known: Vec<&str> = known.collect();
    let hint = match (nearest(name, known.iter().copied()), &known[..]) {
        (Some(near), _) => format!("did you mean {near}?"),
        (None, []) => "it has no documents that count".to_owned(),
        (None, known) => {
            let some: Vec<&str> = known.iter().take(SOME).copied().collect();
            let more = if known.len() > SOME { " …" } else { "" };
            format!("it has {}{more}", some.join(", "))
        }
    };
    tell(&format!("halfcell: no document of the register has the {what} «{name}»; {hint}\n"));
}

/// Names that are told where none is near.
const SOME: usize = 8;

/// Rows with their cells below each other, two columns apart; cells of a column that is `right` end together.
pub fn aligned(rows: &[Vec<String>], right: &[bool]) -> Vec<String> {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width =
        |column: usize| rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.width()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let set = |(column, cell): (usize, &String)| match right.get(column) {
        Some(true) => format!("{}{cell}", " ".repeat(widths[column].saturating_sub(cell.width()))),
        Some(false) | None => padded(cell, widths[column]),
    };
    let line = |row: &Vec<String>| row.iter().enumerate().map(set).collect::<Vec<_>>().join("  ").trim_end().to_owned();
    rows.iter().map(line).collect()
}

/// A text broken at [`LINE`] columns, every line indented.
pub fn indented(text: &str, indent: usize) -> String {
    let indent = " ".repeat(indent);
    let options = textwrap::Options::new(LINE).initial_indent(&indent).subsequent_indent(&indent).break_words(false);
    textwrap::fill(text, options) + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_stand_below_each_other_and_no_line_ends_in_white() {
        let rows = [["a", "1"], ["bcd", "−12"], ["ü", ""]].map(|row| row.map(str::to_owned).to_vec());
        assert_eq!(aligned(&rows, &[false, true]), ["a      1", "bcd  −12", "ü"]);
    }

    #[test]
    fn a_day_is_read_in_one_form_only() {
        assert!(day("2026-04-17").is_ok());
        for text in ["17.04.2026", "2026-4-17", "2026-02-30", "today", ""] {
            assert!(day(text).is_err(), "{text}");
        }
    }
}
