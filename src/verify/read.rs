//! What a PDF carries: pages, attachments, what it says of itself.
//!
//! Comes in: bytes. Goes out: [`Carried`]. Next: [`mod@super::document`].

use super::file::{File, Form, LARGEST, Refusal};
use super::text::{Page, pages};
use super::unicode;
use crate::paint::pdf::Prepared;
use lopdf::{Dictionary, Object, Stream};

/// Why bytes cannot be read as a document.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unreadable {
    /// They are neither a PDF nor an HTML page of this program.
    Unknown,
    /// They are too many.
    TooLarge,
    /// It is a PDF that is encrypted.
    Encrypted,
    /// It is a PDF without pages, or with too much to read.
    Broken,
}

impl Unreadable {
    /// In a sentence.
    pub fn told(self) -> &'static str {
        match self {
            Unreadable::Unknown => "it is neither a PDF nor an HTML page of this program",
            Unreadable::TooLarge => "it is larger than any document of this program",
            Unreadable::Encrypted => "it is encrypted, which no document of this program is",
            Unreadable::Broken => "it is damaged so that nothing of it can be read",
        }
    }
}

/// A file that travels within a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Attached {
    /// Its name.
    pub(super) name: String,
    /// What it is to the document, as the document says: `Source`, `Data`, `Supplement`.
    pub(super) relationship: String,
    /// Its bytes; none where they are damaged, or their number is not the one stated.
    pub(super) bytes: Option<Vec<u8>>,
}

/// What a PDF carries.
#[derive(Debug, Default)]
pub(super) struct Carried {
    /// How the file departs from the form in which this program writes.
    pub(super) form: Form,
    pub(super) pages: Vec<Page>,
    pub(super) attachments: Vec<Attached>,
    /// What it says of itself: entry and text.
    pub(super) information: Vec<(String, String)>,
    /// The same as XML.
    pub(super) packet: Vec<u8>,
    /// Entries of the catalog.
    pub(super) catalog: Vec<String>,
    /// The logo as it is drawn.
    pub(super) logo: Option<Prepared>,
}

impl Carried {
    /// Reads a PDF.
    ///
    /// # Errors
    /// [`Unreadable`].
    pub(super) fn read(bytes: &[u8]) -> Result<Carried, Unreadable> {
        if bytes.len() > LARGEST {
            return Err(Unreadable::TooLarge);
        }
        let file = File::read(bytes).map_err(|refusal| match refusal {
            Refusal::Encrypted => Unreadable::Encrypted,
            Refusal::Broken => Unreadable::Broken,
        })?;
        let pages = pages(&file);
        let catalog = file.catalog().ok_or(Unreadable::Broken)?;
        if pages.is_empty() {
            return Err(Unreadable::Broken);
        }
        let information = file.entry(&file.trailer, b"Info").and_then(|info| info.as_dict().ok());
        let entries = information.into_iter().flat_map(Dictionary::iter);
        let said =
            entries.filter_map(|(key, value)| Some((lossy(key), unicode::text(file.resolved(value)?.as_str().ok()?))));
        Ok(Carried {
            form: file.form,
            attachments: attachments(&file, catalog),
            information: said.collect(),
            packet: catalog.get(b"Metadata").ok().and_then(|packet| file.content(packet)).unwrap_or_default(),
            catalog: catalog.iter().map(|(key, _)| lossy(key)).collect(),
            logo: logo(&file, catalog, &pages),
            pages,
        })
    }

    /// An entry of what it says of itself.
    pub(super) fn said(&self, key: &str) -> Option<&str> {
        self.information.iter().find(|(own, _)| own == key).map(|(_, text)| text.as_str())
    }

    /// All lines of all pages, with the number of their page.
    pub(super) fn lines(&self) -> impl Iterator<Item = (usize, &str)> {
        self.pages.iter().zip(1..).flat_map(|(page, number)| page.lines.iter().map(move |line| (number, line.as_str())))
    }
}

fn lossy(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// Most attachments that are read.
const MOST_ATTACHMENTS: usize = 500;
/// Largest attachment that is read, in bytes: the record of a visit of many loops takes some 100 000.
const LARGEST_ATTACHMENT: usize = 8_000_000;

fn attachments(file: &File<'_>, catalog: &Dictionary) -> Vec<Attached> {
    let tree = file.within(catalog, b"Names").and_then(|names| file.within(names, b"EmbeddedFiles"));
    let specifications = tree.map(|tree| named(file, tree)).unwrap_or_default();
    specifications.into_iter().map(|specification| attached(file, specification)).collect()
}

/// The file specifications of a tree of names, in its order; a tree that leads back into itself ends.
fn named<'f>(file: &'f File<'_>, root: &'f Dictionary) -> Vec<&'f Dictionary> {
    let (mut found, mut left) = (Vec::new(), vec![root]);
    for _ in 0..MOST_ATTACHMENTS {
        let Some(node) = left.pop() else { break };
        let list =
            |key: &[u8]| file.entry(node, key).and_then(|list| list.as_array().ok()).map_or(&[][..], Vec::as_slice);
        let dictionary = |object: &'f Object| file.resolved(object)?.as_dict().ok();
        found.extend(list(b"Names").iter().skip(1).step_by(2).take(MOST_ATTACHMENTS).filter_map(dictionary));
        left.extend(list(b"Kids").iter().take(MOST_ATTACHMENTS).rev().filter_map(dictionary));
    }
    found.truncate(MOST_ATTACHMENTS);
    found
}

