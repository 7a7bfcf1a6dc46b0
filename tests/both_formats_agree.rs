//! PDF and HTML say the same in every language, block by block, and both show every reading as typed. The text of the PDF comes from poppler,
//! that of the HTML from an HTML parser; white space is left out of the comparison, since lines break differently.

mod page_tools;

use halfcell::client::LANGUAGES;
use halfcell::wording::Wording;
use scraper::{ElementRef, Html, Node};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Text of a PDF in the order of its content; none where there is no tool for it, which is an error under `CI`.
fn pdf_text(path: &Path) -> Option<String> {
    page_tools::run("pdftotext", &["-raw", "-enc", "UTF-8", &path.to_string_lossy(), "-"])
}

/// A text without white space and page breaks.
fn dense(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace() && *c != '\u{a0}' && *c != '\u{202f}').collect()
}

/// A text without white space, and without the heads and feet of the second and further pages, which break its blocks.
fn body(pdf: &str, number: &str, words: &Wording) -> String {
    let pages: Vec<Vec<String>> = pdf.split('\u{c}').map(|page| page.lines().map(dense).collect()).collect();
    let pages: Vec<Vec<String>> = pages.into_iter().filter(|page| page.iter().any(|line| !line.is_empty())).collect();
    let (page, of) = page_of(words, pages.len());
    let end = dense(&words.say("end-mark", &[("number", number)]));
    let on_every_page = |line: &String| pages.iter().all(|page| page.contains(line));
    let head = |line: &String| line.ends_with(&dense(number)) && *line != end;
    let running = |line: &String| {
        on_every_page(line) || head(line) || (line.contains(&format!("·{page}")) && line.ends_with(&of))
    };
    let edge = |row: usize, page: &Vec<String>| row < 3 || row + 5 > page.len();
    let kept = |(at, page): (usize, &Vec<String>)| {
        let lines = page.iter().enumerate();
        lines
            .filter(|(row, line)| at == 0 || !(edge(*row, page) && running(line)))
            .map(|(_, line)| line.as_str())
            .collect::<String>()
    };
    pages.iter().enumerate().map(kept).collect()
}

/// What stands before the number of a page, and what stands behind it on the last of `pages`, without white.
fn page_of(words: &Wording, pages: usize) -> (String, String) {
    let place = dense(&words.label("page-of").replace("{m}", &pages.to_string()));
    place.split_once("{n}").map(|(before, after)| (before.to_owned(), after.to_owned())).unwrap()
}

/// The texts of the visible page (a caption is a name for who cannot see it), one an innermost block element, in document order.
fn html_blocks(html: &str) -> Vec<String> {
    let page = Html::parse_document(html);
    let body = page.select(&scraper::Selector::parse("body").unwrap()).next().unwrap();
    let mut blocks = Vec::new();
    collect(body, &mut blocks);
    blocks.retain(|block| !block.is_empty());
    blocks
}

fn collect(element: ElementRef, blocks: &mut Vec<String>) {
    let block = ["p", "h1", "h2", "h3", "td", "th", "dt", "dd", "li", "text", "div", "address"];
    let mut own = String::new();
    for child in element.children() {
        match child.value() {
            Node::Text(text) => own.push_str(text),
            Node::Element(inner) if ["style", "script", "title", "defs", "caption"].contains(&inner.name()) => {}
            Node::Element(inner) => {
                let child = ElementRef::wrap(child).unwrap();
                let inline = !block.contains(&inner.name())
                    && child.descendants().all(|node| match node.value() {
                        Node::Element(deep) => !block.contains(&deep.name()),
                        _ => true,
                    });
                match inline {
                    true => own.extend(child.text()),
                    false => {
                        blocks.push(dense(&own));
                        own.clear();
                        collect(child, blocks);
                    }
                }
            }
            _ => {}
        }
    }
    blocks.push(dense(&own));
}

/// Every example's documents in a language, with the record they came from.
fn issued(language: &str) -> (tempfile::TempDir, Vec<(PathBuf, Value)>) {
    let out = tempfile::tempdir().unwrap();
    let examples = copied(&Path::new(env!("CARGO_MANIFEST_DIR")).join("examples"), out.path(), language);
    let issued = Command::new(env!("CARGO_BIN_EXE_halfcell"))
        .args(["issue", "--format", "json", "--out"])
        .arg(out.path())
        .arg("--register")
        .arg(out.path().join("register"))
        .arg(examples.join("visits"))
        .output()
        .unwrap();
    assert!(issued.status.success(), "{}", String::from_utf8_lossy(&issued.stderr));
    let document = |line: &str| {
        let record: Value = serde_json::from_str(line).unwrap();
        (out.path().join(record["certificate"]["number"].as_str().unwrap()), record)
    };
    let documents = String::from_utf8(issued.stdout).unwrap().lines().map(document).collect();
    (out, documents)
}

