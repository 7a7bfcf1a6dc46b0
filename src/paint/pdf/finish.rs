//! The finished file: fonts put in, metadata, identifiers, compression.
//!
//! Comes in: the objects that printpdf made. Goes out: the bytes of the file, the same for the same document. Next: the
//! caller.

use super::Press;
use super::added::Cut;
use super::content::added_resource;
use super::logo::Prepared;
use crate::document::Document;
use crate::paint::fonts::{CAPITAL_HEIGHT, Fonts, Slice, bundled};
use chrono::{DateTime, FixedOffset, SecondsFormat};
use lopdf::{Object, Stream, StringFormat, dictionary};
use sha2::{Digest, Sha256};
use std::cell::RefCell;

/// Name of the logo in the resources of the pages.
pub const LOGO: &str = "Logo";
/// Level of compression for what differs between documents: the next takes a tenth longer for a visit and saves 3 KB of
/// 67 KB in two pages.
const LEVEL: i32 = 1;
/// Level of compression for what is done once: the best.
const BEST: i32 = 9;
/// Bytes up to which a stream is not compressed: it would take a twentieth of a document's time to save a kilobyte.
const SMALL: usize = 2048;
/// Window of 32 KB, the largest.
const WINDOW_BITS: u8 = 15;

/// Finishes the objects of a document, gives its pages their content streams and writes it all.
pub fn finish(
    mut objects: lopdf::Document,
    contents: Vec<Vec<u8>>,
    document: &Document,
    press: &Press,
    logo: Option<&Prepared>,
) -> Vec<u8> {
    objects.version = "1.7".to_string();
    put_contents(&mut objects, contents);
    put_fonts(&mut objects, press);
    put_resources(&mut objects, logo);
    compress_streams(&mut objects);
    let words = Words::of(document);
    put_metadata(&mut objects, document, &words);
    put_identifier(&mut objects, &words);
    let mut bytes = Vec::with_capacity(96 * 1024);
    objects.save_to(&mut bytes).expect("writing to memory does not fail");
    bytes
}

/// Gives each page its content stream.
fn put_contents(objects: &mut lopdf::Document, contents: Vec<Vec<u8>>) {
    let pages: Vec<lopdf::ObjectId> = objects.get_pages().into_values().collect();
    for (page, content) in pages.into_iter().zip(contents) {
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
        let file = objects.add_object(font_file(&bundled().slices[slice], press.font_file(slice)));
        if let Ok(descriptor) = objects.get_dictionary_mut(id) {
            descriptor.set("FontFile2", file);
            descriptor.set("CapHeight", (CAPITAL_HEIGHT * 1000.0).round() as i64);
        }
    }
}

