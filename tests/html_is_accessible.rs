//! The HTML of every example and sample keeps the Web Content Accessibility Guidelines 2.2, levels A and AA, as far as
//! axe-core can tell in a real browser: in the light and the dark scheme, on a desk and on a phone.
//!
//! `.ci/run` installs axe-core; elsewhere `npm install --prefix target/node axe-core@4.14.1` does.

mod browser;
mod contrast;
mod example_pages;
mod sample_document;

use browser::{Browser, Scheme};
use contrast::contrast;
use example_pages::{examples, samples};
use halfcell::document::{Anchor, Block, Figure, Ink, Shape};
use halfcell::paint::Paintable;
use sample_document::sample;
use serde_json::json;
use std::path::Path;

/// The release of axe-core that judges: another may know other rules.
const VERSION: &str = "4.14.1";

/// Widths of the windows in px: a desk, a phone.
const WIDTHS: [u32; 2] = [1280, 360];

/// Every rule for levels A and AA up to version 2.2, and those that are no law but good practice.
///
/// Source: axe-core 4.14, «API documentation», section «axe-core tags».
const RULES: [&str; 6] = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

/// What axe leaves to a person, and what a person found.
const REVIEWED: [&str; 6] = [
    // Labels of figures, drawn on the page's paper: every pair is worked out by the tests of contrast below.
    "color-contrast: Element's background color could not be determined because element contains an image node",
    "color-contrast: Element's background color could not be determined because it is overlapped by another element",
    // `U`, `ν`, `∞`, `—`: in the colours of their column, which are worked out by the same tests.
    "color-contrast: Element content is too short to determine if it is actual text content",
    "color-contrast: Element content contains only non-text characters",
    // Cells that have slid under the head of their row, which stays in sight when a table scrolls.
    "color-contrast: Element's background color could not be determined because it's partially obscured by another element",
    // A line that begins a group of rows has no cell beside it: its scope is the rows of its body.
    "th-has-data-cells: Table data cells are missing or empty",
];

/// The source of axe-core; none, with a word printed, where it is not installed. In CI it must be.
fn axe() -> Option<String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/node/node_modules/axe-core/axe.min.js");
    let source = std::fs::read_to_string(&path).ok();
    if source.is_none() {
        assert!(std::env::var_os("CI").is_none(), "in CI axe-core must be installed: {}", path.display());
        eprintln!("SKIPPED: axe-core is not installed");
    }
    source
}

fn pages() -> Vec<(String, String)> {
    [examples(), samples()].concat()
}

/// A page in which a script may run, which its policy forbids.
fn without_policy((name, page): &(String, String)) -> (String, String) {
    let (before, rest) =
        page.split_once("<meta http-equiv=\"Content-Security-Policy\"").expect("a page has its policy");
    let (_, after) = rest.split_once('>').expect("the element ends");
    (name.clone(), format!("{before}{after}"))
}

/// What axe finds in the pages, a line each; none where a tool is missing.
fn judged(name: &str, pages: &[(String, String)], scheme: Scheme) -> Option<String> {
    let (browser, axe) = (Browser::find(name)?, axe()?);
    let pages: Vec<_> = pages.iter().map(without_policy).collect();
    let constants =
        [("pages", json!(pages)), ("widths", json!(WIDTHS)), ("rules", json!(RULES)), ("axeSource", json!(axe))];
    let report = browser.report(&format!("{name}.html"), &constants, include_str!("browser/axe.js"), scheme);
    println!("{report}");
    let scheme = if scheme == Scheme::Dark { "dark" } else { "light" };
    assert!(
        report.starts_with(&format!("axe {VERSION} {scheme}"))
            || report.contains(&format!("\naxe {VERSION} {scheme}\n"))
    );
    assert!(report.contains(&format!("\n{} runs, ", pages.len() * WIDTHS.len())));
    Some(report)
}

