//! Added fonts in a document: the glyphs it uses, cut out of the font, with what they stand for.
//!
//! Comes in: shaped glyphs. Goes out: their codes, then the font's objects. Next: [`super::finish`].
//!
//! Source: ISO 32000-1:2008, 9.7 (composite fonts), 9.8 (descriptors), 9.10.3 (ToUnicode); ISO 19005-3:2012, 6.2.11.

use super::compress::compress;
use crate::firm::AddedFont;
use crate::paint::fonts::Fonts;
use crate::paint::shaping::Shaped;
use lopdf::{Dictionary, Object, ObjectId, Stream, dictionary};
use read_fonts::TableProvider;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use subsetter::GlyphRemapper;

/// What a document uses of an added font.
#[derive(Debug, Default)]
pub struct Cut {
    /// Glyph and what it stands for, for each code from 1.
    used: Vec<(u16, String)>,
    codes: HashMap<(u16, String), u16>,
    /// Codes of a font whose codes are its glyphs, whatever they stand for.
    of_glyphs: HashMap<u16, u16>,
}

/// A glyph with a joiner or a part of a letter, and nothing to say of its own, stands for a zero-width space: every glyph
/// must stand for something.
const NOTHING: &str = "\u{200b}";

impl Cut {
    /// The code of a glyph, and whether a reader of the code reads what the glyph stands for here.
    ///
    /// TrueType: one code for each meaning, as the codes lead to the glyphs through a map. CFF: the codes are the glyphs,
    /// and the first meaning holds.
    pub fn code(&mut self, font: &AddedFont, shaped: &Shaped) -> (u16, bool) {
        let text = if shaped.text.is_empty() { NOTHING } else { &shaped.text };
        let key = (shaped.glyph, text.to_owned());
        let says_it = !shaped.text.is_empty();
        if let Some(&code) = self.codes.get(&key) {
            return (code, says_it);
        }
        if let (true, Some(&code)) = (is_cff(font), self.of_glyphs.get(&shaped.glyph)) {
            return (code, false);
        }
        self.used.push(key.clone());
        let code = self.used.len() as u16;
        self.codes.insert(key, code);
        self.of_glyphs.insert(shaped.glyph, code);
        (code, says_it)
    }

    /// Whether nothing of the font is used.
    fn is_empty(&self) -> bool {
        self.used.is_empty()
    }

    /// Puts the font into a document.
    fn put(&self, objects: &mut lopdf::Document, font: &AddedFont) -> ObjectId {
        let mut remapper = GlyphRemapper::new();
        let glyphs: Vec<u16> = self.used.iter().map(|(glyph, _)| remapper.remap(*glyph)).collect();
        let file = subsetter::subset(font.bytes(), font.index, &remapper)
            .expect("a subset of the font was made when the firm file was checked");
        let name = format!("{}+{}", tag(&file), font.post_script);
        let deflated = |dictionary: Dictionary, bytes: &[u8]| {
            let mut stream = Stream::new(dictionary, compress(bytes));
            stream.dict.set("Filter", "FlateDecode");
            stream
        };
        let mut descriptor = descriptor(font, &name);
        let mut descendant = dictionary! {
            "Type" => "Font",
            "BaseFont" => Object::Name(name.clone().into_bytes()),
            "CIDSystemInfo" => dictionary! {
                "Registry" => Object::string_literal("Adobe"),
                "Ordering" => Object::string_literal("Identity"),
                "Supplement" => 0,
            },
            "DW" => 1000,
            "W" => vec![0.into(), Object::Array(self.widths(font))],
        };
        if is_cff(font) {
            let stream = deflated(dictionary! { "Subtype" => "CIDFontType0C" }, table(&file, b"CFF "));
            descriptor.set("FontFile3", objects.add_object(stream));
            descendant.set("Subtype", "CIDFontType0");
        } else {
            let stream = deflated(dictionary! { "Length1" => file.len() as i64 }, &file);
            descriptor.set("FontFile2", objects.add_object(stream));
            descendant.set("Subtype", "CIDFontType2");
            let is_identity = glyphs.iter().zip(1..).all(|(&glyph, code)| glyph == code);
            descendant.set(
                "CIDToGIDMap",
                match is_identity {
                    true => "Identity".into(),
                    false => {
                        let map: Vec<u8> =
                            [0].iter().chain(&glyphs).flat_map(|glyph: &u16| glyph.to_be_bytes()).collect();
                        Object::Reference(objects.add_object(deflated(Dictionary::new(), &map)))
                    }
                },
            );
        }
        descendant.set("FontDescriptor", objects.add_object(descriptor));
        let descendant = objects.add_object(descendant);
        let to_unicode = objects.add_object(deflated(Dictionary::new(), self.to_unicode().as_bytes()));
        objects.add_object(dictionary! {
            "Type" => "Font",
            "Subtype" => "Type0",
            "BaseFont" => Object::Name(name.into_bytes()),
            "Encoding" => "Identity-H",
            "DescendantFonts" => vec![descendant.into()],
            "ToUnicode" => to_unicode,
        })
    }

