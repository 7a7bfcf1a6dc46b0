//! The HTML page stands: the words of the document and no others, safe, accessible, the same every time, on any width.

mod contrast;
mod page_texts;
mod sample_document;

use contrast::contrast;
use halfcell::document::*;
use halfcell::paint::Paintable;
use page_texts::{all, assert_says, text_of};
use sample_document::{draft, long, sample};
use scraper::{ElementRef, Html, Selector};
use std::collections::BTreeMap;

fn paint(document: &Document) -> String {
    halfcell::paint::html::paint(&Paintable::new(document.clone()))
}

#[test]
fn every_text_stands_on_the_page_in_order_and_nothing_else() {
    for document in [sample(), draft(), long()] {
        assert_says(&Html::parse_document(&paint(&document)), &document);
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

#[test]
fn the_page_reaches_out_for_nothing() {
    for document in [sample(), long()] {
        let source = paint(&document);
        let page = Html::parse_document(&source);
        assert!(page.errors.is_empty(), "{:?}", page.errors);
        let active = "script:not([type=\"application/json\"]), link, iframe, object, embed, base, form, a, area, image, foreignObject, set, animate";
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
        assert_eq!(drawing.attr("aria-hidden"), Some("true"), "{}", drawing.html());
    }
    for figure in all(&page, "figure") {
        assert_eq!(figure.attr("role"), Some("img"));
        assert!(figure.attr("aria-label").is_some_and(|alt| !alt.is_empty()), "{}", figure.html());
    }
    for mark in all(&page, "svg.mark") {
        let beside: String = mark.parent().and_then(ElementRef::wrap).iter().map(text_of).collect();
        assert!(!beside.trim().is_empty(), "a word stands beside each mark");
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
            let select = |element: &ElementRef, selector: &str| -> usize {
                element.select(&Selector::parse(selector).expect("well formed")).count()
            };
            assert_eq!(select(&table, "caption:first-child"), 1);
            let heads = select(&table, "thead tr > *");
            // What has no head to name has no empty one either.
            assert_eq!(heads, select(&table, "thead th[scope=col]:not(:empty)") + select(&table, "thead td:empty"));
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

#[test]
fn a_table_that_becomes_cards_keeps_its_roles_and_labels() {
    let page = Html::parse_document(&paint(&sample()));
    let cards = all(&page, ".table.cards");
    assert!(!cards.is_empty() && all(&page, ".table.cards[tabindex]").is_empty());
    for table in cards {
        let select = |selector: &str| -> Vec<ElementRef> {
            table.select(&Selector::parse(selector).expect("well formed")).collect()
        };
        let roles = [
            ("table", "table"),
            ("thead, tbody", "rowgroup"),
            ("tr", "row"),
            ("thead th", "columnheader"),
            ("tbody th", "rowheader"),
            ("td", "cell"),
        ];
        for (selector, role) in roles {
            let found = select(selector);
            assert!(found.iter().all(|element| element.attr("role") == Some(role)), "{selector}: {role}");
        }
        let heads: Vec<String> = select("thead tr > *").iter().map(text_of).collect();
        for row in select("tbody tr") {
            let cells: Vec<_> = row.child_elements().skip(1).map(|cell| cell.attr("data-label")).collect();
            assert_eq!(cells, heads[1..].iter().map(|head| Some(head.as_str())).collect::<Vec<_>>());
        }
    }
}

#[test]
fn a_keyboard_reaches_every_region_that_scrolls_and_is_told_its_name() {
    for document in [sample(), long()] {
        let page = Html::parse_document(&paint(&document));
        let regions = all(&page, "[tabindex]");
        assert!(!regions.is_empty());
        for region in regions {
            assert_eq!(region.attr("tabindex"), Some("0"), "in the order of the page");
            assert!(matches!(region.attr("role"), Some("group" | "img")));
            assert!(region.attr("aria-label").is_some_and(|name| !name.is_empty()));
        }
    }
}

#[test]
fn without_a_record_there_is_no_data() {
    let mut document = sample();
    assert!(!document.data.is_empty());
    assert_eq!(text_of(&all(&Html::parse_document(&paint(&document)), "script#record")[0]), document.data);
    document.data = String::new();
    assert!(all(&Html::parse_document(&paint(&document)), "script").is_empty());
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
