//! Earlier visits of a loop, and what they say together with this one.
//!
//! A [`Point`] is what a later visit needs of an earlier one; it is made from that visit's record, whether the record was
//! computed from a visit file a moment ago or taken from an archive. [`attach`] hangs the points on a later record.

use super::trend::{self, Trend};
use super::{Figures, Quantity, Record, RemedyRecord, SourceFacts, Stage, StateRecord, Verdict};
use crate::problem::Place;
use crate::quantity::Moment;
use crate::visit::Visit;
use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One loop at one visit, as later visits need it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[allow(missing_docs)]
pub struct Point {
    /// Name of the client.
    pub client: String,
    pub tag: String,
    pub quantity: Quantity,
    /// Number of the visit.
    pub visit: String,
    /// Begin of the visit, as printed.
    pub started: String,
    /// The same as a moment.
    #[serde(skip)]
    pub instant: Option<DateTime<FixedOffset>>,
    /// The visit file.
    pub source: SourceFacts,
    /// Serial of the probe found.
    pub serial: Option<String>,
    /// Serial of the probe left.
    pub serial_left: Option<String>,
    /// Days on which the probe found was installed and its junction renewed, as typed.
    pub installed: Option<String>,
    pub junction_renewed: Option<String>,
    pub found: Option<PointFigures>,
    /// As left; as found where nothing was done.
    pub left: Option<PointFigures>,
    /// Whether something was done.
    pub touched: bool,
    pub remedies: Vec<RemedyGain>,
    /// Of the state left in service.
    pub verdict: Option<Verdict>,
}

/// The figures of one state that are followed over time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, Default)]
#[allow(missing_docs)]
pub struct PointFigures {
    pub slope_percent: Option<f64>,
    pub offset_mv: Option<f64>,
    /// Redox loops: the error of largest magnitude.
    pub error_mv: Option<f64>,
}

/// A remedy and what it gained, where it was read before and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[allow(missing_docs)]
pub struct RemedyGain {
    pub remedy: String,
    pub slope_gained_percent: Option<f64>,
    pub offset_moved_mv: Option<f64>,
}

impl RemedyGain {
    fn of(remedy: &RemedyRecord) -> RemedyGain {
        RemedyGain {
            remedy: remedy.remedy.clone(),
            slope_gained_percent: remedy.slope_gained_percent,
            offset_moved_mv: remedy.offset_moved_mv,
        }
    }
}

/// Of a single remedy the readings as left tell what it gained: an adjustment does not move the potential.
pub(super) fn complete_gains(remedies: &mut [RemedyGain], found: Option<PointFigures>, left: Option<PointFigures>) {
    let gained = |of: fn(&PointFigures) -> Option<f64>| Some(of(left.as_ref()?)? - of(found.as_ref()?)?);
    if let [alone] = remedies {
        alone.slope_gained_percent = alone.slope_gained_percent.or(gained(|f| f.slope_percent));
        alone.offset_moved_mv = alone.offset_moved_mv.or(gained(|f| f.offset_mv));
    }
}

/// One state of an earlier visit.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct HistoryRecord {
    pub date: String,
    pub visit: String,
    pub serial: Option<String>,
    pub slope_percent: Option<f64>,
    pub offset_mv: Option<f64>,
    pub error_mv: Option<f64>,
    pub stage: Stage,
}

/// Fewest visits, this one included, that are told as a history.
const VISITS_NEEDED: usize = 3;

/// Most earlier visits of a loop that are looked at, the last ones: two years of weekly visits.
const MOST_VISITS: usize = 100;

impl Point {
    /// What later visits need of this record.
    pub fn of(record: &Record) -> Point {
        let facts = &record.measuring_loop;
        let found = figures(&record.as_found);
        let touched =
            record.as_left.is_some() || facts.adjusted || facts.standardised.is_some() || !record.remedies.is_empty();
        let left = if touched { record.as_left.as_ref().and_then(figures) } else { found };
        let mut remedies: Vec<RemedyGain> = record.remedies.iter().map(RemedyGain::of).collect();
        complete_gains(&mut remedies, found, left);
        Point {
            client: record.client.name.clone(),
            tag: record.tag.clone(),
            quantity: record.quantity,
            visit: record.visit.number.clone(),
            started: record.visit.started.clone(),
            instant: instant(&record.visit.started),
            source: record.sources.first().cloned().unwrap_or_default(),
            serial: facts.probe.serial.clone(),
            serial_left: facts.probe_left.as_ref().unwrap_or(&facts.probe).serial.clone(),
            installed: facts.probe.installed.clone(),
            junction_renewed: facts.probe.junction_renewed.clone(),
            found,
            left,
            touched,
            remedies,
            verdict: record.verdict,
        }
    }

