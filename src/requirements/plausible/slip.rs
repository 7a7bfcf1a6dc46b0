//! A reversed response, and the single slip of the pen that would explain an implausible set.

use super::Set;
use crate::engine::fit::{Fit, Point, fit};
use crate::firm::DecimalSign;
use crate::problem::Problem;
use crate::rounding::fixed;
use crate::visit::Visit;

/// Below this slope, or above [`MOST_PERCENT`], a set is implausible enough to look for a slip.
///
/// Source: common practice, no source: probes below half of the theoretical slope are dead.
pub(super) const PLAUSIBLE_AT_ALL_PERCENT: f64 = 50.0;
/// Source: common practice, no source: a slope above 105 % comes from a buffer or a reading, not from a probe.
const MOST_PERCENT: f64 = 110.0;
/// A set that a slip explains has its slope within, percent. Source: common practice, no source.
const GOOD_PERCENT: std::ops::RangeInclusive<f64> = 70.0..=105.0;
/// … its offset within, mV. Source: common practice, no source: in pH 7 within ±50 mV, with some room.
const GOOD_OFFSET_MV: f64 = 60.0;
/// … and its residuals within, pH. Source: common practice, no source.
const GOOD_RESIDUAL_PH: f64 = 0.1;
/// Residuals beyond make a set implausible, pH. Source: common practice, no source.
const POOR_RESIDUAL_PH: f64 = 0.3;
/// The sign of a potential smaller than this says nothing, mV. Source: our own choice.
const SIGN_TELLS_MV: f64 = 10.0;

/// A single change and what it would give.
struct Change {
    row: usize,
    told: String,
}

/// The problem of a set with a reversed response, or one that a single slip would explain.
pub(super) fn problem(visit: &Visit, set: &Set<'_>) -> Option<Problem> {
    let points: Vec<Point> = set.used.iter().map(|&row| point(set, row)).collect();
    let now = fit(&points)?;
    let slope = now.slope_percent?;
    if plausible_at_all(&now, slope) {
        return None;
    }
    let changes = explaining(visit, set, &points);
    let reversed = slope < 0.0;
    let row = changes.first().map_or(set.used[0], |change| change.row);
    if changes.is_empty() && !reversed {
        return None;
    }
    let (code, what, why) = match reversed {
        true => (
            "response-reversed",
            format!("{}: the response is reversed: slope {} %", set.stage, fixed(slope, 1, DecimalSign::Point)),
            "a probe gives more millivolts in acid: pH 4 must be positive against pH 7",
        ),
        false => (
            "one-slip-explains",
            format!("{}: slope {} % is implausible", set.stage, fixed(slope, 1, DecimalSign::Point)),
            "a single slip of the pen would explain it",
        ),
    };
    let told: Vec<String> = changes.into_iter().map(|change| change.told).collect();
    let check = "check the sheet: signs and buffers as typed, leads exchanged, electrode type set in the analyser";
    let accept =
        format!("if the readings are right, accept it with a reason: `accepted: [{{code: {code}, reason: …}}]`");
    let fix = match told.is_empty() {
        true => format!("{check}; {accept}"),
        false => format!("{}; {check}; {accept}", told.join("; or ")),
    };
    Some(Problem::error(code, set.place(row), what, why, fix).acceptable())
}

fn point(set: &Set<'_>, row: usize) -> Point {
    let reading = &set.figures.readings[row];
    Point { mv: reading.mv.unwrap_or(0.0), temperature_c: reading.temperature_c, ph: set.ph(row) }
}

fn plausible_at_all(now: &Fit, slope: f64) -> bool {
    (PLAUSIBLE_AT_ALL_PERCENT..=MOST_PERCENT).contains(&slope) && residuals_within(now, POOR_RESIDUAL_PH)
}

fn residuals_within(fit: &Fit, ph: f64) -> bool {
    fit.points.iter().filter_map(|point| point.residual_ph).all(|residual| residual.abs() <= ph)
}

/// Every single change (all signs, one sign, two buffers exchanged) that makes the set plausible.
fn explaining(visit: &Visit, set: &Set<'_>, points: &[Point]) -> Vec<Change> {
    let name = |at: usize| &visit.kit.standards[set.readings[set.used[at]].standard].name.text;
    let typed = |at: usize| set.readings[set.used[at]].mv.as_ref().map_or("", |mv| mv.text.as_str());
    let mut changes = Vec::new();
    let all: Vec<Point> = points.iter().map(|p| Point { mv: -p.mv, ..*p }).collect();
    changes.extend(
        told(&all).map(|figures| Change { row: set.used[0], told: format!("with every sign turned: {figures}") }),
    );
    for at in (0..points.len()).filter(|&at| points[at].mv.abs() >= SIGN_TELLS_MV) {
        let mut turned = points.to_vec();
        turned[at].mv = -turned[at].mv;
        let change = told(&turned)
            .map(|figures| format!("with the sign of {} mV in `{}` turned: {figures}", typed(at), name(at)));
        changes.extend(change.map(|told| Change { row: set.used[at], told }));
    }
    for first in 0..points.len() {
        for second in (first + 1..points.len()).filter(|&second| name(second) != name(first)) {
            let mut exchanged = points.to_vec();
            exchanged[first].mv = points[second].mv;
            exchanged[second].mv = points[first].mv;
            let change = told(&exchanged)
                .map(|figures| format!("with `{}` and `{}` exchanged: {figures}", name(first), name(second)));
            changes.extend(change.map(|told| Change { row: set.used[first], told }));
        }
    }
    changes
}

/// Slope and offset in words where the points make a plausible set.
fn told(points: &[Point]) -> Option<String> {
    let fit = fit(points)?;
    let (slope, offset) = (fit.slope_percent?, fit.offset_mv?);
    let good =
        GOOD_PERCENT.contains(&slope) && offset.abs() <= GOOD_OFFSET_MV && residuals_within(&fit, GOOD_RESIDUAL_PH);
    let [slope, offset] = [slope, offset].map(|figure| fixed(figure, 1, DecimalSign::Point));
    good.then(|| format!("slope {slope} %, offset {offset} mV"))
}
