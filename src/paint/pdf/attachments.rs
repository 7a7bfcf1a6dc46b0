//! Files that travel within a document.
//!
//! Comes in: [`Attachment`]s. Goes out: their objects and the catalog's entries. Next: [`super::finish`].
//!
//! Source: ISO 32000-1:2008, 7.11.3 and 7.11.4 (file specifications, embedded files); ISO 19005-3:2012, 6.8 (associated
//! files: F, UF, AFRelationship; a media type; the time of the last change).

use super::Press;
use super::compress::compress;
use super::metadata::{self, text};
use crate::document::{Attachment, HISTORY, Relationship};
use chrono::{DateTime, FixedOffset};
use lopdf::{Dictionary, Object, Stream, dictionary};

/// Puts the files into a document's objects and names them in its catalog.
pub fn put(
    objects: &mut lopdf::Document,
    attachments: &[Attachment],
    issued: Option<DateTime<FixedOffset>>,
    press: &Press,
) {
    if attachments.is_empty() {
        return;
    }
    let mut named: Vec<(&str, Object)> = Vec::new();
    for attachment in attachments {
        let file = objects.add_object(embedded(attachment, issued, press));
        let specification = objects.add_object(dictionary! {
            "Type" => "Filespec",
            "F" => text(&plain(&attachment.name)),
            "UF" => text(&attachment.name),
            "Desc" => text(&attachment.description),
            "AFRelationship" => relationship(attachment.relationship),
            "EF" => dictionary! { "F" => file, "UF" => file },
        });
        named.push((&attachment.name, specification.into()));
    }
    let associated: Vec<Object> = named.iter().map(|(_, specification)| specification.clone()).collect();
    // The tree is sorted by the bytes of its keys.
    let mut keyed: Vec<(Vec<u8>, Object)> =
        named.into_iter().map(|(name, specification)| (metadata::bytes(name), specification)).collect();
    keyed.sort_by(|a, b| a.0.cmp(&b.0));
    let tree = keyed.into_iter().flat_map(|(key, specification)| [metadata::string(key), specification]);
    let tree = dictionary! { "EmbeddedFiles" => dictionary! { "Names" => tree.collect::<Vec<_>>() } };
    if let Ok(catalog) = objects.catalog_mut() {
        catalog.set("AF", associated);
        catalog.set("Names", tree);
    }
}

/// The file itself. What many documents carry alike is compressed once.
fn embedded(attachment: &Attachment, issued: Option<DateTime<FixedOffset>>, press: &Press) -> Stream {
    // Kept for the next document, so nothing that only this one carries.
    let is_shared = attachment.relationship == Relationship::Supplement && attachment.name != HISTORY;
    let compressed = match is_shared {
        true => press.compressed(&attachment.bytes).to_vec(),
        false => compress(&attachment.bytes),
    };
    let mut about: Dictionary = dictionary! { "Size" => attachment.bytes.len() as i64 };
    if let Some(issued) = issued {
        about.set("ModDate", text(&metadata::date(issued)));
    }
    let dictionary = dictionary! {
        "Type" => "EmbeddedFile",
        "Subtype" => attachment.media_type,
        "Params" => about,
        "Filter" => "FlateDecode",
    };
    Stream::new(dictionary, compressed)
}

/// The name for programs that know ASCII only.
fn plain(name: &str) -> String {
    name.chars().map(|c| if c.is_ascii() { c } else { '_' }).collect()
}

fn relationship(relationship: Relationship) -> &'static str {
    match relationship {
        Relationship::Source => "Source",
        Relationship::Data => "Data",
        Relationship::Supplement => "Supplement",
    }
}
