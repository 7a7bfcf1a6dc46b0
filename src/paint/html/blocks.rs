//! The blocks of a document as HTML.

use super::figure::{write_figure, write_mark};
use super::markup::{Markup, element, text};
use super::palette;
use super::table::write_table;
use crate::document::{Block, Column, Fact, Paragraph, SignatureBlock, VerdictBlock};
use crate::paint::marks;
use std::fmt::Write;

/// Bytes that a part of a common document takes, to begin with.
const COMMON_SIZE: usize = 24 * 1024;

/// Blocks in reading order as markup.
pub fn written(blocks: &[Block]) -> Markup {
    let mut markup = String::with_capacity(COMMON_SIZE);
    write_blocks(&mut markup, blocks);
    Markup { markup }
}

fn write_blocks(out: &mut String, blocks: &[Block]) {
    for block in blocks {
        write_block(out, block);
    }
}

fn write_block(out: &mut String, block: &Block) {
    match block {
        Block::Columns(columns) => write_columns(out, columns),
        Block::Heading(words) => element(out, "h2", words),
        Block::Facts(facts) => write_facts(out, facts),
        Block::Verdict(verdict) => write_verdict(out, verdict),
        Block::Figure(figure) => write_figure(out, figure),
        Block::Table(table) => write_table(out, table),
        Block::Paragraph(paragraph) => write_wrapped(out, "<p>", paragraph, "</p>\n"),
        Block::List(paragraphs) => {
            out.push_str("<ul>\n");
            for paragraph in paragraphs {
                write_wrapped(out, "<li>", paragraph, "</li>\n");
            }
            out.push_str("</ul>\n");
        }
        Block::Caution(paragraph) => {
            write_wrapped(out, "<p class=\"caution\" role=\"note\">", paragraph, "</p>\n");
        }
        Block::Signatures(signatures) => write_signatures(out, signatures),
        Block::Rule => out.push_str("<hr>\n"),
        Block::EndMark(words) => {
            out.push_str("<p class=\"end\">");
            text(out, words);
            out.push_str("</p>\n");
        }
    }
}

fn write_columns(out: &mut String, columns: &[Column]) {
    out.push_str("<div class=\"columns\" style=\"--columns:");
    for column in columns {
        let _ = write!(out, " minmax(0,{}fr)", column.weight);
    }
    out.push_str("\">\n");
    for column in columns {
        out.push_str("<div>\n");
        write_blocks(out, &column.blocks);
        out.push_str("</div>\n");
    }
    out.push_str("</div>\n");
}

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

fn write_wrapped(out: &mut String, before: &str, paragraph: &Paragraph, after: &str) {
    out.push_str(before);
    write_paragraph(out, paragraph);
    out.push_str(after);
}

/// Writes the bold lead, a space and the text.
pub fn write_paragraph(out: &mut String, paragraph: &Paragraph) {
    if let Some(lead) = &paragraph.lead {
        out.push_str("<strong>");
        text(out, lead);
        out.push_str("</strong> ");
    }
    text(out, &paragraph.text);
}
