//! The structure tree: what everything on the pages is, in reading order.
//!
//! Comes in: a document and the [`Piece`]s of marked content on its pages. Goes out: a [`Structure`]. Next:
//! [`super::finish`], which gives it numbers and writes it.
//!
//! | block | elements; the part of a tag counts |
//! |---|---|
//! | heading, verdict | H2; a verdict's lines follow as P |
//! | facts | L, LI with Lbl and LBody; labels even, values odd |
//! | list, signatures | L, LI with LBody; items |
//! | table | Table, THead and TBody, TR, TH and TD; cells row by row, heads first |
//! | figure | Figure with its alternative text |
//! | paragraph, caution, end mark | P |
//!
//! Source: ISO 32000-1:2008, 14.8.4 (standard structure types); ISO 14289-1:2014, 7.

use super::tags::{FIRST, Tag};
use crate::document::{Block, Document, Figure, Row, Table};

/// A stretch of marked content on a page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// What it belongs to.
    pub tag: Tag,
    /// Page, from 0.
    pub page: u32,
    /// Its number on the page.
    pub mcid: u32,
    /// Where a drawing stands: left and top in pt from the top left of the paper, and its scale.
    pub placed: [f64; 3],
}

/// The structure tree of a document; its root is element 0.
#[derive(Debug, Default)]
pub struct Structure<'d> {
    /// Elements, each after the one it is in, in reading order.
    pub elements: Vec<Element<'d>>,
    /// Pieces in the order of their tags.
    pub pieces: Vec<Piece>,
}

/// An element of the tree.
#[derive(Debug)]
pub struct Element<'d> {
    /// Standard structure type.
    pub kind: &'static str,
    /// The element it is in.
    pub parent: usize,
    /// Elements in it.
    pub children: Vec<usize>,
    /// Range of [`Structure::pieces`] that are its content.
    pub pieces: std::ops::Range<usize>,
    /// What is said about it.
    pub about: About<'d>,
}

/// What is said about an element beside its type.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum About<'d> {
    /// Nothing.
    Nothing,
    /// Its name.
    Title(&'d str),
    /// A head: of its `Column` or `Row`, and over how many columns it stands.
    Head(&'static str, usize),
    /// A figure: what it shows in words; left, top, width and height in pt from the top left of the paper.
    Figure(&'d str, [f64; 4]),
}

/// The structure of a document with these pieces of content.
pub fn structure(document: &Document, mut pieces: Vec<Piece>) -> Structure<'_> {
    // Stable: pieces of one element stay in the order of the pages.
    pieces.sort_by_key(|piece| piece.tag);
    let mut tree = Builder { structure: Structure { elements: Vec::with_capacity(512), pieces }, next: 0 };
    let root = tree.add("Document", 0, About::Nothing);
    for tag in [Tag::BRAND, Tag::ADDRESS, Tag::NUMBER, Tag::ISSUED, Tag::DRAFT] {
        tree.leaf("P", root, tag);
    }
    tree.leaf("H1", root, Tag::TITLE);
    tree.leaf("P", root, Tag::SUBTITLE);
    let mut place = FIRST;
    for part in &document.parts {
        let section = tree.add("Sect", root, About::Title(&part.name));
        tree.blocks(&part.blocks, section, &mut place);
    }
    tree.leaf("P", root, Tag::FOOT_LEFT);
    tree.leaf("P", root, Tag::FOOT_RIGHT);
    tree.structure
}

struct Builder<'d> {
    structure: Structure<'d>,
    /// The first piece that no element has yet: tags come in their order.
    next: usize,
}

impl<'d> Builder<'d> {
    fn add(&mut self, kind: &'static str, parent: usize, about: About<'d>) -> usize {
        let number = self.structure.elements.len();
        let pieces = self.next..self.next;
        self.structure.elements.push(Element { kind, parent, children: Vec::new(), pieces, about });
        if number > 0 {
            self.structure.elements[parent].children.push(number);
        }
        number
    }

    /// Whether there is content with this tag.
    fn has(&self, tag: Tag) -> bool {
        self.structure.pieces.get(self.next).is_some_and(|piece| piece.tag == tag)
    }