/// Puts what is used of the added fonts into the document and into the resources of its pages.
pub fn put_added_fonts(objects: &mut lopdf::Document, fonts: &Fonts, cuts: &[Cut]) {
    let used = cuts.iter().zip(fonts.added()).enumerate().filter(|(_, (cut, _))| !cut.is_empty());
    let put: Vec<(String, lopdf::ObjectId)> =
        used.map(|(number, (cut, font))| (added_resource(number), cut.put(objects, font, compress))).collect();
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

fn font_file(slice: &Slice, compressed: &[u8]) -> Stream {
    let dictionary = dictionary! { "Length1" => slice.bytes.len() as i64, "Filter" => "FlateDecode" };
    Stream::new(dictionary, compressed.to_vec())
}

/// Leaves fonts and the logo in the pages' resources, and nothing empty.
fn put_resources(objects: &mut lopdf::Document, logo: Option<&Prepared>) {
    let logo = logo.map(|logo| logo.put(objects));
    let pages: Vec<lopdf::ObjectId> = objects.get_pages().into_values().collect();
    let mut empty = Vec::new();
    for page in pages {
        let Ok(page) = objects.get_dictionary_mut(page) else {
            continue;
        };
        page.remove(b"Annots");
        let Ok(resources) = page.get(b"Resources").and_then(Object::as_reference) else {
            continue;
        };
        let Ok(resources) = objects.get_dictionary_mut(resources) else {
            continue;
        };
        for kind in ["XObject", "ExtGState", "Shading"] {
            empty.extend(resources.remove(kind.as_bytes()).and_then(|object| object.as_reference().ok()));
        }
        if let Some(logo) = logo {
            resources.set("XObject", dictionary! { LOGO => logo });
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

/// A compressor with room for what comes out: setting one up takes longer than a short stream, so each thread keeps its
/// own. One that is reset gives the bytes that a new one gives.
struct Compressor {
    deflate: zlib_rs::Deflate,
    output: Vec<u8>,
}

thread_local! {
    static COMPRESSOR: RefCell<Compressor> =
        RefCell::new(Compressor { deflate: zlib_rs::Deflate::new(LEVEL, true, WINDOW_BITS), output: Vec::new() });
}

/// Deflate with a zlib head. The crate is called by itself and pinned: another one, or another version, would give other
/// bytes. It chooses its hash by level and not by processor, so that all machines give the same.
fn compress(bytes: &[u8]) -> Vec<u8> {
    COMPRESSOR.with_borrow_mut(|compressor| compressor.compress(bytes))
}

/// The same as well as it goes, for what is done once.
pub fn compress_best(bytes: &[u8]) -> Vec<u8> {
    Compressor { deflate: zlib_rs::Deflate::new(BEST, true, WINDOW_BITS), output: Vec::new() }.compress(bytes)
}

impl Compressor {
    fn compress(&mut self, bytes: &[u8]) -> Vec<u8> {
        let room = zlib_rs::compress_bound(bytes.len());
        if self.output.len() < room {
            self.output.resize(room, 0);
        }
        self.deflate.reset();
        let status = self.deflate.compress(bytes, &mut self.output, zlib_rs::DeflateFlush::Finish);
        assert_eq!(status, Ok(zlib_rs::Status::StreamEnd), "the output has room for the worst case");
        self.output[..self.deflate.total_out() as usize].to_vec()
    }
}

/// What the metadata says, in Info and XMP alike.
struct Words {
    title: String,
    program: String,
    issued: Option<DateTime<FixedOffset>>,
}

impl Words {
    fn of(document: &Document) -> Words {
        Words {
            title: format!("{} · {}", document.number, document.title),
            program: format!("halfcell {}", env!("CARGO_PKG_VERSION")),
            issued: DateTime::parse_from_rfc3339(&document.issued).ok(),
        }
    }
}

fn put_metadata(objects: &mut lopdf::Document, document: &Document, words: &Words) {
    let packet =
        Stream::new(dictionary! { "Type" => "Metadata", "Subtype" => "XML" }, xmp(document, words).into_bytes());
    let packet = objects.add_object(packet);
    if let Ok(catalog) = objects.catalog_mut() {
        catalog.set("Metadata", packet);
        catalog.set("Lang", text(&document.language));
        catalog.set("PageLayout", "SinglePage");
        catalog.set("ViewerPreferences", dictionary! { "DisplayDocTitle" => true });
    }
    let mut info = dictionary! {
        "Title" => text(&words.title),
        "Author" => text(&document.author),
        "Subject" => text(&document.subtitle),
        "Creator" => text(&words.program),
        "Producer" => text(&words.program),
    };
    if let Some(issued) = words.issued {
        let date = issued.format("D:%Y%m%d%H%M%S%:z").to_string().replace(':', "'").replacen("D'", "D:", 1) + "'";
        info.set("CreationDate", text(&date));
        info.set("ModDate", text(&date));
    }
    let info = Object::Dictionary(info);
    match objects.trailer.get(b"Info").and_then(Object::as_reference) {
        Ok(id) => objects.set_object(id, info),
        Err(_) => {
            let id = objects.add_object(info);
            objects.trailer.set("Info", id);
        }
    }
}

fn text(text: &str) -> Object {
    if text.is_ascii() {
        return Object::String(text.as_bytes().to_vec(), StringFormat::Literal);
    }
    let wide = [0xfeff].into_iter().chain(text.encode_utf16()).flat_map(u16::to_be_bytes);
    Object::String(wide.collect(), StringFormat::Hexadecimal)
}

/// The XMP packet.
///
/// Source: ISO 16684-1:2019 (packet, Dublin Core, XMP basic); ISO 32000-1:2008, 14.3.2.
fn xmp(document: &Document, words: &Words) -> String {
    let date = words.issued.map_or(String::new(), |issued| {
        let issued = issued.to_rfc3339_opts(SecondsFormat::Secs, false);
        format!(
            "<xmp:CreateDate>{issued}</xmp:CreateDate><xmp:ModifyDate>{issued}</xmp:ModifyDate>\
             <xmp:MetadataDate>{issued}</xmp:MetadataDate>"
        )
    });
    let (title, subject) = (escaped(&words.title), escaped(&document.subtitle));
    let (author, program, language) = (escaped(&document.author), &words.program, escaped(&document.language));
    format!(
        "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n\
         <x:xmpmeta xmlns:x=\"adobe:ns:meta/\"><rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\
         <rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" \
         xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\" xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\">\
         <dc:format>application/pdf</dc:format>\
         <dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{title}</rdf:li></rdf:Alt></dc:title>\
         <dc:description><rdf:Alt><rdf:li xml:lang=\"x-default\">{subject}</rdf:li></rdf:Alt></dc:description>\
         <dc:creator><rdf:Seq><rdf:li>{author}</rdf:li></rdf:Seq></dc:creator>\
         <dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>\
         <xmp:CreatorTool>{program}</xmp:CreatorTool>{date}<pdf:Producer>{program}</pdf:Producer>\
         </rdf:Description></rdf:RDF></x:xmpmeta>\n<?xpacket end=\"r\"?>"
    )
}

/// Text for XML; a control character, which XML cannot hold, becomes a space.
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            control if control.is_control() => escaped.push(' '),
            other => escaped.push(other),
        }
    }
    escaped
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_beyond_ascii_is_utf_16() {
        let Object::String(bytes, _) = text("5 Ω") else { panic!("a string") };
        assert_eq!(bytes, [0xfe, 0xff, 0, b'5', 0, b' ', 0x03, 0xa9]);
    }

    #[test]
    fn xml_signs_are_escaped() {
        assert_eq!(escaped("A & B <c>\u{1}"), "A &amp; B &lt;c&gt; ");
    }
}
