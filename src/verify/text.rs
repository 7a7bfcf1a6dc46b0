//! What stands on the pages, line by line in the order in which it is read.
//!
//! Comes in: a [`File`]. Goes out: [`Page`]s. Next: [`super::read`].
//!
//! A text object is a line, as this program writes it; `ActualText` says what its glyphs do not.
//!
//! Source: ISO 32000-1:2008, 9.4 (text objects), 14.9.4 (ActualText).

use super::file::File;
use super::syntax::{Lexer, Token};
use super::unicode::{self, Unicode};
use lopdf::{Dictionary, Object};
use std::collections::HashMap;
use std::rc::Rc;

/// Most pages that are read.
///
/// Source: our own choice: the largest visit takes some 60.
const MOST_PAGES: usize = 2000;
/// Most operands of one operator.
const MOST_OPERANDS: usize = 4000;

/// A page.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Page {
    /// Its lines.
    pub(super) lines: Vec<String>,
    /// Its content as operators, decompressed; empty where it is damaged.
    pub(super) content: Vec<u8>,
    /// Whether notes lie on it.
    pub(super) has_annotations: bool,
    /// Whether something on it cannot be read.
    pub(super) is_damaged: bool,
}

/// All pages, in order.
pub(super) fn pages(file: &File<'_>) -> Vec<Page> {
    let root = file.catalog().and_then(|catalog| file.within(catalog, b"Pages"));
    let found = root.map(|root| collect(file, root)).unwrap_or_default();
    let mut fonts = Fonts { file, known: HashMap::new() };
    found.into_iter().map(|(page, resources)| fonts.page(page, resources)).collect()
}

type Found<'f> = (&'f Dictionary, Option<&'f Dictionary>);

/// The pages below a node, each with its resources; a tree that leads back into itself ends.
fn collect<'f>(file: &'f File<'_>, root: &'f Dictionary) -> Vec<Found<'f>> {
    let (mut found, mut left): (Vec<Found>, Vec<Found>) = (Vec::new(), vec![(root, None)]);
    for _ in 0..2 * MOST_PAGES {
        let Some((node, above)) = left.pop() else { break };
        let resources = file.within(node, b"Resources").or(above);
        match file.entry(node, b"Kids") {
            Some(Object::Array(kids)) => {
                let kids = kids.iter().take(MOST_PAGES).filter_map(|kid| file.resolved(kid)?.as_dict().ok());
                let kids: Vec<Found> = kids.map(|kid| (kid, resources)).collect();
                left.extend(kids.into_iter().rev());
            }
            Some(_) | None => found.push((node, resources)),
        }
    }
    found
}

struct Fonts<'f, 'b> {
    file: &'f File<'b>,
    known: HashMap<*const Dictionary, Rc<Unicode>>,
}

impl<'f> Fonts<'f, '_> {
    fn page(&mut self, page: &Dictionary, resources: Option<&'f Dictionary>) -> Page {
        let has_annotations = match self.file.entry(page, b"Annots") {
            Some(Object::Array(annotations)) => !annotations.is_empty(),
            Some(_) => true,
            None => false,
        };
        let mut read = Page { has_annotations, ..Page::default() };
        let contents: Vec<&Object> = match page.get(b"Contents") {
            Ok(Object::Array(list)) => list.iter().collect(),
            Ok(single @ Object::Reference(_)) => match self.file.resolved(single) {
                Some(Object::Array(list)) => list.iter().collect(),
                Some(_) | None => vec![single],
            },
            Ok(_) | Err(_) => Vec::new(),
        };
        for content in contents {
            match self.file.content(content) {
                Some(mut bytes) => {
                    read.content.append(&mut bytes);
                    read.content.push(b'\n');
                }
                None => read.is_damaged = true,
            }
        }
        let fonts = resources.and_then(|resources| self.file.within(resources, b"Font"));
        let mut reader =
            Reader { fonts: self, named: fonts, font: None, line: String::new(), said: Vec::new(), lines: Vec::new() };
        read.is_damaged |= !reader.all(&read.content);
        read.lines = reader.lines;
        read
    }

    /// What the codes of a font stand for; none where it has no map.
    fn unicode(&mut self, font: &'f Dictionary) -> Rc<Unicode> {
        let file = self.file;
        let known = self.known.entry(std::ptr::from_ref(font)).or_insert_with(|| {
            let map = font.get(b"ToUnicode").ok().and_then(|map| file.content(map));
            Rc::new(map.map(|map| Unicode::read(&map)).unwrap_or_default())
        });
        Rc::clone(known)
    }
}

