//! Bytes to text: UTF-8 only, and no character that two readers could take for different things.

use super::lines::Lines;
use crate::problem::{Place, Problem};
use crate::source::MAX_TEXT_BYTES;

/// The text of `bytes` without its byte-order mark.
pub(super) fn decode(file: &str, bytes: &[u8]) -> Result<Lines, Problem> {
    if bytes.len() as u64 > MAX_TEXT_BYTES {
        return Err(Problem::error(
            "file-too-large",
            &Place::whole(file),
            format!("the file has {} bytes", bytes.len()),
            format!("more than {MAX_TEXT_BYTES} bytes are not read: a visit of ten loops takes about 15 000"),
            "check that this is the right file",
        ));
    }
    wide(file, bytes)?;
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let text = std::str::from_utf8(bytes).map_err(|error| broken(file, bytes, error.valid_up_to()))?;
    let lines = Lines::new(text.to_owned());
    match text.char_indices().find(|(_, character)| is_unwanted(*character)) {
        Some((byte, character)) => Err(unwanted(file, &lines, byte, character)),
        None => Ok(lines),
    }
}

/// UTF-16 and UTF-32, with or without a byte-order mark.
fn wide(file: &str, bytes: &[u8]) -> Result<(), Problem> {
    let found = match bytes {
        [0xff, 0xfe, 0, 0, ..] | [0, 0, 0xfe, 0xff, ..] | [0, 0, 0, _, ..] | [_, 0, 0, 0, ..] => "UTF-32",
        [0xff, 0xfe, ..] | [0xfe, 0xff, ..] | [0, _, ..] | [_, 0, ..] => "UTF-16",
        _ => return Ok(()),
    };
    Err(Problem::error(
        "text-encoding",
        &Place { line: 1, column: 1, ..Place::whole(file) },
        format!("the file looks like {found} text (byte offset 0)"),
        "these files are UTF-8 text",
        "save as UTF-8",
    ))
}

/// The first byte that is not UTF-8.
fn broken(file: &str, bytes: &[u8], offset: usize) -> Problem {
    let before = Lines::new(String::from_utf8_lossy(&bytes[..offset]).into_owned());
    let (line, column) = before.place_of(before.text().len());
    let byte = bytes.get(offset).copied().unwrap_or_default();
    let meant = match byte {
        0xa1..=0xff => format!("; in Latin-1 or Windows-1252 it would be `{}`", char::from(byte)),
        _ => String::new(),
    };
    let start = bytes[..offset].iter().rposition(|byte| matches!(byte, b'\n' | b'\r')).map_or(0, |index| index + 1);
    let end = bytes[offset..]
        .iter()
        .position(|byte| matches!(byte, b'\n' | b'\r'))
        .map_or(bytes.len(), |index| offset + index);
    Problem::error(
        "text-encoding",
        &Place { line, column, ..Place::whole(file) },
        format!("the byte 0x{byte:02X} at byte offset {offset} is not UTF-8{meant}"),
        "these files are UTF-8 text; a guess at another encoding could put wrong characters into a certificate",
        "save as UTF-8",
    )
    .with_excerpt(&String::from_utf8_lossy(&bytes[start..end]))
}

/// Line breaks to YAML 1.1 readers only, and control characters but tab and line breaks.
fn is_unwanted(character: char) -> bool {
    matches!(character,
        '\0'..='\u{8}' | '\u{b}' | '\u{c}' | '\u{e}'..='\u{1f}' | '\u{7f}'..='\u{9f}' | '\u{2028}' | '\u{2029}'
        | '\u{fffe}' | '\u{ffff}')
}

fn unwanted(file: &str, lines: &Lines, byte: usize, character: char) -> Problem {
    let (line, column) = lines.place_of(byte);
    let (code, why) = match character {
        '\u{85}' | '\u{2028}' | '\u{2029}' => (
            "line-separator",
            "some readers take it for a line break and others do not, so the file could mean two things",
        ),
        _ => ("control-character", "it cannot be seen, and no text file should hold it"),
    };
    Problem::error(
        code,
        &Place { line, column, ..Place::whole(file) },
        format!("found the character U+{:04X}", u32::from(character)),
        why,
        "delete it; it often comes with text copied from another program",
    )
    .with_excerpt(lines.line(line))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(bytes: &[u8]) -> Problem {
        decode("visit.yaml", bytes).map(|lines| lines.text().to_owned()).expect_err("a problem")
    }

    #[test]
    fn a_byte_order_mark_is_skipped_once() {
        let lines = decode("visit.yaml", b"\xef\xbb\xbfvisit:").expect("a text");
        assert_eq!(lines.text(), "visit:");
    }

    #[test]
    fn other_encodings_are_named() {
        for (bytes, name) in
            [(&b"\xff\xfev\0"[..], "UTF-16"), (b"v\0i\0", "UTF-16"), (b"\0v\0i", "UTF-16"), (b"\xff\xfe\0\0", "UTF-32")]
        {
            let problem = refused(bytes);
            assert_eq!((problem.code, problem.fix.as_str()), ("text-encoding", "save as UTF-8"));
            assert!(problem.what.contains(name), "{}", problem.what);
        }
    }

    #[test]
    fn a_latin_1_byte_is_named_with_place_and_offset() {
        let problem = refused(b"visit:\n  ambient: 14 \xb0C\n");
        assert_eq!((problem.place.line, problem.place.column), (2, 15));
        assert_eq!(
            problem.what,
            "the byte 0xB0 at byte offset 21 is not UTF-8; in Latin-1 or Windows-1252 it would be `°`"
        );
        assert_eq!(problem.fix, "save as UTF-8");
        assert_eq!(problem.excerpt, "  ambient: 14 \u{fffd}C");
    }

    #[test]
    fn line_breaks_of_other_readers_are_refused() {
        for character in ["\u{85}", "\u{2028}", "\u{2029}"] {
            let problem = refused(format!("a: b\nc: d{character}e").as_bytes());
            assert_eq!((problem.code, problem.place.line, problem.place.column), ("line-separator", 2, 5));
        }
        assert_eq!(refused(b"a: \x1b[31m").code, "control-character");
        assert_eq!(refused(b"abc\0").code, "control-character");
    }

    #[test]
    fn a_large_file_is_refused() {
        assert_eq!(refused(&vec![b'#'; 1_000_001]).code, "file-too-large");
    }
}
