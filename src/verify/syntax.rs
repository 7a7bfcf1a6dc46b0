//! The objects of a PDF, read from bytes that nobody has looked at.
//!
//! Comes in: bytes. Goes out: objects and words one after the other; depth and number are limited, nothing is trusted. Next:
//! [`super::file`] and [`super::text`].
//!
//! Source: ISO 32000-1:2008, 7.2 and 7.3 (characters, objects).

use lopdf::{Dictionary, Object, StringFormat};

/// Deepest nesting of arrays and dictionaries that is read.
///
/// Source: our own choice: documents of this program nest nine deep.
const DEEPEST: usize = 40;
/// Most values that are read from one run of bytes, and of the objects of a file, so that memory stays within bounds.
///
/// Source: our own choice: a document of ten pages has about 60 000.
pub(super) const MOST_VALUES: usize = 2_000_000;

/// What stands next.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Token<'b> {
    /// An object.
    Object(Object),
    /// An operator or keyword.
    Word(&'b [u8]),
}

/// Reads one object after the other.
#[derive(Debug, Clone)]
pub(super) struct Lexer<'b> {
    bytes: &'b [u8],
    /// Where the next byte stands.
    pub(super) at: usize,
    /// Values read so far.
    pub(super) values: usize,
}

impl<'b> Lexer<'b> {
    /// Begins at a byte.
    pub(super) fn new(bytes: &'b [u8], at: usize) -> Self {
        Lexer { bytes, at, values: 0 }
    }

    /// What stands next; none at the end and where no token can be made of the bytes.
    pub(super) fn token(&mut self) -> Option<Token<'b>> {
        self.value(0)
    }

    /// The object that stands next, where it is one.
    pub(super) fn object(&mut self) -> Option<Object> {
        match self.value(0)? {
            Token::Object(object) => Some(object),
            Token::Word(_) => None,
        }
    }

    /// The whole number that stands next, where it is one.
    pub(super) fn whole(&mut self) -> Option<usize> {
        self.skip_white();
        let word = self.regular();
        usize::try_from(integer(word)?).ok()
    }

    /// Takes a keyword, where it stands next.
    pub(super) fn takes(&mut self, word: &[u8]) -> bool {
        self.skip_white();
        let stands = self.bytes[self.at..].starts_with(word)
            && self.bytes.get(self.at + word.len()).is_none_or(|&byte| !is_regular(byte));
        if stands {
            self.at += word.len();
        }
        stands
    }

    /// Goes over white space and comments.
    pub(super) fn skip_white(&mut self) {
        while let Some(&byte) = self.bytes.get(self.at) {
            match byte {
                b'%' => {
                    let line = self.bytes[self.at..].iter().position(|byte| matches!(byte, b'\r' | b'\n'));
                    self.at = line.map_or(self.bytes.len(), |length| self.at + length);
                }
                _ if is_white(byte) => self.at += 1,
                _ => return,
            }
        }
    }

    fn value(&mut self, depth: usize) -> Option<Token<'b>> {
        self.values += 1;
        if depth > DEEPEST || self.values > MOST_VALUES {
            return None;
        }
        self.skip_white();
        let object = match (*self.bytes.get(self.at)?, self.bytes.get(self.at + 1)) {
            (b'/', _) => self.name(),
            (b'(', _) => self.literal()?,
            (b'<', Some(b'<')) => Object::Dictionary(self.dictionary(depth)?),
            (b'<', _) => self.hexadecimal()?,
            (b'[', _) => Object::Array(self.array(depth)?),
            (byte, _) if is_regular(byte) => return Some(self.number_or_word()),
            _ => return None,
        };
        Some(Token::Object(object))
    }

    fn regular(&mut self) -> &'b [u8] {
        let rest = &self.bytes[self.at..];
        let length = rest.iter().position(|&byte| !is_regular(byte)).unwrap_or(rest.len());
        self.at += length;
        &rest[..length]
    }

    fn number_or_word(&mut self) -> Token<'b> {
        let word = self.regular();
        let object = match word {
            b"true" => Object::Boolean(true),
            b"false" => Object::Boolean(false),
            b"null" => Object::Null,
            _ => match (integer(word), real(word)) {
                (Some(number), _) => self.reference(number).unwrap_or(Object::Integer(number)),
                (None, Some(number)) => Object::Real(number),
                (None, None) => return Token::Word(word),
            },
        };
        Token::Object(object)
    }

    /// `7 0 R`, after its first number.
    fn reference(&mut self, number: i64) -> Option<Object> {
        let begin = self.at;
        let number = u32::try_from(number).ok();
        let generation = self.whole().and_then(|it| u16::try_from(it).ok());
        match (number, generation, self.takes(b"R")) {
            (Some(number), Some(generation), true) => Some(Object::Reference((number, generation))),
            (_, _, _) => {
                self.at = begin;
                None
            }
        }
    }

    fn name(&mut self) -> Object {
        self.at += 1;
        let raw = self.regular();
        let mut name = Vec::with_capacity(raw.len());
        let mut at = 0;
        while let Some(&byte) = raw.get(at) {
            let escaped = raw
                .get(at + 1..at + 3)
                .filter(|_| byte == b'#')
                .and_then(|two| Some(digit(two[0])? << 4 | digit(two[1])?));
            name.push(escaped.unwrap_or(byte));
            at += if escaped.is_some() { 3 } else { 1 };
        }
        Object::Name(name)
    }

    fn array(&mut self, depth: usize) -> Option<Vec<Object>> {
        self.at += 1;
        let mut array = Vec::new();
        loop {
            self.skip_white();
            if self.bytes.get(self.at) == Some(&b']') {
                self.at += 1;
                return Some(array);
            }
            match self.value(depth + 1)? {
                Token::Object(object) => array.push(object),
                Token::Word(_) => return None,
            }
        }
    }

    fn dictionary(&mut self, depth: usize) -> Option<Dictionary> {
        self.at += 2;
        let mut entries = Dictionary::new();
        loop {
            self.skip_white();
            if self.bytes[self.at..].starts_with(b">>") {
                self.at += 2;
                return Some(entries);
            }
            match (self.value(depth + 1)?, self.value(depth + 1)?) {
                (Token::Object(Object::Name(key)), Token::Object(value)) => entries.set(key, value),
                (_, _) => return None,
            }
        }
    }

    fn hexadecimal(&mut self) -> Option<Object> {
        let rest = &self.bytes[self.at + 1..];
        let Some(length) = rest.iter().position(|&byte| byte == b'>') else {
            self.at = self.bytes.len();
            return None;
        };
        let digits = rest[..length].iter().filter(|byte| !is_white(**byte)).map(|&byte| digit(byte));
        let digits = digits.collect::<Option<Vec<u8>>>()?;
        self.at += length + 2;
        let bytes = digits.chunks(2).map(|two| two[0] << 4 | two.get(1).copied().unwrap_or_default());
        Some(Object::String(bytes.collect(), StringFormat::Hexadecimal))
    }

    fn literal(&mut self) -> Option<Object> {
        self.at += 1;
        let (mut text, mut open) = (Vec::new(), 1);
        loop {
            let byte = *self.bytes.get(self.at)?;
            self.at += 1;
            match byte {
                b'(' => open += 1,
                b')' => open -= 1,
                b'\\' => {
                    text.extend(self.escaped()?);
                    continue;
                }
                _ => {}
            }
            if open == 0 {
                return Some(Object::String(text, StringFormat::Literal));
            }
            text.push(byte);
        }
    }

    /// What stands after a backslash.
    fn escaped(&mut self) -> Option<Option<u8>> {
        let byte = *self.bytes.get(self.at)?;
        self.at += 1;
        Some(match byte {
            b'n' => Some(b'\n'),
            b'r' => Some(b'\r'),
            b't' => Some(b'\t'),
            b'b' => Some(8),
            b'f' => Some(12),
            b'\n' => None,
            b'\r' => {
                self.at += usize::from(self.bytes.get(self.at) == Some(&b'\n'));
                None
            }
            b'0'..=b'7' => {
                let mut code = u32::from(byte - b'0');
                for _ in 0..2 {
                    let Some(next @ b'0'..=b'7') = self.bytes.get(self.at) else { break };
                    code = code * 8 + u32::from(next - b'0');
                    self.at += 1;
                }
                Some(code as u8)
            }
            other => Some(other),
        })
    }
}

