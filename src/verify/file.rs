//! A PDF as a heap of objects: found where they stand, whatever the table at the end says of them.
//!
//! Comes in: bytes. Goes out: [`File`], with what departs from how this program writes files. Next: [`super::read`].
//!
//! The bytes are read from the first to the last, so that nothing in the file escapes; where the table at the end says
//! something else, or there are two tables, [`Form`] tells.
//!
//! Source: ISO 32000-1:2008, 7.5 (file structure).

use super::syntax::{Lexer, MOST_VALUES};
use lopdf::{Dictionary, Object};
use std::cell::Cell;
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::ops::Range;
use zlib_rs::{Inflate, InflateFlush, Status};

/// Largest file that is read, in bytes.
///
/// Source: our own choice: documents with fonts for all scripts take about 1 MB.
pub(super) const LARGEST: usize = 32_000_000;
/// Most bytes that come out of all the streams of a file.
///
/// Source: our own choice.
const MOST_INFLATED: usize = 96_000_000;

/// Why a file cannot be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Refusal {
    /// It is encrypted.
    Encrypted,
    /// It has no pages.
    Broken,
}

/// How a file departs from the one form in which this program writes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Form {
    /// How often something was added behind the end of the file.
    pub updates: usize,
    /// Bytes behind the last end.
    pub behind: usize,
    /// Whether objects stand elsewhere or otherwise than the table says, or something stands between them.
    pub is_other: bool,
}

#[derive(Debug)]
struct Held {
    object: Object,
    /// Where the bytes of its stream stand.
    stream: Option<Range<usize>>,
}

/// The objects of a file.
#[derive(Debug)]
pub(super) struct File<'b> {
    bytes: &'b [u8],
    objects: BTreeMap<u32, Held>,
    /// What the end says: root, information, identifier.
    pub(super) trailer: Dictionary,
    /// How it departs from our form.
    pub(super) form: Form,
    inflated: Cell<usize>,
    /// Values read so far.
    values: usize,
}

