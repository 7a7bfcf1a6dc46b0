//! Blocks as slabs.
//!
//! Comes in: blocks and the frame's width and height. Goes out: [`Slab`]s. Next: [`super::page`].

use super::flow::{Line, widest_word, wrap, wrap_all, wrap_spans};
use super::slab::{Drawn, LEADING, Slab, baseline, height, line_slabs, size, stacked, tagged};
use super::table;
use super::tags::{Tag, places};
use crate::document::*;
use crate::paint::fonts::{Face, Fonts};
use crate::paint::marks;
use std::borrow::Cow;

/// White between columns in pt.
const GUTTER: f64 = 24.0;
/// White between a label and its value in pt.
const LABEL_GAP: f64 = 10.0;
/// Side of a verdict's mark in pt.
const MARK: f64 = 20.0;
/// White inside a caution in pt.
const PADDING: f64 = 8.0;
/// Height for a signature above its line in pt.
const SIGNATURE: f64 = 23.0;

/// The room that blocks have.
#[derive(Debug, Clone, Copy)]
pub struct Room<'f> {
    /// Width in pt.
    pub width: f64,
    /// Faces.
    pub fonts: &'f Fonts,
    /// Height of a whole page's body in pt.
    pub page: f64,
    /// Size of running text in pt.
    pub text: f64,
}

/// Lays blocks out one below the other; the first has place `at` in the reading order.
pub fn slabs<'d>(blocks: &'d [Block], room: Room<'_>, mut at: u32) -> Vec<Slab<'d>> {
    let mut all = Vec::new();
    let mut before = None;
    for block in blocks {
        let mut slabs = block_slabs(block, room, at);
        at += places(block);
        if let Some(first) = slabs.first_mut() {
            first.above = white(before, block);
            first.glued = matches!(before, Some(Block::Heading(_) | Block::Rule)) || matches!(block, Block::EndMark(_));
            before = Some(block);
        }
        all.append(&mut slabs);
    }
    all
}

/// White between two blocks in pt.
fn white(before: Option<&Block>, block: &Block) -> f64 {
    match (before, block) {
        (None, _) => 0.0,
        (Some(Block::Heading(_)), Block::Table(_)) => 3.0,
        (Some(Block::Heading(_)), _) => 4.0,
        (_, Block::EndMark(_)) => 12.0,
        (_, Block::Heading(_) | Block::Columns(_)) => 14.0,
        (Some(Block::Columns(_)), _) => 14.0,
        (Some(Block::Rule), Block::Signatures(_)) => 2.0,
        _ => 10.0,
    }
}

fn block_slabs<'d>(block: &'d Block, room: Room<'_>, at: u32) -> Vec<Slab<'d>> {
    let whole = Tag { block: at, part: 0 };
    match block {
        Block::Columns(columns) => columns_slabs(columns, room, at + 1),
        Block::Heading(text) => tagged(heading(text, room), whole),
        Block::Facts(facts) => facts_slabs(facts, room, at),
        Block::Verdict(verdict) => verdict_slabs(verdict, room, at),
        Block::Figure(figure) => vec![figure_slab(figure, room, whole)],
        Block::Table(table) => table::slabs(table, room, at),
        Block::Paragraph(paragraph) => tagged(paragraph_slabs(paragraph, room), whole),
        Block::List(paragraphs) => list(paragraphs, room, at),
        Block::Caution(paragraph) => tagged(caution(paragraph, room), whole),
        Block::Signatures(signatures) => signatures_slabs(signatures, room, at),
        Block::Rule => vec![rule(room)],
        Block::EndMark(text) => tagged(end_mark(text, room), whole),
    }
}

/// Columns that take more of a page are set one below the other: side by side they would not break and leave it empty.
const TALLEST_COLUMNS: f64 = 0.6;

/// Side by side when the tallest is not too high, else one below the other.
fn columns_slabs<'d>(columns: &'d [Column], room: Room<'_>, first: u32) -> Vec<Slab<'d>> {
    let weights: u32 = columns.iter().map(|column| column.weight).sum();
    let gutters = GUTTER * columns.len().saturating_sub(1) as f64;
    let unit = (room.width - gutters) / f64::from(weights.max(1));
    let mut slab = Slab::default();
    let mut x = 0.0;
    let mut at = first;
    for column in columns {
        let width = unit * f64::from(column.weight);
        let slabs = slabs(&column.blocks, Room { width, ..room }, at);
        at += column.blocks.iter().map(places).sum::<u32>();
        slab.height = slab.height.max(height(&slabs));
        slab.drawn.append(&mut stacked(slabs, x));
        x += width + GUTTER;
    }
    if slab.height <= TALLEST_COLUMNS * room.page {
        return vec![slab];
    }
    stacked_columns(columns, room, first)
}

