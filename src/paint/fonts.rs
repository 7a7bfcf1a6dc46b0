//! The faces that documents are set in: which characters they have and how wide they are.
//!
//! Comes in: the font files under `fonts/`, and those that the firm adds. Goes out: [`Bundled`], [`Fonts`]. Next:
//! shaping and the painters, which measure and embed them.

use crate::firm::AddedFont;
use printpdf::ParsedFont;
use std::sync::LazyLock;

/// A face of the bundled family.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Face {
    /// Running text.
    Regular,
    /// Headings, leads, table heads.
    SemiBold,
}

/// A part of a face: the characters of one script.
#[derive(Debug)]
pub struct Slice {
    /// Its name in a PDF's resources.
    pub resource: &'static str,
    /// The font's own name.
    pub name: &'static str,
    /// The font file.
    pub bytes: &'static [u8],
    /// Its tables as read, without the file's bytes.
    pub parsed: ParsedFont,
}

/// A character in a face.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Glyph {
    /// Index into [`Bundled::slices`].
    pub slice: u8,
    /// Number in the slice's file.
    pub id: u16,
    /// Advance in thousandths of an em, rounded as a PDF's width table has it.
    pub advance: u16,
}

/// Height of capitals and figures in em.
///
/// Source: `fonts/HalfcellSans-Regular-latin.ttf`, table OS/2, sCapHeight 1490 at 2048 units per em; the same in all slices.
pub const CAPITAL_HEIGHT: f64 = 1490.0 / 2048.0;

/// The bundled faces, read once.
#[derive(Debug)]
pub struct Bundled {
    /// All slices: Regular, then SemiBold; Latin, Greek, Cyrillic, extended Latin.
    pub slices: Vec<Slice>,
    /// For each face its glyphs by code point.
    glyphs: [Vec<Option<Glyph>>; 2],
}

/// How many bundled slices there are.
pub const SLICES: usize = 8;

/// Face, resource name, font name and file of each slice; a character is taken from the first that has it.
const FILES: [(Face, &str, &str, &[u8]); SLICES] = [
    (Face::Regular, "RL", "HalfcellSans-Regular-latin", include_bytes!("../../fonts/HalfcellSans-Regular-latin.ttf")),
    (Face::Regular, "RG", "HalfcellSans-Regular-greek", include_bytes!("../../fonts/HalfcellSans-Regular-greek.ttf")),
    (
        Face::Regular,
        "RC",
        "HalfcellSans-Regular-cyrillic",
        include_bytes!("../../fonts/HalfcellSans-Regular-cyrillic.ttf"),
    ),
    (
        Face::Regular,
        "RX",
        "HalfcellSans-Regular-latin-extended",
        include_bytes!("../../fonts/HalfcellSans-Regular-latin-extended.ttf"),
    ),
    (
        Face::SemiBold,
        "BL",
        "HalfcellSans-SemiBold-latin",
        include_bytes!("../../fonts/HalfcellSans-SemiBold-latin.ttf"),
    ),
    (
        Face::SemiBold,
        "BG",
        "HalfcellSans-SemiBold-greek",
        include_bytes!("../../fonts/HalfcellSans-SemiBold-greek.ttf"),
    ),
    (
        Face::SemiBold,
        "BC",
        "HalfcellSans-SemiBold-cyrillic",
        include_bytes!("../../fonts/HalfcellSans-SemiBold-cyrillic.ttf"),
    ),
    (
        Face::SemiBold,
        "BX",
        "HalfcellSans-SemiBold-latin-extended",
        include_bytes!("../../fonts/HalfcellSans-SemiBold-latin-extended.ttf"),
    ),
];

static BUNDLED: LazyLock<Bundled> = LazyLock::new(read);

/// The bundled faces.
pub fn bundled() -> &'static Bundled {
    &BUNDLED
}

impl Bundled {
    /// The glyph of a character; none when the face lacks it.
    pub fn glyph(&self, face: Face, character: char) -> Option<Glyph> {
        self.glyphs[face as usize].get(character as usize).copied().flatten()
    }

    /// Whether both faces have a character.
    pub fn has(&self, character: char) -> bool {
        self.glyph(Face::Regular, character).is_some() && self.glyph(Face::SemiBold, character).is_some()
    }

    /// Width of a text in pt at `size` pt; characters that the face lacks count nothing.
    pub fn width(&self, face: Face, size: f64, text: &str) -> f64 {
        f64::from(self.thousandths(face, text)) * size / 1000.0
    }

    /// Width of a text in thousandths of an em.
    pub fn thousandths(&self, face: Face, text: &str) -> u32 {
        text.chars().filter_map(|c| self.glyph(face, c)).map(|glyph| u32::from(glyph.advance)).sum()
    }
}

/// The bundled faces, then those that the firm adds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Fonts {
    added: Vec<AddedFont>,
    /// Indices of the added fonts of each family, in the order in which families are first named; for each face the
    /// font whose weight is nearest stands first.
    families: Vec<[Vec<usize>; 2]>,
}

