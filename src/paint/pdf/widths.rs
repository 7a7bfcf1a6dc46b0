//! How wide the columns of a table are.
//!
//! Comes in: a table and the width it may take. Goes out: [`Widths`]. Next: [`super::table`].

use super::flow::{widest_word, width};
use super::slab::size;
use crate::document::{Align, Cell, Mark, Row, Table};
use crate::paint::fonts::{Face, Fonts};

/// White between columns in em of the text.
const GAP: f64 = 1.25;
/// White between the columns of a dense table in em of the text.
const DENSE_GAP: f64 = 0.85;
/// A table with so many columns of text is a list to look things up in: it is set small in any case, so that the lists of
/// standards and instruments look alike.
const MANY_TEXTS: usize = 6;
/// The least width of a column in pt as long as there is room for it.
const LEAST: f64 = 26.0;
/// White between a mark and its text, and the mark's side, in em of the text.
const MARK_SIDE: f64 = 1.0;
const MARK_GAP: f64 = 0.42;

/// Widths of a table's columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Widths {
    /// Size of type in pt.
    pub size: f64,
    /// White between columns in pt.
    pub gap: f64,
    /// Width of each column in pt, without the white between.
    pub columns: Vec<f64>,
    /// Width of each column's cells in pt when none of them wraps.
    pub contents: Vec<f64>,
    /// What stands after the decimal sign at most in each column, in pt.
    pub fractions: Vec<f64>,
}

/// Side of a cell's mark and the width it takes with its white, in pt.
pub fn mark_room(mark: Option<Mark>, size: f64) -> (f64, f64) {
    mark.map_or((0.0, 0.0), |_| (MARK_SIDE * size, (MARK_SIDE + MARK_GAP) * size))
}

/// Where a cell's text has its decimal sign: the byte at which what stands after the whole number begins.
///
/// The first point or comma between figures is the sign. A number without one is taken as if the sign followed it, and
/// a text without a number ends where the sign would be.
pub fn sign(text: &str) -> usize {
    let bytes = text.as_bytes();
    let figure = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
    let between = |&at: &usize| matches!(bytes[at], b'.' | b',') && at > 0 && figure(at - 1) && figure(at + 1);
    if let Some(at) = (0..bytes.len()).find(between) {
        return at;
    }
    match bytes.iter().rposition(u8::is_ascii_digit) {
        Some(last) if bytes[..last].iter().skip_while(|b| !b.is_ascii_digit()).all(u8::is_ascii_digit) => last + 1,
        Some(_) | None => text.len(),
    }
}

/// Chooses the widths for text of a size: natural where they fit, with what is left shared out by stretch; else in the small size; else the
/// columns shrink, those with wrapping text first.
pub fn choose(fonts: &Fonts, table: &Table, width: f64, text: f64) -> Widths {
    let between = table.columns.len().saturating_sub(1) as f64;
    let mut widths = natural(fonts, table, text, if text > size::LABEL { GAP } else { DENSE_GAP });
    let texts = table.columns.iter().filter(|column| column.align == Align::Left).count();
    if texts >= MANY_TEXTS || total(&widths.columns) + widths.gap * between > width {
        widths = natural(fonts, table, size::LABEL, DENSE_GAP);
    }
    let room = (width - widths.gap * between).max(0.0);
    let left = room - total(&widths.columns);
    if left < 0.0 {
        shrink(fonts, table, &mut widths, room);
    } else {
        stretch(table, &mut widths.columns, left);
    }
    widths
}

fn natural(fonts: &Fonts, table: &Table, size: f64, gap: f64) -> Widths {
    let mut widths = Widths { size, gap: gap * size, columns: Vec::new(), contents: Vec::new(), fractions: Vec::new() };
    for (at, column) in table.columns.iter().enumerate() {
        let (whole, fraction) = match column.align {
            Align::Decimal => cells(table, at).fold((0.0, 0.0), |(whole, fraction): (f64, f64), cell| {
                let (before, after) = cell.text.split_at(sign(&cell.text));
                let before = mark_room(cell.mark, size).1 + width(fonts, Face::Regular, size, before);
                (whole.max(before), fraction.max(width(fonts, Face::Regular, size, after)))
            }),
            Align::Left | Align::Right => {
                (cells(table, at).map(|cell| cell_width(fonts, cell, size)).fold(0.0, f64::max), 0.0)
            }
        };
        let head = column.head.split('\n').map(|line| width(fonts, Face::SemiBold, size::LABEL, line));
        let head = head.fold(0.0, f64::max);
        widths.columns.push(head.max(whole + fraction));
        widths.contents.push(whole + fraction);
        widths.fractions.push(fraction);
    }
    widths
}

fn cell_width(fonts: &Fonts, cell: &Cell, size: f64) -> f64 {
    let lines = cell.text.split('\n').map(|line| width(fonts, Face::Regular, size, line));
    mark_room(cell.mark, size).1 + lines.fold(0.0, f64::max)
}

fn cells(table: &Table, column: usize) -> impl Iterator<Item = &Cell> {
    table.rows.iter().filter_map(move |row| match row {
        Row::Cells(cells) => cells.get(column),
        Row::Group(_) => None,
    })
}

fn total(widths: &[f64]) -> f64 {
    widths.iter().sum()
}

