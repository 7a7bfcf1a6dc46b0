//! Text broken into lines.
//!
//! Comes in: stretches of text with their face, a size and a width. Goes out: [`Line`]s. Next: [`super::slab`].
//!
//! A line breaks at spaces only: a hyphen at the end of a line would be lost when the text is read back. A word that is
//! wider than a line breaks after a sign of an address, a path or a number, else anywhere.

use crate::paint::fonts::{Face, Fonts, bundled};
use crate::paint::shaping::{self, MixedText, Piece, Shaped};
use std::borrow::Cow;
use std::ops::Range;

/// Text in one font.
#[derive(Debug, Clone, PartialEq)]
pub struct Run<'d> {
    /// Face.
    pub face: Face,
    /// In a bundled face: what is shown, from left to right. In an added font: what it says.
    pub text: Cow<'d, str>,
    /// In an added font: its glyphs from left to right.
    pub glyphs: Vec<Shaped>,
    /// Whether it is read from right to left.
    pub is_rtl: bool,
    /// Where it begins, in thousandths of an em from the left end of the line; none: where the run before ends.
    pub left: Option<u32>,
}

impl<'d> Run<'d> {
    /// Text in a bundled face.
    pub fn plain(face: Face, text: impl Into<Cow<'d, str>>) -> Run<'d> {
        Run { face, text: text.into(), glyphs: Vec::new(), is_rtl: false, left: None }
    }

    /// Width in thousandths of an em.
    pub fn thousandths(&self) -> u32 {
        match self.glyphs.is_empty() {
            true => bundled().thousandths(self.face, &self.text),
            false => shaping::width(&self.glyphs),
        }
    }
}

/// A line of text.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Line<'d> {
    /// Runs in reading order.
    pub runs: Vec<Run<'d>>,
    /// Width in thousandths of an em.
    pub thousandths: u32,
    /// Whether a word of the same text follows on the next line: a space ends it, for those who read without seeing.
    pub goes_on: bool,
}

impl<'d> Line<'d> {
    /// A line of one run, unbroken.
    pub fn of(fonts: &Fonts, face: Face, text: impl Into<Cow<'d, str>>) -> Line<'d> {
        let text = text.into();
        if !fonts.is_plain(&text) {
            return Line::shaped(MixedText::new(fonts, &[(face, &text)]).line(0..text.len()), false);
        }
        Line { thousandths: bundled().thousandths(face, &text), runs: vec![Run::plain(face, text)], goes_on: false }
    }

    /// A line of ready pieces.
    fn shaped(pieces: Vec<Piece>, goes_on: bool) -> Line<'d> {
        let thousandths = pieces.iter().map(Piece::thousandths).sum();
        let run = |Piece { face, text, glyphs, is_rtl, left }| Run {
            face,
            text: Cow::Owned(text),
            glyphs,
            is_rtl,
            left: Some(left),
        };
        Line { runs: pieces.into_iter().map(run).collect(), thousandths, goes_on }
    }

    /// Width in pt at `size` pt.
    pub fn width(&self, size: f64) -> f64 {
        f64::from(self.thousandths) * size / 1000.0
    }
}

/// Breaks one text.
pub fn wrap<'d>(fonts: &Fonts, face: Face, text: &'d str, size: f64, width: f64) -> Vec<Line<'d>> {
    let whole = Line::of(fonts, face, text);
    if whole.thousandths <= limit(size, width) && !text.contains('\n') && !text.ends_with(' ') {
        return vec![whole];
    }
    wrap_spans(fonts, &[(face, text)], size, width)
}

/// Breaks texts that stand one below the other and are read as one.
pub fn wrap_all<'d>(fonts: &Fonts, face: Face, texts: &'d [String], size: f64, width: f64) -> Vec<Line<'d>> {
    let mut all: Vec<Line> = Vec::new();
    for text in texts {
        if let Some(last) = all.last_mut() {
            last.goes_on = true;
        }
        all.append(&mut wrap(fonts, face, text, size, width));
    }
    all
}

