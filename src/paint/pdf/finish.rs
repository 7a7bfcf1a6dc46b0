//! The finished objects: fonts and logo put in, contents, structure, attachments, metadata, identifier.
//!
//! Comes in: the objects that printpdf made and what was painted. Goes out: the bytes of the file, the same for the same
//! document. Next: [`super::file`].
//!
//! Source of what must be there: ISO 19005-3:2012 (PDF/A-3), level A; ISO 14289-1:2014 (PDF/UA-1).

use super::compress::compress;
use super::content::HATCHING;
use super::elements;
use super::logo::Prepared;
use super::metadata::{self, Words, text};
use super::{FontFile, Painted, Press, attachments, file, page, srgb};
use crate::paint::fonts::{CAPITAL_HEIGHT, bundled};
use lopdf::{Object, ObjectId, Stream, StringFormat, dictionary};
use sha2::{Digest, Sha256};

/// Name of the logo in the resources of the pages.
pub const LOGO: &str = "Logo";
/// Bytes up to which a stream is not compressed: it would take a twentieth of a document's time to save a kilobyte.
const SMALL: usize = 2048;

/// Finishes the objects of a document, gives its pages their content streams and writes it all.
pub fn finish(mut objects: lopdf::Document, painted: Painted, press: &Press) -> Vec<u8> {
    let Painted { document, contents, structure, drawings } = painted;
    let pages: Vec<ObjectId> = objects.get_pages().into_values().collect();
    put_contents(&mut objects, &pages, contents);
    put_fonts(&mut objects, press);
    put_resources(&mut objects, &pages, drawings);
    put_colours(&mut objects, press);
    compress_streams(&mut objects);
    let words = Words::of(document);
    attachments::put(&mut objects, &document.attachments, words.issued, press);
    metadata::put(&mut objects, document, &words);
    let [_, height] = page::paper_size(document.paper);
    let root = objects.max_id + 1;
    put_structure(&mut objects, &pages, root);
    let texts = elements::objects(&structure, &pages, height, root);
    put_identifier(&mut objects, &words);
    file::write(&objects, &texts)
}

/// Gives each page its content stream.
fn put_contents(objects: &mut lopdf::Document, pages: &[ObjectId], contents: Vec<Vec<u8>>) {
    for (&page, content) in pages.iter().zip(contents) {
        let stream = (objects.get_dictionary(page)).and_then(|page| page.get(b"Contents"));
        if let Ok(id) = stream.and_then(Object::as_reference) {
            objects.set_object(id, Stream::new(lopdf::Dictionary::new(), content));
        }
    }
}

/// Puts the ready-compressed font files where printpdf left them out.
fn put_fonts(objects: &mut lopdf::Document, press: &Press) {
    let descriptors: Vec<(lopdf::ObjectId, usize)> = objects
        .objects
        .iter()
        .filter_map(|(&id, object)| {
            let name = object.as_dict().ok()?.get(b"FontName").ok()?.as_name().ok()?;
            Some((id, bundled().slices.iter().position(|slice| slice.name.as_bytes() == name)?))
        })
        .collect();
    for (id, slice) in descriptors {
        let file = objects.add_object(font_file(press.font_file(slice)));
        if let Ok(descriptor) = objects.get_dictionary_mut(id) {
            descriptor.set("FontFile2", file);
            descriptor.set("CapHeight", (CAPITAL_HEIGHT * 1000.0).round() as i64);
        }
    }
}

fn font_file(file: &FontFile) -> Stream {
    let dictionary = dictionary! { "Length1" => file.length as i64, "Filter" => "FlateDecode" };
    Stream::new(dictionary, file.compressed.clone())
}

/// What the pages draw by its name.
#[derive(Debug)]
pub struct Drawings<'d> {
    /// The firm's logo.
    pub logo: Option<&'d Prepared>,
    /// The hatching: content, width and height.
    pub hatching: Option<(Vec<u8>, [f64; 2])>,
}

