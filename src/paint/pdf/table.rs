//! Tables as slabs.
//!
//! Comes in: a table and its room. Goes out: [`Slab`]s, a row each, with the head that is repeated. Next: [`super::page`].

use super::blocks::{Room, mark, paragraph_lines};
use super::flow::{Line, wrap};
use super::slab::{Drawn, LEADING, Slab, baseline, size};
use super::tags::Tag;
use super::widths::{Widths, choose, mark_room, sign};
use crate::document::{Align, Cell, Ink, Paragraph, Row, Table};
use crate::paint::fonts::{CAPITAL_HEIGHT, Face, Fonts};
use std::rc::Rc;

/// White above and below the text of a row in pt.
const PADDING: f64 = 1.2;

/// A table with its columns' places.
struct Grid<'t, 'f> {
    table: &'t Table,
    fonts: &'f Fonts,
    widths: Widths,
    /// Left edge of each column in pt.
    lefts: Vec<f64>,
    /// Right edge of the last column in pt.
    right: f64,
    /// Place in the reading order.
    place: u32,
}

/// A table's head and rows. At least two rows stand before and after a break, a group's line stays with its next row.
pub fn slabs<'d>(table: &'d Table, room: Room<'_>, place: u32) -> Vec<Slab<'d>> {
    let grid = Grid::new(table, room, place);
    let head = Rc::new(grid.repeated_head());
    let mut all = vec![grid.head()];
    let rows_in_all = table.rows.iter().filter(|row| matches!(row, Row::Cells(_))).count();
    let mut rows_before = 0;
    let mut after_group = false;
    for (row, number) in table.rows.iter().zip(1..) {
        let mut slabs = match row {
            Row::Group(paragraph) => vec![grid.group(number, paragraph)],
            Row::Cells(cells) => grid.row(number, cells, room.page - head.height),
        };
        slabs[0].glued = after_group || rows_before < 2 || rows_before + 2 > rows_in_all;
        for slab in &mut slabs {
            slab.head = Some(Rc::clone(&head));
        }
        all.append(&mut slabs);
        after_group = matches!(row, Row::Group(_));
        rows_before += usize::from(!after_group);
    }
    all
}

impl<'d, 'f> Grid<'d, 'f> {
    fn new(table: &'d Table, room: Room<'f>, place: u32) -> Grid<'d, 'f> {
        let fonts = room.fonts;
        let widths = choose(fonts, table, room.width, room.text);
        let mut lefts = Vec::new();
        let mut right = 0.0;
        for column in &widths.columns {
            lefts.push(right);
            right += column + widths.gap;
        }
        let right = (right - widths.gap).max(0.0);
        Grid { table, fonts, widths, lefts, right, place }
    }

    /// The tag of a cell; row 0 has the heads, and a group is the first cell of its row.
    fn tag(&self, row: u32, column: usize) -> Tag {
        Tag { block: self.place, part: row * self.table.columns.len() as u32 + column as u32 }
    }