    /// Widths of the codes from 0, in thousandths of an em.
    fn widths(&self, font: &AddedFont) -> Vec<Object> {
        let glyphs = [0].into_iter().chain(self.used.iter().map(|(glyph, _)| *glyph));
        glyphs.map(|glyph| Object::from(i64::from(width(font, glyph)))).collect()
    }

    /// What each code stands for, as a CMap.
    fn to_unicode(&self) -> String {
        let mut cmap = String::from(
            "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CIDSystemInfo\n\
             <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n\
             1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n",
        );
        let lines: Vec<String> =
            (self.used.iter().zip(1..)).map(|((_, text), code)| format!("<{code:04X}> <{}>\n", utf_16(text))).collect();
        // At most a hundred entries a block.
        for block in lines.chunks(100) {
            cmap.push_str(&format!("{} beginbfchar\n{}endbfchar\n", block.len(), block.concat()));
        }
        cmap.push_str("endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n");
        cmap
    }
}

/// Name of an added font in the resources of the pages.
pub fn resource(number: usize) -> String {
    format!("A{number}")
}

/// Puts what is used of the added fonts into the document and into the resources of its pages.
pub fn put(objects: &mut lopdf::Document, fonts: &Fonts, cuts: &[Cut]) {
    let used = cuts.iter().zip(fonts.added()).enumerate().filter(|(_, (cut, _))| !cut.is_empty());
    let put: Vec<(String, ObjectId)> =
        used.map(|(number, (cut, font))| (resource(number), cut.put(objects, font))).collect();
    if put.is_empty() {
        return;
    }
    for page in objects.get_pages().into_values().collect::<Vec<_>>() {
        let resources = objects.get_dictionary(page).and_then(|page| page.get(b"Resources")?.as_reference());
        let Some(resources) = resources.ok().and_then(|id| objects.get_dictionary_mut(id).ok()) else {
            continue;
        };
        let fonts = match resources.get(b"Font") {
            Ok(Object::Reference(id)) => Some(*id),
            Ok(_) | Err(_) => None,
        };
        let fonts = match fonts {
            Some(id) => objects.get_dictionary_mut(id),
            None => resources.get_mut(b"Font").and_then(Object::as_dict_mut),
        };
        if let Ok(fonts) = fonts {
            put.iter().for_each(|(name, id)| fonts.set(name.as_bytes().to_vec(), *id));
        }
    }
}

/// A text in UTF-16, big end first, as hexadecimal digits.
pub fn utf_16(text: &str) -> String {
    text.encode_utf16().map(|unit| format!("{unit:04X}")).collect()
}

/// Width of a glyph in thousandths of an em, as the font's own table has it.
pub fn width(font: &AddedFont, glyph: u16) -> i32 {
    let advance = font.font.glyph_metrics().h_advance(glyph.into());
    (f64::from(advance) * 1000.0 / f64::from(font.font.units_per_em())).round() as i32
}

fn is_cff(font: &AddedFont) -> bool {
    font.font.tables().glyf().is_err()
}

fn descriptor(font: &AddedFont, name: &str) -> Dictionary {
    let metrics = font.font.metrics();
    let em = f64::from(metrics.units_per_em);
    let thousandths = |units: f64| Object::from((units * 1000.0 / em).round() as i64);
    let bounds = &metrics.bounds;
    let bounds = [bounds.x_min, bounds.y_min, bounds.x_max, bounds.y_max].map(|side| thousandths(side.to_f64()));
    let line = metrics.h_line();
    let (ascent, descent) = line
        .map_or((em * 0.8, em * -0.2), |line| (line.extents().ascender.to_f64(), line.extents().descender.to_f64()));
    let capitals = metrics.cap_height.map_or(ascent, |height| height.to_f64());
    dictionary! {
        "Type" => "FontDescriptor",
        "FontName" => Object::Name(name.as_bytes().to_vec()),
        // Symbolic: its characters are not those of the standard Latin set.
        "Flags" => 4,
        "FontBBox" => bounds.to_vec(),
        "ItalicAngle" => 0,
        "Ascent" => thousandths(ascent),
        "Descent" => thousandths(descent),
        "CapHeight" => thousandths(capitals),
        // Thickness of a stem for substitutes, which an embedded font never needs.
        "StemV" => 80,
    }
}

/// A table of a font file that was just cut.
fn table<'f>(file: &'f [u8], tag: &[u8; 4]) -> &'f [u8] {
    let number = |at: usize| {
        let bytes = file.get(at..at + 4).and_then(|bytes| bytes.try_into().ok()).unwrap_or_default();
        u32::from_be_bytes(bytes) as usize
    };
    let records = (12..file.len()).step_by(16).take(64);
    let record = records.into_iter().find(|&at| file.get(at..at + 4) == Some(tag));
    record.and_then(|at| file.get(number(at + 8)..number(at + 8) + number(at + 12))).unwrap_or_default()
}

/// The six letters that name a subset, from its bytes.
fn tag(file: &[u8]) -> String {
    Sha256::digest(file).iter().take(6).map(|byte| char::from(b'A' + byte % 26)).collect()
}