fn attached(file: &File<'_>, specification: &Dictionary) -> Attached {
    let text = |key: &[u8]| file.entry(specification, key).and_then(|text| text.as_str().ok()).map(unicode::text);
    let embedded = file.within(specification, b"EF").and_then(|files| files.get(b"F").or(files.get(b"UF")).ok());
    let bytes = embedded.and_then(|embedded| {
        let bytes = file.content(embedded)?;
        let (about, _) = file.raw(embedded)?;
        let stated = file.within(about, b"Params").and_then(|about| about.get(b"Size").and_then(Object::as_i64).ok());
        let is_as_stated = stated.is_none_or(|stated| usize::try_from(stated) == Ok(bytes.len()));
        (is_as_stated && bytes.len() <= LARGEST_ATTACHMENT).then_some(bytes)
    });
    let relationship = file.entry(specification, b"AFRelationship").and_then(|name| name.as_name().ok());
    Attached {
        name: text(b"UF").or(text(b"F")).unwrap_or_default(),
        relationship: relationship.map(lossy).unwrap_or_default(),
        bytes,
    }
}

/// The logo that the first page draws, ready to be put into another document.
fn logo(file: &File<'_>, catalog: &Dictionary, pages: &[Page]) -> Option<Prepared> {
    let root = file.within(catalog, b"Pages")?;
    let first = file.entry(root, b"Kids")?.as_array().ok()?.first()?;
    let first = file.resolved(first)?.as_dict().ok()?;
    let drawn = file.within(file.within(first, b"Resources")?, b"XObject")?.get(b"Logo").ok()?;
    let (about, raw) = file.raw(drawn)?;
    let mut about = about.clone();
    let mask = about.remove(b"SMask").and_then(|mask| {
        let (about, raw) = file.raw(&mask)?;
        Some(Stream::new(about.clone(), raw.to_vec()))
    });
    let whole = |key: &[u8]| about.get(key).and_then(Object::as_i64).ok();
    let size = match (whole(b"Width"), whole(b"Height"), about.get(b"BBox").and_then(Object::as_array)) {
        (Some(width), Some(height), _) => {
            let placed = pages.first().and_then(|page| placed(&page.content));
            picture_size([width as f64, height as f64], placed)
        }
        (_, _, Ok(corners)) => {
            let side = |at: usize| corners.get(at).and_then(|side| side.as_float().ok()).map(f64::from);
            [side(2)?, side(3)?]
        }
        (_, _, Err(_)) => return None,
    };
    let is_sound = size.iter().all(|side| (1e-3..1e6).contains(side));
    is_sound.then(|| Prepared::of(size, Stream::new(about, raw.to_vec()), mask))
}

/// Width and height of the logo and the height at which it stands, as the content of a page has them.
fn placed(content: &[u8]) -> Option<[f64; 3]> {
    let end = content.windows(12).position(|window| window == b" cm\n/Logo Do")?;
    let begin = content[..end].iter().rposition(|&byte| byte == b'\n').map_or(0, |at| at + 1);
    let numbers = std::str::from_utf8(&content[begin..end]).ok()?.split(' ').map(|number| number.parse::<f64>().ok());
    match numbers.collect::<Option<Vec<f64>>>()?[..] {
        [width, _, _, height, _, y] => Some([width, height, y]),
        _ => None,
    }
}

/// The width and height from which a picture was laid out. One that was made smaller for the document had other sides: they
/// are found again from where it was put, which is written to a hundredth of a point.
fn picture_size([width, height]: [f64; 2], placed: Option<[f64; 3]>) -> [f64; 2] {
    /// Most pixels on a side that are kept as they are.
    const KEPT: f64 = 288.0;
    let Some([shown_width, shown_height, y]) = placed.filter(|_| width.max(height) >= KEPT) else {
        return [width, height];
    };
    // Where it stands depends on half its height: of the heights that round to the one written, that which rounds to the
    // place written as well.
    let hundredths = |number: f64| (number * 100.0).round();
    let heights = (-5..=5).map(|step| shown_height + f64::from(step) * 0.001);
    let fits = |height: &f64| {
        let middle = y + height / 2.0;
        [841.889_763_779_527_6, 792.0].iter().any(|paper| hundredths(paper - 32.0 - 14.0 - middle).abs() < 0.5)
    };
    let mut fitting = heights.filter(fits);
    [shown_width, fitting.next().unwrap_or(shown_height)]
}
