//! Tables as HTML: heads with their scope, groups with their own body, numbers that stand on the decimal sign.

use super::blocks::write_paragraph;
use super::figure::write_mark;
use super::markup::{close, direction, element, open, text, words};
use crate::document::{Align, Cell, Row, Table, TableColumn};
use std::fmt::Write;

/// Characters that words may have and still stay on one line.
const SHORT: usize = 12;

/// Characters that a word may have and still is not broken.
const LONG_WORD: usize = 24;

/// Characters that a unit may have and still stays with the word before it.
const UNIT: usize = 3;

/// Characters (with the white between columns) that the narrowest window served, 320 px, has room for.
const NARROW: usize = 36;

/// Characters from which on a table needs less white to stand in half the page.
const DENSE: usize = 44;

/// A table with so many columns of text is a list to look things up in: it is set small.
const MANY_TEXTS: usize = 6;

/// Where a table stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Room {
    /// On the page.
    Page,
    /// In one of several columns, where it is set with less white.
    Column,
}

/// How a column is painted.
struct Look {
    /// Classes of its cells, as an attribute with a space before it; empty: none.
    class: String,
    /// Classes of its head.
    head: String,
    /// Width of what stands from the decimal sign on, in digits; none where the right edge aligns the numbers anyway.
    fraction: Option<f64>,
}

/// What a table does where it has less room than it needs.
enum Narrow {
    /// It fits every window.
    Fits,
    /// It scrolls in a region of its own, which a keyboard reaches: columns of numbers are there to be compared.
    Scrolls,
    /// Its rows become cards, each value below its label; the class names the width that it needs.
    Cards(&'static str),
}

/// Writes a table.
pub fn write_table(out: &mut String, table: &Table, room: Room) {
    let looks: Vec<Look> = (0..table.columns.len()).map(|at| Look::of(table, at)).collect();
    let least = least_width(table);
    let natural = table.columns.iter().all(|column| column.stretch == 0);
    let texts = table.columns.iter().filter(|column| column.align == Align::Left).count();
    let list = texts >= MANY_TEXTS;
    let narrow = Narrow::of(table, least, em_a_character(room, list));
    let looks_of_all = [("natural", natural), ("dense", least > DENSE), ("list", list)];
    out.push_str("<div class=\"table");
    for (class, _) in looks_of_all.iter().filter(|(_, applies)| *applies) {
        [" ", class].into_iter().for_each(|part| out.push_str(part));
    }
    match narrow {
        Narrow::Fits => out.push('"'),
        Narrow::Scrolls => {
            out.push_str("\" role=\"group\" tabindex=\"0\" aria-label=\"");
            text(out, &table.caption);
            out.push('"');
        }
        Narrow::Cards(class) => [" cards ", class, "\""].into_iter().for_each(|part| out.push_str(part)),
    }
    let roles = Roles { given: matches!(narrow, Narrow::Cards(_)) };
    ["><table", roles.of("table"), ">"].into_iter().for_each(|part| out.push_str(part));
    element(out, "caption", &table.caption);
    write_heads(out, table, &looks, &roles);
    write_rows(out, table, &looks, &roles);
    out.push_str("</table></div>\n");
}

/// Roles of the parts of a table whose style changes how they are displayed, which would take their roles from them.
///
/// Source: W3C, HTML Accessibility API Mappings 1.0 and WAI-ARIA 1.2: roles table, rowgroup, row, columnheader, rowheader, cell.
struct Roles {
    given: bool,
}

impl Roles {
    /// The attribute for an element, with a space before it; empty where the element keeps its own role.
    fn of(&self, element: &str) -> &'static str {
        match (self.given, element) {
            (false, _) => "",
            (true, "table") => " role=\"table\"",
            (true, "thead" | "tbody") => " role=\"rowgroup\"",
            (true, "tr") => " role=\"row\"",
            (true, "head") => " role=\"columnheader\"",
            (true, "th") => " role=\"rowheader\"",
            (true, _) => " role=\"cell\"",
        }
    }
}