/// Breaks stretches of text that follow one another without a break between them; at least one line comes out.
pub fn wrap_spans<'d>(fonts: &Fonts, spans: &[(Face, &'d str)], size: f64, width: f64) -> Vec<Line<'d>> {
    let is_plain = spans.iter().all(|(_, text)| fonts.is_plain(text));
    let shaped = (!is_plain).then(|| MixedText::new(fonts, spans));
    let rooms = shaped.as_ref().map(MixedText::rooms);
    let mut from = 0;
    let mut breaker = Breaker {
        shaped: shaped.as_ref(),
        spans,
        limit: limit(size, width),
        lines: Vec::new(),
        joint: None,
        line: Pieces::default(),
        space: Pieces::default(),
        word: Pieces::default(),
    };
    for (span, (face, text)) in spans.iter().enumerate() {
        for (at, character) in text.char_indices() {
            let advance = match &rooms {
                None => bundled().glyph(*face, character).map_or(0, |glyph| u32::from(glyph.advance)),
                Some(rooms) => rooms[from + at].advance,
            };
            if rooms.as_ref().is_some_and(|rooms| rooms[from + at].breaks) {
                breaker.place_word();
            }
            breaker.take(span, at, character, advance);
        }
        from += text.len();
    }
    breaker.finish()
}

/// Width of a line in thousandths of an em.
fn limit(size: f64, width: f64) -> u32 {
    (width * 1000.0 / size + 0.5).max(0.0) as u32
}

/// Width of a text in pt.
pub fn width(fonts: &Fonts, face: Face, size: f64, text: &str) -> f64 {
    match fonts.is_plain(text) {
        true => bundled().width(face, size, text),
        false => Line::of(fonts, face, text).width(size),
    }
}

/// The widest word of a text in pt.
pub fn widest_word(fonts: &Fonts, face: Face, text: &str, size: f64) -> f64 {
    text.split([' ', '\n']).map(|word| width(fonts, face, size, word)).fold(0.0, f64::max)
}

/// Byte ranges of spans with their common width.
#[derive(Default)]
struct Pieces {
    ranges: Vec<(usize, usize, usize)>,
    width: u32,
}

impl Pieces {
    fn push(&mut self, span: usize, from: usize, to: usize, width: u32) {
        self.width += width;
        match self.ranges.last_mut() {
            Some(last) if last.0 == span && last.2 == from => last.2 = to,
            Some(_) | None => self.ranges.push((span, from, to)),
        }
    }

    fn append(&mut self, other: &mut Pieces) {
        let width = std::mem::take(&mut other.width);
        for (span, from, to) in other.ranges.drain(..) {
            self.push(span, from, to, 0);
        }
        self.width += width;
    }

    /// What stands after a byte of a span; `width` is that of what stays.
    fn split_off(&mut self, span: usize, byte: usize, width: u32) -> Pieces {
        let mut rest = Pieces { ranges: Vec::new(), width: self.width - width };
        let (kept, after): (Vec<_>, Vec<_>) =
            self.ranges.iter().partition(|(of, from, _)| *of < span || (*of == span && *from < byte));
        self.ranges = kept;
        self.width = width;
        if let Some(last) = self.ranges.last_mut().filter(|last| last.0 == span && last.2 > byte) {
            rest.ranges.push((span, byte, last.2));
            last.2 = byte;
        }
        rest.ranges.extend(after);
        rest
    }

    fn clear(&mut self) {
        self.ranges.clear();
        self.width = 0;
    }
}

struct Breaker<'s, 'd> {
    /// The text, where it needs shaping.
    shaped: Option<&'s MixedText<'s>>,
    spans: &'s [(Face, &'d str)],
    limit: u32,
    /// Where the word would break well: span, byte, width before it.
    joint: Option<(usize, usize, u32)>,
    lines: Vec<Line<'d>>,
    line: Pieces,
    space: Pieces,
    word: Pieces,
}

