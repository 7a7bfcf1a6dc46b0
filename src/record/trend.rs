//! What several visits of a loop say together: breaks, ageing and fouling of each figure, what each remedy gained.

use super::history::{Point, PointFigures, day};
use super::{LimitRecord, Quantity, Record, Stage};
use crate::engine::history::{self, Ageing, Stop, ageing, since_last_break};
use chrono::{Datelike, Days, NaiveDate};
use serde::Serialize;

/// Three or more visits of a loop, this one the last.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct Trend {
    pub visits: Vec<TrendVisit>,
    pub breaks: Vec<BreakRecord>,
    /// One entry a figure: slope and offset (pH) or error (redox).
    pub figures: Vec<FigureTrend>,
    pub gains: Vec<GainRecord>,
    /// How many still earlier visits were not looked at.
    pub before: usize,
}

/// One visit, as found and as left side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct TrendVisit {
    pub date: String,
    pub visit: String,
    /// Serial of the probe left.
    pub serial: Option<String>,
    pub found: Option<PointFigures>,
    /// Null where nothing was done or nothing was read after it.
    pub left: Option<PointFigures>,
    /// Whether nothing was done, so that what was found was left.
    pub untouched: bool,
    /// Remedies in the order performed.
    pub done: Vec<String>,
}

/// A day on which the age of the probe began anew.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct BreakRecord {
    /// Where a change was only seen at the next visit, the day of that visit.
    pub date: String,
    /// `probe replaced`, `reference solution replaced`, `junction renewed`, or `probe changed` (another serial was found).
    pub what: String,
    /// The visit that did it; null where it was done between two visits.
    pub visit: Option<String>,
    /// Serial of the probe since then.
    pub serial: Option<String>,
}

/// One figure over time.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct FigureTrend {
    /// `slope_percent`, `offset_mv`, `error_mv`.
    pub figure: &'static str,
    pub unit: &'static str,
    /// The limits at this visit.
    pub limit: LimitRecord,
    /// Day of the last break; without one, of the first visit.
    pub since: String,
    /// Visits on the line.
    pub points: usize,
    /// The line through the values left since then; null below two days.
    pub ageing: Option<AgeingRecord>,
    pub fouling: Vec<FoulingRecord>,
    /// Mean of all fouling by days, in 30 days.
    pub fouling_per_30_days: Option<f64>,
}

/// The straight line through the values left since the last break.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct AgeingRecord {
    pub at_break: f64,
    pub per_day: f64,
    pub per_30_days: f64,
    /// Half the width of the 95 % interval in 30 days; null below three points.
    pub per_30_days_half_width: Option<f64>,
    /// Whether that interval leaves out 0.
    pub has_direction: bool,
    pub residual_sd: Option<f64>,
    /// The line with its 95 % prediction band, from the first point on.
    pub band: Vec<BandRecord>,
    /// Day on which the line meets the warn limit, where it can be told.
    pub warn_on: Option<String>,
    /// Day on which the line meets the fail limit, where it can be told.
    pub fail_on: Option<String>,
    /// The limits that are met on these days.
    pub warn_limit: Option<f64>,
    pub fail_limit: Option<f64>,
}

/// The line on one day; low and high null below three points.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct BandRecord {
    pub date: String,
    pub value: f64,
    pub low: Option<f64>,
    pub high: Option<f64>,
}

/// What the time between two visits cost.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct FoulingRecord {
    pub from: String,
    pub to: String,
    pub days: i64,
    pub change: f64,
    pub per_day: f64,
}

/// What a remedy gained over all visits.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct GainRecord {
    pub remedy: String,
    pub times: usize,
    /// How many of them were read before and after.
    pub measured: usize,
    /// Means over those.
    pub slope_gained_percent: Option<f64>,
    pub offset_moved_mv: Option<f64>,
}

/// Remedies that begin the age of a probe anew.
const RENEWING: [&str; 3] = ["probe replaced", "reference solution replaced", "junction renewed"];

/// Days of the printed rate.
const MONTH_DAYS: f64 = 30.0;

/// Days at which the band is kept.
const BAND_DAYS: usize = 13;

/// How far the line is carried on where it meets no limit, in parts of the span.
const CARRIED_ON: f64 = 0.25;

