//! Every text of a document, made fit for the faces it is set in.
//!
//! Comes in: a [`Document`]. Goes out: a [`Paintable`], with what the faces lack. Next: the painters, which take nothing else.

use super::fonts::{Face, Fonts};
use super::shaping::MixedText;
use crate::document::{Block, Document, Paragraph, Row, Shape};
use std::collections::BTreeSet;
use unicode_normalization::{UnicodeNormalization, is_nfc};

/// A document as it can be painted: texts in normalization form C, without soft hyphens. A character that no face
/// has is written out as `[U+6F22]`: visible, never dropped.
#[derive(Debug, Clone, PartialEq)]
pub struct Paintable {
    document: Document,
    fonts: Fonts,
    missing: Vec<(char, String)>,
}

impl Paintable {
    /// Makes the texts of a document fit for the bundled faces and those of its brand.
    pub fn new(mut document: Document) -> Paintable {
        let fonts = Fonts::new(&document.brand.fonts);
        let mut missing = Vec::new();
        let mut seen = BTreeSet::new();
        each_text(&mut document, &mut |text| {
            if text.bytes().all(|byte| matches!(byte, b' '..=b'~' | b'\n')) {
                return;
            }
            normalise(text);
            let unshaped = if fonts.is_plain(text) { Vec::new() } else { unshaped(&fonts, text) };
            if text.chars().all(|c| paintable(&fonts, c)) && unshaped.is_empty() {
                return;
            }
            let lacking = text.chars().filter(|c| !paintable(&fonts, *c) || unshaped.contains(c));
            missing.extend(lacking.filter(|&c| seen.insert(c)).map(|c| (c, text.clone())));
            *text = written_out(&fonts, &unshaped, text);
        });
        Paintable { document, fonts, missing }
    }

    /// The document.
    pub fn document(&self) -> &Document {
        &self.document
    }

    /// The faces it is set in.
    pub fn fonts(&self) -> &Fonts {
        &self.fonts
    }

    /// The characters that no face has, each with the first text that holds it in normalization form C, in
    /// reading order.
    pub fn missing(&self) -> &[(char, String)] {
        &self.missing
    }
}

/// Characters that a font has but does not put together with their neighbours.
fn unshaped(fonts: &Fonts, text: &str) -> Vec<char> {
    MixedText::new(fonts, &[(Face::Regular, text)]).lacks()
}

fn written_out(fonts: &Fonts, unshaped: &[char], text: &str) -> String {
    let shown = |c: char| {
        if paintable(fonts, c) && !unshaped.contains(&c) { c.to_string() } else { format!("[U+{:04X}]", c as u32) }
    };
    text.chars().map(shown).collect()
}

/// A line feed breaks a line; everything else needs a glyph.
fn paintable(fonts: &Fonts, character: char) -> bool {
    character == '\n' || fonts.has(character)
}

fn normalise(text: &mut String) {
    if !is_nfc(text) {
        *text = text.nfc().collect();
    }
    if text.contains(['\u{ad}', '\r', '\t']) {
        text.retain(|c| c != '\u{ad}' && c != '\r');
        *text = text.replace('\t', " ");
    }
}

/// Gives `visit` every text that is painted, in reading order.
fn each_text(document: &mut Document, visit: &mut dyn FnMut(&mut String)) {
    let (brand, running) = (&mut document.brand, &mut document.running);
    for text in [&mut document.title, &mut document.subtitle, &mut document.number, &mut brand.name] {
        visit(text);
    }
    brand.lines.iter_mut().for_each(&mut *visit);
    visit(&mut running.issued);
    visit(&mut running.page);
    running.draft.iter_mut().for_each(&mut *visit);
    running.footer_left.iter_mut().chain(&mut running.footer_right).for_each(&mut *visit);
    for part in &mut document.parts {
        part.blocks.iter_mut().for_each(|block| each_text_of_block(block, visit));
    }
}

fn each_text_of_block(block: &mut Block, visit: &mut dyn FnMut(&mut String)) {
    match block {
        Block::Columns(columns) => {
            columns.iter_mut().flat_map(|column| &mut column.blocks).for_each(|block| each_text_of_block(block, visit))
        }
        Block::Heading(text) | Block::EndMark(text) => visit(text),
        Block::Facts(facts) => facts.iter_mut().for_each(|fact| {
            visit(&mut fact.label);
            fact.value.iter_mut().for_each(&mut *visit);
        }),
        Block::Verdict(verdict) => {
            visit(&mut verdict.title);
            verdict.lines.iter_mut().for_each(visit);
        }
        Block::Figure(figure) => figure.shapes.iter_mut().for_each(|shape| match shape {
            Shape::Label { text, .. } => visit(text),
            Shape::Line { .. } | Shape::Area { .. } | Shape::Circle { .. } => {}
        }),
        Block::Table(table) => {
            visit(&mut table.caption);
            table.columns.iter_mut().for_each(|column| visit(&mut column.head));
            for row in &mut table.rows {
                match row {
                    Row::Group(paragraph) => each_text_of_paragraph(paragraph, visit),
                    Row::Cells(cells) => cells.iter_mut().for_each(|cell| visit(&mut cell.text)),
                }
            }
        }
        Block::Paragraph(paragraph) | Block::Caution(paragraph) => each_text_of_paragraph(paragraph, visit),
        Block::List(paragraphs) => paragraphs.iter_mut().for_each(|one| each_text_of_paragraph(one, visit)),
        Block::Signatures(signatures) => signatures.iter_mut().for_each(|signature| {
            signature.name.iter_mut().for_each(&mut *visit);
            visit(&mut signature.meaning);
        }),
        Block::Rule => {}
    }
}

fn each_text_of_paragraph(paragraph: &mut Paragraph, visit: &mut dyn FnMut(&mut String)) {
    paragraph.lead.iter_mut().for_each(&mut *visit);
    visit(&mut paragraph.text);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_composed_letter_is_made_of_its_parts_and_soft_hyphens_go() {
        let mut text = "Bu\u{308}ro\u{ad}turm 5\u{2126}\t\u{b5}m".to_string();
        normalise(&mut text);
        assert_eq!(text, "Büroturm 5Ω µm");
    }

    #[test]
    fn a_character_that_no_face_has_is_written_out() {
        assert_eq!(written_out(&Fonts::default(), &[], "Zähler 漢 1"), "Zähler [U+6F22] 1");
    }
}
