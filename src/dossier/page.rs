//! The index of the dossier as one self-contained page: what an auditor looks for first, then everything else.
//!
//! Comes in: what was gathered. Goes out: `index.html`, in the language and the colours of the last document. It needs no network; a
//! small script filters it where scripts may run, and without it everything is visible.

mod documents;
mod head;
mod loops;
mod proof;
mod table;

use super::folder::Folder;
use super::plan::Plan;
use super::sources::RosterLoop;
use super::told::Told;
use super::{Fault, Order};
use crate::document::Print;
use crate::firm::Firm;
use crate::paint::html::markup::words;
use crate::register::Status;
use crate::wording::Wording;
use std::collections::{BTreeMap, BTreeSet};
use std::io::Error;

/// What the index is written from.
pub struct Index<'i> {
    /// The order.
    pub order: &'i Order<'i>,
    /// What was chosen.
    pub plan: &'i Plan,
    /// Why documents became void.
    pub void: &'i BTreeMap<String, String>,
    /// Every document.
    pub told: &'i [Told],
    /// What is not as it should be.
    pub faults: &'i BTreeSet<Fault>,
}

/// What the sections are written with.
pub(super) struct Page<'i> {
    index: &'i Index<'i>,
    firm: &'i Firm,
    print: Print,
    /// Documents by number.
    by_number: BTreeMap<&'i str, &'i Told>,
}

/// A section: its anchor, how many entries it has, its markup.
struct Section {
    anchor: &'static str,
    title: String,
    count: usize,
    markup: String,
}

/// Writes `index.html`. Gives how many loops have no certificate.
///
/// # Errors
/// Those of the file system.
pub fn write(
    index: &Index,
    rosters: &BTreeMap<String, Vec<RosterLoop>>,
    firm: &Firm,
    folder: &Folder,
) -> Result<usize, Error> {
    let page = Page::new(index, firm);
    let without = loops::without(&page, rosters);
    let count = without.count;
    let sections = [
        documents::failures(&page),
        documents::in_force(&page),
        documents::replaced(&page),
        documents::re_evaluations(&page),
        without,
        loops::expired(&page),
        documents::drafts(&page),
        documents::void(&page),
        loops::limits(&page),
        proof::proof(&page),
        proof::files(&page, folder),
    ];
    let mut file = folder.grow("index.html")?;
    file.add(head::head(&page, &sections).as_bytes())?;
    for section in sections {
        file.add(section.begin().as_bytes())?;
        file.add(section.markup.as_bytes())?;
        file.add(b"</section>\n")?;
    }
    file.add(head::foot(&page).as_bytes())?;
    file.end()?;
    Ok(count)
}

impl<'i> Page<'i> {
    fn new(index: &'i Index<'i>, firm: &'i Firm) -> Self {
        let last = index.told.last();
        let wording =
            last.and_then(|told| told.opened.wording.first()).and_then(|entry| entry.name.strip_suffix(".yaml"));
        let words = Wording::of(wording.or(last.and_then(|told| told.record.client.language.as_deref())));
        let print = Print { words, sign: firm.decimal_sign.unwrap_or(words.decimal_sign()) };
        let by_number = index.told.iter().map(|told| (told.opened.number.as_str(), told)).collect();
        Page { index, firm, print, by_number }
    }

    /// A label of the dossier's catalogue.
    fn label(&self, key: &str) -> &str {
        self.print.words.label(&format!("dossier {key}"))
    }

    /// A sentence of the dossier's catalogue.
    fn say(&self, key: &str, fill: &[(&str, &str)]) -> String {
        self.print.words.say(&format!("dossier {key}"), fill)
    }

    /// Documents that stand so, by loop and day; summaries last.
    fn sorted(&self, is_meant: impl Fn(&Told) -> bool) -> Vec<&'i Told> {
        let mut told: Vec<&Told> = self.index.told.iter().filter(|told| is_meant(told)).collect();
        told.sort_by_key(|told| {
            let opened = &told.opened;
            (opened.client.to_lowercase(), opened.tag.is_none(), opened.tag.clone(), opened.started.clone())
        });
        told
    }

    /// Day of the work of a document.
    fn day(&self, told: &Told) -> String {
        self.print.day(&told.opened.started)
    }

    /// `AT-118, lime dosing outlet`, with the client where there are several; of a summary the visit.
    fn loop_name(&self, told: &Told) -> String {
        let opened = &told.opened;
        let named = match &opened.tag {
            Some(tag) => [Some(tag.clone()), told.record.measuring_loop.location.clone()],
            None => [Some(self.say("summary-of", &[("visit", &opened.visit)])), None],
        };
        let client = self.has_several_clients().then(|| opened.client.clone());
        client.into_iter().chain(named.into_iter().flatten()).collect::<Vec<_>>().join(" · ")
    }

    fn has_several_clients(&self) -> bool {
        let mut clients = self.index.told.iter().map(|told| told.opened.client.to_lowercase());
        let first = clients.next();
        clients.any(|client| Some(&client) != first.as_ref())
    }
}

impl Section {
    fn begin(&self) -> String {
        let mut out = format!("<section id=\"{}\">\n<h2>", self.anchor);
        words(&mut out, &self.title);
        out.push_str("</h2>\n");
        out
    }
}

/// Whether a document is a draft that has not become a document since.
fn is_open_draft(told: &Told) -> bool {
    told.status == Status::Draft { is_settled: false }
}

#[cfg(test)]
mod tests;