impl Trend {
    /// Of visits in the order of time, `before` of which are not among them; `limit` gives the limits of a criterion at the
    /// last one.
    pub fn of(visits: &[&Point], before: usize, quantity: Quantity, limit: impl Fn(&str) -> LimitRecord) -> Trend {
        let (breaks, stops) = breaks(visits);
        let figures = match quantity {
            Quantity::Ph => vec![
                figure(visits, &stops, ("slope_percent", "%"), limit("slope"), |f| f.slope_percent),
                figure(visits, &stops, ("offset_mv", "mV"), limit("offset"), |f| f.offset_mv),
            ],
            Quantity::Redox => {
                vec![figure(visits, &stops, ("error_mv", "mV"), limit("as_found_error"), |f| f.error_mv)]
            }
        };
        Trend {
            visits: visits.iter().map(|point| visit(point)).collect(),
            breaks,
            figures: figures.into_iter().flatten().collect(),
            gains: gains(visits),
            before,
        }
    }
}

fn visit(point: &Point) -> TrendVisit {
    TrendVisit {
        date: point.date(),
        visit: point.visit.clone(),
        serial: point.serial_left.clone(),
        found: point.found,
        left: point.left.filter(|_| point.touched),
        untouched: !point.touched,
        done: point.remedies.iter().map(|remedy| remedy.remedy.clone()).collect(),
    }
}

/// The limits under which a criterion was judged at the state left, else at the state found.
pub(super) fn limit(record: &Record, name: &str) -> LimitRecord {
    let of = |stage| record.criteria.iter().find(|criterion| criterion.name == name && criterion.stage == stage);
    of(Stage::AsLeft).or(of(Stage::AsFound)).map(|criterion| criterion.limit.clone()).unwrap_or_default()
}

/// Every break, and the visits as stops without figures.
fn breaks(visits: &[&Point]) -> (Vec<BreakRecord>, Vec<Stop>) {
    let (mut breaks, mut stops) = (Vec::new(), Vec::new());
    for (position, point) in visits.iter().enumerate() {
        let before = position.checked_sub(1).map(|previous| visits[previous]);
        let between = before.and_then(|before| between(before, point));
        let here = point.remedies.iter().filter(|remedy| RENEWING.contains(&remedy.remedy.as_str()));
        let here: Vec<BreakRecord> = here
            .map(|remedy| BreakRecord {
                date: point.date(),
                what: remedy.remedy.clone(),
                visit: Some(point.visit.clone()),
                serial: point.serial_left.clone(),
            })
            .collect();
        stops.push(Stop {
            day: point.day().map_or(0, number),
            break_before: between.as_ref().and_then(|found| day(&found.date)).map(number),
            break_here: !here.is_empty(),
            ..Stop::default()
        });
        breaks.extend(between.into_iter().chain(here));
    }
    (breaks, stops)
}

/// What was renewed between two visits: another serial was found, or the junction bears a later date.
fn between(before: &Point, point: &Point) -> Option<BreakRecord> {
    let (from, to) = (before.day()?, point.day()?);
    let since = |date: &Option<String>| date.as_deref().and_then(day).filter(|date| *date > from && *date <= to);
    let record = |date: Option<NaiveDate>, what: &str| BreakRecord {
        date: date.unwrap_or(to).to_string(),
        what: what.to_owned(),
        visit: None,
        serial: point.serial.clone(),
    };
    let renewed = since(&point.junction_renewed);
    match is_other_probe(before, point) {
        true => Some(record(since(&point.installed).max(renewed), "probe changed")),
        false => renewed.map(|date| record(Some(date), "junction renewed")),
    }
}

/// Whether the probe found is not the one that was left before.
pub(crate) fn is_other_probe(before: &Point, point: &Point) -> bool {
    Option::zip(before.serial_left.as_ref(), point.serial.as_ref()).is_some_and(|(left, found)| left != found)
}

fn number(day: NaiveDate) -> i64 {
    i64::from(day.num_days_from_ce())
}

/// The day `x` days after the day with this number.
fn date(origin: i64, x: f64) -> String {
    let first = i32::try_from(origin).ok().and_then(NaiveDate::from_num_days_from_ce_opt).unwrap_or_default();
    let days = x.round().max(0.0) as u64;
    first.checked_add_days(Days::new(days)).unwrap_or(NaiveDate::MAX).to_string()
}

