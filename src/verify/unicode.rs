//! What the codes of a font stand for.
//!
//! Comes in: the map that a font carries. Goes out: a text for each code. Next: [`super::text`].
//!
//! Source: ISO 32000-1:2008, 9.10.3 (ToUnicode).

use super::syntax::{Lexer, Token};
use lopdf::Object;
use std::collections::HashMap;

/// Most codes of a font.
const MOST_CODES: usize = 70_000;

/// A text for each code of one or two bytes.
#[derive(Debug, Default)]
pub(super) struct Unicode {
    texts: HashMap<u32, String>,
    /// Entries read so far.
    entries: usize,
}

impl Unicode {
    /// Reads a map.
    pub(super) fn read(map: &[u8]) -> Unicode {
        let mut unicode = Unicode::default();
        let mut lexer = Lexer::new(map, 0);
        let mut operands: Vec<Object> = Vec::new();
        while let Some(token) = lexer.token() {
            match token {
                Token::Object(object) => operands.push(object),
                Token::Word(word) => {
                    match word {
                        b"endbfchar" => unicode.characters(&operands),
                        b"endbfrange" => unicode.ranges(&operands),
                        _ => {}
                    }
                    operands.clear();
                }
            }
        }
        unicode
    }

    /// What a code stands for.
    pub(super) fn text(&self, code: u32) -> Option<&str> {
        self.texts.get(&code).map(String::as_str)
    }

    fn characters(&mut self, operands: &[Object]) {
        for pair in operands.chunks_exact(2) {
            if let (Some(code), Ok(text)) = (code(&pair[0]), pair[1].as_str()) {
                self.enter(code, utf_16(text));
            }
        }
    }

    fn ranges(&mut self, operands: &[Object]) {
        for three in operands.chunks_exact(3).take(MOST_CODES.saturating_sub(self.entries)) {
            let (Some(first), Some(last)) = (code(&three[0]), code(&three[1])) else { continue };
            match &three[2] {
                Object::String(begin, _) => {
                    for code in first..=last.min(first.saturating_add(0xffff)) {
                        if self.entries >= MOST_CODES {
                            return;
                        }
                        let mut text = begin.clone();
                        let Some(end) = text.last_mut() else { break };
                        *end = end.wrapping_add((code - first) as u8);
                        self.enter(code, utf_16(&text));
                    }
                }
                Object::Array(texts) => {
                    let texts = texts.iter().filter_map(|text| text.as_str().ok());
                    (first..=last).zip(texts).for_each(|(code, text)| self.enter(code, utf_16(text)));
                }
                _ => {}
            }
        }
    }

    fn enter(&mut self, code: u32, text: String) {
        self.entries += 1;
        if self.entries < MOST_CODES {
            self.texts.insert(code, text);
        }
    }
}

fn code(object: &Object) -> Option<u32> {
    let bytes = object.as_str().ok().filter(|bytes| bytes.len() <= 4)?;
    Some(bytes.iter().fold(0, |code, &byte| code << 8 | u32::from(byte)))
}

/// A text in UTF-16, big end first.
pub(super) fn utf_16(bytes: &[u8]) -> String {
    let units: Vec<u16> = bytes.chunks_exact(2).map(|two| u16::from_be_bytes([two[0], two[1]])).collect();
    String::from_utf16_lossy(&units)
}

/// A text in a string object: UTF-16 or UTF-8 with its mark, else a letter a byte.
///
/// Source: ISO 32000-1:2008, 7.9.2.2; ISO 32000-2:2020, 7.9.2.2.1 (UTF-8).
pub(super) fn text(bytes: &[u8]) -> String {
    if let Some(rest) = bytes.strip_prefix(b"\xfe\xff") {
        return utf_16(rest);
    }
    match bytes.strip_prefix(b"\xef\xbb\xbf") {
        Some(rest) => String::from_utf8_lossy(rest).into_owned(),
        None => bytes.iter().map(|&byte| char::from(byte)).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn characters_and_ranges_are_read() {
        let map = b"%!PS (\n2 beginbfchar\n<0001> <0041>\n<0002> <D83DDE00>\nendbfchar\n\
            2 beginbfrange <0010> <0012> <0061> <20> <21> [<0078> <0079007A>] endbfrange";
        let unicode = Unicode::read(map);
        let texts = [1, 2, 0x11, 0x12, 0x21, 3].map(|code| unicode.text(code));
        assert_eq!(texts, [Some("A"), Some("😀"), Some("b"), Some("c"), Some("yz"), None]);
    }

    #[test]
    fn texts_have_three_forms() {
        assert_eq!(text(b"\xfe\xff\x03\xa9"), "Ω");
        assert_eq!(text("\u{feff}Ω".as_bytes()), "Ω");
        assert_eq!(text(b"A\xb5"), "Aµ");
    }
}
