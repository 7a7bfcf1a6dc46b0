//! The glyphs of a stretch of text in one added font, and what each stands for.

use crate::firm::AddedFont;
use crate::paint::fonts::{Fonts, SLICES};
use harfrust::{Buffer, BufferFlags, ClusterLevel, Direction, ShapeOptions, ShaperFont};

/// A glyph of an added font in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Shaped {
    /// Index of the font: [`SLICES`] and more.
    pub slice: u8,
    /// Number in the font's file.
    pub glyph: u16,
    /// Width in thousandths of an em, kerning included.
    pub advance: i32,
    /// How far it is moved to the right and up from its place, in thousandths of an em.
    pub offset: [i32; 2],
    /// What it stands for; empty where the glyph before says it.
    pub text: String,
}

/// Width of glyphs in thousandths of an em.
pub fn width(glyphs: &[Shaped]) -> u32 {
    u32::try_from(glyphs.iter().map(|glyph| glyph.advance).sum::<i32>()).unwrap_or(0)
}

/// The glyphs of a stretch from left to right, each with the byte of the stretch at which what it stands for begins.
pub fn glyphs(fonts: &Fonts, added: usize, text: &str, is_rtl: bool) -> Vec<(usize, Shaped)> {
    let AddedFont { font, blank, .. } = &fonts.added()[added];
    let blank = blank.filter(|_| is_rtl);
    let mut buffer = Buffer::new();
    buffer.push_str(text);
    buffer.guess_segment_properties();
    buffer.set_direction(if is_rtl { Direction::RightToLeft } else { Direction::LeftToRight });
    buffer.set_cluster_level(ClusterLevel::MonotoneCharacters);
    buffer.set_flags(BufferFlags::REMOVE_DEFAULT_IGNORABLES);
    if harfrust::shape(&ShaperFont::new(font), &mut buffer, ShapeOptions::new()).is_err() {
        return Vec::new();
    }
    let em = i64::from(font.units_per_em()).max(1);
    let thousandths = |units: i32| {
        let scaled = i64::from(units) * 1000;
        i32::try_from((scaled + scaled.signum() * em / 2) / em).unwrap_or(0)
    };
    let starts: Vec<usize> = buffer.glyph_infos().iter().map(|info| info.cluster as usize).collect();
    let texts = texts(text, &starts, is_rtl);
    let shaped = buffer.glyph_infos().iter().zip(buffer.glyph_positions()).zip(starts.iter().zip(texts));
    shaped
        .map(|((info, position), (&start, text))| {
            let shaped = Shaped {
                slice: (SLICES + added) as u8,
                glyph: info.glyph_id as u16,
                advance: thousandths(position.x_advance),
                offset: [thousandths(position.x_offset), thousandths(position.y_offset)],
                text,
            };
            (start, shaped)
        })
        .flat_map(|(start, shaped)| spelt(shaped, blank).into_iter().map(move |shaped| (start, shaped)))
        .collect()
}

/// A glyph of several letters, read from right to left, as one glyph for each: readers turn what runs from right to left
/// round glyph by glyph, some of them the letters of a glyph as well. The glyph has the last letter, and blanks above its
/// right end have those before it.
fn spelt(shaped: Shaped, blank: Option<u16>) -> Vec<Shaped> {
    let mut letters: Vec<char> = shaped.text.chars().collect();
    let (Some(blank), Some(last)) = (blank.filter(|_| letters.len() > 1), letters.pop()) else {
        return vec![shaped];
    };
    let blanks = letters.iter().enumerate().rev().map(|(at, letter)| Shaped {
        glyph: blank,
        advance: 0,
        offset: [BLANK_STEP * (at as i32 + 1), 0],
        text: letter.to_string(),
        ..shaped
    });
    let blanks: Vec<Shaped> = blanks.collect();
    [vec![Shaped { text: last.to_string(), ..shaped }], blanks].concat()
}

/// How far a blank stands from the next letter, in thousandths of an em.
const BLANK_STEP: i32 = -150;

/// What each glyph stands for: the characters from its start to the next, given out in reading order where several glyphs
/// share a start.
fn texts(text: &str, starts: &[usize], is_rtl: bool) -> Vec<String> {
    let mut ends: Vec<usize> = starts.to_vec();
    ends.push(text.len());
    ends.sort_unstable();
    let mut texts = vec![String::new(); starts.len()];
    let mut order: Vec<usize> = (0..starts.len()).collect();
    if is_rtl {
        order.reverse();
    }
    for at in 0..order.len() {
        let start = starts[order[at]];
        let before = order[..at].iter().filter(|&&one| starts[one] == start).count();
        let after = order[at + 1..].iter().filter(|&&one| starts[one] == start).count();
        let end = ends.iter().copied().find(|&end| end > start).unwrap_or(text.len());
        // What stands before the first glyph, a joiner that was left out, goes to it.
        let begin = if Some(&start) == ends.first() { 0 } else { start };
        let mut characters = text[begin..end].chars().skip(before);
        texts[order[at]] = if after == 0 { characters.collect() } else { characters.next().into_iter().collect() };
    }
    texts
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shaped(text: &str) -> Shaped {
        Shaped { slice: 9, glyph: 7, advance: 600, offset: [0, 20], text: text.into() }
    }

    #[test]
    fn each_glyph_stands_for_what_begins_at_it() {
        // One glyph a letter; a ligature of two; a letter of two glyphs, the second of which says the mark.
        assert_eq!(texts("abc", &[0, 1, 2], false), ["a", "b", "c"]);
        assert_eq!(texts("abc", &[0, 2], false), ["ab", "c"]);
        assert_eq!(texts("कि", &[0, 0], false), ["क", "ि"]);
        assert_eq!(texts("ab", &[0, 0, 1], false), ["a", "", "b"]);
    }

    #[test]
    fn from_right_to_left_reading_begins_at_the_last_glyph() {
        assert_eq!(texts("אבג", &[4, 2, 0], true), ["ג", "ב", "א"]);
        assert_eq!(texts("אבג", &[4, 0, 0], true), ["ג", "ב", "א"]);
        assert_eq!(texts("אבג", &[4, 0], true), ["ג", "אב"]);
    }

    #[test]
    fn letters_of_a_ligature_are_read_one_by_one_where_the_font_has_a_blank() {
        let spelt = spelt(shaped("لا"), Some(3));
        let said: Vec<_> = spelt.iter().map(|one| (one.glyph, one.text.as_str(), one.advance, one.offset)).collect();
        assert_eq!(said, [(7, "ا", 600, [0, 20]), (3, "ل", 0, [BLANK_STEP, 0])]);
        assert_eq!(super::spelt(shaped("لا"), None), [shaped("لا")]);
        assert_eq!(super::spelt(shaped("ل"), Some(3)), [shaped("ل")]);
    }
}