fn stacked_columns<'d>(columns: &'d [Column], room: Room<'_>, mut at: u32) -> Vec<Slab<'d>> {
    let mut all = Vec::new();
    for column in columns {
        let mut slabs = slabs(&column.blocks, room, at);
        at += column.blocks.iter().map(places).sum::<u32>();
        if let Some(first) = slabs.first_mut() {
            first.above = 14.0;
        }
        all.append(&mut slabs);
    }
    all
}

fn heading<'d>(text: &'d str, room: Room<'_>) -> Vec<Slab<'d>> {
    glued(line_slabs(wrap(room.fonts, Face::SemiBold, text, size::BODY, room.width), 0.0, size::BODY, Ink::Accent))
}

/// Slabs that stay together.
fn glued(mut slabs: Vec<Slab>) -> Vec<Slab> {
    slabs.iter_mut().skip(1).for_each(|slab| slab.glued = true);
    slabs
}

fn facts_slabs<'d>(facts: &'d [Fact], room: Room<'_>, at: u32) -> Vec<Slab<'d>> {
    let widest = facts
        .iter()
        .map(|fact| Line::of(room.fonts, Face::Regular, fact.label.as_str()).width(size::LABEL))
        .fold(0.0, f64::max);
    let words =
        facts.iter().map(|fact| widest_word(room.fonts, Face::Regular, &fact.label, size::LABEL)).fold(0.0, f64::max);
    let label = widest.min((room.width * 0.42).max(words)).min(room.width * 0.5).ceil();
    let indent = label + LABEL_GAP;
    let of_fact = |(fact, part): (&'d Fact, u32)| {
        let tags = [Tag { block: at, part: 2 * part }, Tag { block: at, part: 2 * part + 1 }];
        fact_slabs(fact, label, indent, room, tags)
    };
    facts.iter().zip(0..).flat_map(of_fact).collect()
}

fn fact_slabs<'d>(
    fact: &'d Fact,
    label: f64,
    indent: f64,
    room: Room<'_>,
    [label_tag, value_tag]: [Tag; 2],
) -> Vec<Slab<'d>> {
    let labels = wrap(room.fonts, Face::Regular, &fact.label, size::LABEL, label);
    let values = wrap_all(room.fonts, Face::Regular, &fact.value, room.text, room.width - indent);
    let leading = room.text * LEADING;
    let rows = labels.len().max(values.len());
    let mut slabs: Vec<Slab> = (0..rows).map(|_| Slab::new(leading)).collect();
    let label_rows = labels.len();
    for (at, line) in labels.into_iter().enumerate() {
        let y = baseline(leading, room.text) + at as f64 * leading;
        let tag = Some(label_tag);
        slabs[0].drawn.push(Drawn::Text { x: 0.0, y, size: size::LABEL, ink: Ink::Muted, line, tag });
    }
    for (slab, line) in slabs.iter_mut().zip(values) {
        slab.put_lines(vec![line], indent, 0.0, room.text, Ink::Text);
    }
    for (at, slab) in slabs.iter_mut().enumerate() {
        slab.glued = at > 0 && (at < 2 || at + 2 > rows || at < label_rows);
        slab.above = if at == 0 { 2.2 } else { 0.0 };
    }
    tagged(slabs, value_tag)
}

fn verdict_slabs<'d>(verdict: &'d VerdictBlock, room: Room<'_>, at: u32) -> Vec<Slab<'d>> {
    let ink = marks::ink(verdict.mark);
    let indent = MARK + 9.0;
    let width = room.width - indent;
    let mut slab = Slab::default();
    slab.put_rule(0.0, room.width, 0.0, ink, 1.2);
    slab.drawn.push(mark(verdict.mark, 0.0, 9.0, MARK));
    let title = wrap(room.fonts, Face::SemiBold, &verdict.title, size::VERDICT, width);
    let mut y = slab.put_lines(title, indent, 7.0, size::VERDICT, Ink::Text) + 1.0;
    slab.tag(Tag { block: at, part: 0 });
    for (text, part) in verdict.lines.iter().zip(1..) {
        y = slab.put_lines(wrap(room.fonts, Face::Regular, text, room.text, width), indent, y, room.text, Ink::Muted);
        slab.tag(Tag { block: at, part });
    }
    slab.height = y.max(9.0 + MARK);
    vec![slab]
}

/// A verdict mark with its top left at a point.
pub fn mark<'d>(mark: Mark, x: f64, y: f64, side: f64) -> Drawn<'d> {
    Drawn::Shapes { x, y, scale: side, shapes: Cow::Owned(marks::shapes(mark)), tag: None }
}

/// A figure, smaller where it is wider than the room or higher than a page.
fn figure_slab<'d>(figure: &'d Figure, room: Room<'_>, tag: Tag) -> Slab<'d> {
    let scale = (room.width / figure.width).min(room.page / figure.height).min(1.0);
    let mut slab = Slab::new(figure.height * scale);
    let (shapes, tag) = (Cow::Borrowed(figure.shapes.as_slice()), Some(tag));
    slab.drawn.push(Drawn::Shapes { x: 0.0, y: 0.0, scale, shapes, tag });
    slab
}

