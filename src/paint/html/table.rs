//! Tables as HTML: heads with their scope, groups with their own body, numbers that stand on the decimal sign.

use super::blocks::write_paragraph;
use super::figure::write_mark;
use super::markup::text;
use crate::document::{Align, Cell, Row, Table, TableColumn};
use std::fmt::Write;

/// Characters that words may have and still stay on one line.
const SHORT: usize = 12;

/// Characters that a word may have and still is not broken.
const LONG_WORD: usize = 24;

/// Characters (with the white between columns) that the narrowest window served, 320 px, has room for.
const NARROW: usize = 36;

/// Characters from which on a table needs less white to stand in half the page.
const DENSE: usize = 44;

/// A table with so many columns of text is a list to look things up in: it is set small.
const MANY_TEXTS: usize = 6;

/// How a column is painted.
struct Look {
    /// Classes of its cells, as an attribute with a space before it; empty: none.
    class: String,
    /// Width of what stands from the decimal sign on, in digits; none where the right edge aligns the numbers anyway.
    fraction: Option<f64>,
}

/// Writes a table; one that may be too wide for a narrow screen scrolls in its own region.
pub fn write_table(out: &mut String, table: &Table) {
    let looks: Vec<Look> = (0..table.columns.len()).map(|at| Look::of(table, at)).collect();
    out.push_str("<div class=\"table\"");
    let least = least_width(table);
    if least > NARROW {
        out.push_str(" role=\"region\" tabindex=\"0\"");
        write_label(out, &table.caption);
    }
    out.push_str("><table");
    let natural = table.columns.iter().all(|column| column.stretch == 0);
    let texts = table.columns.iter().filter(|column| column.align == Align::Left).count();
    let classes = [(natural, "natural"), (least > DENSE, "dense"), (texts >= MANY_TEXTS, "list")];
    let classes: Vec<&str> = classes.into_iter().filter(|(applies, _)| *applies).map(|(_, class)| class).collect();
    if !classes.is_empty() {
        let _ = write!(out, " class=\"{}\"", classes.join(" "));
    }
    write_label(out, &table.caption);
    out.push_str(">\n<thead><tr>");
    for (column, look) in table.columns.iter().zip(&looks) {
        let _ = write!(out, "<th scope=\"col\"{}>", look.class);
        text(out, &column.head);
        out.push_str("</th>\n");
    }
    out.push_str("</tr></thead>\n");
    write_rows(out, table, &looks);
    out.push_str("</table></div>\n");
}

fn write_label(out: &mut String, label: &str) {
    out.push_str(" aria-label=\"");
    text(out, label);
    out.push('"');
}

fn write_rows(out: &mut String, table: &Table, looks: &[Look]) {
    out.push_str("<tbody>\n");
    for (at, row) in table.rows.iter().enumerate() {
        match row {
            Row::Group(paragraph) => {
                if at > 0 {
                    out.push_str("</tbody>\n<tbody>\n");
                }
                let span = table.columns.len();
                let _ = write!(out, "<tr><th scope=\"rowgroup\" colspan=\"{span}\"><span>");
                write_paragraph(out, paragraph);
                out.push_str("</span></th></tr>\n");
            }
            Row::Cells(cells) => write_cells(out, cells, looks),
        }
    }
    out.push_str("</tbody>\n");
}

fn write_cells(out: &mut String, cells: &[Cell], looks: &[Look]) {
    out.push_str("<tr>");
    for (at, (cell, look)) in cells.iter().zip(looks).enumerate() {
        let (begin, end) = match at {
            0 => ("<th scope=\"row\"", "</th>\n"),
            1.. => ("<td", "</td>\n"),
        };
        out.push_str(begin);
        out.push_str(&look.class);
        out.push('>');
        if let Some(mark) = cell.mark {
            write_mark(out, mark);
        }
        write_number(out, &cell.text, look.fraction);
        out.push_str(end);
    }
    out.push_str("</tr>\n");
}

/// Writes a cell's text; a number before a `fraction` width is split at its decimal sign without any white.
fn write_number(out: &mut String, words: &str, fraction: Option<f64>) {
    // A dash for what is missing stands where the digits before the sign would.
    let dash = (!words.is_empty() && words.chars().count() <= 2).then_some(words.len());
    match (fraction, decimal_sign(words).or(dash)) {
        (Some(width), Some(at)) => {
            text(out, &words[..at]);
            let _ = write!(out, "<span class=\"fraction\" style=\"min-width:{width}ch\">");
            text(out, &words[at..]);
            out.push_str("</span>");
        }
        (_, None) | (None, _) => text(out, words),
    }
}

