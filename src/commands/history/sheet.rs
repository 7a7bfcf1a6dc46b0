//! A course as rows for a spreadsheet: one a visit, numbers in full with a decimal point.

use crate::csv::row;
use crate::record::{Course, CourseVisit, Quantity, RemedyGain, Verdict};

const HEAD: [&str; 32] = [
    "client",
    "tag",
    "quantity",
    "location",
    "date",
    "visit",
    "document",
    "kind",
    "draft",
    "probe_found",
    "probe_left",
    "found_slope_percent",
    "left_slope_percent",
    "found_offset_mv",
    "left_offset_mv",
    "found_error_mv",
    "left_error_mv",
    "found_gain_percent",
    "left_gain_percent",
    "largest_found_error",
    "error_unit",
    "error_in",
    "error_limit",
    "error_expanded_uncertainty",
    "as_found",
    "as_left",
    "not_obtained",
    "adjusted",
    "remedies",
    "slope_gained_percent",
    "offset_moved_mv",
    "outcome",
];

/// The row of names.
pub fn head() -> String {
    row(&HEAD.map(str::to_owned))
}

/// A row a visit.
pub fn rows(course: &Course) -> String {
    course.visits.iter().map(|visit| row(&cells(course, visit))).collect()
}

fn cells(course: &Course, visit: &CourseVisit) -> [String; HEAD.len()] {
    let CourseVisit { as_found: found, as_left: left, .. } = visit;
    let left = left.as_ref();
    let error = visit.found_error.as_ref();
    let (quantity, unit) = match course.quantity {
        Quantity::Ph => ("pH", "pH"),
        Quantity::Redox => ("redox", "mV"),
    };
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let yes_no = |is: bool| if is { "yes" } else { "no" }.to_owned();
    let remedies: Vec<&str> = visit.remedies.iter().map(|remedy| remedy.remedy.as_str()).collect();
    [
        course.client.clone(),
        visit.tag.clone(),
        quantity.to_owned(),
        text(&course.location),
        visit.date.clone(),
        visit.visit.clone(),
        visit.document.clone(),
        visit.kind.clone(),
        yes_no(visit.draft),
        text(&visit.serial),
        text(&visit.serial_left),
        number(found.slope_percent),
        number(left.and_then(|left| left.slope_percent)),
        number(found.offset_mv),
        number(left.and_then(|left| left.offset_mv)),
        number(found.error_mv),
        number(left.and_then(|left| left.error_mv)),
        number(found.gain_percent),
        number(left.and_then(|left| left.gain_percent)),
        number(error.map(|error| error.value)),
        error.map_or_else(String::new, |_| unit.to_owned()),
        error.and_then(|error| error.of.clone()).unwrap_or_default(),
        number(error.and_then(|error| error.limit)),
        number(error.and_then(|error| error.expanded_uncertainty)),
        verdict(found.verdict),
        verdict(left.and_then(|left| left.verdict)),
        text(&found.not_obtained),
        yes_no(visit.adjusted),
        remedies.join("; "),
        gains(visit, |remedy| remedy.slope_gained_percent),
        gains(visit, |remedy| remedy.offset_moved_mv),
        visit.outcome.clone(),
    ]
}

/// What each remedy gained, in the order of the remedies, `n/a` where it was not measured; empty where none was.
fn gains(visit: &CourseVisit, of: fn(&RemedyGain) -> Option<f64>) -> String {
    let gained: Vec<Option<f64>> = visit.remedies.iter().map(of).collect();
    let told = |value: &Option<f64>| if value.is_some() { number(*value) } else { "n/a".to_owned() };
    match gained.iter().any(Option::is_some) {
        true => gained.iter().map(told).collect::<Vec<_>>().join("; "),
        false => String::new(),
    }
}

/// A number in full, for a program.
fn number(value: Option<f64>) -> String {
    value.map_or_else(String::new, |value| value.to_string())
}

fn verdict(verdict: Option<Verdict>) -> String {
    match verdict {
        Some(Verdict::Pass) => "pass",
        Some(Verdict::ConditionalPass) => "conditional pass",
        Some(Verdict::ConditionalFail) => "conditional fail",
        Some(Verdict::Fail) => "fail",
        None => "",
    }
    .to_owned()
}