impl<'b> File<'b> {
    /// Reads all objects of a file.
    ///
    /// # Errors
    /// [`Refusal`].
    pub(super) fn read(bytes: &'b [u8]) -> Result<File<'b>, Refusal> {
        let mut scan = Scan::new(bytes);
        scan.all();
        let Scan { mut file, places, tables, ends, last_end, .. } = scan;
        file.form.updates = ends.saturating_sub(1);
        file.form.behind = bytes.len().saturating_sub(last_end);
        let packed = file.unpack();
        let is_as_told = tables.len() == 1 && file.is_as_told(tables[0], &places, &packed);
        file.form.is_other |= !is_as_told || places.len() + packed.len() != file.objects.len();
        match (file.trailer.has(b"Encrypt"), file.catalog().is_some()) {
            (true, _) => Err(Refusal::Encrypted),
            (false, true) => Ok(file),
            (false, false) => Err(Refusal::Broken),
        }
    }

    /// The root of all objects.
    pub(super) fn catalog(&self) -> Option<&Dictionary> {
        self.entry(&self.trailer, b"Root")?.as_dict().ok()
    }

    /// An object, references followed.
    pub(super) fn resolved<'o>(&'o self, mut object: &'o Object) -> Option<&'o Object> {
        for _ in 0..10 {
            match object {
                Object::Reference((id, _)) => object = &self.objects.get(id)?.object,
                other => return Some(other),
            }
        }
        None
    }

    /// An entry of a dictionary, references followed.
    pub(super) fn entry<'o>(&'o self, entries: &'o Dictionary, key: &[u8]) -> Option<&'o Object> {
        self.resolved(entries.get(key).ok()?)
    }

    /// The same, where it is a dictionary.
    pub(super) fn within<'o>(&'o self, entries: &'o Dictionary, key: &[u8]) -> Option<&'o Dictionary> {
        self.entry(entries, key)?.as_dict().ok()
    }

    /// The dictionary and the raw bytes of a stream, given by a reference.
    pub(super) fn raw(&self, stream: &Object) -> Option<(&Dictionary, &'b [u8])> {
        let held = self.objects.get(&stream.as_reference().ok()?.0)?;
        Some((held.object.as_dict().ok()?, &self.bytes[held.stream.clone()?]))
    }

    /// The bytes of a stream, given by a reference, decompressed; none where they are damaged or too many.
    pub(super) fn content(&self, stream: &Object) -> Option<Vec<u8>> {
        let (entries, raw) = self.raw(stream)?;
        self.decoded(entries, raw)
    }

    fn decoded(&self, entries: &Dictionary, raw: &[u8]) -> Option<Vec<u8>> {
        let filter = match self.entry(entries, b"Filter") {
            Some(Object::Array(filters)) if filters.len() == 1 => Some(&filters[0]),
            Some(Object::Array(filters)) if filters.is_empty() => None,
            other => other,
        };
        match filter {
            None => {
                let total = self.inflated.get().checked_add(raw.len()).filter(|&total| total <= MOST_INFLATED)?;
                self.inflated.set(total);
                Some(raw.to_vec())
            }
            Some(Object::Name(name)) if name == b"FlateDecode" => {
                let left = MOST_INFLATED - self.inflated.get();
                let bytes = inflated(raw, left)?;
                self.inflated.set(self.inflated.get() + bytes.len());
                Some(bytes)
            }
            Some(_) => None,
        }
    }

    /// Takes the packed objects out of their packs. Gives where each stood: its pack and its place there.
    fn unpack(&mut self) -> BTreeMap<u32, (u32, usize)> {
        let is_pack = |held: &Held| held.stream.is_some() && is_of_type(&held.object, b"ObjStm");
        let packs: Vec<u32> = self.objects.iter().filter(|(_, held)| is_pack(held)).map(|(&id, _)| id).collect();
        let mut packed = BTreeMap::new();
        for pack in packs {
            let content = self.content(&Object::Reference((pack, 0)));
            let Some((content, about)) = content.zip(self.objects[&pack].object.as_dict().ok()) else {
                self.form.is_other = true;
                continue;
            };
            let whole =
                |key: &[u8]| about.get(key).and_then(Object::as_i64).ok().and_then(|it| usize::try_from(it).ok());
            let (count, first) = (whole(b"N").unwrap_or_default(), whole(b"First").unwrap_or_default());
            let mut index = Lexer::new(&content, 0);
            for place in 0..count.min(content.len()) {
                let (Some(id), Some(offset)) = (index.whole().and_then(|id| u32::try_from(id).ok()), index.whole())
                else {
                    self.form.is_other = true;
                    break;
                };
                let mut lexer = Lexer::new(&content, first.saturating_add(offset).min(content.len()));
                lexer.values = self.values;
                let object = lexer.object();
                self.values = lexer.values;
                let Some(object) = object else {
                    self.form.is_other = true;
                    continue;
                };
                match self.objects.entry(id) {
                    Entry::Occupied(_) => self.form.is_other = true,
                    Entry::Vacant(entry) => drop(entry.insert(Held { object, stream: None })),
                }
                packed.insert(id, (pack, place));
            }
        }
        packed
    }

    /// Whether the table, an object, says of every object where it was found, and of no other.
    fn is_as_told(&self, table: u32, places: &BTreeMap<u32, usize>, packed: &BTreeMap<u32, (u32, usize)>) -> bool {
        let Some(content) = self.content(&Object::Reference((table, 0))) else { return false };
        // Three fields of one, four and two bytes, as this program writes them.
        let entries = content.chunks_exact(7).zip(0_u32..);
        let mut told = entries.map(|(entry, id)| {
            let place = u32::from_be_bytes([entry[1], entry[2], entry[3], entry[4]]);
            let number = usize::from(u16::from_be_bytes([entry[5], entry[6]]));
            match entry[0] {
                0 => !places.contains_key(&id) && !packed.contains_key(&id),
                1 => places.get(&id) == Some(&(place as usize)) && number == 0,
                2 => packed.get(&id) == Some(&(place, number)),
                _ => false,
            }
        });
        let last = self.objects.keys().next_back().copied().unwrap_or_default() as usize;
        content.len() == (last + 1) * 7 && told.all(|is_so| is_so)
    }
}

/// Whether a dictionary says that it is of a type.
pub(super) fn is_of_type(object: &Object, kind: &[u8]) -> bool {
    object.as_dict().and_then(|entries| entries.get(b"Type")).and_then(Object::as_name).is_ok_and(|name| name == kind)
}

/// What was compressed, up to `limit` bytes, with its checksum seen; none where it is damaged, longer, or followed by more.
fn inflated(raw: &[u8], limit: usize) -> Option<Vec<u8>> {
    let mut inflate = Inflate::new(true, 15);
    let mut bytes = vec![0; (raw.len().saturating_mul(4)).clamp(1024, limit.max(1024))];
    loop {
        let (read, written) = (inflate.total_in() as usize, inflate.total_out() as usize);
        match inflate.decompress(raw.get(read..)?, &mut bytes[written..], InflateFlush::NoFlush) {
            Ok(Status::StreamEnd) => {
                bytes.truncate(inflate.total_out() as usize);
                return (inflate.total_in() as usize == raw.len()).then_some(bytes);
            }
            Ok(Status::Ok | Status::BufError) => {
                let is_full = inflate.total_out() as usize == bytes.len();
                if !is_full || bytes.len() >= limit {
                    return None;
                }
                bytes.resize((bytes.len() * 2).min(limit), 0);
            }
            Err(_) => return None,
        }
    }
}

/// A walk over all bytes of a file.
struct Scan<'b> {
    file: File<'b>,
    lexer: Lexer<'b>,
    /// Where each object stands.
    places: BTreeMap<u32, usize>,
    /// The objects that are tables.
    tables: Vec<u32>,
    /// How many ends there are.
    ends: usize,
    /// Behind the last of them.
    last_end: usize,
    /// Whether `endstream` is known not to stand in the rest.
    is_last_stream: bool,
}