/// A paragraph's lines.
pub fn paragraph_lines<'d>(fonts: &Fonts, paragraph: &'d Paragraph, size: f64, width: f64) -> Vec<Line<'d>> {
    match &paragraph.lead {
        Some(lead) => {
            let spans =
                [(Face::SemiBold, lead.as_str()), (Face::Regular, " "), (Face::Regular, paragraph.text.as_str())];
            wrap_spans(fonts, &spans, size, width)
        }
        None => wrap(fonts, Face::Regular, &paragraph.text, size, width),
    }
}

fn paragraph_slabs<'d>(paragraph: &'d Paragraph, room: Room<'_>) -> Vec<Slab<'d>> {
    line_slabs(paragraph_lines(room.fonts, paragraph, room.text, room.width), 0.0, room.text, Ink::Text)
}

fn list<'d>(paragraphs: &'d [Paragraph], room: Room<'_>, at: u32) -> Vec<Slab<'d>> {
    let mut all = Vec::new();
    for (paragraph, part) in paragraphs.iter().zip(0..) {
        let mut slabs = tagged(paragraph_slabs(paragraph, room), Tag { block: at, part });
        slabs[0].above = room.text * 0.55;
        all.append(&mut slabs);
    }
    all
}

/// A tinted panel; one that is higher than a page stands without its tint and flows.
fn caution<'d>(paragraph: &'d Paragraph, room: Room<'_>) -> Vec<Slab<'d>> {
    let lines = paragraph_lines(room.fonts, paragraph, size::LABEL, room.width - 2.0 * PADDING);
    let height = lines.len() as f64 * size::LABEL * LEADING + 2.0 * (PADDING - 1.0);
    if height > room.page {
        return line_slabs(lines, PADDING, size::LABEL, Ink::Text);
    }
    let mut slab = Slab::new(height);
    slab.put_shapes(vec![panel(room.width, height)]);
    slab.put_lines(lines, PADDING, PADDING - 1.0, size::LABEL, Ink::Text);
    vec![slab]
}

fn panel(width: f64, height: f64) -> Shape {
    Shape::Area {
        points: vec![[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]],
        fill: Some(Ink::WarnZone),
        stroke: None,
        width: 0.0,
    }
}

/// Signatures, three side by side; a row of them is never split.
fn signatures_slabs<'d>(signatures: &'d [SignatureBlock], room: Room<'_>, block: u32) -> Vec<Slab<'d>> {
    const BESIDE: usize = 3;
    let beside = signatures.len().clamp(1, BESIDE);
    let width = (room.width - GUTTER * (beside - 1) as f64) / beside as f64;
    let row = |(row, first): (&'d [SignatureBlock], u32)| {
        let mut slab = Slab::default();
        let names: Vec<Vec<Line>> = row
            .iter()
            .map(|one| {
                one.name
                    .as_deref()
                    .map_or(Vec::new(), |name| wrap(room.fonts, Face::Regular, name, size::VERDICT, width))
            })
            .collect();
        let highest = names.iter().map(Vec::len).max().unwrap_or(0) as f64 * size::VERDICT * LEADING + 4.0;
        let foot = highest.max(SIGNATURE);
        for (at, (one, name)) in row.iter().zip(names).enumerate() {
            let x = at as f64 * (width + GUTTER);
            let top = foot - 1.0 - name.len() as f64 * size::VERDICT * LEADING;
            slab.put_lines(name, x, top, size::VERDICT, Ink::Text);
            slab.put_rule(x, x + width, foot, Ink::Text, 0.6);
            let meaning = wrap(room.fonts, Face::Regular, &one.meaning, size::LABEL, width);
            let y = slab.put_lines(meaning, x, foot + 2.5, size::LABEL, Ink::Muted);
            slab.height = slab.height.max(y);
            slab.tag(Tag { block, part: first + at as u32 });
        }
        slab.above = 6.0;
        slab
    };
    signatures.chunks(BESIDE).zip((0..).step_by(BESIDE)).map(row).collect()
}

fn rule<'d>(room: Room<'_>) -> Slab<'d> {
    let mut slab = Slab::new(0.5);
    slab.put_rule(0.0, room.width, 0.25, Ink::Grid, 0.6);
    slab
}

/// The end mark, centred under the last block.
fn end_mark<'d>(text: &'d str, room: Room<'_>) -> Vec<Slab<'d>> {
    let lines = wrap(room.fonts, Face::Regular, text, size::LABEL, room.width);
    let mut slab = Slab::new(lines.len() as f64 * size::LABEL * LEADING);
    let mut y = 0.0;
    for line in lines {
        let x = (room.width - line.width(size::LABEL)) / 2.0;
        y = slab.put_lines(vec![line], x, y, size::LABEL, Ink::Muted);
    }
    vec![slab]
}