fn assert_accessible(name: &str, scheme: Scheme) {
    let pages = pages();
    assert!(pages.len() > 20, "{} pages", pages.len());
    let Some(report) = judged(name, &pages, scheme) else {
        return;
    };
    let wrong: Vec<&str> = report.lines().filter(|line| line.starts_with("VIOLATION")).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
    let undecided = report.lines().filter_map(|line| line.strip_prefix("UNDECIDED "));
    let unknown: Vec<&str> = undecided.filter(|line| !REVIEWED.iter().any(|known| line.starts_with(known))).collect();
    assert!(unknown.is_empty(), "{unknown:#?}");
}

#[test]
fn no_rule_is_broken_in_the_light_scheme() {
    assert_accessible("axe-light", Scheme::Light);
}

#[test]
fn no_rule_is_broken_in_the_dark_scheme() {
    assert_accessible("axe-dark", Scheme::Dark);
}

/// A page that breaks rules must be told, or the silence of axe above says nothing.
#[test]
fn what_breaks_a_rule_is_told() {
    let page = halfcell::paint::html::paint(&Paintable::new(sample()));
    let faults = [
        ("html-has-lang", " lang=\"en\"", ""),
        ("document-title", "<title>", "<title></title><title hidden>"),
        ("meta-viewport", "initial-scale=1", "maximum-scale=1,user-scalable=no"),
        ("color-contrast", "--muted:#55606b", "--muted:#959ca3"),
        ("image-alt", " alt=\"\"", ""),
        ("role-img-alt", "<figure role=\"img\"", "<figure role=\"img\" aria-label=\"\""),
        ("scrollable-region-focusable", " tabindex=\"0\"", ""),
        ("aria-required-children", "<ul role=\"list\">", "<ul role=\"menu\">"),
        ("heading-order", "<h2", "<h4"),
        ("landmark-one-main", "<main>", "<div>"),
        ("region", "<main>", "<div>"),
        ("page-has-heading-one", "<h1 dir=\"auto\">", "<p>"),
    ];
    let broken: Vec<(String, String)> = faults
        .iter()
        .map(|(rule, from, to)| {
            assert!(page.contains(from), "{from}");
            (format!("planted-{rule}"), page.replace(from, to))
        })
        .collect();
    let Some(report) = judged("axe-planted", &broken, Scheme::Light) else {
        return;
    };
    for (rule, _, _) in faults {
        let told = |line: &&str| {
            line.starts_with(&format!("VIOLATION planted-{rule} ")) && line.contains(&format!(": {rule} ["))
        };
        assert!(report.lines().any(|line| told(&line)), "{rule} is not told:\n{report}");
    }
}

/// A colour as a browser or a style sheet writes it.
fn colour(text: &str) -> [u8; 3] {
    let part = |part: &str, base| u8::from_str_radix(part.trim(), base).expect("a part of a colour");
    match text.strip_prefix('#') {
        Some(digits) => [0, 2, 4].map(|at| part(&digits[at..at + 2], 16)),
        None => {
            let inner = text.strip_prefix("rgb(").and_then(|text| text.strip_suffix(')')).expect("an opaque colour");
            let parts: Vec<u8> = inner.split(',').map(|one| part(one, 10)).collect();
            parts.try_into().expect("three parts")
        }
    }
}

/// Every pair of text and ground that a browser finds in the pages, with its contrast; none without a browser.
fn pairs(name: &str, pages: &[(String, String)], scheme: Scheme) -> Option<Vec<(f64, String)>> {
    let browser = Browser::find(name)?;
    let constants = [("pages", json!(pages)), ("widths", json!(WIDTHS))];
    let report = browser.report(&format!("{name}.html"), &constants, include_str!("browser/contrast.js"), scheme);
    assert!(report.ends_with(" texts"), "{report}");
    let pair = |line: &str| {
        let (pair, _) = line.split_once(" · ")?;
        let (text, ground) = pair.split_once(" on ")?;
        let found = contrast(colour(text), colour(ground));
        println!("{found:.2} {line}");
        Some((found, line.to_owned()))
    };
    Some(report.lines().filter_map(pair).collect())
}