impl Look {
    fn of(table: &Table, at: usize) -> Self {
        let column = &table.columns[at];
        let texts = || cells_of(table, at).map(|cell| cell.text.as_str());
        let one_line = texts().all(stays_on_one_line);
        let classes = [
            ("number", column.align != Align::Left),
            ("line", one_line),
            ("tight", one_line && column.stretch == 0),
            ("long", texts().any(|words| longest_word(words) > LONG_WORD)),
        ];
        let classes: Vec<&str> = classes.iter().filter(|(_, has)| *has).map(|(class, _)| *class).collect();
        let class = match classes.is_empty() {
            true => String::new(),
            false => format!(" class=\"{}\"", classes.join(" ")),
        };
        let fraction = match column.align {
            Align::Decimal => fraction_width(texts()),
            Align::Left | Align::Right => None,
        };
        Look { class, fraction }
    }
}

/// Whether a cell's text is not to be broken: numbers, dates, lots, single words, and short phrases.
fn stays_on_one_line(words: &str) -> bool {
    let length = words.chars().count();
    length <= SHORT || (length <= 2 * SHORT && !words.contains(' '))
}

/// Characters of the longest word.
fn longest_word(words: &str) -> usize {
    let lengths = words.split(' ').map(|word| word.chars().count());
    lengths.max().unwrap_or(0)
}

/// Cells of a column.
fn cells_of(table: &Table, at: usize) -> impl Iterator<Item = &Cell> {
    table.rows.iter().filter_map(move |row| match row {
        Row::Cells(cells) => cells.get(at),
        Row::Group(_) => None,
    })
}

/// Where the part from the decimal sign on begins: at the first sign between two digits, else after the first run of
/// digits; none where there is no digit.
fn decimal_sign(words: &str) -> Option<usize> {
    let bytes = words.as_bytes();
    let digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
    let sign = |at: &usize| matches!(bytes[*at], b'.' | b',') && *at > 0 && digit(at - 1) && digit(at + 1);
    let first = (0..bytes.len()).find(|&at| digit(at))?;
    let after = (first..bytes.len()).find(|&at| !digit(at)).unwrap_or(bytes.len());
    Some((0..bytes.len()).find(sign).unwrap_or(after))
}

/// Width in digits of the widest part from the decimal sign on; none where all are alike.
fn fraction_width<'t>(texts: impl Iterator<Item = &'t str>) -> Option<f64> {
    let shape = |fraction: &str| fraction.replace(|c: char| c.is_ascii_digit(), "0");
    let mut shapes = texts.filter_map(|words| decimal_sign(words).map(|at| shape(&words[at..])));
    let first = shapes.next()?;
    let (mut widest, mut alike) = (digits_wide(&first), true);
    for other in shapes {
        alike &= other == first;
        widest = widest.max(digits_wide(&other));
    }
    (!alike).then_some(widest)
}

/// A text's width in digits, rather too wide than too narrow in any plain face.
fn digits_wide(words: &str) -> f64 {
    let wide = |c: char| match c {
        '.' | ',' => 0.65,
        ' ' | '\u{a0}' | '\u{202f}' => 0.5,
        'm' | 'w' | 'M' | 'W' | '%' | '+' | '±' | '−' => 1.6,
        c if c.is_uppercase() => 1.3,
        _ => 1.0,
    };
    words.chars().map(wide).sum()
}

/// Characters that the narrowest form of a table takes: its longest words, and two between columns.
fn least_width(table: &Table) -> usize {
    let word = |words: &str| match stays_on_one_line(words) {
        true => words.chars().count(),
        false => longest_word(words).min(LONG_WORD),
    };
    let column = |(at, column): (usize, &TableColumn)| {
        let cells = cells_of(table, at).map(|cell| word(&cell.text));
        cells.max().unwrap_or(0).max(word(&column.head)) + 2
    };
    table.columns.iter().enumerate().map(column).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_split_at_their_decimal_sign() {
        let split = |words: &str| decimal_sign(words).map(|at| words.split_at(at).1.to_string());
        assert_eq!(split("−168.40 mV").as_deref(), Some(".40 mV"));
        assert_eq!(split("12,00 ± 0,08").as_deref(), Some(",00 ± 0,08"));
        assert_eq!(split("24 %").as_deref(), Some(" %"));
        assert_eq!(split("168").as_deref(), Some(""));
        assert_eq!(split("—"), None);
    }

    #[test]
    fn numbers_of_one_shape_need_no_split() {
        assert_eq!(fraction_width(["6.874", "10.066", "—", ""].into_iter()), None);
        let mixed = fraction_width(["168.4", "−186"].into_iter()).expect("one has a fraction");
        assert!((1.0..=2.0).contains(&mixed), "a sign and a digit: {mixed}");
    }
}