    /// Whether a visit with these loops could look at it.
    pub fn concerns(&self, visit: &Visit) -> bool {
        self.client == visit.client.name.text && visit.loops.iter().any(|own| own.tag.text == self.tag)
    }

    /// A point that was written as JSON.
    ///
    /// # Errors
    /// What the parser says.
    pub fn read(json: &[u8]) -> Result<Point, serde_json::Error> {
        let point: Point = serde_json::from_slice(json)?;
        Ok(Point { instant: instant(&point.started), ..point })
    }

    /// Day of the visit, where it took place.
    pub fn day(&self) -> Option<NaiveDate> {
        day(&self.started)
    }

    /// Whether both are about the same loop of the same client.
    pub fn is_same_loop(&self, other: &Point) -> bool {
        self.client == other.client && self.tag == other.tag && self.quantity == other.quantity
    }

    /// The day as printed.
    pub fn date(&self) -> String {
        self.started.get(..10).unwrap_or_default().to_owned()
    }

    /// The states with readings.
    fn states(&self) -> impl Iterator<Item = HistoryRecord> {
        let left = self.left.filter(|_| self.touched);
        let states = [(Stage::AsFound, self.found, &self.serial), (Stage::AsLeft, left, &self.serial_left)];
        states.into_iter().filter_map(|(stage, figures, serial)| {
            let figures = figures?;
            Some(HistoryRecord {
                date: self.date(),
                visit: self.visit.clone(),
                serial: serial.clone(),
                slope_percent: figures.slope_percent,
                offset_mv: figures.offset_mv,
                error_mv: figures.error_mv,
                stage,
            })
        })
    }
}

/// A printed moment as a moment.
pub(super) fn instant(printed: &str) -> Option<DateTime<FixedOffset>> {
    Moment::parse(printed, &Place::default()).ok().map(|moment| moment.instant)
}

/// The day at the beginning of a date or a printed moment.
pub(super) fn day(text: &str) -> Option<NaiveDate> {
    text.get(..10)?.parse().ok()
}

fn figures(state: &StateRecord) -> Option<PointFigures> {
    let of: &Figures = &state.figures;
    let errors = of.readings.iter().filter_map(|reading| reading.error_mv);
    let followed = PointFigures {
        slope_percent: of.slope_percent,
        offset_mv: of.offset_mv,
        error_mv: errors.max_by(|a, b| a.abs().total_cmp(&b.abs())),
    };
    (followed != PointFigures::default()).then_some(followed)
}

/// The earlier visits of one loop.
#[derive(Debug, Default)]
pub struct Earlier<'p> {
    /// In the order of time.
    pub visits: Vec<&'p Point>,
    /// Visits that stand in two files that differ: neither counts.
    pub doubtful: Vec<[&'p Point; 2]>,
    /// How many visits before these were not looked at.
    pub before: usize,
}

/// The earlier visits of the loop of `own` among points of any loop and day, in any order. A copy of a file counts once;
/// files that carry this visit's number do not count, nor do files that carry one number between them.
pub fn earlier<'p>(own: &Point, points: &[&'p Point]) -> Earlier<'p> {
    let before = |point: &&Point| point.instant < own.instant && point.visit != own.visit && point.is_same_loop(own);
    let mut found: Vec<&Point> = points.iter().copied().filter(before).collect();
    found.sort_by_key(|point| (point.instant, &point.visit, &point.source.sha256, &point.source.name));
    found.dedup_by(|a, b| a.source.sha256 == b.source.sha256);
    let cut = found.len().saturating_sub(MOST_VISITS);
    let mut files: BTreeMap<&str, Vec<&Point>> = BTreeMap::new();
    for &point in &found[cut..] {
        files.entry(&point.visit).or_default().push(point);
    }
    let doubtful = files.values().filter_map(|of_one| Some([*of_one.first()?, *of_one.get(1)?])).collect();
    let visits = found[cut..].iter().copied().filter(|point| files[point.visit.as_str()].len() == 1).collect();
    Earlier { visits, doubtful, before: cut }
}