fn is_white(byte: u8) -> bool {
    matches!(byte, 0 | b'\t' | b'\n' | 12 | b'\r' | b' ')
}

fn is_regular(byte: u8) -> bool {
    !is_white(byte) && !matches!(byte, b'(' | b')' | b'<' | b'>' | b'[' | b']' | b'{' | b'}' | b'/' | b'%')
}

fn digit(byte: u8) -> Option<u8> {
    char::from(byte).to_digit(16).map(|digit| digit as u8)
}

fn integer(word: &[u8]) -> Option<i64> {
    std::str::from_utf8(word).ok()?.parse().ok()
}

fn real(word: &[u8]) -> Option<f32> {
    let is_number = word.iter().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b'-' | b'+'));
    let number: f32 = std::str::from_utf8(word).ok().filter(|_| is_number)?.parse().ok()?;
    number.is_finite().then_some(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &[u8]) -> Option<Object> {
        Lexer::new(text, 0).object()
    }

    #[test]
    fn objects_are_read_in_every_form() {
        let object = read(b"<</A#20b [1 -2.5 (x\\)\\101(y)) <4a4B5> true null 7 0 R]/C<</D/E>>>>").expect("an object");
        let entries = object.as_dict().expect("a dictionary");
        let array = entries.get(b"A b").and_then(Object::as_array).expect("an array");
        assert_eq!(array[..2], [Object::Integer(1), Object::Real(-2.5)]);
        assert_eq!(array[2].as_str().ok(), Some(b"x)A(y)".as_slice()));
        assert_eq!(array[3].as_str().ok(), Some(b"JKP".as_slice()));
        assert_eq!(array[4..], [Object::Boolean(true), Object::Null, Object::Reference((7, 0))]);
        assert!(entries.get(b"C").and_then(Object::as_dict).is_ok());
    }

    #[test]
    fn numbers_beside_each_other_are_no_reference() {
        let mut lexer = Lexer::new(b"1 0 0 RG % end\n12", 0);
        let tokens: Vec<Token> = std::iter::from_fn(|| lexer.token()).collect();
        let number = |number| Token::Object(Object::Integer(number));
        assert_eq!(tokens, [number(1), number(0), number(0), Token::Word(b"RG"), number(12)]);
    }

    #[test]
    fn what_is_cut_or_too_deep_is_nothing() {
        let deep = [b"[".repeat(100_000), b"]".repeat(100_000)].concat();
        for text in [b"[1 2".as_slice(), b"<</A", b"(x", b"<4", b"<4z>", b")", b"", &deep, b"<</A>>"] {
            assert_eq!(read(text), None, "{}", String::from_utf8_lossy(&text[..text.len().min(20)]));
        }
    }
}
