//! Objects to bytes: streams one after the other, everything else packed and compressed together, then where all of it
//! stands.
//!
//! Comes in: objects, some as text already. Goes out: the bytes of the file. Next: the caller.
//!
//! Written here and not through lopdf, which takes longer to pack objects than a whole document may take (measured:
//! 0.5 ms for two pages); without packing, the structure tree alone would take 40 KB.
//!
//! Source: ISO 32000-1:2008, 7.5.2 (header), 7.5.7 (object streams), 7.5.8 (cross-reference streams).

use super::compress::compress;
use super::syntax::{self, whole};
use lopdf::{Object, Stream, dictionary};

/// Most objects that are packed together.
const PACK: usize = 1000;
/// Bytes of a document of two pages, about.
const COMMON_SIZE: usize = 96 * 1024;

/// Objects as text, numbered one after the other.
#[derive(Debug, Default)]
pub struct Texts {
    /// Number of the first.
    pub first: u32,
    /// All texts.
    bytes: Vec<u8>,
    /// Where each ends.
    ends: Vec<usize>,
}

impl Texts {
    /// No objects yet; the first will have number `first`.
    pub fn new(first: u32) -> Texts {
        Texts { first, bytes: Vec::with_capacity(32 * 1024), ends: Vec::with_capacity(512) }
    }

    /// Adds an object; `write` writes its text.
    pub fn add(&mut self, write: impl FnOnce(&mut Vec<u8>)) {
        write(&mut self.bytes);
        self.ends.push(self.bytes.len());
    }

    fn each(&self) -> impl Iterator<Item = (u32, &[u8])> {
        let begins = std::iter::once(0).chain(self.ends.iter().copied());
        let texts = begins.zip(&self.ends).map(|(begin, &end)| &self.bytes[begin..end]);
        (self.first..).zip(texts)
    }
}

/// Where an object stands: the three fields of its entry.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Entry {
    /// No object has this number.
    Free,
    /// At a byte of the file.
    At(u32),
    /// In a pack: its number, and which of its objects.
    Packed(u32, u16),
}

/// Writes a file. Streams of `objects` come compressed or small; `texts` have numbers above theirs.
pub fn write(objects: &lopdf::Document, texts: &Texts) -> Vec<u8> {
    let above = objects.max_id.max(texts.first + texts.ends.len() as u32) + 1;
    let mut file = File {
        bytes: Vec::with_capacity(COMMON_SIZE),
        entries: vec![Entry::Free; above as usize],
        pack: Pack::default(),
    };
    // Four bytes above 127 tell programs that the file is not text.
    file.bytes.extend_from_slice(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n");
    let mut text = Vec::new();
    for (&(id, _), object) in &objects.objects {
        match object {
            Object::Stream(stream) => file.stream(id, stream),
            other => {
                text.clear();
                syntax::object(&mut text, other);
                file.packed(id, &text);
            }
        }
    }
    texts.each().for_each(|(id, text)| file.packed(id, text));
    file.end_pack();
    file.end(&objects.trailer)
}

/// Objects that are packed together.
#[derive(Debug, Default)]
struct Pack {
    count: usize,
    /// Number and place of each.
    index: Vec<u8>,
    bytes: Vec<u8>,
}

struct File {
    bytes: Vec<u8>,
    entries: Vec<Entry>,
    pack: Pack,
}

impl File {
    fn stream(&mut self, id: u32, stream: &Stream) {
        self.entries[id as usize] = Entry::At(self.bytes.len() as u32);
        whole(&mut self.bytes, id);
        self.bytes.extend_from_slice(b" 0 obj\n");
        syntax::dictionary(&mut self.bytes, &stream.dict);
        self.bytes.extend_from_slice(b"stream\n");
        self.bytes.extend_from_slice(&stream.content);
        // Readers that look for the line end from behind would take a last carriage return for its first half.
        if stream.content.last() == Some(&b'\r') {
            self.bytes.push(b'\r');
        }
        self.bytes.extend_from_slice(b"\nendstream\nendobj\n");
    }

    fn packed(&mut self, id: u32, text: &[u8]) {
        // The pack gets the next free number when it ends.
        self.entries[id as usize] = Entry::Packed(self.entries.len() as u32, self.pack.count as u16);
        let pack = &mut self.pack;
        whole(&mut pack.index, id);
        pack.index.push(b' ');
        whole(&mut pack.index, pack.bytes.len() as u32);
        pack.index.push(b' ');
        pack.bytes.extend_from_slice(text);
        pack.bytes.push(b'\n');
        pack.count += 1;
        if pack.count == PACK {
            self.end_pack();
        }
    }

    fn end_pack(&mut self) {
        let mut pack = std::mem::take(&mut self.pack);
        if pack.count == 0 {
            return;
        }
        let first = pack.index.len() as i64;
        pack.index.append(&mut pack.bytes);
        let dictionary = dictionary! {
            "Type" => "ObjStm", "N" => pack.count as i64, "First" => first, "Filter" => "FlateDecode",
        };
        let id = self.entries.len() as u32;
        self.entries.push(Entry::Free);
        self.stream(id, &Stream::new(dictionary, compress(&pack.index)));
    }

    /// Writes where all objects stand, and the end.
    fn end(mut self, trailer: &lopdf::Dictionary) -> Vec<u8> {
        let start = self.bytes.len();
        let id = self.entries.len() as u32;
        self.entries.push(Entry::At(start as u32));
        let mut table = Vec::with_capacity(self.entries.len() * 7);
        for entry in &self.entries {
            let (kind, place, number) = match *entry {
                Entry::Free => (0, 0, u16::MAX),
                Entry::At(byte) => (1, byte, 0),
                Entry::Packed(pack, number) => (2, pack, number),
            };
            table.push(kind);
            table.extend_from_slice(&place.to_be_bytes());
            table.extend_from_slice(&number.to_be_bytes());
        }
        let mut dictionary = dictionary! {
            "Type" => "XRef",
            "Size" => self.entries.len() as i64,
            "W" => vec![1.into(), 4.into(), 2.into()],
            "Filter" => "FlateDecode",
        };
        for key in [b"Root".as_slice(), b"Info", b"ID"] {
            if let Ok(value) = trailer.get(key) {
                dictionary.set(key, value.clone());
            }
        }
        self.stream(id, &Stream::new(dictionary, compress(&table)));
        self.bytes.extend_from_slice(b"startxref\n");
        whole(&mut self.bytes, start as u32);
        self.bytes.extend_from_slice(b"\n%%EOF\n");
        self.bytes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_packed_is_read_back() {
        let mut objects = lopdf::Document::with_version("1.7");
        let stream = objects.add_object(Stream::new(dictionary! {}, b"0 0 m".to_vec()));
        let catalog = objects.add_object(dictionary! { "Type" => "Catalog", "Own" => stream });
        objects.trailer.set("Root", catalog);
        let mut texts = Texts::new(objects.max_id + 1);
        for number in 0..2500_u32 {
            texts.add(|out| whole(out, number));
        }
        let first = texts.first;
        let read = lopdf::Document::load_mem(&write(&objects, &texts)).expect("it can be read");
        assert!(read.catalog().and_then(|catalog| catalog.get(b"Own")).is_ok());
        for number in [0, 999, 1000, 2499] {
            let object = read.get_object((first + number, 0)).and_then(Object::as_i64);
            assert_eq!(object.ok(), Some(i64::from(number)));
        }
    }
}