/// Source: W3C, Web Content Accessibility Guidelines 2.2, success criterion 1.4.3: «at least 4.5:1».
const READABLE: f64 = 4.5;

fn assert_readable(name: &str, scheme: Scheme) {
    let Some(pairs) = pairs(name, &pages(), scheme) else {
        return;
    };
    assert!(pairs.len() >= 6, "text, muted, two accents, draft and caution: {pairs:?}");
    for (found, pair) in pairs {
        assert!(found >= READABLE, "{found:.2} {pair}");
    }
}

#[test]
fn a_label_on_the_hatch_is_told() {
    let mut document = sample();
    let corners = vec![[0.0, 0.0], [90.0, 0.0], [90.0, 20.0], [0.0, 20.0]];
    let zone = Shape::Area { points: corners, fill: Some(Ink::FailZone), stroke: None, width: 0.0 };
    let at = [5.0, 12.0];
    let text = "on the hatch".to_owned();
    let label = Shape::Label { at, anchor: Anchor::Start, text, size: 7.0, bold: false, ink: Ink::Text };
    let shapes = vec![zone, label];
    document.parts[0].blocks =
        vec![Block::Figure(Figure { width: 90.0, height: 20.0, alt: "A hatch.".into(), shapes })];
    let page = halfcell::paint::html::paint(&Paintable::new(document));
    for (name, scheme) in [("hatch-light", Scheme::Light), ("hatch-dark", Scheme::Dark)] {
        let Some(pairs) = pairs(name, &[("hatch".to_owned(), page.clone())], scheme) else {
            return;
        };
        let on_hatch: Vec<_> = pairs.iter().filter(|(_, pair)| pair.contains("on the hatch")).collect();
        assert_eq!(on_hatch.len(), 2, "its ground and its stripes: {pairs:?}");
        assert!(on_hatch.iter().any(|(found, _)| *found < READABLE), "{on_hatch:?}");
    }
}

/// Numbers of a text with the decimals they are given to; dates are none.
fn numbers(text: &str) -> Vec<(f64, usize)> {
    let plain = text.replace('−', "-");
    let in_a_number = |c: char| c.is_ascii_digit() || matches!(c, '-' | '.');
    let tokens = plain.split(|c: char| !in_a_number(c)).map(|token| token.trim_matches('.'));
    let number = |token: &str| {
        let decimals = token.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        token.parse().ok().map(|value| (value, decimals))
    };
    tokens.filter_map(number).collect()
}

#[test]
fn what_a_figure_shows_stands_in_a_table_too() {
    let select = |selector| scraper::Selector::parse(selector).expect("well formed");
    for (name, page) in examples() {
        let page = scraper::Html::parse_document(&page);
        let cells: String = page.select(&select("table")).flat_map(|table| table.text()).collect::<Vec<_>>().join(" ");
        let cells = numbers(&cells);
        for figure in page.select(&select("figure")) {
            // The theoretical line is no datum of the visit: it follows from the temperature beside it. So it is with a gain
            // in brackets, the difference of the two figures before it.
            let alt = figure.attr("aria-label").expect("a figure is told in words");
            let data = alt.split("Theoretical").next().expect("there is a first part");
            // The name of the figure, not a datum.
            let data = data.replace("offset at pH\u{a0}7", "offset");
            let data: String =
                data.split('(').map(|part| part.split_once(')').map_or(part, |(_, rest)| rest)).collect();
            for (value, decimals) in numbers(&data) {
                let half = 0.5 * 0.1_f64.powi(decimals as i32) + 1e-9;
                let stands = cells.iter().any(|(cell, _)| (cell - value).abs() <= half);
                assert!(stands, "{name}: {value} of «{alt}» stands in no table");
            }
        }
    }
}

#[test]
fn every_text_is_readable_on_what_it_stands_on_in_the_light_scheme() {
    assert_readable("contrast-light", Scheme::Light);
}

#[test]
fn every_text_is_readable_on_what_it_stands_on_in_the_dark_scheme() {
    assert_readable("contrast-dark", Scheme::Dark);
}
