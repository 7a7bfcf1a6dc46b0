//! Lines of text in a content stream: runs in bundled slices character by character, shaped runs glyph by glyph.

use super::super::added::{self, Cut};
use super::super::flow::{Line, Run};
use super::Content;
use crate::document::Ink;
use crate::paint::fonts::{Fonts, Glyph, SLICES, bundled};
use crate::paint::shaping::Shaped;

/// The characters used in a document.
#[derive(Debug, Default)]
pub struct Used {
    /// Slice, glyph and character, each once, in the order of use.
    pub glyphs: Vec<(u8, u16, char)>,
    /// Width and height in pt of the largest hatched area; none: there is none.
    pub hatched: Option<[f64; 2]>,
    /// For each slice whether a glyph is among them.
    seen: [Vec<bool>; SLICES],
    /// What is used of each added font.
    pub cuts: Vec<Cut>,
}

impl Used {
    /// Nothing yet of any of the fonts.
    pub fn of(fonts: &Fonts) -> Used {
        Used { cuts: fonts.added().iter().map(|_| Cut::default()).collect(), ..Used::default() }
    }

    fn enter(&mut self, slice: u8, glyph: u16, character: char) {
        let seen = &mut self.seen[usize::from(slice)];
        let at = usize::from(glyph);
        if seen.len() <= at {
            seen.resize(at + 1, false);
        }
        if !std::mem::replace(&mut seen[at], true) {
            self.glyphs.push((slice, glyph, character));
        }
    }
}

impl Content<'_> {
    /// A line as one text object, so that it is read back as one line.
    pub(super) fn text(&mut self, at: [f64; 2], size: f64, ink: Ink, line: &Line) {
        self.fill(ink);
        self.operators.begin_text();
        let mut at = Some(self.up(at));
        let (mut pen, mut begin) = (0, 0);
        for run in &line.runs {
            if let Some(left) = run.left.map(i64::from).filter(|&left| left != pen) {
                self.step((left - begin) as f64 * size / 1000.0, &mut at);
                (pen, begin) = (left, left);
            }
            self.run(run, size, &mut at);
            pen += run.left.map_or(0, |_| i64::from(run.thousandths()));
        }
        if let (Some(last), true) = (line.runs.last(), line.goes_on) {
            self.run(&Run::plain(last.face, " "), size, &mut at);
        }
        self.operators.end_text();
    }

    /// Goes to the right, from where the last run that was put in its place began.
    fn step(&mut self, right: f64, at: &mut Option<[f64; 2]>) {
        match at {
            Some([x, _]) => *x += right,
            None => self.operators.text_at([right, 0.0]),
        }
    }

    /// Shows a run, its first glyph at `at` where that is not used up; one string for each stretch in one slice.
    fn run(&mut self, run: &Run, size: f64, at: &mut Option<[f64; 2]>) {
        if !run.glyphs.is_empty() {
            return self.shaped(run, size, at);
        }
        let mut shown = None;
        for character in run.text.chars() {
            let Some(glyph) = bundled().glyph(run.face, character) else {
                continue;
            };
            let (slice, glyph) = beside(shown, glyph, character);
            self.used.enter(slice, glyph, character);
            if shown.replace(slice) != Some(slice) {
                self.operators.end_show();
                if self.font.replace((slice, size)) != Some((slice, size)) {
                    self.operators.font(bundled().slices[usize::from(slice)].resource, size);
                }
                if let Some(at) = at.take() {
                    self.operators.text_at(at);
                }
                self.operators.begin_show();
            }
            self.operators.glyph(glyph);
        }
        self.operators.end_show();
    }

    /// Shows a run of an added font.
    fn shaped(&mut self, run: &Run, size: f64, at: &mut Option<[f64; 2]>) {
        let slice = run.glyphs[0].slice;
        let number = usize::from(slice) - SLICES;
        let font = &self.fonts.added()[number];
        let coded: Vec<(u16, bool)> = run.glyphs.iter().map(|glyph| self.used.cuts[number].code(font, glyph)).collect();
        if self.font.replace((slice, size)) != Some((slice, size)) {
            self.operators.font(&added::resource(number), size);
        }
        if let Some(at) = at.take() {
            self.operators.text_at(at);
        }
        // Poppler turns round what a stretch is said to be where it runs from right to left: there the glyphs say it.
        // Elsewhere a glyph that is moved would seem to begin a word.
        let is_moved = run.glyphs.iter().any(|glyph| glyph.offset != [0, 0]);
        let is_said = !run.is_rtl && (is_moved || coded.iter().any(|(_, says_it)| !says_it));
        if is_said {
            self.operators.begin_said(&added::utf_16(&run.text));
        }
        let mut right = 0;
        let mut rise = 0;
        let mut shown: Vec<(i32, u16)> = Vec::new();
        for (Shaped { glyph, advance, offset, .. }, (code, _)) in run.glyphs.iter().zip(coded) {
            if offset[1] != rise {
                self.show_moved(&mut shown, std::mem::take(&mut right));
                rise = offset[1];
                self.operators.rise(f64::from(rise) * size / 1000.0);
            }
            shown.push((right + offset[0], code));
            right = advance - offset[0] - added::width(font, *glyph);
        }
        self.show_moved(&mut shown, right);
        if rise != 0 {
            self.operators.rise(0.0);
        }
        if is_said {
            self.operators.end_marked();
        }
    }

    fn show_moved(&mut self, shown: &mut Vec<(i32, u16)>, right: i32) {
        if !shown.is_empty() || right != 0 {
            self.operators.show_moved(shown, right);
            shown.clear();
        }
    }
}

/// Slice and glyph of a character that follows one of slice `before`: a space stays with what is before it.
fn beside(before: Option<u8>, glyph: Glyph, character: char) -> (u8, u16) {
    let stays = |before: &u8| *before != glyph.slice && matches!(character, ' ' | '\u{a0}');
    let own = before.filter(stays).and_then(|before| {
        let parsed = &bundled().slices[usize::from(before)].parsed;
        parsed.lookup_glyph_index(character.into()).map(|own| (before, own))
    });
    own.unwrap_or((glyph.slice, glyph.id))
}