fn stretch(table: &Table, widths: &mut [f64], left: f64) {
    let shares: u32 = table.columns.iter().map(|column| column.stretch).sum();
    if shares == 0 {
        return;
    }
    for (column, width) in table.columns.iter().zip(widths) {
        *width += left * f64::from(column.stretch) / f64::from(shares);
    }
}

/// Makes the columns fit `room`: heads break between words, then wrapping columns do, then these break inside words,
/// then every column gives way.
fn shrink(fonts: &Fonts, table: &Table, widths: &mut Widths, room: f64) {
    let numbers = |at: usize| table.columns[at].align != Align::Left;
    let least = |at: usize, inside: bool| {
        let words = cells(table, at).map(|cell| {
            mark_room(cell.mark, widths.size).1 + widest_word(fonts, Face::Regular, &cell.text, widths.size)
        });
        let content = if inside && !numbers(at) { words.fold(0.0, f64::max) } else { widths.contents[at] };
        content.max(widest_word(fonts, Face::SemiBold, &table.columns[at].head, size::LABEL))
    };
    let columns = 0..table.columns.len();
    let heads: Vec<f64> = columns.clone().map(|at| least(at, false)).collect();
    let words: Vec<f64> = columns.clone().map(|at| least(at, true)).collect();
    let letters: Vec<f64> =
        columns.clone().map(|at| if numbers(at) { words[at] } else { LEAST.min(words[at]) }).collect();
    let all: Vec<f64> = columns.clone().map(|at| LEAST.min(words[at])).collect();
    let none: Vec<f64> = columns.map(|_| 0.0).collect();
    let enough = [heads, words, letters, all].into_iter().find(|least| total(least) <= room);
    lower(&mut widths.columns, &enough.unwrap_or(none), room);
}

/// Lowers the widest first, none below its least, until the sum fits `room` or all are at their least.
fn lower(widths: &mut [f64], least: &[f64], room: f64) {
    let at_level = |level: f64| -> Vec<f64> {
        widths.iter().zip(least).map(|(&width, &least)| width.min(level.max(least.min(width)))).collect()
    };
    let (mut low, mut high) = (0.0, widths.iter().copied().fold(0.0, f64::max));
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if total(&at_level(middle)) > room { high = middle } else { low = middle }
    }
    let lowered = at_level(low);
    widths.copy_from_slice(&lowered);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::TableColumn;

    fn table(columns: &[(&str, Align, u32)], rows: &[&[&str]]) -> Table {
        let column = |&(head, align, stretch): &(&str, Align, u32)| TableColumn { head: head.into(), align, stretch };
        let cell = |text: &&str| Cell { text: (*text).into(), mark: None };
        Table {
            caption: String::new(),
            columns: columns.iter().map(column).collect(),
            rows: rows.iter().map(|row| Row::Cells(row.iter().map(cell).collect())).collect(),
        }
    }

    #[test]
    fn the_sign_is_found_or_follows_the_whole_number() {
        let whole = |text: &'static str| text.split_at(sign(text)).0;
        assert_eq!(whole("−166.3"), "−166");
        assert_eq!(whole("+0,008"), "+0");
        assert_eq!(whole("−186"), "−186");
        assert_eq!(whole("24\u{a0}%"), "24");
        assert_eq!(whole("12.00\u{a0}±\u{a0}0.08"), "12");
        assert_eq!(whole("1\u{a0}013.2"), "1\u{a0}013");
        assert_eq!(whole("—"), "—");
        assert_eq!(whole("not measured."), "not measured.");
        assert_eq!(whole("2026-05-12"), "2026-05-12");
    }

    #[test]
    fn what_is_left_goes_to_the_columns_that_stretch() {
        let table = table(&[("A", Align::Left, 0), ("B", Align::Left, 1), ("C", Align::Right, 3)], &[&["a", "b", "c"]]);
        let (tight, wide) =
            (natural(&Fonts::default(), &table, size::BODY, GAP), choose(&Fonts::default(), &table, 318.0, size::BODY));
        let added: Vec<f64> = wide.columns.iter().zip(&tight.columns).map(|(wide, tight)| wide - tight).collect();
        assert!(added[0].abs() < 1e-9 && (added[2] - 3.0 * added[1]).abs() < 1e-9);
        assert!((total(&wide.columns) + 2.0 * wide.gap - 318.0).abs() < 1e-9);
    }

    #[test]
    fn a_table_that_is_too_wide_shrinks_its_words_before_its_numbers() {
        let long = "a remark that goes on and on until nothing is left to say about it at all".repeat(3);
        let table = table(&[("Remark", Align::Left, 1), ("mV", Align::Decimal, 0)], &[&[&long, "−166.35"]]);
        let widths = choose(&Fonts::default(), &table, 200.0, size::BODY);
        assert!((total(&widths.columns) + widths.gap - 200.0).abs() < 1e-3);
        assert!(widths.columns[1] >= widths.contents[1] - 1e-9);
    }

    #[test]
    fn even_thirty_columns_fit() {
        let columns = [("Head", Align::Decimal, 0); 30];
        let widths = choose(&Fonts::default(), &table(&columns, &[&["−1234.56"; 30]]), 500.0, size::BODY);
        assert!(total(&widths.columns) + 29.0 * widths.gap <= 500.0 + 1e-3);
    }
}