impl Narrow {
    /// The widths in em below which a table becomes cards (in `page.css`), each with its class.
    const CLASSES: [(f64, &str); 5] =
        [(26.0, "to-26"), (32.0, "to-32"), (40.0, "to-40"), (50.0, "to-50"), (56.0, "to-56")];

    /// What becomes of a table whose narrowest form takes `least` characters of so many `em` each.
    fn of(table: &Table, least: usize, em: f64) -> Narrow {
        let grouped = table.rows.iter().any(|row| matches!(row, Row::Group(_)));
        let numbers = table.columns.iter().skip(1).all(|column| column.align != Align::Left);
        let needed = least as f64 * em;
        let class = Narrow::CLASSES.iter().find(|(width, _)| needed <= *width);
        match (least > NARROW, grouped || numbers, class) {
            (false, _, _) => Narrow::Fits,
            (true, false, Some((_, class))) => Narrow::Cards(class),
            (true, true, _) | (true, _, None) => Narrow::Scrolls,
        }
    }
}

/// Width in rem that a table needs in a column lest it scroll; nothing for one that fits anywhere or becomes cards.
pub fn room_to_compare(table: &Table) -> f64 {
    /// Size of its text in rem (in `page.css`).
    const TEXT: f64 = 0.75;
    let least = least_width(table);
    let em = em_a_character(Room::Column, false);
    match Narrow::of(table, least, em) {
        Narrow::Fits | Narrow::Cards(_) => 0.0,
        Narrow::Scrolls => least as f64 * em * TEXT,
    }
}

/// Width in em, white between columns included, that a character of a table's narrowest form takes at most; measured in
/// a browser over every table of the examples.
fn em_a_character(room: Room, list: bool) -> f64 {
    match (room, list) {
        (Room::Column, _) => 0.5,
        (Room::Page, true) => 0.54,
        (Room::Page, false) => 0.63,
    }
}

fn write_heads(out: &mut String, table: &Table, looks: &[Look], roles: &Roles) {
    ["<thead", roles.of("thead"), "><tr", roles.of("tr"), ">"].into_iter().for_each(|part| out.push_str(part));
    for (column, look) in table.columns.iter().zip(looks) {
        if column.head.is_empty() {
            ["<td", &look.head, roles.of("td"), "></td>\n"].into_iter().for_each(|part| out.push_str(part));
            continue;
        }
        ["<th scope=\"col\"", &look.head, roles.of("head"), ">"].into_iter().for_each(|part| out.push_str(part));
        write_head(out, &column.head);
        out.push_str("</th>\n");
    }
    out.push_str("</tr></thead>\n");
}

/// Writes a head; a unit at its end stays with the word before it.
fn write_head(out: &mut String, head: &str) {
    let mut spaces = head.rmatch_indices(' ').map(|(at, _)| at);
    let last = spaces.next().filter(|at| head[at + 1..].chars().count() <= UNIT);
    match last.and_then(|_| spaces.next()) {
        Some(at) => {
            text(out, &head[..=at]);
            out.push_str("<span class=\"line\">");
            text(out, &head[at + 1..]);
            out.push_str("</span>");
        }
        None => text(out, head),
    }
}

fn write_rows(out: &mut String, table: &Table, looks: &[Look], roles: &Roles) {
    let mut begun = false;
    for row in &table.rows {
        let group = matches!(row, Row::Group(_));
        if !begun || group {
            out.push_str(if begun { "</tbody>\n" } else { "" });
            ["<tbody", roles.of("tbody"), ">\n"].into_iter().for_each(|part| out.push_str(part));
            begun = true;
        }
        match row {
            Row::Group(paragraph) => {
                let span = table.columns.len();
                let _ = write!(out, "<tr><th scope=\"rowgroup\" colspan=\"{span}\">");
                open(out, "span", "", &paragraph.text);
                write_paragraph(out, paragraph);
                out.push_str("</span></th></tr>\n");
            }
            Row::Cells(cells) => write_cells(out, table, cells, looks, roles),
        }
    }
    out.push_str(if begun { "</tbody>\n" } else { "" });
}