    /// The heads of the columns, standing on their rule.
    fn head(&self) -> Slab<'d> {
        let leading = size::LABEL * LEADING;
        let heads: Vec<Vec<Line>> = (self.table.columns.iter().zip(&self.widths.columns))
            .map(|(column, &width)| wrap(self.fonts, Face::SemiBold, &column.head, size::LABEL, width))
            .collect();
        let rows = heads.iter().map(Vec::len).max().unwrap_or(1);
        let mut slab = Slab::new(rows as f64 * leading + 2.0 * PADDING);
        for (at, lines) in heads.into_iter().enumerate() {
            let top = PADDING + (rows - lines.len()) as f64 * leading;
            match self.table.columns[at].align {
                Align::Left => slab.put_lines(lines, self.lefts[at], top, size::LABEL, Ink::Muted),
                Align::Right | Align::Decimal => {
                    slab.put_lines_right(lines, self.right_of(at), top, size::LABEL, Ink::Muted)
                }
            };
            slab.tag(self.tag(0, at));
        }
        slab.put_rule(0.0, self.right, slab.height - 0.3, Ink::Text, 0.6);
        slab
    }

    /// The head for the pages that follow, with the table's caption.
    fn repeated_head(&self) -> Slab<'d> {
        let caption = wrap(self.fonts, Face::Regular, &self.table.caption, size::LABEL, self.right);
        let mut slab = Slab::default();
        let top = slab.put_lines(caption, 0.0, 0.0, size::LABEL, Ink::Muted);
        let head = self.head();
        slab.height = top + head.height;
        slab.drawn.extend(head.drawn.into_iter().map(|one| one.moved(0.0, top)));
        slab.untag();
        slab
    }

    fn group(&self, number: u32, paragraph: &'d Paragraph) -> Slab<'d> {
        let lines = paragraph_lines(self.fonts, paragraph, self.widths.size, self.right);
        let mut slab = Slab::default();
        slab.height = slab.put_lines(lines, 0.0, PADDING + 1.5, self.widths.size, Ink::Text) + PADDING;
        slab.tag(self.tag(number, 0));
        self.put_row_rule(&mut slab);
        slab
    }

    /// A row; one that is higher than a page comes as a slab for each line.
    fn row(&self, number: u32, cells: &'d [Cell], page: f64) -> Vec<Slab<'d>> {
        let lines: Vec<Vec<Line>> =
            cells.iter().take(self.lefts.len()).enumerate().map(|(at, cell)| self.cell_lines(at, cell)).collect();
        let rows = lines.iter().map(Vec::len).max().unwrap_or(1);
        let leading = self.widths.size * LEADING;
        let whole = rows as f64 * leading + 2.0 * PADDING;
        let each = if whole > page { 1 } else { rows };
        let mut slabs: Vec<Slab> = (0..rows.div_ceil(each)).map(|_| Slab::new(each as f64 * leading)).collect();
        for (at, (cell, lines)) in cells.iter().zip(lines).enumerate() {
            self.put_mark(&mut slabs[0], at, cell);
            for (row, line) in lines.into_iter().enumerate() {
                let top = PADDING + (row % each) as f64 * leading;
                self.put_cell(&mut slabs[row / each], at, cell, line, top, self.tag(number, at));
            }
        }
        for slab in &mut slabs {
            slab.height = if each == rows { whole } else { leading };
        }
        if let Some(last) = slabs.last_mut() {
            last.height = if each == rows { whole } else { leading + 2.0 * PADDING };
            self.put_row_rule(last);
        }
        slabs
    }

    fn put_row_rule(&self, slab: &mut Slab<'d>) {
        slab.put_rule(0.0, self.right, slab.height - 0.25, Ink::Grid, 0.5);
    }

    fn cell_lines(&self, at: usize, cell: &'d Cell) -> Vec<Line<'d>> {
        let (_, mark) = mark_room(cell.mark, self.widths.size);
        // A natural width is a sum of rounded parts: a hair more keeps it from wrapping.
        let width = self.widths.columns[at] - mark + 0.01;
        match self.table.columns[at].align {
            Align::Left => wrap(self.fonts, Face::Regular, &cell.text, self.widths.size, width),
            Align::Right | Align::Decimal if self.fits(at) => {
                vec![Line::of(self.fonts, Face::Regular, cell.text.as_str())]
            }
            Align::Right | Align::Decimal => wrap(self.fonts, Face::Regular, &cell.text, self.widths.size, width),
        }
    }

    /// Whether a column is as wide as its cells.
    fn fits(&self, at: usize) -> bool {
        self.widths.columns[at] + 0.01 >= self.widths.contents[at]
    }

    fn right_of(&self, at: usize) -> f64 {
        self.lefts[at] + self.widths.columns[at]
    }

    fn put_mark(&self, slab: &mut Slab<'d>, at: usize, cell: &'d Cell) {
        let Some(verdict) = cell.mark else { return };
        let size = self.widths.size;
        let side = mark_room(cell.mark, size).0;
        let middle = PADDING + baseline(size * LEADING, size) - CAPITAL_HEIGHT * size / 2.0;
        slab.drawn.push(mark(
            verdict,
            self.text_left(at, cell) - mark_room(cell.mark, size).1,
            middle - side / 2.0,
            side,
        ));
    }

    /// Where the first line of a cell begins.
    fn text_left(&self, at: usize, cell: &'d Cell) -> f64 {
        match self.cell_lines(at, cell).first() {
            Some(line) => self.line_left(at, cell, line),
            None => self.lefts[at],
        }
    }

    fn line_left(&self, at: usize, cell: &Cell, line: &Line) -> f64 {
        let size = self.widths.size;
        match self.table.columns[at].align {
            Align::Left => self.lefts[at] + mark_room(cell.mark, size).1,
            Align::Decimal if self.fits(at) => {
                let whole = Line::of(self.fonts, Face::Regular, &cell.text[..sign(&cell.text)]).width(size);
                self.right_of(at) - self.widths.fractions[at] - whole
            }
            Align::Right | Align::Decimal => self.right_of(at) - line.width(size),
        }
    }

    fn put_cell(&self, slab: &mut Slab<'d>, at: usize, cell: &'d Cell, line: Line<'d>, top: f64, tag: Tag) {
        let size = self.widths.size;
        let x = self.line_left(at, cell, &line);
        let (y, tag) = (top + baseline(size * LEADING, size), Some(tag));
        slab.drawn.push(Drawn::Text { x, y, size, ink: Ink::Text, line, tag });
    }
}
