//! The words of a page, as an HTML parser reads them, beside those of its document.
#![allow(dead_code)] // each test crate uses the part it needs

use crate::sample_document::texts;
use halfcell::document::Document;
use scraper::{ElementRef, Html, Selector};

/// Elements of a page.
pub fn all<'p>(page: &'p Html, selector: &str) -> Vec<ElementRef<'p>> {
    let selector = Selector::parse(selector).expect("selectors of these tests are well formed");
    page.select(&selector).collect()
}

pub fn text_of(element: &ElementRef) -> String {
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

/// The page says what the document says, in its order, and nothing else; names for screen readers and the record as data
/// are no words of the page.
pub fn assert_says(page: &Html, document: &Document) {
    let mut expected = expected(document).into_iter().peekable();
    for found in found(page) {
        let mut text = expected.next().expect("the page says no more than the document");
        // A bold lead and its text share an element.
        if found.len() > text.len() {
            text = format!("{text} {}", expected.next().unwrap_or_default());
        }
        assert_eq!(found, text);
    }
    assert_eq!(expected.next(), None);
    let leaves: String = found(page).concat();
    let words = |selector: &str| all(page, selector).iter().map(text_of).collect::<String>();
    let bare = |text: &str| text.split_whitespace().collect::<String>();
    let unseen = words("caption") + &words("script");
    let whole = words("body");
    assert_eq!(
        bare(&whole).len(),
        bare(&leaves).len() + bare(&unseen).len(),
        "no text stands outside the elements that hold words"
    );
}