fn write_cells(out: &mut String, table: &Table, cells: &[Cell], looks: &[Look], roles: &Roles) {
    ["<tr", roles.of("tr"), ">"].into_iter().for_each(|part| out.push_str(part));
    for (at, (cell, look)) in cells.iter().zip(looks).enumerate() {
        let name = if at == 0 { "th" } else { "td" };
        let scope = if at == 0 { " scope=\"row\"" } else { "" };
        ["<", name, scope, &look.class, roles.of(name), direction(&cell.text)]
            .into_iter()
            .for_each(|part| out.push_str(part));
        if roles.given && at > 0 {
            out.push_str(" data-label=\"");
            text(out, &table.columns[at].head);
            out.push('"');
        }
        out.push('>');
        if let Some(mark) = cell.mark {
            write_mark(out, mark);
        }
        write_number(out, &cell.text, look.fraction);
        close(out, name);
    }
    out.push_str("</tr>\n");
}

/// Writes a cell's text; a number before a `fraction` width is split at its decimal sign without any white.
fn write_number(out: &mut String, content: &str, fraction: Option<f64>) {
    // A dash for what is missing stands where the digits before the sign would.
    let dash = (!content.is_empty() && content.chars().count() <= 2).then_some(content.len());
    match (fraction, decimal_sign(content).or(dash)) {
        (Some(width), Some(at)) => {
            text(out, &content[..at]);
            let _ = write!(out, "<span class=\"fraction\" style=\"min-width:{width}ch\">");
            text(out, &content[at..]);
            out.push_str("</span>");
        }
        (_, None) | (None, _) => words(out, content),
    }
}

impl Look {
    fn of(table: &Table, at: usize) -> Self {
        let column = &table.columns[at];
        let texts = || cells_of(table, at).map(|cell| cell.text.as_str());
        let number = column.align != Align::Left;
        let one_line = texts().all(stays_on_one_line);
        let tight = one_line && column.stretch == 0;
        let outcome = cells_of(table, at).any(|cell| cell.mark.is_some());
        let long = texts().any(|words| longest_word(words) > LONG_WORD);
        let fraction = match column.align {
            Align::Decimal => fraction_width(texts()),
            Align::Left | Align::Right => None,
        };
        let cells = [("number", number), ("line", one_line), ("tight", tight), ("long", long), ("outcome", outcome)];
        let head_line = column.head.chars().count() <= SHORT;
        let head = [("number", number), ("line", head_line), ("tight", tight)];
        Look { class: class_of(&cells), head: class_of(&head), fraction }
    }
}

/// The classes that apply, as an attribute with a space before it; empty: none.
fn class_of(classes: &[(&str, bool)]) -> String {
    let mut applying = classes.iter().filter(|(_, applies)| *applies).map(|(class, _)| *class);
    let Some(first) = applying.next() else {
        return String::new();
    };
    let rest: String = applying.flat_map(|class| [" ", class]).collect();
    format!(" class=\"{first}{rest}\"")
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

/// Characters that a head's longest part that is not broken has.
fn head_width(head: &str) -> usize {
    if head.chars().count() <= SHORT { head.chars().count() } else { longest_word(head) }
}

/// Characters that the narrowest form of a table takes: its longest words, and two between columns.
fn least_width(table: &Table) -> usize {
    let word = |words: &str| match stays_on_one_line(words) {
        true => words.chars().count(),
        false => longest_word(words).min(LONG_WORD),
    };
    let column = |(at, column): (usize, &TableColumn)| {
        let cells = cells_of(table, at).map(|cell| word(&cell.text));
        cells.max().unwrap_or(0).max(head_width(&column.head)) + 2
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
