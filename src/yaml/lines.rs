//! The text of a file, found again by line and column.

/// A text and where its lines begin. Lines end at a line feed, a carriage return, or both.
#[derive(Debug)]
pub(super) struct Lines {
    text: String,
    starts: Vec<usize>,
}

impl Lines {
    pub(super) fn new(text: String) -> Self {
        let bytes = text.as_bytes();
        let mut starts = vec![0];
        for (index, byte) in bytes.iter().enumerate() {
            let ends_line = *byte == b'\n' || (*byte == b'\r' && bytes.get(index + 1) != Some(&b'\n'));
            if ends_line {
                starts.push(index + 1);
            }
        }
        Lines { text, starts }
    }

    pub(super) fn text(&self) -> &str {
        &self.text
    }

    /// Line `line` (from 1) without its break; empty beyond the end.
    pub(super) fn line(&self, line: u32) -> &str {
        let Some(index) = (line as usize).checked_sub(1) else {
            return "";
        };
        let Some(&start) = self.starts.get(index) else {
            return "";
        };
        let end = self.starts.get(index + 1).copied().unwrap_or(self.text.len());
        self.text[start..end].trim_end_matches(['\n', '\r'])
    }

    /// All lines with their numbers.
    pub(super) fn numbered(&self) -> impl Iterator<Item = (u32, &str)> {
        let last = u32::try_from(self.starts.len()).unwrap_or(u32::MAX);
        (1..=last).map(|line| (line, self.line(line)))
    }

    /// Line and column (from 1, in characters) of a byte.
    pub(super) fn place_of(&self, byte: usize) -> (u32, u32) {
        let line = self.starts.partition_point(|&start| start <= byte).max(1);
        let before = self.text.get(self.starts[line - 1]..byte).unwrap_or_default();
        let number = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        (number(line), number(before.chars().count() + 1))
    }
}

/// Finds the byte of a line and column; remembers the last find, so that walking through a text stays quick.
#[derive(Debug, Default)]
pub(super) struct Finger {
    line: u32,
    column: u32,
    byte: usize,
}

impl Finger {
    /// The text from line and column (from 1, in characters) to the end of the file.
    pub(super) fn from<'l>(&mut self, lines: &'l Lines, line: u32, column: u32) -> &'l str {
        if self.line != line || self.column > column || self.line == 0 {
            let index = (line as usize).saturating_sub(1);
            *self = Finger { line, column: 1, byte: lines.starts.get(index).copied().unwrap_or(lines.text.len()) };
        }
        let rest = &lines.text[self.byte..];
        let steps = (column - self.column) as usize;
        let ahead = rest.char_indices().nth(steps).map_or(rest.len(), |(index, _)| index);
        self.byte += ahead;
        self.column = column;
        &lines.text[self.byte..]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_end_at_any_of_the_three_breaks() {
        let lines = Lines::new("a\nb\r\nc\rd".to_owned());
        let all: Vec<(u32, &str)> = lines.numbered().collect();
        assert_eq!(all, [(1, "a"), (2, "b"), (3, "c"), (4, "d")]);
        assert_eq!((lines.line(0), lines.line(5)), ("", ""));
    }

    #[test]
    fn columns_count_characters() {
        let lines = Lines::new("a: 1\n\u{b0}\u{b0}x".to_owned());
        assert_eq!(lines.place_of(9), (2, 3));
        let mut finger = Finger::default();
        assert_eq!(finger.from(&lines, 2, 3), "x");
        assert_eq!(finger.from(&lines, 2, 1), "\u{b0}\u{b0}x");
        assert_eq!(finger.from(&lines, 1, 4), "1\n\u{b0}\u{b0}x");
        assert_eq!(finger.from(&lines, 9, 9), "");
    }
}
