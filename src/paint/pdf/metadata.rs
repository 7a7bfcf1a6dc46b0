//! What a document says about itself, in its information dictionary and in XMP alike.
//!
//! Comes in: a document. Goes out: the catalog's entries, the dictionary and the packet. Next: [`super::finish`].

use crate::document::Document;
use chrono::{DateTime, FixedOffset, SecondsFormat};
use lopdf::{Object, Stream, StringFormat, dictionary};

/// What the metadata says, in Info and XMP alike.
pub struct Words {
    /// Number and title.
    pub title: String,
    /// Program with its version.
    program: String,
    /// Moment of issue.
    pub issued: Option<DateTime<FixedOffset>>,
}

impl Words {
    /// The words of a document.
    pub fn of(document: &Document) -> Words {
        Words {
            title: format!("{} · {}", document.number, document.title),
            program: format!("halfcell {}", env!("CARGO_PKG_VERSION")),
            issued: moment(&document.issued),
        }
    }
}

/// A moment in ISO 8601 with offset, with or without seconds.
fn moment(text: &str) -> Option<DateTime<FixedOffset>> {
    let to_the_minute = || DateTime::parse_from_str(text, "%Y-%m-%dT%H:%M%:z");
    DateTime::parse_from_rfc3339(text).or_else(|_| to_the_minute()).ok()
}

/// Puts them into the objects of a document.
pub fn put(objects: &mut lopdf::Document, document: &Document, words: &Words) {
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
        let date = date(issued);
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

/// A moment as PDF writes it: `D:20260513081500+02'00'`.
///
/// Source: ISO 32000-1:2008, 7.9.4.
pub fn date(moment: DateTime<FixedOffset>) -> String {
    let offset = moment.format("%:z").to_string().replace(':', "'");
    format!("D:{}{offset}'", moment.format("%Y%m%d%H%M%S"))
}

/// A text as a string object: ASCII, or UTF-16 with its mark.
pub fn text(text: &str) -> Object {
    string(bytes(text))
}

/// The bytes of a text in a string object.
pub fn bytes(text: &str) -> Vec<u8> {
    if text.is_ascii() {
        return text.as_bytes().to_vec();
    }
    [0xfeff].into_iter().chain(text.encode_utf16()).flat_map(u16::to_be_bytes).collect()
}

/// A string object of bytes.
pub fn string(bytes: Vec<u8>) -> Object {
    let format = if bytes.is_ascii() { StringFormat::Literal } else { StringFormat::Hexadecimal };
    Object::String(bytes, format)
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
         xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\" xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\" \
         xmlns:pdfaid=\"http://www.aiim.org/pdfa/ns/id/\" xmlns:pdfuaid=\"http://www.aiim.org/pdfua/ns/id/\">\
         <pdfaid:part>3</pdfaid:part><pdfaid:conformance>A</pdfaid:conformance><pdfuaid:part>1</pdfuaid:part>\
         <dc:format>application/pdf</dc:format>\
         <dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{title}</rdf:li></rdf:Alt></dc:title>\
         <dc:description><rdf:Alt><rdf:li xml:lang=\"x-default\">{subject}</rdf:li></rdf:Alt></dc:description>\
         <dc:creator><rdf:Seq><rdf:li>{author}</rdf:li></rdf:Seq></dc:creator>\
         <dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>\
         <xmp:CreatorTool>{program}</xmp:CreatorTool>{date}<pdf:Producer>{program}</pdf:Producer>\
         </rdf:Description>{EXTENSION}</rdf:RDF></x:xmpmeta>\n<?xpacket end=\"r\"?>"
    )
}

/// Describes the property `pdfuaid:part`, which PDF/A does not know.
///
/// Source: ISO 19005-3:2012, 6.6.2.3 (extension schemas); ISO 14289-1:2014, 5 (its identification).
const EXTENSION: &str = "<rdf:Description rdf:about=\"\" xmlns:pdfaExtension=\"http://www.aiim.org/pdfa/ns/extension/\" \
    xmlns:pdfaSchema=\"http://www.aiim.org/pdfa/ns/schema#\" \
    xmlns:pdfaProperty=\"http://www.aiim.org/pdfa/ns/property#\"><pdfaExtension:schemas><rdf:Bag>\
    <rdf:li rdf:parseType=\"Resource\"><pdfaSchema:schema>PDF/UA identification schema</pdfaSchema:schema>\
    <pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>\
    <pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix><pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType=\"Resource\">\
    <pdfaProperty:name>part</pdfaProperty:name><pdfaProperty:valueType>Integer</pdfaProperty:valueType>\
    <pdfaProperty:category>internal</pdfaProperty:category>\
    <pdfaProperty:description>Part of ISO 14289 that the document conforms to</pdfaProperty:description>\
    </rdf:li></rdf:Seq></pdfaSchema:property></rdf:li></rdf:Bag></pdfaExtension:schemas></rdf:Description>";

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_beyond_ascii_is_utf_16() {
        let Object::String(bytes, _) = text("5 Ω") else { panic!("a string") };
        assert_eq!(bytes, [0xfe, 0xff, 0, b'5', 0, b' ', 0x03, 0xa9]);
    }

    #[test]
    fn moments_have_seconds_or_not() {
        let dates = ["2026-05-13T08:15:00+02:00", "2026-05-13T08:15+02:00"].map(|text| moment(text).map(date));
        assert_eq!(dates, ["D:20260513081500+02'00'", "D:20260513081500+02'00'"].map(|date| Some(date.to_owned())));
    }

    #[test]
    fn xml_signs_are_escaped() {
        assert_eq!(escaped("A & B <c>\u{1}"), "A &amp; B &lt;c&gt; ");
    }
}