impl<'b> Scan<'b> {
    fn new(bytes: &'b [u8]) -> Self {
        let (objects, trailer) = (BTreeMap::new(), Dictionary::new());
        let file = File { bytes, objects, trailer, form: Form::default(), inflated: Cell::new(0), values: 0 };
        let (places, tables) = (BTreeMap::new(), Vec::new());
        Scan { file, lexer: Lexer::new(bytes, 0), places, tables, ends: 0, last_end: 0, is_last_stream: false }
    }

    fn all(&mut self) {
        /// What every file of this program begins with: the version, and four bytes that tell that it is not text.
        const HEAD: &[u8] = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n";
        match self.file.bytes.starts_with(HEAD) {
            true => self.lexer.at = HEAD.len(),
            false => self.file.form.is_other = true,
        }
        // Bytes that may be looked at in vain: else a hostile file could be read to its end from each of its lines.
        let mut patience = 8 * self.file.bytes.len() + 1_000_000;
        while self.lexer.at < self.file.bytes.len() && self.file.values < MOST_VALUES {
            let begin = self.lexer.at;
            if !self.next(begin) {
                self.file.form.is_other = true;
                patience = patience.saturating_sub(self.lexer.at.saturating_sub(begin));
                if patience == 0 {
                    return;
                }
                // On to the next line: what begins elsewhere is no object of a sound file.
                let rest = &self.file.bytes[begin..];
                let line = rest.iter().position(|byte| matches!(byte, b'\r' | b'\n')).unwrap_or(rest.len() - 1);
                self.lexer.at = begin + line + 1;
            }
        }
    }

    /// Whether an object, a table or an end stands here.
    fn next(&mut self, begin: usize) -> bool {
        let rest = &self.file.bytes[begin..];
        if rest.starts_with(b"startxref") {
            return self.end(begin);
        }
        if rest.starts_with(b"trailer") {
            self.lexer.at = begin + 7;
            self.file.form.is_other = true;
            return match self.lexer.object() {
                Some(Object::Dictionary(trailer)) => {
                    self.take_trailer(&trailer);
                    true
                }
                Some(_) | None => false,
            };
        }
        if rest.first().is_some_and(u8::is_ascii_digit) {
            return self.object(begin).is_some();
        }
        false
    }

    /// `startxref`, where the table stands, `%%EOF`.
    fn end(&mut self, begin: usize) -> bool {
        self.lexer.at = begin + 9;
        let place = self.lexer.whole();
        let known = self.tables.last().and_then(|table| self.places.get(table));
        self.file.form.is_other |= known.is_none() || known != place.as_ref();
        let rest = &self.file.bytes[self.lexer.at..];
        let Some(mark) = rest.strip_prefix(b"\n%%EOF\n") else {
            let line = rest.windows(5).take(16).position(|five| five == b"%%EOF");
            self.file.form.is_other = true;
            self.lexer.at += line.map_or(0, |line| line + 5);
            self.counted();
            return line.is_some();
        };
        self.lexer.at = self.file.bytes.len() - mark.len();
        self.counted();
        true
    }

    fn counted(&mut self) {
        self.ends += 1;
        self.last_end = self.lexer.at;
    }