/// Weight that the added fonts of a family are chosen by, for each face.
const WEIGHTS: [u16; 2] = [400, 600];

impl Fonts {
    /// The bundled faces with what a firm adds.
    pub fn new(added: &[AddedFont]) -> Fonts {
        let mut families: Vec<(&str, Vec<usize>)> = Vec::new();
        for (at, font) in added.iter().enumerate() {
            match families.iter_mut().find(|(name, _)| *name == font.family) {
                Some((_, members)) => members.push(at),
                None => families.push((&font.family, vec![at])),
            }
        }
        let nearest = |members: &[usize], weight: u16| {
            let mut members = members.to_vec();
            members.sort_by_key(|&at| added[at].weight.abs_diff(weight));
            members
        };
        let families = families.iter().map(|(_, members)| WEIGHTS.map(|weight| nearest(members, weight)));
        Fonts { families: families.collect(), added: added.to_vec() }
    }

    /// The added fonts; number `n` is slice `SLICES + n`.
    pub fn added(&self) -> &[AddedFont] {
        &self.added
    }

    /// Whether the bundled faces have all of a text, so that it needs no shaping.
    pub fn is_plain(&self, text: &str) -> bool {
        self.added.is_empty() || text.is_ascii() || text.chars().all(|c| c == '\n' || bundled().has(c))
    }

    /// Whether a character can be printed in both faces. One that only joins or divides its neighbours needs no glyph.
    pub fn has(&self, character: char) -> bool {
        bundled().has(character)
            || self.added.iter().any(|font| font.glyph(character).is_some())
            || (!self.added.is_empty() && is_guide(character))
    }

    /// The first added font that has all of some characters that belong together.
    pub fn added_for(&self, face: Face, characters: &str) -> Option<usize> {
        let has = |at: usize, c: char| is_guide(c) || self.added[at].glyph(c).is_some();
        let mut fonts = self.families.iter().flat_map(|family| &family[face as usize]).copied();
        fonts.find(|&at| characters.chars().all(|c| has(at, c)))
    }
}

/// Characters that only tell how their neighbours look: zero-width joiner and non-joiner, variation selectors.
///
/// Source: The Unicode Standard 15.0, sections 23.2 and 23.4.
pub fn is_guide(character: char) -> bool {
    matches!(character, '\u{200c}' | '\u{200d}' | '\u{fe00}'..='\u{fe0f}' | '\u{e0100}'..='\u{e01ef}')
}

fn read() -> Bundled {
    let mut fonts = Bundled { slices: Vec::new(), glyphs: [Vec::new(), Vec::new()] };
    for (face, resource, name, bytes) in FILES {
        let mut parsed =
            ParsedFont::from_bytes(bytes, 0, &mut Vec::new()).expect("the bundled fonts are read by a test");
        parsed.original_bytes = Vec::new();
        parsed.font_name = Some(name.to_string());
        enter(&mut fonts.glyphs[face as usize], fonts.slices.len() as u8, &parsed);
        fonts.slices.push(Slice { resource, name, bytes, parsed });
    }
    fonts
}

/// Enters a slice's characters that no earlier slice has.
fn enter(glyphs: &mut Vec<Option<Glyph>>, slice: u8, parsed: &ParsedFont) {
    // A table of characters may end with one that stands for «no glyph», number 0.
    for (&point, &id) in parsed.codepoint_to_glyph.iter().filter(|(_, id)| **id != 0) {
        let at = point as usize;
        if glyphs.len() <= at {
            glyphs.resize(at + 1, None);
        }
        let width = u32::from(parsed.get_glyph_width(id).unwrap_or(0));
        let advance = (width * 1000 + u32::from(parsed.units_per_em) / 2) / u32::from(parsed.units_per_em);
        glyphs[at].get_or_insert(Glyph { slice, id, advance: advance as u16 });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_faces_have_the_signs_of_the_trade() {
        for character in "µμΩ°±−×≤≥≈√Δσ²³→·–—…«»“”’\u{a0}äßłőžΑωЯђ".chars()
        {
            assert!(bundled().has(character), "{character}");
        }
        assert!(!bundled().has('\u{ad}') && !bundled().has('漢'));
    }

    #[test]
    fn figures_and_signs_are_equally_wide() {
        for face in [Face::Regular, Face::SemiBold] {
            let one = bundled().thousandths(face, "0");
            assert!("123456789+−±".chars().all(|c| bundled().thousandths(face, &c.to_string()) == one));
        }
    }

    #[test]
    fn no_character_is_the_missing_glyph() {
        let glyphs = bundled().glyphs.iter().flatten().flatten();
        assert!(glyphs.clone().count() > 1400);
        assert!(glyphs.clone().all(|glyph| glyph.id != 0));
        assert!(!bundled().has('\u{ffff}'));
    }
}
