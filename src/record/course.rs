//! The course of a loop, or of a probe, over all its visits.
//!
//! Comes in: visits read back from their records, each with the document that counts for it. Goes out: one row a visit in the
//! order of time, and how each probe aged and fouled (a trend is that of a serial number, not of a tag). Next:
//! [`crate::document`] and the command `history`.

use super::{BreakRecord, FigureTrend, GainRecord, Kept, KeptError, KeptState, Point, Quantity, RemedyGain, Trend};
use serde::Serialize;

/// A loop or a probe over time.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct Course {
    pub client: String,
    /// Tag of the loop; null where a probe is told, which may have served several loops.
    pub tag: Option<String>,
    /// Serial of the probe; null where a loop is told.
    pub serial: Option<String>,
    pub quantity: Quantity,
    /// As at the last visit.
    pub location: Option<String>,
    /// Language of the client, where its file names one.
    #[serde(skip)]
    pub language: Option<String>,
    /// In the order of time.
    pub visits: Vec<CourseVisit>,
    /// Days on which the age of the probe began anew.
    pub breaks: Vec<BreakRecord>,
    /// One entry a serial number, in the order in which they came.
    pub probes: Vec<ProbeCourse>,
}

/// One visit, told by the document that counts for it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct CourseVisit {
    pub date: String,
    pub visit: String,
    /// Number of the document.
    pub document: String,
    /// `original`, `amendment` or `re-evaluation`.
    pub kind: String,
    /// Whether the document awaits signatures.
    pub draft: bool,
    pub tag: String,
    /// Serial of the probe found.
    pub serial: Option<String>,
    /// Serial of the probe left.
    pub serial_left: Option<String>,
    pub as_found: KeptState,
    /// Null where nothing was read after what was found.
    pub as_left: Option<KeptState>,
    /// The error found that came closest to its limit or went farthest beyond.
    pub found_error: Option<KeptError>,
    /// Whether nothing was done.
    pub untouched: bool,
    pub adjusted: bool,
    pub remedies: Vec<RemedyGain>,
    pub outcome: String,
}

/// How one probe fared.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct ProbeCourse {
    pub serial: String,
    pub first: String,
    pub last: String,
    pub visits: usize,
    /// Breaks of this probe; one that it came with is among those of the loop.
    pub breaks: Vec<BreakRecord>,
    /// Slope and offset, or error: ageing and fouling since the last break.
    pub figures: Vec<FigureTrend>,
    pub gains: Vec<GainRecord>,
}

/// The document that counts for a visit.
#[derive(Debug, Clone, PartialEq, Eq)]
#[allow(missing_docs)]
pub struct CountingDocument {
    pub number: String,
    pub kind: String,
    pub draft: bool,
}

/// A visit with its document.
pub type Told = (CountingDocument, Kept);

impl Course {
    /// Of the visits of one loop, in any order; none without a visit.
    pub fn of_loop(told: Vec<Told>) -> Option<Course> {
        let tag = told.first()?.1.point.tag.clone();
        Course::of(told, Some(tag), None)
    }

    /// Of the visits of one probe, in any order, whatever loops it served.
    pub fn of_probe(serial: &str, told: Vec<Told>) -> Option<Course> {
        Course::of(told, None, Some(serial.to_owned()))
    }

    fn of(mut told: Vec<Told>, tag: Option<String>, serial: Option<String>) -> Option<Course> {
        told.sort_by(|(_, a), (_, b)| (a.point.instant, &a.point.visit).cmp(&(b.point.instant, &b.point.visit)));
        let last = &told.last()?.1;
        let serials = match &serial {
            Some(serial) => vec![serial.clone()],
            None => serials(&told),
        };
        let probes: Vec<ProbeCourse> = serials.iter().filter_map(|serial| probe(serial, &told)).collect();
        let points: Vec<&Point> = told.iter().map(|(_, kept)| &kept.point).collect();
        let breaks = match (&serial, &probes[..]) {
            (Some(_), [own]) => own.breaks.clone(),
            (_, _) => Trend::of(&points, 0, last.point.quantity, |name| last.limit(name)).breaks,
        };
        Some(Course {
            client: last.point.client.clone(),
            quantity: last.point.quantity,
            location: last.location.clone(),
            language: last.language.clone(),
            breaks,
            probes,
            visits: told.iter().map(|(document, kept)| CourseVisit::of(document, kept)).collect(),
            tag,
            serial,
        })
    }
}

impl CourseVisit {
    fn of(document: &CountingDocument, kept: &Kept) -> CourseVisit {
        CourseVisit {
            date: kept.point.date(),
            visit: kept.point.visit.clone(),
            document: document.number.clone(),
            kind: document.kind.clone(),
            draft: document.draft,
            tag: kept.point.tag.clone(),
            serial: kept.point.serial.clone(),
            serial_left: kept.point.serial_left.clone(),
            as_found: kept.found.clone(),
            as_left: kept.left.clone(),
            found_error: kept.found_error.clone(),
            untouched: !kept.point.touched,
            adjusted: kept.adjusted,
            remedies: kept.point.remedies.clone(),
            outcome: kept.outcome.clone(),
        }
    }
}

/// Serials in the order in which they came.
fn serials(told: &[Told]) -> Vec<String> {
    let mut serials: Vec<String> = Vec::new();
    let seen = told.iter().flat_map(|(_, kept)| [&kept.point.serial, &kept.point.serial_left]).flatten();
    for serial in seen {
        if !serials.contains(serial) {
            serials.push(serial.clone());
        }
    }
    serials
}

/// How the probe with a serial fared.
fn probe(serial: &str, told: &[Told]) -> Option<ProbeCourse> {
    let own: Vec<(Point, &Kept)> =
        told.iter().filter_map(|(_, kept)| Some((of_serial(&kept.point, serial)?, kept))).collect();
    let (first, (last, kept)) = (&own.first()?.0, own.last()?);
    let points: Vec<&Point> = own.iter().map(|(point, _)| point).collect();
    let trend = Trend::of(&points, 0, last.quantity, |name| kept.limit(name));
    Some(ProbeCourse {
        serial: serial.to_owned(),
        first: first.date(),
        last: last.date(),
        visits: points.len(),
        breaks: trend.breaks,
        figures: trend.figures,
        gains: trend.gains,
    })
}

/// Remedy that puts another probe in place of the one found.
const REPLACED: &str = "probe replaced";

/// What a visit says of the probe with a serial: of one that was replaced what was found and done before, of the new one what
/// was left and done after.
fn of_serial(point: &Point, serial: &str) -> Option<Point> {
    let is = |of: &Option<String>| of.as_deref() == Some(serial);
    let replaced = point.remedies.iter().rposition(|remedy| remedy.remedy == REPLACED).unwrap_or(0);
    match (is(&point.serial), is(&point.serial_left)) {
        (true, true) => Some(point.clone()),
        (true, false) => Some(Point {
            serial_left: point.serial.clone(),
            left: None,
            remedies: point.remedies[..replaced].to_vec(),
            ..point.clone()
        }),
        (false, true) => Some(Point {
            serial: point.serial_left.clone(),
            found: None,
            installed: None,
            junction_renewed: None,
            remedies: point.remedies[replaced..].to_vec(),
            ..point.clone()
        }),
        (false, false) => None,
    }
}
