//! Readings taken before the probe had settled, as their traces tell.

use super::Set;
use crate::firm::DecimalSign;
use crate::problem::{Fact, Facts, Problem};
use crate::record::{ReadingRecord, SettlingRecord};
use crate::rounding::{fixed, signed};

/// A problem for each reading of a set that was taken too early; one that is excluded has its reason already.
pub(super) fn problems(set: &Set<'_>) -> Vec<Problem> {
    let rows = set.figures.readings.iter().enumerate();
    let early = rows.filter(|(_, row)| row.settled == Some(false) && row.excluded.is_none());
    early.filter_map(|(at, row)| Some(problem(set, at, row, row.settling.as_ref()?))).collect()
}

fn problem(set: &Set<'_>, at: usize, row: &ReadingRecord, told: &SettlingRecord) -> Problem {
    let number = |value: f64, decimals| fixed(value, decimals, DecimalSign::Point);
    let drift = told.drift_mv_per_min.map_or_else(String::new, |drift| {
        format!(", which moves by {} mV per minute at its end", signed(drift, 1, DecimalSign::Point))
    });
    let found = match (told.final_mv, row.mv) {
        (Some(end), Some(mv)) => {
            format!("{} mV away from the final value {} mV of its trace", number((mv - end).abs(), 1), number(end, 1))
        }
        (Some(end), None) => format!("before its trace had come to the final value {} mV", number(end, 1)),
        (None, _) => format!("while its trace was still on its way{drift}"),
    };
    let width = match row.nernst_mv_per_ph {
        Some(_) => format!("0.01 pH, here {} mV,", number(told.within_mv, 2)),
        None => "1 mV".to_owned(),
    };
    let on = [("stage", Fact::stage(&set.stage)), ("standard", Fact::text(&row.standard))];
    let (case, figures) = match (told.final_mv, row.mv, told.drift_mv_per_min) {
        (Some(end), Some(mv), _) => {
            let away = Fact::number((mv - end).abs(), 1, "mV");
            ("away", vec![("away", away), ("final", Fact::number(end, 1, "mV"))])
        }
        (Some(end), None, _) => ("before", vec![("final", Fact::number(end, 1, "mV"))]),
        (None, _, Some(drift)) => ("drifting", vec![("drift", Fact::signed(drift, 1, "mV/min"))]),
        (None, _, None) => ("on-the-way", vec![]),
    };
    let facts = Facts { case: Some(case), named: on.into_iter().chain(figures).collect() };
    let problem = Problem::warning(
        "not-settled",
        set.place(at),
        format!("{}, {}: read {found}", set.stage, row.standard),
        format!("a reading has settled within {width} of the final value; before that it tells the probe wrong"),
        "correct `mv:`, `after:` or `trace:` if one was mistyped; else exclude the reading (`excluded: reason`) or accept it \
         with the reason",
    );
    Problem { facts, ..problem }
}
