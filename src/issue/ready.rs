//! A reviewed visit with everything that is known of its documents before they have a number.

use super::follow::{Follow, Kind};
use super::sources::{Prints, source_key, sources, wording};
use super::{names, printed};
use crate::document;
use crate::firm::Firm;
use crate::problem::Problem;
use crate::quantity::Moment;
use crate::record::{CertificateFacts, Point, Record};
use crate::register::SourceEntry;
use crate::requirements::Reviewed;
use crate::visit::Visit;
use crate::wording::Wording;
use chrono::{DateTime, FixedOffset};
use serde_json::Value;

/// A visit whose documents can be opened.
#[derive(Debug)]
pub struct Ready {
    /// The visit.
    pub visit: Visit,
    /// The issuing firm.
    pub firm: Firm,
    /// One record a loop, without number.
    pub records: Vec<Record>,
    /// Every problem to tell.
    pub problems: Vec<Problem>,
    /// Earlier visits that its history was taken from.
    pub(super) points: Vec<Point>,
    /// How its documents follow issued ones; none: they are originals.
    pub(super) follow: Option<Follow>,
    /// What each document says of itself before it has a number.
    pub(super) facts: CertificateFacts,
    /// Moment of issue of what is new, as printed.
    pub(super) issued: String,
    /// The words of its documents.
    pub(super) words: &'static Wording,
    pub(super) sources: Vec<SourceEntry>,
    pub(super) wording: Vec<SourceEntry>,
    /// Its documents: loops in file order, then the summary.
    pub(super) wanted: Vec<Wanted>,
}

/// A document before it has a number.
#[derive(Debug)]
pub(super) struct Wanted {
    /// Tag of the loop; none: the summary.
    pub(super) tag: Option<String>,
    /// Number by the firm's pattern.
    pub(super) number: String,
    pub(super) key: String,
}

/// A reviewed visit with the earlier visits it was reviewed among, ready to be issued: as originals, or as documents that
/// follow issued ones.
///
/// # Errors
/// Its problems, where an error forbids a document; with `number-used-twice` where two documents would get one number.
pub fn ready(
    reviewed: Reviewed,
    points: &[&Point],
    issued: &Moment,
    prints: &Prints,
    follow: Option<Follow>,
) -> Result<Ready, Vec<Problem>> {
    let Reviewed { visit, records, firm, mut problems } = reviewed;
    let (Some(visit), Some(first)) = (visit, records.first()) else {
        return Err(problems);
    };
    let (sources, wording) = (sources(&visit, &firm, prints), wording(document::words(&firm, &first.client)));
    let wanted = |tag: Option<&str>, number: String| Wanted {
        key: source_key(&sources, &wording, tag, Kind::ORIGINAL, None),
        tag: tag.map(str::to_owned),
        number,
    };
    let of_loop = |record: &Record| wanted(Some(&record.tag), names::number(&firm.numbering, &visit, &record.tag));
    let mut all: Vec<Wanted> = records.iter().map(of_loop).collect();
    if records.len() > 1 {
        all.push(wanted(None, visit.number.text.clone()));
    }
    let twice = names::used_twice(&visit, all.iter().map(|wanted| wanted.number.as_str()));
    if !twice.is_empty() {
        problems.extend(twice);
        return Err(problems);
    }
    let mut points: Vec<Point> =
        points.iter().filter(|point| point.concerns(&visit)).map(|&point| point.clone()).collect();
    points.sort_by(|a, b| place_in_time(a).cmp(&place_in_time(b)));
    let issued = printed(&visit, issued);
    let facts = match &follow {
        Some(follow) => follow.facts(&issued),
        None => CertificateFacts { kind: Kind::ORIGINAL.to_owned(), ..CertificateFacts::default() },
    };
    Ok(Ready {
        follow,
        facts,
        issued,
        words: document::words(&firm, &first.client),
        wanted: all,
        visit,
        firm,
        records,
        problems,
        points,
        sources,
        wording,
    })
}

impl Ready {
    /// The record of the document at a position as JSON, before it has a number.
    pub(super) fn record(&self, at: usize) -> Value {
        let record = match self.records.get(at) {
            Some(record) => serde_json::to_value(record),
            None => serde_json::to_value(&self.records),
        };
        record.expect("a record has text keys and finite numbers only")
    }

    /// Whether signatures are awaited for a document that says this of itself.
    pub(super) fn is_draft(&self, facts: &CertificateFacts) -> bool {
        self.records.first().is_some_and(|first| document::is_draft(&self.firm, &first.visit, facts))
    }

    /// The records that the document at a position is about.
    pub(super) fn records_of(&self, at: usize) -> &[Record] {
        match self.records.get(at) {
            Some(record) => std::slice::from_ref(record),
            None => &self.records,
        }
    }
}

/// The same order whatever the order of the files of a run.
fn place_in_time(point: &Point) -> (Option<DateTime<FixedOffset>>, [&str; 4]) {
    (point.instant, [&point.visit, &point.tag, &point.source.sha256, &point.source.name])
}
