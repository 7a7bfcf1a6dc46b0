//! The first screen: for whom, which period, from which register, whether anything is missing; and the end of the page.

use super::{Page, Section, is_open_draft};
use crate::document::Mark;
use crate::dossier::Fault;
use crate::firm::Paper;
use crate::paint::html::markup::{element, text, words};
use crate::paint::html::{data_uri, drawings, look, write_mark};
use crate::register::Status;
use base64::{Engine, engine::general_purpose::STANDARD};
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;

/// How the index looks beside the documents.
const STYLE: &str = include_str!("../../../templates/dossier.css");
/// How a table looks that became cards.
const CARDS: &str = include_str!("../../../templates/cards.css");
/// What two short values of a card do: they stand side by side.
const PAIRS: &str = ".cards td:is(.outcome,.whole){grid-column:auto;white-space:normal}";
/// Filters the entries of the page as a person types.
const SCRIPT: &str = include_str!("../../../templates/dossier.js");
/// Names written out in the head before the rest is counted.
const NAMED: usize = 12;

/// Everything before the sections.
pub fn head(page: &Page, sections: &[Section]) -> String {
    let mut out = String::with_capacity(32 * 1024);
    out.push_str(&format!("<!DOCTYPE html>\n<html lang=\"{}\">\n<head>\n", page.print.words.language));
    out.push_str(
        "<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n",
    );
    out.push_str(&format!(
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:; \
         script-src 'sha256-{}'\">\n<meta name=\"color-scheme\" content=\"light dark\">\n",
        STANDARD.encode(Sha256::digest(SCRIPT))
    ));
    element(&mut out, "title", &format!("{} · {}", page.label("title"), subtitle(page)));
    let paper = match page.firm.paper {
        Paper::A4 => "A4",
        Paper::Letter => "letter",
    };
    let style = STYLE.replace("{{> cards}}", CARDS).replace("{{> pairs}}", PAIRS);
    out.push_str(&format!(
        "<style>\n{}@page{{size:{paper}}}\n{style}</style>\n</head>\n<body>\n",
        look(page.firm.accent)
    ));
    out.push_str(&format!("<svg class=\"drawings\" aria-hidden=\"true\"><defs>\n{}</defs></svg>\n", drawings()));
    out.push_str("<div class=\"sheet\">\n");
    write_brand(&mut out, page);
    out.push_str("<main>\n");
    write_faults(&mut out, page);
    out.push_str("<div class=\"title\">\n");
    element(&mut out, "h1", page.label("title"));
    element(&mut out, "p", &subtitle(page));
    out.push_str("</div>\n<div class=\"first\">\n");
    write_facts(&mut out, page);
    write_verdict(&mut out, page, sections);
    out.push_str("</div>\n");
    write_contents(&mut out, page, sections);
    write_find(&mut out, page);
    out
}

/// Everything after the sections.
pub fn foot(page: &Page) -> String {
    let mut out = String::from("</main>\n<footer>\n<div>\n");
    let foot = page.firm.footer.as_ref().map(|footer| footer.text.clone());
    element(&mut out, "p", &foot.unwrap_or_else(|| firm_name(page)));
    out.push_str("</div>\n<div>\n");
    element(&mut out, "p", &program());
    out + "</div>\n</footer>\n</div>\n<script>" + SCRIPT + "</script>\n</body>\n</html>\n"
}

fn program() -> String {
    format!("{} {}", env!("CARGO_PKG_NAME"), env!("CARGO_PKG_VERSION"))
}

fn firm_name(page: &Page) -> String {
    match &page.firm.name {
        Some(name) => name.text.clone(),
        None => page.print.label("no-firm"),
    }
}

fn write_brand(out: &mut String, page: &Page) {
    out.push_str("<header>\n<div class=\"brand\">\n");
    if let Some(logo) = &page.firm.logo {
        out.push_str(&format!("<img src=\"{}\" alt=\"\">\n", data_uri(logo)));
    }
    out.push_str("<div>\n<p class=\"name\" dir=\"auto\">");
    text(out, &firm_name(page));
    out.push_str("</p>\n");
    let contact = page.firm.contact.iter().map(|contact| contact.text.as_str());
    let lines: Vec<&str> = page.firm.address.iter().map(String::as_str).chain(contact).collect();
    if !lines.is_empty() {
        out.push_str("<address><span dir=\"auto\">");
        words(out, &lines.join(" · "));
        out.push_str("</span></address>\n");
    }
    out.push_str("</div>\n</div>\n<div class=\"identity\">\n");
    let head = page.index.order.view.head();
    element(out, "p", &page.say("register-line", &[("entry", &head.entry.to_string())]));
    element(out, "p", &grouped(&head.hash, 3));
    out.push_str("</div>\n</header>\n");
}

/// The first groups of four digits of a hash.
fn grouped(hash: &str, groups: usize) -> String {
    (0..groups).filter_map(|at| hash.get(4 * at..4 * at + 4)).collect::<Vec<_>>().join("\u{a0}")
}

/// What is missing or altered, before anything else.
fn write_faults(out: &mut String, page: &Page) {
    if page.index.faults.is_empty() {
        return;
    }
    out.push_str("<div class=\"draft\" role=\"note\">\n");
    element(out, "p", page.label("not-whole"));
    out.push_str("<ul role=\"list\">\n");
    for fault in page.index.faults {
        element(out, "li", &told(page, fault));
    }
    out.push_str("</ul>\n</div>\n");
}

