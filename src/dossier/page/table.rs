//! Tables, links and marks of the index.

use super::{Page, Told};
use crate::document::{Mark, verdict_mark};
use crate::paint::html::markup::{direction, text, words};
use crate::paint::html::write_mark;
use crate::record::Verdict;
use serde::Deserialize;
use serde::de::value::{Error, StrDeserializer};

/// Columns up to which a table stands on half a screen (the widths below which a table becomes cards are in `dossier.css` and
/// `page.css`).
const FEW: usize = 5;

/// A cell: its markup, and whether it stays on one line.
pub struct Cell {
    markup: String,
    class: &'static str,
}

impl Cell {
    /// The same for the digits of a hash, which may be broken anywhere.
    pub fn hash(self) -> Cell {
        Cell { class: "hash", ..self }
    }
}

/// A table that is being written. On a narrow screen its rows become cards, so that nothing scrolls sideways.
pub struct Table {
    out: String,
    heads: Vec<String>,
    is_open: bool,
}

impl Table {
    /// A table with a caption for who cannot see it and the heads of its columns.
    pub fn new(caption: &str, heads: &[&str]) -> Table {
        let narrow = if heads.len() > FEW { "to-74" } else { "to-50" };
        let mut out = format!("<div class=\"table cards {narrow}\"><table role=\"table\">\n<caption>");
        words(&mut out, caption);
        out.push_str("</caption>\n<thead role=\"rowgroup\"><tr role=\"row\">");
        for head in heads {
            out.push_str("<th scope=\"col\" role=\"columnheader\">");
            text(&mut out, head);
            out.push_str("</th>");
        }
        out.push_str("</tr></thead>\n");
        Table { out, heads: heads.iter().map(|head| (*head).to_owned()).collect(), is_open: false }
    }

    /// Begins a group of rows.
    pub fn group(&mut self, name: &str) {
        self.open_body(true);
        self.out.push_str("<tr class=\"group\"><th scope=\"rowgroup\" colspan=\"");
        self.out.push_str(&format!("{}\"{}>", self.heads.len(), direction(name)));
        words(&mut self.out, name);
        self.out.push_str("</th></tr>\n");
    }

    /// Adds a row; its first cell names it.
    pub fn row(&mut self, cells: &[Cell]) {
        self.open_body(false);
        self.out.push_str("<tr role=\"row\">");
        for (at, cell) in cells.iter().enumerate() {
            let class = if cell.class.is_empty() { String::new() } else { format!(" class=\"{}\"", cell.class) };
            if at == 0 {
                self.out.push_str(&format!("<th scope=\"row\" role=\"rowheader\"{class}>{}</th>", cell.markup));
                continue;
            }
            self.out.push_str(&format!("<td role=\"cell\"{class} data-label=\""));
            text(&mut self.out, &self.heads[at]);
            self.out.push_str(&format!("\">{}</td>", cell.markup));
        }
        self.out.push_str("</tr>\n");
    }

    /// The markup.
    pub fn end(mut self) -> String {
        let body = if self.is_open { "</tbody>\n" } else { "" };
        self.out.push_str(&format!("{body}</table></div>\n"));
        self.out
    }

    fn open_body(&mut self, is_group: bool) {
        if self.is_open && is_group {
            self.out.push_str("</tbody>\n");
        }
        if !self.is_open || is_group {
            self.out.push_str("<tbody role=\"rowgroup\">\n");
        }
        self.is_open = true;
    }
}

/// A cell with a running text.
pub fn said(content: &str) -> Cell {
    let mut markup = String::new();
    if direction(content).is_empty() {
        words(&mut markup, content);
    } else {
        markup.push_str("<span dir=\"auto\">");
        words(&mut markup, content);
        markup.push_str("</span>");
    }
    Cell { markup, class: "" }
}

/// A cell that is not broken: a day, a number.
pub fn short(content: &str) -> Cell {
    Cell { class: "line", ..said(content) }
}

/// The same for one that on a narrow screen has a line of its own.
pub fn whole(content: &str) -> Cell {
    Cell { class: "whole", ..said(content) }
}

/// A cell with markup.
pub fn marked_up(markup: String) -> Cell {
    Cell { markup, class: "" }
}

/// A cell with the word of a verdict and its mark.
pub fn verdict(page: &Page, word: Option<&str>, warned: bool) -> Cell {
    let (mark, key) = match word.and_then(read) {
        Some(Verdict::Pass) if warned => (Mark::Warn, "outcome-pass-warned"),
        verdict => verdict_mark(verdict),
    };
    let mut markup = String::new();
    write_mark(&mut markup, mark);
    text(&mut markup, page.print.words.label(key));
    Cell { markup, class: "outcome" }
}

/// The word of a verdict.
pub fn verdict_word<'p>(page: &'p Page, word: Option<&str>) -> &'p str {
    page.print.words.label(verdict_mark(word.and_then(read)).1)
}

fn read(word: &str) -> Option<Verdict> {
    Verdict::deserialize(StrDeserializer::<Error>::new(word)).ok()
}

/// A link to a file of the dossier.
pub fn link(path: &str, content: &str, name: Option<&str>) -> String {
    let mut out = String::from("<a href=\"");
    text(&mut out, &address(path));
    out.push('"');
    if let Some(name) = name {
        out.push_str(" aria-label=\"");
        text(&mut out, name);
        out.push('"');
    }
    out.push('>');
    match content.contains('/') {
        true => text(&mut out, content),
        false => words(&mut out, content),
    }
    out + "</a>"
}

/// A path as the address of a file below the page: whatever an address gives a meaning is written by its bytes.
///
/// Source: IETF, RFC 3986 (2005), sections 2.1 and 2.3: percent-encoding, unreserved characters.
fn address(path: &str) -> String {
    let byte = |byte: u8| match byte {
        b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => char::from(byte).to_string(),
        _ => format!("%{byte:02X}"),
    };
    path.bytes().map(byte).collect()
}

/// A document: its number as a link to its PDF, and a link to its page; without a link what is not in the dossier.
pub fn document(page: &Page, told: &Told) -> String {
    let (number, stem) = (&told.opened.number, crate::issue::stem(&told.opened.file));
    let path = |ending: &str| told.folder().map(|folder| format!("{folder}/{stem}.{ending}"));
    let [pdf, html] = told.files;
    let mut out = String::new();
    match path("pdf").filter(|_| pdf) {
        Some(path) => out.push_str(&link(&path, number, None)),
        None => words(&mut out, number),
    }
    if let Some(path) = path("html").filter(|_| html) {
        out.push(' ');
        out.push_str(&link(&path, "HTML", Some(&format!("{number}, HTML"))));
    }
    if told.folder().is_some() && !(pdf && html) {
        out.push_str(" <strong>");
        words(&mut out, page.label("left-out"));
        out.push_str("</strong>");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_has_no_character_with_a_meaning() {
        assert_eq!(address("drafts/V 1#a?b%c&d.pdf"), "drafts/V%201%23a%3Fb%25c%26d.pdf");
        assert_eq!(address("a/Ż~1.html"), "a/%C5%BB~1.html");
    }

    #[test]
    fn texts_are_escaped_and_rows_name_their_columns() {
        let mut table = Table::new("<c>", &["a\"b", "d"]);
        table.group("<g>");
        table.row(&[said("<x>"), short("&")]);
        let written = table.end();
        assert!(!written.contains("<c>") && !written.contains("<g>") && !written.contains("<x>"), "{written}");
        assert!(written.contains("data-label=\"d\">&amp;</td>"), "{written}");
    }
}
