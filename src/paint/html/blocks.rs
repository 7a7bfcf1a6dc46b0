//! The blocks of a document as HTML.

use super::figure::{write_figure, write_mark};
use super::markup::{Markup, close, element, open, words};
use super::palette;
use super::table::{Room, room_to_compare, write_table};
use crate::document::{Block, Column, Fact, Paragraph, SignatureBlock, VerdictBlock};
use crate::paint::marks;
use std::fmt::Write;

/// Bytes that a part of a common document takes, to begin with.
const COMMON_SIZE: usize = 24 * 1024;

/// Blocks in reading order as markup.
pub fn written(blocks: &[Block]) -> Markup {
    let mut markup = String::with_capacity(COMMON_SIZE);
    write_blocks(&mut markup, blocks, Room::Page);
    Markup { markup }
}

fn write_blocks(out: &mut String, blocks: &[Block], room: Room) {
    for block in blocks {
        write_block(out, block, room);
    }
}

fn write_block(out: &mut String, block: &Block, room: Room) {
    match block {
        Block::Columns(columns) => write_columns(out, columns),
        Block::Heading(text) => element(out, "h2", text),
        Block::Facts(facts) => write_facts(out, facts),
        Block::Verdict(verdict) => write_verdict(out, verdict),
        Block::Figure(figure) => write_figure(out, figure),
        Block::Table(table) => write_table(out, table, room),
        Block::Paragraph(paragraph) => write_whole(out, "p", "", paragraph),
        Block::List(paragraphs) => write_list(out, paragraphs),
        Block::Caution(paragraph) => write_whole(out, "p", " class=\"caution\" role=\"note\"", paragraph),
        Block::Signatures(signatures) => write_signatures(out, signatures),
        Block::Rule => out.push_str("<hr>\n"),
        Block::EndMark(text) => {
            open(out, "p", " class=\"end\"", text);
            words(out, text);
            close(out, "p");
        }
    }
}

fn write_columns(out: &mut String, columns: &[Column]) {
    let class = side_by_side(columns);
    ["<div class=\"columns", class, "\" style=\"--columns:"].into_iter().for_each(|part| out.push_str(part));
    for column in columns {
        let _ = write!(out, " minmax(0,{}fr)", column.weight);
    }
    out.push_str("\">\n");
    for column in columns {
        out.push_str("<div>\n");
        write_blocks(out, &column.blocks, Room::Column);
        out.push_str("</div>\n");
    }
    out.push_str("</div>\n");
}

/// White between columns in rem (in `page.css`).
const GAP: f64 = 2.25;

/// The class that says from which width of the window on columns stand side by side on screen: none, from that of a
/// tablet on, if the tables in them that would have to scroll fit; later; or never.
fn side_by_side(columns: &[Column]) -> &'static str {
    let shares: u32 = columns.iter().map(|column| column.weight).sum();
    let page = |column: &Column| {
        let needs = column.blocks.iter().map(|block| match block {
            Block::Table(table) => room_to_compare(table),
            _ => 0.0,
        });
        needs.fold(0.0, f64::max) * f64::from(shares) / f64::from(column.weight.max(1))
    };
    let page = columns.iter().map(page).fold(0.0, f64::max) + GAP * (columns.len() as f64 - 1.0);
    match page {
        page if page <= TABLET => "",
        page if page <= DESK => " late",
        _ => " never",
    }
}

/// Width in rem of the page in the narrowest window with columns (in `page.css`).
const TABLET: f64 = 45.0;
/// Width in rem of the page in a wide window (in `page.css`).
const DESK: f64 = 55.0;

fn write_facts(out: &mut String, facts: &[Fact]) {
    out.push_str("<dl>\n");
    for fact in facts {
        out.push_str("<div>");
        element(out, "dt", &fact.label);
        for line in &fact.value {
            element(out, "dd", line);
        }
        out.push_str("</div>\n");
    }
    out.push_str("</dl>\n");
}

fn write_verdict(out: &mut String, verdict: &VerdictBlock) {
    let ink = palette::name(marks::ink(verdict.mark));
    let _ = write!(out, "<div class=\"verdict verdict-{ink}\">");
    write_mark(out, verdict.mark);
    element(out, "h2", &verdict.title);
    for line in &verdict.lines {
        element(out, "p", line);
    }
    out.push_str("</div>\n");
}

fn write_signatures(out: &mut String, signatures: &[SignatureBlock]) {
    out.push_str("<div class=\"signatures\">\n");
    for signature in signatures {
        out.push_str("<div>");
        element(out, "p", signature.name.as_deref().unwrap_or_default());
        element(out, "p", &signature.meaning);
        out.push_str("</div>\n");
    }
    out.push_str("</div>\n");
}

/// A list without bullets keeps its role, which a browser may drop with them.
fn write_list(out: &mut String, paragraphs: &[Paragraph]) {
    out.push_str("<ul role=\"list\">\n");
    for paragraph in paragraphs {
        write_whole(out, "li", "", paragraph);
    }
    out.push_str("</ul>\n");
}

fn write_whole(out: &mut String, name: &str, attributes: &str, paragraph: &Paragraph) {
    open(out, name, attributes, &paragraph.text);
    write_paragraph(out, paragraph);
    close(out, name);
}

/// Writes the bold lead, a space and the text.
pub fn write_paragraph(out: &mut String, paragraph: &Paragraph) {
    if let Some(lead) = &paragraph.lead {
        out.push_str("<strong>");
        words(out, lead);
        out.push_str("</strong> ");
    }
    words(out, &paragraph.text);
}
