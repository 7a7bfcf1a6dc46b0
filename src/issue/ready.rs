//! A reviewed visit with everything that is known of its documents before they have a number.

use super::sources::{Prints, source_key, sources, wording};
use super::{names, printed};
use crate::document;
use crate::firm::Firm;
use crate::problem::Problem;
use crate::quantity::Moment;
use crate::record::{Point, Record};
use crate::register::SourceEntry;
use crate::requirements::Reviewed;
use crate::visit::Visit;
use crate::wording::Wording;
use chrono::{DateTime, FixedOffset};

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
    /// Moment of issue of what is new, as printed.
    pub(super) issued: String,
    /// Whether signatures are awaited.
    pub(super) is_draft: bool,
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

/// A reviewed visit with the earlier visits it was reviewed among, ready to be issued.
///
/// # Errors
/// Its problems, where an error forbids a document; with `number-used-twice` where two documents would get one number.
pub fn ready(reviewed: Reviewed, points: &[&Point], issued: &Moment, prints: &Prints) -> Result<Ready, Vec<Problem>> {
    let Reviewed { visit, records, firm, mut problems } = reviewed;
    let (Some(visit), Some(first)) = (visit, records.first()) else {
        return Err(problems);
    };
    let (sources, wording) = (sources(&visit, &firm, prints), wording(document::words(&firm, &first.client)));
    let wanted = |tag: Option<&str>, number: String| Wanted {
        key: source_key(&sources, &wording, tag, "original", None),
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
    Ok(Ready {
        issued: printed(&visit, issued),
        is_draft: document::is_draft(&firm, &first.visit, &first.certificate),
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

/// The same order whatever the order of the files of a run.
fn place_in_time(point: &Point) -> (Option<DateTime<FixedOffset>>, [&str; 4]) {
    (point.instant, [&point.visit, &point.tag, &point.source.sha256, &point.source.name])
}
