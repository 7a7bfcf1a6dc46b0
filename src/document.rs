//! The record as blocks in reading order: one [`Document`] for every painter.
//!
//! Comes in: a [`crate::record::Record`] with the firm's brand and the wording. Goes out: a [`Document`] whose texts are
//! final (rounded, worded, with true minus signs and no-break spaces) and whose figures are shapes with coordinates.
//! Next: [`crate::paint`], which never computes, rounds or judges.

mod attached;
mod certificate;
mod chart;
mod course;
#[cfg(test)]
mod fixtures;
mod following;
mod print;
mod summary;
#[cfg(test)]
mod tests;

pub use attached::attach;
pub use certificate::{certificate, is_draft};
pub use course::{DrawnFrom, course};
pub use print::words;
pub use summary::summary;

use crate::firm::{AddedFont, Logo, Paper};
use serde::Serialize;

/// A document ready to be painted.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// Title: the first heading and the metadata title's beginning.
    pub title: String,
    /// What the document is about, below the title.
    pub subtitle: String,
    /// Document number.
    pub number: String,
    /// Language tag (BCP 47) of the text.
    pub language: String,
    /// Paper.
    pub paper: Paper,
    /// Accent colour, sRGB.
    pub accent: [u8; 3],
    /// Who issues it.
    pub brand: Brand,
    /// What stands on every page.
    pub running: Running,
    /// Parts; each begins a new page on paper.
    pub parts: Vec<Part>,
    /// Moment of issue for the metadata, ISO 8601 with offset.
    pub issued: String,
    /// Author for the metadata: the firm.
    pub author: String,
    /// The record as JSON: one object, or a list where the document is about several loops; empty: none.
    pub data: String,
    /// Files that travel within a PDF.
    pub attachments: Vec<Attachment>,
}

/// A file that travels within a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attachment {
    /// Its name, without folders; no two of a document are alike.
    pub name: String,
    /// Media type.
    pub media_type: &'static str,
    /// What it is to the document.
    pub relationship: Relationship,
    /// What it is, in words.
    pub description: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// What an attached file is to the document.
///
/// Source: ISO 19005-3:2012, 6.8 and annex E (associated files), value of AFRelationship.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Relationship {
    /// What the document was made from: the visit file.
    Source,
    /// What the document shows, as data: the record.
    Data,
    /// What else was read: client, kit, limits and firm files.
    Supplement,
}

/// Who issues it.
#[derive(Debug, Clone, PartialEq)]
pub struct Brand {
    /// Name of the firm.
    pub name: String,
    /// Address and contact lines below the name.
    pub lines: Vec<String>,
    /// Logo.
    pub logo: Option<Logo>,
    /// Fonts for characters that the bundled ones lack.
    pub fonts: Vec<AddedFont>,
}

/// What stands on every page.
#[derive(Debug, Clone, PartialEq)]
pub struct Running {
    /// `issued 2026-05-13`, before the page number.
    pub issued: String,
    /// `page {n} of {m}` with the two placeholders, filled by the painter.
    pub page: String,
    /// Draft or preview mark with its reason; none when the document stands.
    pub draft: Option<String>,
    /// Footer lines on the left.
    pub footer_left: Vec<String>,
    /// Footer lines on the right.
    pub footer_right: Vec<String>,
}

/// A part of a document: on paper it begins a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Name of the part for screen readers and the table of contents.
    pub name: String,
    /// Blocks in reading order.
    pub blocks: Vec<Block>,
}

/// A block of a document.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// Columns side by side where they fit on a page together, one below the other elsewhere.
    Columns(Vec<Column>),
    /// A section heading.
    Heading(String),
    /// Labels with values.
    Facts(Vec<Fact>),
    /// The verdict on a state.
    Verdict(VerdictBlock),
    /// A drawing.
    Figure(Figure),
    /// A table.
    Table(Table),
    /// A paragraph.
    Paragraph(Paragraph),
    /// A list of paragraphs.
    List(Vec<Paragraph>),
    /// A caution, once, where the eye is.
    Caution(Paragraph),
    /// Signatures.
    Signatures(Vec<SignatureBlock>),
    /// A thin rule between groups.
    Rule,
    /// The end mark.
    EndMark(String),
}

/// One of several columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Share of the width.
    pub weight: u32,
    /// Its blocks.
    pub blocks: Vec<Block>,
}