/// Hangs the earlier visits of its loop on a record: [`Record::history`] and their files under [`Record::sources`], and, from
/// three visits on, this one included, [`Record::trend`]. `points` may hold any loops and days, in any order.
pub fn attach(record: &mut Record, points: &[&Point]) {
    if points.is_empty() {
        return;
    }
    let own = Point::of(record);
    let Earlier { mut visits, before, doubtful: _ } = earlier(&own, points);
    record.history = visits.iter().flat_map(|point| point.states()).collect();
    record.sources.extend(visits.iter().map(|point| point.source.clone()));
    visits.push(&own);
    if visits.len() >= VISITS_NEEDED {
        record.trend = Some(Trend::of(&visits, before, record.quantity, |name| trend::limit(record, name)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(visit: &str, started: &str, sha256: &str) -> Point {
        Point {
            client: "Ebbersand Water".into(),
            tag: "AT-1".into(),
            quantity: Quantity::Ph,
            visit: visit.into(),
            started: started.into(),
            instant: Some(Moment::parse(started, &Place::default()).unwrap().instant),
            source: SourceFacts { name: format!("{visit}.yaml"), sha256: sha256.into() },
            serial: Some("S1".into()),
            serial_left: Some("S1".into()),
            installed: None,
            junction_renewed: None,
            found: None,
            left: None,
            touched: false,
            remedies: vec![],
            verdict: None,
        }
    }

    fn numbers(own: &Point, points: &[Point]) -> Vec<String> {
        let points: Vec<&Point> = points.iter().collect();
        earlier(own, &points).visits.iter().map(|point| point.visit.clone()).collect()
    }

    #[test]
    fn only_earlier_visits_of_the_same_loop_count_in_any_order() {
        let own = point("V-9", "2026-05-01 08:00 +02:00", "z");
        let mut other_client = point("V-4", "2026-01-01 08:00 +00:00", "d");
        other_client.client = "Curdlewick Dairy".into();
        let mut other_tag = point("V-5", "2026-01-01 08:00 +00:00", "e");
        other_tag.tag = "AT-2".into();
        let mut points = vec![
            // 06:30 UTC, after 08:00 +02:00.
            point("V-3", "2026-05-01 06:30 +00:00", "c"),
            point("V-2", "2026-03-01 08:00 +00:00", "b"),
            point("V-1", "2026-03-01 08:30 +01:00", "a"),
            other_client,
            other_tag,
            own.clone(),
        ];
        assert_eq!(numbers(&own, &points), ["V-1", "V-2"]);
        points.reverse();
        assert_eq!(numbers(&own, &points), ["V-1", "V-2"]);
    }

    #[test]
    fn a_copy_counts_once_and_two_files_of_one_number_not_at_all() {
        let own = point("V-9", "2026-05-01 08:00 +00:00", "z");
        let copied = [point("V-1", "2026-01-01 08:00 +00:00", "a"), point("V-1", "2026-01-01 08:00 +00:00", "a")];
        assert_eq!(numbers(&own, &copied), ["V-1"]);
        let doubtful = [point("V-1", "2026-01-01 08:00 +00:00", "a"), point("V-1", "2026-01-02 08:00 +00:00", "b")];
        assert!(numbers(&own, &doubtful).is_empty());
        assert!(numbers(&own, &[point("V-9", "2026-01-01 08:00 +00:00", "a")]).is_empty());
    }

    #[test]
    fn of_very_many_visits_the_last_count() {
        let own = point("V-9999", "2026-05-01 08:00 +00:00", "z");
        let day = |day: usize| format!("2025-{:02}-{:02} 08:00 +00:00", 1 + day / 28, 1 + day % 28);
        let points: Vec<Point> = (0..300).map(|n| point(&format!("V-{n:04}"), &day(n), &format!("{n}"))).collect();
        let points: Vec<&Point> = points.iter().rev().collect();
        let found = earlier(&own, &points);
        assert_eq!((found.visits.len(), found.before), (100, 200));
        assert_eq!((&*found.visits[0].visit, &*found.visits[99].visit), ("V-0200", "V-0299"));
    }
}
