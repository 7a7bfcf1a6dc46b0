//! Objects as text.
//!
//! Comes in: an object. Goes out: its text. Next: [`super::file`].
//!
//! Source: ISO 32000-1:2008, 7.3 (objects).

use crate::paint::short::Short;
use lopdf::{Dictionary, Object, ObjectId, StringFormat};
use std::io::Write;

/// Writes an object; of a stream, its dictionary.
pub fn object(out: &mut Vec<u8>, object: &Object) {
    match object {
        Object::Null => out.extend_from_slice(b"null"),
        Object::Boolean(true) => out.extend_from_slice(b"true"),
        Object::Boolean(false) => out.extend_from_slice(b"false"),
        Object::Integer(number) => shown(out, number),
        Object::Real(number) => shown(out, number),
        Object::Name(name) => self::name(out, name),
        Object::String(bytes, StringFormat::Literal) => literal(out, bytes),
        Object::String(bytes, StringFormat::Hexadecimal) => hexadecimal(out, bytes),
        Object::Array(array) => {
            out.push(b'[');
            for (at, one) in array.iter().enumerate() {
                if at > 0 {
                    out.push(b' ');
                }
                self::object(out, one);
            }
            out.push(b']');
        }
        Object::Dictionary(entries) => dictionary(out, entries),
        Object::Stream(stream) => dictionary(out, &stream.dict),
        Object::Reference(id) => reference(out, *id),
    }
}

/// Writes a dictionary.
pub fn dictionary(out: &mut Vec<u8>, entries: &Dictionary) {
    out.extend_from_slice(b"<<");
    for (key, value) in entries {
        name(out, key);
        out.push(b' ');
        object(out, value);
    }
    out.extend_from_slice(b">>");
}

/// Writes a reference to an object.
pub fn reference(out: &mut Vec<u8>, (id, _): ObjectId) {
    whole(out, id);
    out.extend_from_slice(b" 0 R");
}

/// Writes a whole number.
pub fn whole(out: &mut Vec<u8>, number: u32) {
    out.extend_from_slice(Short::whole(number).as_bytes());
}

fn shown(out: &mut Vec<u8>, number: impl std::fmt::Display) {
    write!(out, "{number}").expect("writing to memory does not fail");
}

fn name(out: &mut Vec<u8>, name: &[u8]) {
    out.push(b'/');
    for &byte in name {
        match byte {
            b'(' | b')' | b'<' | b'>' | b'[' | b']' | b'{' | b'}' | b'/' | b'%' | b'#' => escaped(out, byte),
            b'!'..=b'~' => out.push(byte),
            _ => escaped(out, byte),
        }
    }
}

fn escaped(out: &mut Vec<u8>, byte: u8) {
    out.push(b'#');
    hexadecimal_digits(out, byte);
}

fn literal(out: &mut Vec<u8>, bytes: &[u8]) {
    out.push(b'(');
    for &byte in bytes {
        match byte {
            b'(' | b')' | b'\\' => out.extend_from_slice(&[b'\\', byte]),
            b'\r' => out.extend_from_slice(b"\\r"),
            _ => out.push(byte),
        }
    }
    out.push(b')');
}

fn hexadecimal(out: &mut Vec<u8>, bytes: &[u8]) {
    out.push(b'<');
    bytes.iter().for_each(|&byte| hexadecimal_digits(out, byte));
    out.push(b'>');
}

fn hexadecimal_digits(out: &mut Vec<u8>, byte: u8) {
    const DIGITS: &[u8; 16] = b"0123456789ABCDEF";
    out.extend([byte >> 4, byte & 15].map(|digit| DIGITS[usize::from(digit)]));
}

#[cfg(test)]
mod tests {
    use super::*;
    use lopdf::dictionary;

    #[test]
    fn objects_are_written_as_the_standard_has_them() {
        let given = dictionary! {
            "Type" => "application/yaml",
            "Title" => Object::string_literal("a (b) \\ c"),
            "Wide" => Object::String(vec![0xfe, 0xff, 0, 65], StringFormat::Hexadecimal),
            "List" => vec![1.into(), Object::Real(-0.5), true.into(), Object::Null, (7, 0).into()],
        };
        let mut out = Vec::new();
        dictionary(&mut out, &given);
        let expected =
            "<</Type /application#2Fyaml/Title (a \\(b\\) \\\\ c)/Wide <FEFF0041>/List [1 -0.5 true null 7 0 R]>>";
        assert_eq!(String::from_utf8_lossy(&out), expected);
    }
}
