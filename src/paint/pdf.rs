//! A document as PDF.
//!
//! Comes in: a [`Paintable`] and a [`Press`]. Goes out: the bytes of the file. Next: [`crate::issue`], which writes them.
//!
//! ```text
//! blocks ─slabs─▶ pages ─content─▶ streams and pieces ─structure─▶ tree ─┐
//!                                                       printpdf's objects ─┴─finish─▶ objects ─file─▶ bytes
//! ```

mod added;
mod attachments;
mod blocks;
mod compress;
mod content;
mod elements;
mod file;
mod finish;
mod flow;
mod logo;
mod metadata;
mod operators;
mod page;
mod slab;
mod srgb;
mod structure;
mod syntax;
mod table;
mod tags;
mod widths;

use crate::document::Document;
use crate::firm::Logo;
use crate::paint::fonts::{SLICES, Slice, bundled};
use crate::paint::texts::Paintable;
use content::{Content, Used};
use finish::Drawings;
pub use logo::{LogoFault, Prepared};
use printpdf::{
    FontId, Mm, Op, ParsedFont, PdfDocument, PdfFont, PdfFontHandle, PdfPage, PdfSaveOptions, Pt, TextItem,
};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use structure::Structure;

/// What is prepared once and shared by all threads: compressed font files and logos.
#[derive(Debug, Default)]
pub struct Press {
    font_files: [OnceLock<FontFile>; SLICES],
    compressed: Mutex<BTreeMap<Vec<u8>, Arc<[u8]>>>,
    logos: Mutex<Vec<KnownLogo>>,
}

/// A logo with what came of it.
type KnownLogo = (Logo, Result<Arc<Prepared>, LogoFault>);

impl Press {
    /// An empty press; things are prepared when they are first used.
    pub fn new() -> Press {
        Press::default()
    }

    /// Prepares a logo, once for the same bytes.
    ///
    /// # Errors
    /// [`LogoFault`] when it cannot be used. [`paint`] leaves such a logo out, so look here first.
    pub fn prepare(&self, logo: &Logo) -> Result<(), LogoFault> {
        self.logo(logo).map(|_| ())
    }

    fn logo(&self, logo: &Logo) -> Result<Arc<Prepared>, LogoFault> {
        let mut logos = self.logos.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, prepared)) =
            logos.iter().find(|(known, _)| known.kind == logo.kind && known.bytes == logo.bytes)
        {
            return prepared.clone();
        }
        let prepared = logo::prepare(logo).map(Arc::new);
        logos.push((logo.clone(), prepared.clone()));
        prepared
    }

    /// Bytes that many documents carry, compressed once.
    fn compressed(&self, bytes: &[u8]) -> Arc<[u8]> {
        let mut known = self.compressed.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(compressed) = known.get(bytes) {
            return Arc::clone(compressed);
        }
        let compressed: Arc<[u8]> = compress::compress_best(bytes).into();
        known.insert(bytes.to_vec(), Arc::clone(&compressed));
        compressed
    }

    fn font_file(&self, slice: usize) -> &FontFile {
        self.font_files[slice].get_or_init(|| FontFile::of(&bundled().slices[slice]))
    }
}

/// A bundled slice as documents carry it.
#[derive(Debug)]
struct FontFile {
    /// Its bytes, compressed.
    compressed: Vec<u8>,
    /// How many there are before compression.
    length: usize,
}

impl FontFile {
    /// All glyphs under their own numbers, without the tables that a PDF does not need (characters, OS/2).
    fn of(slice: &Slice) -> FontFile {
        let glyphs: Vec<u16> = slice.parsed.glyph_widths.keys().copied().collect();
        let remapper = subsetter::GlyphRemapper::new_from_glyphs(&glyphs);
        let lean = subsetter::subset(slice.bytes, 0, &remapper).expect("the bundled fonts are read by a test");
        FontFile { compressed: compress::compress_best(&lean), length: lean.len() }
    }
}

/// Paints a document: the same document gives the same bytes.
pub fn paint(paintable: &Paintable, press: &Press) -> Vec<u8> {
    let logo = (paintable.document().brand.logo.as_ref()).and_then(|logo| press.logo(logo).ok());
    paint_with(paintable, press, logo.as_deref())
}

