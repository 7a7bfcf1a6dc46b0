//! The HTML page stands: the words of the document and no others, safe, accessible, the same every time, on any width.

mod sample_document;

use halfcell::document::*;
use halfcell::paint::Paintable;
use sample_document::{draft, long, sample, texts};
use scraper::{ElementRef, Html, Selector};
use std::collections::BTreeMap;

fn paint(document: &Document) -> String {
    halfcell::paint::html::paint(&Paintable::new(document.clone()))
}

fn all<'p>(page: &'p Html, selector: &str) -> Vec<ElementRef<'p>> {
    let selector = Selector::parse(selector).expect("selectors of these tests are well formed");
    page.select(&selector).collect()
}

fn text_of(element: &ElementRef) -> String {
    element.text().collect()
}

/// Every text of a document in reading order; «page n of m» is for paper only.
fn expected(document: &Document) -> Vec<String> {
    let (brand, running) = (&document.brand, &document.running);
    let blocks = document.parts.iter().flat_map(|part| texts(&part.blocks));
    let head = [&document.number, &running.issued];
    let title = [&document.title, &document.subtitle];
    let texts = [&brand.name].into_iter().chain(&brand.lines).chain(head);
    let texts = texts.chain(&running.draft).chain(title).cloned();
    let foot = running.footer_left.iter().chain(&running.footer_right);
    texts.chain(blocks).chain(foot.cloned()).collect()
}

/// Texts of the page's elements that hold words, in order.
fn found(page: &Html) -> Vec<String> {
    let leaves = all(page, "body :is(p, h1, h2, dt, dd, th, td, li, address span, svg text)");
    let texts = leaves.iter().map(text_of);
    texts.filter(|text| !text.trim().is_empty()).collect()
}

#[test]
fn every_text_stands_on_the_page_in_order_and_nothing_else() {
    for document in [sample(), draft(), long()] {
        let page = Html::parse_document(&paint(&document));
        let mut expected = expected(&document).into_iter().peekable();
        for found in found(&page) {
            let mut text = expected.next().expect("the page says no more than the document");
            // A bold lead and its text share an element.
            if found.len() > text.len() {
                text = format!("{text} {}", expected.next().unwrap_or_default());
            }
            assert_eq!(found, text);
        }
        assert_eq!(expected.next(), None);
        let leaves: String = found(&page).concat();
        let body: String = all(&page, "body").iter().map(text_of).collect();
        let bare = |text: &str| text.split_whitespace().collect::<String>();
        assert_eq!(bare(&body), bare(&leaves), "no text stands outside the elements that hold words");
    }
}

#[test]
fn the_same_document_gives_the_same_bytes_in_any_thread() {
    let once = paint(&long());
    let threads: Vec<_> = (0..4).map(|_| std::thread::spawn(|| paint(&long()))).collect();
    for thread in threads {
        assert_eq!(thread.join().expect("painting does not panic"), once);
    }
}

const HOSTILE: &str = r#"</style></title><script>alert("1")</script> 'x' & &amp; <!-- ="a" `y` \22 {{z}} {n}"#;

