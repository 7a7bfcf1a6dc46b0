//! Whatever a person writes is shown on the page as written, and never obeyed: in every text of a document, as an
//! attribute, in the style sheet, and in the record that the page carries as data.

mod page_texts;
mod sample_document;

use halfcell::document::*;
use halfcell::paint::{Paintable, html};
use page_texts::{all, assert_says, text_of};
use sample_document::draft;
use scraper::Html;
use serde_json::{Value, json};

/// Texts that would end an element, an attribute, a comment, a string, a template, or turn the line around.
const NASTY: [&str; 16] = [
    r#"</style></title><script>alert("1")</script> 'x' & &amp; <!-- ="a" `y` \22 {{z}} {n}"#,
    "</script><script>alert(1)</script>",
    "<!--<script>",
    "--!><img src=x onerror=alert(1)>",
    "]]><svg/onload=alert(1)>",
    r#""><b onmouseover="alert(1)" x=""#,
    "' onfocus='alert(1)' tabindex='1",
    "` onload=`alert(1)`",
    "&lt &ltscript &#60 &#x3c; &amp;lt; &copy &notit;",
    r#"\"}]</script>,{"a":1} \u003c \\u003c"#,
    "*/}</style>@import url(//example.com);{x:expression(1)} \\3c /style>",
    "{{{brand.name}}} {{#each this}} {{> style}} {{markup x}} {n} {m}",
    "javascript:alert(1)//<a href=\"data:text/html,x\">",
    "</caption></table></dl></section></main><plaintext>",
    "<textarea><noscript><p title=\"</noscript><img src=x onerror=alert(1)>\">",
    "a-1<b>-2026-01-01<i>2026-02-30-&-2026-13-45</i>",
];

/// A document whose every text is `words`.
fn nasty(words: &str) -> Document {
    let words = || words.to_string();
    let paragraph = || Paragraph { lead: Some(words()), text: words() };
    let label =
        Shape::Label { at: [1.0, 9.0], anchor: Anchor::Start, text: words(), size: 7.0, bold: false, ink: Ink::Text };
    let column = |align| TableColumn { head: words(), align, stretch: 1 };
    let cell = || Cell { text: words(), mark: Some(Mark::Fail) };
    let cells =
        vec![Row::Cells(vec![cell(), cell()]), Row::Cells(vec![cell(), Cell { text: "<1.5".into(), mark: None }])];
    let table = |rows| {
        Block::Table(Table { caption: words(), columns: vec![column(Align::Left), column(Align::Decimal)], rows })
    };
    let mut document = draft();
    document.title = words();
    document.subtitle = words();
    document.number = words();
    document.author = words();
    document.issued = words();
    document.language = words();
    document.brand.name = words();
    document.brand.lines = vec![words()];
    document.data = json!({ words(): [words(), { "number": words() }] }).to_string();
    document.running = Running {
        issued: words(),
        page: words(),
        draft: Some(words()),
        footer_left: vec![words()],
        footer_right: vec![words()],
    };
    let blocks = vec![
        Block::Heading(words()),
        Block::Facts(vec![Fact { label: words(), value: vec![words()] }]),
        Block::Verdict(VerdictBlock { mark: Mark::Warn, title: words(), lines: vec![words()] }),
        Block::Figure(Figure { width: 900.0, height: 9.0, alt: words(), shapes: vec![label] }),
        table([vec![Row::Group(paragraph())], cells.clone()].concat()),
        table(cells),
        Block::Paragraph(paragraph()),
        Block::List(vec![paragraph()]),
        Block::Caution(paragraph()),
        Block::Signatures(vec![SignatureBlock { name: Some(words()), meaning: words() }]),
        Block::EndMark(words()),
    ];
    document.parts = vec![Part { name: words(), blocks }];
    document
}

#[test]
fn nasty_text_is_shown_as_written_in_every_place() {
    for words in NASTY {
        let paintable = Paintable::new(nasty(words));
        let page = Html::parse_document(&html::paint(&paintable));
        assert!(page.errors.is_empty(), "{words}: {:?}", page.errors);
        assert_says(&page, paintable.document());
        assert_eq!(text_of(&all(&page, "title")[0]), format!("{words} · {words}"));
        for name in all(&page, "[aria-label], [data-label]") {
            let named = ["aria-label", "data-label"].map(|attribute| name.attr(attribute).unwrap_or(words));
            assert_eq!(named, [words; 2]);
        }
        for caption in all(&page, "caption") {
            assert_eq!(text_of(&caption), words);
        }
        for meta in ["author", "dcterms.identifier", "dcterms.issued"] {
            let value = all(&page, &format!("meta[name=\"{meta}\"]"))[0].attr("content");
            assert_eq!(value, Some(words), "{meta}");
        }
        assert_eq!(all(&page, "html")[0].attr("lang"), Some(words));
        assert_eq!(all(&page, "time[datetime]")[0].attr("datetime"), Some(words));
    }
}

#[test]
fn nasty_text_makes_no_element_and_no_attribute() {
    let outline = |words: &str| -> Vec<String> {
        let page = Html::parse_document(&html::paint(&Paintable::new(nasty(words))));
        let name = |(name, _): (&str, &str)| name.to_owned();
        let unlike = |name: &str| !matches!(name, "span" | "time" | "wbr");
        let elements = all(&page, "*").into_iter().filter(|element| unlike(element.value().name()));
        elements
            .map(|one| format!("{} {:?}", one.value().name(), one.value().attrs().map(name).collect::<Vec<_>>()))
            .collect()
    };
    for words in NASTY {
        // As long and as wide, and of nothing but letters.
        let plain: String = words.chars().map(|c| if c == ' ' || c.is_ascii_digit() { c } else { 'x' }).collect();
        let (found, plain) = (outline(words), outline(&plain));
        let apart = found.iter().zip(&plain).find(|(found, plain)| found != plain);
        assert!(apart.is_none() && found.len() == plain.len(), "{words}: {apart:?}");
    }
}

#[test]
fn the_style_sheet_ends_where_it_ends() {
    let rules = |words: &str| {
        let page = Html::parse_document(&html::paint(&Paintable::new(nasty(words))));
        let style: String = all(&page, "style").iter().map(text_of).collect();
        assert_eq!(all(&page, "style").len(), 1);
        let (before, margins) = style.split_once("@page{size").expect("the margins of pages");
        let (strings, after) = margins.split_once("*{box-sizing").expect("their end");
        assert!(strings.chars().all(|c| c.is_ascii_alphanumeric() || " \\\"{}();:,.@#-\n%|*".contains(c)), "{strings}");
        (before.to_owned(), after.to_owned())
    };
    let plain = rules("plain");
    for words in NASTY {
        assert_eq!(rules(words), plain);
    }
}

#[test]
fn a_reader_of_the_data_gets_every_text_back() {
    for words in
        NASTY.into_iter().chain(["\u{2028}\u{2029}\u{202e}\u{0}\u{1f}\u{7f}\u{feff}\r\n\t", "漢字 🧪 é e\u{301}"])
    {
        let document = nasty(words);
        let page = Html::parse_document(&html::paint(&Paintable::new(document.clone())));
        let scripts = all(&page, "script");
        assert_eq!(scripts.len(), 1);
        assert_eq!(scripts[0].attr("type"), Some("application/json"));
        let read: Value = serde_json::from_str(&text_of(&scripts[0])).expect("the data is JSON");
        assert_eq!(read, serde_json::from_str::<Value>(&document.data).expect("so it was"));
    }
}
