//! What stands in the margins of every page when the HTML is printed: number, issue, page, draft mark.
//!
//! Written as CSS content, since only the browser knows the pages.

use super::markup::Markup;
use crate::document::Document;
use serde::Serialize;

/// Content of the page margins, as CSS.
#[derive(Debug, Serialize)]
pub struct PageMargins {
    /// Number.
    left: Markup,
    /// Issue and page.
    right: Markup,
    /// Draft mark.
    draft: Option<Markup>,
}

/// The margins of a document's pages.
pub fn page_margins(document: &Document) -> PageMargins {
    let running = &document.running;
    let page =
        css(&running.page).replace(&css("{n}"), "\" counter(page) \"").replace(&css("{m}"), "\" counter(pages) \"");
    let (issued, between) = (css(&running.issued), css(" · "));
    PageMargins {
        left: quoted(&css(&document.number)),
        right: quoted(&format!("{issued}{between}{page}")),
        draft: running.draft.as_deref().map(|draft| quoted(&css(draft))),
    }
}

fn quoted(css: &str) -> Markup {
    Markup { markup: format!("\"{css}\"") }
}

/// A text as the inside of a CSS string: everything but ASCII letters and digits as `\` and its code point, so that it
/// can end neither the string nor the style element.
///
/// Source: W3C, CSS Syntax Module Level 3, section 4.3.7: hexadecimal digits end at a white space, which is swallowed.
fn css(text: &str) -> String {
    let mut out = String::with_capacity(text.len() * 2);
    for c in text.chars() {
        match c.is_ascii_alphanumeric() {
            true => out.push(c),
            false => out.push_str(&format!("\\{:x} ", u32::from(c))),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_leaves_a_css_string() {
        assert_eq!(css("a\"b</style>\\"), "a\\22 b\\3c \\2f style\\3e \\5c ");
    }
}