impl<'d> Breaker<'_, 'd> {
    fn take(&mut self, span: usize, at: usize, character: char, advance: u32) {
        let end = at + character.len_utf8();
        match character {
            '\n' => {
                self.place_word();
                self.end_line(true);
            }
            ' ' => {
                self.place_word();
                self.space.push(span, at, end, advance);
            }
            _ => {
                if self.word.width + advance > self.limit && !self.word.ranges.is_empty() {
                    self.break_inside_word();
                }
                self.word.push(span, at, end, advance);
                if matches!(character, '@' | '.' | '/' | '_' | '+') {
                    self.joint = Some((span, end, self.word.width));
                }
            }
        }
    }

    /// Puts the word on the line, or on the next one.
    fn place_word(&mut self) {
        if self.word.ranges.is_empty() {
            return;
        }
        if self.line.width + self.space.width + self.word.width > self.limit && !self.line.ranges.is_empty() {
            // Between two ideographs there is no space.
            self.end_line(!self.space.ranges.is_empty());
        }
        self.line.append(&mut self.space);
        self.line.append(&mut self.word);
        self.joint = None;
    }

    /// The word fills a line by itself: it gets one, and goes on below; broken at a joint that is not near its beginning.
    fn break_inside_word(&mut self) {
        let joint = self.joint.take().filter(|(_, _, width)| width * 3 > self.limit);
        let rest = joint.map(|(span, byte, width)| self.word.split_off(span, byte, width)).unwrap_or_default();
        self.place_word();
        self.end_line(false);
        self.word = rest;
    }

    fn end_line(&mut self, goes_on: bool) {
        self.space.clear();
        if let Some(shaped) = self.shaped {
            let line = self.place();
            self.line.clear();
            self.lines.push(Line::shaped(shaped.line(line), goes_on));
            return;
        }
        let run =
            |(span, from, to): (usize, usize, usize)| Run::plain(self.spans[span].0, &self.spans[span].1[from..to]);
        let runs = self.line.ranges.drain(..).map(run);
        self.lines.push(Line { runs: runs.collect(), thousandths: std::mem::take(&mut self.line.width), goes_on });
    }

    /// Where the line stands in the spans put together.
    fn place(&self) -> Range<usize> {
        let whole = |span: usize, at: usize| self.spans[..span].iter().map(|(_, text)| text.len()).sum::<usize>() + at;
        match (self.line.ranges.first(), self.line.ranges.last()) {
            (Some(first), Some(last)) => whole(first.0, first.1)..whole(last.0, last.2),
            (_, _) => 0..0,
        }
    }

    fn finish(mut self) -> Vec<Line<'d>> {
        self.place_word();
        if !self.line.ranges.is_empty() || self.lines.is_empty() {
            self.end_line(false);
        }
        if let Some(last) = self.lines.last_mut() {
            last.goes_on = false;
        }
        self.lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(lines: &[Line]) -> Vec<String> {
        lines.iter().map(|line| line.runs.iter().map(|run| run.text.as_ref()).collect()).collect()
    }

    #[test]
    fn lines_break_at_spaces_and_keep_no_break_spaces() {
        let lines = wrap(&Fonts::default(), Face::Regular, "slope of 78.9\u{a0}% found", 10.0, 72.0);
        assert_eq!(texts(&lines), ["slope of", "78.9\u{a0}% found"]);
        assert!(lines.iter().all(|line| line.width(10.0) <= 72.0));
    }

    #[test]
    fn a_hyphen_never_ends_a_line() {
        assert_eq!(
            texts(&wrap(&Fonts::default(), Face::Regular, "a flat-faced probe", 10.0, 51.0)),
            ["a", "flat-faced", "probe"]
        );
    }

    #[test]
    fn a_long_word_breaks_anywhere_and_nothing_is_lost() {
        let word = "Vorratsbehälter".repeat(9);
        let lines = wrap(&Fonts::default(), Face::Regular, &word, 8.0, 50.0);
        assert!(lines.len() > 9 && lines.iter().all(|line| line.width(8.0) <= 50.0));
        assert_eq!(texts(&lines).concat(), word);
    }

    #[test]
    fn an_address_breaks_after_its_signs() {
        let address = "quality@curdlewick.example.com";
        let lines = texts(&wrap(&Fonts::default(), Face::Regular, address, 8.0, 70.0));
        assert!(lines.len() > 1 && lines.concat() == address);
        assert!(lines[..lines.len() - 1].iter().all(|line| line.ends_with(['@', '.'])), "{lines:?}");
    }

    #[test]
    fn a_line_feed_breaks_and_an_empty_text_is_one_line() {
        assert_eq!(texts(&wrap(&Fonts::default(), Face::Regular, "one\ntwo", 8.0, 500.0)), ["one", "two"]);
        assert_eq!(texts(&wrap(&Fonts::default(), Face::Regular, "", 8.0, 500.0)), [""]);
    }

    #[test]
    fn a_line_narrower_than_a_letter_still_takes_one() {
        assert_eq!(texts(&wrap(&Fonts::default(), Face::Regular, "mm", 8.0, 1.0)), ["m", "m"]);
    }

    #[test]
    fn a_lead_and_its_text_share_a_line() {
        let spans = [(Face::SemiBold, "Film."), (Face::Regular, " "), (Face::Regular, "It went.")];
        let lines = wrap_spans(&Fonts::default(), &spans, 8.0, 500.0);
        assert_eq!(lines[0].runs.len(), 3);
        assert_eq!(texts(&lines), ["Film. It went."]);
    }
}