/// A document whose every text is hostile.
fn hostile() -> Document {
    let words = || HOSTILE.to_string();
    let paragraph = || Paragraph { lead: Some(words()), text: words() };
    let label =
        Shape::Label { at: [1.0, 9.0], anchor: Anchor::Start, text: words(), size: 7.0, bold: false, ink: Ink::Text };
    let column = |align| TableColumn { head: words(), align, stretch: 1 };
    let cell = || Cell { text: words(), mark: Some(Mark::Fail) };
    let mut document = draft();
    document.title = words();
    document.subtitle = words();
    document.number = words();
    document.author = words();
    document.issued = words();
    document.language = words();
    document.brand.name = words();
    document.brand.lines = vec![words()];
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
        Block::Table(Table {
            caption: words(),
            columns: vec![column(Align::Left), column(Align::Decimal)],
            rows: vec![
                Row::Group(paragraph()),
                Row::Cells(vec![cell(), cell()]),
                Row::Cells(vec![cell(), Cell { text: "<1.5".into(), mark: None }]),
            ],
        }),
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
fn hostile_text_is_shown_and_never_obeyed() {
    let page = Html::parse_document(&paint(&hostile()));
    assert!(page.errors.is_empty(), "{:?}", page.errors);
    assert!(all(&page, "script").is_empty());
    let paragraph = format!("{HOSTILE} {HOSTILE}");
    for text in found(&page) {
        assert!(text == HOSTILE || text == paragraph || text == "<1.5", "{text}");
    }
    assert_eq!(text_of(&all(&page, "title")[0]), format!("{HOSTILE} · {HOSTILE}"));
    let labels: Vec<_> = all(&page, "[aria-label]").iter().filter_map(|e| e.attr("aria-label")).collect();
    assert_eq!(labels, [HOSTILE; 5], "section, wide figure and its drawing, wide table and its region");
    for meta in ["author", "dcterms.identifier", "dcterms.issued"] {
        let meta = all(&page, &format!("meta[name=\"{meta}\"]"));
        assert_eq!(meta[0].attr("content"), Some(HOSTILE));
    }
    assert_eq!(all(&page, "html")[0].attr("lang"), Some(HOSTILE));
}

#[test]
fn the_page_reaches_out_for_nothing() {
    for document in [sample(), long(), hostile()] {
        let source = paint(&document);
        let page = Html::parse_document(&source);
        assert!(page.errors.is_empty(), "{:?}", page.errors);
        let active = "script, link, iframe, object, embed, base, form, a, area, image, foreignObject, set, animate";
        assert!(all(&page, active).is_empty());
        for element in all(&page, "*") {
            for (name, value) in element.value().attrs() {
                assert!(!name.starts_with("on"), "{name}");
                let reaches = matches!(name, "href" | "src" | "srcset" | "action" | "xlink:href");
                assert!(!reaches || value.starts_with('#') || value.starts_with("data:image/"), "{name}={value}");
            }
        }
        let style: String = all(&page, "style").iter().map(text_of).collect();
        assert_eq!(style.matches("url(").count(), style.matches("url(#").count());
        assert!(!style.contains("@import") && !style.contains("http") && !style.contains("@font-face"));
    }
    assert!(!paint(&sample()).contains("http:") && !paint(&sample()).contains("https:"));
}

#[test]
fn a_logo_travels_within_the_page() {
    let mut document = sample();
    let page = Html::parse_document(&paint(&document));
    let source = all(&page, "img")[0].attr("src").expect("an image has a source").to_string();
    // First bytes of the sample's logo in base 64, by `printf '<svg xmlns=' | base64`.
    assert!(source.starts_with("data:image/svg+xml;base64,PHN2ZyB4bWxucz0"), "{source}");
    let logo = document.brand.logo.as_mut().expect("the sample has a logo");
    logo.kind = halfcell::firm::LogoKind::Png;
    logo.bytes = b"\x89PNG\r\n\x1a\n".to_vec();
    let page = paint(&document);
    assert!(page.contains("src=\"data:image/png;base64,iVBORw0KGgo&#x3D;\"") || page.contains("base64,iVBORw0KGgo=\""));
    document.brand.logo = None;
    assert!(all(&Html::parse_document(&paint(&document)), "img").is_empty());
}

#[test]
fn language_title_and_headings_are_in_order() {
    let page = Html::parse_document(&paint(&sample()));
    assert_eq!(all(&page, "html")[0].attr("lang"), Some("en"));
    assert_eq!(text_of(&all(&page, "title")[0]), "QF-2026-0187 · Calibration record");
    let headings = all(&page, "h1, h2, h3, h4, h5, h6");
    let names: Vec<&str> = headings.iter().map(|heading| heading.value().name()).collect();
    assert_eq!(names[0], "h1");
    assert!(names[1..].iter().all(|&name| name == "h2"), "{names:?}");
    for landmark in ["header", "main", "footer", "address", "section[aria-label]", "time[datetime]"] {
        assert!(!all(&page, landmark).is_empty(), "{landmark}");
    }
}

#[test]
fn figures_and_marks_speak() {
    let page = Html::parse_document(&paint(&sample()));
    for drawing in all(&page, "svg") {
        let hidden = drawing.attr("aria-hidden") == Some("true");
        let spoken =
            drawing.attr("role") == Some("img") && drawing.attr("aria-label").is_some_and(|alt| !alt.is_empty());
        assert!(hidden != spoken, "{}", drawing.html());
    }
    for user in all(&page, "use") {
        let target = user.attr("href").expect("a use has a target");
        assert_eq!(all(&page, &format!("symbol{target}")).len(), 1, "{target}");
    }
}

#[test]
fn every_cell_reaches_its_heads() {
    for document in [sample(), long()] {
        let page = Html::parse_document(&paint(&document));
        let tables = all(&page, "table");
        assert!(!tables.is_empty());
        for table in tables {
            assert!(table.attr("aria-label").is_some_and(|caption| !caption.is_empty()));
            let select = |element: &ElementRef, selector: &str| -> usize {
                element.select(&Selector::parse(selector).expect("well formed")).count()
            };
            let heads = select(&table, "thead th[scope=col]");
            assert_eq!(heads, select(&table, "thead *") - 1, "heads only");
            let rows = Selector::parse("tbody tr").expect("well formed");
            for row in table.select(&rows) {
                let group = select(&row, &format!("th[scope=rowgroup][colspan=\"{heads}\"]"));
                let row_head = select(&row, "th[scope=row]:first-child");
                let cells = select(&row, "td");
                assert!((group, row_head, cells) == (1, 0, 0) || (group, row_head, cells) == (0, 1, heads - 1));
            }
            let group_within = select(&table, "tr:not(:first-child) > [scope=rowgroup]");
            assert_eq!(group_within, 0, "each group has its own body");
        }
    }
}

/// Colours of the page by name: in the light and in the dark scheme.
fn schemes(page: &str) -> [BTreeMap<String, [u8; 3]>; 2] {
    let colours = |text: &str| {
        let mut colours = BTreeMap::new();
        for pair in text.split(';') {
            let Some((name, value)) = pair.trim().split_once(":#") else {
                continue;
            };
            let part = |at: usize| u8::from_str_radix(&value[at..at + 2], 16).expect("hexadecimal");
            colours.insert(name.to_string(), [part(0), part(2), part(4)]);
        }
        colours
    };
    let (_, rest) = page.split_once(":root{").expect("light colours");
    let (light, rest) = rest.split_once('}').expect("their end");
    let (_, rest) = rest.split_once("(prefers-color-scheme:dark){:root{").expect("dark colours");
    let (dark, _) = rest.split_once('}').expect("their end");
    [colours(light), colours(dark)]
}

/// Source: W3C, Web Content Accessibility Guidelines 2.2, «contrast ratio» and «relative luminance».
fn contrast(one: [u8; 3], other: [u8; 3]) -> f64 {
    let luminance = |colour: [u8; 3]| {
        let linear = |part: u8| {
            let part = f64::from(part) / 255.0;
            if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * linear(colour[0]) + 0.7152 * linear(colour[1]) + 0.0722 * linear(colour[2])
    };
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// Source: W3C, Web Content Accessibility Guidelines 2.2: 1.4.3, text 4.5:1; 1.4.11, graphics 3:1.
#[test]
fn text_can_be_read_in_both_schemes_whatever_the_accent() {
    for accent in [[0x1d, 0x4a, 0x57], [0xff, 0xe6, 0x00], [0; 3], [255; 3], [0x10, 0x20, 0xf0]] {
        let mut document = sample();
        document.accent = accent;
        for colours in schemes(&paint(&document)) {
            let of = |one: &str, other: &str| contrast(colours[&format!("--{one}")], colours[&format!("--{other}")]);
            for text in ["text", "muted", "accent", "pass", "warn", "fail"] {
                assert!(of(text, "paper") >= 4.5, "{text}, accent {accent:?}: {}", of(text, "paper"));
            }
            for (text, zone) in [
                ("text", "pass-zone"),
                ("text", "warn-zone"),
                ("text", "fail-zone"),
                ("pass", "pass-zone"),
                ("warn", "warn-zone"),
                ("fail", "fail-zone"),
            ] {
                assert!(of(text, zone) >= 4.5, "{text} on {zone}: {}", of(text, zone));
            }
        }
    }
    // A nudged grey must fail, or the formula is wrong. Source: the same guidelines, technique G18.
    assert!(contrast([0x77; 3], [255; 3]) < 4.5 && contrast([0x76; 3], [255; 3]) >= 4.5);
}

#[test]
fn a_page_is_small() {
    let mut document = sample();
    document.brand.logo = None;
    let size = paint(&document).len();
    println!("{size} bytes without logo");
    assert!(size <= 60 * 1024, "{size}");
}