/// A label with its value.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// Label: `Probe`.
    pub label: String,
    /// Value, one entry a line; each may wrap.
    pub value: Vec<String>,
}

/// The verdict on a state, said by word, shape and colour.
#[derive(Debug, Clone, PartialEq)]
pub struct VerdictBlock {
    /// Shape.
    pub mark: Mark,
    /// `As found: fail`.
    pub title: String,
    /// What it rests on.
    pub lines: Vec<String>,
}

/// Verdict marks of our own; each differs in shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Mark {
    /// Inside.
    Pass,
    /// Inside the fail limit, outside the warn limit.
    Warn,
    /// Inside, within the guard band.
    ConditionalPass,
    /// Outside, within the guard band.
    ConditionalFail,
    /// Outside.
    Fail,
    /// Not judged.
    NotJudged,
}

/// A paragraph, with a bold lead where it has one.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Paragraph {
    /// Lead in bold.
    pub lead: Option<String>,
    /// Text.
    pub text: String,
}

/// A table; every row has as many cells as there are columns, or is a group line.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// What the table is, for screen readers and repeated heads.
    pub caption: String,
    /// Columns.
    pub columns: Vec<TableColumn>,
    /// Rows.
    pub rows: Vec<Row>,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct TableColumn {
    /// Head.
    pub head: String,
    /// How its cells stand.
    pub align: Align,
    /// Share of the width that is left when every column has its natural width; 0: never wider than natural.
    pub stretch: u32,
}

/// How cells stand in their column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Left, wrapping.
    Left,
    /// Right.
    Right,
    /// On the decimal sign.
    Decimal,
}

/// A row.
#[derive(Debug, Clone, PartialEq)]
pub enum Row {
    /// A line over the whole width that begins a group: stays with the next row.
    Group(Paragraph),
    /// Cells; the first is the row's head.
    Cells(Vec<Cell>),
}

/// A cell.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cell {
    /// Text, empty where there is nothing.
    pub text: String,
    /// Verdict mark before the text.
    pub mark: Option<Mark>,
}

/// A signature, given or awaited.
#[derive(Debug, Clone, PartialEq)]
pub struct SignatureBlock {
    /// Printed name; none: an empty line to sign on.
    pub name: Option<String>,
    /// `performed · 2026-05-12 10:52 +02:00`.
    pub meaning: String,
}

/// A drawing in points, origin at the top left.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Width in pt; painters may scale the whole.
    pub width: f64,
    /// Height in pt.
    pub height: f64,
    /// What it shows, in words, for who cannot see it.
    pub alt: String,
    /// Shapes in painting order.
    pub shapes: Vec<Shape>,
}

/// A shape of a figure. Coordinates in pt from the top left of the figure.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A line through points, open.
    Line {
        /// Points.
        points: Vec<[f64; 2]>,
        /// Colour.
        ink: Ink,
        /// Width in pt.
        width: f64,
        /// Dash pattern in pt; empty: solid.
        dash: Vec<f64>,
    },
    /// A closed area.
    Area {
        /// Corners.
        points: Vec<[f64; 2]>,
        /// Fill.
        fill: Option<Ink>,
        /// Outline.
        stroke: Option<Ink>,
        /// Width of the outline in pt.
        width: f64,
    },
    /// A circle.
    Circle {
        /// Centre.
        centre: [f64; 2],
        /// Radius in pt.
        radius: f64,
        /// Fill.
        fill: Option<Ink>,
        /// Outline.
        stroke: Option<Ink>,
        /// Width of the outline in pt.
        width: f64,
    },
    /// Text on one line; `at` is the baseline point that `anchor` names.
    Label {
        /// Baseline point.
        at: [f64; 2],
        /// Which end of the text stands there.
        anchor: Anchor,
        /// Text.
        text: String,
        /// Size in pt.
        size: f64,
        /// Bold.
        bold: bool,
        /// Colour.
        ink: Ink,
    },
}

/// Which end of a label stands at its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Its beginning.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// Colours by what they mean; the painter knows the values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Main text and lines.
    Text,
    /// Secondary text and lines.
    Muted,
    /// Grid lines and hairlines.
    Grid,
    /// The firm's accent.
    Accent,
    /// Paper.
    Paper,
    /// Pass.
    Pass,
    /// Warn, conditional.
    Warn,
    /// Fail.
    Fail,
    /// Pale zone: inside.
    PassZone,
    /// Pale zone: warned.
    WarnZone,
    /// Pale zone: outside.
    FailZone,
}
