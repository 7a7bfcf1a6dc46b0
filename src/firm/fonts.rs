//! Fonts that the firm adds for scripts which the bundled ones lack: read once a run, checked, refused when a document may
//! not carry them.

mod face;

use crate::problem::Problem;
use crate::source::Folder;
use crate::yaml::{At, Text};
use face::{Refusal, checked, index};
use harfrust::Font;
use harfrust::font::{Blob, Source};
use std::collections::BTreeMap;
use std::fmt;
use std::path::PathBuf;
use std::sync::{Mutex, PoisonError};
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
    /// The glyph of the space where it shows nothing: it can carry letters that a ligature leaves without a glyph. Only of
    /// faces with TrueType outlines, whose glyphs may stand for several texts.
    pub blank: Option<u16>,
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
    listed.iter().filter_map(|entry| one(entry, folder, file)).collect()
}

/// One font: a path, or `{file, face}` for one face of a collection.
fn one(at: &At<'_>, folder: &Folder, file: &str) -> Option<AddedFont> {
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
    match shared(path, named.map(|text| text.text.as_str()), folder, file) {
        Ok(Ok(font)) => Some(font),
        Ok(Err(Refusal { code, what, why, fix })) => {
            let place = named.filter(|_| code == "font-face-unknown").map_or(&path.place, |named| &named.place);
            at.tell(Problem::error(code, place, format!("{what} in `{}`", path.text), why, fix));
            None
        }
        Err(problem) => {
            at.tell(problem);
            None
        }
    }
}

/// A font file as it is known again: its place, length, time of change and the face that was asked for.
type Key = (PathBuf, u64, Option<SystemTime>, Option<String>);

/// Fonts read in this run: one takes up to 20 MB and every visit names it.
static READ: Mutex<BTreeMap<Key, Result<AddedFont, Refusal>>> = Mutex::new(BTreeMap::new());

