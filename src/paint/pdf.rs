//! A document as PDF.
//!
//! Comes in: a [`Document`] and a [`Press`]. Goes out: the bytes of the file. Next: [`crate::issue`], which writes them.
//!
//! ```text
//! blocks ─slabs─▶ pages ─operators─▶ printpdf's objects ─finish─▶ bytes
//! ```

mod blocks;
mod content;
mod finish;
mod flow;
mod logo;
mod page;
mod slab;
mod table;
mod widths;

use crate::document::Document;
use crate::firm::Logo;
use crate::paint::fonts::bundled;
use crate::paint::texts;
use content::Content;
pub use logo::LogoFault;
use logo::Prepared;
use printpdf::{FontId, Mm, ParsedFont, PdfDocument, PdfFont, PdfPage, PdfSaveOptions};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Compression of the font files, done once: the best.
const FONT_LEVEL: u8 = 10;

/// What is prepared once and shared by all threads: compressed font files and logos.
#[derive(Debug, Default)]
pub struct Press {
    font_files: [OnceLock<Vec<u8>>; 6],
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
        if let Some((_, prepared)) = logos
            .iter()
            .find(|(known, _)| known.kind == logo.kind && known.bytes == logo.bytes)
        {
            return prepared.clone();
        }
        let prepared = logo::prepare(logo).map(Arc::new);
        logos.push((logo.clone(), prepared.clone()));
        prepared
    }

    fn font_file(&self, slice: usize) -> &[u8] {
        self.font_files[slice]
            .get_or_init(|| finish::compress(bundled().slices[slice].bytes, FONT_LEVEL))
    }
}

/// Paints a document: the same document gives the same bytes.
///
/// Characters that [`crate::paint::missing_characters`] reports are written out as `[U+6F22]`.
pub fn paint(document: &Document, press: &Press) -> Vec<u8> {
    let document = texts::paintable_document(document);
    let logo = document
        .brand
        .logo
        .as_ref()
        .and_then(|logo| press.logo(logo).ok());
    let pages = page::lay_out(&document, logo.as_ref().map(|logo| logo.size));
    let [width, height] = page::paper_size(document.paper);
    let mut used = BTreeSet::new();
    let mut printed = PdfDocument::new(&document.title);
    for page in &pages {
        let mut content = Content::new(height, document.accent);
        content.page(page);
        used.append(&mut content.used);
        let (width, height) = (
            Mm::from(printpdf::Pt(width as f32)),
            Mm::from(printpdf::Pt(height as f32)),
        );
        printed.pages.push(PdfPage::new(width, height, content.ops));
    }
    printed.resources.fonts.map = used_fonts(&used);
    let options = PdfSaveOptions {
        optimize: false,
        subset_fonts: false,
        secure: false,
        image_optimization: None,
    };
    let objects = printed.to_lopdf_document(&options, &mut Vec::new());
    finish::finish(objects, &document, press, logo.as_deref())
}

/// The slices in use with the characters in use: metrics only, the files are put in at the end.
fn used_fonts(used: &BTreeSet<(u8, char)>) -> BTreeMap<FontId, PdfFont> {
    let mut fonts: BTreeMap<FontId, PdfFont> = BTreeMap::new();
    for &(slice, character) in used {
        let slice = &bundled().slices[usize::from(slice)];
        let font = fonts
            .entry(FontId(slice.resource.to_string()))
            .or_insert_with(|| PdfFont::new(emptied(&slice.parsed)));
        let id = slice
            .parsed
            .lookup_glyph_index(character as u32)
            .unwrap_or(0);
        font.parsed_font.set_codepoint_mapping(character as u32, id);
        font.parsed_font
            .set_glyph_width(id, slice.parsed.get_glyph_width(id).unwrap_or(0));
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
