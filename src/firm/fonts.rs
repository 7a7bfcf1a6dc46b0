//! Fonts that the firm adds for scripts which the bundled ones lack: read once a run, checked, refused when a document may
//! not carry them.

use crate::problem::Problem;
use crate::source::Folder;
use crate::yaml::{At, Text};
use harfrust::Font;
use harfrust::font::{Blob, Format, Source};
use read_fonts::TableProvider;
use read_fonts::types::NameId;
use std::collections::BTreeMap;
use std::fmt;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

/// Largest font file in bytes.
///
/// Source: our own choice: collections for Chinese, Japanese and Korean take about 20 MB.
const MAX_FONT_BYTES: u64 = 64_000_000;

/// Most fonts that a firm adds.
///
/// Source: our own choice: a regular and a bold face for each of a dozen scripts.
const MAX_FONTS: usize = 24;

/// A face that the firm adds.
#[derive(Clone)]
pub struct AddedFont {
    /// Name of the file relative to the visit's folder.
    pub name: String,
    /// Family name, as the font has it.
    pub family: String,
    /// Name of the face for a PDF: ASCII letters, digits and hyphens.
    pub post_script: String,
    /// Weight, 400 for regular, 700 for bold.
    pub weight: u16,
    /// Number of the face in a collection, else 0.
    pub index: u32,
    /// The face as read; it shares the bytes of its file.
    pub font: Font,
}

impl PartialEq for AddedFont {
    fn eq(&self, other: &AddedFont) -> bool {
        (&self.name, self.index, self.bytes()) == (&other.name, other.index, other.bytes())
    }
}

impl fmt::Debug for AddedFont {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "AddedFont({}, face {}, {} {})", self.name, self.index, self.family, self.weight)
    }
}

impl AddedFont {
    /// The bytes of the file.
    pub fn bytes(&self) -> &[u8] {
        match self.font.source() {
            Source::Blob(blob) => blob,
            Source::TableFunction(_) => &[],
        }
    }

    /// Number of a character's glyph; none when the face lacks it.
    pub fn glyph(&self, character: char) -> Option<u16> {
        let glyph = self.font.charmap().map_unicode(character)?;
        u16::try_from(glyph.to_u32()).ok().filter(|&glyph| glyph != 0)
    }
}

/// Why a file does not serve as a font.
#[derive(Debug, Clone)]
struct Refusal {
    code: &'static str,
    what: String,
    why: &'static str,
    fix: String,
}

/// Reads the list of added fonts in the firm file `file`.
pub(super) fn read(at: &At<'_>, folder: &Folder, file: &str) -> Vec<AddedFont> {
    let Some(listed) = at.list("fonts like [fonts/Name-Regular.ttf, fonts/Name-Bold.ttf]") else {
        return Vec::new();
    };
    if listed.len() > MAX_FONTS {
        at.tell(Problem::error(
            "fonts-too-many",
            &at.place(),
            format!("found {} fonts", listed.len()),
            format!("at most {MAX_FONTS} are read: every text is looked up in each"),
            "keep those whose scripts occur in names and remarks",
        ));
        return Vec::new();
    }
    listed.iter().filter_map(|entry| face(entry, folder, file)).collect()
}

/// One font: a path, or `{file, face}` for one face of a collection.
fn face(at: &At<'_>, folder: &Folder, file: &str) -> Option<AddedFont> {
    if !at.is_mapping() {
        return opened(at, &at.text()?, None, folder, file);
    }
    let mut keys = at.keys("a font like {file: fonts/Name.ttc, face: Name SC}")?;
    let path = keys.need("file", "a font is read from a file").and_then(|at| at.text());
    let named = keys.get("face").and_then(|at| at.name());
    keys.finish();
    opened(at, &path?, named.as_ref(), folder, file)
}

fn opened(at: &At<'_>, path: &Text, named: Option<&Text>, folder: &Folder, file: &str) -> Option<AddedFont> {
    let (name, blob) = match shared(path, folder, file) {
        Ok(read) => read,
        Err(problem) => {
            at.tell(problem);
            return None;
        }
    };
    let chosen = index(&blob, named.map(|text| text.text.as_str())).and_then(|index| checked(&name, blob, index));
    match chosen {
        Ok(font) => Some(font),
        Err(Refusal { code, what, why, fix }) => {
            let place = named.filter(|_| code == "font-face-unknown").map_or(&path.place, |named| &named.place);
            at.tell(Problem::error(code, place, format!("{what} in `{}`", path.text), why, fix));
            None
        }
    }
}

/// Font files read in this run, by place, length and time of change: one takes up to 20 MB and every visit names it.
static READ: Mutex<BTreeMap<(PathBuf, u64, Option<SystemTime>), Blob>> = Mutex::new(BTreeMap::new());

/// Font files kept at most; beyond, all are let go, so that memory does not grow with a batch.
const MOST_FILES: usize = MAX_FONTS;

/// The file's name and bytes.
fn shared(path: &Text, folder: &Folder, file: &str) -> Result<(String, Blob), Problem> {
    let (name, full) = folder.find(file, &path.text, &path.place)?;
    let about = full.metadata().ok();
    let key = (
        full,
        about.as_ref().map_or(0, std::fs::Metadata::len),
        about.as_ref().and_then(|about| about.modified().ok()),
    );
    if let Some(blob) = READ.lock().unwrap_or_else(PoisonError::into_inner).get(&key) {
        return Ok((name, blob.clone()));
    }
    let source = folder.read_up_to(file, &path.text, MAX_FONT_BYTES, &path.place)?;
    let bytes: Arc<dyn AsRef<[u8]> + Send + Sync> = Arc::new(source.bytes);
    let blob = Blob::from(bytes);
    let mut read = READ.lock().unwrap_or_else(PoisonError::into_inner);
    if read.len() >= MOST_FILES {
        read.clear();
    }
    read.insert(key, blob.clone());
    Ok((name, blob))
}

/// Number of the face of that name in a collection; the first where none is named.
fn index(blob: &Blob, named: Option<&str>) -> Result<u32, Refusal> {
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
fn checked(name: &str, blob: Blob, index: u32) -> Result<AddedFont, Refusal> {
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
        font,
    };
    // What every document will do with it is tried once: a file that breaks off is found here and not on a page.
    let last = u16::try_from(added.font.num_glyphs().saturating_sub(1)).unwrap_or(u16::MAX);
    let tried = subsetter::GlyphRemapper::new_from_glyphs(&[last]);
    subsetter::subset(added.bytes(), index, &tried).map_err(|_| damaged())?;
    Ok(added)
}

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