/// The examples with the language of firm and clients changed, and no decimal sign of the firm's.
fn copied(from: &Path, to: &Path, language: &str) -> PathBuf {
    let folder = to.join(from.file_name().unwrap());
    std::fs::create_dir_all(&folder).unwrap();
    for path in std::fs::read_dir(from).unwrap().map(|entry| entry.unwrap().path()) {
        if path.is_dir() {
            copied(&path, &folder, language);
        } else {
            let mut bytes = std::fs::read(&path).unwrap();
            if path.extension().is_some_and(|ending| ending == "yaml") {
                let text = String::from_utf8(bytes).unwrap();
                let kept = text.lines().filter(|line| !line.starts_with("decimal_sign:"));
                let kept: Vec<&str> = kept.collect();
                bytes = kept.join("\n").replace("\nlanguage: English", &format!("\nlanguage: {language}")).into_bytes();
            }
            std::fs::write(folder.join(path.file_name().unwrap()), bytes).unwrap();
        }
    }
    folder
}

fn with_ending(stem: &Path, ending: &str) -> PathBuf {
    let name = stem.file_name().unwrap().to_string_lossy();
    stem.with_file_name(format!("{name}.{ending}"))
}

/// Finds every block in the text in order and returns what is left of it; names the first block that is not there.
fn left_over(pdf: &str, blocks: &[String]) -> Result<String, String> {
    let (mut at, mut rest) = (0, String::new());
    for (index, block) in blocks.iter().enumerate() {
        let Some(found) = pdf[at..].find(block.as_str()) else {
            let near: String = pdf[at..].chars().take(80).collect();
            return Err(format!("block {index} «{block}» is not in the PDF after «…{near}»"));
        };
        rest.push_str(&pdf[at..at + found]);
        at += found + block.len();
    }
    Ok(rest + &pdf[at..])
}

#[test]
fn every_block_of_the_page_is_in_the_pdf_in_the_same_order() {
    for (language, tag) in LANGUAGES {
        let (words, (_out, documents)) = (Wording::of(Some(tag)), issued(language));
        for (stem, record) in &documents {
            let Some(pdf) = pdf_text(&with_ending(stem, "pdf")) else { return };
            let html = std::fs::read_to_string(with_ending(stem, "html")).unwrap();
            assert!(html.contains(&format!("<html lang=\"{tag}\">")), "{language}, {}", stem.display());
            let bytes = std::fs::read(with_ending(stem, "pdf")).unwrap();
            let said = format!("<dc:language><rdf:Bag><rdf:li>{tag}</rdf:li>");
            let found = bytes.windows(said.len()).any(|window| window == said.as_bytes());
            assert!(found, "{language}, {}: the metadata names another language", stem.display());
            let blocks = html_blocks(&html);
            assert!(blocks.len() > 60, "{}: only {} blocks", stem.display(), blocks.len());
            let number = record["certificate"]["number"].as_str().unwrap();
            let end = dense(&words.say("end-mark", &[("number", number)]));
            let footer = blocks.iter().rposition(|block| block.starts_with(&end)).unwrap() + 1;
            let rest = left_over(&body(&pdf, number, words), &blocks[..footer])
                .unwrap_or_else(|why| panic!("{language}, {}: {why}", stem.display()));
            // What the PDF says beyond: the head and foot of each page, and heads of tables that go on.
            let pages = pdf.matches('\u{c}').count();
            assert!(rest.len() < 480 * pages, "{language}, {}: the PDF says more: {rest}", stem.display());
            let (before, after) = page_of(words, pages);
            for page in 1..=pages {
                let stands = dense(&pdf).matches(&format!("{before}{page}{after}")).count();
                assert_eq!(stands, 1, "{language}, {number}: page {page} of {pages}");
            }
        }
    }
}

#[test]
fn both_show_every_reading_as_typed() {
    let (_out, documents) = issued("English");
    for (stem, record) in &documents {
        let Some(pdf) = pdf_text(&with_ending(stem, "pdf")) else { return };
        let html = html_blocks(&std::fs::read_to_string(with_ending(stem, "html")).unwrap()).concat();
        let states = [&record["as_found"], &record["as_left"]];
        let after = record["remedies"].as_array().unwrap().iter().map(|remedy| &remedy["after"]);
        let readings = states.into_iter().chain(after).filter_map(|state| state["readings"].as_array()).flatten();
        let mut seen = 0;
        for reading in readings {
            for key in ["mv_typed", "shown_typed", "temperature_typed"] {
                let Some(typed) = reading[key].as_str() else { continue };
                let printed = dense(&typed.replace('-', "−").replace(" mV", "").replace(" °C", ""));
                assert!(dense(&pdf).contains(&printed), "{}: {typed} is not in the PDF", stem.display());
                assert!(html.contains(&printed), "{}: {typed} is not in the HTML", stem.display());
                seen += 1;
            }
        }
        assert!(seen >= 4, "{}", stem.display());
    }
}

#[test]
fn a_changed_block_would_be_found() {
    let blocks = ["slope".to_owned(), "97.4".to_owned()];
    assert_eq!(left_over("slope97.4end", &blocks), Ok("end".to_owned()));
    assert!(left_over("slope97.5end", &blocks).is_err());
    assert!(left_over("97.4slope", &blocks).is_err());
}