/// The font, or why the file does not serve; as a problem, why it cannot be read.
fn shared(
    path: &Text,
    named: Option<&str>,
    folder: &Folder,
    file: &str,
) -> Result<Result<AddedFont, Refusal>, Problem> {
    let (name, full) = folder.find(file, &path.text, &path.place)?;
    let about = full.metadata().ok();
    let length = about.as_ref().map_or(0, std::fs::Metadata::len);
    let changed = about.and_then(|about| about.modified().ok());
    let key = (full, length, changed, named.map(str::to_owned));
    if let Some(known) = READ.lock().unwrap_or_else(PoisonError::into_inner).get(&key) {
        return Ok(known.clone().map(|font| AddedFont { name, ..font }));
    }
    let source = folder.read_up_to(file, &path.text, MAX_FONT_BYTES, &path.place)?;
    let blob = Blob::from(source.bytes);
    let font = index(&blob, named).and_then(|index| checked(&name, blob, index));
    let mut read = READ.lock().unwrap_or_else(PoisonError::into_inner);
    // Beyond the fonts of one firm all are let go, so that memory does not grow with a batch.
    if read.len() >= MAX_FONTS {
        read.clear();
    }
    read.insert(key, font.clone());
    Ok(font)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{error, read_in};
    use super::*;
    use crate::firm::tests::Told;

    const REGULAR: &[u8] = include_bytes!("../../fonts/HalfcellSans-Regular-greek.ttf");
    const BOLD: &[u8] = include_bytes!("../../fonts/HalfcellSans-SemiBold-greek.ttf");

    fn read_with(files: &[(&str, Vec<u8>)], text: &str) -> (Vec<AddedFont>, Vec<Told>) {
        let folder = tempfile::tempdir().expect("a folder");
        for (name, bytes) in files {
            std::fs::write(folder.path().join(name), bytes).expect("a file");
        }
        let (firm, told) = read_in(folder.path(), text);
        (firm.expect("a firm").fonts, told)
    }

    fn codes(told: &[Told]) -> Vec<(&'static str, u32, u32)> {
        told.iter().map(|told| (told.1, told.2, told.3)).collect()
    }

    /// The font with another `fsType`: the two bytes at 8 of its OS/2 table.
    fn licensed_as(kind: u16) -> Vec<u8> {
        let mut bytes = REGULAR.to_vec();
        let record = bytes.windows(4).position(|four| four == b"OS/2").expect("a table");
        let offset: [u8; 4] = bytes[record + 8..record + 12].try_into().expect("four bytes");
        let at = u32::from_be_bytes(offset) as usize + 8;
        bytes[at..at + 2].copy_from_slice(&kind.to_be_bytes());
        bytes
    }

    /// A collection of one font, with the offsets of its tables moved.
    fn collection() -> Vec<u8> {
        let mut bytes = [b"ttcf".as_slice(), &[0, 1, 0, 0, 0, 0, 0, 1, 0, 0, 0, 16], REGULAR].concat();
        let tables = usize::from(u16::from_be_bytes([REGULAR[4], REGULAR[5]]));
        for table in 0..tables {
            let at = 16 + 12 + 16 * table + 8;
            let offset = u32::from_be_bytes(bytes[at..at + 4].try_into().expect("four bytes")) + 16;
            bytes[at..at + 4].copy_from_slice(&offset.to_be_bytes());
        }
        bytes
    }

    #[test]
    fn fonts_are_read_in_order_with_their_weight() {
        let files = [("r.ttf", REGULAR.to_vec()), ("b.ttf", BOLD.to_vec())];
        let (fonts, told) = read_with(&files, "fonts: [r.ttf, b.ttf]\n");
        assert_eq!(told, []);
        let read: Vec<_> = fonts.iter().map(|font| (font.name.as_str(), font.family.as_str(), font.weight)).collect();
        assert_eq!(read, [("r.ttf", "Halfcell Sans", 400), ("b.ttf", "Halfcell Sans", 600)]);
        assert!(fonts[0].glyph('Ω').is_some() && fonts[0].glyph('漢').is_none());
        assert_eq!(fonts[0].bytes(), REGULAR);
    }

    #[test]
    fn a_file_that_is_no_font_is_told() {
        let fix = "name the file that the font is installed from";
        for bytes in [b"no font".to_vec(), b"wOF2 packed".to_vec(), Vec::new()] {
            assert_eq!(read_with(&[("f.ttf", bytes)], "fonts: [f.ttf]\n").1, error("font-kind", 1, 9, fix));
        }
    }

    #[test]
    fn every_wrong_font_is_told_at_its_place() {
        let files = [("cut.ttf", REGULAR[..REGULAR.len() / 2].to_vec())];
        let (fonts, told) = read_with(&files, "fonts:\n  - missing.ttf\n  - cut.ttf\n  - /usr/f.ttf\n");
        assert_eq!(fonts, []);
        assert_eq!(codes(&told), [("file-unreadable", 2, 5), ("font-damaged", 3, 5), ("path-form", 4, 5)]);
    }

    #[test]
    fn a_font_that_may_not_be_embedded_is_refused() {
        for (kind, refused) in [(0, 0), (2, 1), (4, 0), (8, 0), (6, 0), (0x100, 1), (0x200, 1)] {
            let (fonts, told) = read_with(&[("f.ttf", licensed_as(kind))], "fonts: [f.ttf]\n");
            assert_eq!((fonts.len(), told.len()), (1 - refused, refused), "fsType {kind:#x}");
            assert!(told.iter().all(|told| told.1 == "font-licence"));
        }
    }

    #[test]
    fn a_face_of_a_collection_is_chosen_by_name() {
        let files = [("c.ttc", collection())];
        let (fonts, told) = read_with(&files, "fonts: [{file: c.ttc, face: Halfcell Sans}]\n");
        assert_eq!((fonts.len(), told), (1, vec![]));
        let told = read_with(&files, "fonts: [{file: c.ttc, face: Halfcell}]\n").1;
        assert_eq!(told, error("font-face-unknown", 1, 29, "write one of: Halfcell Sans"));
    }

    #[test]
    fn a_single_font_still_is_a_list() {
        let told = read_with(&[("f.ttf", REGULAR.to_vec())], "fonts: f.ttf\n").1;
        assert_eq!(codes(&told), [("expected-list", 1, 8)]);
    }
}