/// A font in use: how many bytes a code has, and what codes stand for.
struct Font {
    is_composite: bool,
    unicode: Rc<Unicode>,
}

struct Reader<'r, 'f, 'b> {
    fonts: &'r mut Fonts<'f, 'b>,
    named: Option<&'f Dictionary>,
    font: Option<Font>,
    line: String,
    /// What each stretch of marked content that is open says in place of its glyphs.
    said: Vec<Option<String>>,
    lines: Vec<String>,
}

impl Reader<'_, '_, '_> {
    /// Reads all operators; whether every byte was understood.
    fn all(&mut self, content: &[u8]) -> bool {
        let mut lexer = Lexer::new(content, 0);
        let mut operands: Vec<Object> = Vec::new();
        loop {
            match lexer.token() {
                Some(Token::Object(object)) if operands.len() < MOST_OPERANDS => operands.push(object),
                Some(Token::Object(_)) => return false,
                Some(Token::Word(word)) => {
                    self.operator(word, &operands);
                    operands.clear();
                }
                None => {
                    self.end_line();
                    lexer.skip_white();
                    return lexer.at >= content.len();
                }
            }
        }
    }

    fn operator(&mut self, operator: &[u8], operands: &[Object]) {
        match (operator, operands) {
            (b"BT" | b"ET", _) => self.end_line(),
            (b"Tf", [Object::Name(name), _]) => self.font = self.font_of(name),
            (b"Tj" | b"'" | b"\"", [.., Object::String(codes, _)]) => self.show(codes),
            (b"TJ", [Object::Array(parts)]) => {
                let codes = parts.iter().filter_map(|part| part.as_str().ok());
                codes.for_each(|codes| self.show(codes));
            }
            (b"BMC", _) => self.said.push(None),
            (b"BDC", [_, about]) => {
                let said = about.as_dict().ok().and_then(|about| about.get(b"ActualText").ok()?.as_str().ok());
                let said = said.map(unicode::text);
                if !self.is_said() {
                    self.line.push_str(said.as_deref().unwrap_or_default());
                }
                self.said.push(said);
            }
            (b"BDC", _) => self.said.push(None),
            (b"EMC", _) => drop(self.said.pop()),
            (_, _) => {}
        }
    }

    /// Whether something open says its text itself.
    fn is_said(&self) -> bool {
        self.said.iter().any(Option::is_some)
    }

    fn font_of(&mut self, name: &[u8]) -> Option<Font> {
        let font = self.fonts.file.within(self.named?, name)?;
        let is_composite = font.get(b"Subtype").and_then(Object::as_name).is_ok_and(|name| name == b"Type0");
        Some(Font { is_composite, unicode: self.fonts.unicode(font) })
    }

    fn show(&mut self, codes: &[u8]) {
        if self.is_said() {
            return;
        }
        let size = if self.font.as_ref().is_some_and(|font| font.is_composite) { 2 } else { 1 };
        for code in codes.chunks(size) {
            let number = code.iter().fold(0, |number, &byte| number << 8 | u32::from(byte));
            match self.font.as_ref().and_then(|font| font.unicode.text(number)) {
                Some(text) => self.line.push_str(text),
                // A font that does not say what its codes stand for: a letter a byte.
                None => self.line.extend(code.iter().map(|&byte| char::from(byte)).filter(|c| !c.is_control())),
            }
        }
    }

    fn end_line(&mut self) {
        let line = self.line.trim_end_matches(' ');
        if !line.is_empty() {
            self.lines.push(line.to_owned());
        }
        self.line.clear();
    }
}
