//! A face of a font file: chosen from a collection, checked, refused when a document cannot or may not carry it.

use super::AddedFont;
use harfrust::Font;
use harfrust::font::{Blob, Format};
use read_fonts::TableProvider;
use read_fonts::types::NameId;
use std::ops::RangeInclusive;

/// Why a file does not serve as a font.
#[derive(Debug, Clone)]
pub struct Refusal {
    /// Code of the problem.
    pub code: &'static str,
    /// What was found.
    pub what: String,
    /// Why it does not serve.
    pub why: &'static str,
    /// What to do.
    pub fix: String,
}

/// Number of the face of that name in a collection; the first where none is named.
pub fn index(blob: &Blob, named: Option<&str>) -> Result<u32, Refusal> {
    let count = Format::new(blob).filter(|format| format.is_sfnt()).map(|f| f.num_fonts());
    let Some(count) = count else {
        let packed = blob.starts_with(b"wOFF") || blob.starts_with(b"wOF2");
        return Err(Refusal {
            code: "font-kind",
            what: if packed { "found a web font (WOFF)".to_owned() } else { "found no font".to_owned() },
            why: "a font is read from a TrueType or OpenType file (.ttf, .otf) or a collection of them (.ttc, .otc)",
            fix: "name the file that the font is installed from".to_owned(),
        });
    };
    let Some(named) = named else {
        return Ok(0);
    };
    let families: Vec<String> =
        (0..count).filter_map(|index| Font::new(blob.clone(), index)).map(|font| family(&font)).collect();
    let found = families.iter().position(|family| family == named);
    found.and_then(|at| u32::try_from(at).ok()).ok_or_else(|| Refusal {
        code: "font-face-unknown",
        what: format!("found no face «{named}»"),
        why: "the face of a collection is chosen by its family name",
        fix: format!("write one of: {}", families.join(", ")),
    })
}

/// The face, when a document can and may carry it.
pub fn checked(name: &str, blob: Blob, index: u32) -> Result<AddedFont, Refusal> {
    let font = Font::new(blob, index).filter(drawable).ok_or_else(damaged)?;
    if font.tables().cff2().is_ok() && font.tables().glyf().is_err() {
        return Err(Refusal {
            code: "font-kind",
            what: "found a variable font with CFF2 outlines".to_owned(),
            why: "its outlines cannot be put into a PDF as they are",
            fix: "name a static file of the font (Regular, Bold), or its TrueType version".to_owned(),
        });
    }
    licensed(&font)?;
    let weight = font.tables().os2().map_or(400, |table| table.us_weight_class());
    let added = AddedFont {
        name: name.to_owned(),
        family: family(&font),
        post_script: post_script(&font),
        weight,
        index,
        blank: blank(&font),
        font,
    };
    // What every document will do with it is tried once: a file that breaks off is found here and not on a page.
    let last = u16::try_from(added.font.num_glyphs().saturating_sub(1)).unwrap_or(u16::MAX);
    let tried = subsetter::GlyphRemapper::new_from_glyphs(&[last]);
    subsetter::subset(added.bytes(), index, &tried).map_err(|_| damaged())?;
    Ok(added)
}

/// The glyph of the space, when it has no outline and an ordinary width.
fn blank(font: &Font) -> Option<u16> {
    let (glyf, loca) = (font.tables().glyf().ok()?, font.tables().loca(None).ok()?);
    let space = font.charmap().map_unicode(' ')?;
    let width = font.glyph_metrics().h_advance(space) / f32::from(font.units_per_em());
    let is_blank = BLANK_WIDTHS.contains(&width) && matches!(loca.get_glyf(space, &glyf), Ok(None));
    u16::try_from(space.to_u32()).ok().filter(|&glyph| is_blank && glyph != 0)
}

/// Widths in em of a blank that readers take for a letter of the word it stands in, 0.15 em before the next one: they
/// divide words at gaps of 0.1 em and at overlaps of 0.2 em.
///
/// Source: found by trial with poppler 22.12.
const BLANK_WIDTHS: RangeInclusive<f32> = 0.06..=0.34;

/// Whether the tables that every face needs are there.
fn drawable(font: &Font) -> bool {
    let tables = font.tables();
    let outlines = tables.glyf().is_ok() || tables.cff().is_ok() || tables.cff2().is_ok();
    let measures = tables.head().is_ok() && tables.hhea().is_ok() && tables.hmtx().is_ok() && tables.maxp().is_ok();
    outlines && measures && font.charmap().has_unicode() && (1..=u32::from(u16::MAX)).contains(&font.num_glyphs())
}

fn damaged() -> Refusal {
    Refusal {
        code: "font-damaged",
        what: "found a font without outlines, measures or characters".to_owned(),
        why: "a name must never be printed with gaps",
        fix: "get the file anew, or name another font".to_owned(),
    }
}

/// Whether a part of the font may travel in a document: bits 1, 8 and 9 of `fsType` forbid it, to embed at all, to embed a
/// part of the glyphs, to embed outlines. The least restrictive of bits 1 to 3 holds.
///
/// Source: ISO/IEC 14496-22:2019 (Open Font Format), OS/2 table, fsType.
fn licensed(font: &Font) -> Result<(), Refusal> {
    let kind = font.tables().os2().map_or(0, |table| table.fs_type());
    let what = match kind {
        _ if kind & 0x000e == 0x0002 => "its maker forbids embedding (fsType bit 1)",
        _ if kind & 0x0100 != 0 => "its maker forbids embedding a part of it (fsType bit 8)",
        _ if kind & 0x0200 != 0 => "its maker allows pictures of its letters only (fsType bit 9)",
        _ => return Ok(()),
    };
    Err(Refusal {
        code: "font-licence",
        what: format!("found a font that may not be put into documents: {what}"),
        why: "a certificate carries the letters of its fonts, so that it reads the same in ten years",
        fix: "use a font that allows it, like those under the SIL Open Font License, or get the licence from its maker"
            .to_owned(),
    })
}

/// The typographic family name, else the family name.
fn family(font: &Font) -> String {
    let names = font.names();
    let name = |id| names.get(id).and_then(|name| name.english_or_first()).map(|name| name.name().to_string());
    name(NameId::TYPOGRAPHIC_FAMILY_NAME).or_else(|| name(NameId::FAMILY_NAME)).unwrap_or_default()
}

/// The PostScript name with what may stand in a PDF's name.
fn post_script(font: &Font) -> String {
    let name = font.names().get(NameId::POSTSCRIPT_NAME).and_then(|name| name.english_or_first());
    let name = name.map_or_else(|| family(font), |name| name.name().to_string());
    let plain: String = name.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').take(63).collect();
    if plain.is_empty() { "Added".to_owned() } else { plain }
}