/// The same with a logo that was made ready elsewhere, whatever the document's brand has.
pub fn paint_with(paintable: &Paintable, press: &Press, logo: Option<&Prepared>) -> Vec<u8> {
    let (document, fonts) = (paintable.document(), paintable.fonts());
    let pages = page::lay_out(document, fonts, logo.map(|logo| logo.size));
    let [_, height] = page::paper_size(document.paper);
    let mut used = Used::of(fonts);
    let mut pieces = Vec::new();
    let content = |(page, at)| Content::new(at, height, document.accent, fonts, &mut used, &mut pieces).of(page);
    let contents: Vec<Vec<u8>> = pages.iter().zip(0..).map(content).collect();
    let mut objects = objects(document, contents.len(), &used);
    added::put(&mut objects, fonts, &used.cuts);
    let structure = structure::structure(document, pieces);
    let hatching = used.hatched.map(|size| (content::hatching(size, document.accent), size));
    let drawings = Drawings { logo, hatching };
    finish::finish(objects, Painted { document, contents, structure, drawings }, press)
}

/// A document as it was painted.
struct Painted<'d> {
    document: &'d Document,
    contents: Vec<Vec<u8>>,
    structure: Structure<'d>,
    drawings: Drawings<'d>,
}

/// The objects of a document whose pages are still without content: printpdf makes pages, resources and fonts.
fn objects(document: &Document, pages: usize, used: &Used) -> lopdf::Document {
    let options = PdfSaveOptions { optimize: false, subset_fonts: false, secure: true, image_optimization: None };
    let [width, height] = page::paper_size(document.paper).map(|side| Mm::from(Pt(side as f32)));
    let mut printed = PdfDocument::new(&document.title);
    printed.resources.fonts.map = used_fonts(used);
    printed.pages = vec![PdfPage::new(width, height, Vec::new()); pages];
    if let Some(first) = printed.pages.first_mut() {
        first.ops = shown_once(used);
    }
    printed.to_lopdf_document(&options, &mut Vec::new())
}

/// Every character in use shown once: from this printpdf learns which fonts and characters it writes tables for.
fn shown_once(used: &Used) -> Vec<Op> {
    let mut texts: BTreeMap<u8, String> = BTreeMap::new();
    for &(slice, _, character) in &used.glyphs {
        texts.entry(slice).or_default().push(character);
    }
    let mut ops = vec![Op::StartTextSection];
    for (slice, text) in texts {
        let font = FontId(bundled().slices[usize::from(slice)].resource.to_string());
        ops.push(Op::SetFont { font: PdfFontHandle::External(font), size: Pt(1.0) });
        ops.push(Op::ShowText { items: vec![TextItem::Text(text)] });
    }
    ops.push(Op::EndTextSection);
    ops
}

/// The slices in use with the characters in use: metrics only, the files are put in at the end.
fn used_fonts(used: &Used) -> BTreeMap<FontId, PdfFont> {
    let mut fonts: BTreeMap<FontId, PdfFont> = BTreeMap::new();
    for &(slice, glyph, character) in &used.glyphs {
        let slice = &bundled().slices[usize::from(slice)];
        let font =
            fonts.entry(FontId(slice.resource.to_string())).or_insert_with(|| PdfFont::new(emptied(&slice.parsed)));
        let width = slice.parsed.get_glyph_width(glyph).unwrap_or(0);
        font.parsed_font.set_codepoint_mapping(character.into(), glyph);
        font.parsed_font.set_glyph_width(glyph, width);
    }
    fonts
}

/// A font's measures without any character.
fn emptied(font: &ParsedFont) -> ParsedFont {
    ParsedFont {
        original_bytes: Vec::new(),
        font_index: 0,
        font_name: font.font_name.clone(),
        codepoint_to_glyph: BTreeMap::new(),
        glyph_widths: BTreeMap::new(),
        units_per_em: font.units_per_em,
        font_metrics: font.font_metrics.clone(),
        font_type: font.font_type,
        pdf_font_metrics: font.pdf_font_metrics.clone(),
    }
}