/// A fault in words.
fn told(page: &Page, fault: &Fault) -> String {
    match fault {
        Fault::Altered { number, file } => page.say("fault-altered", &[("number", number), ("file", file)]),
        Fault::Missing { number, file, why } => {
            page.say("fault-missing", &[("number", number), ("file", file), ("why", why)])
        }
        Fault::Record { number, why } => page.say("fault-record", &[("number", number), ("why", why)]),
        Fault::Source { name, hash, why } => {
            page.say("fault-source", &[("name", name), ("hash", &grouped(hash, 4)), ("why", why)])
        }
    }
}

/// `Ebbersand Water · AT-118 · 2025-01-01 to 2025-12-31`.
fn subtitle(page: &Page) -> String {
    let tags = few(page.index.order.selection.tags.iter().map(String::as_str).collect());
    let tags = (!tags.is_empty()).then_some(tags);
    [Some(clients(page)), tags, Some(period(page))].into_iter().flatten().collect::<Vec<_>>().join(" · ")
}

fn clients(page: &Page) -> String {
    few(page.index.told.iter().map(|told| told.opened.client.as_str()).collect())
}

/// The first names of several; the rest is a number.
fn few(names: BTreeSet<&str>) -> String {
    let first = names.iter().take(NAMED).copied().collect::<Vec<_>>().join(", ");
    if names.len() > NAMED { format!("{first} … ({})", names.len()) } else { first }
}

/// The days chosen; where none were, the first and the last day of work.
fn period(page: &Page) -> String {
    let days: BTreeSet<_> = page.index.told.iter().filter_map(|told| told.opened.day()).collect();
    let selection = page.index.order.selection;
    let [from, to] = [selection.from.or(days.first().copied()), selection.to.or(days.last().copied())]
        .map(|day| day.map_or(String::new(), |day| page.print.day(&day.to_string())));
    match from == to {
        true => from,
        false => page.print.say("span", &[("from", &from), ("to", &to)]),
    }
}

fn write_facts(out: &mut String, page: &Page) {
    let (told, head) = (page.index.told, page.index.order.view.head());
    let count = |is: fn(&Status) -> bool| told.iter().filter(|told| is(&told.status)).count().to_string();
    let counts = [
        ("in-force", count(|status| *status == Status::InForce)),
        ("replaced", count(|status| matches!(status, Status::Replaced { .. }))),
        ("drafts-count", count(|status| matches!(status, Status::Draft { .. }))),
    ];
    let counts = counts.map(|(key, count)| page.print.say("named", &[("name", page.label(key)), ("text", &count)]));
    let tags: BTreeSet<&str> = told.iter().filter_map(|told| told.opened.tag.as_deref()).collect();
    let mut facts = vec![
        ("for", clients(page)),
        ("loops", few(tags)),
        ("period", period(page)),
        ("documents", counts.join(" · ")),
        ("register", page.say("line-number", &[("entry", &head.entry.to_string())])),
    ];
    if let Some(last) = told.last() {
        facts.push(("last-issued", page.print.moment(&last.opened.issued)));
    }
    facts.push(("made-by", program()));
    out.push_str("<dl>\n");
    for (key, value) in facts {
        out.push_str("<div>");
        element(out, "dt", page.label(key));
        element(out, "dd", &value);
        if key == "register" {
            out.push_str(&format!("<dd class=\"hash\">SHA-256 {}</dd>", head.hash));
        }
        out.push_str("</div>\n");
    }
    out.push_str("</dl>\n");
}

/// How many certificates say that a loop was found outside its limits.
fn write_verdict(out: &mut String, page: &Page, sections: &[Section]) {
    let judged = page.index.told.iter().filter(|told| told.status == Status::InForce || is_open_draft(told));
    let all = judged.filter(|told| told.opened.as_found.is_some()).count();
    let failed = sections.iter().find(|section| section.anchor == "failures").map_or(0, |section| section.count);
    let (mark, ink) = match (failed, all) {
        (0, 0) => (Mark::NotJudged, "muted"),
        (0, _) => (Mark::Pass, "pass"),
        (_, _) => (Mark::Fail, "fail"),
    };
    out.push_str(&format!("<div class=\"verdict verdict-{ink}\">"));
    write_mark(out, mark);
    let count = [("count", failed.to_string()), ("all", all.to_string())];
    let count = count.each_ref().map(|(name, count)| (*name, count.as_str()));
    element(out, "h2", &page.say("failures-of", &count));
    if failed > 0 {
        element(out, "p", page.label("failures-why"));
    }
    out.push_str("</div>\n");
}

/// Links to the sections, each with its count.
fn write_contents(out: &mut String, page: &Page, sections: &[Section]) {
    out.push_str("<nav aria-label=\"");
    text(out, page.label("contents"));
    out.push_str("\">\n<ul role=\"list\">\n");
    for Section { anchor, title, count, .. } in sections {
        out.push_str(&format!("<li><a href=\"#{anchor}\"><span>"));
        words(out, title);
        out.push_str("</span>");
        if *anchor != "verify" {
            out.push_str(&format!(" <b>{count}</b>"));
        }
        out.push_str("</a></li>\n");
    }
    out.push_str("</ul>\n</nav>\n");
}

/// The filter, hidden until its script runs.
fn write_find(out: &mut String, page: &Page) {
    out.push_str("<div class=\"find\" id=\"find\" role=\"search\" hidden><label for=\"sought\">");
    words(out, page.label("find"));
    out.push_str(
        "</label><input id=\"sought\" type=\"search\" autocomplete=\"off\"><output for=\"sought\" data-found=\"",
    );
    text(out, page.label("found"));
    out.push_str("\"></output></div>\n");
}
