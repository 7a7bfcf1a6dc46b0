//! Markup that was written here, apart from text that a person wrote.
//!
//! Only a [`Markup`] reaches the page as it is; every plain text in the template's context is escaped by the template.

use handlebars::{Context, Handlebars, Helper, HelperResult, Output, RenderContext, RenderErrorReason};
use serde::Serialize;

/// The one field of a [`Markup`] in the template's context.
const FIELD: &str = "markup";

/// Text that is already HTML (or CSS).
#[derive(Debug, Clone, Default, Serialize)]
pub struct Markup {
    /// The markup.
    pub markup: String,
}

/// Writes a text of the document as HTML text or as the value of a quoted attribute.
pub fn text(out: &mut String, text: &str) {
    let mut done = 0;
    for (at, byte) in text.bytes().enumerate() {
        let entity = match byte {
            b'&' => "&amp;",
            b'<' => "&lt;",
            b'>' => "&gt;",
            b'"' => "&quot;",
            b'\'' => "&#39;",
            _ => continue,
        };
        out.push_str(&text[done..at]);
        out.push_str(entity);
        done = at + 1;
    }
    out.push_str(&text[done..]);
}

/// Writes `<name>`, the text, `</name>` and a line feed.
pub fn element(out: &mut String, name: &str, content: &str) {
    open(out, name, "", content);
    words(out, content);
    close(out, name);
}

/// Writes `<name attributes>` with the [`direction`] of `content`.
pub fn open(out: &mut String, name: &str, attributes: &str, content: &str) {
    ["<", name, attributes, direction(content), ">"].into_iter().for_each(|part| out.push_str(part));
}

/// `dir="auto"`, with a space before it, for a text that holds letters which run from right to left; else nothing.
pub fn direction(content: &str) -> &'static str {
    if runs_right_to_left(content) { " dir=\"auto\"" } else { "" }
}

/// Writes `</name>` and a line feed.
pub fn close(out: &mut String, name: &str) {
    ["</", name, ">\n"].into_iter().for_each(|part| out.push_str(part));
}

/// Writes a running text: a date as a time that a program can read; a date, serial or lot is not broken at its hyphens,
/// an address at its at sign and dots rather than anywhere.
pub fn words(out: &mut String, content: &str) {
    let mut done = 0;
    for (at, joint) in content.match_indices(['-', '@']) {
        if at < done {
            continue;
        }
        if joint == "@" {
            text(out, &content[done..at]);
            done = content[at..].find(char::is_whitespace).map_or(content.len(), |end| at + end);
            write_host(out, &content[at..done]);
            continue;
        }
        let from = content[done..at].rfind(|c| !in_a_word(c)).map_or(done, |before| {
            let before = done + before;
            before + content[before..].chars().next().map_or(0, char::len_utf8)
        });
        let to = content[at..].find(|c| !in_a_word(c)).map_or(content.len(), |after| at + after);
        let word = &content[from..to];
        if word.len() > LONGEST_KEPT || !word.bytes().any(|byte| byte.is_ascii_digit()) {
            continue;
        }
        text(out, &content[done..from]);
        let (begin, end) = if is_date(word) { ("<time>", "</time>") } else { ("<span class=\"line\">", "</span>") };
        [begin, word, end].into_iter().for_each(|part| out.push_str(part));
        done = to;
    }
    text(out, &content[done..]);
}

/// Writes `@` and what follows it, which may be broken before each dot.
fn write_host(out: &mut String, host: &str) {
    for (at, part) in host.split('.').enumerate() {
        out.push_str(if at == 0 { "<wbr>" } else { "<wbr>." });
        text(out, part);
    }
}

/// Bytes up to which a word is kept on one line: a narrow screen has room for them beside a label.
const LONGEST_KEPT: usize = 20;

fn in_a_word(c: char) -> bool {
    c.is_ascii_alphanumeric() || c == '-'
}

/// Whether a word has the form of a calendar date.
///
/// Source: WHATWG, HTML Living Standard, section 2.3.5.2, «valid date string»: four digits or more, two, two.
fn is_date(word: &str) -> bool {
    let form = |byte: u8| if byte.is_ascii_digit() { b'0' } else { byte };
    word.bytes().map(form).eq(*b"0000-00-00")
}

/// Whether a text holds letters of a script that is written from right to left.
///
/// Source: Unicode Character Database 16.0, `DerivedBidiClass.txt`, ranges whose class is R or AL by default.
fn runs_right_to_left(text: &str) -> bool {
    /// First byte in UTF-8 of U+0580, before which there is none.
    const FIRST: u8 = 0xd6;
    let may = text.bytes().any(|byte| byte >= FIRST);
    may && text.chars().any(|c| {
        matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{feff}'
            | '\u{10800}'..='\u{10fff}' | '\u{1e800}'..='\u{1efff}')
    })
}

/// The template helper `{{markup field}}`: writes a [`Markup`] as it is and refuses everything else.
pub fn write(
    helper: &Helper,
    _: &Handlebars,
    _: &Context,
    _: &mut RenderContext,
    out: &mut dyn Output,
) -> HelperResult {
    let markup = helper
        .param(0)
        .and_then(|given| given.value().get(FIELD))
        .and_then(|markup| markup.as_str())
        .ok_or_else(|| RenderErrorReason::Other("only markup is written as it is".into()))?;
    out.write(markup)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn every_character_that_means_something_to_a_browser_is_escaped() {
        let mut out = String::new();
        text(&mut out, "a<b> & \"c\" 'd' Å");
        assert_eq!(out, "a&lt;b&gt; &amp; &quot;c&quot; &#39;d&#39; Å");
    }

    #[test]
    fn dates_are_times_and_serials_stay_whole() {
        let written = |content| {
            let mut out = String::new();
            words(&mut out, content);
            out
        };
        let kept = "serial <span class=\"line\">HW12-02305</span>, since <time>2025-03-11</time>";
        assert_eq!(written("serial HW12-02305, since 2025-03-11"), kept);
        assert_eq!(written("–2026-05-12, é2026-05"), "–<time>2026-05-12</time>, é<span class=\"line\">2026-05</span>");
        for plain in ["neutralisation - outlet", "self-test", "A-1-2-3-4-5-6-7-8-9-10-11-12"] {
            assert_eq!(written(plain), plain);
        }
        assert_eq!(written("lab@a-1.example.com"), "lab<wbr>@a-1<wbr>.example<wbr>.com");
        assert_eq!(written("<a-1>"), "&lt;<span class=\"line\">a-1</span>&gt;");
    }

    #[test]
    fn a_text_with_letters_from_right_to_left_finds_its_own_direction() {
        let written = |content| {
            let mut out = String::new();
            element(&mut out, "p", content);
            out
        };
        assert_eq!(written("מד pH 7"), "<p dir=\"auto\">מד pH 7</p>\n");
        assert_eq!(written("Ωμέγα 漢 — ≥ 7"), "<p>Ωμέγα 漢 — ≥ 7</p>\n");
    }

    #[test]
    fn plain_text_never_passes_as_markup() {
        let mut templates = Handlebars::new();
        templates.register_helper("markup", Box::new(write));
        let render = |context| templates.render_template("{{markup it}}", &context);
        let given = Markup { markup: "<hr>".into() };
        assert_eq!(render(json!({ "it": given })).unwrap(), "<hr>");
        assert!(render(json!({ "it": "<hr>" })).is_err());
    }
}