    fn object(&mut self, begin: usize) -> Option<()> {
        self.file.values += self.lexer.values;
        self.lexer = Lexer::new(self.file.bytes, begin);
        let id = u32::try_from(self.lexer.whole()?).ok()?;
        let generation = self.lexer.whole()?;
        if !self.lexer.takes(b"obj") {
            return None;
        }
        let object = self.lexer.object()?;
        let stream = if self.lexer.takes(b"stream") { Some(self.stream(&object)?) } else { None };
        let is_closed = self.lexer.takes(b"endobj");
        self.file.form.is_other |= !is_closed || generation != 0;
        self.lexer.at += usize::from(self.file.bytes.get(self.lexer.at) == Some(&b'\n'));
        if stream.is_some() && is_of_type(&object, b"XRef") {
            self.tables.push(id);
            if let Ok(entries) = object.as_dict() {
                self.take_trailer(entries);
            }
        }
        // Of two with one number the later holds.
        self.file.form.is_other |= self.file.objects.insert(id, Held { object, stream }).is_some();
        self.places.insert(id, begin);
        Some(())
    }

    /// Where the bytes of a stream stand, after the keyword.
    fn stream(&mut self, object: &Object) -> Option<Range<usize>> {
        let bytes = self.file.bytes;
        let rest = &bytes[self.lexer.at..];
        self.lexer.at += if rest.starts_with(b"\r\n") { 2 } else { usize::from(rest.first() == Some(&b'\n')) };
        let begin = self.lexer.at;
        let length = object.as_dict().ok()?.get(b"Length").and_then(Object::as_i64).ok();
        let told = length.and_then(|length| begin.checked_add(usize::try_from(length).ok()?));
        if let Some(end) = told.filter(|&end| end <= bytes.len()) {
            let mut after = Lexer::new(bytes, end);
            if after.takes(b"endstream") {
                self.lexer.at = after.at;
                return Some(begin..end);
            }
        }
        self.file.form.is_other = true;
        if self.is_last_stream {
            return None;
        }
        let Some(length) = bytes[begin..].windows(9).position(|nine| nine == b"endstream") else {
            self.is_last_stream = true;
            return None;
        };
        self.lexer.at = begin + length + 9;
        let content = &bytes[begin..begin + length];
        let trimmed = content.strip_suffix(b"\r\n").or(content.strip_suffix(b"\n")).or(content.strip_suffix(b"\r"));
        Some(begin..begin + trimmed.unwrap_or(content).len())
    }

    /// What an end says: the later holds.
    fn take_trailer(&mut self, entries: &Dictionary) {
        for key in [b"Root".as_slice(), b"Info", b"ID", b"Encrypt"] {
            if let Ok(value) = entries.get(key) {
                self.file.trailer.set(key, value.clone());
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_swells_beyond_the_limit_or_is_damaged_is_nothing() {
        let document = |bytes: &[u8]| {
            let mut compressed = vec![0; zlib_rs::compress_bound(bytes.len())];
            let mut deflate = zlib_rs::Deflate::new(6, true, 15);
            deflate.compress(bytes, &mut compressed, zlib_rs::DeflateFlush::Finish).expect("room");
            compressed.truncate(deflate.total_out() as usize);
            compressed
        };
        let compressed = document(&[7; 100_000]);
        assert_eq!(inflated(&compressed, 100_000).map(|bytes| bytes.len()), Some(100_000));
        assert_eq!(inflated(&compressed, 99_999), None);
        assert_eq!(inflated(&compressed[..compressed.len() - 1], 100_000), None);
        let mut damaged = compressed.clone();
        *damaged.last_mut().expect("bytes") ^= 1;
        assert_eq!(inflated(&damaged, 100_000), None);
        assert_eq!(inflated(&[compressed, vec![0]].concat(), 100_000), None);
    }

    #[test]
    fn hostile_bytes_are_refused_quickly() {
        let many = b"1 0 obj <<>> stream\n".repeat(50_000);
        for bytes in [
            b"".as_slice(),
            b"%PDF-1.7\n",
            &many,
            &b"1 0 obj [".repeat(100_000),
            &b"1 0 obj (\n".repeat(300_000),
            &b"startxref".repeat(100_000),
        ] {
            let begun = std::time::Instant::now();
            assert!(File::read(bytes).is_err());
            assert!(begun.elapsed().as_secs() < 5);
        }
    }
}
