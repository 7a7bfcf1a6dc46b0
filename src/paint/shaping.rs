//! Texts that the bundled faces lack: which font each part takes, which glyphs it becomes, in which order they stand.
//!
//! Comes in: stretches of text with their face. Goes out: for a line, [`Piece`]s in reading order. Next: [`super::pdf`].
//!
//! Source: Unicode Standard Annex #9, Unicode Bidirectional Algorithm (order); Annex #14, Unicode Line Breaking Algorithm;
//! ISO/IEC 14496-22:2019, Open Font Format (shaping, done by harfrust).

mod glyphs;

use super::fonts::{Face, Fonts, bundled, is_guide};
use glyphs::glyphs;
pub use glyphs::{Shaped, width};
use std::ops::Range;
use unicode_bidi::{BidiInfo, Level};
use unicode_general_category::{GeneralCategory, get_general_category};

/// A part of a line in one font, read from left to right.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Face.
    pub face: Face,
    /// In a bundled face: what is shown, from left to right. Else what it says.
    pub text: String,
    /// In an added font: its glyphs from left to right.
    pub glyphs: Vec<Shaped>,
    /// Whether it is read from right to left.
    pub is_rtl: bool,
    /// Where it begins on its line, in thousandths of an em.
    pub left: u32,
}

/// A text of which at least one character needs an added font.
pub struct MixedText<'f> {
    fonts: &'f Fonts,
    text: String,
    /// Where each span ends.
    ends: Vec<usize>,
    parts: Vec<Part>,
    levels: Vec<Level>,
}

/// A stretch of a text in one font.
#[derive(Debug, Clone, PartialEq)]
struct Part {
    range: Range<usize>,
    face: Face,
    /// Index of the added font; none for the bundled faces.
    added: Option<usize>,
}

/// What a character takes on its line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Room {
    /// Width in thousandths of an em; the first of the characters that share a glyph has all of it.
    pub advance: u32,
    /// Whether a line may break before it, without a space.
    pub breaks: bool,
}