impl Drawings<'_> {
    /// Puts them into a document and gives their names.
    fn put(self, objects: &mut lopdf::Document) -> lopdf::Dictionary {
        let mut names = lopdf::Dictionary::new();
        if let Some(logo) = self.logo {
            names.set(LOGO, logo.put(objects));
        }
        if let Some((content, [width, height])) = self.hatching {
            let corners: Vec<Object> = [0.0, 0.0, width, height].map(|side| Object::Real(side as f32)).into();
            let resources = lopdf::Dictionary::new();
            let form = dictionary! {
                "Type" => "XObject", "Subtype" => "Form", "BBox" => corners, "Resources" => resources,
            };
            names.set(HATCHING, objects.add_object(Stream::new(form, content)));
        }
        names
    }
}

/// Leaves fonts and drawings in the pages' resources, and nothing empty.
fn put_resources(objects: &mut lopdf::Document, pages: &[ObjectId], drawings: Drawings) {
    let drawings = drawings.put(objects);
    let mut empty = Vec::new();
    for &page in pages {
        let Ok(page) = objects.get_dictionary_mut(page) else {
            continue;
        };
        page.remove(b"Annots");
        if drawings.has(LOGO.as_bytes()) {
            // A logo may let the paper shine through: the colours it is mixed in are named (ISO 32000-1, 11.4.7).
            page.set("Group", dictionary! { "S" => "Transparency", "CS" => "DeviceRGB" });
        }
        let Ok(resources) = page.get(b"Resources").and_then(Object::as_reference) else {
            continue;
        };
        let Ok(resources) = objects.get_dictionary_mut(resources) else {
            continue;
        };
        for kind in ["XObject", "ExtGState", "Shading"] {
            empty.extend(resources.remove(kind.as_bytes()).and_then(|object| object.as_reference().ok()));
        }
        if !drawings.is_empty() {
            resources.set("XObject", drawings.clone());
        }
    }
    for id in empty {
        objects.objects.remove(&id);
    }
}

fn compress_streams(objects: &mut lopdf::Document) {
    for object in objects.objects.values_mut() {
        let Object::Stream(stream) = object else {
            continue;
        };
        if stream.dict.has(b"Filter") || stream.content.len() < SMALL {
            continue;
        }
        let compressed = compress(&stream.content);
        stream.dict.set("Filter", "FlateDecode");
        stream.set_content(compressed);
    }
}

/// Tells what the colours are.
fn put_colours(objects: &mut lopdf::Document, press: &Press) {
    let profile = dictionary! { "N" => 3, "Filter" => "FlateDecode" };
    let profile = objects.add_object(Stream::new(profile, press.compressed(&srgb::PROFILE).to_vec()));
    let intent = dictionary! {
        "Type" => "OutputIntent",
        "S" => "GTS_PDFA1",
        "OutputConditionIdentifier" => text(srgb::NAME),
        "Info" => text(srgb::NAME),
        "DestOutputProfile" => profile,
    };
    if let Ok(catalog) = objects.catalog_mut() {
        catalog.set("OutputIntents", vec![Object::Dictionary(intent)]);
    }
}

/// Names the structure tree, whose root will have number `root`, and says that all content is in it.
fn put_structure(objects: &mut lopdf::Document, pages: &[ObjectId], root: u32) {
    if let Ok(catalog) = objects.catalog_mut() {
        catalog.set("MarkInfo", dictionary! { "Marked" => true });
        catalog.set("StructTreeRoot", (root, 0));
    }
    for (&page, number) in pages.iter().zip(0_i64..) {
        if let Ok(page) = objects.get_dictionary_mut(page) {
            page.set("StructParents", number);
            page.set("Tabs", "S");
        }
    }
}

/// The identifier of the file: a hash over what it says.
fn put_identifier(objects: &mut lopdf::Document, words: &Words) {
    let mut hash = Sha256::new();
    hash.update(&words.title);
    for object in objects.objects.values() {
        let Object::Stream(stream) = object else {
            continue;
        };
        if !stream.dict.has(b"Length1") {
            hash.update((stream.content.len() as u64).to_be_bytes());
            hash.update(&stream.content);
        }
    }
    let id = Object::String(hash.finalize()[..16].to_vec(), StringFormat::Hexadecimal);
    objects.trailer.set("ID", vec![id.clone(), id]);
}
