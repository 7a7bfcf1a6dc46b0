//! The history of what was found, a line a visit and loop, for whoever reviews intervals.
//!
//! Comes in: lines of the register and records. Goes out: `as-found.csv`.
//!
//! Source: ILAC-G24:2022 / OIML D 10, section 6: the methods of review (staircase, control chart, in-use time, checks in service,
//! statistics of many) need of each calibration the error found with its uncertainty and limit, the time since the one before and
//! the time in use.

use super::plan::{LoopName, Plan, loop_of};
use super::told::RecordTold;
use crate::csv;
use crate::record::Quantity;
use crate::register::Opened;
use chrono::NaiveDate;

/// Name of the table.
pub const NAME: &str = "as-found.csv";

/// The columns. Dates: year, month, day. Slope: percent of theoretical. Uncertainties: expanded, as on the certificate. Empty: not
/// recorded, or not determined.
const COLUMNS: [&str; 36] = [
    "client",
    "site",
    "location",
    "tag",
    "quantity",
    "certificate",
    "kind",
    "visit",
    "date",
    "previous_certificate",
    "days_since_previous",
    "analyser_serial",
    "probe_serial",
    "same_probe_as_previous",
    "probe_installed",
    "days_in_service",
    "error_in",
    "error",
    "error_unit",
    "error_expanded_uncertainty",
    "error_limit",
    "as_found",
    "as_found_not_obtained",
    "slope_percent",
    "slope_expanded_uncertainty_percent",
    "offset_mv",
    "offset_expanded_uncertainty_mv",
    "gain_percent",
    "limits",
    "limits_revision",
    "decision_rule",
    "remedies",
    "adjusted",
    "as_left",
    "outcome",
    "last_good",
];

/// A line with what it is sorted by.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Row {
    of: LoopName,
    day: Option<NaiveDate>,
    number: String,
    line: String,
}

/// The table: by client, tag and day.
pub fn table(mut rows: Vec<Row>) -> String {
    rows.sort();
    let head = csv::row(&COLUMNS.map(str::to_owned));
    rows.into_iter().fold(head, |table, row| table + &row.line)
}

/// The line of a certificate; none for a summary.
pub fn row(opened: &Opened, record: &RecordTold, plan: &Plan) -> Option<Row> {
    let of = loop_of(opened)?;
    let (day, facts) = (opened.day(), &record.measuring_loop);
    let previous = day.and_then(|day| plan.before(&of, day));
    let days = |from: Option<NaiveDate>| whole(Some((day? - from?).num_days()).filter(|days| *days >= 0));
    let installed = facts.probe.installed.as_deref();
    let same = previous.and_then(|look| Some(look.serial.as_ref()? == facts.probe.serial.as_ref()?));
    let error = opened.found_error.clone().or_else(|| record.found_error());
    let error = error.as_ref();
    let (found, known) = (&record.as_found, record.as_found.uncertainty.as_ref());
    let text = |text: Option<&str>| text.unwrap_or_default().to_owned();
    let cells = [
        opened.client.clone(),
        text(facts.site.as_ref().map(|site| site.name.as_str())),
        text(facts.location.as_deref()),
        text(opened.tag.as_deref()),
        text(record.quantity.map(quantity)),
        opened.number.clone(),
        opened.kind.clone(),
        opened.visit.clone(),
        day.map(|day| day.to_string()).unwrap_or_default(),
        text(previous.map(|look| look.number.as_str())),
        days(previous.map(|look| look.day)).unwrap_or_default(),
        text(facts.analyser.as_ref().and_then(|analyser| analyser.serial.as_deref())),
        text(facts.probe.serial.as_deref()),
        text(same.map(yes_no)),
        text(installed),
        days(installed.and_then(|text| text.parse().ok())).unwrap_or_default(),
        text(error.map(|error| error.of.as_str())),
        number(error.map(|error| error.value)),
        text(error.map(|error| if error.unit.is_empty() { "pH" } else { &error.unit })),
        number(error.and_then(|error| error.expanded_uncertainty)),
        number(error.and_then(|error| error.limit)),
        text(opened.as_found.as_deref()),
        text(found.not_obtained.as_deref()),
        number(found.slope_percent),
        number(known.and_then(|known| known.slope_percent).map(|it| it.expanded)),
        number(found.offset_mv),
        number(known.and_then(|known| known.offset_mv).map(|it| it.expanded)),
        number(found.gain_percent),
        record.limits.name.clone(),
        text(record.limits.revision.as_deref()),
        record.limits.decision.clone(),
        record.remedies.iter().map(|remedy| remedy.remedy.as_str()).collect::<Vec<_>>().join("; "),
        yes_no(facts.adjusted).to_owned(),
        text(opened.as_left.as_deref()),
        facts.outcome.clone(),
        text(facts.last_good.as_deref()),
    ];
    Some(Row { of, day, number: opened.number.clone(), line: csv::row(&cells) })
}

fn quantity(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Ph => "pH",
        Quantity::Redox => "redox",
    }
}

fn yes_no(is: bool) -> &'static str {
    if is { "yes" } else { "no" }
}

fn whole(days: Option<i64>) -> Option<String> {
    days.map(|days| days.to_string())
}

/// A figure in full: as many digits as it takes to read the same again.
fn number(value: Option<f64>) -> String {
    value.map(|value| value.to_string()).unwrap_or_default()
}
