//! A document as one self-contained HTML page.
//!
//! Comes in: a [`Document`]. Goes out: the text of a file that needs no network, no script and no installed font, and that
//! carries the record as data.
//! Next: [`crate::issue`]. The skeleton stands in `templates/page.html.hbs`, its look in `templates/page.css`; the blocks
//! are written here, and every text of the document passes `markup::text` or the template's escape exactly once.

mod blocks;
mod data;
mod figure;
pub(crate) mod markup;
mod palette;
mod running;
pub mod seal;
mod table;

use super::texts::Paintable;
use crate::document::{Document, Part};
use crate::firm::{Logo, LogoKind, Paper};
use base64::{Engine, engine::general_purpose::STANDARD};
pub(crate) use figure::write_mark;
use handlebars::Handlebars;
use markup::Markup;
use serde::Serialize;
use std::sync::LazyLock;

/// Name of the skeleton in the registry.
const PAGE: &str = "page";

/// The templates by name: the skeleton, its look, and how a table looks that became cards.
const SOURCES: [(&str, &str); 3] = [
    (PAGE, include_str!("../../templates/page.html.hbs")),
    ("style", include_str!("../../templates/page.css")),
    ("cards", include_str!("../../templates/cards.css")),
];

static TEMPLATES: LazyLock<Handlebars<'static>> = LazyLock::new(|| {
    let mut templates = Handlebars::new();
    templates.set_strict_mode(true);
    templates.register_helper("markup", Box::new(markup::write));
    for (name, source) in SOURCES {
        templates
            .register_template_string(name, source)
            .expect("the bundled templates are well formed, as every test that paints shows");
    }
    templates
});

/// The document as an HTML page: UTF-8 text of one file, the same for the same document.
///
/// Its words are those of [`super::pdf`]; «page n of m» stands on printed pages only. It is sealed ([`seal`]).
pub fn paint(paintable: &Paintable) -> String {
    let page = TEMPLATES
        .render(PAGE, &Page::new(paintable.document()))
        .expect("the template names only fields of `Page`, as every test that paints shows");
    seal::sealed(page)
}

/// The look of a page in a firm's colours: the inks, then the style sheet. For pages that are no document.
pub(crate) fn look(accent: [u8; 3]) -> String {
    let style =
        TEMPLATES.render("style", &()).expect("the style sheet names no field, as every test that paints shows");
    palette::rules(accent).markup + &style
}

/// The marks, drawn once in a page that uses them by name.
pub(crate) fn drawings() -> String {
    figure::shared_drawings().markup
}

/// What the skeleton needs.
#[derive(Serialize)]
struct Page<'d> {
    language: &'d str,
    title: &'d str,
    subtitle: &'d str,
    number: &'d str,
    author: &'d str,
    issued: &'d str,
    seal: Markup,
    issued_line: &'d str,
    draft: Option<&'d str>,
    brand: Brand<'d>,
    palette: Markup,
    paper: &'static str,
    running: running::PageMargins,
    drawings: Markup,
    parts: Vec<PagePart<'d>>,
    record: Option<Markup>,
    footer_left: &'d [String],
    footer_right: &'d [String],
}

#[derive(Serialize)]
struct Brand<'d> {
    name: &'d str,
    lines: &'d [String],
    logo: Option<String>,
}

#[derive(Serialize)]
struct PagePart<'d> {
    name: &'d str,
    blocks: Markup,
}

impl<'d> Page<'d> {
    fn new(document: &'d Document) -> Self {
        let (brand, running) = (&document.brand, &document.running);
        Page {
            language: &document.language,
            title: &document.title,
            subtitle: &document.subtitle,
            number: &document.number,
            author: &document.author,
            issued: &document.issued,
            seal: seal::open(),
            issued_line: &running.issued,
            draft: running.draft.as_deref(),
            brand: Brand { name: &brand.name, lines: &brand.lines, logo: brand.logo.as_ref().map(data_uri) },
            palette: palette::rules(document.accent),
            paper: match document.paper {
                Paper::A4 => "A4",
                Paper::Letter => "letter",
            },
            running: running::page_margins(document),
            drawings: figure::shared_drawings(),
            parts: document.parts.iter().map(PagePart::new).collect(),
            record: data::inert(&document.data),
            footer_left: &running.footer_left,
            footer_right: &running.footer_right,
        }
    }
}

impl<'d> PagePart<'d> {
    fn new(part: &'d Part) -> Self {
        PagePart { name: &part.name, blocks: blocks::written(&part.blocks) }
    }
}

/// A logo that travels within the page.
pub(crate) fn data_uri(logo: &Logo) -> String {
    let kind = match logo.kind {
        LogoKind::Svg => "svg+xml",
        LogoKind::Png => "png",
    };
    format!("data:image/{kind};base64,{}", STANDARD.encode(&logo.bytes))
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_templates_write_no_text_unescaped() {
        for (name, template) in super::SOURCES {
            assert!(!template.contains("{{{") && !template.contains("{{&"), "{name}");
        }
    }
}