    /// An element with the content of `tag`, where there is any.
    fn leaf(&mut self, kind: &'static str, parent: usize, tag: Tag) {
        if self.has(tag) {
            let element = self.add(kind, parent, About::Nothing);
            self.fill(element, tag);
        }
    }

    /// Gives an element the content of `tag`.
    fn fill(&mut self, element: usize, tag: Tag) {
        let rest = &self.structure.pieces[self.next..];
        let count = rest.iter().take_while(|piece| piece.tag == tag).count();
        self.structure.elements[element].pieces = self.next..self.next + count;
        self.next += count;
    }

    fn blocks(&mut self, blocks: &'d [Block], parent: usize, place: &mut u32) {
        for block in blocks {
            let at = *place;
            *place += 1;
            let tag = |part: u32| Tag { block: at, part };
            match block {
                Block::Columns(columns) => {
                    columns.iter().for_each(|column| self.blocks(&column.blocks, parent, place));
                }
                Block::Heading(_) => self.leaf("H2", parent, tag(0)),
                Block::Facts(facts) => self.facts(facts.len() as u32, parent, at),
                Block::Verdict(verdict) => {
                    self.leaf("H2", parent, tag(0));
                    (1..=verdict.lines.len() as u32).for_each(|part| self.leaf("P", parent, tag(part)));
                }
                Block::Figure(figure) => self.figure(figure, parent, tag(0)),
                Block::Table(table) => self.table(table, parent, at),
                Block::Paragraph(_) | Block::Caution(_) | Block::EndMark(_) => self.leaf("P", parent, tag(0)),
                Block::List(items) => self.list(items.len() as u32, parent, at),
                Block::Signatures(signatures) => self.list(signatures.len() as u32, parent, at),
                Block::Rule => {}
            }
        }
    }

    fn facts(&mut self, count: u32, parent: usize, block: u32) {
        if count == 0 {
            return;
        }
        let list = self.add("L", parent, About::Nothing);
        for fact in 0..count {
            let item = self.add("LI", list, About::Nothing);
            self.leaf("Lbl", item, Tag { block, part: 2 * fact });
            self.leaf("LBody", item, Tag { block, part: 2 * fact + 1 });
        }
    }

    fn list(&mut self, count: u32, parent: usize, block: u32) {
        if count == 0 {
            return;
        }
        let list = self.add("L", parent, About::Nothing);
        for part in 0..count {
            let item = self.add("LI", list, About::Nothing);
            self.leaf("LBody", item, Tag { block, part });
        }
    }

    fn figure(&mut self, figure: &'d Figure, parent: usize, tag: Tag) {
        if !self.has(tag) {
            return;
        }
        let [left, top, scale] = self.structure.pieces[self.next].placed;
        let place = [left, top, figure.width * scale, figure.height * scale];
        let element = self.add("Figure", parent, About::Figure(&figure.alt, place));
        self.fill(element, tag);
    }

    fn table(&mut self, table: &'d Table, parent: usize, block: u32) {
        let columns = table.columns.len();
        let tag = |row: usize, column: usize| Tag { block, part: (row * columns + column) as u32 };
        let element = self.add("Table", parent, About::Title(&table.caption));
        let head = self.add("THead", element, About::Nothing);
        let row = self.add("TR", head, About::Nothing);
        for column in 0..columns {
            self.cell("TH", row, About::Head("Column", 1), tag(0, column));
        }
        if table.rows.is_empty() {
            return;
        }
        let body = self.add("TBody", element, About::Nothing);
        for (of_row, number) in table.rows.iter().zip(1..) {
            let row = self.add("TR", body, About::Nothing);
            match of_row {
                Row::Group(_) => self.cell("TH", row, About::Head("Row", columns), tag(number, 0)),
                Row::Cells(_) => {
                    self.cell("TH", row, About::Head("Row", 1), tag(number, 0));
                    (1..columns).for_each(|column| self.cell("TD", row, About::Nothing, tag(number, column)));
                }
            }
        }
    }

    /// A cell, empty where there is no content: every row has them all.
    fn cell(&mut self, kind: &'static str, row: usize, about: About<'d>, tag: Tag) {
        let element = self.add(kind, row, about);
        self.fill(element, tag);
    }
}