impl<'f> MixedText<'f> {
    /// Stretches of text that follow one another from left to right. The first strong letter of each tells whether its own
    /// words stand from right to left, so that a remark is in order whatever word leads it.
    ///
    /// Source: Unicode Standard Annex #9, first strong isolates.
    pub fn new(fonts: &'f Fonts, spans: &[(Face, &str)]) -> MixedText<'f> {
        let text: String = spans.iter().map(|(_, text)| *text).collect();
        let (mut parts, mut levels, mut ends) = (Vec::new(), Vec::new(), Vec::new());
        for (face, span) in spans {
            divide(fonts, *face, span, levels.len(), &mut parts);
            levels.append(&mut levels_of(span));
            ends.push(levels.len());
        }
        MixedText { fonts, text, ends, parts, levels }
    }

    /// What each byte takes that begins a character; other bytes take nothing.
    pub fn rooms(&self) -> Vec<Room> {
        let mut rooms = vec![Room { advance: 0, breaks: false }; self.text.len() + 1];
        for part in &self.parts {
            let Some(added) = part.added else {
                for (at, c) in self.text[part.range.clone()].char_indices() {
                    let glyph = bundled().glyph(part.face, c);
                    rooms[part.range.start + at].advance = glyph.map_or(0, |glyph| glyph.advance.into());
                }
                continue;
            };
            let is_rtl = self.levels[part.range.start].is_rtl();
            for (at, glyph) in glyphs(self.fonts, added, &self.text[part.range.clone()], is_rtl) {
                let width = u32::try_from(glyph.advance).unwrap_or(0);
                rooms[part.range.start + at].advance += width;
            }
        }
        let foreign = |c: Option<char>| c.is_some_and(|c| c != '\n' && !bundled().has(c));
        for (at, _) in unicode_linebreak::linebreaks(&self.text) {
            let (before, after) = self.text.split_at(at);
            let (before, after) = (before.chars().next_back(), after.chars().next());
            rooms[at].breaks = before != Some(' ') && (foreign(before) || foreign(after));
        }
        rooms
    }

    /// The pieces of a line in reading order, each with its place.
    pub fn line(&self, line: Range<usize>) -> Vec<Piece> {
        let mut pieces: Vec<(usize, Piece)> = Vec::new();
        let mut left = 0;
        for (is_rtl, run) in self.runs(line) {
            let met = |part: &&Part| part.range.start < run.end && part.range.end > run.start;
            let mut parts: Vec<&Part> = self.parts.iter().filter(met).collect();
            if is_rtl {
                parts.reverse();
            }
            for part in parts {
                let range = part.range.start.max(run.start)..part.range.end.min(run.end);
                let start = range.start;
                let piece = Piece { left, ..self.piece(part, range, is_rtl) };
                left += piece.thousandths();
                pieces.push((start, piece));
            }
        }
        pieces.sort_by_key(|(start, _)| *start);
        pieces.into_iter().map(|(_, piece)| piece).collect()
    }

    fn piece(&self, part: &Part, range: Range<usize>, is_rtl: bool) -> Piece {
        let text = &self.text[range.clone()];
        let Some(added) = part.added else {
            let shown = if is_rtl { text.chars().rev().map(mirrored).collect() } else { text.to_owned() };
            return Piece { face: part.face, text: shown, glyphs: Vec::new(), is_rtl, left: 0 };
        };
        let glyphs = glyphs(self.fonts, added, text, is_rtl).into_iter().map(|(_, glyph)| glyph).collect();
        Piece { face: part.face, text: text.to_owned(), glyphs, is_rtl, left: 0 }
    }

    /// What the fonts have no glyph for although they have its characters: letters whose parts no font puts together.
    pub fn lacks(&self) -> Vec<char> {
        let pieces = self.line(0..self.text.len());
        let missing = pieces.iter().flat_map(|piece| &piece.glyphs).filter(|glyph| glyph.glyph == 0);
        missing.flat_map(|glyph| glyph.text.chars()).collect()
    }

    /// Stretches of one direction, from left to right, and whether they are read from right to left.
    ///
    /// Source: Unicode Standard Annex #9, rules L1 (white space at the end of a line) and L2 (reversal).
    fn runs(&self, line: Range<usize>) -> Vec<(bool, Range<usize>)> {
        let white = line.start + self.text[line.clone()].trim_end_matches([' ', '\n']).len();
        let mut runs = Vec::new();
        let mut from = line.start;
        for &end in &self.ends {
            let to = end.min(white);
            if from < to {
                runs.append(&mut self.runs_of_span(from..to));
                from = to;
            }
        }
        runs.extend((white < line.end).then_some((false, white..line.end)));
        runs
    }

    /// The same for a part of a span.
    fn runs_of_span(&self, part: Range<usize>) -> Vec<(bool, Range<usize>)> {
        let mut runs: Vec<(Level, Range<usize>)> = Vec::new();
        for (at, c) in self.text[part.clone()].char_indices() {
            let (from, to) = (part.start + at, part.start + at + c.len_utf8());
            match runs.last_mut() {
                Some((last, range)) if *last == self.levels[from] => range.end = to,
                Some(_) | None => runs.push((self.levels[from], from..to)),
            }
        }
        let levels: Vec<Level> = runs.iter().map(|(level, _)| *level).collect();
        let order = BidiInfo::reorder_visual(&levels);
        order.into_iter().map(|at| (runs[at].0.is_rtl(), runs[at].1.clone())).collect()
    }
}

/// The level of each byte of a span. A line feed ends a paragraph for the algorithm; all lines here go the way of the first.
fn levels_of(span: &str) -> Vec<Level> {
    let info = BidiInfo::new(span, None);
    match info.paragraphs.as_slice() {
        [first, _, ..] => BidiInfo::new(span, Some(first.level)).levels,
        [] | [_] => info.levels,
    }
}

/// Divides a span into stretches of one font; letters stay with their marks.
fn divide(fonts: &Fonts, face: Face, span: &str, from: usize, parts: &mut Vec<Part>) {
    let mut rest = span;
    while let Some(first) = rest.chars().next() {
        let length = rest[first.len_utf8()..].find(|c| !stays(c)).map_or(rest.len(), |at| first.len_utf8() + at);
        let (letter, after) = rest.split_at(length);
        let start = from + span.len() - rest.len();
        let is_plain = letter.chars().all(is_bundled);
        match if is_plain { None } else { fonts.added_for(face, letter) } {
            None if is_plain => extend(parts, start..start + length, face, None),
            Some(added) => extend(parts, start..start + length, face, Some(added)),
            // No font has the letter with its marks: each takes the font that has it.
            None => letter.char_indices().for_each(|(at, c)| {
                let part = &letter[at..at + c.len_utf8()];
                let added = if is_bundled(c) { None } else { fonts.added_for(face, part) };
                extend(parts, start + at..start + at + part.len(), face, added);
            }),
        }
        rest = after;
    }
}

fn is_bundled(character: char) -> bool {
    character == '\n' || bundled().has(character)
}

/// Adds a stretch to the last part, or as a part of its own.
fn extend(parts: &mut Vec<Part>, range: Range<usize>, face: Face, added: Option<usize>) {
    match parts.last_mut() {
        Some(last) if last.range.end == range.start && (last.face, last.added) == (face, added) => {
            last.range.end = range.end;
        }
        Some(_) | None => parts.push(Part { range, face, added }),
    }
}

/// Whether a character belongs to the letter before it.
fn stays(character: char) -> bool {
    !character.is_ascii()
        && (is_guide(character)
            || matches!(
                get_general_category(character),
                GeneralCategory::NonspacingMark | GeneralCategory::SpacingMark | GeneralCategory::EnclosingMark
            ))
}

/// The sign that stands in the place of another where text runs from right to left, for those that the bundled faces have.
///
/// Source: Unicode Character Database 15.0, BidiMirroring.txt.
fn mirrored(character: char) -> char {
    const PAIRS: [(char, char); 9] =
        [('(', ')'), ('<', '>'), ('[', ']'), ('{', '}'), ('«', '»'), ('‹', '›'), ('≤', '≥'), ('⁽', '⁾'), ('₍', '₎')];
    let pair = PAIRS.iter().find(|(left, right)| [*left, *right].contains(&character));
    pair.map_or(character, |&(left, right)| if character == left { right } else { left })
}

impl Piece {
    /// Width in thousandths of an em.
    pub fn thousandths(&self) -> u32 {
        if self.glyphs.is_empty() {
            return bundled().thousandths(self.face, &self.text);
        }
        width(&self.glyphs)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is shown from left to right, with letters that no font has.
    fn shown(text: &str) -> String {
        let fonts = Fonts::default();
        let mixed = MixedText::new(&fonts, &[(Face::Regular, text)]);
        mixed.runs(0..text.len()).into_iter().map(|(is_rtl, run)| turned(&text[run], is_rtl)).collect()
    }

    fn turned(text: &str, is_rtl: bool) -> String {
        if is_rtl { text.chars().rev().map(mirrored).collect() } else { text.to_owned() }
    }

    #[test]
    fn words_stand_as_the_bidirectional_algorithm_says() {
        // Latin first, Hebrew first; figures keep their order, brackets turn.
        assert_eq!(shown("car אבג 12 (x)"), "car 12 גבא (x)");
        assert_eq!(shown("אבג 12 (car) דה"), "הד (car) 12 גבא");
        assert_eq!(shown("אב (גד)"), "(דג) בא");
        assert_eq!(shown("ملح 7.00 ± 0.05"), "0.05 ± 7.00 حلم");
    }

    #[test]
    fn white_at_the_end_of_a_line_stands_at_its_end() {
        let text = "car אב ";
        let fonts = Fonts::default();
        let mixed = MixedText::new(&fonts, &[(Face::Regular, text)]);
        assert_eq!(mixed.runs(0..text.len()).last(), Some(&(false, text.len() - 1..text.len())));
    }

    #[test]
    fn a_span_is_in_order_whatever_leads_it() {
        let fonts = Fonts::default();
        let mixed =
            MixedText::new(&fonts, &[(Face::SemiBold, "Note:"), (Face::Regular, " "), (Face::Regular, "אב 5 mV")]);
        let shown = |range: Range<usize>| -> String {
            mixed.runs(range).into_iter().map(|(is_rtl, run)| turned(&mixed.text[run], is_rtl)).collect()
        };
        // From right to left: the letters, the figure, its unit.
        assert_eq!(shown(0..mixed.text.len()), "Note: mV 5 בא");
        assert_eq!(shown(6..mixed.text.len()), "mV 5 בא");
    }

    #[test]
    fn lines_break_between_ideographs_and_not_before_their_stops() {
        let fonts = Fonts::default();
        let text = "a水质。好";
        let mixed = MixedText::new(&fonts, &[(Face::Regular, text)]);
        let rooms = mixed.rooms();
        let breaks: Vec<char> = text.char_indices().filter(|(at, _)| rooms[*at].breaks).map(|(_, c)| c).collect();
        assert_eq!(breaks, ['水', '质', '好']);
    }

    #[test]
    fn pieces_come_in_reading_order_with_their_places() {
        let fonts = Fonts::default();
        let text = "אב ab";
        let mixed = MixedText::new(&fonts, &[(Face::Regular, text)]);
        let pieces = mixed.line(0..text.len());
        let said: Vec<_> = pieces.iter().map(|piece| (piece.text.as_str(), piece.is_rtl, piece.left)).collect();
        let ab = bundled().thousandths(Face::Regular, "ab");
        assert_eq!(said, [(" בא", true, ab), ("ab", false, 0)]);
    }
}