/// One figure over the visits; `None` where no visit has it.
fn figure(
    visits: &[&Point],
    stops: &[Stop],
    (figure, unit): (&'static str, &'static str),
    limit: LimitRecord,
    of: impl Fn(&PointFigures) -> Option<f64>,
) -> Option<FigureTrend> {
    let value = |figures: &Option<PointFigures>| figures.as_ref().and_then(&of);
    let stops: Vec<Stop> = visits
        .iter()
        .zip(stops)
        .map(|(point, stop)| Stop { found: value(&point.found), left: value(&point.left), ..*stop })
        .collect();
    stops.iter().find_map(|stop| stop.found.or(stop.left))?;
    let (origin, points) = since_last_break(&stops)?;
    let costs = history::fouling(&stops);
    let days: i64 = costs.iter().map(|cost| cost.days).sum();
    let change: f64 = costs.iter().map(|cost| cost.change).sum();
    let fouling = costs.iter().map(|cost| FoulingRecord {
        from: visits[cost.from].date(),
        to: visits[cost.from + 1].date(),
        days: cost.days,
        change: cost.change,
        per_day: cost.per_day(),
    });
    Some(FigureTrend {
        figure,
        unit,
        since: date(origin, 0.0),
        points: points.len(),
        ageing: ageing(&points).map(|line| ageing_record(&line, origin, &limit)),
        fouling: fouling.collect(),
        fouling_per_30_days: (days > 0).then(|| MONTH_DAYS * change / days as f64),
        limit,
    })
}

fn ageing_record(line: &Ageing, origin: i64, limit: &LimitRecord) -> AgeingRecord {
    let falls = line.line.slope < 0.0;
    let ahead = |low: Option<f64>, high: Option<f64>| {
        let limit = if falls { low } else { high }?;
        Some((line.meets(limit)?, limit))
    };
    let (warn, fail) = (ahead(limit.warn_low, limit.warn_high), ahead(limit.fail_low, limit.fail_high));
    let (first, last) = line.span;
    let carried = last + CARRIED_ON * (last - first);
    let end = [warn, fail].iter().flatten().map(|met| met.0).fold(carried, f64::max);
    let band = (0..BAND_DAYS).map(|step| {
        // Whole days, so that date and value belong together.
        let x = (first + (end - first) * step as f64 / (BAND_DAYS - 1) as f64).round();
        let (value, half) = (line.line.at(x), line.half_band(x));
        BandRecord {
            date: date(origin, x),
            value,
            low: half.map(|half| value - half),
            high: half.map(|half| value + half),
        }
    });
    AgeingRecord {
        at_break: line.line.at(0.0),
        per_day: line.line.slope,
        per_30_days: MONTH_DAYS * line.line.slope,
        per_30_days_half_width: line.slope_half_width().map(|half| MONTH_DAYS * half),
        has_direction: line.has_direction(),
        residual_sd: line.line.scatter.map(|scatter| scatter.residual_sd),
        band: band.collect(),
        warn_on: warn.map(|met| date(origin, met.0)),
        fail_on: fail.map(|met| date(origin, met.0)),
        warn_limit: warn.map(|met| met.1),
        fail_limit: fail.map(|met| met.1),
    }
}

/// Remedies in the order in which they were first performed.
fn gains(visits: &[&Point]) -> Vec<GainRecord> {
    let remedies = || visits.iter().flat_map(|point| &point.remedies);
    let mut words: Vec<&str> = Vec::new();
    for remedy in remedies() {
        if !words.contains(&remedy.remedy.as_str()) {
            words.push(&remedy.remedy);
        }
    }
    let gain = |word: &&str| {
        let of_word = || remedies().filter(|remedy| remedy.remedy == *word);
        let slopes: Vec<f64> = of_word().filter_map(|remedy| remedy.slope_gained_percent).collect();
        let offsets: Vec<f64> = of_word().filter_map(|remedy| remedy.offset_moved_mv).collect();
        GainRecord {
            remedy: (*word).to_owned(),
            times: of_word().count(),
            measured: slopes.len(),
            slope_gained_percent: mean(&slopes),
            offset_moved_mv: mean(&offsets),
        }
    };
    words.iter().map(gain).collect()
}

fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{RemedyGain, SourceFacts};

    fn point(date: &str, serial: &str, found: f64, left: f64) -> Point {
        let figures = |slope: f64| Some(PointFigures { slope_percent: Some(slope), ..PointFigures::default() });
        Point {
            client: "Ebbersand Water".into(),
            tag: "AT-1".into(),
            quantity: Quantity::Ph,
            visit: format!("V {date}"),
            started: format!("{date} 08:00 +00:00"),
            instant: None,
            source: SourceFacts::default(),
            serial: Some(serial.into()),
            serial_left: Some(serial.into()),
            installed: None,
            junction_renewed: None,
            found: figures(found),
            left: figures(left),
            touched: true,
            remedies: vec![],
            verdict: None,
        }
    }

    fn done(remedy: &str, gained: Option<f64>) -> RemedyGain {
        RemedyGain { remedy: remedy.into(), slope_gained_percent: gained, offset_moved_mv: None }
    }

    fn slope(points: &[Point]) -> FigureTrend {
        let visits: Vec<&Point> = points.iter().collect();
        let limit = LimitRecord { warn_low: Some(80.0), fail_low: Some(70.0), ..LimitRecord::default() };
        let (_, stops) = breaks(&visits);
        figure(&visits, &stops, ("slope_percent", "%"), limit, |f| f.slope_percent).unwrap()
    }

    fn told(points: &[Point]) -> Vec<(String, String, Option<String>)> {
        let visits: Vec<&Point> = points.iter().collect();
        breaks(&visits).0.into_iter().map(|b| (b.date, b.what, b.visit)).collect()
    }

    #[test]
    fn breaks_are_remedies_another_serial_and_a_later_junction() {
        let mut points = [
            point("2025-01-01", "S1", 97.0, 97.0),
            point("2025-04-01", "S1", 95.0, 98.0),
            point("2025-07-01", "S2", 97.0, 97.0),
            point("2025-10-01", "S2", 95.0, 96.0),
        ];
        points[1].remedies = vec![done("rinsed", None), done("junction renewed", Some(3.0))];
        points[2].installed = Some("2025-05-20".into());
        points[3].junction_renewed = Some("2025-09-01".into());
        let expected = [
            ("2025-04-01", "junction renewed", Some("V 2025-04-01")),
            ("2025-05-20", "probe changed", None),
            ("2025-09-01", "junction renewed", None),
        ];
        let expected = expected.map(|(date, what, visit)| (date.to_owned(), what.to_owned(), visit.map(str::to_owned)));
        assert_eq!(told(&points), expected);
        assert_eq!(slope(&points).since, "2025-09-01");
        assert_eq!(slope(&points).fouling.len(), 1, "none across a break");
        // Without a day of installation the change is seen on the day of the visit.
        points[2].installed = None;
        assert_eq!(told(&points)[1].0, "2025-07-01");
    }

    #[test]
    fn the_day_of_the_warn_limit_is_on_the_line_and_in_the_band() {
        // 98 % on the first day, 0.02 % a day: 80 % after 900 days. Visits over 500 days.
        let days = ["2025-01-01", "2025-05-11", "2025-09-18", "2026-01-26", "2026-05-16"];
        let wobble = [0.05, -0.05, 0.0, -0.05, 0.05];
        let first: NaiveDate = days[0].parse().unwrap();
        let left = |day: &str| 98.0 - 0.02 * (day.parse::<NaiveDate>().unwrap() - first).num_days() as f64;
        let points: Vec<Point> =
            days.iter().zip(wobble).map(|(day, w)| point(day, "S1", left(day) - 1.0 + w, left(day) + w)).collect();
        let trend = slope(&points);
        let ageing = trend.ageing.unwrap();
        assert!((ageing.per_30_days + 0.6).abs() < 0.01, "{}", ageing.per_30_days);
        let on: NaiveDate = ageing.warn_on.as_deref().unwrap().parse().unwrap();
        assert!(((on - first).num_days() - 900).abs() < 8, "{on}");
        assert_eq!((ageing.fail_on, ageing.fail_limit), (None, None), "beyond twice the span");
        let end = ageing.band.last().unwrap();
        assert_eq!(end.date, on.to_string());
        assert!((end.value - 80.0).abs() < 0.02 && end.low.unwrap() < 80.0 && end.high.unwrap() > 80.0);
        assert!(ageing.band.windows(2).all(|pair| pair[0].date < pair[1].date));
        // Each visit finds 1 % less than the one before left, less what the line lost on the way.
        assert!(trend.fouling.iter().all(|f| f.change < -1.0));
    }

    #[test]
    fn what_a_remedy_gained_is_the_mean_of_what_was_read() {
        let mut points = [point("2025-01-01", "S1", 90.0, 93.0), point("2025-04-01", "S1", 90.0, 95.0)];
        points[0].remedies = vec![done("acid soak", Some(3.0)), done("rinsed", None)];
        points[1].remedies = vec![done("acid soak", Some(5.0))];
        let visits: Vec<&Point> = points.iter().collect();
        let gains: Vec<_> =
            gains(&visits).into_iter().map(|g| (g.remedy, g.times, g.measured, g.slope_gained_percent)).collect();
        assert_eq!(gains, [("acid soak".into(), 2, 2, Some(4.0)), ("rinsed".into(), 1, 0, None)]);
    }
}
